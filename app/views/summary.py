"""The line above the readings: what wheel this is, its state, and the three worst readings as sentences."""

from __future__ import annotations

import html
from contextlib import suppress

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.language import spoken, tr
from app.project.project import Project
from app.project.wheel import Fixing, SingleNut, SizeCode, Wheel
from app.project.wheel_edits import backspace_mm
from app.reports.numbers import unit_of
from app.reports.rows import AnyRow, place_of, worst_three
from app.reports.sentences import SIGNS
from app.session.shown import Shown
from app.units import LengthUnit, MassUnit, format_length, format_mass
from app.views.last_made import LastMade, but_vertices
from app.views.readings_text import minus, sentence
from app.views.readout import KeptRoom, Readout, Title
from app.views.sentences import Sentence, Sentences
from app.views.theme import Colours, Theme, figures
from geometry.errors import GeometryError
from geometry.readings.rules import State

#: Room kept for the sentences, so that nothing below moves while a point is dragged.
_SENTENCE_LINES = 5


class SummaryPanel(QWidget):
    """Size code, state, mass, inset, backspace, hub, blank and load; under it the three worst readings.

    Signals:
        place_clicked(z, r): a sentence was clicked or chosen by key.
    """

    place_clicked = Signal(float, float)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._said: list[Sentence] = []
        self._shown: Shown | None = None
        self._texts = ("", "")
        self._last = LastMade()
        self._still_kg: tuple[str, float] | None = (
            None  # the wheel, and its mass before the gesture under way
        )
        self.title, self.facts, self.worst = Title(), QLabel(), Sentences()
        # Room for the change, so that the title does not move when a gesture begins.
        self.mass = Readout(1.1, room_for="00.00 kg (+0.00)", at_right=True)
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 8, 12, 8)
        column.setSpacing(4)
        self.facts.setWordWrap(True)
        self.facts.setTextFormat(Qt.TextFormat.RichText)
        self.facts.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        for label in (self.facts, self.worst):
            label.setFont(figures(label.font()))
        self.title.setFont(figures(self.font(), 1.35, bold=True))
        head = QHBoxLayout()
        self._title_room = KeptRoom(self.title, 1)
        head.addWidget(self._title_room, 1)
        head.addWidget(self.mass, 0, Qt.AlignmentFlag.AlignBottom)
        column.addLayout(head)
        column.addWidget(self.facts)
        self._sentence_room = KeptRoom(self.worst, _SENTENCE_LINES)
        column.addWidget(self._sentence_room)
        self.mass.setAccessibleName(tr("Mass, and its change in the gesture under way"))
        self.worst.chosen.connect(self.place_clicked)
        self.worst.setAccessibleName(tr("Worst readings"))
        theme.changed.connect(self._dress)

    def show_state(self, shown: Shown) -> None:
        """Show another state."""
        self._shown = shown
        if not shown.dragging:
            found, wheel = shown.measurements, shown.wheel
            self._still_kg = (wheel.name, found.solid.mass_kg) if found and wheel else None
            self._forget()
        self._draw()
        for room in (self._title_room, self._sentence_room):
            room.hold(shown.dragging)

    def _dress(self) -> None:
        self._forget()
        self._draw()

    def _forget(self) -> None:
        """Have every text made anew: what is kept is for the steps of one gesture."""
        self._last.forget()

    def _draw(self) -> None:
        shown = self._shown
        if shown is None:
            return
        if shown.wheel is None:
            texts = (tr("No wheel"), tr("Make one with New wheel, or open a project."))
        else:
            texts = self._title(shown.wheel, shown), self._facts(shown.project, shown.wheel)
        showing = (self._title_room.show_text, self.facts.setText)
        for show, text, old in zip(showing, texts, self._texts, strict=True):
            if text != old:
                show(text)
        self._texts = texts
        sentences = self._sentences(shown)
        if sentences != self._said:
            self._said = sentences
            self.worst.show_sentences(sentences)
            self._sentence_room.fit()
        self.mass.show_text(self._mass(shown))

    def _facts(self, project: Project, wheel: Wheel) -> str:
        """Return the facts as rich text; they tell nothing of vertices, which are all that a drag changes."""
        return self._last(_facts_text, project, wheel, by=(project.display_unit, but_vertices(wheel)))

    def _mass(self, shown: Shown) -> str:
        """Return the mass and, during a gesture, what the gesture has changed of it: '10.50 kg (+0.03)'."""
        if shown.measurements is None or shown.wheel is None:
            return ""
        unit: MassUnit = "lb" if unit_of(shown.project) == "in" else "kg"
        mass_kg = shown.measurements.solid.mass_kg
        text = format_mass(mass_kg, unit)
        if shown.dragging and self._still_kg is not None and self._still_kg[0] == shown.wheel.name:
            change = format_mass(mass_kg - self._still_kg[1], unit, with_unit=False)
            text += f" ({minus(change) if change.startswith('-') else f'+{change}'})"
        return text

    def _title(self, wheel: Wheel, shown: Shown) -> str:
        state = None if shown.measurements is None else shown.state
        return self._last(_title_text, wheel.size, wheel.name, state, shown.dragging, self._theme.colours)

    def _sentences(self, shown: Shown) -> list[Sentence]:
        if shown.wheel is None:
            return []
        if shown.measurements is None:
            faults = [Sentence(minus(spoken(f.message)), place=f.place) for f in shown.faults[:3]]
            return [Sentence(tr("No readings: the outline has faults.")), *faults]
        unit = unit_of(shown.project)
        rows = worst_three(shown.measurements, shown.road.rows if shown.road is not None else ())
        if not rows:
            return [Sentence(tr("No reading has a rule: choose a rule set in Wheel details."))]
        return self._last.each(self._sentence, rows, unit)

    def _sentence(self, row: AnyRow, unit: LengthUnit) -> Sentence:
        sign = "" if row.state is None else f"{SIGNS[row.state]} "
        return Sentence(sentence(row, unit), sign, self._theme.colours.of(row.state), place_of(row))


def _title_text(size: SizeCode, name: str, state: State | None, dragging: bool, colours: Colours) -> str:
    """Return a title as rich text; without a state there is a fault."""
    if state is None:
        colour, word = colours.of(State.SHORT), tr("✕ fault")
    else:
        colour, word = (
            colours.of(state),
            f"{SIGNS[state]} {spoken(state)}{tr(' on paper') if dragging else ''}",
        )
    return tr(
        "{name} &nbsp; <span style='color:{colour}'>{word}</span>",
        name=html.escape(f"{size}  {name}"),
        colour=colour,
        word=word,
    )


def _facts_text(project: Project, wheel: Wheel) -> str:
    return html.escape(" · ".join(facts(project, wheel)))


def facts(project: Project, wheel: Wheel) -> list[str]:
    """Return inset, backspace, hub, blank and load of a wheel in short words, in the project's unit."""
    unit = unit_of(project)
    digits = 2 if unit == "mm" else 3

    def words(value_mm: float) -> str:
        return minus(format_length(value_mm, unit, digits))

    said = [tr("inset {inset_mm}", inset_mm=words(wheel.inset_mm))]
    with suppress(GeometryError):  # a size without a published flange row has none
        backspace = backspace_mm(wheel)
        other = minus(format_length(backspace, "mm" if unit == "in" else "in", 2))
        said.append(tr("backspace {backspace} ({other})", backspace=words(backspace), other=other))
    hub = tr("bore {bore_mm}", bore_mm=words(wheel.hub.bore_mm))
    if isinstance(wheel.fixing, Fixing):
        hub = tr(
            "{count} × {circle_mm:g} mm, {hub}",
            count=wheel.fixing.count,
            circle_mm=wheel.fixing.circle_mm,
            hub=hub,
        )
    elif isinstance(wheel.fixing, SingleNut):
        hub = tr("single nut, {hub}", hub=hub)
    said.append(hub)
    if wheel.spacer_mm:
        said.append(tr("on a {spacer_mm} spacer", spacer_mm=words(wheel.spacer_mm)))
    said.append(tr("blank {blank}", blank=wheel.blank) if wheel.blank else tr("no blank"))
    if wheel.load_kg is None:
        said.append(tr("load not known"))
    else:
        said.append(
            tr(
                "load {load_kg} ({load_kg_2})",
                load_kg=format_mass(wheel.load_kg, "kg", 0),
                load_kg_2=format_mass(wheel.load_kg, "lb", 0),
            )
        )
    return said

"""The line above the readings: what wheel this is, its state, and the three worst readings as sentences."""

from __future__ import annotations

import html
from contextlib import suppress
from dataclasses import fields
from operator import attrgetter

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.language import spoken, tr
from app.project.project import Project
from app.project.wheel import Fixing, SingleNut, Wheel
from app.project.wheel_edits import backspace_mm
from app.reports.numbers import unit_of
from app.reports.rows import place_of, worst_three
from app.reports.sentences import SIGNS
from app.session.shown import Shown
from app.units import MassUnit, format_length, format_mass
from app.views.readings_text import minus, sentence
from app.views.readout import KeptRoom, Readout
from app.views.theme import Theme, figures
from geometry.errors import GeometryError
from geometry.readings.measure import Place
from geometry.readings.rules import State

_BUT_VERTICES = attrgetter(*(f.name for f in fields(Wheel) if f.name != "vertices"))
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
        self._places: list[Place | None] = []
        self._shown: Shown | None = None
        self._texts = ("", "", "")
        self._said_of: tuple[object, ...] = ()
        self._facts_text = ""
        self._still_kg: tuple[str, float] | None = (
            None  # the wheel, and its mass before the gesture under way
        )
        self.title, self.facts, self.worst = QLabel(), QLabel(), QLabel()
        # Room for the change, so that the title does not move when a gesture begins.
        self.mass = Readout(1.1, room_for="00.00 kg (+0.00)")
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 8, 12, 8)
        column.setSpacing(4)
        for label in (self.title, self.facts, self.worst):
            label.setWordWrap(True)
            label.setTextFormat(Qt.TextFormat.RichText)
            label.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
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
        self.mass.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom)
        self.mass.setAccessibleName(tr("Mass, and its change in the gesture under way"))
        flags = Qt.TextInteractionFlag
        self.worst.setTextInteractionFlags(flags.LinksAccessibleByMouse | flags.LinksAccessibleByKeyboard)
        self.worst.linkActivated.connect(self._go)
        self.worst.setAccessibleName(tr("Worst readings"))
        theme.changed.connect(self._draw)

    def show_state(self, shown: Shown) -> None:
        """Show another state."""
        self._shown = shown
        if not shown.dragging:
            found, wheel = shown.measurements, shown.wheel
            self._still_kg = (wheel.name, found.solid.mass_kg) if found and wheel else None
        self._draw()
        for room in (self._title_room, self._sentence_room):
            room.hold(shown.dragging)

    def _draw(self) -> None:
        shown = self._shown
        if shown is None:
            return
        self._places = []
        if shown.wheel is None:
            texts = (tr("No wheel"), tr("Make one with New wheel, or open a project."), "")
        else:
            texts = (
                self._title(shown.wheel, shown),
                self._facts(shown.project, shown.wheel),
                self._sentences(shown),
            )
        showing = (self._title_room.show_text, self.facts.setText, self._sentence_room.show_text)
        for show, text, old in zip(showing, texts, self._texts, strict=True):
            if text != old:
                show(text)
        self._texts = texts
        self.mass.show_text(self._mass(shown))

    def _facts(self, project: Project, wheel: Wheel) -> str:
        """Return the facts as rich text; they tell nothing of vertices, which are all that a drag changes."""
        said_of = (project.display_unit, *_BUT_VERTICES(wheel))
        if said_of != self._said_of:
            self._said_of = said_of
            self._facts_text = html.escape(" · ".join(facts(project, wheel)))
        return self._facts_text

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
        name = html.escape(f"{wheel.size}  {wheel.name}")
        if shown.measurements is None:
            colour, word = self._theme.colours.of(State.SHORT), tr("✕ fault")
        else:
            state = shown.state
            paper = tr(" on paper") if shown.dragging else ""
            colour, word = self._theme.colours.of(state), f"{SIGNS[state]} {spoken(state)}{paper}"
        return tr(
            "{name} &nbsp; <span style='color:{colour}'>{word}</span>", name=name, colour=colour, word=word
        )

    def _sentences(self, shown: Shown) -> str:
        if shown.measurements is None:
            said = [html.escape(minus(spoken(f.message))) for f in shown.faults[:3]]
            self._places = [f.place for f in shown.faults[:3]]
            return self._links([tr("No readings: the outline has faults."), *said], [None, *self._places])
        unit = unit_of(shown.project)
        rows = worst_three(shown.measurements, shown.road.rows if shown.road is not None else ())
        if not rows:
            return html.escape(tr("No reading has a rule: choose a rule set in Wheel details."))
        texts, states = [], []
        for row in rows:
            texts.append(html.escape(sentence(row, unit)))
            states.append(row.state)
            self._places.append(place_of(row))
        return self._links(texts, self._places, states)

    def _links(
        self, texts: list[str], places: list[Place | None], states: list[State | None] | None = None
    ) -> str:
        shown = []
        for k, (text, place) in enumerate(zip(texts, places, strict=True)):
            state = states[k] if states else None
            sign = f"{SIGNS[state]} " if state else ""
            ink = self._theme.colours.of(state) if state else self._theme.colours.ink
            if place is None:
                shown.append(
                    tr(
                        "<span style='color:{ink}'>{sign}</span>{value_text}",
                        ink=ink,
                        sign=sign,
                        value_text=text,
                    )
                )
                continue
            colour = self._theme.colours.ink
            link = tr(
                "<a href='{place!r} {place_2!r}' style='color:{colour}; "
                "text-decoration:none'>{value_text}</a>",
                place=place[0],
                place_2=place[1],
                colour=colour,
                value_text=text,
            )
            shown.append(tr("<span style='color:{ink}'>{sign}</span>{link}", ink=ink, sign=sign, link=link))
        return "<br>".join(shown)

    def _go(self, link: str) -> None:
        z, r = (float(word) for word in link.split())
        self.place_clicked.emit(z, r)


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

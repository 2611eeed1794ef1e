"""A trial fit: gaps measured on the car, each beside the computed one, and the grade a shape earns by it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QWidget

from app.language import spoken, tr
from app.project import edits
from app.project.project import MeasuredGap, Project, TrialFit
from app.reports.numbers import Numbers, unit_of
from app.studies.trial_fit import ComparedGap, compared, raised
from app.views.readings_text import minus
from app.window.dialogs.form import Form, ProjectDialog, quiet_label
from app.window.dialogs.rows_field import Column, RowsField
from app.window.dialogs.typed_fields import (
    YES_NO_OPEN,
    ChoiceField,
    DateField,
    Field,
    FieldError,
    NumberField,
    TextField,
    length,
)
from geometry.shape.section import Zone

_ZONES: list[tuple[str, Zone]] = [(spoken(zone), zone) for zone in Zone]
_NEW_ROW = (Zone.SPOKE_BACK, None, None, None, None, None)


class WordsField(Field):
    """Words beside the fields of a row that say what follows from them; there is nothing to type."""

    def __init__(self, parent: QWidget | None = None) -> None:
        self.words = QLabel()
        self.words.setWordWrap(True)
        self.words.setContentsMargins(0, 5, 0, 5)  # its text stands level with that of the lines beside it
        self.words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        super().__init__(self.words, parent)

    def put(self, text: str) -> None:
        """Show other words."""
        self.words.setText(minus(text))

    def read(self) -> None:
        """Return nothing: nothing is typed here."""


class TrialFitDialog(ProjectDialog):
    """Edits a trial fit, or makes one where no name is given; what is computed follows what is typed.

    The button raises the shape's grade in the same step of the history as it keeps the trial fit.
    """

    def __init__(
        self,
        project: Project,
        name: str | None = None,
        parent: QWidget | None = None,
        *,
        wheel: str | None = None,
    ) -> None:
        super().__init__(tr("Trial fit: {name}", name=name) if name else tr("New trial fit"), project, parent)
        self.old = name
        self.trial = edits.find(project, edits.TRIAL_FIT, name) if name else _new(project, wheel)
        self._length = length(project.display_unit)
        self._numbers = Numbers(unit_of(project))
        self._raises = False
        form = self.page(tr("Trial fit"))
        self._general(form)
        self._measured(form)
        self._tell()
        self.resize(900, 640)

    def _general(self, form: Form) -> None:
        t, project = self.trial, self.project
        self.name = form.add(tr("Name"), TextField(t.name, required=True))
        self.wheel = form.add(tr("Wheel fitted"), _part(edits.WHEEL.names(project), t.wheel))
        self.shape = form.add(tr("Held against"), _part(edits.SHAPE.names(project), t.shape))
        self.on = form.add(tr("Measured on"), DateField(t.on))
        self.by = form.add(tr("By"), TextField(t.by))
        self.error = form.add(
            tr("Error of measuring, either way"), NumberField(self._length, t.error_mm, least=0.0)
        )
        self.turned = form.add(
            tr("Turned a whole turn, by hand and torqued, without touching"),
            ChoiceField(YES_NO_OPEN, t.turned),
        )

    def _measured(self, form: Form) -> None:
        form.head(tr("Measured gaps"))
        form.note(
            tr(
                "Fit one bare wheel, before tyres. A gap with a place (hub's frame) is held against the skin "
                "nearest to it, one without against the least gap of its zone."
            )
        )
        columns = [
            Column(tr("zone"), lambda value: ChoiceField(_ZONES, value), 3),
            Column(tr("measured"), lambda value: NumberField(self._length, value, least=0.0), 2),
            Column(tr("at z"), self._place(None), 2),
            Column(tr("at r"), self._place(0.0), 2),
            Column(tr("computed"), lambda _: WordsField(), 2),
            Column(tr("difference"), lambda _: WordsField(), 4),
        ]
        rows = [(g.zone, g.gap_mm, g.z, g.r, None, None) for g in self.trial.measured]
        self.gaps = RowsField(tr("measured gap"), columns, rows, _NEW_ROW)
        form.fields.append(self.gaps)
        form.row(self.gaps)
        self.outcome = quiet_label()
        form.row(self.outcome)
        self.raise_button = QPushButton(tr("&Raise the grade to proved"))
        self.raise_button.setAutoDefault(False)
        self.raise_button.clicked.connect(self._raise)
        left = QHBoxLayout()
        left.addWidget(self.raise_button)
        left.addStretch(1)
        form.row(left)
        for field in (
            self.name,
            self.wheel,
            self.shape,
            self.on,
            self.by,
            self.error,
            self.turned,
            self.gaps,
        ):
            field.edited.connect(self._tell)

    def _place(self, least: float | None) -> Any:
        return lambda value: NumberField(
            self._length, value, optional=True, least=least, empty=tr("not noted")
        )

    def _tell(self) -> None:
        """Show what is computed beside what was measured, and what keeps the grade from being raised."""
        read: list[tuple[list[Field], MeasuredGap]] = []
        for cells in self.gaps.cells:
            try:
                read.append((cells, _gap([cell.read() for cell in cells])))
            except ValueError:
                _put(cells, "", "")
        try:
            trial = self._trial(tuple(gap for _, gap in read))
        except ValueError as error:
            for cells, _ in read:
                _put(cells, "", "")
            self._allow(spoken(str(error)))
            return
        found = compared(self.project, trial)
        grade = next((s.card.grade for s in self.project.shapes if s.name == trial.shape), None)
        for k, (cells, _) in enumerate(read):
            gap = found.gaps[k] if k < len(found.gaps) else None
            least = None if gap is None else gap.computed_mm
            _put(cells, self._numbers.length(least, grade or ""), "" if gap is None else self._words(gap))
        unread = len(self.gaps.cells) - len(read)
        self._allow(tr("A measured gap cannot be read.") if unread else spoken(found.hindrance))

    def _words(self, gap: ComparedGap) -> str:
        difference = gap.difference_mm
        if difference is None:
            return spoken(gap.note)
        sign = "+" if difference > 0.0 else ""
        said = tr("agrees") if gap.agrees else tr("does not agree")
        allowed = self._numbers.length(gap.allowed_mm)
        return f"{sign}{self._numbers.length(difference)}, {said} (±{allowed})"

    def _allow(self, hindrance: str) -> None:
        self.raise_button.setEnabled(not hindrance)
        shape = self.shape.read()
        self.outcome.setText(
            hindrance
            or tr(
                "All gaps agree: the grade of {shape} may be raised to proved. Nothing else changes.",
                shape=shape,
            )
        )

    def _raise(self) -> None:
        self._raises = True
        try:
            self.accept()
        finally:
            self._raises = False

    def _trial(self, measured: tuple[MeasuredGap, ...]) -> TrialFit:
        return replace(
            self.trial,
            name=self.name.read(),
            wheel=self.wheel.read(),
            shape=self.shape.read(),
            on=self.on.read(),
            by=self.by.read(),
            error_mm=self.error.number(),
            turned=self.turned.read(),
            measured=measured,
        )

    def made(self) -> tuple[Project, str]:
        """Return the project with the trial fit, and with the shape's grade raised where the button says so.

        Raises:
            ValueError: the name is taken, a place has only one of z and r, or the grade cannot be raised.
        """
        trial = self._trial(tuple(_gap(row) for row in self.gaps.read()))
        if self.old is None:
            project, text = (
                edits.add(self.project, edits.TRIAL_FIT, trial),
                tr("New trial fit {name}", name=trial.name),
            )
        else:
            project = edits.replaced(self.project, edits.TRIAL_FIT, self.old, trial)
            text = tr("Trial fit {name}", name=trial.name)
        if self._raises:
            return raised(project, trial), tr(
                "Raise {shape} to proved by {name}", shape=trial.shape, name=trial.name
            )
        return project, text


def _new(project: Project, wheel: str | None) -> TrialFit:
    """Return an empty trial fit of a wheel against the first shape that it must clear."""
    name = edits.free_name(project, edits.TRIAL_FIT, "Trial fit")
    fitted = next((w for w in project.wheels if w.name == wheel), None)
    shape = fitted.clears[0] if fitted is not None and fitted.clears else None
    return TrialFit(name, wheel=wheel if fitted is not None else None, shape=shape)


def _gap(row: list[Any]) -> MeasuredGap:
    zone, gap_mm, z, r = row[:4]
    if (z is None) is not (r is None):
        raise FieldError(
            tr("The place in the {zone} has only one of z and r: type both, or none.", zone=zone)
        )
    return MeasuredGap(zone, gap_mm, z, r)


def _put(cells: list[Field], computed: str, difference: str) -> None:
    for cell, words in zip(cells[4:], (computed, difference), strict=True):
        assert isinstance(cell, WordsField)
        cell.put(words)


def _part(names: tuple[str, ...], value: str | None) -> ChoiceField[str | None]:
    return ChoiceField([(tr("not said"), None), *((name, name) for name in names)], value)

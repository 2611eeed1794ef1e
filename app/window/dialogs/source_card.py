"""The source card of a stay-out shape: source and grade, the five answers, datum, extent, motion."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QLabel, QWidget

from app.language import spoken, tr
from app.project import edits
from app.project.project import Project
from app.window.dialogs.card_fields import CardFields, check_card, open_line
from app.window.dialogs.form import Form, ProjectDialog
from app.window.dialogs.typed_fields import ANGLE, ChoiceField, FieldError, NumberField, TextField, length
from geometry.shape.outline import Grade, ShapeKind, StayOut


class SourceCardDialog(ProjectDialog, CardFields):
    """Edits the source card of one shape; what is still open stands at the top and follows every key."""

    def __init__(self, project: Project, name: str, parent: QWidget | None = None) -> None:
        super().__init__(tr("Source card: {name}", name=name), project, parent)
        self.shape: StayOut = edits.find(project, edits.SHAPE, name)
        self._length = length(project.display_unit)
        self.open_label = QLabel()
        self.open_label.setWordWrap(True)
        self.column.insertWidget(0, self.open_label)
        self._source(self.page(tr("Source")))
        self.ask_questions(self.page(tr("Five questions")), self.shape.card, self._length)
        self.ask_datum(self.page(tr("Datum, extent, motion")), self.shape, self._length, self.kind)
        for field in self.fields():
            field.edited.connect(self._tell_open)
        self.follow_fields()
        self._tell_open()
        self.resize(720, 600)

    def _source(self, form: Form) -> None:
        shape, card = self.shape, self.shape.card
        self.name = form.add(tr("Name"), TextField(shape.name, required=True))
        self.kind = form.add(tr("Kind"), ChoiceField([(spoken(k), k) for k in ShapeKind], shape.kind))
        self.owner = form.add(
            tr("Owner"),
            TextField(shape.owner, hint=tr("empty for the house's own")),
            tr("Whose outline it is: a report for another customer leaves it out."),
        )
        self.source = form.add(
            tr("Source"), TextField(card.source, hint=tr("whose drawing, which revision, how measured"))
        )
        self.grade = form.add(tr("Grade"), ChoiceField([(spoken(g), g) for g in Grade], card.grade))
        self.error = form.add(
            tr("Error, either way"),
            NumberField(self._length, card.error_mm, least=0.0),
            tr("The outline may be wrong by this; it is taken off every gap before the state is judged."),
        )
        clock = tr("Angle round the axle from straight up; a caliper level with the axle lies about 90.")
        self.clock_low = form.add(
            tr("Spans round the axle from"),
            NumberField(
                ANGLE, shape.clock_low_deg, optional=True, empty=tr("not said: the worst tilt counts")
            ),
            clock,
        )
        self.clock_high = form.add(tr("to"), NumberField(ANGLE, shape.clock_high_deg, optional=True), clock)
        self.left_out = form.add(
            tr("Left out"), TextField(card.left_out, hint=tr("pipes, bleed screws, hoses, cross pipe"))
        )
        if card.file_name:
            unit = card.file_unit or tr("not stated")
            form.note(
                tr(
                    "Read from {file_name}, unit {unit}, {reader}\nsha256 {file_sha256}…",
                    file_name=card.file_name,
                    unit=unit,
                    reader=card.reader,
                    file_sha256=card.file_sha256[:16],
                )
            )

    def _tell_open(self) -> None:
        try:
            words = open_line(self.edited_shape())
        except ValueError:
            return
        self.open_label.setText(words)
        is_open = words.startswith("?")
        self.open_label.setForegroundRole(
            QPalette.ColorRole.PlaceholderText if is_open else QPalette.ColorRole.WindowText
        )

    def edited_shape(self) -> StayOut:
        """Return the shape as the fields have it.

        Raises:
            ValueError: a field cannot be read, or the known interval is empty.
        """
        card = replace(
            self.shape.card,
            source=self.source.read(),
            grade=self.grade.read(),
            error_mm=self.error.number(),
            left_out=self.left_out.read(),
        )
        low, high = self.clock_low.read(), self.clock_high.read()
        if (low is None) != (high is None) or (low is not None and high is not None and high < low):
            raise FieldError(tr("The body spans from one angle to a larger one: give both, or neither."))
        shape = replace(self.shape, owner=self.owner.read(), clock_low_deg=low, clock_high_deg=high)
        return self.filled(replace(shape, name=self.name.read(), kind=self.kind.read(), card=card))

    def made(self) -> tuple[Project, str]:
        """Return the project with the card changed."""
        shape = self.edited_shape()
        check_card(shape)
        project = edits.replaced(self.project, edits.SHAPE, self.shape.name, shape)
        return project, tr("Source card of {name}", name=shape.name)

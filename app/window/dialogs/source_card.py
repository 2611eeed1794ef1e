"""The source card of a stay-out shape: source and grade, the five answers, datum, extent, motion."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QLineEdit, QWidget

from app.files.sense import LARGEST_INCLUDED_MM
from app.project import edits
from app.project.project import Project
from app.window.dialogs.form import Form, ProjectDialog
from app.window.dialogs.new_shape import motion_of
from app.window.dialogs.typed_fields import (
    YES_NO_OPEN,
    CheckField,
    ChoiceField,
    DateField,
    Field,
    FieldError,
    NumberField,
    TextField,
    length,
)
from geometry.shape.outline import (
    QUESTIONS,
    Answer,
    Extent,
    Grade,
    Known,
    Motion,
    Reach,
    ShapeKind,
    SourceCard,
    StayOut,
    ZeroFace,
)

_HINTS = {
    "unit": "for example: inches, as the header says",
    "zero_face": "for example: outer face of the disc hat, hat 7.0 thick",
    "whole_body": "for example: turned through the whole arc of the caliper",
    "gap_included": "for example: none, stated on the sheet",
    "disc_and_pads": "for example: 380 x 34, new brake pads, front, both sides",
}

#: The open questions in a word or two, by how each starts.
_SHORT = {
    **{text: key.replace("_", " ") for key, text in QUESTIONS.items()},
    "r was taken at one plane": "r over the whole body",
    "Its zero is the hub flange": "hat thickness",
    "Who checked": "datum check",
    "Where is the shape known": "extent",
    "A ": "motion",
    "Is it swept": "sweep",
}


class AnswerField(Field):
    """One answer: answered, assumed or open; what was said; by whom."""

    def __init__(self, answer: Answer, hint: str, parent: QWidget | None = None) -> None:
        editor = QWidget()
        super().__init__(editor, parent)
        self.state, self.text, self.by = QComboBox(), QLineEdit(answer.text), QLineEdit(answer.by)
        self.state.addItems([str(k) for k in Known])
        self.state.setCurrentText(answer.state)
        self.text.setPlaceholderText(hint)
        self.by.setPlaceholderText("by whom")
        self.by.setMaximumWidth(150)
        row = QHBoxLayout(editor)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.state)
        row.addWidget(self.text, 1)
        row.addWidget(self.by)
        editor.setFocusProxy(self.state)
        self.state.currentTextChanged.connect(lambda _t: self.edited.emit())
        for line in (self.text, self.by):
            line.textEdited.connect(lambda _t: self.edited.emit())

    def name(self, label: str) -> None:
        """Name the three parts for a screen reader."""
        super().name(label)
        for part, word in ((self.state, "state"), (self.text, "answer"), (self.by, "by whom")):
            part.setAccessibleName(f"{label} ({word})")

    def read(self) -> Answer:
        """Return the answer.

        Raises:
            FieldError: an answer without words or without a name.
        """
        answer = Answer(Known(self.state.currentText()), self.text.text().strip(), self.by.text().strip())
        if answer.state is not Known.OPEN and not answer.text:
            raise FieldError(
                f"It is {answer.state}, but nothing was said: write the answer, or set it to open."
            )
        if answer.state is not Known.OPEN and not answer.by:
            raise FieldError(f"It is {answer.state}: by whom?")
        return answer


class SourceCardDialog(ProjectDialog):
    """Edits the source card of one shape; what is still open stands at the top and follows every key."""

    def __init__(self, project: Project, name: str, parent: QWidget | None = None) -> None:
        super().__init__(f"Source card: {name}", project, parent)
        self.shape: StayOut = edits.find(project, edits.SHAPE, name)
        self._length = length(project.display_unit)
        self.open_label = QLabel()
        self.open_label.setWordWrap(True)
        self.column.insertWidget(0, self.open_label)
        self._source(self.page("Source"))
        self._questions(self.page("Five questions"))
        self._datum(self.page("Datum, extent, motion"))
        for field in self.fields():
            field.edited.connect(self._tell_open)
        self.kind.edited.connect(self._move_as_its_kind)
        self.motion.edited.connect(self._show_motion)
        self.zero_at.edited.connect(self._show_hat)
        self._show_motion()
        self._show_hat()
        self._tell_open()
        self.resize(720, 600)

    def show_questions(self) -> None:
        """Turn to the five questions."""
        self.pages.setCurrentIndex(1)

    def _source(self, form: Form) -> None:
        shape, card = self.shape, self.shape.card
        self.name = form.add("Name", TextField(shape.name, required=True))
        self.kind = form.add("Kind", ChoiceField([(str(k), k) for k in ShapeKind], shape.kind))
        self.source = form.add(
            "Source", TextField(card.source, hint="whose drawing, which revision, how measured")
        )
        self.grade = form.add("Grade", ChoiceField([(str(g), g) for g in Grade], card.grade))
        self.error = form.add(
            "Error, either way",
            NumberField(self._length, card.error_mm, least=0.0),
            "The outline may be wrong by this; it is taken off every gap before the state is judged.",
        )
        self.left_out = form.add(
            "Left out", TextField(card.left_out, hint="pipes, bleed screws, hoses, cross pipe")
        )
        if card.file_name:
            unit = card.file_unit or "not stated"
            form.note(
                f"Read from {card.file_name}, unit {unit}, {card.reader}\nsha256 {card.file_sha256[:16]}…"
            )

    def _questions(self, form: Form) -> None:
        card = self.shape.card
        form.note("Any open question makes every gap to this shape 'not known', whatever its number.")
        self.answers: dict[str, AnswerField] = {}
        for key, question in QUESTIONS.items():
            words = QLabel(question)
            words.setWordWrap(True)
            form.row(words)
            field = AnswerField(getattr(card, key), _HINTS[key])
            field.name(question)
            form.fields.append(field)
            form.row(field)
            words.setBuddy(field.state)
            self.answers[key] = field
            if key == "zero_face":
                self.zero_at = form.add(
                    "z = 0 is the", ChoiceField([(str(z), z) for z in ZeroFace], card.zero_at)
                )
                self.hat = form.add(
                    "Thickness of the disc hat",
                    NumberField(self._length, card.hat_mm, optional=True, least=0.0),
                    "The outline is moved inboard by it, onto the face the wheel bears on; 0 for no hat.",
                )
            if key == "whole_body":
                self.r_over = form.add(
                    "r is the largest", ChoiceField([(str(x), x) for x in Reach], card.r_over)
                )
            if key == "gap_included":
                self.included = form.add(
                    "Gap already included",
                    NumberField(self._length, card.included_gap_mm, least=0.0, most=LARGEST_INCLUDED_MM),
                )

    def _datum(self, form: Form) -> None:
        card, extent, shape = self.shape.card, self.shape.extent, self.shape
        form.head("Datum")
        self.checked_by = form.add(
            "Zero face and axle line checked by", TextField(card.datum_checked_by, hint="nobody yet")
        )
        self.checked_on = form.add("on", DateField(card.datum_checked_on))
        form.head("Where the shape is known")
        form.note("Outside this interval nothing is known; the drawing's end is not the body's end.")

        def limit(value: float | None, empty: str, least: float | None = None) -> NumberField:
            return NumberField(self._length, value, optional=True, least=least, empty=empty)

        self.z_low = form.add("Known from z", limit(extent.z_low, "its own points"))
        self.z_high = form.add("Known to z", limit(extent.z_high, "its own points"))
        self.ends_inboard = form.add("", CheckField("the body was seen to end inboard", extent.ends_inboard))
        self.ends_outboard = form.add(
            "", CheckField("the body was seen to end outboard", extent.ends_outboard)
        )
        self.cut_low = form.add("Cut off below r", limit(extent.cut_r_low, "not cut off", 0.0))
        self.cut_high = form.add("Cut off above r", limit(extent.cut_r_high, "not cut off", 0.0))
        self.confirmed_by = form.add("Extent confirmed by", TextField(extent.confirmed_by, hint="nobody yet"))
        form.head("Motion")
        self.motion = form.add("It moves", ChoiceField([(str(m), m) for m in Motion], shape.motion))
        self.swept = form.add("Swept lock to lock, full travel", ChoiceField(YES_NO_OPEN, shape.swept))
        self.motion_note = form.note()
        self._datum_form = form

    def _move_as_its_kind(self) -> None:
        """Let what cannot steer with the wheel move against the knuckle; never the reverse by itself."""
        if motion_of(self.kind.read()) is Motion.AGAINST_KNUCKLE:
            self.motion.choose(Motion.AGAINST_KNUCKLE)
        self._show_motion()

    def _show_motion(self) -> None:
        kind, motion = self.kind.read(), self.motion.read()
        self._datum_form.show_field(self.swept, motion is Motion.AGAINST_KNUCKLE)
        words = ""
        if motion is not motion_of(kind) and kind is not ShapeKind.OTHER:
            words = (
                f"This shape is a {kind}, which steers with the wheel as a rule: check kind and motion."
                if motion is Motion.AGAINST_KNUCKLE
                else f"This shape is a {kind}, which does not steer with the wheel: it moves against the "
                "knuckle. Its gaps are 'not known' until kind and motion agree."
            )
        self.motion_note.setText(words)
        self._datum_form.rows.setRowVisible(self.motion_note, bool(words))

    def _show_hat(self) -> None:
        self.hat.setEnabled(self.zero_at.read() is ZeroFace.HUB_FLANGE)

    def _tell_open(self) -> None:
        try:
            asked = self.edited_shape().open_questions()
        except ValueError:
            return
        count = len(asked)
        words = "Nothing is open: gaps to this shape are judged."
        if count:
            short = [next((w for start, w in _SHORT.items() if q.startswith(start)), q) for q in asked]
            words = f"? not known until settled ({count}): " + ", ".join(short)
        self.open_label.setText(words)
        role = QPalette.ColorRole.PlaceholderText if count else QPalette.ColorRole.WindowText
        self.open_label.setForegroundRole(role)

    def edited_shape(self) -> StayOut:
        """Return the shape as the fields have it.

        Raises:
            ValueError: a field cannot be read, or the known interval is empty.
        """
        card: SourceCard = replace(
            self.shape.card,
            source=self.source.read(),
            grade=self.grade.read(),
            error_mm=self.error.number(),
            included_gap_mm=self.included.number(),
            zero_at=self.zero_at.read(),
            hat_mm=self.hat.read() if self.zero_at.read() is ZeroFace.HUB_FLANGE else self.shape.card.hat_mm,
            r_over=self.r_over.read(),
            datum_checked_by=self.checked_by.read(),
            datum_checked_on=self.checked_on.read(),
            left_out=self.left_out.read(),
        )
        answers: dict[str, Any] = {key: field.read() for key, field in self.answers.items()}
        card = replace(card, **answers)
        extent = Extent(
            self.z_low.read(),
            self.z_high.read(),
            self.ends_inboard.read(),
            self.ends_outboard.read(),
            self.cut_low.read(),
            self.cut_high.read(),
            self.confirmed_by.read(),
        )
        return replace(
            self.shape,
            name=self.name.read(),
            kind=self.kind.read(),
            motion=self.motion.read(),
            swept=self.swept.read(),
            card=card,
            extent=extent,
        )

    def made(self) -> tuple[Project, str]:
        """Return the project with the card changed."""
        shape = self.edited_shape()
        extent = shape.extent
        for words, low, high in (
            ("is known from z", extent.z_low, extent.z_high),
            ("was cut off at r", extent.cut_r_low, extent.cut_r_high),
        ):
            if low is not None and high is not None and low >= high:
                raise FieldError(f"The shape {words} {low:.2f} to {high:.2f}: the first must be the smaller.")
        if shape.card.datum_checked_on and not shape.card.datum_checked_by:
            raise FieldError(
                "The datum has a date of check, but nobody who checked it: write who, or clear the date."
            )
        project = edits.replaced(self.project, edits.SHAPE, self.shape.name, shape)
        return project, f"Source card of {shape.name}"

"""Fields of a source card, wherever it is asked: the five questions, the datum, the extent, the motion."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from PySide6.QtCore import QSignalBlocker
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QLineEdit, QWidget

from app.files.sense import LARGEST_INCLUDED_MM
from app.language import spoken, tr
from app.window.dialogs.form import Form
from app.window.dialogs.typed_fields import (
    YES_NO_OPEN,
    CheckField,
    ChoiceField,
    DateField,
    Field,
    FieldError,
    Kind,
    NumberField,
    TextField,
)
from geometry.shape.outline import (
    QUESTIONS,
    Answer,
    Extent,
    Known,
    Motion,
    Reach,
    ShapeKind,
    SourceCard,
    StayOut,
    ZeroFace,
    motion_of,
)

_HINTS = {
    "unit": tr("for example: inches, as the header says"),
    "zero_face": tr("for example: outer face of the disc hat, hat 7.0 thick"),
    "whole_body": tr("for example: turned through the whole arc of the caliper"),
    "gap_included": tr("for example: none, stated on the sheet"),
    "disc_and_pads": tr("for example: 380 x 34, new brake pads, front, both sides"),
}

_ASKED = {
    "unit": tr("unit"),
    "zero_face": tr("zero face"),
    "whole_body": tr("whole body"),
    "gap_included": tr("gap included"),
    "disc_and_pads": tr("disc and pads"),
}

#: The open questions in a word or two, by how each starts.
_SHORT = {
    **{text: _ASKED[key] for key, text in QUESTIONS.items()},
    "r was taken at one plane": tr("r over the whole body"),
    "Its zero is the hub flange": tr("hat thickness"),
    "How far may": tr("error"),
    "How does it move": tr("motion"),
    "Who checked": tr("datum check"),
    "Where is the shape known": tr("extent"),
    "A ": tr("motion"),
    "Is it swept": tr("sweep"),
}


def open_line(shape: StayOut) -> str:
    """Return what is still open in one line; it begins with a question mark where anything is."""
    asked = shape.open_questions()
    if not asked:
        return tr("Nothing is open: gaps to this shape are judged.")
    short = [next((w for start, w in _SHORT.items() if q.startswith(start)), q) for q in asked]
    return tr("? not known until settled ({asked}): ", asked=len(asked)) + ", ".join(short)


class AnswerField(Field):
    """One answer: answered, assumed or open; what was said; by whom."""

    def __init__(self, answer: Answer, hint: str, parent: QWidget | None = None) -> None:
        editor = QWidget()
        super().__init__(editor, parent)
        self.state, self.text, self.by = QComboBox(), QLineEdit(), QLineEdit()
        for known in Known:
            self.state.addItem(spoken(known), known)
        self.text.setPlaceholderText(hint)
        self.by.setPlaceholderText(tr("by whom"))
        self.by.setMaximumWidth(150)
        row = QHBoxLayout(editor)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.state)
        row.addWidget(self.text, 1)
        row.addWidget(self.by)
        editor.setFocusProxy(self.state)
        self.put(answer)
        self.state.currentTextChanged.connect(lambda _t: self.edited.emit())
        self.text.textEdited.connect(self._words_typed)
        for line in (self.text, self.by):
            line.textEdited.connect(lambda _t: self.edited.emit())

    def _words_typed(self, words: str) -> None:
        """Take the first words of an answer for one; emptied again it is open again."""
        if words.strip() and self.state.currentData() == Known.OPEN:
            self.state.setCurrentIndex(self.state.findData(Known.ANSWERED))
        elif not words.strip() and self.state.currentData() == Known.ANSWERED:
            self.state.setCurrentIndex(self.state.findData(Known.OPEN))

    def name(self, label: str) -> None:
        """Name the three parts for a screen reader."""
        super().name(label)
        for part, word in ((self.state, tr("state")), (self.text, tr("answer")), (self.by, tr("by whom"))):
            part.setAccessibleName(f"{label} ({word})")

    def put(self, answer: Answer) -> None:
        """Show another answer."""
        blocked = QSignalBlocker(self.state)
        self.state.setCurrentIndex(self.state.findData(answer.state))
        blocked.unblock()
        for line, words in ((self.text, answer.text), (self.by, answer.by)):
            line.setText(words)
            line.setCursorPosition(0)  # a long answer shows its start

    def read(self) -> Answer:
        """Return the answer.

        Raises:
            FieldError: an answer without words or without a name.
        """
        answer = Answer(Known(self.state.currentData()), self.text.text().strip(), self.by.text().strip())
        if answer.state is not Known.OPEN and not answer.text:
            raise FieldError(
                tr(
                    "It is {state}, but nothing was said: write the answer, or set it to open.",
                    state=answer.state,
                )
            )
        if answer.state is not Known.OPEN and not answer.by:
            raise FieldError(tr("It is {state}: by whom?", state=answer.state))
        return answer


class CardFields:
    """What a dialog that asks for a card inherits: it puts the fields on its forms and reads them."""

    def ask_questions(self, form: Form, card: SourceCard, length: Kind) -> None:
        """Put the five questions on a form, each followed by the numbers that belong to it."""
        form.note(tr("Any open question makes every gap to this shape 'not known', whatever its number."))
        self.answers: dict[str, AnswerField] = {}
        self._name = ""
        for key, question in QUESTIONS.items():
            words = QLabel(spoken(question))
            words.setWordWrap(True)
            form.row(words)
            field = AnswerField(getattr(card, key), _HINTS[key])
            field.name(spoken(question))
            form.fields.append(field)
            form.row(field)
            words.setBuddy(field.state)
            self.answers[key] = field
            if key == "zero_face":
                self.zero_at = form.add(
                    tr("z = 0 is the"), ChoiceField([(spoken(z), z) for z in ZeroFace], card.zero_at)
                )
                self.hat = form.add(
                    tr("Thickness of the disc hat"),
                    NumberField(length, card.hat_mm, optional=True, least=0.0),
                    tr("The outline is moved inboard by it, onto the face the wheel bears on; 0 for no hat."),
                )
            if key == "whole_body":
                self.r_over = form.add(
                    tr("r is the largest"), ChoiceField([(spoken(x), x) for x in Reach], card.r_over)
                )
            if key == "gap_included":
                self.included = form.add(
                    tr("Gap already included"),
                    NumberField(length, card.included_gap_mm, least=0.0, most=LARGEST_INCLUDED_MM),
                )

    def ask_datum(self, form: Form, shape: StayOut, length: Kind, kind: ChoiceField[ShapeKind]) -> None:
        """Put datum, extent and motion on a form; the motion follows the field of the shape's kind."""
        card, extent = shape.card, shape.extent
        form.head(tr("Datum"))
        self.checked_by = form.add(
            tr("Zero face and axle line checked by"), TextField(card.datum_checked_by, hint=tr("nobody yet"))
        )
        self.checked_on = form.add(tr("on"), DateField(card.datum_checked_on))
        form.head(tr("Where the shape is known"))
        form.note(tr("Outside this interval nothing is known; the drawing's end is not the body's end."))

        def limit(value: float | None, empty: str, least: float | None = None) -> NumberField:
            return NumberField(length, value, optional=True, least=least, empty=empty)

        self.z_low = form.add(tr("Known from z"), limit(extent.z_low, tr("its own points")))
        self.z_high = form.add(tr("Known to z"), limit(extent.z_high, tr("its own points")))
        self.ends_inboard = form.add(
            "", CheckField(tr("the body was seen to end inboard"), extent.ends_inboard)
        )
        self.ends_outboard = form.add(
            "", CheckField(tr("the body was seen to end outboard"), extent.ends_outboard)
        )
        self.cut_low = form.add(tr("Cut off below r"), limit(extent.cut_r_low, tr("not cut off"), 0.0))
        self.cut_high = form.add(tr("Cut off above r"), limit(extent.cut_r_high, tr("not cut off"), 0.0))
        self.confirmed_by = form.add(
            tr("Extent confirmed by"), TextField(extent.confirmed_by, hint=tr("nobody yet"))
        )
        form.head(tr("Motion"))
        self.motion = form.add(tr("It moves"), ChoiceField([(spoken(m), m) for m in Motion], shape.motion))
        self.swept = form.add(tr("Swept lock to lock, full travel"), ChoiceField(YES_NO_OPEN, shape.swept))
        self.motion_note = form.note()
        self._datum_form, self._kind = form, kind

    def follow_fields(self) -> None:
        """Let fields follow each other: motion the kind, the hat the zero face, the sweep the motion."""
        self._kind.edited.connect(self._move_as_its_kind)
        self.motion.edited.connect(self._show_motion)
        self.zero_at.edited.connect(self.show_hat)
        for field in self.answers.values():
            field.by.textEdited.connect(self._keep_name)
            field.text.textEdited.connect(lambda _words, field=field: self._name_again(field))
        self._show_motion()
        self.show_hat()

    def _keep_name(self, name: str) -> None:
        self._name = name.strip()

    def _name_again(self, field: AnswerField) -> None:
        """Offer the name that was typed last under this answer too; it can be typed over."""
        if self._name and not field.by.text().strip():
            field.by.setText(self._name)

    def show_hat(self) -> None:
        """Ask for the hat where it moves the outline."""
        self.hat.setEnabled(self.zero_at.read() is ZeroFace.HUB_FLANGE)

    def _move_as_its_kind(self) -> None:
        """Let what cannot steer with the wheel move against the knuckle, and ask of what may be anything."""
        usual = motion_of(self._kind.read())
        if usual is not Motion.WITH_KNUCKLE:
            self.motion.choose(usual)
        self._show_motion()

    def _show_motion(self) -> None:
        kind, motion = self._kind.read(), self.motion.read()
        self._datum_form.show_field(self.swept, motion is Motion.AGAINST_KNUCKLE)
        words = ""
        if motion is Motion.NOT_SAID:
            words = tr("Say how it moves when the wheel is steered: its gaps are 'not known' until then.")
        elif motion is not motion_of(kind) and kind is not ShapeKind.OTHER:
            words = (
                tr(
                    "This shape is a {kind}, which steers with the wheel as a rule: check kind and motion.",
                    kind=kind,
                )
                if motion is Motion.AGAINST_KNUCKLE
                else tr(
                    "This shape is a {kind}, which does not steer with the wheel: it moves against "
                    "the knuckle. Its gaps are 'not known' until kind and motion agree.",
                    kind=kind,
                )
            )
        self.motion_note.setText(words)
        self._datum_form.rows.setRowVisible(self.motion_note, bool(words))

    def filled(self, shape: StayOut) -> StayOut:
        """Return the shape with what these fields say.

        Raises:
            ValueError: a field cannot be read.
        """
        zero_at = self.zero_at.read()
        answers: dict[str, Any] = {key: field.read() for key, field in self.answers.items()}
        card = replace(
            shape.card,
            included_gap_mm=self.included.number(),
            zero_at=zero_at,
            hat_mm=self.hat.read() if zero_at is ZeroFace.HUB_FLANGE else shape.card.hat_mm,
            r_over=self.r_over.read(),
            datum_checked_by=self.checked_by.read(),
            datum_checked_on=self.checked_on.read(),
            **answers,
        )
        extent = Extent(
            self.z_low.read(),
            self.z_high.read(),
            self.ends_inboard.read(),
            self.ends_outboard.read(),
            self.cut_low.read(),
            self.cut_high.read(),
            self.confirmed_by.read(),
        )
        return replace(shape, card=card, extent=extent, motion=self.motion.read(), swept=self.swept.read())


def check_card(shape: StayOut) -> None:
    """Refuse a card whose fields do not fit together.

    Raises:
        FieldError: an interval that ends before it starts, or a date of a check that nobody made.
    """
    extent = shape.extent
    for words, low, high in (
        (tr("is known from z"), extent.z_low, extent.z_high),
        (tr("was cut off at r"), extent.cut_r_low, extent.cut_r_high),
    ):
        if low is not None and high is not None and low >= high:
            raise FieldError(
                tr(
                    "The shape {words} {low:.2f} to {high:.2f}: the first must be the smaller.",
                    words=words,
                    low=low,
                    high=high,
                )
            )
    if shape.card.datum_checked_on and not shape.card.datum_checked_by:
        raise FieldError(
            tr("The datum has a date of check, but nobody who checked it: write who, or clear the date.")
        )

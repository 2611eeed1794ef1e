"""How far what is imported can be trusted: its source card, asked while the file is looked at."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QFormLayout, QLabel

from app.files.readers.answer import ReadOutline
from app.files.readers.imported import usual_grade
from app.language import spoken, tr
from app.window.dialogs.card_fields import CardFields
from app.window.dialogs.form import Form
from app.window.dialogs.typed_fields import ChoiceField, DateField, Kind, NumberField, TextField
from geometry.shape.outline import Answer, Grade, Known, ShapeKind, SourceCard, StayOut, ZeroFace


class TrustPage(CardFields):
    """Who measured it, when and how; the five questions; datum, extent and motion. All may stay open.

    Args:
        form: page that the fields are put on.
        length: kind of lengths.
        kind: field of the shape's kind, which stands elsewhere.
        changed: called when anything was edited.
    """

    def __init__(
        self, form: Form, length: Kind, kind: ChoiceField[ShapeKind], changed: Callable[[], None]
    ) -> None:
        form.rows.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
        self.open_label = QLabel()
        self.open_label.setWordWrap(True)
        self.open_label.setAccessibleName(tr("What is open"))
        form.row(self.open_label)
        form.head(tr("Source"))
        self.who = form.add(tr("Measured or drawn by"), TextField(hint=tr("nobody has said")))
        self.when = form.add(tr("on"), DateField())
        self.how = form.add(
            tr("How"), TextField(hint=tr("drawing with its revision; portable arm, 6 mm ball"))
        )
        self.grade = form.add(
            tr("Grade"),
            ChoiceField([(str(Grade.HEARSAY), Grade.HEARSAY)], Grade.HEARSAY),
            tr(
                "The best that such a file can have, until someone proves it; lower it where you trust "
                "it less."
            ),
        )
        self.error = form.add(
            tr("Error, either way"),
            NumberField(length, 0.0, least=0.0),
            tr("The outline may be wrong by this; it is taken off every gap before the state is judged."),
        )
        self.left_out = form.add(tr("Left out"), TextField(hint=tr("pipes, bleed screws, hoses, cross pipe")))
        form.head(tr("Five questions"))
        nothing = StayOut("", ())
        self.ask_questions(form, nothing.card, length)
        self.ask_datum(form, nothing, length, kind)
        self._touched: set[object] = set()
        for field in form.fields:
            field.edited.connect(lambda field=field: self._touched.add(field))
        self.follow_fields()
        for field in form.fields:
            field.edited.connect(changed)

    # What the file and the pointing say

    def propose(self, found: ReadOutline, unit_said: str, unit_by: str, error_mm: float) -> None:
        """Propose grade, error and the answer on the unit; what was typed stays.

        Args:
            found: what was read.
            unit_said: the unit and how it is known; empty while it is open.
            unit_by: who said it.
            error_mm: what the reader knows of the outline's error.
        """
        grades = list(Grade)[list(Grade).index(usual_grade(found)) :]
        chosen = self.grade.read() if self.grade in self._touched else grades[0]
        self.grade.offer([(spoken(g), g) for g in grades], chosen if chosen in grades else grades[0])
        if self.error not in self._touched:
            self.error.put(error_mm)
        if self.answers["unit"] not in self._touched:
            known = Known.ASSUMED if unit_said else Known.OPEN
            self.answers["unit"].put(Answer(known, unit_said, unit_by if unit_said else ""))

    def set_zero(self, face: ZeroFace, said: str) -> None:
        """Take the zero face that was pointed at; the answer on it is assumed unless someone answered."""
        self.zero_at.choose(face)
        field = self.answers["zero_face"]
        if field not in self._touched:
            field.put(Answer(Known.ASSUMED, said, "importer"))
        self.show_hat()

    # What comes of it

    def card_of(self, shape: StayOut) -> StayOut:
        """Return the shape with this card.

        Raises:
            ValueError: a field cannot be read.
        """
        who, when = self.who.read(), self.when.read()
        by = " ".join(
            word
            for word in (tr("by {who}", who=who) if who else "", tr("on {when}", when=when) if when else "")
            if word
        )
        source = "; ".join(word for word in (self.how.read(), by, shape.card.source) if word)
        card: SourceCard = replace(
            shape.card,
            source=source,
            grade=self.grade.read(),
            error_mm=self.error.number(),
            left_out=self.left_out.read(),
        )
        return self.filled(replace(shape, card=card))

    def tell(self, words: str) -> str:
        """Show in one line what is still open, and return it."""
        self.open_label.setText(words)
        is_open = words.startswith("?")
        self.open_label.setForegroundRole(
            QPalette.ColorRole.PlaceholderText if is_open else QPalette.ColorRole.WindowText
        )
        return words

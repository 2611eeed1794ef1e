"""Fields of a dialog: typed numbers with their unit in the box, words, choices; each says what is wrong."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Generic, TypeVar, cast

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QColor, QPalette, QResizeEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QLabel,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from app import units
from app.language import spoken, tr
from app.units import LengthUnit
from app.views.theme import DARK, LIGHT

T = TypeVar("T")


class FieldError(ValueError):
    """What was typed cannot be taken; the text stays and the message stands under it."""


def error_colour(palette: QPalette) -> QColor:
    """Return the colour of a message that something is wrong, for a light or a dark palette."""
    dark = palette.color(QPalette.ColorRole.Window).lightness() < 128
    return QColor((DARK if dark else LIGHT).short)


@dataclass(frozen=True)
class Kind:
    """A kind of typed number: the unit in the box, how text becomes a number, how a number becomes text."""

    unit: str
    read: Callable[[str], float]
    show: Callable[[float], str]


def _trimmed(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


def plain(value: float, decimals: int = 2) -> str:
    """Return the number with at most so many decimals and no trailing zeros."""
    text = _trimmed(f"{value:.{decimals}f}")
    return "0" if text == "-0" else text


def length(unit: str) -> Kind:
    """Return lengths typed and shown in mm or in, kept in mm; a unit word behind the number is read too."""
    typed: LengthUnit = "in" if unit == "in" else "mm"
    return Kind(
        typed,
        partial(units.parse_length_mm, default_unit=typed),
        lambda value: _trimmed(units.format_length(value, typed, with_unit=False)),
    )


def place(unit: str) -> Kind:
    """Return coordinates of a foreign drawing, which may lie far off its origin; typed as lengths are."""
    kind = length(unit)
    return replace(kind, read=partial(units.parse_place_mm, default_unit=cast(LengthUnit, kind.unit)))


MM = length("mm")
ANGLE = Kind("°", units.parse_angle_deg, plain)
MASS = Kind("kg", units.parse_mass_kg, plain)
NUMBER = Kind("", units.parse_number, partial(plain, decimals=4))
CODE = Kind(tr("code"), units.parse_number, partial(plain, decimals=4))
DENSITY = Kind("kg/m³", units.parse_number, plain)
STRESS = Kind("MPa", units.parse_number, partial(plain, decimals=3))
PER_CENT = Kind("%", units.parse_number, plain)


#: Wide enough for a sum with units; wider would part the number from its unit.
_NUMBER_WIDTH = 240


class UnitLine(QLineEdit):
    """A line for typing with a unit shown at its right end."""

    def __init__(self, unit: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._unit = QLabel(unit, self)
        self._unit.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self._unit.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        self.setUnit(unit)

    def setUnit(self, unit: str) -> None:  # noqa: N802
        """Show another unit."""
        self._unit.setText(unit)
        self._unit.adjustSize()
        self.setTextMargins(0, 0, self._unit.width() + 6 if unit else 0, 0)
        self._place()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the unit at the right end."""
        super().resizeEvent(event)
        self._place()

    def _place(self) -> None:
        size = self._unit.sizeHint()
        self._unit.setGeometry(
            self.width() - size.width() - 8, (self.height() - size.height()) // 2, size.width(), size.height()
        )


class Field(QWidget):
    """One field with its message; `edited` fires when the person changes it."""

    edited = Signal()

    def __init__(self, editor: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.editor = editor
        self.message = QLabel(self)
        self.message.setWordWrap(True)
        self.message.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.message.hide()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        column.addWidget(editor)
        column.addWidget(self.message)
        self.setFocusProxy(editor)

    def name(self, label: str) -> None:
        """Give the field the name that a screen reader says."""
        self.editor.setAccessibleName(label)

    def say(self, message: str) -> None:
        """Show what is wrong under the field, or nothing."""
        self.message.setText(f"▸ {message}" if message else "")
        self.message.setVisible(bool(message))
        if message:
            palette = self.message.palette()
            palette.setColor(QPalette.ColorRole.WindowText, error_colour(self.palette()))
            self.message.setPalette(palette)
        self.editor.setAccessibleDescription(message)

    def check(self) -> bool:
        """Return True if the field can be read; otherwise show what is wrong with it."""
        try:
            self.read()
        except ValueError as error:
            self.say(spoken(str(error)))
            return False
        self.say("")
        return True

    def read(self) -> object:
        """Return what the field holds.

        Raises:
            ValueError: it cannot be read; the message says what and where.
        """
        raise NotImplementedError


class NumberField(Field):
    """A typed number of one kind; empty is allowed only where it means 'not known'.

    Args:
        least, most: inclusive limits in the kind's own unit (mm, deg, kg).
        above: exclusive lower limit.
        whole: only whole numbers.
    """

    def __init__(
        self,
        kind: Kind,
        value: float | None = None,
        *,
        optional: bool = False,
        least: float | None = None,
        most: float | None = None,
        above: float | None = None,
        whole: bool = False,
        empty: str = tr("not known"),
        parent: QWidget | None = None,
    ) -> None:
        self.line = UnitLine(kind.unit)
        super().__init__(self.line, parent)
        self.line.setMaximumWidth(_NUMBER_WIDTH)
        self.kind, self.optional, self.whole = kind, optional, whole
        self.least, self.most, self.above = least, most, above
        if optional:
            self.line.setPlaceholderText(empty)
        self.line.textEdited.connect(self._typed)
        self.line.editingFinished.connect(self.check)
        self.put(value)

    def put(self, value: float | None) -> None:
        """Show a value; as long as its text stays untouched, reading gives exactly this value back."""
        self._given = value
        self._given_text = "" if value is None else self.kind.show(value)
        self.line.setText(self._given_text)
        self.say("")

    def show_in(self, kind: Kind) -> None:
        """Show the same number in another unit; what is none stays as it was typed, and is said again."""
        try:
            value = self.read()
        except ValueError:
            text = self.line.text()
            with contextlib.suppress(ValueError):
                text = kind.show(self.kind.read(text))  # a number, but refused by its limits
            self._set_kind(kind)
            self._given, self._given_text = None, ""
            self.line.setText(text)
            self.check()
        else:
            self._set_kind(kind)
            self.put(value)

    def _set_kind(self, kind: Kind) -> None:
        self.kind = kind
        self.line.setUnit(kind.unit)

    def read(self) -> float | None:
        """Return the number, or None where the field is empty and may be.

        Raises:
            ValueError: not a number of this kind, or outside the limits.
        """
        text = self.line.text().strip()
        if text == self._given_text and (self._given is not None or self.optional):
            return self._given
        if not text:
            if self.optional:
                return None
            raise FieldError(tr("A number is missing."))
        value = self.kind.read(text)
        shown = self.kind.show
        if self.whole and value != int(value):
            raise FieldError(tr("{value_text} is not a whole number.", value_text=text))
        if self.above is not None and value <= self.above:
            raise FieldError(
                tr(
                    "{shown} is too small: it must be more than {limit}.",
                    shown=shown(value),
                    limit=self._limit(self.above),
                )
            )
        if self.least is not None and value < self.least:
            raise FieldError(
                tr(
                    "{shown} is too small: the least is {limit}.",
                    shown=shown(value),
                    limit=self._limit(self.least),
                )
            )
        if self.most is not None and value > self.most:
            raise FieldError(
                tr(
                    "{shown} is too large: the most is {limit}.",
                    shown=shown(value),
                    limit=self._limit(self.most),
                )
            )
        return value

    def number(self) -> float:
        """Return the number of a field that must hold one.

        Raises:
            ValueError: empty, or as `read`.
        """
        value = self.read()
        if value is None:
            raise FieldError(tr("A number is missing."))
        return value

    def count(self) -> int:
        """Return a whole number."""
        return int(self.number())

    def _limit(self, value: float) -> str:
        unit = self.kind.unit if self.kind is not CODE else ""
        return f"{self.kind.show(value)} {unit}".strip()

    def _typed(self) -> None:
        # While a person types, an old message goes as soon as the text can be read; none comes up.
        try:
            self.read()
        except ValueError:
            pass
        else:
            self.say("")
        self.edited.emit()


def follow_unit(window: QWidget, unit: str) -> None:
    """Show the lengths of every field of a window in a unit: it stands while the project's changes."""
    kind = length(unit)
    for field in window.findChildren(NumberField):
        if field.kind.unit in ("mm", "in") and field.kind.unit != kind.unit:
            field.show_in(kind)


class TextField(Field):
    """A line of words."""

    def __init__(
        self, value: str = "", *, required: bool = False, hint: str = "", parent: QWidget | None = None
    ) -> None:
        self.line = QLineEdit(value)
        self.line.setCursorPosition(0)  # a long text shows its start
        super().__init__(self.line, parent)
        self.required = required
        self.line.setPlaceholderText(hint)
        self.line.textEdited.connect(lambda _text: self._typed())

    def put(self, value: str) -> None:
        """Show other words, from their start."""
        self.line.setText(value)
        self.line.setCursorPosition(0)

    def read(self) -> str:
        """Return the words without blanks at either end.

        Raises:
            FieldError: nothing stands in a field that needs words.
        """
        text = self.line.text().strip()
        if self.required and not text:
            raise FieldError(tr("Words are missing here."))
        return text

    def _typed(self) -> None:
        if self.line.text().strip():
            self.say("")
        self.edited.emit()


class DateField(TextField):
    """A date as YYYY-MM-DD, or nothing."""

    def __init__(self, value: str = "", parent: QWidget | None = None) -> None:
        super().__init__(value, hint=tr("YYYY-MM-DD"), parent=parent)

    def read(self) -> str:
        """Return the date as typed, or nothing.

        Raises:
            FieldError: not a date of the calendar.
        """
        from datetime import date

        text = super().read()
        if text:
            try:
                date.fromisoformat(text)
            except ValueError:
                raise FieldError(
                    tr(
                        "{value_text!r} is no date: write it as year-month-day, for example 2026-03-09.",
                        value_text=text,
                    )
                ) from None
        return text


class ChoiceField(Field, Generic[T]):
    """One of several named values."""

    def __init__(self, options: Sequence[tuple[str, T]], value: T, parent: QWidget | None = None) -> None:
        self.box = QComboBox()
        self.box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.box.setMinimumContentsLength(8)
        super().__init__(self.box, parent)
        self._values: list[T] = []
        self.offer(options, value)
        self.box.currentIndexChanged.connect(lambda _index: self.edited.emit())

    def offer(self, options: Sequence[tuple[str, T]], value: T) -> None:
        """Replace the options and choose one; a value that is not among them is kept and shown as missing."""
        rows = list(options)
        if all(v != value for _, v in rows):
            rows.append((tr("{value} (missing)", value=value), value))
        self.box.blockSignals(True)
        self.box.clear()
        self.box.addItems([name for name, _ in rows])
        self._values = [v for _, v in rows]
        self.box.setCurrentIndex(next(i for i, v in enumerate(self._values) if v == value))
        self.box.blockSignals(False)

    def choose(self, value: T) -> None:
        """Choose a value that is offered."""
        self.box.setCurrentIndex(self._values.index(value))

    def read(self) -> T:
        """Return the value chosen."""
        return self._values[self.box.currentIndex()]


class CheckField(Field):
    """Yes or no."""

    def __init__(self, words: str, value: bool = False, parent: QWidget | None = None) -> None:
        self.box = QCheckBox(words)
        super().__init__(self.box, parent)
        self.box.setChecked(value)
        self.box.toggled.connect(lambda _on: self.edited.emit())

    def read(self) -> bool:
        """Return True when checked."""
        return self.box.isChecked()


#: Three answers to a question that nobody may have answered yet.
YES_NO_OPEN: tuple[tuple[str, bool | None], ...] = (
    (tr("nobody has said"), None),
    (tr("yes"), True),
    (tr("no"), False),
)


def named(values: Sequence[str]) -> list[tuple[str, str]]:
    """Return options that are shown by their own words."""
    return [(value, value) for value in values]

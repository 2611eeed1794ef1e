"""The coordinate boxes: place and corner radius of the selected vertex, typed.

Typed beats snap beats mouse. Enter, or leaving the boxes, applies everything typed as one step; Escape
restores. A text that is not a length stays as the user wrote it, with what is wrong and where.
"""

from __future__ import annotations

import math

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import QApplication, QHBoxLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from app.language import spoken, tr
from app.reports.numbers import decimals
from app.units import LengthUnit, UnitsError, format_length, parse_length_mm
from app.views.number_box import NumberBox
from app.views.theme import Theme, figures
from geometry.shape.outline import Grade

NAMES = ("z", "r", "radius")
_HINTS = {
    "z": tr("Along the axle from the thing's own zero (a wheel's mounting face), + outboard"),
    "r": tr("Distance from the axle line"),
    "radius": tr("Corner radius, 0 for a sharp corner"),
}


class CoordinateBoxes(QWidget):
    """Three boxes for one vertex.

    Signals:
        typed(values): numbers in mm by name (z, r, radius), only those that were typed.
        left(): the user is done here; the drawing takes the keys again.
    """

    typed = Signal(object)
    left = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._unit: LengthUnit = "mm"
        self._grade: str = Grade.DRAWING
        self._values: dict[str, float] = {}
        self._index: int | None = None
        self._of: tuple[object, ...] = ()  # vertex, unit, lock and grade that the boxes show
        self._exact: dict[str, float] = {}  # numbers typed for this vertex, which keep the digits typed
        self.boxes: dict[str, QLineEdit] = {}
        self.setAutoFillBackground(True)  # so that a new number paints none of the window behind it
        self.title = QLabel()
        self.message = QLabel()
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(self.title)
        self._units: list[QLabel] = []
        for name in NAMES:
            row.addWidget(QLabel(spoken(name)))
            row.addWidget(self._box(name))
            unit = QLabel("mm")
            self._units.append(unit)
            row.addWidget(unit)
        row.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 6, 12, 2)
        column.setSpacing(2)
        column.addLayout(row)
        column.addWidget(self.message)
        # A line is kept for words, so that a message moves nothing, and none widens the window.
        self.message.setFixedHeight(self.fontMetrics().lineSpacing() + 2)
        self.message.setMinimumWidth(1)
        theme.changed.connect(self._dress)
        self.set_vertex(None, {}, "mm")
        self._dress()

    def _box(self, name: str) -> QLineEdit:
        box = NumberBox()
        # The style fills all of it: the ground behind is not painted with a new number.
        box.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        box.setFont(figures(box.font()))
        box.setAccessibleName(name)
        box.setToolTip(_HINTS[name])
        # Narrower where the row has little room, else the units would stand over the boxes.
        box.setMinimumWidth(box.fontMetrics().horizontalAdvance("−1234.5 ") + 12)
        box.setMaximumWidth(box.fontMetrics().horizontalAdvance("−1234.5678 in ") + 12)
        box.installEventFilter(self)
        self.boxes[name] = box
        return box

    # What is shown

    def set_vertex(
        self,
        index: int | None,
        values: dict[str, float],
        unit: LengthUnit,
        locked: bool = False,
        grade: str = Grade.DRAWING,
    ) -> None:
        """Show a vertex's numbers, in mm, with the digits of its outline's grade; typed text stays."""
        changed_unit, self._unit = unit != self._unit, unit
        before, self._values, self._grade = self._values, values, grade
        if index != self._index:
            self._exact = {}
        of = (index, unit, locked, grade)
        is_same, self._of, self._index = of == self._of, of, index
        if not is_same:
            self.title.setText(tr("No vertex") if index is None else tr("Vertex {index}", index=index + 1))
            for label in self._units:
                label.setText(unit)
        for name, box in self.boxes.items():
            if not is_same:
                box.setEnabled(index is not None)
                box.setReadOnly(locked)
            elif values.get(name) == before.get(name):
                continue
            if not box.isModified() or changed_unit:
                self._fill(name)

    def start(self, name: str = "z") -> None:
        """Put the keys into a box, its text selected."""
        box = self.boxes[name]
        if box.isEnabled():
            box.setFocus(Qt.FocusReason.TabFocusReason)
            box.selectAll()

    def restore(self) -> None:
        """Drop what was typed."""
        for name in NAMES:
            self._fill(name)
        self.message.clear()
        self._dress()

    @property
    def is_typing(self) -> bool:
        """True while a box holds a text that was not applied."""
        return any(box.isModified() for box in self.boxes.values())

    def _fill(self, name: str) -> None:
        box = self.boxes[name]
        value = self._values.get(name)
        text = ""
        if value is not None:
            typed = self._exact.get(name)
            as_typed = typed is not None and math.isclose(typed, value, abs_tol=1e-9)
            text = shown(value, self._unit, as_typed, self._grade)
        if box.text() != text:
            box.setText(text)
        box.setModified(False)

    # What is typed

    def apply(self) -> bool:
        """Read every box that was typed in and report the numbers; False, with its words, if one is wrong."""
        values: dict[str, float] = {}
        for name, box in self.boxes.items():
            if not box.isModified():
                continue
            value = self._read(name, box)
            if value is None:
                return False
            values[name] = value
        for box in self.boxes.values():
            box.setModified(False)
        self.message.clear()
        self._dress()
        if values:
            self._exact.update(values)
            self.typed.emit(values)
        self.restore_unless_typing()
        return True

    def restore_unless_typing(self) -> None:
        """Show the numbers in force in every box that nobody is typing in."""
        for name, box in self.boxes.items():
            if not box.isModified():
                self._fill(name)

    def refuse(self, words: str) -> None:
        """Say why what was typed is not taken."""
        self.message.setText(words)
        self.message.setToolTip(words)
        self._dress()

    def _read(self, name: str, box: QLineEdit) -> float | None:
        try:
            value = parse_length_mm(box.text(), self._unit)
        except UnitsError as error:
            self.refuse(f"{name}: {spoken(str(error))}")
            box.setFocus(Qt.FocusReason.OtherFocusReason)
            box.setSelection(error.position, max(1, len(error.text) - error.position))
            box.setModified(True)
            return None
        if name != "z" and value < 0.0:
            what = (
                tr("lies below the axle line; r starts at 0")
                if name == "r"
                else tr("is no radius; it starts at 0")
            )
            self.refuse(f"{name}: {box.text()} {what}.")
            box.selectAll()
            return None
        return value

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Take Enter, Escape and the loss of the keys."""
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
                if self.apply():
                    self.left.emit()
                return True
            if event.key() == Qt.Key.Key_Escape:
                self.restore()
                self.left.emit()
                return True
        if isinstance(event, QFocusEvent) and event.type() == QEvent.Type.FocusOut:
            window_reasons = (Qt.FocusReason.ActiveWindowFocusReason, Qt.FocusReason.PopupFocusReason)
            to = QApplication.focusWidget()
            if event.reason() not in window_reasons and to not in self.boxes.values() and self.is_typing:
                self.apply()
        return super().eventFilter(watched, event)

    def _dress(self) -> None:
        colour = self._theme.colours.short
        self.message.setStyleSheet(f"color: {colour}")


def shown(value_mm: float, unit: LengthUnit, as_typed: bool = False, grade: str = Grade.DRAWING) -> str:
    """Return a coordinate for its box: the decimals of its grade less trailing zeros, or as typed."""
    digits = decimals(Grade.DRAWING, unit) + 2 if as_typed else decimals(grade, unit)
    text = format_length(value_mm, unit, digits, with_unit=False).replace("-", "−")
    return text.rstrip("0").rstrip(".") if "." in text else text

"""The row under the drawing while an edit asks for places and values."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from app.language import tr
from app.session.asked import Tool, Value
from app.units import LengthUnit, UnitsError, format_angle, parse_angle_deg, parse_length_mm
from app.views.canvas.boxes import shown
from app.views.readings_text import minus
from app.views.theme import Theme, figures


class ToolRow(QWidget):
    """Asks for what a tool needs.

    Signals:
        changed(): a value, the choice or the side is another.
        entered(): Enter: do it; of a tool that repeats, add one more.
        finished(): the button that does it.
        left(): Escape.
    """

    changed = Signal()
    entered = Signal()
    finished = Signal()
    left = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._unit: LengthUnit = "mm"
        self._values: tuple[Value, ...] = ()
        self.boxes: dict[str, QLineEdit] = {}
        self.title, self.message = QLabel(), QLabel()
        self.swap, self.done = QPushButton(), QPushButton(tr("Done"))
        self.swap.setCheckable(True)
        self.choice = QComboBox()
        self._middle = QHBoxLayout()
        self._middle.setSpacing(8)
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(self.title)
        row.addLayout(self._middle)
        for widget in (self.choice, self.swap, self.done):
            row.addWidget(widget)
        row.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 6, 12, 2)
        column.setSpacing(2)
        column.addLayout(row)
        column.addWidget(self.message)
        self.message.setFixedHeight(self.fontMetrics().lineSpacing() + 2)
        self.message.setMinimumWidth(1)
        self.swap.toggled.connect(self.changed)
        self.done.clicked.connect(self.finished)
        self.choice.activated.connect(self.changed)
        for button in (self.swap, self.done, self.choice):
            button.installEventFilter(self)

    def begin(self, tool: Tool, unit: LengthUnit, choices: Sequence[str]) -> None:
        """Show the boxes of a tool."""
        self._unit, self._values = unit, tool.values
        while self._middle.count():
            item = self._middle.takeAt(0)
            widget = item.widget() if item is not None else None
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        self.boxes = {}
        self.title.setText(tool.title)
        for value in tool.values:
            self._middle.addWidget(QLabel(value.name))
            self._middle.addWidget(self._box(value))
            if len(tool.values) < 4:  # five boxes have no room for the unit; it stands in their hints
                self._middle.addWidget(QLabel("°" if value.is_angle else unit))
        self.swap.blockSignals(True)
        self.swap.setChecked(False)
        self.swap.blockSignals(False)
        self.swap.setText(tool.swap)
        self.swap.setVisible(bool(tool.swap))
        self.choice.clear()
        self.choice.addItems(list(choices))
        self.choice.setVisible(bool(choices))
        self.set_values({value.name: value.start for value in tool.values})

    def _box(self, value: Value) -> QLineEdit:
        box = QLineEdit()
        box.setFont(figures(box.font()))
        box.setAccessibleName(value.name)
        box.setToolTip(f"{value.hint}, {tr('degrees') if value.is_angle else self._unit}")
        widest = "−1234.56 in " if len(self._values) < 4 else "−99.99"
        box.setFixedWidth(box.fontMetrics().horizontalAdvance(widest) + 12)
        box.textEdited.connect(lambda _text: self.changed.emit())
        box.installEventFilter(self)
        self.boxes[value.name] = box
        return box

    def set_values(self, values: dict[str, float]) -> None:
        """Show values in the boxes where nobody has typed."""
        for value in self._values:
            box = self.boxes[value.name]
            if value.name in values and not box.isModified():
                number = values[value.name]
                text = (
                    format_angle(number)[:-1].removesuffix(".0")
                    if value.is_angle
                    else shown(number, self._unit)
                )
                box.setText(text)

    def values(self) -> dict[str, float]:
        """Return what stands in the boxes, mm and degrees.

        Raises:
            UnitsError: a text is no number; its name stands before what is wrong.
        """
        found = {}
        for value in self._values:
            text = self.boxes[value.name].text()
            try:
                found[value.name] = (
                    parse_angle_deg(text) if value.is_angle else parse_length_mm(text, self._unit)
                )
            except UnitsError as error:
                raise UnitsError(f"{value.name}: {error}", error.text, error.position) from error
        return found

    def start(self) -> None:
        """Put the keys into the first box, its text selected; without one, on the button."""
        box = next(iter(self.boxes.values()), None)
        if box is not None:
            box.setFocus(Qt.FocusReason.TabFocusReason)
            box.selectAll()
        else:
            self.done.setFocus(Qt.FocusReason.TabFocusReason)

    def say(self, words: str, refused: bool = False) -> None:
        """Say what is asked, what comes out, or why it cannot be."""
        words = minus(words)
        self.message.setText(words)
        self.message.setToolTip(words)
        colours = self._theme.colours
        self.message.setStyleSheet(f"color: {colours.short if refused else colours.ink}")

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Take Enter and Escape."""
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            if event.key() == Qt.Key.Key_Escape:
                self.left.emit()
                return True
            if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and watched is not self.swap:
                (self.finished if watched is self.done else self.entered).emit()
                return True
        return super().eventFilter(watched, event)

"""The row under the drawing while an edit asks for places and values."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from app.language import spoken, tr
from app.session.asked import Tool, Value
from app.units import LengthUnit, UnitsError, format_angle, parse_angle_deg, parse_length_mm
from app.views.canvas.boxes import shown
from app.views.readings_text import minus
from app.views.theme import Theme, figures

#: Beside the row, and between what stands in it: where there is room, and where there is not.
_MARGIN_PX, _GAP_PX, _LEAST_GAP_PX = 12, 8, 3


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
        self._words = ""
        self._given: dict[str, float] = {}  # what the boxes show rounded, until someone types
        self.boxes: dict[str, QLineEdit] = {}
        self.title, self.message = QLabel(), QLabel()
        self.swap, self.done = QPushButton(), QPushButton(tr("Done"))
        self.swap.setCheckable(True)
        self.choice = QComboBox()
        self._middle = QHBoxLayout()
        self._line = row = QHBoxLayout()
        row.addWidget(self.title)
        row.addLayout(self._middle)
        for widget in (self.choice, self.swap, self.done):
            row.addWidget(widget)
        row.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(_MARGIN_PX, 6, _MARGIN_PX, 2)
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
        self.boxes, self._given = {}, {}
        self.title.setText(tool.title)
        for value in tool.values:
            self._middle.addWidget(QLabel(spoken(value.name)))
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
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit what stands in the line into another width."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        """Leave the title to the message, then room between the boxes, where the line is too narrow."""
        items = (self._middle.itemAt(k) for k in range(self._middle.count()))
        middle = [w for item in items if item is not None and (w := item.widget()) is not None]
        shown = [*middle, *(w for w in (self.choice, self.swap, self.done) if not w.isHidden())]
        needs = sum(max(w.minimumWidth(), w.minimumSizeHint().width()) for w in shown)
        margins = self.contentsMargins().left() + self.contentsMargins().right() + 2 * _MARGIN_PX
        room = self.width() - margins - needs
        self.title.setVisible(room >= self.title.sizeHint().width() + (len(shown) + 1) * _GAP_PX)
        gap = _GAP_PX if room >= len(shown) * _GAP_PX else _LEAST_GAP_PX
        self._line.setSpacing(gap)
        self._middle.setSpacing(gap)
        self._put_message()

    def _box(self, value: Value) -> QLineEdit:
        box = QLineEdit()
        box.setFont(figures(box.font()))
        box.setAccessibleName(spoken(value.name))
        box.setToolTip(f"{value.hint}, {tr('degrees') if value.is_angle else self._unit}")
        # As wide as there is room for; words and units beside it are never cut.
        least, most = (box.fontMetrics().horizontalAdvance(t) + 10 for t in ("−99.99", "−1234.56 in "))
        box.setMinimumWidth(least)
        box.setMaximumWidth(most)
        box.textEdited.connect(lambda _text: self.changed.emit())
        box.installEventFilter(self)
        self.boxes[value.name] = box
        return box

    def set_values(self, values: dict[str, float]) -> None:
        """Show values in the boxes where nobody has typed."""
        for value in self._values:
            box = self.boxes[value.name]
            if value.name in values and not box.isModified():
                number = self._given[value.name] = values[value.name]
                text = (
                    format_angle(number)[:-1].removesuffix(".0")
                    if value.is_angle
                    else shown(number, self._unit)
                )
                box.setText(text)

    def values(self) -> dict[str, float]:
        """Return what stands in the boxes, mm and degrees; exactly what was set where nobody has typed.

        Raises:
            UnitsError: a text is no number; its name stands before what is wrong.
        """
        found = {}
        for value in self._values:
            box = self.boxes[value.name]
            if not box.isModified() and value.name in self._given:
                found[value.name] = self._given[value.name]
                continue
            text = box.text()
            try:
                found[value.name] = (
                    parse_angle_deg(text) if value.is_angle else parse_length_mm(text, self._unit)
                )
            except UnitsError as error:
                raise UnitsError(f"{spoken(value.name)}: {error}", error.text, error.position) from error
        return found

    def again(self, name: str, value: float) -> None:
        """Show a value anew, also where someone has typed."""
        self.boxes[name].setModified(False)
        self.set_values({name: value})

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
        self._words = minus(words)
        self._put_message()
        colours = self._theme.colours
        self.message.setStyleSheet(f"color: {colours.short if refused else colours.ink}")

    def _put_message(self) -> None:
        words = self._words if not self.title.isHidden() else f"{self.title.text()}: {self._words}"
        self.message.setText(words)
        self.message.setToolTip(words)

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

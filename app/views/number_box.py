"""A line edit that is cheap to paint anew while nobody types in it."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPointF
from PySide6.QtGui import QColor, QEnterEvent, QPainter, QPaintEvent, QPixmap, QResizeEvent
from PySide6.QtWidgets import QLineEdit, QStyle, QStyleOptionFrame

from app.views.theme import Widths

#: Between the frame's inside and the text, as the toolkit has it.
_MARGIN_PX = 2


class NumberBox(QLineEdit):
    """Keeps a picture of its frame, and paints its text over it while it has no keys.

    The toolkit strokes the round frame and lays the text out again with every step of a drag.
    """

    def __init__(self) -> None:
        super().__init__()
        self._frame: QPixmap | None = None
        self._foot = QPointF()  # of the text, at its left
        self._ink = QColor()
        self._room = 0
        self._widths = Widths(self.fontMetrics())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint frame and text; with the keys in it, or a text that does not fit, as the toolkit does."""
        if self.hasFocus() or self.hasSelectedText() or not self.isEnabled():
            super().paintEvent(event)
            return
        text = self.text()
        if self._frame is None or self._frame.devicePixelRatio() != self.devicePixelRatioF():
            self._frame = self._painted_frame()
        if self._widths.of(text) > self._room:
            super().paintEvent(event)
            return
        painter = QPainter(self)
        painter.drawPixmap(0, 0, self._frame)
        painter.setPen(self._ink)
        painter.drawText(self._foot, text)

    def _painted_frame(self) -> QPixmap:
        """Return the frame on its ground, and note where the text stands in it."""
        option = QStyleOptionFrame()
        self.initStyleOption(option)
        ratio = self.devicePixelRatioF()
        frame = QPixmap(self.size() * ratio)
        frame.setDevicePixelRatio(ratio)
        frame.fill(self.palette().window().color())
        painter = QPainter(frame)
        self.style().drawPrimitive(QStyle.PrimitiveElement.PE_PanelLineEdit, option, painter, self)
        painter.end()
        inside = self.style().subElementRect(QStyle.SubElement.SE_LineEditContents, option, self)
        metrics = self.fontMetrics()
        top = inside.top() + (inside.height() - metrics.height() + 1) // 2
        self._foot = QPointF(inside.left() + _MARGIN_PX, top + metrics.ascent())
        self._room = inside.width() - 2 * _MARGIN_PX
        self._ink = self.palette().text().color()
        self._widths = Widths(metrics)
        return frame

    def changeEvent(self, event: QEvent) -> None:
        """Paint the frame anew in other colours, another font or state."""
        self._frame = None
        super().changeEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Paint the frame anew in another size."""
        self._frame = None
        super().resizeEvent(event)

    def enterEvent(self, event: QEnterEvent) -> None:
        """Paint the frame anew under the pointer."""
        self._frame = None
        super().enterEvent(event)

    def leaveEvent(self, event: QEvent) -> None:
        """Paint the frame anew without the pointer."""
        self._frame = None
        super().leaveEvent(event)

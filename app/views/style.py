"""Hairline frames for ticks and text lines, which the base style draws too dark for dark paper."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QIcon, QPainter, QPalette, QPen
from PySide6.QtWidgets import QDialogButtonBox, QProxyStyle, QStyle, QStyleOption, QWidget

_TICKS = (
    QStyle.PrimitiveElement.PE_IndicatorCheckBox,
    QStyle.PrimitiveElement.PE_IndicatorItemViewItemCheck,
)

#: As numbers: flags themselves are compared by several calls, at every paint of a text line.
_FOCUS, _ENABLED = QStyle.StateFlag.State_HasFocus.value, QStyle.StateFlag.State_Enabled.value


class DraftingStyle(QProxyStyle):
    """The plain style of the toolkit with frames drawn in the palette's quiet ink."""

    def __init__(self) -> None:
        super().__init__("Fusion")

    def standardIcon(  # noqa: N802
        self,
        wanted: QStyle.StandardPixmap,
        option: QStyleOption | None = None,
        widget: QWidget | None = None,
    ) -> QIcon:
        """Leave the toolkit's coloured pictures off the buttons of a dialog.

        There is a style hint for it too, but hints are asked for some thousand times while a window is made.
        """
        if isinstance(widget, QDialogButtonBox):
            return QIcon()
        return super().standardIcon(wanted, option, widget)

    def drawPrimitive(  # noqa: N802
        self,
        element: QStyle.PrimitiveElement,
        option: QStyleOption,
        painter: QPainter,
        widget: QWidget | None = None,
    ) -> None:
        """Draw ticks, radio buttons and text lines; leave everything else to the base style."""
        if element in _TICKS:
            self._tick(option, painter)
        elif element == QStyle.PrimitiveElement.PE_IndicatorRadioButton:
            self._radio(option, painter)
        elif element == QStyle.PrimitiveElement.PE_PanelLineEdit:
            self._line(option, painter)
        else:
            super().drawPrimitive(element, option, painter, widget)

    def _tick(self, option: QStyleOption, painter: QPainter) -> None:
        box = _square(option)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(_frame(option), 1.0))
        painter.setBrush(option.palette.base())
        painter.drawRoundedRect(box, 2.0, 2.0)
        pen = QPen(option.palette.color(QPalette.ColorRole.Text), 1.8)
        painter.setPen(pen)
        if option.state & QStyle.StateFlag.State_On:
            x, y, side = box.left(), box.top(), box.width()
            corners = ((0.22, 0.52), (0.42, 0.72), (0.80, 0.28))
            painter.drawPolyline([QPointF(x + a * side, y + b * side) for a, b in corners])
        elif option.state & QStyle.StateFlag.State_NoChange:
            middle = box.center()
            painter.drawLine(middle - QPointF(box.width() * 0.25, 0), middle + QPointF(box.width() * 0.25, 0))
        painter.restore()

    def _radio(self, option: QStyleOption, painter: QPainter) -> None:
        box = _square(option)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(_frame(option), 1.0))
        painter.setBrush(option.palette.base())
        painter.drawEllipse(box)
        if option.state & QStyle.StateFlag.State_On:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(option.palette.text())
            inset = box.width() * 0.28
            painter.drawEllipse(box.adjusted(inset, inset, -inset, -inset))
        painter.restore()

    def _line(self, option: QStyleOption, painter: QPainter) -> None:
        painter.save()
        painter.fillRect(option.rect, option.palette.base())
        width = getattr(option, "lineWidth", 1)
        if width > 0:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(QPen(_frame(option), 1.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(option.rect).adjusted(0.5, 0.5, -0.5, -0.5), 2.0, 2.0)
        painter.restore()


def _frame(option: QStyleOption) -> QColor:
    """Return the accent where the keys are, else quiet ink; paler where nothing can be done."""
    state = option.state.value
    if state & _FOCUS:
        return option.palette.color(QPalette.ColorRole.Highlight)
    return option.palette.color(QPalette.ColorRole.Dark if state & _ENABLED else QPalette.ColorRole.Mid)


def _square(option: QStyleOption) -> QRectF:
    side = min(option.rect.width(), option.rect.height()) - 2.0
    box = QRectF(0.0, 0.0, side, side)
    box.moveCenter(QRectF(option.rect).center())
    return box

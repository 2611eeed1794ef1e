"""Layers of the drawing, painted from the lowest up in logical pixels of the sheet.

What lies under the wheel stands still while it is dragged: the sheet keeps a picture of those layers and
paints them anew only when one of them, or the view, has changed.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from PySide6.QtCore import QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QPen, QPixmap, QTransform
from PySide6.QtWidgets import QGraphicsItem, QGraphicsView, QStyleOptionGraphicsItem, QWidget

#: Made once: handing a painter a member of an enumeration takes longer.
NO_PEN, NO_BRUSH = QPen(Qt.PenStyle.NoPen), QBrush(Qt.BrushStyle.NoBrush)
_SMOOTH = QPainter.RenderHint.Antialiasing


class Paintable(Protocol):
    """Something in data coordinates that can be painted, by a painter that smooths before and after."""

    def paint(self, painter: QPainter, device_scale: float) -> None:
        """Paint it; `device_scale` is how many of the device's pixels a logical one has."""


class Layer:
    """A path with a pen that keeps its width at any zoom, and a brush.

    Attributes:
        changes: how often path or look were set; a picture that was kept is stale when this has risen.
    """

    def __init__(self) -> None:
        self.changes = 0
        self._path = QPainterPath()
        self._is_empty = True
        self._pen, self._brush = NO_PEN, NO_BRUSH
        self._smooth = True
        self._width = self._device_scale = 1.0

    def set_path(self, path: QPainterPath) -> None:
        """Show another path."""
        was_empty, self._is_empty = self._is_empty, path.isEmpty()
        if not (was_empty and self._is_empty):
            self._path = path
            self.changes += 1

    @property
    def is_empty(self) -> bool:
        """True where there is nothing to paint."""
        return self._is_empty

    def path(self) -> QPainterPath:
        """Return the path that is shown."""
        return self._path

    def set_look(self, outline: QPen | None, fill: QColor | None = None, smooth: bool = True) -> None:
        """Set pen and fill; None leaves one out. Lines that follow the grid are crisper without smoothing."""
        self._pen = QPen(outline if outline is not None else NO_PEN)
        self._pen.setCosmetic(True)
        self._width, self._device_scale = self._pen.widthF(), 1.0
        self._brush = QBrush(fill) if fill is not None else NO_BRUSH
        self._smooth = smooth
        self.changes += 1

    def paint(self, painter: QPainter, device_scale: float) -> None:
        """Paint the path."""
        if self._is_empty:
            return
        if device_scale != self._device_scale:
            # A cosmetic pen counts the device's pixels.
            self._pen.setWidthF(self._width * device_scale)
            self._device_scale = device_scale
        if not self._smooth:
            painter.setRenderHint(_SMOOTH, False)
        painter.setPen(self._pen)
        painter.setBrush(self._brush)
        painter.drawPath(self._path)
        if not self._smooth:
            painter.setRenderHint(_SMOOTH, True)


#: A picture of so few layers takes longer to paint than they do.
_FEW = 3


class Still:
    """Layers that stand still together: one picture while neither they nor the view change.

    A few that are not empty are painted as they are.
    """

    def __init__(self, layers: Sequence[Layer]) -> None:
        self._layers = layers
        self._key: tuple[object, ...] = ()
        self._picture, self._corner = QPixmap(), QPointF()

    def paint(self, painter: QPainter, device_scale: float) -> None:
        """Paint the picture; it is made anew where something has changed."""
        paths = [layer.path() for layer in self._layers if not layer.is_empty]
        if len(paths) <= _FEW:
            for layer in self._layers:
                layer.paint(painter, device_scale)
            return
        at, device = painter.worldTransform(), painter.device()
        seen = QRect(0, 0, round(device.width() * device_scale), round(device.height() * device_scale))
        key = (at, seen, device_scale, *(layer.changes for layer in self._layers))
        if key != self._key:
            self._key = key
            to_device = at * QTransform.fromScale(device_scale, device_scale)
            box = QRectF()
            for path in paths:
                box |= to_device.mapRect(path.controlPointRect())
            self._make(to_device, box.toAlignedRect().adjusted(-2, -2, 2, 2) & seen, device_scale)
        painter.save()
        painter.resetTransform()
        painter.drawPixmap(self._corner, self._picture)
        painter.restore()

    def _make(self, to_device: QTransform, box: QRect, device_scale: float) -> None:
        """Make the picture of a box in the device's pixels."""
        self._picture, self._corner = QPixmap(box.size()), QPointF(box.topLeft()) / device_scale
        self._picture.fill(Qt.GlobalColor.transparent)
        if box.isEmpty():
            return
        with QPainter(self._picture) as inside:
            inside.setTransform(to_device * QTransform.fromTranslate(-box.left(), -box.top()))
            inside.setRenderHint(_SMOOTH, True)
            for layer in self._layers:
                layer.paint(inside, device_scale)
        self._picture.setDevicePixelRatio(device_scale)


def paint_layers(painter: QPainter, layers: Sequence[Paintable], to_pixels: QTransform) -> None:
    """Paint layers whose coordinates `to_pixels` maps to the painter's, the first one lowest."""
    device_scale = painter.device().devicePixelRatioF()
    before = painter.transform()
    painter.setTransform(to_pixels, combine=True)
    painter.setRenderHint(_SMOOTH, True)
    for layer in layers:
        layer.paint(painter, device_scale)
    painter.setTransform(before)


def no_ground_below(view: QGraphicsView) -> None:
    """Have nothing filled behind a view that paints its whole ground itself."""
    view.viewport().setAutoFillBackground(False)
    view.viewport().setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)


class Picture(QGraphicsItem):
    """Layers over the whole view as one item."""

    def __init__(self, layers: Sequence[Paintable], height: float) -> None:
        super().__init__()
        self.setZValue(height)
        self._layers = layers
        self._frame = QRectF()
        self._to_pixels = QTransform()

    def follow(self, frame: QRectF, to_pixels: QTransform) -> None:
        """Take the view's frame in pixels, and the way there from mm."""
        if frame != self._frame:
            self.prepareGeometryChange()
            self._frame = QRectF(frame)
        self._to_pixels = to_pixels
        self.update()

    def boundingRect(self) -> QRectF:
        """Return the whole frame."""
        return self._frame

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        """Paint every layer."""
        paint_layers(painter, self._layers, self._to_pixels)

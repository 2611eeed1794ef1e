"""A picture that is looked at closely: zoomed about the pointer, dragged, and shown whole again."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QKeyEvent, QMouseEvent, QTransform, QWheelEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

LEAST_ZOOM, MOST_ZOOM = 1.0, 200.0
_STEP = 1.25


class ZoomedPicture(QWidget):
    """The mouse's wheel and + and - zoom, a drag moves, a double click and 0 show all again."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.zoom, self._about = LEAST_ZOOM, QPointF()
        self._dragged: QPointF | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def zoom_by(self, factor: float, about: QPointF) -> None:
        """Zoom about a place, pixels."""
        zoom = min(max(self.zoom * factor, LEAST_ZOOM), MOST_ZOOM)
        away = about - (about - self._about) * (zoom / self.zoom)
        self._about = away if zoom > LEAST_ZOOM else QPointF()
        self.zoom = zoom
        self.update()

    def show_all(self) -> None:
        """Show all again."""
        self.zoom, self._about = LEAST_ZOOM, QPointF()
        self.update()

    def fitted(self, z: tuple[float, float], most_r: float, room: QRectF) -> QTransform:
        """Return the map from (z, r) in mm to pixels that fits a half-section into a room, as zoomed."""
        scale = min(room.width() / (z[1] - z[0]), room.height() / most_r)
        left = room.center().x() - scale * (z[0] + z[1]) / 2.0
        whole = QTransform(scale, 0.0, 0.0, -scale, left, room.center().y() + scale * most_r / 2.0)
        return whole * QTransform(self.zoom, 0.0, 0.0, self.zoom, self._about.x(), self._about.y())

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom about the pointer."""
        self.zoom_by(_STEP if event.angleDelta().y() > 0 else 1.0 / _STEP, event.position())

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of the picture."""
        self._dragged = event.position()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Move the picture with the pointer."""
        if self._dragged is not None and self.zoom > LEAST_ZOOM:
            self._about += event.position() - self._dragged
            self._dragged = event.position()
            self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let it go."""
        self._dragged = None

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Show all again."""
        self.show_all()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Zoom about the middle with + and -, show all with 0."""
        middle = QPointF(self.rect().center())
        if event.key() in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom_by(_STEP, middle)
        elif event.key() == Qt.Key.Key_Minus:
            self.zoom_by(1.0 / _STEP, middle)
        elif event.key() == Qt.Key.Key_0:
            self.show_all()
        else:
            super().keyPressEvent(event)

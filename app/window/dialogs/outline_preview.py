"""A small picture of an outline: equal scales, axle line low, outboard right."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPalette, QPen, QPolygonF
from PySide6.QtWidgets import QWidget

from app.language import tr
from geometry.shape.curve import Path

_MARGIN = 12


class OutlinePreview(QWidget):
    """Draws closed outlines."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._polygons: list[list[tuple[float, float]]] = []
        self.setMinimumHeight(150)
        self.setAccessibleName(tr("Picture of the outline"))

    def sizeHint(self) -> QSize:
        """Return a wide, low picture."""
        return QSize(420, 180)

    def show_loops(self, loops: Sequence[Sequence[tuple[float, float, float]]]) -> None:
        """Draw other outlines, (z, r, bulge) rows."""
        self._polygons = []
        for loop in loops:
            path = Path.closed(loop)
            low_z, high_z, low_r, high_r = path.bounds
            chord = max(high_z - low_z, high_r - low_r) / 500.0
            self._polygons.append([(float(z), float(r)) for z, r in path.flattened(max(chord, 1e-6))])
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw paper, axle line and outlines."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        palette = self.palette()
        painter.fillRect(self.rect(), palette.color(QPalette.ColorRole.Base))
        points = [p for polygon in self._polygons for p in polygon]
        if not points:
            return
        low_z, high_z = min(z for z, _ in points), max(z for z, _ in points)
        wide, high = max(high_z - low_z, 1e-9), max(1e-9, *(r for _, r in points))
        scale = min((self.width() - 2 * _MARGIN) / wide, (self.height() - 2 * _MARGIN) / high)
        left, foot = (self.width() - wide * scale) / 2.0 - low_z * scale, self.height() - _MARGIN
        painter.setPen(QPen(palette.color(QPalette.ColorRole.PlaceholderText), 1.0, Qt.PenStyle.DashDotLine))
        painter.drawLine(QPointF(_MARGIN, foot), QPointF(self.width() - _MARGIN, foot))
        if low_z <= 0.0 <= high_z:
            painter.drawLine(QPointF(left, _MARGIN), QPointF(left, foot))
        fill = QColor(palette.color(QPalette.ColorRole.Highlight))
        fill.setAlpha(60)
        painter.setBrush(fill)
        painter.setPen(QPen(palette.color(QPalette.ColorRole.Text), 1.0))
        for polygon in self._polygons:
            painter.drawPolygon(QPolygonF([QPointF(left + z * scale, foot - r * scale) for z, r in polygon]))

"""A small picture of the outlines found in a file: equal scales, axle line low, outboard right."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QMouseEvent, QPainter, QPaintEvent, QPalette, QPen, QPolygonF
from PySide6.QtWidgets import QWidget

from geometry.shape.curve import Path

_MARGIN = 12
#: Levels of r at which a place for a number is looked for.
_LEVELS = 15
#: Rings about a place on which a free spot is looked for.
_RINGS = 6


class OutlinePreview(QWidget):
    """Draws closed outlines; chosen ones are filled, and several are numbered from 1 in their order.

    Signals:
        clicked(z, r): a place of the picture.
    """

    clicked = Signal(float, float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._polygons: list[list[tuple[float, float]]] = []
        self._chosen: set[int] = set()
        self.setMinimumHeight(150)
        self.setAccessibleName("Picture of the outlines found")

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
        self.choose(range(len(loops)))

    def choose(self, indices: Sequence[int]) -> None:
        """Fill these outlines."""
        self._chosen = set(indices)
        self.update()

    def _fit(self) -> tuple[float, float, float, float]:
        """Return least and greatest z, where the least one lies, and pixels per mm."""
        points = [p for polygon in self._polygons for p in polygon]
        low_z, high_z = min(z for z, _ in points), max(z for z, _ in points)
        high_r = max(r for _, r in points)
        room_x, room_y = self.width() - 2 * _MARGIN, self.height() - 2 * _MARGIN
        scale = min(room_x / max(high_z - low_z, 1e-9), room_y / max(high_r, 1e-9))
        return low_z, high_z, (self.width() - (high_z - low_z) * scale) / 2.0, scale

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Say which place was clicked."""
        if self._polygons and event.button() is Qt.MouseButton.LeftButton:
            low_z, _, left, scale = self._fit()
            at = event.position()
            self.clicked.emit(low_z + (at.x() - left) / scale, (self.height() - _MARGIN - at.y()) / scale)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw paper, axle line and outlines."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        palette = self.palette()
        painter.fillRect(self.rect(), palette.color(QPalette.ColorRole.Base))
        if not self._polygons:
            return
        low_z, high_z, left, scale = self._fit()
        foot = self.height() - _MARGIN
        quiet = palette.color(QPalette.ColorRole.PlaceholderText)
        painter.setPen(QPen(quiet, 1.0, Qt.PenStyle.DashDotLine))
        painter.drawLine(QPointF(_MARGIN, foot), QPointF(self.width() - _MARGIN, foot))
        if low_z <= 0.0 <= high_z:
            painter.drawLine(QPointF(left - low_z * scale, _MARGIN), QPointF(left - low_z * scale, foot))
        for k, polygon in enumerate(self._polygons):
            fill = QColor(palette.color(QPalette.ColorRole.Highlight))
            fill.setAlpha(60 if k in self._chosen else 0)
            painter.setBrush(fill)
            painter.setPen(QPen(palette.color(QPalette.ColorRole.Text), 1.0))
            painter.drawPolygon(
                QPolygonF([QPointF(left + (z - low_z) * scale, foot - r * scale) for z, r in polygon])
            )
        spots = self.number_spots()
        for (z, r), spot in zip(self.number_places(), spots, strict=True):
            painter.drawLine(spot, QPointF(left + (z - low_z) * scale, foot - r * scale))
        for k, spot in enumerate(spots, start=1):
            self._draw_number(painter, spot, str(k))

    def _draw_number(self, painter: QPainter, spot: QPointF, text: str) -> None:
        half = painter.fontMetrics().height() / 2.0 + 1.0
        width = max(half, painter.fontMetrics().horizontalAdvance(text) / 2.0 + 4.0)
        box = QRectF(spot.x() - width, spot.y() - half, 2.0 * width, 2.0 * half)
        painter.setBrush(self.palette().color(QPalette.ColorRole.Base))
        painter.drawRoundedRect(box, half, half)
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)

    def number_places(self) -> list[tuple[float, float]]:
        """Return the place that the number of each outline is about, mm; none for a single one.

        Each lies inside its outline, where that is widest along z and no other number's place is near.
        """
        if len(self._polygons) < 2:
            return []
        apart = self._apart() / self._fit()[3]
        placed: list[tuple[float, float]] = []
        for polygon in self._polygons:
            spots = [spot for _, spot in sorted(_inside(polygon), reverse=True)] or polygon[:1]
            free = (s for s in spots if all(math.dist(s, other) > apart for other in placed))
            placed.append(next(free, spots[0]))
        return placed

    def number_spots(self) -> list[QPointF]:
        """Return where the numbers stand, pixels: on their places, or beside where one stands already."""
        if len(self._polygons) < 2:
            return []
        low_z, _, left, scale = self._fit()
        taken: list[QPointF] = []
        for z, r in self.number_places():
            place = QPointF(left + (z - low_z) * scale, self.height() - _MARGIN - r * scale)
            taken.append(next((spot for spot in self._around(place) if self._is_free(spot, taken)), place))
        return taken

    def _around(self, place: QPointF) -> Iterator[QPointF]:
        """Yield a place and those on ever wider rings about it."""
        yield place
        for ring in range(1, _RINGS + 1):
            for turn in range(8 * ring):
                angle = math.tau * turn / (8 * ring)
                yield place + QPointF(math.cos(angle), math.sin(angle)) * (ring * self._apart())

    def _is_free(self, spot: QPointF, taken: Sequence[QPointF]) -> bool:
        edge = self._apart() / 2.0
        room = QRectF(self.rect()).adjusted(edge, edge, -edge, -edge)
        # A hair less than the step of the rings, which rounding may fall short of.
        least = 0.99 * self._apart()
        return room.contains(spot) and all(
            math.hypot(spot.x() - t.x(), spot.y() - t.y()) >= least for t in taken
        )

    def _apart(self) -> float:
        """Return the least distance between two numbers, pixels."""
        return 1.5 * self.fontMetrics().height()


def _inside(polygon: list[tuple[float, float]]) -> list[tuple[float, tuple[float, float]]]:
    """Return how far the inside reaches along z at several r, and the middle of each such stretch."""
    low, high = min(r for _, r in polygon), max(r for _, r in polygon)
    found = []
    for k in range(_LEVELS):
        level = low + (high - low) * (k + 0.5) / _LEVELS
        crossed = sorted(
            z0 + (z1 - z0) * (level - r0) / (r1 - r0)
            for (z0, r0), (z1, r1) in pairwise([*polygon, polygon[0]])
            if (r0 <= level) != (r1 <= level)
        )
        for start, end in zip(crossed[::2], crossed[1::2], strict=True):
            found.append((end - start, ((start + end) / 2.0, level)))
    return found

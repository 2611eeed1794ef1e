"""Outlines as pictures: exact paths for the painter, hatches, offsets, and the items that show them.

Everything is in data coordinates, (z, r) in mm with r up; pens keep their width at any zoom.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QPen
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from geometry.shape.curve import Array, Path

#: Pictures of offset curves are flattened this finely.
PICTURE_MM = 0.02


def pen(colour: QColor, style: Qt.PenStyle = Qt.PenStyle.SolidLine, width: float = 1.0) -> QPen:
    """Return a pen of a width in logical pixels."""
    result = QPen(colour, width, style)
    result.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    return result


def chain_line(colour: QColor) -> QPen:
    """Return the long-dash-dot pen of axes and planes."""
    result = pen(colour)
    result.setDashPattern([14.0, 4.0, 2.0, 4.0])
    return result


def painter_path(path: Path) -> QPainterPath:
    """Return the closed path, its arcs as arcs."""
    result = QPainterPath()
    if not len(path):
        return result
    ends, arcs = path.ends.tolist(), path.is_arc.tolist()
    starts = path.start_angles
    first = path.points[0]
    result.moveTo(float(first[0]), float(first[1]))
    for i, (z, r) in enumerate(ends):
        if not arcs[i]:
            result.lineTo(z, r)
            continue
        (cz, cr), radius = path.centres[i], float(path.radii[i])
        box = QRectF(cz - radius, cr - radius, 2.0 * radius, 2.0 * radius)
        # The painter counts angles clockwise in a frame whose second axis points down; ours points up.
        result.arcTo(box, -math.degrees(starts[i]), -math.degrees(path.sweeps[i]))
    result.closeSubpath()
    return result


def polyline(points: Array, closed: bool = False) -> QPainterPath:
    """Return a path through (m, 2) points."""
    result = QPainterPath()
    for k, (z, r) in enumerate(points.tolist()):
        if k == 0:
            result.moveTo(z, r)
        else:
            result.lineTo(z, r)
    if closed:
        result.closeSubpath()
    return result


def segments(pairs: Array) -> QPainterPath:
    """Return a path of separate lines from (m, 2, 2) end points."""
    result = QPainterPath()
    for (z0, r0), (z1, r1) in pairs.tolist():
        result.moveTo(z0, r0)
        result.lineTo(z1, r1)
    return result


def hatch(polygon: Array, spacing_mm: float, rising: bool = True) -> Array:
    """Return (m, 2, 2) ends of 45 degree lines across a polygon, spacing_mm apart measured across them.

    The lines stand at multiples of the spacing from the frame's origin, so they do not crawl when the
    polygon changes.
    """
    sign = 1.0 if rising else -1.0
    # Across the lines (u) and along them (v), both in units of mm.
    u = (polygon[:, 0] * sign - polygon[:, 1]) / math.sqrt(2.0)
    v = (polygon[:, 0] * sign + polygon[:, 1]) / math.sqrt(2.0)
    u2, v2 = np.roll(u, -1), np.roll(v, -1)
    found: list[Array] = []
    for level in spacing_mm * np.arange(
        math.ceil(u.min() / spacing_mm), math.floor(u.max() / spacing_mm) + 1
    ):
        crosses = (u <= level) != (u2 <= level)
        t = (level - u[crosses]) / (u2[crosses] - u[crosses])
        along = np.sort(v[crosses] + t * (v2[crosses] - v[crosses]))
        ends = np.column_stack([(level + along) / math.sqrt(2.0) * sign, (along - level) / math.sqrt(2.0)])
        found.append(ends[: len(ends) // 2 * 2].reshape(-1, 2, 2))
    return np.concatenate(found) if found else np.empty((0, 2, 2))


def grown(paths: list[Path], distance_mm: float) -> QPainterPath:
    """Return the union of the areas grown by a distance, rounded at corners; negative shrinks.

    The axle line is no skin: the area is taken together with its mirror image below it.
    """
    areas: list[BaseGeometry] = []
    for path in paths:
        points = path.flattened(PICTURE_MM)
        area = shapely.make_valid(Polygon(points))
        if points[:, 1].min() <= 0.0:
            area = area.union(shapely.make_valid(Polygon(points * (1.0, -1.0))))
        areas.append(area)
    whole: BaseGeometry = shapely.union_all(areas).buffer(distance_mm, quad_segs=24)
    low, high = whole.bounds[0] - 1.0, whole.bounds[2] + 1.0
    whole = whole.intersection(shapely.box(low, 0.0, high, 1e6)) if not whole.is_empty else whole
    result = QPainterPath()
    for part in getattr(whole, "geoms", [whole]):
        if isinstance(part, Polygon) and not part.is_empty:
            for ring in (part.exterior, *part.interiors):
                result.addPath(polyline(np.asarray(ring.coords)[:-1], closed=True))
    return result


def outside(path: Path, polygon: Array) -> list[Array]:
    """Return the outer rings, (m, 2) each, of what of a path's area lies outside a polygon."""
    areas = [shapely.make_valid(Polygon(points)) for points in (path.flattened(0.05), polygon)]
    rest: BaseGeometry = areas[0].difference(areas[1])
    parts = [part for part in getattr(rest, "geoms", [rest]) if isinstance(part, Polygon)]
    return [np.asarray(part.exterior.coords)[:-1] for part in parts if part.area > 1e-3]


class Drawn(QGraphicsItem):
    """A path with a cosmetic pen and a brush, changed as often as a drag needs."""

    def __init__(self, layer: float) -> None:
        super().__init__()
        self.setZValue(layer)
        self._path = QPainterPath()
        self._bounds = QRectF()
        self._pen = QPen(Qt.PenStyle.NoPen)
        self._brush = QBrush(Qt.BrushStyle.NoBrush)
        self._smooth = True
        self._width = 0.0

    def set_path(self, path: QPainterPath) -> None:
        """Show another path."""
        self.prepareGeometryChange()
        self._path = path
        bounds = path.controlPointRect()
        # Room for the pen; a mm is wider than the pen at every zoom that shows a whole wheel.
        self._bounds = bounds.adjusted(-1.0, -1.0, 1.0, 1.0) if not path.isEmpty() else QRectF()

    def path(self) -> QPainterPath:
        """Return the path that is shown."""
        return self._path

    def set_look(self, outline: QPen | None, fill: QColor | None = None, smooth: bool = True) -> None:
        """Set pen and fill; None leaves one out. Lines that follow the grid are crisper without smoothing."""
        self._pen = QPen(outline) if outline is not None else QPen(Qt.PenStyle.NoPen)
        self._pen.setCosmetic(True)
        self._width = self._pen.widthF()
        self._brush = QBrush(fill) if fill is not None else QBrush(Qt.BrushStyle.NoBrush)
        self._smooth = smooth
        self.update()

    def boundingRect(self) -> QRectF:
        """Return the path's box with room for the pen."""
        return self._bounds

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        """Draw the path."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, self._smooth)
        # A cosmetic pen counts the device's pixels, of which a dense screen has more to a logical one.
        self._pen.setWidthF(self._width * painter.device().devicePixelRatioF())
        painter.setPen(self._pen)
        painter.setBrush(self._brush)
        painter.drawPath(self._path)


def bounds_of(paths: list[QPainterPath]) -> QRectF:
    """Return the box round all paths; empty when there is none."""
    box = QRectF()
    for path in paths:
        if not path.isEmpty():
            box = box.united(path.controlPointRect())
    return box


def point(place: tuple[float, float]) -> QPointF:
    """Return a place as the painter's point."""
    return QPointF(place[0], place[1])

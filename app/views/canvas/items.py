"""Outlines as pictures: exact paths for the painter, and offsets.

Everything is in data coordinates, (z, r) in mm with r up.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np
import shapely
from pyqtgraph.functions import create_qpolygonf, ndarray_from_qpolygonf
from PySide6.QtCore import QByteArray, QDataStream, QRectF, Qt
from PySide6.QtGui import QColor, QPainterPath, QPen, QPolygonF
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from geometry.shape.curve import Array, Flags, Path

_LITTLE = QDataStream.ByteOrder.LittleEndian
#: Pictures of offset curves are flattened this finely.
PICTURE_MM = 0.02
#: An element of a painter's path as QDataStream reads it: 0 moves there, 1 draws a line there. In the order
#: of bytes that most processors have.
_ELEMENT = np.dtype([("kind", "<i4"), ("z", "<f8"), ("r", "<f8")])


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
    if not path.is_arc.any():
        return polyline(path.points, closed=True)
    # The painter counts angles clockwise in a frame whose second axis points down; ours points up.
    starts, sweeps = np.degrees(-path.start_angles).tolist(), np.degrees(-path.sweeps).tolist()
    corners, sides = (path.centres - path.radii[:, None]).tolist(), (2.0 * path.radii).tolist()
    result.moveTo(*path.points[0].tolist())
    for i, (end, is_arc) in enumerate(zip(path.ends.tolist(), path.is_arc.tolist(), strict=True)):
        if is_arc:
            left, low = corners[i]
            result.arcTo(left, low, sides[i], sides[i], starts[i], sweeps[i])
        else:
            result.lineTo(*end)
    result.closeSubpath()
    return result


def polygon_of(points: Array) -> QPolygonF:
    """Return the polygon through (m, 2) points, its places written all at once."""
    result: QPolygonF = create_qpolygonf(len(points))
    ndarray_from_qpolygonf(result)[:] = points
    return result


def chains(several: Iterable[Array]) -> QPainterPath:
    """Return a path of open chains of (m, 2) points; one that ends where it starts encloses an area."""
    path = QPainterPath()
    for points in several:
        if len(points):
            path.addPolygon(polygon_of(points))
    return path


def polyline(points: Array, closed: bool = False) -> QPainterPath:
    """Return a path through (m, 2) points."""
    return chains([np.concatenate([points, points[:1]]) if closed else points])


def segments(pairs: Array) -> QPainterPath:
    """Return a path of separate lines from (m, 2, 2) end points."""
    points = pairs.reshape(-1, 2)
    return path_of(points, np.arange(len(points)) % 2 == 0)


def path_of(points: Array, begins: Flags) -> QPainterPath:
    """Return the path through (m, 2) points that begins anew where `begins` (m,) is True, as at the first.

    The painter reads them as from a stream: many short chains come cheaper so than one by one.
    """
    return paths_of(points, begins, [len(points)])[0] or QPainterPath()


def paths_of(points: Array, begins: Flags, ends: Sequence[int]) -> list[QPainterPath | None]:
    """Return several such paths: the points before each end, from the end before on; None where none lie."""
    found = np.empty(len(points), dtype=_ELEMENT)
    found["kind"], found["z"], found["r"] = ~begins, points[:, 0], points[:, 1]
    elements, size = found.tobytes(), _ELEMENT.itemsize
    last_move, fill_rule = 0, Qt.FillRule.OddEvenFill.value
    tail = struct.pack("<ii", last_move, fill_rule)
    stretches = list(pairwise([0, *ends]))
    data = [
        struct.pack("<i", end - begin) + elements[begin * size : end * size] + tail
        for begin, end in stretches
        if end > begin
    ]
    stream = QDataStream(QByteArray(b"".join(data)))
    stream.setByteOrder(_LITTLE)
    paths: list[QPainterPath | None] = []
    for begin, end in stretches:
        path = QPainterPath() if end > begin else None
        if path is not None:
            stream >> path
        paths.append(path)
    return paths


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


def bounds_of(paths: list[QPainterPath]) -> QRectF:
    """Return the box round all paths; empty when there is none."""
    box = QRectF()
    for path in paths:
        if not path.isEmpty():
            box = box.united(path.controlPointRect())
    return box

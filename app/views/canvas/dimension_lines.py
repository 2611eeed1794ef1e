"""Lines, arrowheads and boxes that dimensions are drawn with, in logical pixels, y down.

Places are complex numbers x + iy, so that sums and turns are plain arithmetic.
"""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF
from PySide6.QtGui import QPolygonF

from app.views.canvas.placing import Box
from geometry.shape.curve import Array

#: Left, top, right and bottom of a box on whole pixels.
Pixels = tuple[int, int, int, int]

#: Length and half width of an arrowhead.
HEAD_PX, _HALF_HEAD_PX = 8.0, 1.7
#: An extension line begins off its place and ends beyond the dimension line.
_GAP_PX, _BEYOND_PX = 3.0, 4.0


def direction(way: complex) -> complex:
    """Return the unit vector of a way; to the right where it has no length."""
    length = abs(way)
    return way / length if length > 1e-9 else 1.0 + 0.0j


def extent(size: tuple[float, float], along: complex) -> float:
    """Return how much of a line an upright box about its middle covers."""
    x, y = abs(along.real), abs(along.imag)
    return min(size[0] / x if x > 1e-9 else math.inf, size[1] / y if y > 1e-9 else math.inf)


def box_about(centre: complex, size: tuple[float, float]) -> Pixels:
    """Return a box on whole pixels: glyphs are found and filled faster there."""
    left, top = round(centre.real - size[0] / 2.0), round(centre.imag - size[1] / 2.0)
    return left, top, left + math.ceil(size[0]), top + math.ceil(size[1])


def rows(boxes: list[Box]) -> Array:
    """Return boxes as (m, 4) rows."""
    return np.array(boxes, dtype=float).reshape(-1, 4)


def rect(box: Box) -> QRectF:
    """Return a box as the painter has it."""
    left, top, right, bottom = box
    return QRectF(left, top, right - left, bottom - top)


def _point(at: complex) -> QPointF:
    return QPointF(at.real, at.imag)


def line_between(a: complex, b: complex) -> QLineF:
    """Return the line between two places."""
    return QLineF(a.real, a.imag, b.real, b.imag)


def head(tip: complex, towards: complex) -> QPolygonF:
    """Return a filled arrowhead that points `towards` and ends at `tip`."""
    back, across = tip - towards * HEAD_PX, towards * 1.0j * _HALF_HEAD_PX
    return QPolygonF([_point(tip), _point(back + across), _point(back - across)])


def extension_lines(
    places: tuple[complex, complex], ends: tuple[complex, complex], drawn_from: tuple[bool, bool]
) -> list[QLineF]:
    """Return the lines from places to the ends of their dimension line, of those that are drawn."""
    lines = []
    for place, end, drawn in zip(places, ends, drawn_from, strict=True):
        if drawn and abs(end - place) > _GAP_PX:
            way = direction(end - place)
            lines.append(line_between(place + way * _GAP_PX, end + way * _BEYOND_PX))
    return lines


def with_line(box: Box, a: complex, b: complex) -> Box:
    """Return the box of a number with its line, where that runs along an axis; else that of the number."""
    if min(abs(b.real - a.real), abs(b.imag - a.imag)) > 1.0:
        return box
    left, top, right, bottom = box
    return (
        min(left, a.real - 1.0, b.real - 1.0),
        min(top, a.imag - 5.0, b.imag - 5.0),
        max(right, a.real + 1.0, b.real + 1.0),
        max(bottom, a.imag + 5.0, b.imag + 5.0),
    )


def interrupted(a: complex, b: complex, box: Box) -> list[QLineF]:
    """Return a line less what lies under its number, which stands in its middle."""
    along, middle = direction(b - a), (a + b) / 2.0
    half = extent((box[2] - box[0], box[3] - box[1]), along) / 2.0
    return [line_between(a, middle - along * half), line_between(middle + along * half, b)]

"""Curves that are neither line nor arc, replaced by arcs within a stated distance."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Sequence
from itertools import pairwise

from app.files.readers.answer import ReadError
from app.files.readers.limits import DRAWING
from app.files.readers.pieces import Piece, Point
from geometry.tolerances import CURVE_MM, LARGEST_MM

#: Where a stretch of curve is compared with its arc; dense at the ends, where the directions differ most.
_SAMPLES = (0.02, 0.1, 0.25, 0.4, 0.5, 0.6, 0.75, 0.9, 0.98)

#: The curve may reach beyond its samples by a part of their spread.
_MARGIN = 0.1

#: Stretches are halved at most this often; a curve that still does not fit has no usable direction.
_HALVINGS = 30


def fitted(point: Callable[[float], Point], breaks: Sequence[float], layer: str) -> list[Piece]:
    """Return arcs along a curve, each between two points of the curve and within CURVE_MM of it.

    All circles through two points form one family, ordered by bulge; the least and the greatest bulge of the
    circles through the samples enclose the curve.

    Args:
        point: the curve's place at a parameter.
        breaks: rising parameters between which the curve is smooth.
        layer: that the arcs are said to lie on.

    Raises:
        ReadError: the curve cannot be followed, or takes more points than the limit.
    """
    pieces: list[Piece] = []
    places = [_within(point(t)) for t in breaks]
    todo = [(a, b, p, q, 0) for (a, b), (p, q) in zip(pairwise(breaks), pairwise(places), strict=True)][::-1]
    while todo:
        a, b, start, end, halvings = todo.pop()
        piece = _one_arc(point, a, b, start, end, layer)
        if piece is not None:
            pieces.append(piece)
            continue
        if halvings == _HALVINGS or len(pieces) > DRAWING.points:
            raise ReadError(f"a curve on layer {layer} does not fit arcs within {CURVE_MM} mm; draw arcs")
        middle = (a + b) / 2.0
        between = _within(point(middle))
        todo += [(middle, b, between, end, halvings + 1), (a, middle, start, between, halvings + 1)]
    return pieces


def _within(place: Point) -> Point:
    """Return the place if an outline can hold it; a curve through others would take endless arcs."""
    if max(abs(place[0]), abs(place[1])) > LARGEST_MM:
        raise ReadError(
            f"a curve runs through x {place[0]:.6g}, y {place[1]:.6g}, beyond {LARGEST_MM:g}; check the "
            "unit, and mend or delete the curve"
        )
    return place


def error_mm(piece: Piece, side: str) -> float:
    """Return how far a replacing arc can lie from its curve, 0 for an exact piece."""
    if piece.spread is None:
        return 0.0
    band = (piece.spread[1] - piece.spread[0]) * math.dist(piece.start, piece.end) / 2.0
    return band / 2.0 if side == "nearest" else band


def _one_arc(
    point: Callable[[float], Point], a: float, b: float, start: Point, end: Point, layer: str
) -> Piece | None:
    """Return the arc that stands for one stretch, or None where the stretch is too long for one."""
    chord = math.dist(start, end)
    bulges = [_bulge_through(start, point(a + (b - a) * t), end) for t in _SAMPLES]
    low, high = min(bulges), max(bulges)
    margin = _MARGIN * (high - low)
    low, high = low - margin, high + margin
    # Above a quarter turn the distance between two arcs is no longer that of their middles.
    if (high - low) * chord / 2.0 > CURVE_MM or max(-low, high) > math.tan(math.pi / 8.0):
        return None
    return Piece(start, end, (low + high) / 2.0, layer, stated=False, spread=(low, high))


def _bulge_through(start: Point, between: Point, end: Point) -> float:
    """Return the bulge of the arc through three points: the chords turn by half its sweep."""
    u = between[0] - start[0], between[1] - start[1]
    w = end[0] - between[0], end[1] - between[1]
    return math.tan(math.atan2(u[0] * w[1] - u[1] * w[0], u[0] * w[0] + u[1] * w[1]) / 2.0)


def bspline(
    degree: int, knots: Sequence[float], control: Sequence[Point], weights: Sequence[float]
) -> Callable[[float], Point]:
    """Return the place of a rational B-spline at a parameter, by de Boor's recurrence."""
    last = len(control) - 1

    def point(t: float) -> Point:
        span = min(max(bisect_right(knots, t) - 1, degree), last)
        rows = [
            [control[i][0] * weights[i], control[i][1] * weights[i], weights[i]]
            for i in range(span - degree, span + 1)
        ]
        for level in range(1, degree + 1):
            for j in range(degree, level - 1, -1):
                low = knots[span - degree + j]
                width = knots[span + 1 + j - level] - low
                share = (t - low) / width if width > 0.0 else 0.0
                rows[j] = [(1.0 - share) * p + share * q for p, q in zip(rows[j - 1], rows[j], strict=True)]
        z, r, w = rows[degree]
        return z / w, r / w

    return point

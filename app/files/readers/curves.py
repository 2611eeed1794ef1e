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

#: Places repeated before and after a closed spline: each halves at least what those beyond it move.
_LEAD = 40

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
    first = point(breaks[0])
    places = [_within(point(t), first) for t in breaks]
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
        between = _within(point(middle), first)
        todo += [(middle, b, between, end, halvings + 1), (a, middle, start, between, halvings + 1)]
    return pieces


def _within(place: Point, first: Point) -> Point:
    """Return the place if an outline can reach it from the first; a longer curve would take endless arcs."""
    if math.dist(place, first) > LARGEST_MM:
        raise ReadError(
            f"a curve runs from x {first[0]:.6g}, y {first[1]:.6g} to x {place[0]:.6g}, y {place[1]:.6g}, "
            f"more than {LARGEST_MM:g}; check the unit, and mend or delete the curve"
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


def through(
    places: Sequence[Point], is_closed: bool, first: Point | None = None, last: Point | None = None
) -> tuple[Callable[[float], Point], list[float]]:
    """Return the cubic spline through places, its parameter the length along their chords, and its breaks.

    It is smooth to the second derivative (de Boor, A Practical Guide to Splines, chapter IV). At an end
    without a direction its curvature is zero; a closed one is as smooth at its first place as elsewhere.

    Args:
        places: at least two, neighbours differ.
        is_closed: the curve returns to the first place.
        first: unit direction at the first place, None where it is free.
        last: likewise at the last.
    """
    run = [*places, places[0]] if is_closed and places[0] != places[-1] else list(places)
    count, lead = len(run) - 1, 0
    if is_closed:
        # What lies further off than this many places moves the curve by less than 1e-12 of their spread.
        lead = _LEAD
        ring = run[:-1]
        run = [ring[k % count] for k in range(-lead, count + lead + 1)]
        first = last = None
    steps = [math.dist(p, q) for p, q in pairwise(run)]
    bends = [_bends([p[k] for p in run], steps, _part(first, k), _part(last, k)) for k in (0, 1)]
    breaks = [0.0]
    for step in steps[lead : lead + count]:
        breaks.append(breaks[-1] + step)

    def point(t: float) -> Point:
        k = min(max(bisect_right(breaks, t) - 1, 0), count - 1)
        h = breaks[k + 1] - breaks[k]
        b = (t - breaks[k]) / h
        a, i = 1.0 - b, k + lead
        p, q = run[i], run[i + 1]
        low, high = (a**3 - a) * h * h / 6.0, (b**3 - b) * h * h / 6.0
        z, r = (a * p[n] + b * q[n] + low * bends[n][i] + high * bends[n][i + 1] for n in (0, 1))
        return z, r

    return point, breaks


def _part(direction: Point | None, k: int) -> float | None:
    return None if direction is None else direction[k]


def _bends(
    values: Sequence[float], steps: Sequence[float], first: float | None, last: float | None
) -> list[float]:
    """Return the second derivatives of a cubic spline at its places, by elimination along three diagonals."""
    n = len(values)
    slopes = [(b - a) / h for (a, b), h in zip(pairwise(values), steps, strict=True)]
    below, on, above, right = [0.0] * n, [1.0] * n, [0.0] * n, [0.0] * n
    if first is not None:
        on[0], above[0], right[0] = 2.0 * steps[0], steps[0], 6.0 * (slopes[0] - first)
    if last is not None:
        on[-1], below[-1], right[-1] = 2.0 * steps[-1], steps[-1], 6.0 * (last - slopes[-1])
    for k in range(1, n - 1):
        below[k], on[k], above[k] = steps[k - 1], 2.0 * (steps[k - 1] + steps[k]), steps[k]
        right[k] = 6.0 * (slopes[k] - slopes[k - 1])
    for k in range(1, n):
        share = below[k] / on[k - 1]
        on[k] -= share * above[k - 1]
        right[k] -= share * right[k - 1]
    found = [right[-1] / on[-1]]
    for k in range(n - 2, -1, -1):
        found.append((right[k] - above[k] * found[-1]) / on[k])
    return found[::-1]

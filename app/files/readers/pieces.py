"""Lines and arcs as they come out of a file, before they are joined.

Words:
    piece   a line or an arc of at most 180 degrees between two points; bulge = tan(sweep / 4), + turns left
    ring    pieces that close on themselves
    spread  for an arc that stands for another curve: the least and greatest bulge between whose arcs the
            curve lies, so that the outline can be kept outside or inside it

Plain Python on purpose: the child process starts in a few hundredths of a second.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from app.files.readers.answer import Row
from geometry.tolerances import STRAIGHT_BULGE

Point = tuple[float, float]


class Piece(NamedTuple):
    """One line or arc.

    Attributes:
        stated: both ends stand in the file; False where they are computed from an angle.
        spread: see the module's words; None for a piece that is exact.
    """

    start: Point
    end: Point
    bulge: float = 0.0
    layer: str = "0"
    stated: bool = True
    spread: tuple[float, float] | None = None

    def reversed(self) -> Piece:
        """Return the piece run the other way."""
        spread = None if self.spread is None else (-self.spread[1], -self.spread[0])
        return self._replace(start=self.end, end=self.start, bulge=-self.bulge, spread=spread)

    def bulge_on(self, side: str) -> float:
        """Return the bulge that keeps a counterclockwise outline on the given side of the true curve."""
        if self.spread is None or side == "nearest":
            return self.bulge
        return self.spread[1] if side == "outward" else self.spread[0]


def bulged(start: Point, end: Point, bulge: float, layer: str = "0", stated: bool = True) -> list[Piece]:
    """Return the line or arc between two points, in two halves where it spans more than 180 degrees."""
    if abs(bulge) <= STRAIGHT_BULGE:
        bulge = 0.0
    if abs(bulge) <= 1.0:
        return [Piece(start, end, bulge, layer, stated)]
    half = math.tan(math.atan(bulge) / 2.0)
    middle = arc_middle(start, end, bulge)
    return [Piece(start, middle, half, layer, stated), Piece(middle, end, half, layer, stated)]


def arc_middle(start: Point, end: Point, bulge: float) -> Point:
    """Return the middle of an arc, which lies to the right of its chord for a positive bulge."""
    dz, dr = end[0] - start[0], end[1] - start[1]
    return (start[0] + end[0] + bulge * dr) / 2.0, (start[1] + end[1] - bulge * dz) / 2.0


def arc(centre: Point, radius: float, start_deg: float, end_deg: float, layer: str = "0") -> list[Piece]:
    """Return the counterclockwise arc from one direction to another; a full turn where they are equal."""
    sweep = (end_deg - start_deg) % 360.0 or 360.0
    parts = 1 if sweep <= 180.0 else 2
    angles = [start_deg + sweep * k / parts for k in range(parts + 1)]
    points = [_on_circle(centre, radius, angle) for angle in angles]
    if sweep == 360.0:
        points[-1] = points[0]
    bulge = math.tan(math.radians(sweep / parts) / 4.0)
    return [Piece(points[k], points[k + 1], bulge, layer, stated=False) for k in range(parts)]


def _on_circle(centre: Point, radius: float, angle_deg: float) -> Point:
    angle = math.radians(angle_deg)
    return centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)


def arc_centre(start: Point, end: Point, bulge: float) -> tuple[Point, float]:
    """Return centre and radius of an arc."""
    dz, dr = end[0] - start[0], end[1] - start[1]
    left = (1.0 - bulge * bulge) / (4.0 * bulge)
    centre = (start[0] + end[0]) / 2.0 - dr * left, (start[1] + end[1]) / 2.0 + dz * left
    return centre, math.hypot(dz, dr) * (1.0 + bulge * bulge) / (4.0 * abs(bulge))


def area(pieces: Sequence[Piece]) -> float:
    """Return the signed area of a ring, + when counterclockwise."""
    total = 0.0
    # Measured from a place of its own: far off the origin the products would swallow the area.
    z, r = pieces[0].start if pieces else (0.0, 0.0)
    for p in pieces:
        total += ((p.start[0] - z) * (p.end[1] - r) - (p.end[0] - z) * (p.start[1] - r)) / 2.0
        if p.bulge:
            sweep = 4.0 * math.atan(p.bulge)
            _, radius = arc_centre(p.start, p.end, p.bulge)
            # The difference of a small angle and its sine is lost in rounding; its first term is not.
            beyond = sweep**3 / 6.0 if abs(sweep) < 1e-4 else sweep - math.sin(sweep)
            total += radius * radius * beyond / 2.0
    return total


def length(pieces: Sequence[Piece]) -> float:
    """Return the length of pieces along their chords."""
    return sum(math.dist(p.start, p.end) for p in pieces)


def leftward(ring: list[Piece]) -> list[Piece]:
    """Return a ring run counterclockwise."""
    return ring if area(ring) > 0.0 else [p.reversed() for p in reversed(ring)]


def chords(p: Piece) -> list[tuple[Point, Point]]:
    """Return a line as it is, and an arc as eight chords of equal length."""
    places, bulge = [p.start, p.end], p.bulge
    for _ in range(3 if p.bulge else 0):
        pairs = list(pairwise(places))
        places = [q for a, b in pairs for q in (a, arc_middle(a, b, bulge))] + [p.end]
        bulge = math.tan(math.atan(bulge) / 2.0)
    return list(pairwise(places))


def distance(p: Piece, place: Point) -> float:
    """Return how far a place lies from a line or an arc."""
    ends = min(math.dist(place, p.start), math.dist(place, p.end))
    dz, dr = p.end[0] - p.start[0], p.end[1] - p.start[1]
    span = math.hypot(dz, dr)
    if not span:
        return ends
    if abs(p.bulge) <= STRAIGHT_BULGE:
        along = ((place[0] - p.start[0]) * dz + (place[1] - p.start[1]) * dr) / span
        off = abs((place[1] - p.start[1]) * dz - (place[0] - p.start[0]) * dr) / span
        return off if 0.0 <= along <= span else ends
    centre, radius = arc_centre(p.start, p.end, p.bulge)
    turn = math.atan2(place[1] - centre[1], place[0] - centre[0])
    turn -= math.atan2(p.start[1] - centre[1], p.start[0] - centre[0])
    sweep = 4.0 * math.atan(p.bulge)
    if math.copysign(1.0, sweep) * turn % (2.0 * math.pi) > abs(sweep):
        return ends
    return abs(math.dist(place, centre) - radius)


def holds(ring: Sequence[Piece], place: Point) -> bool:
    """Return True where a place lies within a ring, arcs taken by chords."""
    z, r = place
    odd = False
    for p in ring:
        for (z0, r0), (z1, r1) in chords(p):
            if (r0 > r) != (r1 > r) and z < z0 + (r - r0) * (z1 - z0) / (r1 - r0):
                odd = not odd
    return odd


def lowest_and_bounds(rows: Sequence[Row]) -> tuple[Point, tuple[float, float, float, float]]:
    """Return the lowest place of a closed outline, and its z low, z high, r low, r high, exact over arcs."""
    places: list[Point] = []
    for (z, r, bulge), (next_z, next_r, _) in zip(rows, [*rows[1:], rows[0]], strict=True):
        places.append((z, r))
        if bulge:
            places += _quarter_points((z, r), (next_z, next_r), bulge)
    zs, rs = [p[0] for p in places], [p[1] for p in places]
    return min(places, key=lambda p: p[1]), (min(zs), max(zs), min(rs), max(rs))


def _quarter_points(start: Point, end: Point, bulge: float) -> list[Point]:
    """Return where an arc has its extremes in z and r: quarter points of its circle beyond its chord."""
    (z, r), radius = arc_centre(start, end, bulge)
    dz, dr = (end[0] - start[0]) * bulge, (end[1] - start[1]) * bulge
    quarters = ((z + radius, r), (z, r + radius), (z - radius, r), (z, r - radius))
    return [q for q in quarters if (q[1] - start[1]) * dz < (q[0] - start[0]) * dr]

"""From the polygon of a boolean back to lines and arcs.

Lathes follow arcs, and unions and differences are taken on polygons. The circles whose arcs can bound the
result are known beforehand (those of the outlines that went in, and their offsets), so they are found again:
a run of vertices on one of them becomes one arc, and neighbours are brought together where line and circle,
or circle and circle, truly meet.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.shape.curve import Array, Flags, Indices, Path

#: Arcs are flattened within this before they are united, vertices on the arc, mm.
FLAT_MM = 0.002
#: An outline brought back to arcs lies this near to the true one, mm.
OFF_MM = 0.005
#: A vertex this near to a circle may lie on its arc, mm.
_NEAR_MM = 1.5 * FLAT_MM
#: Nearer vertices are one, and nearer to a straight line they lie on it, mm.
_SAME_MM = 2e-6
#: Tongues and cracks narrower than this come from flattening, mm.
_THIN_MM = 2.0 * FLAT_MM
#: A vertex that turns by less is none of a corner, rad.
_TURNS_RAD = 1e-3
#: Neighbours meet no farther than this from the vertex between them, mm.
_MOVED_MM = 0.05
#: A vertex this near to both neighbours needs no meeting point, mm.
_EXACT_MM = 5e-6


@dataclass(frozen=True)
class _Piece:
    """A run of edges: on a circle (z, r, radius) with what it turns by about its centre, or straight."""

    start: complex
    sweep: float
    circle: tuple[float, float, float] | None


def circles_of(path: Path, *offsets_mm: float) -> list[tuple[float, float, float]]:
    """Return the circles (z, r, radius) of a path's arcs and of their offsets to either side."""
    found = []
    for arc in np.flatnonzero(path.is_arc):
        (z, r), radius = path.centres[arc].tolist(), float(path.radii[arc])
        for by in (0.0, *offsets_mm, *(-x for x in offsets_mm)):
            if radius + by > FLAT_MM:
                found.append((z, r, radius + by))
    return found


def corners_of(area: BaseGeometry, *, inwards: bool) -> list[tuple[float, float]]:
    """Return the vertices at which the outer boundary of an area turns in, or those at which it turns out.

    Of an area grown or shrunk by a disc these are the middles of the discs that touch it twice.
    """
    found: list[tuple[float, float]] = []
    for part in shapely.get_parts(area):
        rows = np.asarray(shapely.geometry.polygon.orient(part, 1.0).exterior.coords)[:-1]
        along = np.roll(rows, -1, axis=0) - rows
        before = np.roll(along, 1, axis=0)
        turn = np.arctan2(
            before[:, 0] * along[:, 1] - before[:, 1] * along[:, 0], np.sum(before * along, axis=1)
        )
        at = turn < -_TURNS_RAD if inwards else turn > _TURNS_RAD
        found += [(float(z), float(r)) for z, r in rows[at]]
    return found


def closed_at_axle(path: Path) -> Path:
    """Return a path whose corners next to the axle lie on it, each once."""
    rows = [(z, 0.0 if r <= FLAT_MM else r, bulge) for z, r, bulge in path.rows()]
    kept = [
        (z, r, bulge)
        for k, (z, r, bulge) in enumerate(rows)
        if r > 0.0 or rows[k - 1][1] > 0.0 or abs(rows[k - 1][0] - z) > FLAT_MM
    ]
    return Path.closed(kept)


def with_arcs(area: shapely.Polygon, circles: list[tuple[float, float, float]]) -> Path:
    """Return the closed counterclockwise outline of a polygon without holes, arcs where circles fit.

    It lies within OFF_MM of the true outline but for tongues and cracks thinner than that; what fits no
    circle stays straight, and all of it where the arcs cannot be found again.

    Args:
        area: one polygon, its arcs flattened within FLAT_MM.
        circles: (z, r, radius) of all arcs that can be in it.
    """
    rows = _distinct(np.asarray(shapely.geometry.polygon.orient(area, 1.0).exterior.coords)[:-1])
    table = np.array(sorted(set(circles)), dtype=float).reshape(-1, 3)
    pieces = _pieces(rows, table)
    path = _path(pieces)
    ring = shapely.LinearRing(path.flattened(FLAT_MM))
    off = shapely.hausdorff_distance(ring, shapely.LinearRing(rows)) if path.area > 0.0 else math.inf
    # The tip of a wedge moves farther than its flanks are off; what moves more is no outline of this polygon.
    return path if off <= _MOVED_MM else Path.closed(rows.tolist())


def _distinct(rows: Array) -> Array:
    """Return the ring without vertices that are one, and without tongues too thin to be turned."""
    rows = rows[np.hypot(*(rows - np.roll(rows, 1, axis=0)).T) > _SAME_MM]
    while len(rows) > 3:
        before, after = np.roll(rows, 1, axis=0), np.roll(rows, -1, axis=0)
        turns_back = np.sum((rows - before) * (after - rows), axis=1) < 0.0
        thin = [k for k in np.flatnonzero(turns_back) if _width(before[k], rows[k], after[k]) <= _THIN_MM]
        if not thin:
            break
        rows = np.delete(rows, thin[0], axis=0)
    return rows


def _width(before: Array, tip: Array, after: Array) -> float:
    """Return how far the nearer neighbour of a tip lies from the edge to the other one."""
    sides = shapely.linestrings([[before, tip], [tip, after]])
    return float(np.min(shapely.distance(shapely.points([after, before]), sides)))


def _fits(rows: Array, table: Array) -> Flags:
    """Return (n, m) True where the edge that leaves a vertex is a chord of a circle's arc."""
    off = np.abs(np.hypot(rows[:, :1] - table[:, 0], rows[:, 1:] - table[:, 1]) - table[:, 2])
    on = off <= _NEAR_MM
    chord = np.hypot(*(np.roll(rows, -1, axis=0) - rows).T)
    shallow = chord[:, None] ** 2 <= 16.0 * FLAT_MM * table[:, 2]
    return np.asarray(on & np.roll(on, -1, axis=0) & shallow, dtype=np.bool_)


def _pieces(rows: Array, table: Array) -> list[_Piece]:
    """Return the runs of a ring, each as long as a circle or a straight line allows."""
    n, fits = len(rows), _fits(rows, table)
    # (n, m) how many edges from here lie on the circle, round the ring at most once.
    length = np.zeros((n, len(table)), dtype=np.intp)
    following = np.zeros(len(table), dtype=np.intp)
    for k in range(2 * n - 1, -1, -1):
        following = np.where(fits[k % n], np.minimum(following + 1, n), 0)
        length[k % n] = following
    best = length.max(axis=1, initial=0)
    start = next((k for k in range(n) if best[k - 1] < 2), 0)
    places = (rows[:, 0] + 1j * rows[:, 1]).tolist()
    found: list[_Piece] = []
    k = start
    while k < start + n:
        at = k % n
        if best[at] >= 2:
            count = min(int(best[at]), start + n - k)
            z, r, radius = table[int(np.argmax(length[at]))].tolist()
            circle = (z, r, radius)
        else:
            count, circle = _straight(places, best, at, start + n - k), None
        run = [places[(at + i) % n] for i in range(count + 1)]
        found.append(_Piece(places[at], _swept(run, circle), circle))
        k += count
    return found


def _swept(run: list[complex], circle: tuple[float, float, float] | None) -> float:
    """Return what a run of vertices turns by about the centre of its circle, rad, + to the left."""
    if circle is None:
        return 0.0
    centre = complex(circle[0], circle[1])
    return sum(cmath.phase((b - centre) / (a - centre)) for a, b in pairwise(run))


def _straight(places: list[complex], best: Indices, at: int, most: int) -> int:
    """Return how many edges from a vertex lie on one straight line."""
    n, count = len(places), 1
    while count < most and best[(at + count) % n] < 2:
        start, end = places[at], places[(at + count + 1) % n]
        if abs(end - start) == 0.0:
            break
        between = [places[(at + i) % n] for i in range(1, count + 1)]
        if any(abs(((p - start) / (end - start)).imag) * abs(end - start) > _SAME_MM for p in between):
            break
        count += 1
    return count


def _path(pieces: list[_Piece]) -> Path:
    """Return the path of the pieces, brought together where they truly meet."""
    n = len(pieces)
    ends = [_meeting(pieces[k - 1], pieces[k], pieces[(k + 1) % n].start) for k in range(n)]
    found = []
    for k, piece in enumerate(pieces):
        start, end = ends[k], ends[(k + 1) % n]
        if abs(end - start) <= _SAME_MM and n > 1 and piece.circle is None:
            continue
        found.append((start.real, start.imag, _bulge(piece, start, end)))
    return Path.closed(found)


def _bulge(piece: _Piece, start: complex, end: complex) -> float:
    if piece.circle is None:
        return 0.0
    z, r, _ = piece.circle
    centre = complex(z, r)
    turn = cmath.phase((end - centre) / (start - centre))
    sweep = turn + math.tau * round((piece.sweep - turn) / math.tau)
    # Where its ends have passed one another, next to nothing is left of the arc.
    if sweep * piece.sweep <= 0.0:
        return 0.0
    return math.tan(sweep / 4.0)


def _meeting(before: _Piece, after: _Piece, beyond: complex) -> complex:
    """Return where two pieces meet: the vertex between them, or the true meeting nearest to it."""
    at = after.start
    if before.circle is None and after.circle is None:
        return at
    if all(_off(circle, at) <= _EXACT_MM for circle in (before.circle, after.circle) if circle is not None):
        return at
    if before.circle is None or after.circle is None:
        circle = before.circle or after.circle
        assert circle is not None
        line = (before.start, at) if before.circle is None else (at, beyond)
        met = _line_meets(line, circle)
    else:
        met = _circles_meet(before.circle, after.circle)
    near = min(met, key=lambda place: abs(place - at), default=at)
    return near if abs(near - at) <= _MOVED_MM else at


def _off(circle: tuple[float, float, float], place: complex) -> float:
    z, r, radius = circle
    return abs(abs(place - complex(z, r)) - radius)


def _line_meets(line: tuple[complex, complex], circle: tuple[float, float, float]) -> list[complex]:
    z, r, radius = circle
    start, end = line
    way = (end - start) / abs(end - start)
    foot = start + way * ((complex(z, r) - start) / way).real
    half = radius**2 - abs(foot - complex(z, r)) ** 2
    if half < 0.0:
        return []
    return [foot + way * math.sqrt(half), foot - way * math.sqrt(half)]


def _circles_meet(one: tuple[float, float, float], other: tuple[float, float, float]) -> list[complex]:
    a, b = complex(one[0], one[1]), complex(other[0], other[1])
    apart = abs(b - a)
    if apart <= _SAME_MM:
        return []
    along = (apart**2 + one[2] ** 2 - other[2] ** 2) / (2.0 * apart)
    half = one[2] ** 2 - along**2
    if half < 0.0:
        return []
    way = (b - a) / apart
    return [a + way * complex(along, math.sqrt(half)), a + way * complex(along, -math.sqrt(half))]

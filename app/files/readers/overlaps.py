"""Lines and arcs drawn over each other in parts: stacked and overlapping ones become one.

Words:
    carrier   the line or the circle that a piece lies on
    run       a stretch of a carrier that pieces of one group cover without a break

Two pieces overlap where the shorter one lies within LEVEL_MM of the longer one's carrier and they share a
stretch. A run goes from its first end to its last; where another piece ends on it, it is parted there, so
that chains through that place still meet.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from app.files.readers.answer import JOIN_MM
from app.files.readers.net import LEVEL_MM, SAME, level_of
from app.files.readers.pieces import Piece, Point, arc_centre, arc_middle

#: Lines are compared within bands of direction this wide, rad, and their neighbours.
_BAND_RAD = 4e-3

#: Arcs are compared where their centres lie in cells this wide, mm, and their neighbours.
_CELL_MM = 0.05

#: Comparisons after which a drawing is taken as it is; a plan of endless parallel lines holds no outline.
MOST = 1_000_000

_TURN = 2.0 * math.pi


class Unstacked(NamedTuple):
    """Pieces without overlaps, how many were dropped, and whether there were too many to compare all."""

    pieces: list[Piece]
    dropped: int
    is_partial: bool


def without_overlaps(pieces: Sequence[Piece]) -> Unstacked:
    """Return the pieces with overlapping lines and arcs joined into one."""
    groups = _groups(pieces)
    if not groups:
        return Unstacked(list(pieces), 0, groups is None)
    runs: list[Piece] = []
    dropped = 0
    for group in groups:
        found = _runs([pieces[k] for k in group])
        dropped += len(group) - len(found)
        runs += [piece for run in found for piece in run]
    gone = {k for group in groups for k in group}
    rest = [p for k, p in enumerate(pieces) if k not in gone]
    ends = sorted({place for p in (*rest, *runs) for place in (p.start, p.end)})
    return Unstacked([*rest, *(part for run in runs for part in _parted(run, ends))], dropped, False)


class _Carrier(NamedTuple):
    """A line through `origin` along (uz, ur), or with a radius the circle about it, 0 at that direction."""

    origin: Point
    uz: float
    ur: float
    radius: float = 0.0

    def along(self, place: Point) -> float:
        """Return the place's distance along the line, or along the circle from 0 to its round."""
        z, r = place[0] - self.origin[0], place[1] - self.origin[1]
        on, off = z * self.uz + r * self.ur, r * self.uz - z * self.ur
        return math.atan2(off, on) % _TURN * self.radius if self.radius else on

    def off(self, place: Point) -> float:
        """Return how far a place lies off the line or the circle."""
        z, r = place[0] - self.origin[0], place[1] - self.origin[1]
        return abs(math.hypot(z, r) - self.radius) if self.radius else abs(r * self.uz - z * self.ur)


def _carrier(p: Piece, base: Point | None = None) -> _Carrier:
    """Return what a piece lies on; a circle counts from the direction of `base`, or of the piece's start."""
    if not p.bulge:
        span = math.dist(p.start, p.end)
        return _Carrier(p.start, (p.end[0] - p.start[0]) / span, (p.end[1] - p.start[1]) / span)
    centre, radius = arc_centre(p.start, p.end, p.bulge)
    z, r = base or p.start
    turn = math.atan2(r - centre[1], z - centre[0])
    return _Carrier(centre, math.cos(turn), math.sin(turn), radius)


def _length(p: Piece) -> float:
    span = math.dist(p.start, p.end)
    return 4.0 * abs(math.atan(p.bulge)) * arc_centre(p.start, p.end, p.bulge)[1] if p.bulge else span


def _rising(p: Piece) -> Piece:
    """Return an arc run counterclockwise, a line as it is."""
    return p.reversed() if p.bulge < 0.0 else p


# Which pieces overlap


def _groups(pieces: Sequence[Piece]) -> list[list[int]] | None:
    """Return pieces that share a stretch, by number, in groups; None where too many are to be compared."""
    parent = list(range(len(pieces)))

    def root(k: int) -> int:
        while parent[k] != k:
            parent[k] = k = parent[parent[k]]
        return k

    for count, (k, j) in enumerate(_candidates(pieces)):
        if count > MOST:
            return None
        if k != j and root(k) != root(j) and _overlap(pieces[k], pieces[j]):
            parent[root(j)] = root(k)
    found: dict[int, list[int]] = {}
    for k in range(len(pieces)):
        found.setdefault(root(k), []).append(k)
    return [group for group in found.values() if len(group) > 1]


class _Stretch(NamedTuple):
    """What a piece covers, and its number: of a line its place along the direction, of an arc its radius."""

    low: float
    high: float
    number: int


#: Kind of carrier, direction of a line or z of a centre, offset of a line or r of a centre.
_Cell = tuple[int, int, int]

#: Half of a cell's neighbours and itself, so that every pair is met once.
_FORWARD = ((0, 0), (0, 1), (1, -1), (1, 0), (1, 1))


def _candidates(pieces: Sequence[Piece]) -> Iterator[tuple[int, int]]:
    """Yield pairs of pieces whose carriers can be one and that can share a stretch."""
    cells = _cells(pieces)
    for (kind, i, j), own in cells.items():
        near = [(kind, i + di, j + dj) for di, dj in _FORWARD]
        pool = sorted((stretch, cell == near[0]) for cell in near for stretch in cells.get(cell, ()))
        if len(own) == len(pool) == 1:
            continue
        active: list[tuple[_Stretch, bool]] = []
        for stretch, is_own in pool:
            active = [held for held in active if held[0].high >= stretch.low]
            for other, other_is_own in active:
                if is_own or other_is_own:
                    yield other.number, stretch.number
            active.append((stretch, is_own))


def _cells(pieces: Sequence[Piece]) -> dict[_Cell, list[_Stretch]]:
    """Return the pieces in cells of like carriers; lines whose direction ends the half turn begin it too."""
    held = [k for k, p in enumerate(pieces) if math.dist(p.start, p.end) > SAME and p.spread is None]
    places = [place for k in held for place in (pieces[k].start, pieces[k].end)]
    if not places:
        return {}
    zs, rs = [z for z, _ in places], [r for _, r in places]
    middle = (min(zs) + max(zs)) / 2.0, (min(rs) + max(rs)) / 2.0
    reach = math.dist((min(zs), min(rs)), (max(zs), max(rs))) + 1.0
    cells: dict[_Cell, list[_Stretch]] = {}
    for k in held:
        p = pieces[k]
        if p.bulge:
            (z, r), radius = arc_centre(p.start, p.end, p.bulge)
            cell = 1, math.floor(z / _CELL_MM), math.floor(r / _CELL_MM)
            cells.setdefault(cell, []).append(_Stretch(radius - _CELL_MM, radius + _CELL_MM, k))
            continue
        turn = math.atan2(p.end[1] - p.start[1], p.end[0] - p.start[0]) + _BAND_RAD / 2.0
        turn = turn % math.pi - _BAND_RAD / 2.0
        # Level lines lie in the middle of a band, and the half turn ends where few lines lie.
        for direction in (turn, turn - math.pi) if turn > math.pi - 2.0 * _BAND_RAD else (turn,):
            u, w = math.cos(direction), math.sin(direction)
            along = [(z - middle[0]) * u + (r - middle[1]) * w for z, r in (p.start, p.end)]
            offset = (p.start[1] - middle[1]) * u - (p.start[0] - middle[0]) * w
            cell = 0, math.floor(direction / _BAND_RAD + 0.5), math.floor(offset / (_BAND_RAD * reach))
            cells.setdefault(cell, []).append(_Stretch(min(along) - LEVEL_MM, max(along) + LEVEL_MM, k))
    return cells


def _overlap(a: Piece, b: Piece) -> bool:
    """True where two pieces lie on each other along a stretch longer than the ends of a gap may pass."""
    if not a.bulge and not b.bulge and _is_beside(a, b):
        return False
    if _length(a) < _length(b):
        a, b = b, a
    a, b = _rising(a), _rising(b)
    carrier, level = _carrier(a), level_of(_length(b))
    middle = arc_middle(b.start, b.end, b.bulge)
    if any(carrier.off(place) > level for place in (b.start, middle, b.end)):
        return False
    span, share = _length(a), min(JOIN_MM, _length(b) / 2.0)
    if not a.bulge:
        low, high = sorted((carrier.along(b.start), carrier.along(b.end)))
        return min(high, span) - max(low, 0.0) > share
    round_mm = _TURN * carrier.radius
    low = carrier.along(b.start)
    high = low + _length(b)
    return min(high, span) - low > share or min(high - round_mm, span) > share


def _is_beside(a: Piece, b: Piece) -> bool:
    """True where the boxes of two lines lie apart: a quick answer for most of them."""
    return any(
        max(a.start[k], a.end[k]) + LEVEL_MM < min(b.start[k], b.end[k])
        or max(b.start[k], b.end[k]) + LEVEL_MM < min(a.start[k], a.end[k])
        for k in (0, 1)
    )


# What they cover together


def _runs(group: Sequence[Piece]) -> list[list[Piece]]:
    """Return the runs of a group, on the carrier of its longest; a piece that is a run stays as it is."""
    longest = max(group, key=_length)
    if longest.bulge:
        return _arc_runs([_rising(p) for p in group], _rising(longest))
    carrier = _carrier(longest)
    covered = []
    for p in group:
        rising = p if carrier.along(p.start) <= carrier.along(p.end) else p.reversed()
        covered.append((carrier.along(rising.start), carrier.along(rising.end), rising))
    return [
        [whole or longest._replace(start=first.start, end=last.end)]
        for first, last, whole, _ in _merged(covered)
    ]


def _arc_runs(group: Sequence[Piece], longest: Piece) -> list[list[Piece]]:
    """Return the runs of counterclockwise arcs, in arcs of at most 180 degrees."""
    base = next((p for p in group if not any(_passes(other, p.start) for other in group)), None)
    if base is None:
        # They close the round: two half circles, from the longest one's start.
        (z, r), _ = arc_centre(longest.start, longest.end, longest.bulge)
        other_side = 2.0 * z - longest.start[0], 2.0 * r - longest.start[1]
        half = longest._replace(end=other_side, bulge=1.0)
        return [[half], [half._replace(start=other_side, end=longest.start)]]
    carrier = _carrier(longest, base.start)
    covered = []
    for p in group:
        # A start that rounding puts a hair before the base lies at the base, not at the end of the round.
        low = carrier.along(p.start)
        low = low if low < _TURN * carrier.radius - LEVEL_MM else 0.0
        covered.append((low, low + _length(p), p))
    return [
        [whole] if whole else _arc_of(longest, first.start, last.end, span / carrier.radius)
        for first, last, whole, span in _merged(covered)
    ]


def _arc_of(like: Piece, start: Point, end: Point, sweep: float) -> list[Piece]:
    """Return the counterclockwise arc of a sweep in rad between two places."""
    if sweep <= math.pi:
        return [like._replace(start=start, end=end, bulge=math.tan(sweep / 4.0))]
    middle, half = arc_middle(start, end, math.tan(sweep / 4.0)), math.tan(sweep / 8.0)
    return [like._replace(start=a, end=b, bulge=half) for a, b in ((start, middle), (middle, end))]


def _passes(p: Piece, place: Point) -> bool:
    """True where a counterclockwise arc runs through a place that is none of its ends."""
    along = _carrier(p).along(place)
    return LEVEL_MM < along < _length(p) - LEVEL_MM


def _merged(
    covered: Sequence[tuple[float, float, Piece]],
) -> Iterator[tuple[Piece, Piece, Piece | None, float]]:
    """Yield for each run its first piece, its last, the one that covers it alone if any, and its length."""
    (low, high, first), *rest = sorted(covered, key=lambda c: c[:2])
    last: Piece = first
    whole: Piece | None = first
    for next_low, next_high, p in rest:
        if next_low > high - SAME:
            yield first, last, whole, high - low
            low, high, first, last, whole = next_low, next_high, p, p, p
        elif next_high > high + SAME:
            whole = p if next_low <= low + SAME else None
            high, last = next_high, p
    yield first, last, whole, high - low


def _parted(run: Piece, ends: Sequence[Point]) -> list[Piece]:
    """Return a run parted where other pieces end on it; `ends` are sorted."""
    run, span = _rising(run), _length(run)
    carrier = _carrier(run)
    stops = []
    sides = [run.start[0], run.end[0]]
    if run.bulge:
        sides += [carrier.origin[0] - carrier.radius, carrier.origin[0] + carrier.radius]
    low, high = (min(sides) - LEVEL_MM, -math.inf), (max(sides) + LEVEL_MM, math.inf)
    for place in ends[bisect_left(ends, low) : bisect_left(ends, high)]:
        along = carrier.along(place)
        if LEVEL_MM < along < span - LEVEL_MM and carrier.off(place) <= LEVEL_MM:
            stops.append((along, place))
    places = [(0.0, run.start)]
    for along, place in sorted(stops):
        if along - places[-1][0] > LEVEL_MM:
            places.append((along, place))
    if len(places) == 1:
        return [run]
    places.append((span, run.end))
    return [
        run._replace(start=p, end=q, bulge=math.tan((t - s) / carrier.radius / 4.0) if run.bulge else 0.0)
        for (s, p), (t, q) in pairwise(places)
    ]

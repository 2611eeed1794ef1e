"""Straight lines drawn over each other in parts: stacked and overlapping ones become one.

Two lines are one where both ends of each lie within SAME of the other's line and they share a stretch. The
joined line runs from the first end to the last; where another line ends on a stretch, it is parted there, so
that chains through that place still meet.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from app.files.readers.chains import SAME
from app.files.readers.pieces import Piece, Point

#: Lines are compared within bands of direction this wide, rad, and their neighbours.
_BAND_RAD = 1e-3

#: A line that lies along many: beyond this many comparisons a drawing is taken as it is.
_MOST = 2_000_000


def without_overlaps(pieces: Sequence[Piece]) -> tuple[list[Piece], int]:
    """Return the pieces with overlapping straight lines joined into one, and how many were dropped."""
    lines = [k for k, p in enumerate(pieces) if p.bulge == 0.0 and math.dist(p.start, p.end) > SAME]
    groups = _groups(pieces, lines)
    dropped = 0
    gone: set[int] = set()
    out: list[Piece] = []
    for group in groups:
        joined = _joined(pieces, group)
        if len(joined) < len(group):
            dropped += len(group) - len(joined)
            gone |= set(group)
            out += joined
    if not dropped:
        return list(pieces), 0
    rest = [p for k, p in enumerate(pieces) if k not in gone]
    ends = [place for p in rest for place in (p.start, p.end)]
    return [*rest, *(part for line in out for part in _parted(line, ends))], dropped


def _groups(pieces: Sequence[Piece], lines: Iterable[int]) -> list[list[int]]:
    """Return lines that share a stretch, by number, in groups."""
    bands: dict[int, list[int]] = {}
    count = round(math.pi / _BAND_RAD)
    for k in lines:
        (z0, r0), (z1, r1) = pieces[k].start, pieces[k].end
        bands.setdefault(int(math.atan2(r1 - r0, z1 - z0) % math.pi / _BAND_RAD) % count, []).append(k)
    parent = {k: k for band in bands.values() for k in band}

    def root(k: int) -> int:
        while parent[k] != k:
            parent[k] = k = parent[parent[k]]
        return k

    compared = 0
    for band, held in bands.items():
        near = [*held, *bands.get((band + 1) % count, ())]
        for i, k in enumerate(held):
            for j in near[i + 1 :]:
                compared += 1
                if compared > _MOST:
                    return []
                if root(k) != root(j) and _overlap(pieces[k], pieces[j]):
                    parent[root(j)] = root(k)
    found: dict[int, list[int]] = {}
    for k in parent:
        found.setdefault(root(k), []).append(k)
    return [group for group in found.values() if len(group) > 1]


def _overlap(a: Piece, b: Piece) -> bool:
    """True where two lines lie on each other along a stretch."""
    if math.dist(a.start, a.end) < math.dist(b.start, b.end):
        a, b = b, a
    (z0, r0), (z1, r1) = a.start, a.end
    span = math.dist(a.start, a.end)
    uz, ur = (z1 - z0) / span, (r1 - r0) / span
    along = []
    for z, r in (b.start, b.end):
        if abs((r - r0) * uz - (z - z0) * ur) > SAME:
            return False
        along.append((z - z0) * uz + (r - r0) * ur)
    return min(max(along), span) - max(min(along), 0.0) > SAME


def _joined(pieces: Sequence[Piece], group: Sequence[int]) -> list[Piece]:
    """Return the lines of a group joined where they overlap, along the longest of them."""
    longest = max((pieces[k] for k in group), key=lambda p: math.dist(p.start, p.end))
    (z0, r0), span = longest.start, math.dist(longest.start, longest.end)
    uz, ur = (longest.end[0] - z0) / span, (longest.end[1] - r0) / span
    ends: list[tuple[float, Point, float, Point]] = []
    for k in group:
        p = pieces[k]
        s, t = ((z - z0) * uz + (r - r0) * ur for z, r in (p.start, p.end))
        ends.append((s, p.start, t, p.end) if s <= t else (t, p.end, s, p.start))
    ends.sort(key=lambda e: (e[0], e[2]))
    out = [ends[0]]
    for low, start, high, end in ends[1:]:
        last = out[-1]
        if low < last[2] - SAME:
            if high > last[2]:
                out[-1] = (last[0], last[1], high, end)
        else:
            out.append((low, start, high, end))
    return [longest._replace(start=start, end=end) for _, start, _, end in out]


def _parted(line: Piece, ends: Iterable[Point]) -> list[Piece]:
    """Return a line parted where other pieces end on it."""
    (z0, r0), span = line.start, math.dist(line.start, line.end)
    uz, ur = (line.end[0] - z0) / span, (line.end[1] - r0) / span
    stops: list[tuple[float, Point]] = []
    for z, r in ends:
        along = (z - z0) * uz + (r - r0) * ur
        if SAME < along < span - SAME and abs((r - r0) * uz - (z - z0) * ur) <= SAME:
            stops.append((along, (z, r)))
    places = [line.start]
    for _, place in sorted(stops):
        if math.dist(places[-1], place) > SAME:
            places.append(place)
    places.append(line.end)
    return [line._replace(start=p, end=q) for p, q in pairwise(places)]

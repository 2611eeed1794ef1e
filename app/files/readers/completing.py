"""Half-drawn outlines completed by their image.

Words:
    closing edge  straight upright lines along the extreme of a closed outline, by which a half may be closed
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations
from typing import NamedTuple

from app.files.readers.net import SAME
from app.files.readers.pieces import Piece, Point, chords, leftward, length, lowest_and_bounds

#: Two closing edges whose lengths differ by less than this share are equal: neither is chosen.
_EQUAL = 0.01

#: An edge is square on a line where it turns away from the square by no more than this, rad.
_SQUARE_RAD = 0.02

#: The ends of a half lie apart by at least this share of the length of what is drawn.
_LEAST_SPAN = 0.02


class Mirror(NamedTuple):
    """The line of an image.

    Attributes:
        base, far: the two drawn ends on it that lie farthest apart.
        uz, ur: its unit direction.
    """

    base: Point
    far: Point
    uz: float
    ur: float

    def off(self, p: Point) -> float:
        """Return how far a place lies to the left of the line."""
        return (p[1] - self.base[1]) * self.uz - (p[0] - self.base[0]) * self.ur

    def image(self, p: Point) -> Point:
        """Return the image of a place."""
        off = self.off(p)
        return p[0] + 2.0 * off * self.ur, p[1] - 2.0 * off * self.uz

    def side(self, pieces: Sequence[Piece], slack: float) -> int:
        """Return 1 or -1 for pieces left or right of the line, 0 where they cross it or lie on it."""
        offs = [self.off(q) for p in pieces for chord in chords(p) for q in chord]
        low, high = min(offs), max(offs)
        if high > slack and low >= -slack:
            return 1
        return -1 if low < -slack and high <= slack else 0

    def ring(self, chain: Sequence[Piece]) -> list[Piece]:
        """Return the ring of a chain and its image."""
        start, end = chain[0].start, chain[-1].end
        back = self.back(chain)
        # The ends lie on the line; what they are off it must not open the ring.
        back[0] = back[0]._replace(start=end)
        back[-1] = back[-1]._replace(end=start)
        return leftward([*chain, *back])

    def back(self, pieces: Sequence[Piece]) -> list[Piece]:
        """Return the image of pieces, run the other way; a ring stays counterclockwise."""
        return [p._replace(start=self.image(p.end), end=self.image(p.start)) for p in reversed(pieces)]


def mirror_of(chains: Sequence[Sequence[Piece]], join: float) -> Mirror | None:
    """Return the line that holds all ends of open chains, which lie on one side of it; None without one.

    Ends that differ in z or in r by less than the join distance are taken as upright or level. An outline
    with a gap is no half: there the ends are near each other, or pieces lie along the line.
    """
    ends = [place for chain in chains for place in (chain[0].start, chain[-1].end)]
    if not ends or len(ends) > 200:
        return None
    base, far = max(combinations(ends, 2), key=lambda pair: math.dist(*pair))
    dz, dr = far[0] - base[0], far[1] - base[1]
    span = math.hypot(dz, dr)
    if span <= max(join, SAME, _LEAST_SPAN * max(map(length, chains))):
        return None
    upright, level = abs(dz) <= join, abs(dr) <= join
    uz = 0.0 if upright else math.copysign(1.0, dz) if level else dz / span
    ur = math.copysign(1.0, dr) if upright else 0.0 if level else dr / span
    found = Mirror(base, far, uz, ur)
    if any(abs(found.off(end)) > join for end in ends):
        return None
    lines = [p for chain in chains for p in chain if not p.bulge]
    if any(
        max(abs(found.off(p.start)), abs(found.off(p.end))) <= join < math.dist(p.start, p.end) for p in lines
    ):
        return None
    sides = {found.side(chain, join) for chain in chains}
    return found if sides in ({1}, {-1}) else None


# Halves closed by a line


def closing_line(rings: Sequence[Sequence[Piece]], join: float) -> Mirror | None:
    """Return the line of the closing edge that halves share: on z = 0, else the longer of the extreme ones.

    None where no straight upright edge lies at their extreme, or where two such edges are equally long.
    """
    if not rings:
        return None
    least = max(join, _LEAST_SPAN * max(map(length, rings)))
    reaches = [_reach(ring) for ring in rings]
    at_zero = [ring for ring, reach in zip(rings, reaches, strict=True) if _ends_on_zero(reach, join)]
    on_zero = _edge(at_zero, 0.0, join)
    if on_zero is not None and on_zero[0] > least:
        return on_zero[1]
    edges = [
        _edge(rings, z, join) for z in (min(low for low, _ in reaches), max(high for _, high in reaches))
    ]
    by_length = sorted((e for e in edges if e is not None and e[0] > least), key=lambda e: e[0], reverse=True)
    if len(by_length) == 2 and by_length[0][0] - by_length[1][0] <= _EQUAL * by_length[0][0]:
        return None
    return by_length[0][1] if by_length else None


def _reach(ring: Sequence[Piece]) -> tuple[float, float]:
    """Return the lowest and the highest z of a ring."""
    return lowest_and_bounds([(*p.start, p.bulge) for p in ring])[1][:2]


def _ends_on_zero(reach: tuple[float, float], join: float) -> bool:
    return min(map(abs, reach)) <= join


def _edge(rings: Sequence[Sequence[Piece]], z: float, join: float) -> tuple[float, Mirror] | None:
    """Return how long the lines of rings on an upright line are, and that line; None where there are none."""
    lines = [p for ring in rings for p in ring if _is_on(p, z, join)]
    rs = [r for p in lines for r in (p.start[1], p.end[1])]
    return (length(lines), Mirror((z, min(rs)), (z, max(rs)), 0.0, 1.0)) if lines else None


def _is_on(p: Piece, z: float, join: float) -> bool:
    return not p.bulge and max(abs(p.start[0] - z), abs(p.end[0] - z)) <= join


def opened(ring: Sequence[Piece], z: float, join: float) -> list[list[Piece]]:
    """Return the chains that stay of a ring without its lines on an upright one, none where it has none."""
    is_on = [_is_on(p, z, join) for p in ring]
    if not any(is_on):
        return []
    chains: list[list[Piece]] = [[]]
    # From a line that is dropped, so that no chain is parted where the ring begins.
    first = is_on.index(True)
    for k in (*range(first, len(ring)), *range(first)):
        if is_on[k]:
            chains.append([])
        else:
            chains[-1].append(ring[k])
    return [chain for chain in chains if chain]


def looks_halved(ring: Sequence[Piece], join: float) -> bool:
    """Return True for a ring beside z = 0 whose lines on it are met squarely from both ends."""
    if not _ends_on_zero(_reach(ring), join):
        return False
    chains = opened(ring, 0.0, join)
    return bool(chains) and all(
        _is_square(c[0], at_start=True) and _is_square(c[-1], at_start=False) for c in chains
    )


def _is_square(p: Piece, at_start: bool) -> bool:
    """True where a piece is level at one of its ends."""
    chord = math.atan2(p.end[1] - p.start[1], p.end[0] - p.start[0])
    turn = 2.0 * math.atan(p.bulge)
    return abs(math.sin(chord - turn if at_start else chord + turn)) <= math.sin(_SQUARE_RAD)

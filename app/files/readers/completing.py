"""Half-drawn outlines completed by their image."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations
from typing import NamedTuple

from app.files.readers.net import SAME
from app.files.readers.pieces import Piece, Point, chords, leftward, length

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

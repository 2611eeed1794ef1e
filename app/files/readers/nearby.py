"""Chains with their boxes, and which of them lie near a place or a line: most are told apart at once."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from app.files.readers.net import LEVEL_MM
from app.files.readers.outlines import Bounds
from app.files.readers.pieces import Piece, Point, chords, distance, holds, lowest_and_bounds

#: Strips across the longer side of a drawing by which its chains are found.
_STRIPS = 256

Chain = list[Piece]


class Boxed(NamedTuple):
    """A ring or an open chain with its box."""

    chain: Chain
    box: Bounds

    def apart(self, place: Point, near: float) -> float:
        """Return how far a place lies from the chain; infinity where that is farther than `near`."""
        z0, z1, r0, r1 = self.box
        if not (z0 - near <= place[0] <= z1 + near and r0 - near <= place[1] <= r1 + near):
            return math.inf
        found = min(distance(p, place) for p in self.chain)
        return found if found <= near else math.inf

    def carries(self, chain: Chain) -> bool:
        """Return True where another chain lies on this one all along."""
        if max(self.apart(q, LEVEL_MM) for q in (chain[0].start, chain[-1].end)) > LEVEL_MM:
            return False
        return all(self.apart(q, LEVEL_MM) <= LEVEL_MM for q in places_along(chain))

    def keeps(self, chain: Chain) -> bool:
        """Return True where another chain lies within this ring or on it."""
        return all(holds(self.chain, q) or self.apart(q, LEVEL_MM) <= LEVEL_MM for q in places_along(chain))

    def meets(self, line: Piece, base: Point, near: float) -> bool:
        """Return True where the chain crosses a straight line or comes near it away from its base."""
        if self.apart(line.end, near) <= near:
            return True
        runs = [run for p in self.chain for run in chords(p)]
        # Two straight stretches that do not cross are nearest at an end of one of them.
        corners = (q for run in runs for q in run if math.dist(q, base) > 2.0 * near)
        return any(distance(line, q) <= near for q in corners) or any(_cross(line, a, b) for a, b in runs)


class Nearby:
    """Finds the chains whose boxes lie near a place or a line."""

    def __init__(self, chains: Iterable[Chain], near: float) -> None:
        self._held = [Boxed(chain, _box(chain)) for chain in chains]
        self._near = near
        boxes = [held.box for held in self._held] or [(0.0, 0.0, 0.0, 0.0)]
        z0, z1, r0, r1 = (pick(b[k] for b in boxes) for k, pick in enumerate((min, max, min, max)))
        self._axis = 0 if z1 - z0 >= r1 - r0 else 1
        self._low, high = (z0, z1) if self._axis == 0 else (r0, r1)
        self._width = max((high - self._low) / _STRIPS, near, LEVEL_MM)
        self._strips: dict[int, list[Boxed]] = {}
        for held in self._held:
            low, high = held.box[2 * self._axis : 2 * self._axis + 2]
            for strip in range(self._strip(low - near), self._strip(high + near) + 1):
                self._strips.setdefault(strip, []).append(held)

    def _strip(self, value: float) -> int:
        return math.floor((value - self._low) / self._width)

    def at(self, place: Point) -> Sequence[Boxed]:
        """Return chains, some of which lie near a place."""
        return self._strips.get(self._strip(place[self._axis]), ())

    def along(self, line: Piece) -> Iterator[Boxed]:
        """Yield the chains whose boxes lie near the box of a line, each at least once."""
        low, high = sorted((line.start[self._axis], line.end[self._axis]))
        sides = [sorted((line.start[k], line.end[k])) for k in (0, 1)]
        for strip in range(self._strip(low), self._strip(high) + 1):
            for held in self._strips.get(strip, ()):
                z0, z1, r0, r1 = held.box
                if (
                    z0 - self._near <= sides[0][1]
                    and sides[0][0] <= z1 + self._near
                    and r0 - self._near <= sides[1][1]
                    and sides[1][0] <= r1 + self._near
                ):
                    yield held


def _box(chain: Chain) -> Bounds:
    rows = [(*p.start, p.bulge) for p in chain]
    return lowest_and_bounds([*rows, (*chain[-1].end, 0.0)])[1]


def places_along(chain: Chain) -> Iterator[Point]:
    """Yield places all along a chain: the ends of its pieces and seven between them."""
    yield chain[0].start
    for p in chain:
        for part in _eighths(p):
            for _, place in chords(part):
                yield place


def _eighths(p: Piece) -> list[Piece]:
    """Return an arc as it is, a line in eighths."""
    if p.bulge:
        return [p]
    (z0, r0), (z1, r1) = p.start, p.end
    stops = [(z0 + k / 8.0 * (z1 - z0), r0 + k / 8.0 * (r1 - r0)) for k in range(9)]
    return [Piece(a, b) for a, b in pairwise(stops)]


def _cross(line: Piece, a: Point, b: Point) -> bool:
    """True where two straight stretches share a place."""
    return _turn(line.start, line.end, a) * _turn(line.start, line.end, b) <= 0.0 and (
        _turn(a, b, line.start) * _turn(a, b, line.end) <= 0.0
    )


def _turn(start: Point, end: Point, place: Point) -> float:
    """Return twice the area of a triangle, + where the place lies to the left."""
    return (end[0] - start[0]) * (place[1] - start[1]) - (end[1] - start[1]) * (place[0] - start[0])

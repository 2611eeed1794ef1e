"""Pieces between numbered nodes, and what comes of them when they are followed.

Words:
    node      a place where ends meet, within SAME
    branch    a node where more than two ends meet
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from app.files.readers.pieces import Piece, Point
from geometry.tolerances import LEAST_EDGE_MM

#: Ends nearer than this are one place; a shorter edge would be a fault of the outline.
SAME = LEAST_EDGE_MM

#: Pieces that lie this near to each other all along are one: coordinates written with three decimals, twice.
LEVEL_MM = 0.002


def level_of(length: float) -> float:
    """Return how near a piece must lie to another to be the same: less for one that is hardly longer."""
    return min(LEVEL_MM, length / 10.0)


@dataclass
class Chained:
    """What came of the pieces.

    Attributes:
        rings: closed outlines, counterclockwise.
        open: chains with two free ends, or that end loose where they leave a branch.
        tangled: pieces that branch so that no outline is clear; branches: their branches.
        trees: pieces that branch and enclose nothing, as they come; forks: their branches.
        inside: pieces left out because they lie within the outer edge of a tangle.
        joined, largest_join: free ends joined, and the largest distance between two of them.
        joins: where, as (z, r, distance).
        doubles: pieces and rings dropped because they were there already.
        empty: pieces and rings dropped because they have no length or no area.
    """

    rings: list[list[Piece]] = field(default_factory=list)
    open: list[list[Piece]] = field(default_factory=list)
    tangled: list[Piece] = field(default_factory=list)
    branches: list[Branch] = field(default_factory=list)
    trees: list[Piece] = field(default_factory=list)
    forks: list[Branch] = field(default_factory=list)
    inside: list[Piece] = field(default_factory=list)
    joined: int = 0
    largest_join: float = 0.0
    joins: list[tuple[float, float, float]] = field(default_factory=list)
    doubles: int = 0
    empty: int = 0


@dataclass(frozen=True)
class Branch:
    """A place where more than two pieces meet, their number and their layers."""

    place: Point
    count: int
    layers: tuple[str, ...]


@dataclass
class Edge:
    """A piece between two nodes, by number."""

    piece: Piece
    ends: list[int]

    def run(self, start: int, places: Sequence[Point]) -> Piece:
        """Return the piece as run from one of its nodes, between the nodes' places."""
        first, second = self.ends
        piece = self.piece if start == first else self.piece.reversed()
        end = second if start == first else first
        return piece._replace(start=places[start], end=places[end])


class Places:
    """Places told apart by a grid: two within reach of each other get one number."""

    def __init__(self, reach: float) -> None:
        self.places: list[Point] = []
        self._reach = reach
        self._cells: dict[tuple[int, int], list[int]] = {}

    def near(self, place: Point) -> list[int]:
        """Return the numbers of the places within reach."""
        i, j = self._cell(place)
        around = (n for di in (-1, 0, 1) for dj in (-1, 0, 1) for n in self._cells.get((i + di, j + dj), ()))
        return [n for n in around if math.dist(self.places[n], place) <= self._reach]

    def add(self, place: Point) -> int:
        """Return the number of a new place."""
        self._cells.setdefault(self._cell(place), []).append(len(self.places))
        self.places.append(place)
        return len(self.places) - 1

    def _cell(self, place: Point) -> tuple[int, int]:
        return math.floor(place[0] / self._reach), math.floor(place[1] / self._reach)


def nodes_of(edges: Sequence[Edge]) -> dict[int, list[int]]:
    """Return the edges, by number, that meet at each node."""
    at: dict[int, list[int]] = {}
    for i, edge in enumerate(edges):
        for node in edge.ends:
            at.setdefault(node, []).append(i)
    return at


def walk(edges: Sequence[Edge], places: Sequence[Point], out: Chained) -> None:
    """Follow edges without branches from node to node, into open chains first, then rings."""
    at = nodes_of(edges)
    used = [False] * len(edges)
    starts = [n for n, held in at.items() if len(held) == 1] + [n for n, held in at.items() if len(held) == 2]
    for start in starts:
        chain: list[Piece] = []
        node = start
        while True:
            i = next((i for i in at[node] if not used[i]), None)
            if i is None:
                break
            used[i] = True
            chain.append(edges[i].run(node, places))
            first, second = edges[i].ends
            node = second if first == node else first
        if chain:
            (out.rings if node == start else out.open).append(chain)

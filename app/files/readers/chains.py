"""Loose lines and arcs joined end to end into closed outlines.

Words:
    node      a place where ends meet, within SAME
    free end  a node with one end only; two of them within the join distance are joined
    double    a piece drawn a second time between the same nodes
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

from app.files.readers.answer import JOIN_MM, ReadError, plain
from app.files.readers.pieces import Piece, Point, area
from geometry.tolerances import LEAST_EDGE_MM

#: Ends nearer than this are one place; a shorter edge would be a fault of the outline.
SAME = LEAST_EDGE_MM


@dataclass
class Chained:
    """What came of the pieces.

    Attributes:
        rings: closed outlines, counterclockwise.
        open: chains with two free ends.
        joined, largest_join: free ends joined, and the largest distance between two of them.
        joins: where, as (z, r, distance).
        doubles: pieces and rings dropped because they were there already.
        empty: pieces and rings dropped because they have no length or no area.
    """

    rings: list[list[Piece]] = field(default_factory=list)
    open: list[list[Piece]] = field(default_factory=list)
    joined: int = 0
    largest_join: float = 0.0
    joins: list[tuple[float, float, float]] = field(default_factory=list)
    doubles: int = 0
    empty: int = 0


class _Nodes:
    """Places told apart by a grid: two within SAME of each other get one number."""

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


def chained(pieces: Iterable[Piece], rings: Iterable[list[Piece]], join: float) -> Chained:
    """Return the outlines that pieces and ready rings make.

    Raises:
        ReadError: more than two ends meet at one place.
    """
    out = Chained()
    edges, places = _edges(pieces, out)
    _join_free_ends(edges, places, join, out)
    _walk(edges, places, out)
    for ring in rings:
        kept = [p for p in ring if math.dist(p.start, p.end) > SAME]
        out.empty += len(ring) - len(kept)
        out.rings.append(kept)
    _tidy_rings(out)
    return out


@dataclass
class _Edge:
    piece: Piece
    ends: list[int]


def _edges(pieces: Iterable[Piece], out: Chained) -> tuple[list[_Edge], list[Point]]:
    """Return pieces between numbered nodes, without doubles; a stated end places a node before a computed."""
    nodes = _Nodes(SAME)
    stated: list[bool] = []
    known: dict[tuple[int, int], list[float]] = {}
    edges: list[_Edge] = []

    def number(place: Point, is_stated: bool) -> int:
        near = nodes.near(place)
        if not near:
            stated.append(is_stated)
            return nodes.add(place)
        if is_stated and not stated[near[0]]:
            nodes.places[near[0]], stated[near[0]] = place, True
        return near[0]

    for piece in pieces:
        a, b = number(piece.start, piece.stated), number(piece.end, piece.stated)
        if a == b:
            out.empty += 1
            continue
        bulge = piece.bulge if a < b else -piece.bulge
        bulges = known.setdefault((min(a, b), max(a, b)), [])
        if any(abs(bulge - other) * math.dist(piece.start, piece.end) <= 2.0 * SAME for other in bulges):
            out.doubles += 1
            continue
        bulges.append(bulge)
        edges.append(_Edge(piece, [a, b]))
    return edges, nodes.places


def _join_free_ends(edges: list[_Edge], places: list[Point], join: float, out: Chained) -> None:
    """Join free ends within the join distance, nearest first.

    Up to JOIN_MM both ends move to their middle; a wider gap that the user allowed gets a line of its own.
    """
    holders: dict[int, list[tuple[int, int]]] = {}
    for i, edge in enumerate(edges):
        for k in (0, 1):
            holders.setdefault(edge.ends[k], []).append((i, k))
    grid = _Nodes(max(join, SAME))
    free: list[int] = []
    pairs: list[tuple[float, int, int]] = []
    for node in sorted(n for n, held in holders.items() if len(held) == 1):
        for other in grid.near(places[node]):
            if holders[free[other]][0][0] != holders[node][0][0]:
                pairs.append((math.dist(places[free[other]], places[node]), free[other], node))
        grid.add(places[node])
        free.append(node)
    taken: set[int] = set()
    for gap, a, b in sorted(pairs):
        if a in taken or b in taken:
            continue
        taken |= {a, b}
        out.joined += 1
        out.largest_join = max(out.largest_join, gap)
        middle = (places[a][0] + places[b][0]) / 2.0, (places[a][1] + places[b][1]) / 2.0
        out.joins.append((*middle, gap))
        if gap > JOIN_MM:
            edges.append(_Edge(Piece(places[a], places[b], 0.0, edges[holders[a][0][0]].piece.layer), [a, b]))
            continue
        places[a] = middle
        i, k = holders[b][0]
        edges[i].ends[k] = a


def _walk(edges: list[_Edge], places: list[Point], out: Chained) -> None:
    """Follow the edges from node to node into open chains first, then rings."""
    at: dict[int, list[int]] = {}
    for i, edge in enumerate(edges):
        for node in edge.ends:
            at.setdefault(node, []).append(i)
    _refuse_branches(edges, places, at)
    used = [False] * len(edges)
    starts = [n for n, held in at.items() if len(held) == 1] + [n for n, held in at.items() if len(held) == 2]
    for start in starts:
        chain: list[Piece] = []
        node = start
        while True:
            following_edges = [i for i in at[node] if not used[i]]
            if not following_edges:
                break
            i = following_edges[0]
            used[i] = True
            first, second = edges[i].ends
            piece = edges[i].piece if first == node else edges[i].piece.reversed()
            following = second if first == node else first
            chain.append(_between(piece, places[node], places[following]))
            node = following
        if chain:
            (out.rings if node == start else out.open).append(chain)


def _between(piece: Piece, start: Point, end: Point) -> Piece:
    return Piece(start, end, piece.bulge, piece.layer, piece.stated, piece.spread)


def _refuse_branches(edges: list[_Edge], places: list[Point], at: dict[int, list[int]]) -> None:
    branches = [n for n, held in at.items() if len(held) > 2]
    if not branches:
        return
    z, r = places[branches[0]]
    layers = sorted({plain(edges[i].piece.layer) for i in at[branches[0]]})
    more = f" and {len(branches) - 1} more places" if len(branches) > 1 else ""
    raise ReadError(
        f"{len(at[branches[0]])} lines meet at z {z:.3f}, r {r:.3f}{more} (layers: {', '.join(layers[:4])}), "
        "so the outline is not clear; delete what does not belong to it or read one layer with --layer"
    )


def _tidy_rings(out: Chained) -> None:
    """Drop rings without area and doubles, and turn the rest counterclockwise."""
    kept: list[list[Piece]] = []
    seen: list[tuple[float, _Nodes]] = []
    for ring in out.rings:
        size = area(ring)
        if abs(size) <= SAME:
            out.empty += 1
            continue
        if any(_same_ring(ring, abs(size), other, nodes) for other, nodes in seen):
            out.doubles += 1
            continue
        nodes = _Nodes(SAME)
        for piece in ring:
            nodes.add(piece.start)
        seen.append((abs(size), nodes))
        kept.append(ring if size > 0.0 else [p.reversed() for p in reversed(ring)])
    out.rings = kept


def _same_ring(ring: list[Piece], size: float, other: float, nodes: _Nodes) -> bool:
    """True where a ring has the area and the corners of one that is kept."""
    length = sum(math.dist(p.start, p.end) for p in ring)
    if len(ring) != len(nodes.places) or abs(size - other) > 2.0 * SAME * length:
        return False
    return all(nodes.near(p.start) for p in ring)


def largest_gap(chains: list[list[Piece]]) -> tuple[float, Point, Point, str]:
    """Return the gap that keeps outlines open: for the longest chain its end to the nearest other free end.

    Returns:
        Size of the gap, its two ends and the layer.
    """
    chain = max(chains, key=lambda c: sum(math.dist(p.start, p.end) for p in c))
    end = chain[-1].end
    others = [place for c in chains for place in (c[0].start, c[-1].end) if place != end or c is not chain]
    nearest = min(others, key=lambda place: math.dist(place, end))
    return math.dist(end, nearest), end, nearest, chain[-1].layer

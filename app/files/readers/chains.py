"""Loose lines and arcs joined end to end into closed outlines.

Words:
    free end  a node with one end only; two of them within the join distance are joined
    double    a piece drawn a second time, all of it within LEVEL_MM
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from app.files.readers.answer import JOIN_MM
from app.files.readers.branches import untangled
from app.files.readers.net import LEVEL_MM, SAME, Chained, Edge, Places, level_of, nodes_of, walk
from app.files.readers.pieces import (
    Piece,
    Point,
    arc_middle,
    area,
    distance,
    leftward,
    length,
    lowest_and_bounds,
)

#: A corner is closed by lengthening two lines to their crossing where they turn by at least this, rad.
_LEAST_TURN_RAD = 0.17

#: Pieces of two rings compared one with each other; longer ones are doubles only where their corners agree.
_MOST_COMPARED = 250_000


def chained(
    pieces: Iterable[Piece], rings: Iterable[list[Piece]], join: float, grow: bool = False
) -> Chained:
    """Return the outlines that pieces and ready rings make.

    Args:
        pieces: loose, in any order and direction, without doubles.
        rings: that close on themselves already.
        join: free ends nearer than this are joined, mm.
        grow: where pieces branch, take the outer edge of all they enclose.
    """
    out = Chained()
    edges, places = _edges(pieces, out)
    _join_free_ends(edges, places, join, out)
    walk(untangled(edges, places, grow, out), places, out)
    for ring in rings:
        kept = [p for p in ring if math.dist(p.start, p.end) > SAME]
        out.empty += len(ring) - len(kept)
        out.rings.append(kept)
    tidy_rings(out)
    return out


def _edges(pieces: Iterable[Piece], out: Chained) -> tuple[list[Edge], list[Point]]:
    """Return pieces between numbered nodes; an end that is stated places a node before one computed."""
    nodes = Places(SAME)
    stated: list[bool] = []
    edges: list[Edge] = []

    def number(place: Point, is_stated: bool) -> int:
        near = nodes.near(place)
        if not near:
            stated.append(is_stated)
            return nodes.add(place)
        if is_stated and not stated[near[0]]:
            nodes.places[near[0]], stated[near[0]] = place, True
        return near[0]

    for piece in pieces:
        if math.dist(piece.start, piece.end) <= SAME:
            out.empty += 1
        else:
            edges.append(Edge(piece, [number(p, piece.stated) for p in (piece.start, piece.end)]))
    return edges, nodes.places


def without_doubles(pieces: Iterable[Piece]) -> list[Piece]:
    """Return pieces without those that are drawn a second time, all of them within LEVEL_MM."""
    middles = Places(LEVEL_MM)
    placed: list[Piece] = []
    kept: list[Piece] = []
    for piece in pieces:
        if math.dist(piece.start, piece.end) > SAME:
            middle = arc_middle(piece.start, piece.end, piece.bulge)
            if any(_is_double(piece, placed[k]) for k in middles.near(middle)):
                continue
            middles.add(middle)
            placed.append(piece)
        kept.append(piece)
    return kept


def _is_double(a: Piece, b: Piece) -> bool:
    """True for pieces whose ends agree; that their middles do is known."""
    if math.dist(a.start, b.start) > math.dist(a.start, b.end):
        b = b.reversed()
    near = level_of(math.dist(a.start, a.end))
    return math.dist(a.start, b.start) <= near and math.dist(a.end, b.end) <= near


# Gaps


def _join_free_ends(edges: list[Edge], places: list[Point], join: float, out: Chained) -> None:
    """Join free ends within the join distance, nearest first.

    Two lines are lengthened or cut to the corner where they cross. Else both ends move to their middle up to
    JOIN_MM; a wider gap that the user allowed gets a line of its own.
    """
    at = nodes_of(edges)
    grid = Places(max(join, SAME))
    free: list[int] = []
    pairs: list[tuple[float, int, int]] = []
    for node in sorted(n for n, held in at.items() if len(held) == 1):
        for other in grid.near(places[node]):
            if at[free[other]] != at[node]:
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
        edge, other_edge = edges[at[a][0]], edges[at[b][0]]
        corner = _corner(edge, a, other_edge, b, places, join)
        if corner is None and gap > JOIN_MM:
            edges.append(Edge(Piece(places[a], places[b], 0.0, edge.piece.layer), [a, b]))
            continue
        places[a] = middle if corner is None else corner
        other_edge.ends[other_edge.ends.index(b)] = a


def _corner(edge: Edge, a: int, other: Edge, b: int, places: Sequence[Point], join: float) -> Point | None:
    """Return where two lines with free ends a and b cross, None where that is no corner within reach."""
    if edge.piece.bulge or other.piece.bulge:
        return None
    p, q = edge.run(a, places), other.run(b, places)
    u = p.end[0] - p.start[0], p.end[1] - p.start[1]
    w = q.end[0] - q.start[0], q.end[1] - q.start[1]
    cross = u[0] * w[1] - u[1] * w[0]
    if abs(cross) < math.sin(_LEAST_TURN_RAD) * math.hypot(*u) * math.hypot(*w):
        return None
    gap = q.start[0] - p.start[0], q.start[1] - p.start[1]
    share = (gap[0] * w[1] - gap[1] * w[0]) / cross
    corner = p.start[0] + share * u[0], p.start[1] + share * u[1]
    # Cutting back must leave a line.
    reach = [min(join, math.dist(line.start, line.end) / 2.0) for line in (p, q)]
    near = math.dist(corner, p.start) <= reach[0] and math.dist(corner, q.start) <= reach[1]
    return corner if near else None


# Chains and rings


def tidy_rings(out: Chained) -> None:
    """Drop rings without area and doubles, and turn the rest counterclockwise."""
    kept: list[list[Piece]] = []
    known = Places(4.0 * LEVEL_MM)
    for ring in out.rings:
        if not ring or abs(area(ring)) <= SAME:
            out.empty += 1
            continue
        # Rings of one box are few; two sums tell most other boxes apart, those about one middle too.
        _, (z0, z1, r0, r1) = lowest_and_bounds([(*p.start, p.bulge) for p in ring])
        mark = z0 + r1, z1 - 2.0 * r0
        if any(_same_ring(ring, kept[k]) for k in known.near(mark)):
            out.doubles += 1
            continue
        known.add(mark)
        kept.append(leftward(ring))
    out.rings = kept


def _same_ring(ring: Sequence[Piece], other: Sequence[Piece]) -> bool:
    """True where two rings of one area lie within LEVEL_MM of each other, however they are parted."""
    size, other_size = abs(area(ring)), abs(area(other))
    if abs(size - other_size) > LEVEL_MM * length(ring):
        return False
    if len(ring) == len(other):
        corners = Places(LEVEL_MM)
        for p in other:
            for place in (p.start, arc_middle(p.start, p.end, p.bulge)):
                corners.add(place)
        if all(corners.near(q) for p in ring for q in (p.start, arc_middle(p.start, p.end, p.bulge))):
            return True
    return len(ring) * len(other) <= _MOST_COMPARED and all(
        min(distance(q, place) for q in b) <= LEVEL_MM
        for a, b in ((ring, other), (other, ring))
        for p in a
        for place in (p.start, arc_middle(p.start, p.end, p.bulge))
    )


def largest_gap(chains: list[list[Piece]]) -> tuple[float, Point, Point, str]:
    """Return the gap that keeps outlines open: for the longest chain its end to the nearest other free end.

    Returns:
        Size of the gap, its two ends and the layer.
    """
    chain = max(chains, key=length)
    end = chain[-1].end
    others = [place for c in chains for place in (c[0].start, c[-1].end) if place != end or c is not chain]
    nearest = min(others, key=lambda place: math.dist(place, end))
    return math.dist(end, nearest), end, nearest, chain[-1].layer

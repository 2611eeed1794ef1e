"""Places where more than two lines meet: what can be settled there without a guess.

Words:
    dead end  a chain that leaves a branch and ends loose: it bounds nothing
    core      what stays of branching edges when all dead ends are taken off
    tree      branching edges without a core
    face      an area that edges enclose; the outer face is what lies round them all

Where the core is made of plain rings, these are the outlines, and the dead ends become open chains for the
caller to judge. A tree encloses nothing. Where the core still branches, an outline that may grow takes the
edge of the outer face: nothing that the drawing encloses is lost. Otherwise the pieces stay tangled.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

from app.files.readers.net import LEVEL_MM, Branch, Chained, Edge, nodes_of, walk
from app.files.readers.pieces import Piece, Point, arc_centre, arc_middle, area, distance, holds

#: Pieces inside times pieces of the edge that are compared.
_MOST_COMPARED = 500_000

#: An edge run from its first node or from its second.
_Half = tuple[int, int]


def untangled(edges: Sequence[Edge], places: Sequence[Point], grow: bool, out: Chained) -> list[Edge]:
    """Return the edges without branches; what branches is settled into `out`."""
    at = nodes_of(edges)
    if all(len(held) <= 2 for held in at.values()):
        return list(edges)
    plain: list[Edge] = []
    for held in _connected(edges, at):
        part = [edges[i] for i in held]
        if all(len(at[node]) <= 2 for edge in part for node in edge.ends):
            plain += part
        else:
            plain += _settled(part, places, grow, out)
    return plain


def _settled(part: list[Edge], places: Sequence[Point], grow: bool, out: Chained) -> list[Edge]:
    """Return the plain rings of connected edges that branch; put their dead ends and tangles into `out`."""
    core, dead = _core(part)
    if not core:
        out.trees += [edge.piece for edge in part]
        out.forks += _branches(part, places)
        return []
    plain = core if all(len(held) == 2 for held in nodes_of(core).values()) else None
    if plain is None:
        found = _outer_edge(core, places)
        # Rings that only touch, or that bridges link, are clear without a guess.
        if found is not None and (grow or not found[2]):
            rings, bridges, inside = found
            out.rings += rings
            out.inside += [edge.piece for edge in inside]
            dead += bridges
            plain = []
    if plain is None:
        out.tangled += [edge.piece for edge in part]
        out.branches += _branches(part, places)
        return []
    for held in _connected(dead, nodes_of(dead)):
        loose = [dead[i] for i in held]
        if any(len(meeting) > 2 for meeting in nodes_of(loose).values()):
            out.open += [[edge.run(edge.ends[0], places)] for edge in loose]
        else:
            walk(loose, places, out)
    return plain


def _connected(edges: Sequence[Edge], at: dict[int, list[int]]) -> list[list[int]]:
    """Return the edges, by number, in groups that hang together."""
    seen: set[int] = set()
    passed: set[int] = set()
    found = []
    for first in range(len(edges)):
        if first in seen:
            continue
        seen.add(first)
        group = [first]
        for i in group:
            for node in edges[i].ends:
                if node not in passed:
                    passed.add(node)
                    new = [k for k in at[node] if k not in seen]
                    seen.update(new)
                    group += new
        found.append(group)
    return found


def _core(part: Sequence[Edge]) -> tuple[list[Edge], list[Edge]]:
    """Return connected edges without their dead ends, and the dead ends."""
    at = {node: set(held) for node, held in nodes_of(part).items()}
    dead: set[int] = set()
    loose = [node for node, held in at.items() if len(held) == 1]
    while loose:
        node = loose.pop()
        if len(at[node]) != 1:
            continue
        i = at[node].pop()
        dead.add(i)
        other = next(n for n in part[i].ends if n != node)
        at[other].discard(i)
        if len(at[other]) == 1:
            loose.append(other)
    return [e for i, e in enumerate(part) if i not in dead], [part[i] for i in sorted(dead)]


def _branches(part: Sequence[Edge], places: Sequence[Point]) -> list[Branch]:
    return [
        Branch(places[node], len(held), tuple(sorted({part[i].piece.layer for i in held})))
        for node, held in nodes_of(part).items()
        if len(held) > 2
    ]


# The outer edge


def _outer_edge(
    core: Sequence[Edge], places: Sequence[Point]
) -> tuple[list[list[Piece]], list[Edge], list[Edge]] | None:
    """Return the rings round all that connected edges enclose, None where they cannot be told for certain.

    Returns:
        The rings, the bridges between them, and the edges inside them.
    """
    faces = _faces(core, places)
    sizes = [area([core[i].run(node, places) for i, node in face]) for face in faces]
    # In a plane drawing whose lines cross at nodes only, one face lies outside and runs clockwise.
    if sum(size < 0.0 for size in sizes) != 1:
        return None
    passes = Counter(i for i, _ in faces[sizes.index(min(sizes))])
    edge = [core[i] for i, count in passes.items() if count == 1]
    rings: list[list[Piece]] = []
    for held in _connected(edge, nodes_of(edge)):
        part = [edge[i] for i in held]
        drawn = [[part[i].run(node, places) for i, node in face] for face in _faces(part, places)]
        rings += _parted(min(drawn, key=area))
    inside = [e for i, e in enumerate(core) if i not in passes]
    if not _all_within(rings, [e.run(e.ends[0], places) for e in inside]):
        return None
    return rings, [core[i] for i, count in passes.items() if count == 2], inside


def _all_within(rings: Sequence[Sequence[Piece]], inside: Sequence[Piece]) -> bool:
    """True where pieces lie within rings or on them; False too where that is too much to find out."""
    if len(inside) * sum(map(len, rings)) > _MOST_COMPARED:
        return False
    corners = {p.start for ring in rings for p in ring}
    asked = {q for p in inside for q in (p.start, arc_middle(p.start, p.end, p.bulge), p.end)} - corners
    return all(any(_within(ring, q) for ring in rings) for q in asked)


def _within(ring: Sequence[Piece], place: Point) -> bool:
    return holds(ring, place) or min(distance(p, place) for p in ring) <= LEVEL_MM


def _faces(core: Sequence[Edge], places: Sequence[Point]) -> list[list[_Half]]:
    """Return the faces as edges with the nodes they are run from, the face to the left."""
    at = nodes_of(core)
    following: dict[_Half, _Half] = {}
    for node, held in at.items():
        near = min(math.dist(places[core[i].ends[0]], places[core[i].ends[1]]) for i in held) / 4.0
        turns = sorted((_direction(core[i].run(node, places), near), i) for i in held)
        for k, (_, i) in enumerate(turns):
            other = next(n for n in core[i].ends if n != node)
            # Arriving along edge i, the next edge clockwise keeps the face to the left.
            following[i, other] = (turns[k - 1][1], node)
    faces = []
    todo = dict.fromkeys(following)
    while todo:
        half = next(iter(todo))
        face = []
        while half in todo:
            del todo[half]
            face.append(half)
            half = following[half]
        faces.append(face)
    return faces


def _direction(p: Piece, near: float) -> float:
    """Return the direction, rad, from a piece's start to its place at the distance `near`."""
    chord = math.atan2(p.end[1] - p.start[1], p.end[0] - p.start[0])
    if not p.bulge:
        return chord
    _, radius = arc_centre(p.start, p.end, p.bulge)
    turn = 2.0 * abs(math.atan(p.bulge)) - math.asin(min(near / (2.0 * radius), 1.0))
    turned = chord - math.copysign(turn, p.bulge)
    return math.atan2(math.sin(turned), math.cos(turned))


def _parted(run: Sequence[Piece]) -> list[list[Piece]]:
    """Return the rings of a closed run of pieces, parted where it passes a place again."""
    rings: list[list[Piece]] = []
    held: list[Piece] = []
    for piece in run:
        passed = next((k for k, p in enumerate(held) if p.start == piece.start), None)
        if passed is not None:
            rings.append(held[passed:])
            held = held[:passed]
        held.append(piece)
    return [*rings, held]

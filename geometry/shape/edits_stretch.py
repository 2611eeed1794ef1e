"""A stretch of the skin between two places replaced by another chain of lines and arcs.

What stays of the section keeps its vertices, corner radii, zones and anchors; a corner arc that is cut in two
stays as an arc. Of the new chain a tangent arc between two straight edges becomes a vertex with that corner
radius, so that it can be edited as any other.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.edits_pieces import (
    SAME_MM,
    Piece,
    distance,
    length_between,
    meetings,
    pieces_of,
    stretch,
)
from geometry.shape.section import ZONES, Outline, Section, Vertex, Zone, build

#: A tangent arc that turns by more stays an arc: its corner would lie far outside the skin.
_CORNER_RAD = math.radians(150.0)
#: Tangent is what differs in direction by less than this after crossings were computed, rad.
_SMOOTH_RAD = 1e-6


@dataclass(frozen=True)
class Spot:
    """A place that somebody chose on the skin: anywhere, or at one of the section's own corners."""

    z: float
    r: float
    corner: int | None = None


@dataclass(frozen=True)
class Cut:
    """Where a stretch begins or ends: a place on the built outline, or a corner that goes with it.

    Attributes:
        piece, share: the place, by piece of the outline and fraction of its length.
        corner: vertex that goes; the edge beyond it is drawn out, or cut back, to the new chain.
    """

    piece: int
    share: float
    corner: int | None = None

    @property
    def place(self) -> tuple[int, float]:
        """Piece and fraction."""
        return self.piece, self.share


@dataclass(frozen=True)
class Skin:
    """A section that has no faults, with its outline as pieces.

    Attributes:
        sharp: the edges before their corners are rounded.
        pieces: the outline's.
    """

    section: Section
    outline: Outline
    pieces: tuple[Piece, ...]
    sharp: tuple[Piece, ...]

    @staticmethod
    def of(section: Section) -> Skin:
        """Return the skin of a section.

        Raises:
            GeometryError: the section has a fault, which must be mended first.
        """
        built = build(section)
        if isinstance(built, tuple):
            raise GeometryError(
                f"The outline has a fault, to be mended first: {built[0].message}", built[0].place
            )
        vertices = section.vertices
        sharp = tuple(
            Piece(complex(v.z, v.r), complex(w.z, w.r), v.bulge)
            for v, w in zip(vertices, (*vertices[1:], vertices[0]), strict=True)
        )
        return Skin(section, built, tuple(pieces_of(built.path)), sharp)

    def of_vertex(self, vertex: int) -> tuple[list[int], list[int]]:
        """Return the pieces of a vertex: those of its corner arc, and those of the edge that leaves it."""
        every = np.flatnonzero(self.outline.vertex == vertex).tolist()
        v, before = self.section.vertices[vertex], self.section.vertices[vertex - 1]
        arcs = 0 if v.radius == 0.0 else 1 if v.zone == before.zone else 2
        return every[:arcs], every[arcs:]

    def corner_of(self, piece: int) -> int | None:
        """Return the vertex whose corner arc a piece is part of; None for an edge."""
        vertex = int(self.outline.vertex[piece])
        return vertex if piece in self.of_vertex(vertex)[0] else None

    def zone(self, piece: int) -> Zone:
        """Return the zone of a piece."""
        return ZONES[int(self.outline.zone[piece])]

    def nearest(self, spot: Spot) -> tuple[int, float]:
        """Return piece and fraction of the place on the outline nearest to a spot."""
        _, piece, share = distance(self.pieces, complex(spot.z, spot.r))
        return piece, share

    def cut(self, spot: Spot, starts: bool) -> Cut:
        """Return where a stretch that starts, or ends, at a spot is cut off."""
        if spot.corner is None:
            return self.at(*self.nearest(spot), starts)
        v, n = spot.corner, len(self.section.vertices)
        if not 0 <= v < n:
            raise GeometryError(f"The outline has no vertex {v + 1}; it has {n}.")
        if starts:
            arcs, edge = self.of_vertex(v)
            return Cut(edge[0], 0.0, v) if edge else Cut(arcs[-1], 1.0, v)
        arcs, edge = self.of_vertex(v)
        first = (arcs or edge)[0]
        return Cut((first - 1) % len(self.pieces), 1.0, v)

    def at(self, piece: int, share: float, starts: bool) -> Cut:
        """Return the cut at a place; at a joint it is of the piece that stays."""
        length = self.pieces[piece].length
        if starts and share * length <= SAME_MM:
            return Cut((piece - 1) % len(self.pieces), 1.0)
        if not starts and (1.0 - share) * length <= SAME_MM:
            return Cut((piece + 1) % len(self.pieces), 0.0)
        return Cut(piece, share)

    def between(self, a: Spot, b: Spot) -> tuple[Cut, Cut]:
        """Return the cuts of the shorter of the two stretches between two spots, in the outline's order.

        Raises:
            GeometryError: the spots are one.
        """
        one, other = (self.cut(a, True), self.cut(b, False)), (self.cut(b, True), self.cut(a, False))
        lengths = [length_between(self.pieces, s.place, e.place) for s, e in (one, other)]
        if min(lengths) <= SAME_MM:
            raise GeometryError("Choose two places on the skin that lie apart from each other.", (a.z, a.r))
        return one if lengths[0] <= lengths[1] else other

    def chain(self, start: Cut, end: Cut) -> list[Piece]:
        """Return the pieces from one cut to another."""
        return [piece for _, piece in stretch(self.pieces, start.place, end.place)]


def joined_to(before: Piece, after: Piece) -> bool:
    """True where one piece runs on into the next without a corner."""
    turn = before.direction(1.0).conjugate() * after.direction(0.0)
    return turn.real > 0.0 and abs(turn.imag) < _SMOOTH_RAD


def replaced(
    skin: Skin, start: Cut, end: Cut, chain: Sequence[Piece], zones: Sequence[Zone] | None = None
) -> Section:
    """Return the section with what lies between two cuts replaced by a chain.

    Args:
        skin: the section as it is.
        start: where the stretch begins; with a corner, the chain begins on the edge before it, drawn out.
        end: where it ends, likewise.
        chain: from start to end, metal to its left; neighbours share their ends.
        zones: zone of each piece; None takes them from the stretch that goes.

    Raises:
        GeometryError: the stretch reaches into the locked contour, the chain has no length, or the section
            that comes out has a fault.
    """
    below = next((piece.end for piece in chain if piece.end.imag < -SAME_MM), None)
    if below is not None:
        raise GeometryError("The new skin would lie below the axle line.", (below.real, 0.0))
    if zones is None:
        chain = [piece for piece in chain if piece.length > SAME_MM]
    old = stretch(skin.pieces, start.place, end.place)
    if not chain or not old:
        raise GeometryError("Nothing lies between the two places; choose places that lie apart.")
    _refuse_locked(skin, start, end)
    if zones is None:
        chain, zones = _zoned(chain, [(skin.zone(k), piece) for k, piece in old])
    new = _as_vertices(chain, list(zones), skin, start, end)
    before, after = _before(skin, start, chain[0].start), _after(skin, end, chain[-1].end)
    # From here on everything is counted from the end of the stretch round to its start.
    n = len(skin.section.vertices)
    first, last = after[0], before[0]
    kept = [skin.section.vertices[(first + i) % n] for i in range((last - first) % n + 1)]
    if len(kept) == n and first == (last + 1) % n and start.corner is not None and end.corner is not None:
        raise GeometryError("Too little of the outline would be left; choose a shorter stretch.")
    vertices = [*after[1], *kept[:-1], *before[1], *new]
    result = Section(tuple(_from_first(vertices, skin.section)), skin.section.locked)
    built = build(result)
    if isinstance(built, tuple):
        raise GeometryError(built[0].message, built[0].place)
    return result


def _from_first(vertices: list[Vertex], section: Section) -> list[Vertex]:
    """Return vertices turned so that the first of the section's own that is left comes first."""
    for own in section.vertices:
        for k, v in enumerate(vertices):
            if v is own or (v.z == own.z and v.r == own.r and v.radius == own.radius):
                return vertices[k:] + vertices[:k]
    return vertices


def _refuse_locked(skin: Skin, start: Cut, end: Cut) -> None:
    locked, vertices = skin.section.locked, skin.section.vertices
    if not locked:
        return
    touched = {int(skin.outline.vertex[k]) for k, _ in stretch(skin.pieces, start.place, end.place)}
    if start.corner is not None:
        touched.add(start.corner)
    if end.corner is not None:
        touched.add(end.corner)
    # The straight edge that leaves the last locked vertex is the free part's own.
    bad = [v for v in sorted(touched) if v < locked - 1 or (v == locked - 1 and vertices[v].bulge != 0.0)]
    bad += [v for v in (start.corner, end.corner) if v is not None and v < locked]
    if not bad and locked - 1 in touched:
        arcs, _ = skin.of_vertex(locked - 1)
        bad = [locked - 1] if any(k in arcs for k, _ in stretch(skin.pieces, start.place, end.place)) else []
    if bad:
        v = vertices[bad[0]]
        raise GeometryError(
            f"The stretch reaches into the locked rim contour at vertex {bad[0] + 1}, which follows from the "
            "size code; choose a place beyond it, or unlock the contour.",
            (v.z, v.r),
        )


def _before(skin: Skin, start: Cut, place: complex) -> tuple[int, list[Vertex]]:
    """Return the last vertex that stays before a stretch, and it as it is then with what follows it."""
    vertices, n = skin.section.vertices, len(skin.section.vertices)
    if start.corner is not None:
        own = (start.corner - 1) % n
        return own, [_with_edge(vertices[own], skin.sharp[own], 0.0, skin.sharp[own].share_of(place))]
    vertex = int(skin.outline.vertex[start.piece])
    arcs, _ = skin.of_vertex(vertex)
    if start.piece not in arcs:
        edge = skin.sharp[vertex]
        return vertex, [_with_edge(vertices[vertex], edge, 0.0, edge.share_of(place))]
    own = (vertex - 1) % n
    edge, at = skin.sharp[own], skin.pieces[arcs[0]].start
    kept = [_with_edge(vertices[own], edge, 0.0, edge.share_of(at))]
    for k in arcs[: arcs.index(start.piece) + 1]:
        piece = skin.pieces[k].part(0.0, start.share) if k == start.piece else skin.pieces[k]
        if piece.length > SAME_MM:
            kept.append(_joint(vertices[vertex], piece, skin.zone(k)))
    return own, kept


def _after(skin: Skin, end: Cut, place: complex) -> tuple[int, list[Vertex]]:
    """Return the first whole vertex that stays after a stretch, and what leads from the stretch to it."""
    vertices, n = skin.section.vertices, len(skin.section.vertices)
    if end.corner is not None:
        own = end.corner
        edge = skin.sharp[own]
        moved = replace(vertices[own], z=place.real, r=max(place.imag, 0.0))
        return (own + 1) % n, [_with_edge(moved, edge, edge.share_of(place), 1.0)]
    vertex = int(skin.outline.vertex[end.piece])
    arcs, _ = skin.of_vertex(vertex)
    edge = skin.sharp[vertex]
    after = (vertex + 1) % n
    kept: list[Vertex] = []
    if end.piece in arcs:
        for k in arcs[arcs.index(end.piece) :]:
            piece = skin.pieces[k].part(end.share, 1.0) if k == end.piece else skin.pieces[k]
            if piece.length > SAME_MM:
                kept.append(_joint(vertices[vertex], piece, skin.zone(k)))
        place = skin.pieces[arcs[-1]].end
    rest = edge.part(edge.share_of(place), 1.0)
    if rest.length > SAME_MM:
        kept.append(_joint(vertices[vertex], rest, vertices[vertex].zone))
    return after, kept


def _with_edge(vertex: Vertex, edge: Piece, low: float, high: float) -> Vertex:
    """Return a vertex whose edge runs between two fractions of what it was."""
    if high - low <= SAME_MM / edge.length:
        raise GeometryError(
            "The new stretch would run past the next vertex; choose a place farther off.",
            (vertex.z, vertex.r),
        )
    if abs(edge.sweep) * (high - low) > math.pi:
        raise GeometryError(
            "An arc would be more than a half circle; choose another place.", (vertex.z, vertex.r)
        )
    return replace(vertex, bulge=math.tan(edge.sweep * (high - low) / 4.0))


def _joint(like: Vertex, piece: Piece, zone: Zone) -> Vertex:
    """Return a vertex without a corner radius at the start of a piece, anchored as another is."""
    z, r = piece.start.real, max(piece.start.imag, 0.0)
    return replace(like, z=z, r=r, radius=0.0, bulge=piece.bulge if piece.is_arc else 0.0, zone=zone)


def _zoned(chain: Sequence[Piece], old: Sequence[tuple[Zone, Piece]]) -> tuple[list[Piece], list[Zone]]:
    """Return a chain cut where it is nearest to the changes of zone of what it replaces, and its zones."""
    pieces, zones = list(chain), [old[0][0]] * len(chain)
    at = 0
    for (before, _), (zone, piece) in pairwise(old):
        if zone == before:
            continue
        _, k, share = distance(pieces[at:], piece.start)
        k += at
        room = pieces[k].length
        if share * room > SAME_MM and (1.0 - share) * room > SAME_MM:
            pieces[k : k + 1] = [pieces[k].part(0.0, share), pieces[k].part(share, 1.0)]
            zones.insert(k, zones[k])
            k += 1
        elif share > 0.5:
            k += 1
        zones[k:] = [zone] * (len(pieces) - k)
        at = min(k, len(pieces) - 1)
    return pieces, zones


def _as_vertices(chain: Sequence[Piece], zones: list[Zone], skin: Skin, start: Cut, end: Cut) -> list[Vertex]:
    """Return the chain's vertices but for its last end; tangent arcs between lines become corner radii."""
    anchors = _anchors(skin, start, end)
    found: list[Vertex] = []
    k = 0
    while k < len(chain):
        piece = chain[k]
        run = _corner_run(chain, k) if found else 0
        if run:
            before, after = chain[k - 1], chain[k + run]
            tip = before.at(meetings(before, _long(after), prolonged=True)[0][0])
            arc = chain[k]
            found.append(
                replace(
                    _nearest(anchors, tip),
                    z=tip.real,
                    r=max(tip.imag, 0.0),
                    radius=arc.radius,
                    bulge=0.0,
                    zone=zones[k + run],
                )
            )
            k += run + 1
            continue
        found.append(_joint(_nearest(anchors, piece.start), piece, zones[k]))
        k += 1
    if start.corner is not None:
        found[0] = replace(found[0], radius=skin.section.vertices[start.corner].radius)
    return found


def _long(line: Piece) -> Piece:
    """Return a straight piece drawn out by its length and a metre to both sides."""
    way = line.direction(0.0) * (line.length + 1000.0)
    return Piece(line.start - way, line.end + way)


def _corner_run(chain: Sequence[Piece], k: int) -> int:
    """Return how many pieces from k on are one tangent arc between two straight pieces; 0 if they are not."""
    if not chain[k].is_arc or chain[k - 1].is_arc:
        return 0
    first, run, sweep = chain[k], 0, 0.0
    while k + run < len(chain) and chain[k + run].is_arc:
        arc = chain[k + run]
        if abs(arc.centre - first.centre) > SAME_MM or abs(arc.radius - first.radius) > SAME_MM:
            return 0
        sweep += arc.sweep
        run += 1
    if k + run >= len(chain) or abs(sweep) > _CORNER_RAD or abs(sweep) < 1e-3:
        return 0
    smooth = joined_to(chain[k - 1], first) and joined_to(chain[k + run - 1], chain[k + run])
    return run if smooth else 0


def _anchors(skin: Skin, start: Cut, end: Cut) -> list[Vertex]:
    """Return the vertices whose anchors new ones may take: those of the stretch and one beyond each end."""
    vertices = skin.section.vertices
    of = [int(skin.outline.vertex[k]) for k, _ in stretch(skin.pieces, start.place, end.place)]
    of += [(of[-1] + 1) % len(vertices)]
    free = [v for v in dict.fromkeys(of) if v >= skin.section.locked]
    return [vertices[v] for v in free] or [vertices[v] for v in of]


def _nearest(anchors: Sequence[Vertex], place: complex) -> Vertex:
    return min(anchors, key=lambda v: abs(complex(v.z, v.r) - place))

"""Edits by lengths and angles: vertices moved together, blends, chains, edges led to an outline."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from geometry.errors import GeometryError
from geometry.shape.edits import refuse_locked
from geometry.shape.edits_pieces import SAME_MM, Piece, meetings
from geometry.shape.edits_stretch import Skin, Spot, replaced
from geometry.shape.section import Section, Vertex

#: How far an edge is drawn out to meet an outline, mm.
_FAR_MM = 10_000.0


def together(
    section: Section,
    indices: Iterable[int],
    dz: float,
    dr: float,
    angle_deg: float = 0.0,
    about: tuple[float, float] = (0.0, 0.0),
) -> Section:
    """Return the section with vertices turned about a place, then shifted; at the axle line they stop.

    Args:
        section: any.
        indices: which vertices.
        dz: shift along the axle, mm.
        dr: shift away from the axle, mm.
        angle_deg: + turns from outboard away from the axle.
        about: (z, r) of the place that stays when they turn.

    Raises:
        GeometryError: a vertex is locked or not there.
    """
    chosen = sorted(set(indices))
    for index in chosen:
        refuse_locked(section, index)
    turn, centre = cmath.exp(1j * math.radians(angle_deg)), complex(*about)
    vertices = list(section.vertices)
    for index in chosen:
        v = vertices[index]
        at = complex(v.z, v.r)
        at = (centre + (at - centre) * turn if angle_deg else at) + complex(dz, dr)
        # Rounded, so that a shift there and back cancels.
        vertices[index] = replace(v, z=round(at.real, 9), r=max(round(at.imag, 9), 0.0))
    return replace(section, vertices=tuple(vertices))


def of_zone(section: Section, index: int) -> list[int]:
    """Return the free vertices of the edges that carry a vertex's zone and hang together with it."""
    n, zone = len(section.vertices), section.vertices[index].zone
    found = {index}
    for step in (1, -1):
        k = index
        for _ in range(n):
            edge = k if step > 0 else (k - 1) % n
            if section.vertices[edge].zone != zone:
                break
            k = (k + step) % n
            found.add(k)
    return sorted(k for k in found if k >= section.locked)


def blended(section: Section, first: int, second: int, radius_mm: float) -> Section:
    """Return the section with two edges drawn out, or cut back, to each other and blended by a tangent arc.

    Vertices between them go; radius 0 lets them meet sharply.

    Raises:
        GeometryError: the edges are one, are parallel, belong to the locked contour, or no such arc fits.
    """
    n = len(section.vertices)
    if first == second:
        raise GeometryError("Choose two different edges.")
    if not radius_mm >= 0.0:
        raise GeometryError(f"A radius is 0 or more, not {radius_mm:g} mm.")
    # The shorter way round is the one that goes.
    if (second - first) % n > (first - second) % n:
        first, second = second, first
    gone = [(first + i) % n for i in range(1, (second - first) % n + 1)]
    for index in gone:
        refuse_locked(section, index)
    before, after = _edge(section, first), _edge(section, second)
    at = _meeting(before, after)
    if at is None:
        raise GeometryError("These edges do not meet, however far they are drawn out.", _pair(before.end))
    tip = replace(section.vertices[second], z=at.real, r=at.imag, radius=radius_mm)
    if at.imag < 0.0:
        raise GeometryError("These edges meet below the axle line.", (at.real, 0.0))
    tip = replace(tip, bulge=_rest(after, after.share_of(at), 1.0))
    vertices = list(section.vertices)
    if first >= section.locked:
        vertices[first] = replace(vertices[first], bulge=_rest(before, 0.0, before.share_of(at)))
    elif before.is_arc or before.share_of(at) <= 0.0:
        refuse_locked(section, first)
    vertices[gone[-1]] = tip
    left = [v for i, v in enumerate(vertices) if i not in gone[:-1]]
    return _whole(replace(section, vertices=tuple(left)))


def through(section: Section, edge: int, vertex: int, radius_mm: float) -> Section:
    """Return the section with an arc that leaves an edge tangentially and ends at a vertex, as far as it.

    Vertices between them go. Of several arcs the shortest is taken.

    Raises:
        GeometryError: no arc of that radius touches the edge and passes through the vertex, or part of it is
            locked.
    """
    n = len(section.vertices)
    if not radius_mm > 0.0:
        raise GeometryError(f"The radius of an arc is more than 0, not {radius_mm:g} mm.")
    forward = (vertex - edge) % n <= (edge + 1 - vertex) % n
    line, end = _edge(section, edge), _place(section.vertices[vertex])
    gone = (
        [(edge + i) % n for i in range(1, (vertex - edge) % n)]
        if forward
        else [(vertex + i) % n for i in range(1, (edge - vertex) % n + 1)]
    )
    for index in (*gone, edge, vertex):
        refuse_locked(section, index)
    arcs = _tangent_arcs(line if forward else line.reversed(), end, radius_mm)
    if not arcs:
        raise GeometryError(
            f"No arc of {radius_mm:g} mm touches this edge and passes through vertex {vertex + 1}.",
            _pair(end),
        )
    arc = arcs[0]
    vertices = list(section.vertices)
    share = line.share_of(arc.start)
    if forward:
        vertices[edge] = replace(vertices[edge], bulge=_rest(line, 0.0, share))
        joint = replace(vertices[edge], z=arc.start.real, r=arc.start.imag, radius=0.0, bulge=arc.bulge)
        vertices[vertex] = replace(vertices[vertex], radius=0.0)
        found = []
        for i, v in enumerate(vertices):
            if i not in gone:
                found.append(v)
            if i == edge:
                found.append(joint)
    else:
        zone = vertices[vertex].zone
        joint = replace(
            vertices[edge], z=arc.start.real, r=arc.start.imag, radius=0.0, bulge=_rest(line, share, 1.0)
        )
        vertices[vertex] = replace(vertices[vertex], radius=0.0, bulge=-arc.bulge, zone=zone)
        found = []
        for i, v in enumerate(vertices):
            if i not in gone:
                found.append(v)
            if i == vertex:
                found.append(joint)
    return _whole(replace(section, vertices=tuple(found)))


def _tangent_arcs(line: Piece, end: complex, radius: float) -> list[Piece]:
    """Return the arcs of at most a half circle that leave a prolonged piece forwards and end at a place."""
    found = []
    for side in (1.0, -1.0):
        carrier = line.parallel(side * radius)
        if carrier is None:
            continue
        if carrier.is_arc:
            circle = Piece(end + radius, end - radius, 1.0), Piece(end - radius, end + radius, 1.0)
            shares = [s for half in circle for s, _ in meetings(carrier, half, prolonged=True)]
        else:
            way = carrier.direction(0.0)
            along, off = ((end - carrier.start) / way).real, ((end - carrier.start) / way).imag
            if abs(off) > radius:
                continue
            half = math.sqrt(radius**2 - off**2)
            shares = [(along - half) / carrier.length, (along + half) / carrier.length]
        for share in shares:
            start, centre = line.at(share), carrier.at(share)
            turn = cmath.phase((end - centre) / (start - centre))
            if side * turn < 0.0:
                turn += side * math.tau
            if share > SAME_MM / line.length and SAME_MM < abs(turn) <= math.pi:
                found.append(Piece(start, end, math.tan(turn / 4.0)))
    return sorted(found, key=lambda arc: arc.length)


def led_to(section: Section, edge: int, at_end: bool, target: Sequence[Piece]) -> Section:
    """Return the section with one end of an edge moved along it to where it meets an outline.

    Of several meetings the one nearest to that end is taken, on the edge (trim) or beyond it (extend).

    Args:
        section: any.
        edge: index of the vertex that it leaves.
        at_end: move its end, else its start.
        target: lines and arcs to be met.

    Raises:
        GeometryError: they do not meet, or the vertex is locked.
    """
    n = len(section.vertices)
    index = (edge + 1) % n if at_end else edge
    refuse_locked(section, index)
    piece = _edge(section, edge)
    now = 1.0 if at_end else 0.0
    shares = [share for other in target for share, _ in meetings(piece, other, prolonged=True)]
    least = SAME_MM / piece.length
    usable = [s for s in shares if (s > least if at_end else s < 1.0 - least) and abs(s - now) > least]
    usable = [s for s in usable if piece.at(s).imag >= 0.0]
    if not usable:
        raise GeometryError(
            "The edge does not meet that outline, however far it is drawn out.", _pair(piece.at(now))
        )
    share = min(usable, key=lambda s: abs(s - now))
    place = piece.at(share)
    vertices = list(section.vertices)
    if at_end:
        if edge >= section.locked:
            vertices[edge] = replace(vertices[edge], bulge=_rest(piece, 0.0, share))
        vertices[index] = replace(vertices[index], z=place.real, r=place.imag)
    else:
        vertices[edge] = replace(vertices[edge], z=place.real, r=place.imag, bulge=_rest(piece, share, 1.0))
    return replace(section, vertices=tuple(vertices))


def with_edge(section: Section, edge: int, length_mm: float, angle_deg: float) -> Section:
    """Return the section with an edge of a length and an angle (0 outboard, 90 away from the axle).

    Its start stays and its end moves; of an arc both are the chord's, and its bulge stays.

    Raises:
        GeometryError: the end is locked, would lie below the axle line, or the length is not more than 0.
    """
    index = (edge + 1) % len(section.vertices)
    refuse_locked(section, index)
    start = _place(section.vertices[edge])
    if not length_mm > 0.0:
        raise GeometryError(f"The length of an edge is more than 0, not {length_mm:g} mm.", _pair(start))
    end = start + cmath.rect(length_mm, math.radians(angle_deg))
    if end.imag < 0.0:
        raise GeometryError("The edge would end below the axle line.", _pair(start))
    vertices = list(section.vertices)
    vertices[index] = replace(vertices[index], z=end.real, r=end.imag)
    return replace(section, vertices=tuple(vertices))


def with_legs(section: Section, a: Spot, b: Spot, legs: Sequence[tuple[float, float]]) -> Section:
    """Return the section with a stretch replaced by straight legs from a, and a last one to b.

    Args:
        section: without faults.
        a: where the legs begin.
        b: where they end; the shorter stretch between the two goes.
        legs: length in mm and angle in degrees of each: 0 outboard, 90 away from the axle.

    Raises:
        GeometryError: a leg has no length or leads below the axle line, or no valid section comes out.
    """
    skin = Skin.of(section)
    start, end = skin.between(a, b)
    start, end = skin.at(*start.place, starts=True), skin.at(*end.place, starts=False)
    ends = skin.pieces[start.piece].at(start.share), skin.pieces[end.piece].at(end.share)
    chosen = complex(a.z, a.r) if a.corner is None else _place(section.vertices[a.corner])
    backwards = abs(chosen - ends[1]) < abs(chosen - ends[0])
    at, last = ends[::-1] if backwards else ends
    chain = []
    for length, angle in legs:
        if not length > 0.0:
            raise GeometryError(f"The length of a leg is more than 0, not {length:g} mm.", _pair(at))
        to = at + cmath.rect(length, math.radians(angle))
        if to.imag < 0.0:
            raise GeometryError("This leg would lead below the axle line.", _pair(at))
        chain.append(Piece(at, to))
        at = to
    if abs(at - last) > SAME_MM:
        chain.append(Piece(at, last))
    elif chain:
        chain[-1] = replace(chain[-1], end=last)
    if backwards:
        chain = [piece.reversed() for piece in reversed(chain)]
    return replaced(skin, start, end, chain)


def _edge(section: Section, edge: int) -> Piece:
    v, w = section.vertices[edge], section.vertices[(edge + 1) % len(section.vertices)]
    return Piece(_place(v), _place(w), v.bulge)


def _place(v: Vertex) -> complex:
    return complex(v.z, v.r)


def _pair(place: complex) -> tuple[float, float]:
    return place.real, place.imag


def _meeting(before: Piece, after: Piece) -> complex | None:
    """Return where two prolonged edges meet, nearest to where the first ends and the second begins."""
    other = after
    if not after.is_arc:
        way = after.direction(0.0) * _FAR_MM
        other = Piece(after.start - way, after.end + way)
        places = [before.at(s) for s, _ in meetings(before, other, prolonged=True)]
    else:
        opposite = 2.0 * after.centre - after.start
        halves = Piece(after.start, opposite, 1.0), Piece(opposite, after.start, 1.0)
        places = [before.at(s) for half in halves for s, _ in meetings(before, half, prolonged=True)]
    return min(places, key=lambda p: abs(p - before.end) + abs(p - after.start), default=None)


def _rest(piece: Piece, low: float, high: float) -> float:
    """Return the bulge of what lies between two fractions of an edge.

    Raises:
        GeometryError: nothing is left, or more than a half circle.
    """
    if (high - low) * piece.length <= SAME_MM:
        raise GeometryError(
            "Nothing of the edge would be left; choose edges that face each other.", _pair(piece.start)
        )
    if abs(piece.sweep) * (high - low) > math.pi + 1e-9:
        raise GeometryError("The arc would be more than a half circle.", _pair(piece.start))
    return math.tan(piece.sweep * (high - low) / 4.0)


def _whole(section: Section) -> Section:
    """Return a section whose skin has no fault.

    Raises:
        GeometryError: it has one, with what it says.
    """
    return Skin.of(section).section

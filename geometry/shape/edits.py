"""Edits of a half-section: each takes a section and returns a new one, or says why it may not.

A blank or a stay-out shape is edited alike: as a section none of whose vertices is locked.

Vertices of the locked rim contour are generated from the size code and never edited; the straight edge that
leaves the last of them may take a new vertex, which then is the first free one. An edit may well give a
section that crosses itself: that is a fault of a valid section, shown by `build`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from geometry.compiled import compiled
from geometry.errors import GeometryError
from geometry.shape.curve import CR, CZ, R0, R1, START, SWEEP, Z0, Z1, Array, Path, place_along
from geometry.shape.outline import Corner
from geometry.shape.section import AnchorZ, Section, Vertex, Zone
from geometry.tolerances import STRAIGHT_BULGE

SPOKE_ZONES = (Zone.SHOULDER, Zone.SPOKE_BACK, Zone.SPOKE_FACE)

#: Two arcs are one when their centres lie closer than this: what joins them again after a split.
_SAME_CENTRE_MM = 1e-6


def with_vertex_at(section: Section, index: int, z: float, r: float) -> Section:
    """Return the section with one vertex at (z, r); below the axle line it stops at r = 0.

    Raises:
        GeometryError: the vertex is locked or not there, or the place is not a number.
    """
    return _changed(section, index, lambda v: v.at(z, max(r, 0.0)))


def with_radius(section: Section, index: int, radius_mm: float) -> Section:
    """Return the section with the corner radius of one vertex set.

    Raises:
        GeometryError: the vertex is locked or not there, or the radius is negative or not a number.
    """
    return _changed(section, index, lambda v: replace(v, radius=radius_mm))


def with_bulge(section: Section, edge: int, bulge: float) -> Section:
    """Return the section with an edge bent to a bulge, + away from the metal; 0 makes it straight.

    Raises:
        GeometryError: the edge is locked or not there, or the bulge is beyond a half circle.
    """
    if not abs(bulge) <= 1.0:
        raise GeometryError(
            f"A bulge of {bulge:g} is more than a half circle; add a vertex on the edge first."
        )
    _refuse_locked_edge(section, edge)
    return _changed(section, edge, lambda v: replace(v, bulge=bulge))


def with_sagitta(section: Section, edge: int, sagitta_mm: float) -> Section:
    """Return the section with an edge bent to an arc that stands sagitta_mm off its chord, + off the metal.

    bulge = 2 sagitta / chord.

    Raises:
        GeometryError: as with_bulge; at most half the chord can be had.
    """
    start, end = _edge(section, edge)
    chord = math.hypot(end.z - start.z, end.r - start.r)
    if not abs(sagitta_mm) <= chord / 2.0:
        raise GeometryError(
            f"An arc over a chord of {chord:.3f} mm stands off by at most half of it, not {sagitta_mm:g} mm.",
            (start.z, start.r),
        )
    return with_bulge(section, edge, 2.0 * sagitta_mm / chord if chord else 0.0)


def with_zone(section: Section, edge: int, zone: Zone) -> Section:
    """Return the section with an edge given to another zone.

    Raises:
        GeometryError: the edge is locked or not there.
    """
    _refuse_locked_edge(section, edge)
    return _changed(section, edge, lambda v: replace(v, zone=zone))


def inserted(section: Section, edge: int, fraction: float) -> Section:
    """Return the section with a vertex on an edge, at a fraction of its length; it becomes vertex edge + 1.

    Both halves keep the zone, an arc becomes two arcs of the same circle, and the new vertex takes the
    anchors of the nearer end.

    Raises:
        GeometryError: the edge is locked or not there, or the fraction is not inside it.
    """
    start, end = _edge(section, edge)
    # The straight edge that leaves the last locked vertex is the free part's own.
    if edge != section.locked - 1 or abs(start.bulge) >= STRAIGHT_BULGE:
        _refuse_locked_edge(section, edge)
    if not 0.0 < fraction < 1.0:
        raise GeometryError(
            f"A new vertex lies between the ends of its edge; {fraction:g} of its length is not."
        )
    place = _one_edge(start, end).at(np.array([0]), np.array([fraction]))[0]
    quarter = math.atan(start.bulge)
    new = replace(
        start if fraction < 0.5 else end,
        z=float(place[0]),
        r=max(float(place[1]), 0.0),
        radius=0.0,
        bulge=math.tan(quarter * (1.0 - fraction)),
        zone=start.zone,
    )
    vertices = list(section.vertices)
    if edge >= section.locked:
        vertices[edge] = replace(start, bulge=math.tan(quarter * fraction))
    return replace(section, vertices=(*vertices[: edge + 1], new, *vertices[edge + 1 :]))


def deleted(section: Section, index: int) -> Section:
    """Return the section without one vertex; the edge before it runs on to the next vertex.

    Two arcs of one circle become one arc; any other pair becomes a straight edge. The zone is that of the
    edge before.

    Raises:
        GeometryError: the vertex is locked or not there, or fewer than three would remain.
    """
    refuse_locked(section, index)
    count = len(section.vertices)
    if count <= 3:
        raise GeometryError("An outline needs at least three vertices; delete the whole part instead.")
    vertices = list(section.vertices)
    before, after = (index - 1) % count, (index + 1) % count
    if before >= section.locked:
        bulge = _joined_bulge(vertices[before], vertices[index], vertices[after])
        vertices[before] = replace(vertices[before], bulge=bulge)
    del vertices[index]
    return replace(section, vertices=tuple(vertices))


def spokes_anchored(section: Section, anchor: AnchorZ) -> Section:
    """Return the section with its spokes following the outer flange, or the mounting face.

    Anchored are the free vertices between two edges of shoulder, spoke back or spoke face; those that meet
    the rim stay with the rim, those that meet hub pad or hub face stay with the hub.
    """
    vertices = section.vertices
    changed = tuple(
        replace(v, anchor_z=anchor)
        if i >= section.locked and v.zone in SPOKE_ZONES and vertices[i - 1].zone in SPOKE_ZONES
        else v
        for i, v in enumerate(vertices)
    )
    return replace(section, vertices=changed)


def nearest_edge(vertices: Sequence[Vertex | Corner], z: float, r: float) -> tuple[int, float, float]:
    """Return (edge, fraction along it, distance in mm) of the edge nearest to (z, r)."""
    rows = np.array([(v.z, v.r, v.bulge) for v in vertices], dtype=float)
    return _nearest_edge(Path(rows[:, :2], rows[:, 2]).table, z, r)


@compiled
def _nearest_edge(t: Array, z: float, r: float) -> tuple[int, float, float]:
    edge, fraction, least = 0, 0.0, np.inf
    for k in range(len(t)):
        share = _nearest_fraction(t, k, z, r)
        at_z, at_r = place_along(t, k, share)
        away = math.hypot(at_z - z, at_r - r)
        if away < least:
            edge, fraction, least = k, share, away
    return edge, fraction, least


@compiled
def _nearest_fraction(t: Array, k: int, z: float, r: float) -> float:
    """Return the fraction along edge k of a table of the place nearest to (z, r)."""
    sweep = t[k, SWEEP]
    if sweep == 0.0:
        dz, dr = t[k, Z1] - t[k, Z0], t[k, R1] - t[k, R0]
        square = dz * dz + dr * dr
        share = ((z - t[k, Z0]) * dz + (r - t[k, R0]) * dr) / square if square > 0.0 else 0.0
    else:
        # Measured from the arc's middle, the nearer end wins beyond both ends.
        turn = math.atan2(r - t[k, CR], z - t[k, CZ]) - (t[k, START] + sweep / 2.0)
        share = 0.5 + ((turn + math.pi) % (2.0 * math.pi) - math.pi) / sweep
    inside: float = min(max(share, 0.0), 1.0)
    return inside


def _changed(section: Section, index: int, change: Callable[[Vertex], Vertex]) -> Section:
    refuse_locked(section, index)
    return section.with_vertex(index, change(section.vertices[index]))


def _edge(section: Section, edge: int) -> tuple[Vertex, Vertex]:
    _refuse_missing(section, edge)
    return section.vertices[edge], section.vertices[(edge + 1) % len(section.vertices)]


def _refuse_missing(section: Section, index: int) -> None:
    if not 0 <= index < len(section.vertices):
        raise GeometryError(f"The outline has no vertex {index + 1}; it has {len(section.vertices)}.")


def refuse_locked(section: Section, index: int) -> None:
    """Raise GeometryError where a vertex is locked or not there, saying why and how to mend it."""
    _refuse_missing(section, index)
    if index < section.locked:
        v = section.vertices[index]
        raise GeometryError(
            f"Vertex {index + 1} belongs to the locked rim contour, which follows from the size code; "
            "change the size, or unlock the contour, to move it.",
            (v.z, v.r),
        )


def _refuse_locked_edge(section: Section, edge: int) -> None:
    start, _ = _edge(section, edge)
    if edge < section.locked:
        raise GeometryError(
            f"The edge after vertex {edge + 1} belongs to the locked rim contour; "
            "unlock the contour to change it.",
            (start.z, start.r),
        )


def _one_edge(start: Vertex | Corner, end: Vertex | Corner) -> Path:
    """Return a path whose piece 0 is the edge (and whose piece 1 leads back)."""
    return Path(np.array([(start.z, start.r), (end.z, end.r)]), np.array([start.bulge, 0.0]))


def _joined_bulge(before: Vertex, gone: Vertex, after: Vertex) -> float:
    """Return the bulge of the one arc that two arcs of the same circle make, else 0."""
    first, second = _one_edge(before, gone), _one_edge(gone, after)
    if not (first.is_arc[0] and second.is_arc[0]) or before.bulge * gone.bulge <= 0.0:
        return 0.0
    sweep = float(first.sweeps[0] + second.sweeps[0])
    same = np.hypot(*(first.centres[0] - second.centres[0])) < _SAME_CENTRE_MM
    return math.tan(sweep / 4.0) if same and abs(sweep) < 2.0 * math.pi else 0.0

"""The half-section of a wheel: vertices, zones and anchors, built into an exact outline.

Glossary (words of the trade):
    half-section   wheel cut by a plane through the axle line, one side, in (z, r)
    mounting face  surface that bears on the hub; z = 0 of the wheel's own vertices
    inset          rim centre plane to mounting face, + when the face is outboard of the centre;
                   the rim centre plane lies at z = -inset
    zone           named part of the outline; every edge carries one
    side           tyre, brake or street: which neighbour the skin looks at
    anchor         what a vertex follows when width, diameter or inset change
    skin           the outline but for edges on the axle line

A section runs counterclockwise: from the outer lip over the tyre side to the inner lip, along the brake
side to the bore and back over the street side; metal lies to the left.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from itertools import chain
from operator import attrgetter

import numpy as np

from geometry.compiled import compiled
from geometry.errors import GeometryError
from geometry.shape.curve import (
    LARGEST_FLOAT,
    R0,
    Z0,
    Array,
    Flags,
    Indices,
    Path,
    check_half_plane,
    first_outside,
)
from geometry.shape.faults import Fault, crossings
from geometry.shape.rounding import rounded


class Zone(StrEnum):
    """The closed list of zones, as they stand in files and JSON."""

    OUTER_LIP = "outer lip"
    OUTER_SEAT = "outer seat"
    WELL = "well"
    BARREL = "barrel"
    INNER_SEAT = "inner seat"
    INNER_LIP = "inner lip"
    SHOULDER = "shoulder"
    SPOKE_BACK = "spoke back"
    SPOKE_FACE = "spoke face"
    HUB_PAD = "hub pad"
    BORE = "bore"
    HUB_FACE = "hub face"


ZONES: tuple[Zone, ...] = tuple(Zone)
_ORDER = {zone: k for k, zone in enumerate(ZONES)}
_OUTER_LIP, _INNER_LIP, _BORE = _ORDER[Zone.OUTER_LIP], _ORDER[Zone.INNER_LIP], _ORDER[Zone.BORE]


class Side(StrEnum):
    """Which neighbour a stretch of skin looks at."""

    TYRE = "tyre"
    BRAKE = "brake"
    STREET = "street"


class AnchorZ(StrEnum):
    """What a vertex follows along the axle."""

    OUTER_FLANGE = "outer flange"
    INNER_FLANGE = "inner flange"
    RIM_CENTRE = "rim centre"
    MOUNTING_FACE = "mounting face"


class AnchorR(StrEnum):
    """What a vertex follows away from the axle."""

    BEAD_SEAT = "bead seat"
    AXLE_LINE = "axle line"


@dataclass(frozen=True)
class Vertex:
    """One corner of a half-section and the edge that leaves it.

    Attributes:
        z, r: place in mm, mounting face at z = 0.
        radius: corner radius in mm, 0 for a sharp corner or a joint of an arc.
        bulge: of the edge to the next vertex (see geometry.shape.curve).
        zone: of the edge to the next vertex.
        anchor_z, anchor_r: what the vertex follows.
    """

    z: float
    r: float
    radius: float = 0.0
    bulge: float = 0.0
    zone: Zone = Zone.BARREL
    anchor_z: AnchorZ = AnchorZ.OUTER_FLANGE
    anchor_r: AnchorR = AnchorR.BEAD_SEAT

    def moved(self, dz: float = 0.0, dr: float = 0.0) -> Vertex:
        """Return the vertex shifted by dz and dr mm."""
        return self.at(self.z + dz, self.r + dr)

    def at(self, z: float, r: float) -> Vertex:
        """Return the vertex at another place."""
        # As replace() does, in half its time.
        return Vertex(z, r, self.radius, self.bulge, self.zone, self.anchor_z, self.anchor_r)


_numbers = attrgetter("z", "r", "bulge", "radius")
_zone_of = attrgetter("zone")


@dataclass(frozen=True)
class Section:
    """A closed half-section as it is edited.

    Attributes:
        vertices: counterclockwise, the last edge returns to the first vertex.
        locked: how many leading vertices belong to the locked rim contour; they are generated, not edited.
    """

    vertices: tuple[Vertex, ...]
    locked: int = 0

    def __post_init__(self) -> None:
        check_half_plane(self.rows)
        i = first_outside(self.rows, 3, 0.0, LARGEST_FLOAT)
        if i < len(self.vertices):
            v = self.vertices[i]
            raise GeometryError(
                f"Vertex {i + 1}: corner radius {v.radius:g} mm is not zero or more.", (v.z, v.r)
            )

    def with_vertex(self, index: int, vertex: Vertex) -> Section:
        """Return the section with another vertex in a place; the others are not read anew.

        Raises:
            GeometryError: the vertex is not finite, below the axle line or has a negative radius.
        """
        before, vertices = self.vertices[index], list(self.vertices)
        vertices[index] = vertex
        rows = self.rows.copy()
        rows[index] = _numbers(vertex)
        made = object.__new__(Section)
        vars(made).update(vertices=tuple(vertices), locked=self.locked, rows=rows)
        if vertex.zone is before.zone:
            vars(made)["zones"] = self.zones
        made.__post_init__()
        return made

    @cached_property
    def rows(self) -> Array:
        """(n, 4) z, r, bulge and corner radius of each vertex."""
        numbers = chain.from_iterable(map(_numbers, self.vertices))
        return np.fromiter(numbers, dtype=float).reshape(-1, 4)

    @cached_property
    def zones(self) -> Indices:
        """(n,) index into ZONES of the edge that leaves each vertex."""
        return np.fromiter(map(_ORDER.__getitem__, map(_zone_of, self.vertices)), dtype=np.intp)

    @cached_property
    def top_mm(self) -> float:
        """Greatest radius of a vertex; there must be one."""
        return float(self.rows[:, 1].max())


@dataclass(frozen=True, eq=False)
class Outline:
    """A section built into exact lines and arcs.

    Attributes:
        path: closed, counterclockwise.
        zone: (n,) index into ZONES of each piece.
        vertex: (n,) index of the section's vertex whose edge or corner the piece belongs to.
        side: (n,) 0 tyre, 1 brake, 2 street (index into tuple(Side)).
        skin: (n,) False for edges on the axle line.
    """

    path: Path
    zone: Indices
    vertex: Indices
    side: Indices
    skin: Flags

    def moved(self, dz: float) -> Outline:
        """Return the outline shifted along the axle, as by a spacer of dz mm."""
        if not dz:
            return self
        return Outline(self.path.moved(dz), self.zone, self.vertex, self.side, self.skin)


def build(section: Section) -> Outline | tuple[Fault, ...]:
    """Return the exact outline of a section, or the faults that keep it from having one.

    Faults: fewer than three vertices, those of geometry.shape.rounding, an outline that crosses itself or
    runs clockwise. A corner arc is split at its middle between the zones of its two edges.
    """
    vertices = section.vertices
    if len(vertices) < 3:
        return (Fault("too few vertices", "A half-section needs at least three vertices.", None),)
    rows = section.rows
    sharp = Path(rows[:, :2].copy(), rows[:, 2].copy())
    zone = section.zones
    found = rounded(sharp, rows[:, 3].copy(), _changes(zone))
    if isinstance(found, tuple):
        # Where edges cross as drawn, that is what must be mended first.
        return (*crossings(sharp), *found) if not _has_short_edge(found) else found
    path = found.path
    faults = crossings(path)
    if faults:
        return faults
    if path.area <= 0.0:
        place = (vertices[0].z, vertices[0].r)
        return (
            Fault("runs clockwise", "The outline runs clockwise; reverse the order of its vertices.", place),
        )
    zone, side = _zones_and_sides(path.table, zone, found.vertex, found.arriving)
    return Outline(path, zone, found.vertex, side, path.off_axle)


@compiled
def _changes(zone: Indices) -> Flags:
    """Return (n,) True where an edge is of another zone than the edge before it."""
    out = np.empty(len(zone), dtype=np.bool_)
    for k in range(len(zone)):
        out[k] = zone[k] != zone[k - 1]
    return out


def _has_short_edge(faults: tuple[Fault, ...]) -> bool:
    return any(fault.kind == "edge without length" for fault in faults)


@compiled
def _zones_and_sides(t: Array, of_edge: Indices, vertex: Indices, arriving: Flags) -> tuple[Indices, Indices]:
    """Return zone and side of each piece, from the zones of the edges that leave the vertices."""
    zone = np.empty(len(t), dtype=np.intp)
    for k in range(len(t)):
        # The half of a corner arc that arrives belongs to the edge before its vertex.
        zone[k] = of_edge[vertex[k] - 1] if arriving[k] else of_edge[vertex[k]]
    return zone, _sides(t, zone, _end(t, zone, _OUTER_LIP, 1.0), _end(t, zone, _INNER_LIP, -1.0))


@compiled
def _sides(t: Array, zone: Indices, outer: int, inner: int) -> Indices:
    """Return 0 tyre, 1 brake, 2 street for each piece.

    The outer end (greatest z of the outer lip), the inner end (least z of the inner lip) and the bore part
    the ring; a section without one of these zones uses the greatest z, the least z or the least r instead.
    A straight end belongs to the street or the brake side: the tyre side starts and ends at its top.
    """
    n = len(t)
    steps_bore, lowest = -1, 0
    for k in range(n):
        if zone[k] == _BORE:
            steps_bore = max(steps_bore, (k + 1 - outer) % n)
        if t[k, R0] < t[lowest, R0]:
            lowest = k
    if steps_bore < 0:
        steps_bore = (lowest - outer) % n
    side = np.empty(n, dtype=np.intp)
    for k in range(n):
        step = (k - outer) % n
        side[k] = 0 if step < (inner - outer) % n else 1 if step < steps_bore else 2
    return side


@compiled
def _end(t: Array, zone: Indices, lip: int, outboard: float) -> int:
    """Return the piece of a lip, or of all pieces without that lip, that starts at the top of its end.

    Args:
        t: table of the outline.
        zone: (n,) zone index of each piece.
        lip: zone index of the lip.
        outboard: 1.0 for the end with the greatest z, -1.0 for that with the least.
    """
    n, found = len(t), False
    for k in range(n):
        found = found or zone[k] == lip
    far = -np.inf
    for k in range(n):
        if not found or zone[k] == lip:
            far = max(far, outboard * t[k, Z0])
    best = -1
    for k in range(n):
        at_end = (not found or zone[k] == lip) and outboard * t[k, Z0] >= far - 1e-9
        if at_end and (best < 0 or t[k, R0] > t[best, R0]):
            best = k
    return best

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

from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.curve import Array, Flags, Indices, Path, check_half_plane
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
        return replace(self, z=self.z + dz, r=self.r + dr)


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
        rows = np.array([(v.z, v.r, v.bulge) for v in self.vertices], dtype=float).reshape(-1, 3)
        check_half_plane(rows)
        for i, v in enumerate(self.vertices):
            if not np.isfinite(v.radius) or v.radius < 0.0:
                raise GeometryError(
                    f"Vertex {i + 1}: corner radius {v.radius:g} is not zero or more.", (v.z, v.r)
                )


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
        return replace(self, path=self.path.moved(dz)) if dz else self


def build(section: Section) -> Outline | tuple[Fault, ...]:
    """Return the exact outline of a section, or the faults that keep it from having one.

    Faults: fewer than three vertices, those of geometry.shape.rounding, an outline that crosses itself or
    runs clockwise. A corner arc is split at its middle between the zones of its two edges.
    """
    vertices = section.vertices
    if len(vertices) < 3:
        return (Fault("too few vertices", "A half-section needs at least three vertices.", None),)
    chain = Path(
        np.array([(v.z, v.r) for v in vertices], dtype=float),
        np.array([v.bulge for v in vertices], dtype=float),
    )
    between_zones = [v.zone is not vertices[i - 1].zone for i, v in enumerate(vertices)]
    pieces = rounded(chain, [v.radius for v in vertices], between_zones)
    if isinstance(pieces, tuple):
        # Where edges cross as drawn, that is what must be mended first.
        return (*crossings(chain), *pieces) if not _has_short_edge(pieces) else pieces
    path = Path(np.array([p.start for p in pieces]), np.array([p.bulge for p in pieces]))
    faults = crossings(path)
    if faults:
        return faults
    if path.area <= 0.0:
        place = (vertices[0].z, vertices[0].r)
        return (
            Fault("runs clockwise", "The outline runs clockwise; reverse the order of its vertices.", place),
        )
    order = {zone: k for k, zone in enumerate(ZONES)}
    zone = np.array(
        [order[vertices[p.vertex - 1 if p.arriving else p.vertex].zone] for p in pieces], dtype=np.intp
    )
    vertex = np.array([p.vertex for p in pieces], dtype=np.intp)
    return Outline(path, zone, vertex, _sides(path, zone), path.off_axle)


def _has_short_edge(faults: tuple[Fault, ...]) -> bool:
    return any(fault.kind == "edge without length" for fault in faults)


def _sides(path: Path, zone: Indices) -> Indices:
    """Return 0 tyre, 1 brake, 2 street for each piece.

    The outer end (greatest z of the outer lip), the inner end (least z of the inner lip) and the bore part
    the ring; a section without one of these zones uses the greatest z, the least z or the least r instead.
    A straight end belongs to the street or the brake side: the tyre side starts and ends at its top.
    """
    n = len(path)

    def extreme(name: Zone, key: Array) -> int:
        of_zone = zone == ZONES.index(name)
        chosen = of_zone if of_zone.any() else np.ones(n, dtype=bool)
        masked = np.where(chosen, key, np.inf)
        level = masked <= masked.min() + 1e-9
        return int(np.argmax(np.where(level, path.points[:, 1], -np.inf)))

    outer = extreme(Zone.OUTER_LIP, -path.points[:, 0])
    inner = extreme(Zone.INNER_LIP, path.points[:, 0])
    bore_pieces = np.flatnonzero(zone == ZONES.index(Zone.BORE))
    steps_in, lowest = (inner - outer) % n, int(np.argmin(path.points[:, 1]))
    ends = (bore_pieces + 1 - outer) % n
    steps_bore = int(ends.max()) if len(bore_pieces) else (lowest - outer) % n
    step = (np.arange(n) - outer) % n
    return np.where(step < steps_in, 0, np.where(step < steps_bore, 1, 2)).astype(np.intp)

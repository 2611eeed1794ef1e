"""A drawn half-section turned back into a family, so that other sizes can be drawn like it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.curve import Path
from geometry.shape.distance import nearest_of
from geometry.shape.edits import SPOKE_ZONES
from geometry.shape.family import Family, back_at, rim_r
from geometry.shape.section import AnchorZ, Section, Vertex, Zone
from geometry.shape.under import Walls, flange, inside

#: Shorter edges say nothing about a wall, mm.
_LEAST_EDGE_MM = 2.0


def family_of(name: str, section: Section) -> Family:
    """Return the family that a section with a locked rim contour belongs to.

    Walls are read in the middle of the straight edges of each zone, the least of a zone; bends take the
    family's own corner radii again.

    Args:
        name: of the family.
        section: in the wheel's frame, mounting face at z = 0.

    Raises:
        GeometryError: the contour is unlocked, or a zone that a family is made of is missing or out of order.
    """
    if section.locked == 0:
        raise GeometryError("A family is read under a locked rim contour; this one is unlocked.")
    contour, free = section.vertices[: section.locked], section.vertices[section.locked :]
    zones = [v.zone for v in free]
    shoulder, pad = _index(zones, Zone.SHOULDER), _index(zones, Zone.HUB_PAD)
    bore, hub_face, face = (_index(zones, z) for z in (Zone.BORE, Zone.HUB_FACE, Zone.SPOKE_FACE))
    root = next((i for i in range(face, len(free)) if zones[i] is not Zone.SPOKE_FACE), len(free) - 1)
    if not shoulder < pad < bore < hub_face < face < root:
        raise GeometryError("A family runs shoulder, spoke back, hub pad, bore, hub face, spoke face, rim.")
    walls = _walls(contour, free)
    start = free[shoulder + 1]
    back = tuple((v.r, v.z) for v in reversed(free[shoulder + 1 : pad]))
    family = Family(
        name,
        back,
        (),
        walls=walls,
        shoulder_height_mm=rim_r(inside(contour, walls), start.z) - start.r,
        shoulder_lean_deg=_lean(start, free[shoulder]),
        shoulder_radius_mm=free[shoulder].radius,
        face_lean_deg=_lean(free[root - 1], free[root]),
        face_root_radius_mm=free[root].radius,
        hub_thickness_mm=free[hub_face].z,
        hub_face_mm=2.0 * free[face].r,
        hub_pad_mm=2.0 * free[pad].r,
        bore_mm=2.0 * free[bore].r,
        fixed_to=_fixed_to(free),
    )
    depth = tuple((v.r, v.z - back_at(family, v.r)) for v in free[face + 1 : root])
    return replace(family, depth=depth)


def _index(zones: Sequence[Zone], zone: Zone) -> int:
    """Return the first edge of a zone."""
    if zone not in zones:
        raise GeometryError(f"The section has no {zone}; give its edges their zones first.")
    return zones.index(zone)


def _lean(a: Vertex, b: Vertex) -> float:
    """Return the lean of the edge between two vertices from the radial direction, degrees, + outboard."""
    return math.degrees(math.atan2(b.z - a.z, b.r - a.r))


def _fixed_to(free: Sequence[Vertex]) -> str:
    """Return "hub" where the spokes' own vertices follow the mounting face, else "rim"."""
    spokes = [b for a, b in itertools.pairwise(free) if a.zone in SPOKE_ZONES and b.zone in SPOKE_ZONES]
    at_hub = sum(v.anchor_z is AnchorZ.MOUNTING_FACE for v in spokes)
    return "hub" if 2 * at_hub > len(spokes) else "rim"


def _walls(contour: Sequence[Vertex], free: Sequence[Vertex]) -> Walls:
    """Return the walls under a contour, from the middles of the free straight edges."""
    tyre = Path(np.array([(v.z, v.r) for v in contour]), np.array([v.bulge for v in contour[:-1]] + [0.0]))
    pieces = np.arange(len(tyre) - 1)
    found: dict[Zone, list[float]] = {}
    for a, b in itertools.pairwise(free):
        if a.bulge or math.hypot(b.z - a.z, b.r - a.r) < _LEAST_EDGE_MM:
            continue
        if a.zone in (Zone.INNER_LIP, Zone.OUTER_LIP):
            face = flange(tyre, contour, a.zone is Zone.OUTER_LIP)[0]
            thick = (a.z if a.zone is Zone.OUTER_LIP else -a.z) - face
            if abs(b.z - a.z) < 1e-6 and thick < _edge_z(contour, a.zone) - face - 1e-6:
                found.setdefault(a.zone, []).append(thick)
            continue
        middle = np.array([[(a.z + b.z) / 2.0, (a.r + b.r) / 2.0]])
        found.setdefault(a.zone, []).append(float(nearest_of(tyre, pieces, middle)[0][0]))

    def least(zone: Zone, otherwise: float) -> float:
        return round(min(found.get(zone, [otherwise])), 3)

    barrel = least(Zone.BARREL, least(Zone.WELL, Walls().barrel_mm))
    return Walls(
        barrel_mm=barrel,
        well_mm=least(Zone.WELL, barrel),
        seat_mm=least(Zone.INNER_SEAT, Walls().seat_mm),
        inner_lip_mm=least(Zone.INNER_LIP, Walls().inner_lip_mm),
        outer_lip_mm=least(Zone.OUTER_LIP, Walls().outer_lip_mm),
    )


def _edge_z(contour: Sequence[Vertex], lip: Zone) -> float:
    """Return how far out the flange edge of a lip lies, along the axle from z = 0."""
    return contour[0].z if lip is Zone.OUTER_LIP else -contour[-1].z

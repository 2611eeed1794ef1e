"""How stiff and strong a lip is against a local push, and what a dent takes: figures to compare wheels by.

None of them is a promise: how much of a blow tyre, striker and mounts take is not known. They stand beside
those of a reference wheel under the same push.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import shapely

from geometry.errors import GeometryError
from geometry.readings.named import HEEL_MM
from geometry.shape.curve import Array, Path
from geometry.shape.cut import parts
from geometry.shape.section import ZONES, Zone
from geometry.strength.harmonic import at_angles, edge_places, von_mises
from geometry.strength.metals import Metal
from geometry.strength.rim_loads import flange_face, lip_load
from geometry.strength.wheel import Body

#: Width of the impact tests' plate along the rim, mm (ISO 7141: at least 125, secondary).
PLATE_MM = 125.0
#: The push, N: figures go with it in proportion.
PUSH_N = 1000.0
#: Largest stress is looked for within this of the push, rad, at so many angles.
_NEAR_RAD, _ANGLES = math.pi / 2.0, 37
#: Where the wheel is bolted, and beside it, first yield is not looked for.
_HUB = (Zone.HUB_PAD, Zone.HUB_FACE, Zone.BORE)
#: The lip's cut as a polygon, mm.
_CHORD_MM = 0.01


@dataclass(frozen=True)
class Lip:
    """A lip under a radial push over the width of a plate.

    Attributes:
        stiffness_n_mm: force over the way of the lip's end under its middle.
        peak_mpa_kn: greatest von Mises stress of rim and spokes for 1 kN, at (z, r) `at`.
        yield_n: force at which that reaches the least yield strength; yield_j: elastic energy by then.
        dent_j: energy of a plastic mechanism that dents the lip by `dent_mm`.
        hinge_nmm: plastic moment of the lip's cut, and its area in mm2.
    """

    lip: Zone
    stiffness_n_mm: float
    peak_mpa_kn: float
    at: tuple[float, float]
    yield_n: float
    yield_j: float
    dent_mm: float
    dent_j: float
    hinge_nmm: float
    area_mm2: float


def push(body: Body, lip: Zone) -> dict[int, Array]:
    """Return nodal forces of 1 kN towards the axle on a lip's end over the width of a plate, by harmonic.

    Raises:
        GeometryError: there is no such lip.
    """
    radius = float(body.mesh.points[_end(body, lip), 1])
    half_deg = math.degrees(math.asin(min(1.0, PLATE_MM / 2.0 / radius)))
    return lip_load(body, lip, (0.0, PUSH_N), half_deg)


def _end(body: Body, lip: Zone) -> int:
    """Return the node at the top of a lip."""
    nodes = np.unique(body.mesh.edges[body.edges(lip)])
    if not len(nodes):
        raise GeometryError(f"The section has no {lip}.")
    return int(nodes[body.mesh.points[nodes, 1].argmax()])


def pushed(body: Body, lip: Zone, moved: Mapping[int, Array], path: Path, dent_mm: float = 5.0) -> Lip:
    """Return what a lip does under a radial push.

    Args:
        body: the wheel.
        lip: outer or inner lip.
        moved: displacements under `push` with the hub pad bolted, by harmonic.
        path: the section's outline.
        dent_mm: of the plastic estimate.

    Raises:
        GeometryError: there is no such lip, or the dent is not above zero.
    """
    if not dent_mm > 0.0:
        raise GeometryError(f"A dent of {dent_mm:g} mm is none; give one above zero.")
    end = _end(body, lip)
    radius = float(body.mesh.points[end, 1])
    way = -sum(float(u[end, 1]) for u in moved.values())
    stress = {n: body.recovery.stress(n, u) for n, u in moved.items()}
    mises = von_mises(at_angles(stress, np.linspace(0.0, _NEAR_RAD, _ANGLES))).max(axis=0)
    mises = mises.reshape(-1, len(body.mesh.points)).max(axis=0)
    on = np.isin(body.zone_of_node, [k for k, zone in enumerate(ZONES) if zone not in _HUB])
    worst = np.flatnonzero(on)[mises[on].argmax()]
    peak = float(mises[worst])
    force = body.metal.yield_mpa / peak * PUSH_N
    stiffness = PUSH_N / way
    moment, area = plastic_moment(lip_cut(body, lip, path).flattened(_CHORD_MM), body.metal)
    z, r = body.mesh.points[worst].tolist()
    return Lip(
        lip,
        stiffness,
        peak,
        (z, r),
        force,
        force**2 / (2.0 * stiffness) / 1000.0,
        dent_mm,
        dent_energy_j(moment, radius, PLATE_MM, dent_mm),
        moment,
        area,
    )


def lip_cut(body: Body, lip: Zone, path: Path) -> Path:
    """Return the metal of a lip beyond the cut that the lip's area is read at, 6.5 mm from the flange face.

    Raises:
        GeometryError: the cut does not part the section.
    """
    outward = 1.0 if lip is Zone.OUTER_LIP else -1.0
    edges = flange_face(body, lip)
    _, normal = edge_places(body.mesh, edges)
    flattest = body.mesh.edges[edges[np.abs(normal[:, :, 0]).min(axis=1).argmax()], 2]
    heel_z = float(body.mesh.points[flattest, 0]) - outward * HEEL_MM
    top = path.bounds[3]
    found = parts(path, (heel_z, 0.0), (heel_z, top + 1.0))
    if found is None:
        raise GeometryError(f"The {lip} cannot be cut {HEEL_MM:g} mm from its flange face.", (heel_z, top))
    return min(found, key=lambda part: outward * -float(part.points[:, 0].mean()))


def plastic_moment(polygon: Array, metal: Metal) -> tuple[float, float]:
    """Return the plastic moment in N mm of a cut bent in the plane of the wheel, and its area in mm2.

    The neutral line halves the area; the moment is yield times the first moments of both halves about it.
    """
    shape = shapely.Polygon(polygon)
    low, high = float(polygon[:, 1].min()), float(polygon[:, 1].max())
    below, above = low, high
    for _ in range(60):
        middle = (below + above) / 2.0
        under = shapely.intersection(shape, shapely.box(-1e4, -1e4, 1e4, middle)).area
        below, above = (middle, above) if under < shape.area / 2.0 else (below, middle)
    line = (below + above) / 2.0
    half = shapely.box(-1e4, -1e4, 1e4, line)
    parts = [shapely.intersection(shape, half), shapely.difference(shape, half)]
    first = sum(abs(p.centroid.y - line) * p.area for p in parts)
    return metal.yield_mpa * float(first), float(shape.area)


def dent_energy_j(hinge_nmm: float, radius_mm: float, plate_mm: float, dent_mm: float) -> float:
    """Return the energy in J of a mechanism of plastic hinges that dents a ring under a plate.

    The ring's arc under the plate moves in by the dent between two hinges at its ends, and an arc as long on
    either side turns about a hinge at its far end: 2 + 2 hinges, each turned by dent / arc. Membrane pull,
    hardening and the barrel behind are left out: a lower estimate of the mechanism (limit analysis of a ring,
    from memory).
    """
    arc = 2.0 * radius_mm * math.asin(min(1.0, plate_mm / 2.0 / radius_mm))
    return 4.0 * hinge_nmm * dent_mm / arc / 1000.0

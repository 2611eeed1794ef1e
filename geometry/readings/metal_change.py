"""Metal between two sections: what was added and taken away, by zone, with its mass and inertia.

Both outlines are flattened alike, so that skin they share cancels. What lies between them is cut into small
triangles; each belongs to the zone of the later skin that it is nearest to.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from geometry.errors import GeometryError
from geometry.readings.solid import SpokeRegion, spoke_region
from geometry.shape.curve import Array, Indices
from geometry.shape.distance import nearest_of
from geometry.shape.section import ZONES, Outline

#: Arcs are flattened this finely; an area below the second is what that leaves, mm2.
_FLAT_MM, _LEAST_MM2 = 0.005, 0.02
#: Longest step along the edge of what changed, mm: one stretch over several zones is parted this finely.
_STEP_MM = 3.0


@dataclass(frozen=True)
class MetalChange:
    """What of the metal differs.

    Attributes:
        added, taken: outer rings, (m, 2) each, of metal that the later section has more, and less.
        grams: change of mass by zone, + for more metal; g_m2: change of polar inertia by zone, g m2.
    """

    added: tuple[Array, ...]
    taken: tuple[Array, ...]
    grams: dict[str, float]
    g_m2: dict[str, float]


def metal_change(
    before: Outline,
    after: Outline,
    density_kg_m3: float,
    spokes: tuple[SpokeRegion | None, SpokeRegion | None] = (None, None),
) -> MetalChange:
    """Return what lies between two outlines in one frame.

    Between spokes only their share of a ring counts, by the spokes of the outline that has the metal. What
    changes without the section (windows, bolt holes, density) is not in it.

    Args:
        before: the earlier outline.
        after: the later one; its zones are named.
        density_kg_m3: of both.
        spokes: the spoke regions of both, None for a full disc.

    Raises:
        GeometryError: a spoke cut does not part its section, or what changed cannot be cut into triangles.
    """
    areas = [shapely.make_valid(shapely.Polygon(o.path.flattened(_FLAT_MM))) for o in (before, after)]
    more, less = areas[1].difference(areas[0]), areas[0].difference(areas[1])
    grams, g_m2 = np.zeros(len(ZONES)), np.zeros(len(ZONES))
    rings = []
    for change, outline, region, sign in (
        (more, after, spokes[1], density_kg_m3 * 1e-6),
        (less, before, spokes[0], -density_kg_m3 * 1e-6),
    ):
        parts = [p for p in shapely.get_parts(change) if p.geom_type == "Polygon" and p.area > _LEAST_MM2]
        rings.append(tuple(np.asarray(p.exterior.coords)[:-1] for p in parts))
        for part in parts:
            corners = _triangles(part)
            volume, square = _turned(corners, _inside(corners, outline, region), region)
            zone = _zones(after, corners.mean(axis=1))
            grams += sign * np.bincount(zone, volume, len(ZONES))
            g_m2 += sign * 1e-6 * np.bincount(zone, square, len(ZONES))
    named = [str(zone) for zone in ZONES]
    changed = [k for k in range(len(ZONES)) if grams[k] != 0.0 or g_m2[k] != 0.0]
    return MetalChange(
        rings[0],
        rings[1],
        {named[k]: float(grams[k]) for k in changed},
        {named[k]: float(g_m2[k]) for k in changed},
    )


def _triangles(part: shapely.Polygon) -> Array:
    """Return (n, 3, 2) triangles that fill a polygon, with corners close together along its edge.

    Raises:
        GeometryError: not even a coarser copy of it can be cut.
    """
    fine = shapely.segmentize(part, _STEP_MM)
    # Where two outlines part at a very flat angle, spikes of no width defeat the cutting; a grid drops them.
    for grid_mm in (0.0, 1e-6, 1e-4):
        try:
            found = shapely.constrained_delaunay_triangles(
                fine if grid_mm == 0.0 else shapely.set_precision(fine, grid_mm)
            )
        except shapely.errors.GEOSException:
            continue
        corners = [np.asarray(t.exterior.coords)[:3] for t in shapely.get_parts(found)]
        return np.array(corners, dtype=float).reshape(-1, 3, 2)
    z, r = shapely.get_coordinates(part.representative_point())[0].tolist()
    raise GeometryError("What changed of the metal here cannot be cut into triangles.", (z, r))


def _zones(outline: Outline, places: Array) -> Indices:
    """Return (n,) the zone, as its index in ZONES, of the skin nearest to each place."""
    _, _, piece = nearest_of(outline.path, np.flatnonzero(outline.skin), places)
    return np.asarray(outline.zone[piece], dtype=np.intp)


def _inside(corners: Array, outline: Outline, region: SpokeRegion | None) -> Array:
    """Return (n,) 1 for triangles between hub circle and rim, where windows are, else 0."""
    if region is None or region.count == 0:
        return np.zeros(len(corners))
    area = shapely.make_valid(shapely.Polygon(spoke_region(outline.path, region).flattened(_FLAT_MM)))
    middle = corners.mean(axis=1)
    return np.asarray(shapely.contains_xy(area, middle[:, 0], middle[:, 1]), dtype=float)


def _turned(corners: Array, inside: Array, region: SpokeRegion | None) -> tuple[Array, Array]:
    """Return (n,) volume, mm3, and its integral of r2, mm5, of triangles turned about the axle.

    The middles of the edges, each with a third of the area, give a quadratic exactly.
    """
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / 2.0
    r = (corners + np.roll(corners, -1, axis=1))[:, :, 1] / 2.0
    ring = 2.0 * math.pi * r
    if region is not None and region.count:
        radii, widths = np.transpose(region.widths)
        metal = np.minimum(ring, region.count * np.interp(r, radii, widths))
        ring = np.where(inside[:, None] > 0.0, metal, ring)
    share = area[:, None] / 3.0
    return (ring * share).sum(axis=1), (ring * r**2 * share).sum(axis=1)

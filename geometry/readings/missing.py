"""Metal that a wheel needs and its blank does not have, by booleans on finely flattened outlines."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.compiled import compiled
from geometry.shape.curve import SWEEP, Array, Indices, Path, flattened_each
from geometry.shape.distance import chord_circle, chord_circles, holds, nearest_from
from geometry.shape.polygon_difference import difference

_FLAT_MM = 0.001
_NONE = np.empty((0, 2))

#: A part smaller than this, mm2, is the chords' own.
_LEAST_MM2 = 1e-3

#: Arcs that lie farther than this inside the blank, mm, are flattened as far off: of them nothing is missing.
_INSIDE_MM = 1.0


class _Missing(NamedTuple):
    """Area (mm2), its moment about the axle (mm3), the parts' corners (k, 2), and how many each has."""

    area: float
    moment: float
    corners: Array
    sizes: Indices


class _Usable(NamedTuple):
    """Area of the blank less its skin, and its counterclockwise ring (m, 2); None where it is no one ring."""

    area: BaseGeometry
    ring: Array | None


def missing_metal(wheel: Path, blank: Path, skin_mm: float) -> tuple[float, float]:
    """Return about what area (mm2) and volume (mm3) of the wheel lies outside the blank less its skin."""
    missing = _missing(wheel, blank, skin_mm)
    return missing.area, 2.0 * math.pi * missing.moment


def missing_parts(wheel: Path, blank: Path, skin_mm: float) -> list[Array]:
    """Return the outer ring (m, 2) of each part of the wheel that lies outside the blank less its skin."""
    missing = _missing(wheel, blank, skin_mm)
    rings = np.split(missing.corners, np.cumsum(missing.sizes)[:-1]) if len(missing.sizes) else []
    return [ring for ring in rings if _area(ring) > _LEAST_MM2]


@lru_cache(2)
def _missing(wheel: Path, blank: Path, skin_mm: float) -> _Missing:
    """Return what is missing; kept, since of one state it is both read and drawn."""
    usable = _usable(blank, skin_mm)
    if usable.ring is not None:
        decided, corners, sizes, area, moment = _beyond(wheel.table, blank.table, skin_mm, usable.ring)
        if decided:
            return _Missing(area, moment, corners, sizes)
    missing = shapely.Polygon(wheel.flattened(_FLAT_MM)).difference(usable.area)
    parts = [part for part in getattr(missing, "geoms", [missing]) if isinstance(part, shapely.Polygon)]
    rings = [np.asarray(part.exterior.coords)[:-1] for part in parts if not part.is_empty]
    moment = missing.area * missing.centroid.y if missing.area else 0.0
    sizes = np.array([len(ring) for ring in rings], dtype=np.intp)
    return _Missing(missing.area, moment, np.concatenate([_NONE, *rings]), sizes)


@lru_cache(8)
def _usable(blank: Path, skin_mm: float) -> _Usable:
    """Return the blank less its skin; kept, since a drag of the wheel leaves it as it is."""
    usable: BaseGeometry = shapely.Polygon(blank.flattened(_FLAT_MM))
    if skin_mm:
        # The axle is no skin: the blank is closed across it before the skin is taken off.
        mirrored = shapely.Polygon(blank.flattened(_FLAT_MM) * (1.0, -1.0))
        usable = usable.union(mirrored).buffer(-skin_mm)
    if not isinstance(usable, shapely.Polygon) or usable.is_empty or len(usable.interiors):
        return _Usable(usable, None)
    ring = np.asarray(usable.exterior.coords)[:-1]
    return _Usable(usable, ring if usable.exterior.is_ccw else ring[::-1].copy())


@compiled
def _beyond(
    t: Array, blank: Array, skin_mm: float, usable: Array
) -> tuple[bool, Array, Indices, float, float]:
    """Return what `difference` does of the wheel's table, flattened, and the ring of what is usable."""
    return difference(flattened_each(t, _errors(t, blank, skin_mm), 0.0), usable)


@compiled
def _errors(t: Array, blank: Array, skin_mm: float) -> Array:
    """Return (n,) how far chords may lie off each piece, mm: more where it lies well inside the blank."""
    out = np.full(len(t), _FLAT_MM)
    of = np.arange(len(blank))
    circles, near = chord_circles(blank, of), 0
    for k in range(len(t)):
        if t[k, SWEEP] != 0.0:
            z, r, half = chord_circle(t, k)
            away, near = nearest_from(blank, of, circles, z, r, near)
            if away > half + skin_mm + _INSIDE_MM and holds(blank, z, r):
                out[k] = _INSIDE_MM
    return out


def _area(ring: Array) -> float:
    """Return the area of a ring (m, 2), mm2."""
    z, r = (ring - ring[0]).T
    return abs(float((z[1:-1] * r[2:] - r[1:-1] * z[2:]).sum())) / 2.0

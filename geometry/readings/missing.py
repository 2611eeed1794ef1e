"""Metal that a wheel needs and its blank does not have, by booleans on finely flattened outlines."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.shape.curve import Array, Path

_FLAT_MM = 0.001


#: A part smaller than this, mm2, is the chords' own.
_LEAST_MM2 = 1e-3


def missing_metal(wheel: Path, blank: Path, skin_mm: float) -> tuple[float, float]:
    """Return about what area (mm2) and volume (mm3) of the wheel lies outside the blank less its skin."""
    missing = _missing(wheel, blank, skin_mm)
    if missing.is_empty:
        return 0.0, 0.0
    return float(missing.area), float(2.0 * math.pi * missing.area * missing.centroid.y)


def missing_parts(wheel: Path, blank: Path, skin_mm: float) -> list[Array]:
    """Return the outer ring (m, 2) of each part of the wheel that lies outside the blank less its skin."""
    missing = _missing(wheel, blank, skin_mm)
    parts = [part for part in getattr(missing, "geoms", [missing]) if isinstance(part, shapely.Polygon)]
    return [np.asarray(part.exterior.coords)[:-1] for part in parts if part.area > _LEAST_MM2]


@lru_cache(2)
def _missing(wheel: Path, blank: Path, skin_mm: float) -> BaseGeometry:
    """Return the area of what is missing; kept, since of one state it is both read and drawn."""
    return shapely.Polygon(wheel.flattened(_FLAT_MM)).difference(_usable(blank, skin_mm))


@lru_cache(8)
def _usable(blank: Path, skin_mm: float) -> BaseGeometry:
    """Return the area of the blank less its skin; kept, since a drag of the wheel leaves it as it is."""
    usable: BaseGeometry = shapely.Polygon(blank.flattened(_FLAT_MM))
    if skin_mm:
        # The axle is no skin: the blank is closed across it before the skin is taken off.
        mirrored = shapely.Polygon(blank.flattened(_FLAT_MM) * (1.0, -1.0))
        usable = usable.union(mirrored).buffer(-skin_mm)
    return usable

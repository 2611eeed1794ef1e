"""Metal that a wheel needs and its blank does not have, by booleans on finely flattened outlines."""

from __future__ import annotations

import math
from functools import lru_cache

import shapely
from shapely.geometry.base import BaseGeometry

from geometry.shape.curve import Path

_FLAT_MM = 0.001


def missing_metal(wheel: Path, blank: Path, skin_mm: float) -> tuple[float, float]:
    """Return about what area (mm2) and volume (mm3) of the wheel lies outside the blank less its skin."""
    missing = shapely.Polygon(wheel.flattened(_FLAT_MM)).difference(_usable(blank, skin_mm))
    if missing.is_empty:
        return 0.0, 0.0
    return float(missing.area), float(2.0 * math.pi * missing.area * missing.centroid.y)


@lru_cache(8)
def _usable(blank: Path, skin_mm: float) -> BaseGeometry:
    """Return the area of the blank less its skin; kept, since a drag of the wheel leaves it as it is."""
    usable: BaseGeometry = shapely.Polygon(blank.flattened(_FLAT_MM))
    if skin_mm:
        # The axle is no skin: the blank is closed across it before the skin is taken off.
        mirrored = shapely.Polygon(blank.flattened(_FLAT_MM) * (1.0, -1.0))
        usable = usable.union(mirrored).buffer(-skin_mm)
    return usable

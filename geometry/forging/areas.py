"""Booleans of areas of the half-section, on one fine grid: no cracks narrower than it, no loose lines."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

#: Cracks narrower than this close, and vertices move by less, mm.
GRID_MM = 1e-6


def common(area: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """Return what lies in both."""
    return _areas(shapely.intersection(area, other, grid_size=GRID_MM))


def less(area: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """Return what of an area does not lie in another."""
    return _areas(shapely.difference(area, other, grid_size=GRID_MM))


def split(area: BaseGeometry, by: BaseGeometry) -> tuple[BaseGeometry, BaseGeometry]:
    """Return what of an area lies within another one, and the rest."""
    return common(area, by), less(area, by)


def united(*areas: BaseGeometry) -> BaseGeometry:
    """Return what lies in any of them."""
    return _areas(shapely.union_all(areas, grid_size=GRID_MM))


def largest(area: BaseGeometry) -> shapely.Polygon:
    """Return the largest part with what it closes off filled; empty where there is none."""
    parts = [part for part in shapely.get_parts(area) if isinstance(part, shapely.Polygon)]
    if not parts:
        return shapely.Polygon()
    return shapely.Polygon(max(parts, key=lambda each: each.area).exterior)


def _areas(found: BaseGeometry) -> BaseGeometry:
    return shapely.MultiPolygon([part for part in shapely.get_parts(found) if part.geom_type == "Polygon"])

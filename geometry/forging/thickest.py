"""The thickest place of a section at heat treatment, which picks the row of properties."""

from __future__ import annotations

import shapely
from shapely.ops import polylabel

from geometry.forging.usable import check_size
from geometry.shape.curve import Path

#: Up to this the die-forging row of 6061-T6 holds, over it the hand-forging row (handbook 1.1: 4 in).
DIE_FORGING_MM = 101.6
#: The disc is found within this, mm.
FOUND_MM = 0.05


def thickest(path: Path) -> tuple[float, tuple[float, float]]:
    """Return diameter and centre (z, r) of the largest disc in a section, mm.

    The section goes on beyond the axle: a solid hub is as thick as it is wide, whichever side is drawn.

    Args:
        path: closed half-section.

    Raises:
        GeometryError: it is larger or flatter than any blank.
    """
    check_size(path)
    half = path.flattened(FOUND_MM / 10.0)
    whole = shapely.union(shapely.Polygon(half), shapely.Polygon(half * (1.0, -1.0))).buffer(0.0)
    part = max(shapely.get_parts(whole), key=lambda each: each.area)
    centre = polylabel(part, tolerance=FOUND_MM / 2.0)
    return 2.0 * float(part.exterior.distance(centre)), (float(centre.x), abs(float(centre.y)))


def row_words(diameter_mm: float) -> str:
    """Return which row of properties a thickness is in."""
    if diameter_mm <= DIE_FORGING_MM:
        return "die-forging row of 6061-T6, up to 4 in thick at heat treatment"
    return "over 4 in thick at heat treatment: the hand-forging row of 6061-T6, which is lower"

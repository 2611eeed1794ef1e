"""Gauge readings: length along the inward normal from a place on the skin to where it leaves the metal."""

from __future__ import annotations

import numpy as np

from geometry.readings.wall_skin import Skin
from geometry.shape.curve import Array

#: The place itself is no exit; walls are thicker than this, mm.
_BEYOND_MM = 1e-7

#: Squares of half chords below this are rounding at coordinates of some hundred mm.
_GRAZING_MM2 = 1e-9

#: An exit may lie this far beyond its piece, mm: neighbours share their joint.
_ON_PIECE_MM = 1e-9


def gauge(skin: Skin, place: Array, normal: Array) -> Array:
    """Return (m,) lengths in mm along unit normals (m, 2) from places (m, 2) on the skin to the first exit.

    Infinite where there is no exit.
    """
    p, n = place, normal
    lines, count = len(skin.lines), len(skin.arcs)
    q, radius = skin.centre[:count], skin.radius[:count]
    with np.errstate(divide="ignore", invalid="ignore"):
        out = n @ skin.normal.T
        line = np.where(out < 0.0, (skin.offset - p @ skin.normal.T) / out, np.inf)
        dz, dr = p[:, :1] - q[:, 0], p[:, 1:] - q[:, 1]
        dn = dz * n[:, :1] + dr * n[:, 1:]
        square = dn * dn - (dz * dz + dr * dr - radius**2)
        # A ray that grazes an arc ends there: rounding may not let it through.
        root = np.sqrt(np.where(np.abs(square) < _GRAZING_MM2, 0.0, square))
        # Metal ends where a ray enters a fillet's circle or leaves a convex arc's.
        along = np.hstack([line, -dn + np.where(radius < 0.0, root, -root)])
        on = along > _BEYOND_MM
        for sides in (skin.past_start, skin.short_of_end):
            z, r, one = sides[:, : lines + count]
            past = (p[:, :1] + along * n[:, :1]) * z + (p[:, 1:] + along * n[:, 1:]) * r + one
            on &= past >= -_ON_PIECE_MM
    least: Array = np.min(np.where(on, along, np.inf), axis=1)
    return least

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
    count = len(skin.arcs)
    q, radius, middle = skin.centre[:count], np.abs(skin.radius[:count]), skin.middle[:count]
    with np.errstate(divide="ignore", invalid="ignore"):
        out = n @ skin.normal.T
        line = (skin.offset - p @ skin.normal.T) / out
        along = p @ skin.along.T - skin.start + line * (n @ skin.along.T)
        on = (out < 0.0) & (along >= -_ON_PIECE_MM) & (along <= skin.length + _ON_PIECE_MM)
        line = np.where(on & (line > _BEYOND_MM), line, np.inf)
        dz, dr = p[:, :1] - q[:, 0], p[:, 1:] - q[:, 1]
        dn = dz * n[:, :1] + dr * n[:, 1:]
        square = dn * dn - (dz * dz + dr * dr - radius**2)
        # A ray that grazes an arc ends there: rounding may not let it through.
        root = np.sqrt(np.where(np.abs(square) < _GRAZING_MM2, 0.0, square))
        # Metal ends where a ray enters a fillet's circle or leaves a convex arc's.
        arc = -dn + np.where(skin.radius[:count] < 0.0, root, -root)
        toward = (dz + arc * n[:, :1]) * middle[:, 0] + (dr + arc * n[:, 1:]) * middle[:, 1]
        on = (arc > _BEYOND_MM) & (toward >= radius * skin.cos_half[:count] - _ON_PIECE_MM)
        arc = np.where(on, arc, np.inf)
    least: Array = np.min(np.hstack([line, arc]), axis=1)
    return least

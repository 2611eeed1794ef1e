"""Gauge readings: length along the inward normal from a place on the skin to where it leaves the metal."""

from __future__ import annotations

import math

import numpy as np

from geometry.compiled import compiled
from geometry.readings.wall_discs import form_of, within_ends
from geometry.shape.curve import Array

#: The place itself is no exit; walls are thicker than this, mm.
_BEYOND_MM = 1e-7

#: Squares of half chords below this are rounding at coordinates of some hundred mm.
_GRAZING_MM2 = 1e-9


@compiled
def gauges(e: Array, at: Array) -> Array:
    """Return (m,) lengths in mm from (m, 4) places on the skin and inward unit normals to the first exit.

    Infinite where there is no exit or no place. Along the ray the height over an element of the table e is
    a t^2 + b t + c with a = k / 2, b = k w.n + h n.N, and c that of the place (see wall_skin); the metal ends
    where it falls to zero. A fan is no exit: the ray meets the pieces at its sides.
    """
    out = np.empty(len(at))
    for m in range(len(at)):
        z, r, nz, nr = at[m, 0], at[m, 1], at[m, 2], at[m, 3]
        least = np.inf
        for k in range(len(e) if z < np.inf else 0):
            kz, kr, mz, mr, bend, weight = form_of(e, k)
            if weight == 0.0:
                continue
            wz, wr, a = z - kz, r - kr, 0.5 * bend
            b = bend * (wz * nz + wr * nr) + mz * nz + mr * nr
            c = a * (wz * wz + wr * wr) + wz * mz + wr * mr
            square = b * b - 4.0 * a * c
            # A ray that grazes an arc ends there: rounding may not let it through.
            if abs(square) < _GRAZING_MM2 * bend * bend:
                square = 0.0
            if square < 0.0 or (a == 0.0 and b >= 0.0):
                continue
            root = math.sqrt(square)
            t = 2.0 * c / (root - b) if b < 0.0 else -0.5 * (root + b) / a
            if _BEYOND_MM < t < least and within_ends(e, k, z + t * nz, r + t * nr):
                least = t
        out[m] = least
    return out

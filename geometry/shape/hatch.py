"""Hatch lines across a polygon."""

from __future__ import annotations

import math

import numpy as np

from geometry.compiled import compiled
from geometry.shape.curve import Array


def hatch(polygon: Array, spacing_mm: float, rising: bool = True) -> Array:
    """Return (m, 2, 2) ends of 45 degree lines across a polygon (n, 2), spacing_mm apart across them.

    The lines stand at multiples of the spacing from the frame's origin, so they do not crawl when the
    polygon changes.
    """
    return _hatch(np.ascontiguousarray(polygon, dtype=float), spacing_mm, 1.0 if rising else -1.0)


@compiled
def _hatch(polygon: Array, spacing_mm: float, sign: float) -> Array:
    # Across the lines (u) and along them (v), both in units of mm.
    u = (polygon[:, 0] * sign - polygon[:, 1]) / math.sqrt(2.0)
    v = (polygon[:, 0] * sign + polygon[:, 1]) / math.sqrt(2.0)
    n = len(u)
    first, last = math.ceil(u.min() / spacing_mm), math.floor(u.max() / spacing_mm)
    out = np.empty((max(last - first + 1, 0) * (n // 2), 2, 2))
    crossings = np.empty(n)
    lines = 0
    for step in range(first, last + 1):
        level = spacing_mm * step
        count = 0
        for i in range(n):
            j = (i + 1) % n
            if (u[i] <= level) != (u[j] <= level):
                crossings[count] = v[i] + (level - u[i]) / (u[j] - u[i]) * (v[j] - v[i])
                count += 1
        # A closed chain crosses each line an even number of times: the crossings in order are ends.
        along = np.sort(crossings[:count])
        for i in range(0, count - 1, 2):
            for end in range(2):
                out[lines, end, 0] = (level + along[i + end]) / math.sqrt(2.0) * sign
                out[lines, end, 1] = (along[i + end] - level) / math.sqrt(2.0)
            lines += 1
    return out[:lines]

"""How far a shape that touches the metal must move along one axis to be just clear.

Moved along an axis, two outlines meet while the offset lies between the least and the greatest difference of
their graphs over the common stretch of the other axis. The union of these ranges over all pairs of pieces is
where the outlines meet; between the ranges one area is either inside the other or clear of it.
"""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise

import numpy as np

from geometry.compiled import compiled
from geometry.shape.curve import CR, CZ, R0, R1, RADIUS, START, SWEEP, Z0, Z1, Array, Path, place_along
from geometry.shape.distance import contains


def clearing_move(metal: Path, shape: Path, axis: str) -> float:
    """Return the least signed shift in mm of `shape` along "z" or "r" that makes it just clear."""
    v = 0 if axis == "z" else 1
    a, b = _graphs(metal, v), _graphs(shape, v)
    out = np.empty((len(a) * len(b), 2))
    ranges = out[: _between(a, b, out)]
    ranges = ranges[np.argsort(ranges[:, 0])]
    merged = ranges[: _merge(ranges)].tolist()
    # Offsets where the outlines do not meet: before, between and after the merged ranges.
    gaps = [(-np.inf, merged[0][0])]
    gaps += [(x[1], y[0]) for x, y in pairwise(merged)]
    gaps.append((merged[-1][1], np.inf))
    free = [g for g in gaps if _apart(metal, shape, v, g)]
    ends = [min(max(0.0, lo), hi) for lo, hi in free]
    return float(min(ends, key=abs))


def _apart(metal: Path, shape: Path, v: int, gap: tuple[float, float]) -> bool:
    """True where no area is inside the other for offsets within the gap."""
    if not np.isfinite(gap[0]) or not np.isfinite(gap[1]):
        return True
    step = np.zeros(2)
    step[v] = (gap[0] + gap[1]) / 2.0
    in_metal = contains(metal, shape.points[:1] + step)[0]
    in_shape = contains(shape, metal.points[:1] - step)[0]
    return not (in_metal or in_shape)


# A shape stands still while the wheel is dragged.
@lru_cache(maxsize=64)
def _graphs(path: Path, v: int) -> Array:
    """Return (k, 8) rows of single-valued pieces over w (the other axis): w0, w1, v0, v1, cw, cv, R, sign.

    R is 0 for lines; sign +1 is the half of a circle at larger v. Lines of constant w stay as w0 = w1.
    """
    out = np.empty((3 * len(path), 8))
    return out[: _part(path.table, v, out)]


@compiled
def _part(t: Array, v: int, out: Array) -> int:
    """Part the pieces of a table where they turn back across w; fill in the graphs, return how many."""
    count = 0
    for k in range(len(t)):
        sweep, early, late = t[k, SWEEP], 1.0, 1.0
        if sweep != 0.0:
            # An arc turns back where its tangent runs along v: at most twice within 180 degrees.
            quarter = math.pi / 2.0 if v == 0 else 0.0
            for angle in (quarter, quarter + math.pi):
                share = (math.copysign(1.0, sweep) * (angle - t[k, START])) % (2.0 * math.pi) / abs(sweep)
                if 1e-12 < share < 1.0 - 1e-12:
                    early, late = min(early, share), max(min(early, late), share)
        start, z0, r0 = 0.0, t[k, Z0], t[k, R0]
        for stop in (early, late, 1.0):
            if stop <= start:
                continue
            z1, r1 = (t[k, Z1], t[k, R1]) if stop == 1.0 else place_along(t, k, stop)
            w0, w1, v0, v1 = (r0, r1, z0, z1) if v == 0 else (z0, z1, r0, r1)
            if w0 > w1:
                w0, w1, v0, v1 = w1, w0, v1, v0
            out[count, 0], out[count, 1], out[count, 2], out[count, 3] = w0, w1, v0, v1
            out[count, 4] = out[count, 5] = out[count, 6] = out[count, 7] = 0.0
            if sweep != 0.0:
                zm, rm = place_along(t, k, (start + stop) / 2.0)
                out[count, 4], out[count, 5] = (t[k, CR], t[k, CZ]) if v == 0 else (t[k, CZ], t[k, CR])
                out[count, 6] = t[k, RADIUS]
                out[count, 7] = 1.0 if (zm if v == 0 else rm) >= out[count, 5] else -1.0
            count += 1
            start, z0, r0 = stop, z1, r1
    return count


@compiled
def _value(g: Array, k: int, w: float) -> float:
    """Return v of graph k at w; lines interpolate, arcs by their circle."""
    span = g[k, 1] - g[k, 0]
    v: float = g[k, 2]
    if g[k, 6] > 0.0:
        v = g[k, 5] + g[k, 7] * math.sqrt(max(g[k, 6] ** 2 - (w - g[k, 4]) ** 2, 0.0))
    elif span > 0.0:
        v += (w - g[k, 0]) / span * (g[k, 3] - g[k, 2])
    return v


@compiled
def _parallel(g: Array, i: int, h: Array, j: int) -> float:
    """Return the w where two graphs run parallel, far off where they never do or always."""
    at = -1e9
    if g[i, 6] > 0.0 and h[j, 6] > 0.0:
        kg, kh = g[i, 7] / g[i, 6], h[j, 7] / h[j, 6]
        if kg != kh:
            at = (kg * g[i, 4] - kh * h[j, 4]) / (kg - kh)
    elif g[i, 6] > 0.0 or h[j, 6] > 0.0:
        arc, m, line, n = (g, i, h, j) if g[i, 6] > 0.0 else (h, j, g, i)
        if line[n, 1] > line[n, 0]:
            slope = (line[n, 3] - line[n, 2]) / (line[n, 1] - line[n, 0])
            at = arc[m, 4] - arc[m, 7] * arc[m, 6] * slope / math.sqrt(1.0 + slope * slope)
    return at


@compiled
def _between(g: Array, h: Array, out: Array) -> int:
    """Fill in least and greatest v(g) - v(h) over the common w of every pair of graphs that share any."""
    count = 0
    for i in range(len(g)):
        for j in range(len(h)):
            w0, w1 = max(g[i, 0], h[j, 0]), min(g[i, 1], h[j, 1])
            if w0 > w1:
                continue
            low, high = np.inf, -np.inf
            # A line of constant w spans a range of its own.
            flat_g, flat_h = g[i, 0] == g[i, 1], h[j, 0] == h[j, 1]
            at = _parallel(g, i, h, j)
            for n in range(4):
                if flat_g or flat_h:
                    first = g[i, 2 + n % 2] if flat_g else _value(g, i, w0)
                    second = h[j, 2 + n // 2] if flat_h else _value(h, j, w0)
                else:
                    w = w0 if n == 0 else w1 if n == 1 else min(max(at, w0), w1)
                    first, second = _value(g, i, w), _value(h, j, w)
                low, high = min(low, first - second), max(high, first - second)
            out[count, 0], out[count, 1] = low, high
            count += 1
    return count


@compiled
def _merge(ranges: Array) -> int:
    """Join rows (low, high), sorted by low, that overlap, in place; return how many are left."""
    count = 0
    for k in range(1, len(ranges)):
        if ranges[k, 0] <= ranges[count, 1] + 1e-9:
            ranges[count, 1] = max(ranges[count, 1], ranges[k, 1])
        else:
            count += 1
            ranges[count, 0], ranges[count, 1] = ranges[k, 0], ranges[k, 1]
    return count + 1

"""What of one polygon lies outside another, where their edges cross in general position.

Along the first polygon crossings lead out of the second and back into it by turns. A part of the difference
is bounded by the first's way from where it leaves to where it comes back, and from there by the second's way
backwards to the crossing before. Both areas being of one piece without holes, no part has a hole either.
"""

from __future__ import annotations

import math

import numpy as np

from geometry.compiled import compiled
from geometry.shape.curve import Array, Indices

#: An end of one edge this near to the line of another, mm, may lie to either side: nothing is decided.
_NEAR_MM = 1e-9

#: Columns of the crossings: edge of the first polygon and fraction along it, the same of the second; place;
#: 1 where the first leaves the second there, else 0.
_I, _T, _J, _S, _Z, _R, _LEAVES = range(7)


@compiled
def difference(a: Array, b: Array) -> tuple[bool, Array, Indices, float, float]:
    """Return what of a polygon (n, 2) lies outside another (m, 2), both counterclockwise and simple.

    Returns:
        False where that is not decided here: an end of an edge lies on the other polygon, or no edges cross;
        (k, 2) the parts' corners one after the other, each part counterclockwise; how many each part has;
        area, and its moment about the line r = 0.
    """
    found = np.empty((16, 7))
    count = _crossings(a, b, found)
    if count > len(found):
        found = np.empty((count, 7))
        _crossings(a, b, found)
    ends = np.empty(max(count, 0), dtype=np.intp)
    out = np.empty((len(a) + len(b) + 2 * len(ends), 2))
    parts = _parts(a, b, found[: len(ends)], out, ends)
    area = moment = 0.0
    first = 0
    for part in range(max(parts, 0)):
        one, about_start = _moments(out[first : first + ends[part]])
        area += one
        moment += about_start + one * out[first, 1]
        first += ends[part]
    return parts > 0, out[:first], ends[: max(parts, 0)], area, moment


@compiled
def _crossings(a: Array, b: Array, out: Array) -> int:
    """Return how many edges of two polygons cross, -1 where that is not decided; fill in as many as go in.

    They rise along the first polygon.
    """
    n, m, count = len(a), len(b), 0
    for i in range(n):
        z0, r0, z1, r1 = a[i, 0], a[i, 1], a[(i + 1) % n, 0], a[(i + 1) % n, 1]
        z_low, z_high = min(z0, z1) - _NEAR_MM, max(z0, z1) + _NEAR_MM
        r_low, r_high = min(r0, r1) - _NEAR_MM, max(r0, r1) + _NEAR_MM
        uz, ur = z1 - z0, r1 - r0
        for j in range(m):
            y0, q0, y1, q1 = b[j, 0], b[j, 1], b[(j + 1) % m, 0], b[(j + 1) % m, 1]
            if max(y0, y1) < z_low or min(y0, y1) > z_high or max(q0, q1) < r_low or min(q0, q1) > r_high:
                continue
            vz, vr = y1 - y0, q1 - q0
            near_a = _NEAR_MM * math.sqrt(uz * uz + ur * ur)
            near_b = _NEAR_MM * math.sqrt(vz * vz + vr * vr)
            # How far the ends of each edge lie to the left of the other, times its length.
            start, end = vz * (r0 - q0) - vr * (z0 - y0), vz * (r1 - q0) - vr * (z1 - y0)
            low, high = uz * (q0 - r0) - ur * (y0 - z0), uz * (q1 - r0) - ur * (y1 - z0)
            if min(start, end) > near_b or max(start, end) < -near_b:
                continue
            if min(low, high) > near_a or max(low, high) < -near_a:
                continue
            if min(abs(start), abs(end)) <= near_b or min(abs(low), abs(high)) <= near_a:
                return -1
            if count < len(out):
                share = start / (start - end)
                at = count
                while at > 0 and out[at - 1, _I] == i and out[at - 1, _T] > share:
                    out[at] = out[at - 1]
                    at -= 1
                out[at, _I], out[at, _T], out[at, _J], out[at, _S] = i, share, j, low / (low - high)
                out[at, _Z], out[at, _R] = z0 + share * uz, r0 + share * ur
                out[at, _LEAVES] = 1.0 if end < 0.0 else 0.0
            count += 1
    return count


@compiled
def _parts(a: Array, b: Array, found: Array, out: Array, ends: Indices) -> int:
    """Write corners of the parts and how many each has; return how many parts, 0 where nothing is decided."""
    count, parts, n = len(found), 0, 0
    for k in range(count):
        if found[k, _LEAVES] == found[k - 1, _LEAVES]:
            return 0
    visited = np.zeros(count, dtype=np.bool_)
    for k in range(count):
        if visited[k] or found[k, _LEAVES] == 0.0:
            continue
        first, at = n, k
        while not visited[at]:
            visited[at] = True
            back = (at + 1) % count
            n = _walk(a, found[at, _I], found[at, _T], found[back, _I], found[back, _T], 1, found[at], out, n)
            at = _before(found, back, len(b))
            if found[at, _LEAVES] == 0.0:
                return 0
            n = _walk(
                b, found[back, _J], found[back, _S], found[at, _J], found[at, _S], -1, found[back], out, n
            )
        if at != k:
            return 0
        ends[parts] = n - first
        parts += 1
    return parts


@compiled
def _before(found: Array, k: int, edges: int) -> int:
    """Return the crossing that comes before crossing k along the second polygon, of so many edges."""
    best, least = k, np.inf
    for other in range(len(found)):
        back = found[k, _J] + found[k, _S] - found[other, _J] - found[other, _S]
        # Along one edge fractions alone tell: the sums may agree to rounding.
        if found[k, _J] == found[other, _J]:
            back = found[k, _S] - found[other, _S]
        if back < 0.0:
            back += edges
        if other != k and back < least:
            best, least = other, back
    return best


@compiled
def _walk(
    p: Array, i: float, t: float, j: float, s: float, step: int, start: Array, out: Array, n: int
) -> int:
    """Write a crossing on edge i and the corners from there to edge j; return the next row."""
    m = len(p)
    out[n, 0], out[n, 1] = start[_Z], start[_R]
    n += 1
    corners = int(j - i) * step % m
    if corners == 0 and (s - t) * step < 0.0:
        corners = m
    # Edge i leads from corner i to the next: forwards that is the first to be met, backwards the first is i.
    corner = int(i) + 1 if step > 0 else int(i)
    for _ in range(corners):
        out[n] = p[corner % m]
        n += 1
        corner += step
    return n


@compiled
def _moments(x: Array) -> tuple[float, float]:
    """Return the area of a polygon and its moment about the line of constant r through its first corner."""
    area = moment = 0.0
    for k in range(1, len(x) - 1):
        az, ar, bz, br = x[k, 0] - x[0, 0], x[k, 1] - x[0, 1], x[k + 1, 0] - x[0, 0], x[k + 1, 1] - x[0, 1]
        twice = az * br - bz * ar
        area += twice / 2.0
        moment += twice * (ar + br) / 6.0
    return area, moment

"""Functions z(r) made of straight lines and arcs, and their upper envelope: the surface of a die.

A die that closes along the axle leaves one height z at each radius r. Everything that shapes such a surface
(required metal, draft, fillets) is the greatest of many simple functions, so that one operation, the upper
envelope, does all of it, exactly on lines and arcs. The lower die's surface is handled turned over.

Words:
    piece     a line or an arc over an interval of r; an arc bulges up (hill) or down (valley)
    profile   pieces that follow each other in r and do not overlap
"""

from __future__ import annotations

import math

import numpy as np

from geometry.compiled import compiled
from geometry.shape.curve import Array

# Columns of a piece: interval of r, radius (+ hill, - valley, 0 line), (r, z) of the arc's centre or of a
# place on the line, slope of the line, number of what it comes from.
LOW, HIGH, RADIUS, AT_R, AT_Z, SLOPE, ORIGIN = range(7)
COLUMNS = 7

#: Shorter pieces are rounding, mm.
LEAST_MM = 1e-9


def line(low: float, high: float, r: float, z: float, slope: float, origin: int = 0) -> list[float]:
    """Return the row of a line through (z, r) over an interval of r."""
    return [low, high, 0.0, r, z, slope, float(origin)]


def hill(low: float, high: float, r: float, z: float, radius: float, origin: int = 0) -> list[float]:
    """Return the row of the upper side of a circle about (z, r) over an interval of r."""
    return [low, high, radius, r, z, 0.0, float(origin)]


def valley(low: float, high: float, r: float, z: float, radius: float, origin: int = 0) -> list[float]:
    """Return the row of the lower side of a circle about (z, r) over an interval of r."""
    return [low, high, -radius, r, z, 0.0, float(origin)]


@compiled
def height(f: Array, k: int, r: float) -> float:
    """Return z of piece k at r."""
    radius = f[k, RADIUS]
    if radius == 0.0:
        return f[k, AT_Z] + f[k, SLOPE] * (r - f[k, AT_R])  # type: ignore[no-any-return]
    up = math.sqrt(max(radius * radius - (r - f[k, AT_R]) ** 2, 0.0))
    return f[k, AT_Z] + (up if radius > 0.0 else -up)  # type: ignore[no-any-return]


@compiled
def slope(f: Array, k: int, r: float) -> float:
    """Return dz/dr of piece k at r; a very large number at the sides of a circle."""
    radius = f[k, RADIUS]
    if radius == 0.0:
        return f[k, SLOPE]  # type: ignore[no-any-return]
    d = r - f[k, AT_R]
    up = math.sqrt(max(radius * radius - d * d, 1e-24 * radius * radius))
    return -d / up if radius > 0.0 else d / up  # type: ignore[no-any-return]


@compiled
def _meetings(f: Array, i: int, g: Array, j: int, out: Array) -> int:
    """Put the radii at which the curves of two pieces meet into `out`, at most two, and return how many."""
    if f[i, RADIUS] == 0.0 and g[j, RADIUS] == 0.0:
        turn = f[i, SLOPE] - g[j, SLOPE]
        if turn == 0.0:
            return 0
        apart = height(g, j, f[i, AT_R]) - f[i, AT_Z]
        out[0] = f[i, AT_R] + apart / turn
        return 1
    if f[i, RADIUS] == 0.0:
        return _meetings(g, j, f, i, out)
    r, z, radius = f[i, AT_R], f[i, AT_Z], abs(f[i, RADIUS])
    if g[j, RADIUS] == 0.0:
        m = g[j, SLOPE]
        # Height of the line over the centre; both in units of the line's own length.
        up, long = height(g, j, r) - z, math.sqrt(1.0 + m * m)
        square = radius * radius - (up / long) ** 2
        if square < 0.0:
            return 0
        foot, half = -up * m / (long * long), math.sqrt(square) / long
        out[0], out[1] = r + foot - half, r + foot + half
        return 2
    dr, dz, other = g[j, AT_R] - r, g[j, AT_Z] - z, abs(g[j, RADIUS])
    apart = math.sqrt(dr * dr + dz * dz)
    if apart == 0.0:
        return 0
    along = (apart * apart + radius * radius - other * other) / (2.0 * apart)
    square = radius * radius - along * along
    if square < 0.0:
        return 0
    half = math.sqrt(square)
    out[0] = r + (along * dr - half * dz) / apart
    out[1] = r + (along * dr + half * dz) / apart
    return 2


@compiled
def _put(out: Array, count: int, f: Array, k: int, low: float, high: float) -> int:
    """Append piece k over an interval; lengthen the last piece where it goes on."""
    if count:
        last = out[count - 1]
        same = last[HIGH] == low
        for c in range(RADIUS, COLUMNS):
            same = same and last[c] == f[k, c]
        if same:
            last[HIGH] = high
            return count
    out[count] = f[k]
    out[count, LOW], out[count, HIGH] = low, high
    return count + 1


@compiled
def _put_upper(out: Array, count: int, f: Array, i: int, g: Array, j: int, low: float, high: float) -> int:
    """Append the upper of two pieces over an interval, parted where they cross."""
    roots = np.empty(2)
    found = _meetings(f, i, g, j, roots)
    if found == 2 and roots[0] > roots[1]:
        roots[0], roots[1] = roots[1], roots[0]
    start = low
    for n in range(found + 1):
        stop = roots[n] if n < found else high
        if not stop < high - LEAST_MM:
            stop = high
        if stop <= start + LEAST_MM and stop < high:
            continue
        middle = (start + stop) / 2.0
        if height(f, i, middle) >= height(g, j, middle):
            count = _put(out, count, f, i, start, stop)
        else:
            count = _put(out, count, g, j, start, stop)
        start = stop
        if stop == high:
            break
    return count


@compiled
def _merged(f: Array, m: int, g: Array, n: int, out: Array) -> int:
    """Put the upper envelope of two profiles of m and n pieces into `out`; return how many pieces it has."""
    i, j, count, low = 0, 0, 0, -np.inf
    while i < m or j < n:
        first = min(f[i, LOW] if i < m else np.inf, g[j, LOW] if j < n else np.inf)
        low = max(low, first)
        has_f, has_g = i < m and f[i, LOW] <= low, j < n and g[j, LOW] <= low
        high = np.inf
        if i < m:
            high = min(high, f[i, HIGH] if has_f else f[i, LOW])
        if j < n:
            high = min(high, g[j, HIGH] if has_g else g[j, LOW])
        if has_f and has_g:
            count = _put_upper(out, count, f, i, g, j, low, high)
        elif has_f:
            count = _put(out, count, f, i, low, high)
        elif has_g:
            count = _put(out, count, g, j, low, high)
        if has_f and f[i, HIGH] <= high:
            i += 1
        if has_g and g[j, HIGH] <= high:
            j += 1
        low = high
    return count


@compiled
def _room(m: int, n: int) -> Array:
    # Between two ends, of which there are 2 (m + n), two pieces cross twice at most.
    return np.empty((6 * (m + n) + 8, COLUMNS))


@compiled
def merged(f: Array, g: Array) -> Array:
    """Return the upper envelope (k, COLUMNS) of two profiles."""
    out = _room(len(f), len(g))
    return out[: _merged(f, len(f), g, len(g), out)].copy()


@compiled
def upper(pieces: Array) -> Array:
    """Return the upper envelope (k, COLUMNS) of pieces that may overlap, in any order.

    Where none lies over a radius the profile has a hole.
    """
    held, count = np.empty((0, COLUMNS)), 0
    for k in range(len(pieces)):
        if pieces[k, HIGH] - pieces[k, LOW] <= LEAST_MM:
            continue
        out = _room(count, 1)
        count = _merged(held, count, pieces[k : k + 1], 1, out)
        held = out
    return held[:count].copy()


@compiled
def shifted(f: Array, dz: float) -> Array:
    """Return a profile moved along z."""
    out = f.copy()
    out[:, AT_Z] += dz
    return out


def turned_over(f: Array) -> Array:
    """Return a profile with z turned over: -z(r)."""
    out = f.copy()
    out[:, RADIUS] *= -1.0
    out[:, AT_Z] *= -1.0
    out[:, SLOPE] *= -1.0
    return out


@compiled
def moment(f: Array, low: float, high: float) -> float:
    """Return the integral of r z(r) dr of a profile between two radii, mm3 per radian of turn."""
    total = 0.0
    for k in range(len(f)):
        a, b = max(f[k, LOW], low), min(f[k, HIGH], high)
        if b <= a:
            continue
        total += _moment_of(f, k, b) - _moment_of(f, k, a)
    return total


@compiled
def _moment_of(f: Array, k: int, r: float) -> float:
    """Return an antiderivative of r z(r) of piece k."""
    at, z, radius = f[k, AT_R], f[k, AT_Z], f[k, RADIUS]
    d = r - at
    if radius == 0.0:
        m = f[k, SLOPE]
        # (at + d) (z + m d), by d.
        return at * z * d + (z + at * m) * d * d / 2.0 + m * d * d * d / 3.0  # type: ignore[no-any-return]
    square = radius * radius
    up = math.sqrt(max(square - d * d, 0.0))
    sector = (d * up + square * math.asin(min(max(d / abs(radius), -1.0), 1.0))) / 2.0
    # (at + d) (z +- sqrt(R2 - d2)), by d.
    bend = at * sector - up * up * up / 3.0
    return z * (at * d + d * d / 2.0) + (bend if radius > 0.0 else -bend)  # type: ignore[no-any-return]


@compiled
def last_meeting(f: Array, g: Array) -> float:
    """Return the largest r up to which profile f lies over profile g; -inf where it never does."""
    found, i, j, low = -np.inf, 0, 0, -np.inf
    roots = np.empty(2)
    while i < len(f) and j < len(g):
        low = max(low, f[i, LOW], g[j, LOW])
        high = min(f[i, HIGH], g[j, HIGH])
        if high > low:
            cuts = np.array([low, low, high, high])
            for n in range(_meetings(f, i, g, j, roots)):
                if low < roots[n] < high:
                    cuts[1 + n] = roots[n]
            cuts = np.sort(cuts)
            for n in range(3):
                middle = (cuts[n] + cuts[n + 1]) / 2.0
                if cuts[n + 1] > cuts[n] and height(f, i, middle) > height(g, j, middle):
                    found = cuts[n + 1]
        if f[i, HIGH] <= high:
            i += 1
        if j < len(g) and g[j, HIGH] <= high:
            j += 1
        low = high
    return found


def clipped(f: Array, low: float, high: float) -> Array:
    """Return a profile between two radii."""
    kept = f[(f[:, HIGH] > low) & (f[:, LOW] < high)].copy()
    kept[:, LOW] = np.maximum(kept[:, LOW], low)
    kept[:, HIGH] = np.minimum(kept[:, HIGH], high)
    return kept[kept[:, HIGH] > kept[:, LOW]]


def heights(f: Array, r: Array) -> Array:
    """Return (m,) z of a profile at radii; nan where it has none."""
    k = np.clip(np.searchsorted(f[:, HIGH], r), 0, len(f) - 1)
    found = np.array([height(f, int(i), float(x)) for i, x in zip(k, r, strict=True)])
    return np.where((f[k, LOW] <= r) & (r <= f[k, HIGH]), found, np.nan)

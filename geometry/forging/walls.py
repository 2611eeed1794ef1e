"""Profiles as walls of a turned ring: cut, run the other way, turned about the axle, held against each other.

A die's surface is a profile z(r); mandrel and rolled skin are profiles r(x), x along the axle from the ring's
inner end. What both have in common stands in profile.py.
"""

from __future__ import annotations

import itertools
import math

import numpy as np

from geometry.forging.composite import piece_starts
from geometry.forging.profile import (
    AT_R,
    AT_Z,
    HIGH,
    LEAST_MM,
    LOW,
    RADIUS,
    SLOPE,
    clipped,
    height,
    heights,
    hill,
    line,
    valley,
)
from geometry.shape.curve import Array

#: Places along an arc or line at which walls are compared.
_PLACES = 24


def value_at(f: Array, x: float) -> float:
    """Return the height of a profile, at one of its ends where x lies beyond by rounding."""
    k = min(int(np.searchsorted(f[:, HIGH], x)), len(f) - 1)
    return float(height(f, k, min(max(x, float(f[k, LOW])), float(f[k, HIGH]))))


def joined(f: Array) -> Array:
    """Return a profile without pieces that are rounding; their neighbours meet in their place.

    An envelope of several profiles leaves such pieces out, and would show a hole there.
    """
    kept = f[f[:, HIGH] - f[:, LOW] > 10.0 * LEAST_MM].copy()
    kept[1:, LOW] = kept[:-1, HIGH]
    kept[0, LOW], kept[-1, HIGH] = f[0, LOW], f[-1, HIGH]
    return kept


def at_level(row: Array, level: float) -> list[float]:
    """Return the abscissae at which a piece's line or circle has a height."""
    if row[RADIUS] == 0.0:
        return [float(row[AT_R] + (level - row[AT_Z]) / row[SLOPE])] if row[SLOPE] != 0.0 else []
    up = level - row[AT_Z]
    square = row[RADIUS] ** 2 - up**2
    # The lower half of a circle is a valley's, the upper a hill's.
    if square < 0.0 or up * row[RADIUS] < 0.0:
        return []
    half = math.sqrt(square)
    return [float(row[AT_R] - half), float(row[AT_R] + half)]


def within(row: Array, low: float, high: float) -> list[list[float]]:
    """Return a piece between two abscissae, as none or one row."""
    out = [float(x) for x in row]
    out[LOW], out[HIGH] = max(out[LOW], low), min(out[HIGH], high)
    return [out] if out[HIGH] - out[LOW] > LEAST_MM else []


def beside(row: Array, level: float, sign: float) -> list[list[float]]:
    """Return the stretches of a piece that lie over a height (sign +1) or under it (-1)."""
    low, high = float(row[LOW]), float(row[HIGH])
    ends = [low, *sorted(x for x in at_level(row, level) if low < x < high), high]
    found: list[list[float]] = []
    for a, b in itertools.pairwise(ends):
        if sign * (height(row[None], 0, (a + b) / 2.0) - level) >= 0.0:
            found += within(row, a, b)
    return found


def as_wall(bore: Array, end_mm: float) -> list[list[float]]:
    """Return a bore r(x), falling in x, as a lower surface over r, turned over; x from the inner end."""
    found = []
    # Each begins where the one before ends, to the last digit: no hole is left between them.
    ends = [
        float(height(bore, 0, bore[0, LOW])),
        *(float(height(bore, k, r[HIGH])) for k, r in enumerate(bore)),
    ]
    for k, row in enumerate(bore):
        low, high = ends[k + 1], ends[k]
        centre = -end_mm - float(row[AT_R])
        if row[RADIUS] == 0.0:
            found.append(line(low, high, float(row[AT_Z]), centre, -1.0 / float(row[SLOPE])))
            continue
        over = (row[LOW] + row[HIGH]) / 2.0 < row[AT_R]
        found.append((hill if over else valley)(low, high, float(row[AT_Z]), centre, abs(float(row[RADIUS]))))
    return found


def backwards(f: Array) -> list[tuple[float, float, float]]:
    """Return (height, abscissa, bulge) of the start of each piece, run from the last to the first."""
    rows = piece_starts(f)
    ends = [float(height(f, k, row[HIGH])) for k, row in enumerate(f)]
    return [(ends[k], float(f[k, HIGH]), rows[k][2]) for k in reversed(range(len(f)))]


def turned_mm3(f: Array, low: float, high: float) -> float:
    """Return the volume within a profile r(x) turned about the axle: pi times the integral of r^2 dx."""
    total = 0.0
    for row in clipped(f, low, high):
        at, square = float(row[AT_Z]), float(row[RADIUS]) ** 2
        a, b = (float(x - row[AT_R]) for x in (row[LOW], row[HIGH]))
        if square == 0.0:
            m = float(row[SLOPE])
            total += at * at * (b - a) + at * m * (b * b - a * a) + m * m * (b**3 - a**3) / 3.0
            continue
        sectors = [_sector(d, square) for d in (a, b)]
        total += at * at * (b - a) + math.copysign(2.0, row[RADIUS]) * at * (sectors[1] - sectors[0])
        total += square * (b - a) - (b**3 - a**3) / 3.0
    return math.pi * total


def _sector(d: float, square: float) -> float:
    """Return an antiderivative of sqrt(R^2 - d^2) by d."""
    up = math.sqrt(max(square - d * d, 0.0))
    return (d * up + square * math.atan2(d, up)) / 2.0


def places_of(row: Array) -> list[float]:
    """Return the abscissae of a piece's ends, and of places between along an arc."""
    return [float(x) for x in np.linspace(row[LOW], row[HIGH], 2 if row[RADIUS] == 0.0 else 9)]


def walls_between(outer: Array, inner: Array, low: float, high: float) -> tuple[Array, Array]:
    """Return places x (m,) from low to high, all ends of pieces with them, and the wall (m,) there."""
    ends = np.concatenate([outer[:, LOW], outer[:, HIGH], inner[:, LOW], inner[:, HIGH], [low, high]])
    ends = np.unique(ends[(ends >= low) & (ends <= high)])
    share = np.arange(_PLACES) / _PLACES
    x = np.append((ends[:-1, None] + np.diff(ends)[:, None] * share).ravel(), ends[-1])
    return x, heights(outer, x) - heights(inner, x)


def widest(outer: Array, inner: Array, low: float, high: float) -> float:
    """Return the thickest wall between two places."""
    return float(np.nanmax(walls_between(outer, inner, low, high)[1]))


def narrowest(outer: Array, inner: Array, low: float, high: float) -> float:
    """Return the thinnest wall between two places."""
    return float(np.nanmin(walls_between(outer, inner, low, high)[1]))


def bulge_end(outer: Array, inner: Array, high: float) -> float:
    """Return the length of the thick inner end: to where its wall is halfway down to the least one."""
    x, walls = walls_between(outer, inner, 0.0, high)
    peak = int(np.argmax(np.where(x < high / 2.0, walls, 0.0)))
    below = np.flatnonzero(walls[peak:] < (walls[peak] + walls.min()) / 2.0)
    return float(x[peak + below[0]]) if len(below) else 0.0

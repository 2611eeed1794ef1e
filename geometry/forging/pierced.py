"""A forging whose hub is pierced: its outline beyond the hole, lines and arcs exact."""

from __future__ import annotations

import math

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.curve import CR, R0, R1, RADIUS, START, SWEEP, Array, Path

#: A crossing this near to the end of a piece, as a share of it, lies on that end.
_SHARE = 1e-12


def pierced(blank: Path, hole_mm: float) -> Path:
    """Return the closed outline of a blank beyond a hole on its axle, running as before.

    Args:
        blank: closed outline, solid to the axle.
        hole_mm: diameter of the hole.

    Raises:
        GeometryError: the hole is none, or does not leave the blank in one piece with a plain hole.
    """
    if not hole_mm > 0.0:
        raise GeometryError(f"The hole is {hole_mm:g} mm in diameter; it must be more than 0.")
    r = hole_mm / 2.0
    found = [(k, share) for k, row in enumerate(blank.table) for share in _crossings(row, r)]
    if len(found) != 2:
        raise GeometryError(
            f"A hole of {hole_mm:g} mm does not leave the blank in one piece with a plain hole: its circle "
            f"meets the outline {len(found)} times; pierce another diameter."
        )
    # From where the outline leaves the hole to where it comes back.
    out = next(i for i, (k, share) in enumerate(found) if _rises(blank, k, share))
    (first, enters), (last, leaves) = found[out], found[1 - out]
    if first == last and leaves > enters:
        return Path.closed([_part(blank, first, enters, leaves), (*_point(blank, last, leaves), 0.0)])
    count = len(blank)
    rows = [_part(blank, first, enters, 1.0)]
    k = (first + 1) % count
    while k != last:
        rows.append(_part(blank, k, 0.0, 1.0))
        k = (k + 1) % count
    rows.append(_part(blank, last, 0.0, leaves))
    return Path.closed([*rows, (*_point(blank, last, leaves), 0.0)])


def _crossings(row: Array, r: float) -> list[float]:
    """Return the shares of a piece at which it crosses a radius, its end left to the next one."""
    if row[SWEEP] == 0.0:
        if (row[R0] - r) * (row[R1] - r) > 0.0 or row[R0] == row[R1]:
            return []
        shares = [(r - row[R0]) / (row[R1] - row[R0])]
    else:
        sine = (r - row[CR]) / row[RADIUS]
        if abs(sine) >= 1.0:
            return []
        turn, half = 2.0 * math.pi, math.asin(sine)
        angles = [a + turn * n for a in (half, math.pi - half) for n in range(-3, 4)]
        shares = [float((a - row[START]) / row[SWEEP]) for a in angles]
    return [float(s) for s in shares if -_SHARE <= s < 1.0 - _SHARE]


def _rises(path: Path, k: int, share: float) -> bool:
    """Return True where a piece leads away from the axle."""
    row = path.table[k]
    if row[SWEEP] == 0.0:
        return bool(row[R1] > row[R0])
    return bool(row[SWEEP] * math.cos(row[START] + share * row[SWEEP]) > 0.0)


def _part(path: Path, k: int, low: float, high: float) -> tuple[float, float, float]:
    """Return the start (z, r) and bulge of a piece between two shares of it."""
    z, r = _point(path, k, low)
    return z, r, math.tan(math.atan(float(path.bulges[k])) * (high - low))


def _point(path: Path, k: int, share: float) -> tuple[float, float]:
    z, r = path.at(np.array([k]), np.array([share]))[0]
    return float(z), float(r)

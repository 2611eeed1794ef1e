"""Metal on straight lines through a section, vectorised over many lines."""

from __future__ import annotations

import numpy as np

from geometry.shape.curve import Array, Flags, Path

Span = tuple[float, float]

#: Lines are moved by this, so that none runs through a vertex and counts it twice or not at all.
_ASIDE_MM = 1e-7


def along_z(path: Path, r: float) -> list[Span]:
    """Return the intervals (z low, z high) of metal on the line of constant r, rising in z."""
    return spans(path, np.array([r]), 0)[0]


def along_r(path: Path, z: float) -> list[Span]:
    """Return the intervals (r low, r high) of metal on the line of constant z, rising in r."""
    return spans(path, np.array([z]), 1)[0]


def spans(path: Path, levels: Array, axis: int) -> list[list[Span]]:
    """Return the intervals of metal on lines of constant r (axis 0, along z) or z (axis 1, along r), mm.

    A line that touches the skin without crossing it adds nothing; places are within 1e-6 mm.
    """
    other = 1 - axis
    level = (levels + _ASIDE_MM)[:, None]
    p, q = path.points, path.ends
    rise = q[:, other] - p[:, other]
    t = (level - p[:, other]) / np.where(rise != 0.0, rise, 1.0)
    on_line = ~path.is_arc & (rise != 0.0) & (t >= 0.0) & (t < 1.0)
    at_line = np.where(on_line, p[:, axis] + t * (q[:, axis] - p[:, axis]), np.inf)
    c, radius = path.centres, np.where(path.is_arc, path.radii, 1.0)
    half2 = radius**2 - (level - c[:, other]) ** 2
    half = np.sqrt(np.maximum(half2, 0.0))
    sides = []
    for sign in (1.0, -1.0):
        ok = path.is_arc & (half2 > 0.0) & _in_arc(path, sign * half, level - c[:, other], axis)
        sides.append(np.where(ok, c[:, axis] + sign * half, np.inf))
    table = np.sort(np.concatenate([at_line, *sides], axis=1), axis=1)
    out = []
    for row in table:
        places = row[np.isfinite(row)].tolist()
        out.append([(a, b) for a, b in zip(places[0::2], places[1::2], strict=False) if b > a])
    return out


def _in_arc(path: Path, along: Array, across: Array, axis: int) -> Flags:
    """Return (m, n) True where the direction from each arc's centre points at the arc."""
    dz, dr = (along, across) if axis == 0 else (across, along)
    first, last = path.points - path.centres, path.ends - path.centres
    sign = np.sign(path.bulges)
    after = sign * (first[:, 0] * dr - first[:, 1] * dz) >= 0.0
    before = sign * (dz * last[:, 1] - dr * last[:, 0]) > 0.0
    return np.asarray(after & before, dtype=np.bool_)

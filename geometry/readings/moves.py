"""How far a shape that touches the metal must move along one axis to be just clear.

Moved along an axis, two outlines meet while the offset lies between the least and the greatest difference of
their graphs over the common stretch of the other axis. The union of these ranges over all pairs of pieces is
where the outlines meet; between the ranges one area is either inside the other or clear of it.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

import numpy as np

from geometry.shape.curve import Array, Path
from geometry.shape.distance import contains


def clearing_move(metal: Path, shape: Path, axis: str) -> float:
    """Return the least signed shift in mm of `shape` along "z" or "r" that makes it just clear."""
    v = 0 if axis == "z" else 1
    a, b = _graphs(metal, v), _graphs(shape, v)
    low, high = _ranges(a, b)
    order = np.argsort(low)
    merged: list[list[float]] = []
    for lo, hi in zip(low[order].tolist(), high[order].tolist(), strict=True):
        if merged and lo <= merged[-1][1] + 1e-9:
            merged[-1][1] = max(merged[-1][1], hi)
        else:
            merged.append([lo, hi])
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
    w = 1 - v
    lines, arcs = np.flatnonzero(~path.is_arc), np.flatnonzero(path.is_arc)
    ends = [(path.points[lines], path.ends[lines], np.zeros((len(lines), 4)))]
    if len(arcs):
        # An arc turns back where its tangent runs along v: at most twice within 180 degrees.
        turn_back = np.array([0.0, np.pi]) if w == 0 else np.array([np.pi / 2.0, -np.pi / 2.0])
        turns = np.sign(path.sweeps[arcs])[:, None] * (turn_back - path.start_angles[arcs][:, None])
        t = np.mod(turns, 2.0 * np.pi) / np.abs(path.sweeps[arcs])[:, None]
        t = np.sort(np.where((t > 1e-12) & (t < 1.0 - 1e-12), t, 1.0), axis=1)
        stops = np.column_stack([np.zeros(len(arcs)), t, np.ones(len(arcs))])
        low, high = stops[:, :-1].ravel(), stops[:, 1:].ravel()
        piece = np.repeat(arcs, 3)
        some = high > low
        piece, low, high = piece[some], low[some], high[some]
        centre = path.centres[piece]
        middle = path.at(piece, (low + high) / 2.0)
        sign = np.where(middle[:, v] >= centre[:, v], 1.0, -1.0)
        round_ = np.column_stack([centre[:, w], centre[:, v], path.radii[piece], sign])
        ends.append((path.at(piece, low), path.at(piece, high), round_))
    rows = []
    for x, y, circle in ends:
        rising = (x[:, w] <= y[:, w])[:, None]
        first, second = np.where(rising, x, y), np.where(rising, y, x)
        rows.append(np.column_stack([first[:, w], second[:, w], first[:, v], second[:, v], circle]))
    return np.vstack(rows)


def _value(g: Array, w: Array) -> Array:
    """V of each graph at w; lines interpolate, arcs by their circle."""
    span = g[:, 1] - g[:, 0]
    t = np.where(span > 0.0, (w - g[:, 0]) / np.where(span > 0.0, span, 1.0), 0.0)
    line = g[:, 2] + t * (g[:, 3] - g[:, 2])
    arc = g[:, 5] + g[:, 7] * np.sqrt(np.maximum(g[:, 6] ** 2 - (w - g[:, 4]) ** 2, 0.0))
    return np.where(g[:, 6] > 0.0, arc, line)


def _ranges(a: Array, b: Array) -> tuple[Array, Array]:
    """Return least and greatest v(a) - v(b) over the common w of every pair of graphs that share any."""
    i, j = np.nonzero((a[:, 0][:, None] <= b[:, 1]) & (b[:, 0] <= a[:, 1][:, None]))
    g, h = a[i], b[j]
    w0, w1 = np.maximum(g[:, 0], h[:, 0]), np.minimum(g[:, 1], h[:, 1])
    ends = [_value(g, w) - _value(h, w) for w in (w0, w1)]
    # A line of constant w spans a range of its own.
    for flat, sign, other in ((g[:, 0] == g[:, 1], 1.0, h), (h[:, 0] == h[:, 1], -1.0, g)):
        own = g if sign > 0 else h
        for column in (2, 3):
            values = sign * (own[:, column] - _value(other, w0))
            both = (g[:, 0] == g[:, 1]) & (h[:, 0] == h[:, 1])
            ends.append(np.where(flat & ~both, values, ends[0]))
    both = (g[:, 0] == g[:, 1]) & (h[:, 0] == h[:, 1])
    for c in (2, 3):
        for d in (2, 3):
            ends.append(np.where(both, g[:, c] - h[:, d], ends[0]))
    for w in _equal_slopes(g, h):
        inside = (w > w0) & (w < w1)
        at = np.clip(w, w0, w1)
        ends.append(np.where(inside, _value(g, at) - _value(h, at), ends[0]))
    table = np.array(ends)
    return table.min(axis=0), table.max(axis=0)


def _equal_slopes(g: Array, h: Array) -> list[Array]:
    """Places w where the two graphs run parallel; NaN-free, outside values are harmless."""
    out = []
    for arc, line in ((g, h), (h, g)):
        mixed = (arc[:, 6] > 0.0) & (line[:, 6] == 0.0) & (line[:, 1] > line[:, 0])
        slope = np.where(
            mixed, (line[:, 3] - line[:, 2]) / np.where(mixed, line[:, 1] - line[:, 0], 1.0), 0.0
        )
        w = arc[:, 4] - arc[:, 7] * arc[:, 6] * slope / np.sqrt(1.0 + slope**2)
        out.append(np.where(mixed, w, -1e9))
    both = (g[:, 6] > 0.0) & (h[:, 6] > 0.0)
    kg, kh = g[:, 7] / np.where(both, g[:, 6], 1.0), h[:, 7] / np.where(both, h[:, 6], 1.0)
    level = kg - kh
    safe = np.where(level != 0.0, level, 1.0)
    w = (kg * g[:, 4] - kh * h[:, 4]) / safe
    out.append(np.where(both & (level != 0.0), w, -1e9))
    return out

"""Fewer vertices for an outline, which may grow a little and never shrinks.

The line between two kept vertices is moved outwards by as much as the vertices between them stick out, and
neighbouring lines meet in a new vertex. On a convex arc that gives the tangents, on a concave one the chords.
"""

from __future__ import annotations

import math

import numpy as np
import shapely

from geometry.compiled import compiled
from geometry.shape.curve import Array, Flags, Indices

#: Neighbouring lines that meet farther off than this times what was cut get a short edge between them.
_SPIKE = 3.0


def thinned(ring: Array, cut_mm: float) -> Array:
    """Return a counterclockwise ring (m, 2) that holds the ring (n, 2), with as few vertices as found.

    No place of it lies farther outside than about twice cut_mm.
    """
    count = len(ring)
    if count < 4:
        return ring
    start = int(np.argmax(ring[:, 0]))
    closed = np.vstack([ring[start:], ring[: start + 1]])
    far = int(np.argmax(np.hypot(closed[:, 0] - closed[0, 0], closed[:, 1] - closed[0, 1])))
    keep = np.zeros(count + 1, dtype=np.bool_)
    keep[[0, far, count]] = True
    _keep_far(closed, cut_mm, keep)
    kept = np.flatnonzero(keep)
    out = _moved_lines(closed, kept, _sticking_out(closed, kept), cut_mm)
    polygon, old = shapely.Polygon(out), shapely.Polygon(ring)
    if not polygon.is_valid or not polygon.buffer(1e-9).contains(old):
        grown = shapely.Polygon(closed[kept]).buffer(cut_mm, join_style="mitre", mitre_limit=1.5).union(old)
        assert isinstance(grown, shapely.Polygon), "what overlaps is one"
        outer = shapely.LinearRing(grown.exterior)
        out = np.array(outer.coords)[:-1][:: 1 if outer.is_ccw else -1]
    return out


@compiled
def _keep_far(points: Array, cut: float, keep: Flags) -> None:
    """Mark the vertices that lie farther than cut from the line between marked ones, the farthest first."""
    stack = np.empty((len(points), 2), dtype=np.int64)
    count, last = 0, 0
    for k in range(1, len(points)):
        if keep[k]:
            stack[count, 0], stack[count, 1] = last, k
            count += 1
            last = k
    while count:
        count -= 1
        i, j = stack[count, 0], stack[count, 1]
        dz, dr = points[j, 0] - points[i, 0], points[j, 1] - points[i, 1]
        span2 = dz * dz + dr * dr
        worst, at = cut * cut, -1
        for k in range(i + 1, j):
            wz, wr = points[k, 0] - points[i, 0], points[k, 1] - points[i, 1]
            t = (wz * dz + wr * dr) / span2 if span2 > 0.0 else 0.0
            t = min(max(t, 0.0), 1.0)
            away = (wz - t * dz) ** 2 + (wr - t * dr) ** 2
            if away > worst:
                worst, at = away, k
        if at >= 0:
            keep[at] = True
            stack[count, 0], stack[count, 1] = i, at
            stack[count + 1, 0], stack[count + 1, 1] = at, j
            count += 2


def _sticking_out(points: Array, kept: Indices) -> Array:
    """Return for each line between kept vertices how far the vertices between them lie to its right, mm."""
    out = np.zeros(len(kept) - 1)
    for n in range(len(kept) - 1):
        i, j = int(kept[n]), int(kept[n + 1])
        if j > i + 1:
            d = points[j] - points[i]
            w = points[i + 1 : j] - points[i]
            out[n] = max(0.0, float(np.max(w[:, 0] * d[1] - w[:, 1] * d[0])) / math.hypot(d[0], d[1]))
    return out


def _moved_lines(points: Array, kept: Indices, move: Array, cut: float) -> Array:
    """Return the ring in which the lines between kept vertices meet once each is moved to its right."""
    start, end = points[kept[:-1]], points[kept[1:]]
    d = end - start
    d = d / np.hypot(d[:, 0], d[:, 1])[:, None]
    right = np.column_stack([d[:, 1], -d[:, 0]])
    moved = start + right * move[:, None]
    out: list[Array] = []
    for n in range(len(d)):
        # The corner at the start of line n, between the line before it and this one.
        u, v = d[n - 1], d[n]
        corner = start[n]
        before, after = corner + right[n - 1] * move[n - 1], moved[n]
        turn = float(u[0] * v[1] - u[1] * v[0])
        if abs(turn) > 1e-9:
            w = after - before
            meet = before + u * float((w[0] * v[1] - w[1] * v[0]) / turn)
            if math.hypot(*(meet - corner)) <= _SPIKE * cut:
                out.append(meet)
                continue
        if move[n - 1] == move[n]:
            out.append(after)
        else:
            out += [before, after] if turn >= 0.0 else [after, before]
    return np.array(out)

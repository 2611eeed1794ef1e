"""Fewer vertices for an outline, which may grow a little and never shrinks.

Vertices are kept where a straight line between two of them would leave a strip wider than allowed. Each line
is then moved outwards until nothing of the outline sticks out over it, and neighbouring lines meet in a new
vertex: tangents on a convex arc, chords on a concave one, the line over the teeth of a staircase.
"""

from __future__ import annotations

import math

import numpy as np
import shapely

from geometry.compiled import compiled
from geometry.shape.curve import Array, Flags, Indices

#: Neighbouring lines that meet farther off than this times the strip's width, or farther outside than its
#: width, get a short edge between them.
_SPIKE = 3.0
#: Times that lines are moved on where a neighbour's chain still sticks out over them.
_PUSHES = 6
#: Lines longer than this, in widths of the strip, that turn by more than 25 degrees make a corner.
_LONG, _CORNER = 6.0, 0.906
#: How closely the growth beyond the ends of lines is found, mm.
_OVERHANG = 0.0002
#: What sticks out by less is rounding, mm.
_ROUNDING = 1e-9


def thinned(ring: Array, width_mm: float, most: int | None = None) -> tuple[Array, float] | None:
    """Return a ring that holds a given one, with few vertices, and how far outside it lies, mm.

    Args:
        ring: (n, 2) vertices of a simple polygon, counterclockwise.
        width_mm: of the strip that the old outline keeps within along each new line.
        most: vertices wanted at most; None is returned where there are more, or where no simple outline was
            found.

    """
    if len(ring) < 4:
        return ring, 0.0
    found = _thinned(ring, width_mm, most)
    if found is None:
        found = _widened(ring, width_mm / 2.5, most)
    return found if found is not None and len(found[0]) else None


def prepare() -> None:
    """Have the machine code made that a smooth outline does not need."""
    square = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0), (0.0, 0.0)])
    _push(square, np.arange(5), np.zeros(4), np.zeros(4, dtype=np.bool_), 0.1)


def _widened(ring: Array, width: float, most: int | None) -> tuple[Array, float] | None:
    """Return the outline of all that lies within a width of the lines between kept vertices.

    For a ring with clefts narrower than its lines would move: they are closed.
    """
    points = _from_far_end(ring)
    lines = shapely.LineString(points[_kept(points, width)])
    wide = lines.buffer(width + _ROUNDING, join_style="mitre", mitre_limit=1.5)
    assert isinstance(wide, shapely.Polygon), "one line gives one area"
    corners = np.array(wide.exterior.coords)[:-1]
    if most is not None and len(corners) > most:
        return None
    # The old outline lies in strips along the lines; a corner lies 1.5 widths from them at most.
    return np.ascontiguousarray(corners if wide.exterior.is_ccw else corners[::-1]), 2.5 * width


def _from_far_end(ring: Array) -> Array:
    """Return the ring from its vertex of largest z on, that vertex repeated at the end."""
    start = int(np.argmax(ring[:, 0]))
    return np.vstack([ring[start:], ring[: start + 1]])


def _thinned(ring: Array, width: float, most: int | None) -> tuple[Array, float] | None:
    """Return the new ring and its growth; no vertices if there would be too many, None if its lines cross."""
    points = _from_far_end(ring)
    kept = np.flatnonzero(_kept(points, width))
    too_many = np.empty((0, 2)), 0.0
    if most is not None and len(kept) - 1 > most:
        return too_many
    if len(kept) < 4:
        return None
    old, move = shapely.Polygon(ring), _sticking_out(points, kept)
    shapely.prepare(old)
    for _ in range(_PUSHES):
        out, grown = _moved_lines(points, kept, move, width)
        new = shapely.Polygon(out)
        if not new.is_valid:
            return None
        if most is not None and len(out) > most:
            return too_many
        outside = _outside(points[:-1], new)
        if not outside.any():
            # A vertex of the new outline within the old one would cut a corner between two old vertices.
            return (out, grown) if not _inside(out, old).any() else None
        if not _push(points, kept, move, outside, width):
            return None
    return None


def _outside(places: Array, polygon: shapely.Polygon) -> Flags:
    wide = polygon.buffer(_ROUNDING, join_style="mitre")
    shapely.prepare(wide)
    return np.asarray(~shapely.intersects_xy(wide, places))


def _inside(places: Array, polygon: shapely.Polygon) -> Flags:
    """Return which places lie in a prepared polygon, and not on its outline."""
    within = np.asarray(shapely.contains_xy(polygon, places))
    depth = shapely.distance(shapely.points(places[within]), polygon.exterior)
    within[within] = depth > _ROUNDING
    return within


def _kept(points: Array, width: float) -> Flags:
    """Return which vertices of a ring, first repeated last, lines with strips of this width run between."""
    keep = np.zeros(len(points), dtype=np.bool_)
    far = int(np.argmax(np.hypot(points[:, 0] - points[0, 0], points[:, 1] - points[0, 1])))
    keep[[0, far, len(points) - 1]] = True
    _keep_far(points, width, keep)
    _keep_corners(points, width, keep)
    return keep


@compiled
def _strip(points: Array, i: int, j: int) -> tuple[float, float, float, int]:
    """Return how far the vertices between two lie left, right and beyond their line; the farthest."""
    dz, dr = points[j, 0] - points[i, 0], points[j, 1] - points[i, 1]
    span = math.sqrt(dz * dz + dr * dr)
    if span > 0.0:
        dz, dr = dz / span, dr / span
    left = right = beyond = worst = 0.0
    at = -1
    for k in range(i + 1, j):
        wz, wr = points[k, 0] - points[i, 0], points[k, 1] - points[i, 1]
        along, off = wz * dz + wr * dr, dz * wr - dr * wz
        past = max(-along, along - span, 0.0)
        if span == 0.0:
            past = math.sqrt(wz * wz + wr * wr)
        left, right, beyond = max(left, off), max(right, -off), max(beyond, past)
        away = off * off + past * past
        if away > worst:
            worst, at = away, k
    return left, right, beyond, at


@compiled
def _keep_far(points: Array, width: float, keep: Flags) -> None:
    """Mark the farthest vertex between two marked ones until all lie within a strip between these."""
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
        left, right, beyond, at = _strip(points, i, j)
        if at >= 0 and (left + right > width or beyond > _ROUNDING):
            keep[at] = True
            stack[count, 0], stack[count, 1] = i, at
            stack[count + 1, 0], stack[count + 1, 1] = at, j
            count += 2


@compiled
def _keep_corners(points: Array, width: float, keep: Flags) -> None:
    """Keep the marks at corners, and between these as few as lines as long as possible need."""
    marked = np.flatnonzero(keep)
    i = 0
    keep[:] = False
    keep[0] = True
    for n in range(1, len(marked)):
        p, q = marked[n - 1], marked[n]
        is_corner = n == len(marked) - 1
        if not is_corner:
            s = marked[n + 1]
            uz, ur = points[q, 0] - points[p, 0], points[q, 1] - points[p, 1]
            vz, vr = points[s, 0] - points[q, 0], points[s, 1] - points[q, 1]
            one, two = math.sqrt(uz * uz + ur * ur), math.sqrt(vz * vz + vr * vr)
            is_corner = min(one, two) > _LONG * width and uz * vz + ur * vr < _CORNER * one * two
        if not is_corner:
            continue
        while i < q:
            # The farthest vertex that a strip reaches to: twice as far each time, then by halving.
            step = 1
            while i + 2 * step < q and _fits(points, i, i + 2 * step, width):
                step *= 2
            near, far = i + step, min(i + 2 * step, q) + 1
            while far - near > 1:
                middle = (near + far) // 2
                if _fits(points, i, middle, width):
                    near = middle
                else:
                    far = middle
            i = near
            keep[i] = True


@compiled
def _fits(points: Array, i: int, j: int, width: float) -> bool:
    left, right, beyond, _ = _strip(points, i, j)
    return left + right <= width and beyond <= _ROUNDING


@compiled
def _sticking_out(points: Array, kept: Indices) -> Array:
    """Return how far each line must move to its right to leave its own vertices to the left, mm.

    At a convex corner the vertices of the neighbouring line count too: both lines bound the outline there.
    """
    count = len(kept) - 1
    move = np.zeros(count)
    for n in range(count):
        i, j = kept[n], kept[n + 1]
        dz, dr = points[j, 0] - points[i, 0], points[j, 1] - points[i, 1]
        span = math.sqrt(dz * dz + dr * dr)
        dz, dr = dz / span, dr / span
        for other in (n - 1, n, n + 1):
            m = other % count
            uz, ur = points[kept[m + 1], 0] - points[kept[m], 0], points[kept[m + 1], 1] - points[kept[m], 1]
            turn = (dz * ur - dr * uz) * (other - n)
            if other != n and turn <= 0.0:
                continue
            for k in range(kept[m], kept[m + 1] + 1):
                off = dr * (points[k, 0] - points[i, 0]) - dz * (points[k, 1] - points[i, 1])
                move[n] = max(move[n], off)
    return move


@compiled
def _push(points: Array, kept: Indices, move: Array, outside: Flags, width: float) -> bool:
    """Move lines on over the vertices that stick out over them near their ends; False where none can be."""
    count, moved = len(kept) - 1, False
    for n in range(count):
        i, j = kept[n], kept[n + 1]
        dz, dr = points[j, 0] - points[i, 0], points[j, 1] - points[i, 1]
        span = math.sqrt(dz * dz + dr * dr)
        dz, dr = dz / span, dr / span
        for other in range(n - 2, n + 3):
            m = other % count
            for k in range(kept[m], kept[m + 1]):
                if not outside[k]:
                    continue
                wz, wr = points[k, 0] - points[i, 0], points[k, 1] - points[i, 1]
                along, off = wz * dz + wr * dr, dr * wz - dz * wr
                if -width <= along <= span + width and move[n] < off <= 2.0 * width:
                    move[n], moved = off + _ROUNDING, True
    return moved


@compiled
def _overhang(
    points: Array, chains: Indices, z0: float, r0: float, z1: float, r1: float, at_least: float
) -> float:
    """Return how far places of a segment lie from chains of vertices (2, 2) at most, mm, or the given figure.

    Along a segment the distance changes no faster than the place: parts that could hold more are halved.
    """
    stack = np.empty((64, 4))
    stack[0, 0], stack[0, 1], stack[0, 2], stack[0, 3] = z0, r0, z1, r1
    count = 1
    while count:
        count -= 1
        z0, r0, z1, r1 = stack[count, 0], stack[count, 1], stack[count, 2], stack[count, 3]
        z, r, half = (z0 + z1) / 2.0, (r0 + r1) / 2.0, math.sqrt((z1 - z0) ** 2 + (r1 - r0) ** 2) / 2.0
        nearest = np.inf
        for c in range(len(chains)):
            for k in range(chains[c, 0], chains[c, 1]):
                dz, dr = points[k + 1, 0] - points[k, 0], points[k + 1, 1] - points[k, 1]
                wz, wr = z - points[k, 0], r - points[k, 1]
                t = min(max((wz * dz + wr * dr) / (dz * dz + dr * dr), 0.0), 1.0)
                nearest = min(nearest, (wz - t * dz) ** 2 + (wr - t * dr) ** 2)
        away = math.sqrt(nearest)
        if away + half <= at_least:
            continue
        if half < _OVERHANG or count > 60:
            at_least = away + half
            continue
        stack[count, 0], stack[count, 1], stack[count, 2], stack[count, 3] = z0, r0, z, r
        stack[count + 1, 0], stack[count + 1, 1], stack[count + 1, 2], stack[count + 1, 3] = z, r, z1, r1
        count += 2
    return at_least


@compiled
def _moved_lines(points: Array, kept: Indices, move: Array, width: float) -> tuple[Array, float]:
    """Return the ring in which the moved lines meet, and how far it lies outside the old one at most, mm."""
    count = len(kept) - 1
    out, rows, grown = np.empty((2 * count, 2)), 0, 0.0
    chains = np.empty((2, 2), dtype=np.int64)
    for n in range(count):
        # What lies over a line's own vertices is no farther from these than its strip is wide.
        left, _, _, _ = _strip(points, kept[n], kept[n + 1])
        grown = max(grown, left + move[n])
    for n in range(count):
        before = (n - 1) % count
        i, j = kept[n], kept[n + 1]
        dz, dr = points[j, 0] - points[i, 0], points[j, 1] - points[i, 1]
        span = math.sqrt(dz * dz + dr * dr)
        dz, dr = dz / span, dr / span
        uz, ur = points[i, 0] - points[kept[before], 0], points[i, 1] - points[kept[before], 1]
        length = math.sqrt(uz * uz + ur * ur)
        uz, ur = uz / length, ur / length
        # The corner between the line before, through a, and this one, through b.
        az, ar = points[i, 0] + ur * move[before], points[i, 1] - uz * move[before]
        bz, br = points[i, 0] + dr * move[n], points[i, 1] - dz * move[n]
        turn = uz * dr - ur * dz
        t = ((bz - az) * dr - (br - ar) * dz) / turn if abs(turn) > 1e-9 else np.inf
        mz, mr = az + t * uz, ar + t * ur
        away = math.sqrt((mz - points[i, 0]) ** 2 + (mr - points[i, 1]) ** 2)
        on = (mz - bz) * dz + (mr - br) * dr
        meets = turn < 0.0 and -length <= t <= 0.0 and 0.0 <= on <= span
        if not meets and away <= _SPIKE * width:
            chains[0, 0], chains[0, 1], chains[1, 0], chains[1, 1] = kept[before], kept[before + 1], i, j
            over = _overhang(points, chains, az, ar, mz, mr, 0.0)
            over = _overhang(points, chains, bz, br, mz, mr, over)
            meets = over <= width or turn < 0.0
            grown = max(grown, over) if meets else grown
        if meets:
            out[rows, 0], out[rows, 1] = mz, mr
            rows += 1
        else:
            # A short edge over the vertex, no farther from it than the lines have moved.
            out[rows, 0], out[rows, 1], out[rows + 1, 0], out[rows + 1, 1] = az, ar, bz, br
            rows += 1 if az == bz and ar == br else 2
    return out[:rows].copy(), grown

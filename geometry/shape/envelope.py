"""The area that a body in space sweeps when it is turned about the axle, as an outline in (z, r).

Method: along the axle the body is cut into slabs. In a slab each triangle covers an interval of r: r is
convex along a straight line, so that its greatest value lies at a clipped corner, its least at one or at a
foot. Intervals are marked on a fine scale of r, rounded outwards.

    plain body   few distinct heights of corners: slabs end at every one, so that no corner lies within one;
                 the area is then bounded by straight lines between the intervals at the slab's two ends
    dense body   thin slabs of even height, each covered by what is covered anywhere in it

What no triangle covers is metal all the way round or empty all the way round: whether it is metal is asked
once per gap, by counting crossings of the body's surface with a ray from the axle. The slabs are joined to
areas and these thinned out, growing only. So the outline never lies inside the area.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from geometry.compiled import compiled
from geometry.errors import GeometryError
from geometry.shape.curve import Array, Flags, Indices, Path
from geometry.shape.thinning import thinned

#: Slabs of a plain body are at most this thick, mm, the first that the work allows: r hardly bends in them.
_PLAIN_MM = (0.1, 0.25, 0.5)
#: A body with more distinct heights of corners than this is a dense one.
_MOST_LEVELS = 2500
#: Triangles of a plain body pass this many slabs at most, all together.
_MOST_PLAIN = 8_000_000
#: Slabs of a dense body, mm: as thin as the work allows.
_THINNEST_MM, _THICKEST_MM = 0.008, 0.025
#: Triangles of a dense body pass about this many slabs.
_MOST_DENSE = 12_000_000
#: The scale of r, mm, of a plain and of a dense body.
_FINE_MM, _COARSE_MM = 0.0025, 0.008
#: Places this near to the end of a slab belong to one side of it only, mm.
_EDGE_MM = 1e-6
#: What thinning may cut, mm, finest first, where all together stays below _CLEAN_MM.
_THINNING_MM = (0.003, 0.006, 0.01, 0.014, 0.018, 0.022, 0.026)
_CLEAN_MM = 0.05
#: A body that takes more vertices than allowed is a rough one: its outline may lie this far outside, mm.
_ROUGH_MM = (0.1, 0.2, 0.5, 1.0, 2.0)
#: Longest body along the axle and farthest from it, mm.
_LONGEST_MM, _FARTHEST_MM = 2000.0, 1500.0
#: Directions about the axle in which crossings are counted, rad: no angle of a drawing.
_RAYS = (0.734561, 2.918273, 5.123419)
#: Separate intervals of r in one slab, at most; the last takes the rest.
_INTERVALS = 64

MOST_VERTICES = 300


@dataclass(frozen=True)
class Envelope:
    """What a body sweeps.

    Attributes:
        outlines: one for each area that lies apart, counterclockwise, largest first; both edges kept.
        tolerance_mm: how far outside the true area they may lie; they never lie inside.
        filled: enclosed voids that were filled: nothing can reach into them.
        doubtful: True where the surface does not tell inside from outside everywhere.
    """

    outlines: tuple[Path, ...]
    tolerance_mm: float
    filled: int
    doubtful: bool


@dataclass(frozen=True)
class _Slabs:
    """Slabs along the axle: their ends (n + 1,), mm, the scale of r, and whether the body is a plain one."""

    ends: Array
    scale_mm: float
    is_plain: bool


def swept(triangles: Array, is_sound: bool = True, most_vertices: int = MOST_VERTICES) -> Envelope:
    """Return the area swept by a body about the first axis.

    Args:
        triangles: (n, 3, 3) corners; the first coordinate runs along the axle, the axle is where the others
            are 0; mm.
        is_sound: the surface is closed and every triangle is turned outwards; else the insides are told by
            whether the number of crossings is odd, and voted on.
        most_vertices: of all outlines together.

    Raises:
        GeometryError: there is no triangle, a corner is not finite, or the body is too large.
    """
    body = np.ascontiguousarray(triangles, dtype=float).reshape(-1, 9)
    if not len(body):
        raise GeometryError("The body has no triangles.")
    if not np.all(np.isfinite(body)):
        raise GeometryError("A corner of the body is not a number.")
    slabs = _slabs(body)
    top = math.sqrt(float((body[:, 1::3] ** 2 + body[:, 2::3] ** 2).max()))
    if top > _FARTHEST_MM:
        raise GeometryError(f"The body reaches {top:.0f} mm from the axle; check unit and axle.")
    count, words = len(slabs.ends) - 1, math.ceil((top / slabs.scale_mm + 2.0) / _BITS)
    marks = np.zeros((count, words), dtype=np.int64)
    at_ends = np.zeros((2 * count if slabs.is_plain else 0, words), dtype=np.int64)
    _mark(body, slabs.ends, 1.0 / slabs.scale_mm, marks, at_ends)
    runs, counts = np.empty((count, 2 * _INTERVALS), dtype=np.int64), np.empty(count, dtype=np.int64)
    _runs(marks, runs, counts)
    doubtful = _fill_inside(body, slabs, runs, counts, is_sound)
    area = _area(slabs, runs, counts, at_ends)
    return _outlined(area, slabs, most_vertices, doubtful)


def _slabs(body: Array) -> _Slabs:
    """Return the slabs of a body: ends at every height of a corner where these are few."""
    z = body[:, 0::3]
    low, high = z.min(axis=1), z.max(axis=1)
    start, end = float(low.min()), float(high.max())
    if end - start > _LONGEST_MM:
        raise GeometryError(f"The body is {end - start:.0f} mm long along the axle; check unit and axle.")
    heights = float(np.sum(high - low))
    levels = np.unique(np.round(z, 6)) if len(body) < _MOST_PLAIN / 10 else np.empty(0)
    if 0 < len(levels) <= _MOST_LEVELS:
        # A face square to the axle gets a slab of its own, thin as a hair.
        flat = np.unique(np.round(low[high - low < _EDGE_MM], 6))
        levels = np.union1d(
            np.setdiff1d(levels, flat), np.concatenate([flat - 2 * _EDGE_MM, flat + 2 * _EDGE_MM])
        )
        for thick in _PLAIN_MM:
            parts = [
                np.linspace(a, b, math.ceil((b - a) / thick) + 1)[:-1] for a, b in pairwise(levels.tolist())
            ]
            ends = _proper(np.concatenate([*parts, levels[-1:]]))
            if np.sum(np.searchsorted(ends, high) - np.searchsorted(ends, low)) <= _MOST_PLAIN:
                return _Slabs(ends, _FINE_MM, True)
    thin = min(max(heights / _MOST_DENSE, _THINNEST_MM), _THICKEST_MM)
    return _Slabs(
        _proper(np.linspace(start, end, max(1, math.ceil((end - start) / thin)) + 1)), _COARSE_MM, False
    )


def _proper(ends: Array) -> Array:
    """Return rising ends of slabs that have a thickness."""
    if len(ends) > 1 and ends[-1] > ends[0]:
        return np.ascontiguousarray(ends)
    return np.array([ends[0] - _EDGE_MM, ends[0] + _EDGE_MM])


#: Bits of r in one word: all but the sign.
_BITS = 63


@compiled
def _slab_of(edges: Array, z: float) -> int:
    """Return the slab that holds z, by halving; the ends belong to the first and the last."""
    low, high = 0, len(edges) - 1
    while high - low > 1:
        middle = (low + high) // 2
        if edges[middle] <= z:
            low = middle
        else:
            high = middle
    return low


#: A chord this much nearer to the axle than its ends counts as being as near, mm.
_BULGE_MM = 0.0005


@compiled
def _foot(x0: float, y0: float, x1: float, y1: float) -> float:
    """Return the squared distance from the axle to a segment seen along it."""
    dx, dy = x1 - x0, y1 - y0
    square = dx * dx + dy * dy
    if square > 0.0:
        t = -(x0 * dx + y0 * dy) / square
        if 0.0 < t < 1.0:
            x0, y0 = x0 + t * dx, y0 + t * dy
        elif t >= 1.0:
            x0, y0 = x1, y1
    return x0 * x0 + y0 * y0


@compiled
def _set_bits(marks: Indices, k: int, first: int, last: int) -> None:
    """Set bits first to last of a slab; 63 to a word, so that no sign is met."""
    a, b = first // _BITS, last // _BITS
    for w in range(a, b + 1):
        low = first - _BITS * w if w == a else 0
        high = last - _BITS * w if w == b else _BITS - 1
        marks[k, w] |= ((np.int64(1) << (high - low)) - 1 + (np.int64(1) << (high - low))) << low


@compiled
def _mark(body: Array, edges: Array, per_mm: float, marks: Indices, at_ends: Indices) -> None:
    """Mark for every triangle the interval of r that it covers in each slab it passes.

    Where rows for them are given, the intervals at the lower and the upper end of slab k are marked in rows
    2 k and 2 k + 1.
    """
    for n in range(len(body)):
        # Corners in rising z.
        az, ax, ay = body[n, 0], body[n, 1], body[n, 2]
        bz, bx, by = body[n, 3], body[n, 4], body[n, 5]
        cz, cx, cy = body[n, 6], body[n, 7], body[n, 8]
        if az > bz:
            az, ax, ay, bz, bx, by = bz, bx, by, az, ax, ay
        if bz > cz:
            bz, bx, by, cz, cx, cy = cz, cx, cy, bz, bx, by
        if az > bz:
            az, ax, ay, bz, bx, by = bz, bx, by, az, ax, ay
        # Does the triangle, seen along the axle, hold the axle? Then it covers r = 0 somewhere.
        one, two, three = ax * by - ay * bx, bx * cy - by * cx, cx * ay - cy * ax
        round_axle = (one >= 0.0 and two >= 0.0 and three >= 0.0) or (
            one <= 0.0 and two <= 0.0 and three <= 0.0
        )
        # A chord passes the axle nearer than its ends by its square / (8 r) at most: nothing for a small one.
        wide = max(
            max((ax - bx) ** 2 + (ay - by) ** 2, (bx - cx) ** 2 + (by - cy) ** 2),
            (cx - ax) ** 2 + (cy - ay) ** 2,
        )
        near2 = min(min(ax * ax + ay * ay, bx * bx + by * by), cx * cx + cy * cy)
        is_small = wide * wide < 64.0 * near2 * _BULGE_MM * _BULGE_MM
        if is_small:
            round_axle = False
        first, last = _slab_of(edges, az + _EDGE_MM), _slab_of(edges, cz - _EDGE_MM)
        last = max(first, last)
        for k in range(first, last + 1):
            low = az if k == first else edges[k]
            high = cz if k == last else edges[k + 1]
            # Where the long edge a-c and the short one enter and leave the slab.
            t = (low - az) / (cz - az) if cz > az else 0.0
            lx0, ly0 = ax + t * (cx - ax), ay + t * (cy - ay)
            t = (high - az) / (cz - az) if cz > az else 1.0
            lx1, ly1 = ax + t * (cx - ax), ay + t * (cy - ay)
            if low < bz:
                t = (low - az) / (bz - az)
                sx0, sy0 = ax + t * (bx - ax), ay + t * (by - ay)
            else:
                t = (low - bz) / (cz - bz) if cz > bz else 0.0
                sx0, sy0 = bx + t * (cx - bx), by + t * (cy - by)
            if high <= bz:
                t = (high - az) / (bz - az) if bz > az else 1.0
                sx1, sy1 = ax + t * (bx - ax), ay + t * (by - ay)
            else:
                t = (high - bz) / (cz - bz)
                sx1, sy1 = bx + t * (cx - bx), by + t * (cy - by)
            most = max(
                max(lx0 * lx0 + ly0 * ly0, lx1 * lx1 + ly1 * ly1),
                max(sx0 * sx0 + sy0 * sy0, sx1 * sx1 + sy1 * sy1),
            )
            corner_in = low <= bz <= high
            if corner_in:
                most = max(most, bx * bx + by * by)
            if is_small:
                least = min(
                    min(lx0 * lx0 + ly0 * ly0, lx1 * lx1 + ly1 * ly1),
                    min(sx0 * sx0 + sy0 * sy0, sx1 * sx1 + sy1 * sy1),
                )
                if corner_in:
                    least = min(least, bx * bx + by * by)
                inner = math.sqrt(least) - _BULGE_MM
            else:
                least = min(
                    _foot(lx0, ly0, lx1, ly1), min(_foot(lx0, ly0, sx0, sy0), _foot(lx1, ly1, sx1, sy1))
                )
                if corner_in:
                    least = min(least, min(_foot(sx0, sy0, bx, by), _foot(bx, by, sx1, sy1)))
                else:
                    least = min(least, _foot(sx0, sy0, sx1, sy1))
                if round_axle and _holds_axle(lx0, ly0, sx0, sy0, bx, by, sx1, sy1, lx1, ly1, corner_in):
                    least = 0.0
                inner = math.sqrt(least)
            _set_bits(marks, k, int(max(inner, 0.0) * per_mm), int(math.sqrt(most) * per_mm))
            if len(at_ends):
                _mark_segment(at_ends, 2 * k, lx0, ly0, sx0, sy0, per_mm)
                _mark_segment(at_ends, 2 * k + 1, lx1, ly1, sx1, sy1, per_mm)


@compiled
def _mark_segment(
    marks: Indices, row: int, x0: float, y0: float, x1: float, y1: float, per_mm: float
) -> None:
    """Mark the interval of r of a segment square to the axle, and a little inwards for its bulge."""
    low = max(math.sqrt(_foot(x0, y0, x1, y1)) - _BULGE_MM, 0.0)
    high = math.sqrt(max(x0 * x0 + y0 * y0, x1 * x1 + y1 * y1))
    _set_bits(marks, row, int(low * per_mm), int(high * per_mm))


@compiled
def _holds_axle(
    x0: float,
    y0: float,
    x1: float,
    y1: float,
    x2: float,
    y2: float,
    x3: float,
    y3: float,
    x4: float,
    y4: float,
    with_corner: bool,
) -> bool:
    """Return True where the clipped triangle, seen along the axle, holds it; without a corner that is off."""
    if not with_corner:
        x2, y2 = x1, y1
    a, b, c = x0 * y1 - y0 * x1, x1 * y2 - y1 * x2, x2 * y3 - y2 * x3
    d, e = x3 * y4 - y3 * x4, x4 * y0 - y4 * x0
    left = a >= 0.0 and b >= 0.0 and c >= 0.0 and d >= 0.0 and e >= 0.0
    return left or (a <= 0.0 and b <= 0.0 and c <= 0.0 and d <= 0.0 and e <= 0.0)


@compiled
def _runs(marks: Indices, runs: Indices, counts: Indices) -> None:
    """Fill in first and last bit of every run of marked bits of each slab; the last run takes the rest."""
    most = runs.shape[1] // 2
    for k in range(len(marks)):
        count, inside = 0, False
        for w in range(marks.shape[1]):
            word = marks[k, w]
            if (word == 0 and not inside) or (inside and word == 0x7FFFFFFFFFFFFFFF):
                continue
            for b in range(_BITS):
                on = (word >> b) & 1
                if on and not inside:
                    if count < most:
                        runs[k, 2 * count] = _BITS * w + b
                        count += 1
                    inside = True
                elif inside and not on:
                    runs[k, 2 * count - 1] = _BITS * w + b - 1
                    inside = False
        if inside:
            runs[k, 2 * count - 1] = _BITS * marks.shape[1] - 1
        counts[k] = count


def _fill_inside(body: Array, slabs: _Slabs, runs: Indices, counts: Indices, is_sound: bool) -> bool:
    """Join runs across what is metal all the way round; return True where that is doubtful."""
    edges = slabs.ends
    gap_slab, gap_r = _gaps(slabs.scale_mm, runs, counts)
    if not len(gap_slab):
        return False
    votes = np.zeros(len(gap_slab), dtype=np.int64)
    for angle in _RAYS:
        turns = np.zeros(len(gap_slab), dtype=np.int64)
        first = np.searchsorted(gap_slab, np.arange(len(edges)))
        _cross(body, edges, math.cos(angle), math.sin(angle), first, gap_r, turns, is_sound)
        votes += (turns != 0) if is_sound else turns % 2
    inside = votes >= 2
    _close(runs, counts, np.searchsorted(gap_slab, np.arange(len(edges))), inside)
    return bool(np.any((votes == 1) | (votes == 2)))


def _gaps(scale_mm: float, runs: Indices, counts: Indices) -> tuple[Indices, Array]:
    """Return slab and middle r (mm) of every gap: from the axle to the first run, and between runs."""
    slabs = np.repeat(np.arange(len(counts)), counts)
    within = np.arange(len(slabs)) - np.repeat(np.cumsum(counts) - counts, counts)
    start = runs[slabs, 2 * within]
    before = np.where(within > 0, runs[slabs, np.maximum(2 * within - 1, 0)] + 1, 0)
    return slabs, (before + start) / 2.0 * scale_mm


@compiled
def _cross(
    body: Array,
    edges: Array,
    cos: float,
    sin: float,
    first: Indices,
    gap_r: Array,
    turns: Indices,
    signed: bool,
) -> None:
    """Count, for every gap, the crossings of the surface with the ray that leads outwards from it.

    The half-plane at the ray's angle cuts each triangle along a segment; in the middle of a slab that is one
    place. Crossings outwards count +1 and inwards -1 if signed, else each counts 1.
    """
    w = np.empty(3)
    u = np.empty(3)
    for n in range(len(body)):
        above = 0
        for c in range(3):
            x, y = body[n, 3 * c + 1], body[n, 3 * c + 2]
            u[c], w[c] = x * cos + y * sin, y * cos - x * sin
            above += w[c] > 0.0
        if above == 0 or above == 3:
            continue
        # Two edges cross the plane: their places (z, r).
        z0 = r0 = z1 = r1 = 0.0
        found = 0
        for c in range(3):
            d = (c + 1) % 3
            if (w[c] > 0.0) == (w[d] > 0.0):
                continue
            t = w[c] / (w[c] - w[d])
            z, r = body[n, 3 * c] + t * (body[n, 3 * d] - body[n, 3 * c]), u[c] + t * (u[d] - u[c])
            # The edge that rises through the plane comes first: the segment then runs with the metal left.
            if w[d] > 0.0:
                z0, r0 = z, r
            else:
                z1, r1 = z, r
            found += 1
        if found != 2 or (r0 <= 0.0 and r1 <= 0.0):
            continue
        low, high = min(z0, z1), max(z0, z1)
        for k in range(_slab_of(edges, low), _slab_of(edges, high) + 1):
            middle = (edges[k] + edges[k + 1]) / 2.0
            if (z0 <= middle) == (z1 <= middle):
                continue
            r = r0 + (middle - z0) / (z1 - z0) * (r1 - r0)
            sign = 1 if z1 > z0 or not signed else -1
            for g in range(first[k], first[k + 1]):
                if gap_r[g] < r:
                    turns[g] += sign


@compiled
def _close(runs: Indices, counts: Indices, first: Indices, inside: Flags) -> None:
    """Join each run to the one before it, or to the axle, where the gap between them is metal."""
    for k in range(len(counts)):
        kept = 0
        for n in range(counts[k]):
            start, end = runs[k, 2 * n], runs[k, 2 * n + 1]
            if inside[first[k] + n]:
                if kept:
                    runs[k, 2 * kept - 1] = end
                    continue
                start = 0
            runs[k, 2 * kept], runs[k, 2 * kept + 1] = start, end
            kept += 1
        counts[k] = kept


def _area(slabs: _Slabs, runs: Indices, counts: Indices, at_ends: Indices) -> shapely.Geometry:
    """Return the union of all runs as an area; runs that follow each other one to one are one polygon."""
    follows = np.empty_like(runs[:, :_INTERVALS])
    chains = _chained(runs, counts, follows)
    ends = (
        np.empty((len(counts) * _INTERVALS, 4), dtype=np.int64)
        if len(at_ends)
        else np.empty((0, 4), np.int64)
    )
    if len(at_ends):
        _at_ends(runs, counts, at_ends, ends)
    slab, run = np.nonzero(np.arange(_INTERVALS) < counts[:, None])
    chain = follows[slab, run]
    order = np.lexsort([slab, chain])
    slab, run, chain = slab[order], run[order], chain[order]
    starts = np.searchsorted(chain, np.arange(chains + 1))
    polygons = []
    for a, b in pairwise(starts.tolist()):
        k, n = slab[a:b], run[a:b]
        if len(at_ends):
            bits = ends[k * _INTERVALS + n]
            low, high = bits[:, [0, 2]].ravel(), bits[:, [1, 3]].ravel()
        else:
            low, high = np.repeat(runs[k, 2 * n], 2), np.repeat(runs[k, 2 * n + 1], 2)
        z = np.column_stack([slabs.ends[k], slabs.ends[k + 1]]).ravel()
        foot = np.column_stack([z, low * slabs.scale_mm])
        top = np.column_stack([z, (high + 1) * slabs.scale_mm])
        polygons.append(shapely.Polygon(np.vstack([foot, top[::-1]])))
    return shapely.union_all(polygons) if len(polygons) > 1 else polygons[0]


@compiled
def _chained(runs: Indices, counts: Indices, chain: Indices) -> int:
    """Fill in the chain of each run, from 0; a run goes on with the one overlapping run of the next slab."""
    found = 0
    for k in range(len(counts)):
        for n in range(counts[k]):
            chain[k, n] = -1
            if k == 0:
                continue
            before, partners = -1, 0
            for m in range(counts[k - 1]):
                if (
                    runs[k - 1, 2 * m] <= runs[k, 2 * n + 1] + 1
                    and runs[k, 2 * n] <= runs[k - 1, 2 * m + 1] + 1
                ):
                    before, partners = m, partners + 1
            if partners != 1:
                continue
            rivals = 0
            for m in range(counts[k]):
                if (
                    runs[k - 1, 2 * before] <= runs[k, 2 * m + 1] + 1
                    and runs[k, 2 * m] <= runs[k - 1, 2 * before + 1] + 1
                ):
                    rivals += 1
            if rivals == 1:
                chain[k, n] = chain[k - 1, before]
        for n in range(counts[k]):
            if chain[k, n] < 0:
                chain[k, n] = found
                found += 1
    return found


@compiled
def _at_ends(runs: Indices, counts: Indices, at_ends: Indices, out: Indices) -> None:
    """Fill in first and last bit of each run at the two ends of its slab, rows slab * _INTERVALS + run.

    A run that fills a void down to the axle, or metal all the way round, goes on as far as the slab's.
    """
    for k in range(len(counts)):
        for n in range(counts[k]):
            start, end = runs[k, 2 * n], runs[k, 2 * n + 1]
            for side in range(2):
                low, high = -1, -1
                for b in range(start, end + 1):
                    if (at_ends[2 * k + side, b // _BITS] >> (b % _BITS)) & 1:
                        low = b
                        break
                for b in range(end, start - 1, -1):
                    if (at_ends[2 * k + side, b // _BITS] >> (b % _BITS)) & 1:
                        high = b
                        break
                if low < 0:
                    low, high = start, end
                out[k * _INTERVALS + n, 2 * side] = 0 if start == 0 else low
                out[k * _INTERVALS + n, 2 * side + 1] = high


def _outlined(area: shapely.Geometry, slabs: _Slabs, most_vertices: int, doubtful: bool) -> Envelope:
    """Return outlines round an area, thinned out as far as the vertices allowed ask."""
    parts = sorted(getattr(area, "geoms", [area]), key=lambda p: -p.area)
    filled = sum(len(p.interiors) for p in parts)
    solid = shapely.union_all([shapely.Polygon(p.exterior) for p in parts])
    rings = [
        np.array(shapely.orient_polygons(p).exterior.coords)[:-1] for p in getattr(solid, "geoms", [solid])
    ]
    thick = 0.0 if slabs.is_plain else float(np.diff(slabs.ends).max())
    own = thick + slabs.scale_mm + 2.0 * _BULGE_MM
    steps = [cut for cut in _THINNING_MM if own + 1.5 * cut <= _CLEAN_MM]
    steps += [(rough - own) / 1.5 for rough in _ROUGH_MM]
    for cut in steps:
        thin = [thinned(ring, cut) for ring in rings]
        if sum(map(len, thin)) <= most_vertices:
            break
    paths = [
        Path.closed(np.column_stack([p[:, 0], np.maximum(p[:, 1], 0.0)])).counterclockwise() for p in thin
    ]
    # How far the thinned outlines really went beyond the area, instead of how far they may go.
    grown = float(shapely.hausdorff_distance(shapely.union_all([shapely.Polygon(p) for p in thin]), solid))
    return Envelope(
        tuple(sorted(paths, key=lambda p: -p.area)), own + min(grown, 1.5 * cut), filled, doubtful
    )

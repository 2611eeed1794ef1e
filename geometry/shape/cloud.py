"""The outline round points in any order: a scan, the points of a measuring arm, an outline out of order.

Words:
    step      how far apart two points may lie and still bar the way between them
    outside   what can be reached from far off over edges longer than a step
    lonely    a point whose eighth neighbour is far off

Method: the points are joined to triangles (Delaunay); from outside every triangle is entered over edges
longer than the step, and what is never entered is the body. So both edges of it are kept, and voids that
points enclose are filled: nothing can reach into them. The step is the longest one needed to go from each
point to some other (the longest edge of the shortest tree), leaps of a tenth of the whole left out as gaps
between bodies; it grows until no point that must be held is left alone. Where twice that step would
close a ring of points whose inside is left open, it grows until it does. Half as much again is barred, so
that the outline rather grows where points lie unevenly.

The outline runs through points, straight between neighbours. What stands out between them is not seen.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.ndimage import binary_dilation, label
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from geometry.errors import GeometryError
from geometry.shape.ball import less_ball
from geometry.shape.curve import Array, Flags, Indices
from geometry.shape.thinning import thinned
from geometry.shape.triangles import Triangles

MOST_VERTICES = 300

#: Leaps over this share of the whole part two bodies.
_APART = 0.1
#: Bodies that lie apart, at most; more of them are joined by a longer step.
_MOST_BODIES = 12
#: An outline round less than this share of what twice the step gives runs round the skin of an open ring.
_CLOSED = 0.8
#: Over edges up to this many times the step nothing passes: points lie unevenly, the outline rather grows.
_BARRED = 1.5
#: How the step grows while points are left alone.
_GROWTH = 1.15
#: Points that are joined to triangles; of more, those well within the body are left out, then those that
#: are not the farthest of their cell in some of these directions.
_MOST_JOINED = 50_000
_OF_A_CELL = 6
_DIRECTIONS = tuple((math.cos(k * math.pi / 8.0), math.sin(k * math.pi / 8.0)) for k in range(8))
#: Neighbours that tell how lonely a point is, and how many times as lonely as the usual one a stray is.
_NEIGHBOURS, _STRAY = 8, 4.0
#: Points that are left out one by one where they stand out, at most; how often all are joined anew for that.
_MOST_PEELED = 20_000
_PEELING, _MOST_ROUNDS = 200_000, 40
#: Places this near to an outline lie on it, as a share of the whole.
_ON = 1e-9
#: Strips that thinning may take, as shares of the whole, finest first.
_WIDTHS = tuple(2e-5 * 1.4**k for k in range(32))
#: Vertices of one ring that a probe ball is taken off from.
_MOST_ROLLED = 3000


@dataclass(frozen=True)
class Gathered:
    """The outline round points.

    Attributes:
        rings: (n, 2) vertices of each area that lies apart, counterclockwise, largest first.
        outside: (m, 2) points that lie outside them.
        step: between neighbouring points along the outline, at most; what stands out between is not seen.
        tolerance: how far from the nearest point the outline may lie, the probe ball aside.
        lost: a place where the body is too thin for the probe ball, None where there is none.
        short: how much farther than its radius the outline lies from a ball's centre at most.
    """

    rings: tuple[Array, ...]
    outside: Array
    step: float
    tolerance: float
    lost: tuple[float, float] | None = None
    short: float = 0.0


def gathered(
    points: Array, share: float = 1.0, ball: float = 0.0, most_vertices: int = MOST_VERTICES
) -> Gathered:
    """Return the outline round points.

    Args:
        points: (n, 2) finite places, in any unit.
        share: of the points that the outline must hold; what stands out or lies alone is left out first.
        ball: radius of the probe ball whose centres the points are, 0 for points of the surface.
        most_vertices: of all rings together.

    Raises:
        GeometryError: fewer than three points, or all on one line; no outline of so few vertices was found.
    """
    size = math.hypot(*np.ptp(points, axis=0)) if len(points) else 0.0
    if not size > 0.0 or not math.isfinite(size):
        raise GeometryError("The points lie on one place; an outline needs three that are not on one line.")
    spare = math.floor((1.0 - share) * len(points) + 1e-9)
    held = _held(points, spare, size)
    rim, cell = _rim(held)
    triangles, step = Triangles(rim), 0.0
    while True:
        inside, step = _body(triangles, size, max(3.0 * cell, step))
        edge, longest = triangles.edge(inside)
        faces = shapely.polygonize([shapely.LineString(stretch) for stretch in rim[edge]])
        area, bridged = _over_cells(held, _many(shapely.union_all(_polygons(faces))), cell, size)
        outside = _outside(points, area, size)
        if len(outside) <= spare or step >= size:
            break
        step *= _GROWTH
    lost, short = None, 0.0
    if ball > 0.0:
        area, lost, short = _rolled(area, ball, size)
    rings, grown = _few(area, size, most_vertices)
    if grown and ball == 0.0:
        outside = _outside(outside, shapely.union_all([shapely.Polygon(ring) for ring in rings]), size)
    return Gathered(rings, outside, longest, longest / 2.0 + bridged + grown, lost, short)


def _body(triangles: Triangles, size: float, least_step: float = 0.0) -> tuple[Flags, float]:
    """Return which triangles are the body, and the step that made them so."""
    step = max(triangles.longest_branch(_APART * size) * (1.0 + 1e-9), least_step)
    least_area = 0.0
    while step < size:
        inside = triangles.inside(step)
        if triangles.is_whole(inside, _MOST_BODIES):
            least_area = least_area or _CLOSED * triangles.area(triangles.inside(2.0 * step))
            if triangles.area(inside) >= least_area:
                break
        step *= _GROWTH
    return triangles.inside(_BARRED * step), step


# Which points count


def _held(points: Array, spare: int, size: float) -> Array:
    """Return the points that the outline is drawn round: all but so many.

    Of few points the strays are left out, then those that stand out farthest from their neighbours along the
    outline, a few at a time; of many, which lie closer together than their noise, the loneliest.
    """
    if not spare:
        return points
    if len(points) > _MOST_PEELED:
        return points[~_loneliest(_far(points, spare), spare)]
    far = _far(points, spare)
    kept = points[~(_loneliest(far, spare) & (far > _STRAY * np.median(far)))]
    rounds = max(min(_PEELING // len(points), _MOST_ROUNDS), 1)
    spare -= len(points) - len(kept)
    for left in range(rounds, 0, -1):
        count = math.ceil(spare / left)
        if not count:
            break
        try:
            out = _standing_out(kept, count, size)
        except GeometryError:
            break
        kept, spare = np.delete(kept, out, axis=0), spare - len(out)
    return kept


def _standing_out(points: Array, count: int, size: float) -> Indices:
    """Return at most so many points of the outline that stand out farthest, no neighbours among them."""
    triangles = Triangles(points)
    edge, _ = triangles.edge(_body(triangles, size)[0])
    # Where two parts of the outline meet in a point it has no one neighbour.
    single = (np.bincount(edge[:, 0], minlength=len(points)) == 1)[edge[:, 0]]
    before, after = np.full(len(points), -1), np.full(len(points), -1)
    after[edge[:, 0]], before[edge[:, 1]] = edge[:, 1], edge[:, 0]
    at = edge[single, 0]
    base, tip = points[after[at]] - points[before[at]], points[at] - points[before[at]]
    height = (tip[:, 0] * base[:, 1] - tip[:, 1] * base[:, 0]) / np.maximum(np.hypot(*base.T), 1e-300)
    taken: list[int] = []
    barred: set[int] = set()
    for k in np.argsort(-height, kind="stable"):
        if len(taken) == count or height[k] <= 0.0:
            break
        n = int(at[k])
        if n not in barred:
            taken.append(n)
            barred |= {n, int(before[n]), int(after[n])}
    return np.array(taken, dtype=np.intp)


def _far(points: Array, count: int) -> Array:
    """Return how far the eighth neighbour of each point is; 0 where it is not among the loneliest."""
    near = min(_NEIGHBOURS, len(points) - 1)
    tree = cKDTree(points, balanced_tree=False, compact_nodes=False)
    at = np.arange(len(points))
    most = max(3 * count, _MOST_JOINED)
    if len(points) > most:
        # Only points of thinly covered cells can be among them.
        at = at[np.argsort(_neighbourhood(points), kind="stable")[:most]]
    far = np.zeros(len(points))
    far[at] = tree.query(points[at], near + 1)[0][:, -1]
    return far


def _loneliest(far: Array, count: int) -> Flags:
    found = np.zeros(len(far), dtype=np.bool_)
    found[np.argsort(-far, kind="stable")[:count]] = True
    return found


def _cells(points: Array, side: float) -> tuple[Indices, Indices, Indices]:
    """Return the rows and columns of the cells that hold points, and the cell of each point."""
    place = np.floor((points - points.min(axis=0)) / side).astype(np.int64)
    width = int(place[:, 1].max()) + 3
    keys, of_point = np.unique((place[:, 0] + 1) * width + place[:, 1] + 1, return_inverse=True)
    return keys // width, keys % width, of_point


def _neighbourhood(points: Array) -> Indices:
    """Return how many points lie in the cell of each and the eight round it."""
    side = math.sqrt(max(np.prod(np.ptp(points, axis=0)), 1e-300) / len(points) * _NEIGHBOURS)
    rows, columns, of_point = _cells(points, side)
    count = np.zeros((int(rows.max()) + 2, int(columns.max()) + 2), dtype=np.int64)
    np.add.at(count, (rows, columns), np.bincount(of_point))
    around = sum(np.roll(count, (i, j), (0, 1)) for i in (-1, 0, 1) for j in (-1, 0, 1))
    return np.asarray(around)[rows, columns][of_point]


def _rim(points: Array) -> tuple[Array, float]:
    """Return points that tell the outline, and the side of the cells by which they were chosen, 0 for all.

    Only points of cells that the outside touches can lie on an outline; at any step of three cells those bar
    the way to all others.
    """
    kept, cell = points, 0.0
    side = math.hypot(*np.ptp(points, axis=0)) / 3000.0
    while len(kept) > _MOST_JOINED:
        rows, columns, of_point = _cells(points, side)
        empty = np.ones((int(rows.max()) + 2, int(columns.max()) + 2), dtype=np.bool_)
        empty[rows, columns] = False
        # Through corners between two cells nothing passes: their points are near enough to bar it.
        parts, _ = label(empty)
        open_ = parts == parts[0, 0]
        touched = binary_dilation(open_, np.ones((3, 3), dtype=np.bool_))[rows, columns]
        if np.sum(touched) * _OF_A_CELL < _MOST_JOINED:
            at_rim = touched[of_point]
            kept = points[at_rim]
            if len(kept) > _MOST_JOINED:
                kept = kept[_farthest(kept, of_point[at_rim])]
        cell, side = side, 1.5 * side
    return kept, cell


def _farthest(points: Array, of_point: Indices) -> Flags:
    """Return which points lie farthest in their cell in one of sixteen directions, one for each."""
    order = np.argsort(of_point, kind="stable")
    sorted_, cell = points[order], of_point[order]
    starts = np.flatnonzero(np.diff(cell, prepend=-1) != 0)
    of_start = np.repeat(np.arange(len(starts)), np.diff(np.append(starts, len(points))))
    out = np.zeros(len(points), dtype=np.bool_)
    for direction in _DIRECTIONS:
        along = sorted_ @ np.array(direction)
        for least in (np.minimum, np.maximum):
            # Of points on a line square to the direction the first stands for all; others find its ends.
            at = np.flatnonzero(along == least.reduceat(along, starts)[of_start])
            first = np.flatnonzero(np.diff(of_start[at], prepend=-1) != 0)
            out[order[at[first]]] = True
    return out


# Areas


def _many(area: BaseGeometry) -> shapely.MultiPolygon:
    """Return the polygons of an area without their holes, largest first."""
    filled = shapely.union_all([shapely.Polygon(p.exterior) for p in _polygons(area)])
    found = _polygons(filled)
    found.sort(key=lambda p: -p.area)
    return shapely.MultiPolygon(found)


def _polygons(area: BaseGeometry) -> list[shapely.Polygon]:
    parts: list[BaseGeometry] = list(getattr(area, "geoms", [area]))
    return [p for p in parts if isinstance(p, shapely.Polygon) and p.area > 0.0]


def _outside(points: Array, area: BaseGeometry, size: float) -> Array:
    """Return the points that lie outside an area."""
    wide = area.buffer(_ON * size, join_style="mitre")
    shapely.prepare(wide)
    return points[~shapely.intersects_xy(wide, points)]


def _over_cells(
    points: Array, area: shapely.MultiPolygon, cell: float, size: float
) -> tuple[shapely.MultiPolygon, float]:
    """Return an area grown over points of its cells that were left out, and by how much."""
    if not cell:
        return area, 0.0
    left = np.asarray(shapely.points(_outside(points, area, size)))
    rings = [np.array(polygon.exterior.coords) for polygon in area.geoms]
    edges = np.asarray(
        shapely.linestrings(np.concatenate([np.stack([r[:-1], r[1:]], axis=1) for r in rings]))
    )
    away = shapely.distance(left, edges[shapely.STRtree(edges).nearest(left)]) if len(left) else np.empty(0)
    near = float(np.max(away[away <= cell], initial=0.0))
    return (
        (_many(area.buffer(near, join_style="mitre", mitre_limit=1.5)), 1.5 * near) if near else (area, 0.0)
    )


def _ring(polygon: shapely.Polygon) -> Array:
    """Return the vertices of a polygon, counterclockwise, none repeated."""
    ring = np.array(shapely.geometry.polygon.orient(polygon).exterior.coords)[:-1]
    return np.ascontiguousarray(ring)


def _rolled(
    area: shapely.MultiPolygon, ball: float, size: float
) -> tuple[shapely.MultiPolygon, tuple[float, float] | None, float]:
    """Return an area less a probe ball's radius, where it is too thin, and how short the ball falls."""
    parts: list[BaseGeometry] = []
    lost, short = None, 0.0
    for polygon in area.geoms:
        ring = _ring(polygon)
        for share in _WIDTHS:
            if len(ring) <= _MOST_ROLLED:
                break
            ring = (thinned(ring, share * size) or (ring, 0.0))[0]
        less = less_ball(ring, ball)
        parts.append(less.area)
        lost, short = lost or less.lost, max(short, less.short)
    return _many(shapely.union_all(parts)), lost, short


def _few(area: shapely.MultiPolygon, size: float, most: int) -> tuple[tuple[Array, ...], float]:
    """Return the rings of an area with at most so many vertices, and how far they lie outside it.

    Raises:
        GeometryError: none were found.
    """
    grown = 0.0
    for share in (0.0, *_WIDTHS):
        rings = [_ring(polygon) for polygon in area.geoms]
        if share:
            thin = [thinned(ring, share * size, most) for ring in rings]
            if any(t is None for t in thin):
                continue
            rings = [t[0] for t in thin if t is not None]
            grown = max((t[1] for t in thin if t is not None), default=0.0)
            if len(rings) > 1:
                rings = [
                    _ring(p) for p in _many(shapely.union_all([shapely.Polygon(r) for r in rings])).geoms
                ]
        if sum(map(len, rings)) <= most:
            return tuple(rings), grown
    raise GeometryError(f"The points lie too unevenly for an outline of {most} vertices; read fewer of them.")

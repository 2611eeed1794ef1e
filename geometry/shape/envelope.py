"""The area that a body in space sweeps when it is turned about the axle, as an outline in (z, r).

The surface sets cells of a fine grid in (z, r) (geometry.shape.raster). What it leaves unset is metal all the
way round or empty all the way round, since a circle about the axle that meets no surface lies on one side of
it. Metal is shut off from the outside by surface, at every angle; so all that is shut off is filled, and the
outside of that is the outline. How the triangles are turned, whether bodies overlap and whether one lies in
another does not matter. The outline is then thinned out, growing only: it never lies inside the area.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.compiled import compiled
from geometry.errors import GeometryError
from geometry.shape.cells import fill, islands, outline, runs
from geometry.shape.curve import Array, Path
from geometry.shape.raster import Extent, Grid, covered, extent, widening
from geometry.shape.thinning import thinned

#: Cells, mm: as fine as the work allows, which is memory touched, the fewer the more triangles there are
#: besides, rows of cells set, and words of 64 cells in them: a few hundred large triangles touch each word
#: hundreds of times.
_FINEST_MM = 0.002
_MOST_CELLS, _LEAST_CELLS, _CELLS_LESS = 1.6e9, 2.5e8, 1.3e3
_MOST_ROWS, _MOST_WORDS = 3e7, 2.5e9
#: A clean body's outline lies this far outside at most, mm. What thinning may cut of it is tried from the
#: teeth of a staircase of cells on, each time as much more: those of a straight edge are a cell deep, and one
#: more where a piece set a cell beyond its own.
CLEAN_MM = 0.05
_TOOTH, _MORE = 2.0, 1.25
#: A body that takes more vertices than allowed is a rough one: its outline may lie this far outside, mm.
ROUGH_MM = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0)
#: Longest body along the axle and farthest from it, mm.
LONGEST_MM, FARTHEST_MM = 2000.0, 1500.0
#: Growth that differs by less is the same, mm.
_ROUNDING = 1e-9
#: Enclosed voids smaller than this are not worth a word, mm2.
_VOID_MM2 = 0.25
#: Directions about the axle in which crossings are counted, rad: no angle of a drawing.
_RAYS = (0.734561, 2.918273, 5.123419)

_TOO_ROUGH = "The body sweeps {} areas that lie apart, too rough for {} vertices; take single bodies of it."

MOST_VERTICES = 300


@dataclass(frozen=True)
class Envelope:
    """What a body sweeps.

    Attributes:
        outlines: one for each area that lies apart, counterclockwise, largest first; both edges kept.
        tolerance_mm: how far outside the true area they may lie; they never lie inside.
        filled: enclosed voids that were filled: nothing can reach into them.
    """

    outlines: tuple[Path, ...]
    tolerance_mm: float
    filled: int


def swept(triangles: Array, grow_mm: float = 0.0, most_vertices: int = MOST_VERTICES) -> Envelope:
    """Return the area swept by a body about the first axis.

    Args:
        triangles: (n, 3, 3) corners; the first coordinate runs along the axle, the axle is where the others
            are 0; mm.
        grow_mm: how far the true surface may lie outside the triangles; the area is grown by as much.
        most_vertices: of all outlines together.

    Raises:
        GeometryError: there is no triangle, a corner is not finite, the body is too large, or its area has
            too many parts for the vertices.
    """
    body = np.ascontiguousarray(triangles, dtype=float).reshape(-1, 9)
    if not len(body):
        raise GeometryError("The body has no triangles.")
    size = Extent(*extent(body))
    _check(size)
    grid = _grid(size, len(body), grow_mm)
    cells = covered(body, grid, grow_mm)
    least = max(1, round(_VOID_MM2 / (grid.step_z * grid.step_r)))
    filled = _voids(body, grid, fill(cells, *runs(cells, grid.count_z), grid.r_low <= 0.0, least))
    first, start, end = runs(cells, grid.count_z)
    which = islands(first, start, end).tolist()
    if 3 * len(which) > most_vertices:
        raise GeometryError(_TOO_ROUGH.format(len(which), most_vertices))
    step = np.searchsorted(first, np.arange(len(start)), side="right") - 1
    low, size_of = np.array([grid.z_low, grid.r_low]), np.array([grid.step_z, grid.step_r])
    rings = [low + outline(cells, int(step[n]), int(start[n])) * size_of for n in which]
    own = math.hypot(grid.step_z, grid.step_r) + widening(grid.step_r) + math.sqrt(2.0) * grow_mm
    tooth = _TOOTH * max(grid.step_z, grid.step_r)
    paths, grown = _thin(rings, tooth, own, most_vertices)
    return Envelope(tuple(sorted(paths, key=lambda p: -p.area)), own + grown, filled)


def _check(size: Extent) -> None:
    if not all(map(math.isfinite, size)):
        raise GeometryError("A corner of the body is not a number.")
    if size.z_high - size.z_low > LONGEST_MM:
        raise GeometryError(
            f"The body is {size.z_high - size.z_low:.0f} mm long along the axle; check unit and axle."
        )
    if size.r_high > FARTHEST_MM:
        raise GeometryError(f"The body reaches {size.r_high:.0f} mm from the axle; check unit and axle.")


def _grid(size: Extent, triangles: int, grow: float) -> Grid:
    """Return cells that end where the body ends: as fine as memory and work allow."""
    spare = 1e-6
    z_low, z_high = size.z_low - grow - spare, size.z_high + grow + spare
    r_low, r_high = size.r_low - grow - spare, size.r_high + grow + spare
    long, wide = z_high - z_low, r_high - r_low
    most = max(_MOST_CELLS - _CELLS_LESS * triangles, _LEAST_CELLS)
    work = max(size.rows_mm / _MOST_ROWS, math.sqrt(size.area_mm2 / (64.0 * _MOST_WORDS)))
    cell = max(_FINEST_MM, math.sqrt(long * wide / most), work)
    count_z, count_r = max(1, math.ceil(long / cell)), max(1, math.ceil(wide / cell))
    return Grid(z_low, r_low, long / count_z, wide / count_r, count_z, count_r)


def _thin(rings: list[Array], tooth: float, own: float, most: int) -> tuple[list[Path], float]:
    """Return outlines round rings, thinned out as far as the vertices allowed ask, and how far they grew."""
    limits = [limit - own for limit in (CLEAN_MM, *ROUGH_MM) if limit > own + tooth]
    steps = [tooth * _MORE**k for k in range(64) if limits and tooth * _MORE**k < limits[-1]]
    far = None
    for cut in sorted([*steps, *limits]):
        found = _thinned_all(rings, cut, most)
        allowed = min(limit for limit in limits if limit >= cut)
        # Where lines meet in a point they can lie farther out than each of them does.
        if found is not None and found[1] <= allowed + _ROUNDING:
            return found
        far = found if far is None else far
    if far is None:
        raise GeometryError(_TOO_ROUGH.format(len(rings), most))
    return far


def _thinned_all(rings: list[Array], cut: float, most: int) -> tuple[list[Path], float] | None:
    """Return outlines round rings with strips of a width, and how far they grew.

    None with too many vertices.
    """
    thin: list[Array] = []
    grown = 0.0
    for ring in rings:
        found = thinned(ring, cut, most - sum(map(len, thin)))
        if found is None:
            return None
        thin.append(found[0])
        grown = max(grown, found[1])
    united = _above_axle(shapely.union_all([shapely.Polygon(ring) for ring in thin]))
    parts = [shapely.Polygon(p.exterior) for p in getattr(united, "geoms", [united])]
    corners = [np.array(p.exterior.coords)[:-1] for p in parts]
    if sum(map(len, corners)) > most:
        return None
    return [
        Path.closed(np.column_stack([p[:, 0], np.maximum(p[:, 1], 0.0)])).counterclockwise() for p in corners
    ], grown


def _above_axle(area: BaseGeometry) -> BaseGeometry:
    """Cut off what reaches below the axle: lifting its corners alone would draw the edges beside them in."""
    z_low, r_low, z_high, r_high = area.bounds
    if r_low >= 0.0:
        return area
    cut = area.intersection(shapely.box(z_low - 1.0, 0.0, z_high + 1.0, r_high + 1.0))
    return shapely.MultiPolygon([p for p in getattr(cut, "geoms", [cut]) if isinstance(p, shapely.Polygon)])


def _voids(body: Array, grid: Grid, gaps: Array) -> int:
    """Return how many of the enclosed gaps are empty and not metal, by the surface's crossings on rays."""
    found = 0
    for _, z, r in gaps[np.argsort(-gaps[:, 0])][:16]:
        at_z, at_r = grid.z_low + (z + 0.5) * grid.step_z, grid.r_low + (r + 0.5) * grid.step_r
        crossings = [_crossings(body, at_z, at_r, math.cos(a), math.sin(a)) for a in _RAYS]
        # Within two bodies at once the number is even, but the surface passed outwards more than inwards.
        found += sum(number % 2 == 1 or outwards != 0 for number, outwards in crossings) < 2
    return found


@compiled
def _crossings(body: Array, at_z: float, at_r: float, cos: float, sin: float) -> tuple[int, int]:
    """Return how often the surface crosses the ray outwards from a place, and how many more are outwards."""
    u, w = np.empty(3), np.empty(3)
    count = outwards = 0
    for n in range(len(body)):
        low, high = min(body[n, 0], body[n, 3], body[n, 6]), max(body[n, 0], body[n, 3], body[n, 6])
        if low > at_z or high < at_z:
            continue
        above = 0
        for c in range(3):
            x, y = body[n, 3 * c + 1], body[n, 3 * c + 2]
            u[c], w[c] = x * cos + y * sin, y * cos - x * sin
            above += w[c] > 0.0
        if above == 0 or above == 3:
            continue
        # The half-plane at this angle cuts the triangle along a segment; the ray meets that or not.
        z0 = r0 = z1 = r1 = 0.0
        for c in range(3):
            d = (c + 1) % 3
            if (w[c] > 0.0) == (w[d] > 0.0):
                continue
            t = w[c] / (w[c] - w[d])
            z0, r0 = z1, r1
            z1 = body[n, 3 * c] + t * (body[n, 3 * d] - body[n, 3 * c])
            r1 = u[c] + t * (u[d] - u[c])
        if (z0 <= at_z) == (z1 <= at_z):
            continue
        if r0 + (at_z - z0) / (z1 - z0) * (r1 - r0) > at_r:
            count += 1
            bz, cz = body[n, 3] - body[n, 0], body[n, 6] - body[n, 0]
            bw, cw = w[1] - w[0], w[2] - w[0]
            # The part along the ray of the normal (b - a) x (c - a).
            outwards += 1 if bw * cz - bz * cw > 0.0 else -1
    return count, outwards

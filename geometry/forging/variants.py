"""Whether one set of tools also makes another blank: charge, closing height, disc, surfaces of the dies.

Only three things change without new tools: how high the dies stop (the upper die's side moves along the
axle against the lower one's), how much metal is charged (the ring's free end lies farther out along the same
walls), and, where the forge says so, the punch and face inserts (bore and dish). Common practice, no source;
the limits are the forge's answer.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from geometry.errors import GeometryError
from geometry.readings.solid import volume_mm3
from geometry.shape.curve import Array, Path

#: Outlines of one tool agree within this, mm.
MATCH_MM = 0.1
#: So much of a ring is its end, whose corners follow the filling, mm.
END_MM = 15.0
#: The outside wall lies within this of the largest radius, mm.
WALL_MM = 12.0
_FLAT_MM, _STEP_MM, _LONGER_MM = 0.01, 1.0, 400.0


@dataclass(frozen=True)
class Misfit:
    """Where an outline lies off the surface of its tools by most: mm, and the place (z, r) on it."""

    by_mm: float
    at: tuple[float, float]


@dataclass(frozen=True)
class Made:
    """What a variant asks of the tools of another blank.

    Attributes:
        charge_mm3: its volume, without flash.
        closing_mm: how much higher the dies stop than for the other blank, negative lower.
        disc_mm: its least height inside the ring, and the radius of that place.
        ring_mm: how much longer its ring is at the free end, measured from the disc; negative shorter.
        wall: of the outside wall. inserts: of all other surfaces.
    """

    charge_mm3: float
    closing_mm: float
    disc_mm: float
    disc_r_mm: float
    ring_mm: float
    wall: Misfit
    inserts: Misfit


def made_with(variant: Path, parent: Path) -> Made:
    """Return what a blank asks of the tools that another one was cut for, each in its own frame.

    Args:
        variant: closed outline, mm, upper die outboard (+z), the ring's free end inboard.
        parent: likewise, of the blank that the tools were cut for.

    Raises:
        GeometryError: one of them has no height somewhere out to its ring.
    """
    of, to = _Sides(variant), _Sides(parent)
    r = np.arange(0.0, min(of.bore_mm, to.bore_mm), _STEP_MM)
    high = float(np.median(of.tops(r) - to.tops(r)))
    low = float(np.median(of.bottoms(r) - to.bottoms(r)))
    inside = np.arange(0.0, of.bore_mm, _STEP_MM)
    heights = of.tops(inside) - of.bottoms(inside)
    thinnest = int(np.argmin(heights))
    surfaces = to.tool_surfaces(high, low)
    points = of.formed_points()
    off = np.asarray(shapely.distance(surfaces, shapely.points(points)))
    on_wall = points[:, 1] > of.rim_mm - WALL_MM
    return Made(
        charge_mm3=volume_mm3(variant.counterclockwise()),
        closing_mm=high - low,
        disc_mm=float(heights[thinnest]),
        disc_r_mm=float(inside[thinnest]),
        ring_mm=to.end_mm + low - of.end_mm,
        wall=_most(off[on_wall], points[on_wall]),
        inserts=_most(off[~on_wall], points[~on_wall]),
    )


def _most(off: Array, points: Array) -> Misfit:
    if not len(off):
        return Misfit(0.0, (0.0, 0.0))
    k = int(np.argmax(off))
    return Misfit(float(off[k]), (float(points[k, 0]), float(points[k, 1])))


class _Sides:
    """An outline read by radius: heights of both dies' sides, the ring's bore, largest radius, free end."""

    def __init__(self, path: Path) -> None:
        self._rows = path.flattened(_FLAT_MM)
        self._area = shapely.Polygon(self._rows).buffer(0.0)
        shapely.prepare(self._area)
        self.end_mm, self._z1, _, self.rim_mm = path.bounds
        r = np.arange(0.0, self.rim_mm - 0.5, _STEP_MM)
        high = self.tops(r) - self.bottoms(r)
        if not np.all(np.isfinite(high)):
            raise GeometryError("The outline of a blank must be closed to the axle, solid at its hub.")
        top = int(np.argmax(high))
        ring = np.flatnonzero(high[: top + 1] > (float(high[: top + 1].min()) + float(high[top])) / 2.0)
        # The fillet under the ring is no disc.
        self.bore_mm = max(float(r[ring[0]]) - 2.0 * END_MM, 2.0 * _STEP_MM)

    def _columns(self, r: Array) -> Array:
        ends = np.empty((len(r), 2, 2))
        ends[:, 0, 0], ends[:, 1, 0] = self.end_mm - 1.0, self._z1 + 1.0
        ends[:, :, 1] = np.maximum(r, 1e-6)[:, None]
        return np.asarray(shapely.bounds(shapely.intersection(shapely.linestrings(ends), self._area)))

    def tops(self, r: Array) -> Array:
        """Return the height (n,) of the upper die's side at radii."""
        return np.asarray(self._columns(r)[:, 2])

    def bottoms(self, r: Array) -> Array:
        """Return the height (n,) of the lower die's side at radii."""
        return np.asarray(self._columns(r)[:, 0])

    def formed_points(self) -> Array:
        """Return places (n, 2) of the outline that a die has formed: neither the axle nor the ring's end."""
        ring = shapely.segmentize(shapely.LinearRing(self._rows), _STEP_MM)
        points = shapely.get_coordinates(ring)
        return points[(points[:, 1] > 1e-3) & (points[:, 0] > self.end_mm + END_MM)]

    def tool_surfaces(self, high: float, low: float) -> shapely.Geometry:
        """Return both dies' surfaces, each moved along the axle, the walls going on beyond the ring's end."""
        rows = np.vstack([self._rows, self._rows[:1]])
        upper, lower = [], []
        for a, b in np.stack([rows[:-1], rows[1:]], axis=1):
            if max(a[1], b[1]) <= 1e-3:
                continue
            # On the wall at the largest radius either die may have made it.
            middle = (a + b) / 2.0
            column = self._columns(np.array([min(float(middle[1]), self.rim_mm - 1e-3)]))[0]
            is_upper = abs(middle[0] - column[2]) <= abs(middle[0] - column[0])
            on_wall = middle[1] > self.rim_mm - WALL_MM
            if is_upper or on_wall:
                upper.append((a, b))
            if not is_upper or on_wall:
                lower += _beyond_end(a, b, self.end_mm + END_MM)
        both = [np.array(upper) + np.array((high, 0.0))] if upper else []
        both += [np.array(lower) + np.array((low, 0.0))] if lower else []
        return shapely.union_all(shapely.linestrings(np.vstack(both)))


def _beyond_end(a: Array, b: Array, end_mm: float) -> list[tuple[Array, Array]]:
    """Return an edge, cut off at the ring's end and drawn on straight from there; none that lies beyond."""
    inner, outer = (a, b) if a[0] >= b[0] else (b, a)
    if inner[0] <= end_mm:
        return []
    if outer[0] > end_mm:
        return [(inner, outer)]
    way = (outer - inner) / float(np.hypot(*(outer - inner)))
    return [(inner, outer + _LONGER_MM * way)]

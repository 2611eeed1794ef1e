"""The whole wheel in space, as a field that is negative in the metal; and what is seen of it along rays.

The section turned about the axle, less windows between the spokes and less bolt holes. The field is no exact
distance but never grows faster than a distance does, so that a ray can step along it without passing
through metal. Space is (x, y, z): z along the axle, + outboard, y up, and x such that seen from the street x
runs to the right.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from geometry.readings.solid import BoltHoles, SpokeRegion, spoke_region
from geometry.shape.curve import Array, Flags, Path
from geometry.shape.distance import contains, nearest_of

#: Side of a cell of the field's grid, mm; between its nodes the field is bilinear.
CELL_MM = 1.0
#: A ray has met the skin where the field falls below this, mm, and is given up after so many steps.
HIT_MM, MOST_STEPS = 0.05, 220
#: Share of the field by which a ray steps on: the edge of a spoke whose width changes with r slants.
_SAFE = 0.8
_ROOM_MM = 6.0
#: How far a window reaches beyond the skin that it opens, mm.
_BEYOND_MM = 2.0


Bounds = tuple[float, float, float, float]


def _nodes(bounds: Bounds) -> tuple[Array, Array, Array]:
    """Return the grid's z, its r, and (m, 2) all its nodes, r fastest."""
    z0, z1, r0, r1 = bounds
    z = z0 + CELL_MM * np.arange(math.ceil((z1 - z0) / CELL_MM) + 1)
    r = r0 + CELL_MM * np.arange(math.ceil((r1 - r0) / CELL_MM) + 1)
    places = np.column_stack([m.ravel() for m in np.meshgrid(z, r, indexing="ij")])
    return np.asarray(z), np.asarray(r), np.asarray(places)


def _signed(path: Path, places: Array) -> Array:
    """Return signed distances to a closed path, negative inside."""
    distance, _, _ = nearest_of(path, np.arange(len(path)), places)
    return np.asarray(np.where(contains(path, places), -distance, distance))


@dataclass(frozen=True, eq=False)
class _Grid:
    """Signed distance to a closed path on a grid of (z, r), negative inside."""

    z0: float
    r0: float
    values: Array

    @staticmethod
    def of(path: Path, bounds: Bounds) -> _Grid:
        z, r, places = _nodes(bounds)
        return _Grid(float(z[0]), float(r[0]), _signed(path, places).reshape(len(z), len(r)))

    @staticmethod
    def opened(region: Path, spokes: SpokeRegion, bounds: Bounds) -> _Grid:
        """Return where a window may be: the spoke region, and beyond its skin, but not beyond its cuts.

        Were it the region alone, a skin of no thickness would be left over each window.
        """
        z, r, places = _nodes(bounds)
        found = np.maximum(_signed(region, places) - _BEYOND_MM, spokes.hub_circle_mm - places[:, 1])
        (za, ra), (zb, rb) = spokes.shoulder_cut, spokes.lip_cut
        long = math.hypot(zb - za, rb - ra)
        along = ((places[:, 0] - za) * (zb - za) + (places[:, 1] - ra) * (rb - ra)) / long
        across = ((places[:, 0] - za) * (ra - rb) + (places[:, 1] - ra) * (zb - za)) / long
        inside = region.points.mean(axis=0)
        if (inside[0] - za) * (ra - rb) + (inside[1] - ra) * (zb - za) > 0.0:
            across = -across
        near = (along > -_BEYOND_MM) & (along < long + _BEYOND_MM) & (np.abs(across) < 2.0 * _BEYOND_MM)
        found = np.where(near, np.maximum(found, across), found)
        return _Grid(float(z[0]), float(r[0]), found.reshape(len(z), len(r)))

    def at(self, z: Array, r: Array) -> Array:
        """Return the distance at places; beyond the grid, that at its edge and the way to there."""
        high_z, high_r = self.values.shape[0] - 1.0, self.values.shape[1] - 1.0
        u, v = (z - self.z0) / CELL_MM, (r - self.r0) / CELL_MM
        inside_u, inside_v = np.clip(u, 0.0, high_z), np.clip(v, 0.0, high_r)
        i = np.minimum(inside_u.astype(int), int(high_z) - 1)
        j = np.minimum(inside_v.astype(int), int(high_r) - 1)
        a, b = inside_u - i, inside_v - j
        f = self.values
        low = f[i, j] * (1.0 - b) + f[i, j + 1] * b
        high = f[i + 1, j] * (1.0 - b) + f[i + 1, j + 1] * b
        away = np.hypot(u - inside_u, v - inside_v) * CELL_MM
        return np.asarray(low * (1.0 - a) + high * a + away)


@dataclass(frozen=True, eq=False)
class Body:
    """A wheel in space.

    Attributes:
        bounds: least and greatest z, and greatest r, mm.
    """

    bounds: tuple[float, float, float]
    _section: _Grid
    _opened: _Grid | None
    _spokes: SpokeRegion | None
    _holes: tuple[BoltHoles, ...]

    def field(self, places: Array) -> Array:
        """Return (m,) the field at (m, 3) places: negative in the metal, positive in air, mm."""
        x, y, z = places[:, 0], places[:, 1], places[:, 2]
        r = np.hypot(x, y)
        found = self._section.at(z, r)
        if self._opened is not None and self._spokes is not None:
            pitch = 2.0 * math.pi / self._spokes.count
            angle = np.arctan2(y, x) - math.pi / 2.0
            off = np.abs(angle - pitch * np.round(angle / pitch))
            radii, widths = np.array(self._spokes.widths).T
            beside = r * off - np.interp(r, radii, widths) / 2.0
            window = np.maximum(self._opened.at(z, r), -beside)
            found = np.maximum(found, -window)
        for hole in self._holes:
            found = np.maximum(found, -_drilled(hole, x, y, z))
        return np.asarray(found)


def _drilled(hole: BoltHoles, x: Array, y: Array, z: Array) -> Array:
    """Return the field of the nearest of equal holes, the first of them halfway between x and y."""
    pitch = 2.0 * math.pi / hole.count
    start = math.pi / 2.0 + pitch / 2.0
    angle = start + pitch * np.round((np.arctan2(y, x) - start) / pitch)
    middle = hole.circle_mm / 2.0
    across = np.hypot(x - middle * np.cos(angle), y - middle * np.sin(angle)) - hole.hole_mm / 2.0
    along = np.maximum(z - hole.z_high, hole.z_low - z)
    return np.asarray(np.maximum(across, along))


def body(path: Path, spokes: SpokeRegion | None = None, holes: tuple[BoltHoles, ...] = ()) -> Body:
    """Return the body of a closed counterclockwise section.

    The first spoke points up, the first bolt hole stands half a pitch from it.

    Raises:
        GeometryError: the spoke cuts do not part the section.
    """
    z0, z1, r0, r1 = path.bounds
    room = (z0 - _ROOM_MM, z1 + _ROOM_MM, max(0.0, r0 - _ROOM_MM), r1 + _ROOM_MM)
    opened = None
    if spokes is not None and spokes.count > 0:
        opened = _Grid.opened(spoke_region(path, spokes), spokes, room)
    return Body((z0, z1, r1), _Grid.of(path, room), opened, spokes, tuple(h for h in holes if h.count))


@dataclass(frozen=True)
class View:
    """What parallel rays see of a body.

    Attributes:
        hit: (h, w) True where a ray met metal; row 0 is the uppermost.
        places: (m, 3) where they met it; normals: (m, 3) outward unit normals there.
        openness: (m,) 0 in a narrow corner to 1 in the open: how far metal is off along the normal.
        towards: (3,) unit vector towards the eye.
    """

    hit: Flags
    places: Array
    normals: Array
    openness: Array
    towards: Array


def seen(of: Body, size: int, turned_deg: float = 0.0, raised_deg: float = 0.0) -> View:
    """Return what is seen of the body from the street, in a square picture.

    Args:
        of: the body.
        size: pixels along each side.
        turned_deg: how far the eye goes to the right about the vertical.
        raised_deg: and then up.
    """
    turn, rise = math.radians(turned_deg), math.radians(raised_deg)
    towards = np.array([math.sin(turn) * math.cos(rise), math.sin(rise), math.cos(turn) * math.cos(rise)])
    right = np.array([math.cos(turn), 0.0, -math.sin(turn)])
    up = np.cross(towards, right)
    z0, z1, r1 = of.bounds
    middle = np.array([0.0, 0.0, (z0 + z1) / 2.0])
    reach = math.hypot(r1, (z1 - z0) / 2.0)
    across = (np.arange(size) + 0.5) / size * 2.0 - 1.0
    s, t = (m.ravel() * reach for m in np.meshgrid(across, -across))
    start = middle + s[:, None] * right + t[:, None] * up + reach * towards
    way = _marched(of, start, -towards, 2.0 * reach, s**2 + t**2 < reach**2)
    hit = np.isfinite(way)
    places = start[hit] - way[hit, None] * towards
    normals = _normals(of, places)
    near = of.field(places + 8.0 * normals)
    return View(hit.reshape(size, size), places, normals, np.clip(near / 8.0, 0.0, 1.0), towards)


def _marched(of: Body, start: Array, along: Array, most: float, wanted: Flags) -> Array:
    """Return (m,) how far each ray goes until it meets metal, infinite where it meets none."""
    way = np.full(len(start), np.inf)
    index = np.flatnonzero(wanted)
    gone = np.zeros(len(index))
    for _ in range(MOST_STEPS):
        value = of.field(start[index] + gone[:, None] * along)
        met = value < HIT_MM
        way[index[met]] = gone[met]
        on = ~met
        index, gone = index[on], gone[on] + np.maximum(_SAFE * value[on], HIT_MM)
        within = gone < most
        index, gone = index[within], gone[within]
        if len(index) == 0:
            break
    return way


def _normals(of: Body, places: Array) -> Array:
    """Return outward unit normals by central differences over a millimetre."""
    found = np.empty_like(places)
    for axis in range(3):
        step = np.zeros(3)
        step[axis] = CELL_MM / 2.0
        found[:, axis] = of.field(places + step) - of.field(places - step)
    length = np.linalg.norm(found, axis=1, keepdims=True)
    return np.asarray(found / np.where(length > 0.0, length, 1.0))

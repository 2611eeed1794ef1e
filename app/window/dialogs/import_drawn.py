"""What an answer of a reader gives the picture, made beside the window: polygons, places to snap to."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from app.files.readers.answer import Loop, ReadOutline, Row
from app.language import tr
from geometry.shape.curve import Array, Flags, Indices, Path
from geometry.shape.placing import Placement

#: Arcs in the picture leave their true course by this part of the outline's size at most.
_FINE = 1.0 / 20_000.0
#: Outlines with more corners than this are thinned out for the picture, at first to this part of their size.
_MANY, _COARSE = 20_000, 1.0 / 4000.0


class Snap(IntEnum):
    """What a place is that the pointer snaps to."""

    VERTEX = 0
    LINE_END = 1
    ARC_CENTRE = 2

    @property
    def words(self) -> str:
        """Name of the kind of place."""
        return (tr("vertex"), tr("line end"), tr("arc centre"))[self]


@dataclass(frozen=True, eq=False)
class Drawn:
    """An answer as polygons, in the plane and the unit of the answer.

    Attributes:
        loops: (m, 2) corners of each closed outline.
        areas: their areas.
        chains: (m, 2) corners of each open chain.
        joins: (k, 3) places of joined gaps and their width, in the answer's order.
        cloud, outside: (k, 2) points read; those left outside the outline.
        snaps, kinds: (k, 2) places to snap to, and (k,) the Snap that each is.
    """

    loops: tuple[Array, ...]
    areas: tuple[float, ...]
    chains: tuple[Array, ...]
    joins: Array
    cloud: Array
    outside: Array
    snaps: Array
    kinds: Indices


@dataclass(frozen=True)
class Lay:
    """How the plane of an answer lies in the hub's frame: scaled to mm, placed, moved off the disc hat.

    Attributes:
        scale: mm to the answer's unit; 1 where that is mm.
        shift_mm: along z after the placement; what the source card's zero face takes off.
    """

    placement: Placement
    scale: float = 1.0
    shift_mm: float = 0.0

    @property
    def decimals(self) -> int:
        """Decimals that a place in the answer's own unit is worth: two where that is mm, three in inches."""
        return max(round(2.0 + math.log10(self.scale)), 0)

    def point(self, z: float, r: float) -> tuple[float, float]:
        """Return where a place of the answer lies, mm."""
        z, r = self.placement.point(z * self.scale, r * self.scale)
        return z + self.shift_mm, r

    def points(self, places: Array) -> Array:
        """Return where (m, 2) places of the answer lie, mm."""
        origin = np.array(self.point(0.0, 0.0))
        axes = np.array([self.point(1.0, 0.0), self.point(0.0, 1.0)]) - origin
        return np.asarray(places @ axes + origin)

    def loop(self, loop: Loop) -> Loop:
        """Return a loop of the answer as it is kept: scaled and placed; the zero face stays the card's."""
        path = _path(loop)
        return tuple(self.placement.path(Path(path.points * self.scale, path.bulges)).rows())


def drawn(found: ReadOutline) -> Drawn:
    """Return an answer as the picture needs it."""
    size = max(found.bounds[1] - found.bounds[0], found.bounds[3] - found.bounds[2], 1e-6)
    paths = [_path(loop) for loop in found.loops]
    open_paths = [_path(chain) for chain in found.open if len(chain) > 1]
    places = [
        *((path.points, Snap.VERTEX) for path in paths),
        *((path.points, Snap.LINE_END) for path in open_paths),
        *((path.centres[path.is_arc], Snap.ARC_CENTRE) for path in (*paths, *open_paths)),
    ]
    return Drawn(
        loops=tuple(_polygon(path, size) for path in paths),
        areas=tuple(abs(path.area) for path in paths),
        # The last piece of a chain's path is the line that would close it; it adds no corner.
        chains=tuple(_polygon(path, size) for path in open_paths),
        joins=_rows(found.joins, 3),
        cloud=_rows(found.cloud, 2),
        outside=_rows(found.outside, 2),
        snaps=np.vstack([_rows((), 2), *(p for p, _ in places)]),
        kinds=np.repeat([int(kind) for _, kind in places], [len(p) for p, _ in places]).astype(np.intp),
    )


def _polygon(path: Path, size: float) -> Array:
    corners, least = path.flattened(size * _FINE), size * _COARSE
    while len(corners) > _MANY:
        corners, least = thinned(corners, least), 2.0 * least
    return corners


def thinned(corners: Array, least: float) -> Array:
    """Return (m, 2) corners without those that fall onto the one before when rounded to `least`."""
    cells = np.round(corners / least)
    keep = np.append(True, np.any(np.diff(cells, axis=0) != 0.0, axis=1)) if len(cells) else np.ones(0, bool)
    thin = corners[keep]
    return thin if len(thin) > 2 else corners[:3]


def _path(rows: Sequence[Row]) -> Path:
    """Return the closed path of rows as they came; a reader's arcs span at most 180 degrees."""
    array = np.array(rows, dtype=float).reshape(-1, 3)
    return Path(array[:, :2], array[:, 2])


def _rows(rows: Sequence[tuple[float, ...]], width: int) -> Array:
    return np.array(rows, dtype=float).reshape(-1, width)


def holds(polygon: Array, z: float, r: float) -> bool:
    """Return True where a place lies within a polygon."""
    following = np.roll(polygon, -1, axis=0)
    over: Flags = (polygon[:, 1] > r) != (following[:, 1] > r)
    p, q = polygon[over], following[over]
    crossed = z < p[:, 0] + (r - p[:, 1]) * (q[:, 0] - p[:, 0]) / (q[:, 1] - p[:, 1])
    return bool(np.count_nonzero(crossed) % 2)


def bounds_of(places: Sequence[Array]) -> tuple[float, float, float, float] | None:
    """Return z low, z high, r low, r high of all (m, 2) places; None without any."""
    every = [p for p in places if len(p)]
    if not every:
        return None
    low = np.min([p.min(axis=0) for p in every], axis=0).tolist()
    high = np.max([p.max(axis=0) for p in every], axis=0).tolist()
    return low[0], high[0], low[1], high[1]

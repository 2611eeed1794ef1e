"""No corner of a body and no point of a cloud may lie outside the outline that was drawn round it.

Corners are taken out of the bytes here, by the published layout of binary STL, and not by the readers.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from numpy.typing import NDArray

from app.files.readers.answer import UNITS, ReadOutline, Request

#: 80 bytes of heading, a count, then for each triangle a normal, three corners and two bytes.
_ROW = np.dtype([("normal", "<f4", (3,)), ("corners", "<f4", (3, 3)), ("word", "<u2")])
_CYCLIC = {"x": (0, 1, 2), "y": (1, 2, 0), "z": (2, 0, 1)}

#: How far a corner may lie outside, as a share of the size of the outline: a micrometre on a brake.
_SHARE = 5e-6
#: Slimmer triangles, height to longest side, may count as lines.
_SLIM = 1e-4

Array = NDArray[np.float64]


def of_places(data: bytes, found: ReadOutline, request: Request) -> Iterator[str]:
    """Yield what is wrong with an outline round what was read."""
    if found.hindrance or not found.loops or any(bulge for loop in found.loops for _, _, bulge in loop):
        return
    if found.kind == "mesh":
        places = _corners(data, found, request)
    elif found.kind == "points" and not (found.outside_count or found.ball_mm or request.quantile < 1.0):
        places = np.array(found.cloud, dtype=float).reshape(-1, 2)
    else:
        return
    if len(places):
        outside = _outside_mm(places, found)
        if outside:
            yield f"a {'corner' if found.kind == 'mesh' else 'point'} lies outside its outline"


def _outside_mm(places: Array, found: ReadOutline) -> float:
    """Return how far the farthest place lies outside all loops, 0 within a rounding."""
    rings = [[(z, r) for z, r, _ in loop] for loop in found.loops]
    area = shapely.union_all([shapely.Polygon(ring).buffer(0.0) for ring in rings])
    z0, z1, r0, r1 = found.bounds
    far = float(shapely.distance(area, shapely.points(places)).max())
    return far if far > _SHARE * max(z1 - z0, r1 - r0, abs(r1), abs(z0), abs(z1)) else 0.0


def _corners(data: bytes, found: ReadOutline, request: Request) -> Array:
    """Return z and r of the corners of a binary STL file's triangles; none where not plain."""
    none = np.empty((0, 2))
    is_plain = request.suffix == ".stl" and request.axle in _CYCLIC and not request.bodies
    if not is_plain or data[:5].lower() == b"solid" or len(data) < 84:
        return none
    count = int.from_bytes(data[80:84], "little")
    if len(data) != 84 + 50 * count:
        return none
    with np.errstate(invalid="ignore"):
        corners = np.frombuffer(data, _ROW, count, 84)["corners"].astype(float)
    sides = corners[:, [1, 2, 0]] - corners
    longest = np.linalg.norm(sides, axis=2).max(axis=1)
    doubled = np.linalg.norm(np.cross(sides[:, 0], sides[:, 1]), axis=1)
    corners = corners[doubled > _SLIM * longest * longest]
    z, across = _CYCLIC[request.axle][0], _CYCLIC[request.axle][1:]
    flat = corners.reshape(-1, 3)
    r = np.hypot(flat[:, across[0]] - request.axle_at[0], flat[:, across[1]] - request.axle_at[1])
    return np.column_stack([flat[:, z], r]) * UNITS.get(found.unit, 1.0)

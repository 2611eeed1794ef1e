"""The valve land: the straight wall on the outboard side of the well, through which the valve hole goes.

No valve hole is drawn; the land is read at its middle, where a hole would be.
"""

from __future__ import annotations

import math

import numpy as np

from geometry.compiled import compiled
from geometry.readings.chords import along
from geometry.readings.places import RimPlaces
from geometry.readings.rows import NamedReading, reading
from geometry.shape.curve import R0, R1, SWEEP, Z0, Z1, Array, Indices, length_of
from geometry.shape.distance import nearest_piece
from geometry.shape.section import ZONES, Outline, Side, Zone

#: Flatter than this to the axle it is the well's floor, not its wall.
WALL_DEG = 10.0
#: The well's floor is all that lies within this of its least radius, mm.
FLOOR_MM = 0.05

_SIDES = tuple(Side)
_TYRE = _SIDES.index(Side.TYRE)
_WELL = ZONES.index(Zone.WELL)
_STEEP = math.tan(math.radians(WALL_DEG))


def valve_land(outline: Outline, rim: RimPlaces | None) -> list[NamedReading]:
    """Return thickness and flat of the valve land and the room over it; nothing where no wall is straight."""
    land = _land(outline.path.table, outline.zone, outline.side)
    if land < 0:
        return []
    z0, r0, z1, r1 = outline.path.table[land, : R1 + 1].tolist()
    flat = math.hypot(z1 - z0, r1 - r0)
    z, r = (z0 + z1) / 2.0, (r0 + r1) / 2.0
    inward = ((r0 - r1) / flat, (z1 - z0) / flat)
    metal = [high for low, high in along(outline.path, (z, r), inward) if low <= 1e-6 < high]
    if not metal:
        return []
    stem = _side_at(outline, z + metal[0] * inward[0], r + metal[0] * inward[1])
    side = f"Square through the well's wall as drawn; a stem comes out on the {stem} side."
    rows = [
        reading("valve_land", "Valve land", metal[0], (z, r), side),
        reading("valve_flat", "Valve land, flat", flat, (z, r), "Straight part of the well's wall."),
    ]
    if rim is not None:
        room = rim.diameter_mm / 2.0 - r
        note = "Along r up to D / 2, for valve and sensor."
        rows.append(reading("valve_room", "Room over the valve land", room, (z, r), note))
    return rows


@compiled
def _land(t: Array, zone: Indices, side: Indices) -> int:
    """Return the longest straight piece of the well's wall outboard of its floor, or -1 without one."""
    well: Indices = np.nonzero((zone == _WELL) & (side == _TYRE))[0]
    least_r, floor_end = np.inf, -np.inf
    for k in well:
        least_r = min(least_r, t[k, R0], t[k, R1])
    for k in well:
        for z, r in ((t[k, Z0], t[k, R0]), (t[k, Z1], t[k, R1])):
            if r <= least_r + FLOOR_MM:
                floor_end = max(floor_end, z)
    longest, land = 0.0, -1
    for k in well:
        dz, dr = abs(t[k, Z1] - t[k, Z0]), abs(t[k, R1] - t[k, R0])
        outboard = min(t[k, Z0], t[k, Z1]) >= floor_end - FLOOR_MM
        wall = t[k, SWEEP] == 0.0 and outboard and dr > dz * _STEEP
        if wall and length_of(t, k) > longest:
            longest, land = length_of(t, k), k
    return land


def _side_at(outline: Outline, z: float, r: float) -> Side:
    """Return the side on which a place of the skin lies."""
    *_, piece = nearest_piece(outline.path.table, np.arange(len(outline.path)), z, r)
    return _SIDES[int(outline.side[piece])]

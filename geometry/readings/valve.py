"""The valve land: the straight wall on the outboard side of the well, through which the valve hole goes.

No valve hole is drawn; the land is read at its middle, where a hole would be.
"""

from __future__ import annotations

import numpy as np

from geometry.readings.chords import along
from geometry.readings.places import RimPlaces
from geometry.readings.rows import NamedReading
from geometry.shape.curve import Array
from geometry.shape.distance import nearest_of
from geometry.shape.section import ZONES, Outline, Side, Zone

#: Flatter than this to the axle it is the well's floor, not its wall.
WALL_DEG = 10.0
#: The well's floor is all that lies within this of its least radius, mm.
FLOOR_MM = 0.05

_SIDES = tuple(Side)


def valve_land(outline: Outline, rim: RimPlaces | None) -> list[NamedReading]:
    """Return thickness and flat of the valve land and the room over it; nothing where no wall is straight."""
    land = _land(outline)
    if land is None:
        return []
    start, end = outline.path.points[land], outline.path.ends[land]
    flat = float(np.hypot(*(end - start)))
    z, r = ((start + end) / 2.0).tolist()
    way = (end - start) / flat
    inward = (-float(way[1]), float(way[0]))
    metal = [high for low, high in along(outline.path, (z, r), inward) if low <= 1e-6 < high]
    if not metal:
        return []
    out = np.array([(z + metal[0] * inward[0], r + metal[0] * inward[1])])
    rows = [
        NamedReading("valve_land", "Valve land", metal[0], "mm", (z, r), note=_stem(outline, out)),
        NamedReading(
            "valve_flat", "Valve land, flat", flat, "mm", (z, r), note="Straight part of the well's wall."
        ),
    ]
    if rim is not None:
        room = rim.diameter_mm / 2.0 - r
        note = "Along r up to D / 2, for valve and sensor."
        rows.append(NamedReading("valve_room", "Room over the valve land", room, "mm", (z, r), note=note))
    return rows


def _land(outline: Outline) -> int | None:
    """Return the longest straight piece of the well's wall outboard of its floor, on the tyre side."""
    path = outline.path
    well = np.flatnonzero(
        (outline.zone == ZONES.index(Zone.WELL)) & (outline.side == _SIDES.index(Side.TYRE))
    )
    if not len(well):
        return None
    places = np.concatenate([path.points[well], path.ends[well]])
    floor_end = places[places[:, 1] <= places[:, 1].min() + FLOOR_MM, 0].max()
    step = np.abs(path.ends[well] - path.points[well])
    outboard = np.minimum(path.points[well, 0], path.ends[well, 0]) >= floor_end - FLOOR_MM
    steep = step[:, 1] > step[:, 0] * np.tan(np.radians(WALL_DEG))
    walls = well[outboard & steep & ~path.is_arc[well]]
    return int(walls[np.argmax(path.lengths[walls])]) if len(walls) else None


def _stem(outline: Outline, out: Array) -> str:
    """Say on which side a stem through the land comes out."""
    _, _, piece = nearest_of(outline.path, np.arange(len(outline.path)), out)
    side = _SIDES[int(outline.side[piece[0]])]
    return f"Square through the well's wall as drawn; a stem comes out on the {side} side."

"""Where jaws can hold a turned part: the wall at one end that is nearly parallel to the axle.

Jaws come along the axle: between a wall and its end nothing may stand out farther than the wall.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from geometry.readings.chords import along_r
from geometry.shape.curve import Path

#: Walls that lean more are not held in jaws, deg: a draft of 3 to 5 still is (from memory).
HELD_DEG = 5.0
#: Shorter walls are none, mm.
_LEAST_MM = 0.5
#: Jaws reach a wall that starts no farther from the end, mm (common practice, no source).
_REACH_MM = 60.0
#: What stands before a wall by less is passed over, mm.
_PASSED_MM = 0.5


@dataclass(frozen=True)
class Grip:
    """A wall for the jaws, mm.

    Attributes:
        z_low, z_high: its ends along the axle.
        near_mm: its diameter at the end of the part that is held. far_mm: at its other end.
    """

    z_low: float
    z_high: float
    near_mm: float
    far_mm: float

    @property
    def length_mm(self) -> float:
        """Length along the axle."""
        return self.z_high - self.z_low


def outside_grip(path: Path, wanted_mm: float, *, outboard: bool) -> Grip | None:
    """Return the wall on the outside that jaws reach from one end; None where there is none.

    Args:
        path: closed counterclockwise half-section.
        wanted_mm: length that the jaws want: the nearest wall as long, else the longest.
        outboard: from the end with the greatest z, else from the other.
    """
    return _reached(path, wanted_mm, outboard, outside=True)


def inside_grip(path: Path, wanted_mm: float, *, outboard: bool) -> Grip | None:
    """Return the wall on the inside, no metal within it, that jaws reach from one end.

    Args:
        path: closed counterclockwise half-section.
        wanted_mm: as of `outside_grip`.
        outboard: likewise.
    """
    return _reached(path, wanted_mm, outboard, outside=False)


def _reached(path: Path, wanted_mm: float, outboard: bool, outside: bool) -> Grip | None:
    rows = path.flattened(_PASSED_MM / 10.0)
    found = []
    for z_low, z_high, at_low, at_high in sorted(_walls(path, outside), reverse=outboard):
        near, far = (at_high, at_low) if outboard else (at_low, at_high)
        before = rows[rows[:, 0] > z_high if outboard else rows[:, 0] < z_low, 1]
        depth = float(rows[:, 0].max()) - z_high if outboard else z_low - float(rows[:, 0].min())
        if depth > _REACH_MM:
            continue
        if np.max(before - near if outside else near - before, initial=0.0) <= _PASSED_MM:
            found.append(Grip(z_low, z_high, 2.0 * near, 2.0 * far))
    long = [grip for grip in found if grip.length_mm >= wanted_mm]
    return long[0] if long else max(found, key=lambda grip: grip.length_mm, default=None)


def _walls(path: Path, outside: bool) -> list[tuple[float, float, float, float]]:
    """Return z low, z high and the radius at either, of walls; neighbours that meet are one."""
    along = path.ends - path.points
    # Counterclockwise, metal lies within an edge that runs inboard, and beyond one that runs outboard.
    sign = -1.0 if outside else 1.0
    leans = np.abs(along[:, 1]) > math.tan(math.radians(HELD_DEG)) * np.abs(along[:, 0])
    is_wall = ~path.is_arc & ~leans & (sign * along[:, 0] > 0.0) & path.off_axle
    found = []
    for k in np.flatnonzero(is_wall):
        start, end = path.points[k].tolist(), path.ends[k].tolist()
        low, high = sorted((start, end))
        spans = along_r(path, (low[0] + high[0]) / 2.0)
        middle = (low[1] + high[1]) / 2.0
        bound = spans[-1][1] if outside else spans[0][0]
        if abs(bound - middle) <= 1e-3:
            found.append((low[0], high[0], low[1], high[1]))
    joined: list[tuple[float, float, float, float]] = []
    for wall in sorted(found):
        if joined and abs(joined[-1][1] - wall[0]) < 1e-3 and abs(joined[-1][3] - wall[2]) < 1e-3:
            joined[-1] = (joined[-1][0], wall[1], joined[-1][2], wall[3])
        else:
            joined.append(wall)
    return [wall for wall in joined if wall[1] - wall[0] >= _LEAST_MM]

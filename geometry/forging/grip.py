"""Where jaws can hold a turned part: the wall at one end that is nearly parallel to the axle.

Jaws come along the axle: between a wall and its end nothing may stand out farther than the wall. Drafts that
run away from a parting line both ways leave a ridge there: the jaws hold on one side of it.
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
REACH_MM = 60.0
#: Neighbouring pieces are one wall where their joint lies no farther off the straight between their ends, mm.
_ONE_MM = 0.02
#: Neighbours meet where their ends lie no farther apart, mm.
_MEET_MM = 1e-3
#: What stands before a wall by less is passed over, mm.
_PASSED_MM = 0.5


@dataclass(frozen=True)
class Grip:
    """A wall for the jaws, mm.

    Attributes:
        z_low, z_high: its ends along the axle.
        near_mm: its diameter at the end of the part that is held. far_mm: at its other end.
        to_ridge: its other end is a ridge, from which the wall goes on with another lean.
    """

    z_low: float
    z_high: float
    near_mm: float
    far_mm: float
    to_ridge: bool = False

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
    walls = _walls(path, outside)
    for z_low, z_high, at_low, at_high in sorted(walls, reverse=outboard):
        near, far = (at_high, at_low) if outboard else (at_low, at_high)
        before = rows[rows[:, 0] > z_high if outboard else rows[:, 0] < z_low, 1]
        depth = float(rows[:, 0].max()) - z_high if outboard else z_low - float(rows[:, 0].min())
        if depth > REACH_MM:
            continue
        if np.max(before - near if outside else near - before, initial=0.0) <= _PASSED_MM:
            z_far = z_low if outboard else z_high
            ridge = any(abs(wall[1 if outboard else 0] - z_far) < _MEET_MM for wall in walls)
            found.append(Grip(z_low, z_high, 2.0 * near, 2.0 * far, ridge))
    long = [grip for grip in found if grip.length_mm >= wanted_mm]
    return long[0] if long else max(found, key=lambda grip: grip.length_mm, default=None)


def _walls(path: Path, outside: bool) -> list[tuple[float, float, float, float]]:
    """Return z low, z high and the radius at either, of walls; neighbours in one straight are one."""
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
        if joined and _is_one(joined[-1], wall):
            joined[-1] = (joined[-1][0], wall[1], joined[-1][2], wall[3])
        else:
            joined.append(wall)
    return [wall for wall in joined if wall[1] - wall[0] >= _LEAST_MM]


def _is_one(low: tuple[float, float, float, float], high: tuple[float, float, float, float]) -> bool:
    """Return whether two walls meet and lie in one straight."""
    if abs(low[1] - high[0]) >= _MEET_MM or abs(low[3] - high[2]) >= _MEET_MM:
        return False
    share = (low[1] - low[0]) / (high[1] - low[0])
    return abs(low[3] - (low[2] + share * (high[3] - low[2]))) <= _ONE_MM

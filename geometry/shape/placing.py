"""Where an outline that was drawn in a plane of its own lies in the hub's frame."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.shape.curve import Path

#: Quarter turns to the left of (z, r), as 2 x 2 matrices.
_TURNS = (
    ((1.0, 0.0), (0.0, 1.0)),
    ((0.0, -1.0), (1.0, 0.0)),
    ((-1.0, 0.0), (0.0, -1.0)),
    ((0.0, 1.0), (-1.0, 0.0)),
)


@dataclass(frozen=True)
class Placement:
    """How an outline as drawn is laid into (z, r): turned by quarters to the left, flipped, then moved.

    Attributes:
        turns: quarter turns to the left, 0 to 3.
        flip: z is reversed after the turn.
        dz_mm, dr_mm: shift after both.
    """

    turns: int = 0
    flip: bool = False
    dz_mm: float = 0.0
    dr_mm: float = 0.0

    def path(self, path: Path) -> Path:
        """Return a counterclockwise path as placed, counterclockwise still."""
        turned = Path(path.points @ np.array(_TURNS[self.turns % 4]).T, path.bulges)
        flipped = turned.mirrored() if self.flip else turned
        return flipped.moved(self.dz_mm, self.dr_mm)

    def point(self, z: float, r: float) -> tuple[float, float]:
        """Return a place of the drawing as placed."""
        (a, b), (c, d) = _TURNS[self.turns % 4]
        z, r = a * z + b * r, c * z + d * r
        return (-z if self.flip else z) + self.dz_mm, r + self.dr_mm

    def with_origin(self, z: float, r: float) -> Placement:
        """Return the placement that lays a place of the drawing onto the origin of the hub's frame."""
        bare = Placement(self.turns, self.flip)
        at = bare.point(z, r)
        return Placement(self.turns, self.flip, -at[0], -at[1])

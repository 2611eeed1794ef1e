"""Where a block puts its entities: an affine map of the plane."""

from __future__ import annotations

import math
from dataclasses import dataclass

from app.files.readers.curves import fitted
from app.files.readers.pieces import Piece, Point, arc_centre

#: Relative difference below which the two axes of a map count as equally long and square.
_SQUARE = 1e-12


@dataclass(frozen=True)
class Placing:
    """The map x' = a x + c y + e, y' = b x + d y + f."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    @staticmethod
    def scaled(factor_x: float, factor_y: float | None = None) -> Placing:
        """Return the map that stretches about the origin."""
        return Placing(a=factor_x, d=factor_x if factor_y is None else factor_y)

    @staticmethod
    def turned(angle_deg: float) -> Placing:
        """Return the map that turns about the origin, + counterclockwise."""
        cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
        return Placing(a=cos, b=sin, c=-sin, d=cos)

    @staticmethod
    def shifted(x: float, y: float) -> Placing:
        """Return the map that shifts."""
        return Placing(e=x, f=y)

    def after(self, first: Placing) -> Placing:
        """Return the map that does `first` and then this one."""
        x, y = self.point((first.e, first.f))
        return Placing(
            self.a * first.a + self.c * first.b,
            self.b * first.a + self.d * first.b,
            self.a * first.c + self.c * first.d,
            self.b * first.c + self.d * first.d,
            x,
            y,
        )

    def point(self, p: Point) -> Point:
        """Return the image of a point."""
        return self.a * p[0] + self.c * p[1] + self.e, self.b * p[0] + self.d * p[1] + self.f

    def direction(self, turn: float) -> Point:
        """Return the unit direction in the image of a direction in rad; 0, 0 where it shrinks to none."""
        x = self.a * math.cos(turn) + self.c * math.sin(turn)
        y = self.b * math.cos(turn) + self.d * math.sin(turn)
        size = math.hypot(x, y)
        return (x / size, y / size) if size else (0.0, 0.0)

    @property
    def mirrors(self) -> bool:
        """True where left and right change places."""
        return self.a * self.d - self.b * self.c < 0.0

    @property
    def keeps_circles(self) -> bool:
        """True where every circle stays one."""
        first, second = math.hypot(self.a, self.b), math.hypot(self.c, self.d)
        slack = _SQUARE * max(first, second) ** 2
        return abs(first - second) * first <= slack and abs(self.a * self.c + self.b * self.d) <= slack

    def pieces(self, pieces: list[Piece], layer: str) -> list[Piece]:
        """Return pieces as placed: exact, but for arcs that become parts of ellipses."""
        placed: list[Piece] = []
        for p in pieces:
            if p.bulge and not self.keeps_circles:
                placed += self._stretched_arc(p, layer)
            else:
                bulge = -p.bulge if self.mirrors else p.bulge
                placed.append(Piece(self.point(p.start), self.point(p.end), bulge, layer, p.stated))
        return placed

    def _stretched_arc(self, p: Piece, layer: str) -> list[Piece]:
        centre, radius = arc_centre(p.start, p.end, p.bulge)
        first, sweep = math.atan2(p.start[1] - centre[1], p.start[0] - centre[0]), 4.0 * math.atan(p.bulge)

        def point(t: float) -> Point:
            # The ends themselves, so that neighbours still meet exactly.
            if t in (0.0, 1.0):
                return self.point(p.end if t else p.start)
            angle = first + sweep * t
            return self.point((centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)))

        return fitted(point, [0.0, 1.0], layer)

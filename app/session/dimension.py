"""What a dimension is: its name, what it measures, its places, and whether it can be typed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from app.session.edited import Edited
from geometry.shape.outline import Grade

Place = tuple[float, float]

#: Distances below this have no direction of their own, mm.
LEAST_MM = 1e-6


class Measure(StrEnum):
    """What a dimension measures."""

    WIDTH = "width"
    OVERALL = "overall width"
    INSET = "inset"
    BACKSPACE = "backspace"
    HUB_FACE = "hub face"
    ALONG_Z = "along z"
    ALONG_R = "along r"
    STRAIGHT = "straight"
    EDGE = "edge"
    ARC = "radius of an edge"
    RADIUS = "corner radius"
    ANGLE = "angle"
    WALL = "wall"

    @property
    def is_of_wheel(self) -> bool:
        """True for one of a whole wheel."""
        return self in OF_WHEEL


class Way(StrEnum):
    """How it is drawn: along an axis, straight between its places, as a radius or as an angle."""

    Z = "z"
    R = "r"
    STRAIGHT = "straight"
    RADIUS = "radius"
    ANGLE = "angle"


#: Dimensions of a whole wheel, drawn whenever dimensions are shown.
OF_WHEEL = (Measure.INSET, Measure.BACKSPACE, Measure.WIDTH, Measure.OVERALL, Measure.HUB_FACE)


@dataclass(frozen=True)
class Wanted:
    """Names one dimension.

    Attributes:
        of: the thing whose vertices are meant; the shown wheel for one of the whole wheel.
        a, b: the vertices; `a` is an edge (the vertex that it leaves) for edges, arcs and walls.
        share: where on the edge a wall is measured, as a fraction of its length.
    """

    measure: Measure
    of: Edited
    a: int = 0
    b: int = 0
    share: float = 0.5


@dataclass(frozen=True)
class Dimension:
    """One dimension as it stands.

    Attributes:
        name: in words, as in "Distance along z of vertices 35 and 36".
        value: mm, or degrees of an angle; never negative but for an inset.
        a, b: its two places; of a radius the arc's middle and its centre, of an angle places on its two legs.
        at: the vertex of an angle.
        out: the side on which it would best stand, (dz, dr); it need not be of unit length.
        drawn_from: which of the two places get an extension line; a plane that is drawn needs none.
        why_not: why it is only for reference; empty for a driving one.
        grade: of what it measures, which says how many digits it is worth.
    """

    wanted: Wanted
    name: str
    value: float
    way: Way
    a: Place
    b: Place
    at: Place = (0.0, 0.0)
    out: Place = (0.0, 1.0)
    drawn_from: tuple[bool, bool] = (True, True)
    why_not: str = ""
    grade: Grade = Grade.DRAWING

    @property
    def is_angle(self) -> bool:
        """True for degrees."""
        return self.way is Way.ANGLE

    @property
    def drives(self) -> bool:
        """True where a typed number changes the geometry."""
        return not self.why_not

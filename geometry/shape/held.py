"""What a designer asks an outline to keep: constraints, parameters whose formulas drive it, dimensions.

All are data. Vertices go by their numbers as the table of vertices counts them, from 1, locked ones first.
What a constraint means stands in geometry/shape/constraints.py; formulas are read in app/project/formula.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Hold(StrEnum):
    """What a constraint holds."""

    RADIUS = "radius"
    TANGENT = "tangent"
    HORIZONTAL = "along the axle"
    VERTICAL = "square to the axle"
    ANGLE = "angle"
    DISTANCE = "distance"
    ALONG_Z = "distance along z"
    ALONG_R = "distance along r"
    EQUAL_WALL = "equal wall"
    CLEAR = "clear of"


#: How many vertices each may name.
COUNTS: dict[Hold, tuple[int, ...]] = {
    Hold.RADIUS: (1, 2),
    Hold.TANGENT: (1,),
    Hold.HORIZONTAL: (2,),
    Hold.VERTICAL: (2,),
    Hold.ANGLE: (2, 3),
    Hold.DISTANCE: (2, 3),
    Hold.ALONG_Z: (2,),
    Hold.ALONG_R: (2,),
    Hold.EQUAL_WALL: (4, 6),
    Hold.CLEAR: (1, 2),
}

#: Those that hold a number: mm, or degrees for an angle.
VALUED = frozenset({Hold.RADIUS, Hold.ANGLE, Hold.DISTANCE, Hold.ALONG_Z, Hold.ALONG_R, Hold.CLEAR})


@dataclass(frozen=True)
class Constraint:
    """One thing that an outline keeps while it is edited.

    Attributes:
        kind: what is held.
        vertices: what it is held at. Radius: one vertex for its corner, or the two ends of an arc. Tangent:
            the joint. Angle: of the line from the first to the second vertex, + from outboard away from the
            axle; of three, at the middle one. Distance: between two vertices, or of the first from the
            straight line through the other two. Equal wall: two such distances, one after the other. Clear
            of: a vertex, or the two ends of an edge.
        value: mm or deg; None where the kind holds no number.
        shape: name of the stay-out shape that is kept clear of; None for other kinds.
    """

    kind: Hold
    vertices: tuple[int, ...]
    value: float | None = None
    shape: str | None = None


class Dimensioned(StrEnum):
    """What an added dimension measures."""

    ALONG_Z = "along z"
    ALONG_R = "along r"
    STRAIGHT = "straight"
    ANGLE = "angle"
    WALL = "wall"


#: How many vertices each names.
DIMENSION_COUNTS: dict[Dimensioned, tuple[int, ...]] = {
    Dimensioned.ALONG_Z: (2,),
    Dimensioned.ALONG_R: (2,),
    Dimensioned.STRAIGHT: (2,),
    Dimensioned.ANGLE: (1,),
    Dimensioned.WALL: (1,),
}


@dataclass(frozen=True)
class AddedDimension:
    """A dimension that stands on the drawing until it is taken away.

    Attributes:
        vertices: the two that are apart; of an angle its vertex; of a wall the one that its edge leaves.
        share: of a wall, where along its edge's chord it is measured, 0 to 1; None for the others.
    """

    what: Dimensioned
    vertices: tuple[int, ...]
    share: float | None = None


class Driven(StrEnum):
    """What a formula can drive."""

    Z = "z"
    R = "r"
    RADIUS = "corner radius"
    WALL = "wall"
    INSET = "inset"


#: How many vertices each names.
DRIVEN_COUNTS: dict[Driven, tuple[int, ...]] = {
    Driven.Z: (1,),
    Driven.R: (1,),
    Driven.RADIUS: (1,),
    Driven.WALL: (2, 3),
    Driven.INSET: (0,),
}


@dataclass(frozen=True)
class Drive:
    """One number of an outline that a parameter gives.

    Attributes:
        vertices: the vertex; for a wall the vertex it is measured from, which stays, and the vertex that
            moves along the line between them, or the two ends of the edge that moves square to itself. None
            for the inset.
    """

    what: Driven
    vertices: tuple[int, ...] = ()


@dataclass(frozen=True)
class Parameter:
    """A number with a name, given by a formula.

    Attributes:
        formula: as typed.
        unit: mm, in or deg, empty for a plain number: what it is, and what a number without a unit means.
        drives: what of the outline takes its value.
    """

    name: str
    formula: str
    unit: str = "mm"
    note: str = ""
    drives: tuple[Drive, ...] = ()

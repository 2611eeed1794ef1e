"""A picture traced into the half-plane: known lengths give its scale, two places its zero.

Words:
    pixel   a place (x, y) of the picture, x to the right and y down; also their unit
    lie     how the picture is turned, flipped and levelled before anything is measured in it
    level   places (u, v) of the picture so laid, in pixels: u along the axle, + outboard, v away from it
    spread  the largest less the smallest of some scales, as a share of their mean
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.curve import Array
from geometry.shape.outline import Corner

Pixel = tuple[float, float]

#: Axes of the half-plane, by their column.
AXES = ("z", "r")

#: A place is pointed at within this, pixels (common practice, no source).
POINTED_PX = 2.0
#: No tracing is nearer to the truth than this, mm (common practice, no source).
LEAST_ERROR_MM = 1.0
#: A known length that is shorter than this along its axis gives no scale, pixels.
LEAST_LENGTH_PX = 5.0
#: Scales that differ by more are worth a warning (common practice, no source).
SPREAD_TO_WARN = 0.01

#: Quarter turns to the left of a place with y up.
_TURNS = (
    ((1.0, 0.0), (0.0, 1.0)),
    ((0.0, -1.0), (1.0, 0.0)),
    ((-1.0, 0.0), (0.0, -1.0)),
    ((0.0, 1.0), (-1.0, 0.0)),
)


@dataclass(frozen=True)
class Lie:
    """How a picture lies: turned by quarters to the left, flipped, then levelled.

    Attributes:
        turns: quarter turns to the left, 0 to 3.
        flip: outboard and inboard are exchanged after the turn.
        level: two pixels of a line that should be level or upright; the smaller turn makes it so.
    """

    turns: int = 0
    flip: bool = False
    level: tuple[Pixel, Pixel] | None = None

    @property
    def tilt_deg(self) -> float:
        """How far the line to be levelled is off, degrees, + to the left; more than -45, at most 45."""
        if self.level is None:
            return 0.0
        (u0, v0), (u1, v1) = (self._bare() @ np.array(p) for p in self.level)
        angle = math.degrees(math.atan2(v1 - v0, u1 - u0))
        return 45.0 - (45.0 - angle) % 90.0

    @property
    def matrix(self) -> Array:
        """(2, 2) what takes a pixel (x, y) to its level place (u, v)."""
        tilt = math.radians(self.tilt_deg)
        cos, sin = math.cos(tilt), math.sin(tilt)
        return np.array([[cos, sin], [-sin, cos]]) @ self._bare()

    def _bare(self) -> Array:
        flip = np.diag([-1.0 if self.flip else 1.0, 1.0])
        return np.asarray(flip @ np.array(_TURNS[self.turns % 4]) @ np.diag([1.0, -1.0]))


@dataclass(frozen=True)
class KnownLength:
    """Two pixels, and how far they lie apart along one axis.

    Attributes:
        axis: "z" or "r".
        true_mm: along that axis alone, above zero.
    """

    axis: str
    ends: tuple[Pixel, Pixel]
    true_mm: float


@dataclass(frozen=True)
class AxisScale:
    """The scale of one axis.

    Attributes:
        mm_per_px: least squares through zero, so that a longer known length counts more.
        each: scale that each known length gives, mm per pixel.
        longest_px: the longest known length.
    """

    mm_per_px: float
    each: tuple[float, ...]
    longest_px: float

    @property
    def spread(self) -> float:
        """How much the known lengths disagree; 0 for a single one, which nothing checks."""
        return spread(self.each)

    @property
    def is_checked(self) -> bool:
        """True where a second known length says how far the first can be trusted."""
        return len(self.each) > 1


def spread(scales: Sequence[float]) -> float:
    """Return the largest less the smallest of some scales, as a share of their mean."""
    return (max(scales) - min(scales)) * len(scales) / sum(scales)


def length_px(known: KnownLength, lie: Lie) -> float:
    """Return how many pixels a known length spans along its axis."""
    (x0, y0), (x1, y1) = known.ends
    along = lie.matrix[AXES.index(known.axis)] @ np.array([x1 - x0, y1 - y0])
    return abs(float(along))


def lean_deg(known: KnownLength, lie: Lie) -> float:
    """Return by how many degrees the line through a known length's ends leans off its axis, 0 to 90."""
    (x0, y0), (x1, y1) = known.ends
    along, across = length_px(known, lie), math.hypot(x1 - x0, y1 - y0)
    return math.degrees(math.acos(min(along / across, 1.0))) if across else 90.0


def axis_scale(lengths: Sequence[KnownLength], axis: str, lie: Lie) -> AxisScale:
    """Return the scale that the known lengths along an axis give.

    Raises:
        GeometryError: there is none, or one is too short along its axis.
    """
    along = [known for known in lengths if known.axis == axis]
    if not along:
        raise GeometryError(f"No known length along {axis} yet.")
    pixels = [length_px(known, lie) for known in along]
    for known, px in zip(along, pixels, strict=True):
        if px < LEAST_LENGTH_PX:
            raise GeometryError(
                f"The known length {known.true_mm:g} mm spans {px:.1f} pixels along {axis}: click two places "
                f"that lie apart along {axis}."
            )
    best = sum(k.true_mm * px for k, px in zip(along, pixels, strict=True)) / sum(px * px for px in pixels)
    each = tuple(k.true_mm / px for k, px in zip(along, pixels, strict=True))
    return AxisScale(best, each, max(pixels))


@dataclass(frozen=True)
class Zero:
    """A pixel whose z or r is known: the mounting face, the axle line, or any other such place."""

    at: Pixel
    is_mm: float = 0.0


@dataclass(frozen=True)
class PictureMap:
    """Where each pixel lies in the half-plane.

    Attributes:
        lie: of the picture.
        z, r: scale of each axis.
        face: a pixel with a known z; axle: a pixel with a known r.
    """

    lie: Lie
    z: AxisScale
    r: AxisScale
    face: Zero
    axle: Zero

    def places(self, pixels: Array) -> Array:
        """Return the (m, 2) places (z, r) in mm of (m, 2) pixels."""
        return np.asarray((pixels @ self.lie.matrix.T - self._level_zero) * self._scales + self._zero_mm)

    def pixels(self, places: Array) -> Array:
        """Return the (m, 2) pixels of (m, 2) places (z, r) in mm."""
        # The lie turns and mirrors alone, so that its inverse is its transpose.
        return np.asarray(((places - self._zero_mm) / self._scales + self._level_zero) @ self.lie.matrix)

    @property
    def pixel_mm(self) -> float:
        """How large a pixel is along the coarser axis: nothing smaller can be seen."""
        return max(self.z.mm_per_px, self.r.mm_per_px)

    @property
    def spread(self) -> float:
        """How much the scales of the two axes differ."""
        return spread((self.z.mm_per_px, self.r.mm_per_px))

    @property
    def _scales(self) -> Array:
        return np.array([self.z.mm_per_px, self.r.mm_per_px])

    @property
    def _level_zero(self) -> Array:
        matrix = self.lie.matrix
        return np.array([matrix[0] @ np.array(self.face.at), matrix[1] @ np.array(self.axle.at)])

    @property
    def _zero_mm(self) -> Array:
        return np.array([self.face.is_mm, self.axle.is_mm])


@dataclass(frozen=True)
class TracingError:
    """What the error of a tracing is made of, mm; the largest counts.

    Attributes:
        pixels_mm: two pixels.
        scale_mm: what the scales disagree by, or two pixels' error of a known length, carried from the zero
            out to the farthest place.
        least_mm: what no tracing is better than.
    """

    pixels_mm: float
    scale_mm: float
    least_mm: float = LEAST_ERROR_MM

    @property
    def whole_mm(self) -> float:
        """The error that a tracing starts with."""
        return max(self.pixels_mm, self.scale_mm, self.least_mm)


def tracing_error(picture: PictureMap, places: Array) -> TracingError:
    """Return the error that the outline through (m, 2) places should have at least.

    An axis' scale may be wrong by what its known lengths disagree by, by what the two axes disagree by, and
    by the pointing at the ends of its longest known length. Common practice, no source.
    """
    scale_mm = 0.0
    for column, (axis, zero) in enumerate(((picture.z, picture.face), (picture.r, picture.axle))):
        share = max(axis.spread, picture.spread, POINTED_PX / axis.longest_px)
        reach = float(np.abs(places[:, column] - zero.is_mm).max()) if len(places) else 0.0
        scale_mm = max(scale_mm, share * reach)
    return TracingError(POINTED_PX * picture.pixel_mm, scale_mm)


@dataclass(frozen=True)
class TracedPoint:
    """A point of a traced outline.

    Attributes:
        at: where it was clicked.
        z, r: typed coordinates in mm, which win over the click; None where nobody typed one.
        radius: corner radius, mm.
    """

    at: Pixel
    z: float | None = None
    r: float | None = None
    radius: float = 0.0


def traced(points: Sequence[TracedPoint], picture: PictureMap) -> tuple[Corner, ...]:
    """Return the corners of a traced outline, in the order of its points."""
    if not points:
        return ()
    places = picture.places(np.array([p.at for p in points], dtype=float)).tolist()
    return tuple(
        Corner(z if p.z is None else p.z, r if p.r is None else p.r, p.radius)
        for p, (z, r) in zip(points, places, strict=True)
    )


def shown_at(points: Sequence[TracedPoint], picture: PictureMap | None) -> Array:
    """Return the (m, 2) pixels at which points are shown: typed coordinates where they are, not the click."""
    clicked = np.array([p.at for p in points], dtype=float).reshape(-1, 2)
    if picture is None or not points:
        return clicked
    return picture.pixels(np.array([(c.z, c.r) for c in traced(points, picture)]))

"""All that was clicked and typed over a picture, as one value; its history; what comes next."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import Enum

from app.language import tr
from geometry.errors import GeometryError
from geometry.shape.tracing import (
    AxisScale,
    KnownLength,
    Lie,
    PictureMap,
    Pixel,
    TracedPoint,
    Zero,
    axis_scale,
)

#: Which axis each known length runs along.
LENGTH_AXES = ("z", "z", "r", "r")
_AS_IT_IS = Lie()
#: A closed outline has this many points at least.
LEAST_POINTS = 3


class Task(Enum):
    """What the next click is for: what its button says, what is to be clicked, how many places."""

    LEVEL = (
        tr("Point at a &level or upright line"),
        tr("the ends of a line that should be level or upright"),
        2,
    )
    Z_FIRST = (tr("Point at the first, along &z"), tr("the two ends of a known length along z, the axle"), 2)
    Z_SECOND = (tr("Point at the second, along z"), tr("the two ends of another known length along z"), 2)
    R_FIRST = (
        tr("Point at the first, along &r"),
        tr("the two ends of a known length along r, square to the axle"),
        2,
    )
    R_SECOND = (tr("Point at the second, along r"), tr("the two ends of another known length along r"), 2)
    BEARING = (
        tr("Point at the face the wheel &bears on"),
        tr("the face the wheel bears on (outer face of the disc hat)"),
        1,
    )
    FLANGE = (tr("Point at the hub &flange, under the disc hat"), tr("the hub flange, under the disc hat"), 1)
    AXLE = (tr("Point at the a&xle line"), tr("the axle line, or any place whose r is known"), 1)
    OUTLINE = (tr("Click the out&line"), tr("the corners of the outline, one after the other"), 1)

    @property
    def places(self) -> int:
        """How many places it takes."""
        return self.value[2]

    @property
    def button(self) -> str:
        """What its button says."""
        return self.value[0]

    @property
    def words(self) -> str:
        """What is to be clicked."""
        return self.value[1]

    @property
    def length(self) -> int | None:
        """Which known length it points at."""
        return _LENGTHS.index(self) if self in _LENGTHS else None

    @staticmethod
    def of_length(slot: int) -> Task:
        """Return the task that points at a known length."""
        return _LENGTHS[slot]


_LENGTHS = (Task.Z_FIRST, Task.Z_SECOND, Task.R_FIRST, Task.R_SECOND)


@dataclass(frozen=True)
class Length:
    """One known length as far as it is given."""

    ends: tuple[Pixel, Pixel] | None = None
    true_mm: float | None = None


@dataclass(frozen=True)
class Trace:
    """What was clicked and typed.

    Attributes:
        page: of a PDF, from 0.
        lie: of the picture.
        lengths: the four known lengths, along LENGTH_AXES.
        face, face_mm: a pixel with a known z, and that z.
        axle, axle_mm: a pixel with a known r, and that r.
        points: of the outline, closed or not.
    """

    page: int = 0
    lie: Lie = _AS_IT_IS
    lengths: tuple[Length, ...] = (Length(),) * len(LENGTH_AXES)
    face: Pixel | None = None
    face_mm: float = 0.0
    axle: Pixel | None = None
    axle_mm: float = 0.0
    points: tuple[TracedPoint, ...] = ()
    is_closed: bool = False

    def known(self) -> tuple[KnownLength, ...]:
        """Return the known lengths that are whole."""
        return tuple(
            KnownLength(axis, length.ends, length.true_mm)
            for axis, length in zip(LENGTH_AXES, self.lengths, strict=True)
            if length.ends is not None and length.true_mm is not None
        )

    def scale(self, axis: str) -> AxisScale:
        """Return the scale of an axis.

        Raises:
            GeometryError: there is none yet, or a length is too short along its axis.
        """
        return axis_scale(self.known(), axis, self.lie)

    def map(self) -> PictureMap | None:
        """Return where each pixel lies, None until both scales and both zeros are there."""
        if self.face is None or self.axle is None:
            return None
        try:
            z, r = self.scale("z"), self.scale("r")
        except GeometryError:
            return None
        return PictureMap(self.lie, z, r, Zero(self.face, self.face_mm), Zero(self.axle, self.axle_mm))

    def with_length(self, slot: int, **changes: object) -> Trace:
        """Return the trace with one known length changed."""
        lengths = list(self.lengths)
        lengths[slot] = replace(lengths[slot], **changes)  # type: ignore[arg-type]
        return replace(self, lengths=tuple(lengths))

    def with_point(self, k: int, **changes: object) -> Trace:
        """Return the trace with one point of the outline changed."""
        points = list(self.points)
        points[k] = replace(points[k], **changes)  # type: ignore[arg-type]
        return replace(self, points=tuple(points))

    def with_new_point(self, k: int, at: Pixel) -> Trace:
        """Return the trace with a point put before the k-th."""
        return replace(self, points=(*self.points[:k], TracedPoint(at), *self.points[k:]))

    def without_point(self, k: int) -> Trace:
        """Return the trace without a point; what no longer encloses an area is open again."""
        points = (*self.points[:k], *self.points[k + 1 :])
        return replace(self, points=points, is_closed=self.is_closed and len(points) >= LEAST_POINTS)

    def next_task(self) -> Task | None:
        """Return what must be pointed at next; None when the outline is closed over a whole map."""
        for slot in (0, 2):
            if self.lengths[slot].ends is None:
                return Task.of_length(slot)
        if self.face is None:
            return Task.BEARING
        if self.axle is None:
            return Task.AXLE
        return None if self.is_closed else Task.OUTLINE

    def untyped(self) -> int | None:
        """Return the first known length whose ends are there and whose true length is not."""
        return next((k for k, x in enumerate(self.lengths) if x.ends is not None and x.true_mm is None), None)


@dataclass
class History:
    """The traces before and after the present one.

    Changes with the same word that follow each other, such as keys typed into one field, are one step.
    """

    now: Trace = field(default_factory=Trace)
    past: list[Trace] = field(default_factory=list)
    future: list[Trace] = field(default_factory=list)
    _word: str = ""

    def put(self, trace: Trace, word: str = "") -> None:
        """Make a trace the present one."""
        if trace == self.now:
            return
        if not word or word != self._word:
            self.past.append(self.now)
        self.now, self._word = trace, word
        self.future.clear()

    def end_step(self) -> None:
        """Let the next change be a step of its own."""
        self._word = ""

    def undo(self) -> bool:
        """Go back by one step; False where there is none."""
        return self._go(self.past, self.future)

    def redo(self) -> bool:
        """Go forward by one step; False where there is none."""
        return self._go(self.future, self.past)

    def _go(self, back: list[Trace], forth: list[Trace]) -> bool:
        if not back:
            return False
        forth.append(self.now)
        self.now, self._word = back.pop(), ""
        return True

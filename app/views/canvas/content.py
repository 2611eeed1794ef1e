"""What the overlay says and marks: plain values at places of the drawing, sizes in logical pixels."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import lru_cache

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QImage, QPixmap

Place = tuple[float, float]


@dataclass(frozen=True)
class Words:
    """Text at a place, shifted in pixels; `align` says which side of the text lies at the place.

    Attributes:
        align: -1 the text ends there, 0 it is centred, 1 it starts there.
        role: colour by role, unless `colour` is given.
        room_mm: how wide the text may be; where it is wider at the present zoom, `less` is shown instead.
    """

    place: Place
    text: str
    shift: tuple[float, float] = (0.0, 0.0)
    align: int = 0
    role: str = "ink"
    colour: QColor | None = None
    room_mm: float = math.inf
    less: Words | None = None


@dataclass(frozen=True)
class Callout:
    """A number with words under it, led to a place; it stands where it hides least.

    Attributes:
        towards: direction in which it would best stand, in pixels, unit length.
    """

    place: Place
    number: str
    words: str
    towards: tuple[float, float]
    colour: QColor


@dataclass(frozen=True)
class Stroke:
    """A line through places; `ticks_px` draws a stroke across each end."""

    places: tuple[Place, ...]
    role: str = "ink"
    colour: QColor | None = None
    style: Qt.PenStyle = Qt.PenStyle.SolidLine
    width: float = 1.0
    ticks_px: float = 0.0


@dataclass(frozen=True)
class Ring:
    """A circle round a place, with a cross in it for a fault."""

    place: Place
    radius_px: float
    colour: QColor
    cross: bool = False


@dataclass(frozen=True)
class Tag:
    """A number that changes from step to step, beside its place; it is painted anew each time."""

    place: Place
    text: str
    colour: QColor


@dataclass(frozen=True)
class Plane:
    """A chain line across the whole view at one z, named at its foot."""

    z: float
    text: str


@dataclass(frozen=True)
class Bracket:
    """The known extent of a shape along the axle; an end that is not the body's end is drawn open."""

    z_low: float
    z_high: float
    r: float
    closed_low: bool
    closed_high: bool
    text: str


Mark = Words | Callout | Stroke | Ring | Bracket | Tag


@dataclass
class Legend:
    """A scale of colours, as that of the wall band: least first, and the words at both ends."""

    colours: tuple[QColor, ...] = ()
    low: str = ""
    high: str = ""

    def strip(self) -> QPixmap:
        """Return the colours side by side, one pixel each."""
        return _strip(tuple(colour.rgb() for colour in self.colours))


@dataclass
class Content:
    """Everything the overlay draws.

    Attributes:
        still: marks that stand still while a wheel is dragged; the same tuple as long as none has changed.
        moving: marks that may be others at every step.
    """

    still: tuple[Mark, ...] = ()
    moving: list[Mark] = field(default_factory=list)
    planes: list[Plane] = field(default_factory=list)
    legend: Legend = field(default_factory=Legend)
    hints: list[str] = field(default_factory=list)
    empty_words: str = ""

    @property
    def marks(self) -> list[Mark]:
        """All marks."""
        return [*self.still, *self.moving]


@lru_cache(maxsize=4)
def _strip(colours: tuple[int, ...]) -> QPixmap:
    image = QImage(len(colours), 1, QImage.Format.Format_RGB32)
    for k, colour in enumerate(colours):
        image.setPixel(k, 0, colour)
    return QPixmap.fromImage(image)

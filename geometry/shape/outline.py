"""Stay-out shapes: what a wheel must not enter, where each is known, and how far it can be trusted.

The frame is the hub's: z = 0 is the face the wheel bears on without a spacer. A shape is an area in
(z, r), both edges kept; it is never filled down to the axle.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import lru_cache

import numpy as np

from geometry.shape.curve import Path, check_half_plane
from geometry.shape.faults import Fault, crossings
from geometry.shape.held import AddedDimension, Constraint, Parameter
from geometry.shape.rounding import rounded


@dataclass(frozen=True)
class Corner:
    """One vertex of a shape or a blank: place and corner radius in mm, bulge of the edge that leaves it."""

    z: float
    r: float
    radius: float = 0.0
    bulge: float = 0.0


# Values are frozen, and a drag asks for the same blank and shapes at every step.
@lru_cache(maxsize=512)
def outline_path(corners: tuple[Corner, ...]) -> Path | tuple[Fault, ...]:
    """Return the exact closed counterclockwise path of an outline, or its faults.

    Raises:
        GeometryError: a value is not finite, or lies below the axle line.
    """
    rows = np.array([(c.z, c.r, c.bulge) for c in corners], dtype=float).reshape(-1, 3)
    check_half_plane(rows)
    if len(corners) < 3 and not (len(corners) == 2 and any(c.bulge for c in corners)):
        return (Fault("too few vertices", "An outline needs at least three vertices.", None),)
    radii, whole = np.array([c.radius for c in corners], dtype=float), np.zeros(len(corners), dtype=np.bool_)
    found = rounded(Path(rows[:, :2].copy(), rows[:, 2].copy()), radii, whole)
    if isinstance(found, tuple):
        return found
    return crossings(found.path) or found.path.counterclockwise()


@lru_cache(maxsize=512)
def placed_outline(corners: tuple[Corner, ...], dz: float) -> Path | tuple[Fault, ...]:
    """Return `outline_path` moved along the axle by dz mm; the same object for the same corners and place.

    Raises:
        GeometryError: as `outline_path`.
    """
    path = outline_path(corners)
    return path.moved(dz=dz) if isinstance(path, Path) and dz else path


class ShapeKind(StrEnum):
    """What a stay-out shape is; gap rules may differ by it."""

    CALIPER = "caliper"
    KNUCKLE = "knuckle"
    SHIELD = "shield"
    TIE_ROD = "tie rod"
    ARM = "arm"
    DAMPER = "damper"
    HOSE = "hose"
    OTHER = "other"


class Motion(StrEnum):
    """How a shape moves when the wheel is steered."""

    WITH_KNUCKLE = "with the knuckle"
    AGAINST_KNUCKLE = "against the knuckle"
    NOT_SAID = "not said yet"


#: Kinds that do not steer with the wheel.
AGAINST_KINDS = (ShapeKind.TIE_ROD, ShapeKind.ARM, ShapeKind.DAMPER, ShapeKind.HOSE)


def motion_of(kind: ShapeKind) -> Motion:
    """Return how a kind of shape moves; of what may be anything nobody has said it yet."""
    if kind is ShapeKind.OTHER:
        return Motion.NOT_SAID
    return Motion.AGAINST_KNUCKLE if kind in AGAINST_KINDS else Motion.WITH_KNUCKLE


class ZeroFace(StrEnum):
    """Which face is z = 0 of an outline as given."""

    BEARING = "face the wheel bears on"
    HUB_FLANGE = "hub flange, under the disc hat"


class Reach(StrEnum):
    """Over what of the body r is the largest."""

    WHOLE = "over the whole body"
    ONE_PLANE = "only at one plane"


class Known(StrEnum):
    """State of an answer on the source card."""

    ANSWERED = "answered"
    ASSUMED = "assumed"
    OPEN = "open"


class Grade(StrEnum):
    """Trust in an outline, best first."""

    PROVED = "proved"
    DRAWING = "drawing"
    SCAN = "scan"
    TRACING = "tracing"
    HEARSAY = "hearsay"


@dataclass(frozen=True)
class Answer:
    """One of the five answers: its state, what was said, and by whom."""

    state: Known = Known.OPEN
    text: str = ""
    by: str = ""

    @property
    def is_open(self) -> bool:
        """True while nobody has said anything: an answer without words and without a name is none."""
        return self.state is Known.OPEN or not (self.text.strip() or self.by.strip())


@dataclass(frozen=True)
class Extent:
    """Where a shape is known; the drawing's end is not the body's end unless someone saw it end there.

    Attributes:
        z_low, z_high: known interval along the axle, mm; None stands for the interval of its own points.
        ends_inboard, ends_outboard: True when the body was seen to end there.
        cut_r_low, cut_r_high: radius in mm where the outline was cut off, or None where it was not.
        confirmed_by: who confirmed the extent; empty while nobody has.
    """

    z_low: float | None = None
    z_high: float | None = None
    ends_inboard: bool = False
    ends_outboard: bool = False
    cut_r_low: float | None = None
    cut_r_high: float | None = None
    confirmed_by: str = ""


@dataclass(frozen=True)
class SourceCard:
    """Where an outline comes from and how far it goes.

    Attributes:
        source: plain words: whose drawing, which revision, how measured.
        error_mm: the outline may be wrong by this either way; readings are judged with it taken off.
        included_gap_mm: gap that the outline already holds.
        zero_at: the outline's zero; with HUB_FLANGE it is moved inboard by the hat, onto the bearing face.
        hat_mm: thickness of the disc hat between hub flange and wheel; None where there is none.
        r_over: over what of the body r is the largest; at one plane only, nothing is known of the rest.
        datum_checked_by, datum_checked_on: who checked the zero face and axle line, and the date.
        unit, zero_face, whole_body, gap_included, disc_and_pads: the five answers.
        left_out: pipes, bleed screws, hoses and the like that the outline does not hold.
        file_name, file_sha256, file_unit, reader: provenance of an imported outline.
    """

    source: str = ""
    grade: Grade = Grade.HEARSAY
    error_mm: float = 0.0
    included_gap_mm: float = 0.0
    zero_at: ZeroFace = ZeroFace.BEARING
    hat_mm: float | None = None
    r_over: Reach = Reach.WHOLE
    datum_checked_by: str = ""
    datum_checked_on: str = ""
    unit: Answer = Answer()
    zero_face: Answer = Answer()
    whole_body: Answer = Answer()
    gap_included: Answer = Answer()
    disc_and_pads: Answer = Answer()
    left_out: str = ""
    file_name: str = ""
    file_sha256: str = ""
    file_unit: str = ""
    reader: str = ""


QUESTIONS: dict[str, str] = {
    "unit": "Which unit is the outline in?",
    "zero_face": "Which face is its zero: hub flange, or outer face of the disc hat and its thickness?",
    "whole_body": "Is r the largest over the whole body or only at one plane?",
    "gap_included": "Is any gap already included, and how much?",
    "disc_and_pads": "Which disc, brake pads (new or worn), side and axle?",
}


class CarSide(StrEnum):
    """Side of the car that a brake part belongs to."""

    NOT_SAID = ""
    LEFT = "left"
    RIGHT = "right"
    BOTH = "both"


class CarEnd(StrEnum):
    """End of the car that a brake part belongs to."""

    NOT_SAID = ""
    FRONT = "front"
    REAR = "rear"


@dataclass(frozen=True)
class Brake:
    """Which brake a shape shows; shapes of one family differ by disc, side or end of the car.

    Attributes:
        family: name that all variants of one brake share.
        disc_mm: diameter of the disc; None where nobody has said.
        hat_height_mm: from the hat's outer face to the middle of the disc, along the axle; None likewise.
        moved_from: the shape that this one was moved from without being measured, empty for an own outline.
        moved_z_mm, moved_r_mm: by how much.
    """

    family: str = ""
    disc_mm: float | None = None
    hat_height_mm: float | None = None
    side: CarSide = CarSide.NOT_SAID
    end: CarEnd = CarEnd.NOT_SAID
    moved_from: str = ""
    moved_z_mm: float = 0.0
    moved_r_mm: float = 0.0


@dataclass(frozen=True)
class NamedOutline:
    """One position of a shape: straight ahead, left lock, bump ..."""

    label: str
    corners: tuple[Corner, ...]
    parameters: tuple[Parameter, ...] = ()
    constraints: tuple[Constraint, ...] = ()
    dimensions: tuple[AddedDimension, ...] = ()


@dataclass(frozen=True)
class StayOut:
    """A stay-out shape.

    Attributes:
        outlines: one or more positions; the union is judged and the deciding one is named.
        swept: for a shape that moves against the knuckle: its outlines cover lock to lock and full travel
            (True), do not (False), or nobody has said (None).
        clock_low_deg, clock_high_deg: angles round the axle that the body spans, from straight up (0, a
            caliper level with the axle 90), rising; None where nobody has said.
        owner: whose outline it is; empty for the house's own. Reports to others leave it out.
    """

    name: str
    outlines: tuple[NamedOutline, ...]
    kind: ShapeKind = ShapeKind.CALIPER
    motion: Motion = Motion.WITH_KNUCKLE
    swept: bool | None = None
    clock_low_deg: float | None = None
    clock_high_deg: float | None = None
    owner: str = ""
    card: SourceCard = SourceCard()
    extent: Extent = Extent()
    brake: Brake = Brake()
    visible: bool = True
    locked: bool = False
    notes: dict[str, object] = field(default_factory=dict)

    def open_questions(self) -> tuple[str, ...]:
        """Return what must be answered before any reading against this shape is more than 'not known'."""
        asked = [text for key, text in QUESTIONS.items() if getattr(self.card, key).is_open]
        if not self.card.whole_body.is_open and self.card.r_over is Reach.ONE_PLANE:
            asked.append("r was taken at one plane only: how large is it over the whole body?")
        if self.card.zero_at is ZeroFace.HUB_FLANGE and self.card.hat_mm is None:
            asked.append("Its zero is the hub flange: how thick is the disc hat on it (0 for none)?")
        if self.card.grade is Grade.HEARSAY and self.card.error_mm == 0.0:
            asked.append("How far may the outline be off? One that is hearsay is not exact.")
        if not self.card.datum_checked_by.strip():
            asked.append("Who checked the zero face and the axle line, and when?")
        if not self.extent.confirmed_by.strip():
            asked.append("Where is the shape known, and where does the body end? (extent not confirmed)")
        if self.motion is Motion.NOT_SAID:
            asked.append("How does it move when the wheel is steered: with the knuckle, or against it?")
        if self.kind in AGAINST_KINDS and self.motion is Motion.WITH_KNUCKLE:
            asked.append(
                f"A {self.kind} does not steer with the wheel: say that it moves against the knuckle."
            )
        if self.motion is Motion.AGAINST_KNUCKLE and self.swept is not True:
            asked.append("Is it swept over steer lock to lock and full travel?")
        return tuple(asked)

    @property
    def shift_mm(self) -> float:
        """How far the outline as given must move along z into the hub's frame."""
        hat = self.card.hat_mm
        return -hat if self.card.zero_at is ZeroFace.HUB_FLANGE and hat is not None else 0.0

    def with_card(self, **changes: object) -> StayOut:
        """Return the shape with fields of its source card changed."""
        return replace(self, card=replace(self.card, **changes))  # type: ignore[arg-type]

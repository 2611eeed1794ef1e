"""A wheel: size, inset, locked contour, free vertices, hub, fixing, spokes, and what it is held against."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property, lru_cache

from app.project.coating import NOTHING_SAID, Coating
from app.project.exchange import exchanged
from app.project.strength import STATED, Rating
from geometry.shape.held import AddedDimension, Constraint, Parameter
from geometry.shape.rim import RimContour, contour_vertices
from geometry.shape.section import Section, Vertex


@dataclass(frozen=True)
class SizeCode:
    """Diameter code x width code and flange letter, as in 18 x 10 J."""

    diameter_code: float
    width_code: float
    flange: str = "J"

    def __str__(self) -> str:
        return f"{self.diameter_code:g} x {self.width_code:g} {self.flange}"


@dataclass(frozen=True)
class Unlocked:
    """Record of a rim contour that was unlocked: who, when, and from which parameters."""

    by: str
    on: str
    contour: RimContour


class Side(StrEnum):
    """On which sides of the vehicle a design runs; the section is the same on both and never mirrored."""

    EITHER = "either side"
    LEFT = "left"
    RIGHT = "right"
    PAIR = "left and right"


class Seat(StrEnum):
    """Bearing surface of a nut or bolt in the wheel."""

    CONE_60 = "60 degree cone"
    BALL = "ball"
    FLAT = "flat with washer"


@dataclass(frozen=True)
class Fixing:
    """Bolts or nuts on a circle.

    Attributes:
        circle_mm: diameter of the bolt circle.
        hole_mm: diameter of the through hole.
        seat_land_mm: metal between the seat's inner edge and the mounting face.
        socket_mm: diameter of the bore for the nut socket, from the street side down to the seat; 0 for none.
        ball_radius_mm: of a ball seat; 0 otherwise.
    """

    count: int = 5
    circle_mm: float = 120.0
    hole_mm: float = 15.0
    seat: Seat = Seat.CONE_60
    ball_radius_mm: float = 0.0
    seat_land_mm: float = 13.0
    socket_mm: float = 27.0


@dataclass(frozen=True)
class SingleNut:
    """One central nut: cone seat at the bore, drive pins on a circle.

    Attributes:
        cone_deg: included angle of the seat. seat_diameter_mm: its large diameter.
        seat_land_mm: metal between the seat's inner edge and the mounting face.
    """

    cone_deg: float
    seat_diameter_mm: float
    seat_land_mm: float
    pins: int
    pin_circle_mm: float
    pin_hole_mm: float


@dataclass(frozen=True)
class Hub:
    """The vehicle's hub as far as it is known; None stands for not known.

    Attributes:
        bore_mm: the wheel's bore diameter.
        hub_pad_mm: the wheel's hub pad, outside diameter.
        chamfer_mm: of the wheel's bore at the mounting face.
        spigot_mm, spigot_length_mm, spigot_root_radius_mm: of the vehicle's hub register.
        hub_ring: a ring between bore and spigot centres the wheel.
        flange_mm: flat outside diameter of hub flange or disc hat that the hub pad bears on.
        stud_length_mm, thread_mm, aluminium_nut: for the engaged thread.
    """

    bore_mm: float = 72.0
    hub_pad_mm: float = 148.0
    chamfer_mm: float = 0.0
    spigot_mm: float | None = None
    spigot_length_mm: float | None = None
    spigot_root_radius_mm: float | None = None
    flange_mm: float | None = None
    stud_length_mm: float | None = None
    thread_mm: float | None = None
    aluminium_nut: bool = False
    hub_ring: bool = False


@dataclass(frozen=True)
class Spokes:
    """The spoke region and what of it is metal.

    Attributes:
        count: number of spokes; 0 for a full disc.
        widths: (r, width along the arc) in mm, rising in r; a radius named twice is a step.
        hub_circle_mm: radius where the full hub ends and spokes begin.
        shoulder_cut, lip_cut: (z, r) ends of the cut between spokes and rim, on or beyond the skin.
        fixed_to: spoke vertices follow the rim or the hub when inset or width change.
        holds_envelope: section shows the highest places of the spoke backs; None while nobody has said.
    """

    count: int
    widths: tuple[tuple[float, float], ...]
    hub_circle_mm: float
    shoulder_cut: tuple[float, float]
    lip_cut: tuple[float, float]
    fixed_to: str = "rim"
    holds_envelope: bool | None = None


@dataclass(frozen=True)
class RingBody:
    """A body that turns with the wheel (weight band, valve, sensor, rib): in the gap, not in the wall.

    Its box lies between z_low and z_high and r_low and r_high, mm, in the wheel's frame.
    """

    name: str
    z_low: float
    z_high: float
    r_low: float
    r_high: float
    mass_kg: float = 0.0


@dataclass(frozen=True)
class Wheel:
    """One wheel version.

    Attributes:
        inset_mm: + when the mounting face is outboard of the rim centre plane.
        rim: parameters of the locked tyre side, or None when it was unlocked or never was standard.
        vertices: the free part, from the outboard end of the brake side ... see `section`.
        seat_mm: z of the blank's own zero in the wheel's frame.
        sequence: note on the machining sequence, for the house alone.
        made_from, why: the version that this one was made from, if any, and what for.
        rating: where load_kg comes from. reference: wheel that this one's strength is compared with.
        tyre_growth_percent: how much larger than by design the tyre's width and height may be in service;
            4 is a public listing of tyre formulas' (secondary).
        parameters, constraints, dimensions: what the designer asks of its vertices and has measured between
            them, as numbered in `section`.
        side: of a directional design; 'left and right' are two faces on this one section.
    """

    name: str
    size: SizeCode
    inset_mm: float
    vertices: tuple[Vertex, ...]
    rim: RimContour | None = None
    unlocked: Unlocked | None = None
    hub: Hub = Hub()
    fixing: Fixing | SingleNut | None = None
    spokes: Spokes | None = None
    rings: tuple[RingBody, ...] = ()
    material: str = "6061-T6"
    clears: tuple[str, ...] = ()
    rules: str | None = None
    conditions: str | None = None
    blank: str | None = None
    seat_mm: float = 0.0
    sequence: str = ""
    spacer_mm: float = 0.0
    load_kg: float | None = None
    rating: Rating = STATED
    reference: str | None = None
    made_from: str | None = None
    why: str = ""
    tyre: str = ""
    tyre_growth_percent: float = 4.0
    parameters: tuple[Parameter, ...] = ()
    constraints: tuple[Constraint, ...] = ()
    dimensions: tuple[AddedDimension, ...] = ()
    side: Side = Side.EITHER
    coating: Coating = NOTHING_SAID
    visible: bool = True
    locked: bool = False
    notes: dict[str, object] = field(default_factory=dict)

    @cached_property
    def section(self) -> Section:
        """The whole half-section: locked contour vertices first (outboard to inboard), then the free ones."""
        if self.rim is None:
            return Section(self.vertices)
        contour = _contour(self.rim, self.inset_mm)
        return Section(contour + self.vertices, locked=len(contour))

    def with_section(self, section: Section) -> Wheel:
        """Return the wheel with the free vertices of an edited section."""
        made = exchanged(self, vertices=section.vertices[section.locked :])
        own, locked = vars(self).get("section"), section.locked
        if own is not None and own.locked == locked and own.vertices[:locked] == section.vertices[:locked]:
            vars(made)["section"] = section  # as it would be built again
        return made


# A wheel keeps its rim and inset while its free vertices are dragged, and so do most of its versions.
@lru_cache(maxsize=256)
def _contour(rim: RimContour, inset_mm: float) -> tuple[Vertex, ...]:
    """Return the vertices of a rim contour in the wheel's frame."""
    return tuple(v.moved(dz=-inset_mm) for v in contour_vertices(rim))

"""How a ring is drawn out, and what comes of it."""

from __future__ import annotations

from dataclasses import dataclass

from geometry.errors import GeometryError
from geometry.forging.composite import Blank
from geometry.forging.walls import value_at
from geometry.readings.solid import volume_mm3
from geometry.shape.curve import Array, Path


@dataclass(frozen=True)
class Spinning:
    """How a ring is drawn out; every number is a starting value until it is the spinner's own.

    Attributes:
        reduction: greatest in total, as a share. per_pass: greatest of one pass.
        wall_mm: least wall as spun.
        mandrel_deg: draft of the mandrel; its bore opens towards the inner end.
        roller_deg: steepest flank of the outside against the axle, and steepest step of the mandrel.
        nose_mm: radius of the rollers' nose, the least of hollows outside.
        back_flow_mm: length of the shoulder.
        trim_mm: length of the ring's end that is cut off after spinning.
        ring_wall_mm: wall of the forged ring at its end; None for as thick as the thickest spun wall.
        root_mm: z at which spinning begins; None for where the bore's wall meets the disc.

    Raises:
        GeometryError: a value is out of bounds.
    """

    reduction: float = 0.50
    per_pass: float = 0.30
    wall_mm: float = 10.0
    mandrel_deg: float = 1.0
    roller_deg: float = 30.0
    nose_mm: float = 10.0
    back_flow_mm: float = 10.0
    trim_mm: float = 10.0
    ring_wall_mm: float | None = None
    root_mm: float | None = None

    def __post_init__(self) -> None:
        for words, share in (("in total", self.reduction), ("of a pass", self.per_pass)):
            if not 0.01 <= share <= 0.9:
                raise GeometryError(f"The reduction {words} is {share:.1%}; it must be from 1 % to 90 %.")
        for words, angle, low, high in (
            ("draft of the mandrel", self.mandrel_deg, 0.1, 20.0),
            ("angle of the rollers", self.roller_deg, 5.0, 80.0),
        ):
            if not low <= angle <= high:
                raise GeometryError(f"The {words} is {angle:g} degrees; it must be from {low:g} to {high:g}.")
        if self.mandrel_deg >= self.roller_deg:
            raise GeometryError("The draft of the mandrel must be less than the angle of the rollers.")
        for words, length, low, high in (
            ("least wall as spun", self.wall_mm, 1.0, 100.0),
            ("nose radius of the rollers", self.nose_mm, 0.0, 100.0),
            ("length of the back-flow at the root", self.back_flow_mm, 0.0, 100.0),
            ("trim after spinning", self.trim_mm, 0.0, 100.0),
            (
                "wall of the forged ring",
                self.wall_mm if self.ring_wall_mm is None else self.ring_wall_mm,
                1.0,
                200.0,
            ),
        ):
            if not low <= length <= high:
                raise GeometryError(f"The {words} is {length:g} mm; it must be from {low:g} to {high:g}.")


@dataclass(frozen=True)
class SpunVolumes:
    """Where the metal of a spun blank is, mm3.

    Attributes:
        disc: outboard of the root. barrel, lip_bulge: of the ring inboard of it, with its shoulder.
        trim: what is cut off the ring's end.
        needed: of the ring as the wheels and their stock need it. draft: that the mandrel's draft and the
            angle of its steps add. flanks: that the rollers cannot reach.
        least_wall: that is kept for the least wall and the greatest reduction.
        root: that shoulder and fillet add.
    """

    disc: float
    barrel: float
    lip_bulge: float
    trim: float
    needed: float
    draft: float
    flanks: float
    least_wall: float
    root: float


@dataclass(frozen=True, eq=False)
class SpunSkins:
    """Radii over the distance from the trimmed inner end up to the root, as profiles, innermost first.

    Attributes:
        bore: that the wheels ask for. asked: outside that they ask for. reached: that rollers can leave.
        walled: with the least wall and the greatest reduction kept; up to the shoulder.
    """

    bore: Array
    asked: Array
    reached: Array
    walled: Array


@dataclass(frozen=True, eq=False)
class Spun:
    """A forged-and-spun blank.

    Attributes:
        path: outline as spun, its end trimmed; closed, counterclockwise.
        preform: the forging that it is drawn from.
        volumes: where its metal is.
        root: (z, r) where spinning begins. end_mm: z of the trimmed inner end. ring_end_mm: of the preform's.
        mandrel, outside: radius of mandrel and rolled skin over the distance from the end, as profiles.
        skins: what lies between these two, as `volumes` part it.
        ring_wall_mm: of the preform at its end, its least. thickest_mm: of the preform beside the shoulder.
        wall_mm: least as spun. lip_mm: thickest as spun in the inner half of the barrel, the lip's.
        reduction: greatest of any metal, as a share. passes: least number of them.
    """

    path: Path
    preform: Blank
    volumes: SpunVolumes
    root: tuple[float, float]
    end_mm: float
    ring_end_mm: float
    mandrel: Array
    outside: Array
    skins: SpunSkins
    ring_wall_mm: float
    thickest_mm: float
    wall_mm: float
    lip_mm: float
    reduction: float
    passes: int

    @property
    def volume_mm3(self) -> float:
        """Volume as spun, trimmed."""
        return volume_mm3(self.path)

    @property
    def parting_mm(self) -> tuple[float, float]:
        """Place (z, r) at which the dies of the forging meet."""
        rim = self.preform.rim_mm
        return -value_at(self.preform.lower, rim), rim

    @property
    def ring_height_mm(self) -> float:
        """Height of the forged ring inboard of the root."""
        return self.root[0] - self.ring_end_mm

    @property
    def barrel_mm(self) -> float:
        """Length of the spun ring inboard of the root, trimmed."""
        return self.root[0] - self.end_mm

    @property
    def mandrel_ends_mm(self) -> tuple[float, float]:
        """Radius of the mandrel at the open end, and at the root."""
        return value_at(self.mandrel, 0.0), value_at(self.mandrel, self.barrel_mm)

    @property
    def widened_mm(self) -> float:
        """By how much the bore of the ring's end grows in radius on its way to the inner end."""
        return value_at(self.mandrel, 0.0) - value_at(self.mandrel, self.ring_end_mm - self.end_mm)

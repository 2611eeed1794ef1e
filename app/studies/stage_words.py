"""How a stage is held and what it is warned of, as data that is put in words in any unit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from app.units import format_mass
from geometry.forging.grip import REACH_MM, Grip
from geometry.readings.measure import StockRow

#: Writes a length in mm, and a mass in kg.
Length = Callable[[float], str]
Mass = Callable[[float], str]

#: A wall that differs from a cone by no more is one, mm.
_SAME_WALL_MM = 0.05


@dataclass(frozen=True)
class SoftJaws:
    """What soft jaws are turned to, mm: diameters of the part where they hold it.

    Attributes:
        z_near: at the end of the part that they hold. z_far: at their other end.
        near_mm, far_mm: diameters there. most_mm: the largest that they hold outside, the least inside.
        off_mm: by how much the wall between differs from a cone, on the radius.
        pushes_deg: by how much the wall leans so that the jaws push the part off the chuck; 0 where they draw
            it on.
        is_outside: they close on the outside, else they open in the ring.
    """

    z_near: float
    z_far: float
    near_mm: float
    far_mm: float
    most_mm: float
    off_mm: float
    pushes_deg: float
    is_outside: bool

    @property
    def length_mm(self) -> float:
        """Length that they hold."""
        return abs(self.z_far - self.z_near)

    def words(self, length: Length) -> str:
        """Return what the jaws are turned to."""
        how = "bored" if self.is_outside else "turned outside"
        said = (
            f"soft jaws {how} to diameter {length(self.near_mm)} at z {length(self.z_near)} and "
            f"{length(self.far_mm)} at z {length(self.z_far)}, {length(self.length_mm)} long"
        )
        if self.off_mm <= _SAME_WALL_MM:
            return said
        most = "largest" if self.is_outside else "least"
        off = f"up to {length(self.off_mm)} off a cone, {most} {length(self.most_mm)}"
        return f"{said}; between them the outline, {off}"


@dataclass(frozen=True)
class Holding:
    """How a part lies in the machine.

    Attributes:
        face: what lies against the chuck; face_mm: its z; face_r_mm: between which radii.
        is_raw: the face is as forged, or rough.
        bore_mm: diameter that centres it; None where the jaws do.
        grip: straight wall for the jaws; None where there is none.
        is_outside: the jaws close on the outside, else they open in the ring.
        outboard: they come from the outboard end.
        largest_mm: diameter of the part, for soft jaws where there is no wall.
        jaws: what soft jaws are turned to; None where no metal is within their reach.
    """

    face: str
    face_mm: float
    face_r_mm: tuple[float, float]
    is_raw: bool
    bore_mm: float | None
    grip: Grip | None
    is_outside: bool
    outboard: bool
    largest_mm: float
    jaws: SoftJaws | None = None

    def datum_words(self, length: Length) -> str:
        """Return in words what it lies on."""
        raw = "raw " if self.is_raw else ""
        bore = "" if self.bore_mm is None else f", bore diameter {length(self.bore_mm)}"
        return f"{raw}{self.face} at z {length(self.face_mm)}{bore}"

    def grip_words(self, length: Length) -> str:
        """Return in words what the jaws hold."""
        where = "outside" if self.is_outside else "in the ring"
        end = "outboard" if self.outboard else "inboard"
        if self.grip is None:
            return (
                f"{where} at the {end} end by soft jaws turned to the outline: there is no straight wall "
                f"within {length(REACH_MM)} of the end; largest diameter {length(self.largest_mm)}"
            )
        far = self.grip.z_low if self.outboard else self.grip.z_high
        ridge = f", as far as the ridge at z {length(far)}" if self.grip.to_ridge else ""
        ends = f"from z {length(self.grip.z_low)} to {length(self.grip.z_high)}{ridge}"
        return (
            f"{where} at the {end} end on diameter {length(self.grip.near_mm)}, straight for "
            f"{length(self.grip.length_mm)} {ends}"
        )


@dataclass(frozen=True)
class Finding:
    """One warning: words with places for lengths and masses, and where it is.

    Attributes:
        text: with {0}, {1} ... in place of lengths, then of masses.
        lengths_mm: that stand there.
        at: (z, r), None where it has no place.
        masses_kg: that stand after the lengths.
    """

    text: str
    lengths_mm: tuple[float, ...] = ()
    at: tuple[float, float] | None = None
    masses_kg: tuple[float, ...] = ()

    def words(self, length: Length, mass: Mass = format_mass) -> str:
        """Return it in a unit of length and of mass."""
        said = self.text.format(
            *(length(value) for value in self.lengths_mm), *(mass(value) for value in self.masses_kg)
        )
        return said if self.at is None else f"{said}, at z {length(self.at[0])}, r {length(self.at[1])}"


def _where(row: StockRow) -> str:
    return f"{row.zone}, {row.side} side"


def movement_words(row: StockRow, wanted_mm: float) -> Finding:
    """Less stock than the ring moves by."""
    if row.least_mm < 0.0:
        return Finding(f"{_where(row)}: no stock is left, {{0}} is missing", (-row.least_mm,), row.at)
    return Finding(
        f"{_where(row)}: {{0}} of stock is left, less than the movement of {{1}}",
        (row.least_mm, wanted_mm),
        row.at,
    )


def idle_words(left_mm: float) -> Finding:
    """A cut that takes nothing off."""
    return Finding(
        "nothing is cut: the part has nowhere more than the {0} of stock that this stage leaves; leave less, "
        "or leave the stage out",
        (left_mm,),
    )


def idle_side_words(left_mm: float) -> Finding:
    """One side of rough turning takes nothing off, the other does."""
    return Finding(
        "nothing is cut on this side: it has nowhere more than the {0} of stock that this stage leaves; "
        "leave this clamping out, or leave less",
        (left_mm,),
    )


def short_grip_words(length_mm: float, wanted_mm: float) -> Finding:
    """The wall for the jaws is short."""
    return Finding("the wall for the jaws is straight for {0} only, {1} is wanted", (length_mm, wanted_mm))


def leaning_words(jaws: SoftJaws) -> Finding:
    """The wall leans so that jaws push the part off."""
    return Finding(
        f"where the jaws hold, the wall leans by {jaws.pushes_deg:.1f} degrees and they push the part off "
        "the chuck: let soft jaws reach behind it, hold it from the face, or leave {0} of straight ring "
        "to hold",
        (jaws.length_mm,),
    )


def spun_ring_words() -> Finding:
    """The ring of a spun blank is not known."""
    return Finding(
        "the ring that the blank is drawn from is not known: what is forged, its thickest place as forged "
        "and the trim are not in this; add its outline to the blank"
    )


def same_metal_words(ring_kg: float, spun_kg: float, with_trim: bool) -> Finding:
    """The ring does not hold the metal of the spun outline."""
    trim = " with its trim" if with_trim else ""
    return Finding(
        f"the forged ring holds {{0}} and the spun outline{trim} {{1}}: spinning keeps the metal; mend one "
        "of the outlines",
        masses_kg=(ring_kg, spun_kg),
    )


def ratio_words(treated_mm: float, forged_mm: float) -> Finding:
    """The blank is too thick as forged for the row."""
    return Finding(
        "thickest place {0} as forged is more than twice the {1} at heat treatment: the die-forging row does "
        "not hold",
        (forged_mm, treated_mm),
    )


def missing_words(mass_kg: float, at: tuple[float, float] | None) -> Finding:
    """The wheel is not in the blank."""
    said = "the wheel cannot be cut: about {0} of it lie outside the blank"
    return Finding(said, (), at, masses_kg=(mass_kg,))


def lacking_words(row: StockRow) -> Finding:
    """The wheel's skin lies outside what can be relied on."""
    return Finding(
        f"{_where(row)}: {{0}} beyond what can be relied on of the blank: metal is missing or raw skin stays",
        (-row.least_mm,),
        row.at,
    )


def raw_words(row: StockRow) -> Finding:
    """The wheel's skin is the blank's."""
    return Finding(f"{_where(row)}: raw skin stays on the finished wheel", (), row.at)

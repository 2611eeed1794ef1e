"""Chips, time and money: what cutting a wheel from its blank takes, at the shop's own rates.

Every rate is a setting. The ones a project starts with are invented but usual, and marked so: their sources
stand in STARTING_VALUES. Without dies, set-up of the forge, transport, proof, coating and profit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from app.project import edits
from app.project.project import Project
from app.project.shop import ShopRates
from app.project.wheel import Wheel
from app.studies.composite import Composite, GroupWheel
from app.studies.fit import hold
from geometry.errors import GeometryError
from geometry.forging.machining import cutting_kw, motor_kw
from geometry.forging.removal import opened_mm3, turned
from geometry.readings.measure import Held
from geometry.readings.solid import volume_mm3
from geometry.shape.blank import Blank, Supply
from geometry.shape.curve import Path
from geometry.shape.outline import placed_outline
from geometry.shape.section import Outline, build

#: By this share of the blank the volumes of all operations may miss what they must add up to.
SUM_SHARE = 1e-6

#: Less than this of a wheel outside its blank is rounding, mm3.
MISSING_MM3 = 1.0


@dataclass(frozen=True)
class Operation:
    """One operation on a wheel.

    Attributes:
        name: bore, turn outside, turn inside, face, turn undercuts, mill windows or drill holes; the turned
            ones as `geometry.forging.removal` parts them.
        energy_kwh: at the motor.
    """

    name: str
    volume_mm3: float
    chips_kg: float
    minutes: float
    energy_kwh: float


@dataclass(frozen=True)
class Money:
    """Price of a wheel's metal and cutting, in the currency of the rates.

    Attributes:
        log, forging, treatment: of an own blank; 0 for a bought one. bought: of a bought one, else 0.
        cutting: of the minutes of cutting. setting: of those of the set-ups.
        chips: what they bring. slug: what the slug of a pierced own blank brings.
        spinning: of a spun blank, by its price or its minutes; 0 where neither is known. Its mandrel is no
            part of a wheel's price: it is paid once, with the dies.
    """

    log: float
    forging: float
    treatment: float
    bought: float
    cutting: float
    setting: float
    chips: float
    spinning: float = 0.0
    slug: float = 0.0

    @property
    def metal(self) -> float:
        """Price of the blank."""
        return self.log + self.forging + self.treatment + self.spinning + self.bought

    @property
    def metal_and_cutting(self) -> float:
        """Blank and cutting less chips and slug, without set-ups: the figure of practice 23."""
        return self.metal + self.cutting - self.chips - self.slug

    @property
    def net(self) -> float:
        """Blank, cutting and set-ups less chips and slug."""
        return self.metal_and_cutting + self.setting


@dataclass(frozen=True)
class WheelMachining:
    """What it takes to cut one wheel from a blank; a blank makes one wheel.

    Attributes:
        blank_kg, wheel_kg: masses. log_kg: that an own blank is forged from, with loss.
        missing_mm3: of the wheel outside the blank; above MISSING_MM3 it cannot be cut from it, and the
            other numbers say only what would be cut.
        missing_at: (z, r) amid the most of it, in the wheel's frame.
        slug_kg: pierced out of the own blank's hub before it is cut: in its log, not in blank_kg or chips.
    """

    name: str
    blank_kg: float
    log_kg: float
    wheel_kg: float
    operations: tuple[Operation, ...]
    setup_minutes: float
    money: Money
    missing_mm3: float
    missing_at: tuple[float, float] | None
    slug_kg: float = 0.0

    @property
    def is_whole(self) -> bool:
        """True where all of the wheel lies in the blank's outline; whether its stock does, the rules say."""
        return self.missing_mm3 <= MISSING_MM3

    @property
    def volume_mm3(self) -> float:
        """Volume of all operations."""
        return sum(o.volume_mm3 for o in self.operations)

    @property
    def chips_kg(self) -> float:
        """Mass of all chips."""
        return sum(o.chips_kg for o in self.operations)

    @property
    def cutting_minutes(self) -> float:
        """Minutes of cutting, without set-ups."""
        return sum(o.minutes for o in self.operations)

    @property
    def energy_kwh(self) -> float:
        """Energy of all operations."""
        return sum(o.energy_kwh for o in self.operations)


def machining(
    project: Project, result: Composite, rates: ShopRates | None = None
) -> tuple[WheelMachining, ...]:
    """Return what cutting takes for each wheel of a group from its blank, in the group's order.

    Args:
        project: holds the wheels.
        result: the group's blank; its forging is cut.
        rates: the project's where None.

    Raises:
        EditError: a wheel that the project does not hold.
        GeometryError: a wheel cannot be read, or its volumes do not add up.
    """
    return cut_from(
        project, result.wheels, result.forged.lathe, rates or project.rates, result.forged.slug_kg
    )


def cut_from(
    project: Project, wheels: Sequence[GroupWheel], blank: Path, rates: ShopRates, slug_kg: float = 0.0
) -> tuple[WheelMachining, ...]:
    """Return what cutting takes for each wheel of a group from an outline in which they have their seats.

    Args:
        project: holds the wheels.
        wheels: with their seats.
        blank: as it comes to the lathe.
        rates: of the shop.
        slug_kg: pierced out of an own blank's hub before.

    Raises:
        EditError: a wheel that the project does not hold.
        GeometryError: a wheel cannot be read, or its volumes do not add up.
    """
    found = []
    for each in wheels:
        wheel: Wheel = edits.find(project, edits.WHEEL, each.name)
        found.append(_cut(project, wheel, blank.moved(dz=-each.seat_mm), rates, slug_kg))
    return tuple(found)


def machining_in_blank(project: Project, name: str, rates: ShopRates | None = None) -> WheelMachining:
    """Return what cutting a wheel takes from the blank that it stands in, as drawn.

    A forging may hold more than its drawing (`usable_blank.greatest_mm3`); that is not counted here. Of a
    spun blank whose ring is known the metal of the ring is paid, and its trim is chips.

    Raises:
        EditError: a wheel or blank that the project does not hold.
        GeometryError: the wheel has no blank, an outline is not one, or the volumes do not add up.
    """
    wheel: Wheel = edits.find(project, edits.WHEEL, name)
    if wheel.blank is None:
        raise GeometryError(f"Wheel '{name}' stands in no blank; choose one.")
    of = edits.find(project, edits.BLANK, wheel.blank)
    rates = rates or project.rates
    if of.supply is Supply.BOUGHT and of.price is not None:
        rates = replace(rates, bought_price=of.price)
    blank = placed_outline(of.corners, wheel.seat_mm)
    if isinstance(blank, tuple):
        raise GeometryError(f"Blank '{wheel.blank}': {blank[0].message}", blank[0].place)
    cut = _cut(project, wheel, blank.counterclockwise(), rates, of.slug_kg or 0.0)
    return _spun(cut, of, volume_mm3(blank), rates) if of.supply is Supply.SPUN and of.spun else cut


def _spun(cut: WheelMachining, blank: Blank, blank_mm3: float, rates: ShopRates) -> WheelMachining:
    """Return what cutting a wheel from a spun blank takes, with the metal of its ring and its spinning."""
    assert blank.spun is not None
    forged_kg = cut.blank_kg
    if blank.spun.ring:
        ring = placed_outline(blank.spun.ring, 0.0)
        if isinstance(ring, tuple):
            raise GeometryError(f"Forged ring of blank '{blank.name}': {ring[0].message}", ring[0].place)
        forged_kg *= volume_mm3(ring) / blank_mm3
    trim_kg = max(forged_kg - cut.blank_kg, 0.0)
    paid = money(forged_kg, cut.chips_kg + trim_kg, cut.cutting_minutes, rates, cut.slug_kg)
    spinning = blank.spun.spinning(rates.hour_price) or 0.0
    log_kg = (forged_kg + cut.slug_kg) * (1.0 + rates.loss)
    return replace(cut, log_kg=log_kg, money=replace(paid, spinning=spinning))


def money(
    blank_kg: float, chips_kg: float, cutting_min: float, rates: ShopRates, slug_kg: float = 0.0
) -> Money:
    """Return the price of a wheel's metal and cutting.

    Args:
        blank_kg: mass of the blank.
        chips_kg: what is cut off it.
        cutting_min: minutes of cutting.
        rates: of the shop.
        slug_kg: pierced out of an own blank's hub, beside its mass; it is not heat-treated.
    """
    own = rates.bought_price is None
    return Money(
        log=(blank_kg + slug_kg) * (1.0 + rates.loss) * rates.log_price_kg if own else 0.0,
        forging=rates.forging_price if own else 0.0,
        treatment=blank_kg * rates.treatment_price_kg if own else 0.0,
        bought=rates.bought_price or 0.0,
        cutting=cutting_min / 60.0 * rates.hour_price,
        setting=rates.setups * rates.setup_min / 60.0 * rates.hour_price,
        chips=chips_kg * rates.chip_value_kg,
        slug=slug_kg * rates.slug_value_kg if own else 0.0,
    )


def operation(
    name: str, volume_mm3: float, rate_cm3_min: float, density: float, rates: ShopRates
) -> Operation:
    """Return one operation's chips, time and energy; density in kg/mm3."""
    minutes = volume_mm3 / (1000.0 * rate_cm3_min)
    kilowatts = motor_kw(cutting_kw(1000.0 * rate_cm3_min / 60.0, rates.energy_j_mm3), rates.efficiency)
    return Operation(name, volume_mm3, density * volume_mm3, minutes, kilowatts * minutes / 60.0)


def _cut(project: Project, wheel: Wheel, blank: Path, rates: ShopRates, slug_kg: float) -> WheelMachining:
    """Return what cutting takes, the blank in the wheel's own frame."""
    bare = replace(wheel, clears=(), blank=None, spacer_mm=0.0)
    outline, held = build(bare.section), hold(project, bare)
    for read in (outline, held):
        if isinstance(read, tuple):
            raise GeometryError(f"Wheel '{wheel.name}' cannot be read: {read[0].message}", read[0].place)
    assert isinstance(outline, Outline)
    assert isinstance(held, Held)
    path = outline.path
    off, blank_mm3 = turned(blank, path), volume_mm3(blank)
    if abs(off.error_mm3) > SUM_SHARE * blank_mm3:
        raise GeometryError(
            f"What is cut off for wheel '{wheel.name}' does not add up: it is {off.error_mm3:.3g} mm3 off; "
            "look for edges of wheel and blank that touch themselves."
        )
    windows, holes = opened_mm3(path, held.spokes, held.holes)
    density = held.density_kg_m3 * 1e-9
    turning, milling, drilling = rates.turning_cm3_min, rates.milling_cm3_min, rates.drilling_cm3_min
    operations = tuple(
        operation(name, volume, rate, density, rates)
        for name, volume, rate in (
            ("bore", off.bore_mm3, turning),
            ("turn outside", off.outside_mm3, turning),
            ("turn inside", off.inside_mm3, turning),
            ("face", off.face_mm3, turning),
            ("turn undercuts", off.undercut_mm3, turning),
            ("mill windows", windows, milling),
            ("drill holes", holes, drilling),
        )
    )
    chips, minutes = sum(o.chips_kg for o in operations), sum(o.minutes for o in operations)
    blank_kg = density * blank_mm3
    # Whoever sells a pierced blank keeps its slug.
    slug_kg = slug_kg if rates.bought_price is None else 0.0
    return WheelMachining(
        name=wheel.name,
        blank_kg=blank_kg,
        log_kg=(blank_kg + slug_kg) * (1.0 + rates.loss),
        wheel_kg=density * (volume_mm3(path) - windows - holes),
        operations=operations,
        setup_minutes=rates.setups * rates.setup_min,
        money=money(blank_kg, chips, minutes, rates, slug_kg),
        missing_mm3=off.missing_mm3,
        missing_at=off.missing_at,
        slug_kg=slug_kg,
    )

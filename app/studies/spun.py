"""The forged-and-spun blank of a group beside the turned one: kilograms, money, loads, order of work."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from app.project import edits
from app.project.project import Project
from app.project.shop import ShopRates
from app.studies.composite import Composite, GroupWheel
from app.studies.forged import Forged, forged
from app.studies.forging_needs import ForgingSettings, GroupBody, group_body, ring_end, sampled_bodies
from app.studies.ladder import TO_DRAW, Rung, area_of
from app.studies.machining import WheelMachining, cut_from, money, operation
from app.studies.spun_ladder import spun_rungs
from geometry.errors import GeometryError
from geometry.forging import press
from geometry.forging.plan import ForgingStep, steps, warnings
from geometry.forging.spinning import Spinning, Spun
from geometry.forging.spun import Body, spun
from geometry.shape import blank as shape_blank
from geometry.shape.curve import Path
from geometry.shape.outline import Corner

#: Operation that turns off what a forging has beyond its usable outline.
ALLOWANCE = "turn off what may be missing"
_MEMORY = "starting value, from memory"

#: Where the number comes from that a setting of spinning starts with.
SOURCES: Mapping[str, str] = {
    "reduction": "practice of the trade: 50 %; handbook 2.4: up to 50 %, secondary source",
    "per_pass": _MEMORY,
    "wall_mm": _MEMORY,
    "mandrel_deg": _MEMORY,
    "roller_deg": _MEMORY,
    "nose_mm": _MEMORY,
    "back_flow_mm": _MEMORY,
    "trim_mm": _MEMORY,
}

#: In which order it is made, and what must be asked about the metal (practice 19, handbook 3).
ORDER = (
    "Order of work: forge, spin (heated to about 350 C, secondary source), T6 (solution treatment, quench, "
    "ageing), turn."
)
GRAIN = (
    "6061 that was worked warm may grow coarse grain when it is solution-treated after spinning: ask for the "
    "grain of a cut-up piece, at the barrel and at the disc's root."
)
#: What nobody has given a figure for.
NOT_IN = (
    "Assumed of spinning: the wall springs back by nothing and follows mandrel and rollers; no figure for "
    "springback, for the load of the rollers or for the reduction at which the wall cracks is at hand: ask "
    "the spinner for all three. Stock must also hold what springs back."
)
#: What is thin about the model.
THIN = f"{NOT_IN} Corner radii of the forged ring's end are not in. The seats are those of the turned blank."


@dataclass(frozen=True)
class SpunSettings:
    """How a group's blank is spun.

    Attributes:
        by: geometry and reductions.
        mandrel_price: of one mandrel, for this diameter and bore; None until it was asked for.
        spinning_price: of one piece; None until it was asked for.

    Raises:
        GeometryError: a price is below 0.
    """

    by: Spinning = field(default_factory=Spinning)
    mandrel_price: float | None = None
    spinning_price: float | None = None

    def __post_init__(self) -> None:
        for words, price in (("mandrel", self.mandrel_price), ("spinning", self.spinning_price)):
            if price is not None and not 0.0 <= price < 1e12:
                raise GeometryError(f"The price of the {words} is {price:g}; it must be from 0.")


@dataclass(frozen=True, eq=False)
class SpunBlank:
    """The spun blank of a group and what it is against the turned one.

    Attributes:
        found: outline as spun, forging, walls.
        settings: that it was found with.
        turned_kg: mass of the turned blank of the same wheels at the same seats.
        mass_kg: of the ring that is spun. spun_kg: as spun, its end trimmed. Both of usable outlines.
        wheels: as in the turned blank, with the chips of this one, of its trim and of what may be missing.
        log, steps, warnings: of the forging.
        forged: the forging: the outline to draw round the ring that is spun. It is what is paid for.
        held: outlines of the wheels at their seats, for a picture.
    """

    found: Spun
    settings: SpunSettings
    turned_kg: float
    mass_kg: float
    spun_kg: float
    wheels: tuple[GroupWheel, ...]
    log: press.Log
    steps: tuple[ForgingStep, ...]
    warnings: tuple[str, ...]
    held: tuple[tuple[str, Path], ...]
    forged: Forged

    @cached_property
    def rungs(self) -> tuple[Rung, ...]:
        """Where the kilograms are, up to the forging: each rung with its mass and its metal."""
        density = self.mass_kg / self.found.preform.volume_mm3
        missing = area_of(self.forged.path).difference(area_of(self.found.preform.path))
        return (
            *spun_rungs(self.found, density, self.settings.by.trim_mm),
            *([Rung(TO_DRAW, self.forged.mass_kg, missing)] if self.forged.tolerances else []),
        )

    @property
    def ladder(self) -> tuple[tuple[str, float], ...]:
        """Words and the mass reached, kg, of every rung."""
        return tuple((rung.words, rung.mass_kg) for rung in self.rungs)

    @property
    def saves_kg(self) -> float:
        """By how much it is lighter than the turned blank."""
        return self.turned_kg - self.mass_kg

    @property
    def passes_words(self) -> str:
        """As '2 passes'."""
        return f"{self.found.passes} {'pass' if self.found.passes == 1 else 'passes'}"

    @property
    def mandrel_words(self) -> str:
        """Sizes of the mandrel in mm."""
        return self.mandrel_in(lambda mm: f"{mm:.1f}", " mm")

    def mandrel_in(self, length: Callable[[float], str], unit: str = "") -> str:
        """Return the sizes of the mandrel: diameter at the root and at the open end, and its length."""
        end, root = (length(2.0 * r) for r in self.found.mandrel_ends_mm)
        return (
            f"mandrel {root}{unit} across at the disc, {end} at the open end, "
            f"{length(self.found.barrel_mm)} long"
        )


def spun_blank(
    project: Project,
    turned: Composite,
    settings: ForgingSettings,
    spinning: SpunSettings | None = None,
) -> SpunBlank:
    """Return the spun blank of the wheels of a turned one, at its seats.

    Args:
        project: holds the wheels.
        turned: the group's blank without spinning.
        settings: that it was found with; ring-end trim is that of spinning, and a least web or a corner
            radius of the dies is not taken.
        spinning: starting values where None.

    Raises:
        EditError: a wheel that the project does not hold.
        GeometryError: a wheel cannot be read, a setting is out of bounds, or no spun blank exists; says why.
    """
    spinning = spinning or SpunSettings()
    if turned.corner is not None:
        raise GeometryError("A spun blank is found without a corner radius of the dies; leave that out.")
    asked = (settings.how.parting_mm, "a parting height"), (settings.pierced_mm, "a pierced hub")
    for given, words in asked:
        if given is not None:
            raise GeometryError(f"A spun blank is found without {words}; leave that out.")
    density = turned.found.mass_kg / turned.found.blank.volume_mm3
    names = [w.name for w in turned.wheels]
    group = [group_body(project, edits.find(project, edits.WHEEL, name), settings) for name in names]
    longer = settings.grip_mm + settings.test_ring_mm + settings.headroom.ring_mm
    more = [
        body
        for window in settings.windows
        for body in sampled_bodies(project, window, names, settings, longer + settings.trim_mm, density * 1e9)
    ]
    bodies: list[Body] = []
    for each, seat in zip([*group, *more], turned.found.seats_mm, strict=True):
        bodies += _bodies(each, seat, longer)
    found = spun(bodies, settings.how, spinning.by)
    mass = found.preform.volume_mm3 * density
    spun_kg = found.volume_mm3 * density
    forging = forged(found.preform.path, mass, settings)
    log = press.chosen_log(forging.mass_kg, settings.loss, density * 1e9, settings.log_diameters_mm)
    sizes = forging.sizes
    return SpunBlank(
        found=found,
        settings=spinning,
        turned_kg=turned.mass_kg,
        mass_kg=mass,
        spun_kg=spun_kg,
        wheels=tuple(replace(w, chips_kg=forging.mass_kg - w.mass_kg) for w in turned.wheels),
        log=log,
        steps=steps(
            sizes,
            log,
            settings.presses,
            temperature_c=settings.temperature_c,
            friction=settings.friction,
            flash_land_mm=settings.flash_land_mm,
            shape_class=settings.shape_class,
            steel=settings.steel,
        ),
        warnings=warnings(sizes, settings.temperature_c),
        held=turned.held,
        forged=forging,
    )


def _bodies(group: GroupBody, seat_mm: float, longer_mm: float) -> list[Body]:
    """Return a wheel at its seat with its stock, and the longer end of its ring."""
    stock = group.stock_mm + group.room_mm
    found = [(group.path.moved(dz=seat_mm), stock)]
    if longer_mm > 0.0:
        z0, low, high, lip = ring_end(group, stock)
        z = z0 + seat_mm
        ring = Path.closed([(z - longer_mm, low), (z, low), (z, high), (z - longer_mm, high)])
        found.append((ring, np.full(4, lip)))
    return found


def spun_machining(
    project: Project, result: SpunBlank, rates: ShopRates | None = None
) -> tuple[WheelMachining, ...]:
    """Return what cutting takes for each wheel from the spun blank; metal is paid by the forging's mass.

    What may be missing is there as a rule, and is turned off; trim of the spun end is sawn. The price of
    spinning and of the mandrel is not in it: see `Comparison`.

    Raises:
        EditError: a wheel that the project does not hold.
        GeometryError: a wheel cannot be read, or its volumes do not add up.
    """
    rates = rates or project.rates
    forged_kg, density = result.forged.mass_kg, result.spun_kg / result.found.volume_mm3
    missing = operation(
        ALLOWANCE, (forged_kg - result.mass_kg) / density, rates.turning_cm3_min, density, rates
    )
    found = []
    for cut in cut_from(project, result.wheels, result.found.path, rates):
        operations = (*cut.operations, missing) if result.forged.tolerances else cut.operations
        cut = replace(cut, operations=operations, log_kg=forged_kg * (1.0 + rates.loss))
        chips = cut.chips_kg + result.mass_kg - result.spun_kg
        found.append(replace(cut, money=money(forged_kg, chips, cut.cutting_minutes, rates)))
    return tuple(found)


@dataclass(frozen=True)
class Comparison:
    """One wheel from the turned and from the spun blank, in the currency of the rates.

    Attributes:
        turned, spun: net of chips, without dies; spun without spinning itself.
        spinning_price: of one piece; None where it was not asked for. mandrel_price: likewise.
    """

    wheel: str
    turned: float
    spun: float
    spinning_price: float | None
    mandrel_price: float | None

    @property
    def saving(self) -> float:
        """What the spun blank saves a wheel before spinning is paid: the most that it may cost."""
        return self.turned - self.spun

    @property
    def pays_from(self) -> float | None:
        """From how many wheels on the mandrel is paid; None where a price is asked or nothing is saved."""
        if self.spinning_price is None or self.mandrel_price is None:
            return None
        left = self.saving - self.spinning_price
        return self.mandrel_price / left if left > 0.0 else None

    @property
    def words(self) -> str:
        """What it comes to, in one sentence."""
        if self.spinning_price is None:
            return f"spinning may cost {self.saving:.2f} a wheel at most; its price is asked"
        left = self.saving - self.spinning_price
        if left <= 0.0:
            return f"spinning costs {-left:.2f} a wheel more than it saves; no mandrel is paid by that"
        if self.mandrel_price is None:
            return f"{left:.2f} a wheel saved; the price of the mandrel is asked"
        return f"{left:.2f} a wheel saved; the mandrel is paid from {self.mandrel_price / left:.0f} wheels on"


def compared(
    turned: Sequence[WheelMachining], spun_ones: Sequence[WheelMachining], settings: SpunSettings
) -> tuple[Comparison, ...]:
    """Return each wheel's money from both blanks, in the group's order."""
    return tuple(
        Comparison(a.name, a.money.net, b.money.net, settings.spinning_price, settings.mandrel_price)
        for a, b in zip(turned, spun_ones, strict=True)
    )


def as_spun_blank(result: SpunBlank, name: str) -> shape_blank.Blank:
    """Return the outline as spun as a blank of a project, an idea, with its ring and its money."""
    found, settings = result.found, result.settings
    of = ", ".join(w.name for w in result.wheels)
    by = settings.by
    return shape_blank.Blank(
        name,
        _corners(found.path),
        shape_blank.Supply.SPUN,
        parting_mm=found.parting_mm[0],
        spun=shape_blank.SpunFrom(
            _corners(found.preform.path),
            mandrel_price=settings.mandrel_price,
            spinning_price=settings.spinning_price,
            reduction=found.reduction,
            passes=found.passes,
            wall_mm=found.wall_mm,
            trim_mm=by.trim_mm,
            source=f"found with a reduction of {by.reduction:.0%} at most, {by.per_pass:.0%} a pass, "
            f"{result.mandrel_words}",
        ),
        source=f"forged and spun blank of {of}, as spun and trimmed; forging {result.mass_kg:.2f} kg, "
        f"reduction {found.reduction:.0%} of {by.reduction:.0%} in {result.passes_words}; "
        "the usable outline",
    )


def _corners(path: Path) -> tuple[Corner, ...]:
    return tuple(Corner(z, r, bulge=bulge) for z, r, bulge in path.rows())

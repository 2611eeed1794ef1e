"""The project: everything one file holds."""

from __future__ import annotations

from dataclasses import dataclass, field

from app.project.programme import SHIPPED_PROGRAMME, Programme
from app.project.release import Release
from app.project.sheet import SHIPPED, SheetSettings
from app.project.shop import SHIPPED_RATES, ShopRates
from app.project.strength import SHIPPED_STRENGTH, StrengthSettings, TestRecord
from app.project.wheel import Wheel
from geometry.forging.presses import Press
from geometry.readings.conditions import Conditions
from geometry.readings.rules import RuleSet
from geometry.shape.blank import Blank
from geometry.shape.outline import StayOut
from geometry.shape.section import Zone


@dataclass(frozen=True)
class FatiguePoint:
    """Cycles that half of the specimens last at a greatest stress, MPa."""

    cycles: float
    stress_mpa: float


@dataclass(frozen=True)
class Material:
    """A named material; density in kg/m3 with its source.

    Attributes:
        elastic_mpa, poisson, yield_mpa, ultimate_mpa: the user's own row of properties, all or none; without
            it the published row of that name is taken, if there is one.
        fatigue: the user's own table of mean life at one stress ratio, fatigue_ratio; empty for none.
    """

    name: str
    density_kg_m3: float = 2712.6
    source: str = ""
    elastic_mpa: float | None = None
    poisson: float | None = None
    yield_mpa: float | None = None
    ultimate_mpa: float | None = None
    strength_source: str = ""
    fatigue: tuple[FatiguePoint, ...] = ()
    fatigue_ratio: float = -1.0
    fatigue_source: str = ""


@dataclass(frozen=True)
class Compromise:
    """What would still sell where the need itself is not served; None keeps what the need asks.

    Attributes:
        words: what is given up, as told to the customer.
        share: of the volume that would still sell. contribution: per wheel.
    """

    words: str = ""
    width_code: float | None = None
    inset_low_mm: float | None = None
    inset_high_mm: float | None = None
    lip_mm: float | None = None
    share: float = 1.0
    contribution: float | None = None


@dataclass(frozen=True)
class Fitment:
    """One wheel need, from enquiry to roadmap row; None stands for not known.

    Attributes:
        inset_low_mm, inset_high_mm: the inset window; equal for one inset.
        car_class: plain words, as the maker sorts cars.
        lip_mm, spoke_mm: least metal of the inner lip, and least depth of the spokes, that it asks for.
        must: True for a must row, False for a want row.
        compromise: what would still sell; None for nothing. compromise_shape: the smaller brake it takes.
        multi_piece_price: of a wheel made of several pieces without dies; None where that is no way.
    """

    name: str
    customer: str = ""
    car: str = ""
    axle: str = ""
    use: str = ""
    diameter_code: float | None = None
    width_code: float | None = None
    flange: str = "J"
    inset_low_mm: float | None = None
    inset_high_mm: float | None = None
    tyre: str = ""
    load_kg: float | None = None
    bolt_count: int | None = None
    bolt_circle_mm: float | None = None
    bore_mm: float | None = None
    shape: str | None = None
    rules: str | None = None
    wheel: str | None = None
    must: bool | None = None
    certainty: float | None = None
    first_year: int | None = None
    last_year: int | None = None
    volume_low: int | None = None
    volume_likely: int | None = None
    volume_high: int | None = None
    contribution: float | None = None
    car_class: str = ""
    lip_mm: float | None = None
    spoke_mm: float | None = None
    compromise: Compromise | None = None
    compromise_shape: str | None = None
    multi_piece_price: float | None = None
    notes: dict[str, object] = field(default_factory=dict)


@dataclass(frozen=True)
class MeasuredGap:
    """A gap measured on the car: in a zone, at a place (hub frame) where that was noted."""

    zone: Zone
    gap_mm: float
    z: float | None = None
    r: float | None = None


@dataclass(frozen=True)
class TrialFit:
    """A bare wheel bolted to the car and turned: what was measured beside what is computed.

    Attributes:
        wheel, shape: what was fitted, and the brake it was held against; the shape as it was then drawn.
        on, by: date (YYYY-MM-DD) and who measured.
        error_mm: of the measuring, either way.
        turned: it was turned a whole turn, by hand and torqued, without touching; None where nobody says.
    """

    name: str
    wheel: str | None = None
    shape: str | None = None
    on: str = ""
    by: str = ""
    error_mm: float = 0.2
    turned: bool | None = None
    measured: tuple[MeasuredGap, ...] = ()
    notes: dict[str, object] = field(default_factory=dict)


@dataclass(frozen=True)
class Project:
    """A project.

    Attributes:
        revision, revision_date: as printed on reports (date as YYYY-MM-DD, the project's, never today's).
        currency, currency_year: one label for all money of the project.
        display_unit: mm or in; files stay in mm.
        paper: A4 or Letter.
        rates: of the shop, for chips, time and money.
        programme: settings of the die programme.
        presses: at hand, one to three in the order of the steps; empty for the invented ones of plan.PRESSES.
        spacers_mm: thicknesses on hand; no other spacer is offered.
        sheet: tolerances and notes of its section sheets.
        releases: section sheets that went out, in their order; only ever added to.
    """

    name: str
    revision: str = "1"
    revision_date: str = ""
    author: str = ""
    currency: str = ""
    currency_year: int | None = None
    display_unit: str = "mm"
    paper: str = "A4"
    wheels: tuple[Wheel, ...] = ()
    blanks: tuple[Blank, ...] = ()
    shapes: tuple[StayOut, ...] = ()
    rule_sets: tuple[RuleSet, ...] = ()
    conditions: tuple[Conditions, ...] = ()
    materials: tuple[Material, ...] = ()
    fitments: tuple[Fitment, ...] = ()
    trial_fits: tuple[TrialFit, ...] = ()
    rates: ShopRates = SHIPPED_RATES
    programme: Programme = SHIPPED_PROGRAMME
    presses: tuple[Press, ...] = ()
    spacers_mm: tuple[float, ...] = ()
    strength: StrengthSettings = SHIPPED_STRENGTH
    test_records: tuple[TestRecord, ...] = ()
    sheet: SheetSettings = SHIPPED
    releases: tuple[Release, ...] = ()
    notes: dict[str, object] = field(default_factory=dict)

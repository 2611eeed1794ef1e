"""What a die programme is asked: rows to serve, options to serve them with, what they share, limits.

Terms: a *row* is a fitment of the roadmap; a *mode* is how it may be served, in full or by a stated
compromise; an *option* is a supply of blanks, an own die set or one of its variants, a bought or spun blank,
a block, a multi-piece wheel; an *arc* is the possibility that an option serves a mode, with its cost per
wheel; a *holder* is what several dies of one diameter share. Money is in one currency and in money of one
year.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from geometry.shape.blank import BlankState

#: No roadmap holds more wheels in a year, and no price is higher: beyond, numbers no longer compare.
MOST_WHEELS, MOST_MONEY = 1e7, 1e12


class ProgrammeError(ValueError):
    """An input that cannot be planned: what is wrong, where, and how to mend it."""


class Kind(StrEnum):
    """A kind of supply. Only own dies are counted as dies."""

    OWN_DIE = "own die"
    VARIANT = "own die variant"
    BOUGHT = "bought blank"
    SPUN = "spun blank"
    BLOCK = "block"
    MULTI_PIECE = "multi-piece"


class Question(StrEnum):
    """What is asked of the programme.

    The first, third and fourth serve in full only, the first and third must rows alone. The second may also
    serve by a compromise, a must row too, but refuses want rows alone. The third takes the cheapest of the
    plans with the fewest own dies. The fourth may leave any row: it serves the most wheels of must rows, then
    the most wheels of all, then at least cost.
    """

    LEAST_COST = "least cost that serves all must rows"
    GREATEST_VALUE = "greatest present value"
    FEWEST_DIES = "fewest own dies that serve all must rows"
    BEST_COVER = "most wheels served within the limits"


@dataclass(frozen=True)
class Mode:
    """One way to serve a row.

    Attributes:
        costs: option -> cost per wheel beside the blank itself: machining of the extra metal, tools, less
            what the chips bring. May be below zero. Options that cannot serve are left out.
        contribution: per wheel, price less everything but the blank and these costs.
        name: 'in full', or what the compromise is ('half an inch narrower').
        share: of the row's volume that is still sold; 1 in full.
        is_compromise: False for the row as it was asked for.
    """

    costs: Mapping[str, float]
    contribution: float = 0.0
    name: str = "in full"
    share: float = 1.0
    is_compromise: bool = False


@dataclass(frozen=True)
class Row:
    """A fitment.

    Attributes:
        volumes: calendar year -> wheels; years without wheels may be left out.
        modes: at most one in full.
        is_must: a must row is never refused while it can be served.
    """

    name: str
    volumes: Mapping[int, float]
    modes: tuple[Mode, ...]
    is_must: bool = True


@dataclass(frozen=True)
class Payment:
    """A step of a payment: its share of the whole, and how many years before first use it falls."""

    share: float = 1.0
    years_before: int = 0


AT_FIRST_USE = (Payment(),)


@dataclass(frozen=True)
class PriceStep:
    """From so many pieces ordered in a year, every piece of that year costs this price."""

    pieces: float
    price: float


@dataclass(frozen=True)
class Option:
    """A supply of blanks.

    Attributes:
        price: of a piece.
        steps: lower prices for larger yearly orders. More may be ordered than used to reach a step.
        fixed: insert or tooling, tryout and proof, paid once; 0 for a die that is there.
        payments: steps in which `fixed` is paid.
        holder: name of the holder this die needs, paid once for all dies that need it.
        variant_of: name of the die without which this variant cannot be forged.
        earliest: first calendar year in which it may be used, None for no other limit than the lead time.
        lead_years: from order to the start of the year of first use.
        least_run: pieces; fewer cannot be ordered in a year of use. One run is forged in a year of use.
        left_over_cost: all that one piece ordered and not used in its year costs: its price less what it is
            still worth, and keeping it. None: its full price.
        set_up: cost of a run.
        hours_per_piece, hours_per_run: of the press.
        is_there: an own die that is made and paid for: no number of dies counts it.
        state: how far the blank is; the plan lists what hangs on blanks that nobody has measured.
    """

    name: str
    kind: Kind = Kind.OWN_DIE
    price: float = 0.0
    steps: tuple[PriceStep, ...] = ()
    fixed: float = 0.0
    payments: tuple[Payment, ...] = AT_FIRST_USE
    holder: str | None = None
    variant_of: str | None = None
    earliest: int | None = None
    lead_years: float = 0.0
    least_run: float = 0.0
    left_over_cost: float | None = None
    set_up: float = 0.0
    hours_per_piece: float = 0.0
    hours_per_run: float = 0.0
    state: BlankState = BlankState.IDEA
    is_there: bool = False

    @property
    def is_die(self) -> bool:
        """True for an own die, whether it is there already or not."""
        return self.kind is Kind.OWN_DIE

    @property
    def is_new(self) -> bool:
        """True for an own die that is still to be made: these are counted."""
        return self.is_die and not self.is_there

    @property
    def is_opened(self) -> bool:
        """True where using it at all is a decision: a die, or something paid once."""
        return self.is_die or self.fixed > 0.0 or self.holder is not None

    @property
    def has_orders(self) -> bool:
        """True where what is ordered in a year matters beside what is used: a least run, or price steps."""
        return self.least_run > 0.0 or bool(self.steps)


@dataclass(frozen=True)
class Holder:
    """Holder and outer tools that dies share; paid before the first year in which one of them is used."""

    name: str
    cost: float
    payments: tuple[Payment, ...] = AT_FIRST_USE


@dataclass(frozen=True)
class Limits:
    """Limits of a programme; None or a missing year is no limit.

    Attributes:
        most_dies: own dies, variants not counted.
        budget: for everything paid once (dies, variants, holders), over all years, undiscounted.
        budget_by_year: the same by calendar year of payment.
        press_hours: by year.
    """

    most_dies: int | None = None
    budget: float | None = None
    budget_by_year: Mapping[int, float] = field(default_factory=dict)
    press_hours: Mapping[int, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Programme:
    """A whole question; checked when it is made.

    Attributes:
        rate: of discount per year, 0.1 for 10 %. A payment in year t is worth (1 + rate) ** -(t - base year).
        base_year: whose start is today for lead times; None for the first year with wheels.

    Raises:
        ProgrammeError: a number that is not finite or below zero, a name twice or unknown, a year before the
            base year, payment shares that do not sum to 1, price steps out of order, variants in a circle.
    """

    rows: tuple[Row, ...]
    options: tuple[Option, ...]
    holders: tuple[Holder, ...] = ()
    limits: Limits = Limits()
    question: Question = Question.LEAST_COST
    rate: float = 0.0
    base_year: int | None = None

    def __post_init__(self) -> None:
        check(self)

    @property
    def years(self) -> tuple[int, ...]:
        """Calendar years with wheels, in order."""
        return tuple(
            sorted({year for row in self.rows for year, wheels in row.volumes.items() if wheels > 0.0})
        )

    @property
    def start(self) -> int:
        """The base year."""
        return self.base_year if self.base_year is not None else min(self.years, default=0)

    def worth(self, year: int) -> float:
        """Return what one unit of money paid in a year is worth in the base year."""
        return float((1.0 + self.rate) ** (self.start - year))


def check(programme: Programme) -> None:
    """Refuse what cannot be planned; see `Programme`."""
    names = _names("option", programme.options)
    holders = _names("holder", programme.holders)
    _names("row", programme.rows)
    _number("the rate of discount", programme.rate, "give 0.1 for 10 %")
    if programme.rate >= 1.0:
        raise ProgrammeError(f"the rate of discount is {programme.rate:g} a year; give 0.1 for 10 %")
    for row in programme.rows:
        _check_row(row, names, programme.base_year)
    for option in programme.options:
        _check_option(option, programme, names, holders)
    for holder in programme.holders:
        _number(f"holder '{holder.name}': cost", holder.cost)
        _check_payments(f"holder '{holder.name}'", holder.payments)
    _check_circles(programme.options)
    _check_limits(programme.limits)


def _names(what: str, things: Iterable[Row | Option | Holder]) -> frozenset[str]:
    seen: set[str] = set()
    for thing in things:
        if not thing.name.strip():
            raise ProgrammeError(f"a {what} has no name; give every {what} its own")
        if thing.name in seen:
            raise ProgrammeError(f"{what} '{thing.name}' is there twice; rename or remove one")
        seen.add(thing.name)
    return frozenset(seen)


def _number(
    what: str,
    value: float,
    mend: str = "give 0 or more",
    least: float | None = 0.0,
    most: float = MOST_MONEY,
) -> None:
    if not math.isfinite(value):
        raise ProgrammeError(f"{what} is {value!r}, not a finite number; {mend}")
    if least is not None and value < least:
        raise ProgrammeError(f"{what} is {value:g}, below {least:g}; {mend}")
    if abs(value) > most:
        raise ProgrammeError(f"{what} is {value:g}, more than {most:,.0f}; give no more than that")


def _year(what: str, value: int) -> None:
    if isinstance(value, bool) or not isinstance(value, int):
        raise ProgrammeError(f"{what}: year {value!r} is not a whole number; give a calendar year")


def _check_row(row: Row, options: frozenset[str], base_year: int | None) -> None:
    where = f"row '{row.name}'"
    for year, wheels in row.volumes.items():
        _year(where, year)
        _number(f"{where}: wheels in {year}", wheels, most=MOST_WHEELS)
        if base_year is not None and wheels > 0.0 and year < base_year:
            raise ProgrammeError(
                f"{where} has wheels in {year}, before the base year {base_year}; move one of the two years"
            )
    if len({mode.name for mode in row.modes}) < len(row.modes):
        raise ProgrammeError(f"{where} has two modes of one name; rename one")
    if sum(not mode.is_compromise for mode in row.modes) > 1:
        raise ProgrammeError(f"{where} is served in full by two modes; mark one as a compromise")
    for mode in row.modes:
        _check_mode(f"{where}, {mode.name}", mode, options)


def _check_mode(where: str, mode: Mode, options: frozenset[str]) -> None:
    _number(f"{where}: contribution per wheel", mode.contribution, "give money per wheel", least=None)
    _number(f"{where}: share of the volume", mode.share, "give more than 0 and at most 1")
    if not 0.0 < mode.share <= 1.0:
        raise ProgrammeError(
            f"{where}: share of the volume is {mode.share:g}; give more than 0 and at most 1"
        )
    if not mode.is_compromise and mode.share != 1.0:
        raise ProgrammeError(f"{where}: share is {mode.share:g}, in full it is 1; mark it as a compromise")
    for option, cost in mode.costs.items():
        if option not in options:
            raise ProgrammeError(
                f"{where} names the option '{option}', which is not there; add it or remove this"
            )
        _number(f"{where}: cost per wheel from '{option}'", cost, "give money per wheel", least=None)


def _check_option(
    option: Option, programme: Programme, names: frozenset[str], holders: frozenset[str]
) -> None:
    where = f"option '{option.name}'"
    for what in ("price", "fixed", "lead_years", "least_run", "set_up", "hours_per_piece", "hours_per_run"):
        _number(f"{where}: {what.replace('_', ' ')}", getattr(option, what))
    if option.left_over_cost is not None:
        _number(f"{where}: cost of a piece left over", option.left_over_cost)
    if option.earliest is not None:
        _year(f"{where}, earliest use", option.earliest)
    if option.state is BlankState.RETIRED:
        raise ProgrammeError(f"{where} is retired; leave it out, or say how far the blank is")
    _check_payments(where, option.payments)
    soonest = max(p.years_before for p in option.payments)
    if option.fixed > 0.0 and soonest > math.ceil(option.lead_years):
        raise ProgrammeError(
            f"{where} is paid {soonest} years before its use, but ordered only {option.lead_years:g} before; "
            "give a longer lead or pay later"
        )
    before = PriceStep(0.0, option.price)
    for step in option.steps:
        _number(f"{where}: pieces of a price step", step.pieces)
        _number(f"{where}: price from {step.pieces:g} pieces", step.price)
        if step.pieces <= before.pieces or step.price >= before.price:
            raise ProgrammeError(
                f"{where}: {step.price:g} from {step.pieces:g} pieces does not follow {before.price:g} from "
                f"{before.pieces:g}; sort steps by pieces, each cheaper than the one before"
            )
        before = step
    if option.holder is not None and option.holder not in holders:
        raise ProgrammeError(f"{where} needs the holder '{option.holder}', which is not there; add it")
    if (option.kind is Kind.VARIANT) != (option.variant_of is not None):
        raise ProgrammeError(
            f"{where} is a variant only with the die it belongs to; name the die, or no variant"
        )
    if option.variant_of is not None and option.variant_of not in names:
        raise ProgrammeError(
            f"{where} is a variant of '{option.variant_of}', which is not there; add that die"
        )


def _check_payments(where: str, payments: tuple[Payment, ...]) -> None:
    for payment in payments:
        _number(f"{where}: share of a payment", payment.share)
        _year(f"{where}, payment before use", payment.years_before)
        _number(f"{where}: years before use", payment.years_before)
    whole = math.fsum(p.share for p in payments)
    if abs(whole - 1.0) > 1e-9:
        raise ProgrammeError(f"{where}: payment shares sum to {whole:g}, not 1; mend the shares")


def _check_circles(options: tuple[Option, ...]) -> None:
    by_name = {option.name: option for option in options}
    for option in options:
        chain, at = [option.name], option
        while at.variant_of is not None:
            at = by_name[at.variant_of]
            if at.name in chain:
                raise ProgrammeError(
                    f"variants go in a circle: {' of '.join([*chain, at.name])}; one of them must be a die"
                )
            chain.append(at.name)
        if len(chain) > 1 and not at.is_die:
            raise ProgrammeError(
                f"option '{option.name}' is a variant of '{at.name}', a {at.kind}; only a die has variants"
            )


def _check_limits(limits: Limits) -> None:
    if limits.most_dies is not None:
        _number("the greatest number of dies", limits.most_dies, "give a whole number")
        if limits.most_dies != int(limits.most_dies):
            raise ProgrammeError(f"the greatest number of dies is {limits.most_dies:g}; give a whole number")
    if limits.budget is not None:
        _number("the budget", limits.budget)
    for what, by_year in (("budget", limits.budget_by_year), ("press hours", limits.press_hours)):
        for year, value in by_year.items():
            _year(what, year)
            _number(f"{what} of {year}", value)

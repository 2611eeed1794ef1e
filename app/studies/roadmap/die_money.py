"""What each chosen die is worth: lost without it, saved by it, when it pays, and what it leaves out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from app.studies.programme.economics import BreakEven, break_even, net_present_value, payback_year
from app.studies.programme.inputs import Kind, Mode, Option, Programme
from app.studies.programme.plans import Plan, Served
from app.studies.programme.supply import Supply
from app.studies.programme.worth import DieWorth
from app.studies.roadmap.coverage import Coverage, CoverCell

#: Supplies that stand beside own dies and are there without them.
_OUTSIDE = (Kind.BOUGHT, Kind.BLOCK, Kind.MULTI_PIECE)


@dataclass(frozen=True)
class DieMoney:
    """One chosen die.

    Attributes:
        worth: as `DieWorth`.
        fixed: what is paid once for it, with its holder where no other chosen die shares it; 0 where paid.
        wheels: a year, on average over its years of use. own_wheels: of these, without any other blank that
            is not an own die.
        saving: per wheel against the cheapest such blank, set-ups and what runs leave included; None where
            there is none.
        pays: in both senses; None for a die that is paid.
        npv: of the cash with it less the cash without it, contribution included; None where no plan without
            it was found.
        payback: calendar year, with part of a year; None where it does not pay.
    """

    option: str
    worth: DieWorth
    fixed: float
    wheels: float
    own_wheels: float
    saving: float | None
    pays: BreakEven | None
    npv: float | None
    payback: float | None


def die_money(programme: Programme, plan: Plan, worths: Sequence[DieWorth]) -> tuple[DieMoney, ...]:
    """Return what each die of a plan is worth, by name.

    Args:
        programme: the question.
        plan: its answer.
        worths: of the plan's commitments, as `die_worths` gives them.
    """
    by_name = {w.option: w for w in worths}
    return tuple(_one(programme, plan, by_name[name]) for name in plan.opened if name in by_name)


def _one(programme: Programme, plan: Plan, worth: DieWorth) -> DieMoney:
    supply = Supply(programme)
    option = supply.option[worth.option]
    mine = [
        s for s in plan.served if worth.option in {o.name for o in supply.needed(supply.option[s.option])}
    ]
    years = len({s.year for s in mine})
    wheels = math.fsum(s.wheels for s in mine)
    fixed = _fixed(programme, plan, option)
    with_other, saved = _saved(supply, plan, mine, option)
    own = wheels - with_other
    saving = saved / with_other if with_other > 0.0 else None
    pays = None
    if fixed > 0.0 and years:
        pays = break_even(fixed, programme.rate, years, saving or 0.0, own / years)
    npv, payback = _cash(programme, plan, worth)
    a_year = max(years, 1)
    return DieMoney(option.name, worth, fixed, wheels / a_year, own / a_year, saving, pays, npv, payback)


def _fixed(programme: Programme, plan: Plan, option: Option) -> float:
    holder = next((h for h in programme.holders if h.name == option.holder), None)
    if holder is None or not option.fixed:
        return option.fixed
    options = {o.name: o for o in programme.options}
    shared = any(options[n].holder == holder.name for n in plan.opened if n != option.name)
    return option.fixed + (0.0 if shared else holder.cost)


def _saved(supply: Supply, plan: Plan, mine: Sequence[Served], option: Option) -> tuple[float, float]:
    """Return the wheels that another supply could serve, and what the die saves on them in all."""
    modes = {(row.name, mode.name): mode for row in supply.rows for mode in row.modes}
    names = {s.option for s in mine}
    used = [o for o in plan.orders if o.option in names]
    beside = math.fsum(_run(supply.option[o.option], o.left_over) for o in used)
    pieces = math.fsum(o.used for o in used)
    wheels = saved = 0.0
    for served in mine:
        mode = modes[served.row, served.mode]
        other = _outside(supply, mode, served.year)
        if other is None:
            continue
        price = supply.option[served.option].price + mode.costs[served.option]
        price += beside / pieces if pieces > 0.0 else 0.0
        wheels += served.wheels
        saved += served.wheels * (other - price)
    return wheels, saved


def _run(option: Option, left_over: float) -> float:
    each = option.price if option.left_over_cost is None else option.left_over_cost
    return option.set_up + left_over * each


def _outside(supply: Supply, mode: Mode, year: int) -> float | None:
    """Return the least cost of a wheel, blank and machining, from a supply without own dies."""
    found = [
        supply.option[name].price + mode.costs[name]
        for name in supply.servers(mode, year)
        if supply.option[name].kind in _OUTSIDE
    ]
    return min(found, default=None)


def _cash(programme: Programme, plan: Plan, worth: DieWorth) -> tuple[float | None, float | None]:
    """Return present value and calendar year of payback of the cash with a die less that without it."""
    if not worth.without.is_found:
        return None, None
    cash = {y.year: y.cash for y in plan.years}
    without = {y.year: y.cash for y in worth.without.years}
    years = [*cash, *without]
    if not years:
        return 0.0, None
    first = min(years)
    flows = [cash.get(y, 0.0) - without.get(y, 0.0) for y in range(first, max(years) + 1)]
    npv = programme.worth(first) * net_present_value(programme.rate, flows)
    after = payback_year(flows, programme.rate)
    return npv, None if after is None else first + after


def excluded(found: Coverage, blank: str, sizes: dict[str, float | None]) -> tuple[CoverCell, ...]:
    """Return the fitments of a blank's diameters that it cannot be cut to, the nearest miss first.

    Args:
        found: the coverage.
        blank: a name of it.
        sizes: diameter code by fitment; those that the blank serves at all are looked at.
    """
    cells = [cell for row in found.rows if not row.compromise for cell in row.cells if cell.blank == blank]
    diameters = {sizes.get(cell.fitment) for cell in cells if cell.is_covered}
    left = [c for c in cells if not c.is_covered and sizes.get(c.fitment) in diameters]
    return tuple(sorted(left, key=lambda c: (c.spare_mm is None, -(c.spare_mm or 0.0), c.fitment)))

"""What each chosen die is worth: lost without it, saved by it, when it pays, and what it leaves out.

Break-even is asked against the next best supply: the plan that is best without the die while everything else
stands as chosen. Dies that are there, bought blanks, blocks, wheels of several pieces and the other chosen
dies may take its wheels; nothing new is opened for them. What none of them takes are the die's own wheels.
Own against bought, s = (p_off + m_off - chip_off) - (p_own + m_own - chip_own): handbook/forging-and-money.md
5; both senses: practice.md 23.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from contextlib import nullcontext
from dataclasses import dataclass, replace

from app.studies.programme.economics import (
    BreakEven,
    break_even,
    capital_recovery,
    net_present_value,
    payback_year,
)
from app.studies.programme.highs import Solver
from app.studies.programme.inputs import Option, Programme, Question
from app.studies.programme.plans import Order, Plan, Served
from app.studies.programme.solve import solve
from app.studies.programme.supply import Supply
from app.studies.programme.worth import DieWorth, without_option
from app.studies.roadmap.coverage import Coverage, CoverCell
from app.studies.roadmap.risk import Candidate, committed, is_committed


@dataclass(frozen=True)
class DieMoney:
    """One chosen die.

    Attributes:
        worth: as `DieWorth`.
        fixed: what is paid once for it, with its holder where no other chosen die shares it; 0 where paid.
        wheels: a year, on average over its years of use. own_wheels: of these, that nothing else takes.
        saving: per wheel against the next best supply of each, set-ups and what runs leave included, and
            contribution where the greatest value is asked for; None where nothing else takes a wheel.
        pays: in both senses; None for a die that is paid.
        npv: of the cash with it less the cash without it, contribution included; None where no plan without
            it was found.
        payback: from the first calendar year on, with part of a year, each year's cash at its start and even
            between; None where it does not pay.
        instead: option to wheels a year that it would take of this die's rows, by name.
        words: what stands against what, and the break-even, in full sentences.
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
    instead: tuple[tuple[str, float], ...] = ()
    words: str = ""

    @property
    def payback_year(self) -> int | None:
        """The calendar year whose cash brings the discounted sum to 0 for good; None where none does."""
        return None if self.payback is None else math.ceil(self.payback - 1e-9)


def die_money(
    programme: Programme,
    plan: Plan,
    worths: Sequence[DieWorth],
    *,
    time_limit_s: float = 60.0,
    solver: Solver | None = None,
) -> tuple[DieMoney, ...]:
    """Return what each die of a plan is worth, by name.

    Args:
        programme: the question.
        plan: its answer.
        worths: of the plan's commitments, as `die_worths` gives them.
        time_limit_s: for each die's next best supply.
        solver: to be used again; a new one where None.
    """
    by_name = {w.option: w for w in worths}
    with nullcontext(solver) if solver is not None else Solver() as running:
        return tuple(
            _one(programme, plan, by_name[name], next_best(programme, plan, name, time_limit_s, running))
            for name in plan.opened
            if name in by_name
        )


def next_best(programme: Programme, plan: Plan, name: str, time_limit_s: float, solver: Solver) -> Plan:
    """Return the best plan without a die in which everything else that is paid once stands as chosen."""
    rest = without_option(programme, name)
    kept = {o.name for o in rest.options if is_committed(o)}
    others = tuple((c.option, c.year) for c in plan.commitments if c.option in kept)
    asked, _ = committed(rest, Candidate((), others, plan.holders))
    return solve(asked, time_limit_s=time_limit_s, most_runners_up=0, solver=solver)


def _one(programme: Programme, plan: Plan, worth: DieWorth, other: Plan) -> DieMoney:
    supply = Supply(programme)
    option = supply.option[worth.option]
    mine = [
        s for s in plan.served if worth.option in {o.name for o in supply.needed(supply.option[s.option])}
    ]
    years = max(len({s.year for s in mine}), 1)
    wheels = math.fsum(s.wheels for s in mine)
    fixed = _fixed(programme, plan, option)
    lost = {s.row for s in mine} - {s.row for s in other.served}
    own = math.fsum(s.wheels for s in mine if s.row in lost)
    saving = _saved(supply, plan, other, lost) / (wheels - own) if wheels - own > 0.0 else None
    pays = None
    if fixed > 0.0 and mine:
        pays = break_even(fixed, programme.rate, years, saving or 0.0, own / years)
    npv, payback = _cash(programme, plan, worth)
    instead = _instead(mine, other, years)
    found = DieMoney(
        option.name, worth, fixed, wheels / years, own / years, saving, pays, npv, payback, instead
    )
    return replace(found, words=" ".join(_sentences(programme, found, years, other)))


def _sentences(programme: Programme, of: DieMoney, years: int, other: Plan) -> Iterator[str]:
    if not other.is_found:
        yield f"Without {of.option} the other tools keep no limits, so nothing is set against it."
    taken = [f"{name} {wheels:,.0f}" for name, wheels in of.instead]
    if taken:
        yield (
            f"Of its {of.wheels:,.0f} wheels a year others would take, at the other tools as chosen and "
            f"nothing new opened: {', '.join(taken)}."
        )
    if of.own_wheels > 0.0:
        yield f"{of.own_wheels:,.0f} wheels a year nothing else takes."
    if of.saving is not None:
        kind = "saves" if of.saving >= 0.0 else "costs"
        what = ", contribution counted" if programme.question is Question.GREATEST_VALUE else ""
        yield (
            f"Against those it {kind} {abs(of.saving):,.2f} a wheel, blank, machining, chips and runs{what}."
        )
    if of.pays is None:
        return
    yearly = of.fixed * capital_recovery(programme.rate, years)
    span = "1 year" if years == 1 else f"{years} years"
    yield (
        f"Its {of.fixed:,.0f} paid once are {yearly:,.0f} a year over {span} at "
        f"{100.0 * programme.rate:.1f} %: {of.pays.words}."
    )


def _fixed(programme: Programme, plan: Plan, option: Option) -> float:
    holder = next((h for h in programme.holders if h.name == option.holder), None)
    if holder is None or not option.fixed:
        return option.fixed
    options = {o.name: o for o in programme.options}
    shared = any(options[n].holder == holder.name for n in plan.opened if n != option.name)
    return option.fixed + (0.0 if shared else holder.cost)


def _instead(mine: Sequence[Served], other: Plan, years: int) -> tuple[tuple[str, float], ...]:
    """Return what takes the wheels of these rows and years without the die: option, wheels a year."""
    places = {(s.row, s.year) for s in mine}
    found: dict[str, float] = {}
    for served in other.served:
        if (served.row, served.year) in places:
            found[served.option] = found.get(served.option, 0.0) + served.wheels / years
    return tuple(sorted(found.items()))


def _saved(supply: Supply, plan: Plan, other: Plan, lost: Collection[str]) -> float:
    """Return what a plan saves on the wheels that both serve, undiscounted; `lost` rows carry their own."""
    saved = _running(other) - _running(plan) + _running_of(supply, plan, lost)
    if supply.programme.question is Question.GREATEST_VALUE:
        saved += _contribution(supply, plan, lost) - math.fsum(y.contribution for y in other.years)
    return saved


def _running(plan: Plan) -> float:
    return math.fsum(y.cost - y.invested for y in plan.years)


def _running_of(supply: Supply, plan: Plan, rows: Collection[str]) -> float:
    """Return blanks, machining and the share of runs of some rows."""
    orders = {(o.option, o.year): o for o in plan.orders}
    modes = {(row.name, mode.name): mode for row in supply.rows for mode in row.modes}
    return math.fsum(
        s.wheels
        * (modes[s.row, s.mode].costs[s.option] + _piece(supply.option[s.option], orders[s.option, s.year]))
        for s in plan.served
        if s.row in rows
    )


def _piece(option: Option, order: Order) -> float:
    """Return what a piece that is used costs in a year, with its share of set-up and of what is left over."""
    ordered = order.used + order.left_over
    price = min([option.price, *(s.price for s in option.steps if s.pieces <= ordered * (1.0 + 1e-9))])
    each = price if option.left_over_cost is None else option.left_over_cost
    return price + (option.set_up + order.left_over * each) / order.used


def _contribution(supply: Supply, plan: Plan, lost: Collection[str]) -> float:
    modes = {(row.name, mode.name): mode for row in supply.rows for mode in row.modes}
    return math.fsum(s.wheels * modes[s.row, s.mode].contribution for s in plan.served if s.row not in lost)


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

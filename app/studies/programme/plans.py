"""What a programme is answered: the plan with what serves what, what it costs by year, and what it leaves."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from app.studies.programme.inputs import Holder, Kind, Mode, Option, Payment, Programme, Question
from app.studies.programme.supply import Supply, Uncovered, years_of
from geometry.shape.blank import BlankState

Verdict = Literal["proven", "gap left", "impossible", "nothing found"]

_UNPROVED = (BlankState.IDEA, BlankState.QUOTED, BlankState.ORDERED)


@dataclass(frozen=True)
class Decision:
    """A plan without its sums.

    Attributes:
        opened: option -> year from which it is there, for what is paid once or is a die.
        holders: holder -> year.
        modes: row -> mode; rows that are not served are left out.
        served: (row, year) -> option -> share of the wheels of that mode in that year.
        ordered: (option, year) -> (least pieces, price, cost of one left over) of the price step taken; left
            out for options whose orders do not matter.
    """

    opened: Mapping[str, int]
    holders: Mapping[str, int]
    modes: Mapping[str, str]
    served: Mapping[tuple[str, int], Mapping[str, float]]
    ordered: Mapping[tuple[str, int], tuple[float, float, float]]


@dataclass(frozen=True)
class Served:
    """Wheels of a row in a year, by one option."""

    row: str
    mode: str
    year: int
    option: str
    wheels: float


@dataclass(frozen=True)
class Commitment:
    """A die, or something else paid once, that the plan takes.

    Attributes:
        year: of first use (or, where a budget by year asks for it, the year for which it is paid).
        latest_order: in years, 2028.25 for the end of March 2028.
        rows: that it serves, by name, its variants' included.
        is_unproved: nobody has measured its blank yet; what it serves hangs on it.
    """

    option: str
    kind: Kind
    year: int
    latest_order: float
    rows: tuple[str, ...]
    is_unproved: bool


@dataclass(frozen=True)
class Order:
    """What is ordered of an option in a year: pieces used, pieces left over, hours of the press."""

    option: str
    year: int
    used: float
    left_over: float
    press_hours: float


@dataclass(frozen=True)
class YearSums:
    """Money of a calendar year as it is paid, undiscounted, and hours of the press.

    Attributes:
        dies: payments for what is paid once, holders left out.
        beside: machining and whatever else a wheel costs beside its blank, less chips.
    """

    year: int
    dies: float = 0.0
    holders: float = 0.0
    pieces: float = 0.0
    left_over: float = 0.0
    set_ups: float = 0.0
    beside: float = 0.0
    contribution: float = 0.0
    press_hours: float = 0.0

    @property
    def invested(self) -> float:
        """What a budget limits."""
        return self.dies + self.holders

    @property
    def cost(self) -> float:
        """All that is paid."""
        return self.invested + self.pieces + self.left_over + self.set_ups + self.beside

    @property
    def cash(self) -> float:
        """Contribution less cost."""
        return self.contribution - self.cost


@dataclass(frozen=True)
class Refusal:
    """A want row that the plan refuses.

    Attributes:
        contribution, cost: present values in its best mode, cost being the least at which it could be served
            beside the rest of the plan.
        option: that would be paid for it, None where nothing new is needed.
        why: in words.
    """

    row: str
    contribution: float
    cost: float
    option: str | None
    why: str


@dataclass(frozen=True)
class RunnerUp:
    """Another set of what is paid once, at nearly the same cost.

    Attributes:
        dearer: by how much its objective is worse, in money (wheels are equal).
        is_tie: equal within 1e-9.
    """

    opened: tuple[str, ...]
    dearer: float
    is_tie: bool


@dataclass(frozen=True)
class Plan:
    """The answer to a programme.

    Attributes:
        verdict: 'proven' where no plan is better; 'gap left' where time ended first; 'impossible' where no
            plan keeps the limits; 'nothing found' where time ended without a plan.
        objective: what is minimised: cost, or for the greatest value minus the value. NaN without a plan.
        bound: no plan's objective is less.
        cost, contribution: present values of everything paid, and of what the rows served bring.
        dies: number of own dies.
        years: sums by calendar year, from the first payment on.
        uncovered: rows that nothing can serve, whatever is paid; the plan is that of the others.
        refused: want rows left out, with why.
        left: rows left out by the limits, where most cover is asked for.
        hanging: rows served by blanks that nobody has measured.
        runners_up: other sets within 0.1 %, ties first; this plan is the tie that is first by name.
        all_runners_up: False where there may be more of them.
        impossible: why no plan keeps the limits.
        elapsed_s: of the whole search.
    """

    verdict: Verdict
    question: Question
    objective: float = math.nan
    bound: float = -math.inf
    cost: float = math.nan
    contribution: float = 0.0
    dies: int = 0
    commitments: tuple[Commitment, ...] = ()
    holders: tuple[tuple[str, int], ...] = ()
    served: tuple[Served, ...] = ()
    orders: tuple[Order, ...] = ()
    years: tuple[YearSums, ...] = ()
    uncovered: tuple[Uncovered, ...] = ()
    refused: tuple[Refusal, ...] = ()
    left: tuple[str, ...] = ()
    hanging: tuple[str, ...] = ()
    runners_up: tuple[RunnerUp, ...] = ()
    all_runners_up: bool = False
    impossible: tuple[str, ...] = ()
    elapsed_s: float = 0.0

    @property
    def is_found(self) -> bool:
        """True where there is a plan."""
        return self.verdict in ("proven", "gap left")

    @property
    def value(self) -> float:
        """Present value: contribution less cost."""
        return self.contribution - self.cost

    @property
    def gap(self) -> float:
        """By how much the objective may still fall, over its own size."""
        if not self.is_found or self.objective <= self.bound:
            return 0.0 if self.is_found else math.inf
        return (self.objective - self.bound) / max(abs(self.objective), 1e-9)

    @property
    def opened(self) -> tuple[str, ...]:
        """Names of what is paid once or is a die, in order of name."""
        return tuple(c.option for c in self.commitments)

    @property
    def must_uncovered(self) -> tuple[str, ...]:
        """Must rows that nothing can serve."""
        return tuple(u.row for u in self.uncovered if u.is_must)


class Accounts:
    """The sums of a decision."""

    def __init__(self, supply: Supply, decision: Decision) -> None:
        self.supply, self.programme, self.decision = supply, supply.programme, decision
        self._row = {row.name: row for row in supply.rows}
        self._mode = {
            name: next(m for m in self._row[name].modes if m.name == mode)
            for name, mode in decision.modes.items()
        }
        self.served = tuple(self._served())
        self.orders = tuple(self._orders())
        self.years = self._years()

    @property
    def cost(self) -> float:
        """Present value of all that is paid."""
        return math.fsum(y.cost * self.programme.worth(y.year) for y in self.years)

    @property
    def contribution(self) -> float:
        """Present value of what the served rows bring."""
        return math.fsum(y.contribution * self.programme.worth(y.year) for y in self.years)

    def objective(self) -> float:
        """Return what the question minimises, in money."""
        counts = self.programme.question is Question.GREATEST_VALUE
        return self.cost - self.contribution if counts else self.cost

    def commitments(self) -> tuple[Commitment, ...]:
        """Return what is paid once, by name."""
        rows: dict[str, set[str]] = {}
        for served in self.served:
            for needed in self.supply.needed(self.supply.option[served.option]):
                rows.setdefault(needed.name, set()).add(served.row)
        made = []
        for name, year in sorted(self.decision.opened.items()):
            option = self.supply.option[name]
            order = year - option.lead_years
            served_rows = tuple(sorted(rows.get(name, ())))
            made.append(Commitment(name, option.kind, year, order, served_rows, option.state in _UNPROVED))
        return tuple(made)

    def hanging(self) -> tuple[str, ...]:
        """Return rows served by a blank that nobody has measured, or by a variant of such."""
        return tuple(
            sorted(
                {
                    s.row
                    for s in self.served
                    if any(o.state in _UNPROVED for o in self.supply.needed(self.supply.option[s.option]))
                }
            )
        )

    def _served(self) -> Iterable[Served]:
        for name, mode in sorted(self._mode.items()):
            row = self._row[name]
            for year in years_of(row):
                for option, share in sorted(self.decision.served[name, year].items()):
                    yield Served(name, mode.name, year, option, share * mode.share * row.volumes[year])

    def _orders(self) -> Iterable[Order]:
        used: dict[tuple[str, int], list[float]] = {}
        for served in self.served:
            used.setdefault((served.option, served.year), []).append(served.wheels)
        for (name, year), wheels in sorted(used.items()):
            option, pieces = self.supply.option[name], math.fsum(wheels)
            least = self.decision.ordered.get((name, year), (0.0, 0.0, 0.0))[0]
            over = max(0.0, least - pieces)
            hours = option.hours_per_run + option.hours_per_piece * (pieces + over)
            yield Order(name, year, pieces, over, hours)

    def _years(self) -> tuple[YearSums, ...]:
        sums: dict[int, dict[str, list[float]]] = {}

        def add(year: int, what: str, value: float) -> None:
            sums.setdefault(year, {}).setdefault(what, []).append(value)

        for name, year in self.decision.opened.items():
            option = self.supply.option[name]
            for paid, amount in payments(option.fixed, option.payments, year):
                add(paid, "dies", amount)
        holders: dict[str, Holder] = {h.name: h for h in self.programme.holders}
        for name, year in self.decision.holders.items():
            for paid, amount in payments(holders[name].cost, holders[name].payments, year):
                add(paid, "holders", amount)
        for order in self.orders:
            option = self.supply.option[order.option]
            step = self.decision.ordered.get((order.option, order.year), (0.0, option.price, 0.0))
            add(order.year, "pieces", order.used * step[1])
            add(order.year, "left_over", order.left_over * step[2])
            add(order.year, "set_ups", option.set_up)
            add(order.year, "press_hours", order.press_hours)
        for served in self.served:
            mode = self._mode[served.row]
            add(served.year, "beside", served.wheels * mode.costs[served.option])
            add(served.year, "contribution", served.wheels * mode.contribution)
        return tuple(
            YearSums(year, **{what: math.fsum(values) for what, values in found.items()})
            for year, found in sorted(sums.items())
        )


def payments(amount: float, steps: Iterable[Payment], year: int) -> list[tuple[int, float]]:
    """Return (calendar year, amount) of what is paid for a first use in a year; nothing for 0."""
    return [(year - step.years_before, amount * step.share) for step in steps if amount * step.share > 0.0]


def mode_value(programme: Programme, supply: Supply, row: str, mode: Mode) -> float:
    """Return the present value of a row's contributions in a mode."""
    found = next(r for r in supply.rows if r.name == row)
    return math.fsum(
        mode.contribution * mode.share * found.volumes[y] * programme.worth(y) for y in years_of(found)
    )


def option_cost(programme: Programme, option: Option, year: int) -> float:
    """Return the present value of an option's own payments for a first use in a year."""
    return math.fsum(a * programme.worth(y) for y, a in payments(option.fixed, option.payments, year))

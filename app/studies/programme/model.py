"""The mixed-integer programme behind a die programme.

In its plain form (nothing but dies, prices and rows) it is uncapacitated facility location with one
inequality y <= x for each arc, never summed over arcs: its relaxation is nearly whole. What a programme does
not use (runs, steps, press hours, years) adds no column. Columns:

- *opening* x[option, year], 0 or 1: the option is there from this year at the latest. Its cost is that of the
  year in which it opens, so that paying later is worth what it is. One column for all years where the year
  changes nothing (no discount, no budget by year). *holder* likewise.
- *use* u[option, year], 0 or 1: a run is forged or an order placed; only where that itself costs something.
- *step* z[option, year, k] with *used* q and *left* l pieces: only where a least run or price steps matter.
- *mode* s[row, mode]: the row is served so in all its years; only where there is a choice.
- *arc* y[row, mode, years, options] in 0..1: the share of these years' wheels that one of the options serves.
  Years in which the same options are there under the same columns are one, options of equal cost are one:
  what costs nothing per wheel is a set cover.

Facility location with strong inequalities: handbook/forging-and-money.md 4; holders, variants: practice 25.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from app.studies.programme.columns import Columns
from app.studies.programme.core import Objective, Problem
from app.studies.programme.inputs import Holder, Mode, Option, Question, Row
from app.studies.programme.limits import add_limits
from app.studies.programme.supply import Supply, years_of

#: Of two costs per wheel the dearer is left out only beyond this, relative, so that ties stay.
_TIE = 1e-9
#: Stands for a year where it does not matter in which year something opens.
ALL_YEARS = -1_000_000


@dataclass(frozen=True)
class Arc:
    """A column y: some years of a row's mode served by one of the options, which cost the same."""

    row: str
    mode: str
    years: tuple[int, ...]
    options: tuple[str, ...]
    column: int


class Model:
    """A programme as columns and rows.

    Attributes:
        arcs: in order of row, mode, first year, option.
        opening, holder: name -> year -> column; the year is `ALL_YEARS` where one column stands for all.
        use: (option, year) -> column.
        steps: (option, year) -> for each price step its columns (z, q, l) and its (least pieces, price, cost
            of a piece left over).
        mode: (row, mode) -> column, absent where the mode is certain.
        wheels: (option, year) -> (arc's column, wheels), for options whose use in a year matters by itself.
        certain: present value of the contributions that every plan brings, where the question counts them:
            they are no part of `cost`.
        is_coupled: True where wheels of different rows share something: an arc may be a true fraction.
        slacks: columns that measure by how much limits are passed, for `relaxed`.
    """

    def __init__(self, supply: Supply, relaxed: frozenset[str] = frozenset()) -> None:
        """Put the model together.

        Args:
            supply: with the programme.
            relaxed: limits that may be passed, of 'dies', 'budget', 'press'.
        """
        self.supply, self.programme = supply, supply.programme
        self.relaxed = relaxed
        self.columns = Columns()
        self.arcs: list[Arc] = []
        self.opening: dict[str, dict[int, int]] = {}
        self.holder: dict[str, dict[int, int]] = {}
        self.use: dict[tuple[str, int], int] = {}
        self.steps: dict[tuple[str, int], list[tuple[tuple[int, int, int], tuple[float, float, float]]]] = {}
        self.mode: dict[tuple[str, str], int] = {}
        self._cost: dict[int, float] = {}
        self.certain = 0.0
        self.wheels: dict[tuple[str, int], list[tuple[int, float]]] = {}
        self._used = self._used_options()
        self.has_press_limit = bool(self.programme.limits.press_hours)
        self.is_coupled = any(o.has_orders for o in self._used) or (
            self.has_press_limit and any(o.hours_per_piece or o.hours_per_run for o in self._used)
        )
        self._add_openings()
        self._add_rows()
        self._add_orders()
        self.slacks = add_limits(self)

    def problem(self, objective: Objective) -> Problem:
        """Return the model with an objective."""
        opened = [*self.opening.values(), *self.holder.values()]
        chains = tuple(tuple(columns[year] for year in sorted(columns)) for columns in opened)
        return self.columns.problem(objective, not self.is_coupled, chains)

    # What is asked ------------------------------------------------------------------------------------------

    @property
    def cost(self) -> Objective:
        """Present value of all costs, less that of contributions that a plan may lose where they count."""
        return self._vector(self._cost.items())

    @property
    def dies(self) -> Objective:
        """Number of own dies."""
        last = {o.name: self.link(o, self._last_year(o)) for o in self._used if o.is_new}
        return self._vector((c, 1.0) for c in last.values() if c is not None)

    def wheels_left(self, must_only: bool) -> Objective:
        """Return minus the wheels served, of all rows or of must rows."""
        rows = {r.name: r for r in self.supply.rows if r.is_must or not must_only}
        return self._vector((c, -wheels_of(rows[row])) for (row, _), c in self.mode.items() if row in rows)

    @property
    def passed(self) -> Objective:
        """By how much the relaxed limits are passed, over all years."""
        return self._vector((slack.column, 1.0) for slack in self.slacks)

    def commitments(self) -> dict[str, int]:
        """Return option -> column that says whether it is ever opened, for those that cost something."""
        found = {}
        for option in self._used:
            if option.is_opened and (column := self.link(option, self._last_year(option))) is not None:
                found[option.name] = column
        return found

    def _vector(self, terms: Iterable[tuple[int, float]]) -> Objective:
        made = np.zeros(len(self.columns.upper))
        for column, factor in terms:
            made[column] += factor
        return made

    # Openings -----------------------------------------------------------------------------------------------

    def _used_options(self) -> tuple[Option, ...]:
        """Options that some allowed mode names, and the dies they are variants of, by name."""
        named = {n for r in self.supply.rows for m in self.supply.modes(r) for n in m.costs}
        found = {needed.name for n in named for needed in self.supply.needed(self.supply.option[n])}
        return tuple(o for o in self.supply.options if o.name in found)

    def _years_of(self, option: Option) -> list[int]:
        return [y for y in self.supply.years if y >= self.supply.first_year[option.name]]

    def _last_year(self, option: Option) -> int:
        return max(self._years_of(option), default=ALL_YEARS)

    def _is_yearly(self, thing: Option | Holder) -> bool:
        """True where it matters in which year it opens."""
        amount = thing.fixed if isinstance(thing, Option) else thing.cost
        by_itself = amount > 0.0 and bool(self.programme.rate or self.programme.limits.budget_by_year)
        if by_itself or isinstance(thing, Holder) or thing.holder is None:
            return by_itself
        return self._is_yearly(self.holder_of(thing.holder))

    def holder_of(self, name: str) -> Holder:
        """Return a holder by name."""
        return next(h for h in self.programme.holders if h.name == name)

    def _add_openings(self) -> None:
        holder_years: dict[str, set[int]] = {}
        for option in self._used:
            years = self._years_of(option)
            if option.is_opened and years:
                self.opening[option.name] = self._open(years, option, option.fixed)
                if option.holder is not None:
                    holder_years.setdefault(option.holder, set()).update(years)
        for name, found in sorted(holder_years.items()):
            holder = self.holder_of(name)
            self.holder[name] = self._open(sorted(found), holder, holder.cost)
        for option in self._used:
            for year, column in self.opening.get(option.name, {}).items():
                needs = [self.link(self.supply.option[option.variant_of], year)] if option.variant_of else []
                if option.holder is not None:
                    needs.append(_of_year(self.holder[option.holder], year))
                for need in needs:
                    if need is not None:
                        self.columns.row([(column, 1.0), (need, -1.0)], high=0.0)

    def _open(self, years: Sequence[int], thing: Option | Holder, amount: float) -> dict[int, int]:
        """Add the columns of what is paid once; each holds what opening then costs more than a year later."""
        if not self._is_yearly(thing):
            return {ALL_YEARS: self._priced(amount)}
        worth = [amount * self._worth_of(thing, year) for year in years]
        columns: dict[int, int] = {}
        for k, year in enumerate(years):
            later = worth[k + 1] if k + 1 < len(years) else 0.0
            columns[year] = self._priced(worth[k] - later)
            if k:
                self.columns.row([(columns[years[k - 1]], 1.0), (columns[year], -1.0)], high=0.0)
        return columns

    def _worth_of(self, thing: Option | Holder, year: int) -> float:
        return math.fsum(p.share * self.programme.worth(year - p.years_before) for p in thing.payments)

    def _priced(self, cost: float) -> int:
        column = self.columns.column(integer=True)
        self._cost[column] = cost
        return column

    def link(self, option: Option, year: int) -> int | None:
        """Return the column without which an option is not there in a year; None where it always is."""
        if option.is_opened:
            return _of_year(self.opening.get(option.name, {}), year)
        if option.variant_of is not None:
            return self.link(self.supply.option[option.variant_of], year)
        return None

    # Rows ---------------------------------------------------------------------------------------------------

    def _add_rows(self) -> None:
        may_leave_all = self.programme.question is Question.BEST_COVER
        serves_want = self.programme.question in (Question.GREATEST_VALUE, Question.BEST_COVER)
        for row in self.supply.rows:
            if not years_of(row) or not (row.is_must or serves_want):
                continue
            is_certain = row.is_must and not may_leave_all
            groups = {m.name: self._groups(row, m) for m in self.supply.modes(row)}
            modes = [m for m in self.supply.modes(row) if is_certain or self._may_pay(row, m, groups[m.name])]
            if not modes:
                continue
            certain = is_certain and len(modes) == 1
            if certain and self.programme.question is Question.GREATEST_VALUE:
                self.certain += self.contribution(row, modes[0])
            if not certain:
                columns = [self._mode_column(row, m) for m in modes]
                self.columns.row([(c, 1.0) for c in columns], low=1.0 if is_certain else -math.inf, high=1.0)
            for mode in modes:
                self._add_arcs(row, mode, groups[mode.name], self.mode.get((row.name, mode.name)))

    def _mode_column(self, row: Row, mode: Mode) -> int:
        # Without anything shared the best answer is whole by itself, and a branch on it would be idle.
        whole = self.is_coupled or self.programme.question is Question.BEST_COVER
        column = self.columns.column(integer=whole)
        self.mode[row.name, mode.name] = column
        if self.programme.question is Question.GREATEST_VALUE:
            self._cost[column] = -self.contribution(row, mode)
        return column

    def contribution(self, row: Row, mode: Mode) -> float:
        """Return the present value of a row's contributions in a mode."""
        worth = math.fsum(row.volumes[y] * self.programme.worth(y) for y in years_of(row))
        return mode.contribution * mode.share * worth

    def _groups(self, row: Row, mode: Mode) -> list[tuple[tuple[int, ...], dict[str, float]]]:
        """Return (years, option -> cost per wheel) for years in which the same options are there alike."""
        found: dict[tuple[tuple[str, int | None], ...], list[int]] = {}
        for year in years_of(row):
            links = []
            for name in self.supply.servers(mode, year):
                option = self.supply.option[name]
                links.append((name, year if self._counts_years(option) else self.link(option, year)))
            found.setdefault(tuple(links), []).append(year)
        return [(tuple(years), self._worth_while(mode, [n for n, _ in key])) for key, years in found.items()]

    def _counts_years(self, option: Option) -> bool:
        """True where what is used in one year matters by itself."""
        return self.counts_runs(option) or (self.has_press_limit and option.hours_per_piece > 0.0)

    def counts_runs(self, option: Option) -> bool:
        """Return True where using an option in a year at all costs something or has a least."""
        per_run = self.has_press_limit and option.hours_per_run > 0.0
        return option.has_orders or option.set_up > 0.0 or per_run

    def _worth_while(self, mode: Mode, names: Sequence[str]) -> dict[str, float]:
        """Return option -> cost per wheel without those dearer than one that is always there."""
        cost = {n: self.unit_cost(mode, self.supply.option[n]) for n in names}
        free = [
            n for n in names if not self._counts_years(o := self.supply.option[n]) and not self.is_tied(o)
        ]
        if not free:
            return cost
        most = min(cost[n] for n in free)
        most += _TIE * max(1.0, abs(most))
        return {n: c for n, c in cost.items() if c <= most or self.supply.option[n].has_orders}

    def is_tied(self, option: Option) -> bool:
        """Return True where an option is there only once something is opened."""
        return any(o.is_opened for o in self.supply.needed(option))

    def unit_cost(self, mode: Mode, option: Option) -> float:
        """Return the cost of a wheel; without the piece where price steps count it by the year."""
        return mode.costs[option.name] + (0.0 if option.steps else option.price)

    def _weight(self, row: Row, mode: Mode, years: Iterable[int]) -> float:
        return mode.share * math.fsum(row.volumes[y] * self.programme.worth(y) for y in years)

    def _may_pay(self, row: Row, mode: Mode, groups: list[tuple[tuple[int, ...], dict[str, float]]]) -> bool:
        """Drop arcs dearer than refusing the row; False where none is left in some year."""
        # Where wheels share something, a dear arc may still serve a part of the row.
        if self.programme.question is not Question.GREATEST_VALUE or self.is_coupled:
            return True
        least = [self._weight(row, mode, years) * min(cost.values()) for years, cost in groups]
        spare = self.contribution(row, mode) - math.fsum(least)
        for (years, cost), cheapest in zip(groups, least, strict=True):
            most = cheapest + spare + _TIE * max(1.0, abs(cheapest))
            weight = self._weight(row, mode, years)
            for name in [n for n, c in cost.items() if weight * c > most]:
                del cost[name]
        return all(cost for _, cost in groups)

    def _add_arcs(
        self, row: Row, mode: Mode, groups: list[tuple[tuple[int, ...], dict[str, float]]], served: int | None
    ) -> None:
        for years, cost in groups:
            weight = self._weight(row, mode, years)
            arcs = []
            for unit, options in self._alike(cost):
                column = self.columns.column()
                arcs.append(column)
                self._cost[column] = weight * unit
                self.arcs.append(Arc(row.name, mode.name, years, options, column))
                if self._counts_years(self.supply.option[options[0]]):
                    wheels = mode.share * row.volumes[years[0]]
                    self.wheels.setdefault((options[0], years[0]), []).append((column, wheels))
                else:
                    self._need_one(column, {self.link(self.supply.option[n], years[0]) for n in options})
            whole = [(c, 1.0) for c in arcs]
            if served is None:
                self.columns.row(whole, low=1.0, high=1.0)
            else:
                self.columns.row([*whole, (served, -1.0)], low=0.0, high=0.0)

    def _alike(self, cost: Mapping[str, float]) -> list[tuple[float, tuple[str, ...]]]:
        """Return (cost per wheel, options): one arc serves for options of one cost, as in a set cover."""
        found: dict[tuple[float, str], list[str]] = {}
        for name, unit in cost.items():
            alone = name if self._counts_years(self.supply.option[name]) else ""
            found.setdefault((unit, alone), []).append(name)
        return [(unit, tuple(options)) for (unit, _), options in found.items()]

    def _need_one(self, column: int, links: set[int | None]) -> None:
        """Ask that one of the columns is open where another is not 0; None stands for one that always is."""
        needed = [link for link in links if link is not None]
        if len(needed) == len(links):
            self.columns.row([(column, 1.0), *((link, -1.0) for link in sorted(needed))], high=0.0)

    # Orders and runs ----------------------------------------------------------------------------------------

    def _add_orders(self) -> None:
        for (name, year), wheels in sorted(self.wheels.items()):
            option = self.supply.option[name]
            link = self.link(option, year)
            if not self.counts_runs(option):
                for column, _ in wheels:
                    self._need_one(column, {link})
                continue
            use = self.columns.column(integer=True)
            self.use[name, year] = use
            self._cost[use] = self.programme.worth(year) * option.set_up
            if link is not None:
                self.columns.row([(use, 1.0), (link, -1.0)], high=0.0)
            for column, _ in wheels:
                self.columns.row([(column, 1.0), (use, -1.0)], high=0.0)
            if option.has_orders:
                self._add_steps(option, year, use, wheels)

    def _add_steps(self, option: Option, year: int, use: int, wheels: list[tuple[int, float]]) -> None:
        """Add what is used and left over at each price; prices fall, so that no step needs an upper end."""
        most, worth = math.fsum(w for _, w in wheels), self.programme.worth(year)
        made = []
        for least, price, over in order_steps(option):
            step = self.columns.column(integer=True)
            used, left = self.columns.column(upper=most), self.columns.column(upper=least)
            # Without steps the price of a piece that is used lies in its arc already.
            self._cost[used] = worth * price if option.steps else 0.0
            self._cost[left] = worth * over
            self.columns.row([(used, 1.0), (step, -most)], high=0.0)
            self.columns.row([(used, 1.0), (left, 1.0), (step, -least)], low=0.0)
            made.append(((step, used, left), (least, price, over)))
        self.steps[option.name, year] = made
        self.columns.row([*((s, 1.0) for (s, _, _), _ in made), (use, -1.0)], low=0.0, high=0.0)
        self.columns.row([*wheels, *((q, -1.0) for (_, q, _), _ in made)], low=0.0, high=0.0)


def _of_year(columns: Mapping[int, int], year: int) -> int | None:
    """Return the column of a year, the last one for all years; None where there is none."""
    if ALL_YEARS in columns:
        return columns[ALL_YEARS]
    return columns[max(columns)] if year == ALL_YEARS and columns else columns.get(year)


def order_steps(option: Option) -> list[tuple[float, float, float]]:
    """Return (least pieces ordered, price of a piece used, cost of one left over) of each price step."""
    prices = [(0.0, option.price), *((s.pieces, s.price) for s in option.steps)]
    return [
        (
            max(pieces, option.least_run),
            price,
            price if option.left_over_cost is None else option.left_over_cost,
        )
        for pieces, price in prices
    ]


def wheels_of(row: Row) -> float:
    """Return the wheels of a row over all years."""
    return math.fsum(row.volumes[y] for y in years_of(row))

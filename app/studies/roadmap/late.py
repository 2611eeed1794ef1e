"""A die that is late: what it would have served in the seasons that it misses.

Practice 4, v: the season's contribution is lost, not only moved. A must row loses no season that a supply at
hand serves, whatever that costs: a must row is never refused while it can be served.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from app.studies.programme.inputs import Kind, Mode, Option, Programme, Row
from app.studies.programme.plans import Plan
from app.studies.programme.supply import Supply, years_of
from app.studies.roadmap.risk import Scenario, is_committed

#: The option by which a season is lost; no blank is called so.
SEASON_LOST = "season lost"


def late_dies(base: Programme, plan: Plan, years: int) -> list[Scenario]:
    """Return one scenario for each die of a plan that is still to be paid: it comes so many years late."""
    option = {o.name: o for o in base.options}
    made = []
    for opened in plan.commitments:
        if opened.option not in option or not is_committed(option[opened.option]):
            continue
        there = {c.option: c.year for c in plan.commitments if c.option != opened.option}
        programme, rows = late_die(base, opened.option, opened.year, years, there)
        lost = tuple(sorted(set(rows) & _served(base, plan, opened.option, opened.year, years)))
        seasons = "a season" if years == 1 else f"{years} seasons"
        says = f"{opened.option} is there from {opened.year + years}, not {opened.year}. " + (
            f"Without it lost for {seasons}: {', '.join(lost)}." if lost else "Nothing hangs on it."
        )
        late = "a year" if years == 1 else f"{years} years"
        known = float(opened.year)
        name = f"{opened.option} late by {late}"
        made.append(Scenario(name, says, programme, lost, is_late=True, known=known))
    return made


def late_die(
    base: Programme, name: str, year: int, years: int = 1, there: Mapping[str, int] | None = None
) -> tuple[Programme, tuple[str, ...]]:
    """Return a programme in which a die is late, and the rows of which no other supply saves a season.

    What it, or a variant of it, would have served in those seasons may be lost instead: that costs its
    contribution. Such seasons are rows of their own.

    Args:
        base: the question.
        name: of the die.
        year: of its first use.
        years: by which it is late.
        there: option to first year of other dies that save a season too; they change the rows returned alone.
    """
    supply, seasons = Supply(base), range(year, year + years)
    late = {o.name for o in supply.options if name in {n.name for n in supply.needed(o)}}
    rows: list[Row] = []
    lost: list[str] = []
    for row in base.rows:
        within = [y for y in years_of(row) if y in seasons]
        if not within or not any(late & set(mode.costs) for mode in row.modes):
            rows.append(row)
            continue
        rest = {y: v for y, v in row.volumes.items() if y not in seasons}
        if years_of(replace(row, volumes=rest)):
            rows.append(replace(row, volumes=rest))
        for y in within:
            others = {n for mode in supply.allowed(row) for n in supply.servers(mode, y)} - late
            is_saved = any(_at_hand(supply, n) for n in others)
            if not is_saved and not any(_there(supply, n, y, there or {}) for n in others):
                lost.append(row.name)
            modes = row.modes if row.is_must and is_saved else tuple(_or_lost(mode) for mode in row.modes)
            rows.append(replace(row, name=f"{row.name}, {y}", volumes={y: row.volumes[y]}, modes=modes))
    options = tuple(replace(o, earliest=year + years) if o.name == name else o for o in base.options)
    # No contribution is earned where a season is lost: it is counted as what losing it costs.
    gone = Option(SEASON_LOST, Kind.BLOCK)
    found = replace(base, rows=tuple(rows), options=(*options, gone))
    return found, tuple(sorted(dict.fromkeys(lost)))


def _served(base: Programme, plan: Plan, name: str, year: int, years: int) -> set[str]:
    """Return the rows that a plan serves from a die or its variants in the seasons that it is to miss."""
    supply = Supply(base)
    mine = {o.name for o in supply.options if name in {n.name for n in supply.needed(o)}}
    return {s.row for s in plan.served if s.option in mine and year <= s.year < year + years}


def _at_hand(supply: Supply, name: str) -> bool:
    """Return True for what nothing is paid once for, and what hours of the press cannot keep from serving."""
    needed = list(supply.needed(supply.option[name]))
    hours = any(o.hours_per_piece or o.hours_per_run for o in needed)
    is_free = not (hours and supply.programme.limits.press_hours)
    return is_free and not any(is_committed(o) for o in needed)


def _there(supply: Supply, name: str, year: int, there: Mapping[str, int]) -> bool:
    """Return True where every die that an option needs is there by a year."""
    needed = [o for o in supply.needed(supply.option[name]) if is_committed(o)]
    return all(o.name in there and there[o.name] <= year for o in needed)


def _or_lost(mode: Mode) -> Mode:
    return replace(mode, costs={**mode.costs, SEASON_LOST: mode.contribution})

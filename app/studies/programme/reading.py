"""From the solver's columns to a decision: whole numbers made whole, and the rest worked out anew."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from app.studies.programme.core import Objective, Problem
from app.studies.programme.highs import Solver
from app.studies.programme.inputs import Mode, Option
from app.studies.programme.model import ALL_YEARS, Model, order_steps
from app.studies.programme.plans import Decision
from app.studies.programme.supply import years_of

_SMALL = 1e-9
#: Fixing the whole columns leaves a linear programme, which takes a moment.
_FIXED_LIMIT_S = 60.0


def read(model: Model, problem: Problem, columns: Objective, solver: Solver) -> Decision:
    """Return the decision behind a solution.

    Where rows share nothing, each row takes the cheapest of what is open, by name among equals, so that
    nothing hangs on the solver's last digits. Elsewhere the linear programme that is left is solved once
    more.
    """
    whole = np.where(problem.integer, np.round(columns), columns)
    if model.is_coupled:
        fixed = replace(
            problem,
            integer=np.zeros_like(problem.integer),
            lower=np.where(problem.integer, whole, problem.lower),
            upper=np.where(problem.integer, whole, problem.upper),
        )
        again = solver.run(fixed, _FIXED_LIMIT_S)
        whole = whole if again.columns is None else np.where(problem.integer, whole, again.columns)
        return _pruned(model, whole, *_as_solved(model, whole))
    return _pruned(model, whole, *_cheapest(model, whole))


_Served = dict[tuple[str, int], dict[str, float]]


def _modes(model: Model, whole: Objective) -> dict[str, Mode]:
    """Return row -> mode served."""
    found: dict[str, Mode] = {}
    arcs = {(arc.row, arc.mode) for arc in model.arcs}
    for row in model.supply.rows:
        for mode in row.modes:
            column = model.mode.get((row.name, mode.name))
            if (row.name, mode.name) in arcs and (column is None or whole[column] > 0.5):
                found[row.name] = mode
    return found


def _as_solved(model: Model, whole: Objective) -> tuple[dict[str, str], _Served]:
    modes = {row: mode.name for row, mode in _modes(model, whole).items()}
    served: _Served = {}
    for arc in model.arcs:
        if modes.get(arc.row) == arc.mode and whole[arc.column] > _SMALL:
            for year in arc.years:
                there = (n for n in arc.options if _is_there(model, whole, model.supply.option[n], year))
                option = arc.options[0] if len(arc.options) == 1 else min(there)
                served.setdefault((arc.row, year), {})[option] = float(whole[arc.column])
    for shares in served.values():
        total = sum(shares.values())
        for option in shares:
            shares[option] /= total
    return modes, served


def _cheapest(model: Model, whole: Objective) -> tuple[dict[str, str], _Served]:
    modes = _modes(model, whole)
    served: _Served = {}
    rows = {row.name: row for row in model.supply.rows}
    for name, mode in modes.items():
        for year in years_of(rows[name]):
            there = [
                (model.unit_cost(mode, option), n)
                for n in model.supply.servers(mode, year)
                if _is_there(model, whole, option := model.supply.option[n], year)
            ]
            served[name, year] = {min(there)[1]: 1.0}
    return {name: mode.name for name, mode in modes.items()}, served


def _is_there(model: Model, whole: Objective, option: Option, year: int) -> bool:
    column = model.use.get((option.name, year))
    if column is None and model.counts_runs(option):
        return False
    if column is None:
        column = model.link(option, year)
        if column is None:
            return not model.is_tied(option)
    return bool(whole[column] > 0.5)


def _pruned(model: Model, whole: Objective, modes: dict[str, str], served: _Served) -> Decision:
    """Return the decision with the year of each opening, without what nobody uses and nothing is paid for."""
    used: dict[str, int] = {}
    for (_, year), shares in served.items():
        for option in shares:
            for needed in model.supply.needed(model.supply.option[option]):
                used[needed.name] = min(year, used.get(needed.name, year))
    opened = {
        name: _opened_in(model.opening.get(name, {}), whole, used[name])
        for name in sorted(used)
        if model.supply.option[name].is_opened
    }
    holders: dict[str, int] = {}
    for name, year in opened.items():
        if (holder := model.supply.option[name].holder) is not None:
            holders[holder] = min(year, holders.get(holder, year))
    holders = {name: _opened_in(model.holder.get(name, {}), whole, year) for name, year in holders.items()}
    return Decision(opened, holders, modes, served, _ordered(model, whole, served))


def _opened_in(columns: Mapping[int, int], whole: Objective, first_use: int) -> int:
    """Return the year of opening: that of first use where the year does not matter."""
    years = [y for y, c in columns.items() if y != ALL_YEARS and whole[c] > 0.5]
    return min([*years, first_use])


def _ordered(
    model: Model, whole: Objective, served: _Served
) -> dict[tuple[str, int], tuple[float, float, float]]:
    found: dict[tuple[str, int], tuple[float, float, float]] = {}
    used = {(option, year) for (_, year), shares in served.items() for option in shares}
    for key in sorted(used & model.steps.keys()):
        taken = [step for (z, _, _), step in model.steps[key] if whole[z] > 0.5]
        found[key] = taken[0] if taken else order_steps(model.supply.option[key[0]])[0]
    return found

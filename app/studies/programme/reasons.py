"""Why a want row is refused, and why no plan keeps the limits."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from app.studies.programme.core import Answer, Problem
from app.studies.programme.inputs import Mode, Question, Row
from app.studies.programme.model import Model
from app.studies.programme.plans import Decision, Refusal, mode_value, option_cost, payments
from app.studies.programme.supply import Supply, years_of

_LIMITS = ("dies", "budget", "press")


def refusals(supply: Supply, decision: Decision) -> tuple[Refusal, ...]:
    """Return the want rows that a plan of greatest value refuses, with why."""
    if supply.programme.question is not Question.GREATEST_VALUE:
        return ()
    return tuple(
        _refusal(supply, decision, row)
        for row in supply.rows
        if not row.is_must and row.name not in decision.modes and years_of(row) and supply.modes(row)
    )


def _refusal(supply: Supply, decision: Decision, row: Row) -> Refusal:
    found = []
    for mode in supply.modes(row):
        brings = mode_value(supply.programme, supply, row.name, mode)
        for new in [None, *sorted(mode.costs)]:
            once, running = _alone(supply, decision, row, mode, new)
            if math.isfinite(once + running):
                found.append((brings - once - running, brings, once, running, new))
    short, brings, once, running, new = max(found, key=lambda f: f[0])
    return Refusal(row.name, brings, once + running, new, _words(short, brings, once, running, new))


def _words(short: float, brings: float, once: float, running: float, new: str | None) -> str:
    if short > 1e-6 * max(1.0, brings):
        return (
            f"its {brings:,.0f} of contribution would pay the {once + running:,.0f} that it costs; "
            "limits, runs or press hours keep it out"
        )
    if new is None or once == 0.0:
        where = "" if new is None else f" from '{new}'"
        return (
            f"its {brings:,.0f} of contribution is not more than the {running:,.0f} of its blanks and "
            f"machining{where}"
        )
    return (
        f"'{new}', {once:,.0f} to be paid once, is not paid by {brings:,.0f} of contribution less "
        f"{running:,.0f} of blanks and machining"
    )


def _alone(supply: Supply, decision: Decision, row: Row, mode: Mode, new: str | None) -> tuple[float, float]:
    """Return present values (paid once, running) of one more row, infinite where it cannot be served.

    At the lowest price of each option, without runs and least orders: not more than it would really cost.
    """
    programme, running, first = supply.programme, [], None
    for year in years_of(row):
        there = [
            (mode.costs[n] + min([o.price, *(s.price for s in o.steps)]), n == new)
            for n in supply.servers(mode, year)
            if n == new or _is_there(supply, decision, n, year)
            for o in [supply.option[n]]
        ]
        if not there:
            return math.inf, math.inf
        cost, is_new = min(there)
        if is_new and first is None:
            first = year
        running.append(cost * mode.share * row.volumes[year] * programme.worth(year))
    if new is None or first is None:
        return 0.0, math.fsum(running)
    once = 0.0
    holders = {h.name: h for h in programme.holders}
    for option in supply.needed(supply.option[new]):
        if option.name not in decision.opened:
            once += option_cost(programme, option, first)
        if option.holder is not None and option.holder not in decision.holders:
            holder = holders[option.holder]
            once += math.fsum(
                a * programme.worth(y) for y, a in payments(holder.cost, holder.payments, first)
            )
    return once, math.fsum(running)


def _is_there(supply: Supply, decision: Decision, name: str, year: int) -> bool:
    needed = [o for o in supply.needed(supply.option[name]) if o.is_opened]
    return all(decision.opened.get(o.name, math.inf) <= year for o in needed)


def impossible(supply: Supply, run: Callable[[Problem], Answer]) -> tuple[str, ...]:
    """Return by how much limits would have to give way, each limit for itself where that helps.

    Args:
        supply: of a programme that no plan keeps the limits of.
        run: solves a problem in the time there is.
    """
    limits = supply.programme.limits
    has = {
        "dies": limits.most_dies is not None,
        "budget": limits.budget is not None or bool(limits.budget_by_year),
        "press": bool(limits.press_hours),
    }
    kinds = [kind for kind in _LIMITS if has[kind]]
    found = []
    for kind in kinds:
        model = Model(supply, frozenset([kind]))
        problem = model.problem(model.passed)
        answer = run(problem)
        if answer.state == "limit":
            return (
                "no plan keeps the limits; time ended before it was known by how much they must give way",
            )
        if answer.columns is not None:
            found.append(_limit_words(supply, kind, float(np.dot(problem.objective, answer.columns))))
    if found:
        return tuple(found)
    return (f"no plan keeps all limits together: {', '.join(_NAMES[kind] for kind in kinds)}",)


_NAMES = {"dies": "number of dies", "budget": "budget", "press": "press hours"}


def _limit_words(supply: Supply, kind: str, passed: float) -> str:
    limits = supply.programme.limits
    if kind == "dies":
        most = limits.most_dies or 0
        return f"the must rows need {most + round(passed)} dies at least, {most} are allowed"
    if kind == "press":
        return f"the must rows need {passed:,.1f} hours of the press more than there are, over all years"
    if limits.budget_by_year:
        return f"the must rows need {passed:,.2f} more than the budget, over all years"
    budget = limits.budget or 0.0
    return (
        f"the must rows need {budget + passed:,.2f} to be paid once at least, "
        f"{passed:,.2f} more than the budget of {budget:,.2f}"
    )

"""Why a want row is refused, and why no plan keeps the limits."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from app.studies.programme.core import Answer, Problem
from app.studies.programme.inputs import Mode, Question, Row
from app.studies.programme.limits import Slack
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
            found.append(_limit_words(kind, [(s, float(answer.columns[s.column])) for s in model.slacks]))
    if found:
        return tuple(found)
    if not kinds:
        return (
            "no limit stands in the way, yet the solver finds no plan: numbers lie too far apart; look at "
            "the largest volumes and prices",
        )
    return (f"no plan keeps all limits together: {', '.join(_NAMES[kind] for kind in kinds)}",)


_NAMES = {"dies": "number of dies", "budget": "budget", "press": "press hours"}


#: Money and hours passed by less are the solver's tolerance.
_PASSED = 5e-3


def _limit_words(kind: str, slacks: Sequence[tuple[Slack, float]]) -> str:
    """Return by how much a kind of limit is passed, and in which years; the least there is in all."""
    if kind == "dies":
        ((slack, passed),) = slacks
        needed, most = round(slack.most + passed), round(slack.most)
        verbs = f"{most} {'is' if most == 1 else 'are'} allowed"
        return f"the must rows need {needed} new die{'s' * (needed != 1)} at least, {verbs}"
    over = [(slack, passed) for slack, passed in slacks if passed > _PASSED]
    said = [_passed_words(slack, passed) for slack, passed in over]
    if len(said) == 1:
        return f"the must rows need {said[0]}"
    total, unit = math.fsum(passed for _, passed in over), " hours" if kind == "press" else ""
    return (
        f"the must rows need {_amount(kind, total)}{unit} more than {_NAMES[kind]} in all at least, "
        f"for one: {'; '.join(said)}"
    )


def _passed_words(slack: Slack, passed: float) -> str:
    """Return '110.00 in 2031, 10.00 more than its budget of 100.00'."""
    need, more, most = (_amount(slack.kind, x) for x in (slack.most + passed, passed, slack.most))
    if slack.kind == "press":
        return f"{need} hours of the press in {slack.year}, {more} more than the {most} there are"
    if slack.year is None:
        return f"{need} to be paid once at least, {more} more than the budget of {most}"
    return f"{need} to be paid once in {slack.year}, {more} more than its budget of {most}"


def _amount(kind: str, value: float) -> str:
    return f"{value:,.1f}" if kind == "press" else f"{value:,.2f}"

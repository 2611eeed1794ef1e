"""What a plan risks: what each die fixed now would cost under every scenario, and the plan that is least bad.

A candidate's dies are committed: they are paid for the years that its plan says, whatever comes, and no other
tool may be opened. Bought blanks, blocks and dies that are there may still be used as each scenario asks.

That holds for all of them where nobody says when a scenario becomes known: the whole set is signed for today.
Where it is said, what is ordered by then is fixed, and what is ordered later may still be left, moved, or
taken in place of something else; nothing new is there before it can be ordered and made. That a die is late
is known by its own season at the latest.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

from app.studies.executor import Progress, run_all
from app.studies.programme.highs import Solver
from app.studies.programme.inputs import Limits, Option, PriceStep, Programme, Question
from app.studies.programme.plans import Plan, payments
from app.studies.programme.solve import solve
from app.studies.programme.worth import without_option

#: Inputs are varied by this share of themselves.
SHARE = 0.2
#: Costs this near, relative, are equal: the solver's own tolerance.
EQUAL = 1e-7


@dataclass(frozen=True)
class Scenario:
    """What may come.

    Attributes:
        name: short and its own. says: what is changed, a sentence.
        programme: the question as it would then be.
        lost: rows that no blank covers any more, or not in the season in which a die is late.
        is_late: True for such a season.
        known: time in years at which it is known: 2028.0 for the start of 2028. None where nobody said; then
            every tool of a candidate is ordered before.
    """

    name: str
    says: str
    programme: Programme
    lost: tuple[str, ...] = ()
    is_late: bool = False
    known: float | None = None

    @property
    def fixed_words(self) -> str:
        """What of a candidate this scenario finds ordered, a sentence."""
        if self.known is None:
            return "All tools of the set are ordered before it is known."
        return f"Known from {self.known:g}: tools ordered before stay and are paid, later orders may change."


@dataclass(frozen=True)
class Candidate:
    """A set of tools that could be committed now.

    Attributes:
        names: of the plans that ask for it.
        opened: (option, year of first use) of what is paid once, by name. holders: likewise.
    """

    names: tuple[str, ...]
    opened: tuple[tuple[str, int], ...]
    holders: tuple[tuple[str, int], ...]

    @property
    def words(self) -> str:
        """Its tools and years in words."""
        return ", ".join(f"{name} from {year}" for name, year in self.opened) or "no new tools"


@dataclass(frozen=True)
class Outcome:
    """A candidate under a scenario.

    Attributes:
        objective: what the question minimises; None where there is no plan. regret: that less the scenario's
            best; None where it leaves must rows that the best serves, or where either is not known.
        unserved: must rows that it leaves though the scenario's best plan serves them.
        is_proven: True where both plans are.
    """

    scenario: str
    objective: float | None
    regret: float | None
    unserved: tuple[str, ...]
    is_proven: bool


@dataclass(frozen=True)
class CandidateRegret:
    """A candidate over all scenarios, in their order."""

    candidate: Candidate
    outcomes: tuple[Outcome, ...]

    @property
    def greatest(self) -> float | None:
        """Its greatest regret; None where a scenario leaves must rows or has no plan."""
        found = [o.regret for o in self.outcomes]
        return None if None in found else max((r for r in found if r is not None), default=0.0)

    @property
    def worst(self) -> Outcome | None:
        """The outcome that decides it."""
        return max(
            self.outcomes, key=lambda o: (len(o.unserved), o.regret is None, o.regret or 0.0), default=None
        )


@dataclass(frozen=True)
class Regrets:
    """The regret table: candidates, the least bad first, against scenarios.

    Attributes:
        best: each scenario's best plan, in the order of the scenarios.
    """

    question: Question
    scenarios: tuple[Scenario, ...]
    best: tuple[Plan, ...]
    candidates: tuple[CandidateRegret, ...]

    @property
    def least_bad(self) -> CandidateRegret | None:
        """The candidate with the smallest greatest regret; None where there is no plan at all."""
        return self.candidates[0] if self.candidates else None


@dataclass(frozen=True)
class Sensitivity:
    """The best plan with one input changed.

    Attributes:
        change: of the objective, in money; None where there is no plan.
        opened: what is then paid once; is_same: as in the plan.
    """

    words: str
    factor: float
    change: float | None
    opened: tuple[str, ...]
    is_same: bool
    is_proven: bool


def judged(question: Question) -> Question:
    """Return the question that risk is judged by: value where it is asked for, else cost."""
    return question if question is Question.GREATEST_VALUE else Question.LEAST_COST


def regrets(
    scenarios: Sequence[Scenario],
    executor: Executor,
    *,
    also: Sequence[tuple[str, Plan]] = (),
    time_limit_s: float = 60.0,
    progress: Progress | None = None,
) -> Regrets:
    """Return what each scenario's best plan would cost under every scenario.

    Args:
        scenarios: the first is what is expected.
        executor: as `executor.opened` gives it; the result is the same on each.
        also: further plans, by name, that are held against the scenarios.
        time_limit_s: for the best plan of a scenario, and again for all candidates under one.
        progress: told after each scenario, twice; False cancels.

    Raises:
        StoppedError: progress said so.
        ProgrammeError: there is no scenario.
    """
    count = len(scenarios)

    def first(done: int, _: int) -> bool:
        return progress is None or progress(done, 2 * count)

    def second(done: int, _: int) -> bool:
        return progress is None or progress(count + done, 2 * count)

    best = run_all(executor, best_plan, [(s.programme, time_limit_s) for s in scenarios], first)
    named = [(s.name, plan) for s, plan in zip(scenarios, best, strict=True)]
    options = {o.name: o for s in reversed(scenarios) for o in s.programme.options}
    found = _candidates([*also, *named], options)
    jobs = [
        (s, plan, found, options, time_limit_s / max(len(found), 1))
        for s, plan in zip(scenarios, best, strict=True)
    ]
    by_scenario = run_all(executor, outcomes, jobs, second)
    table = [CandidateRegret(c, tuple(column[k] for column in by_scenario)) for k, c in enumerate(found)]
    table.sort(key=_badness)
    question = scenarios[0].programme.question if scenarios else Question.LEAST_COST
    return Regrets(question, tuple(scenarios), tuple(best), tuple(table))


def _badness(row: CandidateRegret) -> tuple[int, int, float, tuple[tuple[str, int], ...]]:
    left = max((len(o.unserved) for o in row.outcomes), default=0)
    unknown = sum(o.regret is None for o in row.outcomes)
    known = max((o.regret for o in row.outcomes if o.regret is not None), default=0.0)
    return left, unknown, known, row.candidate.opened


def best_plan(programme: Programme, time_limit_s: float) -> Plan:
    """Return the best plan alone, without others near it."""
    with Solver(own_process=False) as solver:
        return solve(programme, time_limit_s=time_limit_s, most_runners_up=0, solver=solver)


def is_committed(option: Option) -> bool:
    """True where using an option needs money once; a die that is there needs none."""
    return option.fixed > 0.0 or option.holder is not None


def _candidates(plans: Sequence[tuple[str, Plan]], options: Mapping[str, Option]) -> tuple[Candidate, ...]:
    """Return the different sets of tools, with the names of the plans that ask for them."""
    found: dict[tuple[tuple[tuple[str, int], ...], tuple[tuple[str, int], ...]], list[str]] = {}
    for name, plan in plans:
        if plan.is_found:
            opened = tuple((c.option, c.year) for c in plan.commitments if is_committed(options[c.option]))
            found.setdefault((opened, plan.holders), []).append(name)
    return tuple(
        Candidate(tuple(names), opened, holders) for (opened, holders), names in sorted(found.items())
    )


def outcomes(
    scenario: Scenario,
    best: Plan,
    candidates: Sequence[Candidate],
    options: Mapping[str, Option],
    time_limit_s: float,
) -> tuple[Outcome, ...]:
    """Return every candidate under one scenario; `options` holds those that it does not know any more."""
    with Solver(own_process=False) as solver:
        return tuple(_outcome(scenario, best, c, options, time_limit_s, solver) for c in candidates)


def _outcome(
    scenario: Scenario,
    best: Plan,
    of: Candidate,
    options: Mapping[str, Option],
    time_limit_s: float,
    solver: Solver,
) -> Outcome:
    asked, sunk = committed(scenario.programme, of, options, scenario.known)
    plan = solve(asked, time_limit_s=time_limit_s, most_runners_up=0, solver=solver)
    unserved = tuple(sorted(set(plan.must_uncovered) - set(best.must_uncovered)))
    if not plan.is_found:
        return Outcome(scenario.name, None, None, unserved, plan.verdict == "impossible")
    objective = plan.objective + sunk
    proven = plan.verdict == best.verdict == "proven"
    regret = objective - best.objective if best.is_found and not unserved else None
    # Both come from a solver: what differs by its tolerance is equal.
    if regret is not None and abs(regret) <= EQUAL * max(1.0, abs(best.objective)):
        regret = 0.0
    return Outcome(scenario.name, objective, regret, unserved, proven)


def committed(
    programme: Programme,
    of: Candidate,
    options: Mapping[str, Option] | None = None,
    known: float | None = None,
) -> tuple[Programme, float]:
    """Return a programme in which a candidate's tools are there and no others can be, and what they cost.

    Args:
        programme: the question.
        of: the candidate.
        options: by name, of tools that the programme does not hold: nothing is cut with them any more, but
            they are paid.
        known: time in years at which it is known what comes; tools not ordered by then are free to choose,
            and there at their lead time after it. None: all are ordered.

    Returns:
        The programme with nothing left to pay for what is ordered; the present value of what is paid for it.
    """
    there = {**(options or {}), **{o.name: o for o in programme.options}}
    year = {n: y for n, y in of.opened if n in there and _is_ordered(there[n], y, known)}
    holder = {h.name: h for h in programme.holders}
    held = {there[n].holder for n in year} & set(holder)
    if known is None:
        held |= {n for n, _ in of.holders} & set(holder)
        for option in programme.options:
            if is_committed(option) and option.name not in year:
                programme = without_option(programme, option.name)
    spent = [payments(there[n].fixed, there[n].payments, y) for n, y in year.items()]
    spent += [payments(holder[n].cost, holder[n].payments, y) for n, y in of.holders if n in held]
    steps = [step for each in spent for step in each]
    made = tuple(_as_ordered(o, year, held, known) for o in programme.options)
    limits = _limits_left(programme.limits, steps, sum(there[n].is_new for n in year), known)
    paid = math.fsum(amount * programme.worth(when) for when, amount in steps)
    return replace(programme, options=made, limits=limits), paid


def _is_ordered(option: Option, year: int, known: float | None) -> bool:
    """Return True where a tool for a year is ordered before it is known what comes."""
    return known is None or year - option.lead_years < known - 1e-9


def _as_ordered(
    option: Option, year: Mapping[str, int], held: Collection[str | None], known: float | None
) -> Option:
    """Return an option as it stands once it is known what comes: paid, or still to be ordered."""
    if option.name in year:
        first = year[option.name]
        earliest = first if option.earliest is None else max(option.earliest, first)
        return replace(option, fixed=0.0, holder=None, earliest=earliest, is_there=option.is_die)
    if known is None or not is_committed(option):
        return option
    first = math.ceil(known + option.lead_years - 1e-9)
    earliest = first if option.earliest is None else max(option.earliest, first)
    return replace(option, holder=None if option.holder in held else option.holder, earliest=earliest)


def _limits_left(
    limits: Limits, spent: Sequence[tuple[int, float]], dies: int, known: float | None
) -> Limits:
    """Return the limits for what is still to be chosen; what is ordered is paid whatever the budget says."""
    most = None if limits.most_dies is None else max(limits.most_dies - dies, 0)
    if known is None:
        return replace(limits, most_dies=most, budget=None, budget_by_year={})
    gone = math.fsum(amount for _, amount in spent)
    left = {
        y: max(budget - math.fsum(amount for when, amount in spent if when == y), 0.0)
        for y, budget in limits.budget_by_year.items()
    }
    whole = None if limits.budget is None else max(limits.budget - gone, 0.0)
    return replace(limits, most_dies=most, budget=whole, budget_by_year=left)


# One input at a time


def varied(programme: Programme, share: float = SHARE) -> tuple[tuple[str, float, Programme], ...]:
    """Return (words, factor, programme) with one input changed by a share of itself, down and up."""
    made = []
    for factor in (1.0 - share, 1.0 + share):
        made += [
            ("price of dies and holders", factor, scaled_dies(programme, factor)),
            ("price of a piece", factor, _scaled_pieces(programme, factor)),
            ("volumes", factor, scaled_volumes(programme, factor)),
            ("rate of discount", factor, replace(programme, rate=programme.rate * factor)),
        ]
        if programme.question is Question.GREATEST_VALUE:
            made.append(("contribution a wheel", factor, _scaled_contribution(programme, factor)))
    return tuple(sorted(made, key=lambda m: m[0]))


def sensitivity(
    programme: Programme,
    plan: Plan,
    executor: Executor,
    *,
    share: float = SHARE,
    time_limit_s: float = 60.0,
    progress: Progress | None = None,
) -> tuple[Sensitivity, ...]:
    """Return the best plan with each input changed by a share of itself: does the choice change?

    Raises:
        StoppedError: progress said so.
    """
    changed = varied(programme, share)
    plans = run_all(executor, best_plan, [(p, time_limit_s) for _, _, p in changed], progress)
    return tuple(
        Sensitivity(
            words,
            factor,
            found.objective - plan.objective if found.is_found and plan.is_found else None,
            found.opened,
            found.is_found and found.opened == plan.opened,
            found.verdict == plan.verdict == "proven",
        )
        for (words, factor, _), found in zip(changed, plans, strict=True)
    )


def scaled_volumes(programme: Programme, factor: float) -> Programme:
    """Return a programme with all volumes times a factor."""
    rows = tuple(
        replace(row, volumes={year: wheels * factor for year, wheels in row.volumes.items()})
        for row in programme.rows
    )
    return replace(programme, rows=rows)


def scaled_dies(programme: Programme, factor: float) -> Programme:
    """Return a programme with everything that is paid once times a factor."""
    return replace(
        programme,
        options=tuple(replace(o, fixed=o.fixed * factor) for o in programme.options),
        holders=tuple(replace(h, cost=h.cost * factor) for h in programme.holders),
    )


def _scaled_pieces(programme: Programme, factor: float) -> Programme:
    options = tuple(
        replace(
            o,
            price=o.price * factor,
            steps=tuple(PriceStep(s.pieces, s.price * factor) for s in o.steps),
            left_over_cost=None if o.left_over_cost is None else o.left_over_cost * factor,
        )
        for o in programme.options
    )
    return replace(programme, options=options)


def _scaled_contribution(programme: Programme, factor: float) -> Programme:
    rows = tuple(
        replace(
            row, modes=tuple(replace(mode, contribution=mode.contribution * factor) for mode in row.modes)
        )
        for row in programme.rows
    )
    return replace(programme, rows=rows)

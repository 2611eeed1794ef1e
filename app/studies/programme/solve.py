"""The exact choice: one or several objectives after each other, then what comes within 0.1 % of the best."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from contextlib import nullcontext
from dataclasses import replace

import numpy as np

from app.studies.programme.core import Answer, Objective, Problem
from app.studies.programme.highs import Progress, Solver
from app.studies.programme.inputs import Programme, Question
from app.studies.programme.model import Model
from app.studies.programme.plans import Accounts, Decision, Plan, RunnerUp
from app.studies.programme.reading import read
from app.studies.programme.reasons import impossible, refusals
from app.studies.programme.start import start
from app.studies.programme.supply import Supply

#: Plans this near the best, relative, are shown beside it.
NEAR = 1e-3
#: Plans this near are equal.
EQUAL = 1e-9
#: What the solver's bound may be short of a plan that is proven, relative: its own tolerances.
_PROVEN = 1e-7
_LEAST_LIMIT_S = 0.05


def solve(
    programme: Programme,
    *,
    time_limit_s: float = 60.0,
    most_runners_up: int = 4,
    progress: Callable[[Progress], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    solver: Solver | None = None,
) -> Plan:
    """Return the best plan, or the best found in the time with how much better it might be.

    Args:
        programme: the question.
        time_limit_s: for everything, runners-up included; the solver looks at the clock between its steps.
        most_runners_up: other sets that are looked for within 0.1 %; 0 for none. Each takes a search of its
            own, and the set first by name among equals is known only with them.
        progress: told every 0.05 s how far the search is.
        cancelled: asked every 0.05 s; True ends the search at once.
        solver: to be used again, as from a curve; a new one where None.

    Raises:
        CancelledError: `cancelled` returned True.
        ProgrammeError: the solver broke down.
    """
    with nullcontext(solver) if solver is not None else Solver() as running:
        return _Search(programme, running, time_limit_s, progress, cancelled).plan(most_runners_up)


class _Search:
    def __init__(
        self,
        programme: Programme,
        solver: Solver,
        time_limit_s: float,
        progress: Callable[[Progress], None] | None,
        cancelled: Callable[[], bool] | None,
    ) -> None:
        self.start = time.monotonic()
        self.solver, self.time_limit_s = solver, time_limit_s
        self.progress, self.cancelled = progress, cancelled
        self.programme, self.supply = programme, Supply(programme)
        self.model = Model(self.supply)

    def plan(self, most_runners_up: int) -> Plan:
        """Return the plan; see `solve`."""
        problem, answer, is_proven = self._phases()
        nothing = Plan("nothing found", self.programme.question, uncovered=self.supply.uncovered)
        if answer.state == "infeasible":
            why = impossible(self.supply, self._run)
            return self._timed(replace(nothing, verdict="impossible", impossible=why))
        if answer.columns is None:
            return self._timed(replace(nothing, bound=answer.bound - self.model.certain))
        decision = read(self.model, problem, answer.columns, self.solver)
        runners: tuple[RunnerUp, ...] = ()
        is_all = False
        if is_proven and most_runners_up > 0:
            decision, runners, is_all = self._runners_up(problem, answer.columns, decision, most_runners_up)
        return self._timed(self._told(decision, answer.bound, is_proven, runners, is_all))

    def _phases(self) -> tuple[Problem, Answer, bool]:
        """Return the last problem, its answer, and whether all of them were solved to the end."""
        model, phases = self.model, _phases(self.model, self.programme.question)
        problem, is_proven = replace(model.problem(phases[0]), start=start(model)), True
        for k, objective in enumerate(phases):
            problem = replace(problem, objective=objective)
            answer = self._run(problem)
            is_proven = is_proven and answer.state == "optimal"
            if answer.columns is None:
                break
            if k + 1 < len(phases):
                reached = float(objective @ answer.columns)
                problem = with_row(problem, objective, high=reached + 1e-6 * max(1.0, abs(reached)))
        return (
            problem,
            answer if is_proven else replace(answer, bound=self._unproven(answer, len(phases))),
            is_proven,
        )

    @staticmethod
    def _unproven(answer: Answer, phases: int) -> float:
        # After an earlier phase without proof, the last one's bound holds for that phase's result alone.
        return answer.bound if phases == 1 else -math.inf

    def _run(self, problem: Problem) -> Answer:
        return self.solver.run(problem, self._left(), self._tell, self.cancelled)

    def _left(self) -> float:
        return max(self.time_limit_s - (time.monotonic() - self.start), _LEAST_LIMIT_S)

    def _tell(self, progress: Progress) -> None:
        if self.progress is not None:
            self.progress(replace(progress, elapsed_s=time.monotonic() - self.start))

    def _timed(self, plan: Plan) -> Plan:
        return replace(plan, elapsed_s=time.monotonic() - self.start)

    def _runners_up(
        self, problem: Problem, columns: Objective, decision: Decision, searches: int
    ) -> tuple[Decision, tuple[RunnerUp, ...], bool]:
        """Return the decision first by name among equals, the others within 0.1 %, and if these are all."""
        choice = self._choice()
        best = Accounts(self.supply, decision).objective()
        found = {tuple(sorted(decision.opened)): (best, decision)}
        is_all = not choice
        for _ in range(searches if choice else 0):
            problem = without_set(problem, choice, columns)
            answer = self._run(problem) if self._left() > _LEAST_LIMIT_S else Answer("limit", None, -math.inf)
            if answer.state == "infeasible":
                is_all = True
            if answer.state != "optimal" or answer.columns is None:
                break
            columns = answer.columns
            # A set that is found again with something idle opened beside it counts with what that costs.
            if float(problem.objective @ columns) > best + NEAR * abs(best):
                is_all = True
                break
            other = read(self.model, problem, columns, self.solver)
            objective = Accounts(self.supply, other).objective()
            found.setdefault(tuple(sorted(other.opened)), (objective, other))
        least = min(objective for objective, _ in found.values())
        equal = [
            s for s, (objective, _) in found.items() if objective <= least + EQUAL * max(1.0, abs(least))
        ]
        first = min(equal)
        runners = [
            RunnerUp(opened, objective - least, opened in equal)
            for opened, (objective, _) in found.items()
            if opened != first
        ]
        return (
            found[first][1],
            tuple(sorted(runners, key=lambda r: (not r.is_tie, r.dearer, r.opened))),
            is_all,
        )

    def _choice(self) -> list[int]:
        """Return the columns whose set makes a plan another one: what is paid, or all where dies count."""
        holders = {h.name: h.cost for h in self.programme.holders}
        counted = self.programme.limits.most_dies is not None
        made = []
        for name, column in self.model.commitments().items():
            option = self.supply.option[name]
            paid = option.fixed + (holders[option.holder] if option.holder is not None else 0.0)
            if counted or paid > 0.0:
                made.append(column)
        return made

    def _told(
        self, decision: Decision, bound: float, is_proven: bool, runners: tuple[RunnerUp, ...], is_all: bool
    ) -> Plan:
        accounts = Accounts(self.supply, decision)
        objective, bound = accounts.objective(), bound - self.model.certain
        proven = is_proven and objective <= bound + _PROVEN * max(1.0, abs(objective))
        commitments = accounts.commitments()
        left = [
            row.name
            for row in self.supply.rows
            if row.name not in decision.modes and self.programme.question is Question.BEST_COVER
        ]
        covered = {u.row for u in self.supply.uncovered}
        return Plan(
            verdict="proven" if proven else "gap left",
            question=self.programme.question,
            objective=objective,
            bound=min(bound, objective),
            cost=accounts.cost,
            contribution=accounts.contribution,
            dies=sum(self.supply.option[c.option].is_new for c in commitments),
            commitments=commitments,
            holders=tuple(sorted(decision.holders.items())),
            served=accounts.served,
            orders=accounts.orders,
            years=accounts.years,
            uncovered=self.supply.uncovered,
            refused=refusals(self.supply, decision),
            left=tuple(name for name in left if name not in covered),
            hanging=accounts.hanging(),
            runners_up=runners,
            all_runners_up=is_all,
        )


def _phases(model: Model, question: Question) -> list[Objective]:
    """Return what is minimised, one after the other."""
    if question is Question.FEWEST_DIES:
        before = [model.dies]
    elif question is Question.BEST_COVER:
        must, every = model.wheels_left(must_only=True), model.wheels_left(must_only=False)
        before = [must] if np.array_equal(must, every) else [must, every]
    else:
        before = []
    return [*(objective for objective in before if objective.any()), model.cost]


def with_row(problem: Problem, row: Objective, low: float = -math.inf, high: float = math.inf) -> Problem:
    """Return a problem with one more row."""
    columns = np.flatnonzero(row)
    return replace(
        problem,
        start=None,
        data=np.append(problem.data, row[columns]),
        columns=np.append(problem.columns, columns),
        starts=np.append(problem.starts, problem.starts[-1] + columns.size),
        low=np.append(problem.low, low),
        high=np.append(problem.high, high),
    )


def without_set(problem: Problem, choice: list[int], columns: Objective) -> Problem:
    """Return a problem whose answer opens another set of `choice` than `columns` does."""
    row = np.zeros(problem.objective.size)
    is_open = columns[choice] > 0.5
    row[choice] = np.where(is_open, -1.0, 1.0)
    return with_row(problem, row, low=1.0 - float(is_open.sum()))

"""Solving a mixed-integer programme by its core: the columns that can be in a plan that is good enough.

The relaxation gives a bound and, for each column, what using it costs at least beside that bound. Columns
that cost more than a small distance are left out, and the core that remains is solved. If its answer lies
within the distance of the bound, nothing that was left out can be better: it is proven for the whole. If not,
the distance of that answer is enough, once more; where time is short, cores grow in steps. Fixing by reduced
cost is textbook; here it spares HiGHS the clique and neighbourhood searches on thousands of idle columns
(measured: tests/timing/test_programme.py).
"""

from __future__ import annotations

import math
import time
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

Objective = NDArray[np.float64]

#: Below this many whole columns the relaxation is not worth its time.
_FEW = 60
#: Distance from the relaxation of the first core, relative.
_FIRST = 1e-3
#: Whole columns of a first core at most, and by how much a core grows that time does not suffice for.
_MANY, _GROWTH = 400, 2.5
#: What the relaxation's prices may be wrong by, relative.
_MARGIN = 1e-7
_LEAST_LIMIT_S = 0.05


@dataclass(frozen=True, eq=False)
class Problem:
    """Least c x with low <= A x <= high and lower <= x <= upper; A by rows (CSR).

    Attributes:
        integer: columns that must be 0 or 1.
        whole: columns that are 0 or 1 in some best answer, those of `integer` among them.
        chains: columns each of which is at least the one before: what is open in a year is open in the next.
        start: a plan that is known already, or None.
    """

    objective: Objective
    integer: NDArray[np.bool_]
    whole: NDArray[np.bool_]
    chains: tuple[tuple[int, ...], ...]
    lower: Objective
    upper: Objective
    data: Objective
    columns: NDArray[np.intp]
    starts: NDArray[np.intp]
    low: Objective
    high: Objective
    start: Objective | None = None


@dataclass(frozen=True, eq=False)
class Answer:
    """What HiGHS found.

    Attributes:
        state: 'optimal', 'limit' (of time), or 'infeasible'.
        columns: the best found, or None.
        bound: no answer is less.
    """

    state: Literal["optimal", "limit", "infeasible"]
    columns: Objective | None
    bound: float


def solved(problem: Problem, time_limit_s: float, is_told: bool = False) -> Answer:
    """Return the best answer within a time; `is_told` writes HiGHS's log to standard output.

    Raises:
        ValueError: HiGHS could not solve it.
    """
    end = time.monotonic() + time_limit_s
    if problem.integer.sum() < _FEW:
        return _by_highs(problem, time_limit_s, is_told)
    relaxed = _relaxed(problem, time_limit_s / 2.0)
    if relaxed is None:
        answer = _by_highs(problem, _left(end), is_told)
        return (
            replace(answer, columns=_better(problem, answer.columns)) if answer.state == "limit" else answer
        )
    least, below, above = relaxed
    distance, best, bound = _first_distance(problem, least, below), problem.start, least
    reached = math.inf if best is None else float(problem.objective @ best)
    distance = min(distance, reached - least + _MARGIN * max(1.0, abs(least)))
    while True:
        # A core that is too small to prove what is found already is left for a larger one in time.
        suffices = reached <= least + distance
        limit = _left(end) if suffices else _left(end) / 2.0
        answer = _by_highs(_core(problem, below, above, distance), limit, is_told)
        if answer.columns is not None and float(problem.objective @ answer.columns) < reached:
            best, reached = answer.columns, float(problem.objective @ answer.columns)
        bound = max(bound, min(answer.bound, least + distance))
        if answer.state == "optimal" and reached <= least + distance:
            return Answer("optimal", best, bound)
        if time.monotonic() >= end or (answer.state == "limit" and suffices):
            return Answer("limit", best, bound)
        if not math.isfinite(distance):
            return answer
        distance = _next_distance(problem, below, distance, answer.state, reached - least, least)


def _first_distance(problem: Problem, least: float, below: Objective) -> float:
    """Return the distance of the first core: small, and with few whole columns."""
    costs = np.sort(below[problem.integer])
    distance = _FIRST * max(1.0, abs(least))
    return min(distance, float(costs[_MANY])) if costs.size > _MANY else distance


def _next_distance(
    problem: Problem, below: Objective, distance: float, state: str, gap: float, least: float
) -> float:
    """Return the distance of the next core: enough for a proof, or a step towards it where time ran out."""
    proof = gap + _MARGIN * max(1.0, abs(least))
    if state == "optimal" or not math.isfinite(distance):
        return proof
    costs = np.sort(below[problem.integer])
    kept = int(_GROWTH * np.searchsorted(costs, distance, side="right"))
    return min(proof, max(float(costs[kept]), 2.0 * distance) if kept < costs.size else math.inf)


def _better(problem: Problem, columns: Objective | None) -> Objective | None:
    """Return the better of a plan and the one that was known before."""
    known = problem.start
    if known is None or columns is None:
        return known if columns is None else columns
    return columns if problem.objective @ columns <= problem.objective @ known else known


def _left(end: float) -> float:
    return max(end - time.monotonic(), _LEAST_LIMIT_S)


def _core(problem: Problem, below: Objective, above: Objective, distance: float) -> Problem:
    """Return a problem without the columns that cost more than a distance."""
    off = problem.whole & (below > distance)
    on = problem.integer & (above > distance)
    return replace(
        problem,
        lower=np.where(on, problem.upper, problem.lower),
        upper=np.where(off & ~on, problem.lower, problem.upper),
    )


def _relaxed(problem: Problem, time_limit_s: float) -> tuple[float, Objective, Objective] | None:
    """Return the relaxation's least, and what each column costs at least when it is 1, and when it is 0.

    Along a chain, being open early means being open in all later years too, so that the costs add up.
    None where the relaxation has no answer in the time.
    """
    from scipy.optimize import linprog
    from scipy.sparse import vstack

    matrix = _matrix(problem)
    equal = problem.low == problem.high
    up, down = ~equal & np.isfinite(problem.high), ~equal & np.isfinite(problem.low)
    found = linprog(
        problem.objective,
        A_ub=vstack([matrix[up], -matrix[down]]),
        b_ub=np.concatenate([problem.high[up], -problem.low[down]]),
        A_eq=matrix[equal],
        b_eq=problem.high[equal],
        bounds=np.column_stack([problem.lower, problem.upper]),
        method="highs-ds",
        options={"time_limit": time_limit_s},
    )
    if found.status != 0:
        return None
    below = np.array(found.lower.marginals, dtype=float)
    for chain in problem.chains:
        below[list(chain)] = np.cumsum(below[list(chain)][::-1])[::-1]
    return float(found.fun), below, -np.asarray(found.upper.marginals, dtype=float)


def _matrix(problem: Problem) -> Any:
    from scipy.sparse import csr_array

    shape = (problem.low.size, problem.objective.size)
    return csr_array((problem.data, problem.columns, problem.starts), shape=shape)


def _by_highs(problem: Problem, time_limit_s: float, is_told: bool) -> Answer:
    from scipy.optimize import Bounds, LinearConstraint, milp

    found = milp(
        problem.objective,
        integrality=problem.integer.astype(int),
        bounds=Bounds(problem.lower, problem.upper),
        constraints=LinearConstraint(_matrix(problem), problem.low, problem.high)
        if problem.low.size
        else None,
        options={"disp": is_told, "time_limit": max(time_limit_s, _LEAST_LIMIT_S), "mip_rel_gap": 0.0},
    )
    columns = None if found.x is None else np.asarray(found.x, dtype=float)
    bound = found.fun if found.mip_dual_bound is None else found.mip_dual_bound
    bound = -math.inf if bound is None or not math.isfinite(bound) else float(bound)
    if found.status == 0:
        return Answer("optimal", columns, bound)
    if found.status == 1:
        return Answer("limit", columns, bound)
    if found.status == 2:
        return Answer("infeasible", None, math.inf)
    raise ValueError(found.message)

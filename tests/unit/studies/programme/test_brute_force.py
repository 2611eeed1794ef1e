"""The plan against trying everything, on small random programmes, added up by code that knows no model."""

import itertools
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from app.studies.programme import core
from app.studies.programme.core import Answer, Problem
from app.studies.programme.highs import Solver
from app.studies.programme.inputs import Limits, Mode, Option, Programme, Question, Row
from app.studies.programme.model import Model
from app.studies.programme.plans import Plan
from app.studies.programme.solve import solve
from app.studies.programme.start import start
from app.studies.programme.supply import Supply
from tests.support.one_of import one_of
from tests.support.programme_sums import added, least, random_programme
from tests.support.roadmaps import family


@pytest.fixture(scope="module")
def solver() -> Iterator[Solver]:
    # Hundreds of tiny problems: a child would only carry them to and fro.
    with Solver(own_process=False) as running:
        yield running


def objective(programme: Programme, plan: Plan) -> float:
    cost, contribution = added(programme, plan)
    return cost - contribution if programme.question is Question.GREATEST_VALUE else cost


@pytest.mark.parametrize("seed", one_of(2, range(42)))
def test_nothing_is_better(seed: int, solver: Solver) -> None:
    programme = random_programme(seed)
    plan, tried = solve(programme, solver=solver), least(programme)
    if tried is None:
        assert plan.verdict == "impossible" or plan.must_uncovered
        return
    assert plan.verdict == "proven"
    assert plan.objective == pytest.approx(tried, rel=1e-7, abs=1e-4)
    assert objective(programme, plan) == pytest.approx(plan.objective, rel=1e-9, abs=1e-6)
    assert plan.bound <= plan.objective


class Unproven(Solver):
    """Says of every answer that time ended first, and that the bound is 100 lower."""

    def run(self, problem: Problem, *rest: Any) -> Answer:
        found = super().run(problem, *rest)
        return found if found.columns is None else replace(found, state="limit", bound=found.bound - 100.0)


@pytest.mark.parametrize("seed", one_of(2, range(42)))
def test_the_bound_is_of_what_the_plan_counts(seed: int, solver: Solver) -> None:
    """Contributions that every plan brings are no part of the model, but of objective and bound alike."""
    programme = replace(random_programme(seed), question=Question.GREATEST_VALUE)
    plan = solve(programme, solver=solver)
    if plan.is_found:
        assert plan.bound == pytest.approx(plan.objective, rel=1e-7, abs=1e-4)
        ended = solve(programme, solver=Unproven(own_process=False))
        assert ended.verdict == "gap left"
        assert ended.objective - ended.bound == pytest.approx(100.0, abs=1e-3)


@pytest.mark.parametrize("seed", one_of(2, range(42)))
def test_the_core_is_as_good_as_the_whole(seed: int, solver: Solver, monkeypatch: pytest.MonkeyPatch) -> None:
    programme = random_programme(seed)
    whole = solve(programme, solver=solver)
    # Small programmes are solved as they are; here each goes through cores, as narrow as they can be.
    for name, value in (("_FEW", 0), ("_FIRST", 1e-9), ("_MANY", 2)):
        monkeypatch.setattr(core, name, value)
    plan = solve(programme, solver=solver)
    assert (plan.verdict, plan.opened) == (whole.verdict, whole.opened)
    assert plan.impossible == whole.impossible
    if plan.is_found:
        assert plan.objective == pytest.approx(whole.objective, rel=1e-9, abs=1e-6)
        assert plan.bound <= plan.objective
        assert [r.opened for r in plan.runners_up] == [r.opened for r in whole.runners_up]


@pytest.mark.parametrize("seed", range(0, 42, 3))
def test_order_of_rows_and_options_changes_nothing(seed: int, solver: Solver) -> None:
    programme = random_programme(seed)
    turned = replace(
        programme,
        rows=tuple(
            replace(
                r,
                modes=tuple(
                    replace(m, costs=dict(reversed(list(m.costs.items())))) for m in reversed(r.modes)
                ),
            )
            for r in reversed(programme.rows)
        ),
        options=tuple(reversed(programme.options)),
    )
    plan, other = solve(programme, solver=solver), solve(turned, solver=solver)
    assert replace(other, elapsed_s=plan.elapsed_s) == plan or not plan.is_found


@pytest.mark.parametrize("question", [Question.FEWEST_DIES, Question.BEST_COVER])
@pytest.mark.parametrize("seed", range(12))
def test_covers_against_all_sets(seed: int, question: Question, solver: Solver) -> None:
    rng = np.random.default_rng(seed)
    fixed = rng.integers(10, 40, 7).astype(float)
    cost = np.where(rng.random((8, 7)) < 0.4, rng.integers(0, 9, (8, 7)), np.inf)
    wheels, is_must = rng.integers(1, 9, 8).astype(float), rng.random(8) < 0.5
    if question is Question.FEWEST_DIES:
        cost[:, 0], is_must[:] = np.where(np.isfinite(cost).any(axis=1), cost[:, 0], 5.0), True
    budget = 60.0 if question is Question.BEST_COVER else np.inf
    found = []
    for chosen in itertools.product([False, True], repeat=7):
        paid = float(fixed[list(chosen)].sum())
        if paid > budget:
            continue
        cheapest = np.where(chosen, cost, np.inf).min(axis=1)
        served = np.isfinite(cheapest)
        total = paid + float((wheels * np.where(served, cheapest, 0.0)).sum())
        if question is Question.BEST_COVER:
            found.append((-wheels[served & is_must].sum(), -wheels[served].sum(), total))
        elif served.all():
            found.append((sum(chosen), 0, total))
    rows = tuple(
        Row(
            f"r{i}",
            {2031: wheels[i]},
            (Mode({f"d{j}": cost[i, j] for j in range(7) if cost[i, j] < 99}),),
            must,
        )
        for i, must in enumerate(map(bool, is_must))
    )
    limits = Limits(budget=budget) if budget < np.inf else Limits()
    options = tuple(Option(f"d{j}", fixed=f) for j, f in enumerate(fixed))
    plan = solve(Programme(rows, options, limits=limits, question=question), solver=solver)
    first, second, total = min(found)
    assert plan.verdict == "proven"
    assert plan.cost == pytest.approx(total)
    if question is Question.FEWEST_DIES:
        assert plan.dies == first
    else:
        served_rows = {s.row for s in plan.served}
        assert -sum(w for i, w in enumerate(wheels) if f"r{i}" in served_rows) == second


def test_random_plans_never_beat_the_proven_one(solver: Solver) -> None:
    programme = family(5, 20, 40, years=3, rate=0.1)
    plan = solve(programme, solver=solver)
    assert plan.verdict == "proven"
    rng = np.random.default_rng(0)
    dies = [o.name for o in programme.options if o.is_die]
    for _ in range(20):
        picked = set(rng.choice(dies, size=int(rng.integers(0, 12)), replace=False))
        best = [
            {n: c for n, c in r.modes[0].costs.items() if n in picked or n == "bought"}
            for r in programme.rows
        ]
        first: dict[str, int] = {}
        total = 0.0
        for row, costs in zip(programme.rows, best, strict=True):
            name = min(costs, key=lambda n: costs[n])
            for year, wheels in row.volumes.items():
                total += wheels * costs[name] / 1.1 ** (year - 2030)
                if name != "bought":
                    first[name] = min(year, first.get(name, year))
        # Half a year before use, half at use.
        total += sum(50_000.0 * (1.1 ** (2030 - y) + 1.1 ** (2031 - y)) for y in first.values())
        assert total >= plan.cost - 1e-6
    # The chosen set, added in the same way, is the plan: the sums above are not idle.
    assert added(programme, plan)[0] == pytest.approx(plan.cost, rel=1e-12)


@pytest.mark.parametrize("seed", range(6))
def test_the_search_begins_with_a_plan_that_holds_and_is_not_better_than_the_best(
    seed: int, solver: Solver
) -> None:
    programme = family(seed, 15, 30, years=2)
    model = Model(Supply(programme))
    begun = start(model)
    assert begun is not None
    problem = model.problem(model.cost)
    rows = np.zeros((problem.low.size, begun.size))
    for i, (first, last) in enumerate(itertools.pairwise(problem.starts)):
        rows[i, problem.columns[first:last]] = problem.data[first:last]
    assert (rows @ begun >= problem.low - 1e-9).all()
    assert (rows @ begun <= problem.high + 1e-9).all()
    best = solve(programme, solver=solver).cost
    assert best - 1e-6 <= float(problem.objective @ begun) <= 1.1 * best
    # Outside the plain case there is none.
    assert start(Model(Supply(replace(programme, limits=Limits(most_dies=3))))) is None

"""How long the die programme takes; budget: 60 x 200 in 1 s proven, 300 x 2000 in 60 s with the gap shown."""

import statistics
from collections.abc import Callable

import pytest

from app.studies.programme.highs import Solver
from app.studies.programme.inputs import Programme
from app.studies.programme.solve import solve
from tests.support.roadmaps import family, scattered

pytestmark = pytest.mark.timing

_Make = Callable[..., Programme]


@pytest.mark.parametrize("make", [family, scattered])
@pytest.mark.parametrize(("years", "rate"), [(1, 0.0), (6, 0.0), (6, 0.1)])
def test_sixty_rows_and_two_hundred_dies(make: _Make, years: int, rate: float) -> None:
    with Solver() as solver:
        solve(make(0, 6, 20), solver=solver)
        plans = [
            solve(make(seed, 60, 200, years, rate), solver=solver, most_runners_up=0, time_limit_s=60.0)
            for seed in range(5)
        ]
    taken = sorted(plan.elapsed_s for plan in plans)
    print(
        f"\n{make.__name__}, {years} years at {rate:.0%}: median {statistics.median(taken):.2f} s, "
        f"most {taken[-1]:.2f} s, {sum(p.verdict == 'proven' for p in plans)} of 5 proven"
    )
    assert {plan.verdict for plan in plans} <= {"proven", "gap left", "nothing found"}


@pytest.mark.parametrize("make", [family, scattered])
def test_three_hundred_rows_and_two_thousand_dies(make: _Make) -> None:
    with Solver() as solver:
        plans = [
            solve(make(s, 300, 2000), solver=solver, most_runners_up=0, time_limit_s=60.0) for s in range(2)
        ]
    for plan in plans:
        print(
            f"\n{make.__name__}: {plan.verdict}, {plan.elapsed_s:.1f} s, {plan.dies} dies, gap {plan.gap:.3%}"
        )
    assert {plan.verdict for plan in plans} <= {"proven", "gap left", "nothing found"}

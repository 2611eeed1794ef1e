"""Plans whose answer can be worked out by hand."""

import math
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import pytest

from app.studies.programme.highs import CancelledError, Progress, Solver
from app.studies.programme.inputs import (
    Holder,
    Kind,
    Limits,
    Mode,
    Option,
    Payment,
    PriceStep,
    Programme,
    Question,
    Row,
)
from app.studies.programme.solve import solve
from app.studies.programme.worth import cost_curve, die_worths, without_option
from geometry.shape.blank import BlankState
from tests.support.programme_sums import added
from tests.support.roadmaps import scattered


@pytest.fixture(scope="module")
def solver() -> Iterator[Solver]:
    with Solver(own_process=False) as running:
        yield running


def steady(
    name: str, wheels: float, years: int, costs: dict[str, float], contribution: float = 0.0, **more: bool
) -> Row:
    """A row with the same wheels from 2031 on."""
    volumes = dict.fromkeys(range(2031, 2031 + years), wheels)
    return Row(name, volumes, (Mode(costs, contribution),), **more)


def one_die(contribution: float) -> Programme:
    """Practice 23: 100,000 paid a year before the first of six years of 120 wheels, at 10 %."""
    return Programme(
        (steady("narrow 18", 120.0, 6, {"D": 0.0}, contribution, is_must=False),),
        (Option("D", fixed=100_000.0, payments=(Payment(1.0, 1),), lead_years=1.0),),
        question=Question.GREATEST_VALUE,
        rate=0.10,
        base_year=2030,
    )


def test_a_want_row_pays_a_die_from_its_closed_contribution(solver: Solver) -> None:
    # 100,000 x A/P(10 %, 6) / 120 = 191.34 (practice 23).
    plan = solve(one_die(191.35), solver=solver)
    assert (plan.verdict, plan.opened, plan.refused) == ("proven", ("D",), ())
    assert 0.0 < plan.value < 10.0
    assert plan.years[0].year == 2030
    assert plan.years[0].dies == 100_000.0
    assert plan.commitments[0].latest_order == 2030.0


def test_below_it_the_row_is_refused_and_said_so(solver: Solver) -> None:
    plan = solve(one_die(191.33), solver=solver)
    assert (plan.verdict, plan.opened, plan.value) == ("proven", (), 0.0)
    (refusal,) = plan.refused
    assert (refusal.row, refusal.option) == ("narrow 18", "D")
    assert refusal.cost == pytest.approx(100_000.0)
    # 191.33 x 120 x P/A(10 %, 6), P/A = 4.355261 by the formula tables.
    assert refusal.contribution == pytest.approx(191.33 * 120 * 4.355261, rel=1e-6)
    assert refusal.why == (
        "'D', 100,000 to be paid once, is not paid by 99,995 of contribution less 0 of blanks and machining"
    )


def shared_holder(rows: str) -> Programme:
    """Two blanks of one diameter: 60,000 for the holder, 20,000 for each insert; each row brings 70,000."""
    return Programme(
        tuple(steady(r, 100.0, 1, {f"die {r}": 0.0}, 700.0, is_must=False) for r in rows),
        tuple(Option(f"die {r}", fixed=20_000.0, holder="19 inch") for r in rows),
        (Holder("19 inch", 60_000.0),),
        question=Question.GREATEST_VALUE,
    )


def test_two_blanks_share_a_holder_where_each_alone_would_not_pay(solver: Solver) -> None:
    # Practice 25. Alone 70 - 80 < 0, together 140 - 100 > 0.
    for alone in "ab":
        plan = solve(shared_holder(alone), solver=solver)
        assert (plan.opened, plan.holders, plan.value) == ((), (), 0.0)
        assert "80,000 to be paid once" in plan.refused[0].why
    both = solve(shared_holder("ab"), solver=solver)
    assert (both.opened, both.holders, both.value) == (("die a", "die b"), (("19 inch", 2031),), 40_000.0)


def test_a_variant_needs_its_die_and_pays_no_second_one(solver: Solver) -> None:
    rows = (steady("a", 10.0, 1, {"D": 0.0}), steady("b", 10.0, 1, {"V": 0.0, "E": 0.0}))
    options = (
        Option("D", fixed=100_000.0),
        Option("V", Kind.VARIANT, fixed=15_000.0, variant_of="D"),
        Option("E", fixed=90_000.0),
    )
    plan = solve(Programme(rows, options), solver=solver)
    assert (plan.opened, plan.cost, plan.dies) == (("D", "V"), 115_000.0, 1)
    # Without rows of its own, the variant still brings its die.
    plan = solve(Programme(rows[1:], (*options[:2], replace(options[2], fixed=120_000.0))), solver=solver)
    assert (plan.opened, plan.cost) == (("D", "V"), 115_000.0)
    gone = without_option(Programme(rows, options), "D")
    assert [o.name for o in gone.options] == ["E"]


def test_bought_first_and_forged_when_the_die_can_be_there(solver: Solver) -> None:
    options = (
        Option("bought", Kind.BOUGHT, price=500.0, state=BlankState.PROVED),
        Option("D", price=300.0, fixed=50_000.0, lead_years=1.5),
    )
    row = steady("r", 200.0, 4, {"bought": 0.0, "D": 0.0})
    plan = solve(Programme((row,), options, base_year=2031), solver=solver)
    assert [s.option for s in plan.served] == ["bought", "bought", "D", "D"]
    assert plan.cost == 2 * 200 * 500 + 2 * 200 * 300 + 50_000
    assert (plan.commitments[0].year, plan.commitments[0].latest_order) == (2033, 2031.5)
    assert plan.hanging == ("r",)


def test_a_die_is_discounted_from_the_year_of_its_need_and_paid_by_steps(solver: Solver) -> None:
    row = Row("r", {2030: 0.0, 2034: 10.0}, (Mode({"D": 0.0}),))
    steps = (Payment(0.3, 2), Payment(0.5, 1), Payment(0.2, 0))
    option = Option("D", fixed=100_000.0, payments=steps, lead_years=2.0)
    plan = solve(Programme((row,), (option,), rate=0.1, base_year=2030), solver=solver)
    assert [(y.year, y.dies) for y in plan.years] == [(2032, 30_000.0), (2033, 50_000.0), (2034, 20_000.0)]
    assert plan.cost == pytest.approx(30_000 / 1.1**2 + 50_000 / 1.1**3 + 20_000 / 1.1**4)


def test_runs_are_pooled(solver: Solver) -> None:
    # Practice 24: three half-used dies lose to one. Each row's own blank is 20 a wheel cheaper, a run 6,500.
    rows = tuple(steady(r, 60.0, 1, {"own " + r: 0.0, "common": 20.0}) for r in "abc")
    names = ["own a", "own b", "own c", "common"]
    plan = solve(Programme(rows, tuple(Option(n, price=300.0, set_up=6_500.0) for n in names)), solver=solver)
    assert plan.opened == ("common",)
    assert plan.cost == 180 * 320 + 6_500
    # p-median cannot see it: without set-ups each row takes its own.
    apart = solve(Programme(rows, tuple(Option(n, price=300.0) for n in names)), solver=solver)
    assert apart.opened == ("own a", "own b", "own c")


def test_what_a_least_run_leaves_over_is_paid(solver: Solver) -> None:
    row = steady("r", 60.0, 1, {"D": 0.0, "bought": 0.0})
    options = (
        Option(
            "D", price=300.0, least_run=150.0, left_over_cost=100.0, hours_per_piece=0.1, hours_per_run=8.0
        ),
        Option("bought", Kind.BOUGHT, price=460.0),
    )
    plan = solve(Programme((row,), options), solver=solver)
    # 60 x 300 + 90 x 100 = 27,000 < 60 x 460 = 27,600.
    assert (plan.cost, plan.orders[0].left_over, plan.years[0].left_over) == (27_000.0, 90.0, 9_000.0)
    assert plan.orders[0].press_hours == pytest.approx(8.0 + 15.0)
    dearer = (replace(options[0], left_over_cost=None), options[1])
    assert solve(Programme((row,), dearer), solver=solver).cost == 27_600.0


def test_more_is_ordered_than_used_where_a_price_step_pays_it(solver: Solver) -> None:
    option = Option("b", Kind.BOUGHT, price=400.0, steps=(PriceStep(100.0, 300.0), PriceStep(1000.0, 250.0)))
    for wheels, cost in ((70.0, 28_000.0), (90.0, 30_000.0), (120.0, 36_000.0), (900.0, 250_000.0)):
        plan = solve(Programme((steady("r", wheels, 1, {"b": 0.0}),), (option,)), solver=solver)
        assert plan.verdict == "proven"
        assert plan.cost == pytest.approx(cost)


def test_a_compromise_is_sold_where_the_whole_does_not_pay(solver: Solver) -> None:
    modes = (
        Mode({"D": 0.0}, 400.0),
        Mode({"bought": 0.0}, 300.0, "half an inch narrower", 0.7, is_compromise=True),
    )
    row = Row("r", {2031: 100.0}, modes, is_must=False)
    options = (Option("D", fixed=30_000.0), Option("bought", Kind.BOUGHT, price=100.0))
    plan = solve(Programme((row,), options, question=Question.GREATEST_VALUE), solver=solver)
    # In full 40,000 - 30,000; by compromise 70 x 200.
    assert (plan.value, plan.served[0].mode, plan.served[0].wheels) == (
        14_000.0,
        "half an inch narrower",
        70.0,
    )
    # Least cost serves must rows in full.
    must = solve(Programme((replace(row, is_must=True),), options), solver=solver)
    assert (must.cost, must.served[0].mode) == (30_000.0, "in full")
    none = (replace(row, is_must=True, modes=modes[1:]),)
    assert solve(Programme(none, options), solver=solver).uncovered[0].why == (
        "no blank serves it in full; by compromise only: half an inch narrower"
    )


TWO = (
    steady("a", 10.0, 2, {"A": 0.0, "AB": 5.0}),
    steady("b", 10.0, 2, {"B": 0.0, "AB": 5.0}),
    steady("c", 10.0, 2, {"C": 0.0}),
)
FOUR = (
    Option("A", fixed=40_000.0),
    Option("B", fixed=40_000.0),
    Option("AB", fixed=90_000.0),
    Option("C", fixed=30_000.0),
)


@pytest.mark.parametrize(
    ("limits", "why"),
    [
        (
            Limits(budget=100_000.0),
            "the must rows need 110,000.00 to be paid once at least, "
            "10,000.00 more than the budget of 100,000.00",
        ),
        (
            Limits(budget_by_year={2031: 100_000.0}),
            "the must rows need 110,000.00 to be paid once in 2031, "
            "10,000.00 more than its budget of 100,000.00",
        ),
        (Limits(most_dies=1), "the must rows need 2 new dies at least, 1 is allowed"),
    ],
)
def test_limits_that_no_plan_keeps_say_by_how_much(limits: Limits, why: str, solver: Solver) -> None:
    plan = solve(Programme(TWO, FOUR, limits=limits), solver=solver)
    assert (plan.verdict, plan.impossible) == ("impossible", (why,))
    assert not plan.is_found
    assert math.isnan(plan.cost)


def test_the_year_and_the_money_that_is_missing_are_named(solver: Solver) -> None:
    """Halves a year before and at first use: 20 short in 2030, 35 in 2031, the whole budget large enough."""
    row = Row("a", {2031: 10.0}, (Mode({"die": 0.0}),))
    halves = (Payment(0.5, 1), Payment(0.5, 0))
    option = Option("die", fixed=100.0, payments=halves, lead_years=1.0)
    limits = Limits(budget=1000.0, budget_by_year={2030: 30.0, 2031: 15.0, 2032: 500.0})
    plan = solve(Programme((row,), (option,), limits=limits, base_year=2030), solver=solver)
    assert plan.impossible == (
        "the must rows need 55.00 more than budget in all at least, for one: 50.00 to be paid once in 2030, "
        "20.00 more than its budget of 30.00; 50.00 to be paid once in 2031, 35.00 more than its budget of "
        "15.00",
    )


def test_limits_that_only_give_way_together(solver: Solver) -> None:
    plan = solve(Programme(TWO, FOUR, limits=Limits(most_dies=1, budget=50_000.0)), solver=solver)
    assert plan.impossible == ("no plan keeps all limits together: number of dies, budget",)


def test_press_hours(solver: Solver) -> None:
    row = steady("r", 100.0, 1, {"D": 0.0, "bought": 0.0})
    die = Option("D", price=300.0, hours_per_piece=0.1, hours_per_run=4.0)
    bought = Option("bought", Kind.BOUGHT, price=400.0)
    plan = solve(Programme((row,), (die, bought), limits=Limits(press_hours={2031: 10.0})), solver=solver)
    # 10 hours less 4 for the run: 60 pieces.
    assert {s.option: s.wheels for s in plan.served} == pytest.approx({"D": 60.0, "bought": 40.0})
    # A want row is served in part by blanks that alone are dearer than what it brings: 60 x 300 + 40 x 600.
    want = steady("r", 100.0, 1, {"D": 0.0, "bought": 200.0}, 500.0, is_must=False)
    asked = Programme(
        (want,), (die, bought), limits=Limits(press_hours={2031: 10.0}), question=Question.GREATEST_VALUE
    )
    assert solve(asked, solver=solver).value == pytest.approx(50_000.0 - 42_000.0)
    alone = Programme((steady("r", 100.0, 1, {"D": 0.0}),), (die,), limits=Limits(press_hours={2031: 10.0}))
    assert solve(alone, solver=solver).impossible == (
        "the must rows need 14.0 hours of the press in 2031, 4.0 more than the 10.0 there are",
    )


def test_a_budget_by_year_spreads_the_dies(solver: Solver) -> None:
    rows = (
        steady("a", 100.0, 2, {"A": 0.0, "bought": 300.0}),
        steady("b", 100.0, 2, {"B": 0.0, "bought": 300.0}),
    )
    options = (Option("A", fixed=40_000.0), Option("B", fixed=40_000.0), Option("bought", Kind.BOUGHT))
    free = solve(Programme(rows, options), solver=solver)
    assert (free.cost, [c.year for c in free.commitments]) == (80_000.0, [2031, 2031])
    tight = solve(Programme(rows, options, limits=Limits(budget_by_year={2031: 50_000.0})), solver=solver)
    # One die in 2031; the other row buys for 30,000 in each year, or its die follows: 30,000 + 40,000.
    assert (tight.cost, len(tight.commitments)) == (100_000.0, 1)
    assert all(y.invested <= 50_000.0 for y in tight.years if y.year == 2031)
    assert (
        added(Programme(rows, options, limits=Limits(budget_by_year={2031: 50_000.0})), tight)[0]
        == tight.cost
    )


def test_rows_that_wait_for_every_option_say_for_which(solver: Solver) -> None:
    row = steady("r", 10.0, 3, {"D": 0.0, "E": 0.0})
    options = (Option("D", lead_years=3.0), Option("E", earliest=2032))
    plan = solve(Programme((row,), options, base_year=2031), solver=solver)
    assert plan.must_uncovered == ("r",)
    assert (
        plan.uncovered[0].why
        == "nothing serves it in 2031: the first that could, 'E', is not there before 2032"
    )


def test_most_cover_within_a_budget(solver: Solver) -> None:
    rows = (
        steady("must", 5.0, 1, {"M": 0.0}),
        steady("a", 60.0, 1, {"A": 0.0, "AB": 0.0}, is_must=False),
        steady("b", 50.0, 1, {"B": 0.0, "AB": 0.0}, is_must=False),
        steady("c", 70.0, 1, {"C": 0.0}, is_must=False),
    )
    options = tuple(
        Option(n, fixed=f) for n, f in (("M", 30.0), ("A", 10.0), ("B", 10.0), ("AB", 25.0), ("C", 20.0))
    )
    # Must rows first (30), then the most wheels of all: with 19 left a alone, with 30 a and c (130) before a
    # and b (110); with 20 the must row is out of reach, and a and b (110) go before c (70).
    for budget, opened, left in (
        (20.0, ("A", "B"), ("c", "must")),
        (49.0, ("A", "M"), ("b", "c")),
        (60.0, ("A", "C", "M"), ("b",)),
        (70.0, ("A", "B", "C", "M"), ()),
    ):
        asked = Programme(rows, options, limits=Limits(budget=budget), question=Question.BEST_COVER)
        plan = solve(asked, solver=solver)
        assert (plan.verdict, plan.opened, plan.left) == ("proven", opened, left)


def test_the_cost_curve_ends_where_more_dies_change_nothing(solver: Solver) -> None:
    rows = tuple(steady(r, 100.0, 1, {r: 0.0, "bought": 300.0}) for r in "abc")
    options = (*(Option(r, fixed=f) for r, f in (("a", 10_000.0), ("b", 20_000.0), ("c", 40_000.0))),)
    programme = Programme(rows, (*options, Option("bought", Kind.BOUGHT)))
    curve = cost_curve(programme, solver=solver)
    assert [p.cost for p in curve] == [90_000.0, 70_000.0, 60_000.0, 60_000.0]
    assert [p.dies for p in curve] == [0, 1, 2, 2]
    covers = cost_curve(Programme(TWO, FOUR), solver=solver)
    assert [p.verdict for p in covers[:3]] == ["impossible", "impossible", "proven"]
    assert [p.cost for p in covers[2:]] == [120_200.0, 110_000.0, 110_000.0]


def test_what_a_die_is_worth(solver: Solver) -> None:
    rows = (steady("a", 100.0, 1, {"A": 0.0, "bought": 300.0}), steady("b", 10.0, 1, {"B": 0.0}))
    options = (Option("A", fixed=10_000.0), Option("B", fixed=5_000.0), Option("bought", Kind.BOUGHT))
    programme = Programme(rows, options)
    worths = die_worths(programme, solve(programme, solver=solver), solver=solver)
    assert [(w.option, w.worth, w.orphans) for w in worths] == [("B", None, ("b",)), ("A", 20_000.0, ())]


def test_ties_and_near_ties(solver: Solver) -> None:
    rows = (steady("r", 1.0, 1, dict.fromkeys("zyx", 0.0)),)
    options = (Option("z", fixed=100_000.0), Option("y", fixed=100_000.0), Option("x", fixed=100_090.0))
    plan = solve(Programme(rows, options), solver=solver)
    assert plan.opened == ("y",)
    assert [(r.opened, r.dearer, r.is_tie) for r in plan.runners_up] == [
        (("z",), 0.0, True),
        (("x",), 90.0, False),
    ]
    assert plan.all_runners_up


def test_nothing_to_plan(solver: Solver) -> None:
    for question in Question:
        plan = solve(Programme((), (), question=question), solver=solver)
        assert (plan.verdict, plan.cost, plan.served) == ("proven", 0.0, ())
        only = solve(Programme((steady("r", 1.0, 1, {}),), (), question=question), solver=solver)
        assert (only.must_uncovered, only.served) == (("r",), ())


def test_the_time_limit_leaves_a_plan_with_its_gap() -> None:
    told: list[Progress] = []
    plan = solve(scattered(0, 90, 300), time_limit_s=4.0, progress=told.append)
    assert plan.verdict == "gap left"
    assert plan.bound < plan.objective
    assert 0.0 < plan.gap < 0.5
    assert any(p.best is not None and p.bound is not None for p in told)
    assert all(a.elapsed_s <= b.elapsed_s for a, b in pairwise(told))


def test_a_search_is_stopped_at_once() -> None:
    start = time.monotonic()
    with pytest.raises(CancelledError):
        solve(scattered(0, 90, 300), time_limit_s=60.0, cancelled=lambda: time.monotonic() > start + 2.0)
    assert time.monotonic() - start < 20.0


def test_the_optimiser_is_loaded_on_first_use_only() -> None:
    code = "import sys, app.studies.programme.worth; print('scipy.optimize' in sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "False"

"""Regret and changed inputs against sums by hand and against plain enumeration.

DIES-6: checks.md 49, whose dies and prices are typed in again here.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest

from app.studies.executor import CORES, SERIAL, opened
from app.studies.programme.inputs import Kind, Limits, Mode, Option, Payment, Programme, Question, Row
from app.studies.programme.solve import solve
from app.studies.programme.worth import without_option
from app.studies.roadmap.late import late_die, late_dies
from app.studies.roadmap.risk import (
    Candidate,
    Scenario,
    committed,
    regrets,
    scaled_dies,
    scaled_volumes,
    sensitivity,
)
from app.studies.roadmap.scenarios import _dated
from tests.support.roadmaps import family

pytestmark = pytest.mark.usefixtures("solved_here")

VOLUMES = {"F1": 60.0, "F2": 120.0, "F3": 200.0, "F4": 150.0, "F5": 90.0, "F6": 50.0}
DIES = {
    "D1": ("F1 F2", 100_000.0, 300.0),
    "D2": ("F2 F3", 100_000.0, 310.0),
    "D3": ("F3 F4 F5", 110_000.0, 340.0),
    "D4": ("F5 F6", 100_000.0, 360.0),
    "D5": ("F1 F2 F3 F4", 130_000.0, 345.0),
}
BOUGHT = {"X1": ("F1 F2 F3", 420.0), "X2": ("F4 F5", 520.0), "X3": ("F6", 900.0)}
YEARS = 2


def dies() -> Programme:
    rows = tuple(
        Row(
            row,
            dict.fromkeys(range(2030, 2030 + YEARS), wheels),
            (Mode({n: 0.0 for n, t in (DIES | BOUGHT).items() if row in t[0].split()}),),
        )
        for row, wheels in VOLUMES.items()
    )
    own = [Option(n, fixed=fixed, price=unit) for n, (_, fixed, unit) in DIES.items()]
    bought = [Option(n, Kind.BOUGHT, price=unit) for n, (_, unit) in BOUGHT.items()]
    return Programme(rows, (*own, *bought))


def by_hand(chosen: tuple[str, ...], demand: float, dies_times: float, gone: str = "") -> float | None:
    """Cost of a set of dies with everything else as it must be; None where a row is left."""
    cost = sum(DIES[n][1] for n in chosen) * dies_times
    units = [(DIES[n][0], DIES[n][2]) for n in chosen] + [t for n, t in BOUGHT.items() if n != gone]
    for row, wheels in VOLUMES.items():
        prices = [unit for rows, unit in units if row in rows.split()]
        if not prices:
            return None
        cost += wheels * demand * YEARS * min(prices)
    return cost


CASES = {
    "expected": (1.0, 1.0, ""),
    "halves": (0.5, 1.0, ""),
    "double": (2.0, 1.0, ""),
    "dear": (1.0, 1.5, ""),
}


def test_regrets_are_those_of_plain_enumeration() -> None:
    base = dies()
    scenarios = [
        Scenario(name, "", scaled_dies(scaled_volumes(base, demand), dear))
        for name, (demand, dear, _) in CASES.items()
    ]
    with opened() as executor:
        found = regrets(scenarios, executor)
    sets = [s for n in range(6) for s in itertools.combinations(DIES, n)]
    best = {}
    for (name, case), plan in zip(CASES.items(), found.best, strict=True):
        costs = [c for s in sets if (c := by_hand(s, *case)) is not None]
        best[name] = min(costs)
        assert plan.verdict == "proven"
        assert plan.cost == pytest.approx(best[name])
    assert len(found.candidates) > 1
    for row in found.candidates:
        chosen = tuple(name for name, _ in row.candidate.opened)
        for outcome, (name, case) in zip(row.outcomes, CASES.items(), strict=True):
            cost = by_hand(chosen, *case)
            assert cost is not None
            assert outcome.objective == pytest.approx(cost)
            assert outcome.regret == pytest.approx(cost - best[name], abs=1e-4)
    greatest = [row.greatest for row in found.candidates]
    assert greatest == sorted(greatest, key=lambda x: math.inf if x is None else x)
    least = found.least_bad
    assert least is not None
    assert least.greatest == min(x for x in greatest if x is not None)


def test_two_rows_by_hand() -> None:
    # 200 wheels: die 1000 + 200 x 10 = 3000, bought 200 x 25 = 5000. A quarter of them: 1500 against 1250.
    costs = Mode({"die": 0.0, "bought": 0.0})
    rows = tuple(Row(name, {2030: 100.0}, (costs,)) for name in "ab")
    options = (Option("die", fixed=1000.0, price=10.0), Option("bought", Kind.BOUGHT, price=25.0))
    base = Programme(rows, options)
    scenarios = [Scenario("expected", "", base), Scenario("a quarter", "", scaled_volumes(base, 0.25))]
    with opened() as executor:
        found = regrets(scenarios, executor)
        stops = regrets(
            [*scenarios, Scenario("supplier stops", "", without_option(base, "bought"))], executor
        )
    assert [(c.candidate.opened, [o.regret for o in c.outcomes]) for c in found.candidates] == [
        ((("die", 2030),), [0.0, pytest.approx(250.0)]),
        ((), [pytest.approx(2000.0), 0.0]),
    ]
    last = stops.candidates[-1]
    assert last.candidate.opened == ()
    assert last.outcomes[-1].unserved == ("a", "b")
    assert last.outcomes[-1].regret is None
    assert last.greatest is None
    assert last.worst is last.outcomes[-1]


def test_a_die_with_which_nothing_can_be_cut_any_more_is_paid_all_the_same() -> None:
    rows = (Row("a", {2030: 100.0}, (Mode({"die": 0.0}),)),)
    base = Programme(rows, (Option("die", fixed=1000.0, price=10.0),))
    with opened() as executor:
        found = regrets(
            [Scenario("expected", "", base), Scenario("brake", "", without_option(base, "die"))], executor
        )
    (die,) = [c for c in found.candidates if c.candidate.opened]
    assert found.best[1].must_uncovered == ("a",)
    assert [o.regret for o in die.outcomes] == [0.0, pytest.approx(1000.0)]


@pytest.mark.parametrize("seed", range(6))
def test_no_candidate_beats_the_proven_best(seed: int) -> None:
    base = family(seed, rows=12, dies=10, years=4, rate=0.08)
    scenarios = [
        Scenario("expected", "", base),
        Scenario("halves", "", scaled_volumes(base, 0.5)),
        Scenario("double", "", scaled_volumes(base, 2.0)),
        Scenario("cheap dies", "", scaled_dies(base, 0.3)),
    ]
    with opened() as executor:
        found = regrets(scenarios, executor)
    for row in found.candidates:
        for outcome, best in zip(row.outcomes, found.best, strict=True):
            assert outcome.regret is not None
            assert outcome.regret >= 0.0
            assert outcome.objective is not None
            assert outcome.objective >= best.objective - 1e-6 * abs(best.objective)
    for k, scenario in enumerate(scenarios):
        own = [c for c in found.candidates if scenario.name in c.candidate.names]
        assert [c.outcomes[k].regret for c in own] == [0.0]


def test_all_cores_give_the_same_table() -> None:
    base = dies()
    scenarios = [Scenario("expected", "", base), Scenario("halves", "", scaled_volumes(base, 0.5))]
    tables = []
    for where in (SERIAL, CORES):
        with opened(where, 2) as executor:
            tables.append(regrets(scenarios, executor).candidates)
    assert tables[0] == tables[1]


@pytest.mark.long
def test_a_cluster_gives_the_same_table() -> None:
    distributed = pytest.importorskip("distributed", reason="Dask (extra cluster) is not installed")
    base = dies()
    scenarios = [Scenario("expected", "", base), Scenario("halves", "", scaled_volumes(base, 0.5))]
    cluster = distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, host="127.0.0.1", dashboard_address=None
    )
    with cluster, opened(cluster.scheduler_address) as there, opened() as here:
        assert regrets(scenarios, there).candidates == regrets(scenarios, here).candidates


def test_what_is_committed_is_paid_in_its_years() -> None:
    # Half a year before, half at first use in 2031, at 10 % from 2030: 500 + 500 / 1.1.
    option = Option(
        "die", fixed=1000.0, payments=(Payment(0.5, 1), Payment(0.5, 0)), lead_years=1.0, price=1.0
    )
    row = Row("a", {2031: 10.0}, (Mode({"die": 0.0}),))
    asked = Programme((row,), (option,), rate=0.1, base_year=2030)
    free, sunk = committed(asked, Candidate(("x",), (("die", 2031),), ()))
    assert sunk == pytest.approx(500.0 + 500.0 / 1.1)
    assert solve(free).cost == pytest.approx(10.0 / 1.1)
    assert solve(asked).cost == pytest.approx(sunk + 10.0 / 1.1)
    nothing, none = committed(asked, Candidate(("x",), (), ()))
    assert none == 0.0
    assert solve(nothing).must_uncovered == ("a",)


def two_dies() -> Programme:
    """Row a from 2030 by die A, row b from 2033 by die B or bought; each die is ordered a year before."""
    rows = (
        Row("a", {2030: 100.0}, (Mode({"A": 0.0}),)),
        Row("b", {2033: 100.0}, (Mode({"B": 0.0, "bought": 0.0}),)),
    )
    halves = (Payment(0.5, 1), Payment(0.5, 0))
    dies = [
        Option(n, fixed=1000.0, price=10.0, payments=halves, lead_years=1.0, earliest=first)
        for n, first in (("A", 2030), ("B", 2031))
    ]
    return Programme(rows, (*dies, Option("bought", Kind.BOUGHT, price=25.0)), base_year=2029)


def test_what_is_not_ordered_when_it_is_known_may_change() -> None:
    base = two_dies()
    signed = Candidate(("x",), (("A", 2030), ("B", 2033)), ())
    # Half the wheels: B, 1000 and 500, is then dearer than 1250 bought; A is ordered by 2029.
    halved = scaled_volumes(base, 0.5)
    costs = {}
    for known in (None, 2029.5, 2031.0, 2032.5):
        asked, sunk = committed(halved, signed, None, known)
        costs[known] = sunk + solve(asked).objective
    all_signed = 1000.0 + 500.0 + 1000.0 + 500.0
    assert costs[None] == pytest.approx(all_signed)
    assert costs[2032.5] == pytest.approx(all_signed)
    for known in (2029.5, 2031.0):
        assert costs[known] == pytest.approx(1000.0 + 500.0 + 1250.0)


def test_a_supplier_that_stops_leaves_time_to_order_a_die_where_it_is_known_early() -> None:
    base = two_dies()
    stops = without_option(base, "bought")
    only = Candidate(("x",), (("A", 2030),), ())
    for known, unserved in ((None, ("b",)), (2031.0, ()), (2032.5, ("b",))):
        # Ordered in the middle of 2032, B is there in the middle of 2033: from 2034.
        with opened() as executor:
            found = regrets(
                [Scenario("as expected", "", base), Scenario("stops", "", stops, known=known)],
                executor,
                also=[("x", solve(without_option(base, "B")))],
            )
        (row,) = [c for c in found.candidates if c.candidate.opened == only.opened]
        assert row.outcomes[1].unserved == unserved, known
        if not unserved:
            assert row.outcomes[1].regret == 0.0


def test_limits_of_what_is_still_to_be_chosen() -> None:
    base = replace(
        two_dies(), limits=Limits(most_dies=2, budget=2500.0, budget_by_year={2032: 900.0, 2029: 600.0})
    )
    asked, sunk = committed(base, Candidate(("x",), (("A", 2030),), ()), None, 2031.0)
    assert sunk == 1000.0
    assert asked.limits == Limits(most_dies=1, budget=1500.0, budget_by_year={2032: 900.0, 2029: 100.0})
    free, _ = committed(base, Candidate(("x",), (("A", 2030),), ()))
    assert free.limits == Limits(most_dies=1)


def test_a_late_die_is_known_by_its_season() -> None:
    plan = solve(scaled_volumes(two_dies(), 2.0))
    found = late_dies(two_dies(), plan, 1)
    assert {(s.name, s.known) for s in found} == {("A late by a year", 2030.0), ("B late by a year", 2033.0)}
    assert found[0].fixed_words.startswith("Known from 2030: tools ordered before stay and are paid")
    assert "ordered before it is known" in Scenario("x", "", two_dies()).fixed_words


def test_a_late_die_loses_the_season_and_not_only_moves_it() -> None:
    # 100 wheels a year at 30 of contribution; the die 1000, 10 a piece. Its first season is lost: 3000.
    row = Row("a", {2030: 100.0, 2031: 100.0}, (Mode({"die": 0.0}, 30.0),))
    base = Programme((row,), (Option("die", fixed=1000.0, price=10.0),))
    late, lost = late_die(base, "die", 2030)
    assert lost == ("a",)
    assert solve(late).objective == pytest.approx(3000.0 + 1000.0 + 1000.0)
    value = replace(late, question=Question.GREATEST_VALUE)
    assert solve(value).value == pytest.approx(3000.0 - 1000.0 - 1000.0)
    # A bought blank at 25 saves the season for 2500.
    other = Mode({"die": 0.0, "bought": 0.0}, 30.0)
    base = Programme((replace(row, modes=(other,)),), (*base.options, Option("bought", Kind.BOUGHT, 25.0)))
    late, lost = late_die(base, "die", 2030)
    assert lost == ()
    assert solve(late).objective == pytest.approx(min(2500.0 + 1000.0 + 1000.0, 5000.0))


def test_a_must_row_loses_no_season_that_a_blank_at_hand_serves() -> None:
    """The bought blank at 45 loses 15 a wheel, yet a must row is served while it can be."""
    row = Row("a", {2030: 100.0, 2031: 100.0}, (Mode({"die": 0.0, "bought": 0.0}, 30.0),))
    options = (Option("die", fixed=1000.0, price=10.0), Option("bought", Kind.BOUGHT, 45.0))
    base = Programme((row,), options, question=Question.GREATEST_VALUE)
    late, lost = late_die(base, "die", 2030)
    assert lost == ()
    # 100 bought in 2030, 100 of the die in 2031: 200 x 30 - 4500 - 1000 - 1000.
    assert solve(late).value == pytest.approx(6000.0 - 4500.0 - 2000.0)
    # A want row loses the season rather: 100 x 30 - 1000 - 1000.
    wanted = replace(base, rows=(replace(row, is_must=False),))
    assert solve(late_die(wanted, "die", 2030)[0]).value == pytest.approx(3000.0 - 2000.0)


def test_a_row_of_a_variant_loses_the_season_of_its_late_die_and_no_more() -> None:
    row = Row("a", {2030: 100.0, 2031: 100.0}, (Mode({"variant": 0.0}, 30.0),))
    variant = Option("variant", Kind.VARIANT, price=10.0, variant_of="die", fixed=100.0)
    base = Programme((row,), (Option("die", fixed=1000.0), variant), question=Question.GREATEST_VALUE)
    late, lost = late_die(base, "die", 2030)
    assert lost == ("a",)
    plan = solve(late)
    assert plan.must_uncovered == ()
    assert plan.value == pytest.approx(3000.0 - 1000.0 - 1100.0)
    (found,) = [s for s in late_dies(base, solve(base), 1) if s.name.startswith("die ")]
    assert found.says.endswith("Without it lost for a season: a.")


def test_another_die_of_the_plan_saves_a_season() -> None:
    """A season that a die at hand only after it is paid would save is lost; one of the plan's own is not."""
    row = Row("a", {2030: 100.0, 2031: 100.0}, (Mode({"die": 0.0, "other": 9.0}, 30.0),))
    options = (Option("die", fixed=1000.0, price=10.0), Option("other", fixed=500.0, price=10.0))
    base = Programme((row,), options)
    assert late_die(base, "die", 2030)[1] == ("a",)
    assert late_die(base, "die", 2030, there={"other": 2030})[1] == ()
    assert late_die(base, "die", 2030, there={"other": 2031})[1] == ("a",)


def test_changed_inputs_by_hand() -> None:
    costs = Mode({"die": 0.0, "bought": 0.0})
    base = Programme(
        (Row("a", {2030: 100.0}, (costs,)),),
        (Option("die", fixed=1000.0, price=10.0), Option("bought", Kind.BOUGHT, price=22.0)),
    )
    plan = solve(base)
    assert plan.cost == pytest.approx(2000.0)
    with opened() as executor:
        found = {(s.words, round(s.factor, 2)): s for s in sensitivity(base, plan, executor)}
    # Dies 20 % dearer: 2200 either way, the plain tie of 1200 + 1000 and 2200.
    assert found["price of dies and holders", 1.2].change == pytest.approx(200.0)
    # 80 wheels: 1000 + 800 against 1760 bought.
    assert found["volumes", 0.8].change == pytest.approx(-240.0)
    assert not found["volumes", 0.8].is_same
    assert found["volumes", 1.2].is_same
    # All pieces 20 % cheaper: 1000 + 800 against 1760 bought.
    assert found["price of a piece", 0.8].opened == ()
    assert ("contribution a wheel", 0.8) not in found


def test_the_settings_say_when_it_is_known() -> None:
    """All scenarios but the expected one are dated; a late die keeps its own season where that is earlier."""
    base = two_dies()
    late = Scenario("late", "", base, known=2030.0)
    assert _dated(Scenario("x", "", base), 2031).known == 2031.0
    assert _dated(late, 2031).known == 2030.0
    assert _dated(late, 2029).known == 2029.0
    assert _dated(Scenario("x", "", base), None).known is None

"""Regret, changed inputs and the worth of a die against sums by hand and against plain enumeration.

DIES-6: checks.md 49, whose dies and prices are typed in again here. Metal: practice.md section 4, iii.
Break-even of a die: practice.md 23, a closed form.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from app.project.project import Project
from app.project.shop import ShopRates
from app.studies.executor import CORES, SERIAL, opened
from app.studies.programme.economics import NOT_BY_SAVING
from app.studies.programme.inputs import Kind, Limits, Mode, Option, Payment, Programme, Question, Row
from app.studies.programme.solve import solve
from app.studies.programme.worth import die_worths, without_option
from app.studies.roadmap.coverage import Coverage, CoverCell, CoverRow
from app.studies.roadmap.die_money import die_money
from app.studies.roadmap.late import late_die, late_dies
from app.studies.roadmap.need import NeedWheel
from app.studies.roadmap.risk import (
    Candidate,
    Scenario,
    committed,
    regrets,
    scaled_dies,
    scaled_volumes,
    sensitivity,
)
from app.studies.roadmap.scenarios import _dated, dearer_metal, grown, with_prices
from geometry.readings.rules import State
from geometry.shape.blank import Blank, Supply
from geometry.shape.curve import Path
from geometry.shape.outline import Corner, Extent, NamedOutline, StayOut, outline_path
from tests.support.roadmaps import family

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


def test_a_die_that_is_not_paid_by_cheaper_blanks() -> None:
    # practice.md 23: 100,000, 120 wheels a year for 6 years, 10 %: from 191.34 of contribution a wheel.
    row = Row("a", dict.fromkeys(range(2030, 2036), 120.0), (Mode({"die": 0.0}, 300.0),), is_must=False)
    asked = Programme((row,), (Option("die", fixed=100_000.0),), question=Question.GREATEST_VALUE, rate=0.10)
    plan = solve(asked)
    (found,) = die_money(asked, plan, die_worths(asked, plan))
    assert found.pays is not None
    assert found.pays.contribution == pytest.approx(191.34, abs=0.005)
    assert found.pays.wheels is None
    assert NOT_BY_SAVING in found.pays.words
    assert found.saving is None
    assert (found.wheels, found.own_wheels) == (120.0, 120.0)
    # 36,000 a year, the first in the year of the die: 36,000 x sum of 1.1 ** -k, k = 0 to 5, less 100,000.
    value = 36_000.0 * sum(1.1**-k for k in range(6)) - 100_000.0
    assert found.npv == pytest.approx(value)
    assert found.worth.worth == pytest.approx(value)
    # -64,000, then 32,727.3 and 29,752.1: paid back 0.0511 of a year after the second.
    assert found.payback == pytest.approx(2032.0 + (64_000.0 - 32_727.27 - 29_752.07) / 27_047.33, abs=1e-3)
    # At the end of 2032 it still lacks 1,520.7: the cash of 2033 pays it back.
    assert found.payback_year == 2033


def test_saving_against_the_bought_blank() -> None:
    row = Row("a", {2030: 50.0, 2031: 50.0}, (Mode({"die": 20.0, "bought": 5.0}),))
    asked = Programme(
        (row,),
        (
            Option("die", fixed=1000.0, price=10.0, set_up=100.0),
            Option("bought", Kind.BOUGHT, price=65.0),
        ),
    )
    plan = solve(asked)
    (found,) = die_money(asked, plan, die_worths(asked, plan))
    # Bought 70; own 30 and two set-ups of 100 over 100 wheels: saves 38. At no rate 1000 / 2 / 38 a year.
    assert found.saving == pytest.approx(38.0)
    assert found.own_wheels == 0.0
    assert found.pays is not None
    assert found.pays.wheels == pytest.approx(500.0 / 38.0)
    assert found.worth.worth == pytest.approx(7000.0 - 1000.0 - 3000.0 - 200.0)


def test_break_even_is_asked_against_what_else_would_serve_each_row() -> None:
    """A die that is paid, a bought blank, nothing: by hand, with the handbook's s of own against bought."""
    years = (2030, 2031)
    rows = (
        Row("a", dict.fromkeys(years, 100.0), (Mode({"new": 0.0, "there": 2.0}),)),
        Row("b", dict.fromkeys(years, 50.0), (Mode({"new": 0.0, "bought": 5.0}),)),
        Row("c", dict.fromkeys(years, 20.0), (Mode({"new": 0.0}),)),
    )
    options = (
        Option("new", fixed=1500.0, price=10.0),
        Option("there", price=12.0, set_up=100.0, is_there=True),
        Option("bought", Kind.BOUGHT, price=25.0),
        Option("dear", fixed=1e6),
    )
    asked = Programme(rows, options)
    plan = solve(asked)
    assert plan.opened == ("new",)
    (found,) = die_money(asked, plan, die_worths(asked, plan))
    # 200 wheels at 14 and two set-ups of 100 in place of 10; 100 at 30 in place of 10.
    saved = 200.0 * 4.0 + 200.0 + 100.0 * 20.0
    assert found.saving == pytest.approx(saved / 300.0)
    assert (found.wheels, found.own_wheels) == (170.0, 20.0)
    assert found.instead == (("bought", 50.0), ("there", 100.0))
    assert found.pays is not None
    assert found.pays.wheels == pytest.approx(1500.0 / 2.0 / 10.0)
    assert found.pays.contribution == pytest.approx(1500.0 / 2.0 / 20.0)
    assert "others would take" in found.words
    assert "bought 50, there 100" in found.words
    assert "20 wheels a year nothing else takes" in found.words
    assert "saves 10.00 a wheel" in found.words


def test_another_chosen_die_is_what_a_die_is_set_against() -> None:
    # Each die has a row of its own; B would also cut row 'a', 8 dearer a wheel.
    rows = (
        Row("a", {2030: 100.0}, (Mode({"A": 0.0, "B": 8.0, "bought": 60.0}),)),
        Row("b", {2030: 100.0}, (Mode({"B": 0.0}),)),
        Row("c", {2030: 10.0}, (Mode({"A": 0.0}),)),
    )
    options = (
        Option("A", fixed=500.0, price=10.0),
        Option("B", fixed=500.0, price=10.0),
        Option("bought", Kind.BOUGHT),
    )
    asked = Programme(rows, options)
    plan = solve(asked)
    assert plan.opened == ("A", "B")
    found = {m.option: m for m in die_money(asked, plan, die_worths(asked, plan))}
    assert found["A"].instead == (("B", 100.0),)
    assert found["A"].saving == pytest.approx(8.0)
    assert found["A"].own_wheels == 10.0
    assert (found["B"].saving, found["B"].own_wheels, found["B"].instead) == (None, 100.0, ())


def test_a_want_row_that_would_be_refused_is_the_dies_own() -> None:
    """Greatest value: the bought blank costs more than the row brings: without the die there is no wheel."""
    row = Row("a", {2030: 100.0}, (Mode({"die": 0.0, "bought": 0.0}, 40.0),), is_must=False)
    less = Row(
        "b",
        {2030: 100.0},
        (
            Mode({"die": 0.0}, 40.0),
            Mode({"bought": -30.0}, 40.0, "narrower", share=0.5, is_compromise=True),
        ),
    )
    options = (Option("die", fixed=1000.0, price=10.0), Option("bought", Kind.BOUGHT, price=50.0))
    asked = Programme((row, less), options, question=Question.GREATEST_VALUE)
    plan = solve(asked)
    (found,) = die_money(asked, plan, die_worths(asked, plan))
    assert found.own_wheels == 100.0
    # In full 100 at 30; by the compromise 50 at 40 - 20.
    assert found.instead == (("bought", 50.0),)
    assert found.saving == pytest.approx((3000.0 - 1000.0) / 100.0)


def cell(blank: str, blank_kg: float, wheel_kg: float) -> CoverCell:
    chips = blank_kg - wheel_kg
    return CoverCell(
        "a", blank, False, State.CLEAR, "", 1.0, 40.0, False, (), False, 80.0, 400.0, chips, wheel_kg
    )


def test_dearer_metal_is_that_of_practice() -> None:
    # practice.md 4, iii: metal +30 %, own blank of 54.5 kg: +63 net a wheel; of a wheel of 10.5 kg.
    square = (Corner(0.0, 0.0), Corner(10.0, 0.0), Corner(10.0, 10.0))
    project = Project("x", blanks=(Blank("own", square), Blank("bought", square, Supply.BOUGHT, price=400.0)))
    row = CoverRow(
        "a", False, NeedWheel(None, (), (), ()), None, (cell("own", 54.5, 10.5), cell("bought", 42.0, 10.5))
    )
    found = Coverage(("own", "bought"), (row,))
    for follow in ((), ("bought",)):
        changed, dearer = dearer_metal(project, found, 0.30, follow, ShopRates())
        own = changed.cell("a", "own")
        assert own.cost is not None
        assert dearer["own"] + own.cost - 80.0 == pytest.approx(63.0, abs=0.05)
        assert ("bought" in dearer) == bool(follow)
    priced = with_prices(
        Programme((), (Option("own", price=400.0, left_over_cost=260.0),)), {"own": 100.0}
    ).options[0]
    assert (priced.price, priced.left_over_cost) == (500.0, 325.0)


def brake(corners: tuple[Corner, ...]) -> StayOut:
    return StayOut("b", (NamedOutline("", corners),), extent=Extent(z_high=20.0, cut_r_high=110.0))


def test_a_brake_grows_out_and_outboard() -> None:
    square = tuple(Corner(z, r) for z, r in ((0.0, 100.0), (10.0, 100.0), (10.0, 110.0), (0.0, 110.0)))
    found = grown(brake(square), 5.0)
    ring = np.array([(c.z, c.r) for c in found.outlines[0].corners])
    assert ring.min(axis=0).tolist() == [0.0, 100.0]
    assert ring.max(axis=0).tolist() == [15.0, 115.0]
    assert shapely.Polygon(ring).area == pytest.approx(225.0)
    assert (found.extent.z_high, found.extent.cut_r_high) == (25.0, 115.0)


def test_nothing_of_a_brake_is_lost_when_it_grows() -> None:
    rng = np.random.default_rng(5)
    corners = tuple(
        Corner(z, r, radius)
        for z, r, radius in (
            (-60.0, 110.0, 0.0),
            (-10.0, 110.0, 0.0),
            (-10.0, 150.0, 8.0),
            (10.0, 150.0, 6.0),
            (10.0, 110.0, 0.0),
            (40.0, 115.0, 4.0),
            (36.0, 190.0, 20.0),
            (-55.0, 180.0, 15.0),
        )
    )
    path = outline_path(corners)
    assert isinstance(path, Path)
    old = shapely.Polygon(path.flattened(0.001, "inward"))
    new = shapely.Polygon([(c.z, c.r) for c in grown(brake(corners), 5.0).outlines[0].corners])
    low, high = np.array(old.bounds[:2]), np.array(old.bounds[2:])
    points = low + (high - low) * rng.random((4000, 2))
    points = points[shapely.contains_xy(old, points)]
    assert len(points) > 1000
    moved = points + 5.0 * rng.random(points.shape)
    assert shapely.contains_xy(new.buffer(1e-6), moved).all()
    # It is no larger than that: every corner of it is within the old outline moved by at most 5.
    assert new.area < old.buffer(5.0 * math.sqrt(2.0)).area


def test_the_settings_say_when_it_is_known() -> None:
    """All scenarios but the expected one are dated; a late die keeps its own season where that is earlier."""
    base = two_dies()
    late = Scenario("late", "", base, known=2030.0)
    assert _dated(Scenario("x", "", base), 2031).known == 2031.0
    assert _dated(late, 2031).known == 2030.0
    assert _dated(late, 2029).known == 2029.0
    assert _dated(Scenario("x", "", base), None).known is None

"""Worth of a die and what it saves against sums by hand; its break-even: practice.md 23, a closed form."""

from __future__ import annotations

import pytest

from app.studies.programme.economics import NOT_BY_SAVING
from app.studies.programme.inputs import Kind, Mode, Option, Programme, Question, Row
from app.studies.programme.solve import solve
from app.studies.programme.worth import die_worths
from app.studies.roadmap.die_money import die_money

pytestmark = pytest.mark.usefixtures("solved_here")


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

"""Inputs that cannot be planned are refused with what, where and how to mend it."""

import math
from dataclasses import replace

import pytest

from app.studies.programme.inputs import (
    Holder,
    Kind,
    Limits,
    Mode,
    Option,
    Payment,
    PriceStep,
    Programme,
    ProgrammeError,
    Row,
)
from geometry.shape.blank import BlankState

MODE = Mode({"D": 20.0})
ROW = Row("r", {2031: 10.0}, (MODE,))
DIE = Option("D", fixed=100.0)


def test_what_can_be_planned_is_not_refused() -> None:
    assert Programme((ROW,), (DIE,)).years == (2031,)
    # Chips may bring more than cutting costs, and a row may be sold below its other costs.
    below = replace(ROW, modes=(Mode({"D": -5.0}, contribution=-10.0),))
    assert Programme((below,), (DIE,)).start == 2031


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (replace(ROW, volumes={2031: -1.0}), "row 'r': wheels in 2031 is -1, below 0; give 0 or more"),
        (replace(ROW, volumes={2031: math.nan}), "row 'r': wheels in 2031 is nan, not a finite number"),
        (
            replace(ROW, volumes={2031: 1e15}),
            "row 'r': wheels in 2031 is 1e+15, more than 10,000,000; give no more than that",
        ),
        (replace(ROW, volumes={2029: 1.0}), "row 'r' has wheels in 2029, before the base year 2030"),
        (replace(ROW, name=" "), "a row has no name"),
        (replace(ROW, modes=(MODE, MODE)), "row 'r' has two modes of one name"),
        (replace(ROW, modes=(MODE, replace(MODE, name="x"))), "is served in full by two modes"),
        (replace(ROW, modes=(replace(MODE, share=0.5),)), "share is 0.5, in full it is 1"),
        (
            replace(ROW, modes=(replace(MODE, share=0.0, is_compromise=True),)),
            "share of the volume is 0; give more than 0 and at most 1",
        ),
        (
            replace(ROW, modes=(Mode({"E": 1.0}),)),
            "row 'r', in full names the option 'E', which is not there",
        ),
        (replace(ROW, modes=(Mode({"D": math.inf}),)), "cost per wheel from 'D' is inf, not a finite number"),
        (replace(ROW, modes=(replace(MODE, contribution=math.nan),)), "contribution per wheel is nan"),
    ],
)
def test_rows(row: Row, said: str) -> None:
    with pytest.raises(ProgrammeError) as refused:
        Programme((row,), (DIE,), base_year=2030)
    assert said in str(refused.value)


VARIANT = Option("V", Kind.VARIANT, variant_of="D")


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ((DIE, DIE), "option 'D' is there twice; rename or remove one"),
        ((replace(DIE, fixed=-1.0),), "option 'D': fixed is -1, below 0"),
        ((replace(DIE, price=math.nan),), "option 'D': price is nan"),
        ((replace(DIE, left_over_cost=-1.0),), "cost of a piece left over is -1"),
        ((replace(DIE, payments=(Payment(0.5), Payment(0.4))),), "payment shares sum to 0.9, not 1"),
        ((replace(DIE, payments=(Payment(1.5), Payment(-0.5))),), "share of a payment is -0.5"),
        ((replace(DIE, payments=(Payment(1.0, 2),), lead_years=0.5),), "is paid 2 years before its use"),
        ((replace(DIE, state=BlankState.RETIRED),), "option 'D' is retired; leave it out"),
        ((replace(DIE, holder="H"),), "needs the holder 'H', which is not there; add it"),
        (
            (replace(DIE, price=9.0, steps=(PriceStep(10.0, 8.0), PriceStep(5.0, 7.0))),),
            "sort steps by pieces",
        ),
        (
            (replace(DIE, price=9.0, steps=(PriceStep(10.0, 9.0),)),),
            "9 from 10 pieces does not follow 9 from 0",
        ),
        ((DIE, replace(VARIANT, variant_of="E")), "is a variant of 'E', which is not there"),
        ((DIE, replace(VARIANT, variant_of=None)), "is a variant only with the die it belongs to"),
        ((replace(VARIANT, name="D", variant_of="V"), VARIANT), "variants go in a circle: D of V of D"),
        ((replace(DIE, kind=Kind.BOUGHT), VARIANT), "is a variant of 'D', a bought blank; only a die has"),
    ],
)
def test_options(options: tuple[Option, ...], said: str) -> None:
    with pytest.raises(ProgrammeError) as refused:
        Programme((ROW,), options)
    assert said in str(refused.value)


@pytest.mark.parametrize(
    ("limits", "said"),
    [
        (Limits(most_dies=-1), "the greatest number of dies is -1, below 0"),
        (Limits(budget=math.nan), "the budget is nan"),
        (Limits(budget_by_year={2031: -5.0}), "budget of 2031 is -5, below 0"),
        (Limits(press_hours={2031: math.inf}), "press hours of 2031 is inf"),
    ],
)
def test_limits(limits: Limits, said: str) -> None:
    with pytest.raises(ProgrammeError) as refused:
        Programme((ROW,), (DIE,), limits=limits)
    assert said in str(refused.value)


def test_the_rest() -> None:
    for rate, said in (
        (-0.1, "the rate of discount is -0.1, below 0; give 0.1 for 10 %"),
        (10.0, "the rate of discount is 10 a year; give 0.1 for 10 %"),
    ):
        with pytest.raises(ProgrammeError) as refused:
            Programme((ROW,), (DIE,), rate=rate)
        assert str(refused.value) == said
    with pytest.raises(ProgrammeError, match="row 'r' is there twice"):
        Programme((ROW, ROW), (DIE,))
    with pytest.raises(ProgrammeError, match="holder 'H': cost is -1, below 0"):
        Programme((ROW,), (DIE,), (Holder("H", -1.0),))

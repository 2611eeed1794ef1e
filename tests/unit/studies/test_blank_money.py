"""Money of a wheel from a blank, line by line, against sums by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from app.project.programme import Holder, Programme
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.blank_money import BlankMoney, blank_money, price_at
from app.studies.machining import machining_in_blank
from geometry.shape.blank import BlankState, PriceStep, SpunFrom, Supply
from tests.support import example


def asked(pieces: int | None = None, **blank: Any) -> BlankMoney:
    project, wheel = _project(**blank)
    return blank_money(project, wheel, pieces)


def _project(**blank: Any) -> tuple[Project, Wheel]:
    project = example.roomy()[0]
    (wheel,) = (w for w in project.wheels if w.name == example.WHEEL)
    blanks = tuple(replace(b, **blank) if b.name == wheel.blank else b for b in project.blanks)
    return replace(project, blanks=blanks, programme=Programme(2027, holders=(Holder("h", 60000.0),))), wheel


def line(found: BlankMoney, what: str) -> float | None:
    (only,) = (x.money for x in found.lines if x.what == what)
    return only


def test_a_bought_blank_is_paid_at_the_step_of_the_yearly_order() -> None:
    steps = (PriceStep(60, 441.0), PriceStep(150, 424.0))
    bought: dict[str, Any] = {
        "supply": Supply.BOUGHT,
        "price": 455.0,
        "price_steps": steps,
        "least_order": 20,
    }
    prices = [line(asked(n, **bought), "blank") for n in (None, 59, 60, 149, 150, 1000)]
    assert prices == [455.0, 455.0, 441.0, 441.0, 424.0, 424.0]
    assert asked(None, **bought).pieces == 20
    assert line(asked(**bought), "share of the dies") == 0.0


def test_the_total_is_blank_dies_holder_and_cutting_less_chips() -> None:
    own: dict[str, Any] = {
        "price": 200.0,
        "die_cost": 26000.0,
        "die_shared_by": 650,
        "holder": "h",
        "state": BlankState.IDEA,
    }
    found, (project, wheel) = asked(**own), _project(**own)
    cut = machining_in_blank(project, wheel.name).money
    # 26,000 / 650 = 40; the holder by the only blank that stands in it: 60,000 / 650.
    expected = 200.0 + 40.0 + 60000.0 / 650.0 + cut.cutting + cut.setting - cut.chips
    assert found.total == pytest.approx(expected)
    assert line(found, "share of the holder") == pytest.approx(92.3077, abs=1e-4)


def test_a_holder_is_shared_by_the_wheels_of_all_its_blanks_and_paid_once() -> None:
    project, wheel = _project(
        price=200.0, die_cost=26000.0, die_shared_by=650, holder="h", state=BlankState.IDEA
    )
    (own,) = (b for b in project.blanks if b.name == wheel.blank)
    other = replace(own, name="other", die_shared_by=350)
    shared = replace(project, blanks=(*project.blanks, other))
    assert line(blank_money(shared, wheel), "share of the holder") == pytest.approx(60.0)
    there = replace(shared, blanks=(*project.blanks, replace(other, state=BlankState.PROVED)))
    assert line(blank_money(there, wheel), "share of the holder") == 0.0


@pytest.mark.parametrize(
    ("blank", "words"),
    [
        ({"supply": Supply.BOUGHT}, "blank: state its price"),
        ({"state": BlankState.IDEA}, "state the price of the dies"),
        ({"die_cost": 9000.0}, "by how many wheels"),
        ({"holder": "nobody's", "state": BlankState.IDEA, "die_cost": 1.0, "die_shared_by": 1}, "'nobody's'"),
        ({"supply": Supply.SPUN, "state": BlankState.PROVED}, "spinning: state it"),
    ],
)
def test_what_is_not_stated_is_named_and_leaves_no_total(blank: dict[str, Any], words: str) -> None:
    found = asked(**blank)
    assert found.total is None
    assert any(words in each for each in found.missing)


def test_spinning_is_a_line_of_its_own() -> None:
    spun: dict[str, Any] = {
        "supply": Supply.SPUN,
        "state": BlankState.PROVED,
        "spun": SpunFrom(spinning_price=41.5),
    }
    assert line(asked(**spun), "spinning") == 41.5


def test_below_the_first_step_the_price_itself_holds() -> None:
    project, wheel = _project(price=None, price_steps=(PriceStep(60, 441.0),))
    (blank,) = (b for b in project.blanks if b.name == wheel.blank)
    assert price_at(blank, 59)[0] is None
    assert price_at(blank, 60)[0] == 441.0

"""Bars and ladder of a group's blank: what they add up to, and what is said in which unit."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import pypdf
import pytest

from app.project.project import Project
from app.reports.blank_masses import Ladder, mass_bars, turned_ladder
from app.reports.outputs import blank_pdf
from app.studies.composite import Composite, GroupWheel, composite
from app.studies.forging_needs import ForgingSettings
from app.studies.found_blank import against_tools
from app.studies.ladder_money import turned_money
from app.studies.machining import machining
from tests.support import example
from tests.unit.studies.test_composite import group


@pytest.fixture(scope="module")
def alone() -> tuple[Project, Composite]:
    project = group()
    # One rate for all that is cut, so that the ladder's sum is the wheel's own.
    rates = replace(project.rates, turning_cm3_min=200.0, milling_cm3_min=200.0, drilling_cm3_min=200.0)
    project = replace(project, rates=rates)
    return project, composite(project, [example.WHEEL])


def test_the_ladders_money_ends_at_the_wheels_metal_and_cutting(alone: tuple[Project, Composite]) -> None:
    # Another way: the volumes of all operations, parted by the side from which a tool reaches them.
    project, result = alone
    (cut,) = machining(project, result)
    ladder = turned_ladder(project, result)
    assert ladder.money is not None
    assert ladder.money[-1] == pytest.approx(cut.money.metal_and_cutting, rel=1e-4)
    assert ladder.rungs[-1][1] == pytest.approx(cut.blank_kg, rel=1e-4)


def test_a_kilogram_costs_its_log_treatment_and_time_less_its_chip() -> None:
    # By hand: 2 kg at 2700 kg/m3 are 740.74 cm3, at 300 cm3/min 2.469 min, at 90 an hour 3.70;
    # log 2 x 1.1 x 5 = 11, treatment 2 x 1 = 2, chips 2 x 0.3 x 5 = 3.
    rates = replace(
        group().rates,
        turning_cm3_min=300.0,
        hour_price=90.0,
        log_price_kg=5.0,
        loss=0.1,
        treatment_price_kg=1.0,
        chip_share=0.3,
        chip_price_kg=None,
        bought_price=None,
    )
    ladder = (("wheel", 10.0), ("windows", 10.0), ("stock", 12.0))
    money = turned_money(ladder, 2700.0, rates)
    assert money is not None
    assert money[2] - money[1] == pytest.approx(11.0 + 2.0 + 3.7037 - 3.0, abs=1e-3)
    assert turned_money(ladder, 2700.0, replace(rates, bought_price=300.0)) is None


def test_bars_say_what_a_wheel_keeps_and_costs_in_the_unit_shown() -> None:
    wheels = (GroupWheel("A", 0.0, 10.0, 30.0, 1.5), GroupWheel("B", 0.0, 12.0, 28.0, 0.0))
    first, second = mass_bars(40.0, wheels, "in")
    # 1 lb is 0.45359237 kg (NIST Special Publication 811).
    assert first.says == "22.05 lb + 66.14 of chips, costs the others 3.31"
    assert second.says.endswith("decides nothing")
    assert (first.costs_kg, second.costs_kg) == (1.5, 0.0)


def test_rows_of_a_ladder_are_signed_and_a_bought_blanks_money_is_asked() -> None:
    rungs = (("wheel", 10.0), ("draft", 9.5), ("fillets", 10.5))
    rows = Ladder(rungs, (50.0, 47.0, 52.0), "").rows("mm")
    assert [row[1:] for row in rows] == [
        ("10.00", "", "50.00"),
        ("9.50", "-0.50", "-3.00"),
        ("10.50", "+1.00", "+5.00"),
    ]
    assert {row[3] for row in Ladder(rungs, None, "").rows("mm")} == {"asked"}


def test_bars_ladder_and_tools_are_the_houses_alone(alone: tuple[Project, Composite]) -> None:
    project, result = alone
    owner = project.blanks[0]
    check = against_tools(
        result.path, result.mass_kg, ForgingSettings(), project.materials[0].density_kg_m3, owner
    )
    cut = machining(project, result)
    inches = replace(project, display_unit="in", paper="Letter")
    texts = []
    for for_forge in (False, True):
        pages = blank_pdf(inches, result, ForgingSettings(), cut, "one", for_forge, tools=check)
        read = pypdf.PdfReader(BytesIO(pages)).pages
        texts.append(" ".join(" ".join(page.extract_text() for page in read).split()))
    house, forge = texts
    of_tools = f"with the tools of {owner.name}"
    drawn = "where each line's metal lies"
    for words in ("where the metal goes", "Where the pounds are", of_tools, "money", drawn):
        assert words in house
        assert words not in forge
    # The heaviest rung, in pounds: 1 lb is 0.45359237 kg (NIST Special Publication 811).
    assert f"{result.mass_kg / 0.45359237:.2f}" in house
    # Every line of the ladder has its picture: its words stand on the table and under the picture.
    for rung in result.rungs:
        assert house.count(rung.words) >= 2, rung.words

"""`blankwright blank` on chips, time and money: text, JSON, rates typed, and what is refused."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from app.cli.command_line import main
from app.cli.machining import as_text
from app.files.project_file import save
from app.project.rate_words import RATE_WORDS
from app.project.shop import STARTING_VALUES, ShopRates
from app.studies.machining import machining_in_blank
from tests.support import example


@pytest.fixture
def project(tmp_path: Path) -> Path:
    path = tmp_path / "track.blankwright"
    save(replace(example.project(), currency="crowns"), path)
    return path


def run(project: Path, *words: str) -> int:
    return main(["blank", str(project), "--wheel", example.WHEEL, "--stock", "3", *words])


def found(project: Path, capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    assert run(project, "--json", *words) == 0
    return dict(json.loads(capsys.readouterr().out))


def test_text_has_the_section(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(project, "--log-price", "5,25") == 0
    said = capsys.readouterr().out
    section = said[said.index("chips, time, money") :]
    for words in ("turn outside", "mill windows", "drill holes", "all cutting", "3 set-ups", "crowns"):
        assert words in section
    assert "at 5.25 a kg" in section
    assert "less chips at 30% of the log price (5.25 a kg)" in section
    start = section[section.index("starting values, not the shop's own") :]
    assert "machine and operator, an hour" in start
    assert "log, a kg" not in start


def test_json_is_what_its_page_says(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    values = found(project, capsys)
    part = values["machining"]
    assert part["rates"]["currency"] == "crowns"
    assert "turning_cm3_min" in part["starting_values"]
    (wheel,) = part["wheels"]
    (of,) = values["wheels"]
    assert wheel["name"] == of["name"]
    assert wheel["chips_kg"] == pytest.approx(of["chips_kg"], rel=1e-6)
    assert wheel["log_kg"] == pytest.approx(values["log"]["mass_kg"], rel=1e-9)
    assert wheel["blank_kg"] - wheel["chips_kg"] == pytest.approx(wheel["wheel_kg"], rel=1e-6)
    for key, total in (("volume_mm3", "volume_mm3"), ("minutes", "cutting_minutes")):
        assert sum(o[key] for o in wheel["operations"]) == pytest.approx(wheel[total])
    m = wheel["money"]
    assert m["metal"] == pytest.approx(m["log"] + m["forging"] + m["treatment"])
    assert m["net"] == pytest.approx(m["metal"] + m["cutting"] + m["setting"] - m["chips"])
    assert (wheel["is_whole"], wheel["setup_minutes"]) == (True, 60.0)


def test_each_rate_counts(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (before,) = found(project, capsys)["machining"]["wheels"]
    rates = ("--forging-price", "120", "--hour-price", "190", "--turning-rate", "150")
    part = found(project, capsys, *rates)["machining"]
    (after,) = part["wheels"]
    turned = [
        sum(o["minutes"] for o in w["operations"] if o["name"] not in ("mill windows", "drill holes"))
        for w in (before, after)
    ]
    assert turned[1] == pytest.approx(2.0 * turned[0])
    assert after["money"]["forging"] == 120.0
    assert after["money"]["setting"] == pytest.approx(2.0 * before["money"]["setting"])
    assert after["energy_kwh"] == pytest.approx(before["energy_kwh"])
    assert {"forging_price", "hour_price", "turning_cm3_min"}.isdisjoint(part["starting_values"])


def test_a_bought_blank_has_its_price_alone(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (wheel,) = found(project, capsys, "--bought-price", "380")["machining"]["wheels"]
    assert wheel["money"]["metal"] == wheel["money"]["bought"] == 380.0
    assert wheel["log_kg"] is None
    assert run(project, "--bought-price", "380") == 0
    said = capsys.readouterr().out
    section = said[said.index("chips, time, money") :]
    assert "blank, bought" in section
    assert "treatment at" not in section


def test_a_wheel_outside_the_blank_is_named_first() -> None:
    whole = example.project()
    wheel = whole.wheels[0]
    moved = replace(whole, wheels=(replace(wheel, seat_mm=wheel.seat_mm + 60.0),))
    cut = machining_in_blank(moved, example.WHEEL)
    said = as_text(moved, ShopRates(), [cut])
    assert said.index("cannot be cut from this blank") < said.index("turn outside")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--log-price", "a lot"), "--log-price a lot: give a number"),
        (("--hour-price", "-3"), "'machine and operator, an hour' is -3"),
        (("--turning-rate", "0"), "'turning, cm³ a minute' is 0"),
        (("--forging-price", "nan"), "'forging, a piece' is nan"),
        (("--bought-price", "inf"), "'every blank bought, a piece' is inf"),
    ],
)
def test_bad_rates_are_named(
    project: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, str], says: str
) -> None:
    assert run(project, *words) == 2
    said = capsys.readouterr().err
    assert says in said
    assert said.count("\n") == 1


def test_rates_that_nobody_set_are_named_in_words(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert set(STARTING_VALUES) <= set(RATE_WORDS)
    assert main(["blank", str(project), "--wheel", example.WHEEL, "--stock", "3"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "turning, cm³ a minute; milling, cm³ a minute" in said
    assert not any(name in said for name in STARTING_VALUES if "_" in name)

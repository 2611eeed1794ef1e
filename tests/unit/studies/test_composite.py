"""A group's blank, held against its wheels by the readings of the editor, which share no code with it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app import resources
from app.cli.command_line import main
from app.files.project_file import load
from app.project import edits
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.composite import Composite, composite
from app.studies.fit import measure_wheel
from app.studies.forging_needs import ForgingSettings
from app.studies.found_blank import as_forged
from app.studies.ladder import TO_DRAW
from geometry.errors import GeometryError
from geometry.forging.composite import Forgeable
from geometry.forging.seats import CancelledError
from geometry.readings.measure import Measurements
from tests.support import example

WHEEL = example.WHEEL


def group() -> Project:
    """The example's wheel beside one with a deeper spoke back, one with a higher hub, and a thinner copy."""
    project = example.project()
    first = project.wheels[0]

    def moved(name: str, step: float, zones: tuple[str, ...]) -> Wheel:
        vertices = tuple(replace(v, z=v.z + step) if str(v.zone) in zones else v for v in first.vertices)
        return replace(first, name=name, vertices=vertices)

    others = (
        moved("face out", 9.0, ("spoke face", "hub face")),
        moved("face in", -4.0, ("spoke face",)),
    )
    return replace(project, wheels=(first, *others))


def read(project: Project, wheel: Wheel) -> Measurements:
    measured = measure_wheel(project, wheel)
    assert measured.measurements is not None, measured.faults
    return measured.measurements


def stock_left(project: Project, result: Composite, settings: ForgingSettings) -> dict[str, float]:
    """Return the least stock of each wheel in the blank found, by the editor's own reading."""
    blank = replace(as_forged(result, "found", settings), skin_mm=0.0)
    with_blank = edits.add(project, edits.BLANK, blank)
    found = {}
    for each in result.wheels:
        wheel = edits.find(project, edits.WHEEL, each.name)
        held = replace(wheel, blank="found", seat_mm=-each.seat_mm, clears=())
        found[each.name] = min(row.least_mm for row in read(with_blank, held).stock)
    return found


@pytest.mark.parametrize("stock", [0.0, 2.5, 4.0])
def test_a_wheel_in_its_own_blank_keeps_exactly_its_stock(stock: float) -> None:
    project, settings = group(), ForgingSettings(stock_mm=stock, missing_in_stock=True)
    result = composite(project, [WHEEL], settings)
    assert stock_left(project, result, settings)[WHEEL] == pytest.approx(stock, abs=1e-6)


def test_every_wheel_of_a_group_keeps_its_stock_and_those_that_decide_touch_it() -> None:
    project, settings = group(), ForgingSettings(stock_mm=3.0, missing_in_stock=True)
    names = [w.name for w in project.wheels]
    result = composite(project, names, settings)
    left = stock_left(project, result, settings)
    for each in result.wheels:
        assert left[each.name] >= 3.0 - 1e-6
        if each.decides:
            assert left[each.name] == pytest.approx(3.0, abs=1e-5)
    assert any(each.decides for each in result.wheels)


def test_masses_agree_with_the_readings_of_the_editor() -> None:
    project, settings = group(), ForgingSettings()
    result = composite(project, [WHEEL, "face out"], settings)
    blank = as_forged(result, "found", settings)
    with_blank = edits.add(project, edits.BLANK, blank)
    for each in result.wheels:
        wheel = replace(edits.find(project, edits.WHEEL, each.name), blank="found", seat_mm=-each.seat_mm)
        found = read(with_blank, wheel)
        assert found.blank is not None
        assert found.blank.mass_kg == pytest.approx(result.forged.mass_kg, rel=1e-9)
        assert found.blank.chips_kg == pytest.approx(each.chips_kg, rel=1e-9)
        assert found.solid.mass_kg == pytest.approx(each.mass_kg, rel=1e-12)


def test_what_a_wheel_costs_the_others_is_what_leaving_it_out_saves() -> None:
    project, settings = group(), ForgingSettings(how=Forgeable(1.0, 2.0, 0.0))
    names = [w.name for w in project.wheels]
    result = composite(project, names, settings)
    for each in result.wheels:
        rest = composite(project, [n for n in names if n != each.name], settings)
        assert each.costs_others_kg == pytest.approx(result.found.mass_kg - rest.found.mass_kg, abs=2e-3)


def test_the_ladder_rises_to_the_blank() -> None:
    result = composite(group(), [WHEEL], ForgingSettings())
    masses = [mass for _, mass in result.ladder]
    assert masses == sorted(masses)
    assert masses[-2:] == [result.found.mass_kg, result.forged.mass_kg]
    # Practice 22: the hull alone of an 18 x 10 J is about 44 kg, its finished wheel 10.7, full body 15.7.
    assert masses[0] == pytest.approx(10.7, abs=1.0)
    assert masses[1] == pytest.approx(15.7, abs=1.0)
    assert masses[2] == pytest.approx(43.8, abs=2.0)


def test_trim_and_grip_lengthen_the_ring_by_as_much() -> None:
    project = group()
    bare = ForgingSettings(stock_mm=4.0, how=Forgeable(1.0, 2.0, 0.0))
    plain = composite(project, [WHEEL], bare)
    long = composite(project, [WHEEL], replace(bare, trim_mm=5.0, grip_mm=10.0))
    ends = [result.found.blank.path.bounds[0] for result in (plain, long)]
    assert ends[0] - ends[1] == pytest.approx(15.0)
    names = [words for words, _ in long.ladder]
    assert names[-4:] == ["ring-end trim", "grip for the chuck", "fillets", TO_DRAW]
    # Practice 14: a millimetre of ring height is 0.144 kg; the first also square the lip's round end off.
    masses = dict(long.ladder)
    assert masses["grip for the chuck"] - masses["ring-end trim"] == pytest.approx(10.0 * 0.144, abs=0.25)
    assert masses["ring-end trim"] - masses["draft outside"] > 5.0 * 0.1


def test_a_least_web_is_kept_and_stands_in_the_ladder() -> None:
    project, how = group(), Forgeable(1.0, 2.0, 15.0, 40.0)
    result = composite(project, [WHEEL], ForgingSettings(stock_mm=4.0, how=how))
    assert result.web_mm >= 40.0 - 1e-6
    assert "least web" in [words for words, _ in result.ladder]
    plain = composite(project, [WHEEL], ForgingSettings(stock_mm=4.0, how=replace(how, web_mm=0.0)))
    assert plain.web_mm < 40.0
    assert plain.found.mass_kg < result.found.mass_kg
    assert plain.found.bound_kg == result.found.bound_kg


def test_kept_seats_are_kept() -> None:
    result = composite(group(), [WHEEL, "face out"], seats_mm=[0.0, 0.0])
    assert [w.seat_mm for w in result.wheels] == [0.0, 0.0]
    free = composite(group(), [WHEEL, "face out"])
    assert free.found.mass_kg <= result.found.mass_kg + 1e-9


def test_rules_give_the_stock_by_zone() -> None:
    """The example's rule set asks for stock by zone; as one number for all zones it gives the same."""
    project = group()
    rules = next(r for r in project.rule_sets if r.name == project.wheels[0].rules)
    flat = {rule.required_mm for rule in rules.stock}
    if len(flat) != 1 or any(rule.zone is not None for rule in rules.stock):
        pytest.skip("the example's rule set has several numbers")
    by_rule = composite(project, [WHEEL])
    by_number = composite(project, [WHEEL], ForgingSettings(stock_mm=flat.pop()))
    assert by_rule.found.mass_kg == by_number.found.mass_kg


def test_log_and_press_follow_the_mass() -> None:
    result = composite(group(), [WHEEL], ForgingSettings(loss=0.08))
    assert result.log.mass_kg == pytest.approx(1.08 * result.forged.mass_kg)
    low, high = result.press_mn
    # Handbook 2.4: blanks like this are filled by presses of the 10,000 t class, 89 to 98 MN; practice 16:
    # plain extrusion of the ring needs about 24 MN at 45 MPa, and a slow press meets less than that strength.
    assert 10.0 < low < 24.0
    assert 60.0 < high < 98.0


class TestRefused:
    def test_a_wheel_twice(self) -> None:
        with pytest.raises(GeometryError, match="named twice"):
            composite(group(), [WHEEL, WHEEL])

    def test_no_wheel(self) -> None:
        with pytest.raises(GeometryError, match="no wheel"):
            composite(group(), [])

    def test_unknown_wheel(self) -> None:
        with pytest.raises(edits.EditError, match="no wheel called"):
            composite(group(), ["absent"])

    def test_a_wheel_without_rules_needs_a_stock(self) -> None:
        project = group()
        bare = replace(project.wheels[0], rules=None)
        project = replace(project, wheels=(bare,))
        with pytest.raises(GeometryError, match="no rule set to take its stock from"):
            composite(project, [WHEEL])
        assert composite(project, [WHEEL], ForgingSettings(stock_mm=2.0)).found.mass_kg > 40.0

    def test_cancelled(self) -> None:
        with pytest.raises(CancelledError):
            composite(group(), [w.name for w in group().wheels], progress=lambda done, of: done < 2)


def test_several_diameters_are_told_the_price_of_sharing_first(capsys: pytest.CaptureFixture[str]) -> None:
    sample = resources.sample("4-roadmap-36-fitments")
    project = load(sample)
    names = ["Track 18", "GT 19", "Club 17"]
    shared = composite(project, names)
    alone = {code: composite(project, [name]).mass_kg for name, code in zip(names, (18, 19, 17), strict=True)}
    assert [d.diameter_code for d in shared.diameters] == [17.0, 18.0, 19.0]
    for each in shared.diameters:
        assert each.alone_kg == pytest.approx(alone[int(each.diameter_code)], rel=1e-9)
        assert each.more_kg == pytest.approx(shared.mass_kg - each.alone_kg, abs=1e-9)
    assert composite(project, names[:1]).diameters == ()
    asked = [word for name in names for word in ("--wheel", name)]
    assert main(["blank", str(sample), *asked]) == 0
    said = capsys.readouterr().out.splitlines()
    assert said[1].startswith("  Wheels of 3 diameters share this blank")
    for each in shared.diameters:
        assert f"{each.alone_kg:.2f} kg, +{each.more_kg:.2f} kg a wheel here" in said[1]

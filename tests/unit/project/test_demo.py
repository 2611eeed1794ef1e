"""The demo items. Figures: an independent polygon model of the same invented data, lengths +-0.1 mm."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.project.demo import (
    blank_a18,
    blank_c18,
    brake_380,
    brake_410,
    gt_19,
    material_6061,
    rule_sets,
    tie_rod_410,
    track_18,
)
from app.project.project import Project
from app.project.wheel import Wheel
from app.project.wheel_edits import with_inset, with_spokes_fixed_to
from app.studies.fit import measure_wheel
from geometry.readings.measure import Measurements
from geometry.shape.curve import Path
from geometry.shape.outline import Motion, StayOut, outline_path


def read(wheel: Wheel, *shapes: StayOut) -> Measurements:
    project = Project(
        "demo",
        wheels=(replace(wheel, blank=None, clears=tuple(s.name for s in shapes)),),
        shapes=shapes,
        rule_sets=rule_sets(),
        materials=(material_6061(),),
    )
    measured = measure_wheel(project, project.wheels[0])
    assert measured.measurements is not None, measured.faults
    return measured.measurements


def least_gap(wheel: Wheel, *shapes: StayOut) -> tuple[float, str]:
    return min((row.least_mm, str(row.zone)) for row in read(wheel, *shapes).gap)


@pytest.mark.parametrize(("more", "expected"), [(0.0, 4.1), (1.0, 3.1), (2.0, 2.1), (4.0, 0.1)])
def test_inset_with_spokes_fixed_to_the_rim(more: float, expected: float) -> None:
    least, zone = least_gap(with_inset(track_18(), 38.0 + more), brake_380())
    assert least == pytest.approx(expected, abs=0.1)
    assert zone == "spoke back"


def test_six_more_inset_touches() -> None:
    assert least_gap(with_inset(track_18(), 44.0), brake_380())[0] < 0.0


@pytest.mark.parametrize(
    ("inset", "expected", "zone"),
    [(20.0, 4.1, "spoke back"), (38.0, 4.1, "spoke back"), (42.0, 4.0, "well"), (54.0, 4.0, "well")],
)
def test_inset_with_spokes_fixed_to_the_hub(inset: float, expected: float, zone: str) -> None:
    wheel = with_inset(with_spokes_fixed_to(track_18(), "hub"), inset)
    least, deciding = least_gap(wheel, brake_380())
    assert least == pytest.approx(expected, abs=0.1)
    assert deciding == zone


@pytest.mark.parametrize(("spacer", "expected"), [(5.0, 5.3), (8.0, 5.9)])
def test_on_a_spacer_the_well_takes_over(spacer: float, expected: float) -> None:
    least, zone = least_gap(replace(track_18(), spacer_mm=spacer), brake_380())
    assert least == pytest.approx(expected, abs=0.1)
    assert zone == "well"


def test_the_tie_rod_clears_by_27_at_full_lock() -> None:
    # Barrel 232.9 over 203.2, less 2.4 at full lock.
    rows = read(gt_19(), tie_rod_410()).gap
    barrel = next(r for r in rows if r.zone == "barrel")
    assert barrel.least_mm == pytest.approx(232.9 - 203.2 - 2.4, abs=0.1)
    assert tie_rod_410().motion is Motion.AGAINST_KNUCKLE


def test_every_shape_is_answered_seen_and_invented() -> None:
    for shape in (brake_380(), brake_410(), tie_rod_410()):
        assert shape.open_questions() == ()
        assert shape.extent.ends_inboard
        assert shape.extent.ends_outboard
        assert (shape.card.datum_checked_by, shape.card.datum_checked_on) == ("demo", "2026-01-15")
        assert "nvented" in shape.card.source
        assert all(isinstance(outline_path(o.corners), Path) for o in shape.outlines)
    z_low, z_high, _, r_high = paths(brake_380()).bounds
    assert (z_low, z_high, r_high) == (-74.0, 46.0, 203.0)
    assert paths(brake_410()).bounds[3] == 221.0


def paths(shape: StayOut) -> Path:
    path = outline_path(shape.outlines[0].corners)
    assert isinstance(path, Path)
    return path


def test_blanks_keep_their_main_dimensions() -> None:
    a18, c18 = outline_path(blank_a18().corners), outline_path(blank_c18().corners)
    assert isinstance(a18, Path)
    assert isinstance(c18, Path)
    # Outside diameter 505.6 at the parting, height 285.4.
    assert 2 * a18.bounds[3] == pytest.approx(505.6)
    assert a18.bounds[1] - a18.bounds[0] == pytest.approx(285.4)
    assert c18.bounds[1] - c18.bounds[0] == pytest.approx(283.6)
    radii = {c.radius for c in blank_a18().corners if c.radius}
    assert {6.0} | {r for r in radii if 8.0 <= r <= 25.0} == radii


def test_rules_are_starting_values_with_reasons() -> None:
    sets = rule_sets()
    assert sets[0].name == "starting, road"
    assert len({s.name for s in sets}) == len(sets)
    for rules in sets:
        assert rules.starting_values
        for each in (rules.gap, rules.wall, rules.stock):
            assert all(r.reason for r in each)
        # A general gap rule stands behind those of a kind.
        assert any(r.kind is None for r in rules.gap)
    assert sets[0].stock[0].required_mm == 2.0
    assert "own, measured" in sets[0].stock[0].reason

"""A wheel followed through its blank: by hand arithmetic, samples, a composite blank, bad input."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely

from app import resources
from app.files.project_file import load
from app.project import edits
from app.project.project import Project
from app.reports.stage_drawing import stage_notes
from app.studies.composite import composite
from app.studies.forging_needs import ForgingSettings
from app.studies.found_blank import as_forged
from app.studies.stages import Followed, StageSettings, follow
from geometry.errors import GeometryError
from geometry.forging.arcs import OFF_MM
from geometry.forging.stages import Route, StageName
from geometry.forging.thickest import row_words
from geometry.shape.blank import Blank, Cause, Tolerance
from geometry.shape.outline import Corner
from geometry.shape.section import Vertex, Zone
from tests.support import example

#: kg/mm3 of the example's material.
DENSITY = 2712.6e-9


def mm(value: float) -> str:
    return f"{value:.2f}"


def ring(r0: float, r1: float, length: float) -> float:
    return math.pi * (r1**2 - r0**2) * length


def plain(blank: tuple[tuple[float, float], ...]) -> Project:
    """A disc with a ring as wheel: hub to rim 0 to 30 by 40 to 200, ring -100 to 30 by 200 to 220."""
    rows = (
        *((30.0, 220.0, Zone.OUTER_SEAT), (-100.0, 220.0, Zone.INNER_LIP), (-100.0, 200.0, Zone.BARREL)),
        *((0.0, 200.0, Zone.SPOKE_BACK), (0.0, 60.0, Zone.HUB_PAD), (0.0, 40.0, Zone.BORE)),
        (30.0, 40.0, Zone.SPOKE_FACE),
    )
    project, wheel = example.roomy()
    section = tuple(Vertex(z, r, zone=zone) for z, r, zone in rows)
    bare = replace(
        wheel, vertices=section, rim=None, spokes=None, fixing=None, blank="plain", seat_mm=0.0, clears=()
    )
    made = Blank("plain", tuple(Corner(z, r) for z, r in blank))
    return replace(project, wheels=(bare,), blanks=(made,))


#: 5 mm over the wheel everywhere, hub solid, and 12 mm for the jaws beyond the inboard end.
AROUND = ((35.0, 0.0), (35.0, 225.0), (-117.0, 225.0), (-117.0, 195.0), (-5.0, 195.0), (-5.0, 0.0))
WHEEL_MM3 = ring(40.0, 200.0, 30.0) + ring(200.0, 220.0, 130.0)
BLANK_MM3 = ring(0.0, 195.0, 40.0) + ring(195.0, 225.0, 152.0)


def followed(route: Route, blank: tuple[tuple[float, float], ...] = AROUND, **other: float) -> Followed:
    return follow(plain(blank), example.WHEEL, StageSettings(route, **other))


def test_masses_and_chips_of_a_disc_with_a_ring() -> None:
    found = followed(Route())
    forged, _, _, second, finished = found.stages
    assert forged.mass_kg == pytest.approx(DENSITY * BLANK_MM3, rel=1e-6)
    assert finished.mass_kg == pytest.approx(DENSITY * WHEEL_MM3, rel=1e-6)
    assert finished.chips_kg == pytest.approx(second.mass_kg - finished.mass_kg, rel=1e-9)
    total = sum(stage.chips_kg for stage in found.stages)
    assert total == pytest.approx(DENSITY * (BLANK_MM3 - WHEEL_MM3), rel=1e-6)
    assert found.warnings == ()
    # The first side: bore through the hub, the ring's end, and 4.4 mm off the inside.
    bore, end = ring(0.0, 39.4, 40.0), ring(195.0, 225.0, 16.4)
    inside = ring(39.4, 199.4, 4.4) + ring(195.0, 199.4, 100.6 - 5.0)
    assert found.stages[2].chips_kg == pytest.approx(DENSITY * (bore + end + inside), rel=1e-4)


def test_stock_left_and_how_the_parts_are_held() -> None:
    """Brake side first: on the raw street face at z 35, jaws on diameter 450 along all 152 mm of the wall.

    Then on the mounting face, cut to z -0.6, in the bore of 80 - 1.2, jaws in the ring at 400 - 1.2.
    """
    found = followed(Route())
    forged, _, first, second, finished = found.stages
    assert forged.least is not None
    assert forged.least.least_mm == pytest.approx(5.0)
    assert [row.least_mm for row in second.stock] == pytest.approx([0.6] * len(second.stock), abs=OFF_MM)
    sides = {(row.side, row.zone): row.least_mm for row in first.stock}
    # The raw outside ends at the cut end of the ring, 0.6 from the wheel's.
    assert sides["tyre", "outer seat"] == pytest.approx(0.6, abs=OFF_MM)
    assert sides["brake", "barrel"] == pytest.approx(0.6, abs=OFF_MM)
    assert finished.least is None
    assert first.holding is not None
    assert first.holding.datum_words(mm) == "raw outboard end at z 35.00"
    assert first.holding.grip_words(mm) == (
        "outside at the outboard end on diameter 450.00, straight for 135.60 from z -100.60 to 35.00"
    )
    assert second.holding is not None
    assert second.holding.datum_words(mm) == "mounting face at z -0.60, bore diameter 78.80"
    assert "in the ring at the inboard end on diameter 398.80" in second.holding.grip_words(mm)


def test_street_side_first_is_gripped_on_the_length_beyond_the_ring() -> None:
    """12 mm beyond the inner lip are wanted by jaws of 10; jaws of 25 are cut short at nothing here."""
    first = followed(Route(brake_first=False)).stage("first side")
    assert first.holding is not None
    assert first.holding.datum_words(mm) == "raw inboard end at z -117.00"
    assert first.holding.grip is not None
    assert first.holding.grip.length_mm == pytest.approx(117.0 - 100.6, abs=1e-3)
    assert first.warnings == ()
    short = followed(Route(brake_first=False, jaw_mm=25.0)).stage("first side")
    assert short.holding is not None
    assert short.holding.grip is not None
    assert short.holding.grip.length_mm == pytest.approx(25.0, abs=1e-3)


def test_thickest_place_and_row_at_heat_treatment() -> None:
    """The disc in the joint touches both outer faces and the inner corner, a and b from them.

    (a - R)^2 + (b - R)^2 = R^2; grown by 3 the joint is 36 by 26, as forged 40 by 30.
    """

    def across(a: float, b: float) -> float:
        return 2.0 * (a + b - math.sqrt(2.0 * a * b))

    found = followed(Route(rough_mm=3.0))
    assert found.treated.thickest_mm == pytest.approx(across(36.0, 26.0), abs=0.06)
    assert found.treated.forged_mm == pytest.approx(across(40.0, 30.0), abs=0.06)
    assert found.treated.row == row_words(found.treated.thickest_mm)
    assert found.treated.row.startswith("die-forging row")


def test_a_block_that_is_rough_turned_is_warned_of() -> None:
    """A cylinder 160 thick: over 4 in as forged, and more than twice what is treated."""
    block = ((35.0, 0.0), (35.0, 225.0), (-125.0, 225.0), (-125.0, 0.0))
    found = followed(Route(rough_mm=3.0), block)
    assert found.treated.forged_mm == pytest.approx(160.0, abs=0.1)
    assert found.treated.ratio > 2.0
    said = [finding.words(mm) for finding in found.stage("solution-treated and aged").warnings]
    assert len(said) == 1
    assert "more than twice" in said[0]
    raw = followed(Route(), block)
    assert "hand-forging row" in raw.treated.row
    assert raw.warnings == ()


def idle(found: Followed) -> list[str]:
    """Return at which stages nothing is said to be cut."""
    return [
        str(stage.name)
        for stage in found.stages
        for finding in stage.warnings
        if finding.words(mm).startswith("nothing is cut")
    ]


def test_a_side_that_rough_turning_does_not_cut_is_told_where_it_is() -> None:
    """2 mm over the wheel on one side, 5 on the other, and 3 are left; with 6 neither is cut."""
    street = ((32.0, 0.0), (32.0, 222.0), (-117.0, 222.0), (-117.0, 195.0), (-5.0, 195.0), (-5.0, 0.0))
    brake = ((35.0, 0.0), (35.0, 225.0), (-102.0, 225.0), (-102.0, 198.0), (-2.0, 198.0), (-2.0, 0.0))
    assert idle(followed(Route(rough_mm=3.0), street)) == ["rough turned"]
    assert idle(followed(Route(rough_mm=3.0, brake_first=False), street)) == [
        "rough turned on the first side"
    ]
    assert idle(followed(Route(rough_mm=3.0, pierced_mm=76.0), brake)) == ["rough turned on the first side"]
    assert idle(followed(Route(rough_mm=6.0, pierced_mm=76.0), brake)) == ["rough turned"]
    assert idle(followed(Route(rough_mm=3.0))) == []


def test_less_stock_than_the_movement_and_raw_skin_are_warned_of_once() -> None:
    """A ring bore with 0.4 of stock, and an outside that is the wheel's own."""
    tight = ((35.0, 0.0), (35.0, 220.0), (-117.0, 220.0), (-117.0, 199.6), (-5.0, 199.6), (-5.0, 0.0))
    found = followed(Route(), tight)
    said = [finding.words(mm) for finding in found.stages[0].warnings]
    assert any(text.startswith("barrel, brake side: 0.40 of stock is left") for text in said)
    assert all(stage.warnings == () for stage in found.stages[1:-1])
    last = [finding.words(mm) for finding in found.stages[-1].warnings]
    assert any(text.startswith("outer seat, tyre side: raw skin stays") for text in last)
    assert not any("barrel" in text for text in last)


def test_finishing_stock_less_than_the_movement_is_warned_of_at_the_first_cut() -> None:
    found = followed(Route(finishing_mm=0.3), movement_mm=0.6)
    assert found.stages[0].warnings == ()
    assert "0.30 of stock is left, less than the movement of 0.60" in found.stages[2].warnings[0].words(mm)


def test_tolerances_and_skin_are_no_stock_at_any_stage() -> None:
    """5 mm less 2 of skin and half of 2 mm of run-out in the chuck: 2 until the first cut."""
    project = plain(AROUND)
    blank = replace(project.blanks[0], skin_mm=2.0, tolerances=(Tolerance(Cause.CENTRING, minus_mm=2.0),))
    found = follow(replace(project, blanks=(blank,)), example.WHEEL)
    for stage in found.stages[:2]:
        row = next(row for row in stage.stock if row.zone == "outer seat")
        assert row.least_mm == pytest.approx(2.0, abs=0.05)


@pytest.mark.parametrize("number", [0, 1])
def test_samples(number: int) -> None:
    """The wheel in its own blank is fine; in the bought one it lacks metal at barrel and well."""
    project = load(resources.samples()[number])
    found = follow(project, project.wheels[0].name)
    assert [stage.name for stage in found.stages] == [
        name
        for name in StageName
        if name not in (StageName.PIERCED, StageName.SPUN, StageName.ROUGH_FIRST, StageName.ROUGH)
    ]
    said = " ".join(finding.words(mm) for finding in found.warnings)
    if number == 0:
        assert said == ""
        assert found.missing_mm3 == 0.0
    else:
        assert "the wheel cannot be cut" in said
        assert "barrel, brake side" in said


def test_a_wheel_in_its_composite_blank_lies_in_every_stage() -> None:
    project, wheel = example.roomy()
    made = composite(project, [wheel.name], ForgingSettings(stock_mm=2.5), seats_mm=[0.0])
    project = edits.add(project, edits.BLANK, as_forged(made, "own", ForgingSettings()))
    project = edits.replaced(project, edits.WHEEL, wheel.name, replace(wheel, blank="own", seat_mm=0.0))
    found = follow(project, wheel.name, StageSettings(Route(rough_mm=2.0)))
    areas = [shapely.Polygon(stage.path.flattened(0.0005)) for stage in found.stages]
    for before, after in pairwise(areas):
        assert after.difference(before.buffer(2.0 * OFF_MM)).is_empty
    assert found.warnings == ()
    assert found.stages[0].mass_kg == pytest.approx(made.forged.mass_kg, rel=1e-4)


def test_what_cannot_be_followed_is_refused() -> None:
    project, wheel = example.roomy()
    alone = edits.replaced(project, edits.WHEEL, wheel.name, replace(wheel, blank=None))
    with pytest.raises(GeometryError, match="stands in no blank"):
        follow(alone, wheel.name)
    off = edits.replaced(project, edits.WHEEL, wheel.name, replace(wheel, seat_mm=900.0))
    with pytest.raises(GeometryError, match="lies outside the blank"):
        follow(off, wheel.name)
    with pytest.raises(GeometryError, match="movement is -1 mm"):
        follow(project, wheel.name, StageSettings(movement_mm=-1.0))
    with pytest.raises(GeometryError, match="There is no stage 'pierced' on this route"):
        follow(project, wheel.name).stage("pierced")
    with pytest.raises(edits.EditError):
        follow(project, "nobody")


def test_the_row_is_not_claimed_where_it_does_not_hold() -> None:
    block = ((35.0, 0.0), (35.0, 225.0), (-125.0, 225.0), (-125.0, 0.0))
    assert "it does not hold" in followed(Route(rough_mm=3.0), block).treated.row
    project = plain(AROUND)
    other = replace(project.materials[0], name="7075-T73")
    project = replace(project, materials=(other,), wheels=(replace(project.wheels[0], material="7075-T73"),))
    assert "look its own rows up" in follow(project, example.WHEEL).treated.row


def test_what_the_finished_wheel_lacks_stands_on_every_drawing() -> None:
    project = load(resources.samples()[1])
    found = follow(project, project.wheels[0].name)
    for stage in found.stages:
        assert any("the wheel cannot be cut" in note for note in stage_notes(found, stage))


def test_a_wheel_without_a_bore_keeps_its_hub() -> None:
    """Solid to the axle, the first side takes no bore: the ring's end and 4.4 mm off the inside."""
    project = plain(AROUND)
    wheel = project.wheels[0]
    solid = tuple(replace(v, r=0.0) if v.r == 40.0 else v for v in wheel.vertices)
    found = follow(replace(project, wheels=(replace(wheel, vertices=solid),)), example.WHEEL)
    end, inside = ring(195.0, 225.0, 16.4), ring(0.0, 199.4, 4.4) + ring(195.0, 199.4, 100.6 - 5.0)
    assert found.stages[2].chips_kg == pytest.approx(DENSITY * (end + inside), rel=1e-4)
    assert found.stage("second side").path.bounds[2] == 0.0

"""The tyre of a wheel: what its size means for rim and load, and its ring against arms and dampers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely.affinity import rotate
from shapely.geometry import Polygon

from app.project.project import Material, Project
from app.project.tyres import TyreError
from app.project.wheel import SizeCode, Wheel
from app.reports.content import build_content
from app.studies.fit import measure_wheel
from app.studies.road import Road, on_the_road, whole_state
from app.studies.tyre import (
    Finding,
    Word,
    few_tyres,
    on_tyre,
    tyre_findings,
    tyre_ring,
    value_words,
    worst_word,
)
from geometry.readings.conditions import Conditions
from geometry.readings.rules import GapRule, RuleSet, State, worst
from geometry.shape.outline import (
    Answer,
    Corner,
    Extent,
    Grade,
    Known,
    Motion,
    NamedOutline,
    ShapeKind,
    SourceCard,
    StayOut,
)
from geometry.shape.section import Vertex, Zone

ROWS = (
    (90.0, 206.0, Zone.WELL),
    (-100.0, 206.0, Zone.INNER_LIP),
    (-100.0, 200.0, Zone.BARREL),
    (60.0, 200.0, Zone.SPOKE_BACK),
    (60.0, 80.0, Zone.SPOKE_BACK),
    (0.0, 80.0, Zone.HUB_PAD),
    (0.0, 40.0, Zone.BORE),
    (90.0, 40.0, Zone.SPOKE_FACE),
)
WHEEL = Wheel(
    "W",
    SizeCode(18, 8.5),
    40.0,
    tuple(Vertex(z, r, zone=zone) for z, r, zone in ROWS),
    rules="R",
    load_kg=650.0,
    tyre="245/40R18 97Y",
)
SAID = Answer(Known.ANSWERED, "said", "test")
CARD = SourceCard(
    grade=Grade.DRAWING,
    datum_checked_by="test",
    unit=SAID,
    zero_face=SAID,
    whole_body=SAID,
    gap_included=SAID,
    disc_and_pads=SAID,
)
RULES = RuleSet("R", gap=(GapRule(4.0, 2.0, 0.5, ShapeKind.ARM), GapRule(6.0, 3.0, 0.5)))

# 245/40R18 on 8.5: S = 245 + 0.4 (215.9 - 208.25) = 248.06 (UN R30, T31), overall diameter 653.2 (T30). 4 %
# larger: half width 128.9912 about the rim centre plane at z -40, radius 12.7 x 18 + 1.04 x 98 = 330.52. D of
# code 18 is 462.0 (T02).
INNER, OUTER, TOP, BEAD = -168.9912, 88.9912, 330.52, 231.0


def box(z0: float, z1: float, r0: float, r1: float) -> tuple[Corner, ...]:
    return (Corner(z0, r0), Corner(z1, r0), Corner(z1, r1), Corner(z0, r1))


def body(
    name: str, kind: ShapeKind, corners: tuple[Corner, ...], card: SourceCard = CARD, swept: bool = True
) -> StayOut:
    return StayOut(
        name,
        (NamedOutline("straight", corners),),
        kind=kind,
        motion=Motion.AGAINST_KNUCKLE if swept else Motion.WITH_KNUCKLE,
        swept=True if swept else None,
        card=card,
        extent=Extent(ends_inboard=True, ends_outboard=True, confirmed_by="test"),
    )


def held(*shapes: StayOut, wheel: Wheel = WHEEL, rules: RuleSet = RULES) -> tuple[Project, Wheel]:
    wheel = replace(wheel, clears=tuple(s.name for s in shapes))
    parts = Project("P", wheels=(wheel,), shapes=shapes, rule_sets=(rules,), materials=(Material("6061-T6"),))
    return parts, wheel


def road(*shapes: StayOut, wheel: Wheel = WHEEL, rules: RuleSet = RULES) -> Road:
    project, wheel = held(*shapes, wheel=wheel, rules=rules)
    measured = measure_wheel(project, wheel)
    found = on_the_road(project, wheel, measured)
    assert found is not None, measured.faults
    return found


def by_key(wheel: Wheel, key: str) -> Finding:
    return next(f for f in tyre_findings(wheel) if f.key == key)


# Size


@pytest.mark.parametrize(
    ("tyre", "code", "word"),
    [
        # T35, published: a tyre-size page that quotes the ETRTO manual.
        ("195/65R15", 7.5, Word.WRONG),
        ("195/65R15", 7.0, Word.FINE),
        # T36, from memory.
        ("245/40R18", 10.0, Word.WRONG),
        ("245/40R18", 9.5, Word.FINE),
        ("245/40R18", 8.0, Word.FINE),
        ("245/40R18", 7.5, Word.WRONG),
        ("395/30R18", 13.0, Word.LOOK),
    ],
)
def test_t35_t36_rim_width_against_the_approved_range(tyre: str, code: float, word: Word) -> None:
    found = by_key(replace(WHEEL, tyre=tyre, size=SizeCode(15, code)), "rim width")
    assert found.word is word


def test_a_range_from_memory_says_so() -> None:
    assert "from memory" in by_key(WHEEL, "rim width").text
    assert "from memory" in by_key(WHEEL, "rim width").source
    published = by_key(replace(WHEEL, tyre="195/65R15"), "rim width")
    assert "memory" not in published.text + published.source
    assert "secondary" in published.source


def test_a_rim_off_the_range_is_told_by_how_much() -> None:
    assert "10, is 0.5 too wide" in by_key(replace(WHEEL, size=SizeCode(18, 10)), "rim width").text
    assert "7, is 1 too narrow" in by_key(replace(WHEEL, size=SizeCode(18, 7)), "rim width").text


def test_another_rim_diameter_is_wrong() -> None:
    assert by_key(WHEEL, "rim diameter").word is Word.FINE
    found = by_key(replace(WHEEL, size=SizeCode(19, 8.5)), "rim diameter")
    assert found.word is Word.WRONG
    assert "fits a rim of 18; this rim is 19" in found.text


@pytest.mark.parametrize(
    ("tyre", "load", "word", "words"),
    [
        # T29, published: load index 91 carries 615, 97 carries 730.
        ("245/40R18 91Y", 615.0, Word.FINE, "carries 615 kg"),
        ("245/40R18 91Y", 615.1, Word.WRONG, "0.1 kg less than the wheel load of 615.1 kg"),
        ("245/40R18 97Y", None, Word.LOOK, "wheel load is not known"),
        ("245/40R18", 690.0, Word.LOOK, "asks for 95 or more"),
        ("245/40R18", 1100.0, Word.LOOK, "more than the table holds"),
        ("245/40R18 120Y", 690.0, Word.LOOK, "not in the table"),
    ],
)
def test_t29_load_index_against_the_wheel_load(tyre: str, load: float | None, word: Word, words: str) -> None:
    found = by_key(replace(WHEEL, tyre=tyre, load_kg=load), "load")
    assert found.word is word
    assert words in found.text


def test_no_tyre_and_nonsense_are_one_finding() -> None:
    (none,) = tyre_findings(replace(WHEEL, tyre=" "))
    (nonsense,) = tyre_findings(replace(WHEEL, tyre="round and black"))
    assert (none.word, nonsense.word) == (Word.LOOK, Word.WRONG)
    assert "'round and black' is not a tyre size" in nonsense.text


def test_values_are_shown_in_the_projects_unit() -> None:
    diameter = by_key(WHEEL, "overall diameter")
    # T30: 653.2 mm, 25.72 in.
    assert (value_words(diameter, "mm"), value_words(diameter, "in")) == ("653.2", "25.72")
    assert value_words(by_key(WHEEL, "section width"), "mm") == "248"  # T31
    assert value_words(by_key(WHEEL, "measuring rim"), "in") == "8.5"
    assert worst_word(tyre_findings(WHEEL)) is Word.FINE


def test_a_change_of_diameter_that_leaves_few_tyres_is_warned_of() -> None:
    """The table holds two of 245 in 18, one in 19, none in 16 (counted by eye)."""
    assert few_tyres(WHEEL, 18) == ""
    assert "245 wide 1 in 19 (245/35R19)" in few_tyres(WHEEL, 19)
    assert "245 wide none in 16" in few_tyres(WHEEL, 16)
    assert few_tyres(replace(WHEEL, tyre="235/40R18"), 18) == ""
    assert few_tyres(replace(WHEEL, tyre="245/35R19"), 18) == ""
    assert few_tyres(replace(WHEEL, tyre="what"), 19) == ""


# Ring


def test_the_ring_is_section_width_and_overall_diameter_with_growth() -> None:
    ring = tyre_ring(WHEEL)
    assert ring.bounds == pytest.approx((INNER, OUTER, BEAD, TOP), abs=1e-9)
    bare = tyre_ring(replace(WHEEL, tyre_growth_percent=0.0, spacer_mm=5.0, inset_mm=45.0))
    # The rim centre plane stays at z -40; T30 and T31 without growth.
    assert bare.bounds == pytest.approx((-164.0, 84.0, BEAD, 326.6), abs=0.07)


def test_a_tyre_for_another_rim_has_no_ring() -> None:
    with pytest.raises(TyreError, match="fits a rim of 18"):
        tyre_ring(replace(WHEEL, size=SizeCode(17, 8.5)))


@pytest.mark.parametrize(
    ("corners", "gap"),
    [
        (box(INNER - 40.0, INNER - 7.0, 250.0, 300.0), 7.0),  # beside it
        (box(-80.0, 0.0, TOP + 6.25, 380.0), 6.25),  # above it
        # Beyond a corner: from the round shoulder's centre, 15 in from either side, less its radius.
        (box(INNER - 40.0, INNER, TOP, TOP + 30.0), 15.0 * 2.0**0.5 - 15.0),
    ],
)
def test_the_gap_to_an_arm_is_that_of_the_ring(corners: tuple[Corner, ...], gap: float) -> None:
    found = road(body("Arm", ShapeKind.ARM, corners))
    (row,) = found.tyre.rows
    assert row.least_mm == pytest.approx(gap, abs=1e-6)
    ring = Polygon(tyre_ring(WHEEL).flattened(1e-4))
    shape = Polygon(np.array([(c.z, c.r) for c in corners]))
    assert row.least_mm == pytest.approx(ring.distance(shape), abs=1e-3)  # shapely on the same outlines


def test_the_rule_is_the_stricter_of_the_kinds_and_that_of_anything_else() -> None:
    """The arm's own rule asks 4; a tyre needs 6 to any part (an authority's guide value, 6 mm)."""
    near = body("Arm", ShapeKind.ARM, box(INNER - 40.0, INNER - 5.0, 250.0, 300.0))
    (row,) = road(near).tyre.rows
    assert row.required_mm == 6.0
    assert row.state is State.SHORT
    (alone,) = road(near, rules=RuleSet("R", gap=(GapRule(4.0, 2.0, 0.5, ShapeKind.ARM),))).tyre.rows
    assert alone.required_mm == 4.0
    assert alone.state is State.CLEAR


@pytest.mark.parametrize("conditions", [None, "C"])
def test_a_tyre_that_runs_into_an_arm_makes_the_wheel_touching(conditions: str | None) -> None:
    arm = body("Arm", ShapeKind.ARM, box(INNER - 40.0, INNER + 3.0, 250.0, 300.0))
    project, wheel = held(arm, wheel=replace(WHEEL, conditions=conditions))
    project = replace(project, conditions=(Conditions("C"),))
    measured = measure_wheel(project, wheel)
    assert measured.measurements is not None
    assert measured.measurements.state is not State.TOUCHING  # the bare wheel clears it
    found = on_the_road(project, wheel, measured)
    assert found is not None
    assert found.state is State.TOUCHING
    assert whole_state(measured, found) is State.TOUCHING
    (row,) = found.tyre.rows
    assert row.least_mm == pytest.approx(-3.0, abs=0.01)
    assert row.move_axial_mm == pytest.approx(-3.0, abs=0.02)


def test_a_body_of_which_something_is_open_is_not_known() -> None:
    far = box(INNER - 60.0, INNER - 30.0, 250.0, 300.0)
    unsaid = replace(body("Arm", ShapeKind.ARM, far), swept=None)
    (row,) = road(unsaid).tyre.rows
    assert row.state is State.NOT_KNOWN
    unseen = replace(body("Arm", ShapeKind.ARM, far), extent=Extent(confirmed_by="test"))
    (row,) = road(unseen).tyre.rows
    assert row.state is State.NOT_KNOWN
    assert any("outboard of" in question for question in row.questions)


def test_error_and_included_gap_of_the_shape_count() -> None:
    card = replace(CARD, error_mm=0.5, included_gap_mm=1.0)
    arm = body("Arm", ShapeKind.ARM, box(INNER - 40.0, INNER - 7.0, 250.0, 300.0), card)
    (row,) = road(arm).tyre.rows
    assert row.spare_mm == pytest.approx(7.0 - 0.5 + 1.0 - 6.0)


# Worst state


def on_conditions(arm: StayOut, conditions: Conditions, tyre: str = WHEEL.tyre) -> Road:
    project, wheel = held(arm, wheel=replace(WHEEL, conditions=conditions.name, tyre=tyre))
    project = replace(project, conditions=(conditions,))
    found = on_the_road(project, wheel, measure_wheel(project, wheel))
    assert found is not None
    return found


CALM = Conditions(
    "C",
    camber_deg=0.0,
    axial_run_out_mm=0.0,
    radial_run_out_mm=0.0,
    inset_mm=0.0,
    spacer_mm=0.0,
    surface_mm=0.0,
    coating_mm=0.0,
    wheel_hot_k=0.0,
    brake_hot_k=0.0,
    spread_mm=0.0,
)


def test_without_effects_the_worst_state_is_the_drawing_and_meets_the_rules_second_part() -> None:
    arm = body("Arm", ShapeKind.ARM, box(INNER - 40.0, INNER - 7.0, 250.0, 300.0))
    (row,) = on_conditions(arm, CALM).tyre.worst
    assert row.worst_mm == pytest.approx(7.0, abs=1e-6)
    assert row.required_mm == 3.0  # of the rule for anything else: 6 on paper, 3 in the worst state
    assert row.spare_mm == pytest.approx(4.0, abs=1e-6)


def test_the_tilted_ring_is_that_of_a_moved_polygon() -> None:
    """Camber alone, both ways: shapely's distance from a fine polygon turned about the bearing's centre."""
    corners = box(INNER - 40.0, INNER - 7.0, 250.0, 300.0)
    conditions = replace(CALM, camber_deg=1.0)
    (row,) = on_conditions(body("Arm", ShapeKind.ARM, corners), conditions).tyre.worst
    ring, arm = Polygon(tyre_ring(WHEEL).flattened(1e-4)), Polygon([(c.z, c.r) for c in corners])
    centre = (conditions.bearing_z_mm, 0.0)
    turned = [rotate(ring, angle, origin=centre).distance(arm) for angle in (-1.0, 1.0)]
    assert row.worst_mm == pytest.approx(min(turned), abs=2e-3)
    assert row.worst_mm < 3.0  # 1 degree at r 300 is 5.2 mm of 7


def test_a_worst_state_that_is_short_makes_a_wheel_short_that_is_clear_on_paper() -> None:
    arm = body("Arm", ShapeKind.ARM, box(INNER - 40.0, INNER - 7.0, 250.0, 300.0))
    found = on_conditions(arm, replace(CALM, camber_deg=1.0)).tyre
    assert [row.state for row in found.rows] == [State.CLEAR]
    assert [row.state for row in found.worst] == [State.SHORT]
    assert State.SHORT in found.states


@pytest.mark.parametrize(
    ("tyre", "state"),
    [
        ("245/40R18 97Y", State.CLEAR),
        ("245/40R18 91Y", State.SHORT),  # T29: 91 carries 615 kg, the wheel load is 650
        ("245/40R17 97Y", State.SHORT),  # for another rim
    ],
)
def test_a_tyre_that_is_wrong_for_rim_or_load_never_leaves_a_wheel_clear(tyre: str, state: State) -> None:
    far = body("Arm", ShapeKind.ARM, box(INNER - 90.0, INNER - 60.0, 250.0, 300.0))
    found = on_conditions(far, CALM, tyre)
    assert worst(found.tyre.states) is state
    assert (found.state is State.SHORT) == (state is State.SHORT)


# What is judged


def test_nothing_but_a_caliper_leaves_the_tyre_not_judged() -> None:
    caliper = body("Caliper", ShapeKind.CALIPER, box(-60.0, 50.0, 120.0, 190.0), swept=False)
    found = road(caliper)
    assert found.tyre.rows == ()
    assert found.tyre.judged == "Tyre to body and suspension not judged."


def test_what_was_judged_and_what_is_not_given_is_said() -> None:
    far = box(INNER - 60.0, INNER - 30.0, 250.0, 300.0)
    arm = body("Arm", ShapeKind.ARM, far)
    damper = body("Damper", ShapeKind.DAMPER, far)
    liner = body("Liner", ShapeKind.OTHER, far)
    assert road(arm).tyre.judged == ("Tyre judged against Arm; not against damper, liner or body: not given.")
    assert road(arm, damper, liner).tyre.judged == "Tyre judged against Arm, Damper, Liner."
    knuckle = road(body("Knuckle", ShapeKind.KNUCKLE, far, swept=False))
    assert len(knuckle.tyre.rows) == 1
    assert knuckle.tyre.judged == "Tyre to body and suspension not judged."


def test_a_tyre_that_cannot_be_read_is_not_judged_and_says_why() -> None:
    arm = body("Arm", ShapeKind.ARM, box(INNER - 60.0, INNER - 30.0, 250.0, 300.0))
    none, nonsense = (road(arm, wheel=replace(WHEEL, tyre=t)).tyre for t in ("", "what"))
    assert none.rows == nonsense.rows == ()
    assert none.judged == "Tyre to body and suspension not judged: no tyre is stated."
    assert nonsense.judged.startswith("Tyre to body and suspension not judged: 'what' is not a tyre size")


def test_a_wheel_with_a_missing_part_has_no_ring_rows() -> None:
    project, wheel = held(body("Arm", ShapeKind.ARM, box(-300.0, -250.0, 250.0, 300.0)))
    measured = measure_wheel(project, wheel)
    assert measured.outline is not None
    found = on_tyre(project, replace(wheel, material="none such"), measured.outline)
    assert (found.rows, found.judged) == ((), "Tyre to body and suspension not judged.")


# Report


def test_the_reports_first_line_and_tables_say_how_the_tyre_was_judged() -> None:
    arm = body("Arm", ShapeKind.ARM, box(INNER - 40.0, INNER - 7.0, 250.0, 300.0))
    project, wheel = held(arm, wheel=replace(WHEEL, conditions="C", tyre="245/40R18 91Y"))
    project = replace(project, conditions=(CALM,))
    content = build_content(project, wheel, measure_wheel(project, wheel))
    assert (
        content.judged == "Arm only. Tyre judged against Arm; not against damper, liner or body: not given."
    )
    tables = {table.title: table for table in content.tables}
    cells = [row.cells for row in tables["Tyre 245/40R18 91Y"].rows]
    # T31: section width 248 on 8.5; T30: overall diameter 653.2; T29: index 91 carries 615 kg.
    assert {cell[0]: cell[1] for cell in cells}["Section width"] == "248 mm"
    assert {cell[0]: cell[1] for cell in cells}["Overall diameter"] == "653.2 mm"
    assert any("35 kg less than the wheel load of 650 kg" in cell[4] for cell in cells)
    read = [row.cells[:3] for row in tables["Tyre to body and suspension"].rows]
    assert sorted(cell[1] for cell in read) == ["on paper", "worst state"]
    assert content.state is State.SHORT
    assert "35 kg less" in content.hold_back


def test_a_report_without_a_part_for_the_tyre_says_that_it_is_not_judged() -> None:
    caliper = body("Caliper", ShapeKind.CALIPER, box(-60.0, 50.0, 120.0, 190.0), swept=False)
    project, wheel = held(caliper)
    content = build_content(project, wheel, measure_wheel(project, wheel))
    assert content.judged == "Brake only. Tyre to body and suspension not judged."
    assert "Tyre to body and suspension" not in [table.title for table in content.tables]

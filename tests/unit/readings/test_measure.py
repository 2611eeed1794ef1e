"""What a reading says: states, rules, what is not known, extents, ring bodies, stock and blank."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from geometry.readings.measure import GapRow, Held, Ring, measure
from geometry.readings.missing import missing_parts
from geometry.readings.rules import GapRule, RuleSet, State, StockRule, WallRule, judge, worst
from geometry.shape.curve import Path
from geometry.shape.outline import (
    Answer,
    Corner,
    Extent,
    Grade,
    Known,
    Motion,
    NamedOutline,
    Reach,
    ShapeKind,
    SourceCard,
    StayOut,
    ZeroFace,
    outline_path,
)
from geometry.shape.section import Outline, Section, Vertex, Zone, build

YES = Answer(Known.ANSWERED, "yes", "test")
CARD = SourceCard(
    grade=Grade.DRAWING,
    datum_checked_by="test",
    datum_checked_on="2026-01-15",
    unit=YES,
    zero_face=YES,
    whole_body=YES,
    gap_included=YES,
    disc_and_pads=YES,
)
SEEN = Extent(ends_inboard=True, ends_outboard=True, confirmed_by="test")
RULES = RuleSet(
    "test",
    gap=(
        GapRule(3.0, 0.5, 0.7, ShapeKind.CALIPER),
        GapRule(4.0, 2.0, 0.5, ShapeKind.TIE_ROD),
        GapRule(6.0, 3.0, 0.5),
        GapRule(5.0, 1.0, 0.5, ShapeKind.CALIPER, Zone.SPOKE_BACK),
    ),
    wall=(WallRule(Zone.BARREL, 5.0, 0.5),),
    stock=(StockRule(2.0, 0.1), StockRule(3.0, 0.1, Zone.OUTER_LIP)),
)


def wheel() -> Outline:
    """A sharp-cornered wheel: barrel r 200..206 from z -100 to 60, disc z 60..90 from r 40 to 206."""
    rows = [
        (90.0, 206.0, Zone.WELL),
        (-100.0, 206.0, Zone.INNER_LIP),
        (-100.0, 200.0, Zone.BARREL),
        (60.0, 200.0, Zone.SPOKE_BACK),
        (60.0, 80.0, Zone.HUB_PAD),
        (60.0, 40.0, Zone.BORE),
        (90.0, 40.0, Zone.SPOKE_FACE),
    ]
    built = build(Section(tuple(Vertex(z, r, zone=zone) for z, r, zone in rows)))
    assert isinstance(built, Outline)
    return built


def box(z0: float, z1: float, r0: float, r1: float) -> tuple[Corner, ...]:
    return (Corner(z0, r0), Corner(z1, r0), Corner(z1, r1), Corner(z0, r1))


def shape(*boxes: tuple[float, float, float, float], **changes: object) -> StayOut:
    outlines = tuple(NamedOutline(f"position {k + 1}", box(*b)) for k, b in enumerate(boxes))
    return replace(StayOut("S", outlines, card=CARD, extent=SEEN), **changes)  # type: ignore[arg-type]


def held(*shapes: StayOut, rules: RuleSet | None = RULES, **changes: object) -> Held:
    pairs = []
    for s in shapes:
        paths = tuple(outline_path(o.corners) for o in s.outlines)
        pairs.append((s, tuple(p for p in paths if isinstance(p, Path))))
    return replace(Held(tuple(pairs), rules), **changes)  # type: ignore[arg-type]


def rows(*shapes: StayOut, **changes: object) -> dict[str, GapRow]:
    return {r.zone: r for r in measure(wheel(), held(*shapes, **changes)).gap if not r.body}  # type: ignore[arg-type]


CALIPER = (-60.0, 50.0, 120.0, 190.0)  # 10 under the barrel, 10 inboard of the spoke back


def test_gap_per_zone_with_its_parts_and_the_rule_that_fits_best() -> None:
    found = rows(shape(CALIPER))
    barrel, back = found["barrel"], found["spoke back"]
    assert barrel.least_mm == pytest.approx(10.0)
    assert (barrel.radial_mm, barrel.axial_mm) == pytest.approx((-10.0, 0.0))
    assert barrel.required_mm == 3.0
    assert barrel.worst_mm == 0.5
    assert back.required_mm == 5.0  # the rule of kind and zone beats the rule of the kind
    assert back.spare_mm == pytest.approx(5.0)
    assert (back.radial_mm, back.axial_mm) == pytest.approx((0.0, -10.0))
    assert barrel.state is State.CLEAR


def test_the_hub_pad_is_read_and_the_tyre_side_is_not() -> None:
    found = rows(shape(CALIPER))
    assert "hub pad" in found
    assert "well" not in found  # only skin on the tyre side bears this zone here
    assert found["hub pad"].least_mm == pytest.approx(math.hypot(10.0, 40.0))


@pytest.mark.parametrize(
    ("top", "state"),
    [(196.0, State.CLEAR), (196.5, State.TIGHT), (197.5, State.SHORT), (201.0, State.TOUCHING)],
)
def test_states_by_spare_and_reserve(top: float, state: State) -> None:
    assert rows(shape((-60.0, 30.0, 120.0, top)))["barrel"].state is state


def test_the_stated_error_is_taken_off_before_judging_and_the_reading_stays() -> None:
    row = rows(shape((-60.0, 30.0, 120.0, 196.0), card=replace(CARD, error_mm=1.5)))["barrel"]
    assert row.least_mm == pytest.approx(4.0)
    assert row.spare_mm == pytest.approx(4.0 - 1.5 - 3.0)
    assert row.state is State.SHORT


def test_a_gap_already_included_counts_for_the_body_not_against_the_rule() -> None:
    row = rows(shape((-60.0, 30.0, 120.0, 199.0), card=replace(CARD, included_gap_mm=3.0)))["barrel"]
    assert row.required_mm == 3.0
    assert row.spare_mm == pytest.approx(1.0 + 3.0 - 3.0)


@pytest.mark.parametrize("question", ["unit", "zero_face", "whole_body", "gap_included", "disc_and_pads"])
def test_any_open_answer_makes_every_reading_not_known(question: str) -> None:
    opened: dict[str, Any] = {question: Answer()}
    found = rows(shape(CALIPER, card=replace(CARD, **opened)))
    assert {r.state for r in found.values()} == {State.NOT_KNOWN}
    assert all(r.least_mm > 0.0 and r.questions for r in found.values())


def test_an_unchecked_datum_is_never_clear() -> None:
    assert rows(shape(CALIPER, card=replace(CARD, datum_checked_by="")))["barrel"].state is State.NOT_KNOWN


def test_an_unknown_rest_of_the_body_makes_only_the_zones_near_it_not_known() -> None:
    """Drawn from z -20 on: whatever faces the rest inboard is not known, however low the drawn part."""
    cut = replace(SEEN, ends_inboard=False)
    low = rows(shape((-20.0, 50.0, 120.0, 190.0), extent=cut))
    assert low["barrel"].state is State.NOT_KNOWN
    assert low["barrel"].least_mm == pytest.approx(10.0)
    assert "inboard of z -20.0" in low["barrel"].questions[0]
    assert low["spoke back"].state is State.CLEAR
    assert low["hub pad"].state is State.CLEAR


def test_half_a_caliper_leaves_the_whole_inner_barrel_open() -> None:
    """Only the outboard half was drawn: barrel and inner lip opposite the other half are never clear."""
    found = rows(shape((0.0, 50.0, 120.0, 180.0), extent=replace(SEEN, ends_inboard=False)))
    assert {found[z].state for z in ("barrel", "inner lip")} == {State.NOT_KNOWN}


@pytest.mark.parametrize(
    ("cut", "zone", "other"),
    [({"cut_r_high": 185.0}, "barrel", "hub pad"), ({"cut_r_low": 130.0}, "hub pad", "barrel")],
)
def test_beyond_a_cut_in_r_nothing_is_known(cut: dict[str, Any], zone: str, other: str) -> None:
    wide = replace(SEEN, z_low=-100.0, z_high=65.0, **cut)
    found = rows(shape((-60.0, 30.0, 120.0, 190.0), extent=wide))
    assert found[zone].state is State.NOT_KNOWN
    assert found[other].state is State.CLEAR


def test_a_ring_body_before_the_unseen_part_is_not_known() -> None:
    band = Ring("band", Path.closed([(-90.0, 195.0), (-70.0, 195.0), (-70.0, 200.0), (-90.0, 200.0)]))
    half = shape((-20.0, 50.0, 120.0, 190.0), extent=replace(SEEN, ends_inboard=False))
    ring = next(r for r in measure(wheel(), held(half, rings=(band,))).gap if r.body)
    assert ring.state is State.NOT_KNOWN


def test_a_body_measured_at_one_plane_is_never_clear() -> None:
    card = replace(CARD, r_over=Reach.ONE_PLANE)
    assert rows(shape(CALIPER, card=card))["barrel"].state is State.NOT_KNOWN


def test_an_open_zero_face_shows_the_reading_of_both_answers() -> None:
    """Hat 7: 10.0 to the spoke back if the wheel's face is zero; the shape moves inboard if it is the hub."""
    card = replace(CARD, zero_face=Answer(), hat_mm=7.0)
    row = rows(shape(CALIPER, card=card))["spoke back"]
    assert row.state is State.NOT_KNOWN
    assert any("10.0 mm if face the wheel bears on, 17.0 mm if hub flange" in q for q in row.questions)


def test_the_hat_moves_a_shape_whose_zero_is_the_hub_flange() -> None:
    card = replace(CARD, zero_at=ZeroFace.HUB_FLANGE, hat_mm=7.0)
    assert shape(CALIPER, card=card).shift_mm == -7.0
    assert shape(CALIPER, card=replace(card, zero_at=ZeroFace.BEARING)).shift_mm == 0.0
    assert rows(shape(CALIPER, card=replace(card, hat_mm=None)))["barrel"].state is State.NOT_KNOWN


def test_a_tie_rod_cannot_steer_with_the_wheel() -> None:
    rod = shape((-60.0, -40.0, 170.0, 190.0), kind=ShapeKind.TIE_ROD)
    assert rows(rod)["barrel"].state is State.NOT_KNOWN


def test_a_rule_set_without_a_rule_for_the_shape_is_not_known() -> None:
    only_rods = replace(RULES, gap=(GapRule(4.0, 2.0, 0.5, ShapeKind.TIE_ROD),))
    found = measure(wheel(), held(shape(CALIPER), rules=only_rods))
    assert found.state is State.NOT_KNOWN
    assert any("No gap rule for a caliper at" in q for q in found.questions)
    blank = Path.closed([(-110.0, 0.0), (100.0, 0.0), (100.0, 220.0), (-110.0, 220.0)])
    bare = measure(wheel(), held(shape(CALIPER), rules=replace(RULES, stock=()), blank=blank, blank_name="B"))
    assert bare.state is State.NOT_KNOWN


def test_of_two_rules_alike_the_stricter_holds() -> None:
    twice = replace(RULES, gap=(*RULES.gap, GapRule(9.5, 0.5, 0.1, ShapeKind.CALIPER)))
    assert rows(shape(CALIPER), rules=twice)["barrel"].required_mm == 9.5
    upside_down = replace(RULES, gap=(GapRule(0.0, 30.0, 0.5),))
    assert rows(shape(CALIPER), rules=upside_down)["barrel"].state is State.SHORT


def test_an_end_nobody_saw_outboard_makes_the_spoke_back_not_known() -> None:
    found = rows(shape(CALIPER, extent=replace(SEEN, ends_outboard=False)))
    assert found["spoke back"].state is State.NOT_KNOWN


def test_a_shape_that_moves_against_the_knuckle_must_be_swept() -> None:
    rod = shape((-60.0, -40.0, 170.0, 190.0), kind=ShapeKind.TIE_ROD, motion=Motion.AGAINST_KNUCKLE)
    assert rows(rod)["barrel"].state is State.NOT_KNOWN
    assert rows(replace(rod, swept=False))["barrel"].state is State.NOT_KNOWN
    assert rows(replace(rod, swept=True))["barrel"].state is State.CLEAR


def test_the_deciding_position_is_named() -> None:
    """Straight ahead 4.3 would pass the rule of 4.0; at lock 1.9 does not."""
    rod = shape(
        (-60.0, -40.0, 170.0, 195.7),
        (-60.0, -40.0, 172.4, 198.1),
        kind=ShapeKind.TIE_ROD,
        motion=Motion.AGAINST_KNUCKLE,
        swept=True,
    )
    row = rows(rod)["barrel"]
    assert row.least_mm == pytest.approx(1.9)
    assert row.position == "position 2"
    assert row.state is State.SHORT


def test_no_shape_or_no_rules_is_not_known() -> None:
    assert measure(wheel(), held()).state is State.NOT_KNOWN
    without = measure(wheel(), held(shape(CALIPER), rules=None))
    assert without.state is State.NOT_KNOWN
    assert all(r.required_mm is None and r.spare_mm is None and r.state is None for r in without.gap)


def test_a_section_that_may_hide_ribs_makes_the_spoke_back_not_known() -> None:
    for said in (False, None):
        assert rows(shape(CALIPER), envelope=said)["spoke back"].state is State.NOT_KNOWN
    assert rows(shape(CALIPER), envelope=True)["spoke back"].state is State.CLEAR


def test_touching_says_how_deep_and_how_far_to_move() -> None:
    row = rows(shape((-60.0, 30.0, 120.0, 203.0)))["barrel"]
    assert row.state is State.TOUCHING
    assert row.least_mm == pytest.approx(-3.0, abs=0.01)
    assert row.move_radial_mm == pytest.approx(-3.0)


def test_a_ring_body_counts_in_the_gap_and_not_in_the_wall() -> None:
    band = Ring("weight band", Path.closed([(-30.0, 195.5), (-10.0, 195.5), (-10.0, 200.0), (-30.0, 200.0)]))
    bare = measure(wheel(), held(shape(CALIPER)))
    found = measure(wheel(), held(shape(CALIPER), rings=(band,)))
    ring = next(r for r in found.gap if r.body == "weight band")
    assert ring.least_mm == pytest.approx(5.5)
    assert ring.zone == "barrel"
    assert found.wall == bare.wall


def test_wall_rows_judge_by_the_rule_of_their_zone() -> None:
    found = {r.zone: r for r in measure(wheel(), held(shape(CALIPER))).wall}
    assert found["barrel"].least_mm == pytest.approx(6.0)
    assert found["barrel"].state is State.CLEAR
    assert found["well"].least_mm == pytest.approx(6.0)  # the other contact's zone
    assert found["well"].state is None
    assert found["spoke face"].least_mm == pytest.approx(30.0)


def test_stock_by_zone_and_side_less_the_skin() -> None:
    blank = Path.closed([(-104.0, 0.0), (95.0, 0.0), (95.0, 209.5), (-104.0, 209.5)])
    found = measure(wheel(), held(shape(CALIPER), blank=blank, blank_name="B", skin_mm=0.5))
    by = {(r.zone, r.side): r for r in found.stock}
    assert by["well", "tyre"].least_mm == pytest.approx(3.0)
    assert by["well", "tyre"].spare_mm == pytest.approx(1.0)
    assert by["spoke face", "street"].least_mm == pytest.approx(3.0)  # its corner is 3.5 below the top
    assert found.blank is not None
    assert found.blank.chips_kg == pytest.approx(found.blank.mass_kg - found.solid.mass_kg)
    assert found.blank.mass_kg == pytest.approx(math.pi * 209.5**2 * 199.0 * 2712.6e-9, rel=1e-12)
    assert (found.blank.missing_mm2, found.blank.missing_mm3) == (0.0, 0.0)


def test_missing_metal_where_the_blank_is_too_small() -> None:
    """The disc sticks out by 2 mm over r 40..206: 332 mm2, and that ring's volume."""
    blank = Path.closed([(-104.0, 0.0), (88.0, 0.0), (88.0, 209.5), (-104.0, 209.5)])
    found = measure(wheel(), held(shape(CALIPER), blank=blank, blank_name="B"))
    by = {(r.zone, r.side): r for r in found.stock}
    assert by["spoke face", "street"].least_mm == pytest.approx(-2.0, abs=0.01)
    assert by["spoke face", "street"].state is State.SHORT
    assert found.blank is not None
    assert found.blank.missing_mm2 == pytest.approx(332.0, abs=0.01)
    assert found.blank.missing_mm3 == pytest.approx(math.pi * (206.0**2 - 40.0**2) * 2.0, rel=1e-6)
    # What is drawn of it: the same ring, and 1 mm more of it where that much of the blank is skin.
    for skin_mm, deep_mm in ((0.0, 2.0), (1.0, 3.0)):
        (part,) = missing_parts(wheel().path, blank, skin_mm)
        (z_low, r_low), (z_high, r_high) = part.min(axis=0), part.max(axis=0)
        assert (z_high - z_low, r_low, r_high) == pytest.approx((deep_mm, 40.0, 206.0), abs=1e-6)


def test_worst_state_and_judgement() -> None:
    assert worst(()) is State.NOT_KNOWN
    assert worst((State.CLEAR, State.TIGHT, State.NOT_KNOWN)) is State.NOT_KNOWN
    assert worst((State.SHORT, State.NOT_KNOWN)) is State.SHORT
    assert judge(0.0, 0.5) is State.TIGHT
    # A millionth of a millimetre is rounding: what is made to a rule exactly misses it so.
    assert judge(-1e-9, 0.5) is State.TIGHT
    assert judge(-1e-5, 0.5) is State.SHORT
    assert judge(5.0, 0.5, known=False) is State.NOT_KNOWN

"""A brake typed from a sheet: its outline grows where the sheet is silent, and stays open where it is."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely
from hypothesis import event, given
from hypothesis import strategies as st

from app.project.brake_sheet import MOST_POINTS, BrakeSheet, SheetError
from app.project.sheet_card import TYPED, stay_out
from app.project.sheet_outline import outline
from geometry.shape.curve import Path
from geometry.shape.outline import CarEnd, CarSide, Corner, Grade, Known, Reach, ZeroFace, outline_path

#: An invented outer half, from its lower edge up.
POINTS = (Corner(24.0, 116.0), Corner(46.0, 134.0), Corner(46.0, 176.0), Corner(36.0, 199.0))
SHEET = BrakeSheet(POINTS, 203.0, 1.0, largest_z_mm=-10.0, is_straight=True, inboard_z_mm=-30.0)
ALL_SAID = replace(
    SHEET,
    inboard_seen=True,
    lower_r_mm=116.0,
    zero_at=ZeroFace.HUB_FLANGE,
    hat_mm=7.0,
    hat_between=True,
    disc_mm=380.0,
    hat_height_mm=52.0,
    pads="new",
    side=CarSide.BOTH,
    end=CarEnd.FRONT,
    r_over=Reach.WHOLE,
    included_gap_mm=0.0,
    unit="mm",
    said_by="A. Sender",
    grade=Grade.DRAWING,
)


def places(sheet: BrakeSheet) -> set[tuple[float, float]]:
    return {(round(c.z, 6), round(c.r, 6)) for c in outline(sheet).corners}


def path_of(sheet: BrakeSheet) -> Path:
    found = outline_path(outline(sheet).corners)
    assert isinstance(found, Path)
    return found


def refused(sheet: BrakeSheet) -> SheetError:
    with pytest.raises(SheetError) as error:
        outline(sheet)
    return error.value


# Growing


def test_above_the_last_corner_point_it_goes_straight_out_to_the_largest_radius() -> None:
    grown = outline(SHEET)
    assert places(SHEET) == {
        (-30.0, 116.0), (24.0, 116.0), (46.0, 134.0), (46.0, 176.0), (36.0, 199.0), (36.0, 203.0),
        (-30.0, 203.0),
    }  # fmt: skip
    assert grown.said == ("straight out to the largest radius 203.00 from z 36.00 mm inboard",)


def test_the_order_of_typing_does_not_matter() -> None:
    assert places(replace(SHEET, points=POINTS[::-1])) == places(SHEET)


def test_where_nobody_said_straight_the_outline_runs_round_the_boxes_of_neighbours() -> None:
    sheet = replace(SHEET, is_straight=False, largest_z_mm=None, largest_r_mm=199.0)
    assert places(sheet) == {
        (-30.0, 116.0), (46.0, 116.0), (46.0, 199.0), (-30.0, 199.0),
    }  # fmt: skip
    assert "stepped out between the corner points" in outline(sheet).said[0]


def test_a_largest_radius_without_a_place_may_be_anywhere_between_stepped_points() -> None:
    sheet = replace(SHEET, is_straight=False, largest_z_mm=None)
    assert (46.0, 203.0) in places(sheet)
    assert any("from z 46.00 mm inboard" in said for said in outline(sheet).said)


def test_without_an_inboard_end_it_ends_at_the_innermost_place() -> None:
    assert path_of(replace(SHEET, inboard_z_mm=None)).bounds == (-10.0, 46.0, 116.0, 203.0)


def test_a_largest_radius_that_nothing_reaches_takes_the_whole_width() -> None:
    """No place, and the last corner point is the inboard end: it can only be somewhere over the points."""
    leaning = (*POINTS[:3], Corner(20.0, 199.0))
    sheet = replace(SHEET, points=leaning, largest_z_mm=None, inboard_z_mm=None)
    assert path_of(sheet).bounds == (20.0, 46.0, 116.0, 203.0)
    assert (46.0, 203.0) in places(sheet)


def test_between_straight_corner_points_a_largest_radius_without_a_place_lies_inboard_of_them() -> None:
    sheet = replace(SHEET, largest_z_mm=None)
    assert places(sheet) == places(SHEET)


def test_a_largest_radius_beside_the_top_is_reached_where_it_was_typed() -> None:
    grown = outline(replace(SHEET, largest_z_mm=40.0))
    assert Corner(40.0, 203.0) in grown.corners
    assert any("from z 40.00 mm inboard: the corner points stay below it" in said for said in grown.said)


def test_a_lower_edge_below_the_corner_points_goes_straight_in_as_far_outboard_as_any() -> None:
    sheet = replace(SHEET, lower_r_mm=110.0)
    assert {(46.0, 110.0), (-30.0, 110.0), (46.0, 116.0)} <= places(sheet)
    assert any("straight in to the lower edge 110.00 at z 46.00 mm" in said for said in outline(sheet).said)


def test_a_corner_radius_is_kept_at_its_corner_and_left_off_where_it_would_lower_the_top() -> None:
    rounded = (*POINTS[:2], Corner(46.0, 176.0, 8.0), Corner(36.0, 203.0, 4.0))
    grown = outline(replace(SHEET, points=rounded, largest_z_mm=None, inboard_z_mm=-30.0))
    assert Corner(46.0, 176.0, 8.0) in grown.corners
    assert Corner(36.0, 203.0, 4.0) in grown.corners  # the flat beside it reaches the top
    peak = (Corner(24.0, 116.0), Corner(46.0, 134.0), Corner(10.0, 203.0, 6.0), Corner(-30.0, 150.0))
    sharp = outline(replace(SHEET, points=peak, largest_z_mm=None, inboard_z_mm=-30.0))
    assert Corner(10.0, 203.0) in sharp.corners
    assert any("corner radius at the top is left off" in said for said in sharp.said)
    assert path_of(replace(SHEET, points=peak, largest_z_mm=None)).bounds[3] == 203.0


def test_corner_radii_do_not_count_while_the_outline_is_stepped() -> None:
    grown = outline(replace(SHEET, is_straight=False, points=(*POINTS[:3], Corner(36.0, 199.0, 5.0))))
    assert all(c.radius == 0.0 for c in grown.corners)
    assert "corner radii are left off while the outline is stepped" in grown.said


coordinate = st.integers(0, 400).map(lambda k: k / 4.0)


@given(
    skin=st.lists(st.tuples(coordinate, coordinate), min_size=6, max_size=25, unique=True),
    kept=st.lists(st.integers(0, 24), min_size=3, max_size=12, unique=True),
    knows_place=st.booleans(),
    knows_edge=st.booleans(),
    inboard=st.sampled_from([None, -20.0]),
)
def test_no_brake_sticks_out_of_the_outline_of_its_sheet(
    skin: list[tuple[float, float]],
    kept: list[int],
    knows_place: bool,
    knows_edge: bool,
    inboard: float | None,
) -> None:
    """An outer half that leans back as it rises, of which a sheet names some places.

    Where nothing is claimed, inboard of the outline's end and below an edge that nobody gave, is left out.
    """
    zs = sorted((z for z, _ in skin), reverse=True)
    rs = sorted(100.0 + r for _, r in skin)
    face = list(dict.fromkeys(zip(zs, rs, strict=True)))
    points = tuple(Corner(*face[k]) for k in sorted(k for k in kept if k < len(face)))
    # A sheet says how far the brake stands outboard; the lowest place of this face does.
    points = points if not points or points[0] == Corner(*face[0]) else (Corner(*face[0]), *points)
    sheet = BrakeSheet(
        points[:MOST_POINTS],
        rs[-1],
        1.0,
        zs[-1] if knows_place else None,
        inboard_z_mm=inboard,
        lower_r_mm=90.0 if knows_edge else None,
    )
    try:
        grown = outline(sheet)
    except SheetError as error:
        event(error.field)
        return  # fewer than three places, or all of them at one z: refused, which is no outline at all
    event("outline")
    area = shapely.Polygon([(c.z, c.r) for c in grown.corners])
    body = shapely.LineString([(zs[0], 90.0 if knows_edge else rs[0]), *face])
    claimed = shapely.box(area.bounds[0], 0.0, 1000.0, 1000.0)
    assert body.intersection(claimed).difference(area.buffer(1e-6)).is_empty


# Contradictions


def test_a_corner_point_above_the_largest_radius_is_named() -> None:
    error = refused(replace(SHEET, largest_r_mm=190.0))
    assert (error.field, error.row) == ("points", 3)
    assert str(error).startswith("Corner point 4 lies at r 199.00 mm, above the largest radius 190.00 mm")


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"largest_z_mm": 60.0}, "largest_z_mm", "outboard of every corner point"),
        ({"largest_z_mm": -40.0}, "largest_z_mm", "inboard of the inboard end"),
        ({"inboard_z_mm": 30.0}, "inboard_z_mm", "outboard of corner point 1"),
        ({"lower_r_mm": 120.0}, "lower_r_mm", "above corner point 1"),
        ({"disc_mm": 406.0}, "disc_mm", "reaches r 203.00 mm"),
        ({"hat_mm": 7.0, "hat_height_mm": 6.0}, "hat_height_mm", "exchanged"),
        ({"points": POINTS[:2]}, "points", "At least 3"),
        ({"points": POINTS * 4}, "points", "16 corner points"),
        ({"points": (*POINTS[:2], POINTS[1], POINTS[3])}, "points", "the same place"),
        ({"points": (POINTS[0], POINTS[2], Corner(20.0, 150.0), Corner(60.0, 140.0))}, "points", "crosses"),
        ({"points": (*POINTS[:2], Corner(46.0, 176.0, 300.0), POINTS[3])}, "points", "Corner point 3: rad"),
        (
            {"points": (POINTS[0], Corner(46.0, 170.0, 20.0), Corner(46.0, 176.0, 20.0), POINTS[3])},
            "points",
            "overlap",
        ),
        (
            {"points": tuple(Corner(10.0, r) for r in (120.0, 150.0, 203.0)), "largest_z_mm": None,
             "inboard_z_mm": None},
            "inboard_z_mm",
            "no width",
        ),
    ],
)  # fmt: skip
def test_contradictions_are_said_at_their_field(changes: dict[str, object], field: str, words: str) -> None:
    error = refused(replace(SHEET, **changes))  # type: ignore[arg-type]
    assert error.field == field
    assert words in str(error)


# The source card


def test_a_bare_sheet_leaves_every_question_open() -> None:
    shape = stay_out(SHEET, "Front")
    assert len(shape.open_questions()) == 7  # the five, the datum, the extent
    assert shape.card.grade is Grade.HEARSAY
    assert shape.card.error_mm == 1.0
    assert not shape.extent.ends_inboard
    assert shape.extent.cut_r_low == 116.0


def test_what_was_said_is_answered_by_who_said_it_and_the_datum_stays_open() -> None:
    shape = stay_out(ALL_SAID, "Front")
    card = shape.card
    answers = (card.unit, card.zero_face, card.whole_body, card.gap_included, card.disc_and_pads)
    assert all(a.state is Known.ANSWERED and a.by == "A. Sender" for a in answers)
    assert card.zero_face.text == "hub flange, under the disc hat, disc hat 7.00 thick between hub and wheel"
    assert card.disc_and_pads.text == "disc 380.00, new brake pads, front, both sides"
    assert shape.shift_mm == -7.0
    assert (shape.brake.disc_mm, shape.brake.hat_height_mm) == (380.0, 52.0)
    assert shape.extent.ends_inboard
    assert shape.extent.cut_r_low is None
    assert [q[:9] for q in shape.open_questions()] == ["Who check", "Where is "]


def test_without_a_name_what_was_typed_is_assumed() -> None:
    answer = stay_out(replace(ALL_SAID, said_by=""), "x").card.gap_included
    assert (answer.state, answer.text, answer.by) == (Known.ASSUMED, "no gap included", TYPED)


@pytest.mark.parametrize(
    ("changes", "key", "words"),
    [
        ({"pads": ""}, "disc_and_pads", "disc 380.00, front, both sides"),
        ({"disc_mm": None}, "disc_and_pads", "new brake pads, front, both sides"),
        ({"hat_between": None}, "zero_face", "hub flange, under the disc hat, disc hat 7.00 thick"),
        ({"zero_at": None}, "zero_face", "disc hat 7.00 thick between hub and wheel"),
        ({"included_gap_mm": None}, "gap_included", ""),
        ({"r_over": None}, "whole_body", ""),
        ({"unit": ""}, "unit", ""),
    ],
)
def test_a_half_answer_stays_open_with_its_words(changes: dict[str, object], key: str, words: str) -> None:
    card = stay_out(replace(ALL_SAID, **changes), "x").card  # type: ignore[arg-type]
    answer = getattr(card, key)
    assert answer.is_open
    assert answer.text == words


def test_no_hat_between_hub_and_wheel_makes_both_faces_one() -> None:
    shape = stay_out(replace(ALL_SAID, hat_between=False), "x")
    assert shape.card.hat_mm == 0.0
    assert shape.shift_mm == 0.0
    assert not shape.card.zero_face.is_open


def test_r_at_one_plane_stays_a_question() -> None:
    shape = stay_out(replace(ALL_SAID, r_over=Reach.ONE_PLANE), "x")
    assert "r was taken at one plane only: how large is it over the whole body?" in shape.open_questions()

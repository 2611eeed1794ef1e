from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given

from geometry.errors import GeometryError
from geometry.shape.curve import Path
from geometry.shape.published import flange_row, specified_diameter_mm, width_mm
from geometry.shape.rim import Humps, RimContour, WellSide, contour_vertices
from geometry.shape.rim_check import broken, check_tyre_side, contour_path, tyre_side
from geometry.shape.rim_measure import mirrored
from geometry.shape.section import AnchorZ, Outline, Section, Vertex, Zone, build
from tests.support.sections import rim_contours


def path_of(contour: RimContour) -> Path:
    return contour_path(contour_vertices(contour))


@given(rim_contours)
def test_lines_and_arcs_are_tangent_and_run_inboard(contour: RimContour) -> None:
    path = path_of(contour)
    n = len(path) - 1
    assert path.lengths[:n].min() > 1e-3
    arrive = path.tangents(np.arange(n - 1), np.ones(n - 1))
    leave = path.tangents(np.arange(1, n), np.zeros(n - 1))
    turn = np.arctan2(arrive[:, 0] * leave[:, 1] - arrive[:, 1] * leave[:, 0], np.sum(arrive * leave, axis=1))
    assert np.abs(turn).max() < 1e-6
    assert np.diff(path.points[:, 0]).max() <= 1e-9


@given(rim_contours)
def test_every_contour_holds_its_limits(contour: RimContour) -> None:
    findings = check_tyre_side(
        path_of(contour),
        contour.diameter_code,
        contour.width_code,
        contour.flange,
        contour.well,
        tubeless=contour.humps is not Humps.NONE,
    )
    assert broken(findings) == ()


@given(rim_contours)
def test_overall_width_and_radii(contour: RimContour) -> None:
    z_low, z_high, r_low, r_high = path_of(contour).bounds
    row = flange_row(contour.diameter_code, contour.flange)
    half_d = specified_diameter_mm(contour.diameter_code) / 2
    assert z_high == pytest.approx(width_mm(contour.width_code) / 2 + row.b_usual.value, abs=1e-9)
    assert z_low == pytest.approx(-z_high, abs=1e-9)
    assert r_high == pytest.approx(half_d + row.g.value, abs=1e-9)
    assert r_low == pytest.approx(half_d - row.h_min.value - 2.7, abs=1e-9)


@given(rim_contours.filter(lambda c: c.humps is not Humps.OUTER))
def test_flipping_the_well_mirrors_the_contour(contour: RimContour) -> None:
    other = WellSide.INBOARD if contour.well is WellSide.OUTBOARD else WellSide.OUTBOARD
    flipped = path_of(replace(contour, well=other))
    expected = mirrored(path_of(contour))
    assert flipped.points == pytest.approx(expected.points, abs=1e-9)
    assert flipped.bulges == pytest.approx(expected.bulges, abs=1e-12)
    assert flipped.area == pytest.approx(path_of(contour).area, rel=1e-12)


def test_zones_and_anchors_follow_their_side() -> None:
    vertices = contour_vertices(RimContour(18, 10))
    order = [v.zone for v in vertices]
    firsts = [z for i, z in enumerate(order) if i == 0 or order[i - 1] is not z]
    assert firsts == [
        Zone.OUTER_LIP,
        Zone.OUTER_SEAT,
        Zone.WELL,
        Zone.BARREL,
        Zone.INNER_SEAT,
        Zone.INNER_LIP,
    ]
    narrow = contour_vertices(RimContour(18, 9.5))
    assert len(narrow) == len(vertices)
    for a, b in zip(narrow, vertices, strict=True):
        # The flange faces move by half the change of A, 254.0 - 241.5.
        step = 6.25 if a.anchor_z is AnchorZ.OUTER_FLANGE else -6.25
        assert b.z - a.z == pytest.approx(step, abs=1e-9)
        assert b.r == pytest.approx(a.r, abs=1e-9)


def test_the_shelf_shrinks_first_then_the_ramp_then_the_floor() -> None:
    def shape(code: float) -> tuple[float, float, float]:
        """Length of shelf and of floor, and angle of the ramp in degrees."""
        path = path_of(RimContour(22, code))
        flat = [
            (float(path.lengths[i]), float(path.points[i, 1]))
            for i in range(len(path) - 1)
            if not path.is_arc[i] and abs(path.points[i, 1] - path.ends[i, 1]) < 1e-9
        ]
        floor = max(length for length, r in flat if r == pytest.approx(path.bounds[2], abs=1e-6))
        shelf = sum(length for length, r in flat if r > path.bounds[2] + 1.0)
        arcs = [i for i in range(len(path) - 1) if path.is_arc[i] and path.radii[i] == pytest.approx(20.0)]
        return shelf, floor, math.degrees(abs(float(path.sweeps[arcs[0]])))

    wide, middle, narrow = shape(13), shape(6), shape(4.5)
    assert wide[0] > 100.0
    assert wide[2] == pytest.approx(20.0)
    assert middle[0] == pytest.approx(0.0, abs=1e-6)
    assert middle[1] == pytest.approx(wide[1])
    assert middle[2] > 20.0
    assert narrow[1] < wide[1]
    assert narrow[2] > middle[2]


def test_what_does_not_fit_is_refused_with_the_least_width() -> None:
    with pytest.raises(GeometryError, match=r"need 136\.0 mm .* width code 5\.5") as caught:
        contour_vertices(RimContour(18, 4.5, hump_place_mm=35.0, hump_foot_radius_mm=30.0))
    assert "21.5 more" in str(caught.value)
    # The least width named is enough, half a code less is not.
    contour_vertices(RimContour(18, 5.5, hump_place_mm=35.0, hump_foot_radius_mm=30.0))
    with pytest.raises(GeometryError, match="width code"):
        contour_vertices(RimContour(18, 5.0, hump_place_mm=35.0, hump_foot_radius_mm=30.0))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"diameter_code": 23}, "outside 13 to 22"),
        ({"diameter_code": 18.5}, "whole number"),
        ({"width_code": 13.5}, "outside 4.5 to 13"),
        ({"width_code": 9.75}, "multiple of 1/2"),
        ({"flange": "K"}, "choose J, JJ or B"),
        ({"flange_width_mm": 20.0}, "10.5 to under 19"),
        ({"heel_radius_mm": 9.0}, "overlap by 0.25 mm"),
        ({"hump_radius_mm": 30.0}, "leaves no room"),
        ({"well_floor_end_mm": 40.0}, "44.9 mm or further"),
        ({"shelf_depth_mm": 19.0}, "overlap"),
        ({"ramp_deg": 80.0}, "ramp deg"),
    ],
)
def test_a_contour_that_cannot_be_is_refused(changes: dict[str, float], words: str) -> None:
    with pytest.raises(GeometryError, match=words):
        contour_vertices(replace(RimContour(18, 10), **changes))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("code", "flange", "words"),
    [(13, "J", "not in the table"), (14, "B", "not in the table"), (18, "JJ", "G 18.0 and R 9.0")],
)
def test_sizes_without_a_published_row_say_so(code: float, flange: str, words: str) -> None:
    row = flange_row(code, flange)
    assert not row.published
    assert words in " ".join(row.notes)


def test_jj_reads_as_j_with_a_higher_flange() -> None:
    j, jj = path_of(RimContour(17, 7)), path_of(RimContour(17, 7, "JJ"))
    assert jj.bounds[3] - j.bounds[3] == pytest.approx(0.5)


def symbols(
    contour: RimContour, size: tuple[float, float, str] = (18, 10, "J")
) -> set[tuple[str, bool | None]]:
    return {(f.symbol, f.holds) for f in broken(check_tyre_side(path_of(contour), *size))}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"flange_width_mm": 10.6}, {("B", False)}),
        ({"well_depth_mm": 16.9}, {("H", False), ("L", False)}),
        ({"humps": Humps.NONE}, {("hump", False)}),
        ({"humps": Humps.NONE, "hump_place_mm": 19.4}, {("hump", False), ("P", False), ("P1", False)}),
        ({"hump_place_mm": 19.4}, {("P", False), ("P1", False)}),
        ({"edge_radius_mm": 0.4}, {("R1", False)}),
        # Near edge at 50.1, centre at 61.1: both readings of M fail.
        ({"hump_place_mm": 39.0, "well_floor_end_mm": 90.0}, {("M", False)}),
        # Near edge at 36.1 holds 45, centre at 47.1 does not.
        ({"hump_place_mm": 25.0}, {("M", None)}),
    ],
)
def test_each_broken_limit_is_named(
    changes: dict[str, object], expected: set[tuple[str, bool | None]]
) -> None:
    assert symbols(replace(RimContour(18, 10), **changes)) == expected  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("size", "expected"),
    [
        ((18, 9.5, "J"), {("A", False)}),
        ((17, 10, "J"), {("D", False), ("G", False), ("H", False), ("L", False)}),
        ((18, 10, "B"), {("G", False)}),
    ],
)
def test_a_contour_breaks_the_limits_of_another_size(
    size: tuple[float, float, str], expected: set[tuple[str, bool | None]]
) -> None:
    assert symbols(RimContour(18, 10), size) >= expected


def test_a_sharp_flange_edge_is_named() -> None:
    vertices = contour_vertices(RimContour(18, 10))
    # The edge arc becomes its chord.
    sharp = [replace(vertices[0], bulge=0.0), *vertices[1:]]
    found = [
        f for f in check_tyre_side(contour_path(sharp), 18, 10) if f.symbol == "R1" and f.side == "outer"
    ]
    assert (found[0].found, found[0].holds) == (0.0, False)


def test_a_shape_without_face_or_seat_is_not_known_there() -> None:
    box = Path(np.array([(140.0, 248.5), (0.0, 248.5), (-140.0, 248.5)]), np.zeros(3))
    states = {f.symbol: f.holds for f in check_tyre_side(box, 18, 10)}
    assert states["A"] is None
    assert states["D"] is None
    assert states["P"] is None
    assert states["H"] is False


@pytest.mark.parametrize("inset", [-30.0, 0.0, 42.5])
def test_the_tyre_side_of_a_built_section_is_judged_in_the_rims_frame(inset: float) -> None:
    contour = tuple(v.moved(dz=-inset) for v in contour_vertices(RimContour(17, 8.5)))
    free = (
        Vertex(-121.0 - inset, 220.0, zone=Zone.BARREL),
        Vertex(40.0 - inset, 150.0, zone=Zone.BORE),
        Vertex(60.0 - inset, 150.0, zone=Zone.SPOKE_FACE),
        Vertex(121.0 - inset, 220.0, zone=Zone.OUTER_LIP),
    )
    # Run from anywhere, locked or not.
    for shift in (0, 9):
        vertices = contour + free
        outline = build(Section(vertices[shift:] + vertices[:shift]))
        assert isinstance(outline, Outline), outline
        path = tyre_side(outline, inset)
        assert path.bounds[:2] == pytest.approx((-121.0, 121.0))
        assert broken(check_tyre_side(path, 17, 8.5)) == ()
    lowest = min(v.r for v in contour)
    shallow = tuple(v.moved(dr=4.0) if v.r < lowest + 1e-6 else v for v in contour)
    outline = build(Section(shallow + free))
    assert isinstance(outline, Outline), outline
    wrong = {f.symbol for f in broken(check_tyre_side(tyre_side(outline, inset), 17, 8.5))}
    assert "L" in wrong

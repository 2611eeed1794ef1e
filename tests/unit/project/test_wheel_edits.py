from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.project.demo import track_18
from app.project.new_items import new_wheel
from app.project.wheel import RingBody, SizeCode, Wheel
from app.project.wheel_edits import (
    OUTER_SHARE,
    backspace_mm,
    frontspace_mm,
    inset_from_backspace,
    unlocked,
    with_diameter,
    with_inset,
    with_spokes_fixed_to,
    with_width,
)
from geometry.errors import GeometryError
from geometry.shape.published import specified_diameter_mm, width_mm
from geometry.shape.rim import RimContour, WellSide
from geometry.shape.section import AnchorR, AnchorZ, Outline, Zone, build
from geometry.shape.spoke_cut import parts

codes = st.integers(16, 26).map(lambda n: n / 2)


def track(width: float = 9.5) -> Wheel:
    return new_wheel("track", SizeCode(18, width), 35.0)


def flange_faces(wheel: Wheel) -> tuple[float, float]:
    """z of the outer and inner flange faces: the vertices where the flange arc meets its face."""
    section = wheel.section
    lips = {Zone.OUTER_LIP: max, Zone.INNER_LIP: min}
    faces = []
    for zone, pick in lips.items():
        edges = [
            (a.z, b.z)
            for a, b in zip(section.vertices, section.vertices[1:], strict=False)
            if a.zone is zone and abs(a.z - b.z) < 1e-9 and a.bulge == 0.0 and max(a.r, b.r) < 245.0
        ]
        faces.append(pick(edges[0]))
    return faces[0], faces[1]


def outline(wheel: Wheel) -> Outline:
    built = build(wheel.section)
    assert isinstance(built, Outline), built
    return built


# Width code 9.5 to 10: A 241.5 to 254.0 (width code x 25.4 to 0.5, from memory).


@pytest.mark.parametrize(
    ("keep", "outer", "inner", "inset"),
    [
        ("inset", 6.25, -6.25, 0.0),
        ("backspace", 12.5, 0.0, -6.25),
        ("outboard", 12.5, 0.0, -6.25),
        ("inboard", 0.0, -12.5, 6.25),
    ],
)
def test_half_a_code_wider(keep: str, outer: float, inner: float, inset: float) -> None:
    before = track()
    after = with_width(before, 10, keep)
    assert flange_faces(before) == pytest.approx((241.5 / 2 - 35.0, -241.5 / 2 - 35.0))
    moved = tuple(b - a for a, b in zip(flange_faces(before), flange_faces(after), strict=True))
    assert moved == pytest.approx((outer, inner), abs=1e-9)
    assert after.inset_mm - before.inset_mm == pytest.approx(inset, abs=1e-9)
    # Hub and size: the mounting face stays at 0, size and contour stay in step.
    assert after.size == SizeCode(18, 10)
    assert after.rim == RimContour(18, 10)
    assert [v for v in after.vertices if v.zone is Zone.BORE] == [
        v for v in before.vertices if v.zone is Zone.BORE
    ]
    outline(after)


def test_free_lip_vertices_keep_their_distance_to_the_flange() -> None:
    before, after = track(), with_width(track(), 10)
    for a, b in zip(before.vertices, after.vertices, strict=True):
        follows = {AnchorZ.OUTER_FLANGE: 6.25, AnchorZ.INNER_FLANGE: -6.25, AnchorZ.MOUNTING_FACE: 0.0}
        assert b.z - a.z == pytest.approx(follows[a.anchor_z], abs=1e-9)
        assert b.r == a.r


@given(codes, codes, st.sampled_from(sorted(OUTER_SHARE)))
def test_what_a_change_of_width_keeps(start: float, end: float, keep: str) -> None:
    before = track(start)
    after = with_width(before, end, keep)
    assert backspace_mm(after) + frontspace_mm(after) == pytest.approx(width_mm(end) + 26.0)
    kept = {"inset": lambda w: w.inset_mm, "inboard": frontspace_mm}.get(keep, backspace_mm)
    assert kept(after) == pytest.approx(kept(before), abs=1e-9)
    back = with_width(after, start, keep)
    for a, b in zip(back.vertices, before.vertices, strict=True):
        assert (a.z, a.r) == pytest.approx((b.z, b.r), abs=1e-9)
    assert back.inset_mm == pytest.approx(before.inset_mm, abs=1e-9)


# Backspace to the flange edge of an 18 x 10, B 13, inset 25: 254 / 2 + 13 + 25.


def test_backspace_and_inset_say_the_same() -> None:
    wheel = with_inset(track(10), 25.0)
    assert backspace_mm(wheel) == pytest.approx(165.0)
    assert frontspace_mm(wheel) == pytest.approx(115.0)
    assert inset_from_backspace(wheel, 165.0) == pytest.approx(25.0)
    assert outline(wheel).path.bounds[0] == pytest.approx(-165.0)
    assert outline(wheel).path.bounds[1] == pytest.approx(115.0)


@given(st.floats(-60.0, 60.0), st.sampled_from(["rim", "hub"]))
def test_a_change_of_inset_moves_the_rim_and_leaves_the_tyre_side(inset: float, fixed: str) -> None:
    before = with_spokes_fixed_to(track(), fixed)
    after = with_inset(before, inset)
    moved = before.inset_mm - inset
    assert after.rim == before.rim
    for a, b in zip(before.section.vertices, after.section.vertices, strict=True):
        at_hub = a.anchor_z is AnchorZ.MOUNTING_FACE
        assert b.z - a.z == pytest.approx(0.0 if at_hub else moved, abs=1e-9)
        assert b.r == a.r
    assert after.spokes is not None
    assert before.spokes is not None
    if fixed == "rim":
        assert after.spokes.lip_cut[0] - before.spokes.lip_cut[0] == pytest.approx(moved, abs=1e-9)


def test_spokes_fixed_to_the_hub_stay_and_the_rim_goes() -> None:
    wheel = with_spokes_fixed_to(track_18(), "hub")
    assert wheel.spokes is not None
    assert wheel.spokes.fixed_to == "hub"
    after = with_inset(wheel, 44.0)
    backs = [(a, b) for a, b in zip(wheel.vertices, after.vertices, strict=True) if a.zone is Zone.SPOKE_BACK]
    assert len(backs) >= 3
    assert all(a == b for a, b in backs)
    shoulder = next(i for i, v in enumerate(after.vertices) if v.zone is Zone.SHOULDER)
    assert after.vertices[shoulder].z == pytest.approx(wheel.vertices[shoulder].z - 6.0)
    assert with_spokes_fixed_to(wheel, "rim") == track_18()


@pytest.mark.parametrize("inset", [20.0, 30.0, 46.0, 54.0])
def test_the_cut_still_parts_the_section(inset: float) -> None:
    after = with_inset(with_spokes_fixed_to(track_18(), "hub"), inset)
    assert after.spokes is not None
    assert parts(after.section, after.spokes.shoulder_cut, after.spokes.lip_cut)


@pytest.mark.parametrize("code", [16, 17, 19, 20, 21, 22])
def test_a_change_of_diameter_moves_what_follows_the_bead_seat(code: int) -> None:
    before = track_18()
    after = with_diameter(before, code)
    half = (specified_diameter_mm(code) - 462.0) / 2.0
    assert after.size == SizeCode(code, 10)
    assert after.rim == RimContour(code, 10)
    lips = [Zone.INNER_LIP, Zone.OUTER_LIP, Zone.INNER_SEAT]
    for a, b in zip(before.vertices, after.vertices, strict=True):
        if a.zone in lips:
            assert b.r - a.r == pytest.approx(half, abs=1e-9)
            assert b.z == a.z
        if a.anchor_r is AnchorR.AXLE_LINE:
            assert (b.z, b.r) == (a.z, a.r)
    built = outline(after)
    # The wall under the well's floor stays: 4.0 between floor and inside, whatever depth the code asks for.
    floor = min(v.r for v in after.section.vertices[: after.section.locked])
    under = [v.r for v in after.vertices if v.zone is Zone.SHOULDER]
    assert floor - under[0] == pytest.approx(4.0, abs=1e-9)
    assert built.path.area > 0.0
    assert after.spokes is not None
    assert parts(after.section, after.spokes.shoulder_cut, after.spokes.lip_cut)


def test_a_change_of_diameter_and_back_gives_the_wheel_back() -> None:
    back = with_diameter(with_diameter(track_18(), 20), 18)
    for a, b in zip(back.vertices, track_18().vertices, strict=True):
        assert (a.z, a.r) == pytest.approx((b.z, b.r), abs=1e-9)
    assert back.spokes is not None
    before = track_18().spokes
    assert before is not None
    for row, expected in zip(back.spokes.widths, before.widths, strict=True):
        assert row == pytest.approx(expected, abs=1e-9)


def test_ring_bodies_go_with_the_part_they_sit_on() -> None:
    band = RingBody("weight band", -150.0, -135.0, 215.0, 219.5)
    cap = RingBody("cap", 30.0, 42.0, 30.0, 36.0)
    wheel = replace(track_18(), rings=(band, cap))
    wider = with_width(wheel, 10.5)
    assert wider.rings[0].z_low == pytest.approx(-150.0 - 6.25)
    assert wider.rings[1] == cap
    larger = with_diameter(wheel, 19)
    assert larger.rings[0].r_low == pytest.approx(215.0 + 12.7)
    assert larger.rings[1] == cap


def test_unlocking_writes_the_contour_and_the_record() -> None:
    locked = track_18()
    free = unlocked(locked, " A. Engineer ", "2026-01-15")
    assert free.rim is None
    assert free.section.locked == 0
    assert free.section.vertices == locked.section.vertices
    assert free.unlocked is not None
    assert (free.unlocked.by, free.unlocked.on) == ("A. Engineer", "2026-01-15")
    assert free.unlocked.contour == locked.rim
    assert backspace_mm(free) == pytest.approx(backspace_mm(locked))
    # Unlocked, the tyre side follows its anchors as before.
    for a, b in zip(
        with_width(free, 10.5).section.vertices, with_width(locked, 10.5).section.vertices, strict=True
    ):
        assert (a.z, a.r) == pytest.approx((b.z, b.r), abs=1e-9)


@pytest.mark.parametrize(("by", "on"), [("", "2026-01-15"), ("A", " ")])
def test_unlocking_needs_a_name_and_a_date(by: str, on: str) -> None:
    with pytest.raises(GeometryError, match="who does it, and the date"):
        unlocked(track_18(), by, on)
    with pytest.raises(GeometryError, match="is not locked"):
        unlocked(unlocked(track_18(), "A", "2026-01-15"), "A", "2026-01-16")


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(GeometryError, match=r"outside 4\.5 to 13"):
        with_width(track_18(), 14)
    with pytest.raises(GeometryError, match="keeps one of"):
        with_width(track_18(), 11, "hub")
    with pytest.raises(GeometryError, match="outside 13 to 22"):
        with_diameter(track_18(), 24)
    with pytest.raises(GeometryError, match="within 1000"):
        with_inset(track_18(), float("nan"))
    with pytest.raises(GeometryError, match='"rim" or "hub"'):
        with_spokes_fixed_to(track_18(), "car")


def test_a_reversed_well_keeps_its_wall_when_the_code_asks_for_more_depth() -> None:
    wheel = new_wheel("reversed", SizeCode(21, 9), 30.0, well=WellSide.INBOARD)
    deeper = with_diameter(wheel, 22)
    outline(deeper)
    low = [v.r for v in deeper.vertices if v.zone is Zone.WELL]
    # Floor at D / 2 - 24.7 (22.0 + 2.7), wall 4.0.
    assert min(low) == pytest.approx(563.6 / 2 - 24.7 - 4.0)


def test_a_corner_that_comes_to_lie_in_a_straight_line_loses_its_radius() -> None:
    # At 8.5 inch and inset 60 a vertex of the invented wheel's inside lies between two edges of one line.
    moved = with_inset(with_width(track_18(), 8.5), 60.0)
    assert isinstance(build(moved.section), Outline)
    before = [v.radius for v in track_18().vertices]
    lost = [a for a, v in zip(before, moved.vertices, strict=True) if a > 0.0 and v.radius == 0.0]
    assert len(lost) == 1

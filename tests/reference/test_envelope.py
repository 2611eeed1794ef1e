"""The area swept by a body in space: closed forms, the section of a turned part, random places on surfaces.

G1: checks.md Part C: a flat-topped block of height 195 and half length 60 (90) sweeps to sqrt(195^2 + 60^2).

A ball of radius a whose centre lies at (z, r) sweeps the disc of radius a about (z, r), since the nearest and
farthest places of a circle from the axle lie on the line through both centres. A rod with round ends is a
union of balls: it sweeps all discs about the image of its middle line.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.errors import GeometryError
from geometry.readings.gap import gaps
from geometry.shape.cells import Words
from geometry.shape.curve import Array, Path
from geometry.shape.envelope import CLEAN_MM, MOST_VERTICES, Envelope, swept
from geometry.shape.raster import Grid, covered, extent
from tests.support.meshes import block, caliper, capsule, lump, on_surface, turned, turned_about_axle

#: A turned part with a well, a flange, a cone and a bore.
PART = [(-40.0, 50.0), (40.0, 50.0), (40.0, 90.0), (10.0, 100.0), (10.0, 150.0), (-20.0, 150.0)]
PART += [(-20.0, 120.0), (-40.0, 118.0)]


def area(of: Envelope) -> BaseGeometry:
    found = shapely.union_all([shapely.Polygon(p.points) for p in of.outlines])
    assert isinstance(found, BaseGeometry)
    return found


def one(of: Envelope) -> Path:
    (path,) = of.outlines
    return path


def places(triangles: Array, count: int = 100_000) -> Array:
    x = on_surface(triangles, count, np.random.default_rng(5))
    return np.column_stack([x[:, 0], np.hypot(x[:, 1], x[:, 2])])


def assert_lies_round(found: Envelope, least: BaseGeometry, most: BaseGeometry) -> None:
    """The outline holds one area and stays within its tolerance of the other, exactly."""
    whole = area(found)
    assert whole.buffer(1e-6).contains(least)
    rest = whole.difference(most.buffer(found.tolerance_mm + 1e-6, quad_segs=64))
    assert rest.area == pytest.approx(0.0, abs=1e-6)
    assert sum(map(len, found.outlines)) <= MOST_VERTICES


# Closed forms


@pytest.mark.parametrize(("half", "largest"), [(60.0, 204.02), (90.0, 214.77)])
def test_g1_a_flat_topped_block_reaches_to_its_corners(half: float, largest: float) -> None:
    found = swept(block((-30.0, 25.0), (-half, half), (140.0, 195.0)))
    path = one(found)
    assert path.bounds[3] == pytest.approx(largest, abs=0.01)
    assert path.bounds[3] >= math.hypot(195.0, half)
    # Its lower edge is the flat underside, and it ends where the block ends.
    assert path.bounds[2] == pytest.approx(140.0, abs=0.01)
    assert path.bounds[:2] == pytest.approx((-30.0, 25.0), abs=0.01)
    assert len(path) == 4
    assert found.tolerance_mm <= 0.01


@pytest.mark.parametrize("top", [74.0, 138.5, 141.0])
def test_g1_a_hub_pad_under_the_block_stays_clear(top: float) -> None:
    """Its underside is lowest at its middle, r = 140, not at its corners, hypot(140, 60) = 152.3."""
    shape = one(swept(block((-30.0, 25.0), (-60.0, 60.0), (140.0, 195.0))))
    hub_pad = Path.closed([(0.0, 30.0), (40.0, 30.0), (40.0, top), (0.0, top)])
    found = gaps(hub_pad, np.zeros(4, dtype=np.intp), np.ones(4, dtype=bool), shape)
    assert bool(found.touching) == (top > 140.0)
    if top < 140.0:
        assert found.findings[0].least_mm == pytest.approx(140.0 - top, abs=0.01)
        assert found.findings[0].least_mm <= 140.0 - top


@pytest.mark.parametrize("seed", range(2))
def test_rods_sweep_the_discs_about_their_middle_lines(seed: int) -> None:
    rng = np.random.default_rng(seed)
    bodies, lines, deepest = [], [], 0.0
    for _ in range(1 + seed):
        start, end = rng.uniform((-50.0, -70.0, 60.0), (50.0, 70.0, 190.0), (2, 3))
        radius = rng.uniform(3.0, 15.0)
        bodies.append(capsule(start, end, radius, 400))
        deepest = max(deepest, radius * (1.0 - math.cos(math.pi / 400.0) ** 2))
        middle = start + np.linspace(0.0, 1.0, 4001)[:, None] * (end - start)
        line = shapely.LineString(np.column_stack([middle[:, 0], np.hypot(middle[:, 1], middle[:, 2])]))
        lines.append(line.buffer(radius, quad_segs=256))
    true = shapely.union_all(lines)
    found = swept(np.concatenate(bodies))
    assert found.tolerance_mm <= CLEAN_MM
    filled = shapely.union_all([shapely.Polygon(p.exterior) for p in getattr(true, "geoms", [true])])
    assert_lies_round(found, true.buffer(-deepest - 0.002), filled)


@pytest.mark.parametrize("centre", [(0.0, 0.0, 40.0), (5.0, 0.0, 10.0), (-3.0, 0.0, 0.0)])
def test_a_ball_beside_over_and_on_the_axle(centre: tuple[float, float, float]) -> None:
    """Radius 20: the ball at r = 10 holds the axle, so that its disc reaches below it and is cut there."""
    z, x, y = centre
    # As a rod of no length to speak of.
    body = capsule((z - 1e-6, x, y), (z + 1e-6, x, y), 20.0, 800)
    above = shapely.box(-200.0, 0.0, 200.0, 200.0)
    disc = shapely.Point(z, y).buffer(20.0, quad_segs=512).intersection(above)
    found = swept(body)
    deepest = 20.0 * (1.0 - math.cos(math.pi / 800.0) ** 2)
    assert_lies_round(found, disc.buffer(-deepest - 0.001).intersection(above), disc)
    assert found.tolerance_mm <= CLEAN_MM
    assert found.filled == 0


@pytest.mark.parametrize("angle", [0.0, 1.1])
def test_a_turned_part_gives_its_own_section_back(angle: float) -> None:
    # 2,880 steps: the facets lie 150 (1 - cos(pi / 2880)) = 0.0001 mm inside the turned surface.
    found = swept(turned_about_axle(turned(PART, 2880), angle))
    assert found.tolerance_mm < 0.01
    assert shapely.hausdorff_distance(area(found).boundary, shapely.Polygon(PART).boundary, 0.05) < 0.01
    assert area(found).buffer(1e-3).contains(shapely.Polygon(PART))
    assert len(one(found)) <= 2 * len(PART)


def test_growth_is_added_all_round() -> None:
    # 1,440 steps: the facets lie 150 (1 - cos(pi / 1440)) = 0.0004 mm inside.
    found = swept(turned(PART, 1440), grow_mm=0.2)
    true = shapely.Polygon(PART).buffer(0.2 - 1e-3)
    assert area(found).contains(true)
    assert shapely.Polygon(PART).buffer(found.tolerance_mm + 1e-6, join_style="mitre").contains(area(found))


# Holes, voids, bodies apart


def test_a_solid_shaft_is_metal_down_to_the_axle_and_a_tube_is_not() -> None:
    shaft = swept(turned([(0.0, 0.0), (50.0, 0.0), (50.0, 20.0), (0.0, 20.0)], 360))
    assert one(shaft).bounds == pytest.approx((0.0, 50.0, 0.0, 20.0), abs=0.01)
    assert len(one(shaft)) == 4
    assert shaft.filled == 0
    tube = swept(turned([(0.0, 12.0), (50.0, 12.0), (50.0, 20.0), (0.0, 20.0)], 720))
    assert one(tube).bounds == pytest.approx((0.0, 50.0, 12.0, 20.0), abs=0.01)
    assert tube.filled == 0


def test_a_cup_stays_open_where_it_is_open() -> None:
    section = [(0.0, 0.0), (8.0, 0.0), (8.0, 70.0), (50.0, 70.0), (50.0, 80.0), (0.0, 80.0)]
    found = area(swept(turned(section, 1440)))
    assert found.symmetric_difference(shapely.Polygon(section)).area < 0.01 * shapely.Polygon(section).length


def test_a_closed_void_is_filled_and_said_so() -> None:
    ring = turned([(0.0, 50.0), (40.0, 50.0), (40.0, 90.0), (0.0, 90.0)], 720)
    void = turned([(10.0, 60.0), (30.0, 60.0), (30.0, 80.0), (10.0, 80.0)], 720)[:, ::-1]
    found = swept(np.concatenate([ring, void]))
    assert found.filled == 1
    assert area(found).area == pytest.approx(40.0 * 40.0, rel=1e-3)


def test_a_void_at_the_axle_is_filled_too() -> None:
    outer = turned([(0.0, 0.0), (50.0, 0.0), (50.0, 40.0), (0.0, 40.0)], 720)
    void = turned([(10.0, 0.0), (40.0, 0.0), (40.0, 20.0), (10.0, 20.0)], 720)[:, ::-1]
    found = swept(np.concatenate([outer, void]))
    assert (found.filled, len(one(found))) == (1, 4)


@pytest.mark.parametrize("shift", [0.0, 15.0, 40.0])
def test_bodies_within_and_across_each_other_are_one_area(shift: float) -> None:
    """An overlap counts as metal, however often the surface is crossed there."""
    one_body = [(0.0, 50.0), (40.0, 50.0), (40.0, 90.0), (0.0, 90.0)]
    other = [(10.0 + shift, 60.0), (30.0 + shift, 60.0), (30.0 + shift, 80.0), (10.0 + shift, 80.0)]
    found = swept(np.concatenate([turned(one_body, 1440), turned(other, 1440)]))
    true = shapely.union_all([shapely.Polygon(one_body), shapely.Polygon(other)])
    assert area(found).symmetric_difference(true).area < 0.01 * true.length
    assert found.filled == 0


def test_the_slot_between_two_halves_stays_open() -> None:
    halves = [
        block((-40.0, -12.0), (-50.0, 50.0), (100.0, 180.0)),
        block((8.0, 30.0), (-50.0, 50.0), (110.0, 180.0)),
    ]
    bridge = block((-40.0, 30.0), (-20.0, 20.0), (170.0, 190.0))
    found = area(swept(np.concatenate([*halves, bridge])))
    slot = shapely.box(-11.9, 0.0, 7.9, 169.9)
    assert not found.intersects(slot)
    assert found.intersects(shapely.Point(-2.0, 175.0))
    assert found.bounds[1] == pytest.approx(100.0, abs=0.01)


@pytest.mark.parametrize("width", [0.3, 0.12, 0.06, 0.03, 0.01])
def test_a_cleft_is_open_or_filled_within_the_tolerance(width: float) -> None:
    section = [(0.0, 50.0), (30.0, 50.0), (30.0, 80.0), (15.0 + width, 80.0), (15.0 + width, 55.0)]
    section += [(15.0, 55.0), (15.0, 80.0), (0.0, 80.0)]
    found = swept(turned(section, 2880))
    true = shapely.Polygon(section)
    assert found.tolerance_mm <= CLEAN_MM
    assert_lies_round(found, true.buffer(-0.001), true)


def test_two_bodies_apart_are_two_outlines() -> None:
    found = swept(
        np.concatenate(
            [
                block((0.0, 10.0), (-9.0, 9.0), (100.0, 120.0)),
                block((30.0, 40.0), (-9.0, 9.0), (150.0, 160.0)),
            ]
        )
    )
    assert [len(p) for p in found.outlines] == [4, 4]
    assert found.outlines[0].area > found.outlines[1].area


# Random and dense bodies


@pytest.mark.parametrize("seed", [*range(3), *(pytest.param(k, marks=pytest.mark.long) for k in range(3, 8))])
def test_random_bodies_lie_within_and_reach_the_outline(seed: int) -> None:
    rng = np.random.default_rng(seed)
    parts = []
    for _ in range(4):
        z, x, y = rng.uniform(-60.0, 40.0), rng.uniform(-70.0, 40.0), rng.uniform(-20.0, 190.0)
        parts.append(block((z, z + rng.uniform(5.0, 50.0)), (x, x + rng.uniform(5.0, 60.0)), (y, y + 20.0)))
    turn = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    body = np.concatenate(parts)
    if seed % 2:
        body = body @ turn.T
    found = swept(body)
    assert sum(map(len, found.outlines)) <= MOST_VERTICES
    whole = area(found)
    at = places(body, 400_000)
    assert shapely.contains_xy(whole.buffer(1e-6), at).all()
    assert found.tolerance_mm <= CLEAN_MM
    # Every place of the outline has surface within the tolerance, and the spacing of the places.
    tree = shapely.STRtree(np.asarray(shapely.points(at)))
    rim = shapely.points(
        shapely.get_coordinates(
            shapely.segmentize(whole.boundary.intersection(shapely.box(-999, 0.5, 999, 999)), 0.5)
        )
    )
    _, away = tree.query_nearest(rim, return_distance=True, all_matches=False)
    assert away.max() < found.tolerance_mm + 0.6


def test_a_triangle_in_a_plane_through_the_axle_keeps_its_form() -> None:
    """Turned by 0.6 rad about the axle and across it: the part below the axle is folded up."""
    cos, sin = math.cos(0.6), math.sin(0.6)
    flat = np.array([(0.0, 30.0), (40.0, 90.0), (-20.0, 100.0)])
    body = np.stack([flat[:, 0], flat[:, 1] * cos, flat[:, 1] * sin], axis=1)[None]
    assert_lies_round(swept(body), shapely.Polygon(flat), shapely.Polygon(flat))
    across = np.array([(0.0, -30.0), (40.0, 90.0), (-20.0, 100.0)])
    body = np.stack([across[:, 0], across[:, 1] * cos, across[:, 1] * sin], axis=1)[None]
    whole = shapely.Polygon(across)
    folded = shapely.transform(whole, lambda x: x * (1.0, -1.0))
    true = whole.union(folded).intersection(shapely.box(-99.0, 0.0, 99.0, 199.0))
    assert_lies_round(swept(body), true, true)


@pytest.mark.parametrize("seed", [*range(3), *(pytest.param(k, marks=pytest.mark.long) for k in range(3, 6))])
def test_triangles_that_lean_down_to_the_axle_stay_within(seed: int) -> None:
    """Their corner on the axle is the sharpest there is: nothing of it may be cut off."""
    rng = np.random.default_rng(seed)
    low, high = sorted(rng.uniform(100.0, 200.0, 2))
    on_axle = np.array([rng.uniform(-70.0, 70.0), 0.0, 0.0])
    body = np.array([[on_axle, (-71.5, high, 33.0), (-71.5, low, 58.0)]])
    found = swept(body)
    corners = np.column_stack([body[0, :, 0], np.hypot(body[0, :, 1], body[0, :, 2])])
    for x in (corners, places(body, 20_000)):
        assert float(shapely.distance(area(found), shapely.points(x)).max()) <= 1e-6


@pytest.mark.parametrize("thin", [1e-3, 1e-6, 0.0])
def test_long_and_thin_triangles_are_what_they_are(thin: float) -> None:
    """A needle along x at y = 100 from x = -80 to 60 covers r from 100 to hypot(100, 80) at its z."""
    body = np.array([[(0.0, -80.0, 100.0), (thin, 60.0, 100.0), (0.0, -10.0, 100.0 + thin)]])
    low, high, near, far = one(swept(body)).bounds
    assert (near, far) == pytest.approx((100.0, math.hypot(100.0, 80.0)), abs=0.01)
    assert near <= 100.0
    assert far >= math.hypot(100.0, 80.0)
    assert (low, high) == pytest.approx((0.0, thin), abs=0.01)


def test_a_dense_body_is_never_inside_and_hardly_outside() -> None:
    body = lump(300)
    found = swept(body)
    whole = area(found)
    corners = np.column_stack([body[:, :, 0].ravel(), np.hypot(body[:, :, 1], body[:, :, 2]).ravel()])
    assert shapely.contains_xy(whole.buffer(1e-6), corners).all()
    assert shapely.contains_xy(whole.buffer(1e-6), places(body)).all()
    assert sum(map(len, found.outlines)) <= MOST_VERTICES
    assert found.tolerance_mm <= CLEAN_MM
    top = float(np.hypot(body[:, :, 1], body[:, :, 2]).max())
    assert one(found).bounds[3] - top == pytest.approx(0.0, abs=found.tolerance_mm)


def test_large_triangles_over_each_other_are_swept_more_coarsely(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each word of cells is touched as often as triangles lie there: a shared limit bounds that work."""
    rng = np.random.default_rng(11)
    corners = np.column_stack(
        [rng.uniform(-300.0, 300.0, 900), rng.uniform(-350.0, 350.0, 900), rng.uniform(100.0, 600.0, 900)]
    )
    body = corners.reshape(-1, 3, 3)
    words = []

    def counted(triangles: Array, grid: Grid, grow: float) -> Words:
        words.append(extent(triangles)[5] / (64.0 * grid.step_z * grid.step_r))
        return covered(triangles, grid, grow)

    monkeypatch.setattr("geometry.shape.envelope.covered", counted)
    monkeypatch.setattr("geometry.shape.envelope._MOST_WORDS", 2e7)
    found = swept(body)
    # Cells end where the body ends, so that they are somewhat finer than asked for.
    assert 1.8e7 < words[0] < 2.1e7
    z, r = places(body).T
    assert shapely.contains_xy(area(found).buffer(1e-6), z, r).all()


def test_a_body_like_a_caliper_keeps_its_slot_flats_and_radii() -> None:
    """Its ends at x = -65 and 65 sweep highest, its middle lowest: closed forms from the drawn arch."""
    body = caliper(400, 60)
    found = swept(body)
    assert found.tolerance_mm <= CLEAN_MM
    corners = body.reshape(-1, 3)
    arch = corners[corners[:, 1] == 65.0][:, [0, 2]]
    z, y = arch[:, 0], arch[:, 1]
    assert shapely.contains_xy(area(found).buffer(1e-6), np.column_stack([z, np.hypot(y, 65.0)])).all()
    assert shapely.contains_xy(area(found).buffer(1e-6), np.column_stack([z, y])).all()
    low, high, near, far = one(found).bounds
    assert (low, high, near) == pytest.approx((z.min(), z.max(), y.min()), abs=CLEAN_MM)
    assert far == pytest.approx(math.hypot(y.max(), 65.0), abs=CLEAN_MM)
    # The slot: 23 wide, from below up to the corners under the bridge.
    assert not area(found).intersects(shapely.box(-13.9, 0.0, 8.9, 172.9))


@pytest.mark.parametrize("noise", [1e-7, 1e-4])
def test_noise_on_flat_faces_changes_nothing(noise: float) -> None:
    body = caliper(200, 40)
    corners, back = np.unique(body.reshape(-1, 3), axis=0, return_inverse=True)
    noisy = (corners + np.random.default_rng(3).normal(scale=noise, size=corners.shape))[back].reshape(
        -1, 3, 3
    )
    clean, found = swept(body), swept(noisy)
    assert found.tolerance_mm <= CLEAN_MM
    assert shapely.hausdorff_distance(area(clean), area(found), 0.01) <= 2.0 * CLEAN_MM
    assert shapely.contains_xy(area(found).buffer(1e-6), places(noisy)).all()


@pytest.mark.parametrize(
    "noise", [0.05, pytest.param(0.15, marks=pytest.mark.long), pytest.param(0.5, marks=pytest.mark.long)]
)
def test_a_rough_body_says_how_far_it_was_widened(noise: float) -> None:
    rng = np.random.default_rng(2)
    body = lump(300)
    corners, back = np.unique(body.reshape(-1, 3).round(9), axis=0, return_inverse=True)
    noisy = (corners + rng.normal(scale=noise, size=corners.shape))[back].reshape(-1, 3, 3)
    found = swept(noisy)
    assert CLEAN_MM < found.tolerance_mm <= 4.0 * noise + 0.1
    assert sum(map(len, found.outlines)) <= MOST_VERTICES
    assert shapely.contains_xy(area(found).buffer(1e-6), places(noisy)).all()


def test_triangles_turned_the_wrong_way_change_nothing() -> None:
    body = turned(PART, 720)
    flipped = body.copy()
    flipped[::3] = flipped[::3, ::-1]
    assert one(swept(flipped)).rows() == one(swept(body)).rows()


def test_an_open_body_keeps_what_it_shows() -> None:
    body = block((-30.0, 25.0), (-60.0, 60.0), (140.0, 195.0))[:-2]
    assert one(swept(body)).bounds[3] == pytest.approx(204.02, abs=0.01)


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (np.empty((0, 3, 3)), "no triangles"),
        (np.full((1, 3, 3), np.nan), "not a number"),
        (np.array([[(0.0, 1.0, np.inf), (1.0, 0.0, 0.0), (2.0, 1.0, 0.0)]]), "not a number"),
        (block((0.0, 5000.0), (0.0, 1.0), (0.0, 1.0)), "check unit and axle"),
        (block((0.0, 5.0), (0.0, 1.0), (0.0, 5000.0)), "check unit and axle"),
    ],
)
def test_what_is_refused(body: Array, says: str) -> None:
    with pytest.raises(GeometryError, match=says):
        swept(body)

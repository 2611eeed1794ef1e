"""The area swept by a body in space: closed forms, the section of a turned part, random places on surfaces.

G1: checks.md Part C: a flat-topped block of height 195 and half length 60 (90) sweeps to sqrt(195^2 + 60^2).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.errors import GeometryError
from geometry.readings.gap import gaps
from geometry.shape.curve import Array, Path
from geometry.shape.envelope import MOST_VERTICES, Envelope, swept
from tests.support.meshes import block, lump, on_surface, turned, turned_about_axle

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
    assert found.tolerance_mm <= 0.05
    assert not found.doubtful


def test_g1_a_hub_pad_under_the_block_stays_clear() -> None:
    shape = one(swept(block((-30.0, 25.0), (-60.0, 60.0), (140.0, 195.0))))
    hub_pad = Path.closed([(0.0, 30.0), (40.0, 30.0), (40.0, 74.0), (0.0, 74.0)])
    found = gaps(hub_pad, np.zeros(4, dtype=np.intp), np.ones(4, dtype=bool), shape)
    assert not found.touching
    assert found.findings[0].least_mm == pytest.approx(140.0 - 74.0, abs=0.01)


@pytest.mark.parametrize("angle", [0.0, 1.1])
def test_a_turned_part_gives_its_own_section_back(angle: float) -> None:
    # 2,880 steps: the facets lie 150 (1 - cos(pi / 2880)) = 0.0001 mm inside the turned surface.
    found = swept(turned_about_axle(turned(PART, 2880), angle))
    assert not found.doubtful
    assert shapely.hausdorff_distance(area(found).boundary, shapely.Polygon(PART).boundary, 0.05) < 0.01
    assert area(found).buffer(1e-3).contains(shapely.Polygon(PART))


def test_a_solid_shaft_is_metal_down_to_the_axle_and_a_tube_is_not() -> None:
    shaft = swept(turned([(0.0, 0.0), (50.0, 0.0), (50.0, 20.0), (0.0, 20.0)], 360))
    assert one(shaft).bounds == pytest.approx((0.0, 50.0, 0.0, 20.0), abs=0.01)
    tube = swept(turned([(0.0, 12.0), (50.0, 12.0), (50.0, 20.0), (0.0, 20.0)], 720))
    assert one(tube).bounds == pytest.approx((0.0, 50.0, 12.0, 20.0), abs=0.01)


def test_a_closed_void_is_filled_and_said_so() -> None:
    ring = turned([(0.0, 50.0), (40.0, 50.0), (40.0, 90.0), (0.0, 90.0)], 720)
    void = turned([(10.0, 60.0), (30.0, 60.0), (30.0, 80.0), (10.0, 80.0)], 720)[:, ::-1]
    found = swept(np.concatenate([ring, void]))
    assert found.filled == 1
    assert area(found).area == pytest.approx(40.0 * 40.0, rel=1e-3)


def test_the_slot_between_two_halves_stays_open() -> None:
    halves = [
        block((-40.0, -12.0), (-50.0, 50.0), (100.0, 180.0)),
        block((8.0, 30.0), (-50.0, 50.0), (110.0, 180.0)),
    ]
    bridge = block((-40.0, 30.0), (-20.0, 20.0), (170.0, 190.0))
    found = area(swept(np.concatenate([*halves, bridge])))
    assert not found.intersects(shapely.Point(-2.0, 140.0))
    assert found.intersects(shapely.Point(-2.0, 175.0))
    assert found.bounds[1] == pytest.approx(100.0, abs=0.01)


def test_two_bodies_apart_are_two_outlines() -> None:
    found = swept(
        np.concatenate(
            [
                block((0.0, 10.0), (-9.0, 9.0), (100.0, 120.0)),
                block((30.0, 40.0), (-9.0, 9.0), (150.0, 160.0)),
            ]
        )
    )
    assert len(found.outlines) == 2


@pytest.mark.parametrize("seed", range(4))
def test_random_bodies_lie_within_and_reach_the_outline(seed: int) -> None:
    rng = np.random.default_rng(seed)
    parts = []
    for _ in range(4):
        z, x, y = rng.uniform(-60.0, 40.0), rng.uniform(-70.0, 40.0), rng.uniform(90.0, 190.0)
        parts.append(block((z, z + rng.uniform(5.0, 50.0)), (x, x + rng.uniform(5.0, 60.0)), (y, y + 20.0)))
    turn = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    if np.linalg.det(turn) < 0.0:
        turn[:, 0] *= -1.0
    # Tilted a little, so that no face is square to the axle.
    tilt = np.linalg.qr(np.eye(3) + 0.15 * (turn - turn.T))[0]
    tilt = tilt * np.sign(np.diag(tilt))
    body = np.concatenate(parts) @ tilt.T
    found = swept(body)
    assert sum(map(len, found.outlines)) <= MOST_VERTICES
    whole = area(found)
    at = places(body, 200_000)
    assert shapely.contains_xy(whole.buffer(1e-6), at).all()
    assert found.tolerance_mm <= 0.05
    # Every vertex of the outline has metal within the tolerance, and the spacing of the places.
    near = shapely.MultiPoint(at[::4])
    corners = np.vstack([p.points for p in found.outlines])
    assert shapely.distance(near, shapely.points(corners)).max() < found.tolerance_mm + 1.0


def test_a_dense_body_is_never_inside_and_hardly_outside() -> None:
    body = lump(300)
    found = swept(body)
    whole = area(found)
    corners = np.column_stack([body[:, :, 0].ravel(), np.hypot(body[:, :, 1], body[:, :, 2]).ravel()])
    assert shapely.contains_xy(whole.buffer(1e-6), corners).all()
    assert shapely.contains_xy(whole.buffer(1e-6), places(body)).all()
    assert sum(map(len, found.outlines)) <= MOST_VERTICES
    # Against the same body's outline from silhouettes of a hundred thousand places on its smooth surface.
    top = float(np.hypot(body[:, :, 1], body[:, :, 2]).max())
    assert one(found).bounds[3] - top == pytest.approx(0.0, abs=found.tolerance_mm)


def test_a_rough_body_says_how_far_it_was_widened() -> None:
    rng = np.random.default_rng(2)
    body = lump(300)
    corners, back = np.unique(body.reshape(-1, 3).round(9), axis=0, return_inverse=True)
    noisy = (corners + rng.normal(scale=0.15, size=corners.shape))[back].reshape(-1, 3, 3)
    found = swept(noisy)
    assert found.tolerance_mm in (pytest.approx(0.1), pytest.approx(0.2), pytest.approx(0.5)) or (
        0.05 < found.tolerance_mm < 0.5
    )
    assert sum(map(len, found.outlines)) <= MOST_VERTICES
    assert shapely.contains_xy(area(found).buffer(1e-6), places(noisy)).all()


def test_triangles_turned_the_wrong_way_change_nothing() -> None:
    body = turned(PART, 720)
    flipped = body.copy()
    flipped[::3] = flipped[::3, ::-1]
    found = swept(flipped, is_sound=False)
    assert shapely.hausdorff_distance(area(found).boundary, shapely.Polygon(PART).boundary, 0.05) < 0.02


def test_an_open_body_keeps_what_it_shows() -> None:
    body = block((-30.0, 25.0), (-60.0, 60.0), (140.0, 195.0))[:-2]
    assert one(swept(body, is_sound=False)).bounds[3] == pytest.approx(204.02, abs=0.01)


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (np.empty((0, 3, 3)), "no triangles"),
        (np.full((1, 3, 3), np.nan), "not a number"),
        (block((0.0, 5000.0), (0.0, 1.0), (0.0, 1.0)), "check unit and axle"),
        (block((0.0, 5.0), (0.0, 1.0), (0.0, 5000.0)), "check unit and axle"),
    ],
)
def test_what_is_refused(body: Array, says: str) -> None:
    with pytest.raises(GeometryError, match=says):
        swept(body)

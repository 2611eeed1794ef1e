"""The axle of single points, against bodies whose axle is known: a hub, a profile over a sector, and none."""

import math

import numpy as np
import pytest

from geometry.errors import GeometryError
from geometry.shape.axle_points import PointAxle, axle_of_points
from geometry.shape.curve import Array

RNG = np.random.default_rng(11)
ORIGIN = np.array([512.0, -300.0, 80.0])
#: Columns of length 1, square to each other; the third is the axle.
FRAME, _ = np.linalg.qr(RNG.normal(size=(3, 3)))


def face(r_low: float, r_high: float, z: float, count: int) -> Array:
    r, turn = np.sqrt(RNG.uniform(r_low**2, r_high**2, count)), RNG.uniform(0.0, 2.0 * math.pi, count)
    return np.column_stack([r * np.cos(turn), r * np.sin(turn), np.full(count, z)])


def cylinder(r: float, z_low: float, z_high: float, count: int) -> Array:
    turn = RNG.uniform(0.0, 2.0 * math.pi, count)
    return np.column_stack([r * np.cos(turn), r * np.sin(turn), RNG.uniform(z_low, z_high, count)])


def block(count: int) -> Array:
    """Points on a block beside the axle, none of whose faces is turned."""
    places, side = RNG.uniform(-1.0, 1.0, (count, 3)), RNG.integers(0, 3, count)
    places[np.arange(count), side] = np.sign(places[np.arange(count), side])
    return np.asarray(places * np.array([60.0, 25.0, 40.0]) + np.array([0.0, 165.0, -50.0]))


HUB = np.vstack(
    [face(35, 70, 0, 800), cylinder(35, 0, 12, 400), face(90, 150, -40, 1600), cylinder(150, -60, -40, 800)]
)


def laid(points: Array, noise: float) -> Array:
    return np.asarray((points + RNG.normal(0.0, noise, points.shape)) @ FRAME.T + ORIGIN)


def off(found: PointAxle) -> tuple[float, float]:
    """Return how far the fitted line passes the true one by at its origin, and the angle between, degrees."""
    axle = FRAME[:, 2]
    across = ORIGIN - found.through
    across -= across @ found.direction * found.direction
    return float(np.linalg.norm(across)), float(np.degrees(np.linalg.norm(np.cross(axle, found.direction))))


@pytest.mark.parametrize(
    ("noise", "with_block"),
    [
        *((0.0, False), (0.05, True), (0.3, False)),
        *(pytest.param(*how, marks=pytest.mark.long) for how in ((0.0, True), (0.05, False), (0.3, True))),
    ],
)
def test_a_hub(noise: float, with_block: bool) -> None:
    points = np.vstack([HUB, block(3000)]) if with_block else HUB
    found = axle_of_points(laid(points, noise))
    place, angle = off(found)
    # Four standard deviations of what the fit says of itself.
    assert place <= 4.0 * found.place_error + 1e-6
    assert angle <= 4.0 * found.angle_error_deg + 1e-6
    assert found.place_error < 0.2
    assert found.rms == pytest.approx(noise, rel=0.3, abs=1e-5)


def test_its_faces() -> None:
    found = axle_of_points(laid(HUB, 0.05))
    sign = float(np.sign(found.direction @ FRAME[:, 2]))
    base = float((ORIGIN - found.through) @ found.direction)
    wide, narrow = found.flats[:2]
    assert (sign * (wide.z - base), sign * (narrow.z - base)) == pytest.approx((-40.0, 0.0), abs=0.05)
    assert (narrow.r_low, narrow.r_high) == pytest.approx((35.0, 70.0), abs=1.0)
    # Their points' hull is the whole circle.
    assert wide.area == pytest.approx(math.pi * 150.0**2, rel=0.03)
    assert wide.rms == pytest.approx(0.05, rel=0.3)


def test_a_profile_of_cones_seen_over_a_sector() -> None:
    profile = np.array(
        [(0, 100), (50, 105), (50, 170), (20, 200), (-70, 190), (-70, 150), (-40, 140)], dtype=float
    )
    after = np.roll(profile, -1, axis=0)
    share = RNG.uniform(0.0, 1.0, (40, len(profile), 1))
    z, r = (profile + share * (after - profile)).reshape(-1, 2).T
    turn = np.radians(RNG.uniform(-40.0, 40.0, len(z)))
    found = axle_of_points(laid(np.column_stack([r * np.cos(turn), r * np.sin(turn), z]), 0.0))
    place, angle = off(found)
    assert place < 0.05
    assert angle < 0.02
    assert 70.0 <= found.turn_deg <= 85.0


def test_places_about_it() -> None:
    found = axle_of_points(laid(HUB, 0.0))
    z, r = found.placed(laid(HUB, 0.0)).T
    assert np.allclose(r, np.hypot(HUB[:, 0], HUB[:, 1]), atol=1e-4)
    assert np.ptp(z) == pytest.approx(np.ptp(HUB[:, 2]), abs=1e-3)


def test_another_hole_beside_the_axle_is_told() -> None:
    bore = cylinder(34.0, 0.0, 30.0, 900) + np.array([0.0, 120.0, 0.0])
    found = axle_of_points(laid(np.vstack([HUB, bore, block(3000)]), 0.01))
    assert off(found)[0] < 0.05
    assert found.rival == pytest.approx(120.0, abs=1.0)


@pytest.mark.parametrize(
    "points",
    [
        block(3000),
        RNG.normal(size=(2000, 3)),
        RNG.normal(size=(10, 3)),
        np.ones((50, 3)),
        np.column_stack([np.arange(100.0)] * 3),
        # A straight bar: about a line far off it would look turned.
        np.column_stack(
            [RNG.uniform(0, 200, 2000), *RNG.permuted(np.repeat([[0.0, 10.0]], 2000, axis=0), axis=1).T]
        ),
    ],
    ids=["block", "cloud", "few", "one place", "row", "bar"],
)
def test_what_is_not_turned_is_refused(points: Array) -> None:
    with pytest.raises(GeometryError, match="name the coordinate along the axle"):
        axle_of_points(points)

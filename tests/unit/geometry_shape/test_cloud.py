"""The outline round points in any order: what it holds, how far off it lies, against shapely."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from geometry.errors import GeometryError
from geometry.shape.cloud import MOST_VERTICES, Gathered, gathered
from geometry.shape.curve import Array

#: A body like a caliper in section, invented: a slot for the disc, corners out and in.
BODY = shapely.Polygon(
    [
        (-60, 90),
        (20, 90),
        (20, 120),
        (40, 150),
        (40, 200),
        (-50, 205),
        (-60, 180),
        (-30, 170),
        (-30, 110),
        (-60, 110),
    ]
)


def along(body: shapely.Polygon, step: float, corners: bool = True) -> Array:
    """Return points along an outline, at most a step apart, mixed."""
    if corners:
        places = shapely.get_coordinates(body.exterior.segmentize(step))[:-1]
    else:
        count = math.ceil(body.length / step)
        places = shapely.get_coordinates(
            [body.exterior.interpolate(k * body.length / count) for k in range(count)]
        )
    np.random.default_rng(3).shuffle(places)
    return places


def within(body: BaseGeometry, count: int, seed: int = 3) -> Array:
    low, high = np.array(body.bounds).reshape(2, 2)
    places = np.random.default_rng(seed).uniform(low, high, (3 * count, 2))
    return places[shapely.contains_xy(body, places)][:count]


def area_of(found: Gathered) -> shapely.MultiPolygon:
    return shapely.MultiPolygon([shapely.Polygon(ring) for ring in found.rings])


def holds(found: Gathered, points: Array) -> int:
    """Return how many points lie in what was found, or on its edge."""
    return int(np.sum(shapely.intersects_xy(area_of(found).buffer(1e-6), points)))


def check(found: Gathered, points: Array, share: float = 1.0) -> None:
    """Check what always holds."""
    area = area_of(found)
    assert area.is_valid
    assert all(polygon.exterior.is_ccw for polygon in area.geoms)
    assert sum(map(len, found.rings)) <= MOST_VERTICES
    assert holds(found, points) == len(points) - len(found.outside) >= share * len(points) - 1e-9
    edge = shapely.get_coordinates(shapely.segmentize(area, found.tolerance / 10.0))
    assert np.max(cKDTree(points).query(edge)[0]) <= found.tolerance * 1.001 + 1e-9


@pytest.mark.parametrize("step", [1.9, 5.0])
def test_an_outline_out_of_order_comes_back_exactly(step: float) -> None:
    points = along(BODY, step)
    found = gathered(points)
    check(found, points)
    assert area_of(found).contains(BODY.buffer(-1e-9))
    # Only into the body's inner corners may a straight line cut.
    assert area_of(found).difference(BODY).area < 6 * step**2 / 2.0
    assert found.step <= 1.2 * step * math.sqrt(2.0)


def test_a_square_of_points_is_that_square() -> None:
    points = along(shapely.box(0, 100, 40, 140), 1.0)
    (ring,) = gathered(points).rings
    assert shapely.Polygon(ring).symmetric_difference(shapely.box(0, 100, 40, 140)).area == pytest.approx(
        0.0, abs=1e-9
    )


def test_between_points_at_most_half_a_step_is_unseen() -> None:
    # A corner of a right angle or more stands out over a chord by at most half its length.
    points = along(BODY, 3.0, corners=False)
    found = gathered(points)
    check(found, points)
    assert shapely.hausdorff_distance(BODY, area_of(found)) <= found.step / 2.0 + 1e-9 or holds(found, points)
    unseen = shapely.get_coordinates(BODY.segmentize(0.1))
    assert np.max(shapely.distance(shapely.points(unseen), area_of(found))) <= found.step / 2.0


def test_a_filled_body_keeps_both_edges() -> None:
    points = within(BODY, 20_000)
    found = gathered(points)
    check(found, points)
    area = area_of(found)
    assert not area.contains(shapely.Point(-45.0, 140.0))  # the slot
    assert not area.contains(shapely.Point(0.0, 80.0))  # towards the axle
    assert area.symmetric_difference(BODY).area < 0.04 * BODY.area


def test_enclosed_voids_are_filled() -> None:
    ring = shapely.Point(0, 150).buffer(40).difference(shapely.Point(0, 150).buffer(20))
    found = gathered(within(ring, 5_000))
    assert area_of(found).contains(shapely.Point(0, 150))


def test_two_bodies_lie_apart() -> None:
    one = along(BODY, 2.0)
    both = np.vstack([one, one + np.array([200.0, 0.0])])
    found = gathered(both)
    check(found, both)
    assert len(found.rings) == 2


class TestShare:
    NOISY = along(BODY, 0.4) + np.random.default_rng(5).normal(0.0, 0.3, along(BODY, 0.4).shape)
    STRAY = np.vstack([NOISY, [[100.0, 250.0], [-120.0, 150.0]]])

    def test_a_ring_of_noise_is_closed(self) -> None:
        assert area_of(gathered(self.NOISY)).area > 0.95 * BODY.area

    @pytest.mark.parametrize("share", [1.0, 0.995, 0.98, 0.9])
    def test_the_stated_share_is_held(self, share: float) -> None:
        found = gathered(self.STRAY, share)
        check(found, self.STRAY, share)

    def test_stray_points_go_first_and_are_shown(self) -> None:
        found = gathered(self.STRAY, 1.0 - 2.0 / len(self.STRAY))
        assert sorted(map(tuple, found.outside.tolist())) == [(-120.0, 150.0), (100.0, 250.0)]

    def test_all_are_held_unless_asked(self) -> None:
        found = gathered(self.STRAY)
        assert len(found.outside) == 0
        # What joins a stray point is not known: the tolerance says so.
        assert found.tolerance > 20.0

    def test_less_is_held_closer(self) -> None:
        outward = [
            np.max(shapely.distance(shapely.points(shapely.get_coordinates(area_of(found))), BODY))
            for found in (gathered(self.NOISY, share) for share in (1.0, 0.95, 0.85))
        ]
        assert outward[0] > outward[1] > outward[2]


@pytest.mark.parametrize("count", [60_000, 400_000])
def test_many_points_within_a_body(count: int) -> None:
    points = within(BODY, count)
    found = gathered(points)
    check(found, points)
    assert area_of(found).symmetric_difference(BODY).area < 0.02 * BODY.area


def test_many_points_along_an_outline() -> None:
    points = along(BODY, BODY.length / 300_000)
    found = gathered(points)
    assert holds(found, points) == len(points)
    assert area_of(found).buffer(1e-6).contains(BODY)
    assert shapely.hausdorff_distance(area_of(found), BODY) < 1.0


@pytest.mark.parametrize("unit", [1e-3, 1.0, 1e3])
@pytest.mark.parametrize("origin", [0.0, 1e5])
def test_size_and_place_do_not_matter(unit: float, origin: float) -> None:
    points = along(BODY, 2.0)
    here, there = gathered(points), gathered(points * unit + origin)
    assert there.step == pytest.approx(here.step * unit, rel=1e-6)
    assert area_of(there).area == pytest.approx(area_of(here).area * unit**2, rel=1e-6)


@pytest.mark.parametrize(
    "points",
    [
        np.empty((0, 2)),
        np.array([[1.0, 2.0]]),
        np.array([[1.0, 2.0]] * 9),
        np.array([[1.0, 2.0], [3.0, 4.0]]),
        np.array([[k, 2.0 * k] for k in range(50)], dtype=float),
        np.array([[0.0, 0.0], [np.inf, 1.0], [2.0, 5.0]]),
        np.array([[0.0, 0.0], [np.nan, 1.0], [2.0, 5.0]]),
    ],
)
def test_what_makes_no_outline_is_refused(points: Array) -> None:
    with pytest.raises(GeometryError, match=r"one place|one line|not a number"):
        gathered(points)


@settings(max_examples=60)
@given(
    st.lists(st.tuples(st.integers(-50, 50), st.integers(0, 200)), min_size=3, max_size=60, unique=True),
    st.floats(0.5, 1.0),
)
def test_any_points_are_held(places: list[tuple[int, int]], share: float) -> None:
    points = np.array(places, dtype=float)
    if np.linalg.matrix_rank(points - points[0]) < 2:
        return
    try:
        found = gathered(points, share)
    except GeometryError as error:
        assert "one line" in str(error)  # noqa: PT017
        return
    assert holds(found, points) >= share * len(points) - 1e-9
    assert len(found.outside) == len(points) - holds(found, points)
    assert sum(map(len, found.rings)) <= MOST_VERTICES


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.integers(250, 900), min_size=5, max_size=12),
    st.integers(0, 99),
    st.sampled_from([1.0, 0.98, 0.9]),
)
def test_random_outlines_with_noise(sizes: list[int], seed: int, share: float) -> None:
    """A star sampled in any order with bounded noise: what is left out is told exactly, the rest is held."""
    turns = 2.0 * np.pi * np.arange(len(sizes)) / len(sizes)
    reach = np.array(sizes) / 10.0
    body = shapely.Polygon(np.column_stack([reach * np.cos(turns), 200.0 + reach * np.sin(turns)]))
    rng, noise = np.random.default_rng(seed), 0.3
    points = along(body, 1.0) + rng.uniform(-noise, noise, (len(along(body, 1.0)), 2))
    rng.shuffle(points)
    found = gathered(points, share)
    area = area_of(found)
    inside = shapely.intersects_xy(area.buffer(1e-6), points)
    assert np.sum(~inside) <= (1.0 - share) * len(points) + 1e-9
    assert sorted(map(tuple, found.outside.tolist())) == sorted(map(tuple, points[~inside].tolist()))
    edge = shapely.points(shapely.get_coordinates(body.exterior.segmentize(0.5)))
    if share == 1.0:
        # Each point lies within noise of the body's edge, so half a step and the noise are unseen at most.
        assert np.max(shapely.distance(edge, area)) <= found.step / 2.0 + math.sqrt(2.0) * noise

"""A probe ball's radius taken off its centres, against bodies grown by shapely and against closed forms."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry.base import BaseGeometry

from geometry.shape.ball import less_ball
from geometry.shape.curve import Array

BALL = 3.0
#: Corners out and in, all wider than the ball.
BODY = shapely.Polygon(
    [(0, 90), (70, 90), (70, 120), (40, 150), (40, 200), (-50, 205), (-60, 180), (-30, 150)]
)


def ring_of(polygon: BaseGeometry) -> Array:
    assert isinstance(polygon, shapely.Polygon)
    return shapely.get_coordinates(shapely.geometry.polygon.orient(polygon).exterior)[:-1]


def farthest(a: shapely.Geometry, b: shapely.Geometry) -> float:
    """Return how far the outline of one area lies outside another at most."""
    places = shapely.get_coordinates(shapely.segmentize(a, 0.05))
    return float(np.max(shapely.distance(shapely.points(places), b)))


@pytest.mark.parametrize("segments", [2, 3, 6, 16, 60])
def test_centres_round_a_body_give_the_body(segments: int) -> None:
    # shapely puts the places of its arcs on the true circle, as measured centres lie.
    found = less_ball(ring_of(BODY.buffer(BALL, quad_segs=segments)), BALL)
    assert farthest(BODY, found.area) < 1e-9
    # A ball does not reach into a corner of the body: there it reads what a ball of its radius closes.
    closed = BODY.buffer(BALL, quad_segs=200).buffer(-BALL, quad_segs=200)
    assert farthest(found.area, closed) < 0.005
    assert found.lost is None
    assert found.short < 1e-9


def test_sharp_corners_out_are_points_again() -> None:
    square = shapely.box(0, 100, 40, 140)
    found = less_ball(ring_of(square.buffer(BALL, quad_segs=8)), BALL)
    assert found.area.symmetric_difference(square).area < 1e-9


@pytest.mark.parametrize("step", [0.5, 1.0, 2.0])
def test_evenly_spaced_centres_lose_little(step: float) -> None:
    grown = BODY.buffer(BALL, quad_segs=100)
    count = math.ceil(grown.exterior.length / step)
    places = [grown.exterior.interpolate(k / count, normalized=True) for k in range(count)]
    found = less_ball(ring_of(shapely.Polygon(places)), BALL)
    # Where the arc about a corner begins between two centres, a chord of both falls short of it.
    assert farthest(BODY, found.area) < 0.06 * step**2
    assert found.short < 0.06 * step**2


def test_centres_on_a_circle() -> None:
    # Radius 50 in 360 steps: chords lie 50 (1 - cos 0.5 deg) = 0.0019 within it, and so does what is read.
    angle = np.radians(np.arange(360.0))
    ring = np.column_stack([50.0 * np.cos(angle), 200.0 + 50.0 * np.sin(angle)])
    found = less_ball(ring, BALL)
    inner = 50.0 * math.cos(math.radians(0.5)) - BALL
    assert found.area.area == pytest.approx(360.0 * inner**2 * math.tan(math.radians(0.5)), rel=1e-9)


def test_a_ring_with_sharp_corners_moves_to_a_smaller_one() -> None:
    found = less_ball(ring_of(shapely.box(0, 100, 40, 140)), BALL)
    assert found.area.equals(shapely.MultiPolygon([shapely.box(3, 103, 37, 137)]))
    # The ball in the corner touches nothing: it is farther off by (sqrt 2 - 1) 3.
    assert found.short == pytest.approx((math.sqrt(2.0) - 1.0) * BALL)
    assert found.lost is None


class TestTooThin:
    def test_a_body_thinner_than_the_ball_vanishes(self) -> None:
        found = less_ball(ring_of(shapely.box(0, 0, 50, 5.9)), BALL)
        assert found.area.is_empty
        assert found.lost is not None

    @pytest.mark.parametrize(("height", "is_lost"), [(5.9, True), (6.1, False)])
    @pytest.mark.parametrize("step", [1.0, 100.0])
    def test_a_fin(self, height: float, is_lost: bool, step: float) -> None:
        fin = shapely.union(shapely.box(0, 0, 50, 50), shapely.box(50, 20, 80, 20 + height))
        found = less_ball(ring_of(shapely.segmentize(fin, step)), BALL)
        assert (found.lost is not None) == is_lost
        assert found.lost is None or found.lost[0] > 50.0

    @pytest.mark.parametrize("step", [1.0, 100.0])
    def test_a_neck(self, step: float) -> None:
        neck = shapely.union_all(
            [shapely.box(0, 0, 50, 50), shapely.box(50, 20, 70, 25), shapely.box(70, 0, 90, 50)]
        )
        found = less_ball(ring_of(shapely.segmentize(neck, step)), BALL)
        assert found.lost is not None
        assert 50.0 < found.lost[0] < 70.0


@settings(max_examples=80)
@given(st.lists(st.integers(200, 900), min_size=5, max_size=24), st.integers(1, 8))
def test_nothing_of_a_body_is_lost(sizes: list[int], segments: int) -> None:
    """Random stars: what is read holds the body, within the arcs of shapely's corners."""
    turns = 2.0 * np.pi * np.arange(len(sizes)) / len(sizes)
    reach = np.array(sizes) / 10.0
    body = shapely.Polygon(np.column_stack([reach * np.cos(turns), 200.0 + reach * np.sin(turns)]))
    grown = body.buffer(BALL, quad_segs=segments)
    ring = ring_of(shapely.Polygon(grown.exterior))
    found = less_ball(ring, BALL)
    # The ends of an arc that a neighbouring edge cuts short lie on no chord of full length.
    assert farthest(body, found.area) <= BALL * (1.0 - math.cos(math.pi / 4.0 / segments)) + 0.05
    assert shapely.Polygon(ring).contains(found.area)

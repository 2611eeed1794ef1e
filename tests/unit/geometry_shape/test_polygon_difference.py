"""What of a polygon lies outside another, against shapely's booleans (GEOS)."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from geometry.shape.curve import Array
from geometry.shape.polygon_difference import difference


def _star(rng: np.random.Generator, z: float, r: float, corners: int) -> Array:
    """Return a simple polygon round a place, counterclockwise, of radii between 5 and 20."""
    angles = np.sort(rng.uniform(0.0, 2.0 * math.pi, corners))
    reach = rng.uniform(5.0, 20.0, corners)
    star = np.column_stack([z + reach * np.cos(angles), r + reach * np.sin(angles)])
    # Where all corners lie to one side of the place, it may run the other way.
    return star if shapely.LinearRing(star).is_ccw else star[::-1].copy()


@pytest.mark.parametrize("seed", range(4))
def test_random_polygons_agree_with_shapely(seed: int) -> None:
    rng, decided = np.random.default_rng(seed), 0
    for _ in range(150):
        a = _star(rng, 0.0, 100.0, int(rng.integers(3, 40)))
        b = _star(rng, rng.uniform(-15.0, 15.0), rng.uniform(85.0, 115.0), int(rng.integers(3, 40)))
        one, other = shapely.Polygon(a), shapely.Polygon(b)
        if not (one.is_valid and other.is_valid):
            continue
        known, corners, count, area, moment = difference(a, b)
        crossing = one.exterior.crosses(other.exterior)
        assert known == crossing
        if not known:
            continue
        decided += 1
        wanted = one.difference(other)
        assert area == pytest.approx(wanted.area, rel=1e-10)
        assert moment == pytest.approx(wanted.area * wanted.centroid.y, rel=1e-10)
        assert len(count) == len(shapely.get_parts(wanted))
        rings = np.split(corners, np.cumsum(count)[:-1])
        assert all(shapely.LinearRing(ring).is_ccw for ring in rings)
        drawn = shapely.union_all([shapely.Polygon(ring) for ring in rings])
        assert drawn.symmetric_difference(wanted).area < 1e-9
    assert decided > 50


def test_a_square_that_stands_out_by_a_quarter() -> None:
    """The corner of 5 by 5 from (5, 5) to (10, 10) is shared, so that three quarters are outside."""
    square = np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)])
    known, corners, count, area, moment = difference(square, square + 5.0)
    assert known
    assert count.tolist() == [6]
    assert sorted(map(tuple, corners.tolist())) == [(0, 0), (0, 10), (5, 5), (5, 10), (10, 0), (10, 5)]
    assert area == pytest.approx(75.0)
    assert moment == pytest.approx(100.0 * 5.0 - 25.0 * 7.5)


@pytest.mark.parametrize(
    "shift", [(0.0, 0.0), (5.0, 0.0), (10.0, 0.0), (10.0, 10.0), (30.0, 0.0), (0.0, 1e-10)]
)
def test_edges_that_lie_on_each_other_or_never_meet_decide_nothing(shift: tuple[float, float]) -> None:
    square = np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)])
    known, corners, count, area, moment = difference(square, square + np.array(shift))
    assert not known
    assert not len(corners)
    assert not len(count)
    assert area == moment == 0.0


def test_a_part_may_start_and_end_on_one_edge() -> None:
    """A notch's tip through one edge: all of the square but the triangle in it."""
    square = np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)])
    tip = np.array([(3.0, -5.0), (7.0, -5.0), (5.0, 5.0)])
    known, corners, count, area, _ = difference(square, tip)
    assert known
    assert count.tolist() == [len(corners)] == [7]
    # The tip narrows from 4 at -5 to 0 at 5: it is 2 wide where it enters.
    assert area == pytest.approx(100.0 - 2.0 * 5.0 / 2.0)
    known, corners, count, area, _ = difference(tip, square)
    assert known
    assert area == pytest.approx(4.0 * 10.0 / 2.0 - 5.0)

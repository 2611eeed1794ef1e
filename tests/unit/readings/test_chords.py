"""Stretches of metal along lines, against arithmetic and against shapely on a fine polygon."""

import math

import numpy as np
import pytest
import shapely

from geometry.errors import GeometryError
from geometry.readings.chords import Span, along, along_r, along_z, spans
from geometry.shape.curve import Path
from tests.support.sections import random_outline

BLOCK = Path.closed([(0.0, 50.0), (30.0, 50.0), (30.0, 80.0), (0.0, 80.0)])
#: A disc of R 20 about (0, 100), drawn as two half circles.
DISC = Path.closed([(-20.0, 100.0, 1.0), (20.0, 100.0, 1.0)])


def total(found: list[Span]) -> float:
    return sum(high - low for low, high in found)


def test_chords_of_a_circle() -> None:
    # Half chord sqrt(20^2 - 12^2) = 16.
    assert along_z(DISC, 112.0) == [pytest.approx((-16.0, 16.0), abs=1e-12)]
    assert along_r(DISC, 12.0) == [pytest.approx((84.0, 116.0), abs=1e-12)]
    assert along_z(DISC, 100.0) == [pytest.approx((-20.0, 20.0), abs=1e-12)]


def test_a_line_through_the_joints_of_two_half_circles_has_the_diameter() -> None:
    # The same disc, its joints on a line at 45 degrees through its middle.
    leaning = Path.closed([(14.0, 86.0, 1.0), (-14.0, 114.0, 1.0)])
    half = 14.0 * math.sqrt(2.0)
    assert along(leaning, (0.0, 100.0), (1.0, -1.0)) == [pytest.approx((-half, half), abs=1e-12)]
    assert along(leaning, (0.0, 100.0), (1.0, 1.0)) == [pytest.approx((-half, half), abs=1e-12)]


def test_stretches_of_a_fork_come_in_order() -> None:
    fork = Path.closed([(0, 50), (30, 50), (30, 80), (20, 80), (20, 60), (10, 60), (10, 80), (0, 80)])
    assert along_z(fork, 70.0) == [(0.0, 10.0), (20.0, 30.0)]
    assert along_z(fork, 55.0) == [(0.0, 30.0)]


def test_a_line_that_only_touches_has_no_metal() -> None:
    assert along_z(DISC, 120.0) == []
    assert along_r(DISC, 20.0) == []
    ring = Path.closed([(0.0, 0.0), (10.0, 10.0), (0.0, 20.0), (-10.0, 10.0)])
    assert along_z(ring, 20.0) == []


def test_along_an_edge_the_metal_just_beyond_decides() -> None:
    assert along_z(BLOCK, 50.0) == [(0.0, 30.0)]
    assert along_z(BLOCK, 80.0) == []
    assert along_r(BLOCK, 0.0) == [(50.0, 80.0)]
    assert along_r(BLOCK, 30.0) == []


def test_lengths_on_a_slanting_line_count_from_the_place() -> None:
    # A 3-4-5 line through the block's middle: 30 high over a rise of 4 in 5 is 37.5 long.
    found = along(BLOCK, (15.0, 65.0), (3.0, 4.0))
    assert found == [pytest.approx((-18.75, 18.75), abs=1e-12)]


def test_a_line_needs_a_direction() -> None:
    with pytest.raises(GeometryError, match="direction"):
        along(BLOCK, (0.0, 0.0), (0.0, 0.0))


@pytest.mark.parametrize("seed", range(10))
def test_lines_through_random_sections_equal_those_through_a_fine_polygon(seed: int) -> None:
    rng = np.random.default_rng(seed)
    path = random_outline(rng).path
    metal = shapely.Polygon(path.flattened(1e-7))
    z_low, z_high, r_low, r_high = path.bounds
    for _ in range(20):
        place = (float(rng.uniform(z_low, z_high)), float(rng.uniform(r_low, r_high)))
        turn = float(rng.uniform(0.0, 2.0 * math.pi))
        way = np.array([math.cos(turn), math.sin(turn)])
        line = shapely.LineString([np.array(place) - 1000.0 * way, np.array(place) + 1000.0 * way])
        expected = line.intersection(metal).length
        assert total(along(path, place, (float(way[0]), float(way[1])))) == pytest.approx(expected, abs=2e-3)


@pytest.mark.parametrize("seed", range(5))
def test_lines_through_every_vertex_have_whole_stretches(seed: int) -> None:
    path = random_outline(np.random.default_rng(seed)).path
    for axis in (0, 1):
        levels = path.points[:, 1 - axis]
        at, beyond = spans(path, levels, axis), spans(path, levels + 1e-9, axis)
        for here, there in zip(at, beyond, strict=True):
            assert total(here) == pytest.approx(total(there), abs=2e-3)

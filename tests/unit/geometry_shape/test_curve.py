"""Places, directions, lengths, area and bounds along lines and arcs, by closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.errors import GeometryError
from geometry.shape.curve import Path

#: A half disc of radius 20 about (0, 50): its flat, then its arc from 0 to 180 degrees.
HALF_DISC = Path.closed([(-20.0, 50.0), (20.0, 50.0, 1.0)])


def test_places_and_directions_along_a_line_and_an_arc() -> None:
    piece, t = np.array([0, 0, 1, 1, 1, 1]), np.array([0.25, 1.0, 0.0, 0.25, 0.5, 1.0])
    s = math.sqrt(0.5)
    places = [(-10, 50), (20, 50), (20, 50), (20 * s, 50 + 20 * s), (0, 70), (-20, 50)]
    assert HALF_DISC.at(piece, t) == pytest.approx(np.array(places))
    directions = [(1, 0), (1, 0), (0, 1), (-s, s), (-1, 0), (0, -1)]
    assert HALF_DISC.tangents(piece, t) == pytest.approx(np.array(directions))


def test_an_arc_that_turns_right_is_walked_the_other_way() -> None:
    back = HALF_DISC.reversed()
    assert back.at(np.array([0]), np.array([0.25]))[0] == pytest.approx(
        HALF_DISC.at(np.array([1]), np.array([0.75]))[0]
    )
    assert back.tangents(np.array([0]), np.array([0.5]))[0] == pytest.approx([1.0, 0.0])


@given(st.lists(st.floats(-0.99, 0.99), min_size=4, max_size=4), st.floats(0.0, 500.0))
def test_joints_coincide_bit_for_bit(bulges: list[float], r: float) -> None:
    path = Path(np.array([(0.1, r), (33.3, r + 1.7), (30.1, r + 40.9), (-1.3, r + 41.1)]), np.array(bulges))
    every = np.arange(4)
    assert np.array_equal(path.at(every, np.ones(4)), path.at((every + 1) % 4, np.zeros(4)))


def test_lengths_and_area_of_a_half_disc() -> None:
    assert HALF_DISC.lengths == pytest.approx([40.0, 20.0 * math.pi])
    assert HALF_DISC.area == pytest.approx(200.0 * math.pi, rel=1e-14)
    assert HALF_DISC.reversed().area == pytest.approx(-200.0 * math.pi, rel=1e-14)
    # A square of 40 with a half disc of radius 20 bitten out of one side.
    bitten = Path.closed([(0, 50), (40, 50), (40, 90, -1.0), (0, 90)])
    assert bitten.area == pytest.approx(1600.0 - 200.0 * math.pi, rel=1e-14)


@pytest.mark.parametrize("steps", range(8))
def test_bounds_reach_the_top_of_an_arc_and_no_further(steps: int) -> None:
    """A quarter circle of radius 10 about (0, 100) from 45 k degrees on, closed over its centre."""
    start = math.radians(45.0 * steps)
    ends = [(10.0 * math.cos(a), 100.0 + 10.0 * math.sin(a)) for a in (start, start + math.pi / 2.0)]
    quarter = Path.closed([(*ends[0], math.tan(math.pi / 8.0)), ends[1], (0.0, 100.0)])
    on_it = np.radians(np.linspace(45.0 * steps, 45.0 * steps + 90.0, 91))
    z, r = np.append(10.0 * np.cos(on_it), 0.0), np.append(100.0 + 10.0 * np.sin(on_it), 100.0)
    # The sweep holds each of 0, 90, 180 and 270 degrees that the quarter passes, to the degree.
    assert quarter.bounds == pytest.approx((z.min(), z.max(), r.min(), r.max()), abs=1e-12)


def test_a_direction_lies_on_an_arc_up_to_its_ends() -> None:
    angle = np.radians([0.0, 90.0, 180.0, 270.0, 361.0, -181.0, -1e-5])
    on = HALF_DISC.on_sweep(np.ones(7, dtype=np.intp), angle)
    assert on.tolist() == [True, True, True, False, True, True, False]
    back = HALF_DISC.reversed().on_sweep(np.zeros(7, dtype=np.intp), angle)
    assert back.tolist() == on.tolist()


def test_a_moved_path_keeps_its_shape() -> None:
    moved = HALF_DISC.moved(dz=3.0, dr=-10.0)
    assert moved.bounds == pytest.approx((-17.0, 23.0, 40.0, 60.0))
    assert moved.area == pytest.approx(HALF_DISC.area)


def test_the_first_vertex_that_no_outline_has_is_named() -> None:
    with pytest.raises(GeometryError, match="Vertex 2: a coordinate is not a number"):
        Path.closed([(0, 50), (40, 50, math.nan), (math.inf, 90)])
    with pytest.raises(GeometryError, match=r"Vertex 3: \(0, -20000\) lies beyond 10000 mm") as error:
        Path.closed([(0, 50), (40, 50), (0, -2e4), (math.nan, 90)])
    assert error.value.place == (0.0, -2e4)

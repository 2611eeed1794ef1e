"""Cuts through outlines, against arithmetic and against shapely on a fine polygon."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely.ops import split

from geometry.shape.curve import Path
from geometry.shape.cut import cuts, parts
from tests.support.sections import random_outline

BLOCK = Path.closed([(0.0, 50.0), (30.0, 50.0), (30.0, 80.0), (0.0, 80.0)])
#: A disc of R 20 about (0, 100), drawn as two half circles.
DISC = Path.closed([(-20.0, 100.0, 1.0), (20.0, 100.0, 1.0)])
#: A block with a notch between z 10 and 20 down to r 60.
FORK = Path.closed([(0, 50), (30, 50), (30, 80), (20, 80), (20, 60), (10, 60), (10, 80), (0, 80)])


def test_piece_fraction_and_place_of_each_cut() -> None:
    first, second = cuts(BLOCK, (-10.0, 57.5), (40.0, 57.5))
    assert (first[0], first[1], second[0], second[1]) == (1, 0.25, 3, 0.75)
    assert first[2].tolist() == [30.0, 57.5]
    assert second[2].tolist() == [0.0, 57.5]


def test_a_segment_that_ends_in_the_metal_crosses_once() -> None:
    assert [cut[0] for cut in cuts(BLOCK, (-10.0, 60.0), (15.0, 60.0))] == [3]
    assert parts(BLOCK, (-10.0, 60.0), (15.0, 60.0)) is None


def test_halves_of_a_disc() -> None:
    found = parts(DISC, (-30.0, 100.0), (30.0, 100.0))
    assert found is not None
    assert [p.area for p in found] == pytest.approx([200.0 * np.pi, 200.0 * np.pi])


@pytest.mark.parametrize("r", [80.0, 120.0])
def test_a_segment_that_only_touches_parts_nothing(r: float) -> None:
    assert cuts(DISC, (-30.0, r), (30.0, r)) == []
    assert parts(DISC, (-30.0, r), (30.0, r)) is None


def test_a_touch_on_the_way_does_not_hinder_a_cut() -> None:
    # The tip of a notch at (20, 60) only touches the line.
    notched = Path.closed([(0, 50), (30, 50), (30, 80), (25, 80), (20, 60), (15, 80), (0, 80)])
    assert [cut[0] for cut in cuts(notched, (-10.0, 60.0), (40.0, 60.0))] == [1, 6]


def test_along_an_edge_what_lies_to_the_left_decides() -> None:
    # The notch's floor at r 60 borders metal below it and the open above.
    assert [cut[2][0] for cut in cuts(FORK, (-10.0, 60.0), (40.0, 60.0))] == [30.0, 20.0, 10.0, 0.0]
    assert [cut[2][0] for cut in cuts(FORK, (40.0, 60.0), (-10.0, 60.0))] == [30.0, 0.0]


@pytest.mark.parametrize("seed", range(10))
def test_parts_of_random_sections_are_those_of_a_fine_polygon(seed: int) -> None:
    rng = np.random.default_rng(seed)
    path = random_outline(rng).path
    metal = shapely.Polygon(path.flattened(1e-6))
    low, high, r_low, r_high = path.bounds
    done = 0
    for _ in range(40):
        start = (low - 5.0, float(rng.uniform(r_low, r_high)))
        end = (high + 5.0, float(rng.uniform(r_low, r_high)))
        found = parts(path, start, end)
        pieces = split(metal, shapely.LineString([start, end])).geoms
        assert (found is not None) == (len(pieces) == 2)
        if found is not None:
            assert sorted(p.area for p in found) == pytest.approx(sorted(p.area for p in pieces), abs=1e-2)
            done += 1
    assert done > 5


@pytest.mark.parametrize("seed", range(5))
def test_lines_through_two_vertices_cross_an_even_number_of_times(seed: int) -> None:
    path = random_outline(np.random.default_rng(seed)).path
    corners = path.points[:: max(1, len(path) // 12)]
    for i, a in enumerate(corners):
        for b in corners[i + 1 :]:
            way = 1000.0 * (b - a) / np.hypot(*(b - a))
            start, end = (a - way).tolist(), (b + way).tolist()
            assert len(cuts(path, (start[0], start[1]), (end[0], end[1]))) % 2 == 0

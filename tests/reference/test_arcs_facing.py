"""Least distances of lines and arcs by plain trigonometry, each pairing by itself."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.readings.gap import gaps
from geometry.shape.curve import Path
from geometry.shape.distance import contains


def disc(z: float, r: float, radius: float) -> Path:
    return Path.closed([(z - radius, r, 1.0), (z + radius, r, 1.0)])


def least(metal: Path, shape: Path) -> float:
    n = len(metal)
    found = gaps(metal, np.zeros(n, dtype=np.intp), np.ones(n, dtype=bool), shape)
    return min(f.least_mm for f in found.findings)


@pytest.mark.parametrize("degrees", [0.0, 17.0, 90.0, 133.0, 250.0])
def test_two_discs_are_their_centres_apart_less_both_radii(degrees: float) -> None:
    z, r = 40.0 * math.cos(math.radians(degrees)), 40.0 * math.sin(math.radians(degrees))
    assert least(disc(0.0, 100.0, 9.0), disc(z, 100.0 + r, 6.0)) == pytest.approx(25.0, abs=1e-12)


def test_disc_over_a_straight_face_between_its_ends() -> None:
    face = Path.closed([(-50.0, 80.0), (50.0, 90.0), (50.0, 40.0), (-50.0, 40.0)]).counterclockwise()
    height = (120.0 - 85.0) * 100.0 / math.hypot(100.0, 10.0)
    assert least(face, disc(0.0, 120.0, 12.0)) == pytest.approx(height - 12.0, abs=1e-12)


def test_disc_in_a_hollow_of_larger_radius() -> None:
    """A hollow of radius 30 about (0, 100), a disc of radius 10 set 8 off its centre: 30 - 10 - 8."""
    hollow = Path.closed(
        [(-40.0, 100.0), (-40.0, 60.0), (40.0, 60.0), (40.0, 100.0), (30.0, 100.0, -1.0), (-30.0, 100.0)]
    )
    assert least(hollow, disc(0.0, 92.0, 10.0)) == pytest.approx(12.0, abs=1e-12)


def test_an_arc_that_does_not_reach_the_common_normal_is_nearest_at_its_end() -> None:
    """A quarter arc from (100, 0) to (0, 100) about the origin, a disc below its end on the axis side."""
    quarter = Path.closed([(0.0, 40.0), (100.0, 40.0, math.tan(math.pi / 8.0)), (0.0, 140.0)])
    assert least(quarter, disc(130.0, 20.0, 5.0)) == pytest.approx(math.hypot(30.0, 20.0) - 5.0, abs=1e-12)


def test_points_in_and_beside_the_cap_of_an_arc() -> None:
    lens = Path.closed([(0.0, 50.0, 0.5), (40.0, 50.0, 0.0), (20.0, 90.0, 0.0)])
    inside = contains(lens, np.array([[20.0, 41.0], [20.0, 39.0], [2.0, 41.0], [20.0, 60.0], [3.0, 60.0]]))
    # The cap is a segment of sagitta 0.5 * 40 / 2 = 10 below the chord r 50.
    assert inside.tolist() == [True, False, False, True, False]

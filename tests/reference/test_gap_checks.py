"""Rows of checks.md on gaps that stand nowhere else: G8, G10 and G11.

Geometry and arithmetic, as the page says of each.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from app.reports.gauge import Correction
from geometry.readings.gap import gaps
from geometry.readings.moves import clearing_move
from geometry.shape.curve import Path

SQUARE = Path.closed([(0.0, 100.0), (10.0, 100.0), (10.0, 110.0), (0.0, 110.0)])


def least(wheel: Path, shape: Path) -> float:
    found = gaps(wheel, np.zeros(len(wheel), dtype=np.intp), np.ones(len(wheel), dtype=bool), shape)
    return min(f.least_mm for f in found.findings)


@pytest.mark.parametrize("turn", [0.0, 20.0, 45.0, 70.0, 90.0])
def test_g8_a_wheel_that_touches_the_line_3_mm_round_a_square_reads_3(turn: float) -> None:
    """Round the corner at (10, 110) that line is an arc of 3 mm: the wheel's corner stands on it."""
    z, r = 10.0 + 3.0 * math.cos(math.radians(turn)), 110.0 + 3.0 * math.sin(math.radians(turn))
    away = Path.closed([(z, r), (z + 9.0, r), (z + 9.0, r + 9.0), (z, r + 9.0)])
    assert least(away, SQUARE) == pytest.approx(3.0, abs=1e-6)
    line = shapely.Polygon(SQUARE.points).buffer(3.0, quad_segs=400)
    assert line.exterior.distance(shapely.Point(z, r)) == pytest.approx(0.0, abs=1e-4)


def test_g10_depths_of_three_overlaps() -> None:
    wall = Path.closed([(-50.0, 100.0), (50.0, 100.0), (50.0, 106.0), (-50.0, 106.0)])
    corner = Path.closed([(0.0, 102.0), (30.0, 72.0), (0.0, 42.0), (-30.0, 72.0)])
    assert least(wall, corner) == pytest.approx(-2.0, abs=0.01)
    hose = Path(np.array([(-3.0, 103.0), (3.0, 103.0)]), np.array([1.0, 1.0]))
    assert least(wall, hose) == pytest.approx(-3.0, abs=0.01)
    block = Path.closed([(-10.0, 60.0), (10.0, 60.0), (10.0, 140.0), (-10.0, 140.0)])
    assert least(wall, block) == pytest.approx(-10.0, abs=0.01)
    assert abs(clearing_move(wall, block, "r")) == pytest.approx(40.0, abs=0.01)


def test_g11_a_print_at_97_percent_is_6_3_wrong_over_210_until_it_is_corrected() -> None:
    assert pytest.approx(6.3, abs=0.01) == 210.0 * (1.0 - 0.97)
    by = Correction.of_bars(97.0, 97.0)
    assert 210.0 * by.x * 0.97 == pytest.approx(210.0)
    assert 210.0 * by.y * 0.97 == pytest.approx(210.0)

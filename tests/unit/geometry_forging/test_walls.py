"""Walls of a turned ring, against circles, cones and tori with closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.forging.profile import hill, line, valley
from geometry.forging.walls import at_level, beside, narrowest, turned_mm3, widest
from geometry.shape.curve import Array


def table(*rows: list[float]) -> Array:
    return np.array(rows)


def test_a_hill_has_a_height_over_its_centre_alone_and_a_valley_under_it() -> None:
    """A circle of 10 about (20, 50): 8 off its middle where it stands 6 over or under its centre."""
    over, under = np.array(hill(10, 30, 20, 50, 10)), np.array(valley(10, 30, 20, 50, 10))
    assert at_level(over, 56.0) == pytest.approx([12.0, 28.0])
    assert at_level(under, 44.0) == pytest.approx([12.0, 28.0])
    # There stands the circle's other half, which is not the piece's.
    assert at_level(over, 44.0) == []
    assert at_level(under, 56.0) == []
    assert at_level(over, 61.0) == []


def test_a_line_has_a_height_once_and_a_level_one_nowhere() -> None:
    assert at_level(np.array(line(0, 9, 2, 10, 0.5)), 12.0) == pytest.approx([6.0])
    assert at_level(np.array(line(0, 9, 2, 10, 0.0)), 12.0) == []


def test_what_lies_beside_a_height_is_one_side_and_what_is_left_the_other() -> None:
    row = np.array(hill(10, 30, 20, 50, 10))
    assert [(a, b) for a, b, *_ in beside(row, 56.0, 1.0)] == [pytest.approx((12.0, 28.0))]
    assert [(a, b) for a, b, *_ in beside(row, 56.0, -1.0)] == [
        pytest.approx((10.0, 12.0)),
        pytest.approx((28.0, 30.0)),
    ]
    # Wholly over a height at which only the circle's other half lies: one stretch, not parted.
    assert [(a, b) for a, b, *_ in beside(row, 44.0, 1.0)] == [pytest.approx((10.0, 30.0))]


def test_a_frustum_and_both_halves_of_a_torus() -> None:
    """Frustum: pi h (R2 + R r + r2) / 3. Torus by Pappus: a half disc's middle is 4 a / 3 pi off its side."""
    cone = table(line(0, 30, 0, 100, -0.5))
    assert turned_mm3(cone, 0.0, 30.0) == pytest.approx(math.pi * 30.0 * (100**2 + 100 * 85 + 85**2) / 3.0)
    cylinder = math.pi * 50.0**2 * 20.0
    half, off = math.pi * 10.0**2 / 2.0, 4.0 * 10.0 / (3.0 * math.pi)
    outer = cylinder + 2.0 * math.pi * (50.0 + off) * half
    inner = cylinder - 2.0 * math.pi * (50.0 - off) * half
    assert turned_mm3(table(hill(10, 30, 20, 50, 10)), 10.0, 30.0) == pytest.approx(outer, rel=1e-12)
    assert turned_mm3(table(valley(10, 30, 20, 50, 10)), 10.0, 30.0) == pytest.approx(inner, rel=1e-12)
    # One side of the middle is half of it.
    assert turned_mm3(table(hill(10, 30, 20, 50, 10)), 10.0, 20.0) == pytest.approx(outer / 2.0, rel=1e-12)


def test_the_thickest_and_the_thinnest_wall_between_two_cones() -> None:
    """Outside 100 to 90, bore 80 to 85 over 50 mm: from 20 down to 5, by 3 mm in 10."""
    outer, inner = table(line(0, 50, 0, 100, -0.2)), table(line(0, 50, 0, 80, 0.1))
    assert widest(outer, inner, 0.0, 50.0) == pytest.approx(20.0)
    assert narrowest(outer, inner, 0.0, 50.0) == pytest.approx(5.0)
    assert widest(outer, inner, 10.0, 50.0) == pytest.approx(17.0)

"""Walls for the jaws of a forging whose drafts run away from a parting line: they end at its ridge."""

from __future__ import annotations

import math

import pytest

from geometry.forging.grip import outside_grip
from geometry.shape.curve import Path

FALL = math.tan(math.radians(1.0))


def drafted(parting: float, low: float = 0.0, high: float = 200.0, rim: float = 250.0) -> Path:
    """Return a ring from z `low` to `high`, widest where its dies meet, with 1 degree of draft either way."""
    ends = rim - FALL * (parting - low), rim - FALL * (high - parting)
    return Path.closed([(low, 150.0), (high, 150.0), (high, ends[1]), (parting, rim), (low, ends[0])])


@pytest.mark.parametrize(("outboard", "z_low", "z_high"), [(True, 120.0, 200.0), (False, 0.0, 120.0)])
def test_jaws_hold_on_one_side_of_the_ridge(outboard: bool, z_low: float, z_high: float) -> None:
    grip = outside_grip(drafted(120.0), 10.0, outboard=outboard)
    assert grip is not None
    assert (grip.z_low, grip.z_high) == pytest.approx((z_low, z_high))
    assert grip.far_mm == pytest.approx(500.0)
    # A cone of 1 degree over the wall's own length (any table of tapers: 1 in 57.29 a side).
    assert grip.near_mm == pytest.approx(500.0 - 2.0 * grip.length_mm / 57.29, abs=2e-3)
    assert grip.to_ridge


def test_a_wall_in_pieces_is_one() -> None:
    rows = [(0.0, 150.0), (100.0, 150.0), (100.0, 200.0), (60.0, 200.0), (30.0, 200.0), (0.0, 200.0)]
    grip = outside_grip(Path.closed(rows), 10.0, outboard=True)
    assert grip is not None
    assert grip.length_mm == pytest.approx(100.0)
    assert not grip.to_ridge


def test_where_the_near_side_is_too_short_the_jaws_close_behind_the_ridge() -> None:
    """The dies meet 8 mm from the end; jaws close along r, so that they may reach over the ridge."""
    grip = outside_grip(drafted(192.0), 25.0, outboard=True)
    assert grip is not None
    assert (grip.z_low, grip.z_high) == pytest.approx((0.0, 192.0))
    assert grip.near_mm == pytest.approx(500.0)
    short = outside_grip(drafted(192.0), 5.0, outboard=True)
    assert short is not None
    assert (short.z_low, short.z_high) == pytest.approx((192.0, 200.0))


def test_a_wall_out_of_reach_is_none() -> None:
    """The end leans by 10 degrees, which jaws do not hold, for 80 mm: more than they reach over."""
    steep = math.tan(math.radians(10.0))
    rows = [(0.0, 150.0), (200.0, 150.0), (200.0, 250.0 - 80.0 * steep), (120.0, 250.0), (0.0, 250.0)]
    assert outside_grip(Path.closed(rows), 10.0, outboard=True) is None
    assert outside_grip(Path.closed(rows), 10.0, outboard=False) is not None

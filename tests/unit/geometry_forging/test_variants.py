"""Variants of one set of tools on a plain flanged ring whose every change is made by hand."""

from __future__ import annotations

import math

import pytest

from geometry.forging.variants import MATCH_MM, made_with
from geometry.shape.curve import Path

#: Disc 40 thick between z 0 and 40, ring from z -200 to 60, walls with draft, mm.
TAN_OUT, TAN_IN = math.tan(math.radians(1.0)), math.tan(math.radians(2.0))


def ring(
    end: float = -200.0, stop: float = 0.0, rim: float = 250.0, dish: float = 0.0, slid: float = 0.0
) -> Path:
    """A blank whose walls end where the charge ends; `stop` lifts the upper die, `dish` lowers its middle."""
    return Path.closed(
        [
            (slid, 0.0),
            (slid, 200.0),
            (end + slid, 200.0 + TAN_IN * -end),
            (end + slid, rim - TAN_OUT * (60.0 - end)),
            (60.0 + stop + slid, rim),
            (60.0 + stop + slid, 215.0),
            (40.0 + stop + slid, 200.0),
            (40.0 + stop - dish + slid, 150.0),
            (40.0 + stop - dish + slid, 0.0),
        ]
    )


def test_a_blank_is_made_with_its_own_tools_wherever_it_is_drawn() -> None:
    made = made_with(ring(slid=13.0), ring())
    assert made.closing_mm == pytest.approx(0.0, abs=1e-6)
    assert made.ring_mm == pytest.approx(0.0, abs=1e-6)
    assert made.disc_mm == pytest.approx(40.0)
    assert made.wall.by_mm == pytest.approx(0.0, abs=1e-6)
    assert made.inserts.by_mm == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("longer", [-30.0, 12.0])
def test_a_longer_or_shorter_ring_asks_only_for_another_charge(longer: float) -> None:
    made = made_with(ring(end=-200.0 - longer), ring())
    assert made.ring_mm == pytest.approx(longer)
    assert made.closing_mm == pytest.approx(0.0, abs=1e-6)
    assert max(made.wall.by_mm, made.inserts.by_mm) < MATCH_MM / 10.0
    # Frustum rings by hand: the cut's middle radii times its area.
    low, high = sorted((-200.0, -200.0 - longer))
    steps = 20000
    volume = 0.0
    for k in range(steps):
        z = low + (high - low) * (k + 0.5) / steps
        outer, inner = 250.0 - TAN_OUT * (60.0 - z), 200.0 - TAN_IN * z
        volume += math.pi * (outer**2 - inner**2) * (high - low) / steps
    more = made.charge_mm3 - made_with(ring(), ring()).charge_mm3
    assert more == pytest.approx(math.copysign(volume, longer), rel=1e-4)


@pytest.mark.parametrize("stop", [-6.0, 5.0])
def test_dies_that_stop_elsewhere_change_the_disc_by_as_much(stop: float) -> None:
    made = made_with(ring(stop=stop), ring())
    assert made.closing_mm == pytest.approx(stop)
    assert made.disc_mm == pytest.approx(40.0 + stop)
    # The wall leans by the draft: moved along the axle it is off by no more than that.
    assert made.wall.by_mm <= abs(stop) * TAN_OUT + 1e-6
    assert made.inserts.by_mm < MATCH_MM / 10.0


def test_a_deeper_dish_and_a_wider_rim_are_told_with_place_and_length() -> None:
    dish = made_with(ring(dish=3.0), ring(dish=0.0))
    # Most radii lie in the dish, so that it is the ledge outside it that stands off: by its own 3 mm.
    assert dish.closing_mm == pytest.approx(-3.0)
    assert dish.inserts.by_mm == pytest.approx(3.0, abs=0.1)
    wide = made_with(ring(rim=252.0), ring())
    assert wide.wall.by_mm == pytest.approx(2.0, rel=1e-3)
    assert wide.wall.at[1] == pytest.approx(252.0, abs=5.0)
    assert wide.inserts.by_mm < MATCH_MM

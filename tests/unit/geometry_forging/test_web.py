"""The least web: where it holds, that nothing else changes, and a closed form of what it weighs."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.errors import GeometryError
from geometry.forging.composite import Forgeable, blank_of, need, united
from geometry.forging.profile import heights
from geometry.forging.web import with_least_web
from geometry.shape.curve import Path
from tests.unit.geometry_forging.test_composite import random_group, ring_and_disc

HOW = Forgeable(3.0, 5.0, 0.0)


def thickness(high: np.ndarray, low: np.ndarray, r: np.ndarray) -> np.ndarray:
    return np.asarray(heights(high, r) + heights(low, r))


@pytest.mark.parametrize("seed", range(6))
def test_no_place_is_thinner_and_the_old_blank_lies_within(seed: int) -> None:
    _, _, needs, how = random_group(seed)
    high, low = united(needs, [0.0, 2.0, -1.0])
    reach = max(n.reach_mm for n in needs)
    r = np.linspace(0.0, reach - 1e-6, 4001)
    web = float(thickness(high, low, r).min()) + 12.0
    above, below = with_least_web(high, low, web, reach, how)
    assert float(thickness(above, below, r).min()) >= web - 1e-6
    assert np.all(heights(above, r) >= heights(high, r) - 1e-9)
    assert np.all(heights(below, r) >= heights(low, r) - 1e-9)
    falls, rises = (1.0 / math.tan(math.radians(a)) for a in (how.outside_deg, how.inside_deg))
    lean = np.diff(heights(above, r)) / np.diff(r)
    assert lean.max() <= rises * (1.0 + 1e-6) + 1e-6
    assert lean.min() >= -falls * (1.0 + 1e-6) - 1e-6


def test_a_web_that_is_there_already_changes_nothing() -> None:
    each = need("ring", ring_and_disc(), np.zeros(8), HOW)
    same = with_least_web(each.upper, each.lower, 39.0, each.reach_mm, HOW)
    assert same[0] is each.upper
    assert same[1] is each.lower


def test_a_thicker_disc_between_walls_of_a_ring() -> None:
    """Ten millimetres more of web fill a dish with leaning walls; on the deeper side it is the narrower one.

    The ring's inside leans by 5 degrees from r 210 at z 100 and -100 over a disc from z 0 to 40: the dish has
    a radius of 210 - 60 tan 5 at its bottom above, and of 210 - 100 tan 5 below, where 10 mm weigh less.
    """
    each = need("ring", ring_and_disc(), np.zeros(8), HOW)
    before = blank_of(each.upper, each.lower).volume_mm3
    after = blank_of(*with_least_web(each.upper, each.lower, 50.0, each.reach_mm, HOW)).volume_mm3
    lean = math.tan(math.radians(5.0))
    small, large = 210.0 - 100.0 * lean, 210.0 - 90.0 * lean
    filled = math.pi * 10.0 / 3.0 * (small**2 + small * large + large**2)
    assert after - before == pytest.approx(filled, rel=2e-3)


def test_bad_webs_are_refused() -> None:
    each = need("disc", Path.closed([(0, 0), (9, 0), (9, 80), (0, 80)]), np.zeros(4), HOW)
    for web in (-1.0, 301.0, math.nan):
        with pytest.raises(GeometryError, match="least web"):
            with_least_web(each.upper, each.lower, web, each.reach_mm, HOW)

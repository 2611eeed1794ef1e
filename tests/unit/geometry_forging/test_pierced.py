"""A pierced forging: the outline beyond the hole is the same lines and arcs, the slug by closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from geometry.errors import GeometryError
from geometry.forging.pierced import pierced
from geometry.forging.seats import seated
from geometry.readings.solid import volume_mm3
from geometry.shape.curve import Path
from tests.unit.geometry_forging.test_composite import random_group


def test_a_disc_loses_a_plug() -> None:
    disc = Path.closed([(0.0, 0.0), (40.0, 0.0), (40.0, 200.0), (0.0, 200.0)])
    left = pierced(disc, 60.0)
    assert left.area == pytest.approx(40.0 * 170.0)
    assert volume_mm3(disc) - volume_mm3(left) == pytest.approx(math.pi * 30.0**2 * 40.0, rel=1e-12)
    assert left.bounds == pytest.approx((0.0, 40.0, 30.0, 200.0))


def test_a_ball_leaves_the_napkin_ring() -> None:
    """A ball of r 50 with a hole of r 30 is a ring 80 high: pi h^3 / 6, whatever the ball."""
    ball = Path.closed([(-50.0, 0.0, 0.0), (50.0, 0.0, 1.0)])
    left = pierced(ball, 60.0)
    assert volume_mm3(left) == pytest.approx(math.pi * 80.0**3 / 6.0, rel=1e-12)


@pytest.mark.parametrize("seed", range(4))
def test_what_is_left_of_a_forging_is_its_own_outline(seed: int) -> None:
    """By shapely, which cuts the flattened outline."""
    _, _, needs, how = random_group(seed)
    path = seated(needs, how).blank.path
    left = pierced(path, 50.0)
    cut = shapely.Polygon(path.flattened(1e-4)).difference(shapely.box(-900.0, -1.0, 900.0, 25.0))
    assert shapely.Polygon(left.flattened(1e-4)).symmetric_difference(cut).area < 0.05
    # Every true place beyond the hole is one of the whole outline: no vertex moved.
    whole = {tuple(np.round(p, 9)) for p in path.points}
    assert sum(tuple(np.round(p, 9)) not in whole for p in left.points) == 2


@pytest.mark.parametrize(("hole", "said"), [(0.0, "more than 0"), (-3.0, "more than 0"), (900.0, "0 times")])
def test_what_is_no_hole_is_said(hole: float, said: str) -> None:
    with pytest.raises(GeometryError, match=said):
        pierced(Path.closed([(0.0, 0.0), (40.0, 0.0), (40.0, 200.0), (0.0, 200.0)]), hole)

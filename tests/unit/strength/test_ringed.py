"""Single spokes under a load at the rim: equilibrium and symmetry.

How they share it is held against solids in tests/reference/test_spoke_models.py.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from app.studies.fit import spokes_of
from geometry.errors import GeometryError
from geometry.shape.curve import Array
from geometry.shape.section import Zone
from geometry.strength.around import Borne
from geometry.strength.cuts import Total, cut_at, total_of
from geometry.strength.joined import feels
from geometry.strength.loads import Clamp
from geometry.strength.rim_loads import flange_load, inflated, seat_load, twisted
from geometry.strength.ringed import Ringed, _felt
from geometry.strength.spokes import Spoke, spoke_of
from tests.support.example import wheel
from tests.unit.strength.test_wheel import body, outline, pattern

FORCE, LATERAL, TORQUE = 16_922.0, 3_000.0, 2.6e6


@cache
def spoke() -> Spoke:
    spokes = spokes_of(wheel())
    assert spokes is not None
    return spoke_of(outline().path, spokes)


def cornered() -> dict[int, Array]:
    """All that a rim can be loaded by at once: both seats, a flange, inflation and a torque."""
    out = seat_load(body(), FORCE, 40.0)
    more = (
        flange_load(body(), Zone.INNER_LIP, -LATERAL, 40.0),
        inflated(body(), 0.45, 660.0),
        twisted(body(), TORQUE),
    )
    for load in more:
        for n, force in load.items():
            out[n] = out[n] + force
    return out


@cache
def borne() -> Borne:
    return Ringed(body(), spoke()).borne(cornered())


def figures(total: Total) -> Array:
    r = 200.0
    return np.array([total.axial_n, total.across_n, total.moment_nmm / r, total.torque_nmm / r])


@pytest.mark.parametrize("r_mm", [90.0, 140.0, 200.0])
def test_single_spokes_carry_the_load_at_the_rim(r_mm: float) -> None:
    """Sum of the spokes' own forces against that of the nodal forces of the load; 1e-8 of it."""
    load = total_of(body().mesh.points, cornered())
    assert load.across_n == pytest.approx(-FORCE, rel=1e-9)
    assert load.axial_n == pytest.approx(-LATERAL, rel=1e-9)
    assert load.torque_nmm == pytest.approx(TORQUE, rel=1e-9)
    off = figures(borne().total(r_mm)) - figures(load)
    assert np.abs(off).max() < 1e-8 * np.abs(figures(load)).max()


def test_the_smeared_section_carries_it_too() -> None:
    """The solution's own nodal forces across a cylinder; 1e-8 of the load."""
    load = cornered()
    moved = pattern(Clamp.HUB_PAD).solve(body().parts, load)
    asked = figures(total_of(body().mesh.points, load))
    for r in (90.0, 140.0, 200.0):
        off = figures(cut_at(body(), moved, r).total) - asked
        assert np.abs(off).max() < 1e-8 * np.abs(asked).max()


def test_the_sum_does_not_hang_on_where_the_spokes_stand() -> None:
    """Spokes between which the load stands carry the same as one that stands under it; 1e-8."""
    n = spoke().count
    turned = np.zeros(4)
    r, z = 140.0, float(np.interp(140.0, spoke().r, spoke().z))
    for psi in 2.0 * math.pi * (np.arange(n) + 0.5) / n:
        axial, radial, moment, along, about_z, about_r = borne().at(r, psi).tolist()
        cos, sin = math.cos(psi), math.sin(psi)
        turned += (
            axial,
            radial * cos - along * sin,
            ((axial * r - radial * z + moment) * cos + (along * z - about_r) * sin) / 200.0,
            (along * r + about_z) / 200.0,
        )
    assert turned == pytest.approx(figures(borne().total(r)), rel=1e-8, abs=1e-4)


def test_a_motion_of_the_whole_rim_is_felt_as_it_is() -> None:
    """Along and about the axle, across it and a tilt: ways of a rigid body at the spoke's end."""
    z, r = float(spoke().z[-1]), float(spoke().r[-1])
    for m, way in (
        (0, (1.0, 0.0, 0.0, 0.0, 0.0, 0.0)),
        (0, (0.0, 0.0, 0.0, r, 0.0, 1.0)),
        (1, (0.0, 1.0, 0.0, -1.0, 0.0, 0.0)),
        (1, (r, -z, 1.0, z, 1.0, 0.0)),
        (-1, (r, -z, 1.0, -z, -1.0, 0.0)),
    ):
        assert _felt(spoke(), m) @ np.array(way) == pytest.approx(np.array(way), abs=1e-9 * r)
        # Over its width the end of a spoke sees less of a tilt than its middle.
    assert (feels(spoke(), -1, 1) @ np.array((r, -z, 1.0, z, 1.0, 0.0)))[0] < 0.999 * r


@pytest.mark.parametrize("m", [0, 1, 4, 9])
def test_a_wave_below_0_is_the_mirror_image_of_that_above(m: int) -> None:
    sines = np.array([1.0, 1.0, 1.0, -1.0, -1.0, -1.0])
    assert feels(spoke(), -1, -m) == pytest.approx(feels(spoke(), -1, m) * np.outer(sines, sines))


def test_spokes_either_side_of_the_load_are_mirror_images() -> None:
    """But for a torque, which goes one way round."""
    square = Ringed(body(), spoke()).borne(seat_load(body(), FORCE, 40.0))
    for psi in (0.4, 1.3, 2.9):
        one, other = square.at(140.0, psi), square.at(140.0, -psi)
        assert other == pytest.approx(one * (1.0, 1.0, 1.0, -1.0, -1.0, -1.0))


def test_what_is_no_load_on_the_rim_is_refused() -> None:
    force = np.zeros((len(body().mesh.points), 3))
    force[body().pad[0], 0] = 1.0
    with pytest.raises(GeometryError, match="no part of the rim"):
        Ringed(body(), spoke()).borne({0: force})
    with pytest.raises(GeometryError, match="Fewer than three spokes"):
        Ringed(body(), replace(spoke(), count=2))


def test_a_spoke_bent_both_ways_in_the_turn_by_hand() -> None:
    """M cos psi in its plane and M w / d sin psi across it make equal stress: sqrt 2 of one at 45 degrees.

    Twist T sin psi of a square, T / 0.208 a3 (R. J. Roark, from memory), beats them as sqrt 3 of its shear.
    """
    r = np.linspace(100.0, 200.0, 11)
    none, w, d, moment = 0.0 * r, 40.0, 20.0, 2.0e5
    plain = Spoke(5, r, none, none + w, none + d, none + d, none + 10.0, none)
    bent = Borne(plain, {1: np.array([0.0, 0.0, moment, 0.0, moment * w / d, 0.0])}).root(150.0)
    alone = moment / (w * d**2 / 6.0)
    assert (bent.bending_mpa, bent.side_mpa) == pytest.approx((alone, alone))
    assert bent.turn_mpa == pytest.approx(math.sqrt(2.0) * alone, rel=0.01)
    assert bent.equivalent_mpa == bent.turn_mpa
    square = Spoke(5, r, none, none + d, none + d, none + d, none + 10.0, none)
    twisted_ = Borne(square, {1: np.array([0.0, 0.0, 0.0, 0.0, 0.0, moment])}).root(150.0)
    assert twisted_.turn_mpa == pytest.approx(math.sqrt(3.0) * moment / (0.208 * d**3), rel=0.01)

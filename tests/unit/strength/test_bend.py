"""A wheel in a bend: what the hub feels is the formula's force and moment, by equilibrium."""

from __future__ import annotations

import pytest

from geometry.errors import GeometryError
from geometry.shape.section import Side, Zone
from geometry.strength.bend import cornered, hub_moment_nmm, outer_share
from geometry.strength.loads import Clamp, Tyre, cornering
from geometry.strength.rim_loads import axial_n, flange_load, seat_load, vertical_n
from tests.unit.strength.test_wheel import body, moment_nmm, pattern

#: Checks T25: 690 kg, static radius 305 mm, inset 35 mm: 3364.1 N m after SAE J328, aluminium, front.
CASE = cornering(690.0, Tyre(317.08, 305.0, 653.2), 35.0)
FORCE, LATERAL, HALF = 2.0 * 690.0 * 9.81, 0.7 * 2.0 * 690.0 * 9.81, 40.0


def test_moment_of_the_case_is_the_bending_formulas() -> None:
    assert CASE.hub_moment_nm == pytest.approx(3364.1, abs=0.5)
    assert (CASE.force_n, CASE.lateral_n) == pytest.approx((FORCE, LATERAL))


def test_the_hub_carries_force_and_moment_of_the_formula() -> None:
    """Reactions of the bolted pad: S F up, mu S F outboard, and the whole moment; 1e-9."""
    load = cornered(body(), FORCE, LATERAL, 3364.1, HALF)
    assert vertical_n(load) == pytest.approx(-FORCE, rel=1e-9)
    assert axial_n(load) == pytest.approx(-LATERAL, rel=1e-9)
    assert hub_moment_nmm(body(), load) == pytest.approx(-3364.1e3, rel=1e-9)
    found = pattern(Clamp.HUB_PAD).solve(body().parts, {n: load[n] for n in (0, 1)})
    pad, points = body().pad, body().mesh.points
    react = body().parts.forces(1, found[1])[pad]
    assert vertical_n({1: react}) == pytest.approx(FORCE, rel=1e-9)
    assert moment_nmm(points[pad], react) == pytest.approx(3364.1e3, rel=1e-9)
    assert axial_n({0: body().parts.forces(0, found[0])[pad]}) == pytest.approx(LATERAL, rel=1e-9)


def test_what_the_seats_take_beyond_half_is_the_roads_greater_radius() -> None:
    """By hand: on even seats d F + mu F f are there, f where the bead leans; the rest is mu F (r - f)."""
    even = seat_load(body(), FORCE, HALF)
    leaning = flange_load(body(), Zone.INNER_LIP, -LATERAL, HALF)
    nodes = body().mesh.points
    seats = {
        zone: nodes[body().mesh.edges[body().edges(zone, side=Side.TYRE)], 0].mean()
        for zone in (Zone.OUTER_SEAT, Zone.INNER_SEAT)
    }
    share = outer_share(body(), FORCE, LATERAL, 3364.1, HALF)
    missing = 3364.1e3 + hub_moment_nmm(body(), even) + hub_moment_nmm(body(), leaning)
    assert missing > 0.1 * 3364.1e3
    apart = float(seats[Zone.OUTER_SEAT] - seats[Zone.INNER_SEAT])
    # An arc's vertical sum also has parts along the turn; on cones of 5 degrees both seats lie nearly alike.
    assert abs(share - 0.5) * FORCE * apart == pytest.approx(missing, rel=0.05)


def test_a_moment_that_would_pull_a_seat_is_refused() -> None:
    with pytest.raises(GeometryError, match="pull the tyre"):
        outer_share(body(), FORCE, LATERAL, 9000.0, HALF)

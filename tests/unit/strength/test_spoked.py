"""The spoke zone as a smeared material: full discs, single bars in closed form, definiteness."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.readings.solid import SpokeRegion
from geometry.shape.curve import Array, Path
from geometry.strength.elements import isotropic
from geometry.strength.harmonic import (
    Pattern,
    Recovery,
    parts_of,
    places_of_stiffness,
    places_of_stress,
)
from geometry.strength.mesh import Mesh
from geometry.strength.spoked import Smear, smear_of
from tests.unit.strength.test_blocks import BOTTOM, TOP, block, held, nearest, on

E, NU = 70_000.0, 0.33
G = E / (2.0 * (1.0 + NU))
COUNT, WIDTH, HUB, RIM, DEPTH = 8, 20.0, 150.0, 210.0, 24.0
#: A plain disc 24 wide, its cut line just inside the rim.
DISC = Path.closed([(0.0, 100.0), (DEPTH, 100.0), (DEPTH, 230.0), (0.0, 230.0)])


def bars(width: float = WIDTH, count: int = COUNT) -> SpokeRegion:
    return SpokeRegion(count, ((HUB, width), (RIM, width)), HUB, (-1.0, RIM), (DEPTH + 1.0, RIM))


def annulus() -> Mesh:
    return block((0.0, DEPTH), (HUB, RIM), (4, 16))


def moved_by(given: Array, mesh: Mesh, spokes: SpokeRegion, n: int = 0) -> tuple[Array, Array]:
    """Displacements and forces with the hub held and the rim moved as given."""
    smear = smear_of(DISC, spokes)
    parts = parts_of(mesh, smear.law(places_of_stiffness(mesh), E, NU))
    pattern = Pattern(mesh.triangles, len(mesh.points), held(mesh, on(mesh, BOTTOM, TOP)))
    moved = pattern.solve(parts, {n: np.zeros_like(given)}, {n: given})[n]
    return moved, parts.forces(n, moved)


def test_a_full_disc_is_plain_metal() -> None:
    """f = 1: no spokes, spokes as wide as their share of the ring or wider, and places outside the region."""
    places = np.array([[DEPTH / 2, r] for r in (110.0, 160.0, 200.0, 225.0)])
    plain = np.broadcast_to(isotropic(E, NU), (4, 6, 6))
    for smear in (smear_of(DISC, None), smear_of(DISC, bars(count=0)), smear_of(DISC, bars(200.0))):
        np.testing.assert_array_equal(smear.law(places, E, NU), plain)
        np.testing.assert_array_equal(smear.metal(places), 1.0)
    found = smear_of(DISC, bars()).law(places, E, NU)
    np.testing.assert_array_equal(found[[0, 3]], plain[:2])
    assert not np.isclose(found[1:3], plain[:2]).all()


def test_share_of_metal_is_spokes_over_the_turn() -> None:
    places = np.array([[3.0, 160.0], [20.0, 200.0]])
    wanted = COUNT * WIDTH / (2 * math.pi * places[:, 1])
    np.testing.assert_allclose(smear_of(DISC, bars()).metal(places), wanted, rtol=1e-12)


def test_width_is_linear_between_and_steps_where_named_twice() -> None:
    region = SpokeRegion(
        5, ((150.0, 30.0), (180.0, 20.0), (180.0, 40.0), (210.0, 40.0)), HUB, (-1.0, RIM), (25.0, RIM)
    )
    smear = Smear(region, None, None)
    np.testing.assert_allclose(
        smear.width_mm(np.array([165.0, 179.999, 180.0, 200.0])), [25, 20, 40, 40], atol=1e-3
    )


@pytest.mark.parametrize("width", [0.5, 5.0, 20.0, 60.0, 100.0])
@pytest.mark.parametrize("count", [3, 5, 20])
def test_the_law_is_symmetric_and_positive_definite(width: float, count: int) -> None:
    r = np.linspace(HUB + 1.0, RIM - 1.0, 12)
    law = smear_of(DISC, bars(width, count)).law(np.column_stack([np.full(12, DEPTH / 2), r]), E, NU)
    np.testing.assert_allclose(law, law.transpose(0, 2, 1), rtol=1e-12)
    assert np.linalg.eigvalsh(law).min() > 0.0


@pytest.mark.parametrize("width", [0.5, 5.0, 20.0, 60.0])
def test_windows_never_stiffen(width: float) -> None:
    """The smeared ring is softer than the full one in every direction: their difference is not negative."""
    r = np.linspace(HUB + 1.0, RIM - 1.0, 12)
    law = smear_of(DISC, bars(width)).law(np.column_stack([np.full(12, DEPTH / 2), r]), E, NU)
    assert np.linalg.eigvalsh(isotropic(E, NU) - law).min() > -1e-9 * E


def test_radial_stiffness_of_bars() -> None:
    """n bars of w x d, free along the arc, stretched by u: n E' w d / L each way; E' = E, free along z.

    Their sum round the turn is the force of n = 0; 1 % for the hoop stiffness left in the windows (1e-3) and
    the ends that do not thin.
    """
    mesh = annulus()
    given = np.zeros((len(mesh.points), 3))
    rim = on(mesh, TOP)
    given[rim, 1] = 0.01
    pattern = Pattern(
        mesh.triangles,
        len(mesh.points),
        held(mesh, on(mesh, BOTTOM, TOP), 1, 2) | held(mesh, np.array([nearest(mesh, 0.0, HUB)]), 0),
    )
    smear = smear_of(DISC, bars())
    parts = parts_of(mesh, smear.law(places_of_stiffness(mesh), E, NU))
    moved = pattern.solve(parts, {0: np.zeros_like(given)}, {0: given})[0]
    force = float(parts.forces(0, moved)[rim, 1].sum())
    assert force == pytest.approx(COUNT * E * WIDTH * DEPTH / (RIM - HUB) * 0.01, rel=0.01)
    places = places_of_stress(mesh)
    stress = Recovery(mesh, smear.law(places, E, NU), smear.metal(places)).stress(0, moved)
    middle = nearest(mesh, DEPTH / 2, (HUB + RIM) / 2)
    assert stress[middle, 1] == pytest.approx(E * 0.01 / (RIM - HUB), rel=0.01), (
        "in the metal, not in the ring"
    )


def test_torsion_of_bars_in_the_plane_of_the_wheel() -> None:
    """Torque over the turn of the rim about the axle, spokes built in at a stiff hub and a stiff rim.

    The rim's end of a bar moves by b phi along theta and turns by phi with the rim. Slope and deflection of a
    beam with shear (S. P. Timoshenko, from memory; p = 12 E I / (5/6 G A L2), k = 12 E I / L3 / (1 + p)) give
    n k phi (a b + (4 + p) L2 / 12), a and b the radii of its ends. A smeared ring has no turn of the bars'
    ends: its force goes as 1 / r, its angle is the slope F x (L - x) / 2 E I of a bar whose ends do not turn
    and F / (5/6 G A), so that phi is the integral of both over r. That is softer, by the turn of the ends.
    """
    mesh, phi = annulus(), 1e-4
    given = np.zeros((len(mesh.points), 3))
    rim, length = on(mesh, TOP), RIM - HUB
    given[rim, 2] = phi * RIM
    _, forces = moved_by(given, mesh, bars())
    torque = float(forces[rim, 2].sum()) * RIM
    bend, shear = E * DEPTH * WIDTH**3 / 12.0, 5.0 / 6.0 * G * WIDTH * DEPTH
    soft = ((HUB + RIM) * math.log(RIM / HUB) - 2.0 * length) / (2.0 * bend) + (1 / HUB - 1 / RIM) / shear
    assert torque == pytest.approx(COUNT * phi / soft, rel=2e-3)
    p = 12.0 * bend / (shear * length**2)
    k = 12.0 * bend / length**3 / (1.0 + p)
    assert 0.96 < torque / (COUNT * k * phi * (HUB * RIM + (4.0 + p) * length**2 / 12.0)) < 1.0
    # Hub and rim push with one torque.
    assert float(forces[on(mesh, BOTTOM), 2].sum()) * HUB == pytest.approx(-torque, rel=1e-9)


def tapered(start: float, end: float, *middle: float) -> SpokeRegion:
    """Spokes whose width changes linearly, hub to rim, by way of one in the middle if named."""
    at = [HUB, *((HUB + RIM) / 2.0 for _ in middle), RIM]
    return SpokeRegion(
        COUNT, tuple(zip(at, (start, *middle, end), strict=True)), HUB, (-1.0, RIM), (DEPTH + 1.0, RIM)
    )


@pytest.mark.parametrize(("start", "end"), [(40.0, 20.0), (20.0, 40.0), (30.0, 29.9)])
def test_a_tapered_spoke_is_as_stiff_as_its_beam(start: float, end: float) -> None:
    """Ends that do not turn, width u = a + b x: E / k = the integral of (x - x0)2 / I, free of x's origin.

    So 12 / (d b3) (ln(w1 / w0) - (1 / w0 - 1 / w1)2 / ((1 / w0 2 - 1 / w1 2) / 2)), by unit loads (S. P.
    Timoshenko, Strength of Materials, from memory; integrals of powers by hand); 2e-3 for 60 stations.
    """
    beam = smear_of(DISC, tapered(start, end)).beam
    assert beam is not None
    rise = (end - start) / (RIM - HUB)
    none = (start**-2 - end**-2) / 2.0
    once, twice = 1.0 / start - 1.0 / end, math.log(end / start)
    assert beam.soft == pytest.approx(12.0 / (DEPTH * rise**3) * (twice - once**2 / none), rel=2e-3)
    assert beam.turn[[0, -1]] == pytest.approx(0.0)
    assert beam.turn.min() >= 0.0


def test_a_waisted_spoke_is_stiffer_than_its_mean_width_tells() -> None:
    """Little moment is where a waisted spoke is thin: far stiffer than one that is as slender all along.

    The two halves are mirrored, so that the moment is none in the middle: E / k = 2 * 12 / d times the
    integral of x2 / (w + b x)3 over half of the length, by hand.
    """
    waist, end = 20.0, 50.0
    beam = smear_of(DISC, tapered(end, end, waist)).beam
    assert beam is not None
    rise = (end - waist) / ((RIM - HUB) / 2.0)
    # With u = w + b x: (u - w)2 / u3 = 1 / u - 2 w / u2 + w2 / u3.
    half = (
        math.log(end / waist) - 2 * waist * (1 / waist - 1 / end) + waist**2 * (waist**-2 - end**-2) / 2
    ) / rise**3
    assert beam.soft == pytest.approx(24.0 / DEPTH * half, rel=3e-3)


def test_the_ring_of_tapered_spokes_turns_as_its_beams_slope_tells() -> None:
    """Torque of the elements against the integral of slope / r2 and shear / r2, the slope by quadrature."""
    mesh, phi = annulus(), 1e-4
    given = np.zeros((len(mesh.points), 3))
    rim = on(mesh, TOP)
    given[rim, 2] = phi * RIM
    torque = float(moved_by(given, mesh, tapered(40.0, 20.0))[1][rim, 2].sum()) * RIM
    r = np.linspace(HUB, RIM, 20_001)
    width = np.interp(r, [HUB, RIM], [40.0, 20.0])
    gives = 12.0 / (E * DEPTH * width**3)
    still = np.trapezoid(r * gives, r) / np.trapezoid(gives, r)
    slope = np.concatenate([[0.0], np.cumsum(((still - r) * gives)[1:] * np.diff(r))])
    soft = np.trapezoid((slope + 1.0 / (5.0 / 6.0 * G * width * DEPTH)) / r**2, r)
    assert torque == pytest.approx(COUNT * phi / soft, rel=5e-3)


def test_spoked_ring_still_has_its_rigid_motions() -> None:
    """Shift and tilt of the smeared ring cost nothing, whatever is gone from its law."""
    mesh = annulus()
    parts = parts_of(mesh, smear_of(DISC, bars()).law(places_of_stiffness(mesh), E, NU))
    z, r = mesh.points.T
    for motion in (np.column_stack([0 * z, 1 + 0 * z, -1 + 0 * z]), np.column_stack([r, -z, z])):
        scale = np.abs(parts.forces(2, motion)).max()
        assert np.abs(parts.forces(1, motion)).max() < 1e-10 * scale


def test_bending_across_the_width_of_a_spoke() -> None:
    """Built in at both ends under a shear V: M = V (L / 2 - x), stress 6 M / (d w2), mean shear V / (w d)."""
    smear = smear_of(DISC, bars())
    r, force, length = np.array([151.0, 165.0, 195.0, 209.0]), 1000.0, RIM - HUB
    moment = force * np.abs(length / 2.0 - (r - HUB))
    wanted = moment / (DEPTH * WIDTH**2 / 6.0) / (force / (WIDTH * DEPTH))
    found = smear.across(np.column_stack([np.full(4, DEPTH / 2), r]))
    np.testing.assert_allclose(found, wanted, rtol=1e-9)
    np.testing.assert_array_equal(smear.across(np.array([[5.0, 110.0], [5.0, 225.0]])), 0.0)

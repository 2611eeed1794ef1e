"""A wheel's section as a body: what tests lay on it adds up, what holds it pushes back, works are mutual."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from app.studies.fit import spokes_of
from geometry.shape.curve import Array
from geometry.shape.section import Outline, Side, Zone, build
from geometry.strength.arcs import half_wave
from geometry.strength.elements import turn_integral
from geometry.strength.harmonic import Pattern
from geometry.strength.loads import Clamp
from geometry.strength.mesh import moved
from geometry.strength.metals import METALS
from geometry.strength.rim_loads import axial_n, flange_load, inflated, lip_load, seat_load, vertical_n
from geometry.strength.sizes import PREVIEW
from geometry.strength.wheel import Body, bent, body_of, body_on
from tests.support.example import wheel

FORCE, MOMENT = 16_922.0, 4.3371e6


@cache
def outline() -> Outline:
    found = build(wheel().section)
    assert isinstance(found, Outline)
    return found


@cache
def body(spoked: bool = True) -> Body:
    return body_of(outline(), METALS[0], spokes_of(wheel()) if spoked else None, PREVIEW)


@cache
def pattern(clamp: Clamp) -> Pattern:
    return body().pattern(clamp)


def moment_nmm(nodes: Array, force: Array) -> float:
    """Moment of harmonic-1 nodal forces: their work on a unit tilt (u_z, u_r, u_t) = (r, -z, z)."""
    z, r = nodes.T
    return float((r * force[:, 0] - z * force[:, 1] + z * force[:, 2]).sum())


def works(load: dict[int, Array], moved_by: dict[int, Array]) -> float:
    return sum(float((f * moved_by[n]).sum()) for n, f in load.items())


@pytest.mark.parametrize("clamp", [Clamp.INNER_FLANGE, Clamp.OUTER_FLANGE])
@pytest.mark.parametrize("spoked", [True, False])
def test_moment_on_the_hub_is_carried_by_the_flange(clamp: Clamp, spoked: bool) -> None:
    """Reactions to 1e-9 of the load: hub M and no force, flange -M and no force, nothing in between."""
    one = body(spoked)
    found = bent(one, MOMENT, one.pattern(clamp))[1]
    force = one.parts.forces(1, found)
    points, pad = one.mesh.points, one.pad
    flange = one.flange(Zone.INNER_LIP if clamp is Clamp.INNER_FLANGE else Zone.OUTER_LIP)
    scale = MOMENT / 200.0
    assert moment_nmm(points[pad], force[pad]) == pytest.approx(MOMENT, rel=1e-9)
    assert moment_nmm(points[flange], force[flange]) == pytest.approx(-MOMENT, rel=1e-9)
    for nodes in (pad, flange):
        assert abs(vertical_n({1: force[nodes]})) < 1e-9 * scale
    between = np.setdiff1d(np.arange(len(points)), np.concatenate([pad, flange]))
    assert np.abs(force[between]).max() < 1e-9 * scale
    # The pad stays a plate: a tilt and a shift.
    r = points[pad, 1]
    tilt = np.polyfit(r, found[pad, 0], 1)
    np.testing.assert_allclose(found[pad, 0], tilt[0] * r, atol=1e-12)
    np.testing.assert_allclose(
        found[pad, 1], found[pad, 1].mean() * np.ones(len(pad)), atol=1e-3 * abs(tilt[0])
    )
    np.testing.assert_allclose(found[pad, 2], -found[pad, 1], atol=1e-12)
    assert np.abs(found[flange]).max() == 0.0
    # Work of the moment on the tilt is twice the strain energy.
    assert float((force * found).sum()) == pytest.approx(MOMENT * tilt[0], rel=1e-9)


def test_twice_the_moment_is_twice_the_displacement() -> None:
    one, two = (bent(body(), m, pattern(Clamp.INNER_FLANGE))[1] for m in (MOMENT, -2.0 * MOMENT))
    np.testing.assert_allclose(two, -2.0 * one, rtol=1e-9, atol=1e-15)


@pytest.mark.parametrize("half_deg", [20.0, 40.0, 90.0])
@pytest.mark.parametrize("outer_share", [0.5, 0.3])
def test_seat_load_adds_up_to_its_force(half_deg: float, outer_share: float) -> None:
    """The vertical sum is the force, towards the axle; shared as asked; the same by quadrature."""
    load = seat_load(body(), FORCE, half_deg, outer_share)
    assert vertical_n(load) == pytest.approx(-FORCE, rel=1e-12)
    assert axial_n(load) == 0.0
    outer = np.unique(body().mesh.edges[body().edges(Zone.OUTER_SEAT, side=Side.TYRE)])
    assert vertical_n({1: load[1][outer]}) == pytest.approx(-FORCE * outer_share, rel=1e-12)
    # Radial force per radian at many angles, from all harmonics, then times cos theta.
    turn = np.linspace(-math.pi, math.pi, 3600, endpoint=False)
    per_rad = sum(
        f[:, 1].sum() / turn_integral(n) * np.cos(n * turn) for n, f in load.items()
    ) + np.zeros_like(turn)
    assert float((per_rad * np.cos(turn)).mean() * 2 * math.pi) == pytest.approx(-FORCE, rel=1e-9)
    # The peak is pressed inward and the far side is nearly free.
    assert per_rad[1800] == per_rad.min()
    wave = half_wave(half_deg, 1)
    assert per_rad[1800] == pytest.approx(-FORCE / (math.pi * wave[1]), rel=0.05)
    assert np.abs(per_rad[:450]).max() < 0.04 * abs(per_rad[1800])


def test_wheel_load_is_carried_by_the_hub() -> None:
    """Rolling: the pad's reaction is the force, with the moment of the seats about the mounting face."""
    load = seat_load(body(), FORCE, 40.0)
    found = pattern(Clamp.HUB_PAD).solve(body().parts, load)
    points, pad = body().mesh.points, body().pad
    for n, u in found.items():
        force = body().parts.forces(n, u)
        free = np.setdiff1d(np.arange(len(points)), pad)
        np.testing.assert_allclose(force[free], load[n][free], atol=1e-9 * FORCE)
    one = body().parts.forces(1, found[1])
    assert vertical_n({1: one[pad]}) == pytest.approx(FORCE, rel=1e-9)
    assert moment_nmm(points, one) == pytest.approx(0.0, abs=1e-9 * FORCE * 200.0)
    # n = 0 squeezes the seats evenly: nothing along the axle is left on the hub, nor does it turn.
    none = body().parts.forces(0, found[0])[pad]
    assert abs(none[:, 0].sum()) < 1e-9 * FORCE
    assert abs((none[:, 2] * points[pad, 1]).sum()) < 1e-9 * FORCE * 200.0


@pytest.mark.parametrize("lip", [Zone.INNER_LIP, Zone.OUTER_LIP])
def test_lip_and_flange_loads_add_up(lip: Zone) -> None:
    load = lip_load(body(), lip, (-700.0, 1000.0), 15.0)
    assert vertical_n(load) == pytest.approx(-1000.0, rel=1e-12)
    assert axial_n(load) == pytest.approx(-700.0, rel=1e-12)
    pushed = flange_load(body(), lip, 5000.0, 40.0)
    assert axial_n(pushed) == pytest.approx(5000.0, rel=1e-12)
    assert vertical_n(pushed) == 0.0
    found = pattern(Clamp.HUB_PAD).solve(body().parts, pushed)
    reaction = body().parts.forces(0, found[0])[body().pad]
    assert axial_n({0: reaction}) == pytest.approx(-5000.0, rel=1e-9)


def test_inflation_along_the_axle() -> None:
    """Pressure on the tyre side between the seats, p pi (r2 - r02) of its ends, and the side walls' pulls.

    Each bead pulls outward with half of the pressure on its side wall, p pi (a2 - f2) / 2 (thin tyre, from
    memory); what flanges at unequal radii leave of it they share.
    """
    p, outside = 0.45, 653.2
    load = inflated(body(), p, outside)[0]
    mesh = body().mesh
    edges = body().edges(Zone.WELL, Zone.BARREL, side=Side.TYRE)
    start, end = (mesh.points[mesh.edges[edges, k], 1] for k in (0, 1))
    lips = {
        lip: np.unique(mesh.edges[body().edges(lip, side=Side.TYRE)])
        for lip in (Zone.OUTER_LIP, Zone.INNER_LIP)
    }
    pulls = {lip: float(load[nodes, 0].sum()) for lip, nodes in lips.items()}
    # A step of skin outward (with the metal on its left) is pressed along -z where r rises.
    ring = -p * math.pi * float((end**2 - start**2).sum())
    assert axial_n({0: load}) == pytest.approx(ring + sum(pulls.values()), rel=1e-9, abs=1e-6)
    for lip, sign in ((Zone.OUTER_LIP, 1.0), (Zone.INNER_LIP, -1.0)):
        f = 235.0
        assert pulls[lip] == pytest.approx(sign * p * math.pi * ((outside / 2) ** 2 - f**2) / 2.0, rel=0.05)
    # The tyre is closed: what its pulls leave the pressure on the rim takes.
    assert axial_n({0: load}) == pytest.approx(0.0, abs=1e-9 * pulls[Zone.OUTER_LIP])
    assert abs(ring) > 1e-4 * pulls[Zone.OUTER_LIP], "else this shows nothing"
    # All pressure on the well and barrel points at the axle.
    inside = np.unique(mesh.edges[edges])
    inner = load[inside, 1].sum()
    length = abs(mesh.points[mesh.edges[edges, 1], 0] - mesh.points[mesh.edges[edges, 0], 0])
    middle = mesh.points[mesh.edges[edges, 2], 1]
    assert inner == pytest.approx(-p * 2 * math.pi * float((length * middle).sum()), rel=0.02)


@pytest.mark.parametrize("spoked", [True, False])
def test_works_of_two_loads_are_mutual(spoked: bool) -> None:
    """E. Betti, J. C. Maxwell: each load does the same work on the other's displacements, per harmonic.

    The solver sees one half of the stiffness alone, so that its answers are mutual whatever stands in the
    other: what the elements themselves answer to the displacements, by all of it, is looked at too.
    """
    one = body(spoked)
    held = one.pattern(Clamp.HUB_PAD)
    first, second = seat_load(one, FORCE, 40.0), lip_load(one, Zone.INNER_LIP, (300.0, 1000.0), 40.0)
    by_first, by_second = held.solve(one.parts, first), held.solve(one.parts, second)
    for n in first:
        there, back = float((first[n] * by_second[n]).sum()), float((second[n] * by_first[n]).sum())
        scale = math.sqrt(float((first[n] * by_first[n]).sum() * (second[n] * by_second[n]).sum()))
        assert there == pytest.approx(back, abs=1e-9 * scale)
        assert abs(there) > 1e-6 * scale, "the two do act on each other"
        answers = [one.parts.forces(n, u[n]) for u in (by_first, by_second)]
        for load, answer in zip((first[n], second[n]), answers, strict=True):
            assert np.abs((answer - load)[~held.held]).max() <= 1e-8 * np.abs(load).max()
        mutual = [float((a * u[n]).sum()) for a, u in zip(answers, (by_second, by_first), strict=True)]
        assert mutual[0] == pytest.approx(mutual[1], abs=1e-9 * scale)
        assert mutual[0] == pytest.approx(there, abs=1e-9 * scale)
    assert works(first, by_first) > 0.0


def test_cases_at_once_are_those_one_by_one() -> None:
    first, second = (seat_load(body(), FORCE, 40.0, share)[2] for share in (0.5, 0.1))
    held = pattern(Clamp.HUB_PAD)
    both = held.solve(body().parts, {2: np.stack([first, second])})[2]
    for k, load in enumerate((first, second)):
        np.testing.assert_allclose(both[k], held.solve(body().parts, {2: load})[2], rtol=1e-12, atol=1e-18)


def test_a_kept_pattern_solves_a_moved_mesh_as_a_fresh_one_does() -> None:
    """The order of elimination of one mesh, the numbers of another: equal to 1e-8 (issue's own bound)."""
    shape, one = outline(), body()
    lifted = shape.moved(0.4)
    interior = one.mesh.points[len(one.mesh.edges) : one.mesh.corners] + np.array([0.4, 0.1])
    mesh = moved(one.mesh, lifted.path, interior)
    other = body_on(mesh, shape, one.metal, None)
    held = one.held(Clamp.INNER_FLANGE)
    load = seat_load(one, FORCE, 40.0)
    kept = pattern(Clamp.INNER_FLANGE)
    kept.solve(one.parts, load)
    fresh = Pattern(mesh.triangles, len(mesh.points), held).solve(other.parts, load)
    again = kept.solve(other.parts, load)
    for n in load:
        assert np.abs(fresh[n] - again[n]).max() <= 1e-8 * np.abs(fresh[n]).max()


def test_stress_and_strain_energy_agree() -> None:
    """Twice the strain energy of the recovered stress is the work of the moment (Clapeyron).

    Recovery is linear in an element, so that a preview mesh leaves 2 %.
    """
    one = body(spoked=False)
    found = bent(one, MOMENT, one.pattern(Clamp.INNER_FLANGE))[1]
    work = float((one.parts.forces(1, found) * found).sum())
    flexible = np.linalg.inv(one.smear.law(np.zeros((1, 2)), one.metal.elastic_mpa, one.metal.poisson)[0])
    mesh = one.mesh
    at = mesh.points[mesh.triangles[:, :3]]
    a, b = at[:, 1] - at[:, 0], at[:, 2] - at[:, 0]
    ring = (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / 2.0 * at[:, :, 1].mean(axis=1)
    # Middles of edges integrate a quadratic over a triangle exactly.
    stress = one.recovery.elements(1, found)[:, 3:]
    energy = np.einsum("eki,ij,ekj->ek", stress, flexible, stress).mean(axis=1)
    assert float((energy * ring).sum()) * math.pi == pytest.approx(work, rel=0.02)

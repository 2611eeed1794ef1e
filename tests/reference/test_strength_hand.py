"""Figures of lips, spokes, lives and cuts against formulas that can be worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.shape.curve import Array, Path
from geometry.shape.section import ZONES, Zone
from geometry.strength.cuts import across
from geometry.strength.harmonic import Pattern
from geometry.strength.life import life, stress_for
from geometry.strength.lip import PLATE_MM, dent_energy_j, plastic_moment, push, pushed
from geometry.strength.metals import METALS, SnTable
from geometry.strength.spoked import Smear
from geometry.strength.spokes import Spoke, bolts, nominal, pins, stiff
from geometry.strength.wheel import Body
from tests.unit.strength.test_blocks import BOTTOM, TOP, block, held, nearest, on

METAL = METALS[0]
E, NU, YIELD = METAL.elastic_mpa, METAL.poisson, METAL.yield_mpa
G = E / (2.0 * (1.0 + NU))


def rectangle(z: float, r: float) -> Array:
    return np.array([[0.0, 100.0], [z, 100.0], [z, 100.0 + r], [0.0, 100.0 + r]])


@pytest.mark.parametrize(("z", "r"), [(6.0, 12.0), (20.0, 4.0)])
def test_plastic_moment_of_a_rectangle(z: float, r: float) -> None:
    """Y b h2 / 4 (P. G. Hodge, Plastic Analysis of Structures, from memory)."""
    moment, area = plastic_moment(rectangle(z, r), METAL)
    assert moment == pytest.approx(YIELD * z * r**2 / 4.0, rel=1e-9)
    assert area == pytest.approx(z * r)


def test_plastic_moment_of_a_triangle() -> None:
    """Base b, height h: the line that halves the area lies h / sqrt 2 from the tip; Y b h2 (2 - sqrt 2) / 6.

    By hand: part above of area b h / 4 and arm h / (3 sqrt 2), part below the first moment of the rest.
    """
    b, h = 9.0, 14.0
    moment, _ = plastic_moment(np.array([[0.0, 50.0], [b, 50.0], [b / 2.0, 50.0 + h]]), METAL)
    assert moment == pytest.approx(YIELD * b * h**2 * (2.0 - math.sqrt(2.0)) / 6.0, rel=1e-9)


def test_energy_of_plastic_hinges_is_that_of_a_built_in_beam() -> None:
    """A flat rim: a beam of three plates' length, built in, pushed over its middle third.

    Its collapse load is 4 Mp / a (two hinges at the ends, two at the third points, each turned by d / a:
    limit analysis by virtual work, P. G. Hodge, from memory); times the dent, all hinges at full moment.
    """
    moment, plate, dent = 3.0e5, 125.0, 5.0
    load = 4.0 * moment / plate
    assert dent_energy_j(moment, 1e6, plate, dent) == pytest.approx(load * dent / 1000.0, rel=1e-6)


def test_a_lip_as_a_plain_ring_between_two_plates() -> None:
    """Two plates press a ring: Timoshenko's ring under two forces, spread over the plates by superposition.

    M at phi from a force of a pair P: P R / 2 (sin phi - 2 / pi); deflection 2 P R3 / (pi E I) times the sum
    of cos n phi / (n2 - 1)2, n even (Strength of Materials II, from memory). The load is q cos(pi phi / 2 a)
    towards the axle, whose vertical sum is 1 kN. 3 % for the depth of the ring, 1/25 of its radius, that the
    load is laid on; first yield where M / W is the yield strength, energy half of force times way.
    """
    radius, depth, width = 200.0, 8.0, 10.0
    mesh = block((0.0, width), (radius - depth / 2, radius + depth / 2), (6, 6))
    count = len(mesh.edges)
    # The tyre side, which the lip's cut is measured from, is its face at z = 0.
    away = np.where(mesh.points[mesh.edges, 0].max(axis=1) > 1e-9, 2, 0)
    ring = Body(
        mesh,
        METAL,
        Smear(None, None, None),
        np.full(count, ZONES.index(Zone.INNER_LIP), dtype=np.intp),
        away.astype(np.intp),
    )
    load = {n: 2.0 * f for n, f in push(ring, Zone.INNER_LIP).items() if n >= 2 and n % 2 == 0}
    # By symmetry the middle of the cut does not move along the axle; the rest is held by its own shape.
    middle = held(mesh, np.array([nearest(mesh, width / 2.0, radius)]), 0)
    free = Pattern(mesh.triangles, len(mesh.points), middle)
    moved = free.solve(ring.parts, load)
    path = Path.closed([tuple(p) for p in mesh.points[mesh.edges[:, 0]].tolist()])
    found = pushed(ring, Zone.INNER_LIP, moved, path)

    half = math.asin(PLATE_MM / 2.0 / (radius + depth / 2.0))
    phi = np.linspace(-half, half, 4001)
    wave = np.cos(math.pi * phi / (2.0 * half))
    force = 1000.0 * wave / np.trapezoid(wave * np.cos(phi), phi)
    inertia = width * depth**3 / 12.0
    moment = radius / 2.0 * np.trapezoid(force * (2.0 / math.pi - np.abs(np.sin(phi))), phi)
    series = sum(np.cos(n * phi) / (n**2 - 1) ** 2 for n in range(2, 60, 2))
    way = 2.0 * radius**3 / (math.pi * E * inertia) * np.trapezoid(force * series, phi)
    assert found.stiffness_n_mm == pytest.approx(1000.0 / way, rel=0.03)
    assert found.peak_mpa_kn == pytest.approx(moment * depth / 2.0 / inertia, rel=0.03)
    load_n = YIELD / (moment * depth / 2.0 / inertia) * 1000.0
    assert found.yield_n == pytest.approx(load_n, rel=0.03)
    assert found.yield_j == pytest.approx(load_n**2 / 2.0 * way / 1e6, rel=0.08)


def cantilever(length: float = 120.0, width: float = 30.0, depth: float = 22.0) -> Spoke:
    m = 4000
    r = 80.0 + (np.arange(m) + 0.5) * length / m
    one = np.ones(m)
    return Spoke(5, r, 0.0 * one, width * one, depth * one, depth * one, length / m * one, 0.0 * one)


def test_a_spoke_is_a_cantilever() -> None:
    """Tip forces: F L3 / 3 E I + F L / (5/6 G A), F L2 / 2 E I, M L / E I, N L / E A; T L / G J.

    J 0.183 b h3 at b / h = 1.36, between 0.166 at 1.2 and 0.196 at 1.5 of St Venant's table (from memory).
    """
    length, w, d = 120.0, 30.0, 22.0
    k = stiff(cantilever(length, w, d), METAL)
    soft, side = np.linalg.inv(k.plane), np.linalg.inv(k.across)
    for found, i in ((soft, w * d**3 / 12.0), (side, d * w**3 / 12.0)):
        shear = length / (5.0 / 6.0 * G * w * d)
        assert found[0, 0] == pytest.approx(length**3 / (3.0 * E * i) + shear, rel=1e-3)
    tangent = E * w * d**3 / 12.0
    assert soft[0, 2] == pytest.approx(length**2 / (2.0 * tangent), rel=1e-3)
    assert soft[2, 2] == pytest.approx(length / tangent, rel=1e-3)
    assert soft[1, 1] == pytest.approx(length / (E * w * d), rel=1e-3)
    assert side[2, 2] == pytest.approx(length / (G * 0.183 * w * d**3), rel=0.03)


def test_stress_at_a_spokes_root() -> None:
    """6 F L / (w d2) + N / (w d), and 3 F / (2 w d) in the middle of the depth: a cantilever's rectangle."""
    force, pull, length, w, d = 900.0, 2500.0, 120.0, 30.0, 22.0
    root = nominal(cantilever(length, w, d), 80.0, force, pull, force * length)
    assert root.bending_mpa == pytest.approx(6.0 * force * length / (w * d**2) + pull / (w * d), rel=1e-9)
    assert root.shear_mpa == pytest.approx(1.5 * force / (w * d), rel=1e-9)
    assert root.place == "hub"


def test_stress_of_a_spoke_that_is_twisted_and_bent_across() -> None:
    """T / (0.231 w d2) of 1.5 to 1, T / (0.208 d3) of a square (Timoshenko's table, from memory); 0.5 %.

    6 M / (d w2) across; von Mises of a turn is that of the edges, or of the faces in shear alone.
    """
    for w, d, share in ((33.0, 22.0, 0.231), (22.0, 22.0, 0.208)):
        spoke = cantilever(width=w, depth=d)
        root = nominal(spoke, 80.0, 0.0, 0.0, 4.0e5, (0.0, 1.0e5, 3.0e5))
        assert root.twist_mpa == pytest.approx(3.0e5 / (share * w * d**2), rel=5e-3)
        assert root.side_mpa == pytest.approx(6.0e5 / (d * w**2), rel=1e-9)
        edge, face = math.hypot(root.bending_mpa, root.side_mpa), math.sqrt(3.0) * root.twist_mpa
        assert root.equivalent_mpa == max(edge, face)
    pushed = nominal(cantilever(), 80.0, 0.0, 0.0, 0.0, (900.0, 0.0, 0.0))
    assert pushed.twist_mpa == pytest.approx(1.5 * 900.0 / (30.0 * 22.0), rel=1e-9)


def test_pins_and_bolts_carry_what_equilibrium_asks() -> None:
    """T = n F R of pins; M = the sum of F_k R cos^2 of bolts whose force goes as their arm."""
    force, pressure = pins(3.0e6, 5, 120.0, 14.0, 20.0)
    assert 5 * force * 60.0 == pytest.approx(3.0e6)
    assert pressure == pytest.approx(force / 280.0)
    found = bolts(4.0e6, 5, 112.0, 14.5, 9.0, 25.0, 1.0e5)
    arms = 56.0 * np.cos(2.0 * math.pi * np.arange(5) / 5)
    assert (found.bolt_n * arms / 56.0 * arms).sum() == pytest.approx(4.0e6)
    assert found.seat_mpa == pytest.approx(found.bolt_n / (math.pi * 14.5 * 9.0))
    assert found.ligament_mm == pytest.approx(112.0 * math.sin(math.pi / 5) - 14.5)


def test_a_table_of_two_points_is_a_power_law() -> None:
    """N = N1 (S1 / S)^m through (1e4, 240) and (1e6, 120): m = 2 / log10 2 = 6.644 (O. H. Basquin)."""
    table = SnTable(((1e4, 240.0), (1e6, 120.0)), -1.0, "invented")
    m = 2.0 / math.log10(2.0)
    for stress in (239.0, 200.0, 169.70562748, 150.0, 121.0):
        wanted = 1e4 * (240.0 / stress) ** m
        assert life(table, stress, -1.0).mean == pytest.approx(wanted, rel=1e-9)
        assert stress_for(table, wanted, -1.0) == pytest.approx(stress, rel=1e-9)
    # The geometric mean of both stresses lasts the geometric mean of both lives.
    assert life(table, math.sqrt(240.0 * 120.0), -1.0).mean == pytest.approx(1e5, rel=1e-9)


def test_forces_across_a_strip() -> None:
    """A strip held at one end, as an annulus of great radius: force F, moment F times the way to its end.

    Per radian F / 2 pi: exact. The moment's hoop part is a share of some L2 / R d, here under 2 %.
    """
    inner, length, depth, force = 20_000.0, 60.0, 8.0, 1.0e6
    mesh = block((0.0, depth), (inner, inner + length), (3, 24))
    none = np.zeros(len(mesh.edges), dtype=np.intp)
    strip = Body(mesh, METAL, Smear(None, None, None), none, none)
    top = on(mesh, TOP)
    pull = np.zeros((len(mesh.points), 3))
    pull[top, 0] = force / len(top)
    pattern = Pattern(mesh.triangles, len(mesh.points), held(mesh, on(mesh, BOTTOM)))
    moved = pattern.solve(strip.parts, {0: pull})
    for r in (inner + 10.0, inner + 30.0, inner + 50.0):
        cut = across(strip, moved, r)
        assert abs(cut.axial) == pytest.approx(force / (2.0 * math.pi), rel=1e-9)
        assert cut.radial == pytest.approx(0.0, abs=1e-3 * force)
        arm = inner + length - cut.r
        assert abs(cut.moment) == pytest.approx(force / (2.0 * math.pi) * arm, rel=0.02)

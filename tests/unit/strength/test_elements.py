"""Elements of strength: rules and shape functions against their definition, patch tests, rigid motions."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from geometry.shape.curve import Array
from geometry.strength.elements import GAUSS, NODES, WEIGHTS, fields, isotropic, shapes, slopes
from geometry.strength.harmonic import Pattern, Recovery, at_angles, parts_of, von_mises
from tests.unit.strength.test_blocks import BOTTOM, LEFT, RIGHT, TOP, arched, block, held, on

E, NU = 70_000.0, 0.33
LAW = isotropic(E, NU)
MESHES = {
    "irregular": block((0.0, 40.0), (100.0, 140.0), (4, 4), jitter=0.35),
    "curved": block((0.0, 40.0), (100.0, 140.0), (4, 4), bend=arched, jitter=0.2),
    "on the axle": block((0.0, 40.0), (0.0, 40.0), (4, 4), jitter=0.3),
}


def test_the_rule_is_exact_to_degree_four_and_not_beyond() -> None:
    """Integral of x^a y^b over the triangle: a! b! / (a + b + 2)! (Euler's beta integral)."""
    worst = []
    for degree in range(6):
        error = 0.0
        for a in range(degree + 1):
            b = degree - a
            exact = math.factorial(a) * math.factorial(b) / math.factorial(a + b + 2)
            error = max(error, abs(float((WEIGHTS * GAUSS[:, 0] ** a * GAUSS[:, 1] ** b).sum()) / exact - 1))
        worst.append(error)
    assert max(worst[:5]) < 1e-13
    assert worst[5] > 1e-4


def test_shape_functions_are_one_at_their_node_and_sum_to_one() -> None:
    np.testing.assert_allclose(shapes(NODES), np.eye(6), atol=1e-15)
    at = np.random.default_rng(3).dirichlet([1, 1, 1], 20)[:, :2]
    np.testing.assert_allclose(shapes(at).sum(axis=1), 1.0, atol=1e-14)
    step = 1e-6
    for k, way in enumerate(np.eye(2)):
        numeric = (shapes(at + step * way) - shapes(at - step * way)) / (2 * step)
        np.testing.assert_allclose(slopes(at)[:, :, k], numeric, atol=1e-9)


def _state(*u: Callable[[Array, Array], Array]) -> Callable[[Array], Array]:
    return lambda p: np.column_stack([np.broadcast_to(f(p[:, 0], p[:, 1]), len(p)) for f in u])


def _zero(z: Array, r: Array) -> Array:
    return 0.0 * z


#: Displacements that are linear in x, y, z, by harmonic, and their strains zz rr tt zr rt zt (from the strain
#: tensor turned to polar axes): x = r cos, y = r sin.
STRAINED: dict[str, tuple[int, Callable[[Array], Array], tuple[float, ...]]] = {
    "stretch along z": (0, _state(lambda z, r: 2e-3 * z, _zero, _zero), (2e-3, 0, 0, 0, 0, 0)),
    "stretch across": (0, _state(_zero, lambda z, r: 1e-3 * r, _zero), (0, 1e-3, 1e-3, 0, 0, 0)),
    "shear in z and x": (
        1,
        _state(lambda z, r: 5e-4 * r, lambda z, r: 5e-4 * z, lambda z, r: -5e-4 * z),
        (0, 0, 0, 1e-3, 0, -1e-3),
    ),
    "stretch in x, shrink in y": (
        2,
        _state(_zero, lambda z, r: 1e-3 * r, lambda z, r: -1e-3 * r),
        (0, 1e-3, -1e-3, 0, -2e-3, 0),
    ),
}
RIGID: dict[str, tuple[int, Callable[[Array], Array]]] = {
    "along the axle": (0, _state(lambda z, r: 1.0 + 0.0 * z, _zero, _zero)),
    "turned about the axle": (0, _state(_zero, _zero, lambda z, r: r)),
    "across the axle": (1, _state(_zero, lambda z, r: 1.0 + 0.0 * z, lambda z, r: -1.0 + 0.0 * z)),
    "tilted": (1, _state(lambda z, r: r, lambda z, r: -z, lambda z, r: z)),
}


@pytest.mark.parametrize("kind", MESHES)
@pytest.mark.parametrize("state", STRAINED)
def test_patch_of_a_constant_strain(kind: str, state: str) -> None:
    """Given on the skin alone, a field linear in x, y, z stands inside, with its stress, to rounding."""
    mesh, (harmonic, field, strain) = MESHES[kind], STRAINED[state]
    exact = field(mesh.points)
    skin = held(mesh, on(mesh, BOTTOM, RIGHT, TOP, LEFT))
    pattern = Pattern(mesh.triangles, len(mesh.points), skin)
    zero = np.zeros_like(exact)
    found = pattern.solve(parts_of(mesh, LAW), {harmonic: zero}, {harmonic: exact})[harmonic]
    assert not skin.all(), "nothing is left to be found"
    np.testing.assert_allclose(found, exact, atol=1e-11 * np.abs(exact).max())
    stress = Recovery(mesh, LAW).stress(harmonic, found)
    wanted = LAW @ np.array(strain)
    np.testing.assert_allclose(
        stress, np.broadcast_to(wanted, stress.shape), atol=2e-8 * np.abs(wanted).max()
    )


@pytest.mark.parametrize("kind", MESHES)
@pytest.mark.parametrize("motion", RIGID)
def test_a_rigid_motion_gives_neither_stress_nor_force(kind: str, motion: str) -> None:
    mesh, (harmonic, field) = MESHES[kind], RIGID[motion]
    moved = field(mesh.points)
    at = fields(mesh.points, mesh.triangles, GAUSS)
    strain = (at.plain + harmonic * at.turn) @ moved[mesh.triangles].reshape(-1, 1, 18, 1)
    assert np.abs(strain).max() < 1e-11
    # What the same numbers as another harmonic would take, as a measure of "no force".
    parts = parts_of(mesh, LAW)
    scale = np.abs(parts.forces(harmonic + 1, moved)).max()
    assert np.abs(parts.forces(harmonic, moved)).max() < 1e-10 * scale
    assert np.abs(Recovery(mesh, LAW).stress(harmonic, moved)).max() < 1e-6


@pytest.mark.parametrize(("harmonic", "motions"), [(0, 2), (1, 2), (2, 0), (3, 0)])
def test_only_the_rigid_motions_cost_nothing(harmonic: int, motions: int) -> None:
    """Number of zero eigenvalues of a free body's stiffness: two for n = 0, two for n = 1, none beyond."""
    mesh = block((0.0, 10.0), (30.0, 40.0), (2, 2), jitter=0.2)
    n = mesh.unknowns
    parts = parts_of(mesh, LAW)
    k = np.column_stack([parts.forces(harmonic, e.reshape(-1, 3)).ravel() for e in np.eye(n)])
    np.testing.assert_allclose(k, k.T, atol=1e-12 * np.abs(k).max())
    values = np.linalg.eigvalsh(k)
    assert (np.abs(values) < 1e-10 * values[-1]).sum() == motions
    assert values[0] > -1e-10 * values[-1]


def test_isotropic_law_is_hookes() -> None:
    """Inverse of the flexibility 1/E, -nu/E, 1/G (Hooke's law, any textbook)."""
    flexible = np.zeros((6, 6))
    flexible[:3, :3] = -NU / E
    flexible[range(3), range(3)] = 1.0 / E
    flexible[range(3, 6), range(3, 6)] = 2.0 * (1.0 + NU) / E
    np.testing.assert_allclose(LAW, np.linalg.inv(flexible), rtol=1e-12, atol=1e-9)


def test_stress_round_the_turn_is_a_sum_of_waves() -> None:
    """zz, rr, tt, zr by cos(n theta), rt, zt by sin(n theta); at n = 0 the last two are an even torsion."""
    stress = {n: np.arange(1.0, 7.0)[None] + 10.0 * n for n in (0, 1, 3)}
    angles = np.radians([0.0, 30.0, 75.0, 180.0])
    found = at_angles(stress, angles)
    for k, turn in enumerate(angles):
        for c in range(6):
            wave = math.cos if c < 4 else math.sin
            wanted = sum(s[0, c] * (1.0 if n == 0 else wave(n * turn)) for n, s in stress.items())
            assert found[k, 0, c] == pytest.approx(wanted)


def test_equivalent_stress_of_plain_states() -> None:
    """R. von Mises: a pull is itself, shear counts by the root of 3, even pressure is nothing."""
    states = np.zeros((6, 6))
    states[0, 1] = -80.0
    states[1:4, 3:] = 50.0 * np.eye(3)
    states[4, :3] = 70.0
    states[5] = [100.0, 20.0, 0.0, 0.0, 0.0, 30.0]
    plane = math.sqrt(100.0**2 - 100.0 * 20.0 + 20.0**2 + 3.0 * 30.0**2)
    wanted = [80.0, *[50.0 * math.sqrt(3.0)] * 3, 0.0, plane]
    np.testing.assert_allclose(von_mises(states), wanted, atol=1e-12)

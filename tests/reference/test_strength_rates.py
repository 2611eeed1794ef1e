"""How fast the elements of strength close in on exact solutions as the mesh is halved.

Quadratic elements: error of order 2 in the energy norm, 3 in the mean square of the displacements, 2 in
strains, for smooth solutions (G. Strang, G. Fix, An Analysis of the Finite Element Method, from memory).

Exact solutions without body force: the gradient of any harmonic function f, and 4 (1 - nu) g e_z - grad(z g)
for any harmonic g (P. F. Papkovich, H. Neuber; J. R. Barber, Elasticity, from memory). Here f and g are
I_n(k r) cos(k z) cos(n theta), I_n the modified Bessel function, so every strain of the six takes part. That
the errors fall to nothing is the proof that these are solutions.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from scipy.special import iv, ivp

from geometry.shape.curve import Array
from geometry.strength.elements import fields, isotropic, shapes
from geometry.strength.harmonic import Pattern, Recovery, edge_forces, edge_places, parts_of
from geometry.strength.mesh import Mesh
from tests.unit.strength.test_blocks import (
    BOTTOM,
    FINE,
    FINE_WEIGHTS,
    LEFT,
    RIGHT,
    TOP,
    arched,
    block,
    held,
    on,
    orders,
    side,
)

E, NU, K = 70_000.0, 0.33, 0.06
LAW = isotropic(E, NU)
CELLS = (2, 4, 8, 16)


@dataclass(frozen=True)
class Exact:
    """Displacement (m, 3) and strain (m, 6) at (m, 2) places."""

    moved: Callable[[int, Array], Array]
    strain: Callable[[int, Array], Array]


def _potential(n: int, p: Array) -> tuple[Array, ...]:
    """f and its first and second derivatives by z and r, without cos(n theta)."""
    z, r = p.T
    c, s = np.cos(K * z), np.sin(K * z)
    f, d, dd = iv(n, K * r), K * ivp(n, K * r), K**2 * ivp(n, K * r, 2)
    return f * c, -K * f * s, d * c, -(K**2) * f * c, -K * d * s, dd * c


def _gradient(n: int, p: Array) -> Array:
    f, f_z, f_r, *_ = _potential(n, p)
    return np.column_stack([f_z, f_r, -n * f / p[:, 1]])


def _gradient_strain(n: int, p: Array) -> Array:
    f, f_z, f_r, f_zz, f_zr, f_rr = _potential(n, p)
    r = p[:, 1]
    hoop = f_r / r - n**2 * f / r**2
    return np.column_stack([f_zz, f_rr, hoop, 2 * f_zr, -2 * n * (f_r / r - f / r**2), -2 * n * f_z / r])


def _neuber(n: int, p: Array) -> Array:
    z, r = p.T
    g, g_z, g_r, *_ = _potential(n, p)
    return np.column_stack([(3 - 4 * NU) * g - z * g_z, -z * g_r, n * z * g / r])


def _neuber_strain(n: int, p: Array) -> Array:
    z, r = p.T
    g, g_z, g_r, *_ = _potential(n, p)
    out: Array = -z[:, None] * _gradient_strain(n, p)
    out[:, 0] += (2 - 4 * NU) * g_z
    # The part 4 (1 - nu) g along z shears; grad(z g) = z grad g + g e_z.
    out[:, 3] += (2 - 4 * NU) * g_r
    out[:, 5] -= (2 - 4 * NU) * n * g / r
    return out


SOLUTIONS = {
    "gradient of a potential": Exact(_gradient, _gradient_strain),
    "Papkovich and Neuber": Exact(_neuber, _neuber_strain),
}


@pytest.mark.parametrize("name", SOLUTIONS)
@pytest.mark.parametrize("n", [0, 1, 2, 5])
def test_strains_above_are_those_of_the_displacements(name: str, n: int) -> None:
    """By differences, from the definition in polar axes: the exact strains are themselves checked."""
    exact = SOLUTIONS[name]
    p = np.array([[5.0, 105.0], [30.0, 137.0], [17.0, 119.0]])
    u, r, h = exact.moved(n, p), p[:, 1], 1e-3
    u_z, u_r = ((exact.moved(n, p + w) - exact.moved(n, p - w)) / (2 * h) for w in h * np.eye(2))
    by_hand = np.column_stack(
        [
            u_z[:, 0],
            u_r[:, 1],
            (u[:, 1] + n * u[:, 2]) / r,
            u_z[:, 1] + u_r[:, 0],
            u_r[:, 2] - (u[:, 2] + n * u[:, 1]) / r,
            u_z[:, 2] - n * u[:, 0] / r,
        ]
    )
    np.testing.assert_allclose(exact.strain(n, p), by_hand, rtol=1e-6, atol=1e-7 * np.abs(by_hand).max())


def _errors(mesh: Mesh, exact: Exact, n: int, found: Array) -> tuple[float, float, float]:
    """Relative errors: energy norm, mean square of the displacements, greatest nodal stress error."""
    at = fields(mesh.points, mesh.triangles, FINE)
    shape = shapes(FINE)
    place = np.einsum("mk,ekj->emj", shape, mesh.points[mesh.triangles]).reshape(-1, 2)
    weight = (at.area * at.r * FINE_WEIGHTS).ravel()
    local = found[mesh.triangles]
    moved = np.einsum("mk,ekj->emj", shape, local).reshape(-1, 3)
    strain = ((at.plain + n * at.turn) @ local.reshape(-1, 1, 18, 1)).reshape(-1, 6)
    right_u, right_e = exact.moved(n, place), exact.strain(n, place)

    def energy(e: Array) -> float:
        return float(np.einsum("p,pi,ij,pj->", weight, e, LAW, e))

    def square(u: Array) -> float:
        return float(weight @ (u**2).sum(axis=1))

    stress = exact.strain(n, mesh.points) @ LAW
    nodal = Recovery(mesh, LAW).stress(n, found)
    return (
        (energy(strain - right_e) / energy(right_e)) ** 0.5,
        (square(moved - right_u) / square(right_u)) ** 0.5,
        float(np.sqrt(((nodal - stress) ** 2).mean()) / np.abs(stress).max()),
    )


@pytest.mark.parametrize("name", SOLUTIONS)
@pytest.mark.parametrize("n", [0, 1, 2, 5])
@pytest.mark.parametrize("bent", [False, True], ids=["straight", "curved edges"])
def test_order_of_the_errors(name: str, n: int, bent: bool) -> None:
    """Displacements given on bottom and left, exact tractions on top and right (n = 0: no twist).

    Orders on the last halving: energy 2, displacements 3, within 0.15; recovered nodal stress (mean square,
    skin nodes among them) at least 1.8. The finest mesh (16 by 16 cells) is within 0.4 % in energy, 0.02 % in
    displacement.
    """
    exact = SOLUTIONS[name]
    rows = []
    for cells in CELLS:
        mesh = block((0.0, 40.0), (100.0, 140.0), (cells, cells), bend=arched if bent else None)
        fixed = held(mesh, on(mesh, BOTTOM, LEFT))
        load = _traction(mesh, exact, n)
        pattern = Pattern(mesh.triangles, len(mesh.points), fixed)
        given = exact.moved(n, mesh.points)
        found = pattern.solve(parts_of(mesh, LAW), {n: load}, {n: given})[n]
        rows.append(_errors(mesh, exact, n, found))
    energy, square, stress = zip(*rows, strict=True)
    assert orders(energy)[-1] == pytest.approx(2.0, abs=0.15)
    assert orders(square)[-1] == pytest.approx(3.0, abs=0.15)
    assert orders(stress)[-1] > 1.8
    assert energy[-1] < 4e-3
    assert square[-1] < 2e-4


def _traction(mesh: Mesh, exact: Exact, n: int) -> Array:
    """Nodal forces of the exact solution's tractions on top and right."""
    edges = side(mesh, TOP, RIGHT)
    place, normal = edge_places(mesh, edges)
    zz, rr, _, zr, rt, zt = (exact.strain(n, place.reshape(-1, 2)) @ LAW).T
    z, r = normal.reshape(-1, 2).T
    pull = np.column_stack([zz * z + zr * r, zr * z + rr * r, zt * z + rt * r])
    return edge_forces(mesh, edges, pull.reshape(*place.shape[:2], 3), n)


def test_a_wrong_field_does_not_converge() -> None:
    """The measure itself can fail: with another Poisson ratio in the law the error stays where it is."""
    exact = SOLUTIONS["Papkovich and Neuber"]
    left = []
    for cells in CELLS[:3]:
        mesh = block((0.0, 40.0), (100.0, 140.0), (cells, cells))
        pattern = Pattern(mesh.triangles, len(mesh.points), held(mesh, on(mesh, BOTTOM, LEFT)))
        parts = parts_of(mesh, isotropic(E, 0.30))
        given = exact.moved(2, mesh.points)
        found = pattern.solve(parts, {2: _traction(mesh, exact, 2)}, {2: given})[2]
        left.append(_errors(mesh, exact, 2, found)[1])
    assert orders(left)[-1] < 0.2

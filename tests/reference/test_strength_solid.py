"""Bodies of revolution as solids in space by scikit-fem, against the half-section and its harmonics.

A quarter turn of 20-node bricks in Cartesian axes: another element, another law of strains, no harmonics. By
symmetry the quarter is the whole under loads that vary as cos(n theta).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from scipy.sparse.linalg import splu

from geometry.shape.curve import Array, Flags, Path
from geometry.strength.elements import fields, isotropic
from geometry.strength.harmonic import Pattern, at_angles, edge_forces, parts_of, von_mises
from geometry.strength.mesh import Mesh, mesh_of
from geometry.strength.sizes import SizeRule

pytestmark = pytest.mark.oracle

E, NU = 70_000.0, 0.33
#: Tractions on the end at the least z, MPa: along z and away from the axle by cosine, along theta by sine.
PULL = (2.0, 1.0, -0.7)


@dataclass(frozen=True)
class Case:
    """A section as a polygon, and as a grid of bricks on (s, t) taken to (z, r).

    Attributes:
        corners: (z, r), counterclockwise. s, t: lines of the grid. sectors: bricks over the quarter.
        kept: which cells of the grid are metal, by their middle. place: from (s, t) to (z, r).
        held: which places (z, r) do not move; along z alone where `rolls`. rule: of the half-section's mesh.
    """

    corners: tuple[tuple[float, float], ...]
    s: tuple[float, ...]
    t: tuple[float, ...]
    sectors: int
    kept: Callable[[Array, Array], Flags]
    place: Callable[[Array, Array], tuple[Array, Array]]
    held: Callable[[Array, Array], Flags]
    rolls: bool
    rule: SizeRule


@dataclass(frozen=True)
class Solid:
    """Work of the load on the whole turn; displacements at the corners, theta = 0; stress in the bricks."""

    work: float
    corners: Array
    places: Array
    mises: Array


def solid(case: Case, n: int) -> Solid:
    skfem = pytest.importorskip("skfem", reason="scikit-fem (group oracle) is not installed")
    from skfem.models.elasticity import lame_parameters, linear_elasticity

    box = skfem.MeshHex.init_tensor(
        np.array(case.s), np.array(case.t), np.linspace(0.0, math.pi / 2.0, case.sectors + 1)
    )
    middle = box.p[:2, box.t].mean(axis=1)
    flat = skfem.MeshHex2.from_mesh(box.remove_elements(np.flatnonzero(~case.kept(*middle))))
    s, t, turn = flat.doflocs
    z, r = case.place(s, t)
    mesh = skfem.MeshHex2(np.vstack([z, r * np.cos(turn), r * np.sin(turn)]), flat.t)
    basis = skfem.Basis(mesh, skfem.ElementVector(skfem.ElementHexS2()), intorder=4)
    axis = np.empty(basis.N, dtype=np.intp)
    for dofs in (basis.nodal_dofs, basis.edge_dofs):
        for k, row in enumerate(dofs):
            axis[row] = k % 3
    stiff = linear_elasticity(*lame_parameters(E, NU)).assemble(basis)
    low = float(z.min())
    end = mesh.facets_satisfying(lambda x: np.abs(x[0] - low) < 1e-6, boundaries_only=True)
    face = skfem.FacetBasis(mesh, basis.elem, facets=end, intorder=6)

    def pushed(v: Any, w: Any) -> Any:
        turn = np.arctan2(w.x[2], w.x[1])
        a, b, c = PULL[0] * np.cos(n * turn), PULL[1] * np.cos(n * turn), PULL[2] * np.sin(n * turn)
        across = (b * np.cos(turn) - c * np.sin(turn), b * np.sin(turn) + c * np.cos(turn))
        return a * v[0] + across[0] * v[1] + across[1] * v[2]

    load = skfem.LinearForm(pushed).assemble(face)
    z, x, y = basis.doflocs
    fixed = case.held(z, np.hypot(x, y)) & (~np.bool_(case.rolls) | (axis == 0))
    fixed |= (np.abs(y) < 1e-6) & (axis == 2)
    # At a quarter turn cos(n theta) is even for an even n and odd for an odd one.
    fixed |= (np.abs(x) < 1e-6) & ((axis == 1) if n % 2 == 0 else (axis != 1))
    free = np.flatnonzero(~fixed)
    factor = splu(stiff[free][:, free].tocsc(), "MMD_AT_PLUS_A", options={"SymmetricMode": True})
    moved = np.zeros(basis.N)
    moved[free] = factor.solve(load[free])
    at = [np.flatnonzero(np.hypot(np.hypot(z - p, x - q), y) < 1e-6) for p, q in case.corners]
    assert all(len(k) == 3 for k in at)
    centre = skfem.Basis(mesh, basis.elem, quadrature=(np.full((3, 1), 0.5), np.ones(1)))
    slope = np.array(centre.interpolate(moved).grad)[..., 0]
    strain = (slope + slope.transpose(1, 0, 2)) / 2.0
    shape = strain - np.einsum("ii...->...", strain) / 3.0 * np.eye(3)[:, :, None]
    z, x, y = np.array(centre.global_coordinates())[..., 0]
    return Solid(
        4.0 * float(load @ moved),
        np.array([moved[k[axis[k].argsort()]] for k in at]),
        np.column_stack([z, np.hypot(x, y), np.arctan2(y, x)]),
        E / (1 + NU) * np.sqrt(1.5 * (shape**2).sum(axis=(0, 1))),
    )


def half_section(case: Case, n: int) -> tuple[Mesh, float, Array]:
    """Mesh, work of the load, displacements."""
    mesh = mesh_of(Path.closed(case.corners), case.rule)
    low = mesh.points[:, 0].min()
    end = np.flatnonzero(np.abs(mesh.points[mesh.edges, 0] - low).max(axis=1) < 1e-9)
    load = edge_forces(mesh, end, np.array(PULL), n)
    fixed = case.held(*mesh.points.T)[:, None] & np.array([True, not case.rolls, not case.rolls])
    pattern = Pattern(mesh.triangles, len(mesh.points), fixed)
    moved = pattern.solve(parts_of(mesh, isotropic(E, NU)), {n: load})[n]
    return mesh, float((load * moved).sum()), moved


def stress_at(mesh: Mesh, n: int, moved: Array, places: Array) -> Array:
    """(m,) von Mises stress at places (z, r, theta), from the element that holds each."""
    out = np.empty(len(places))
    a, b, c = (mesh.points[mesh.triangles[:, k]] for k in range(3))
    law, ways = isotropic(E, NU), np.linalg.inv(np.stack([b - a, c - a], axis=2))
    for k, (z, r, turn) in enumerate(places):
        local = (ways @ (np.array([z, r]) - a)[..., None])[..., 0]
        inside = np.minimum(local.min(axis=1), 1.0 - local.sum(axis=1))
        e = int(inside.argmax())
        assert inside[e] > -1e-9
        at = fields(mesh.points, mesh.triangles[[e]], local[[e]])
        strain = (at.plain + n * at.turn)[0, 0] @ moved[mesh.triangles[e]].ravel()
        out[k] = von_mises(at_angles({n: (law @ strain)[None]}, np.array([turn])))[0, 0]
    return out


def _everywhere(s: Array, t: Array) -> Flags:
    return np.ones(len(s), dtype=np.bool_)


def _as_is(s: Array, t: Array) -> tuple[Array, Array]:
    return s, t


#: A thick ring of slanting section that rolls on a flat at z = 0: nothing in it is singular.
RING = Case(
    ((-60.0, 80.0), (0.0, 60.0), (0.0, 110.0), (-60.0, 100.0)),
    (-60.0, -50.0, -40.0, -30.0, -20.0, -10.0, 0.0),
    (0.0, 0.25, 0.5, 0.75, 1.0),
    9,
    _everywhere,
    lambda s, t: (s, (60.0 - s / 3.0) * (1.0 - t) + (110.0 + s / 6.0) * t),
    lambda z, r: np.abs(z) < 1e-6,
    True,
    SizeRule(least_mm=5.0, most_mm=5.0),
)
#: A plain disc with a barrel, its hub built in: a wheel's shape, with a sharp inner corner.
WHEEL = Case(
    ((0.0, 40.0), (12.0, 40.0), (12.0, 180.0), (-100.0, 180.0), (-100.0, 170.0), (0.0, 170.0)),
    (-100.0, -68.0, -36.0, -14.0, -4.0, 0.0, 6.0, 12.0),
    (40.0, 44.0, 58.0, 85.0, 115.0, 145.0, 163.0, 170.0, 175.0, 180.0),
    4,
    lambda s, t: (s > 0.0) | (t > 170.0),
    _as_is,
    lambda z, r: r < 40.0 + 1e-6,
    False,
    SizeRule(least_mm=2.0, most_mm=5.0),
)


@pytest.mark.parametrize(
    ("case", "n", "within", "stress_mean", "stress_most"),
    [(RING, 2, 0.002, 0.015, 0.04), (WHEEL, 1, 0.01, 0.015, 0.04)],
    ids=["slanting ring, n = 2", "wheel under a force across, n = 1"],
)
def test_solid_in_space(case: Case, n: int, within: float, stress_mean: float, stress_most: float) -> None:
    """Work of the load and displacements of the corners within 0.2 % (ring) and 1 % (wheel), stress 4 %.

    Both come from below, the coarse bricks more so: 4 x 2 x 6 of them for the ring give 0.5 %, 6 x 4 x 9 give
    0.1 %. The sharp corner and the built-in edge hold both solutions back; stress has no value there and is
    compared more than 20 mm away. Stress is that at the middle of each brick, which is not its best place.
    """
    other = solid(case, n)
    mesh, work, moved = half_section(case, n)
    at = [int(np.hypot(*(mesh.points - c).T).argmin()) for c in case.corners]
    scale = np.abs(moved).max()
    far = np.ones(len(other.places), dtype=np.bool_)
    if case is WHEEL:
        far = np.hypot(other.places[:, 0], other.places[:, 1] - 170.0) > 20.0
        far &= other.places[:, 1] > 60.0
    stress = stress_at(mesh, n, moved, other.places[far])
    wrong = np.abs(stress - other.mises[far]) / stress.max()
    assert work == pytest.approx(other.work, rel=within)
    # At theta = 0 nothing moves along theta.
    np.testing.assert_allclose(moved[at, :2], other.corners[:, :2], atol=within * scale)
    assert np.sqrt((wrong**2).mean()) < stress_mean
    assert wrong.max() < stress_most

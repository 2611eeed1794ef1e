"""Displacements of a body of revolution, one harmonic of the load at a time.

Units N, mm, MPa. A force of a harmonic is per node and whole: the work it does on a displacement of the same
harmonic over the whole turn. Signs: + along z, away from the axle, and with growing theta.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import qdldl
from scipy.sparse import csc_matrix

from geometry.errors import GeometryError
from geometry.shape.curve import Array, Flags, Indices
from geometry.strength.elements import GAUSS, WEIGHTS, fields, shapes, stiffness, turn_integral
from geometry.strength.mesh import Mesh

#: (g, 2) places and weights along an edge from 0 to 1: degree 7.
_LINE = np.polynomial.legendre.leggauss(4)
_ALONG, _WEIGHT = (_LINE[0] + 1.0) / 2.0, _LINE[1] / 2.0


@dataclass(frozen=True, eq=False)
class Parts:
    """Stiffness of all elements, free of the harmonic: K = K0 + n K1 + n2 K2, times the turn's integral.

    Attributes:
        triangles: (e, 6). none, once, twice: (e, 18, 18) N/mm.
    """

    triangles: Indices
    none: Array
    once: Array
    twice: Array

    def forces(self, harmonic: int, moved: Array) -> Array:
        """Return (n, 3) nodal forces in N that hold (n, 3) displacements in mm."""
        local = moved[self.triangles].reshape(len(self.triangles), 18, 1)
        given = self.none @ local
        if harmonic:
            given = given + harmonic * (self.once @ local) + harmonic**2 * (self.twice @ local)
        out = np.zeros_like(moved)
        np.add.at(out, self.triangles, given.reshape(-1, 6, 3) * turn_integral(harmonic))
        return out


def parts_of(mesh: Mesh, law: Array) -> Parts:
    """Return the elements' stiffness; law: (6, 6), (e, 6, 6) or (e, 6 points, 6, 6) in MPa."""
    at = fields(mesh.points, mesh.triangles, GAUSS)
    if law.ndim == 2:
        law = law[None]
    return Parts(mesh.triangles, *stiffness(at, WEIGHTS, law))


class Pattern:
    """Which displacements are free, and where each element's numbers go, for all meshes of one topology."""

    def __init__(self, triangles: Indices, nodes: int, held: Flags) -> None:
        """Number the free displacements.

        Args:
            triangles: (e, 6) nodes of the elements.
            nodes: how many.
            held: (nodes, 3) displacements that are given.

        Raises:
            GeometryError: nothing is held, so that the body could move as a whole, or nothing is free.
        """
        if not held.any() or held.all():
            raise GeometryError("Nothing holds the wheel, or nothing of it can move; name a clamped face.")
        self.held = held
        number = np.full(nodes * 3, -1, dtype=np.intp)
        free = np.flatnonzero(~held.ravel())
        number[free] = np.arange(len(free))
        self.free = free
        dof = (triangles[:, :, None] * 3 + np.arange(3)).reshape(len(triangles), 18)
        mine = number[dof]
        row, column = np.broadcast_arrays(mine[:, :, None], mine[:, None, :])
        used = (row >= 0) & (column >= 0) & (row <= column)
        self._used = np.flatnonzero(used.ravel())
        key = column[used].astype(np.int64) * len(free) + row[used]
        keys, self._to = np.unique(key, return_inverse=True)
        self._rows = keys % len(free)
        self._starts = np.searchsorted(keys // len(free), np.arange(len(free) + 1))
        self._solver: qdldl.Solver | None = None

    def data(self, local: Array) -> Array:
        """Return the numbers of the upper triangle from (e, 18, 18) of the elements."""
        return np.asarray(np.bincount(self._to, local.ravel()[self._used], len(self._rows)), dtype=float)

    def factored(self, data: Array) -> qdldl.Solver:
        """Return the factored matrix; its order of elimination is found once for a pattern."""
        upper = csc_matrix((data, self._rows, self._starts), shape=(len(self.free), len(self.free)))
        if self._solver is None:
            self._solver = qdldl.Solver(upper, True)
        else:
            self._solver.update(upper, True)
        return self._solver

    def solve(
        self, parts: Parts, loads: Mapping[int, Array], given: Mapping[int, Array] | None = None
    ) -> dict[int, Array]:
        """Return displacements, mm, by harmonic, of the same shape as its loads.

        Args:
            parts: stiffness of the elements.
            loads: (nodes, 3) or (k, nodes, 3) nodal forces in N by harmonic; k cases at once.
            given: held displacements in mm by harmonic, of the same shape; zero where not named.

        Raises:
            GeometryError: the solution is not finite: an element is turned over or the metal hangs loose.
        """
        zero, one, two = self.data(parts.none), self.data(parts.once), self.data(parts.twice)
        out: dict[int, Array] = {}
        for harmonic, load in loads.items():
            moved = np.zeros_like(load)
            force = load
            if given is not None and harmonic in given:
                moved = np.where(self.held, given[harmonic], 0.0)
                pulled = moved[None] if moved.ndim == 2 else moved
                force = load - np.array([parts.forces(harmonic, m) for m in pulled]).reshape(load.shape)
            data = (zero + harmonic * one + harmonic**2 * two) * turn_integral(harmonic)
            solver = self.factored(data)
            flat, target = force.reshape(-1, self.held.size), moved.reshape(-1, self.held.size)
            for k in range(len(flat)):
                target[k, self.free] = solver.solve(flat[k, self.free])
            if not np.isfinite(moved).all():
                raise GeometryError(
                    "The displacements are not finite: some metal hangs loose or is turned over."
                )
            out[harmonic] = moved
        return out


def solve_all(
    pattern: Pattern, parts: Parts, cases: Mapping[str, Mapping[int, Array]]
) -> dict[str, dict[int, Array]]:
    """Return displacements of several cases held alike, by name; each harmonic is factored once."""
    out: dict[str, dict[int, Array]] = {name: {} for name in cases}
    for n in sorted({n for loads in cases.values() for n in loads}):
        names = [name for name, loads in cases.items() if n in loads]
        moved = pattern.solve(parts, {n: np.stack([cases[name][n] for name in names])})[n]
        for name, u in zip(names, moved, strict=True):
            out[name][n] = u
    return out


def edge_forces(mesh: Mesh, edges: Indices, traction: Array, harmonic: int) -> Array:
    """Return (n, 3) nodal forces in N of a traction on edges of the skin.

    Args:
        mesh: whose skin is loaded.
        edges: (k,) rows of mesh.edges.
        traction: (3,), (k, 3) or (k, g, 3) MPa in z, r, theta, at `edge_places`.
        harmonic: of the traction; its coefficient of cos(n theta) (sin for the theta part).
    """
    nodes = mesh.edges[edges]
    n, d = _line_shapes()
    at = mesh.points[nodes]
    place, along = np.einsum("gk,ekj->egj", n, at), np.einsum("gk,ekj->egj", d, at)
    weight = np.hypot(along[..., 0], along[..., 1]) * place[..., 1] * _WEIGHT * turn_integral(harmonic)
    pull = (
        traction
        if traction.ndim == 3
        else np.broadcast_to(np.atleast_2d(traction)[:, None], (*weight.shape, 3))
    )
    local = np.einsum("eg,gk,egj->ekj", weight, n, pull)
    out = np.zeros((len(mesh.points), 3))
    np.add.at(out, nodes, local)
    return out


def edge_places(mesh: Mesh, edges: Indices) -> tuple[Array, Array]:
    """Return (k, g, 2) places of integration on edges of the skin, and unit normals out of the metal."""
    n, d = _line_shapes()
    at = mesh.points[mesh.edges[edges]]
    along = np.einsum("gk,ekj->egj", d, at)
    out = np.stack([along[..., 1], -along[..., 0]], axis=-1)
    return np.einsum("gk,ekj->egj", n, at), out / np.linalg.norm(out, axis=-1, keepdims=True)


def edge_area_mm2(mesh: Mesh, edges: Indices) -> Array:
    """Return (k,) area of the ring that each edge of the skin turns to, mm2."""
    n, d = _line_shapes()
    at = mesh.points[mesh.edges[edges]]
    place, along = np.einsum("gk,ekj->egj", n, at), np.einsum("gk,ekj->egj", d, at)
    return np.asarray(
        (np.hypot(along[..., 0], along[..., 1]) * place[..., 1] * _WEIGHT).sum(axis=1) * 2.0 * np.pi
    )


def _line_shapes() -> tuple[Array, Array]:
    """Return (g, 3) shape functions of start, end and middle along an edge, and their slopes."""
    t = _ALONG
    n = np.column_stack([(1 - t) * (1 - 2 * t), t * (2 * t - 1), 4 * t * (1 - t)])
    return n, np.column_stack([4 * t - 3, 4 * t - 1, 4 - 8 * t])


#: Places where strains of a six-node triangle are best, and the way from there to its nodes.
#: J. Barlow, Int. J. Numer. Meth. Engng 10 (1976) 243 (from memory).
_BEST = np.array([[1.0, 1.0], [4.0, 1.0], [1.0, 4.0]]) / 6.0


class Recovery:
    """From displacements to stresses at the nodes: linear through each element's best places, averaged.

    Spokes and full rings carry different stress where they meet, in the metal as in the sum: elements of
    either kind are averaged among themselves, and a node of both has both.
    """

    def __init__(self, mesh: Mesh, law: Array, metal: Array | None = None) -> None:
        """Prepare for a mesh.

        Args:
            mesh: that was solved on.
            law: (6, 6), (e, 6, 6) or (e, 3, 6, 6) MPa at `places_of_stress`.
            metal: (e, 3) share of the ring that is metal there: stresses are those in the metal.
        """
        self._at = fields(mesh.points, mesh.triangles, _BEST)
        self._triangles, self._nodes = mesh.triangles, len(mesh.points)
        law = law[None] if law.ndim == 2 else law
        law = law[:, None] if law.ndim == 3 else law
        if metal is not None:
            law = law / metal[..., None, None]
        plane = np.column_stack([np.ones(3), _BEST])
        nodes = np.column_stack(
            [np.ones(6), np.array([[0, 0], [1, 0], [0, 1], [0.5, 0], [0.5, 0.5], [0, 0.5]])]
        )
        self._spread = nodes @ np.linalg.inv(plane)
        self._weight = np.repeat(self._at.area.mean(axis=1)[:, None], 6, axis=1)
        spoked = np.zeros(len(mesh.triangles), dtype=np.bool_)
        if metal is not None:
            spoked = (metal < 1.0 - 1e-12).sum(axis=1) > metal.shape[1] / 2
        #: (n,) area of the elements round each node, by which they are averaged, mm2.
        self.area = self._area_of(mesh.triangles, self._weight)
        kinds = [np.ones_like(spoked)] if not spoked.any() else [~spoked, spoked]
        self._kinds = [
            (np.flatnonzero(kind), self._area_of(mesh.triangles[kind], self._weight[kind])) for kind in kinds
        ]
        self._plain, self._turn = law @ self._at.plain, law @ self._at.turn

    @property
    def own(self) -> tuple[Flags, ...]:
        """(n,) by kind, as `stress` has them: nodes that touch an element of it."""
        return tuple(np.asarray(area > 0.0) for _, area in self._kinds)

    def elements(self, harmonic: int, moved: Array) -> Array:
        """Return (e, 6 nodes, 6) stresses of each element for itself, MPa."""
        local = moved[self._triangles].reshape(-1, 1, 18, 1)
        at_best = self._plain @ local
        if harmonic:
            at_best = at_best + harmonic * (self._turn @ local)
        return np.asarray(np.einsum("kp,epc->ekc", self._spread, at_best[..., 0]))

    def stress(self, harmonic: int, moved: Array) -> Array:
        """Return (s n, 6) stresses at the nodes, MPa: zz, rr, tt, zr by cosine, rt, zt by sine.

        s is 1 without spokes, else 2: first as full rings have it at each node, then as spokes have it; both
        are the same at a node of one kind alone.
        """
        each = self.elements(harmonic, moved) * self._weight[..., None]
        out = []
        for chosen, area in self._kinds:
            flat = self._triangles[chosen].ravel()
            sums = [np.bincount(flat, each[chosen, :, c].ravel(), self._nodes) for c in range(6)]
            with np.errstate(invalid="ignore", divide="ignore"):
                out.append(np.column_stack(sums) / area[:, None])
        if len(out) == 2:
            for own, other, (_, area) in zip(out, out[::-1], self._kinds, strict=True):
                own[area <= 0.0] = other[area <= 0.0]
        return np.concatenate(out)

    def _area_of(self, triangles: Indices, weight: Array) -> Array:
        return np.bincount(triangles.ravel(), weight.ravel(), self._nodes).astype(float)


def places_of_stress(mesh: Mesh) -> Array:
    """Return (e, 3, 2) places where strains are taken, mm."""
    return np.asarray(np.einsum("mk,ekj->emj", shapes(_BEST), mesh.points[mesh.triangles]))


def places_of_stiffness(mesh: Mesh) -> Array:
    """Return (e, 6, 2) Gauss points, mm."""
    return np.asarray(np.einsum("mk,ekj->emj", shapes(GAUSS), mesh.points[mesh.triangles]))


def at_angles(by_harmonic: Mapping[int, Array], angles_rad: Array) -> Array:
    """Return (a, n, 6) stresses round the turn, summed over harmonics; sine parts of n = 0 are torsion."""
    if not by_harmonic:
        raise GeometryError("No harmonic of the load was given.")
    n = np.array(list(by_harmonic))
    turns = angles_rad[:, None] * n
    even, odd = np.cos(turns), np.where(n == 0, 1.0, np.sin(turns))
    stress = np.stack(list(by_harmonic.values()))
    out = np.empty((len(angles_rad), *stress.shape[1:]))
    out[..., :4] = np.tensordot(even, stress[..., :4], axes=1)
    out[..., 4:] = np.tensordot(odd, stress[..., 4:], axes=1)
    return out


def von_mises(stress: Array) -> Array:
    """Return the equivalent stress of (..., 6) stresses, MPa."""
    zz, rr, tt, zr, rt, zt = (stress[..., k] for k in range(6))
    square = ((zz - rr) ** 2 + (rr - tt) ** 2 + (tt - zz) ** 2) / 2.0 + 3.0 * (zr**2 + rt**2 + zt**2)
    return np.asarray(np.sqrt(square))

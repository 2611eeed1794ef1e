"""A wheel with separate spokes as a solid in space by scikit-fem: hub, straight spokes, rim.

One sector of 20-node bricks. What turns once round the wheel is the same in each sector but for a phase: the
far side of the sector moves as the near side does, turned by the sector's angle and times exp(i m angle)
(D. L. Thomas, Int. J. Numer. Meth. Engng 14 (1979) 81, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import pytest
from scipy.sparse import coo_matrix, csr_matrix
from scipy.sparse.linalg import splu

from geometry.readings.solid import SpokeRegion
from geometry.shape.curve import Array, Flags, Indices, Path
from geometry.shape.section import ZONES, Zone
from geometry.strength.mesh import mesh_of
from geometry.strength.metals import METALS
from geometry.strength.sizes import SizeRule
from geometry.strength.spoked import smear_of
from geometry.strength.wheel import Body

METAL = METALS[0]
E, NU = METAL.elastic_mpa, METAL.poisson
#: Half of a lateral step of the grid from -1 to 1 that the spoke takes.
_HALF = 0.5


@dataclass(frozen=True)
class Made:
    """A wheel of plain parts, mm: mounting face at z = 0, rim of one thickness with two flanges.

    Attributes:
        count: of spokes. width: of a spoke at hub and rim. depth: along z. back: z of a spoke's back at the
            hub; dish: how much farther outboard it is at the rim.
    """

    count: int
    width: tuple[float, float]
    depth: float = 24.0
    back: float = 24.0
    dish: float = 0.0
    bore: float = 36.0
    hub: float = 76.0
    rim: float = 206.0
    wall: float = 8.0
    lip: float = 24.0
    inner: float = -160.0
    outer: float = 84.0

    @property
    def face(self) -> float:
        """z of the hub's and of the spokes' outboard face at the hub."""
        return self.back + self.depth

    def rise(self, r: Array) -> Array:
        """Return how far the spoke's middle has come outboard at radii."""
        return np.asarray(self.dish * np.clip((r - self.hub) / (self.rim - self.hub), 0.0, 1.0))

    @cached_property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """(z, r), counterclockwise."""
        back, face = self.back, self.face
        inner, outer, top = self.inner, self.outer, self.rim + self.wall
        return (
            (0.0, self.bore), (face, self.bore), (face, self.hub), (face + self.dish, self.rim),
            (outer, self.rim), (outer, top + self.lip), (outer - self.wall, top + self.lip),
            (outer - self.wall, top), (inner + self.wall, top), (inner + self.wall, top + self.lip),
            (inner, top + self.lip), (inner, self.rim), (back + self.dish, self.rim), (back, self.hub),
            (0.0, self.hub),
        )  # fmt: skip

    @property
    def spokes(self) -> SpokeRegion:
        """As a section names them."""
        widths = ((self.hub, self.width[0]), (self.rim, self.width[1]))
        r = self.rim - 0.01
        cut = (self.back + self.dish - 3.0, r), (self.face + self.dish + 3.0, r)
        return SpokeRegion(self.count, widths, self.hub, *cut)

    def body(self, rule: SizeRule) -> Body:
        """Return its half-section as the program has it, spokes smeared."""
        path = Path.closed(self.corners)
        mesh = mesh_of(path, rule)
        middle = mesh.points[mesh.edges[:, 2]]
        names = [self._zone(*p) for p in middle.tolist()]
        zone = np.array([ZONES.index(name) for name in names], dtype=np.intp)
        return Body(mesh, METAL, smear_of(path, self.spokes), zone, np.zeros_like(zone))

    def _zone(self, z: float, r: float) -> Zone:
        if abs(z) < 1e-6 and r < self.hub:
            return Zone.HUB_PAD
        if r > self.rim + self.wall - 1e-6 and z < self.inner + self.wall + 1e-6:
            return Zone.INNER_LIP
        return Zone.BARREL

    def held(self, z: Array, r: Array) -> Flags:
        """Return which places of its skin the test's ring holds: as `Body.flange`."""
        top, tol = self.rim + self.wall, 1e-6
        skin = (np.abs(z - self.inner) < tol) | (np.abs(z - self.inner - self.wall) < tol)
        skin |= np.abs(r - top - self.lip) < tol
        return np.asarray(skin & (z < self.inner + self.wall + tol) & (r > top + self.lip / 2.0 - tol))


@dataclass(frozen=True)
class Grid:
    """Steps of the bricks: along the spoke, through its depth and half its width, through the rim's wall."""

    along: int
    depth: int
    half: int
    beside: int
    wall: int
    flat: int

    def halved(self) -> Grid:
        """Return it twice as fine."""
        return Grid(*(2 * n for n in (self.along, self.depth, self.half, self.beside, self.wall, self.flat)))


#: Runs in seconds, and the one that is twice as fine in minutes.
COARSE = Grid(5, 1, 1, 1, 1, 5)


def _steps(*parts: tuple[float, float, int]) -> Array:
    lines = [np.linspace(a, b, n + 1) for a, b, n in parts]
    return np.unique(np.round(np.concatenate(lines), 9))


@dataclass(frozen=True)
class Cut:
    """What the rim hands to the spoke at theta = 0 across a cylinder, at (z, r) in its middle.

    Attributes:
        axial, radial, along: N along z, away from the axle, with theta.
        moment, about_z, about_r: N mm as in geometry.strength.spokes.Stiff.
    """

    r: float
    z: float
    axial: float
    radial: float
    moment: float
    along: float
    about_z: float
    about_r: float


def _three(nodes: Indices) -> Indices:
    """Return (n, 3 k) numbers of the displacements of (n, k) nodes, or (n, 3) of (n,)."""
    if nodes.ndim == 1:
        return np.asarray(nodes[:, None] * 3 + np.arange(3))
    return np.asarray((nodes[:, :, None] * 3 + np.arange(3)).reshape(len(nodes), -1))


def _stiffness(basis: Any) -> Array:
    """Return (e, 60, 60) stiffness of bricks from scikit-fem's shape functions and integration."""
    slope = np.array([b[0].grad for b in basis.basis])
    slide = E / (2.0 * (1.0 + NU))
    swell = slide * 2.0 * NU / (1.0 - 2.0 * NU)
    pairs = np.einsum("aieq,bjeq,eq->eaibj", slope, slope, basis.dx, optimize=True)
    out = swell * pairs + slide * pairs.transpose(0, 1, 4, 3, 2)
    out += slide * np.einsum("eakbk,ij->eaibj", pairs, np.eye(3))
    return np.asarray(out.reshape(len(pairs), 60, 60))


def difference_of_forms() -> float:
    """Return by how much a bent brick's stiffness is off that of scikit-fem's own form, as a share."""
    skfem = pytest.importorskip("skfem", reason="scikit-fem (group oracle) is needed")
    from skfem.models.elasticity import lame_parameters, linear_elasticity

    flat = skfem.MeshHex2.from_mesh(skfem.MeshHex())
    z, r, turn = flat.doflocs + np.array([[0.0], [2.0], [0.0]])
    mesh = skfem.MeshHex2(np.vstack([z, r * np.cos(turn), r * np.sin(turn)]), flat.t)
    plain = skfem.Basis(mesh, skfem.ElementHexS2(), intorder=4)
    basis = skfem.Basis(mesh, skfem.ElementVector(skfem.ElementHexS2()), intorder=4)
    other = linear_elasticity(*lame_parameters(E, NU)).assemble(basis).toarray()
    own = np.concatenate([basis.nodal_dofs.T, basis.edge_dofs.T])[plain.element_dofs[:, 0]].ravel()
    return float(np.abs(_stiffness(plain)[0] - other[np.ix_(own, own)]).max() / np.abs(other).max())


class SpokedSolid:
    """A sector of a wheel as bricks."""

    def __init__(self, made: Made, grid: Grid) -> None:
        self.made, skfem = made, pytest.importorskip("skfem", reason="scikit-fem (group oracle) is needed")
        m = made
        top = m.rim + m.wall
        s = _steps(
            (m.inner, m.inner + m.wall, grid.wall), (m.inner + m.wall, 0.0, grid.flat),
            (0.0, m.back, grid.depth),
            (m.back, m.face, grid.depth), (m.face, m.outer - m.wall - m.dish, grid.wall),
            (m.outer - m.wall - m.dish, m.outer - m.dish, grid.wall),
        )  # fmt: skip
        t = _steps(
            (m.bore, m.hub, grid.depth), (m.hub, m.rim, grid.along), (m.rim, top, grid.wall),
            (top, top + m.lip / 2.0, grid.wall), (top + m.lip / 2.0, top + m.lip, grid.wall),
        )  # fmt: skip
        u = _steps((-1.0, -_HALF, grid.beside), (-_HALF, _HALF, 2 * grid.half), (_HALF, 1.0, grid.beside))
        box = skfem.MeshHex.init_tensor(s, t, u)
        a, b, c = box.p[:, box.t].mean(axis=1)
        hub = (b < m.hub) & (a > 0.0) & (a < m.face)
        spoke = (b > m.hub) & (b < m.rim) & (a > m.back) & (a < m.face) & (np.abs(c) < _HALF)
        rim = (b > m.rim) & (b < top)
        lip = (b > top) & ((a < m.inner + m.wall) | (a > m.outer - m.wall - m.dish))
        flat = skfem.MeshHex2.from_mesh(box.remove_elements(np.flatnonzero(~(hub | spoke | rim | lip))))
        a, b, c = flat.doflocs
        turn = self._turn(b, c)
        # Along the dish the grid is sheared: the inner end of the rim stays where it is.
        z = a + m.rise(b) * np.where(a < 0.0, 1.0 - a / m.inner, 1.0)
        z = np.where(b < m.rim, a + m.rise(b), z)
        mesh = skfem.MeshHex2(np.vstack([z, b * np.cos(turn), b * np.sin(turn)]), flat.t)
        basis = skfem.Basis(mesh, skfem.ElementHexS2(), intorder=4)
        self.mesh, self.at = mesh, basis.doflocs.T
        z, x, y = basis.doflocs
        self.z, self.r, self.turn = z, np.hypot(x, y), np.arctan2(y, x)
        self.bricks = basis.element_dofs.T
        self.local = _stiffness(basis)
        self.centre = self.r[self.bricks].mean(axis=1)

    @property
    def size(self) -> int:
        """How many displacements there are: along z, x and y at each node in turn."""
        return 3 * len(self.at)

    def gathered(self) -> Any:
        """Return the stiffness of all bricks."""
        own = _three(self.bricks)
        rows = np.repeat(own, own.shape[1], axis=1).ravel()
        columns = np.tile(own, (1, own.shape[1])).ravel()
        return coo_matrix((self.local.ravel(), (rows, columns)), shape=(self.size, self.size)).tocsr()

    def _turn(self, r: Array, u: Array) -> Array:
        m, sector = self.made, math.pi / self.made.count
        inside = np.clip(r, m.hub, m.rim)
        width = np.interp(inside, [m.hub, m.rim], m.width)
        edge = np.arcsin(width / (2.0 * inside))
        on = np.arcsin(np.clip(width * u / _HALF / (2.0 * inside), -1.0, 1.0))
        off = np.sign(u) * (edge + (np.abs(u) - _HALF) / (1.0 - _HALF) * (sector - edge))
        return np.asarray(np.where(np.abs(u) <= _HALF, on, off))

    def linked(self, phase: int) -> tuple[Any, Flags]:
        """Return (all, all) matrix that makes the far side follow the near one, and which are far."""
        angle = 2.0 * math.pi / self.made.count
        tol = 1e-6
        near = np.flatnonzero(np.abs(self.turn + angle / 2.0) < tol)
        far = np.flatnonzero(np.abs(self.turn - angle / 2.0) < tol)
        order = [k[np.lexsort((np.round(self.r[k], 5), np.round(self.z[k], 5)))] for k in (near, far)]
        near, far = order
        assert np.abs(self.z[near] - self.z[far]).max() < 1e-4
        assert np.abs(self.r[near] - self.r[far]).max() < 1e-4
        cos, sin = math.cos(angle), math.sin(angle)
        spin = np.array([[1.0, 0.0, 0.0], [0.0, cos, -sin], [0.0, sin, cos]]) * np.exp(1j * phase * angle)
        slave = np.zeros(self.size, dtype=np.bool_)
        slave[_three(far)] = True
        own = np.flatnonzero(~slave)
        rows = np.repeat(_three(far), 3, axis=1).ravel()
        columns = np.tile(_three(near), (1, 3)).ravel()
        values = np.tile(spin.ravel(), len(far))
        link = csr_matrix(
            (
                np.concatenate([np.ones(len(own)), values]),
                (np.concatenate([own, rows]), np.concatenate([own, columns])),
            ),
            shape=(self.size, self.size),
        )
        return link, slave

    def solve(self, phase: int, given: Any, held: Flags, load: Any = None) -> Any:
        """Return (k, all) complex displacements under (k, all) given ones and forces of the sector."""
        link, slave = self.linked(phase)
        free = np.flatnonzero(~slave & ~held)
        reduced = (link.conj().T @ self.gathered() @ link).tocsr()
        factor = splu(reduced[free][:, free].tocsc(), "MMD_AT_PLUS_A", options={"SymmetricMode": True})
        out = np.zeros_like(given)
        for k, way in enumerate(given):
            whole = np.where(held & ~slave, way, 0.0)
            push = -(reduced @ whole)
            if load is not None:
                push = push + link.conj().T @ load[k]
            whole[free] = factor.solve(push[free])
            out[k] = link @ whole
        return out

    def pressed(self, harmonic: int) -> Any:
        """Return (all,) displacements of that phase under 1 MPa times cos(harmonic theta), the pad bolted.

        The rim's whole outside between its flanges is pressed towards the axle.
        """
        import skfem

        radius = np.hypot(self.mesh.p[1], self.mesh.p[2])
        skin = self.mesh.boundary_facets()
        on = (np.abs(radius[self.mesh.facets[:, skin]] - self.made.rim - self.made.wall) < 1e-4).all(axis=0)
        facets = skfem.FacetBasis(self.mesh, skfem.ElementHexS2(), facets=skin[on], intorder=4)
        _, x, y = np.asarray(facets.global_coordinates())
        wave = np.exp(1j * harmonic * np.arctan2(y, x)) * facets.dx / np.hypot(x, y)
        load = np.zeros((1, self.size), dtype=complex)
        for k, nodes in enumerate(facets.element_dofs):
            shape = np.asarray(facets.basis[k][0])
            for axis, way in ((1, x), (2, y)):
                np.add.at(load[0], nodes * 3 + axis, -(shape * wave * way).sum(axis=1))
        held = np.zeros(self.size, dtype=np.bool_)
        held[_three(self._pad)] = True
        return self.solve(harmonic, np.zeros_like(load), held, load)[0]

    @property
    def _pad(self) -> Indices:
        return np.flatnonzero((np.abs(self.z) < 1e-6) & (self.r < self.made.hub + 1e-6))

    def bent(self, moment_nmm: float) -> Any:
        """Return (all,) displacements of phase 1 under a pure moment on the hub pad; sign as `wheel.bent`."""
        pad = self._pad
        ring = np.flatnonzero(self.made.held(self.z, self.r))
        held = np.zeros(self.size, dtype=np.bool_)
        held[_three(pad)] = held[_three(ring)] = True
        given = np.zeros((2, self.size), dtype=complex)
        for k, (axial, radial, along) in enumerate(
            (
                (self.r[pad], -self.z[pad], -1j * self.z[pad]),
                (0.0 * self.r[pad], 1.0 + 0.0 * self.z[pad], 1j + 0.0 * self.z[pad]),
            )
        ):
            turn = np.exp(1j * self.turn[pad])
            cos, sin = np.cos(self.turn[pad]), np.sin(self.turn[pad])
            way = np.stack([axial, radial * cos - along * sin, radial * sin + along * cos], axis=1)
            given[k, _three(pad)] = way * turn[:, None]
        moved = self.solve(1, given, held)
        # Work over the whole turn: half of the sectors' number times that of one.
        works = self.made.count / 2.0 * np.real(np.conj(moved) @ (self.gathered() @ moved.T))
        mix = np.linalg.solve(works, np.array([moment_nmm, 0.0]))
        return np.asarray(mix @ moved)

    def cuts(self, moved: Any, radii: Sequence[float]) -> list[Cut]:
        """Return what crosses grid lines of the spoke at theta = 0."""
        out = []
        for r in radii:
            inner = np.flatnonzero(self.centre < r)
            push = (self.local[inner] @ moved[_three(self.bricks[inner])][..., None])[..., 0]
            force = np.zeros(self.size)
            np.add.at(force, _three(self.bricks[inner]), np.real(push))
            on = np.flatnonzero(np.abs(self.r - r) < 1e-4)
            f, (z, x, y) = force[_three(on)], self.at[on].T
            mid = self.made.back + self.made.depth / 2.0 + float(self.made.rise(np.array(r)))
            moment = float((f[:, 0] * (x - r) - f[:, 1] * (z - mid)).sum())
            about_z = float((f[:, 2] * (x - r) - f[:, 1] * y).sum())
            about_r = float((f[:, 0] * y - f[:, 2] * (z - mid)).sum())
            axial, radial, along = f.sum(axis=0).tolist()
            out.append(Cut(r, mid, axial, radial, moment, along, about_z, about_r))
        return out

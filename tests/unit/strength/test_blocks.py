"""Structured half-sections for the tests of strength, and that they are what they say."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np
import pytest

from geometry.shape.curve import Array, Flags, Indices
from geometry.strength.elements import GAUSS, WEIGHTS, fields, shapes
from geometry.strength.harmonic import edge_area_mm2, edge_places
from geometry.strength.mesh import Mesh

#: Sides of a block, as `Mesh.piece` names them.
BOTTOM, RIGHT, TOP, LEFT = range(4)

#: Both degrees of freedom and Cartesian places of the square, taken to the triangle: degree 9 and more.
_LINE = np.polynomial.legendre.leggauss(6)
_T, _W = (_LINE[0] + 1.0) / 2.0, _LINE[1] / 2.0
#: A rule of 36 points on the reference triangle that shares nothing with the program's (S. Duffy's map).
FINE: Array = np.array([[a, b * (1.0 - a)] for a in _T for b in _T])
FINE_WEIGHTS: Array = np.array([wa * wb * (1.0 - a) for a, wa in zip(_T, _W, strict=True) for wb in _W])


def block(
    z: tuple[float, float],
    r: tuple[float, float],
    count: tuple[int, int],
    bend: Callable[[Array], Array] | None = None,
    jitter: float = 0.0,
) -> Mesh:
    """A rectangle of 2 x count triangles; all nodes taken through `bend`, inner corners shaken at random.

    Args:
        z: its ends along the axle.
        r: its inner and outer radius, mm.
        count: cells along z and r.
        bend: takes (n, 2) places to others; edges between them are then curved.
        jitter: share of a cell by which inner corners are moved at random.
    """
    n, m = count
    grid = np.stack(np.meshgrid(np.linspace(0, 1, n + 1), np.linspace(0, 1, m + 1), indexing="ij"), axis=-1)
    if jitter:
        shake = np.random.default_rng(7).uniform(-jitter, jitter, grid.shape) / np.array(count)
        grid[1:-1, 1:-1] += shake[1:-1, 1:-1]
    corner = grid.reshape(-1, 2) * (z[1] - z[0], r[1] - r[0]) + (z[0], r[0])
    at = np.arange((n + 1) * (m + 1)).reshape(n + 1, m + 1)
    a, b, c, d = at[:-1, :-1].ravel(), at[1:, :-1].ravel(), at[1:, 1:].ravel(), at[:-1, 1:].ravel()
    even = np.add.outer(np.arange(n), np.arange(m)).ravel() % 2 == 0
    first = np.where(even[:, None], np.column_stack([a, b, c]), np.column_stack([a, b, d]))
    second = np.where(even[:, None], np.column_stack([a, c, d]), np.column_stack([b, c, d]))
    triangles = np.vstack([first, second])
    rings = [at[:, 0], at[-1, :], at[::-1, -1], at[0, ::-1]]
    ends = np.vstack([np.column_stack([s[:-1], s[1:]]) for s in rings])
    piece = np.concatenate([np.full(len(s) - 1, k) for k, s in enumerate(rings)])
    return _with_middles(corner, triangles, ends, piece, bend)


def _with_middles(
    corner: Array, triangles: Indices, ends: Indices, piece: Indices, bend: Callable[[Array], Array] | None
) -> Mesh:
    pairs = np.sort(triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    sides, of = np.unique(pairs, axis=0, return_inverse=True)
    points = np.vstack([corner, corner[sides].mean(axis=1)])
    number = {(int(i), int(j)): len(corner) + k for k, (i, j) in enumerate(sides)}
    middle = np.array([number[min(i, j), max(i, j)] for i, j in ends.tolist()])
    if bend is not None:
        points = bend(points)
    nothing = np.zeros(len(ends))
    return Mesh(
        points,
        np.hstack([triangles, len(corner) + of.reshape(-1, 3)]),
        np.column_stack([ends, middle]),
        piece,
        nothing,
        piece,
        nothing,
        np.ones(len(ends), dtype=np.bool_),
        len(corner),
        sides,
    )


def side(mesh: Mesh, *names: int) -> Indices:
    """Rows of mesh.edges on these sides."""
    return np.flatnonzero(np.isin(mesh.piece, names))


def on(mesh: Mesh, *names: int) -> Indices:
    """Nodes on these sides."""
    return np.unique(mesh.edges[side(mesh, *names)])


def held(mesh: Mesh, nodes: Indices, *parts: int) -> Flags:
    """(n, 3) True for these parts (0 z, 1 r, 2 theta; all by default) of these nodes."""
    out = np.zeros((len(mesh.points), 3), dtype=np.bool_)
    for part in parts or (0, 1, 2):
        out[nodes, part] = True
    return out


def nearest(mesh: Mesh, z: float, r: float) -> int:
    """The node nearest to a place."""
    return int(np.hypot(*(mesh.points - (z, r)).T).argmin())


def arched(points: Array) -> Array:
    """A smooth map that curves every edge of a block near z 0..40, r 100..140."""
    z, r = points.T
    return np.column_stack([z + 3.0 * np.sin(r / 15.0), r + 3.0 * np.sin(z / 12.0) + 0.01 * z * (r - 120.0)])


def orders(errors: Sequence[float]) -> list[float]:
    """Observed orders of errors on meshes each twice as fine as the one before."""
    return [math.log2(a / b) for a, b in pairwise(errors)]


def body_force(mesh: Mesh, density: Callable[[Array], Array]) -> Array:
    """(n, 3) nodal forces in N of a force in N/mm3 along z, r, theta, free of theta, by the 36-point rule."""
    at = fields(mesh.points, mesh.triangles, FINE)
    n = shapes(FINE)
    place = np.einsum("mk,ekj->emj", n, mesh.points[mesh.triangles])
    pull = density(place.reshape(-1, 2)).reshape(*place.shape[:2], 3)
    weight = at.area * at.r * FINE_WEIGHTS * 2.0 * math.pi
    out = np.zeros((len(mesh.points), 3))
    np.add.at(out, mesh.triangles, np.einsum("em,mk,emj->ekj", weight, n, pull))
    return out


@pytest.mark.parametrize("jitter", [0.0, 0.3])
def test_a_block_has_its_volume_and_the_area_of_its_skin(jitter: float) -> None:
    """Rings of r 100 to 140, 40 wide: closed forms of a tube."""
    mesh = block((0.0, 40.0), (100.0, 140.0), (5, 4), jitter=jitter)
    at = fields(mesh.points, mesh.triangles, GAUSS)
    volume = float((at.area * at.r * WEIGHTS).sum()) * 2.0 * math.pi
    assert volume == pytest.approx(math.pi * (140.0**2 - 100.0**2) * 40.0, rel=1e-12)
    flat = math.pi * (140.0**2 - 100.0**2)
    wanted = [2 * math.pi * 100 * 40, flat, 2 * math.pi * 140 * 40, flat]
    for name, area in enumerate(wanted):
        assert float(edge_area_mm2(mesh, side(mesh, name)).sum()) == pytest.approx(area, rel=1e-12)


def test_normals_of_a_block_point_out_of_the_metal() -> None:
    mesh = block((0.0, 40.0), (100.0, 140.0), (3, 3))
    for name, out in ((BOTTOM, (0, -1)), (RIGHT, (1, 0)), (TOP, (0, 1)), (LEFT, (-1, 0))):
        _, normal = edge_places(mesh, side(mesh, name))
        np.testing.assert_allclose(
            normal, np.broadcast_to(np.array(out, dtype=float), normal.shape), atol=1e-12
        )


def test_the_fine_rule_is_exact_to_degree_ten() -> None:
    """Integral of x^a y^b over the triangle: a! b! / (a + b + 2)!."""
    for a in range(11):
        for b in range(11 - a):
            exact = math.factorial(a) * math.factorial(b) / math.factorial(a + b + 2)
            found = float((FINE_WEIGHTS * FINE[:, 0] ** a * FINE[:, 1] ** b).sum())
            assert found == pytest.approx(exact, rel=1e-12)

"""Meshes of random sections, of a section that is dragged, and what halving them changes."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse import coo_matrix, csc_matrix, diags
from scipy.sparse.linalg import splu

from geometry.errors import GeometryError
from geometry.shape.curve import Array, Indices, Path
from geometry.shape.section import ZONES, Outline, Zone, build
from geometry.strength.elements import GAUSS, WEIGHTS, fields
from geometry.strength.harmonic import at_angles, von_mises
from geometry.strength.loads import Clamp
from geometry.strength.mesh import LEAST_CORNER_DEG, LEAST_FLATNESS, Mesh, mesh_of, moved
from geometry.strength.metals import METALS
from geometry.strength.rim_loads import seat_load
from geometry.strength.sizes import PREVIEW, STUDY, SizeRule
from geometry.strength.wheel import Body, bent, body_of
from tests.support.example import wheel
from tests.support.sections import random_outline
from tests.support.wall_bodies import KINDS, random_body

COARSE = SizeRule(least_mm=2.0, most_mm=14.0)


def check_mesh(mesh: Mesh, path: Path, area_within: float = 2e-3) -> None:
    """Quality as stated; the skin's nodes on the outline; the area of the section, without gap or overlap."""
    assert np.isfinite(mesh.points).all()
    assert mesh.corner_deg.min() >= LEAST_CORNER_DEG
    assert mesh.flatness.min() > 0.0
    np.testing.assert_allclose(mesh.corner_deg.sum(axis=1), 180.0, atol=1e-9)
    at = fields(mesh.points, mesh.triangles, GAUSS)
    assert at.area.min() > 0.0
    area = float((at.area * WEIGHTS).sum())
    # Parabolas through three points of an arc differ from it; edges that run over smooth joints too.
    assert area == pytest.approx(path.area, rel=area_within)
    np.testing.assert_allclose(
        path.at(mesh.start_piece, mesh.start_share), mesh.points[mesh.edges[:, 0]], atol=1e-9
    )
    curved = mesh.curved
    np.testing.assert_allclose(
        path.at(mesh.piece[curved], mesh.share[curved]), mesh.points[mesh.edges[curved, 2]], atol=1e-9
    )
    # Every inner edge has two triangles, every edge of the skin one.
    pairs = np.sort(mesh.triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    _, count = np.unique(pairs, axis=0, return_counts=True)
    assert set(count.tolist()) <= {1, 2}
    assert (count == 1).sum() == len(mesh.edges)
    assert np.unique(mesh.triangles).size == len(mesh.points)


def met_or_refused(outline: Outline, rule: SizeRule, area_within: float = 2e-3) -> bool:
    """True for a mesh that holds; False for a refusal that names a place on the section."""
    mesh = refused = None
    try:
        mesh = mesh_of(outline.path, rule)
    except GeometryError as error:
        refused = error
    if refused is not None:
        assert refused.place is not None
        z, r = refused.place
        low_z, high_z, low_r, high_r = outline.path.bounds
        assert low_z - 1.0 <= z <= high_z + 1.0
        assert low_r - 1.0 <= r <= high_r + 1.0
        assert f"z {z:.1f}" in str(refused) or f"z {z:.2f}" in str(refused)
        return False
    assert mesh is not None
    check_mesh(mesh, outline.path, area_within)
    return True


@settings(max_examples=25)
@given(st.integers(0, 2**32 - 1))
def test_random_wheels_are_meshed(seed: int) -> None:
    """Wheels as they are drawn: each of these is meshed, none refused."""
    outline = random_outline(np.random.default_rng(seed))
    assert met_or_refused(outline, COARSE)


@pytest.mark.parametrize("kind", [k for k in KINDS if k != "polygon"])
def test_hard_bodies_are_meshed_or_refused_with_a_place(kind: str) -> None:
    """Steps, stars and hubs of no wheel's shape: at least a third of each kind is meshed."""
    met = [met_or_refused(random_body(np.random.default_rng(seed), kind), PREVIEW, 0.02) for seed in range(6)]
    assert sum(met) >= 2


@pytest.mark.parametrize("rule", [PREVIEW, STUDY], ids=["preview", "study"])
def test_mesh_of_the_example_wheel(rule: SizeRule) -> None:
    outline = example()
    mesh = mesh_of(outline.path, rule)
    check_mesh(mesh, outline.path)
    at = fields(mesh.points, mesh.triangles, GAUSS)
    polygon = shapely.Polygon(outline.path.flattened(1e-4))
    assert float((at.area * WEIGHTS).sum()) == pytest.approx(polygon.area, rel=2e-4)
    assert np.median(mesh.corner_deg.min(axis=1)) > 30.0


@cache
def example() -> Outline:
    found = build(wheel().section)
    assert isinstance(found, Outline)
    return found


class Follower:
    """Interior corners that follow the skin by the graph's Laplacian, as a drag does."""

    def __init__(self, mesh: Mesh) -> None:
        skin, n = len(mesh.edges), mesh.corners
        a, b = mesh.sides.T
        near = coo_matrix((np.ones(2 * len(a)), (np.r_[a, b], np.r_[b, a])), (n, n)).tocsc()
        degree = np.asarray(near.sum(axis=1)).ravel()
        self.to_skin: csc_matrix = near[skin:, :skin]
        self.inner = splu((diags(degree[skin:]) - near[skin:, skin:]).tocsc())

    def follow(self, mesh: Mesh, path: Path) -> Mesh:
        skin = len(mesh.edges)
        step = path.at(mesh.start_piece, mesh.start_share) - mesh.points[:skin]
        return moved(mesh, path, mesh.points[skin : mesh.corners] + self.inner.solve(self.to_skin @ step))


@pytest.mark.parametrize("follows", [True, False], ids=["interior follows", "interior stays"])
def test_a_drag_of_500_steps(follows: bool) -> None:
    """One vertex after another goes out by up to 5 mm and comes back, with a shaking hand, in 25 steps.

    Each step holds its quality or is meshed anew, never NaN; a wall that is dragged to nothing may be refused
    (with its place), and a shape with a fault is let go by; the first is rare.
    """
    rng = np.random.default_rng(20)
    whole = wheel().section
    mesh, last = mesh_of(example().path, COARSE), example()
    follower = Follower(mesh)
    kept = anew = faulty = 0
    refused: list[GeometryError] = []
    free = np.arange(whole.locked, len(whole.vertices))
    for step in range(500):
        if step % 25 == 0:
            k, far = int(rng.choice(free)), rng.uniform(-5.0, 5.0, 2)
        way = far * (1.0 - abs(step % 25 - 12) / 12.5) + rng.normal(0.0, 0.03, 2)
        vertices = list(whole.vertices)
        vertices[k] = vertices[k].moved(float(way[0]), float(way[1]))
        outline = build(replace(whole, vertices=tuple(vertices)))
        if not isinstance(outline, Outline):
            faulty += 1
            continue
        on = None
        if len(outline.path) == len(last.path) and np.array_equal(outline.path.is_arc, last.path.is_arc):
            interior = mesh.points[len(mesh.edges) : mesh.corners]
            on = follower.follow(mesh, outline.path) if follows else moved(mesh, outline.path, interior)
        if on is not None and good(on):
            kept += 1
        else:
            try:
                on = mesh_of(outline.path, COARSE)
            except GeometryError as error:
                refused.append(error)
                continue
            anew, follower = anew + 1, Follower(on)
        mesh, last = on, outline
        assert np.isfinite(mesh.points).all()
        assert good(mesh) or mesh.flatness.min() > 0.0
        assert mesh.corner_deg.min() >= LEAST_CORNER_DEG
        check_mesh(mesh, outline.path)
    assert len(refused) <= 2
    assert all(e.place is not None for e in refused)
    assert kept + anew + faulty + len(refused) == 500
    assert kept >= 380
    assert 1 <= anew < 50


def good(mesh: Mesh) -> bool:
    """What a preview asks of a mesh that it keeps."""
    least = mesh.corner_deg.min() >= LEAST_CORNER_DEG
    return bool(least and mesh.flatness.min() >= LEAST_FLATNESS / 2.0)


def _shown(rule: SizeRule) -> dict[str, Array]:
    """Displacement of the inner seat, and stress amid long straight skin, in rotating bending and rolling."""
    body = body_of(example(), METALS[0], None, rule)
    bend = bent(body, 3.0e6, body.pattern(Clamp.INNER_FLANGE))
    load = {n: f for n, f in seat_load(body, 16_922.0, 40.0).items() if n <= 6}
    roll = body.pattern(Clamp.HUB_PAD).solve(body.parts, load)
    angles = np.radians(np.arange(0.0, 181.0, 15.0))
    nodes, share = _straight(body)
    out = {}
    for name, found in (("bending", bend), ("rolling", roll)):
        mises = von_mises(at_angles({n: body.recovery.stress(n, u) for n, u in found.items()}, angles)).max(
            axis=0
        )
        out[f"{name}, stress"] = (mises[nodes] * share).sum(axis=1)
        moved_by = sum((u[nodes] * share[..., None]).sum(axis=1) for n, u in found.items())
        out[f"{name}, displacement"] = np.asarray(moved_by)[:, :2].ravel()
    return out


def _straight(body: Body) -> tuple[Indices, Array]:
    """Edges of the skin that hold the middles of long straight pieces: nodes and what each counts there."""
    shape, mesh = example(), body.mesh
    zones = [ZONES.index(z) for z in (Zone.BARREL, Zone.SPOKE_BACK, Zone.SPOKE_FACE, Zone.WELL)]
    long = np.flatnonzero(~shape.path.is_arc & (shape.path.lengths > 12.0) & np.isin(shape.zone, zones))
    place = shape.path.at(long, np.full(len(long), 0.5))
    start, way = mesh.points[mesh.edges[:, 0]], mesh.points[mesh.edges[:, 1]] - mesh.points[mesh.edges[:, 0]]
    from_start = place[:, None] - start
    t = np.clip((from_start * way).sum(axis=2) / (way**2).sum(axis=1), 0.0, 1.0)
    off = np.hypot(*(from_start - t[..., None] * way).transpose(2, 0, 1))
    edge = off.argmin(axis=1)
    assert off.min(axis=1).max() < 1e-6
    u = t[np.arange(len(long)), edge]
    return mesh.edges[edge], np.column_stack([(1 - u) * (1 - 2 * u), u * (2 * u - 1), 4 * u * (1 - u)])


def test_halving_the_mesh_changes_little() -> None:
    """Study mesh against one twice as fine: displacement, and stress amid straight skin, under 2 %.

    Displacement over the greatest of its kind; stress place by place.
    """
    once, twice = _shown(STUDY), _shown(STUDY.halved())
    for name, value in once.items():
        scale = twice[name] if name.endswith("stress") else np.abs(twice[name]).max()
        assert len(value) >= 8
        assert np.abs((value - twice[name]) / scale).max() < 0.02


def test_halved_is_twice_as_fine_in_every_bound() -> None:
    rule, fine = PREVIEW, PREVIEW.halved()
    assert fine.across == 2.0 * rule.across
    for name in ("fillet_deg", "round_deg", "least_mm", "most_mm"):
        assert getattr(fine, name) == getattr(rule, name) / 2.0
    assert fine.grade == rule.grade, "millimetres a millimetre do not change with the size"

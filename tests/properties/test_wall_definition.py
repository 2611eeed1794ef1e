"""Walls against their definition, by brute force: largest discs in the metal, two contacts far apart."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from geometry.readings.chords import along
from geometry.readings.wall import wall_at, walls
from geometry.readings.wall_search import least_readings
from geometry.readings.wall_skin import skin_of
from geometry.shape.curve import Array, Indices
from geometry.shape.section import ZONES, Outline, Section, build
from geometry.tolerances import WALL_CONTACT_DEG
from tests.support.brute_wall import Boundary, is_wall
from tests.support.sections import random_section
from tests.support.wall_bodies import KINDS, random_body

PLACES = 100
BODIES = {"wheel": 20, **dict.fromkeys(KINDS, 8)}
EVERY_BODY = [(kind, seed) for kind, count in BODIES.items() for seed in range(count)]


def stations(rng: np.random.Generator, body: Outline) -> tuple[Indices, Array, Array, Array]:
    """Return piece, fraction, place and inward normal of random places, spread evenly over the skin."""
    skin = np.flatnonzero(body.skin)
    length = body.path.lengths[skin]
    piece, t = rng.choice(skin, PLACES, p=length / length.sum()), rng.uniform(size=PLACES)
    ahead = body.path.tangents(piece, t)
    return piece, t, body.path.at(piece, t), np.column_stack([-ahead[:, 1], ahead[:, 0]])


@pytest.mark.parametrize(("kind", "seed"), EVERY_BODY)
def test_disc_stays_in_the_metal_and_a_larger_one_does_not(kind: str, seed: int) -> None:
    rng = np.random.default_rng(seed)
    body = random_body(rng, kind)
    piece, t, place, normal = stations(rng, body)
    rho = wall_at(body, piece, t).diameter_mm / 2.0
    skin = Boundary.of(body)
    centre = place + rho[:, None] * normal
    assert np.all(skin.depth(centre) >= rho - 1e-9)
    outline = body.path.flattened(1e-5)
    halves = [outline] if body.skin.all() else [outline, outline * (1.0, -1.0)]
    metal = shapely.union_all([shapely.Polygon(half) for half in halves])
    deep = rho > 1e-3
    assert np.all(shapely.contains_xy(metal, centre[deep]))
    larger = rho + 0.005
    assert np.all(skin.depth(place + larger[:, None] * normal) < larger - 1e-12)


@pytest.mark.parametrize(("kind", "seed"), EVERY_BODY)
def test_counted_discs_have_contacts_far_apart_and_none_is_below_its_zone(kind: str, seed: int) -> None:
    rng = np.random.default_rng(seed)
    body = random_body(rng, kind)
    piece, t, place, normal = stations(rng, body)
    found = wall_at(body, piece, t)
    skin = Boundary.of(body)
    for k in range(0, PLACES, 4):
        rho = float(found.diameter_mm[k]) / 2.0
        if rho > 1e-3:
            assert is_wall(skin, place[k] + rho * normal[k], rho) == found.counted[k]
    least = np.full(len(ZONES), np.inf)
    for finding in walls(body):
        least[finding.zone] = finding.least_mm
    assert np.all(found.diameter_mm[found.counted] >= least[body.zone[piece[found.counted]]] - 1e-6)


@pytest.mark.parametrize(("kind", "seed"), EVERY_BODY)
def test_every_least_is_a_disc_in_the_metal_with_both_its_contacts(kind: str, seed: int) -> None:
    body = random_body(np.random.default_rng(seed), kind)
    skin = Boundary.of(body)
    for finding in walls(body):
        rho = finding.least_mm / 2.0
        at, across = np.array(finding.at), np.array(finding.across)
        assert np.all(skin.depth(np.array([at, across])) < 1e-6)
        nearest = skin.nearest(at[None])[0][0]
        assert nearest[np.concatenate([skin.line_zone, skin.arc_zone]) == finding.zone].min() < 1e-6
        if rho < 1e-6:
            continue
        chord = float(np.hypot(*(across - at)))
        assert chord >= 2.0 * rho * math.sin(math.radians(WALL_CONTACT_DEG / 2.0)) - 1e-6
        rise = math.sqrt(max(rho**2 - chord**2 / 4.0, 0.0))
        left = np.array([at[1] - across[1], across[0] - at[0]]) / chord
        both = np.array([(at + across) / 2.0 + side * rise * left for side in (1.0, -1.0)])
        depth = skin.depth(both)
        assert depth.max() >= rho - 1e-6
        assert finding.gauge_mm >= finding.least_mm - 1e-6
        if kind in ("wheel", "flat arcs"):
            # The gauge reading is the stretch of metal from there through the disc's centre. Elsewhere such a
            # line may run along an edge, where either answer holds.
            z, r = ((both[int(np.argmax(depth))] - at) / rho).tolist()
            ends = [high for low, high in along(body.path, finding.at, (z, r)) if low < 1e-5 and high > 1e-5]
            assert finding.gauge_mm == pytest.approx(ends[0], abs=1e-3)


@pytest.mark.parametrize("seed", range(10))
def test_renumbering_the_vertices_changes_nothing(seed: int) -> None:
    section = random_section(np.random.default_rng(seed))
    before = build(section)
    count = len(section.vertices)
    assert isinstance(before, Outline)
    expected = walls(before)
    assert expected
    for start in (1, count // 2, count - 1):
        turned = build(Section(section.vertices[start:] + section.vertices[:start]))
        assert isinstance(turned, Outline)
        for one, other in zip(expected, walls(turned), strict=True):
            assert other.zone == one.zone
            assert other.least_mm == pytest.approx(one.least_mm, abs=1e-12)
            assert other.gauge_mm == pytest.approx(one.gauge_mm, abs=1e-9)
            assert other.at == pytest.approx(one.at, abs=1e-9)
            assert other.across == pytest.approx(one.across, abs=1e-9)


@pytest.mark.parametrize("seed", range(10))
def test_mirroring_the_section_keeps_every_wall(seed: int) -> None:
    section = random_section(np.random.default_rng(seed))
    body = build(section)
    # Run backwards and mirrored: an edge's bulge and zone belong to the vertex it now leaves.
    v = section.vertices
    mirrored = build(
        Section(
            tuple(
                replace(v[k], z=-v[k].z, bulge=v[k - 1].bulge, zone=v[k - 1].zone)
                for k in reversed(range(len(v)))
            )
        )
    )
    assert isinstance(body, Outline)
    assert isinstance(mirrored, Outline)
    one, other = walls(body), walls(mirrored)
    assert [f.zone for f in other] == [f.zone for f in one]
    assert [f.least_mm for f in other] == pytest.approx([f.least_mm for f in one], abs=1e-9)


@pytest.mark.parametrize("kind", BODIES)
def test_leaving_elements_out_together_changes_no_bit(kind: str) -> None:
    rng = np.random.default_rng(7)
    for _ in range(5):
        skin = skin_of(random_body(rng, kind))
        everywhere = skin.blocks.copy()
        everywhere[:, 2] = np.inf
        assert np.array_equal(least_readings(skin), least_readings(replace(skin, blocks=everywhere)))

"""Gap and solid against OpenCASCADE (BRepExtrema, BRepGProp) on random valid sections and shapes."""

import numpy as np
import pytest
import shapely

from geometry.readings.gap import gaps
from geometry.readings.solid import BoltHoles, SpokeRegion, solid, spoke_region
from geometry.shape.curve import Path
from tests.support import occ
from tests.support.sections import random_outline, random_shape

pytestmark = pytest.mark.oracle

PAIRS = 200
CHUNK = 20


def _polygon(path: Path) -> shapely.Polygon:
    return shapely.Polygon(path.flattened(1e-4))


@pytest.mark.parametrize("seed", range(PAIRS // CHUNK))
def test_gap_of_random_sections_equals_occ_and_its_sign_the_polygons(seed: int) -> None:
    occ.needs_occ()
    rng = np.random.default_rng(seed)
    apart = 0
    for _ in range(CHUNK):
        outline = random_outline(rng)
        z, r = rng.uniform(-130.0, 120.0), rng.uniform(60.0, 190.0)
        shape = random_shape(rng, (z, r), rng.uniform(8.0, 45.0))
        found = gaps(outline.path, outline.zone, outline.skin, shape)
        least = min(f.least_mm for f in found.findings)
        shared = _polygon(outline.path).intersection(_polygon(shape)).area
        if found.touching:
            assert shared > 0.0
            assert least < 0.0
        else:
            assert shared < 1e-3
            assert least == pytest.approx(occ.distance(outline.path, shape), abs=1e-9)
            apart += 1
    assert 0 < apart < CHUNK


@pytest.mark.parametrize("seed", range(10))
def test_solid_of_random_sections_equals_the_revolve(seed: int) -> None:
    occ.needs_occ()
    rng = np.random.default_rng(1000 + seed)
    for _ in range(4):
        path = random_outline(rng).path
        ours = solid(path, 1e9)
        volume, centre, polar, diametral = occ.solid_properties(occ.revolve(path))
        assert ours.volume_mm3 == pytest.approx(volume, rel=1e-9)
        assert ours.centre_z_mm == pytest.approx(centre, abs=1e-7)
        assert ours.polar_kg_mm2 == pytest.approx(polar, rel=1e-9)
        assert ours.diametral_kg_mm2 == pytest.approx(diametral, rel=1e-8)


def test_bolt_holes_equal_drilled_holes_in_a_flat_hub() -> None:
    occ.needs_occ()
    hub = Path.closed([(0.0, 36.0), (40.0, 36.0), (40.0, 74.0), (0.0, 74.0)])
    ours = solid(hub, 1e9, holes=(BoltHoles(5, 112.0, 15.0),))
    drilled = occ.drill(occ.revolve(hub), -5.0, 45.0, 112.0, 15.0, 5)
    volume, centre, polar, diametral = occ.solid_properties(drilled)
    assert ours.volume_mm3 == pytest.approx(volume, rel=1e-6)
    assert ours.centre_z_mm == pytest.approx(centre, abs=1e-5)
    assert ours.polar_kg_mm2 == pytest.approx(polar, rel=1e-6)
    assert ours.diametral_kg_mm2 == pytest.approx(diametral, rel=1e-6)


def test_windows_equal_a_sector_revolve() -> None:
    """Spokes whose width grows with r fill a fixed share of the turn: the same as a revolve of sectors."""
    occ.needs_occ()
    rng = np.random.default_rng(7)
    for share in (0.25, 0.4, 0.75):
        path = random_outline(rng).path
        low, high, _, top = path.bounds
        spokes = SpokeRegion(
            count=6,
            widths=((0.0, 0.0), (1000.0, share * 2.0 * np.pi * 1000.0 / 6)),
            hub_circle_mm=95.0,
            shoulder_cut=(low - 5.0, 155.0),
            lip_cut=(high + 5.0, 155.0),
        )
        region = spoke_region(path, spokes)
        ours = solid(path, 1e9, spokes)
        whole, _, polar, _ = occ.solid_properties(occ.revolve(path))
        part, _, part_polar, _ = occ.solid_properties(occ.revolve(region, 2.0 * np.pi * (1.0 - share)))
        assert ours.volume_mm3 == pytest.approx(whole - part, rel=1e-9)
        axle = _about_axle(region) * (1.0 - share)
        assert ours.polar_kg_mm2 == pytest.approx(polar - axle, rel=1e-9)
        assert 0.0 < part_polar < axle
        assert top > 155.0


def _about_axle(region: Path) -> float:
    """Polar inertia over density of the whole ring of a region, by OpenCASCADE."""
    return occ.solid_properties(occ.revolve(region))[2]

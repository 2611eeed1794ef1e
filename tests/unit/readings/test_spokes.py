"""Fill by spokes: steps, slopes, and never more than the whole ring."""

from __future__ import annotations

import math

import pytest
from scipy.integrate import quad

from geometry.errors import GeometryError
from geometry.readings.solid import SpokeRegion, solid
from geometry.shape.curve import Path

DISC = Path.closed([(0.0, 40.0), (30.0, 40.0), (30.0, 200.0), (0.0, 200.0)])


def region(widths: tuple[tuple[float, float], ...], count: int = 5) -> SpokeRegion:
    return SpokeRegion(count, widths, 80.0, (-5.0, 160.0), (35.0, 160.0))


def plain(inner: float, outer: float) -> float:
    return math.pi * (outer**2 - inner**2) * 30.0


def test_spokes_of_constant_width() -> None:
    """Five spokes of 30 mm along the arc from r 80 to 160 over 30 mm depth: 5 x 30 x 80 x 30."""
    body = solid(DISC, 1e9, region(((100.0, 30.0),)))
    assert body.volume_mm3 == pytest.approx(plain(40, 80) + plain(160, 200) + 5 * 30 * 80 * 30, rel=1e-12)
    assert body.full_mass_kg == pytest.approx(plain(40, 200), rel=1e-12)


def test_a_step_and_a_slope() -> None:
    body = solid(DISC, 1e9, region(((80.0, 30.0), (110.0, 45.0), (110.0, 20.0), (150.0, 60.0))))
    part = (30 + 45) / 2 * 30 + (20 + 60) / 2 * 40 + 60 * 10
    assert body.volume_mm3 == pytest.approx(plain(40, 80) + plain(160, 200) + 5 * 30 * part, rel=1e-12)


def test_spokes_never_fill_more_than_the_ring() -> None:
    """Width 100 x 5 exceeds the turn up to r = 500 / 2 pi = 79.58, and 120 x 5 up to 95.49."""
    body = solid(DISC, 1e9, region(((0.0, 120.0), (400.0, 120.0))))
    full = 600.0 / (2.0 * math.pi)
    assert body.volume_mm3 == pytest.approx(
        plain(40, full) + plain(160, 200) + 600 * (160 - full) * 30, rel=1e-12
    )


def test_inertia_of_a_tapering_spoke() -> None:
    widths = ((80.0, 50.0), (160.0, 20.0))
    body = solid(DISC, 1e9, region(widths))
    spoke = 5 * 30 * quad(lambda r: r**2 * (50.0 - 30.0 * (r - 80.0) / 80.0), 80.0, 160.0)[0]
    rings = math.pi / 2 * 30 * (80**4 - 40**4 + 200**4 - 160**4)
    assert body.polar_kg_mm2 == pytest.approx(rings + spoke, rel=1e-9)


def test_a_cut_that_misses_the_skin_says_so() -> None:
    with pytest.raises(GeometryError, match="crosses the section 0 times"):
        solid(DISC, 2700.0, SpokeRegion(5, ((100.0, 30.0),), 80.0, (10.0, 150.0), (20.0, 150.0)))

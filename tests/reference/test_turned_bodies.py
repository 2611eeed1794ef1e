"""Solids against closed forms and published worked values.

Closed forms: mechanics tables' formulas for frustum, torus, spherical cap, bored sphere (Pappus-Guldinus);
each was checked by numerical integration when the table of checks was made. Printed values: a geometry page
(tori 10/3 and 5/2) and a calculator page (torus of 10 kg), both with three or four digits.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.readings.solid import solid, volume_mm3
from geometry.shape.curve import Path
from tests.support.sections import random_outline

UNIT = 1e9  # kg/m3 that makes mass in kg equal volume in mm3


def torus(big: float, small: float) -> Path:
    return Path.closed([(-small, big, 1.0), (small, big, 1.0)])


def arc(
    centre: tuple[float, float], radius: float, start_deg: float, end_deg: float
) -> list[tuple[float, float, float]]:
    """Rows of a counterclockwise arc in two halves, the end point left to the next row."""
    sweep = math.radians(end_deg - start_deg)
    out = []
    for k in range(2):
        a = math.radians(start_deg) + k * sweep / 2.0
        out.append(
            (centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a), math.tan(sweep / 8.0))
        )
    return out


def test_frustum() -> None:
    """R 100, r 80, h 50: V = pi h (R2 + R r + r2) / 3; I/m = 0.3 (R5 - r5) / (R3 - r3)."""
    body = solid(Path.closed([(0.0, 0.0), (50.0, 0.0), (50.0, 80.0), (0.0, 100.0)]), UNIT)
    assert body.volume_mm3 == pytest.approx(math.pi * 50 * (100**2 + 100 * 80 + 80**2) / 3, rel=1e-9)
    assert body.volume_mm3 == pytest.approx(1_277_581.012, abs=5e-4)
    assert body.centre_z_mm == pytest.approx(23.15574, abs=5e-6)
    assert body.polar_kg_mm2 / body.mass_kg == pytest.approx(4133.1148, abs=5e-5)


def test_torus() -> None:
    """R 200, a 20: V = 2 pi2 R a2; I/m = R2 + 3 a2/4; diametral I/m = R2/2 + 5 a2/8."""
    body = solid(torus(200.0, 20.0), UNIT)
    assert body.volume_mm3 == pytest.approx(2 * math.pi**2 * 200 * 20**2, rel=1e-12)
    assert body.polar_kg_mm2 / body.mass_kg == pytest.approx(40_300.0, rel=1e-12)
    assert body.diametral_kg_mm2 / body.mass_kg == pytest.approx(20_250.0, rel=1e-12)


@pytest.mark.parametrize(("big", "small", "printed"), [(10.0, 3.0, 1776.5), (5.0, 2.0, 394.8)])
def test_printed_tori(big: float, small: float, printed: float) -> None:
    assert volume_mm3(torus(big, small)) == pytest.approx(printed, abs=0.05)


def test_printed_torus_of_ten_kilograms() -> None:
    """R 1 m, a 0.5 m, 10 kg: 11.875 and 6.5625 kg m2, printed as 11.88 and 6.56."""
    body = solid(torus(1000.0, 500.0), UNIT)
    assert 10.0 * body.polar_kg_mm2 / body.mass_kg * 1e-6 == pytest.approx(11.875, rel=1e-12)
    assert 10.0 * body.diametral_kg_mm2 / body.mass_kg * 1e-6 == pytest.approx(6.5625, rel=1e-12)


def test_half_tori_add_up_to_the_torus() -> None:
    """Outer and inner half of R 200, a 20: V = 2 pi (R +- 4a/3pi) pi a2 / 2."""
    outer = volume_mm3(Path.closed([(20.0, 200.0, 1.0), (-20.0, 200.0, 0.0)]))
    inner = volume_mm3(Path.closed([(-20.0, 200.0, 1.0), (20.0, 200.0, 0.0)]))
    assert outer == pytest.approx(823_078.674, abs=5e-4)
    assert inner == pytest.approx(756_058.030, abs=5e-4)
    assert outer + inner == pytest.approx(volume_mm3(torus(200.0, 20.0)), rel=1e-12)


def test_spherical_cap() -> None:
    """R 100, h 30: V = pi h2 (3R - h) / 3; centroid 3 (2R - h)2 / (4 (3R - h)) from the sphere's centre."""
    half = math.degrees(math.acos(70.0 / 100.0))
    body = solid(
        Path.closed(
            [(70.0, 0.0), *arc((0.0, 0.0), 100.0, 0.0, half), (70.0, 100.0 * math.sin(math.radians(half)))]
        ),
        UNIT,
    )
    assert body.volume_mm3 == pytest.approx(254_469.005, abs=5e-4)
    assert body.centre_z_mm == pytest.approx(80.27778, abs=5e-6)
    assert body.polar_kg_mm2 / body.mass_kg == pytest.approx(1752.2222, abs=5e-5)


def test_bored_sphere() -> None:
    """R 100, bore 80, height 120: V = pi h3 / 6; I/m = b2 + h2/10."""
    angle = math.degrees(math.asin(0.8))
    body = solid(Path.closed([*arc((0.0, 0.0), 100.0, angle, 180.0 - angle), (-60.0, 80.0)]), UNIT)
    assert body.volume_mm3 == pytest.approx(904_778.684, abs=5e-4)
    assert body.polar_kg_mm2 / body.mass_kg == pytest.approx(7840.0, rel=1e-9)


def test_fillet_spandrel() -> None:
    """Square corner and fillet of radius 10: A = f2 (1 - pi/4); centroid 0.223368 f from the corner."""
    r0 = 50.0
    path = Path.closed([(0.0, r0), (10.0, r0, -math.tan(math.pi / 8.0)), (0.0, r0 + 10.0)])
    body = solid(path, UNIT)
    assert path.area == pytest.approx(21.460184, abs=5e-7)
    assert body.volume_mm3 == pytest.approx(2.0 * math.pi * (r0 + 2.233679) * 21.460184, rel=1e-7)


def test_stepped_ring() -> None:
    """Profile as (r, z): A 10,800; rbar 160.185185; 29.48605 kg and 1.058473 kg m2 at 2712.63066 kg/m3."""
    corners = [(40, 0), (210, 0), (210, -100), (230, -100), (230, 100), (210, 100), (210, 40), (40, 40)]
    path = Path.closed([(float(z), float(r)) for r, z in corners]).counterclockwise()
    body = solid(path, 2712.63066)
    rings = math.pi * ((210**2 - 40**2) * 40 + (230**2 - 210**2) * 200)
    assert body.area_mm2 == pytest.approx(10_800.0, rel=1e-12)
    assert body.volume_mm3 == pytest.approx(rings, rel=1e-12)
    assert body.volume_mm3 == pytest.approx(10_869_910.581, rel=1e-7)
    assert body.mass_kg == pytest.approx(29.48605, rel=1e-6)
    assert body.polar_kg_mm2 * 1e-6 == pytest.approx(1.058473, rel=1e-6)


def test_flattened_torus_is_smaller_and_near() -> None:
    """Arcs flattened to a chord error of 0.01 mm: within 0.15 % and below the exact value."""
    exact = torus(200.0, 20.0)
    flat = volume_mm3(Path.closed(exact.flattened(0.01)))
    whole = volume_mm3(exact)
    assert whole * (1 - 0.0015) < flat < whole


def test_barrel_wall_of_one_millimetre() -> None:
    """1 mm at mean r 215, 250 wide, 2700 kg/m3: 0.912 kg and 0.0422 kg m2 (0.5 %)."""
    body = solid(Path.closed([(0.0, 214.5), (250.0, 214.5), (250.0, 215.5), (0.0, 215.5)]), 2700.0)
    assert body.mass_kg == pytest.approx(0.912, rel=0.005)
    assert body.polar_kg_mm2 * 1e-6 == pytest.approx(0.0422, rel=0.005)


def test_mirror_keeps_volume() -> None:
    rng = np.random.default_rng(3)
    for _ in range(20):
        path = random_outline(rng).path
        assert volume_mm3(path.mirrored()) == pytest.approx(volume_mm3(path), rel=1e-12)
        assert path.mirrored().area == pytest.approx(path.area, rel=1e-12)

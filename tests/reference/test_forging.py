"""Logs, flow stress and press loads against printed examples (checks.md Part B 12 to 23 and G13).

P: solutions of a manufacturing textbook as checks.md names them; calc: arithmetic there.
"""

from __future__ import annotations

import math

import pytest
from scipy.optimize import brentq

from geometry.errors import GeometryError
from geometry.forging.press import (
    chosen_log,
    closure_mm,
    fill_load_mn,
    flow_load_mn,
    flow_stress_mpa,
    log_of,
    power_law,
    pressure_mpa,
    rate_per_s,
    upset_factor,
    upset_load_mn,
)

LBF_N, INCH_MM, PSI_MPA = 4.4482216152605, 25.4, 0.006894757293168
POUND_KG = 0.45359237


def test_12_complex_forging_with_flash() -> None:
    assert fill_load_mn(75.0, 8.0, 9000.0) == pytest.approx(5.400, rel=1e-3)


def test_13_flash_area_and_hot_strength_count() -> None:
    load = fill_load_mn(10_000.0 * PSI_MPA, 8.0, 16.0 * INCH_MM**2)
    assert load * 1e6 / LBF_N == pytest.approx(1_280_000.0, rel=1e-3)


def test_14_hot_upset() -> None:
    height = 50.0 * (25.0 / 50.0) ** 2
    assert height == 12.5
    assert upset_factor(0.40, 50.0, height) == pytest.approx(1.64)
    assert upset_load_mn(85.0, 0.40, 50.0, height) * 1e3 == pytest.approx(273.71, rel=1e-3)


@pytest.mark.parametrize(("height", "kilonewton"), [(62.0, 649.3), (49.0, 955.6), (36.0, 1467.4)])
def test_15_cold_upset_of_a_strain_hardening_metal(height: float, kilonewton: float) -> None:
    stress = power_law(350.0, 0.17, math.log(75.0 / height))  # K strain^n, the same form
    diameter = 50.0 * math.sqrt(75.0 / height)
    assert upset_load_mn(stress, 0.1, diameter, height) * 1e3 == pytest.approx(kilonewton, rel=5e-3)


def test_16_height_that_a_press_reaches() -> None:
    """30 x 30 mm, K 400, n 0.2, mu 0.1 under 1 MN: down to 10.304 mm."""

    def missing(height: float) -> float:
        stress = power_law(400.0, 0.2, math.log(30.0 / height))
        return upset_load_mn(stress, 0.1, 30.0 * math.sqrt(30.0 / height), height) - 1.0

    assert brentq(missing, 2.0, 29.0) == pytest.approx(10.304, rel=1e-3)


def test_19_rate_exponent_of_two_points() -> None:
    """160 MPa at 12/s and 300 MPa at 250/s: m 0.207."""
    coefficient = 160.0 / power_law(1.0, 0.207, 12.0)
    assert power_law(coefficient, 0.207, 250.0) == pytest.approx(300.0, rel=5e-3)


@pytest.mark.parametrize(("rate", "psi"), [(0.01, 15_036.0), (1.0, 30_000.0), (100.0, 59_858.0)])
def test_17_hot_flow_stress(rate: float, psi: float) -> None:
    assert power_law(30_000.0, 0.15, rate) == pytest.approx(psi, rel=1e-4)


@pytest.mark.parametrize(("height", "rate"), [(100.0, 2.000), (75.0, 2.667), (51.0, 3.922)])
def test_18_strain_rate(height: float, rate: float) -> None:
    assert rate_per_s(200.0, height) == pytest.approx(rate, rel=1e-3)


def test_20_three_diameters_are_the_limit_of_free_length() -> None:
    for length, may_buckle in ((180.0, False), (181.0, True)):
        volume = math.pi / 4.0 * 60.0**2 * length
        found = log_of(volume * 2712.63e-9, 0.0, 2712.63, 60.0)
        assert found.length_mm == pytest.approx(length)
        assert found.may_buckle is may_buckle


def test_21_closure_by_area() -> None:
    assert closure_mm(2043.0) == pytest.approx(2.565, abs=0.01)
    assert (closure_mm(100.0), closure_mm(9000.0)) == (1.0, 6.25)


def test_22_billet_of_a_120_pound_blank() -> None:
    density = 0.098 * POUND_KG / (INCH_MM * 1e-3) ** 3
    found = log_of(120.0 * POUND_KG, 0.0, density, 11.398 * INCH_MM)
    assert found.length_mm == pytest.approx(12.0 * INCH_MM, rel=5e-4)
    assert found.slenderness == pytest.approx(1.053, rel=1e-3)


@pytest.mark.parametrize(("diameter", "mpa"), [(510.0, 435.5), (565.0, 354.8)])
def test_23_pressure_of_ten_thousand_short_tons(diameter: float, mpa: float) -> None:
    load = 10_000.0 * 2000.0 * LBF_N * 1e-6
    assert pressure_mpa(load, diameter) == pytest.approx(mpa, rel=1e-3)


def test_g13_the_factor_of_the_last_press_lies_in_the_textbooks_band() -> None:
    """Common practice, no source: 10,000 tons on 510 to 565 mm at 45 MPa is a factor of 7 to 11."""
    for load in (88.96, 98.07):
        for diameter in (510.0, 565.0):
            assert 7.0 <= pressure_mpa(load, diameter) / 45.0 <= 11.0


def test_web_and_ring_by_practice_16() -> None:
    """Slab 1 + 2 mu r / 3 h for r 212 and mu 0.3: 1.9 at 46 mm, 3.1 at 20 mm; 0.8 + 1.5 ln 3.37 = 2.6."""
    area = math.pi * 212.0**2 * 45.0 * 1e-6
    for web, factor in ((46.0, 1.9), (20.0, 3.1)):
        assert flow_load_mn(45.0, 0.3, 212.0, web, 1.0, 255.0) / area == pytest.approx(factor, rel=0.02)
    bore = 255.0 * math.sqrt(1.0 - 1.0 / 3.37)
    punch = 45e-6 * math.pi * bore**2
    assert flow_load_mn(45.0, 0.3, 1.0, 50.0, bore, 255.0) == pytest.approx(2.62 * punch, rel=5e-3)
    thin, thick = (flow_load_mn(45.0, 0.3, 212.0, web, bore, 255.0) for web in (20.0, 46.0))
    assert thin > thick


def test_flow_stress_of_a_slow_press() -> None:
    """Practice 16: 29 to 33 MPa at 450 C and 0.1 to 0.2 per second, not 45."""
    assert flow_stress_mpa(450.0, 0.1) == pytest.approx(29.4, abs=0.5)
    assert flow_stress_mpa(450.0, 0.2) == pytest.approx(33.0, abs=0.5)
    assert flow_stress_mpa(500.0, 1.0) == 37.0


def test_the_thinnest_log_that_does_not_buckle_is_chosen() -> None:
    found = chosen_log(54.43, 0.10, 2712.63)
    assert not found.may_buckle
    thinner = log_of(54.43, 0.10, 2712.63, 203.0)
    assert found.diameter_mm == 229.0
    assert thinner.may_buckle
    assert chosen_log(500.0, 0.0, 2712.63).may_buckle  # none of the list is thick enough: said, not hidden


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: flow_stress_mpa(550.0, 1.0), "400 to 500"),
        (lambda: flow_stress_mpa(450.0, 0.0), "above 0"),
        (lambda: log_of(0.0, 0.1, 2700.0, 200.0), "mass is 0"),
        (lambda: log_of(10.0, -0.1, 2700.0, 200.0), "from 0 to 1"),
        (lambda: chosen_log(10.0, 0.1, 2700.0, ()), "No log diameter"),
    ],
)
def test_bad_values_are_named(call, says: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(GeometryError, match=says):
        call()

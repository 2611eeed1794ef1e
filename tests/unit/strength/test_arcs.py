"""Loads on an arc as sums of cosines, against numerical quadrature and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from geometry.errors import GeometryError
from geometry.strength.arcs import half_wave, harmonics_for

ARCS = (5.0, 12.5, 30.0, 40.0, 90.0, 120.0, 180.0)


@pytest.mark.parametrize("half_deg", ARCS)
def test_coefficients_by_quadrature(half_deg: float) -> None:
    """Fourier coefficients of cos(pi theta / 2 theta0): 1 / pi (n = 0: 1 / 2 pi) times the integral.

    At 90 degrees the wave meets n = 1, at 30 n = 3, where the closed form has a gap that must be filled.
    """
    half = math.radians(half_deg)
    for n, found in enumerate(half_wave(half_deg, 12)):
        whole, _ = quad(
            lambda t, n=n: math.cos(math.pi * t / (2 * half)) * math.cos(n * t), -half, half, epsabs=1e-12
        )
        assert found == pytest.approx(whole / (2 * math.pi if n == 0 else math.pi), abs=1e-11)


@pytest.mark.parametrize("half_deg", ARCS)
def test_the_sum_is_the_wave(half_deg: float) -> None:
    """The coefficients fall as 1 / n2 (the wave has two kinks): 500 of them leave under 2 % of the peak."""
    wave = half_wave(half_deg, 500)
    half = math.radians(half_deg)
    at = np.linspace(0.0, math.pi, 181)
    summed = np.cos(np.outer(at, np.arange(501))) @ wave
    right = np.where(at < half, np.cos(math.pi * at / (2 * half)), 0.0)
    assert np.abs(summed - right).max() < 0.02


@pytest.mark.parametrize("half_deg", [0.0, -10.0, 1.9, 180.1, math.nan, math.inf])
def test_no_arc_is_refused_with_words(half_deg: float) -> None:
    with pytest.raises(GeometryError, match="is no arc"):
        half_wave(half_deg, 6)
    with pytest.raises(GeometryError, match="is no arc"):
        harmonics_for(half_deg)


@pytest.mark.parametrize(("half_deg", "least"), [(40.0, 9), (90.0, 6), (180.0, 6), (10.0, 36)])
def test_harmonics_reach_a_wave_half_as_long_as_the_arc(half_deg: float, least: int) -> None:
    """A wave of harmonic n is 360 / n degrees long; the arc is 2 half_deg."""
    last = harmonics_for(half_deg)
    assert last >= least
    assert 360.0 / last <= half_deg or last == 6


@pytest.mark.parametrize("half_deg", [20.0, 40.0, 60.0])
def test_what_is_left_after_the_last_harmonic_is_small(half_deg: float) -> None:
    """By Parseval: the mean square that the sum leaves out, over the whole, is under 0.5 %."""
    last = harmonics_for(half_deg)
    wave = half_wave(half_deg, last)
    held = 2 * math.pi * wave[0] ** 2 + math.pi * (wave[1:] ** 2).sum()
    # Integral of cos2(pi t / 2 h) over -h to h is h.
    assert 1.0 - held / math.radians(half_deg) < 0.005

"""Loads on an arc of the turn as sums of cosines."""

from __future__ import annotations

import math

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.curve import Array

#: Half of the shortest arc: it takes 180 harmonics, and no tyre or striker is shorter.
LEAST_HALF_DEG = 2.0


def half_wave(half_deg: float, harmonics: int) -> Array:
    """Return (harmonics + 1,) coefficients of cos(pi theta / 2 theta0) on |theta| < theta0, else nothing.

    Args:
        half_deg: theta0, half of the arc, from LEAST_HALF_DEG to 180 degrees.
        harmonics: the last one.

    Raises:
        GeometryError: the arc is too short or more than a turn.
    """
    _check(half_deg)
    half = math.radians(half_deg)
    k, n = math.pi / (2.0 * half), np.arange(harmonics + 1)
    # sinc(x / pi) = sin x / x, also where the wave meets a harmonic.
    whole = half * (np.sinc((k - n) * half / math.pi) + np.sinc((k + n) * half / math.pi))
    return np.asarray(np.where(n == 0, whole / (2.0 * math.pi), whole / math.pi))


def harmonics_for(half_deg: float) -> int:
    """Return the last harmonic that the study sums for an arc: to where a wave is half as long as the arc.

    The coefficients beyond fall with the square of n; the study also sums half as many and states the change.

    Raises:
        GeometryError: the arc is too short or more than a turn.
    """
    _check(half_deg)
    return max(6, math.ceil(360.0 / half_deg))


def _check(half_deg: float) -> None:
    if not LEAST_HALF_DEG <= half_deg <= 180.0:
        raise GeometryError(
            f"A contact arc of {2 * half_deg:g} degrees is no arc; give from {2 * LEAST_HALF_DEG:g} to 360."
        )

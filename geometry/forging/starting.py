"""Starting values for what a forging may differ by, each with its source, until the forge's own are known."""

from __future__ import annotations

import math

import numpy as np

from geometry.forging.press import closure_mm
from geometry.shape.blank import Cause, Tolerance
from geometry.shape.curve import Path

_SECONDARY = "public table of forging tolerances, secondary source"
_MEMORY = "starting value, from memory"

#: Mismatch of the dies below 10, below 50 and over 500 kg of forging, mm (handbook 2.3).
_MISMATCH = (0.75, 1.75, 5.0)
#: Residue of the flash by the same steps.
_FLASH = (0.8, 3.25, 10.0)


def starting_tolerances(path: Path, mass_kg: float) -> tuple[Tolerance, ...]:
    """Return a starting value for every cause by projected area, size and mass.

    Args:
        path: outline of the blank, mm.
        mass_kg: of the forging.
    """
    diameter = 2.0 * path.bounds[3]
    area_cm2 = math.pi / 4.0 * diameter**2 / 100.0
    closure = round(closure_mm(area_cm2), 2)
    # 0.3 % of the largest dimension, rounded up to half a millimetre.
    size = math.ceil(0.003 * diameter / 0.5) * 0.5
    by_mass = f"{_SECONDARY}, by mass"
    return (
        Tolerance(Cause.CLOSURE, 0.0, closure, f"{_SECONDARY}, by area; what does not close is surplus"),
        Tolerance(Cause.SIZE, round(size / 3.0, 2), round(2.0 * size / 3.0, 2), f"{_SECONDARY}, in 1 : 2"),
        Tolerance(Cause.WEAR, 0.0, round(0.005 * diameter, 2), f"{_SECONDARY}: 0.5 %, metal added"),
        Tolerance(Cause.MISMATCH, _by_mass(_MISMATCH, mass_kg), 0.0, by_mass),
        Tolerance(Cause.FLASH, 0.5, _by_mass(_FLASH, mass_kg), f"residue: {by_mass}; cut: from memory"),
        Tolerance(Cause.RING_END, 0.0, 5.0, f"{_MEMORY}: trimmed, so that none is missing"),
        Tolerance(Cause.ROUND, 1.0, 0.0, _MEMORY),
        Tolerance(Cause.FLAT, 1.0, 0.0, _MEMORY),
        Tolerance(Cause.DENTS, 0.5, 0.0, _MEMORY),
        Tolerance(Cause.GRAIN, 0.5, 0.0, f"{_MEMORY}: less from a scalped log"),
        Tolerance(Cause.CENTRING, 0.5, 0.0, _MEMORY),
    )


def _by_mass(steps: tuple[float, float, float], mass_kg: float) -> float:
    """Return the value for a mass; from 50 to 500 kg, where the table is silent, by the logarithm of mass."""
    if mass_kg < 10.0:
        return steps[0]
    return round(float(np.interp(math.log(mass_kg), np.log((50.0, 500.0)), steps[1:])), 2)

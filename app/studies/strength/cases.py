"""The load cases of a wheel, by its project's settings."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from app.project.strength import CASES, StrengthSettings
from app.studies.strength.inputs import Ready
from geometry.errors import GeometryError
from geometry.strength import loads
from geometry.strength.life import Factors, cycles_words
from geometry.strength.loads import Clamp, Kind, TestLoad

#: Distance of the rolling test that is given as one, km (German guideline, secondary).
ROLLING_KM = 2000.0

#: What each load case does to the wheel.
KINDS: Mapping[str, Kind] = {
    "R124 bending": Kind.BENDING,
    "JWL bending": Kind.BENDING,
    "J328 bending front": Kind.BENDING,
    "J328 bending rear": Kind.BENDING,
    "R124 rolling": Kind.ROLLING,
    "JWL rolling": Kind.ROLLING,
    "inflation": Kind.INFLATION,
    "cornering": Kind.CORNERING,
    "braking torque": Kind.TORQUE,
    "13 degree impact": Kind.IMPACT_13,
    "radial impact": Kind.IMPACT_90,
}
#: Loads that have an energy and no stress.
BLOWS = (Kind.IMPACT_13, Kind.IMPACT_90)


def cases_of(ready: Ready, settings: StrengthSettings) -> tuple[TestLoad, ...]:
    """Return the load cases in use, in their order.

    Raises:
        GeometryError: a case or a constant that is not known, or a value that gives no load.
    """
    unknown = [c for c in settings.cases if c not in CASES]
    if unknown:
        raise GeometryError(f"'{unknown[0]}' is no load case; there are {', '.join(CASES)}.")
    return tuple(
        case_of(name, ready.load_kg, ready.tyre, ready.wheel.inset_mm, settings)
        for name in CASES
        if name in settings.cases
    )


def case_of(
    name: str, load_kg: float, tyre: loads.Tyre, inset_mm: float, settings: StrengthSettings
) -> TestLoad:
    """Return one load case of CASES for a wheel load, tyre and inset.

    Raises:
        GeometryError: a value that gives no load.
    """
    own = settings.own(name)
    if name.endswith(("bending", "front", "rear")):
        found = loads.bending(name, load_kg, tyre, inset_mm, own)
        return replace(found, clamp=Clamp.OUTER_FLANGE) if settings.outer_flange else found
    if name == "R124 rolling":
        found = loads.rolling(name, load_kg, own)
        turns = loads.revolutions(ROLLING_KM, 2.0 * math.pi * tyre.dynamic_mm)
        return replace(
            found, levels=((1.0, turns),), note=f"{found.note}: {cycles_words(turns)} turns of this tyre"
        )
    if name == "JWL rolling":
        return loads.rolling(name, load_kg, own)
    if name == "inflation":
        return loads.inflation(own)
    if name == "cornering":
        return loads.cornering(load_kg, tyre, inset_mm, own)
    if name == "braking torque":
        return loads.torque(load_kg, tyre, own)
    return loads.impact_13(load_kg, own) if name.startswith("13") else loads.impact_90(own)


def factors_of(settings: StrengthSettings) -> Factors:
    """Return the factors on fatigue strength."""
    return Factors(settings.surface, settings.size, settings.forging, settings.temperature, settings.coating)


def has_stress(case: TestLoad) -> bool:
    """Return True for a load whose stress is computed; an impact has an energy alone."""
    return case.kind not in BLOWS

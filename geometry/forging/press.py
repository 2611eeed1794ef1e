"""What a blank takes to forge: log, upset, flow stress, and loads of three kinds.

Three loads stand side by side, since none of them is the truth: `flow` fills web and ring by slab theory and
backward extrusion, `fill` multiplies the area with flash by a factor of the shape's class, which is what
corners take, and `proved` scales a press that made a like blank. Sources stand at each formula.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.errors import GeometryError

#: Free length of a log that upsets without buckling, in diameters (forging association's first rule, handbook
#: 2.3: unsupported length at most three diameters in one blow).
UPSET_DIAMETERS = 3.0

#: Diameters in which extruded round forging stock is ordered, mm, up to the largest of EN 603-3. Common
#: practice, no source for the steps.
LOG_DIAMETERS_MM = (150.0, 178.0, 203.0, 229.0, 254.0, 279.0, 305.0, 320.0)

#: Factor on flow stress times area by the class of a shape forged with flash (handbook 2.1).
FACTORS = {"simple": (6.0, 6.0), "complex": (8.0, 10.0), "very complex": (10.0, 12.0)}

#: Strength coefficient C (MPa) and rate exponent m of 6061 by temperature (deg C); handbook 2.2, from memory.
_FLOW = ((400.0, 50.0, 0.16), (450.0, 43.0, 0.165), (500.0, 37.0, 0.17))


@dataclass(frozen=True)
class Log:
    """A piece of extruded round stock.

    Attributes:
        diameter_mm, length_mm: of the piece.
        mass_kg: with flash and saw loss.
        slenderness: free length over diameter.
        may_buckle: longer than three diameters.
    """

    diameter_mm: float
    length_mm: float
    mass_kg: float
    slenderness: float
    may_buckle: bool


def log_of(mass_kg: float, loss: float, density_kg_m3: float, diameter_mm: float) -> Log:
    """Return the log of a diameter for a blank.

    Args:
        mass_kg: of the blank as forged.
        loss: flash, scale and saw loss as a share of it.
        density_kg_m3: of the metal.
        diameter_mm: of the log.

    Raises:
        GeometryError: a value is not above 0, or the loss is below 0.
    """
    for name, value in (("mass", mass_kg), ("density", density_kg_m3), ("diameter", diameter_mm)):
        if not (math.isfinite(value) and value > 0.0):
            raise GeometryError(f"The log's {name} is {value:g}; it must be above 0.")
    if not 0.0 <= loss <= 1.0:
        raise GeometryError(f"The loss is {loss:g} of the blank's mass; give a share from 0 to 1.")
    mass = mass_kg * (1.0 + loss)
    length = mass / density_kg_m3 * 1e9 / (math.pi / 4.0 * diameter_mm**2)
    share = length / diameter_mm
    return Log(diameter_mm, length, mass, share, share > UPSET_DIAMETERS + 1e-12)


def chosen_log(
    mass_kg: float, loss: float, density_kg_m3: float, diameters_mm: Sequence[float] = LOG_DIAMETERS_MM
) -> Log:
    """Return the thinnest log of a list that does not buckle, the thickest where all do.

    Raises:
        GeometryError: the list is empty, or as `log_of`.
    """
    if not diameters_mm:
        raise GeometryError("No log diameter is given; name those that the forge holds.")
    logs = [log_of(mass_kg, loss, density_kg_m3, d) for d in sorted(diameters_mm)]
    return next((log for log in logs if not log.may_buckle), logs[-1])


# Flow stress


def flow_stress_mpa(temperature_c: float, rate_per_s: float) -> float:
    """Return the flow stress of 6061, C rate^m, C and m between the temperatures of the table.

    Raises:
        GeometryError: the temperature is outside 400 to 500 deg C, or the rate is not above 0.
    """
    if not _FLOW[0][0] <= temperature_c <= _FLOW[-1][0]:
        raise GeometryError(
            f"There is no flow stress of 6061 at {temperature_c:g} deg C; the table goes from 400 to 500."
        )
    if not (math.isfinite(rate_per_s) and rate_per_s > 0.0):
        raise GeometryError(f"The strain rate is {rate_per_s:g} per second; it must be above 0.")
    at, c, m = zip(*_FLOW, strict=True)
    return float(power_law(np.interp(temperature_c, at, c), np.interp(temperature_c, at, m), rate_per_s))


def power_law(coefficient: float, exponent: float, rate_per_s: float) -> float:
    """Return C rate^m, in the unit of C (handbook 2.1)."""
    return float(coefficient * rate_per_s**exponent)


def rate_per_s(speed_mm_s: float, height_mm: float) -> float:
    """Return the strain rate of a press at a height, v / h."""
    return speed_mm_s / height_mm


# Loads


def upset_factor(friction: float, diameter_mm: float, height_mm: float) -> float:
    """Return Kf = 1 + 0.4 mu D / h of an upset between flat dies (handbook 2.1)."""
    return 1.0 + 0.4 * friction * diameter_mm / height_mm


def upset_load_mn(stress_mpa: float, friction: float, diameter_mm: float, height_mm: float) -> float:
    """Return the load of an upset to a diameter and height between flat dies, MN."""
    area = math.pi / 4.0 * diameter_mm**2
    return upset_factor(friction, diameter_mm, height_mm) * stress_mpa * area * 1e-6


def fill_load_mn(stress_mpa: float, factor: float, area_with_flash_mm2: float) -> float:
    """Return the load that fills corners against flash, Kf Yf A with the flash's area in it, MN.

    The formula stands in handbook 2.1.
    """
    return factor * stress_mpa * area_with_flash_mm2 * 1e-6


def flow_load_mn(
    stress_mpa: float, friction: float, web_radius_mm: float, web_mm: float, bore_mm: float, ring_mm: float
) -> float:
    """Return the load that presses a web and drives a ring up round the punch, MN.

    The web by slab theory, 1 + 2 mu r / 3 h over its area; the ring by backward extrusion over the punch,
    0.8 + 1.5 ln(1 / (1 - share of the punch in the area)) (practice 16). The larger of the two moves metal.

    Args:
        stress_mpa: flow stress.
        friction: between die and metal.
        web_radius_mm: of the disc.
        web_mm: thickness of the disc.
        bore_mm: radius of the ring's bore, which is the punch's.
        ring_mm: outer radius of the ring.
    """
    web = (1.0 + 2.0 * friction * web_radius_mm / (3.0 * web_mm)) * math.pi * web_radius_mm**2
    punch = (bore_mm / ring_mm) ** 2
    extruded = (0.8 + 1.5 * math.log(1.0 / (1.0 - punch))) * math.pi * bore_mm**2
    return stress_mpa * max(web, extruded) * 1e-6


def pressure_mpa(load_mn: float, diameter_mm: float) -> float:
    """Return the mean pressure of a load on a round area."""
    return load_mn * 1e6 / (math.pi / 4.0 * diameter_mm**2)


# Tolerances


def closure_mm(area_cm2: float) -> float:
    """Return the die closure tolerance by projected area: 1 mm to 150 cm2, 6.25 from 6500, linear between.

    Handbook 2.3, a secondary source. Dies that do not close leave metal: it is a plus tolerance.
    """
    return float(np.interp(area_cm2, (150.0, 6500.0), (1.0, 6.25)))

"""Areas, stresses and loads of a forging plan, in the project's units."""

from __future__ import annotations

from app.reports.numbers import Numbers
from app.units import ForceUnit, format_force

#: Loads are told in both.
_LOAD_UNITS: tuple[ForceUnit, ForceUnit] = ("MN", "short ton")

#: A ksi is 1,000 pounds-force per square inch: 4.4482216152605 N / (25.4 mm)^2 times 1,000.
_KSI_MPA = 6.894757293168361


def load_words(*loads_mn: float) -> str:
    """Return a load, or a band of two, in MN and short tons."""
    mn, tons = ([format_force(x, of, 0, with_unit=False) for x in loads_mn] for of in _LOAD_UNITS)
    if len(loads_mn) == 1:
        return f"{mn[0]} MN ({tons[0]} short tons)"
    return f"{mn[0]} to {mn[1]} MN ({tons[0]} to {tons[1]} short tons)"


def press_units(numbers: Numbers) -> tuple[str, str, str]:
    """Return the units of area, stress and load of the table of press steps."""
    return ("cm2", "MPa", "MN") if numbers.unit == "mm" else ("in2", "ksi", "short tons")


def press_area(numbers: Numbers, area_cm2: float) -> str:
    """Return a projected area in cm2 or in2, without its unit."""
    return f"{area_cm2:.0f}" if numbers.unit == "mm" else f"{area_cm2 / 2.54**2:.0f}"


def press_stress(numbers: Numbers, stress_mpa: float) -> str:
    """Return a flow stress in MPa or ksi, without its unit."""
    return f"{stress_mpa:.1f}" if numbers.unit == "mm" else f"{stress_mpa / _KSI_MPA:.2f}"


def press_load(numbers: Numbers, load_mn: float) -> str:
    """Return a load in MN or short tons, without its unit."""
    return format_force(load_mn, "MN" if numbers.unit == "mm" else "short ton", 0, with_unit=False)


def capacity_words(numbers: Numbers, capacity_mn: float) -> str:
    """Return what a press presses with, in MN or short tons."""
    if numbers.unit == "mm":
        return f"{capacity_mn:g} MN"
    return f"{press_load(numbers, capacity_mn)} short tons"


def load_band(numbers: Numbers, low_mn: float, high_mn: float) -> str:
    """Return a band of loads in MN or short tons, with its unit."""
    *_, unit = press_units(numbers)
    return f"{press_load(numbers, low_mn)} to {press_load(numbers, high_mn)} {unit}"

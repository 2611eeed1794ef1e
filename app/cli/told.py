"""Masses, loads and stresses as the tables of a blank tell them, in the project's units."""

from __future__ import annotations

from app.reports.numbers import Numbers
from app.units import ForceUnit, MassUnit, format_force, format_mass

#: Loads are told in both.
_LOAD_UNITS: tuple[ForceUnit, ForceUnit] = ("MN", "short ton")

#: The international pound of 1959.
_POUND_KG = 0.45359237

#: A ksi is 1,000 pounds-force per square inch: 4.4482216152605 N / (25.4 mm)^2 times 1,000.
_KSI_MPA = 6.894757293168361


def mass_unit(numbers: Numbers) -> MassUnit:
    """Return the unit of tables of masses."""
    return "lb" if numbers.unit == "in" else "kg"


def bare_mass(numbers: Numbers, mass_kg: float) -> str:
    """Return a mass in the unit of tables, without it."""
    return format_mass(mass_kg, mass_unit(numbers), with_unit=False)


def added_mass(numbers: Numbers, mass_kg: float) -> str:
    """Return what a mass rises or falls by, with its sign."""
    return f"{'-' if mass_kg < 0.0 else '+'}{bare_mass(numbers, abs(mass_kg))}"


def masses_word(numbers: Numbers) -> str:
    """Return what masses are called in a heading."""
    return "kilograms" if mass_unit(numbers) == "kg" else "pounds"


def price_a_mass(numbers: Numbers, price_kg: float) -> str:
    """Return a price a kg, which is how the shop states it; in an inch project a lb first."""
    metric = f"{price_kg:.2f} a kg"
    if mass_unit(numbers) == "kg":
        return metric
    return f"{price_kg * _POUND_KG:.2f} a lb or {metric}"


def load_words(*loads_mn: float) -> str:
    """Return a load, or a band of two, in MN and short tons."""
    mn, tons = (" to ".join(format_force(x, of, 0, with_unit=False) for x in loads_mn) for of in _LOAD_UNITS)
    return f"{mn} MN ({tons} short tons)"


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

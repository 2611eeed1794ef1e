"""Masses, loads and stresses as the tables of a blank tell them, in the project's units."""

from __future__ import annotations

import textwrap

from app.reports.blank_masses import Ladder
from app.reports.numbers import Numbers
from app.reports.press_words import (
    capacity_words,
    load_words,
    press_area,
    press_load,
    press_stress,
    press_units,
)
from app.units import MassUnit, format_mass

__all__ = [
    "added_mass",
    "bare_mass",
    "capacity_words",
    "ladder_lines",
    "load_words",
    "mass_unit",
    "masses_word",
    "press_area",
    "press_load",
    "press_stress",
    "press_units",
    "price_a_mass",
]

#: The international pound of 1959.
_POUND_KG = 0.45359237


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


def ladder_lines(numbers: Numbers, ladder: Ladder) -> list[str]:
    """Return where the masses are: mass reached, added, and the money that each adds."""
    lines = ["", f"  where the {masses_word(numbers)} are{' and what they cost' if ladder.money else ''}"]
    for words, mass, added, money in ladder.rows(numbers.unit):
        lines.append(f"    {words:<58} {mass:>7} {added:>8}{f' {money:>9}' if ladder.money else ''}")
    return [*lines, *textwrap.wrap(ladder.says, 98, initial_indent="    ", subsequent_indent="    ")]


def price_a_mass(numbers: Numbers, price_kg: float) -> str:
    """Return a price a kg, which is how the shop states it; in an inch project a lb first."""
    metric = f"{price_kg:.2f} a kg"
    if mass_unit(numbers) == "kg":
        return metric
    return f"{price_kg * _POUND_KG:.2f} a lb or {metric}"

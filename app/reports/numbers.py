"""Numbers as printed: values become text here, in the project's unit, with the digits they are worth."""

from __future__ import annotations

import math
from dataclasses import dataclass

from app.project.project import Project
from app.units import LengthUnit, format_length, format_mass, length_in
from geometry.readings.measure import NamedReading, Place
from geometry.shape.outline import Grade

#: Decimals of a length in mm by the grade of what it was measured against; an inch gets one more.
_DECIMALS: dict[str, int] = {
    Grade.PROVED: 2,
    Grade.DRAWING: 2,
    Grade.SCAN: 1,
    Grade.TRACING: 0,
    Grade.HEARSAY: 0,
}

_POWER = {"mm": 1, "mm2": 2, "mm3": 3, "mm4": 4}
_RAISED = {1: "", 2: "²", 3: "³", 4: "⁴"}
_DECIMALS_OF_POWER = {"mm": {2: 1, 3: 0, 4: 0}, "in": {2: 3, 3: 3, 4: 4}}


def unit_of(project: Project) -> LengthUnit:
    """Return the unit in which lengths of the project are shown."""
    return "in" if project.display_unit == "in" else "mm"


def decimals(grade: str, unit: LengthUnit) -> int:
    """Return how many decimals a length measured against something of this grade is worth."""
    return _DECIMALS[grade] + (1 if unit == "in" else 0)


@dataclass(frozen=True)
class Numbers:
    """Formats values given in mm, kg and their products in one unit of length."""

    unit: LengthUnit

    def length(self, value_mm: float | None, grade: str = Grade.DRAWING, *, with_unit: bool = False) -> str:
        """Return a length; nothing for None."""
        if value_mm is None:
            return ""
        return format_length(value_mm, self.unit, decimals(grade, self.unit), with_unit=with_unit)

    def long(self, value_mm: float) -> str:
        """Return a length as said in a sentence, to 0.1 mm or 0.01 in, with its unit."""
        return self.length(value_mm, Grade.SCAN, with_unit=True)

    def radius(self, value_mm: float) -> str:
        """Return a radius as drawings say it: 'R15', in inches 'R0.591'."""
        return f"R{value_mm:g}" if self.unit == "mm" else f"R{self.length(value_mm)}"

    def place(self, place: Place | None) -> str:
        """Return a place in the hub's frame as 'z 50.30, r 134.00'; nothing for None."""
        return "" if place is None else f"z {self.length(place[0])}, r {self.length(place[1])}"

    def near(self, place: Place) -> str:
        """Return the radius of a place to the nearest mm or 0.01 in, as said in a sentence."""
        return f"r {format_length(place[1], self.unit, 0 if self.unit == 'mm' else 2, with_unit=False)}"

    def mass(self, value_kg: float, digits: int = 2) -> str:
        """Return a mass in both units, that of the project first: '10.12 kg (22.31 lb)'."""
        kg, lb = format_mass(value_kg, "kg", digits), format_mass(value_kg, "lb", digits)
        return f"{kg} ({lb})" if self.unit == "mm" else f"{lb} ({kg})"

    def volume(self, value_mm3: float) -> str:
        """Return a volume in cm3 or in3."""
        if self.unit == "mm":
            return f"{value_mm3 / 1000.0:.1f} cm³"
        return f"{value_mm3 * length_in(1.0, 'in') ** 3:.2f} in³"

    def area(self, value_mm2: float) -> str:
        """Return an area in mm2 or in2."""
        return f"{self.number(value_mm2, 'mm2')} {self.unit_shown('mm2')}"

    def inertia(self, value_kg_mm2: float) -> str:
        """Return a moment of inertia in kg m2, whatever the unit of length."""
        return f"{value_kg_mm2 * 1e-6:.4f} kg m²"

    def named(self, reading: NamedReading) -> tuple[str, str, str]:
        """Return value, requirement and spare of a named reading; nothing where there is none."""
        unit = "" if reading.unit == "mm" else f" {self.unit_shown(reading.unit)}".rstrip()

        def words(value: float | None) -> str:
            number = self.number(value, reading.unit)
            return f"{number}{unit}" if number else ""

        return words(reading.value), words(reading.required), words(reading.spare)

    def number(self, value: float | None, unit: str) -> str:
        """Return a value given in mm, a power of it or another unit, without its unit; empty without one."""
        if value is None or not math.isfinite(value):
            return ""
        power = _POWER.get(unit)
        if power is None:
            return f"{value:.2f}"
        if power == 1:
            return self.length(value)
        return f"{value * length_in(1.0, self.unit) ** power:.{_DECIMALS_OF_POWER[self.unit][power]}f}"

    def unit_shown(self, unit: str) -> str:
        """Return the unit that `number` gives a value in: 'mm2' becomes 'in²'."""
        power = _POWER.get(unit)
        return unit if power is None else f"{self.unit}{_RAISED[power]}"

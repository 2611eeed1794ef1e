"""Lengths and masses as the words of a study say them: in the project's unit, which only a mass names."""

from __future__ import annotations

from dataclasses import dataclass

from app.project.project import Project
from app.units import LengthUnit, format_length, format_mass


@dataclass(frozen=True)
class Told:
    """Writes numbers into words; lengths in inches have three decimals, enough for steps of 0.1 mm."""

    unit: LengthUnit = "mm"

    def length(self, mm: float | None, decimals: int = 2) -> str:
        """Return a length with so many decimals in mm; nothing for None."""
        if mm is None:
            return ""
        return format_length(mm, self.unit, 3 if self.unit == "in" else decimals, with_unit=False)

    def change(self, mm: float, decimals: int = 2) -> str:
        """Return how much longer something is, with its sign."""
        return _signed(self.length(mm, decimals))

    def plain(self, mm: float) -> str:
        """Return a length that is a round number of mm as such, as a spacer's thickness."""
        return f"{mm:g}" if self.unit == "mm" else self.length(mm)

    def more_mass(self, kg: float, *, with_unit: bool = True) -> str:
        """Return a change of mass with its sign."""
        return _signed(format_mass(kg, "lb" if self.unit == "in" else "kg", with_unit=with_unit))


def told(project: Project) -> Told:
    """Return what writes numbers in the project's unit."""
    return Told("in" if project.display_unit == "in" else "mm")


def _signed(text: str) -> str:
    return text if text.startswith("-") else f"+{text}"

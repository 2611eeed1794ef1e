"""What a user may ask of the dies of a group's blank: where they meet, and a hole in the hub."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from app.studies.forging_needs import ForgingSettings, GroupBody
from app.studies.made_blank import MadeBlank
from geometry.errors import GeometryError
from geometry.forging.composite import Forgeable, Need
from geometry.forging.pierced import pierced
from geometry.forging.seats import Seated, parting_possible_mm
from geometry.readings.solid import volume_mm3
from geometry.shape.curve import Path

#: A parting height no farther beyond the ring is at its end, mm.
_SAME_MM = 1e-4


def check_hole(group: Sequence[GroupBody], hole_mm: float | None) -> None:
    """Refuse a hole in the hub that takes the stock of a bore.

    Raises:
        GeometryError: it does, or is none.
    """
    if hole_mm is None:
        return
    least = min(group, key=lambda each: each.hole_mm)
    if not 0.0 < hole_mm <= least.hole_mm + 1e-9:
        raise GeometryError(
            f"A hole of {hole_mm:g} mm pierced in the hub does not leave the stock in the bore of "
            f"'{least.wheel.name}': give its diameter above 0, up to {least.hole_mm:.2f} mm."
        )


def without_slug(made: MadeBlank, hole_mm: float | None) -> tuple[Path, float]:
    """Return the outline as it comes to the lathe, and the mass of the slug."""
    if hole_mm is None:
        return made.path, 0.0
    path = pierced(made.path, hole_mm)
    return path, made.mass_kg * (1.0 - volume_mm3(path) / volume_mm3(made.path))


def check_parting(needs: Sequence[Need], found: Seated, settings: ForgingSettings) -> None:
    """Refuse a height at which the dies cannot meet.

    Raises:
        GeometryError: they cannot; says where they can.
    """
    asked = settings.how.parting_mm
    if asked is None:
        return
    low, high = parting_possible_mm(needs, found.seats_mm, settings.how)
    if not low - _SAME_MM <= asked <= high + _SAME_MM:
        off, end = (low - asked, "inboard") if asked < low else (asked - high, "outboard")
        raise GeometryError(
            f"The dies cannot meet at z {asked:.2f}: that is {off:.2f} mm beyond the {end} end of the ring; "
            f"z {low:.2f} to {high:.2f} is possible, from the first wheel's mounting face."
        )


def met_at(how: Forgeable, first_mm: float) -> Forgeable:
    """Return the settings in the frame of another first need, which has that seat."""
    return how if how.parting_mm is None else replace(how, parting_mm=how.parting_mm - first_mm)

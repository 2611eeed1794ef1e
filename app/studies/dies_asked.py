"""What a user may ask of the dies of a group's blank: where they meet, and a hole in the hub."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from app.studies.forging_needs import ForgingSettings, GroupBody
from geometry.errors import GeometryError
from geometry.forging.composite import Forgeable, Need
from geometry.forging.pierced import pierced
from geometry.forging.seats import Seated, parting_possible_mm
from geometry.forging.usable import radial_mm
from geometry.readings.solid import volume_mm3
from geometry.shape.blank import Tolerance
from geometry.shape.curve import Path

#: A parting height no farther beyond the ring is at its end, mm.
_SAME_MM = 1e-4


def check_hole(group: Sequence[GroupBody], hole_mm: float | None, tolerances: Sequence[Tolerance]) -> None:
    """Refuse a hole in the hub that takes the stock of a bore, off its place as far as a forging may be.

    Raises:
        GeometryError: it does, or is none.
    """
    if hole_mm is None:
        return
    tightest = min(group, key=lambda each: each.hole_mm)
    least = tightest.hole_mm - (2.0 * radial_mm(tolerances) if tolerances else 0.0)
    if not 0.0 < hole_mm <= least + 1e-9:
        off = " where the forging is off by its tolerances" if tolerances else ""
        raise GeometryError(
            f"A hole of {hole_mm:g} mm pierced in the hub does not leave the stock in the bore of "
            f"'{tightest.wheel.name}'{off}: give its diameter above 0, up to "
            f"{math.floor(100.0 * least + 1e-6) / 100.0:.2f} mm."
        )


def without_slug(solid: Path, mass_kg: float, hole_mm: float | None) -> tuple[Path, float]:
    """Return a solid outline of a mass as it comes to the lathe, and the mass of the slug."""
    if hole_mm is None:
        return solid, 0.0
    path = pierced(solid, hole_mm)
    return path, mass_kg * (1.0 - volume_mm3(path) / volume_mm3(solid))


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

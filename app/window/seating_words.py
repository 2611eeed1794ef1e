"""What is said after a wheel was seated in its blank."""

from __future__ import annotations

from app.studies.seating import Seating, spare_mm
from app.units import LengthUnit, format_length


def said(found: Seating, unit: LengthUnit) -> str:
    """Return the seat, the two tightest sides, and what the tightest was before."""
    sides = [f"{format_length(spare_mm(r), unit)} at the {r.zone}, {r.side} side" for r in found.tightest]
    before = format_length(spare_mm(found.before[0]), unit)
    seat = format_length(found.seat_mm, unit)
    return f"Seated at {seat}: least spare stock {' and '.join(sides)}; it was {before}."

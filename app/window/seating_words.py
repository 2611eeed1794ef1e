"""What is said after a wheel was seated in its blank."""

from __future__ import annotations

from app.language import tr
from app.studies.seating import Seating, spare_mm
from app.units import LengthUnit, format_length
from geometry.readings.rows import StockRow


def said(found: Seating, unit: LengthUnit) -> str:
    """Return the seat, the two tightest sides, and what the tightest was before.

    Where no seat leaves the stock that is needed, that is said, with the places; and on how many sides it is
    short now, where they were more or fewer: the seat lifts the worst side alone.
    """
    seat, before = (format_length(mm, unit) for mm in (found.seat_mm, spare_mm(found.before[0])))
    is_short = spare_mm(found.rows[0]) < 0.0
    but = tr(", but no seat leaves the stock that is needed") if is_short else ""
    sides = tr(" and ").join(_side(row, unit, is_short) for row in found.tightest)
    words = tr(
        "Seated at {seat}{but}: least spare stock {sides}; it was {before}.",
        seat=seat,
        but=but,
        sides=sides,
        before=before,
    )
    short, were = (sum(spare_mm(row) < 0.0 for row in rows) for rows in (found.rows, found.before))
    if short == 0 or short == were:
        return words
    return tr("{words} {short} sides are short, {were} were.", words=words, short=short, were=were)


def _side(row: StockRow, unit: LengthUnit, with_place: bool) -> str:
    side = tr(
        "{spare_mm} at the {zone}, {side} side",
        spare_mm=format_length(spare_mm(row), unit),
        zone=row.zone,
        side=row.side,
    )
    if not with_place:
        return side
    z, r = (format_length(mm, unit, with_unit=False) for mm in row.at)
    return f"{side}, z {z}, r {r}"

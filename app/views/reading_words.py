"""A reading as a sentence in the window's language; in English the same as in the reports."""

from __future__ import annotations

from app.language import spoken, tr
from app.reports.numbers import Numbers
from app.reports.rows import AnyRow, value_of
from app.reports.sentences import capital, needs
from geometry.readings.measure import GapRow, NamedReading, StockRow, WallRow
from geometry.readings.stack import StackRow
from geometry.shape.outline import Grade


def subject(row: GapRow | WallRow | StockRow | StackRow) -> str:
    """Return what was measured: 'Spoke back to caliper', 'Barrel wall', 'Barrel stock, tyre side'."""
    if isinstance(row, GapRow | StackRow):
        zone = capital(spoken(row.body or row.zone))
        if isinstance(row, StackRow):
            return tr("{zone} to {shape} in the worst state", zone=zone, shape=row.shape)
        return tr("{zone} to {shape}", zone=zone, shape=row.shape)
    zone = capital(spoken(row.zone))
    if isinstance(row, WallRow):
        return tr("{zone} wall", zone=zone)
    return tr("{zone} stock, {side} side", zone=zone, side=row.side)


def sentence(row: AnyRow, numbers: Numbers) -> str:
    """Return a reading as one sentence: 'Spoke back to caliper: 4.10 mm, needs 3.00 + 0.30, at r 134'."""
    if isinstance(row, NamedReading):
        value, needed, _ = numbers.named(row)
        unit = f" {numbers.unit}" if value and row.unit == "mm" else ""
        text, place = f"{spoken(row.name)}: {value or tr('no reading')}{unit}", row.place
    else:
        grade = row.grade if isinstance(row, GapRow | StackRow) else str(Grade.DRAWING)
        place = row.at_wheel if isinstance(row, GapRow | StackRow) else row.at
        text = f"{subject(row)}: {numbers.length(value_of(row), grade, with_unit=True)}"
        needed = needs(row, numbers)
    text += tr(", needs {needed}", needed=needed) if needed else ""
    return text + (tr(", at {place}", place=numbers.near(place)) if place is not None else "")

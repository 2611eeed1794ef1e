"""Readings in words: digits by grade, one sentence for the summary, everything for the detail below the tree.

Digits follow the grade of what was measured against: two decimals in mm for a drawing or better, one for a
scan, none for a tracing or hearsay; an inch is 25 times coarser and gets one more. Files and JSON keep every
digit.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from app.project.project import Project
from app.units import LengthUnit, format_length, length_in
from geometry.readings.measure import GapRow, Measurements, NamedReading, Place, StockRow, WallRow
from geometry.shape.outline import Grade

AnyRow = GapRow | WallRow | StockRow | NamedReading

_DECIMALS = {Grade.PROVED: 2, Grade.DRAWING: 2, Grade.SCAN: 1, Grade.TRACING: 0, Grade.HEARSAY: 0}
_POWERS = {"mm": 1, "mm2": 2, "mm4": 4}
_RAISED = {1: "", 2: "²", 4: "⁴"}


def unit_of(project: Project) -> LengthUnit:
    """Return the unit in which lengths of the project are shown."""
    return "in" if project.display_unit == "in" else "mm"


def decimals(grade: str, unit: LengthUnit) -> int:
    """Return how many decimals a length measured against something of this grade is worth."""
    return _DECIMALS.get(Grade(grade), 0) + (1 if unit == "in" else 0)


def capital(text: str) -> str:
    """Return the words with a capital at their start."""
    return text[:1].upper() + text[1:]


def length_words(value_mm: float, unit: LengthUnit, digits: int) -> str:
    """Return a length without its unit."""
    return format_length(value_mm, unit, digits, with_unit=False)


def radius_words(place: Place, unit: LengthUnit) -> str:
    """Return the radius of a place, coarse: 'r 134'."""
    return f"r {length_words(place[1], unit, 0 if unit == 'mm' else 2)}"


def open_words(count: int) -> str:
    """Return how many questions are open."""
    return f"{count} question{'s' if count > 1 else ''} open"


def named_words(reading: NamedReading, unit: LengthUnit) -> tuple[Callable[[float | None], str], str]:
    """Return how the numbers of a named reading become text (nothing for none), and the unit shown."""
    power = _POWERS.get(reading.unit, 0)
    shown_unit = f"{unit}{_RAISED[power]}" if power else reading.unit
    digits = {1: 2, 2: 1}.get(power, 0) if unit == "mm" else {1: 3, 2: 3}.get(power, 4)
    scale = length_in(1.0, unit) ** power

    def words(value: float | None) -> str:
        if value is None or not math.isfinite(value):
            return ""
        return f"{value * scale:.{digits if power else 2}f}"

    return words, shown_unit


def worst_three(found: Measurements) -> list[AnyRow]:
    """Return the three rows of all groups with the least spare, least first."""
    rows: list[AnyRow] = [*found.gap, *found.stock, *found.wall, *found.lip, *found.hub]
    judged = [(spare, k) for k, row in enumerate(rows) if (spare := spare_of(row)) is not None]
    return [rows[k] for _, k in sorted(judged)[:3]]


def spare_of(row: AnyRow) -> float | None:
    """Return what a row has to spare, mm, or None without a rule."""
    return row.spare if isinstance(row, NamedReading) else row.spare_mm


def place_of(row: AnyRow) -> Place | None:
    """Return where a row was read on the wheel."""
    if isinstance(row, NamedReading):
        return row.place
    return row.at_wheel if isinstance(row, GapRow) else row.at


def sentence(row: AnyRow, unit: LengthUnit) -> str:
    """Return a reading as one sentence: 'Spoke back to caliper 4.10, needs 3.00, at r 134'."""
    if isinstance(row, NamedReading):
        words, _ = named_words(row, unit)
        start, least, needs = row.name, words(row.value), words(row.required)
    else:
        digits = decimals(row.grade if isinstance(row, GapRow) else Grade.DRAWING, unit)
        least = length_words(row.least_mm, unit, digits)
        needs = "" if row.required_mm is None else length_words(row.required_mm, unit, digits)
        start = _start(row)
    text = f"{start} {least}"
    if needs:
        text += f", needs {needs}"
    place = place_of(row)
    if place is not None:
        text += f", at {radius_words(place, unit)}"
    if isinstance(row, GapRow) and row.questions:
        text += f" ({open_words(len(row.questions))})"
    return text


def _start(row: GapRow | WallRow | StockRow) -> str:
    if isinstance(row, GapRow):
        return f"{capital(row.body or row.zone)} to {row.shape}"
    what = "wall" if isinstance(row, WallRow) else f"stock ({row.side} side)"
    return f"{capital(row.zone)} {what}"


def detail(row: AnyRow, unit: LengthUnit) -> str:
    """Return everything there is to say about a reading, as sentences."""
    if isinstance(row, GapRow):
        return " ".join(_gap_detail(row, unit))
    if isinstance(row, NamedReading):
        return " ".join(said for said in _named_detail(row, unit) if said)
    digits = decimals(Grade.DRAWING, unit)
    said = [f"{_start(row)}: {length_words(row.least_mm, unit, digits)} {unit}."]
    if isinstance(row, WallRow):
        said.append(f"Along the normal there {length_words(row.gauge_mm, unit, digits)} {unit}.")
    said += [_rule(row.rule, row.required_mm, unit, digits), f"At {_at(row.at, unit)}."]
    return " ".join(said)


def _gap_detail(row: GapRow, unit: LengthUnit) -> list[str]:
    digits = decimals(row.grade, unit)

    def words(value_mm: float) -> str:
        return length_words(value_mm, unit, digits)

    said = [
        _start(row) + (f", position {row.position}" if row.position else "") + ":",
        f"gap {words(row.least_mm)} {unit}, radial {words(row.radial_mm)}, axial {words(row.axial_mm)}.",
        f"Outline {row.grade}, error ±{length_words(row.error_mm, unit, 2)} {unit} taken off.",
    ]
    if row.included_mm:
        said.append(f"Gap already in the outline: {words(row.included_mm)} {unit}.")
    said.append(_rule(row.rule, row.required_mm, unit, digits))
    if row.worst_mm is not None:
        said.append(f"In the worst state {words(row.worst_mm)} must remain.")
    if row.move_radial_mm is not None and row.move_axial_mm is not None:
        moves = f"{words(row.move_radial_mm)} along r or {words(row.move_axial_mm)} along z"
        said.append(f"Just clear if the shape moves {moves}.")
    said.append(f"At the wheel {_at(row.at_wheel, unit)}; at the shape {_at(row.at_shape, unit)}.")
    if row.questions:
        said.append("Not known until answered: " + " ".join(row.questions))
    return said


def _named_detail(row: NamedReading, unit: LengthUnit) -> list[str]:
    words, shown_unit = named_words(row, unit)
    value = words(row.value)
    said = [f"{row.name}: {value} {shown_unit}." if value else f"{row.name}: no reading.", row.note]
    if row.required is not None:
        said.append(f"Needs {words(row.required)} {shown_unit}.")
    if row.place is not None:
        said.append(f"At {_at(row.place, unit)}.")
    return said


def _rule(rule: str | None, required: float | None, unit: LengthUnit, digits: int) -> str:
    if rule is None or required is None:
        return "No rule for this zone."
    return f"Rule {rule}: {length_words(required, unit, digits)} {unit}."


def _at(place: Place, unit: LengthUnit) -> str:
    digits = decimals(Grade.DRAWING, unit)
    return f"z {length_words(place[0], unit, digits)}, r {length_words(place[1], unit, digits)} {unit}"

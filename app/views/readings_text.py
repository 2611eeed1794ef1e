"""Readings in words: one sentence for the summary, everything for the detail below the tree.

Digits and sentences are those of the reports. Files and JSON keep every digit.
"""

from __future__ import annotations

import re

from app.reports import sentences
from app.reports.numbers import Numbers, unit_of
from app.reports.rows import AnyRow
from app.units import LengthUnit
from geometry.readings.measure import GapRow, NamedReading, Place, WallRow
from geometry.readings.stack import StackRow
from geometry.shape.outline import Grade

__all__ = ["detail", "minus", "open_words", "sentence", "unit_of"]

_HYPHEN = re.compile(r"(?<!\S)-(?=[0-9])")


def minus(text: str) -> str:
    """Return the text as shown on the screen: a number's hyphen becomes a minus sign."""
    return _HYPHEN.sub("−", text)


def open_words(count: int) -> str:
    """Return how many questions are open."""
    return f"{count} question{'s' if count > 1 else ''} open"


def sentence(row: AnyRow, unit: LengthUnit) -> str:
    """Return a reading as the reports say it, with how many questions are open."""
    text = sentences.sentence(row, Numbers(unit))
    if isinstance(row, GapRow | StackRow) and row.questions:
        text += f" ({open_words(len(row.questions))})"
    return minus(text)


def detail(row: AnyRow, unit: LengthUnit) -> str:
    """Return everything there is to say about a reading, as sentences."""
    numbers = Numbers(unit)
    if isinstance(row, GapRow):
        return minus(" ".join(_gap_detail(row, numbers)))
    if isinstance(row, StackRow):
        return minus(" ".join(_stack_detail(row, numbers)))
    if isinstance(row, NamedReading):
        return minus(" ".join(said for said in _named_detail(row, numbers) if said))
    said = [f"{sentences.subject(row)}: {numbers.length(row.least_mm)} {unit}."]
    if isinstance(row, WallRow):
        said.append(f"Along the normal there {numbers.length(row.gauge_mm)} {unit}.")
    said += [_rule(row.rule, row.required_mm, Grade.DRAWING, numbers), f"At {_at(row.at, numbers)}."]
    return minus(" ".join(said))


def _gap_detail(row: GapRow, numbers: Numbers) -> list[str]:
    unit = numbers.unit

    def words(value_mm: float) -> str:
        return numbers.length(value_mm, row.grade)

    said = [
        sentences.subject(row) + (f", position {row.position}" if row.position else "") + ":",
        f"gap {words(row.least_mm)} {unit}, radial {words(row.radial_mm)}, axial {words(row.axial_mm)}.",
        f"Outline {row.grade}, error ±{numbers.length(row.error_mm)} {unit} taken off.",
    ]
    if row.included_mm:
        said.append(f"Gap already in the outline: {words(row.included_mm)} {unit}.")
    said.append(_rule(row.rule, row.required_mm, row.grade, numbers))
    if row.worst_mm is not None:
        said.append(f"In the worst state {words(row.worst_mm)} must remain.")
    if row.move_radial_mm is not None and row.move_axial_mm is not None:
        moves = f"{words(row.move_radial_mm)} along r or {words(row.move_axial_mm)} along z"
        said.append(f"Just clear if the shape moves {moves}.")
    said.append(f"At the wheel {_at(row.at_wheel, numbers)}; at the shape {_at(row.at_shape, numbers)}.")
    if row.questions:
        said.append("Not known until answered: " + " ".join(row.questions))
    return said


def _stack_detail(row: StackRow, numbers: Numbers) -> list[str]:
    unit = numbers.unit

    def words(value_mm: float) -> str:
        return numbers.length(value_mm, row.grade)

    eaten = [f"{loss.words} {numbers.length(loss.loss_mm)}" for loss in row.losses if loss.loss_mm > 0.0]
    said = [
        f"{sentences.subject(row)}: of {words(row.nominal_mm)} {unit} as drawn {words(row.worst_mm)} remain; "
        f"root of the sum of squares {words(row.rss_mm)}.",
        f"Deciding state: {row.condition}.",
        f"Alone takes: {', '.join(eaten)}." if eaten else "No effect takes anything alone.",
    ]
    if row.required_mm is not None:
        said.append(f"In the worst state {numbers.length(row.required_mm)} {unit} must remain.")
    said.append(f"At the wheel {_at(row.at_wheel, numbers)}; at the shape {_at(row.at_shape, numbers)}.")
    if row.questions:
        said.append("Not known until answered: " + " ".join(row.questions))
    return said


def _named_detail(row: NamedReading, numbers: Numbers) -> list[str]:
    unit = numbers.unit_shown(row.unit)
    value = numbers.number(row.value, row.unit)
    said = [f"{row.name}: {value} {unit}." if value else f"{row.name}: no reading.", row.note]
    if row.required is not None:
        said.append(f"Needs {numbers.number(row.required, row.unit)} {unit}.")
    if row.place is not None:
        said.append(f"At {_at(row.place, numbers)}.")
    return said


def _rule(rule: str | None, required: float | None, grade: str, numbers: Numbers) -> str:
    if rule is None or required is None:
        return "No rule for this zone."
    return f"Rule {rule}: {numbers.length(required, grade)} {numbers.unit}."


def _at(place: Place, numbers: Numbers) -> str:
    return f"{numbers.place(place)} {numbers.unit}"

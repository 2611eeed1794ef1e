"""Readings in words: one sentence for the summary, everything for the detail below the tree.

Digits and sentences are those of the reports. Files and JSON keep every digit.
"""

from __future__ import annotations

import re
from functools import lru_cache

from app.language import ntr, spoken, tr
from app.reports.numbers import Numbers, unit_of
from app.reports.rows import AnyRow
from app.units import LengthUnit
from app.views import reading_words
from app.views.reading_words import subject
from geometry.readings.measure import GapRow, NamedReading, Place, WallRow
from geometry.readings.stack import StackRow
from geometry.shape.outline import Grade

__all__ = ["detail", "minus", "open_words", "sentence", "unit_of"]

_HYPHEN = re.compile(r"(?<![^\s(])-(?=[0-9])")


@lru_cache(2048)
def minus(text: str) -> str:
    """Return the text as shown on the screen: a number's hyphen becomes a minus sign."""
    return _HYPHEN.sub("−", text)


def open_words(count: int) -> str:
    """Return how many questions are open."""
    return ntr("{count} question open", "{count} questions open", count)


def sentence(row: AnyRow, unit: LengthUnit) -> str:
    """Return a reading as the reports say it, with how many questions are open."""
    text = reading_words.sentence(row, Numbers(unit))
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
    said = [f"{subject(row)}: {numbers.length(row.least_mm)} {unit}."]
    if isinstance(row, WallRow):
        said.append(
            tr("Along the normal there {gauge_mm} {unit}.", gauge_mm=numbers.length(row.gauge_mm), unit=unit)
        )
    said += [
        _rule(row.rule, row.required_mm, Grade.DRAWING, numbers),
        tr("At {at}.", at=_at(row.at, numbers)),
    ]
    return minus(" ".join(said))


def _gap_detail(row: GapRow, numbers: Numbers) -> list[str]:
    unit = numbers.unit

    def words(value_mm: float) -> str:
        return numbers.length(value_mm, row.grade)

    said = [
        subject(row)
        + (tr(", position {position}", position=spoken(row.position)) if row.position else "")
        + ":",
        tr(
            "gap {least_mm} {unit}, radial {radial_mm}, axial {axial_mm}.",
            least_mm=words(row.least_mm),
            unit=unit,
            radial_mm=words(row.radial_mm),
            axial_mm=words(row.axial_mm),
        ),
        tr(
            "Outline {grade}, error ±{error_mm} {unit} taken off.",
            grade=row.grade,
            error_mm=numbers.length(row.error_mm),
            unit=unit,
        ),
    ]
    if row.included_mm:
        said.append(
            tr(
                "Gap already in the outline: {included_mm} {unit}.",
                included_mm=words(row.included_mm),
                unit=unit,
            )
        )
    said.append(_rule(row.rule, row.required_mm, row.grade, numbers))
    if row.worst_mm is not None:
        said.append(tr("In the worst state {worst_mm} must remain.", worst_mm=words(row.worst_mm)))
    if row.move_radial_mm is not None and row.move_axial_mm is not None:
        moves = tr(
            "{move_radial_mm} along r or {move_axial_mm} along z",
            move_radial_mm=words(row.move_radial_mm),
            move_axial_mm=words(row.move_axial_mm),
        )
        said.append(tr("Just clear if the shape moves {moves}.", moves=moves))
    said.append(
        tr(
            "At the wheel {at}; at the shape {at_2}.",
            at=_at(row.at_wheel, numbers),
            at_2=_at(row.at_shape, numbers),
        )
    )
    if row.questions:
        said.append(tr("Not known until answered: ") + " ".join(map(spoken, row.questions)))
    return said


def _stack_detail(row: StackRow, numbers: Numbers) -> list[str]:
    unit = numbers.unit

    def words(value_mm: float) -> str:
        return numbers.length(value_mm, row.grade)

    eaten = [
        f"{spoken(loss.words)} {numbers.length(loss.loss_mm)}" for loss in row.losses if loss.loss_mm > 0.0
    ]
    said = [
        tr(
            "{subject}: of {nominal_mm} {unit} as drawn {worst_mm} remain; root of the sum "
            "of squares {rss_mm}.",
            subject=subject(row),
            nominal_mm=words(row.nominal_mm),
            unit=unit,
            worst_mm=words(row.worst_mm),
            rss_mm=words(row.rss_mm),
        ),
        tr("Deciding state: {condition}.", condition=row.condition),
        tr("Alone takes: {eaten}.", eaten=", ".join(eaten))
        if eaten
        else tr("No effect takes anything alone."),
    ]
    if row.required_mm is not None:
        said.append(
            tr(
                "In the worst state {required_mm} {unit} must remain.",
                required_mm=numbers.length(row.required_mm),
                unit=unit,
            )
        )
    said.append(
        tr(
            "At the wheel {at}; at the shape {at_2}.",
            at=_at(row.at_wheel, numbers),
            at_2=_at(row.at_shape, numbers),
        )
    )
    if row.questions:
        said.append(tr("Not known until answered: ") + " ".join(map(spoken, row.questions)))
    return said


def _named_detail(row: NamedReading, numbers: Numbers) -> list[str]:
    unit = numbers.unit_shown(row.unit)
    value = numbers.number(row.value, row.unit)
    said = [
        f"{spoken(row.name)}: {value} {unit}." if value else tr("{name}: no reading.", name=row.name),
        spoken(row.note),
    ]
    if row.required is not None:
        said.append(
            tr("Needs {required} {unit}.", required=numbers.number(row.required, row.unit), unit=unit)
        )
    if row.place is not None:
        said.append(tr("At {at}.", at=_at(row.place, numbers)))
    return said


def _rule(rule: str | None, required: float | None, grade: str, numbers: Numbers) -> str:
    if rule is None or required is None:
        return tr("No rule for this zone.")
    return tr(
        "Rule {rule}: {required} {unit}.",
        rule=rule,
        required=numbers.length(required, grade),
        unit=numbers.unit,
    )


def _at(place: Place, numbers: Numbers) -> str:
    return f"{numbers.place(place)} {numbers.unit}"

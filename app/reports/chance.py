"""Chance of contact, for the house's own copy only: its inputs are guesses, and the table says so."""

from __future__ import annotations

from collections.abc import Iterator

from app.project.project import Project
from app.project.wheel import Wheel
from app.reports.sentences import capital
from app.reports.tables import Column, Row, Table
from app.studies.fit import Measured, hold
from app.studies.road import Road
from geometry.readings.chance import Chance, chance_of_contact
from geometry.readings.rows import Held

#: So many that no contact in all of them bounds the chance below 1 in 1,000 (Wilson, 95 %: 3.84 / 4003.84).
SAMPLES = 4000
LEAST = "< 1 in 1,000"


def table(project: Project, wheel: Wheel, measured: Measured, road: Road | None) -> Iterator[Table]:
    """Yield the table, a row for each shape; nothing without conditions or shapes."""
    held = hold(project, wheel)
    if measured.outline is None or not isinstance(held, Held) or not held.shapes:
        return
    if road is None or road.conditions is None:
        return
    found = [
        (shape.name, chance_of_contact(measured.outline, held, road.conditions, shape.name, SAMPLES))
        for shape, _ in held.shapes
    ]
    columns = (
        Column("Shape", 3.0),
        Column("Chance", 2.0),
        Column("95 % interval", 2.4),
        Column("Touching states", 2.4),
        Column("Guessed inputs", 8.0),
    )
    rows = tuple(
        Row((name, words(chance), interval(chance), _counted(chance), capital(", ".join(chance.rests_on))))
        for name, chance in found
    )
    notes = (
        "For internal use only. Every effect is drawn between guessed limits with a guessed spread, each by "
        "itself. The interval is sampling error only: it says nothing about how good the guesses are.",
    )
    yield Table("Chance of contact (internal)", columns, rows, notes)


def words(chance: Chance) -> str:
    """Return the chance; never less than '< 1 in 1,000'."""
    share = chance.contacts / chance.samples if chance.samples else 1.0
    if share < 0.001:
        return LEAST if chance.high < 0.001 else f"up to {100.0 * chance.high:.1f} %"
    return f"about {100.0 * share:.1f} %" if share < 0.1 else f"about {100.0 * share:.0f} %"


def interval(chance: Chance) -> str:
    """Return the interval of sampling error; an end below 1 in 1,000 is said as that."""
    low = LEAST if chance.low < 0.001 else f"{100.0 * chance.low:.1f} %"
    high = LEAST if chance.high < 0.001 else f"{100.0 * chance.high:.1f} %"
    return low if low == high else f"{low} to {high}"


def _counted(chance: Chance) -> str:
    return f"{chance.contacts:,} of {chance.samples:,}"

"""What physical tests say beside a screening: factors of recorded tests, and the tests that are needed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.project.project import Project
from app.project.wheel import Wheel
from app.reports.strength_words import records_refused
from app.reports.tables import Column, Row, Table
from app.studies.strength.calibration import Calibration, speaks_for
from app.studies.strength.proof_tests import REOPENS, Planned, plan_of
from app.studies.strength.run import Screening
from geometry.errors import GeometryError

NO_RECORDS = "No recorded test speaks for this wheel: nothing ties these figures to one that passed or broke."


@dataclass(frozen=True)
class Evidence:
    """What tests say and which are needed.

    Attributes:
        found: factors of the records that speak for the wheel. said: records that give none, with the reason,
            and those of other families.
        plan: tests of the family; why_none: there is no plan.
    """

    found: tuple[Calibration, ...]
    said: tuple[str, ...]
    plan: tuple[Planned, ...]
    why_none: str = ""


def evidence(project: Project, screenings: Sequence[Screening], family: Sequence[Wheel]) -> Evidence:
    """Return what the project's records say of a screened wheel, and the tests that its family needs.

    Args:
        project: that holds records and wheels.
        screenings: of the wheel first; what stands beside it is not looked at.
        family: versions of one design, the wheel among them.
    """
    mine = screenings[0]
    wheel = mine.ready.wheel
    others = [
        f"record {r.name}, family {r.family or r.wheel or 'not named'}: it does not speak for {wheel.name}"
        for r in project.test_records
        if not speaks_for(r, wheel)
    ]
    said = (*records_refused(mine), *others)
    try:
        return Evidence(mine.calibrations, said, plan_of(project, family, project.test_records))
    except GeometryError as error:
        return Evidence(mine.calibrations, said, (), str(error))


def evidence_lines(found: Evidence) -> list[str]:
    """Return what the records say, a line each."""
    return [*([c.words for c in found.found] or [NO_RECORDS]), *found.said]


def plan_table(found: Evidence) -> Table:
    """Return the tests that the family needs and what covers them."""
    columns = (
        Column("Test", 2.2),
        Column("Worst version", 2.0),
        Column("Why it", 4.2),
        Column("Samples", 4.2),
        Column("Covered by", 2.4),
        Column("Source of the rule", 4.6),
    )
    rows = tuple(
        Row((p.test, p.wheel, p.why, p.samples, covered_words(p), f"{p.standard}; {p.source}"))
        for p in found.plan
    )
    note = f"Cannot be planned: {found.why_none}" if found.why_none else f"{REOPENS[0].upper()}{REOPENS[1:]}."
    return Table("Physical tests that decide", columns, rows, (note,))


def covered_words(planned: Planned) -> str:
    """Return the records that cover a line, each one sample, or that none does."""
    if not planned.covered_by:
        return "nothing yet"
    names, done = ", ".join(planned.covered_by), len(planned.covered_by)
    return f"{names}: {done} of {planned.count} samples" if planned.is_open else names


def plan_lines(found: Evidence) -> list[str]:
    """Return the plan of tests, a line each."""
    if found.why_none:
        return [f"cannot be planned: {found.why_none}"]
    lines = [
        f"{p.test} ({p.standard}) on {p.wheel}: {p.samples}; {p.why}; covered by {covered_words(p)}"
        for p in found.plan
    ]
    return [*lines, REOPENS]

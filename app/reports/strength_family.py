"""What physical tests say beside a screening: factors of recorded tests, and the tests that are needed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.project.project import Project
from app.project.wheel import Wheel
from app.reports.tables import Column, Row, Table
from app.studies.strength.calibration import Calibration, calibration
from app.studies.strength.proof_tests import REOPENS, Planned, plan_of
from app.studies.strength.run import Screening
from geometry.errors import GeometryError

NO_RECORDS = (
    "No recorded test of a wheel that is screened here: nothing ties these figures to a wheel that passed or "
    "broke."
)


@dataclass(frozen=True)
class Evidence:
    """What tests say and which are needed.

    Attributes:
        found: factors of records on the screened wheels. said: records that give none, with the reason, and
            records of wheels that are not screened here.
        plan: tests of the family; why_none: there is no plan.
    """

    found: tuple[Calibration, ...]
    said: tuple[str, ...]
    plan: tuple[Planned, ...]
    why_none: str = ""


def evidence(project: Project, screenings: Sequence[Screening], family: Sequence[Wheel]) -> Evidence:
    """Return what the project's records say of screened wheels, and the tests that a family needs.

    Args:
        project: that holds records and wheels.
        screenings: of the wheel, and of a reference.
        family: versions of one design, the wheel among them.
    """
    by_wheel = {s.ready.wheel.name: s for s in screenings}
    found: list[Calibration] = []
    said: list[str] = []
    for record in project.test_records:
        screening = by_wheel.get(record.wheel or "")
        if screening is None:
            other = f"on {record.wheel}" if record.wheel else "on a wheel that is not drawn here"
            said.append(
                f"record {record.name}, {other}: not taken; a factor needs the screening of that wheel"
            )
            continue
        try:
            found.append(calibration(record, screening))
        except GeometryError as error:
            said.append(f"no factor: {error}")
    try:
        return Evidence(tuple(found), tuple(said), plan_of(project, family, project.test_records))
    except GeometryError as error:
        return Evidence(tuple(found), tuple(said), (), str(error))


def evidence_lines(found: Evidence) -> list[str]:
    """Return what the records say, a line each."""
    return [*(c.words for c in found.found), *found.said] or [NO_RECORDS]


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
    """Return the records that cover a line, or that none does."""
    return ", ".join(planned.covered_by) or "nothing yet"


def plan_lines(found: Evidence) -> list[str]:
    """Return the plan of tests, a line each."""
    if found.why_none:
        return [f"cannot be planned: {found.why_none}"]
    lines = [
        f"{p.test} ({p.standard}) on {p.wheel}: {p.samples}; {p.why}; covered by {covered_words(p)}"
        for p in found.plan
    ]
    return [*lines, REOPENS]

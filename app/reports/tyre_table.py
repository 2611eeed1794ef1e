"""The report's tables on the tyre: its size against rim and load, its ring against body and suspension."""

from __future__ import annotations

from collections.abc import Iterator

from app.project.wheel import Wheel
from app.reports.numbers import Numbers
from app.reports.rows import rank
from app.reports.tables import STATE, Column, Row, Table
from app.studies.tyre import Finding, TyreRead, value_words
from geometry.readings.rows import GapRow
from geometry.readings.stack import StackRow


def tyre(wheel: Wheel, found: TyreRead, numbers: Numbers) -> Iterator[Table]:
    """Return the tyre's findings, each with what it rests on, and its gaps; nothing where none is stated."""
    if not wheel.tyre.strip():
        return
    columns = (
        Column("Finding", 2.2),
        Column("Value", 1.2, True),
        Column("Needs", 1.2, True),
        Column("Is", 0.9),
        Column("What it means", 8.0),
        Column("Source", 4.5),
    )
    rows = tuple(Row(_finding(finding, numbers)) for finding in found.findings)
    wrong = "What is wrong by a published number makes the wheel short, whatever the gaps."
    notes = (found.judged, f"{wrong} A number from memory warns.")
    yield Table(f"Tyre {wheel.tyre}", columns, rows, notes)
    if found.rows:
        yield _gaps(wheel, found, numbers)


def _finding(finding: Finding, numbers: Numbers) -> tuple[str, ...]:
    unit = "" if finding.unit == "code" else numbers.unit_shown(finding.unit)
    value = f"{value_words(finding, numbers.unit)} {unit}".strip()
    return finding.name, value, finding.needs, str(finding.word), finding.text, finding.source


def _gaps(wheel: Wheel, found: TyreRead, numbers: Numbers) -> Table:
    columns = (
        Column("Shape", 3.2),
        Column("Read", 1.8),
        Column("Gap", 1.2, True),
        Column("Needs", 1.2, True),
        Column("Spare", 1.2, True),
        STATE,
        Column("At the tyre", 2.7),
        Column("Decided by", 5.0),
    )
    both: list[GapRow | StackRow] = [*found.rows, *found.worst]
    rows = tuple(_gap(row, numbers) for row in sorted(both, key=rank))
    notes = (
        f"The tyre is a ring of its section width and overall diameter by formula, "
        f"{wheel.tyre_growth_percent:g} % larger for growth in service; it bulges and leans more under load.",
    )
    return Table("Tyre to body and suspension", columns, rows, notes)


def _gap(row: GapRow | StackRow, numbers: Numbers) -> Row:
    if isinstance(row, GapRow):
        read, least, decided = "on paper", row.least_mm, row.position
    else:
        read, least, decided = "worst state", row.worst_mm, row.condition
    cells = (
        row.shape,
        read,
        numbers.length(least, row.grade),
        numbers.length(row.required_mm),
        numbers.length(row.spare_mm, row.grade),
        numbers.place(row.at_wheel),
        decided,
    )
    return Row(cells, row.state)

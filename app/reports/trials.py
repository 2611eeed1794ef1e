"""The report's tables of trial fits: measured beside computed, and what earlier fits warn of."""

from __future__ import annotations

from collections.abc import Iterator

from app.project.project import Project, TrialFit
from app.project.wheel import Wheel
from app.reports.numbers import Numbers
from app.reports.tables import STATE, Column, Row, Table
from app.studies.misfits import Misfit, past_misfits
from app.studies.trial_fit import ComparedGap, compared

_TURNED = {
    True: "Turned a whole turn without touching.",
    False: "It did not turn a whole turn without touching.",
    None: "Nobody has said whether it was turned a whole turn.",
}


def recorded(project: Project, wheel: Wheel, numbers: Numbers) -> Iterator[Table]:
    """Yield a table for each recorded trial fit of the wheel against what it must clear."""
    columns = (
        Column("Zone", 2.0),
        Column("Place", 2.7),
        Column("Measured", 1.3, True),
        Column("Computed", 1.3, True),
        Column("Differs", 1.2, True),
        Column("Allowed ±", 1.2, True),
        Column("Agrees", 1.0),
        Column("Note", 5.0),
    )
    for trial in project.trial_fits:
        if trial.wheel != wheel.name or trial.shape not in wheel.clears:
            continue
        found = compared(project, trial)
        rows = tuple(Row(_compared(gap, numbers)) for gap in found.gaps)
        yield Table(
            f"Trial fit {trial.name}: {trial.shape}", columns, rows, _notes(trial, found.hindrance, numbers)
        )


def _compared(gap: ComparedGap, numbers: Numbers) -> tuple[str, ...]:
    difference = gap.difference_mm
    return (
        str(gap.measured.zone),
        numbers.place(gap.at_wheel),
        numbers.length(gap.measured.gap_mm),
        numbers.length(gap.computed_mm),
        "" if difference is None else ("+" if difference > 0.0 else "") + numbers.length(difference),
        numbers.length(gap.allowed_mm),
        "yes" if gap.agrees else "no" if difference is not None else "",
        gap.note,
    )


def _notes(trial: TrialFit, hindrance: str, numbers: Numbers) -> tuple[str, ...]:
    when = trial.on or "no date"
    by = f" by {trial.by}" if trial.by.strip() else ""
    error = numbers.length(trial.error_mm, with_unit=True)
    return (
        f"Measured on {when}{by}, to {error} either way. {_TURNED[trial.turned]} Computed: the bare wheel at "
        "rest, to the outline as it is drawn now.",
        f"It proves the outline no further: {hindrance}" if hindrance else "It proves the outline.",
    )


def misfits(project: Project, wheel: Wheel, numbers: Numbers) -> Iterator[Table]:
    """Yield the table of earlier trial fits that warn of this wheel; nothing where there are none."""
    found = past_misfits(project, wheel)
    if not found:
        return
    columns = (
        Column("Trial fit", 2.4),
        Column("Date", 1.5),
        Column("Wheel", 2.6),
        Column("Brake", 2.6),
        Column("Concerns", 2.4),
        STATE,
        Column("What was found", 6.0),
    )
    rows = tuple(Row((m.name, m.on, m.wheel, m.shape, m.related, _found(m, numbers)), m.state) for m in found)
    yield Table("Related past misfits (internal)", columns, rows)


def _found(misfit: Misfit, numbers: Numbers) -> str:
    said = ["did not turn freely"] if misfit.touched else []
    said += [
        f"{zone} {numbers.length(measured)} measured, {numbers.length(computed)} computed"
        for zone, measured, computed in misfit.short
    ]
    return "; ".join(said)

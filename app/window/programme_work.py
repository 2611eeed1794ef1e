"""The work of the die programme's window, done in a thread: coverage, the plan, then what hangs on it."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, replace

from app.project import edits
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.executor import CORES, SERIAL, StoppedError
from app.studies.limits import drawn, width_row
from app.studies.programme import highs, inputs
from app.studies.programme.highs import CancelledError, Solver
from app.studies.programme.plans import Plan
from app.studies.programme.solve import solve
from app.studies.programme.worth import cost_curve, die_worths
from app.studies.roadmap.coverage import Coverage, CoverCell, coverage, usable_blanks
from app.studies.roadmap.need import need_wheel
from app.studies.roadmap.plan import RoadmapPlan
from app.studies.roadmap.question import asked
from app.views.programme_tables import Deeper
from geometry.errors import GeometryError

#: Told what is worked on, how many of how many are done; 0 of 0 where nobody knows.
Tell = Callable[[str, int, int], None]

#: What is raised where the person stopped the work.
STOPPED = (StoppedError, CancelledError)
#: What there must be before anything can be read.
NO_FITMENTS = (
    "The roadmap is empty: add fitments with Project, New fitment, then read again. Each says what it needs, "
    "whether it must be served, its years and its volumes."
)
NO_BLANKS = (
    "No blank to cut from: draw one with Project, New blank, or find one with Project, Smallest blank of a "
    "group; then read again."
)


@dataclass(frozen=True)
class Read:
    """What one reading was asked.

    Attributes:
        project: as it was.
        question: of the choice.
        time_limit_s: for the choice, and for all that is counted after it.
        cores: use all of them for the coverage.
        known: a coverage of the same project, where it is there already.
    """

    project: Project
    question: inputs.Question
    time_limit_s: float
    cores: bool = False
    known: Coverage | None = None


def missing(project: Project) -> str:
    """Return what there must be before anything can be read; empty where it is there."""
    if not project.fitments:
        return NO_FITMENTS
    return "" if usable_blanks(project) else NO_BLANKS


def read_coverage(read: Read, tell: Tell, stop: threading.Event) -> Coverage:
    """Return the coverage.

    Raises:
        StoppedError: it was stopped.
        GeometryError: what lacks.
    """
    if lacks := missing(read.project):
        raise GeometryError(lacks)

    def told(done: int, of: int) -> bool:
        tell("rows", done, of)
        return not stop.is_set()

    return read.known or coverage(read.project, where=CORES if read.cores else SERIAL, progress=told)


def read_plan(read: Read, found: Coverage, tell: Tell, stop: threading.Event) -> RoadmapPlan:
    """Return the plan of a coverage.

    Raises:
        CancelledError: it was stopped.
        ProgrammeError: what cannot be planned with.
    """
    question = asked(read.project, found, read.question)

    def told(progress: highs.Progress) -> None:
        tell("seconds of choosing", int(progress.elapsed_s), int(read.time_limit_s))

    with Solver() as solver:
        plan = solve(
            question.programme,
            time_limit_s=read.time_limit_s,
            progress=told,
            cancelled=stop.is_set,
            solver=solver,
        )
    return RoadmapPlan(found, question, plan)


def read_deeper(read: Read, found: RoadmapPlan, tell: Tell, stop: threading.Event) -> Deeper:
    """Return what is found by solving again: other numbers of dies, each die left out, half the wheels.

    Raises:
        CancelledError: it was stopped.
    """
    programme = found.asked.programme
    with Solver() as solver:
        tell("counts: other numbers of dies", 0, 3)
        curve = cost_curve(programme, time_limit_s=read.time_limit_s, cancelled=stop.is_set, solver=solver)
        tell("counts: each die left out", 1, 3)
        worths = die_worths(
            programme, found.plan, time_limit_s=read.time_limit_s, cancelled=stop.is_set, solver=solver
        )
        tell("counts: half the wheels", 2, 3)
        halved = _halved(programme, read.time_limit_s, stop, solver)
    return Deeper(curve, worths, halved)


def _halved(programme: inputs.Programme, limit_s: float, stop: threading.Event, solver: Solver) -> Plan:
    rows = tuple(replace(r, volumes={y: 0.5 * v for y, v in r.volumes.items()}) for r in programme.rows)
    return solve(
        replace(programme, rows=rows),
        time_limit_s=limit_s,
        most_runners_up=0,
        cancelled=stop.is_set,
        solver=solver,
    )


def of_coverage(project: Project) -> tuple[object, ...]:
    """Return what a coverage hangs on: of the wheels those that fitments name."""
    named = {fitment.wheel for fitment in project.fitments}
    return (
        project.fitments,
        project.blanks,
        tuple(wheel for wheel in project.wheels if wheel.name in named),
        project.shapes,
        project.rule_sets,
        project.conditions,
        project.materials,
        project.rates,
    )


def of_plan(project: Project) -> tuple[object, ...]:
    """Return what a plan and its words hang on."""
    return (*of_coverage(project), project.programme, project.currency, project.display_unit)


def cut_wheel(project: Project, cell: CoverCell) -> Wheel:
    """Return the wheel of a cell at the inset that decides it, in its blank, seated best, under a new name.

    Raises:
        GeometryError: it cannot be drawn there.
        EditError: fitment or blank are no longer in the project.
    """
    fitment = edits.find(project, edits.FITMENT, cell.fitment)
    need = need_wheel(project, fitment, compromise=cell.compromise)
    if need.wheel is None:
        raise GeometryError(" ".join(need.unknown))
    inset = need.insets[0] if cell.inset_mm is None else cell.inset_mm
    width = need.wheel.size.width_code
    made = replace(drawn(need.wheel, width, inset), blank=cell.blank)
    # Seated as the coverage seats it, so that the new version reads what the cell says.
    seat = width_row(project, replace(need.wheel, blank=cell.blank), width, (inset,), None).cells[0].seat_mm
    name = edits.free_name(project, edits.WHEEL, f"{cell.fitment} in {cell.blank}, ET {inset:g}")
    return replace(made, name=name, seat_mm=seat)

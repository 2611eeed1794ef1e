"""The work of the die programme's window, in a thread: coverage, plan, what hangs on it, risk, enquiry."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, replace

from app.language import tr
from app.project import edits
from app.project.project import Fitment, Project
from app.project.wheel import Wheel
from app.studies.executor import SERIAL, Progress, StoppedError, opened
from app.studies.limits import drawn, width_row
from app.studies.programme import highs, inputs
from app.studies.programme.highs import CancelledError, Solver
from app.studies.programme.plans import Plan
from app.studies.programme.solve import solve
from app.studies.programme.worth import cost_curve, die_worths
from app.studies.roadmap.coverage import Coverage, CoverCell, coverage, usable_blanks
from app.studies.roadmap.die_money import die_money
from app.studies.roadmap.dossier import Dossier, Wanted, with_risk
from app.studies.roadmap.enquiry import enquire
from app.studies.roadmap.need import need_wheel
from app.studies.roadmap.plan import RoadmapPlan, wants
from app.studies.roadmap.question import asked
from app.studies.roadmap.risk import sensitivity
from app.studies.roadmap.scenarios import ScenarioSettings
from geometry.errors import GeometryError

#: Told what is worked on, how many of how many are done; 0 of 0 where nobody knows.
Tell = Callable[[str, int, int], None]

#: What is raised where the person stopped the work.
STOPPED = (StoppedError, CancelledError)
#: What there must be before anything can be read.
NO_FITMENTS = tr(
    "The roadmap is empty: add fitments with Project, New fitment, then read again. Each says what it needs, "
    "whether it must be served, its years and its volumes."
)
NO_BLANKS = tr(
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
        where: independent pieces run: SERIAL, CORES or a cluster's address.
        known: a coverage of the same project, where it is there already.
    """

    project: Project
    question: inputs.Question
    time_limit_s: float
    where: str = SERIAL
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
        tell(tr("rows"), done, of)
        return not stop.is_set()

    return read.known or coverage(read.project, where=read.where, progress=told)


def read_plan(read: Read, found: Coverage, tell: Tell, stop: threading.Event) -> Dossier:
    """Return the plan of a coverage, and nothing beside it yet.

    Raises:
        CancelledError: it was stopped.
        ProgrammeError: what cannot be planned with.
    """
    question = asked(read.project, found, read.question)

    def told(progress: highs.Progress) -> None:
        tell(tr("seconds of choosing"), int(progress.elapsed_s), int(read.time_limit_s))

    with Solver() as solver:
        plan = solve(
            question.programme,
            time_limit_s=read.time_limit_s,
            progress=told,
            cancelled=stop.is_set,
            solver=solver,
        )
    return Dossier(Wanted(read.question), RoadmapPlan(found, question, plan, wants(read.project)))


def read_deeper(read: Read, found: Dossier, tell: Tell, stop: threading.Event) -> tuple[Dossier, Plan]:
    """Return what is found by solving again: other numbers of dies, what each die is worth, half the wheels.

    Raises:
        CancelledError: it was stopped.
    """
    programme, plan, limit_s = found.programme, found.planned.plan, read.time_limit_s
    with Solver() as solver:
        tell(tr("counts: other numbers of dies"), 0, 3)
        curve = cost_curve(programme, time_limit_s=limit_s, cancelled=stop.is_set, solver=solver)
        tell(tr("counts: each die left out"), 1, 3)
        worths = die_worths(programme, plan, time_limit_s=limit_s, cancelled=stop.is_set, solver=solver)
        if stop.is_set():
            raise CancelledError
        money = die_money(programme, plan, worths, time_limit_s=limit_s, solver=solver)
        tell(tr("counts: half the wheels"), 2, 3)
        halved = _halved(programme, limit_s, stop, solver)
    wanted = replace(found.wanted, curve=True, worth=True)
    return replace(found, wanted=wanted, curve=curve, money=money), halved


def read_risk(
    read: Read, found: Dossier, settings: ScenarioSettings, share: float, tell: Tell, stop: threading.Event
) -> Dossier:
    """Return a programme with scenarios, regrets, relaxed rules, and inputs changed by a share of themselves.

    Raises:
        StoppedError, CancelledError: it was stopped.
        GeometryError: no cluster answers, or its optional part is not installed.
    """

    def part(words: str) -> Progress:
        def told(done: int, of: int) -> bool:
            tell(words, done, of)
            return not stop.is_set()

        return told

    made = replace(found, wanted=replace(found.wanted, scenarios=True, settings=settings))
    tell(tr("counts: what may come"), 0, 0)
    with opened(read.where) as executor:
        varied = sensitivity(
            found.programme,
            found.planned.plan,
            executor,
            share=share,
            time_limit_s=read.time_limit_s,
            progress=part(tr("inputs changed")),
        )
        made = with_risk(
            read.project,
            made,
            executor,
            time_limit_s=read.time_limit_s,
            part=part,
            cancelled=stop.is_set,
        )
    return replace(made, sensitivity=varied)


def read_enquiry(read: Read, found: Dossier, fitment: Fitment, tell: Tell, stop: threading.Event) -> Dossier:
    """Return a programme with an enquiry; one of the same name is asked anew.

    Raises:
        StoppedError, CancelledError: it was stopped.
        EditError: it names something that the project does not hold.
        ProgrammeError: what cannot be planned with.
    """

    def told(done: int, of: int) -> bool:
        tell(tr("parts of the enquiry"), done, of)
        return not stop.is_set()

    answer = enquire(
        read.project,
        found.planned.coverage,
        fitment,
        found.wanted.question,
        budget=found.wanted.budget,
        time_limit_s=read.time_limit_s,
        progress=told,
    )
    others = tuple(e for e in found.enquiries if e.fitment != fitment.name)
    return replace(found, enquiries=(*others, answer))


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
    origin = need.wheel.name if need.wheel.name in edits.WHEEL.names(project) else None
    why = f"{cell.fitment} in {cell.blank}"
    return replace(made, name=name, seat_mm=seat, made_from=origin, why=why)

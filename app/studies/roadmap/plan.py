"""The die programme of a project: coverage, the exact choice, and what hangs on it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from app.project.project import Project
from app.project.shop import ShopRates
from app.studies.executor import SERIAL, Progress
from app.studies.programme.inputs import Question
from app.studies.programme.plans import Plan
from app.studies.programme.solve import solve
from app.studies.roadmap.coverage import Coverage, coverage
from app.studies.roadmap.question import Asked, asked
from geometry.errors import GeometryError


@dataclass(frozen=True)
class RoadmapPlan:
    """A plan with what it rests on.

    Attributes:
        coverage: of the fitments by the blanks.
        asked: what was asked, and what could not be.
        plan: the answer.
        wants: fitments of which somebody said that they may be refused.
    """

    coverage: Coverage
    asked: Asked
    plan: Plan
    wants: frozenset[str] = frozenset()

    @property
    def uncovered(self) -> tuple[str, ...]:
        """Fitments that nothing serves or of which something is not known, by name."""
        unserved = {u.row for u in self.plan.uncovered} | {name for name, _ in self.asked.not_known}
        return tuple(sorted(unserved))

    @property
    def must_uncovered(self) -> tuple[str, ...]:
        """Must rows, and rows of which nobody said, that are uncovered."""
        rows = {row.name: row.is_must for row in self.asked.programme.rows}
        return tuple(name for name in self.uncovered if rows.get(name, name not in self.wants))

    @property
    def served_by(self) -> dict[str, str]:
        """Fitment to the blanks that serve it, in the order of years: 'C18, then A18'."""
        found: dict[str, dict[str, None]] = {}
        for served in sorted(self.plan.served, key=lambda s: (s.row, s.year, s.option)):
            found.setdefault(served.row, {})[served.option] = None
        return {row: ", then ".join(options) for row, options in found.items()}


def plan_roadmap(
    project: Project,
    question: Question = Question.LEAST_COST,
    *,
    rates: ShopRates | None = None,
    where: str = SERIAL,
    known: Coverage | None = None,
    time_limit_s: float = 60.0,
    progress: Progress | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> RoadmapPlan:
    """Return the die programme of a project.

    Args:
        project: holds the roadmap.
        question: what is asked.
        rates: of the shop; the project's where None.
        where: the coverage is computed: SERIAL, CORES or a cluster's address.
        known: a coverage of the same project that is there already.
        time_limit_s: for the choice.
        progress: told after each fitment; False cancels.
        cancelled: asked while the choice is made.

    Raises:
        GeometryError: there is no fitment.
        StoppedError, CancelledError: it was cancelled.
        ProgrammeError: what cannot be planned with.
    """
    if not project.fitments:
        raise GeometryError("The roadmap is empty: add fitments, or paste them from a spreadsheet.")
    found = known or coverage(project, rates=rates, where=where, progress=progress)
    question_asked = asked(project, found, question)
    plan = solve(question_asked.programme, time_limit_s=time_limit_s, cancelled=cancelled)
    return RoadmapPlan(found, question_asked, plan, wants(project))


def wants(project: Project) -> frozenset[str]:
    """Return the fitments that may be refused, whether or not they can be planned."""
    refusable = project.programme.may_refuse
    return frozenset(f.name for f in project.fitments if refusable and f.must is False)

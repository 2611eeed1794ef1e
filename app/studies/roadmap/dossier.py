"""The whole of a die programme, as far as it is asked for: plan, curve, worth of each die, scenarios."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from dataclasses import dataclass, replace

from app.project import edits
from app.project.project import Project
from app.project.shop import ShopRates
from app.studies.executor import SERIAL, Progress, opened
from app.studies.programme.inputs import Programme, Question
from app.studies.programme.plans import Plan
from app.studies.programme.solve import solve
from app.studies.programme.supply import years_of
from app.studies.programme.worth import cost_curve, die_worths
from app.studies.roadmap.coverage import Coverage, coverage
from app.studies.roadmap.die_money import DieMoney, die_money
from app.studies.roadmap.enquiry import Enquiry, enquire
from app.studies.roadmap.plan import RoadmapPlan, wants
from app.studies.roadmap.relaxed import Relaxed, relaxations
from app.studies.roadmap.risk import Regrets, Sensitivity, is_committed, judged, regrets, sensitivity
from app.studies.roadmap.scenarios import SHIPPED_SCENARIOS, ScenarioSettings, ask, scenarios
from app.studies.roadmap.unknowns import Unknown, unknowns
from geometry.errors import GeometryError


@dataclass(frozen=True)
class Wanted:
    """What is asked for beside the plan.

    Attributes:
        budget: for everything that is paid once; None for no limit.
        curve: cost over the number of dies. worth: of each die, and of changed inputs.
        scenarios: what may come, regrets, relaxed rules, what knowing the unknown would change.
        settings: of the scenarios.
        enquiries: fitments of the roadmap that are looked at as if they came in today.
    """

    question: Question = Question.LEAST_COST
    budget: float | None = None
    curve: bool = False
    worth: bool = False
    scenarios: bool = False
    settings: ScenarioSettings = SHIPPED_SCENARIOS
    enquiries: tuple[str, ...] = ()


@dataclass(frozen=True)
class Dossier:
    """A die programme; what was not asked for is empty or None."""

    wanted: Wanted
    planned: RoadmapPlan
    curve: tuple[Plan, ...] = ()
    money: tuple[DieMoney, ...] = ()
    sensitivity: tuple[Sensitivity, ...] = ()
    regrets: Regrets | None = None
    relaxed: tuple[Relaxed, ...] = ()
    enquiries: tuple[Enquiry, ...] = ()
    unknowns: tuple[Unknown, ...] = ()

    @property
    def programme(self) -> Programme:
        """What was asked."""
        return self.planned.asked.programme

    @property
    def uncovered(self) -> tuple[str, ...]:
        """Fitments that nothing serves, that the limits leave, or of which something is not known, by name.

        Without a plan that keeps the limits nothing is served: then all must rows too.
        """
        plan = self.planned.plan
        found = {*self.planned.uncovered, *plan.left, *self._without_wheels()}
        if not plan.is_found:
            found |= {row.name for row in self.programme.rows if row.is_must}
        return tuple(sorted(found))

    def _without_wheels(self) -> Iterator[str]:
        """Yield rows without wheels, as of a volume that is not known, that no blank at hand could serve."""
        opened = {c.option for c in self.planned.plan.commitments}
        at_hand = {o.name for o in self.programme.options if o.name in opened or not is_committed(o)}
        for row in self.programme.rows:
            if not years_of(row) and not any(at_hand & set(mode.costs) for mode in row.modes):
                yield row.name

    @property
    def must_uncovered(self) -> tuple[str, ...]:
        """Those of them that are must rows, or of which something is not known (practice 8)."""
        rows = {row.name: row.is_must for row in self.programme.rows}
        return tuple(n for n in self.uncovered if rows.get(n, n not in self.planned.wants))


def dossier(
    project: Project,
    wanted: Wanted,
    *,
    rates: ShopRates | None = None,
    where: str = SERIAL,
    count: int | None = None,
    known: Coverage | None = None,
    time_limit_s: float = 60.0,
    tell: Callable[[str], Progress | None] | None = None,
) -> Dossier:
    """Return a project's die programme with what is wanted beside it.

    Args:
        project: holds the roadmap.
        wanted: what is asked.
        rates: of the shop; the project's where None.
        where: independent pieces run: SERIAL, CORES or a cluster's address; the result is the same.
        count: of processes for CORES; None for all cores.
        known: a coverage of the same project that is there already.
        time_limit_s: for each choice.
        tell: returns the progress of a part, by its words.

    Raises:
        GeometryError: there is no fitment.
        EditError: an enquiry that is no fitment of the project.
        StoppedError: it was cancelled.
        ProgrammeError: what cannot be planned with.
    """
    if not project.fitments:
        raise GeometryError("The roadmap is empty: add fitments, or paste them from a spreadsheet.")

    def part(words: str) -> Progress | None:
        return None if tell is None else tell(words)

    asked_for = [edits.find(project, edits.FITMENT, name) for name in wanted.enquiries]
    found = known or coverage(project, rates=rates, where=where, progress=part("fitments covered"))
    asked = ask(project, found, wanted.question, wanted.budget)
    plan = solve(asked.programme, time_limit_s=time_limit_s)
    made = Dossier(wanted, RoadmapPlan(found, asked, plan, wants(project)))
    if asked_for:
        told = [
            enquire(
                project,
                found,
                fitment,
                wanted.question,
                budget=wanted.budget,
                rates=rates,
                time_limit_s=time_limit_s,
            )
            for fitment in asked_for
        ]
        made = replace(made, enquiries=tuple(told))
    if wanted.curve:
        made = replace(made, curve=cost_curve(asked.programme, time_limit_s=time_limit_s))
    if not plan.is_found or not (wanted.worth or wanted.scenarios):
        return made
    with opened(where, count) as executor:
        if wanted.worth:
            worths = die_worths(asked.programme, plan, time_limit_s=time_limit_s)
            money = die_money(asked.programme, plan, worths, time_limit_s=time_limit_s)
            varied = sensitivity(
                asked.programme, plan, executor, time_limit_s=time_limit_s, progress=part("inputs varied")
            )
            made = replace(made, money=money, sensitivity=varied)
        if wanted.scenarios:
            made = with_risk(project, made, executor, rates=rates, time_limit_s=time_limit_s, part=part)
    return made


def with_risk(
    project: Project,
    made: Dossier,
    executor: Executor,
    *,
    rates: ShopRates | None = None,
    time_limit_s: float = 60.0,
    part: Callable[[str], Progress | None] = lambda _words: None,
    cancelled: Callable[[], bool] | None = None,
) -> Dossier:
    """Return a die programme with what may come, the regret table, rules relaxed, and the unknown known.

    Args:
        project: that was planned.
        made: the programme; its plan is found.
        executor: as `executor.opened` gives it; the result is the same on each.
        rates: of the shop; the project's where None.
        time_limit_s: for each choice.
        part: returns the progress of a part, by its words; False cancels.
        cancelled: asked while dies are left out.

    Raises:
        StoppedError, CancelledError: it was cancelled.
        ProgrammeError: a setting that cannot be planned with.
    """
    wanted, found, plan = made.wanted, made.planned.coverage, made.planned.plan
    question = judged(wanted.question)
    base = made.programme
    if question is not wanted.question:
        base = ask(project, found, question, wanted.budget).programme
    what = scenarios(
        project,
        found,
        question,
        plan,
        executor,
        budget=wanted.budget,
        settings=wanted.settings,
        rates=rates,
        progress=part("fitments with a larger brake"),
    )
    also = [("the plan", plan)] + [
        (f"without {w.option}", w.without)
        for w in die_worths(base, plan, time_limit_s=time_limit_s, cancelled=cancelled)
        if w.without.is_found
    ]
    table = regrets(what, executor, also=also, time_limit_s=time_limit_s, progress=part("scenarios"))
    less = relaxations(
        project,
        found,
        wanted.question,
        plan,
        executor,
        budget=wanted.budget,
        rates=rates,
        time_limit_s=time_limit_s,
        progress=part("rows with a rule relaxed"),
    )
    open_rows = unknowns(
        project,
        found,
        made.planned.asked,
        plan,
        executor,
        wanted.question,
        budget=wanted.budget,
        time_limit_s=time_limit_s,
        progress=part("unknown fitments taken as known"),
    )
    return replace(made, regrets=table, relaxed=less, unknowns=open_rows)

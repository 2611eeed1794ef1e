"""What knowing an unknown fitment would change: the plan solved anew with it covered, and with it not.

A fitment of which something is not known counts as uncovered (practice.md 8) and nothing is planned for it.
Here it is taken as known, one way after the other: no blank cuts it, any blank of its diameter does, each of
them alone does. What a wheel then costs is that of the nearest fitment that the blank cuts; years, volume and
must are taken as stated, and what nobody said is named. Nothing of it is kept.
"""

from __future__ import annotations

import statistics
from concurrent.futures import Executor
from dataclasses import dataclass, replace

from app.project import edits
from app.project.programme import Volumes
from app.project.project import Fitment, Project
from app.studies.executor import Progress, run_all
from app.studies.programme.inputs import Mode, Programme, Question, Row
from app.studies.programme.plans import Plan
from app.studies.roadmap.coverage import Coverage, CoverRow
from app.studies.roadmap.question import Asked, asked_volumes
from app.studies.roadmap.risk import best_plan, is_committed
from app.studies.roadmap.scenarios import ask

#: An inch of width weighs like so many mm of inset when the nearest fitment is looked for.
_INCH_MM = 25.4


@dataclass(frozen=True)
class IfKnown:
    """The plan with an unknown fitment taken as known.

    Attributes:
        words: how it is taken: 'no blank cuts it', 'any blank of its diameter cuts it', 'A18 alone cuts it'.
        blanks: that are taken to cut it.
        change: of what the question minimises, in money, against the plan; None where there is no plan.
        added, dropped: what is paid once then and not now, and now and not then, by name.
        opened: all that is then paid once or is an own die. is_served: the plan then serves it.
        is_proven: True where both plans are.
    """

    words: str
    blanks: tuple[str, ...]
    change: float | None
    added: tuple[str, ...]
    dropped: tuple[str, ...]
    opened: tuple[str, ...]
    is_served: bool
    is_proven: bool


@dataclass(frozen=True)
class Unknown:
    """A fitment of which something is not known.

    Attributes:
        why: what is not known, a sentence.
        taken: what stands here for what nobody said, each a sentence.
        cases: the ways it may turn out, none that cuts it first; empty where no blank is at hand for it.
    """

    fitment: str
    why: str
    taken: tuple[str, ...]
    cases: tuple[IfKnown, ...]

    @property
    def may_change_dies(self) -> bool:
        """True where some way it turns out changes what is paid once."""
        return any(case.added or case.dropped for case in self.cases)

    @property
    def range(self) -> tuple[float, float] | None:
        """Least and greatest change of what the question minimises; None where none is known."""
        found = [case.change for case in self.cases if case.change is not None]
        return (min(found), max(found)) if found else None


def unknowns(
    project: Project,
    found: Coverage,
    asked: Asked,
    plan: Plan,
    executor: Executor,
    question: Question,
    *,
    budget: float | None = None,
    time_limit_s: float = 60.0,
    progress: Progress | None = None,
) -> tuple[Unknown, ...]:
    """Return what knowing each unknown fitment would change, in the order of the roadmap.

    Args:
        project: holds the roadmap.
        found: its coverage.
        asked: the question of the plan.
        plan: its answer.
        executor: as `executor.opened` gives it; the result is the same on each.
        question: of the plan.
        budget: for everything that is paid once.
        time_limit_s: for each plan.
        progress: told after each plan; False cancels.

    Raises:
        StoppedError: progress said so.
        ProgrammeError: a setting that cannot be planned with.
    """
    covers = {row.fitment: row for row in found.rows if not row.compromise}
    rows: list[tuple[str, str, tuple[str, ...], Programme, list[tuple[str, Row]]]] = []
    for name, why in asked.not_known:
        fitment, taken = _filled(project, asked, edits.find(project, edits.FITMENT, name))
        others = tuple(fitment if f.name == name else f for f in project.fitments)
        known = ask(replace(project, fitments=others), found, question, budget)
        base, row = known.programme, _row_of(known.programme, name)
        if row is None:
            row, more = _likely(project, base, fitment, covers[name])
            taken = (*taken, *more)
        rows.append((name, why, taken, _without(base, name), _ways(row)))
    jobs = [
        (replace(base, rows=(*base.rows, row)), time_limit_s)
        for _, _, _, base, ways in rows
        for _, row in ways
    ]
    plans = iter(run_all(executor, best_plan, jobs, progress))
    options = {o.name: o for o in asked.programme.options}
    paid = {c.option for c in plan.commitments if is_committed(options[c.option])}
    made = []
    for name, why, taken, base, ways in rows:
        paying = {o.name for o in base.options if is_committed(o)}
        cases = tuple(_case(words, row, plan, next(plans), paid, paying) for words, row in ways)
        made.append(Unknown(name, why, taken, cases))
    return tuple(made)


def _case(words: str, row: Row, plan: Plan, then: Plan, paid: set[str], paying: set[str]) -> IfKnown:
    found = {c.option for c in then.commitments} & paying
    blanks = tuple(sorted({name for mode in row.modes for name in mode.costs}))
    both = plan.is_found and then.is_found
    return IfKnown(
        words,
        blanks,
        then.objective - plan.objective if both else None,
        tuple(sorted(found - paid)) if both else (),
        tuple(sorted(paid - found)) if both else (),
        then.opened,
        any(s.row == row.name for s in then.served),
        plan.verdict == then.verdict == "proven",
    )


def _ways(row: Row) -> list[tuple[str, Row]]:
    """Return the ways it may turn out, each with the row as it would then be; none without a blank."""
    names = sorted({name for mode in row.modes if not mode.is_compromise for name in mode.costs})
    if not names:
        return []
    found = [("no blank cuts it", replace(row, modes=()))]
    if len(names) > 1:
        found.append(("any blank of its diameter cuts it", row))
    return found + [(f"{name} alone cuts it", _only(row, name)) for name in names]


def _only(row: Row, name: str) -> Row:
    modes = tuple(replace(m, costs={name: m.costs[name]}) for m in row.modes if name in m.costs)
    return replace(row, modes=modes)


def _row_of(programme: Programme, name: str) -> Row | None:
    return next((row for row in programme.rows if row.name == name), None)


def _without(programme: Programme, name: str) -> Programme:
    return replace(programme, rows=tuple(row for row in programme.rows if row.name != name))


# What stands for what nobody said


def _filled(project: Project, asked: Asked, fitment: Fitment) -> tuple[Fitment, tuple[str, ...]]:
    """Return a fitment with years, volume and must, and what was taken for them."""
    years = asked.programme.years or (project.programme.first_year or 0,)
    taken: list[str] = []
    first, last = fitment.first_year, fitment.last_year
    if first is None:
        first = years[0] if last is None else min(years[0], last)
        taken.append(f"Its first year is taken as {first}.")
    if last is None:
        last = max(years[-1], first)
        taken.append(f"Its last year is taken as {last}.")
    if last < first:
        first, last = last, first
        taken.append(f"Its years are taken as {first} to {last}.")
    made = replace(fitment, first_year=first, last_year=last)
    if made.must is None:
        made = replace(made, must=True)
        taken.append("It is taken as a must row.")
    if made.certainty is None and project.programme.by_certainty:
        made = replace(made, certainty=1.0)
        taken.append("It is taken as certain.")
    return _with_volume(project, asked, made, taken), tuple(taken)


def _with_volume(project: Project, asked: Asked, fitment: Fitment, taken: list[str]) -> Fitment:
    low, likely, high = fitment.volume_low, fitment.volume_likely, fitment.volume_high
    of = {Volumes.LOW: low, Volumes.LIKELY: likely, Volumes.HIGH: high}
    if of[project.programme.volumes] is not None:
        return fitment
    stated = [v for v in (likely, low, high) if v is not None]
    others = [max(row.volumes.values()) for row in asked.programme.rows if row.volumes]
    volume = stated[0] if stated else round(statistics.median(others)) if others else 0
    whose = "another of its volumes" if stated else "the median of the others"
    taken.append(f"Its volume is taken as {volume:g} a year, {whose}.")
    of[project.programme.volumes] = volume
    return replace(
        fitment,
        volume_low=of[Volumes.LOW],
        volume_likely=of[Volumes.LIKELY],
        volume_high=of[Volumes.HIGH],
    )


def _likely(
    project: Project, programme: Programme, fitment: Fitment, cover: CoverRow
) -> tuple[Row, tuple[str, ...]]:
    """Return a row that every blank of its diameter cuts, at what the nearest fitment costs from it."""
    others = {f.name: f for f in project.fitments}
    costs: dict[str, float] = {}
    like: dict[str, str] = {}
    for row in sorted(programme.rows, key=lambda r: (_apart(fitment, others.get(r.name)), r.name)):
        other = others.get(row.name)
        if other is None or fitment.diameter_code not in (None, other.diameter_code):
            continue
        for mode in row.modes:
            for blank, cost in mode.costs.items():
                if not mode.is_compromise and blank not in costs and blank in {c.blank for c in cover.cells}:
                    costs[blank], like[blank] = cost, row.name
    said = ", ".join(f"{blank} as {row}" for blank, row in sorted(like.items()))
    mode = Mode(costs, fitment.contribution or 0.0)
    must = bool(fitment.must) or not project.programme.may_refuse
    row = Row(fitment.name, asked_volumes(project, fitment), (mode,) if costs else (), must)
    return row, ((f"A wheel costs as the nearest fitment from the same blank: {said}.",) if said else ())


def _apart(one: Fitment, other: Fitment | None) -> float:
    """Return how far two needs are apart, mm: widths and the middles of their inset windows."""
    if other is None:
        return float("inf")
    width = abs((one.width_code or 0.0) - (other.width_code or 0.0)) if one.width_code else 0.0
    inset = _middle(one)
    return width * _INCH_MM + (0.0 if inset is None else abs(inset - (_middle(other) or 0.0)))


def _middle(fitment: Fitment) -> float | None:
    ends = [x for x in (fitment.inset_low_mm, fitment.inset_high_mm) if x is not None]
    return statistics.mean(ends) if ends else None

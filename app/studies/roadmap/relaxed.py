"""What relaxing one rule would gain: rows that miss by no more than the relaxation are read again.

A relaxation is a question to whoever holds the rule, never a cure: nothing of it is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

from app.project import edits
from app.project.project import Fitment, Project
from app.project.shop import ShopRates
from app.studies.executor import Progress, run_all
from app.studies.programme.inputs import Question
from app.studies.programme.plans import Plan
from app.studies.roadmap.coverage import Coverage, CoverCell, CoverRow, cover_row
from app.studies.roadmap.risk import best_plan
from app.studies.roadmap.scenarios import ask
from geometry.readings.rules import GapRule, RuleSet, WallRule
from geometry.shape.section import Zone

#: Lip wall, gap and inset window are relaxed by this, mm; what is asked first.
LIP_MM, GAP_MM, INSET_MM = 0.5, 2.0, 3.0
#: Zones of the lips.
_LIPS = (Zone.INNER_LIP, Zone.OUTER_LIP)
#: Two windows this near are one, mm.
_SAME_MM = 0.05


@dataclass(frozen=True)
class Gained:
    """A cell that a relaxation opens: fitment, blank, what decided before and by how much it missed."""

    fitment: str
    blank: str
    what: str
    miss_mm: float | None
    words: str


@dataclass(frozen=True)
class Relaxed:
    """What one relaxation gains.

    Attributes:
        words: the relaxation.
        looked_at: cells that were read again.
        gained: those of them that are then covered.
        new_rows: rows that no blank covered before.
        change: of the plan's objective; None where there is no plan, or where must rows are newly served, so
            that the two do not compare.
        opened: what is then paid once.
        newly_served: must rows.
    """

    words: str
    looked_at: int
    gained: tuple[Gained, ...]
    new_rows: tuple[str, ...]
    change: float | None
    opened: tuple[str, ...]
    newly_served: tuple[str, ...]


_Job = tuple[Project, Fitment, bool, tuple[str, ...], ShopRates]


def relaxations(
    project: Project,
    found: Coverage,
    question: Question,
    plan: Plan,
    executor: Executor,
    *,
    budget: float | None = None,
    rates: ShopRates | None = None,
    time_limit_s: float = 60.0,
    progress: Progress | None = None,
) -> tuple[Relaxed, ...]:
    """Return what half a millimetre of lip, two of gap, and a narrower inset window would gain.

    Args:
        project: holds the roadmap.
        found: its coverage; rows that miss by more than the relaxation are not read again.
        question: of the plan.
        budget: for everything that is paid once.
        plan: as it is now.
        executor: as `executor.opened` gives it.
        rates: of the shop; the project's where None.
        time_limit_s: for each plan.
        progress: told after each row; False cancels.

    Raises:
        StoppedError: progress said so.
    """
    shop = rates or project.rates
    ways: tuple[tuple[str, Callable[[CoverRow, Fitment], list[tuple[_Job, str]]]], ...] = (
        (f"{LIP_MM:g} mm less lip", lambda row, f: _lip(project, row, f, shop)),
        (f"{GAP_MM:g} mm less gap", lambda row, f: _gap(project, row, f, shop)),
        (
            f"inset windows narrower by up to {INSET_MM:g} mm",
            lambda row, f: _inset(project, row, f, shop),
        ),
    )
    asked: list[tuple[int, int, _Job, str]] = []
    for way, (_, jobs_of) in enumerate(ways):
        for k, row in enumerate(found.rows):
            if row.own is not None and not row.compromise:
                fitment = edits.find(project, edits.FITMENT, row.fitment)
                asked += [(way, k, job, words) for job, words in jobs_of(row, fitment)]
    read = run_all(executor, cover_row, [job for _, _, job, _ in asked], progress)
    made = []
    for way, (words, _) in enumerate(ways):
        mine = [(k, said, row) for (of, k, _, said), row in zip(asked, read, strict=True) if of == way]
        made.append(_told(project, found, question, budget, plan, words, mine, time_limit_s))
    return tuple(made)


def _told(
    project: Project,
    found: Coverage,
    question: Question,
    budget: float | None,
    plan: Plan,
    words: str,
    read: Sequence[tuple[int, str, CoverRow]],
    time_limit_s: float,
) -> Relaxed:
    rows, gained = list(found.rows), []
    for k, said, anew in read:
        cells = {c.blank: c for c in anew.cells if c.is_covered}
        for old in rows[k].cells:
            if not old.is_covered and old.blank in cells:
                gained.append(Gained(old.fitment, old.blank, old.what, old.spare_mm, said))
        kept = tuple(cells.get(c.blank, c) if not c.is_covered else c for c in rows[k].cells)
        rows[k] = replace(rows[k], cells=kept)
    after = replace(found, rows=tuple(rows))
    looked = sum(len(row.cells) for _, _, row in read)
    before = {row.fitment for row in found.rows if row.is_covered}
    new = tuple(row.fitment for row in rows if row.is_covered and row.fitment not in before)
    if not gained:
        return Relaxed(words, looked, (), (), 0.0 if plan.is_found else None, plan.opened, ())
    other = best_plan(ask(project, after, question, budget).programme, time_limit_s)
    served = tuple(sorted(set(plan.must_uncovered) - set(other.must_uncovered)))
    change = other.objective - plan.objective if plan.is_found and other.is_found and not served else None
    return Relaxed(words, looked, tuple(gained), new, change, other.opened, served)


def _missing(row: CoverRow, within: float, reads: Callable[[CoverCell], bool]) -> tuple[str, ...]:
    """Return the blanks whose cell misses by no more than this in a reading of a kind."""
    return tuple(
        c.blank
        for c in row.cells
        if not c.is_covered and c.spare_mm is not None and -within <= c.spare_mm < 0.0 and reads(c)
    )


def _lip(project: Project, row: CoverRow, fitment: Fitment, rates: ShopRates) -> list[tuple[_Job, str]]:
    """Relax the wall of the lips and the lip that the row asks for, or the stock that is missing at a lip.

    Where the blank lacks metal at a lip, that is the stock that the rules ask for there: never below none.
    """
    made = []
    if blanks := _missing(row, LIP_MM, lambda c: c.of_wheel and "lip" in c.what):
        thinner = _with_rules(project, row, _less_lip)
        asked = fitment
        if fitment.lip_mm is not None:
            asked = replace(fitment, lip_mm=max(fitment.lip_mm - LIP_MM, 0.0))
        made.append(((thinner, asked, False, blanks, rates), f"lip {LIP_MM:g} mm thinner"))
    if blanks := _missing(row, LIP_MM, lambda c: not c.of_wheel and "lip" in c.what):
        less = _with_rules(project, row, _less_lip_stock)
        made.append(((less, fitment, False, blanks, rates), f"{LIP_MM:g} mm less stock at the lips"))
    return made


def _gap(project: Project, row: CoverRow, fitment: Fitment, rates: ShopRates) -> list[tuple[_Job, str]]:
    """Relax every gap rule, on paper and in the worst state; never below touching."""
    blanks = _missing(row, GAP_MM, lambda c: c.of_wheel and " to " in c.what)
    if not blanks:
        return []
    made = _with_rules(project, row, _less_gap)
    return [((made, fitment, False, blanks, rates), f"gap {GAP_MM:g} mm less")]


def _inset(project: Project, row: CoverRow, fitment: Fitment, rates: ShopRates) -> list[tuple[_Job, str]]:
    """Narrow the window to what a blank gives of it, where that is nearly all."""
    low, high = fitment.inset_low_mm, fitment.inset_high_mm
    if low is None or high is None or high - low < _SAME_MM:
        return []
    made: list[tuple[_Job, str]] = []
    for cell in row.cells:
        windows = [w for w in cell.insets if (high - low) - (w[1] - w[0]) <= INSET_MM]
        if cell.is_covered or cell.of_wheel or not windows:
            continue
        a, b = max(windows, key=lambda w: w[1] - w[0])
        # Ends that were searched for are drawn in a little, to whole tenths.
        a, b = _tenth_up(max(a, low)), -_tenth_up(-min(b, high))
        if a <= b:
            narrower = replace(fitment, inset_low_mm=a, inset_high_mm=b)
            made.append(
                (
                    (project, narrower, False, (cell.blank,), rates),
                    f"inset {a:g} to {b:g}" if a < b else f"inset {a:g} alone",
                )
            )
    return made


def _tenth_up(value: float) -> float:
    return -(-value * 10.0 // 1.0) / 10.0


def _with_rules(project: Project, row: CoverRow, change: Callable[[RuleSet], RuleSet]) -> Project:
    """Return the project with the rule set of a row's wheel changed."""
    name = None if row.need.wheel is None else row.need.wheel.rules
    sets = tuple(change(s) if s.name == name else s for s in project.rule_sets)
    return replace(project, rule_sets=sets)


def _less_lip(rules: RuleSet) -> RuleSet:
    def less(rule: WallRule) -> WallRule:
        return replace(rule, required_mm=max(rule.required_mm - LIP_MM, 0.0)) if rule.zone in _LIPS else rule

    return replace(rules, wall=tuple(map(less, rules.wall)))


def _less_lip_stock(rules: RuleSet) -> RuleSet:
    """Return the rules with less stock at the lips, each rule of its own or the general one."""
    asked = [(zone, rules.for_stock(zone)) for zone in _LIPS]
    less = tuple(
        replace(rule, zone=zone, required_mm=max(rule.required_mm - LIP_MM, 0.0))
        for zone, rule in asked
        if rule is not None
    )
    return replace(rules, stock=(*(s for s in rules.stock if s.zone not in _LIPS), *less))


def _less_gap(rules: RuleSet) -> RuleSet:
    def less(rule: GapRule) -> GapRule:
        paper, worst = (max(x - GAP_MM, 0.0) for x in (rule.paper_mm, rule.worst_mm))
        return replace(rule, paper_mm=paper, worst_mm=worst)

    return replace(rules, gap=tuple(map(less, rules.gap)))

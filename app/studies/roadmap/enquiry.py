"""A new enquiry: covered, by its compromise, nearly (and what it takes) or not; what it does to the plan."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from app.project import edits
from app.project.project import Fitment, Project
from app.project.shop import ShopRates
from app.project.wheel import Wheel
from app.studies.cuttable import Cuttable, what_would_cut
from app.studies.executor import Progress, StoppedError
from app.studies.limits import drawn
from app.studies.offers import Offer, offers
from app.studies.programme.highs import Solver
from app.studies.programme.inputs import Programme, Question
from app.studies.programme.plans import Plan
from app.studies.programme.solve import solve
from app.studies.roadmap.coverage import Coverage, CoverCell, CoverRow, cover_row
from app.studies.roadmap.own_part import COVERED
from app.studies.roadmap.question import COMPROMISE
from app.studies.roadmap.scenarios import ask

#: A fitment that lacks no more metal than this somewhere is nearly covered, mm; common practice, no source.
NEAR_MM = 5.0
#: A blank that ends so far inside the wheel's outside is of a smaller diameter: half of an inch in radius.
OTHER_DIAMETER_MM = 25.4 / 4.0


@dataclass(frozen=True)
class Mend:
    """What would make an enquiry's wheel cuttable from a blank."""

    cell: CoverCell
    found: Cuttable


@dataclass(frozen=True)
class Enquiry:
    """An enquiry against blanks and plan.

    Attributes:
        answer: 'covered', 'by compromise' (not in full, but by what it allows), 'nearly', 'not' or 'not
            known'.
        row: its coverage in full.
        blanks: of the plan and outside that cover it now, in full or else by its compromise.
        cures: changes after which the wheel by itself clears its brake and holds its rules.
        mends: what it would take in a blank of its diameter, the one with the smallest miss first.
        no_blank: True where every blank ends inside the wheel: none at hand is of its diameter.
        before, after: the plan without it and with it.
        compromise: its coverage by the compromise that it allows, None where it allows none.
        compromise_words: what that is.
    """

    fitment: str
    answer: str
    row: CoverRow
    blanks: tuple[str, ...]
    cures: tuple[Offer, ...]
    mends: tuple[Mend, ...]
    before: Plan
    after: Plan
    compromise: CoverRow | None = None
    compromise_words: str = ""
    no_blank: bool = False

    @property
    def served_as(self) -> str:
        """How the plan with it serves it: 'in full', the compromise in words; empty where it does not."""
        return next((s.mode for s in self.after.served if s.row == self.fitment), "")

    @property
    def change(self) -> float | None:
        """By how much the objective changes; None where there is no plan on either side."""
        if not (self.before.is_found and self.after.is_found):
            return None
        return self.after.objective - self.before.objective

    @property
    def is_served(self) -> bool:
        """True where the plan with it serves it."""
        return any(s.row == self.fitment for s in self.after.served)


def enquire(
    project: Project,
    found: Coverage,
    fitment: Fitment,
    question: Question = Question.LEAST_COST,
    *,
    budget: float | None = None,
    rates: ShopRates | None = None,
    most_mends: int = 2,
    time_limit_s: float = 60.0,
    progress: Progress | None = None,
) -> Enquiry:
    """Return how a new fitment stands to the blanks, and the best plans without it and with it.

    Args:
        project: holds roadmap and blanks; the enquiry may be one of its fitments or not.
        found: the coverage of the roadmap, with or without the enquiry.
        fitment: the enquiry.
        question: of the plans.
        budget: for everything that is paid once, in both plans.
        rates: of the shop; the project's where None.
        most_mends: blanks for which it is looked up what it would take.
        time_limit_s: for each plan.
        progress: told after each part, and asked again and again within; False cancels.

    Raises:
        StoppedError, CancelledError: progress said so.
        EditError: it names something that the project does not hold.
        ProgrammeError: a setting that cannot be planned with.
    """
    shop = rates or project.rates
    without = replace(project, fitments=tuple(f for f in project.fitments if f.name != fitment.name))
    whole = replace(without, fitments=(*without.fitments, fitment))
    rest = replace(found, rows=tuple(r for r in found.rows if r.fitment != fitment.name))
    steps = _Steps(progress, most_mends)
    modes = (False, True) if fitment.compromise is not None else (False,)
    rows = tuple(cover_row(whole, fitment, mode, found.blanks, shop) for mode in modes)
    steps.done()
    before = _best(ask(without, rest, question, budget).programme, time_limit_s, steps)
    joined = replace(rest, rows=(*rest.rows, *rows))
    after = _best(ask(whole, joined, question, budget).programme, time_limit_s, steps)
    row = rows[0]
    in_mm = replace(whole, display_unit="mm")  # as every length that is told of a roadmap
    cures = _cures(in_mm, row, steps)
    of_size = _of_size(whole, row)
    mends = () if row.is_covered else _mends(in_mm, row, of_size, most_mends, steps)
    less = rows[1] if len(rows) > 1 else None
    shown = less if less is not None and less.is_covered and not row.is_covered else row
    blanks = tuple(c.blank for c in shown.cells if c.is_covered)
    words = "" if fitment.compromise is None else fitment.compromise.words or COMPROMISE
    answer = _answer(row, cures, less)
    return Enquiry(fitment.name, answer, row, blanks, cures, mends, before, after, less, words, not of_size)


class _Steps:
    """How far an enquiry is, and whether it is to go on."""

    def __init__(self, progress: Progress | None, most_mends: int) -> None:
        self._progress, self._done = progress, 0
        # Its coverage, two plans, what would make it clear, and what each blank would take.
        self._of = 4 + most_mends

    def stopped(self) -> bool:
        """Return True where it is to stop."""
        return self._progress is not None and not self._progress(self._done, self._of)

    def done(self) -> None:
        """Count a part.

        Raises:
            StoppedError: it is to stop.
        """
        self._done += 1
        if self.stopped():
            raise StoppedError


def _best(programme: Programme, time_limit_s: float, steps: _Steps) -> Plan:
    cancelled: Callable[[], bool] = steps.stopped
    with Solver() as solver:
        plan = solve(
            programme, time_limit_s=time_limit_s, most_runners_up=0, cancelled=cancelled, solver=solver
        )
    steps.done()
    return plan


def _answer(row: CoverRow, cures: Sequence[Offer], less: CoverRow | None = None) -> str:
    if row.is_covered:
        return "covered"
    if less is not None and less.is_covered:
        return "by compromise"
    if row.unknown or (row.cells and all(c.word == "not known" for c in row.cells)):
        return "not known"
    if row.own is not None and row.own.state not in COVERED:
        # Whatever blank there is: the wheel itself must change first.
        near = row.own.spare_mm is not None and row.own.spare_mm >= -NEAR_MM
        return "nearly" if cures and near else "not"
    near = any(c.spare_mm is not None and c.spare_mm >= -NEAR_MM for c in row.cells)
    return "nearly" if near else "not"


def _cures(project: Project, row: CoverRow, steps: _Steps) -> tuple[Offer, ...]:
    """Return what would make a wheel fit that does not by itself, looked at where it misses the most."""
    if row.need.wheel is None or row.own is None or row.own.state in COVERED:
        return ()
    wheel = _at(row, row.own.inset_mm)
    found = tuple(o for o in offers(project, wheel, steps.stopped) if o.is_cure)
    steps.done()
    return found


def _at(row: CoverRow, inset_mm: float | None) -> Wheel:
    assert row.need.wheel is not None
    wheel = row.need.wheel
    return wheel if inset_mm is None else drawn(wheel, wheel.size.width_code, inset_mm)


def _of_size(project: Project, row: CoverRow) -> frozenset[str]:
    """Return the blanks that do not end inside the wheel's outside; all where the wheel is not known."""
    names = frozenset(cell.blank for cell in row.cells)
    if row.need.wheel is None:
        return names
    outside = max(v.r for v in row.need.wheel.section.vertices) - OTHER_DIAMETER_MM
    reach = {name: max(c.r for c in edits.find(project, edits.BLANK, name).corners) for name in names}
    return frozenset(name for name in names if reach[name] >= outside)


def _mends(
    project: Project, row: CoverRow, blanks: frozenset[str], most: int, steps: _Steps
) -> tuple[Mend, ...]:
    """Return what the least missing of these blanks would take; nothing where the wheel decides by itself."""
    if row.need.wheel is None:
        return ()
    missing = [c for c in row.cells if c.blank in blanks and not c.of_wheel]
    missing = [c for c in missing if c.spare_mm is not None and c.spare_mm < 0.0]
    missing.sort(key=lambda c: (-(c.spare_mm or 0.0), c.blank))
    made = []
    for cell in missing[:most]:
        wheel = replace(_at(row, cell.inset_mm), blank=cell.blank)
        found = what_would_cut(project, wheel, steps.stopped)
        steps.done()
        if not found.is_cuttable:
            made.append(Mend(cell, found))
    return tuple(made)

"""A new enquiry: covered, by its compromise, nearly (and what it takes) or not; what it does to the plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from app.project.project import Fitment, Project
from app.project.shop import ShopRates
from app.project.wheel import Wheel
from app.studies.cuttable import Cuttable, what_would_cut
from app.studies.limits import drawn
from app.studies.offers import Offer, offers
from app.studies.programme.inputs import Question
from app.studies.programme.plans import Plan
from app.studies.roadmap.coverage import Coverage, CoverCell, CoverRow, cover_row
from app.studies.roadmap.own_part import COVERED
from app.studies.roadmap.question import COMPROMISE
from app.studies.roadmap.risk import best_plan
from app.studies.roadmap.scenarios import ask

#: A fitment that lacks no more metal than this somewhere is nearly covered, mm; common practice, no source.
NEAR_MM = 5.0


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
        mends: what it would take in a blank, the one with the smallest miss first.
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

    Raises:
        EditError: it names something that the project does not hold.
        ProgrammeError: a setting that cannot be planned with.
    """
    shop = rates or project.rates
    without = replace(project, fitments=tuple(f for f in project.fitments if f.name != fitment.name))
    whole = replace(without, fitments=(*without.fitments, fitment))
    rest = replace(found, rows=tuple(r for r in found.rows if r.fitment != fitment.name))
    modes = (False, True) if fitment.compromise is not None else (False,)
    rows = tuple(cover_row(whole, fitment, mode, found.blanks, shop) for mode in modes)
    before = best_plan(ask(without, rest, question, budget).programme, time_limit_s)
    joined = replace(rest, rows=(*rest.rows, *rows))
    after = best_plan(ask(whole, joined, question, budget).programme, time_limit_s)
    row = rows[0]
    mends = () if row.is_covered else _mends(whole, row, most_mends)
    cures = _cures(whole, row)
    less = rows[1] if len(rows) > 1 else None
    shown = less if less is not None and less.is_covered and not row.is_covered else row
    blanks = tuple(c.blank for c in shown.cells if c.is_covered)
    words = "" if fitment.compromise is None else fitment.compromise.words or COMPROMISE
    answer = _answer(row, cures, less)
    return Enquiry(fitment.name, answer, row, blanks, cures, mends, before, after, less, words)


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


def _cures(project: Project, row: CoverRow) -> tuple[Offer, ...]:
    """Return what would make a wheel fit that does not by itself, looked at where it misses the most."""
    if row.need.wheel is None or row.own is None or row.own.state in COVERED:
        return ()
    wheel = _at(row, row.own.inset_mm)
    return tuple(o for o in offers(project, wheel) if o.is_cure)


def _at(row: CoverRow, inset_mm: float | None) -> Wheel:
    assert row.need.wheel is not None
    wheel = row.need.wheel
    return wheel if inset_mm is None else drawn(wheel, wheel.size.width_code, inset_mm)


def _mends(project: Project, row: CoverRow, most: int) -> tuple[Mend, ...]:
    """Return what the least missing blanks would take; nothing where the wheel decides by itself."""
    if row.need.wheel is None:
        return ()
    missing = [c for c in row.cells if not c.of_wheel and c.spare_mm is not None and c.spare_mm < 0.0]
    missing.sort(key=lambda c: (-(c.spare_mm or 0.0), c.blank))
    made = []
    for cell in missing[:most]:
        wheel = replace(_at(row, cell.inset_mm), blank=cell.blank)
        found = what_would_cut(project, wheel)
        if not found.is_cuttable:
            made.append(Mend(cell, found))
    return tuple(made)

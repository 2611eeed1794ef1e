"""The die programme as tables: dies, what serves what, what is not served, money, coverage, worth."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import NamedTuple

from app.project.project import Fitment, Project
from app.studies.programme.inputs import Row
from app.studies.programme.plans import Commitment, Plan, Served
from app.studies.programme.worth import DieWorth
from app.studies.roadmap.plan import RoadmapPlan
from app.studies.roadmap.question import yearly
from app.views.programme_words import (
    UNPROVED_WORDS,
    blank_kg,
    compromise_name,
    month,
    must_word,
    nearest_words,
    todays_blank,
)

Value = str | int | float | None


class Table(NamedTuple):
    """A table for the screen and for files: money in the project's currency, lengths in mm, masses in kg."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Value, ...], ...]


@dataclass(frozen=True)
class Deeper:
    """What is found by solving again.

    Attributes:
        curve: the best plans with at most 0, 1, 2 ... own dies.
        worths: of each thing paid once.
        halved: the best plan with half the wheels.
    """

    curve: tuple[Plan, ...]
    worths: tuple[DieWorth, ...]
    halved: Plan


def all_tables(project: Project, found: RoadmapPlan, deeper: Deeper | None) -> tuple[Table, ...]:
    """Return every table, those read first before the others."""
    made = [
        dies_table(project, found, deeper),
        serves_table(project, found),
        unserved_table(project, found),
        money_table(found.plan),
        orders_table(found.plan),
        left_out_table(found),
        near_table(found.plan),
    ]
    if deeper is not None:
        made += [curve_table(deeper.curve), worth_table(deeper.worths)]
    return (*made, notes_table(found), coverage_table(project, found))


# Dies


def dies_table(project: Project, found: RoadmapPlan, deeper: Deeper | None = None) -> Table:
    """Return what is paid once: dies, variants, holders; what each is for, and what it excludes."""
    heads = (
        "Die or holder",
        "kind",
        "first use",
        "order by",
        "paid once",
        "lost without it",
        "hangs on it",
        "blank, kg",
        "serves",
        "only it can cut",
        "cannot cut",
    )
    worths = {} if deeper is None else {w.option: w for w in deeper.worths}
    rows = [_die(project, found, c, worths.get(c.option)) for c in found.plan.commitments]
    costs = {h.name: h.cost for h in found.asked.programme.holders}
    shares = {o.name: o.holder for o in found.asked.programme.options}
    for name, year in found.plan.holders:
        users = [c.option for c in found.plan.commitments if shares.get(c.option) == name]
        serves = f"dies {', '.join(users)}" if users else ""
        rows.append((name, "holder", year, "", costs[name], "", "", None, serves, "", ""))
    return Table("Dies and holders", heads, tuple(rows))


def _die(project: Project, found: RoadmapPlan, die: Commitment, worth: DieWorth | None) -> tuple[Value, ...]:
    option = next(o for o in found.asked.programme.options if o.name == die.option)
    alone, never = _alone_and_never(found, die.option)
    hangs = f"{len(die.rows)} rows: {UNPROVED_WORDS}" if die.is_unproved and die.rows else ""
    return (
        die.option,
        str(die.kind),
        die.year,
        month(die.latest_order) if option.fixed > 0.0 else "there already",
        option.fixed,
        lost_words(worth),
        hangs,
        blank_kg(project, die.option),
        ", ".join(die.rows),
        ", ".join(alone),
        ", ".join(never),
    )


def _alone_and_never(found: RoadmapPlan, blank: str) -> tuple[list[str], list[str]]:
    """Return the fitments in full that this blank alone covers, and those that it does not cover."""
    alone, never = [], []
    for row in found.coverage.rows:
        if row.compromise or blank not in found.coverage.blanks:
            continue
        good = [cell.blank for cell in row.cells if cell.is_covered]
        if good == [blank]:
            alone.append(row.fitment)
        if blank not in good:
            never.append(row.fitment)
    return alone, never


def lost_words(worth: DieWorth | None) -> str | float:
    """Return what is lost without a die: money, or the must rows that nothing would serve."""
    if worth is None:
        return ""
    if worth.orphans:
        return f"must rows {', '.join(worth.orphans)}"
    return worth.worth if worth.worth is not None else "no plan without it"


# What serves what


def serves_table(project: Project, found: RoadmapPlan) -> Table:
    """Return what serves each fitment by year, and its blank's mass against today's."""
    plan = found.plan
    years = sorted({s.year for s in plan.served})
    ends = ("hangs", "blank, kg", "today's blank", "today, kg")
    heads = ("Fitment", "asked as", "served", *map(str, years), *ends)
    masses = {blank.name: blank_kg(project, blank.name) for blank in project.blanks}
    by_row: dict[str, list[Served]] = {}
    for served in plan.served:
        by_row.setdefault(served.row, []).append(served)
    rows: list[tuple[Value, ...]] = []
    for fitment in project.fitments:
        mine = by_row.get(fitment.name)
        if mine is None:
            continue
        cells = [_of_year(mine, year) for year in years]
        weights = sorted({w for s in mine if (w := masses.get(s.option)) is not None})
        kg: Value = weights[0] if len(weights) == 1 else " to ".join(f"{w:.1f}" for w in weights)
        today = todays_blank(project, fitment)
        hangs = UNPROVED_WORDS if fitment.name in plan.hanging else ""
        todays = None if today is None else masses.get(today)
        rows.append((fitment.name, must_word(fitment), mine[0].mode, *cells, hangs, kg, today or "", todays))
    return Table("What serves each fitment", heads, tuple(rows))


def _of_year(served: list[Served], year: int) -> str:
    return " + ".join(f"{s.option} {s.wheels:,.0f}" for s in served if s.year == year)


def unserved_table(project: Project, found: RoadmapPlan) -> Table:
    """Return the rows that are not served: nothing can, refused, left by the limits, or not known."""
    fitments = {f.name: f for f in project.fitments}
    plan = found.plan
    rows: list[tuple[Value, ...]] = []
    for uncovered in plan.uncovered:
        why = f"{uncovered.why}{nearest_words(found.coverage, uncovered.row)}"
        rows.append((uncovered.row, "uncovered", None, None, why))
    for name, why in found.asked.not_known:
        rows.append((name, "not known: uncovered", None, None, f"What must be known: {why}"))
    for name in plan.left:
        rows.append((name, "left", None, None, "the limits leave no room for it"))
    for refused in plan.refused:
        rows.append((refused.row, "refused", refused.contribution, refused.cost, refused.why))
    told = {row[0] for row in rows} | {s.row for s in plan.served}
    if plan.is_found:
        idle = [row for row in found.asked.programme.rows if row.name not in told]
        rows += [(r.name, "not planned", None, None, _idle(project, fitments[r.name], r)) for r in idle]
    named = [(row[0], must_word(fitments[str(row[0])]), *row[1:]) for row in rows]
    heads = ("Fitment", "asked as", "what of it", "contribution, present value", "cost, present value", "why")
    return Table("Rows not served, and why", heads, tuple(named))


def _idle(project: Project, fitment: Fitment, row: Row) -> str:
    if yearly(project, fitment) is None:
        return "its volume is not known; planned with no wheels"
    return "the question serves must rows alone" if any(row.volumes.values()) else "no wheels in these years"


def left_out_table(found: RoadmapPlan) -> Table:
    """Return the blanks that are no option."""
    return Table("Blanks left out, and why", ("Blank", "why"), found.asked.left_out)


def near_table(plan: Plan) -> Table:
    """Return the plans within 0.1 %."""
    rows = tuple(
        (", ".join(r.opened) or "nothing paid once", "a tie" if r.is_tie else "nearly as good", r.dearer)
        for r in plan.runners_up
    )
    more = "" if plan.all_runners_up or not plan.is_found else ", there may be more"
    return Table(f"Other sets within 0.1 %{more}", ("Paid once", "how near", "dearer by"), rows)


def notes_table(found: RoadmapPlan) -> Table:
    """Return what was taken for what nobody said."""
    rows = [(note,) for note in found.asked.notes]
    for row in found.coverage.rows:
        rows += [(f"{row.fitment}: {note}",) for note in row.need.notes if not row.compromise]
    return Table("Taken for what nobody said", ("Note",), tuple(dict.fromkeys(rows)))


# Money


def money_table(plan: Plan) -> Table:
    """Return money by year as it is paid, not discounted."""
    heads = (
        "Year",
        "dies",
        "holders",
        "pieces",
        "left over",
        "set-ups",
        "cutting less chips",
        "contribution",
        "cash",
        "cash so far",
        "press hours",
    )
    sums = list(accumulate(y.cash for y in plan.years))
    rows = tuple(
        (
            y.year,
            y.dies,
            y.holders,
            y.pieces,
            y.left_over,
            y.set_ups,
            y.beside,
            y.contribution,
            y.cash,
            so_far,
            y.press_hours,
        )
        for y, so_far in zip(plan.years, sums, strict=True)
    )
    return Table("Money by year", heads, rows)


def orders_table(plan: Plan) -> Table:
    """Return what is ordered of each blank by year."""
    rows = tuple((o.option, o.year, o.used, o.left_over, o.press_hours) for o in plan.orders)
    return Table("Orders by year", ("Blank", "year", "used", "left over", "press hours"), rows)


def curve_table(curve: Sequence[Plan]) -> Table:
    """Return the best plan at each number of dies."""
    rows = tuple(
        (k, p.dies if p.is_found else None, _finite(p.cost), _finite(p.value), p.verdict, ", ".join(p.opened))
        for k, p in enumerate(curve)
    )
    heads = ("Own dies at most", "own dies", "cost", "present value", "verdict", "paid once")
    return Table("Cost over number of dies", heads, rows)


def worth_table(worths: Sequence[DieWorth]) -> Table:
    """Return what is lost without each die."""
    rows = tuple(
        (w.option, w.worth, ", ".join(w.orphans), "proven" if w.is_proven else "not proven") for w in worths
    )
    heads = ("Without", "lost, present value", "must rows that nothing would serve", "sure")
    return Table("Worth of each die", heads, rows)


def coverage_table(project: Project, found: RoadmapPlan) -> Table:
    """Return all cells."""
    fitments = {f.name: f for f in project.fitments}
    rows: list[tuple[Value, ...]] = []
    for row in found.coverage.rows:
        fitment = fitments[row.fitment]
        mode = compromise_name(fitment) if row.compromise else "in full"
        for c in row.cells:
            insets = " and ".join(f"{low:.1f} to {high:.1f}" for low, high in c.insets)
            decides, tried = "wheel" if c.of_wheel else "blank", "no" if c.unproved else "yes"
            cell = (c.blank, c.word, c.what, c.spare_mm, c.inset_mm, decides, insets, tried)
            amounts = (c.blank_cost, c.cost, c.chips_kg, c.wheel_kg)
            rows.append((row.fitment, must_word(fitment), mode, *cell, *amounts))
    heads = (
        "Fitment",
        "asked as",
        "mode",
        "blank",
        "state",
        "decided by",
        "spare, mm",
        "at inset, mm",
        "decides",
        "insets that stock allows, mm",
        "tried out",
        "blank, a piece",
        "cutting less chips, a wheel",
        "chips, kg",
        "wheel, kg",
    )
    return Table("Coverage", heads, tuple(rows))


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None

"""A die programme as tables: the same cells for a person, for pages, and for a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterator

from app.project.project import Project
from app.studies.programme.inputs import Question
from app.studies.roadmap.coverage import CoverCell
from app.studies.roadmap.die_money import excluded
from app.studies.roadmap.dossier import Dossier
from app.studies.roadmap.plan_words import latest_words, miss_words, option_words, served_words, wheels_served
from app.studies.roadmap.question import yearly
from app.studies.roadmap.risk import is_committed
from app.studies.roadmap.risk_tables import (
    enquiry_sheet,
    money_sheet,
    regrets_sheet,
    relaxed_sheet,
    scenarios_sheet,
    sensitivity_sheet,
)
from app.studies.roadmap.sheet import Cell, Head, Sheet

_MONEY, _MM, _COUNT = ",.0f", ".2f", ".0f"


def sheets(project: Project, found: Dossier) -> Iterator[Sheet]:
    """Yield the tables of a die programme; what was not asked for is left out."""
    yield coverage_sheet(project, found)
    yield dies_sheet(project, found)
    yield served_sheet(project, found)
    yield left_sheet(project, found)
    yield options_sheet(found)
    yield years_sheet(found)
    if found.enquiries:
        yield enquiry_sheet(found)
    if found.curve:
        yield curve_sheet(found)
    if found.money:
        yield money_sheet(found)
    if found.sensitivity:
        yield sensitivity_sheet(found)
    if found.regrets is not None:
        yield scenarios_sheet(found)
        yield regrets_sheet(found)
        yield relaxed_sheet(found)


def coverage_sheet(project: Project, found: Dossier) -> Sheet:
    """Return every cell of the coverage, one a row; lengths in mm, negative for what is missing."""
    must = {f.name: f.must for f in project.fitments}
    heads = (
        Head("fitment", "Fitment"),
        Head("need", "Need"),
        Head("served_as", "Served"),
        Head("blank", "Blank"),
        Head("state", "Cuttable"),
        Head("spare_mm", "Spare, mm", _MM),
        Head("decides", "Decides", share=5.0),
        Head("at_inset_mm", "At inset", ".1f"),
        Head("unproved", "Blank unproved"),
        Head("cost", "Beside the blank", _MM),
        Head("blank_cost", "Blank", _MM),
        Head("chips_kg", "Chips, kg", _MM),
    )
    rows = tuple(
        (
            c.fitment,
            need_words(must[c.fitment]),
            "by compromise" if c.compromise else "in full",
            c.blank,
            c.word,
            c.spare_mm,
            c.what,
            c.inset_mm,
            "yes" if c.unproved else "no",
            c.cost,
            c.blank_cost,
            c.chips_kg,
        )
        for row in found.planned.coverage.rows
        for c in row.cells
    )
    return Sheet("coverage", "Coverage", heads, rows)


def need_words(must: bool | None) -> str:
    """Return 'must', 'want', or that nobody said."""
    return "not said" if must is None else "must" if must else "want"


def dies_sheet(project: Project, found: Dossier) -> Sheet:
    """Return what the plan commits: when, for what, and what each leaves out."""
    plan, option = found.planned.plan, {o.name: o for o in found.programme.options}
    sizes = {f.name: f.diameter_code for f in project.fitments}
    heads = (
        Head("die", "Die", share=1.2),
        Head("kind", "Kind", share=1.5),
        Head("state", "Blank is", share=1.5),
        Head("first_year", "Used from", "d", 1.1),
        Head("latest_order", "Order by the end of", share=2.2),
        Head("paid_once", "Paid once", _MONEY, 1.5),
        Head("serves", "Serves", share=5.0),
        Head("excludes", "Leaves out (its diameter, nearest first)", share=6.5),
    )
    rows: list[tuple[Cell, ...]] = []
    for c in plan.commitments:
        of = option[c.option]
        there = not is_committed(of)
        left = excluded(found.planned.coverage, c.option, sizes)
        cells = [left_words(x, x.fitment in c.rows) for x in left[:4]]
        more = f" and {len(left) - 4} more" if len(left) > 4 else ""
        order = "is there" if there else latest_words(c.latest_order)
        rows.append(
            (
                c.option,
                str(of.kind),
                str(of.state),
                c.year,
                order,
                of.fixed,
                ", ".join(c.rows) or "nothing",
                (", ".join(cells) + more) or "nothing",
            )
        )
    holders = {h.name: h.cost for h in found.programme.holders}
    notes = [f"Holder {name}, paid for {year}: {holders[name]:,.0f}." for name, year in plan.holders]
    return Sheet("dies", "Dies and tools", heads, tuple(rows), tuple(notes))


def left_words(cell: CoverCell, by_compromise: bool) -> str:
    """Return what a blank cannot be cut to, with what decides and the miss in mm."""
    name = f"{cell.fitment} in full" if by_compromise else cell.fitment
    return (
        f"{name} ({cell.what})"
        if cell.spare_mm is None
        else f"{name} ({cell.what} {miss_words(cell.spare_mm)})"
    )


def served_sheet(project: Project, found: Dossier) -> Sheet:
    """Return what serves each fitment, by which mode, and how many wheels."""
    must = {f.name: f.must for f in project.fitments}
    heads = (
        Head("fitment", "Fitment"),
        Head("need", "Need"),
        Head("blank", "Blank", share=4.0),
        Head("mode", "Served", share=4.0),
        Head("wheels", "Wheels in all", _COUNT),
    )
    rows = tuple(
        (name, need_words(must.get(name)), blanks, mode, wheels)
        for name, blanks, mode, wheels in served_words(found)
    )
    return Sheet("served", "What serves which fitment", heads, rows)


def left_sheet(project: Project, found: Dossier) -> Sheet:
    """Return the fitments that are not served, and why."""
    must = {f.name: f.must for f in project.fitments}
    heads = (
        Head("fitment", "Fitment", share=1.2),
        Head("need", "Need", share=1.0),
        Head("how", "Stands", share=2.0),
        Head("why", "Why, or what must be known", share=9.0),
    )
    plan, asked = found.planned.plan, found.planned.asked
    rows: list[tuple[Cell, ...]] = []

    def add(name: str, how: str, why: str) -> None:
        rows.append((name, need_words(must.get(name)), how, why))

    for name, why in asked.not_known:
        add(name, "not known", why)
    for uncovered in plan.uncovered:
        add(uncovered.row, "uncovered", f"{uncovered.why}{_nearest(found, uncovered.row)}")
    for refused in plan.refused:
        add(refused.row, "refused", refused.why)
    for name in plan.left:
        add(name, "left by the limits", "the limits leave no room for it")
    done = {str(r[0]) for r in rows} | {s.row for s in plan.served}
    for row in found.programme.rows:
        if row.name not in done:
            fitment = next(f for f in project.fitments if f.name == row.name)
            known = yearly(project, fitment) is not None
            add(row.name, *_not_planned(found, known, sum(row.volumes.values())))
    rows.sort(key=lambda r: (r[2] != "not known", r[2] != "uncovered", str(r[2]), str(r[0])))
    return Sheet("not_served", "Refused, uncovered and not known", heads, tuple(rows))


def _nearest(found: Dossier, fitment: str) -> str:
    """Return the blank that misses a fitment by the least, in words."""
    row = next(r for r in found.planned.coverage.rows if r.fitment == fitment and not r.compromise)
    missing = [c for c in row.cells if not c.is_covered and c.spare_mm is not None and c.spare_mm < 0.0]
    if not missing:
        return ""
    best = max(missing, key=lambda c: (c.spare_mm or 0.0, c.blank))
    where = "in any blank" if best.of_wheel else f"in {best.blank}"
    return f"; nearest: {best.what}, {miss_words(best.spare_mm or 0.0)} mm {where}"


def _not_planned(found: Dossier, known: bool, wheels: float) -> tuple[str, str]:
    if not found.planned.plan.is_found:
        return "not planned", "no plan keeps the limits"
    if not known:
        return "not known", "Its volume is not known: it is planned with none."
    if wheels <= 0.0:
        return "no wheels", "it has no volume in the years of the programme"
    if found.wanted.question in (Question.LEAST_COST, Question.FEWEST_DIES):
        return "not asked for", "this question serves must rows alone; --question value weighs want rows too"
    return "not served", "the plan leaves it"


def options_sheet(found: Dossier) -> Sheet:
    """Return every blank of the coverage: chosen, not chosen, or no option and why."""
    heads = (
        Head("blank", "Blank", share=1.2),
        Head("kind", "Kind", share=2.0),
        Head("price", "A piece", _MM, 1.4),
        Head("state", "Blank is", share=1.5),
        Head("stands", "Stands", share=8.0),
    )
    plan = found.planned.plan
    used = {s.option for s in plan.served}
    rows: list[tuple[Cell, ...]] = [
        (o.name, str(o.kind), o.price, str(o.state), option_words(o.name, plan.opened, used))
        for o in found.programme.options
    ]
    rows += [(name, None, None, None, f"left out: {why}") for name, why in found.planned.asked.left_out]
    notes = tuple(found.planned.asked.notes)
    return Sheet("blanks", "Blanks", heads, tuple(rows), notes)


def years_sheet(found: Dossier) -> Sheet:
    """Return the money of each calendar year as it is paid, undiscounted, and hours of the press."""
    heads = (
        Head("year", "Year", "d", 1.0),
        Head("dies", "Dies", _MONEY),
        Head("holders", "Holders", _MONEY),
        Head("pieces", "Pieces", _MONEY),
        Head("left_over", "Left over", _MONEY),
        Head("set_ups", "Set-ups", _MONEY),
        Head("beside", "Machining", _MONEY),
        Head("contribution", "Contribution", _MONEY),
        Head("cash", "Cash", _MONEY),
        Head("sum", "Sum so far", _MONEY),
        Head("press_hours", "Press hours", _COUNT, 1.4),
    )
    rows: list[tuple[Cell, ...]] = []
    total = 0.0
    for y in found.planned.plan.years:
        total += y.cash
        money = (y.dies, y.holders, y.pieces, y.left_over, y.set_ups, y.beside, y.contribution)
        rows.append((y.year, *money, y.cash, total, y.press_hours))
    note = "As paid, not discounted; cash is contribution less everything paid. Machining is less chips."
    return Sheet("years", "Cash by year", heads, tuple(rows), (note,))


def curve_sheet(found: Dossier) -> Sheet:
    """Return the best plan over the number of own dies."""
    heads = (
        Head("most_dies", "At most dies", "d", 1.2),
        Head("verdict", "Proof", share=1.6),
        Head("cost", "Cost", _MONEY),
        Head("contribution", "Contribution", _MONEY),
        Head("value", "Value", _MONEY),
        Head("wheels", "Wheels", _COUNT, 1.2),
        Head("must_uncovered", "Must rows left", share=2.4),
        Head("chosen", "Chosen", share=5.0),
    )
    rows: list[tuple[Cell, ...]] = []
    for dies, plan in enumerate(found.curve):
        money = (plan.cost, plan.contribution, plan.value) if plan.is_found else (None, None, None)
        must = {row.name for row in found.programme.rows if row.is_must}
        left = ", ".join((*plan.must_uncovered, *(n for n in plan.left if n in must))) or "none"
        wheels = wheels_served(plan) if plan.is_found else None
        why = "; ".join(plan.impossible)
        chosen = ", ".join(plan.opened) or why
        rows.append((dies, plan.verdict, *money, wheels, left if plan.is_found else None, chosen))
    note = (
        "Present values. A plan that leaves must rows costs less than one that serves them: do not compare."
    )
    return Sheet("curve", "Best plan over the number of own dies", heads, tuple(rows), (note,))

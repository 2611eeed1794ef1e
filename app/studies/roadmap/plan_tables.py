"""A die programme as tables: the same cells in the window, on a terminal, on pages and in a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import accumulate

from app.project.project import Fitment, Project
from app.studies.programme.inputs import Question
from app.studies.programme.plans import Commitment, Served
from app.studies.roadmap.coverage import CoverCell
from app.studies.roadmap.die_money import excluded
from app.studies.roadmap.dossier import Dossier
from app.studies.roadmap.plan_words import (
    NO_TOOLS,
    chosen_words,
    left_out_words,
    nearest_words,
    need_words,
    option_words,
    order_words,
    served_words,
    spare_words,
    wheels_served,
)
from app.studies.roadmap.question import yearly
from app.studies.roadmap.risk_tables import (
    enquiry_sheet,
    money_sheet,
    regrets_sheet,
    relaxed_sheet,
    scenarios_sheet,
    sensitivity_sheet,
)
from app.studies.roadmap.sheet import Cell, Head, Sheet
from app.studies.roadmap.unknown_tables import unknowns_sheet
from geometry.readings.solid import volume_mm3
from geometry.shape.curve import Path
from geometry.shape.outline import outline_path

_MONEY, _MM, _KG, _COUNT = ",.0f", ".2f", ".1f", ",.0f"


def sheets(project: Project, found: Dossier, most_sets: int = 26) -> Iterator[Sheet]:
    """Yield the tables of a die programme; what was not asked for is left out.

    Args:
        project: that was planned.
        found: the programme.
        most_sets: of tools in the regret table.
    """
    yield coverage_sheet(project, found)
    yield dies_sheet(project, found)
    yield served_sheet(project, found)
    yield left_sheet(project, found)
    yield options_sheet(project, found)
    yield years_sheet(project, found)
    yield orders_sheet(found)
    yield near_sheet(project, found)
    yield notes_sheet(found)
    if found.enquiries:
        yield enquiry_sheet(project, found)
    if found.curve:
        yield curve_sheet(project, found)
    if found.money:
        yield money_sheet(project, found)
    if found.sensitivity:
        yield sensitivity_sheet(project, found)
    if found.regrets is not None:
        yield scenarios_sheet(project, found)
        yield regrets_sheet(project, found, most_sets)
        yield relaxed_sheet(project, found)
    if found.unknowns:
        yield unknowns_sheet(project, found)


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
        Head("part", "Part that decides", share=0.0),
        Head("at_inset_mm", "At inset, mm", ".1f"),
        Head("insets_mm", "Insets that stock allows, mm", share=0.0),
        Head("unproved", "Blank unproved"),
        Head("cost", "Beside the blank, a wheel", _MM),
        Head("blank_cost", "Blank, a piece", _MM),
        Head("chips_kg", "Chips, kg", _MM),
        Head("wheel_kg", "Wheel, kg", _MM, 0.0),
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
            "wheel" if c.of_wheel else "blank",
            c.inset_mm,
            " and ".join(f"{low:.1f} to {high:.1f}" for low, high in c.insets),
            "yes" if c.unproved else "no",
            c.cost,
            c.blank_cost,
            c.chips_kg,
            c.wheel_kg,
        )
        for row in found.planned.coverage.rows
        for c in row.cells
    )
    return Sheet("coverage", "Coverage", heads, rows)


# Dies and blanks


def dies_sheet(project: Project, found: Dossier) -> Sheet:
    """Return what the plan commits: when, for what, and what each leaves out."""
    plan = found.planned.plan
    heads = (
        Head("die", "Die", share=1.2),
        Head("kind", "Kind", share=1.5),
        Head("state", "Blank is", share=1.5),
        Head("first_year", "Used from", "d", 1.1),
        Head("latest_order", "Order by the end of", share=2.2),
        Head("paid_once", of_money(project, "Paid once"), _MONEY, 1.5),
        Head("blank_kg", "Blank, kg", _KG, 0.0),
        Head("serves", "Serves", share=5.0),
        Head("hangs", "Hangs on it, not tried out", share=0.0),
        Head("only", "No other blank cuts", share=0.0),
        Head("excludes", "Leaves out (its diameter, nearest first)", share=6.5),
    )
    rows = [_die(project, found, c) for c in plan.commitments]
    costs = {h.name: h.cost for h in found.programme.holders}
    shares = {o.name: o.holder for o in found.programme.options}
    for name, year in plan.holders:
        users = [c.option for c in plan.commitments if shares.get(c.option) == name]
        serves = f"dies {', '.join(users)}" if users else "nothing"
        rows.append((name, "holder", None, year, None, costs[name], None, serves, None, None, None))
    return Sheet("dies", "Dies and tools", heads, tuple(rows))


def _die(project: Project, found: Dossier, c: Commitment) -> tuple[Cell, ...]:
    of = next(o for o in found.programme.options if o.name == c.option)
    sizes = {f.name: f.diameter_code for f in project.fitments}
    cover = found.planned.coverage
    left = excluded(cover, c.option, sizes)
    cells = [left_words(x, x.fitment in c.rows) for x in left[:4]]
    more = f" and {len(left) - 4} more" if len(left) > 4 else ""
    full = [row for row in cover.rows if not row.compromise]
    only = [row.fitment for row in full if [x.blank for x in row.cells if x.is_covered] == [c.option]]
    return (
        c.option,
        str(of.kind),
        str(of.state),
        c.year,
        order_words(of, c.latest_order),
        of.fixed,
        blank_kg(project, c.option),
        ", ".join(c.rows) or "nothing",
        ", ".join(c.rows) if c.is_unproved else None,
        ", ".join(only) or None,
        (", ".join(cells) + more) or "nothing",
    )


def left_words(cell: CoverCell, by_compromise: bool) -> str:
    """Return what a blank cannot be cut to, with what decides and the miss in mm."""
    name = f"{cell.fitment} in full" if by_compromise else cell.fitment
    miss = "" if cell.spare_mm is None else f", {spare_words(cell.spare_mm)}"
    return f"{name} ({cell.what}{miss})"


def options_sheet(project: Project, found: Dossier) -> Sheet:
    """Return every blank of the coverage: chosen, not chosen, or no option and why."""
    heads = (
        Head("blank", "Blank", share=1.2),
        Head("kind", "Kind", share=2.0),
        Head("price", of_money(project, "A piece"), _MM, 1.4),
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


def blank_kg(project: Project, name: str) -> float | None:
    """Return the mass of a blank as drawn, in the project's first material; None where there is none."""
    blank = next((b for b in project.blanks if b.name == name), None)
    path = None if blank is None else outline_path(blank.corners)
    if not isinstance(path, Path) or not project.materials:
        return None
    return float(volume_mm3(path) * project.materials[0].density_kg_m3 * 1e-9)


# Fitments


def served_sheet(project: Project, found: Dossier) -> Sheet:
    """Return what serves each fitment, by which mode, how many wheels, and its blank against today's."""
    plan = found.planned.plan
    fitments = {f.name: f for f in project.fitments}
    years = sorted({s.year for s in plan.served})
    heads = (
        Head("fitment", "Fitment"),
        Head("need", "Need"),
        Head("blank", "Blank", share=4.0),
        Head("mode", "Served", share=4.0),
        Head("wheels", "Wheels in all", _COUNT),
        *(Head(f"in_{year}", str(year), share=0.0) for year in years),
        Head("hangs", "Blank is", share=0.0),
        Head("blank_kg", "Blank, kg", share=0.0),
        Head("today", "Today's blank", share=0.0),
        Head("today_kg", "Today's, kg", _KG, 0.0),
    )
    rows: list[tuple[Cell, ...]] = []
    for name, blanks, mode, wheels in served_words(found):
        mine = [s for s in plan.served if s.row == name]
        weights = [w for b in sorted({s.option for s in mine}) if (w := blank_kg(project, b)) is not None]
        kg = " to ".join(dict.fromkeys(f"{w:.1f}" for w in sorted(weights))) or None
        today = _todays_blank(project, fitments[name])
        rows.append(
            (
                name,
                need_words(fitments[name].must),
                blanks,
                mode,
                wheels,
                *(_of_year(mine, year) for year in years),
                "not tried out" if name in plan.hanging else "tried out",
                kg,
                today,
                None if today is None else blank_kg(project, today),
            )
        )
    return Sheet("served", "What serves which fitment", heads, tuple(rows))


def _of_year(served: list[Served], year: int) -> str | None:
    return " + ".join(f"{s.option} {s.wheels:,.0f}" for s in served if s.year == year) or None


def _todays_blank(project: Project, fitment: Fitment) -> str | None:
    wheel = next((w for w in project.wheels if w.name == fitment.wheel), None)
    return None if wheel is None else wheel.blank


def left_sheet(project: Project, found: Dossier) -> Sheet:
    """Return the fitments that are not served, and why."""
    must = {f.name: f.must for f in project.fitments}
    heads = (
        Head("fitment", "Fitment", share=1.2),
        Head("need", "Need", share=1.0),
        Head("how", "Stands", share=2.0),
        Head("contribution", of_money(project, "Contribution"), _MONEY, 0.0),
        Head("cost", of_money(project, "Cost"), _MONEY, 0.0),
        Head("why", "Why, or what must be known", share=9.0),
    )
    plan, asked = found.planned.plan, found.planned.asked
    rows: list[tuple[Cell, ...]] = []

    def add(name: str, how: str, why: str, *money: float | None) -> None:
        rows.append((name, need_words(must.get(name)), how, *(money or (None, None)), why))

    for name, why in asked.not_known:
        add(name, "not known", why)
    for uncovered in plan.uncovered:
        cover = found.planned.coverage
        nearest = left_out_words(found, uncovered.row) or nearest_words(cover, uncovered.row)
        add(uncovered.row, "uncovered", f"{uncovered.why}{nearest}")
    for refused in plan.refused:
        add(refused.row, "refused", refused.why, refused.contribution, refused.cost)
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


def _not_planned(found: Dossier, known: bool, wheels: float) -> tuple[str, str]:
    if not found.planned.plan.is_found:
        return "not planned", "no plan keeps the limits"
    if not known:
        return "not known", "Its volume is not known: it is planned with none."
    if wheels <= 0.0:
        return "no wheels", "it has no volume in the years of the programme"
    if found.wanted.question in (Question.LEAST_COST, Question.FEWEST_DIES):
        return (
            "not asked for",
            "this question serves must rows alone; greatest value weighs want rows too",
        )
    return "not served", "the plan leaves it"


def notes_sheet(found: Dossier) -> Sheet:
    """Return what was taken for what nobody said."""
    rows = [(note,) for note in found.planned.asked.notes]
    for row in found.planned.coverage.rows:
        rows += [(f"{row.fitment}: {note}",) for note in row.need.notes if not row.compromise]
    return Sheet(
        "notes", "Taken for what nobody said", (Head("note", "Note", share=0.0),), tuple(dict.fromkeys(rows))
    )


# Money


def of_money(project: Project, words: str) -> str:
    """Return the head of a column of money, with the project's currency."""
    return f"{words}, {project.currency}" if project.currency else words


def years_sheet(project: Project, found: Dossier) -> Sheet:
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
    years = found.planned.plan.years
    rows: list[tuple[Cell, ...]] = []
    for y, total in zip(years, accumulate(y.cash for y in years), strict=True):
        money = (y.dies, y.holders, y.pieces, y.left_over, y.set_ups, y.beside, y.contribution)
        rows.append((y.year, *money, y.cash, total, y.press_hours))
    note = "As paid, not discounted; cash is contribution less everything paid. Machining is less chips."
    return Sheet("years", of_money(project, "Cash by year"), heads, tuple(rows), (note,))


def orders_sheet(found: Dossier) -> Sheet:
    """Return what is ordered of each blank by year."""
    heads = (
        Head("blank", "Blank", share=0.0),
        Head("year", "Year", "d", 0.0),
        Head("used", "Pieces used", _COUNT, 0.0),
        Head("left_over", "Pieces left over", _COUNT, 0.0),
        Head("press_hours", "Press hours", _KG, 0.0),
    )
    rows = tuple((o.option, o.year, o.used, o.left_over, o.press_hours) for o in found.planned.plan.orders)
    return Sheet("orders", "Orders by year", heads, rows)


def near_sheet(project: Project, found: Dossier) -> Sheet:
    """Return the plans within 0.1 %."""
    plan = found.planned.plan
    heads = (
        Head("chosen", "Paid once", share=0.0),
        Head("how", "How near", share=0.0),
        Head("worse", of_money(project, "Worse by"), _MONEY, 0.0),
    )
    rows = tuple(
        (", ".join(r.opened) or NO_TOOLS, "a tie" if r.is_tie else "nearly as good", r.dearer)
        for r in plan.runners_up
    )
    more = "" if plan.all_runners_up or not plan.is_found else ", there may be more"
    return Sheet("near", f"Other sets within 0.1 %{more}", heads, rows)


def curve_sheet(project: Project, found: Dossier) -> Sheet:
    """Return the best plan over the number of own dies."""
    heads = (
        Head("most_dies", "New dies at most", "d", 1.2),
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
        served = left if plan.is_found else None
        rows.append((dies, plan.verdict, *money, wheels, served, chosen_words(plan)))
    note = (
        "Present values. A plan that leaves must rows costs less than one that serves them: do not compare."
    )
    title = of_money(project, "Best plan over the number of new own dies")
    return Sheet("curve", title, heads, tuple(rows), (note,))

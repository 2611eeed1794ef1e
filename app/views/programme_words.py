"""The die programme in words: the verdict in one sentence, a cell of the coverage, money and dates."""

from __future__ import annotations

import math

from app.project.project import Fitment, Project
from app.reports.numbers import Numbers
from app.reports.sentences import SIGNS
from app.studies.programme.inputs import Question
from app.studies.programme.plans import Plan
from app.studies.roadmap.coverage import Coverage, CoverCell, CoverRow
from app.studies.roadmap.plan import RoadmapPlan
from app.views.readings_text import minus
from geometry.readings.solid import volume_mm3
from geometry.shape.curve import Path
from geometry.shape.outline import outline_path

_NUMBERS = ("No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten")
_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
_MILLION = 1e6
UNPROVED_WORDS = "not tried out"
#: So many names stand in a sentence; the rest is counted.
_MOST_NAMES = 6


def money(value: float | None, currency: str = "") -> str:
    """Return money to three figures or whole, as '3.43 million EUR' or '88,400 EUR'; a dash for none."""
    if value is None or not math.isfinite(value):
        return "–"
    words = f"{value / _MILLION:.2f} million" if abs(value) >= _MILLION else f"{value:,.0f}"
    return f"{'0' if words == '-0' else words} {currency}".rstrip()


def month(latest: float) -> str:
    """Return the end of the month before which an order must be out; 2028.25 is the end of March 2028."""
    year = math.floor(latest + 1e-9)
    months = math.floor((latest - year) * 12.0 + 1e-6)
    return f"end of {_MONTHS[months - 1]} {year}" if months > 0 else f"end of December {year - 1}"


def counted(number: int, what: str) -> str:
    """Return 'Two own dies', 'No own die', '11 own dies'."""
    words = _NUMBERS[number] if number < len(_NUMBERS) else str(number)
    return f"{words} {what}{'' if number in (0, 1) else 's'}"


def names_words(names: tuple[str, ...] | list[str], most: int = _MOST_NAMES) -> str:
    """Return names as a list that ends with how many more there are."""
    if len(names) <= most:
        return ", ".join(names)
    return f"{', '.join(names[:most])} and {len(names) - most} more"


def verdict_words(project: Project, found: RoadmapPlan) -> str:
    """Return what a plan says, in the order in which it is asked: uncovered, dies, money, proof."""
    plan = found.plan
    uncovered = must_uncovered(project, found)
    named = f"{len(uncovered)} ({names_words(uncovered)})" if uncovered else "none"
    if not plan.is_found:
        # Nothing is served without a plan: 'uncovered: none' would say too much.
        return minus(f"{plan_words(project, plan)} Must rows that nothing could serve: {named}.")
    others = len(set(found.uncovered) | set(plan.left)) - len(uncovered)
    more = f" Want rows uncovered: {others}." if others else ""
    said = f"Must rows uncovered: {named}. {plan_words(project, plan)}"
    return minus(f"{said}{ordered_words(found)}{hanging_words(plan)}{more}")


def must_uncovered(project: Project, found: RoadmapPlan) -> tuple[str, ...]:
    """Return the rows that must be served, or of which nobody said, and that are not: left by limits too."""
    wants = {f.name for f in project.fitments if f.must is False and project.programme.may_refuse}
    return tuple(sorted((set(found.uncovered) | set(found.plan.left)) - wants))


def plan_words(project: Project, plan: Plan) -> str:
    """Return number of dies, money, and how sure it is."""
    if plan.verdict == "impossible":
        return f"No plan keeps the limits: {'; '.join(plan.impossible) or 'they contradict each other'}."
    if plan.verdict == "nothing found":
        return "No plan was found in the time: give it more."
    if plan.question is Question.GREATEST_VALUE:
        sum_words = (
            f"worth {money(plan.value, project.currency)} at present value, {money(plan.cost)} of cost"
        )
    else:
        sum_words = f"{money(plan.cost, project.currency)} at present value"
    sure = "proven"
    if plan.verdict != "proven":
        sure = f"not proven: another may be better by up to {100.0 * plan.gap:.2g} %"
    left = f" Left by the limits: {names_words(plan.left)}." if plan.left else ""
    refused = f" Refused: {counted(len(plan.refused), 'want row').lower()}." if plan.refused else ""
    return f"{counted(plan.dies, 'own die')}, {sum_words}, {sure}.{left}{refused}"


def ordered_words(found: RoadmapPlan) -> str:
    """Return what a plan that is found has still to order."""
    fixed = {o.name: o.fixed for o in found.asked.programme.options}
    new = [c.option for c in found.plan.commitments if fixed[c.option] > 0.0]
    return f" To order: {names_words(new)}." if new else " Nothing has to be ordered that is paid once."


def hanging_words(plan: Plan) -> str:
    """Return how many rows hang on blanks that nobody has tried out; empty for none."""
    if not plan.hanging:
        return ""
    rows = "row hangs" if len(plan.hanging) == 1 else "rows hang"
    return f" {len(plan.hanging)} {rows} on blanks that nobody has tried out."


def halved_words(project: Project, plan: Plan, halved: Plan) -> str:
    """Return what becomes of a plan where only half the wheels are sold."""
    if not halved.is_found:
        return f"If volumes halve: {plan_words(project, halved)}"
    gone = sorted(set(plan.opened) - set(halved.opened))
    new = sorted(set(halved.opened) - set(plan.opened))
    parts = [f"without {names_words(gone)}"] * bool(gone) + [f"with {names_words(new)}"] * bool(new)
    same = "the same dies stay best" if plan.opened else "still nothing is paid once"
    change = ", ".join(parts) if parts else same
    said = plan_words(project, halved)
    return minus(f"If volumes halve, {change}: {said[0].lower()}{said[1:]}")


def must_word(fitment: Fitment) -> str:
    """Return must, want, or that nobody said."""
    return {True: "must", False: "want", None: "nobody said"}[fitment.must]


def cell_words(fitment: Fitment, row: CoverRow, cell: CoverCell, numbers: Numbers, currency: str = "") -> str:
    """Return all there is to say of a cell: state, deciding zone, miss, inset, windows, cost, doubts."""
    mode = f" by compromise ({compromise_name(fitment)})" if cell.compromise else ""
    head = f"{cell.fitment}{mode} in {cell.blank}: {SIGNS[cell.state]} {cell.word}"
    said = [f"{head}, {cell.what}" if cell.what else head]
    if cell.spare_mm is not None:
        amount = numbers.length(abs(cell.spare_mm), with_unit=True)
        said[0] += f": {amount} {'short' if cell.spare_mm < 0.0 else 'to spare'}"
    if cell.inset_mm is not None:
        said[0] += f" at ET {cell.inset_mm:g}"
    if cell.of_wheel and row.own is not None:
        said.append("the wheel by itself decides, in whatever blank")
    asked = row.need.insets
    if asked:
        windows = " and ".join(f"ET {low:.1f} to {high:.1f}" for low, high in cell.insets)
        window = f"ET {asked[0]:g}" if len(asked) == 1 else f"ET {asked[0]:g} to {asked[-1]:g}"
        said.append(f"asked {window}, its stock allows {windows or 'none of it'}")
    if cell.cost is not None and cell.blank_cost is not None:
        each = f"{cell.cost + cell.blank_cost:,.0f} {currency}".rstrip()
        said.append(f"{each} a wheel, {cell.blank_cost:,.0f} of it the blank")
    if cell.chips_kg is not None and cell.wheel_kg is not None:
        said.append(f"{cell.chips_kg:.1f} kg of chips, wheel {numbers.mass(cell.wheel_kg)}")
    if cell.unproved:
        said.append("nobody has tried this blank out")
    more = [f"What it takes to know: {' '.join(row.unknown)}"] if len(row.unknown) > 1 else []
    return minus("; ".join(said) + "." + "".join(f"\n{line}" for line in more + list(row.need.notes)))


def nearest_words(found: Coverage, fitment: str) -> str:
    """Return what comes nearest to a row that nothing serves; empty where no miss has a length."""
    row = next((r for r in found.rows if r.fitment == fitment and not r.compromise), None)
    cells = [c for c in row.cells if c.spare_mm is not None and not c.is_covered] if row is not None else []
    if not cells:
        return ""
    best = max(cells, key=lambda c: (c.spare_mm or 0.0, c.blank))
    where = "the wheel by itself" if best.of_wheel else best.blank
    return (
        f"; nearest is {where}, {best.what}: {abs(best.spare_mm or 0.0):.1f} mm short at ET {best.inset_mm:g}"
    )


def compromise_name(fitment: Fitment) -> str:
    """Return the words of a fitment's compromise."""
    given = fitment.compromise
    return (given.words if given is not None else "") or "compromise"


def blank_kg(project: Project, name: str) -> float | None:
    """Return the mass of a blank as drawn, in the project's first material; None where there is none."""
    blank = next((b for b in project.blanks if b.name == name), None)
    path = None if blank is None else outline_path(blank.corners)
    if not isinstance(path, Path) or not project.materials:
        return None
    return float(volume_mm3(path) * project.materials[0].density_kg_m3 * 1e-9)


def todays_blank(project: Project, fitment: Fitment) -> str | None:
    """Return the blank that the fitment's drawn wheel is cut from today; None where none is named."""
    wheel = next((w for w in project.wheels if w.name == fitment.wheel), None)
    return None if wheel is None else wheel.blank

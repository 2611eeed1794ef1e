"""A die programme in words: the verdict, months, what serves what."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator

from app.studies.programme.inputs import Question
from app.studies.programme.plans import Plan
from app.studies.roadmap.dossier import Dossier
from app.studies.roadmap.risk import is_committed

_MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July", "August", "September"),
    *("October", "November", "December"),
)
_ASKED = {
    Question.LEAST_COST: "least cost that serves all must rows",
    Question.GREATEST_VALUE: "greatest present value, want rows weighed",
    Question.FEWEST_DIES: "fewest own dies that serve all must rows",
    Question.BEST_COVER: "most wheels within the limits",
}


def latest_words(year: float) -> str:
    """Return the last whole month before a time in years: 2028.25 is March 2028."""
    months = math.floor(year * 12.0 + 1e-6) - 1
    return f"{_MONTHS[months % 12]} {months // 12}"


def asked_words(question: Question) -> str:
    """Return what was asked."""
    return _ASKED[question]


def counted(names: Collection[str], what: str) -> str:
    """Return a count with its noun: '2 must rows'."""
    if not names:
        return f"no {what}s"
    return f"{len(names)} {what}{'s' * (len(names) != 1)}"


def miss_words(spare_mm: float) -> str:
    """Return a spare in mm to a tenth; a miss never reads as 0."""
    if spare_mm >= 0.0 or round(spare_mm, 1):
        return f"{spare_mm:.1f}"
    return f"{min(spare_mm, -0.01):.2f}"


def proof_words(plan: Plan) -> str:
    """Return how sure the plan is."""
    if plan.verdict == "proven":
        return "proven: no plan is better"
    if plan.verdict == "gap left":
        return f"not proven: time ended with {plan.gap:.2%} between plan and bound"
    if plan.verdict == "impossible":
        return f"no plan keeps the limits: {'; '.join(plan.impossible) or 'they contradict one another'}"
    return "nothing found in the time given"


def verdict_sentence(found: Dossier, currency: str) -> str:
    """Return the answer in one sentence: must rows, dies, money, proof."""
    plan, left = found.planned.plan, found.must_uncovered
    rows = (
        f"{counted(left, 'must row')} uncovered ({', '.join(left)})" if left else "Every must row is served"
    )
    unknown = [name for name, _ in found.planned.asked.not_known]
    if unknown:
        rows += f"; {counted(unknown, 'fitment')} not known ({', '.join(unknown)})"
    if not plan.is_found:
        return f"{rows}; {proof_words(plan)}."
    money = f" {currency}" if currency else ""
    options = {o.name: o for o in found.programme.options}
    new = [c.option for c in plan.commitments if is_committed(options[c.option])]
    there = [c.option for c in plan.commitments if not is_committed(options[c.option])]
    dies = f"{len(new)} to commission ({', '.join(new)})" if new else "none to commission"
    if there:
        dies += f", {len(there)} there already ({', '.join(there)})"
    sums = f"cost {plan.cost:,.0f}{money}"
    if found.wanted.question is Question.GREATEST_VALUE:
        sums = f"value {plan.value:,.0f}{money}, contribution {plan.contribution:,.0f} less {sums}"
    return f"{rows}; dies: {dies}; {sums} at present value; {proof_words(plan)}."


def hanging_sentence(found: Dossier) -> str:
    """Return what hangs on blanks that nobody has measured."""
    hanging = found.planned.plan.hanging
    if not hanging:
        return "Nothing hangs on a blank that is not tried out."
    must = {row.name for row in found.programme.rows if row.is_must}
    of_must = [name for name in hanging if name in must]
    said = f"On blanks that are not tried out hang {counted(hanging, 'fitment')}: {', '.join(hanging)}"
    return f"{said}; must rows among them: {', '.join(of_must) or 'none'}."


def near_sentences(found: Dossier) -> Iterator[str]:
    """Yield what is known of other plans near this one."""
    plan = found.planned.plan
    for other in plan.runners_up:
        dies = ", ".join(other.opened) or "no dies"
        yield f"A tie: {dies}." if other.is_tie else f"Within 0.1 %: {dies}, {other.dearer:,.0f} worse."
    if plan.is_found and not plan.all_runners_up:
        yield "There may be more plans within 0.1 %."


def served_words(found: Dossier) -> Iterator[tuple[str, str, str, float]]:
    """Yield fitment, blanks in the order of years, mode and wheels in all, by fitment."""
    by_name = found.planned.served_by
    served = found.planned.plan.served
    for name in sorted(by_name):
        mine = [s for s in served if s.row == name]
        yield name, by_name[name], mine[0].mode, math.fsum(s.wheels for s in mine)


def wheels_served(plan: Plan) -> float:
    """Return the wheels of a plan, over all years."""
    return math.fsum(s.wheels for s in plan.served)


def option_words(name: str, opened: Collection[str], used: Collection[str]) -> str:
    """Return how an option stands in a plan."""
    if name in used:
        return "chosen"
    return "opened for its variants" if name in opened else "not chosen"

"""A die programme in words: the answer, months, money, what serves what."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence

from app.project.project import Fitment
from app.studies.programme.inputs import Option, Question
from app.studies.programme.plans import Plan
from app.studies.programme.supply import years_of
from app.studies.roadmap.coverage import Coverage
from app.studies.roadmap.dossier import Dossier
from app.studies.roadmap.risk import CandidateRegret, is_committed

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
NO_TOOLS = "nothing paid once"
#: So many names stand in a sentence on the screen; the rest is counted.
MOST_NAMES = 6


def latest_words(year: float) -> str:
    """Return the last whole month before a time in years: 2028.25 is March 2028."""
    months = math.floor(year * 12.0 + 1e-6) - 1
    return f"{_MONTHS[months % 12]} {months // 12}"


def order_words(option: Option, latest: float) -> str:
    """Return by the end of which month a die must be ordered; that it is there where nothing is paid."""
    return latest_words(latest) if is_committed(option) else "is there"


def asked_words(question: Question) -> str:
    """Return what was asked."""
    return _ASKED[question]


def counted(names: Collection[str], what: str) -> str:
    """Return a count with its noun: '2 must rows'."""
    if not names:
        return f"no {what}s"
    return f"{len(names)} {what}{'s' * (len(names) != 1)}"


def names_words(names: Sequence[str], most: int = MOST_NAMES) -> str:
    """Return names as a list that ends with how many more there are."""
    if len(names) <= most:
        return ", ".join(names)
    return f"{', '.join(names[:most])} and {len(names) - most} more"


def need_words(must: bool | None) -> str:
    """Return 'must', 'want', or that nobody said."""
    return "not said" if must is None else "must" if must else "want"


def compromise_name(fitment: Fitment) -> str:
    """Return the words of a fitment's compromise."""
    given = fitment.compromise
    return (given.words if given is not None else "") or "compromise"


def miss_words(spare_mm: float) -> str:
    """Return a spare in mm to a tenth; a miss never reads as 0."""
    if spare_mm >= 0.0 or round(spare_mm, 1):
        return f"{spare_mm:.1f}"
    return f"{min(spare_mm, -0.01):.2f}"


def spare_words(spare_mm: float) -> str:
    """Return '1.3 mm short' or '0.4 mm to spare'."""
    return f"{miss_words(spare_mm).lstrip('-')} mm {'short' if spare_mm < 0.0 else 'to spare'}"


def nearest_words(found: Coverage, fitment: str) -> str:
    """Return the blank that misses a fitment by the least; empty where no miss has a length."""
    row = next((r for r in found.rows if r.fitment == fitment and not r.compromise), None)
    cells = () if row is None else row.cells
    missing = [c for c in cells if not c.is_covered and c.spare_mm is not None and c.spare_mm < 0.0]
    if not missing:
        return ""
    best = max(missing, key=lambda c: (c.spare_mm or 0.0, c.blank))
    where = "in any blank" if best.of_wheel else f"in {best.blank}"
    at = "" if best.inset_mm is None else f" at ET {best.inset_mm:g}"
    return f"; nearest: {best.what}, {spare_words(best.spare_mm or 0.0)} {where}{at}"


def left_out_words(found: Dossier, fitment: str) -> str:
    """Return the blanks that could be cut to a fitment and are no option, with why; empty where none is."""
    row = next(r for r in found.planned.coverage.rows if r.fitment == fitment and not r.compromise)
    cut = {cell.blank for cell in row.cells if cell.is_covered}
    said = [
        f"{name} could be cut to it, but is left out: {why}"
        for name, why in found.planned.asked.left_out
        if name in cut
    ]
    return "".join(f"; {words.rstrip('.')}" for words in said)


# Money


def amount(value: float, currency: str = "") -> str:
    """Return whole money with its thousands, never '-0'; '1,200 USD'."""
    return f"{_whole(value):,.0f} {currency}".rstrip()


def worse_words(question: Question, change: float, currency: str = "") -> str:
    """Return by how much a plan is worse or better, by what its question minimises.

    Args:
        question: of the plan.
        change: of the objective: above 0 it is worse.
        currency: of the project.
    """
    if not _whole(change):
        return "nothing changes in money"
    if question is Question.GREATEST_VALUE:
        return f"worth {amount(abs(change), currency)} {'less' if change > 0.0 else 'more'}"
    return f"{amount(abs(change), currency)} {'dearer' if change > 0.0 else 'cheaper'}"


def _whole(value: float) -> float:
    return float(round(value)) + 0.0


# The answer


def proof_words(plan: Plan) -> str:
    """Return how sure the plan is."""
    if plan.verdict == "proven":
        return "proven: no plan is better"
    if plan.verdict == "gap left":
        if not math.isfinite(plan.gap):
            return "not proven: time ended before it was known by how much another plan may be better"
        return f"not proven: time ended with {100.0 * plan.gap:.2f} % between plan and bound"
    if plan.verdict == "impossible":
        return f"no plan keeps the limits: {'; '.join(plan.impossible) or 'they contradict one another'}"
    return "nothing found in the time given"


def chosen_words(plan: Plan) -> str:
    """Return what a plan pays once or has as own dies; why there is none where no plan was found."""
    return (", ".join(plan.opened) or NO_TOOLS) if plan.is_found else proof_words(plan)


def tools_words(plan: Plan) -> str:
    """Return the tools of a plan with their years, as a set of tools is named in the regret table."""
    if not plan.is_found:
        return proof_words(plan)
    return ", ".join(f"{c.option} from {c.year}" for c in plan.commitments) or NO_TOOLS


def verdict_sentence(found: Dossier, currency: str) -> str:
    """Return the answer in one sentence: must rows, dies, money, proof."""
    plan, left = found.planned.plan, found.must_uncovered
    idle = any(row.is_must and not years_of(row) for row in found.programme.rows)
    served = "Every must row with wheels is served" if idle else "Every must row is served"
    rows = f"{counted(left, 'must row')} uncovered ({', '.join(left)})" if left else served
    unknown = [name for name, _ in found.planned.asked.not_known]
    if unknown:
        rows += f"; {counted(unknown, 'fitment')} not known ({', '.join(unknown)})"
    if not plan.is_found:
        return f"{rows}; {proof_words(plan)}."
    options = {o.name: o for o in found.programme.options}
    new = [c.option for c in plan.commitments if is_committed(options[c.option])]
    there = [c.option for c in plan.commitments if not is_committed(options[c.option])]
    dies = f"{len(new)} to commission ({', '.join(new)})" if new else "none to commission"
    if there:
        dies += f", {len(there)} there already ({', '.join(there)})"
    return f"{rows}; dies: {dies}; {sums_words(plan, currency)}; {proof_words(plan)}."


def sums_words(plan: Plan, currency: str) -> str:
    """Return what a plan costs, or is worth where that is asked for, at present value."""
    sums = f"cost {amount(plan.cost, currency)}"
    if plan.question is Question.GREATEST_VALUE:
        sums = f"value {amount(plan.value, currency)}, contribution {amount(plan.contribution)} less {sums}"
    return f"{sums} at present value"


def halved_sentence(plan: Plan, halved: Plan, currency: str) -> str:
    """Return what becomes of a plan where only half the wheels are sold."""
    if not halved.is_found:
        return f"If volumes halve: {proof_words(halved)}."
    gone = sorted(set(plan.opened) - set(halved.opened))
    new = sorted(set(halved.opened) - set(plan.opened))
    parts = [f"without {names_words(gone)}"] * bool(gone) + [f"with {names_words(new)}"] * bool(new)
    same = "the same tools stay best" if plan.opened else "still nothing is paid once"
    change = ", ".join(parts) if parts else same
    sure = "" if halved.verdict == "proven" else f"; {proof_words(halved)}"
    return f"If volumes halve, {change}: {sums_words(halved, currency)}{sure}."


def hanging_sentence(found: Dossier, most: int | None = None) -> str:
    """Return what hangs on blanks that nobody has tried out; at most so many names of a list."""
    hanging = found.planned.plan.hanging
    if not hanging:
        return "Nothing hangs on a blank that is not tried out."
    must = {row.name for row in found.programme.rows if row.is_must}
    of_must = [name for name in hanging if name in must]
    names = names_words(hanging, most or len(hanging))
    said = f"On blanks that are not tried out hang {counted(hanging, 'fitment')}: {names}"
    return f"{said}; must rows among them: {names_words(of_must, most or len(of_must)) or 'none'}."


def near_sentences(found: Dossier) -> Iterator[str]:
    """Yield what is known of other plans near this one."""
    plan = found.planned.plan
    for other in plan.runners_up:
        dies = ", ".join(other.opened) or NO_TOOLS
        yield (
            f"A tie: {dies}." if other.is_tie else f"Within 0.1 %: {dies}, worse by {amount(other.dearer)}."
        )
    if plan.is_found and not plan.all_runners_up:
        yield "There may be more plans within 0.1 %."


def risk_sentences(found: Dossier, currency: str) -> Iterator[str]:
    """Yield the least bad set of tools, and the seasons at risk; that nobody looked where nobody did."""
    if found.regrets is None:
        if found.planned.plan.is_found:
            yield "What may come was not looked at: how far the plan can be relied on is not known."
        return
    least = found.regrets.least_bad
    if least is not None:
        yield f"Least bad over all scenarios: {least.candidate.words}; {at_worst_words(least, currency)}."
    yield from (f"Season at risk: {s.says}" for s in found.regrets.scenarios if s.is_late and s.lost)


def at_worst_words(of: CandidateRegret, currency: str) -> str:
    """Return how a set of tools stands in the scenario that is worst for it."""
    if any(o.unserved for o in of.outcomes):
        return "in some scenario it leaves must rows"
    if of.greatest is None or of.worst is None:
        return "in some scenario there is no plan with it"
    if of.greatest == 0.0:
        return "never worse than the best plan"
    return f"at worst {amount(of.greatest, currency)} worse than the best plan, '{of.worst.scenario}'"


def left_sentences(found: Dossier, most: int | None = None) -> Iterator[str]:
    """Yield the want rows that are not served; at most so many names of each list."""
    wants = [name for name in found.uncovered if name not in found.must_uncovered]
    if wants:
        yield f"Of the want rows, uncovered or not known: {names_words(wants, most or len(wants))}."
    refused = [r.row for r in found.planned.plan.refused]
    if refused:
        yield f"Refused: {names_words(refused, most or len(refused))}."


# What serves what


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

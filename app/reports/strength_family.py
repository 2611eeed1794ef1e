"""What physical tests say beside a screening: factors of recorded tests, and the tests that are needed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from app.project.project import Project
from app.project.wheel import Wheel
from app.reports.strength_words import failed_unread
from app.reports.tables import Column, Row, Table
from app.studies.strength.calibration import Calibration, speaks_for
from app.studies.strength.proof_tests import REOPENS, Planned, Samples, plan_of
from app.studies.strength.run import Screening
from geometry.errors import GeometryError

#: Said where a sample failed and none gives a factor.
NO_FACTOR = "No recorded test of this wheel gives a factor: nothing ties these figures to one that passed."
NO_RECORDS = "No recorded test speaks for this wheel: nothing ties these figures to one that passed or broke."


@dataclass(frozen=True)
class Evidence:
    """What tests say and which are needed.

    Attributes:
        failed: records that speak for the wheel, failed and give no factor, with the reason.
        found: factors of the records that speak for the wheel. said: others that give none, with the reason,
            and those of other families.
        plan: tests of the family; why_none: there is no plan.
        currency: of prices. set_aside: what the programme has for tryout and proof of the blank.
    """

    found: tuple[Calibration, ...]
    said: tuple[str, ...]
    plan: tuple[Planned, ...]
    why_none: str = ""
    currency: str = ""
    set_aside: float | None = None
    failed: tuple[str, ...] = ()


def evidence(project: Project, screenings: Sequence[Screening], family: Sequence[Wheel]) -> Evidence:
    """Return what the project's records say of a screened wheel, and the tests that its family needs.

    Args:
        project: that holds records and wheels.
        screenings: of the wheel first; what stands beside it is not looked at.
        family: versions of one design, the wheel among them.
    """
    mine = screenings[0]
    wheel = mine.ready.wheel
    others = [
        f"record {r.name}, family {r.family or r.wheel or 'not named'}: it does not speak for {wheel.name}"
        for r in project.test_records
        if not speaks_for(r, wheel)
    ]
    failed = tuple(one.words for one in failed_unread(mine))
    said = (*(one.words for one in mine.unread if not one.failed), *others)
    blank = next((b for b in project.blanks if b.name == wheel.blank), None)
    set_aside = None if blank is None else blank.proof_cost
    try:
        plan = plan_of(project, family, project.test_records)
    except GeometryError as error:
        return Evidence(mine.calibrations, said, (), str(error), failed=failed)
    return Evidence(mine.calibrations, said, plan, "", project.currency, set_aside, failed)


def evidence_lines(found: Evidence) -> list[str]:
    """Return what the records say, a line each."""
    none = NO_FACTOR if found.failed else NO_RECORDS
    return [*found.failed, *([c.words for c in found.found] or [none]), *found.said]


def plan_table(found: Evidence, said: Callable[[str], str] = str) -> Table:
    """Return the tests that the family needs, a row for each level, and what covers them.

    Args:
        found: recorded tests and those that are needed.
        said: words in the language of who reads.
    """
    columns = (
        Column("Test", 2.2),
        Column("Worst version", 2.0),
        Column("Why it", 4.4),
        Column("Samples", 3.4),
        Column("Covered by", 2.6),
        Column("Open cost", 1.3, True),
        Column("Source of the rule", 4.2),
    )
    rows = tuple(
        Row(
            (
                *((p.test, p.wheel, p.why) if k == 0 else ("", "", "")),
                f"{level.count} {said(level.words)}",
                level_words(p, level),
                cost_words(p) if k == 0 else "",
                f"{p.standard}; {p.source}" if k == 0 else "",
            )
        )
        for p in found.plan
        for k, level in enumerate(p.levels)
    )
    if found.why_none:
        return Table("Physical tests that decide", columns, rows, (f"Cannot be planned: {found.why_none}",))
    idle = [f"{p.test}, {p.wheel}: {words}" for p in found.plan for words in idle_words(p)]
    notes = (*idle, f"{total_words(found)}.", f"{REOPENS[0].upper()}{REOPENS[1:]}.")
    return Table("Physical tests that decide", columns, rows, notes)


def level_words(planned: Planned, level: Samples) -> str:
    """Return the records that cover the samples of a level, and whether one broke."""
    names, done = ", ".join(level.covered_by), len(level.covered_by)
    said = f"{names}: {done} of {level.count}" if done else f"nothing yet: 0 of {level.count}"
    return f"{said}; broke: {', '.join(planned.failed)}" if planned.failed else said


def idle_words(planned: Planned) -> list[str]:
    """Return the records that broke or cover nothing, with the reason."""
    broke = [f"{name} broke before it had stood what is asked" for name in planned.failed]
    return [*broke, *(f"{words}; it covers nothing" for words in planned.not_counted)]


def cost_words(planned: Planned) -> str:
    """Return what the open samples of a line cost."""
    return "no price" if planned.cost is None else f"{planned.cost:,.0f}"


def total_words(found: Evidence) -> str:
    """Return how many samples are open in all and what they cost, beside the money set aside for proof."""
    count = sum(p.open_count for p in found.plan)
    broke = list(dict.fromkeys(name for p in found.plan for name in p.failed))
    failed = [f"broke before they had stood what is asked: {', '.join(broke)}"] if broke else []
    if not count:
        return "; ".join(["every sample that is listed is covered", *failed])
    unpriced = sum(p.open_count for p in found.plan if p.price is None)
    cost = sum(p.cost or 0.0 for p in found.plan)
    money = f" {found.currency}" if found.currency else ""
    words = [f"open samples: {count}", *failed]
    if unpriced < count:
        words.append(f"{cost:,.0f}{money}")
    if unpriced:
        words.append(f"{unpriced} without a price, which stands in the settings of strength")
    if found.set_aside is not None:
        words.append(f"the blank's tryout and proof in the programme: {found.set_aside:,.0f}{money}")
    return "; ".join(words)


def plan_lines(found: Evidence) -> list[str]:
    """Return the plan of tests, a line each."""
    if found.why_none:
        return [f"cannot be planned: {found.why_none}"]
    lines: list[str] = []
    for p in found.plan:
        lines.append(f"{p.test} ({p.standard}) on {p.wheel}: {p.why}")
        lines += [f"  {level.count} {level.words}; covered by {level_words(p, level)}" for level in p.levels]
        lines += [f"  {words}" for words in idle_words(p)]
        if p.open_count:
            lines.append(f"  cost of what is open: {cost_words(p)}; {p.source}")
    return [*lines, total_words(found), REOPENS]

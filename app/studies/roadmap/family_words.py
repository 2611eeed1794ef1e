"""The family of new blanks in words and plain values, and taken over into the project."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from app.project import edits
from app.project.programme import Holder
from app.project.project import Project
from app.studies.roadmap.new_blanks import FamilyPlan, NewBlank

HEADS = (
    "Blank",
    "kg",
    "a piece",
    "for",
    "carries more than its own blank, kg",
    "log",
    "press, MN",
    "not for",
)


def head_words(project: Project, found: FamilyPlan) -> str:
    """Return the family in a sentence: how many new dies, what they cost or are worth, how sure that is."""
    plan, family = found.family.plan, found.family
    if not plan.is_found:
        return f"No plan: {'; '.join(plan.impossible) or plan.verdict}."
    money = f" {project.currency}" if project.currency else ""
    count = len(found.blanks)
    worth = (
        f"{plan.value:,.0f}{money} of present value" if plan.objective < 0.0 else f"{plan.cost:,.0f}{money}"
    )
    dies = "No new die" if not count else f"{count} new {'die' if count == 1 else 'dies'}"
    sure = "proven: every group was tried"
    if not family.is_whole and family.is_proven:
        sure = f"proven: of {family.tried} groups tried, and no family of any groups is better"
    elif not family.is_proven:
        sure = f"best of {family.tried} groups; {_gap_words(family.gap)}"
    said = [f"{dies}, {worth}, {sure}."]
    said += [
        f"{new.blank.name} does not hold {', '.join(new.not_held)} by its wheel's rules: leave more stock."
        for new in found.blanks
        if new.not_held
    ]
    said += [f"Not served: {u.row}, {u.why}." for u in plan.uncovered]
    said += [f"Refused: {', '.join(r.row for r in plan.refused)}."] if plan.refused else []
    return " ".join(said)


def _gap_words(gap: float) -> str:
    if not math.isfinite(gap):
        return "time ended before it was known by how much a family of other groups may be better"
    return f"no family of any groups is better by more than {100.0 * gap:.1f} %"


def row_of(new: NewBlank) -> tuple[str, ...]:
    """Return a new blank as cells under HEADS; masses in kg."""
    return (
        new.blank.name,
        f"{new.mass_kg:.2f}",
        f"{new.price:,.0f}",
        ", ".join(new.members),
        ", ".join(f"{name} {more:.1f}" for name, more in new.wasted_kg),
        f"{new.log.diameter_mm:g} x {new.log.length_mm:.0f}",
        f"{new.load_mn[0]:.0f} to {new.load_mn[1]:.0f}",
        ", ".join(new.excluded),
    )


def as_json(found: FamilyPlan) -> dict[str, Any]:
    """Return the family as plain values, keys as in DEVELOPERS.md."""
    plan = found.family.plan
    return {
        "result": "proven" if found.family.is_proven else "gap",
        "objective": plan.objective if plan.is_found else None,
        "bound": found.family.bound if plan.is_found else None,
        "groups_tried": found.family.tried,
        "blanks": [
            {
                "name": new.blank.name,
                "mass_kg": new.mass_kg,
                "price": new.price,
                "members": list(new.members),
                "wasted_kg": dict(new.wasted_kg),
                "log": {"diameter_mm": new.log.diameter_mm, "length_mm": new.log.length_mm},
                "press_mn": list(new.load_mn),
                "not_for": list(new.excluded),
                "not_held": list(new.not_held),
                "outline": [[c.z, c.r, c.bulge] for c in new.blank.corners],
            }
            for new in found.blanks
        ],
        "served_by": {s.row: s.option for s in plan.served},
        "not_known": dict(found.asked.not_known),
    }


def taken_over(project: Project, found: FamilyPlan) -> Project:
    """Return the project with the new blanks as ideas, under free names, and the holders that they need."""
    known = {h.name for h in project.programme.holders}
    costs = {h.name: h.cost for h in found.asked.programme.holders}
    needed = [new.blank.holder for new in found.blanks if new.blank.holder is not None]
    more = tuple(Holder(name, costs[name]) for name in dict.fromkeys(needed) if name not in known)
    settings = project.programme
    project = replace(project, programme=replace(settings, holders=(*settings.holders, *more)))
    for new in found.blanks:
        name = edits.free_name(project, edits.BLANK, new.blank.name)
        project = edits.add(project, edits.BLANK, replace(new.blank, name=name))
    return project

"""What the drawing says of the wheels that are cut from the blank that is edited."""

from __future__ import annotations

import math
from collections.abc import Sequence

from app.language import tr
from app.project.project import Project
from app.project.wheel import Wheel
from app.reports.sentences import SIGNS
from app.studies.blank_group import Member, group_of
from app.units import LengthUnit
from app.views.canvas.content import Mark, Ring, Words
from app.views.readings_text import minus, sentence
from app.views.theme import Theme
from geometry.readings.rules import State

#: So many wheels are said each with its place; more are counted.
_MOST_SAID = 4
#: Places nearer than this share a mark, mm.
_NEAR_MM = 12.0


def said(members: Sequence[Member], unit: LengthUnit) -> list[str]:
    """Return one line for each wheel that the blank no longer holds, or one that it holds them all."""
    if not members:
        return [tr("No wheel is cut from this blank, so none is checked: choose it in a wheel's details.")]
    missed = [m for m in members if not m.holds]
    lines = [f"{SIGNS[State.SHORT]} {_missed(m, unit)}" for m in missed[:_MOST_SAID]]
    if len(missed) > _MOST_SAID:
        lines.append(tr("and {missed} more wheels do not come out of it", missed=len(missed) - _MOST_SAID))
    if not missed:
        who = tr("the wheel") if len(members) == 1 else tr("all {members} wheels", members=len(members))
        lines.append(
            tr("{sign} This blank holds {who} cut from it, with stock.", sign=SIGNS[State.CLEAR], who=who)
        )
    return lines


def while_dragged(project: Project, blank: str) -> list[str]:
    """Return what is said in place of readings until the blank is let go."""
    count = len(group_of(project, blank))
    return (
        [tr("{count} wheels are cut from this blank: read when you let go.", count=count)]
        if count > 1
        else []
    )


def misses(members: Sequence[Member], shown: Wheel | None, shift_mm: float, theme: Theme) -> list[Mark]:
    """Return a ring with the wheels' names where the blank no longer holds a wheel that is not shown.

    Args:
        members: the wheels as read.
        shown: the wheel that is shown, whose tightest place has a mark of its own.
        shift_mm: added to the blank's own z to get that of the drawing.
        theme: gives the colour.
    """
    colour = theme.colour("short")
    places: list[tuple[tuple[float, float], list[str]]] = []
    for member in members:
        if member.holds or member.at_blank is None or (shown is not None and member.wheel == shown.name):
            continue
        at = member.at_blank[0] + shift_mm, member.at_blank[1]
        near = next((names for place, names in places if math.dist(place, at) <= _NEAR_MM), None)
        if near is None:
            places.append((at, [member.wheel]))
        else:
            near.append(member.wheel)
    found: list[Mark] = []
    for place, names in places:
        found.append(Ring(place, 9.0, colour))
        words = tr("short for {wheel}", wheel=", ".join(names))
        found.append(Words(place, words, (14.0, -10.0), 1, colour=colour))
    return found


def _missed(member: Member, unit: LengthUnit) -> str:
    if member.tightest is None:
        return minus(tr("{wheel}: not read: {why}", wheel=member.wheel, why=member.why))
    return f"{member.wheel}: {sentence(member.tightest, unit)}"

"""The work of the window of a blank's limits, in a thread: the map, and a second blank against it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from app.project.project import Project
from app.studies.blank_variant import VariantCheck
from app.studies.extremes import Extreme, still_to_be_had
from app.studies.limits import Limits, limits
from app.studies.limits_against import Against, against, sitting, variants_of

#: The map, what the drawn wheel can still have, the second blank against the first, and variants' tools.
Found = tuple[Limits, tuple[Extreme, ...], Against | None, tuple[VariantCheck, ...]]


def inputs(project: Project, wheel_name: str) -> tuple[object, ...]:
    """Return what a map hangs on."""
    wheel = next((w for w in project.wheels if w.name == wheel_name), None)
    parts = (project.blanks, project.rule_sets, project.materials, project.rates, project.programme.holders)
    return wheel, *parts, project.currency, project.display_unit


def read(
    project: Project,
    wheel: str,
    blank: str,
    *,
    second: str | None,
    pieces: int | None,
    progress: Callable[[int, int], bool],
    **how: Any,
) -> Found:
    """Return the map, what the drawn wheel can still have, and the second blank against the first."""
    of = 1 if second is None else 2

    def part(k: int) -> Callable[[int, int], bool]:
        return lambda done, widths: progress(k * widths + done, of * widths)

    found = limits(project, wheel, blank, progress=part(0), **how)
    held = None
    if second is not None and found.is_whole:
        other = limits(project, wheel, second, progress=part(1), **how)
        held = against(project, found, other, pieces) if other.is_whole else None
    still = still_to_be_had(project, sitting(project, wheel, blank))
    return found, still, held, variants_of(project, found, held)

"""What is found by solving a programme anew: the curve over the number of dies, and each die's worth."""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import nullcontext
from dataclasses import dataclass, replace

from app.studies.programme.highs import Progress, Solver
from app.studies.programme.inputs import Programme
from app.studies.programme.plans import Plan
from app.studies.programme.solve import solve


@dataclass(frozen=True)
class DieWorth:
    """What is lost without a die, its variants with it.

    Attributes:
        worth: present value of the plan with it less that of the best plan without it; None where must rows
            would then be served by nothing, or where there is no plan without it or none was found.
        orphans: must rows that nothing would serve.
        is_proven: True where both plans are.
        without: the best plan without it.
    """

    option: str
    worth: float | None
    orphans: tuple[str, ...]
    is_proven: bool
    without: Plan


def cost_curve(
    programme: Programme,
    most: int | None = None,
    *,
    time_limit_s: float = 60.0,
    progress: Callable[[Progress], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    solver: Solver | None = None,
) -> tuple[Plan, ...]:
    """Return the best plan with at most 0, 1, 2 ... own dies, until more dies change nothing.

    Args:
        programme: its own limit of dies ends the curve.
        most: dies at which the curve ends, None for no end but that.
        time_limit_s: for each plan.
        progress: as for `solve`.
        cancelled: as for `solve`.
        solver: as for `solve`.
    """
    given = [end for end in (most, programme.limits.most_dies) if end is not None]
    last = min([*given, sum(o.is_new for o in programme.options)])
    plans: list[Plan] = []
    with nullcontext(solver) if solver is not None else Solver() as running:
        for dies in range(last + 1):
            asked = replace(programme, limits=replace(programme.limits, most_dies=dies))
            plan = solve(
                asked,
                time_limit_s=time_limit_s,
                most_runners_up=0,
                progress=progress,
                cancelled=cancelled,
                solver=running,
            )
            plans.append(plan)
            # With less than it was allowed, a proven plan is the best for any number.
            if plan.verdict == "proven" and plan.dies < dies:
                break
    return tuple(plans)


def die_worths(
    programme: Programme,
    plan: Plan,
    *,
    time_limit_s: float = 60.0,
    progress: Callable[[Progress], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    solver: Solver | None = None,
) -> tuple[DieWorth, ...]:
    """Return what each of a plan's commitments is worth, by solving without it; the greatest first.

    Args:
        programme: the question.
        plan: its answer.
        time_limit_s: for all of them, shared evenly.
        progress: as for `solve`.
        cancelled: as for `solve`.
        solver: as for `solve`.
    """
    found: list[DieWorth] = []
    end = time.monotonic() + time_limit_s
    with nullcontext(solver) if solver is not None else Solver() as running:
        for k, name in enumerate(plan.opened):
            share = max(end - time.monotonic(), 0.0) / (len(plan.opened) - k)
            other = solve(
                without_option(programme, name),
                time_limit_s=share,
                most_runners_up=0,
                progress=progress,
                cancelled=cancelled,
                solver=running,
            )
            orphans = tuple(sorted(set(other.must_uncovered) - set(plan.must_uncovered)))
            worth = other.objective - plan.objective if other.is_found and not orphans else None
            is_proven = plan.verdict == other.verdict == "proven"
            found.append(DieWorth(name, worth, orphans, is_proven, other))
    return tuple(sorted(found, key=lambda w: (w.worth is not None, -(w.worth or 0.0), w.option)))


def without_option(programme: Programme, name: str) -> Programme:
    """Return a programme that lacks an option and its variants."""
    gone = {name}
    while more := {o.name for o in programme.options if o.variant_of in gone} - gone:
        gone |= more
    rows = tuple(
        replace(
            row,
            modes=tuple(
                replace(mode, costs={n: c for n, c in mode.costs.items() if n not in gone})
                for mode in row.modes
            ),
        )
        for row in programme.rows
    )
    return replace(programme, rows=rows, options=tuple(o for o in programme.options if o.name not in gone))

"""The worst state of a wheel: its gaps under the conditions it names, and what else the road does."""

from __future__ import annotations

from dataclasses import dataclass

from app.project import edits
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.fit import Measured, hold
from app.studies.misfits import misfit_questions
from app.studies.tyre import TyreRead, on_tyre
from geometry.readings.conditions import Conditions
from geometry.readings.debris import NarrowGap, narrow_gaps
from geometry.readings.rows import Held
from geometry.readings.rules import State, worst
from geometry.readings.stack import StackRow, near_on_road, stack_rows

NO_CONDITIONS = "No conditions: choose a set, so that the worst state can be judged."
_NO_TYRE = TyreRead((), "")


@dataclass(frozen=True)
class Road:
    """What the road leaves of the gaps.

    Attributes:
        conditions: the set that was used, None where the wheel names none; then there are no rows.
        rows: every gap row's worst state.
        narrow: long narrow gaps that hold stones.
        questions: what keeps the worst state from being judged.
        state: worst of the rows and of what the tyre brings (TyreRead.states); 'not known' where a
            question is open or nothing is judged.
        tyre: what is found about the tyre, and its gaps to body and suspension.
    """

    conditions: Conditions | None
    rows: tuple[StackRow, ...]
    narrow: tuple[NarrowGap, ...]
    questions: tuple[str, ...]
    state: State
    tyre: TyreRead = _NO_TYRE


def on_the_road(project: Project, wheel: Wheel, measured: Measured) -> Road | None:
    """Return the worst state of a wheel that has readings; None where it has faults instead.

    Args:
        project: holds the conditions that the wheel names.
        wheel: whose readings these are.
        measured: as measure_wheel gave it.
    """
    held = hold(project, wheel)
    if measured.outline is None or measured.measurements is None or not isinstance(held, Held):
        return None
    if wheel.conditions is None:
        tyre = on_tyre(project, wheel, measured.outline)
        asked = (NO_CONDITIONS, *misfit_questions(project, wheel))
        return Road(None, (), (), asked, worst([State.NOT_KNOWN, *tyre.states]), tyre)
    conditions = edits.find(project, edits.CONDITIONS, wheel.conditions)
    tyre = on_tyre(project, wheel, measured.outline, conditions)
    near = near_on_road(measured.outline, held, conditions, measured.measurements.gap)
    rows = stack_rows(measured.outline, held, conditions, near)
    narrow = narrow_gaps(measured.outline, held, conditions)
    judged = [row.state for row in rows if row.state is not None]
    misfits = (*misfit_questions(project, wheel), *_coating_question(wheel, conditions))
    states = [*(judged or [State.NOT_KNOWN]), *tyre.states, *([State.NOT_KNOWN] if misfits else [])]
    return Road(conditions, rows, narrow, misfits, worst(states), tyre)


def _coating_question(wheel: Wheel, conditions: Conditions) -> tuple[str, ...]:
    """Return what to ask where the wheel's coating takes more of the gap than its conditions hold."""
    growth = wheel.coating.growth_mm
    if growth is None or growth <= conditions.coating_mm:
        return ()
    return (
        f"The coating ({wheel.coating.kind}) adds {growth:g} mm a side, the conditions "
        f"'{conditions.name}' hold {conditions.coating_mm:g} mm: which holds?",
    )


def whole_state(measured: Measured, road: Road | None) -> State:
    """Return the stricter of a wheel's state on paper and on the road."""
    if measured.measurements is None:
        return State.NOT_KNOWN
    states = [measured.measurements.state]
    if road is not None:
        states.append(road.state)
    return worst(states)

"""What a fitment's wheel is by itself, in whatever blank: gap, wall, hub and road over its inset window."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.fit import measure_wheel
from app.studies.limits import drawn
from app.studies.offers import WholeRead, broken
from app.studies.road import on_the_road, whole_state
from app.studies.roadmap.need import NeedWheel
from app.studies.sweep import verdict
from app.studies.told import Told
from geometry.errors import GeometryError
from geometry.readings.rules import State, worst

#: States in which a fitment is served.
COVERED = (State.CLEAR, State.TIGHT)


@dataclass(frozen=True)
class OwnPart:
    """What a fitment's wheel is without any blank.

    Attributes:
        state: worst over the inset window, on paper and on the road.
        spare_mm, what: the reading with the least to spare; None and words of a question where nothing is.
        inset_mm: where that is.
    """

    state: State
    spare_mm: float | None
    what: str
    inset_mm: float | None


def own_part(project: Project, need: NeedWheel) -> OwnPart:
    """Return what a fitment's wheel is by itself, the worst over its insets.

    Between two insets at which it holds it is looked at as closely as the spare asks for: no reading changes
    by more than the inset does.
    """
    assert need.wheel is not None
    looked = [_own_at(project, need.wheel, inset) for inset in need.insets]
    found = list(looked)
    for one, other in pairwise(looked):
        found += _own_between(project, need.wheel, one, other)
    state = worst([part.state for part in found])
    decides = [part for part in found if part.state is state]
    return min(decides, key=lambda part: part.spare_mm if part.spare_mm is not None else 0.0)


def _own_at(project: Project, wheel: Wheel, inset_mm: float) -> OwnPart:
    try:
        made = drawn(wheel, wheel.size.width_code, inset_mm)
        measured = measure_wheel(project, made)
        if measured.measurements is None:
            return OwnPart(State.SHORT, None, measured.faults[0].message, inset_mm)
        road = on_the_road(project, made, measured)
        state = whole_state(measured, road)
        read = verdict(project, made)
    except GeometryError as error:
        return OwnPart(State.SHORT, None, str(error), inset_mm)
    if state is State.NOT_KNOWN:
        asked = [*measured.measurements.questions, *(road.questions if road is not None else ())]
        asked += [q for row in measured.measurements.gap for q in row.questions]
        return OwnPart(state, None, asked[0] if asked else "an input is missing", inset_mm)
    if isinstance(read, str):
        return OwnPart(state, None, read, inset_mm)
    if state not in COVERED and read.spare_mm >= 0.0:
        # A wrong tyre or a hub that does not fit has no length that misses.
        missed = broken(measured.measurements, WholeRead(measured, road), Told())
        return OwnPart(state, None, missed[0] if missed else read.what, inset_mm)
    return OwnPart(state, read.spare_mm, read.what, inset_mm)


def _own_between(project: Project, wheel: Wheel, one: OwnPart, other: OwnPart) -> list[OwnPart]:
    if one.state not in COVERED or other.state not in COVERED:
        return []
    if one.spare_mm is None or other.spare_mm is None or one.inset_mm is None or other.inset_mm is None:
        return []
    apart = other.inset_mm - one.inset_mm
    if one.spare_mm + other.spare_mm >= apart or apart <= 0.1:
        return []
    middle = _own_at(project, wheel, (one.inset_mm + other.inset_mm) / 2.0)
    return [
        *_own_between(project, wheel, one, middle),
        middle,
        *_own_between(project, wheel, middle, other),
    ]

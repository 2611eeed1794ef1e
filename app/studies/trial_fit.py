"""A trial fit held against the computed gaps, and the grade that a shape earns by one that agrees.

The bare wheel was bolted to the car and turned: the gaps compared are those of the section alone, at rest,
without ring bodies, to the shape as it is drawn now. A gap that the outline already holds is added, for on
the car it is air.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from app.project import edits
from app.project.project import MeasuredGap, Project, TrialFit
from app.studies.fit import Measured, hold, measure_wheel
from geometry.readings.gap import signed_distances
from geometry.readings.rows import Held
from geometry.shape.curve import Path
from geometry.shape.distance import nearest_of
from geometry.shape.outline import Grade, StayOut
from geometry.shape.section import ZONES, Outline

#: A place noted farther than this from its zone's skin was noted wrongly; common practice, no source.
PLACE_MM = 25.0
#: What was measured more coarsely than this proves nothing; common practice, no source.
COARSE_MM = 0.5
#: Fewer places than this could agree by chance; common practice, no source.
PLACES = 2
#: Lengths are typed to 0.01 mm: less than this is no difference.
_ROUNDING_MM = 1e-6


@dataclass(frozen=True)
class ComparedGap:
    """One measured gap beside the computed one.

    Attributes:
        computed_mm: None where there is none to compare with; `note` then says why.
        at_wheel: the skin place (z, r) in the hub's frame that was computed at.
        allowed_mm: what the two may differ by: error of the measuring and of the outline.
    """

    measured: MeasuredGap
    computed_mm: float | None
    at_wheel: tuple[float, float] | None
    allowed_mm: float
    note: str = ""

    @property
    def difference_mm(self) -> float | None:
        """Measured less computed: negative where the car has less room than the drawing."""
        return None if self.computed_mm is None else self.measured.gap_mm - self.computed_mm

    @property
    def agrees(self) -> bool:
        """True where the two differ by no more than is allowed."""
        difference = self.difference_mm
        return difference is not None and abs(difference) <= self.allowed_mm + _ROUNDING_MM


@dataclass(frozen=True)
class Compared:
    """A trial fit beside what is computed.

    Attributes:
        gaps: in the order they were measured; empty where nothing could be computed.
        hindrance: why the shape's grade cannot be raised by it; empty where it can.
    """

    gaps: tuple[ComparedGap, ...]
    hindrance: str


def compared(project: Project, trial: TrialFit) -> Compared:
    """Return each measured gap of a trial fit beside the computed one, and why it does not prove the shape.

    A gap with a place is compared with the distance of the nearest skin place of its zone, one without with
    the zone's least gap.
    """
    wheel = next((w for w in project.wheels if w.name == trial.wheel), None)
    shape = next((s for s in project.shapes if s.name == trial.shape), None)
    if wheel is None or shape is None:
        what = "wheel was fitted" if wheel is None else "brake it was held against"
        return Compared((), f"It is not said which {what}: choose one.")
    alone = replace(wheel, clears=(shape.name,), rings=(), blank=None)
    measured, held = measure_wheel(project, alone), hold(project, alone)
    if measured.outline is None or measured.measurements is None or not isinstance(held, Held):
        faults = measured.faults[0].message if measured.faults else "it has no readings."
        return Compared((), f"The wheel {wheel.name} cannot be read: {faults}")
    ((_, positions),) = held.shapes
    allowed = trial.error_mm + shape.card.error_mm
    gaps = tuple(_compared(gap, measured, shape, positions, allowed) for gap in trial.measured)
    return Compared(gaps, _hindrance(trial, shape, gaps))


def raised(project: Project, trial: TrialFit) -> Project:
    """Return the project with the trial fit's shape raised to the grade proved, its source saying by what.

    Raises:
        EditError: the trial fit does not prove the shape; the message says why.
    """
    found = compared(project, trial)
    if found.hindrance:
        raise edits.EditError(found.hindrance)
    shape = edits.find(project, edits.SHAPE, trial.shape or "")
    source = f"{shape.card.source} Proved by trial fit {trial.name} on {trial.on}.".strip()
    return edits.replaced(
        project, edits.SHAPE, shape.name, shape.with_card(grade=Grade.PROVED, source=source)
    )


def _compared(
    gap: MeasuredGap, measured: Measured, shape: StayOut, positions: tuple[Path, ...], allowed: float
) -> ComparedGap:
    assert measured.outline is not None
    assert measured.measurements is not None
    if gap.z is not None and gap.r is not None:
        return _at_place(gap, (gap.z, gap.r), measured.outline, shape, positions, allowed)
    for row in measured.measurements.gap:
        if row.zone == gap.zone:
            return ComparedGap(gap, row.least_mm + row.included_mm, row.at_wheel, allowed)
    note = f"The {gap.zone} does not look at {shape.name}: note the place, or choose another zone."
    return ComparedGap(gap, None, None, allowed, note)


def _at_place(
    gap: MeasuredGap,
    place: tuple[float, float],
    outline: Outline,
    shape: StayOut,
    positions: tuple[Path, ...],
    allowed: float,
) -> ComparedGap:
    of = np.flatnonzero(outline.skin & (outline.zone == ZONES.index(gap.zone)))
    if not len(of):
        return ComparedGap(gap, None, None, allowed, f"The wheel has no {gap.zone}.")
    away, places, _ = nearest_of(outline.path, of, np.array([place]))
    if float(away[0]) > PLACE_MM:
        note = f"The place lies {float(away[0]):.1f} mm from the {gap.zone}: is it in the hub's frame?"
        return ComparedGap(gap, None, None, allowed, note)
    least = min(float(signed_distances(places, path, path.off_axle)[0]) for path in positions)
    at = (float(places[0, 0]), float(places[0, 1]))
    return ComparedGap(gap, least + shape.card.included_gap_mm, at, allowed)


def _hindrance(trial: TrialFit, shape: StayOut, gaps: tuple[ComparedGap, ...]) -> str:
    """Return the first reason why a trial fit does not prove a shape; nothing where it does."""
    off = [g for g in gaps if not g.agrees]
    places = {(g.measured.zone, g.measured.z, g.measured.r) for g in gaps}
    if shape.card.grade is Grade.PROVED:
        return f"{shape.name} is proved already."
    if trial.turned is None:
        return "Nobody has said whether the wheel was turned a whole turn without touching."
    if not trial.turned:
        return "The wheel was not turned a whole turn without touching."
    if len(places) < PLACES:
        return f"{len(places) or 'No'} place was measured: a proof needs {PLACES} or more."
    if off:
        which = ", ".join(dict.fromkeys(str(g.measured.zone) for g in off))
        return f"{len(off)} of {len(gaps)} gaps do not agree with what is computed: {which}."
    if trial.error_mm > COARSE_MM:
        return f"It was measured to {trial.error_mm:g} mm only: a proof needs {COARSE_MM:g} mm or better."
    if not trial.on or not trial.by.strip():
        return "It is not said on which day it was measured, and by whom."
    return ""

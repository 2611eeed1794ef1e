"""Trial fits of a project that warn of a wheel: what touched, or had less room than was computed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from app.project.project import Project, TrialFit
from app.project.wheel import Wheel
from app.studies.trial_fit import compared
from geometry.readings.rules import State

#: Why a misfit concerns a wheel.
OWN, SAME_BRAKE = "same wheel and brake", "same brake"


@dataclass(frozen=True)
class Misfit:
    """A trial fit that did not go as computed.

    Attributes:
        name, on: of the trial fit.
        wheel, shape: what was fitted, and the brake it was held against.
        related: why it concerns the wheel at hand.
        touched: the wheel did not turn freely.
        short: zone, measured and computed gap, mm, of the places with less room than computed by more than
            the errors of measuring and outline allow; against the outline as it is drawn now.
    """

    name: str
    on: str
    wheel: str
    shape: str
    related: str
    touched: bool
    short: tuple[tuple[str, float, float], ...]

    @property
    def state(self) -> State:
        """Touching, or short of what was computed."""
        return State.TOUCHING if self.touched else State.SHORT


def past_misfits(project: Project, wheel: Wheel) -> tuple[Misfit, ...]:
    """Return the misfits on the wheel's brakes, on brakes of the same family, and of the wheel itself."""
    found = []
    for trial in project.trial_fits:
        related = _related(project, wheel, trial)
        if not related:
            continue
        short = tuple(
            (str(gap.measured.zone), gap.measured.gap_mm, gap.computed_mm)
            for gap in compared(project, trial).gaps
            if gap.computed_mm is not None and (gap.difference_mm or 0.0) < 0.0 and not gap.agrees
        )
        if trial.turned is False or short:
            names = trial.wheel or "", trial.shape or ""
            found.append(Misfit(trial.name, trial.on, *names, related, trial.turned is False, short))
    return tuple(found)


def _related(project: Project, wheel: Wheel, trial: TrialFit) -> str:
    if trial.shape is not None and any(_is_same(project, trial.shape, name) for name in wheel.clears):
        return OWN if _is_like(project, wheel, trial.wheel) else SAME_BRAKE
    families = {s.name: s.brake.family.strip().casefold() for s in project.shapes}
    family = families.get(trial.shape or "", "")
    if family and family in {families.get(name, "") for name in wheel.clears}:
        return "same family of brakes"
    return "same wheel" if trial.wheel == wheel.name else ""


def _is_same(project: Project, one: str, other: str) -> bool:
    """True for one brake under one name or two: a copy that nobody redrew is the same outline."""
    if one == other:
        return True
    found = [next((s for s in project.shapes if s.name == name), None) for name in (one, other)]
    drawn = [None if s is None else ([o.corners for o in s.outlines], s.shift_mm) for s in found]
    return drawn[0] is not None and drawn[0] == drawn[1]


def _is_like(project: Project, wheel: Wheel, name: str | None) -> bool:
    """True for the wheel itself, and for one of another name that would stand in its very place."""
    if wheel.name == name:
        return True
    other = next((w for w in project.wheels if w.name == name), None)
    return other is not None and all(
        getattr(other, key) == getattr(wheel, key)
        for key in ("size", "inset_mm", "vertices", "rim", "spacer_mm")
    )


def misfit_questions(project: Project, wheel: Wheel, shape: str | None = None) -> tuple[str, ...]:
    """Return what past misfits leave open of a wheel: its gaps to that brake are not known until it is said.

    A wheel that touched on this brake counts against itself; less room than computed counts against every
    wheel on the brake, since the outline is then not the brake.

    Args:
        project: holds the trial fits.
        wheel: whose gaps are asked.
        shape: of this brake alone; of all that the wheel must clear where None.
    """
    asked = []
    for misfit in _open(project, wheel if shape is None else replace(wheel, clears=(shape,))):
        found = "did not turn freely" if misfit.touched else "had less room than computed"
        asked.append(f"Trial fit {misfit.name} of {misfit.wheel} on {misfit.shape} {found}: {_MEND}")
    return tuple(asked)


_MEND = "what was changed since? Correct the outline, or record the trial fit anew."


def _open(project: Project, wheel: Wheel) -> Iterator[Misfit]:
    for misfit in past_misfits(project, wheel):
        if misfit.related == OWN or (misfit.related == SAME_BRAKE and misfit.short):
            yield misfit


def unnamed_questions(project: Project, wheel: Wheel) -> tuple[str, ...]:
    """Return the same as `misfit_questions` for those who may know of no other wheel: a shape each."""
    names = dict.fromkeys(
        name
        for misfit in _open(project, wheel)
        for name in wheel.clears
        if _is_same(project, misfit.shape, name)
    )
    return tuple(f"A trial fit on {name} did not go as computed: {_MEND}" for name in names)

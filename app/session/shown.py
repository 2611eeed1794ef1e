"""What the window shows at one moment; every view draws its part of this and nothing else."""

from __future__ import annotations

from dataclasses import dataclass

from app.project.project import Project
from app.project.wheel import Wheel
from geometry.readings.measure import Measurements
from geometry.shape.faults import Fault
from geometry.shape.section import Outline


@dataclass(frozen=True)
class Shown:
    """One consistent state.

    Attributes:
        wheel: the wheel that is edited, or None in a project without wheels.
        outline: its exact outline in the hub's frame (spacer included), None when it has faults.
        measurements: every reading, or None when there are faults: never stale, never half full.
        selected: index of the selected vertex of wheel.section, or None.
        dragging: a gesture is under way; slow studies wait.
    """

    project: Project
    wheel: Wheel | None
    outline: Outline | None
    faults: tuple[Fault, ...]
    measurements: Measurements | None
    selected: int | None = None
    dragging: bool = False

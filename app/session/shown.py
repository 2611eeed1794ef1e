"""What the window shows at one moment; every view draws its part of this and nothing else."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from app.project.project import Project
from app.project.wheel import Wheel
from app.session.edited import Edited
from app.studies.fit import Measured, hold
from app.studies.road import Road, on_the_road, whole_state
from geometry.readings.measure import Held, Measurements
from geometry.readings.missing import missing_parts
from geometry.readings.profile import Profile, profile
from geometry.readings.rules import State
from geometry.shape.curve import Array
from geometry.shape.faults import Fault
from geometry.shape.section import Outline


@dataclass(frozen=True)
class Shown:
    """One consistent state.

    Attributes:
        wheel: the wheel that is shown, or None in a project without wheels.
        outline: its exact outline in the hub's frame (spacer included), None when it has faults.
        measurements: every reading, or None when there are faults: never stale, never half full.
        edited: whose vertices are edited (the wheel, a blank or a shape), or None.
        selected: index of the selected vertex of the edited thing (of wheel.section for a wheel), or None.
        group: indices of the vertices that move together, rising; the selected one alone, or none.
        zone: the zone that is looked at, by its name; None for no particular one.
        compared: names of wheels drawn behind the shown one.
        saved: the project as it was last opened or saved; None where it never was.
        dragging: a gesture is under way; slow studies wait.
    """

    project: Project
    wheel: Wheel | None
    outline: Outline | None
    faults: tuple[Fault, ...]
    measurements: Measurements | None
    selected: int | None = None
    dragging: bool = False
    edited: Edited | None = None
    zone: str | None = None
    compared: tuple[str, ...] = ()
    group: tuple[int, ...] = ()
    saved: Project | None = None

    @cached_property
    def road(self) -> Road | None:
        """The worst state, computed once for all views; None while a gesture is under way, or with faults."""
        if self.wheel is None or self.dragging:
            return None
        return on_the_road(self.project, self.wheel, self._measured)

    @cached_property
    def saved_wheel(self) -> Wheel | None:
        """The shown wheel as last saved, by its name; None where nothing or no such wheel was saved."""
        if self.saved is None or self.wheel is None:
            return None
        return next((w for w in self.saved.wheels if w.name == self.wheel.name), None)

    @property
    def state(self) -> State:
        """The wheel's state on paper and in the worst state; on paper alone while a gesture is under way."""
        return whole_state(self._measured, self.road)

    @property
    def _measured(self) -> Measured:
        return Measured(self.outline, self.faults, self.measurements)

    @cached_property
    def missing(self) -> list[Array]:
        """Rings (m, 2) of the metal that the wheel needs and its blank does not have, hub's frame."""
        found = self.measurements
        if found is None or found.blank is None or not found.blank.missing_mm2 or self.wheel is None:
            return []
        held = hold(self.project, self.wheel)
        if self.outline is None or not isinstance(held, Held) or held.stock_path is None:
            return []
        return missing_parts(self.outline.path, held.stock_path, held.skin_mm)

    @cached_property
    def profile(self) -> Profile | None:
        """Gap, wall and stock along the skin, computed once for all views; None when there are faults."""
        if self.wheel is None or self.outline is None:
            return None
        held = hold(self.project, self.wheel)
        return profile(self.outline, held) if isinstance(held, Held) else None

"""What an edit asks for that needs more than one vertex, and the answers so far.

No window is needed. A tool is data: places to be chosen on the drawing, values to be typed, and a function
that gives the new project with a sentence on what was done. Places are in the frame of the edited thing, mm.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from enum import Enum

from app.language import tr
from app.project.project import Project
from app.project.wheel import Wheel
from app.session.drag import changed
from app.session.edited import Edited, Kind, with_section
from app.studies.fit import measure_wheel
from app.units import LengthUnit, format_length
from geometry.shape.edits_stretch import Spot
from geometry.shape.section import Section


class Pick(Enum):
    """What is chosen by a click."""

    PLACE = "a place on the skin, or a corner"
    EDGE = "an edge"
    VERTEX = "a vertex"
    SHAPE = tr("a stay-out shape")
    OUTLINE = tr("another edge, a shape or the blank")


@dataclass(frozen=True)
class Chosen:
    """What a click chose.

    Attributes:
        spot: the place, in the frame of the edited thing.
        of: the thing whose outline was hit.
        edge, share: the edge hit and the fraction along it.
    """

    spot: Spot
    of: Edited
    edge: int
    share: float


@dataclass(frozen=True)
class Value:
    """A number to be typed: a length in mm, or an angle in degrees."""

    name: str
    hint: str
    start: float = 0.0
    is_angle: bool = False


@dataclass(frozen=True)
class Asked:
    """The answers so far."""

    project: Project
    edited: Edited
    wheel: Wheel | None
    chosen: tuple[Chosen, ...] = ()
    values: dict[str, float] = field(default_factory=dict)
    swapped: bool = False
    choice: str = ""
    group: tuple[int, ...] = ()
    legs: tuple[tuple[float, float], ...] = ()
    zone: str | None = None
    saved: Project | None = None

    @property
    def unit(self) -> LengthUnit:
        """Unit of lengths in words."""
        return "in" if self.project.display_unit == "in" else "mm"

    def with_change(self, change: Callable[[Section], Section]) -> Project:
        """Return the project with the edited thing changed, unless it is locked."""
        return with_section(self.project, self.edited, changed(self.project, self.edited, change))

    def say(self, length_mm: float) -> str:
        """Return a length in words."""
        return format_length(length_mm, self.unit)


@dataclass(frozen=True)
class Made:
    """A new project, and a sentence on what was done."""

    project: Project
    words: str


@dataclass(frozen=True)
class Tool:
    """One edit.

    Attributes:
        name: stable.
        title: in the row under the drawing, and of its undo step.
        picks: what is chosen, with a prompt for each.
        values: what is typed.
        make: the edit; raises EditError or GeometryError.
        swap: words of the button that takes the other side; empty for none.
        starts: starting values that depend on what was chosen, by name.
        choices: names of which one is to be chosen.
        repeats: Enter adds another leg; the edit is finished by a key or button of its own.
    """

    name: str
    title: str
    picks: tuple[tuple[Pick, str], ...]
    values: tuple[Value, ...]
    make: Callable[[Asked], Made]
    swap: str = ""
    starts: Callable[[Asked], dict[str, float]] = lambda asked: {}
    choices: Callable[[Asked], Sequence[str]] = lambda asked: ()
    repeats: bool = False


def cost(asked: Asked, project: Project) -> str:
    """Return what an edit changes of the shown wheel's mass, in words."""
    before = asked.wheel
    after = next((w for w in project.wheels if before is not None and w.name == before.name), None)
    if before is None or after is None or asked.edited.kind is not Kind.WHEEL:
        return ""
    masses = [
        found.measurements.solid.mass_kg
        for p, w in ((asked.project, before), (project, after))
        if (found := measure_wheel(p, w)).measurements is not None
    ]
    if len(masses) < 2:
        return ""
    grams = round((masses[1] - masses[0]) * 1000.0)
    return (
        tr("Mass as before. ")
        if not grams
        else tr("{grams} g more. ", grams=grams)
        if grams > 0
        else tr("{grams} g less. ", grams=-grams)
    )

"""The forge's brief of a new blank: its group as wheels of a project, forged as any group is."""

from __future__ import annotations

from dataclasses import dataclass, replace

from app.project import edits
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.composite import Composite, composite
from app.studies.forging_needs import ForgingSettings
from app.studies.limits import drawn
from app.studies.roadmap.coverage import Coverage
from app.studies.roadmap.new_blanks import FamilyPlan, NewBlank, insets_of


@dataclass(frozen=True, eq=False)
class Brief:
    """A new blank as the forge is asked for it.

    Attributes:
        project: with the group's wheels, each at every inset that the blank was made for.
        result: the group's blank: outline, log, presses, seats.
        settings: of forging, with the room that the family was designed with.
    """

    name: str
    project: Project
    result: Composite
    settings: ForgingSettings


def brief_of(project: Project, found: Coverage, made: FamilyPlan, new: NewBlank) -> Brief:
    """Return the brief of one of a family's blanks.

    Args:
        project: holds the roadmap.
        found: its coverage, with the wheels that the fitments need.
        made: the family.
        new: one of its blanks.

    Raises:
        GeometryError: a wheel of the group cannot be forged.
    """
    wheels: list[Wheel] = []
    for row in found.rows:
        if row.fitment in new.members and not row.compromise and row.need.wheel is not None:
            for inset in insets_of(row):
                wheel = drawn(row.need.wheel, row.need.wheel.size.width_code, inset)
                name = edits.free_name(project, edits.WHEEL, f"{row.fitment}, inset {inset:g}")
                wheels.append(replace(wheel, name=name))
    settings = made.settings.forging
    whole = replace(project, wheels=(*project.wheels, *wheels))
    result = composite(whole, [w.name for w in wheels], settings)
    return Brief(new.blank.name, whole, result, settings)

"""What the child process works out for the strength window; no Qt here."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from app.language import tr
from app.project import edits
from app.project.project import Project
from app.reports.strength_bands import Loop, border, elements_of, greatest
from app.session.child import Progress
from app.studies.strength.cases import cases_of
from app.studies.strength.inputs import ready
from app.studies.strength.run import Screening, screen
from app.studies.strength.sensitivity import Gain, gains
from app.studies.strength.zones import Solved
from geometry.errors import GeometryError
from geometry.shape.curve import Array
from geometry.shape.section import ZONES
from geometry.strength.loads import EXERCISED, TestLoad
from geometry.strength.wheel import Body


@dataclass(frozen=True, eq=False)
class Drawn:
    """One case as it is drawn.

    Attributes:
        values: (n,) greatest von Mises stress of the turn at each node of the solved mesh, MPa.
        silent: borders of the metal that the case does not exercise.
    """

    values: Array
    silent: tuple[Loop, ...]


@dataclass(frozen=True, eq=False)
class Screened:
    """A screening with what its pictures need, by name of the case."""

    found: Screening
    drawn: dict[str, Drawn]


def screened(project: Project, wheel: str, progress: Progress) -> Screened:
    """Return the screening of a wheel of a project.

    Raises:
        GeometryError: load, tyre, metal or section cannot be used, or no case is left.
    """
    found = screen(project, edits.find(project, edits.WHEEL, wheel), project.strength, progress)
    # What a body has assembled is large and of no use to the window: it gets bodies without it.
    bodies: dict[int, Body] = {}
    solved: dict[str, Solved] = {}
    drawn: dict[str, Drawn] = {}
    for case in found.cases:
        one = found.solved.get(case.name)
        if one is not None:
            body = bodies.setdefault(id(one.body), replace(one.body))
            solved[case.name] = replace(one, body=body)
            drawn[case.name] = _drawn(solved[case.name], case)
    for body in bodies.values():
        body.__dict__.pop("parts", None)
        body.__dict__.pop("recovery", None)
    return Screened(replace(found, solved=solved), drawn)


def _drawn(solved: Solved, case: TestLoad) -> Drawn:
    body = solved.body
    field = greatest(body.mesh, solved.round_turn(np.arange(len(body.mesh.points))))
    zones = [z for z in ZONES if z.value not in EXERCISED[case.kind]]
    return Drawn(field.values, tuple(border(body.mesh, elements_of(body.mesh, body.zone_of_node, zones))))


def per_mm(project: Project, wheel: str, key: str, progress: Progress) -> tuple[Gain, ...]:
    """Return what a millimetre more metal on each zone does under the case of a key.

    Raises:
        GeometryError: the case has no stress, or this section cannot be put to it.
    """
    start = ready(project, edits.find(project, edits.WHEEL, wheel))
    case = next((c for c in cases_of(start, project.strength) if c.key == key), None)
    if case is None:
        raise GeometryError(
            tr("'{key}' is no load case in use; choose it in the settings of strength.", key=key)
        )
    return gains(start, case, progress)

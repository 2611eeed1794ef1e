"""The thing whose vertices are edited: a wheel, a blank or one position of a stay-out shape.

All three are chains of vertices with a place, a corner radius and the bulge of the edge that leaves them.
The functions here read and write such a chain inside a project; each returns a new project and leaves the
old one as it is. Places are in the thing's own frame; `offset_mm` says how far the hub's frame lies off.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from app.language import tr
from app.project.constraining import Thing
from app.project.exchange import exchanged
from app.project.holding import redrawn
from app.project.project import Project
from app.project.wheel import Wheel
from geometry.shape.blank import Blank
from geometry.shape.curve import Array
from geometry.shape.held import AddedDimension, Constraint, Parameter
from geometry.shape.outline import Corner, Grade, StayOut
from geometry.shape.section import Section, Vertex


class Kind(StrEnum):
    """What can be edited by its vertices."""

    WHEEL = "wheel"
    BLANK = "blank"
    SHAPE = "shape"


@dataclass(frozen=True)
class Edited:
    """Names one chain of vertices of a project.

    Attributes:
        position: which outline of a stay-out shape; 0 for wheels and blanks.
    """

    kind: Kind
    name: str
    position: int = 0


class EditError(ValueError):
    """An edit that the thing does not allow; the message says why and how to mend it."""


def things(project: Project, kind: Kind) -> Sequence[Wheel | Blank | StayOut]:
    """Return all wheels, all blanks or all shapes of a project."""
    if kind is Kind.WHEEL:
        return project.wheels
    return project.blanks if kind is Kind.BLANK else project.shapes


def names(project: Project, kind: Kind) -> list[str]:
    """Return the names of all wheels, blanks or shapes of a project."""
    return [thing.name for thing in things(project, kind)]


def find(project: Project, edited: Edited) -> Wheel | Blank | StayOut | None:
    """Return the wheel, blank or shape that `edited` names, or None."""
    for thing in things(project, edited.kind):
        if thing.name == edited.name:
            return thing
    return None


def vertices_of(project: Project, edited: Edited) -> tuple[Vertex | Corner, ...]:
    """Return the vertices of the named thing in its own frame; none if it is gone."""
    return vertices_in(find(project, edited), edited)


def vertices_in(thing: Wheel | Blank | StayOut | None, edited: Edited) -> tuple[Vertex | Corner, ...]:
    """Return the vertices of a thing that `find` gave; none if it is gone."""
    if isinstance(thing, Wheel):
        return thing.section.vertices
    if isinstance(thing, Blank):
        return thing.corners
    if isinstance(thing, StayOut) and edited.position < len(thing.outlines):
        return thing.outlines[edited.position].corners
    return ()


def outline_of(project: Project, edited: Edited) -> Thing | None:
    """Return what carries the named thing's vertices, parameters and constraints; None if it is gone."""
    thing = find(project, edited)
    if isinstance(thing, StayOut):
        return thing.outlines[edited.position] if edited.position < len(thing.outlines) else None
    return thing


def with_asked(
    project: Project,
    edited: Edited,
    parameters: tuple[Parameter, ...] | None = None,
    constraints: tuple[Constraint, ...] | None = None,
) -> Project:
    """Return the project with other parameters or constraints of the named thing; None leaves them.

    Raises:
        EditError: the thing is gone, or locked.
    """
    thing, outline = find(project, edited), outline_of(project, edited)
    if thing is None or outline is None:
        raise EditError(tr("There is no {kind} called {name}.", kind=edited.kind, name=edited.name))
    if thing.locked:
        raise EditError(tr("{name} is locked; unlock it in the list of parts to edit it.", name=edited.name))
    made = replace(
        outline,
        parameters=outline.parameters if parameters is None else parameters,
        constraints=outline.constraints if constraints is None else constraints,
    )
    return _with_outline(project, thing, outline, made)


def with_dimensions(project: Project, edited: Edited, dimensions: tuple[AddedDimension, ...]) -> Project:
    """Return the project with other added dimensions of the named thing, which may be locked."""
    thing, outline = find(project, edited), outline_of(project, edited)
    if thing is None or outline is None:
        return project
    return _with_outline(project, thing, outline, replace(outline, dimensions=dimensions))


def _with_outline(project: Project, thing: Wheel | Blank | StayOut, outline: Thing, made: Thing) -> Project:
    if isinstance(thing, StayOut):
        outlines = tuple(made if o is outline else o for o in thing.outlines)
        shape = replace(thing, outlines=outlines)  # type: ignore[arg-type]
        return replace(project, shapes=tuple(shape if s is thing else s for s in project.shapes))
    if isinstance(made, Wheel):
        return replace(project, wheels=tuple(made if w is thing else w for w in project.wheels))
    blanks = tuple(made if b is thing else b for b in project.blanks)
    return replace(project, blanks=blanks)  # type: ignore[arg-type]


def grade_of(project: Project, edited: Edited | None) -> Grade:
    """Return how good the named outline is: a shape's grade, that of a drawing for what is drawn here."""
    thing = find(project, edited) if edited is not None else None
    return thing.card.grade if isinstance(thing, StayOut) else Grade.DRAWING


def places_of(project: Project, edited: Edited) -> Array:
    """Return (n, 2) the places (z, r) of the named thing's vertices in its own frame; none if it is gone."""
    thing = find(project, edited)
    if isinstance(thing, Wheel):
        return thing.section.rows[:, :2]
    return np.array([(v.z, v.r) for v in vertices_of(project, edited)], dtype=float).reshape(-1, 2)


def section_of(project: Project, edited: Edited) -> Section:
    """Return the named thing as a section in its own frame, whose locked vertices come first."""
    thing = find(project, edited)
    if isinstance(thing, Wheel):
        return thing.section
    return Section(tuple(as_vertex(v) for v in vertices_of(project, edited)))


def locked_count(project: Project, edited: Edited) -> int:
    """Return how many leading vertices belong to a locked rim contour, and so do not move."""
    thing = find(project, edited)
    return thing.section.locked if isinstance(thing, Wheel) else 0


def offset_mm(project: Project, edited: Edited, wheel: Wheel | None) -> float:
    """Return what is added to the thing's own z to get the hub's frame, as `wheel` sees it."""
    thing = find(project, edited)
    if isinstance(thing, Wheel):
        return thing.spacer_mm
    if isinstance(thing, Blank) and wheel is not None:
        return wheel.spacer_mm + (wheel.seat_mm if wheel.blank == thing.name else 0.0)
    return 0.0


def with_vertices(project: Project, edited: Edited, vertices: Sequence[Vertex | Corner]) -> Project:
    """Return the project with the named thing's vertices replaced (locked ones are not written).

    Raises:
        GeometryError: a vertex is not finite, below the axle line or has a negative radius.
        EditError: the thing is gone.
    """
    kept = tuple(as_vertex(v) for v in vertices)
    return with_section(project, edited, Section(kept, locked_count(project, edited)))


def with_section(project: Project, edited: Edited, section: Section) -> Project:
    """Return the project with the named thing's vertices replaced by those of a section (less locked ones).

    Raises:
        EditError: the thing is gone.
    """
    thing = find(project, edited)
    if isinstance(thing, Wheel):
        wheel = thing.with_section(section)
        return exchanged(project, wheels=tuple([wheel if w is thing else w for w in project.wheels]))
    corners = tuple(_corner(v) for v in section.vertices)
    if isinstance(thing, Blank):
        blank = replace(thing, corners=corners)
        return replace(project, blanks=tuple(blank if b is thing else b for b in project.blanks))
    if isinstance(thing, StayOut):
        outlines = list(thing.outlines)
        outlines[edited.position] = replace(outlines[edited.position], corners=corners)
        shape = redrawn(replace(thing, outlines=tuple(outlines)))
        return replace(project, shapes=tuple(shape if s is thing else s for s in project.shapes))
    raise EditError(tr("There is no {kind} called {name}.", kind=edited.kind, name=edited.name))


def as_vertex(corner: Vertex | Corner) -> Vertex:
    """Return the corner of a blank or a shape as a section has it."""
    if isinstance(corner, Vertex):
        return corner
    return Vertex(corner.z, corner.r, corner.radius, corner.bulge)


def _corner(vertex: Vertex | Corner) -> Corner:
    if isinstance(vertex, Corner):
        return vertex
    return Corner(vertex.z, vertex.r, vertex.radius, vertex.bulge)

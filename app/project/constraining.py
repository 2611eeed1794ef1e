"""Constraints of a wheel, a blank or an outline of a shape: held after an edit, checked, told in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from app.project.edits import EditError
from app.project.numbering import constraint_words
from app.project.parameters import given
from app.project.project import Project
from app.project.wheel import Wheel
from geometry.errors import GeometryError
from geometry.shape.blank import Blank
from geometry.shape.constraints import HELD_MM, equation, misfits
from geometry.shape.constraints_hold import ConflictError, hold, refuse_redundant
from geometry.shape.curve import Array, Flags, Path
from geometry.shape.held import Constraint, Driven, Hold
from geometry.shape.outline import Corner, NamedOutline, placed_outline
from geometry.shape.section import Section, Vertex

Thing = Wheel | Blank | NamedOutline
Shapes = dict[str, list[Path]]

_COLUMNS = {Driven.Z: 0, Driven.R: 1, Driven.RADIUS: 3}


class NotHeldError(EditError):
    """An edit after which constraints could not be held; nothing was changed.

    Attributes:
        of: the least set that cannot be held together; empty where one could not be read.
    """

    def __init__(self, words: str, of: tuple[Constraint, ...] = ()) -> None:
        super().__init__(words)
        self.of = of


def vertices_in(thing: Thing) -> tuple[Vertex | Corner, ...]:
    """Return the vertices of an outline, locked ones first."""
    return thing.section.vertices if isinstance(thing, Wheel) else thing.corners


def locked_in(thing: Thing) -> int:
    """Return how many of them belong to a locked rim contour."""
    return thing.section.locked if isinstance(thing, Wheel) else 0


def with_vertices(thing: Thing, vertices: tuple[Vertex | Corner, ...]) -> Thing:
    """Return an outline with other free vertices."""
    if isinstance(thing, Wheel):
        own = tuple(v for v in vertices if isinstance(v, Vertex))
        return thing.with_section(Section(own, thing.section.locked))
    return replace(thing, corners=tuple(v for v in vertices if isinstance(v, Corner)))


def rows_of(thing: Thing) -> Array:
    """Return (n, 4) z, r, bulge and corner radius of each vertex."""
    if isinstance(thing, Wheel):
        return thing.section.rows
    numbers = [(v.z, v.r, v.bulge, v.radius) for v in thing.corners]
    return np.array(numbers, dtype=float).reshape(-1, 4)


def states(project: Project, thing: Thing) -> list[float | None]:
    """Return by how much each constraint of an outline is missed, mm; None where it cannot be read."""
    return misfits(rows_of(thing), thing.constraints, shapes_for(project, thing))


def is_held(state: float | None) -> bool:
    """Return whether a constraint of this state holds."""
    return state is not None and state <= 10.0 * HELD_MM


def with_readable(thing: Thing, unit: str) -> tuple[Thing, list[str]]:
    """Return an outline without constraints on what it has no more, with a sentence on each that went.

    `unit` is that of lengths in the sentences.
    """
    rows, kept, said = rows_of(thing), [], []
    for c in thing.constraints:
        try:
            equation(c, rows)
        except GeometryError as reason:
            said.append(f"Dropped: {constraint_words(c, unit)}. {reason}")
        else:
            kept.append(c)
    return (replace(thing, constraints=tuple(kept)) if said else thing), said


def with_held(project: Project, old: Thing | None, new: Thing, exact: bool = False) -> Thing:
    """Return an edited outline with its vertices where all its constraints hold.

    What the edit moved stays where it was put as far as that can be, and the rest follows.

    Args:
        project: which has the shapes to keep clear of.
        old: the outline before the edit; None for a new one.
        new: as the edit left it, with what formulas drive in place.
        exact: each number that the edit changed stays as it is.

    Raises:
        NotHeldError: they cannot be held; names the least set that cannot.
    """
    shapes = shapes_for(project, new)
    constraints = [c for c in new.constraints if c.kind is not Hold.CLEAR or c.shape in shapes]
    walls = _walls(new)
    rows = rows_of(new)
    if all(is_held(m) for m in misfits(rows, [*constraints, *walls], shapes)):
        return new
    before = rows if old is None else rows_of(old)
    if before.shape != rows.shape:
        before = rows
    try:
        found = hold(rows, before, [*constraints, *walls], fixed(new), shapes, exact)
    except ConflictError as conflict:
        every = [*constraints, *walls]
        words = _conflict_words(conflict, constraints, walls, project.display_unit)
        raise NotHeldError(words, tuple(every[k] for k in conflict.of)) from None
    except GeometryError as refused:
        raise NotHeldError(str(refused)) from refused
    return with_rows(new, found)


def refuse_new(project: Project, thing: Thing, new: Constraint) -> None:
    """Raise where a constraint cannot be asked of an outline, or says nothing that others do not say.

    Raises:
        EditError: says why.
    """
    shapes, rows = shapes_for(project, replace(thing, constraints=(new,))), rows_of(thing)
    unit = project.display_unit
    others = [*(c for c in thing.constraints if c.kind is not Hold.CLEAR), *_walls(thing)]
    if new in thing.constraints:
        raise EditError(f"This is held already: {constraint_words(new, unit)}.")
    try:
        equation(new, rows)
        if new.kind is not Hold.CLEAR:
            refuse_redundant(rows, [*others, new], len(others), fixed(thing), shapes)
    except ConflictError as conflict:
        same = [others[k] for k in conflict.of if k < len(others)]
        if same:
            listed = "; ".join(constraint_words(c, unit) for c in same)
            raise EditError(f"This says nothing new beside: {listed}.") from None
        raise EditError(
            f"{_upper(constraint_words(new, unit))}: all that it names is locked or driven, and does not "
            "move."
        ) from None
    except GeometryError as refused:
        raise EditError(str(refused)) from refused


def fixed(thing: Thing) -> Flags:
    """Return (n, 4) True for what constraints may not move: the locked contour, and what formulas drive."""
    still = np.zeros((len(vertices_in(thing)), 4), dtype=np.bool_)
    still[: locked_in(thing)] = True
    for g in given(thing.parameters)[0]:
        column = _COLUMNS.get(g.drive.what)
        if column is not None and g.drive.vertices[0] <= len(still):
            still[g.drive.vertices[0] - 1, column] = True
    return still


def _walls(thing: Thing) -> list[Constraint]:
    """Return the walls that formulas drive, as constraints that are held with the others."""
    count = len(vertices_in(thing))
    return [
        Constraint(Hold.DISTANCE, g.drive.vertices, g.value)
        for g in given(thing.parameters)[0]
        if g.drive.what is Driven.WALL and max(g.drive.vertices) <= count
    ]


def shapes_for(project: Project, thing: Thing) -> Shapes:
    """Return the sound outlines of the shapes that constraints name, in the frame of a wheel."""
    names = {c.shape for c in thing.constraints if c.shape is not None}
    if not names or not isinstance(thing, Wheel):
        return {}
    found: Shapes = {}
    for shape in project.shapes:
        if shape.name in names:
            paths = [placed_outline(o.corners, -thing.spacer_mm) for o in shape.outlines]
            whole = [path for path in paths if isinstance(path, Path)]
            if len(whole) == len(paths):
                found[shape.name] = whole
    return found


def with_rows(thing: Thing, rows: Array) -> Thing:
    """Return an outline whose free vertices lie as the rows say."""
    vertices = list(vertices_in(thing))
    for i in np.flatnonzero((rows != rows_of(thing)).any(axis=1)).tolist():
        if i >= locked_in(thing):
            z, r, bulge, radius = rows[i].tolist()
            vertices[i] = replace(vertices[i], z=z, r=max(r, 0.0), bulge=bulge, radius=max(radius, 0.0))
    return with_vertices(thing, tuple(vertices))


def _conflict_words(
    conflict: ConflictError, constraints: Sequence[Constraint], walls: Sequence[Constraint], unit: str
) -> str:
    words = [constraint_words(c, unit) for c in constraints] + [
        f"a driven wall: {constraint_words(c, unit)}" for c in walls
    ]
    named = [words[k] for k in conflict.of]
    if len(named) == 1:
        return f"Nothing was changed: {named[0]} could not be held there; what it names is locked or driven."
    return f"Nothing was changed: these cannot be held together there: {'; '.join(named)}."


def _upper(words: str) -> str:
    return words[:1].upper() + words[1:]

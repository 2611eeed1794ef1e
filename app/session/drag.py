"""Edits of single vertices of a project: drag, nudge, insert, delete, round. No window is needed.

What an edit does to the vertices stands in geometry.shape.edits; here it reaches the thing that is edited.

Places are in the frame of the edited thing, mm. Whatever an edit does, a vertex stays at r >= 0, and locked
vertices stay where they are; everything else is allowed, also what crosses itself: that is a fault to be
shown, not an edit to be refused.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from app.language import tr
from app.project.project import Project
from app.session.edited import (
    Edited,
    EditError,
    find,
    locked_count,
    section_of,
    vertices_of,
    with_section,
)
from app.session.snaps import Snapped, Target, Targets, snap, targets
from geometry.errors import GeometryError
from geometry.shape import edits, edits_lines
from geometry.shape.section import Section
from geometry.tolerances import LARGEST_MM

T = TypeVar("T")

#: An edit of the edited thing.
Change = Callable[[Project, Edited], Project]


@dataclass(frozen=True)
class Drag:
    """One vertex under the pointer, from press to release.

    Attributes:
        base: the project as it was at the press; every move starts from it.
        targets: what it may snap to, in the edited thing's frame.
        grab: pointer less vertex at the press, mm, so that a handle grabbed off its middle does not jump.
        group: vertices that go with it; locked ones stay.
    """

    base: Project
    edited: Edited
    index: int
    targets: Targets
    grab: tuple[float, float]
    group: tuple[int, ...] = ()

    @classmethod
    def start(
        cls,
        project: Project,
        edited: Edited,
        index: int,
        pointer: tuple[float, float],
        others: Sequence[Target],
        group: Sequence[int] = (),
    ) -> Drag:
        """Return the drag that a press at `pointer` begins.

        Raises:
            EditError: the vertex is locked.
        """
        refuse_locked(project, edited, index)
        v = vertices_of(project, edited)[index]
        grab = (pointer[0] - v.z, pointer[1] - v.r)
        found = targets(project, edited, index, others)
        going = set(group) - {index}
        n = len(vertices_of(project, edited))
        if going:  # what goes along is nothing to snap to
            found = [target for target in found if not _goes_along(target, going, n)]
        along = tuple(i for i in sorted(going) if i >= locked_count(project, edited))
        return cls(project, edited, index, Targets(found), grab, along)

    def place(
        self, pointer: tuple[float, float], reach_mm: float, grid_mm: float, snapping: bool = True
    ) -> Snapped:
        """Return where the pointer takes the vertex, snapped unless `snapping` is held off."""
        z, r = pointer[0] - self.grab[0], max(pointer[1] - self.grab[1], 0.0)
        return snap(z, r, self.targets, reach_mm, grid_mm) if snapping else Snapped(z, r)

    def to(self, place: Snapped) -> Project:
        """Return the project with the vertex at a place, and its group as far from where it was."""
        if not self.group:
            return moved(self.base, self.edited, self.index, place.z, place.r)
        v = vertices_of(self.base, self.edited)[self.index]
        every = (*self.group, self.index)
        return shifted(self.base, self.edited, every, place.z - v.z, place.r - v.r)


def _goes_along(target: Target, going: set[int], n: int) -> bool:
    """True for a vertex, or the middle of an edge, of the edited thing that moves with the drag."""
    ends = {tr("vertex {i}", i=i + 1) for i in going} | {tr("middle of edge {i}", i=i + 1) for i in going}
    ends |= {tr("middle of edge {i}", i=(i - 1) % n + 1) for i in going}
    ends |= {tr("{axis} of vertex {i}", axis=axis, i=i + 1) for i in going for axis in "zr"}
    return target.word in ends or (target.way is not None and bool(going))


# Edits; each returns the new project


def refuse_locked(project: Project, edited: Edited, index: int) -> None:
    """Raise EditError where vertex `index` may not be edited, saying why and how to mend it."""
    changed(project, edited, lambda section: edits.refuse_locked(section, index))


def moved(project: Project, edited: Edited, index: int, z: float, r: float) -> Project:
    """Return the project with one vertex at (z, r); r below 0 becomes 0.

    Raises:
        EditError: the vertex is locked.
    """
    limit = LARGEST_MM
    z, r = min(max(z, -limit), limit), min(r, limit)
    return _with(project, edited, lambda section: edits.with_vertex_at(section, index, z, r))


def nudged(project: Project, edited: Edited, index: int, dz: float, dr: float) -> Project:
    """Return the project with one vertex shifted; the place is rounded to 1e-9 mm so that steps cancel.

    Raises:
        EditError: the vertex is locked.
    """
    refuse_locked(project, edited, index)
    v = vertices_of(project, edited)[index]
    return moved(project, edited, index, round(v.z + dz, 9), round(v.r + dr, 9))


def shifted(project: Project, edited: Edited, indices: Sequence[int], dz: float, dr: float) -> Project:
    """Return the project with several vertices shifted; rounded to 1e-9 mm so that steps cancel.

    Raises:
        EditError: a vertex is locked.
    """
    return _with(project, edited, lambda section: edits_lines.together(section, indices, dz, dr))


def rounded_at(project: Project, edited: Edited, index: int, radius: float) -> Project:
    """Return the project with the corner radius of one vertex set.

    Raises:
        EditError: the vertex is locked, or the radius is negative.
    """
    return _with(project, edited, lambda section: edits.with_radius(section, index, radius))


def inserted(project: Project, edited: Edited, edge: int, t: float) -> Project:
    """Return the project with a vertex on the edge that leaves vertex `edge`, at a fraction t of its length.

    Raises:
        EditError: the edge belongs to the locked contour, or t is at one of its ends.
    """
    return _with(project, edited, lambda section: edits.inserted(section, edge, t))


def deleted(project: Project, edited: Edited, index: int) -> Project:
    """Return the project without one vertex; two arcs of one circle become one, other arcs a straight edge.

    Raises:
        EditError: the vertex is locked, or fewer than three would remain.
    """
    return _with(project, edited, lambda section: edits.deleted(section, index))


def _with(project: Project, edited: Edited, change: Callable[[Section], Section]) -> Project:
    return with_section(project, edited, changed(project, edited, change))


def changed(project: Project, edited: Edited, change: Callable[[Section], T]) -> T:
    """Return what an edit makes of the vertices of a thing that is not locked as a whole."""
    thing = find(project, edited)
    if thing is None:
        raise EditError(tr("There is no {kind} called {name}.", kind=edited.kind, name=edited.name))
    if thing.locked:
        raise EditError(tr("{name} is locked; unlock it in the list of parts to edit it.", name=edited.name))
    try:
        return change(section_of(project, edited))
    except GeometryError as refused:
        raise EditError(str(refused)) from refused

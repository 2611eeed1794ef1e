"""Edits of single vertices by key: nudge, insert, delete, and which vertex is selected."""

from __future__ import annotations

from collections.abc import Callable
from functools import reduce

from app.language import spoken, tr
from app.session import drag
from app.session.document import Document
from app.session.edited import EditError, section_of, vertices_of
from app.views.canvas.finding import Finding, Place
from geometry.errors import GeometryError
from geometry.shape.edits_lines import of_zone


class VertexEdits:
    """Edits the selected vertices of the document, each as one step.

    Args:
        pointer: returns the place under the pointer, or None.
        busy: returns whether a drag is under way, in which nothing else is edited.
    """

    def __init__(
        self,
        document: Document,
        finding: Finding,
        pointer: Callable[[], Place | None],
        busy: Callable[[], bool],
    ) -> None:
        self._document, self._finding, self._pointer, self._busy = document, finding, pointer, busy

    def nudge(self, dz: float, dr: float) -> None:
        """Shift the selected vertex by mm; repeated nudges are one step."""
        index, group = self._document.selected, self._document.group
        if len(group) > 1:
            self._edit(
                lambda project, edited: drag.shifted(project, edited, group, dz, dr),
                tr("Move {group} vertices", group=len(group)),
                joins=f"nudge {group}",
            )
        elif index is not None:
            self._edit(
                lambda project, edited: drag.nudged(project, edited, index, dz, dr),
                tr("Move vertex {index}", index=index + 1),
                joins=f"nudge {index}",
            )

    def insert(self) -> None:
        """Insert a vertex on the edge under the pointer, else in the middle of the selected vertex's edge."""
        pointer = self._pointer()
        hit = self._finding.edge_at(pointer) if pointer is not None else None
        if hit is not None:
            self.insert_on(hit[0], hit[1])
        elif self._document.selected is not None:
            self.insert_on(self._document.selected, 0.5)
        else:
            self._document.say(tr("Point at an edge, or select the vertex whose edge gets a new one."))

    def insert_on(self, edge: int, share: float) -> None:
        """Insert a vertex at a fraction of an edge's length."""
        self._edit(
            lambda project, edited: drag.inserted(project, edited, edge, share),
            tr("Insert vertex"),
            selected=edge + 1,
        )

    def delete(self) -> None:
        """Delete the selected vertex, or all that are chosen together."""
        index, group = self._document.selected, self._document.group
        if len(group) > 1:
            self._edit(
                lambda project, edited: reduce(
                    lambda p, i: drag.deleted(p, edited, i), reversed(group), project
                ),
                tr("Delete {group} vertices", group=len(group)),
                selected=None,
            )
            return
        if index is None:
            self._document.say(tr("Select the vertex to be deleted first."))
            return
        self._edit(
            lambda project, edited: drag.deleted(project, edited, index),
            tr("Delete vertex {index}", index=index + 1),
            selected=max(index - 1, 0),
        )

    def select_next(self, step: int) -> None:
        """Select the vertex `step` further along the outline, round and round."""
        document = self._document
        count = len(vertices_of(document.project, document.edited)) if document.edited is not None else 0
        if count:
            at = document.selected
            first = 0 if step > 0 else count - 1
            document.select_vertex(first if at is None else (at + step) % count)

    def select_zone(self) -> None:
        """Choose all vertices of the selected vertex's zone that hang together with it."""
        document = self._document
        if document.edited is None or document.selected is None:
            document.say(tr("Select a vertex first: click one, or press N."))
            return
        section = section_of(document.project, document.edited)
        index = document.selected
        found = of_zone(section, index)
        document.select_group([*(i for i in found if i != index), *(i for i in found if i == index)])
        document.say(
            tr("{found} vertices of {zone} chosen.", found=len(found), zone=section.vertices[index].zone)
        )

    def _edit(
        self, change: drag.Change, text: str, joins: str | None = None, selected: int | None = -1
    ) -> None:
        document = self._document
        if document.edited is None or self._busy():
            return
        try:
            project = change(document.project, document.edited)
        except (EditError, GeometryError) as refused:
            document.say(spoken(str(refused)))
            return
        document.commit(project, text, joins=joins, selected=selected)

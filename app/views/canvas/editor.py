"""The canvas: the sheet with its coordinate boxes, and the gestures that edit vertices.

A gesture starts from the committed project, shows each step as a preview and ends with one commit, or with
nothing: Escape, and a drag that comes back to its start, leave no step.
"""

from __future__ import annotations

import math
from functools import reduce

from PySide6.QtCore import QElapsedTimer, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QSizePolicy, QStackedWidget, QVBoxLayout, QWidget

from app.project.project import Project
from app.session import drag
from app.session.document import Document
from app.session.drag import Drag, Target
from app.session.edited import Edited, EditError, Kind, locked_count, offset_mm, section_of, vertices_of
from app.session.shaping import Chosen, Pick
from app.session.shown import Shown
from app.units import format_length
from app.views.canvas.boxes import CoordinateBoxes
from app.views.canvas.drawing import blank_of, shapes_of
from app.views.canvas.plot import Sheet
from app.views.canvas.shaping import Shaping
from app.views.canvas.tool_row import ToolRow
from app.views.theme import Theme
from geometry.errors import GeometryError
from geometry.shape.edits import nearest_edge
from geometry.shape.edits_lines import of_zone
from geometry.shape.edits_stretch import Spot
from geometry.shape.outline import Corner
from geometry.shape.section import Vertex

Place = tuple[float, float]

#: Points and lines attract within this many logical pixels; an edge is hit within the same.
REACH_PX = 8.0
#: A click that changed what is edited is not the first half of a double click, ms.
_DOUBLE_MS = 600

_ARROWS = {
    Qt.Key.Key_Left: (-1.0, 0.0),
    Qt.Key.Key_Right: (1.0, 0.0),
    Qt.Key.Key_Down: (0.0, -1.0),
    Qt.Key.Key_Up: (0.0, 1.0),
}
_NUDGES_MM = {
    Qt.KeyboardModifier.NoModifier: 1.0,
    Qt.KeyboardModifier.ShiftModifier: 10.0,
    Qt.KeyboardModifier.ControlModifier: 0.1,
    Qt.KeyboardModifier.AltModifier: 0.01,
}


class Canvas(QWidget):
    """Drawing and editing of the open document.

    Signals:
        pointed(place): (z, r) under the pointer in mm, hub's frame; None when it left.
        snapped(words): what a drag snaps to; empty when it does not.
        moved(words): where the vertex under way lies and how far it was moved; empty when none is.
    """

    pointed = Signal(object)
    snapped = Signal(str)
    moved = Signal(str)

    def __init__(self, document: Document, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._document = document
        self._drag: Drag | None = None
        self._last: Project | None = None
        self._pointer: Place | None = None
        self._switched = QElapsedTimer()
        self.sheet = Sheet(theme, self)
        self.boxes = CoordinateBoxes(theme, self)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.sheet, 1)
        self.row = ToolRow(theme, self)
        self._rows = QStackedWidget()
        self._rows.addWidget(self.boxes)
        self._rows.addWidget(self.row)
        self._rows.setSizePolicy(self.boxes.sizePolicy().horizontalPolicy(), QSizePolicy.Policy.Fixed)
        column.addWidget(self._rows)
        self.shaping = Shaping(document, self.row, self.sheet.overlay, self._chosen_at)
        self.shaping.began.connect(lambda: self._rows.setCurrentWidget(self.row))
        self.shaping.ended.connect(self._show_boxes)
        self.setFocusProxy(self.sheet)
        document.shown.connect(self.show_state)
        handles = self.sheet.handles
        handles.pressed.connect(self._press)
        handles.dragged.connect(self._move)
        handles.released.connect(self._release)
        handles.clicked.connect(self._click_vertex)
        self.sheet.box.banded.connect(self._band)
        self.sheet.box.clicked.connect(self._click)
        self.sheet.pointed.connect(self._point)
        self.sheet.tabbed.connect(self.type_coordinates)
        self.boxes.typed.connect(self._typed)
        self.boxes.left.connect(self.sheet.setFocus)
        self.show_state(document.state)

    # What is shown

    def show_state(self, shown: Shown) -> None:
        """Show another state."""
        if self._last is not None and not shown.dragging:
            self._end_gesture()  # undo, or another part of the window, has ended it
        self.shaping.watch(shown.project, shown.dragging)
        self.sheet.show_state(shown)
        index, edited = shown.selected, shown.edited
        vertices = vertices_of(shown.project, edited) if edited is not None else ()
        if edited is None or index is None or index >= len(vertices):
            self.boxes.set_vertex(None, {}, self.sheet.unit())
            return
        v = vertices[index]
        locked = index < locked_count(shown.project, edited)
        values = {"z": v.z, "r": v.r, "radius": v.radius}
        self.boxes.set_vertex(index, values, self.sheet.unit(), locked)

    def _point(self, place: Place | None) -> None:
        self._pointer = place
        self.pointed.emit(place)

    # Drag

    @property
    def is_dragging(self) -> bool:
        """True while a vertex hangs on the pointer."""
        return self._drag is not None

    def _press(self, index: int, at: QPointF) -> None:
        document = self._document
        if self.shaping.is_active:
            return
        self.sheet.setFocus(Qt.FocusReason.MouseFocusReason)
        group = document.group if index in document.group and len(document.group) > 1 else ()
        if group:
            document.select_group([*(i for i in group if i != index), index])
        else:
            document.select_vertex(index)
        edited = document.edited
        if edited is None:
            return
        shift = offset_mm(document.project, edited, document.wheel)
        z, r = self.sheet.to_place(at)
        try:
            others = snap_points(document.state, edited)
            self._drag = Drag.start(document.project, edited, index, (z - shift, r), others, group)
        except EditError as refused:
            document.say(str(refused))

    def _move(self, at: QPointF, modifiers: Qt.KeyboardModifier) -> None:
        if self._drag is None:
            return
        held = self._drag
        shift = offset_mm(held.base, held.edited, self._document.wheel)
        z, r = self.sheet.to_place(at)
        scale = self.sheet.mm_per_pixel
        snapping = not modifiers & Qt.KeyboardModifier.ControlModifier
        grid = drag.grid_step_mm(scale, self.sheet.unit())
        self._last, place = held.to((z - shift, r), REACH_PX * scale, grid, snapping)
        self._mark_snap(((place.z + shift, place.r), place.is_point) if snapping else None, place.word)
        self.moved.emit(self._moved_words(held, self._last))
        self._document.preview(self._last)

    def _release(self) -> None:
        held, last = self._drag, self._last
        self._end_gesture()
        if held is not None and last is not None:
            count = len(held.group) + 1
            self._document.commit(
                last, f"Move vertex {held.index + 1}" if count == 1 else f"Move {count} vertices"
            )

    def _end_gesture(self) -> None:
        self._drag = self._last = None
        self._mark_snap(None, "")
        self.moved.emit("")
        self.sheet.overlay.update()

    def _moved_words(self, held: Drag, project: Project) -> str:
        before = vertices_of(held.base, held.edited)[held.index]
        now = vertices_of(project, held.edited)[held.index]
        unit = self.sheet.unit()

        def words(value_mm: float, sign: str = "") -> str:
            text = format_length(value_mm, unit, with_unit=False)
            return text.replace("-", "−") if text.startswith("-") else sign + text

        change = f"dz {words(now.z - before.z, '+')}   dr {words(now.r - before.r, '+')}"
        return f"vertex {held.index + 1}: z {words(now.z)}   r {words(now.r)}   {change} {unit}"

    def _mark_snap(self, mark: tuple[Place, bool] | None, words: str) -> None:
        """Set the snap's mark; it is painted with the preview that follows, not in a paint of its own."""
        self.sheet.overlay.snap_mark = mark
        self.snapped.emit(words)

    def cancel(self) -> None:
        """End the gesture under way without a change; without one, select nothing."""
        if self.shaping.is_active:
            self.shaping.cancel()
            return
        if self._drag is not None:
            self._end_gesture()
            self._document.cancel()
        else:
            self._document.select_vertex(None)

    # Typing

    def type_coordinates(self) -> None:
        """Put the keys into the coordinate boxes."""
        if self._document.selected is None:
            self._document.say("Select a vertex first: click one, or press N.")
        self.boxes.start("z")

    def type_radius(self) -> None:
        """Put the keys into the radius box."""
        if self._document.selected is None:
            self._document.say("Select a vertex first: click one, or press N.")
        self.boxes.start("radius")

    def _typed(self, values: dict[str, float]) -> None:
        document = self._document
        edited, index = document.edited, document.selected
        if edited is None or index is None:
            return
        # Typed beats mouse: it ends a drag; a coordinate that was not typed stays where the drag left it.
        base = self._last if self._drag is not None and self._last is not None else document.project
        self._end_gesture()
        v = vertices_of(base, edited)[index]
        try:
            project = drag.moved(base, edited, index, values.get("z", v.z), values.get("r", v.r))
            if "radius" in values:
                project = drag.rounded_at(project, edited, index, values["radius"])
        except (EditError, GeometryError) as refused:
            document.cancel()
            self.boxes.refuse(str(refused))
            return
        moved = "z" in values or "r" in values
        document.commit(project, f"{'Move' if moved else 'Round'} vertex {index + 1}")

    # Other edits

    def nudge(self, dz: float, dr: float) -> None:
        """Shift the selected vertex by mm; repeated nudges are one step."""
        index, group = self._document.selected, self._document.group
        if len(group) > 1:
            self._edit(
                lambda project, edited: drag.shifted(project, edited, group, dz, dr),
                f"Move {len(group)} vertices",
                joins=f"nudge {group}",
            )
        elif index is not None:
            self._edit(
                lambda project, edited: drag.nudged(project, edited, index, dz, dr),
                f"Move vertex {index + 1}",
                joins=f"nudge {index}",
            )

    def insert_vertex(self) -> None:
        """Insert a vertex on the edge under the pointer, else in the middle of the selected vertex's edge."""
        hit = self._edge_at(self._pointer) if self._pointer is not None else None
        if hit is not None:
            self._insert(hit[0], hit[1])
        elif self._document.selected is not None:
            self._insert(self._document.selected, 0.5)
        else:
            self._document.say("Point at an edge, or select the vertex whose edge gets a new one.")

    def delete_vertex(self) -> None:
        """Delete the selected vertex, or all that are chosen together."""
        index, group = self._document.selected, self._document.group
        if len(group) > 1:
            self._edit(
                lambda project, edited: reduce(
                    lambda p, i: drag.deleted(p, edited, i), reversed(group), project
                ),
                f"Delete {len(group)} vertices",
                selected=None,
            )
            return
        if index is None:
            self._document.say("Select the vertex to be deleted first.")
            return
        self._edit(
            lambda project, edited: drag.deleted(project, edited, index),
            f"Delete vertex {index + 1}",
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

    def select_zone_vertices(self) -> None:
        """Choose all vertices of the selected vertex's zone that hang together with it."""
        document = self._document
        if document.edited is None or document.selected is None:
            document.say("Select a vertex first: click one, or press N.")
            return
        section = section_of(document.project, document.edited)
        index = document.selected
        found = of_zone(section, index)
        document.select_group([*(i for i in found if i != index), *(i for i in found if i == index)])
        document.say(f"{len(found)} vertices of {section.vertices[index].zone} chosen.")

    def _click_vertex(self, index: int, modifiers: Qt.KeyboardModifier) -> None:
        document = self._document
        if self.shaping.is_active:
            if document.edited is not None:
                v = vertices_of(document.project, document.edited)[index]
                shift = offset_mm(document.project, document.edited, document.wheel)
                self.shaping.click((v.z + shift, v.r))
            return
        if not modifiers & Qt.KeyboardModifier.ShiftModifier:
            document.select_vertex(index)
            return
        group = [i for i in document.group if i != index]
        document.select_group(group if index in document.group else [*group, index])

    def _band(self, start: QPointF, end: QPointF, finished: bool) -> None:
        """Draw the box from one place to another; at the end the vertices in it are chosen too."""
        overlay, document = self.sheet.overlay, self._document
        box = QRectF(start, end).normalized()
        overlay.band = None if finished else box
        overlay.update()
        if not finished or document.edited is None or self.shaping.is_active:
            return
        shift = offset_mm(document.project, document.edited, document.wheel)
        first = locked_count(document.project, document.edited)
        vertices = vertices_of(document.project, document.edited)
        inside = [
            i
            for i, v in enumerate(vertices)
            if i >= first and box.contains(self.sheet.to_pixels(v.z + shift, v.r))
        ]
        document.select_group(dict.fromkeys([*document.group, *inside]))

    def _chosen_at(self, place: Place, kind: Pick) -> Chosen | None:
        """Return what a click chooses for an edit under way."""
        document = self._document
        if document.edited is None:
            return None
        things = [document.edited]
        if kind in (Pick.SHAPE, Pick.OUTLINE):
            every = [e for e in _drawn(document.state) if e != document.edited]
            things = every if kind is Pick.OUTLINE else [e for e in every if e.kind is Kind.SHAPE]
            things += [document.edited] if kind is Pick.OUTLINE else []
        near = [(hit, e) for e in things if (hit := self._edge_at(place, e)) is not None]
        if not near:
            return None
        (edge, share, _), thing = min(near, key=lambda found: found[0][2])
        shift = offset_mm(document.project, thing, document.wheel)
        vertices = vertices_of(document.project, thing)
        at = (place[0] - shift, place[1])
        apart = [math.hypot(v.z - at[0], v.r - at[1]) for v in vertices]
        nearest = apart.index(min(apart))
        corner = nearest if apart[nearest] <= REACH_PX * self.sheet.mm_per_pixel else None
        if kind is Pick.VERTEX and corner is None:
            return None
        spot = (
            Spot(at[0], at[1], corner)
            if corner is None
            else Spot(vertices[corner].z, vertices[corner].r, corner)
        )
        return Chosen(spot, thing, edge, share)

    def _show_boxes(self) -> None:
        self._rows.setCurrentWidget(self.boxes)
        self.sheet.setFocus(Qt.FocusReason.OtherFocusReason)

    def _insert(self, edge: int, t: float) -> None:
        self._edit(
            lambda project, edited: drag.inserted(project, edited, edge, t),
            "Insert vertex",
            selected=edge + 1,
        )

    def _edit(
        self, change: drag.Change, text: str, joins: str | None = None, selected: int | None = -1
    ) -> None:
        document = self._document
        if document.edited is None or self._drag is not None:
            return
        try:
            project = change(document.project, document.edited)
        except (EditError, GeometryError) as refused:
            document.say(str(refused))
            return
        document.commit(project, text, joins=joins, selected=selected)

    # Mouse and keys

    def _click(self, at: QPointF, double: bool) -> None:
        self.sheet.setFocus(Qt.FocusReason.MouseFocusReason)
        place = self.sheet.to_place(at)
        if self.shaping.is_active:
            if not double:
                self.shaping.click(place)
            return
        hit = self._edge_at(place)
        recent = self._switched.isValid() and self._switched.elapsed() < _DOUBLE_MS
        if double:
            if hit is not None and not recent:
                self._insert(hit[0], hit[1])
            return
        if hit is not None:
            return
        other = self._thing_at(place)
        if other is not None:
            self._switched.start()
            self._document.edit(other)
        else:
            self._document.select_vertex(None)

    def _edge_at(self, place: Place, edited: Edited | None = None) -> tuple[int, float, float] | None:
        """Return edge, fraction along it and distance in mm of the edge at a place, or None."""
        document = self._document
        edited = edited or document.edited
        vertices = vertices_of(document.project, edited) if edited is not None else ()
        if edited is None or len(vertices) < 2:
            return None
        shift = offset_mm(document.project, edited, document.wheel)
        edge, t, distance = nearest_edge(vertices, place[0] - shift, place[1])
        return (edge, t, distance) if distance <= REACH_PX * self.sheet.mm_per_pixel else None

    def _thing_at(self, place: Place) -> Edited | None:
        things = _drawn(self._document.state)
        near = [(hit[2], k) for k, e in enumerate(things) if (hit := self._edge_at(place, e)) is not None]
        return things[min(near)[1]] if near else None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Nudge by arrow, end a gesture by Escape."""
        if event.key() == Qt.Key.Key_Escape:
            self.cancel()
            return
        arrow = _ARROWS.get(Qt.Key(event.key()))
        modifiers = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        step = _NUDGES_MM.get(modifiers)
        if arrow is None or step is None:
            event.ignore()
            return
        self.nudge(arrow[0] * step, arrow[1] * step)


def _drawn(shown: Shown) -> list[Edited]:
    """Return everything on the sheet whose vertices could be edited."""
    result = []
    if shown.wheel is not None and shown.wheel.visible:
        result.append(Edited(Kind.WHEEL, shown.wheel.name))
    blank = blank_of(shown)
    if blank is not None:
        result.append(Edited(Kind.BLANK, blank.name))
    for shape in shapes_of(shown):
        result += [Edited(Kind.SHAPE, shape.name, k) for k in range(len(shape.outlines))]
    return result


def snap_points(shown: Shown, edited: Edited) -> list[Target]:
    """Return the vertices of everything else on the sheet, in the frame of the edited thing."""
    own = offset_mm(shown.project, edited, shown.wheel)
    result = []
    for other in _drawn(shown):
        if other != edited:
            shift = offset_mm(shown.project, other, shown.wheel) - own
            vertices: tuple[Vertex | Corner, ...] = vertices_of(shown.project, other)
            result += [
                Target(v.z + shift, v.r, f"{other.name}, vertex {i + 1}") for i, v in enumerate(vertices)
            ]
    return result

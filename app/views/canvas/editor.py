"""The canvas: the sheet with its coordinate boxes, and the gestures that edit vertices."""

from __future__ import annotations

from PySide6.QtCore import QElapsedTimer, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QSizePolicy, QStackedWidget, QVBoxLayout, QWidget

from app.language import spoken, tr
from app.session import drag
from app.session.document import Document
from app.session.edited import EditError, grade_of, locked_count, offset_mm, vertices_of
from app.session.shown import Shown
from app.views.canvas.boxes import CoordinateBoxes
from app.views.canvas.dimensioning import Dimensioning
from app.views.canvas.dragging import Dragging
from app.views.canvas.finding import Finding, Place
from app.views.canvas.plot import Sheet
from app.views.canvas.shaping import Shaping
from app.views.canvas.tool_row import ToolRow
from app.views.canvas.vertex_edits import VertexEdits
from app.views.theme import Theme
from geometry.errors import GeometryError

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
        self.finding = Finding(document, self.sheet)
        self._step: Shown | None = None  # of a gesture, whose numbers are not in the boxes yet
        self.shaping = Shaping(document, self.row, self.sheet.overlay, self.finding.chosen_at)
        self.shaping.began.connect(lambda: self._rows.setCurrentWidget(self.row))
        self.shaping.ended.connect(self._show_boxes)
        self.dragging = Dragging(document, self.sheet)
        self.dragging.snapped.connect(self.snapped)
        self.dragging.moved.connect(self.moved)
        self.dimensioning = Dimensioning(document, self.sheet, self.finding, theme)
        self.vertices = VertexEdits(
            document, self.finding, lambda: self._pointer, lambda: self.dragging.is_active
        )
        self.setFocusProxy(self.sheet)
        document.shown.connect(self.show_state)
        document.started.connect(self.sheet.fit)
        handles = self.sheet.handles
        handles.pressed.connect(self._press)
        handles.dragged.connect(self._drag_to)
        handles.released.connect(self.dragging.release)
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
        if self.dragging.last is not None and not shown.dragging:
            self.dragging.end()  # undo, or another part of the window, has ended it
        self.shaping.watch(shown)
        self.sheet.show_state(shown)
        self.dimensioning.show_state(shown)
        self._step = shown if shown.dragging else None
        if not shown.dragging:
            self._show_numbers(shown)

    def tell_drag(self) -> None:
        """Show and tell the numbers of a step of a gesture, once its drawing has been painted."""
        step, self._step = self._step, None
        if step is None:
            return
        self._show_numbers(step)
        if self.dragging.is_active:
            self.sheet.tell_pointer()
            self.dragging.tell(step.project)

    def _show_numbers(self, shown: Shown) -> None:
        """Put the selected vertex into the coordinate boxes."""
        index, edited = shown.selected, shown.edited
        vertices = vertices_of(shown.project, edited) if edited is not None else ()
        if edited is None or index is None or index >= len(vertices):
            self.boxes.set_vertex(None, {}, self.sheet.unit())
            return
        v = vertices[index]
        locked = index < locked_count(shown.project, edited)
        values = {"z": v.z, "r": v.r, "radius": v.radius}
        grade = grade_of(shown.project, edited)
        self.boxes.set_vertex(index, values, self.sheet.unit(), locked, grade)

    def _point(self, place: Place | None) -> None:
        self._pointer = place
        self.pointed.emit(place)

    # Gestures

    def _press(self, index: int, at: QPointF) -> None:
        if not self.shaping.is_active:
            self.sheet.setFocus(Qt.FocusReason.MouseFocusReason)
            self.dragging.press(index, at)

    def _drag_to(self, at: QPointF, modifiers: Qt.KeyboardModifier) -> None:
        self.dragging.move(at, modifiers)
        if not self.dragging.is_active:  # the vertex is locked: no step follows with which it is told
            self.sheet.tell_pointer()

    def cancel(self) -> None:
        """End the gesture under way without a change; without one, select nothing."""
        if self.shaping.is_active:
            self.shaping.cancel()
            return
        if self.dimensioning.is_typing:
            self.dimensioning.cancel()
        elif self.dragging.is_active:
            self.dragging.end()
            self._document.cancel()
        else:
            self._document.select_vertex(None)

    # Typing

    def type_coordinates(self) -> None:
        """Put the keys into the coordinate boxes."""
        if self._document.selected is None:
            self._document.say(tr("Select a vertex first: click one, or press N."))
        self.boxes.start("z")

    def type_radius(self) -> None:
        """Put the keys into the radius box."""
        if self._document.selected is None:
            self._document.say(tr("Select a vertex first: click one, or press N."))
        self.boxes.start("radius")

    def _typed(self, values: dict[str, float]) -> None:
        document = self._document
        edited, index = document.edited, document.selected
        if edited is None or index is None:
            return
        # Typed beats mouse: it ends a drag; a coordinate that was not typed stays where the drag left it.
        last = self.dragging.last if self.dragging.is_active else None
        base = last if last is not None else document.project
        self.dragging.end()
        v = vertices_of(base, edited)[index]
        try:
            project = drag.moved(base, edited, index, values.get("z", v.z), values.get("r", v.r))
            if "radius" in values:
                project = drag.rounded_at(project, edited, index, values["radius"])
        except (EditError, GeometryError) as refused:
            document.cancel()
            self.boxes.refuse(spoken(str(refused)))
            return
        moved = "z" in values or "r" in values
        document.commit(
            project,
            tr("{moved} vertex {index}", moved=tr("Move") if moved else tr("Round"), index=index + 1),
            exact=True,
        )

    def dimension_these(self) -> None:
        """Add, change or take away a dimension of what is chosen or pointed at."""
        self.dimensioning.dimension_these(self._pointer)

    # Mouse and keys

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

    def _show_boxes(self) -> None:
        self._rows.setCurrentWidget(self.boxes)
        self.sheet.setFocus(Qt.FocusReason.OtherFocusReason)

    def _click(self, at: QPointF, double: bool) -> None:
        self.sheet.setFocus(Qt.FocusReason.MouseFocusReason)
        place = self.sheet.to_place(at)
        if self.shaping.is_active:
            if not double:
                self.shaping.click(place)
            return
        hit = self.finding.edge_at(place)
        recent = self._switched.isValid() and self._switched.elapsed() < _DOUBLE_MS
        if double:
            if hit is not None and not recent:
                self.vertices.insert_on(hit[0], hit[1])
            return
        if hit is not None:
            return
        other = self.finding.thing_at(place)
        if other is not None:
            self._switched.start()
            self._document.edit(other)
        else:
            self._document.select_vertex(None)

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
        self.vertices.nudge(arrow[0] * step, arrow[1] * step)

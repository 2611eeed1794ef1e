"""The drag of a vertex, or of several that go together: press, move, release.

It starts from the committed project, shows each step as a preview and ends with one commit, or with nothing:
Escape, and a drag that comes back to its start, leave no step.
"""

from __future__ import annotations

from PySide6.QtCore import QObject, QPointF, Qt, Signal

from app.language import spoken, tr
from app.project.project import Project
from app.reports.numbers import decimals
from app.session.document import Document
from app.session.drag import Drag
from app.session.edited import EditError, grade_of, offset_mm, vertices_of
from app.session.snaps import Snapped, grid_step_mm, snaps_of_others
from app.units import format_length
from app.views.canvas.finding import REACH_PX, drawn
from app.views.canvas.plot import Sheet


class Dragging(QObject):
    """One drag under way, or none.

    Signals:
        snapped(words): what a drag snaps to; empty when it does not.
        moved(words): where the vertex under way lies and how far it was moved; empty when none is.
    """

    snapped = Signal(str)
    moved = Signal(str)

    def __init__(self, document: Document, sheet: Sheet) -> None:
        super().__init__(sheet)
        self._document, self._sheet = document, sheet
        self._drag: Drag | None = None
        self.last: Project | None = None
        self._step: tuple[Snapped, bool] | None = None  # the newest: where, and whether it could snap
        self._told = True
        self._pointer: tuple[QPointF, Qt.KeyboardModifier] | None = None  # of the newest move
        sheet.scaled.connect(self._follow_view)

    @property
    def is_active(self) -> bool:
        """True while a vertex hangs on the pointer."""
        return self._drag is not None

    def press(self, index: int, at: QPointF) -> None:
        """Take a vertex, with those chosen together with it."""
        document = self._document
        group = document.group if index in document.group and len(document.group) > 1 else ()
        if group:
            document.select_group([*(i for i in group if i != index), index])
        else:
            document.select_vertex(index)
        edited = document.edited
        if edited is None:
            return
        shift = offset_mm(document.project, edited, document.wheel)
        z, r = self._sheet.to_place(at)
        try:
            others = snaps_of_others(document.state, edited, drawn(document.state))
            self._drag = Drag.start(document.project, edited, index, (z - shift, r), others, group)
        except EditError as refused:
            document.say(spoken(str(refused)))

    def move(self, at: QPointF, modifiers: Qt.KeyboardModifier) -> None:
        """Follow the pointer; with Ctrl held nothing is snapped to."""
        if self._drag is None:
            return
        held = self._drag
        self._pointer = at, modifiers
        shift = offset_mm(held.base, held.edited, self._document.wheel)
        z, r = self._sheet.to_place(at)
        scale = self._sheet.mm_per_pixel
        snapping = not modifiers & Qt.KeyboardModifier.ControlModifier
        grid = grid_step_mm(scale, self._sheet.unit())
        place = held.place((z - shift, r), REACH_PX * scale, grid, snapping)
        if (place, snapping) == self._step:  # it stays on its snap
            self._sheet.tell_pointer()
            return
        self.last, self._step = held.to(place), (place, snapping)
        mark = ((place.z + shift, place.r), place.kind, place.word) if snapping else None
        # Painted with the preview that follows, not in a paint of its own.
        self._sheet.overlay.snap_mark = mark
        self._told = False
        self._document.preview(self.last)

    def _follow_view(self) -> None:
        """Take the vertex to what now lies under the pointer, which rested while the view moved below it."""
        if self._pointer is not None:
            self.move(*self._pointer)

    def tell(self, shown: Project) -> None:
        """Tell where the vertex lies and what it snaps to: once it is painted, since this takes time.

        In what is shown it lies where drives and constraints leave it, which may be off the pointer.
        """
        if self._told or self._drag is None or self._step is None:
            return
        place, snapping = self._step
        self.snapped.emit(place.word if snapping else tr("off while Ctrl is held"))
        self.moved.emit(self._words(self._drag, shown))
        self._told = True

    def release(self) -> None:
        """End with one step."""
        held, last = self._drag, self.last
        self.end()
        if held is not None and last is not None:
            count = len(held.group) + 1
            self._document.commit(
                last,
                tr("Move vertex {index}", index=held.index + 1)
                if count == 1
                else tr("Move {count} vertices", count=count),
            )

    def end(self) -> None:
        """Let go of the vertex without a step."""
        self._drag = self.last = self._step = self._pointer = None
        self._sheet.overlay.snap_mark = None
        self.snapped.emit("")
        self.moved.emit("")
        self._sheet.overlay.update()

    def _words(self, held: Drag, project: Project) -> str:
        before = vertices_of(held.base, held.edited)[held.index]
        now = vertices_of(project, held.edited)[held.index]
        unit = self._sheet.unit()
        digits = decimals(grade_of(project, held.edited), unit)

        def words(value_mm: float, sign: str = "") -> str:
            text = format_length(value_mm, unit, digits, with_unit=False)
            return text.replace("-", "−") if text.startswith("-") else sign + text

        change = tr("dz {z}   dr {r}", z=words(now.z - before.z, "+"), r=words(now.r - before.r, "+"))
        return tr(
            "vertex {index}: z {z}   r {r}   {change} {unit}",
            index=held.index + 1,
            z=words(now.z),
            r=words(now.r),
            change=change,
            unit=unit,
        )

"""Tracing a picture: known lengths give its scale, two places its zero, clicks its outline over the wheel."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QAbstractButton, QApplication, QWidget

from app.files.readers.answer import CancelledError, ReadError
from app.files.readers.read_picture import Picture, read_picture
from app.language import spoken, tr
from app.project.project import Project
from app.reports.numbers import unit_of
from app.session.jobs import Jobs
from app.window.dialogs.card_fields import check_card, open_line
from app.window.dialogs.careful import CarefulDialog
from app.window.dialogs.import_made import with_shape
from app.window.dialogs.import_report import OPEN, TROUBLE, Line, capital
from app.window.dialogs.over_wheel import Given
from app.window.dialogs.shape_look import ShapeLook
from app.window.dialogs.trace_layout import lay_out
from app.window.dialogs.trace_pages import OutlinePage, PicturePage, ScalePage
from app.window.dialogs.trace_report import (
    error_line,
    error_of,
    next_words,
    scale_lines,
    starting_mm,
    todo_line,
)
from app.window.dialogs.trace_sheet import TraceSheet
from app.window.dialogs.trace_state import Task, Trace
from app.window.dialogs.trace_steps import TraceSteps
from app.window.dialogs.trace_trust import TraceTrust, card
from app.window.dialogs.typed_fields import FieldError, NumberField, length
from geometry.shape.curve import Path as Outline
from geometry.shape.outline import Corner, NamedOutline, StayOut, ZeroFace, motion_of, outline_path
from geometry.shape.tracing import Pixel, traced

Read = Callable[..., Picture]
_READING = tr("reading the picture")
#: Pages by their place.
_SCALE, _OUTLINE = 1, 2
_FACES = {Task.BEARING: ZeroFace.BEARING, Task.FLANGE: ZeroFace.HUB_FLANGE}


class TraceDialog(CarefulDialog):
    """Makes a stay-out shape of an outline clicked over a picture.

    Args:
        project: as it is now.
        path: the picture, or a PDF.
        wheel: name of the wheel that is shown, None for none.
        parent: window it belongs to.
        read: reads a picture.
    """

    def __init__(
        self,
        project: Project,
        path: Path,
        wheel: str | None = None,
        parent: QWidget | None = None,
        read: Read = read_picture,
    ) -> None:
        super().__init__(tr("Trace a picture: {name}", name=path.name), project, parent)
        self.path, self._read, self._shown_wheel = path, read, wheel
        self.picture: Picture | None = None
        self.steps = TraceSteps()
        self._failed = ""
        self.jobs, self._stop = Jobs(self), threading.Event()
        kind = length(project.display_unit)
        self.sheet = TraceSheet(unit_of(project))
        self.look = ShapeLook(project, wheel, lines=6, has_report=False)
        self.lie = PicturePage(self.page(tr("&Picture")), self.point, self._laid, self._paged)
        self.scale = ScalePage(self.page(tr("&Scale")), kind, self.point, self._typed)
        self.outline = OutlinePage(
            self.page(tr("&Outline")),
            project,
            path.stem,
            kind,
            wheel is not None,
            self.point,
            self._select,
            self._typed,
        )
        self.trust = TraceTrust(self.page(tr("&Trust")), kind, self.outline.kind, self._show)
        self.strip, self.next = lay_out(self)
        self._connect()
        self.resize(1240, 740)
        self._show()
        self._start_reading()

    def _connect(self) -> None:
        sheet, outline, steps = self.sheet, self.outline, self.steps
        sheet.taken.connect(self._taken)
        sheet.point_selected.connect(self._select)
        sheet.point_dropped.connect(steps.history.end_step)
        for signal, step in (
            (sheet.side_clicked, steps.insert),
            (sheet.point_dragged, steps.drag),
            (sheet.closing, steps.close),
            (sheet.removing, steps.remove),
        ):
            signal.connect(lambda *what, step=step: self._do(step, *what))
        for button, step in (
            (outline.close, steps.close),
            (outline.remove, steps.remove),
            (outline.undo, steps.undo),
            (outline.redo, steps.redo),
        ):
            button.clicked.connect(lambda _on=False, step=step: self._do(step))
        self.next.clicked.connect(self.go_on)
        for field in self.fields():
            field.edited.connect(self.touch)
        outline.name.edited.connect(self._show)
        outline.kind.edited.connect(self._show)

    # Reading

    @property
    def is_reading(self) -> bool:
        """True while the picture is awaited."""
        return self.jobs.is_busy

    def _start_reading(self) -> None:
        self._stop.set()
        self._stop = threading.Event()
        self.picture, self._failed = None, ""
        self.sheet.show_picture(None)
        work = partial(self._read, self.path, self.trace.page, cancelled=self._stop.is_set)
        self.jobs.start(_READING, work, self._came, self._not_read)
        self._show()

    def _came(self, picture: Picture) -> None:
        self.picture = picture
        self.sheet.show_picture(picture)
        self.sheet.setFocus(Qt.FocusReason.OtherFocusReason)
        self._show()

    def _not_read(self, error: Exception) -> None:
        if isinstance(error, CancelledError):
            return
        if not isinstance(error, ReadError):
            raise error
        self._failed = spoken(str(error)).removeprefix(f"{self.path.name}: ")
        self._show()

    # What is clicked and typed

    @property
    def trace(self) -> Trace:
        """What was clicked and typed so far."""
        return self.steps.trace

    def _do(self, step: Callable[..., object], *what: object) -> None:
        """Do a step and show what came of it; another page is read."""
        page = self.trace.page
        step(*what)
        self.touch()
        if self.trace.page != page:
            self._start_reading()
        self._show()

    def point(self, task: Task) -> None:
        """Let the next clicks be for something."""
        self.steps.begin(task)
        self.sheet.setFocus(Qt.FocusReason.OtherFocusReason)
        self._show()

    def go_on(self) -> None:
        """Go to what comes next: a length to be typed, a place to be pointed at, the outline, OK."""
        untyped, task = self.trace.untyped(), self.trace.next_task()
        if untyped is not None:
            self._ask_length(untyped)
        elif task is None:
            self.buttons.button(self.buttons.StandardButton.Ok).setFocus()
        else:
            self.pages.setCurrentIndex(_OUTLINE if task is Task.OUTLINE else _SCALE)
            self.point(task)

    def _ask_length(self, slot: int) -> None:
        self.pages.setCurrentIndex(_SCALE)
        line = self.scale.lengths[slot].line
        line.setFocus(Qt.FocusReason.OtherFocusReason)
        line.selectAll()

    def _taken(self, pixel: Pixel) -> None:
        """Take a click for what it was asked for; a known length is typed next."""
        ended = self.steps.take(pixel)
        if ended in _FACES:
            self.trust.set_zero(_FACES[ended], f"pointed at in the picture: {ended.words}")
        self.touch()
        self._show()
        slot = None if ended is None else ended.length
        if slot is not None and self.trace.lengths[slot].true_mm is None:
            self._ask_length(slot)

    def _select(self, k: int) -> None:
        self.steps.select(k)
        self._show()

    def _typed(self, what: str) -> None:
        """Take a number that is being typed; what cannot be read changes nothing yet."""
        try:
            trace = self._with_typed(what)
        except ValueError:
            return
        self._do(self.steps.put, trace, tr("type {what} {selected}", what=what, selected=self.steps.selected))

    def _with_typed(self, what: str) -> Trace:
        trace, scale, outline, k = self.trace, self.scale, self.outline, self.steps.selected
        if what.startswith("length"):
            slot = int(what.split()[1])
            return trace.with_length(slot, true_mm=scale.lengths[slot].read())
        if what == "face":
            return replace(trace, face_mm=scale.face.number())
        if what == "axle":
            return replace(trace, axle_mm=scale.axle.number())
        if k is None:
            return trace
        fields: dict[str, NumberField] = {"z": outline.z, "r": outline.r, "radius": outline.radius}
        return trace.with_point(k, **{what: fields[what].read()})

    def _laid(self) -> None:
        """Take how the picture is turned."""
        self._do(self.steps.lay, self.lie.turns.read(), self.lie.flip.read())

    def _paged(self) -> None:
        """Take another page."""
        if self.lie.page.check() and self.lie.page.count() - 1 != self.trace.page:
            self._do(self.steps.turn_to, self.lie.page.count() - 1)

    # Showing

    def _show(self) -> None:
        """Draw and tell again what was clicked and typed."""
        trace, steps = self.trace, self.steps
        corners = self._corners()
        error = error_of(trace, corners)
        self.trust.follow(trace, None if error is None else starting_mm(error))
        self.sheet.show_trace(trace, steps.task, steps.first, steps.selected)
        self.lie.show(trace, self.picture.head.pages if self.picture is not None else 1, self._about())
        self.lie.level.setChecked(steps.task is Task.LEVEL)
        self.scale.show(trace, steps.task)
        self.outline.show(trace, corners, steps.selected, steps.task)
        self.outline.undo.setEnabled(bool(steps.history.past))
        self.outline.redo.setEnabled(bool(steps.history.future))
        self._show_strip()
        said = [*scale_lines(trace), *error_line(trace, error, self._error_mm())]
        shape, trouble = (
            None,
            [Line(tr("Not read"), capital(self._failed), TROUBLE)] if self._failed else todo_line(trace),
        )
        given = Given()
        if corners and trace.is_closed:
            try:
                shape = self._shape()
                given = _given(shape)
                said.append(_trust_line(self.trust, shape))
            except ValueError as wrong:
                shape, trouble = None, [Line(tr("No outline"), str(wrong), TROUBLE)]
        elif corners:
            given = Given(places=np.array([(c.z, c.r) for c in corners]))
        self.look.show_shape(given, shape, [*trouble, *said])

    def _error_mm(self) -> float | None:
        try:
            return self.trust.error.read()
        except ValueError:
            return None

    def _about(self) -> str:
        if self.picture is None:
            return ""
        head = self.picture.head
        page = (
            [tr("page {page} of {pages}", page=self.trace.page + 1, pages=head.pages)]
            if head.pages > 1
            else []
        )
        return capital(
            "; ".join(
                [
                    *page,
                    tr(
                        "{full_width} x {full_height} pixels",
                        full_width=head.full_width,
                        full_height=head.full_height,
                    ),
                    *head.notes,
                ]
            )
        )

    def _show_strip(self) -> None:
        """Say what the next click is for."""
        if self._failed:
            words = tr("Not read: {failed}", failed=self._failed)
        elif self.picture is None:
            words = tr("Reading {name}...", name=self.path.name)
        elif self.steps.task is Task.OUTLINE and self.trace.is_closed:
            words = next_words(self.trace)
            words = (
                tr("Next: {words}", words=words)
                if words
                else tr("Closed. Drag its points, or click a side for another one.")
            )
        else:
            end = tr(", now the second") if self.steps.first is not None else ""
            words = tr("Click {words}{end}.", words=self.steps.task.words, end=end)
        self.strip.setText(words)
        self.next.setEnabled(self.picture is not None)

    # What it becomes

    def _corners(self) -> tuple[Corner, ...]:
        picture = self.trace.map()
        return () if picture is None else traced(self.trace.points, picture)

    def _shape(self) -> StayOut:
        """Return the stay-out shape of the outline.

        Raises:
            ValueError: a field cannot be read, or the outline cannot be: what, where, how to mend it.
        """
        assert self.picture is not None
        corners = self._corners()
        path = outline_path(corners)
        if not isinstance(path, Outline):
            raise FieldError(path[0].message.replace("Vertex ", "Point ").replace("vertices ", "points "))
        head, kind = self.picture.head, self.outline.kind.read()
        shape = StayOut(
            self.outline.name.line.text().strip() or "it",
            (NamedOutline(tr("as traced"), corners),),
            kind=kind,
            motion=motion_of(kind),
            card=card(self.path.name, self.trace.page, head.pages, head.sha256),
        )
        return self.trust.card_of(shape)

    def made(self) -> tuple[Project, str]:
        """Return the project with the traced shape added.

        Raises:
            FieldError: something is still to be pointed at or typed, or the outline cannot be.
        """
        if self.picture is None:
            raise FieldError(
                tr("There is no picture: {failed}.", failed=self._failed or tr("it is being read"))
            )
        missing = next_words(self.trace)
        if missing:
            raise FieldError(tr("Not yet: {missing}.", missing=missing))
        shape = replace(self._shape(), name=self.outline.name.read())
        shape = replace(shape, notes={"tracing": [f"{line.about}: {line.said}" for line in self.look.said]})
        check_card(shape)
        held_by = self._shown_wheel if self.outline.hold.read() else None
        return with_shape(self.project, shape, held_by), tr("Trace {name}", name=shape.name)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Undo, redo; let Enter in a field go on to the next step, and only then press OK."""
        is_enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        on_button = isinstance(QApplication.focusWidget(), QAbstractButton)
        if event.matches(QKeySequence.StandardKey.Undo):
            self._do(self.steps.undo)
        elif event.matches(QKeySequence.StandardKey.Redo):
            self._do(self.steps.redo)
        elif is_enter and not on_button and self.picture is not None and next_words(self.trace):
            self.go_on()
        else:
            super().keyPressEvent(event)

    def reject(self) -> None:
        """Give up the first of two places, or leave."""
        if self.steps.give_up():
            self._show()
        else:
            super().reject()

    def done(self, result: int) -> None:
        """Wait for nothing any more."""
        self._stop.set()
        self.jobs.drop(_READING)
        self.look.close_down()
        super().done(result)


def _given(shape: StayOut) -> Given:
    corners = shape.outlines[0].corners
    path = outline_path(corners)
    assert isinstance(path, Outline), "a shape that is shown has an outline"
    moved, extent = path.moved(shape.shift_mm), shape.extent
    return Given(
        moved,
        tr("as it will be kept"),
        np.array([(c.z + shape.shift_mm, c.r) for c in corners]),
        unseen=(
            None if extent.ends_inboard else moved.bounds[0],
            None if extent.ends_outboard else moved.bounds[1],
        ),
    )


def _trust_line(trust: TraceTrust, shape: StayOut) -> Line:
    words = trust.tell(open_line(shape))
    tone = OPEN if words.startswith("?") else ""
    words = words.removeprefix("? ")
    return Line(tr("Trust"), f"{spoken(shape.card.grade)}; {words[:1].lower()}{words[1:]}", tone)

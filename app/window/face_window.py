"""The window of a wheel's face: windows and spokes from the street, to be edited; the whole wheel shaded."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from html import escape

from PySide6.QtCore import QTimer
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QDialog, QHBoxLayout, QLabel, QPushButton, QTabWidget, QVBoxLayout, QWidget

from app.language import spoken, tr
from app.project import edits
from app.project.edits import EditError
from app.project.project import Project
from app.project.sides import side_words
from app.project.wheel import Spokes, Wheel
from app.reports.numbers import Numbers, unit_of
from app.reports.shaded import Shaded, shaded
from app.session.document import Document
from app.session.jobs import Jobs
from app.session.shown import Shown
from app.studies.face import (
    body_of,
    face_of,
    fill_of,
    with_radius,
    with_row_after,
    with_width,
    without_row,
)
from app.views.face_picture import FacePicture
from app.views.readings_text import minus
from app.views.shaded_picture import ShadedPicture
from app.views.theme import Theme, figures
from app.window.dialogs.form import Form, quiet_label
from app.window.dialogs.typed_fields import NUMBER, PER_CENT, NumberField, length
from app.window.questions import tell
from geometry.errors import GeometryError
from geometry.shape.curve import Path

_JOB = "the wheel shaded"
#: Pixels of the picture at once and of the one after, and how long a turn must rest for that, ms.
_COARSE, _FINE, _REST_MS = 150, 520, 250
_LEGEND = tr(
    "square: width of the spokes at a radius, drag or arrow keys   dashed: full hub ends   dotted: valve "
    "hole, where the well's wall is straight; its place round the wheel is not stored"
)
_PLAIN = tr(
    "A picture of the section turned about the axle, with windows and holes. Edges of spokes stand square to "
    "the face as the fill ratio has them; their own radii are not in the model."
)
_DISC = tr("A full disc: give it spokes in Wheel details (Ctrl+Return), then their widths can be drawn here.")


class FaceWindow(QDialog):
    """Follows the shown wheel; what is drawn here is an edit of the document like any other."""

    def __init__(self, document: Document, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Face and whole wheel"))
        self._document = document
        self.jobs = Jobs(self)
        self.face, self.whole = FacePicture(theme), ShadedPicture(theme)
        self.head, self.mass = QLabel(), QLabel()
        self.pages = QTabWidget()
        self.insert, self.remove = QPushButton(tr("&Insert width")), QPushButton(tr("&Remove width"))
        self._fine = QTimer(self)
        self._fine.setSingleShot(True)
        self._fine.setInterval(_REST_MS)
        self._fine.timeout.connect(partial(self._render, _FINE))
        self._dragged: Spokes | None = None
        self._make_form()
        self._lay_out()
        self.face.chosen.connect(self._show_row)
        self.face.dragged.connect(self._drag)
        self.face.released.connect(self._release)
        self.face.cancelled.connect(self._cancel)
        self.whole.turned.connect(self._turned)
        self.insert.clicked.connect(self._insert)
        self.remove.clicked.connect(self._remove)
        self.pages.currentChanged.connect(lambda _page: self._look())
        document.shown.connect(self._follow_if_seen)
        self.resize(1120, 720)
        self._follow(document.state)

    def _make_form(self) -> None:
        kind = length(self._document.project.display_unit)
        self.form = Form()
        self.form.head(tr("Spokes"))
        self.many = self.form.add(tr("Spokes"), NumberField(NUMBER, 5.0, least=1.0, most=60.0, whole=True))
        self.at_r = self.form.add(tr("Chosen at r"), NumberField(kind, 100.0, above=0.0))
        self.wide = self.form.add(tr("Width along the arc"), NumberField(kind, 40.0, above=0.0))
        self.filled = self.form.add(
            tr("Metal of the ring"), NumberField(PER_CENT, 50.0, above=0.0, most=100.0)
        )
        for field, typed in (
            (self.many, self._typed_count),
            (self.at_r, self._typed_radius),
            (self.wide, self._typed_width),
            (self.filled, self._typed_fill),
        ):
            field.line.editingFinished.connect(partial(self._typed, field, typed))

    def _lay_out(self) -> None:
        self.head.setWordWrap(True)
        for label in (self.head, self.mass):
            label.setFont(figures(label.font()))
        self.mass.setAccessibleName(tr("Mass of the wheel"))
        left = QVBoxLayout()
        left.addWidget(self.head)
        left.addWidget(self.form)
        left.addWidget(self.insert)
        left.addWidget(self.remove)
        left.addWidget(self.mass)
        left.addStretch(1)
        left.addWidget(quiet_label(_PLAIN))
        side = QWidget()
        side.setLayout(left)
        side.setFixedWidth(max(280, self.form.sizeHint().width() + 40))
        drawn = QWidget()
        column = QVBoxLayout(drawn)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.face, 1)
        column.addWidget(quiet_label(_LEGEND))
        self.pages.addTab(drawn, tr("&Face"))
        self.pages.addTab(self.whole, tr("&Whole wheel, shaded"))
        row = QHBoxLayout(self)
        row.addWidget(side)
        row.addWidget(self.pages, 1)
        for button in (self.insert, self.remove):
            button.setAutoDefault(False)

    # Showing

    def _follow_if_seen(self, shown: Shown) -> None:
        """Leave the drag its time while this window is closed."""
        if self.isVisible():
            self._follow(shown)

    def _follow(self, shown: Shown) -> None:
        """Draw the wheel as it is shown, also while it is dragged."""
        wheel = shown.wheel
        numbers = Numbers(unit_of(shown.project))
        self._fill_form(wheel, shown, numbers)
        self._look()

    def _fill_form(self, wheel: Wheel | None, shown: Shown, numbers: Numbers) -> None:
        spokes = None if wheel is None or wheel.spokes is None or wheel.spokes.count == 0 else wheel.spokes
        try:
            if wheel is None:
                raise GeometryError(tr("No wheel is shown: make one with Project, New wheel."))
            self.face.show_face(face_of(wheel, shown.outline, shown.measurements), spokes, numbers)
        except GeometryError as error:
            self.face.show_face(None, None, numbers, spoken(str(error)))
        found = shown.measurements
        self.head.setText(
            ""
            if wheel is None
            else tr(
                "<b>{name}</b><br>{size}{side}",
                name=escape(wheel.name),
                size=escape(str(wheel.size)),
                side=_side(wheel),
            )
        )
        if spokes is None and wheel is not None:
            self.head.setText(tr("<b>{name}</b><br>{disc}", name=escape(wheel.name), disc=_DISC))
        self.mass.setText(
            "" if found is None else tr("Wheel {mass_kg}", mass_kg=numbers.mass(found.solid.mass_kg))
        )
        can = spokes is not None and self.face.face is not None and wheel is not None and not wheel.locked
        for field in self.form.fields:
            field.setEnabled(can)
        self.insert.setEnabled(can)
        self.remove.setEnabled(can and spokes is not None and len(spokes.widths) > 1)
        if spokes is not None:
            self._show_row(self.face.row)

    def _show_row(self, row: int) -> None:
        """Put the chosen row into the fields, but not over what is being typed."""
        spokes = self.face.spokes
        if spokes is None:
            return
        r, width = spokes.widths[min(row, len(spokes.widths) - 1)]
        shown = {
            self.many: float(spokes.count),
            self.at_r: r,
            self.wide: width,
            self.filled: 100.0 * fill_of(spokes, row),
        }
        for field, value in shown.items():
            line = field.line
            if not (line.hasFocus() and line.isModified()):
                field.put(value)

    # Whole wheel

    def _look(self) -> None:
        """Ask for the picture of the whole wheel, if it is looked at."""
        if self.pages.currentWidget() is self.whole and self.isVisible():
            self._render(_COARSE)
            self._fine.start()

    def _turned(self) -> None:
        self._look()

    def _render(self, size: int) -> None:
        state = self._document.state
        if state.wheel is None or state.outline is None:
            self.jobs.drop(_JOB)
            self.whole.show_picture(None, self.face.why)
            return
        work = partial(
            _pictured, state.wheel, state.outline.path, size, self.whole.turned_deg, self.whole.raised_deg
        )
        if self.whole.image is None:
            self.whole.show_picture(None, "drawing")
        self.jobs.start(_JOB, work, self.whole.show_picture, self._failed)

    def _failed(self, error: Exception) -> None:
        self.whole.show_picture(None, minus(spoken(str(error))))

    # Editing

    def _with(self, spokes: Spokes) -> Project:
        wheel = self._document.wheel
        assert wheel is not None
        return edits.replaced(self._document.project, edits.WHEEL, wheel.name, replace(wheel, spokes=spokes))

    def _committed(self) -> Spokes | None:
        wheel = self._document.wheel
        return None if wheel is None or wheel.locked else wheel.spokes

    def _drag(self, row: int, width_mm: float) -> None:
        spokes = self._committed()
        if spokes is not None:
            self._dragged = with_width(spokes, row, width_mm)
            self._document.preview(self._with(self._dragged))

    def _release(self) -> None:
        if self._dragged is not None:
            self._document.commit(self._with(self._dragged), tr("Width of the spokes"))
        self._dragged = None

    def _cancel(self) -> None:
        self._dragged = None
        self._document.cancel()

    def _typed(self, field: NumberField, take: Callable[[Spokes, float], Spokes]) -> None:
        """Take what was typed when the field is left or Return pressed."""
        spokes = self._committed()
        line = field.line
        if spokes is None or not line.isModified() or not field.check():
            return
        line.setModified(False)
        try:
            self._document.commit(self._with(take(spokes, field.number())), tr("Spokes from the street"))
        except (GeometryError, EditError) as error:
            field.say(spoken(str(error)))

    def _typed_count(self, spokes: Spokes, value: float) -> Spokes:
        """Return the spokes in another number, of the same widths."""
        return replace(spokes, count=round(value))

    def _typed_radius(self, spokes: Spokes, value: float) -> Spokes:
        return with_radius(spokes, self.face.row, value)

    def _typed_width(self, spokes: Spokes, value: float) -> Spokes:
        return with_width(spokes, self.face.row, value)

    def _typed_fill(self, spokes: Spokes, value: float) -> Spokes:
        r, _ = spokes.widths[self.face.row]
        return with_width(spokes, self.face.row, value / 100.0 * 2.0 * math.pi * r / spokes.count)

    def _insert(self) -> None:
        """Insert a width halfway between the chosen row and the next, of the width there."""
        spokes = self._committed()
        if spokes is None:
            return
        made, row = with_row_after(spokes, self.face.row)
        self._document.commit(self._with(made), tr("Insert a width of the spokes"))
        self.face.choose(row)
        self._show_row(self.face.row)

    def _remove(self) -> None:
        spokes = self._committed()
        if spokes is None:
            return
        try:
            made = without_row(spokes, self.face.row)
        except GeometryError as error:
            tell(self, tr("Not removed"), spoken(str(error)))
            return
        self._document.commit(self._with(made), tr("Remove a width of the spokes"))

    def showEvent(self, event: QShowEvent) -> None:
        """Catch up with what was drawn while it was closed."""
        super().showEvent(event)
        self._follow(self._document.state)

    def reject(self) -> None:
        """Take a drag back with Escape, else close."""
        if self._dragged is not None:
            self._cancel()
        else:
            self._fine.stop()
            self.jobs.drop(_JOB)
            super().reject()


def _side(wheel: Wheel) -> str:
    return tr("<br>{side_words}", side_words=escape(spoken(side_words(wheel)))) if side_words(wheel) else ""


def _pictured(wheel: Wheel, path: Path, size: int, turned_deg: float, raised_deg: float) -> Shaded:
    return shaded(body_of(wheel, path), size, turned_deg, raised_deg)

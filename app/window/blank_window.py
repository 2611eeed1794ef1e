"""The window that finds the smallest forgeable blank of a group; it stays open beside the drawing."""

from __future__ import annotations

import threading
from dataclasses import replace
from functools import partial

from PySide6.QtCore import QObject, Qt, QTimer, Signal
from PySide6.QtGui import QCloseEvent, QPixmap
from PySide6.QtWidgets import (
    QAbstractItemView,
    QCheckBox,
    QDialog,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QProgressBar,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.project import edits
from app.project.caution import CAUTION
from app.project.project import Project
from app.project.wheel import Wheel
from app.session.document import Document
from app.session.jobs import Jobs
from app.session.shown import Shown
from app.studies.composite import Composite, as_blank, composite
from app.studies.forging_needs import ForgingSettings
from app.units import format_length
from app.views.blank_picture import BlankPicture, wheel_colour
from app.views.readings_text import minus, unit_of
from app.views.theme import Theme, figures
from app.window.dialogs.form import Form, quiet_label
from app.window.dialogs.typed_fields import ANGLE, CheckField, NumberField, length
from geometry.errors import GeometryError
from geometry.forging.composite import Forgeable
from geometry.forging.seats import CancelledError

_JOB = "smallest blank of a group"


class _Told(QObject):
    """Carries how far the work is from its thread."""

    came = Signal(int, int)


class BlankWindow(QDialog):
    """Finds the smallest blank of the wheels that are ticked, and shows what decides it.

    Signals:
        blank_made(project, text): the blank was added to the project.
    """

    blank_made = Signal(object, str)

    def __init__(self, document: Document, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("The smallest blank of a group")
        self._document = document
        self.found: Composite | None = None
        self._settings = ForgingSettings()
        self._read_for: Project | None = None
        self._stop = threading.Event()
        self.jobs = Jobs(self)
        self._told = _Told()
        self._told.came.connect(self._tell)
        self.wheels = QListWidget()
        self.form = Form()
        self._add_fields()
        self.picture = BlankPicture(theme)
        self.table, self.ladder = QTableWidget(0, 5), QTableWidget(0, 3)
        self.head, self.note, self.bar = QLabel(), QLabel(), QProgressBar()
        self.run, self.take = QPushButton("&Find"), QPushButton("&Add as a blank of the project")
        self.cut = QCheckBox("and &cut these wheels from it")
        self.cut.setToolTip("The wheels name the new blank and sit in it as found, in the same step.")
        self._lay_out()
        self.run.clicked.connect(self._run_or_stop)
        self.take.clicked.connect(self._take)
        document.shown.connect(self._compare)
        self._list_wheels()
        self.resize(1180, 760)
        QTimer.singleShot(0, self._first)

    # What is asked

    def _add_fields(self) -> None:
        unit = self._document.project.display_unit
        how = self._settings.how
        self.form.head("Forging")
        self.stock = self.form.add(
            "Stock everywhere",
            NumberField(length(unit), None, optional=True, least=0.0, empty="by rule set"),
            "Metal left on for turning; empty takes the rule set of each wheel, zone by zone.",
        )
        self.outside = self.form.add(
            "Draft outside", NumberField(ANGLE, how.outside_deg), "Of walls that look away from the axle."
        )
        self.inside = self.form.add(
            "Draft inside", NumberField(ANGLE, how.inside_deg), "Of walls that look towards the axle."
        )
        self.fillet = self.form.add(
            "Least fillet radius", NumberField(length(unit), how.fillet_mm), "Of hollows in the section."
        )
        web = "Least height of the blank; 20 and more is usual, from memory."
        self.web = self.form.add("Least web", NumberField(length(unit), 0.0, least=0.0), web)
        end = "Beyond the inner lip; a ring that is extruded backwards ends uneven. 5 is usual, from memory."
        self.trim = self.form.add("Ring-end trim", NumberField(length(unit), 0.0, least=0.0), end)
        grip = "Length of ring for the chuck, beyond the trim. 10 is usual, from memory."
        self.grip = self.form.add("Grip", NumberField(length(unit), 0.0, least=0.0), grip)
        self.in_line = self.form.add("", CheckField("mounting faces in line"))

    def _lay_out(self) -> None:
        self.wheels.setAccessibleName("Wheels that the blank must hold")
        heads = (["wheel", "seat", "wheel kg", "chips kg", "costs the others kg"], ["", "kg", "added"])
        for table, names in zip((self.table, self.ladder), heads, strict=True):
            table.setHorizontalHeaderLabels(names)
            table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
            table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
            table.verticalHeader().hide()
            table.setShowGrid(False)
            table.setFont(figures(table.font()))
            header = table.horizontalHeader()
            header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
            header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        self.table.setAccessibleName("What each wheel is to the blank")
        self.ladder.setAccessibleName("Where the kilograms are")
        self.bar.setTextVisible(False)
        self.bar.hide()
        self.head.setWordWrap(True)
        self.note.setWordWrap(True)
        left = QVBoxLayout()
        left.addWidget(QLabel("Wheels that it must hold"))
        left.addWidget(self.wheels, 1)
        left.addWidget(self.form)
        left.addWidget(
            quiet_label(
                "Starting values from memory until they are the shop's own. The outline is the usable one: "
                "closure, mismatch and corner radii of the dies come on top."
            )
        )
        left.addWidget(self.bar)
        left.addWidget(self.note)
        left.addWidget(self.run)
        below = QHBoxLayout()
        below.addWidget(self.table, 3)
        below.addWidget(self.ladder, 2)
        right = QVBoxLayout()
        right.addWidget(self.head)
        right.addWidget(self.picture, 3)
        right.addLayout(below, 2)
        side = QWidget()
        side.setLayout(left)
        side.setFixedWidth(350)
        middle = QHBoxLayout()
        middle.addWidget(side)
        middle.addLayout(right, 1)
        foot = QHBoxLayout()
        foot.addWidget(quiet_label(CAUTION), 1)
        foot.addWidget(self.cut)
        foot.addWidget(self.take)
        column = QVBoxLayout(self)
        column.addLayout(middle, 1)
        column.addLayout(foot)
        self.take.setEnabled(False)
        for button in (self.run, self.take):
            button.setAutoDefault(False)

    def _list_wheels(self) -> None:
        """Offer the project's wheels; what was ticked stays so, at first those of the shown wheel's blank."""
        shown, project = self._document.wheel, self._document.project
        before = set(self.ticked())
        blank = shown.blank if shown is not None else None
        self.wheels.clear()
        for wheel in project.wheels:
            item = QListWidgetItem(wheel.name)
            item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
            is_first = not before and (wheel is shown or (blank is not None and wheel.blank == blank))
            is_on = wheel.name in before or is_first
            item.setCheckState(Qt.CheckState.Checked if is_on else Qt.CheckState.Unchecked)
            self.wheels.addItem(item)

    def ticked(self) -> list[str]:
        """Return the names of the wheels that are ticked, in the project's order."""
        items = [self.wheels.item(k) for k in range(self.wheels.count())]
        return [item.text() for item in items if item.checkState() is Qt.CheckState.Checked]

    def _asked(self) -> ForgingSettings:
        """Return the settings typed.

        Raises:
            ValueError: a field holds no number that can be taken.
            GeometryError: a value is out of bounds.
        """
        how = Forgeable(self.outside.number(), self.inside.number(), self.fillet.number(), self.web.number())
        return ForgingSettings(
            how=how, stock_mm=self.stock.read(), trim_mm=self.trim.number(), grip_mm=self.grip.number()
        )

    # Finding

    def _first(self) -> None:
        if self.ticked():
            self.look()

    def _run_or_stop(self) -> None:
        if self.jobs.is_busy:
            self._stop.set()
            self.note.setText("stopping")
        else:
            self.look()

    def look(self) -> None:
        """Find the blank of the ticked wheels, beside the window."""
        names, project = self.ticked(), self._document.project
        if not names:
            self.note.setText("Tick one wheel or more.")
            return
        try:
            settings = self._asked()
        except (ValueError, GeometryError) as error:
            self.note.setText(str(error))
            return
        self._stop = threading.Event()
        seats = [0.0] * len(names) if self.in_line.read() else None
        work = partial(_work, project, names, settings, seats, self._stop, self._told)
        self.bar.setRange(0, len(names) + 1)
        self.bar.setValue(0)
        self.bar.show()
        self.run.setText("&Stop")
        self.note.setText("looking for the lightest")
        self.jobs.start(_JOB, work, partial(self._came, project, settings), self._failed)

    def _tell(self, done: int, of: int) -> None:
        if self.jobs.is_busy:
            self.bar.setRange(0, of)
            self.bar.setValue(done)
            if done:
                self.note.setText(f"found; leaving out wheel {done} of {of - 1}" if done < of else "found")

    def _came(self, project: Project, settings: ForgingSettings, result: Composite | None) -> None:
        self._ended()
        if result is None:
            self.note.setText("stopped")
            return
        self.found, self._settings, self._read_for = result, settings, project
        self.picture.show_result(result)
        self._show_tables(result, project)
        self.take.setEnabled(True)
        self._compare(self._document.state)

    def _failed(self, error: Exception) -> None:
        self._ended()
        self.note.setText(str(error))

    def _ended(self) -> None:
        self.bar.hide()
        self.run.setText("&Find")
        self.note.setText("")

    def _compare(self, shown: Shown) -> None:
        """Say when the project is not the one that was read, and offer its wheels."""
        if shown.dragging:
            return
        now = {wheel.name for wheel in shown.project.wheels}
        if now != {self.wheels.item(k).text() for k in range(self.wheels.count())}:
            self._list_wheels()
        if self.found is None or self.jobs.is_busy or self._read_for is None:
            return
        before, after = self._read_for, shown.project
        same = (before.wheels, before.rule_sets, before.materials) == (
            after.wheels,
            after.rule_sets,
            after.materials,
        )
        self.note.setText("" if same else "The project has changed since: find again.")
        self.take.setEnabled(same)

    # Showing

    def _show_tables(self, result: Composite, project: Project) -> None:
        unit, found = unit_of(project), result.found
        proof = "proven the lightest" if found.is_proven else "not proven the lightest"
        z, r = result.parting_mm
        log, (low, high) = result.log, result.fill_mn
        buckles = ", may buckle" if log.may_buckle else ""
        sizes = (2.0 * r, z, result.web_mm, log.diameter_mm, log.length_mm)
        diameter, parting, web, thick, long = (format_length(x, unit) for x in sizes)
        self.head.setText(
            minus(
                f"<b>{found.mass_kg:.2f} kg</b>, {proof} but for fillets (no lighter than "
                f"{found.bound_kg:.2f}); diameter {diameter}, dies meet at z {parting}, least web {web}<br>"
                f"log {thick} x {long}, {log.mass_kg:.1f} kg{buckles}; last press {result.flow_mn:.0f} MN to "
                f"move the metal, {low:.0f} to {high:.0f} MN to fill corners"
            )
        )
        self.table.setRowCount(len(result.wheels))
        for row, each in enumerate(result.wheels):
            costs = "" if each.costs_others_kg is None else "decides nothing"
            if each.costs_others_kg is not None and each.decides:
                costs = f"{each.costs_others_kg:.2f}"
            texts = (
                f"{row + 1}  {each.name}",
                format_length(each.seat_mm, unit, with_unit=False),
                f"{each.mass_kg:.2f}",
                f"{each.chips_kg:.2f}",
                costs,
            )
            for column, text in enumerate(texts):
                cell = _cell(minus(text), column > 0)
                if column == 0 and len(result.wheels) > 1:
                    swatch = QPixmap(10, 10)
                    swatch.fill(wheel_colour(row))
                    cell.setData(Qt.ItemDataRole.DecorationRole, swatch)
                self.table.setItem(row, column, cell)
        self.ladder.setRowCount(len(result.ladder))
        before: float | None = None
        for row, (words, mass) in enumerate(result.ladder):
            added = "" if before is None else f"{mass - before:+.2f}"
            for column, text in enumerate((words, f"{mass:.2f}", added)):
                self.ladder.setItem(row, column, _cell(minus(text), column > 0))
            before = mass

    def _take(self) -> None:
        if self.found is None:
            return
        project = self._document.project
        name = edits.free_name(
            project, edits.BLANK, f"Blank of {', '.join(w.name for w in self.found.wheels)}"
        )
        blank = as_blank(self.found, name, self._settings)
        made = edits.add(project, edits.BLANK, blank)
        if self.cut.isChecked():
            for each in self.found.wheels:
                wheel: Wheel = edits.find(made, edits.WHEEL, each.name)
                moved = replace(wheel, blank=name, seat_mm=-each.seat_mm)
                made = edits.replaced(made, edits.WHEEL, each.name, moved)
        self.blank_made.emit(made, f"Add blank {name}")
        self.note.setText(f"Added as '{name}'.")

    def closeEvent(self, event: QCloseEvent) -> None:
        """Stop what is under way."""
        self._stop.set()
        self.jobs.drop(_JOB)
        super().closeEvent(event)

    def reject(self) -> None:
        """Close with Escape."""
        self.close()


def _cell(text: str, is_number: bool) -> QTableWidgetItem:
    item = QTableWidgetItem(text)
    if is_number:
        item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
    return item


def _work(
    project: Project,
    names: list[str],
    settings: ForgingSettings,
    seats: list[float] | None,
    stop: threading.Event,
    told: _Told,
) -> Composite | None:
    def tell_and_ask(done: int, of: int) -> bool:
        told.came.emit(done, of)
        return not stop.is_set()

    try:
        return composite(project, names, settings, seats_mm=seats, progress=tell_and_ask)
    except CancelledError:
        return None

"""The window that finds the smallest forgeable blank of a group; it stays open beside the drawing."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from html import escape
from pathlib import Path

from PySide6.QtCore import QObject, Qt, QTimer, Signal
from PySide6.QtGui import QCloseEvent, QPixmap
from PySide6.QtWidgets import (
    QAbstractItemView,
    QCheckBox,
    QDialog,
    QFileDialog,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QProgressBar,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from app.files.atomic import SaveError, save_bytes
from app.files.writers.dxf import write_dxf
from app.project import edits
from app.project.caution import CAUTION
from app.project.project import Project
from app.project.wheel import Wheel
from app.reports.blank_drawing import blank_drawing, spun_drawing
from app.reports.outputs import blank_pdf
from app.session.document import Document
from app.session.jobs import Jobs
from app.session.shown import Shown
from app.studies.composite import Composite, as_blank, composite
from app.studies.forging_needs import ForgingSettings
from app.studies.machining import WheelMachining, machining
from app.studies.mixed_diameters import mixed_words
from app.studies.spun import SpunSettings, as_spun_blank
from app.units import format_length
from app.views.blank_picture import BlankPicture, wheel_colour
from app.views.readings_text import minus, unit_of
from app.views.theme import Theme, figures
from app.window.blank_asked import BlankAsked
from app.window.blank_spun import SpunFound, find_spun, spun_head
from app.window.blank_tools import BlankTools
from app.window.dialogs.form import quiet_label
from app.window.questions import tell
from geometry.errors import GeometryError
from geometry.forging.seats import CancelledError

#: The blank, what cutting each of its wheels takes, and the spun one or why there is none.
_Found = tuple[Composite, tuple[WheelMachining, ...], SpunFound | str | None]

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
        self.spun: SpunFound | None = None
        self._settings = ForgingSettings()
        self._read_for: Project | None = None
        self._cut: tuple[WheelMachining, ...] = ()
        self._found_in = document.project
        self._stop = threading.Event()
        self.jobs = Jobs(self)
        self._told = _Told()
        self._told.came.connect(self._tell)
        self.wheels = QListWidget()
        self.asked = BlankAsked(document.project)
        self.picture = BlankPicture(theme)
        self.table, self.ladder = QTableWidget(0, 5), QTableWidget(0, 3)
        self.steps, self.cost = QTableWidget(0, 6), QTableWidget(0, 5)
        self.spun_ladder = QTableWidget(0, 3)
        self.tools = BlankTools()
        self.head, self.note, self.bar = QLabel(), QLabel(), QProgressBar()
        self.run, self.take = QPushButton("&Find"), QPushButton("&Add as a blank of the project")
        self.save, self.for_forge = QPushButton("&Save as pages or DXF..."), QCheckBox("for the &forge")
        self.for_forge.setToolTip("Pages without money, chips and what each wheel costs the others.")
        self.cut = QCheckBox("and &cut these wheels from it")
        self.cut.setToolTip("The wheels name the new blank and sit in it as found, in the same step.")
        self._lay_out()
        self.run.clicked.connect(self._run_or_stop)
        self.take.clicked.connect(self._take)
        self.save.clicked.connect(self._save)
        document.shown.connect(self._compare)
        self._list_wheels()
        self.resize(1240, 860)
        QTimer.singleShot(0, self._first)

    def _lay_out(self) -> None:
        self.wheels.setAccessibleName("Wheels that the blank must hold")
        heads = (
            ["wheel", "seat", "wheel kg", "chips kg", "costs the others kg"],
            ["", "kg", "added"],
            ["step", "across", "height", "flow stress, MPa", "load, MN", "press"],
            ["wheel", "cutting, min", "metal", "cutting, set-ups", "net of chips"],
            ["", "kg", "added"],
        )
        tables = (self.table, self.ladder, self.steps, self.cost, self.spun_ladder)
        for table, names in zip(tables, heads, strict=True):
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
        self.steps.setAccessibleName("Steps of the forging")
        self.cost.setAccessibleName("Time and money of each wheel")
        self.spun_ladder.setAccessibleName("Where the kilograms are, forged and spun")
        self.bar.setTextVisible(False)
        self.bar.hide()
        self.head.setWordWrap(True)
        self.note.setWordWrap(True)
        left = QVBoxLayout()
        left.addWidget(QLabel("Wheels that it must hold"))
        left.addWidget(self.wheels, 1)
        left.addWidget(self.asked)
        left.addWidget(
            quiet_label(
                "Starting values from memory until they are the shop's own. The outline is the usable one: "
                "closure, mismatch and wear of the dies come on top."
            )
        )
        left.addWidget(self.bar)
        left.addWidget(self.note)
        left.addWidget(self.run)
        below = QHBoxLayout()
        below.addWidget(self.table, 3)
        tabs = QTabWidget()
        tabs.setDocumentMode(True)
        for title, table in (
            ("Kilograms", self.ladder),
            ("Spun", self.spun_ladder),
            ("Steps", self.steps),
            ("Money", self.cost),
        ):
            tabs.addTab(table, title)
        tabs.addTab(self.tools, "Tools we have")
        below.addWidget(tabs, 3)
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
        foot.addWidget(self.for_forge)
        foot.addWidget(self.save)
        foot.addWidget(self.cut)
        foot.addWidget(self.take)
        column = QVBoxLayout(self)
        column.addLayout(middle, 1)
        column.addLayout(foot)
        self.take.setEnabled(False)
        self.save.setEnabled(False)
        for button in (self.run, self.take, self.save):
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
            settings = self.asked.settings(names)
            spinning = self.asked.spinning.settings()
        except (ValueError, GeometryError) as error:
            self.note.setText(str(error))
            return
        self._stop = threading.Event()
        seats = [0.0] * len(names) if self.asked.in_line.read() else None
        work = partial(_work, project, names, settings, spinning, seats, self._stop, self._told)
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

    def _came(self, project: Project, settings: ForgingSettings, found: _Found | None) -> None:
        self._ended()
        if found is None:
            self.note.setText("stopped")
            return
        result, cut, spun = found
        self.found, self._settings, self._read_for = result, settings, project
        self.spun = spun if isinstance(spun, SpunFound) else None
        self.picture.show_result(result, None if self.spun is None else self.spun.blank)
        self._show_tables(result, project)
        self._show_spun(spun, project)
        forged = result.path if self.spun is None else self.spun.blank.found.preform.path
        mass_kg = result.mass_kg if self.spun is None else self.spun.blank.mass_kg
        self.tools.show_found(project, forged, mass_kg)
        self._show_forging(result, project)
        self._show_cost(cut if self.spun is None else self.spun.cut, project)
        self.take.setEnabled(True)
        self.save.setEnabled(True)
        self._cut, self._found_in = cut, project
        self._compare(self._document.state)
        if isinstance(spun, str) and not self.note.text():
            self.note.setText(spun)

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
        corner = "" if result.corner is None else " and corners"
        z, r = result.parting_mm
        log, (low, high) = result.log, result.fill_mn
        buckles = ", may buckle" if log.may_buckle else ""
        sizes = (2.0 * r, z, result.web_mm, log.diameter_mm, log.length_mm)
        diameter, parting, web, thick, long = (format_length(x, unit) for x in sizes)
        shared = f"{escape(mixed_words(result.diameters))}<br>" if result.diameters else ""
        self.head.setText(
            minus(
                f"{shared}<b>{result.mass_kg:.2f} kg</b>, {proof} but for fillets{corner} (no lighter than "
                f"{found.bound_kg:.2f}); diameter {diameter}, dies meet at z {parting}, least web {web}<br>"
                f"log {thick} x {long}, {log.mass_kg:.1f} kg{buckles}; last press {result.flow_mn:.0f} MN to "
                f"move the metal, {low:.0f} to {high:.0f} MN to fill corners{self._said(result)}"
            )
        )
        wheels = result.wheels if self.spun is None else self.spun.blank.wheels
        self.table.setRowCount(len(wheels))
        for row, each in enumerate(wheels):
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
        _fill_ladder(self.ladder, result.ladder)

    def _show_spun(self, spun: SpunFound | str | None, project: Project) -> None:
        """Show the spun blank in place of the turned one's head, or why there is none under it."""
        _fill_ladder(self.spun_ladder, spun.blank.ladder if isinstance(spun, SpunFound) else ())
        if isinstance(spun, SpunFound):
            self.head.setText(minus(spun_head(spun, project)))
        elif isinstance(spun, str):
            self.head.setText(f"{self.head.text()}<br>not spun: {escape(spun)}")

    def _said(self, result: Composite) -> str:
        """Return what else there is to know of the blank, each on a line of its own."""
        lines = [f"window of {escape(words)}: {kg:+.2f} kg a blank" for words, kg in result.windows]
        if self._settings.fits_drawn_alone:
            lines.append("it fits only the drawn wheels: no insets and no headroom were asked for")
        if result.corner is not None:
            band = f"{result.found.mass_kg:.2f} to {result.mass_kg:.2f} kg"
            lines.append(f"corners R{result.corner.corner_mm:g}: a blank lies between {band}")
        if result.proved_mn is not None:
            lines.append(f"last press by what was proved: {result.proved_mn:.0f} MN")
        lines += [escape(warning) for warning in result.warnings]
        return "".join(f"<br>{line}" for line in lines)

    def _show_forging(self, result: Composite, project: Project) -> None:
        unit = unit_of(project)
        steps = result.steps if self.spun is None else self.spun.blank.steps
        self.steps.setRowCount(len(steps))
        for row, step in enumerate(steps):
            word = step.refused or str(step.fits)
            texts = (
                step.name,
                format_length(step.diameter_mm, unit, with_unit=False),
                format_length(step.height_mm, unit, with_unit=False),
                f"{step.stress_mpa:.0f}",
                f"{step.low_mn:.0f} to {step.high_mn:.0f}",
                f"{step.press.name}, {step.press.capacity_mn:g} MN: {word}",
            )
            for column, text in enumerate(texts):
                self.steps.setItem(row, column, _cell(minus(text), 0 < column < 5))

    def _show_cost(self, cut: tuple[WheelMachining, ...], project: Project) -> None:
        self.cost.setRowCount(len(cut))
        starting = len(project.rates.starting)
        self.cost.setToolTip(
            f"{starting} of the shop's rates are starting values: see Shop rates and prices."
            if starting
            else ""
        )
        for row, wheel in enumerate(cut):
            m = wheel.money
            texts = (
                wheel.name,
                f"{wheel.cutting_minutes:.0f}",
                f"{m.metal:.2f}",
                f"{m.cutting + m.setting:.2f}",
                f"{m.net:.2f} {project.currency}".strip(),
            )
            for column, text in enumerate(texts):
                self.cost.setItem(row, column, _cell(minus(text), column > 0))

    def _take(self) -> None:
        if self.found is None:
            return
        project = self._document.project
        name = edits.free_name(
            project, edits.BLANK, f"Blank of {', '.join(w.name for w in self.found.wheels)}"
        )
        blank = as_blank(self.found, name, self._settings)
        if self.spun is not None:
            blank = as_spun_blank(self.spun.blank, name)
        made = edits.add(project, edits.BLANK, blank)
        if self.cut.isChecked():
            for each in self.found.wheels:
                wheel: Wheel = edits.find(made, edits.WHEEL, each.name)
                moved = replace(wheel, blank=name, seat_mm=-each.seat_mm)
                made = edits.replaced(made, edits.WHEEL, each.name, moved)
        self.blank_made.emit(made, f"Add blank {name}")
        self.note.setText(f"Added as '{name}'.")

    def _save(self) -> None:
        """Write what was found as pages, or its outline as a drawing."""
        if self.found is None:
            return
        folder = self._document.path.parent if self._document.path is not None else Path.home()
        kinds = "Pages (*.pdf);;Drawings (*.dxf)"
        name, chosen = QFileDialog.getSaveFileName(self, "Save the blank", str(folder / "blank.pdf"), kinds)
        if not name:
            return
        out = Path(name)
        if out.suffix.lower() not in (".pdf", ".dxf"):
            out = out.with_name(f"{out.name}{'.dxf' if 'dxf' in chosen else '.pdf'}")
        words = f"Blank of {', '.join(w.name for w in self.found.wheels)}"
        spun = None if self.spun is None else self.spun.blank
        try:
            if out.suffix.lower() == ".dxf":
                drawing = blank_drawing(words, self.found, self._settings)
                if spun is not None:
                    drawing = spun_drawing(words, spun, self._settings)
                write_dxf(out, drawing)
            else:
                pages = blank_pdf(
                    self._found_in,
                    self.found,
                    self._settings,
                    self._cut,
                    words,
                    self.for_forge.isChecked(),
                    spun,
                )
                save_bytes(out, pages)
        except SaveError as error:
            tell(self, "Not saved", str(error))
            return
        self.note.setText(f"Saved as {out.name}.")

    def closeEvent(self, event: QCloseEvent) -> None:
        """Stop what is under way."""
        self._stop.set()
        self.jobs.drop(_JOB)
        super().closeEvent(event)

    def reject(self) -> None:
        """Close with Escape."""
        self.close()


def _fill_ladder(table: QTableWidget, rungs: Sequence[tuple[str, float]]) -> None:
    table.setRowCount(len(rungs))
    before: float | None = None
    for row, (words, mass) in enumerate(rungs):
        added = "" if before is None else f"{mass - before:+.2f}"
        for column, text in enumerate((words, f"{mass:.2f}", added)):
            table.setItem(row, column, _cell(minus(text), column > 0))
        before = mass


def _cell(text: str, is_number: bool) -> QTableWidgetItem:
    item = QTableWidgetItem(text)
    if is_number:
        item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
    return item


def _work(
    project: Project,
    names: list[str],
    settings: ForgingSettings,
    spinning: SpunSettings | None,
    seats: list[float] | None,
    stop: threading.Event,
    told: _Told,
) -> _Found | None:
    def tell_and_ask(done: int, of: int) -> bool:
        told.came.emit(done, of)
        return not stop.is_set()

    try:
        found = composite(project, names, settings, seats_mm=seats, progress=tell_and_ask)
    except CancelledError:
        return None
    cut = machining(project, found)
    if spinning is None:
        return found, cut, None
    try:
        return found, cut, find_spun(project, found, settings, spinning, cut)
    except GeometryError as error:
        return found, cut, str(error)

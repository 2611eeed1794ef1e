"""The window that finds the smallest forgeable blank of a group; it stays open beside the drawing."""

from __future__ import annotations

import threading
from functools import partial
from html import escape
from pathlib import Path

from PySide6.QtCore import QObject, Qt, QTimer, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QFileDialog,
    QFrame,
    QHBoxLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QProgressBar,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.files.atomic import SaveError, save_bytes
from app.files.writers.dxf import write_dxf
from app.language import spoken, tr
from app.project import edits
from app.project.caution import CAUTION
from app.project.project import Project
from app.reports.blank_drawing import blank_drawing, spun_drawing
from app.reports.blank_masses import mass_bars, rung_words
from app.reports.numbers import Numbers, unit_of
from app.reports.outputs import blank_pdf
from app.session.document import Document
from app.session.jobs import Jobs
from app.session.shown import Shown
from app.studies.blank_variant import Answer, VariantCheck
from app.studies.composite import Composite, composite
from app.studies.forging_needs import ForgingSettings
from app.studies.found_blank import as_forged, as_variant, cut_from_blank
from app.studies.ladder import Rung
from app.studies.machining import WheelMachining, machining
from app.studies.spun import SpunSettings, as_spun_blank
from app.views.blank_picture import BlankPicture
from app.views.mass_bars import MassBars
from app.views.readings_text import minus
from app.views.theme import Theme
from app.window.blank_asked import BlankAsked
from app.window.blank_head import blank_head
from app.window.blank_results import BlankResults
from app.window.blank_spun import SpunFound, find_spun, spun_head
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
        self.setWindowTitle(tr("The smallest blank of a group"))
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
        self.bars, self.results = MassBars(theme), BlankResults(theme)
        self.head, self.note, self.bar = QLabel(), QLabel(), QProgressBar()
        self.run, self.take = QPushButton(tr("&Find")), QPushButton(tr("&Add as a blank of the project"))
        self.save, self.for_forge = (
            QPushButton(tr("&Save as pages or DXF...")),
            QCheckBox(tr("for the &forge")),
        )
        self.for_forge.setToolTip(tr("Pages without money, chips and what each wheel costs the others."))
        self.cut = QCheckBox(tr("and &cut these wheels from it"))
        self.cut.setToolTip(tr("The wheels name the new blank and sit in it as found, in the same step."))
        self.variant = QCheckBox(tr("as a &variant"))
        self._lay_out()
        self.run.clicked.connect(self._run_or_stop)
        self.take.clicked.connect(self._take)
        self.save.clicked.connect(self._save)
        self.results.rung_chosen.connect(self._show_rung)
        self.results.tools.judged.connect(self._offer_variant)
        self._offer_variant(None)
        document.shown.connect(self._compare)
        self._list_wheels()
        self.resize(1240, 860)
        QTimer.singleShot(0, self._first)

    def _lay_out(self) -> None:
        self.wheels.setAccessibleName(tr("Wheels that the blank must hold"))
        self.bar.setTextVisible(False)
        self.bar.hide()
        self.head.setWordWrap(True)
        self.note.setWordWrap(True)
        left = QVBoxLayout()
        left.addWidget(QLabel(tr("Wheels that it must hold")))
        left.addWidget(self.wheels, 1)
        left.addWidget(self.asked)
        left.addWidget(
            quiet_label(
                tr(
                    "Starting values from memory until they are the shop's own. Closure and wear of the "
                    "dies come on top."
                )
            )
        )
        left.addWidget(self.bar)
        left.addWidget(self.note)
        left.addWidget(self.run)
        bars = QScrollArea()
        bars.setAccessibleName(self.bars.accessibleName())
        bars.setWidgetResizable(True)
        bars.setFrameShape(QFrame.Shape.NoFrame)
        bars.setWidget(self.bars)
        bars.setMinimumWidth(250)
        above = QHBoxLayout()
        above.addWidget(self.picture, 5)
        above.addWidget(bars, 3)
        right = QVBoxLayout()
        right.addWidget(self.head)
        right.addLayout(above, 3)
        right.addWidget(self.results, 2)
        side = QWidget()
        side.setLayout(left)
        side.setFixedWidth(350)
        middle = QHBoxLayout()
        middle.addWidget(side)
        middle.addLayout(right, 1)
        foot = QHBoxLayout()
        foot.addWidget(quiet_label(spoken(CAUTION)), 1)
        foot.addWidget(self.for_forge)
        foot.addWidget(self.save)
        foot.addWidget(self.cut)
        foot.addWidget(self.variant)
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
            self.note.setText(tr("stopping"))
        else:
            self.look()

    def look(self) -> None:
        """Find the blank of the ticked wheels, beside the window."""
        names, project = self.ticked(), self._document.project
        if not names:
            self.note.setText(tr("Tick one wheel or more."))
            return
        try:
            settings = self.asked.settings(names, project)
            spinning = self.asked.spinning.settings()
        except (ValueError, GeometryError) as error:
            self.note.setText(spoken(str(error)))
            return
        self._stop = threading.Event()
        seats = [0.0] * len(names) if self.asked.in_line.read() else None
        work = partial(_work, project, names, settings, spinning, seats, self._stop, self._told)
        self.bar.setRange(0, len(names) + 1)
        self.bar.setValue(0)
        self.bar.show()
        self.run.setText(tr("&Stop"))
        self.note.setText(tr("looking for the lightest"))
        self.picture.show_wait(len(names))
        self.jobs.start(_JOB, work, partial(self._came, project, settings), self._failed)

    def _tell(self, done: int, of: int) -> None:
        if self.jobs.is_busy:
            self.bar.setRange(0, of)
            self.bar.setValue(done)
            if done:
                self.note.setText(
                    tr("found; leaving out wheel {done} of {of}", done=done, of=of - 1)
                    if done < of
                    else tr("found")
                )

    def _came(self, project: Project, settings: ForgingSettings, found: _Found | None) -> None:
        self._ended()
        if found is None:
            self.note.setText(tr("stopped"))
            return
        result, cut, spun = found
        self.found, self._settings, self._read_for = result, settings, project
        self.spun = spun if isinstance(spun, SpunFound) else None
        numbers, blank = Numbers(unit_of(project)), None if self.spun is None else self.spun.blank
        self.picture.show_result(result, blank, numbers)
        kg = result.forged.lathe_kg if blank is None else blank.forged.mass_kg
        self.bars.show_bars(mass_bars(kg, (blank or result).wheels, numbers.unit))
        self.results.show_found(result, cut, self.spun, project, settings)
        self.head.setText(minus(blank_head(result, settings, project)))
        if self.spun is not None:
            self.head.setText(minus(spun_head(self.spun, project)))
        elif isinstance(spun, str):
            self.head.setText(
                tr("{value_text}<br>not spun: {spun}", value_text=self.head.text(), spun=escape(spun))
            )
        self.take.setEnabled(True)
        self.save.setEnabled(True)
        self._cut, self._found_in = cut, project
        self._compare(self._document.state)
        if isinstance(spun, str) and not self.note.text():
            self.note.setText(spun)

    def _failed(self, error: Exception) -> None:
        self._ended()
        self.note.setText(spoken(str(error)))

    def _ended(self) -> None:
        self.bar.hide()
        self.run.setText(tr("&Find"))
        self.note.setText("")
        self.picture.show_wait(0)

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
        same = all(
            getattr(before, part) == getattr(after, part)
            for part in ("wheels", "rule_sets", "materials", "display_unit")
        )
        self.note.setText("" if same else tr("The project has changed since: find again."))
        self.take.setEnabled(same)

    def _show_rung(self, rung: Rung | None, is_spun: bool) -> None:
        """Show where the metal of a ladder's line lies, and which wheels ask for it."""
        if rung is None or self.found is None:
            self.picture.show_metal(None, "")
            return
        of = self.spun.blank if is_spun and self.spun is not None else self.found
        words = rung_words(of.rungs, rung, [w.name for w in of.wheels], unit_of(self._found_in))
        self.picture.show_metal(rung, minus("\n".join(map(spoken, words.split("\n")))), of_spun=is_spun)

    # Using

    def _offer_variant(self, check: VariantCheck | None) -> None:
        """Offer to add the blank as a variant of the chosen tools where it is within their limits."""
        is_within = check is not None and check.answer is Answer.WITHIN and self.spun is None
        self.variant.setEnabled(is_within)
        of = tr(" of {of}", of=check.of) if is_within and check is not None else ""
        self.variant.setText(tr("as a &variant{replace}", replace=of.replace("&", "&&")))
        if not is_within:
            self.variant.setChecked(False)
        self.variant.setToolTip(
            tr(
                "Adds the outline to draw, with the tolerances of the tools' blank and no dies of its own. "
                "Offered where it keeps all limits that the forge gave for the tools chosen under Tools "
                "we have."
            )
        )

    def _take(self) -> None:
        if self.found is None:
            return
        project = self._document.project
        owner = self.results.tools.owner()
        if self.variant.isChecked() and owner not in project.blanks:
            self.note.setText(tr("The blank whose tools are chosen has changed since: find again."))
            return
        name = edits.free_name(
            project, edits.BLANK, f"Blank of {', '.join(w.name for w in self.found.wheels)}"
        )
        blank = as_forged(self.found, name, self._settings)
        if self.spun is not None:
            blank = as_spun_blank(self.spun.blank, name)
        elif self.variant.isChecked() and owner is not None:
            blank = as_variant(blank, self.found, self._settings, owner)
        made = edits.add(project, edits.BLANK, blank)
        if self.cut.isChecked():
            made = cut_from_blank(made, name, self.found.wheels)
        self.blank_made.emit(made, tr("Add blank {name}", name=name))
        self.note.setText(tr("Added as '{name}'.", name=name))

    def _save(self) -> None:
        """Write what was found as pages, or its outline as a drawing."""
        if self.found is None:
            return
        folder = self._document.path.parent if self._document.path is not None else Path.home()
        kinds = tr("Pages (*.pdf);;Drawings (*.dxf)")
        name, chosen = QFileDialog.getSaveFileName(
            self, tr("Save the blank"), str(folder / "blank.pdf"), kinds
        )
        if not name:
            return
        out = Path(name)
        if out.suffix.lower() not in (".pdf", ".dxf"):
            out = out.with_name(f"{out.name}{'.dxf' if 'dxf' in chosen else '.pdf'}")
        words = tr("Blank of {name}", name=", ".join(w.name for w in self.found.wheels))
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
                    self.results.tools.check,
                )
                save_bytes(out, pages)
        except SaveError as error:
            tell(self, tr("Not saved"), spoken(str(error)))
            return
        self.note.setText(tr("Saved as {name}.", name=out.name))

    def reject(self) -> None:
        """Stop what is under way, and close."""
        self._stop.set()
        if self.jobs.is_busy:
            self.jobs.drop(_JOB)
            self._ended()
            self._compare(self._document.state)
        super().reject()

    def show_again(self) -> None:
        """Find what was not found before the window was closed."""
        if self.found is None:
            self._first()


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
    _ = found.rungs  # Kept with it, so that the window need not work them out.
    if spinning is None:
        return found, cut, None
    try:
        return found, cut, find_spun(project, found, settings, spinning, cut)
    except GeometryError as error:
        return found, cut, spoken(str(error))

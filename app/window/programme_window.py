"""The window of the die programme: what covers what, which dies to order and when; beside the drawing."""

from __future__ import annotations

import threading
from functools import partial
from pathlib import Path

from PySide6.QtCore import QCoreApplication, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QSpinBox,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from app.files.atomic import SaveError, save_bytes
from app.files.writers.table_book import sections_csv, sections_xlsx
from app.project import edits
from app.project.caution import CAUTION
from app.project.project import Project
from app.session.document import Document
from app.session.jobs import Jobs
from app.session.shown import Shown
from app.studies.programme.inputs import Question
from app.studies.roadmap.coverage import Coverage, CoverCell
from app.studies.roadmap.plan import RoadmapPlan
from app.views.programme_tables import Deeper, all_tables
from app.views.programme_words import halved_words, verdict_words
from app.views.theme import Theme, figures
from app.window.dialogs.form import quiet_label
from app.window.programme_pages import CoveragePage, DiesPage, FitmentsPage, PlanPage, UnservedPage
from app.window.programme_work import (
    STOPPED,
    Read,
    cut_wheel,
    missing,
    of_coverage,
    of_plan,
    read_coverage,
    read_deeper,
    read_plan,
)
from app.window.questions import tell
from geometry.errors import GeometryError

_JOB = "the die programme"
_CHANGED = "the project has changed since: read again"


class _Told(QObject):
    """Carries how far the work is from its thread."""

    came = Signal(str, int, int)


class ProgrammeWindow(QDialog):
    """Reads coverage and plan in the background; a cell of the coverage opens as a new version.

    Attributes:
        coverage, plan, deeper: what has been read; None until it is.

    Signals:
        wheel_made(project, text, name): a cell was opened as a new version of that name.
        settings_made(project, text): the programme's settings were changed.
    """

    wheel_made = Signal(object, str, str)
    settings_made = Signal(object, str)

    def __init__(self, document: Document, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Die programme")
        self._document = document
        self.coverage: Coverage | None = None
        self.plan: RoadmapPlan | None = None
        self.deeper: Deeper | None = None
        self._read: Read | None = None
        self._covered_for: Project | None = None
        self._stop = threading.Event()
        self.jobs = Jobs(self)
        self._told = _Told()
        self._told.came.connect(self._tell)
        self.question, self.limit, self.cores = QComboBox(), QSpinBox(), QCheckBox("use &all cores")
        self.settings, self.run = QPushButton("S&ettings..."), QPushButton("&Read again")
        self.save, self.take = QPushButton("&Save the tables..."), QPushButton("&Open as a new version")
        self.bar, self.note, self.head, self.halved = QProgressBar(), QLabel(), QLabel(), QLabel()
        self.plan_page, self.coverage_page = PlanPage(theme), CoveragePage(theme)
        self.fitments_page, self.unserved_page = FitmentsPage(), UnservedPage()
        self.dies_page = DiesPage(theme)
        self.pages = QTabWidget()
        self._lay_out()
        self.run.clicked.connect(self._run_or_stop)
        self.settings.clicked.connect(self.edit_settings)
        self.save.clicked.connect(self._save)
        self.take.clicked.connect(self._take)
        self.question.activated.connect(self._asked_otherwise)
        self.coverage_page.cell_chosen.connect(self._look_at)
        self.coverage_page.cell_wanted.connect(lambda _cell: self._take())
        self.pages.currentChanged.connect(lambda _page: self._compare(self._document.state))
        document.shown.connect(self._compare)
        application = QCoreApplication.instance()
        if application is not None:
            # The program ends without closing this window; what is under way must not hold it up.
            application.aboutToQuit.connect(self._quit)
        self.resize(1180, 760)
        # After the window is there, so that it is seen at once.
        QTimer.singleShot(0, self.start)

    def _lay_out(self) -> None:
        for question in Question:
            self.question.addItem(str(question), question)
        self.question.setAccessibleName("What is asked")
        self.limit.setRange(1, 3600)
        self.limit.setValue(60)
        self.limit.setSuffix(" s")
        self.limit.setAccessibleName("Time limit of the choice, seconds")
        self.limit.setToolTip(
            "For the choice itself; without proof by then, the plan says how far it may be off."
        )
        self.cores.setToolTip("For the coverage: pays from about ten fitments on.")
        self.bar.setTextVisible(False)
        self.bar.setFixedWidth(140)
        self.bar.hide()
        self.note.setAccessibleName("How far the programme is")
        self.note.setWordWrap(True)
        self.note.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.head.setAccessibleName("The plan in a sentence")
        self.head.setFont(figures(self.head.font(), 1.25))
        self.halved.setFont(figures(self.halved.font()))
        self.halved.hide()
        for label in (self.head, self.halved):
            label.setWordWrap(True)
        top, foot = QHBoxLayout(), QHBoxLayout()
        asked, limit = QLabel("W&hat is asked"), QLabel("wi&thin")
        asked.setBuddy(self.question)
        limit.setBuddy(self.limit)
        left: tuple[QWidget, ...] = (asked, self.question, limit, self.limit, self.cores, self.settings)
        for widget in left:
            top.addWidget(widget)
        top.addWidget(self.note, 1)
        top.addWidget(self.bar)
        top.addWidget(self.run)
        for title, page in (
            ("&Plan", self.plan_page),
            ("&Coverage", self.coverage_page),
            ("&Fitments by year", self.fitments_page),
            ("&Not served, left out", self.unserved_page),
            ("&Dies and blanks", self.dies_page),
        ):
            self.pages.addTab(page, title)
        self.pages.setDocumentMode(True)
        foot.addWidget(quiet_label(CAUTION), 1)
        foot.addWidget(self.save)
        foot.addWidget(self.take)
        column = QVBoxLayout(self)
        column.addLayout(top)
        column.addWidget(self.head)
        column.addWidget(self.halved)
        column.addWidget(self.pages, 1)
        column.addLayout(foot)
        for button in (self.run, self.save, self.take, self.settings):
            button.setAutoDefault(False)
        self.take.setEnabled(False)
        self.save.setEnabled(False)

    # Reading

    def start(self) -> None:
        """Read coverage and plan, beside the window; a coverage that still holds is not read again."""
        if self.jobs.is_busy:
            return
        project = self._document.project
        if lacks := missing(project):
            self._forget(lacks)
            return
        holds = self._covered_for is not None and of_coverage(self._covered_for) == of_coverage(project)
        read = Read(
            project,
            Question(self.question.currentData()),
            float(self.limit.value()),
            self.cores.isChecked(),
            self.coverage if holds else None,
        )
        self._stop = threading.Event()
        self._begin("reading")
        work = partial(read_coverage, read, self._told.came.emit, self._stop)
        self.jobs.start(_JOB, work, partial(self._came_coverage, read), self._failed)

    def show_again(self) -> None:
        """Read again where the project has changed since the window was closed."""
        if not self._is_current() or self.deeper is None:
            self.start()

    def _begin(self, words: str) -> None:
        self.bar.setRange(0, 0)
        self.bar.show()
        self.run.setText("&Stop")
        self.note.setText(words)

    def _came_coverage(self, read: Read, found: Coverage) -> None:
        self.coverage, self._covered_for = found, read.project
        if self.plan is None:
            self.coverage_page.show_coverage(read.project, found, None)
        self._begin("choosing")
        work = partial(read_plan, read, found, self._told.came.emit, self._stop)
        self.jobs.start(_JOB, work, partial(self._came_plan, read), self._failed)

    def _came_plan(self, read: Read, found: RoadmapPlan) -> None:
        self.plan, self.deeper, self._read = found, None, read
        self._show()
        if not found.plan.is_found:
            self._ended()
            return
        self._begin("counting")
        work = partial(read_deeper, read, found, self._told.came.emit, self._stop)
        self.jobs.start(_JOB, work, self._came_deeper, self._failed)

    def _came_deeper(self, found: Deeper) -> None:
        self.deeper = found
        self._show()
        self._ended()

    def _failed(self, error: Exception) -> None:
        self._ended()
        if not isinstance(error, STOPPED):
            self.note.setText("not planned" if self.plan is None else f"not planned: {error}")
            if self.plan is None:
                self.head.setText(str(error))
        elif self.plan is not None and self.deeper is None:
            self.note.setText("stopped: the plan holds, what hangs on it is not counted")
        else:
            self.note.setText("stopped: read again")

    def _ended(self) -> None:
        self.bar.hide()
        self.run.setText("&Read again")
        self.note.setText("")
        self._compare(self._document.state)

    def _run_or_stop(self) -> None:
        if self.jobs.is_busy:
            self._stop.set()
            self.note.setText("stopping")
        else:
            self.start()

    def _asked_otherwise(self) -> None:
        """Read another question; what is under way is of the former one."""
        if self.jobs.is_busy:
            self._stop.set()
            self.jobs.drop(_JOB)
            self._ended()
        self.start()

    def _tell(self, what: str, done: int, of: int) -> None:
        if self.jobs.is_busy and not self._stop.is_set():
            self.bar.setRange(0, of)
            self.bar.setValue(done)
            self.note.setText(f"{done} of {of} {what}")

    # Showing

    def _forget(self, words: str) -> None:
        self.coverage = self.plan = self.deeper = self._covered_for = self._read = None
        self.head.setText(words)
        self.note.setText("")
        self.halved.hide()
        self.pages.setEnabled(False)
        self.coverage_page.show_empty(words)
        for page in (self.plan_page, self.fitments_page, self.unserved_page, self.dies_page):
            page.clear()
        self.save.setEnabled(False)
        self.take.setEnabled(False)

    def _show(self) -> None:
        assert self.plan is not None
        assert self._read is not None
        project, found = self._read.project, self.plan
        self.pages.setEnabled(True)
        self.head.setText(verdict_words(project, found))
        said = "" if self.deeper is None else halved_words(project, found.plan, self.deeper.halved)
        self.halved.setText(said)
        self.halved.setVisible(bool(said))
        self.plan_page.show_plan(project, found, self.deeper)
        self.dies_page.show_plan(project, found, self.deeper)
        if self.deeper is None:
            self.coverage_page.show_coverage(project, found.coverage, found)
            self.fitments_page.show_plan(project, found)
            self.unserved_page.show_plan(project, found)

    def _compare(self, shown: Shown) -> None:
        """Say when the project is not the one that was read."""
        if self.jobs.is_busy or shown.dragging:
            return
        current = self._is_current()
        if self.plan is not None or self.coverage is not None:
            if not current:
                self.note.setText(_CHANGED)
            elif self.note.text() == _CHANGED:
                self.note.setText("")
        self.save.setEnabled(current and self.plan is not None)
        self._look_at(self.coverage_page.map.cell())

    def _is_current(self) -> bool:
        if self._read is None:
            return False
        return of_plan(self._document.project) == of_plan(self._read.project)

    # Choosing

    def _look_at(self, cell: CoverCell | None) -> None:
        on_map = self.pages.currentWidget() is self.coverage_page
        known = cell is not None and not self._unknown(cell)
        self.take.setEnabled(on_map and known and self._is_current())

    def _unknown(self, cell: CoverCell) -> bool:
        assert self.coverage is not None
        rows = self.coverage.rows
        return any(
            r.need.wheel is None
            for r in rows
            if r.fitment == cell.fitment and r.compromise == cell.compromise
        )

    def _take(self) -> None:
        """Open the chosen cell's wheel as a new version, at the inset that decides it."""
        cell = self.coverage_page.map.cell()
        if cell is None or not self.take.isEnabled():
            return
        project = self._document.project
        try:
            made = cut_wheel(project, cell)
        except GeometryError as error:
            self.note.setText(f"It cannot be drawn there: {error}")
            return
        words = f"New version {made.name}"
        self.wheel_made.emit(edits.add(project, edits.WHEEL, made), words, made.name)

    def edit_settings(self) -> None:
        """Edit the programme's settings."""
        from app.window.dialogs.programme_settings import ProgrammeDialog

        dialog = ProgrammeDialog(self._document.project, self)
        dialog.applied.connect(self._settled)
        dialog.open()

    def _settled(self, project: Project, text: str) -> None:
        self.settings_made.emit(project, text)
        self._asked_otherwise()

    def _save(self) -> None:
        if self.plan is None or self._read is None:
            return
        folder = self._document.path.parent if self._document.path is not None else Path.home()
        kinds = "Workbooks (*.xlsx);;Tables, one under the other (*.csv)"
        name, chosen = QFileDialog.getSaveFileName(
            self, "Save the tables", str(folder / "die programme.xlsx"), kinds
        )
        if not name:
            return
        out = Path(name)
        as_text = out.suffix.lower() == ".csv" or (not out.suffix and "csv" in chosen)
        tables = all_tables(self._read.project, self.plan, self.deeper)
        try:
            content = sections_csv(tables) if as_text else sections_xlsx(tables)
            save_bytes(out.with_suffix(".csv" if as_text else ".xlsx"), content)
        except SaveError as error:
            tell(self, "Not saved", str(error))

    def closeEvent(self, event: QCloseEvent) -> None:
        """Stop what is under way."""
        self._stop.set()
        if self.jobs.is_busy:
            self.jobs.drop(_JOB)
            self._ended()
        super().closeEvent(event)

    def _quit(self) -> None:
        self._stop.set()

    def reject(self) -> None:
        """Close with Escape."""
        self.close()

"""The window of the die programme: what covers what, which dies to order and when, and what that risks."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from PySide6.QtCore import QCoreApplication, QObject, QTimer, Signal
from PySide6.QtWidgets import QWidget

from app.language import spoken, tr
from app.project import edits
from app.project.project import Fitment, Project
from app.session.document import Document
from app.session.jobs import Jobs
from app.session.shown import Shown
from app.studies.executor import CORES, SERIAL
from app.studies.programme.inputs import Question
from app.studies.programme.plans import Plan
from app.studies.roadmap.coverage import Coverage, CoverCell
from app.studies.roadmap.dossier import Dossier
from app.studies.roadmap.plan import RoadmapPlan
from app.studies.roadmap.plan_tables import sheets
from app.studies.roadmap.plan_words import (
    MOST_NAMES,
    halved_sentence,
    hanging_sentence,
    left_sentences,
    verdict_sentence,
)
from app.studies.roadmap.scenarios import ScenarioSettings
from app.views.readings_text import minus
from app.views.theme import Theme
from app.window.programme_files import save_paper, save_tables
from app.window.programme_frame import ProgrammeFrame
from app.window.programme_work import (
    STOPPED,
    Read,
    cut_wheel,
    missing,
    of_coverage,
    of_plan,
    read_coverage,
    read_deeper,
    read_enquiry,
    read_plan,
    read_risk,
)
from app.window.settings import Settings
from geometry.errors import GeometryError

_JOB = "the die programme"
_CHANGED = tr("the project has changed since: read again")


class _Told(QObject):
    """Carries how far the work is from its thread."""

    came = Signal(str, int, int)


class ProgrammeWindow(ProgrammeFrame):
    """Reads coverage and plan in the background; a cell of the coverage opens as a new version.

    Attributes:
        coverage, found: what has been read; None until it is.
        halved: the best plan with half the wheels.

    Signals:
        wheel_made(project, text, name): a cell was opened as a new version of that name.
        project_made(project, text): the programme's settings were changed, or an enquiry became a row.
        blank_wanted(name): a die was asked for.
    """

    wheel_made = Signal(object, str, str)
    project_made = Signal(object, str)
    blank_wanted = Signal(str)

    def __init__(
        self, document: Document, theme: Theme, settings: Settings, parent: QWidget | None = None
    ) -> None:
        super().__init__(theme, parent)
        self._document, self._kept = document, settings
        self.coverage: Coverage | None = None
        self.found: Dossier | None = None
        self.halved: Plan | None = None
        self._read: Read | None = None
        self._covered_for: Project | None = None
        self._stop = threading.Event()
        self.jobs = Jobs(self)
        self._told = _Told()
        self._told.came.connect(self._tell)
        self._say_where()
        self.run.clicked.connect(self._run_or_stop)
        self.settings.clicked.connect(self.edit_settings)
        self.save.clicked.connect(partial(self._write, save_tables))
        self.paper.clicked.connect(partial(self._write, save_paper))
        self.take.clicked.connect(self._take)
        for page in (self.plan_page, self.dies_page):
            page.die_wanted.connect(self.blank_wanted)
        self.risk_page.wanted.connect(self.count_risk)
        self.enquiry_page.asked.connect(self.ask)
        self.enquiry_page.made.connect(self._add_row)
        self.question.activated.connect(self._asked_otherwise)
        self.coverage_page.cell_chosen.connect(self._look_at)
        self.coverage_page.cell_wanted.connect(lambda _cell: self._take())
        self.pages.currentChanged.connect(lambda _page: self._compare(self._document.state))
        document.shown.connect(self._compare)
        application = QCoreApplication.instance()
        if application is not None:
            # The program ends without closing this window; what is under way must not hold it up.
            application.aboutToQuit.connect(self._quit)
        # After the window is there, so that it is seen at once.
        QTimer.singleShot(0, self.start)

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
            self._kept.computing,
            self.coverage if holds else None,
        )
        self._stop = threading.Event()
        self._say_where()
        work = partial(read_coverage, read, self._told.came.emit, self._stop)
        self._begin(tr("reading"), work, partial(self._came_coverage, read))

    @property
    def plan(self) -> RoadmapPlan | None:
        """The plan that has been read."""
        return None if self.found is None else self.found.planned

    def show_again(self) -> None:
        """Read again where the project has changed since the window was closed."""
        if not self._is_current() or self.found is None or not self.found.wanted.worth:
            self.start()

    def _begin(self, words: str, work: Callable[[], Any], came: Callable[[Any], None]) -> None:
        """Do work beside the window; nothing else is begun meanwhile."""
        self.bar.setRange(0, 0)
        self.bar.show()
        self.run.setText(tr("&Stop"))
        self.note.setText(words)
        self.jobs.start(_JOB, work, came, self._failed)
        self._let()

    def _came_coverage(self, read: Read, found: Coverage) -> None:
        self.coverage, self._covered_for = found, read.project
        if self.found is None:
            self.coverage_page.show_coverage(read.project, found, None)
        work = partial(read_plan, read, found, self._told.came.emit, self._stop)
        self._begin(tr("choosing"), work, partial(self._came_plan, read))

    def _came_plan(self, read: Read, found: Dossier) -> None:
        self.found, self.halved, self._read = found, None, read
        self._show()
        self.coverage_page.show_coverage(read.project, found.planned.coverage, found.planned)
        if not found.planned.plan.is_found:
            self._ended()
            return
        work = partial(read_deeper, read, found, self._told.came.emit, self._stop)
        self._begin(tr("counting"), work, self._came_deeper)

    def _came_deeper(self, found: tuple[Dossier, Plan]) -> None:
        self.halved = found[1]
        self._came(found[0])

    def _came(self, found: Dossier) -> None:
        self.found = found
        self._show()
        self._ended()

    def count_risk(self, settings: ScenarioSettings, share: float) -> None:
        """Count what the plan risks, beside the window."""
        if self.found is None or self._read is None or self.jobs.is_busy:
            return
        self._stop = threading.Event()
        read = replace(self._read, where=self._kept.computing)
        self._say_where()
        work = partial(read_risk, read, self.found, settings, share, self._told.came.emit, self._stop)
        self._begin(tr("counting what may come"), work, self._came)

    def ask(self, fitment: Fitment) -> None:
        """Look at a fitment as if it came in today, beside the window."""
        if self.found is None or self._read is None or self.jobs.is_busy:
            return
        self._stop = threading.Event()
        work = partial(read_enquiry, self._read, self.found, fitment, self._told.came.emit, self._stop)
        self._begin(tr("asking for {name}", name=fitment.name), work, self._came)

    def _failed(self, error: Exception) -> None:
        self._ended()
        is_whole = self.found is not None and self.found.wanted.worth
        if not isinstance(error, STOPPED):
            what = tr("not counted") if is_whole else tr("not planned")
            self.note.setText(what if self.plan is None else f"{what}: {spoken(str(error))}")
            if self.plan is None:
                self.head.setText(spoken(str(error)))
        elif self.found is not None:
            self.note.setText(tr("stopped: the plan holds, what was being counted is not"))
        else:
            self.note.setText(tr("stopped: read again"))

    def _ended(self) -> None:
        self.bar.hide()
        self.run.setText(tr("&Read again"))
        self.note.setText("")
        self._compare(self._document.state)

    def _run_or_stop(self) -> None:
        if self.jobs.is_busy:
            self._stop.set()
            self.note.setText(tr("stopping"))
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
            self.note.setText(tr("{done} of {of} {what}", done=done, of=of, what=what))

    # Showing

    def _say_where(self) -> None:
        where = self._kept.computing
        known = {SERIAL: tr("runs in this process"), CORES: tr("runs on all cores")}
        self.runs.setText(known.get(where, tr("runs at {where}", where=where)))

    def _forget(self, words: str) -> None:
        self.coverage = self.found = self.halved = self._covered_for = self._read = None
        self.head.setText(words)
        self.note.setText("")
        self.below.hide()
        self.pages.setEnabled(False)
        self.coverage_page.show_empty(words)
        for page in (self.plan_page, self.fitments_page, self.unserved_page, self.dies_page):
            page.clear()
        self.risk_page.clear()
        self.enquiry_page.clear()
        self._let()

    def _show(self) -> None:
        assert self.found is not None
        assert self._read is not None
        project, found = self._read.project, self.found
        tables = {sheet.key: sheet for sheet in sheets(project, found)}
        self.pages.setEnabled(True)
        self.head.setText(minus(spoken(verdict_sentence(found, project.currency))))
        said = (
            [hanging_sentence(found, MOST_NAMES), *left_sentences(found, MOST_NAMES)]
            if found.planned.plan.is_found
            else []
        )
        if self.halved is not None:
            said.append(halved_sentence(found.planned.plan, self.halved, project.currency))
        self.below.setText(minus(" ".join(map(spoken, said))))
        self.below.setVisible(bool(said))
        for page in (self.plan_page, self.dies_page, self.risk_page, self.enquiry_page):
            page.show_plan(project, found, tables)
        for tables_page in (self.fitments_page, self.unserved_page):
            tables_page.show_plan(tables)

    def _let(self) -> None:
        """Let what can be done now be done, and nothing else."""
        is_read = self.found is not None and self._is_current() and not self.jobs.is_busy
        self.save.setEnabled(is_read)
        self.paper.setEnabled(is_read)
        is_whole = is_read and self.found is not None and self.found.wanted.worth
        for page in (self.risk_page, self.enquiry_page):
            page.let(is_whole)

    def _compare(self, shown: Shown) -> None:
        """Say when the project is not the one that was read."""
        if self.jobs.is_busy or shown.dragging:
            return
        current = self._is_current()
        if self.found is not None or self.coverage is not None:
            if not current:
                self.note.setText(_CHANGED)
            elif self.note.text() == _CHANGED:
                self.note.setText("")
        self._let()
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
            self.note.setText(tr("It cannot be drawn there: {error}", error=error))
            return
        words = tr("New version {name}", name=made.name)
        self.wheel_made.emit(edits.add(project, edits.WHEEL, made), words, made.name)

    def edit_settings(self) -> None:
        """Edit the programme's settings."""
        from app.window.dialogs.programme_settings import ProgrammeDialog

        dialog = ProgrammeDialog(self._document.project, self._kept, self)
        dialog.applied.connect(self._settled)
        dialog.finished.connect(lambda _result: self._say_where())
        dialog.open()

    def _settled(self, project: Project, text: str) -> None:
        self.project_made.emit(project, text)
        self._asked_otherwise()

    def _add_row(self, fitment: Fitment) -> None:
        """Add an enquiry to the roadmap, or put it in the place of the row of its name: one step."""
        project = self._document.project
        if any(f.name == fitment.name for f in project.fitments):
            made = edits.replaced(project, edits.FITMENT, fitment.name, fitment)
            self.project_made.emit(made, tr("Fitment {name}", name=fitment.name))
        else:
            made = edits.add(project, edits.FITMENT, fitment)
            self.project_made.emit(made, tr("New fitment {name}", name=fitment.name))

    def _write(self, save: Callable[[QWidget, Path, Project, Dossier], None]) -> None:
        if self.found is None or self._read is None:
            return
        folder = self._document.path.parent if self._document.path is not None else Path.home()
        save(self, folder, self._read.project, self.found)

    def _quit(self) -> None:
        self._stop.set()

    def reject(self) -> None:
        """Stop what is under way, and close."""
        self._stop.set()
        if self.jobs.is_busy:
            self.jobs.drop(_JOB)
            self._ended()
        super().reject()

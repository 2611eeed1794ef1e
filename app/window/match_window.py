"""The window that holds every wheel against every brake; it stays open beside the drawing."""

from __future__ import annotations

import threading
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QProgressBar,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.files.atomic import SaveError, save_bytes
from app.language import spoken, tr
from app.project.caution import CAUTION
from app.project.project import Project
from app.reports.sentences import SIGNS
from app.session.document import Document
from app.session.jobs import Jobs
from app.session.shown import Shown
from app.studies.match import Match, Pair, as_csv, match
from app.views.match_table import MatchTable
from app.views.theme import Theme
from app.window.dialogs.form import quiet_label
from app.window.questions import tell
from geometry.readings.rules import State

_JOB = "every wheel against every brake"
_LOOK_MS = 100


class _Told(QObject):
    """Carries how far a match is from its thread."""

    came = Signal(int, int)
    pairs = Signal(object, object)  # what stops the match that read them, and the pairs of a wheel


class MatchWindow(QDialog):
    """Runs a match in the background and shows it; a row opens the section at its tightest place.

    Signals:
        pair_wanted(pair): show this wheel at the place that decides.
    """

    pair_wanted = Signal(object)

    def __init__(self, document: Document, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Every wheel against every brake"))
        self._document = document
        self.found: Match | None = None
        self._read_for: Project | None = None
        self._stop = threading.Event()
        self.jobs = Jobs(self)
        self._told = _Told()
        self.table = MatchTable(theme)
        self.words, self.state = QLineEdit(), QComboBox()
        self.cores = QCheckBox(tr("use &all cores"))
        self.insets = QCheckBox(tr("&windows of inset"))
        tip = tr("Insets at which gap, wall, stock and hub fit hold in numbers; about a second for a pair.")
        self.insets.setToolTip(tip)
        self.run, self.save = QPushButton(tr("&Read again")), QPushButton(tr("&Save as a table..."))
        self.bar, self.note = QProgressBar(), QLabel()
        self._lay_out()
        self._told.came.connect(self._tell)
        self._told.pairs.connect(self._add)
        self.words.textChanged.connect(self._filter)
        self.state.currentIndexChanged.connect(self._filter)
        self.run.clicked.connect(self._run_or_stop)
        self.save.clicked.connect(self._save)
        self.table.pair_wanted.connect(self.pair_wanted)
        document.shown.connect(self._compare)
        self.resize(1120, 560)
        # After the window is there, so that it is seen at once.
        QTimer.singleShot(0, self.start)

    def _lay_out(self) -> None:
        self.words.setPlaceholderText(tr("wheel, brake or zone"))
        self.words.setClearButtonEnabled(True)
        self.words.setAccessibleName(tr("Show rows with these words"))
        self.state.setAccessibleName(tr("Show rows of this state"))
        self.state.addItem(tr("all states"), None)
        for state, sign in SIGNS.items():
            self.state.addItem(f"{sign} {spoken(state)}", state)
        self.bar.setTextVisible(False)
        self.bar.setFixedWidth(160)
        self.note.setAccessibleName(tr("How far the match is"))
        top, foot = QHBoxLayout(), QHBoxLayout()
        left: tuple[QWidget, ...] = (QLabel(tr("Show")), self.words, self.state)
        right: tuple[QWidget, ...] = (self.note, self.bar, self.insets, self.cores, self.run)
        for widget in left:
            top.addWidget(widget)
        top.addStretch(1)
        for widget in right:
            top.addWidget(widget)
        self.words.setMinimumWidth(220)
        caution = quiet_label(tr("Double-click or Enter shows the section there. {caution}", caution=CAUTION))
        foot.addWidget(caution, 1)
        foot.addWidget(self.save)
        column = QVBoxLayout(self)
        column.addLayout(top)
        column.addWidget(self.table, 1)
        column.addLayout(foot)
        for button in (self.run, self.save):
            button.setAutoDefault(False)
        self.save.setEnabled(False)  # until a match has ended

    # Reading

    def start(self) -> None:
        """Hold every wheel of the document against every brake, beside the window."""
        project = self._document.project
        self._stop = threading.Event()
        cores, insets = 0 if self.cores.isChecked() else 1, self.insets.isChecked()
        work = partial(_work, project, cores, insets, self._stop, self._told)
        self.bar.setRange(0, max(len(project.wheels), 1))
        self.bar.setValue(0)
        self.bar.show()
        self.run.setText(tr("&Stop"))
        self.note.setText(tr("reading"))
        if self.found is None:  # else what was read before stands until all of it is read again
            self.table.pairs.show(Match((), (), (), insets), project)
        self.jobs.start(_JOB, work, partial(self._came, project), self._failed)

    def _run_or_stop(self) -> None:
        if self.jobs.is_busy:
            self._stop.set()
            self.note.setText(tr("stopping"))
        else:
            self.start()

    def _tell(self, done: int, of: int) -> None:
        if self.jobs.is_busy:
            self.bar.setValue(done)
            self.note.setText(tr("{done} of {of} wheels", done=done, of=of))

    def _add(self, stop: threading.Event, pairs: tuple[Pair, ...]) -> None:
        """Show a wheel's pairs while the others are read."""
        if self.jobs.is_busy and self.found is None and stop is self._stop:
            self.table.pairs.add(pairs)

    def _came(self, project: Project, result: Match) -> None:
        self.found, self._read_for = result, project
        self.table.show_whole(result, project)
        self.save.setEnabled(True)
        self._ended()
        whole = len(result.wheels) * len(result.shapes)
        if not whole:
            self.note.setText(tr("no wheel or no stay-out shape to match"))
        elif len(result.pairs) < whole:
            self.note.setText(tr("stopped: {pairs} of {whole} pairs", pairs=len(result.pairs), whole=whole))
        else:
            self._compare(self._document.state)

    def _failed(self, error: Exception) -> None:
        self._ended()
        self.note.setText(spoken(str(error)))

    def _ended(self) -> None:
        self.bar.hide()
        self.run.setText(tr("&Read again"))

    def _compare(self, shown: Shown) -> None:
        """Say when the project is not the one that was read."""
        if self.found is None or self.jobs.is_busy or shown.dragging:
            return
        is_same = self._read_for is not None and _inputs(shown.project) == _inputs(self._read_for)
        counts = {state: sum(p.state is state for p in self.found.pairs) for state in State}
        said = ", ".join(f"{n} {spoken(state)}" for state, n in counts.items() if n)
        self.note.setText(said if is_same else tr("the project has changed since: read again"))

    # Showing

    def _filter(self) -> None:
        self.table.filter.let_through(self.words.text(), self.state.currentData())

    def _save(self) -> None:
        if self.found is None:
            return
        folder = self._document.path.parent if self._document.path is not None else Path.home()
        name, _ = QFileDialog.getSaveFileName(
            self, tr("Save as a table"), str(folder / "match.csv"), tr("Tables (*.csv)")
        )
        if name:
            try:
                save_bytes(Path(name), as_csv(self.found).encode("utf-8"))
            except SaveError as error:
                tell(self, tr("Not saved"), spoken(str(error)))

    def reject(self) -> None:
        """Stop what is under way, and close."""
        self._stop.set()
        if self.jobs.is_busy:
            self.jobs.drop(_JOB)
            self._ended()
            self.note.setText(tr("stopped"))
            self._compare(self._document.state)
        super().reject()

    def show_again(self) -> None:
        """Read what was not read before the window was closed."""
        if self.found is None:
            self.start()


def _work(project: Project, cores: int, insets: bool, stop: threading.Event, told: _Told) -> Match:
    def tell_and_ask(done: int, of: int) -> bool:
        told.came.emit(done, of)
        return not stop.is_set()

    return match(
        project,
        cores=cores,
        insets=insets,
        progress=tell_and_ask,
        cancelled=stop.is_set,
        came=partial(told.pairs.emit, stop),
    )


def _inputs(project: Project) -> tuple[object, ...]:
    """Return what a match hangs on."""
    return (
        project.wheels,
        project.shapes,
        project.rule_sets,
        project.conditions,
        project.materials,
        project.display_unit,
    )

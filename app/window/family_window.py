"""The window that designs new blanks for the roadmap; it stays open beside the drawing."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import (
    QAbstractItemView,
    QCheckBox,
    QComboBox,
    QDialog,
    QGridLayout,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QSplitter,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.language import ntr, spoken, tr
from app.project.caution import CAUTION
from app.project.project import Project
from app.session.document import Document
from app.session.jobs import Jobs
from app.session.shown import Shown
from app.studies.executor import CORES, SERIAL, StoppedError
from app.studies.forging_needs import ForgingSettings, presses_at_hand
from app.studies.programme.inputs import Question
from app.studies.roadmap.coverage import coverage
from app.studies.roadmap.family_words import HEADS, head_words, row_of, taken_over
from app.studies.roadmap.new_blanks import FamilyPlan, FamilySettings, design_family
from app.units import UnitsError
from app.views.family_picture import FamilyPicture
from app.views.theme import Theme, figures
from app.window.dialogs.form import quiet_label
from app.window.dialogs.typed_fields import NUMBER, FieldError, NumberField
from geometry.errors import GeometryError

_JOB = "new blanks of the roadmap"
_START = FamilySettings()
#: Field, label, where it starts, whole number, what it means.
_FIELDS = (
    ("die_cost", tr("Inserts of a die"), False, tr("Invented but usual: 26,000.")),
    (
        "proof_cost",
        tr("Tryout and proof"),
        False,
        tr("Tryout, first forgings and proof tests of a new blank: 12,000."),
    ),
    ("holder_cost", tr("Holder of a diameter"), False, tr("Where the programme names none for it: 62,000.")),
    (
        "run_setup",
        tr("Set-up of a run"),
        False,
        tr("Heating and changing the dies, once a year of use: 6,500."),
    ),
    ("least_run", tr("Least run"), True, tr("Pieces: 120.")),
    ("lead_weeks", tr("Lead time, weeks"), False, tr("From the order to the first forging: 40.")),
)
_QUESTIONS = (Question.LEAST_COST, Question.GREATEST_VALUE)


class _Told(QObject):
    """Carries what goes on from the work's thread."""

    came = Signal(str)


class FamilyWindow(QDialog):
    """Designs the blanks that a roadmap should have, and takes them over into the project.

    Attributes:
        found: what was designed; None until it is.

    Signals:
        blanks_made(project, text): the new blanks were taken over.
    """

    blanks_made = Signal(object, str)

    def __init__(self, document: Document, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("New blanks for the roadmap"))
        self._document = document
        self.found: FamilyPlan | None = None
        self._read_for: Project | None = None
        self._stop = threading.Event()
        self.jobs, self._told = Jobs(self), _Told()
        self._told.came.connect(self._tell)
        self.question, self.cores = QComboBox(), QCheckBox(tr("use &all cores"))
        self.stock = NumberField(
            NUMBER, None, optional=True, least=0.0, most=50.0, empty=tr("by each wheel's rules")
        )
        self.fields: dict[str, NumberField] = {}
        self.run, self.take = QPushButton(tr("&Design")), QPushButton(tr("&Add them to the project"))
        self.head, self.note = QLabel(), QLabel()
        self.table, self.picture = QTableWidget(0, len(HEADS)), FamilyPicture(theme)
        self._lay_out()
        self.run.clicked.connect(self._run_or_stop)
        self.take.clicked.connect(self._take)
        document.shown.connect(self._compare)
        self.resize(1120, 700)
        self._say_how_to_begin()

    def _lay_out(self) -> None:
        for question in _QUESTIONS:
            self.question.addItem(spoken(question), question)
        self.question.setAccessibleName(tr("What is asked"))
        self.stock.name(tr("Stock, mm"))
        self.stock.setToolTip(tr("Metal left on everywhere, mm; empty takes each wheel's own rule set."))
        grid = QGridLayout()
        named: list[tuple[str, QWidget]] = [
            (tr("&What is asked"), self.question),
            (tr("&Stock, mm"), self.stock),
        ]
        for name, words, whole, tip in _FIELDS:
            field = NumberField(NUMBER, getattr(_START, name), least=0.0, whole=whole)
            field.setToolTip(tr("{tip} A starting value: make it your own.", tip=tip))
            field.name(words)
            self.fields[name] = field
            named.append((words, field))
        for k, (words, widget) in enumerate(named):
            label = QLabel(words)
            label.setBuddy(widget)
            grid.addWidget(label, k // 4, 2 * (k % 4))
            grid.addWidget(widget, k // 4, 2 * (k % 4) + 1)
        under = QHBoxLayout()
        under.addWidget(self.cores)
        under.addStretch(1)
        under.addWidget(self.note)
        under.addWidget(self.run)
        self.note.setAccessibleName(tr("How far the design is"))
        self.head.setAccessibleName(tr("The new blanks in a sentence"))
        self.head.setFont(figures(self.head.font(), 1.2))
        self.head.setWordWrap(True)
        self.table.setHorizontalHeaderLabels([*map(spoken, HEADS)])
        self.table.setAccessibleName(tr("New blanks"))
        self.table.setFont(figures(self.table.font()))
        self.table.verticalHeader().hide()
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        split = QSplitter(Qt.Orientation.Vertical)
        split.addWidget(self.table)
        split.addWidget(self.picture)
        split.setStretchFactor(0, 2)
        split.setStretchFactor(1, 3)
        foot = QHBoxLayout()
        foot.addWidget(quiet_label(spoken(CAUTION)), 1)
        foot.addWidget(self.take)
        column = QVBoxLayout(self)
        column.addLayout(grid)
        column.addLayout(under)
        column.addWidget(self.head)
        column.addWidget(split, 1)
        column.addLayout(foot)
        for button in (self.run, self.take):
            button.setAutoDefault(False)
        self.take.setEnabled(False)

    def _say_how_to_begin(self) -> None:
        rows = len(self._document.project.fitments)
        self.head.setText(
            tr(
                "Groups of fitments are given blanks of their own beside those there are; "
                "which groups pay is chosen exactly. Fitments in the roadmap: {rows}. Press "
                "Design.",
                rows=rows,
            )
            if rows
            else tr("The roadmap is empty: add fitments, or paste them into the roadmap's table.")
        )
        self.run.setEnabled(bool(rows))

    # Designing

    def start(self) -> None:
        """Design the family beside the window."""
        if self.jobs.is_busy:
            return
        try:
            settings = self._settings()
        except (FieldError, UnitsError, GeometryError) as error:
            self.note.setText(spoken(str(error)))
            return
        project = self._document.project
        self._stop = threading.Event()
        work = partial(
            _work,
            project,
            settings,
            self.question.currentData(),
            CORES if self.cores.isChecked() else SERIAL,
            _teller(self._stop, self._told),
        )
        self.run.setText(tr("&Stop"))
        self.note.setText(tr("reading the coverage"))
        self.jobs.start(_JOB, work, partial(self._came, project), self._failed)

    def _settings(self) -> FamilySettings:
        stock = self.stock.read()
        given: dict[str, Any] = {name: field.number() for name, field in self.fields.items()}
        given["least_run"] = int(given["least_run"])
        forging = ForgingSettings(stock_mm=stock, presses=presses_at_hand(self._document.project))
        return FamilySettings(forging=forging, **given)

    def _run_or_stop(self) -> None:
        if self.jobs.is_busy:
            self._stop.set()
            self.note.setText(tr("stopping with what there is"))
        else:
            self.start()

    def _tell(self, words: str) -> None:
        if self.jobs.is_busy and not self._stop.is_set():
            self.note.setText(words)

    def _came(self, project: Project, found: FamilyPlan) -> None:
        self.found, self._read_for = found, project
        self.run.setText(tr("&Design again"))
        self.head.setText(spoken(head_words(project, found)))
        self.table.setRowCount(len(found.blanks))
        for k, new in enumerate(found.blanks):
            for column, text in enumerate(map(spoken, row_of(new))):
                item = QTableWidgetItem(text)
                item.setToolTip(text)
                self.table.setItem(k, column, item)
        shown = replace(project, blanks=tuple(new.blank for new in found.blanks))
        if found.blanks:
            self.picture.show_family(shown, [new.blank.name for new in found.blanks])
        else:
            self.picture.clear()
        self._compare(self._document.state)

    def _failed(self, error: Exception) -> None:
        self.run.setText(tr("&Design"))
        self.note.setText(spoken(str(error)) or tr("stopped"))

    def _compare(self, shown: Shown) -> None:
        """Say when the project is not the one that was read."""
        if self.jobs.is_busy or shown.dragging:
            return
        if self.found is None:
            self._say_how_to_begin()
            return
        is_current = self._read_for is not None and _inputs(self._document.project) == _inputs(self._read_for)
        self.take.setEnabled(is_current and bool(self.found.blanks))
        self.note.setText("" if is_current else tr("the project has changed since: design again"))

    def _take(self) -> None:
        """Take the new blanks over as ideas, in one step."""
        if self.found is None or not self.take.isEnabled():
            return
        count = len(self.found.blanks)
        words = ntr("{count} new blank for the roadmap", "{count} new blanks for the roadmap", count)
        self.blanks_made.emit(taken_over(self._document.project, self.found), words)

    def reject(self) -> None:
        """Stop what is under way, and close."""
        self._stop.set()
        if self.jobs.is_busy:
            self.jobs.drop(_JOB)
            self._failed(StoppedError())
            self._compare(self._document.state)
        super().reject()


def _teller(stop: threading.Event, told: _Told) -> Callable[[str], bool]:
    def tell_and_ask(words: str) -> bool:
        told.came.emit(words)
        return not stop.is_set()

    return tell_and_ask


def _inputs(project: Project) -> tuple[object, ...]:
    """Return what a family hangs on."""
    return (
        project.fitments,
        project.blanks,
        project.wheels,
        project.shapes,
        project.rule_sets,
        project.conditions,
        project.materials,
        project.rates,
        project.programme,
    )


def _work(
    project: Project,
    settings: FamilySettings,
    question: Question,
    where: str,
    tell: Callable[[str], bool],
) -> FamilyPlan:
    found = coverage(
        project,
        where=where,
        progress=lambda done, of: tell(tr("coverage: {done} of {of} fitments", done=done, of=of)),
    )
    return design_family(project, found, settings, question, where=where, progress=tell)

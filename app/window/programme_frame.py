"""The frame of the die programme's window: what is asked, the answer, the pages, what is saved."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QSpinBox,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from app.language import spoken, tr
from app.project.caution import CAUTION
from app.studies.programme.inputs import Question
from app.views.theme import Theme, figures
from app.window.dialogs.form import quiet_label
from app.window.programme_enquiry import EnquiryPage
from app.window.programme_pages import CoveragePage, DiesPage, PlanPage, fitments_page, unserved_page
from app.window.programme_risk import RiskPage


class ProgrammeFrame(QDialog):
    """Holds the fields, labels, buttons and pages, and does nothing with them."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Die programme"))
        self.question, self.limit, self.runs = QComboBox(), QSpinBox(), quiet_label()
        self.settings, self.run = QPushButton(tr("S&ettings...")), QPushButton(tr("&Read again"))
        self.save, self.take = (
            QPushButton(tr("&Save the tables...")),
            QPushButton(tr("&Open as a new version")),
        )
        self.paper = QPushButton(tr("&Board paper..."))
        self.bar, self.note, self.head, self.below = QProgressBar(), QLabel(), QLabel(), QLabel()
        self.plan_page, self.coverage_page = PlanPage(theme), CoveragePage(theme)
        self.fitments_page, self.unserved_page = fitments_page(), unserved_page()
        self.dies_page, self.risk_page, self.enquiry_page = (
            DiesPage(theme),
            RiskPage(theme),
            EnquiryPage(theme),
        )
        self.pages = QTabWidget()
        self._lay_out()
        self.resize(1180, 760)

    def _lay_out(self) -> None:
        for question in Question:
            self.question.addItem(spoken(question), question)
        self.question.setAccessibleName(tr("What is asked"))
        self.limit.setRange(1, 3600)
        self.limit.setValue(60)
        self.limit.setSuffix(" s")
        self.limit.setAccessibleName(tr("Time limit of the choice, seconds"))
        self.limit.setToolTip(
            tr("For the choice itself; without proof by then, the plan says how far it may be off.")
        )
        self.runs.setWordWrap(False)
        self.runs.setToolTip(tr("Where coverage and risk are computed; Settings, page Computing."))
        self.bar.setTextVisible(False)
        self.bar.setFixedWidth(140)
        self.bar.hide()
        self.note.setAccessibleName(tr("How far the programme is"))
        self.note.setWordWrap(True)
        self.note.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.head.setAccessibleName(tr("The plan in a sentence"))
        self.head.setFont(figures(self.head.font(), 1.25))
        self.below.setFont(figures(self.below.font()))
        self.below.hide()
        for label in (self.head, self.below):
            label.setWordWrap(True)
        top, foot = QHBoxLayout(), QHBoxLayout()
        asked, limit = QLabel(tr("W&hat is asked")), QLabel(tr("wi&thin"))
        asked.setBuddy(self.question)
        limit.setBuddy(self.limit)
        left: tuple[QWidget, ...] = (asked, self.question, limit, self.limit, self.settings, self.runs)
        for widget in left:
            top.addWidget(widget)
        top.addWidget(self.note, 1)
        top.addWidget(self.bar)
        top.addWidget(self.run)
        for title, page in (
            (tr("&Plan"), self.plan_page),
            (tr("&Coverage"), self.coverage_page),
            (tr("&Fitments by year"), self.fitments_page),
            (tr("&Not served, left out"), self.unserved_page),
            (tr("&Dies, worth"), self.dies_page),
            (tr("R&isk"), self.risk_page),
            (tr("En&quiry"), self.enquiry_page),
        ):
            self.pages.addTab(page, title)
        self.pages.setDocumentMode(True)
        foot.addWidget(quiet_label(spoken(CAUTION)), 1)
        foot.addWidget(self.save)
        foot.addWidget(self.paper)
        foot.addWidget(self.take)
        column = QVBoxLayout(self)
        column.addLayout(top)
        column.addWidget(self.head)
        column.addWidget(self.below)
        column.addWidget(self.pages, 1)
        column.addLayout(foot)
        for button in (self.run, self.save, self.paper, self.take, self.settings):
            button.setAutoDefault(False)
        for button in (self.take, self.save, self.paper):
            button.setEnabled(False)

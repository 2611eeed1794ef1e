"""Boxes, buttons, pages and pictures of the strength window, as they stand; what they do is the window's."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QSizePolicy,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from app.language import spoken, tr
from app.project.caution import CAUTION
from app.views.strength_picture import StressSection
from app.views.theme import Theme, figures
from app.window.dialogs.form import quiet_label
from app.window.strength_pages import StrengthPages


class StrengthForm(QDialog):
    """A wheel and one beside it, how far the study is, and what it found or what is missing."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Strength"))
        self.wheel, self.beside = QComboBox(), QComboBox()
        self.keep = QPushButton(tr("Keep as its &reference"))
        self.settings, self.run = QPushButton(tr("Settin&gs...")), QPushButton(tr("&Stop"))
        self.save = QPushButton(tr("Sa&ve as tables or pages..."))
        self.details = QPushButton(tr("Wheel &details..."))
        self.bar, self.head, self.note, self.remedy = QProgressBar(), QLabel(), QLabel(), QLabel()
        self.pages = StrengthPages(theme)
        self.pictures = (StressSection(theme), StressSection(theme))
        self.stack = QStackedWidget()
        self._lay_out()

    def _lay_out(self) -> None:
        self.wheel.setAccessibleName(tr("Wheel"))
        self.beside.setAccessibleName(tr("A wheel beside it"))
        self.beside.setToolTip(tr("Every figure of the wheel then stands as a ratio to this one's."))
        self.pictures[0].setAccessibleName(tr("Stress in the wheel"))
        self.pictures[1].setAccessibleName(tr("Stress in the wheel beside it"))
        self.bar.setTextVisible(False)
        self.bar.setFixedWidth(150)
        self.head.setWordWrap(True)
        self.head.setFont(figures(self.head.font()))
        self.remedy.setWordWrap(True)
        self.note.setAccessibleName(tr("How far the study is"))
        # What is said while working makes the window no wider.
        self.note.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.note.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        top = QHBoxLayout()
        for words, box in ((tr("&Wheel"), self.wheel), (tr("&beside"), self.beside)):
            label = QLabel(words)
            label.setBuddy(box)
            box.setMinimumContentsLength(14)
            top.addWidget(label)
            top.addWidget(box)
        top.addWidget(self.keep)
        top.addWidget(self.settings)
        top.addWidget(self.note, 1)
        for widget in (self.bar, self.run):
            top.addWidget(widget)
        sections = QSplitter(Qt.Orientation.Vertical)
        for picture in self.pictures:
            sections.addWidget(picture)
        whole = QSplitter(Qt.Orientation.Horizontal)
        whole.addWidget(self.pages)
        whole.addWidget(sections)
        whole.setSizes([840, 400])
        whole.setChildrenCollapsible(False)
        missing = QWidget()
        middle = QVBoxLayout(missing)
        middle.addStretch(1)
        middle.addWidget(self.remedy)
        middle.addWidget(self.details, 0, Qt.AlignmentFlag.AlignLeft)
        middle.addStretch(2)
        self.stack.addWidget(whole)
        self.stack.addWidget(missing)
        foot = QHBoxLayout()
        foot.addWidget(quiet_label(spoken(CAUTION)), 1)
        foot.addWidget(self.save)
        column = QVBoxLayout(self)
        column.addLayout(top)
        column.addWidget(self.head)
        column.addWidget(self.stack, 1)
        column.addLayout(foot)
        for button in (self.keep, self.settings, self.run, self.save, self.details):
            button.setAutoDefault(False)

"""The left side of the import: the picture, the least gap, what was found, and the reading under way."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QSplitter,
    QTextBrowser,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.files.readers.worker import limits_of
from app.language import tr
from app.units import LengthUnit
from app.views.theme import DARK, LIGHT, Colours, figures
from app.window.dialogs.form import ProjectDialog
from app.window.dialogs.import_gap import Nearest
from app.window.dialogs.import_picture import ImportPicture
from app.window.dialogs.import_reading import Reading
from app.window.dialogs.import_report import Line, as_html
from geometry.readings.rules import State

#: A reading that takes longer than this shows its progress, s.
_SHOW_S = 0.3


class LookPane(QWidget):
    """The picture over the least gap, the report and the progress of reading."""

    def __init__(self, path: Path, unit: LengthUnit, reading: Reading) -> None:
        super().__init__()
        self._reading = reading
        self._limit_s = limits_of(path.suffix.lower()).seconds
        self._lines: list[Line] = []
        self.picture = ImportPicture(unit)
        self.gap = QLabel()
        self.gap.setWordWrap(True)
        self.gap.setFont(figures(self.gap.font(), 1.1))
        self.gap.setAccessibleName(tr("Least gap to the shown wheel"))
        self.gap.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.gap.setAlignment(Qt.AlignmentFlag.AlignTop)
        # Room for two lines, so that nothing below moves.
        self.gap.setMinimumHeight(2 * self.gap.fontMetrics().lineSpacing() + 2)
        self.report = QTextBrowser()
        self.report.setAccessibleName(tr("What was found in the file"))
        self.report.setTabChangesFocus(True)
        self.report.setOpenLinks(False)
        self.report.setFont(figures(self.report.font()))
        self.report.setMinimumHeight(110)
        self.queue, self.leave = QLabel(), QPushButton(tr("&Leave the others"))
        below = QWidget()
        column = QVBoxLayout(below)
        column.setContentsMargins(0, 4, 0, 0)
        column.setSpacing(6)
        column.addLayout(self._bar())
        column.addWidget(self.gap)
        column.addWidget(self.report, 1)
        split = QSplitter(Qt.Orientation.Vertical)
        split.setChildrenCollapsible(False)
        split.addWidget(self.picture)
        split.addWidget(below)
        split.setStretchFactor(0, 1)
        split.setSizes([430, 230])
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(split)
        reading.changed.connect(self._show_reading)

    def _bar(self) -> QHBoxLayout:
        self.status, self.progress = QLabel(), QProgressBar()
        self.stop = QPushButton(tr("Read again"))
        self.stop.setAutoDefault(False)
        self.stop.clicked.connect(self._stop_or_again)
        self.progress.setRange(0, max(1, round(10 * self._limit_s)))
        self.progress.setAccessibleName(tr("Reading, seconds of the most it may take"))
        self.progress.setFixedWidth(200)
        row = QHBoxLayout()
        row.setSpacing(6)
        row.addWidget(self.stop)
        row.addWidget(self.status)
        row.addWidget(self.progress)
        row.addStretch(1)
        middle = self.picture
        for text, words, do in (
            ("−", tr("Zoom out"), lambda: middle.zoom(-1)),
            ("+", tr("Zoom in"), lambda: middle.zoom(1)),
            (tr("Show &all"), tr("Show everything"), middle.fit),
        ):
            button = QToolButton()
            button.setText(text)
            button.setToolTip(words)
            button.setAccessibleName(words)
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            button.clicked.connect(do)
            row.addWidget(button)
        return row

    def put_beside(self, dialog: ProjectDialog, waiting: Sequence[str]) -> None:
        """Put this pane to the left of a dialog's pages, and the files that wait beside its buttons."""
        split = QSplitter(Qt.Orientation.Horizontal)
        split.setChildrenCollapsible(False)
        split.addWidget(self)
        split.addWidget(dialog.pages)
        split.setStretchFactor(0, 1)
        split.setSizes([650, 546])
        dialog.pages.setMinimumWidth(400)
        dialog.column.insertWidget(0, split, 1)
        dialog.column.removeWidget(dialog.buttons)
        foot = QHBoxLayout()
        self.queue.setText(
            tr("Then {waiting} more: {waiting_2}", waiting=len(waiting), waiting_2=", ".join(waiting))
            if waiting
            else ""
        )
        self.queue.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        self.leave.setAutoDefault(False)
        self.leave.setVisible(bool(waiting))
        self.leave.clicked.connect(self._drop_queue)
        foot.addWidget(self.queue)
        foot.addWidget(self.leave)
        foot.addStretch(1)
        foot.addWidget(dialog.buttons)
        dialog.column.addLayout(foot)

    def _drop_queue(self) -> None:
        self.queue.setText("")
        self.leave.hide()

    # What is said

    def say(self, said: Sequence[Line]) -> None:
        """Show another report."""
        self._lines = list(said)
        self.report.setHtml(as_html(self._lines, self._colours()))

    def said(self) -> list[str]:
        """Return the report as plain lines."""
        return [f"{line.about}: {line.said}" for line in self._lines]

    def say_gap(self, said: Sequence[Nearest]) -> None:
        """Say the least gap of each reading; grey while it is not known."""
        self.gap.setText("\n".join(near.words for near in said))
        palette = self.gap.palette()
        colours = self._colours()
        state = said[0].state if len(said) == 1 else State.NOT_KNOWN
        palette.setColor(QPalette.ColorRole.WindowText, colours.of(state))
        self.gap.setPalette(palette)

    def _colours(self) -> Colours:
        return DARK if self.palette().color(QPalette.ColorRole.Window).lightness() < 128 else LIGHT

    # The reading under way

    def _show_reading(self) -> None:
        is_under_way, seconds = self._reading.is_under_way, self._reading.seconds
        is_long = self._reading.jobs.is_busy and seconds > _SHOW_S
        self.stop.setText(tr("&Stop reading") if is_under_way else tr("Read a&gain"))
        self.progress.setVisible(is_long)
        self.progress.setValue(round(10 * seconds))
        self.progress.setFormat(
            tr("{seconds:.0f} s of at most {limit_s:.0f} s", seconds=seconds, limit_s=self._limit_s)
        )
        if is_long:
            self.picture.fade()
        words = tr("reading...") if is_under_way else tr("read in {seconds:.1f} s", seconds=seconds)
        self.status.setText("" if is_long else words)

    def _stop_or_again(self) -> None:
        if self._reading.is_under_way:
            self._reading.stop()
        else:
            self._reading.start()

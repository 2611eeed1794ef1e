"""An outline looked at while it is made: over the shown wheel, with its least gap and what is said of it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QHBoxLayout, QLabel, QTextBrowser, QToolButton, QVBoxLayout, QWidget

from app.language import tr
from app.project.project import Project
from app.reports.numbers import unit_of
from app.session.jobs import Jobs
from app.views.theme import DARK, LIGHT, Colours, figures
from app.window.dialogs.import_gap import Nearest, backdrop, nearest
from app.window.dialogs.import_report import Line, as_html
from app.window.dialogs.over_wheel import Given, OverWheel
from geometry.readings.rules import State
from geometry.shape.outline import StayOut

_GAP_PAUSE_MS = 60
_WHEEL, _GAP = tr("the wheel"), tr("the gap")


class ShapeLook(QWidget):
    """The picture over the least gap and the report.

    Args:
        project: as it is now.
        wheel: name of the shown wheel, None for none.
        lines: how many lines the report should have room for.
        has_report: the report stands below; else it is put elsewhere.
    """

    def __init__(self, project: Project, wheel: str | None, lines: int = 5, has_report: bool = True) -> None:
        super().__init__()
        self._project, self._wheel = project, wheel
        self._shape: StayOut | None = None
        self.said: list[Line] = []
        self.jobs = Jobs(self)
        self.pause = QTimer(self)
        self.pause.setSingleShot(True)
        self.pause.setInterval(_GAP_PAUSE_MS)
        self.pause.timeout.connect(self._find_gap)
        self.picture = OverWheel(unit_of(project))
        self.gap = QLabel()
        self.gap.setWordWrap(True)
        self.gap.setFont(figures(self.gap.font(), 1.1))
        self.gap.setAccessibleName(tr("Least gap to the shown wheel"))
        self.gap.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.gap.setAlignment(Qt.AlignmentFlag.AlignTop)
        # Room for two lines, so that nothing below moves.
        self.gap.setMinimumHeight(2 * self.gap.fontMetrics().lineSpacing() + 2)
        self.report = QTextBrowser()
        self.report.setAccessibleName(tr("What is said of the outline"))
        self.report.setTabChangesFocus(True)
        self.report.setOpenLinks(False)
        self.report.setFont(figures(self.report.font()))
        self.report.setFixedHeight(lines * self.report.fontMetrics().lineSpacing() + 14)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(6)
        column.addWidget(self.picture, 1)
        column.addLayout(self._foot())
        if has_report:
            column.addWidget(self.report)
        if wheel is not None:
            self.jobs.start(_WHEEL, partial(backdrop, project, wheel), self.picture.show_wheel, _tell)

    def _foot(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(6)
        row.addWidget(self.gap, 1)
        for text, words, do in (
            ("−", tr("Zoom out over the wheel"), lambda: self.picture.zoom(-1)),
            ("+", tr("Zoom in over the wheel"), lambda: self.picture.zoom(1)),
            (tr("Show all"), tr("Show the whole wheel"), self.picture.fit),
        ):
            button = QToolButton()
            button.setText(text)
            button.setToolTip(words)
            button.setAccessibleName(words)
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            button.clicked.connect(do)
            row.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
        return row

    @property
    def is_busy(self) -> bool:
        """True while the wheel or the gap is awaited."""
        return self.jobs.is_busy or self.pause.isActive()

    def show_shape(self, given: Given, shape: StayOut | None, said: Sequence[Line]) -> None:
        """Show an outline; its least gap follows.

        Args:
            given: what is drawn.
            shape: what is held against the wheel; None while there is none.
            said: the report.
        """
        self._shape, self.said = shape, list(said)
        self.picture.show_given(given)
        self.picture.show_mark(None)
        self.report.setHtml(as_html(self.said, self._colours()))
        self.jobs.drop(_GAP)
        self.pause.start()

    def _find_gap(self) -> None:
        """Hold the outline against the shown wheel, beside the window."""
        if self._shape is None:
            self._say_gap(Nearest(tr("No outline yet: there is nothing to hold against the wheel."), None))
        elif self._wheel is None:
            self._say_gap(Nearest(tr("No wheel is shown: there is nothing to hold it against."), None))
        else:
            work = partial(nearest, self._project, self._wheel, [("", self._shape)])
            self.jobs.start(_GAP, work, lambda found: self._say_gap(found[0]), _tell)

    def _say_gap(self, near: Nearest) -> None:
        self.gap.setText(near.words)
        palette = self.gap.palette()
        state = near.state if near.mark is not None else State.NOT_KNOWN
        palette.setColor(QPalette.ColorRole.WindowText, self._colours().of(state))
        self.gap.setPalette(palette)
        self.picture.show_mark(near.mark)

    def _colours(self) -> Colours:
        return DARK if self.palette().color(QPalette.ColorRole.Window).lightness() < 128 else LIGHT

    def close_down(self) -> None:
        """Wait for nothing any more."""
        self.pause.stop()
        for name in (_WHEEL, _GAP):
            self.jobs.drop(name)


def _tell(error: Exception) -> None:
    raise error

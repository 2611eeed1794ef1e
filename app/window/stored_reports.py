"""Reports that were stored from the window: the shown wheel's are marked when they are no longer true.

Which files there are is remembered in the user's settings, not in the project. They are looked at after an
edit is released and some time has passed, in the background.
"""

from __future__ import annotations

from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, QTimer
from PySide6.QtWidgets import QLabel

from app.files.project_file import ProjectFileError
from app.language import tr
from app.project.project import Project
from app.project.wheel import Wheel
from app.session.document import Document
from app.session.jobs import Jobs
from app.session.shown import Shown
from app.window.settings import Settings

_JOB = "stored reports"
_WAIT_MS = 700


class StoredReports(QObject):
    """Remembers stored reports and says which of the shown wheel's are stale.

    Attributes:
        label: the words for the status line; empty where nothing is stale.
    """

    def __init__(self, parent: QObject, document: Document, settings: Settings) -> None:
        super().__init__(parent)
        self._document, self._settings = document, settings
        self._jobs = Jobs(self)
        self.label = QLabel()
        self.label.setAccessibleName(tr("Stored reports that are stale"))
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(_WAIT_MS)
        self._timer.timeout.connect(self._look)
        document.shown.connect(self._shown)

    def remember(self, wheel: str, pdf: Path) -> None:
        """Keep that a report of a wheel of this project was stored there."""
        self._settings.remember_report(self._project_name(), wheel, pdf)
        self._timer.start()

    def _project_name(self) -> str:
        path = self._document.path
        return str(path.absolute()) if path is not None else ""

    def _shown(self, shown: Shown) -> None:
        if not shown.dragging:
            self._timer.start()

    def _look(self) -> None:
        wheel, project = self._document.wheel, self._document.project
        pdfs = self._settings.reports(self._project_name(), wheel.name) if wheel is not None else []
        if wheel is None or not pdfs:
            self._say([])
            return
        self._jobs.start(_JOB, partial(_stale, project, wheel, pdfs), self._say, lambda _error: self._say([]))

    def _say(self, stale: list[tuple[Path, str]]) -> None:
        names = ", ".join(pdf.name for pdf, _ in stale)
        self.label.setText(tr("stale: {names}", names=names) if stale else "")
        self.label.setToolTip("\n".join(f"{pdf}: {why}" for pdf, why in stale))
        self.label.setVisible(bool(stale))


def _stale(project: Project, wheel: Wheel, pdfs: list[Path]) -> list[tuple[Path, str]]:
    """Return the reports that no longer tell the truth, and why."""
    from app.reports.outputs import why_stale

    found = []
    for pdf in pdfs:
        try:
            why = why_stale(project, wheel, pdf)
        except (ValueError, ProjectFileError):
            continue  # it was written over by something else, or the project cannot be stored now
        if why:
            found.append((pdf, why))
    return found

"""Keeping the work on the open document in its journal while it is not saved."""

from __future__ import annotations

import contextlib
import time
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from app.files.journal import Journal, State
from app.files.on_disk import OnDisk
from app.language import tr
from app.project.project import Project
from app.session.document import Document
from app.session.keeper import Keeper


class Recovery(QObject):
    """Has every committed state written within 100 ms; forgets all when nothing is unsaved.

    Signals:
        troubled(words): unsaved work is not kept, told once until it is kept again.

    Attributes:
        file: the document's file as it was opened or saved last; None for one that was never saved.
    """

    troubled = Signal(str)
    _told = Signal(str)  # out of the writing thread

    def __init__(
        self, document: Document, journals: Path | None = None, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self.file: OnDisk | None = None
        self._document = document
        self._edits = 0
        self._keeper = Keeper(Journal(journals), self._told_in_thread)
        self._told.connect(self._tell)
        document.committed.connect(self._keep)
        document.modified.connect(self._tell_modified)

    def flush(self) -> bool:
        """Wait until everything is written; False if it could not be."""
        return self._keeper.flush()

    def leave(self) -> None:
        """Forget the work: it is saved, or given up on purpose."""
        self._edits = 0
        self._keeper.forget()
        self._keeper.flush()

    def _keep(self, project: Project, words: str) -> None:
        self._edits += 1
        path = self._document.path
        self._keeper.keep(State(project, words, self._edits, time.time(), path, self.file))

    def _tell_modified(self, modified: bool) -> None:
        """Forget what was saved or undone: nothing of it is unsaved."""
        if not modified and self._edits:
            self._edits = 0
            self._keeper.forget()

    def _told_in_thread(self, trouble: str) -> None:
        with contextlib.suppress(RuntimeError):  # the window may have gone
            self._told.emit(trouble)

    def _tell(self, trouble: str) -> None:
        if trouble:
            self.troubled.emit(
                tr(
                    "Unsaved work is not kept against a crash: {trouble} The work goes on; save it "
                    "now and then.",
                    trouble=trouble,
                )
            )

"""Snapshots of unsaved work while the window is open, and the offer to go on with them at the next start."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QObject, QTimer
from PySide6.QtWidgets import QWidget

from app.files import snapshot as store
from app.files.atomic import sweep
from app.session.document import Document
from app.window.questions import ask, tell


class Snapshots(QObject):
    """Writes what is unsaved every 30 seconds; forgets it when it is saved, undone or left on purpose."""

    def __init__(self, document: Document, state: Path | None = None, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._document = document
        self._state = state
        self._written: object = None
        self._told: str | None = None
        self._timer = QTimer(self)
        self._timer.setInterval(int(store.INTERVAL_S * 1000))
        self._timer.timeout.connect(self.write)
        self._timer.start()
        document.modified.connect(self._tell_modified)

    def write(self) -> None:
        """Write a snapshot if there is unsaved work that is not in the last one."""
        project = self._document.project
        if not self._document.is_modified or self._written is project:
            return
        trouble = store.write_snapshot(project, self._document.path, self._state)
        self._written = project if trouble is None else None
        if trouble and trouble != self._told:  # once, not every 30 seconds
            self._document.say(trouble)
        self._told = trouble

    def _tell_modified(self, modified: bool) -> None:
        """Forget what was undone: nothing of it is unsaved."""
        if not modified and self._written is not None:
            self.forget(self._document.path)

    def forget(self, origin: Path | None) -> None:
        """Remove the snapshot of a document that was saved or left."""
        self._written = None
        store.forget_snapshot(origin, self._state)

    def offer(self, window: QWidget) -> bool:
        """Ask about work that an ended process left behind; True if one was opened."""
        sweep(self._state or store.state_folder())
        for found in store.pending_snapshots(self._state):
            where = found.origin.name if found.origin is not None else "a project that was never saved"
            when = found.when.astimezone().strftime("%Y-%m-%d %H:%M")
            if found.project is None:
                tell(window, "Unsaved work is damaged", f"Unsaved work on {where}, {when}: {found.error}")
                continue
            text = f"Unsaved work on {where} was kept at {when}; the program ended before it was saved."
            answers = ["Go on with it", "Discard it"]
            answer = ask(window, "Unsaved work found", text, answers, stay="Ask again later")
            if answer == "Go on with it":
                self._document.start(found.project, found.origin, modified=True)
                self.write()
                if self._written is self._document.project:
                    store.discard(found)
                return True
            if answer == "Discard it":
                store.discard(found)
        return False

"""Several files to import: each gets its dialog in turn, on the project as the one before left it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from PySide6.QtCore import QObject, QTimer
from PySide6.QtWidgets import QWidget

from app.session.document import Document
from app.window.dialogs.form import ProjectDialog


class ImportQueue(QObject):
    """Opens one import dialog at a time.

    Args:
        window: the dialogs belong to it.
        document: its project is imported into.
        show: opens a dialog and commits what it makes.
    """

    def __init__(self, window: QWidget, document: Document, show: Callable[[ProjectDialog], None]) -> None:
        super().__init__(window)
        self._window, self._document, self._show = window, document, show
        self._paths: list[Path] = []
        self._is_open = False

    def bring(self, paths: Sequence[Path]) -> None:
        """Import these files after those that wait already."""
        self._paths += paths
        if not self._is_open:
            self._next()

    def _next(self) -> None:
        from app.window.dialogs.import_outline import ImportDialog

        if not self._paths:
            return
        path = self._paths.pop(0)
        names = [other.name for other in self._paths]
        dialog = ImportDialog(
            self._document.project, path, self._document.wheel_name, self._window, waiting=names
        )
        dialog.others_dropped.connect(self._paths.clear)
        dialog.finished.connect(self._closed)
        self._is_open = True
        self._show(dialog)

    def _closed(self) -> None:
        """Open the next dialog once this one has gone."""
        self._is_open = False
        QTimer.singleShot(0, self, self._next)

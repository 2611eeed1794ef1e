"""Starting the window."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QApplication

from app import resources
from app.session.jobs import Jobs
from app.views.style import DraftingStyle
from app.window.main_window import MainWindow


def application() -> QApplication:
    """Return the one application object, made on first use."""
    found = QApplication.instance()
    if isinstance(found, QApplication):
        return found
    made = QApplication(sys.argv[:1])
    made.setApplicationName("blankwright")
    made.setApplicationDisplayName("Blankwright")
    made.setDesktopFileName("blankwright")
    made.setWindowIcon(QIcon(str(resources.icon("blankwright"))))
    made.setStyle(DraftingStyle())  # the same on every platform, and it follows the palette
    return made


def run(arguments: Sequence[str]) -> int:
    """Show the window, with the project named first if there is one, until it is closed."""
    app = application()
    window = MainWindow()
    window.show()

    def begin() -> None:
        opened = window.snapshots.offer(window)
        if arguments and not opened:
            window.files.open_path(Path(arguments[0]))
        window.canvas.sheet.fit()

    QTimer.singleShot(0, begin)
    code = app.exec()
    Jobs.wait()  # what is being written is written whole
    return code

"""Starting the window."""

from __future__ import annotations

import gc
import sys
from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QLibraryInfo, QProcess, Qt, QTimer, QTranslator
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QApplication, QProgressDialog, QWidget

from app import resources
from app.cli.prepare import WORDS, load_rare
from app.language import language, spoken, tr
from app.session.jobs import Jobs
from app.views.style import DraftingStyle
from app.window.faults import Faults
from app.window.main_window import MainWindow
from geometry.compiled import is_prepared

#: Garbage is looked for when so many more objects were made than let go.
_NEW_OBJECTS = 10_000


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
    own = QTranslator(made)  # Qt's own words: buttons, file dialogs, names of keys
    if own.load(f"qtbase_{language()}", QLibraryInfo.path(QLibraryInfo.LibraryPath.TranslationsPath)):
        made.installTranslator(own)
    made.setStyle(DraftingStyle())  # the same on every platform, and it follows the palette
    return made


def prepare(parent: QWidget) -> None:
    """Have a child process make the machine code of a first start, while the window stays alive."""
    if is_prepared():
        return
    dialog = QProgressDialog(spoken(WORDS), tr("Skip"), 0, 0, parent)
    dialog.setWindowTitle(tr("First start"))
    dialog.setWindowModality(Qt.WindowModality.WindowModal)
    dialog.setMinimumDuration(0)
    child = QProcess(dialog)
    child.finished.connect(dialog.reset)
    child.errorOccurred.connect(dialog.reset)
    program, *arguments = resources.program("--prepare")
    child.start(program, arguments)
    # Skipped, or without a child, code is made when it is first called: slower, not wrong.
    dialog.exec()
    child.kill()
    child.waitForFinished()


def set_aside() -> None:
    """Begin searches for garbage, but leave what was made at the start out of them: it stays until the end.

    One search through all of it would hold a drag up for some tenths of a second. Searches through what is
    new are made less often than by default: at every frame of a drag there would be several.
    """
    gc.freeze()
    gc.set_threshold(_NEW_OBJECTS, 10, 10)
    gc.enable()


def run(arguments: Sequence[str]) -> int:
    """Show the window, with the project named first if there is one, until it is closed."""
    app = application()
    window = MainWindow()
    faults = Faults(window, window.recovery)
    faults.install()
    window.show()

    def begin() -> None:
        try:
            prepare(window)
            opened = window.files.offer_recovered()
            if arguments and not opened:
                window.files.open_path(Path(arguments[0]))
            window.first_steps.begin(bool(arguments or opened))
            window.canvas.sheet.fit()
            if is_prepared():  # what is not made yet would be made here, and take seconds
                load_rare()
        finally:
            set_aside()

    QTimer.singleShot(0, begin)
    code = app.exec()
    Jobs.wait()  # what is being written is written whole
    faults.remove()
    return code

"""Help in the window: commands, keys, and what the program is and is not."""

from __future__ import annotations

from importlib import metadata
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QApplication, QMessageBox, QWidget

from app.language import spoken, tr
from app.project.caution import CAUTION

if TYPE_CHECKING:
    from app.window.main_window import MainWindow
    from app.window.manual import Manual

#: Page of the manual by a word in the name of a window's class; the first that fits counts.
_PAGE_OF = (
    *(
        ("Keys", "commands"),
        ("CommandList", "commands"),
        ("Strength", "strength"),
        ("TestRecord", "strength"),
    ),
    *(("ShopRates", "blanks"), ("Blank", "blanks"), ("Limits", "blanks"), ("Stages", "blanks")),
    *(("Face", "drawing"), ("Version", "drawing"), ("FirstOff", "readings")),
    *(("Roadmap", "programme"), ("Programme", "programme"), ("Family", "programme")),
    *(("Fitment", "programme"), ("Import", "files"), ("Trace", "files"), ("Sheet", "files")),
    *(("Release", "files"), ("Paper", "files"), ("Gauge", "files"), ("Brake", "files")),
    *(("SourceCard", "files"), ("Match", "readings"), ("Offers", "readings"), ("Rule", "readings")),
    *(("Conditions", "readings"), ("TrialFit", "readings"), ("Material", "readings"), ("Wheel", "drawing")),
    *(("Size", "drawing"), ("Shape", "drawing"), ("CustomerReport", "files"), ("Recovered", "files")),
    *(("Fault", "files"), ("Parameters", "parameters"), ("Constraints", "parameters")),
)


class Help(QObject):
    """The help actions of the window."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        self.manual: Manual | None = None
        QApplication.instance().focusChanged.connect(self._reach)  # type: ignore[union-attr]

    def show_manual(self) -> None:
        """Show the page of the manual on what is in front."""
        self._show_page(page_of(QApplication.activeWindow(), QApplication.focusWidget()))

    def _show_page(self, name: str) -> None:
        from app.window.manual import Manual

        if self.manual is None:
            self.manual = Manual(self._window)
        self.manual.show_page(name)
        self.manual.show()
        self.manual.activateWindow()

    def end(self) -> None:
        """Close the manual; the window is going."""
        if self.manual is not None:
            self.manual.end()

    def _reach(self, _before: QWidget | None, now: QWidget | None) -> None:
        """Let the manual's key work in every dialog and window of its own, once it is in front."""
        front = None if now is None else now.window()
        if front is None or front is self._window or front is self.manual or front.property("has_help"):
            return
        if not _belongs(front, self._window):
            return
        front.setProperty("has_help", True)
        key = QKeySequence(self._window.keys.key("manual"))
        QShortcut(key, front).activated.connect(lambda: self._show_page(page_of(front, None)))

    def explain(self) -> None:
        """Say what the chosen reading means, or no longer; without one the first is chosen."""
        readings = self._window.readings
        self._window.actions_by_name["readings"].setChecked(True)
        readings.choose_one()
        readings.explain.toggle()

    def show_commands(self) -> None:
        """Show everything that can be done, to be searched and run."""
        from app.window.command_list import CommandList

        CommandList(self._window).open()

    def show_keys(self) -> None:
        """Show every action with its key, searchable; keys can be changed there."""
        from app.window.dialogs.keys import KeysDialog

        KeysDialog(self._window.keys, self._window).open()

    def show_about(self) -> None:
        """Show name, version and the caution."""
        text = tr(
            "Blankwright {version}\n\nCross-section editor for forged wheels.",
            version=metadata.version("blankwright"),
        )
        box = QMessageBox(QMessageBox.Icon.Information, tr("About"), text, parent=self._window)
        box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        box.setInformativeText(spoken(CAUTION))
        box.open()


def page_of(front: QWidget | None, focus: QWidget | None) -> str:
    """Return the page of the manual on a window, or on what has the focus in the main one."""
    name = type(front).__name__
    if name == "MainWindow":
        while focus is not None:
            kind = type(focus).__name__
            if kind in ("ReadingsPanel", "SummaryPanel", "ProfileStrip"):
                return "readings"
            if kind in ("Canvas", "VertexTable"):
                return "drawing"
            focus = focus.parentWidget()
        return "start"
    return next((page for word, page in _PAGE_OF if word in name), "start")


def _belongs(front: QWidget, window: QWidget) -> bool:
    """Return whether a window was opened from another."""
    above: QObject | None = front
    while above is not None and above is not window:
        above = above.parent()
    return above is window

"""Help in the window: commands, keys, and what the program is and is not."""

from __future__ import annotations

from importlib import metadata
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt
from PySide6.QtWidgets import QMessageBox

from app.project.caution import CAUTION

if TYPE_CHECKING:
    from app.window.main_window import MainWindow


class Help(QObject):
    """The help actions of the window."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window

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
        text = f"Blankwright {metadata.version('blankwright')}\n\nCross-section editor for forged wheels."
        box = QMessageBox(QMessageBox.Icon.Information, "About", text, parent=self._window)
        box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        box.setInformativeText(CAUTION)
        box.open()

"""Help in the window: the list of keys, and what the program is and is not."""

from __future__ import annotations

from importlib import metadata

from PySide6.QtCore import QObject, Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDialog,
    QHeaderView,
    QLineEdit,
    QMessageBox,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.project.caution import CAUTION
from app.window.actions import MENUS

#: Keys and mouse of the drawing, which are no menu entries.
ON_THE_DRAWING = (
    ("Move the selected vertex 1 mm, 10 mm, 0.1 mm, 0.01 mm", "Arrow, with Shift, with Ctrl, with Alt"),
    ("Type its place and radius", "Tab"),
    ("End a gesture without a change; select nothing", "Esc"),
    ("Move a vertex; without snapping", "Drag, with Ctrl held"),
    ("Insert a vertex on an edge", "Double click"),
    ("Edit another thing on the drawing", "Click on its outline"),
    ("Zoom about the cursor; pan", "Mouse wheel; middle drag, or drag beside the vertices"),
)


class Help(QObject):
    """The help actions of the window."""

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self._window = window

    def show_keys(self) -> None:
        """Show every action with its key, searchable."""
        dialog = QDialog(self._window)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.setWindowTitle("Keys")
        dialog.resize(620, 640)
        search = QLineEdit()
        search.setPlaceholderText("Search")
        search.setClearButtonEnabled(True)
        rows = _rows()
        table = _table(rows)

        def narrow(text: str) -> None:
            for row, words in enumerate(rows):
                table.setRowHidden(row, text.lower() not in " ".join(words).lower())

        search.textChanged.connect(narrow)
        column = QVBoxLayout(dialog)
        column.addWidget(search)
        column.addWidget(table)
        dialog.open()

    def show_about(self) -> None:
        """Show name, version and the caution."""
        text = f"Blankwright {metadata.version('blankwright')}\n\nCross-section editor for forged wheels."
        box = QMessageBox(QMessageBox.Icon.Information, "About", text, parent=self._window)
        box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        box.setInformativeText(CAUTION)
        box.open()


def _rows() -> list[tuple[str, str]]:
    """Return what can be done, and its key."""
    rows = list(ON_THE_DRAWING)
    for title, actions in MENUS:
        for action in actions:
            words = action.text.replace("&", "").rstrip(".")
            key = QKeySequence(action.key).toString(QKeySequence.SequenceFormat.NativeText)
            rows.append((f"{title.replace('&', '')}: {words}", key))
    return rows


def _table(rows: list[tuple[str, str]]) -> QTableWidget:
    table = QTableWidget(len(rows), 2)
    table.setHorizontalHeaderLabels(["What", "Key"])
    table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
    table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
    table.setShowGrid(False)
    table.verticalHeader().hide()
    table.horizontalHeader().setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
    table.horizontalHeader().setSectionResizeMode(1, QHeaderView.ResizeMode.ResizeToContents)
    for row, (what, key) in enumerate(rows):
        for column, text in enumerate((what, key)):
            table.setItem(row, column, QTableWidgetItem(text))
    return table

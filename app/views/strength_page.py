"""A page of the strength window: a table of the report with its notes under it."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from app.reports.tables import Table
from app.views.plain_table import PlainTable
from app.views.readings_text import minus

_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


class TablePage(QWidget):
    """Shows a table of the report, or words on what to do where there is none."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.table = PlainTable(name)
        self.notes = QLabel()
        self.notes.setWordWrap(True)
        self.notes.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        self.notes.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 8, 0, 0)
        self.column.addWidget(self.table, 1)
        self.column.addWidget(self.notes)

    def show_table(self, table: Table | None, words: str = "") -> None:
        """Show a table; without one the words alone."""
        self.table.setVisible(table is not None)
        if table is None:
            self.notes.setText(words)
            self.column.setAlignment(self.notes, Qt.AlignmentFlag.AlignTop)
            return
        self.column.setAlignment(self.notes, Qt.AlignmentFlag(0))
        heads = [column.head for column in table.columns]
        self.table.show_rows(heads, [[minus(c) for c in row.cells] for row in table.rows])
        for k, column in enumerate(table.columns):
            for row in range(self.table.rowCount() if column.number else 0):
                item = self.table.item(row, k)
                if item is not None:
                    item.setTextAlignment(_RIGHT)
        self.notes.setText(minus("\n".join([*table.notes, *([words] if words else [])])))

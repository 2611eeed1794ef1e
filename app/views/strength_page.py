"""A page of the strength window: a table of the report with its notes under it."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QPalette, QResizeEvent
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from app.reports.tables import Table
from app.views.plain_table import PlainTable
from app.views.readings_text import minus

_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


class TablePage(QWidget):
    """Shows a table of the report, or words on what to do where there is none."""

    def __init__(self, name: str, parent: QWidget | None = None, wraps: bool = False) -> None:
        """Make an empty page.

        Args:
            name: of the table.
            parent: of the widget.
            wraps: long words run on in further lines, so that all columns are seen at once.
        """
        super().__init__(parent)
        self.table = PlainTable(name)
        self.table.setWordWrap(wraps)
        self._wraps, self._shares = wraps, [0.0]
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
        self._shares = [column.share for column in table.columns]
        self._fit()
        for k, column in enumerate(table.columns):
            for row in range(self.table.rowCount() if column.number else 0):
                item = self.table.item(row, k)
                if item is not None:
                    item.setTextAlignment(_RIGHT)
        self.notes.setText(minus("\n".join([*table.notes, *([words] if words else [])])))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the columns of a page that wraps."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        """Give every column its head, and its share of the room that is left."""
        table, head = self.table, self.table.horizontalHeader()
        seen = [k for k in range(table.columnCount()) if not table.isColumnHidden(k)]
        if not self._wraps or not seen:
            return
        least = {k: head.sectionSizeHint(k) + 4 for k in seen}
        room = max(table.viewport().width() - sum(least.values()), 0)
        whole = sum(self._shares[k] for k in seen)
        for k in seen:
            table.setColumnWidth(k, least[k] + int(room * self._shares[k] / whole))
        table.resizeRowsToContents()

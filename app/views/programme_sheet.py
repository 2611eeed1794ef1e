"""A table of the die programme on the screen; a row may be opened by mouse and keys."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from app.language import spoken
from app.studies.roadmap.sheet import Cell, Sheet
from app.views.plain_table import PlainTable
from app.views.readings_text import minus


class SheetTable(PlainTable):
    """Shows a sheet.

    Signals:
        wanted(name): a row was double-clicked, or chosen with Enter; its first cell.
    """

    wanted = Signal(str)

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(name, parent)
        self.sheet: Sheet | None = None
        self.cellDoubleClicked.connect(lambda row, _column: self._open(row))

    def show_sheet(self, sheet: Sheet | None) -> None:
        """Show another sheet, or nothing."""
        self.sheet = sheet
        if sheet is None:
            self.show_rows((), ())
            return

        def written(column: int, value: Cell) -> str:
            return minus(sheet.heads[column].shown(value))

        self.show_rows([head.words for head in sheet.heads], sheet.rows, written)
        self.setToolTip("\n".join(map(spoken, sheet.notes)))

    def chosen(self) -> str | None:
        """Return the first cell of the current row."""
        item = self.item(self.currentRow(), 0)
        return None if item is None or not item.isSelected() else item.text()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Open the current row with Enter."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._open(self.currentRow())
        else:
            super().keyPressEvent(event)

    def _open(self, row: int) -> None:
        item = self.item(row, 0)
        if item is not None:
            self.wanted.emit(item.text())

"""A table to read: sorted by any column, numbers to the right, long words in the tip, Ctrl+C copies."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from textwrap import wrap

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence, QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem, QWidget

from app.language import parted, spoken, tr
from app.project.cells import tabbed
from app.views.readings_text import minus
from app.views.theme import figures

Value = str | int | float | None
_WIDEST, _RIGHT = 330, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
#: Behind numbers, so that they do not touch the next column.
_GAP = "\u2002"
#: Columns of money and pieces have no decimals, lengths and masses these.
_DECIMALS = (("mm", 2), ("kg", 1))


class PlainTable(QTableWidget):
    """Shows rows of words and numbers."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setFont(figures(self.font()))
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setWordWrap(False)
        self.setShowGrid(False)
        self.setTabKeyNavigation(False)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(26)
        head = self.horizontalHeader()
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        head.setHighlightSections(False)

    def sizeHint(self) -> QSize:
        """Return room for all rows, up to eight."""
        rows = min(max(self.rowCount(), 1), 8)
        return QSize(480, 26 * (rows + 1) + 12)

    def show_rows(
        self,
        heads: Sequence[str],
        rows: Sequence[Sequence[Value]],
        written: Callable[[int, Value], str] | None = None,
    ) -> None:
        """Show other rows in their order.

        Args:
            heads: of the columns.
            rows: their values, by which they are sorted.
            written: a value of a column in words; by its head where None.
        """
        self.setSortingEnabled(False)
        self.clear()
        self.setColumnCount(len(heads))
        self.setRowCount(len(rows))
        numeric = [any(isinstance(r[column], int | float) for r in rows) for column in range(len(heads))]
        for column, head in enumerate(heads):
            words = spoken(head)
            item = QTableWidgetItem(f"{words}{_GAP}" if numeric[column] else words)
            item.setToolTip(words)
            if numeric[column]:
                item.setTextAlignment(_RIGHT)
            self.setHorizontalHeaderItem(column, item)
        for k, row in enumerate(rows):
            for column, value in enumerate(row):
                words = shown(value, heads[column]) if written is None else written(column, value)
                self.setItem(k, column, _Item(value, spoken(words), numeric[column]))
        for column in range(len(heads)):
            self.setColumnHidden(column, False)
        self.resizeColumnsToContents()
        for column in range(len(heads)):
            is_empty = all(row[column] in (None, "") for row in rows)
            self.setColumnHidden(column, is_empty and bool(rows))
            self.setColumnWidth(column, min(self.columnWidth(column) + 10, _WIDEST))
        head_view = self.horizontalHeader()
        seen = [column for column in range(len(heads)) if not self.isColumnHidden(column)]
        head_view.setStretchLastSection(bool(seen) and not numeric[seen[-1]])
        head_view.setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        head_view.setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
        self.setSortingEnabled(True)
        self.updateGeometry()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Say so where there are heads and no row."""
        super().paintEvent(event)
        if self.columnCount() and not self.rowCount():
            painter = QPainter(self.viewport())
            painter.setPen(self.palette().color(QPalette.ColorRole.PlaceholderText))
            painter.drawText(self.viewport().rect(), int(Qt.AlignmentFlag.AlignCenter), tr("none"))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Copy the chosen rows with their heads."""
        if event.matches(QKeySequence.StandardKey.Copy):
            chosen = sorted({index.row() for index in self.selectedIndexes()})
            columns = [c for c in range(self.columnCount()) if not self.isColumnHidden(c)]
            heads = [self.horizontalHeaderItem(c) for c in columns]
            rows = [heads, *([self.item(k, c) for c in columns] for k in chosen)]
            texts = [[item.text().rstrip(_GAP) if item is not None else "" for item in row] for row in rows]
            QGuiApplication.clipboard().setText(tabbed(texts))
        else:
            super().keyPressEvent(event)


class _Item(QTableWidgetItem):
    """A cell that is sorted by its value; words come after numbers, nothing last."""

    def __init__(self, value: Value, words: str, is_right: bool) -> None:
        super().__init__(f"{words}{_GAP}" if is_right else words)
        self.key = (2, 0.0, "")
        if isinstance(value, str) and value:
            self.key = (1, 0.0, value.casefold())
        elif isinstance(value, int | float):
            self.key = (0, float(value), "")
        if is_right:
            self.setTextAlignment(_RIGHT)
        self.setToolTip("\n".join(wrap(words, 90)))

    def __lt__(self, other: QTableWidgetItem) -> bool:
        return self.key < other.key if isinstance(other, _Item) else super().__lt__(other)


def shown(value: Value, head: str) -> str:
    """Return a value as it is read: years and counts whole, money with its thousands."""
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    if isinstance(value, int):
        return str(value)
    decimals = next((digits for unit, digits in _DECIMALS if head.endswith(f", {unit}")), 0)
    return minus(parted(f"{value + 0.0:,.{decimals}f}"))

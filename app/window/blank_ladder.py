"""The ladder of kilograms as a table: a row that is chosen shows where its metal lies."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem

from app.language import spoken, tr
from app.reports.blank_masses import Ladder
from app.studies.ladder import Rung
from app.units import LengthUnit
from app.views.readings_text import minus
from app.views.theme import figures

_TIP = tr("Choose a line, by a click or the arrow keys, to see where its metal lies; again for the whole.")


class LadderTable(QTableWidget):
    """Rungs as rows; a click or the arrow keys choose one, a second click chooses none.

    Signals:
        chosen(rung): a Rung, or None.
    """

    chosen = Signal(object)

    def __init__(self, name: str) -> None:
        super().__init__(0, 4)
        self._rungs: tuple[Rung, ...] = ()
        self.setHorizontalHeaderLabels([""] * 4)
        self.setAccessibleName(name)
        self.setAccessibleDescription(_TIP)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.setShowGrid(False)
        self.setFont(figures(self.font()))
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.horizontalHeader().setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        self.itemSelectionChanged.connect(self._tell)

    def show_ladder(self, ladder: Ladder | None, rungs: Sequence[Rung], unit: LengthUnit) -> None:
        """Show another ladder, nothing chosen; None for none."""
        self.clearSelection()
        self._rungs = tuple(rungs)
        self.setRowCount(0 if ladder is None else len(ladder.rungs))
        self.setToolTip("" if ladder is None else f"{_TIP} {spoken(ladder.says)}")
        if ladder is None:
            return
        self.setHorizontalHeaderLabels([spoken(head) for head in ladder.heads(unit)])
        for row, texts in enumerate(ladder.rows(unit)):
            for column, text in enumerate(texts):
                item = QTableWidgetItem(minus(text if column else spoken(text)))
                if column:
                    item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
                self.setItem(row, column, item)
        self.setCurrentCell(-1, -1)

    def rung(self) -> Rung | None:
        """Return the rung that is chosen."""
        rows = {item.row() for item in self.selectedItems()}
        return self._rungs[min(rows)] if rows and min(rows) < len(self._rungs) else None

    def _tell(self) -> None:
        self.chosen.emit(self.rung())

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the row under the pointer, or none where it is chosen already."""
        item = self.itemAt(event.position().toPoint())
        if item is not None and item.isSelected():
            self.clearSelection()
            self.setCurrentCell(-1, -1)
            return
        super().mousePressEvent(event)

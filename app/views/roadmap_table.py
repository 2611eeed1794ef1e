"""The roadmap as a table: typed like a sheet, sorted by a head, narrowed by words and by group of columns."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QSortFilterProxyModel, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QCompleter,
    QHeaderView,
    QLineEdit,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from app.language import spoken, tr
from app.project.project import Project
from app.project.roadmap_columns import COLUMNS
from app.views.roadmap_model import SORT, RoadmapModel, said
from app.views.theme import Theme, figures

_Index = QModelIndex | QPersistentModelIndex
#: Widths of cells by what they hold; names and words are wider.
_SAMPLES = {
    "must": tr("want"),
    "flange": "JJ",
    "axle": "front",
    "use": "track",
    "car_class": tr("club sport"),
    "tyre": "265/35R18",
    **dict.fromkeys(("name", "shape", "rules", "wheel", "compromise_shape"), tr("Track 18 front, wide")),
    **dict.fromkeys(("customer", "car", "compromise.words"), tr("coupe with the small brake")),
}


class _Filter(QSortFilterProxyModel):
    """Lets rows through that hold every word in one of their cells; an edited row stays where it is."""

    def __init__(self, model: RoadmapModel, parent: QWidget) -> None:
        super().__init__(parent)
        self._model = model
        self._words: list[str] = []
        self.setDynamicSortFilter(False)
        self.setSourceModel(model)
        self.setSortRole(SORT)

    def let_through(self, words: str) -> None:
        """Show rows that hold every word."""
        self._words = words.casefold().split()
        self.invalidate()

    def filterAcceptsRow(self, row: int, parent: _Index) -> bool:  # noqa: N802
        """Return True for a row that is shown."""
        if not self._words:
            return True
        fitment = self._model.fitments[row]
        text = "\n".join(said(column, column.text(fitment)) for column in COLUMNS).casefold()
        return all(word in text for word in self._words)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = 0) -> object:
        """Return the heads; rows keep their number in the project."""
        if orientation == Qt.Orientation.Vertical:
            row = self.mapToSource(self.index(section, 0)).row()
            return self._model.headerData(row, orientation, role) if row >= 0 else None
        return super().headerData(section, orientation, role)


class _Editor(QStyledItemDelegate):
    """A line to type in; names of parts and closed words are offered."""

    def __init__(self, model: RoadmapModel, parent: QWidget) -> None:
        super().__init__(parent)
        self._model = model

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: _Index) -> QWidget:
        """Return the line."""
        line = QLineEdit(parent)
        line.setFrame(False)
        column = COLUMNS[index.column()]
        line.setAccessibleName(spoken(column.head))
        words = map(spoken, column.words) if column.kind is None else column.kind.names(self._model.project)
        if offers := list(words):
            offered = QCompleter(offers, line)
            offered.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
            offered.setFilterMode(Qt.MatchFlag.MatchContains)
            line.setCompleter(offered)
        return line


class RoadmapTable(QTableView):
    """The table.

    Signals:
        fitment_wanted(name): a row was double-clicked.
        current_changed(): another cell is the current one.
    """

    fitment_wanted = Signal(str)
    current_changed = Signal()

    def __init__(
        self, theme: Theme, commit: Callable[[Project, str], None], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._theme = theme
        self.rows = RoadmapModel(commit, self)
        self.filter = _Filter(self.rows, self)
        self.setModel(self.filter)
        self.setItemDelegate(_Editor(self.rows, self))
        self.setAccessibleName(tr("Roadmap: one row a fitment"))
        triggers = QAbstractItemView.EditTrigger
        self.setEditTriggers(triggers.EditKeyPressed | triggers.AnyKeyPressed)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self._dress()
        self._colour()
        theme.changed.connect(self._colour)
        self.horizontalScrollBar().valueChanged.connect(self._name_rows)
        self.doubleClicked.connect(self._wanted)
        self.selectionModel().currentChanged.connect(lambda *_: self.current_changed.emit())

    def _dress(self) -> None:
        self.setFont(figures(self.font()))
        self.setShowGrid(True)
        self.setAlternatingRowColors(True)
        self.setWordWrap(False)
        self.setTabKeyNavigation(False)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        metrics = self.fontMetrics()
        rows, heads = self.verticalHeader(), self.horizontalHeader()
        rows.setDefaultSectionSize(metrics.height() + 8)
        rows.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        rows.setDefaultAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        heads.setHighlightSections(False)
        heads.setDefaultAlignment(
            Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignBottom | Qt.TextFlag.TextWordWrap
        )
        heads.setFixedHeight(3 * metrics.lineSpacing() + 10)
        heads.setSortIndicatorClearable(True)
        self.setSortingEnabled(True)
        self.sortByColumn(-1, Qt.SortOrder.AscendingOrder)
        for k, column in enumerate(COLUMNS):
            sample = _SAMPLES.get(column.key, "000.00")
            words = [*spoken(column.head).split(), sample]
            self.setColumnWidth(k, max(map(metrics.horizontalAdvance, words)) + 22)

    def _colour(self) -> None:
        self.rows.error = self._theme.colours.short
        self.setStyleSheet(f"QTableView {{ gridline-color: {self._theme.colours.grid} }}")
        self.viewport().update()

    def _name_rows(self, scrolled: int) -> None:
        """Have the rows' heads say the names once their column is out of sight."""
        self.rows.name_rows(scrolled >= self.columnWidth(0))

    def show_group(self, group: str) -> None:
        """Show the name and one group of columns; all where the group is empty."""
        for k, column in enumerate(COLUMNS):
            self.setColumnHidden(k, bool(group) and k > 0 and column.group != group)

    def row_of(self, name: str) -> int:
        """Return the shown row of a fitment, -1 where it is not shown."""
        for k, fitment in enumerate(self.rows.fitments):
            if fitment.name == name:
                return self.filter.mapFromSource(self.rows.index(k, 0)).row()
        return -1

    def go_to(self, name: str, key: str = "name") -> None:
        """Make a cell of a fitment the current one."""
        row = self.row_of(name)
        column = next(k for k, c in enumerate(COLUMNS) if c.key == key)
        if row >= 0:
            index = self.filter.index(row, 0 if self.isColumnHidden(column) else column)
            self.setCurrentIndex(index)
            self.scrollTo(index)

    def shown_columns(self) -> list[int]:
        """Return the numbers of the columns in sight, from left to right."""
        return [k for k in range(len(COLUMNS)) if not self.isColumnHidden(k)]

    def shown_names(self) -> list[str]:
        """Return the names of the shown rows, from above."""
        rows = range(self.filter.rowCount())
        return [self.rows.fitments[self.filter.mapToSource(self.filter.index(r, 0)).row()].name for r in rows]

    def selected_names(self) -> list[str]:
        """Return the names of the rows in which a cell is selected, from above."""
        rows = {index.row() for index in self.selectedIndexes()}
        return [name for k, name in enumerate(self.shown_names()) if k in rows]

    def selected_cells(self) -> dict[int, list[int]]:
        """Return the selected cells: columns by row of the model, in the order in which they are shown."""
        cells: dict[int, list[int]] = {}
        for index in sorted(self.selectedIndexes(), key=lambda i: (i.row(), i.column())):
            if not self.isColumnHidden(index.column()):
                cells.setdefault(self.filter.mapToSource(index).row(), []).append(index.column())
        return cells

    def write(self, text: str) -> None:
        """Put one text into every selected cell, as one step."""
        cells = self.selected_cells()
        if cells:
            self.rows.put({row: {COLUMNS[k].key: text for k in columns} for row, columns in cells.items()})

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter edits, Delete empties the selected cells, Escape drops a wrong text."""
        index = self.currentIndex()
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and index.isValid():
            self.edit(index, QAbstractItemView.EditTrigger.EditKeyPressed, event)
        elif event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self.write("")
        elif event.key() == Qt.Key.Key_Escape and self._is_wrong(index):
            source = self.filter.mapToSource(index)
            self.rows.forget(source.row(), source.column())
            self.current_changed.emit()
        else:
            super().keyPressEvent(event)

    def _is_wrong(self, index: Any) -> bool:
        source = self.filter.mapToSource(index)
        if not source.isValid():
            return False
        name = self.rows.fitments[source.row()].name
        return (name, COLUMNS[source.column()].key) in self.rows.wrong

    def _wanted(self, index: QModelIndex) -> None:
        self.fitment_wanted.emit(self.rows.fitments[self.filter.mapToSource(index).row()].name)

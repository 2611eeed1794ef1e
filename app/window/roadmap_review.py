"""What a pasted or imported table holds: every problem by row; nothing is taken before the user says so."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QColor, QGuiApplication
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from app.language import ntr, spoken, tr
from app.project.cells import tabbed
from app.project.project import Project
from app.project.roadmap_rows import ReadTable, emptied_words, open_words
from app.views.roadmap_model import WRONG
from app.views.theme import Theme

_Index = QModelIndex | QPersistentModelIndex
_HEADS = (tr("Row"), tr("Column"), tr("What is wrong, and how to mend it"))
_NAMES = 3


class Problems(QAbstractTableModel):
    """Problems by row, then what sound rows leave open."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme
        self.lines: list[tuple[str, str, str]] = []
        self._wrong = 0

    def show(self, table: ReadTable) -> None:
        """Show those of another table."""
        self.beginResetModel()
        found = [(str(p.row), p.column, spoken(p.words)) for p in table.all_problems]
        left = [("", f"{head}", tr("no part of the table: left out")) for head in table.left_out]
        loose = [
            (str(row.number), row.name, spoken(words))
            for row in table.sound
            for words in (emptied_words(row.emptied), open_words(row.open))
            if words
        ]
        self.lines, self._wrong = [*found, *left, *loose], len(found)
        self.endResetModel()

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        """Return the number of lines."""
        return 0 if parent.isValid() else len(self.lines)

    def columnCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        """Return the number of columns."""
        return 0 if parent.isValid() else len(_HEADS)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = 0) -> object:
        """Return the heads."""
        across = orientation == Qt.Orientation.Horizontal
        return _HEADS[section] if across and role == Qt.ItemDataRole.DisplayRole else None

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return a line's words; problems stand in the colour of what is wrong, with a sign."""
        line, is_wrong = self.lines[index.row()], index.row() < self._wrong
        if role == Qt.ItemDataRole.DisplayRole:
            words = line[index.column()]
            return f"{WRONG} {words}" if is_wrong and index.column() == 0 else words
        if role == Qt.ItemDataRole.ToolTipRole:
            return line[index.column()]
        if role == Qt.ItemDataRole.ForegroundRole and is_wrong:
            return QColor(self._theme.colours.short)
        return None

    def as_text(self) -> str:
        """Return the lines with tabs, for whoever has to mend the table."""
        return tabbed([_HEADS, *self.lines])


class Review(QWidget):
    """A table that waits to be taken.

    Signals:
        wanted(ReadTable): take its sound rows.
        refused(): take none.
    """

    wanted = Signal(object)
    refused = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title, self.sums = QLabel(), QLabel()
        self.problems = Problems(theme, self)
        self.list = QTableView()
        self.take, self.none, self.copy = (
            QPushButton(),
            QPushButton(tr("Take &none")),
            QPushButton(tr("Copy the &list")),
        )
        self._read: Callable[[Project], ReadTable] | None = None
        self.table: ReadTable | None = None
        self._lay_out()
        self.take.clicked.connect(self._taken)
        self.none.clicked.connect(self._dropped)
        self.copy.clicked.connect(lambda: QGuiApplication.clipboard().setText(self.problems.as_text()))
        self.hide()

    def _lay_out(self) -> None:
        font = self.title.font()
        font.setBold(True)
        self.title.setFont(font)
        for label in (self.title, self.sums):
            label.setWordWrap(True)
        self.list.setModel(self.problems)
        self.list.setAccessibleName(tr("Problems of the table by row"))
        self.list.verticalHeader().hide()
        self.list.verticalHeader().setDefaultSectionSize(self.list.fontMetrics().height() + 8)
        self.list.setShowGrid(False)
        self.list.setWordWrap(False)
        self.list.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.list.horizontalHeader().setStretchLastSection(True)
        self.list.horizontalHeader().setHighlightSections(False)
        self.list.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft)
        self.list.setColumnWidth(0, 64)
        self.list.setColumnWidth(1, 170)
        buttons = QHBoxLayout()
        for button in (self.take, self.none):
            buttons.addWidget(button)
        buttons.addStretch(1)
        buttons.addWidget(self.copy)
        for button in (self.take, self.none, self.copy):
            button.setAutoDefault(False)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 6, 0, 0)
        column.addWidget(self.title)
        column.addWidget(self.sums)
        column.addWidget(self.list, 1)
        column.addLayout(buttons)

    def ask(self, title: str, read: Callable[[Project], ReadTable], project: Project) -> None:
        """Show a table and wait; `read` reads it again where the project changes meanwhile."""
        self.title.setText(title)
        self._read = read
        self.read_again(project)
        self.show()
        (self.take if self.take.isEnabled() else self.none).setFocus()

    @property
    def is_waiting(self) -> bool:
        """True while a table waits."""
        return self._read is not None

    def read_again(self, project: Project) -> None:
        """Read the waiting table against the project as it now is."""
        if self._read is None:
            return
        self.table = table = self._read(project)
        self.problems.show(table)
        sound, rows, wrong = table.sound, len(table.rows), len(table.all_problems)
        new = [row.name for row in sound if row.replaces is None]
        there = [row.replaces for row in sound if row.replaces is not None]
        kinds = [tr("{new} new", new=len(new))] if new else []
        if there:
            more = tr(" and {there} more", there=len(there) - _NAMES) if len(there) > _NAMES else ""
            kinds.append(
                tr(
                    "{there} in the place of {map}{more}",
                    there=len(there),
                    map=", ".join(map(str, there[:_NAMES])),
                    more=more,
                )
            )
        count = (
            tr("Of {rows} rows {sound} are sound", rows=rows, sound=len(sound))
            if rows != 1
            else tr("One row, {sound}sound", sound="" if sound else tr("not "))
        )
        more = f" ({', '.join(kinds)})" if kinds else ""
        problems = ntr("; {count} problem", "; {count} problems", wrong) if wrong else ""
        self.sums.setText("; ".join([f"{count}{more}{problems}", *table.said]) + ".")
        words = tr("Take the row") if len(sound) == 1 == rows else tr("Take all {rows} rows", rows=rows)
        if len(sound) < rows or not sound:
            words = (
                tr("Take the {sound} sound rows, leave the others", sound=len(sound))
                if sound
                else tr("No sound row to take")
            )
        self.take.setText(words)
        self.take.setEnabled(bool(sound))

    def _taken(self) -> None:
        table, self._read = self.table, None
        self.hide()
        self.wanted.emit(table)

    def _dropped(self) -> None:
        self._read = None
        self.hide()
        self.refused.emit()

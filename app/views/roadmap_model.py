"""The fitments of the roadmap as a model of typed cells; a text that cannot be taken stays in its cell."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QWidget

from app.language import spoken, tr
from app.project import edits
from app.project.project import Fitment, Project
from app.project.roadmap_columns import BY_KEY, COLUMNS, Column
from app.project.roadmap_rows import Reader
from app.views.readings_text import minus

_Index = QModelIndex | QPersistentModelIndex
#: What a column is sorted by: what is not known comes last.
SORT = Qt.ItemDataRole.UserRole
#: Stands before what is wrong, so that colour is not needed to see it.
WRONG = "▸"
#: Characters of a name in the head of its row.
_LONGEST_NAME = 20


@dataclass(frozen=True)
class Wrong:
    """A text that was typed, and why it cannot be taken."""

    text: str
    message: str


class RoadmapModel(QAbstractTableModel):
    """One row a fitment, in the project's order.

    Cells of one row that fit only together are taken together: what was refused is tried again with the next
    cell typed in its row.

    Attributes:
        wrong: texts that could not be taken, by name of the fitment and key of the column.
        error, quiet: colours of wrong texts and of parts that the project lacks.
    """

    def __init__(self, commit: Callable[[Project, str], None], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._commit = commit
        self.project = Project("")
        self.wrong: dict[tuple[str, str], Wrong] = {}
        self.error = ""
        self._names_rows = False

    @cached_property
    def reader(self) -> Reader:
        """Reads cells against the project as it is shown."""
        return Reader(self.project)

    @property
    def fitments(self) -> tuple[Fitment, ...]:
        """The rows."""
        return self.project.fitments

    def show(self, project: Project) -> None:
        """Show another state of the project; rows are made anew only where names came, went or moved."""
        before, self.project = self.project, project
        self.__dict__.pop("reader", None)
        old, new = before.fitments, project.fitments
        if [f.name for f in old] == [f.name for f in new]:
            changed = [k for k, (a, b) in enumerate(zip(old, new, strict=True)) if a is not b]
            for k in changed:
                self._tell(k)
            return
        self.beginResetModel()
        names = {f.name for f in new}
        self.wrong = {place: wrong for place, wrong in self.wrong.items() if place[0] in names}
        self.endResetModel()

    def _tell(self, row: int) -> None:
        self.dataChanged.emit(self.index(row, 0), self.index(row, len(COLUMNS) - 1))
        self.headerDataChanged.emit(Qt.Orientation.Vertical, row, row)

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        """Return the number of fitments."""
        return 0 if parent.isValid() else len(self.fitments)

    def columnCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        """Return the number of columns."""
        return 0 if parent.isValid() else len(COLUMNS)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = 0) -> object:
        """Return heads with their unit and meaning; rows by number, marked where something is wrong."""
        if orientation == Qt.Orientation.Horizontal:
            column = COLUMNS[section]
            if role == Qt.ItemDataRole.DisplayRole:
                return spoken(column.head)
            return spoken(column.tip) if role == Qt.ItemDataRole.ToolTipRole else None
        if section >= len(self.fitments):
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            mark = f" {WRONG}" if self.what_is_wrong(section) else ""
            name = self.fitments[section].name[:_LONGEST_NAME]
            return f"{name if self._names_rows else section + 1}{mark}"
        if role == Qt.ItemDataRole.ToolTipRole:
            return self.row_words(section)
        return None

    def name_rows(self, on: bool) -> None:
        """Have the heads of the rows say the names, or the numbers."""
        if on != self._names_rows:
            self._names_rows = on
            self.headerDataChanged.emit(Qt.Orientation.Vertical, 0, max(len(self.fitments) - 1, 0))

    def flags(self, index: _Index) -> Qt.ItemFlag:
        """Return that every cell can be typed into."""
        return Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsEditable

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return a cell's text, or the wrong text that was typed into it, its colour and what is wrong."""
        fitment, column = self.fitments[index.row()], COLUMNS[index.column()]
        wrong = self.wrong.get((fitment.name, column.key))
        if role == Qt.ItemDataRole.DisplayRole:
            return f"{WRONG} {wrong.text}" if wrong else self._shown(fitment, column)
        if role == Qt.ItemDataRole.EditRole:
            return wrong.text if wrong else said(column, column.text(fitment))
        if role == Qt.ItemDataRole.ToolTipRole:
            return wrong.message if wrong else spoken(column.tip)
        if role == Qt.ItemDataRole.ForegroundRole:
            return QColor(self.error) if wrong or self._contradicts(fitment, column) else None
        if role == Qt.ItemDataRole.TextAlignmentRole and column.is_number:
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        if role == SORT:
            return _sorted_by(fitment, column)
        return None

    def _shown(self, fitment: Fitment, column: Column) -> str:
        text = said(column, column.text(fitment))
        return minus(text) if column.is_number else " ".join(text.split())

    def _contradicts(self, fitment: Fitment, column: Column) -> bool:
        return any(column.key in said.keys for said in self.reader.contradictions(fitment))

    def what_is_wrong(self, row: int) -> list[str]:
        """Return what is wrong in a row: texts that were not taken, and contradictions."""
        fitment = self.fitments[row]
        typed = [wrong.message for (name, _), wrong in self.wrong.items() if name == fitment.name]
        found = self.reader.contradictions(fitment)
        return typed + [f"{fitment.name}, {spoken(BY_KEY[s.keys[0]].head)}: {spoken(s.words)}" for s in found]

    def row_words(self, row: int) -> str:
        """Return what is wrong in a row, else what it leaves open."""
        wrong = self.what_is_wrong(row)
        if wrong:
            return "\n".join(wrong)
        left = self.reader.open_points(self.fitments[row])
        return (
            tr("{name}: not stated: {left}", name=self.fitments[row].name, left=", ".join(left))
            if left
            else ""
        )

    # Typing

    def setData(self, index: _Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Take a typed text: one undo step, or it stays in its cell with what is wrong about it."""
        if role != Qt.ItemDataRole.EditRole:
            return False
        key = COLUMNS[index.column()].key
        return self.put({index.row(): {key: str(value).strip()}})

    def put(self, cells: Mapping[int, Mapping[str, str]]) -> bool:
        """Take texts by row and key as one undo step; return False where one of them could not be taken."""
        changed: dict[str, Fitment] = {}
        for row, texts in cells.items():
            base = made = self.fitments[row]
            for key, text in texts.items():
                made = self._typed(base.name, made, key, meant(BY_KEY[key], text))
            if made != base:
                changed[base.name] = made
        places = [(self.fitments[row].name, key) for row, texts in cells.items() for key in texts]
        sound = not any(place in self.wrong for place in places)
        if changed:
            project = self.project
            for name, made in changed.items():
                project = edits.replaced(project, edits.FITMENT, name, made)
                for place in [p for p in self.wrong if p[0] == name != made.name]:
                    self.wrong[made.name, place[1]] = self.wrong.pop(place)
            self._commit(project, self._step(cells))
        for row in cells:
            if row < len(self.fitments):
                self._tell(row)
        return sound

    def _typed(self, name: str, base: Fitment, key: str, text: str) -> Fitment:
        """Return the fitment with a typed cell, and with those refused before where they now fit."""
        waiting = {k: wrong.text for (n, k), wrong in self.wrong.items() if n == name and k != key}
        tries = [{**waiting, key: text}, {key: text}] if waiting else [{key: text}]
        for texts in tries:
            made, found = self.reader.edited(base, texts)
            if not found:
                for k in texts:
                    self.wrong.pop((name, k), None)
                return made
        said = next((s for s in found if key in s.keys), found[0])
        head = BY_KEY[key if key in said.keys else said.keys[0]].head
        self.wrong[name, key] = Wrong(text, f"{name}, {spoken(head)}: {spoken(said.words)}")
        return base

    def _step(self, cells: Mapping[int, Mapping[str, str]]) -> str:
        places = [(row, key) for row, texts in cells.items() for key in texts]
        if len(places) > 1:
            return tr("{places} cells of the roadmap", places=len(places))
        row, key = places[0]
        return tr("{name} of {name_2}", name=BY_KEY[key].name, name_2=self.fitments[row].name)

    def forget(self, row: int, column: int) -> None:
        """Drop a wrong text and show what the cell holds."""
        if self.wrong.pop((self.fitments[row].name, COLUMNS[column].key), None) is not None:
            self._tell(row)


def said(column: Column, text: str) -> str:
    """Return a closed word in the language of the window; files hold the English one."""
    return spoken(text) if text in column.words else text


def meant(column: Column, text: str) -> str:
    """Return the closed word that a typed one of the window's language stands for, else the text."""
    return next((word for word in column.words if spoken(word).casefold() == text.casefold()), text)


def _sorted_by(fitment: Fitment, column: Column) -> object:
    cell = column.cell(fitment)
    if column.is_number:
        return float("inf") if cell is None else float(cell)
    return "\U0010ffff" if cell is None else str(cell).casefold()

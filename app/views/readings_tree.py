"""The tree of readings: lines as an item model."""

from __future__ import annotations

from collections.abc import Callable
from itertools import compress
from operator import attrgetter, is_, is_not, ne
from typing import Any

from PySide6.QtCore import QAbstractItemModel, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtWidgets import QWidget

from app.language import spoken, tr
from app.reports.sentences import SIGNS
from app.units import LengthUnit
from app.views.readings_line import Line
from app.views.readings_text import detail, minus

# The value stands beside its state, so that a name without a rule may run over both empty cells.
LABEL, RULE, SPARE, VALUE, STATE = range(5)
_Index = QModelIndex | QPersistentModelIndex
#: What is seen of a line.
shows: Callable[[Line], tuple[Any, ...]] = attrgetter(
    "label", "note", "rule", "spare", "value", "state", "aside", "known"
)
#: The cell that each of these stands in; what is not known is grey in all of them.
_CELLS = (LABEL, LABEL, RULE, SPARE, VALUE, STATE, STATE, LABEL)
_ALL = tuple(range(STATE + 1))


class ReadingsModel(QAbstractItemModel):
    """Lines as a tree; while only numbers change, nothing is rebuilt.

    Attributes:
        changed: columns of the cells that show something else since `dataChanged` told so last, by line.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.groups: tuple[Line, ...] = ()
        self.changed: dict[int, tuple[int, ...]] = {}
        self._lines: list[Line] = []
        self._parents: list[int] = []
        self._children: list[list[int]] = []
        self._tops: list[int] = []
        self._rows: list[int] = []  # place of each line among its siblings
        self.unit: LengthUnit = "mm"

    def set_lines(self, groups: tuple[Line, ...], unit: LengthUnit) -> None:
        """Show other lines."""
        if unit != self.unit:
            self.unit = unit
            self.headerDataChanged.emit(Qt.Orientation.Horizontal, VALUE, VALUE)
        before, self.groups = self.groups, groups
        self.changed = {}
        if before and (self._exchange(before, groups) or self._renew(self._tops, before, groups)):
            if self.changed:
                self.dataChanged.emit(self.at(0), self.at(self._tops[-1], STATE))
            return
        self.beginResetModel()
        self.changed = {}
        flat = _flat(groups)
        self._lines = [line for line, _ in flat]
        self._parents = [up for _, up in flat]
        self._children = [[] for _ in flat]
        self._tops = []
        self._rows = []
        for k, up in enumerate(self._parents):
            siblings = self._tops if up < 0 else self._children[up]
            self._rows.append(len(siblings))
            siblings.append(k)
        self.endResetModel()

    def _exchange(self, before: tuple[Line, ...], now: tuple[Line, ...]) -> bool:
        """Put other lines in the place of all, as when a fault comes or goes; True where that was done.

        To compare each with the one before would take longer than to paint all.
        """
        if any(map(is_, before, now)):
            return False
        flat = _flat(now)
        if [(line.key, up) for line, up in flat] != [
            (line.key, up) for line, up in zip(self._lines, self._parents, strict=True)
        ]:
            return False
        self._lines = [line for line, _ in flat]
        self.changed = dict.fromkeys(range(len(flat)), _ALL)
        return True

    def _renew(self, places: list[int], before: tuple[Line, ...], now: tuple[Line, ...]) -> bool:
        """Put lines, and those below them, in the places of lines alike; the same object is passed by.

        False where other lines stand in place of those before: then all have to be taken anew.
        """
        if len(before) != len(now):
            return False
        for k, old, new in compress(zip(places, before, now, strict=True), map(is_not, before, now)):
            if old.key != new.key:
                return False
            self._lines[k] = new
            showed, shown = shows(old), shows(new)
            if showed != shown:
                self.changed[k] = _changed_columns(showed, shown)
            if old.children is not new.children and not self._renew(
                self._children[k], old.children, new.children
            ):
                return False
        return True

    def at(self, k: int, column: int = 0) -> QModelIndex:
        """Return the index of a cell of the line that is the k-th when all are opened."""
        return self.createIndex(self._rows[k], column, k)

    def detail(self, line: Line) -> str:
        """Return everything there is to say about a line."""
        return minus(spoken(line.detail)) if line.row is None else detail(line.row, self.unit)

    def line(self, index: _Index) -> Line | None:
        """Return the line of an index."""
        return self._lines[index.internalId()] if index.isValid() else None

    def find(self, key: str) -> QModelIndex:
        """Return the index of the line with a key, or an invalid one."""
        k = next((k for k, line in enumerate(self._lines) if line.key == key), None)
        return QModelIndex() if k is None else self.at(k)

    def rules(self) -> frozenset[str]:
        """Return what is needed, as text, of all lines."""
        return frozenset(map(attrgetter("rule"), self._lines))

    def depth(self, index: _Index) -> int:
        """Return how many lines lie above a line."""
        up, found = self._parents[index.internalId()], 0
        while up >= 0:
            up, found = self._parents[up], found + 1
        return found

    def every(self) -> list[QModelIndex]:
        """Return the indexes of all lines."""
        return [self.at(k) for k in range(len(self._lines))]

    def index(self, row: int, column: int, parent: _Index = QModelIndex()) -> QModelIndex:  # noqa: B008
        """Return the index of a child."""
        rows = self._children[parent.internalId()] if parent.isValid() else self._tops
        if not (0 <= row < len(rows) and 0 <= column <= STATE):
            return QModelIndex()
        return self.createIndex(row, column, rows[row])

    def parent(self, index: _Index = QModelIndex()) -> QModelIndex:  # type: ignore[override]  # noqa: B008
        """Return the index above."""
        if not index.isValid():
            return QModelIndex()
        up = self._parents[index.internalId()]
        return QModelIndex() if up < 0 else self.at(up)

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        """Return how many lines lie below."""
        if not parent.isValid():
            return len(self._tops)
        return len(self._children[parent.internalId()]) if parent.column() == 0 else 0

    def columnCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        """Return label, rule, spare, value, state."""
        return STATE + 1

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return text, or everything about the line."""
        line = self.line(index)
        if line is None:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            state = f"{SIGNS[line.state]} {spoken(line.state)}" if line.state else ""
            return (minus(spoken(line.label)), line.rule, minus(line.spare), minus(line.value), state)[
                index.column()
            ]
        if role in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleDescriptionRole):
            said = self.detail(line)
            label = spoken(line.label)
            return said if said.startswith(label) else f"{label}. {said}".rstrip(". ") + "."
        return None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = 0) -> object:
        """Return the heads of the columns; the unit stands over the values."""
        if role == Qt.ItemDataRole.DisplayRole and orientation == Qt.Orientation.Horizontal:
            return ("", tr("needs"), tr("spare"), self.unit, tr("state"))[section]
        if role == Qt.ItemDataRole.TextAlignmentRole and section in (VALUE, RULE, SPARE):
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        return None


def _changed_columns(before: tuple[Any, ...], now: tuple[Any, ...]) -> tuple[int, ...]:
    """Return the columns in which a line shows something else."""
    changed = tuple(compress(_CELLS, map(ne, before, now)))
    # The label of a line without rule and spare runs over the empty cells beside it.
    _, _, rule, spare, *_ = now
    if (LABEL in changed and not (rule or spare)) or list(map(bool, before)) != list(map(bool, now)):
        return _ALL
    return changed


def is_ruled(line: Line) -> bool:
    """True for a line with a rule or something to spare; the label of another may run over their cells."""
    return bool(line.rule or line.spare)


def _flat(
    groups: tuple[Line, ...], up: int = -1, into: list[tuple[Line, int]] | None = None
) -> list[tuple[Line, int]]:
    rows: list[tuple[Line, int]] = [] if into is None else into
    for line in groups:
        rows.append((line, up))
        if line.children:
            _flat(line.children, len(rows) - 1, rows)
    return rows

"""The tree of readings: lines as an item model, and how one line is painted."""

from __future__ import annotations

from PySide6.QtCore import QAbstractItemModel, QModelIndex, QPersistentModelIndex, QPoint, QRect, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPainter, QPen
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem, QTreeView, QWidget

from app.language import spoken, tr
from app.reports.sentences import SIGNS
from app.units import LengthUnit
from app.views.readings_model import Line
from app.views.readings_text import detail, minus
from app.views.theme import LINES, Theme, figures
from geometry.readings.rules import State

# The value stands beside its state, so that a name without a rule may run over both empty cells.
LABEL, RULE, SPARE, VALUE, STATE = range(5)
_NUMBERS = 1.3  # of the panel's font: numbers are the largest thing in the readings
_Index = QModelIndex | QPersistentModelIndex


class ReadingsModel(QAbstractItemModel):
    """Lines as a tree; while only numbers change, nothing is rebuilt."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.groups: tuple[Line, ...] = ()
        self._lines: list[Line] = []
        self._parents: list[int] = []
        self._children: list[list[int]] = []
        self._tops: list[int] = []
        self._keys: list[tuple[str, int]] = []
        self._rows: list[int] = []  # place of each line among its siblings
        self.unit: LengthUnit = "mm"

    def set_lines(self, groups: tuple[Line, ...], unit: LengthUnit) -> None:
        """Show other lines."""
        if unit != self.unit:
            self.unit = unit
            self.headerDataChanged.emit(Qt.Orientation.Horizontal, VALUE, VALUE)
        flat = _flat(groups)
        keys = [(line.key, up) for line, up in flat]
        same = keys == self._keys
        self.groups = groups
        if same and flat:
            self._renew([line for line, _ in flat])
            return
        self.beginResetModel()
        self._keys = keys
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

    def _renew(self, now: list[Line]) -> None:
        """Take other numbers; only cells that show something else are painted again."""
        before, self._lines = self._lines, now
        for k, (old, new) in enumerate(zip(before, now, strict=True)):
            if old is not new and old != new:
                for column in _changed_cells(old, new):
                    cell = self._at(k, column)
                    self.dataChanged.emit(cell, cell)

    def _at(self, k: int, column: int = 0) -> QModelIndex:
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
        return QModelIndex() if k is None else self._at(k)

    def rules(self) -> frozenset[str]:
        """Return what is needed, as text, of all lines."""
        return frozenset(line.rule for line in self._lines)

    def every(self) -> list[QModelIndex]:
        """Return the indexes of all lines."""
        return [self._at(k) for k in range(len(self._lines))]

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
        return QModelIndex() if up < 0 else self._at(up)

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


def _changed_cells(old: Line, new: Line) -> list[int]:
    """Return the columns in which a line shows something else."""
    label_changed = _label_of(old) != _label_of(new)
    over_others = not (_is_ruled(old) and _is_ruled(new))  # a label runs over the empty cells beside it
    if old.known != new.known or (label_changed and over_others):
        return list(range(STATE + 1))
    cells = [
        (LABEL, label_changed),
        (RULE, old.rule != new.rule),
        (SPARE, old.spare != new.spare),
        (VALUE, old.value != new.value),
        (STATE, (old.state, old.aside) != (new.state, new.aside)),
    ]
    return [column for column, changed in cells if changed]


def _label_of(line: Line) -> tuple[object, ...]:
    """Return what decides the text of a label and how far it runs."""
    return line.label, line.note, _is_ruled(line), bool(line.value), line.state is None


def _is_ruled(line: Line) -> bool:
    return bool(line.rule or line.spare)


def _flat(
    groups: tuple[Line, ...], up: int = -1, into: list[tuple[Line, int]] | None = None
) -> list[tuple[Line, int]]:
    rows: list[tuple[Line, int]] = [] if into is None else into
    for line in groups:
        rows.append((line, up))
        _flat(line.children, len(rows) - 1, rows)
    return rows


class LinePainter(QStyledItemDelegate):
    """Paints one cell: large figures, small notes, the state with its sign, word, line style and colour."""

    def __init__(self, theme: Theme, view: QTreeView, model: ReadingsModel) -> None:
        super().__init__(view)
        self._theme = theme
        self._view = view
        self._model = model
        self.plain: QFont = figures(view.font())
        self.large: QFont = figures(view.font(), _NUMBERS)
        self.group: QFont = figures(view.font(), bold=True)
        self.small: QFont = figures(view.font(), 0.88)
        self._plain_metrics, self._group_metrics = QFontMetrics(self.plain), QFontMetrics(self.group)
        self._small_metrics = QFontMetrics(self.small)
        self._height = QFontMetrics(self.large).height() + 6

    def sizeHint(self, option: QStyleOptionViewItem, index: _Index) -> QSize:
        """Every line is equally high."""
        return QSize(40, self._height)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        """Paint one cell."""
        line = self._model.line(index)
        if line is None:
            return
        painter.save()
        rect: QRect = option.rect
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(rect, self._view.palette().highlight())
        ink = self._theme.colour("ink" if line.known else "not_known")
        column = index.column()
        if column == LABEL:
            self._label(painter, rect, line, ink)
        elif column == STATE:
            self._state(painter, rect, line)
        else:
            text = line.rule if column == RULE else minus(line.spare if column == SPARE else line.value)
            painter.setFont(self.large if column == VALUE else self.plain)
            painter.setPen(ink if column != RULE else self._theme.colour("quiet"))
            painter.drawText(rect.adjusted(0, 0, -6, 0), _RIGHT, text)
        if line.children and not index.parent().isValid():
            painter.setPen(self._theme.colour("hairline"))
            painter.drawLine(rect.bottomLeft(), rect.bottomRight())
        painter.restore()

    def _to_the_end(self, rect: QRect, less: int = 0) -> QRect:
        return QRect(
            rect.left(), rect.top(), self._view.viewport().width() - rect.left() - 4 - less, rect.height()
        )

    def _label(self, painter: QPainter, rect: QRect, line: Line, ink: QColor) -> None:
        # A line without numbers may run over the empty cells to its right.
        if not _is_ruled(line):
            kept = self._view.columnWidth(STATE) if line.state or line.value else 0
            rect = self._to_the_end(rect, kept + (self._view.columnWidth(VALUE) if line.value else 0))
        metrics = self._group_metrics if line.children else self._plain_metrics
        painter.setFont(self.group if line.children else self.plain)
        painter.setPen(ink)
        shown = metrics.elidedText(minus(spoken(line.label)), Qt.TextElideMode.ElideRight, rect.width() - 4)
        painter.drawText(rect, _LEFT, shown)
        left = rect.left() + metrics.horizontalAdvance(shown) + 6
        room = rect.right() - left - 4
        small = self._small_metrics
        note = spoken(line.note)
        if note and (room > 60 or small.horizontalAdvance(note) <= room):
            painter.setFont(self.small)
            painter.setPen(self._theme.colour("quiet"))
            note = small.elidedText(note, Qt.TextElideMode.ElideRight, room)
            painter.drawText(QRect(left, rect.top(), room, rect.height()), _LEFT, note)

    def _state(self, painter: QPainter, rect: QRect, line: Line) -> None:
        if line.state is None:
            painter.setFont(self.small)
            painter.setPen(self._theme.colour("quiet"))
            painter.drawText(rect, _LEFT, spoken(line.aside))
            return
        colour = self._theme.state_colour(line.state)
        painter.setFont(self.group if line.state in (State.TOUCHING, State.SHORT) else self.plain)
        painter.setPen(colour)
        inner = rect.adjusted(6, 0, -6, 0)
        painter.drawText(QRect(inner.left(), inner.top(), 16, inner.height()), _LEFT, SIGNS[line.state])
        painter.drawText(inner.adjusted(18, 0, 0, 0), _LEFT, spoken(line.state))
        painter.setPen(QPen(colour, 1.5, LINES[line.state]))
        foot = rect.bottom() - 3
        width = painter.fontMetrics().horizontalAdvance(spoken(line.state)) + 18
        painter.drawLine(QPoint(inner.left(), foot), QPoint(inner.left() + width, foot))


_LEFT = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
_RIGHT = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)

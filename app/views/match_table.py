"""Every wheel against every brake as a table: sort by any column, filter by words and by state."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QPersistentModelIndex,
    QPointF,
    QRectF,
    QSortFilterProxyModel,
    Qt,
    Signal,
)
from PySide6.QtGui import QKeyEvent, QPainter, QPen
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from app.language import spoken, tr
from app.project.project import Project
from app.reports.numbers import Numbers, unit_of
from app.reports.sentences import SIGNS
from app.studies.match import Match, Pair
from app.views.readings_text import minus
from app.views.theme import Theme, figures
from geometry.readings.rules import STATES, State

_Index = QModelIndex | QPersistentModelIndex
HEADS = (
    tr("Wheel"),
    tr("Brake"),
    tr("State"),
    tr("Spare"),
    tr("Holds at inset"),
    tr("Decided by"),
    tr("Condition"),
    tr("Open question"),
)
WHEEL, BRAKE, STATE, SPARE, INSETS, ZONE, CONDITION, QUESTION = range(len(HEADS))
#: Holds what a column is sorted by, and what a bar is drawn of.
SORT, BAR = Qt.ItemDataRole.UserRole, Qt.ItemDataRole.UserRole + 1
#: Of the conditions, pixels.
_WIDEST = 480


@dataclass(frozen=True)
class Bar:
    """A window of inset over the range of all windows of the table, and where the wheel stands; mm."""

    low: float
    high: float
    now: float
    range_low: float
    range_high: float


class MatchModel(QAbstractTableModel):
    """The pairs of a match, one row each."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.pairs: tuple[Pair, ...] = ()
        self._numbers = Numbers("mm")
        self._grades: dict[str, str] = {}
        self._insets: dict[str, float] = {}
        self._range: tuple[float, float] | None = None
        self.has_insets = False

    def show(self, result: Match, project: Project) -> None:
        """Show other pairs; digits by the grade of each brake in the project."""
        self.beginResetModel()
        self.pairs = result.pairs
        self._numbers = Numbers(unit_of(project))
        self._grades = {shape.name: str(shape.card.grade) for shape in project.shapes}
        self._insets = {wheel.name: wheel.inset_mm for wheel in project.wheels}
        self._range = None
        self._widen(result.pairs)
        self.has_insets = result.has_insets
        self.endResetModel()

    def add(self, pairs: tuple[Pair, ...]) -> None:
        """Show more pairs of the project that is shown, after the others."""
        if not pairs:
            return
        count, before = len(self.pairs), self._range
        self.beginInsertRows(QModelIndex(), count, count + len(pairs) - 1)
        self.pairs += pairs
        self._widen(pairs)
        self.endInsertRows()
        if count and self._range != before:
            self.dataChanged.emit(self.index(0, INSETS), self.index(count - 1, INSETS), [BAR])

    def _widen(self, pairs: tuple[Pair, ...]) -> None:
        """Let the range of all windows hold those of more pairs, and where their wheels stand."""
        read = [p for p in pairs if p.insets is not None]
        ends = [x for p in read if p.insets is not None for x in (p.insets.low, p.insets.high)]
        ends += [self._insets[p.wheel] for p in read]
        ends += self._range or ()
        self._range = (min(ends), max(ends)) if ends else None

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        """Return how many pairs there are."""
        return 0 if parent.isValid() else len(self.pairs)

    def columnCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        """Return how many columns there are."""
        return 0 if parent.isValid() else len(HEADS)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Return the heads."""
        if orientation is Qt.Orientation.Horizontal and role == Qt.ItemDataRole.DisplayRole:
            unit = f", {self._numbers.unit}" if section in (SPARE, INSETS) else ""
            return HEADS[section] + unit
        return None

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return a cell's words, its colour, what it is sorted by, and all there is to say as its tip."""
        pair, column = self.pairs[index.row()], index.column()
        if role == Qt.ItemDataRole.DisplayRole:
            return self.words(pair, column)
        if role == SORT:
            return self._sorted_by(pair, column)
        if role == BAR:
            return self._bar(pair) if column == INSETS else None
        if role == Qt.ItemDataRole.ToolTipRole and column == INSETS:
            return self._inset_tip(pair)
        if role == Qt.ItemDataRole.ForegroundRole and column == STATE:
            return self._theme.state_colour(pair.state)
        if role == Qt.ItemDataRole.TextAlignmentRole and column == SPARE:
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        if role == Qt.ItemDataRole.ToolTipRole:
            return "\n".join(map(spoken, pair.questions)) or self.words(pair, column)
        return None

    def words(self, pair: Pair, column: int) -> str:
        """Return what stands in a cell."""
        if column == WHEEL:
            return pair.wheel
        if column == BRAKE:
            return pair.shape
        if column == STATE:
            return f"{SIGNS[pair.state]} {spoken(pair.state)}"
        if column == SPARE:
            return minus(self._numbers.length(pair.spare_mm, self._grades.get(pair.shape, "drawing")))
        if column == INSETS:
            return self._inset_words(pair)
        if column == ZONE:
            zone = spoken(pair.zone)
            return f"{pair.body} ({zone})" if pair.body else zone
        if column == CONDITION:
            bound = (
                tr("; the worst state cannot decide, the spare is a bound")
                if pair.is_paper_only and pair.zone
                else ""
            )
            return spoken(pair.condition) + bound
        more = f" (+{len(pair.questions) - 1})" if len(pair.questions) > 1 else ""
        return spoken(pair.questions[0]) + more if pair.questions else ""

    def _inset_words(self, pair: Pair) -> str:
        if pair.insets is None:
            return tr("none in reach") if self.has_insets else ""
        low, high = (self._numbers.length(x, "scan") for x in (pair.insets.low, pair.insets.high))
        return minus(tr("{low} to {high}", low=low, high=high))

    def _inset_tip(self, pair: Pair) -> str:
        if pair.insets is None:
            return tr("No inset within reach at which gap, wall, stock and hub fit all hold.")
        below, above = pair.insets.closed_low_by, pair.insets.closed_high_by
        ends = (tr("closed below"), below), (tr("closed above"), above)
        said = [
            tr("{words} by: {by}", words=words, by=by) if by else tr("not {words} within reach", words=words)
            for words, by in ends
        ]
        said.append(self._spacer_words(pair))
        return "\n".join([*said, tr("Numbers alone: open questions and the tyre's size are not in it.")])

    def _spacer_words(self, pair: Pair) -> str:
        found = pair.spacers
        if found is None:
            return tr("No spacer within reach at which all of them hold.")
        low, high = (self._numbers.length(x, "scan") for x in (found.low, found.high))
        by = (
            tr(" (closed by {closed_high_by})", closed_high_by=found.closed_high_by)
            if found.closed_high_by
            else tr(" or more")
        )
        return tr("Spacer: {low} to {high}{by}", low=low, high=high, by=by)

    def _bar(self, pair: Pair) -> Bar | None:
        if pair.insets is None or self._range is None:
            return None
        return Bar(pair.insets.low, pair.insets.high, self._insets.get(pair.wheel, 0.0), *self._range)

    def _sorted_by(self, pair: Pair, column: int) -> object:
        if column == STATE:
            return STATES.index(pair.state)
        if column == SPARE:
            return float("inf") if pair.spare_mm is None else pair.spare_mm
        if column == INSETS:
            return -1.0 if pair.insets is None else pair.insets.high - pair.insets.low
        return self.words(pair, column).casefold()


class _BarDelegate(QStyledItemDelegate):
    """Draws a window of inset: its numbers, and under them the window as a bar over the range of all."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        """Draw the cell."""
        super().paint(painter, option, index)
        bar = index.data(BAR)
        if not isinstance(bar, Bar) or bar.range_high <= bar.range_low:
            return
        room = QRectF(option.rect).adjusted(4.0, 0.0, -4.0, -3.0)

        def x(value: float) -> float:
            return room.left() + (value - bar.range_low) / (bar.range_high - bar.range_low) * room.width()

        painter.save()
        painter.setPen(QPen(self._theme.colour("grid"), 1.0))
        painter.drawLine(QPointF(room.left(), room.bottom()), QPointF(room.right(), room.bottom()))
        painter.setPen(QPen(self._theme.state_colour(State.CLEAR), 2.6))
        ends = x(bar.low), max(x(bar.high), x(bar.low) + 1.0)
        painter.drawLine(QPointF(ends[0], room.bottom()), QPointF(ends[1], room.bottom()))
        painter.setPen(QPen(self._theme.colour("ink"), 1.2))
        painter.drawLine(QPointF(x(bar.now), room.bottom() - 4.0), QPointF(x(bar.now), room.bottom() + 2.0))
        painter.restore()


class _Filter(QSortFilterProxyModel):
    """Lets rows through by words and by state."""

    def __init__(self, model: MatchModel, parent: QWidget) -> None:
        super().__init__(parent)
        self._model = model
        self._words: list[str] = []
        self._state: State | None = None
        self.setSourceModel(model)
        self.setSortRole(SORT)

    def let_through(self, words: str, state: State | None) -> None:
        """Show rows that hold every word in wheel, brake or zone, and have the state."""
        self._words, self._state = words.casefold().split(), state
        self.invalidate()

    def filterAcceptsRow(self, row: int, parent: _Index) -> bool:  # noqa: N802
        """Return True for a row that is shown."""
        pair = self._model.pairs[row]
        text = f"{pair.wheel} {pair.shape} {pair.zone} {spoken(pair.zone)}".casefold()
        return self._state in (None, pair.state) and all(word in text for word in self._words)


class MatchTable(QTableView):
    """The table.

    Signals:
        pair_wanted(pair): a row was double-clicked, or chosen with Enter.
    """

    pair_wanted = Signal(object)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.pairs = MatchModel(theme, self)
        self.filter = _Filter(self.pairs, self)
        self.setModel(self.filter)
        self.setFont(figures(self.font()))
        self.setAccessibleName(tr("Every wheel against every brake"))
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSortingEnabled(True)
        self.sortByColumn(STATE, Qt.SortOrder.AscendingOrder)
        self.setShowGrid(False)
        self.setAlternatingRowColors(True)
        self.setWordWrap(False)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(24)
        self.setTabKeyNavigation(False)
        header = self.horizontalHeader()
        header.setStretchLastSection(True)
        header.setHighlightSections(False)
        self.setItemDelegateForColumn(INSETS, _BarDelegate(theme, self))
        for column, width in enumerate((150, 150, 110, 84, 130, 130, 270)):
            header.resizeSection(column, max(width, header.sectionSizeHint(column)))
        header.setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        self._conditions = header.sectionSize(CONDITION)
        self._room()
        self.pairs.modelReset.connect(self._room)
        self.doubleClicked.connect(lambda _index: self._choose())

    def _room(self) -> None:
        """Leave the conditions the room of windows of inset that were not asked for."""
        header, has_insets = self.horizontalHeader(), self.pairs.has_insets
        self.setColumnHidden(INSETS, not has_insets)
        words = self._conditions if has_insets else max(self._conditions, self.sizeHintForColumn(CONDITION))
        header.resizeSection(CONDITION, min(words, _WIDEST))

    def show_whole(self, result: Match, project: Project) -> None:
        """Show other pairs; the current row stays that of its wheel and brake."""
        current = self.current_pair()
        self.pairs.show(result, project)
        for row, pair in enumerate(result.pairs):
            if current is not None and (pair.wheel, pair.shape) == (current.wheel, current.shape):
                self.setCurrentIndex(self.filter.mapFromSource(self.pairs.index(row, 0)))

    def current_pair(self) -> Pair | None:
        """Return the pair of the current row."""
        index = self.filter.mapToSource(self.currentIndex())
        return self.pairs.pairs[index.row()] if index.isValid() else None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Choose the row with Enter."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._choose()
        else:
            super().keyPressEvent(event)

    def _choose(self) -> None:
        pair = self.current_pair()
        if pair is not None:
            self.pair_wanted.emit(pair)

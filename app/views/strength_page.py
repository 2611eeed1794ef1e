"""A page of the strength window: a table of the report with its notes under it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject, QRect, QSize, Qt
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from app.language import spoken
from app.reports.strength_words import kept
from app.reports.tables import Table
from app.views.plain_table import PlainTable
from app.views.readings_text import minus

_MIDDLE = Qt.AlignmentFlag.AlignVCenter
_RIGHT, _LEFT = Qt.AlignmentFlag.AlignRight | _MIDDLE, Qt.AlignmentFlag.AlignLeft | _MIDDLE
#: Round the words of a cell and of a head.
_PAD = 14
#: Between rows.
_BETWEEN = 5
#: Of a table: its head and some three rows.
_LEAST_HEIGHT = 130


class _PageTable(PlainTable):
    """Asks for a few rows, and takes what room there is; where its page needs more, that is scrolled."""

    def sizeHint(self) -> QSize:
        """Return room for a few rows."""
        return QSize(super().sizeHint().width(), _LEAST_HEIGHT)


class TablePage(QWidget):
    """Shows a table of the report, or words on what to do where there is none.

    All columns are seen at once: where they do not fit side by side, the widest run on in further lines.
    """

    def __init__(self, name: str, parent: QWidget | None = None, is_short: bool = False) -> None:
        """Make an empty page.

        Args:
            name: of the table.
            parent: of the widget.
            is_short: the table is as high as its few rows; what stands under it has the rest.
        """
        super().__init__(parent)
        self.table = _PageTable(name)
        self.table.setWordWrap(True)
        self.table.viewport().installEventFilter(self)
        self._least: dict[int, int] = {}
        self._natural: dict[int, int] = {}
        self._numbers: set[int] = set()
        self._heads: list[str] = []
        self.notes = QLabel()
        self.notes.setWordWrap(True)
        self.notes.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        self.notes.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 8, 0, 0)
        self._is_short = is_short
        if not is_short:
            self.table.setMinimumHeight(_LEAST_HEIGHT)
        self.column.addWidget(self.table, 0 if is_short else 1)
        self.column.addWidget(self.notes)

    def show_table(self, table: Table | None, words: str = "") -> None:
        """Show a table; without one the words alone."""
        self.table.setVisible(table is not None)
        if table is None:
            self._say(words)
            self.column.setAlignment(self.notes, Qt.AlignmentFlag.AlignTop)
            return
        self.column.setAlignment(self.notes, Qt.AlignmentFlag(0))
        self.table.show_rows(
            [column.head for column in table.columns], [[minus(c) for c in row.cells] for row in table.rows]
        )
        self._numbers = {k for k, column in enumerate(table.columns) if column.number}
        self._heads = [self._laid(k) for k in range(self.table.columnCount())]
        self._fit()
        self._say("\n".join([*map(spoken, table.notes), *([words] if words else [])]))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Fit the columns when the room for them changes."""
        if event.type() == QEvent.Type.Resize:
            self._fit()
        return super().eventFilter(watched, event)

    def _say(self, words: str) -> None:
        self.notes.setText(minus(kept(words)))
        self.notes.setVisible(bool(words))

    def _laid(self, column: int) -> str:
        """Keep figures whole in a column as it is read, lay it out, note its widths; return its head."""
        flags = _RIGHT if column in self._numbers else _LEFT
        head, cells = self.table.horizontalHeaderItem(column), []
        title = "" if head is None else kept(head.text())
        if head is not None:
            head.setText(title)
            # Alignment with a wrapping flag is none of Qt's named alignments.
            wraps = int(flags.value | Qt.TextFlag.TextWordWrap.value)
            head.setData(Qt.ItemDataRole.TextAlignmentRole, wraps)
        for row in range(self.table.rowCount()):
            item = self.table.item(row, column)
            if item is not None:
                item.setText(kept(item.text()))
                item.setTextAlignment(flags)
                cells.append(item.text())
        of_cells, of_head = self.table.fontMetrics(), self.table.horizontalHeader().fontMetrics()
        whole = [
            *map(of_head.horizontalAdvance, title.split("\n")),
            *(of_cells.horizontalAdvance(c) for c in cells),
        ]
        words = [of_head.horizontalAdvance(w) for w in title.replace("\n", " ").split(" ")]
        words += [of_cells.horizontalAdvance(w) for c in cells for w in c.split(" ")]
        self._natural[column], self._least[column] = max(whole) + _PAD, max(words) + _PAD
        return title

    def _fit(self) -> None:
        """Give every column what its words need, the widest no more than what is left to share."""
        table, head = self.table, self.table.horizontalHeader()
        seen = [k for k in range(table.columnCount()) if not table.isColumnHidden(k)]
        if not seen or not self._natural:
            return
        widths = shared(
            [self._least[k] for k in seen], [self._natural[k] for k in seen], table.viewport().width()
        )
        head.setStretchLastSection(seen[-1] not in self._numbers)
        for k, width in zip(seen, widths, strict=True):
            table.setColumnWidth(k, width)
        metrics, wraps = head.fontMetrics(), int(Qt.TextFlag.TextWordWrap.value)
        rooms = (QRect(0, 0, table.columnWidth(k) - 8, 1000) for k in seen)
        boxes = [
            metrics.boundingRect(room, wraps, self._heads[k]) for k, room in zip(seen, rooms, strict=True)
        ]
        head.setFixedHeight(max(box.height() for box in boxes) + 8)
        table.resizeRowsToContents()
        for row in range(table.rowCount()):
            table.setRowHeight(row, table.rowHeight(row) + _BETWEEN)
        if self._is_short:
            table.setFixedHeight(head.height() + table.verticalHeader().length() + 2 * table.frameWidth() + 2)


def shared(least: Sequence[int], natural: Sequence[int], room: int) -> list[int]:
    """Return widths within a room: what each asks for, the widest cut alike, none below its least."""
    if sum(natural) <= room:
        return list(natural)
    low, high = 0, max(natural)
    while low < high:
        cap = (low + high + 1) // 2
        if sum(max(a, min(b, cap)) for a, b in zip(least, natural, strict=True)) <= room:
            low = cap
        else:
            high = cap - 1
    return [max(a, min(b, low)) for a, b in zip(least, natural, strict=True)]

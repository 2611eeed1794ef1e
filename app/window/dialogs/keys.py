"""The dialog of keys: every action with its key, searchable; press another key for the chosen one."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDialog,
    QHBoxLayout,
    QHeaderView,
    QKeySequenceEdit,
    QLabel,
    QLineEdit,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.language import tr
from app.window.actions import MENUS
from app.window.key_bindings import KeyBindings, native, words

#: Keys and mouse of the drawing, which are no menu entries and stay as they are.
ON_THE_DRAWING = (
    (
        tr("Move the selected vertex 1 mm, 10 mm, 0.1 mm, 0.01 mm"),
        tr("Arrow, with Shift, with Ctrl, with Alt"),
    ),
    (tr("Type its place and radius"), tr("Tab")),
    (tr("End a gesture without a change; select nothing"), tr("Esc")),
    (tr("Move a vertex; without snapping"), tr("Drag, with Ctrl held")),
    (tr("Insert a vertex on an edge"), tr("Double click")),
    (tr("Type a dimension; the next one"), tr("Click on its number; Tab")),
    (tr("Edit another thing on the drawing"), tr("Click on its outline")),
    (tr("Zoom about the cursor; pan"), tr("Mouse wheel; middle drag, or drag beside the vertices")),
)
_FIXED = tr("Keys and mouse of the drawing stay as they are.")
_HOW = tr("Click in the field, or go there with Tab, and press the new key.")


class KeysDialog(QDialog):
    """Shows and changes keys; a change holds at once, and in every window that is opened later."""

    def __init__(self, keys: KeyBindings, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._keys = keys
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(tr("Keys"))
        self.resize(700, 660)
        self.search = QLineEdit()
        self.search.setPlaceholderText(tr("Search"))
        self.search.setAccessibleName(tr("Words of an action or a key"))
        self.search.setClearButtonEnabled(True)
        self._names: list[str] = []
        self.table = self._table()
        self.pressed = QKeySequenceEdit()
        self.pressed.setMaximumSequenceLength(1)
        self.pressed.setAccessibleName(tr("New key"))
        self.chosen, self.note = QLabel(), QLabel()
        self.note.setWordWrap(True)
        self.exchange = QPushButton(tr("E&xchange both"))
        self.back = QPushButton(tr("As &shipped"))
        self.all_back = QPushButton(tr("&All as shipped"))
        self._lay_out()
        self._connect()
        self.table.selectRow(len(ON_THE_DRAWING))

    def _table(self) -> QTableWidget:
        rows = [("", tr("On the drawing"), what, key) for what, key in ON_THE_DRAWING]
        for title, actions in MENUS:
            rows += [(a.name, title.replace("&", ""), words(a), "") for a in actions]
        self._names = [row[0] for row in rows]
        table = QTableWidget(len(rows), 3)
        table.setAccessibleName(tr("Actions and keys"))
        table.setHorizontalHeaderLabels([tr("Where"), tr("What"), tr("Key")])
        table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setShowGrid(False)
        table.setTabKeyNavigation(False)
        table.verticalHeader().hide()
        table.horizontalHeader().setSectionResizeMode(0, QHeaderView.ResizeMode.ResizeToContents)
        table.horizontalHeader().setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        table.horizontalHeader().setSectionResizeMode(2, QHeaderView.ResizeMode.Stretch)
        table.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        for k, row in enumerate(rows):
            for column, text in enumerate(row[1:]):
                table.setItem(k, column, QTableWidgetItem(text))
        return table

    def _lay_out(self) -> None:
        line = QHBoxLayout()
        line.addWidget(self.chosen, 1)
        for widget in (self.pressed, self.exchange, self.back):
            line.addWidget(widget)
        foot = QHBoxLayout()
        foot.addWidget(self.note, 1)
        foot.addWidget(self.all_back)
        column = QVBoxLayout(self)
        column.addWidget(self.search)
        column.addWidget(self.table, 1)
        column.addLayout(line)
        column.addLayout(foot)

    def _connect(self) -> None:
        self.search.textChanged.connect(self._narrow)
        self.table.currentCellChanged.connect(lambda *_: self._choose())
        self.pressed.keySequenceChanged.connect(self._press)
        self.exchange.clicked.connect(self._exchange)
        self.back.clicked.connect(lambda: self._keys.reset(self.name))
        self.all_back.clicked.connect(self._keys.reset_all)
        self._keys.changed.connect(self._show)
        for button in (self.exchange, self.back, self.all_back):
            button.setAutoDefault(False)
        self._show()

    @property
    def name(self) -> str:
        """Name of the chosen action, empty for a key that stays as it is."""
        row = self.table.currentRow()
        return self._names[row] if row >= 0 else ""

    def _item(self, row: int, column: int) -> QTableWidgetItem:
        item = self.table.item(row, column)
        assert item is not None  # every cell was filled when the table was made
        return item

    def _narrow(self, text: str) -> None:
        heights = self.table.verticalHeader()
        heights.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)  # else every row that comes measures all
        for row in range(self.table.rowCount()):
            said = " ".join(self._item(row, column).text() for column in range(3))
            self.table.setRowHidden(row, text.lower() not in said.lower())
        heights.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)

    def _show(self) -> None:
        for row, name in enumerate(self._names):
            if name:
                item = self._item(row, 2)
                item.setText(native(self._keys.key(name)) or tr("none"))
                font = item.font()
                font.setBold(self._keys.is_own(name))
                item.setFont(font)
        self.all_back.setEnabled(any(self._keys.is_own(n) for n in self._names if n))
        self._choose()

    def _choose(self) -> None:
        name = self.name
        row = self.table.currentRow()
        self.chosen.setText(
            tr("New key for: {value_text}", value_text=self._item(row, 1).text()) if name else ""
        )
        self.pressed.setEnabled(bool(name))
        self.pressed.blockSignals(True)
        self.pressed.clear()
        self.pressed.blockSignals(False)
        self.exchange.setEnabled(False)
        self.back.setEnabled(self._keys.is_own(name))
        self.note.setText(_HOW if name else _FIXED)

    def _press(self, key: QKeySequence) -> None:
        if key.isEmpty():
            return
        written = key.toString()
        clash = self._keys.clash(self.name, written)
        if not clash:
            what = self._item(self.table.currentRow(), 1).text()
            self._keys.give(self.name, written)
            self.note.setText(tr("{native} is the key of {what} now.", native=native(written), what=what))
            return
        other = self._keys.holder(self.name, written)
        self.exchange.setEnabled(bool(other))
        mend = tr("Press another, or exchange both.") if other else tr("Press another.")
        self.note.setText(f"{clash} {mend}")

    def _exchange(self) -> None:
        written = self.pressed.keySequence().toString()
        self._keys.exchange(self.name, written)
        self.note.setText(tr("Exchanged."))

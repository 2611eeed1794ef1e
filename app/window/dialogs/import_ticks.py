"""Two fields of the import: a list to tick things off, and the readings of the unit side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QSignalBlocker, QSize, Qt
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import (
    QButtonGroup,
    QGridLayout,
    QHeaderView,
    QLabel,
    QRadioButton,
    QSizePolicy,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.files.readers.answer import plain
from app.window.dialogs.form import Form
from app.window.dialogs.typed_fields import Field

#: Rows that are seen at once, more are scrolled to; the height of one, pixels.
_ROWS, _ROW_PX = 8, 20


@dataclass(frozen=True)
class Tick:
    """One row: its key, its words, how many there are, what is said of it, and whether it is on at first.

    Attributes:
        why: what is said of it at full length.
    """

    key: str
    words: str
    count: str = ""
    note: str = ""
    is_on: bool = True
    why: str = ""


def add_ticks(form: Form, label: str, tip: str = "") -> TicksField:
    """Put a list under its heading over the whole width of a form."""
    field = TicksField()
    field.name(label)
    field.editor.setToolTip(tip)
    form.fields.append(field)
    form.row(field)
    return field


class _List(QTreeWidget):
    """A list as high as its rows, up to a limit."""

    def sizeHint(self) -> QSize:
        """Return the height of the rows that are seen at once."""
        rows = min(max(self.topLevelItemCount(), 1), _ROWS)
        row = max(self.sizeHintForRow(0), _ROW_PX)
        return QSize(200, rows * row + 2 * self.frameWidth() + 2)

    def minimumSizeHint(self) -> QSize:
        """Return the same: nothing squeezes the rows."""
        return self.sizeHint()


class TicksField(Field):
    """Named things with their counts under a heading, to be ticked by mouse or by the space bar."""

    def __init__(self, parent: QWidget | None = None) -> None:
        self.list = _List()
        super().__init__(self.list, parent)
        self.heading = QLabel()
        self.heading.setBuddy(self.list)
        stack = self.layout()
        if isinstance(stack, QVBoxLayout):
            stack.insertWidget(0, self.heading)
        self.offered: tuple[Tick, ...] = ()
        self._rows: dict[str, QTreeWidgetItem] = {}
        self.list.setColumnCount(3)
        self.list.setHeaderHidden(True)
        self.list.setRootIsDecorated(False)
        self.list.setUniformRowHeights(True)
        self.list.setTextElideMode(Qt.TextElideMode.ElideMiddle)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setTabKeyNavigation(False)
        self.list.setSelectionMode(QTreeWidget.SelectionMode.NoSelection)
        self.list.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        header = self.list.header()
        header.setStretchLastSection(False)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        for column in (1, 2):
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.ResizeToContents)
        self.list.itemChanged.connect(lambda _item, _column: self.edited.emit())

    def name(self, label: str) -> None:
        """Show the heading, and give the list its name."""
        super().name(label)
        self.heading.setText(label)

    def offer(self, ticks: Sequence[Tick]) -> None:
        """Offer other rows; once someone has ticked, rows that were there before keep their ticks."""
        if tuple(ticks) == self.offered:
            return
        on = set(self.read())
        kept = set() if self.is_as_first else {tick.key for tick in self.offered}
        self.offered = tuple(ticks)
        rows: dict[str, QTreeWidgetItem] = {}
        with QSignalBlocker(self.list):
            self.list.clear()
            for tick in ticks:
                item = QTreeWidgetItem([plain(tick.words), tick.count, tick.note])
                item.setToolTip(0, tick.words)
                item.setToolTip(2, tick.why or tick.note)
                item.setData(
                    0,
                    Qt.ItemDataRole.AccessibleTextRole,
                    " ".join((tick.words, tick.count, tick.why or tick.note)),
                )
                item.setTextAlignment(1, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
                item.setForeground(2, self.palette().color(QPalette.ColorRole.PlaceholderText))
                item.setSizeHint(0, QSize(0, _ROW_PX))
                item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
                is_on = tick.key in on if tick.key in kept else tick.is_on
                item.setCheckState(0, Qt.CheckState.Checked if is_on else Qt.CheckState.Unchecked)
                rows[tick.key] = item
            self.list.addTopLevelItems(list(rows.values()))
        self._rows = rows
        first = self.list.topLevelItem(0)
        if first is not None:
            self.list.setCurrentItem(first)
        self.list.updateGeometry()
        self.updateGeometry()

    def item(self, key: str) -> QTreeWidgetItem:
        """Return the row of a key."""
        return self._rows[key]

    def set_on(self, key: str, on: bool) -> None:
        """Tick a row or not."""
        self.item(key).setCheckState(0, Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)

    def read(self) -> tuple[str, ...]:
        """Return the keys that are ticked, in their order."""
        return tuple(key for key, row in self._rows.items() if row.checkState(0) == Qt.CheckState.Checked)

    @property
    def is_as_first(self) -> bool:
        """True while the ticks are those that were offered."""
        return self.read() == tuple(tick.key for tick in self.offered if tick.is_on)


@dataclass(frozen=True)
class UnitReading:
    """One way to read the file's numbers: unit, its size in mm in words, and what is said of it."""

    unit: str
    size: str
    note: str = ""


class UnitField(Field):
    """The readings of the file's unit with their sizes; none is chosen until the file or a person says so."""

    def __init__(self, parent: QWidget | None = None) -> None:
        editor = QWidget()
        super().__init__(editor, parent)
        self.grid = QGridLayout(editor)
        self.grid.setContentsMargins(0, 0, 0, 0)
        self.grid.setHorizontalSpacing(10)
        self.grid.setVerticalSpacing(2)
        self.grid.setColumnStretch(2, 1)
        self.group = QButtonGroup(self)
        self.buttons: dict[str, QRadioButton] = {}
        self.sizes: dict[str, QLabel] = {}
        self.notes: dict[str, QLabel] = {}
        self.group.buttonClicked.connect(lambda _button: self.edited.emit())
        self.offer((UnitReading("mm", ""), UnitReading("in", "")), None)

    def offer(self, readings: Sequence[UnitReading], chosen: str | None) -> None:
        """Offer other readings and choose one, or none."""
        for k, reading in enumerate(readings):
            if reading.unit not in self.buttons:
                button = QRadioButton(reading.unit)
                self.group.addButton(button)
                self.buttons[reading.unit] = button
                self.sizes[reading.unit], self.notes[reading.unit] = QLabel(), QLabel()
                self.notes[reading.unit].setForegroundRole(QPalette.ColorRole.PlaceholderText)
                for column, widget in enumerate((button, self.sizes[reading.unit], self.notes[reading.unit])):
                    self.grid.addWidget(widget, k, column)
            self.sizes[reading.unit].setText(reading.size)
            self.notes[reading.unit].setText(reading.note)
            self.buttons[reading.unit].setAccessibleName(
                f"Unit {reading.unit}: {reading.size} {reading.note}".strip()
            )
        offered = [reading.unit for reading in readings]
        for unit, button in self.buttons.items():
            for widget in (button, self.sizes[unit], self.notes[unit]):
                widget.setVisible(unit in offered)
        self.group.setExclusive(False)
        for unit, button in self.buttons.items():
            button.setChecked(unit == chosen)
        self.group.setExclusive(True)
        first = self.buttons[chosen if chosen in self.buttons else next(iter(self.buttons))]
        self.editor.setFocusProxy(first)

    def choose(self, unit: str) -> None:
        """Choose a reading, as a person does."""
        self.buttons[unit].click()

    def read(self) -> str | None:
        """Return the unit chosen, None while it is open."""
        return next((unit for unit, button in self.buttons.items() if button.isChecked()), None)

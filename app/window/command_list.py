"""The list of commands: type words, see the action with its place and key, Enter runs it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, QSize, Qt, QTimer
from PySide6.QtGui import QKeyEvent, QPalette
from PySide6.QtWidgets import (
    QDialog,
    QHeaderView,
    QLabel,
    QLineEdit,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
)

from app.language import tr
from app.window.commands import Command, commands, why_not

if TYPE_CHECKING:
    from app.window.main_window import MainWindow

_MOVING = (Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_PageUp, Qt.Key.Key_PageDown)
_CAN = tr("Enter runs it. Arrows choose, Esc leaves.")
_NONE = tr("Nothing is called so. Fewer letters find more; the manual (F1) has a page on commands.")


class CommandList(QDialog):
    """Everything that can be done now, narrowed by what is typed.

    Attributes:
        search: where words are typed. list: the commands that fit. note: what Enter does, or why it cannot.
    """

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        self._commands = commands(window)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(tr("Commands"))
        self.resize(680, 520)
        self.search = QLineEdit()
        self.search.setPlaceholderText(tr("What do you want to do?"))
        self.search.setAccessibleName(tr("Words of a command"))
        self.search.setClearButtonEnabled(True)
        self.list = QTreeWidget()
        self.list.setAccessibleName(tr("Commands that fit"))
        self.list.setHeaderLabels([tr("Command"), tr("Where"), tr("Key")])
        self.list.setRootIsDecorated(False)
        self.list.setUniformRowHeights(True)
        self.list.setAllColumnsShowFocus(True)
        head = self.list.header()
        head.setStretchLastSection(False)
        head.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        for column in (1, 2):
            head.setSectionResizeMode(column, QHeaderView.ResizeMode.ResizeToContents)
        self.note = QLabel()
        self.note.setWordWrap(True)
        self.note.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        rows = QVBoxLayout(self)
        rows.addWidget(self.search)
        rows.addWidget(self.list, 1)
        rows.addWidget(self.note)
        self.search.textChanged.connect(self._narrow)
        self.search.installEventFilter(self)
        self.list.currentItemChanged.connect(lambda *_: self._say())
        self.list.itemActivated.connect(lambda *_: self.run())
        self._narrow("")

    @property
    def current(self) -> Command | None:
        """The command that Enter would run."""
        item = self.list.currentItem()
        return None if item is None else self._commands[item.data(0, Qt.ItemDataRole.UserRole)]

    def run(self) -> None:
        """Close and run the chosen command; where it cannot be done now, stay and say why."""
        chosen = self.current
        if chosen is None or why_not(self._window, chosen.item):
            self._say()
            return
        # Only when this dialog has gone, so that the command finds the window as it was.
        QTimer.singleShot(0, self._window, chosen.item.trigger)
        self.accept()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Let arrows and Enter work in the list while words are typed."""
        if watched is self.search and isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            if event.key() in _MOVING:
                self.list.event(event)
                return True
            if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
                self.run()
                return True
        return super().eventFilter(watched, event)

    def _narrow(self, asked: str) -> None:
        fitting = [(fit, k) for k, c in enumerate(self._commands) if (fit := c.fits(asked)) is not None]
        self.list.clear()
        for _, k in sorted(fitting):
            command = self._commands[k]
            row = QTreeWidgetItem([command.words, command.place, command.key])
            row.setData(0, Qt.ItemDataRole.UserRole, k)
            row.setSizeHint(0, QSize(0, 26))
            why = why_not(self._window, command.item)
            if why:
                quiet = self.palette().placeholderText()
                for column in range(3):
                    row.setForeground(column, quiet)
                    row.setToolTip(column, why)
            self.list.addTopLevelItem(row)
        first = self.list.topLevelItem(0)
        if first is not None:
            self.list.setCurrentItem(first)
        self._say()

    def _say(self) -> None:
        chosen = self.current
        if chosen is None:
            self.note.setText(_NONE)
            return
        why = why_not(self._window, chosen.item)
        self.note.setText(tr("Not now: {why}", why=why) if why else _CAN)

"""Which key runs which action: as shipped, or the user's own, which the settings keep and no project."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QAction, QKeySequence

from app.language import tr
from app.window.actions import MENUS, Action, every
from app.window.settings import Settings

#: Keys that belong to the drawing, lists and fields wherever the focus is, and what they do there.
TAKEN = {
    **dict.fromkeys(("Tab", "Shift+Tab", "Backtab"), tr("going to the next field")),
    **dict.fromkeys(("Return", "Enter", "Space"), tr("choosing in lists and dialogs")),
    "Esc": tr("ending a gesture or a dialog"),
    **dict.fromkeys(
        (
            f"{held}{arrow}"
            for held in ("", "Shift+", "Ctrl+", "Alt+")
            for arrow in ("Left", "Right", "Up", "Down")
        ),
        tr("moving the selected vertex"),
    ),
    **dict.fromkeys(("Ctrl+A", "Ctrl+C", "Ctrl+V", "Ctrl+X"), tr("text and tables")),
    **dict.fromkeys("0123456789", tr("typing numbers")),
}


def native(key: str) -> str:
    """Return a portable key as this platform writes it."""
    return QKeySequence(key).toString(QKeySequence.SequenceFormat.NativeText)


class KeyBindings(QObject):
    """The keys of all actions.

    Signals:
        changed(): an action has another key.
    """

    changed = Signal()

    def __init__(self, settings: Settings, made: dict[str, QAction], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._settings, self._made = settings, made
        self._actions = {action.name: action for action in every()}
        self._apply()

    def key(self, name: str) -> str:
        """Return the key of an action, portable; empty where another has taken its shipped one."""
        return self._made[name].shortcut().toString()

    def is_own(self, name: str) -> bool:
        """Return whether the user has chosen the key of an action."""
        return name in self._settings.keys

    def holder(self, name: str, key: str) -> str:
        """Return the name of the other action that has a key, empty where none has it."""
        asked = QKeySequence(key)
        return next((n for n in self._actions if n != name and QKeySequence(self.key(n)) == asked), "")

    def clash(self, name: str, key: str) -> str:
        """Return what speaks against giving a key to an action, in words; empty where nothing does."""
        written = QKeySequence(key).toString()
        if not written:
            return tr("No key was pressed.")
        if written in TAKEN:
            return tr("{native} belongs to {taken}.", native=native(key), taken=TAKEN[written])
        menu = next((title for title, _ in MENUS if written == f"Alt+{_letter(title)}"), "")
        if menu:
            return tr("{native} opens the menu {replace}.", native=native(key), replace=menu.replace("&", ""))
        other = self.holder(name, key)
        return (
            tr("{native} belongs to {actions}.", native=native(key), actions=words(self._actions[other]))
            if other
            else ""
        )

    def give(self, name: str, key: str) -> None:
        """Give a free key to an action.

        Raises:
            ValueError: the key is taken; the message says by what.
        """
        if clash := self.clash(name, key):
            raise ValueError(clash)
        self._keep({name: QKeySequence(key).toString()})

    def exchange(self, name: str, key: str) -> None:
        """Give another action's key to this one, and this one's to that."""
        other = self.holder(name, key)
        self._keep({name: QKeySequence(key).toString(), other: self.key(name)})

    def reset(self, name: str) -> None:
        """Give an action the key it was shipped with; whoever has that now gets its own shipped key back.

        That may go on: keys that went round in a ring all come back.
        """
        own = self._settings.keys
        while name in own:
            own.pop(name)
            shipped = QKeySequence(self._actions[name].key)
            name = next((n for n, key in own.items() if QKeySequence(key) == shipped), "")
        self._settings.keys = own
        self._apply()

    def reset_all(self) -> None:
        """Give every action the key it was shipped with."""
        self._settings.keys = {}
        self._apply()

    def _keep(self, chosen: dict[str, str]) -> None:
        own = {**self._settings.keys, **chosen}
        shipped = {n: QKeySequence(self._actions[n].key).toString() for n in own if n in self._actions}
        self._settings.keys = {n: key for n, key in own.items() if key != shipped.get(n)}
        self._apply()

    def _apply(self) -> None:
        own = {n: QKeySequence(key).toString() for n, key in self._settings.keys.items() if n in self._made}
        chosen = set(own.values())
        for name, action in self._actions.items():
            shipped = QKeySequence(action.key).toString()
            # Two actions with one key would both fall silent: the user's choice stands.
            key = own.get(name, "" if shipped in chosen else shipped)
            item = self._made[name]
            item.setShortcut(QKeySequence(key))
            item.setToolTip(f"{words(action)} ({native(key)})" if key else words(action))
        self.changed.emit()


def words(action: Action) -> str:
    """Return an action's words without the marks of its menu."""
    return action.text.replace("&", "").rstrip(".")


def _letter(title: str) -> str:
    return title[title.index("&") + 1].upper()

"""Keys that belong to a widget while it has the focus, before the window's own shortcuts."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import QEvent, QObject
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QWidget


class LocalKeys(QObject):
    """Takes some keys for a widget; a window shortcut of the same key waits until the focus is elsewhere.

    Args:
        keys: portable key sequence to what it does; None leaves the key to the widget itself.
    """

    def __init__(self, widget: QWidget, keys: Mapping[str, Callable[[], None] | None]) -> None:
        super().__init__(widget)
        self._keys = {QKeySequence(key).toString(): do for key, do in keys.items()}
        widget.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Claim the widget's keys, and act on them."""
        if not isinstance(event, QKeyEvent):
            return False
        key = QKeySequence(event.keyCombination()).toString()
        if key not in self._keys:
            return False
        if event.type() is QEvent.Type.ShortcutOverride:
            event.accept()
            return True
        do = self._keys[key]
        if event.type() is QEvent.Type.KeyPress and do is not None:
            do()
            return True
        return False

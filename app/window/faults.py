"""Unexpected errors on the screen: said once, with the work kept and a report to copy; the program goes on.

Errors in slots, timers and events come through `sys.excepthook`, those of threads through
`threading.excepthook`, those that the plotting library would swallow through its `printExc`; Qt's messages go
into the log. Nothing is printed: who started the window from a menu sees no console.
"""

from __future__ import annotations

import contextlib
import logging
import sys
import threading
from collections.abc import Callable
from functools import partial
from pathlib import Path
from types import TracebackType
from typing import Any

from pyqtgraph import debug
from PySide6.QtCore import QMessageLogContext, QObject, Qt, QTimer, QtMsgType, Signal, qInstallMessageHandler
from PySide6.QtWidgets import (
    QApplication,
    QDialog,
    QHBoxLayout,
    QLabel,
    QMainWindow,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)
from shiboken6 import isValid

from app.files.fault import Fault, fault, report
from app.files.log import begin, end, log
from app.files.system import homeless, log_folder
from app.language import tr
from app.session.recovery import Recovery

#: While a mouse button is held a dialog would take the release away from what is being dragged.
_LOOK_MS = 50

#: Different faults that are told apart; a program in such a state is better started anew.
_MOST_FAULTS = 50

_LEVEL = {
    QtMsgType.QtDebugMsg: logging.DEBUG,
    QtMsgType.QtInfoMsg: logging.INFO,
    QtMsgType.QtWarningMsg: logging.WARNING,
    QtMsgType.QtCriticalMsg: logging.ERROR,
    QtMsgType.QtFatalMsg: logging.CRITICAL,
}


class Faults(QObject):
    """Catches what nobody expected, from `install` to `remove`."""

    _came = Signal(object)  # Fault, out of any thread

    def __init__(self, window: QMainWindow, recovery: Recovery, folder: Path | None = None) -> None:
        super().__init__(window)
        self._window, self._recovery = window, recovery
        self._folder = folder or log_folder()
        self._counts: dict[tuple[str, str], tuple[Fault, int]] = {}
        self._told: set[tuple[str, str]] = set()
        self._dialog: FaultDialog | None = None
        self._undo: list[Callable[[], object]] = []
        self._look = QTimer(self)
        self._look.setSingleShot(True)
        self._look.timeout.connect(self._show)
        self._came.connect(self._take, Qt.ConnectionType.QueuedConnection)

    def install(self) -> None:
        """Catch from now on; what was set before is set again by `remove`."""
        handler = begin(self._folder)
        self._undo.append(lambda: end(handler))
        hooks: tuple[tuple[Any, str, Callable[..., None]], ...] = (
            (sys, "excepthook", self._caught),
            (threading, "excepthook", self._caught_in_thread),
            (debug, "printExc", self._swallowed),
        )
        for module, name, hook in hooks:
            self._undo.append(partial(setattr, module, name, getattr(module, name)))
            setattr(module, name, hook)
        earlier = qInstallMessageHandler(_log_qt)
        self._undo.append(lambda: qInstallMessageHandler(earlier))

    def remove(self) -> None:
        """Catch no longer."""
        while self._undo:
            self._undo.pop()()

    def _caught(self, kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        if not isinstance(error, Exception):  # an interrupt or an exit is meant
            sys.__excepthook__(kind, error, trace)
            return
        try:
            found = fault(error, trace)
            is_known = found.key in self._counts
            log.error(
                "%s", f"again: {found.words.partition(':')[0]}, {found.place}" if is_known else found.trace
            )
            if isValid(self):
                self._came.emit(found)
        except Exception:  # a fault within must not call itself
            log.exception("a fault could not be told")

    def _caught_in_thread(self, args: threading.ExceptHookArgs) -> None:
        if args.exc_value is not None:
            self._caught(args.exc_type, args.exc_value, args.exc_traceback)

    def _swallowed(self, *_words: object, **_named: object) -> None:
        kind, error, trace = sys.exc_info()
        if kind is not None and error is not None:
            self._caught(kind, error, trace)

    def _take(self, found: Fault) -> None:
        if found.key not in self._counts and len(self._counts) >= _MOST_FAULTS:
            return
        _, count = self._counts.get(found.key, (found, 0))
        self._counts[found.key] = found, count + 1
        is_open = self._dialog is not None and isValid(self._dialog)
        if not is_open and found.key in self._told:
            self._window.statusBar().showMessage(
                tr("The same unexpected error again: {words}", words=found.words)
            )
        elif not self._look.isActive():
            self._look.start(_LOOK_MS if is_open else 0)

    def _show(self) -> None:
        self._told.update(self._counts)
        if self._dialog is not None and isValid(self._dialog):
            self._dialog.show_faults(self._all())
            return
        if QApplication.mouseButtons() != Qt.MouseButton.NoButton:
            self._look.start(_LOOK_MS)
            return
        dialog = FaultDialog(self._all(), self._kept(), self._folder, self._parent())
        dialog.finished.connect(self._closed)
        self._dialog = dialog
        dialog.open()

    def _closed(self, _result: object = None) -> None:
        self._dialog = None

    def _parent(self) -> QWidget:
        """Return what is in front, so that its being modal does not keep the dialog from being answered."""
        return QApplication.activeModalWidget() or self._window

    def _all(self) -> list[tuple[Fault, int]]:
        return list(self._counts.values())

    def _kept(self) -> str:
        with contextlib.suppress(Exception):
            if self._recovery.flush():
                return tr("What was unsaved is in the journal, up to the last finished step.")
        return tr("What is unsaved could not be put into the journal: save it under a new name now.")


class FaultDialog(QDialog):
    """Says what happened and that the work is kept; shows the report that can be copied."""

    def __init__(self, faults: list[tuple[Fault, int]], kept: str, folder: Path, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Unexpected error"))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._kept = kept
        self.words = QLabel()
        self.words.setTextFormat(Qt.TextFormat.PlainText)
        self.words.setWordWrap(True)
        self.text = QPlainTextEdit()
        self.text.setReadOnly(True)
        self.text.setAccessibleName(tr("Report"))
        self.text.setLineWrapMode(QPlainTextEdit.LineWrapMode.NoWrap)
        below = QLabel(
            tr(
                "The report holds neither names nor numbers of the project, nor folders. The "
                "log lies in {homeless}.",
                homeless=homeless(str(folder)),
            )
        )
        below.setWordWrap(True)
        self.copy = QPushButton(tr("&Copy the report"))
        self.go_on = QPushButton(tr("&Go on"))
        self.go_on.setDefault(True)
        self.copy.setAutoDefault(False)
        row = QHBoxLayout()
        row.addWidget(self.copy)
        row.addStretch(1)
        row.addWidget(self.go_on)
        column = QVBoxLayout(self)
        for widget in (self.words, self.text, below):
            column.addWidget(widget)
        column.addLayout(row)
        self.resize(640, 420)
        self.copy.clicked.connect(self._copy)
        self.go_on.clicked.connect(self.accept)
        self.show_faults(faults)

    def show_faults(self, faults: list[tuple[Fault, int]]) -> None:
        """Show these faults, each with how often it came."""
        latest, count = faults[-1]
        often = tr(" ({count} times)", count=count) if count > 1 else ""
        more = tr(" Before it {faults} others.", faults=len(faults) - 1) if len(faults) > 1 else ""
        said = (
            tr(
                "Something happened that the program did not expect. The last step may not be "
                "done, and drawing and readings may still be those before it.{more}",
                more=more,
            ),
            f"{latest.words}{often}",
            tr(
                "{kept} Look the drawing over, save, and start the program anew if it comes again.",
                kept=self._kept,
            ),
        )
        self.words.setText("\n\n".join(said))
        self.text.setPlainText(report(faults))

    def _copy(self) -> None:
        QApplication.clipboard().setText(self.text.toPlainText())
        self.copy.setText(tr("Copied"))


def _log_qt(kind: QtMsgType, _context: QMessageLogContext, words: str) -> None:
    log.log(_LEVEL.get(kind, logging.WARNING), "Qt: %s", words)

"""What a person does at the window in a working day, at random and in a stated mix."""

from __future__ import annotations

import random
import sys
import threading
import time
from collections import defaultdict
from collections.abc import Callable
from pathlib import Path
from typing import Any

from pyqtgraph import debug
from PySide6.QtCore import QCoreApplication, QEvent, QPointF, Qt, QTimer, QtMsgType, qInstallMessageHandler
from PySide6.QtGui import QKeyEvent, QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QMessageBox, QWidget

from app.session.edited import vertices_of
from app.session.jobs import Jobs
from app.window.main import application
from app.window.main_window import MainWindow
from app.window.settings import Settings
from tests.support import example

#: Shares of 1,000 actions. What takes a person minutes is rare, as it is in a day.
MIX = {
    "drag": 400,
    "drag given up": 50,
    "type a coordinate": 120,
    "undo": 150,
    "redo": 60,
    "insert or delete a vertex": 40,
    "walk the vertices": 60,
    "change what is shown": 60,
    "new version, then away with it": 20,
    "save": 15,
    "window and back": 12,
    "dialog and back": 9,
    "import": 1,
    "report": 2,
    "open anew": 1,
}

_SHOWN = ("zoom_in", "zoom_out", "fit", "tightest", "inch", "dark", "band", "saved_line", "strip", "readings")
_WINDOWS = ("match", "limits", "stages", "face", "offers", "versions", "roadmap", "manual", "strength")
_DIALOGS = (
    "details",
    "shop_rates",
    "sheet_settings",
    "new_rules",
    "new_fitment",
    "keys",
    "about",
    "commands",
)

_LEFT, _NONE = Qt.MouseButton.LeftButton, Qt.MouseButton.NoButton

#: A drag ends this far from where it began, mm at most, so that the wheel stays a wheel.
_FAR_MM = 1.5

#: No background work of a day takes longer, s.
_LONGEST_REST_S = 120.0

#: How often a question or a dialog in the way is looked for, ms.
_LOOK_MS = 15


class Day:
    """Someone at a window of their own.

    Attributes:
        troubles: errors that came up.
        times_s: by kind of action, how long each kept the window from answering.
    """

    def __init__(self, folder: Path, seed: int) -> None:
        self.troubles: list[str] = []
        self.times_s: dict[str, list[float]] = defaultdict(list)
        self._chance = random.Random(seed)
        self._folder = folder
        self._app = application()
        self._hooks = (
            sys.excepthook,
            threading.excepthook,
            debug.printExc,
            qInstallMessageHandler(self._said),
        )
        sys.excepthook = self._caught
        threading.excepthook = lambda args: self._caught(args.exc_type, args.exc_value, None)
        debug.printExc = lambda *_words, **_named: self._caught(*sys.exc_info())
        self._drawing = folder / "brake.csv"
        self._drawing.write_text("z,r\n-60,60\n-60,150\n20,150\n20,60\n-60,60\n")
        self._window = MainWindow(Settings(folder / "window.ini"), folder / "state")
        self._window.resize(1400, 900)
        self._window.show()
        self._begin()
        self._actions: dict[str, Callable[[], None]] = {
            "drag": self._drag,
            "drag given up": lambda: self._drag(given_up=True),
            "type a coordinate": self._type,
            "undo": lambda: self._do("undo"),
            "redo": lambda: self._do("redo"),
            "insert or delete a vertex": self._insert_or_delete,
            "walk the vertices": lambda: self._do(self._chance.choice(("next_vertex", "previous_vertex"))),
            "change what is shown": self._change_shown,
            "new version, then away with it": self._version,
            "save": lambda: self._do("save"),
            "window and back": lambda: self._look_at(self._chance.choice(_WINDOWS)),
            "dialog and back": lambda: self._look_at(self._chance.choice(_DIALOGS)),
            "import": self._import,
            "report": self._report_page,
            "open anew": self._begin,
        }
        assert self._actions.keys() == MIX.keys()

    def act(self) -> None:
        """Do the next thing, and let the window answer."""
        (kind,) = self._chance.choices(tuple(MIX), tuple(MIX.values()))
        start = time.monotonic()
        self._actions[kind]()
        QApplication.processEvents()
        self.times_s[kind].append(time.monotonic() - start)

    def look_at_everything(self) -> None:
        """Open every window and dialog once: what is made at its first opening and kept is no leak."""
        for action in (*_WINDOWS, *_DIALOGS):
            self._look_at(action)
        self._import()
        self.rest()

    def rest(self) -> None:
        """Wait until all that runs beside the window has ended, and what is to be deleted has gone."""
        end = time.monotonic() + _LONGEST_REST_S
        while self._window.jobs.is_busy and time.monotonic() < end:
            QTest.qWait(10)
        Jobs.wait(int(_LONGEST_REST_S * 1000))
        QTest.qWait(150)
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)

    def end(self) -> None:
        """Close the window without saving."""
        self._window.document.undo_stack.setClean()
        self._window.close()
        self.rest()
        sys.excepthook, threading.excepthook, debug.printExc, handler = self._hooks
        qInstallMessageHandler(handler)

    # Kinds of action

    def _begin(self) -> None:
        document = self._window.document
        document.undo_stack.setClean()
        document.start(example.project(), self._folder / "day.blankwright")
        self._window.canvas.sheet.fit()
        QApplication.processEvents()

    def _drag(self, *, given_up: bool = False) -> None:
        window = self._window
        sheet, document = window.canvas.sheet, window.document
        if document.edited is None:
            return
        vertices = vertices_of(document.project, document.edited)
        chosen = self._chance.choice(vertices)
        start = sheet.to_pixels(chosen.z, chosen.r)
        end = sheet.to_pixels(
            chosen.z + self._chance.uniform(-_FAR_MM, _FAR_MM),
            chosen.r + self._chance.uniform(-_FAR_MM, _FAR_MM),
        )
        if not sheet.viewport().rect().contains(start.toPoint()):
            self._do("fit")
            start, end = sheet.to_pixels(chosen.z, chosen.r), sheet.to_pixels(chosen.z, chosen.r)
        self._mouse(QEvent.Type.MouseMove, start, held=False)
        self._mouse(QEvent.Type.MouseButtonPress, start, held=True)
        for k in range(1, 5):
            self._mouse(QEvent.Type.MouseMove, start + (end - start) * k / 4, held=True)
            QApplication.processEvents()
        if given_up:
            QTest.keyClick(window.canvas.sheet, Qt.Key.Key_Escape)
        self._mouse(QEvent.Type.MouseButtonRelease, end, held=False)

    def _type(self) -> None:
        document = self._window.document
        if document.edited is None or document.selected is None:
            self._do("next_vertex")
        if document.edited is None or document.selected is None:
            return
        vertex = vertices_of(document.project, document.edited)[document.selected]
        box = self._chance.choice(("z", "r"))
        line = self._window.canvas.boxes.boxes[box]
        line.setFocus()
        line.selectAll()
        place = vertex.z if box == "z" else vertex.r
        for sign in f"{place + self._chance.uniform(-1.0, 1.0):.3f}":
            QApplication.sendEvent(
                line, QKeyEvent(QEvent.Type.KeyPress, 0, Qt.KeyboardModifier.NoModifier, sign)
            )
        QTest.keyClick(line, Qt.Key.Key_Return)

    def _insert_or_delete(self) -> None:
        document = self._window.document
        if document.edited is None:
            return
        self._do("next_vertex")
        many = len(vertices_of(document.project, document.edited)) > 60
        self._do("delete_vertex" if many else self._chance.choice(("insert_vertex", "delete_vertex")))

    def _change_shown(self) -> None:
        self._do(self._chance.choice(_SHOWN))

    def _version(self) -> None:
        self._do("new_version")
        self._do("undo")

    def _look_at(self, action: str) -> None:
        """Open a window or a dialog, look, and close it; what asks is answered by leaving it."""
        self._do(action)
        QTest.qWait(60)
        for other in QApplication.topLevelWidgets():
            if other is not self._window and other.isVisible():
                other.close()
        self._window.activateWindow()

    def _import(self) -> None:
        real = QFileDialog.getOpenFileNames
        QFileDialog.getOpenFileNames = lambda *_a, **_n: ([str(self._drawing)], "")  # type: ignore[method-assign]
        try:
            self._do("import")
            self.rest()
        finally:
            QFileDialog.getOpenFileNames = real  # type: ignore[method-assign]
        self._look_at("fit")

    def _report_page(self) -> None:
        real = QFileDialog.getSaveFileName
        page = str(self._folder / "page.pdf")
        QFileDialog.getSaveFileName = lambda *_a, **_n: (page, "")  # type: ignore[method-assign]
        try:
            self._do("report")
            self.rest()
        finally:
            QFileDialog.getSaveFileName = real  # type: ignore[method-assign]
        self._look_at("fit")

    # Hands

    def _do(self, action: str) -> None:
        """Choose an action; a question or dialog that keeps the rest waiting is left by Escape."""
        leave = QTimer()
        leave.timeout.connect(self._leave)
        leave.start(_LOOK_MS)
        self._window.actions_by_name[action].trigger()
        QApplication.processEvents()
        leave.stop()

    def _leave(self) -> None:
        there: QWidget | None = QApplication.activeModalWidget()
        if there is None:
            return
        if isinstance(there, QMessageBox):
            there.reject()
        else:
            QTest.keyClick(there, Qt.Key.Key_Escape)

    def _mouse(self, kind: QEvent.Type, at: QPointF, *, held: bool) -> None:
        viewport = self._window.canvas.sheet.viewport()
        button = _NONE if kind == QEvent.Type.MouseMove else _LEFT
        event = QMouseEvent(
            kind,
            at,
            QPointF(viewport.mapToGlobal(at.toPoint())),
            button,
            _LEFT if held else _NONE,
            Qt.KeyboardModifier.NoModifier,
        )
        QApplication.sendEvent(viewport, event)

    # What must not happen

    def _caught(self, kind: Any, error: BaseException | None, _trace: Any) -> None:
        self.troubles.append(f"{getattr(kind, '__name__', kind)}: {error}")

    def _said(self, kind: QtMsgType, _context: Any, words: str) -> None:
        # Without a screen there is no window manager, which Qt says every time.
        if kind != QtMsgType.QtDebugMsg and "This plugin does not support" not in words:
            self.troubles.append(f"Qt: {words}")

"""Hands that press whatever is there."""

from __future__ import annotations

import random
import shutil
import sys
import threading
import time
import traceback
from collections import deque
from pathlib import Path
from types import TracebackType
from typing import Any

from pyqtgraph import debug
from PySide6.QtCore import QEvent, QEventLoop, QPoint, QPointF, Qt, QTimer, QtMsgType, qInstallMessageHandler
from PySide6.QtGui import QDesktopServices, QKeyEvent, QMouseEvent, QWheelEvent
from PySide6.QtPrintSupport import QPrintDialog
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractScrollArea,
    QAbstractSpinBox,
    QApplication,
    QCheckBox,
    QComboBox,
    QDialog,
    QFileDialog,
    QLineEdit,
    QMainWindow,
    QMenu,
    QPlainTextEdit,
    QRadioButton,
    QSlider,
    QTabBar,
    QTextEdit,
    QWidget,
)

from app import resources
from app.window.main import application
from app.window.main_window import MainWindow
from app.window.settings import Settings

#: From one step to the next, ms; and the longest that the window may give no answer, s.
_EVERY_MS, _LONGEST_S = 15, 40.0
#: So many steps are told before an error.
_TOLD = 14
#: More windows than these are closed again.
_MANY = 6
_CORPUS = Path(__file__).resolve().parents[1] / "corpus" / "files"
#: Larger files only take time to read.
_LARGEST = 300_000
_LEFT, _PLAIN = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
_TEXTS = (
    *(
        "0",
        "1",
        "-1",
        "5",
        "12.7",
        "7,5",
        "1/2 in",
        "5 mm",
        "40",
        "72.5",
        "120",
        "999",
        "-45",
        "0.001",
        "1e9",
    ),
    *("", "abc", "3 + ", "=2", "1 2", "A", "Wheel 1", "ünï", "<b>x</b>", "{name}", "%s"),
)
_KEYS = (
    *(
        Qt.Key.Key_Return,
        Qt.Key.Key_Escape,
        Qt.Key.Key_Tab,
        Qt.Key.Key_Space,
        Qt.Key.Key_Delete,
        Qt.Key.Key_N,
    ),
    *(Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Home, Qt.Key.Key_End),
    *(Qt.Key.Key_PageDown, Qt.Key.Key_Backspace, Qt.Key.Key_F1, Qt.Key.Key_F2),
)
_MODIFIERS = (
    *(_PLAIN, _PLAIN, _PLAIN, _PLAIN),
    *(
        Qt.KeyboardModifier.ControlModifier,
        Qt.KeyboardModifier.ShiftModifier,
        Qt.KeyboardModifier.AltModifier,
    ),
)
#: Words of an action that would end the program; and of Qt about a platform without a screen.
_NEVER = ("quit", "beenden", "close", "schließen")
_NOT_OURS = "plugin does not support"
_PRESSED = (
    *(QAbstractButton, QLineEdit, QComboBox, QAbstractSpinBox, QPlainTextEdit, QTextEdit, QAbstractItemView),
    *(QTabBar, QSlider),
)


class Hands:
    """Hands at a window of their own.

    Attributes:
        troubles: errors that came up, each with the steps before it.
        steps: how many were done.
    """

    def __init__(self, project: Path, folder: Path, seed: int) -> None:
        self.troubles: list[str] = []
        self.steps = 0
        self._chance = random.Random(seed)
        self._last: deque[str] = deque(maxlen=_TOLD)
        self._folder, self._end = folder, 0.0
        self._app = application()
        self._loop = QEventLoop()
        sys.excepthook = self._caught
        threading.excepthook = lambda args: self._caught(args.exc_type, args.exc_value, args.exc_traceback)
        debug.printExc = lambda *_words, **_named: self._caught(*sys.exc_info())
        qInstallMessageHandler(self._said)
        self._answer_for_the_system()
        self._window = MainWindow(Settings(folder / "window.ini"), folder / "state")
        self._window.resize(1400, 900)
        self._window.show()
        copy = folder / "project.blankwright"
        shutil.copy(project, copy)
        self._window.files.open_path(copy)

    def _answer_for_the_system(self) -> None:
        """Name files where the system's dialogs would be asked, print nothing and open no page of the web."""
        files = [p for p in (*resources.samples(), *_CORPUS.iterdir()) if p.stat().st_size < _LARGEST]

        def opened(*_words: Any, **_named: Any) -> tuple[str, str]:
            return self._note(str(self._chance.choice((*files, "")))), ""

        def saved(*_words: Any, **_named: Any) -> tuple[str, str]:
            name = self._chance.choice(
                ("a.csv", "b.pdf", "c.dxf", "d.xlsx", "e.blankwright", "no suffix", "")
            )
            return self._note(str(self._folder / name) if name else ""), ""

        for name, answer in (
            ("getOpenFileName", opened),
            ("getSaveFileName", saved),
            ("getOpenFileNames", lambda *words, **named: ([opened()[0]], "")),
            ("getExistingDirectory", lambda *words, **named: str(self._folder)),
        ):
            setattr(QFileDialog, name, staticmethod(answer))
        QDesktopServices.openUrl = staticmethod(lambda _url: True)  # type: ignore[method-assign]
        QPrintDialog.exec = lambda _dialog: int(QDialog.DialogCode.Rejected)  # type: ignore[method-assign]

    def work(self, seconds: float) -> None:
        """Press things for so long."""
        self._end = time.monotonic() + seconds
        QTimer.singleShot(0, self._act)
        self._loop.exec()

    # What went wrong

    def _note(self, words: str) -> str:
        self._last.append(words)
        return words

    def _caught(self, kind: Any, error: BaseException | None, trace: TracebackType | None) -> None:
        self._trouble("".join(traceback.format_exception(kind, error, trace)))

    def _said(self, _kind: QtMsgType, _context: Any, words: str) -> None:
        if _NOT_OURS not in words:
            self._trouble(f"Qt: {words}\n")

    def _trouble(self, words: str) -> None:
        self.troubles.append(words + "after\n" + "".join(f"    {step}\n" for step in self._last))

    # One step

    def _act(self) -> None:
        if time.monotonic() > self._end:
            self._loop.quit()
            return
        QTimer.singleShot(
            _EVERY_MS, self._act
        )  # also while a dialog that this step opens waits for an answer
        self.steps += 1
        start = time.monotonic()
        try:
            self._step()
        except RuntimeError as error:
            if "already deleted" not in str(error):  # its window was closed by the same step
                self._caught(type(error), error, error.__traceback__)
        if QApplication.activeModalWidget() is None and time.monotonic() - start > _LONGEST_S:
            self._trouble(f"no answer for {time.monotonic() - start:.0f} s\n")

    def _step(self) -> None:
        popup, modal = QApplication.activePopupWidget(), QApplication.activeModalWidget()
        if popup is not None:
            self._leave(popup)
            return
        windows = [
            w
            for w in QApplication.topLevelWidgets()
            if w.isVisible() and isinstance(w, QDialog | QMainWindow)
        ]
        is_alone = len(windows) == 1
        if modal is None and self._chance.random() < (0.5 if is_alone else 0.12):
            self._do_anything()
            return
        window = modal or self._chance.choice(windows)
        if len(windows) > _MANY and window is not self._window and self._chance.random() < 0.3:
            self._note(f"close {type(window).__name__}")
            window.close()
            return
        there = [w for w in window.findChildren(QWidget) if _can_be_pressed(w)]
        if not there:
            QTest.keyClick(window, Qt.Key.Key_Escape)
            return
        widget = self._chance.choice(there)
        text = getattr(widget, "text", str)
        self._note(
            f"{type(window).__name__} > {type(widget).__name__} {text() if callable(text) else ''!r} "
            f"{widget.accessibleName()!r}"
        )
        if self._chance.random() < 0.08:
            key, modifiers = self._chance.choice(_KEYS), self._chance.choice(_MODIFIERS)
            self._note(f"    {key.name} {modifiers.name}")
            QTest.keyClick(QApplication.focusWidget() or window, key, modifiers)
        else:
            self._press(widget)

    def _leave(self, popup: QWidget) -> None:
        """Close what popped up; of a menu choose something first, more often than not."""
        chosen = [
            a
            for a in (popup.actions() if isinstance(popup, QMenu) else ())
            if a.isEnabled() and not a.isSeparator() and not _ends(a.text())
        ]
        popup.close()
        if chosen and self._chance.random() < 0.6:
            action = self._chance.choice(chosen)
            self._note(f"menu {action.text()}")
            action.trigger()

    def _do_anything(self) -> None:
        name = self._chance.choice([n for n in self._window.actions_by_name if not _ends(n)])
        if self._window.actions_by_name[name].isEnabled():
            self._note(f"action {name}")
            self._window.actions_by_name[name].trigger()

    def _press(self, widget: QWidget) -> None:
        """Do to a widget what its kind is for."""
        if isinstance(widget, QAbstractButton):
            is_box = isinstance(widget, QCheckBox | QRadioButton)
            if not _ends(widget.text()):
                at = QPoint(8, widget.height() // 2) if is_box else widget.rect().center()
                QTest.mouseClick(widget, _LEFT, _PLAIN, at)
        elif isinstance(widget, QLineEdit):
            if not widget.isReadOnly():
                widget.setFocus()
                widget.selectAll()
                self._type(widget)
                if self._chance.random() < 0.6:
                    QTest.keyClick(widget, self._chance.choice((Qt.Key.Key_Return, Qt.Key.Key_Tab)))
        elif isinstance(widget, QComboBox):
            widget.setFocus()
            for _ in range(self._chance.randrange(4)):
                QTest.keyClick(widget, self._chance.choice((Qt.Key.Key_Down, Qt.Key.Key_Up)))
        elif isinstance(widget, QTabBar):
            if widget.count():
                at = widget.tabRect(self._chance.randrange(widget.count())).center()
                QTest.mouseClick(widget, _LEFT, _PLAIN, at)
        elif isinstance(widget, QAbstractItemView):
            self._press_view(widget)
        else:
            self._draw(widget.viewport() if isinstance(widget, QAbstractScrollArea) else widget)

    def _press_view(self, view: QAbstractItemView) -> None:
        """Choose a cell, open it, or type into it."""
        way, at = self._chance.random(), self._place(view.viewport())
        if way < 0.5:
            QTest.mouseClick(view.viewport(), _LEFT, _PLAIN, at)
        elif way < 0.75:
            QTest.mouseDClick(view.viewport(), _LEFT, _PLAIN, at)
        elif way < 0.85:
            QTest.keyClick(view, self._chance.choice(_KEYS))
        else:
            self._type(view)
            QTest.keyClick(QApplication.focusWidget() or view, Qt.Key.Key_Return)

    def _draw(self, widget: QWidget) -> None:
        """Click, drag, turn the mouse's wheel, or ask for the menu."""
        way, at = self._chance.random(), self._place(widget)
        if way < 0.4:
            QTest.mouseClick(widget, _LEFT, self._chance.choice(_MODIFIERS), at)
        elif way < 0.5:
            QTest.mouseDClick(widget, _LEFT, _PLAIN, at)
        elif way < 0.85:
            self._drag(widget, at, self._place(widget))
        elif way < 0.95:
            turn = QPoint(0, self._chance.choice((120, -120)))
            where, buttons = QPointF(at), Qt.MouseButton.NoButton
            phase = Qt.ScrollPhase.NoScrollPhase
            there = QPointF(widget.mapToGlobal(at))
            QApplication.sendEvent(
                widget, QWheelEvent(where, there, QPoint(), turn, buttons, _PLAIN, phase, False)
            )
        else:
            QTest.mouseClick(widget, Qt.MouseButton.RightButton, _PLAIN, at)

    def _drag(self, widget: QWidget, start: QPoint, end: QPoint) -> None:
        QTest.mousePress(widget, _LEFT, _PLAIN, start)
        for k in range(1, 5):
            at = QPointF(start) + QPointF(end - start) * k / 4.0
            there = QPointF(widget.mapToGlobal(at))
            QApplication.sendEvent(
                widget, QMouseEvent(QEvent.Type.MouseMove, at, there, _LEFT, _LEFT, _PLAIN)
            )
        if self._chance.random() < 0.2:
            QTest.keyClick(widget, Qt.Key.Key_Escape)
        QTest.mouseRelease(widget, _LEFT, _PLAIN, end)

    def _type(self, widget: QWidget) -> None:
        """Type a text, each letter where the focus is by then."""
        for letter in self._chance.choice(_TEXTS):
            code = ord(letter.upper()) if letter.isascii() else 0
            for kind in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):
                target = QApplication.focusWidget() or widget
                QApplication.sendEvent(target, QKeyEvent(kind, code, _PLAIN, letter))

    def _place(self, widget: QWidget) -> QPoint:
        return QPoint(
            self._chance.randrange(max(1, widget.width())), self._chance.randrange(max(1, widget.height()))
        )


def _can_be_pressed(widget: QWidget) -> bool:
    is_there = widget.isVisible() and widget.isEnabled() and not widget.visibleRegion().isEmpty()
    return is_there and (isinstance(widget, _PRESSED) or type(widget).__module__.startswith("app."))


def _ends(words: str) -> bool:
    return any(word in words.lower() for word in _NEVER)

"""One window for each test, driven as a person would: mouse, keys, and answers to its questions."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt, QTimer
from PySide6.QtGui import QKeyEvent, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QMessageBox, QWidget
from pytestqt.qtbot import QtBot

from app.project.project import Project
from app.session.edited import vertices_of
from app.window.dialogs.form import ProjectDialog
from app.window.dialogs.typed_fields import Field
from app.window.main import application
from app.window.main_window import MainWindow
from app.window.settings import Settings
from tests.support import example
from tests.support.kept import keep_sums_of_pages

LEFT = Qt.MouseButton.LeftButton
PLAIN = Qt.KeyboardModifier.NoModifier


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Let the platform without a screen say that it has no window manager."""
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints"))


@pytest.fixture(scope="session")
def qapp() -> QApplication:
    """The program's own application object, made once."""
    return application()


@pytest.fixture(scope="session", autouse=True)
def _sums_of_pages_kept() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        keep_sums_of_pages(patch)
        yield


@pytest.fixture(autouse=True)
def fail_on_swallowed_errors(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Fail a test in which the plotting library caught and printed an exception of ours."""
    caught: list[BaseException] = []

    def keep(*_args: object, **_named: object) -> None:
        error = sys.exc_info()[1]
        if error is not None:
            caught.append(error)

    monkeypatch.setattr("pyqtgraph.debug.printExc", keep)
    yield
    if caught:
        raise caught[0]


def write(line: QLineEdit, text: str) -> None:
    """Press a key for each character, also for those that no QTest key stands for."""
    for sign in text:
        for kind in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):
            QApplication.sendEvent(line, QKeyEvent(kind, 0, PLAIN, sign))


def turn_wheel(widget: QWidget, at: QPointF, towards: int = 120) -> None:
    """Turn the mouse's wheel over a place of a widget; a click of it is 120, away from the person."""
    none, button = Qt.ScrollPhase.NoScrollPhase, Qt.MouseButton.NoButton
    place = QPointF(widget.mapToGlobal(at))
    event = QWheelEvent(at, place, QPoint(), QPoint(0, towards), button, PLAIN, none, False)
    QApplication.sendEvent(widget, event)


@dataclass
class Person:
    """Someone at the window."""

    window: MainWindow
    qtbot: QtBot

    @property
    def project(self) -> Project:
        return self.window.document.project

    # Mouse

    def at(self, z: float, r: float) -> QPoint:
        return self.window.canvas.sheet.to_pixels(z, r).toPoint()

    def vertex(self, index: int) -> tuple[float, float]:
        """Place of a vertex of the edited thing as committed."""
        document = self.window.document
        assert document.edited is not None
        v = vertices_of(document.project, document.edited)[index]
        return v.z, v.r

    def press(self, where: QPoint, modifiers: Qt.KeyboardModifier = PLAIN) -> None:
        viewport = self.window.canvas.sheet.viewport()
        QTest.mouseMove(viewport, where)
        QTest.mousePress(viewport, LEFT, modifiers, where)

    def move(self, where: QPoint) -> None:
        QTest.mouseMove(self.window.canvas.sheet.viewport(), where)
        self.settle()

    def release(self, where: QPoint, modifiers: Qt.KeyboardModifier = PLAIN) -> None:
        QTest.mouseRelease(self.window.canvas.sheet.viewport(), LEFT, modifiers, where)
        self.settle()

    def drag(self, index: int, to: tuple[float, float]) -> QPoint:
        """Take a vertex to a place, in steps, and hold it there; return where the pointer is."""
        start, end = self.at(*self.vertex(index)), self.at(*to)
        self.press(start)
        for k in range(1, 6):
            self.move(start + (end - start) * k / 5)
        return end

    def click(self, where: QPoint) -> None:
        self.press(where)
        self.release(where)

    def double_click(self, where: QPoint) -> None:
        viewport = self.window.canvas.sheet.viewport()
        self.click(where)
        QTest.mouseDClick(viewport, LEFT, PLAIN, where)
        self.release(where)

    # Keys

    def key(self, key: Qt.Key, modifiers: Qt.KeyboardModifier = PLAIN) -> None:
        target = QApplication.focusWidget() or self.window
        QTest.keyClick(target, key, modifiers)
        self.settle()

    def type(self, text: str, box: str = "z") -> QLineEdit:
        """Type into a coordinate box, replacing what stands there."""
        line = self.window.canvas.boxes.boxes[box]
        line.setFocus()
        line.selectAll()
        write(line, text)
        return line

    def enter(self, text: str, box: str = "z") -> QLineEdit:
        """Type into a coordinate box and press Enter."""
        line = self.type(text, box)
        QTest.keyClick(line, Qt.Key.Key_Return)
        self.settle()
        return line

    def do(self, action: str) -> None:
        """Choose an action of a menu by its name."""
        self.window.actions_by_name[action].trigger()
        self.settle()

    # What is there to be read

    def settle(self) -> None:
        """Let everything that is posted be done."""
        for _ in range(3):
            QApplication.processEvents()

    @property
    def status(self) -> str:
        return self.window.statusBar().currentMessage()

    @property
    def undo_text(self) -> str:
        return self.window.document.undo_stack.undoText()

    @property
    def steps(self) -> int:
        return self.window.document.undo_stack.index()


@pytest.fixture
def make_window(qtbot: QtBot, tmp_path: Path) -> Callable[..., MainWindow]:
    """Make windows with settings and snapshots of their own, painted empty or with a project at once."""

    def make(project: Project | None = None) -> MainWindow:
        window = MainWindow(Settings(tmp_path / "settings" / "window.ini"), tmp_path / "state")
        qtbot.addWidget(window, before_close_func=_leave_quietly)
        window.resize(1400, 900)
        if project is not None:
            window.document.start(project)
        with qtbot.waitExposed(window):
            window.show()
        return window

    return make


def _leave_quietly(window: MainWindow) -> None:
    window.document.undo_stack.setClean()


@pytest.fixture
def person(make_window: Callable[..., MainWindow], qtbot: QtBot) -> Person:
    """Someone at a window with the example project."""
    window = make_window(example.project())
    window.activateWindow()
    window.canvas.sheet.fit()
    window.canvas.sheet.setFocus()
    somebody = Person(window, qtbot)
    somebody.settle()
    return somebody


@pytest.fixture
def answer(qtbot: QtBot) -> Callable[[str], list[str]]:
    """Answer the next questions, in order; return the list of what was asked."""

    def answer_next(*answers: str) -> list[str]:
        asked: list[str] = []
        waiting = list(answers)

        def look() -> None:
            box = QApplication.activeModalWidget()
            if isinstance(box, QMessageBox) and waiting:
                asked.append(box.text())
                wanted = waiting.pop(0)
                button = next(b for b in box.buttons() if b.text().replace("&", "") == wanted)
                button.click()
            if waiting:
                QTimer.singleShot(20, look)

        QTimer.singleShot(20, look)
        return asked

    return answer_next


Opened = Callable[[ProjectDialog], "Asked"]


class Asked:
    """An open dialog and what it handed out."""

    def __init__(self, dialog: ProjectDialog) -> None:
        self.dialog = dialog
        self.applied: list[tuple[Project, str]] = []
        dialog.applied.connect(lambda made, text: self.applied.append((made, text)))
        dialog.open()
        QApplication.processEvents()

    @property
    def result(self) -> Project:
        """The project that came out, of exactly one step."""
        assert len(self.applied) == 1, self.dialog.message.text()
        return self.applied[0][0]

    def ok(self) -> None:
        """Press Enter in the dialog."""
        QTest.keyClick(self.dialog, Qt.Key.Key_Return)
        QApplication.processEvents()

    def cancel(self) -> None:
        QTest.keyClick(self.dialog, Qt.Key.Key_Escape)
        QApplication.processEvents()


def typed(field: Field, text: str) -> None:
    """Type over a line."""
    line = field.editor
    assert isinstance(line, QLineEdit)
    line.setFocus()
    line.selectAll()
    if text:
        write(line, text)
    else:
        QTest.keyClick(line, Qt.Key.Key_Delete)


@pytest.fixture
def ask(qtbot: QtBot) -> Opened:
    """Open a dialog."""

    def opened(dialog: ProjectDialog) -> Asked:
        qtbot.addWidget(dialog)
        return Asked(dialog)

    return opened

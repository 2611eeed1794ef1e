"""An unexpected error is told once, with a report without anything private, and the work goes on."""

from __future__ import annotations

import logging
import threading
import time
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, QObject, Qt, QTimer, Signal, qWarning
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton

from app.files import log as log_module
from app.files.fault import fault, report
from app.session import drag
from app.window.faults import FaultDialog, Faults
from tests.gui.conftest import Person

BACK = 40
SECRET = "Secret GT of 412.5 mm in /home/somebody"


class Sender(QObject):
    sent = Signal()


def broken() -> None:
    raise ValueError(SECRET)


@contextmanager
def watched(person: Person, folder: Path) -> Iterator[Faults]:
    """Catch within the test alone: the test's own watcher of errors is set again afterwards."""
    faults = Faults(person.window, person.window.recovery, folder)
    faults.install()
    try:
        yield faults
    finally:
        person.settle()
        faults.remove()


def dialog_of(person: Person) -> FaultDialog:
    person.qtbot.waitUntil(lambda: isinstance(QApplication.activeModalWidget(), FaultDialog), timeout=3000)
    found = QApplication.activeModalWidget()
    assert isinstance(found, FaultDialog)
    return found


def press(button: QPushButton) -> None:
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


def test_an_error_in_a_slot_is_told_once_and_the_work_goes_on(person: Person, tmp_path: Path) -> None:
    window, sender = person.window, Sender()
    sender.sent.connect(broken)
    window.document.select_vertex(BACK)
    person.enter("52.5")
    with watched(person, tmp_path / "log"):
        for _ in range(100):
            sender.sent.emit()
        dialog = dialog_of(person)
        person.qtbot.waitUntil(lambda: "(100 times)" in dialog.words.text(), timeout=3000)
        assert f"ValueError: {SECRET}" in dialog.words.text()
        assert "is in the journal" in dialog.words.text()
        assert list((tmp_path / "state").glob("journals/*/journal"))
        press(dialog.copy)
        copied = QApplication.clipboard().text()
        assert copied == dialog.text.toPlainText()
        assert "ValueError" in copied
        assert "(100 times)" in copied
        assert "numpy " in copied
        press(dialog.go_on)
        person.settle()
        # The same again: a word in the status line, no dialog.
        sender.sent.emit()
        person.qtbot.waitUntil(lambda: "again" in person.status, timeout=3000)
        assert QApplication.activeModalWidget() is None
        # The work goes on.
        person.enter("53")
        person.do("undo")
        assert person.vertex(BACK)[0] == 52.5
    written = (tmp_path / "log" / log_module.FILE).read_text("utf-8")
    for text in (copied, written):
        for word in ("Secret", "412.5", "somebody", str(Path.home()), person.project.name, "Track 18"):
            assert word not in text
    assert "test_unexpected.py" in written


def test_errors_in_threads_timers_and_pictures_are_told_together(person: Person, tmp_path: Path) -> None:
    def in_thread() -> None:
        raise KeyError("thread")

    def in_timer() -> None:
        raise ZeroDivisionError

    with watched(person, tmp_path / "log"):
        threading.Thread(target=in_thread).start()
        QTimer.singleShot(0, in_timer)
        dialog = dialog_of(person)
        person.qtbot.waitUntil(lambda: "ZeroDivisionError" in dialog.text.toPlainText(), timeout=3000)
        person.qtbot.waitUntil(lambda: "KeyError" in dialog.text.toPlainText(), timeout=3000)
        # What the plotting library catches to print it.
        from pyqtgraph import debug

        with warnings.catch_warnings(record=True) as printed:
            try:
                broken()
            except ValueError:
                debug.printExc("ignored")
        person.qtbot.waitUntil(lambda: "ValueError" in dialog.text.toPlainText(), timeout=3000)
        assert not printed
        QTest.keyClick(dialog, Qt.Key.Key_Escape)


def test_a_drag_is_not_torn_by_the_dialog(person: Person, tmp_path: Path) -> None:
    with watched(person, tmp_path / "log"):
        end = person.drag(BACK, (54.0, person.vertex(BACK)[1]))
        QTimer.singleShot(0, broken)
        waiting = time.monotonic() + 0.12
        while time.monotonic() < waiting:
            person.settle()
        assert QApplication.activeModalWidget() is None
        person.release(end)
        assert person.undo_text.startswith("Move vertex")
        press(dialog_of(person).go_on)


def test_messages_of_qt_go_into_the_log(
    person: Person, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    with watched(person, tmp_path / "log"):
        qWarning("a message of the toolkit")
        assert QApplication.activeModalWidget() is None
    assert "WARNING Qt: a message of the toolkit" in (tmp_path / "log" / log_module.FILE).read_text("utf-8")
    assert "toolkit" not in "".join(capfd.readouterr())
    assert QCoreApplication.instance() is not None


@pytest.mark.parametrize("fault_of_the_disk", ["a file in its place", "full"])
def test_a_log_that_cannot_be_written_stops_nothing(
    person: Person, tmp_path: Path, fault_of_the_disk: str
) -> None:
    folder = tmp_path / "log"
    if fault_of_the_disk == "full":
        folder.mkdir()
        (folder / log_module.FILE).symlink_to("/dev/full")  # Linux: every write ends with ENOSPC
    else:
        folder.write_text("no folder")
    with watched(person, folder):
        QTimer.singleShot(0, broken)
        press(dialog_of(person).go_on)
        person.window.document.select_vertex(BACK)
        person.enter("52.5")
        assert person.vertex(BACK)[0] == 52.5


def test_the_log_is_bounded(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(log_module, "MOST_BYTES", 10_000)
    handler = log_module.begin(tmp_path)
    for k in range(1000):
        log_module.log.warning("message %d %s", k, "x" * 90)
    log_module.log.warning("y" * 1_000_000)
    log_module.log.warning("the last one, in %s", Path.home())
    log_module.end(handler)
    files = list(tmp_path.iterdir())
    assert len(files) == 2
    assert sum(file.stat().st_size for file in files) <= 2 * 10_000 + log_module.MOST_SIGNS
    last = (tmp_path / log_module.FILE).read_text("utf-8")
    assert "the last one, in ~" in last
    assert handler not in logging.getLogger("blankwright").handlers


def test_a_report_names_causes_and_leaves_out_their_words() -> None:
    def read() -> None:
        try:
            open("/home/somebody/Secret GT.dxf")  # noqa: PTH123, SIM115 - the error is wanted
        except OSError as error:
            raise RuntimeError("cannot read Secret GT at 412.5") from error

    try:
        read()
    except RuntimeError as error:
        found = fault(error)
    said = report([(found, 1)])
    assert "FileNotFoundError (ENOENT)" in said
    assert "RuntimeError" in said
    assert "tests/gui/test_unexpected.py" in said
    assert not found.place.startswith("/")
    for line in said.splitlines():
        if not line.startswith("    "):  # lines of code are the program's own
            assert "Secret" not in line
            assert "/home" not in line


def test_a_panel_that_fails_in_a_gesture_leaves_no_older_numbers_in_the_boxes(
    person: Person, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window, document = person.window, person.window.document
    document.select_vertex(BACK)
    edited = document.edited
    assert edited is not None
    z, r = person.vertex(BACK)
    with watched(person, tmp_path), monkeypatch.context() as patched:
        patched.setattr(window.summary, "show_state", lambda _shown: broken())
        moved = drag.moved(document.project, edited, BACK, z + 20.0, r)
        QTimer.singleShot(0, lambda: document.preview(moved))
        press(dialog_of(person).go_on)
        assert document.state.dragging
        assert float(window.canvas.boxes.boxes["z"].text()) == pytest.approx(z + 20.0)
    document.cancel()


def test_a_panel_that_fails_leaves_no_older_state_standing(
    person: Person, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else an older "clear" would stand beside a newer drawing."""
    window = person.window
    document = window.document
    wheel = document.wheel
    assert wheel is not None
    with watched(person, tmp_path), monkeypatch.context() as patched:
        patched.setattr(window.summary, "show_state", lambda _shown: broken())
        moved = replace(wheel, inset_mm=wheel.inset_mm + 40.0)
        QTimer.singleShot(0, lambda: document.commit(replace(document.project, wheels=(moved,)), "Inset"))
        press(dialog_of(person).go_on)
        assert window.summary.isHidden()
        assert not window.readings.isHidden()
        assert document.state.wheel == moved
    document.undo()
    person.settle()
    assert not window.summary.isHidden()

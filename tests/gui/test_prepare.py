"""The first start: machine code is made by a child process while the window stays alive."""

from __future__ import annotations

import sys
import time
from pathlib import Path

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QProgressDialog, QPushButton
from pytestqt.qtbot import QtBot

from app import resources
from app.window import main
from tests.gui.conftest import Person


def _child(monkeypatch: pytest.MonkeyPatch, script: str) -> None:
    monkeypatch.setattr(main, "is_prepared", lambda: False)
    monkeypatch.setattr(resources, "program", lambda _: [sys.executable, "-I", "-c", script])


def test_a_prepared_program_asks_nothing(person: Person, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(main, "is_prepared", lambda: True)
    main.prepare(person.window)
    assert not person.window.findChildren(QProgressDialog)


def test_the_dialog_closes_when_the_child_is_done(
    person: Person, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    done = tmp_path / "done"
    _child(monkeypatch, f"import time; time.sleep(0.5); open({str(done)!r}, 'w').close()")
    main.prepare(person.window)
    assert done.exists()


def test_it_can_be_skipped(person: Person, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    _child(monkeypatch, "import time; time.sleep(60)")

    def skip() -> None:
        dialog = QApplication.activeModalWidget()
        assert isinstance(dialog, QProgressDialog)
        (button,) = dialog.findChildren(QPushButton)
        assert button.text() == "Skip"
        button.click()

    QTimer.singleShot(500, skip)
    start = time.monotonic()
    main.prepare(person.window)
    assert time.monotonic() - start < 20.0


def test_a_child_that_cannot_start_does_not_block(person: Person, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(main, "is_prepared", lambda: False)
    monkeypatch.setattr(resources, "program", lambda _: ["/there/is/no/such/program", "x"])
    main.prepare(person.window)

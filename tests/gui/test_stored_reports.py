"""A stored report is marked when its wheel changes, and no longer when that is undone."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog
from pytestqt.qtbot import QtBot

from app.window.settings import Settings
from tests.gui.conftest import Person


def test_an_edit_makes_a_stored_report_stale_and_undo_takes_that_back(
    person: Person, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window, out = person.window, tmp_path / "section.pdf"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_a, **_k: (str(out), ""))
    person.do("report")
    qtbot.waitUntil(out.exists, timeout=20_000)
    label = window.reports.label
    qtbot.wait(1200)
    assert label.text() == ""
    window.document.select_vertex(40)
    person.key(Qt.Key.Key_Right)  # a nudge of 1 mm
    qtbot.waitUntil(lambda: label.text() == "stale: section.pdf", timeout=10_000)
    assert "has changed since" in label.toolTip()
    person.do("undo")
    qtbot.waitUntil(lambda: label.text() == "", timeout=10_000)
    out.unlink()
    person.key(Qt.Key.Key_Right)
    qtbot.wait(1200)
    assert label.text() == ""  # a file that is gone is forgotten


def test_reports_are_kept_by_project_and_wheel(tmp_path: Path) -> None:
    settings = Settings(tmp_path / "window.ini")
    files = [tmp_path / f"{k}.pdf" for k in range(3)]
    for path in files:
        path.write_bytes(b"%PDF")
    settings.remember_report("a", "one", files[0])
    settings.remember_report("a", "two", files[1])
    settings.remember_report("b", "one", files[2])
    assert settings.reports("a", "one") == [files[0]]
    settings.remember_report("a", "two", files[0])  # written over by another wheel's
    assert settings.reports("a", "one") == []
    assert settings.reports("a", "two") == [files[0], files[1]]
    assert Settings(tmp_path / "window.ini").reports("b", "one") == [files[2]]

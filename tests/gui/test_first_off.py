"""The window of a measured first wheel: points read, held anew after an edit, and its page."""

from __future__ import annotations

import threading
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog, QLineEdit

from app.window import first_off_window
from app.window.first_off_window import FirstOffWindow
from geometry.shape.section import Outline, build
from tests.gui.conftest import Person, write


@pytest.fixture
def window(person: Person, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> FirstOffWindow:
    """The window with points that lie 0.20 mm outboard of the shown wheel, read by its button."""
    wheel = person.window.document.wheel
    assert wheel is not None
    built = build(wheel.section)
    assert isinstance(built, Outline)
    pieces = np.flatnonzero(built.skin)
    on = built.path.at(np.repeat(pieces, 2), np.tile([0.3, 0.7], len(pieces))) + np.array([0.2, 0.0])
    path = tmp_path / "points.csv"
    path.write_text("z_mm,r_mm\n" + "".join(f"{z:.6f},{r:.6f}\n" for z, r in on.tolist()), encoding="utf-8")
    person.do("first_off")
    shown = person.window.beside.first_off
    assert shown is not None
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(path), ""))
    QTest.mouseClick(shown.read, Qt.MouseButton.LeftButton)
    person.qtbot.waitUntil(lambda: shown.points is not None, timeout=60_000)
    person.settle()
    return shown


def test_points_are_held_against_the_shown_wheel_and_follow_it(
    person: Person, window: FirstOffWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "Shift of best fit: 0.200 mm outboard, none along r" in window.words.text()
    assert "Form error apart from shift: 0.000 mm" in window.words.text()
    assert window.table.rowCount() == 12
    line = window.face.editor  # the same shift, taken out as a datum
    assert isinstance(line, QLineEdit)
    line.selectAll()
    write(line, "0,2")
    assert "Shift of best fit: none along z, none along r" in window.words.text()
    line.selectAll()
    write(line, "much")
    assert window.found is None
    assert not window.save.isEnabled()
    line.selectAll()
    write(line, "0")
    page = tmp_path / "page.pdf"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(page), ""))
    QTest.mouseClick(window.save, Qt.MouseButton.LeftButton)
    assert page.read_bytes().startswith(b"%PDF")
    before = window.found
    person.window.document.select_vertex(40)
    person.enter(f"{person.vertex(40)[0] + 1.0:.3f}")
    assert window.found is not None
    assert window.found is not before
    assert window.found.found.shifted.form_mm > 0.5
    assert not window.grab().isNull()
    window.close()


def test_it_is_told_in_the_unit_of_the_project(person: Person, window: FirstOffWindow) -> None:
    """0.2 mm are 0.0079 inches; fields and numbers are of one unit."""
    person.do("inch")
    assert "Shift of best fit: 0.0079 in outboard" in window.words.text()
    assert " mm" not in window.words.text()
    assert window.reach.line.text() == "0.118"
    person.do("inch")
    assert "Shift of best fit: 0.200 mm outboard" in window.words.text()


def test_closed_while_it_reads_it_tells_again_what_it_read_before(
    person: Person, window: FirstOffWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before, gate = window.words.text(), threading.Event()
    monkeypatch.setattr(first_off_window, "read_points", lambda *_: gate.wait(60.0))
    window.read_file(tmp_path / "another.csv")
    assert "reading" in window.words.text()
    QTest.keyClick(window, Qt.Key.Key_Escape)
    gate.set()
    person.settle()
    assert not window.isVisible()
    assert before
    assert window.words.text() == before

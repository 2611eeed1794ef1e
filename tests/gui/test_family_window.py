"""New blanks for the roadmap, designed and taken over by mouse and keys."""

from __future__ import annotations

import threading
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit

from app import resources
from app.files.project_file import load
from app.studies.roadmap.coverage import coverage
from app.window import family_window
from app.window.family_window import FamilyWindow
from app.window.main_window import MainWindow
from app.window.settings import Settings
from tests.gui.conftest import write

ROWS = ("R-10", "R-12")


@pytest.fixture
def opened(qtbot: Any, tmp_path: Path) -> tuple[MainWindow, FamilyWindow]:
    """Two must rows of the shipped roadmap, which no blank of the project serves."""
    window = MainWindow(Settings(tmp_path / "window.ini"), tmp_path / "state")
    qtbot.addWidget(window)
    window.show()
    project = load(resources.sample("4-roadmap-36-fitments"))
    rows = tuple(f for f in project.fitments if f.name in ROWS)
    window.document.start(replace(project, blanks=(), fitments=rows))
    window.document.undo_stack.setClean()
    window.actions_by_name["family"].trigger()
    found = window.beside.family
    assert found is not None
    return window, found


def typed(field: Any, text: str) -> None:
    line = field if isinstance(field, QLineEdit) else field.findChild(QLineEdit)
    line.selectAll()
    write(line, text)


def designed(qtbot: Any, found: FamilyWindow) -> None:
    QTest.mouseClick(found.run, Qt.MouseButton.LeftButton)
    assert found.jobs.is_busy
    qtbot.waitUntil(lambda: not found.jobs.is_busy, timeout=60_000)


@pytest.mark.long
def test_new_blanks_are_designed_and_taken_over_in_one_step(
    opened: tuple[MainWindow, FamilyWindow], qtbot: Any
) -> None:
    window, found = opened
    assert "2 fitments" in found.head.text()
    typed(found.stock, "2.1")
    typed(found.fields["lead_weeks"], "20")
    designed(qtbot, found)
    assert found.found is not None
    assert "proven" in found.head.text()
    assert found.table.rowCount() == len(found.found.blanks) >= 1
    items = [found.table.item(k, 3) for k in range(found.table.rowCount())]
    assert {n for item in items if item is not None for n in item.text().split(", ")} == set(ROWS)
    before = window.document.project
    QTest.mouseClick(found.take, Qt.MouseButton.LeftButton)
    project = window.document.project
    assert len(project.blanks) == len(found.found.blanks)
    # What was taken over covers what it was made for, read as any other blank is.
    again = coverage(project)
    assert not again.uncovered
    assert not found.take.isEnabled()
    assert "changed since" in found.note.text()
    window.document.undo()
    assert window.document.project == before
    window.document.undo_stack.setClean()


def test_one_that_is_closed_while_it_designs_can_be_designed_again(
    opened: tuple[MainWindow, FamilyWindow], monkeypatch: pytest.MonkeyPatch
) -> None:
    window, found = opened
    gate = threading.Event()
    monkeypatch.setattr(family_window, "_work", lambda *_: gate.wait(60.0))
    QTest.mouseClick(found.run, Qt.MouseButton.LeftButton)
    assert (found.jobs.is_busy, found.run.text()) == (True, "&Stop")
    QTest.keyClick(found, Qt.Key.Key_Escape)
    assert not found.isVisible()
    gate.set()
    window.actions_by_name["family"].trigger()
    assert (found.jobs.is_busy, found.run.text(), found.note.text()) == (False, "&Design", "stopped")


def test_a_number_that_cannot_be_read_is_said_and_nothing_starts(
    opened: tuple[MainWindow, FamilyWindow],
) -> None:
    _, found = opened
    typed(found.fields["die_cost"], "many")
    QTest.mouseClick(found.run, Qt.MouseButton.LeftButton)
    assert not found.jobs.is_busy
    assert found.note.text()
    assert found.found is None


def test_an_empty_roadmap_says_what_to_do(opened: tuple[MainWindow, FamilyWindow]) -> None:
    window, found = opened
    window.document.commit(replace(window.document.project, fitments=()), "Empty")
    assert "roadmap is empty" in found.head.text()
    assert not found.run.isEnabled()
    window.document.undo_stack.setClean()

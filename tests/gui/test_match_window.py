"""Every wheel against every brake, driven by mouse and keys."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog

from app import resources
from app.files.project_file import load
from app.project.project import Project
from app.studies.match import Match, Pair, as_csv, match
from app.studies.sweep import Over
from app.studies.sweep import window as window_of
from app.views.match_table import BAR, BRAKE, INSETS, SPARE, STATE, WHEEL, Bar
from app.window import match_window
from app.window.main_window import MainWindow
from app.window.match_window import MatchWindow
from app.window.settings import Settings
from geometry.readings.rules import STATES
from tests.gui.conftest import write
from tests.properties.test_match import random_project


@pytest.fixture
def window(qtbot: Any, tmp_path: Path) -> MainWindow:
    """A window with four wheels and three brakes."""
    made = MainWindow(Settings(tmp_path / "window.ini"), tmp_path / "state")
    qtbot.addWidget(made)
    made.show()
    made.document.start(random_project(np.random.default_rng(21), 4, 3))
    made.document.undo_stack.setClean()
    return made


@pytest.fixture
def opened(qtbot: Any, window: MainWindow) -> tuple[MainWindow, MatchWindow]:
    window.actions_by_name["match"].trigger()
    qtbot.waitUntil(
        lambda: window.beside.match is not None and window.beside.match.found is not None, timeout=60_000
    )
    assert window.beside.match is not None
    return window, window.beside.match


def column(found: MatchWindow, k: int) -> list[str]:
    model = found.table.model()
    return [str(model.index(row, k).data()) for row in range(model.rowCount())]


def test_every_pair_is_there_with_sign_and_word_worst_first(opened: tuple[MainWindow, MatchWindow]) -> None:
    window, found = opened
    whole = match(window.document.project)
    assert len(column(found, WHEEL)) == 12
    states = [words.split(" ", 1)[1] for words in column(found, STATE)]
    assert states == sorted(states, key=[str(s) for s in STATES].index)
    by_pair = {(p.wheel, p.shape): str(p.state) for p in whole.pairs}
    shown = zip(column(found, WHEEL), column(found, BRAKE), states, strict=True)
    assert {(wheel, brake): state for wheel, brake, state in shown} == by_pair


@pytest.fixture
def gate(monkeypatch: pytest.MonkeyPatch) -> Iterator[threading.Event]:
    """Hold every match back once its first wheel is read, until this is set."""
    gate = threading.Event()

    def held_back(project: Project, *, came: Callable[[tuple[Pair, ...]], None], **how: Any) -> Match:
        def came_and_wait(pairs: tuple[Pair, ...]) -> None:
            came(pairs)
            assert gate.wait(60.0)

        return match(project, came=came_and_wait, **how)

    monkeypatch.setattr(match_window, "match", held_back)
    yield gate
    gate.set()


def reading(window: MainWindow, qtbot: Any) -> MatchWindow:
    """Return the match that is held back, with the rows of its first wheel."""
    window.actions_by_name["match"].trigger()
    found = window.beside.match
    assert found is not None
    qtbot.waitUntil(lambda: found.table.model().rowCount() == 3, timeout=60_000)
    return found


def test_rows_come_wheel_by_wheel_and_the_current_one_stays(
    window: MainWindow, gate: threading.Event, qtbot: Any
) -> None:
    found = reading(window, qtbot)
    assert found.found is None
    assert found.run.text() == "&Stop"
    assert not found.save.isEnabled()
    last = found.table.model().index(2, BRAKE)
    QTest.mouseClick(
        found.table.viewport(), Qt.MouseButton.LeftButton, pos=found.table.visualRect(last).center()
    )
    chosen = found.table.current_pair()
    assert chosen is not None
    gate.set()
    qtbot.waitUntil(lambda: found.found is not None, timeout=60_000)
    assert found.table.model().rowCount() == 12
    assert found.save.isEnabled()
    assert found.table.current_pair() == chosen


def test_a_match_that_is_closed_while_it_reads_begins_anew_when_it_is_opened(
    window: MainWindow, gate: threading.Event, qtbot: Any
) -> None:
    found = reading(window, qtbot)
    QTest.keyClick(found, Qt.Key.Key_Escape)
    assert not found.isVisible()
    assert not found.jobs.is_busy
    assert (found.run.text(), found.bar.isHidden()) == ("&Read again", True)
    window.actions_by_name["match"].trigger()
    assert found.jobs.is_busy
    gate.set()
    qtbot.waitUntil(lambda: found.found is not None, timeout=60_000)
    assert found.found == match(window.document.project)
    assert found.table.model().rowCount() == 12


def test_a_click_on_a_head_sorts_by_the_number(opened: tuple[MainWindow, MatchWindow]) -> None:
    _, found = opened
    header = found.table.horizontalHeader()
    at = header.sectionViewportPosition(SPARE) + 20
    QTest.mouseClick(header.viewport(), Qt.MouseButton.LeftButton, pos=QPoint(at, header.height() // 2))
    numbers = [float(words.replace("−", "-")) for words in column(found, SPARE)]
    assert numbers in (sorted(numbers), sorted(numbers, reverse=True))
    assert len(set(numbers)) > 1


def test_words_and_state_filter_rows(opened: tuple[MainWindow, MatchWindow]) -> None:
    _, found = opened
    write(found.words, "w1 s2")
    assert list(zip(column(found, WHEEL), column(found, BRAKE), strict=True)) == [("w1", "s2")]
    found.words.clear()
    first = column(found, STATE)[0]
    found.state.setFocus()
    while found.state.currentText() != first:
        before = found.state.currentIndex()
        QTest.keyClick(found.state, Qt.Key.Key_Down)
        assert found.state.currentIndex() == before + 1
    assert set(column(found, STATE)) == {first}


def test_enter_shows_the_section_at_its_tightest_place(opened: tuple[MainWindow, MatchWindow]) -> None:
    window, found = opened
    write(found.words, "w2 s1")
    found.table.setFocus()
    found.table.setCurrentIndex(found.table.model().index(0, 0))
    pair = found.table.current_pair()
    assert pair is not None
    assert pair.at is not None
    QTest.keyClick(found.table, Qt.Key.Key_Return)
    assert window.document.wheel_name == "w2"
    place = window.canvas.sheet.to_pixels(*pair.at)
    assert window.canvas.sheet.rect().contains(place.toPoint())
    assert "s1" in window.statusBar().currentMessage()


def test_a_changed_project_makes_it_stale_until_it_is_read_again(
    opened: tuple[MainWindow, MatchWindow], qtbot: Any
) -> None:
    window, found = opened
    project = window.document.project
    wheels = tuple(replace(w, spacer_mm=w.spacer_mm + 1.0) for w in project.wheels)
    window.document.commit(replace(project, wheels=wheels), "Thicker spacers")
    assert "changed" in found.note.text()
    QTest.mouseClick(found.run, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: "changed" not in found.note.text() and not found.jobs.is_busy, timeout=60_000)
    assert found.found == match(window.document.project)
    window.document.undo_stack.setClean()


def test_it_is_saved_as_a_table(
    opened: tuple[MainWindow, MatchWindow], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window, found = opened
    out = tmp_path / "match.csv"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *args, **how: (str(out), ""))
    QTest.mouseClick(found.save, Qt.MouseButton.LeftButton)
    assert out.read_text("utf-8") == as_csv(match(window.document.project))


def test_windows_of_inset_are_drawn_as_bars_and_sort_by_width(
    opened: tuple[MainWindow, MatchWindow], qtbot: Any
) -> None:
    window, found = opened
    assert set(column(found, INSETS)) == {""}
    whole = load(resources.sample("1-track-18-own-blank"))
    first = whole.wheels[0]
    # Without its blank, and once with a spacer that leaves no spigot: there no inset helps.
    wheels = (replace(first, blank=None), replace(first, name="on a spacer", blank=None, spacer_mm=20.0))
    window.document.start(replace(whole, wheels=wheels))
    assert found.table.isColumnHidden(INSETS)  # the conditions have its room until it is asked for
    QTest.mouseClick(found.insets, Qt.MouseButton.LeftButton, pos=QPoint(8, found.insets.height() // 2))
    QTest.mouseClick(found.run, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: found.found is not None and found.found.has_insets, timeout=120_000)
    assert not found.table.isColumnHidden(INSETS)
    true = {(p.wheel, p.shape): p.insets for p in match(window.document.project, insets=True).pairs}
    assert sum(insets is None for insets in true.values()) == 1
    model = found.table.model()
    for row in range(model.rowCount()):
        key = str(model.index(row, WHEEL).data()), str(model.index(row, BRAKE).data())
        insets, bar = true[key], model.index(row, INSETS).data(BAR)
        if insets is None:
            assert bar is None
            assert model.index(row, INSETS).data() == "none in reach"
        else:
            assert isinstance(bar, Bar)
            assert (bar.low, bar.high) == (insets.low, insets.high)
            assert bar.range_low <= bar.low <= bar.high <= bar.range_high
            tip = str(model.index(row, INSETS).data(Qt.ItemDataRole.ToolTipRole))
            assert "closed" in tip
            spacers = window_of(window.document.project, wheels[0], Over.SPACER, key[1])
            assert spacers is not None
            assert f"Spacer: {spacers.low:.1f} to {spacers.high:.1f}" in tip
    header = found.table.horizontalHeader()
    at = header.sectionViewportPosition(INSETS) + 20
    QTest.mouseClick(header.viewport(), Qt.MouseButton.LeftButton, pos=QPoint(at, header.height() // 2))
    wide = [true[key] for key in zip(column(found, WHEEL), column(found, BRAKE), strict=True)]
    widths = [-1.0 if w is None else w.high - w.low for w in wide]
    assert widths in (sorted(widths), sorted(widths, reverse=True))

"""A spun blank in the window of blanks: chosen, typed, found, shown, added and saved as a person would."""

from __future__ import annotations

from pathlib import Path

import pytest
from ezdxf.filemanagement import readfile
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox, QFileDialog
from pytestqt.qtbot import QtBot

from app.studies.composite import composite
from app.studies.forging_needs import ForgingSettings
from app.studies.spun import spun_blank
from app.window.blank_window import BlankWindow
from tests.gui.conftest import Person, write
from tests.gui.test_blank_window import done, found_once, tick, window
from tests.support import example
from tests.unit.studies.test_composite import group

__all__ = ["found_once", "window"]


def choose_spun(window: BlankWindow) -> None:
    """Open the page on spinning and choose the second entry with the keyboard."""
    window.asked.setCurrentIndex(3)
    editor = window.asked.spinning.spun.editor
    assert isinstance(editor, QComboBox)
    editor.setFocus()
    QTest.keyClick(editor, Qt.Key.Key_Down)


def look(window: BlankWindow, qtbot: QtBot) -> None:
    QTest.mouseClick(window.run, Qt.MouseButton.LeftButton)
    done(qtbot, window)


def test_turned_is_the_first_choice(window: BlankWindow) -> None:
    assert window.spun is None
    assert window.results.spun_ladder.rowCount() == 0


def test_spun_is_found_drawn_added_and_saved(
    window: BlankWindow, qtbot: QtBot, person: Person, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tick(window, "face in")
    tick(window, "face out")
    before = window.picture.grab().toImage()
    choose_spun(window)
    look(window, qtbot)
    settings = ForgingSettings()
    true = spun_blank(group(), composite(group(), [example.WHEEL], settings), settings)
    assert window.spun is not None
    assert f"{true.mass_kg:.2f} kg" in window.head.text()
    assert f"turned {true.turned_kg:.2f} kg" in window.head.text()
    assert "coarse grain" in window.head.text()
    assert "its price is asked" in window.head.text()
    rungs = [window.results.spun_ladder.item(row, 1) for row in range(window.results.spun_ladder.rowCount())]
    assert [item.text() for item in rungs if item is not None] == [f"{kg:.2f}" for _, kg in true.ladder]
    assert window.results.ladder.rowCount() > 0
    loads = [window.results.steps.item(row, 4) for row in range(window.results.steps.rowCount())]
    said = [f"{step.low_mn:.0f} to {step.high_mn:.0f}" for step in true.steps]
    assert [item.text() for item in loads if item is not None] == said
    chips = window.results.wheels.item(0, 3)
    assert chips is not None
    assert chips.text() == f"{true.wheels[0].chips_kg:.2f}"
    assert window.picture.grab().toImage() != before
    for name in ("pages.pdf", "outline.dxf"):
        out = tmp_path / name
        monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args, out=out, **_more: (str(out), ""))
        QTest.mouseClick(window.save, Qt.MouseButton.LeftButton)
        assert name in window.note.text()
    layers = {entity.dxf.layer for entity in readfile(tmp_path / "outline.dxf").modelspace()}
    assert {"SPUN", "PREFORM"} <= layers
    QTest.mouseClick(window.take, Qt.MouseButton.LeftButton)
    assert person.window.document.project.blanks[-1].source.startswith("forged and spun blank of ")


def test_where_there_is_no_spun_blank_the_turned_one_stays_and_it_says_why(
    window: BlankWindow, qtbot: QtBot
) -> None:
    choose_spun(window)
    ring = window.asked.spinning.ring_wall.line
    ring.setFocus()
    write(ring, "12")
    look(window, qtbot)
    assert window.spun is None
    assert window.found is not None
    assert "spinning makes a wall thinner, never thicker" in window.head.text()
    assert f"{window.found.mass_kg:.2f} kg" in window.head.text()


def test_a_bad_number_is_said(window: BlankWindow) -> None:
    choose_spun(window)
    line = window.asked.spinning.reduction.line
    line.selectAll()
    write(line, "99")
    QTest.mouseClick(window.run, Qt.MouseButton.LeftButton)
    assert "reduction in total is 99" in window.note.text()

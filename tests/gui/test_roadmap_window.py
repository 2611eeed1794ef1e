"""The roadmap as a table, driven by mouse, keys and the clipboard."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QLineEdit

from app import language
from app.files.readers.roadmap_file import grid_of
from app.project.project import Compromise, Fitment
from app.project.roadmap_columns import COLUMNS, HEADS
from app.window import roadmap_window
from app.window.dialogs.fitment import FitmentDialog
from app.window.main_window import MainWindow
from app.window.roadmap_window import RoadmapWindow
from tests.gui.conftest import write
from tests.support import example

CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
FITMENTS = (
    Fitment(
        "R-1", car="coupe", width_code=10.0, must=True, first_year=2027, last_year=2032, notes={"by": "me"}
    ),
    Fitment("R-2", car="saloon", width_code=8.0, must=False, first_year=2026, last_year=2030),
    Fitment("R-3", car="estate", inset_low_mm=-5.0),
)


@pytest.fixture
def opened(make_window: Callable[[], MainWindow]) -> tuple[MainWindow, RoadmapWindow]:
    window = make_window()
    window.document.start(replace(example.project(), fitments=FITMENTS))
    window.actions_by_name["roadmap"].trigger()
    assert window.beside.roadmap is not None
    window.beside.roadmap.activateWindow()
    QApplication.processEvents()
    return window, window.beside.roadmap


def at(found: RoadmapWindow, name: str, key: str) -> None:
    """Click on a cell."""
    found.table.go_to(name, key)
    rect = found.table.visualRect(found.table.currentIndex())
    QTest.mouseClick(found.table.viewport(), Qt.MouseButton.LeftButton, pos=rect.center())


def editor(found: RoadmapWindow) -> QLineEdit:
    """The line that is open in the table; those closed before may still be about to go."""
    return next(line for line in found.table.findChildren(QLineEdit) if line.isVisible())


def type_in(found: RoadmapWindow, name: str, key: str, text: str) -> None:
    """Click on a cell, type over it and press Enter."""
    at(found, name, key)
    QTest.keyClick(found.table, Qt.Key.Key_F2)
    line = editor(found)
    line.selectAll()
    write(line, text)
    QTest.keyClick(line, Qt.Key.Key_Return)
    QApplication.processEvents()


def clipboard(text: str) -> None:
    QApplication.clipboard().setText(text)


def paste(found: RoadmapWindow) -> None:
    QTest.keyClick(found.table if found.table.isVisible() else found, Qt.Key.Key_V, CTRL)
    QApplication.processEvents()


def fitment(window: MainWindow, name: str) -> Fitment:
    return next(f for f in window.document.project.fitments if f.name == name)


def steps(window: MainWindow) -> int:
    return window.document.undo_stack.index()


def shown(found: RoadmapWindow, key: str) -> list[str]:
    column = next(k for k, c in enumerate(COLUMNS) if c.key == key)
    model = found.table.model()
    return [str(model.index(row, column).data()) for row in range(model.rowCount())]


# Typing


@pytest.mark.qt_log_ignore("This plugin does not support")
def test_a_closed_word_is_shown_typed_pasted_and_found_in_the_language_of_the_window(
    make_window: Callable[[], MainWindow],
) -> None:
    with language.speaking("de"):
        window = make_window()
        window.document.start(replace(example.project(), fitments=FITMENTS))
        window.actions_by_name["roadmap"].trigger()
        found = window.beside.roadmap
        assert found is not None
        assert shown(found, "must") == ["Muss", "Wunsch", ""]
        type_in(found, "R-3", "must", "muss")
        assert fitment(window, "R-3").must is True
        type_in(found, "R-3", "must", "want")
        assert fitment(window, "R-3").must is False
        at(found, "R-2", "must")
        clipboard("Muss\n")
        paste(found)
        assert fitment(window, "R-2").must is True
        write(found.words, "wunsch")
        assert shown(found, "name") == ["R-3"]
        at(found, "R-3", "must")
        QTest.keyClick(found.table, Qt.Key.Key_F2)
        completer = editor(found).completer()
        assert completer is not None
        offered = completer.model()
        assert [offered.index(k, 0).data() for k in range(offered.rowCount())] == ["Muss", "Wunsch"]


def test_a_typed_cell_is_one_step_and_undo_takes_it_back(opened: tuple[MainWindow, RoadmapWindow]) -> None:
    window, found = opened
    type_in(found, "R-1", "inset_low_mm", "1,5 in")
    assert fitment(window, "R-1").inset_low_mm == 38.1
    assert (steps(window), window.document.undo_stack.undoText()) == (1, "Inset from of R-1")
    assert shown(found, "inset_low_mm") == ["38.1", "", "−5"]
    QTest.keyClick(found.table, Qt.Key.Key_Z, CTRL)
    assert window.document.project.fitments == FITMENTS
    QTest.keyClick(found.table, Qt.Key.Key_Z, CTRL | SHIFT)
    assert fitment(window, "R-1").inset_low_mm == 38.1


def test_a_wrong_text_stays_with_its_words_and_costs_nothing_else(
    opened: tuple[MainWindow, RoadmapWindow],
) -> None:
    window, found = opened
    type_in(found, "R-2", "width_code", "254")
    assert window.document.project.fitments == FITMENTS
    assert shown(found, "width_code") == ["10", "▸ 254", ""]
    assert "R-2, Width code: 254 is too large" in found.note.text()
    assert found.table.model().headerData(1, Qt.Orientation.Vertical, Qt.ItemDataRole.DisplayRole) == "2 ▸"
    type_in(found, "R-2", "car", "wagon")
    type_in(found, "R-1", "width_code", "9 1/2")
    assert (fitment(window, "R-2").car, fitment(window, "R-1").width_code) == ("wagon", 9.5)
    assert shown(found, "width_code") == ["9.5", "▸ 254", ""]
    at(found, "R-2", "width_code")
    QTest.keyClick(found.table, Qt.Key.Key_Escape)
    assert shown(found, "width_code") == ["9.5", "8", ""]
    assert found.isVisible()


def test_cells_that_fit_only_together_are_taken_with_the_second(
    opened: tuple[MainWindow, RoadmapWindow],
) -> None:
    window, found = opened
    type_in(found, "R-2", "first_year", "2034")
    assert "from 2034 to 2030" in found.note.text()
    assert fitment(window, "R-2").first_year == 2026
    type_in(found, "R-2", "last_year", "2038")
    assert (fitment(window, "R-2").first_year, fitment(window, "R-2").last_year) == (2034, 2038)
    assert (steps(window), found.table.rows.wrong) == (1, {})
    type_in(found, "R-3", "compromise.words", "another brake")
    assert "needs the share" in found.note.text()
    type_in(found, "R-3", "compromise.share", "0.7")
    assert fitment(window, "R-3").compromise == Compromise("another brake", share=0.7)


def test_a_name_is_changed_in_its_cell_and_never_doubled(opened: tuple[MainWindow, RoadmapWindow]) -> None:
    window, found = opened
    type_in(found, "R-1", "width_code", "254")
    type_in(found, "R-1", "name", "R-2")
    assert "already" in found.note.text()
    type_in(found, "R-1", "name", "R-9")
    assert [f.name for f in window.document.project.fitments] == ["R-9", "R-2", "R-3"]
    assert fitment(window, "R-9").notes == {"by": "me"}
    assert shown(found, "width_code")[0] == "▸ 254"


def test_another_document_of_the_same_names_starts_without_wrong_texts(
    opened: tuple[MainWindow, RoadmapWindow],
) -> None:
    window, found = opened
    type_in(found, "R-2", "width_code", "254")
    window.document.start(replace(example.project(), fitments=(*FITMENTS[:2], replace(FITMENTS[2], car="x"))))
    assert shown(found, "width_code") == ["10", "8", ""]
    assert found.table.rows.wrong == {}


def test_a_row_that_was_wrong_before_can_still_be_edited(opened: tuple[MainWindow, RoadmapWindow]) -> None:
    window, found = opened
    rows = (Fitment("R-1", volume_low=60, volume_likely=40), *FITMENTS[1:])
    window.document.commit(replace(window.document.project, fitments=rows), "Wrong")
    type_in(found, "R-1", "car", "coupe")
    assert fitment(window, "R-1").car == "coupe"
    assert "do not rise" in found.note.text()


def test_delete_empties_the_selected_cells_in_one_step(opened: tuple[MainWindow, RoadmapWindow]) -> None:
    window, found = opened
    at(found, "R-1", "first_year")
    for key in (Qt.Key.Key_Down, Qt.Key.Key_Right):
        QTest.keyClick(found.table, key, SHIFT)
    QTest.keyClick(found.table, Qt.Key.Key_Delete)
    assert steps(window) == 1
    cleared = [(f.first_year, f.last_year) for f in window.document.project.fitments[:2]]
    assert cleared == [(None, None), (None, None)]


# Rows


def test_rows_are_added_duplicated_and_deleted(opened: tuple[MainWindow, RoadmapWindow]) -> None:
    window, found = opened
    QTest.mouseClick(found.add, Qt.MouseButton.LeftButton)
    line = editor(found)
    write(line, "R-4")
    QTest.keyClick(line, Qt.Key.Key_Return)
    QApplication.processEvents()
    names = [f.name for f in window.document.project.fitments]
    assert names == ["R-1", "R-2", "R-3", "R-4"]
    at(found, "R-1", "car")
    QTest.mouseClick(found.twice, Qt.MouseButton.LeftButton)
    assert window.document.project.fitments[1] == replace(FITMENTS[0], name="R-1 copy")
    at(found, "R-2", "car")
    QTest.keyClick(found.table, Qt.Key.Key_Down, SHIFT)
    QTest.mouseClick(found.delete, Qt.MouseButton.LeftButton)
    assert [f.name for f in window.document.project.fitments] == ["R-1", "R-1 copy", "R-4"]
    assert window.document.undo_stack.undoText() == "Delete 2 rows"


def test_words_narrow_and_a_head_sorts_and_gives_the_order_back(
    opened: tuple[MainWindow, RoadmapWindow],
) -> None:
    _, found = opened
    write(found.words, "want")
    assert shown(found, "name") == ["R-2"]
    found.words.clear()
    header = found.table.horizontalHeader()
    place = QPoint(header.sectionViewportPosition(7) + 20, header.height() // 2)
    orders = []
    for _ in range(3):
        QTest.mouseClick(header.viewport(), Qt.MouseButton.LeftButton, pos=place)
        orders.append(shown(found, "name"))
    assert ["R-2", "R-1", "R-3"] in orders
    assert orders[-1] == ["R-1", "R-2", "R-3"]


def test_a_group_shows_the_names_and_its_columns(opened: tuple[MainWindow, RoadmapWindow]) -> None:
    _, found = opened
    found.group.setFocus()
    QTest.keyClicks(found.group, "comp")
    heads = [COLUMNS[k].head for k in found.table.shown_columns()]
    assert heads[:2] == ["Name", "Compromise"]
    assert len(heads) == 9


def test_a_double_click_opens_the_fitment(opened: tuple[MainWindow, RoadmapWindow]) -> None:
    window, found = opened
    at(found, "R-2", "car")
    rect = found.table.visualRect(found.table.currentIndex())
    QTest.mouseDClick(found.table.viewport(), Qt.MouseButton.LeftButton, pos=rect.center())
    dialog = QApplication.activeModalWidget()
    assert isinstance(dialog, FitmentDialog)
    dialog.car_class.line.setText("club")
    dialog.accept()
    assert fitment(window, "R-2").car_class == "club"


# Clipboard


def test_a_pasted_table_is_shown_by_row_and_only_sound_rows_are_taken_when_asked(
    opened: tuple[MainWindow, RoadmapWindow],
) -> None:
    window, found = opened
    clipboard(
        "Name\tWidth code\tInset from, mm\tFirst year\r\n"
        "R-1\t9,5\t38\t2027\r\n"
        "R-7\t254\t38 kg\t27\r\n"
        "R-8\t10\t1.5 in\t2027\r\n"
    )
    paste(found)
    assert window.document.project.fitments == FITMENTS
    assert [line[:2] for line in found.review.problems.lines[:3]] == [
        ("3", "Width code"),
        ("3", "Inset from, mm"),
        ("3", "First year"),
    ]
    assert found.review.sums.text() == "Of 3 rows 2 are sound (1 new, 1 in the place of R-1); 3 problems."
    assert found.review.take.text() == "Take the 2 sound rows, leave the others"
    QTest.mouseClick(found.review.take, Qt.MouseButton.LeftButton)
    assert [f.name for f in window.document.project.fitments] == ["R-1", "R-2", "R-3", "R-8"]
    assert fitment(window, "R-1") == replace(FITMENTS[0], width_code=9.5, inset_low_mm=38.0)
    assert fitment(window, "R-8").inset_low_mm == 38.1
    assert steps(window) == 1
    assert not found.review.isVisible()
    QTest.keyClick(found.table, Qt.Key.Key_Z, CTRL)
    assert window.document.project.fitments == FITMENTS


def test_none_is_taken_and_the_list_can_be_copied(opened: tuple[MainWindow, RoadmapWindow]) -> None:
    window, found = opened
    clipboard("Name\tBolts\nR-1\tfive\n=1+1\tsix\n")
    paste(found)
    assert not found.review.take.isEnabled()
    QTest.mouseClick(found.review.copy, Qt.MouseButton.LeftButton)
    copied = QApplication.clipboard().text()
    assert grid_of(copied)[1][:2] == ["2", "Bolts"]
    assert not [c for row in copied.splitlines() for c in row.split("\t") if c.startswith("=")]
    QTest.keyClick(found, Qt.Key.Key_Escape)
    assert (found.isVisible(), found.review.isVisible()) == (True, False)
    assert (window.document.project.fitments, steps(window)) == (FITMENTS, 0)


def test_a_block_goes_over_cells_and_makes_rows_below(opened: tuple[MainWindow, RoadmapWindow]) -> None:
    window, found = opened
    at(found, "R-3", "name")
    clipboard("R-3\tPlan\twagon\r\nR-4\t\tcoupe\r\n")
    paste(found)
    assert found.review.take.text() == "Take all 2 rows"
    QTest.keyClick(found.review.take, Qt.Key.Key_Space)
    assert fitment(window, "R-3") == replace(FITMENTS[2], customer="Plan", car="wagon")
    assert fitment(window, "R-4") == Fitment("R-4", car="coupe")
    assert steps(window) == 1


def test_one_cell_goes_into_every_selected_cell(opened: tuple[MainWindow, RoadmapWindow]) -> None:
    window, found = opened
    at(found, "R-1", "use")
    QTest.keyClick(found.table, Qt.Key.Key_Down, SHIFT)
    clipboard("track\r\n")
    paste(found)
    assert [f.use for f in window.document.project.fitments] == ["track", "track", ""]
    assert steps(window) == 1


def test_copied_rows_have_their_heads_and_paste_back_the_same(
    opened: tuple[MainWindow, RoadmapWindow],
) -> None:
    window, found = opened
    at(found, "R-1", "name")
    found.table.selectAll()
    QTest.keyClick(found.table, Qt.Key.Key_C, CTRL)
    grid = grid_of(QApplication.clipboard().text())
    assert (grid[0], [row[0] for row in grid[1:]]) == (list(HEADS), ["R-1", "R-2", "R-3"])
    window.document.commit(replace(window.document.project, fitments=()), "Empty")
    assert found.pages.currentWidget() is found.empty
    paste(found)
    QTest.mouseClick(found.review.take, Qt.MouseButton.LeftButton)
    assert window.document.project.fitments == tuple(replace(f, notes={}) for f in FITMENTS)


def test_a_waiting_table_is_read_again_when_the_project_changes(
    opened: tuple[MainWindow, RoadmapWindow],
) -> None:
    window, found = opened
    clipboard("Name\tWheel that serves it\nR-1\tother\n")
    paste(found)
    assert not found.review.take.isEnabled()
    project = window.document.project
    other = replace(project.wheels[0], name="other")
    window.document.commit(replace(project, wheels=(*project.wheels, other)), "Wheel")
    assert found.review.take.isEnabled()


def test_an_open_quotation_mark_is_said(
    opened: tuple[MainWindow, RoadmapWindow], answer: Callable[[str], list[str]], monkeypatch: Any
) -> None:
    _, found = opened
    said: list[str] = []
    monkeypatch.setattr("app.window.roadmap_window.tell", lambda _w, _t, text: said.append(text))
    clipboard('R-1\t"Club\nR-2\tx\n')
    paste(found)
    assert "never closes" in said[0]


# Files


def test_a_table_is_exported_and_imported(
    opened: tuple[MainWindow, RoadmapWindow], tmp_path: Path, monkeypatch: Any, qtbot: Any
) -> None:
    window, found = opened
    path = tmp_path / "roadmap.csv"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(path), ""))
    QTest.mouseClick(found.write, Qt.MouseButton.LeftButton)
    assert path.read_text(encoding="utf-8-sig").startswith("Name,Customer or plan,Car,")
    window.document.commit(replace(window.document.project, fitments=FITMENTS[:1]), "Fewer")
    QTest.mouseClick(found.take_in, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: found.review.isVisible(), timeout=10_000)
    QApplication.processEvents()
    assert found.review.title.text() == "Table roadmap.csv"
    QTest.mouseClick(found.review.take, Qt.MouseButton.LeftButton)
    assert window.document.project.fitments == FITMENTS


def test_an_empty_roadmap_says_what_to_do(opened: tuple[MainWindow, RoadmapWindow]) -> None:
    window, found = opened
    window.document.start(example.project())
    assert found.empty.isVisible()
    assert "Paste rows from a spreadsheet" in found.empty.text()
    assert found.add.isEnabled()
    assert not found.delete.isEnabled()
    QTest.mouseClick(found.add, Qt.MouseButton.LeftButton)
    assert [f.name for f in window.document.project.fitments] == ["Fitment"]


def test_a_key_begins_to_type_and_parts_are_offered_by_name(
    opened: tuple[MainWindow, RoadmapWindow],
) -> None:
    window, found = opened
    at(found, "R-1", "bolt_count")
    QTest.keyClick(found.table, Qt.Key.Key_5)
    QTest.keyClick(editor(found), Qt.Key.Key_Return)
    QApplication.processEvents()
    assert fitment(window, "R-1").bolt_count == 5
    at(found, "R-1", "shape")
    QTest.keyClick(found.table, Qt.Key.Key_Return)
    offered = editor(found).completer()
    assert offered is not None
    offered.setCompletionPrefix("caliper")
    assert offered.currentCompletion() == example.CALIPER


def test_closed_while_a_table_is_read_its_hint_is_back(
    opened: tuple[MainWindow, RoadmapWindow], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, found = opened
    before, gate = found.note.text(), threading.Event()
    monkeypatch.setattr(roadmap_window, "read_cells", lambda *_: gate.wait(60.0))
    found.import_file(tmp_path / "rows.csv")
    assert "rows.csv" in found.note.text()
    QTest.keyClick(found, Qt.Key.Key_Escape)
    gate.set()
    assert not found.isVisible()
    assert not found.jobs.is_busy
    assert found.note.text() == before

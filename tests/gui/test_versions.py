"""Versions of wheels in the window: made, noted, seen as a tree."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QFontMetricsF
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialogButtonBox, QLineEdit, QTableWidget

from app.views.canvas.content import Words
from app.views.canvas.placing import Box
from app.views.theme import words_font
from app.window.dialogs.new_version import NewVersionDialog
from app.window.dialogs.wheel_details import WheelDetailsDialog
from geometry.shape.boxes import shared
from tests.gui.conftest import Person, write


def dialog_of(
    kind: type[NewVersionDialog] | type[WheelDetailsDialog],
) -> NewVersionDialog | WheelDetailsDialog:
    found = [w for w in QApplication.topLevelWidgets() if isinstance(w, kind) and w.isVisible()]
    assert found
    return found[-1]


def press_ok(dialog: NewVersionDialog | WheelDetailsDialog) -> None:
    button = dialog.buttons.button(QDialogButtonBox.StandardButton.Ok)
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


@pytest.fixture
def versioned(person: Person) -> Person:
    """A version of the first wheel, made with the key of the parts panel."""
    tree = person.window.parts.tree
    tree.setFocus()
    person.window.parts.choose("wheels", person.project.wheels[0].name)
    QTest.keyClick(tree, Qt.Key.Key_Insert, Qt.KeyboardModifier.ShiftModifier)
    person.settle()
    dialog = dialog_of(NewVersionDialog)
    assert isinstance(dialog, NewVersionDialog)
    write(dialog.why.line, "deeper spoke back")
    press_ok(dialog)
    person.settle()
    return person


def test_a_version_is_made_from_the_parts_and_stands_under_its_origin(versioned: Person) -> None:
    first, made = versioned.project.wheels[:2]
    assert (made.made_from, made.why) == (first.name, "deeper spoke back")
    assert versioned.window.document.wheel_name == made.name
    tree = versioned.window.parts.tree
    item = tree.item_of("wheels", made.name)
    assert item is not None
    origin = tree.item_of("wheels", first.name)
    assert origin is not None
    assert item.parent() is origin
    assert origin.isExpanded()
    assert item.toolTip(0) == f"{made.name}: made from {first.name}: deeper spoke back"
    assert versioned.undo_text == f"New version {made.name}"
    versioned.window.document.undo()
    versioned.settle()
    assert tree.item_of("wheels", made.name) is None


def test_why_is_changed_in_the_details(versioned: Person) -> None:
    made = versioned.project.wheels[1]
    versioned.do("details")
    dialog = dialog_of(WheelDetailsDialog)
    assert isinstance(dialog, WheelDetailsDialog)
    assert dialog.origin.made_from.read() == made.made_from
    dialog.origin.why.line.selectAll()
    write(dialog.origin.why.line, "spoke back 1 mm deeper")
    press_ok(dialog)
    versioned.settle()
    assert versioned.project.wheels[1].why == "spoke back 1 mm deeper"
    assert versioned.project.wheels[1].made_from == made.made_from


def moved_back(person: Person, by_mm: float) -> None:
    """Move a vertex of the spoke back by typing, so that metal goes or comes there."""
    person.window.document.select_vertex(40)
    z = person.vertex(40)[0]
    person.enter(f"{z + by_mm:.3f}")


def saved(person: Person, folder: Path) -> None:
    person.window.document.save(folder / "p.blankwright")
    person.settle()


def test_the_meter_says_by_zone_what_changed_since_the_last_save(person: Person, tmp_path: Path) -> None:
    meter = person.window.change_meter
    assert meter.text() == ""
    moved_back(person, 0.5)
    assert meter.text() == ""  # never saved
    saved(person, tmp_path)
    assert meter.text() == ""
    before = person.window.document.state.measurements
    moved_back(person, 0.5)
    after = person.window.document.state.measurements
    assert before is not None
    assert after is not None
    grams = round((after.solid.mass_kg - before.solid.mass_kg) * 1000.0)
    assert grams < -3
    assert meter.text().startswith("since saved: spoke back −")
    assert meter.text().endswith(f"; −{-grams} g in all")
    person.window.canvas.sheet.zoom_to(person.vertex(40), 60.0)
    person.settle()
    person.drag(40, (person.vertex(40)[0] + 3.0, person.vertex(40)[1]))
    assert " g in all" in meter.text()
    assert "spoke back" not in meter.text()
    person.key(Qt.Key.Key_Escape)
    saved(person, tmp_path)
    assert meter.text() == ""


def test_the_last_saved_line_and_the_shaded_difference(person: Person, tmp_path: Path) -> None:
    layers = person.window.canvas.sheet.drawing.versions
    person.key(Qt.Key.Key_P)
    assert layers.words() == ["No saved state of this wheel is known: there is no line of it."]
    saved(person, tmp_path)
    moved_back(person, 0.5)
    person.window.canvas.sheet.setFocus()
    person.key(Qt.Key.Key_X)
    assert layers.words() == [
        "Dotted: as last saved.",
        "Against the last saved state: metal added ///, taken away \\\\\\ (closer).",
    ]
    taken, added, edge = layers.layers[:3]
    assert not taken.path().isEmpty()
    assert not edge.path().isEmpty()
    assert added.path().isEmpty()
    person.window.document.undo()
    person.settle()
    assert taken.path().isEmpty()
    person.window.canvas.sheet.setFocus()
    person.key(Qt.Key.Key_X)
    person.key(Qt.Key.Key_P)
    assert layers.words() == []


def test_compared_versions_bear_their_names_where_they_differ(versioned: Person) -> None:
    moved_back(versioned, 1.0)
    first = versioned.project.wheels[0].name
    versioned.window.document.compare([first])
    versioned.settle()
    (name,) = versioned.window.canvas.sheet.drawing.versions.marks()
    assert isinstance(name, Words)
    assert name.text == first
    z, r = versioned.vertex(40)
    assert name.place == pytest.approx((z - 1.0, r), abs=8.0)


def over(table: QTableWidget) -> dict[str, str]:
    """What changes by more than a threshold, by zone, as the table says it."""
    cells = [[table.item(k, column) for column in (0, 1)] for k in range(table.rowCount())]
    return {zone.text(): words.text() for zone, words in cells if zone is not None and words is not None}


def test_the_table_marks_changes_over_a_threshold(versioned: Person) -> None:
    moved_back(versioned, 0.5)
    versioned.do("versions")
    window = versioned.window.beside.versions
    assert window is not None
    assert window.before.currentText() == versioned.project.wheels[0].name  # what it was made from
    assert "deeper spoke back" in window.head.text()
    rows = over(window.table)
    assert rows["spoke back"].startswith("▲ ")
    assert "mass" in rows["spoke back"]
    assert rows["inner lip"] == ""
    line = window.grams.editor
    assert isinstance(line, QLineEdit)
    line.selectAll()
    write(line, "1000")
    versioned.settle()
    rows = over(window.table)
    assert "mass" not in rows["spoke back"]
    line.selectAll()
    write(line, "many")
    assert "a number is missing" in window.head.text()
    line.selectAll()
    write(line, "5")
    window.before.setCurrentIndex(0)
    assert window.head.text() == "No saved state of this wheel is known: choose two versions."
    window.close()


def test_a_zone_is_taken_back_from_the_last_saved_state_in_one_step(person: Person, tmp_path: Path) -> None:
    saved(person, tmp_path)
    before = person.project
    moved_back(person, 0.7)
    moved = person.project
    assert moved != before
    steps = person.steps
    person.window.canvas.sheet.zoom_to((50.0, 150.0), 120.0)
    person.settle()
    person.do("take_zone")
    person.click(person.at(51.3, 155.0))  # on the spoke back
    row = person.window.canvas.row
    assert row.choice.itemText(row.choice.count() - 1) == "as last saved"
    row.choice.setCurrentIndex(row.choice.count() - 1)
    row.choice.activated.emit(row.choice.count() - 1)
    assert row.message.text().endswith("The spoke back is now that of the last saved state.")
    QTest.keyClick(row.done, Qt.Key.Key_Return)
    person.settle()
    assert person.project == before
    assert (person.steps, person.undo_text) == (steps + 1, "Copy a zone from")
    person.window.document.undo()
    assert person.project == moved
    person.do("take_zone")
    person.key(Qt.Key.Key_Escape)
    assert person.project == moved


def test_a_zone_of_the_locked_contour_is_refused(versioned: Person) -> None:
    versioned.do("take_zone")
    inner = versioned.window.document.state.wheel
    assert inner is not None
    v = inner.section.vertices[24]
    versioned.click(versioned.at(v.z, v.r))
    assert "locked rim contour" in versioned.window.canvas.row.message.text()
    versioned.key(Qt.Key.Key_Escape)
    assert versioned.steps == 1


def test_unsaved_work_that_is_taken_up_is_held_against_its_file(person: Person, tmp_path: Path) -> None:
    saved(person, tmp_path)
    moved_back(person, 0.5)
    work, path = person.project, tmp_path / "p.blankwright"
    person.window.document.start(work, path, modified=True)
    person.settle()
    assert person.window.change_meter.text().startswith("since saved: spoke back −")
    path.unlink()
    person.window.document.start(work, path, modified=True)
    person.settle()
    assert person.window.change_meter.text() == ""


@pytest.mark.parametrize(("name", "told"), [("versions", "head"), ("face", "mass")])
def test_a_closed_window_leaves_a_drag_its_time_and_catches_up_when_it_is_opened(
    versioned: Person, name: str, told: str
) -> None:
    moved_back(versioned, 0.5)
    versioned.do(name)
    window = getattr(versioned.window.beside, name)
    label = getattr(window, told)
    before = label.text()
    window.close()
    moved_back(versioned, -1.5)
    assert label.text() == before
    versioned.do(name)
    assert label.text() != before


def name_box(person: Person, name: str) -> Box:
    """The room of a version's name as it is painted, found by its paper in the drawing."""
    overlay = person.window.canvas.sheet.overlay
    (place,) = [mark for mark in overlay.content.still if isinstance(mark, Words) and mark.text == name]
    width = QFontMetricsF(words_font()).horizontalAdvance(name)
    x = person.at(*place.place).x()
    boxes = [b for b in overlay.taken if abs(b[2] - b[0] - width) < 4.0 and abs(b[0] - x) < width]
    assert len(boxes) == 1
    return boxes[0]


def test_no_handle_covers_the_name_of_a_version(person: Person) -> None:
    """Also where one is brought there: a name stays while it is dragged, and makes room when it is let go."""
    first = person.project.wheels[0]
    other = replace(first, name="Other", inset_mm=first.inset_mm + 6.0)
    person.window.document.start(replace(person.project, wheels=(first, other)))
    person.window.document.compare(["Other"])
    person.settle()
    sheet = person.window.canvas.sheet
    for across in (60.0, 300.0):
        (mark,) = [m for m in sheet.overlay.content.still if isinstance(m, Words) and m.text == "Other"]
        sheet.zoom_to(mark.place, across)
        person.settle()
        assert not shared(np.array([name_box(person, "Other")]), sheet.handles.every_box()).any()
    left, top, right, bottom = name_box(person, "Other")
    middle = sheet.to_place(QPointF((left + right) / 2.0, (top + bottom) / 2.0))
    index = min(
        range(first.section.locked, len(first.section.vertices)),
        key=lambda k: math.dist(person.vertex(k), middle),
    )
    end = person.drag(index, middle)
    assert name_box(person, "Other") == (left, top, right, bottom)
    person.release(end)
    assert name_box(person, "Other") != (left, top, right, bottom)
    assert not shared(np.array([name_box(person, "Other")]), sheet.handles.every_box()).any()

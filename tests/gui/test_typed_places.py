"""A vertex placed by typed values and by keys."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest

from app.units import format_length
from tests.gui.conftest import Person
from tests.support import example

CTRL = Qt.KeyboardModifier.ControlModifier

#: Free vertices of the example: on the barrel's inside, and where the spoke back turns to the hub.
BARREL, BACK = 34, 40


@pytest.fixture(autouse=True)
def near(person: Person) -> None:
    """Look at the lower spoke back, 120 mm across, where a pixel is about 0.2 mm."""
    person.window.canvas.sheet.zoom_to((40.0, 120.0), 120.0)
    person.settle()


def test_boxes_show_two_decimals_but_what_was_typed_as_typed(person: Person) -> None:
    person.window.document.select_vertex(BACK)
    line = person.enter("50.1234")
    assert line.text() == "50.1234"
    assert person.vertex(BACK)[0] == 50.1234
    person.window.document.select_vertex(BARREL)
    assert line.text() == "−133.6"
    person.window.document.select_vertex(BACK)
    assert line.text() == "50.12"


def test_a_click_selects_and_fills_the_boxes(person: Person) -> None:
    person.click(person.at(*person.vertex(BACK)))
    assert person.window.document.selected == BACK
    texts = {name: box.text() for name, box in person.window.canvas.boxes.boxes.items()}
    assert texts == {"z": "50.1", "r": "134", "radius": "18"}
    person.key(Qt.Key.Key_Escape)
    assert person.window.document.selected is None


def test_a_typed_value_beats_the_snap_beside_it(person: Person) -> None:
    person.click(person.at(*person.vertex(BACK)))
    person.enter("0.3")
    assert person.vertex(BACK) == (0.3, 134.0)
    assert person.undo_text == f"Move vertex {BACK + 1}"


def test_a_typed_value_ends_a_drag_and_wins(person: Person) -> None:
    end = person.drag(BACK, (56.0, 140.0))
    person.enter("51,25")
    person.move(end + QPoint(40, 0))
    person.release(end + QPoint(40, 0))
    assert person.vertex(BACK)[0] == 51.25
    assert person.steps == 1


def test_tab_goes_to_the_boxes_and_on(person: Person) -> None:
    boxes = person.window.canvas.boxes.boxes
    person.click(person.at(*person.vertex(BACK)))
    person.key(Qt.Key.Key_Tab)
    assert boxes["z"].hasFocus()
    QTest.keyClicks(boxes["z"], "52")
    person.key(Qt.Key.Key_Tab)
    assert boxes["r"].hasFocus()
    QTest.keyClicks(boxes["r"], "131,5")
    person.key(Qt.Key.Key_Return)
    assert person.vertex(BACK) == (52.0, 131.5)
    assert person.steps == 1
    assert person.window.canvas.sheet.hasFocus()


@pytest.mark.parametrize(
    ("text", "z"),
    [
        ("12,5", 12.5),
        ("5 1/2 in", 139.7),  # 5.5 x 25.4
        ("−3.25", -3.25),
        ("12.7 + 3", 15.7),
        ("50.1", 50.1),
    ],
)
def test_typed_numbers_are_read(person: Person, text: str, z: float) -> None:
    person.window.document.select_vertex(BACK)
    person.enter(text)
    assert person.vertex(BACK)[0] == z


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("9**9**9", "at character 2"),
        ("12.5.3", "one decimal mark"),
        ("abc", "'abc'"),
        ("nan", "'nan'"),
        ("20000", "10 000 mm"),
    ],
)
def test_a_wrong_text_stays_and_says_what_and_where(person: Person, text: str, words: str) -> None:
    person.window.document.select_vertex(BACK)
    line = person.enter(text)
    assert line.text() == text
    message = person.window.canvas.boxes.message.text()
    assert message.startswith("z: ")
    assert words in message
    assert person.steps == 0
    assert line.hasFocus()
    person.key(Qt.Key.Key_Escape)
    assert line.text() == "50.1"
    assert person.window.canvas.boxes.message.text() == ""


def test_a_radius_is_typed_and_a_negative_one_refused(person: Person) -> None:
    person.window.document.select_vertex(BACK)
    person.do("round_vertex")
    assert person.window.canvas.boxes.boxes["radius"].hasFocus()
    person.enter("12", "radius")
    assert person.project.wheels[0].section.vertices[BACK].radius == 12.0
    assert person.undo_text == f"Round vertex {BACK + 1}"
    line = person.enter("-2", "radius")
    assert line.text() == "-2"
    assert "radius: -2 is no radius" in person.window.canvas.boxes.message.text()
    assert person.steps == 1


def test_typed_values_are_taken_when_the_boxes_are_left_by_mouse(person: Person) -> None:
    person.window.document.select_vertex(BACK)
    person.type("53.5")
    person.click(person.at(20.0, 150.0))
    assert person.vertex(BACK) == (53.5, 134.0)


def test_inches_are_shown_and_read(person: Person) -> None:
    person.do("inch")
    person.window.document.select_vertex(BACK)
    boxes = person.window.canvas.boxes
    assert boxes.boxes["r"].text() == format_length(134.0, "in", 3, with_unit=False)
    person.enter("2")
    assert person.vertex(BACK)[0] == 50.8
    person.enter("10 mm")
    assert person.vertex(BACK)[0] == 10.0


def test_arrows_nudge_and_repeated_presses_join(person: Person) -> None:
    person.click(person.at(*person.vertex(BACK)))
    for modifiers in (
        Qt.KeyboardModifier.NoModifier,
        Qt.KeyboardModifier.ShiftModifier,
        CTRL,
        Qt.KeyboardModifier.AltModifier,
    ):
        person.key(Qt.Key.Key_Right, modifiers)
    person.key(Qt.Key.Key_Up)
    assert person.vertex(BACK) == (61.21, 135.0)  # 50.1 + 1 + 10 + 0.1 + 0.01
    assert person.steps == 1
    person.window.document.undo()
    assert person.project == example.project()


def test_nudges_of_two_selections_are_two_steps(person: Person) -> None:
    person.window.document.select_vertex(BACK)
    person.key(Qt.Key.Key_Right)
    person.window.document.select_vertex(BACK + 1)
    person.key(Qt.Key.Key_Right)
    person.window.document.select_vertex(BACK)
    person.key(Qt.Key.Key_Right)
    assert person.steps == 3


def test_nudges_that_cancel_leave_no_step(person: Person) -> None:
    person.window.document.select_vertex(BACK)
    person.key(Qt.Key.Key_Right)
    person.key(Qt.Key.Key_Left)
    assert person.window.document.undo_stack.count() == 0
    assert not person.window.document.is_modified


def test_letters_typed_into_a_box_are_no_commands(person: Person) -> None:
    person.window.document.select_vertex(BACK)
    line = person.type("5 1/2 in")
    assert line.text() == "5 1/2 in"
    assert person.steps == 0
    QTest.keyClick(line, Qt.Key.Key_Escape)

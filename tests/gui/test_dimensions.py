"""Dimensions on the drawing: clicked, typed in place, added and removed by key."""

from __future__ import annotations

import math
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.session.dimensions import Measure, Way
from app.views.canvas.dimension_layout import Laid, Layout
from geometry.shape.boxes import shared
from geometry.shape.held import Dimensioned
from tests.gui.conftest import PLAIN, Person, write
from tests.support import example

SHIFT = Qt.KeyboardModifier.ShiftModifier
BARREL, BACK = 34, 40


def texts(person: Person) -> list[str]:
    return [laid.text for laid in person.window.canvas.sheet.dimensions.laid]


def laid(person: Person, start: str) -> Laid:
    return next(x for x in person.window.canvas.sheet.dimensions.laid if x.text.startswith(start))


def click(person: Person, start: str) -> None:
    """Click the number of the dimension whose text begins so."""
    person.click(laid(person, start).box.center().toPoint())


def write_in(person: Person, text: str) -> None:
    """Write over what stands in the box on the drawing."""
    box = person.window.canvas.dimensioning.box
    assert box.isVisible()
    assert QApplication.focusWidget() is box
    assert box.selectedText() == box.text()
    write(box, text)
    person.settle()


def near(person: Person, z: float, r: float, across: float) -> None:
    person.window.canvas.sheet.zoom_to((z, r), across)
    person.settle()


def test_the_wheels_dimensions_stand_on_it(person: Person) -> None:
    assert {"inset 38.00", "backspace 178.00", "width 254.00", "hub 40.00"} <= set(texts(person))
    assert "overall (280.00)" in texts(person)  # for reference


def test_asking_what_lies_under_the_pointer_lays_nothing_out(
    person: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    layer = person.window.canvas.sheet.dimensions
    assert not layer.shape().isEmpty()

    def broken(*_: object) -> list[Laid]:
        raise RuntimeError("it was asked while nothing can be told of an error")

    with monkeypatch.context() as patch:
        patch.setattr(Layout, "lay", broken)
        layer.set_dimensions((), "mm")
        assert layer.shape().isEmpty()


@pytest.mark.parametrize(
    ("start", "typed", "inset"),
    [
        ("inset", "35,5", 35.5),
        ("inset", "12.7 + 3", 15.7),
        ("inset", '1 1/2"', 38.1),
        ("inset", "-10", -10.0),
        ("backspace", "7 in", 37.8),  # 177.8 - 140
    ],
)
def test_a_driving_one_is_clicked_and_typed(person: Person, start: str, typed: str, inset: float) -> None:
    before = person.project
    click(person, start)
    write_in(person, typed)
    shown = person.window.document.state
    assert shown.dragging  # seen while it is typed
    assert shown.wheel is not None
    assert shown.wheel.inset_mm == pytest.approx(inset)
    assert person.steps == 0
    person.key(Qt.Key.Key_Return)
    assert person.steps == 1
    assert start in person.undo_text
    assert person.project.wheels[0].inset_mm == pytest.approx(inset)
    assert not person.window.canvas.dimensioning.box.isVisible()
    assert QApplication.focusWidget() is person.window.canvas.sheet
    made = person.project
    person.do("undo")
    assert person.project == before
    person.do("redo")
    assert person.project == made


def test_escape_leaves_it_and_so_does_enter_on_nothing_typed(person: Person) -> None:
    click(person, "inset")
    write_in(person, "20")
    person.key(Qt.Key.Key_Escape)
    assert person.window.document.state.project is person.project
    assert person.project == example.project()
    click(person, "inset")
    person.key(Qt.Key.Key_Return)
    assert person.steps == 0
    assert not person.window.canvas.dimensioning.is_typing


def test_a_wrong_text_stays_with_its_reason(person: Person) -> None:
    click(person, "width")
    write_in(person, "260")
    person.key(Qt.Key.Key_Return)
    box = person.window.canvas.dimensioning.box
    assert box.isVisible()
    assert box.text() == "260"
    assert "half inches" in person.status
    write_in_again(person, "254 mmm")
    person.key(Qt.Key.Key_Return)
    assert "at character" in person.status
    assert person.steps == 0
    write_in_again(person, "10 1/2 in")
    person.key(Qt.Key.Key_Return)
    assert str(person.project.wheels[0].size) == "18 x 10.5 J"
    assert "inset is kept" in person.status


def write_in_again(person: Person, text: str) -> None:
    person.window.canvas.dimensioning.box.selectAll()
    write_in(person, text)


def test_a_click_elsewhere_takes_what_was_typed(person: Person) -> None:
    click(person, "inset")
    write_in(person, "36")
    person.click(QPoint(300, 560))
    assert person.project.wheels[0].inset_mm == 36.0
    assert person.steps == 1


def test_a_reference_one_says_why(person: Person) -> None:
    click(person, "overall")
    assert not person.window.canvas.dimensioning.box.isVisible()
    assert "for reference" in person.status
    assert "type the width" in person.status
    assert person.steps == 0


def test_those_of_the_selected_vertex_are_typed(person: Person) -> None:
    near(person, 40.0, 120.0, 120.0)
    person.click(person.at(*person.vertex(BACK)))
    assert {"26.00", "23.51", "R 18.00"} <= set(texts(person))
    click(person, "R 18")
    write_in(person, "15,5")
    person.key(Qt.Key.Key_Return)
    assert person.project.wheels[0].section.vertices[BACK].radius == 15.5
    assert person.window.document.selected == BACK
    click(person, "23.51")
    write_in(person, "25")
    person.key(Qt.Key.Key_Return)
    assert "25.00" in texts(person)
    assert person.steps == 2
    person.do("undo")
    person.do("undo")
    assert person.project == example.project()


def test_two_vertices_and_a_key_add_each_distance_and_take_it_away(person: Person) -> None:
    near(person, 40.0, 120.0, 120.0)
    person.click(person.at(*person.vertex(BACK)))
    where = person.at(*person.vertex(BACK + 1))
    person.press(where, SHIFT)
    person.release(where, SHIFT)
    found = []
    for _ in range(4):
        person.key(Qt.Key.Key_Q)
        found.append(
            [x.dimension for x in person.window.canvas.sheet.dimensions.laid if x.dimension.wanted.b]
        )
    assert [[d.wanted.measure for d in each] for each in found] == [
        [Measure.STRAIGHT], [Measure.ALONG_Z], [Measure.ALONG_R], []
    ]  # fmt: skip
    assert [d.value for each in found for d in each] == pytest.approx([np.hypot(8.3, 22.0), 8.3, 22.0])
    assert "taken away" in person.status
    assert person.project == example.project()
    person.do("undo")
    assert [d.what for d in person.project.wheels[0].dimensions] == [Dimensioned.ALONG_R]
    for _ in range(3):
        person.do("undo")
    assert person.project == example.project()
    assert person.steps == 0


def test_added_ones_are_in_the_file_and_on_its_drawing_again(person: Person, tmp_path: Path) -> None:
    near(person, 40.0, 120.0, 120.0)
    person.window.document.select_group([BACK, BACK + 1])
    person.key(Qt.Key.Key_Q)
    near(person, -70.0, 222.0, 60.0)
    person.window.document.select_vertex(None)
    person.move(person.at(-70.0, 220.2))
    person.key(Qt.Key.Key_Q)
    assert person.window.isWindowModified()
    drawn = texts(person)
    assert "wall 3.80" in drawn
    saved = tmp_path / "with dimensions.blankwright"
    person.window.document.save(saved)
    person.window.document.start(example.project())
    person.settle()
    assert "wall 3.80" not in texts(person)
    person.window.document.open(saved)
    near(person, -70.0, 222.0, 60.0)
    assert texts(person) == drawn
    near(person, 40.0, 120.0, 120.0)
    assert f"{np.hypot(8.3, 22.0):.2f}" in texts(person)


def test_an_added_one_is_typed_and_follows_its_vertices(person: Person) -> None:
    near(person, 40.0, 120.0, 120.0)
    person.window.document.select_group([BACK, BACK + 1])
    for _ in range(3):
        person.key(Qt.Key.Key_Q)
    person.window.document.select_vertex(None)
    person.settle()
    click(person, "22.00")
    write_in(person, "20")
    person.key(Qt.Key.Key_Return)
    assert person.vertex(BACK + 1) == pytest.approx((41.8, 114.0))
    person.window.document.select_vertex(BARREL)
    person.window.canvas._pointer = None
    person.do("insert_vertex")
    person.window.document.select_vertex(None)
    person.settle()
    assert "20.00" in texts(person)  # its vertices are one further on now
    person.do("undo")
    assert "20.00" in texts(person)


def test_an_angle_and_a_wall_are_added(person: Person) -> None:
    near(person, 20.0, 60.0, 120.0)
    person.click(person.at(*person.vertex(46)))
    person.key(Qt.Key.Key_Q)
    assert "90.0°" in texts(person)
    person.key(Qt.Key.Key_Q)
    assert "90.0°" not in texts(person)
    near(person, -70.0, 222.0, 60.0)
    person.window.document.select_vertex(None)
    person.move(person.at(-70.0, 220.2))
    person.key(Qt.Key.Key_Q)
    assert "wall 3.80" in texts(person)
    click(person, "wall")
    write_in(person, "4,5")
    person.key(Qt.Key.Key_Return)
    assert "wall 4.50" in texts(person)
    assert person.steps == 4  # the angle there and away, the wall there and typed


def test_numbers_are_live_in_a_drag_and_hide_no_handle(person: Person) -> None:
    near(person, 40.0, 120.0, 160.0)
    end = person.drag(BACK, (56.0, 140.0))
    v = person.window.document.state.project.wheels[0].section.vertices
    length = f"{np.hypot(v[BACK].z - v[BACK + 1].z, v[BACK].r - v[BACK + 1].r):.2f}"
    assert length in texts(person)
    dimensions = person.window.canvas.sheet.dimensions
    assert not shared(dimensions.boxes(), person.window.canvas.sheet.handles.boxes()).any()
    person.release(end)


def test_no_number_stands_on_another_and_none_is_drawn_where_it_is_too_small(person: Person) -> None:
    document, sheet = person.window.document, person.window.canvas.sheet
    for group in combinations((38, 40, 41, 44, 47, 49), 2):
        document.select_group(group)
        person.key(Qt.Key.Key_Q)
    for across in (90.0, 160.0, 330.0, 900.0):
        near(person, 45.0, 120.0, across)
        boxes = sheet.dimensions.boxes()
        for k in range(len(boxes)):
            hidden = shared(boxes[k : k + 1], np.delete(boxes, k, axis=0))[0, 0]
            assert hidden <= 0.36 * (18.0 * 60.0)
        for x in sheet.dimensions.laid:
            if x.dimension.way is Way.STRAIGHT:
                assert math.dist(x.dimension.a, x.dimension.b) / sheet.mm_per_pixel >= 12.0


def test_keys_hide_them_and_go_through_them(person: Person) -> None:
    person.key(Qt.Key.Key_H)
    assert texts(person) == []
    person.key(Qt.Key.Key_Q)
    assert "hidden" in person.status
    person.key(Qt.Key.Key_H)
    QTest.keyClick(person.window.canvas.sheet, Qt.Key.Key_H, SHIFT)
    person.settle()
    box = person.window.canvas.dimensioning.box
    first = box.accessibleName()
    assert first == "Inset"
    write_in(person, "37")
    QApplication.sendEvent(box, QKeyEvent(QEvent.Type.KeyPress, Qt.Key.Key_Tab, PLAIN, "\t"))
    person.settle()
    assert person.project.wheels[0].inset_mm == 37.0
    assert box.isVisible()
    assert box.accessibleName() == "Backspace"
    person.key(Qt.Key.Key_Escape)
    assert person.steps == 1


def test_inches_are_shown_and_read(person: Person) -> None:
    person.do("inch")
    assert "inset 1.496" in texts(person)
    click(person, "inset")
    write_in(person, "1,5")
    person.key(Qt.Key.Key_Return)
    assert person.project.wheels[0].inset_mm == pytest.approx(38.1)


def test_a_dimension_that_was_gone_comes_back_where_it_stood(person: Person) -> None:
    layer = person.window.canvas.sheet.dimensions
    every, words, first = layer._dimensions, layer.words, laid(person, "inset")

    def again() -> tuple[float, float, float, float]:
        layer.set_dimensions(every, "mm")
        return laid(person, "inset").edges

    layer.words = lambda: np.vstack([words(), first.edges])
    aside = again()
    assert aside != first.edges
    layer.words = words
    assert again() == aside  # nothing jumps
    layer.set_dimensions([d for d in every if d is not first.dimension], "mm")  # as a fault would
    assert not any(text.startswith("inset") for text in texts(person))
    assert again() == aside

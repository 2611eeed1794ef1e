"""The tightest place enlarged while a vertex is dragged."""

from __future__ import annotations

from PySide6.QtCore import QPointF, Qt

from app.views.canvas.magnifier import LEAST, MOST, SIDE_PX
from tests.gui.conftest import Person

SHIFT = Qt.KeyboardModifier.ShiftModifier
BACK = 40


def test_it_stands_away_from_the_pointer_while_a_vertex_is_dragged(person: Person) -> None:
    sheet = person.window.canvas.sheet
    assert sheet.magnifier.box is None
    end = person.drag(BACK, (60.0, 120.0))
    box = sheet.magnifier.box
    assert box is not None
    assert box.width() == SIDE_PX
    assert not box.adjusted(-60.0, -60.0, 60.0, 60.0).contains(QPointF(end))
    assert LEAST <= sheet.magnifier.times <= MOST
    # It keeps its corner while the pointer keeps away, and goes to another when it comes.
    person.move(end + (box.center().toPoint() - end) / 10)
    assert sheet.magnifier.box == box
    person.move(box.center().toPoint())
    moved = sheet.magnifier.box
    assert moved is None or not moved.contains(box.center())
    person.release(end)
    assert sheet.magnifier.box is None


def test_it_is_painted_larger_than_the_drawing(person: Person) -> None:
    """The metal fills the inset's inner side: its colour stands in it where the sheet has paper."""
    sheet = person.window.canvas.sheet
    end = person.drag(BACK, (47.0, 134.0))
    box = sheet.magnifier.box
    assert box is not None
    with_it = sheet.grab().toImage()
    person.key(Qt.Key.Key_T, SHIFT)
    assert sheet.magnifier.box is None
    assert person.window.document.state.dragging
    without = sheet.grab().toImage()
    ratio = with_it.devicePixelRatio()
    steps = range(4, int(SIDE_PX) - 30, 4)
    places = [((box.left() + x) * ratio, (box.top() + y) * ratio) for x in steps for y in steps]
    wheel = person.window.theme.colour("wheel").rgb()
    counts = [sum(p.pixel(int(x), int(y)) == wheel for x, y in places) for p in (with_it, without)]
    assert counts[0] > counts[1] + 100
    person.key(Qt.Key.Key_T, SHIFT)
    assert sheet.magnifier.box is not None
    person.key(Qt.Key.Key_Escape)
    assert sheet.magnifier.box is None
    person.release(end)
    assert person.steps == 0


def test_nothing_is_enlarged_that_is_large_enough(person: Person) -> None:
    sheet, document = person.window.canvas.sheet, person.window.document
    sheet.zoom_to_tightest()
    document.preview(person.project)  # as a number does that is typed into a tool
    person.settle()
    assert sheet.magnifier.box is not None
    sheet.zoom(12)
    document.preview(person.project)
    person.settle()
    assert sheet.magnifier.box is None
    document.cancel()

"""A tablet pen does what the mouse does: hover, click, drag; its barrel button is the right one."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt

from tests.gui.conftest import Person
from tests.support import example
from tests.support.pen import ENTRY, Pen

TIP, BARREL_BUTTON = Qt.MouseButton.LeftButton, Qt.MouseButton.RightButton
BACK = 40

pytestmark = pytest.mark.skipif(ENTRY is None, reason="no way to report a pen to this toolkit")


@pytest.fixture
def pen(person: Person) -> Pen:
    person.window.canvas.sheet.zoom_to((40.0, 120.0), 120.0)
    person.settle()
    return Pen(person.window.canvas.sheet.viewport())


def test_a_pen_over_the_drawing_is_followed(person: Person, pen: Pen) -> None:
    pen.at(person.at(30.0, 100.0))
    person.settle()
    assert "z 30." in person.window.pointer_label.text()
    assert person.steps == 0


def test_a_tap_selects_and_a_shaky_one_moves_nothing(person: Person, pen: Pen) -> None:
    where = person.at(*person.vertex(BACK))
    pen.at(where)
    pen.at(where, TIP)
    pen.at(where + QPoint(1, 1), TIP)  # a hand is not still
    pen.at(where + QPoint(1, 0))
    person.settle()
    assert person.window.document.selected == BACK
    assert person.steps == 0


def test_a_drag_with_the_pen_is_one_step(person: Person, pen: Pen) -> None:
    start, end = person.at(*person.vertex(BACK)), person.at(54.1, 138.0)
    pen.at(start)
    pen.at(start, TIP)
    for k in range(1, 6):
        pen.at(start + (end - start) * k / 5, TIP)
    assert person.window.document.state.dragging
    pen.at(end)
    person.settle()
    assert person.steps == 1
    reach = 5 * person.window.canvas.sheet.mm_per_pixel
    assert person.vertex(BACK) == pytest.approx((54.1, 138.0), abs=reach)
    person.do("undo")
    assert person.project == example.project()


def test_the_barrel_button_edits_nothing(person: Person, pen: Pen) -> None:
    """As the right button of the mouse it never moves a vertex."""
    start = person.at(*person.vertex(BACK))
    pen.at(start)
    pen.at(start, BARREL_BUTTON)
    for k in range(1, 4):
        pen.at(start + QPoint(6 * k, 0), BARREL_BUTTON)
    pen.at(start + QPoint(18, 0))
    person.settle()
    assert person.project == example.project()

"""Every place on the drawing where a number is typed reads a comma, a fraction of an inch and a sum."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit

from tests.gui.conftest import Person, write

BARREL, BACK = 34, 40
FORMS = {"12,5": 12.5, "12.7 + 3": 15.7, '1/2"': 12.7, "1 1/4 in": 31.75, "20 − 1,5": 18.5}


def in_boxes(person: Person, text: str) -> float:
    person.window.document.select_vertex(BACK)
    person.enter(text, "radius")
    return person.project.wheels[0].section.vertices[BACK].radius


def in_the_table(person: Person, text: str) -> float:
    table = person.window.vertices.table
    table.setFocus()
    table.setCurrentIndex(person.window.vertices.model.index(BACK, 2))
    QTest.keyClick(table, Qt.Key.Key_Return)
    editor = QApplication.focusWidget()
    assert isinstance(editor, QLineEdit)
    editor.selectAll()
    write(editor, text)
    QTest.keyClick(editor, Qt.Key.Key_Return)
    person.settle()
    return person.project.wheels[0].section.vertices[BACK].radius


def in_a_tool(person: Person, text: str) -> float:
    person.do("edge")
    v, w = person.vertex(BARREL), person.vertex(BARREL + 1)
    person.click(person.at((v[0] + w[0]) / 2.0, (v[1] + w[1]) / 2.0))
    box = person.window.canvas.row.boxes["length"]
    box.selectAll()
    write(box, text)
    QTest.keyClick(box, Qt.Key.Key_Return)
    person.settle()
    return person.vertex(BARREL + 1)[0] - person.vertex(BARREL)[0]


def on_a_dimension(person: Person, text: str) -> float:
    laid = next(x for x in person.window.canvas.sheet.dimensions.laid if x.text.startswith("inset"))
    person.click(laid.box.center().toPoint())
    write(person.window.canvas.dimensioning.box, text)
    person.key(Qt.Key.Key_Return)
    return person.project.wheels[0].inset_mm


@pytest.mark.parametrize("typed", [in_boxes, in_the_table, in_a_tool, on_a_dimension])
def test_it_is_read(person: Person, typed: Callable[[Person, str], float]) -> None:
    for text, value in FORMS.items():
        assert typed(person, text) == pytest.approx(value, abs=1e-9), text
        assert person.steps == 1
        person.do("undo")


def test_an_angle_is_read(person: Person) -> None:
    person.window.canvas.sheet.zoom_to((40.0, 60.0), 120.0)
    person.window.document.select_vertex(46)
    person.settle()
    for text, value in {"82,5": 82.5, "80 + 1/2": 80.5, "75°": 75.0}.items():
        person.key(Qt.Key.Key_Q)
        laid = next(x for x in person.window.canvas.sheet.dimensions.laid if x.text == "90.0°")
        person.click(laid.box.center().toPoint())
        write(person.window.canvas.dimensioning.box, text)
        person.key(Qt.Key.Key_Return)
        shown = [
            x.dimension.value for x in person.window.canvas.sheet.dimensions.laid if x.text.endswith("°")
        ]
        assert shown == pytest.approx([value], abs=1e-6)
        person.do("undo")
        person.key(Qt.Key.Key_Q)

"""Seating a wheel in its blank by its key: what is said, what changes, and undo."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from tests.gui.conftest import Person
from tests.support import example


def least_stock(person: Person) -> float:
    found = person.window.document.state.measurements
    assert found is not None
    return min(row.least_mm for row in found.stock)


def test_ctrl_4_seats_the_shown_wheel_and_says_how_well(person: Person) -> None:
    document = person.window.document
    before = document.wheel
    assert before is not None
    off = replace(before, seat_mm=before.seat_mm + 6.0)
    document.commit(replace(document.project, wheels=(off, *document.project.wheels[1:])), "Shift it")
    least = least_stock(person)
    QTest.keyClick(person.window, Qt.Key.Key_4, Qt.KeyboardModifier.ControlModifier)
    now = document.wheel
    assert now is not None
    assert least_stock(person) > least + 1.0
    said = person.window.statusBar().currentMessage()
    assert said.startswith("Seated at ")
    assert "least spare stock" in said
    assert "it was" in said
    document.undo()
    assert document.wheel == off


def test_without_a_blank_it_says_what_to_do(person: Person) -> None:
    document = person.window.document
    bare = replace(document.project.wheels[0], blank=None)
    document.commit(replace(document.project, wheels=(bare, *document.project.wheels[1:])), "Take it out")
    QTest.keyClick(person.window, Qt.Key.Key_4, Qt.KeyboardModifier.ControlModifier)
    assert "No blank" in person.window.statusBar().currentMessage()
    assert document.wheel == bare
    assert example.BLANK in {blank.name for blank in document.project.blanks}


def test_a_locked_wheel_is_neither_seated_nor_given_another_size(person: Person) -> None:
    document = person.window.document
    wheel = document.project.wheels[0]
    locked = replace(wheel, seat_mm=wheel.seat_mm + 6.0, locked=True)
    document.commit(replace(document.project, wheels=(locked, *document.project.wheels[1:])), "Lock it")
    steps = person.steps
    for action in ("seat", "change_size"):
        document.say("")
        person.do(action)
        assert f"{wheel.name} is locked; unlock it" in person.window.statusBar().currentMessage()
    assert person.steps == steps
    assert document.wheel == locked

"""Constraints asked in the menu Hold, kept in a drag, listed and let go, by mouse and keys."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.window.constraints_window import ConstraintsWindow
from geometry.shape.held import Constraint, Hold
from tests.gui.conftest import Person, write

SHIFT = Qt.KeyboardModifier.ShiftModifier
#: Vertices of the spoke back, as the document counts; their numbers are one more.
A, B, C = 39, 40, 41


@pytest.fixture(autouse=True)
def near(person: Person) -> None:
    """Look at the spoke back."""
    person.window.canvas.sheet.zoom_to((30.0, 150.0), 150.0)
    person.settle()


def choose(person: Person, *indices: int) -> None:
    person.click(person.at(*person.vertex(indices[0])))
    for index in indices[1:]:
        where = person.at(*person.vertex(index))
        person.press(where, SHIFT)
        person.release(where, SHIFT)


def constraints(person: Person) -> tuple[Constraint, ...]:
    wheel = person.window.document.wheel
    assert wheel is not None
    return wheel.constraints


def listed(person: Person) -> ConstraintsWindow:
    person.do("constraints")
    found = person.window.holding.listed
    assert found is not None
    return found


def test_a_line_square_to_the_axle_is_held_in_a_drag_and_undone(person: Person) -> None:
    before = person.project
    choose(person, A, B)
    person.do("hold_vertical")
    assert constraints(person) == (Constraint(Hold.VERTICAL, (A + 1, B + 1)),)
    assert "Held from now on: square to the axle" in person.status
    assert person.vertex(A)[0] == pytest.approx(person.vertex(B)[0], abs=1e-7)
    assert person.steps == 1
    assert person.window.document.group == (A, B)
    person.window.document.select_vertex(None)
    z, r = person.vertex(B)
    end = person.drag(B, (z + 6.0, r + 2.0))
    shown = person.window.document.state
    assert shown.wheel is not None
    at = shown.wheel.section.vertices
    assert at[A].z == pytest.approx(at[B].z, abs=1e-7)  # while it is dragged
    person.release(end)
    assert person.vertex(B)[0] == pytest.approx(z + 6.0, abs=3.0)
    assert person.vertex(A)[0] == pytest.approx(person.vertex(B)[0], abs=1e-7)
    assert person.steps == 2
    person.window.document.undo()
    person.window.document.undo()
    assert person.project == before
    person.window.document.redo()
    person.window.document.redo()
    assert person.vertex(A)[0] == pytest.approx(person.vertex(B)[0], abs=1e-7)


def test_escape_in_a_drag_leaves_what_is_held(person: Person) -> None:
    choose(person, A, B)
    person.do("hold_distance")
    before = person.project
    end = person.drag(B, (person.vertex(B)[0] + 8.0, person.vertex(B)[1]))
    person.key(Qt.Key.Key_Escape)
    person.release(end)
    assert person.project == before
    assert person.window.document.state.project is before


def test_too_few_vertices_are_said_and_what_is_held_already_too(person: Person) -> None:
    choose(person, A)
    person.do("hold_distance")
    assert "Choose two vertices" in person.status
    assert person.steps == 0
    choose(person, A, B)
    person.do("hold_distance")
    person.do("hold_distance")
    assert "This is held already" in person.status
    assert person.steps == 1
    person.do("hold_along_z")
    person.do("hold_along_r")
    assert "says nothing new beside" in person.status
    assert len(constraints(person)) == 2


def test_numbers_are_changed_and_conflicts_named_in_the_list(person: Person) -> None:
    choose(person, A, B)
    person.do("hold_distance")
    person.do("hold_along_r")
    window = listed(person)
    assert [label.text() for label in window.states] == ["✓ held", "✓ held"]
    field = window.fields[0]
    far = constraints(person)[0].value
    assert far is not None
    field.line.setFocus()
    field.line.selectAll()
    write(field.line, "1")  # shorter than what is held away from the axle
    QTest.keyClick(field.line, Qt.Key.Key_Return)
    person.settle()
    assert "cannot be held together" in window.message.text()
    assert "distance along r" in window.message.text()
    assert constraints(person)[0].value == far
    field = window.fields[0]
    field.line.setFocus()
    field.line.selectAll()
    write(field.line, f"{far + 2.0:.3f}")
    QTest.keyClick(field.line, Qt.Key.Key_Return)
    person.settle()
    assert constraints(person)[0].value == pytest.approx(far + 2.0, abs=1e-3)
    (z0, r0), (z1, r1) = person.vertex(A), person.vertex(B)
    assert ((z1 - z0) ** 2 + (r1 - r0) ** 2) ** 0.5 == pytest.approx(far + 2.0, abs=1e-3)
    steps = person.steps
    QTest.mouseClick(window.removers[1], Qt.MouseButton.LeftButton)
    person.settle()
    assert len(constraints(person)) == 1
    assert person.steps == steps + 1
    person.window.document.undo()
    assert len(constraints(person)) == 2
    assert len(window.states) == 2


def test_a_typed_place_that_cannot_be_is_refused_in_words(person: Person) -> None:
    wheel = person.window.document.wheel
    assert wheel is not None
    person.window.document.select_group([wheel.section.locked - 1, B])
    person.do("hold_along_z")
    before = person.project
    person.window.document.select_vertex(B)
    person.enter("20")
    assert "Nothing was changed" in person.status
    assert person.project == before


def test_marks_stand_where_things_are_held(person: Person) -> None:
    choose(person, A, B)
    person.do("hold_distance")
    person.do("hold_along_z")
    marks = person.window.canvas.sheet.held.marks
    assert [m.words[0] for m in marks] == ["↔", "z"]
    assert all(m.is_held for m in marks)
    (z0, r0), (z1, r1) = person.vertex(A), person.vertex(B)
    assert (marks[0].z, marks[0].r) == pytest.approx(((z0 + z1) / 2.0, (r0 + r1) / 2.0))
    boxes = person.window.canvas.sheet.held.boxes()
    assert not boxes[0].intersects(boxes[1])


def test_a_deleted_vertex_takes_its_constraint_along(person: Person) -> None:
    choose(person, A, B)
    person.do("hold_distance")
    person.window.document.select_vertex(B)
    person.do("delete_vertex")
    assert constraints(person) == ()
    assert "Dropped" in person.status
    person.window.document.undo()
    assert len(constraints(person)) == 1


def test_clear_of_the_nearest_shape(person: Person) -> None:
    choose(person, B)
    person.do("hold_clear")
    held = constraints(person)
    assert [c.kind for c in held] == [Hold.CLEAR]
    gap = held[0].value
    assert gap is not None
    z, r = person.vertex(B)
    person.release(person.drag(B, (z - 25.0, r)))  # into the brake
    assert person.window.canvas.sheet.held.marks[0].is_held
    assert person.vertex(B) != pytest.approx((z - 25.0, r), abs=0.5)


def test_a_shape_that_comes_too_near_is_said_and_named_in_the_list(person: Person) -> None:
    wheel = person.window.document.wheel
    assert wheel is not None
    shape = next(s for s in person.project.shapes if s.name == wheel.clears[0])
    locked = wheel.section.locked - 1
    choose(person, B)
    person.do("hold_clear")
    person.window.document.select_group([locked, B])
    person.do("hold_along_z")
    person.window.document.select_group([locked, B])
    person.do("hold_along_r")
    before = person.vertex(B)
    corners = tuple(replace(c, z=c.z + 6.0) for c in shape.outlines[0].corners)
    nearer = replace(shape, outlines=(replace(shape.outlines[0], corners=corners), *shape.outlines[1:]))
    shapes = tuple(nearer if s is shape else s for s in person.project.shapes)
    person.window.document.commit(replace(person.project, shapes=shapes), "Move the shape")
    assert person.vertex(B) == before
    assert "No longer held: clear of" in person.status
    states = [label.text() for label in listed(person).states]
    assert states[0].startswith("✗ conflict with distance along z")
    assert states[1:] == ["✓ held", "✓ held"]
    assert person.window.canvas.sheet.held.marks[0].words.startswith("✗")


def test_a_locked_wheel_stays_when_a_shape_comes_nearer_and_it_is_said(person: Person) -> None:
    choose(person, B)
    person.do("hold_clear")
    document = person.window.document
    wheel = document.wheel
    assert wheel is not None
    shape = next(s for s in person.project.shapes if s.name == wheel.clears[0])
    corners = tuple(replace(c, z=c.z + 6.0) for c in shape.outlines[0].corners)
    nearer = replace(shape, outlines=(replace(shape.outlines[0], corners=corners), *shape.outlines[1:]))
    shapes = tuple(nearer if s is shape else s for s in person.project.shapes)
    before = person.vertex(B)
    document.commit(replace(person.project, shapes=shapes), "Move the shape")
    assert person.vertex(B) != before
    assert f"{wheel.name} keeps clear of the changed shape." in person.status
    document.undo()
    locked = tuple(replace(w, locked=True) if w is document.wheel else w for w in person.project.wheels)
    document.commit(replace(person.project, wheels=locked), "Lock")
    document.commit(replace(person.project, shapes=shapes), "Move the shape")
    assert person.vertex(B) == before
    assert f"{wheel.name} is locked and stays. No longer held: clear of" in person.status
    assert listed(person).states[0].text().startswith("✗")


def test_the_vertex_chosen_last_stays_the_last_when_something_is_held(person: Person) -> None:
    choose(person, B, A)
    assert person.window.document.selected == A
    person.do("hold_distance")
    assert person.window.document.group == (A, B)
    assert person.window.document.selected == A


def test_what_cannot_be_held_is_said_in_inches_where_they_are_shown(person: Person) -> None:
    person.window.document.commit(replace(person.project, display_unit="in"), "Inches")
    choose(person, A, B)
    person.do("hold_distance")
    person.do("hold_along_r")
    window = listed(person)
    line = window.fields[0].line
    line.setFocus()
    line.selectAll()
    write(line, "0.1")  # shorter than what is held away from the axle
    QTest.keyClick(line, Qt.Key.Key_Return)
    person.settle()
    (_, r0), (_, r1) = person.vertex(A), person.vertex(B)
    assert "distance 0.1 in" in window.message.text()
    assert f"distance along r {abs(r1 - r0) / 25.4:.3f} in" in window.message.text()
    person.window.document.undo()  # the distance alone
    choose(person, B)
    z, _ = person.vertex(B)
    person.enter(f"{(z + 2.0) / 25.4:.3f}")
    assert " in from where it was put" in person.status
    assert " mm" not in person.status

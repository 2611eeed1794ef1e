"""The window of parameters and what is driven, by mouse and keys."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit

from app.window.parameters_rows import ParameterRow
from app.window.parameters_window import ParametersWindow
from tests.gui.conftest import Person, write

#: A vertex of the spoke back, as the document counts; its number is one more.
BACK = 40


@pytest.fixture
def panel(person: Person) -> ParametersWindow:
    """The window of parameters over the example, with the spoke back large on the drawing."""
    person.window.canvas.sheet.zoom_to((30.0, 150.0), 150.0)
    person.do("parameters")
    person.settle()
    opened = person.window.beside.parameters
    assert opened is not None
    return opened


def fill(person: Person, line: QLineEdit, text: str) -> None:
    line.setFocus()
    line.selectAll()
    QTest.keyClick(line, Qt.Key.Key_Delete)
    write(line, text)
    person.settle()


def add(person: Person, panel: ParametersWindow, name: str, text: str) -> ParameterRow:
    panel.add_button.click()
    row = panel.rows[-1]
    fill(person, row.name, name)
    fill(person, row.formula, text)
    QTest.keyClick(row.formula, Qt.Key.Key_Return)
    person.settle()
    return panel.rows[-1]


def choose(person: Person, row: ParameterRow, words: str) -> None:
    """Choose an entry of a row's menu."""
    entry = next(a for a in row.menu.actions() if a.text() == words)
    entry.trigger()
    person.settle()


def driven(person: Person, panel: ParametersWindow, text: str = "50,5") -> ParameterRow:
    """Let a parameter drive z of the vertex."""
    row = add(person, panel, "back", text)
    person.click(person.at(*person.vertex(BACK)))
    choose(person, row, f"Drive z of vertex {BACK + 1}")
    return panel.rows[0]


def test_a_formula_drives_a_vertex_and_each_is_a_step(person: Person, panel: ParametersWindow) -> None:
    before = person.project
    row = driven(person, panel)
    assert row.value.text() == "50.50 mm"
    assert row.drive_button.text() == f"z of vertex {BACK + 1}"
    assert person.vertex(BACK)[0] == 50.5
    assert person.steps == 2
    person.window.document.undo()
    assert person.vertex(BACK)[0] != 50.5
    person.window.document.undo()
    assert person.project == before
    assert panel.rows == []
    person.window.document.redo()
    person.window.document.redo()
    assert person.vertex(BACK)[0] == 50.5
    assert panel.rows[0].formula.text() == "50,5"


def test_the_drawing_follows_what_is_typed_and_escape_puts_it_back(
    person: Person, panel: ParametersWindow
) -> None:
    row = driven(person, panel)
    fill(person, row.formula, "2 * 25")
    shown = person.window.document.state
    assert shown.dragging
    assert shown.wheel is not None
    assert shown.wheel.section.vertices[BACK].z == 50.0
    assert row.value.text() == "50.00 mm"
    QTest.keyClick(row.formula, Qt.Key.Key_Escape)
    person.settle()
    assert panel.isVisible()
    assert panel.rows[0].formula.text() == "50,5"
    assert person.vertex(BACK)[0] == 50.5
    assert not person.window.document.state.dragging
    assert person.steps == 2


def test_what_is_wrong_stands_under_its_row_and_the_drawing_stays(
    person: Person, panel: ParametersWindow
) -> None:
    row = driven(person, panel)
    fill(person, row.formula, "back + tilt")
    assert "goes round in a circle: back → back" in row.error.text()
    assert row.error.isVisible()
    QTest.keyClick(row.formula, Qt.Key.Key_Return)
    assert person.steps == 2
    assert person.vertex(BACK)[0] == 50.5
    fill(person, row.formula, "30 deg")
    assert "an angle, where a length is needed" in row.error.text()
    fill(person, row.formula, "51")
    QTest.keyClick(row.formula, Qt.Key.Key_Return)
    assert row.error.text() == ""
    assert person.vertex(BACK)[0] == 51.0
    assert person.undo_text == "Change parameter back"


def test_a_drag_of_what_is_driven_says_by_what_and_offers_to_release(
    person: Person, panel: ParametersWindow
) -> None:
    driven(person, panel)
    panel.close()
    offer = person.window.driven_offer
    z, r = person.vertex(BACK)
    end = person.drag(BACK, (z - 5.0, r + 6.0))
    assert "z 50.50 " in person.window.move_label.text()
    assert "dz +0.00 " in person.window.move_label.text()
    person.release(end)
    now = person.vertex(BACK)
    assert now[0] == 50.5  # along the axle it stays, away from it it follows
    assert now[1] == pytest.approx(r + 6.0, abs=0.5)
    assert offer.isVisible()
    assert offer.words.text() == f"Z of vertex {BACK + 1} is driven by back."
    assert "driven by back" in person.window.statusBar().currentMessage()
    QTest.mouseClick(offer.release_button, Qt.MouseButton.LeftButton)
    person.settle()
    assert not offer.isVisible()
    assert person.undo_text == f"Release z of vertex {BACK + 1}"
    person.release(person.drag(BACK, (z - 5.0, r + 6.0)))
    assert person.vertex(BACK)[0] == pytest.approx(z - 5.0, abs=0.5)
    person.window.document.undo()
    person.window.document.undo()
    person.release(person.drag(BACK, (z - 5.0, r)))
    assert offer.isVisible()
    person.window.canvas.sheet.setFocus()
    person.key(Qt.Key.Key_Escape)
    assert not offer.isVisible()


def test_a_driven_number_that_is_typed_stays_too(person: Person, panel: ParametersWindow) -> None:
    driven(person, panel)
    steps = person.steps
    box = person.window.canvas.boxes.boxes["z"]
    fill(person, box, "40")
    QTest.keyClick(box, Qt.Key.Key_Return)
    person.settle()
    assert person.vertex(BACK)[0] == 50.5
    assert person.steps == steps
    assert person.window.driven_offer.isVisible()


def test_a_wall_between_two_places_is_driven(person: Person, panel: ParametersWindow) -> None:
    row = add(person, panel, "wall", "3 + lip")
    assert "no parameter called lip" in row.error.text()
    assert person.steps == 0
    add(person, panel, "lip", "1/2 in")
    row = panel.rows[0]
    assert row.value.text() == "15.70 mm"
    assert person.steps == 1
    person.window.document.select_group([BACK, BACK + 1])
    person.settle()
    choose(person, row, f"Drive wall from vertex {BACK + 1} to vertex {BACK + 2}")
    (z0, r0), (z1, r1) = person.vertex(BACK), person.vertex(BACK + 1)
    assert ((z1 - z0) ** 2 + (r1 - r0) ** 2) ** 0.5 == pytest.approx(15.7, abs=1e-9)


def test_a_renamed_parameter_is_followed_and_a_removed_one_is_missed(
    person: Person, panel: ParametersWindow
) -> None:
    add(person, panel, "lip", "4")
    add(person, panel, "wall", "2 * lip")
    fill(person, panel.rows[0].name, "edge")
    QTest.keyClick(panel.rows[0].name, Qt.Key.Key_Return)
    person.settle()
    assert panel.rows[1].formula.text() == "2 * edge"
    wheel = person.window.document.wheel
    assert wheel is not None
    assert [p.formula for p in wheel.parameters] == ["4", "2 * edge"]
    panel.rows[0].remove_button.click()
    person.settle()
    assert "no parameter called edge" in panel.rows[0].error.text()
    assert wheel is person.window.document.wheel


def test_a_deleted_vertex_takes_its_drive_along_and_undo_brings_it_back(
    person: Person, panel: ParametersWindow
) -> None:
    driven(person, panel)
    panel.close()
    person.click(person.at(*person.vertex(BACK)))
    person.do("delete_vertex")
    wheel = person.window.document.wheel
    assert wheel is not None
    assert wheel.parameters[0].drives == ()
    assert "drives no more" in person.window.statusBar().currentMessage()
    person.window.document.undo()
    wheel = person.window.document.wheel
    assert wheel is not None
    assert len(wheel.parameters[0].drives) == 1


def test_a_value_that_constraints_do_not_allow_is_said_under_its_row(
    person: Person, panel: ParametersWindow
) -> None:
    row = driven(person, panel)
    wheel = person.window.document.wheel
    assert wheel is not None
    person.window.document.select_group([wheel.section.locked - 1, BACK])
    person.do("hold_distance")
    person.window.document.select_group([BACK - 1, BACK])
    person.do("hold_horizontal")  # along r it may still give way
    steps = person.steps
    fill(person, row.formula, "500")
    assert "held" in row.error.text()
    QTest.keyClick(row.formula, Qt.Key.Key_Return)
    assert person.steps == steps
    assert person.vertex(BACK)[0] == 50.5


def test_a_drive_that_cannot_be_while_another_row_is_wrong_is_not_shown(
    person: Person, panel: ParametersWindow
) -> None:
    row = add(person, panel, "lip", "6,5")
    add(person, panel, "back", "lip*2 +")
    person.click(person.at(*person.vertex(BACK)))
    nothing = row.drive_button.text()
    choose(person, row, f"Drive z of vertex {BACK + 1}")
    assert row.drive_button.text() == nothing
    assert row.drives == ()
    assert panel.rows[1].error.isVisible()

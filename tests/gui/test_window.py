"""The window's actions and views."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QApplication, QDialogButtonBox, QLineEdit, QTableWidget
from pytestqt.qtbot import QtBot

from app.session.edited import Edited, Kind
from app.units import format_length
from app.views.canvas.content import Callout
from app.views.vertex_model import HEADS
from app.window import actions
from app.window.main_window import MainWindow
from geometry.readings.measure import GapRow, StockRow, WallRow
from geometry.shape.section import Zone
from tests.gui.conftest import Person
from tests.support import example

BACK = 40


# Actions


def test_every_action_has_its_own_key_and_method(person: Person) -> None:
    every = actions.every()
    assert len({a.name for a in every}) == len(every)
    assert all(a.key and not QKeySequence(a.key).isEmpty() for a in every)
    for one, other in itertools.combinations(every, 2):
        assert QKeySequence(one.key) != QKeySequence(other.key), f"{one.name} and {other.name} share a key"
    for action in every:
        assert callable(actions.method(person.window, action.method)), action.name
        assert action.text.replace("&", "")[0].isupper()


def test_help_lists_every_action_with_its_key(person: Person) -> None:
    person.do("keys")
    dialog = QApplication.activeModalWidget()
    assert dialog is not None
    table = dialog.findChild(QTableWidget)
    assert table is not None
    keys = {str(table.model().index(row, 2).data()) for row in range(table.rowCount())}
    assert {
        QKeySequence(a.key).toString(QKeySequence.SequenceFormat.NativeText) for a in actions.every()
    } <= keys
    search = dialog.findChild(QLineEdit)
    assert search is not None
    search.setText("tightest")
    assert sum(not table.isRowHidden(row) for row in range(table.rowCount())) == 1
    dialog.close()


def test_the_caution_stands_in_the_window(person: Person) -> None:
    person.do("about")
    box = QApplication.activeModalWidget()
    assert box is not None
    assert "not a strength, fatigue, impact or approval statement" in box.informativeText()  # type: ignore[attr-defined]
    box.close()


# Views


def test_one_number_on_canvas_and_panel(person: Person) -> None:
    found = person.window.document.state.measurements
    assert found is not None
    rows: list[GapRow | WallRow | StockRow] = [*found.gap, *found.wall, *found.stock]
    judged = [row for row in rows if row.spare_mm is not None]
    worst = min(judged, key=lambda row: row.spare_mm or 0.0)
    number = format_length(worst.least_mm, "mm", 2, with_unit=False)
    callouts = [m for m in person.window.canvas.sheet.overlay.content.marks if isinstance(m, Callout)]
    assert [m.number.split()[-1] for m in callouts] == [number.replace("-", "−")]
    assert number in person.window.readings.copied_text()


def test_zoom_to_the_tightest_place_and_fit(person: Person) -> None:
    sheet = person.window.canvas.sheet
    before = sheet.mm_per_pixel
    person.key(Qt.Key.Key_T)
    assert sheet.mm_per_pixel < before / 4
    person.key(Qt.Key.Key_F)
    assert sheet.mm_per_pixel == pytest.approx(before)
    (z0, z1), (r0, r1) = sheet.box.viewRange()
    assert (z1 - z0) / (r1 - r0) == pytest.approx(sheet.box.rect().width() / sheet.box.rect().height())
    assert sheet.to_pixels(10.0, 100.0).x() > sheet.to_pixels(-10.0, 100.0).x()  # outboard right
    assert sheet.to_pixels(0.0, 0.0).y() > sheet.to_pixels(0.0, 100.0).y()  # axle line low


def test_the_status_line_tells_z_r_and_diameter(person: Person) -> None:
    person.move(person.at(20.0, 100.0))
    z, r = person.window.canvas._pointer or (0.0, 0.0)
    text = person.window.pointer_label.text()
    assert text == f"z {z:.2f}   r {r:.2f}   ⌀ {2 * r:.2f} mm"
    person.do("inch")
    person.move(person.at(25.4, 101.6))
    assert person.window.pointer_label.text().endswith(" in")


def test_the_dark_theme_is_remembered(person: Person, make_window: Callable[[], MainWindow]) -> None:
    person.do("dark")
    assert person.window.theme.dark
    sheet = person.window.canvas.sheet
    assert sheet.backgroundBrush().color().name().upper() == "#1E2126"
    assert make_window().theme.dark
    person.do("dark")
    assert sheet.backgroundBrush().color().name().upper() == "#FBFAF7"


def test_inches_are_a_step_that_the_file_keeps(person: Person) -> None:
    person.do("inch")
    assert person.project.display_unit == "in"
    assert person.undo_text == "Show inches"
    assert person.window.isWindowModified()
    assert "the project keeps this unit" in person.status
    person.do("undo")
    assert not person.window.actions_by_name["inch"].isChecked()


def test_no_key_means_one_thing_in_the_parts_and_another_in_the_window(person: Person) -> None:
    """Only Del is on both lists: it deletes what has the keys."""
    window = person.window
    here = {QKeySequence(a.text().split("\t")[1]).toString() for a in window.parts.actions_by_name.values()}
    there = {a.shortcut().toString() for a in window.actions_by_name.values()}
    assert here & there == {"Del"}


def test_a_new_window_shows_the_zones_whole(make_window: Callable[[], MainWindow], qtbot: QtBot) -> None:
    window = make_window()
    window.resize(1480, 920)
    window.document.start(example.project())
    qtbot.wait(10)
    table = window.vertices.table
    zone = HEADS.index("zone")
    assert table.columnViewportPosition(zone) + table.columnWidth(zone) <= table.viewport().width()

    strip = window.strip
    assert strip.along.geometry().right() <= strip.width()
    assert strip.along.width() >= strip.along.sizeHint().width()


def test_buttons_of_dialogs_have_no_foreign_pictures(qtbot: QtBot) -> None:
    box = QDialogButtonBox(QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel)
    qtbot.addWidget(box)
    assert all(button.icon().isNull() for button in box.buttons())


def test_the_required_gap_line_follows_the_zone(person: Person) -> None:
    rules = person.project.rule_sets[0]
    wider = replace(rules, gap=(*rules.gap, replace(rules.gap[0], paper_mm=9.0, zone=Zone.WELL)))
    person.window.document.commit(replace(person.project, rule_sets=(wider,)), "Widen")

    def words() -> list[str]:
        return [str(getattr(m, "text", "")) for m in person.window.canvas.sheet.overlay.content.marks]

    assert any(text.startswith("needs 9.0") for text in words())  # the largest, while no zone is chosen
    person.window.document.select_zone("barrel")
    assert any(text.startswith("needs 3.0") for text in words())
    person.window.document.select_zone("well")
    assert any(text.startswith("needs 9.0") for text in words())


def test_the_skin_of_a_blank_is_drawn_inside_it(person: Person) -> None:
    layers = person.window.canvas.sheet.drawing._layers
    assert layers["blank skin"].path().isEmpty()
    blank = replace(person.project.blanks[0], skin_mm=3.0)
    person.window.document.commit(replace(person.project, blanks=(blank,)), "Skin")
    outside, inside = (layers[name].path().controlPointRect() for name in ("blank edge", "blank skin"))
    assert outside.right() - inside.right() == pytest.approx(3.0, abs=0.05)
    assert inside.top() == 0.0  # no skin on the axle line


def test_a_spacer_moves_wheel_blank_and_handles_but_no_shape(person: Person) -> None:
    layers = person.window.canvas.sheet.drawing._layers
    names = ("wheel edge", "blank edge", "shape edge")
    before = [layers[name].path().controlPointRect().left() for name in names]
    wheel = replace(person.project.wheels[0], spacer_mm=5.0)
    person.window.document.commit(replace(person.project, wheels=(wheel,)), "Spacer")
    after = [layers[name].path().controlPointRect().left() for name in names]
    assert [b - a for a, b in zip(before, after, strict=True)] == pytest.approx([5.0, 5.0, 0.0])
    handles = person.window.canvas.sheet.handles
    assert handles._places[BACK].tolist() == pytest.approx([55.1, 134.0])
    planes = [p.text for p in person.window.canvas.sheet.overlay.content.planes]
    assert planes == ["mounting face", "rim centre plane, inset 38.0 mm", "hub face"]


def test_what_is_missing_is_said_on_the_sheet(person: Person) -> None:
    bare = replace(person.project.wheels[0], blank=None, clears=(), rules=None)
    person.window.document.commit(replace(person.project, wheels=(bare,)), "Bare")
    assert person.window.canvas.sheet.overlay.content.hints == [
        "No blank: choose or draw one.",
        "No stay-out shape: choose what this wheel must clear.",
        "No rule set: choose one.",
    ]


def test_edit_blank_and_shape_by_key(person: Person) -> None:
    document = person.window.document
    person.do("edit_blank")
    assert document.edited == Edited(Kind.BLANK, example.BLANK)
    person.do("edit_shape")
    assert document.edited == Edited(Kind.SHAPE, example.CALIPER)
    person.do("edit_wheel")
    assert document.edited == Edited(Kind.WHEEL, example.WHEEL)


def test_removing_the_shown_wheel_shows_another(person: Person) -> None:
    document = person.window.document
    two = (*person.project.wheels, replace(person.project.wheels[0], name="Second"))
    document.commit(replace(person.project, wheels=two), "Duplicate wheel")
    person.do("next_wheel")
    assert document.wheel_name == "Second"
    document.commit(replace(person.project, wheels=two[:1]), "Delete wheel")
    assert document.wheel_name == example.WHEEL
    document.commit(replace(person.project, wheels=(replace(two[0], name="Renamed"),)), "Rename wheel")
    assert document.wheel_name == "Renamed"
    document.undo()
    assert document.wheel_name == example.WHEEL
    document.commit(replace(person.project, wheels=()), "Delete wheel")
    assert document.wheel_name is None
    assert document.state.measurements is None


@pytest.mark.parametrize("width", [1300, 1400])
def test_units_stand_beside_the_coordinate_boxes(person: Person, width: int) -> None:
    person.window.resize(width, 800)
    person.settle()
    boxes = person.window.canvas.boxes
    for box, unit in zip(boxes.boxes.values(), boxes._units, strict=True):
        assert not box.geometry().intersects(unit.geometry())
        assert box.width() >= box.fontMetrics().horizontalAdvance("−178.05") + 12

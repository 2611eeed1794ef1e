"""Vertices edited on the sheet with mouse and keys."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtTest import QTest

from app.files.project_file import load
from app.resources import sample
from app.session.edited import Edited, Kind
from app.views.canvas.handles import HIT_PX
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


def test_the_vertices_are_the_ones_meant(person: Person) -> None:
    assert person.vertex(BACK) == (50.1, 134.0)
    assert person.vertex(BARREL) == (-133.6, 220.2)


def test_a_drag_is_one_step_with_live_readings(person: Person) -> None:
    window = person.window
    before = window.document.state.measurements
    end = person.drag(BACK, (54.1, 138.0))
    during = window.document.state
    assert during.dragging
    assert during.measurements is not None
    assert during.measurements != before
    assert person.steps == 0
    person.release(end)
    assert person.steps == 1
    assert person.undo_text == f"Move vertex {BACK + 1}"
    z, r = person.vertex(BACK)
    # The pointer works on whole pixels, and the grid is at most 4 pixels wide.
    reach = 5 * window.canvas.sheet.mm_per_pixel
    assert (z, r) == pytest.approx((54.1, 138.0), abs=reach)
    window.document.undo()
    assert person.project == example.project()
    window.document.redo()
    assert person.vertex(BACK) == (z, r)


def test_the_list_of_readings_keeps_its_lines_and_its_place_in_a_drag(person: Person) -> None:
    person.window.document.start(load(sample("1-track-18-own-blank")))
    person.settle()
    person.window.canvas.sheet.zoom_to((40.0, 120.0), 120.0)
    model, bar = person.window.readings.model, person.window.readings.tree.verticalScrollBar()
    bar.setValue(bar.maximum() // 2)
    resets = []
    model.modelReset.connect(lambda: resets.append(person.window.document.state.dragging))
    keys, at = [line.key for line in model._lines], bar.value()
    stones = next(line for line in model._lines if line.key.startswith("stones"))
    assert stones.value
    end = person.drag(BACK, (52.1, 136.0))
    assert person.window.document.state.dragging
    assert ([line.key for line in model._lines], bar.value(), resets) == (keys, at, [])
    waiting = model.line(model.find(stones.key))
    assert waiting is not None
    assert (waiting.value, waiting.aside, waiting.known, waiting.place) == ("", "on release", False, None)
    person.release(end)
    assert all(line.aside != "on release" for line in model._lines)


def test_what_lies_under_the_wheel_is_drawn_once_in_a_drag(person: Person) -> None:
    sheet, document = person.window.canvas.sheet, person.window.document
    wheel = replace(document.project.wheels[0], tyre="245/40R18")
    document.commit(replace(document.project, wheels=(wheel, *document.project.wheels[1:])), "Tyre")
    person.settle()
    before = [layer.changes for layer in sheet.drawing.ground]
    end = person.drag(BACK, (54.1, 138.0))
    assert document.state.wheel is not None
    assert document.state.wheel.vertices != wheel.vertices
    assert [layer.changes for layer in sheet.drawing.ground] == before
    person.release(end)
    document.commit(replace(document.project, wheels=(replace(wheel, inset_mm=40.0),)), "Inset")
    person.settle()
    assert [layer.changes for layer in sheet.drawing.ground] != before


def test_a_drag_tells_place_and_change_and_what_they_cost(person: Person) -> None:
    """The status line has z, r, dz, dr of the vertex; the header the mass and its change."""
    window = person.window
    window.say("Saved before.")
    before = window.document.state.measurements
    assert before is not None
    assert window.summary.mass.text() == f"{before.solid.mass_kg:.2f} kg"
    z0, r0 = person.vertex(BACK)
    end = person.drag(BACK, (44.1, 138.0))
    shown = window.document.state
    assert shown.measurements is not None
    v = shown.project.wheels[0].section.vertices[BACK]
    told = window.move_label.text().replace("−", "-")
    assert told.startswith(f"vertex {BACK + 1}: z {v.z:.2f}   r {v.r:.2f}")
    assert f"dz {v.z - z0:.2f}   dr +{v.r - r0:.2f} mm" in told
    change = shown.measurements.solid.mass_kg - before.solid.mass_kg
    assert window.summary.mass.text() == f"{shown.measurements.solid.mass_kg:.2f} kg (+{change:.2f})"
    assert change > 0.0
    assert person.status == ""
    person.release(end)
    assert window.move_label.text() == ""
    assert "(" not in window.summary.mass.text()


def test_a_message_goes_away_at_the_next_edit(person: Person) -> None:
    person.click(person.at(*person.vertex(BACK)))
    person.window.say("Saved before.")
    person.key(Qt.Key.Key_Right)
    assert person.status == ""


def test_a_drag_lands_on_the_grid(person: Person) -> None:
    person.release(person.drag(BACK, (54.13, 138.07)))
    z, r = person.vertex(BACK)
    step = 1.0
    assert z / step == pytest.approx(round(z / step), abs=1e-9)
    assert r / step == pytest.approx(round(r / step), abs=1e-9)


def test_escape_restores_and_leaves_no_step(person: Person) -> None:
    end = person.drag(BACK, (60.0, 140.0))
    person.key(Qt.Key.Key_Escape)
    assert person.window.document.state.project is person.project
    assert not person.window.document.state.dragging
    person.release(end)
    assert person.steps == 0
    assert person.project == example.project()


def test_a_drag_back_to_its_start_leaves_no_step(person: Person) -> None:
    start = person.at(*person.vertex(BACK))
    person.drag(BACK, (60.0, 140.0))
    person.move(start)
    person.release(start)
    assert person.steps == 0
    assert not person.window.document.is_modified


def test_undo_during_a_drag_ends_it(person: Person) -> None:
    person.window.document.select_vertex(BACK)
    person.enter("52")
    end = person.drag(BACK, (60.0, 140.0))
    person.do("undo")
    assert not person.window.canvas.dragging.is_active
    person.move(end + QPoint(20, 0))
    person.release(end + QPoint(20, 0))
    assert person.project == example.project()


def test_a_twitch_on_a_handle_moves_nothing(person: Person) -> None:
    start = person.at(*person.vertex(BACK))
    person.press(start)
    QTest.qWait(550)  # the scene takes a slow press for a drag
    person.move(start + QPoint(2, 1))
    person.release(start + QPoint(2, 1))
    assert person.steps == 0
    assert person.window.document.selected == BACK


def test_the_hit_area_is_nine_logical_pixels(person: Person) -> None:
    handles = person.window.canvas.sheet.handles
    at = person.window.canvas.sheet.to_pixels(*person.vertex(BACK))
    assert HIT_PX == 9.0
    for dx, hit in ((0.0, True), (4.4, True), (7.0, False)):
        point = at + QPoint(round(dx), 0) if dx == round(dx) else at.__class__(at.x() + dx, at.y())
        assert (handles.nearest(point) == BACK) is hit


def test_ctrl_holds_snapping_off(person: Person) -> None:
    start, end = person.at(*person.vertex(BACK)), person.at(57.0, 140.0)
    person.press(start)
    person.move(end)
    assert person.window.snap_label.text() == "snap: grid"
    sheet = person.window.canvas.sheet
    sheet.handles.dragged.emit(sheet.to_pixels(57.123, 140.456), CTRL)
    person.settle()
    assert person.window.snap_label.text() == "snap: off while Ctrl is held"
    person.window.canvas.dragging.release()
    assert person.vertex(BACK) == pytest.approx((57.123, 140.456), abs=0.2)
    assert person.vertex(BACK)[0] != round(person.vertex(BACK)[0], 0)
    person.release(end)


def test_ctrl_acts_though_the_pointer_rests(person: Person) -> None:
    start, end = person.at(*person.vertex(BACK)), person.at(57.3, 140.4)
    person.press(start)
    person.move(end)
    sheet, box = person.window.canvas.sheet, person.window.canvas.boxes.boxes["z"]
    snapped, free = box.text(), sheet.to_place(QPointF(end))[0]
    QTest.keyPress(sheet, Qt.Key.Key_Control)
    person.settle()
    assert person.window.snap_label.text() == "snap: off while Ctrl is held"
    assert float(box.text()) == pytest.approx(free, abs=0.5)  # the press took the handle beside its middle
    assert box.text() != snapped
    QTest.keyRelease(sheet, Qt.Key.Key_Control)
    person.settle()
    assert person.window.snap_label.text() == "snap: grid"
    assert box.text() == snapped
    person.release(end)
    assert person.vertex(BACK)[0] == float(snapped)


def test_a_vertex_follows_the_pointer_when_the_view_moves_below_it(person: Person) -> None:
    """A key zooms about the middle of the view: another place comes under the pointer, which rests."""
    sheet = person.window.canvas.sheet
    person.press(person.at(*person.vertex(BACK)))
    end = person.at(57.0, 140.0)
    person.move(end)
    person.key(Qt.Key.Key_Plus)
    under = sheet.to_place(QPointF(end))
    assert math.dist(under, (57.0, 140.0)) > 3.0
    wheel = person.window.document.state.wheel
    assert wheel is not None
    v = wheel.section.vertices[BACK]
    assert (v.z, v.r) == pytest.approx(under, abs=1.0)  # the grid, and where the press took the handle
    person.release(end)
    assert person.vertex(BACK) == (v.z, v.r)
    assert person.window.document.undo_stack.count() == 1


def test_the_snap_is_named_beside_the_mounting_face_and_another_vertex(person: Person) -> None:
    person.drag(BACK, (0.4, 100.0))
    assert person.window.snap_label.text() == "snap: mounting face"
    assert person.window.document.state.wheel is not None
    person.move(person.at(46.3, 134.2))
    assert person.window.snap_label.text() == f"snap: {example.CALIPER}, vertex 10"
    person.release(person.at(46.3, 134.2))
    assert person.vertex(BACK) == (46.0, 134.0)


def test_a_locked_contour_vertex_stays_and_says_why(person: Person) -> None:
    person.window.canvas.sheet.zoom_to((75.0, 230.0), 60.0)
    person.settle()
    end = person.drag(7, (80.0, 220.0))
    person.release(end)
    assert person.steps == 0
    assert "Vertex 8 belongs to the locked rim contour" in person.status
    assert "size code" in person.status


def test_hit_areas_go_with_the_vertex_that_is_dragged(person: Person) -> None:
    """Each step moves that one alone; they are what is made anew of all places, and where it is drawn."""
    handles = person.window.canvas.sheet.handles
    before = handles.boxes().copy()
    end = person.drag(BACK, (52.0, 137.0))
    now = handles.boxes().copy()
    moved = np.flatnonzero((now != before).any(axis=1))
    assert len(moved) == 1
    v = person.window.document.state.project.wheels[0].section.vertices[BACK]
    at = person.window.canvas.sheet.to_pixels(v.z, v.r)
    assert now[moved[0]].reshape(2, 2).mean(axis=0) == pytest.approx((at.x(), at.y()))
    handles.follow(handles.boundingRect())
    assert np.array_equal(handles.boxes(), now)
    person.release(end)


def test_a_blank_and_a_shape_are_dragged_by_the_same_handles(person: Person) -> None:
    person.window.document.edit(Edited(Kind.SHAPE, example.CALIPER))
    person.settle()
    person.release(person.drag(9, (50.0, 128.0)))
    corner = person.project.shapes[0].outlines[0].corners[9]
    assert (corner.z, corner.r) == pytest.approx((50.0, 128.0), abs=1.0)
    person.window.document.edit(Edited(Kind.BLANK, example.BLANK))
    person.settle()
    person.release(person.drag(2, (28.0, 104.0)))
    blank = person.project.blanks[0].corners[2]
    assert (blank.z, blank.r) == pytest.approx((28.0, 104.0), abs=1.0)
    assert person.steps == 2


def test_a_click_on_another_outline_edits_it(person: Person) -> None:
    person.click(person.at(46.0, 155.0))
    assert person.window.document.edited == Edited(Kind.SHAPE, example.CALIPER)


def test_insert_delete_and_undo_texts(person: Person) -> None:
    count = len(person.project.wheels[0].section.vertices)
    person.window.document.select_vertex(BACK)
    person.window.canvas._pointer = None
    person.do("insert_vertex")
    assert len(person.project.wheels[0].section.vertices) == count + 1
    assert person.undo_text == "Insert vertex"
    assert person.window.document.selected == BACK + 1
    assert person.window.actions_by_name["undo"].text() == "&Undo insert vertex"
    person.key(Qt.Key.Key_Delete)
    assert person.undo_text == f"Delete vertex {BACK + 2}"
    assert person.project.wheels[0].vertices == example.project().wheels[0].vertices
    person.window.document.undo()
    person.window.document.undo()
    assert person.project == example.project()


def test_a_double_click_on_an_edge_inserts_there(person: Person) -> None:
    person.double_click(person.at(50.2, 147.0))
    assert person.undo_text == "Insert vertex"
    z, r = person.vertex(BACK)
    assert r == pytest.approx(147.0, abs=1.0)
    assert z == pytest.approx(50.3 - 0.2 * (160 - r) / 26, abs=1e-9)  # on the straight edge


def test_n_walks_round_the_vertices(person: Person) -> None:
    person.window.document.select_vertex(BACK)
    person.key(Qt.Key.Key_N)
    assert person.window.document.selected == BACK + 1
    person.key(Qt.Key.Key_N, Qt.KeyboardModifier.ShiftModifier)
    assert person.window.document.selected == BACK


def test_a_crossing_edit_shows_the_fault_with_its_place_and_no_number(person: Person) -> None:
    person.release(person.drag(BACK, (90.0, 128.0)))
    state = person.window.document.state
    assert state.measurements is None
    assert state.outline is None
    assert any("crosses itself" in fault.message and fault.place is not None for fault in state.faults)
    overlay = person.window.canvas.sheet.overlay
    words = [m for m in overlay.content.marks if "crosses itself" in getattr(m, "text", "")]
    assert words
    z, r = next(fault.place for fault in state.faults if fault.place is not None)
    assert f"z {z:.2f}, r {r:.2f}".replace("-", "−") in getattr(words[0], "text", "")
    # Beside coordinates in inches it is told in inches.
    document = person.window.document
    document.commit(replace(document.project, display_unit="in"), "Inches")
    words = [m for m in overlay.content.marks if "crosses itself" in getattr(m, "text", "")]
    assert f"z {z / 25.4:.3f}, r {r / 25.4:.3f}".replace("-", "−") in getattr(words[0], "text", "")
    person.window.document.undo()
    person.window.document.undo()
    assert person.window.document.state.measurements is not None

"""Edits that ask for places and values, driven by mouse and keys."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from app import language
from app.project.project import Project
from app.session.edited import Edited, Kind, vertices_of, with_vertices
from app.session.shaping import TOOLS
from app.views.canvas.tool_row import ToolRow
from app.views.theme import Theme
from tests.gui.conftest import Person, write
from tests.support import example

SHIFT = Qt.KeyboardModifier.ShiftModifier
BARREL, BACK = 34, 40
#: On the inside of the barrel, both in one straight edge.
HERE, THERE = (-110.0, 220.2), (-60.0, 220.2)


@pytest.fixture(autouse=True)
def near(person: Person) -> None:
    """Look at the barrel and spoke back; a pixel is about 0.4 mm."""
    person.window.canvas.sheet.zoom_to((-30.0, 160.0), 260.0)
    person.settle()


def fill(person: Person, name: str, text: str) -> None:
    """Type into a box of the row, replacing what stands there."""
    line = person.window.canvas.row.boxes[name]
    line.setFocus()
    line.selectAll()
    write(line, text)
    person.settle()


def enter(person: Person, name: str, text: str) -> None:
    fill(person, name, text)
    QTest.keyClick(person.window.canvas.row.boxes[name], Qt.Key.Key_Return)
    person.settle()


def choose(person: Person, tool: str, *places: tuple[float, float]) -> None:
    person.do(tool)
    for place in places:
        person.click(person.at(*place))


def said(person: Person) -> str:
    return person.window.canvas.row.message.text()


def undone(person: Person) -> Project:
    person.window.document.undo()
    return person.project


def test_a_wall_is_made_from_here_to_here(person: Person) -> None:
    before = person.project
    choose(person, "wall", HERE, THERE)
    fill(person, "wall", "9 + 1/2")
    assert person.window.document.state.dragging  # shown, not yet done
    assert "brake side moves" in said(person)
    assert " g " in said(person)
    assert person.steps == 0
    enter(person, "wall", "9,5")
    assert person.steps == 1
    assert person.undo_text == "Make a wall"
    assert person.window.document.state.faults == ()
    made = person.project
    assert made != before
    assert undone(person) == before
    person.window.document.redo()
    assert person.project == made


def test_escape_leaves_everything(person: Person) -> None:
    before = person.project
    choose(person, "wall", HERE, THERE)
    fill(person, "wall", "8")
    QTest.keyClick(person.window.canvas.row.boxes["wall"], Qt.Key.Key_Escape)
    person.settle()
    assert not person.window.canvas.shaping.is_active
    assert person.window.document.state.project is before
    assert person.steps == 0
    choose(person, "wall", HERE)
    person.key(Qt.Key.Key_Escape)
    assert not person.window.canvas.shaping.is_active


def test_a_wrong_text_and_a_wall_that_does_not_fit_are_refused_in_words(person: Person) -> None:
    choose(person, "wall", HERE, THERE)
    enter(person, "wall", "5 mmm")
    assert "wall:" in said(person)
    enter(person, "wall", "500")
    assert "cannot be had" in said(person)
    assert person.steps == 0
    assert person.window.canvas.shaping.is_active


def test_the_locked_contour_does_not_move(person: Person) -> None:
    choose(person, "wall", HERE, THERE)
    person.window.canvas.row.swap.click()
    person.settle()
    assert "locked rim contour" in said(person)
    assert person.steps == 0


def test_a_relief_is_cut_and_its_grams_are_said(person: Person) -> None:
    project = person.project
    shape = next(s for s in project.shapes if s.name == example.CALIPER)
    corner = max(shape.outlines[0].corners, key=lambda c: c.r)
    person.do("relief")
    person.window.canvas.sheet.zoom_to((corner.z, corner.r), 60.0)
    person.settle()
    person.click(person.at(corner.z, corner.r))
    # The gap asked first is the rule's, with the outline's own error.
    rules = next(r for r in project.rule_sets if r.name == project.wheels[0].rules)
    rule = rules.largest_gap(shape.kind)
    assert rule is not None
    wanted = rule.paper_mm + shape.card.error_mm - shape.card.included_gap_mm
    assert float(person.window.canvas.row.boxes["gap"].text()) == pytest.approx(wanted, abs=0.005)
    fill(person, "gap", "0")  # nothing to cut: the readings are those of the wheel as it is
    before = person.window.document.state.measurements
    assert before is not None
    gap = min(row.least_mm for row in before.gap if row.shape == shape.name)
    enter(person, "gap", f"{gap + 1.0:.3f}")
    assert person.steps == 1
    assert "g less" in person.status
    after = person.window.document.state.measurements
    assert after is not None
    least = min(row.least_mm for row in after.gap if row.shape == shape.name)
    assert least == pytest.approx(round(gap + 1.0, 3), abs=1e-6)
    assert undone(person) == project


def test_a_chain_is_drawn_by_lengths_and_angles(person: Person) -> None:
    count = len(person.project.wheels[0].section.vertices)
    choose(person, "legs", HERE, THERE)
    fill(person, "angle", "0")
    enter(person, "length", "10")
    fill(person, "angle", "-90")
    enter(person, "length", "2")
    assert person.steps == 0
    person.window.canvas.row.done.click()
    person.settle()
    assert person.steps == 1
    assert len(person.project.wheels[0].section.vertices) == count + 4


def test_a_relief_by_the_gap_that_is_offered_in_inches_meets_its_rule(person: Person) -> None:
    shape = next(s for s in person.project.shapes if s.name == example.CALIPER)
    # 3.1 mm is asked, which three decimals of an inch do not hold: 0.122 in is 3.0988 mm.
    nearer = replace(shape, card=replace(shape.card, error_mm=0.1, included_gap_mm=0.0))
    corners = tuple(replace(c, z=c.z + 3.0) for c in shape.outlines[0].corners)
    nearer = replace(nearer, outlines=(replace(shape.outlines[0], corners=corners),))
    shapes = tuple(nearer if s is shape else s for s in person.project.shapes)
    person.window.document.commit(replace(person.project, shapes=shapes, display_unit="in"), "Start")
    corner = max(corners, key=lambda c: c.r)
    person.do("relief")
    person.window.canvas.sheet.zoom_to((corner.z, corner.r), 60.0)
    person.settle()
    person.click(person.at(corner.z, corner.r))
    assert person.window.canvas.row.boxes["gap"].text() == "0.122"
    QTest.keyClick(person.window.canvas.row.boxes["gap"], Qt.Key.Key_Return)
    person.settle()
    assert person.undo_text == "Cut a relief"
    after = person.window.document.state.measurements
    assert after is not None
    least = min(row.least_mm for row in after.gap if row.shape == shape.name)
    assert least == pytest.approx(3.1, abs=1e-6)


def test_a_stretch_is_copied_from_another_wheel(person: Person) -> None:
    project = person.project
    first = project.wheels[0]
    vertices = tuple(
        replace(v, r=v.r - 1.0) if v.zone == "barrel" and v.r == 220.2 else v for v in first.vertices
    )
    other = replace(first, name="Thicker", vertices=vertices)
    person.window.document.start(replace(project, wheels=(first, other)))
    person.settle()
    choose(person, "take_over", HERE, THERE)
    assert person.window.canvas.row.choice.currentText() == "Thicker"
    QTest.keyClick(person.window.canvas.row.done, Qt.Key.Key_Return)
    person.settle()
    assert person.steps == 1
    assert "Thicker" in person.status
    assert any(abs(v.r - 219.2) < 1.1 for v in person.project.wheels[0].section.vertices[34:38])


def test_vertices_are_chosen_and_moved_together(person: Person) -> None:
    person.window.canvas.sheet.zoom_to((40.0, 120.0), 120.0)
    person.settle()
    first, second = person.vertex(BACK), person.vertex(BACK + 1)
    person.click(person.at(*first))
    where = person.at(*second)
    person.press(where, SHIFT)
    person.release(where, SHIFT)
    assert person.window.document.group == (BACK, BACK + 1)
    person.key(Qt.Key.Key_Right)
    assert person.vertex(BACK) == pytest.approx((first[0] + 1.0, first[1]))
    assert person.vertex(BACK + 1) == pytest.approx((second[0] + 1.0, second[1]))
    person.do("move_together")
    fill(person, "dz", "-1")
    fill(person, "about z", "50,1")
    fill(person, "about r", "134")
    enter(person, "angle", "0")
    assert person.vertex(BACK) == pytest.approx(first)
    assert person.steps == 2
    person.window.document.undo()
    person.window.document.undo()
    assert person.project == example.project()


def test_a_drag_takes_all_chosen_along_and_escape_puts_them_back(person: Person) -> None:
    person.window.canvas.sheet.zoom_to((40.0, 120.0), 120.0)
    person.settle()
    document = person.window.document
    first, second = person.vertex(BACK), person.vertex(BACK + 1)
    document.select_group([BACK + 1, BACK])
    end = person.drag(BACK, (first[0] + 4.0, first[1] + 3.0))
    person.key(Qt.Key.Key_Escape)
    person.release(end)
    assert person.steps == 0
    person.release(person.drag(BACK, (first[0] + 4.0, first[1] + 3.0)))
    now, along = person.vertex(BACK), person.vertex(BACK + 1)
    assert person.undo_text == "Move 2 vertices"
    assert (along[0] - second[0], along[1] - second[1]) == pytest.approx(
        (now[0] - first[0], now[1] - first[1]), abs=1e-9
    )


def test_a_box_with_shift_and_a_zone_choose_vertices(person: Person) -> None:
    person.window.canvas.sheet.zoom_to((40.0, 120.0), 120.0)
    person.settle()
    start, end = person.at(56.0, 139.0), person.at(36.0, 106.0)
    person.press(start, SHIFT)
    viewport = person.window.canvas.sheet.viewport()
    for k in range(1, 5):
        at = QPointF(start + (end - start) * k / 4)
        held = Qt.MouseButton.LeftButton
        move = QMouseEvent(
            QEvent.Type.MouseMove, at, viewport.mapToGlobal(at), Qt.MouseButton.NoButton, held, SHIFT
        )
        QApplication.sendEvent(viewport, move)
        person.settle()
    person.release(end, SHIFT)
    assert person.window.document.group == (BACK, BACK + 1)
    person.window.document.select_vertex(BACK)
    person.do("zone_vertices")
    assert set(person.window.document.group) >= {38, 39, BACK, BACK + 1, 42, 43}


def test_edges_are_blended_trimmed_and_led_over_by_an_arc(person: Person) -> None:
    before = person.project
    choose(person, "blend", (-40.0, 220.2), (2.0, 213.65))
    enter(person, "radius", "12")
    assert person.vertex(BARREL + 1) == pytest.approx((-14.6, 220.2))
    assert person.project.wheels[0].section.vertices[BARREL + 1].radius == 12.0
    assert undone(person) == before
    choose(person, "arc_to", (-40.0, 220.2), person.vertex(BARREL + 2))
    enter(person, "radius", "100")
    assert person.steps in (0, 1)
    assert person.steps == 1 or "arc" in said(person)


def test_an_edge_is_typed_and_its_dimension_stands_on_the_drawing(person: Person) -> None:
    before = person.project
    person.window.document.select_vertex(BARREL + 1)
    person.settle()

    def tags() -> list[str]:
        return [laid.text for laid in person.window.canvas.sheet.dimensions.laid]

    # From (-133.6, 220.2) to (-14.6, 220.2), and the corner radius of its end.
    assert "119.00" in tags()
    assert "R 8.00" in tags()
    choose(person, "edge", HERE)
    assert person.window.canvas.row.boxes["length"].text() == "119"
    enter(person, "length", "100 + 20")
    assert person.vertex(BARREL + 1) == pytest.approx((-13.6, 220.2))
    assert undone(person) == before


def test_an_edge_is_trimmed_to_a_shape_and_extended_to_the_blank(person: Person) -> None:
    """The barrel's inside at r 220.2 crosses a shape from z -126 to -104; the pad at r 74 a blank at -2.9."""
    project = example.project()
    rod = next(s for s in project.shapes if s.name == example.TIE_ROD)
    raised = tuple(replace(c, r=c.r + 25.0) for c in rod.outlines[0].corners)
    rod_up = replace(rod, outlines=(replace(rod.outlines[0], corners=raised),))
    shapes = tuple(rod_up if s is rod else s for s in project.shapes)
    wheel = replace(project.wheels[0], clears=(example.CALIPER, example.TIE_ROD))
    person.window.document.start(replace(project, shapes=shapes, wheels=(wheel,)))
    person.window.canvas.sheet.fit()
    person.settle()
    before = person.project
    choose(person, "lead", (-125.0, 220.2), (-104.0, 205.0))
    assert "ends at Tie-rod end" in said(person)
    assert person.window.document.state.dragging
    person.key(Qt.Key.Key_Return)
    assert person.steps == 1
    assert person.vertex(BARREL) == pytest.approx((-126.0, 220.2))
    made = person.project
    assert undone(person) == before
    person.do("redo")
    assert person.project == made
    person.do("undo")
    near_pad = person.window.canvas.sheet
    near_pad.zoom_to((10.0, 60.0), 80.0)
    person.settle()
    choose(person, "lead", (1.5, 74.0), (-2.9, 50.0))
    assert "ends at A18" in said(person)
    person.key(Qt.Key.Key_Escape)
    assert person.window.document.state.project is person.project
    choose(person, "lead", (1.5, 74.0), (-2.9, 50.0))
    person.key(Qt.Key.Key_Return)
    assert person.vertex(44) == pytest.approx((-2.9, 74.0))


def test_what_is_never_met_is_refused(person: Person) -> None:
    person.window.canvas.sheet.fit()
    person.settle()
    # The barrel's inside runs along the axle at r 220.2, above all of the caliper.
    choose(person, "lead", (-40.0, 220.2), (-20.0, 203.0))
    assert "does not meet" in said(person)
    person.key(Qt.Key.Key_Return)
    assert person.steps == 0
    person.key(Qt.Key.Key_Escape)
    assert person.window.document.state.project is person.project


@pytest.fixture
def two_wheels(person: Person) -> Person:
    """A second wheel of the same drawing, V2, beside the shown one."""
    project = person.project
    other = replace(project.wheels[0], name="V2")
    person.window.document.commit(replace(project, wheels=(*project.wheels, other)), "V2")
    person.settle()
    return person


def test_a_tool_ends_where_another_thing_is_shown_or_edited(two_wheels: Person) -> None:
    person = two_wheels
    before = person.project
    choose(person, "offset", HERE, THERE)
    assert person.window.document.state.dragging
    person.window.document.select_wheel("V2")
    person.settle()
    assert not person.window.canvas.shaping.is_active
    assert not person.window.document.state.dragging
    choose(person, "offset")
    shape = person.project.shapes[0]
    person.window.document.edit(Edited(Kind.SHAPE, shape.name))
    person.settle()
    assert not person.window.canvas.shaping.is_active
    assert person.project is before


def test_a_dimension_box_closes_where_another_wheel_is_shown(two_wheels: Person) -> None:
    person = two_wheels
    before = person.project
    dimensions = person.window.canvas.dimensioning
    laid = person.window.canvas.sheet.dimensions.laid
    dimensions.type_into(next(x.dimension for x in laid if x.text.startswith("inset")))
    write(dimensions.box, "35")
    person.settle()
    person.window.document.select_wheel("V2")
    person.settle()
    assert not dimensions.is_typing
    assert not dimensions.box.isVisible()
    assert person.project is before


def test_a_tool_shows_what_it_makes_again_when_a_vertex_was_selected(person: Person) -> None:
    choose(person, "offset", HERE, THERE)
    shown = person.window.document.state.wheel
    person.window.document.select_vertex(BACK)
    person.settle()
    assert person.window.canvas.shaping.is_active
    assert person.window.document.state.dragging
    assert person.window.document.state.wheel == shown


def test_what_was_typed_wins_over_a_number_near_it_and_the_rest_stays_exact(person: Person) -> None:
    document = person.window.document
    assert document.edited is not None
    vertices = list(vertices_of(person.project, document.edited))
    v, w = vertices[BACK], vertices[BACK + 1]
    # Nearly square to the axle, and of many decimals.
    length, angle = 30.123456, -90.05
    end = v.z + length * math.cos(math.radians(angle)), v.r + length * math.sin(math.radians(angle))
    vertices[BACK + 1] = replace(w, z=end[0], r=end[1], radius=0.0)
    document.commit(with_vertices(person.project, document.edited, vertices), "Start")
    person.settle()

    def runs() -> tuple[float, float]:
        (z0, r0), (z1, r1) = person.vertex(BACK), person.vertex(BACK + 1)
        return math.hypot(z1 - z0, r1 - r0), math.degrees(math.atan2(r1 - r0, z1 - z0))

    middle = (v.z + end[0]) / 2.0, (v.r + end[1]) / 2.0
    choose(person, "edge", middle)
    assert person.window.canvas.row.boxes["length"].text() == "30.12"
    enter(person, "angle", "-90")
    assert runs() == pytest.approx((length, -90.0), abs=1e-9)
    choose(person, "edge", middle)
    enter(person, "length", "30,12")
    assert runs() == pytest.approx((30.12, -90.0), abs=1e-9)


def test_what_a_tool_dropped_is_said_with_what_it_did(person: Person) -> None:
    corner = person.vertex(BACK)
    person.click(person.at(*corner))
    person.do("hold_radius")
    wheel = person.window.document.wheel
    assert wheel is not None
    assert len(wheel.constraints) == 1
    (z0, r0), (z1, r1) = person.vertex(BACK - 1), person.vertex(BACK + 1)
    ends = ((z0 + corner[0]) / 2, (r0 + corner[1]) / 2), ((z1 + corner[0]) / 2, (r1 + corner[1]) / 2)
    person.window.document.select_vertex(None)  # its dimensions would stand over the places
    choose(person, "legs", *ends)
    enter(person, "length", "2")
    person.window.canvas.row.done.click()
    person.settle()
    wheel = person.window.document.wheel
    assert wheel is not None
    assert wheel.constraints == ()
    assert "Dropped" in person.status
    assert "One leg" in person.status


@pytest.mark.parametrize("language_", ["en", "de"])
@pytest.mark.parametrize("width", [546, 660, 900])
def test_no_word_of_a_tool_is_cut_or_covered(qtbot: QtBot, language_: str, width: int) -> None:
    with language.speaking(language_):
        window = QWidget()
        qtbot.addWidget(window)
        window.resize(width, 60)
        row = ToolRow(Theme(), window)
        row.setGeometry(0, 0, width, 60)
        window.show()
        for tool in TOOLS.values():
            row.begin(tool, "mm", ["Track 18, inset 44"] if tool.name.startswith("take") else [])
            QApplication.processEvents()
            assert row.width() == width
            line = [w for w in row.children() if isinstance(w, QWidget) and w.isVisible()]
            line = [w for w in line if w is not row.message]
            for k, one in enumerate(line):
                assert one.geometry().right() < row.width()
                if isinstance(one, QLabel | QPushButton):
                    assert one.width() >= one.minimumSizeHint().width(), (tool.name, one.text())
                for other in line[k + 1 :]:
                    assert not one.geometry().intersects(other.geometry()), tool.name
            assert tool.title in (row.title.text() if row.title.isVisible() else row.message.text())

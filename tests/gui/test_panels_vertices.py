"""The vertex table: typed cells, texts that cannot be taken, locked rows, selection in step."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit
from pytestqt.qtbot import QtBot

from app.session.document import Document
from app.session.edited import Edited, Kind
from app.units import LengthUnit, format_length
from app.views.theme import Theme
from app.views.vertex_model import arc_radius_mm, bulge_of
from app.views.vertex_table import VertexTable
from geometry.shape.curve import Path
from geometry.shape.outline import Corner, Grade
from geometry.shape.rim import RimContour
from geometry.shape.section import AnchorZ, Zone
from tests.gui.conftest import write
from tests.support.panels import VERTICES, document

Vertices = tuple[VertexTable, Document]
Z, R, RADIUS, EDGE, ZONE, ANCHOR_Z = range(6)


@pytest.fixture
def vertices(qtbot: QtBot) -> Vertices:
    """A table on the made-up project, connected as the window connects it."""
    opened = document()
    panel = VertexTable(Theme())
    qtbot.addWidget(panel)
    panel.resize(620, 320)
    panel.show()
    opened.shown.connect(panel.show_state)
    panel.changed.connect(opened.commit)
    panel.vertex_selected.connect(opened.select_vertex)
    panel.show_state(opened.state)
    panel.table.setFocus()
    return panel, opened


def go(panel: VertexTable, row: int, column: int) -> None:
    panel.table.setCurrentIndex(panel.model.index(row, column))


def type_into(panel: VertexTable, row: int, column: int, text: str, end: Qt.Key = Qt.Key.Key_Return) -> None:
    """Go to a cell, open it by Enter, type over it and end by a key."""
    go(panel, row, column)
    QTest.keyClick(panel.table, Qt.Key.Key_Return)
    editor = open_editor()
    editor.selectAll()
    write(editor, text)
    QTest.keyClick(editor, end)
    QApplication.processEvents()


def open_editor() -> QLineEdit:
    """Return the line that has the focus."""
    editor = QApplication.focusWidget()
    assert isinstance(editor, QLineEdit)
    return editor


def cell(panel: VertexTable, row: int, column: int) -> str:
    return str(panel.model.index(row, column).data())


# Typed values


@pytest.mark.parametrize(
    ("text", "mm"),
    [("12,5", 12.5), ("5 1/2 in", 139.7), ("−3", -3.0), ("12.7 + 3", 15.7), ("-0.25", -0.25)],
)
def test_a_typed_place_is_one_step(vertices: Vertices, text: str, mm: float) -> None:
    """Closed: 5 1/2 in is 5.5 x 25.4 = 139.7 mm; the typographic minus is a minus."""
    panel, opened = vertices
    type_into(panel, 4, Z, text)
    assert opened.project.wheels[0].vertices[4].z == pytest.approx(mm, abs=1e-12)
    assert opened.undo_stack.count() == 1
    assert opened.undo_stack.undoText() == "Z of vertex 5"
    assert cell(panel, 4, Z) == f"{mm:.2f}".replace("-", "−")
    opened.undo()
    assert cell(panel, 4, Z) == "0.00"


def test_an_untouched_cell_changes_nothing(vertices: Vertices) -> None:
    """The cell shows two decimals; leaving it as it is must not round the vertex to them."""
    panel, opened = vertices
    wheel = opened.project.wheels[0]
    fine = (replace(VERTICES[0], z=20.00012345), *VERTICES[1:])
    opened.commit(replace(opened.project, wheels=(replace(wheel, vertices=fine),)), "fine")
    before = opened.undo_stack.count()
    go(panel, 0, Z)
    QTest.keyClick(panel.table, Qt.Key.Key_Return)
    editor = open_editor()
    QTest.keyClick(editor, Qt.Key.Key_Return)
    QApplication.processEvents()
    assert opened.project.wheels[0].vertices[0].z == 20.00012345
    assert opened.undo_stack.count() == before
    type_into(panel, 0, Z, "20.00")  # what the cell shows, but typed
    assert opened.project.wheels[0].vertices[0].z == 20.0
    assert opened.undo_stack.count() == before + 1


@pytest.mark.parametrize(
    ("grade", "mm", "inch"),
    [
        (Grade.PROVED, "12.35", "0.486"),
        (Grade.DRAWING, "12.35", "0.486"),
        (Grade.SCAN, "12.3", "0.49"),
        (Grade.TRACING, "12", "0.5"),
        (Grade.HEARSAY, "12", "0.5"),
    ],
)
def test_digits_are_those_that_a_source_is_worth(
    vertices: Vertices, grade: Grade, mm: str, inch: str
) -> None:
    """Practitioners' finding 45; 12.345678 mm is 0.48605 in."""
    panel, opened = vertices
    shape = opened.project.shapes[0]
    corners = (replace(shape.outlines[0].corners[0], z=12.345678), *shape.outlines[0].corners[1:])
    shape = replace(shape, outlines=(replace(shape.outlines[0], corners=corners),)).with_card(grade=grade)
    project = replace(opened.project, shapes=(shape, *opened.project.shapes[1:]))
    for unit, text in (("mm", mm), ("in", inch)):
        opened.start(replace(project, display_unit=unit))
        opened.edit(Edited(Kind.SHAPE, shape.name))
        assert cell(panel, 0, Z) == text
        assert opened.project.shapes[0].outlines[0].corners[0].z == 12.345678


@pytest.mark.parametrize(
    ("column", "text", "words"),
    [
        (Z, "12,5 foo", "'foo' is not a unit of length"),
        (Z, "9**9**9", "'*' has no meaning here"),
        (Z, "1,234.5", "no thousands mark"),
        (R, "-1", "r starts at 0"),
        (RADIUS, "-2", "radius starts at 0"),
        (Z, "20000", "larger than any length here"),
        (EDGE, "3", "cannot span this edge"),
    ],
)
def test_a_wrong_text_stays_and_says_what_and_where(
    vertices: Vertices, column: int, text: str, words: str
) -> None:
    panel, opened = vertices
    type_into(panel, 2, column, text)
    assert cell(panel, 2, column) == text
    assert panel.message.isVisible()
    assert panel.message.text().startswith("Vertex 3, ")
    assert words in panel.message.text()
    assert opened.undo_stack.count() == 0
    QTest.keyClick(panel.table, Qt.Key.Key_Return)
    editor = open_editor()
    assert editor.text() == text
    QTest.keyClick(editor, Qt.Key.Key_Escape)
    QTest.keyClick(panel.table, Qt.Key.Key_Escape)
    assert cell(panel, 2, column) != text
    assert not panel.message.isVisible()


@pytest.mark.parametrize(("unit", "text"), [("mm", "3"), ("in", "0.118")])
def test_a_radius_that_spans_no_edge_is_refused_in_the_unit_of_the_table(
    vertices: Vertices, unit: LengthUnit, text: str
) -> None:
    panel, opened = vertices
    opened.start(replace(opened.project, display_unit=unit))
    v, w = opened.project.wheels[0].vertices[2:4]
    half = format_length(math.hypot(w.z - v.z, w.r - v.r) / 2.0, unit)
    type_into(panel, 2, EDGE, text)
    asked = {"mm": "3.00 mm", "in": "0.118 in"}[unit]
    assert f"radius {asked} cannot span this edge: half its length is {half};" in panel.message.text()
    QTest.keyClick(panel.table, Qt.Key.Key_Escape)


def test_a_mended_text_is_taken(vertices: Vertices) -> None:
    panel, opened = vertices
    type_into(panel, 2, R, "91 m m")
    type_into(panel, 2, R, "91")
    assert opened.project.wheels[0].vertices[2].r == 91.0
    assert not panel.message.isVisible()


def test_typing_starts_in_the_cell_also_with_a_minus(vertices: Vertices) -> None:
    panel, opened = vertices
    go(panel, 2, Z)
    QTest.keyClicks(panel.table, "-")
    editor = open_editor()
    write(editor, "21")
    QTest.keyClick(editor, Qt.Key.Key_Return)
    QApplication.processEvents()
    assert opened.project.wheels[0].vertices[2].z == -21.0


def test_inches_are_shown_and_typed_when_the_project_says_so(vertices: Vertices) -> None:
    panel, opened = vertices
    opened.commit(replace(opened.project, display_unit="in"), "inches")
    assert cell(panel, 0, R) == "3.937"  # 100 / 25.4 = 3.93701
    type_into(panel, 0, R, "4")
    assert opened.project.wheels[0].vertices[0].r == pytest.approx(101.6, abs=1e-12)


# Arcs


def test_an_arc_is_typed_by_its_radius(vertices: Vertices) -> None:
    """A chord of 40 with radius 25 has its centre 15 off the chord: bulge (25 - 15) / 20 = 0.5."""
    panel, opened = vertices
    type_into(panel, 0, EDGE, "25")
    assert opened.project.wheels[0].vertices[0].bulge == pytest.approx(0.5, abs=1e-12)
    assert cell(panel, 0, EDGE) == "25.00"
    type_into(panel, 0, EDGE, "line")
    assert opened.project.wheels[0].vertices[0].bulge == 0.0


@pytest.mark.parametrize("bulge", [0.01, -0.3, 0.5, 1.0, -1.0])
def test_radius_and_bulge_agree_with_the_exact_curve(bulge: float) -> None:
    start, end = Corner(3.0, 40.0, bulge=bulge), Corner(-9.0, 47.0)
    radius = arc_radius_mm(start, end)
    path = Path.closed([(3.0, 40.0, bulge), (-9.0, 47.0, 0.0)])
    assert radius == pytest.approx(math.copysign(float(path.radii[0]), bulge), rel=1e-12)
    assert bulge_of(radius or 0.0, start, end) == pytest.approx(bulge, rel=1e-9)


# Zones, anchors, locks


def test_zone_and_anchor_are_chosen_from_lists(vertices: Vertices, qtbot: QtBot) -> None:
    panel, opened = vertices
    for column, word in ((ZONE, "well"), (ANCHOR_Z, "mounting face")):
        go(panel, 2, column)
        QTest.keyClick(panel.table, Qt.Key.Key_Return)
        box = panel.table.viewport().findChild(QComboBox)
        assert box is not None
        box.setCurrentText(word)
        QTest.keyClick(box, Qt.Key.Key_Return)
        QApplication.processEvents()
        qtbot.waitUntil(lambda: panel.table.viewport().findChild(QComboBox) is None)
    vertex = opened.project.wheels[0].vertices[2]
    assert (vertex.zone, vertex.anchor_z) == (Zone.WELL, AnchorZ.MOUNTING_FACE)
    assert opened.undo_stack.count() == 2


def test_rows_of_the_rim_contour_are_locked_and_say_why(vertices: Vertices, qtbot: QtBot) -> None:
    panel, opened = vertices
    wheel = replace(opened.project.wheels[0], rim=RimContour(18.0, 10.0))
    opened.commit(replace(opened.project, wheels=(wheel,)), "rim")
    go(panel, 0, Z)
    with qtbot.waitSignal(panel.said) as said:
        QTest.keyClick(panel.table, Qt.Key.Key_Return)
    assert "locked rim contour" in said.args[0]
    assert panel.message.text() == said.args[0]
    assert not isinstance(QApplication.focusWidget(), QLineEdit)
    first_free = wheel.section.locked
    type_into(panel, first_free, R, "101")
    assert opened.project.wheels[0].vertices[0].r == 101.0


def test_a_locked_wheel_is_locked_in_every_row(vertices: Vertices) -> None:
    panel, opened = vertices
    wheel = replace(opened.project.wheels[0], locked=True)
    opened.commit(replace(opened.project, wheels=(wheel,)), "lock")
    assert all(panel.model.is_locked(row) for row in range(panel.model.rowCount()))
    assert "unlock it in the list of parts" in panel.model.why_locked(3)


# In step with the drawing


def test_selection_is_in_step_both_ways(vertices: Vertices) -> None:
    panel, opened = vertices
    opened.select_vertex(3)
    assert panel.table.currentIndex().row() == 3
    middle = panel.table.visualRect(panel.model.index(1, R)).center()
    QTest.mouseClick(panel.table.viewport(), Qt.MouseButton.LeftButton, pos=QPoint(middle))
    assert opened.selected == 1
    QTest.keyClick(panel.table, Qt.Key.Key_Down)
    assert opened.selected == 2
    opened.select_vertex(None)
    assert not panel.table.currentIndex().isValid()
    assert opened.undo_stack.count() == 0


def test_blanks_have_their_own_vertices_without_zones(vertices: Vertices) -> None:
    panel, opened = vertices
    opened.edit(Edited(Kind.BLANK, "A18"))
    assert panel.title.text().startswith("Vertices of A18")
    assert panel.model.columnCount() == EDGE + 1
    type_into(panel, 0, Z, "-31")
    assert opened.project.blanks[0].corners[0].z == -31.0


def test_a_spacer_is_told_since_the_table_holds_the_wheels_own_z(vertices: Vertices) -> None:
    panel, opened = vertices
    wheel = replace(opened.project.wheels[0], spacer_mm=5.0)
    opened.commit(replace(opened.project, wheels=(wheel,)), "spacer")
    assert "5.00 mm further out" in panel.title.text()
    assert cell(panel, 0, Z) == "20.00"


def test_the_table_is_copied_with_tabs(vertices: Vertices) -> None:
    panel, _ = vertices
    go(panel, 0, Z)
    QTest.keyClick(panel.table, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    rows = [row.split("\t") for row in QGuiApplication.clipboard().text().splitlines()]
    assert rows[0] == ["z", "r", "radius", "edge", "zone", "z follows", "r follows"]
    assert len(rows) == len(VERTICES) + 1
    assert rows[1][:5] == ["20.00", "100.00", "2.00", "line", "outer lip"]

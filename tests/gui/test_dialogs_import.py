"""Importing outlines: what was found, the unit asked for and never guessed, what it becomes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QAbstractItemView, QApplication, QComboBox, QLineEdit
from pytestqt.qtbot import QtBot

from app.files.readers.answer import ReadError, ReadOutline
from app.project.new_items import new_wheel
from app.project.project import Project
from app.project.wheel import SizeCode
from app.studies.fit import measure_wheel
from app.window.dialogs.import_outline import BLANK, WHEEL, ImportDialog
from app.window.dialogs.import_report import in_window_words
from geometry.readings.rules import State
from geometry.shape.outline import Grade, Known, Motion, ShapeKind
from geometry.shape.section import Outline, build
from tests.gui.conftest import Asked
from tests.support import example
from tests.support.drawings import circle, dxf, polyline
from tests.support.importing import BOX, HOLE, Reader, click, found, opened, ready, said, tick, typed

#: A caliper 120 x 87 mm with a bulged edge, and a pipe beside it, in inches.
CALIPER_IN = polyline((-2.913, 4.567), (1.811, 4.567), (1.811, 7.5, -0.2), (1.0, 7.99), (-2.9, 7.5))
PIPE_IN = circle(3.0, 5.0, 0.3, layer="pipe")

Import = Callable[..., tuple[ImportDialog, Asked]]


@pytest.fixture
def bring(qtbot: QtBot, tmp_path: Path) -> Import:
    """Open the dialog on a file and wait until it is read."""

    def bring_it(
        data: bytes, name: str = "caliper 380.dxf", whole: Project | None = None
    ) -> tuple[ImportDialog, Asked]:
        return opened(qtbot, tmp_path / name, data, whole)

    return bring_it


# Units


def test_without_a_unit_both_sizes_stand_side_by_side_and_ok_asks(bring: Import) -> None:
    """1.811 + 2.913 = 4.724 in are 120.0 mm along z; as mm the thing would be 4.7 wide."""
    dialog, asked = bring(dxf(CALIPER_IN, unit=None))
    unit = dialog.outline.unit
    assert unit.sizes["mm"].text().startswith("4.7 ×")
    assert unit.notes["mm"].text() == "hardly a brake's size"
    assert unit.sizes["in"].text().startswith("120.0 ×")
    assert unit.notes["in"].text() == ""
    assert unit.read() is None
    assert "The file states no unit: choose it" in said(dialog)
    asked.ok()
    assert asked.applied == []
    assert "states no unit: choose it" in dialog.message.text()
    unit.buttons["in"].click()
    ready(dialog)
    assert "in, chosen at import" in said(dialog)
    asked.ok()
    shape = asked.result.shapes[-1]
    assert max(c.z for c in shape.outlines[0].corners) == pytest.approx(1.811 * 25.4)
    assert (shape.card.file_unit, shape.card.unit.text) == ("in", "in, chosen at import")
    assert shape.card.unit.by == "importer"


def test_other_units_are_offered_where_the_size_would_be_a_brakes(bring: Import) -> None:
    """12 x 8.7: as cm 120 x 87 mm, as m 12 m."""
    dialog, _ = bring(dxf(polyline((-7.4, 11.6), (4.6, 11.6), (4.6, 20.3), (-7.4, 20.3)), unit=None))
    shown = [unit for unit, button in dialog.outline.unit.buttons.items() if button.isVisible()]
    assert shown == ["mm", "in", "cm"]
    assert dialog.outline.unit.sizes["cm"].text() == "120.0 × 87.0 mm"


def test_the_readings_of_an_open_unit_are_all_drawn_dashed_and_the_chosen_one_solid(bring: Import) -> None:
    dialog, _ = bring(dxf(CALIPER_IN, unit=None))
    assert [(laid.words, laid.is_chosen) for laid in dialog.picture.laid][:2] == [
        ("if mm", False),
        ("if in", False),
    ]
    assert dialog.picture.laid[1].bounds is not None
    assert dialog.picture.laid[1].bounds[1] == pytest.approx(1.811 * 25.4)
    dialog.outline.unit.choose("in")
    ready(dialog)
    solid = [laid for laid in dialog.picture.laid if laid.is_chosen]
    assert len(solid) == 1
    assert solid[0].bounds is not None
    assert solid[0].bounds[1] == pytest.approx(1.811 * 25.4)
    dashed = {laid.words: laid.bounds for laid in dialog.picture.laid if not laid.is_chosen}
    assert dashed["if mm"] is not None
    assert dashed["if mm"][1] == pytest.approx(1.811)


def test_a_header_that_makes_no_plausible_size_says_so_and_ok_asks(bring: Import) -> None:
    """DXF: $INSUNITS 4 is mm; 4.724 of them are no brake, 120 mm are."""
    dialog, asked = bring(dxf(CALIPER_IN, unit=4))
    words = "With the unit taken as mm the outline is 4.724 mm large"
    assert said(dialog).count("taken as mm") == 1
    assert words in said(dialog)
    assert "no unit" not in said(dialog)
    asked.ok()
    assert asked.applied == []
    assert words in dialog.message.text()
    assert ": choose it" in dialog.message.text()


def test_a_stated_unit_that_is_doubted_is_as_good_as_none(qtbot: QtBot, tmp_path: Path) -> None:
    """The answer's lengths are mm as the file states; as inches they would be 25.4 times as large."""
    small = tuple((z / 25.4, r / 25.4, b) for z, r, b in BOX)
    read = Reader(
        found(small, unit_doubt="with the unit taken as mm the outline is 1.4 mm large; is that it?")
    )
    dialog, asked = opened(qtbot, tmp_path / "x.dxf", read=read, wheel="Track 18")
    assert dialog.outline.unit.read() is None
    assert "1.4 mm large" in said(dialog)
    assert "If in: barrel 5.00 mm" in dialog.look.gap.text()
    asked.ok()
    assert asked.applied == []
    assert "choose it" in dialog.message.text()
    dialog.outline.unit.choose("mm")
    ready(dialog)
    asked.ok()
    assert asked.result.shapes[-1].card.unit.text == "mm, chosen at import"


def test_a_stated_unit_is_taken_not_doubted_and_can_be_overruled(bring: Import) -> None:
    dialog, asked = bring(dxf(CALIPER_IN, unit=1))
    assert dialog.outline.unit.read() == "in"
    assert dialog.outline.unit.notes["in"].text() == "as the file states"
    assert "in, stated in the file" in said(dialog)
    assert [laid.words for laid in dialog.picture.laid] == [""]
    dialog.outline.unit.choose("mm")
    ready(dialog)
    assert "he file states inches; read as mm, as asked" in said(dialog)
    dialog.outline.unit.choose("in")
    ready(dialog)
    asked.ok()
    assert max(c.z for c in asked.result.shapes[-1].outlines[0].corners) == pytest.approx(1.811 * 25.4)


# What it becomes


def test_an_imported_shape_starts_unchecked_and_reads_not_known(bring: Import) -> None:
    whole = example.project()
    dialog, asked = bring(dxf(CALIPER_IN, unit=1), whole=whole)
    typed(dialog.outline.name, "Caliper, new")
    asked.ok()
    made = asked.result
    shape = made.shapes[-1]
    assert shape.name == "Caliper, new"
    assert shape.card.grade is Grade.DRAWING
    assert shape.card.unit.state is Known.ASSUMED
    assert len(shape.open_questions()) == 6  # four answers, datum, extent
    assert shape.card.file_name == "caliper 380.dxf"
    assert len(shape.card.file_sha256) == 64
    assert shape.card.reader
    assert any(c.bulge for c in shape.outlines[0].corners)
    assert "Unit: in, stated in the file" in str(shape.notes["import"])
    wheel = replace(made.wheels[0], clears=("Caliper, new",))
    measured = measure_wheel(replace(made, wheels=(wheel,)), wheel).measurements
    assert measured is not None
    assert {row.state for row in measured.gap} == {State.NOT_KNOWN}


def test_of_several_outlines_some_are_taken(bring: Import) -> None:
    dialog, asked = bring(dxf(CALIPER_IN, PIPE_IN, unit=1))
    dialog.outline.kind.choose(ShapeKind.HOSE)
    assert len(dialog.outline.loops.offered) == 2
    asked.ok()
    shape = asked.result.shapes[-1]
    assert [o.label for o in shape.outlines] == ["outline 1", "outline 2"]
    assert shape.motion is Motion.AGAINST_KNUCKLE


def test_a_click_in_the_picture_takes_an_outline_or_leaves_it(bring: Import) -> None:
    dialog, asked = bring(dxf(CALIPER_IN, PIPE_IN, unit=1))
    click(dialog, 3.0 * 25.4, 5.0 * 25.4)
    assert len(dialog.outline.taken()) == 1
    assert dialog.picture.laid[0].taken == frozenset(dialog.outline.taken())
    asked.ok()
    assert max(c.z for c in asked.result.shapes[-1].outlines[0].corners) == pytest.approx(1.811 * 25.4)


def test_inner_outlines_are_left_out_until_asked_for(qtbot: QtBot, tmp_path: Path) -> None:
    """A hole in an area that must be stayed out of adds nothing to it."""
    read = Reader(found(BOX, HOLE, within=(-1, 0)))
    dialog, asked = opened(qtbot, tmp_path / "hole.dxf", read=read)
    assert dialog.outline.taken() == [0]
    assert dialog.outline.loops.item("1").text(2) == "inside 1"
    dialog.outline.inner.box.click()
    assert dialog.outline.taken() == [0, 1]
    dialog.outline.inner.box.click()
    asked.ok()
    assert len(asked.result.shapes[-1].outlines) == 1


def test_a_layer_can_be_left_out(bring: Import) -> None:
    dialog, asked = bring(dxf(CALIPER_IN, PIPE_IN, unit=1))
    tick(dialog.file.layers, "pipe")
    ready(dialog)
    assert "1 closed outline," in said(dialog)
    asked.ok()
    assert [o.label for o in asked.result.shapes[-1].outlines] == ["as read"]


def test_a_blank_is_one_outline(bring: Import) -> None:
    ring = polyline((-30.0, 0.0), (40.0, 0.0), (40.0, 250.0), (-30.0, 250.0))
    dialog, asked = bring(dxf(ring, circle(100.0, 50.0, 5.0)), name="ring.dxf")
    dialog.outline.becomes.choose(BLANK)
    ready(dialog)
    assert not dialog.pages.isTabVisible(3)
    asked.ok()
    assert "choose one of those found" in dialog.message.text()
    tick(dialog.outline.loops, "1")
    asked.ok()
    blank = asked.result.blanks[-1]
    assert blank.name == "ring"
    assert {(c.z, c.r) for c in blank.corners} == {(-30.0, 0.0), (40.0, 0.0), (40.0, 250.0), (-30.0, 250.0)}


def test_replaced_curves_lie_on_the_safe_side_of_what_the_outline_becomes(
    qtbot: QtBot, tmp_path: Path
) -> None:
    """design 4: shapes outward, blanks inward, wheel sections nearest."""
    read = Reader(ReadError("nothing here"))
    dialog, _ = opened(qtbot, tmp_path / "any.dxf", read=read)
    for becomes in (BLANK, WHEEL):
        dialog.outline.becomes.choose(becomes)
        ready(dialog)
    assert [how["side"] for how in read.asked] == ["outward", "inward", "nearest"]


def wheel_drawing(shift: float = 0.0) -> bytes:
    outline = build(new_wheel("x", SizeCode(18.0, 10.0), 38.0).section)
    assert isinstance(outline, Outline)
    return dxf(polyline(*((z + shift, r, b) for z, r, b in outline.path.rows())))


def test_a_half_section_becomes_a_wheel_with_its_deviations_shown(bring: Import) -> None:
    """The drawing stands 50 mm off its mounting face; what is recognised is the size it was drawn from."""
    dialog, asked = bring(wheel_drawing(50.0), name="old wheel.dxf")
    dialog.outline.becomes.choose(WHEEL)
    ready(dialog)
    dialog.pages.setCurrentIndex(4)
    table = dialog.wheel.table
    rows = {table.item(k, 0).text(): table.item(k, 3).text() for k in range(table.rowCount())}  # type: ignore[union-attr]
    assert rows["inset"] == "+0.00"
    assert rows["outer bead-seat diameter"] == "+0.00"
    assert dialog.wheel.said.text().startswith("It agrees")
    asked.ok()
    wheel = asked.result.wheels[-1]
    assert wheel.name == "old wheel"
    assert wheel.inset_mm == pytest.approx(38.0)
    assert wheel.hub.bore_mm == pytest.approx(72.0)
    assert wheel.material == "6061-T6"
    assert "old wheel.dxf" in str(wheel.notes["source"])
    assert isinstance(build(wheel.section), Outline)


def test_a_drawing_that_stands_upright_is_turned_before_it_becomes_a_wheel(bring: Import) -> None:
    """Axle line up: a quarter to the right lays (x, y) = (-r, z) onto (z, r)."""
    outline = build(new_wheel("x", SizeCode(18.0, 10.0), 38.0).section)
    assert isinstance(outline, Outline)
    dialog, asked = bring(dxf(polyline(*((-r, z, b) for z, r, b in outline.path.rows()))), name="w.dxf")
    dialog.outline.becomes.choose(WHEEL)
    ready(dialog)
    dialog.place.turns.choose(3)
    ready(dialog)
    assert dialog.wheel.said.text().startswith("It agrees")
    asked.ok()
    assert asked.result.wheels[-1].inset_mm == pytest.approx(38.0)


def test_a_wrong_size_or_inset_is_said_before_ok(bring: Import) -> None:
    dialog, _ = bring(wheel_drawing(), name="old wheel.dxf")
    dialog.outline.becomes.choose(WHEEL)
    ready(dialog)
    typed(dialog.wheel.inset.inset, "35")
    assert "38.00 in the drawing and 35 as stated" in dialog.wheel.said.text()
    typed(dialog.wheel.inset.inset, "38")
    typed(dialog.wheel.width_code, "9 1/2")
    assert "that is width code 10" in dialog.wheel.said.text()


# Files that give nothing


def test_a_file_that_gives_no_outline_says_why_and_adds_nothing(bring: Import) -> None:
    dialog, asked = bring(b"0\nSECTION\n2\nENTITIES\n0\nENDSEC\n0\nEOF\n")
    assert said(dialog).startswith("Nothing was read")
    assert "outline in the file" in said(dialog)
    assert "another export" in said(dialog)
    asked.ok()
    assert asked.applied == []
    assert dialog.isVisible()


def test_what_hinders_comes_first_in_the_words_of_this_window(bring: Import) -> None:
    dialog, asked = bring(
        dxf(polyline((0.0, 100.0), (40.0, 100.0), (40.0, 150.0), (0.0, 100.3), closed=False))
    )
    assert said(dialog).startswith("Cannot be used")
    assert "'Join ends within' 0.3" in said(dialog)
    assert "--" not in said(dialog)
    asked.ok()
    assert asked.applied == []
    assert "'Join ends within'" in dialog.message.text()
    typed(dialog.file.join, "0,31")
    ready(dialog)
    assert "1 gap joined, the largest 0.300" in said(dialog)
    assert len(dialog.picture.laid[0].drawn.joins) == 1
    asked.ok()
    assert len(asked.result.shapes) == 2


def test_an_open_outline_can_be_closed_on_demand(bring: Import) -> None:
    dialog, asked = bring(dxf(polyline((0.0, 100.0), (40.0, 100.0), (40.0, 150.0), closed=False)))
    assert "open" in said(dialog)
    dialog.file.close.box.click()
    ready(dialog)
    asked.ok()
    assert len(asked.result.shapes[-1].outlines[0].corners) == 3


def test_below_the_axle_line_is_shown_and_refused_until_it_is_moved(bring: Import) -> None:
    """The corner 5 mm below the axle line is mended by a shift of 5,5 along r."""
    dialog, asked = bring(dxf(polyline((0.0, -5.0), (40.0, 100.0), (0.0, 150.0))))
    assert "reaches r = −5" in said(dialog)
    assert "below the axle line" in said(dialog)
    assert dialog.picture.laid[0].bounds is not None
    assert dialog.picture.laid[0].bounds[2] == -5.0
    asked.ok()
    assert asked.applied == []
    assert "below the axle line" in dialog.message.text()
    typed(dialog.place.dr, "5,5")
    ready(dialog)
    assert "below" not in said(dialog)
    asked.ok()
    assert min(c.r for c in asked.result.shapes[-1].outlines[0].corners) == pytest.approx(0.5)


def test_an_outline_that_is_far_too_fine_is_refused(qtbot: QtBot, tmp_path: Path) -> None:
    edge = tuple((-18.0 + k * 0.001, 50.0 + (k % 2) * 0.1, 0.0) for k in range(10_001))
    loop = (*edge, (-5.0, 82.0, 0.0), (-18.0, 82.0, 0.0))
    dialog, asked = opened(qtbot, tmp_path / "fine.dxf", read=Reader(found(loop)), wheel="Track 18")
    assert "Export it coarser" in dialog.look.gap.text()
    assert said(dialog).startswith("Cannot be used")
    asked.ok()
    assert "Export it coarser" in dialog.message.text()


def test_a_fine_outline_is_taken_but_not_held_against_the_wheel_while_it_is_looked_at(
    qtbot: QtBot, tmp_path: Path
) -> None:
    edge = tuple((-18.0 + k * 0.001, 50.0 + (k % 2) * 0.1, 0.0) for k in range(4500))
    loop = (*edge, (-5.0, 82.0, 0.0), (-18.0, 82.0, 0.0))
    dialog, asked = opened(qtbot, tmp_path / "fine.dxf", read=Reader(found(loop)), wheel="Track 18")
    assert "? not worked out here: 4502 vertices" in dialog.look.gap.text()
    asked.ok()
    assert len(asked.result.shapes) == 2


def test_text_out_of_a_file_stays_text(qtbot: QtBot, tmp_path: Path) -> None:
    name = "<b>A & B</b>"
    answer = found(skipped={name: 2}, layers={name: 1, "0": 4}, warnings=(f"Look at {name}.",))
    dialog, _ = opened(qtbot, tmp_path / "a.dxf", read=Reader(answer))
    assert f"2 {name}" in said(dialog)
    assert dialog.file.layers.item(name).text(0) == name


def test_the_report_tells_every_count() -> None:
    from app.window.dialogs.import_report import lines

    answer: ReadOutline = found(
        skipped={"TEXT": 2},
        joined=1,
        largest_join_mm=0.004,
        doubles=1,
        curves=2,
        curve_error_mm=0.0049,
        tolerance_mm=0.1,
        outside_count=3,
        ball_mm=3.0,
        warnings=("It looks small.",),
    )
    words = [f"{line.about}: {line.said}" for line in lines(answer, 1, answer.bounds, "mm, stated", [])]
    assert words[0].startswith("File: drawing; 1 closed outline, 4 vertices")
    assert words[2] == "Size: z −18.00 to −9.00, r 50.00 to 85.00 mm, as it lies"
    assert words[3] == "Look: It looks small"
    for part in (
        "1 gap joined, the largest 0.004",
        "1 drawn more than once",
        "2 curves replaced by arcs, at most 0.0049 mm off",
        "2 TEXT",
        "up to 0.100 mm outside",
        "3 points lie outside",
        "radius of the probe ball, 3 mm",
    ):
        assert any(part in line for line in words), part


def test_options_of_the_commands_become_fields() -> None:
    said_ = in_window_words(
        "read again with --join 0.41, or read one layer with --layer (0: 3); see --unknown"
    )
    assert (
        said_
        == "read again with 'Join ends within' 0.41, or read one layer with 'Layers' (0: 3); see --unknown"
    )


def test_every_control_has_a_name_and_is_reached_by_tab(bring: Import) -> None:
    dialog, _ = bring(dxf(CALIPER_IN, PIPE_IN, unit=1))
    controls = [
        control
        for field in dialog.fields()
        for kind in (QAbstractButton, QLineEdit, QComboBox, QAbstractItemView)
        for control in [field.editor, *field.editor.findChildren(kind)]
        if isinstance(control, kind) and not isinstance(control.parent(), QComboBox | QAbstractItemView)
    ]
    buttons = [*dialog.place.buttons.values(), dialog.look.stop, dialog.picture, dialog.look.report]
    seen, reached = set(), set()
    for page in range(4):
        dialog.pages.setCurrentIndex(page)
        QApplication.processEvents()
        seen |= {control for control in [*controls, *buttons] if control.isVisible() and control.isEnabled()}
        for _ in range(90):
            QTest.keyClick(dialog, Qt.Key.Key_Tab)
            reached.add(dialog.focusWidget())
    # Of several readings of a unit one is reached by Tab, the others from there by the arrows.
    units = set(dialog.outline.unit.buttons.values())
    assert {c.accessibleName() for c in seen - units - reached} == set()
    assert units & reached
    for control in seen:
        text = control.text() if isinstance(control, QAbstractButton) else ""
        assert control.accessibleName() or text, control


def test_the_dialog_fits_a_small_screen(bring: Import) -> None:
    dialog, _ = bring(dxf(CALIPER_IN, PIPE_IN, unit=1))
    for page in range(4):
        dialog.pages.setCurrentIndex(page)
        assert dialog.minimumSizeHint().width() <= 1280
        assert dialog.height() <= 760
        assert dialog.width() <= 1280

"""Importing outlines: what was found in both units, the unit asked for, never guessed."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.files.readers.answer import ReadError, ReadOutline
from app.project.new_items import new_wheel
from app.project.project import Project
from app.project.wheel import SizeCode
from app.studies.fit import measure_wheel
from app.window.dialogs.import_outline import BLANK, WHEEL, ImportDialog, report
from geometry.readings.rules import State
from geometry.shape.outline import Grade, Known, Motion, ShapeKind
from geometry.shape.section import Outline, build
from tests.gui.conftest import Person
from tests.gui.test_dialogs import Asked, typed
from tests.support import example
from tests.support.drawings import circle, dxf, pairs, polyline
from tests.support.panels import project

#: A caliper 120 x 87 mm with a bulged edge, and a pipe beside it, in inches.
CALIPER_IN = polyline((-2.913, 4.567), (1.811, 4.567), (1.811, 7.5, -0.2), (1.0, 7.99), (-2.9, 7.5))
PIPE_IN = circle(3.0, 5.0, 0.3, layer="pipe")

Import = Callable[..., tuple[ImportDialog, Asked]]


@pytest.fixture
def bring(qtbot: QtBot, tmp_path: Path) -> Import:
    """Open the dialog on a file and wait until it is read."""

    def opened(
        data: bytes, name: str = "caliper 380.dxf", whole: Project | None = None
    ) -> tuple[ImportDialog, Asked]:
        path = tmp_path / name
        path.write_bytes(data)
        dialog = ImportDialog(whole or project(), path)
        qtbot.addWidget(dialog)
        asked = Asked(dialog)
        ready(dialog)
        return dialog, asked

    return opened


def ready(dialog: ImportDialog) -> None:
    """Wait until the file is read as the fields ask."""
    assert dialog.jobs.wait(20_000)
    QApplication.processEvents()
    assert not dialog.jobs.is_busy


# Units


def test_without_a_unit_both_sizes_are_shown_and_ok_asks(bring: Import) -> None:
    """1.811 in is 46.0 mm; as mm the thing would be 4.7 wide."""
    dialog, asked = bring(dxf(CALIPER_IN, unit=None))
    assert "The file states no unit." in dialog.report.text()
    assert "in mm it spans z -2.9 to 1.8" in dialog.report.text()
    assert "in inches z -74.0 to 46.0" in dialog.report.text()
    asked.ok()
    assert asked.applied == []
    assert "states no unit: choose it" in dialog.message.text()
    dialog.unit.choose("in")
    ready(dialog)
    asked.ok()
    shape = asked.result.shapes[-1]
    assert max(c.z for c in shape.outlines[0].corners) == pytest.approx(1.811 * 25.4)
    assert (shape.card.file_unit, shape.card.unit.text) == ("in", "in, chosen at import")


def test_a_header_at_odds_with_itself_says_so_and_ok_asks(bring: Import) -> None:
    """DXF: $INSUNITS 1 is inches, $MEASUREMENT 1 is metric."""
    dialog, asked = bring(dxf(CALIPER_IN, unit=1, header=pairs(9, "$MEASUREMENT", 70, 1)))
    said = "The file's header contradicts itself: unit in, but set up for mm"
    assert dialog.report.text().lower().count("contradicts itself") == 1
    assert said in dialog.report.text()
    assert "no unit" not in dialog.report.text()
    asked.ok()
    assert asked.applied == []
    assert f"{said}: choose it" in dialog.message.text()


def test_a_stated_unit_is_taken_and_can_be_overruled(bring: Import) -> None:
    dialog, asked = bring(dxf(CALIPER_IN, unit=1))
    assert dialog.unit.box.currentText() == "in, as the file states"
    dialog.unit.choose("mm")
    ready(dialog)
    assert "the file states in; read as mm, as asked" in dialog.report.text()
    dialog.unit.choose("in")
    ready(dialog)
    asked.ok()
    assert max(c.z for c in asked.result.shapes[-1].outlines[0].corners) == pytest.approx(1.811 * 25.4)


# What it becomes


def test_an_imported_shape_starts_unchecked_and_reads_not_known(bring: Import) -> None:
    whole = example.project()
    dialog, asked = bring(dxf(CALIPER_IN, unit=1), whole=whole)
    typed(dialog.name, "Caliper, new")
    dialog.grade.choose(Grade.DRAWING)
    asked.ok()
    made = asked.result
    shape = made.shapes[-1]
    assert shape.name == "Caliper, new"
    assert shape.card.unit.state is Known.ASSUMED
    assert len(shape.open_questions()) == 6  # four answers, datum, extent
    assert shape.card.file_name == "caliper 380.dxf"
    assert len(shape.card.file_sha256) == 64
    assert shape.card.reader
    assert any(c.bulge for c in shape.outlines[0].corners)
    wheel = replace(made.wheels[0], clears=("Caliper, new",))
    found = measure_wheel(replace(made, wheels=(wheel,)), wheel).measurements
    assert found is not None
    assert {row.state for row in found.gap} == {State.NOT_KNOWN}


def test_of_several_outlines_some_are_taken(bring: Import) -> None:
    dialog, asked = bring(dxf(CALIPER_IN, PIPE_IN, unit=1))
    dialog.kind.choose(ShapeKind.HOSE)
    assert len(dialog.loops.boxes) == 2
    asked.ok()
    shape = asked.result.shapes[-1]
    assert [o.label for o in shape.outlines] == ["outline 1", "outline 2"]
    assert shape.motion is Motion.AGAINST_KNUCKLE


def test_a_layer_can_be_left_out(bring: Import) -> None:
    dialog, asked = bring(dxf(CALIPER_IN, PIPE_IN, unit=1))
    dialog.layers.boxes["pipe"].click()
    ready(dialog)
    assert "1 closed outline," in dialog.report.text()
    asked.ok()
    assert [o.label for o in asked.result.shapes[-1].outlines] == ["as read"]


def test_a_blank_is_one_outline(bring: Import) -> None:
    ring = polyline((-30.0, 0.0), (40.0, 0.0), (40.0, 250.0), (-30.0, 250.0))
    dialog, asked = bring(dxf(ring, circle(100.0, 50.0, 5.0)), name="ring.dxf")
    dialog.becomes.choose(BLANK)
    ready(dialog)
    assert not dialog.grade.isVisible()
    asked.ok()
    assert "choose one of those found" in dialog.message.text()
    list(dialog.loops.boxes.values())[1].click()
    asked.ok()
    blank = asked.result.blanks[-1]
    assert blank.name == "ring"
    assert {(c.z, c.r) for c in blank.corners} == {(-30.0, 0.0), (40.0, 0.0), (40.0, 250.0), (-30.0, 250.0)}


def test_replaced_curves_lie_on_the_safe_side_of_what_the_outline_becomes(
    qtbot: QtBot, tmp_path: Path
) -> None:
    """design 4: shapes outward, blanks inward, wheel sections nearest."""
    asked: list[object] = []

    def read(_path: Path, *, side: str, **_how: object) -> ReadOutline:
        asked.append(side)
        raise ReadError("nothing here")

    dialog = ImportDialog(project(), tmp_path / "any.dxf", read=read)
    qtbot.addWidget(dialog)
    for becomes in (BLANK, WHEEL):
        ready(dialog)
        dialog.becomes.choose(becomes)
    ready(dialog)
    assert asked == ["outward", "inward", "nearest"]


def wheel_drawing(shift: float = 0.0) -> bytes:
    outline = build(new_wheel("x", SizeCode(18.0, 10.0), 38.0).section)
    assert isinstance(outline, Outline)
    return dxf(polyline(*((z + shift, r, b) for z, r, b in outline.path.rows())))


def test_a_half_section_becomes_a_wheel_with_its_deviations_shown(bring: Import) -> None:
    """The drawing stands 50 mm off its mounting face; what is recognised is the size it was drawn from."""
    dialog, asked = bring(wheel_drawing(50.0), name="old wheel.dxf")
    dialog.becomes.choose(WHEEL)
    ready(dialog)
    dialog.pages.setCurrentIndex(1)
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


def test_a_wrong_size_or_inset_is_said_before_ok(bring: Import) -> None:
    dialog, _ = bring(wheel_drawing(), name="old wheel.dxf")
    dialog.becomes.choose(WHEEL)
    ready(dialog)
    typed(dialog.wheel.inset.inset, "35")
    assert "38.00 in the drawing and 35 as stated" in dialog.wheel.said.text()
    typed(dialog.wheel.inset.inset, "38")
    typed(dialog.wheel.width_code, "9 1/2")
    assert "that is width code 10" in dialog.wheel.said.text()


def test_the_mounting_face_can_be_pointed_at(bring: Import) -> None:
    dialog, _ = bring(wheel_drawing(50.0), name="old wheel.dxf")
    dialog.becomes.choose(WHEEL)
    ready(dialog)
    low_z, _, left, scale = dialog.preview._fit()
    foot = dialog.preview.height() - 12
    spot = QPoint(round(left + (50.0 - low_z) * scale), round(foot - 55.0 * scale))
    QTest.mouseClick(dialog.preview, Qt.MouseButton.LeftButton, pos=spot)
    assert dialog.wheel.face.read() == pytest.approx(50.0, abs=1e-6)


# Files that give nothing, and waiting


def test_a_file_that_gives_no_outline_says_why_and_adds_nothing(bring: Import) -> None:
    dialog, asked = bring(b"0\nSECTION\n2\nENTITIES\n0\nENDSEC\n0\nEOF\n")
    assert "no closed outline" in dialog.message.text()
    asked.ok()
    assert asked.applied == []
    assert dialog.isVisible()


def test_an_open_outline_can_be_closed_on_demand(bring: Import) -> None:
    dialog, asked = bring(dxf(polyline((0.0, 100.0), (40.0, 100.0), (40.0, 150.0), closed=False)))
    assert "open" in dialog.message.text()
    dialog.close_open.box.click()
    ready(dialog)
    asked.ok()
    assert len(asked.result.shapes[-1].outlines[0].corners) == 3


def test_an_outline_below_the_axle_is_refused_with_its_place(bring: Import) -> None:
    dialog, _ = bring(dxf(polyline((0.0, -5.0), (40.0, 100.0), (0.0, 150.0))))
    assert "r = -5" in dialog.message.text()
    assert "below the axle line" in dialog.message.text()


def test_a_reading_under_way_is_broken_off_by_cancel(qtbot: QtBot, tmp_path: Path) -> None:
    """The window never waits for a reader: the dialog closes at once and the reader is told to stop."""
    stopped = threading.Event()

    def slow(_path: Path, *, cancelled: Callable[[], bool], **_how: object) -> ReadOutline:
        for _ in range(2000):
            if cancelled():
                stopped.set()
                break
            threading.Event().wait(0.005)
        raise ReadError("stopped")

    dialog = ImportDialog(project(), tmp_path / "slow.dxf", read=slow)
    qtbot.addWidget(dialog)
    asked = Asked(dialog)
    assert "Reading slow.dxf" in dialog.report.text()
    asked.ok()
    assert "wait for the reader" in dialog.message.text()
    asked.cancel()
    assert not dialog.isVisible()
    assert dialog.jobs.wait(5_000)
    assert stopped.is_set()
    assert asked.applied == []


def test_the_report_tells_what_was_joined_and_left_out() -> None:
    found = ReadOutline(
        kind="drawing",
        unit="mm",
        loops=(((0.0, 1.0, 0.0), (1.0, 1.0, 0.0), (1.0, 2.0, 0.0)),),
        bounds=(0.0, 1.0, 1.0, 2.0),
        layers={"0": 3},
        skipped={"TEXT": 2},
        joined=1,
        largest_join_mm=0.004,
        doubles=1,
        curves=2,
        curve_error_mm=0.0049,
        warnings=("It looks small.",),
        sha256="0" * 64,
    )
    said = report(found)
    for words in ("1 end joined", "1 drawn twice", "2 curves replaced", "2 TEXT", "It looks small."):
        assert words in said


def test_a_file_dropped_on_the_window_opens_the_dialog_and_is_one_step(
    person: Person, tmp_path: Path
) -> None:
    path = tmp_path / "caliper.dxf"
    path.write_bytes(dxf(CALIPER_IN, unit=1))
    before = len(person.project.shapes)
    person.window.dialogs.import_outline(path)
    dialog = person.window.findChild(ImportDialog)
    assert dialog is not None
    ready(dialog)
    QTest.keyClick(dialog, Qt.Key.Key_Return)
    person.settle()
    assert len(person.project.shapes) == before + 1
    assert person.undo_text == "Import stay-out shape caliper"
    person.do("undo")
    assert len(person.project.shapes) == before

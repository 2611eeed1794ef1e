"""Importing as one flow: layers with long names, which body is the wheel, and a brake confirmed at once."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QPolygonF
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.files.project_file import load
from app.files.readers.limits import NAME_CHARACTERS
from app.project import edits
from app.reports.outputs import export_section
from app.resources import sample
from app.window.dialogs.import_outline import SHAPE, WHEEL, ImportDialog
from app.window.dialogs.source_card import SourceCardDialog
from geometry.readings.rules import State
from geometry.shape.outline import Known
from tests.gui.conftest import Person
from tests.gui.test_dialogs import Asked, typed
from tests.gui.test_dialogs_card import answer
from tests.support import example
from tests.support.drawings import circle, dxf, polyline
from tests.support.panels import project

CALIPER = polyline((-74.0, 116.0), (46.0, 116.0), (46.0, 190.0), (-74.0, 200.0))


def ready(dialog: ImportDialog) -> None:
    """Wait until the file is read as the fields ask, also where an answer starts another reading."""
    for _ in range(3):
        assert dialog.jobs.wait(20_000)
        QApplication.processEvents()
    assert not dialog.jobs.is_busy


def opened(qtbot: QtBot, path: Path, data: bytes | None = None) -> tuple[ImportDialog, Asked]:
    if data is not None:
        path.write_bytes(data)
    dialog = ImportDialog(project(), path)
    qtbot.addWidget(dialog)
    asked = Asked(dialog)
    ready(dialog)
    return dialog, asked


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Our own drawing of sample 3."""
    out = tmp_path_factory.mktemp("export") / "sample 3.dxf"
    whole = load(sample("3-gt-19-touching"))
    export_section(whole, whole.wheels[0], out)
    return out


# Our own drawing comes back


def test_a_layer_named_wheel_becomes_a_wheel(qtbot: QtBot, exported: Path) -> None:
    dialog, _ = opened(qtbot, exported)
    assert dialog.becomes.read() == WHEEL
    dialog.becomes.choose(SHAPE)
    ready(dialog)
    assert dialog.becomes.read() == SHAPE  # what the user chose is not turned back


def test_a_layer_unticked_is_left_out_whatever_the_others_are_called(qtbot: QtBot, exported: Path) -> None:
    dialog, asked = opened(qtbot, exported)
    long = [name for name in dialog.layers.boxes if len(name) > NAME_CHARACTERS]
    assert long
    for name in long:
        box = dialog.layers.boxes[name]
        assert (len(box.text()), box.toolTip()) == (NAME_CHARACTERS, name)
    dialog.layers.boxes["AXLE LINE"].click()
    ready(dialog)
    assert dialog.message.text() == ""
    assert dialog.found is not None
    assert set(dialog.found.layers) == dialog.layers.boxes.keys() - {"AXLE LINE"}
    for name, box in dialog.layers.boxes.items():
        if box.isChecked() and name != "WHEEL":
            box.click()
    ready(dialog)
    typed(dialog.wheel.diameter_code, "19")
    typed(dialog.wheel.width_code, "11")
    asked.ok()
    (before,) = load(sample("3-gt-19-touching")).wheels
    made = asked.result.wheels[-1]
    assert made.inset_mm == pytest.approx(before.inset_mm)
    assert made.hub.bore_mm == pytest.approx(before.hub.bore_mm)


def test_no_layer_ticked_reads_nothing(qtbot: QtBot, tmp_path: Path) -> None:
    dialog, asked = opened(qtbot, tmp_path / "c.dxf", dxf(CALIPER, circle(90, 130, 8, layer="pipe & hose")))
    assert dialog.layers.boxes["pipe & hose"].text() == "pipe && hose"
    for box in dialog.layers.boxes.values():
        box.click()
    ready(dialog)
    assert "tick at least one" in dialog.message.text()
    asked.ok()
    assert asked.applied == []
    dialog.layers.boxes["pipe & hose"].click()
    ready(dialog)
    assert dialog.found is not None
    assert list(dialog.found.layers) == ["pipe & hose"]


# Which one is the wheel


def test_several_bodies_are_numbered_inside_their_outlines(qtbot: QtBot, exported: Path) -> None:
    """Qt's own test of a point in a polygon says that each number lies in its outline."""
    dialog, _ = opened(qtbot, exported)
    preview = dialog.preview
    places = preview.number_places()
    assert dialog.found is not None
    assert len(places) == len(dialog.found.loops) > 2
    assert len(set(places)) == len(places)
    for (z, r), polygon in zip(places, preview._polygons, strict=True):
        outline = QPolygonF([QPointF(*point) for point in polygon])
        assert outline.containsPoint(QPointF(z, r), Qt.FillRule.OddEvenFill)
    spots = preview.number_spots()
    height = preview.fontMetrics().height()
    for k, spot in enumerate(spots):
        assert preview.rect().contains(spot.toPoint())
        # Two tie rods on one another: their numbers stand side by side all the same.
        assert all((spot - other).manhattanLength() > height for other in spots[:k])
    assert "tick it alone under Take" in dialog.wheel.said.text()
    assert [name.split(":")[0] for name in dialog.loops.boxes][:2] == ["outline 1", "outline 2"]


def test_the_numbers_are_drawn_and_a_single_outline_has_none(qtbot: QtBot, tmp_path: Path) -> None:
    dialog, _ = opened(qtbot, tmp_path / "two.dxf", dxf(CALIPER, circle(0.0, 60.0, 30.0, layer="pipe")))
    (z, r) = dialog.preview.number_places()[0]
    low_z, _, left, scale = dialog.preview._fit()
    picture = dialog.preview.grab().toImage()
    at = (round(left + (z - low_z) * scale), round(dialog.preview.height() - 12 - r * scale))
    around = {picture.pixelColor(at[0] + x, at[1] + y).name() for x in range(-6, 7) for y in range(-6, 7)}
    assert len(around) > 2  # a figure on its ground
    dialog.layers.boxes["pipe"].click()
    ready(dialog)
    assert dialog.preview.number_places() == []


# The header


def test_a_stated_unit_is_not_doubted(qtbot: QtBot, tmp_path: Path) -> None:
    dialog, _ = opened(qtbot, tmp_path / "c.dxf", dxf(CALIPER))
    assert "It spans z -74.0 to 46.0, r 116.0 to 200.0 mm." in dialog.report.text()
    assert "drawn in" not in dialog.report.text().lower()
    other, _ = opened(qtbot, tmp_path / "c.dxf", dxf(CALIPER, unit=None))
    assert "drawn in inches" in other.report.text()


def test_the_form_stays_where_it_is_when_the_header_shortens(qtbot: QtBot, tmp_path: Path) -> None:
    layers = (circle(100.0 + 20 * k, 130, 8, layer=f"pipe {k}") for k in range(3))
    text = "".join(f"0\n{kind}\n8\npipe 0\n" for kind in ("TEXT", "HATCH", "DIMENSION", "LEADER"))
    dialog, _ = opened(qtbot, tmp_path / "c.dxf", dxf(CALIPER, *layers, text, unit=None))
    place = dialog.preview.y()
    lines = dialog.report.text().count("\n")
    dialog.unit.choose("mm")
    assert dialog.report.text().startswith("Reading")
    QApplication.processEvents()
    assert dialog.preview.y() == place
    ready(dialog)
    for k in range(3):
        dialog.layers.boxes[f"pipe {k}"].click()
        ready(dialog)
        assert dialog.preview.y() == place
    dialog.layers.boxes["0"].click()
    QApplication.processEvents()
    assert dialog.report.text().count("\n") < lines
    assert dialog.preview.y() == place


# A brake is confirmed at once


def brought(person: Person, tmp_path: Path) -> ImportDialog:
    path = tmp_path / "new brake.dxf"
    path.write_bytes(dxf(CALIPER))
    person.window.dialogs.import_outline(path)
    dialog = person.window.findChild(ImportDialog)
    assert dialog is not None
    ready(dialog)
    return dialog


def states(person: Person) -> set[State | None]:
    found = person.window.document.state.measurements
    assert found is not None
    return {row.state for row in found.gap if row.shape == "new brake"}


def test_an_imported_brake_is_held_and_confirmed_right_after(person: Person, tmp_path: Path) -> None:
    before = person.steps
    QTest.keyClick(brought(person, tmp_path), Qt.Key.Key_Return)
    person.settle()
    assert edits.find(person.project, edits.WHEEL, example.WHEEL).clears[-1] == "new brake"
    assert states(person) == {State.NOT_KNOWN}
    card = person.window.findChild(SourceCardDialog)
    assert card is not None
    assert card.isVisible()
    assert card.shape.name == "new brake"
    assert card.pages.tabText(card.pages.currentIndex()) == "Five questions"
    assert card.answers["unit"].isAncestorOf(card.focusWidget())
    for key in card.answers:
        answer(card, key, "seen on the drawing", "R. Kern")
    for field, text in ((card.checked_by, "R. Kern"), (card.checked_on, "2026-03-09")):
        typed(field, text)
    typed(card.confirmed_by, "R. Kern")
    card.ends_inboard.box.click()
    card.ends_outboard.box.click()
    QTest.keyClick(card, Qt.Key.Key_Return)
    person.settle()
    shape = edits.find(person.project, edits.SHAPE, "new brake")
    assert shape.card.unit.state is Known.ANSWERED
    assert shape.open_questions() == ()
    assert states(person)
    assert State.NOT_KNOWN not in states(person)
    assert person.steps == before + 2
    person.do("undo")
    person.do("undo")
    assert "new brake" not in edits.SHAPE.names(person.project)
    assert "new brake" not in person.project.wheels[0].clears


def test_a_brake_need_not_be_held(person: Person, tmp_path: Path) -> None:
    dialog = brought(person, tmp_path)
    assert dialog.hold.read()
    dialog.hold.box.click()
    clears = person.project.wheels[0].clears
    QTest.keyClick(dialog, Qt.Key.Key_Return)
    person.settle()
    assert "new brake" in edits.SHAPE.names(person.project)
    assert person.project.wheels[0].clears == clears


def test_cancel_opens_no_card_and_without_a_wheel_nothing_is_offered(
    person: Person, qtbot: QtBot, tmp_path: Path
) -> None:
    QTest.keyClick(brought(person, tmp_path), Qt.Key.Key_Escape)
    person.settle()
    assert person.window.findChild(SourceCardDialog) is None
    dialog, asked = opened(qtbot, tmp_path / "new brake.dxf")
    assert not dialog.hold.isVisible()
    asked.ok()
    assert asked.result.wheels == dialog.project.wheels

"""Importing as one flow: our own drawing comes back, files dropped together come in turn, one step each."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog
from pytestqt.qtbot import QtBot

from app.files.project_file import load
from app.project import edits
from app.reports.outputs import export_section
from app.resources import sample
from app.window.dialogs.import_outline import SHAPE, WHEEL, ImportDialog
from app.window.dialogs.source_card import SourceCardDialog
from geometry.readings.rules import State
from geometry.shape.outline import Known
from tests.gui.conftest import Person
from tests.support import example
from tests.support.drawings import circle, dxf, polyline
from tests.support.importing import opened, ready, said, tick, typed

CALIPER = polyline((-74.0, 116.0), (46.0, 116.0), (46.0, 190.0), (-74.0, 200.0))


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
    assert dialog.outline.becomes.read() == WHEEL
    assert dialog.pages.isTabVisible(4)
    dialog.outline.becomes.choose(SHAPE)
    ready(dialog)
    assert dialog.outline.becomes.read() == SHAPE  # what the user chose is not turned back


def test_the_wheel_alone_is_taken_from_our_own_drawing(qtbot: QtBot, exported: Path) -> None:
    dialog, asked = opened(qtbot, exported)
    assert dialog.found is not None
    assert len(dialog.found.loops) > 2
    assert "tick it alone under Take" in dialog.wheel.said.text()
    for layer in dialog.file.layers.read():
        if layer != "WHEEL":
            tick(dialog.file.layers, layer)
    ready(dialog)
    typed(dialog.wheel.diameter_code, "19")
    typed(dialog.wheel.width_code, "11")
    asked.ok()
    (before,) = load(sample("3-gt-19-touching")).wheels
    made = asked.result.wheels[-1]
    assert made.inset_mm == pytest.approx(before.inset_mm)
    assert made.hub.bore_mm == pytest.approx(before.hub.bore_mm)


def test_no_layer_ticked_reads_nothing(qtbot: QtBot, tmp_path: Path) -> None:
    data = dxf(CALIPER, circle(90, 130, 8, layer="pipe & hose"))
    dialog, asked = opened(qtbot, tmp_path / "c.dxf", data)
    assert dialog.file.layers.item("pipe & hose").text(0) == "pipe & hose"
    for layer in ("0", "pipe & hose"):
        tick(dialog.file.layers, layer)
        ready(dialog)
    assert "tick at least one" in said(dialog)
    asked.ok()
    assert asked.applied == []
    tick(dialog.file.layers, "pipe & hose")
    ready(dialog)
    assert dialog.found is not None
    assert len(dialog.found.loops) == 1


def test_the_form_stays_where_it_is_when_the_report_shortens(qtbot: QtBot, tmp_path: Path) -> None:
    layers = (circle(100.0 + 20 * k, 130, 8, layer=f"pipe {k}") for k in range(3))
    text = "".join(f"0\n{kind}\n8\npipe 0\n" for kind in ("TEXT", "HATCH", "DIMENSION", "LEADER"))
    dialog, _ = opened(qtbot, tmp_path / "c.dxf", dxf(CALIPER, *layers, text, unit=None))
    places = [dialog.picture.geometry(), dialog.look.report.geometry(), dialog.pages.geometry()]
    dialog.outline.unit.choose("mm")
    ready(dialog)
    for k in range(3):
        tick(dialog.file.layers, f"pipe {k}")
        ready(dialog)
        assert [dialog.picture.geometry(), dialog.look.report.geometry(), dialog.pages.geometry()] == places


# Into the document


def brought(person: Person, *paths: Path) -> ImportDialog:
    person.window.dialogs.import_outlines(paths)
    return now_open(person)


def now_open(person: Person) -> ImportDialog:
    person.settle()
    dialog = next(d for d in person.window.findChildren(ImportDialog) if d.isVisible())
    ready(dialog)
    return dialog


def states(person: Person, shape: str) -> set[State | None]:
    measured = person.window.document.state.measurements
    assert measured is not None
    return {row.state for row in measured.gap if row.shape == shape}


def caliper(tmp_path: Path, name: str = "new brake.dxf") -> Path:
    path = tmp_path / name
    path.write_bytes(dxf(CALIPER))
    return path


def test_an_imported_brake_is_held_and_trusted_in_one_step(person: Person, tmp_path: Path) -> None:
    before = person.steps
    dialog = brought(person, caliper(tmp_path))
    for field in dialog.trust.answers.values():
        field.state.setCurrentText(str(Known.ANSWERED))
        for line, words in ((field.text, "seen on the drawing"), (field.by, "R. Kern")):
            line.setFocus()
            line.selectAll()
            QTest.keyClicks(line, words)
    for line_field, text in (
        (dialog.trust.checked_by, "R. Kern"),
        (dialog.trust.checked_on, "2026-03-09"),
        (dialog.trust.confirmed_by, "R. Kern"),
    ):
        typed(line_field, text)
    dialog.trust.ends_inboard.box.click()
    dialog.trust.ends_outboard.box.click()
    ready(dialog)
    QTest.keyClick(dialog, Qt.Key.Key_Return)
    person.settle()
    assert edits.find(person.project, edits.WHEEL, example.WHEEL).clears[-1] == "new brake"
    shape = edits.find(person.project, edits.SHAPE, "new brake")
    assert shape.open_questions() == ()
    assert states(person, "new brake")
    assert State.NOT_KNOWN not in states(person, "new brake")
    assert person.steps == before + 1
    assert person.undo_text == "Import stay-out shape new brake"
    assert person.window.findChild(SourceCardDialog) is None
    person.do("undo")
    assert "new brake" not in edits.SHAPE.names(person.project)
    assert "new brake" not in person.project.wheels[0].clears


def test_an_imported_brake_with_open_questions_reads_not_known(person: Person, tmp_path: Path) -> None:
    dialog = brought(person, caliper(tmp_path))
    QTest.keyClick(dialog, Qt.Key.Key_Return)
    person.settle()
    assert states(person, "new brake") == {State.NOT_KNOWN}


def test_a_brake_need_not_be_held(person: Person, tmp_path: Path) -> None:
    dialog = brought(person, caliper(tmp_path))
    assert dialog.outline.hold.read()
    dialog.outline.hold.box.click()
    clears = person.project.wheels[0].clears
    QTest.keyClick(dialog, Qt.Key.Key_Return)
    person.settle()
    assert "new brake" in edits.SHAPE.names(person.project)
    assert person.project.wheels[0].clears == clears


def test_without_a_wheel_nothing_is_offered_to_be_held(qtbot: QtBot, tmp_path: Path) -> None:
    dialog, asked = opened(qtbot, caliper(tmp_path))
    assert not dialog.outline.hold.isVisible()
    asked.ok()
    assert asked.result.wheels == dialog.project.wheels


# Several files


def drop(person: Person, *paths: Path) -> None:
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    copy, left, none = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    person.window.dropEvent(QDropEvent(QPointF(5, 5), copy, mime, left, none))


def test_files_dropped_together_come_in_turn(person: Person, tmp_path: Path) -> None:
    paths = [caliper(tmp_path, f"{name}.dxf") for name in ("front", "rear", "hose")]
    drop(person, *paths)
    first = now_open(person)
    assert [d for d in person.window.findChildren(ImportDialog) if d.isVisible()] == [first]
    assert first.path == paths[0]
    assert first.look.queue.text() == "Then 2 more: rear.dxf, hose.dxf"
    QTest.keyClick(first, Qt.Key.Key_Return)
    second = now_open(person)
    assert second.path == paths[1]
    assert "front" in edits.SHAPE.names(second.project)  # the project as the first one left it
    QTest.keyClick(second, Qt.Key.Key_Escape)
    third = now_open(person)
    assert third.path == paths[2]
    assert not third.look.leave.isVisible()
    QTest.keyClick(third, Qt.Key.Key_Return)
    person.settle()
    assert edits.SHAPE.names(person.project)[-2:] == ("front", "hose")


def test_the_files_that_wait_can_be_left(person: Person, tmp_path: Path) -> None:
    drop(person, *(caliper(tmp_path, f"{name}.dxf") for name in ("front", "rear")))
    first = now_open(person)
    first.look.leave.click()
    assert first.look.queue.text() == ""
    QTest.keyClick(first, Qt.Key.Key_Return)
    person.settle()
    assert not any(d.isVisible() for d in person.window.findChildren(ImportDialog))
    assert edits.SHAPE.names(person.project)[-1] == "front"


def test_several_files_are_chosen_at_once(
    person: Person, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    paths = [str(caliper(tmp_path, f"{name}.dxf")) for name in ("front", "rear")]
    monkeypatch.setattr(QFileDialog, "getOpenFileNames", lambda *_a: (paths, ""))
    person.do("import")
    assert now_open(person).look.queue.text() == "Then 1 more: rear.dxf"

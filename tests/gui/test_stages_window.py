"""The stages of a blank, driven by mouse and keys."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdf
import pytest
from ezdxf.filemanagement import readfile
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog, QLineEdit

from app.project import edits
from app.studies.stages import StageSettings, follow
from app.window import stages_window
from app.window.main_window import MainWindow
from app.window.settings import Settings
from app.window.stages_window import StagesWindow
from geometry.forging.stages import Route
from tests.gui.conftest import turn_wheel, write
from tests.support import example
from tests.support.kept import Kept

FOLLOW = Kept(follow)


@pytest.fixture(autouse=True)
def followed_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stages_window, "follow", FOLLOW)


@pytest.fixture
def opened(qtbot: Any, tmp_path: Path) -> tuple[MainWindow, StagesWindow]:
    window = MainWindow(Settings(tmp_path / "window.ini"), tmp_path / "state")
    qtbot.addWidget(window)
    window.show()
    window.document.start(example.roomy()[0])
    window.document.undo_stack.setClean()
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    QTest.keyClick(window, Qt.Key.Key_T, Qt.KeyboardModifier.ControlModifier)
    found = window.beside.stages
    assert found is not None
    wait(qtbot, found)
    return window, found


def wait(qtbot: Any, found: StagesWindow) -> None:
    qtbot.waitUntil(lambda: found.found is not None and not found.jobs.is_busy, timeout=60_000)


def typed(field: QLineEdit, text: str) -> None:
    field.selectAll()
    write(field, text)
    assert field.text() == text


def column(found: StagesWindow, k: int) -> list[str]:
    cells = [found.table.item(row, k) for row in range(found.table.rowCount())]
    return ["" if cell is None else cell.text() for cell in cells]


def shown(found: StagesWindow) -> str:
    return "" if found.picture.stage is None else found.picture.stage.name


def test_the_table_is_the_study(opened: tuple[MainWindow, StagesWindow]) -> None:
    window, found = opened
    study = follow(window.document.project, example.WHEEL)
    assert [text.removeprefix("▲ ") for text in column(found, 0)] == [stage.name for stage in study.stages]
    assert column(found, 1) == [f"{stage.mass_kg:.2f}" for stage in study.stages]
    assert column(found, 2) == [f"{stage.chips_kg:.2f}" for stage in study.stages]
    assert column(found, 3)[-1] == ""
    assert shown(found) == "first side"
    assert "raw outboard end at z" in found.chosen.text()
    assert "T652" in found.chosen.text()
    assert "Thickest place at heat treatment" in found.head.text()


def test_arrows_and_the_mouse_step_through_the_stages(opened: tuple[MainWindow, StagesWindow]) -> None:
    _, found = opened
    found.picture.setFocus()
    for key, name in (
        (Qt.Key.Key_Right, "second side"),
        (Qt.Key.Key_Down, "finished"),
        (Qt.Key.Key_Right, "finished"),
        (Qt.Key.Key_Home, "as forged"),
        (Qt.Key.Key_Left, "as forged"),
        (Qt.Key.Key_End, "finished"),
        (Qt.Key.Key_Up, "second side"),
    ):
        QTest.keyClick(found.picture, key)
        assert shown(found) == name
    item = found.table.item(1, 0)
    assert item is not None
    place = found.table.visualItemRect(item).center()
    QTest.mouseClick(found.table.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert shown(found) == "solution-treated and aged"
    QTest.keyClick(found.table, Qt.Key.Key_Up)
    assert shown(found) == "as forged"


def test_a_typed_setting_is_read_at_once(qtbot: Any, opened: tuple[MainWindow, StagesWindow]) -> None:
    window, found = opened
    typed(found.rough.line, "2")
    qtbot.waitUntil(lambda: found.table.rowCount() == 7, timeout=60_000)
    wait(qtbot, found)
    study = follow(window.document.project, example.WHEEL, StageSettings(Route(rough_mm=2.0)))
    assert column(found, 1) == [f"{stage.mass_kg:.2f}" for stage in study.stages]
    assert shown(found) == "first side"
    found.first.box.setFocus()
    QTest.keyClick(found.first.box, Qt.Key.Key_Down)
    qtbot.waitUntil(lambda: "Datum: inboard end at z" in found.chosen.text(), timeout=60_000)


def test_a_setting_that_cannot_be_leaves_no_outline_to_save(
    qtbot: Any, opened: tuple[MainWindow, StagesWindow]
) -> None:
    _, found = opened
    assert found.save.isEnabled()
    typed(found.rough.line, "0.3")
    qtbot.waitUntil(lambda: "must be more than the finishing stock" in found.note.text(), timeout=60_000)
    assert not found.save.isEnabled()
    assert found.table.rowCount() == 0
    typed(found.rough.line, "thick")
    qtbot.waitUntil(lambda: "A setting cannot be read" in found.note.text(), timeout=60_000)
    assert "thick" in found.rough.message.text()
    found.rough.line.clear()
    found.rough.line.textEdited.emit("")
    wait(qtbot, found)
    assert found.save.isEnabled()


def test_it_says_when_the_wheel_has_changed(qtbot: Any, opened: tuple[MainWindow, StagesWindow]) -> None:
    window, found = opened
    project = window.document.project
    wheel = project.wheels[0]
    moved = edits.replaced(project, edits.WHEEL, wheel.name, replace(wheel, seat_mm=wheel.seat_mm + 0.5))
    window.document.commit(moved, "Move it")
    assert "changed since" in found.note.text()
    assert not found.save.isEnabled()
    QTest.mouseClick(found.run, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: "changed since" not in found.note.text(), timeout=60_000)
    wait(qtbot, found)
    assert found.save.isEnabled()
    alone = edits.replaced(moved, edits.WHEEL, wheel.name, replace(wheel, blank=None))
    window.document.commit(alone, "Take its blank away")
    QTest.mouseClick(found.run, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: "stands in no blank" in found.note.text(), timeout=60_000)
    window.document.undo_stack.setClean()


def test_the_chosen_stage_is_written(
    opened: tuple[MainWindow, StagesWindow], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, found = opened
    out = tmp_path / "lathe"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_a, **_k: (str(out), "Drawings (*.dxf)"))
    QTest.mouseClick(found.save, Qt.MouseButton.LeftButton)
    layers = {layer.dxf.name for layer in readfile(tmp_path / "lathe.dxf").layers}
    assert {"STAGE first side", "WHEEL", "DATUM", "GRIP", "NOTES"} <= layers
    pages = tmp_path / "pages"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_a, **_k: (str(pages), "All, pages (*.pdf)"))
    QTest.mouseClick(found.save, Qt.MouseButton.LeftButton)
    study = found.found
    assert study is not None
    text = "\n".join(page.extract_text() for page in pypdf.PdfReader(tmp_path / "pages.pdf").pages)
    for stage in study.stages:
        assert f"{stage.mass_kg:.2f} kg" in text
    assert "soft jaws" in text


def test_what_is_drawn_where(opened: tuple[MainWindow, StagesWindow]) -> None:
    """Metal that the next stage cuts is tinted, what stays is not, and beside the section there is paper."""
    _, found = opened
    study = found.found
    assert study is not None

    def seen(z: float, r: float) -> QColor:
        at = found.picture.to_pixels(study).map(QPointF(z, r))
        image = QImage(found.picture.grab().toImage())
        ratio = image.devicePixelRatio()
        return image.pixelColor(int(at.x() * ratio), int(at.y() * ratio))

    z_low, z_high, _, r_high = study.outline.path.bounds
    paper = seen((z_low + z_high) / 2.0 - 20.0, 100.0)
    kept, tinted = seen(20.0, 55.0), seen((z_low + z_high) / 2.0, r_high - 8.0)
    assert len({paper.name(), kept.name(), tinted.name()}) == 3
    found._step(1)
    assert seen(20.0, 55.0).name() == kept.name()
    assert seen((z_low + z_high) / 2.0, r_high - 8.0).name() == paper.name()


def test_the_wheel_zooms_about_the_pointer_and_a_drag_moves(
    opened: tuple[MainWindow, StagesWindow],
) -> None:
    _, found = opened
    assert found.found is not None
    picture = found.picture
    at = QPointF(200.0, 150.0)

    def place() -> tuple[float, float]:
        assert found.found is not None
        inverse, works = picture.to_pixels(found.found).inverted()
        assert works
        mapped = inverse.map(at)
        return mapped.x(), mapped.y()

    before = place()
    turn_wheel(picture, at)
    assert picture.zoom == pytest.approx(1.25)
    assert place() == pytest.approx(before)
    start = at.toPoint()
    QTest.mousePress(picture, Qt.MouseButton.LeftButton, pos=start)
    QTest.mouseMove(picture, start + QPointF(30.0, 0.0).toPoint())
    QTest.mouseRelease(picture, Qt.MouseButton.LeftButton, pos=start)
    moved = place()
    scale = picture.to_pixels(found.found).m11()
    assert math.isclose(before[0] - moved[0], 30.0 / scale, rel_tol=1e-6)
    QTest.mouseDClick(picture, Qt.MouseButton.LeftButton, pos=start)
    assert picture.zoom == 1.0
    assert place() == pytest.approx(before)

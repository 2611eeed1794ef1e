"""The tracing dialog: reading its picture, its sheet, its keys, how it is opened."""

from __future__ import annotations

import io
import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit, QPushButton
from pytestqt.qtbot import QtBot

from app.files.readers.answer import ReadError
from app.files.readers.read_picture import Picture, read_picture
from app.window.dialogs.trace_picture import TraceDialog
from app.window.dialogs.trace_state import Task
from tests.gui.conftest import Asked, Person
from tests.support import brake_picture, example
from tests.support.brake_picture import BRAKE, pixel
from tests.support.importing import typed
from tests.support.tracing import (
    click,
    click_far,
    drag,
    move,
    opened,
    point,
    read_here,
    ready,
    said,
    set_scale,
    shown,
    trace_brake,
    wheel,
)

Answer = Callable[..., list[str]]
Traced = tuple[TraceDialog, Asked]


@pytest.fixture
def bare(qtbot: QtBot, tmp_path: Path) -> Traced:
    return opened(qtbot, tmp_path)


@pytest.fixture
def scaled(bare: Traced) -> Traced:
    set_scale(bare[0])
    return bare


def corners(asked: Asked) -> list[tuple[float, float]]:
    return [(c.z, c.r) for c in asked.result.shapes[-1].outlines[0].corners]


# Reading


def test_a_page_of_a_pdf_is_chosen_and_undo_brings_the_old_one_back(qtbot: QtBot, tmp_path: Path) -> None:
    dialog, _ = opened(qtbot, tmp_path, brake_picture.pdf(), "kit.pdf")
    assert dialog.lie.about.text().startswith("Page 1 of 2; ")
    click(dialog, (500.0, 500.0))
    click(dialog, (900.0, 500.0))
    typed(dialog.lie.page, "2")
    QTest.keyClick(dialog.lie.page.line, Qt.Key.Key_Tab)
    ready(dialog)
    assert dialog.picture is not None
    assert dialog.picture.page == 1
    assert dialog.trace.lengths[0].ends is None
    dialog.outline.undo.click()
    ready(dialog)
    assert dialog.picture.page == 0
    assert dialog.trace.lengths[0].ends is not None
    typed(dialog.lie.page, "3")
    assert not dialog.lie.page.check()
    assert "the most is 2" in dialog.lie.page.message.text()


def test_a_pdf_says_its_page_in_the_source(qtbot: QtBot, tmp_path: Path) -> None:
    dialog, asked = opened(qtbot, tmp_path, brake_picture.pdf(), "kit.pdf")
    typed(dialog.lie.page, "2")
    QTest.keyClick(dialog.lie.page.line, Qt.Key.Key_Tab)
    ready(dialog)
    assert dialog.picture is not None
    fine = dialog.picture.head.width / brake_picture.WIDTH

    def at(z: float, r: float) -> tuple[float, float]:
        x, y = pixel(z, r)
        return fine * x, fine * y

    set_scale(dialog, at)
    point(dialog, Task.OUTLINE, *(at(*place) for place in BRAKE))
    dialog.outline.close.click()
    ready(dialog)
    asked.ok()
    assert asked.result.shapes[-1].card.source == "traced over page 2 of kit.pdf"
    for found, true in zip(corners(asked), BRAKE, strict=True):
        assert found == pytest.approx(true, abs=0.35)


def test_a_damaged_picture_says_so_and_nothing_can_be_clicked(qtbot: QtBot, tmp_path: Path) -> None:
    dialog, asked = opened(qtbot, tmp_path, brake_picture.png()[:5000], read=read_picture)
    words = "the picture is damaged or cut off; ask for it again, or save it anew"
    assert dialog.strip.text() == f"Not read: {words}"
    assert "Not read" in said(dialog)
    click_far(dialog, (50.0, 50.0))
    assert dialog.steps.first is None
    dialog.buttons.button(dialog.buttons.StandardButton.Ok).click()
    assert not asked.applied
    assert words in dialog.message.text()


def test_while_a_picture_is_read_the_dialog_answers_and_closing_breaks_it_off(
    qtbot: QtBot, tmp_path: Path
) -> None:
    asked_to_stop = threading.Event()

    def slow(path: Path, page: int = 0, cancelled: Callable[[], bool] | None = None) -> Picture:
        assert cancelled is not None
        end = time.monotonic() + 10.0
        while time.monotonic() < end and not cancelled():
            time.sleep(0.01)
        if cancelled():
            asked_to_stop.set()
        raise ReadError("stopped")

    path = tmp_path / "slow.png"
    path.write_bytes(brake_picture.png())
    dialog = TraceDialog(example.project(), path, None, read=slow)
    qtbot.addWidget(dialog)
    asked = Asked(dialog)
    assert dialog.strip.text() == "Reading slow.png..."
    assert not dialog.next.isEnabled()
    asked.cancel()
    assert not dialog.isVisible()
    assert asked_to_stop.wait(5.0)


def test_a_grey_picture_is_shown_grey(qtbot: QtBot, tmp_path: Path) -> None:
    file = io.BytesIO()
    Image.fromarray(np.full((90, 120), 77, dtype=np.uint8)).save(file, "PNG")
    dialog, _ = opened(qtbot, tmp_path, file.getvalue())
    dialog.sheet.cross = None
    image = dialog.sheet.grab().toImage()
    at = dialog.sheet.view.point((60.0, 45.0)) * image.devicePixelRatio()
    assert image.pixelColor(at.toPoint()).name() == "#4d4d4d"


# The sheet


def test_zoom_keeps_the_place_under_the_pointer_and_dragging_moves_the_picture(bare: Traced) -> None:
    dialog, _ = bare
    sheet = dialog.sheet
    at = shown(dialog, (300.0, 400.0))
    before = sheet.view.pixel(QPointF(at))
    wheel(dialog, at, 3)
    assert sheet.view.pixel(QPointF(at)) == pytest.approx(before)
    middle = sheet.view.pixel(sheet.view.view.plot.center())
    drag(dialog, middle, (middle[0] + 40.0, middle[1] + 30.0))
    assert dialog.steps.first is None  # a drag is no click
    assert sheet.view.pixel(sheet.view.view.plot.center()) == pytest.approx(
        (middle[0] - 40.0, middle[1] - 30.0), abs=2.0
    )
    QTest.keyClick(sheet, Qt.Key.Key_0)
    corner = sheet.view.point((0.0, 0.0))
    assert sheet.rect().contains(corner.toPoint())


def test_a_click_beside_the_picture_takes_nothing(bare: Traced) -> None:
    dialog, _ = bare
    click_far(dialog, (-60.0, 700.0))
    assert dialog.steps.first is None


def test_pixels_go_to_the_sheet_and_back(scaled: Traced) -> None:
    view = scaled[0].sheet.view
    for at in ((0.0, 0.0), (1100.0, 3.0), (417.0, 1399.0)):
        assert view.pixel(view.point(at)) == pytest.approx(at, abs=1e-6)
        assert view.shown(np.array([at]))[0] == pytest.approx(
            (view.point(at).x(), view.point(at).y()), abs=1e-6
        )


def test_the_enlarged_look_stands_where_the_pointer_is_not(bare: Traced) -> None:
    dialog, _ = bare
    right = dialog.sheet.width() - 8 - 128
    for at, frame, free in (((100.0, 700.0), right, 8), ((1000.0, 700.0), 8, right)):
        move(dialog, shown(dialog, at))
        image = dialog.sheet.grab().toImage()
        ratio = image.devicePixelRatio()
        darkest = [
            min(image.pixelColor(round(ratio * (x + k)), round(60 * ratio)).lightness() for k in (-1, 0, 1))
            for x in (frame, free)
        ]
        assert darkest[0] < 150 < darkest[1]


# The window


def test_every_control_is_reached_by_tab_and_has_a_name(scaled: Traced) -> None:
    dialog, _ = scaled
    for page in range(4):
        dialog.pages.setCurrentIndex(page)
        QApplication.processEvents()
        dialog.sheet.setFocus()
        seen: list[object] = []
        for _ in range(120):
            QTest.keyClick(QApplication.focusWidget() or dialog, Qt.Key.Key_Tab)
            now = QApplication.focusWidget()
            assert now is not None
            if now in seen:
                break
            seen.append(now)
            named = now.accessibleName() or (now.text() if hasattr(now, "text") else "")
            assert named or now in (dialog.pages, dialog.pages.tabBar()), now
        area = dialog.pages.currentWidget()
        for kind in (QLineEdit, QComboBox, QPushButton):
            for widget in area.findChildren(kind):
                if widget.isVisible() and widget.isEnabled() and not isinstance(widget.parent(), QComboBox):
                    assert widget in seen, (page, widget.accessibleName())
        assert {dialog.sheet, dialog.look.picture, dialog.next} <= set(seen)


def test_it_fits_a_small_screen(bare: Traced) -> None:
    dialog, _ = bare
    assert dialog.minimumSizeHint().width() <= 1280
    assert dialog.minimumSizeHint().height() <= 760
    assert dialog.height() <= 760


def test_the_menu_asks_for_a_picture_and_traces_it(
    person: Person, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "front.png"
    path.write_bytes(brake_picture.png())
    asked: list[str] = []

    def chosen(_parent: object, _title: str, _folder: str, kinds: str) -> tuple[str, str]:
        asked.append(kinds)
        return str(path), ""

    monkeypatch.setattr("app.window.dialog_menu.QFileDialog.getOpenFileName", chosen)
    assert person.window.actions_by_name["trace"].shortcut() == QKeySequence("Ctrl+Shift+T")
    person.do("trace")
    assert asked == ["Pictures (*.png *.jpg *.jpeg *.pdf);;All files (*)"]
    dialog = QApplication.activeModalWidget()
    assert isinstance(dialog, TraceDialog)
    ready(dialog)
    set_scale(dialog)
    trace_brake(dialog)
    ready(dialog)
    dialog.buttons.button(dialog.buttons.StandardButton.Ok).click()
    person.settle()
    assert person.undo_text == "Trace front"
    assert person.project.shapes[-1].name == "front"


def test_a_picture_that_is_dropped_is_traced(person: Person, tmp_path: Path) -> None:
    path = tmp_path / "dropped.pdf"
    path.write_bytes(brake_picture.pdf())
    person.window.files.open_dropped([path])
    dialog = QApplication.activeModalWidget()
    assert isinstance(dialog, TraceDialog)
    ready(dialog)
    dialog.close()


def test_without_a_shown_wheel_nothing_is_held_against_it(qtbot: QtBot, tmp_path: Path) -> None:
    dialog, asked = opened(qtbot, tmp_path, wheel=None, read=read_here)
    set_scale(dialog)
    trace_brake(dialog)
    ready(dialog)
    assert "No wheel is shown" in dialog.look.gap.text()
    asked.ok()
    assert asked.result.wheels == example.project().wheels

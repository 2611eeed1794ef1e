"""Tracing a picture: scale from known lengths, zero by pointing, the outline clicked over the shown wheel."""

from __future__ import annotations

import io
import math
import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import Image
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit, QPushButton
from pytestqt.qtbot import QtBot

from app.files.readers.answer import ReadError
from app.files.readers.read_picture import Picture, read_picture
from app.studies.fit import measure_wheel
from app.window.dialogs.trace_picture import TraceDialog
from app.window.dialogs.trace_state import Task
from geometry.readings.rules import State
from geometry.shape.outline import Grade, Known, ZeroFace
from tests.gui.conftest import Person
from tests.gui.test_dialogs import Asked
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


@pytest.fixture
def whole(scaled: Traced) -> Traced:
    trace_brake(scaled[0])
    ready(scaled[0])
    return scaled


def corners(asked: Asked) -> list[tuple[float, float]]:
    return [(c.z, c.r) for c in asked.result.shapes[-1].outlines[0].corners]


# From end to end


def test_a_brake_is_found_again_from_its_picture(whole: Traced) -> None:
    """The sheet is turned by 1.2 degrees and a hundredth narrower than high; a click is half a pixel off."""
    _, asked = whole
    asked.ok()
    for found, true in zip(corners(asked), BRAKE, strict=True):
        assert found == pytest.approx(true, abs=0.35)
    both = [shapely.Polygon(corners(asked)), shapely.Polygon(BRAKE)]
    assert both[0].hausdorff_distance(both[1]) < asked.result.shapes[-1].card.error_mm


def test_its_card_is_a_tracings_and_open(whole: Traced) -> None:
    _, asked = whole
    asked.ok()
    shape = asked.result.shapes[-1]
    card = shape.card
    assert card.grade is Grade.TRACING
    assert card.source == "traced over sheet.png"
    assert (card.unit.state, card.unit.by) == (Known.ANSWERED, "the scale of the picture")
    assert card.unit.text == "mm, by known lengths: 108 and 86 along z, 199 and 134 along r"
    assert card.zero_face.state is Known.ASSUMED
    assert card.datum_checked_by == ""
    assert len(card.file_sha256) == 64
    assert not shape.extent.ends_inboard
    assert not shape.extent.ends_outboard
    assert [q[:12] for q in shape.open_questions()] == [
        "Is r the lar", "Is any gap a", "Which disc, ", "Who checked ", "Where is the",
    ]  # fmt: skip
    assert asked.result.wheels[0].clears[-1] == shape.name == "sheet"
    measured = measure_wheel(asked.result, asked.result.wheels[0]).measurements
    assert measured is not None
    states = {row.state for row in measured.gap if row.shape == shape.name}
    assert states <= {State.NOT_KNOWN, State.SHORT, State.TOUCHING}
    assert asked.applied[0][1] == "Trace sheet"


def test_it_is_seen_over_the_wheel_with_its_least_gap_and_error(whole: Traced) -> None:
    dialog, _ = whole
    given = dialog.look.picture.given
    assert given.path is not None
    assert given.path.bounds == pytest.approx((-62.0, 46.0, 116.0, 203.0), abs=0.4)
    assert dialog.look.gap.text().startswith("Nearest: spoke back")
    assert "? not known" in dialog.look.gap.text()
    report = said(dialog)
    assert "two pixels of 0.20 mm are 0.4" in report
    assert "tracing; not known until settled (5)" in report


def test_through_the_real_reader(qtbot: QtBot, tmp_path: Path) -> None:
    dialog, _ = opened(qtbot, tmp_path, read=read_picture)
    assert dialog.picture is not None
    assert (dialog.picture.head.width, dialog.picture.head.height) == (1100, 1400)
    assert dialog.lie.about.text() == "1100 x 1400 pixels"


def test_everything_by_keys_alone(bare: Traced) -> None:
    """Enter leads from step to step; arrows move the cross, Space takes; a known length is typed between."""
    dialog, asked = bare
    sheet = dialog.sheet

    def press(*keys: Qt.Key, held: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        for key in keys:
            QTest.keyClick(QApplication.focusWidget() or dialog, key, held)
        QApplication.processEvents()

    def go(z: float, r: float) -> None:
        """Steer the cross to a place by arrows, as one does by eye."""
        for _ in range(400):
            at = sheet.view.pixel(sheet.view.view.plot.center()) if sheet.cross is None else sheet.cross
            off = sheet.view.point(pixel(z, r)) - sheet.view.point(at)
            if abs(off.x()) < 0.6 and abs(off.y()) < 0.6:
                break
            along = abs(off.x()) > abs(off.y())
            size = off.x() if along else off.y()
            way = (Qt.Key.Key_Left, Qt.Key.Key_Right) if along else (Qt.Key.Key_Up, Qt.Key.Key_Down)
            far = Qt.KeyboardModifier.ShiftModifier if abs(size) >= 10 else Qt.KeyboardModifier.NoModifier
            press(way[size > 0], held=far)
        press(Qt.Key.Key_Space)

    assert sheet.hasFocus()
    go(-62.0, 226.0)
    go(46.0, 226.0)
    assert QApplication.focusWidget() is dialog.scale.lengths[0].line
    QTest.keyClicks(dialog.scale.lengths[0].line, "108")
    press(Qt.Key.Key_Return)
    assert sheet.hasFocus()
    assert dialog.strip.text() == "Click the two ends of a known length along r, square to the axle."
    go(90.0, 0.0)
    go(90.0, 199.0)
    QTest.keyClicks(dialog.scale.lengths[2].line, "199")
    press(Qt.Key.Key_Return)
    go(0.0, 40.0)
    go(-50.0, 0.0)
    assert dialog.steps.task is Task.OUTLINE
    for place in BRAKE[:4]:
        go(*place)
    press(Qt.Key.Key_Backspace)
    go(*BRAKE[5])
    press(Qt.Key.Key_Return)
    assert dialog.trace.is_closed
    ready(dialog)
    press(Qt.Key.Key_Return)
    assert len(asked.applied) == 1, dialog.message.text()
    assert corners(asked)[3] == pytest.approx(BRAKE[5], abs=6.0)  # not levelled: 1.2 degrees over 200 mm


# Scale


def test_a_second_length_that_disagrees_says_by_how_much_and_widens_the_error(scaled: Traced) -> None:
    """90 instead of 86 over the same pixels: 4.6 % of the mean, from the face out to 62 mm."""
    dialog, _ = scaled
    trace_brake(dialog)
    before = dialog.trust.error.read()
    assert before is not None
    typed(dialog.scale.lengths[1], "90")
    ready(dialog)
    assert "its lengths differ by 4.5 %" in said(dialog) or "its lengths differ by 4.6 %" in said(dialog)
    after = dialog.trust.error.read()
    assert after is not None
    assert after > before
    assert after >= 0.045 * 62.0


def test_axes_that_differ_are_said_with_their_percentage(scaled: Traced) -> None:
    """4.95 and 5.00 pixels to a mm: 1.0 %."""
    assert "their scales differ by 1.0 %" in said(scaled[0])


def test_a_wrong_length_makes_the_axes_differ_with_a_warning(scaled: Traced) -> None:
    dialog, _ = scaled
    typed(dialog.scale.lengths[0], "140")
    typed(dialog.scale.lengths[1], "")
    line = next(one for one in dialog.look.said if one.about == "Axes")
    assert line.tone == "look"
    assert "wrong length" in line.said


def test_one_length_alone_is_worth_a_word(bare: Traced) -> None:
    dialog, _ = bare
    point(dialog, Task.R_FIRST, pixel(90.0, 0.0), pixel(90.0, 199.0))
    assert QApplication.focusWidget() is dialog.scale.lengths[2].line
    typed(dialog.scale.lengths[2], "199,0")
    assert "by one length alone: a second along r would check it" in said(dialog)
    assert "No known length along z yet" in said(dialog)
    pixels = math.dist(pixel(90.0, 0.0), pixel(90.0, 199.0))
    scale = float(dialog.scale.notes[2].text().split(", ")[1].removesuffix(" mm a pixel"))
    assert scale == pytest.approx(199.0 / pixels, rel=0.002)


def test_a_length_that_leans_is_counted_along_its_axis_and_says_so(bare: Traced) -> None:
    dialog, _ = bare
    point(dialog, Task.Z_FIRST, pixel(-62.0, 116.0), pixel(46.0, 176.0))
    assert "off the axis" in dialog.scale.notes[0].text()
    point(dialog, Task.R_FIRST, pixel(-62.0, 203.0), pixel(46.0, 203.0))
    typed(dialog.scale.lengths[2], "108")
    assert any(line.about == "Scale r" and line.tone == "trouble" for line in dialog.look.said) or (
        "off the axis" in dialog.scale.notes[2].text()
    )


def test_a_length_that_cannot_be_read_changes_nothing_and_ok_says_where(whole: Traced) -> None:
    dialog, asked = whole
    typed(dialog.scale.lengths[0], "10x")
    assert dialog.trace.lengths[0].true_mm == 10.0  # as far as it could be read
    asked.ok()
    assert not asked.applied
    assert "'x'" in dialog.scale.lengths[0].message.text()


def test_a_typed_error_stays_and_one_that_is_too_small_is_said(whole: Traced) -> None:
    dialog, asked = whole
    dialog.pages.setCurrentIndex(3)
    typed(dialog.trust.error, "0,5")
    assert "± 0.5 mm is typed, less than the picture gives" in said(dialog)
    typed(dialog.scale.lengths[0], "109")
    assert dialog.trust.error.read() == 0.5
    ready(dialog)
    asked.ok()
    assert asked.result.shapes[-1].card.error_mm == 0.5


# How it lies, and its zero


def test_levelling_shows_the_picture_level_and_says_by_how_much(bare: Traced) -> None:
    dialog, _ = bare
    point(dialog, Task.LEVEL, pixel(-100.0, 0.0), pixel(100.0, 0.0))
    assert dialog.trace.lie.tilt_deg == pytest.approx(1.2, abs=0.05)
    assert dialog.lie.tilt.text().startswith("Turned to the right by 1.")
    a, b = (dialog.sheet.view.point(pixel(z, 0.0)) for z in (-100.0, 100.0))
    assert a.y() == pytest.approx(b.y(), abs=0.5)


def test_the_picture_is_drawn_where_it_lies_turned_and_flipped(bare: Traced) -> None:
    """The brake's colour is found where the view says that the middle of the brake is."""
    dialog, _ = bare
    inside, paper = pixel(-10.0, 150.0), pixel(60.0, 220.0)
    for turns, flip in ((0, False), (1, False), (2, True), (3, False)):
        dialog.lie.turns.choose(turns)
        if dialog.lie.flip.read() is not flip:
            dialog.lie.flip.box.click()
        QApplication.processEvents()
        dialog.sheet.cross = None
        image = dialog.sheet.grab().toImage()
        scale = image.devicePixelRatio()
        colours = [image.pixelColor((dialog.sheet.view.point(p) * scale).toPoint()) for p in (inside, paper)]
        assert colours[0].name() == "#d6d0c6", (turns, flip)
        assert colours[1].lightness() > 240


def test_a_flipped_picture_gives_outboard_to_the_left(bare: Traced) -> None:
    """The sheet of a brake seen from the other side: mirrored, so that z runs to the left."""
    dialog, asked = bare

    def mirrored(z: float, r: float) -> tuple[float, float]:
        return pixel(-z, r)

    dialog.lie.flip.box.click()
    set_scale(dialog, mirrored)
    point(dialog, Task.OUTLINE, *(mirrored(*place) for place in BRAKE))
    dialog.outline.close.click()
    ready(dialog)
    asked.ok()
    for found, true in zip(corners(asked), BRAKE, strict=True):
        assert found == pytest.approx(true, abs=0.35)


def test_where_the_axle_line_is_not_in_the_picture_another_r_is_typed(scaled: Traced) -> None:
    dialog, asked = scaled
    point(dialog, Task.AXLE, pixel(0.0, 116.0))
    typed(dialog.scale.axle, "116,0")
    point(dialog, Task.BEARING, pixel(46.0, 160.0))
    typed(dialog.scale.face, "46")
    trace_brake(dialog)
    ready(dialog)
    asked.ok()
    for found, true in zip(corners(asked), BRAKE, strict=True):
        assert found == pytest.approx(true, abs=0.6)


def test_the_hub_flange_moves_the_outline_inboard_by_the_hat(whole: Traced) -> None:
    dialog, asked = whole
    point(dialog, Task.FLANGE, pixel(0.0, 40.0))
    assert dialog.trust.zero_at.read() is ZeroFace.HUB_FLANGE
    dialog.pages.setCurrentIndex(3)
    typed(dialog.trust.hat, "7,0")
    ready(dialog)
    given = dialog.look.picture.given
    assert given.path is not None
    assert given.path.bounds[1] == pytest.approx(39.0, abs=0.4)
    asked.ok()
    shape = asked.result.shapes[-1]
    assert (shape.card.zero_at, shape.card.hat_mm) == (ZeroFace.HUB_FLANGE, 7.0)


# The outline


def test_a_click_on_the_first_point_closes(scaled: Traced) -> None:
    dialog, _ = scaled
    point(dialog, Task.OUTLINE, *(pixel(*place) for place in BRAKE[:3]))
    assert not dialog.trace.is_closed
    click(dialog, pixel(*BRAKE[0]))
    assert dialog.trace.is_closed
    assert len(dialog.trace.points) == 3


def test_two_points_do_not_close(scaled: Traced) -> None:
    dialog, _ = scaled
    point(dialog, Task.OUTLINE, pixel(*BRAKE[0]), pixel(*BRAKE[1]))
    QTest.keyClick(dialog.sheet, Qt.Key.Key_Return)
    click_far(dialog, pixel(*BRAKE[0]))
    assert not dialog.trace.is_closed
    assert not dialog.outline.close.isEnabled()


def test_backspace_removes_the_last_point_the_selected_one_or_opens_again(whole: Traced) -> None:
    dialog, _ = whole
    click(dialog, pixel(*BRAKE[2]))
    assert dialog.steps.selected == 2
    QTest.keyClick(dialog.sheet, Qt.Key.Key_Backspace)
    assert len(dialog.trace.points) == 6
    assert dialog.trace.is_closed
    QTest.keyClick(dialog.sheet, Qt.Key.Key_Backspace)
    assert not dialog.trace.is_closed
    QTest.keyClick(dialog.sheet, Qt.Key.Key_Backspace)
    assert len(dialog.trace.points) == 5


def test_a_point_is_dragged_in_one_step(whole: Traced) -> None:
    dialog, asked = whole
    steps = len(dialog.steps.history.past)
    drag(dialog, pixel(*BRAKE[4]), pixel(30.0, 190.0))
    assert len(dialog.steps.history.past) == steps + 1
    ready(dialog)
    asked.ok()
    assert corners(asked)[4] == pytest.approx((30.0, 190.0), abs=0.6)


def test_a_click_on_a_side_puts_a_point_there(whole: Traced) -> None:
    dialog, _ = whole
    click(dialog, pixel(46.0, 155.0))
    assert dialog.steps.selected == 3
    assert len(dialog.trace.points) == 8
    assert "4 of 8: z 4" in dialog.outline.point.box.currentText()


def test_typed_coordinates_win_over_click_and_drag(whole: Traced) -> None:
    dialog, asked = whole
    dialog.pages.setCurrentIndex(2)
    dialog.outline.point.choose(3)
    typed(dialog.outline.z, "46,25")
    typed(dialog.outline.r, "175,5")
    typed(dialog.outline.radius, "4,5")
    drag(dialog, pixel(46.25, 175.5), pixel(60.0, 190.0))
    ready(dialog)
    asked.ok()
    corner = asked.result.shapes[-1].outlines[0].corners[3]
    assert (corner.z, corner.r, corner.radius) == (46.25, 175.5, 4.5)


def test_an_emptied_coordinate_takes_the_click_again(whole: Traced) -> None:
    dialog, _ = whole
    dialog.pages.setCurrentIndex(2)
    dialog.outline.point.choose(3)
    typed(dialog.outline.z, "40")
    typed(dialog.outline.z, "")
    assert dialog.trace.points[3].z is None
    assert dialog.outline.z.line.placeholderText().startswith("as clicked, 4")


def test_a_radius_that_does_not_fit_and_a_crossing_are_said_and_refused(whole: Traced) -> None:
    dialog, asked = whole
    dialog.pages.setCurrentIndex(2)
    dialog.outline.point.choose(3)
    typed(dialog.outline.radius, "400")
    assert "Point 4: radius 400 mm runs past the end of an edge" in said(dialog)
    asked.ok()
    assert not asked.applied
    assert "Point 4: radius" in dialog.message.text()
    typed(dialog.outline.radius, "0")
    drag(dialog, pixel(*BRAKE[2]), pixel(-80.0, 190.0))
    ready(dialog)
    assert "crosses itself" in said(dialog)
    asked.ok()
    assert not asked.applied


def test_a_point_below_the_axle_line_is_refused(whole: Traced) -> None:
    dialog, asked = whole
    drag(dialog, pixel(*BRAKE[0]), pixel(-62.0, -10.0))
    ready(dialog)
    assert "below the axle line" in said(dialog)
    asked.ok()
    assert not asked.applied


def test_what_was_drawn_follows_a_scale_that_is_mended(whole: Traced) -> None:
    """Twice the known lengths, twice the brake."""
    dialog, asked = whole
    for field, true in zip(dialog.scale.lengths, ("216", "172", "398", "268"), strict=True):
        typed(field, true)
    ready(dialog)
    asked.ok()
    for found, true_place in zip(corners(asked), BRAKE, strict=True):
        assert found == pytest.approx((2.0 * true_place[0], 2.0 * true_place[1]), abs=0.7)


# Undo


def test_undo_and_redo_go_through_clicks_and_typed_numbers(scaled: Traced) -> None:
    dialog, _ = scaled
    point(dialog, Task.OUTLINE, pixel(*BRAKE[0]), pixel(*BRAKE[1]))
    QTest.keyClick(dialog.sheet, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert [p.at for p in dialog.trace.points] == [pytest.approx(pixel(*BRAKE[0]), abs=1.0)]
    dialog.outline.undo.click()
    assert not dialog.trace.points
    dialog.outline.undo.click()
    assert dialog.trace.axle is None
    dialog.outline.undo.click()
    dialog.outline.undo.click()
    assert dialog.trace.lengths[3].true_mm is None  # "134" was one step, not three
    assert dialog.scale.lengths[3].line.text() == ""
    for _ in range(4):
        dialog.outline.redo.click()
    assert len(dialog.trace.points) == 1
    assert dialog.scale.lengths[3].line.text() == "134"
    click(dialog, pixel(*BRAKE[1]))
    assert not dialog.outline.redo.isEnabled()


def test_undo_to_the_beginning_and_back_is_the_same_tracing(whole: Traced) -> None:
    dialog, _ = whole
    last = dialog.trace
    while dialog.outline.undo.isEnabled():
        dialog.outline.undo.click()
    assert dialog.trace == type(last)()
    while dialog.outline.redo.isEnabled():
        dialog.outline.redo.click()
    assert dialog.trace == last


# Steps, leaving


def test_next_leads_from_step_to_step(bare: Traced) -> None:
    dialog, asked = bare
    dialog.next.click()
    assert dialog.steps.task is Task.Z_FIRST
    assert dialog.pages.currentIndex() == 1
    assert dialog.strip.text() == "Click the two ends of a known length along z, the axle."
    click(dialog, pixel(-62.0, 226.0))
    assert dialog.strip.text().endswith("now the second.")
    click(dialog, pixel(46.0, 226.0))
    dialog.next.click()
    assert QApplication.focusWidget() is dialog.scale.lengths[0].line
    asked.ok()  # Enter goes on; it is too early for OK
    assert not asked.applied


def test_ok_says_what_is_missing(scaled: Traced) -> None:
    dialog, asked = scaled
    ok = dialog.buttons.button(dialog.buttons.StandardButton.Ok)
    ok.click()
    assert not asked.applied
    assert dialog.message.text() == "▸ Not yet: point at the corners of the outline, one after the other."


def test_escape_gives_up_the_first_click_before_it_asks_to_leave(bare: Traced, answer: Answer) -> None:
    dialog, asked = bare
    point(dialog, Task.Z_FIRST, pixel(-62.0, 226.0))
    assert dialog.steps.first is not None
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert dialog.steps.first is None
    assert dialog.isVisible()
    questions = answer("Stay", "Leave")
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert dialog.isVisible()
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert not dialog.isVisible()
    assert len(questions) == 2
    assert not asked.applied


def test_an_untouched_dialog_closes_at_once(bare: Traced) -> None:
    dialog, asked = bare
    asked.cancel()
    assert not dialog.isVisible()


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

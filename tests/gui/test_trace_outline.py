"""The traced outline: its points clicked, dragged, typed and taken back, step by step."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.window.dialogs.trace_picture import TraceDialog
from app.window.dialogs.trace_state import Task
from tests.gui.conftest import Asked
from tests.support.brake_picture import BRAKE, pixel
from tests.support.importing import typed
from tests.support.tracing import (
    click,
    click_far,
    drag,
    opened,
    point,
    ready,
    said,
    set_scale,
    trace_brake,
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

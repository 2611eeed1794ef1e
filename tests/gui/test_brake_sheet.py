"""A brake typed from a sheet, as on the telephone: seen over the wheel, contradictions said, nothing lost."""

from __future__ import annotations

import time
from collections.abc import Callable

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialogButtonBox, QLineEdit
from pytestqt.qtbot import QtBot

from app.project.sheet_card import TYPED
from app.studies.fit import measure_wheel
from app.window.dialogs.brake_sheet import BrakeSheetDialog
from app.window.dialogs.typed_fields import Field
from geometry.readings.rules import State
from geometry.shape.outline import CarEnd, CarSide, Grade, Known, Reach, ZeroFace
from tests.gui.conftest import Asked, Person, turn_wheel, typed
from tests.support import example

Answer = Callable[..., list[str]]
POINTS = (("24", "116"), ("46", "134"), ("46", "176"), ("36", "199,5"))


def ready(dialog: BrakeSheetDialog) -> None:
    """Wait until the gap is said, and what contradicts itself."""
    end = time.monotonic() + 20.0
    while True:
        QApplication.processEvents()
        if not (dialog.look.is_busy or dialog._settle.isActive()):
            return
        assert time.monotonic() < end
        time.sleep(0.005)


def fill(dialog: BrakeSheetDialog, *points: tuple[str, ...]) -> None:
    """Type corner points row by row, going on with Tab and the button for another row."""
    rows = dialog.outline.points
    for k, point in enumerate(points):
        if k == len(rows.cells):
            rows.add_button.setFocus()
            QTest.keyClick(rows.add_button, Qt.Key.Key_Space)
        for cell, text in zip(rows.cells[k], point, strict=False):
            typed(cell, text)


def said(dialog: BrakeSheetDialog) -> str:
    return dialog.look.report.toPlainText()


@pytest.fixture
def dialog(qtbot: QtBot) -> BrakeSheetDialog:
    made = BrakeSheetDialog(example.project(), example.WHEEL)
    qtbot.addWidget(made, before_close_func=leave_quietly)
    return made


def leave_quietly(dialog: BrakeSheetDialog) -> None:
    dialog.is_touched = False


@pytest.fixture
def asked(dialog: BrakeSheetDialog) -> Asked:
    opened = Asked(dialog)
    ready(dialog)
    return opened


def sheet(dialog: BrakeSheetDialog) -> None:
    """Type what a sheet says as a rule."""
    typed(dialog.outline.largest_r, "406/2")
    typed(dialog.outline.largest_z, "-10,5")
    fill(dialog, *POINTS)
    dialog.outline.between.choose(True)
    typed(dialog.outline.inboard, "-60")
    typed(dialog.outline.error, "1,5")


def test_a_sheet_becomes_a_shape_held_against_the_shown_wheel(dialog: BrakeSheetDialog, asked: Asked) -> None:
    sheet(dialog)
    ready(dialog)
    assert dialog.look.gap.text().startswith("Nearest: ")
    assert "? not known (8 questions open)" in dialog.look.gap.text()
    asked.ok()
    shape = asked.result.shapes[-1]
    corners = {(c.z, c.r) for c in shape.outlines[0].corners}
    assert corners == {
        (-60.0, 116.0), (24.0, 116.0), (46.0, 134.0), (46.0, 176.0), (36.0, 199.5), (36.0, 203.0),
        (-60.0, 203.0),
    }  # fmt: skip
    assert (shape.card.grade, shape.card.error_mm) == (Grade.HEARSAY, 1.5)
    assert asked.result.wheels[0].clears[-1] == shape.name
    assert len(shape.open_questions()) == 7
    assert asked.applied[0][1] == "Brake from a sheet Brake"


def test_a_wheel_held_against_it_is_never_clear(dialog: BrakeSheetDialog, asked: Asked) -> None:
    """Every question answered, straight corners, both ends: datum and extent are still unchecked."""
    sheet(dialog)
    answer_all(dialog)
    ready(dialog)
    asked.ok()
    measured = measure_wheel(asked.result, asked.result.wheels[0]).measurements
    assert measured is not None
    rows = [row for row in measured.gap if row.shape == asked.result.shapes[-1].name]
    assert {row.state for row in rows} <= {State.NOT_KNOWN, State.SHORT, State.TOUCHING}
    assert State.NOT_KNOWN in {row.state for row in rows}


def answer_all(dialog: BrakeSheetDialog) -> None:
    page = dialog.brake
    dialog.pages.setCurrentIndex(1)
    dialog.outline.unit.choose("mm")
    page.zero_at.choose(ZeroFace.HUB_FLANGE)
    page.between.choose(True)
    typed(page.hat, "7,0")
    typed(page.height, "52")
    typed(page.disc, "380")
    page.pads.choose("new")
    page.side.choose(CarSide.BOTH)
    page.end.choose(CarEnd.FRONT)
    page.r_over.choose(Reach.WHOLE)
    typed(page.included, "0")


def test_the_answers_are_those_that_were_typed_by_whom_they_were_given(
    dialog: BrakeSheetDialog, asked: Asked
) -> None:
    sheet(dialog)
    answer_all(dialog)
    typed(dialog.brake.source, "Sheet of the kit, revision B")
    dialog.brake.grade.choose(Grade.DRAWING)
    typed(dialog.brake.said_by, "A. Sender")
    ready(dialog)
    assert "drawing; not known until settled (2): datum check, extent" in said(dialog)
    asked.ok()
    shape = asked.result.shapes[-1]
    card = shape.card
    assert (card.source, card.grade, card.hat_mm) == ("Sheet of the kit, revision B", Grade.DRAWING, 7.0)
    assert card.unit.text == "mm"
    assert all(
        a.state is Known.ANSWERED and a.by == "A. Sender"
        for a in (card.unit, card.zero_face, card.whole_body, card.gap_included, card.disc_and_pads)
    )
    assert card.datum_checked_by == ""
    assert (shape.brake.disc_mm, shape.brake.hat_height_mm, shape.brake.end) == (380.0, 52.0, CarEnd.FRONT)
    assert shape.shift_mm == -7.0


def test_without_a_name_the_answers_are_assumed(dialog: BrakeSheetDialog, asked: Asked) -> None:
    sheet(dialog)
    typed(dialog.brake.included, "3")
    ready(dialog)
    asked.ok()
    card = asked.result.shapes[-1].card
    assert (card.gap_included.state, card.gap_included.by) == (Known.ASSUMED, TYPED)
    assert card.included_gap_mm == 3.0


def test_the_picture_shows_the_outline_where_it_will_lie(dialog: BrakeSheetDialog, asked: Asked) -> None:
    sheet(dialog)
    ready(dialog)
    given = dialog.look.picture.given
    assert given.path is not None
    assert given.path.bounds == (-60.0, 46.0, 116.0, 203.0)
    assert given.unseen == (-60.0, None)
    dialog.brake.zero_at.choose(ZeroFace.HUB_FLANGE)
    typed(dialog.brake.hat, "7")
    ready(dialog)
    given = dialog.look.picture.given
    assert given.path is not None
    assert given.path.bounds == (-67.0, 39.0, 116.0, 203.0)
    assert [-17.5, 203.0] in given.places.tolist()
    dialog.outline.inboard_seen.box.click()
    assert dialog.look.picture.given.unseen == (None, None)


def test_a_point_inside_the_outline_is_painted_in_its_colour(dialog: BrakeSheetDialog, asked: Asked) -> None:
    sheet(dialog)
    ready(dialog)
    picture = dialog.look.picture
    image = picture.grab().toImage()
    inside, outside = (
        image.pixelColor(picture.view.pixel(z, 160.0).toPoint()) for z in (-31.0, -91.0)
    )  # off the grid lines
    assert inside != outside
    assert inside.red() > inside.blue()


def test_what_grew_and_what_is_not_known_is_said(dialog: BrakeSheetDialog, asked: Asked) -> None:
    sheet(dialog)
    dialog.outline.between.choose(False)
    ready(dialog)
    report = said(dialog)
    assert "Stepped out between the corner points" in report
    assert "Straight out to the largest radius 203.00" in report
    assert "Nothing is known inboard of the outline's end" in report
    assert "Nothing is known below r 116.00 mm" in report
    asked.ok()
    notes = asked.result.shapes[-1].notes["typed"]
    assert isinstance(notes, list)
    assert any("Stepped out" in str(line) for line in notes)


# Contradictions and missing numbers


def test_an_empty_sheet_says_what_to_type(dialog: BrakeSheetDialog, asked: Asked) -> None:
    assert "Type the largest radius and at least 3 corner points of the outer half." in said(dialog)
    typed(dialog.outline.largest_r, "203")
    assert "Type at least 3 corner points" in said(dialog)
    asked.ok()
    assert not asked.applied
    assert dialog.outline.error.message.text() == "▸ A number is missing."


def test_without_an_error_ok_asks_for_it(dialog: BrakeSheetDialog, asked: Asked) -> None:
    sheet(dialog)
    typed(dialog.outline.error, "")
    assert "Say how far the numbers may be wrong" in said(dialog)
    asked.ok()
    assert not asked.applied
    assert dialog.outline.error.message.text() == "▸ A number is missing."


def test_a_corner_point_above_the_largest_radius_is_said_under_the_points(
    dialog: BrakeSheetDialog, asked: Asked
) -> None:
    sheet(dialog)
    typed(dialog.outline.largest_r, "190")
    assert "above the largest radius 190.00 mm" in said(dialog)  # at once in the report
    ready(dialog)
    assert "Corner point 4 lies at r 199.50 mm" in dialog.outline.points.message.text()
    assert dialog.look.picture.given.path is None
    asked.ok()
    assert not asked.applied
    assert "Corner point 4 lies" in dialog.message.text()
    typed(dialog.outline.largest_r, "200")
    ready(dialog)
    assert dialog.outline.points.message.text() == ""
    asked.ok()
    assert len(asked.applied) == 1


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda d: typed(d.outline.largest_z, "60"), "outboard of every corner point"),
        (lambda d: typed(d.outline.inboard, "30"), "outboard of corner point 1"),
        (lambda d: typed(d.outline.lower, "120"), "above corner point 1"),
        (lambda d: typed(d.brake.disc, "410"), "reaches r 205.00 mm"),
    ],
)
def test_each_contradiction_stands_at_its_field(
    dialog: BrakeSheetDialog, asked: Asked, change: Callable[[BrakeSheetDialog], None], words: str
) -> None:
    sheet(dialog)
    change(dialog)
    ready(dialog)
    asked.ok()
    assert not asked.applied
    fields: list[Field] = [*dialog.outline.by_name.values(), *dialog.brake.by_name.values()]
    wrong = [field for field in fields if field.message.text()]
    assert len(wrong) == 1
    assert words in wrong[0].message.text()
    assert wrong[0].isVisible()  # its page came up


def test_a_row_without_r_says_which(dialog: BrakeSheetDialog, asked: Asked) -> None:
    sheet(dialog)
    typed(dialog.outline.points.cells[4][0], "12")
    asked.ok()
    assert not asked.applied
    assert dialog.outline.points.message.text() == "▸ Corner point 5: r is missing."


def test_an_unreadable_number_stays_and_says_where(dialog: BrakeSheetDialog, asked: Asked) -> None:
    sheet(dialog)
    typed(dialog.outline.points.cells[1][0], "4x6")
    assert "'x' is not a unit" in said(dialog)
    asked.ok()
    assert not asked.applied
    assert dialog.outline.points.cells[1][0].message.text()


# Rows and units


def test_rows_can_be_added_up_to_twelve_and_removed(dialog: BrakeSheetDialog, asked: Asked) -> None:
    rows = dialog.outline.points
    while rows.add_button.isEnabled():
        rows.add_button.click()
    assert len(rows.cells) == 12
    typed(dialog.outline.largest_r, "203")
    fill(dialog, *[(str(46 - k), str(116 + 7 * k)) for k in range(12)])
    typed(dialog.outline.error, "1")
    rows.remove_row(11)
    assert rows.add_button.isEnabled()
    ready(dialog)
    asked.ok()
    assert max(c.z for c in asked.result.shapes[-1].outlines[0].corners) == 46.0


def test_inches_are_the_same_texts_in_another_unit(dialog: BrakeSheetDialog, asked: Asked) -> None:
    typed(dialog.outline.largest_r, "8")
    fill(dialog, ("15/16", "4 1/2"), ("1 3/4", "5,25"), ("1 3/4", "176 mm"), ("1,25", "7.75"))
    typed(dialog.outline.error, "0,05")
    dialog.outline.unit.choose("in")
    ready(dialog)
    path = dialog.look.picture.given.path
    assert path is not None
    assert path.bounds == pytest.approx((15.0 / 16.0 * 25.4, 1.75 * 25.4, 4.5 * 25.4, 8.0 * 25.4))
    asked.ok()
    shape = asked.result.shapes[-1]
    assert shape.card.unit.text == "in"
    assert shape.card.error_mm == pytest.approx(1.27)


# Leaving, keys


def test_escape_closes_an_untouched_dialog_and_asks_once_something_was_typed(
    qtbot: QtBot, dialog: BrakeSheetDialog, asked: Asked, answer: Answer
) -> None:
    typed(dialog.outline.largest_r, "203")
    questions = answer("Stay", "Leave")
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert dialog.isVisible()
    assert dialog.outline.largest_r.line.text() == "203"
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert not dialog.isVisible()
    assert questions == ["What was typed and clicked here is lost."] * 2
    assert not asked.applied
    fresh = BrakeSheetDialog(example.project())
    qtbot.addWidget(fresh)
    Asked(fresh).cancel()
    assert not fresh.isVisible()


def test_every_control_is_reached_by_tab_and_has_a_name(dialog: BrakeSheetDialog, asked: Asked) -> None:
    for page in (0, 1):
        dialog.pages.setCurrentIndex(page)
        QApplication.processEvents()
        seen: list[object] = []
        first = QApplication.focusWidget() or dialog
        for _ in range(80):
            QTest.keyClick(QApplication.focusWidget() or dialog, Qt.Key.Key_Tab)
            now = QApplication.focusWidget()
            assert now is not None
            if now in seen:
                break
            seen.append(now)
            named = now.accessibleName() or (now.text() if hasattr(now, "text") else "")
            assert named or now in (dialog.pages, dialog.pages.tabBar()), now
        lines = [w for w in dialog.pages.currentWidget().findChildren(QLineEdit) if w.isVisible()]
        assert set(lines) <= {*seen, first}
        assert dialog.look.picture in seen


def test_the_picture_goes_by_keys_and_mouse(dialog: BrakeSheetDialog, asked: Asked) -> None:
    picture = dialog.look.picture
    scale, z = picture.view.scale, picture.view.z
    picture.setFocus()
    QTest.keyClick(picture, Qt.Key.Key_Plus)
    assert picture.view.scale == pytest.approx(1.25 * scale)
    QTest.keyClick(picture, Qt.Key.Key_Right)
    assert picture.view.z > z
    at = QPointF(120.0, 120.0)
    before = picture.view.place(at)
    turn_wheel(picture, at, -120)
    assert picture.view.place(at) == pytest.approx(before)
    QTest.keyClick(picture, Qt.Key.Key_0)
    assert picture.view.scale == pytest.approx(scale)


def test_it_fits_a_small_screen(dialog: BrakeSheetDialog, asked: Asked) -> None:
    assert dialog.minimumSizeHint().width() <= 1280
    assert dialog.minimumSizeHint().height() <= 760
    assert dialog.height() <= 760


def test_the_menu_opens_it_on_the_shown_wheel(person: Person) -> None:
    action = person.window.actions_by_name["brake_sheet"]
    assert action.shortcut() == QKeySequence("Ctrl+Shift+H")
    person.do("brake_sheet")
    dialog = QApplication.activeModalWidget()
    assert isinstance(dialog, BrakeSheetDialog)
    sheet(dialog)
    ready(dialog)
    steps = person.steps
    dialog.buttons.button(QDialogButtonBox.StandardButton.Ok).click()
    person.settle()
    assert person.steps == steps + 1
    assert person.undo_text == "Brake from a sheet Brake"
    assert person.project.shapes[-1].name == "Brake"

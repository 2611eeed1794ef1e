"""A blank's details as a person fills them in: tolerances from starting values, money, and what they do."""

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialogButtonBox
from pytestqt.qtbot import QtBot

from app.project.project import Project
from app.studies.fit import measure_wheel
from app.studies.machining import machining_in_blank
from app.studies.usable_blank import greatest_mm3, usable_path
from app.window.dialogs.blank_details import BlankDialog
from app.window.dialogs.shop_rates import ShopRatesDialog
from geometry.forging.presses import Press
from geometry.readings.solid import volume_mm3
from geometry.shape.blank import Cause
from geometry.shape.outline import outline_path
from tests.support.make_samples import samples


def sample() -> Project:
    return next(iter(samples().values()))


def opened(qtbot: QtBot, project: Project) -> BlankDialog:
    dialog = BlankDialog(project, project.blanks[0].name)
    qtbot.addWidget(dialog)
    dialog.show()
    return dialog


def ok(dialog: BlankDialog) -> Project:
    """Press OK and return what was handed out, which is one undo step."""
    heard: list[object] = []
    dialog.applied.connect(lambda project, _text: heard.append(project))
    QTest.mouseClick(dialog.buttons.button(QDialogButtonBox.StandardButton.Ok), Qt.MouseButton.LeftButton)
    assert len(heard) == 1, dialog.message.text()
    (made,) = heard
    assert isinstance(made, Project)
    assert not dialog.isVisible()
    return made


def test_starting_values_take_off_stock_by_direction_and_add_mass(qtbot: QtBot) -> None:
    project = sample()
    before = measure_wheel(project, project.wheels[0]).measurements
    dialog = opened(qtbot, project)
    dialog.pages.setCurrentIndex(1)
    QTest.mouseClick(dialog.start, Qt.MouseButton.LeftButton)
    made = ok(dialog)
    blank = made.blanks[0]
    found = {t.cause: t for t in blank.tolerances}
    assert found[Cause.CLOSURE].minus_mm == 0.0
    assert found[Cause.CLOSURE].plus_mm > 2.0
    assert all(t.source for t in blank.tolerances)
    after = measure_wheel(made, made.wheels[0]).measurements
    assert before is not None
    assert after is not None
    by_side = {(row.zone, row.side): row.least_mm for row in before.stock}
    lost = [by_side[row.zone, row.side] - row.least_mm for row in after.stock]
    # Dents and grain alone take 1.0 off everywhere; no side loses more than all minus sides together.
    assert min(lost) >= 1.0 - 0.01
    assert max(lost) <= sum(t.minus_mm for t in blank.tolerances) + 0.05
    assert max(lost) > min(lost) + 0.5
    assert usable_path(made, blank) is not None
    path = outline_path(blank.corners)
    assert not isinstance(path, tuple)
    assert greatest_mm3(made, blank) > volume_mm3(path)


def test_money_is_typed_and_kept(qtbot: QtBot) -> None:
    dialog = opened(qtbot, sample())
    dialog.pages.setCurrentIndex(2)
    for field, text in ((dialog.price, "212.5"), (dialog.dies, "96000"), (dialog.shared, "1200")):
        field.editor.setFocus()
        QTest.keyClicks(field.editor, text)
    blank = ok(dialog).blanks[0]
    assert (blank.price, blank.die_cost, blank.die_shared_by) == (212.5, 96000.0, 1200)


def test_a_cause_that_stands_twice_is_said_and_the_dialog_stays(qtbot: QtBot) -> None:
    dialog = opened(qtbot, sample())
    dialog.pages.setCurrentIndex(1)
    for _ in range(2):
        QTest.mouseClick(dialog.tolerances.add_button, Qt.MouseButton.LeftButton)
    QTest.mouseClick(dialog.buttons.button(QDialogButtonBox.StandardButton.Ok), Qt.MouseButton.LeftButton)
    assert "'die closure' stands twice" in dialog.message.text()
    assert dialog.isVisible()


def test_shop_rates_are_typed_and_change_what_a_wheel_costs(qtbot: QtBot) -> None:
    project = sample()
    wheel = project.wheels[0]
    before = machining_in_blank(project, wheel.name)
    dialog = ShopRatesDialog(project)
    qtbot.addWidget(dialog)
    dialog.show()
    hour = dialog.rates["hour_price"].editor
    hour.setFocus()
    QTest.keyClick(hour, Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    QTest.keyClicks(hour, "190")
    with qtbot.waitSignal(dialog.applied) as told:
        QTest.mouseClick(dialog.buttons.button(QDialogButtonBox.StandardButton.Ok), Qt.MouseButton.LeftButton)
    assert told.args is not None
    made = told.args[0]
    after = machining_in_blank(made, wheel.name)
    # Twice the starting 95 an hour doubles cutting and set-ups, and nothing else.
    assert after.money.cutting == pytest.approx(2.0 * before.money.cutting)
    assert after.money.setting == pytest.approx(2.0 * before.money.setting)
    assert after.money.metal == pytest.approx(before.money.metal)
    assert "hour_price" not in made.rates.starting


def test_a_price_for_chips_without_its_name_is_refused_with_the_cure(qtbot: QtBot) -> None:
    dialog = ShopRatesDialog(sample())
    qtbot.addWidget(dialog)
    dialog.show()
    dialog.pages.setCurrentIndex(1)
    QTest.keyClicks(dialog.rates["chip_price_kg"].editor, "2.5")
    QTest.mouseClick(dialog.buttons.button(QDialogButtonBox.StandardButton.Ok), Qt.MouseButton.LeftButton)
    assert "name a price and give it" in dialog.message.text()
    assert dialog.isVisible()


@pytest.mark.parametrize(("text", "kept"), [("3, 5 8", (3.0, 5.0, 8.0)), ("10", (10.0,))])
def test_spacers_on_hand_are_typed(qtbot: QtBot, text: str, kept: tuple[float, ...]) -> None:
    dialog = ShopRatesDialog(sample())
    qtbot.addWidget(dialog)
    dialog.show()
    dialog.pages.setCurrentIndex(2)
    QTest.keyClicks(dialog.spacers.editor, text)
    with qtbot.waitSignal(dialog.applied) as told:
        QTest.mouseClick(dialog.buttons.button(QDialogButtonBox.StandardButton.Ok), Qt.MouseButton.LeftButton)
    assert told.args is not None
    assert told.args[0].spacers_mm == kept


@pytest.mark.parametrize("text", ["thin", "0, 5", "500"])
def test_what_is_no_spacer_is_refused_and_nothing_is_lost(qtbot: QtBot, text: str) -> None:
    dialog = ShopRatesDialog(sample())
    qtbot.addWidget(dialog)
    dialog.show()
    dialog.pages.setCurrentIndex(2)
    QTest.keyClicks(dialog.spacers.editor, text)
    QTest.mouseClick(dialog.buttons.button(QDialogButtonBox.StandardButton.Ok), Qt.MouseButton.LeftButton)
    assert "Spacers" in dialog.message.text()
    assert dialog.isVisible()


def test_a_press_is_typed_with_its_room_and_kept(qtbot: QtBot) -> None:
    dialog = ShopRatesDialog(sample())
    qtbot.addWidget(dialog)
    dialog.show()
    dialog.pages.setCurrentIndex(3)
    rows = dialog.presses.rows
    QTest.mouseClick(rows.add_button, Qt.MouseButton.LeftButton)
    for field, text in zip(rows.cells[0], ("invented", "62", "5", "1600", "980", "0", "50 in"), strict=True):
        field.editor.setFocus()
        QTest.keyClick(field.editor, Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
        QTest.keyClicks(field.editor, text)
    with qtbot.waitSignal(dialog.applied) as told:
        QTest.mouseClick(dialog.buttons.button(QDialogButtonBox.StandardButton.Ok), Qt.MouseButton.LeftButton)
    assert told.args is not None
    # 50 in are 1270 mm; the order of a press's numbers is not that of the columns.
    press = Press("invented", 62.0, 5.0, daylight_mm=1600.0, ejector_mm=0.0, stroke_mm=980.0, bed_mm=1270.0)
    assert told.args[0].presses == (press,)


def test_more_presses_than_steps_are_refused(qtbot: QtBot) -> None:
    dialog = ShopRatesDialog(replace(sample(), presses=(Press("invented", 20.0),) * 3))
    qtbot.addWidget(dialog)
    dialog.show()
    dialog.pages.setCurrentIndex(3)
    QTest.mouseClick(dialog.presses.rows.add_button, Qt.MouseButton.LeftButton)
    QTest.keyClicks(dialog.presses.rows.cells[3][0].editor, "fourth")
    QTest.mouseClick(dialog.buttons.button(QDialogButtonBox.StandardButton.Ok), Qt.MouseButton.LeftButton)
    assert "4 presses are given; a forging takes one to 3" in dialog.message.text()
    assert dialog.isVisible()

"""A blank's details as a person fills them in: tolerances from starting values, money, and what they do."""

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


def ok(qtbot: QtBot, dialog: BlankDialog) -> Project:
    with qtbot.waitSignal(dialog.applied) as told:
        QTest.mouseClick(dialog.buttons.button(QDialogButtonBox.StandardButton.Ok), Qt.MouseButton.LeftButton)
    assert told.args is not None
    made = told.args[0]
    assert isinstance(made, Project)
    return made


def test_starting_values_take_off_stock_by_direction_and_add_mass(qtbot: QtBot) -> None:
    project = sample()
    before = measure_wheel(project, project.wheels[0]).measurements
    dialog = opened(qtbot, project)
    dialog.pages.setCurrentIndex(1)
    QTest.mouseClick(dialog.start, Qt.MouseButton.LeftButton)
    made = ok(qtbot, dialog)
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
    blank = ok(qtbot, dialog).blanks[0]
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

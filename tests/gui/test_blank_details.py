"""A blank's details as a person fills them in: tolerances from starting values, money, and what they do."""

import csv
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from openpyxl import load_workbook
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialogButtonBox, QFileDialog, QLabel
from pytestqt.qtbot import QtBot

from app.files.project_file import dumps, loads
from app.project.programme import Holder
from app.project.project import Project
from app.studies.fit import measure_wheel
from app.studies.machining import machining_in_blank
from app.studies.usable_blank import greatest_mm3, usable_path
from app.window.dialogs.blank_details import BlankDialog
from app.window.dialogs.shop_rates import ShopRatesDialog
from app.window.dialogs.typed_fields import Field, FieldError
from geometry.forging.presses import Press
from geometry.readings.solid import volume_mm3
from geometry.shape.blank import Blank, Cause, PriceStep, Quote, SpunFrom, Supply, ToolLimits
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


# Dies, runs and quotes. All forges and prices are invented.

NORTH = Quote("Eastern forge", "2026-05-03", 62000.0, 26000.0, 212.5, 6500.0, 120, 40.0, "30 / 40 / 30")
SOUTH = Quote("Southern forge", "2026-05-11", None, 88000.0, 231.0, None, 60, 26.0, "half and half")


def with_tools(*quotes: Quote, **changed: object) -> Project:
    """A sample with a holder in its programme and a second blank beside the first."""
    project = sample()
    blank = replace(project.blanks[0], quotes=quotes, **changed)  # type: ignore[arg-type]
    other = replace(project.blanks[0], name="Other")
    programme = replace(project.programme, holders=(Holder("18 inch holder", 60000.0),))
    return replace(project, blanks=(blank, other), programme=programme)


def typed(field: Field, text: str) -> None:
    field.editor.setFocus()
    QTest.keyClick(field.editor, Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    QTest.keyClicks(field.editor, text)


def chosen(field: Field, words: str) -> None:
    """Choose in a box by typing the beginning of its words."""
    field.editor.setFocus()
    QTest.keyClicks(field.editor, words)


def pressed(dialog: BlankDialog) -> None:
    QTest.mouseClick(dialog.take, Qt.MouseButton.LeftButton)


def remove_first(dialog: BlankDialog) -> None:
    item = dialog.quotes.grid.itemAtPosition(1, len(dialog.quotes.columns))
    button = item.widget() if item is not None else None
    assert button is not None
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


def terms(blank: Blank) -> tuple[float | None, ...]:
    return blank.price, blank.die_cost, blank.run_setup, blank.least_run, blank.lead_weeks


def test_tools_and_runs_are_typed_and_survive_the_file(qtbot: QtBot) -> None:
    dialog = opened(qtbot, with_tools())
    dialog.pages.setCurrentIndex(2)
    chosen(dialog.holder, "18")
    chosen(dialog.variant, "Oth")
    fields = (dialog.proof, dialog.run_setup, dialog.least_run, dialog.pieces_hour, dialog.setup_hours)
    for number, text in zip(fields, ("12000", "6500", "120", "12", "5.5"), strict=True):
        typed(number, text)
    for k, (pieces, price) in enumerate((("100", "205"), ("400", "192.5"))):
        QTest.mouseClick(dialog.steps.add_button, Qt.MouseButton.LeftButton)
        for field, text in zip(dialog.steps.cells[k], (pieces, price), strict=True):
            typed(field, text)
    made = ok(dialog)
    blank = made.blanks[0]
    assert (blank.holder, blank.variant_of) == ("18 inch holder", "Other")
    assert (blank.proof_cost, blank.run_setup, blank.least_run) == (12000.0, 6500.0, 120)
    assert (blank.pieces_hour, blank.setup_hours) == (12.0, 5.5)
    assert blank.price_steps == (PriceStep(100, 205.0), PriceStep(400, 192.5))
    assert loads(dumps(made)).blanks[0] == blank


def test_limits_of_variants_are_asked_of_the_forge(qtbot: QtBot) -> None:
    dialog = opened(qtbot, with_tools())
    dialog.pages.setCurrentIndex(2)
    notes = [label.text() for label in dialog.findChildren(QLabel) if label.isVisible()]
    note = next(text for text in notes if "the forge's answer" in text)
    assert "charge mass" in note
    assert "closing height" in note


def test_limits_of_the_tools_are_taken_over_and_refused_out_of_order(qtbot: QtBot) -> None:
    dialog = opened(qtbot, with_tools())
    before = dialog.blank.tools
    dialog.tools.limits["closing_low_mm"].put(-2.0)
    dialog.tools.limits["closing_high_mm"].put(4.0)
    dialog.tools.limits["disc_low_mm"].put(30.0)
    made = dialog.made()[0]
    tools = next(b.tools for b in made.blanks if b.name == dialog.blank.name)
    assert before is None
    assert tools == ToolLimits(closing_low_mm=-2.0, closing_high_mm=4.0, disc_low_mm=30.0)
    dialog.tools.limits["disc_high_mm"].put(20.0)
    with pytest.raises(FieldError, match="Disc: the least is over the greatest"):
        dialog.made()


def test_a_holder_that_the_programme_lost_is_kept_and_shown_as_missing(qtbot: QtBot) -> None:
    dialog = opened(qtbot, with_tools(holder="20 inch holder"))
    assert dialog.holder.box.currentText() == "20 inch holder (missing)"
    assert dialog.holder.read() == "20 inch holder"


def test_price_steps_that_do_not_rise_are_refused_with_both_pieces(qtbot: QtBot) -> None:
    dialog = opened(qtbot, with_tools(price_steps=(PriceStep(100, 205.0), PriceStep(400, 192.5))))
    dialog.pages.setCurrentIndex(2)
    typed(dialog.steps.cells[1][0], "100")
    QTest.mouseClick(dialog.buttons.button(QDialogButtonBox.StandardButton.Ok), Qt.MouseButton.LeftButton)
    assert "100 pieces stand after 100" in dialog.message.text()
    assert dialog.isVisible()


def test_two_blanks_cannot_be_variants_of_each_other(qtbot: QtBot) -> None:
    project = with_tools()
    first, other = project.blanks
    project = replace(project, blanks=(first, replace(other, variant_of=first.name)))
    dialog = opened(qtbot, project)
    dialog.pages.setCurrentIndex(2)
    chosen(dialog.variant, "Oth")
    QTest.mouseClick(dialog.buttons.button(QDialogButtonBox.StandardButton.Ok), Qt.MouseButton.LeftButton)
    assert "'Other' is itself forged with the tools of" in dialog.message.text()
    assert dialog.isVisible()


def test_quotes_are_typed_side_by_side_and_kept(qtbot: QtBot) -> None:
    dialog = opened(qtbot, with_tools())
    dialog.pages.setCurrentIndex(3)
    words = ("Eastern forge", "2026-05-03", "62000", "26000", "212.5", "6500", "120", "40", "30 / 40 / 30")
    others = ("Southern forge", "2026-05-11", "", "88000", "231", "", "60", "26", "half and half")
    for k, row in enumerate((words, others)):
        QTest.mouseClick(dialog.quotes.add_button, Qt.MouseButton.LeftButton)
        for field, text in zip(dialog.quotes.cells[k], row, strict=True):
            typed(field, text)
    made = ok(dialog)
    assert made.blanks[0].quotes == (NORTH, SOUTH)
    # Words longer than their column are shown under the pointer.
    assert dialog.quotes.cells[1][8].editor.toolTip() == "half and half"
    assert loads(dumps(made)).blanks[0].quotes == (NORTH, SOUTH)
    # Nothing but the quotes: none was taken over.
    assert replace(made.blanks[0], quotes=()) == with_tools().blanks[0]


def test_quotes_are_saved_as_they_stand_in_the_table(
    qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    dialog = opened(qtbot, with_tools(NORTH, SOUTH))
    dialog.pages.setCurrentIndex(3)
    typed(dialog.quotes.cells[0][4], "199.5")
    for name, kind in (("q.csv", ""), ("q", "Workbook (*.xlsx)")):
        out = str(tmp_path / name)
        monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *args, out=out, kind=kind: (out, kind))
        QTest.mouseClick(dialog.save_quotes, Qt.MouseButton.LeftButton)
        assert "2 quotes written to q." in dialog.taken.text()
    rows = list(csv.DictReader((tmp_path / "q.csv").read_text("utf-8").splitlines()))
    assert [(r["forge"], r["piece"]) for r in rows] == [
        ("Eastern forge", "199.5"),
        ("Southern forge", "231.0"),
    ]
    sheet = load_workbook(tmp_path / "q.xlsx").active
    assert sheet is not None
    assert [row[5] for row in sheet.values] == ["piece", 199.5, 231]
    typed(dialog.quotes.cells[0][4], "cheap")
    QTest.mouseClick(dialog.save_quotes, Qt.MouseButton.LeftButton)
    assert "cannot be read" in dialog.taken.text()


@pytest.mark.parametrize(
    ("cell", "text", "words"),
    [(0, "", "Words are missing"), (1, "3 May", "no date"), (6, "60.5", "not a whole number")],
)
def test_a_cell_that_cannot_be_read_says_so_and_the_dialog_stays(
    qtbot: QtBot, cell: int, text: str, words: str
) -> None:
    dialog = opened(qtbot, with_tools(NORTH))
    dialog.pages.setCurrentIndex(3)
    field = dialog.quotes.cells[0][cell]
    typed(field, text or " ")
    pressed(dialog)
    assert "cannot be read" in dialog.taken.text()
    assert words in field.message.text()
    assert dialog.price.read() is None
    QTest.mouseClick(dialog.buttons.button(QDialogButtonBox.StandardButton.Ok), Qt.MouseButton.LeftButton)
    assert dialog.isVisible()


TAKEN: list[tuple[str, Callable[[BlankDialog], None], Quote, float | None, str]] = [
    # Price of the dies: of the whole set; of the inserts; of what a variant needs (practice 18 and 24).
    ("no holder", lambda d: None, NORTH, 62000.0 + 26000.0, "both together"),
    ("holder", lambda d: chosen(d.holder, "18"), NORTH, 26000.0, "(60000), the quote asks 62000"),
    ("variant", lambda d: chosen(d.variant, "Oth"), NORTH, 26000.0, "inserts alone"),
    ("no holder quoted", lambda d: None, replace(NORTH, holder=None), 26000.0, "names no holder"),
    ("no inserts quoted", lambda d: None, replace(NORTH, inserts=None), None, "no price of the dies"),
]


@pytest.mark.parametrize(
    ("before", "quote", "dies", "words"), [t[1:] for t in TAKEN], ids=[t[0] for t in TAKEN]
)
def test_the_chosen_quote_fills_the_other_page(
    qtbot: QtBot, before: Callable[[BlankDialog], None], quote: Quote, dies: float | None, words: str
) -> None:
    dialog = opened(qtbot, with_tools(SOUTH, quote))
    dialog.pages.setCurrentIndex(2)
    before(dialog)
    dialog.pages.setCurrentIndex(3)
    chosen(dialog.chosen, "Eas")
    pressed(dialog)
    assert words in dialog.taken.text()
    assert "price a piece 212.5" in dialog.taken.text()
    assert "Nothing is written before OK" in dialog.taken.text()
    assert ("left as it was: price of the dies" in dialog.taken.text()) == (dies is None)
    blank = ok(dialog).blanks[0]
    assert terms(blank) == (212.5, dies, 6500.0, 120, 40.0)
    assert blank.quotes == (SOUTH, quote)


def test_what_a_quote_does_not_say_stays_and_is_named(qtbot: QtBot) -> None:
    dialog = opened(qtbot, with_tools(NORTH, SOUTH, run_setup=7000.0))
    dialog.pages.setCurrentIndex(3)
    chosen(dialog.chosen, "Sou")
    pressed(dialog)
    assert "left as it was: set-up of a run." in dialog.taken.text()
    assert terms(ok(dialog).blanks[0]) == (231.0, 88000.0, 7000.0, 60, 26.0)


def test_cancel_after_taking_over_writes_nothing(qtbot: QtBot) -> None:
    dialog = opened(qtbot, with_tools(NORTH))
    heard: list[object] = []
    dialog.applied.connect(lambda project, _text: heard.append(project))
    dialog.pages.setCurrentIndex(3)
    pressed(dialog)
    assert dialog.price.read() == 212.5
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert heard == []
    assert not dialog.isVisible()


def test_no_quote_chosen_says_so_and_a_removed_one_is_no_longer_chosen(qtbot: QtBot) -> None:
    dialog = opened(qtbot, with_tools(NORTH, SOUTH))
    dialog.pages.setCurrentIndex(3)
    pressed(dialog)
    assert "No quote is chosen" in dialog.taken.text()
    chosen(dialog.chosen, "Sou")
    remove_first(dialog)
    # The row before it went: the choice stays with its forge, not with its place.
    assert dialog.chosen.box.currentText() == "Southern forge, 2026-05-11"
    remove_first(dialog)
    assert dialog.chosen.read() is None


@pytest.mark.parametrize("change", ["holder", "cell"])
def test_a_change_after_taking_over_asks_to_take_it_again(qtbot: QtBot, change: str) -> None:
    dialog = opened(qtbot, with_tools(NORTH))
    dialog.pages.setCurrentIndex(3)
    pressed(dialog)
    assert "Filled" in dialog.taken.text()
    if change == "holder":
        dialog.pages.setCurrentIndex(2)
        chosen(dialog.holder, "18")
    else:
        typed(dialog.quotes.cells[0][4], "230")
    assert "take it over again" in dialog.taken.text()
    assert "Filled" not in dialog.taken.text()


def test_ok_keeps_all_that_was_not_asked_to_the_last_digit(qtbot: QtBot) -> None:
    third = 1000.0 / 3.0
    quote = replace(NORTH, holder=third, inserts=third, piece=third, run_setup=third, lead_weeks=third)
    project = with_tools(
        quote,
        price=third,
        die_cost=third,
        proof_cost=third,
        run_setup=third,
        pieces_hour=third,
        setup_hours=third,
        lead_weeks=third,
        price_steps=(PriceStep(7, third),),
    )
    dialog = opened(qtbot, project)
    typed(dialog.source, "seen")
    assert ok(dialog).blanks[0] == replace(project.blanks[0], source="seen")


def test_spinning_is_told_of_a_spun_blank_alone(qtbot: QtBot) -> None:
    """The page waits for the supply; the ring is another blank's outline; what is not touched stays exact."""
    project = sample()
    ring = replace(project.blanks[0], name="Ring")
    project = replace(project, blanks=(project.blanks[0], ring))
    dialog = opened(qtbot, project)
    page = dialog.spinning
    assert not page.mandrel.isEnabled()
    dialog.supply.choose(Supply.SPUN)
    dialog.supply.edited.emit()
    assert page.mandrel.isEnabled()
    names = [page.ring.box.itemText(k) for k in range(page.ring.box.count())]
    assert names == ["not known", "outline of Ring"]
    page.ring.choose(ring.corners)
    for field, words in (
        (page.mandrel, "18000"),
        (page.minutes, "6,5"),
        (page.reduction, "47,5"),
        (page.passes, "2"),
        (page.trim, "12"),
    ):
        field.line.setFocus()
        QTest.keyClicks(field.line, words)
    made = ok(dialog)
    told = SpunFrom(ring.corners, 18000.0, None, 6.5, 0.475, 2, None, 12.0)
    assert made.blanks[0].spun == told
    assert loads(dumps(made)) == made
    exact = replace(made, blanks=(replace(made.blanks[0], spun=replace(told, reduction=1.0 / 3.0)),))
    again = opened(qtbot, exact)
    QTest.keyClicks(again.source.line, "invented")
    assert ok(again).blanks[0].spun == exact.blanks[0].spun
    # Another supply is not spun: what was said of spinning goes.
    other = opened(qtbot, made)
    other.supply.choose(Supply.OWN)
    other.supply.edited.emit()
    assert ok(other).blanks[0].spun is None

"""Dies, runs and quotes of a blank, typed in its dialog. All forges and prices are invented."""

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
from app.window.dialogs.blank_details import BlankDialog
from app.window.dialogs.typed_fields import Field, FieldError
from geometry.shape.blank import Blank, PriceStep, Quote, SpunFrom, Supply, ToolLimits
from tests.gui.test_blank_details import ok, opened, sample

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

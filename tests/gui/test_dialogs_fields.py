"""Fields of dialogs: the unit in the box, wrong text that stays and says why, values that are not rounded."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

from app.views.theme import DARK, LIGHT, Theme
from app.window.dialogs.rows_field import Column, RowsField
from app.window.dialogs.typed_fields import (
    ANGLE,
    CODE,
    DENSITY,
    MASS,
    MM,
    NUMBER,
    ChoiceField,
    DateField,
    Field,
    Kind,
    NumberField,
    TextField,
    error_colour,
    length,
)
from tests.gui.conftest import write


def test_long_words_show_their_start(qtbot: QtBot) -> None:
    field = TextField("Drawing of the caliper, sheet 2 of 4, " * 4)
    qtbot.addWidget(field)
    assert field.line.cursorPosition() == 0
    field.put("Measured at the car, " * 8)
    assert field.line.cursorPosition() == 0


def shown(qtbot: QtBot, field: Field) -> None:
    qtbot.addWidget(field)
    field.resize(380, 80)
    field.show()


def typed(field: NumberField, text: str) -> None:
    field.line.selectAll()
    write(field.line, text)


@pytest.mark.parametrize(
    ("kind", "unit"),
    [(MM, "mm"), (length("in"), "in"), (ANGLE, "°"), (MASS, "kg"), (DENSITY, "kg/m³"), (CODE, "code")],
)
def test_the_unit_stands_in_the_box(qtbot: QtBot, kind: Kind, unit: str) -> None:
    field = NumberField(kind, 1.0)
    shown(qtbot, field)
    label = field.line.findChild(QLabel)
    assert label is not None
    assert label.text() == unit
    assert label.geometry().right() <= field.line.width()
    assert field.line.textMargins().right() >= label.width()


@pytest.mark.parametrize(
    ("kind", "text", "value"),
    [
        (MM, "12,5", 12.5),
        (MM, "5 1/2 in", 139.7),  # 5.5 x 25.4
        (length("in"), "7", 177.8),  # 7 x 25.4
        (length("in"), "178 mm", 178.0),
        (MM, "−3,25", -3.25),
        (MM, "12.7 + 3", 15.7),
        (MASS, "100 lb", 45.359237),  # 0.45359237 kg a pound, exactly
        (CODE, "9 1/2", 9.5),
        (ANGLE, "7.5 deg", 7.5),
    ],
)
def test_what_people_type_is_read(qtbot: QtBot, kind: Kind, text: str, value: float) -> None:
    field = NumberField(kind)
    typed(field, text)
    assert field.number() == pytest.approx(value, abs=1e-12)


def test_an_untouched_value_comes_back_to_the_last_bit(qtbot: QtBot) -> None:
    field = NumberField(MM, 12.345678901234567)
    assert field.line.text() == "12.35"
    assert field.read() == 12.345678901234567
    typed(field, "12.36")
    assert field.read() == 12.36
    typed(field, "12.35")
    assert field.read() == 12.345678901234567


@pytest.mark.parametrize(
    ("field", "text", "words"),
    [
        (lambda: NumberField(MM), "12,5 foo", "'foo' is not a unit of length"),
        (lambda: NumberField(MM), "9**9**9", "'*' has no meaning here"),
        (lambda: NumberField(MM), "", "A number is missing."),
        (lambda: NumberField(MM, least=0.0), "-1", "-1 is too small: the least is 0 mm."),
        (lambda: NumberField(MM, above=0.0), "0", "0 is too small: it must be more than 0 mm."),
        (lambda: NumberField(MM, most=30.0), "30,5", "30.5 is too large: the most is 30 mm."),
        (lambda: NumberField(NUMBER, whole=True), "4.5", "4.5 is not a whole number."),
        (lambda: NumberField(NUMBER), "5 mm", "'mm' is not a unit of number"),
    ],
)
def test_a_wrong_text_stays_and_says_what_is_wrong(
    qtbot: QtBot, field: object, text: str, words: str
) -> None:
    made = field()  # type: ignore[operator]
    shown(qtbot, made)
    typed(made, text)
    assert not made.check()
    assert words in made.message.text()
    assert made.message.isVisible()
    assert words in made.line.accessibleDescription()
    assert made.line.text() == text


def test_the_message_says_where_and_goes_when_the_text_is_mended(qtbot: QtBot) -> None:
    field = NumberField(MM)
    shown(qtbot, field)
    typed(field, "12,5 x")
    assert not field.message.isVisible()  # nothing is held against a text that is still being typed
    QTest.keyClick(field.line, Qt.Key.Key_Return)
    assert "at character 6" in field.message.text()
    typed(field, "12,5")
    assert not field.message.isVisible()


def test_empty_means_not_known_only_where_it_may(qtbot: QtBot) -> None:
    field = NumberField(MM, 3.0, optional=True)
    assert field.line.placeholderText() == "not known"
    typed(field, "")
    field.line.clear()
    assert field.read() is None
    assert NumberField(MM, None, optional=True).read() is None


@pytest.mark.parametrize(
    ("text", "ok"), [("", True), ("2026-03-09", True), ("2026-02-30", False), ("9.3.26", False)]
)
def test_a_date_is_of_the_calendar_or_nothing(qtbot: QtBot, text: str, ok: bool) -> None:
    field = DateField(text)
    assert field.check() is ok
    if not ok:
        assert "2026-03-09" in field.message.text()


def test_words_may_be_asked_for(qtbot: QtBot) -> None:
    assert TextField("", required=False).check()
    assert not TextField("  ", required=True).check()


def test_a_choice_keeps_a_value_that_is_no_longer_there(qtbot: QtBot) -> None:
    """A wheel may name a rule set that is gone from the file: it must not silently become another."""
    field = ChoiceField([("a", "a"), ("b", "b")], "gone")
    assert field.read() == "gone"
    assert field.box.currentText() == "gone (missing)"


@pytest.mark.parametrize("dark", [False, True])
def test_messages_stand_out_on_both_papers(dark: bool) -> None:
    assert error_colour(Theme(dark).palette()).name().upper() == (DARK if dark else LIGHT).short


def test_rows_come_and_go_and_name_their_wrong_cell(qtbot: QtBot) -> None:
    columns = [
        Column("name", lambda value: TextField(str(value), required=True)),
        Column("size", lambda value: NumberField(MM, value, above=0.0)),
    ]
    field = RowsField("body", columns, [("one", 1.0), ("two", 2.0)], ("new", None))
    shown(qtbot, field)
    assert field.read() == [["one", 1.0], ["two", 2.0]]
    QTest.mouseClick(field.add_button, Qt.MouseButton.LeftButton)
    assert not field.check()
    assert field.cells[2][1].message.text() == "▸ A number is missing."
    write(field.cells[2][1].editor, "3,5")  # type: ignore[arg-type]
    assert field.read() == [["one", 1.0], ["two", 2.0], ["new", 3.5]]
    QTest.mouseClick(field._buttons[0], Qt.MouseButton.LeftButton)
    assert field.read() == [["two", 2.0], ["new", 3.5]]

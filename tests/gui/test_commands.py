"""The list of commands and the keys, as a person finds, runs and changes them."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.project.project import Project
from app.window import actions
from app.window.command_list import CommandList
from app.window.commands import NEEDS, commands, why_not
from app.window.dialogs.keys import KeysDialog
from app.window.key_bindings import TAKEN
from app.window.main_window import MainWindow
from tests.gui.conftest import PLAIN, Person, write

CONTROL, SHIFT, ALT = (getattr(Qt.KeyboardModifier, f"{n}Modifier") for n in ("Control", "Shift", "Alt"))


def opened(person: Person) -> CommandList:
    person.key(Qt.Key.Key_F9)
    dialog = QApplication.activeModalWidget()
    assert isinstance(dialog, CommandList)
    return dialog


def shown(dialog: CommandList) -> list[tuple[str, str, str]]:
    rows = [dialog.list.topLevelItem(k) for k in range(dialog.list.topLevelItemCount())]
    return [(row.text(0), row.text(1), row.text(2)) for row in rows if row is not None]


def enter(person: Person, dialog: CommandList) -> None:
    QTest.keyClick(dialog.search, Qt.Key.Key_Return)
    person.settle()


def test_typed_words_find_a_command_and_enter_runs_it(person: Person) -> None:
    dialog = opened(person)
    write(dialog.search, "dark")
    assert shown(dialog)[0] == ("Dark theme", "View", QKeySequence("Ctrl+K").toString())
    enter(person, dialog)
    assert QApplication.activeModalWidget() is None
    assert person.window.theme.dark


def test_other_words_of_the_trade_find_it_too(person: Person) -> None:
    dialog = opened(person)
    write(dialog.search, "backspace")
    assert "Change size" in [row[0] for row in shown(dialog)]
    dialog.reject()


def test_arrows_choose_while_words_are_typed(person: Person) -> None:
    dialog = opened(person)
    write(dialog.search, "zoom")
    first = dialog.current
    QTest.keyClick(dialog.search, Qt.Key.Key_Down)
    assert dialog.current is not None
    assert dialog.current != first
    QTest.keyClick(dialog.search, Qt.Key.Key_Escape)
    person.settle()
    assert QApplication.activeModalWidget() is None


def test_what_cannot_be_done_says_why_and_stays(person: Person) -> None:
    dialog = opened(person)
    write(dialog.search, "delete vertex")
    enter(person, dialog)
    assert QApplication.activeModalWidget() is dialog
    assert dialog.note.text() == "Not now: No vertex is selected: click one on the drawing."
    dialog.reject()


def test_words_that_fit_nothing_say_so(person: Person) -> None:
    dialog = opened(person)
    write(dialog.search, "zzz")
    enter(person, dialog)
    assert shown(dialog) == []
    assert dialog.note.text().startswith("Nothing is called so")
    dialog.reject()


def test_the_list_holds_every_action_its_place_and_key(person: Person) -> None:
    found = {c.item.objectName(): c for c in commands(person.window)}
    for title, of_menu in actions.MENUS:
        for action in of_menu:
            command = found[action.name]
            assert command.place == title.replace("&", "")
            assert command.key == QKeySequence(action.key).toString(QKeySequence.SequenceFormat.NativeText)
    assert ("Delete", "Parts, chosen in the list", "Del") in [
        (c.words, c.place, c.key) for c in commands(person.window)
    ]


def test_every_key_is_free_of_what_drawing_and_lists_take(person: Person) -> None:
    for action in actions.every():
        assert person.window.keys.clash(action.name, action.key) == ""
        assert QKeySequence(action.key).toString() not in TAKEN


def test_in_an_empty_project_what_needs_a_wheel_says_so(person: Person) -> None:
    person.window.document.start(Project("Empty"))
    made = person.window.actions_by_name
    assert set(NEEDS) <= set(made)
    for name in ("report", "details", "edit_blank", "edit_shape", "undo", "next_wheel", "tightest"):
        assert why_not(person.window, made[name]), name
    assert why_not(person.window, made["new_wheel"]) == ""


# Keys


def keys_dialog(person: Person, name: str) -> KeysDialog:
    person.key(Qt.Key.Key_F9, CONTROL)
    dialog = QApplication.activeModalWidget()
    assert isinstance(dialog, KeysDialog)
    dialog.table.selectRow(dialog._names.index(name))
    return dialog


def press(dialog: KeysDialog, key: Qt.Key, modifiers: Qt.KeyboardModifier = PLAIN) -> None:
    dialog.pressed.setFocus()
    QTest.keyClick(dialog.pressed, key, modifiers)


def test_a_new_key_runs_the_action_now_and_in_the_next_window(
    person: Person, make_window: Callable[[], MainWindow]
) -> None:
    dialog = keys_dialog(person, "dark")
    press(dialog, Qt.Key.Key_F7)
    assert dialog.note.text() == "F7 is the key of Dark theme now."
    dialog.close()
    person.window.activateWindow()
    person.window.canvas.sheet.setFocus()
    person.settle()
    person.key(Qt.Key.Key_K, CONTROL)
    assert not person.window.theme.dark
    person.key(Qt.Key.Key_F7)
    assert person.window.theme.dark
    assert "F7" in person.window.actions_by_name["dark"].toolTip()
    assert make_window().keys.key("dark") == "F7"


def test_a_clash_is_named_and_changes_nothing_until_exchanged(person: Person) -> None:
    dialog = keys_dialog(person, "dark")
    press(dialog, Qt.Key.Key_B)
    assert dialog.note.text() == "B belongs to Wall band. Press another, or exchange both."
    assert person.window.keys.key("dark") == "Ctrl+K"
    dialog.exchange.click()
    assert person.window.keys.key("dark") == "B"
    assert person.window.keys.key("band") == "Ctrl+K"
    dialog.back.click()
    assert person.window.keys.key("dark") == "Ctrl+K"
    assert person.window.keys.key("band") == "B"
    dialog.close()


@pytest.mark.parametrize(
    ("key", "modifiers", "says"),
    [
        (Qt.Key.Key_Left, SHIFT, "belongs to moving the selected vertex"),
        (Qt.Key.Key_C, CONTROL, "belongs to text and tables"),
        (Qt.Key.Key_V, ALT, "opens the menu View"),
    ],
)
def test_keys_of_drawing_text_and_menus_are_not_given_away(
    person: Person, key: Qt.Key, modifiers: Qt.KeyboardModifier, says: str
) -> None:
    dialog = keys_dialog(person, "dark")
    press(dialog, key, modifiers)
    assert says in dialog.note.text()
    assert not dialog.exchange.isEnabled()
    with pytest.raises(ValueError, match=says):
        person.window.keys.give("dark", QKeySequence(modifiers.value | key.value).toString())
    dialog.close()


def test_all_keys_come_back(person: Person) -> None:
    keys = person.window.keys
    keys.give("fit", "F7")
    keys.exchange("dark", "B")
    dialog = keys_dialog(person, "fit")
    dialog.all_back.click()
    assert [keys.key(a.name) for a in actions.every()] == [
        QKeySequence(a.key).toString() for a in actions.every()
    ]
    dialog.close()


def test_keys_that_went_round_in_a_ring_all_come_back_with_one(person: Person) -> None:
    keys = person.window.keys
    keys.exchange("dark", "B")  # dark B, band Ctrl+K
    keys.exchange("band", "F")  # band F, fit Ctrl+K
    keys.reset("dark")
    assert (keys.key("dark"), keys.key("band"), keys.key("fit")) == ("Ctrl+K", "B", "F")


def test_a_damaged_setting_gives_the_shipped_keys(make_window: Callable[[], MainWindow]) -> None:
    window = make_window()
    window.settings._settings.setValue("keys", '{"dark": 3, "fit"')
    assert window.settings.keys == {}
    window.settings._settings.setValue("keys", '{"no_such_action": "F7", "dark": "F"}')
    other = make_window()
    assert other.keys.key("dark") == "F"
    assert other.keys.key("fit") == ""

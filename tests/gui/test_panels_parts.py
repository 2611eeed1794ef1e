"""The parts of the project, driven by mouse and keys; every edit is one step of the history."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QToolButton
from pytestqt.qtbot import QtBot

from app.session.document import Document
from app.session.edited import Edited, Kind
from app.views.parts import PartsPanel
from app.views.parts_tree import LOCK, SHOW
from app.views.theme import Theme
from tests.support.panels import CALIPER, document

Parts = tuple[PartsPanel, Document]


@pytest.fixture
def parts(qtbot: QtBot) -> Parts:
    """A panel on the made-up project, connected as the window connects it."""
    opened = document()
    panel = PartsPanel(Theme())
    qtbot.addWidget(panel)
    panel.resize(320, 460)
    panel.show()
    opened.shown.connect(panel.show_state)
    panel.changed.connect(opened.commit)
    panel.wheel_selected.connect(opened.select_wheel)
    panel.outline_selected.connect(opened.edit)
    panel.compare_changed.connect(opened.compare)
    panel.show_state(opened.state)
    panel.tree.setFocus()
    return panel, opened


def names(panel: PartsPanel, field: str) -> list[str]:
    head = panel.tree.item_of(field, None)
    assert head is not None
    return [child.text(0) for k in range(head.childCount()) if (child := head.child(k)) is not None]


def click(panel: PartsPanel, field: str, name: str, column: int) -> None:
    """Click the middle of a name, or the box of another column."""
    item = panel.tree.item_of(field, name)
    assert item is not None
    rect = panel.tree.visualItemRect(item)
    x = rect.center().x() if column == 0 else panel.tree.columnViewportPosition(column) + 9
    QTest.mouseClick(panel.tree.viewport(), Qt.MouseButton.LeftButton, pos=QPoint(x, rect.center().y()))


def test_every_kind_has_its_heading_and_count(parts: Parts) -> None:
    panel, _ = parts
    heads = [panel.tree.topLevelItem(k).text(0) for k in range(panel.tree.topLevelItemCount())]  # type: ignore[union-attr]
    assert heads == [
        "Wheels  2",
        "Blanks  2",
        "Stay-out shapes  1",
        "Rule sets  1",
        "Conditions  0",
        "Materials  1",
        "Fitments  0",
        "Trial fits  0",
        "Tests made  0",
    ]
    assert names(panel, "wheels") == ["Track 18  · shown, edited", "Club 17"]


def test_a_click_on_a_wheel_shows_it_and_on_a_blank_edits_its_vertices(parts: Parts) -> None:
    panel, opened = parts
    click(panel, "wheels", "Club 17", 0)
    assert opened.wheel_name == "Club 17"
    assert names(panel, "wheels") == ["Track 18", "Club 17  · shown, edited"]
    click(panel, "blanks", "C18", 0)
    assert names(panel, "blanks") == ["A18", "C18  · edited"]
    assert names(panel, "wheels") == ["Track 18", "Club 17  · shown"]
    assert opened.edited == Edited(Kind.BLANK, "C18")
    assert opened.wheel_name == "Club 17"
    assert panel.tree.current() == ("blanks", "C18")
    assert opened.undo_stack.count() == 0


def test_what_is_edited_on_the_drawing_becomes_the_current_line(parts: Parts) -> None:
    panel, opened = parts
    opened.edit(Edited(Kind.SHAPE, CALIPER))
    assert panel.tree.current() == ("shapes", CALIPER)
    assert names(panel, "shapes") == [f"{CALIPER}  · edited"]
    panel.choose("materials", "6061-T6")
    opened.select_vertex(1)
    assert panel.tree.current() == ("materials", "6061-T6")


def test_a_box_hides_or_locks_in_one_step(parts: Parts) -> None:
    panel, opened = parts
    click(panel, "shapes", CALIPER, SHOW)
    assert opened.project.shapes[0].visible is False
    assert opened.undo_stack.undoText() == f"Hide {CALIPER}"
    click(panel, "blanks", "A18", LOCK)
    assert opened.project.blanks[0].locked is True
    assert opened.undo_stack.undoText() == "Lock A18"
    assert opened.undo_stack.count() == 2
    opened.undo()
    opened.undo()
    item = panel.tree.item_of("shapes", CALIPER)
    assert item is not None
    assert item.checkState(SHOW) is Qt.CheckState.Checked
    assert opened.project.blanks[0].locked is False


def test_keys_do_the_same(parts: Parts) -> None:
    panel, opened = parts
    panel.choose("blanks", "A18")
    QTest.keyClick(panel.tree, Qt.Key.Key_Space)
    assert opened.project.blanks[0].visible is False
    QTest.keyClick(panel.tree, Qt.Key.Key_L)
    assert opened.project.blanks[0].locked is True
    QTest.keyClick(panel.tree, Qt.Key.Key_D, Qt.KeyboardModifier.ControlModifier)
    assert [b.name for b in opened.project.blanks] == ["A18", "A18 copy", "C18"]
    assert panel.tree.current() == ("blanks", "A18 copy")
    QTest.keyClick(panel.tree, Qt.Key.Key_Delete)
    assert [b.name for b in opened.project.blanks] == ["A18", "C18"]
    for _ in range(4):
        opened.undo()
    assert opened.project == document().project


def test_a_part_in_use_is_not_deleted_and_its_users_are_named(parts: Parts, qtbot: QtBot) -> None:
    panel, opened = parts
    panel.choose("blanks", "A18")
    with qtbot.waitSignal(panel.said) as said:
        QTest.keyClick(panel.tree, Qt.Key.Key_Delete)
    assert opened.project.blanks[0].name == "A18"
    assert opened.undo_stack.count() == 0
    assert panel.message.isVisible()
    assert said.args == [panel.message.text()]
    assert 'used by wheel "Track 18"' in panel.message.text()
    panel.choose("blanks", "C18")
    assert not panel.message.isVisible()


def test_dialogs_are_asked_for_by_list_and_name(parts: Parts, qtbot: QtBot) -> None:
    panel, _ = parts
    panel.choose("rule_sets", "starting, road")
    with qtbot.waitSignal(panel.edit_wanted) as edit:
        QTest.keyClick(panel.tree, Qt.Key.Key_Return)
    assert edit.args == ["rule_sets", "starting, road"]
    with qtbot.waitSignal(panel.rename_wanted) as rename:
        QTest.keyClick(panel.tree, Qt.Key.Key_F2)
    assert rename.args == ["rule_sets", "starting, road"]
    with qtbot.waitSignal(panel.new_wanted) as new:
        QTest.keyClick(panel.tree, Qt.Key.Key_Insert)
    assert new.args == ["rule_sets"]


def test_buttons_stand_for_the_same_actions(parts: Parts, qtbot: QtBot) -> None:
    panel, opened = parts
    buttons = {b.text(): b for b in panel.findChildren(QToolButton)}
    assert list(buttons) == ["New", "Edit", "Duplicate", "Rename", "Delete"]
    panel.choose("wheels", "Club 17")
    QTest.mouseClick(buttons["Duplicate"], Qt.MouseButton.LeftButton)
    assert [w.name for w in opened.project.wheels] == ["Track 18", "Club 17", "Club 17 copy"]
    assert opened.wheel_name == "Club 17 copy"
    with qtbot.waitSignal(panel.edit_wanted):
        QTest.mouseClick(buttons["Edit"], Qt.MouseButton.LeftButton)


def test_a_wheel_is_compared_and_no_longer(parts: Parts) -> None:
    """Comparing is no edit: nothing to undo, nothing to save."""
    panel, opened = parts
    click(panel, "wheels", "Club 17", 0)
    QTest.keyClick(panel.tree, Qt.Key.Key_M)
    click(panel, "wheels", "Track 18", 0)
    assert list(opened.state.compared) == ["Club 17"]
    assert names(panel, "wheels") == ["Track 18  · shown, edited", "Club 17  · compared"]
    click(panel, "wheels", "Club 17", 0)
    QTest.keyClick(panel.tree, Qt.Key.Key_M)
    assert list(opened.state.compared) == []
    assert opened.undo_stack.count() == 0


def test_a_closed_heading_stays_closed_when_parts_come_and_go(parts: Parts) -> None:
    panel, _ = parts
    shapes = panel.tree.item_of("shapes", None)
    assert shapes is not None
    shapes.setExpanded(False)
    panel.choose("blanks", "C18")
    panel.duplicate()
    again = panel.tree.item_of("shapes", None)
    assert again is not None
    assert not again.isExpanded()
    assert panel.tree.current() == ("blanks", "C18 copy")


def test_what_is_shown_from_elsewhere_comes_into_view_and_what_is_looked_at_stays(parts: Parts) -> None:
    """Of sixty wheels the last is shown by another panel; a wheel that is not in view is edited meanwhile."""
    panel, opened = parts
    first = opened.project.wheels[0]
    more = tuple(replace(first, name=f"Wheel {k}", made_from=None) for k in range(60))
    opened.commit(replace(opened.project, wheels=(*opened.project.wheels, *more)), "More wheels")
    QApplication.processEvents()
    tree = panel.tree

    def is_in_view(name: str) -> bool:
        item = tree.item_of("wheels", name)
        assert item is not None
        return tree.viewport().rect().contains(tree.visualItemRect(item))

    assert not is_in_view("Wheel 59")
    opened.select_wheel("Wheel 59")
    QApplication.processEvents()
    assert is_in_view("Wheel 59")
    # Who scrolls elsewhere and edits on stays there.
    tree.verticalScrollBar().setValue(0)
    shown = opened.project.wheels[-1]
    opened.commit(
        replace(opened.project, wheels=(*opened.project.wheels[:-1], replace(shown, locked=True))), "Lock"
    )
    QApplication.processEvents()
    assert tree.verticalScrollBar().value() == 0
    # A heading that was closed stays closed.
    head = tree.item_of("wheels", None)
    assert head is not None
    head.setExpanded(False)
    opened.select_wheel("Wheel 30")
    QApplication.processEvents()
    assert not head.isExpanded()

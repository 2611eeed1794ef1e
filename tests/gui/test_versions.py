"""Versions of wheels in the window: made, noted, seen as a tree."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialogButtonBox

from app.window.dialogs.new_version import NewVersionDialog
from app.window.dialogs.wheel_details import WheelDetailsDialog
from tests.gui.conftest import Person, write


def dialog_of(
    kind: type[NewVersionDialog] | type[WheelDetailsDialog],
) -> NewVersionDialog | WheelDetailsDialog:
    found = [w for w in QApplication.topLevelWidgets() if isinstance(w, kind) and w.isVisible()]
    assert found
    return found[-1]


def press_ok(dialog: NewVersionDialog | WheelDetailsDialog) -> None:
    button = dialog.buttons.button(QDialogButtonBox.StandardButton.Ok)
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


@pytest.fixture
def versioned(person: Person) -> Person:
    """A version of the first wheel, made with the key of the parts panel."""
    tree = person.window.parts.tree
    tree.setFocus()
    person.window.parts.choose("wheels", person.project.wheels[0].name)
    QTest.keyClick(tree, Qt.Key.Key_V)
    person.settle()
    dialog = dialog_of(NewVersionDialog)
    assert isinstance(dialog, NewVersionDialog)
    write(dialog.why.line, "deeper spoke back")
    press_ok(dialog)
    person.settle()
    return person


def test_a_version_is_made_from_the_parts_and_stands_under_its_origin(versioned: Person) -> None:
    first, made = versioned.project.wheels[:2]
    assert (made.made_from, made.why) == (first.name, "deeper spoke back")
    assert versioned.window.document.wheel_name == made.name
    tree = versioned.window.parts.tree
    item = tree.item_of("wheels", made.name)
    assert item is not None
    origin = tree.item_of("wheels", first.name)
    assert origin is not None
    assert item.parent() is origin
    assert origin.isExpanded()
    assert item.toolTip(0) == f"{made.name}: made from {first.name}: deeper spoke back"
    assert versioned.undo_text == f"New version {made.name}"
    versioned.window.document.undo()
    versioned.settle()
    assert tree.item_of("wheels", made.name) is None


def test_why_is_changed_in_the_details(versioned: Person) -> None:
    made = versioned.project.wheels[1]
    versioned.do("details")
    dialog = dialog_of(WheelDetailsDialog)
    assert isinstance(dialog, WheelDetailsDialog)
    assert dialog.origin.made_from.read() == made.made_from
    dialog.origin.why.line.selectAll()
    write(dialog.origin.why.line, "spoke back 1 mm deeper")
    press_ok(dialog)
    versioned.settle()
    assert versioned.project.wheels[1].why == "spoke back 1 mm deeper"
    assert versioned.project.wheels[1].made_from == made.made_from

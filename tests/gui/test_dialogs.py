"""What every dialog has in common: OK is one step of the history, Cancel is none, wrong text stays."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialogButtonBox, QLineEdit

from app.project import edits
from app.project.project import Project
from app.window.dialogs.blank_details import BlankDialog
from app.window.dialogs.change_size import ChangeSizeDialog
from app.window.dialogs.family import FamilyDialog
from app.window.dialogs.fitment import FitmentDialog
from app.window.dialogs.form import ProjectDialog
from app.window.dialogs.materials import MaterialDialog
from app.window.dialogs.new_blank import NewBlankDialog
from app.window.dialogs.new_shape import NewShapeDialog
from app.window.dialogs.new_wheel import NewWheelDialog
from app.window.dialogs.rename import RenameDialog
from app.window.dialogs.rules import RuleSetDialog
from app.window.dialogs.source_card import SourceCardDialog
from app.window.dialogs.typed_fields import NumberField, TextField
from app.window.dialogs.wheel_details import WheelDetailsDialog
from tests.gui.conftest import Opened, Person, typed
from tests.support import example
from tests.support.panels import CALIPER, project

DIALOGS: list[tuple[str, Callable[[Project], ProjectDialog]]] = [
    ("new wheel", NewWheelDialog),
    ("new blank", NewBlankDialog),
    ("new shape", NewShapeDialog),
    ("size", lambda p: ChangeSizeDialog(p, "Track 18")),
    ("details", lambda p: WheelDetailsDialog(p, "Track 18")),
    ("card", lambda p: SourceCardDialog(p, CALIPER)),
    ("rules", lambda p: RuleSetDialog(p, "starting, road")),
    ("new rules", RuleSetDialog),
    ("material", lambda p: MaterialDialog(p, "6061-T6")),
    ("new material", MaterialDialog),
    ("fitment", FitmentDialog),
    ("blank", lambda p: BlankDialog(p, "A18")),
    ("new like", lambda p: FamilyDialog(example.project(), example.WHEEL)),
    ("rename", lambda p: RenameDialog(p, edits.WHEEL, "Track 18")),
]
each = pytest.mark.parametrize("make", [make for _, make in DIALOGS], ids=[name for name, _ in DIALOGS])


# What all of them have in common


@each
def test_cancel_hands_out_nothing(ask: Opened, make: Callable[[Project], ProjectDialog]) -> None:
    asked = ask(make(project()))
    first = next(field for field in asked.dialog.fields() if isinstance(field, TextField | NumberField))
    typed(first, "17")
    asked.cancel()
    assert asked.applied == []
    assert not asked.dialog.isVisible()


@each
def test_ok_without_a_change_makes_no_step_for_a_part_that_is_there(
    ask: Opened, make: Callable[[Project], ProjectDialog]
) -> None:
    asked = ask(make(project()))
    is_new = "New" in asked.dialog.windowTitle()
    asked.ok()
    assert not asked.dialog.isVisible(), asked.dialog.message.text()
    assert len(asked.applied) == int(is_new)


@each
def test_every_field_has_a_name_and_is_reached_by_tab(
    ask: Opened, make: Callable[[Project], ProjectDialog]
) -> None:
    asked = ask(make(project()))
    dialog = asked.dialog
    reached = set()
    for k in range(dialog.pages.count()):
        dialog.pages.setCurrentIndex(k)
        dialog.buttons.button(QDialogButtonBox.StandardButton.Cancel).setFocus()
        for _ in range(120):
            now = QApplication.focusWidget()
            if now is None:
                break
            reached.add(now)
            QTest.keyClick(now, Qt.Key.Key_Tab)
    for field in dialog.fields():
        assert field.editor.accessibleName() or not isinstance(field.editor, QLineEdit)
        if isinstance(field, TextField | NumberField):
            assert field.editor in reached, field.editor.accessibleName()
    ok = dialog.buttons.button(QDialogButtonBox.StandardButton.Ok)
    assert ok in reached


@each
def test_nothing_is_cut_off(ask: Opened, make: Callable[[Project], ProjectDialog]) -> None:
    """At the size a dialog opens with, every line shows its whole text beside its unit."""
    asked = ask(make(project()))
    dialog = asked.dialog
    for k in range(dialog.pages.count()):
        dialog.pages.setCurrentIndex(k)
        QApplication.processEvents()
        for field in dialog.fields():
            if isinstance(field, NumberField) and field.line.isVisible():
                line = field.line
                margin = line.textMargins().right()
                words = line.text() or line.placeholderText()
                room = line.width() - margin - 6
                assert line.fontMetrics().horizontalAdvance(words) <= room, (line.accessibleName(), words)
    assert dialog.width() <= 900
    assert dialog.height() <= 700


def test_a_wrong_text_stays_is_shown_and_nothing_is_applied(ask: Opened) -> None:
    dialog = WheelDetailsDialog(project(), "Track 18")
    asked = ask(dialog)
    typed(dialog.hub.bore, "72,0 parsec")
    dialog.pages.setCurrentIndex(0)
    typed(dialog.load, "690 kg")
    asked.ok()
    assert asked.applied == []
    assert dialog.isVisible()
    assert dialog.hub.bore.line.text() == "72,0 parsec"
    assert "'parsec' is not a unit of length" in dialog.hub.bore.message.text()
    assert "One field cannot be read." in dialog.message.text()
    assert dialog.pages.tabText(dialog.pages.currentIndex()) == "Hub"
    assert QApplication.focusWidget() is dialog.hub.bore.line
    typed(dialog.hub.bore, "73.5")
    asked.ok()
    assert asked.result.wheels[0].hub.bore_mm == 73.5


# From the window


def test_a_dialog_of_the_window_is_one_step_that_can_be_undone(person: Person) -> None:
    before = person.project
    person.do("change_size")
    dialog = person.window.findChild(ChangeSizeDialog)
    assert dialog is not None
    typed(dialog.inset.inset, "36")
    QTest.keyClick(dialog, Qt.Key.Key_Return)
    person.settle()
    assert person.project.wheels[0].inset_mm == pytest.approx(36.0)
    assert person.steps == 1
    person.do("undo")
    assert person.project == before

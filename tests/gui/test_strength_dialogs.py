"""The settings of strength and the record of a test, typed as a person would."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TypeVar

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialogButtonBox, QLineEdit

from app.files.project_file import load, save
from app.project import edits
from app.project.strength import CASES, SHIPPED_STRENGTH, Outcome, OwnConstant, Struck, TestPrice
from app.studies.strength.tested import differs
from app.window.dialogs.form import ProjectDialog
from app.window.dialogs.strength_settings import StrengthDialog
from app.window.dialogs.strength_test import TestRecordDialog
from geometry.strength.constants import CONSTANTS
from tests.gui.conftest import Person, write

LEFT = Qt.MouseButton.LeftButton
D = TypeVar("D", bound=ProjectDialog)


def opened(person: Person, action: str, kind: type[D]) -> D:
    person.do(action)
    dialog = QApplication.activeModalWidget()
    assert isinstance(dialog, kind)
    return dialog


def typed(line: QLineEdit, text: str) -> None:
    line.setFocus()
    line.selectAll()
    if text:
        write(line, text)
    else:
        QTest.keyClick(line, Qt.Key.Key_Delete)


def ok(dialog: ProjectDialog) -> None:
    QTest.mouseClick(dialog.buttons.button(QDialogButtonBox.StandardButton.Ok), LEFT)


class TestSettings:
    def test_they_change_as_one_step_and_come_back(self, person: Person) -> None:
        dialog = opened(person, "strength_settings", StrengthDialog)
        dialog.cases["JWL bending"].box.click()
        typed(dialog.constants["R124 bending", "mu"].line, "0.85")
        typed(dialog.factors["surface"].line, "0,9")
        typed(dialog.dent.line, "8")
        typed(dialog.prices["R124 rolling"].line, "2400")
        ok(dialog)
        now = person.project.strength
        assert now.prices == (TestPrice("R124 rolling", 2400.0),)
        assert now.cases == tuple(c for c in CASES if c != "JWL bending")
        assert now.constants == (OwnConstant("R124 bending", "mu", 0.85),)
        assert (now.surface, now.size, now.dent_mm) == (0.9, 1.0, 8.0)
        assert person.undo_text == "Strength settings"
        assert person.steps == 1
        person.do("undo")
        assert person.project.strength == SHIPPED_STRENGTH
        person.do("redo")
        again = opened(person, "strength_settings", StrengthDialog)
        assert again.constants["R124 bending", "mu"].read() == 0.85
        typed(again.constants["R124 bending", "mu"].line, "")
        ok(again)
        assert person.project.strength.constants == (), "an empty field is the shipped value again"

    def test_every_shipped_constant_stands_with_value_source_and_status(self, person: Person) -> None:
        dialog = opened(person, "strength_settings", StrengthDialog)
        labels = {label.text() for label in dialog.findChildren(type(dialog.message))}
        for case in CASES:
            for symbol, number in CONSTANTS.get(case, {}).items():
                assert dialog.constants[case, symbol].line.placeholderText() == f"{number.value:g}"
                assert f"shipped {number.value:g}: {number.source} ({number.status})" in labels
        dialog.reject()

    @pytest.mark.parametrize("text", ["0", "1.2", "-0.5", "two"])
    def test_a_factor_above_one_or_none_is_refused_where_it_stands(self, person: Person, text: str) -> None:
        dialog = opened(person, "strength_settings", StrengthDialog)
        typed(dialog.factors["temperature"].line, text)
        ok(dialog)
        assert dialog.isVisible()
        assert dialog.factors["temperature"].message.text()
        assert person.project.strength == SHIPPED_STRENGTH
        dialog.reject()

    def test_no_case_at_all_is_refused(self, person: Person) -> None:
        dialog = opened(person, "strength_settings", StrengthDialog)
        for field in dialog.cases.values():
            field.box.click()
        ok(dialog)
        assert "tick at least one" in dialog.message.text()
        dialog.reject()

    def test_the_outer_flange_may_be_clamped(self, person: Person) -> None:
        dialog = opened(person, "strength_settings", StrengthDialog)
        dialog.flange.box.setFocus()
        QTest.keyClick(dialog.flange.box, Qt.Key.Key_Down)
        ok(dialog)
        assert person.project.strength.outer_flange


class TestRecord:
    def test_a_failed_test_says_where_it_broke(self, person: Person) -> None:
        dialog = opened(person, "new_test", TestRecordDialog)
        assert not dialog.zone.isVisible()
        typed(dialog.name.line, "Bench 1")
        dialog.case.box.setFocus()
        QTest.keyClick(dialog.case.box, Qt.Key.Key_Down)
        typed(dialog.load.line, "3200")
        typed(dialog.cycles.line, "180000")
        dialog.outcome.box.setFocus()
        QTest.keyClick(dialog.outcome.box, Qt.Key.Key_Down)
        assert dialog.zone.isVisible()
        dialog.zone.box.setCurrentText("spoke back")
        ok(dialog)
        (record,) = person.project.test_records
        assert record.name == "Bench 1"
        assert record.wheel == person.project.wheels[0].name
        assert (record.case, record.load, record.cycles) == ("R124 bending", 3200.0, 180000.0)
        assert record.outcome is Outcome.FAILED
        assert record.zone == "spoke back"
        assert record.drawing == "", "nobody said which drawing was tested"
        assert person.undo_text == "New test Bench 1"

    def test_an_impact_says_how_it_was_run_and_on_which_drawing(self, person: Person) -> None:
        dialog = opened(person, "new_test", TestRecordDialog)
        assert not dialog.striker.isVisible()
        typed(dialog.name.line, "Drop 1")
        dialog.case.box.setCurrentText("13 degree impact")
        assert dialog.striker.isVisible()
        assert not dialog.load.isVisible()
        typed(dialog.striker.line, "594")
        typed(dialog.drop.line, "230")
        typed(dialog.tyre.line, "245/35R18")
        dialog.struck.box.setCurrentText("between two spokes")
        dialog.drawing.box.setCurrentText("as the wheel and its blank are drawn now")
        ok(dialog)
        (record,) = person.project.test_records
        assert (record.striker_kg, record.drop_mm, record.tyre) == (594.0, 230.0, "245/35R18")
        assert record.struck is Struck.BETWEEN
        wheel = person.project.wheels[0]
        assert differs(person.project, wheel, record) == ""
        wider = edits.replaced(person.project, edits.WHEEL, wheel.name, replace(wheel, inset_mm=30.0))
        person.window.document.commit(wider, "Other inset")
        person.window.dialogs.edit("test_records", "Drop 1")
        again = QApplication.activeModalWidget()
        assert isinstance(again, TestRecordDialog)
        assert "changed since it was made" in again.changed.text()
        ok(again)
        assert person.project.test_records == (record,), "what was recorded stays as it was"

    def test_a_sample_of_another_drawing_is_kept_as_one(self, person: Person, tmp_path: Path) -> None:
        dialog = opened(person, "new_test", TestRecordDialog)
        typed(dialog.name.line, "Drop 2")
        dialog.wheel.box.setCurrentText("not drawn here")
        dialog.drawing.box.setCurrentText("another than is drawn now")
        ok(dialog)
        (record,) = person.project.test_records
        said = "another drawing than is drawn now"
        assert said in differs(person.project, person.project.wheels[0], record)
        save(person.project, tmp_path / "kept.blankwright")
        assert load(tmp_path / "kept.blankwright").test_records == (record,)
        person.window.dialogs.edit("test_records", "Drop 2")
        again = QApplication.activeModalWidget()
        assert isinstance(again, TestRecordDialog)
        assert again.drawing.box.currentText() == "another than is drawn now"
        ok(again)
        assert person.project.test_records == (record,)

    def test_it_is_edited_from_the_list_of_parts(self, person: Person) -> None:
        first = opened(person, "new_test", TestRecordDialog)
        typed(first.name.line, "Bench 2")
        ok(first)
        person.window.dialogs.edit("test_records", "Bench 2")
        again = QApplication.activeModalWidget()
        assert isinstance(again, TestRecordDialog)
        typed(again.on.line, "2026-02-30")
        ok(again)
        assert "no date" in again.on.message.text()
        typed(again.on.line, "2026-02-28")
        ok(again)
        assert person.project.test_records[0].on == "2026-02-28"
        tree = person.window.parts.tree
        item = tree.item_of("test_records", "Bench 2")
        assert item is not None
        assert item.text(0) == "Bench 2"

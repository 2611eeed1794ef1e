"""The dialog of a trial fit and the tyre in the window, by mouse and keys."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit, QToolButton
from pytestqt.qtbot import QtBot

from app.project import demo
from app.project.project import MeasuredGap, Project, TrialFit
from app.session.document import Document
from app.studies.fit import measure_wheel
from app.views.readings_line import Line
from app.views.readings_model import lines
from app.window.dialogs.change_size import ChangeSizeDialog
from app.window.dialogs.trial_fit import TrialFitDialog, WordsField
from app.window.dialogs.typed_fields import ChoiceField, Field
from app.window.dialogs.wheel_details import WheelDetailsDialog
from geometry.readings.rules import State
from geometry.shape.outline import Corner, Grade, Motion, NamedOutline, ShapeKind
from geometry.shape.section import Zone
from tests.gui.conftest import Person, write


def sample() -> Project:
    """The track wheel against its brake; the brake's grade is 'drawing', its error 0.3."""
    wheel = replace(demo.track_18(), blank=None)
    return Project(
        "P",
        wheels=(wheel,),
        shapes=(demo.brake_380(),),
        rule_sets=demo.rule_sets(),
        conditions=demo.conditions(),
        materials=(demo.material_6061(),),
    )


def least(project: Project, zone: Zone) -> float:
    """What `check` says of a zone: the dialog must show the same."""
    found = measure_wheel(project, project.wheels[0]).measurements
    assert found is not None
    return next(row.least_mm for row in found.gap if row.zone == zone)


Opened = Callable[..., TrialFitDialog]


@pytest.fixture
def ask(qtbot: QtBot) -> Opened:
    def opened(project: Project, name: str | None = None, wheel: str | None = None) -> TrialFitDialog:
        dialog = TrialFitDialog(project, name, wheel=wheel)
        qtbot.addWidget(dialog)
        dialog.applied.connect(lambda made, text: applied.append((made, text)))
        dialog.open()
        QApplication.processEvents()
        return dialog

    applied.clear()
    return opened


applied: list[tuple[Project, str]] = []


def type_in(field: Field, text: str) -> None:
    line = field.editor
    assert isinstance(line, QLineEdit)
    QTest.mouseClick(line, Qt.MouseButton.LeftButton)
    line.selectAll()
    write(line, text)


def pick(field: Field, words: str) -> None:
    """Choose in a box by its keys."""
    assert isinstance(field, ChoiceField)
    box = field.editor
    assert isinstance(box, QComboBox)
    box.setFocus()
    QTest.keyClick(box, Qt.Key.Key_Home)
    while box.currentText() != words:
        before = box.currentIndex()
        QTest.keyClick(box, Qt.Key.Key_Down)
        assert box.currentIndex() > before, f"{words} is not offered"


def shown(dialog: TrialFitDialog, row: int) -> tuple[str, str]:
    computed, difference = dialog.gaps.cells[row][4:]
    assert isinstance(computed, WordsField)
    assert isinstance(difference, WordsField)
    return computed.words.text(), difference.words.text()


def measure(dialog: TrialFitDialog, zone: Zone, gap: str) -> None:
    QTest.mouseClick(dialog.gaps.add_button, Qt.MouseButton.LeftButton)
    row = dialog.gaps.cells[-1]
    pick(row[0], str(zone))
    type_in(row[1], gap)


def filled(dialog: TrialFitDialog, project: Project) -> None:
    """Type a trial fit that agrees."""
    type_in(dialog.on, "2026-03-09")
    type_in(dialog.by, "K")
    pick(dialog.turned, "yes")
    for zone, off in ((Zone.SPOKE_BACK, 0.1), (Zone.BARREL, -0.2)):
        measure(dialog, zone, f"{least(project, zone) + off:.2f}")


def test_a_new_one_takes_the_shown_wheel_and_its_brake(ask: Opened) -> None:
    project = sample()
    dialog = ask(project, wheel="Track 18")
    assert (dialog.wheel.read(), dialog.shape.read()) == ("Track 18", demo.BRAKE_380)
    assert not dialog.raise_button.isEnabled()
    assert "Nobody has said whether the wheel was turned" in dialog.outcome.text()


def test_measured_stands_beside_computed_while_typing(ask: Opened) -> None:
    project = sample()
    dialog = ask(project, wheel="Track 18")
    back = least(project, Zone.SPOKE_BACK)
    measure(dialog, Zone.SPOKE_BACK, f"{back + 0.1:.2f}")
    computed, difference = shown(dialog, 0)
    assert computed == f"{back:.2f}"
    assert difference.endswith("agrees (±0.50)")
    assert difference.startswith("+0.")
    type_in(dialog.gaps.cells[0][1], f"{back - 1.0:.2f}")
    assert "does not agree" in shown(dialog, 0)[1]
    assert shown(dialog, 0)[1].startswith("\N{MINUS SIGN}")
    type_in(dialog.error, "2")
    assert shown(dialog, 0)[1].endswith(", agrees (±2.30)")
    type_in(dialog.gaps.cells[0][1], "four")
    assert shown(dialog, 0) == ("", "")
    assert dialog.outcome.text() == "A measured gap cannot be read."


def test_the_button_is_live_only_where_all_agree(ask: Opened) -> None:
    project = sample()
    dialog = ask(project, wheel="Track 18")
    filled(dialog, project)
    assert dialog.raise_button.isEnabled()
    pick(dialog.turned, "no")
    assert not dialog.raise_button.isEnabled()
    pick(dialog.turned, "yes")
    remove = next(b for b in dialog.findChildren(QToolButton) if b.text() == "Remove")
    QTest.mouseClick(remove, Qt.MouseButton.LeftButton)
    assert not dialog.raise_button.isEnabled()
    assert "1 place was measured" in dialog.outcome.text()


def test_ok_keeps_the_trial_fit_and_leaves_the_grade(ask: Opened) -> None:
    project = sample()
    dialog = ask(project, wheel="Track 18")
    filled(dialog, project)
    QTest.keyClick(dialog, Qt.Key.Key_Return)
    ((made, text),) = applied
    assert text == "New trial fit Trial fit"
    assert made.shapes == project.shapes
    (trial,) = made.trial_fits
    assert (trial.turned, trial.on, trial.by, len(trial.measured)) == (True, "2026-03-09", "K", 2)


def test_the_button_keeps_it_and_raises_the_grade_in_one_step(ask: Opened) -> None:
    project = sample()
    dialog = ask(project, wheel="Track 18")
    filled(dialog, project)
    QTest.mouseClick(dialog.raise_button, Qt.MouseButton.LeftButton)
    ((made, _),) = applied
    assert not dialog.isVisible()
    assert len(made.trial_fits) == 1
    card = made.shapes[0].card
    assert card.grade is Grade.PROVED
    assert card.source.endswith("Proved by trial fit Trial fit on 2026-03-09.")


def test_a_place_needs_both_numbers(ask: Opened) -> None:
    project = sample()
    dialog = ask(project, wheel="Track 18")
    measure(dialog, Zone.BARREL, "5")
    type_in(dialog.gaps.cells[0][2], "-40")
    QTest.keyClick(dialog, Qt.Key.Key_Return)
    assert applied == []
    assert dialog.isVisible()
    assert "only one of z and r" in dialog.message.text()
    type_in(dialog.gaps.cells[0][3], "205")
    QTest.keyClick(dialog, Qt.Key.Key_Return)
    ((made, _),) = applied
    assert made.trial_fits[0].measured == (MeasuredGap(Zone.BARREL, 5.0, -40.0, 205.0),)


def test_escape_and_an_untouched_ok_change_nothing(ask: Opened) -> None:
    trial = TrialFit("T1", "Track 18", demo.BRAKE_380, measured=(MeasuredGap(Zone.BARREL, 5.0),))
    project = replace(sample(), trial_fits=(trial,))
    QTest.keyClick(ask(project, "T1"), Qt.Key.Key_Return)
    dialog = ask(project, "T1")
    type_in(dialog.by, "someone")
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert applied == []


def test_by_key_in_the_window_as_one_step_that_undo_takes_back(person: Person) -> None:
    project = sample()
    person.window.document.start(project)
    QTest.keyClick(
        person.window,
        Qt.Key.Key_I,
        Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier,
    )
    dialog = person.window.findChild(TrialFitDialog)
    assert dialog is not None
    filled(dialog, project)
    QTest.mouseClick(dialog.raise_button, Qt.MouseButton.LeftButton)
    document = person.window.document
    assert document.project.shapes[0].card.grade is Grade.PROVED
    assert document.undo_stack.count() == 1
    document.undo()
    assert document.project == project


# The tyre


def group(project: Project) -> Line:
    document = Document()
    document.start(project)
    return next(line for line in lines(document.state) if line.key == "tyre")


def line(of: Line, key: str) -> Line:
    return next(child for child in of.children if child.key == key)


def test_the_group_says_what_the_size_means(qtbot: QtBot) -> None:
    """Section width and overall diameter by the formulas of UN R30: 265 + 0.4 (254 - 225.25) = 276.5."""
    found = group(sample())
    assert (found.label, found.note) == ("Tyre and size", "265/35R18: look")
    assert line(found, "tyre section width").value == "277"
    assert line(found, "tyre overall diameter").value == "642.7"
    assert line(found, "tyre rim width").rule == "9 to 10.5"
    assert line(found, "tyre rim width").aside == "fine · code"
    assert line(found, "tyre load").aside == "? look"
    assert "load-index table, secondary" in line(found, "tyre load").detail
    assert line(found, "tyre judged").label == "Tyre to body and suspension not judged."


def test_a_load_index_that_is_too_small_is_marked(qtbot: QtBot) -> None:
    """Load index 93 carries 650 kg (load-index table), the wheel load is 690."""
    project = sample()
    found = group(replace(project, wheels=(replace(project.wheels[0], tyre="265/35R18 93Y"),)))
    load = line(found, "tyre load")
    assert (load.value, load.rule, load.aside) == ("650", "690", "▸ wrong · kg")
    assert found.note.endswith(": wrong")


def test_an_arm_in_the_tyre_is_touching_in_the_group_and_in_the_wheel(qtbot: QtBot) -> None:
    project = sample()
    box = (Corner(-250.0, 260.0), Corner(-160.0, 260.0), Corner(-160.0, 300.0), Corner(-250.0, 300.0))
    arm = replace(
        demo.brake_380(),
        name="Arm",
        kind=ShapeKind.ARM,
        motion=Motion.AGAINST_KNUCKLE,
        swept=True,
        outlines=(NamedOutline("travel", box),),
    )
    wheel = replace(project.wheels[0], clears=(demo.BRAKE_380, "Arm"))
    project = replace(project, wheels=(wheel,), shapes=(*project.shapes, arm))
    document = Document()
    document.start(project)
    assert document.state.state is State.TOUCHING
    found = group(project)
    assert found.state is State.TOUCHING
    assert [child.label for child in found.children[-3:-1]] == ["To Arm", "To Arm, worst state"]
    assert [child.state for child in found.children[-3:-1]] == [State.TOUCHING, State.TOUCHING]
    assert found.children[-2].state is State.TOUCHING
    assert "not against damper, liner or body" in found.children[-1].label
    # During a gesture the same lines stand there and wait.
    waiting = next(x for x in lines(replace(document.state, dragging=True)) if x.key == "tyre")
    assert [x.key for x in waiting.children] == [x.key for x in found.children]
    assert (waiting.state, waiting.children[-2].aside) == (None, "on release")


def test_growth_is_typed_in_wheel_details(qtbot: QtBot) -> None:
    dialog = WheelDetailsDialog(sample(), "Track 18")
    qtbot.addWidget(dialog)
    made: list[Project] = []
    dialog.applied.connect(lambda project, _text: made.append(project))
    dialog.open()
    type_in(dialog.growth, "6")
    QTest.keyClick(dialog, Qt.Key.Key_Return)
    assert made[0].wheels[0].tyre_growth_percent == 6.0


def test_another_diameter_with_few_tyres_is_warned_of(qtbot: QtBot) -> None:
    dialog = ChangeSizeDialog(sample(), "Track 18")
    qtbot.addWidget(dialog)
    dialog.open()
    assert "Few tyres" not in dialog.outcome.text()
    type_in(dialog.diameter_code, "17")
    assert "Few tyres: of common sizes 265 wide none in 17" in dialog.outcome.text()

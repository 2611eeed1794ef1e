"""The first start: a sample, three things to try, ticked when done, closed for good and found again."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.window.first_steps import STEPS, FirstSteps
from app.window.main_window import MainWindow
from tests.gui.conftest import LEFT, PLAIN, Person

BACK = 40


def ticked(steps: FirstSteps) -> list[str]:
    return [name for name, label in steps.labels.items() if label.text().startswith("☑")]


def test_the_first_start_shows_a_sample_and_the_second_does_not(
    make_window: Callable[[], MainWindow],
) -> None:
    first = make_window()
    first.first_steps.begin(opened=False)
    assert first.first_steps.isVisible()
    assert "1-track-18-own-blank" in first.windowTitle()
    second = make_window()
    second.first_steps.begin(opened=False)
    assert second.first_steps.isVisible()
    assert second.document.wheel is None


def test_a_named_project_stays_open_at_the_first_start(person: Person) -> None:
    before = person.project
    person.window.first_steps.begin(opened=True)
    assert person.project is before


def test_each_step_is_ticked_when_it_was_done(person: Person, make_window: Callable[[], MainWindow]) -> None:
    window = person.window
    steps = window.first_steps
    steps.begin(opened=True)
    person.settle()
    assert ticked(steps) == []
    z, r = person.vertex(BACK)
    person.release(person.drag(BACK, (z - 8.0, r)))
    assert person.undo_text == f"Move vertex {BACK + 1}"
    assert ticked(steps) == ["drag"]
    person.key(Qt.Key.Key_F1, Qt.KeyboardModifier.ShiftModifier)
    assert ticked(steps) == ["drag", "explain"]
    person.key(Qt.Key.Key_F9)
    dialog = QApplication.activeModalWidget()
    assert dialog is not None
    dialog.close()
    assert ticked(steps) == list(STEPS)
    other = make_window().first_steps
    assert ticked(other) == list(STEPS)


def test_closed_for_good_it_stays_away_until_help_brings_it_back(
    person: Person, make_window: Callable[[], MainWindow]
) -> None:
    steps = person.window.first_steps
    steps.begin(opened=True)
    QTest.mouseClick(steps.close_button, LEFT, PLAIN)
    assert not steps.isVisible()
    assert person.status == "Help, First steps shows it again."
    later = make_window()
    later.first_steps.begin(opened=False)
    assert not later.first_steps.isVisible()
    before = person.project
    person.do("first_steps")
    assert steps.isVisible()
    assert ticked(steps) == []
    assert person.project is before


def test_the_steps_name_the_keys_that_hold(person: Person) -> None:
    person.window.keys.give("commands", "F12")
    assert "F12" in person.window.first_steps.labels["commands"].text()

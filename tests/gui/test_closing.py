"""Every window beside the drawing closes by its button and by Escape, and opens again."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from tests.gui.conftest import Person

WINDOWS = (
    "match",
    "limits",
    "stages",
    "face",
    "offers",
    "versions",
    "roadmap",
    "manual",
    "strength",
    "family",
)
MORE = ("group_blank", "programme", "first_off", "parameters", "constraints")


def opened(person: Person, action: str) -> QWidget:
    person.do(action)
    (window,) = [w for w in QApplication.topLevelWidgets() if w.isVisible() and w is not person.window]
    return window


@pytest.mark.parametrize("action", [*WINDOWS, *MORE])
def test_a_window_closes_by_its_button_and_by_escape(person: Person, action: str) -> None:
    window = opened(person, action)
    assert window.close()
    assert not window.isVisible()
    window = opened(person, action)
    # The first Escape may take back what is under way: a study, a drag.
    for _ in range(2):
        if window.isVisible():
            QTest.keyClick(window, Qt.Key.Key_Escape)
            person.settle()
    assert not window.isVisible()

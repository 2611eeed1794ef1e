"""Every reading explains itself: by key, by click, and for each kind of line that any sample shows."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app import resources
from app.files.project_file import load
from app.project.coating import Coat, Coating
from app.project.wheel import SingleNut
from app.session.document import Document
from app.views.explained import EXPLAINED, explanation
from app.views.readings_line import Line
from app.views.readings_model import lines
from tests.gui.conftest import LEFT, PLAIN, Person

SHIFT = Qt.KeyboardModifier.ShiftModifier


def every(groups: tuple[Line, ...]) -> list[Line]:
    return [line for group in groups for line in (group, *every(group.children))]


def test_every_line_of_every_sample_is_explained(qapp: object) -> None:
    explained = set()
    for path in resources.samples()[:3]:
        project = load(path)
        wheel = project.wheels[0]
        bare = replace(wheel, clears=(), blank=None, conditions=None, tyre="")
        nut = replace(wheel, fixing=SingleNut(60.0, 70.0, 30.0, 5, 90.0, 12.0))
        coated = replace(wheel, coating=Coating(Coat.HARD, 0.06, True, True))
        fault = replace(wheel, vertices=tuple(reversed(wheel.vertices)))
        for shown_wheel in (wheel, bare, nut, coated, fault):
            document = Document()
            document.start(replace(project, wheels=(shown_wheel,)))
            for line in every(lines(document.state)):
                found = explanation(line)
                assert found is not None, line.key
                explained.add(found.name)
    assert {"Gap", "Worst state", "Stock", "Wall", "Seat land", "Mass", "Chips", "Lip, area"} <= explained
    coatings = {"Bore over spigot, coated", "Hole over thread, coated", "Coating on hub pad and seats"}
    assert coatings <= explained


def test_no_text_is_empty_and_none_stands_twice() -> None:
    texts = [e.definition for e in EXPLAINED.values()]
    assert len(set(texts)) == len(texts)
    assert all(e.name and e.definition and e.formula and e.source for e in EXPLAINED.values())


def test_a_key_explains_the_chosen_reading_and_follows_the_next(person: Person) -> None:
    person.key(Qt.Key.Key_F1, SHIFT)
    detail = person.window.readings.detail
    assert EXPLAINED["gap"].formula in detail.toPlainText()
    tree, model = person.window.readings.tree, person.window.readings.model
    tree.setCurrentIndex(model.find("chips"))
    assert EXPLAINED["chips"].definition in detail.toPlainText()
    person.key(Qt.Key.Key_F1, SHIFT)
    assert EXPLAINED["chips"].definition not in detail.toPlainText()
    assert "Blank less wheel" in detail.toPlainText()


def test_a_click_explains_it_too(person: Person) -> None:
    panel = person.window.readings
    panel.tree.setCurrentIndex(panel.model.find("polar"))
    QTest.mouseClick(panel.explain, LEFT, PLAIN)
    assert "integral of r squared" in panel.detail.toPlainText()

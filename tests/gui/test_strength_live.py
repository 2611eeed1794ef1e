"""Stress on the drawing: switched on by a key, it follows a drag, and goes again."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any, ClassVar

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QMenu

from app.project import edits
from app.session import stress
from app.session.child import Child
from app.session.stress import LiveStress
from app.views.canvas.content import Tag
from app.window.strength_live import FOLLOWED
from tests.gui.conftest import Person
from tests.support import example

S = Qt.Key.Key_S


class HereChild:
    """Works in the window's process, when it is asked for the answer, so that a test can hold one back."""

    gate = threading.Event()
    asked: ClassVar[list[str]] = []

    def __init__(self) -> None:
        self._piece: tuple[Callable[..., Any], tuple[Any, ...]] | None = None

    def begin(self, work: Callable[..., Any], *args: Any) -> None:
        HereChild.asked.append(args[0].name)
        self._piece = (work, args)

    def answer(self) -> Any:
        if self._piece is None or not HereChild.gate.is_set():
            return None
        (work, args), self._piece = self._piece, None
        return work(*args, lambda *_words: None)

    def end(self) -> None:
        self._piece = None


@pytest.fixture
def here(monkeypatch: pytest.MonkeyPatch) -> Iterator[type[HereChild]]:
    monkeypatch.setattr(stress, "Child", HereChild)
    HereChild.asked = []
    HereChild.gate.set()
    yield HereChild
    HereChild.gate.set()


def live(person: Person) -> LiveStress:
    follower = person.window.live_stress.follower
    assert follower is not None
    assert follower.live is not None
    return follower.live


def wait_for_it(person: Person, is_there: Callable[[LiveStress], bool]) -> LiveStress:
    person.qtbot.waitUntil(lambda: is_there(live(person)), timeout=90_000)
    return live(person)


def hints(person: Person) -> list[str]:
    return person.window.canvas.sheet.overlay.content.hints


def tags(person: Person) -> list[Tag]:
    marks = person.window.canvas.sheet.overlay.content.marks
    return [m for m in marks if isinstance(m, Tag) and "MPa" in m.text]  # others are sizes of the drag


def colour_at(person: Person, place: tuple[float, float]) -> QColor:
    viewport = person.window.canvas.sheet.viewport()
    colour: QColor = viewport.grab().toImage().pixelColor(person.at(*place))
    return colour


def test_the_key_shows_it_and_the_key_hides_it_in_a_process_of_its_own(person: Person) -> None:
    overlay = person.window.canvas.sheet.overlay
    band = overlay.content.legend
    place = (60.0, 160.0)  # within the spoke
    plain = colour_at(person, place)
    person.key(S)
    assert hints(person)[:2] == ["R124 bending: preview", "updating"]
    shown = wait_for_it(person, lambda found: found.is_current)
    assert isinstance(person.window.live_stress.follower._child, Child)  # type: ignore[union-attr]
    process = person.window.live_stress.follower._child._process  # type: ignore[union-attr]
    assert process is not None
    assert process.pid != os.getpid()
    person.settle()
    assert shown.step is not None
    assert hints(person)[0] == "R124 bending: preview"
    assert "1 harmonic" in hints(person)[1]
    assert shown.step.silent == ("outer lip", "barrel", "inner seat", "inner lip")
    assert "no colour: not exercised" in hints(person)[1]
    assert f"{shown.step.use:.2f} of yield, may read low" in hints(person)[2]
    assert [t.text for t in tags(person)] == [f"{shown.step.greatest_mpa:.0f} MPa"]
    assert overlay.content.legend.low == "stress 0"
    assert "MPa" in overlay.content.legend.high
    assert colour_at(person, place) != plain
    person.key(S)
    process.join(20.0)
    assert not process.is_alive()
    assert overlay.content.legend == band
    assert tags(person) == []
    assert colour_at(person, place) == plain


def test_a_drag_is_followed_and_an_older_answer_shows_no_number(
    person: Person, here: type[HereChild]
) -> None:
    person.key(S)
    before = wait_for_it(person, lambda found: found.is_current).step
    here.gate.clear()
    at = person.drag(40, (46.8, 134.0))
    assert live(person).dragging
    assert not live(person).is_current
    assert "updating" in hints(person)
    assert tags(person) == [], "a number would be that of an older section"
    asked = len(here.asked)
    here.gate.set()
    after = wait_for_it(person, lambda found: found.is_current).step
    assert len(here.asked) - asked <= 2, "of all steps between only the newest is worked out"
    assert before is not None
    assert after is not None
    assert after.greatest_mpa != before.greatest_mpa
    assert after.top_mpa >= before.top_mpa, "while a vertex hangs on the pointer the scale only grows"
    person.release(at)
    assert person.steps == 1
    wait_for_it(person, lambda found: found.is_current and not found.dragging)


def test_escape_ends_the_drag_and_the_stress_is_that_of_before(person: Person, here: type[HereChild]) -> None:
    person.key(S)
    before = wait_for_it(person, lambda found: found.is_current).step
    person.drag(40, (46.8, 134.0))
    wait_for_it(person, lambda found: found.is_current)
    person.key(Qt.Key.Key_Escape)
    after = wait_for_it(person, lambda found: found.is_current).step
    assert before is not None
    assert after is not None
    assert after.greatest_mpa == pytest.approx(before.greatest_mpa, rel=1e-6)


def test_the_load_is_chosen_in_the_menu(person: Person, here: type[HereChild]) -> None:
    assert FOLLOWED == (
        "R124 bending",
        "JWL bending",
        "J328 bending front",
        "J328 bending rear",
        "R124 rolling",
        "JWL rolling",
        "inflation",
    )
    menus = [m for m in person.window.menuBar().findChildren(QMenu) if m.title() == "Stress &under"]
    assert [a.text() for a in menus[0].actions()] == list(FOLLOWED)
    person.key(S)
    wait_for_it(person, lambda found: found.is_current)
    menus[0].actions()[4].trigger()
    found = wait_for_it(person, lambda found: found.is_current and found.load == "R124 rolling")
    assert found.step is not None
    assert f"{found.step.harmonics} harmonics summed" in hints(person)[1]
    menus[0].actions()[6].trigger()
    found = wait_for_it(person, lambda found: found.is_current and found.load == "inflation")
    assert found.step is not None
    assert found.step.harmonics == 1


def test_what_lacks_is_said_and_comes_when_it_is_named(person: Person, here: type[HereChild]) -> None:
    project = person.project
    wheel = project.wheels[0]
    bare = edits.replaced(project, edits.WHEEL, wheel.name, replace(wheel, load_kg=None))
    person.window.document.commit(bare, "No load")
    person.key(S)
    wait_for_it(person, lambda found: bool(found.trouble))
    assert "has no wheel load" in hints(person)[0]
    person.key(Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert wait_for_it(person, lambda found: found.is_current).step is not None


def test_a_fault_has_no_stress(person: Person, here: type[HereChild]) -> None:
    person.key(S)
    wait_for_it(person, lambda found: found.is_current)
    person.window.document.select_vertex(40)
    person.window.canvas.vertices.nudge(60.0, -6.0)
    person.settle()
    assert live(person).trouble == "no stress: the section has faults"
    assert live(person).step is None


def test_use_stands_beside_that_of_the_reference(person: Person, here: type[HereChild]) -> None:
    project = person.project
    wheel = project.wheels[0]
    other = replace(wheel, name="Passed", load_kg=600.0)
    pair = replace(project, wheels=(replace(wheel, reference="Passed"), other))
    person.window.document.commit(pair, "Reference")
    person.key(S)
    found = wait_for_it(person, lambda found: found.is_current)
    assert found.step is not None
    assert found.reference is not None
    # The moment goes as the load, and so does the stress: 600 / 690 of it.
    assert found.reference[1] == pytest.approx(found.step.use * 600.0 / 690.0, rel=1e-6)
    assert f"{found.reference[1]:.2f} in the reference Passed" in hints(person)[2]


def test_a_spacer_shifts_the_picture_with_the_wheel(person: Person, here: type[HereChild]) -> None:
    person.key(S)
    before = wait_for_it(person, lambda found: found.is_current)
    place = tags(person)[0].place
    wheel = person.project.wheels[0]
    moved = edits.replaced(person.project, edits.WHEEL, wheel.name, replace(wheel, spacer_mm=12.0))
    person.window.document.commit(moved, "Spacer")
    after = wait_for_it(person, lambda found: found.is_current and found.shift_mm == 12.0)
    assert before.step is not None
    assert after.step is not None
    # The nodes follow a step of 0 mm too, and settle a little.
    assert after.step.greatest_mpa == pytest.approx(before.step.greatest_mpa, rel=5e-3)
    person.settle()
    assert tags(person)[0].place == pytest.approx((place[0] + 12.0, place[1]), abs=0.5)


def test_a_closed_window_leaves_no_child(person: Person) -> None:
    person.key(S)
    follower = person.window.live_stress.follower
    assert follower is not None
    person.qtbot.waitUntil(lambda: follower._child._process is not None, timeout=30_000)
    process = follower._child._process
    assert process is not None
    person.window.document.undo_stack.setClean()
    person.window.close()
    process.join(20.0)
    assert not process.is_alive()
    QTest.qWait(50)  # nobody looks for an answer any more
    assert not follower.is_working


def test_the_example_is_what_these_tests_take_it_for() -> None:
    wheel = example.project().wheels[0]
    assert wheel.load_kg == 690.0
    assert wheel.tyre

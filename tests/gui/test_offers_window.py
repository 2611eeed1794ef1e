"""What would make the shown wheel fit, driven by mouse and keys."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QColor, QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.studies.fit import measure_wheel
from app.studies.offers import offers
from app.studies.sweep import Over, sweep
from app.window import offers_window
from app.window.main_window import MainWindow
from app.window.offers_window import OffersWindow
from app.window.settings import Settings
from geometry.readings.rules import State
from tests.support.kept import Kept
from tests.support.make_samples import samples

TOUCHING = samples()["3-gt-19-touching"]
LOOK = Kept(offers_window._work)


@pytest.fixture(autouse=True)
def looked_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(offers_window, "_work", LOOK)


@pytest.fixture
def opened(qtbot: Any, tmp_path: Path) -> tuple[MainWindow, OffersWindow]:
    window = MainWindow(Settings(tmp_path / "window.ini"), tmp_path / "state")
    qtbot.addWidget(window)
    window.show()
    window.document.start(TOUCHING)
    window.actions_by_name["offers"].trigger()
    found = window.beside.offers
    assert found is not None
    qtbot.waitUntil(lambda: found.tree.topLevelItemCount() > 0, timeout=60_000)
    return window, found


def rows(found: OffersWindow) -> list[str]:
    return [found.tree.topLevelItem(k).text(0) for k in range(found.tree.topLevelItemCount())]  # type: ignore[union-attr]


def test_cures_stand_above_the_line_and_windows_are_said(opened: tuple[MainWindow, OffersWindow]) -> None:
    window, found = opened
    made = offers(window.document.project, window.document.project.wheels[0])
    cures = [o.words for o in made if o.is_cure]
    others = [o.words for o in made if not o.is_cure]
    assert rows(found) == [*cures, "Mends the gap, but:", *others]
    assert f"{len(cures)} changes" in found.head.text()
    assert "Every measured length holds from inset" in found.windows.text()


def test_a_click_applies_a_cure_as_a_new_version_in_one_step(
    opened: tuple[MainWindow, OffersWindow],
) -> None:
    window, found = opened
    before = window.document.project
    QTest.mouseClick(found.apply, Qt.MouseButton.LeftButton)
    project = window.document.project
    assert len(project.wheels) == len(before.wheels) + 1
    assert project.wheels[:-1] == before.wheels
    assert window.document.wheel_name == project.wheels[-1].name
    measured = measure_wheel(project, project.wheels[-1]).measurements
    assert measured is not None
    assert measured.state in (State.CLEAR, State.TIGHT)
    # What was looked at is no longer what is shown: nothing can be applied twice.
    assert not found.apply.isEnabled()
    assert "look again" in found.head.text()
    window.actions_by_name["undo"].trigger()
    assert window.document.project == before
    window.document.undo_stack.setClean()


def test_what_breaks_another_rule_cannot_be_applied_by_a_click(
    opened: tuple[MainWindow, OffersWindow],
) -> None:
    window, found = opened
    last = found.tree.topLevelItem(found.tree.topLevelItemCount() - 1)
    assert last is not None
    found.tree.setFocus()
    QTest.keyClick(found.tree, Qt.Key.Key_End)
    assert found.tree.currentItem() is last
    assert not found.apply.isEnabled()
    at = found.tree.visualItemRect(last).center()
    QTest.mouseDClick(found.tree.viewport(), Qt.MouseButton.LeftButton, pos=at)
    assert window.document.project == TOUCHING


def test_a_wheel_that_clears_says_so(qtbot: Any, tmp_path: Path) -> None:
    window = MainWindow(Settings(tmp_path / "window.ini"), tmp_path / "state")
    qtbot.addWidget(window)
    window.show()
    own = samples()["1-track-18-own-blank"]
    window.document.start(replace(own, wheels=(replace(own.wheels[0], blank=None),)))
    window.actions_by_name["offers"].trigger()
    found = window.beside.offers
    assert found is not None
    qtbot.waitUntil(lambda: bool(found.windows.text()), timeout=60_000)
    assert "no gap misses its rule" in found.head.text()
    assert not found.apply.isEnabled()


def test_curves_are_drawn_and_told_under_the_pointer(opened: tuple[MainWindow, OffersWindow]) -> None:
    window, found = opened
    project = window.document.project
    chart = found.charts[Over.SPACER]
    assert chart.sweep is not None
    values = [p.value for p in chart.sweep.points]
    assert chart.sweep == sweep(project, project.wheels[0], Over.SPACER, values)
    point = chart.sweep.points[-1]
    at = chart.place(point).toPoint()
    move = QMouseEvent(
        QEvent.Type.MouseMove,
        QPointF(at),
        QPointF(chart.mapToGlobal(at)),
        Qt.MouseButton.NoButton,
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
    )
    QApplication.sendEvent(chart, move)
    assert point.spare_mm is not None
    assert f"spacer {point.value:.1f}: {point.spare_mm:.2f} to spare, {point.zone}" in chart.toolTip()
    # The curve's own colour is where the curve lies.
    picture = chart.grab().toImage()
    place = chart.place(chart.sweep.points[len(values) // 2])
    ink, paper = chart._theme.colour("shape_edge"), chart._theme.colour("paper")
    near = [picture.pixelColor(int(place.x()), int(place.y()) + dy) for dy in range(-2, 3)]
    assert any(_nearer(colour, ink, paper) for colour in near)


def _nearer(colour: QColor, one: QColor, other: QColor) -> bool:
    def off(to: QColor) -> int:
        return (
            abs(colour.red() - to.red()) + abs(colour.green() - to.green()) + abs(colour.blue() - to.blue())
        )

    return off(one) < off(other)


def test_a_project_in_inches_is_offered_changes_in_inches(
    opened: tuple[MainWindow, OffersWindow], qtbot: Any
) -> None:
    window, found = opened

    def heads() -> list[str]:
        return [found.tree.headerItem().text(k) for k in range(3)]

    assert heads() == ["Change, mm", "Mass, kg", "What else it does, mm"]
    window.actions_by_name["inch"].trigger()
    # What was told in mm keeps its heads until it is looked at again.
    assert heads()[0] == "Change, mm"
    assert "look again" in found.head.text()
    QTest.mouseClick(found.again, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: heads()[0] == "Change, in", timeout=60_000)
    assert heads()[1:] == ["Mass, lb", "What else it does, in"]
    made = offers(window.document.project, window.document.project.wheels[0])
    first, offer = found.tree.topLevelItem(0), made[0]
    assert first is not None
    assert first.text(0) == offer.words
    assert float(first.text(1).replace("−", "-")) == pytest.approx(offer.mass_kg / 0.45359237, abs=0.006)
    window.document.undo_stack.setClean()

"""The smallest blank of a group, found in its window as a person would: ticks, typed numbers, keys."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QColor
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog
from pytestqt.qtbot import QtBot

from app.project.project import Project
from app.studies.blank_variant import variant_check
from app.studies.composite import composite
from app.studies.fit import measure_wheel
from app.studies.forging_needs import ForgingSettings, NeedWindow
from app.studies.forging_stock import Headroom
from app.studies.found_blank import against_tools, as_forged, as_variant
from app.views.blank_picture import wheel_colour
from app.window import blank_window
from app.window.blank_window import BlankWindow
from geometry.forging.composite import Forgeable
from geometry.shape.blank import Blank, ToolLimits
from tests.gui.conftest import Person, write
from tests.support import example
from tests.support.kept import Kept
from tests.unit.studies.test_composite import group

FIND = Kept(blank_window._work)


@pytest.fixture(autouse=True)
def found_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(blank_window, "_work", FIND)


@pytest.fixture
def window(person: Person, qtbot: QtBot) -> Iterator[BlankWindow]:
    person.window.document.start(group())
    QTest.keyClick(person.window, Qt.Key.Key_B, Qt.KeyboardModifier.ControlModifier)
    found = next(w for w in QApplication.topLevelWidgets() if isinstance(w, BlankWindow) and w.isVisible())
    qtbot.waitUntil(lambda: found.found is not None, timeout=60_000)
    yield found
    found.close()


def done(qtbot: QtBot, window: BlankWindow) -> None:
    qtbot.waitUntil(lambda: not window.jobs.is_busy and window.run.text() == "&Find", timeout=60_000)


def tick(window: BlankWindow, name: str) -> None:
    """Click the box before a wheel's name."""
    (item,) = window.wheels.findItems(name, Qt.MatchFlag.MatchExactly)
    box = window.wheels.visualItemRect(item)
    QTest.mouseClick(
        window.wheels.viewport(), Qt.MouseButton.LeftButton, pos=QPoint(box.left() + 10, box.center().y())
    )


def cells(window: BlankWindow, row: int) -> list[str]:
    found = [window.results.wheels.item(row, column) for column in range(window.results.wheels.columnCount())]
    return [item.text() for item in found if item is not None]


def test_it_opens_with_the_shown_wheels_group_found(window: BlankWindow) -> None:
    # All wheels of the project are cut from one blank.
    assert window.ticked() == [w.name for w in group().wheels]
    true = composite(group(), window.ticked())
    assert f"{true.found.mass_kg:.2f} kg" in window.head.text()
    assert "proven the lightest" in window.head.text()
    assert window.results.wheels.rowCount() == 3
    assert cells(window, 1)[4] == f"{true.wheels[1].costs_others_kg:.2f}"


def test_one_that_is_closed_while_it_looks_begins_anew_when_it_is_opened(
    person: Person, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    gate = threading.Event()

    def held_back(*args: Any) -> Any:
        assert gate.wait(60.0)
        return FIND(*args)

    monkeypatch.setattr(blank_window, "_work", held_back)
    person.window.document.start(group())
    person.do("group_blank")
    found = person.window.beside.group_blank
    assert found is not None
    assert found.jobs.is_busy
    QTest.keyClick(found, Qt.Key.Key_Escape)
    assert not found.isVisible()
    assert (found.run.text(), found.bar.isHidden(), found.note.text()) == ("&Find", True, "")
    person.do("group_blank")
    assert found.run.text() == "&Stop"
    gate.set()
    qtbot.waitUntil(lambda: found.found is not None, timeout=60_000)
    found.close()


def test_ticks_and_typed_numbers_count(window: BlankWindow, qtbot: QtBot) -> None:
    tick(window, "face in")
    tick(window, "face out")
    assert window.ticked() == [example.WHEEL]
    line = window.asked.stock.line
    line.setFocus()
    write(line, "3.5")
    angle = window.asked.outside.line
    angle.selectAll()
    write(angle, "3")
    QTest.mouseClick(window.run, Qt.MouseButton.LeftButton)
    done(qtbot, window)
    true = composite(group(), [example.WHEEL], ForgingSettings(how=Forgeable(3.0, 2.0, 15.0), stock_mm=3.5))
    assert f"{true.found.mass_kg:.2f} kg" in window.head.text()
    assert cells(window, 0)[0].endswith(example.WHEEL)


def test_a_bad_number_is_said_and_nothing_is_lost(window: BlankWindow) -> None:
    before = window.head.text()
    angle = window.asked.inside.line
    angle.selectAll()
    write(angle, "90")
    QTest.mouseClick(window.run, Qt.MouseButton.LeftButton)
    assert "inside draft is 90" in window.note.text()
    assert window.head.text() == before


def test_the_blank_is_added_as_one_step(window: BlankWindow, person: Person) -> None:
    document = person.window.document
    count = len(document.project.blanks)
    QTest.mouseClick(window.take, Qt.MouseButton.LeftButton)
    assert len(document.project.blanks) == count + 1
    assert document.project.blanks[-1].source.startswith("smallest forgeable blank of ")
    document.undo()
    assert len(document.project.blanks) == count


def test_the_wheels_can_be_cut_from_it_in_the_same_step(window: BlankWindow, person: Person) -> None:
    document = person.window.document
    before = document.project.wheels
    QTest.mouseClick(window.cut, Qt.MouseButton.LeftButton, pos=QPoint(8, window.cut.height() // 2))
    QTest.mouseClick(window.take, Qt.MouseButton.LeftButton)
    name = document.project.blanks[-1].name
    assert {wheel.blank for wheel in document.project.wheels} == {name}
    # By the editor's own reading every wheel keeps the stock of its rule set.
    for wheel in document.project.wheels:
        measured = measure_wheel(document.project, wheel).measurements
        assert measured is not None
        assert min(row.spare_mm for row in measured.stock if row.spare_mm is not None) > -1e-5
    document.undo()
    assert document.project.wheels == before


def test_it_says_when_the_project_has_changed(window: BlankWindow, person: Person) -> None:
    document = person.window.document
    wheel = document.project.wheels[0]
    moved = replace(
        wheel, vertices=(replace(wheel.vertices[0], z=wheel.vertices[0].z - 1.0), *wheel.vertices[1:])
    )
    document.commit(replace(document.project, wheels=(moved, *document.project.wheels[1:])), "Move")
    assert "changed since" in window.note.text()
    assert not window.take.isEnabled()


@pytest.mark.long
def test_insets_headroom_corners_and_presses_are_typed_and_count(window: BlankWindow, qtbot: QtBot) -> None:
    tick(window, "face in")
    tick(window, "face out")
    asked = window.asked
    for page, fields in (
        (0, ((asked.stock, "4"), (asked.corner, "9"))),
        (1, ((asked.inset_low, "30"), (asked.inset_high, "40"), (asked.room_ring, "5"))),
        (2, ((asked.presses, "25; 70"),)),
    ):
        asked.setCurrentIndex(page)
        for field, text in fields:
            field.line.setFocus()
            field.line.selectAll()
            write(field.line, text)
    QTest.mouseClick(window.run, Qt.MouseButton.LeftButton)
    done(qtbot, window)
    true = composite(
        group(),
        [example.WHEEL],
        ForgingSettings(
            stock_mm=4.0,
            corner_mm=9.0,
            windows=(NeedWindow(example.WHEEL, 30.0, 40.0),),
            headroom=Headroom(ring_mm=5.0),
        ),
    )
    assert window.found is not None
    assert window.found.mass_kg == pytest.approx(true.mass_kg, abs=1e-6)
    assert f"{true.mass_kg:.2f} kg" in window.head.text()
    assert f"{true.windows[0][1]:+.2f} kg a blank" in window.head.text().replace("\N{MINUS SIGN}", "-")
    assert "corners R9" in window.head.text()
    assert window.results.steps.rowCount() == 3
    presses = [window.results.steps.item(row, 5) for row in range(3)]
    assert [item.text().split(":")[0] for item in presses if item is not None] == [
        "upset press, 25 MN",
        "finishing press, 70 MN",
        "finishing press, 70 MN",
    ]
    assert window.results.cost.rowCount() == 1


def test_widths_go_with_insets_and_the_outside_has_headroom(window: BlankWindow, qtbot: QtBot) -> None:
    """The narrower wheel of the window is cut from what was found; 2 mm by radius are 4 of diameter."""
    before = window.found
    assert before is not None
    tick(window, "face in")
    tick(window, "face out")
    asked = window.asked
    asked.setCurrentIndex(1)
    write(asked.widths.line, "9.5, 10")
    QTest.mouseClick(window.run, Qt.MouseButton.LeftButton)
    assert window.note.text() == "Widths go with insets: give from and to inset too."
    for field, text in ((asked.inset_low, "38"), (asked.inset_high, "38"), (asked.room_outside, "2")):
        field.line.setFocus()
        field.line.selectAll()
        write(field.line, text)
    QTest.mouseClick(window.run, Qt.MouseButton.LeftButton)
    done(qtbot, window)
    found = window.found
    assert found is not None
    assert found.windows[0][0] == f"{example.WHEEL}, inset 38 to 38, width 9.5 to 10"
    # The drafted wall runs a little farther where the dies meet elsewhere.
    assert found.parting_mm[1] - before.parting_mm[1] == pytest.approx(2.0, abs=0.1)


def test_ejector_parting_height_and_pierced_hub_are_set(window: BlankWindow, qtbot: QtBot) -> None:
    tick(window, "face in")
    tick(window, "face out")
    asked = window.asked
    assert asked.outside.read() == 1.0
    box = asked.ejector.box
    QTest.mouseClick(box, Qt.MouseButton.LeftButton, pos=QPoint(8, box.height() // 2))
    assert not asked.ejector.read()
    # The starting draft of a die without an ejector; one that was typed stays.
    assert asked.outside.read() == 4.0
    write(asked.parting.line, "-30")
    asked.setCurrentIndex(1)
    write(asked.pierced.line, "50")
    QTest.mouseClick(window.run, Qt.MouseButton.LeftButton)
    done(qtbot, window)
    found = window.found
    assert found is not None
    assert found.parting_mm[0] == pytest.approx(-30.0, abs=1e-4)
    assert "dies meet at z -30.00 mm as asked" in window.head.text().replace("\N{MINUS SIGN}", "-")
    assert f"hub pierced 50.00 wide: slug {found.forged.slug_kg:.2f} kg" in window.head.text()
    asked.setCurrentIndex(0)
    asked.outside.line.selectAll()
    write(asked.outside.line, "3.5")
    QTest.mouseClick(box, Qt.MouseButton.LeftButton, pos=QPoint(8, box.height() // 2))
    assert asked.outside.read() == 3.5
    asked.parting.line.selectAll()
    write(asked.parting.line, "300")
    QTest.mouseClick(window.run, Qt.MouseButton.LeftButton)
    done(qtbot, window)
    assert "beyond the outboard end of the ring" in window.note.text()
    # What was found before stays, and is added with its slug.
    QTest.mouseClick(window.take, Qt.MouseButton.LeftButton)
    (blank,) = (b for b in window._document.project.blanks if b.name.startswith("Blank of"))
    assert blank.slug_kg == found.forged.slug_kg
    assert min(corner.r for corner in blank.corners) == pytest.approx(25.0)


def test_one_end_of_a_window_alone_is_said(window: BlankWindow) -> None:
    window.asked.setCurrentIndex(1)
    write(window.asked.inset_low.line, "30")
    QTest.mouseClick(window.run, Qt.MouseButton.LeftButton)
    assert "belong together" in window.note.text()


def test_pages_and_drawing_are_saved(
    window: BlankWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("pages.pdf", "outline.dxf"):
        out = tmp_path / name
        monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args, out=out, **_more: (str(out), ""))
        QTest.mouseClick(window.save, Qt.MouseButton.LeftButton)
        assert out.stat().st_size > 2000
        assert name in window.note.text()


def test_tools_of_a_blank_are_chosen_and_say_limit_by_limit(window: BlankWindow) -> None:
    tools = window.results.tools
    assert "outline to draw" in tools.said.text()
    names = [tools.choice.itemText(k) for k in range(tools.choice.count())]
    owner = next(b for b in group().blanks if b.variant_of is None)
    tools.choice.setFocus()
    for _ in range(names.index(owner.name)):
        QTest.keyClick(tools.choice, Qt.Key.Key_Down)
    assert tools.choice.currentText() == owner.name
    assert window.found is not None
    found = against_tools(
        window.found.path, window.found.mass_kg, ForgingSettings(), group().materials[0].density_kg_m3, owner
    )
    for check in found.checks:
        assert check.what in tools.said.text()
    # More metal is charged than the usable outline holds: what may be missing is added.
    charge = next(c.value for c in found.checks if c.what == "charge")
    assert charge > window.found.mass_kg
    assert owner.tools is None
    assert "limits are still asked" in tools.said.text() or "cannot be made" in tools.said.text()


def test_a_bar_for_each_wheel_and_money_beside_the_kilograms(window: BlankWindow) -> None:
    assert window.found is not None
    assert [bar.words for bar in window.bars.bars] == [
        f"{k}  {name}" for k, name in enumerate(window.ticked(), start=1)
    ]
    for bar, wheel in zip(window.bars.bars, window.found.wheels, strict=True):
        assert bar.blank_kg == pytest.approx(wheel.mass_kg + wheel.chips_kg)
    # A bar's full part is as long as the wheel's share of the blank.
    box, image = window.bars.bar_rect(0), window.bars.grab().toImage()
    first, ratio = window.bars.bars[0], image.devicePixelRatio()
    edge = box.left() + box.width() * first.wheel_kg / first.blank_kg
    middle = box.center().y()
    seen = [image.pixelColor(int(x * ratio), int(middle * ratio)) for x in (edge - 4.0, edge + 4.0)]
    assert seen[0] == wheel_colour(0)
    assert seen[1] != seen[0]
    ladder = window.results.ladder
    last = [ladder.item(ladder.rowCount() - 1, k) for k in range(4)]
    assert all(item is not None and item.text() for item in last)


def test_a_line_of_the_ladder_shows_where_its_metal_lies_and_who_asks_for_it(window: BlankWindow) -> None:
    assert window.found is not None
    ladder, picture = window.results.ladder, window.picture
    rungs = window.found.rungs
    row = next(k for k, rung in enumerate(rungs) if rung.words.startswith("stock"))
    (part, *_) = sorted(rungs[row].parts, key=lambda p: -p.area)
    inside = part.representative_point()
    at = picture.to_pixels(window.found).map(QPointF(inside.x, inside.y))

    def seen() -> QColor:
        image = picture.grab().toImage()
        ratio = image.devicePixelRatio()
        return image.pixelColor(int(at.x() * ratio), int(at.y() * ratio))

    before = seen()
    item = ladder.item(row, 0)
    assert item is not None
    cell = ladder.visualItemRect(item).center()
    QTest.mouseClick(ladder.viewport(), Qt.MouseButton.LeftButton, pos=cell)
    assert picture.rung is rungs[row]
    assert seen() != before
    added = rungs[row].mass_kg - rungs[row - 1].mass_kg
    assert f"{rungs[row].words}: +{added:.2f} kg" in picture.toolTip()
    asked = [k for k, kg in enumerate(rungs[row].wheels_kg) if kg >= 0.005]
    for k in asked:
        assert f"{k + 1} {window.found.wheels[k].name}" in picture.toolTip()
    # The arrow keys lead on; a second click shows the blank alone again.
    QTest.keyClick(ladder, Qt.Key.Key_Down)
    assert picture.rung is rungs[row + 1]
    QTest.keyClick(ladder, Qt.Key.Key_Up)
    QTest.mouseClick(ladder.viewport(), Qt.MouseButton.LeftButton, pos=cell)
    assert picture.rung is None
    assert seen() == before


def test_the_picture_is_zoomed_and_dragged(window: BlankWindow) -> None:
    assert window.found is not None
    picture, at = window.picture, QPoint(150, 120)

    def place() -> tuple[float, float]:
        assert window.found is not None
        mapped = picture.to_pixels(window.found).inverted()[0].map(QPointF(at))
        return mapped.x(), mapped.y()

    before = place()
    for _ in range(3):
        QTest.keyClick(picture, Qt.Key.Key_Plus)
    assert picture.zoom == pytest.approx(1.25**3)
    zoomed = place()
    QTest.mousePress(picture, Qt.MouseButton.LeftButton, pos=at)
    QTest.mouseMove(picture, at + QPoint(40, 10))
    QTest.mouseRelease(picture, Qt.MouseButton.LeftButton, pos=at + QPoint(40, 10))
    scale = picture.to_pixels(window.found).m11()
    assert zoomed[0] - place()[0] == pytest.approx(40.0 / scale)
    QTest.mouseDClick(picture, Qt.MouseButton.LeftButton, pos=at)
    assert place() == pytest.approx(before)


def tooled(tools: ToolLimits) -> Project:
    """Return the group's project with tools whose own blank is the one that is found, to be drawn."""
    project = group()
    found = composite(project, [w.name for w in project.wheels])
    owner = as_variant(as_forged(found, "tools", ForgingSettings()), found, ForgingSettings(), BARE)
    return replace(project, blanks=(replace(owner, variant_of=None, tools=tools),))


WIDE = ToolLimits(20.0, 120.0, -20.0, 20.0, 5.0, 90.0, inserts=True)
BARE = Blank("bare", ())


@pytest.mark.parametrize("given", [True, False])
def test_within_the_limits_it_may_be_added_as_a_variant_that_holds_its_wheels(
    person: Person, qtbot: QtBot, given: bool
) -> None:
    document = person.window.document
    document.start(tooled(WIDE if given else ToolLimits()))
    QTest.keyClick(person.window, Qt.Key.Key_B, Qt.KeyboardModifier.ControlModifier)
    found = next(w for w in QApplication.topLevelWidgets() if isinstance(w, BlankWindow) and w.isVisible())
    qtbot.waitUntil(lambda: found.found is not None, timeout=60_000)
    assert not found.variant.isEnabled()
    found.results.pages.setCurrentWidget(found.results.tools)
    found.results.tools.choice.setFocus()
    QTest.keyClick(found.results.tools.choice, Qt.Key.Key_Down)
    check = found.results.tools.check
    assert check is not None
    # Limits that the forge has not given are asked: then it is not offered.
    assert found.variant.isEnabled() is given
    if given:
        for box in (found.variant, found.cut):
            QTest.mouseClick(box, Qt.MouseButton.LeftButton, pos=QPoint(8, box.height() // 2))
        QTest.mouseClick(found.take, Qt.MouseButton.LeftButton)
        made = document.project.blanks[-1]
        assert made.variant_of == "tools"
        assert made.tolerances == document.project.blanks[0].tolerances
        judged = variant_check(document.project, made.name, group().materials[0].density_kg_m3)
        assert judged is not None
        assert [c.answer for c in judged.checks] == [c.answer for c in check.checks]
        for wheel in document.project.wheels:
            measured = measure_wheel(document.project, wheel).measurements
            assert measured is not None
            assert min(row.spare_mm for row in measured.stock if row.spare_mm is not None) > -0.1
    found.close()

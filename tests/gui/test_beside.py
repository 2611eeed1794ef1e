"""Windows that stand beside the drawing, also closed ones, follow its unit and its colours."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from app.studies.sweep import Over, Sweep, SweepPoint
from app.views.sweep_chart import SweepChart
from app.views.theme import Theme
from app.window.blank_window import BlankWindow
from app.window.dialogs.typed_fields import NumberField, length
from tests.gui.conftest import Person, write
from tests.gui.test_closing import opened

INCH_MM = 25.4


def lengths(window: QWidget) -> list[NumberField]:
    return [f for f in window.findChildren(NumberField) if f.kind.unit in ("mm", "in")]


@pytest.mark.parametrize("action", ["face", "first_off", "versions", "stages", "group_blank"])
def test_fields_follow_the_unit_of_the_project(person: Person, action: str) -> None:
    window = opened(person, action)
    fields = lengths(window)
    assert fields
    before = [(field.read(), field.line.text()) for field in fields]
    assert any(value for value, _ in before)
    person.do("inch")
    for field, (value, text) in zip(fields, before, strict=True):
        assert field.kind.unit == "in"
        assert field.read() == value  # to the last bit, though fewer digits are shown
        if value:
            assert float(field.line.text()) == pytest.approx(float(text) / INCH_MM, abs=6e-4)
    window.close()
    person.do("inch")
    assert [(field.read(), field.line.text()) for field in fields] == before


def test_what_was_typed_and_cannot_be_read_stays(person: Person) -> None:
    field = lengths(opened(person, "first_off"))[0]
    field.line.selectAll()
    write(field.line, "12,5 furlongs")
    person.do("inch")
    assert field.line.text() == "12,5 furlongs"
    assert not field.check()
    field.line.selectAll()
    write(field.line, "0.5")
    assert field.read() == pytest.approx(12.7)


def test_no_number_changes_its_meaning_with_the_unit(qtbot: QtBot) -> None:
    """Neither one that its limits refuse, nor one typed anew that looks as the field did before."""
    field = NumberField(length("in"), None, optional=True, least=0.0, most=50.0)
    qtbot.addWidget(field)
    write(field.line, "3")
    assert not field.check()
    field.show_in(length("mm"))
    assert field.line.text() == "76.2"
    assert not field.check()
    assert "50 mm" in field.message.text()
    given = NumberField(length("mm"), 10.0)
    qtbot.addWidget(given)
    for text in ("ten", "10"):
        given.line.selectAll()
        write(given.line, text)
        given.show_in(length("in"))
    assert given.read() == pytest.approx(10.0 * INCH_MM)
    typed = NumberField(length("mm"), 1.0)
    qtbot.addWidget(typed)
    typed.line.selectAll()
    write(typed.line, "10.001")
    typed.show_in(length("in"))
    assert typed.read() == 10.001


def test_a_curve_of_spare_gaps_is_in_the_unit_of_the_project() -> None:
    points = tuple(
        SweepPoint(value, least_mm=spare + 3.0, spare_mm=spare, shape="caliper", zone="barrel")
        for value, spare in ((25.4, -1.27), (38.1, 2.54))
    )
    chart = SweepChart(Theme())
    chart.resize(360, 150)
    chart.show_sweep(Sweep(Over.INSET, points, points[1], True), 25.4, "in")
    assert chart.best_words() == "best 1.5: 0.100"
    assert chart.words(points[0]).startswith("inset 1.00: −0.050 to spare, barrel to caliper")
    in_inches = [chart.place(p) for p in points]
    chart.show_sweep(Sweep(Over.INSET, points, points[1], True), 25.4)
    assert chart.best_words() == "best 38.1: 2.54"
    assert [chart.place(p).x() for p in points] == [p.x() for p in in_inches]
    chart.show_sweep(Sweep(Over.WIDTH, points, points[1], True), 25.4, "in")  # by size code
    assert chart.words(points[0]).startswith("width 25.4: −0.050")


def test_swatches_of_a_groups_wheels_follow_the_theme(person: Person) -> None:
    first = person.project.wheels[0]
    second = replace(first, name="Second", inset_mm=first.inset_mm + 1.0)
    person.window.document.commit(replace(person.project, wheels=(first, second)), "Another")
    window = opened(person, "group_blank")
    assert isinstance(window, BlankWindow)
    table = window.results.wheels
    person.qtbot.waitUntil(lambda: not window.jobs.is_busy and table.rowCount() == 2, timeout=20_000)

    def swatches() -> list[int]:
        cells = [table.model().index(row, 0) for row in range(2)]
        return [cell.data(Qt.ItemDataRole.DecorationRole).toImage().pixel(5, 5) for cell in cells]

    light = swatches()
    person.do("dark")
    QApplication.processEvents()
    dark = swatches()
    assert all(a != b for a, b in zip(light, dark, strict=True))
    person.do("dark")
    assert swatches() == light

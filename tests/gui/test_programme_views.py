"""Words, tables and pictures of the die programme by themselves."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QGuiApplication, QImage
from PySide6.QtTest import QTest

from app.project.programme import Programme
from app.project.project import Fitment, Project
from app.studies.programme.inputs import Kind, Mode, Option, Row
from app.studies.programme.inputs import Programme as Asked
from app.studies.programme.solve import solve
from app.studies.programme.worth import cost_curve, die_worths
from app.studies.roadmap.coverage import Coverage, CoverCell, CoverRow
from app.studies.roadmap.need import NeedWheel
from app.studies.roadmap.plan import wants
from app.studies.roadmap.plan_words import latest_words
from app.views.cash_chart import CashBars
from app.views.coverage_map import CoverageMap
from app.views.coverage_rows import map_rows
from app.views.family_picture import FamilyPicture, members
from app.views.money_chart import round_numbers
from app.views.plain_table import PlainTable
from app.views.programme_charts import CostCurve, WorthBars
from app.views.programme_words import money
from app.views.theme import Theme
from geometry.readings.rules import State
from geometry.shape.blank import Blank
from geometry.shape.outline import Corner

pytestmark = pytest.mark.usefixtures("solved_here")


@pytest.mark.parametrize(
    ("latest", "words"),
    [
        (2028.25, "March 2028"),  # as the plan's own docstring says
        (2028.0, "December 2027"),
        (2028.0 - 40.0 / 52.0, "February 2027"),  # day 85 of 2027 is 26 March
        (2027.999, "November 2027"),
    ],
)
def test_an_order_is_due_at_the_end_of_a_month_that_is_never_late(latest: float, words: str) -> None:
    assert latest_words(latest) == words


def test_money_is_read_in_three_figures_or_whole() -> None:
    assert money(3_429_191.9, "EUR") == "3.43 million EUR"
    assert money(88_400.4) == "88,400"
    assert money(-1_250_000.0) == "-1.25 million"
    assert money(-0.2) == "0"
    assert money(float("nan"), "EUR") == "–"


def test_round_numbers_step_by_1_2_or_5() -> None:
    assert list(round_numbers(0.0, 3.5e6, 5)) == [0.0, 1e6, 2e6, 3e6]
    assert list(round_numbers(-700.0, 700.0, 4)) == [-500.0, 0.0, 500.0]


def test_tables_sort_numbers_by_value_and_copy_what_is_chosen(qtbot: Any) -> None:
    table = PlainTable("Sums")
    qtbot.addWidget(table)
    table.show_rows(("Die", "paid once", "never"), (("A", 9000.0, ""), ("B", 38000.0, ""), ("C", None, "")))
    table.show()
    table.sortItems(1, Qt.SortOrder.AscendingOrder)
    names = [item.text() for k in range(3) if (item := table.item(k, 0)) is not None]
    assert names == ["A", "B", "C"]
    assert table.isColumnHidden(2)
    table.selectRow(1)
    table.setFocus()
    QTest.keyClick(table, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    assert QGuiApplication.clipboard().text() == "Die\tpaid once\nB\t38,000\n"
    table.show_rows(("Die", "paid once"), (("=1+1", -500.0),))
    table.selectRow(0)
    QTest.keyClick(table, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    assert QGuiApplication.clipboard().text().splitlines()[1] == "'=1+1\t-500"


# A map wider and higher than its window


def wide() -> tuple[Project, Coverage]:
    corners = tuple(Corner(z, r) for z, r in ((0.0, 0.0), (20.0, 0.0), (20.0, 100.0), (0.0, 100.0)))
    blanks = tuple(Blank(f"B{k}", corners) for k in range(30))
    fitments = tuple(Fitment(f"R-{k}", must=True) for k in range(60))
    rows = []
    for f in fitments:
        need = NeedWheel(None, (), ("The inset is not known: give one or a window.",), ())
        cells = tuple(
            CoverCell(f.name, b.name, False, State.NOT_KNOWN, need.unknown[0], None, None, True, (), True)
            for b in blanks
        )
        rows.append(CoverRow(f.name, False, need, None, cells))
    project = Project("wide", blanks=blanks, fitments=fitments)
    return project, Coverage(tuple(b.name for b in blanks), tuple(rows))


def test_keys_bring_far_cells_into_sight_and_the_heads_stay(qtbot: Any) -> None:
    project, found = wide()
    shown = CoverageMap(Theme())
    qtbot.addWidget(shown)
    shown.resize(600, 400)
    shown.show_rows(project, found.blanks, map_rows(project, found))
    shown.show()
    for key in (Qt.Key.Key_End, Qt.Key.Key_PageDown, Qt.Key.Key_PageDown, Qt.Key.Key_Down):
        QTest.keyClick(shown, key)
    assert shown.current == (21, 29)
    box = shown.cell_rect(21, 29)
    view = shown.viewport().rect()
    assert QRect(view).contains(box.toRect().adjusted(1, 1, -2, -2))
    assert shown.words(21, 29).startswith("R-21 in B29: ? not known, The inset is not known")
    for _ in range(3):
        QTest.keyClick(shown, Qt.Key.Key_PageUp)
    QTest.keyClick(shown, Qt.Key.Key_Home)
    assert shown.current == (0, 0)
    # The first cell lies behind neither head.
    first = shown.cell_rect(0, 0)
    QTest.mouseClick(shown.viewport(), Qt.MouseButton.LeftButton, pos=first.center().toPoint())
    assert shown.current == (0, 0)
    assert first.top() > 0.0
    assert first.left() > 0.0


# Pictures


def asked() -> Asked:
    """Two dies: A serves both rows dearly, B serves the second cheaply; by hand below."""
    rows = (
        Row("R-1", {2027: 100.0}, (Mode({"A": 10.0}, 50.0),)),
        Row("R-2", {2028: 100.0}, (Mode({"A": 10.0, "B": 0.0}, 50.0),)),
    )
    options = (Option("A", Kind.OWN_DIE, 20.0, fixed=1000.0), Option("B", Kind.OWN_DIE, 5.0, fixed=1500.0))
    return Asked(rows, options)


def test_the_curve_and_the_worths_are_those_done_by_hand(qtbot: Any) -> None:
    programme = asked()
    plan = solve(programme)
    # A alone: 1000 + 200 x 30 = 7000. A and B: 2500 + 100 x 30 + 100 x 5 = 6000.
    assert plan.cost == pytest.approx(6000.0)
    curve, worths = CostCurve(Theme()), WorthBars(Theme())
    for widget in (curve, worths):
        qtbot.addWidget(widget)
        widget.resize(400, 260)
        widget.show()
    curve.show_curve(cost_curve(programme), plan, "EUR")
    assert curve.words() == "0 at most: no plan\n1 at most: 7,000 EUR\n2 at most: 6,000 EUR"
    assert curve.chosen == 2
    assert curve.place(1, 7000.0).y() < curve.place(2, 6000.0).y()
    worths.show_worths(die_worths(programme, plan), "EUR")
    said = {w.option: worths.words(w) for w in worths.worths}
    assert said == {"A": "A: nothing would serve the must row R-1", "B": "B: 1,000 EUR"}


def test_cash_so_far_is_the_running_sum(qtbot: Any) -> None:
    shown = CashBars(Theme())
    qtbot.addWidget(shown)
    shown.resize(500, 300)
    shown.show()
    shown.show_plan(solve(asked()), (("A", 2026.5), ("B", 2026.55)), "EUR")
    # 2027: 5000 - 1000 - 3000; 2028: 5000 - 1500 - 500.
    assert shown.so_far() == pytest.approx([1000.0, 4000.0])
    assert shown.x_of(2026.5) > 0.0
    assert "order B by the end of June 2026" in shown.words()


@pytest.mark.parametrize("dark", [False, True])
def test_pictures_are_drawn_in_both_themes_and_say_so_when_empty(qtbot: Any, dark: bool) -> None:
    theme, programme = Theme(dark), asked()
    plan = solve(programme)
    cash, curve, worths, family = CashBars(theme), CostCurve(theme), WorthBars(theme), FamilyPicture(theme)
    project, _ = wide()

    def fill() -> None:
        cash.show_plan(plan, (("A", 2026.5),), "")
        curve.show_curve(cost_curve(programme), plan, "")
        worths.show_worths(die_worths(programme, plan), "")
        family.show_family(project, ["B0", "B1", "no such blank"])

    for widget in (cash, curve, worths, family):
        qtbot.addWidget(widget)
        widget.resize(480, 300)
    empty = [inked(w.grab().toImage(), theme) for w in (cash, curve, worths, family)]
    fill()
    filled = [inked(w.grab().toImage(), theme) for w in (cash, curve, worths, family)]
    assert all(n > 0 for n in empty)
    assert all(n > e for n, e in zip(filled, empty, strict=True))
    assert len(members(project, ["B0", "no such blank"])) == 1


def inked(picture: QImage, theme: Theme) -> int:
    """Return how many pixels, of each fourth, are not paper."""
    paper = theme.colour("paper").rgb()
    return sum(
        picture.pixel(x, y) != paper
        for x in range(0, picture.width(), 2)
        for y in range(0, picture.height(), 2)
    )


def test_a_row_of_which_nobody_said_whether_it_must_is_no_want_row() -> None:
    fitments = (Fitment("R-1", must=None), Fitment("R-2", must=False), Fitment("R-3", must=True))
    project = Project("p", fitments=fitments)
    assert wants(project) == {"R-2"}
    assert wants(replace(project, programme=Programme(may_refuse=False))) == frozenset()

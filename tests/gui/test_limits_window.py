"""The limits of a blank, driven by mouse and keys."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdf
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox, QFileDialog, QLineEdit

from app.studies.fit import measure_wheel
from app.studies.limits import drawn, limits
from app.studies.limits_against import against
from app.studies.limits_table import as_csv
from app.window import limits_work
from app.window.limits_window import LimitsWindow
from app.window.main_window import MainWindow
from app.window.settings import Settings
from geometry.shape.blank import PriceStep, Supply, ToolLimits
from tests.gui.conftest import write
from tests.support import example
from tests.support.kept import Kept

READ = Kept(limits)


@pytest.fixture(autouse=True)
def read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits_work, "limits", READ)


@pytest.fixture
def opened(qtbot: Any, tmp_path: Path) -> tuple[MainWindow, LimitsWindow]:
    window = MainWindow(Settings(tmp_path / "window.ini"), tmp_path / "state")
    qtbot.addWidget(window)
    window.show()
    window.document.start(example.roomy()[0])
    window.document.undo_stack.setClean()
    window.actions_by_name["limits"].trigger()
    found = window.beside.limits
    assert found is not None
    typed(found.widths, "9, 9.5, 10")
    typed(found.insets, "25:45:10")
    QTest.keyClick(found.insets, Qt.Key.Key_Return)
    assert found.jobs.is_busy
    wait(qtbot, found)
    assert found.found is not None
    assert found.found.widths == (9.0, 9.5, 10.0)
    return window, found


def again(qtbot: Any, found: LimitsWindow) -> None:
    QTest.mouseClick(found.run, Qt.MouseButton.LeftButton)
    assert found.jobs.is_busy
    wait(qtbot, found)


def wait(qtbot: Any, found: LimitsWindow) -> None:
    qtbot.waitUntil(lambda: not found.jobs.is_busy, timeout=60_000)


def typed(field: QLineEdit, text: str) -> None:
    field.selectAll()
    write(field, text)
    assert field.text() == text


def test_the_map_is_the_study_and_starts_at_the_wheel(opened: tuple[MainWindow, LimitsWindow]) -> None:
    window, found = opened
    study = limits(window.document.project, example.WHEEL, widths=[9, 9.5, 10], insets=[25, 35, 45])
    assert found.found == study
    wheel = window.document.project.wheels[0]
    cell = found.map.cell()
    assert cell is not None
    assert cell.width_code == wheel.size.width_code
    assert abs(cell.inset_mm - wheel.inset_mm) <= 5.0
    assert f"{sum(c.word == 'cuttable' for c in study.cells)} cuttable" in found.note.text()


def test_arrows_and_the_mouse_choose_and_the_line_below_says_it(
    opened: tuple[MainWindow, LimitsWindow],
) -> None:
    _, found = opened
    assert found.found is not None
    found.map.setFocus()
    for key in (Qt.Key.Key_Home, Qt.Key.Key_Up, Qt.Key.Key_Up, Qt.Key.Key_Up, Qt.Key.Key_Right):
        QTest.keyClick(found.map, key)
    assert found.map.current == (0, 1)
    cell = found.map.cell()
    assert cell is found.found.rows[0].cells[1]
    for words in ("Width 9, ET 35", cell.word, cell.zone, cell.side):
        assert words in found.chosen.text()
    place = found.map.cell_rect(2, 0).center().toPoint()
    QTest.mouseClick(found.map, Qt.MouseButton.LeftButton, pos=place)
    assert found.map.current == (2, 0)
    assert "Width 10, ET 25" in found.chosen.text()


def test_windows_stand_where_their_insets_stand(opened: tuple[MainWindow, LimitsWindow]) -> None:
    _, found = opened
    columns = [found.map.cell_rect(0, k).center().x() for k in range(3)]
    assert [found.map.x_of(inset) for inset in (25.0, 35.0, 45.0)] == pytest.approx(columns)
    assert found.map.x_of(30.0) == pytest.approx((columns[0] + columns[1]) / 2.0)


@pytest.mark.parametrize("way", ["key", "mouse", "button"])
def test_a_cell_opens_as_a_new_version_in_one_step_with_the_same_stock(
    opened: tuple[MainWindow, LimitsWindow], way: str
) -> None:
    window, found = opened
    assert found.found is not None
    before = window.document.project
    cell = found.found.rows[1].cells[1]
    place = found.map.cell_rect(1, 1).center().toPoint()
    QTest.mouseClick(found.map, Qt.MouseButton.LeftButton, pos=place)
    if way == "key":
        found.map.setFocus()
        QTest.keyClick(found.map, Qt.Key.Key_Return)
    elif way == "mouse":
        QTest.mouseDClick(found.map, Qt.MouseButton.LeftButton, pos=place)
    else:
        QTest.mouseClick(found.take, Qt.MouseButton.LeftButton)
    made = window.document.wheel
    assert made is not None
    assert made.name == f"{example.WHEEL}, 9.5 x ET 35"
    assert (made.size.width_code, made.inset_mm, made.blank) == (9.5, 35.0, "roomy")
    assert made.vertices == drawn(before.wheels[0], 9.5, 35.0).vertices
    measured = measure_wheel(window.document.project, replace(made, spacer_mm=0.0)).measurements
    assert measured is not None
    spares = [row.spare_mm for row in measured.stock if row.spare_mm is not None]
    assert min(spares) == pytest.approx(cell.spare_mm, abs=1e-6)
    window.document.undo()
    assert window.document.project == before
    window.document.undo_stack.setClean()


def test_a_changed_wheel_makes_it_stale_and_opens_nothing(
    opened: tuple[MainWindow, LimitsWindow], qtbot: Any
) -> None:
    window, found = opened
    project = window.document.project
    moved = replace(project.wheels[0], seat_mm=1.0)
    window.document.commit(replace(project, wheels=(moved,)), "Seat")
    assert "read again" in found.note.text()
    assert not found.take.isEnabled()
    found.map.setFocus()
    QTest.keyClick(found.map, Qt.Key.Key_Return)
    assert len(window.document.project.wheels) == 1
    found.keep_seat.setFocus()
    QTest.keyClick(found.keep_seat, Qt.Key.Key_Space)
    assert found.keep_seat.isChecked()
    again(qtbot, found)
    assert found.found is not None
    assert found.found.datum_mm == 1.0
    assert "read again" not in found.note.text()
    window.document.undo_stack.setClean()


def test_what_cannot_be_read_is_said_beside_the_button(opened: tuple[MainWindow, LimitsWindow]) -> None:
    _, found = opened
    before = found.found
    typed(found.widths, "wide")
    QTest.keyClick(found.widths, Qt.Key.Key_Return)
    assert "Widths 'wide'" in found.note.text()
    assert found.found is before


def test_it_is_stopped_by_its_button(opened: tuple[MainWindow, LimitsWindow], qtbot: Any) -> None:
    _, found = opened
    typed(found.widths, "7:13:0.5")
    typed(found.insets, "20:60:1")
    QTest.mouseClick(found.run, Qt.MouseButton.LeftButton)
    assert found.jobs.is_busy
    QTest.mouseClick(found.run, Qt.MouseButton.LeftButton)
    wait(qtbot, found)
    assert found.found is not None
    assert not found.found.is_whole
    assert "stopped: " in found.note.text()


def test_it_is_saved_as_a_table(
    opened: tuple[MainWindow, LimitsWindow], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, found = opened
    assert found.found is not None
    out = tmp_path / "limits.csv"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *args, **how: (str(out), ""))
    QTest.mouseClick(found.save, Qt.MouseButton.LeftButton)
    assert out.read_text("utf-8") == as_csv(found.found)


def chosen(box: QComboBox, text: str) -> None:
    """Choose an entry with the keys, as a person would."""
    box.setFocus()
    QTest.keyClick(box, Qt.Key.Key_Home)
    for _ in range(box.findText(text) - box.currentIndex()):
        QTest.keyClick(box, Qt.Key.Key_Down)
    assert box.currentText() == text


def test_absurd_sizes_are_refused_beside_the_button(
    opened: tuple[MainWindow, LimitsWindow], qtbot: Any
) -> None:
    _, found = opened
    before = found.found
    for field, text, words in (
        (found.widths, "90", "leave 90 out"),
        (found.insets, "400", "outside the flanges"),
    ):
        kept = field.text()
        typed(field, text)
        QTest.keyClick(field, Qt.Key.Key_Return)
        wait(qtbot, found)
        assert words in found.note.text()
        assert found.found is before
        typed(field, kept)


def test_the_head_says_what_the_tools_of_a_variant_make(
    opened: tuple[MainWindow, LimitsWindow], qtbot: Any
) -> None:
    window, found = opened
    project = window.document.project
    roomy = next(b for b in project.blanks if b.name == "roomy")
    dies = replace(roomy, name="dies", variant_of=None, tools=ToolLimits(charge_low_kg=900.0))
    blanks = (*(replace(b, variant_of="dies") if b.name == "roomy" else b for b in project.blanks), dies)
    window.document.commit(replace(project, blanks=blanks), "A variant")
    again(qtbot, found)
    assert "roomy cannot be made with the tools of dies" in found.head.text()
    assert "charge" in found.head.text()
    window.document.undo()
    again(qtbot, found)
    assert "tools of dies" not in found.head.text()
    window.document.undo_stack.setClean()


def money_lines(found: LimitsWindow) -> list[list[str]]:
    """Return the money table as it is read: what, first blank, second blank."""
    table = found.pair.money
    cells = [[table.item(row, k) for k in range(3)] for row in range(table.rowCount())]
    return [["" if cell is None else cell.text() for cell in row] for row in cells]


class TestTwoBlanks:
    @pytest.fixture
    def both(self, opened: tuple[MainWindow, LimitsWindow], qtbot: Any) -> tuple[MainWindow, LimitsWindow]:
        window, found = opened
        assert not found.pair.maps[1].isVisible()
        chosen(found.second, example.BLANK)
        wait(qtbot, found)
        assert found.held is not None
        return window, found

    def test_both_maps_and_what_is_given_up_stand_there(self, both: tuple[MainWindow, LimitsWindow]) -> None:
        window, found = both
        assert found.held is not None
        project = window.document.project
        sizes: dict[str, Any] = {"widths": [9, 9.5, 10], "insets": [25, 35, 45]}
        first = limits(project, example.WHEEL, "roomy", **sizes)
        second = limits(project, example.WHEEL, example.BLANK, **sizes)
        study = against(project, first, second)
        assert found.held == study
        assert found.pair.maps[1].isVisible()
        assert found.pair.maps[1].found == second
        table = found.pair.sides
        assert table.rowCount() == len(study.sides) > 3
        side = study.sides[0]
        items = [table.item(0, k) for k in range(4)]
        texts = [item.text() for item in items if item is not None]
        assert texts[0] == f"{side.zone}, {side.side} side"
        assert [float(t.replace("\u2212", "-")) for t in texts[1:]] == pytest.approx(
            [side.first_mm, side.second_mm, side.gives_up_mm], abs=0.051
        )
        assert f"{len(study.only_first)} cell" in found.pair.given_up.text()
        assert "cut from this blank alone" in found.legend.text()

    def test_both_maps_zoom_together_and_a_cell_is_still_chosen_where_it_is_seen(
        self, both: tuple[MainWindow, LimitsWindow]
    ) -> None:
        _, found = both
        first, second = found.pair.maps
        before = first.cell_rect(1, 1)
        QTest.keyClick(first, Qt.Key.Key_Plus)
        QTest.keyClick(first, Qt.Key.Key_Plus)
        assert (first.zoom, second.zoom) == (1.25**2, 1.25**2)
        assert first.cell_rect(1, 1).height() == pytest.approx(1.25**2 * before.height())
        assert second.minimumHeight() == second.sizeHint().height()
        at = first.cell_rect(2, 0).center().toPoint()
        QTest.mouseClick(first, Qt.MouseButton.LeftButton, pos=at)
        assert first.current == second.current == (2, 0)
        QTest.keyClick(first, Qt.Key.Key_0)
        assert first.cell_rect(1, 1) == before

    def test_a_cell_chosen_in_one_is_chosen_in_the_other_and_opens_in_its_own_blank(
        self, both: tuple[MainWindow, LimitsWindow]
    ) -> None:
        window, found = both
        lower = found.pair.maps[1]
        place = lower.cell_rect(2, 1).center().toPoint()
        QTest.mouseClick(lower, Qt.MouseButton.LeftButton, pos=place)
        assert found.map.current == lower.current == (2, 1)
        lines = found.chosen.text().splitlines()
        assert [line.split(":")[0] for line in lines] == ["roomy", example.BLANK]
        assert found.held is not None
        cell = found.held.second.rows[2].cells[1]
        QTest.mouseClick(found.take, Qt.MouseButton.LeftButton)
        made = window.document.wheel
        assert made is not None
        assert (made.blank, made.seat_mm) == (example.BLANK, cell.seat_mm)
        window.document.undo()
        window.document.undo_stack.setClean()

    def test_the_money_table_reads_the_yearly_order_that_is_typed(
        self, opened: tuple[MainWindow, LimitsWindow], qtbot: Any
    ) -> None:
        window, found = opened
        project = window.document.project
        steps = (PriceStep(100, 430.0), PriceStep(500, 400.0))
        roomy = next(b for b in project.blanks if b.name == "roomy")
        bought = replace(roomy, supply=Supply.BOUGHT, price=470.0, price_steps=steps)
        priced = tuple(bought if b.name == "roomy" else b for b in project.blanks)
        window.document.commit(replace(project, blanks=priced), "Prices")
        chosen(found.second, example.BLANK)
        wait(qtbot, found)
        for typed_pieces, price in (("", 470.0), ("99", 470.0), ("100", 430.0), ("800", 400.0)):
            found.pieces.selectAll()
            QTest.keyClick(found.pieces, Qt.Key.Key_Delete)
            write(found.pieces, typed_pieces)
            QTest.keyClick(found.pieces, Qt.Key.Key_Return)
            wait(qtbot, found)
            lines = money_lines(found)
            (blank,) = (line for line in lines if line[0] == "blank")
            assert float(blank[1].replace(",", "")) == price
            # What is shown adds up, each line rounded to a hundredth.
            *parts, total = lines
            shown = sum(
                float(words.replace("\u2212", "-").replace(",", "")) for _, words, _ in parts if words
            )
            assert float(total[1].replace(",", "")) == pytest.approx(shown, abs=0.005 * len(lines))
        before = found.held
        for text in ("0", "many", "1.5"):
            typed(found.pieces, text)
            QTest.keyClick(found.pieces, Qt.Key.Key_Return)
            assert f"Pieces a year '{text}'" in found.note.text()
            assert found.held is before
        window.document.undo_stack.setClean()

    def test_none_takes_the_second_away(self, both: tuple[MainWindow, LimitsWindow], qtbot: Any) -> None:
        _, found = both
        chosen_first = found.found
        found.second.setFocus()
        QTest.keyClick(found.second, Qt.Key.Key_Home)
        wait(qtbot, found)
        assert found.held is None
        assert found.found == chosen_first
        assert not found.pair.maps[1].isVisible()
        assert not found.pair.sides.isVisible()

    def test_pages_and_table_hold_both(
        self,
        both: tuple[MainWindow, LimitsWindow],
        tmp_path: Path,
        monkeypatch: pytest.MonkeyPatch,
    ) -> None:
        _, found = both
        assert found.held is not None
        QTest.mouseClick(
            found.appendix, Qt.MouseButton.LeftButton, pos=QPoint(8, found.appendix.height() // 2)
        )
        assert found.appendix.isChecked()
        for name in ("both.csv", "both.pdf"):
            out = tmp_path / name
            monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *args, out=out, **how: (str(out), ""))
            QTest.mouseClick(found.save, Qt.MouseButton.LeftButton)
        rows = list(csv.DictReader((tmp_path / "both.csv").read_text("utf-8").splitlines()))
        assert len(rows) == 18
        assert {row["blank"] for row in rows} == {"roomy", example.BLANK}
        pages = pypdf.PdfReader(tmp_path / "both.pdf").pages
        text = "\n".join(page.extract_text() for page in pages)
        for words in (f"What {example.BLANK} gives up against roomy", "Insets that can be cut from roomy"):
            assert words in text

"""The strength window, driven by mouse and keys: cases and zones, what is missing, what has changed."""

from __future__ import annotations

import csv
import io
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from multiprocessing import active_children
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any, ClassVar

import openpyxl
import pypdf
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QFileDialog, QTableWidget

from app.project import edits
from app.project.caution import CAUTION
from app.project.project import Project
from app.project.strength import StrengthSettings
from app.reports.strength_words import Verdict
from app.session.child import Child
from app.session.jobs import Jobs
from app.studies.strength import run
from app.studies.strength.inputs import ready
from app.studies.strength.run import screen
from app.window import strength_study
from app.window.dialogs.strength_test import TestRecordDialog
from app.window.dialogs.wheel_details import WheelDetailsDialog
from app.window.strength_window import StrengthWindow
from geometry.shape.section import Zone
from geometry.strength.sizes import PREVIEW
from tests.gui.conftest import Person, write
from tests.support import example

LEFT = Qt.MouseButton.LeftButton
CASES = ("R124 bending", "R124 rolling", "13 degree impact")


class HereChild:
    """Works in the thread that asks, and keeps its answers from test to test; a test can hold one back."""

    gate = threading.Event()
    begun = threading.Event()
    kept: ClassVar[dict[str, Any]] = {}

    def ask(self, work: Callable[..., Any], project: Project, *args: Any, told: Any = None) -> Any:
        HereChild.begun.set()
        assert HereChild.gate.wait(60.0)
        key = repr((work.__name__, args, strength_study.inputs(project, args[0])))
        if key not in HereChild.kept:
            HereChild.kept[key] = work(project, *args, told)
        return HereChild.kept[key]

    def end(self) -> None:
        HereChild.gate.set()


@pytest.fixture(autouse=True, scope="module")
def coarser() -> Iterator[None]:
    """Screen on the preview's mesh and its half: the study has tests of its own."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(run, "STUDY", PREVIEW)
        yield


@pytest.fixture(autouse=True)
def here(monkeypatch: pytest.MonkeyPatch) -> Iterator[type[HereChild]]:
    monkeypatch.setattr(strength_study, "Child", HereChild)
    HereChild.gate.set()
    HereChild.begun.clear()
    yield HereChild
    HereChild.gate.set()


def project() -> Project:
    """Return the example with three cases, and a second version of its wheel with a lighter load."""
    made = replace(example.project(), strength=StrengthSettings(cases=CASES))
    other = replace(made.wheels[0], name="Passed", load_kg=600.0)
    return replace(made, wheels=(*made.wheels, other))


@pytest.fixture
def at_start(person: Person) -> Person:
    person.window.document.start(project())
    person.settle()
    return person


def opened(person: Person) -> StrengthWindow:
    """Open the window with its key."""
    person.key(Qt.Key.Key_H, Qt.KeyboardModifier.ControlModifier)
    found = person.window.beside.strength
    assert found is not None
    return found


def done(person: Person, found: StrengthWindow) -> None:
    def is_done() -> bool:
        return not found.study.is_busy and not found._again.isActive() and not found._waits()

    person.qtbot.waitUntil(is_done, timeout=120_000)
    person.settle()


@pytest.fixture
def window(at_start: Person) -> StrengthWindow:
    found = opened(at_start)
    done(at_start, found)
    return found


def click_cell(found: StrengthWindow, key: str, zone: Zone) -> None:
    """Click a cell of case x zone."""
    matrix = found.pages.matrix
    shown = found.shown
    assert shown is not None
    row = next(k for k in range(matrix.rowCount()) if matrix.verticalHeaderItem(k).text() == zone.value)
    column = [case.key for case in shown.found.cases].index(key)
    item = matrix.item(row, column)
    assert item is not None
    matrix.scrollToItem(item)
    QTest.mouseClick(matrix.viewport(), LEFT, pos=matrix.visualItemRect(item).center())


def chosen(box: QComboBox, text: str) -> None:
    """Choose an entry with the keys, as a person would."""
    box.setFocus()
    QTest.keyClick(box, Qt.Key.Key_Home)
    for _ in range(box.findText(text)):
        QTest.keyClick(box, Qt.Key.Key_Down)
    assert box.currentText() == text
    box.activated.emit(box.currentIndex())


def test_it_shows_what_the_study_finds_and_the_caution_stands(window: StrengthWindow) -> None:
    made = project()
    study = screen(made, made.wheels[0], made.strength)
    shown = window.shown
    assert shown is not None
    assert [z.use for z in shown.found.zones] == [z.use for z in study.zones]
    assert [c.key for c in shown.found.cases] == list(CASES)
    worst = study.worst()
    assert worst is not None
    assert worst.zone.value in window.head.text()
    labels = [label.text() for label in window.findChildren(type(window.note))]
    assert CAUTION in labels


def test_a_click_on_a_zone_marks_its_place(window: StrengthWindow) -> None:
    click_cell(window, "R124 rolling", Zone.INNER_LIP)
    shown = window.shown
    assert shown is not None
    picture = window.pictures[0]
    case = picture.case
    assert case is not None
    assert case.key == "R124 rolling"
    row = picture.row()
    assert row is not None
    assert row is shown.found.zone(case.name, Zone.INNER_LIP)
    assert f"chosen: inner lip {row.von_mises_mpa:.0f}" in picture.accessibleDescription().replace("≈ ", "")
    for words in ("inner lip", "UN R124 rolling", f"{row.von_mises_mpa:.1f} MPa"):
        assert words in window.pages.chosen.text()
    QTest.keyClick(window.pages.matrix, Qt.Key.Key_Left)
    assert picture.case is not None
    assert picture.case.key == "R124 bending"


def test_no_page_is_cut_and_each_says_what_it_is_of(at_start: Person, window: StrengthWindow) -> None:
    """Every tab by the mouse, at the size that the window opens with: no column lies out of sight."""
    chosen(window.beside, "Passed")
    done(at_start, window)
    click_cell(window, "R124 bending", Zone.WELL)
    tabs = window.pages.tabBar()
    seen = set()
    for k in range(window.pages.count()):
        QTest.mouseClick(tabs, LEFT, pos=tabs.tabRect(k).center())
        at_start.settle()
        page = window.pages.currentWidget()
        if page.isAncestorOf(window.pages.per_mm):
            assert window.pages.work_out.text().endswith("under R124 bending")
            QTest.mouseClick(window.pages.work_out, LEFT)
            done(at_start, window)
            assert "under UN R124 rotating bending:" in window.pages.worked_out.text()
        for table in page.findChildren(QTableWidget):
            if table.isVisible():
                assert table.horizontalScrollBar().maximum() == 0, table.accessibleName()
                seen.add(table.accessibleName())
    assert len(seen) == 13


def test_a_test_that_is_recorded_is_told_with_every_later_result(
    at_start: Person, window: StrengthWindow
) -> None:
    """Typed in its dialog while the window is open: told under the first line and below the list of tests."""
    assert "Recorded test" not in window.head.text()
    at_start.window.actions_by_name["new_test"].trigger()
    dialog = QApplication.activeModalWidget()
    assert isinstance(dialog, TestRecordDialog)
    for field, text in ((dialog.name, "Bench 7"), (dialog.load, "3252"), (dialog.cycles, "200000")):
        field.line.setFocus()
        field.line.selectAll()
        QTest.keyClicks(field.line, text)
    dialog.case.box.setFocus()
    QTest.keyClick(dialog.case.box, Qt.Key.Key_Down)
    QTest.keyClick(dialog, Qt.Key.Key_Return)
    assert [r.name for r in at_start.project.test_records] == ["Bench 7"]
    done(at_start, window)
    shown = window.shown
    assert shown is not None
    (found,) = shown.found.calibrations
    assert (
        f"Recorded test Bench 7: stress at most {found.factor:.2f} of the screened one" in window.head.text()
    )
    assert window.pages.plan.notes.text().startswith("Bench 7, family")
    assert "one sample passed 2.0e5 cycles" in window.pages.plan.notes.text()


def test_an_impact_that_failed_is_told_where_the_impact_is(at_start: Person, window: StrengthWindow) -> None:
    """Typed in its dialog, without a zone: no zone of its case says 'energy' alone any more."""
    click_cell(window, "13 degree impact", Zone.OUTER_LIP)
    assert window.pages.matrix.currentItem().text() == "energy"
    at_start.window.actions_by_name["new_test"].trigger()
    dialog = QApplication.activeModalWidget()
    assert isinstance(dialog, TestRecordDialog)
    dialog.name.line.setFocus()
    dialog.name.line.selectAll()
    QTest.keyClicks(dialog.name.line, "Drop 3")
    QTest.keyClicks(dialog.case.box, "13")
    assert dialog.case.read() == "13 degree impact"
    QTest.keyClick(dialog.outcome.box, Qt.Key.Key_Down)
    assert dialog.zone.isVisible()
    QTest.keyClick(dialog, Qt.Key.Key_Return)
    done(at_start, window)
    words = "Record Drop 3: a sample failed in 13 degree impact, and gives no factor"
    for zone in (Zone.OUTER_LIP, Zone.SHOULDER):
        click_cell(window, "13 degree impact", zone)
        assert window.pages.matrix.currentItem().text() == "? failed"
        assert "not known" in window.pages.chosen.text()
        assert words in window.pages.chosen.text()
    assert "failed on record, without a factor: Drop 3" in window.head.text()
    assert "Recorded test Drop 3: a sample failed and gives no factor" in window.head.text()
    assert window.pages.plan.notes.text().startswith(words)


def test_a_moment_is_not_broken_from_its_unit(at_start: Person, window: StrengthWindow) -> None:
    plan = window.pages.plan.table
    why = [plan.item(k, 2) for k in range(plan.rowCount())]
    assert any(item is not None and "N\u00a0m" in item.text() for item in why)
    assert not any(item is not None and " N m" in item.text() for item in why)


def test_what_a_test_does_not_exercise_is_no_strength(window: StrengthWindow) -> None:
    click_cell(window, "R124 bending", Zone.INNER_LIP)
    one = window.pages.matrix.cell()
    assert one is not None
    assert one.verdict is Verdict.NOT_EXERCISED
    assert one.use == "-"
    assert "not exercised by this test" in window.pages.chosen.text()
    click_cell(window, "13 degree impact", Zone.OUTER_LIP)
    assert "energy" in window.pages.chosen.text()
    assert window.pictures[0].worst() is None


def test_every_constant_stands_with_source_and_status(window: StrengthWindow) -> None:
    table = window.pages.constants.table
    heads = [table.horizontalHeaderItem(k).text().strip() for k in range(table.columnCount())]  # type: ignore[union-attr]
    assert heads == ["Case", "Constant", "Value", "Status", "Source"]
    rows = [[table.item(r, c).text().strip() for c in range(5)] for r in range(table.rowCount())]  # type: ignore[union-attr]
    assert ["R124 bending", "S", "2", "from memory", "UN R124, annex not read"] in rows
    assert ["R124 rolling", "S", "2.5"] in [r[:3] for r in rows]
    assert all(all(cell for cell in row) for row in rows)


def test_two_wheels_stand_side_by_side_and_the_second_is_kept_as_reference(
    at_start: Person, window: StrengthWindow
) -> None:
    person = at_start
    assert not window.pictures[1].isVisible()
    assert "Choose a wheel beside it" in window.pages.whole.notes.text()
    chosen(window.beside, "Passed")
    done(person, window)
    shown = window.shown
    assert shown is not None
    assert shown.against is not None
    # The same section under 600 kg in place of 690: stress of the linear cases goes as the load.
    mine = shown.found.zone("UN R124 rotating bending", Zone.WELL)
    other = shown.against.zone("UN R124 rotating bending", Zone.WELL)
    assert mine is not None
    assert other is not None
    assert mine.von_mises_mpa / other.von_mises_mpa == pytest.approx(690.0 / 600.0, rel=1e-6)
    lips = [window.pages.lips.table.item(r, c) for r in range(8) for c in range(7)]
    assert any(item is not None and "1.00 of the reference" in item.text() for item in lips)
    assert window.pictures[1].isVisible()
    assert window.pictures[0]._top == window.pictures[1]._top, "both on one scale"
    QTest.mouseClick(window.keep, LEFT)
    assert person.project.wheels[0].reference == "Passed"
    assert person.undo_text == "Reference wheel"
    done(person, window)
    assert window.shown is not None
    assert window.shown.against is not None
    assert not window.keep.isEnabled()


def test_a_change_while_the_study_runs_drops_its_result(at_start: Person, here: type[HereChild]) -> None:
    person = at_start
    here.gate.clear()
    found = opened(person)
    person.qtbot.waitUntil(lambda: here.begun.is_set(), timeout=30_000)
    assert found.run.text() == "&Stop"
    wheel = person.project.wheels[0]
    lighter = edits.replaced(person.project, edits.WHEEL, wheel.name, replace(wheel, load_kg=500.0))
    person.window.document.commit(lighter, "Lighter")
    person.settle()
    assert not found.study.is_screening, "what was under way is not wanted any more"
    here.gate.set()
    done(person, found)
    assert found.shown is not None
    assert found.shown.found.ready.load_kg == 500.0


def test_what_stands_there_is_marked_as_older_until_the_newer_comes(
    at_start: Person, window: StrengthWindow, here: type[HereChild]
) -> None:
    person = at_start
    here.gate.clear()
    wheel = person.project.wheels[0]
    lighter = edits.replaced(person.project, edits.WHEEL, wheel.name, replace(wheel, load_kg=500.0))
    person.window.document.commit(lighter, "Lighter")
    person.settle()
    assert window.note.text().startswith("updating")
    assert not window.pages.isEnabled()
    assert not window.save.isEnabled()
    here.gate.set()
    done(person, window)
    assert window.pages.isEnabled()
    assert window.note.text() == ""
    assert window.shown is not None
    assert window.shown.found.ready.load_kg == 500.0


def test_a_drag_waits_for_its_end(at_start: Person, window: StrengthWindow) -> None:
    person = at_start
    before = window.shown
    person.window.canvas.sheet.setFocus()
    at = person.drag(40, (46.8, 134.0))
    assert window.shown is before
    assert not window.study.is_busy
    person.release(at)
    assert window.note.text().startswith("updating")
    done(person, window)
    assert window.shown is not None
    assert before is not None
    assert window.shown.found is not before.found


def test_a_missing_load_says_where_it_is_named(at_start: Person) -> None:
    person = at_start
    wheel = person.project.wheels[0]
    bare = edits.replaced(person.project, edits.WHEEL, wheel.name, replace(wheel, load_kg=None))
    person.window.document.commit(bare, "No load")
    found = opened(person)
    done(person, found)
    assert "has no wheel load: name it in the wheel's details" in found.remedy.text()
    assert found.shown is None
    assert not found.save.isEnabled()
    QTest.mouseClick(found.details, LEFT)
    dialog = QApplication.activeModalWidget()
    assert isinstance(dialog, WheelDetailsDialog)
    dialog.name.line.selectAll()
    write(dialog.name.line, "Renamed")
    dialog.accept()
    # At once, while what is said is still of the name before.
    QTest.mouseClick(found.details, LEFT)
    dialog = QApplication.activeModalWidget()
    assert isinstance(dialog, WheelDetailsDialog)
    assert dialog.wheel.name == "Renamed"
    dialog.reject()
    wheel = replace(wheel, name="Renamed")
    no_tyre = edits.replaced(person.project, edits.WHEEL, wheel.name, replace(wheel, tyre=""))
    person.window.document.commit(no_tyre, "No tyre")
    done(person, found)
    assert "names no tyre" in found.remedy.text()


def test_stop_stops_and_again_goes_on(at_start: Person, here: type[HereChild]) -> None:
    person = at_start
    here.gate.clear()
    found = opened(person)
    person.qtbot.waitUntil(lambda: here.begun.is_set(), timeout=30_000)
    QTest.mouseClick(found.run, LEFT)
    assert found.note.text() == "stopped"
    assert found.shown is None
    QTest.mouseClick(found.run, LEFT)
    here.gate.set()
    done(person, found)
    assert found.shown is not None


def test_escape_stops_a_screening_of_a_changed_section_and_says_what_stands_there(
    at_start: Person, window: StrengthWindow, here: type[HereChild]
) -> None:
    person = at_start
    here.gate.clear()
    here.begun.clear()
    wheel = person.project.wheels[0]
    heavier = edits.replaced(person.project, edits.WHEEL, wheel.name, replace(wheel, load_kg=691.0))
    person.window.document.commit(heavier, "Load")
    person.qtbot.waitUntil(lambda: here.begun.is_set(), timeout=30_000)
    QTest.keyClick(window, Qt.Key.Key_Escape)
    assert window.isVisible()
    assert window.note.text() == "stopped: what stands here was found before the change"
    assert not window.pages.isEnabled()
    assert not window.save.isEnabled()
    QTest.keyClick(window, Qt.Key.Key_Escape)
    assert not window.isVisible()


def test_a_study_in_its_process_is_stopped_by_keys_and_leaves_nothing(
    at_start: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The process itself: Escape stops it, Alt+S begins again, closing the window ends it for good."""
    monkeypatch.setattr(strength_study, "Child", Child)
    person, told = at_start, []
    found = opened(person)
    found.study.told.connect(lambda *words: told.append(words))

    def process() -> BaseProcess:
        person.qtbot.waitUntil(lambda: bool(told), timeout=120_000)
        (one,) = active_children()
        return one

    first = process()
    QTest.keyClick(found, Qt.Key.Key_Escape)
    assert found.isVisible()
    assert found.note.text() == "stopped"
    assert found.run.text() == "&Screen again"
    assert found.shown is None
    assert first.exitcode is not None
    assert active_children() == []
    told.clear()
    QTest.keyClick(found, Qt.Key.Key_S, Qt.KeyboardModifier.AltModifier)
    second = process()
    found.close()
    assert not found.isVisible()
    assert second.exitcode is not None
    assert active_children() == []
    assert Jobs.wait(10_000)
    person.settle()
    assert found.shown is None
    assert not found.study.is_busy


def test_a_millimetre_is_worked_out_for_the_chosen_case(at_start: Person, window: StrengthWindow) -> None:
    click_cell(window, "R124 bending", Zone.SPOKE_BACK)
    window.pages.setCurrentIndex(4)
    QTest.mouseClick(window.pages.work_out, LEFT)
    done(at_start, window)
    shown = window.shown
    assert shown is not None
    assert shown.case is not None
    assert shown.case.key == "R124 bending"
    table = window.pages.per_mm.table
    zones = [table.item(r, 0).text().strip() for r in range(table.rowCount())]  # type: ignore[union-attr]
    assert zones == [g.zone.value for g in shown.gains]
    by = {g.zone: g for g in shown.gains}
    assert by[Zone.SPOKE_BACK].kg > 0.0
    assert by[Zone.SPOKE_BACK].mpa[Zone.SPOKE_BACK] < 0.0, "more depth of a spoke lowers its bending"


@pytest.mark.parametrize("suffix", ["csv", "xlsx", "pdf"])
def test_it_is_saved_as_tables_and_pages(
    at_start: Person, window: StrengthWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, suffix: str
) -> None:
    out = tmp_path / f"strength.{suffix}"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *args, **how: (str(out), ""))
    QTest.mouseClick(window.save, LEFT)
    at_start.qtbot.waitUntil(lambda: window.note.text() == f"written: {out.name}", timeout=120_000)
    shown = window.shown
    assert shown is not None
    row = shown.found.zone("UN R124 rotating bending", Zone.SPOKE_BACK)
    assert row is not None
    if suffix == "csv":
        rows = list(csv.reader(io.StringIO(out.read_text("utf-8-sig"))))
        found = next(r for r in rows if r[1:3] == ["UN R124 rotating bending", "spoke back"] and len(r) > 10)
        assert float(found[5]) == pytest.approx(row.von_mises_mpa, rel=1e-9)
        assert ["caution", CAUTION] in rows
    elif suffix == "xlsx":
        book = openpyxl.load_workbook(out)
        assert book.sheetnames[:2] == ["Read first", "Case x zone"]
        values = [[c.value for c in r] for r in book["Case x zone"].iter_rows(min_row=2)]
        found_row = next(v for v in values if v[1:3] == ["UN R124 rotating bending", "spoke back"])
        assert found_row[5] == pytest.approx(row.von_mises_mpa, rel=1e-9)
    else:
        text = "\n".join(page.extract_text() for page in pypdf.PdfReader(out).pages)
        assert "spoke back" in text
        assert "not a strength, fatigue, impact or approval statement" in text.replace("\n", " ")


def test_what_it_rests_on_is_there_to_be_read(window: StrengthWindow) -> None:
    made = project()
    text = window.pages.rests_on.toPlainText()
    assert "690.0 kg" in text
    assert ready(made, made.wheels[0]).metal.source in text
    assert "not included" in text


def test_versions_of_a_family_are_ticked_and_its_worst_is_planned(
    at_start: Person, window: StrengthWindow
) -> None:
    window.pages.setCurrentIndex(7)
    names = [window.pages.family.item(k).text() for k in range(window.pages.family.count())]
    assert names == [w.name for w in project().wheels]
    before = window.shown
    assert before is not None
    assert {p.wheel for p in before.evidence.plan} == {names[0]}
    wheel = at_start.project.wheels[1]
    heavier = replace(wheel, load_kg=720.0)
    at_start.window.document.commit(
        edits.replaced(at_start.project, edits.WHEEL, wheel.name, heavier), "Heavier"
    )
    done(at_start, window)
    window.pages.family.setFocus()
    window.pages.family.setCurrentRow(1)
    QTest.keyClick(window.pages.family, Qt.Key.Key_Space)
    shown = window.shown
    assert shown is not None
    assert {p.wheel for p in shown.evidence.plan} == {"Passed"}, "720 kg ask for more than 690 kg"
    said = [window.pages.plan.table.item(0, c) for c in range(3)]
    assert [item.text().strip() for item in said[:2] if item is not None] == ["R124 bending", "Passed"]
    QTest.keyClick(window.pages.family, Qt.Key.Key_Space)
    assert window.shown is not None
    assert {p.wheel for p in window.shown.evidence.plan} == {names[0]}

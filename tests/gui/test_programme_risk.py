"""Risk, worth, enquiry and computing of the die programme's window, by mouse and keys on two small fitments.

Sums are added here by hand from the cells of the coverage: wheels of 2028 to 2031 at 10 % a year to 2027, and
a die of which 40 % is paid a year before its first use.
"""

from __future__ import annotations

import csv
import io
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdf
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QCheckBox, QComboBox, QFileDialog, QLineEdit, QTableWidget

from app.project.project import Project
from app.session.edited import Edited, Kind
from app.studies.executor import CORES, SERIAL
from app.studies.roadmap.coverage import Coverage, coverage
from app.studies.roadmap.scenarios import May
from app.window.dialogs import programme_settings
from app.window.dialogs.fitment import FitmentDialog
from app.window.dialogs.programme_settings import ProgrammeDialog
from app.window.main_window import MainWindow
from app.window.programme_window import ProgrammeWindow
from app.window.settings import Settings
from geometry.errors import GeometryError
from tests.gui.conftest import write
from tests.support.small_roadmap import BOUGHT, DIE, NARROW, OWN, WIDE, small

LEFT, WHEELS = Qt.MouseButton.LeftButton, 100.0
DISCOUNTED = sum(1.1**-k for k in (1, 2, 3, 4))
DIE_PAID = 0.4 * DIE + 0.6 * DIE / 1.1


pytestmark = pytest.mark.usefixtures("solved_here")


@pytest.fixture(scope="module")
def project() -> Project:
    return small()


@pytest.fixture(scope="module")
def covered(project: Project) -> Coverage:
    return coverage(project)


@pytest.fixture
def main(qtbot: Any, tmp_path: Path, project: Project) -> MainWindow:
    window = MainWindow(Settings(tmp_path / "window.ini"), tmp_path / "state")
    qtbot.addWidget(window, before_close_func=lambda w: w.document.undo_stack.setClean())
    window.show()
    window.document.start(project)
    window.document.undo_stack.setClean()
    return window


@pytest.fixture
def opened(
    qtbot: Any, main: MainWindow, monkeypatch: pytest.MonkeyPatch, covered: Coverage
) -> ProgrammeWindow:
    """Give the window the module's coverage."""
    monkeypatch.setattr("app.window.programme_work.coverage", lambda _project, **_how: covered)
    main.actions_by_name["programme"].trigger()
    found = main.beside.programme
    assert found is not None
    qtbot.waitUntil(lambda: found.jobs.is_busy, timeout=5_000)
    wait(qtbot, found)
    return found


def wait(qtbot: Any, found: ProgrammeWindow) -> None:
    qtbot.waitUntil(lambda: not found.jobs.is_busy, timeout=120_000)


def typed(field: QLineEdit, text: str) -> None:
    field.selectAll()
    write(field, text)


def press(check: QCheckBox) -> None:
    QTest.mouseClick(check, LEFT, pos=QPoint(8, check.height() // 2))


def choose(box: QComboBox, words: str) -> None:
    """Choose by keys: Home, then down, as a person does."""
    index = box.findText(words)
    assert index >= 0, [box.itemText(k) for k in range(box.count())]
    box.setFocus()
    QTest.keyClick(box, Qt.Key.Key_Home)
    for _ in range(index):
        QTest.keyClick(box, Qt.Key.Key_Down)
    assert box.currentIndex() == index
    box.activated.emit(index)


def of_wheels(covered: Coverage, blank: str, times: float = 1.0) -> float:
    """Return the present value of the wheels of both rows from one blank."""
    cells = [covered.cell(row, blank) for row in (WIDE, NARROW)]
    return times * WHEELS * DISCOUNTED * sum((c.cost or 0.0) + (c.blank_cost or 0.0) for c in cells)


def texts(table: Any) -> list[list[str]]:
    rows, columns = range(table.rowCount()), range(table.columnCount())
    return [[table.item(k, c).text().strip() for c in columns] for k in rows]


def middle(table: QTableWidget) -> QPoint:
    """Return the middle of a table's first cell."""
    item = table.item(0, 0)
    assert item is not None
    return table.visualItemRect(item).center()


def only(found: ProgrammeWindow, *kinds: May) -> None:
    page = found.risk_page
    found.pages.setCurrentWidget(page)
    for kind, check in page.checks.items():
        if check.isChecked() != (kind in kinds):
            press(check)


class TestRisk:
    def test_regrets_of_a_typed_demand_are_arithmetic_and_stand_in_files_and_on_paper(
        self,
        qtbot: Any,
        monkeypatch: pytest.MonkeyPatch,
        tmp_path: Path,
        opened: ProgrammeWindow,
        covered: Coverage,
    ) -> None:
        page = opened.risk_page
        only(opened, May.DEMAND)
        typed(page.demand.lineEdit(), "0.10")
        QTest.mouseClick(page.run, LEFT)
        wait(qtbot, opened)
        assert opened.found is not None
        regrets = opened.found.regrets
        assert regrets is not None
        assert [s.name for s in regrets.scenarios] == ["as expected", "demand times 0.1"]
        # The die is paid whatever comes; without it the bought blank serves both rows. With the die there,
        # each row takes the cheaper of the two.
        saved = of_wheels(covered, BOUGHT) - of_wheels(covered, OWN)
        regret = {True: max(0.0, DIE_PAID - 0.1 * saved), False: saved - DIE_PAID}
        assert min(regret.values()) > 0.0
        least = min(regret, key=lambda k: regret[k])
        found = {bool(c.candidate.opened): c.greatest for c in regrets.candidates}
        assert found == pytest.approx(regret, rel=1e-6)
        assert bool(regrets.candidates[0].candidate.opened) is least
        shown = texts(page.regrets)
        worse = [f"▲ {regret[least]:,.0f} worse", f"▲ {regret[not least]:,.0f} worse"]
        assert shown[2] == worse
        assert sorted(x for row in shown[:2] for x in row if x.startswith("●")) == ["● best", "● best"]
        head = page.regrets.horizontalHeaderItem(0)
        assert head is not None
        assert head.text().startswith("A, least bad\n")
        page.regrets.setFocus()
        for key in (Qt.Key.Key_Home, Qt.Key.Key_Down, Qt.Key.Key_Down):
            QTest.keyClick(page.regrets, key)
        assert f"at worst {regret[least]:,.0f} EUR worse than the best plan" in page.chosen.text()
        inputs = texts(page.tables["sensitivity"])
        # A fifth of what is paid once, to the euro.
        (dearer,) = [r for r in inputs if r[:2] == ["price of dies and holders", "1.20"]]
        assert dearer[2:4] == [f"+{0.2 * DIE_PAID:,.0f}", "yes"]
        self.check_files(monkeypatch, tmp_path, opened, f"{regret[least]:,.0f}", page.answer.text())

    @staticmethod
    def check_files(
        monkeypatch: pytest.MonkeyPatch, folder: Path, opened: ProgrammeWindow, regret: str, answer: str
    ) -> None:
        """What the window shows is what it writes."""
        for name, button in (("plan.csv", opened.save), ("paper.pdf", opened.paper)):
            out = str(folder / name)
            monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_a, out=out: (out, ""))
            QTest.mouseClick(button, LEFT)
        lines = list(csv.reader(io.StringIO((folder / "plan.csv").read_text(encoding="utf-8-sig"))))
        at = lines.index(["regrets"])
        assert lines[at + 1][:2] == ["Scenario", "A, least bad"]
        assert f"{float(lines[at + 4][1]):,.0f}" == regret
        pages = pypdf.PdfReader(folder / "paper.pdf").pages
        text = " ".join(" ".join(page.extract_text().split()) for page in pages)
        assert answer in text
        assert regret in text
        assert "scenario: demand times 0.1 as asked" in text
        assert "scenario: a brake grows" not in text

    def test_other_sizes_ask_to_count_again_and_another_plan_forgets(
        self, qtbot: Any, main: MainWindow, opened: ProgrammeWindow
    ) -> None:
        page = opened.risk_page
        only(opened, May.LATE)
        typed(page.late.lineEdit(), "2")
        QTest.mouseClick(page.run, LEFT)
        wait(qtbot, opened)
        assert page.note.text() == ""
        assert [r[0] for r in texts(page.tables["scenarios"])] == ["as expected", f"{OWN} late by 2 years"]
        QTest.keyClick(page.late, Qt.Key.Key_Up)
        assert "count again" in page.note.text()
        QTest.keyClick(page.late, Qt.Key.Key_Down)
        assert page.note.text() == ""
        changed = replace(main.document.project, fitments=main.document.project.fitments[:1])
        main.document.commit(changed, "one row")
        assert not page.run.isEnabled()
        main.document.undo()
        assert page.run.isEnabled()
        opened.question.setCurrentIndex(1)
        opened.question.activated.emit(1)
        wait(qtbot, opened)
        assert page.note.text().startswith("Not counted yet")
        assert page.regrets.rowCount() == 0

    def test_who_carries_metal(self, qtbot: Any, opened: ProgrammeWindow) -> None:
        page = opened.risk_page
        only(opened, May.METAL)
        both, none, *blanks = [a for a in page.menu.actions() if not a.isSeparator()]
        assert both.isChecked()
        assert [a.text() for a in blanks] == [BOUGHT]
        assert page.settings().metal_carried_here is None
        blanks[0].trigger()
        assert page.settings().metal_carried_here == (BOUGHT,)
        none.trigger()
        assert page.settings().metal_carried_here == ()
        typed(page.metal.lineEdit(), "50")
        QTest.mouseClick(page.run, LEFT)
        wait(qtbot, opened)
        says = texts(page.tables["scenarios"])[1]
        assert says[0] == "metal +50 %"
        assert "Carried here, as stated: no bought blank" in says[1]

    def test_stop_leaves_the_plan_and_no_half_table(self, qtbot: Any, opened: ProgrammeWindow) -> None:
        opened.pages.setCurrentWidget(opened.risk_page)
        QTest.mouseClick(opened.risk_page.run, LEFT)
        assert opened.run.text() == "&Stop"
        assert not opened.risk_page.run.isEnabled()
        assert not opened.save.isEnabled()
        QTest.mouseClick(opened.run, LEFT)
        wait(qtbot, opened)
        assert opened.note.text() == "stopped: the plan holds, what was being counted is not"
        assert opened.found is not None
        assert opened.found.regrets is None
        assert opened.risk_page.regrets.rowCount() == 0
        assert opened.risk_page.run.isEnabled()

    def test_a_cluster_that_does_not_answer_is_said_with_what_to_do(
        self,
        qtbot: Any,
        monkeypatch: pytest.MonkeyPatch,
        main: MainWindow,
        opened: ProgrammeWindow,
    ) -> None:
        def unanswered(where: str) -> None:
            raise GeometryError(f"No cluster answers at {where}: refused. Start it, or use all cores.")

        monkeypatch.setattr("app.window.programme_work.opened", unanswered)
        main.settings.computing = "tcp://127.0.0.1:9"
        opened.pages.setCurrentWidget(opened.risk_page)
        QTest.mouseClick(opened.risk_page.run, LEFT)
        wait(qtbot, opened)
        assert opened.note.text() == (
            "not counted: No cluster answers at tcp://127.0.0.1:9: refused. Start it, or use all cores."
        )
        assert opened.risk_page.run.isEnabled()


class TestWorth:
    def test_a_die_is_worth_what_the_bought_blank_would_cost_more(
        self, main: MainWindow, opened: ProgrammeWindow, covered: Coverage
    ) -> None:
        page = opened.dies_page
        opened.pages.setCurrentWidget(page)
        heads = [h.key for h in page.worth.sheet.heads] if page.worth.sheet is not None else []
        (row,) = texts(page.worth)
        cell = dict(zip(heads, row, strict=True))
        saved = of_wheels(covered, BOUGHT) - of_wheels(covered, OWN)
        assert cell["worth"] == f"{saved - DIE_PAID:,.0f}"
        # 40 weeks before 2028 is in March 2027.
        assert (cell["latest_order"], cell["orphans"], cell["paid_once"]) == (
            "February 2027",
            "none",
            f"{DIE:,.0f}",
        )
        assert cell["saving"] == f"+{saved / (2.0 * WHEELS * DISCOUNTED):,.2f}"
        # Capital recovered over four years at 10 % a year (handbook, forging and money, 5).
        yearly = DIE * 0.1 / (1.0 - 1.1**-4)
        assert cell["from_wheels"] == f"{math.ceil(yearly / (saved / (2.0 * WHEELS * DISCOUNTED))):,}"
        assert not page.open.isEnabled()
        place = middle(page.worth)
        QTest.mouseClick(page.worth.viewport(), LEFT, pos=place)
        assert page.notes.text().startswith(f"{OWN}: ")
        before = main.document.project
        QTest.mouseClick(page.open, LEFT)
        assert main.document.edited == Edited(Kind.BLANK, OWN)
        assert main.document.project == before

    def test_enter_and_a_double_click_open_the_blank_of_a_die(
        self, main: MainWindow, opened: ProgrammeWindow
    ) -> None:
        for page, table in (
            (opened.plan_page, opened.plan_page.dies),
            (opened.dies_page, opened.dies_page.worth),
        ):
            opened.pages.setCurrentWidget(page)
            main.document.edit(Edited(Kind.BLANK, BOUGHT))
            table.setFocus()
            table.setCurrentCell(0, 0)
            QTest.keyClick(table, Qt.Key.Key_Return)
            assert main.document.edited == Edited(Kind.BLANK, OWN)
        main.document.edit(Edited(Kind.BLANK, BOUGHT))
        place = middle(table)
        QTest.mouseClick(table.viewport(), LEFT, pos=place)
        QTest.mouseDClick(table.viewport(), LEFT, pos=place)
        assert main.document.edited == Edited(Kind.BLANK, OWN)


class TestEnquiry:
    def test_a_typed_fitment_is_covered_costs_its_wheels_and_becomes_a_row(
        self, qtbot: Any, main: MainWindow, opened: ProgrammeWindow, covered: Coverage
    ) -> None:
        page = opened.enquiry_page
        opened.pages.setCurrentWidget(page)
        choose(page.start, f"another like {WIDE}")
        typed(page.name.editor, "Club 18")  # type: ignore[arg-type]
        typed(page.wheels.line, "40")
        QTest.mouseClick(page.run, LEFT)
        wait(qtbot, opened)
        assert page.answer.text().startswith(f"Club 18: ● covered, from {OWN}, {BOUGHT}.")
        # 40 wheels a year more, as the row that it is like; the die is there for them too.
        each = covered.cell(WIDE, OWN)
        dearer = 40.0 * DISCOUNTED * ((each.cost or 0.0) + (each.blank_cost or 0.0))
        assert f"{dearer:,.0f} EUR dearer with it" in page.effect.text()
        assert f"dies stay as they are ({OWN})" in page.effect.text()
        (earlier,) = texts(page.earlier)
        assert earlier[:2] == ["Club 18", "covered"]
        assert f"+{dearer:,.0f}" in earlier
        before = main.document.project
        QTest.mouseClick(page.add, LEFT)
        made = main.document.project.fitments[-1]
        assert (made.name, made.volume_likely, made.inset_low_mm) == ("Club 18", 40, 38.0)
        assert opened.note.text() == "the project has changed since: read again"
        assert not page.run.isEnabled()
        main.document.undo()
        assert main.document.project == before

    def test_a_row_that_the_plan_leaves_is_changed_in_its_place(
        self, qtbot: Any, main: MainWindow, opened: ProgrammeWindow
    ) -> None:
        rows = main.document.project.fitments
        wide = replace(rows[0], width_code=12.0)
        main.document.commit(replace(main.document.project, fitments=(wide, rows[1])), "wider")
        page = opened.enquiry_page
        monkey = coverage(main.document.project)
        opened.coverage = monkey
        opened._covered_for = main.document.project
        QTest.mouseClick(opened.run, LEFT)
        wait(qtbot, opened)
        opened.pages.setCurrentWidget(page)
        choose(page.start, f"{WIDE}, uncovered")
        assert page.add.text() == "Change the &row of the roadmap"
        QTest.mouseClick(page.run, LEFT)
        wait(qtbot, opened)
        assert page.answer.text().startswith(f"{WIDE}: ▼ not.")
        assert "The plan with it leaves it" in page.effect.text()
        # A narrower wheel would still sell: its compromise is served.
        QTest.mouseClick(page.more, LEFT)
        dialog = page.findChild(FitmentDialog)
        assert isinstance(dialog, FitmentDialog)
        dialog.pages.setCurrentIndex(3)
        typed(dialog.given_width.line, "10")
        typed(dialog.share.line, "0.5")
        QTest.mouseClick(dialog.buttons.button(dialog.buttons.StandardButton.Ok), LEFT)
        QTest.mouseClick(page.run, LEFT)
        wait(qtbot, opened)
        assert page.answer.text().startswith(f"{WIDE}: ◆ by compromise, from {OWN}, {BOUGHT}.")
        QTest.mouseClick(page.add, LEFT)
        assert [f.name for f in main.document.project.fitments] == [WIDE, NARROW]
        given = main.document.project.fitments[0].compromise
        assert given is not None
        assert (given.width_code, given.share) == (10.0, 0.5)

    def test_what_cannot_be_read_is_said_at_its_field(self, opened: ProgrammeWindow) -> None:
        page = opened.enquiry_page
        opened.pages.setCurrentWidget(page)
        choose(page.start, f"another like {WIDE}")
        typed(page.low.line, "many")
        QTest.mouseClick(page.run, LEFT)
        assert not opened.jobs.is_busy
        assert page.low.message.text() != ""
        assert page.message.text() == "A field cannot be read."
        typed(page.low.line, "50")
        QTest.mouseClick(page.run, LEFT)
        assert "runs backwards" in page.message.text()
        assert not opened.jobs.is_busy

    def test_an_empty_form_is_not_known(self, qtbot: Any, opened: ProgrammeWindow) -> None:
        page = opened.enquiry_page
        opened.pages.setCurrentWidget(page)
        assert page.name.read() == "Enquiry"
        QTest.mouseClick(page.run, LEFT)
        wait(qtbot, opened)
        assert page.answer.text().startswith("Enquiry: ? not known.")
        assert "It would take: know it first." in page.answer.text()


class TestComputing:
    def test_all_cores_are_this_users_and_no_step_of_the_project(
        self, tmp_path: Path, main: MainWindow, opened: ProgrammeWindow
    ) -> None:
        assert opened.runs.text() == "runs in this process"
        dialog = self.dialog(opened)
        choose(dialog.where.box, "on all cores")
        QTest.mouseClick(dialog.buttons.button(dialog.buttons.StandardButton.Ok), LEFT)
        assert opened.runs.text() == "runs on all cores"
        assert not main.document.undo_stack.canUndo()
        assert Settings(tmp_path / "window.ini").computing == CORES

    def test_a_cluster_needs_its_optional_part_and_an_address(
        self, monkeypatch: pytest.MonkeyPatch, main: MainWindow, opened: ProgrammeWindow
    ) -> None:
        monkeypatch.setattr(programme_settings, "has_cluster", lambda: False)
        dialog = self.dialog(opened)
        ok = dialog.buttons.button(dialog.buttons.StandardButton.Ok)
        choose(dialog.where.box, "on a cluster")
        assert "install blankwright[cluster]" in dialog.remedy.text()
        QTest.mouseClick(ok, LEFT)
        assert dialog.isVisible()
        assert "install blankwright[cluster]" in dialog.message.text()
        monkeypatch.setattr(programme_settings, "has_cluster", lambda: True)
        typed(dialog.address.editor, "somewhere")  # type: ignore[arg-type]
        QTest.mouseClick(ok, LEFT)
        assert "as tcp://127.0.0.1:8786" in dialog.message.text()
        assert main.settings.computing == SERIAL
        typed(dialog.address.editor, "tcp://127.0.0.1:8786")  # type: ignore[arg-type]
        QTest.mouseClick(ok, LEFT)
        assert main.settings.computing == "tcp://127.0.0.1:8786"
        assert opened.runs.text() == "runs at tcp://127.0.0.1:8786"
        again = self.dialog(opened)
        assert again.address.read() == "tcp://127.0.0.1:8786"
        QTest.keyClick(again, Qt.Key.Key_Escape)

    @staticmethod
    def dialog(opened: ProgrammeWindow) -> ProgrammeDialog:
        QTest.mouseClick(opened.settings, LEFT)
        QApplication.processEvents()
        dialog = next(d for d in opened.findChildren(ProgrammeDialog) if d.isVisible())
        dialog.pages.setCurrentIndex(4)
        return dialog

"""Section sheets from the File menu: a draft, a release by two people, and a released sheet printed again."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialogButtonBox, QFileDialog, QLineEdit

from app.files.project_file import dumps, load
from app.project import edits
from app.project.project import Project
from app.project.release import unpacked
from app.reports.releases import Facts, release
from app.window.dialogs.releases import ReleasesDialog
from app.window.dialogs.section_sheet import ReleaseDialog, SectionSheetDialog
from app.window.dialogs.sheet_settings import SheetSettingsDialog
from tests.gui.conftest import Person, write
from tests.support.make_samples import OWN, TOUCHING, samples

LEFT = Qt.MouseButton.LeftButton
CONTROL, ALT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.AltModifier
OK = QDialogButtonBox.StandardButton.Ok


@pytest.fixture
def choose_file(monkeypatch: pytest.MonkeyPatch) -> Callable[[Path], None]:
    """Choose a file in the next file dialogs."""

    def choose(path: Path) -> None:
        monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args, **_named: (str(path), ""))

    return choose


@pytest.fixture
def engineer(person: Person) -> Person:
    """Someone at a window with the sample whose wheel is clear."""
    person.window.document.start(samples()[OWN])
    person.settle()
    return person


def typed(line: QLineEdit, text: str) -> None:
    line.setFocus()
    line.selectAll()
    QTest.keyClick(line, Qt.Key.Key_Delete)
    write(line, text)


def pressed(dialog: ReleaseDialog | SectionSheetDialog | SheetSettingsDialog) -> None:
    QTest.mouseClick(dialog.buttons.button(OK), LEFT)
    QApplication.processEvents()


def asked(person: Person, action: str = "release_sheet") -> ReleaseDialog:
    person.do(action)
    dialog = QApplication.activeModalWidget()
    assert isinstance(dialog, ReleaseDialog)
    return dialog


def released(person: Person, change: str = "") -> None:
    dialog = asked(person)
    typed(dialog.on.line, "2026-03-01")
    typed(dialog.drawn_by.line, "A. Drawer")
    typed(dialog.checked_by.line, "B. Checker")
    typed(dialog.change.line, change)
    pressed(dialog)
    person.settle()


def written(person: Person, path: Path) -> bytes:
    person.qtbot.waitUntil(lambda: f"Wrote {path.name}" in person.status, timeout=30_000)
    return path.read_bytes()


def test_a_draft_is_written_on_the_chosen_paper(
    engineer: Person, tmp_path: Path, choose_file: Callable[[Path], None]
) -> None:
    choose_file(tmp_path / "d.pdf")
    QTest.keyClick(engineer.window, Qt.Key.Key_S, CONTROL | ALT)
    engineer.settle()
    dialog = engineer.window.findChild(SectionSheetDialog)
    assert dialog is not None
    assert dialog.hindrances is None
    dialog.paper.choose("A4")
    pressed(dialog)
    text = pypdf.PdfReader(io.BytesIO(written(engineer, tmp_path / "d.pdf"))).pages[0].extract_text()
    assert "NOT RELEASED" in text
    assert "A4" in text


def test_two_people_release_a_sheet_and_it_is_printed_again(
    engineer: Person, tmp_path: Path, choose_file: Callable[[Path], None]
) -> None:
    assert engineer.window.sheets.label.text() == ""
    dialog = asked(engineer)
    typed(dialog.drawn_by.line, "A. Drawer")
    typed(dialog.checked_by.line, "a drawer")
    pressed(dialog)
    assert dialog.isVisible()
    assert "two different people" in dialog.message.text()
    typed(dialog.checked_by.line, "B. Checker")
    typed(dialog.on.line, "soon")
    pressed(dialog)
    assert "no date" in dialog.on.message.text()
    typed(dialog.on.line, "2026-03-01")
    pressed(dialog)
    engineer.settle()
    assert "Released Track 18, revision A" in engineer.status
    (record,) = engineer.project.releases
    assert (record.drawn_by, record.checked_by, record.on) == ("A. Drawer", "B. Checker", "2026-03-01")
    assert engineer.window.sheets.label.text() == "as released, revision A"
    assert engineer.window.document.is_modified

    engineer.window.document.save(tmp_path / "p.blankwright")
    edited = edits.replaced(
        engineer.project, edits.WHEEL, "Track 18", replace(engineer.project.wheels[0], load_kg=650.0)
    )
    engineer.window.document.commit(edited, "Load")
    assert engineer.window.sheets.label.text() == "edited since revision A: load 690 to 650"

    choose_file(tmp_path / "a.pdf")
    engineer.do("releases")
    listed = engineer.window.findChild(ReleasesDialog)
    assert listed is not None
    assert listed.chosen == record
    QTest.mouseClick(listed.save, LEFT)
    assert written(engineer, tmp_path / "a.pdf") == unpacked(record.pdf)
    assert load(tmp_path / "p.blankwright").releases == (record,)
    listed.close()


def test_the_next_release_needs_its_change(engineer: Person) -> None:
    released(engineer)
    dialog = asked(engineer)
    assert dialog.revision == "B"
    assert "revision B" in dialog.buttons.button(OK).text()
    assert dialog.drawn_by.read() == "A. Drawer"
    # Who checks is asked anew each time.
    pressed(dialog)
    assert "checked" in dialog.message.text()
    typed(dialog.checked_by.line, "B. Checker")
    pressed(dialog)
    assert "Say what changed" in dialog.message.text()
    dialog.reject()
    released(engineer, "drawn on A3 again")
    assert [r.revision for r in engineer.project.releases] == ["A", "B"]


def test_undo_and_stale_windows_do_not_take_a_release_back(engineer: Person) -> None:
    before = engineer.project
    wheel = replace(before.wheels[0], load_kg=650.0)
    engineer.window.document.commit(edits.replaced(before, edits.WHEEL, wheel.name, wheel), "Load")
    released(engineer)
    record = engineer.project.releases[0]
    engineer.do("undo")
    assert engineer.project.wheels[0].load_kg == 690.0
    assert engineer.project.releases == (record,)
    assert engineer.window.sheets.label.text() == "edited since revision A: load 650 to 690"
    engineer.do("redo")
    assert engineer.project.releases == (record,)
    assert engineer.window.sheets.label.text() == "as released, revision A"
    # A window that was opened before the release commits the project that it knew.
    engineer.window.document.commit(replace(before, author="Somebody"), "Author")
    assert engineer.project.author == "Somebody"
    assert engineer.project.releases == (record,)
    assert engineer.window.document.is_modified


def test_what_hinders_a_release_is_said_and_the_button_is_off(person: Person) -> None:
    person.window.document.start(samples()[TOUCHING])
    dialog = asked(person)
    assert dialog.hindrances is not None
    assert "Touching" in dialog.hindrances.text()
    assert "Blank: not stated. Choose or type it in Project, Wheel details." in dialog.hindrances.text()
    assert not dialog.buttons.button(OK).isEnabled()
    dialog.reject()
    person.do("releases")
    assert "Nothing was released yet" in person.status


def test_tolerances_and_notes_are_typed(engineer: Person) -> None:
    engineer.do("sheet_settings")
    dialog = QApplication.activeModalWidget()
    assert isinstance(dialog, SheetSettingsDialog)
    typed(dialog.values["inset_mm"].line, "0.15")
    typed(dialog.values["flatness_mm"].line, "")
    typed(dialog.values["bore_mm"].line, "50")
    pressed(dialog)
    assert dialog.isVisible()
    assert "too large" in dialog.values["bore_mm"].message.text()
    typed(dialog.values["bore_mm"].line, "0.05")
    typed(dialog.values["marking"].line, "inner lip")
    pressed(dialog)
    sheet = engineer.project.sheet
    assert (sheet.inset_mm, sheet.flatness_mm, sheet.bore_mm, sheet.marking) == (
        0.15,
        None,
        0.05,
        "inner lip",
    )
    assert sheet.starting_values
    assert sheet.width_mm == 1.5
    assert engineer.undo_text == "Sheet tolerances and notes"
    release_dialog = asked(engineer)
    assert release_dialog.hindrances is not None
    assert "Flatness of the mounting face: not stated" in release_dialog.hindrances.text()
    release_dialog.reject()


def test_a_damaged_release_is_said_on_opening_and_not_printed(
    person: Person, tmp_path: Path, answer: Callable[[str], list[str]]
) -> None:
    project: Project = samples()[OWN]
    record = release(project, project.wheels[0], Facts("2026-03-01", "A. Drawer", "B. Checker"))
    path = tmp_path / "p.blankwright"
    path.write_bytes(dumps(replace(project, releases=(replace(record, checked_by="C. Other"),))))
    said = answer("OK")
    assert person.window.files.open_path(path)
    person.qtbot.waitUntil(lambda: bool(said), timeout=5_000)
    assert "Track 18, revision A was damaged or edited outside" in said[0]
    assert person.window.sheets.label.text() == "not known, since the record of revision A is damaged"
    person.do("releases")
    listed = person.window.findChild(ReleasesDialog)
    assert listed is not None
    assert not listed.save.isEnabled()
    listed.close()


def test_what_was_released_by_another_program_is_not_overwritten(
    engineer: Person,
    tmp_path: Path,
    answer: Callable[[str], list[str]],
    choose_file: Callable[[Path], None],
) -> None:
    path, other = tmp_path / "p.blankwright", tmp_path / "other.blankwright"
    path.write_bytes(dumps(samples()[OWN]))
    assert engineer.window.files.open_path(path)
    project = load(path)
    record = release(project, project.wheels[0], Facts("2026-03-01", "A. Drawer", "B. Checker"))
    path.write_bytes(dumps(replace(project, releases=(record,))))
    engineer.window.document.commit(replace(engineer.project, author="Somebody"), "Author")
    choose_file(other)
    said = answer("Save as another file")
    assert engineer.window.files.save()
    assert "would be lost: Track 18, revision A" in said[0]
    assert load(path).releases == (record,)
    assert load(other).author == "Somebody"

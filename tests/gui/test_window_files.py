"""The window opens, saves, exports and prints."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtWidgets import QApplication, QFileDialog, QInputDialog

from app.files import project_file
from app.files.project_file import ProjectFileError
from app.project.project import Project
from app.window.printing import SCALES
from tests.gui.conftest import Person
from tests.support import example

BACK = 40
Answer = Callable[..., list[str]]


@pytest.fixture
def choose_file(monkeypatch: pytest.MonkeyPatch) -> Callable[[Path], None]:
    """Choose a file in the next file dialogs."""

    def choose(path: Path) -> None:
        for name in ("getOpenFileName", "getSaveFileName"):
            monkeypatch.setattr(QFileDialog, name, lambda *_args, **_named: (str(path), ""))

    return choose


def saved(project: Project, path: Path) -> Path:
    project_file.save(project, path)
    return path


# Open and save


def in_view(person: Person, z: float, r: float) -> bool:
    return bool(person.window.canvas.sheet.viewport().rect().contains(person.at(z, r)))


def test_what_is_opened_is_in_view(
    person: Person, tmp_path: Path, choose_file: Callable[[Path], None]
) -> None:
    sheet, document = person.window.canvas.sheet, person.window.document
    path = saved(example.project(), tmp_path / "track.blankwright")
    sheet.zoom_to((400.0, 20.0), 10.0)
    person.settle()
    assert not in_view(person, 50.1, 134.0)
    choose_file(path)
    person.do("open")
    person.settle()
    outline = document.state.outline
    assert outline is not None
    assert all(in_view(person, z, r) for z, r in outline.path.points.tolist())
    sheet.zoom_to((50.1, 134.0), 30.0)
    person.settle()
    scale = sheet.mm_per_pixel
    document.open(path)  # read again, as after a change by another program: one goes on looking where one was
    person.settle()
    assert sheet.mm_per_pixel == scale


def test_save_as_open_and_save_again(
    person: Person, tmp_path: Path, choose_file: Callable[[Path], None]
) -> None:
    choose_file(tmp_path / "track")
    person.do("save")
    path = tmp_path / "track.blankwright"
    assert project_file.load(path) == example.project()
    assert person.window.windowTitle() == "track.blankwright[*] - Blankwright"
    person.window.document.select_vertex(BACK)
    person.enter("52.5")
    assert person.window.isWindowModified()
    person.do("save")
    assert not person.window.isWindowModified()
    assert project_file.load(path).wheels[0].section.vertices[BACK].z == 52.5
    assert person.window.settings.recent == [path]


def test_undo_works_across_a_save_and_the_clean_state_follows(person: Person, tmp_path: Path) -> None:
    document = person.window.document
    document.select_vertex(BACK)
    person.enter("52.5")
    document.save(tmp_path / "a.blankwright")
    assert not document.is_modified
    person.do("undo")
    assert document.is_modified
    assert person.project == example.project()
    person.do("redo")
    assert not document.is_modified


def test_a_nudge_after_a_save_is_a_step_of_its_own(person: Person, tmp_path: Path) -> None:
    document = person.window.document
    document.select_vertex(BACK)
    person.key(Qt.Key.Key_Right)
    document.save(tmp_path / "a.blankwright")
    person.key(Qt.Key.Key_Right)
    assert person.steps == 2
    person.do("undo")
    assert not document.is_modified


def test_a_crossing_outline_is_saved_and_reopened(person: Person, tmp_path: Path) -> None:
    person.window.document.select_vertex(BACK)
    person.enter("95")
    state = person.window.document.state
    assert state.faults
    assert state.measurements is None
    path = tmp_path / "crossing.blankwright"
    person.window.document.save(path)
    person.do("undo")
    person.window.document.undo_stack.setClean()
    assert person.window.files.open_path(path)
    again = person.window.document.state
    assert [f.place for f in again.faults] == [f.place for f in state.faults]
    assert again.measurements is None


def test_unsaved_changes_ask(person: Person, tmp_path: Path, answer: Answer) -> None:
    path = saved(replace(example.project(), name="Other"), tmp_path / "other.blankwright")
    person.window.document.select_vertex(BACK)
    person.enter("52.5")
    asked = answer("Cancel")
    assert not person.window.files.open_path(path)
    assert asked == ["Example has unsaved changes."]
    assert person.vertex(BACK)[0] == 52.5
    answer("Discard")
    assert person.window.files.open_path(path)
    assert person.project.name == "Other"


def test_closing_asks_and_can_save(
    person: Person, tmp_path: Path, answer: Answer, choose_file: Callable[[Path], None]
) -> None:
    choose_file(tmp_path / "kept.blankwright")
    person.window.document.select_vertex(BACK)
    person.enter("52.5")
    answer("Cancel")
    assert not person.window.close()
    answer("Save")
    assert person.window.close()
    assert project_file.load(tmp_path / "kept.blankwright").wheels[0].section.vertices[BACK].z == 52.5


def test_a_file_edited_outside_asks_and_opens_as_it_is(
    person: Person, tmp_path: Path, answer: Answer
) -> None:
    path = saved(example.project(), tmp_path / "edited.blankwright")
    path.write_text(
        path.read_text(encoding="utf-8").replace('"Example"', '"Edited by hand"'), encoding="utf-8"
    )
    asked = answer("Cancel")
    assert not person.window.files.open_path(path)
    assert "Open as it is?" in asked[0]
    assert "--" not in asked[0]  # no option of the command line
    answer("Open as it is")
    assert person.window.files.open_path(path)
    assert person.project.name == "Edited by hand"


def test_a_file_that_cannot_be_read_says_so_and_leaves_the_document(
    person: Person, tmp_path: Path, answer: Answer
) -> None:
    path = tmp_path / "broken.blankwright"
    path.write_bytes(b"{}")
    with pytest.raises(ProjectFileError) as refused:
        project_file.load(path)
    asked = answer("OK")
    assert not person.window.files.open_path(path)
    assert asked == [str(refused.value)]
    assert person.project == example.project()


def test_a_file_changed_on_disk_is_not_overwritten_unasked(
    person: Person, tmp_path: Path, answer: Answer, choose_file: Callable[[Path], None]
) -> None:
    path = saved(example.project(), tmp_path / "shared.blankwright")
    person.window.files.open_path(path)
    person.window.document.select_vertex(BACK)
    person.enter("52.5")
    saved(replace(example.project(), name="By another"), path)
    asked = answer("Cancel")
    assert not person.window.files.save()
    assert "changed by another program" in asked[0]
    assert project_file.load(path).name == "By another"
    choose_file(tmp_path / "mine.blankwright")
    answer("Save as another file")
    assert person.window.files.save()
    assert project_file.load(path).name == "By another"
    assert project_file.load(tmp_path / "mine.blankwright").wheels[0].section.vertices[BACK].z == 52.5


def test_a_folder_that_cannot_be_written_to_keeps_the_work(
    person: Person, tmp_path: Path, answer: Answer
) -> None:
    person.window.document.select_vertex(BACK)
    person.enter("52.5")
    asked = answer("OK")
    assert not person.window.files._save(tmp_path / "not there" / "a.blankwright")
    assert "the folder is not there" in asked[0]
    assert person.window.document.is_modified


def test_new_and_recent(person: Person, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = saved(example.project(), tmp_path / "one.blankwright")
    person.window.files.open_path(path)
    person.do("new")
    assert person.project == Project("Untitled")
    assert "Nothing here yet" in person.window.canvas.sheet.overlay.content.empty_words
    monkeypatch.setattr(QInputDialog, "getItem", lambda *args, **_: (args[3][0], True))
    person.do("open_recent")
    assert person.project == example.project()


def test_a_dropped_project_opens(person: Person, tmp_path: Path) -> None:
    path = saved(replace(example.project(), name="Dropped"), tmp_path / "d.blankwright")
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(path))])
    event = QDropEvent(
        QPointF(300, 300),
        Qt.DropAction.CopyAction,
        mime,
        Qt.MouseButton.LeftButton,
        Qt.KeyboardModifier.NoModifier,
    )
    person.window.dropEvent(event)
    assert person.project.name == "Dropped"


# Out


@pytest.mark.parametrize(
    ("name", "action", "start"),
    [("a.dxf", "export", b"0"), ("a.csv", "export", b"z_mm"), ("a.pdf", "report", b"%PDF")],
)
def test_export_and_report(
    person: Person, tmp_path: Path, choose_file: Callable[[Path], None], name: str, action: str, start: bytes
) -> None:
    choose_file(tmp_path / name)
    person.do(action)
    person.qtbot.waitUntil(lambda: name in person.status, timeout=20_000)
    assert (tmp_path / name).read_bytes().lstrip().startswith(start)
    assert person.window.busy_label.text() == ""


def test_a_report_that_cannot_be_written_says_so(
    person: Person, tmp_path: Path, choose_file: Callable[[Path], None], answer: Answer
) -> None:
    choose_file(tmp_path / "not there" / "a.pdf")
    asked = answer("OK")
    person.do("report")
    person.qtbot.waitUntil(lambda: bool(asked), timeout=20_000)
    assert "the folder is not there" in asked[0]


def test_a_section_with_faults_is_not_exported(
    person: Person, tmp_path: Path, choose_file: Callable[[Path], None], answer: Answer
) -> None:
    person.window.document.select_vertex(BACK)
    person.enter("95")
    choose_file(tmp_path / "a.dxf")
    asked = answer("OK")
    person.do("export")
    person.qtbot.waitUntil(lambda: bool(asked), timeout=20_000)
    assert "crosses itself" in asked[0]
    assert not (tmp_path / "a.dxf").exists()


def test_readings_are_copied_as_a_table(person: Person) -> None:
    person.do("copy_table")
    text = QApplication.clipboard().text()
    assert "\t" in text
    assert "spoke back" in text.lower()


def test_the_drawing_prints_to_a_stated_scale(person: Person, tmp_path: Path) -> None:
    import pdfplumber
    from PySide6.QtPrintSupport import QPrinter

    from app.window.printing import paint, prepare, scale_words

    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    prepare(printer, person.window.document.state)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    out = tmp_path / "drawing.pdf"
    printer.setOutputFileName(str(out))
    scale = paint(printer, person.window.document.state)
    assert scale in SCALES
    assert scale_words(0.5) == "1 : 2"
    with pdfplumber.open(out) as pdf:
        page = pdf.pages[0]
        assert (page.width, page.height) == pytest.approx((297 / 25.4 * 72, 210 / 25.4 * 72), abs=1.0)
        text = page.extract_text()
        assert "not a strength, fatigue, impact or approval statement" in text.replace("\n", " ")
        assert f"scale 1 : {1 / scale:g}" in text
        # The horizontal bar measures 100 mm on the paper.
        widths = [
            abs(line["x1"] - line["x0"]) / 72 * 25.4 for line in page.lines if line["top"] == line["bottom"]
        ]
        assert any(w == pytest.approx(100.0, abs=0.05) for w in widths)

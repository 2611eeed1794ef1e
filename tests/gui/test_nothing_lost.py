"""Work outlives a killed window, another program's change and a second window on the same file."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QInputDialog

from app.files import project_file
from app.files.hold import HeldError, Hold
from app.files.journal import newest
from app.window import recovered
from app.window.main_window import MainWindow
from app.window.recovered import RecoveredDialog
from tests.gui.conftest import Person
from tests.support import example

BACK = 40
Answer = Callable[..., list[str]]

#: Another process with the same folders, without panels: edits a file, then, as a second window would, a
#: project that was never saved, and waits to be killed.
KILLED = """
import sys
from dataclasses import replace
from pathlib import Path
from PySide6.QtWidgets import QApplication, QWidget
from app.session.document import Document
from app.session.recovery import Recovery
from app.window.project_files import ProjectFiles
from app.window.settings import Settings
from geometry.shape.edits import with_vertex_at
from tests.support import example
app = QApplication(["blankwright"])
folder = Path(sys.argv[1])
for name in (sys.argv[2], None):
    document = Document(app)
    recovery = Recovery(document, folder / "state" / "journals", app)
    if name is not None:
        widget = QWidget()
        files = ProjectFiles(widget, document, Settings(folder / "window.ini"), recovery, folder / "state")
        assert files.open_path(Path(name))
    else:
        document.start(example.project())
    wheel = document.project.wheels[0]
    moved = wheel.with_section(with_vertex_at(wheel.section, 40, 52.5, 134.0))
    document.commit(replace(document.project, wheels=(moved,)), "Move vertex 41")
    assert recovery.flush()
print("written", flush=True)
sys.stdin.read()
"""


def crashed(folder: Path, path: Path, meanwhile: Callable[[], MainWindow]) -> MainWindow:
    """Edit a file and an unsaved project in another process and kill it; return what is made meanwhile."""
    command = [sys.executable, "-c", KILLED, str(folder), str(path)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        made = meanwhile()
        assert process.stdout.readline() == "written\n"
        process.kill()
    return made


def saved(path: Path, name: str = "Example") -> Path:
    project_file.save(replace(example.project(), name=name), path)
    return path


@pytest.fixture
def at_offer() -> Iterator[Callable[[Callable[[RecoveredDialog], None]], None]]:
    """Do something in the dialog that offers unsaved work, once it is there."""
    problems: list[BaseException] = []

    def act(do: Callable[[RecoveredDialog], None]) -> None:
        def look() -> None:
            dialog = QApplication.activeModalWidget()
            if not isinstance(dialog, RecoveredDialog):
                QTimer.singleShot(20, look)
                return
            try:
                do(dialog)
            except BaseException as problem:
                problems.append(problem)
                dialog.reject()

        QTimer.singleShot(20, look)

    yield act
    if problems:
        raise problems[0]


def press(button: object) -> None:
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)  # type: ignore[call-overload]


def back(person: Person) -> float:
    return person.project.wheels[0].section.vertices[BACK].z


# After a crash


def test_crash_restart_offer_open(
    make_window: Callable[[], MainWindow],
    tmp_path: Path,
    at_offer: Callable[[Callable[[RecoveredDialog], None]], None],
    answer: Answer,
) -> None:
    """A crash of a saved and of a never saved project; one is gone on with, the other waits."""
    path = saved(tmp_path / "shared.blankwright")
    on_disk = path.read_bytes()
    window = crashed(tmp_path, path, make_window)
    seen: list[str] = []

    def choose(dialog: RecoveredDialog) -> None:
        seen.extend(dialog.list.item(row).text() for row in range(dialog.list.count()))
        assert dialog.focusWidget() is dialog.list
        QTest.keyClick(dialog.list, Qt.Key.Key_Down)
        seen.append(dialog.details.text())
        press(dialog.go_on)

    at_offer(choose)
    assert window.files.offer_recovered()
    never, shared, words = seen  # newest first
    assert never.startswith("Example: changed ")
    assert never.endswith("never saved")
    assert shared.startswith("shared.blankwright: changed ")
    assert ", saved " in shared
    assert "1 change not saved, the last one: Move vertex 41." in words
    assert str(path) in words
    document = window.document
    assert document.path == path
    assert document.is_modified
    assert document.project.wheels[0].section.vertices[BACK].z == 52.5
    assert path.read_bytes() == on_disk
    # The other one is still offered, to the menu of any window; what a living window holds is not.
    second = make_window()
    rows: list[int] = []

    def later(dialog: RecoveredDialog) -> None:
        rows.append(dialog.list.count())
        QTest.keyClick(dialog, Qt.Key.Key_Escape)

    def away(dialog: RecoveredDialog) -> None:
        rows.append(dialog.list.count())
        press(dialog.discard)

    at_offer(later)
    second.actions_by_name["open_recovered"].trigger()
    at_offer(away)
    second.actions_by_name["open_recovered"].trigger()
    assert rows == [1, 1]
    assert not second.files.offer_recovered()
    # Saving is the user's word: the file takes the work, and the journal goes.
    assert window.files.save()
    assert window.recovery.flush()
    assert project_file.load(path).wheels[0].section.vertices[BACK].z == 52.5
    assert not list((tmp_path / "state").glob("journals/*"))


def journal(person: Person, tmp_path: Path) -> list[float]:
    """Return where the newest state of each journal has the vertex."""
    assert person.window.recovery.flush()
    states = [newest(path.read_bytes())[0] for path in (tmp_path / "state").glob("journals/*/journal")]
    return [s.project.wheels[0].section.vertices[BACK].z for s in states if s is not None]


def test_every_edit_undo_and_redo_is_in_the_journal(person: Person, tmp_path: Path) -> None:
    assert journal(person, tmp_path) == []
    person.window.document.select_vertex(BACK)
    person.enter("52.5")
    assert journal(person, tmp_path) == [52.5]
    person.enter("53")
    person.do("undo")
    assert journal(person, tmp_path) == [52.5]
    person.do("redo")
    assert journal(person, tmp_path) == [53.0]
    end = person.drag(BACK, (54.0, person.vertex(BACK)[1]))
    assert journal(person, tmp_path) == [53.0]  # not released yet
    person.release(end)
    assert journal(person, tmp_path) == [back(person)]
    for _ in range(3):
        person.do("undo")
    assert not person.window.document.is_modified
    assert journal(person, tmp_path) == []  # nothing is unsaved


def test_an_unusable_folder_is_told_once_and_the_work_goes_on(person: Person, tmp_path: Path) -> None:
    (tmp_path / "state").write_text("a file in its place")
    person.window.document.select_vertex(BACK)
    person.enter("52.5")
    person.qtbot.waitUntil(lambda: "not kept against a crash" in person.status, timeout=3000)
    person.enter("53")
    person.window.recovery.flush()
    person.settle()
    assert person.status == ""
    assert back(person) == 53.0


# Another program


def test_a_change_by_another_program_is_noticed_on_the_way_back(
    person: Person, tmp_path: Path, answer: Answer
) -> None:
    path = saved(tmp_path / "shared.blankwright")
    assert person.window.files.open_path(path)
    person.window.document.select_vertex(BACK)
    person.enter("52.5")
    saved(path, "By another")
    asked = answer("Keep mine")
    QApplication.sendEvent(person.window, QEvent(QEvent.Type.ActivationChange))
    person.settle()
    assert "changed by another program" in asked[0]
    QApplication.sendEvent(person.window, QEvent(QEvent.Type.ActivationChange))
    person.settle()
    assert len(asked) == 1  # once for each change
    assert back(person) == 52.5
    saved(path, "By another again")
    asked = answer("Reload it")
    person.window.files.look_at_disk()
    assert "unsaved work" in asked[0]
    assert person.project.name == "By another again"
    assert not person.window.document.is_modified


def test_what_reloading_and_saving_replace_can_be_opened(
    person: Person, tmp_path: Path, answer: Answer, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = saved(tmp_path / "shared.blankwright")
    person.window.files.open_path(path)
    person.do("open_earlier")
    assert "No earlier state" in person.status
    document = person.window.document
    for z in ("52.5", "53", "53.5", "54", "54.5", "55"):
        document.select_vertex(BACK)
        person.enter(z)
        person.do("save")
    offered: list[str] = []

    def third(*args: object, **_named: object) -> tuple[str, bool]:
        offered.extend(args[3])  # type: ignore[arg-type]
        return offered[2], True

    monkeypatch.setattr(QInputDialog, "getItem", third)
    person.do("open_earlier")
    assert len(offered) == 5
    assert back(person) == 53.5  # 55 is in the file, 54.5 and 54 before it
    assert document.is_modified
    assert document.path == path
    assert project_file.load(path).wheels[0].section.vertices[BACK].z == 55.0
    offered.clear()
    saved(path, "By another")
    answer("Reload it")
    person.window.files.look_at_disk()
    assert not document.is_modified
    monkeypatch.setattr(QInputDialog, "getItem", lambda *args, **_: (args[3][0], True))
    person.do("open_earlier")
    assert back(person) == 53.5


# A second window


def test_a_second_window_on_the_file_is_told_and_may_have_a_copy(
    person: Person,
    make_window: Callable[[], MainWindow],
    tmp_path: Path,
    answer: Answer,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    path = saved(tmp_path / "shared.blankwright")
    assert person.window.files.open_path(path)
    second = make_window()
    asked = answer("Cancel")
    assert not second.files.open_path(path)
    assert "shared.blankwright is open in another window since" in asked[0]
    assert second.document.path is None
    answer("Open a copy")
    assert second.files.open_path(path)
    assert second.document.path is None
    assert second.document.is_modified
    for name, wanted in (("shared", "Cancel"), ("mine", "")):
        monkeypatch.setattr(
            QFileDialog, "getSaveFileName", lambda *_args, n=name, **_: (str(tmp_path / n), "")
        )
        asked = answer(*([wanted] if wanted else []))
        assert second.files.save() is (name == "mine")
        assert bool(asked) is (name == "shared")
    assert second.document.path == tmp_path / "mine.blankwright"
    # The first lets go: the second may have the file itself.
    person.do("new")
    assert second.files.open_path(path)
    assert second.document.path == path
    with pytest.raises(HeldError):
        Hold(path)
    assert second.close()
    Hold(path).release()
    assert not list(tmp_path.glob(".blankwright-*"))


def test_many_damaged_journals_are_told_at_once(
    person: Person, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    journals = tmp_path / "journals"
    for n in range(7):
        left = journals / f"20260101-00000{n}-1-0000000{n}"
        left.mkdir(parents=True)
        (left / "journal").write_bytes(b"no journal at all, and long enough to be looked at" * 4)
    said: list[str] = []
    monkeypatch.setattr(recovered, "tell", lambda *words: said.append(words[2]))
    assert recovered.choose(person.window, journals) == (None, True)
    (words,) = said
    assert words.count("is damaged") == 5
    assert words.endswith("+ 2")
    assert recovered.choose(person.window, journals) == (None, False)
    assert len(said) == 1

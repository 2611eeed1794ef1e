"""Files and kept work of older and newer versions, as a person meets them."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtWidgets import QFileDialog, QMessageBox

from app.files.conversion import SAID
from app.files.kept import kept_states
from app.files.migrations import FORMAT
from app.files.project_file import load, open_file
from tests.gui.conftest import Person
from tests.support.project_docs import golden


@pytest.fixture
def lists(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, str, str]]:
    """Gather title, text and list of every message box that comes up, and close it."""
    seen: list[tuple[str, str, str]] = []

    def read(box: QMessageBox) -> int:
        seen.append((box.windowTitle(), box.text(), box.informativeText()))
        return int(QMessageBox.StandardButton.Ok)

    monkeypatch.setattr(QMessageBox, "exec", read)
    return seen


def test_an_old_file_is_opened_with_a_list_and_saving_keeps_it(
    person: Person, tmp_path: Path, lists: list[tuple[str, str, str]]
) -> None:
    path = tmp_path / "old.blankwright"
    path.write_bytes(golden(1).read_bytes())
    assert person.window.files.open_path(path)
    ((title, text, listed),) = lists
    assert title == "Converted from an older format"
    assert f"has format 1; saving writes {FORMAT}" in text
    assert listed.splitlines() == [f"\N{BULLET} {words}" for words in open_file(path).changes]
    assert SAID[2][1] in listed
    assert not person.window.isWindowModified()
    assert path.read_bytes() == golden(1).read_bytes()  # opening alone writes nothing
    person.do("save")
    assert load(path) == load(golden(1)) == person.project
    state = person.window.files._state
    assert [kept.path.read_bytes() for kept in kept_states(path, state)] == [golden(1).read_bytes()]
    assert len(lists) == 1
    assert person.window.files.open_path(path)  # of today's format now: nothing to be said
    assert len(lists) == 1


def test_a_newer_file_says_what_it_takes_and_stays(
    person: Person, tmp_path: Path, lists: list[tuple[str, str, str]]
) -> None:
    path, before = tmp_path / "newer.blankwright", person.project
    newer = golden(FORMAT).read_bytes().replace(b'"format": %d,' % FORMAT, b'"format": 99,')
    path.write_bytes(newer)
    assert not person.window.files.open_path(path)
    assert "one that reads format 99" in lists[0][1]
    assert person.project == before
    assert path.read_bytes() == newer


def test_a_damaged_file_is_recovered_on_request_with_a_list_and_stays(
    person: Person, tmp_path: Path, answer: Callable[..., list[str]]
) -> None:
    path = tmp_path / "broken.blankwright"
    whole = golden(FORMAT).read_bytes()
    path.write_bytes(whole[: whole.index(b'"shapes": [')])
    before = person.project
    asked = answer("Cancel")
    assert not person.window.files.open_path(path)
    assert "Of its parts these can be read: 2 in wheels: Track 18" in asked[0]
    assert person.project == before
    asked = answer("Recover what can be read", "OK")
    assert person.window.files.open_path(path)
    assert "look over what it says" in asked[1]
    assert person.window.isWindowModified()
    assert person.window.document.path is None  # saving asks for a name: the damaged file is not replaced
    assert [w.name for w in person.project.wheels] == ["Track 18", "Track 18 frei ±½"]
    assert all(shape.open_questions() for shape in person.project.shapes)
    assert path.read_bytes() == whole[: whole.index(b'"shapes": [')]


@pytest.mark.parametrize(
    "name",
    ["with spaces, räder и колёса.blankwright", "n" * 243 + ".blankwright", "ü" * 121 + ".blankwright"],
)
def test_long_and_foreign_names_are_saved_opened_and_kept_and_a_folder_that_goes_costs_no_work(
    person: Person,
    tmp_path: Path,
    answer: Callable[..., list[str]],
    monkeypatch: pytest.MonkeyPatch,
    name: str,
) -> None:
    folder = tmp_path / "сезон 2026 ß"
    folder.mkdir()
    path, files = folder / name, person.window.files
    person.window.document.select_vertex(40)
    person.enter("52.5")
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args, **_named: (str(path), ""))
    assert files.save_as()
    person.enter("53.5")
    person.do("save")
    assert load(path) == person.project
    assert len(kept_states(path, files._state)) == 1
    person.enter("54.5")
    shutil.rmtree(folder)
    asked = answer("OK")
    person.do("save")
    assert "the folder is not there; nothing changed" in asked[0]
    assert person.window.isWindowModified()
    other = tmp_path / "other.blankwright"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args, **_named: (str(other), ""))
    assert files.save_as()
    assert load(other) == person.project
    assert not person.window.isWindowModified()

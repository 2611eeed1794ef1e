"""The manual: its pages, its pictures, and the page that F1 leads to from what is in front."""

from __future__ import annotations

import contextlib
import importlib
import inspect
import io
import pkgutil
import re
from collections.abc import Iterator

import pytest
from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QImage, QTextDocument
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog

import app.window
from app import resources
from app.project.caution import CAUTION
from app.views.explained import EXPLAINED
from app.window import actions, pictures
from app.window.help import _PAGE_OF
from app.window.manual import Manual
from app.window.manual_pages import EXAMPLE, PAGES, page
from tests.gui.conftest import Person, write


@pytest.fixture(autouse=True)
def no_child(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draw no pictures in a child; one test draws them itself."""
    monkeypatch.setattr(Manual, "_draw_pictures", lambda _self: None)


@pytest.fixture
def manual(person: Person) -> Iterator[Manual]:
    person.key(Qt.Key.Key_F1)
    found = person.window.help.manual
    assert found is not None
    yield found
    found.close()


def test_f1_leads_to_the_page_of_what_is_in_front(person: Person) -> None:
    window = person.window
    person.key(Qt.Key.Key_F1)
    manual = window.help.manual
    assert manual is not None
    assert manual.isVisible()
    assert manual.name == "drawing"
    window.activateWindow()
    window.readings.tree.setFocus()
    person.settle()
    person.key(Qt.Key.Key_F1)
    assert manual.name == "readings"
    window.activateWindow()
    person.settle()
    person.do("new_blank")
    dialog = QApplication.activeModalWidget()
    assert dialog is not None
    person.settle()
    person.key(Qt.Key.Key_F1)
    assert manual.name == "blanks"
    dialog.close()
    manual.close()


def test_every_page_is_whole_and_names_what_there_is(person: Person) -> None:
    for name, title in PAGES.items():
        text = page(name, person.window)
        assert text.startswith(f"# {title}\n")
        assert not re.search(r"\{[a-z]", text), name
        assert set(re.findall(r"!\[[^]]+\]\(([^)]+)\)", text)) <= set(pictures.SCENES)
    used = "".join(resources.manual(name).read_text(encoding="utf-8") for name in PAGES)
    assert all(f"({scene})" in used for scene in pictures.SCENES)


def test_pages_know_every_command_and_reading_and_the_caution(person: Person) -> None:
    of_commands, of_readings = page("commands", person.window), page("readings", person.window)
    for action in actions.every():
        if action.name not in ("undo", "redo"):  # these say what they would take back
            assert f"| {action.text.replace('&', '').rstrip('.')} |" in of_commands
    assert all(e.definition in of_readings for e in EXPLAINED.values())
    assert CAUTION in page("start", person.window)
    assert CAUTION in page("strength", person.window)


def test_a_changed_key_stands_in_the_manual(person: Person, manual: Manual) -> None:
    person.window.keys.give("commands", "F12")
    manual.show_page("commands")
    assert "F12 opens the list of commands" in manual.text.toPlainText()


def test_words_are_found_on_the_pages_behind(person: Person, manual: Manual) -> None:
    write(manual.search, "paper gauge")
    QTest.keyClick(manual.search, Qt.Key.Key_Return)
    assert manual.name == "files"
    assert manual.text.textCursor().selectedText() == "paper gauge"


def test_the_script_of_the_manual_runs() -> None:
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        exec(compile(EXAMPLE, "manual", "exec"), {})
    assert [line.split()[0] for line in out.getvalue().splitlines()] == ["37.0", "38.0", "39.0"]


def test_pictures_are_drawn_whole_and_shown(person: Person, manual: Manual) -> None:
    pictures.draw(manual.folder, dark=False)
    files = {file.stem: QImage(str(file)) for file in manual.folder.glob("*.png")}
    assert set(files) == set(pictures.SCENES)
    for name, image in files.items():
        assert 200 <= image.width() <= pictures.WIDEST * image.devicePixelRatio()
        colours = {image.pixel(x, y) for x in range(0, image.width(), 7) for y in range(0, image.height(), 7)}
        assert len(colours) > 10, name
    assert not list(manual.folder.parent.glob("part-*"))
    manual._renew()
    for name in ("drawing", "readings"):
        manual.show_page(name)
        shown = manual.text.loadResource(QTextDocument.ResourceType.ImageResource.value, QUrl(name))
        assert isinstance(shown, QImage)
        assert shown.size() == files[name].size()
        assert manual.text.document().size().height() > files[name].height() / files[name].devicePixelRatio()


def test_every_window_has_its_page() -> None:
    found = set()
    for module in pkgutil.walk_packages(app.window.__path__, "app.window."):
        for name, kind in inspect.getmembers(importlib.import_module(module.name), inspect.isclass):
            if issubclass(kind, QDialog) and kind.__module__ == module.name and not name.startswith("_"):
                found.add(name)
    without = {name for name in found if not any(word in name for word, _ in _PAGE_OF)}
    assert without <= {"ProjectDialog", "CarefulDialog", "RenameDialog"}  # frames of others, and one field
    assert len(found) > 30

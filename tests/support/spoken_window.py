"""The window in a language, driven for a test: `python -m tests.support.spoken_window LANGUAGE FOLDER`.

Into the folder go the files that a window writes, and `words.json` with what it says. Tables of words are
made when the window's modules come in, so that each language needs a process of its own.
"""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path

from app import language, resources


def main(code: str, folder: Path) -> None:
    """Open a sample, edit it, save and export it; keep the words of menus, readings and an error."""
    language.choose(code)
    from PySide6.QtWidgets import QLabel

    from app.reports.outputs import export_section, report
    from app.studies.match import as_csv, match
    from app.window.main import application
    from app.window.main_window import MainWindow
    from app.window.settings import Settings

    app = application()
    window = MainWindow(Settings(folder / "window.ini"), folder / "state")
    window.resize(1440, 900)
    window.show()
    window.document.open(resources.sample("1-track-18-own-blank"))
    project = window.document.project
    wheel = replace(project.wheels[0], inset_mm=project.wheels[0].inset_mm + 1.0)
    window.document.commit(replace(project, wheels=(wheel, *project.wheels[1:])), "Inset")
    app.processEvents()
    project, wheel = window.document.project, window.document.project.wheels[0]
    window.document.save(folder / "saved.blankwright")
    export_section(project, wheel, folder / "section.dxf")
    export_section(project, wheel, folder / "section.csv")
    (folder / "match.csv").write_text(as_csv(match(project)), encoding="utf-8")
    (folder / "pages.pdf").write_bytes(report(project, wheel)[0])
    window.document.say("An outline needs at least three vertices; delete the whole part instead.")
    menus = [action.text() for action in window.menuBar().actions()]
    words = {
        "menus": menus,
        "actions": {name: action.text() for name, action in window.actions_by_name.items()},
        "readings": window.readings.model.data(window.readings.model.index(0, 0)),
        "status": window.statusBar().currentMessage(),
        "labels": [label.text() for label in window.findChildren(QLabel) if label.isVisible()],
        "cut": [
            label.text()
            for label in window.findChildren(QLabel)
            if label.isVisible() and not label.wordWrap() and label.width() < label.sizeHint().width()
        ],
        "imported": _imported(folder / "section.dxf"),
        "state": language.spoken(str(window.document.state.state)),
    }
    (folder / "words.json").write_text(json.dumps(words), encoding="utf-8")
    window.document.undo_stack.setClean()
    window.close()


def _imported(path: Path) -> list[int]:
    """Return how many outlines a file gives as shape, blank and wheel, in turn."""
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    from app.project.project import Project
    from app.window.dialogs.import_outline import ImportDialog
    from tests.support.importing import ready

    dialog = ImportDialog(Project("Empty"), path)
    dialog.show()
    found = []
    for _ in range(3):
        ready(dialog)
        found.append(len(dialog.found.loops) if dialog.found is not None else 0)
        QTest.keyClick(dialog.outline.becomes.editor, Qt.Key.Key_Down)
    dialog.close()
    return found


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]))

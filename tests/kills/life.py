"""One life: the program's own document, journal and files at work, without a screen, until it is killed.

It opens what is there or goes on with what the life before left behind, then edits, drags, undoes, saves and
imports in random order. The journal is compacted every few edits instead of every 8 MB.
"""

from __future__ import annotations

import os
import random
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from PySide6.QtWidgets import QApplication, QFileDialog, QWidget

from app.files import journal as journal_module
from app.files.journal import Journal, discard, pending
from app.files.readers.answer import ReadOutline
from app.files.readers.read import read_outline
from app.project import edits
from app.project.project import Project
from app.session.document import Document
from app.session.jobs import Jobs
from app.session.recovery import Recovery
from app.window import project_files
from app.window.project_files import ProjectFiles
from app.window.settings import Settings
from geometry.shape.edits import with_vertex_at
from geometry.shape.outline import Corner, NamedOutline, StayOut
from tests.kills.diary import Diary, Kind, content
from tests.support import example
from tests.support.drawings import dxf, polyline

FILE, DIARY, DRAWING = "work.blankwright", "diary", "caliper.dxf"

#: The journal is compacted at this size: a record of the example takes about 4 kB.
COMPACT_BYTES = 40_000

_MOST_SHAPES = 6
_VERTEX = 40


class Life:
    """Someone at work who is about to be killed."""

    def __init__(self, folder: Path, seed: int) -> None:
        self.random = random.Random(seed)
        self.folder, self.path = folder, folder / FILE
        self.app = QApplication(["blankwright", "-platform", "offscreen"])
        self.diary = Diary(folder / DIARY)
        self.document = Document()
        self.content = 0
        self.document.committed.connect(self._before_the_journal)
        self.recovery = Recovery(self.document, folder / "journals")
        self.document.committed.connect(lambda *_: self.diary.note(Kind.EDITED, self.content))
        self.recovery.troubled.connect(_give_up)
        self.jobs = Jobs()
        self.widget = QWidget()
        settings = Settings(folder / "window.ini")
        self.files = ProjectFiles(self.widget, self.document, settings, self.recovery, folder)
        self.edits = 0

    def run(self, go_on_with: int | None) -> None:
        """Begin, and work on until killed; `go_on_with` is the content that is chosen of what is left."""
        self._begin(go_on_with)
        self.diary.note(Kind.READY)
        doings = (self._edit, self._drag, self._undo, self._save, self._import, self._rest)
        while True:
            self.random.choices(doings, (40, 20, 15, 12, 3, 10))[0]()
            self.app.processEvents()

    def _before_the_journal(self, project: Project, _words: str) -> None:
        self.content = content(project)
        self.diary.note(Kind.EDIT, self.content)

    def _begin(self, go_on_with: int | None) -> None:
        left = [each for each in pending(self.folder / "journals") if each.state is not None]
        chosen = next(
            (each for each in left if each.state and content(each.state.project) == go_on_with), None
        )
        if chosen is not None:
            if not self.files._go_on(chosen):
                _give_up("what was left behind could not be gone on with")
        elif self.path.exists():
            self.files.open_path(self.path)
        else:
            self.document.start(example.project())
        for each in left:
            discard(each)

    def _edit(self) -> None:
        self.document.commit(self._moved(), f"Move vertex {_VERTEX + 1}")

    def _drag(self) -> None:
        self.diary.note(Kind.DRAG)
        for _ in range(self.random.randint(1, 8)):
            self.document.preview(self._moved())
            self.app.processEvents()
        self.document.commit(self._moved(), "Drag")
        self.diary.note(Kind.DRAGGED)

    def _undo(self) -> None:
        for _ in range(self.random.randint(1, 4)):
            self.random.choice((self.document.undo, self.document.undo, self.document.redo))()

    def _save(self) -> None:
        self.diary.note(Kind.SAVE, content(self.document.project))
        if not self.files.save():
            _give_up("not saved")
        self.diary.note(Kind.SAVED, content(self.document.project))

    def _import(self) -> None:
        self.diary.note(Kind.IMPORT)
        drawing = self.folder / DRAWING

        def done(found: ReadOutline) -> None:
            self.document.commit(self._with_shape(found), "Import outline")
            self.diary.note(Kind.IMPORTED)

        self.jobs.start("reading", lambda: read_outline(drawing), done, lambda error: _give_up(str(error)))

    def _rest(self) -> None:
        self.app.thread().msleep(self.random.randint(0, 30))

    def _moved(self) -> Project:
        project = self.document.project
        self.edits += 1
        wheel = project.wheels[0]
        v = wheel.section.vertices[_VERTEX]
        z, r = v.z + self.random.uniform(-0.01, 0.01), v.r + self.random.uniform(-0.01, 0.01)
        moved = wheel.with_section(with_vertex_at(wheel.section, _VERTEX, z, r))
        project = edits.replaced(project, edits.WHEEL, wheel.name, moved)
        return replace(project, revision=str(self.edits))

    def _with_shape(self, found: ReadOutline) -> Project:
        project = self.document.project
        self.edits += 1
        corners = tuple(Corner(z, r, bulge=bulge) for z, r, bulge in found.loops[0])
        shape = StayOut(f"Imported {self.random.getrandbits(64):x}", (NamedOutline("as drawn", corners),))
        return replace(project, shapes=(*project.shapes[:_MOST_SHAPES], shape))


def live(folder: Path, seed: int, go_on_with: int | None) -> None:
    """Live until killed; anything unexpected ends the process by itself, which counts as a failure."""
    os.environ["TMPDIR"] = str(folder)
    journal_module.MOST_BYTES = COMPACT_BYTES
    for name in ("ask", "tell"):
        setattr(project_files, name, lambda *words, **_: _give_up(str(words[2])))
    QFileDialog.getSaveFileName = lambda *_, **__: (str(folder / FILE), "")  # type: ignore[method-assign]
    sys.excepthook = lambda kind, error, _: _give_up(f"{kind.__name__}: {error}")
    life = Life(folder, seed)
    Journal._replace = _noted(Journal._replace, life.diary)  # type: ignore[method-assign,assignment]
    life.run(go_on_with)


def drawing() -> bytes:
    """Return the drawing that is imported."""
    return dxf(polyline((-74.0, 116.0), (46.0, 116.0), (46.0, 190.0), (-74.0, 200.0)))


def _noted(replace_: Callable[[Journal, bytes], None], diary: Diary) -> Callable[[Journal, bytes], None]:
    def noted(journal: Journal, record: bytes) -> None:
        diary.note(Kind.COMPACT)
        replace_(journal, record)
        diary.note(Kind.COMPACTED)

    return noted


def _give_up(words: str) -> None:
    os.write(2, f"a life ended by itself: {words}\n".encode())
    os._exit(1)

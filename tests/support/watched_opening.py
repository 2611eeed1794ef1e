"""Opens all that can be opened, with an audit hook: notes what is touched and run meanwhile.

Run by tests as `python watched_opening.py ROOT FOLDER [window]`: by the functions that read, or as a person
at the window opens project files. FOLDER gets the files that are opened, and `notes`:
one line of JSON for each event of the standard library's table of audit events, with what was being opened.
Everything is opened twice, and noted the second time alone, when all code is loaded.
"""

import json
import os
import shutil
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

ROOT, FOLDER = Path(sys.argv[1]), Path(sys.argv[2])
sys.path.insert(0, str(ROOT))

from openpyxl import Workbook  # noqa: E402 - the path comes first
from PIL import Image  # noqa: E402

from app.files.hold import Hold  # noqa: E402
from app.files.journal import Journal, State, pending  # noqa: E402
from app.files.kept import keep_replaced, kept_states  # noqa: E402
from app.files.on_disk import see  # noqa: E402
from app.files.project_file import ProjectFileError, load, open_file  # noqa: E402
from app.files.readers.answer import ReadError, Request  # noqa: E402
from app.files.readers.read import read_outline  # noqa: E402
from app.files.readers.read_picture import read_picture  # noqa: E402
from app.files.readers.roadmap_file import read_roadmap  # noqa: E402
from app.files.readers.worker import read  # noqa: E402
from app.files.salvage import salvage  # noqa: E402
from app.files.writers.roadmap import write_roadmap  # noqa: E402

CORPUS = ROOT / "tests" / "corpus" / "files"

#: What is read by the parent through the child; all kinds are read here too, as the child does it.
THROUGH_CHILD = (".dxf",)

_notes: int = -1
_opened = ""


def _hook(event: str, arguments: tuple[object, ...]) -> None:
    if _notes >= 0:
        said = [_opened, event, [repr(a)[:300] for a in arguments]]
        os.write(_notes, (json.dumps(said) + "\n").encode())


def _files() -> Iterator[tuple[str, Callable[[], object]]]:
    """Yield a name and what opens it."""
    projects = sorted(FOLDER.glob("*.blankwright"))
    for path in projects:
        yield path.name, lambda path=path: (see(path), open_file(path))  # type: ignore[misc]
        if path.name.startswith("format-"):
            yield f"{path.name} damaged", lambda path=path: salvage(path.read_bytes()[:-2000])  # type: ignore[misc]
    yield "state/kept", lambda: _keep(projects[0])
    yield "state/journals", lambda: pending(FOLDER / "state" / "journals")
    yield "lock", lambda: Hold(projects[0]).release()
    for path in sorted((FOLDER / "import").iterdir()):
        if path.suffix == ".png":
            yield path.name, lambda path=path: read_picture(path)  # type: ignore[misc]
        elif path.stem == "roadmap":
            yield path.name, lambda path=path: read_roadmap(path, load(projects[0]))  # type: ignore[misc]
        else:
            request = Request(path.suffix, unit="mm")
            yield path.name, lambda path=path, request=request: read(path.read_bytes(), request)  # type: ignore[misc]
            if path.suffix in THROUGH_CHILD:
                yield f"{path.name} by the child", lambda path=path: read_outline(path, unit="mm")  # type: ignore[misc]


def _at_the_window() -> Iterator[tuple[str, Callable[[], object]]]:
    """Yield a name and what opens it in the program's window, with all that the window then shows."""
    from PySide6.QtCore import QTimer
    from PySide6.QtWidgets import QApplication, QMessageBox

    from app.window.main import application
    from app.window.main_window import MainWindow
    from app.window.settings import Settings

    app = application()
    window = MainWindow(Settings(FOLDER / "state" / "window.ini"), FOLDER / "state")
    window.resize(1200, 800)
    window.show()

    def opens(path: Path) -> None:
        if not window.files.open_path(path):
            print(f"{path.name}: not opened")
        for _ in range(5):
            app.processEvents()

    def answer() -> None:
        """Close what an older format is told in."""
        box = QApplication.activeModalWidget()
        if isinstance(box, QMessageBox):
            box.accept()

    timer = QTimer(window)
    timer.timeout.connect(answer)
    timer.start(20)
    for path in sorted(FOLDER.glob("*.blankwright")):
        yield path.name, lambda path=path: opens(path)  # type: ignore[misc]


def _keep(path: Path) -> None:
    keep_replaced(path, FOLDER / "state")
    kept_states(path, FOLDER / "state")


def _prepare() -> None:
    imports = FOLDER / "import"
    imports.mkdir()
    for path in sorted((ROOT / "sample_projects").iterdir()):
        shutil.copy(path, FOLDER)
    golden = ROOT / "tests" / "unit" / "files_project" / "golden"
    for path in sorted(golden.iterdir(), key=lambda p: p.stat().st_size)[::5]:
        shutil.copy(path, FOLDER)
    for suffix in (".dxf", ".svg", ".csv", ".txt", ".stl", ".obj", ".ply", ".3mf", ".xlsx"):
        found = sorted(p for p in CORPUS.iterdir() if p.suffix == suffix and p.stat().st_size < 60_000)
        if found:
            shutil.copy(found[0], imports)
    Image.new("RGB", (80, 60), "white").save(imports / "sheet.png")
    sample = load(next(iter(sorted(FOLDER.glob("4-*.blankwright")))))
    for suffix in (".csv", ".xlsx"):
        write_roadmap(imports / f"roadmap{suffix}", sample.fitments[:3])
    book = Workbook()
    book.active.append(["z", "r"])
    book.save(FOLDER / "unused.xlsx")
    # A journal of a process that has ended: its lock is free.
    journal = Journal(FOLDER / "state" / "journals")
    journal.append(State(sample, "Move vertex 3", 1, time.time()))
    (path,) = (FOLDER / "state" / "journals").glob("*/journal")
    left = FOLDER / "state" / "journals" / "20260101-000000-1-00000000"
    left.mkdir()
    shutil.copy(path, left)
    journal.clear()


def main() -> None:
    """Open all twice."""
    global _notes, _opened
    _prepare()
    sys.addaudithook(_hook)
    openings = list(_at_the_window() if "window" in sys.argv[3:] else _files())
    for is_noted in (False, True):
        for name, opens in openings:
            if is_noted:
                _opened = name
                if _notes < 0:
                    _notes = os.open(FOLDER / "notes", os.O_WRONLY | os.O_CREAT | os.O_APPEND)
            try:
                opens()
            except (ReadError, ProjectFileError) as error:
                print(f"{name}: {error}")
    print(f"opened {len(openings)}")


main()

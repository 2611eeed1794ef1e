"""Named pictures of the window: `python -m tests.support.screenshots OUTDIR`.

Each scene is shown light and dark, at 1 and at 2 device pixels to a logical one; the files are called
SCENE-THEME-SCALEx.png, those of a dialog's further pages SCENE-2-THEME-SCALEx.png and so on. Nothing is
compared: someone looks at them. With `--words` each scene is shown once, and what it says is written to
OUTDIR/words.json.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from app import language
from app.project.project import Project
from tests.support import example
from tests.support.screenshots_blanks import Scene

SCALES = (1, 2)


def main() -> int:
    """Make every picture."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("outdir", type=Path)
    parser.add_argument("--scene", action="append", help="only this scene; may be repeated")
    parser.add_argument("--scale", type=int, help=argparse.SUPPRESS)
    parser.add_argument("--language", default="en", help="of the window")
    parser.add_argument("--words", action="store_true", help="write what is said, in place of pictures")
    args = parser.parse_args()
    args.outdir.mkdir(parents=True, exist_ok=True)
    if args.words or args.scale is not None:
        language.choose(args.language)  # before the window's modules come in
        chosen = {name: scene for name, scene in scenes().items() if name in (args.scene or [name])}
        if args.words:
            _say(args.outdir / "words.json", chosen)
        else:
            _take(args.outdir, args.scale, chosen)
        return 0
    for scale in SCALES:
        environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "QT_SCALE_FACTOR": str(scale)}
        command = [sys.executable, "-m", "tests.support.screenshots", str(args.outdir), "--scale", str(scale)]
        command += ["--language", args.language]
        for scene in args.scene or ():
            command += ["--scene", scene]
        subprocess.run(command, env=environment, check=True)
    print(f"{len(list(args.outdir.glob('*.png')))} pictures in {args.outdir}")
    return 0


def scenes() -> dict[str, Scene]:
    """Return every scene by its name."""
    from tests.support import screenshots_blanks, screenshots_dialogs, screenshots_main, screenshots_windows

    found: dict[str, Scene] = {}
    for module in (screenshots_main, screenshots_blanks, screenshots_windows, screenshots_dialogs):
        found |= module.scenes(_wait)
    return found


def _take(outdir: Path, scale: int, chosen: dict[str, Scene]) -> None:
    from PySide6.QtGui import QPixmap

    for name, scene in chosen.items():
        for dark in (False, True):
            with _played(scene, dark) as (shown, _):
                pictures = [shown] if isinstance(shown, QPixmap) else [page.grab() for page in _pages(shown)]
            for k, picture in enumerate(pictures, start=1):
                page = f"{name}-{k}" if k > 1 else name
                picture.save(str(outdir / f"{page}-{'dark' if dark else 'light'}-{scale}x.png"))


def _say(path: Path, chosen: dict[str, Scene]) -> None:
    """Write what each scene says and paints, and the names that people gave in it."""
    from PySide6.QtWidgets import QWidget

    from app.reports.names import names_of
    from tests.support.shown_words import painted, words_of

    said = {}
    for name, scene in chosen.items():
        with painted() as drawn, _played(scene, dark=False) as (shown, project):
            if isinstance(shown, QWidget):
                words = [text for page in _pages(shown) for text in words_of(page)] + drawn
                said[name] = list(dict.fromkeys(words)), sorted(names_of(project))
    path.write_text(json.dumps(said), encoding="utf-8")


@contextmanager
def _played(scene: Scene, dark: bool) -> Iterator[tuple[Any, Project]]:
    """Play a scene in a window of its own; give what it shows, a widget or a picture, and its project."""
    from PySide6.QtGui import QPixmap
    from PySide6.QtWidgets import QApplication, QWidget

    from app.window.main import application
    from app.window.main_window import MainWindow
    from app.window.settings import Settings

    application()
    with tempfile.TemporaryDirectory() as folder:
        window = MainWindow(Settings(Path(folder) / "window.ini"), Path(folder) / "state")
        window.resize(1440, 900)
        window.show()
        window.theme.set_dark(dark)
        window.document.start(example.project())
        _settle()
        window.canvas.sheet.fit()
        made = scene(window)
        _settle()
        if isinstance(made, QPixmap):
            yield made, window.document.project
        else:
            beside = made if isinstance(made, QWidget) else window.beside.strength or window
            shown = QApplication.activeModalWidget() or beside
            yield shown, window.document.project
            if shown is not window:
                shown.close()
        window.document.undo_stack.setClean()
        window.close()
        window.deleteLater()
        _settle()


def _pages(shown: Any) -> Iterator[Any]:
    """Yield a window as it is, and once more with each further page of a dialog that has some."""
    from PySide6.QtWidgets import QTabWidget

    from app.window.dialogs.form import ProjectDialog

    yield shown
    for pages in shown.findChildren(QTabWidget) if isinstance(shown, ProjectDialog) else ():
        for k in range(1, pages.count()):
            pages.setCurrentIndex(k)
            _settle()
            yield shown


def _settle() -> None:
    from PySide6.QtWidgets import QApplication

    for _ in range(4):
        QApplication.processEvents()


def _wait(is_there: Callable[[], bool], seconds: float = 600.0) -> None:
    from PySide6.QtWidgets import QApplication

    until = time.monotonic() + seconds
    while not is_there():
        assert time.monotonic() < until, "what the scene waits for never came"
        QApplication.processEvents()
        time.sleep(0.01)


if __name__ == "__main__":
    sys.exit(main())

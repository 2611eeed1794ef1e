"""Pictures of the program, made by the program: `draw` fills a folder, the manual shows what lies there.

They are drawn offscreen by a child process when the manual is first opened, and anew when any source or
sample has changed, so that they are never those of another version.
"""

from __future__ import annotations

import hashlib
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from importlib import metadata
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QWidget

from app import resources
from app.project import edits
from app.window.main_window import MainWindow
from app.window.settings import Settings
from geometry.shape.held import Drive, Driven, Parameter

#: Width that a page of the manual has for a picture, logical pixels.
WIDEST = 720
#: How long a picture waits for the stress that it shows, s.
_LONGEST_S = 60.0
_SAMPLE, _ROADMAP = "1-track-18-own-blank", "4-roadmap-36-fitments"


def digest() -> str:
    """Return what changes whenever a source or sample does: names, sizes and times of the files."""
    package = Path(resources.__file__).parent
    files = [*sorted([*package.rglob("*.py"), *package.rglob("*.po")]), *resources.samples()]
    told = [
        metadata.version("blankwright"),
        *(f"{f} {f.stat().st_size} {f.stat().st_mtime_ns}" for f in files),
    ]
    return hashlib.sha256("\n".join(told).encode()).hexdigest()[:16]


def draw(folder: Path, dark: bool) -> None:
    """Draw every picture into a folder, which is there only when all are."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    part = Path(tempfile.mkdtemp(dir=folder.parent, prefix="part-"))
    with tempfile.TemporaryDirectory() as own:
        window = MainWindow(Settings(Path(own) / "window.ini"), Path(own) / "state")
        window.resize(1280, 800)
        window.show()
        window.theme.set_dark(dark)
        for name, scene in SCENES.items():
            window.document.open(resources.sample(_SAMPLE))
            _settle()
            window.canvas.sheet.fit()
            shown = scene(window)
            _settle()
            picture = shown.grab()
            if picture.deviceIndependentSize().width() > WIDEST:
                ratio = picture.devicePixelRatio()
                smooth = Qt.TransformationMode.SmoothTransformation
                picture = picture.scaledToWidth(round(WIDEST * ratio), smooth)
                picture.setDevicePixelRatio(ratio)
            picture.save(str(part / f"{name}.png"))
            if shown.isWindow() and shown is not window:
                shown.close()
        window.document.undo_stack.setClean()
        window.close()
        window.deleteLater()
        _settle()
    shutil.rmtree(folder, ignore_errors=True)
    part.replace(folder)


def main(arguments: list[str]) -> int:
    """Draw into the folder named first, dark if the second word says so; the child's whole task."""
    from app.window.main import application

    _app = application()
    draw(Path(arguments[0]), arguments[1] == "dark")
    sys.stdout.flush()
    return 0


def _settle() -> None:
    for _ in range(4):
        QApplication.processEvents()


def _drawing(window: MainWindow) -> QWidget:
    window.document.select_vertex(40)
    window.canvas.sheet.zoom_to((40.0, 150.0), 150.0)
    return window.canvas


def _dimensions(window: MainWindow) -> QWidget:
    """The lower spoke with a distance, an angle and a wall besides its own; the wheel's stand farther off."""
    canvas, document = window.canvas, window.document
    canvas.sheet.zoom_to((30.0, 110.0), 170.0)
    for group in ((45, 46), (48,)):
        document.select_group(group)
        canvas.dimension_these()
    document.select_vertex(41)
    return canvas


def _readings(window: MainWindow) -> QWidget:
    window.readings.choose_one()
    window.readings.explain.setChecked(True)
    return window.right


def _blank(window: MainWindow) -> QWidget:
    window.editing.edit_blank()
    return window.canvas


def _commands(window: MainWindow) -> QWidget:
    from app.window.command_list import CommandList

    dialog = CommandList(window)
    dialog.search.setText("vertex")
    dialog.resize(560, 260)
    dialog.show()
    return dialog


def _roadmap(window: MainWindow) -> QWidget:
    window.document.open(resources.sample(_ROADMAP))
    window.beside.show_roadmap()
    assert window.beside.roadmap is not None
    return window.beside.roadmap


def _parameters(window: MainWindow) -> QWidget:
    wheel = window.document.wheel
    assert wheel is not None
    parameters = (
        Parameter("back", "54.5", "mm", "spoke back from the mounting face", (Drive(Driven.Z, (41,)),)),
        Parameter("tilt", "12", "deg", "of the spoke back"),
        Parameter("rise", "back * tan(tilt) + 1/8 in", "mm", "", ()),
        Parameter("round", "max(rise / 4; 3)", "mm", "", (Drive(Driven.RADIUS, (41,)),)),
    )
    project = edits.replaced(
        window.document.project, edits.WHEEL, wheel.name, replace(wheel, parameters=parameters)
    )
    window.document.commit(project, "Parameters")
    window.beside.show_parameters()
    assert window.beside.parameters is not None
    window.beside.parameters.resize(900, 360)
    return window.beside.parameters


def _held(window: MainWindow) -> QWidget:
    for chosen, ask in (
        ((39, 40), window.holding.vertical),
        ((40, 41), window.holding.distance),
        ((41, 42), window.holding.angle),
        ((41,), window.holding.clear),
    ):
        window.document.select_group(chosen)
        ask()
    window.document.select_vertex(None)
    window.canvas.sheet.zoom_to((40.0, 150.0), 110.0)
    return window.canvas


def _constraints(window: MainWindow) -> QWidget:
    _held(window)
    window.holding.show_list()
    assert window.holding.listed is not None
    return window.holding.listed


def _strength(window: MainWindow) -> QWidget:
    """Rotating bending on the section; without its colours where the child has no answer in time."""
    window.live_stress.loads["R124 bending"].trigger()
    window.actions_by_name["stress"].setChecked(True)
    follower, until = window.live_stress.follower, time.monotonic() + _LONGEST_S
    while time.monotonic() < until:
        QApplication.processEvents()
        if follower is not None and follower.live is not None and follower.live.is_current:
            break
        time.sleep(0.02)
    return window.canvas


SCENES: dict[str, Callable[[MainWindow], QWidget]] = {
    "window": lambda window: window,
    "drawing": _drawing,
    "dimensions": _dimensions,
    "blank": _blank,
    "readings": _readings,
    "commands": _commands,
    "parameters": _parameters,
    "held": _held,
    "constraints": _constraints,
    "roadmap": _roadmap,
    # Last: its colours stay on the drawing.
    "strength": _strength,
}

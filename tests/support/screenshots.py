"""Named pictures of the window: `python -m tests.support.screenshots OUTDIR`.

Each scene is shown light and dark, at 1 and at 2 device pixels to a logical one; the files are called
SCENE-THEME-SCALEx.png. Nothing is compared: someone looks at them.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from app import language, resources
from app.project.project import Project
from app.project.strength import Outcome, TestRecord
from app.project.wheel import SingleNut, Wheel
from tests.support import example

SCALES = (1, 2)


def main() -> int:
    """Make every picture."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("outdir", type=Path)
    parser.add_argument("--scene", action="append", help="only this scene; may be repeated")
    parser.add_argument("--scale", type=int, help=argparse.SUPPRESS)
    parser.add_argument("--language", default="en", help="of the window")
    args = parser.parse_args()
    args.outdir.mkdir(parents=True, exist_ok=True)
    if args.scale is not None:
        language.choose(args.language)  # before the window's modules come in
        _take(args.outdir, args.scale, args.scene)
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


def _take(outdir: Path, scale: int, wanted: list[str] | None) -> None:
    from PySide6.QtWidgets import QApplication, QWidget

    from app.window.main import application
    from app.window.main_window import MainWindow
    from app.window.settings import Settings

    app = application()
    for name, scene in _scenes().items():
        if wanted and name not in wanted:
            continue
        for dark in (False, True):
            with tempfile.TemporaryDirectory() as folder:
                window = MainWindow(Settings(Path(folder) / "window.ini"), Path(folder) / "state")
                window.resize(1440, 900)
                window.show()
                window.theme.set_dark(dark)
                window.document.start(example.project())
                _settle(app)
                window.canvas.sheet.fit()
                made = scene(window)
                _settle(app)
                beside = made if isinstance(made, QWidget) else window.beside.strength or window
                shown = QApplication.activeModalWidget() or beside
                picture = shown.grab()
                picture.save(str(outdir / f"{name}-{'dark' if dark else 'light'}-{scale}x.png"))
                if shown is not window:
                    shown.close()
                window.document.undo_stack.setClean()
                window.close()
                window.deleteLater()
                _settle(app)


def _settle(app: object) -> None:
    for _ in range(4):
        app.processEvents()  # type: ignore[attr-defined]


def _scenes() -> dict[str, Callable[..., object]]:
    scenes: dict[str, Callable[..., object]] = {
        "empty": _empty,
        "whole": lambda window: None,
        "selected": _selected,
        "dimensions": _dimensions,
        "dimension-typed": _dimension_typed,
        "tightest": lambda window: window.canvas.sheet.zoom_to_tightest(),
        "drag": _drag,
        "driven": _driven,
        "typed-wrong": _typed_wrong,
        "fault": _fault,
        "blank": lambda window: window.editing.edit_blank(),
        "not-known": _not_known,
        "touching": _touching,
        "compared": _compared,
        "bare": _bare,
        "inches": lambda window: window.actions_by_name["inch"].setChecked(True),
        "keys": lambda window: window.help.show_keys(),
        "commands": lambda window: window.help.show_commands(),
        "about": lambda window: window.help.show_about(),
    }
    for action in ("new_wheel", "new_blank", "new_shape", "new_rules", "new_material", "new_fitment"):
        scenes[action.replace("_", "-")] = _dialog(action)
    scenes["change-size"] = _dialog("change_size")
    scenes["wheel-details"] = _dialog("details")
    for k, path in enumerate(resources.samples(), start=1):
        scenes[f"sample-{k}"] = _sample(path)
    for name in ("unit_missing.dxf", "gaps_0_2.dxf", "frame_and_title.dxf", "scale_text_half.dxf"):
        scenes[f"import-{name}"] = _import(name)
    for name in ("xlsx_two_sheets.xlsx", "points_ball_centres.csv", "stl_fragments.stl"):
        scenes[f"import-{name}"] = _import(name)
    for page in ("coverage_page", "plan_page", "dies_page", "risk_page", "enquiry_page"):
        scenes[f"programme-{page.removesuffix('_page')}"] = _programme(page)
    scenes["sheet"] = lambda window: window.dialogs.brake_sheet()
    scenes["variant"] = lambda window: window.dialogs.brake_variant()
    scenes["stress"] = _stress("R124 bending")
    scenes["stress-rolling"] = _stress("R124 rolling")
    scenes["strength"] = _strength("1-track-18-own-blank")
    scenes["strength-beside"] = _strength("5-spun-and-variant-blank")
    scenes["strength-failed"] = _strength("5-spun-and-variant-blank", failed=True)
    scenes["strength-settings"] = _dialog("strength_settings")
    scenes["test-made"] = _dialog("new_test")
    scenes["source-card"] = lambda window: window.dialogs.edit_card(example.TIE_ROD)
    from app.window.pictures import SCENES
    from tests.support.screenshots_blanks import scenes as of_blanks

    scenes |= of_blanks(_wait)
    scenes |= {f"manual-{name}": scene for name, scene in SCENES.items()}
    scenes["manual"] = _manual
    return scenes


def _manual(window) -> object:  # type: ignore[no-untyped-def]
    window.help.show_manual()
    _wait(lambda: window.help.manual.folder.is_dir())
    return window.help.manual


def _dimensions(window) -> None:  # type: ignore[no-untyped-def]
    """Added ones of every kind, round the lower spoke."""
    canvas = window.canvas
    canvas.sheet.zoom_to((30.0, 110.0), 170.0)
    for group, times in (((41, 45), 1), ((45, 46), 2), ((45, 47), 3), ((44,), 1), ((48,), 1)):
        window.document.select_group(group)
        for _ in range(times):
            canvas.dimension_these()
    window.document.select_vertex(None)
    canvas._point((50.2, 147.0))
    canvas.dimension_these()
    window.document.select_vertex(41)


def _dimension_typed(window) -> None:  # type: ignore[no-untyped-def]
    dimensioning = window.canvas.dimensioning
    inset = next(x for x in window.canvas.sheet.dimensions.laid if x.text.startswith("inset"))
    dimensioning.type_into(inset.dimension)
    dimensioning.box.setText("38 + 1/2 in")
    dimensioning.box.textEdited.emit("38 + 1/2 in")


def _dialog(action: str) -> Callable[..., None]:
    return lambda window: window.actions_by_name[action].trigger()


def _import(name: str) -> Callable[..., None]:
    def show(window) -> None:  # type: ignore[no-untyped-def]
        from PySide6.QtWidgets import QApplication

        from app.window.dialogs.import_outline import ImportDialog
        from tests.corpus.truth import FILES
        from tests.support.importing import ready

        window.dialogs.import_outlines([FILES / name])
        dialog = QApplication.activeModalWidget()
        assert isinstance(dialog, ImportDialog)
        ready(dialog, seconds=60.0)

    return show


def _stress(case: str) -> Callable[..., None]:
    def show(window) -> None:  # type: ignore[no-untyped-def]
        window.live_stress.loads[case].trigger()
        window.actions_by_name["stress"].setChecked(True)
        _wait(lambda: window.live_stress.follower.live.is_current)

    return show


def _strength(sample: str, *, failed: bool = False) -> Callable[..., None]:
    """Show the strength window of a sample, beside its second wheel where it has one; it is the picture.

    `failed`: a wheel with a single nut, of which two samples failed that give no factor.
    """

    def show(window) -> None:  # type: ignore[no-untyped-def]
        window.files.open_path(resources.sample(sample))
        project = window.document.project
        if len(project.wheels) > 1:
            first = replace(project.wheels[0], reference=project.wheels[1].name)
            if failed:
                first = replace(first, fixing=SingleNut(60.0, 84.0, 12.7, 6, 120.0, 15.0))
                rolled = TestRecord("Bench 9", None, "GT", "R124 rolling", outcome=Outcome.FAILED)
                hit = TestRecord("Drop 1", first.name, case="13 degree impact", outcome=Outcome.FAILED)
                project = replace(project, test_records=(rolled, hit))
            wheels = (first, *project.wheels[1:])
            window.document.commit(replace(project, wheels=wheels), "Reference")
        window.actions_by_name["strength"].trigger()
        _wait(lambda: window.beside.strength.shown is not None and not window.beside.strength.study.is_busy)

    return show


def _wait(is_there: Callable[[], bool], seconds: float = 600.0) -> None:

    from PySide6.QtWidgets import QApplication

    until = time.monotonic() + seconds
    while not is_there():
        assert time.monotonic() < until, "what the scene waits for never came"
        QApplication.processEvents()
        time.sleep(0.01)


def _sample(path: Path) -> Callable[..., None]:
    def show(window) -> None:  # type: ignore[no-untyped-def]
        window.files.open_path(path)
        window.canvas.sheet.fit()

    return show


def _programme(page: str) -> Callable[..., object]:
    """Return a scene that opens the die programme of a small roadmap at one of its pages."""

    def show(window) -> object:  # type: ignore[no-untyped-def]
        from tests.support.small_roadmap import small

        window.document.start(small())
        window.actions_by_name["programme"].trigger()
        opened = window.beside.programme
        opened.pages.setCurrentWidget(getattr(opened, page))
        _wait(lambda: opened.found is not None and not opened.jobs.is_busy)
        if page == "risk_page":
            opened.risk_page.run.click()
            _wait(lambda: not opened.jobs.is_busy)
        return opened

    return show


def _empty(window) -> None:  # type: ignore[no-untyped-def]
    window.document.start(Project("Untitled"))


def _selected(window) -> None:  # type: ignore[no-untyped-def]
    window.document.select_vertex(40)
    window.canvas.sheet.zoom_to((40.0, 150.0), 150.0)


def _drag(window) -> None:  # type: ignore[no-untyped-def]
    sheet = window.canvas.sheet
    sheet.zoom_to((30.0, 150.0), 150.0)
    sheet.handles.pressed.emit(40, sheet.to_pixels(50.1, 134.0))
    sheet.handles.dragged.emit(sheet.to_pixels(46.2, 134.2), _no_keys())


def _driven(window) -> None:  # type: ignore[no-untyped-def]
    from tests.support import held

    window.document.start(held.project())
    window.canvas.sheet.zoom_to((30.0, 150.0), 150.0)
    window.document.select_vertex(46)
    window.canvas.vertices.nudge(5.0, 0.0)


def _no_keys() -> object:
    from PySide6.QtCore import Qt

    return Qt.KeyboardModifier.NoModifier


def _typed_wrong(window) -> None:  # type: ignore[no-untyped-def]
    _selected(window)
    box = window.canvas.boxes.boxes["z"]
    box.setFocus()
    box.selectAll()
    box.insert("12,5 + ")
    window.canvas.boxes.apply()


def _fault(window) -> None:  # type: ignore[no-untyped-def]
    window.document.select_vertex(40)
    window.canvas.vertices.nudge(60.0, -6.0)


def _wheel(window, **changes: object) -> None:  # type: ignore[no-untyped-def]
    project = window.document.project
    wheel: Wheel = replace(project.wheels[0], **changes)
    window.document.commit(replace(project, wheels=(wheel,)), "Change")


def _not_known(window) -> None:  # type: ignore[no-untyped-def]
    _wheel(window, clears=(example.CALIPER, example.TIE_ROD))


def _touching(window) -> None:  # type: ignore[no-untyped-def]
    window.document.select_vertex(40)
    window.canvas.vertices.nudge(-6.0, 0.0)


def _compared(window) -> None:  # type: ignore[no-untyped-def]
    project = window.document.project
    first = project.wheels[0]
    other = replace(first, name="Track 18, inset 44", inset_mm=44.0)
    window.document.commit(replace(project, wheels=(first, other)), "Duplicate")
    window.document.compare((other.name,))


def _bare(window) -> None:  # type: ignore[no-untyped-def]
    _wheel(window, blank=None, clears=(), rules=None)


if __name__ == "__main__":
    sys.exit(main())

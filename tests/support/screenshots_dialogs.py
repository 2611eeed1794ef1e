"""Scenes of the dialogs: of parts that are there, of papers, of pictures to be traced; questions."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from app import resources
from tests.support.screenshots_blanks import Scene, Wait

_OWN, _SPUN = "1-track-18-own-blank", "5-spun-and-variant-blank"


def scenes(wait: Wait) -> dict[str, Scene]:
    """Return the scenes by their names."""
    found: dict[str, Scene] = {}
    for action in (
        *("new_version", "new_like", "new_conditions", "new_trial_fit", "customer_report", "paper_gauge"),
        *("section_sheet", "release_sheet", "sheet_settings", "shop_rates"),
    ):
        found[action.replace("_", "-")] = _by_action(action)
    for field, name in (
        *(("blanks", "blank-details"), ("wheels", "wheel-of-sample"), ("rule_sets", "rules")),
        *(("conditions", "conditions"), ("materials", "material")),
    ):
        found[name] = _part(field)
    found |= {
        "blank-spun": _part("blanks", _SPUN),
        "fitment": _part("fitments", "4-roadmap-36-fitments"),
        "trial-fit": _of_whole("trial_fits"),
        "test-record": _of_whole("test_records"),
        "programme-settings": _by_action("programme_settings", "4-roadmap-36-fitments"),
        "rename": _rename,
        "releases": _releases,
        "trace": _trace(wait, done=False),
        "trace-done": _trace(wait, done=True),
        "language": _question(lambda window: window.actions_by_name["language"].trigger()),
        "open-sample": _question(lambda window: window.actions_by_name["open_sample"].trigger()),
        "leave": _question(_leave),
        "edited-outside": _question(_edited_outside),
        "damaged": _question(_damaged),
    }
    return found


def _by_action(action: str, sample: str = _OWN) -> Scene:
    def show(window: Any) -> None:
        window.files.open_path(resources.sample(sample))
        window.actions_by_name[action].trigger()

    return show


def _part(field: str, sample: str = _OWN) -> Scene:
    """Return a scene of the first part of a list of a sample."""

    def show(window: Any) -> None:
        window.files.open_path(resources.sample(sample))
        window.dialogs.edit(field, getattr(window.document.project, field)[0].name)

    return show


def _of_whole(field: str) -> Scene:
    """Return a scene of a part that no sample has."""

    def show(window: Any) -> None:
        from tests.support.whole_projects import every_class

        window.document.start(every_class())
        window.dialogs.edit(field, getattr(window.document.project, field)[0].name)

    return show


def _rename(window: Any) -> None:
    window.dialogs.rename("wheels", window.document.wheel_name)


def _releases(window: Any) -> None:
    """Two revisions, the later of a lighter load, and a wheel edited since."""
    from app.project import edits
    from app.reports.releases import Facts, release

    window.files.open_path(resources.sample(_OWN))
    project = window.document.project
    said = (
        Facts("2026-03-01", "A. Drawer", "B. Checker"),
        Facts("2026-04-12", "A. Drawer", "B. Checker", "load lowered after the first trial fit"),
    )
    for facts, load_kg in zip(said, (650.0, 640.0), strict=True):
        wheel = project.wheels[0]
        project = replace(project, releases=(*project.releases, release(project, wheel, facts)))
        project = edits.replaced(project, edits.WHEEL, wheel.name, replace(wheel, load_kg=load_kg))
    window.document.start(project)
    window.actions_by_name["releases"].trigger()


def _trace(wait: Wait, done: bool) -> Scene:
    """Return a scene of a picture just opened, or with its scale set and its outline drawn."""

    def show(window: Any) -> None:
        from PySide6.QtWidgets import QApplication

        from tests.support import brake_picture, tracing

        path = Path(tempfile.mkdtemp()) / "sheet.png"
        path.write_bytes(brake_picture.png())
        window.dialogs.trace(path)
        dialog: Any = QApplication.activeModalWidget()
        wait(lambda: not (dialog.is_reading or dialog.look.is_busy))
        dialog.resize(1280, 860)
        if done:
            tracing.set_scale(dialog)
            tracing.trace_brake(dialog)
            wait(lambda: not dialog.look.is_busy)
        dialog.is_touched = False  # closing it asks nothing

    return show


def _question(run: Callable[[Any], object]) -> Scene:
    """Return a scene of a question that waits for its answer: its picture, taken while it is open."""

    def show(window: Any) -> object:
        from PySide6.QtCore import QTimer
        from PySide6.QtWidgets import QApplication, QDialog

        pictures = []

        def take() -> None:
            box = QApplication.activeModalWidget()
            assert isinstance(box, QDialog)
            pictures.append(box.grab())
            box.reject()

        QTimer.singleShot(200, take)
        run(window)
        return pictures[0]

    return show


def _leave(window: Any) -> None:
    window.document.select_vertex(40)
    window.canvas.vertices.nudge(1.0, 0.0)
    window.files.may_leave()


def _edited_outside(window: Any) -> None:
    _open_changed(window, b'"author": "demo"', b'"author": "bench"')


def _damaged(window: Any) -> None:
    _open_changed(window, b'"bore_mm"', b'"boar_mm"')


def _open_changed(window: Any, old: bytes, new: bytes) -> None:
    data = resources.sample(_OWN).read_bytes()
    assert old in data
    path = Path(tempfile.mkdtemp()) / "kept.blankwright"
    path.write_bytes(data.replace(old, new))
    window.files.open_path(path)

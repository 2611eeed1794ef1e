"""Scenes of the main window, of its dialogs that begin something new, of strength and the die programme."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from app import resources
from app.project.project import Project
from app.project.strength import Outcome, TestRecord
from app.project.wheel import SingleNut, Wheel
from app.session.dimension import Measure
from tests.support import example
from tests.support.screenshots_blanks import Scene, Wait


def scenes(wait: Wait) -> dict[str, Scene]:
    """Return the scenes by their names."""
    found: dict[str, Scene] = {
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
        found[action.replace("_", "-")] = _dialog(action)
    found["change-size"] = _dialog("change_size")
    found["wheel-details"] = _dialog("details")
    for k, path in enumerate(resources.samples(), start=1):
        found[f"sample-{k}"] = _sample(path)
    for name in ("unit_missing.dxf", "gaps_0_2.dxf", "frame_and_title.dxf", "scale_text_half.dxf"):
        found[f"import-{name}"] = _import(name)
    for name in ("xlsx_two_sheets.xlsx", "points_ball_centres.csv", "stl_fragments.stl"):
        found[f"import-{name}"] = _import(name)
    for page in ("coverage_page", "plan_page", "dies_page", "risk_page", "enquiry_page"):
        found[f"programme-{page.removesuffix('_page')}"] = _programme(wait, page)
    found["sheet"] = lambda window: window.dialogs.brake_sheet()
    found["variant"] = lambda window: window.dialogs.brake_variant()
    found["stress"] = _stress(wait, "R124 bending")
    found["stress-rolling"] = _stress(wait, "R124 rolling")
    found["strength"] = _strength(wait, "1-track-18-own-blank")
    found["strength-beside"] = _strength(wait, "5-spun-and-variant-blank")
    found["strength-failed"] = _strength(wait, "5-spun-and-variant-blank", failed=True)
    found["strength-settings"] = _dialog("strength_settings")
    found["test-made"] = _dialog("new_test")
    found["source-card"] = lambda window: window.dialogs.edit_card(example.TIE_ROD)
    from app.window.pictures import SCENES

    found |= {f"manual-{name}": scene for name, scene in SCENES.items()}
    found["manual"] = _manual(wait)
    return found


def _manual(wait: Wait) -> Scene:
    def show(window: Any) -> object:
        window.help.show_manual()
        wait(lambda: window.help.manual.folder.is_dir())
        return window.help.manual

    return show


def _dimensions(window: Any) -> None:
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


def _dimension_typed(window: Any) -> None:
    dimensioning = window.canvas.dimensioning
    laid = window.canvas.sheet.dimensions.laid
    inset = next(x for x in laid if x.dimension.wanted.measure is Measure.INSET)
    dimensioning.type_into(inset.dimension)
    dimensioning.box.setText("38 + 1/2 in")
    dimensioning.box.textEdited.emit("38 + 1/2 in")


def _dialog(action: str) -> Scene:
    return lambda window: window.actions_by_name[action].trigger()


def _import(name: str) -> Scene:
    def show(window: Any) -> None:
        from PySide6.QtWidgets import QApplication

        from app.window.dialogs.import_outline import ImportDialog
        from tests.corpus.truth import FILES
        from tests.support.importing import ready

        window.dialogs.import_outlines([FILES / name])
        dialog = QApplication.activeModalWidget()
        assert isinstance(dialog, ImportDialog)
        ready(dialog, seconds=60.0)

    return show


def _stress(wait: Wait, case: str) -> Scene:
    def show(window: Any) -> None:
        window.live_stress.loads[case].trigger()
        window.actions_by_name["stress"].setChecked(True)
        wait(lambda: window.live_stress.follower.live.is_current)

    return show


def _strength(wait: Wait, sample: str, *, failed: bool = False) -> Scene:
    """Show the strength window of a sample, beside its second wheel where it has one; it is the picture.

    `failed`: a wheel with a single nut, of which two samples failed that give no factor.
    """

    def show(window: Any) -> None:
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
        wait(lambda: window.beside.strength.shown is not None and not window.beside.strength.study.is_busy)

    return show


def _sample(path: Path) -> Scene:
    def show(window: Any) -> None:
        window.files.open_path(path)
        window.canvas.sheet.fit()

    return show


def _programme(wait: Wait, page: str) -> Scene:
    """Return a scene that opens the die programme of a small roadmap at one of its pages."""

    def show(window: Any) -> object:
        from tests.support.small_roadmap import small

        window.document.start(small())
        window.actions_by_name["programme"].trigger()
        opened = window.beside.programme
        opened.pages.setCurrentWidget(getattr(opened, page))
        wait(lambda: opened.found is not None and not opened.jobs.is_busy)
        if page == "risk_page":
            opened.risk_page.run.click()
            wait(lambda: not opened.jobs.is_busy)
        return opened

    return show


def _empty(window: Any) -> None:
    window.document.start(Project("Untitled"))


def _selected(window: Any) -> None:
    window.document.select_vertex(40)
    window.canvas.sheet.zoom_to((40.0, 150.0), 150.0)


def _drag(window: Any) -> None:
    sheet = window.canvas.sheet
    sheet.zoom_to((30.0, 150.0), 150.0)
    sheet.handles.pressed.emit(40, sheet.to_pixels(50.1, 134.0))
    sheet.handles.dragged.emit(sheet.to_pixels(46.2, 134.2), _no_keys())


def _driven(window: Any) -> None:
    from tests.support import held

    window.document.start(held.project())
    window.canvas.sheet.zoom_to((30.0, 150.0), 150.0)
    window.document.select_vertex(46)
    window.canvas.vertices.nudge(5.0, 0.0)


def _no_keys() -> object:
    from PySide6.QtCore import Qt

    return Qt.KeyboardModifier.NoModifier


def _typed_wrong(window: Any) -> None:
    _selected(window)
    box = window.canvas.boxes.boxes["z"]
    box.setFocus()
    box.selectAll()
    box.insert("12,5 + ")
    window.canvas.boxes.apply()


def _fault(window: Any) -> None:
    window.document.select_vertex(40)
    window.canvas.vertices.nudge(60.0, -6.0)


def _wheel(window: Any, **changes: object) -> None:
    project = window.document.project
    wheel: Wheel = replace(project.wheels[0], **changes)
    window.document.commit(replace(project, wheels=(wheel,)), "Change")


def _not_known(window: Any) -> None:
    _wheel(window, clears=(example.CALIPER, example.TIE_ROD))


def _touching(window: Any) -> None:
    window.document.select_vertex(40)
    window.canvas.vertices.nudge(-6.0, 0.0)


def _compared(window: Any) -> None:
    project = window.document.project
    first = project.wheels[0]
    other = replace(first, name="Track 18, inset 44", inset_mm=44.0)
    window.document.commit(replace(project, wheels=(first, other)), "Duplicate")
    window.document.compare((other.name,))


def _bare(window: Any) -> None:
    _wheel(window, blank=None, clears=(), rules=None)

"""Scenes of the windows about blanks: the smallest blank of a group, limits, two blanks, stages."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

#: A scene is given the main window and returns what is to be pictured.
Scene = Callable[[Any], object]
#: Waits until it is told True.
Wait = Callable[[Callable[[], bool]], None]


def scenes(wait: Wait) -> dict[str, Scene]:
    """Return the scenes by their names."""
    found: dict[str, Scene] = {}
    for unit in ("mm", "in"):
        found[f"group-blank-{unit}"] = _group(wait, unit)
        found[f"group-blank-metal-{unit}"] = _group(wait, unit, row=4)
        found[f"group-blank-dies-{unit}"] = _group(wait, unit, dies=True)
        found[f"group-blank-spun-{unit}"] = _group(wait, unit, spun=True)
        found[f"group-blank-spun-metal-{unit}"] = _group(wait, unit, row=4, spun=True)
        found[f"limits-{unit}"] = _limits(wait, unit)
        found[f"limits-two-{unit}"] = _limits(wait, unit, two=True)
        found[f"stages-{unit}"] = _stages(wait, unit)
    return found


def _start(window: Any, unit: str) -> None:
    from tests.unit.studies.test_composite import group

    window.document.start(group())
    window.actions_by_name["inch"].setChecked(unit == "in")


def _group(wait: Wait, unit: str, row: int | None = None, spun: bool = False, dies: bool = False) -> Scene:
    def show(window: Any) -> object:
        _start(window, unit)
        window.actions_by_name["group_blank"].trigger()
        opened = window.beside.group_blank
        wait(lambda: opened.found is not None and not opened.jobs.is_busy)
        if dies:
            opened.asked.ejector.box.click()
            opened.asked.parting.put(40.0)
            opened.asked.pierced.put(50.0)
            opened.run.click()
            wait(lambda: opened.found.forged.slug_kg > 0.0 and not opened.jobs.is_busy)
        if spun:
            opened.asked.setCurrentIndex(3)
            opened.asked.spinning.spun.box.setCurrentIndex(1)
            opened.run.click()
            wait(lambda: opened.spun is not None and not opened.jobs.is_busy)
            opened.results.pages.setCurrentWidget(opened.results.spun_ladder)
        if row is not None:
            (opened.results.spun_ladder if spun else opened.results.ladder).selectRow(row)
        return opened

    return show


def _limits(wait: Wait, unit: str, two: bool = False) -> Scene:
    def show(window: Any) -> object:
        from app import resources

        window.files.open_path(resources.samples()[1])
        window.actions_by_name["inch"].setChecked(unit == "in")
        window.actions_by_name["limits"].trigger()
        opened = window.beside.limits
        wait(lambda: opened.found is not None and not opened.jobs.is_busy)
        if two:
            opened.second.setCurrentIndex(opened.second.count() - 1)
            opened.run.click()
            wait(lambda: opened.held is not None and not opened.jobs.is_busy)
        return opened

    return show


def _stages(wait: Wait, unit: str) -> Scene:
    def show(window: Any) -> object:
        _start(window, unit)
        window.actions_by_name["stages"].trigger()
        opened = window.beside.stages
        wait(lambda: opened.found is not None and not opened.jobs.is_busy)
        return opened

    return show

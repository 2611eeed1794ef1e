"""Scenes of the windows that stand beside the drawing, with what someone has in them after some work."""

from __future__ import annotations

import tempfile
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from app import resources
from tests.support.screenshots_blanks import Scene, Wait

_ROADMAP, _TOUCHING = "4-roadmap-36-fitments", "3-gt-19-touching"


def scenes(wait: Wait) -> dict[str, Scene]:
    """Return the scenes by their names."""
    return {
        "match": _match(wait),
        "match-insets": _match(wait, insets=True),
        "offers": _offers(wait),
        "versions": _versions,
        "roadmap": _roadmap,
        "roadmap-review": _roadmap_review(wait),
        "family": _family(wait),
        "face": _face(wait),
        "first-off": _first_off(wait),
        "parameters": _parameters,
        "constraints": _constraints,
        "programme-fitments": _tables(wait, 2),
        "programme-unserved": _tables(wait, 3),
        "seat": _seat,
        "fault-told": _fault,
        "recovered": _recovered,
    }


def _match(wait: Wait, insets: bool = False) -> Scene:
    def show(window: Any) -> object:
        window.files.open_path(resources.sample(_ROADMAP))
        window.actions_by_name["match"].trigger()
        opened = window.beside.match
        wait(lambda: opened.found is not None and not opened.jobs.is_busy)
        if insets:
            opened.insets.click()
            opened.run.click()
            wait(lambda: not opened.jobs.is_busy)
        opened.table.selectRow(2)
        return opened

    return show


def _offers(wait: Wait) -> Scene:
    def show(window: Any) -> object:
        window.files.open_path(resources.sample(_TOUCHING))
        window.actions_by_name["offers"].trigger()
        opened = window.beside.offers
        wait(lambda: opened.tree.topLevelItemCount() > 0 and not opened.jobs.is_busy)
        return opened

    return show


def _versions(window: Any) -> object:
    document = window.document
    first = document.project.wheels[0]
    vertices = tuple(replace(v, z=v.z + 1.4) if str(v.zone) == "spoke back" else v for v in first.vertices)
    why = "1.4 mm more behind the spoke"
    other = replace(first, name="Track 18 B", made_from=first.name, why=why, vertices=vertices)
    document.commit(replace(document.project, wheels=(first, other)), "New version")
    document.select_wheel(other.name)
    window.actions_by_name["versions"].trigger()
    return window.beside.versions


def _roadmap(window: Any) -> object:
    window.files.open_path(resources.sample(_ROADMAP))
    window.actions_by_name["roadmap"].trigger()
    window.beside.roadmap.table.selectRow(5)
    return window.beside.roadmap


def _roadmap_review(wait: Wait) -> Scene:
    """A table from outside with two bad rows and a column that nobody knows."""

    def show(window: Any) -> object:
        _roadmap(window)
        opened = window.beside.roadmap
        heads = "name,car,axle,diameter,width,inset from,inset to,bolts,bolt circle,bore,colour\n"
        rows = (
            "R-50,invented coupe,front,18,9.5,32,38,5,114.3,66.1,black\n",
            "R-51,invented coupe,rear,18,ten,30,36,5,114.3,66.1,black\n",
            "R-52,invented coupe,sideways,19,10,28,34,5,114.3,66.1,grey\n",
        )
        path = Path(tempfile.mkdtemp()) / "rows.csv"
        path.write_text(heads + "".join(rows), encoding="utf-8")
        opened.import_file(path)
        wait(lambda: not opened.jobs.is_busy)
        return opened

    return show


def _family(wait: Wait) -> Scene:
    """Two rows of the shipped roadmap without the blanks that serve them."""

    def show(window: Any) -> object:
        from app.files.project_file import load

        project = load(resources.sample(_ROADMAP))
        rows = tuple(f for f in project.fitments if f.name in ("R-10", "R-12"))
        window.document.start(replace(project, blanks=(), fitments=rows))
        window.actions_by_name["family"].trigger()
        opened = window.beside.family
        opened.fields["lead_weeks"].put(20.0)
        opened.run.click()
        wait(lambda: opened.found is not None and not opened.jobs.is_busy)
        return opened

    return show


def _face(wait: Wait) -> Scene:
    def show(window: Any) -> object:
        window.files.open_path(resources.sample("1-track-18-own-blank"))
        window.actions_by_name["face"].trigger()
        wait(lambda: not window.beside.face.jobs.is_busy)
        return window.beside.face

    return show


def _first_off(wait: Wait) -> Scene:
    """Points of a wheel that was cut 0.14 mm outboard with a worn tool on its spokes."""

    def show(window: Any) -> object:
        from geometry.shape.section import Outline, build

        built = build(window.document.wheel.section)
        assert isinstance(built, Outline)
        pieces = np.flatnonzero(built.skin)
        on = built.path.at(np.repeat(pieces, 3), np.tile([0.2, 0.5, 0.8], len(pieces)))
        r = on[:, 1]
        off = 0.14 + 0.05 * np.sin(r / 9.0) + 0.08 * ((r > 100.0) & (r < 180.0))
        lines = [f"{z:.4f},{r:.4f}" for z, r in (on + np.column_stack([off, 0.0 * off])).tolist()]
        path = Path(tempfile.mkdtemp()) / "points.csv"
        path.write_text("\n".join(["z_mm,r_mm", *lines]) + "\n", encoding="utf-8")
        window.actions_by_name["first_off"].trigger()
        opened = window.beside.first_off
        opened.read_file(path)
        wait(lambda: opened.found is not None)
        return opened

    return show


def _parameters(window: Any) -> object:
    from app.window.pictures import SCENES

    return SCENES["parameters"](window)


def _constraints(window: Any) -> object:
    from app.window.pictures import SCENES

    return SCENES["constraints"](window)


def _tables(wait: Wait, page: int) -> Scene:
    def show(window: Any) -> object:
        from tests.support.small_roadmap import small

        window.document.start(small())
        window.actions_by_name["programme"].trigger()
        opened = window.beside.programme
        opened.pages.setCurrentIndex(page)
        wait(lambda: opened.found is not None and not opened.jobs.is_busy)
        return opened

    return show


def _seat(window: Any) -> None:
    """Seating has no window of its own; what it found stands in the status line."""
    window.files.open_path(resources.sample("1-track-18-own-blank"))
    window.canvas.sheet.fit()
    window.actions_by_name["seat"].trigger()


def _fault(window: Any) -> object:
    from app.files.fault import fault
    from app.language import tr
    from app.window.faults import FaultDialog

    told = []
    for words in ("a number is missing", "a row is missing"):
        try:
            raise ValueError(words)
        except ValueError as error:
            told.append((fault(error), len(words) - 15))
    dialog = FaultDialog(
        told,
        tr("What was unsaved is in the journal, up to the last finished step."),
        Path.home() / "log",
        window,
    )
    dialog.open()
    return dialog


def _recovered(window: Any) -> object:
    from app.files.journal import Left, State
    from app.window.recovered import RecoveredDialog

    window.document.select_vertex(40)
    window.canvas.vertices.nudge(1.0, 0.0)
    words = window.document.undo_stack.undoText()
    project, at = window.document.project, time.time() - 900.0
    kept = (
        State(project, words, 12, at),
        State(replace(project, name="GT 19"), words, 1, at - 7000.0, Path("gt.blankwright")),
    )
    dialog = RecoveredDialog([Left(Path(), state, "") for state in kept], window)
    dialog.open()
    return dialog

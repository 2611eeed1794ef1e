"""Undo of any edits gives the first value, redo the last, also across a save."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pytestqt.qtbot import QtBot

from app.files.project_file import dumps
from app.project import edits as parts
from app.project import wheel_edits
from app.project.project import Project
from app.project.wheel import Wheel
from app.session.document import Document
from geometry.errors import GeometryError
from geometry.shape import edits
from tests.support import example

Edit = Callable[[Project, np.random.Generator], Project]


def on_wheel(change: Callable[[Wheel, np.random.Generator], Wheel]) -> Edit:
    def edit(project: Project, rng: np.random.Generator) -> Project:
        wheel = project.wheels[0]
        return replace(project, wheels=(change(wheel, rng), *project.wheels[1:]))

    return edit


def free_vertex(wheel: Wheel, rng: np.random.Generator) -> int:
    section = wheel.section
    return int(rng.integers(section.locked, len(section.vertices)))


def move(wheel: Wheel, rng: np.random.Generator) -> Wheel:
    i = free_vertex(wheel, rng)
    v = wheel.section.vertices[i]
    dz, dr = rng.uniform(-1.0, 1.0, 2)
    return wheel.with_section(edits.with_vertex_at(wheel.section, i, v.z + dz, max(v.r + dr, 0.0)))


EDITS: tuple[Edit, ...] = (
    on_wheel(move),
    on_wheel(lambda w, rng: w.with_section(edits.inserted(w.section, free_vertex(w, rng) - 1, 0.5))),
    on_wheel(lambda w, rng: w.with_section(edits.deleted(w.section, free_vertex(w, rng)))),
    on_wheel(
        lambda w, rng: w.with_section(edits.with_radius(w.section, free_vertex(w, rng), rng.uniform(0, 4)))
    ),
    on_wheel(lambda w, rng: wheel_edits.with_inset(w, w.inset_mm + rng.uniform(-3.0, 3.0))),
    on_wheel(lambda w, _: wheel_edits.with_width(w, 10.5 if w.size.width_code == 10.0 else 10.0)),
    lambda project, rng: replace(project, revision=str(rng.integers(1000))),
    lambda project, _: parts.duplicated(project, parts.SHAPE, project.shapes[0].name)[0],
)


@pytest.mark.parametrize("seed", range(4))
def test_undo_of_any_edits_gives_the_first_value(qtbot: QtBot, seed: int, tmp_path: Path) -> None:
    rng = np.random.default_rng(seed)
    document = Document()
    first = example.project()
    document.start(first)
    before, steps = dumps(first), 0
    for k in range(60):
        try:
            project = EDITS[int(rng.integers(len(EDITS)))](document.project, rng)
        except GeometryError:
            continue  # refused, as a locked or last vertex is; nothing was changed
        changed = project != document.project
        document.commit(project, f"Edit {k}")
        steps += changed
        if k == 30:
            document.save(tmp_path / "p.blankwright")
    last = document.project
    assert steps > 30
    for _ in range(steps):
        document.undo()
    assert document.project == first
    assert dumps(document.project) == before
    assert not document.undo_stack.canUndo()
    for _ in range(steps):
        document.redo()
    assert document.project == last

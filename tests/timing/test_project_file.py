"""How long a project of 200 wheels takes to open and to save; the budget is 0.5 s each."""

import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from statistics import median

import pytest

from app.files.project_file import load, save
from app.project.project import Project
from tests.support.example import project as example

pytestmark = pytest.mark.timing


def two_hundred_wheels() -> Project:
    """Return 200 wheels on locked contours, 50 shapes of up to 156 corners, 40 blanks."""
    one = example()
    wheel, blank, shape = one.wheels[0], one.blanks[0], one.shapes[0]
    outline = replace(shape.outlines[0], corners=shape.outlines[0].corners * 13)
    return replace(
        one,
        wheels=tuple(replace(wheel, name=f"Wheel {i}") for i in range(200)),
        blanks=one.blanks + tuple(replace(blank, name=f"Blank {i}") for i in range(39)),
        shapes=one.shapes + tuple(replace(shape, name=f"Shape {i}", outlines=(outline,)) for i in range(48)),
    )


def seconds(work: Callable[[], object]) -> float:
    """Return the median of seven runs."""
    taken = []
    for _ in range(7):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return median(taken)


def test_open_and_save(tmp_path: Path) -> None:
    path = tmp_path / "large.blankwright"
    project = two_hundred_wheels()
    saving = seconds(lambda: save(project, path))
    opening = seconds(lambda: load(path))
    assert load(path) == project
    print(f"\n200 wheels, {path.stat().st_size / 1e6:.1f} MB: open {opening:.2f} s, save {saving:.2f} s")

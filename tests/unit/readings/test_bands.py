"""Strips along the skin that show the wall: what they enclose, each by the shoelace formula."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from app.studies.fit import measure_wheel
from geometry.readings.bands import levels, strips
from geometry.readings.profile import WallsAlong, walls_along
from geometry.shape.curve import Array
from geometry.shape.section import Outline
from tests.support import example

WIDTH_MM, LEVELS = 0.8, 3


def _stations() -> tuple[Outline, WallsAlong]:
    project = example.project()
    outline = measure_wheel(project, project.wheels[0]).outline
    assert outline is not None
    return outline, walls_along(outline)


def _quads(outline: Outline, found: WallsAlong) -> Array:
    """Corners (s, 4, 2) of each station's own stretch of the strip."""
    count = np.array([np.count_nonzero(found.piece == k) for k in found.piece])
    within = np.arange(len(found.piece)) - np.array([np.argmax(found.piece == k) for k in found.piece])
    ribs = []
    for share in (within / count, (within + 1) / count):
        place, way = (f(found.piece, share) for f in (outline.path.at, outline.path.tangents))
        ribs.append((place, place + WIDTH_MM * np.column_stack([-way[:, 1], way[:, 0]])))
    (a, inner_a), (b, inner_b) = ribs
    return np.stack([a, b, inner_b, inner_a], axis=1)


def _signed(chain: Array) -> float:
    z, r = chain.T
    return 0.5 * float(np.sum(z * np.roll(r, -1) - np.roll(z, -1) * r))


def test_levels_are_even_steps_and_none_where_there_is_no_thin_wall() -> None:
    walls = np.array([-1.0, 2.0, 5.9, 6.1, 13.99, 14.0, 60.0, np.nan])
    assert levels(walls, 2.0, 14.0, 3).tolist() == [0, 0, 0, 1, 2, -1, -1, -1]


@pytest.mark.parametrize("pattern", ["one", "by turns", "some left out"])
def test_the_strips_of_a_level_enclose_the_stretches_of_its_stations(pattern: str) -> None:
    outline, found = _stations()
    number = np.arange(len(found.piece))
    level_of = {"one": 0 * number, "by turns": number // 3 % LEVELS, "some left out": number // 2 % 4 - 1}[
        pattern
    ]
    corners, begins, ends = strips(outline, found.piece, level_of, LEVELS, WIDTH_MM)
    assert ends[-1] == len(corners)
    quads = _quads(outline, found)
    for level, (begin, end) in enumerate(pairwise([0, *ends.tolist()])):
        cuts = begins[begin:end].nonzero()[0][1:]
        each = np.split(corners[begin:end], cuts) if end > begin else []
        own = quads[level_of == level]
        assert bool(each) == bool(len(own))
        assert all(np.array_equal(strip[0], strip[-1]) for strip in each)
        assert sum(map(_signed, each)) == pytest.approx(sum(map(_signed, own)), rel=1e-9)
        # A strip begins where a station does, and goes on while piece and level do.
        starts = (np.diff(found.piece, prepend=-1) != 0) | (np.diff(level_of, prepend=-9) != 0)
        expected = quads[starts & (level_of == level)][:, 0]
        assert np.array([strip[0] for strip in each]).reshape(-1, 2) == pytest.approx(expected)


def test_without_a_level_there_is_no_strip() -> None:
    outline, found = _stations()
    corners, begins, ends = strips(outline, found.piece, np.full(len(found.piece), -1), LEVELS, WIDTH_MM)
    assert (len(corners), len(begins), ends.tolist()) == (0, 0, [0] * LEVELS)

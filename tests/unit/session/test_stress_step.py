"""A step of the preview: what is read off a solved section, held against the solution itself."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from app.project.strength import SHIPPED_STRENGTH
from app.session import stress_step
from app.session.stress_step import Question, step, top_mpa
from app.studies.strength.cases import cases_of
from app.studies.strength.inputs import Ready, ready
from app.views.canvas.stress_bands import drawn_step
from geometry.shape.curve import Array
from geometry.shape.section import ZONES, Zone
from geometry.strength.loads import EXERCISED, TestLoad
from geometry.strength.preview import Preview
from tests.support import example


@pytest.fixture(scope="module")
def start() -> Ready:
    project = example.project()
    return ready(project, project.wheels[0])


def load(start: Ready, key: str) -> TestLoad:
    return next(c for c in cases_of(start, SHIPPED_STRENGTH) if c.key == key)


def question(start: Ready, key: str, held: float = 0.0) -> Question:
    case = load(start, key)
    return Question(key, case, start.metal, start.tyre.outside_mm, start.outline, start.spokes, held)


def none(*_args: object) -> Any:
    return ()


@pytest.mark.parametrize("key", ["R124 bending", "inflation"])
def test_the_greatest_is_that_of_the_skin_that_the_test_exercises(start: Ready, key: str) -> None:
    stress_step._kept.clear()
    found = step(question(start, key), 10, none, none)
    case = load(start, key)
    solved = Preview(case, start.metal, start.tyre.outside_mm).step(start.outline, start.spokes)
    of_edge = [ZONES[k].value in EXERCISED[case.kind] for k in start.outline.zone[solved.mesh.piece]]
    nodes = np.unique(solved.mesh.edges[np.array(of_edge)])
    assert found.greatest_mpa == pytest.approx(solved.mises_mpa[nodes].max(), rel=1e-9)
    assert found.use == pytest.approx(found.greatest_mpa / start.metal.yield_mpa, rel=1e-12)
    near = np.hypot(*(solved.mesh.points[nodes] - found.at).T)
    assert near.min() < 1e-9
    assert found.zone in EXERCISED[case.kind]


def test_bending_names_the_zones_that_it_does_not_exercise(start: Ready) -> None:
    """Practitioners: the rim is held at its inner flange, free at the outer; little stress shows nothing."""
    found = step(question(start, "R124 bending"), 10, none, none)
    silent = (Zone.BARREL, Zone.INNER_SEAT, Zone.INNER_LIP, Zone.OUTER_LIP)
    assert set(found.silent) == {zone.value for zone in silent}


def area(loops: tuple[Array, ...]) -> float:
    """Return the area within borders that turn the metal to their left, by the shoelace formula."""
    return sum(
        float((p[:, 0] * np.roll(p[:, 1], -1) - np.roll(p[:, 0], -1) * p[:, 1]).sum()) / 2.0 for p in loops
    )


def test_the_first_colour_covers_the_section_and_each_next_lies_within_it(start: Ready) -> None:
    found = drawn_step(question(start, "R124 bending"), none)
    polygon = start.outline.path.flattened(0.01)
    whole = area((polygon,))
    areas = [area(loops) for loops in found.above]
    # Quadratic sides are drawn as two chords: the areas differ by their sagittas alone.
    assert areas[0] == pytest.approx(whole, rel=2e-3)
    assert all(b <= a for a, b in pairwise(areas))
    assert areas[-1] < 0.5 * areas[0]
    assert found.levels == pytest.approx([found.top_mpa * k / 10 for k in range(10)])
    assert 0.0 < area(found.silent_metal) < whole


def test_the_scale_ends_at_a_share_of_yield_and_never_falls_below_where_it_is_held() -> None:
    assert top_mpa(50.0, 240.0) == 60.0
    assert top_mpa(61.0, 240.0) == 120.0
    assert top_mpa(121.0, 240.0) == 240.0
    assert top_mpa(900.0, 240.0) == 240.0
    assert top_mpa(50.0, 240.0, held_mpa=120.0) == 120.0
    assert top_mpa(50.0, 200.0, held_mpa=240.0) == 200.0, "another metal's yield is no end for this one"


def test_a_drag_keeps_the_mesh_and_a_third_name_drops_the_oldest(start: Ready) -> None:
    stress_step._kept.clear()
    for name in ("R124 bending", "inflation", "JWL bending"):
        step(question(start, name), 10, none, none)
    assert list(stress_step._kept) == ["inflation", "JWL bending"]
    kept = stress_step._kept["inflation"]
    step(question(start, "inflation"), 10, none, none)
    assert stress_step._kept["inflation"] is kept

"""Stress while dragging: the same as the study's on the same mesh, and never lost over a long drag."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from app.files.project_file import load
from app.project.wheel import Wheel
from app.resources import samples
from app.studies.fit import spokes_of
from geometry.errors import GeometryError
from geometry.shape.section import Outline, Section, Zone, build
from geometry.strength import loads
from geometry.strength import preview as preview_of
from geometry.strength.harmonic import solve_all, von_mises
from geometry.strength.loads import TestLoad, Tyre
from geometry.strength.mesh import LEAST_CORNER_DEG
from geometry.strength.metals import METALS
from geometry.strength.morph import Morph
from geometry.strength.preview import Preview
from geometry.strength.rim_loads import inflated, seat_load
from geometry.strength.wheel import body_on

TYRE = Tyre(313.3, 300.8, 643.7)
ROLLING = loads.rolling("R124 rolling", 690.0)
BENDING = loads.bending("R124 bending", 690.0, TYRE, 38.0)


def wheel() -> Wheel:
    return load(samples()[0]).wheels[0]


def dragged(section: Section, vertex: int, dz: float, dr: float) -> Section:
    vertices = list(section.vertices)
    vertices[vertex] = vertices[vertex].moved(dz, dr)
    return replace(section, vertices=tuple(vertices))


def outline_of(section: Section) -> Outline | None:
    built = build(section)
    return built if isinstance(built, Outline) else None


def first(section: Section, zone: Zone) -> int:
    return next(i for i, v in enumerate(section.vertices) if v.zone is zone and i >= section.locked)


def test_the_preview_is_the_full_solution_on_its_mesh() -> None:
    section, spokes = wheel().section, spokes_of(wheel())
    preview = Preview(ROLLING, METALS[0], TYRE.outside_mm)
    back = first(section, Zone.SPOKE_BACK)
    for k in range(6):
        outline = build(dragged(section, back, -0.1 * k, 0.0))
        assert isinstance(outline, Outline)
        shown = preview.step(outline, spokes)
    assert not shown.remeshed
    assert isinstance(outline, Outline)
    body = body_on(shown.mesh, outline, METALS[0], spokes)
    forces = {n: f for n, f in seat_load(body, ROLLING.force_n or 0.0, 40.0).items() if n < shown.harmonics}
    # The study's rolling tyre is inflated too.
    forces[0] = forces[0] + inflated(body, ROLLING.pressure_mpa or 0.0, TYRE.outside_mm)[0]
    moved = solve_all(body.pattern(ROLLING.clamp), body.parts, {"rolling": forces})["rolling"]
    stress = {n: body.recovery.stress(n, u) for n, u in moved.items()}
    both = body.round_turn(stress, np.radians(np.arange(0.0, 181.0, 10.0)))
    whole = von_mises(both).max(axis=0).reshape(-1, len(shown.mesh.points)).max(axis=0)
    np.testing.assert_allclose(shown.mises_mpa, whole, rtol=1e-8, atol=1e-8 * float(whole.max()))


@pytest.mark.parametrize(("load_", "pulls"), [(BENDING, 6), (ROLLING, 3)], ids=["bending", "rolling"])
def test_a_long_drag_keeps_its_mesh_or_takes_a_new_one(load_: TestLoad, pulls: int) -> None:
    # A hand pulls single vertices to and fro by up to some millimetres, 20 steps a pull; long drags of a mesh
    # alone are in tests/properties.
    section, spokes = wheel().section, spokes_of(wheel())
    free = [
        i
        for i in range(section.locked, len(section.vertices))
        if section.vertices[i].zone is not Zone.HUB_PAD
    ]
    hand = np.random.default_rng(7)
    preview = Preview(load_, METALS[0], TYRE.outside_mm)
    shown_steps = remeshed = 0
    for _ in range(pulls):
        vertex = int(hand.choice(free))
        way = hand.normal(size=2)
        way *= hand.uniform(0.5, 4.0) / np.linalg.norm(way)
        for k in range(20):
            outline = outline_of(dragged(section, vertex, *(np.sin(k / 20.0 * np.pi) * way).tolist()))
            if outline is None:
                continue
            try:
                shown = preview.step(outline, spokes)
            except GeometryError:
                continue
            shown_steps += 1
            remeshed += shown.remeshed
            assert np.isfinite(shown.mises_mpa).all()
            assert shown.mesh.corner_deg.min() >= LEAST_CORNER_DEG
            assert shown.mesh.flatness.min() > 0.0
    # What a fault or a refusal takes away is little, and a new mesh is the exception.
    assert shown_steps > 16 * pulls
    assert remeshed < shown_steps / 4


def test_a_pull_that_flattens_elements_takes_a_new_mesh() -> None:
    """Moved on alone, the first mesh's least corner falls below what a mesh may have; none is shown so."""
    section, spokes = wheel().section, spokes_of(wheel())
    barrel = first(section, Zone.BARREL)
    preview = Preview(BENDING, METALS[0])
    alone, least, remeshed = None, [], []
    for k in range(12):
        outline = outline_of(dragged(section, barrel, -0.75 * k, 0.0))
        assert outline is not None
        shown = preview.step(outline, spokes)
        remeshed.append(shown.remeshed)
        assert shown.mesh.corner_deg.min() >= LEAST_CORNER_DEG
        assert np.isfinite(shown.mises_mpa).all()
        if alone is None:
            alone, morph = shown.mesh, Morph(shown.mesh)
        else:
            alone = morph.on(alone, outline.path)
        least.append(alone.corner_deg.min())
    assert min(least) < LEAST_CORNER_DEG, "the pull is one that flattens"
    assert sum(remeshed[1:]) >= 1
    assert sum(remeshed) < 6


@pytest.mark.parametrize(("many", "harmonics"), [(preview_of.MANY_UNKNOWNS, 7), (3_000, 4)])
def test_how_many_harmonics_are_summed(monkeypatch: pytest.MonkeyPatch, many: int, harmonics: int) -> None:
    """Seven at about 4.5 thousand unknowns, on a larger mesh four; what is said is what is summed."""
    monkeypatch.setattr(preview_of, "MANY_UNKNOWNS", many)
    outline = outline_of(wheel().section)
    assert outline is not None
    shown = Preview(ROLLING, METALS[0], TYRE.outside_mm).step(outline, spokes_of(wheel()))
    assert 3_000 < shown.mesh.unknowns <= 6_000
    assert shown.harmonics == harmonics


def test_what_has_no_stress_field_is_refused() -> None:
    with pytest.raises(GeometryError, match="not shown while drawing"):
        Preview(loads.impact_13(690.0), METALS[0])

"""Metal added and taken away, against Pappus's theorem and the exact solid."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from app.studies.fit import measure_wheel, spokes_of
from geometry.readings.metal_change import metal_change
from geometry.shape.section import Outline, Section, Vertex, Zone, build
from tests.support import example

DENSITY = 2700.0


def box(low: float, high: float, r0: float, r1: float) -> Outline:
    """A ring of rectangular section; its outside is barrel, its ends are lips."""
    built = build(
        Section(
            (
                Vertex(low, r0, zone=Zone.BORE),
                Vertex(high, r0, zone=Zone.OUTER_LIP),
                Vertex(high, r1, zone=Zone.BARREL),
                Vertex(low, r1, zone=Zone.INNER_LIP),
            )
        )
    )
    assert isinstance(built, Outline)
    return built


def test_a_thicker_ring_weighs_more_by_pappus() -> None:
    """Volume is area times the way of its centroid (Pappus); a hollow cylinder has m (a2 + b2) / 2.

    The formulas stand in any handbook of mechanics.
    """
    found = metal_change(box(0.0, 100.0, 200.0, 210.0), box(0.0, 100.0, 200.0, 212.0), DENSITY)
    grams = 2.0 * math.pi * 211.0 * 200.0 * DENSITY * 1e-6
    assert sum(found.grams.values()) == pytest.approx(grams, rel=1e-9)
    assert found.grams["barrel"] > 0.98 * grams  # the lips end it
    inertia = grams * (210.0**2 + 212.0**2) / 2.0 * 1e-6
    assert sum(found.g_m2.values()) == pytest.approx(inertia, rel=1e-4)
    assert len(found.added) == 1
    assert found.taken == ()


def test_metal_taken_away_is_negative_and_both_stand_apart() -> None:
    found = metal_change(box(0.0, 100.0, 200.0, 210.0), box(-2.0, 100.0, 200.0, 209.0), DENSITY)
    taken = 2.0 * math.pi * 209.5 * 100.0 * DENSITY * 1e-6
    added = 2.0 * math.pi * 204.5 * 18.0 * DENSITY * 1e-6
    assert sum(found.grams.values()) == pytest.approx(added - taken, rel=1e-9)
    assert found.grams["barrel"] == pytest.approx(-taken, rel=0.03)
    assert found.grams["inner lip"] == pytest.approx(added, rel=0.3)  # the ends of 9 mm are barrel and bore
    assert (len(found.added), len(found.taken)) == (1, 1)


def test_the_same_section_has_no_change() -> None:
    one = box(0.0, 100.0, 200.0, 210.0)
    found = metal_change(one, one, DENSITY)
    assert (found.grams, found.added, found.taken) == ({}, (), ())


def test_zones_of_a_wheel_with_spokes_sum_to_the_change_of_the_exact_solid() -> None:
    project = example.project()
    wheel = project.wheels[0]
    moved = tuple(v.moved(dz=0.5) if v.zone is Zone.SPOKE_BACK else v for v in wheel.vertices)
    other = replace(wheel, vertices=moved)
    first, second = measure_wheel(project, wheel), measure_wheel(project, other)
    assert first.outline is not None
    assert second.outline is not None
    assert first.measurements is not None
    assert second.measurements is not None
    density = next(m.density_kg_m3 for m in project.materials if m.name == wheel.material)
    found = metal_change(first.outline, second.outline, density, (spokes_of(wheel), spokes_of(other)))
    grams = 1000.0 * (second.measurements.solid.mass_kg - first.measurements.solid.mass_kg)
    assert abs(grams) > 10.0
    assert sum(found.grams.values()) == pytest.approx(grams, abs=0.01 * abs(grams))
    inertia = 1e-3 * (second.measurements.solid.polar_kg_mm2 - first.measurements.solid.polar_kg_mm2)
    assert sum(found.g_m2.values()) == pytest.approx(inertia, abs=0.01 * abs(inertia))

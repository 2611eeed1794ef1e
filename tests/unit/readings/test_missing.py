"""Metal outside a blank, against shapely's booleans (GEOS) of outlines flattened as finely all over."""

from __future__ import annotations

import math

import pytest
import shapely

from app.studies.fit import hold
from geometry.readings.missing import missing_metal, missing_parts
from geometry.readings.rows import Held
from geometry.shape.curve import Path
from geometry.shape.section import Outline, build
from tests.support import example


def _wheel_and_blank() -> tuple[Path, Path]:
    project = example.project()
    built, held = build(project.wheels[0].section), hold(project, project.wheels[0])
    assert isinstance(built, Outline)
    assert isinstance(held, Held)
    assert held.blank is not None
    return built.path, held.blank


def _by_shapely(wheel: Path, blank: Path, skin_mm: float) -> shapely.Geometry:
    flat = blank.flattened(0.001)
    usable: shapely.Geometry = shapely.Polygon(flat)
    if skin_mm:
        usable = shapely.buffer(
            shapely.union(usable, shapely.Polygon(flat * (1.0, -1.0))), -skin_mm, quad_segs=16
        )
    return shapely.difference(shapely.Polygon(wheel.flattened(0.001)), usable)


@pytest.mark.parametrize("skin_mm", [0.0, 1.0, 2.5])
@pytest.mark.parametrize("shift", [(0.0, 0.0), (3.1, 0.0), (-7.3, 0.0), (0.0, 4.7), (12.9, -11.3)])
def test_area_volume_and_parts_agree_with_shapely(shift: tuple[float, float], skin_mm: float) -> None:
    wheel, blank = _wheel_and_blank()
    wheel = wheel.moved(*shift)
    wanted = _by_shapely(wheel, blank, skin_mm)
    area, volume = missing_metal(wheel, blank, skin_mm)
    assert area == pytest.approx(shapely.area(wanted), rel=1e-9)
    assert area > 0.0
    middle_r = shapely.get_y(shapely.centroid(wanted))
    assert volume == pytest.approx(2.0 * math.pi * shapely.area(wanted) * middle_r, rel=1e-9)
    drawn = shapely.union_all([shapely.Polygon(ring) for ring in missing_parts(wheel, blank, skin_mm)])
    assert shapely.area(shapely.symmetric_difference(drawn, wanted)) < 1e-2


def test_nothing_is_missing_of_a_wheel_that_lies_in_its_blank() -> None:
    wheel, _ = _wheel_and_blank()
    low, high, inner, outer = wheel.bounds
    around = Path.closed(
        [
            (low - 1.0, inner - 1.0),
            (high + 1.0, inner - 1.0),
            (high + 1.0, outer + 1.0),
            (low - 1.0, outer + 1.0),
        ]
    )
    assert missing_metal(wheel, around, 0.0) == (0.0, 0.0)
    assert missing_parts(wheel, around, 0.0) == []


def test_a_face_that_lies_on_the_blank_is_not_missing() -> None:
    """Where edges lie on each other the booleans of shapely decide: 2 mm of 10 stand out at one side."""
    wheel = Path.closed([(0.0, 10.0), (10.0, 10.0), (10.0, 20.0), (0.0, 20.0)])
    blank = Path.closed([(0.0, 10.0), (8.0, 10.0), (8.0, 20.0), (0.0, 20.0)])
    area, volume = missing_metal(wheel, blank, 0.0)
    assert area == pytest.approx(20.0)
    assert volume == pytest.approx(math.pi * (20.0**2 - 10.0**2) * 2.0)
    assert len(missing_parts(wheel, blank, 0.0)) == 1

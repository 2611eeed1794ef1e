"""Areas of stress on a mesh: exact for a field that runs straight, closed, and read in grey."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from app.reports.strength_bands import SCALE, Field, Loop, border, levels
from geometry.shape.curve import Path
from geometry.strength.mesh import Mesh, mesh_of
from geometry.strength.sizes import SizeRule


@pytest.fixture(scope="module")
def plate() -> Mesh:
    """A plate z 0 to 100, r 50 to 60."""
    corners = np.array([[0.0, 50.0], [100.0, 50.0], [100.0, 60.0], [0.0, 60.0]])
    return mesh_of(Path(corners, np.zeros(4)), SizeRule(most_mm=4.0))


def area(loops: list[Loop]) -> float:
    """Return the area of loops filled even-odd."""
    whole: BaseGeometry = shapely.Polygon()
    for loop in loops:
        whole = shapely.symmetric_difference(whole, shapely.Polygon(loop))
    return float(whole.area)


@pytest.mark.parametrize("level", [0.0, 12.5, 50.0, 99.0])
def test_the_area_above_a_level_is_exact_for_a_straight_field(plate: Mesh, level: float) -> None:
    field = Field(plate, plate.points[:, 0].copy())
    assert area(field.above(level)) == pytest.approx((100.0 - level) * 10.0, rel=1e-9)


def test_an_island_and_a_hole_are_followed(plate: Mesh) -> None:
    ring = np.abs(np.hypot(plate.points[:, 0] - 50.0, plate.points[:, 1] - 55.0) - 3.0)
    inside = area(Field(plate, -ring).above(-1.0))
    # Between the circles of radius 2 and 4; the field is cut into straight pieces of a millimetre or two.
    assert inside == pytest.approx(np.pi * (16.0 - 4.0), rel=0.25)
    whole = area(Field(plate, -ring).above(-1e6))
    assert whole == pytest.approx(1000.0, rel=1e-9)
    assert Field(plate, -ring).above(1.0) == []


def test_bands_leave_no_gap_between_them(plate: Mesh) -> None:
    values = np.sin(plate.points[:, 0] / 7.0) * plate.points[:, 1]
    field = Field(plate, values)
    for level in (-30.0, 0.0, 25.0):
        below = Field(plate, -values).above(-level)
        assert area(field.above(level)) + area(below) == pytest.approx(1000.0, rel=1e-9)


def test_the_border_of_elements_encloses_them(plate: Mesh) -> None:
    middle = plate.points[plate.triangles[:, :3]].mean(axis=1)
    chosen = (middle[:, 0] < 30.0) | (middle[:, 0] > 60.0)
    corner = plate.points[plate.triangles[chosen][:, :3]]
    (x1, y1), (x2, y2) = (corner[:, 1] - corner[:, 0]).T, (corner[:, 2] - corner[:, 0]).T
    assert area(border(plate, chosen)) == pytest.approx(float((x1 * y2 - x2 * y1).sum()) / 2.0, rel=1e-9)
    assert border(plate, np.zeros(len(chosen), dtype=bool)) == []


def test_levels_rise_by_one_round_step_that_covers_all_but_single_peaks(plate: Mesh) -> None:
    values = np.linspace(0.0, 230.0, len(plate.points))
    values[0] = 5000.0
    found = levels([Field(plate, values)], [np.ones(len(values), dtype=bool)])
    assert len(found) == len(SCALE) - 1
    assert found[0] in (20.0, 25.0, 50.0)
    assert np.diff(found) == pytest.approx(found[0])
    assert 228.0 <= found[-1] <= 500.0


def lightness(colour: str) -> float:
    """Return CIE L* of an sRGB colour (IEC 61966-2-1; CIE 15, formulas from memory)."""
    share = np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)]) / 255.0
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    return 116.0 * math.cbrt(float(linear @ [0.2126, 0.7152, 0.0722])) - 16.0


def test_the_scale_falls_evenly_in_lightness_so_that_grey_print_keeps_the_order() -> None:
    steps = np.diff([lightness(colour) for colour in SCALE])
    assert steps == pytest.approx(-70.0 / (len(SCALE) - 1), abs=1.5)

"""Corner radii of a die on plain cylinders, where growth and volume have closed forms."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pytest
import shapely

from geometry.errors import GeometryError
from geometry.forging.corner import EACH_MM, FOUND_MM, SPARE_MM, Cornered, cornered
from geometry.shape.curve import Path

#: Radius of the cylinders, mm.
OUTER = 100.0


def rounded_mm3(radius: float, length: float, corner: float) -> float:
    """A cylinder less two rings: a square of the corner's radius without its quarter disc, by Pappus."""
    square = corner**2 * (radius - corner / 2.0)
    quarter = math.pi / 4.0 * corner**2 * (radius - corner + 4.0 * corner / (3.0 * math.pi))
    return math.pi * radius**2 * length - 2.0 * 2.0 * math.pi * (square - quarter)


def made(length: float, corner: float, axle: tuple[float, float] = (0.0, 0.0)) -> Cornered:
    """A cylinder of 100 mm radius between dies without draft: its envelope is a longer or wider one.

    `axle`: radii at which its ends meet the axle, which rounding may leave a hair above it.
    """

    def envelope(by: float, pieces: Sequence[Path]) -> Path:
        low = min([0.0, *(piece.bounds[0] for piece in pieces)]) - by
        high = max([length, *(piece.bounds[1] for piece in pieces)]) + by
        return Path.closed([(low, axle[0]), (high, axle[1]), (high, OUTER + by), (low, OUTER + by)])

    return cornered(envelope, shapely.box(0.0, 0.0, length, OUTER), corner, 0.0)


def test_a_flat_disc_grows_all_round_until_the_rounded_corner_holds_the_sharp_one() -> None:
    """The sharp corner lies within the arc where it stands R (1 - 1 / sqrt 2) off both sides: 2.93 of 10."""
    found = made(50.0, 10.0)
    least = 10.0 * (1.0 - math.sqrt(0.5))
    assert not found.axially
    # Nothing is missing; the length is found to FOUND_MM, and what may be missing in the search is added.
    assert least <= found.grown_mm <= least + FOUND_MM + SPARE_MM
    assert shapely.Polygon(found.path.flattened(0.001)).covers(shapely.box(0.0, 0.0, 50.0, OUTER))
    expected = rounded_mm3(OUTER + found.grown_mm, 50.0 + 2.0 * found.grown_mm, 10.0)
    assert found.volume_mm3 == pytest.approx(expected, rel=1e-4)


def test_a_long_cylinder_is_drawn_out_along_the_axle_by_the_radius() -> None:
    """Its wall is whole up to the end where the arc begins there; within FOUND_MM that is 0.45 earlier."""
    found = made(400.0, 10.0)
    earlier = math.sqrt(2.0 * 10.0 * FOUND_MM)
    assert found.axially
    assert 10.0 - earlier - EACH_MM <= found.grown_mm <= 10.0 + EACH_MM
    low, high, _, top = found.path.bounds
    assert top == pytest.approx(OUTER + SPARE_MM, abs=0.01)
    assert found.volume_mm3 == pytest.approx(rounded_mm3(top, high - low, 10.0), rel=1e-4)
    # Either end by itself, and no more than it needs.
    assert -low == pytest.approx(high - 400.0, abs=2.0 * EACH_MM)


@pytest.mark.parametrize("axle", [(3e-8, 0.0), (0.0, 3e-8), (2e-8, 3e-8)])
def test_a_hair_above_the_axle_is_no_corner(axle: tuple[float, float]) -> None:
    """The ends stand square to the axle: only the two outer corners are round."""
    found, plain = made(50.0, 10.0, axle), made(50.0, 10.0)
    assert found.volume_mm3 == pytest.approx(plain.volume_mm3, rel=1e-9)
    low, high, _, _ = found.path.bounds
    half = shapely.Polygon(found.path.flattened(0.001))
    for r in (0.01, 1.0, 5.0):
        assert shapely.LineString([(-99.0, r), (99.0, r)]).intersection(half).length == pytest.approx(
            high - low
        )


def test_dies_that_give_no_room_are_said() -> None:
    box = Path.closed([(0.0, 0.0), (50.0, 0.0), (50.0, OUTER), (0.0, OUTER)])
    with pytest.raises(GeometryError, match="Corners of radius 10 leave no blank that holds the stock"):
        cornered(lambda by, pieces: box, shapely.box(0.0, 0.0, 50.0, OUTER), 10.0, 0.0)

"""Tracing a picture: its scale, its zero, and what it may be wrong by."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.errors import GeometryError
from geometry.shape.outline import Corner
from geometry.shape.tracing import (
    AxisScale,
    KnownLength,
    Lie,
    PictureMap,
    TracedPoint,
    Zero,
    axis_scale,
    lean_deg,
    length_px,
    shown_at,
    spread,
    traced,
    tracing_error,
)

#: A picture at 4 pixels to a mm along z and 5 along r, face at x 400, axle line at y 1000.
PLAIN = PictureMap(
    Lie(),
    AxisScale(0.25, (0.25,), 800.0),
    AxisScale(0.2, (0.2,), 1000.0),
    Zero((400.0, 17.0)),
    Zero((33.0, 1000.0)),
)


def test_the_plain_picture_has_z_to_the_right_and_r_upwards() -> None:
    places = PLAIN.places(np.array([(400.0, 1000.0), (600.0, 0.0), (0.0, 500.0)]))
    assert places.tolist() == [[0.0, 0.0], [50.0, 200.0], [-100.0, 100.0]]


def test_a_zero_may_be_any_place_that_is_known() -> None:
    """The axle line is off the page: a place at r 120 is pointed at instead."""
    moved = PictureMap(PLAIN.lie, PLAIN.z, PLAIN.r, Zero((400.0, 0.0), 10.0), Zero((0.0, 400.0), 120.0))
    assert moved.places(np.array([(400.0, 400.0)])).tolist() == [[10.0, 120.0]]


@pytest.mark.parametrize(
    ("lie", "outboard", "up"),
    [
        (Lie(), (1, 0), (0, -1)),
        (Lie(flip=True), (-1, 0), (0, -1)),
        (Lie(turns=1), (0, 1), (1, 0)),  # a quarter to the left brings what points down to the right
        (Lie(turns=2), (-1, 0), (0, 1)),
        (Lie(turns=3, flip=True), (0, 1), (-1, 0)),
    ],
)
def test_turns_and_flip(lie: Lie, outboard: tuple[int, int], up: tuple[int, int]) -> None:
    """Which way of the picture (x right, y down) runs outboard, and which away from the axle."""
    assert (lie.matrix @ np.array(outboard)).tolist() == pytest.approx([1.0, 0.0])
    assert (lie.matrix @ np.array(up)).tolist() == pytest.approx([0.0, 1.0])


@pytest.mark.parametrize(
    ("ends", "tilt"),
    [
        (((0.0, 0.0), (100.0, -100.0 * math.tan(math.radians(3.0)))), 3.0),
        (((100.0, -100.0 * math.tan(math.radians(3.0))), (0.0, 0.0)), 3.0),  # from either end
        (((0.0, 0.0), (-100.0 * math.sin(0.1), -100.0 * math.cos(0.1))), math.degrees(0.1)),  # an upright
        (((0.0, 0.0), (10.0, 10.0)), 45.0),
    ],
)
def test_a_line_is_levelled_by_the_smaller_turn(
    ends: tuple[tuple[float, float], tuple[float, float]], tilt: float
) -> None:
    assert Lie(level=ends).tilt_deg == pytest.approx(tilt)


@given(
    tilt=st.floats(-0.7, 0.7),
    turns=st.integers(0, 3),
    flip=st.booleans(),
    per_z=st.floats(0.05, 5.0),
    per_r=st.floats(0.05, 5.0),
    zero=st.tuples(st.floats(-500, 3000), st.floats(-500, 3000)),
    place=st.tuples(st.floats(-300, 300), st.floats(0, 400)),
)
def test_a_place_photographed_askew_is_found_again(
    tilt: float,
    turns: int,
    flip: bool,
    per_z: float,
    per_r: float,
    zero: tuple[float, float],
    place: tuple[float, float],
) -> None:
    """Against complex numbers: the scene is stretched, tilted, flipped, turned back, and hung from y = 0."""

    def photographed(z: float, r: float) -> tuple[float, float]:
        w = complex(z / per_z, r / per_r) * cmath.exp(1j * tilt)
        w = complex(-w.real, w.imag) if flip else w
        w *= (-1j) ** turns
        return zero[0] + w.real, zero[1] - w.imag

    lie = Lie(turns, flip, (photographed(0.0, 0.0), photographed(100.0 * per_z, 0.0)))
    lengths = [
        KnownLength("z", (photographed(-50.0, 30.0), photographed(90.0, 30.0)), 140.0),
        KnownLength("r", (photographed(10.0, 20.0), photographed(10.0, 220.0)), 200.0),
    ]
    z, r = (axis_scale(lengths, axis, lie) for axis in ("z", "r"))
    picture = PictureMap(lie, z, r, Zero(photographed(0.0, 77.0)), Zero(photographed(-33.0, 0.0)))
    assert picture.places(np.array([photographed(*place)]))[0] == pytest.approx(place, abs=1e-6)
    assert picture.pixels(np.array([place]))[0] == pytest.approx(photographed(*place), abs=1e-6)


def test_only_the_part_along_the_axis_counts() -> None:
    """3, 4, 5: the ends lie 400 apart along z and 300 along r."""
    known = KnownLength("z", ((0.0, 0.0), (400.0, 300.0)), 100.0)
    assert length_px(known, Lie()) == 400.0
    assert lean_deg(known, Lie()) == pytest.approx(math.degrees(math.atan(3.0 / 4.0)))
    assert axis_scale([known], "z", Lie()).mm_per_px == 0.25


def test_a_scale_of_two_lengths_weighs_the_longer_and_says_how_they_disagree() -> None:
    """100 over 400 px is 0.25, 20 over 100 px 0.2; least squares (100 400 + 20 100) / (400^2 + 100^2)."""
    lengths = [
        KnownLength("z", ((0.0, 0.0), (400.0, 0.0)), 100.0),
        KnownLength("z", ((0.0, 0.0), (-100.0, 0.0)), 20.0),
        KnownLength("r", ((0.0, 0.0), (0.0, 100.0)), 50.0),
    ]
    scale = axis_scale(lengths, "z", Lie())
    assert scale.each == (0.25, 0.2)
    assert scale.mm_per_px == pytest.approx(42_000.0 / 170_000.0)
    assert scale.spread == pytest.approx(0.05 / 0.225)
    assert scale.longest_px == 400.0
    assert scale.is_checked
    single = axis_scale(lengths, "r", Lie())
    assert (single.spread, single.is_checked) == (0.0, False)


def test_no_length_and_a_length_across_its_axis_are_refused() -> None:
    with pytest.raises(GeometryError, match="No known length along r"):
        axis_scale([KnownLength("z", ((0.0, 0.0), (9.0, 0.0)), 1.0)], "r", Lie())
    with pytest.raises(GeometryError, match=r"spans 2\.0 pixels along z"):
        axis_scale([KnownLength("z", ((0.0, 0.0), (2.0, 300.0)), 80.0)], "z", Lie())


def test_the_spread_is_a_share_of_the_mean() -> None:
    assert spread((0.99, 1.01)) == pytest.approx(0.02)


def tracing(z: AxisScale, r: AxisScale) -> PictureMap:
    return PictureMap(Lie(), z, r, Zero((0.0, 0.0)), Zero((0.0, 0.0)))


PLACES = np.array([(-60.0, 100.0), (40.0, 200.0)])


def test_the_error_starts_at_one_millimetre() -> None:
    """0.1 mm pixels; scales agree; the known lengths are longer than the reach: 2 px x 0.1 = 0.2."""
    fine = AxisScale(0.1, (0.1, 0.1), 4000.0)
    error = tracing_error(tracing(fine, fine), PLACES)
    assert error.pixels_mm == pytest.approx(0.2)
    assert error.scale_mm == pytest.approx(200.0 * 2.0 / 4000.0)
    assert error.whole_mm == 1.0


def test_coarse_pixels_count_twice() -> None:
    coarse = AxisScale(0.9, (0.9, 0.9), 400.0)
    assert tracing_error(tracing(coarse, coarse), PLACES).whole_mm == pytest.approx(1.8)


def test_disagreement_counts_over_the_reach_from_the_zero() -> None:
    """The lengths along r differ by 2 % of their mean; the outline reaches 200 from the axle line: 4 mm."""
    z = AxisScale(0.1, (0.1, 0.1), 4000.0)
    r = AxisScale(0.1, (0.099, 0.101), 4000.0)
    assert tracing_error(tracing(z, r), PLACES).whole_mm == pytest.approx(4.0)


def test_axes_that_differ_count_over_the_longer_reach() -> None:
    z, r = AxisScale(0.099, (0.099,), 4000.0), AxisScale(0.101, (0.101,), 4000.0)
    picture = tracing(z, r)
    assert picture.spread == pytest.approx(0.02)
    assert tracing_error(picture, PLACES).whole_mm == pytest.approx(0.02 * 200.0)


def test_a_short_known_length_carries_its_pointing_error_outwards() -> None:
    """2 px on a length of 50 px is 4 %; along z the outline reaches 60 mm: 2.4 mm."""
    z, r = AxisScale(0.1, (0.1,), 50.0), AxisScale(0.1, (0.1,), 4000.0)
    assert tracing_error(tracing(z, r), PLACES).whole_mm == pytest.approx(2.4)


def test_typed_coordinates_win_over_the_click() -> None:
    points = (
        TracedPoint((600.0, 0.0)),
        TracedPoint((600.0, 0.0), z=46.5, radius=3.0),
        TracedPoint((600.0, 0.0), r=199.0),
    )
    assert traced(points, PLAIN) == (
        Corner(50.0, 200.0), Corner(46.5, 200.0, 3.0), Corner(50.0, 199.0),
    )  # fmt: skip
    assert shown_at(points, PLAIN) == pytest.approx(
        np.array([(600.0, 0.0), (600.0 - 3.5 / 0.25, 0.0), (600.0, 1.0 / 0.2)])
    )
    assert shown_at(points, None).tolist() == [[600.0, 0.0]] * 3
    assert traced((), PLAIN) == ()

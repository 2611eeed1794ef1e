"""Best fit of measured points against shifts and noise that are known beforehand."""

from __future__ import annotations

import numpy as np
import pytest

from geometry.errors import GeometryError
from geometry.readings.first_off import first_off
from geometry.shape.curve import Array
from geometry.shape.section import Outline, build
from tests.support import example


@pytest.fixture(scope="module")
def outline() -> Outline:
    built = build(example.project().wheels[0].section)
    assert isinstance(built, Outline)
    return built


@pytest.fixture(scope="module")
def on_skin(outline: Outline) -> Array:
    """800 points on the skin, evenly along each piece and off its ends."""
    pieces = np.flatnonzero(outline.skin)
    each = np.linspace(0.1, 0.9, 9)
    return outline.path.at(np.repeat(pieces, len(each)), np.tile(each, len(pieces)))


def test_a_shift_of_a_fifth_of_a_millimetre_is_found_and_no_form_error(
    outline: Outline, on_skin: Array
) -> None:
    found = first_off(outline, on_skin + np.array([0.20, 0.0]))
    assert (found.dz_mm, found.dr_mm) == pytest.approx((0.20, 0.0), abs=1e-6)
    assert found.shifted.form_mm == pytest.approx(0.0, abs=1e-5)
    assert found.measured.form_mm == pytest.approx(0.40, abs=0.02)  # faces to both sides show it, + and -
    slanted = first_off(outline, on_skin + np.array([-0.12, 0.16]))
    assert (slanted.dz_mm, slanted.dr_mm) == pytest.approx((-0.12, 0.16), abs=1e-6)
    assert slanted.shifted.rms_mm == pytest.approx(0.0, abs=1e-6)


def test_noise_gives_its_own_size_back(outline: Outline, on_skin: Array) -> None:
    """Of noise in both directions only the part across the skin shows: its standard deviation."""
    noise = np.random.default_rng(8).normal(0.0, 0.05, on_skin.shape)
    found = first_off(outline, on_skin + np.array([0.1, -0.05]) + noise)
    sigma = 0.05 / np.sqrt(2.0 * len(on_skin))  # standard error of a standard deviation: s / sqrt(2 n)
    assert found.shifted.rms_mm == pytest.approx(0.05, abs=5.0 * sigma)
    assert (found.dz_mm, found.dr_mm) == pytest.approx((0.1, -0.05), abs=0.01)


def test_surplus_is_positive_and_missing_metal_negative(outline: Outline) -> None:
    r = float(outline.path.points[outline.skin][:, 1].max())
    top = outline.path.points[outline.path.points[:, 1] == r][0]
    under, over = top - np.array([0.0, 0.3]), top + np.array([0.0, 0.3])
    low, high = (
        first_off(outline, np.tile(under, (3, 1))),
        first_off(outline, np.tile(over, (3, 1))),
    )
    assert low.measured.mm.max() < 0.0
    assert high.measured.mm == pytest.approx(0.3)


def test_points_on_one_cylinder_show_no_shift_along_the_axle(outline: Outline) -> None:
    lengths = (
        outline.path.lengths
        * (np.abs(outline.path.table[:, 1] - outline.path.table[:, 3]) < 1e-9)
        * outline.skin
    )
    piece = int(np.argmax(lengths))
    on = outline.path.at(np.full(20, piece), np.linspace(0.1, 0.9, 20))
    out = outline.path.tangents(np.array([piece]), np.array([0.5]))[0]
    found = first_off(outline, on + 0.1 * np.array([out[1], -out[0]]))
    assert len(found.not_determined) == 1
    assert found.shifted.form_mm == pytest.approx(0.0, abs=1e-6)
    assert found.not_measured


def test_ball_centres_are_taken_back_by_the_ball(outline: Outline, on_skin: Array) -> None:
    pieces = np.flatnonzero(outline.skin)
    each = np.linspace(0.1, 0.9, 9)
    along = outline.path.tangents(np.repeat(pieces, 9), np.tile(each, len(pieces)))
    centres = on_skin + 0.5 * np.column_stack([along[:, 1], -along[:, 0]])
    found = first_off(outline, centres, ball_mm=0.5)
    assert np.median(np.abs(found.measured.mm)) < 1e-9


def test_points_out_of_reach_are_left_out_and_counted(outline: Outline, on_skin: Array) -> None:
    stray = np.array([[0.0, 5.0], [500.0, 100.0]])
    found = first_off(outline, np.vstack([on_skin, stray]))
    assert found.left_out == 2
    with pytest.raises(GeometryError, match="0 of 2 points"):
        first_off(outline, stray)

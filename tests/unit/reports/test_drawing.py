"""Arcs, hatch and datums against closed forms."""

import math

import numpy as np
import pytest

from app.reports.drawing import Contour, Frame, Pen, Span, Type, curves, dimension, hatch, span_extent
from geometry.shape.curve import Path
from tests.support.recorder import Recorder


@pytest.mark.parametrize("bulge", [1.0, -1.0, 0.3, -0.05, math.tan(math.pi / 16.0)])
def test_bezier_pieces_lie_on_their_circle(bulge: float) -> None:
    # Circle of an arc with chord c and bulge b: radius c (1 + b2) / (4 |b|); DXF's convention.
    start, end = (10.0, 20.0), (70.0, 20.0)
    radius = 60.0 * (1.0 + bulge * bulge) / (4.0 * abs(bulge))
    centre = (40.0, 20.0 + radius * math.copysign(1.0, bulge) * (1 - bulge**2) / (1 + bulge**2))
    at = start
    turned = 0.0
    for first, second, last in curves(start, end, bulge):
        t = np.linspace(0.0, 1.0, 41)[:, None]
        p = (
            (1 - t) ** 3 * np.array(at)
            + 3 * (1 - t) ** 2 * t * np.array(first)
            + 3 * (1 - t) * t**2 * np.array(second)
            + t**3 * np.array(last)
        )
        assert np.abs(np.hypot(*(p - np.array(centre)).T) - radius).max() < 5e-6 * radius
        angle = np.unwrap(np.arctan2(p[:, 1] - centre[1], p[:, 0] - centre[0]))
        turned += float(angle[-1] - angle[0])
        at = last
    assert at == end
    assert turned == pytest.approx(4.0 * math.atan(bulge), abs=1e-9)


@pytest.mark.parametrize("angle", [0.0, 45.0, 100.0])
def test_hatch_covers_the_area_between_two_circles(angle: float) -> None:
    page = Recorder()
    hatch(page, [Contour.circle((5.0, 3.0), 20.0), Contour.circle((5.0, 3.0), 10.0)], Pen(), 0.25, angle)
    length = 0.0
    for stroke in page.contours:
        (x0, y0), (x1, y1) = stroke.points
        length += math.hypot(x1 - x0, y1 - y0)
        assert max(math.hypot(x0 - 5.0, y0 - 3.0), math.hypot(x1 - 5.0, y1 - 3.0)) < 20.01
        for t in (0.25, 0.5, 0.75):
            assert math.hypot(x0 + t * (x1 - x0) - 5.0, y0 + t * (y1 - y0) - 3.0) > 9.98
        assert math.degrees(math.atan2(y1 - y0, x1 - x0)) % 180.0 == pytest.approx(angle, abs=1e-6)
    # Lines 0.25 apart: length x spacing is the area pi (20^2 - 10^2), to the step's own error.
    assert length * 0.25 == pytest.approx(math.pi * 300.0, rel=0.005)


def test_a_frame_keeps_shape_and_scale() -> None:
    path = Path.closed([(-10.0, 100.0, 0.0), (30.0, 100.0, 0.5), (30.0, 140.0, 0.0)])
    contour = Frame(50.0, 20.0, 2.5).contour(path)
    assert np.array(contour.points) == pytest.approx(np.array([(46.0, 60.0), (62.0, 60.0), (62.0, 76.0)]))
    assert contour.bulges == (0.0, 0.5, 0.0)


def test_words_of_a_dimension_stand_inside_where_they_fit_and_outside_where_not() -> None:
    page, style = Recorder(), Type(2.5)
    wide, narrow = Span(10.0, 80.0, "backspace 178.00"), Span(10.0, 14.0, "inset 2.00")
    assert span_extent(page, wide, style) == (10.0, 80.0)
    low, high = span_extent(page, narrow, style)
    assert low < 10.0
    assert high > 14.0 + page.text_width("inset 2.00", style)
    dimension(page, wide, 5.0, style, Pen())
    dimension(page, narrow, 5.0, style, Pen())
    (inside, _), (outside, _) = page.texts
    assert inside[0] > 10.0
    assert inside[2] < 80.0
    assert outside[0] > 14.0
    assert outside[2] <= high

"""Shapes as ezdxf writes them in four releases, as text and binary, against outlines known by formula."""

from __future__ import annotations

import cmath
import io
import math
from collections.abc import Callable, Sequence

import numpy as np
import pytest
import shapely
from ezdxf.document import Drawing
from ezdxf.filemanagement import new
from ezdxf.layouts.base import BaseLayout
from ezdxf.layouts.layout import Modelspace
from ezdxf.math import BSpline

from app.files.readers.answer import ReadOutline
from geometry.tolerances import CURVE_MM
from tests.support.apart import apart, edges, places, polygon, to_edge
from tests.support.drawings import read_dxf

RELEASES = ("R12", "R2000", "R2010", "R2018")
Rows = Sequence[Sequence[float]]


def written(document: Drawing, form: str) -> bytes:
    """Return a drawing as ezdxf writes it, as text or binary."""
    if form == "bin":
        binary = io.BytesIO()
        document.write(binary, fmt="bin")
        return binary.getvalue()
    text = io.StringIO()
    document.write(text)
    return document.encode(text.getvalue())


def slot(space: BaseLayout) -> Rows:
    """Draw lines and arcs in no order; return rows of the slot about (0, 150) and (60, 150), radius 12."""
    space.add_arc((60, 150), 12, 270, 90)
    space.add_line((0, 138), (60, 138))
    space.add_arc((0, 150), 12, 90, 270)
    space.add_line((0, 162), (60, 162))
    return ((0, 138), (60, 138, 1.0), (60, 162), (0, 162, 1.0))


def disc(space: BaseLayout) -> Rows:
    space.add_circle((20, 200), 35)
    return ((-15, 200, 1.0), (55, 200, 1.0))


BULGED = (
    (0.0, 100.0, 0.0),
    (40.0, 100.0, math.tan(math.pi / 8)),
    (50.0, 110.0, 0.0),
    (50.0, 150.0, -0.3),
    (0.0, 140.0, 0.0),
)


def polyline(space: BaseLayout) -> Rows:
    if space.dxfversion <= "AC1009":
        space.add_polyline2d(BULGED, format="xyb", close=True)
    else:
        space.add_lwpolyline(BULGED, format="xyb", close=True)
    return BULGED


def polyline_in_space(space: BaseLayout) -> Rows:
    """A closed polyline in space with stray heights."""
    corners = [(0.0, 100.0), (45.0, 100.0), (45.0, 130.0), (20.0, 150.0), (0.0, 130.0)]
    space.add_polyline3d([(x, y, 0.3 * k) for k, (x, y) in enumerate(corners)], close=True)
    return corners


def from_behind(space: BaseLayout) -> Rows:
    """Arcs whose plane is seen from behind: x is reversed in them, not in lines."""
    back = {"extrusion": (0, 0, -1)}
    space.add_arc((-60, 150), 12, 90, 270, dxfattribs=back)
    space.add_arc((0, 150), 12, 270, 90, dxfattribs=back)
    space.add_line((0, 138), (60, 138))
    space.add_line((0, 162), (60, 162))
    return ((0, 138), (60, 138, 1.0), (60, 162), (0, 162, 1.0))


def nested(space: BaseLayout) -> Rows:
    """A mirrored, scaled block within a turned one; placed rows by complex numbers."""
    blocks = space.doc.blocks
    inner, outer = blocks.new("INNER", base_point=(5, 5)), blocks.new("OUTER")
    polyline(inner)
    outer.add_blockref("INNER", (10, -30), dxfattribs={"xscale": -0.5, "yscale": 0.5, "rotation": 20})
    space.add_blockref("OUTER", (30, 200), dxfattribs={"xscale": 2, "yscale": 2, "rotation": -55})

    def placed(x: float, y: float) -> complex:
        local = complex(-0.5 * (x - 5), 0.5 * (y - 5)) * cmath.exp(1j * math.radians(20)) + complex(10, -30)
        return 2 * local * cmath.exp(-1j * math.radians(55)) + complex(30, 200)

    places = [(placed(x, y), bulge) for x, y, bulge in BULGED]
    return [(q.real, q.imag, -bulge) for q, bulge in places]


def read(
    draw: Callable[[BaseLayout], object], release: str, form: str, **how: object
) -> tuple[ReadOutline, object]:
    document = new(release, units=4)
    document.header["$MEASUREMENT"] = 1
    space: Modelspace = document.modelspace()
    expected = draw(space)
    # $INSUNITS came with release 2000.
    unit = {"unit": "mm"} if release == "R12" else {}
    return read_dxf(written(document, form), **unit, **how), expected


@pytest.mark.parametrize("form", ["text", "bin"])
@pytest.mark.parametrize("release", RELEASES)
@pytest.mark.parametrize("draw", [slot, disc, polyline, polyline_in_space, from_behind, nested])
def test_lines_and_arcs_come_in_exactly(draw: Callable[[BaseLayout], Rows], release: str, form: str) -> None:
    found, expected = read(draw, release, form)
    (loop,) = found.loops_mm()
    assert isinstance(expected, Sequence)
    assert apart(loop, expected) < 1e-9
    assert (found.unit, found.skipped, found.doubles, found.joined) == ("mm", {}, 0, 0)


@pytest.mark.parametrize("release", RELEASES)
def test_a_drawing_without_a_stated_unit_is_not_known(release: str) -> None:
    document = new(release, units=0)
    disc(document.modelspace())
    assert read_dxf(written(document, "text")).unit == "not known"


# Curves


def ellipse(space: BaseLayout) -> list[complex]:
    major = complex(60, 25)
    space.add_ellipse((20, 200), (major.real, major.imag), 0.45)
    turns = np.linspace(0, 2 * math.pi, 4001)[:-1]
    return [20 + 200j + major * (math.cos(t) + 0.45j * math.sin(t)) for t in turns]


CONTROL = [
    (0.0, 100.0),
    (40.0, 90.0),
    (70.0, 130.0),
    (60.0, 170.0),
    (20.0, 180.0),
    (-20.0, 150.0),
    (-30.0, 110.0),
]


def spline(space: BaseLayout) -> list[complex]:
    """A cubic spline that returns to its start in a corner; its places by ezdxf."""
    control = [*CONTROL, CONTROL[0]]
    space.add_open_spline([(x, y, 0) for x, y in control], degree=3)
    return _places(BSpline(control, order=4))


def rational(space: BaseLayout) -> list[complex]:
    control, weights = [*CONTROL, CONTROL[0]], [1, 2, 0.5, 1, 3, 1, 0.7, 1]
    space.add_rational_spline([(x, y, 0) for x, y in control], weights, degree=3)
    return _places(BSpline(control, order=4, weights=weights))


def _places(curve: BSpline) -> list[complex]:
    points = curve.points(np.linspace(0, curve.max_t, 4001)[:-1])
    return [complex(p.x, p.y) for p in points]


def stretched(space: BaseLayout) -> list[complex]:
    """A circle in a block that is stretched along x."""
    part = space.doc.blocks.new("PART")
    part.add_circle((0, 0), 20)
    space.add_blockref("PART", (10, 150), dxfattribs={"xscale": 2.5, "yscale": 1, "rotation": 30})
    turns = np.linspace(0, 2 * math.pi, 4001)[:-1]
    turned = cmath.exp(1j * math.radians(30))
    return [10 + 150j + turned * complex(50 * math.cos(t), 20 * math.sin(t)) for t in turns]


CASES = [(release, "outward", form) for release in RELEASES[1:] for form in ("text", "bin")]
CASES += [("R2018", "inward", "text"), ("R2018", "nearest", "text")]

#: Chords of the true curve and of arcs stand inside them by less than this: length^2 / 8R of a chord, mm.
SAGITTA_MM = 2e-5


def beyond(points: Sequence[complex], rows: Rows, area: shapely.Polygon) -> float:
    """Return how far the farthest of the points outside an outline lies from it."""
    xs, ys = np.real(points), np.imag(points)
    outside = [points[k] for k in np.flatnonzero(~shapely.contains_xy(area, xs, ys)).tolist()]
    here = edges(rows)
    return max((min(to_edge(q, *edge) for edge in here) for q in outside), default=0.0)


@pytest.mark.parametrize(("release", "side", "form"), CASES)
@pytest.mark.parametrize("draw", [ellipse, spline, rational, stretched])
def test_curves_come_in_within_the_stated_distance(
    draw: Callable[[BaseLayout], list[complex]], release: str, side: str, form: str
) -> None:
    found, true = read(draw, release, form, side=side)
    assert isinstance(true, list)
    (loop,) = found.loops_mm()
    assert found.curves == 1
    assert 0.0 < found.curve_error_mm <= CURVE_MM
    true_rows = [(q.real, q.imag, 0.0) for q in true]
    here, there = edges(loop), shapely.Polygon([row[:2] for row in true_rows])
    assert max(min(to_edge(q, *edge) for edge in here) for q in true[::10]) <= CURVE_MM
    ring = there.exterior
    ours = places(loop, 8)
    assert max(ring.distance(shapely.Point(q.real, q.imag)) for q in ours) <= CURVE_MM + SAGITTA_MM
    if side == "outward":
        assert beyond(true, loop, shapely.Polygon(polygon(loop, 512))) <= SAGITTA_MM
    if side == "inward":
        assert beyond(ours, true_rows, there) <= SAGITTA_MM

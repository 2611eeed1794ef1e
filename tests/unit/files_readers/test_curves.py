"""Ellipses and splines against their formulas and against ezdxf, and planes and blocks against ezdxf."""

import io
import math

import numpy as np
import pytest
from ezdxf.disassemble import recursive_decompose
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.filemanagement import new
from ezdxf.math import BSpline
from hypothesis import given
from hypothesis import strategies as st

from app.files.readers.answer import ReadError
from app.files.readers.curves import bspline, fitted
from geometry.shape.curve import Path
from geometry.tolerances import CURVE_MM
from tests.support.drawings import dxf, line, pairs, read_dxf


def ellipse(x: float, y: float, major: tuple[float, float], ratio: float, first: float, last: float) -> str:
    axis = pairs(11, major[0], 21, major[1], 40, ratio)
    return pairs(0, "ELLIPSE", 8, "0", 10, x, 20, y) + axis + pairs(41, first, 42, last)


def spline(
    degree: int, knots: list[float], control: list[tuple[float, float]], weights: tuple[float, ...] = ()
) -> str:
    numbers = "".join(pairs(40, k) for k in knots) + "".join(pairs(41, w) for w in weights)
    return (
        pairs(0, "SPLINE", 8, "0", 70, 8, 71, degree)
        + numbers
        + "".join(pairs(10, x, 20, y) for x, y in control)
    )


FULL = 2.0 * math.pi
EGG = ellipse(20, 100, (24, 7), 0.4, 0, FULL)
EGG_AREA = math.pi * 0.4 * (24.0**2 + 7.0**2)


def on_egg(t: float) -> tuple[float, float]:
    return 20 + 24 * math.cos(t) - 0.4 * 7 * math.sin(t), 100 + 7 * math.cos(t) + 0.4 * 24 * math.sin(t)


def distances(path: Path, points: np.ndarray) -> np.ndarray:
    """Return the least distance of each point to a path of arcs, + outside of a counterclockwise one."""
    out = []
    for p in points:
        best = math.inf
        for k in range(len(path)):
            d = p - path.centres[k]
            if path.on_sweep(np.array([k]), np.array([math.atan2(d[1], d[0])]))[0]:
                beyond = (math.hypot(*d) - path.radii[k]) * np.sign(path.bulges[k])
                best = min(best, beyond, key=abs)
        out.append(best)
    return np.array(out)


@pytest.mark.parametrize(
    ("side", "low", "high"), [("nearest", -0.5, 0.5), ("outward", -1.0, 0.0), ("inward", 0.0, 1.0)]
)
def test_an_ellipse_is_replaced_within_the_stated_distance(side: str, low: float, high: float) -> None:
    found = read_dxf(dxf(EGG), side=side)
    assert found.curves == 1
    assert 0.0 < found.curve_error_mm <= CURVE_MM
    points = np.array([on_egg(t) for t in np.linspace(0.0, FULL, 1500)])
    beyond = distances(Path.closed(found.loops[0]), points)
    band = found.curve_error_mm * (2.0 if side == "nearest" else 1.0)
    assert beyond.min() >= low * band - 1e-9
    assert beyond.max() <= high * band + 1e-9


def test_the_area_of_the_ellipse_lies_between_its_two_replacements() -> None:
    areas = {side: Path.closed(read_dxf(dxf(EGG), side=side).loops[0]).area for side in ("inward", "outward")}
    assert areas["inward"] < EGG_AREA < areas["outward"]


def test_a_part_of_an_ellipse_between_its_parameters() -> None:
    ends = [on_egg(t) for t in (2.0, 0.5)]
    found = read_dxf(dxf(ellipse(20, 100, (24, 7), 0.4, 0.5, 2.0), line(*ends[0], *ends[1])))
    # Sector of a stretched circle less its triangle: a b (t - sin t) / 2.
    expected = EGG_AREA / math.pi * (1.5 - math.sin(1.5)) / 2.0
    assert Path.closed(found.loops[0]).area == pytest.approx(expected, abs=0.005 * 60)


def test_an_ellipse_with_equal_axes_gives_exact_arcs() -> None:
    path = Path.closed(read_dxf(dxf(ellipse(0, 100, (0, 20), 1.0, 0, FULL))).loops[0])
    assert path.radii == pytest.approx(np.full(len(path), 20.0), abs=1e-9)


def test_the_rational_spline_of_a_circle_gives_exact_arcs() -> None:
    # Nine control points, weights 1 and sqrt(1/2): the textbook circle (The NURBS Book, 7.5).
    w = math.sqrt(0.5)
    square = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)]
    control = [(15.0 * x, 100.0 + 15.0 * y) for x, y in square]
    knots = [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4]
    found = read_dxf(dxf(spline(2, [float(k) for k in knots], control, (1, w, 1, w, 1, w, 1, w, 1))))
    path = Path.closed(found.loops[0])
    assert path.radii == pytest.approx(np.full(len(path), 15.0), abs=1e-9)
    assert path.area == pytest.approx(225.0 * math.pi, abs=1e-9)


@given(
    st.integers(1, 5),
    st.lists(st.tuples(st.floats(-50, 50), st.floats(60, 200), st.floats(0.2, 4.0)), min_size=6, max_size=9),
    st.floats(0.0, 1.0),
)
def test_spline_points_agree_with_ezdxf(
    degree: int, rows: list[tuple[float, float, float]], share: float
) -> None:
    control, weights = [row[:2] for row in rows], [row[2] for row in rows]
    inner = len(rows) - degree
    knots = [0.0] * degree + [float(k) for k in range(inner + 1)] + [float(inner)] * degree
    other = BSpline(control, order=degree + 1, knots=knots, weights=weights)
    t = share * inner
    assert bspline(degree, knots, control, weights)(t) == pytest.approx(tuple(other.point(t))[:2], abs=1e-9)


@pytest.mark.parametrize(
    "bad",
    [
        spline(3, [0, 0, 0, 0, 1, 1, 1], [(0, 50), (5, 60), (9, 60), (9, 50)]),
        spline(3, [0, 0, 0, 0, 1, 1, 1, 0.5], [(0, 50), (5, 60), (9, 60), (9, 50)]),
        spline(3, [0] * 8, [(0, 50), (5, 60), (9, 60), (9, 50)]),
        spline(900, [0, 0, 1, 1], [(0, 50), (5, 60)]),
        spline(1, [0, 0, 1, 1], [(0, 50), (5, 60)], (1, 0)),
        spline(1, [0, 0, 1, 1], [(0, 50), (5, 60)], (1,)),
        spline(3, [], []) + pairs(11, 0, 21, 50),
        ellipse(0, 50, (0, 0), 0.5, 0, FULL),
        ellipse(0, 50, (9, 0), 0.0, 0, FULL),
        ellipse(0, 50, (9, 0), 7.0, 0, FULL),
    ],
)
def test_curves_that_are_none_are_refused_with_their_line(bad: str) -> None:
    with pytest.raises(ReadError, match=r"(SPLINE|ELLIPSE) at line \d+ of the file"):
        read_dxf(dxf(bad))


def test_an_endless_curve_is_refused_before_it_takes_endless_arcs() -> None:
    with pytest.raises(ReadError, match=r"from x 500000, y 100 to x [-0-9.e]+, y 250100, more than 10000"):
        read_dxf(dxf(ellipse(0, 100, (5e5, 0), 0.5, 0, FULL)))


def test_a_curve_far_off_the_origin_is_followed_as_near_it() -> None:
    near = np.array(read_dxf(dxf(ellipse(0, 0, (24, 7), 0.4, 0, FULL))).loops[0])
    far = np.array(read_dxf(dxf(ellipse(3e5, 2e5, (24, 7), 0.4, 0, FULL))).loops[0])
    assert far[:, :2] - (3e5, 2e5) == pytest.approx(near[:, :2], abs=1e-9)
    # A double near 3e5 is told from the next by 6e-11, over samples 0.02 of a chord from its end.
    assert far[:, 2] == pytest.approx(near[:, 2], abs=1e-8)


def test_a_curve_that_never_gets_smooth_ends_at_its_limit() -> None:
    with pytest.raises(ReadError, match="does not fit arcs"):
        fitted(lambda t: (t, math.sin(1e13 * t)), [0.0, 1.0], "0")


@pytest.mark.parametrize("seed", range(12))
def test_nested_mirrored_and_turned_blocks_agree_with_ezdxf(seed: int) -> None:
    """The other reader is told by its own corners and bulges; both must give the same outlines to 1e-9 mm."""
    rng = np.random.default_rng(seed)
    document = new("R2000", units=4)
    inner, outer = document.blocks.new("INNER", base_point=(3, -2)), document.blocks.new("OUTER")
    rows = [(0, 0, 0.3), (20, 0, 0), (20, 15, -0.7), (4, 18, 0)]
    inner.add_lwpolyline(
        rows, format="xyb", close=True, dxfattribs={"extrusion": (0, 0, rng.choice([1, -1]))}
    )
    signs = rng.choice([1.0, -1.0], (2, 2))
    for block, name, at, k in ((outer, "INNER", (40, 10), 0), (document.modelspace(), "OUTER", (30, 900), 1)):
        scale = rng.uniform(0.5, 3.0)
        style = {
            "xscale": scale * signs[k, 0],
            "yscale": scale * signs[k, 1],
            "rotation": rng.uniform(0, 360),
        }
        style |= {"extrusion": (0, 0, rng.choice([1, -1]))}
        if k == 1:  # the other reader does not scale the steps of an array within a block
            style |= {"column_count": 2, "column_spacing": 70.0}
        block.add_blockref(name, at, dxfattribs=style)
    stream = io.StringIO()
    document.write(stream)
    expected = []
    for polyline in recursive_decompose(document.modelspace()):
        assert isinstance(polyline, LWPolyline)
        corners = list(polyline.vertices_in_wcs())
        flip = polyline.dxf.extrusion.z
        bulges = [flip * point[2] for point in polyline.get_points("xyb")]
        path = Path.closed([(p.x, p.y, b) for p, b in zip(corners, bulges, strict=True)]).counterclockwise()
        expected.append(sorted(path.rows()))
    found = [sorted(loop) for loop in read_dxf(stream.getvalue().encode()).loops]
    assert len(expected) == 2
    assert np.array(sorted(found)) == pytest.approx(np.array(sorted(expected)), abs=1e-9)

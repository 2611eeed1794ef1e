"""Gap rows whose answer is plain geometry; the arithmetic stands beside each."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from geometry.readings.gap import Gaps, gaps, signed_distances
from geometry.readings.moves import clearing_move
from geometry.shape.curve import Path
from tests.support.sections import random_outline, random_shape

WALL = Path.closed([(-50.0, 100.0), (50.0, 100.0), (50.0, 106.0), (-50.0, 106.0)])


def gap(metal: Path, shape: Path, *, inside: bool = False) -> Gaps:
    n = len(metal)
    return gaps(metal, np.zeros(n, dtype=np.intp), np.ones(n, dtype=bool), shape, inside=inside)


def least(metal: Path, shape: Path, *, inside: bool = False) -> float:
    return min(f.least_mm for f in gap(metal, shape, inside=inside).findings)


def test_corner_two_millimetres_into_a_flat_wall() -> None:
    corner = Path.closed([(0.0, 102.0), (-20.0, 82.0), (0.0, 62.0), (20.0, 82.0)])
    assert least(WALL, corner) == pytest.approx(-2.0, abs=0.01)
    assert clearing_move(WALL, corner, "r") == pytest.approx(-2.0, abs=1e-9)


@pytest.mark.parametrize("radius", [1.5, 2.0])
def test_hose_inside_a_wall(radius: float) -> None:
    """Anywhere in a wall of 6 the deepest place of a hose about its middle is 3 mm from both faces."""
    hose = Path.closed([(-radius, 103.0, 1.0), (radius, 103.0, 1.0)])
    found = gap(WALL, hose)
    assert found.touching
    assert min(f.least_mm for f in found.findings) == pytest.approx(-3.0, abs=0.01)
    assert abs(clearing_move(WALL, hose, "r")) == pytest.approx(3.0 + radius, abs=1e-9)


def test_block_through_a_wall() -> None:
    block = Path.closed([(-10.0, 60.0), (10.0, 60.0), (10.0, 140.0), (-10.0, 140.0)])
    assert least(WALL, block) == pytest.approx(-10.0, abs=0.01)
    assert clearing_move(WALL, block, "r") == pytest.approx(-40.0, abs=1e-9)
    assert abs(clearing_move(WALL, block, "z")) == pytest.approx(60.0, abs=1e-9)


def test_faces_that_only_meet_share_no_area() -> None:
    found = gap(WALL, Path.closed([(-10.0, 80.0), (10.0, 80.0), (10.0, 100.0), (-10.0, 100.0)]))
    assert not found.touching
    assert found.findings[0].least_mm == 0.0


def test_a_shape_that_holds_the_whole_metal_touches() -> None:
    around = Path.closed([(-80.0, 80.0), (80.0, 80.0), (80.0, 130.0), (-80.0, 130.0)])
    # On the end faces at r 105, half way between 80 and 130, the nearest edge is 25 away.
    assert least(WALL, around) == pytest.approx(-25.0, abs=0.01)


def test_required_gap_outline_reads_the_required_gap() -> None:
    """A wheel that touches the outline 3 mm around a square reads 3.000, also round its corners."""
    square = Path.closed([(-10.0, 50.0), (10.0, 50.0), (10.0, 70.0), (-10.0, 70.0)])
    for angle in np.linspace(0.0, math.pi / 2.0, 7):
        corner = np.array([10.0, 70.0]) + 3.0 * np.array([math.cos(angle), math.sin(angle)])
        out = 40.0 * np.array([math.cos(angle), math.sin(angle)])
        side = np.array([-out[1], out[0]])
        metal = Path.closed([corner, corner + out - side / 2.0, corner + out + side / 2.0])
        assert least(metal.counterclockwise(), square) == pytest.approx(3.0, abs=1e-6)


def test_spacer_changes_the_gap_by_the_cosine() -> None:
    """Spacer 5 mm; normal at 0, 30, 60, 90 degrees to the axle: 5.00, 4.33, 2.50, 0.00."""
    for degrees, change in ((0.0, 5.0), (30.0, 4.33), (60.0, 2.5), (90.0, 0.0)):
        normal = np.array([math.cos(math.radians(degrees)), math.sin(math.radians(degrees))])
        along = np.array([-normal[1], normal[0]])
        foot = np.array([0.0, 200.0])
        face = Path.closed(
            [
                foot - 60 * along,
                foot + 60 * along,
                foot + 60 * along + 20 * normal,
                foot - 60 * along + 20 * normal,
            ]
        )
        body = foot - 30.0 * normal
        shape = Path.closed([(body[0] - 5.0, body[1], 1.0), (body[0] + 5.0, body[1], 1.0)])
        metal = face.counterclockwise()
        assert least(metal.moved(dz=5.0), shape) - least(metal, shape) == pytest.approx(change, abs=0.01)


def test_weight_band_takes_its_thickness() -> None:
    """A band 4.5 thick on a barrel: the radial gap falls by exactly 4.5."""
    shape = Path.closed([(-10.0, 60.0), (10.0, 60.0), (10.0, 80.0), (-10.0, 80.0)])
    band = Path.closed([(-8.0, 95.5), (8.0, 95.5), (8.0, 100.0), (-8.0, 100.0)])
    assert least(WALL, shape) - least(band, shape) == pytest.approx(4.5, abs=1e-6)


def test_flattening_outward_never_reports_more_than_the_exact_gap() -> None:
    arc = Path.closed([(-60.0, 0.0), (60.0, 0.0, 0.4)])
    shape = Path.closed(arc.flattened(0.05, "outward")).moved(dr=20.0)
    assert least(WALL, shape) <= least(WALL, arc.moved(dr=20.0))


def test_growing_a_shape_lowers_the_gap_by_as_much() -> None:
    rng = np.random.default_rng(11)
    done = 0
    while done < 20:
        outline = random_outline(rng)
        shape = random_shape(rng, (rng.uniform(-120.0, 0.0), rng.uniform(60.0, 140.0)), 25.0)
        found = gaps(outline.path, outline.zone, outline.skin, shape)
        before = min(f.least_mm for f in found.findings)
        if found.touching or before < 2.0:
            continue
        d = before / 2.0
        # The offset of a polygon within 1e-5 of the shape, grown by d with fine arcs.
        grown = shapely.Polygon(shape.flattened(1e-5)).buffer(d, quad_segs=2000)
        after = least(outline.path, Path.closed(np.array(grown.exterior.coords)[:-1]).counterclockwise())
        assert before - after == pytest.approx(d, abs=1e-4)
        done += 1


def test_renumbering_changes_nothing() -> None:
    rng = np.random.default_rng(12)
    for _ in range(20):
        metal = random_outline(rng).path
        shape = random_shape(rng, (-40.0, 110.0), 40.0)
        k = int(rng.integers(1, len(metal)))
        turned = Path(np.roll(metal.points, k, axis=0), np.roll(metal.bulges, k))
        assert least(turned, shape) == pytest.approx(least(metal, shape), abs=1e-12)


def test_inside_a_blank_equals_the_gap_to_its_outline() -> None:
    """Where a wheel lies wholly in its blank, stock is the gap to the blank's outline taken as a line."""
    rng = np.random.default_rng(13)
    for _ in range(20):
        metal = random_outline(rng).path
        low, high, r0, r1 = metal.bounds
        t = rng.uniform(1.0, 6.0, 4)
        blank = Path.closed(
            [
                (low - t[0], r0 - t[1]),
                (high + t[2], r0 - t[1]),
                (high + t[2], r1 + t[3]),
                (low - t[0], r1 + t[3]),
            ]
        )
        stock = least(metal, blank, inside=True)
        line = shapely.LinearRing(blank.points)
        assert stock == pytest.approx(
            shapely.Polygon(metal.flattened(1e-6)).exterior.distance(line), abs=2e-6
        )
        points = metal.at(np.arange(len(metal)), np.full(len(metal), 0.5))
        assert np.all(signed_distances(points, blank, inside=True) >= stock - 1e-9)


def test_stock_where_the_wheel_sticks_out() -> None:
    """Outside by 4 over a width of 3: the farthest skin point is 4 outside."""
    metal = Path.closed(
        [
            (-50.0, 100.0),
            (50.0, 100.0),
            (50.0, 106.0),
            (1.5, 106.0),
            (1.5, 114.0),
            (-1.5, 114.0),
            (-1.5, 106.0),
            (-50.0, 106.0),
        ]
    )
    blank = Path.closed([(-60.0, 90.0), (60.0, 90.0), (60.0, 110.0), (-60.0, 110.0)])
    assert least(metal, blank, inside=True) == pytest.approx(-4.0, abs=0.01)


def test_a_shape_deep_in_the_metal_is_a_matter_of_the_face_it_entered() -> None:
    """A rod 5 deep into a wall of 6 from below: its tip is 1 from the far face, which it leaves alone."""
    rod = Path.closed([(-8.0, 60.0), (8.0, 60.0), (8.0, 105.0), (-8.0, 105.0)])
    zone = np.arange(len(WALL), dtype=np.intp)  # 0 is the face at r 100, 2 the one at r 106
    found = gaps(WALL, zone, np.ones(len(WALL), dtype=bool), rod)
    by = {f.zone: f.least_mm for f in found.findings}
    assert by[0] < -4.9
    assert by[2] == pytest.approx(1.0)

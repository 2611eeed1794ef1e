"""What is turned off a blank, against closed forms and areas of shapely, which share no code with it."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.errors import GeometryError
from geometry.forging.removal import Turned, opened_mm3, turned
from geometry.readings.solid import BoltHoles, SpokeRegion
from geometry.shape.curve import Path
from tests.support.sections import random_ring, random_shape

FAR = 1000.0


def box(z0: float, r0: float, z1: float, r1: float) -> Path:
    return Path.closed([(z0, r0), (z1, r0), (z1, r1), (z0, r1)])


def ring(r0: float, r1: float, length: float) -> float:
    return math.pi * (r1**2 - r0**2) * length


def split(found: Turned) -> tuple[float, ...]:
    return found.bore_mm3, found.outside_mm3, found.face_mm3, found.inside_mm3, found.undercut_mm3


def test_a_ring_in_a_solid_cylinder() -> None:
    """Wheel 60 to 200 by -20 to 30 in a cylinder to 220 by -50 to 70: five cylinders and rings."""
    found = turned(box(-50.0, 0.0, 70.0, 220.0), box(-20.0, 60.0, 30.0, 200.0))
    assert split(found) == pytest.approx(
        (ring(0, 60, 120), ring(200, 220, 120), ring(60, 200, 40), ring(60, 200, 30), 0.0),
        rel=1e-12,
        abs=1e-6,
    )
    assert (found.missing_mm3, found.missing_at) == (0.0, None)
    assert abs(found.error_mm3) < 1e-9 * found.total_mm3


def test_a_wheel_with_every_kind_of_hollow() -> None:
    """A disc, a rim with a groove behind either lip, and a groove in its outside."""
    wheel = Path.closed(
        [
            *((0, 50), (20, 50), (20, 180), (50, 180), (50, 170), (60, 170), (60, 200)),
            *((30, 200), (30, 195), (10, 195), (10, 200), (-100, 200), (-100, 170)),
            *((-90, 170), (-90, 180), (0, 180)),
        ]
    )
    found = turned(box(-110.0, 0.0, 70.0, 210.0), wheel)
    assert split(found) == pytest.approx(
        (
            ring(0, 50, 180),
            ring(200, 210, 180) + ring(195, 200, 20),
            # Beyond the outer lip, before the disc, and the groove behind the lip from within.
            ring(50, 200, 10) + ring(50, 170, 40) + ring(170, 180, 30),
            ring(50, 200, 10) + ring(50, 170, 100) + ring(170, 180, 90),
            0.0,
        ),
        rel=1e-12,
        abs=1e-6,
    )


def test_a_groove_shut_in_on_all_sides_is_an_undercut() -> None:
    """A groove in the face side, over which a lip of the hub and a lip of the rim come near."""
    wheel = Path.closed(
        [
            *((0, 50), (40, 50), (40, 90), (30, 90), (30, 80), (10, 80), (10, 120)),
            *((30, 120), (30, 110), (40, 110), (40, 150), (0, 150)),
        ]
    )
    found = turned(box(0.0, 50.0, 40.0, 150.0), wheel)
    assert split(found) == pytest.approx(
        (0, 0, ring(90, 110, 30), 0, ring(80, 90, 20) + ring(110, 120, 20)), rel=1e-12, abs=1e-6
    )


def test_a_torus_in_a_torus() -> None:
    """Concentric tori R 200, a 20 in 30, by Pappus and the outer half torus of handbook 6."""

    def disc(a: float) -> Path:
        return Path.closed([(0.0, 200.0 - a, 1.0), (0.0, 200.0 + a, 1.0)])

    def outer_half(a: float) -> float:
        return 2.0 * math.pi * (200.0 + 4.0 * a / (3.0 * math.pi)) * math.pi * a**2 / 2.0

    found = turned(disc(30.0), disc(20.0))
    whole = 2.0 * math.pi**2 * 200.0 * (30.0**2 - 20.0**2)
    assert found.total_mm3 == pytest.approx(whole, rel=1e-9)
    # Within r 180: a cap of the disc of 30, cut 20 mm from its centre: area, and moment about its centre.
    cap = 30.0**2 * math.acos(20.0 / 30.0) - 20.0 * math.sqrt(30.0**2 - 20.0**2)
    first = 2.0 / 3.0 * (30.0**2 - 20.0**2) ** 1.5
    assert found.bore_mm3 == pytest.approx(2.0 * math.pi * (200.0 * cap - first), rel=1e-9)
    # Outside: beyond the wheel's upper half within its own length, and what lies past its ends beyond r 220.
    half = math.asin(20.0 / 30.0)
    strip = 30.0**2 * half + 20.0 * math.sqrt(500.0)  # area within 20 mm of the middle, both halves
    strip_first = (2.0 * 20.0 * 900.0 - 2.0 * 20.0**3 / 3.0) / 2.0  # of its upper half
    upper = 2.0 * math.pi * (200.0 * strip + strip_first)
    reach = math.sqrt(500.0)

    # Metal beyond r 220 and past the wheel's ends: between 20 and 22.36 mm both ways, two corners.
    def corner(u: float) -> tuple[float, float]:
        return 0.5 * (u * math.sqrt(900.0 - u * u) + 900.0 * math.asin(u / 30.0)), -(
            (900.0 - u * u) ** 1.5
        ) / 3.0

    area = corner(reach)[0] - corner(20.0)[0] - 20.0 * (reach - 20.0)
    moment = corner(reach)[1] - corner(20.0)[1] - 20.0 * (reach**2 - 20.0**2) / 2.0
    past = 2.0 * 2.0 * math.pi * (200.0 * area + moment)
    assert found.outside_mm3 == pytest.approx(upper - outer_half(20.0) + past, rel=1e-9)
    assert found.face_mm3 == pytest.approx(found.inside_mm3, rel=1e-9)
    assert found.undercut_mm3 == 0.0


def test_a_round_hollow_askew() -> None:
    """A half round bitten out of a sloping face, more than a quarter turn either way from its middle."""
    rows = [(-40, 50), (20, 50), (20, 80, -1.0), (60, 120), (60, 150), (-40, 150)]
    wheel, blank = Path.closed(rows), box(-50.0, 40.0, 70.0, 160.0)
    flat = [shapely.Polygon(p.flattened(0.0001)) for p in (blank, wheel)]
    expected, _ = by_shapely(flat[0], flat[1])
    found = turned(blank, wheel)
    assert split(found) == pytest.approx(expected, abs=0.0001 * 2.0 * math.pi * 130.0 * 90.0)
    half = math.pi * 800.0 / 2.0
    middle = 4.0 * math.sqrt(800.0) / (3.0 * math.pi) / math.sqrt(2.0)
    kept = ring(50, 150, 60) + 2.0 * math.pi * (40 * 40 / 2 * (150 - 30 - 40 / 3) + 40 * 30 * 135)
    kept -= 2.0 * math.pi * (100.0 + middle) * half
    assert found.total_mm3 == pytest.approx(ring(40, 160, 120) - kept, rel=1e-9)


@pytest.mark.parametrize("half", [-1.0, 1.0])
def test_a_round_skin_that_passes_the_end_of_a_step_on_one_half_of_its_arc(half: float) -> None:
    """Past z 60 the blank's skin is face, before it outside; a quarter of 25 about (50, 125) passes that end.

    It does so on the half of the circle within r 125 or beyond it, 10 mm off the centre along the axle. Areas
    and moments of segments of a circle; the strips on either side of the passing must be told apart exactly.
    """
    wheel = Path.closed([(0, 50), (60, 50), (60, 100), (20, 100), (20, 150), (0, 150)])
    quarter = math.tan(math.pi / 8.0)
    skin = (
        [(50, 100, quarter), (75, 125), (75, 150)]
        if half < 0.0
        else [(75, 100), (75, 125, quarter), (50, 150)]
    )
    blank = Path.closed([(0, 50), (80, 50), (80, 100), *skin, (0, 150)])
    reach = math.sqrt(25.0**2 - 10.0**2)
    # Integrals over u = half (r - 125) of the skin's height over z 50, and of u times that: to the passing,
    # and from there to the circle's side.
    up_to = 25.0**2 / 2.0 * math.asin(reach / 25.0) + 10.0 * reach / 2.0, (25.0**3 - 10.0**3) / 3.0
    beyond = 25.0**2 / 2.0 * math.acos(reach / 25.0) - 10.0 * reach / 2.0, 10.0**3 / 3.0
    lacking = 10.0 * (25.0 - reach) - beyond[0], 10.0 * (25.0**2 - reach**2) / 2.0 - beyond[1]
    over = up_to[0] - 10.0 * reach, up_to[1] - 10.0 * reach**2 / 2.0
    straight = ring(125, 150, 15) if half < 0.0 else ring(100, 125, 15)
    outside = ring(100, 150, 40) - 2.0 * math.pi * (125.0 * lacking[0] + half * lacking[1])
    face = ring(50, 100, 20) + straight + 2.0 * math.pi * (125.0 * over[0] + half * over[1])
    assert split(turned(blank, wheel)) == pytest.approx((0.0, outside, face, 0.0, 0.0), rel=1e-8, abs=1e-6)


def test_a_wheel_that_sticks_out_is_missing_metal() -> None:
    found = turned(box(-10.0, 50.0, 20.0, 190.0), box(-10.0, 60.0, 30.0, 200.0))
    assert found.missing_mm3 == pytest.approx(ring(60, 200, 40) - ring(60, 190, 30), rel=1e-12)
    z, r = found.missing_at or (math.nan, math.nan)
    assert -10.0 <= z <= 30.0
    assert 190.0 <= r <= 200.0
    assert found.total_mm3 == pytest.approx(ring(50, 60, 30), rel=1e-12)


def test_the_same_section_leaves_nothing() -> None:
    rng = np.random.default_rng(4)
    path = random_shape(rng, (0.0, 200.0), 80.0)
    found = turned(path, path)
    assert found.total_mm3 == pytest.approx(0.0, abs=1e-3)
    assert found.missing_mm3 == pytest.approx(0.0, abs=1e-3)


# Against shapely


def turned_volume(area: BaseGeometry) -> float:
    """Pappus on polygons: 2 pi times the first moment of the area about the axle."""
    return 2.0 * math.pi * area.area * area.centroid.y if not area.is_empty else 0.0


def swept(area: shapely.Polygon, dz: float, dr: float) -> BaseGeometry:
    """The area moved along a way as far as anything goes, exactly on polygons: union over edges."""
    rings = [area.exterior, *area.interiors]
    parts: list[BaseGeometry] = [area]
    for line in rings:
        at = np.asarray(line.coords)
        for p, q in itertools.pairwise(at):
            far = np.array([dz, dr])
            cell = shapely.Polygon([p, q, q + far, p + far])
            if cell.area > 0.0:
                parts.append(cell.buffer(0))
    return shapely.union_all(parts)


def by_shapely(blank: shapely.Polygon, wheel: shapely.Polygon) -> tuple[tuple[float, ...], float]:
    """The definition at the head of removal.py, one area after another."""
    _, r0, _, r1 = wheel.bounds
    free, missing = blank.difference(wheel), wheel.difference(blank)
    taken: list[BaseGeometry] = []

    def take(area: BaseGeometry) -> BaseGeometry:
        nonlocal free
        part = free.intersection(area)
        free = free.difference(area)
        taken.append(part)
        return part

    band = shapely.box(-FAR, r0, FAR, r1)
    out, inwards = swept(wheel, 0.0, FAR), swept(wheel, 0.0, -FAR)
    left, right = swept(wheel, -FAR, 0.0), swept(wheel, FAR, 0.0)
    bore = take(shapely.box(-FAR, 0.0, FAR, r0))
    beyond = take(shapely.box(-FAR, r1, FAR, FAR))
    # Swept inwards the wheel covers what has more of it further out.
    outside = take(out.difference(inwards))
    face = take(band.difference(left))
    inside = take(band.difference(right))
    pocket = take(inwards.difference(out))
    at = np.asarray(wheel.exterior.coords)
    innermost = float(at[np.argmin(at[:, 1]), 0])
    outboard = pocket.intersection(shapely.box(innermost, 0.0, FAR, FAR))
    inboard = pocket.intersection(shapely.box(-FAR, 0.0, innermost, FAR))
    volumes = (
        turned_volume(bore),
        turned_volume(beyond) + turned_volume(outside),
        turned_volume(face) + turned_volume(outboard),
        turned_volume(inside) + turned_volume(inboard),
        turned_volume(free),
    )
    return volumes, turned_volume(missing)


@pytest.mark.parametrize("seed", range(12))
def test_random_sections_against_shapely(seed: int) -> None:
    """Straight sides, on which shapely is exact to rounding; some wheels stick out of their blank."""
    rng = np.random.default_rng(seed)
    wheel_ring = random_ring(rng, (0.0, 200.0), 90.0, int(rng.integers(5, 16)))
    blank_ring = random_ring(rng, (5.0, 195.0), 150.0, int(rng.integers(5, 12)))
    expected, missing = by_shapely(shapely.Polygon(blank_ring), shapely.Polygon(wheel_ring))
    found = turned(Path.closed(blank_ring), Path.closed(wheel_ring))
    assert split(found) == pytest.approx(expected, rel=1e-7, abs=1.0)
    assert found.missing_mm3 == pytest.approx(missing, rel=1e-7, abs=1.0)
    assert (found.missing_mm3 > 0.0) == (found.missing_at is not None)
    assert abs(found.error_mm3) < 1e-9 * found.total_mm3


def hollowed(rng: np.random.Generator) -> shapely.Polygon:
    """A random section with hollows cut into it from askew, that a narrow mouth opens."""
    found: BaseGeometry = shapely.Polygon(random_ring(rng, (0.0, 200.0), 90.0, 14))
    for angle in rng.uniform(0.0, 2.0 * np.pi, 4):
        way = np.array([math.cos(angle), math.sin(angle)])
        across = np.array([-way[1], way[0]])
        at = np.array([0.0, 200.0]) + 50.0 * way
        cut = shapely.Polygon(random_ring(rng, (float(at[0]), float(at[1])), 22.0, 7))
        mouth = shapely.Polygon([at - 4.0 * across, at + 80.0 * way - 4.0 * across, at + 80.0 * way + across])
        left = found.difference(cut).difference(mouth)
        if isinstance(left, shapely.Polygon) and not left.interiors:
            found = left
    assert isinstance(found, shapely.Polygon)
    return shapely.geometry.polygon.orient(found)


def test_hollows_askew_against_shapely() -> None:
    undercuts = 0
    for seed in range(12):
        rng = np.random.default_rng(200 + seed)
        wheel, blank = hollowed(rng), shapely.Polygon(random_ring(rng, (5.0, 195.0), 170.0, 9))
        expected, missing = by_shapely(blank, wheel)
        paths = [Path.closed(list(area.exterior.coords)) for area in (blank, wheel)]
        found = turned(*paths)
        assert split(found) == pytest.approx(expected, rel=1e-7, abs=1.0), seed
        assert found.missing_mm3 == pytest.approx(missing, rel=1e-7, abs=1.0), seed
        undercuts += found.undercut_mm3 > 1000.0
    assert undercuts >= 5


@pytest.mark.parametrize("seed", range(12))
def test_random_rounded_sections_against_shapely(seed: int) -> None:
    """Arcs flattened to 0.0005 mm, so that volumes agree to that depth along the outlines."""
    rng = np.random.default_rng(100 + seed)
    wheel = random_shape(rng, (0.0, 200.0), 90.0).counterclockwise()
    blank = random_shape(rng, (5.0, 195.0), 170.0).counterclockwise()
    flat = [shapely.Polygon(p.flattened(0.0005)) for p in (blank, wheel)]
    expected, missing = by_shapely(flat[0], flat[1])
    found = turned(blank, wheel)
    depth = 0.0005 * 2.0 * math.pi * 350.0 * float(wheel.lengths.sum() + blank.lengths.sum())
    assert split(found) == pytest.approx(expected, abs=depth)
    assert found.missing_mm3 == pytest.approx(missing, abs=depth)
    assert abs(found.error_mm3) < 2e-9 * found.total_mm3


def test_turned_round_along_the_axle_face_and_inside_change_places() -> None:
    rng = np.random.default_rng(8)
    wheel = random_shape(rng, (0.0, 200.0), 90.0).counterclockwise()
    blank = box(-120.0, 0.0, 130.0, 320.0)
    here, there = turned(blank, wheel), turned(blank.mirrored(), wheel.mirrored())
    assert there.face_mm3 == pytest.approx(here.inside_mm3, rel=1e-9)
    assert there.inside_mm3 == pytest.approx(here.face_mm3, rel=1e-9)
    assert there.outside_mm3 == pytest.approx(here.outside_mm3, rel=1e-9)
    assert there.undercut_mm3 == pytest.approx(here.undercut_mm3, abs=1e-3)


# Windows and holes


def test_windows_and_holes_of_a_disc() -> None:
    """A disc 30 to 200 by 20: five spokes of 40 mm from 80 to 180, five holes of 15; closed forms."""
    disc = box(0.0, 30.0, 20.0, 200.0)
    spokes = SpokeRegion(5, ((80.0, 40.0), (180.0, 40.0)), 80.0, (-1.0, 180.0), (21.0, 180.0))
    windows, holes = opened_mm3(disc, spokes, (BoltHoles(5, 120.0, 15.0),))
    assert windows == pytest.approx(20.0 * (math.pi * (180.0**2 - 80.0**2) - 5.0 * 40.0 * 100.0), rel=1e-9)
    assert holes == pytest.approx(5.0 * math.pi / 4.0 * 15.0**2 * 20.0, rel=1e-9)
    assert opened_mm3(disc, None, ()) == (0.0, 0.0)


def test_sections_that_are_none_are_named() -> None:
    good = box(0.0, 10.0, 20.0, 50.0)
    with pytest.raises(GeometryError, match="section of the blank runs clockwise"):
        turned(good.reversed(), good)
    with pytest.raises(GeometryError, match="section of the wheel lies 5 mm below the axle"):
        turned(good, box(0.0, -5.0, 20.0, 50.0))


def test_what_the_checks_take_for_a_sweep_is_one() -> None:
    """A square swept outwards or inwards covers a strip as long as the way and itself."""
    square = shapely.box(0.0, 100.0, 10.0, 110.0)
    assert swept(square, 0.0, FAR).area == pytest.approx(10.0 * (10.0 + FAR))
    assert swept(square, 0.0, -FAR).area == pytest.approx(10.0 * (10.0 + FAR))

"""Stages of a wheel in its blank, against closed forms, booleans of shapely and the sums of `removal`."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely

from geometry.errors import GeometryError
from geometry.forging.arcs import OFF_MM
from geometry.forging.removal import turned
from geometry.forging.stages import Route, Stage, StageName, stages
from geometry.readings.solid import volume_mm3
from geometry.shape.curve import Path
from tests.support.sections import random_outline, random_shape

FINE = 0.0005
#: What the shape of an outline may be off by, over its whole skin, as a share of a volume.
SHARE = 2e-6


def box(z0: float, r0: float, z1: float, r1: float) -> Path:
    return Path.closed([(z0, r0), (z1, r0), (z1, r1), (z0, r1)])


def ring(r0: float, r1: float, length: float) -> float:
    return math.pi * (r1**2 - r0**2) * length


def corner(r: float, s: float, way: float) -> float:
    """Volume between a square corner of side s at radius r and the quarter disc in it (Pappus)."""
    square, disc = s**2 * (r + way * s / 2.0), math.pi * s**2 / 4.0 * (r + way * 4.0 * s / (3.0 * math.pi))
    return 2.0 * math.pi * (square - disc)


BLANK, WHEEL = box(-50.0, 0.0, 70.0, 220.0), box(-20.0, 60.0, 30.0, 200.0)


def grown_mm3(s: float) -> float:
    """The ring 60 to 200 by 50 long, grown by s, its four corners round."""
    square = ring(60.0 - s, 200.0 + s, 50.0 + 2.0 * s)
    return square - 2.0 * corner(200.0, s, 1.0) - 2.0 * corner(60.0, s, -1.0)


def named(found: tuple[Stage, ...]) -> dict[StageName, Path]:
    return {stage.name: stage.path for stage in found}


def volumes(blank: Path, wheel: Path, route: Route) -> dict[StageName, float]:
    return {name: volume_mm3(path) for name, path in named(stages(blank, wheel, route)).items()}


def area(path: Path) -> shapely.Polygon:
    return shapely.Polygon(path.flattened(FINE))


@pytest.mark.parametrize("s", [0.6, 2.5])
def test_a_ring_in_a_solid_cylinder_brake_side_first(s: float) -> None:
    """The first side takes the bore through, the inboard end over the whole face, and one round corner."""
    found = volumes(BLANK, WHEEL, Route(finishing_mm=s))
    assert list(found) == [StageName.FORGED, StageName.TREATED, StageName.FIRST, StageName.SECOND, "finished"]
    whole = ring(0.0, 220.0, 120.0)
    assert found[StageName.FORGED] == found[StageName.TREATED] == pytest.approx(whole, rel=1e-12)
    first = ring(0.0, 60.0 - s, 120.0) + ring(60.0 - s, 220.0, 30.0 - s) + corner(60.0, s, -1.0)
    assert whole - found[StageName.FIRST] == pytest.approx(first, rel=SHARE)
    assert found[StageName.SECOND] == pytest.approx(grown_mm3(s), rel=SHARE)
    assert found[StageName.FINISHED] == pytest.approx(ring(60.0, 200.0, 50.0), rel=1e-12)


@pytest.mark.parametrize(("jaw", "held"), [(10.0, 0.0), (45.0, 15.0)])
def test_a_ring_in_a_solid_cylinder_street_side_first(jaw: float, held: float) -> None:
    """It takes the outboard end with the plug before the bore, and the outside but where the jaws hold it.

    Jaws of 45 mm from z -50 hold the outside up to z -5: 15 mm from the wheel's end, 15.6 of the grown one.
    """
    s = 0.6
    found = volumes(BLANK, WHEEL, Route(finishing_mm=s, brake_first=False, jaw_mm=jaw))
    outboard = ring(0.0, 220.0, 40.0 - s)
    kept = held + s if held else 0.0
    outside = ring(200.0 + s, 220.0, 50.0 + 2.0 * s - kept)
    corners = (2.0 if not held else 1.0) * corner(200.0, s, 1.0) + corner(60.0, s, -1.0)
    cut = ring(0.0, 220.0, 120.0) - found[StageName.FIRST]
    assert cut == pytest.approx(outboard + outside + corners, rel=SHARE)
    assert found[StageName.SECOND] == pytest.approx(grown_mm3(s), rel=SHARE)


def test_a_pierced_and_rough_turned_ring() -> None:
    found = volumes(BLANK, WHEEL, Route(pierced_mm=50.0, rough_mm=4.0))
    assert list(found) == [name for name in StageName if name is not StageName.SPUN]
    # The first side leaves the outside and the outboard end to the second.
    assert found[StageName.PIERCED] > found[StageName.ROUGH_FIRST] > found[StageName.ROUGH]
    assert found[StageName.PIERCED] == pytest.approx(ring(25.0, 220.0, 120.0), rel=SHARE)
    assert found[StageName.ROUGH] == found[StageName.TREATED] == pytest.approx(grown_mm3(4.0), rel=SHARE)
    assert found[StageName.SECOND] == pytest.approx(grown_mm3(0.6), rel=SHARE)


def test_raw_skin_stays_where_the_blank_has_less_than_the_rough_stock() -> None:
    """A blank 1 mm over the wheel all round, rough stock 4: nothing is rough turned off."""
    tight = box(-21.0, 59.0, 31.0, 201.0)
    found = named(stages(tight, WHEEL, Route(rough_mm=4.0)))
    assert area(found[StageName.ROUGH]).symmetric_difference(area(tight)).area < 1e-3
    assert volume_mm3(found[StageName.ROUGH]) == pytest.approx(volume_mm3(tight), rel=SHARE)


def test_the_outline_comes_out_in_lines_and_arcs() -> None:
    """The grown ring is four lines and four quarter arcs about the ring's own corners."""
    path = named(stages(BLANK, WHEEL, Route(finishing_mm=0.6)))[StageName.SECOND]
    assert len(path) == 8
    assert int(path.is_arc.sum()) == 4
    centres = sorted((round(z, 5), round(r, 5)) for z, r in path.centres[path.is_arc].tolist())
    assert centres == [(-20.0, 60.0), (-20.0, 200.0), (30.0, 60.0), (30.0, 200.0)]
    assert path.radii[path.is_arc] == pytest.approx(0.6, abs=1e-5)
    assert np.degrees(path.sweeps[path.is_arc]) == pytest.approx(90.0, abs=1e-3)
    assert sorted({round(x, 5) for x in path.points.ravel().tolist()}) == sorted(
        {-20.6, -20.0, 30.0, 30.6, 59.4, 60.0, 200.0, 200.6}
    )


def test_an_arc_cut_by_an_arc_ends_where_the_circles_meet() -> None:
    """A blank's round end, radius 32 about (0, 100), against a wheel's corner grown by 4, about (20, 120).

    The wheel is a box from (-10, 80); where the circles meet is solved here by their radical line.
    """
    ball = Path.closed([(32.0, 100.0, 1.0), (-32.0, 100.0, 1.0)])
    wheel = box(-10.0, 80.0, 20.0, 120.0)
    path = named(stages(ball, wheel, Route(finishing_mm=0.6, rough_mm=4.0)))[StageName.ROUGH]
    a, b = 32.0, 4.0
    apart = math.hypot(20.0, 20.0)
    along = (apart**2 + a**2 - b**2) / (2.0 * apart)
    half = math.sqrt(a**2 - along**2)
    for sign in (1.0, -1.0):
        met = (
            along / math.sqrt(2.0) - sign * half / math.sqrt(2.0),
            100.0 + along / math.sqrt(2.0) + sign * half / math.sqrt(2.0),
        )
        assert np.hypot(*(path.points - met).T).min() < 1e-4


def random_case(seed: int) -> tuple[Path, Path, Route]:
    rng = np.random.default_rng(seed)
    wheel = random_outline(rng).path
    if seed % 3:
        hull = shapely.Polygon(wheel.flattened(0.05)).convex_hull.buffer(float(rng.uniform(0.4, 9.0)))
        rows = np.asarray(shapely.geometry.polygon.orient(hull, 1.0).exterior.coords)[:-1]
        blank = Path.closed(np.maximum(rows, [-1e4, 0.0]).tolist())
    else:
        z0, z1, r0, r1 = wheel.bounds
        middle = ((z0 + z1) / 2.0, (r0 + r1) / 2.0)
        blank = random_shape(rng, middle, min(middle[1], 0.8 * (z1 - z0)))
    finishing = float(rng.choice([0.3, 0.6, 1.0]))
    rough = float(rng.uniform(1.5, 6.0)) if seed % 2 else None
    route = Route(None, rough, finishing, bool(rng.integers(2)), float(rng.uniform(5.0, 25.0)))
    return blank, wheel, route


# 245: ends of an arc pass one another when its neighbours meet.
@pytest.mark.parametrize("seed", [*range(24), 245])
def test_stages_of_random_wheels_lie_in_one_another_and_hold_the_wheel(seed: int) -> None:
    blank, wheel, route = random_case(seed)
    found = stages(blank, wheel, route)
    held = area(blank).intersection(area(wheel))
    for before, after in pairwise(found):
        # Arcs are arcs: an outline left in chords would have hundreds.
        assert len(after.path) <= len(blank) + 2 * len(wheel)
        assert volume_mm3(after.path) <= volume_mm3(before.path) * (1.0 + SHARE) or after.name == "finished"
        if after.name != StageName.FINISHED:
            assert area(after.path).difference(area(before.path).buffer(2.0 * OFF_MM)).is_empty
            # Where the blank parts the wheel, the largest part stays in the chuck.
            if held.geom_type == "Polygon":
                assert held.difference(area(after.path).buffer(2.0 * OFF_MM)).is_empty
    second = area(named(found)[StageName.SECOND])
    skin = shapely.Polygon(wheel.flattened(FINE)).buffer(route.finishing_mm, quad_segs=200)
    if held.geom_type == "Polygon":
        true = max(
            shapely.get_parts(shapely.intersection(area(blank), shapely.Polygon(skin.exterior))),
            key=lambda each: float(each.area),
        )
        assert shapely.hausdorff_distance(second.exterior, true.exterior) < 2.0 * OFF_MM


@pytest.mark.parametrize("seed", [1, 2, 4, 5, 7, 8, 10, 11])
def test_what_is_cut_adds_up_to_what_removal_integrates(seed: int) -> None:
    """Sum of the stages against Gauss sums along the axle, and the first side against its bore and inside.

    Beyond the wheel's inboard end `removal` counts what lies over its greatest radius as outside; here it is
    faced off with the brake side.
    """
    blank, wheel, route = random_case(seed)
    route = replace(route, brake_first=True, rough_mm=None)
    found = named(stages(blank, wheel, route))
    sizes = [volume_mm3(path) for path in found.values()]
    off = turned(blank, wheel)
    last = sizes[-2] - sizes[-1] + turned(found[StageName.SECOND], wheel).missing_mm3
    cut = [a - b for a, b in pairwise(sizes[:-1])]
    assert sum(cut) + last == pytest.approx(off.total_mm3, rel=1e-5)
    big = Path.closed([(-900.0, 0.0), (900.0, 0.0), (900.0, 900.0), (-900.0, 900.0)])
    kept = named(stages(big, wheel, route))[StageName.SECOND]
    parts = turned(blank, kept)
    z_low, _, _, r_high = kept.bounds
    over = area(blank).intersection(shapely.box(-1e4, r_high, z_low, 1e4))
    beyond = 2.0 * math.pi * over.area * over.centroid.y if not over.is_empty else 0.0
    first = sizes[0] - volume_mm3(found[StageName.FIRST])
    assert first == pytest.approx(parts.bore_mm3 + parts.inside_mm3 + beyond, rel=2e-4)


@pytest.mark.parametrize(
    ("route", "words"),
    [
        (Route(rough_mm=-1.0), "rough stock is -1 mm"),
        (Route(rough_mm=0.6), "must be more than the finishing stock"),
        (Route(finishing_mm=-0.1), "finishing stock is -0.1 mm"),
        (Route(finishing_mm=math.nan), "finishing stock is nan mm"),
        (Route(jaw_mm=101.0), "length in the jaws is 101 mm"),
        (Route(pierced_mm=0.0), "more than 0"),
        (Route(pierced_mm=120.0), "takes metal of the wheel, whose bore is 120 mm"),
    ],
)
def test_settings_out_of_bounds_are_refused(route: Route, words: str) -> None:
    with pytest.raises(GeometryError, match=words):
        stages(BLANK, WHEEL, route)


def test_outlines_that_cannot_be_are_refused() -> None:
    with pytest.raises(GeometryError, match="lies outside the blank"):
        stages(BLANK, WHEEL.moved(dz=400.0), Route())
    with pytest.raises(GeometryError, match="blank runs clockwise"):
        stages(BLANK.reversed(), WHEEL, Route())
    with pytest.raises(GeometryError, match="open to 80 mm already"):
        stages(box(-50.0, 40.0, 70.0, 220.0), WHEEL, Route(pierced_mm=50.0))

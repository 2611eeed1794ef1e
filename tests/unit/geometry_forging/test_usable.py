"""What may be missing of a forging, by direction: closed forms, and the definition place by place."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from geometry.errors import GeometryError
from geometry.forging.starting import starting_tolerances
from geometry.forging.thickest import thickest
from geometry.forging.usable import FLAT_MM, less_skin, normal_mm, surplus_mm3, usable
from geometry.readings.gap import signed_distances
from geometry.readings.solid import volume_mm3
from geometry.shape.blank import Cause, Tolerance
from geometry.shape.curve import Path

#: A disc 40 thick at the outboard end of a ring: bore 210, outside 250, from -180 to 80.
RING = [(0.0, 0.0), (0.0, 210.0), (-180.0, 210.0), (-180.0, 250.0), (80.0, 250.0), (80.0, 230.0), (40.0, 0.0)]
#: The outline may be read too small by this, never too large.
SMALL = 3.0 * FLAT_MM


def ring() -> Path:
    return Path.closed(RING[::-1])


def inside_by(path: Path, z: float, r: float) -> float:
    """Return how deep a place lies inside an outline, negative outside; the axle is no skin."""
    return float(signed_distances(np.array([[z, r]]), path, path.off_axle, inside=True)[0])


def test_without_minus_sides_the_outline_is_the_drawn_one() -> None:
    tolerances = (
        Tolerance(Cause.CLOSURE, 0.0, 2.6),
        Tolerance(Cause.WEAR, 0.0, 1.0),
        Tolerance(Cause.DENTS, 0.4),
    )
    path = ring()
    assert usable(path, tolerances) is path
    assert normal_mm(tolerances) == 0.4


def test_dies_that_close_too_far_take_metal_off_the_upper_die_alone() -> None:
    found = usable(ring(), (Tolerance(Cause.CLOSURE, 2.0),))
    z0, z1, _, r1 = found.bounds
    assert z0 == pytest.approx(-180.0, abs=SMALL)
    assert z0 >= -180.0
    assert z1 == pytest.approx(78.0, abs=SMALL)
    assert r1 == pytest.approx(250.0, abs=SMALL)
    assert inside_by(found, 20.0, 1.0) == pytest.approx(
        18.0, abs=0.1
    )  # the disc's outboard face, sloped by half


@pytest.mark.parametrize("cause", [Cause.MISMATCH, Cause.ROUND, Cause.CENTRING])
def test_half_of_a_radial_tolerance_goes_off_outside_and_bore(cause: Cause) -> None:
    found = usable(ring(), (Tolerance(cause, 1.8),))
    z0, z1, _, r1 = found.bounds
    assert (z0, z1) == pytest.approx((-180.0, 80.0), abs=SMALL)
    assert r1 == pytest.approx(250.0 - 0.9, abs=SMALL)
    low = min(r for z, r in found.points.tolist() if z < -100.0)
    assert low == pytest.approx(210.0 + 0.9, abs=SMALL)
    assert low >= 210.9


def test_ring_end_and_out_of_flat_go_off_along_the_axle() -> None:
    found = usable(ring(), (Tolerance(Cause.RING_END, 5.0), Tolerance(Cause.FLAT, 1.0)))
    assert found.bounds[0] == pytest.approx(-174.5, abs=SMALL)
    assert found.bounds[1] == pytest.approx(79.5, abs=SMALL)


def test_a_corner_that_is_not_filled_leaves_less_than_the_stock() -> None:
    """Corner radius 13 over stock 4 leaves 13 - 9 sqrt 2 = 0.272 (closed form)."""
    found = usable(Path.closed([(-50.0, 0.0), (-50.0, 250.0), (50.0, 250.0), (50.0, 0.0)]), (
        Tolerance(Cause.CORNERS, 13.0),
    ))  # fmt: skip
    left = inside_by(found, -46.0, 246.0)
    assert left == pytest.approx(13.0 - 9.0 * math.sqrt(2.0), abs=SMALL)
    assert left <= 0.2722


def test_flash_cut_too_deep_takes_metal_by_the_parting_line_alone() -> None:
    found = usable(ring(), (Tolerance(Cause.FLASH, 1.5),), parting_mm=-20.0)
    assert inside_by(found, -20.0, 249.0) < 0.0
    assert inside_by(found, -60.0, 249.0) > 0.9
    everywhere = usable(ring(), (Tolerance(Cause.FLASH, 1.5),))
    assert everywhere.bounds[3] == pytest.approx(248.5, abs=SMALL)


def test_a_place_is_usable_where_the_box_of_what_may_be_missing_lies_in_the_metal() -> None:
    """The definition, place by place, with shapely's own `contains` on a section with fillets and a slope."""
    drawn = Path.closed(
        [
            (0.0, 0.0),
            (0.0, 190.0, -0.4),
            (-20.0, 212.0),
            (-180.0, 214.0),
            (-180.0, 250.0),
            (80.0, 248.0),
            (40.0, 0.0),
        ]
    )
    tolerances = (
        Tolerance(Cause.CLOSURE, 1.2),
        Tolerance(Cause.SIZE, 0.8),
        Tolerance(Cause.MISMATCH, 1.6),
        Tolerance(Cause.FLAT, 0.6),
    )
    radial, low, high = 1.2, 0.7, 1.9
    half = drawn.flattened(0.0005)
    area = shapely.union(shapely.Polygon(half), shapely.Polygon(half * (1.0, -1.0)))
    found = shapely.Polygon(usable(drawn, tolerances).flattened(0.001))
    rng = np.random.default_rng(5)
    places = np.column_stack([rng.uniform(-182.0, 82.0, 4000), rng.uniform(0.0, 252.0, 4000)])
    near = 0
    for z, r in places:
        box = shapely.box(z - low, r - radial, z + high, r + radial)
        place = shapely.Point(z, r)
        if found.contains(place):
            assert area.contains(box)
        elif not found.buffer(2.0 * SMALL).contains(place):
            assert not area.contains(box)
        else:
            near += 1
    assert near < 40
    assert 0.2 < found.area / shapely.Polygon(half).area < 1.0


def test_in_a_hollow_no_place_counts_that_the_true_arc_has_not() -> None:
    """Chords of a hollow lie in the air. A half round of 30 about (100, 140) in a face; 0.8 missing radially:
    a place counts where the metal 0.8 either way along r lies outside that circle.
    """
    drawn = Path.closed([(0, 50), (100, 50), (100, 110, -1.0), (100, 170), (100, 200), (0, 200)])
    rows = usable(drawn, (Tolerance(Cause.MISMATCH, 1.6),)).flattened(0.001)
    places = np.vstack([rows, (rows + np.roll(rows, 1, axis=0)) / 2.0])
    off = np.maximum(np.abs(places[:, 1] - 140.0) - 0.8, 0.0)
    apart = np.hypot(places[:, 0] - 100.0, off)
    assert apart.min() >= 30.0
    assert apart.min() <= 30.0 + SMALL


def test_closure_of_2_6_on_2008_cm2_is_1_41_kg_of_surplus() -> None:
    """Practice: on 2008 cm2, +2.6 mm of closure is +1.41 kg of chips and nothing less to cut."""
    r = math.sqrt(200800.0 / math.pi)
    path = Path.closed([(0.0, 0.0), (0.0, r), (60.0, r), (60.0, 0.0)])
    tolerances = (Tolerance(Cause.CLOSURE, 0.0, 2.6),)
    assert surplus_mm3(path, tolerances) * 2712.63e-9 == pytest.approx(1.41, abs=0.01)
    assert usable(path, tolerances) is path


def test_wear_adds_what_the_grown_body_has_more() -> None:
    path = ring()
    more = surplus_mm3(path, (Tolerance(Cause.WEAR, 0.0, 0.02),))
    grown = shapely.Polygon(path.flattened(0.001)).buffer(0.01, join_style="mitre")
    upper = grown.intersection(shapely.box(-500.0, 0.0, 500.0, 500.0))
    pappus = 2.0 * math.pi * upper.area * upper.centroid.y
    assert more == pytest.approx(pappus - volume_mm3(path), rel=1e-3)


def test_a_pierced_blank_loses_metal_at_its_bore() -> None:
    path = Path.closed([(0.0, 30.0), (0.0, 250.0), (60.0, 250.0), (60.0, 30.0)])
    found = usable(path, (Tolerance(Cause.MISMATCH, 2.0),))
    assert found.bounds[2] == pytest.approx(31.0, abs=SMALL)


def test_what_leaves_nothing_is_said() -> None:
    with pytest.raises(GeometryError, match="nothing of the blank"):
        usable(Path.closed([(0.0, 0.0), (0.0, 5.0), (5.0, 5.0), (5.0, 0.0)]), (Tolerance(Cause.FLAT, 12.0),))
    with pytest.raises(GeometryError, match="die closure' stands twice"):
        usable(ring(), (Tolerance(Cause.CLOSURE, 1.0), Tolerance(Cause.CLOSURE, 2.0)))


def test_starting_values_are_those_of_the_table_by_area_size_and_mass() -> None:
    """Handbook 2.3: closure 2.57 at 2043 cm2, 0.3 % of 510 rounded up to 2.0, mismatch 1.75 up to 50 kg."""
    path = Path.closed([(0.0, 0.0), (60.0, 0.0), (60.0, 255.0), (0.0, 255.0)])
    found = {t.cause: t for t in starting_tolerances(path, 48.0)}
    assert found[Cause.CLOSURE].plus_mm == pytest.approx(2.57, abs=0.01)
    assert found[Cause.CLOSURE].minus_mm == 0.0
    assert found[Cause.SIZE].minus_mm + found[Cause.SIZE].plus_mm == pytest.approx(2.0)
    assert found[Cause.MISMATCH].minus_mm == 1.75
    assert found[Cause.FLASH].plus_mm == 3.25
    assert found[Cause.WEAR].plus_mm == pytest.approx(2.55)
    light, heavy = (starting_tolerances(path, kg) for kg in (8.0, 600.0))
    assert {t.cause: t for t in light}[Cause.MISMATCH].minus_mm == 0.75
    assert {t.cause: t for t in heavy}[Cause.MISMATCH].minus_mm == 5.0
    assert all(t.source for t in (*light, *heavy))


def test_an_outline_that_is_no_blanks_is_said_and_never_flattened() -> None:
    large = Path.closed([(0.0, 0.0), (9000.0, 0.0), (9000.0, 90.0), (0.0, 90.0)])
    flat = Path.closed([(0.0, 0.0), (40.0, 0.0, 1e-7), (40.0, 250.0), (0.0, 250.0)])
    for path, words in ((large, "beyond 5000 mm"), (flat, "draw it straight")):
        for read in (
            lambda path=path: usable(path, (Tolerance(Cause.FLAT, 1.0),)),
            lambda path=path: surplus_mm3(path, (Tolerance(Cause.WEAR, 0.0, 1.0),)),
            lambda path=path: thickest(path),
        ):
            with pytest.raises(GeometryError, match=words):
                read()


def test_a_corner_of_any_radius_leaves_nothing_outside_the_drawn_outline() -> None:
    """Chords of large arcs lie inside them: in a hollow they would let metal stand that is not there."""
    drawn = Path.closed(
        [(0.0, 0.0), (900.0, 0.0), (900.0, 1000.0), (600.0, 1000.0), (600.0, 600.0), (0.0, 600.0)]
    )
    left = usable(drawn, (Tolerance(Cause.CORNERS, 120.0),))
    inside, outside = (shapely.Polygon(path.flattened(0.001)) for path in (left, drawn))
    assert inside.difference(outside).area < 1e-9
    # What a corner of 120 takes of a right angle, (1 - pi / 4) 120^2, at three corners off the axle.
    taken = outside.area - inside.area
    assert taken == pytest.approx(3.0 * (1.0 - math.pi / 4.0) * 120.0**2, rel=0.02)


def test_less_skin_is_the_outline_moved_in_square_to_itself_but_at_the_axle() -> None:
    block = Path.closed([(0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (0.0, 50.0)])
    assert less_skin(block, 3.0).bounds == pytest.approx((3.0, 97.0, 0.0, 47.0))
    assert less_skin(block, 0.0) is block

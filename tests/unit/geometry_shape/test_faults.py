"""Where an outline meets itself: against shapely on random outlines, and closed forms on chosen ones."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import LinearRing

from geometry.shape.curve import Path
from geometry.shape.faults import crossings, meeting_points

QUARTER = math.tan(math.pi / 8.0)


def path(*rows: tuple[float, float, float]) -> Path:
    return Path(np.array([row[:2] for row in rows], dtype=float), np.array([row[2] for row in rows]))


def places(*rows: tuple[float, float, float]) -> list[tuple[float, float]]:
    """The places of all faults, in the order of the outline."""
    return [fault.place for fault in crossings(path(*rows)) if fault.place is not None]


def kinds(*rows: tuple[float, float, float]) -> set[str]:
    return {fault.kind for fault in crossings(path(*rows))}


@pytest.mark.parametrize("bent", [0.0, 0.3])
def test_an_outline_has_a_crossing_exactly_where_shapely_finds_its_ring_not_simple(bent: float) -> None:
    rng = np.random.default_rng(31)
    found = []
    for _ in range(400):
        n = int(rng.integers(3, 8))
        # Bent a third of the time, so that lines and arcs meet.
        bulges = np.where(rng.uniform(size=n) < 0.33, rng.uniform(-bent, bent, n), 0.0)
        outline = Path(rng.uniform(0.0, 100.0, (n, 2)), bulges)
        simple = LinearRing(outline.flattened(1e-4)).is_simple
        assert (not crossings(outline)) == simple
        found.append(simple)
    assert 50 < sum(found) < 350


def test_a_crossing_is_named_once_and_with_its_place() -> None:
    """A bow tie: its diagonals cross in the middle."""
    (fault,) = crossings(path((0, 10, 0), (10, 20, 0), (10, 10, 0), (0, 20, 0)))
    assert fault.kind == "outline crosses itself"
    assert fault.place == pytest.approx((5.0, 15.0))
    assert fault.message == "The outline crosses itself at z 5.00, r 15.00 mm; move a vertex or undo."


def test_edges_that_lie_on_each_other_are_found_by_their_ends() -> None:
    """Two edges at r = 10 share z 10 to 20."""
    rows = (
        (0, 10, 0),
        (20, 10, 0),
        (20, 30, 0),
        (30, 30, 0),
        (30, 10, 0),
        (10, 10, 0),
        (10, 40, 0),
        (0, 40, 0),
    )
    assert {(10.0, 10.0), (20.0, 10.0)} <= set(places(*[(float(z), float(r), float(b)) for z, r, b in rows]))


def test_a_vertex_that_lies_on_another_edge_is_found() -> None:
    assert places((0, 0, 0), (30, 0, 0), (30, 30, 0), (15, 0, 0), (0, 30, 0)) == [(15.0, 0.0)]


@pytest.mark.parametrize(("off_mm", "faults"), [(5e-10, 1), (-5e-10, 1), (1e-6, 0)])
def test_a_vertex_within_rounding_of_another_edge_lies_on_it(off_mm: float, faults: int) -> None:
    found = places((0, 0, 0), (30, 0, 0), (30, 30, 0), (15, off_mm, 0), (0, 30, 0))
    assert len(found) == faults
    assert all(place == pytest.approx((15.0, 0.0), abs=1e-8) for place in found)


def test_a_line_that_meets_the_arc_beside_it_again() -> None:
    """A half circle about (0, 50) of radius 20; the line after it runs back through it at 45 degrees."""
    assert places((20.0, 50.0, 1.0), (-20.0, 50.0, 0.0), (0.0, 20.0, 0.0)) == []
    # From (-20, 50) at 45 degrees the chord of the circle ends at (0, 70).
    assert places((20.0, 50.0, 1.0), (-20.0, 50.0, 0.0), (10.0, 80.0, 0.0), (30.0, 80.0, 0.0)) == [
        pytest.approx((0.0, 70.0))
    ]


def test_arcs_that_meet_again_beside_their_joint() -> None:
    """Circles of radius 10 about (0, 50) and (12, 50) meet at (6, 58) and (6, 42)."""
    low, high = math.atan2(-8.0, 6.0), math.atan2(8.0, 6.0)
    # On the first from 90 degrees clockwise to the joint (6, 42), on the second from there to 90 degrees.
    first = math.tan((low - math.pi / 2.0) / 4.0)
    second = math.tan((math.pi / 2.0 - (math.pi + high)) / 4.0)
    rows = ((0.0, 60.0, first), (6.0, 42.0, second), (12.0, 60.0, 0.0), (6.0, 80.0, 0.0))
    assert places(*rows) == [pytest.approx((6.0, 58.0))]


def test_an_outline_that_runs_back_on_itself() -> None:
    rows = ((0.0, 10.0, 0.0), (40.0, 10.0, 0.0), (20.0, 10.0, 0.0), (20.0, 30.0, 0.0), (0.0, 30.0, 0.0))
    assert "outline folds back" in kinds(*rows)
    # Back along the arc it came on.
    bent = (
        (0.0, 10.0, 0.0),
        (40.0, 10.0, QUARTER),
        (40.0, 50.0, -QUARTER),
        (40.0, 10.0, 0.0),
        (0.0, 30.0, 0.0),
    )
    assert "outline folds back" in kinds(*bent)


def test_a_cusp_of_two_arcs_is_no_fold() -> None:
    """Half circles of radius 10 and 5 turn straight back at (20, 50) without lying on each other."""
    rows = ((0.0, 50.0, -1.0), (20.0, 50.0, 1.0), (10.0, 50.0, 0.0), (5.0, 40.0, 0.0))
    assert "outline folds back" not in kinds(*rows)


@pytest.mark.parametrize("turned", [0.0, 0.3, 1.0, 2.0, 2.5, 3.0])
def test_two_pieces_with_the_same_ends_do_not_cross(turned: float) -> None:
    """A half disc, whichever way it lies: its line and its arc meet in two joints and nowhere else."""
    c, s = math.cos(turned), math.sin(turned)
    half_disc = path((-20.0 * c, 50.0 - 20.0 * s, 0.0), (20.0 * c, 50.0 + 20.0 * s, 1.0))
    assert crossings(half_disc) == ()
    lens = path((-20.0 * c, 50.0 - 20.0 * s, 0.4), (20.0 * c, 50.0 + 20.0 * s, 0.7))
    assert crossings(lens) == ()


def met(a: tuple[float, ...], b: tuple[float, ...]) -> list[tuple[float, float]]:
    """Where two pieces, each given as z, r, z, r, bulge, meet."""
    p, q = (path((x[0], x[1], x[4]), (x[2], x[3], 0.0)) for x in (a, b))
    return [(float(z), float(r)) for z, r in meeting_points(p, 0, q, 0)]


def test_where_two_lines_meet() -> None:
    assert met((0, 0, 10, 10, 0), (0, 10, 10, 0, 0)) == [pytest.approx((5.0, 5.0))]
    assert met((0, 0, 10, 0, 0), (10, 0, 10, 10, 0)) == [pytest.approx((10.0, 0.0))]
    assert met((0, 0, 10, 0, 0), (11, -5, 11, 5, 0)) == []
    assert met((0, 0, 10, 0, 0), (0, 1, 10, 1, 0)) == []


def test_lines_on_one_line_meet_in_their_ends() -> None:
    assert sorted(met((0, 0, 10, 0, 0), (4, 0, 20, 0, 0))) == [(4.0, 0.0), (10.0, 0.0)]
    assert met((0, 0, 10, 0, 0), (11, 0, 20, 0, 0)) == []


def test_where_a_line_meets_an_arc() -> None:
    """The upper half circle of radius 5 about the origin, 3-4-5."""
    arc = (5.0, 0.0, -5.0, 0.0, 1.0)
    assert sorted(met((-9, 4, 9, 4, 0), arc)) == [pytest.approx((-3.0, 4.0)), pytest.approx((3.0, 4.0))]
    assert met(arc, (3, -9, 3, 9, 0)) == [pytest.approx((3.0, 4.0))]
    assert met((-9, 5, 9, 5, 0), arc) == [pytest.approx((0.0, 5.0))]
    assert met((-9, 5.1, 9, 5.1, 0), arc) == []
    assert met((-9, -4, 9, -4, 0), arc) == []


def test_where_two_arcs_meet() -> None:
    """Circles of radius 5 about (0, 0) and (6, 0) meet at (3, 4) and (3, -4)."""
    left, right = (0.0, -5.0, 0.0, 5.0, 1.0), (6.0, 5.0, 6.0, -5.0, 1.0)
    assert sorted(met(left, right)) == [pytest.approx((3.0, -4.0)), pytest.approx((3.0, 4.0))]
    upper = (5.0, 0.0, -5.0, 0.0, 1.0)
    assert met(upper, right) == [pytest.approx((3.0, 4.0))]
    # Side by side: they touch at (5, 0).
    assert met(left, (10.0, 5.0, 10.0, -5.0, 1.0)) == [pytest.approx((5.0, 0.0))]
    assert met(left, (11.0, 5.0, 11.0, -5.0, 1.0)) == []


def test_arcs_of_one_circle_meet_in_their_ends() -> None:
    """Half circles of radius 5 from -90 to 90 degrees and from 0 to 180 share the quarter between."""
    found = met((0.0, -5.0, 0.0, 5.0, 1.0), (5.0, 0.0, -5.0, 0.0, 1.0))
    assert sorted(found) == [pytest.approx((0.0, 5.0)), pytest.approx((5.0, 0.0))]
    # Circles about one centre with different radii do not meet.
    assert met((0.0, -5.0, 0.0, 5.0, 1.0), (0.0, -6.0, 0.0, 6.0, 1.0)) == []

"""Constraints against geometry made by hand, conflicts, redundancy, and random sets."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.errors import GeometryError
from geometry.shape.constraints import equation, misfit, misfits, value_of
from geometry.shape.constraints_hold import ConflictError, hold, refuse_redundant
from geometry.shape.constraints_solve import Solver
from geometry.shape.curve import Array, Path
from geometry.shape.held import Constraint, Hold

#: z, r, bulge, corner radius.
ROWS = np.array(
    [(0.0, 10.0, 0.0, 0.0), (40.0, 10.0, 0.0, 2.0), (40.0, 30.0, 0.3, 0.0), (0.0, 30.0, 0.0, 0.0)]
)
BLOCK = Path(np.array([(60.0, 0.0), (100.0, 0.0), (100.0, 50.0), (60.0, 50.0)]), np.zeros(4))


def held(
    *constraints: Constraint, move: Sequence[tuple[int, float, float]] = (), fixed: Sequence[int] = (0,),
    rows: Array = ROWS, exact: bool = False,
) -> Array:  # fmt: skip
    """Return the rows after vertices (number from 0, z, r) were moved, with constraints held."""
    to, still = rows.copy(), np.zeros(rows.shape, dtype=bool)
    for i, z, r in move:
        to[i, :2] = z, r
    still[list(fixed), :2] = True
    found = hold(to, rows, constraints, still, {"block": [BLOCK]}, exact)
    assert max(m for m in misfits(found, constraints, {"block": [BLOCK]}) if m is not None) < 1e-6
    assert np.array_equal(found[list(fixed), :2], rows[list(fixed), :2])
    return found


def test_lines_along_and_square_to_the_axle() -> None:
    found = held(
        Constraint(Hold.HORIZONTAL, (1, 2)), Constraint(Hold.VERTICAL, (2, 3)), move=[(1, 45.0, 13.0)]
    )
    assert found[1, :2] == pytest.approx((45.0, 10.0), abs=1e-6)  # its other end is locked
    assert found[2, 0] == pytest.approx(45.0, abs=1e-6)


def test_what_was_moved_stays_and_the_rest_follows() -> None:
    found = held(Constraint(Hold.DISTANCE, (2, 3), 25.0), move=[(1, 44.0, 12.0)])
    assert tuple(found[1, :2]) == (44.0, 12.0)
    # Nearest on the circle of 25 round (44, 12): on the ray to where the other one was.
    ray = np.array((40.0 - 44.0, 30.0 - 12.0))
    assert found[2, :2] == pytest.approx((44.0, 12.0) + ray / np.hypot(*ray) * 25.0, abs=1e-6)


def test_what_cannot_follow_holds_what_is_moved_on_its_circle() -> None:
    found = held(Constraint(Hold.DISTANCE, (1, 2), 40.0), move=[(1, 30.0, 40.0)])
    ray = np.array((30.0, 30.0))
    assert found[1, :2] == pytest.approx((0.0, 10.0) + ray / np.hypot(*ray) * 40.0, abs=1e-3)
    assert np.hypot(*(found[1, :2] - found[0, :2])) == pytest.approx(40.0, abs=1e-9)
    with pytest.raises(ConflictError):
        held(Constraint(Hold.DISTANCE, (1, 2), 40.0), move=[(1, 30.0, 40.0)], exact=True)


def test_a_tangent_arc_of_a_radius_as_drawn_by_hand() -> None:
    """A line along the axle to (0, 0), then an arc of radius 20 that ends 45 degrees on."""
    radius, turn = 20.0, math.pi / 4.0
    rows = np.array(
        [(-30.0, 50.0, 0.0, 0.0), (0.0, 50.0, 0.35, 0.0), (13.0, 57.0, 0.0, 0.0), (-30.0, 90.0, 0.0, 0.0)]
    )
    end = (radius * math.sin(turn), 50.0 + radius * (1.0 - math.cos(turn)))
    found = held(
        Constraint(Hold.TANGENT, (2,)), Constraint(Hold.RADIUS, (2, 3), radius),
        move=[(2, end[0], 60.0)], fixed=(0, 1), rows=rows,
    )  # fmt: skip
    # The end of every arc that leaves (0, 50) along the axle with this radius lies on its circle.
    assert np.hypot(found[2, 0], found[2, 1] - 70.0) == pytest.approx(radius, abs=1e-6)
    bulge = math.tan(math.atan2(found[2, 0], 70.0 - found[2, 1]) / 4.0)
    assert found[1, 2] == pytest.approx(bulge, abs=1e-7)
    exact = held(
        Constraint(Hold.TANGENT, (2,)), Constraint(Hold.RADIUS, (2, 3), radius),
        Constraint(Hold.ALONG_Z, (2, 3), end[0]), fixed=(0, 1), rows=rows,
    )  # fmt: skip
    assert exact[2, :2] == pytest.approx(end, abs=1e-6)
    assert exact[1, 2] == pytest.approx(math.tan(turn / 4.0), abs=1e-7)


def test_two_arcs_that_meet_tangent_share_a_line_of_centres() -> None:
    rows = np.array(
        [(0.0, 50.0, 0.3, 0.0), (20.0, 60.0, -0.2, 0.0), (45.0, 62.0, 0.0, 0.0), (0.0, 90.0, 0.0, 0.0)]
    )
    found = held(
        Constraint(Hold.TANGENT, (2,)), Constraint(Hold.RADIUS, (1, 2), 24.0),
        Constraint(Hold.RADIUS, (2, 3), 40.0), move=[(1, 22.0, 61.0)], rows=rows,
    )  # fmt: skip
    path = Path(found[:, :2].copy(), found[:, 2].copy())
    first, second = path.centres[0], path.centres[1]
    assert np.hypot(*(first - second)) == pytest.approx(24.0 + 40.0, abs=1e-6)  # they bend opposite ways
    assert np.hypot(*(first - found[1, :2])) == pytest.approx(24.0, abs=1e-6)


def test_equal_walls() -> None:
    found = held(Constraint(Hold.EQUAL_WALL, (1, 4, 2, 3)), move=[(2, 41.0, 37.0)], fixed=(0, 1))
    assert tuple(found[2, :2]) == (41.0, 37.0)
    wall = math.hypot(1.0, 27.0)
    assert np.hypot(*(found[3, :2] - found[0, :2])) == pytest.approx(wall, abs=1e-6)
    assert found[3, :2] == pytest.approx((0.0, 10.0 + wall), abs=1e-6)
    # Walls square to a line: vertices 4 and 3 as far from the line 1-2 as from one another's.
    to_line = held(Constraint(Hold.EQUAL_WALL, (3, 1, 2, 4, 1, 2)), move=[(2, 41.0, 37.0)], fixed=(0, 1))
    assert to_line[3, :2] == pytest.approx((0.0, 37.0), abs=1e-6)


def test_distance_from_a_line_keeps_its_side() -> None:
    found = held(Constraint(Hold.DISTANCE, (4, 1, 2), 12.5), move=[(3, 5.0, -0.0)], fixed=(0, 1))
    assert found[3, :2] == pytest.approx((5.0, 22.5), abs=1e-6)


def test_angles() -> None:
    found = held(Constraint(Hold.ANGLE, (1, 2), 30.0), move=[(1, 40.0, 12.0)])
    d = found[1, :2] - found[0, :2]
    assert math.degrees(math.atan2(d[1], d[0])) == pytest.approx(30.0, abs=1e-6)
    # Nearest: the foot of the square from where it was put.
    along = np.array((math.cos(math.radians(30.0)), math.sin(math.radians(30.0))))
    assert found[1, :2] == pytest.approx((0.0, 10.0) + along * (along @ (40.0, 2.0)), abs=1e-3)
    found = held(Constraint(Hold.ANGLE, (1, 2, 3), 110.0), fixed=(0, 1))
    a, b = found[0, :2] - found[1, :2], found[2, :2] - found[1, :2]
    assert math.degrees(math.acos(a @ b / np.hypot(*a) / np.hypot(*b))) == pytest.approx(110.0, abs=1e-6)


def test_distances_along_the_axle_and_away_from_it_and_a_corner_radius() -> None:
    found = held(
        Constraint(Hold.ALONG_Z, (1, 3), 35.0), Constraint(Hold.ALONG_R, (2, 3), 18.0),
        Constraint(Hold.RADIUS, (2,), 4.5),
    )  # fmt: skip
    assert found[2, 0] == pytest.approx(35.0, abs=1e-9)
    assert found[2, 1] - found[1, 1] == pytest.approx(18.0, abs=1e-9)
    assert found[1, 3] == 4.5


def test_clear_of_a_shape_counts_only_where_it_is_too_near() -> None:
    clear = Constraint(Hold.CLEAR, (2,), 5.0, "block")
    assert tuple(held(clear, move=[(1, 50.0, 12.0)])[1, :2]) == (50.0, 12.0)
    assert held(clear, move=[(1, 57.0, 12.0)])[1, :2] == pytest.approx((55.0, 12.0), abs=1e-6)
    assert held(clear, move=[(1, 63.0, 20.0)])[1, :2] == pytest.approx((55.0, 20.0), abs=1e-6)
    corner = held(clear, move=[(1, 58.0, 53.0)])[1, :2]  # off the corner: on a circle round it
    assert np.hypot(*(corner - (60.0, 50.0))) == pytest.approx(5.0, abs=1e-6)
    edge = held(Constraint(Hold.CLEAR, (2, 3), 4.0, "block"), clear, move=[(1, 70.0, 12.0)])
    assert edge[1, :2] == pytest.approx((55.0, 12.0), abs=1e-6)
    with pytest.raises(GeometryError, match="no stay-out shape"):
        held(Constraint(Hold.CLEAR, (2,), 5.0, "gone"), move=[(1, 57.0, 12.0)])


def test_a_conflict_names_the_least_set_and_changes_nothing() -> None:
    constraints = (
        Constraint(Hold.HORIZONTAL, (3, 4)),
        Constraint(Hold.ALONG_Z, (1, 2), 40.0),
        Constraint(Hold.ALONG_Z, (1, 3), 30.0),
        Constraint(Hold.RADIUS, (2,), 3.0),
        Constraint(Hold.VERTICAL, (2, 3)),
    )
    before = ROWS.copy()
    with pytest.raises(ConflictError) as caught:
        held(*constraints, move=[(1, 44.0, 12.0)])
    assert caught.value.of == (1, 2, 4)
    assert not caught.value.is_redundant
    assert np.array_equal(before, ROWS)
    for left_out in caught.value.of:  # any one of them less, and the others can be held
        held(*(c for k, c in enumerate(constraints) if k != left_out))


def test_what_is_locked_cannot_be_bent_to_a_constraint() -> None:
    with pytest.raises(ConflictError) as caught:
        held(Constraint(Hold.VERTICAL, (1, 2)), Constraint(Hold.RADIUS, (3, 4), 40.0), fixed=(0, 1))
    assert caught.value.of == (0,)


def test_what_says_nothing_new_is_named_with_what_says_it() -> None:
    constraints = (
        Constraint(Hold.RADIUS, (2,), 2.0),
        Constraint(Hold.VERTICAL, (2, 3)),
        Constraint(Hold.ALONG_Z, (1, 2), 40.0),
        Constraint(Hold.ALONG_Z, (1, 3), 40.0),
    )
    fixed = np.zeros(ROWS.shape, dtype=bool)
    with pytest.raises(ConflictError) as caught:
        refuse_redundant(ROWS, constraints, 3, fixed, {})
    assert caught.value.of == (1, 2, 3)
    assert caught.value.is_redundant
    refuse_redundant(ROWS, constraints[:3], 2, fixed, {})


@pytest.mark.parametrize(
    ("constraint", "says"),
    [
        (Constraint(Hold.DISTANCE, (1, 9), 5.0), "no vertex 9"),
        (Constraint(Hold.DISTANCE, (1, 1), 5.0), "a vertex twice"),
        (Constraint(Hold.TANGENT, (2,)), "two straight edges"),
        (Constraint(Hold.RADIUS, (1, 2), 5.0), "no arc"),
    ],
)
def test_what_cannot_be_read_is_said(constraint: Constraint, says: str) -> None:
    with pytest.raises(GeometryError, match=says):
        equation(constraint, ROWS)
    assert misfits(ROWS, [constraint], {}) == [None]


def test_values_as_they_lie() -> None:
    assert value_of(Constraint(Hold.DISTANCE, (1, 2)), ROWS) == 40.0
    assert value_of(Constraint(Hold.DISTANCE, (4, 1, 2)), ROWS) == 20.0
    assert value_of(Constraint(Hold.ANGLE, (1, 2, 3)), ROWS) == pytest.approx(90.0)
    assert value_of(Constraint(Hold.ANGLE, (2, 3)), ROWS) == pytest.approx(90.0)
    assert value_of(Constraint(Hold.RADIUS, (2,)), ROWS) == 2.0
    # Radius of an arc from chord and bulge: c (1 + b^2) / (4 b).
    assert value_of(Constraint(Hold.RADIUS, (3, 4)), ROWS) == pytest.approx(40.0 * 1.09 / 1.2)


EVERY = (
    Constraint(Hold.HORIZONTAL, (1, 2)), Constraint(Hold.VERTICAL, (2, 3)), Constraint(Hold.TANGENT, (3,)),
    Constraint(Hold.RADIUS, (3, 4), 36.0), Constraint(Hold.RADIUS, (2,), 3.0),
    Constraint(Hold.ANGLE, (2, 3), 80.0), Constraint(Hold.ANGLE, (1, 2, 3), 95.0),
    Constraint(Hold.DISTANCE, (2, 3), 21.0), Constraint(Hold.DISTANCE, (4, 1, 2), 19.0),
    Constraint(Hold.ALONG_Z, (1, 2), 41.0), Constraint(Hold.ALONG_R, (2, 3), 19.0),
    Constraint(Hold.EQUAL_WALL, (1, 4, 2, 3)), Constraint(Hold.CLEAR, (2,), 15.0, "block"),
)  # fmt: skip


@pytest.mark.parametrize("constraint", EVERY, ids=lambda c: f"{c.kind} {c.vertices}")
def test_derivatives_are_those_of_differences(constraint: Constraint) -> None:
    rows = ROWS + np.random.default_rng(3).normal(scale=0.5, size=ROWS.shape) * (1.0, 1.0, 0.05, 0.0)
    free = np.zeros(rows.shape, dtype=bool)
    solver = Solver(rows, rows, [constraint], free, {"block": [BLOCK]})
    f, jacobian = solver._linear(solver.equations, solver.target)
    for k in range(len(solver.keys)):
        step = np.zeros(len(solver.keys))
        step[k] = 1e-6
        up, _ = solver._linear(solver.equations, solver.target + step)
        assert (up[0] - f[0]) / 1e-6 == pytest.approx(jacobian[0, k], abs=1e-4)


@given(
    st.lists(st.sampled_from(EVERY), unique=True, min_size=1, max_size=5),
    st.tuples(st.floats(20.0, 60.0), st.floats(2.0, 28.0)),
)
def test_random_sets_are_held_or_refused_with_a_set_that_is_least(
    constraints: list[Constraint], to: tuple[float, float]
) -> None:
    try:
        found = held(*constraints, move=[(1, *to)])
    except ConflictError as error:
        conflict = error.of
    else:
        conflict = ()
    assert all(0 <= k < len(constraints) for k in conflict)
    if conflict:
        return
    again = hold(found, found, constraints, np.zeros(ROWS.shape, dtype=bool), {"block": [BLOCK]})
    assert again == pytest.approx(found, abs=1e-6)  # what is held stays as it is


def test_an_angle_is_met_the_right_way_and_not_back() -> None:
    e = equation(Constraint(Hold.ANGLE, (1, 2, 3), 90.0), ROWS)
    x = {(i, k): complex(ROWS[i, k]) for i in range(4) for k in range(4)}
    assert abs(misfit(e, x)) < 1e-12

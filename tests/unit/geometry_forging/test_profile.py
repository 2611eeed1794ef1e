"""Upper envelopes of lines and arcs, against the greatest of all pieces and against quadrature."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from geometry.forging.profile import (
    COLUMNS,
    HIGH,
    LOW,
    clipped,
    height,
    heights,
    hill,
    last_meeting,
    line,
    merged,
    moment,
    shifted,
    turned_over,
    upper,
    valley,
)
from geometry.shape.curve import Array


def table(*rows: list[float]) -> Array:
    return np.array(rows, dtype=float).reshape(-1, COLUMNS)


def random_pieces(rng: np.random.Generator, count: int) -> Array:
    rows = []
    for k in range(count):
        low, long = rng.uniform(0.0, 80.0), rng.uniform(0.5, 40.0)
        high = low + long
        z = rng.uniform(-20.0, 20.0)
        way = rng.integers(3)
        if way == 0:
            rows.append(line(low, high, rng.uniform(low, high), z, rng.normal(0.0, 3.0), k))
        else:
            radius, middle = rng.uniform(long / 2.0, 60.0), (low + high) / 2.0
            off = rng.uniform(-1.0, 1.0) * (radius - long / 2.0)
            rows.append((hill if way == 1 else valley)(low, high, middle + off, z, radius, k))
    return table(*rows)


@pytest.mark.parametrize("seed", range(40))
def test_the_envelope_is_the_greatest_of_all_pieces_everywhere(seed: int) -> None:
    rng = np.random.default_rng(seed)
    pieces = random_pieces(rng, int(rng.integers(1, 25)))
    found = upper(pieces)
    assert np.all(found[1:, LOW] >= found[:-1, HIGH])
    r = rng.uniform(0.0, 120.0, 2000)
    each = np.full((len(pieces), len(r)), -np.inf)
    for k in range(len(pieces)):
        over = (pieces[k, LOW] <= r) & (r <= pieces[k, HIGH])
        each[k, over] = [height(pieces, k, float(x)) for x in r[over]]
    top = each.max(axis=0)
    mine = heights(found, r)
    assert np.array_equal(np.isnan(mine), np.isinf(top))
    # At the side of a circle the height changes by the square root of a rounding.
    assert np.nanmax(np.abs(mine - np.where(np.isinf(top), np.nan, top)), initial=0.0) < 1e-5


@pytest.mark.parametrize("seed", range(10))
def test_the_order_of_the_pieces_does_not_matter(seed: int) -> None:
    rng = np.random.default_rng(seed)
    pieces = random_pieces(rng, 20)
    other = merged(upper(pieces[:9]), upper(pieces[9:]))
    r = np.linspace(0.0, 120.0, 3001)
    one = heights(upper(pieces[rng.permutation(20)]), r)
    assert np.allclose(one, heights(other, r), atol=1e-5, equal_nan=True)


@pytest.mark.parametrize("seed", range(10))
def test_the_moment_agrees_with_quadrature(seed: int) -> None:
    rng = np.random.default_rng(seed)
    found = upper(np.vstack([random_pieces(rng, 12), table(line(0.0, 120.0, 0.0, -50.0, 0.1))]))
    total = 0.0
    for k in range(len(found)):
        total += quad(lambda r, k=k: r * height(found, k, r), found[k, LOW], found[k, HIGH], epsabs=1e-9)[0]
    assert moment(found, 0.0, 120.0) == pytest.approx(total, rel=1e-9)
    middle = float(rng.uniform(30.0, 90.0))
    parts = moment(found, 0.0, middle) + moment(found, middle, 120.0)
    assert parts == pytest.approx(total, rel=1e-9)


def test_a_circle_and_a_tangent_line_meet_in_one_place() -> None:
    found = upper(table(hill(0.0, 20.0, 10.0, 0.0, 10.0, 1), line(0.0, 20.0, 10.0, 10.0, 0.0, 2)))
    assert heights(found, np.array([0.0, 5.0, 10.0, 20.0])) == pytest.approx([10.0] * 4)


def test_moved_and_turned_over() -> None:
    found = table(hill(2.0, 18.0, 10.0, 3.0, 10.0), line(18.0, 30.0, 18.0, 9.0, -0.5))
    r = np.linspace(2.0, 30.0, 57)
    assert heights(shifted(found, 4.0), r) == pytest.approx(heights(found, r) + 4.0)
    assert heights(turned_over(found), r) == pytest.approx(-heights(found, r))
    kept = clipped(found, 5.0, 20.0)
    assert (kept[0, LOW], kept[-1, HIGH]) == (5.0, 20.0)


def test_two_falling_walls_meet_where_arithmetic_says() -> None:
    over, under = table(line(0.0, 99.0, 0.0, 30.0, -2.0)), table(line(0.0, 99.0, 0.0, -20.0, 0.5))
    assert last_meeting(over, under) == pytest.approx(50.0 / 2.5)
    assert last_meeting(under, table(line(0.0, 99.0, 0.0, 90.0, 0.0))) == -math.inf


def test_the_last_of_several_meetings_counts() -> None:
    """A zigzag over and under a level line: they meet at 10, 20 and 30, and it stays over the line then."""
    level = table(line(0.0, 40.0, 0.0, 0.0, 0.0))
    zigzag = table(
        line(0.0, 15.0, 10.0, 0.0, 1.0), line(15.0, 25.0, 20.0, 0.0, -1.0), line(25.0, 40.0, 30.0, 0.0, 1.0)
    )
    assert last_meeting(level, zigzag) == pytest.approx(30.0)
    assert last_meeting(zigzag, level) == pytest.approx(40.0)
    # A circle of 10 about r 20 over a line at height 6: a triangle of 6, 8 and 10.
    assert last_meeting(table(hill(10.0, 30.0, 20.0, 0.0, 10.0)), shifted(level, 6.0)) == pytest.approx(28.0)

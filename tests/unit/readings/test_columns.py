"""The least value in each column of the strip, against a plain search through every place."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from geometry.readings.columns import least_by_column

Places = list[tuple[float, float, int]]  # z, value and station
STATION = st.tuples(
    st.floats(-4.0, 4.0),  # from the station before, mm along z
    st.one_of(st.just(math.nan), st.floats(-5.0, 30.0)),
    st.booleans(),
)


def every_place(z: list[float], value: list[float], on: list[bool]) -> Places:
    """Return the stations that count, and eight places to the next one where that follows at once."""
    found: Places = []
    for m in range(len(z)):
        if on[m]:
            found.append((z[m], value[m], m))
        if m + 1 < len(z) and on[m] and on[m + 1]:
            for share in (0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875):
                a, b, nearer = value[m], value[m + 1], m if share < 0.5 else m + 1
                straight = value[nearer] if math.isnan(a) or math.isnan(b) else (1.0 - share) * a + share * b
                found.append(((1.0 - share) * z[m] + share * z[m + 1], straight, nearer))
    return found


@given(st.lists(STATION, max_size=25))
def test_each_column_holds_the_least_of_its_places(stations: list[tuple[float, float, bool]]) -> None:
    z = np.cumsum([step for step, _, _ in stations], dtype=float)
    value, on = [v for _, v, _ in stations], [c for _, _, c in stations]
    zone, needs = np.arange(len(z)) % 3, np.array([[1.0, 2.0, math.nan]])
    middle, least, need, station = least_by_column(
        z, np.array([value], dtype=float), np.array(on, dtype=np.bool_), zone, needs
    )
    places = every_place(z.tolist(), value, on)
    counted = [math.floor(at) for at, m in zip(z, range(len(z)), strict=True) if on[m]]
    columns = range(min(counted), max(counted) + 1) if counted else range(0)
    assert middle.tolist() == [column + 0.5 for column in columns]
    for c, column in enumerate(columns):
        # Rounding may put a place at the edge of the last column beyond it.
        there = [p for p in places if min(max(math.floor(p[0]), columns[0]), columns[-1]) == column]
        there = [p for p in there if not math.isnan(p[1])]
        if not there:
            assert np.isnan([least[0, c], need[0, c]]).all()
            assert station[0, c] == -1
            continue
        lowest = min(there, key=lambda p: p[1])
        assert (least[0, c], station[0, c]) == lowest[1:]
        assert np.array_equal(need[0, c], needs[0, zone[lowest[2]]], equal_nan=True)


def test_each_quantity_has_its_own_values_and_needs() -> None:
    z, on, zone = np.array([0.5, 1.5]), np.ones(2, dtype=np.bool_), np.zeros(2, dtype=np.intp)
    values, needs = np.array([[3.0, 4.0], [9.0, math.nan]]), np.array([[1.0], [2.0]])
    _, least, need, station = least_by_column(z, values, on, zone, needs)
    assert least.tolist()[0] == [3.0, 3.5]
    assert station.tolist() == [[0, 1], [0, -1]]
    assert least[1, 0] == 9.0
    assert need[0].tolist() == [1.0, 1.0]
    assert np.array_equal(need[1], [2.0, math.nan], equal_nan=True)  # there is nothing that it is needed of

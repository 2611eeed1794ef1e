"""The least value of one side for each place along the axle, as the profile strip shows it."""

from __future__ import annotations

import math

import numpy as np

from geometry.compiled import compiled
from geometry.shape.curve import Array, Flags, Indices

#: Width of a column along the axle; a station stands for the skin up to half way to its neighbours.
COLUMN_MM = 1.0
#: Places between neighbouring stations (at most 4 mm apart), so that no column stays empty.
_BETWEEN = 8


def least_by_column(
    z: Array, values: Array, on: Flags, zone: Indices, needs: Array
) -> tuple[Array, Array, Array, Indices]:
    """Return the least of each quantity in each column, what its zone needs, and its station.

    Args:
        z: (m,) of stations along the skin, in order.
        values: (k, m) quantities there, NaN for none; between stations they run straight. Between a number
            and none the number holds for its own half.
        on: (m,) the stations that count.
        zone: (m,) number of each station's zone.
        needs: (k, zones) what the zones need of each quantity, NaN for nothing.

    Returns:
        z (c,) of the columns' middles, rising; least and need (k, c), NaN for none; station (k, c), -1 for
        none. Of several places with the least value the first along the skin decides.
    """
    return _least(np.ascontiguousarray(z), values, on, zone, needs)


@compiled
def _column(z: float) -> int:
    return math.floor(z / COLUMN_MM)


@compiled
def _least(
    z: Array, values: Array, on: Flags, zone: Indices, needs: Array
) -> tuple[Array, Array, Array, Indices]:
    """Return what least_by_column does."""
    low, high = np.inf, -np.inf
    for m in range(len(z)):
        if on[m]:
            low, high = min(low, z[m]), max(high, z[m])
    first = _column(low) if low <= high else 0
    count = _column(high) - first + 1 if low <= high else 0
    middle = np.empty(count)
    for c in range(count):
        middle[c] = (first + c + 0.5) * COLUMN_MM
    quantities = len(values)
    least, need = np.full((quantities, count), np.nan), np.full((quantities, count), np.nan)
    source = np.full((quantities, count), -1, dtype=np.intp)
    for k in range(quantities):
        for m in range(len(z)):
            if not on[m]:
                continue
            runs_on = m + 1 < len(z) and on[m + 1]
            for part in range(_BETWEEN if runs_on else 1):
                share = part / _BETWEEN
                value, at, station = values[k, m], z[m], m
                if part:
                    rest, after = 1.0 - share, values[k, m + 1]
                    at, station = rest * z[m] + share * z[m + 1], m if share < 0.5 else m + 1
                    if np.isnan(value) != np.isnan(after):
                        value = value if share < 0.5 else after
                    else:
                        value = rest * value + share * after
                c = min(max(_column(at) - first, 0), count - 1)  # rounding may leave the last by a hair
                if value < least[k, c] or (source[k, c] < 0 and not np.isnan(value)):
                    least[k, c], source[k, c] = value, station
        for c in range(count):
            if source[k, c] >= 0:
                need[k, c] = needs[k, zone[source[k, c]]]
    return middle, least, need, source

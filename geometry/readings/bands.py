"""Strips along the inside of the skin, by levels of wall: a picture of the wall.

A strip runs along a piece over all neighbouring stations of one level. It starts at the first of them and
ends where the station after the last one starts. Along a straight piece it has corners at its ends alone.
"""

from __future__ import annotations

import numpy as np

from geometry.compiled import compiled
from geometry.shape.curve import SWEEP, Array, Flags, Indices, direction_along, place_along
from geometry.shape.section import Outline


def levels(wall_mm: Array, low_mm: float, high_mm: float, count: int) -> Indices:
    """Return the level (s,) of each wall, 0 to count - 1 in even steps from low_mm up to high_mm.

    Thinner ones are of level 0. -1 stands where there is no wall (NaN), or one of high_mm or more.
    """
    return _levels(wall_mm, low_mm, high_mm, count)


@compiled
def _levels(wall_mm: Array, low_mm: float, high_mm: float, count: int) -> Indices:
    found = np.full(len(wall_mm), -1, dtype=np.intp)
    for m in range(len(wall_mm)):
        if wall_mm[m] < high_mm:
            step = int((wall_mm[m] - low_mm) / (high_mm - low_mm) * count)
            found[m] = min(max(step, 0), count - 1)
    return found


def strips(
    outline: Outline, piece: Indices, levels: Indices, count: int, width_mm: float
) -> tuple[Array, Flags, Indices]:
    """Return corners (m, 2), where a strip begins (m,), and where the corners of each level end (count,).

    Strips stand by rising level. Each runs along the skin, back along the inside, and to its first corner.

    Args:
        outline: of the wheel.
        piece: (s,) of the outline, of each station along the skin.
        levels: (s,) level of each, 0 to count - 1; below 0 for none.
        count: number of levels.
        width_mm: of the strips, to the left of the skin as it runs: inwards.
    """
    return _strips(outline.path.table, piece, levels, count, width_mm)


@compiled
def _strips(
    t: Array, piece: Indices, levels: Indices, count: int, width_mm: float
) -> tuple[Array, Flags, Indices]:
    s = len(piece)
    skin, inner = np.empty((2 * s, 2)), np.empty((2 * s, 2))  # where each station starts, and where it ends
    stop = np.empty(s, dtype=np.intp)  # of each strip that begins at a station, the station after its last
    room = np.zeros(count, dtype=np.intp)
    first = 0
    while first < s:
        k, last = piece[first], first
        while last < s and piece[last] == k:
            last += 1
        for m in range(first, last):
            _rib(t, k, (m - first) / (last - first), width_mm, skin, inner, 2 * m)
            _rib(t, k, (m + 1 - first) / (last - first), width_mm, skin, inner, 2 * m + 1)
        begin = first
        while begin < last:
            end = begin + 1
            while end < last and levels[end] == levels[begin]:
                end += 1
            stop[begin] = end
            if levels[begin] >= 0:
                room[levels[begin]] += 2 * _ribs(t, k, begin, end) + 3
            begin = end
        first = last
    ends = np.cumsum(room)
    corners, begins = np.empty((ends[-1], 2)), np.zeros(ends[-1], dtype=np.bool_)
    at = ends - room
    begin = 0
    while begin < s:
        end, level = stop[begin], levels[begin]
        if level >= 0:
            ribs = _ribs(t, piece[begin], begin, end)
            m, after = at[level], at[level] + 2 * ribs + 2
            begins[m] = True
            for i in range(ribs):
                corners[m + i] = skin[2 * (begin + i)]
                corners[after - 1 - i] = inner[2 * (begin + i)]
            corners[m + ribs] = skin[2 * end - 1]
            corners[m + ribs + 1] = inner[2 * end - 1]
            corners[after] = skin[2 * begin]
            at[level] = after + 1
        begin = end
    return corners, begins, ends


@compiled
def _ribs(t: Array, k: int, begin: int, end: int) -> int:
    """Return at how many stations, from `begin` on, a strip along piece k has corners."""
    return 1 if t[k, SWEEP] == 0.0 else end - begin


@compiled
def _rib(t: Array, k: int, share: float, width_mm: float, skin: Array, inner: Array, m: int) -> None:
    """Write row m: the place at a fraction of piece k, and width_mm to the left of it."""
    z, r = place_along(t, k, share)
    dz, dr = direction_along(t, k, share)
    skin[m, 0], skin[m, 1] = z, r
    inner[m, 0], inner[m, 1] = z - dr * width_mm, r + dz * width_mm

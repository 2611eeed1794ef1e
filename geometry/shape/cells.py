"""Fields of cells in the half-plane (z, r): runs of set cells, gaps that these enclose, islands, outlines.

A field is kept in tiles of 64 by 64 cells: tiles[z // 64, r // 64, z % 64] is a word whose bits run along r,
so that what lies close together stays within few lines of the cache. A step is one width of a cell along z, a
run the set cells of one step that follow each other.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from geometry.compiled import compiled
from geometry.shape.curve import Array, Indices

Words = NDArray[np.uint64]

_ALL = np.uint64(0xFFFFFFFFFFFFFFFF)
_ONE = np.uint64(1)


@compiled
def set_cells(tiles: Words, row: int, first: int, last: int) -> None:
    """Set the cells first to last of a row."""
    line, k = tiles[row >> 6], row & 63
    for w in range(first >> 6, (last >> 6) + 1):
        word = _ALL
        if w == first >> 6:
            word = word << np.uint64(first & 63)
        if w == last >> 6:
            word = word & (_ALL >> np.uint64(63 - (last & 63)))
        line[w, k] |= word


@compiled
def runs(tiles: Words, count_z: int) -> tuple[Indices, Indices, Indices]:
    """Return the runs of set cells along r: where those of each step of z begin, and first and last cell."""
    size = 4 * count_z + 64
    first, start, end = np.empty(count_z + 1, np.int64), np.empty(size, np.int64), np.empty(size, np.int64)
    count = 0
    for k in range(count_z):
        first[k] = count
        inside = False
        for w in range(tiles.shape[1]):
            word = tiles[k >> 6, w, k & 63]
            if word == (_ALL if inside else np.uint64(0)):
                continue
            for b in range(64):
                on = (word >> np.uint64(b)) & _ONE != 0
                if on == inside:
                    continue
                if on:
                    if count == size:
                        size *= 2
                        start = np.concatenate((start, np.empty(count, np.int64)))
                        end = np.concatenate((end, np.empty(count, np.int64)))
                    start[count] = 64 * w + b
                else:
                    end[count] = 64 * w + b - 1
                    count += 1
                inside = on
        if inside:
            end[count] = 64 * tiles.shape[1] - 1
            count += 1
    first[count_z] = count
    return first, start[:count].copy(), end[:count].copy()


@compiled
def _root(parent: Indices, n: int) -> int:
    while parent[n] != n:
        parent[n] = parent[parent[n]]
        n = parent[n]
    return n


@compiled
def islands(first: Indices, start: Indices, end: Indices) -> Indices:
    """Return the number of the first run of each island of cells; those that meet at a corner are apart."""
    parent = np.arange(len(start))
    for k in range(1, len(first) - 1):
        a, b = first[k - 1], first[k]
        while a < first[k] and b < first[k + 1]:
            if start[a] <= end[b] and start[b] <= end[a]:
                one, two = _root(parent, a), _root(parent, b)
                parent[max(one, two)] = min(one, two)
            if end[a] < end[b]:
                a += 1
            else:
                b += 1
    return np.array([n for n in range(len(parent)) if parent[n] == n])


@compiled
def fill(tiles: Words, first: Indices, start: Indices, end: Indices, at_axle: bool, least: int) -> Array:
    """Set the cells of every gap that set cells enclose; return (m, 3) size of each, and a place along z, r.

    With `at_axle` the cells begin at the axle, so that what lies below the first run is not outside by that.
    Gaps of fewer cells than `least` are filled and not told.
    """
    steps, beyond = len(first) - 1, 1 << 60
    # Gap number first[k] + k + j of step k lies below its run j, and the last one above all of them.
    parent = np.arange(len(start) + steps + 1)
    outside = len(parent) - 1
    low, high = np.zeros(len(parent), np.int64), np.full(len(parent), beyond)
    for k in range(steps):
        for n in range(first[k], first[k + 1]):
            high[n + k] = start[n] - 1
            low[n + k + 1] = end[n] + 1
        if not at_axle:
            parent[first[k] + k] = outside
        parent[first[k + 1] + k] = outside
        a, b = (first[k - 1] + k - 1 if k else outside), first[k] + k
        last = first[k] + k
        while k and a < last and b <= first[k + 1] + k:
            # Gaps that meet at a corner are one.
            if low[a] <= high[a] and low[b] <= high[b] and low[a] <= high[b] + 1 and low[b] <= high[a] + 1:
                one, two = _root(parent, a), _root(parent, b)
                parent[min(one, two)] = max(one, two)
            if high[a] < high[b]:
                a += 1
            else:
                b += 1
    for n in range(first[1] + 1):
        parent[_root(parent, n)] = outside
    for n in range(first[steps - 1] + steps - 1, outside):
        parent[_root(parent, n)] = outside
    size, widest = np.zeros(len(parent), np.int64), np.zeros(len(parent), np.int64)
    place = np.zeros((len(parent), 2), np.int64)
    for k in range(steps):
        for n in range(first[k] + k, first[k + 1] + k + 1):
            to, wide = _root(parent, n), high[n] - low[n] + 1
            if to == outside or wide <= 0:
                continue
            set_cells(tiles, k, low[n], high[n])
            size[to] += wide
            if wide > widest[to]:
                widest[to], place[to, 0], place[to, 1] = wide, k, (low[n] + high[n]) // 2
    found = np.flatnonzero(size >= least)
    out = np.empty((len(found), 3))
    for m in range(len(found)):
        out[m, 0], out[m, 1], out[m, 2] = size[found[m]], place[found[m], 0], place[found[m], 1]
    return out


@compiled
def _is_set(tiles: Words, z: int, r: int) -> bool:
    if z < 0 or r < 0 or z >> 6 >= tiles.shape[0] or r >> 6 >= tiles.shape[1]:
        return False
    return bool((tiles[z >> 6, r >> 6, z & 63] >> np.uint64(r & 63)) & _ONE)


@compiled
def outline(tiles: Words, z: int, r: int) -> Indices:
    """Return (m, 2) corners of cells round the island whose first cell is given, counterclockwise.

    The first cell is the lowest one in r of the lowest step of z, so that its low corner lies on the outline;
    gaps within the island are passed over.
    """
    size, count = 1024, 0
    out = np.empty((size, 2), np.int64)
    # Set off along +z with the cell to the left; keep set cells to the left.
    at_z, at_r, dz, dr = z, r, 1, 0
    while True:
        at_z, at_r = at_z + dz, at_r + dr
        # The cells ahead to the left and to the right of the corner that was reached.
        left_z, left_r = at_z + (dz - dr - 1) // 2, at_r + (dr + dz - 1) // 2
        right_z, right_r = at_z + (dz + dr - 1) // 2, at_r + (dr - dz - 1) // 2
        turn = 1 if not _is_set(tiles, left_z, left_r) else -1 if _is_set(tiles, right_z, right_r) else 0
        if turn:
            if count == size:
                size *= 2
                out = np.concatenate((out, np.empty((count, 2), np.int64)))
            out[count, 0], out[count, 1] = at_z, at_r
            count += 1
            dz, dr = -turn * dr, turn * dz
        if at_z == z and at_r == r and dz == 1:
            return out[:count].copy()

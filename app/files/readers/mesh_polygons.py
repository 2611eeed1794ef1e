"""Faces of three or more corners parted into triangles."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from app.files.readers.answer import ReadError
from app.files.readers.mesh_files import check_count
from geometry.shape.curve import Array, Flags, Indices

#: Corners of a face; a larger one is no face of a body but a fault.
_MOST_CORNERS = 2000


def parted(places: Array, groups: Iterable[Indices]) -> Array:
    """Return the triangles (n, 3, 3) of faces, given as (m, k) numbers of corners, groups of equal k.

    A face bent in at a corner is parted within itself; where it crosses itself, from its first corner on.

    Raises:
        ReadError: a face has fewer than three corners or far too many, or names one that does not exist.
    """
    found, count = [], 0
    for rows in groups:
        corners = rows.shape[1]
        if not len(rows):
            continue
        if not 3 <= corners <= _MOST_CORNERS:
            raise ReadError(f"a face has {corners} corners; export the body again")
        low, high = int(rows.min()), int(rows.max())
        if low < 0 or high >= len(places):
            wrong = low if low < 0 else high
            raise ReadError(
                f"a triangle or face names corner {wrong + 1}, beyond the {len(places)} there are; "
                "export it again"
            )
        count += len(rows) * (corners - 2)
        check_count(count)
        if corners == 3:
            found.append(places[rows])
            continue
        bent = _bent_in(places[rows])
        straight = rows[~bent]
        found += [places[straight[:, [0, k, k + 1]]] for k in range(1, corners - 1)]
        found += [places[list(_ears(places, row))] for row in rows[bent].tolist()]
    return np.concatenate(found) if found else np.empty((0, 3, 3))


def _bent_in(faces: Array) -> Flags:
    """Return which of (m, k, 3) faces have a corner that turns the other way than the face does."""
    # Sizes do not matter here, and squares of what is far too large would overflow. What is no number, or too
    # large, is refused later.
    with np.errstate(invalid="ignore", over="ignore"):
        size = np.abs(faces).max(axis=(1, 2), keepdims=True)
        faces = faces / np.where(size > 0.0, size, 1.0)
        out = np.roll(faces, -1, axis=1) - faces
        turn = np.cross(np.roll(out, 1, axis=1), out)
        normal = np.cross(faces, np.roll(faces, -1, axis=1)).sum(axis=1)
        along = np.einsum("mkc,mc->mk", turn, normal)
        return np.asarray((along < -1e-9 * np.abs(along).max(axis=1, keepdims=True)).any(axis=1))


def _ears(places: Array, row: list[int]) -> Iterator[tuple[int, int, int]]:
    """Yield the triangles of one face, corner after corner cut off where that stays within it."""
    corners = places[row]
    with np.errstate(invalid="ignore", over="ignore"):
        normal = np.cross(corners, np.roll(corners, -1, axis=0)).sum(axis=0)
        across = np.cross(normal, np.eye(3)[int(np.argmin(np.abs(normal)))])
        flat = corners @ np.column_stack([across, np.cross(normal, across)])
    left = list(range(len(row)))
    while len(left) > 3:
        k = _ear(flat[left])
        yield row[left[k - 1]], row[left[k]], row[left[(k + 1) % len(left)]]
        del left[k]
    yield row[left[0]], row[left[1]], row[left[2]]


def _ear(places: Array) -> int:
    """Return the first corner of (n, 2) that can be cut off with no other in its triangle; 1 if none can."""
    before, after = np.roll(places, 1, axis=0), np.roll(places, -1, axis=0)
    for k in np.flatnonzero(_turn(before, places, after) > 0.0).tolist():
        a, b, c = before[k], places[k], after[k]
        inside = (_turn(a, b, places) >= 0.0) & (_turn(b, c, places) >= 0.0) & (_turn(c, a, places) >= 0.0)
        inside[[k - 1, k, (k + 1) % len(places)]] = False
        if not inside.any():
            return int(k)
    return 1


def _turn(start: Array, end: Array, place: Array) -> Array:
    """Return twice the areas of triangles, above 0 where a place lies to the left of the way to the end."""
    way, there = end - start, place - start
    return np.asarray(way[..., 0] * there[..., 1] - way[..., 1] * there[..., 0])

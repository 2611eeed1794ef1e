"""Where a callout stands: beside its place, over as little else as can be, and rather where it stood before.

Boxes are (left, top, right, bottom) in logical pixels, y down.
"""

from __future__ import annotations

import numpy as np

from geometry.shape.boxes import shared
from geometry.shape.curve import Array

Box = tuple[float, float, float, float]
#: Number of one of the places that are tried, to be handed back next time.
Choice = int

_DIRECTIONS = 16
_REACHES_PX = (30.0, 64.0, 110.0, 160.0)
#: Worth of the wanted direction, and of staying where it stood, in square pixels of hidden area.
_TOWARDS, _STAY = 300.0, 900.0
#: What hiding a handle costs: more than any words and any way are worth.
_HANDLE = 50_000.0

_ANGLES = np.repeat(2.0 * np.pi * np.arange(_DIRECTIONS) / _DIRECTIONS, len(_REACHES_PX))
_UNITS = np.column_stack([np.cos(_ANGLES), np.sin(_ANGLES)])
_REACHES = np.tile(_REACHES_PX, _DIRECTIONS)


#: So many boxes are looked through one by one.
_FEW = 6


class Boxes:
    """Boxes that others must keep off: those of the start, as (m, 4) rows, and those that are added.

    Attributes:
        added: those that came; a few of the start are held as these are, which is quicker.
    """

    def __init__(self, first: Array | None = None) -> None:
        self._columns: tuple[Array, ...] | None = None
        self.added: list[Box] = []
        if first is not None and len(first) <= _FEW:
            self.added += map(tuple, first.tolist())
        elif first is not None:
            self._columns = tuple(first.T)

    def meets(self, box: Box) -> bool:
        """True where a box shares any area with one of them."""
        left, top, right, bottom = box
        for x0, y0, x1, y1 in self.added:
            if x0 < right and x1 > left and y0 < bottom and y1 > top:
                return True
        if self._columns is None:
            return False
        lefts, tops, rights, bottoms = self._columns
        shares = (lefts < right) & (rights > left) & (tops < bottom) & (bottoms > top)
        return bool(np.logical_or.reduce(shares))


def place_box(
    at: tuple[float, float],
    size: tuple[float, float],
    towards: tuple[float, float],
    room: Box,
    taken: Array,
    last: Choice | None = None,
    handles: Array | None = None,
) -> tuple[Box, Choice]:
    """Return the box for a callout of `size` led to `at`, and the choice that gave it.

    Args:
        at: the place, px.
        size: width and height, px.
        towards: direction in which it would best stand, unit length.
        room: it should lie within this.
        taken: (m, 4) boxes that it should not hide.
        last: the choice of the last time; kept unless another is clearly better.
        handles: (m, 4) boxes that it must not hide while any place is free of them.
    """
    if last is not None:
        stays = _box_at(at, size, last)
        if _is_free(stays, room, taken) and (handles is None or _is_free(stays, room, handles)):
            return stays, last
    half = np.array(size) / 2.0
    centres = np.array(at) + _UNITS * (_REACHES[:, None] + half)
    boxes = np.hstack([centres - half, centres + half])
    outside = size[0] * size[1] - shared(boxes, np.array([room]))[:, 0]
    cost = (
        shared(boxes, taken)[:, 0] + 4.0 * outside + 2.0 * _REACHES - _TOWARDS * (_UNITS @ np.array(towards))
    )
    if handles is not None:
        cost += _HANDLE * shared(boxes, handles)[:, 1]
    if last is not None:
        cost[last] -= _STAY
    best = int(np.argmin(cost))
    return _box_at(at, size, best), best


def _box_at(at: tuple[float, float], size: tuple[float, float], choice: Choice) -> Box:
    """Return the box of one choice."""
    (x, y), reach = _UNITS[choice].tolist(), float(_REACHES[choice])
    half_width, half_height = size[0] / 2.0, size[1] / 2.0
    x, y = at[0] + x * (reach + half_width), at[1] + y * (reach + half_height)
    return x - half_width, y - half_height, x + half_width, y + half_height


def _is_free(box: Box, room: Box, others: Array) -> bool:
    """True where a box hides none of (m, 4) others and lies in the room: then no place is clearly better.

    Its cost is then 2 x 160 + 300 at most, less 900 for staying; any other's is at least 2 x 30 - 300.
    """
    left, top, right, bottom = box
    if left < room[0] or top < room[1] or right > room[2] or bottom > room[3]:
        return False
    return not shared(np.array([box]), others).any()


def nearest(box: Box, at: tuple[float, float]) -> tuple[float, float]:
    """Return the place on or in a box that is nearest to a point."""
    return min(max(at[0], box[0]), box[2]), min(max(at[1], box[1]), box[3])

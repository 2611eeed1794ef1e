"""Where a callout stands: beside its place, over as little else as can be, and rather where it stood before.

Boxes are (left, top, right, bottom) in logical pixels, y down.
"""

from __future__ import annotations

import numpy as np

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
    half = np.array(size) / 2.0
    centres = np.array(at) + _UNITS * (_REACHES[:, None] + half)
    boxes = np.hstack([centres - half, centres + half])
    if last is not None and _is_free(boxes[last : last + 1], room, taken, handles):
        return _as_box(boxes[last]), last
    hidden = overlaps(boxes, taken).sum(axis=1)
    outside = size[0] * size[1] - overlaps(boxes, np.array([room]))[:, 0]
    cost = hidden + 4.0 * outside + 2.0 * _REACHES - _TOWARDS * (_UNITS @ np.array(towards))
    if handles is not None and len(handles):
        cost += _HANDLE * (overlaps(boxes, handles) > 0.0).sum(axis=1)
    if last is not None:
        cost[last] -= _STAY
    best = int(np.argmin(cost))
    return _as_box(boxes[best]), best


def _is_free(box: Array, room: Box, taken: Array, handles: Array | None) -> bool:
    """True where a (1, 4) box hides nothing and lies in the room: then no other place is clearly better.

    Its cost is then 2 x 160 + 300 at most, less 900 for staying; any other's is at least 2 x 30 - 300.
    """
    left, top, right, bottom = box[0].tolist()
    if left < room[0] or top < room[1] or right > room[2] or bottom > room[3]:
        return False
    others = taken if handles is None else np.concatenate([taken, handles])
    apart = (others[:, :2] >= box[:, 2:]) | (others[:, 2:] <= box[:, :2])
    return bool(apart.any(axis=1).all())


def _as_box(row: Array) -> Box:
    left, top, right, bottom = row.tolist()
    return left, top, right, bottom


def overlaps(a: Array, b: Array) -> Array:
    """Return (n, m) areas that n boxes share with m boxes."""
    low = np.maximum(a[:, None, :2], b[None, :, :2])
    high = np.minimum(a[:, None, 2:], b[None, :, 2:])
    shared: Array = np.prod(np.clip(high - low, 0.0, None), axis=2)
    return shared


def nearest(box: Box, at: tuple[float, float]) -> tuple[float, float]:
    """Return the place on or in a box that is nearest to a point."""
    return min(max(at[0], box[0]), box[2]), min(max(at[1], box[1]), box[3])

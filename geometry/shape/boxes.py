"""What boxes with sides along the axes share; a box is left, top, right, bottom."""

from __future__ import annotations

import numpy as np

from geometry.compiled import compiled
from geometry.shape.curve import Array


def shared(boxes: Array, others: Array) -> Array:
    """Return (n, 2) of each of (n, 4) boxes: the sum of the areas shared with (m, 4) others; with how many.

    Boxes that only touch share nothing.
    """
    return _shared(np.ascontiguousarray(boxes, dtype=float), np.ascontiguousarray(others, dtype=float))


@compiled
def _shared(boxes: Array, others: Array) -> Array:
    out = np.zeros((len(boxes), 2))
    for n in range(len(boxes)):
        left, top, right, bottom = boxes[n, 0], boxes[n, 1], boxes[n, 2], boxes[n, 3]
        for m in range(len(others)):
            width = min(right, others[m, 2]) - max(left, others[m, 0])
            if width <= 0.0:
                continue
            height = min(bottom, others[m, 3]) - max(top, others[m, 1])
            if height > 0.0:
                out[n, 0] += width * height
                out[n, 1] += 1.0
    return out

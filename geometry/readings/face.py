"""The wheel seen from the street: where windows are open between spokes, and how much of each ring is metal.

The face lies in a plane square to the axle, x to the right and y up, its origin on the axle. A spoke is w(r)
wide along the arc, so it covers w / r of the turn; angles run counterclockwise from x.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from geometry.readings.solid import SpokeRegion
from geometry.shape.curve import Array, Flags

#: Edges of windows are drawn by points that lie no further apart along r, mm.
STEP_MM = 1.0
#: A gap between two spokes that is narrower than this is no window, rad.
_LEAST_GAP_RAD = 1e-6


def fill_ratios(spokes: SpokeRegion, low: float, high: float) -> Array:
    """Return (k, 2) rows of r and the share of the ring there that is metal, min(1, n w / (2 pi r)).

    r rises. Two rows of one radius are a step. Definition: design of the spoke region, `SpokeRegion`.
    """
    r, width = _sampled(spokes, low, high)
    return np.column_stack([r, np.minimum(1.0, spokes.count * width / (2.0 * math.pi * r))])


def windows(spokes: SpokeRegion, low: float, high: float, first_deg: float = 90.0) -> list[Array]:
    """Return the outlines of all windows between two radii, each (k, 2) of x and y in mm, counterclockwise.

    Args:
        spokes: their count and widths; a full disc has no windows.
        low: least radius at which a window may be open, mm.
        high: greatest such radius.
        first_deg: where the middle of the first spoke stands.
    """
    if spokes.count == 0 or high <= low:
        return []
    r, width = _sampled(spokes, low, high)
    half = width / (2.0 * r)
    pitch = 2.0 * math.pi / spokes.count
    is_open = pitch - 2.0 * half > _LEAST_GAP_RAD
    found: list[Array] = []
    for start, end in _runs(is_open):
        if end - start < 2:
            continue
        part, angle = r[start:end], half[start:end]
        left, right = angle, pitch - angle
        for k in range(spokes.count):
            turn = math.radians(first_deg) + k * pitch
            rising = _places(part, turn + left)
            falling = _places(part[::-1], turn + right[::-1])
            outer = _arc(part[-1], turn + left[-1], turn + right[-1])
            inner = _arc(part[0], turn + right[0], turn + left[0])
            found.append(np.concatenate([rising, outer, falling, inner]))
    return found


def _runs(flags: Flags) -> list[tuple[int, int]]:
    """Return start and end of each stretch of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], flags.astype(int), [0]])))
    return [(int(a), int(b)) for a, b in edges.reshape(-1, 2)]


def _sampled(spokes: SpokeRegion, low: float, high: float) -> tuple[Array, Array]:
    """Return radii and widths between two radii, exact at the named radii and before and after each step."""
    rows = spokes.widths
    ends = [(-1.0, rows[0][1]), *rows, (max(high, rows[-1][0]) + 1.0, rows[-1][1])]
    radii: list[Array] = []
    widths: list[Array] = []
    for (r0, w0), (r1, w1) in pairwise(ends):
        a, b = max(low, r0), min(high, r1)
        if b < a or r1 <= r0:
            continue
        if b == a and a not in (low, high):
            continue
        r = np.linspace(a, b, max(2, math.ceil((b - a) / STEP_MM) + 1)) if b > a else np.array([a])
        radii.append(r)
        widths.append(w0 + (w1 - w0) * (r - r0) / (r1 - r0))
    return np.concatenate(radii), np.concatenate(widths)


def _places(r: Array, angle: Array) -> Array:
    return np.column_stack([r * np.cos(angle), r * np.sin(angle)])


def _arc(r: float, start: float, end: float) -> Array:
    """Return points between, not with, the ends of an arc."""
    count = max(2, math.ceil(abs(end - start) * r / STEP_MM))
    return _places(np.full(count - 1, r), np.linspace(start, end, count + 1)[1:-1])

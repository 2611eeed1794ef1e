"""Exact stretches of metal on straight lines through a section.

Crossings come in pairs, also through vertices and past arcs that only touch (see geometry.shape.cut). Where
a line runs along an edge, the metal just beyond it decides: at greater r for lines along the axle, at greater
z for radial ones, to the left of any other.
"""

from __future__ import annotations

import math

import numpy as np

from geometry.compiled import compiled
from geometry.errors import GeometryError
from geometry.shape.curve import Array, Path
from geometry.shape.cut import ALONG_R, ALONG_Z, crosses, crossing_at, runs_across

Span = tuple[float, float]


@compiled
def metal_ends(runs: Array, level: float) -> Array:
    """Return (m,) where a line enters and leaves the metal, by turns, rising in v; m is even."""
    out = np.empty(len(runs))
    n = 0
    for k in range(len(runs)):
        if not crosses(runs, k, level):
            continue
        v, at = crossing_at(runs, k, level), n
        while at > 0 and out[at - 1] > v:
            out[at] = out[at - 1]
            at -= 1
        out[at] = v
        n += 1
    return out[:n]


def along_z(path: Path, r: float) -> list[Span]:
    """Return the intervals (z low, z high) of metal on the line of constant r, rising in z."""
    return _spans(runs_across(path.table, *ALONG_Z), r)


def along_r(path: Path, z: float) -> list[Span]:
    """Return the intervals (r low, r high) of metal on the line of constant z, rising in r."""
    return _spans(runs_across(path.table, *ALONG_R), z)


def spans(path: Path, levels: Array, axis: int) -> list[list[Span]]:
    """Return the intervals of metal on lines of constant r (axis 0, along z) or z (axis 1, along r), mm."""
    runs = runs_across(path.table, *(ALONG_Z if axis == 0 else ALONG_R))
    return [_spans(runs, level) for level in levels.tolist()]


def along(path: Path, place: tuple[float, float], direction: tuple[float, float]) -> list[Span]:
    """Return the intervals of metal on any line, as lengths in mm from a place along a direction, rising.

    Raises:
        GeometryError: the direction has no length.
    """
    length = math.hypot(*direction)
    if not length > 0.0:
        raise GeometryError("A line needs a direction; both its parts are zero.", place)
    z, r = direction[0] / length, direction[1] / length
    level, start = place[1] * z - place[0] * r, place[0] * z + place[1] * r
    found = _spans(runs_across(path.table, -r, z, z, r), level)
    return [(low - start, high - start) for low, high in found]


def _spans(runs: Array, level: float) -> list[Span]:
    places = metal_ends(runs, float(level)).tolist()
    return [(low, high) for low, high in zip(places[::2], places[1::2], strict=True) if high > low]

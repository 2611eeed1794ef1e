"""Exact stretches of metal on straight lines through a section.

Every piece is cut where it turns back across the line, so that each part crosses it once at most; a part
crosses where one end lies beyond the line and the other does not. Crossings therefore come in pairs, also
through vertices and past arcs that only touch. Where a line runs along an edge, the metal just beyond it
decides: at greater r for lines along the axle, at greater z for radial ones, to the left of any other.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.curve import Array, Path

Span = tuple[float, float]


def along_z(path: Path, r: float) -> list[Span]:
    """Return the intervals (z low, z high) of metal on the line of constant r, rising in z."""
    return spans(path, np.array([r]), 0)[0]


def along_r(path: Path, z: float) -> list[Span]:
    """Return the intervals (r low, r high) of metal on the line of constant z, rising in r."""
    return spans(path, np.array([z]), 1)[0]


def spans(path: Path, levels: Array, axis: int) -> list[list[Span]]:
    """Return the intervals of metal on lines of constant r (axis 0, along z) or z (axis 1, along r), mm."""
    ways = ((0.0, 1.0), (1.0, 0.0)) if axis == 0 else ((1.0, 0.0), (0.0, 1.0))
    return _spans(path, levels, *ways)


def along(path: Path, place: tuple[float, float], direction: tuple[float, float]) -> list[Span]:
    """Return the intervals of metal on any line, as lengths in mm from a place along a direction, rising.

    Raises:
        GeometryError: the direction has no length.
    """
    length = float(np.hypot(*direction))
    if not length > 0.0:
        raise GeometryError("A line needs a direction; both its parts are zero.", place)
    z, r = direction[0] / length, direction[1] / length
    level, start = place[1] * z - place[0] * r, place[0] * z + place[1] * r
    found = _spans(path, np.array([level]), (-r, z), (z, r))[0]
    return [(low - start, high - start) for low, high in found]


def _spans(
    path: Path, levels: Array, across: tuple[float, float], ahead: tuple[float, float]
) -> list[list[Span]]:
    """Return the intervals of v = x . ahead on each line u = x . across = level; unit ways."""
    first, last, centre, radius, side = _parts(path, across, ahead)
    u0, u1 = first[:, 0], last[:, 0]
    cells = np.flatnonzero((u0 > levels[:, None]) != (u1 > levels[:, None]))
    line, part = np.divmod(cells, len(u0))
    u = levels[line]
    share = (u - u0[part]) / (u1 - u0)[part]
    straight = first[part, 1] + share * (last[part, 1] - first[part, 1])
    off = u - centre[part, 0]
    half = np.sqrt(np.maximum(radius[part] ** 2 - off * off, 0.0))
    v = np.where(radius[part] > 0.0, centre[part, 1] + side[part] * half, straight)
    out: list[list[Span]] = [[] for _ in range(len(levels))]
    order = np.lexsort([v, line])
    places, lines = v[order].tolist(), line[order].tolist()
    for k in range(0, len(places), 2):
        if places[k + 1] > places[k]:
            out[lines[k]].append((places[k], places[k + 1]))
    return out


@lru_cache(maxsize=8)
def _parts(
    path: Path, across: tuple[float, float], ahead: tuple[float, float]
) -> tuple[Array, Array, Array, Array, Array]:
    """Return first, last and centre (k, 2) as (u, v), radius (k,), 0 if straight, and the side of the centre.

    The side (k,) says whether a round part lies at greater (+1) or smaller (-1) v than its centre. Kept:
    one frame asks for several lines through one path.
    """
    turn = np.array([across, ahead]).T
    first, last, centre = path.points @ turn, path.ends @ turn, path.centres @ turn
    chord = path.ends - path.points
    size = np.hypot(chord[:, 0], chord[:, 1]) * np.where(path.bulges > 0.0, 1.0, -1.0)
    middle = np.column_stack([chord[:, 1], -chord[:, 0]]) / size[:, None] @ turn
    radius = np.where(path.is_arc, path.radii, 0.0)
    # Half the sweep is 2 atan(bulge); an arc of 180 degrees at most turns back across u once at most.
    cosine = (1.0 - path.bulges**2) / (1.0 + path.bulges**2)
    back = np.flatnonzero(path.is_arc & (np.abs(middle[:, 0]) > cosine))
    summit = centre[back].copy()
    summit[:, 0] += np.sign(middle[back, 0]) * radius[back]
    side, end = np.sign(middle[:, 1]), last.copy()
    side[back], end[back] = np.sign(first[back, 1] - centre[back, 1]), summit
    return (
        np.concatenate([first, summit]),
        np.concatenate([end, last[back]]),
        np.concatenate([centre, centre[back]]),
        np.concatenate([radius, radius[back]]),
        np.concatenate([side, np.sign(last[back, 1] - centre[back, 1])]),
    )

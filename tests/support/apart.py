"""How far outlines of lines and arcs lie apart, by closed forms of its own: none of the program's are used.

An outline is rows of (z, r, bulge); bulge = tan(sweep / 4), + where the edge turns left.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from itertools import pairwise

Row = Sequence[float]


def edges(rows: Sequence[Row]) -> list[tuple[complex, complex, float]]:
    """Return the edges of a closed outline as start, end and bulge."""
    places = [complex(z, r) for z, r, *_ in rows]
    bulges = [row[2] if len(row) > 2 else 0.0 for row in rows]
    return list(zip(places, [*places[1:], places[0]], bulges, strict=True))


def circle(start: complex, end: complex, bulge: float) -> tuple[complex, float]:
    """Return centre and radius: the centre lies (1 - b^2) / 4b chords to the left of the chord's middle."""
    centre = (start + end) / 2 + 1j * (end - start) * (1.0 - bulge**2) / (4.0 * bulge)
    return centre, abs(start - centre)


def places(rows: Sequence[Row], count: int = 16) -> list[complex]:
    """Return places along an outline, `count` to an edge."""
    found = []
    for start, end, bulge in edges(rows):
        if not bulge:
            found += [start + (end - start) * k / count for k in range(count)]
            continue
        centre, _ = circle(start, end, bulge)
        sweep = 4.0 * math.atan(bulge)
        found += [centre + (start - centre) * cmath.exp(1j * sweep * k / count) for k in range(count)]
    return found


def to_edge(place: complex, start: complex, end: complex, bulge: float) -> float:
    """Return the distance of a place from an edge."""
    ends = min(abs(place - start), abs(place - end))
    if not bulge:
        share = ((place - start) / (end - start)).real
        return abs(((place - start) / (end - start)).imag) * abs(end - start) if 0.0 <= share <= 1.0 else ends
    centre, radius = circle(start, end, bulge)
    turn = cmath.phase((place - centre) / (start - centre)) * math.copysign(1.0, bulge)
    on_arc = turn % (2.0 * math.pi) <= 4.0 * math.atan(abs(bulge))
    return abs(abs(place - centre) - radius) if on_arc else ends


def apart(rows: Sequence[Row], other: Sequence[Row], count: int = 16) -> float:
    """Return the Hausdorff distance of two outlines, over places along both."""
    return max(
        min(to_edge(q, *edge) for edge in edges(b))
        for a, b in ((rows, other), (other, rows))
        for q in places(a, count)
    )


def polygon(rows: Sequence[Row], count: int = 64) -> list[tuple[float, float]]:
    """Return an outline as corners, arcs in chords."""
    found: list[tuple[float, float]] = []
    for start, end, bulge in edges(rows):
        stops = (
            places([(start.real, start.imag, bulge), (end.real, end.imag)], count)[:count]
            if bulge
            else [start]
        )
        found += [(q.real, q.imag) for q in stops]
    return found


def length(points: Sequence[complex]) -> float:
    """Return the length of a chain of places."""
    return sum(abs(b - a) for a, b in pairwise(points))

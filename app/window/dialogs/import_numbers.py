"""Where the numbers of several outlines stand in the import's picture: inside, and never on each other."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from PySide6.QtCore import QPointF, QRectF

from geometry.shape.curve import Array

#: Levels at which a place inside an outline is looked for.
_LEVELS = 15
#: Rings about a place on which a free spot is looked for.
_RINGS = 6


def number_places(polygons: Sequence[Array], apart: float) -> list[tuple[float, float]]:
    """Return a place inside each polygon: where it is widest and no other number's place is near.

    Args:
        polygons: (m, 2) corners each, pixels.
        apart: the least distance between two places, kept where it can be.
    """
    placed: list[tuple[float, float]] = []
    for polygon in polygons:
        corners = [(float(x), float(y)) for x, y in polygon]
        spots = [spot for _, spot in sorted(_inside(corners), reverse=True)] or corners[:1]
        free = (s for s in spots if all(math.dist(s, other) > apart for other in placed))
        placed.append(next(free, spots[0]))
    return placed


def number_spots(
    places: Sequence[tuple[float, float]], apart: float, room: QRectF, is_small: Sequence[bool]
) -> list[QPointF]:
    """Return where the numbers stand: on their places, or beside where one stands already.

    Args:
        places: inside the outlines, pixels.
        apart: the least distance between two numbers.
        room: they stand within this.
        is_small: for each outline whether a number would hide it.
    """
    taken: list[QPointF] = []
    for (x, y), small in zip(places, is_small, strict=True):
        place = QPointF(x, y)
        spots = list(_around(place, apart))[1 if small else 0 :]
        taken.append(next((s for s in spots if _is_free(s, taken, apart, room)), place))
    return taken


def _around(place: QPointF, apart: float) -> Iterator[QPointF]:
    """Yield a place and those on ever wider rings about it."""
    yield place
    for ring in range(1, _RINGS + 1):
        for turn in range(8 * ring):
            angle = math.tau * turn / (8 * ring)
            yield place + QPointF(math.cos(angle), math.sin(angle)) * (ring * apart)


def _is_free(spot: QPointF, taken: Sequence[QPointF], apart: float, room: QRectF) -> bool:
    edge = apart / 2.0
    # A hair less than the step of the rings, which rounding may fall short of.
    least = 0.99 * apart
    return room.adjusted(edge, edge, -edge, -edge).contains(spot) and all(
        math.hypot(spot.x() - t.x(), spot.y() - t.y()) >= least for t in taken
    )


def _inside(polygon: list[tuple[float, float]]) -> list[tuple[float, tuple[float, float]]]:
    """Return how wide the inside is at several levels, and the middle of each such stretch."""
    low, high = min(y for _, y in polygon), max(y for _, y in polygon)
    found = []
    for k in range(_LEVELS):
        level = low + (high - low) * (k + 0.5) / _LEVELS
        crossed = sorted(
            x0 + (x1 - x0) * (level - y0) / (y1 - y0)
            for (x0, y0), (x1, y1) in pairwise([*polygon, polygon[0]])
            if (y0 <= level) != (y1 <= level)
        )
        for start, end in zip(crossed[::2], crossed[1::2], strict=True):
            found.append((end - start, ((start + end) / 2.0, level)))
    return found

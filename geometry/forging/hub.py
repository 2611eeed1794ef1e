"""A wheel's outline closed at its hub: a blank is solid to the axle."""

from __future__ import annotations

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.curve import Indices, Path
from geometry.shape.section import ZONES, Outline, Zone

_BORE = ZONES.index(Zone.BORE)


def hub_closed(outline: Outline) -> tuple[Path, Indices, Indices]:
    """Return a wheel's path with the metal from its bore to the axle, and zone and side (n,) of each piece.

    The rectangle between the two ends of the bore is added; its faces take the zones beside the bore.

    Raises:
        GeometryError: no piece is a bore, or the bore is in several parts.
    """
    path, is_bore = outline.path, outline.zone == _BORE
    n = len(path)
    first = np.flatnonzero(is_bore & ~np.roll(is_bore, 1))
    if len(first) != 1:
        what = "has no bore" if not len(first) else f"has its bore in {len(first)} parts"
        raise GeometryError(f"The section {what}; name one run of edges from hub face to hub pad 'bore'.")
    start, count = int(first[0]), int(is_bore.sum())
    rest = (start + count + np.arange(n - count)) % n
    a, b = path.points[start], path.points[rest[0]]
    points = np.vstack([path.points[rest], a, (a[0], 0.0), (b[0], 0.0)])
    bulges = np.concatenate([path.bulges[rest], np.zeros(3)])
    zone = np.concatenate([outline.zone[rest], [outline.zone[rest[-1]], _BORE, outline.zone[rest[0]]]])
    side = np.concatenate([outline.side[rest], outline.side[rest[[-1, -1, 0]]]])
    return Path(points, bulges), zone.astype(np.intp), side.astype(np.intp)

"""The gap between a vertex or an edge and a stay-out shape, as a constraint needs it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.curve import Array, Path
from geometry.shape.distance import contains, nearest_of, pair
from geometry.shape.held import Constraint

#: Places along an edge that are looked at where it crosses a shape.
_ALONG = 17


@dataclass(frozen=True)
class Near:
    """How near something is.

    Attributes:
        gap_mm: exact outside each other; negative inside the shape.
        away: direction (z, r) in which the gap grows, of length 1.
        shares: how much of a shift of each vertex the nearest place takes.
    """

    gap_mm: float
    away: tuple[float, float]
    shares: tuple[float, ...]


def near(c: Constraint, rows: Array, shapes: Mapping[str, Sequence[Path]]) -> Near:
    """Return how near a vertex, or an edge, is to a shape.

    Args:
        c: the constraint, which names the shape and one or two vertices from 1.
        rows: (n, 4) of the outline.
        shapes: outlines by name, in the frame of the rows.

    Raises:
        GeometryError: there is no such shape.
    """
    paths = shapes.get(c.shape or "", ())
    if not paths:
        raise GeometryError(f'There is no stay-out shape called "{c.shape}", or it has a fault.')
    v = [number - 1 for number in c.vertices]
    if len(v) == 1:
        return min((_of_places(rows[v, :2], path, ((1.0,),)) for path in paths), key=lambda n: n.gap_mm)
    edge = Path(rows[v, :2].copy(), np.array([rows[v[0], 2], 0.0]))
    return min((_of_edge(edge, path) for path in paths), key=lambda n: n.gap_mm)


def _of_edge(edge: Path, path: Path) -> Near:
    fractions = np.linspace(0.0, 1.0, _ALONG)
    places = edge.at(np.zeros(_ALONG, dtype=np.intp), fractions)
    shares = tuple((1.0 - t, t) for t in fractions.tolist())
    best: Near | None = None
    for j in range(len(path.table)):
        gap, az, ar, bz, br = pair(edge.table, 0, path.table, j, True)
        if best is None or gap < best.gap_mm:
            if gap < 1e-9:
                return _of_places(places, path, shares)
            t = _share(edge, az, ar)
            best = Near(gap, ((az - bz) / gap, (ar - br) / gap), (1.0 - t, t))
    assert best is not None
    return best if not contains(path, places[:1])[0] else _of_places(places, path, shares)


def _share(edge: Path, z: float, r: float) -> float:
    start, end = edge.points[0], edge.points[1]
    along = end - start
    square = float(along @ along)
    return min(max(float(((z, r) - start) @ along) / square, 0.0), 1.0) if square > 0.0 else 0.0


def _of_places(places: Array, path: Path, shares: Sequence[tuple[float, ...]]) -> Near:
    """Return the nearest, or deepest, of several places."""
    every = np.arange(len(path.table), dtype=np.intp)
    gaps, at, _ = nearest_of(path, every, places)
    signs = np.where(contains(path, places), -1.0, 1.0)
    k = int(np.argmin(signs * gaps))
    gap = float(gaps[k])
    away = (places[k] - at[k]) * signs[k] / gap if gap > 1e-9 else np.array((1.0, 0.0))
    return Near(float(signs[k]) * gap, (float(away[0]), float(away[1])), shares[k])

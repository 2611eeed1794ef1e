"""Closed rings checked and written as the rows that are handed back."""

from __future__ import annotations

from collections.abc import Sequence

from app.files.readers.answer import AXLE_MM, ReadError, Row
from app.files.readers.limits import DRAWING
from app.files.readers.pieces import Piece, lowest_and_bounds

Bounds = tuple[float, float, float, float]

#: Largest side of a plausible brake or wheel section: below the first or above the second, the unit is
#: doubtful. Common practice, no source.
_SMALL_MM, _BIG_MM = 25.0, 1000.0


def rows_of(ring: Sequence[Piece], side: str) -> tuple[Row, ...]:
    """Return a counterclockwise ring as (z, r, bulge) rows; a rounding below the axle line is taken off."""
    return tuple((p.start[0], _on_axle(p.start[1]), p.bulge_on(side)) for p in ring)


def _on_axle(r: float) -> float:
    return 0.0 if -AXLE_MM <= r <= 0.0 else r


def bounds_of(loops: Sequence[Sequence[Row]], chains: Sequence[Sequence[Row]] = ()) -> Bounds:
    """Return the bounds of all loops and open chains, exact over arcs of loops; zeros where there is none.

    Raises:
        ReadError: they have too many points.
    """
    if sum(map(len, loops)) > DRAWING.points:
        raise ReadError(f"more than {DRAWING.points} points; thin the outline out or read one layer")
    found = [lowest_and_bounds(loop)[1] for loop in loops]
    for chain in chains:
        zs, rs = [z for z, _, _ in chain], [r for _, r, _ in chain]
        found.append((min(zs), max(zs), min(rs), max(rs)))
    if not found:
        return 0.0, 0.0, 0.0, 0.0
    lows, highs = [min(b[i] for b in found) for i in (0, 2)], [max(b[i] for b in found) for i in (1, 3)]
    return lows[0], highs[0], lows[1], highs[1]


def size_doubt(bounds: Bounds, unit: str) -> str:
    """Return what is doubtful about the size of an outline in the unit it states, empty where nothing is."""
    size = max(bounds[1] - bounds[0], bounds[3] - bounds[2])
    if not size or _SMALL_MM <= size <= _BIG_MM:
        return ""
    return f"with the unit taken as {unit} the outline is {size:.4g} mm large; is that the unit?"

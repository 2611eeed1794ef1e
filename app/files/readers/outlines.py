"""Closed rings checked and written as the rows that are handed back."""

from __future__ import annotations

from collections.abc import Sequence

from app.files.readers.answer import NOT_KNOWN, ReadError, Row
from app.files.readers.limits import DRAWING
from app.files.readers.pieces import Piece, lowest_and_bounds
from geometry.tolerances import LARGEST_MM

Bounds = tuple[float, float, float, float]

#: Places this little below the axle line are rounding of a place on it.
_AXLE_MM = 1e-9

#: Largest radius of a plausible half-section: below the first or above the second, the unit is doubtful.
#: Common practice, no source.
_SMALL_MM, _BIG_MM = 20.0, 700.0


def rows_of(ring: Sequence[Piece], side: str) -> tuple[Row, ...]:
    """Return a counterclockwise ring as (z, r, bulge) rows; a rounding below the axle line is taken off."""
    return tuple((p.start[0], _on_axle(p.start[1]), p.bulge_on(side)) for p in ring)


def _on_axle(r: float) -> float:
    return 0.0 if -_AXLE_MM <= r <= 0.0 else r


def checked_bounds(loops: Sequence[Sequence[Row]], unit: str) -> Bounds:
    """Return the bounds of all loops.

    Raises:
        ReadError: there is none, one reaches below the axle line or beyond the largest size, or they have
            too many points.
    """
    if sum(map(len, loops)) > DRAWING.points:
        raise ReadError(f"more than {DRAWING.points} points; thin the outline out or read one layer")
    found: list[Bounds] = []
    mm = "" if unit == NOT_KNOWN else " mm"
    for loop in loops:
        (z, r), bounds = lowest_and_bounds(loop)
        if r < -_AXLE_MM:
            raise ReadError(
                f"the outline reaches r = {r:.6g}{mm} at z = {z:.3f}, below the axle line; draw one half, "
                "z along the drawing's x and r along its y, from the axle line up"
            )
        if max(map(abs, bounds)) > LARGEST_MM:
            raise ReadError(
                f"the outline reaches {max(bounds, key=abs):.6g}{mm}, more than {LARGEST_MM:g}; check "
                "the unit and the drawing's origin"
            )
        found.append(bounds)
    if not found:
        raise ReadError("no closed outline in the file")
    lows, highs = [min(b[i] for b in found) for i in (0, 2)], [max(b[i] for b in found) for i in (1, 3)]
    return lows[0], highs[0], max(lows[1], 0.0), highs[1]


def size_warnings(bounds: Bounds, unit: str) -> list[str]:
    """Return what is doubtful about the size of an outline whose unit is taken as known."""
    if unit == NOT_KNOWN or _SMALL_MM <= bounds[3] <= _BIG_MM:
        return []
    return [f"the largest radius is {bounds[3]:.3f} mm with the unit taken as {unit}; is that the unit?"]

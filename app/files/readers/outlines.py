"""Closed rings checked and written as the rows that are handed back."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from app.files.readers.answer import AXLE_MM, NOT_KNOWN, UNITS, ReadError, ReadOutline, Request, Row
from app.files.readers.limits import DRAWING
from app.files.readers.pieces import Piece, lowest_and_bounds
from geometry.tolerances import STRAIGHT_BULGE

Bounds = tuple[float, float, float, float]

#: Largest side of a plausible brake or wheel section, and how far it reaches from the origin: below the first
#: or above the second, the unit is doubtful. Common practice, no source.
_SIZE_MM = (25.0, 1000.0)
_REACH_MM = (20.0, 1000.0)


def rows_of(ring: Sequence[Piece], side: str) -> tuple[Row, ...]:
    """Return a counterclockwise ring as (z, r, bulge) rows; a rounding below the axle line is taken off."""
    return tuple((p.start[0], _on_axle(p.start[1]), _bulge(p, side)) for p in ring)


def _bulge(p: Piece, side: str) -> float:
    bulge = p.bulge_on(side)
    return 0.0 if abs(bulge) <= STRAIGHT_BULGE else bulge


def _on_axle(r: float) -> float:
    return 0.0 if -AXLE_MM <= r <= 0.0 else r


def bounds_of(loops: Sequence[Sequence[Row]], chains: Sequence[Sequence[Row]] = ()) -> Bounds:
    """Return the bounds of all loops and open chains, exact over arcs of loops; zeros where there is none.

    Raises:
        ReadError: they have too many points.
    """
    if sum(map(len, loops)) > DRAWING.points:
        raise ReadError(f"more than {DRAWING.points} points; thin the outline out or read one layer")
    # The last row of a chain has no edge, so that closing it by a line adds no extreme.
    found = [lowest_and_bounds(rows)[1] for rows in (*loops, *chains)]
    if not found:
        return 0.0, 0.0, 0.0, 0.0
    lows, highs = [min(b[i] for b in found) for i in (0, 2)], [max(b[i] for b in found) for i in (1, 3)]
    return lows[0], highs[0], lows[1], highs[1]


def size_doubt(bounds: Bounds, unit: str) -> str:
    """Return what is doubtful about an outline in the unit it states, empty where nothing is.

    An outline that lies far from the drawing's origin, or all about it, is doubted only where another unit
    would put it where it belongs: origins are misplaced as often as units are.
    """
    size = max(bounds[1] - bounds[0], bounds[3] - bounds[2])
    reach = max(map(abs, bounds))
    in_file = {name: factor / UNITS[unit] for name, factor in UNITS.items()}
    fits_size = {name: f for name, f in in_file.items() if _is_within(size * f, _SIZE_MM)}
    fits = {name: f for name, f in fits_size.items() if _is_within(reach * f, _REACH_MM)}
    if not size or unit in fits or (unit in fits_size and not fits):
        return ""
    is_size = unit not in fits_size
    amount, what = (size, "is {:.4g} mm large") if is_size else (reach, "reaches {:.4g} mm from the origin")
    others = [f"{amount * f:.4g} mm with {name}" for name, f in (fits or fits_size).items()]
    other = f"; it would be {' or '.join(others)}" if others else ""
    return f"with the unit taken as {unit} the outline {what.format(amount)}{other}"


def _is_within(value: float, limits: tuple[float, float]) -> bool:
    return limits[0] <= value <= limits[1]


def in_plausible_unit(unit: str, request: Request, build: Callable[[str], ReadOutline]) -> ReadOutline:
    """Return what is built in a unit, or in the file's own unit where the stated one makes no plausible size.

    A unit that the user chose is kept, with a warning.

    Args:
        unit: that the user chose, else the one that the file states, a key of UNITS or not known.
        request: what is asked for.
        build: builds the answer with its lengths in mm, or for NOT_KNOWN in the file's own unit.
    """
    answer = build(unit)
    doubt = size_doubt(answer.bounds, unit) if unit != NOT_KNOWN else ""
    if not doubt:
        return answer
    if request.unit is not None:
        return replace(answer, warnings=(*answer.warnings, doubt))
    return replace(build(NOT_KNOWN), unit=NOT_KNOWN, unit_doubt=doubt)

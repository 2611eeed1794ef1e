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

#: A hose, a pipe or a bleed screw cut across may be as small as this, mm.
_LEAST_MM = 5.0

#: A drawing that reaches this many times its own size from its origin is laid anywhere on its sheet.
_LAID_ANYWHERE = 4.0


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


def size_doubt(bounds: Bounds, unit: str, unit_mm: float | None = None) -> str:
    """Return what is doubtful about an outline in the unit it states, empty where nothing is.

    An outline that reaches many times its size from the drawing's origin is laid anywhere on its sheet: that
    says nothing of the unit. One as small as a hose is doubted where another unit makes it a brake.

    Args:
        bounds: of the outline, mm.
        unit: by name.
        unit_mm: millimetres in it, where it is no key of UNITS.
    """
    size, reach = _size_and_reach(bounds)
    own = UNITS[unit] if unit_mm is None else unit_mm
    others = {name: factor / own for name, factor in UNITS.items() if factor != own}
    fits_size = {name: f for name, f in others.items() if _is_within(size * f, _SIZE_MM)}
    fits = {name: f for name, f in fits_size.items() if _is_within(reach * f, _REACH_MM)}
    is_size, is_reach = _is_within(size, _SIZE_MM), _is_within(reach, _REACH_MM)
    is_placed_in_another = any(
        size * f >= _LEAST_MM and _is_within(reach * f, _REACH_MM) for f in others.values()
    )
    is_free = is_laid_anywhere(bounds) and not is_placed_in_another
    if not size or (is_size and (is_reach or is_free)):
        return ""
    if _is_small(size) and is_reach and not fits:
        return ""
    amount, what = (reach, "reaches {:.4g} mm from the origin") if is_size else (size, "is {:.4g} mm large")
    readings = [f"{amount * f:.4g} mm with {name}" for name, f in (fits or fits_size).items()]
    other = f"; it would be {' or '.join(readings)}" if readings else ""
    return f"with the unit taken as {unit} the outline {what.format(amount)}{other}"


def is_laid_anywhere(bounds: Bounds) -> bool:
    """Return True for what reaches too far from its origin, and many times its own size."""
    size, reach = _size_and_reach(bounds)
    return reach > max(_REACH_MM[1], _LAID_ANYWHERE * size)


def _size_and_reach(bounds: Bounds) -> tuple[float, float]:
    return max(bounds[1] - bounds[0], bounds[3] - bounds[2]), max(map(abs, bounds))


def _is_small(size: float) -> bool:
    return _LEAST_MM <= size < _SIZE_MM[0]


def _is_within(value: float, limits: tuple[float, float]) -> bool:
    return limits[0] <= value <= limits[1]


def in_plausible_unit(
    unit: str, request: Request, build: Callable[[str], ReadOutline], unit_mm: float | None = None
) -> ReadOutline:
    """Return what is built in a unit, or in the file's own unit where the stated one makes no plausible size.

    A unit that the user chose is kept, with a warning.

    Args:
        unit: that the user chose, else the one that the file states, a key of UNITS or not known.
        request: what is asked for.
        build: builds the answer with its lengths in mm, or for NOT_KNOWN in the file's own unit.
        unit_mm: millimetres in the file's own unit, where it is no key of UNITS.
    """
    answer = build(unit)
    doubt = size_doubt(answer.bounds, unit, unit_mm) if unit != NOT_KNOWN else ""
    size, _ = _size_and_reach(answer.bounds)
    if unit != NOT_KNOWN and not doubt and _is_small(size):
        small = f"the outline is only {size:.4g} mm large: is it a part on its own, and the unit {unit}?"
        return replace(answer, warnings=(*answer.warnings, small))
    if not doubt:
        return answer
    if request.unit is not None:
        return replace(answer, warnings=(*answer.warnings, doubt))
    return replace(build(NOT_KNOWN), unit=NOT_KNOWN, unit_doubt=doubt)

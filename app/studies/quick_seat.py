"""The seat of greatest least spare stock in some ten readings, for studies that seat hundreds of wheels.

`seating.py` lets the next tightest side decide where the tightest does not hang on the place; here the
tightest alone decides. Every reading bounds all other places from above: slid along, a place of the skin has
no more stock than its distance from the one piece of the blank's skin that was nearest. The place of the
highest bound is read next, until no bound is higher than what was read by more than `FOUND_MM`; the best of
those read is then finished as in `seating.py`.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from app.studies.seating import finished, spare_mm
from geometry.readings.measure import stock_rows
from geometry.readings.rows import Held, StockRow
from geometry.shape.curve import Path
from geometry.shape.section import Outline

Array = NDArray[np.float64]

#: Next to the place the least spare is the greatest there is; no place elsewhere has more by this and half a
#: step more, mm.
FOUND_MM = 0.03
#: Places are this far apart, mm.
STEP_MM = 0.02
#: More readings are not made; what was read then is true, but a better place may exist.
MOST_READINGS = 120
#: A depth outside the blank is read to this, mm.
_DEPTH_MM = 0.02


def quick_seat(outline: Outline, held: Held, blank: Path) -> tuple[float, tuple[StockRow, ...]]:
    """Return the seat and its stock rows, the least to spare first.

    Args:
        outline: of the wheel, mounting face at z 0.
        held: rules and skin; its blank is not looked at.
        blank: what can be used of it, in its own frame, seat 0.
    """
    z0, z1, _, _ = outline.path.bounds
    low, high = blank.bounds[:2]
    # Beyond these the two do not even overlap.
    seats = np.arange(z0 - high, z1 - low + STEP_MM, STEP_MM)
    bound = np.full(len(seats), np.inf)
    best: tuple[float, float, tuple[StockRow, ...]] = (0.0, (z0 + z1 - low - high) / 2.0, ())
    for count in range(MOST_READINGS):
        seat = best[1] if count == 0 else _highest(seats, bound)
        rows = rows_at(outline, held, blank, seat)
        if not rows:
            return seat, rows
        if count == 0 or spare_mm(rows[0]) > best[0]:
            best = spare_mm(rows[0]), seat, rows
        bound = np.minimum(bound, _bound(rows, blank, held.skin_mm, seat, seats))
        # What was read is read, to rounding, and is not read again.
        bound[np.abs(seats - seat) < STEP_MM / 2.0] = spare_mm(rows[0])
        open_ = bound > best[0] + FOUND_MM
        seats, bound = seats[open_], bound[open_]
        if not len(seats):
            break
    return finished(lambda place: rows_at(outline, held, blank, place), best[1], best[2], held.skin_mm)


def rows_at(outline: Outline, held: Held, blank: Path, seat_mm: float) -> tuple[StockRow, ...]:
    """Return the stock of a wheel in a blank at a seat, the least to spare first."""
    return tuple(
        sorted(stock_rows(outline, replace(held, blank=blank.moved(dz=seat_mm), usable=None)), key=spare_mm)
    )


def _highest(seats: Array, bound: Array) -> float:
    """Return the middle of the places that share the highest bound."""
    highest = np.flatnonzero(bound >= bound.max() - 1e-9)
    return float(seats[highest[len(highest) // 2]])


def _bound(rows: tuple[StockRow, ...], blank: Path, skin_mm: float, seat: float, seats: Array) -> Array:
    """Return what the least spare is not above, at each seat."""
    off = blank.off_axle & ~blank.is_arc
    starts, ends = blank.points[off], blank.ends[off]
    bound = np.full(len(seats), np.inf)
    for row in rows:
        taken = row.least_mm - spare_mm(row)  # what the rule asks
        if row.least_mm + skin_mm <= 0.0:
            way = np.abs(seats - seat) + row.least_mm - taken + _DEPTH_MM
        else:
            start, end = _piece(starts, ends, np.array(row.at_blank) - (seat, 0.0))
            way = _distance(row.at[0] - seats, row.at[1], start, end) - skin_mm - taken
        np.minimum(bound, way, out=bound)
    return bound


def _piece(starts: Array, ends: Array, place: Array) -> tuple[Array, Array]:
    """Return the straight piece that a place lies on, or the place twice where it lies on none."""
    along = ends - starts
    length = np.maximum((along * along).sum(axis=1), 1e-12)
    t = np.clip(((place - starts) * along).sum(axis=1) / length, 0.0, 1.0)
    away = np.hypot(*(starts + t[:, None] * along - place).T) if len(starts) else np.array([np.inf])
    k = int(np.argmin(away))
    return (starts[k], ends[k]) if away[k] < 1e-6 else (place, place)


def _distance(z: Array, r: float, start: Array, end: Array) -> Array:
    """Return the distance of places of one radius from a straight piece."""
    along = end - start
    length = float(along @ along)
    from_z, from_r = z - start[0], r - start[1]
    t = np.clip((from_z * along[0] + from_r * along[1]) / length, 0.0, 1.0) if length > 1e-12 else 0.0
    return np.asarray(np.hypot(from_z - t * along[0], from_r - t * along[1]))

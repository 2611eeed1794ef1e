"""Where a wheel sits best in its blank: slid along the axle to the place of greatest least spare stock.

The least spare changes by no more than the way slid, so that halving intervals finds the best place of all,
not the nearest good one. Where a radial side is the tightest it is so over a stretch; there the next tightest
decides, then the one after it. The place found is then finished: what a side gains along the axle is known
from the direction to the blank, and where two opposite sides come out equal is where their lines meet.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.fit import hold
from geometry.errors import GeometryError
from geometry.readings.measure import stock_rows
from geometry.readings.rows import StockRow
from geometry.shape.section import Outline, build

#: The place is found to this, mm; depths outside the blank are read to 0.01.
_FOUND_MM = 0.005

#: A place is finished until no side promises more than this, mm; slid by no more than _REACH_MM at a time.
_EXACT_MM, _REACH_MM = 1e-8, 0.25

#: Readings that finish a place, at most; what was read last is true, but a better place may be next to it.
_MOST_FINISHING = 12

#: A side that changes by a lesser share of the way slid does not hang on the place.
_HANGS = 0.02

#: How many of the tightest sides decide, one after the other.
_DECIDE = 12

Array = NDArray[np.float64]
RowsAt = Callable[[float], tuple[StockRow, ...]]


@dataclass(frozen=True)
class Seating:
    """Where a wheel sits best in its blank.

    Attributes:
        seat_mm: z of the blank's own zero in the wheel's frame.
        rows: stock at that place, the least to spare first.
        before: the same where the wheel sits now.
    """

    seat_mm: float
    rows: tuple[StockRow, ...]
    before: tuple[StockRow, ...]

    @property
    def tightest(self) -> tuple[StockRow, ...]:
        """The tightest side, and the tightest that loses where it gains along the axle, where there is one.

        Where the tightest does not hang on the place, the second is the tightest that does.
        """
        first, along = self.rows[0], _gain(self.rows[0])
        other = next((row for row in self.rows[1:] if (g := _gain(row)) and g * along <= 0.0), None)
        return (first,) if other is None else (first, other)


def spare_mm(row: StockRow) -> float:
    """Return what a side has to spare; without a rule all of its stock."""
    return row.least_mm if row.spare_mm is None else row.spare_mm


def _gain(row: StockRow) -> float:
    """Return what a side gains for each mm that the blank is slid outboard; 0 where it is next to nothing."""
    gain = _slope(row, 0.0)
    return gain if abs(gain) > _HANGS else 0.0


def _slope(row: StockRow, skin_mm: float) -> float:
    """Return what a side gains for each mm that the blank is slid outboard; 0 where skin and blank meet."""
    z, r = (there - here for there, here in zip(row.at_blank, row.at, strict=True))
    way = math.hypot(z, r)
    # The skin of the blank is taken off the distance, whose sign says on which side of the outline it is.
    return math.copysign(1.0, row.least_mm + skin_mm) * z / way if way > 0.0 else 0.0


def seated(project: Project, wheel: Wheel) -> Seating:
    """Return the best seat of a wheel in its blank.

    Raises:
        GeometryError: the wheel names no blank, or one of them has no outline.
    """
    if wheel.blank is None:
        raise GeometryError(f"Wheel '{wheel.name}' names no blank; choose or draw one.")
    built = build(wheel.section)
    if not isinstance(built, Outline):
        raise GeometryError(f"Wheel '{wheel.name}': {built[0].message}", built[0].place)
    held = hold(project, replace(wheel, clears=(), spacer_mm=0.0))
    if isinstance(held, tuple):
        raise GeometryError(held[0].message, held[0].place)
    assert held.blank is not None

    def rows_at(seat: float) -> tuple[StockRow, ...]:
        return tuple(sorted(stock_rows(built, held.with_blank_moved(seat - wheel.seat_mm)), key=spare_mm))

    z0, z1, _, _ = built.path.bounds
    low, high = (held.blank.bounds[k] - wheel.seat_mm for k in (0, 1))
    # Beyond these the two do not even overlap.
    best = _best(rows_at, z0 - high, z1 - low)
    best, rows = finished(rows_at, best, rows_at(best), held.skin_mm)
    hanging = frozenset((row.zone, row.side) for row in rows if abs(_slope(row, held.skin_mm)) > _HANGS)
    best, rows = finished(rows_at, best, rows, held.skin_mm, hanging)
    return Seating(best, rows, rows_at(wheel.seat_mm))


def finished(
    rows_at: RowsAt,
    seat: float,
    rows: tuple[StockRow, ...],
    skin_mm: float,
    only: frozenset[tuple[str, str]] | None = None,
) -> tuple[float, tuple[StockRow, ...]]:
    """Return the best place next to a good one, and its rows: exact where two opposite sides decide.

    Each side is taken for a straight line over the way slid, which it is against a straight piece of blank;
    the place where the least of all lines is greatest is read next. A side outside the blank is read to
    0.01 mm only: there the place is left as it is.

    Args:
        rows_at: the rows of a place, the least to spare first.
        seat: a good place.
        rows: its rows.
        skin_mm: of the blank, taken off the distances that were read.
        only: zones and sides that decide, while the tightest of all loses nothing; None for all.
    """

    def deciding(found: tuple[StockRow, ...]) -> list[StockRow]:
        return [row for row in found if only is None or (row.zone, row.side) in only]

    if not deciding(rows) or rows[0].least_mm + skin_mm <= 0.0:
        return seat, rows
    floor = spare_mm(rows[0])
    beyond: Array = np.empty((0, 2))
    for _ in range(_MOST_FINISHING):
        now = spare_mm(deciding(rows)[0])
        by, promised = _top(np.vstack([_lines(deciding(rows), skin_mm, 0.0), beyond]))
        if promised < now + _EXACT_MM:
            break
        there = rows_at(seat + by)
        lines = _lines(deciding(there), skin_mm, by)
        if spare_mm(there[0]) >= floor - _EXACT_MM and spare_mm(deciding(there)[0]) > now:
            # Lines of the place that was left still hold on its side.
            beyond = _lines(deciding(rows), skin_mm, -by)
            seat, rows = seat + by, there
        else:
            beyond = lines
    return seat, rows


def _lines(rows: list[StockRow], skin_mm: float, by: float) -> Array:
    """Return (n, 2): spare at way 0 and gain a mm of the sides that were read at a way, mm."""
    lines = np.array([(spare_mm(row), _slope(row, skin_mm)) for row in rows])
    lines[:, 0] -= by * lines[:, 1]
    return lines


def _top(lines: Array) -> tuple[float, float]:
    """Return the way within reach at which the least of lines (spare, gain) is greatest, and that least."""
    # No other comes down to the tightest within reach.
    spares, gains = lines[lines[:, 0] <= lines[:, 0].min() + 2.0 * _REACH_MM].T
    apart = gains[:, None] - gains
    meets = np.divide(spares - spares[:, None], apart, out=np.zeros_like(apart), where=np.abs(apart) > 1e-9)
    ways = np.array([0.0, -_REACH_MM, _REACH_MM, *meets[np.abs(meets) < _REACH_MM]])
    least = (spares + ways[:, None] * gains).min(axis=1)
    k = int(np.argmax(least))
    return float(ways[k]), float(least[k])


def _best(rows_at: RowsAt, low: float, high: float) -> float:
    """Return the place where the tightest side has most to spare, then the next, then the one after it."""
    known: dict[float, list[float]] = {}

    def spares(seat: float) -> list[float]:
        if seat not in known:
            known[seat] = [spare_mm(row) for row in rows_at(seat)]
        return known[seat]

    floors: list[float] = []
    best = (low + high) / 2.0
    for rank in range(min(_DECIDE, len(spares(best)))):
        # The k-th smallest of values that change by the way slid at most changes by that at most, too.
        best, most = _highest(spares, low, high, rank, floors, best)
        floors.append(most - 2.0 * _FOUND_MM)
    return best


def _highest(
    spares: Callable[[float], list[float]],
    low: float,
    high: float,
    rank: int,
    floors: list[float],
    start: float,
) -> tuple[float, float]:
    """Return where the side of a rank has most to spare while those before it keep their floors."""
    best, most = start, spares(start)[rank]
    waiting = [(low, high)]
    while waiting:
        a, b = waiting.pop()
        middle, half = (a + b) / 2.0, (b - a) / 2.0
        there = spares(middle)
        if all(s >= floor for s, floor in zip(there, floors, strict=False)) and there[rank] > most:
            best, most = middle, there[rank]
        may_keep = all(s + half >= floor for s, floor in zip(there, floors, strict=False))
        if half > _FOUND_MM / 2.0 and may_keep and there[rank] + half > most + _FOUND_MM:
            waiting += [(a, middle), (middle, b)]
    return best, most

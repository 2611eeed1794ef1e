"""Where a wheel sits best in its blank: slid along the axle to the place of greatest least spare stock.

The least spare changes by no more than the way slid, so that halving intervals finds the best place of all,
not the nearest good one. Where a radial side is the tightest it is so over a stretch; there the next tightest
decides, then the one after it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.fit import hold
from geometry.errors import GeometryError
from geometry.readings.measure import stock_rows
from geometry.readings.rows import StockRow
from geometry.shape.section import Outline, build

#: The place is found to this, mm; depths outside the blank are read to 0.01.
_FOUND_MM = 0.005

#: A side that changes by a lesser share of the way slid does not hang on the place.
_HANGS = 0.02

#: How many of the tightest sides decide, one after the other.
_DECIDE = 12


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
    z, r = (there - here for there, here in zip(row.at_blank, row.at, strict=True))
    way = math.hypot(z, r)
    gain = math.copysign(z / way, z * row.least_mm) if way > 0.0 else 0.0
    return gain if abs(gain) > _HANGS else 0.0


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
    return Seating(best, rows_at(best), rows_at(wheel.seat_mm))


def _best(rows_at: Callable[[float], tuple[StockRow, ...]], low: float, high: float) -> float:
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

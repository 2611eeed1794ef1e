"""Readings of all kinds as rows alike: what each reads, needs, has to spare, and which is worst."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from geometry.readings.measure import GapRow, Measurements, NamedReading, Place, StockRow, WallRow
from geometry.readings.rules import STATES, State
from geometry.readings.stack import StackRow

AnyRow = GapRow | WallRow | StockRow | NamedReading | StackRow

#: Walls are read lip first, then where wheels are thinnest.
_WALL_ORDER = ("outer lip", "inner lip", "barrel", "well", "outer seat", "inner seat", "shoulder")


#: Of a state among all of them; what is not judged comes last.
_PLACE: dict[State | None, int] = {None: len(STATES), **{state: k for k, state in enumerate(STATES)}}


#: The worst three rows that were found last, and of what: of one state the window asks more than once.
_WORST: dict[str, tuple[Measurements, Sequence[AnyRow], list[AnyRow]]] = {}


def rows_of(found: Measurements) -> list[AnyRow]:
    """Return the rows of all groups in reading order."""
    return [*found.gap, *found.stock, *found.lip, *found.wall, *found.hub]


def walls_in_order(walls: Iterable[WallRow]) -> list[WallRow]:
    """Return walls as they are read, lip first."""
    last = len(_WALL_ORDER)
    return sorted(walls, key=lambda row: _WALL_ORDER.index(row.zone) if row.zone in _WALL_ORDER else last)


def value_of(row: AnyRow) -> float:
    """Return what a row reads, in its unit; not a number where there is no reading."""
    if isinstance(row, NamedReading):
        return row.value
    return row.worst_mm if isinstance(row, StackRow) else row.least_mm


def required_of(row: AnyRow) -> float | None:
    """Return what a row's rule needs, or None without a rule."""
    return row.required if isinstance(row, NamedReading) else row.required_mm


def spare_of(row: AnyRow) -> float | None:
    """Return what a row has to spare, or None without a rule."""
    return row.spare if isinstance(row, NamedReading) else row.spare_mm


def place_of(row: AnyRow) -> Place | None:
    """Return where a row was read on the wheel, or None where it has no place."""
    if isinstance(row, NamedReading):
        return row.place
    return row.at_wheel if isinstance(row, GapRow | StackRow) else row.at


def rank(row: AnyRow) -> tuple[int, bool, float]:
    """Return a key that sorts rows, worst first.

    Rows go by state, from touching to clear, then by what they have to spare; within a state those without a
    number to keep follow, least reading first. Rows without a state come last.
    """
    spare = spare_of(row)
    number = value_of(row) if spare is None else spare
    return _PLACE[row.state], spare is None, number if math.isfinite(number) else math.inf


def worst_three(found: Measurements, road: Sequence[AnyRow] = ()) -> list[AnyRow]:
    """Return the three worst of the judged rows of all groups and of the worst state, worst first."""
    last = _WORST.get("three")
    if last is None or last[0] is not found or last[1] is not road:
        rows = [*rows_of(found), *road]
        places = [_PLACE[row.state] for row in rows]
        # The state comes first: a row of a better state than the third's, or of none, is not ranked.
        third = min(max(sorted(places)[:3], default=0), len(STATES) - 1)
        three = sorted([row for row, k in zip(rows, places, strict=True) if k <= third], key=rank)[:3]
        last = _WORST["three"] = found, road, three
    return [*last[2]]

"""All live readings of one wheel in one call.

`measure` takes a built outline and what it is held against, and gives every reading or none: rows are
complete, a zone without a reading has no row, and nothing is carried over from an earlier call.
"""

from __future__ import annotations

import math
from functools import lru_cache

from geometry.readings.drawn import drawn_of
from geometry.readings.gap import least_by_zone
from geometry.readings.gap_rows import gap_rows
from geometry.readings.hub import hub_readings
from geometry.readings.missing import missing_metal
from geometry.readings.named import named_readings
from geometry.readings.questions import questions
from geometry.readings.rows import (
    KEPT_ROWS,
    BlankReading,
    GapRow,
    Held,
    Measurements,
    NamedReading,
    Place,
    Ring,
    StockRow,
    WallRow,
)
from geometry.readings.rules import State, judge, worst
from geometry.readings.solid import Solid, solid, volume_mm3
from geometry.readings.wall import walls
from geometry.shape.section import ZONES, Outline, Side, Zone

__all__ = [
    "BlankReading",
    "GapRow",
    "Held",
    "Measurements",
    "NamedReading",
    "Place",
    "Ring",
    "StockRow",
    "WallRow",
    "measure",
]

_SIDES = tuple(Side)
#: Zone and side by the number under which their stock is read.
_PLACES = tuple((zone, side) for zone in ZONES for side in _SIDES)


def measure(outline: Outline, held: Held) -> Measurements:
    """Return every reading of a wheel's outline (hub frame) held against shapes, rules and blank.

    Raises:
        GeometryError: the spoke cuts do not part the section.
    """
    body = solid(outline.path, held.density_kg_m3, held.spokes, held.holes)
    gap = gap_rows(outline, held)
    wall = _wall_rows(outline, held)
    stock = stock_rows(outline, held)
    lip = named_readings(outline, held.rim, held.spokes, [p for _, paths in held.shapes for p in paths])
    hub, asked = hub_rows(outline, held)
    asked = (*questions(outline, held, gap, wall, stock), *asked)
    rows: list[GapRow | WallRow | StockRow | NamedReading] = [*gap, *wall, *stock, *hub]
    states = {row.state for row in rows if row.state is not None}
    if asked:
        states.add(State.NOT_KNOWN)
    return Measurements(
        gap, wall, stock, body, _blank_reading(outline, held, body, stock), lip, hub, asked, worst(states)
    )


def hub_rows(outline: Outline, held: Held) -> tuple[tuple[NamedReading, ...], tuple[str, ...]]:
    """Return the readings of hub and fixing, and what keeps them from being known."""
    if held.hub is None:
        return (), ()
    rule = held.rules.seat_land_mm if held.rules is not None else None
    drawn = drawn_of(outline)
    pad = drawn.of(Zone.HUB_PAD)
    return hub_readings(
        outline.path,
        held.fixing,
        held.hub,
        spacer_mm=held.spacer_mm,
        seat_land_rule_mm=rule,
        # Whatever its zone is called, the narrowest place is what the spigot must pass.
        drawn_bore_mm=2.0 * drawn.skin.r_low,
        drawn_pad_mm=None if pad is None else 2.0 * pad.r_high,
        rings=held.rings,
        coating=held.coating,
    )


# Wall


def _wall_rows(outline: Outline, held: Held) -> tuple[WallRow, ...]:
    rules = held.rules
    name = rules.name if rules is not None else None
    rows = []
    for k, *read in walls(outline):
        zone = ZONES[k]
        rule = rules.for_wall(zone) if rules is not None else None
        if rule is None:
            rows.append(_wall_row(zone, *read))
        else:
            rows.append(_wall_row(zone, *read, rule.required_mm, rule.reserve_mm, name))
    return tuple(rows)


@lru_cache(maxsize=KEPT_ROWS)
def _wall_row(
    zone: Zone,
    least_mm: float,
    gauge_mm: float,
    at: Place,
    across: Place,
    required_mm: float | None = None,
    reserve_mm: float = 0.0,
    rules: str | None = None,
) -> WallRow:
    """Return a row, of equal readings the same object; what its rule asks is left out where there is none."""
    words = str(zone)
    if required_mm is None:
        return WallRow(words, least_mm, gauge_mm, None, None, None, at, across, None)
    spare = least_mm - required_mm
    return WallRow(words, least_mm, gauge_mm, required_mm, spare, judge(spare, reserve_mm), at, across, rules)


# Stock and blank


def stock_rows(outline: Outline, held: Held) -> tuple[StockRow, ...]:
    """Return the least stock between skin and blank by zone and side; none without a blank."""
    usable = held.stock_path
    if usable is None:
        return ()
    key = outline.zone * len(_SIDES) + outline.side
    found, _ = least_by_zone(outline.path.table, key, outline.skin, usable.table, usable.off_axle, True)
    rules, skin_mm = held.rules, held.skin_mm
    name = rules.name if rules is not None else None
    there = (found[:, 0] < math.inf).nonzero()[0]
    rows = []
    for k, (least, z, r, blank_z, blank_r) in zip(there.tolist(), found[there].tolist(), strict=True):
        zone, side = _PLACES[k]
        read = zone, side, least - skin_mm, (z, r), (blank_z, blank_r)
        rule = rules.for_stock(zone) if rules is not None else None
        if rule is None:
            rows.append(_stock_row(*read))
        else:
            rows.append(_stock_row(*read, rule.required_mm, rule.reserve_mm, name))
    return tuple(rows)


@lru_cache(maxsize=KEPT_ROWS)
def _stock_row(
    zone: Zone,
    side: Side,
    least_mm: float,
    at: Place,
    at_blank: Place,
    required_mm: float | None = None,
    reserve_mm: float = 0.0,
    rules: str | None = None,
) -> StockRow:
    """Return a row, of equal readings the same object; what its rule asks is left out where there is none."""
    where = str(zone), str(side)
    if required_mm is None:
        return StockRow(*where, least_mm, None, None, None, at, at_blank, None)
    spare = least_mm - required_mm
    return StockRow(*where, least_mm, required_mm, spare, judge(spare, reserve_mm), at, at_blank, rules)


def _blank_reading(
    outline: Outline, held: Held, body: Solid, stock: tuple[StockRow, ...]
) -> BlankReading | None:
    usable = held.stock_path
    if held.blank is None or usable is None:
        return None
    mass = volume_mm3(held.blank) * held.density_kg_m3 * 1e-9
    area = volume = 0.0
    if any(row.least_mm < 0.0 for row in stock):
        area, volume = missing_metal(outline.path, usable, held.skin_mm)
    return BlankReading(held.blank_name, mass, mass - body.mass_kg, mass / body.mass_kg, area, volume)

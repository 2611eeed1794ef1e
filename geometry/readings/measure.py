"""All live readings of one wheel in one call.

`measure` takes a built outline and what it is held against, and gives every reading or none: rows are
complete, a zone without a reading has no row, and nothing is carried over from an earlier call.
"""

from __future__ import annotations

from geometry.readings.gap import gaps
from geometry.readings.gap_rows import gap_rows
from geometry.readings.hub import hub_readings
from geometry.readings.missing import missing_metal
from geometry.readings.named import named_readings
from geometry.readings.questions import questions
from geometry.readings.rows import (
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
_BRAKE = _SIDES.index(Side.BRAKE)


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
    judged = [
        *(r.state for r in gap),
        *(r.state for r in wall),
        *(r.state for r in stock),
        *(r.state for r in hub),
    ]
    states = [state for state in judged if state is not None]
    if asked:
        states.append(State.NOT_KNOWN)
    return Measurements(
        gap, wall, stock, body, _blank_reading(outline, held, body, stock), lip, hub, asked, worst(states)
    )


def hub_rows(outline: Outline, held: Held) -> tuple[tuple[NamedReading, ...], tuple[str, ...]]:
    """Return the readings of hub and fixing, and what keeps them from being known."""
    if held.hub is None:
        return (), ()
    rule = held.rules.seat_land_mm if held.rules is not None else None
    # Whatever its zone is called, the narrowest place is what the spigot must pass.
    bore = 2.0 * float(outline.path.points[outline.skin][:, 1].min())
    pad = outline.path.points[outline.zone == ZONES.index(Zone.HUB_PAD)][:, 1]
    return hub_readings(
        outline.path,
        held.fixing,
        held.hub,
        spacer_mm=held.spacer_mm,
        seat_land_rule_mm=rule,
        drawn_bore_mm=bore,
        drawn_pad_mm=2.0 * float(pad.max()) if len(pad) else None,
        rings=held.rings,
        coating=held.coating,
    )


# Wall


def _wall_rows(outline: Outline, held: Held) -> tuple[WallRow, ...]:
    rows = []
    for f in walls(outline):
        zone = ZONES[f.zone]
        rule = held.rules.for_wall(zone) if held.rules is not None else None
        spare = None if rule is None else f.least_mm - rule.required_mm
        rows.append(
            WallRow(
                zone=str(zone),
                least_mm=f.least_mm,
                gauge_mm=f.gauge_mm,
                required_mm=None if rule is None else rule.required_mm,
                spare_mm=spare,
                state=None if rule is None else judge(spare, rule.reserve_mm),
                at=f.at,
                across=f.across,
                rule=None if rule is None or held.rules is None else held.rules.name,
            )
        )
    return tuple(rows)


# Stock and blank


def stock_rows(outline: Outline, held: Held) -> tuple[StockRow, ...]:
    """Return the least stock between skin and blank by zone and side; none without a blank."""
    usable = held.stock_path
    if usable is None:
        return ()
    key = outline.zone * len(_SIDES) + outline.side
    found = gaps(outline.path, key, outline.skin, usable, usable.off_axle, inside=True)
    rows = []
    for f in found.findings:
        zone, side = ZONES[f.zone // len(_SIDES)], _SIDES[f.zone % len(_SIDES)]
        rule = held.rules.for_stock(zone) if held.rules is not None else None
        least = f.least_mm - held.skin_mm
        spare = None if rule is None else least - rule.required_mm
        rows.append(
            StockRow(
                zone=str(zone),
                side=str(side),
                least_mm=least,
                required_mm=None if rule is None else rule.required_mm,
                spare_mm=spare,
                state=None if rule is None else judge(spare, rule.reserve_mm),
                at=f.at_skin,
                at_blank=f.at_outline,
                rule=None if rule is None or held.rules is None else held.rules.name,
            )
        )
    return tuple(rows)


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

"""All live readings of one wheel in one call.

`measure` takes a built outline and what it is held against, and gives every reading or none: rows are
complete, a zone without a reading has no row, and nothing is carried over from an earlier call.
"""

from __future__ import annotations

import numpy as np

from geometry.readings.gap import gaps
from geometry.readings.gap_rows import gap_rows
from geometry.readings.hub import hub_readings
from geometry.readings.missing import missing_metal
from geometry.readings.named import named_readings
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
    stock = _stock_rows(outline, held)
    lip = named_readings(outline, held.rim, held.spokes, [p for _, paths in held.shapes for p in paths])
    hub, asked = _hub_rows(outline, held)
    questions = (*_questions(held, gap, stock), *asked)
    judged = [
        *(r.state for r in gap),
        *(r.state for r in wall),
        *(r.state for r in stock),
        *(r.state for r in hub),
    ]
    states = [state for state in judged if state is not None]
    if questions:
        states.append(State.NOT_KNOWN)
    return Measurements(
        gap, wall, stock, body, _blank_reading(outline, held, body, stock), lip, hub, questions, worst(states)
    )


def _hub_rows(outline: Outline, held: Held) -> tuple[tuple[NamedReading, ...], tuple[str, ...]]:
    if held.hub is None:
        return (), ()
    rule = held.rules.seat_land_mm if held.rules is not None else None
    bore, pad = ZONES.index(Zone.BORE), ZONES.index(Zone.HUB_PAD)
    radii = np.minimum(outline.path.points[:, 1], outline.path.ends[:, 1])[outline.zone == bore]
    pad_radii = outline.path.points[outline.zone == pad][:, 1]
    return hub_readings(
        outline.path,
        held.fixing,
        held.hub,
        spacer_mm=held.spacer_mm,
        seat_land_rule_mm=rule,
        drawn_bore_mm=2.0 * float(radii.min()) if len(radii) else None,
        drawn_pad_mm=2.0 * float(pad_radii.max()) if len(pad_radii) else None,
    )


def _questions(held: Held, gap: tuple[GapRow, ...], stock: tuple[StockRow, ...]) -> tuple[str, ...]:
    """What is missing for a full answer: no shape, no rule set, or readings that no rule judges."""
    out = []
    if not held.shapes:
        out.append("No stay-out shape: choose what the wheel must clear.")
    if held.rules is None:
        out.append("No rule set: choose one.")
        return tuple(out)
    for shape, _ in held.shapes:
        zones = [row.zone for row in gap if row.shape == shape.name and row.required_mm is None]
        if zones:
            out.append(f"No gap rule for a {shape.kind} at {_listed(zones)}: add one to the rule set.")
    zones = [row.zone for row in stock if row.required_mm is None]
    if zones:
        out.append(f"No stock rule for {_listed(zones)}: add one to the rule set.")
    return tuple(out)


def _listed(zones: list[str]) -> str:
    return ", ".join(dict.fromkeys(zones))


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


def _stock_rows(outline: Outline, held: Held) -> tuple[StockRow, ...]:
    if held.blank is None:
        return ()
    key = outline.zone * len(_SIDES) + outline.side
    found = gaps(outline.path, key, outline.skin, held.blank, held.blank.off_axle, inside=True)
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
    if held.blank is None:
        return None
    mass = volume_mm3(held.blank) * held.density_kg_m3 * 1e-9
    area = volume = 0.0
    if any(row.least_mm < 0.0 for row in stock):
        area, volume = missing_metal(outline.path, held.blank, held.skin_mm)
    return BlankReading(held.blank_name, mass, mass - body.mass_kg, mass / body.mass_kg, area, volume)

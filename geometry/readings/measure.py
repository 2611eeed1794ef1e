"""All live readings of one wheel in one call.

`measure` takes a built outline and what it is held against, and gives every reading or none: rows are
complete, a zone without a reading has no row, and nothing is carried over from an earlier call.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from geometry.readings.gap import Gaps, gaps
from geometry.readings.hub import hub_readings
from geometry.readings.missing import missing_metal
from geometry.readings.moves import clearing_move
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
from geometry.readings.rules import GapRule, State, judge, worst
from geometry.readings.solid import Solid, solid, volume_mm3
from geometry.readings.wall import walls
from geometry.shape.curve import Path
from geometry.shape.outline import StayOut
from geometry.shape.section import ZONES, Outline, Side, Zone
from geometry.tolerances import LARGEST_MM

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
    gap = _gap_rows(outline, held)
    wall = _wall_rows(outline, held)
    stock = _stock_rows(outline, held)
    lip = named_readings(outline, held.rim, held.spokes, [p for _, paths in held.shapes for p in paths])
    hub, asked = _hub_rows(outline, held)
    questions = (*_questions(held), *asked)
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
    return hub_readings(outline.path, held.fixing, held.hub, spacer_mm=held.spacer_mm, seat_land_rule_mm=rule)


def _questions(held: Held) -> tuple[str, ...]:
    out = []
    if not held.shapes:
        out.append("No stay-out shape: choose what the wheel must clear.")
    if held.rules is None:
        out.append("No rule set: choose one.")
    return tuple(out)


# Gap


def _gap_rows(outline: Outline, held: Held) -> tuple[GapRow, ...]:
    rows: list[GapRow] = []
    brake_zones = set(outline.zone[(outline.side == _BRAKE) & outline.skin].tolist())
    for shape, positions in held.shapes:
        rows += _shape_rows(outline, held, shape, positions, brake_zones)
    return tuple(rows)


def _shape_rows(
    outline: Outline, held: Held, shape: StayOut, positions: tuple[Path, ...], brake_zones: set[int]
) -> list[GapRow]:
    """Rows of one shape: the deciding position per zone, then the ring bodies."""
    labels = [o.label for o in shape.outlines]
    found = [gaps(outline.path, outline.zone, outline.skin, p) for p in positions]
    unknown = _unknown_zones(outline, held, shape, positions)
    rows = []
    for z in sorted({f.zone for g in found for f in g.findings}):
        per = [(f.least_mm, k, f) for k, g in enumerate(found) for f in g.findings if f.zone == z]
        least, k, finding = min(per, key=lambda x: x[0])
        if z not in brake_zones and least > 0.0:
            continue
        row = _gap_row(
            held,
            shape,
            ZONES[z],
            least,
            finding.at_skin,
            finding.at_outline,
            labels[k],
            found[k],
            unknown.get(z),
        )
        rows.append(_with_moves(row, outline.path, positions[k]))
    for ring in held.rings:
        rows.append(_ring_row(outline, held, shape, positions, labels, ring))
    return rows


def _gap_row(
    held: Held,
    shape: StayOut,
    zone: Zone,
    least: float,
    at_wheel: Place,
    at_shape: Place,
    label: str,
    of: Gaps,
    extent_question: str | None,
    body: str = "",
) -> GapRow:
    rule: GapRule | None = held.rules.for_gap(shape.kind, zone) if held.rules is not None else None
    questions = list(shape.open_questions())
    if extent_question is not None:
        questions.append(extent_question)
    if zone is Zone.SPOKE_BACK and held.envelope is not True and not body:
        questions.append(
            "Does the section hold the envelope of the spoke backs (ribs, bosses, pocket edges)?"
        )
    touching = of.touching and least < 0.0
    card = shape.card
    spare = None if rule is None else least - card.error_mm + card.included_gap_mm - rule.paper_mm
    state = (
        None
        if rule is None and not touching
        else judge(spare, rule.reserve_mm if rule else 0.0, touching, not questions)
    )
    return GapRow(
        shape=shape.name,
        zone=str(zone),
        least_mm=least,
        error_mm=card.error_mm,
        included_mm=card.included_gap_mm,
        radial_mm=at_shape[1] - at_wheel[1],
        axial_mm=at_shape[0] - at_wheel[0],
        required_mm=None if rule is None else rule.paper_mm,
        worst_mm=None if rule is None else rule.worst_mm,
        spare_mm=spare,
        state=state,
        at_wheel=at_wheel,
        at_shape=at_shape,
        position=label,
        grade=str(card.grade),
        rule=None if held.rules is None or rule is None else held.rules.name,
        body=body,
        questions=tuple(questions),
    )


def _with_moves(row: GapRow, metal: Path, shape: Path) -> GapRow:
    if row.least_mm >= 0.0:
        return row
    return replace(
        row, move_radial_mm=clearing_move(metal, shape, "r"), move_axial_mm=clearing_move(metal, shape, "z")
    )


def _ring_row(
    outline: Outline, held: Held, shape: StayOut, positions: tuple[Path, ...], labels: list[str], ring: Ring
) -> GapRow:
    """The gap from a ring body; its zone is that of the nearest skin."""
    n = len(ring.path)
    every = np.ones(n, dtype=bool)
    found = [gaps(ring.path, np.zeros(n, dtype=np.intp), every, p) for p in positions]
    k = min(range(len(found)), key=lambda k: found[k].findings[0].least_mm)
    finding = found[k].findings[0]
    near = gaps(outline.path, outline.zone, outline.skin, ring.path).findings
    zone = ZONES[min(near, key=lambda f: f.least_mm).zone]
    row = _gap_row(
        held,
        shape,
        zone,
        finding.least_mm,
        finding.at_skin,
        finding.at_outline,
        labels[k],
        found[k],
        None,
        ring.name,
    )
    return _with_moves(row, ring.path, positions[k])


def _unknown_zones(
    outline: Outline, held: Held, shape: StayOut, positions: tuple[Path, ...]
) -> dict[int, str]:
    """Zones that come nearer than their rule to where the shape's body may go on unseen."""
    out: dict[int, str] = {}
    for area, question in _unseen(shape, positions):
        for finding in gaps(outline.path, outline.zone, outline.skin, area).findings:
            rule = held.rules.for_gap(shape.kind, ZONES[finding.zone]) if held.rules is not None else None
            if finding.least_mm < (rule.paper_mm if rule is not None else 0.0):
                out.setdefault(finding.zone, question)
    return out


def _unseen(shape: StayOut, positions: tuple[Path, ...]) -> list[tuple[Path, str]]:
    """Return the areas in which the body may go on beyond where it is known, each with the question."""
    extent = shape.extent
    z_low = min(p.bounds[0] for p in positions) if extent.z_low is None else extent.z_low
    z_high = max(p.bounds[1] for p in positions) if extent.z_high is None else extent.z_high
    r_low, r_high = min(p.bounds[2] for p in positions), max(p.bounds[3] for p in positions)
    areas: list[tuple[float, float, float, float, str]] = []
    name = shape.name
    if not extent.ends_inboard:
        areas.append(
            (-LARGEST_MM, z_low, r_low, r_high, f"What does {name} look like inboard of z {z_low:.1f}?")
        )
    if not extent.ends_outboard:
        areas.append(
            (z_high, LARGEST_MM, r_low, r_high, f"What does {name} look like outboard of z {z_high:.1f}?")
        )
    if extent.cut_r_low is not None:
        areas.append(
            (
                z_low,
                z_high,
                0.0,
                extent.cut_r_low,
                f"What does {name} look like below r {extent.cut_r_low:.1f}?",
            )
        )
    if extent.cut_r_high is not None:
        question = f"What does {name} look like above r {extent.cut_r_high:.1f}?"
        areas.append((z_low, z_high, extent.cut_r_high, LARGEST_MM, question))
    return [
        (Path.closed([(z0, r0), (z1, r0), (z1, r1), (z0, r1)]), text)
        for z0, z1, r0, r1, text in areas
        if z1 > z0 and r1 > r0
    ]


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


def blank_skin(blank: Path) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Return (n,) True for the pieces of a blank's outline that are skin, not the axle line."""
    skin: np.ndarray[tuple[int], np.dtype[np.bool_]] = ~(
        (blank.points[:, 1] <= 0.0) & (blank.ends[:, 1] <= 0.0)
    )
    return skin


def _stock_rows(outline: Outline, held: Held) -> tuple[StockRow, ...]:
    if held.blank is None:
        return ()
    key = outline.zone * len(_SIDES) + outline.side
    found = gaps(outline.path, key, outline.skin, held.blank, blank_skin(held.blank), inside=True)
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

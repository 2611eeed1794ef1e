"""Gap rows: every brake-side zone and ring body against every stay-out shape, and what is not known of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache

import numpy as np

from geometry.readings.gap import GapFinding, Gaps, gaps, zone_distances
from geometry.readings.moves import clearing_move
from geometry.readings.rows import KEPT_ROWS, GapRow, Held, Place, Ring
from geometry.readings.rules import GapRule, judge
from geometry.shape.curve import Flags, Indices, Path
from geometry.shape.outline import QUESTIONS, Extent, StayOut, ZeroFace
from geometry.shape.section import ZONES, Outline, Side, Zone
from geometry.tolerances import LARGEST_MM

_BRAKE = tuple(Side).index(Side.BRAKE)

#: No state of the road is judged.
_AT_REST: Mapping[str, float] = {}

#: A body that goes on unseen may be anywhere in an area; (path of the area, question that would close it).
Unseen = tuple[tuple[Path, str], ...]


def gap_rows(
    outline: Outline, held: Held, *, moves: bool = True, losses_mm: Mapping[str, float] = _AT_REST
) -> tuple[GapRow, ...]:
    """Return the rows of all shapes: zones that look at the brake or the hub, and those that touch.

    Args:
        outline: of the wheel in the hub's frame.
        held: what it is held against.
        moves: look for how far a shape that touches must move; else the rows leave it out.
        losses_mm: by shape, what no state of the road takes more of, from any gap: rows of street and tyre
            sides that may come so much nearer than their rule asks count too, and where a shape goes on
            unseen so near is asked.
    """
    rows: list[GapRow] = []
    for shape, positions in held.shapes:
        unseen = _unseen(shape.name, shape.extent, shape.shift_mm, positions)
        loss = losses_mm.get(shape.name, 0.0)
        found = _zone_rows(outline, held, shape, positions, unseen, loss)
        known: dict[int, tuple[float, float]] = {}
        rows += [_with_moves(r, outline.path, positions[k], known) if moves else r for r, k in found]
        for ring in held.rings:
            row, k = _ring_row(outline, held, shape, positions, unseen, loss, ring)
            rows.append(_with_moves(row, ring.path, positions[k], {}) if moves else row)
    return tuple(rows)


def _against(skin: Path, zone: Indices, counted: Flags, positions: tuple[Path, ...]) -> list[Gaps]:
    return [gaps(skin, zone, counted, p, p.off_axle) for p in positions]


def _deciding(found: list[Gaps]) -> dict[int, tuple[int, GapFinding]]:
    """Return for every zone the position with the least gap, and that gap."""
    least: dict[int, tuple[int, GapFinding]] = {}
    for k, each in enumerate(found):
        for f in each.findings:
            if f.zone not in least or f.least_mm < least[f.zone][1].least_mm:
                least[f.zone] = k, f
    return least


def _zone_rows(
    outline: Outline,
    held: Held,
    shape: StayOut,
    positions: tuple[Path, ...],
    unseen: Unseen,
    loss_mm: float,
) -> list[tuple[GapRow, int]]:
    """Return the rows of the wheel's zones, each with the number of the shape's outline that decides."""
    brake = outline.skin & (outline.side == _BRAKE)
    found = _against(outline.path, outline.zone, outline.skin, positions)
    other = _other_zero(shape)
    moved = tuple(p.moved(dz=other) for p in positions) if other is not None else ()
    shifted = _against(outline.path, outline.zone, outline.skin, moved)
    open_zones, open_road = _unknown(outline.path, outline.zone, brake, held, shape, unseen, loss_mm)
    open_questions = shape.open_questions()
    rows: list[tuple[GapRow, int]] = []
    there, looking = _deciding(shifted), set(outline.zone[brake].tolist())
    slack = shape.card.error_mm + loss_mm
    for z, (k, finding) in sorted(_deciding(found).items()):
        rule = held.rules.for_gap(shape.kind, ZONES[z]) if held.rules is not None else None
        if z not in looking and finding.least_mm > _needed(rule) + slack:
            continue  # street and tyre side count only where a shape comes near them
        asked = list(open_questions)
        if shifted:
            asked[asked.index(QUESTIONS["zero_face"])] = _both_zeros(
                shape, finding.least_mm, there[z][1].least_mm
            )
        if z in open_zones:
            asked.append(open_zones[z])
        if ZONES[z] is Zone.SPOKE_BACK and held.envelope is not True:
            asked.append(
                "Does the section hold the envelope of the spoke backs (ribs, bosses, pocket edges)?"
            )
        label, is_touching = shape.outlines[k].label, found[k].touching
        row = _row(held, rule, shape, ZONES[z], finding, label, is_touching, asked)
        rows.append((_asked_on_road(row, open_road.get(z)), k))
    return rows


def brake_zones(outline: Outline) -> frozenset[str]:
    """Return the zones that look at the brake somewhere; others count only where a shape comes near them."""
    return frozenset(str(ZONES[z]) for z in np.unique(outline.zone[outline.skin & (outline.side == _BRAKE)]))


def counts_on_paper(row: GapRow, brake: frozenset[str]) -> bool:
    """Return False for a row that is there only because something may bring the shape nearer."""
    near = row.least_mm <= (row.required_mm or 0.0) + row.error_mm
    return near or bool(row.body) or row.zone in brake


def _ring_row(
    outline: Outline,
    held: Held,
    shape: StayOut,
    positions: tuple[Path, ...],
    unseen: Unseen,
    loss_mm: float,
    ring: Ring,
) -> tuple[GapRow, int]:
    """Return the gap from a ring body, whose zone is that of the nearest skin, and what decides it."""
    near = gaps(outline.path, outline.zone, outline.skin, ring.path).findings
    z = min(near, key=lambda f: f.least_mm).zone
    n = len(ring.path)
    zone, every = np.full(n, z, dtype=np.intp), np.ones(n, dtype=bool)
    found = _against(ring.path, zone, every, positions)
    k, finding = _deciding(found)[z]
    asked = list(shape.open_questions())
    paper, road = _unknown(ring.path, zone, every, held, shape, unseen, loss_mm, is_ring=True)
    asked += paper.values()
    rule = held.rules.for_gap(shape.kind, ZONES[z], ring=True) if held.rules is not None else None
    label, is_touching = shape.outlines[k].label, found[k].touching
    row = _row(held, rule, shape, ZONES[z], finding, label, is_touching, asked, ring.name)
    return _asked_on_road(row, road.get(z)), k


def _needed(rule: GapRule | None) -> float:
    return 0.0 if rule is None else rule.needed_mm


def _row(
    held: Held,
    rule: GapRule | None,
    shape: StayOut,
    zone: Zone,
    finding: GapFinding,
    position: str,
    is_touching: bool,
    asked: list[str],
    body: str = "",
) -> GapRow:
    """Return the row of what was found of a zone, without how far the shape must move."""
    card = shape.card
    return _made(
        shape.name,
        zone,
        finding.least_mm,
        finding.at_skin,
        finding.at_outline,
        position,
        is_touching and finding.least_mm < 0.0,
        tuple(asked),
        body,
        card.error_mm,
        card.included_gap_mm,
        str(card.grade),
        rule,
        None if held.rules is None or rule is None else held.rules.name,
    )


@lru_cache(maxsize=KEPT_ROWS)
def _made(
    shape: str,
    zone: Zone,
    least: float,
    at_wheel: Place,
    at_shape: Place,
    position: str,
    touching: bool,
    asked: tuple[str, ...],
    body: str,
    error_mm: float,
    included_mm: float,
    grade: str,
    rule: GapRule | None,
    rules: str | None,
) -> GapRow:
    """Return a row, of equal readings the same object; `rules` is the name of the set that the rule is of."""
    spare = None if rule is None else least - error_mm + included_mm - rule.needed_mm
    state = None
    if rule is not None or touching:
        state = judge(spare, rule.reserve_mm if rule is not None else 0.0, touching, not asked)
    return GapRow(
        shape=shape,
        zone=str(zone),
        least_mm=least,
        error_mm=error_mm,
        included_mm=included_mm,
        radial_mm=at_shape[1] - at_wheel[1],
        axial_mm=at_shape[0] - at_wheel[0],
        required_mm=None if rule is None else rule.needed_mm,
        worst_mm=None if rule is None else rule.worst_mm,
        spare_mm=spare,
        state=state,
        at_wheel=at_wheel,
        at_shape=at_shape,
        position=position,
        grade=grade,
        rule=rules,
        body=body,
        questions=asked,
    )


def _with_moves(row: GapRow, metal: Path, shape: Path, known: dict[int, tuple[float, float]]) -> GapRow:
    """Add how far the shape must move; known keeps it for the other zones that the same outline touches."""
    if row.least_mm >= 0.0:
        return row
    if id(shape) not in known:
        known[id(shape)] = clearing_move(metal, shape, "r"), clearing_move(metal, shape, "z")
    radial, axial = known[id(shape)]
    return replace(row, move_radial_mm=radial, move_axial_mm=axial)


# What is not known


def _other_zero(shape: StayOut) -> float | None:
    """How far the shape moves if its zero is the other face; None when settled, or the hat is not known."""
    card = shape.card
    if not card.zero_face.is_open or not card.hat_mm:
        return None
    return card.hat_mm if card.zero_at is ZeroFace.HUB_FLANGE else -card.hat_mm


def _both_zeros(shape: StayOut, here_mm: float, there_mm: float) -> str:
    """The question of the zero face with the reading that each answer gives."""
    here, there = ZeroFace.BEARING, ZeroFace.HUB_FLANGE
    if shape.card.zero_at is ZeroFace.HUB_FLANGE:
        here, there = there, here
    return f"{QUESTIONS['zero_face']} {here_mm:.1f} mm if {here}, {there_mm:.1f} mm if {there}."


def _unknown(
    skin: Path,
    zone: Indices,
    counted: Flags,
    held: Held,
    shape: StayOut,
    unseen: Unseen,
    loss_mm: float,
    *,
    is_ring: bool = False,
) -> tuple[dict[int, str], dict[int, str]]:
    """Return zones nearer than their rule to where the shape's body may go on unseen, with the question.

    Args:
        skin: the body's outline.
        zone: (n,) of its pieces.
        counted: (n,) which of them count.
        held: holds the rules.
        shape: whose body it is.
        unseen: where it may go on.
        loss_mm: what the worst state may take of any gap, error and all; 0 where it is not judged.
        is_ring: the body is a ring on the wheel, which has rules of its own.

    Returns:
        Those near on paper, and those that the worst state may bring nearer than its rule and reserve.
    """
    paper: dict[int, str] = {}
    road: dict[int, str] = {}
    for area, question in unseen:
        for z, least in zone_distances(skin, zone, counted, area).items():
            rule = held.rules.for_gap(shape.kind, ZONES[z], is_ring) if held.rules is not None else None
            if least < _needed(rule) + shape.card.error_mm or least == 0.0:
                paper.setdefault(z, question)
            left = 0.0 if rule is None else rule.worst_mm + rule.reserve_mm
            if loss_mm > 0.0 and least < loss_mm + left:
                road.setdefault(z, question)
    return paper, road


def _asked_on_road(row: GapRow, question: str | None) -> GapRow:
    """Return a row with what only the road asks of it; its state is that on paper."""
    if question is None or question in row.questions:
        return row
    return replace(row, questions=(*row.questions, question))


# A shape stands still while the wheel is dragged.
@lru_cache(maxsize=64)
def _unseen(name: str, extent: Extent, shift_mm: float, positions: tuple[Path, ...]) -> Unseen:
    """Return the areas in which a shape's body may go on beyond where it is known.

    Beyond an end that nobody saw it may be larger than what was drawn: everything from its least radius
    outwards. Where it was cut off in r, everything beyond the cut, also past an end that nobody saw.
    """
    # The extent stands in the outline's own frame, as given.
    z_low, z_high = (z if z is None else z + shift_mm for z in (extent.z_low, extent.z_high))
    z_low = min(p.bounds[0] for p in positions) if z_low is None else z_low
    z_high = max(p.bounds[1] for p in positions) if z_high is None else z_high
    r_low = min(p.bounds[2] for p in positions)
    far_in = z_low if extent.ends_inboard else -LARGEST_MM
    far_out = z_high if extent.ends_outboard else LARGEST_MM
    ask = f"What does {name} look like"
    areas = [
        (far_in, z_low, r_low, LARGEST_MM, f"{ask} inboard of z {z_low:.1f} mm?"),
        (z_high, far_out, r_low, LARGEST_MM, f"{ask} outboard of z {z_high:.1f} mm?"),
    ]
    if extent.cut_r_low is not None:
        areas.append((far_in, far_out, 0.0, extent.cut_r_low, f"{ask} below r {extent.cut_r_low:.1f} mm?"))
    if extent.cut_r_high is not None:
        areas.append(
            (far_in, far_out, extent.cut_r_high, LARGEST_MM, f"{ask} above r {extent.cut_r_high:.1f} mm?")
        )
    return tuple(
        (Path.closed([(z0, r0), (z1, r0), (z1, r1), (z0, r1)]), text)
        for z0, z1, r0, r1, text in areas
        if z1 > z0 and r1 > r0
    )

"""The gap that is left in the worst state: what eats it, how much of it, and where.

Each effect is tried alone, at each of its limits, by posing the wheel's outline and searching the nearest
places anew; all together are tried in every combination of their limits, and between two of them wherever
something that is passed could change a state. Nothing is linear but plain losses.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from geometry.readings.conditions import Conditions, Effect, Pose, effects, together
from geometry.readings.gap import gaps
from geometry.readings.gap_rows import gap_rows
from geometry.readings.rows import GapRow, Held, Place, Ring
from geometry.readings.rules import State, judge
from geometry.shape.curve import Flags, Indices, Path
from geometry.shape.outline import ShapeKind, SourceCard, StayOut
from geometry.shape.section import ZONES, Outline, Zone


@dataclass(frozen=True)
class Loss:
    """What one effect alone takes from a gap, mm; negative where every limit of it opens the gap."""

    key: str
    words: str
    loss_mm: float


@dataclass(frozen=True)
class StackRow:
    """The gap of one zone (or ring body) to one shape, from the drawing to the worst state.

    Attributes:
        nominal_mm: as drawn, without the shape's error. included_mm: gap that the outline already holds.
        losses: what each effect takes alone, the largest first; the shape's stated error among them.
        worst_mm: left with every effect at its worst limit at once, witness places searched anew.
        rss_mm: left after the root of the sum of squares of the single losses.
        condition: what the deciding state is, in words.
        at_wheel, at_shape: places in that state, hub frame.
        required_mm: the rule's part for the worst state; spare_mm = worst_mm + included_mm - required_mm.
        state: None without a rule, unless the areas share area.
        grade: of the shape; its digits are shown by it.
    """

    shape: str
    zone: str
    body: str
    nominal_mm: float
    included_mm: float
    losses: tuple[Loss, ...]
    worst_mm: float
    rss_mm: float
    condition: str
    at_wheel: Place
    at_shape: Place
    required_mm: float | None
    spare_mm: float | None
    state: State | None
    grade: str
    questions: tuple[str, ...]


@dataclass(frozen=True)
class Body:
    """What turns: the section or a ring body, with the rows of it that are judged."""

    path: Path
    zone: Indices
    counted: Flags
    name: str


@dataclass(frozen=True)
class Least:
    """Least gap of a zone in one state, its places, and the words of the state."""

    mm: float
    at_wheel: Place
    at_shape: Place
    words: str


def stack_rows(
    outline: Outline, held: Held, conditions: Conditions, paper: Sequence[GapRow], alone: bool = True
) -> tuple[StackRow, ...]:
    """Return the worst state of every gap row.

    Args:
        outline: of the wheel in the hub's frame.
        held: what it is held against.
        conditions: what eats the gaps.
        paper: rows of the same wheel at rest (gap_rows); their questions are asked here too.
        alone: try each effect alone too; without it the rows have no losses, and rss_mm is nominal_mm.
    """
    rows: list[StackRow] = []
    for shape, positions in held.shapes:
        found = effects(conditions, shape, size_mm(shape, positions), held.spacer_mm)
        bodies = {"": Body(outline.path, outline.zone, outline.skin, "")}
        bodies |= {ring.name: ring_body(ring) for ring in held.rings}
        for name, body in bodies.items():
            mine = [row for row in paper if row.shape == shape.name and row.body == name]
            if mine:
                rows += _rows(body, mine, held, shape, positions, found, alone)
    return tuple(rows)


def near_on_road(
    outline: Outline, held: Held, conditions: Conditions, paper: Sequence[GapRow]
) -> tuple[GapRow, ...]:
    """Return the rows of paper, and those of street and tyre sides that the worst state may bring near."""
    losses = losses_mm(outline, held, conditions)
    wider = {
        (row.shape, row.zone, row.body): row for row in gap_rows(outline, held, moves=False, losses_mm=losses)
    }
    known = [(row.shape, row.zone, row.body) for row in paper]
    asking = (replace(row, questions=wider[key].questions) for key, row in zip(known, paper, strict=True))
    return (*asking, *(row for key, row in wider.items() if key not in known))


def losses_mm(outline: Outline, held: Held, conditions: Conditions) -> dict[str, float]:
    """Return by shape what no state of the conditions takes more of, from any gap to it; a bound."""
    paths = (outline.path, *(ring.path for ring in held.rings))
    reach = max(reach_mm(path, conditions.bearing_z_mm) for path in paths)
    # To the next millimetre, so that wheels share what was found; a bound may be larger.
    return {
        shape.name: _bound(
            conditions,
            shape.kind,
            shape.clock_low_deg,
            shape.clock_high_deg,
            shape.card.error_mm,
            math.ceil(size_mm(shape, positions)),
            held.spacer_mm != 0.0,
            math.ceil(reach),
        )
        for shape, positions in held.shapes
    }


@lru_cache(4096)
def _bound(
    conditions: Conditions,
    kind: ShapeKind,
    clock_low: float | None,
    clock_high: float | None,
    error_mm: float,
    size: int,
    has_spacer: bool,
    reach: int,
) -> float:
    card = SourceCard("", error_mm=error_mm)
    shape = StayOut("", (), kind, clock_low_deg=clock_low, clock_high_deg=clock_high, card=card)
    return largest_loss_mm(effects(conditions, shape, float(size), 1.0 if has_spacer else 0.0), float(reach))


def size_mm(shape: StayOut, positions: Iterable[Path]) -> float:
    """Return the length along which a shape grows with heat.

    A caliper grows from where it is bolted on: the longer side of its box. Any other body may lie about the
    axle and grows by its radius, whichever part of it was drawn, or by its length if that is more.
    """
    boxes = [p.bounds for p in positions]
    if shape.kind is ShapeKind.CALIPER:
        return max(max(b[1] - b[0], b[3] - b[2]) for b in boxes)
    return max(max(b[1] - b[0], b[3]) for b in boxes)


def ring_body(ring: Ring) -> Body:
    """Return a ring body as what turns; it is one zone, number 0."""
    n = len(ring.path)
    return Body(ring.path, np.zeros(n, dtype=np.intp), np.ones(n, dtype=bool), ring.name)


def _rows(
    body: Body,
    paper: Sequence[GapRow],
    held: Held,
    shape: StayOut,
    positions: tuple[Path, ...],
    found: tuple[Effect, ...],
    with_alone: bool,
) -> Iterable[StackRow]:
    zones = [0 if body.name else ZONES.index(_zone(row.zone)) for row in paper]
    # A ring body is one zone of its own here; effects act by the zone that its row names.
    acts = [ZONES.index(_zone(row.zone)) for row in paper]
    # What is not asked for need not be read.
    counted = body.counted & np.isin(body.zone, zones)
    read = reader(replace(body, counted=counted), positions)
    centre = next((e.poses[0].centre_z_mm for e in found if e.poses[0].tilt_deg), 0.0)
    reach = reach_mm(body.path, centre)
    tried_alone = found if with_alone else ()
    alone = [(effect, [read(pose, "") for pose in effect.poses]) for effect in tried_alone]
    plains = [sum(e.poses[0].loss_mm for e in found if e.zones and e.acts_on(zone)) for zone in acts]
    steps = {
        z: tuple(step + plain for step in _steps(row, held, shape))
        for row, z, plain in zip(paper, zones, plains, strict=True)
    }
    states = _worst_states(read, found, reach, steps)
    for row, z, zone, plain in zip(paper, zones, acts, plains, strict=True):
        losses = [
            Loss(e.key, e.words, max(row.least_mm - least[z].mm for least in tried))
            for e, tried in alone
            if e.acts_on(zone)
        ]
        losses.sort(key=lambda loss: -loss.loss_mm)
        worst = states[z]
        left = min(worst.mm - plain, row.least_mm)
        rss = math.sqrt(sum(max(loss.loss_mm, 0.0) ** 2 for loss in losses))
        yield _row(row, held, shape, losses, left, row.least_mm - rss, worst)


def _steps(row: GapRow, held: Held, shape: StayOut) -> tuple[float, ...]:
    """Return the gaps left at which a row's state changes: touching, its rule, and rule with reserve."""
    rule = None
    if held.rules is not None:
        rule = held.rules.for_gap(shape.kind, _zone(row.zone), bool(row.body))
    if rule is None:
        return (0.0,)
    needed = rule.worst_mm - row.included_mm
    return 0.0, needed, needed + rule.reserve_mm


def _zone(name: str) -> Zone:
    return Zone(name)


def _row(
    row: GapRow,
    held: Held,
    shape: StayOut,
    losses: list[Loss],
    left_mm: float,
    rss_mm: float,
    worst: Least,
) -> StackRow:
    rule = held.rules.for_gap(shape.kind, _zone(row.zone), bool(row.body)) if held.rules is not None else None
    spare = None if rule is None else left_mm + row.included_mm - rule.worst_mm
    touching = left_mm < 0.0
    state = None
    if rule is not None or touching:
        reserve = 0.0 if rule is None else rule.reserve_mm
        state = judge(spare, reserve, touching, not row.questions)
    return StackRow(
        row.shape,
        row.zone,
        row.body,
        row.least_mm,
        row.included_mm,
        tuple(losses),
        left_mm,
        rss_mm,
        worst.words or "as drawn",
        worst.at_wheel,
        worst.at_shape,
        None if rule is None else rule.worst_mm,
        spare,
        state,
        row.grade,
        row.questions,
    )


def reader(body: Body, positions: tuple[Path, ...]) -> Callable[[Pose, str], dict[int, Least]]:
    """Return what reads the least gap of every zone of a body in a pose."""

    def read(pose: Pose, words: str) -> dict[int, Least]:
        path = pose.path(body.path)
        least: dict[int, Least] = {}
        for position in positions:
            for f in gaps(path, body.zone, body.counted, position, position.off_axle).findings:
                here = Least(f.least_mm - pose.loss_mm, f.at_skin, f.at_outline, words)
                if f.zone not in least or here.mm < least[f.zone].mm:
                    least[f.zone] = here
        return least

    return read


@dataclass(frozen=True)
class _Limits:
    """What effects add up to: shifts both ways and inboard only, run-out both ways, tilts, growths, losses.

    Effects that only shift the same way add up before signs are tried. What acts in some zones only is left
    out, and taken off there.
    """

    tilts: tuple[Effect, ...]
    growths: tuple[Effect, ...]
    both_mm: float
    inboard_mm: float
    out_mm: float
    loss_mm: float


def _limits(found: Iterable[Effect]) -> _Limits:
    everywhere = [e for e in found if not e.zones]
    moves = [e for e in everywhere if not e.poses[0].loss_mm]
    return _Limits(
        tilts=tuple(e for e in moves if e.poses[0].tilt_deg),
        growths=tuple(e for e in moves if e.poses[0].scale != 1.0),
        both_mm=sum(e.poses[0].dz_mm for e in moves if len(e.poses) == 2),
        inboard_mm=sum(e.poses[0].dz_mm for e in moves if len(e.poses) == 1),
        out_mm=sum(e.poses[0].dr_mm for e in moves),
        loss_mm=sum(e.poses[0].loss_mm for e in everywhere),
    )


#: Between two states the wheel is tried no closer than this, mm, and at no more places than these.
STEP_MM, MOST_STEPS = 0.4, 64


@dataclass(frozen=True)
class _Way:
    """What takes the wheel from one limit to another: both poses with their words, and how far it moves."""

    first: tuple[Pose, str]
    last: tuple[Pose, str]
    far_mm: float
    between: str

    def at(self, share: float) -> Pose:
        """Return the pose a share of the way from the first limit to the last."""
        a, b = self.first[0], self.last[0]
        return Pose(
            a.tilt_deg + share * (b.tilt_deg - a.tilt_deg),
            a.centre_z_mm,
            a.dz_mm + share * (b.dz_mm - a.dz_mm),
            a.dr_mm + share * (b.dr_mm - a.dr_mm),
            a.scale + share * (b.scale - a.scale),
        )


def _ways(sums: _Limits, reach_mm: float) -> list[_Way]:
    ways = [
        _Way(
            (e.poses[0], f"{e.words} +"),
            (e.poses[1], f"{e.words} -"),
            2.0 * math.sin(math.radians(abs(e.poses[0].tilt_deg))) * reach_mm,
            f"{e.words}, part of it",
        )
        for e in sums.tilts
    ]
    if sums.both_mm or sums.inboard_mm:
        out, inboard = Pose(dz_mm=sums.both_mm), Pose(dz_mm=-sums.both_mm + sums.inboard_mm)
        far = abs(out.dz_mm - inboard.dz_mm)
        ends = (out, "wheel outboard"), (inboard, "wheel inboard")
        ways.append(_Way(*ends, far, "wheel between outboard and inboard"))
    if sums.out_mm:
        ends = (Pose(dr_mm=sums.out_mm), "run-out outwards"), (Pose(dr_mm=-sums.out_mm), "run-out inwards")
        ways.append(_Way(*ends, 2.0 * abs(sums.out_mm), "run-out, part of it"))
    ways += [
        _Way(
            (Pose(), "wheel cold"),
            (e.poses[0], "wheel hot"),
            abs(e.poses[0].scale - 1.0) * reach_mm,
            "wheel warm",
        )
        for e in sums.growths
    ]
    return ways


def combinations(found: Iterable[Effect]) -> list[tuple[Pose, str]]:
    """Return every pose that effects can put a wheel into at their limits, and what it is in words."""
    sums = _limits(found)
    limits = [(way.first, way.last) for way in _ways(sums, 0.0)]
    return [_together(chosen, sums) for chosen in itertools.product(*limits)]


def _together(chosen: Iterable[tuple[Pose, str]], sums: _Limits) -> tuple[Pose, str]:
    chosen = tuple(chosen)
    pose = together((*(pose for pose, _ in chosen), Pose(loss_mm=sums.loss_mm)))
    return pose, ", ".join(words for _, words in chosen)


_Read = Callable[[Pose, str], dict[int, Least]]


def _worst_states(
    read: _Read, found: Iterable[Effect], reach_mm: float, steps_mm: dict[int, tuple[float, ...]]
) -> dict[int, Least]:
    """Return the least gap of every zone over all limits, and between two that differ in one effect.

    Something may be passed between two limits. A gap changes by no more than the wheel moves: where half of
    both gaps and of the way left does not reach the next lower step of its zone, nothing between can matter;
    else the middle is tried, then both halves, down to STEP_MM.

    Args:
        read: reads the gaps of every zone in a pose.
        found: effects.
        reach_mm: no place of the wheel lies farther from the bearing centre or the origin.
        steps_mm: by zone, the gaps at which its state changes.
    """
    sums = _limits(found)
    ways = _ways(sums, reach_mm)
    limits = list(itertools.product((0, 1), repeat=len(ways)))
    tried = {
        ends: read(*_together([(w.last if k else w.first) for w, k in zip(ways, ends, strict=True)], sums))
        for ends in limits
    }
    least: dict[int, Least] = {}

    def take(states: dict[int, Least]) -> None:
        for zone, here in states.items():
            if zone not in least or here.mm < least[zone].mm:
                least[zone] = here

    for states in tried.values():
        take(states)

    def may_matter(a: dict[int, Least], b: dict[int, Least], far_mm: float) -> bool:
        for zone, steps in steps_mm.items():
            lowest = (a[zone].mm + b[zone].mm - far_mm) / 2.0
            below = max((step for step in steps if step <= least[zone].mm), default=None)
            if below is not None and lowest < below:
                return True
        return False

    for k, way in enumerate(ways):
        for ends in limits:
            if ends[k] or way.far_mm <= STEP_MM:
                continue
            others = [w.last if e else w.first for w, e in zip(ways, ends, strict=True)]
            there = tried[(*ends[:k], 1, *ends[k + 1 :])]
            waiting = [(0.0, 1.0, tried[ends], there)]
            while waiting:
                low, high, a, b = waiting.pop()
                far = (high - low) * way.far_mm
                if far <= max(STEP_MM, way.far_mm / MOST_STEPS) or not may_matter(a, b, far):
                    continue
                share = (low + high) / 2.0
                others[k] = (way.at(share), way.between)
                middle = read(*_together(others, sums))
                take(middle)
                waiting += [(low, share, a, middle), (share, high, middle, b)]
    return least


def largest_loss_mm(found: Iterable[Effect], reach_mm: float) -> float:
    """Return what no combination of effects takes more of, from any gap.

    Args:
        found: effects; those that act in some zones only count as if they acted everywhere.
        reach_mm: no place of the wheel lies farther from the bearing centre or the origin.
    """
    found = tuple(found)
    sums = _limits(found)
    largest = Pose(
        tilt_deg=sum(abs(e.poses[0].tilt_deg) for e in sums.tilts),
        dz_mm=max(abs(sums.both_mm), abs(-sums.both_mm + sums.inboard_mm)),
        dr_mm=abs(sums.out_mm),
        scale=math.prod(max(e.poses[0].scale, 1.0) for e in sums.growths),
        loss_mm=sums.loss_mm,
    )
    return largest.farthest_mm(reach_mm) + sum(e.poses[0].loss_mm for e in found if e.zones)


def reach_mm(path: Path, bearing_z_mm: float) -> float:
    """Return how far any place of an outline lies from the bearing centre or the origin, at most."""
    z0, z1, r0, r1 = path.bounds
    far_r = max(abs(r0), abs(r1))
    return max(math.hypot(z - c, far_r) for z in (z0, z1) for c in (0.0, bearing_z_mm))

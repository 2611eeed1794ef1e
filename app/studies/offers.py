"""What would make a wheel fit: the least change of each kind that clears, and what else it does.

A cure that breaks another rule is no cure: it is listed apart, with what it breaks.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from app.project import wheel_edits
from app.project.project import Project
from app.project.tyres import TyreError, choice_words, parse_tyre
from app.project.wheel import Wheel
from app.studies.fit import Measured, measure_wheel
from app.studies.road import Road, on_the_road, whole_state
from app.studies.told import Told, told
from app.studies.tyre import Word, tyre_findings
from geometry.errors import GeometryError
from geometry.readings.measure import Measurements
from geometry.readings.rules import State
from geometry.shape.edits import with_vertex_at
from geometry.shape.rim import WellSide
from geometry.shape.section import ZONES, Outline, Side, Zone, build

MOST_OFFERS = 8
#: Changes are offered in steps of this, mm.
STEP_MM = 0.1
_MOST_INSET_MM, _MOST_BACK_MM, _MOST_BARREL_MM = 40.0, 12.0, 6.0
_BACK = (Zone.SPOKE_BACK, Zone.SHOULDER)
_BARREL = (Zone.BARREL, Zone.WELL)
_HUB = (Zone.HUB_PAD, Zone.BORE, Zone.HUB_FACE)


@dataclass(frozen=True)
class Offer:
    """One change that clears every gap.

    Attributes:
        words: what is done, as 'inset 36.2 instead of 38.0', in the project's unit as all words here.
        wheel: the wheel as changed, under its old name.
        by_mm: how large the change is; sorts offers of like mass.
        mass_kg: change of mass.
        effects: side effects in words.
        breaks: rules that are missed after it and were not before, or still are, and what keeps the wheel
            from being known; empty for a cure.
    """

    words: str
    wheel: Wheel
    by_mm: float
    mass_kg: float
    effects: tuple[str, ...]
    breaks: tuple[str, ...]

    @property
    def is_cure(self) -> bool:
        """True where every rule holds after it."""
        return not self.breaks


@dataclass(frozen=True)
class WholeRead:
    """A wheel's readings on paper and on the road."""

    measured: Measured
    road: Road | None

    @property
    def found(self) -> Measurements | None:
        """The readings on paper; None where the section has faults."""
        return self.measured.measurements

    def gap_mm(self) -> float:
        """The least spare of all gaps, on paper and at worst; minus infinity where it cannot be read."""
        if self.found is None:
            return -math.inf
        spares = [r.spare_mm for r in self.found.gap if r.spare_mm is not None]
        if self.road is not None:
            spares += [r.spare_mm for r in self.road.rows if r.spare_mm is not None]
            spares += [r.spare_mm for r in self.road.tyre.rows if r.spare_mm is not None]
            spares += [r.spare_mm for r in self.road.tyre.worst if r.spare_mm is not None]
        return min(spares, default=-math.inf)


def offers(
    project: Project,
    wheel: Wheel,
    cancelled: Callable[[], bool] | None = None,
) -> tuple[Offer, ...]:
    """Return what would make a wheel clear, cures first, then by change of mass, then by size; eight at most.

    Args:
        project: holds what the wheel is held against.
        wheel: that misses a gap; one that clears has no offers.
        cancelled: asked between the kinds of change; those found so far are returned.
    """
    before = read_whole(project, wheel)
    if before.found is None or not math.isfinite(before.gap_mm()) or before.gap_mm() >= 0.0:
        return ()
    found: list[Offer] = []
    for words, changed, by_mm in _candidates(project, wheel):
        if cancelled is not None and cancelled():
            break
        after = read_whole(project, changed)
        if after.gap_mm() >= 0.0:
            found.append(_offer(words, wheel, changed, by_mm, before, after, told(project)))
    found.sort(key=lambda o: (not o.is_cure, round(abs(o.mass_kg), 3), o.by_mm))
    return tuple(found[:MOST_OFFERS])


def read_whole(project: Project, wheel: Wheel) -> WholeRead:
    """Return every reading of a wheel, on paper and on the road."""
    measured = measure_wheel(project, wheel)
    return WholeRead(measured, on_the_road(project, wheel, measured))


Change = Callable[[float], Wheel]


def _candidates(project: Project, wheel: Wheel) -> Iterator[tuple[str, Wheel, float]]:
    """Yield words, wheel and size of the least change of every kind that clears."""
    said = told(project)
    for way in (1.0, -1.0):
        at = _least(project, partial(_inset_changed, wheel, way), _MOST_INSET_MM)
        if at is not None:
            by, changed = at
            yield inset_words(said, changed, wheel), changed, by
    for thickness in sorted(t for t in project.spacers_mm if t > wheel.spacer_mm):
        changed = replace(wheel, spacer_mm=thickness)
        if read_whole(project, changed).gap_mm() >= 0.0:
            yield f"a spacer of {said.plain(thickness)}", changed, thickness - wheel.spacer_mm
            break
    for words, zones, dz, dr, most in (
        ("spoke back relieved by", _BACK, 1.0, 0.0, _MOST_BACK_MM),
        ("barrel relieved by", _BARREL, 0.0, 1.0, _MOST_BARREL_MM),
    ):
        at = _least(project, relief(wheel, zones, Side.BRAKE, dz, dr), most)
        if at is not None:
            yield f"{words} {said.length(at[0], 1)}", at[1], at[0]
    yield from _resized(wheel)


def inset_words(said: Told, changed: Wheel, wheel: Wheel) -> str:
    """Return which inset a wheel has in place of another."""
    return f"inset {said.length(changed.inset_mm, 1)} instead of {said.length(wheel.inset_mm, 1)}"


def _inset_changed(wheel: Wheel, way: float, by: float) -> Wheel:
    return wheel_edits.with_inset(wheel, wheel.inset_mm + way * by)


def _widened(wheel: Wheel, keep: str, width_code: float) -> Wheel:
    return wheel_edits.with_width(wheel, width_code, keep)


def _resized(wheel: Wheel) -> Iterator[tuple[str, Wheel, float]]:
    size = wheel.size
    made: list[tuple[str, Change, float, float]] = []
    for more in (0.5, 1.0):
        for keep in ("backspace", "inset", "inboard"):
            kept = {"inboard": "outer flange"}.get(keep, keep)
            words = f"width {size.width_code + more:g} instead of {size.width_code:g}, {kept} kept"
            made.append((words, partial(_widened, wheel, keep), size.width_code + more, 25.4 * more))
    made.append(
        (
            f"diameter {size.diameter_code + 1.0:g} instead of {size.diameter_code:g}",
            lambda d: replace(wheel_edits.with_diameter(wheel, d), tyre=""),
            size.diameter_code + 1.0,
            25.4,
        )
    )
    if wheel.rim is not None:
        other = WellSide.INBOARD if wheel.rim.well is WellSide.OUTBOARD else WellSide.OUTBOARD
        # The well goes to the other half of the rim.
        half = 25.4 * size.width_code / 2.0
        made.append((f"well {other}", lambda _: wheel_edits.with_well(wheel, other), 0.0, half))
    for words, change, value, by_mm in made:
        try:
            changed = change(value)
        except GeometryError:
            continue
        yield words, changed, by_mm


def relief(wheel: Wheel, zones: Sequence[Zone], side: Side, dz: float, dr: float) -> Change:
    """Return what moves one side of some zones into the metal, by dz along the axle and dr away from it a mm.

    What bears on the hub stays. The change raises GeometryError where there is nothing to move.
    """
    built = build(wheel.section)
    moving: list[int] = []
    if isinstance(built, Outline):
        wanted = [ZONES.index(zone) for zone in zones]
        number = tuple(Side).index(side)
        vertices = wheel.section.vertices
        for i in range(wheel.section.locked, len(vertices)):
            mine = built.vertex == i
            if vertices[i].zone in _HUB or vertices[i - 1].zone in _HUB:
                continue
            if mine.any() and np.all(built.side[mine] == number) and np.isin(built.zone[mine], wanted).any():
                moving.append(i)

    def relieved(by: float) -> Wheel:
        section = wheel.section
        for i in moving:
            v = section.vertices[i]
            section = with_vertex_at(section, i, v.z + dz * by, v.r + dr * by)
        return wheel.with_section(section)

    return relieved if moving else _nothing


def _nothing(_by: float) -> Wheel:
    raise GeometryError("There is nothing to relieve.")


def _least(project: Project, change: Change, most: float) -> tuple[float, Wheel] | None:
    """Return the least change in steps of STEP_MM that clears every gap; None up to `most`.

    What a gap lacks it gains by no less a change, since no place moves farther than the change.
    """
    by = STEP_MM
    while by <= most:
        try:
            changed = change(by)
        except GeometryError:
            return None
        lack = -read_whole(project, changed).gap_mm()
        if lack <= 0.0:
            return by, changed
        if not math.isfinite(lack):
            return None
        by = round(by + max(STEP_MM, math.floor(lack / 1.05 / STEP_MM) * STEP_MM), 6)
    return None


# What else it does


def _offer(
    words: str, wheel: Wheel, changed: Wheel, by_mm: float, before: WholeRead, after: WholeRead, said: Told
) -> Offer:
    old, new = before.found, after.found
    assert old is not None
    assert new is not None
    mass = new.solid.mass_kg - old.solid.mass_kg
    return Offer(
        words,
        changed,
        by_mm,
        mass,
        tuple(effects(wheel, changed, old, new, said)),
        broken(new, after, said, bool(wheel.tyre) and not changed.tyre),
    )


def broken(new: Measurements, after: WholeRead, said: Told, drops_tyre: bool = False) -> tuple[str, ...]:
    """Return the rules of wall, stock, hub and tyre that are missed; else what leaves the wheel not known."""
    missed = [
        f"{row.zone} wall {said.length(row.least_mm)}, needs {said.length(row.required_mm)}"
        for row in new.wall
        if row.spare_mm is not None and row.spare_mm < 0.0
    ]
    missed += [
        f"{row.zone} stock, {row.side} side {said.length(row.least_mm)}, needs {said.length(row.required_mm)}"
        for row in new.stock
        if row.spare_mm is not None and row.spare_mm < 0.0
    ]
    missed += [
        f"{row.name.lower()} {said.length(row.value)}"
        + (f", needs {said.length(row.required)}" if row.required else "")
        for row in new.hub
        if row.state is not None and row.state.value in ("short", "touching")
    ]
    if after.road is None:
        return (*missed, "no conditions of the road: choose a set")
    read = after.road.tyre
    missed += [
        f"tyre to {row.shape} {said.length(row.least_mm)}, needs {said.length(row.required_mm)}"
        for row in read.rows
        if row.spare_mm is not None and row.spare_mm < 0.0
    ]
    missed += [
        f"tyre to {row.shape} {said.length(row.worst_mm)} in the worst state, "
        f"needs {said.length(row.required_mm)}"
        for row in read.worst
        if row.spare_mm is not None and row.spare_mm < 0.0
    ]
    missed += [finding.text for finding in read.findings if finding.decides]
    if drops_tyre:
        missed.append("the tyre is to be chosen anew, and is not judged until then")
    if not missed and whole_state(after.measured, after.road) not in (State.TIGHT, State.CLEAR):
        missed.append(f"not known until settled: {_question(new, after.road)}")
    return tuple(missed)


def _question(new: Measurements, road: Road) -> str:
    """Return the first thing that keeps a wheel from being known."""
    asked = [*new.questions, *road.questions]
    asked += [q for row in (*new.gap, *road.tyre.rows) for q in row.questions]
    return asked[0] if asked else "an input is missing"


def effects(wheel: Wheel, changed: Wheel, old: Measurements, new: Measurements, said: Told) -> Iterator[str]:
    """Yield what a change of a wheel does beside what it is for, each in words."""
    moved = (changed.spacer_mm - wheel.spacer_mm) - (changed.inset_mm - wheel.inset_mm)
    if abs(moved) > 0.005:
        way = "out" if moved > 0 else "in"
        yield f"rim {said.length(abs(moved), 1)} farther {way}, track {said.change(2.0 * moved, 1)}"
    mass = new.solid.mass_kg - old.solid.mass_kg
    if abs(mass) >= 0.005:
        yield f"mass {said.more_mass(mass)}"
    before = {row.zone: row.least_mm for row in old.wall}
    thinner = [(row.least_mm - before[row.zone], row) for row in new.wall if row.zone in before]
    change, row = min(thinner, key=lambda pair: pair[0], default=(0.0, None))
    if row is not None and change < -0.005:
        yield f"{row.zone} wall {said.length(row.least_mm)} ({said.change(change)})"
    stock = {(r.zone, r.side): r.least_mm for r in old.stock}
    less = [(r.least_mm - stock[r.zone, r.side], r) for r in new.stock if (r.zone, r.side) in stock]
    lost, of = min(less, key=lambda pair: pair[0], default=(0.0, None))
    if of is not None and lost < -0.005:
        yield f"{of.zone} stock {said.length(of.least_mm)} ({said.change(lost)})"
    hub = {r.key: r.value for r in old.hub}
    for reading in new.hub:
        if reading.key in hub and abs(reading.value - hub[reading.key]) > 0.005 and reading.unit == "mm":
            now, was = (said.length(v, 1) for v in (reading.value, hub[reading.key]))
            yield f"{reading.name.lower()} {now} (was {was})"
    if changed.size != wheel.size:
        yield f"another size, {changed.size}: {_tyre_choice(wheel, changed)}, another blank may be needed"

    # What a table from memory says of the tyre warns; what is wrong for certain stands under `breaks`.
    known = {finding.text for finding in tyre_findings(wheel)}
    for finding in tyre_findings(changed):
        if finding.word is Word.WRONG and not finding.decides and finding.text not in known:
            yield f"look: {finding.text}"


def _tyre_choice(wheel: Wheel, changed: Wheel) -> str:
    """Return what a change of size does to the choice of tyre."""
    try:
        width = parse_tyre(wheel.tyre).width_mm
    except TyreError:
        return "other tyres"
    if changed.tyre == wheel.tyre:
        return f"the tyre stays {wheel.tyre}"
    return (
        f"choose another tyre ({width} wide: {choice_words(width, changed.size.diameter_code)}, from memory)"
    )

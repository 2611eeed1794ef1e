"""What would make a wheel cuttable: the least change of each kind of the wheel, or of its blank.

Every wheel that is tried is slid to where it sits best in the blank, so that no change is asked for that a
slide would save. A change of the wheel that breaks another rule is no cure and says what it breaks.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from app.project import wheel_edits
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.fit import hold
from app.studies.offers import Change, Offer, WholeRead, broken, effects, inset_words, read_whole, relief
from app.studies.quick_seat import quick_seat, rows_at
from app.studies.seating import spare_mm
from app.studies.told import Told, told
from geometry.errors import GeometryError
from geometry.readings.measure import Measurements
from geometry.readings.rows import Held, Place, StockRow
from geometry.readings.rules import ROUNDING_MM
from geometry.shape.section import ZONES, Outline, Side, Zone, build
from geometry.tolerances import LARGEST_MM

#: Changes are offered in steps of this, mm.
STEP_MM = 0.1
_MOST_INSET_MM, _MOST_RELIEF_MM = 40.0, 12.0
_MOST_ROUNDS = 12
#: What moves and how far at a millimetre of it: words, zones, side, dz, dr.
_RELIEFS: tuple[tuple[str, tuple[Zone, ...], Side, float, float], ...] = (
    ("spokes shallower at the back by", (Zone.SPOKE_BACK, Zone.SHOULDER), Side.BRAKE, 1.0, 0.0),
    ("spokes shallower at the face by", (Zone.SPOKE_FACE,), Side.STREET, -1.0, 0.0),
    ("barrel thinner by", (Zone.BARREL, Zone.WELL), Side.BRAKE, 0.0, 1.0),
    ("inner lip thinner by", (Zone.INNER_LIP, Zone.INNER_SEAT), Side.BRAKE, 0.0, 1.0),
)
#: The stock of a wheel is grown and cut in outlines flattened within this, mm.
_FLAT_MM = 0.01
#: What is missing by less than this is not said.
_ROUNDING_MM = 0.005


@dataclass(frozen=True)
class Lack:
    """What the blank would need more, with the wheel where it sits or sits best, whichever is less.

    Attributes:
        sides: zone, side, missing mm and place on the wheel (mounting face at z 0), the most missing first.
        mass_kg: metal that is not there, stock in it; before draft and fillets.
        seat_mm: z of the blank's own zero in the wheel's frame.
    """

    sides: tuple[tuple[str, str, float, Place], ...]
    mass_kg: float
    seat_mm: float


@dataclass(frozen=True)
class Cuttable:
    """What mends a miss.

    Attributes:
        is_cuttable: nothing is missing where the wheel sits now; then there is nothing to mend.
        offers: changes of the wheel after which all of its stock is there: cures first, then by change of
            mass, then by size.
        lack: what a blank must have more for the wheel as it is; None where a slide mends it.
    """

    is_cuttable: bool
    offers: tuple[Offer, ...]
    lack: Lack | None


def what_would_cut(project: Project, wheel: Wheel, cancelled: Callable[[], bool] | None = None) -> Cuttable:
    """Return what would make a wheel cuttable from the blank that it names.

    Args:
        project: holds its parts.
        wheel: at its seat; a miss is looked for there first.
        cancelled: asked between the kinds of change; those found so far are returned.

    Raises:
        GeometryError: the wheel names no blank, or one of them has no outline.
    """
    if wheel.blank is None:
        raise GeometryError(f"Wheel '{wheel.name}' names no blank; choose or draw one.")
    before = read_whole(project, wheel)
    if before.found is None:
        raise GeometryError(f"Wheel '{wheel.name}': {before.measured.faults[0].message}")
    if _least_stock(before.found.stock) >= -ROUNDING_MM:
        return Cuttable(True, (), None)
    found: list[Offer] = []
    for words, changed, by_mm in _candidates(project, wheel):
        if cancelled is not None and cancelled():
            break
        after = read_whole(project, changed)
        if after.found is not None and _least_stock(after.found.stock) >= -ROUNDING_MM:
            found.append(_offer(words, wheel, changed, by_mm, before.found, after, told(project)))
    found.sort(key=lambda r: (not r.is_cure, round(abs(r.mass_kg), 3), r.by_mm))
    slides = any(r.mass_kg == 0.0 and r.wheel.vertices == wheel.vertices for r in found)
    return Cuttable(False, tuple(found), None if slides else _lack(project, wheel))


def lack_words(lack: Lack, lengths: Callable[[float], str], mass: Callable[[float], str]) -> str:
    """Return what a blank must have more, as a sentence: where, how much, and its mass."""
    sides = [f"{zone}, {side} side {lengths(mm)}" for zone, side, mm, _ in lack.sides]
    return (
        f"The blank would need about {mass(lack.mass_kg)} more metal, before draft and fillets: "
        f"{'; '.join(sides)}."
    )


def _least_stock(rows: tuple[StockRow, ...]) -> float:
    return min((spare_mm(row) for row in rows), default=-math.inf)


def _seated(project: Project, wheel: Wheel) -> tuple[Wheel, tuple[StockRow, ...]]:
    """Return a wheel at its best seat in the blank, and its stock there.

    Raises:
        GeometryError: it has no outline.
    """
    outline, held = _in_blank(project, wheel)
    assert held.stock_path is not None
    seat, rows = quick_seat(outline, held, held.stock_path)
    return replace(wheel, seat_mm=round(seat, 2)), rows


def _in_blank(project: Project, wheel: Wheel) -> tuple[Outline, Held]:
    bare = replace(wheel, clears=(), spacer_mm=0.0)
    outline, held = build(bare.section), hold(project, bare)
    if not isinstance(outline, Outline):
        raise GeometryError(outline[0].message)
    if not isinstance(held, Held):
        raise GeometryError(held[0].message)
    return outline, held.with_blank_moved(-wheel.seat_mm)


def _candidates(project: Project, wheel: Wheel) -> Iterator[tuple[str, Wheel, float]]:
    """Yield words, wheel and size of the least change of every kind after which all stock is there."""
    said = told(project)
    slid, rows = _seated(project, wheel)
    if _least_stock(rows) >= -ROUNDING_MM:
        by = slid.seat_mm - wheel.seat_mm
        yield _slid(said, by), slid, abs(by)
        return
    for way in (1.0, -1.0):
        at = _least(project, partial(_inset, wheel, way), _MOST_INSET_MM)
        if at is not None:
            yield inset_words(said, at[1], wheel), at[1], at[0]
    yield from _narrower(project, wheel)
    for words, zones, side, dz, dr in _RELIEFS:
        at = _least(project, relief(wheel, zones, side, dz, dr), _MOST_RELIEF_MM)
        if at is not None:
            yield f"{words} {said.length(at[0], 1)}", at[1], at[0]
    for start in (wheel, slid):
        together = _together(project, start)
        if together is not None:
            yield together
            return


def _together(project: Project, wheel: Wheel) -> tuple[str, Wheel, float] | None:
    """Return the wheel at its seat with every short side relieved by what it lacks; None where one cannot be.

    A side that is relieved may take its neighbour with it, so that the lack is read anew each time.
    """
    taken = [0.0] * len(_RELIEFS)
    for _ in range(_MOST_ROUNDS):
        changed = wheel
        try:
            for (_, zones, side, dz, dr), by in zip(_RELIEFS, taken, strict=True):
                if by > 0.0:
                    changed = relief(changed, zones, side, dz, dr)(by)
            outline, held = _in_blank(project, changed)
        except GeometryError:
            return None
        assert held.stock_path is not None
        rows = rows_at(outline, held, held.stock_path, changed.seat_mm)
        short = [row for row in rows if spare_mm(row) < -ROUNDING_MM]
        if not short:
            said = told(project)
            words = [f"{_RELIEFS[k][0]} {said.length(by, 1)}" for k, by in enumerate(taken) if by > 0.0]
            return ", ".join(words), changed, max(taken)
        more: dict[int, float] = {}
        for row in short:
            group = _group(row)
            if group is None:
                return None
            more[group] = max(more.get(group, 0.0), math.ceil(-spare_mm(row) / STEP_MM - 1e-9) * STEP_MM)
        for group, by in more.items():
            taken[group] = round(taken[group] + by, 6)
        if max(taken) > _MOST_RELIEF_MM:
            return None
    return None


def _group(row: StockRow) -> int | None:
    """Return the number of the relief that moves a side."""
    for k, (_, zones, side, _, _) in enumerate(_RELIEFS):
        if row.zone in [str(zone) for zone in zones] and row.side == str(side):
            return k
    return None


def _inset(wheel: Wheel, way: float, by: float) -> Wheel:
    return wheel_edits.with_inset(wheel, round(wheel.inset_mm + way * by, 6))


def _narrower(project: Project, wheel: Wheel) -> Iterator[tuple[str, Wheel, float]]:
    now = wheel.size.width_code
    for keep, words in (("inset", "inset"), ("backspace", "backspace"), ("inboard", "outer flange")):
        for less in (0.5, 1.0, 1.5, 2.0):
            try:
                made, rows = _seated(project, wheel_edits.with_width(wheel, now - less, keep))
            except GeometryError:
                continue
            if _least_stock(rows) >= -ROUNDING_MM:
                yield f"width {now - less:g} instead of {now:g}, {words} kept", made, 25.4 * less
                break


def _least(project: Project, change: Change, most: float) -> tuple[float, Wheel] | None:
    """Return the least change in steps of STEP_MM after which all stock is there; None up to `most`.

    What stock lacks it gains by no less a change, since no place moves farther than the change.
    """
    by = STEP_MM
    while by <= most:
        try:
            made, rows = _seated(project, change(by))
        except GeometryError:
            return None
        lack = -_least_stock(rows)
        if lack <= 0.0:
            return by, made
        if not math.isfinite(lack):
            return None
        by = round(by + max(STEP_MM, math.floor(lack / 1.05 / STEP_MM) * STEP_MM), 6)
    return None


def _offer(
    words: str, wheel: Wheel, changed: Wheel, by_mm: float, old: Measurements, after: WholeRead, said: Told
) -> Offer:
    new = after.found
    assert new is not None
    gaps = [
        f"{row.body or row.zone} to {row.shape} {said.length(row.least_mm)}, "
        f"needs {said.length(row.required_mm)}"
        for row in new.gap
        if row.spare_mm is not None and row.required_mm is not None and row.spare_mm < 0.0
    ]
    worst = after.road.rows if after.road is not None else ()
    gaps += [
        f"{row.body or row.zone} to {row.shape} {said.length(row.worst_mm)} in the worst state"
        for row in worst
        if row.spare_mm is not None and row.spare_mm < 0.0
    ]
    more = list(effects(wheel, changed, old, new, said))
    by = changed.seat_mm - wheel.seat_mm
    if abs(by) >= 0.05 and not words.startswith("slid"):
        more.append(_slid(said, by))
    mass = new.solid.mass_kg - old.solid.mass_kg
    return Offer(words, changed, by_mm, mass, tuple(more), (*gaps, *broken(new, after, said)))


def _slid(said: Told, by: float) -> str:
    return f"slid {said.length(abs(by), 1)} {'inboard' if by > 0.0 else 'outboard'} in the blank"


def _lack(project: Project, wheel: Wheel) -> Lack:
    """Return what the blank lacks for a wheel, at its own seat or at its best one: the less of both."""
    slid, _ = _seated(project, wheel)
    return min((_lack_at(project, w) for w in (wheel, slid)), key=lambda lack: lack.mass_kg)


def _lack_at(project: Project, wheel: Wheel) -> Lack:
    outline, held = _in_blank(project, wheel)
    assert held.stock_path is not None
    rows = rows_at(outline, held, held.stock_path, wheel.seat_mm)
    short = [(row.zone, row.side, -spare_mm(row), row.at) for row in rows if spare_mm(row) < -_ROUNDING_MM]
    missing = _with_stock(outline, held).difference(_usable(held, wheel.seat_mm))
    missing = missing.intersection(shapely.box(-LARGEST_MM, 0.0, LARGEST_MM, LARGEST_MM))
    volume = 0.0 if missing.is_empty else 2.0 * math.pi * missing.area * missing.centroid.y
    return Lack(tuple(short), volume * held.density_kg_m3 * 1e-9, wheel.seat_mm)


def _with_stock(outline: Outline, held: Held) -> BaseGeometry:
    """Return the section with every piece of its skin grown by the stock of its zone."""
    path = outline.path
    parts = [shapely.Polygon(path.flattened(_FLAT_MM))]
    for k in np.flatnonzero(outline.skin):
        rule = held.rules.for_stock(ZONES[int(outline.zone[k])]) if held.rules is not None else None
        if rule is None or rule.required_mm <= 0.0:
            continue
        share = np.linspace(0.0, 1.0, 33 if path.is_arc[k] else 2)
        places = path.at(np.full(len(share), k), share)
        parts.append(shapely.LineString(places).buffer(rule.required_mm, quad_segs=32))
    return shapely.union_all(parts)


def _usable(held: Held, seat_mm: float) -> BaseGeometry:
    """Return what can be relied on of the blank, closed across the axle, in the wheel's frame."""
    assert held.stock_path is not None
    half = held.stock_path.moved(dz=seat_mm).flattened(_FLAT_MM)
    whole = shapely.union(shapely.Polygon(half), shapely.Polygon(half * (1.0, -1.0)))
    return whole.buffer(-held.skin_mm) if held.skin_mm else whole

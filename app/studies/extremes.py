"""What a blank still lets a wheel have: the thickest inner lip, the deepest spoke, the largest brake.

The drawn wheel stays at its seat; one thing is changed as far as stock, wall and gap rules let it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.fit import measure_wheel
from app.studies.offers import Change, relief
from app.studies.seating import spare_mm
from geometry.errors import GeometryError
from geometry.readings.measure import Measurements
from geometry.shape.faults import Fault
from geometry.shape.outline import ShapeKind
from geometry.shape.section import ZONES, Outline, Side, Zone, build

#: Nothing is changed by more than this, and what is found is within so much, mm.
MOST_MM, FOUND_MM = 40.0, 0.02
_LIP, _BACK, _FACE = (Zone.INNER_LIP, Zone.INNER_SEAT), (Zone.SPOKE_BACK, Zone.SHOULDER), (Zone.SPOKE_FACE,)
_BARREL = (Zone.BARREL, Zone.WELL)
#: Kinds of faults: of corner radii, and of an outline that meets itself.
_ROUNDED = ("radius does not fit", "radius without corner", "radii overlap")
_CROSSED = ("outline crosses itself", "outline folds back", "edge without length")


class Lengths(Protocol):
    """What writes a length."""

    def length(self, value_mm: float | None) -> str:
        """Return it as text."""


@dataclass(frozen=True)
class Extreme:
    """One thing that can still be had.

    Attributes:
        words: what. now_mm: as drawn. most_mm: at most, at least for none more; None where it is not known.
        why: what ends it, or why it is not known.
        wheel: as changed, held against nothing; None where it is not known.
    """

    words: str
    now_mm: float | None
    most_mm: float | None
    why: str
    wheel: Wheel | None = None


def still_to_be_had(project: Project, wheel: Wheel) -> tuple[Extreme, ...]:
    """Return lip, spoke, reach and overhang of the largest brake, of a wheel in the blank that it names.

    Raises:
        GeometryError: the wheel names no blank, or has no readings.
    """
    if wheel.blank is None:
        raise GeometryError(f"Wheel '{wheel.name}' names no blank; choose or draw one.")
    bare = replace(wheel, clears=(), rings=(), spacer_mm=0.0)
    now = _read(project, bare)
    return (
        _by_stock(
            project, bare, now, "thickest inner lip, under the heel", "inner_lip_under_heel", _LIP, -1.0
        ),
        _deepest_spoke(project, bare, now),
        _reach(project, bare),
        _overhang(project, bare),
    )


def extreme_words(extreme: Extreme, numbers: Lengths) -> str:
    """Return one as a line: 'thickest inner lip, under the heel: 5.76 (now 5.52), ends by ...'."""
    if extreme.most_mm is None:
        return f"{extreme.words}: not known, {extreme.why}"
    now = f" (now {numbers.length(extreme.now_mm)})" if extreme.now_mm else ""
    return f"{extreme.words}: {numbers.length(extreme.most_mm)}{now}, ends by {extreme.why}"


def _read(project: Project, wheel: Wheel) -> Measurements:
    measured = measure_wheel(project, wheel)
    if measured.measurements is None:
        raise GeometryError(f"Wheel '{wheel.name}': {measured.faults[0].message}")
    return measured.measurements


Spare = Callable[[Measurements], tuple[float, str]]


def _stock_of(zones: Sequence[Zone], side: Side) -> Spare:
    """Return what reads the least spare stock of some zones' side, and its words."""

    def read(found: Measurements) -> tuple[float, str]:
        rows = [r for r in found.stock if r.zone in [str(z) for z in zones] and r.side == str(side)]
        if not rows:
            return -1.0, "no stock is known there"
        first = min(rows, key=spare_mm)
        return spare_mm(first), f"stock of the {first.zone}, {first.side} side"

    return read


def _wall_of(zones: Sequence[Zone]) -> Spare:
    def read(found: Measurements) -> tuple[float, str]:
        rows = [r for r in found.wall if r.zone in [str(z) for z in zones] and r.spare_mm is not None]
        if not rows:
            return -1.0, "no wall rule there"
        first = min(rows, key=lambda r: r.spare_mm if r.spare_mm is not None else 0.0)
        return first.spare_mm or 0.0, f"wall of the {first.zone}"

    return read


def _most(project: Project, change: Change, spare: Spare) -> tuple[float, str] | str:
    """Return how far a change may go and what ends it; why it may not go at all where it is short already."""

    def read(by: float) -> tuple[float, str]:
        try:
            changed = change(by)
        except GeometryError as error:
            return -1.0, str(error)
        measured = measure_wheel(project, changed)
        if measured.measurements is None:
            return -1.0, _drawing_ends(changed, measured.faults[0])
        return spare(measured.measurements)

    try:
        least, why = spare(_read(project, change(0.0)))
    except GeometryError as error:
        return str(error)
    if least < 0.0:
        return f"short already: {why}"
    low, high = 0.0, MOST_MM
    ends = read(high)
    if ends[0] >= 0.0:
        return high, "nothing within reach"
    while high - low > FOUND_MM:
        middle = (low + high) / 2.0
        found = read(middle)
        if found[0] >= 0.0:
            low = middle
        else:
            high, ends = middle, found
    return low, ends[1]


def _drawing_ends(wheel: Wheel, fault: Fault) -> str:
    """Return why a changed wheel cannot be drawn any more: the drawing ends it, not the blank."""
    vertices = wheel.section.vertices
    nearest = 0
    if fault.vertices:
        nearest = fault.vertices[0]
    elif fault.place is not None:
        away = [math.dist((v.z, v.r), fault.place) for v in vertices]
        nearest = away.index(min(away))
    zone = f"the {vertices[nearest].zone}"
    if fault.kind in _ROUNDED:
        return f"the drawing: a corner radius of {zone} has no more room; make it smaller and read again"
    if fault.kind in _CROSSED:
        return f"the drawing: the outline would cross itself at {zone}; redraw that place and read again"
    return f"the drawing, which cannot be read beyond at {zone}: {fault.message}"


def _by_stock(
    project: Project, wheel: Wheel, now: Measurements, words: str, key: str, zones: Sequence[Zone], dr: float
) -> Extreme:
    value = next((r.value for r in now.lip if r.key == key), None)
    change = relief(wheel, zones, Side.BRAKE, 0.0, dr)
    found = _most(project, change, _stock_of(zones, Side.BRAKE))
    if isinstance(found, str) or value is None:
        return Extreme(words, value, None, found if isinstance(found, str) else "it has no such reading")
    made = change(found[0])
    most = next((r.value for r in _read(project, made).lip if r.key == key), None)
    return Extreme(words, value, most, found[1], made)


def _deepest_spoke(project: Project, wheel: Wheel, now: Measurements) -> Extreme:
    """The back goes inboard and the face outboard, each as far as its own stock."""
    words, key = "deepest spoke, where it is least deep", "spoke_depth_least"
    value = next((r.value for r in now.lip if r.key == key), None)
    back = relief(wheel, _BACK, Side.BRAKE, -1.0, 0.0)
    inboard = _most(project, back, _stock_of(_BACK, Side.BRAKE))
    if isinstance(inboard, str) or value is None:
        return Extreme(words, value, None, inboard if isinstance(inboard, str) else "it has no such reading")
    deeper = back(inboard[0])
    face = relief(deeper, _FACE, Side.STREET, 1.0, 0.0)
    outboard = _most(project, face, _stock_of(_FACE, Side.STREET))
    if isinstance(outboard, str):
        return Extreme(words, value, None, outboard)
    made = face(outboard[0])
    most = next((r.value for r in _read(project, made).lip if r.key == key), None)
    return Extreme(words, value, most, f"{inboard[1]}; {outboard[1]}", made)


def _needed(project: Project, wheel: Wheel, zone: Zone) -> float | None:
    rules = next((r for r in project.rule_sets if r.name == wheel.rules), None)
    rule = rules.for_gap(ShapeKind.CALIPER, zone) if rules is not None else None
    return None if rule is None else rule.needed_mm


def _skin(wheel: Wheel, zone: Zone) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Return the vertices (n, 2) of a zone's brake side; none where the section has no outline."""
    built = build(wheel.section)
    if not isinstance(built, Outline):
        return np.empty((0, 2))
    brake = tuple(Side).index(Side.BRAKE)
    mine = (built.zone == ZONES.index(zone)) & (built.side == brake) & built.skin
    return np.vstack([built.path.points[mine], built.path.ends[mine]])


def _reach(project: Project, wheel: Wheel) -> Extreme:
    """The barrel goes outwards until its wall is the rule's; the brake stays its gap inside."""
    words, zone = "largest brake by radius, under the barrel", Zone.BARREL
    needed, places = _needed(project, wheel, zone), _skin(wheel, zone)
    if needed is None or not len(places):
        return Extreme(words, None, None, "no gap rule, or no barrel")
    change = relief(wheel, _BARREL, Side.BRAKE, 0.0, 1.0)
    found = _most(project, change, _wall_of(_BARREL))
    now = float(places[:, 1].min()) - needed
    if isinstance(found, str):
        return Extreme(words, now, None, found)
    return Extreme(words, now, now + found[0], found[1], change(found[0]))


def _overhang(project: Project, wheel: Wheel) -> Extreme:
    """Face and back go outboard as far as the face's stock, then the back as far as the spokes' wall."""
    words = "spoke backs farther outboard, for a brake that hangs over more"

    def both(by: float) -> Wheel:
        return relief(relief(wheel, _FACE, Side.STREET, 1.0, 0.0)(by), _BACK, Side.BRAKE, 1.0, 0.0)(by)

    out = _most(project, both, _stock_of(_FACE, Side.STREET))
    if isinstance(out, str):
        return Extreme(words, 0.0, None, out)
    thin = relief(both(out[0]), _BACK, Side.BRAKE, 1.0, 0.0)
    back = _most(project, thin, _wall_of((Zone.SPOKE_BACK, Zone.SPOKE_FACE, Zone.SHOULDER)))
    if isinstance(back, str):
        return Extreme(words, 0.0, out[0], back)
    return Extreme(words, 0.0, out[0] + back[0], f"{out[1]}; {back[1]}", thin(back[0]))

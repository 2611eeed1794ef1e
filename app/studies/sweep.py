"""Spacer, inset, tilt or width swept: the curve of the least gap, and the window in which all clears."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from app.project import edits, wheel_edits
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.fit import Measured, hold, measure_wheel
from app.studies.road import on_the_road
from geometry.errors import GeometryError
from geometry.readings.conditions import Conditions, Pose
from geometry.readings.gap_rows import gap_rows
from geometry.readings.measure import GapRow
from geometry.readings.rows import Held, NamedReading, Place
from geometry.readings.rules import State
from geometry.readings.stack import StackRow

#: How far from the present value a window is looked for, mm.
REACH_MM = 60.0
#: An edge of a window is found within this, mm.
EDGE_MM = 0.02
#: No step is longer, mm: walls may change at any rate and are only looked at from step to step.
_LONGEST_MM = 1.0
#: Gap, stock and hub fit change by no more than the way walked; a hot wheel is larger by some thousandths.
_RATE = 1.05


class Over(StrEnum):
    """What is swept."""

    SPACER = "spacer"
    INSET = "inset"
    TILT = "tilt"
    WIDTH = "width"


@dataclass(frozen=True)
class SweepPoint:
    """The least gap at one value; None and the reason in `trouble` where there is none.

    Attributes:
        value: mm, degrees of tilt, or width code.
        least_mm, spare_mm: of the gap that has least to spare, on paper or in the worst state of the wheel's
            conditions; a tilt is itself a state, and read on paper. Spare None without a rule.
        zone, body, shape, at: where, hub frame.
        condition: words of the worst state where that decides; empty on paper.
    """

    value: float
    least_mm: float | None
    spare_mm: float | None
    zone: str = ""
    body: str = ""
    shape: str = ""
    at: Place | None = None
    condition: str = ""
    trouble: str = ""


@dataclass(frozen=True)
class Sweep:
    """A curve.

    Attributes:
        points: in the order of the values.
        best: the point with the largest spare (or gap, without a rule); None where nothing was read.
        is_monotone: the curve only rises or only falls: more is not always better where it is not.
    """

    over: Over
    points: tuple[SweepPoint, ...]
    best: SweepPoint | None
    is_monotone: bool


def sweep(
    project: Project,
    wheel: Wheel,
    over: Over,
    values: Sequence[float],
    cancelled: Callable[[], bool] | None = None,
) -> Sweep:
    """Return the least gap at each value; those left when it is cancelled are missing."""
    points: list[SweepPoint] = []
    for value in values:
        if cancelled is not None and cancelled():
            break
        points.append(_point(project, wheel, over, float(value)))
    read = [p for p in points if p.least_mm is not None]
    heights = np.array([_height(p) for p in read])
    steps = np.diff(heights)
    # Steps within rounding neither rise nor fall.
    is_monotone = bool(np.all(steps >= -1e-9) or np.all(steps <= 1e-9))
    return Sweep(over, tuple(points), max(read, key=_height, default=None), is_monotone)


def _height(point: SweepPoint) -> float:
    return point.spare_mm if point.spare_mm is not None else point.least_mm or 0.0


def changed(wheel: Wheel, over: Over, value: float) -> Wheel:
    """Return the wheel with another spacer, inset or width; itself for a tilt.

    Raises:
        GeometryError: there is no such wheel.
    """
    if over is Over.SPACER:
        return replace(wheel, spacer_mm=value)
    if over is Over.INSET:
        return wheel_edits.with_inset(wheel, value)
    if over is Over.WIDTH:
        return wheel_edits.with_width(wheel, value)
    return wheel


def _point(project: Project, wheel: Wheel, over: Over, value: float) -> SweepPoint:
    try:
        made = changed(wheel, over, value)
        measured = measure_wheel(project, made)
    except GeometryError as error:
        return SweepPoint(value, None, None, trouble=str(error))
    if measured.measurements is None:
        return SweepPoint(value, None, None, trouble=measured.faults[0].message)
    if over is Over.TILT:
        points = [_on_paper(value, row) for row in _tilted(project, wheel, measured, value)]
    else:
        points = [_on_paper(value, row) for row in measured.measurements.gap]
        road = on_the_road(project, made, measured)
        if road is not None:
            points += [_on_paper(value, row) for row in road.tyre.rows]
            points += [_at_worst(value, row) for row in (*road.rows, *road.tyre.worst)]
    if not points:
        return SweepPoint(value, None, None, trouble="no stay-out shape near the wheel")
    return min(points, key=lambda p: (p.spare_mm is None, _height(p)))


def _on_paper(value: float, row: GapRow) -> SweepPoint:
    spare = _spare(row.spare_mm, row.least_mm)
    return SweepPoint(value, row.least_mm, spare, row.zone, row.body, row.shape, row.at_wheel)


def _at_worst(value: float, row: StackRow) -> SweepPoint:
    words = row.condition or "worst state"
    spare = _spare(row.spare_mm, row.worst_mm)
    return SweepPoint(value, row.worst_mm, spare, row.zone, row.body, row.shape, row.at_wheel, words)


def _tilted(project: Project, wheel: Wheel, measured: Measured, tilt_deg: float) -> tuple[GapRow, ...]:
    held = hold(project, wheel)
    if measured.outline is None or not isinstance(held, Held):
        return ()
    centre = Conditions("").bearing_z_mm
    if wheel.conditions is not None:
        centre = edits.find(project, edits.CONDITIONS, wheel.conditions).bearing_z_mm
    pose = Pose(tilt_deg, centre)
    outline = replace(measured.outline, path=pose.path(measured.outline.path))
    rings = tuple(replace(ring, path=pose.path(ring.path)) for ring in held.rings)
    return gap_rows(outline, replace(held, rings=rings))


# The window that clears


@dataclass(frozen=True)
class Verdict:
    """The judged reading that has least to spare, of gap on paper and at worst, wall, stock and hub.

    Attributes:
        spare_mm: negative where a rule is missed.
        what: the reading in short words, as 'well to Brake 380 x 34'; an open question does not count here,
            numbers do.
        kind: gap, worst state, stock, wall or hub.
        steady_mm: the least spare of all but walls: none of them is used up within this way.
    """

    spare_mm: float
    what: str
    kind: str
    steady_mm: float = 0.0


def verdict(project: Project, wheel: Wheel, shape: str | None = None) -> Verdict | str:
    """Return what decides a wheel, or why it has no readings.

    Args:
        project: holds its parts.
        wheel: judged by wall, stock, hub and the gaps to what it must clear.
        shape: judge the gap to this shape alone.
    """
    if shape is not None:
        wheel = replace(wheel, clears=(shape,))
    measured = measure_wheel(project, wheel)
    found = measured.measurements
    if found is None:
        return measured.faults[0].message
    road = on_the_road(project, wheel, measured)
    rows = [
        *(
            _verdict(_spare(r.spare_mm, r.least_mm), f"{r.body or r.zone} to {r.shape}", "gap")
            for r in found.gap
        ),
        *(_verdict(r.spare_mm, f"{r.zone}, {r.side} side", "stock") for r in found.stock),
        *(_verdict(r.spare_mm, f"{r.zone} wall", "wall") for r in found.wall),
        *(_verdict(_hub_spare(r), r.name.lower(), "hub") for r in found.hub if r.unit == "mm"),
    ]
    if road is not None:
        rows += [
            _verdict(_spare(r.spare_mm, r.worst_mm), f"{r.body or r.zone} to {r.shape}", "worst state")
            for r in road.rows
        ]
        rows += [
            _verdict(_spare(r.spare_mm, r.least_mm), f"tyre to {r.shape}", "gap") for r in road.tyre.rows
        ]
        rows += [
            _verdict(_spare(r.spare_mm, r.worst_mm), f"tyre to {r.shape} in the worst state", "gap")
            for r in road.tyre.worst
        ]
    judged = [row for row in rows if row is not None]
    if not judged:
        return "nothing is judged: choose a rule set and what the wheel must clear"
    steady = min((abs(row.spare_mm) for row in judged if row.kind != "wall"), default=_LONGEST_MM)
    return replace(min(judged, key=lambda row: row.spare_mm), steady_mm=steady)


def _spare(spare_mm: float | None, gap_mm: float) -> float | None:
    """Return the spare gap; what touches has none, whether a rule speaks of it or not."""
    return gap_mm if spare_mm is None and gap_mm < 0.0 else spare_mm


def _hub_spare(row: NamedReading) -> float | None:
    """Return what a hub reading has to spare; short without a number it misses by its own, or by 1 mm."""
    if row.state in (State.SHORT, State.TOUCHING) and (row.spare is None or row.spare >= 0.0):
        return min(row.value, -1.0)
    return row.spare


def _verdict(spare_mm: float | None, what: str, kind: str) -> Verdict | None:
    return None if spare_mm is None else Verdict(spare_mm, what, kind)


@dataclass(frozen=True)
class Window:
    """The values round the present one, or next to it, at which every number holds.

    Attributes:
        low, high: mm, each the last value that holds.
        closed_low_by, closed_high_by: what closes the window there; empty where it was not found to close.
        holds_now: the present value lies inside.
    """

    low: float
    high: float
    closed_low_by: str
    closed_high_by: str
    holds_now: bool


def search_words(reach: str) -> str:
    """Return how far windows of inset are looked for, and how to look farther; the reach with its unit."""
    return (
        f"insets are looked at up to {reach} either side of the wheel's own; to look farther, "
        "save a version of it at the last inset and read that"
    )


class StoppedError(Exception):
    """A search was cancelled: what it had found must not look finished."""


def window(
    project: Project,
    wheel: Wheel,
    over: Over,
    shape: str | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Window | None:
    """Return the window of inset or spacer in which the wheel clears; the nearest one where it does not now.

    Steps are as long as the least spare of gap, stock and hub fit, which change by no more than the way
    walked: nothing of theirs is skipped, and an edge is found within EDGE_MM. Walls are looked at from step
    to step, 1 mm at most.

    Raises:
        ValueError: only spacer and inset have windows.
        StoppedError: it was cancelled before the window was found.
    """
    if over not in (Over.SPACER, Over.INSET):
        raise ValueError(f"a window of {over} is not looked for")
    start = wheel.spacer_mm if over is Over.SPACER else wheel.inset_mm
    least = 0.0 if over is Over.SPACER else start - REACH_MM

    def spare(value: float) -> Verdict:
        try:
            found = verdict(project, changed(wheel, over, value), shape)
        except GeometryError as error:
            found = str(error)
        return Verdict(-1.0, found, "fault", _LONGEST_MM) if isinstance(found, str) else found

    now = spare(start).spare_mm
    if now >= 0.0:
        inside = start
    else:
        found = [_entered(spare, start, way, least, start + REACH_MM, cancelled) for way in (-1.0, 1.0)]
        if cancelled is not None and cancelled():
            raise StoppedError
        near = [value for value in found if value is not None]
        if not near:
            return None
        inside = min(near, key=lambda value: abs(value - start))
    low, by_low = _left(spare, inside, -1.0, least, cancelled)
    high, by_high = _left(spare, inside, 1.0, start + REACH_MM, cancelled)
    if cancelled is not None and cancelled():
        raise StoppedError
    return Window(low, high, by_low, by_high, now >= 0.0)


def _entered(
    spare: Callable[[float], Verdict],
    start: float,
    way: float,
    least: float,
    most: float,
    cancelled: Callable[[], bool] | None,
) -> float | None:
    """Return the first value on the way at which everything holds; None before the end of the search."""
    value = start
    while least <= value <= most and not (cancelled is not None and cancelled()):
        here = spare(value)
        if here.spare_mm >= 0.0:
            return value
        # What misses most must come back that far; a wall may come back at any rate.
        lack = {"wall": 0.0, "fault": _LONGEST_MM}.get(here.kind, -here.spare_mm / _RATE)
        value += way * max(lack, EDGE_MM)
    return None


def _left(
    spare: Callable[[float], Verdict],
    start: float,
    way: float,
    end: float,
    cancelled: Callable[[], bool] | None,
) -> tuple[float, str]:
    """Return the last value on the way at which everything holds, and what ends it."""
    value = start
    here = spare(value)
    while (value - end) * way < 0.0 and not (cancelled is not None and cancelled()):
        step = min(max(here.steady_mm / _RATE, EDGE_MM), _LONGEST_MM)
        following = value + way * step
        if (following - end) * way > 0.0:
            following = end
        here = spare(following)
        if here.spare_mm < 0.0:
            return _halved(spare, value, following, here.what)
        value = following
    return value, ""


def _halved(spare: Callable[[float], Verdict], good: float, bad: float, what: str) -> tuple[float, str]:
    """Return the last good value before a bad one, within EDGE_MM, and what is missed behind it."""
    while abs(bad - good) > EDGE_MM:
        middle = (good + bad) / 2.0
        here = spare(middle)
        if here.spare_mm < 0.0:
            bad, what = middle, here.what
        else:
            good = middle
    return good, what

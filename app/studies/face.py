"""A wheel from the street: its rings, windows, holes and valve, and its body in space."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from app.project.wheel import Fixing, SingleNut, Spokes, Wheel
from app.studies.fit import holes_of, spokes_of
from geometry.errors import GeometryError
from geometry.readings.body import Body, body
from geometry.readings.face import fill_ratios, windows
from geometry.readings.measure import Measurements
from geometry.readings.solid import BoltHoles, SpokeRegion
from geometry.shape.curve import Array, Path
from geometry.shape.section import Outline

#: Hole of a snap-in valve, mm: 0.453 in, handbook "rim and tests" 1.5 (secondary).
VALVE_HOLE_MM = 11.5
#: No spoke is drawn narrower, mm.
LEAST_WIDTH_MM = 1.0


@dataclass(frozen=True)
class Face:
    """What is drawn of a wheel from the street, mm from the axle.

    Attributes:
        outer_r: of the outer flange; bore_r: of the bore; hub_r: where the full hub ends; rim_r: where the
            windows end, at the root of the outer lip.
        windows: outlines of the windows, (k, 2) each; none for a full disc.
        fill: (k, 2) r and the share of the ring that is metal, between hub_r and rim_r.
        holes: centre x, y and diameter of the bolt holes, socket bores and pin holes.
        valve: centre x, y and diameter of the valve's hole; None where the well has no straight wall for it.
    """

    outer_r: float
    bore_r: float
    hub_r: float
    rim_r: float
    windows: tuple[Array, ...]
    fill: Array
    holes: tuple[tuple[float, float, float], ...]
    valve: tuple[float, float, float] | None


def face_of(wheel: Wheel, outline: Outline | None, measurements: Measurements | None) -> Face:
    """Return the face of a wheel.

    Raises:
        GeometryError: the section has faults, so that it has no face; or no spokes can be drawn from it.
    """
    if outline is None or measurements is None:
        raise GeometryError("The section has faults; mend them first, then its face can be drawn.")
    _, _, low, high = outline.path.bounds
    spokes = spokes_of(wheel)
    hub = wheel.hub.hub_pad_mm / 2.0 if spokes is None else spokes.hub_circle_mm
    rim = high if spokes is None else max(spokes.lip_cut[1], hub)
    return Face(
        high,
        low,
        hub,
        rim,
        () if spokes is None else tuple(windows(spokes, hub, rim)),
        _full(hub, rim) if spokes is None else fill_ratios(spokes, hub, rim),
        _drilled(wheel),
        _valve(measurements, spokes),
    )


def _full(hub: float, rim: float) -> Array:
    return fill_ratios(SpokeRegion(1, ((hub, 2.0 * math.pi * rim),), hub, (0.0, rim), (0.0, rim)), hub, rim)


def _drilled(wheel: Wheel) -> tuple[tuple[float, float, float], ...]:
    fixing = wheel.fixing
    if isinstance(fixing, Fixing):
        return tuple(
            place
            for diameter in sorted({fixing.hole_mm, max(fixing.socket_mm, fixing.hole_mm)}, reverse=True)
            for place in _circle(fixing.count, fixing.circle_mm, diameter)
        )
    if isinstance(fixing, SingleNut):
        return _circle(fixing.pins, fixing.pin_circle_mm, fixing.pin_hole_mm)
    return ()


def _circle(count: int, circle_mm: float, diameter: float) -> tuple[tuple[float, float, float], ...]:
    """Return equal holes, the first half a pitch beside the top as in the body."""
    turns = [math.pi / 2.0 + (k + 0.5) * 2.0 * math.pi / count for k in range(count)]
    return tuple((circle_mm / 2.0 * math.cos(a), circle_mm / 2.0 * math.sin(a), diameter) for a in turns)


def _valve(measurements: Measurements, spokes: SpokeRegion | None) -> tuple[float, float, float] | None:
    """Return the valve's hole in the middle of the lowest window, at the valve land's radius."""
    place = next((row.place for row in measurements.lip if row.key == "valve_land"), None)
    if place is None:
        return None
    angle = -math.pi / 2.0
    if spokes is not None and spokes.count % 2 == 0:
        angle += math.pi / spokes.count
    return place[1] * math.cos(angle), place[1] * math.sin(angle), VALVE_HOLE_MM


def with_width(spokes: Spokes, row: int, width_mm: float) -> Spokes:
    """Return the spokes with another width in one row, at least 1 mm and at most the whole of its ring."""
    r, _ = spokes.widths[row]
    most = 2.0 * math.pi * r / spokes.count
    width = min(max(width_mm, LEAST_WIDTH_MM), most)
    rows = (*spokes.widths[:row], (r, width), *spokes.widths[row + 1 :])
    return replace(spokes, widths=rows)


def fill_of(spokes: Spokes, row: int) -> float:
    """Return the share of the ring at a row's radius that is metal."""
    r, width = spokes.widths[row]
    return min(1.0, spokes.count * width / (2.0 * math.pi * r))


def with_radius(spokes: Spokes, row: int, r_mm: float) -> Spokes:
    """Return the spokes with one row at another radius.

    Raises:
        GeometryError: it would pass the row below or above; the message says between which it may lie.
    """
    rows = spokes.widths
    low = rows[row - 1][0] if row > 0 else 0.0
    high = rows[row + 1][0] if row + 1 < len(rows) else math.inf
    if not low <= r_mm <= high or r_mm <= 0.0:
        above = "" if math.isinf(high) else f" and {high:g}"
        raise GeometryError(f"Rows rise in r: this one may lie between {low:g}{above} mm.")
    return replace(spokes, widths=(*rows[:row], (r_mm, rows[row][1]), *rows[row + 1 :]))


def with_row_after(spokes: Spokes, row: int) -> tuple[Spokes, int]:
    """Return the spokes with a further row halfway to the next, of the width there, and its place.

    After the last row the new one stands 10 mm beyond, at a step it repeats the row above.
    """
    rows = spokes.widths
    r, width = rows[row]
    after = rows[row + 1] if row + 1 < len(rows) else None
    if after is None:
        new = (r + 10.0, width)
    elif after[0] > r:
        new = ((r + after[0]) / 2.0, (width + after[1]) / 2.0)
    else:
        new = after
    return replace(spokes, widths=(*rows[: row + 1], new, *rows[row + 1 :])), row + 1


def without_row(spokes: Spokes, row: int) -> Spokes:
    """Return the spokes without one row of widths.

    Raises:
        GeometryError: it is the only one.
    """
    if len(spokes.widths) == 1:
        raise GeometryError("Spokes need their width at one radius at least; change this one.")
    return replace(spokes, widths=(*spokes.widths[:row], *spokes.widths[row + 1 :]))


def body_of(wheel: Wheel, path: Path) -> Body:
    """Return the wheel in space, of its section in the frame of the hub.

    Raises:
        GeometryError: the spoke cuts do not part the section.
    """
    return _body(path.points.tobytes(), path.bulges.tobytes(), spokes_of(wheel), holes_of(wheel))


@lru_cache(maxsize=4)
def _body(points: bytes, bulges: bytes, spokes: SpokeRegion | None, holes: tuple[BoltHoles, ...]) -> Body:
    path = Path(np.frombuffer(points).reshape(-1, 2), np.frombuffer(bulges))
    return body(path, spokes, holes)

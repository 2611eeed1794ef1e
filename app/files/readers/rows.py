"""Points in the half-plane that follow each other, as the outline that is handed back."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from app.files.readers import late
from app.files.readers.answer import Loop, ReadError, ReadOutline, Request
from app.files.readers.outlines import bounds_of, rows_of
from app.files.readers.pieces import Piece, area, bulged, leftward
from app.files.readers.probe_ball import ball_words, can_take_off, check_ball

if TYPE_CHECKING:
    from geometry.shape.ball import Lessened

Array = NDArray[np.float64]

#: Points nearer than this are one, mm.
_SAME = 1e-6
#: A step this many times the usual one, and the next longest, makes one wonder; of so many rows at least.
_LEAP, _NEXT, _LEAST_ROWS = 20.0, 3.0, 20
#: An outline whose way back to the first row is this many times its longest step is open; of many rows one
#: whose way back is the longest of all.
_OPEN = 3.0


@dataclass(frozen=True)
class Points:
    """What a table holds: (n, 2) places, the bulge of each edge that leaves, what is said and left out."""

    places: Array
    bulges: Array | None
    said: tuple[str, ...]
    skipped: dict[str, int]


def row_outline(
    points: Points, unit: str, request: Request, crossing: tuple[float, float] | None = None
) -> ReadOutline:
    """Return the outline that rows follow, closed from the last to the first.

    Args:
        points: in mm, or in the file's own unit while that is not known.
        unit: of the file.
        request: what is asked for.
        crossing: a place where the outline crosses itself.

    Raises:
        ReadError: the rows enclose no area.
    """
    said, skipped = list(points.said), dict(points.skipped)
    gap = 0.0 if request.close or crossing is not None else _gap(points)
    ring, repeated = _chain(points) if gap else _ring(points)
    if repeated:
        skipped["repeated points"] = repeated
    said += [] if gap else _steps(points)
    hindrance, ball = "", 0.0
    rows = rows_of(ring, request.side)
    loops: tuple[Loop, ...] = () if gap else (rows,)
    chains: tuple[Loop, ...] = ((*rows, (*ring[-1].end, 0.0)),) if gap else ()
    if gap:
        (z0, r0), (z1, r1) = points.places[[-1, 0]].tolist()
        hindrance = (
            f"the outline is open: the way back from the last row, z {z0:.3f}, r {r0:.3f}, to the first, "
            f"z {z1:.3f}, r {r1:.3f}, is {gap:.4g}, more than between any others; add the rows that are "
            "missing, or close it by a straight line with --close"
        )
    elif crossing is not None:
        hindrance = (
            f"the outline crosses itself near z {crossing[0]:.3f}, r {crossing[1]:.3f}; put the rows in "
            "order, or read them as points in any order with --points cloud"
        )
    elif request.ball_mm and can_take_off(request, unit, said):
        if points.bulges is not None:
            raise ReadError(
                "a ball's radius is taken off its centres, and this table has arcs; leave out --ball"
            )
        centres = np.array([p.start for p in ring])
        check_ball(request, centres)
        late.need()
        from geometry.shape.ball import less_ball

        less = less_ball(centres, request.ball_mm)
        ball, hindrance = request.ball_mm, ball_words(less.lost, less.short, request.ball_mm, said)
        loops = _loops(less) or loops
    return ReadOutline(
        # The centres of a ball are measured points, however they follow each other.
        kind="points" if request.ball_mm else "table",
        unit=unit,
        loops=loops,
        within=(-1,) * len(loops),
        bounds=bounds_of(loops, chains),
        open=chains,
        ball_mm=ball,
        skipped=skipped,
        hindrance=hindrance,
        warnings=tuple(said),
        sha256="",
    )


def _ring(points: Points) -> tuple[list[Piece], int]:
    """Return the closed outline counterclockwise, and how many rows repeat the one before."""
    ring, repeated = _pieces(points, is_closed=True)
    if abs(area(ring)) <= _SAME:
        raise ReadError(
            f"the {len(points.places)} points enclose no area; an outline needs three that are not on one "
            "line"
        )
    for k, piece in enumerate(ring):
        # Over a repeated point the neighbours must still meet.
        ring[k] = piece._replace(end=ring[(k + 1) % len(ring)].start)
    return leftward(ring), repeated


def _chain(points: Points) -> tuple[list[Piece], int]:
    """Return the open outline from the first row to the last, and how many rows repeat the one before."""
    chain, repeated = _pieces(points, is_closed=False)
    for k in range(len(chain) - 1):
        chain[k] = chain[k]._replace(end=chain[k + 1].start)
    return chain, repeated


def _pieces(points: Points, is_closed: bool) -> tuple[list[Piece], int]:
    places: list[tuple[float, float]] = [(z, r) for z, r in points.places.tolist()]
    bulges = [0.0] * len(places) if points.bulges is None else points.bulges.tolist()
    found: list[Piece] = []
    repeated = 0
    for k in range(len(places) if is_closed else len(places) - 1):
        start, end = places[k], places[(k + 1) % len(places)]
        if math.dist(start, end) <= _SAME:
            # The first point written once more at the end is no repeat worth a word.
            repeated += not (k == len(places) - 1 and start == end)
            continue
        found += bulged(start, end, bulges[k])
    return found, repeated


def _way_back(points: Points) -> tuple[Array, float]:
    """Return the distances between rows, and that from the last to the first; 0 where an arc leads back."""
    has_arc = points.bulges is not None and points.bulges[-1] != 0.0
    back = 0.0 if has_arc else float(math.dist(points.places[-1], points.places[0]))
    return np.hypot(*np.diff(points.places, axis=0).T), back


def _gap(points: Points) -> float:
    """Return how wide an outline is open whose rows do not come back to the first; 0 where they do."""
    if len(points.places) < 4:
        return 0.0
    steps, back = _way_back(points)
    return back if back > steps.max() * (1.0 if len(steps) >= _LEAST_ROWS else _OPEN) else 0.0


def _steps(points: Points) -> list[str]:
    """Return what is said of the way back to the first point, and of a leap between rows evenly spaced."""
    places = points.places
    if len(places) < 2:
        return []
    steps, back = _way_back(points)
    if back > steps.max():
        return [f"the last point is joined to the first by a straight line of {back:.3f}"]
    order = np.argsort(steps)
    usual, second, at = float(np.median(steps)), float(steps[order[-2:][0]]), int(order[-1])
    if len(steps) < _LEAST_ROWS or steps[at] < _LEAP * usual or steps[at] < _NEXT * second:
        return []
    (z0, r0), (z1, r1) = places[at], places[at + 1]
    return [
        f"between z {z0:.3f}, r {r0:.3f} and z {z1:.3f}, r {r1:.3f} there is no point over {steps[at]:.3f}, "
        f"else one every {usual:.3f}: a straight line is drawn there"
    ]


def _loops(less: Lessened) -> tuple[Loop, ...]:
    """Return the areas of a lessened body, counterclockwise, largest first."""
    parts = sorted(less.area.geoms, key=lambda polygon: -polygon.area)
    return tuple(_rows(np.array(polygon.exterior.coords)[:-1], polygon.exterior.is_ccw) for polygon in parts)


def _rows(ring: Array, is_ccw: bool) -> Loop:
    return tuple((z, r, 0.0) for z, r in (ring if is_ccw else ring[::-1]).tolist())

"""The outline of a typed sheet, grown where the sheet says less than an outline needs.

Between and beyond the typed places the outline may take room that the brake leaves free, never the reverse.
What grew is said.

Words:
    chain    the corner points one after the other, from the lower edge up
    stepped  between two places the outline runs round the outer corner of their box
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from app.project.brake_sheet import LEAST_POINTS, MOST_POINTS, SAME_MM, BrakeSheet, SheetError, check
from geometry.shape.curve import Path
from geometry.shape.faults import Fault
from geometry.shape.outline import Corner, outline_path

Place = tuple[float, float]


@dataclass(frozen=True)
class Grown:
    """The outline of a sheet.

    Attributes:
        corners: counterclockwise.
        said: where it grew beyond what was typed, and what does not fit, one sentence each.
        bare: the outline through the corner points alone, (z, r) of its corners.
    """

    corners: tuple[Corner, ...]
    said: tuple[str, ...]
    bare: tuple[Place, ...]


def outline(sheet: BrakeSheet) -> Grown:
    """Return the outline of a sheet, grown where the sheet says less than an outline needs.

    Every typed place lies in it, but for what a typed corner radius takes off a corner; the largest radius is
    always reached.

    Raises:
        SheetError: the numbers contradict each other, or give no outline.
    """
    points = _upwards(sheet.points)
    check(sheet)
    _check_order(sheet.points)
    inboard = _inboard(sheet)
    said: list[str] = []
    bare = _bare(points, inboard)
    whole = _joined([_ringed(bare, said), *([] if sheet.is_straight else _stepped(points, said))])
    whole = _joined([whole, *_inboard_of_last(sheet, points, inboard, said)])
    whole = _joined([whole, *_up_to_largest(sheet, points, inboard, whole, said)])
    whole = _joined([whole, *_down_to_edge(sheet, points, inboard, said)])
    if not isinstance(whole, shapely.Polygon) or whole.area < SAME_MM:
        raise SheetError(
            "inboard_z_mm", "The outline has no width along the axle: say where it ends inboard."
        )
    corners = _corners(whole, points if sheet.is_straight else ())
    if not sheet.is_straight and any(p.radius for p in points):
        said.append("corner radii are left off while the outline is stepped")
    return Grown(_reaching(corners, sheet, said), tuple(said), bare)


def _upwards(points: Sequence[Corner]) -> tuple[Corner, ...]:
    """Return the corner points from the lower edge up."""
    if len(points) < LEAST_POINTS:
        raise SheetError("points", f"At least {LEAST_POINTS} corner points are needed; {len(points)} given.")
    if len(points) > MOST_POINTS:
        words = f"{len(points)} corner points are more than {MOST_POINTS}: bring them as a table instead."
        raise SheetError("points", words, MOST_POINTS)
    for k, (a, b) in enumerate(itertools.pairwise(points)):
        if abs(a.z - b.z) < SAME_MM and abs(a.r - b.r) < SAME_MM:
            raise SheetError("points", f"Corner points {k + 1} and {k + 2} are the same place.", k + 1)
    is_up = (points[0].r, -points[0].z) <= (points[-1].r, -points[-1].z)
    return tuple(points) if is_up else tuple(reversed(points))


def _check_order(points: Sequence[Corner]) -> None:
    """Refuse corner points whose chain crosses itself or runs back on itself."""
    sides = [shapely.LineString(pair) for pair in itertools.pairwise([(p.z, p.r) for p in points])]
    for j, k in itertools.combinations(range(len(sides)), 2):
        meeting = sides[j].intersection(sides[k])
        apart = k > j + 1
        if (apart and not meeting.is_empty) or (not apart and meeting.length > SAME_MM):
            raise SheetError(
                "points",
                f"The outline crosses itself between corner points {j + 1} and {k + 2}: give them in the "
                "order in which they follow each other.",
                k,
            )


def _inboard(sheet: BrakeSheet) -> float:
    if sheet.inboard_z_mm is not None:
        return sheet.inboard_z_mm
    places = [p.z for p in sheet.points]
    return min(places if sheet.largest_z_mm is None else [*places, sheet.largest_z_mm])


def _bare(points: Sequence[Corner], inboard: float) -> tuple[Place, ...]:
    """Return the corner points closed along the inboard end and the lowest radius."""
    low = min(p.r for p in points)
    first, last = points[0], points[-1]
    foot = [] if first.r == low else [(first.z, low)]
    return (*((p.z, p.r) for p in points), (inboard, last.r), (inboard, low), *foot)


def _ringed(ring: Sequence[Place], said: list[str]) -> BaseGeometry:
    """Return the area of a ring; where its closing lines cross it, all that it spans."""
    polygon = shapely.Polygon(ring)
    if polygon.is_valid:
        return polygon
    hull = polygon.convex_hull
    if hull.area > SAME_MM:
        said.append("closed round all corner points, since they turn back on themselves")
    return hull


def _joined(parts: Sequence[BaseGeometry]) -> BaseGeometry:
    """Return the union of areas; what does not hang together is spanned."""
    areas = [part for part in parts if part.area > 0.0]
    whole = shapely.union_all(areas) if areas else shapely.Polygon()
    return whole if isinstance(whole, shapely.Polygon) else whole.convex_hull


def _box(z0: float, z1: float, r0: float, r1: float) -> list[shapely.Polygon]:
    """Return a box, or nothing where it has no area."""
    return [shapely.box(z0, r0, z1, r1)] if z1 - z0 > SAME_MM and r1 - r0 > SAME_MM else []


def _stepped(points: Sequence[Corner], said: list[str]) -> list[shapely.Polygon]:
    """Return the boxes of neighbouring corner points."""
    boxes: list[shapely.Polygon] = []
    for a, b in itertools.pairwise(points):
        boxes += _box(min(a.z, b.z), max(a.z, b.z), min(a.r, b.r), max(a.r, b.r))
    if boxes:
        said.append("stepped out between the corner points, since nobody has said that it is straight there")
    return boxes


def _inboard_of_last(
    sheet: BrakeSheet, points: Sequence[Corner], inboard: float, said: list[str]
) -> list[shapely.Polygon]:
    """Return what lies inboard of the last corner point, up to the largest radius."""
    last, top = points[-1], sheet.largest_r_mm
    grown = _box(inboard, last.z, last.r, top)
    if grown:
        said.append(f"straight out to the largest radius {top:.2f} from z {last.z:.2f} mm inboard")
    return grown


def _up_to_largest(
    sheet: BrakeSheet, points: Sequence[Corner], inboard: float, whole: BaseGeometry, said: list[str]
) -> list[shapely.Polygon]:
    """Return what must be added for the largest radius to be reached where it lies, or may lie."""
    top, outermost = sheet.largest_r_mm, max(points, key=lambda p: p.z)
    is_reached = max(p.r for p in points) > top - SAME_MM
    # Straight corner points leave only what lies inboard of them for a largest radius without a place.
    may_be_anywhere = not is_reached and (not sheet.is_straight or whole.bounds[3] < top - SAME_MM)
    at = outermost.z if sheet.largest_z_mm is None and may_be_anywhere else sheet.largest_z_mm
    if at is None or whole.distance(shapely.Point(at, top)) < SAME_MM:
        return []
    below = "the corner points stay below it"
    said.append(f"straight out to the largest radius {top:.2f} from z {at:.2f} mm inboard: {below}")
    return _box(inboard, at, outermost.r, top) or _box(inboard, outermost.z, outermost.r, top)


def _down_to_edge(
    sheet: BrakeSheet, points: Sequence[Corner], inboard: float, said: list[str]
) -> list[shapely.Polygon]:
    """Return what lies between the lowest corner point and the lower edge."""
    low = min(p.r for p in points)
    if sheet.lower_r_mm is None or sheet.lower_r_mm > low - SAME_MM:
        return []
    outboard = max(p.z for p in points)
    said.append(
        f"straight in to the lower edge {sheet.lower_r_mm:.2f} at z {outboard:.2f} mm, as far outboard as "
        "any corner point: none lies on that edge"
    )
    return _box(inboard, outboard, sheet.lower_r_mm, low)


def _corners(whole: shapely.Polygon, points: Sequence[Corner]) -> tuple[Corner, ...]:
    """Return the corners of a polygon, counterclockwise; those that were typed keep their radii."""
    places = [(float(z), float(r)) for z, r in orient(whole, 1.0).exterior.coords[:-1]]
    kept = []
    for k, (z, r) in enumerate(places):
        (az, ar), (bz, br) = places[k - 1], places[(k + 1) % len(places)]
        turn = (z - az) * (br - r) - (r - ar) * (bz - z)
        if abs(turn) > SAME_MM:
            radius = next(
                (p.radius for p in points if abs(p.z - z) < SAME_MM and abs(p.r - r) < SAME_MM), 0.0
            )
            kept.append(Corner(z, r, radius))
    return tuple(kept)


def _reaching(corners: tuple[Corner, ...], sheet: BrakeSheet, said: list[str]) -> tuple[Corner, ...]:
    """Return the corners without radii that would take the outline off its largest radius.

    Raises:
        SheetError: a corner radius does not fit.
    """
    path = _built(corners, sheet)
    if path.bounds[3] > sheet.largest_r_mm - SAME_MM:
        return corners
    said.append(
        f"the corner radius at the top is left off: with it the outline would end at r {path.bounds[3]:.2f}, "
        f"below the largest radius {sheet.largest_r_mm:.2f} mm"
    )
    top = sheet.largest_r_mm - SAME_MM
    sharp = tuple(replace(c, radius=0.0) if c.r > top else c for c in corners)
    _built(sharp, sheet)
    return sharp


def _built(corners: tuple[Corner, ...], sheet: BrakeSheet) -> Path:
    found = outline_path(corners)
    if isinstance(found, Path):
        return found
    fault = found[0]
    rows = [_row_of(corners[k], sheet) for k in fault.vertices]
    raise SheetError("points", _in_rows(fault, rows), next((k for k in rows if k is not None), None))


def _row_of(corner: Corner, sheet: BrakeSheet) -> int | None:
    """Return which typed corner point a corner of the outline is."""
    near = (
        k
        for k, p in enumerate(sheet.points)
        if abs(p.z - corner.z) < SAME_MM and abs(p.r - corner.r) < SAME_MM
    )
    return next(near, None)


def _in_rows(fault: Fault, rows: list[int | None]) -> str:
    """Return a fault's words with corner points instead of vertices of the outline."""
    called = ["a corner of the grown outline" if k is None else f"corner point {k + 1}" for k in rows]
    if len(called) == 2:
        return f"The corner radii at {called[0]} and {called[1]} overlap; make one smaller."
    if not called:
        return fault.message
    words = fault.message.replace(f"Vertex {fault.vertices[0] + 1}", called[0])
    return words[:1].upper() + words[1:]

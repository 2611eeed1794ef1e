"""Tables of points: rows of z and r, or of x, y and z in space, and if there is one the bulge of each edge.

Rows follow each other along an outline, closed from the last to the first; where that outline would cross
itself they are points in any order, and the outline is drawn round them.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from app.files.readers.answer import NOT_KNOWN, UNITS, ReadError, ReadOutline, Request
from app.files.readers.cloud import Points, cloud_outline, row_outline
from app.files.readers.limits import TABLE
from app.files.readers.outlines import in_plausible_unit
from app.files.readers.table_columns import Columns, columns_of
from app.files.readers.table_grid import Array, Grid
from app.files.readers.table_text import text_grid

#: The coordinate along the axle and the two across it, in cyclic order.
_ACROSS = {"x": ("x", "y", "z"), "y": ("y", "z", "x"), "z": ("z", "x", "y")}


def read_table(data: bytes, request: Request, sha256: str) -> ReadOutline:
    """Return the outline of a table of points in a text file.

    Raises:
        ReadError: it is no table, a cell is not a number, or the points make no outline.
    """
    return outline_of(text_grid(data, len(request.columns)), request, sha256)


def outline_of(grid: Grid, request: Request, sha256: str) -> ReadOutline:
    """Return the outline of a table, or what hinders it.

    Raises:
        ReadError: a cell is not a number, the columns do not fit, or the points make no outline.
    """
    columns = columns_of(grid, request)
    skipped = dict(grid.skipped)
    titles = sum(len(row.cells) != grid.width for row in grid.heads)
    if titles:
        skipped["lines of text"] = skipped.get("lines of text", 0) + titles
    unit = request.unit or columns.unit
    doubt = columns.unit_doubt if unit == NOT_KNOWN else ""
    if columns.hindrance:
        return ReadOutline(
            kind="table",
            unit=unit,
            loops=(),
            bounds=(0.0, 0.0, 0.0, 0.0),
            columns=("",) * grid.width,
            skipped=skipped,
            unit_doubt=doubt,
            hindrance=columns.hindrance,
            warnings=columns.warnings,
            sha256=sha256,
        )
    said = list(columns.warnings)
    numbers = grid.numbers([columns.at(name) for name in columns.used])
    places = _half_plane(numbers, columns, request, said)
    if request.unit is not None and columns.unit not in (NOT_KNOWN, request.unit):
        said.append(f"the header states {columns.unit}; read as {request.unit}, as asked")
    bulges = numbers[:, 2] if columns.used[-1] == "bulge" else None
    points = Points(places, bulges, tuple(said), skipped)
    answer = in_plausible_unit(unit, request, lambda as_unit: _built(points, as_unit, request))
    return replace(answer, columns=columns.taken, unit_doubt=answer.unit_doubt or doubt, sha256=sha256)


def _half_plane(numbers: Array, columns: Columns, request: Request, said: list[str]) -> Array:
    """Return (n, 2) places along the axle and from it."""
    if len(columns.used) < 3 or columns.used[-1] == "bulge":
        places = numbers[:, :2].copy()
        if columns.used[1] == "diameter":
            places[:, 1] /= 2.0
        return places
    if request.axle not in _ACROSS:
        raise ReadError(
            "the axle of single points is not fitted; say along which coordinate it runs: --axle x"
        )
    order = [columns.used.index(name) for name in _ACROSS[request.axle]]
    along, first, second = (numbers[:, k] for k in order)
    a, b = request.axle_at
    _, one, two = _ACROSS[request.axle]
    said.append(
        f"the axle is taken along {request.axle}, through {one} {a:g} and {two} {b:g}; all points are turned "
        "about it into the half-plane, and z counts from the file's zero"
    )
    return np.column_stack([along, np.hypot(first - a, second - b)])


def _built(points: Points, unit: str, request: Request) -> ReadOutline:
    """Return the outline of points in mm, or in the file's own unit where that is not known."""
    scaled = replace(points, places=points.places * UNITS.get(unit, 1.0))
    if points.bulges is not None and request.points != "cloud":
        return row_outline(scaled, unit, request)
    if request.points == "cloud":
        return cloud_outline(scaled, unit, request, "read as points in any order, as asked")
    if len(points.places) > TABLE.points:
        if request.points == "outline":
            raise ReadError(
                f"more than {TABLE.points} points along one outline; thin them out, or --points cloud"
            )
        why = f"more than {TABLE.points} rows: taken as points in any order"
        return cloud_outline(scaled, unit, request, why)
    crossing = self_crossing(scaled.places)
    if crossing is None or request.points == "outline":
        return row_outline(scaled, unit, request, crossing)
    why = (
        f"as an outline the rows would cross each other, first near z {crossing[0]:.3f}, r {crossing[1]:.3f}"
        ": taken as points in any order"
    )
    return cloud_outline(scaled, unit, request, why)


def self_crossing(places: Array) -> tuple[float, float] | None:
    """Return a place where the closed chain through places meets itself, None where it does not."""
    ring = without_repeats(places)
    if len(ring) < 4:
        return None
    if shapely.LinearRing(ring).is_simple:
        return None
    words = shapely.is_valid_reason(shapely.Polygon(ring))
    place = words.partition("[")[2].rstrip("]").split()
    if len(place) == 2:
        return float(place[0]), float(place[1])
    return float(ring[0, 0]), float(ring[0, 1])


def without_repeats(places: Array) -> Array:
    """Return places without those that repeat the one before, or the first at the end."""
    same = np.all(places == np.roll(places, 1, axis=0), axis=1)
    return np.asarray(places[~same])

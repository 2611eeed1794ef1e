"""Tables of points: rows of z and r, or of x, y and z in space, and if there is one the bulge of each edge.

Rows follow each other along an outline, closed from the last to the first; where that outline would cross
itself they are points in any order, and the outline is drawn round them.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from app.files.readers import late
from app.files.readers.answer import NOT_KNOWN, UNITS, AxleFit, Flat, ReadError, ReadOutline, Request
from app.files.readers.crossing import self_crossing
from app.files.readers.limits import TABLE
from app.files.readers.outlines import in_plausible_unit
from app.files.readers.rows import Points, row_outline
from app.files.readers.table_columns import Columns, columns_of
from app.files.readers.table_grid import Array, Grid
from app.files.readers.table_text import text_grid
from geometry.errors import GeometryError

if TYPE_CHECKING:
    from geometry.shape.axle_points import PointAxle

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
    places, fit = _half_plane(numbers, columns, request, said)
    if request.unit is not None and columns.unit not in (NOT_KNOWN, request.unit):
        said.append(f"the header states {columns.unit}; read as {request.unit}, as asked")
    bulges = numbers[:, 2] if columns.used[-1] == "bulge" else None
    points = Points(places, bulges, tuple(said), skipped)
    answer = in_plausible_unit(unit, request, lambda as_unit: _built(points, as_unit, request))
    return replace(
        answer,
        columns=columns.taken,
        unit_doubt=answer.unit_doubt or doubt,
        fit=None if fit is None else _fit_told(fit, UNITS.get(answer.unit, 1.0)),
        sha256=sha256,
    )


def _half_plane(
    numbers: Array, columns: Columns, request: Request, said: list[str]
) -> tuple[Array, PointAxle | None]:
    """Return (n, 2) places along the axle and from it, and the axle where it was fitted."""
    if len(columns.used) < 3 or columns.used[-1] == "bulge":
        places = numbers[:, :2].copy()
        if columns.used[1] == "diameter":
            places[:, 1] /= 2.0
        return places, None
    if request.axle not in _ACROSS:
        return _fitted(numbers[:, [columns.used.index(name) for name in "xyz"]], said)
    order = [columns.used.index(name) for name in _ACROSS[request.axle]]
    along, first, second = (numbers[:, k] for k in order)
    a, b = request.axle_at
    _, one, two = _ACROSS[request.axle]
    said.append(
        f"the axle is taken along {request.axle}, through {one} {a:g} and {two} {b:g}; all points are turned "
        "about it into the half-plane, and z counts from the file's zero"
    )
    return np.column_stack([along, np.hypot(first - a, second - b)]), None


def _fitted(points: Array, said: list[str]) -> tuple[Array, PointAxle]:
    """Return places about the axle that the points themselves show, and that axle, in the file's unit."""
    late.need()
    from geometry.shape.axle_points import axle_of_points

    try:
        fit = axle_of_points(points)
    except GeometryError as error:
        raise ReadError(f"{str(error)[0].lower()}{str(error)[1:].rstrip('.')}: --axle x") from None
    said.append(
        f"axle line fitted to {100.0 * fit.share:.0f} % of all points, on turned surfaces of r "
        f"{fit.r_low:.4g} to {fit.r_high:.4g} seen over {fit.turn_deg:.0f} degrees and {len(fit.flats)} flat "
        f"faces square to it; points lie off these by {fit.rms:.2g}, its place is uncertain by "
        f"{fit.place_error:.2g}, in the file's unit, and its direction by "
        f"{fit.angle_error_deg:.2g} degrees; which end is outboard cannot be told, and z "
        "counts from the place on it nearest to the file's zero"
    )
    if fit.rival is not None:
        said.append(
            f"another line, {fit.rival:.4g} from it, has turned surface as well, as of a bore or a piston; "
            "check which one is the axle"
        )
    return fit.placed(points), fit


def _fit_told(fit: PointAxle, scale: float) -> AxleFit:
    x, y, z = (fit.through * scale).tolist()
    u, v, w = fit.direction.tolist()
    flats = (
        Flat(f.z * scale, f.r_low * scale, f.r_high * scale, f.area * scale**2, f.rms * scale)
        for f in fit.flats
    )
    return AxleFit((x, y, z), (u, v, w), fit.rms * scale, tuple(flats))


def _built(points: Points, unit: str, request: Request) -> ReadOutline:
    """Return the outline of points in mm, or in the file's own unit where that is not known."""
    scaled = replace(points, places=points.places * UNITS.get(unit, 1.0))
    if points.bulges is not None and request.points != "cloud":
        return row_outline(scaled, unit, request)
    if request.points == "cloud":
        return _cloud(scaled, unit, request, "read as points in any order, as asked")
    if len(points.places) > TABLE.points:
        if request.points == "outline":
            raise ReadError(
                f"more than {TABLE.points} points along one outline; thin them out, or --points cloud"
            )
        why = f"more than {TABLE.points} rows: taken as points in any order"
        return _cloud(scaled, unit, request, why)
    crossing = self_crossing([(z, r) for z, r in scaled.places.tolist()])
    if crossing is None or request.points == "outline":
        return row_outline(scaled, unit, request, crossing)
    why = (
        f"as an outline the rows would cross each other, first near z {crossing[0]:.3f}, r {crossing[1]:.3f}"
        ": taken as points in any order"
    )
    return _cloud(scaled, unit, request, why)


def _cloud(points: Points, unit: str, request: Request, why: str) -> ReadOutline:
    """Return the outline round points."""
    late.need()
    from app.files.readers.cloud import cloud_outline

    return cloud_outline(points, unit, request, why)

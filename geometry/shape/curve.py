"""Exact chains of straight lines and circular arcs in the half-plane (z, r).

Words:
    piece    one line or arc between two vertices
    bulge    tan(quarter of the piece's sweep); + turns left (counterclockwise with z to the right
             and r up), 0 is a line; DXF's convention
    closed   the last piece ends where the first starts; a closed path is counterclockwise when the
             area lies to its left

Nothing here is flattened unless its name says so.
"""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from geometry.compiled import compiled
from geometry.errors import GeometryError
from geometry.tolerances import LARGEST_MM, STRAIGHT_BULGE, SWEEP_SLACK_RAD

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Indices = NDArray[np.intp]

LARGEST_FLOAT = sys.float_info.max

# Columns of Path.table: start, end, centre, radius (infinite for lines), signed sweep (0 for lines), angle of
# the start seen from the centre.
Z0, R0, Z1, R1, CZ, CR, RADIUS, SWEEP, START = range(9)


@dataclass(frozen=True, eq=False)
class Path:
    """A closed chain of lines and arcs.

    Attributes:
        points: (n, 2) start of each piece, (z, r) in mm.
        bulges: (n,) bulge of the piece that starts at each point; arcs span at most 180 degrees.
    """

    points: Array
    bulges: Array

    @staticmethod
    def closed(vertices: Any) -> Path:
        """Return the closed path through (z, r) or (z, r, bulge) rows; arcs over 180 degrees are split.

        A repeated last vertex equal to the first is dropped.

        Raises:
            GeometryError: a value is not finite or too large, or fewer than two vertices remain.
        """
        rows = [tuple(map(float, v)) for v in vertices]
        array = np.array([r if len(r) > 2 else (*r, 0.0) for r in rows], dtype=float).reshape(-1, 3)
        check_finite(array)
        if len(array) > 1 and np.array_equal(array[0, :2], array[-1, :2]):
            array = array[:-1]
        if len(array) < 2 or (len(array) == 2 and not np.any(array[:, 2])):
            raise GeometryError("An outline needs at least three vertices, or two with an arc between them.")
        points, bulges = _split_large(array[:, :2], array[:, 2])
        return Path(points, bulges)

    def __len__(self) -> int:
        return len(self.points)

    @cached_property
    def table(self) -> Array:
        """(n, 9) what compiled loops read, one row to a piece; the columns are named Z0 ... START here."""
        return table_of(
            np.ascontiguousarray(self.points, dtype=float), np.ascontiguousarray(self.bulges, dtype=float)
        )

    @cached_property
    def ends(self) -> Array:
        """(n, 2) end of each piece."""
        return self.table[:, Z1 : R1 + 1]

    @cached_property
    def is_arc(self) -> Flags:
        """(n,) True where the piece is an arc."""
        return np.asarray(self.table[:, SWEEP] != 0.0, dtype=np.bool_)

    @cached_property
    def centres(self) -> Array:
        """(n, 2) centre of each arc; (0, 0) for lines."""
        return self.table[:, CZ : CR + 1]

    @cached_property
    def radii(self) -> Array:
        """(n,) radius of each arc, positive; infinite for lines."""
        return self.table[:, RADIUS]

    @cached_property
    def sweeps(self) -> Array:
        """(n,) signed angle of each arc in rad, + counterclockwise; 0 for lines."""
        return self.table[:, SWEEP]

    @cached_property
    def start_angles(self) -> Array:
        """(n,) direction from the arc's centre to its start, rad; 0 for lines."""
        return self.table[:, START]

    @cached_property
    def off_axle(self) -> Flags:
        """(n,) False where the piece lies on the axle line: there is no skin there."""
        return _off_axle(self.table)

    @cached_property
    def lengths(self) -> Array:
        """(n,) length of each piece along the curve, mm."""
        return _lengths(self.table)

    def at(self, piece: Indices, t: Array) -> Array:
        """Return (m, 2) points at the fraction t (0 to 1, along the length) of each named piece."""
        return _places(self.table, *_columns(piece, t))

    def tangents(self, piece: Indices, t: Array) -> Array:
        """Return (m, 2) unit directions of travel at the fraction t of each named piece."""
        return _directions(self.table, *_columns(piece, t))

    @cached_property
    def area(self) -> float:
        """Signed area, mm2; + when counterclockwise."""
        return _area(self.table)

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """(z low, z high, r low, r high) in mm, exact over arcs."""
        return _bounds(self.table)

    def on_sweep(self, piece: Indices, angle: Array) -> Flags:
        """Return (m,) True where the direction `angle` (rad, from the centre) lies on the named arc."""
        return _on_sweeps(self.table, *_columns(piece, angle))

    def reversed(self) -> Path:
        """Return the path run the other way round."""
        return Path(self.ends[::-1].copy(), -self.bulges[::-1])

    def counterclockwise(self) -> Path:
        """Return the path with its area on the left."""
        return self if self.area >= 0.0 else self.reversed()

    def moved(self, dz: float = 0.0, dr: float = 0.0) -> Path:
        """Return the path shifted by dz along the axle and dr away from it, mm."""
        return Path(self.points + np.array([dz, dr]), self.bulges)

    def mirrored(self) -> Path:
        """Return the path with z reversed, still counterclockwise if it was."""
        return Path(self.ends[::-1] * np.array([-1.0, 1.0]), self.bulges[::-1].copy())

    def rows(self) -> list[tuple[float, float, float]]:
        """Return (z, r, bulge) for each vertex."""
        return [(float(p[0]), float(p[1]), float(b)) for p, b in zip(self.points, self.bulges, strict=True)]

    def flattened(self, chord_error_mm: float = 0.01, side: str = "on") -> Array:
        """Return (m, 2) vertices of a polygon near the path, for pictures and booleans.

        Args:
            chord_error_mm: greatest distance between arc and polygon.
            side: "on" puts the vertices on the arcs; "outward" and "inward" keep the polygon outside or
                inside the area of a counterclockwise path.
        """
        return flatten(self, chord_error_mm, side)


@compiled
def table_of(points: Array, bulges: Array) -> Array:
    """Return Path.table of the path with these points and bulges."""
    n = len(points)
    out = np.zeros((n, 9))
    for i in range(n):
        p, q, b = points[i], points[(i + 1) % n], bulges[i]
        out[i, Z0], out[i, R0], out[i, Z1], out[i, R1] = p[0], p[1], q[0], q[1]
        out[i, RADIUS] = np.inf
        if abs(b) < STRAIGHT_BULGE:
            continue
        dz, dr = q[0] - p[0], q[1] - p[1]
        # The centre lies to the left of the chord for a gentle left turn.
        off = (1.0 - b * b) / (4.0 * b)
        out[i, CZ] = (p[0] + q[0]) / 2.0 - dr * off
        out[i, CR] = (p[1] + q[1]) / 2.0 + dz * off
        out[i, RADIUS] = math.hypot(dz, dr) * (1.0 + b * b) / (4.0 * abs(b))
        out[i, SWEEP] = 4.0 * math.atan(b)
        out[i, START] = math.atan2(p[1] - out[i, CR], p[0] - out[i, CZ])
    return out


@compiled
def length_of(t: Array, k: int) -> float:
    """Return the length of piece k of a table along the curve, mm."""
    if t[k, SWEEP] == 0.0:
        return math.hypot(t[k, Z1] - t[k, Z0], t[k, R1] - t[k, R0])
    along: float = abs(t[k, SWEEP]) * t[k, RADIUS]
    return along


@compiled
def place_along(t: Array, k: int, share: float) -> tuple[float, float]:
    """Return the place at a fraction (0 to 1, along the length) of piece k of a table.

    Ends are exact, so that joints of neighbours coincide bit for bit.
    """
    if share == 0.0:
        return t[k, Z0], t[k, R0]
    if share == 1.0:
        return t[k, Z1], t[k, R1]
    if t[k, SWEEP] == 0.0:
        return t[k, Z0] + (t[k, Z1] - t[k, Z0]) * share, t[k, R0] + (t[k, R1] - t[k, R0]) * share
    angle = t[k, START] + t[k, SWEEP] * share
    return t[k, CZ] + t[k, RADIUS] * math.cos(angle), t[k, CR] + t[k, RADIUS] * math.sin(angle)


@compiled
def direction_along(t: Array, k: int, share: float) -> tuple[float, float]:
    """Return the unit direction of travel at a fraction of piece k of a table; (0, 0) without length."""
    sweep = t[k, SWEEP]
    if sweep == 0.0:
        dz, dr = t[k, Z1] - t[k, Z0], t[k, R1] - t[k, R0]
        span = math.hypot(dz, dr)
        return (dz / span, dr / span) if span > 0.0 else (0.0, 0.0)
    angle, sign = t[k, START] + sweep * share, math.copysign(1.0, sweep)
    return -sign * math.sin(angle), sign * math.cos(angle)


@compiled
def sweeps_over(t: Array, k: int, angle: float) -> bool:
    """Return True where arc k of a table passes the direction `angle` (rad, from its centre; ends too)."""
    sweep = t[k, SWEEP]
    turn = math.copysign(1.0, sweep) * (angle - t[k, START]) + SWEEP_SLACK_RAD
    past: bool = turn % (2.0 * math.pi) <= abs(sweep) + 2.0 * SWEEP_SLACK_RAD
    return past


@compiled
def _lengths(t: Array) -> Array:
    out = np.empty(len(t))
    for k in range(len(t)):
        out[k] = length_of(t, k)
    return out


@compiled
def _off_axle(t: Array) -> Flags:
    out = np.empty(len(t), dtype=np.bool_)
    for k in range(len(t)):
        out[k] = t[k, SWEEP] != 0.0 or t[k, R0] > 0.0 or t[k, R1] > 0.0
    return out


@compiled
def _places(t: Array, piece: Indices, share: Array) -> Array:
    out = np.empty((len(piece), 2))
    for m in range(len(piece)):
        out[m, 0], out[m, 1] = place_along(t, piece[m], share[m])
    return out


@compiled
def _directions(t: Array, piece: Indices, share: Array) -> Array:
    out = np.empty((len(piece), 2))
    for m in range(len(piece)):
        out[m, 0], out[m, 1] = direction_along(t, piece[m], share[m])
    return out


@compiled
def _on_sweeps(t: Array, piece: Indices, angle: Array) -> Flags:
    out = np.empty(len(piece), dtype=np.bool_)
    for m in range(len(piece)):
        out[m] = sweeps_over(t, piece[m], angle[m])
    return out


@compiled
def _area(t: Array) -> float:
    """Return the sum of the chords' shoelace terms and the caps between chord and arc."""
    twice = 0.0
    for k in range(len(t)):
        sweep = t[k, SWEEP]
        twice += t[k, Z0] * t[k, R1] - t[k, Z1] * t[k, R0]
        if sweep != 0.0:
            twice += t[k, RADIUS] * t[k, RADIUS] * (sweep - math.sin(sweep))
    return twice / 2.0


@compiled
def _bounds(t: Array) -> tuple[float, float, float, float]:
    z_low, z_high, r_low, r_high = t[0, Z0], t[0, Z0], t[0, R0], t[0, R0]
    for k in range(len(t)):
        z_low, z_high = min(z_low, t[k, Z0]), max(z_high, t[k, Z0])
        r_low, r_high = min(r_low, t[k, R0]), max(r_high, t[k, R0])
        if t[k, SWEEP] == 0.0:
            continue
        cz, cr, radius = t[k, CZ], t[k, CR], t[k, RADIUS]
        if sweeps_over(t, k, math.pi):
            z_low = min(z_low, cz - radius)
        if sweeps_over(t, k, 0.0):
            z_high = max(z_high, cz + radius)
        if sweeps_over(t, k, -math.pi / 2.0):
            r_low = min(r_low, cr - radius)
        if sweeps_over(t, k, math.pi / 2.0):
            r_high = max(r_high, cr + radius)
    return z_low, z_high, r_low, r_high


def _columns(piece: Indices, number: Array) -> tuple[Indices, Array]:
    """Return pieces and a number for each as the loops read them."""
    return np.ascontiguousarray(piece, dtype=np.intp), np.ascontiguousarray(number, dtype=float)


@compiled
def first_outside(rows: Array, column: int, low: float, high: float) -> int:
    """Return the first row whose number in a column is not from low to high (NaN is not), or len(rows)."""
    for i in range(len(rows)):
        if not low <= rows[i, column] <= high:
            return i
    return len(rows)


def check_finite(array: Array) -> None:
    """Raise GeometryError where a row of z, r, bulge is not finite or beyond ten metres."""
    i = min(
        first_outside(array, 0, -LARGEST_MM, LARGEST_MM),
        first_outside(array, 1, -LARGEST_MM, LARGEST_MM),
        first_outside(array, 2, -LARGEST_FLOAT, LARGEST_FLOAT),
    )
    if i == len(array):
        return
    z, r, bulge = array[i, :3].tolist()
    if not (math.isfinite(z) and math.isfinite(r) and math.isfinite(bulge)):
        raise GeometryError(f"Vertex {i + 1}: a coordinate is not a number.")
    raise GeometryError(
        f"Vertex {i + 1}: ({z:g}, {r:g}) lies beyond {LARGEST_MM:g} mm; check the unit.", (z, r)
    )


@compiled
def _in_half_plane(rows: Array) -> bool:
    """Return True where no row of z, r, bulge is refused by check_half_plane."""
    for i in range(len(rows)):
        place = -LARGEST_MM <= rows[i, 0] <= LARGEST_MM and 0.0 <= rows[i, 1] <= LARGEST_MM
        if not (place and -LARGEST_FLOAT <= rows[i, 2] <= LARGEST_FLOAT):
            return False
    return True


def check_half_plane(array: Array) -> None:
    """Raise GeometryError where a row of z, r, bulge is not finite, too large or below the axle."""
    if _in_half_plane(array):
        return
    check_finite(array)
    i = first_outside(array, 1, 0.0, LARGEST_MM)
    if i < len(array):
        z, r = array[i, :2].tolist()
        raise GeometryError(f"Vertex {i + 1}: r = {r:g} mm lies below the axle line; r starts at 0.", (z, r))


def _split_large(points: Array, bulges: Array) -> tuple[Array, Array]:
    """Halve arcs of more than 180 degrees at their middle."""
    if not np.any(np.abs(bulges) > 1.0):
        return points.copy(), bulges.copy()
    out_points: list[Array] = []
    out_bulges: list[float] = []
    for i, b in enumerate(bulges):
        p, q = points[i], points[(i + 1) % len(points)]
        out_points.append(p)
        if abs(b) <= 1.0:
            out_bulges.append(float(b))
            continue
        chord = q - p
        right = np.array([chord[1], -chord[0]])
        half = np.tan(np.arctan(b) / 2.0)
        out_bulges += [float(half), float(half)]
        out_points.append((p + q) / 2.0 + right * (b / 2.0))
    return np.array(out_points), np.array(out_bulges)


def flatten(path: Path, chord_error_mm: float, side: str = "on") -> Array:
    """Return the polygon described at Path.flattened."""
    error = np.full(len(path), chord_error_mm)
    return flattened_each(path.table, error, {"on": 0.0, "outward": 1.0, "inward": -1.0}[side])


@compiled
def flattened_each(t: Array, chord_error_mm: Array, around: float) -> Array:
    """Flatten a table, each piece to its error; arcs that turn to the side `around` lie within their chain.

    That side is +1 left, -1 right, 0 neither. Such arcs get tangent points at their ends and the crossings of
    the tangents between them.
    """
    count = np.ones(len(t), dtype=np.intp)
    total = 0
    for k in range(len(t)):
        if t[k, SWEEP] != 0.0:
            step = 2.0 * math.acos(max(1.0 - chord_error_mm[k] / t[k, RADIUS], 0.5))
            count[k] = max(1, math.ceil(abs(t[k, SWEEP]) / step))
        total += count[k] + (t[k, SWEEP] * around > 0.0)
    out = np.empty((total, 2))
    m = 0
    for k in range(len(t)):
        out[m, 0], out[m, 1] = t[k, Z0], t[k, R0]
        m += 1
        half = t[k, SWEEP] / (2 * count[k])
        if t[k, SWEEP] * around > 0.0:
            reach = t[k, RADIUS] / math.cos(half)
            for j in range(1, count[k] + 1):
                angle = t[k, START] + (2 * j - 1) * half
                out[m, 0], out[m, 1] = t[k, CZ] + reach * math.cos(angle), t[k, CR] + reach * math.sin(angle)
                m += 1
        else:
            for j in range(1, count[k]):
                angle = t[k, START] + 2 * j * half
                out[m, 0] = t[k, CZ] + t[k, RADIUS] * math.cos(angle)
                out[m, 1] = t[k, CR] + t[k, RADIUS] * math.sin(angle)
                m += 1
    return out

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
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from geometry.compiled import compiled
from geometry.errors import GeometryError
from geometry.tolerances import LARGEST_MM, STRAIGHT_BULGE

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Indices = NDArray[np.intp]


# Columns of Path.table: start, end, centre, radius (infinite for lines), signed sweep (0 for lines), angle of
# the start seen from the centre.
Z0, R0, Z1, R1, CZ, CR, RADIUS, SWEEP, START = range(9)

_QUARTERS = np.array([(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)])


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
        return _table(
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
        on = ~self.is_arc & (self.points[:, 1] <= 0.0) & (self.ends[:, 1] <= 0.0)
        return np.asarray(~on, dtype=np.bool_)

    @cached_property
    def lengths(self) -> Array:
        """(n,) length of each piece along the curve, mm."""
        chord = self.ends - self.points
        straight = np.hypot(chord[:, 0], chord[:, 1])
        return np.where(self.is_arc, np.abs(self.sweeps) * np.where(self.is_arc, self.radii, 0.0), straight)

    def at(self, piece: Indices, t: Array) -> Array:
        """Return (m, 2) points at the fraction t (0 to 1, along the length) of each named piece."""
        p, q = self.points[piece], self.ends[piece]
        line = p + (q - p) * t[:, None]
        angle = self.start_angles[piece] + self.sweeps[piece] * t
        radius = np.where(self.is_arc[piece], self.radii[piece], 0.0)
        arc = self.centres[piece] + radius[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
        # Ends are exact, so that joints of neighbours coincide bit for bit.
        arc = np.where((t == 0.0)[:, None], p, np.where((t == 1.0)[:, None], q, arc))
        return np.where(self.is_arc[piece][:, None], arc, line)

    def tangents(self, piece: Indices, t: Array) -> Array:
        """Return (m, 2) unit directions of travel at the fraction t of each named piece."""
        chord = self.ends[piece] - self.points[piece]
        length = np.hypot(chord[:, 0], chord[:, 1])
        line = chord / np.where(length > 0.0, length, 1.0)[:, None]
        angle = self.start_angles[piece] + self.sweeps[piece] * t
        sign = np.sign(self.sweeps[piece])[:, None]
        arc = sign * np.column_stack([-np.sin(angle), np.cos(angle)])
        return np.where(self.is_arc[piece][:, None], arc, line)

    @cached_property
    def area(self) -> float:
        """Signed area, mm2; + when counterclockwise."""
        p, q = self.points, self.ends
        shoelace = 0.5 * np.sum(p[:, 0] * q[:, 1] - q[:, 0] * p[:, 1])
        radius = np.where(self.is_arc, self.radii, 0.0)
        caps = 0.5 * radius**2 * (self.sweeps - np.sin(self.sweeps))
        return float(shoelace + np.sum(caps))

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """(z low, z high, r low, r high) in mm, exact over arcs."""
        corners = [self.points]
        arcs = np.flatnonzero(self.is_arc)
        if len(arcs):
            ahead = np.tile(_QUARTERS, (len(arcs), 1))
            which = np.repeat(arcs, len(_QUARTERS))
            angle = np.arctan2(ahead[:, 1], ahead[:, 0])
            on = self.on_sweep(which, angle)
            corners.append((self.centres[which] + self.radii[which][:, None] * ahead)[on])
        every = np.vstack(corners)
        low, high = every.min(axis=0).tolist(), every.max(axis=0).tolist()
        return low[0], high[0], low[1], high[1]

    def on_sweep(self, piece: Indices, angle: Array, slack: float = 1e-9) -> Flags:
        """Return (m,) True where the direction `angle` (rad, from the centre) lies on the named arc."""
        sweep = self.sweeps[piece]
        turn = np.mod(np.sign(sweep) * (angle - self.start_angles[piece]) + slack, 2.0 * np.pi) - slack
        return turn <= np.abs(sweep) + slack

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
def _table(points: Array, bulges: Array) -> Array:
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


def check_finite(array: Array) -> None:
    """Raise GeometryError where a (n, 3) row of z, r, bulge is not finite or beyond ten metres."""
    if np.all(np.isfinite(array)) and np.max(np.abs(array[:, :2]), initial=0.0) <= LARGEST_MM:
        return
    for i, row in enumerate(array):
        if not np.all(np.isfinite(row)):
            raise GeometryError(f"Vertex {i + 1}: a coordinate is not a number.")
        if np.max(np.abs(row[:2])) > LARGEST_MM:
            raise GeometryError(
                f"Vertex {i + 1}: ({row[0]:g}, {row[1]:g}) lies beyond {LARGEST_MM:g} mm; check the unit.",
                (float(row[0]), float(row[1])),
            )


def check_half_plane(array: Array) -> None:
    """Raise GeometryError where a (n, 3) row of z, r, bulge is not finite, too large or below the axle."""
    check_finite(array)
    for i in np.flatnonzero(array[:, 1] < 0.0):
        z, r = (float(x) for x in array[i, :2])
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
    radius = np.where(path.is_arc, path.radii, 1.0)
    step = 2.0 * np.arccos(np.maximum(1.0 - chord_error_mm / radius, 0.5))
    count = np.maximum(1, np.ceil(np.abs(path.sweeps) / step)).astype(np.intp)
    wanted = 1.0 if side == "outward" else -1.0
    # Such arcs get tangent points at their ends and the crossings of the tangents between them.
    around = path.is_arc & (np.sign(path.sweeps) == wanted) & (side != "on")
    rows = np.where(path.is_arc, count + around, 1)
    piece = np.repeat(np.arange(len(path)), rows)
    k = np.arange(len(piece)) - np.repeat(np.cumsum(rows) - rows, rows)
    out = path.points[piece]
    inner = np.flatnonzero(k > 0)
    of = piece[inner]
    half = path.sweeps[of] / (2 * count[of])
    turn = np.where(around[of], 2 * k[inner] - 1, 2 * k[inner]) * half + path.start_angles[of]
    reach = np.where(around[of], radius[of] / np.cos(half), radius[of])
    out[inner] = path.centres[of] + reach[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])
    return out

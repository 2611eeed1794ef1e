"""Constraints of an outline as equations: what each measures, and by how much it is missed.

What each constraint asks is one equation f(x) = 0 in mm, of places, bulges and corner radii (`Equation`).

Derivatives are taken by the complex step, which is exact to rounding: W. Squire, G. Trapp, Using complex
variables to estimate derivatives of real functions, SIAM Review 40 (1998), 110-112.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from geometry.errors import GeometryError
from geometry.shape.constraints_clear import near
from geometry.shape.curve import Array, Path
from geometry.shape.held import Constraint, Hold
from geometry.tolerances import STRAIGHT_BULGE

#: A constraint is held when it is met to this, mm.
HELD_MM = 1e-7
#: Of the complex step; it is squared in nothing that is kept.
_STEP = 1e-30

#: Columns of a section's rows.
Z, R, BULGE, RADIUS = range(4)
Values = dict[tuple[int, int], complex]


@dataclass(frozen=True)
class Equation:
    """One constraint as an equation.

    Attributes:
        constraint: as asked.
        of: the numbers that it hangs on, as (vertex from 0, column of a section's rows).
        side: the sign that it keeps: of a distance from a line, and of an angle.
    """

    constraint: Constraint
    of: tuple[tuple[int, int], ...]
    side: tuple[float, float] = (1.0, 1.0)


def equation(c: Constraint, rows: Array) -> Equation:
    """Return the equation of a constraint on an outline that lies as these rows (n, 4) say.

    Raises:
        GeometryError: it names a vertex that is not there or one twice, or an arc or joint that is none.
    """
    n, v = len(rows), [number - 1 for number in c.vertices]
    missing = [i + 1 for i in v if not 0 <= i < n]
    if missing:
        raise GeometryError(f"The outline has no vertex {missing[0]}; it has {n}.")
    halves = (v[: len(v) // 2], v[len(v) // 2 :]) if c.kind is Hold.EQUAL_WALL else (v, v[:0])
    if any(len(set(half)) < len(half) for half in halves):
        raise GeometryError("A constraint cannot name a vertex twice.")
    edges: list[int] = []
    if c.kind is Hold.TANGENT:
        edges = [(v[0] - 1) % n, v[0]]
        v = [edges[0], v[0], (v[0] + 1) % n]
        if all(abs(rows[e, BULGE]) < STRAIGHT_BULGE for e in edges):
            raise GeometryError(
                f"Vertex {v[1] + 1} joins two straight edges; tangent is for an arc and its neighbour."
            )
    if c.kind is Hold.RADIUS and len(v) == 1:
        return Equation(c, ((v[0], RADIUS),))
    if c.kind is Hold.RADIUS:
        edges = [v[0]]
        if v[1] != (v[0] + 1) % n or abs(rows[v[0], BULGE]) < STRAIGHT_BULGE:
            raise GeometryError(f"There is no arc from vertex {v[0] + 1} to vertex {v[1] + 1}.")
    arcs = [e for e in edges if abs(rows[e, BULGE]) >= STRAIGHT_BULGE]
    of = [(i, column) for i in dict.fromkeys(v) for column in (Z, R)] + [(e, BULGE) for e in arcs]
    values: Values = {(int(i), k): complex(rows[i, k]) for i in set(v) for k in range(4)}
    return Equation(c, tuple(of), _sides(c, values))


def _sides(c: Constraint, x: Values) -> tuple[float, float]:
    v = [number - 1 for number in c.vertices]
    if c.kind is Hold.DISTANCE and len(v) == 3:
        return (_sign(_from_line(x, v)), 1.0)
    if c.kind is Hold.EQUAL_WALL and len(v) == 6:
        return (_sign(_from_line(x, v[:3])), _sign(_from_line(x, v[3:])))
    if c.kind is Hold.ANGLE and len(v) == 3:
        a, b = _line(x, v[1], v[0]), _line(x, v[1], v[2])
        return (_sign(a[0] * b[1] - a[1] * b[0]), 1.0)
    return (1.0, 1.0)


def _sign(value: complex) -> float:
    return -1.0 if value.real < 0.0 else 1.0


def _line(x: Values, i: int, j: int) -> tuple[complex, complex]:
    return x[j, Z] - x[i, Z], x[j, R] - x[i, R]


def _length(d: tuple[complex, complex]) -> complex:
    return cmath.sqrt(d[0] * d[0] + d[1] * d[1])


def _from_line(x: Values, v: Sequence[int]) -> complex:
    """Return the signed distance of the first vertex from the line through the other two."""
    along, to = _line(x, v[1], v[2]), _line(x, v[1], v[0])
    return (along[0] * to[1] - along[1] * to[0]) / (_length(along) or 1.0)


def _wall(x: Values, v: Sequence[int], side: float) -> complex:
    return _length(_line(x, v[0], v[1])) if len(v) == 2 else side * _from_line(x, v)


def _turned(d: tuple[complex, complex], bulge: complex, way: float) -> tuple[complex, complex]:
    """Return the direction of an arc at its end (way 1) or its start (-1): its chord turned by it."""
    below = 1.0 + bulge * bulge
    cos, sin = (1.0 - bulge * bulge) / below, way * 2.0 * bulge / below
    return d[0] * cos - d[1] * sin, d[0] * sin + d[1] * cos


def misfit(e: Equation, x: Values) -> complex:
    """Return by how much an equation is missed, mm (an angle: what its lines are out of line, mm)."""
    c = e.constraint
    v, kind, value = [number - 1 for number in c.vertices], c.kind, c.value or 0.0
    if kind is Hold.RADIUS and len(v) == 1:
        return x[v[0], RADIUS] - value
    if kind is Hold.RADIUS:
        bulge = x[v[0], BULGE]
        turn = -bulge if bulge.real < 0.0 else bulge
        return _length(_line(x, v[0], v[1])) * (1.0 + bulge * bulge) / (4.0 * turn) - value
    if kind is Hold.TANGENT:
        (i, _), (j, _), (k, _) = e.of[0], e.of[2], e.of[4]
        a, b = _line(x, i, j), _line(x, j, k)
        a, b = _turned(a, x[i, BULGE], 1.0), _turned(b, x[j, BULGE], -1.0)
        return (a[0] * b[1] - a[1] * b[0]) / cmath.sqrt(_length(a) * _length(b) or 1.0)
    if kind is Hold.ANGLE:
        return _out_of_angle(e, x, v, math.radians(value))
    if kind is Hold.DISTANCE:
        return _wall(x, v, e.side[0]) - value
    if kind is Hold.EQUAL_WALL:
        half = len(v) // 2
        return _wall(x, v[:half], e.side[0]) - _wall(x, v[half:], e.side[1])
    column = R if kind in (Hold.HORIZONTAL, Hold.ALONG_R) else Z
    return x[v[1], column] - x[v[0], column] - value


def _out_of_angle(e: Equation, x: Values, v: Sequence[int], angle: float) -> complex:
    if len(v) == 2:
        d = _line(x, v[0], v[1])
        return math.cos(angle) * d[1] - math.sin(angle) * d[0]
    a, b = _line(x, v[1], v[0]), _line(x, v[1], v[2])
    cross, dot = e.side[0] * (a[0] * b[1] - a[1] * b[0]), a[0] * b[0] + a[1] * b[1]
    return (cross * math.cos(angle) - dot * math.sin(angle)) / cmath.sqrt(_length(a) * _length(b) or 1.0)


Slopes = list[tuple[tuple[int, int], float]]


def linear(e: Equation, x: Values) -> tuple[float, Slopes]:
    """Return by how much an equation is missed, mm, and how that changes with each number it hangs on.

    Distances and what is straight in its numbers have closed forms; the others take the complex step.
    """
    c = e.constraint
    v, kind, value = [number - 1 for number in c.vertices], c.kind, c.value or 0.0
    if kind is Hold.DISTANCE and len(v) == 2:
        far, slopes = _between(x, v[0], v[1], 1.0)
        return far - value, slopes
    if kind is Hold.EQUAL_WALL and len(v) == 4:
        (one, first), (other, second) = _between(x, v[0], v[1], 1.0), _between(x, v[2], v[3], -1.0)
        return one - other, first + second
    if kind in (Hold.HORIZONTAL, Hold.VERTICAL, Hold.ALONG_Z, Hold.ALONG_R):
        column = R if kind in (Hold.HORIZONTAL, Hold.ALONG_R) else Z
        return misfit(e, x).real, [((v[1], column), 1.0), ((v[0], column), -1.0)]
    if kind is Hold.ANGLE and len(v) == 2:
        cos, sin = math.cos(math.radians(value)), math.sin(math.radians(value))
        keys = ((v[1], R), (v[0], R), (v[1], Z), (v[0], Z))
        return misfit(e, x).real, list(zip(keys, (cos, -cos, -sin, sin), strict=True))
    slopes = []
    for key in e.of:
        number = x[key]
        x[key] = number + _STEP * 1j
        slopes.append((key, misfit(e, x).imag / _STEP))
        x[key] = number
    return misfit(e, x).real, slopes


def _between(x: Values, i: int, j: int, way: float) -> tuple[float, Slopes]:
    """Return the distance between two vertices, and how it changes, counted `way`."""
    dz, dr = (x[j, Z] - x[i, Z]).real, (x[j, R] - x[i, R]).real
    far = math.hypot(dz, dr)
    uz, ur = (way * dz / far, way * dr / far) if far else (way, 0.0)
    return far, [((j, Z), uz), ((j, R), ur), ((i, Z), -uz), ((i, R), -ur)]


def is_right_way(e: Equation, x: Values) -> bool:
    """Return whether an angle or a tangent that is met points the right way, and not back."""
    v, kind = [number - 1 for number in e.constraint.vertices], e.constraint.kind
    if kind is Hold.TANGENT:
        (i, _), (j, _), (k, _) = e.of[0], e.of[2], e.of[4]
        a, b = _turned(_line(x, i, j), x[i, BULGE], 1.0), _turned(_line(x, j, k), x[j, BULGE], -1.0)
        return (a[0] * b[0] + a[1] * b[1]).real >= 0.0
    if kind is Hold.ANGLE and len(v) == 3:
        a, b = _line(x, v[1], v[0]), _line(x, v[1], v[2])
        angle = math.radians(e.constraint.value or 0.0)
        cross, dot = e.side[0] * (a[0] * b[1] - a[1] * b[0]), a[0] * b[0] + a[1] * b[1]
        return (dot * math.cos(angle) + cross * math.sin(angle)).real >= 0.0
    if kind is Hold.RADIUS and len(v) == 1:
        return x[v[0], RADIUS].real >= 0.0
    return True


def value_of(c: Constraint, rows: Array) -> float:
    """Return what a constraint's number is on an outline as it lies: mm, or degrees for an angle.

    Raises:
        GeometryError: as `equation`.
    """
    e = equation(Constraint(c.kind, c.vertices, 0.0, c.shape), rows)
    x: Values = {(i, k): complex(rows[i, k]) for i in range(len(rows)) for k in range(4)}
    v = [number - 1 for number in c.vertices]
    if c.kind is Hold.ANGLE:
        if len(v) == 2:
            d = _line(x, v[0], v[1])
            return math.degrees(math.atan2(d[1].real, d[0].real))
        a, b = _line(x, v[1], v[0]), _line(x, v[1], v[2])
        cross, dot = a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]
        return math.degrees(math.atan2(abs(cross.real), dot.real))
    return misfit(e, x).real


def misfits(
    rows: Array, constraints: Sequence[Constraint], shapes: Mapping[str, Sequence[Path]]
) -> list[float | None]:
    """Return by how much each constraint is missed, mm; None where it cannot be read on the outline.

    A gap that is larger than asked is no misfit.
    """
    found: list[float | None] = []
    for c in constraints:
        try:
            e = equation(c, rows)
            if c.kind is Hold.CLEAR:
                found.append(max((c.value or 0.0) - near(c, rows, shapes).gap_mm, 0.0))
                continue
        except GeometryError:
            found.append(None)
            continue
        x = {key: complex(rows[key]) for i, _ in e.of for key in ((i, k) for k in range(4))}
        found.append(abs(misfit(e, x)) if is_right_way(e, x) else math.inf)
    return found

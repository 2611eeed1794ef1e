"""Constraints of an outline: what they measure, and the nearest outline that holds them.

What each constraint asks is one equation f(x) = 0 in mm, of places, bulges and corner radii (`Equation`). The
solver looks for the x that meets all of them and lies nearest to where an edit has put it: Newton's method
on f, each step the shortest weighted one from that place (least squares), so that what the user moved stays
and the rest follows. `clear of` is one-sided: it counts only where the gap would be less.

Derivatives are taken by the complex step, which is exact to rounding: W. Squire, G. Trapp, Using complex
variables to estimate derivatives of real functions, SIAM Review 40 (1998), 110-112.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.constraints_clear import near
from geometry.shape.curve import Array, Flags, Path
from geometry.shape.held import Constraint, Hold
from geometry.tolerances import STRAIGHT_BULGE

#: A constraint is held when it is met to this, mm; Newton's steps go on to a hundredth of it.
HELD_MM = 1e-7
#: Newton's steps; a section near by takes three to six.
_MOST_STEPS = 40
#: What is held and moves by less is near enough to where it was put, mm.
_STILL_MM = 1e-3
#: Steps that may take off less than half of the misfit before it counts as not to be met.
_SLOW_STEPS = 6
#: How much heavier what the user moved is than what follows; the rest takes this share of a misfit.
_HEAVY = 1e4
#: A singular value below this share of the largest counts as none.
_RANK = 1e-9
_STEP = 1e-30

#: Columns of a section's rows.
_Z, _R, _BULGE, _RADIUS = range(4)
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
        if all(abs(rows[e, _BULGE]) < STRAIGHT_BULGE for e in edges):
            raise GeometryError(
                f"Vertex {v[1] + 1} joins two straight edges; tangent is for an arc and its neighbour."
            )
    if c.kind is Hold.RADIUS and len(v) == 1:
        return Equation(c, ((v[0], _RADIUS),))
    if c.kind is Hold.RADIUS:
        edges = [v[0]]
        if v[1] != (v[0] + 1) % n or abs(rows[v[0], _BULGE]) < STRAIGHT_BULGE:
            raise GeometryError(f"There is no arc from vertex {v[0] + 1} to vertex {v[1] + 1}.")
    arcs = [e for e in edges if abs(rows[e, _BULGE]) >= STRAIGHT_BULGE]
    of = [(i, column) for i in dict.fromkeys(v) for column in (_Z, _R)] + [(e, _BULGE) for e in arcs]
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
    return x[j, _Z] - x[i, _Z], x[j, _R] - x[i, _R]


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
        return x[v[0], _RADIUS] - value
    if kind is Hold.RADIUS:
        bulge = x[v[0], _BULGE]
        turn = -bulge if bulge.real < 0.0 else bulge
        return _length(_line(x, v[0], v[1])) * (1.0 + bulge * bulge) / (4.0 * turn) - value
    if kind is Hold.TANGENT:
        (i, _), (j, _), (k, _) = e.of[0], e.of[2], e.of[4]
        a, b = _line(x, i, j), _line(x, j, k)
        a, b = _turned(a, x[i, _BULGE], 1.0), _turned(b, x[j, _BULGE], -1.0)
        return (a[0] * b[1] - a[1] * b[0]) / cmath.sqrt(_length(a) * _length(b) or 1.0)
    if kind is Hold.ANGLE:
        return _out_of_angle(e, x, v, math.radians(value))
    if kind is Hold.DISTANCE:
        return _wall(x, v, e.side[0]) - value
    if kind is Hold.EQUAL_WALL:
        half = len(v) // 2
        return _wall(x, v[:half], e.side[0]) - _wall(x, v[half:], e.side[1])
    column = _R if kind in (Hold.HORIZONTAL, Hold.ALONG_R) else _Z
    return x[v[1], column] - x[v[0], column] - value


def _out_of_angle(e: Equation, x: Values, v: Sequence[int], angle: float) -> complex:
    if len(v) == 2:
        d = _line(x, v[0], v[1])
        return math.cos(angle) * d[1] - math.sin(angle) * d[0]
    a, b = _line(x, v[1], v[0]), _line(x, v[1], v[2])
    cross, dot = e.side[0] * (a[0] * b[1] - a[1] * b[0]), a[0] * b[0] + a[1] * b[1]
    return (cross * math.cos(angle) - dot * math.sin(angle)) / cmath.sqrt(_length(a) * _length(b) or 1.0)


def is_right_way(e: Equation, x: Values) -> bool:
    """Return whether an angle or a tangent that is met points the right way, and not back."""
    v, kind = [number - 1 for number in e.constraint.vertices], e.constraint.kind
    if kind is Hold.TANGENT:
        (i, _), (j, _), (k, _) = e.of[0], e.of[2], e.of[4]
        a, b = _turned(_line(x, i, j), x[i, _BULGE], 1.0), _turned(_line(x, j, k), x[j, _BULGE], -1.0)
        return (a[0] * b[0] + a[1] * b[1]).real >= 0.0
    if kind is Hold.ANGLE and len(v) == 3:
        a, b = _line(x, v[1], v[0]), _line(x, v[1], v[2])
        angle = math.radians(e.constraint.value or 0.0)
        cross, dot = e.side[0] * (a[0] * b[1] - a[1] * b[0]), a[0] * b[0] + a[1] * b[1]
        return (dot * math.cos(angle) + cross * math.sin(angle)).real >= 0.0
    if kind is Hold.RADIUS and len(v) == 1:
        return x[v[0], _RADIUS].real >= 0.0
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


class Solver:
    """Looks for the outline nearest to one that an edit left, on which constraints hold.

    Args:
        rows: (n, 4) z, r, bulge and corner radius as the edit left them.
        before: (n, 4) as they were, which says on which side of a line something lies.
        constraints: to be held.
        fixed: (n, 4) True for what may not move: locked, or driven.
        shapes: outlines by name, in the frame of the rows.

    Raises:
        GeometryError: a constraint cannot be read on this outline.
    """

    def __init__(
        self,
        rows: Array,
        before: Array,
        constraints: Sequence[Constraint],
        fixed: Flags,
        shapes: Mapping[str, Sequence[Path]],
    ) -> None:
        self.rows, self.shapes = rows, shapes
        self.equations = [equation(c, before) for c in constraints]
        keys = dict.fromkeys(key for e in self.equations for key in e.of)
        self.keys = [key for key in keys if not fixed[key]]
        self.at = {key: k for k, key in enumerate(self.keys)}
        needed = {i for i, _ in keys}
        self.start: Values = {(i, k): complex(rows[i, k]) for i in needed for k in range(4)}
        #: A bulge counts as the mm that it stands off its chord.
        self.scale = np.array([self._scale(key) for key in self.keys])
        self.target = np.array([rows[key] for key in self.keys]) * self.scale
        self.multiplier: Array = np.zeros(0)

    def _scale(self, key: tuple[int, int]) -> float:
        i, column = key
        if column != _BULGE:
            return 1.0
        j = (i + 1) % len(self.rows)
        return max(math.hypot(*(self.rows[j, :2] - self.rows[i, :2])) / 2.0, 1e-3)

    def nearest(self, moved: Flags, pinned: bool) -> Array | None:
        """Return (n, 4) the rows on which all is held, or None where there are none.

        Args:
            moved: (n, 4) True for what the user has put where it is.
            pinned: that stays there exactly; else it counts much more than what follows.
        """
        heavy = np.array([bool(moved[key]) for key in self.keys], dtype=bool)
        weight = np.where(heavy, _HEAVY, 1.0)
        free = ~heavy if pinned else np.ones(len(self.keys), dtype=bool)
        active = [e.constraint.kind is not Hold.CLEAR for e in self.equations]
        for _ in range(len(active) + 1):
            x = self._newton(active, weight, free)
            if x is None:
                return None
            worst = self._too_near(x, active)
            if worst is None:
                return self._rows(x)
            active[worst] = True
        return None

    def _newton(self, active: Sequence[bool], weight: Array, free: Flags) -> Array | None:
        x, used = self.target.copy(), [e for e, on in zip(self.equations, active, strict=True) if on]
        f, jacobian = self._linear(used, x)
        miss = float(np.abs(f).max(initial=0.0))
        slow = 0
        for _ in range(_MOST_STEPS):
            if not np.isfinite(miss) or slow > _SLOW_STEPS:
                return None
            scaled = jacobian[:, free] / weight[free]
            wanted = jacobian[:, free] @ (x - self.target)[free] - f
            y = np.linalg.lstsq(scaled, wanted, rcond=_RANK)[0] if scaled.size else np.zeros(int(free.sum()))
            step = np.zeros(len(x))
            step[free] = y / weight[free] - (x - self.target)[free]
            share, before = 1.0, miss
            while True:
                tried = x + share * step
                f, jacobian = self._linear(used, tried)
                miss = float(np.abs(f).max(initial=0.0))
                if miss <= max(before, HELD_MM / 100.0) or share < 0.01:
                    break
                share /= 4.0
            x = tried
            if miss <= HELD_MM / 100.0 and float(np.abs(share * step).max(initial=0.0)) <= _STILL_MM:
                break
            slow += miss > max(before / 2.0, HELD_MM / 100.0)
        values = self._values(x)
        held = miss <= HELD_MM and all(is_right_way(e, values) for e in used)
        below = any(x[k] < -HELD_MM for key, k in self.at.items() if key[1] in (_R, _RADIUS))
        return x if held and not below else None

    def _values(self, x: Array) -> Values:
        values = dict(self.start)
        for key, number in zip(self.keys, (x / self.scale).tolist(), strict=True):
            values[key] = complex(number)
        return values

    def _linear(self, used: Sequence[Equation], x: Array) -> tuple[Array, Array]:
        """Return the misfits (m,) and their derivatives (m, variables) at x."""
        values = self._values(x)
        f, jacobian = np.zeros(len(used)), np.zeros((len(used), len(x)))
        for row, e in enumerate(used):
            if e.constraint.kind is Hold.CLEAR:
                f[row] = self._clear(e, x, jacobian[row])
                continue
            f[row] = misfit(e, values).real
            for key in e.of:
                k = self.at.get(key)
                if k is not None:
                    number = values[key]
                    values[key] = number + _STEP * 1j
                    jacobian[row, k] = misfit(e, values).imag / _STEP / self.scale[k]
                    values[key] = number
        return f, jacobian

    def _clear(self, e: Equation, x: Array, row: Array) -> float:
        found = near(e.constraint, self._rows(x), self.shapes)
        for i, share in zip((number - 1 for number in e.constraint.vertices), found.shares, strict=True):
            for column, along in ((_Z, found.away[0]), (_R, found.away[1])):
                k = self.at.get((i, column))
                if k is not None:
                    row[k] = share * along
        return found.gap_mm - (e.constraint.value or 0.0)

    def _too_near(self, x: Array, active: Sequence[bool]) -> int | None:
        """Return the one-sided constraint that is missed most, None where none is."""
        rows, found = self._rows(x), []
        for k, e in enumerate(self.equations):
            if not active[k]:
                short = (e.constraint.value or 0.0) - near(e.constraint, rows, self.shapes).gap_mm
                found.append((short, k))
        short, k = max(found, default=(0.0, -1))
        return k if short > HELD_MM else None

    def _rows(self, x: Array) -> Array:
        rows = self.rows.copy()
        for key, number in zip(self.keys, (x / self.scale).tolist(), strict=True):
            rows[key] = number
        return rows

    def rank(self) -> int:
        """Return how many of the constraints say something of their own as the outline lies (pivoted QR)."""
        from scipy.linalg import qr

        _, jacobian = self._linear(self.equations, self.target)
        if not jacobian.size:
            return 0
        r = np.abs(np.diag(qr(jacobian.T, mode="r", pivoting=True)[0]))
        return int((r > 1e-7 * max(float(r.max(initial=0.0)), 1e-12)).sum())

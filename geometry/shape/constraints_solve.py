"""The nearest outline on which constraints hold.

Newton's method on the equations of all constraints, each step the shortest weighted one from where an edit
has put the outline (least squares), so that what the user moved stays and the rest follows. `clear of` is
one-sided: it joins only where the gap would be less.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from geometry.shape.constraints import (
    BULGE,
    HELD_MM,
    RADIUS,
    Equation,
    R,
    Values,
    Z,
    equation,
    is_right_way,
    linear,
)
from geometry.shape.constraints_clear import near
from geometry.shape.curve import Array, Flags, Path
from geometry.shape.held import Constraint, Hold

#: Newton's steps; a section near by takes three to six.
_MOST_STEPS = 40
#: How many of them look for the nearest place.
_NEAREST_STEPS = 8
#: What is held and moves by less is near enough to where it was put, mm.
_STILL_MM = 1e-3
#: Steps that may take off less than half of the misfit before it counts as not to be met.
_SLOW_STEPS = 4
#: How much heavier what the user moved is than what follows; the rest takes this share of a misfit.
_HEAVY = 1e4
#: A singular value below this share of the largest counts as none.
_RANK = 1e-9


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
        if column != BULGE:
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
        for k in range(_MOST_STEPS):
            # First towards the place nearest to the target; then straight to where all is met, from where
            # that has come: the curvature of what is held can make the first swing to and fro.
            seeks_nearest = k < _NEAREST_STEPS
            if not np.isfinite(miss) or slow > _SLOW_STEPS:
                return None
            scaled = jacobian[:, free] / weight[free]
            away = (x - self.target)[free] if seeks_nearest else np.zeros(int(free.sum()))
            wanted = jacobian[:, free] @ away - f
            y = np.linalg.lstsq(scaled, wanted, rcond=_RANK)[0] if scaled.size else np.zeros(int(free.sum()))
            step = np.zeros(len(x))
            step[free] = y / weight[free] - away
            share, before = 1.0, miss
            while True:
                tried = x + share * step
                f, jacobian = self._linear(used, tried)
                miss = float(np.abs(f).max(initial=0.0))
                if miss <= max(before, HELD_MM / 100.0) or share < 0.01:
                    break
                share /= 4.0
            x = tried
            is_still = float(np.abs(share * step).max(initial=0.0)) <= _STILL_MM
            if miss <= HELD_MM / 100.0 and (is_still or not seeks_nearest):
                break
            slow += not seeks_nearest and miss > max(before / 2.0, HELD_MM / 100.0)
        values = self._values(x)
        held = miss <= HELD_MM and all(is_right_way(e, values) for e in used)
        below = any(x[k] < -HELD_MM for key, k in self.at.items() if key[1] in (R, RADIUS))
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
            f[row], slopes = linear(e, values)
            for key, slope in slopes:
                k = self.at.get(key)
                if k is not None:
                    jacobian[row, k] += slope / self.scale[k]
        return f, jacobian

    def _clear(self, e: Equation, x: Array, row: Array) -> float:
        found = near(e.constraint, self._rows(x), self.shapes)
        for i, share in zip((number - 1 for number in e.constraint.vertices), found.shares, strict=True):
            for column, along in ((Z, found.away[0]), (R, found.away[1])):
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

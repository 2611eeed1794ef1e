"""The seats of a group at which its blank weighs least, proven.

Without fillets the mass is a convex function of the seats: the integral of r (greatest upper surface less
least lower surface) over r. At every place that is looked at, value and slope give a plane that lies under
the whole function; the lowest point of all planes bounds the least mass from below (J. E. Kelley, "The
cutting-plane method for solving convex programs", Journal of the Society for Industrial and Applied
Mathematics 8, 1960).
Fillets undo the convexity: they are taken at the seats found, and the neighbourhood is searched.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.errors import GeometryError
from geometry.forging.composite import DENSITY_KG_M3, Blank, Forgeable, Need, blank_of, filleted, united
from geometry.forging.profile import HIGH, LOW, ORIGIN
from geometry.forging.web import with_least_web
from geometry.shape.curve import Array

#: The bound is this near to the mass found, as a share of it, when the seats count as proven.
_PROVEN = 5e-6
_MOST_PLANES = 600

#: How far from the best seats known the next ones are looked for, mm, at first and at least.
_FIRST_REACH_MM, _LEAST_REACH_MM = 20.0, 1e-3

#: Steps of the search with fillets, mm.
_STEPS_MM = (2.0, 0.5, 0.1)

#: Asked now and then; True stops the work.
Cancelled = Callable[[], bool]


class CancelledError(Exception):
    """The work was stopped."""


@dataclass(frozen=True, eq=False)
class Seated:
    """A group's blank.

    Attributes:
        seats_mm: of each need, the first 0.
        blank: with fillets.
        draft_mass_kg: without fillets, at the seats that are best without them.
        bound_kg: no blank of the group is lighter; equal to draft_mass_kg where the seats are proven.
        is_proven: the bound is as near to draft_mass_kg as it gets in numbers.
        planes: how many places were looked at.
    """

    seats_mm: tuple[float, ...]
    blank: Blank
    mass_kg: float
    draft_mass_kg: float
    bound_kg: float
    is_proven: bool
    planes: int


def seated(
    needs: Sequence[Need],
    how: Forgeable,
    *,
    seats_mm: Sequence[float] | None = None,
    density_kg_m3: float = DENSITY_KG_M3,
    cancelled: Cancelled | None = None,
) -> Seated:
    """Return the lightest blank of a group.

    Args:
        needs: what it must hold.
        how: draft and fillets.
        seats_mm: given seats, (n,); None looks for the best.
        density_kg_m3: of the metal.
        cancelled: asked between places.

    Raises:
        GeometryError: no need is given, or not as many seats as needs.
        CancelledError: it was cancelled.
    """
    if not needs:
        raise GeometryError("A blank is asked for no wheel; name one or more.")
    unit = 2.0 * math.pi * density_kg_m3 * 1e-9
    if seats_mm is not None:
        if len(seats_mm) != len(needs):
            raise GeometryError(
                f"{len(seats_mm)} seats are given for {len(needs)} wheels; give one for each."
            )
        seats = tuple(float(x) - float(seats_mm[0]) for x in seats_mm)
        draft = blank_of(*united(needs, seats)).mass_kg(density_kg_m3)
        made = _made(needs, seats, how)
        return Seated(seats, made, made.mass_kg(density_kg_m3), draft, draft, True, 0)
    best, value, bound, planes = _least(needs, cancelled)
    seats = tuple(best.tolist())
    if how.fillet_mm > 0.0 and len(needs) > 1:
        seats = _with_fillets(needs, how, seats, cancelled)
    made = _made(needs, seats, how)
    is_proven = value - bound <= _PROVEN * value
    return Seated(
        seats, made, made.mass_kg(density_kg_m3), value * unit, min(bound, value) * unit, is_proven, planes
    )


def _made(needs: Sequence[Need], seats: Sequence[float], how: Forgeable) -> Blank:
    """Return the blank at given seats, with its least web and its fillets."""
    high, low = united(needs, seats)
    if how.web_mm <= 0.0:
        return filleted(high, low, how)
    reach = max(each.reach_mm for each in needs)
    # Without fillets either side of the web weighs the same; the lighter with them is taken.
    ways = (with_least_web(high, low, how.web_mm, reach, how, is_above=above) for above in (True, False))
    return min((filleted(*way, how) for way in ways), key=lambda blank: blank.volume_mm3)


def moment_and_slopes(needs: Sequence[Need], seats_mm: Sequence[float]) -> tuple[float, Array]:
    """Return the integral of r times the blank's height, mm3, and its slope (n,) by each seat, mm2."""
    high, low = united(needs, seats_mm)
    blank = blank_of(high, low)
    slopes = np.zeros(len(needs))
    for profile, sign in ((high, 1.0), (low, -1.0)):
        inner, outer = profile[:, LOW], np.minimum(profile[:, HIGH], blank.rim_mm)
        ring = np.where(outer > inner, (outer * outer - inner * inner) / 2.0, 0.0)
        slopes += sign * np.bincount(profile[:, ORIGIN].astype(int), weights=ring, minlength=len(needs))
    return blank.volume_mm3 / (2.0 * math.pi), slopes


def _least(needs: Sequence[Need], cancelled: Cancelled | None) -> tuple[Array, float, float, int]:
    """Return seats, the moment there, a bound from below, and how many planes prove it."""
    n = len(needs)
    first, slope = moment_and_slopes(needs, [0.0] * n)
    if n == 1:
        return np.zeros(1), first, first, 1
    from scipy.optimize import linprog

    seen, values, slopes = [np.zeros(n)], [first], [slope]
    cost = np.append(np.zeros(n - 1), 1.0)
    best, bound, reach = 0, 0.0, _FIRST_REACH_MM
    while len(values) < _MOST_PLANES:
        if cancelled is not None and cancelled():
            raise CancelledError
        rows = np.array([np.append(g[1:], -1.0) for g in slopes])
        right = np.array([g[1:] @ x[1:] - v for g, x, v in zip(slopes, seen, values, strict=True)])
        # The lowest point of few planes lies far off: it is looked for near the best place known.
        at = seen[best][1:]
        near = [(a - reach, a + reach) for a in at] + [(0.0, None)]
        low = linprog(cost, A_ub=rows, b_ub=right, bounds=near, method="highs")
        if low.status != 0:
            break
        place, hoped = np.append(0.0, low.x[:-1]), values[best] - float(low.fun)
        pull = np.abs(low.lower.marginals[:-1]) + np.abs(low.upper.marginals[:-1])
        if pull.sum() * _FIRST_REACH_MM <= 1e-9 * values[best]:
            # The limits of the search hold nothing back: the planes are lowest here of all places.
            bound = max(bound, float(low.fun))
            if values[best] - bound <= _PROVEN * values[best]:
                break
        elif hoped <= _PROVEN * values[best] / 2.0:
            reach *= 4.0
            continue
        value, slope = moment_and_slopes(needs, place.tolist())
        seen.append(place)
        values.append(value)
        slopes.append(slope)
        if value < values[best]:
            reach *= 2.0 if values[best] - value > 0.5 * hoped else 1.0
            best = len(values) - 1
        else:
            reach = max(reach / 2.0, _LEAST_REACH_MM)
    return seen[best], values[best], bound, len(values)


def _with_fillets(
    needs: Sequence[Need], how: Forgeable, seats: tuple[float, ...], cancelled: Cancelled | None
) -> tuple[float, ...]:
    """Return seats near given ones at which the blank with fillets weighs less, by steps along each seat."""
    best, mass = list(seats), filleted(*united(needs, seats), how).volume_mm3
    for step in _STEPS_MM:
        for k in range(1, len(needs)):
            for way in (1.0, -1.0):
                while True:
                    if cancelled is not None and cancelled():
                        raise CancelledError
                    tried = [*best]
                    tried[k] += way * step
                    other = filleted(*united(needs, tried), how).volume_mm3
                    if other >= mass * (1.0 - 1e-9):
                        break
                    best, mass = tried, other
    return tuple(best)

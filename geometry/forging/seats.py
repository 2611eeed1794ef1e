"""The seats of a group at which its blank weighs least, proven.

Without fillets the mass is a convex function of the seats: the integral of r (greatest upper surface less
least lower surface) over r. At every place that is looked at, value and slope give a plane that lies under
the whole function; the lowest point of all planes bounds the least mass from below (J. E. Kelley, "The
cutting-plane method for solving convex programs", Journal of the Society for Industrial and Applied
Mathematics 8, 1960).
Fillets undo the convexity: they are taken at the seats found, and the neighbourhood is searched by the same
planes, those left out that are seen to cut the function. Steps along one seat at a time will not do: the
least mass lies in creases, where several wheels have to move together.

Wheels are put into an order of their own before they are seated, so that the blank of a group does not hang
on the order in which it is given.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.errors import GeometryError
from geometry.forging.composite import (
    DENSITY_KG_M3,
    NO_NEED,
    Blank,
    Forgeable,
    Need,
    blank_of,
    closed,
    filleted,
    united,
)
from geometry.forging.meeting import parted, possible_mm
from geometry.forging.profile import AT_R, HIGH, LOW, ORIGIN, RADIUS
from geometry.forging.web import with_least_web
from geometry.shape.curve import Array, Indices

#: The bound is this near to the mass found, as a share of it, when the seats count as proven.
_PROVEN = 5e-6
_MOST_PLANES = 600

#: How far from the best seats known the next ones are looked for, mm, at first and at least.
_FIRST_REACH_MM, _LEAST_REACH_MM = 20.0, 1e-3

#: The search with fillets: how far it looks at first, and at least, mm; a gain that is none, as a share.
_FILLET_REACH_MM, _FILLET_LEAST_MM = 2.0, 2e-3
_NO_GAIN = 1e-6
_MOST_LOOKS = 120

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
    order = sorted(range(len(needs)), key=lambda k: _rank(needs[k]))
    ranked = [needs[k] for k in order]
    best, value, bound, planes = _least(ranked, cancelled)
    if how.fillet_mm > 0.0 and len(needs) > 1:
        best = _with_fillets(ranked, how, best, cancelled)
    of = dict(zip(order, best.tolist(), strict=True))
    seats = tuple(of[k] - of[0] for k in range(len(needs)))
    made = _made(needs, seats, how)
    is_proven = value - bound <= _PROVEN * value
    return Seated(
        seats, made, made.mass_kg(density_kg_m3), value * unit, min(bound, value) * unit, is_proven, planes
    )


def parting_possible_mm(
    needs: Sequence[Need], seats_mm: Sequence[float], how: Forgeable
) -> tuple[float, float]:
    """Return the least and greatest z at which the dies of a group can meet, in the first need's frame."""
    high, low = (closed(surface, how.fillet_mm) for surface in united(needs, seats_mm))
    return possible_mm(high, low, max(each.reach_mm for each in needs))


def _made(needs: Sequence[Need], seats: Sequence[float], how: Forgeable) -> Blank:
    """Return the blank at given seats, with its least web, its parting height and its fillets."""
    high, low = united(needs, seats)
    reach = max(each.reach_mm for each in needs)
    if how.web_mm <= 0.0:
        return _met(high, low, reach, how)
    # Without fillets either side of the web weighs the same; the lighter with them is taken.
    ways = (with_least_web(high, low, how.web_mm, reach, how, is_above=above) for above in (True, False))
    return min((_met(*way, reach, how) for way in ways), key=lambda blank: blank.volume_mm3)


def _met(high: Array, low: Array, reach_mm: float, how: Forgeable) -> Blank:
    """Return the blank between two surfaces, closed by the fillets, its dies meeting where it was asked."""
    if how.parting_mm is None:
        return filleted(high, low, how)
    # A mouth is as wide as its fillets make it.
    high, low = (closed(surface, how.fillet_mm) for surface in (high, low))
    return filleted(*parted(high, low, how.parting_mm, reach_mm, how), how)


def _rank(need: Need) -> tuple[float, bytes, bytes]:
    """Return what wheels are ordered by: the heaviest first, alike ones by their surfaces; no names."""
    return -blank_of(need.upper, need.lower).volume_mm3, need.upper.tobytes(), need.lower.tobytes()


def moment_and_slopes(
    needs: Sequence[Need], seats_mm: Sequence[float], fillet_mm: float = 0.0
) -> tuple[float, Array]:
    """Return the integral of r times the blank's height, mm3, and its slope (n,) by each seat, mm2.

    Args:
        needs: what the blank holds.
        seats_mm: of each, (n,).
        fillet_mm: radius that hollows are closed by; 0 for none.
    """
    opened = united(needs, seats_mm)
    blank = blank_of(*(closed(profile, fillet_mm) for profile in opened))
    slopes = np.zeros(len(needs))
    for surface, open_one, sign in zip((blank.upper, blank.lower), opened, (1.0, -1.0), strict=True):
        rows = surface[surface[:, LOW] < blank.rim_mm]
        is_fillet = rows[:, ORIGIN] == NO_NEED
        own = rows[~is_fillet]
        inner, outer = own[:, LOW], np.minimum(own[:, HIGH], blank.rim_mm)
        rings = (outer * outer - inner * inner) / 2.0
        slopes += sign * np.bincount(own[:, ORIGIN].astype(int), weights=rings, minlength=len(needs))
        if is_fillet.any():
            for foot, gains in _fillet_slopes(rows[is_fillet], open_one, blank.rim_mm):
                slopes += sign * np.bincount(foot, weights=gains, minlength=len(needs))
    return blank.volume_mm3 / (2.0 * math.pi), slopes


def _fillet_slopes(fillets: Array, opened: Array, rim_mm: float) -> list[tuple[Indices, Array]]:
    """Return, for both sides that fillets rest on, whose they are (n,) and the slope by its height (n,), mm2.

    A disc that rests on two places stays at its distance from both: where one of them rises by dz, the
    centre's step c is c . a = dz a_z with a the normal there, and c . b = 0 with b the other's.
    """
    radius, at = -fillets[:, RADIUS], fillets[:, AT_R]
    low, high = fillets[:, LOW], fillets[:, HIGH]
    # Beyond the axle a surface goes on level: what rests there rests under its centre.
    low_foot = np.where((low <= 0.0) & (at <= 0.0), at, low)
    a_r, b_r = (at - low_foot) / radius, (at - high) / radius
    a_z, b_z = (np.sqrt(np.maximum(1.0 - x * x, 0.0)) for x in (a_r, b_r))
    turn = a_r * b_z - a_z * b_r
    end = np.minimum(high, rim_mm)
    deep = [np.sqrt(np.maximum(radius**2 - (r - at) ** 2, 0.0)) for r in (low, end)]
    # Integrals of r, and of r times the slope of the arc, over the fillet.
    rings = (end * end - low * low) / 2.0
    u, v = (low - at), (end - at)
    angle = np.arcsin(np.clip(v / radius, -1.0, 1.0)) - np.arcsin(np.clip(u / radius, -1.0, 1.0))
    leans = (u * deep[0] - v * deep[1] + radius**2 * angle) / 2.0 + at * (deep[0] - deep[1])
    found = []
    for foot, own_z, step_r, step_z in ((low, a_z, b_z, -b_r), (high, b_z, -a_z, a_r)):
        share = np.divide(own_z, turn, out=np.zeros_like(turn), where=np.abs(turn) > 1e-12)
        piece = np.clip(np.searchsorted(opened[:, HIGH], np.maximum(foot, 0.0)), 0, len(opened) - 1)
        found.append((opened[piece, ORIGIN].astype(np.intp), share * (step_z * rings - step_r * leans)))
    return found


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


def _with_fillets(needs: Sequence[Need], how: Forgeable, first: Array, cancelled: Cancelled | None) -> Array:
    """Return seats (n,) near given ones at which the blank with fillets weighs least."""
    from scipy.optimize import linprog

    best, value, slope = first, *moment_and_slopes(needs, first.tolist(), how.fillet_mm)
    planes, reach = [(best, value, slope)], _FILLET_REACH_MM
    cost = np.append(np.zeros(len(needs) - 1), 1.0)
    for _ in range(_MOST_LOOKS):
        if cancelled is not None and cancelled():
            raise CancelledError
        # The mass is all but convex: a plane over the best place known is none that lies under it.
        under = [(x, v, g) for x, v, g in planes if v + g[1:] @ (best - x)[1:] <= value * (1.0 + 1e-12)]
        rows = np.array([np.append(g[1:], -1.0) for _, _, g in under])
        right = np.array([g[1:] @ x[1:] - v for x, v, g in under])
        near = [(a - reach, a + reach) for a in best[1:]] + [(0.0, None)]
        low = linprog(cost, A_ub=rows, b_ub=right, bounds=near, method="highs")
        hoped = value - float(low.fun) if low.status == 0 else 0.0
        if hoped <= _NO_GAIN * value or reach < _FILLET_LEAST_MM:
            break
        place = np.append(0.0, low.x[:-1])
        there, slope = moment_and_slopes(needs, place.tolist(), how.fillet_mm)
        planes.append((place, there, slope))
        if there < value:
            reach *= 1.5 if value - there > 0.5 * hoped else 1.0
            best, value = place, there
        else:
            reach /= 2.0
    return best

"""A least web: where a blank is thinner than a press can fill, metal is added above or below.

Which side takes it is free, so that there is no smallest blank any more; the lightest is asked for. On a grid
of radii that is a linear programme: both surfaces at least as high as before, no steeper than the draft, and
together no thinner than the web.
"""

from __future__ import annotations

import math

import numpy as np

from geometry.errors import GeometryError
from geometry.forging.composite import NO_NEED, Forgeable
from geometry.forging.profile import COLUMNS, HIGH, LOW, clipped, heights, line, upper
from geometry.shape.curve import Array, Flags

#: No hollow of a blank hangs farther under a chord of the grid, mm: that of R5 does so by 0.1.
_HANGS_MM = 0.2

#: Share by which metal on one side counts as lighter, so that the sides do not take turns.
_LEAN = 1e-4

#: Radii of the grid are this far apart at most, mm.
_STEP_MM = 2.0


def with_least_web(
    high: Array, low: Array, web_mm: float, reach_mm: float, how: Forgeable, *, is_above: bool = True
) -> tuple[Array, Array]:
    """Return both dies' surfaces with no place thinner than a web, out to the largest radius of the wheels.

    Args:
        high: surface of the upper die.
        low: surface of the lower die, turned over.
        web_mm: least height of the blank.
        reach_mm: largest radius that the wheels need.
        how: the drafts.
        is_above: of ways that weigh the same the upper die's side gets the metal, else the lower one's;
            left open, the sides would take turns, and fillets would fill the hollows between.

    Raises:
        GeometryError: the web is not a length from 0 to 300 mm.
    """
    if not 0.0 <= web_mm <= 300.0:
        raise GeometryError(f"The least web is {web_mm:g} mm; it must be from 0 to 300.")
    r = _grid(high, low, reach_mm)
    top, bottom = heights(high, r), heights(low, r)
    if float((top + bottom).min()) >= web_mm:
        return high, low
    above, below = _lightest(r, top, bottom, web_mm, how, is_above)
    far = float(min(high[-1, HIGH], low[-1, HIGH]))
    # Between two radii a hollow hangs under its chord: where the web is just held, the chord is taken.
    is_thin = above + below <= web_mm + _HANGS_MM
    return _raised(high, r, above, top, is_thin, how, far), _raised(low, r, below, bottom, is_thin, how, far)


def _grid(high: Array, low: Array, reach_mm: float) -> Array:
    ends = np.concatenate([high[:, LOW], high[:, HIGH], low[:, LOW], low[:, HIGH]])
    count = max(2, math.ceil(reach_mm / _STEP_MM) + 1)
    every = np.concatenate([ends[(ends > 0.0) & (ends < reach_mm)], np.linspace(0.0, reach_mm, count)])
    found = np.unique(every)
    return np.asarray(found[np.append(True, np.diff(found) > 1e-6)])


def _lightest(
    r: Array, top: Array, bottom: Array, web_mm: float, how: Forgeable, is_above: bool
) -> tuple[Array, Array]:
    """Return the heights (n,) of both surfaces."""
    from scipy.optimize import linprog
    from scipy.sparse import coo_array, hstack, vstack

    n, step = len(r), np.diff(r)
    falls, rises = (1.0 / math.tan(math.radians(a)) for a in (how.outside_deg, how.inside_deg))
    k = np.arange(n - 1)
    ones = np.ones(n - 1)
    rise = coo_array(
        (np.concatenate([-ones, ones]), (np.concatenate([k, k]), np.concatenate([k, k + 1]))), (n - 1, n)
    )
    none = coo_array((n - 1, n))
    both = coo_array((np.full(2 * n, -1.0), (np.tile(np.arange(n), 2), np.arange(2 * n))), (n, 2 * n))
    rows = vstack(
        [hstack([rise, none]), hstack([-rise, none]), hstack([none, rise]), hstack([none, -rise]), both]
    )
    limits = np.concatenate([rises * step, falls * step, rises * step, falls * step, np.full(n, -web_mm)])
    # Rings of the trapezoids on either side of a radius.
    weight = np.zeros(n)
    weight[:-1] += step * (2.0 * r[:-1] + r[1:]) / 6.0
    weight[1:] += step * (r[:-1] + 2.0 * r[1:]) / 6.0
    least = np.concatenate([top, bottom])
    lean = _LEAN if is_above else -_LEAN
    found = linprog(
        np.concatenate([weight * (1.0 - lean), weight * (1.0 + lean)]) + 1e-9,
        A_ub=rows.tocsr(),
        b_ub=limits + 1e-9,
        bounds=np.column_stack([least, np.full(2 * n, np.inf)]),
        method="highs",
    )
    if found.status != 0:
        raise GeometryError(
            f"No blank has a web of {web_mm:g} mm at this draft; the solver says: {found.message}"
        )
    return found.x[:n], found.x[n:]


def _raised(
    surface: Array, r: Array, new: Array, old: Array, is_thin: Flags, how: Forgeable, far: float
) -> Array:
    """Return a surface with new heights where they stand over the old ones, or the web is just held."""
    falls = 1.0 / math.tan(math.radians(how.outside_deg))
    rows = [list(row) for row in surface]
    for k in range(len(r) - 1):
        is_new = max(new[k] - old[k], new[k + 1] - old[k + 1]) > 1e-7
        if is_new or is_thin[k] or is_thin[k + 1]:
            lean = float((new[k + 1] - new[k]) / (r[k + 1] - r[k]))
            rows.append(line(float(r[k]), float(r[k + 1]), float(r[k]), float(new[k]), lean, NO_NEED))
    if new[-1] - old[-1] > 1e-7:
        rows.append(line(float(r[-1]), far, float(r[-1]), float(new[-1]), -falls, NO_NEED))
    return clipped(upper(np.array(rows, dtype=float).reshape(-1, COLUMNS)), 0.0, far)

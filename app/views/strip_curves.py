"""The curves of the profile strip: for each z the least value of one side, or values along the skin."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from geometry.readings.profile import Profile
from geometry.readings.rules import RuleSet
from geometry.shape.curve import Array, Flags, Indices
from geometry.shape.outline import ShapeKind
from geometry.shape.section import ZONES, Side

SIDES: tuple[Side, ...] = tuple(Side)
QUANTITIES = ("gap", "wall", "stock")

#: Width of a column along the axle; a station stands for the skin up to half way to its neighbours.
COLUMN_MM = 1.0
_BETWEEN = 8  # points between neighbouring stations (at most 4 mm apart), so that no column stays empty


@dataclass(frozen=True, eq=False)
class Curve:
    """One curve of one side.

    Attributes:
        at_mm: (m,) z, or length along the skin, rising.
        value_mm: (m,) the reading, NaN where there is none.
        required_mm: (m,) the rule in force there, NaN without one.
        station: (m,) index into the profile of the station that the value comes from.
    """

    at_mm: Array
    value_mm: Array
    required_mm: Array
    station: Indices


def required(quantity: str, rules: RuleSet | None, kinds: Collection[ShapeKind]) -> Array:
    """Return (number of zones,) each zone's rule, NaN without one; for the gap the largest of all shapes."""
    found = np.full(len(ZONES), np.nan)
    if rules is None:
        return found
    for k, zone in enumerate(ZONES):
        if quantity == "gap":
            gap = [rule.paper_mm for kind in kinds if (rule := rules.for_gap(kind, zone))]
            found[k] = max(gap, default=np.nan)
        else:
            other = rules.for_wall(zone) if quantity == "wall" else rules.for_stock(zone)
            found[k] = other.required_mm if other else np.nan
    return found


def curve(profile: Profile, quantity: str, needs_by_zone: Array, side: Side, along: bool) -> Curve:
    """Return one quantity on one side, over z (least value in each column) or along the skin.

    Args:
        profile: stations along the skin.
        quantity: gap, wall or stock.
        needs_by_zone: as `required` gives them.
        side: which side's stations count.
        along: True for the skin's own length instead of z.
    """
    values: Array = {"gap": profile.gap_mm, "wall": profile.wall_mm, "stock": profile.stock_mm}[quantity]
    needs = needs_by_zone[profile.zone]
    on = np.flatnonzero(profile.side == SIDES.index(side))
    if len(on) == 0:
        nothing = np.zeros(0)
        return Curve(nothing, nothing, nothing, np.zeros(0, dtype=np.intp))
    if along:
        return Curve(profile.along_mm[on], values[on], needs[on], on)
    return _columns(profile, values, needs, on)


def _columns(profile: Profile, values: Array, needs: Array, on: Indices) -> Curve:
    z, value, station = _refined(profile, values, on)
    first = int(np.floor(z.min() / COLUMN_MM))
    column = np.floor(z / COLUMN_MM).astype(np.intp) - first
    # Least value first in every column; NaN sorts last and stands only where nothing else does.
    order = np.lexsort((value, column))
    column, value, station = column[order], value[order], station[order]
    lead: Flags = np.concatenate([[True], column[1:] != column[:-1]])
    count = int(column[-1]) + 1
    out = np.full(count, np.nan)
    need = np.full(count, np.nan)
    source = np.full(count, -1, dtype=np.intp)
    out[column[lead]] = value[lead]
    need[column[lead]] = needs[station[lead]]
    source[column[lead]] = station[lead]
    middle: Array = (np.arange(count, dtype=np.float64) + first + 0.5) * COLUMN_MM
    return Curve(middle, out, need, source)


def _refined(profile: Profile, values: Array, on: Indices) -> tuple[Array, Array, Indices]:
    """Return places and values at and between the stations of a side, linear between neighbours."""
    a, b = on[:-1], on[1:]
    neighbours = b == a + 1
    a, b = a[neighbours], b[neighbours]
    t = np.linspace(0.0, 1.0, _BETWEEN, endpoint=False)[None, :]
    z = profile.z[a][:, None] * (1.0 - t) + profile.z[b][:, None] * t
    value = values[a][:, None] * (1.0 - t) + values[b][:, None] * t
    # Between a number and nothing the number holds for its own half.
    near = np.where(t < 0.5, values[a][:, None], values[b][:, None])
    value = np.where(np.isnan(value), near, value)
    station = np.where(t < 0.5, a[:, None], b[:, None])
    return (
        np.concatenate([z.ravel(), profile.z[on]]),
        np.concatenate([value.ravel(), values[on]]),
        np.concatenate([station.ravel(), on]),
    )


def nearest(curves: dict[str, Curve], at_mm: float, value_mm: float, reach_mm: float) -> int | None:
    """Return the station nearest to a click: within reach along the axis, the curve nearest in value."""
    best: tuple[float, int] | None = None
    for c in curves.values():
        near = np.flatnonzero(
            (np.abs(c.at_mm - at_mm) <= reach_mm) & np.isfinite(c.value_mm) & (c.station >= 0)
        )
        if len(near):
            score = np.hypot(c.at_mm[near] - at_mm, c.value_mm[near] - value_mm)
            k = int(near[np.argmin(score)])
            if best is None or score.min() < best[0]:
                best = (float(score.min()), int(c.station[k]))
    return None if best is None else best[1]

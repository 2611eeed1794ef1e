"""The curves of the profile strip: for each z the least value of one side, or values along the skin."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from geometry.readings.profile import Profile
from geometry.readings.rules import RuleSet
from geometry.shape.curve import Array, Indices
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
        required_mm: (m,) the rule in force there, NaN without one and, over z, without a value.
        station: (m,) index into the profile of the station that the value comes from, -1 for none.
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
    return curves(profile, {quantity: needs_by_zone}, side, along)[quantity]


def curves(profile: Profile, needs: dict[str, Array], side: Side, along: bool) -> dict[str, Curve]:
    """Return quantities on one side as `curve` does.

    Args:
        profile: stations along the skin.
        needs: the wanted quantities, each with what the zones need of it.
        side: which side's stations count.
        along: True for the skin's own length instead of z.
    """
    on = (profile.side == SIDES.index(side)).nonzero()[0]
    if len(on) == 0 or not needs:
        nothing = np.zeros(0)
        return {name: Curve(nothing, nothing, nothing, np.zeros(0, dtype=np.intp)) for name in needs}
    of = {"gap": profile.gap_mm, "wall": profile.wall_mm, "stock": profile.stock_mm}
    if along:
        at = profile.along_mm[on]
        return {name: Curve(at, of[name][on], need[profile.zone[on]], on) for name, need in needs.items()}
    neighbours = (on[1:] == on[:-1] + 1).nonzero()[0]
    before, after = on[neighbours], on[neighbours + 1]
    column = np.floor(_between(profile.z, on, before, after) / COLUMN_MM).astype(np.intp)
    lowest = int(column.min())
    column -= lowest
    count = int(column.max()) + 1
    middle = (np.arange(count, dtype=np.float64) + lowest + 0.5) * COLUMN_MM
    nearer = np.where(_PARTS < 0.5, before[:, None], after[:, None])
    station = np.concatenate([nearer.ravel(), on])
    return {
        name: _least(middle, column, station, _between(of[name], on, before, after), need[profile.zone])
        for name, need in needs.items()
    }


def _least(middle_mm: Array, column: Indices, station: Indices, value: Array, needs: Array) -> Curve:
    """Return the least of the (p,) values in each column, with its station and that station's need."""
    count = len(middle_mm)
    least, need = np.full(count, np.nan), np.full(count, np.nan)
    source = np.full(count, -1, dtype=np.intp)
    np.fmin.at(least, column, value)
    # Of several places with the least value the first decides where a click goes: it is written last.
    places = (value == least[column]).nonzero()[0][::-1]
    found = station[places]
    source[column[places]], need[column[places]] = found, needs[found]
    return Curve(middle_mm, least, need, source)


def _between(values: Array, on: Indices, before: Indices, after: Indices) -> Array:
    """Return values between neighbouring stations, linear from one to the other, then at the stations."""
    start, end = values[before], values[after]
    result = np.empty(len(before) * _BETWEEN + len(on))
    between = result[: -len(on)].reshape(-1, _BETWEEN)
    between[:] = _linear(start, end)
    # Between a number and nothing the number holds for its own half.
    broken = (np.isnan(start) != np.isnan(end)).nonzero()[0]
    if len(broken):
        between[broken] = np.where(_PARTS < 0.5, start[broken, None], end[broken, None])
    result[-len(on) :] = values[on]
    return result


#: Where between two stations values are taken, as parts of the way.
_PARTS = np.linspace(0.0, 1.0, _BETWEEN, endpoint=False)


def _linear(start: Array, end: Array) -> Array:
    between: Array = start[:, None] * (1.0 - _PARTS) + end[:, None] * _PARTS
    return between


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

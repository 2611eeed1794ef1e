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
    values = _between(np.array([profile.z, *(of[name] for name in needs)]), on, before, after)
    column = np.floor(values[0] / COLUMN_MM).astype(np.intp)
    lowest = int(column.min())
    column -= lowest
    middle = (np.arange(int(column.max()) + 1, dtype=np.float64) + lowest + 0.5) * COLUMN_MM
    station = np.concatenate([np.where(_NEARER, before[:, None], after[:, None]).ravel(), on])
    least, need, source = _least(
        len(middle), column, station, values[1:], np.array(list(needs.values())), profile.zone
    )
    return {name: Curve(middle, least[k], need[k], source[k]) for k, name in enumerate(needs)}


def _least(
    columns: int, column: Indices, station: Indices, values: Array, needs_by_zone: Array, zone: Indices
) -> tuple[Array, Array, Indices]:
    """Return the least of the (k, p) values in each column, what its zone needs, and its station.

    Each is of (k, columns), NaN or -1 for none; `needs_by_zone` is (k, number of zones).
    """
    count = len(values)
    least = np.full(count * columns, np.nan)
    need, source = least.copy(), np.full(count * columns, -1, dtype=np.intp)
    into = column + np.arange(0, count * columns, columns)[:, None]
    np.fmin.at(least, into.ravel(), values.ravel())
    # Of several places with the least value the first decides where a click goes: it is written last.
    quantity, place = (values == least[into]).nonzero()
    quantity, place = quantity[::-1], place[::-1]
    at, found = into[quantity, place], station[place]
    source[at], need[at] = found, needs_by_zone[quantity, zone[found]]
    shape = count, columns
    return least.reshape(shape), need.reshape(shape), source.reshape(shape)


def _between(values: Array, on: Indices, before: Indices, after: Indices) -> Array:
    """Return values between neighbouring stations, linear from one to the other, then at the stations.

    Args:
        values: (k, m) at all stations.
        on: (n,) the stations that count.
        before: (p,) those with a neighbour behind them.
        after: (p,) that neighbour.
    """
    start, end = values[:, before], values[:, after]
    # Along all stations for one part of the way after another: the longest axis has to be the innermost.
    between = _REST[:, None, None] * start
    between += _PARTS[:, None, None] * end
    # Between a number and nothing the number holds for its own half.
    broken = (np.isnan(start) != np.isnan(end)).nonzero()
    between[:, *broken] = np.where(_NEARER[:, None], start[broken], end[broken])
    found = np.empty((len(values), between[0, 0].size * _BETWEEN + len(on)))
    found[:, : -len(on)].reshape(len(values), -1, _BETWEEN)[:] = between.transpose(1, 2, 0)
    found[:, -len(on) :] = values[:, on]
    return found


#: Where between two stations values are taken, as parts of the way.
_PARTS = np.linspace(0.0, 1.0, _BETWEEN, endpoint=False)
_REST = 1.0 - _PARTS
_NEARER = _PARTS < 0.5  # to the first of them


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

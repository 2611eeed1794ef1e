"""The curves of the profile strip: for each z the least value of one side, or values along the skin."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from geometry.readings.columns import least_by_column
from geometry.readings.profile import Profile
from geometry.readings.rules import RuleSet
from geometry.shape.curve import Array, Indices
from geometry.shape.outline import ShapeKind
from geometry.shape.section import ZONES, Side

SIDES: tuple[Side, ...] = tuple(Side)
QUANTITIES = ("gap", "wall", "stock")


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
    counts = profile.side == SIDES.index(side)
    if not needs or not counts.any():
        nothing = np.zeros(0)
        return {name: Curve(nothing, nothing, nothing, np.zeros(0, dtype=np.intp)) for name in needs}
    of = {"gap": profile.gap_mm, "wall": profile.wall_mm, "stock": profile.stock_mm}
    if along:
        on = counts.nonzero()[0]
        at = profile.along_mm[on]
        return {name: Curve(at, of[name][on], need[profile.zone[on]], on) for name, need in needs.items()}
    values = np.array([of[name] for name in needs])
    middle, least, need, station = least_by_column(
        profile.z, values, counts, profile.zone, np.array(list(needs.values()))
    )
    return {name: Curve(middle, least[k], need[k], station[k]) for k, name in enumerate(needs)}


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

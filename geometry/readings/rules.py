"""Rules for gap, wall and stock, and the five states of a check."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from geometry.shape.outline import ShapeKind
from geometry.shape.section import Zone


class State(StrEnum):
    """State of a check, worst first."""

    TOUCHING = "touching"
    SHORT = "short"
    NOT_KNOWN = "not known"
    TIGHT = "tight"
    CLEAR = "clear"


STATES: tuple[State, ...] = tuple(State)


def worst(states: Collection[State]) -> State:
    """Return the worst of the states; none at all is 'not known'."""
    return next((state for state in STATES if state in states), State.NOT_KNOWN)


@dataclass(frozen=True)
class GapRule:
    """Required gap to a kind of shape in a zone; None stands for any.

    Attributes:
        paper_mm: what must be there on paper: nominal parts at rest, new brake pads.
        worst_mm: what must remain in the worst state, after everything that eats the gap.
        reserve_mm: met by less than this reads 'tight'.
        rings: for ring bodies on the wheel alone (balance-weight band, valve, sensor), and before any other.
    """

    paper_mm: float
    worst_mm: float
    reserve_mm: float
    kind: ShapeKind | None = None
    zone: Zone | None = None
    reason: str = ""
    rings: bool = False

    @property
    def needed_mm(self) -> float:
        """What a nominal gap must have: the part on paper, and never less than what must remain at worst."""
        return max(self.paper_mm, self.worst_mm)

    @property
    def strictness(self) -> tuple[float, float]:
        """Sorts rules of one kind and zone, the strictest last."""
        return self.needed_mm, self.reserve_mm


def _closeness(rule: GapRule) -> tuple[bool, bool, bool, float, float]:
    return rule.rings, rule.kind is not None, rule.zone is not None, *rule.strictness


@dataclass(frozen=True)
class WallRule:
    """Required wall in a zone."""

    zone: Zone
    required_mm: float
    reserve_mm: float
    reason: str = ""


@dataclass(frozen=True)
class StockRule:
    """Required stock in a zone; None stands for any."""

    required_mm: float
    reserve_mm: float
    zone: Zone | None = None
    reason: str = ""


def _most(rule: WallRule | StockRule) -> tuple[float, float]:
    return rule.required_mm, rule.reserve_mm


def _nearest(rule: StockRule) -> tuple[bool, float, float]:
    return rule.zone is not None, *_most(rule)


@dataclass(frozen=True)
class RuleSet:
    """Named, revised rules.

    Attributes:
        starting_values: True while the numbers are the ones shipped, not the user's own.
        seat_land_mm: least metal between bolt seat and mounting face, or None.
    """

    name: str
    revision: str = "1"
    starting_values: bool = True
    gap: tuple[GapRule, ...] = ()
    wall: tuple[WallRule, ...] = ()
    stock: tuple[StockRule, ...] = ()
    seat_land_mm: float | None = None

    def for_gap(self, kind: ShapeKind, zone: Zone, ring: bool = False) -> GapRule | None:
        """Return the rule that fits best: kind and zone, then kind, then zone, then the general one.

        Of two that fit alike the stricter one holds. To a ring body those for ring bodies come first.
        """
        key = kind, zone, ring
        if key not in self._best:
            fits = [g for g in self.gap if g.kind in (None, kind) and g.zone in (None, zone)]
            fits = [g for g in fits if ring or not g.rings]
            self._best[key] = max(fits, key=_closeness, default=None)
        return self._best[key]

    @cached_property
    def _best(self) -> dict[tuple[ShapeKind, Zone, bool], GapRule | None]:
        """What `for_gap` has found: a match asks for the same rules a hundred thousand times."""
        return {}

    def largest_gap(self, kind: ShapeKind) -> GapRule | None:
        """Return the rule of a kind of shape that asks most, of all zones."""
        found = [rule for zone in Zone if (rule := self.for_gap(kind, zone)) is not None]
        return max(found, key=lambda rule: rule.strictness, default=None)

    def for_wall(self, zone: Zone) -> WallRule | None:
        """Return the rule of a zone, the stricter of two."""
        return self._of_wall[zone]

    @cached_property
    def _of_wall(self) -> dict[Zone, WallRule | None]:
        of = {zone: [w for w in self.wall if w.zone == zone] for zone in Zone}
        return {zone: max(fits, key=_most, default=None) for zone, fits in of.items()}

    def for_stock(self, zone: Zone) -> StockRule | None:
        """Return the rule of a zone, else the general one, the stricter of two alike."""
        return self._of_stock[zone]

    @cached_property
    def _of_stock(self) -> dict[Zone, StockRule | None]:
        of = {zone: [s for s in self.stock if s.zone in (None, zone)] for zone in Zone}
        return {zone: max(fits, key=_nearest, default=None) for zone, fits in of.items()}


#: A rule that is missed by less is met: what is made to a rule exactly misses it by rounding, half the time.
ROUNDING_MM = 1e-6


def judge(spare_mm: float | None, reserve_mm: float, touching: bool = False, known: bool = True) -> State:
    """Return the state of a check.

    Args:
        spare_mm: reading less error less rule; None where there is no rule.
        reserve_mm: met by less than this reads 'tight'.
        touching: the areas share area.
        known: every input is present and verified; if not, no other state can be told.
    """
    if not known:
        return State.NOT_KNOWN
    if touching:
        return State.TOUCHING
    if spare_mm is None:
        return State.NOT_KNOWN
    if not spare_mm >= -ROUNDING_MM:  # also what is no number
        return State.SHORT
    return State.TIGHT if spare_mm < reserve_mm else State.CLEAR

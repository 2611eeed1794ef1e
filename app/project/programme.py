"""The die programme's settings: years, money and limits; starting values until they are the maker's own."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from geometry.errors import GeometryError

#: Where the number comes from that a setting starts with.
STARTING_VALUES: Mapping[str, str] = {
    "rate": "common practice, no source",
    "order_share": "from memory",
    "tryout_share": "from memory",
    "carrying_share": "from memory: money, store and handling of a forging that waits a year",
    "write_off_share": "from memory: of the piece price, for what a last run leaves",
}


class Volumes(StrEnum):
    """Which of a fitment's yearly volumes counts."""

    LOW = "low"
    LIKELY = "likely"
    HIGH = "high"


@dataclass(frozen=True)
class Holder:
    """Outer tools that the dies of one diameter stand in; paid once."""

    name: str
    cost: float


@dataclass(frozen=True)
class YearMoney:
    """Money of one year."""

    year: int
    money: float


@dataclass(frozen=True)
class Programme:
    """Settings of the die programme; money in the project's currency.

    Attributes:
        first_year: that money is discounted to, and before which nothing can be had; None for the first year
            of the fitments.
        rate: of discount a year.
        volumes: which of the three counts. by_certainty: volumes count times the fitment's certainty.
        most_dies: at most so many die sets (inserts); None for no limit.
        budgets: at most this is paid in the year; years without one have no limit.
        press_hours: of the press in a year; None for no limit.
        order_share, tryout_share: of a die's price paid at the order and at tryout; the rest at release.
        carrying_share, write_off_share: of the piece price, for what an order or a run leaves over.
        may_refuse: a want row may be refused; else every row must be served.
        holders: shared by dies.

    Raises:
        GeometryError: a value is out of bounds.
    """

    first_year: int | None = None
    rate: float = 0.10
    volumes: Volumes = Volumes.LIKELY
    by_certainty: bool = False
    most_dies: int | None = None
    budgets: tuple[YearMoney, ...] = ()
    press_hours: float | None = None
    order_share: float = 0.4
    tryout_share: float = 0.4
    carrying_share: float = 0.15
    write_off_share: float = 0.5
    may_refuse: bool = True
    holders: tuple[Holder, ...] = ()

    def __post_init__(self) -> None:
        if not 0.0 <= self.rate < 1.0:
            raise GeometryError(f"The rate of discount is {self.rate:g}; give a share from 0 up to 1.")
        shares = (self.order_share, self.tryout_share)
        if min(shares) < 0.0 or sum(shares) > 1.0 or not all(math.isfinite(x) for x in shares):
            raise GeometryError(
                f"Payments at order and tryout are {shares[0]:g} and {shares[1]:g} of a die; give shares "
                "from 0 that come to 1 at most."
            )
        for name in ("carrying_share", "write_off_share"):
            value = getattr(self, name)
            if not 0.0 <= value <= 1.0:
                raise GeometryError(f"The setting {name} is {value:g}; give a share from 0 to 1.")
        if self.most_dies is not None and self.most_dies < 0:
            raise GeometryError(f"At most {self.most_dies} dies; give a number from 0.")
        for what, items in (("holder", self.holders), ("budget", self.budgets)):
            for item in items:
                money = item.cost if isinstance(item, Holder) else item.money
                if not (math.isfinite(money) and money >= 0.0):
                    raise GeometryError(f"A {what} of the programme is {money:g}; it must be from 0.")
        keys = [*(h.name for h in self.holders), *(str(b.year) for b in self.budgets)]
        twice = next((key for key in keys if keys.count(key) > 1), None)
        if twice is not None:
            raise GeometryError(f"'{twice}' stands twice in the programme's settings; keep one.")


#: What every new project starts with.
SHIPPED_PROGRAMME = Programme()

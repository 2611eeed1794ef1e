"""Groups of fitments as options of a programme: what a group's blank and its dies cost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from app.studies.programme.inputs import Kind, Mode, Option, Payment, Programme, Row

Group = frozenset[str]


class Costs(Protocol):
    """What a blank of a mass costs; price and cost beside it together never fall with the mass."""

    def price(self, mass_kg: float) -> float:
        """Return the price of a piece."""

    def beside(self, name: str, mass_kg: float) -> float:
        """Return what a fitment's wheel costs beside the piece."""


@dataclass(frozen=True)
class Candidate:
    """A group's blank as far as the choice needs it.

    Attributes:
        members: fitments.
        mass_kg: of the blank. least_kg: no blank of the group is lighter.
        price: of a piece. costs: of a member's wheel beside the blank, by fitment.
    """

    members: Group
    mass_kg: float
    least_kg: float
    price: float
    costs: Mapping[str, float]

    @property
    def name(self) -> str:
        """As 'new die for R-10, R-12'."""
        return f"new die for {', '.join(sorted(self.members))}"


@dataclass(frozen=True)
class NewDie:
    """What a new set of dies costs, whatever the blank; money in the project's currency.

    Attributes:
        fixed: inserts, tryout and proof. holder: name of the holder by fitment's diameter, None for none.
        lead_years, set_up, least_run: as of an option.
        left_over_share: of the piece price, for what a run leaves.
    """

    fixed: float
    payments: tuple[Payment, ...]
    holder: str | None = None
    lead_years: float = 0.0
    set_up: float = 0.0
    least_run: float = 0.0
    left_over_share: float = 0.65


def option_of(name: str, die: NewDie, price: float) -> Option:
    """Return a group's dies as an option at a price of a piece."""
    return Option(
        name,
        Kind.OWN_DIE,
        price,
        fixed=die.fixed,
        payments=die.payments,
        holder=die.holder,
        lead_years=die.lead_years,
        least_run=die.least_run,
        left_over_cost=price * die.left_over_share,
        set_up=die.set_up,
    )


def with_options(
    programme: Programme, options: Sequence[Option], arcs: Mapping[str, Mapping[str, float]]
) -> Programme:
    """Return the programme with more options, which serve rows in full."""
    rows = tuple(_more(row, arcs.get(row.name, {})) for row in programme.rows)
    return replace(programme, rows=rows, options=(*programme.options, *options))


def _more(row: Row, costs: Mapping[str, float]) -> Row:
    modes = tuple(
        mode if mode.is_compromise else replace(mode, costs={**mode.costs, **costs}) for mode in row.modes
    )
    if costs and all(mode.is_compromise for mode in row.modes):
        modes = (Mode(dict(costs)), *modes)
    return replace(row, modes=modes)

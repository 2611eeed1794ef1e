"""Two blanks for one wheel: what the second gives up, side by side of the wheel, in mm and kg."""

from __future__ import annotations

from dataclasses import dataclass, replace

from app.project import edits
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.fit import hold
from app.studies.limits import Cell, Limits, datum_mm, in_blank
from app.studies.seating import seated, spare_mm
from geometry.errors import GeometryError
from geometry.readings.measure import stock_rows
from geometry.readings.rows import Held, StockRow
from geometry.shape.blank import Blank, BlankState, Supply
from geometry.shape.section import Outline, build

#: Dies in these states are paid for, whether their price is stated or not.
_THERE = (BlankState.ORDERED, BlankState.TRIED_OUT, BlankState.PROVED)


@dataclass(frozen=True)
class SideAgainst:
    """One side of the drawn wheel in both blanks.

    Attributes:
        first_mm, second_mm: what it has to spare in either; negative where metal is missing; without a rule
            all of its stock.
    """

    zone: str
    side: str
    first_mm: float
    second_mm: float

    @property
    def gives_up_mm(self) -> float:
        """What the second blank has less to spare than the first; negative where it has more."""
        return self.first_mm - self.second_mm


@dataclass(frozen=True)
class Against:
    """What a second blank gives up against a first one.

    Attributes:
        sides: of the drawn wheel, in either blank at its own seat; most given up first.
        cheaper: how much cheaper it is a wheel, with its share of the dies; None where a price is missing.
        lighter_kg: how much lighter the second blank is; chips fall by the same, since the wheel is the same.
        only_first, only_second: cells that can be cut from one of the two alone.
    """

    first: Limits
    second: Limits
    sides: tuple[SideAgainst, ...]
    lighter_kg: float
    cheaper: float | None
    only_first: tuple[Cell, ...]
    only_second: tuple[Cell, ...]


def against(project: Project, first: Limits, second: Limits) -> Against:
    """Return two maps of the same wheel, widths and insets held against one another.

    Raises:
        GeometryError: they are not of the same cells, one was cancelled, or the drawn wheel has no outline.
    """
    keys = [[(c.width_code, c.inset_mm) for c in found.cells] for found in (first, second)]
    if first.wheel != second.wheel or keys[0] != keys[1]:
        raise GeometryError("Two blanks are compared over the same wheel, widths and insets.")
    one, other = (_spares(project, found) for found in (first, second))
    sides = [SideAgainst(zone, side, one[zone, side], other[zone, side]) for zone, side in one]
    pairs = list(zip(first.cells, second.cells, strict=True))
    return Against(
        first,
        second,
        tuple(sorted(sides, key=lambda s: -s.gives_up_mm)),
        first.blank_kg - second.blank_kg,
        _cheaper(project, first.blank, second.blank),
        tuple(a for a, b in pairs if a.is_cuttable and not b.is_cuttable),
        tuple(b for a, b in pairs if b.is_cuttable and not a.is_cuttable),
    )


def _cheaper(project: Project, first: str, second: str) -> float | None:
    """Return by how much the second blank is cheaper a wheel, with its dies; None if not stated."""
    prices = [_price(edits.find(project, edits.BLANK, name)) for name in (first, second)]
    return None if prices[0] is None or prices[1] is None else prices[0] - prices[1]


def _price(blank: Blank) -> float | None:
    """Return the price of a piece with its share of the dies, no holder's; None where one is not stated."""
    if blank.price is None or (blank.die_cost is not None and blank.die_shared_by is None):
        return None
    owes = (
        blank.supply in (Supply.OWN, Supply.SPUN) and blank.state not in _THERE and blank.variant_of is None
    )
    if blank.die_cost is None and owes:
        return None
    return blank.price + (blank.die_cost or 0.0) / (blank.die_shared_by or 1)


def _spares(project: Project, found: Limits) -> dict[tuple[str, str], float]:
    """Return what each side of the drawn wheel has to spare, at the seat that the map's cells have."""
    wheel = in_blank(project, found.wheel, found.blank)
    rows: tuple[StockRow, ...]
    if not found.keeps_seat:
        rows = seated(project, wheel).rows
    else:
        rows = _rows(project, replace(wheel, seat_mm=datum_mm(project, found.wheel, wheel)))
    return {(row.zone, row.side): spare_mm(row) for row in rows}


def _rows(project: Project, wheel: Wheel) -> tuple[StockRow, ...]:
    wheel = replace(wheel, clears=(), spacer_mm=0.0)
    outline, held = build(wheel.section), hold(project, wheel)
    if not isinstance(outline, Outline):
        raise GeometryError(f"Wheel '{wheel.name}': {outline[0].message}")
    if not isinstance(held, Held):
        raise GeometryError(held[0].message)
    return stock_rows(outline, held)

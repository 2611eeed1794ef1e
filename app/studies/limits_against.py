"""Two blanks for one wheel: what the second gives up, side by side of the wheel, in mm and kg."""

from __future__ import annotations

from dataclasses import dataclass, replace

from app.project import edits
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.blank_money import BlankMoney, blank_money
from app.studies.blank_variant import VariantCheck, variant_check
from app.studies.fit import hold
from app.studies.limits import Cell, Limits, datum_mm, in_blank
from app.studies.seating import spare_mm
from geometry.errors import GeometryError
from geometry.forging.composite import DENSITY_KG_M3
from geometry.readings.measure import stock_rows
from geometry.readings.rows import Held, StockRow
from geometry.shape.section import Outline, build


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
        sides: of the drawn wheel; most given up first.
        seats_mm: z of either blank's zero in the wheel's frame, at which sides and money are read.
        as_drawn: whether that is where the wheel is drawn in its own blank; else it is the best seat there.
        money: of the drawn wheel from either blank, line by line, at the seats of the sides.
        lighter_kg: how much lighter the second blank is; chips fall by the same, since the wheel is the same.
        only_first, only_second: cells that can be cut from one of the two alone.
    """

    first: Limits
    second: Limits
    sides: tuple[SideAgainst, ...]
    seats_mm: tuple[float, float]
    as_drawn: tuple[bool, bool]
    lighter_kg: float
    money: tuple[BlankMoney, BlankMoney]
    only_first: tuple[Cell, ...]
    only_second: tuple[Cell, ...]

    @property
    def cheaper(self) -> float | None:
        """How much cheaper a wheel from the second blank is; negative dearer, None where money is missing."""
        one, other = (money.total for money in self.money)
        return None if one is None or other is None else one - other


def against(project: Project, first: Limits, second: Limits, pieces: int | None = None) -> Against:
    """Return two maps of the same wheel, widths and insets held against one another.

    Args:
        project: holds wheel and blanks.
        first: the map of one blank.
        second: that of the other.
        pieces: yearly order whose price step holds; None for each blank's least order.

    Raises:
        GeometryError: they are not of the same cells, one was cancelled, or the drawn wheel has no outline.
    """
    keys = [[(c.width_code, c.inset_mm) for c in found.cells] for found in (first, second)]
    if first.wheel != second.wheel or keys[0] != keys[1]:
        raise GeometryError("Two blanks are compared over the same wheel, widths and insets.")
    own: Wheel = edits.find(project, edits.WHEEL, first.wheel)
    wheels = [sitting(project, first.wheel, found.blank) for found in (first, second)]
    one, other = ({(row.zone, row.side): spare_mm(row) for row in _rows(project, wheel)} for wheel in wheels)
    sides = [SideAgainst(zone, side, one[zone, side], other[zone, side]) for zone, side in one]
    pairs = list(zip(first.cells, second.cells, strict=True))
    return Against(
        first,
        second,
        tuple(sorted(sides, key=lambda s: -s.gives_up_mm)),
        (wheels[0].seat_mm, wheels[1].seat_mm),
        (first.blank == own.blank, second.blank == own.blank),
        first.blank_kg - second.blank_kg,
        (blank_money(project, wheels[0], pieces), blank_money(project, wheels[1], pieces)),
        tuple(a for a, b in pairs if a.is_cuttable and not b.is_cuttable),
        tuple(b for a, b in pairs if b.is_cuttable and not a.is_cuttable),
    )


def variants_of(project: Project, found: Limits, held: Against | None = None) -> tuple[VariantCheck, ...]:
    """Return those of one or two blanks that are variants, held against the tools that they are made with.

    Raises:
        EditError: a blank that the project does not hold.
        GeometryError: an outline is not one.
    """
    names = [found.blank, *([] if held is None else [held.second.blank])]
    density = _parts_density(project, found.wheel)
    checks = [variant_check(project, name, density) for name in dict.fromkeys(names)]
    return tuple(check for check in checks if check is not None)


def _parts_density(project: Project, wheel_name: str) -> float:
    wheel: Wheel = edits.find(project, edits.WHEEL, wheel_name)
    return next((m.density_kg_m3 for m in project.materials if m.name == wheel.material), DENSITY_KG_M3)


def sitting(project: Project, wheel_name: str, blank_name: str | None) -> Wheel:
    """Return the drawn wheel in a blank: where it is drawn in its own, at its best seat in another.

    A seat is from a blank's own zero and says nothing of another blank.

    Raises:
        EditError: a name that the project does not hold.
        GeometryError: it names no blank, or the wheel or another blank has no outline.
    """
    wheel = in_blank(project, wheel_name, blank_name)
    return replace(wheel, seat_mm=datum_mm(project, wheel_name, wheel))


def _rows(project: Project, wheel: Wheel) -> tuple[StockRow, ...]:
    wheel = replace(wheel, clears=(), spacer_mm=0.0)
    outline, held = build(wheel.section), hold(project, wheel)
    if not isinstance(outline, Outline):
        raise GeometryError(f"Wheel '{wheel.name}': {outline[0].message}")
    if not isinstance(held, Held):
        raise GeometryError(held[0].message)
    return stock_rows(outline, held)

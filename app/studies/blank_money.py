"""Money of one wheel from one blank, line by line: blank, spinning, dies, holder, cutting, chips."""

from __future__ import annotations

from dataclasses import dataclass

from app.project import edits
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.machining import WheelMachining, machining_in_blank
from geometry.shape.blank import Blank, BlankState, Supply

#: Dies in these states are paid for, whether their price is stated or not.
THERE = (BlankState.ORDERED, BlankState.TRIED_OUT, BlankState.PROVED)
_WITH_DIES = (Supply.OWN, Supply.SPUN)


@dataclass(frozen=True)
class MoneyLine:
    """One line of the sum.

    Attributes:
        what: what is paid.
        money: a wheel, in the project's currency; below 0 what comes back; None where it is not stated.
        why: how it comes about, or what is missing to say it.
    """

    what: str
    money: float | None
    why: str = ""


@dataclass(frozen=True)
class BlankMoney:
    """What one wheel costs from a blank.

    Attributes:
        pieces: the yearly order whose price step holds.
    """

    blank: str
    pieces: int
    lines: tuple[MoneyLine, ...]

    @property
    def total(self) -> float | None:
        """The sum; None where a line is not stated."""
        known = [line.money for line in self.lines if line.money is not None]
        return sum(known) if len(known) == len(self.lines) else None

    @property
    def missing(self) -> tuple[str, ...]:
        """What is not stated."""
        return tuple(f"{line.what}: {line.why}" for line in self.lines if line.money is None)


def blank_money(project: Project, wheel: Wheel, pieces: int | None = None) -> BlankMoney:
    """Return what a wheel costs from the blank that it names, at its seat.

    Args:
        project: holds the blank, holders and the shop's rates.
        wheel: of the project by its name; blank and seat may be others than the project's.
        pieces: yearly order, 1 or more; None for the blank's least order, or one where none is stated.

    Raises:
        EditError: a part that the project does not hold.
        GeometryError: the wheel cannot be read in the blank.
    """
    blank: Blank = edits.find(project, edits.BLANK, str(wheel.blank))
    count = max(pieces or blank.least_order or 1, 1)
    inside = edits.replaced(project, edits.WHEEL, wheel.name, wheel)
    cut = machining_in_blank(inside, wheel.name)
    spinning = _spinning(project, blank)
    lines = [
        _piece(blank, cut, count),
        *([spinning] if spinning is not None else []),
        _dies(blank),
        *_holder(project, blank),
        MoneyLine("cutting", cut.money.cutting, f"{cut.cutting_minutes:.1f} min"),
        MoneyLine("set-ups", cut.money.setting, f"{cut.setup_minutes:.0f} min"),
        MoneyLine("chips", -cut.money.chips, f"{cut.chips_kg:.2f} kg come back"),
        *_slug(cut),
    ]
    return BlankMoney(blank.name, count, tuple(lines))


def _slug(cut: WheelMachining) -> list[MoneyLine]:
    return [MoneyLine("slug", -cut.money.slug, f"{cut.slug_kg:.2f} kg as solid scrap")] if cut.slug_kg else []


def price_at(blank: Blank, pieces: int) -> tuple[float | None, str]:
    """Return the price of a piece at a yearly order, and which step of the price it is."""
    reached = [step for step in blank.price_steps if step.pieces <= pieces]
    if reached:
        step = max(reached, key=lambda s: s.pieces)
        return step.price, f"price from {step.pieces} a year"
    return blank.price, "price a piece"


def _piece(blank: Blank, cut: WheelMachining, pieces: int) -> MoneyLine:
    price, why = price_at(blank, pieces)
    lead = "" if blank.lead_weeks is None else f"; {blank.lead_weeks:g} weeks from the order"
    why += lead
    if price is not None:
        short = blank.least_order is not None and pieces < blank.least_order
        return MoneyLine("blank", price, f"{why}; least order {blank.least_order}" if short else why)
    if blank.supply is Supply.BOUGHT:
        return MoneyLine("blank", None, "state its price in the blank's details")
    metal = cut.money.log + cut.money.forging + cut.money.treatment
    return MoneyLine(
        "blank", metal, f"log {cut.log_kg:.1f} kg, forging and treatment at the shop's rates{lead}"
    )


def _spinning(project: Project, blank: Blank) -> MoneyLine | None:
    if blank.supply is not Supply.SPUN:
        return None
    money = None if blank.spun is None else blank.spun.spinning(project.rates.hour_price)
    why = "state it in the blank's details, page Spinning" if money is None else "of one piece"
    return MoneyLine("spinning", money, why)


def _dies(blank: Blank) -> MoneyLine:
    """Return the share of the dies, the mandrel's with them."""
    what = "share of the dies"
    if blank.tools_cost is None:
        if blank.supply not in _WITH_DIES:
            return MoneyLine(what, 0.0, "none of its own")
        if blank.state in THERE:
            return MoneyLine(what, 0.0, f"paid: it is {blank.state}")
        if blank.variant_of is not None:
            return MoneyLine(what, 0.0, f"those of {blank.variant_of}")
        return MoneyLine(what, None, "state the price of the dies in the blank's details")
    if blank.die_shared_by is None:
        return MoneyLine(what, None, "state by how many wheels they are shared")
    return MoneyLine(what, blank.tools_cost / blank.die_shared_by, f"shared by {blank.die_shared_by} wheels")


def _holder(project: Project, blank: Blank) -> list[MoneyLine]:
    """Return the share of the outer tools, by all wheels of the blanks that stand in them; none without."""
    if blank.holder is None:
        return []
    what, others = "share of the holder", [b for b in project.blanks if b.holder == blank.holder]
    there = next((b for b in others if b.state in THERE), None)
    if there is not None:
        return [MoneyLine(what, 0.0, f"paid: {there.name} is {there.state}")]
    holder = next((h for h in project.programme.holders if h.name == blank.holder), None)
    if holder is None:
        return [MoneyLine(what, None, f"state the price of '{blank.holder}' in the programme's settings")]
    wheels = sum(b.die_shared_by or 0 for b in others)
    if not wheels:
        return [MoneyLine(what, None, "state by how many wheels its dies are shared")]
    return [MoneyLine(what, holder.cost / wheels, f"{holder.name}, by {wheels} wheels of its blanks")]

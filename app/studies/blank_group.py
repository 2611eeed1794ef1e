"""Whether the wheels that are cut from a blank still keep their stock, where the blank is edited."""

from __future__ import annotations

from dataclasses import dataclass, replace

from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.fit import hold
from app.studies.seating import spare_mm
from geometry.errors import GeometryError
from geometry.readings.measure import stock_rows
from geometry.readings.rows import Place, StockRow
from geometry.readings.rules import ROUNDING_MM
from geometry.shape.section import Outline, build


@dataclass(frozen=True)
class Member:
    """A wheel of a blank's group, at its seat.

    Attributes:
        wheel: its name.
        tightest: its stock where it has the least to spare; None where it has no reading.
        at_blank: place of it on the blank, in the blank's own frame; None without a reading.
        why: why there is no reading; nothing where there is one.
    """

    wheel: str
    tightest: StockRow | None
    at_blank: Place | None
    why: str = ""

    @property
    def holds(self) -> bool:
        """All the stock that its rules ask is there; without rules, all of its metal."""
        return self.tightest is not None and spare_mm(self.tightest) >= -ROUNDING_MM


def group_of(project: Project, blank: str) -> tuple[Wheel, ...]:
    """Return the wheels that are cut from a blank, in the project's order."""
    return tuple(wheel for wheel in project.wheels if wheel.blank == blank)


def checked(project: Project, blank: str) -> tuple[Member, ...]:
    """Return each wheel that is cut from a blank with its tightest stock, those that hold last."""
    members = [_member(project, wheel) for wheel in group_of(project, blank)]
    return tuple(sorted(members, key=lambda m: m.holds))


def _member(project: Project, wheel: Wheel) -> Member:
    # The brake and the spacer say nothing about stock.
    alone = replace(wheel, clears=(), spacer_mm=0.0)
    try:
        outline = build(alone.section)
        if not isinstance(outline, Outline):
            return Member(wheel.name, None, None, outline[0].message)
        held = hold(project, alone)
        if isinstance(held, tuple):
            return Member(wheel.name, None, None, held[0].message)
        rows = stock_rows(outline, held)
    except GeometryError as error:
        return Member(wheel.name, None, None, str(error))
    if not rows:
        return Member(wheel.name, None, None, "it has no stock to read")
    row = min(rows, key=spare_mm)
    return Member(wheel.name, row, (row.at_blank[0] - wheel.seat_mm, row.at_blank[1]))

"""Coverage: which fitments can be cut from which blanks, what decides, and by how much it misses.

A fitment is covered by a blank where its wheel clears, holds its rules and can be cut at every inset of its
window. The wheel's own part (gap, wall, hub, road) is read once; the blank's part is its stock.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from app.project import edits
from app.project.project import Fitment, Project
from app.project.shop import ShopRates
from app.project.wheel import Wheel
from app.studies.executor import SERIAL, Progress, opened, run_all
from app.studies.limits import InsetWindow, WidthRow, cell, drawn, width_row
from app.studies.machining import WheelMachining, machining_in_blank
from app.studies.roadmap.need import NeedWheel, need_wheel
from app.studies.roadmap.own_part import COVERED, OwnPart, own_part
from geometry.readings.rules import State, worst
from geometry.shape.blank import Blank, BlankState, Supply

#: How the reading of an inset begins at which the wheel cannot be drawn.
NOT_DRAWN = "cannot be drawn"
#: States of a blank in which forgings of it have been measured and tried.
PROVED = (BlankState.TRIED_OUT, BlankState.PROVED)


@dataclass(frozen=True)
class CoverCell:
    """One fitment in one blank.

    Attributes:
        state: clear and tight are cuttable; short or touching is not; not known.
        what: the side or reading that decides, or the question; spare_mm: what it has, negative for a miss.
        inset_mm: where it is decided.
        of_wheel: True where the wheel decides by itself, in whatever blank.
        insets: windows within the asked one that can be cut, whatever the wheel's own part says.
        unproved: True where the blank has not been tried out.
        cost: per wheel beside the blank itself, None where it is not covered. blank_cost: of the blank.
        chips_kg, wheel_kg: chips with the trim of a spun blank; None where it is not covered.
        slug_kg: solid scrap of a pierced own blank.
    """

    fitment: str
    blank: str
    compromise: bool
    state: State
    what: str
    spare_mm: float | None
    inset_mm: float | None
    of_wheel: bool
    insets: tuple[tuple[float, float], ...]
    unproved: bool
    cost: float | None = None
    blank_cost: float | None = None
    chips_kg: float | None = None
    wheel_kg: float | None = None
    slug_kg: float = 0.0

    @property
    def is_covered(self) -> bool:
        """True where every inset of the window can be had."""
        return self.state in COVERED

    @property
    def word(self) -> str:
        """Cuttable, tight, not, or not known."""
        words = {State.CLEAR: "cuttable", State.TIGHT: "tight", State.NOT_KNOWN: "not known"}
        return words.get(self.state, "not")


@dataclass(frozen=True)
class CoverRow:
    """One fitment, in full or by its stated compromise.

    Attributes:
        own: None where the wheel is not known or cannot be drawn; `unknown` says why.
        cells: one for each blank, in the coverage's order.
    """

    fitment: str
    compromise: bool
    need: NeedWheel
    own: OwnPart | None
    cells: tuple[CoverCell, ...]

    @property
    def unknown(self) -> tuple[str, ...]:
        """What has to be known first."""
        return self.need.unknown

    @property
    def is_covered(self) -> bool:
        """True where a blank covers it."""
        return any(cell.is_covered for cell in self.cells)


@dataclass(frozen=True)
class Coverage:
    """Fitments against blanks, both in the project's order; a compromise stands after its fitment."""

    blanks: tuple[str, ...]
    rows: tuple[CoverRow, ...]

    @property
    def uncovered(self) -> tuple[CoverRow, ...]:
        """Rows in full that nothing serves."""
        return tuple(row for row in self.rows if not row.compromise and not row.is_covered)

    def cell(self, fitment: str, blank: str, *, compromise: bool = False) -> CoverCell:
        """Return one cell.

        Raises:
            KeyError: there is none.
        """
        for row in self.rows:
            if row.fitment == fitment and row.compromise == compromise:
                return row.cells[self.blanks.index(blank)]
        raise KeyError(fitment)


def coverage(
    project: Project,
    fitments: Sequence[str] | None = None,
    blanks: Sequence[str] | None = None,
    *,
    rates: ShopRates | None = None,
    where: str = SERIAL,
    progress: Progress | None = None,
) -> Coverage:
    """Return which fitments can be had from which blanks.

    Args:
        project: holds them.
        fitments: names; all where None.
        blanks: names; all but retired ones and measured outlines where None.
        rates: of the shop; the project's where None.
        where: SERIAL, CORES or a cluster's address; the result is the same.
        progress: told after each fitment; False cancels.

    Raises:
        EditError: a name that the project does not hold.
        GeometryError: a blank has no outline, or no cluster answers.
        StoppedError: it was cancelled.
    """
    names = [f.name for f in project.fitments] if fitments is None else list(fitments)
    chosen = usable_blanks(project) if blanks is None else tuple(blanks)
    for name in chosen:
        edits.find(project, edits.BLANK, name)
    jobs = []
    for name in names:
        fitment = edits.find(project, edits.FITMENT, name)
        modes = (False, True) if fitment.compromise is not None else (False,)
        jobs += [(project, fitment, mode, chosen, rates or project.rates) for mode in modes]
    with opened(where) as executor:
        rows = run_all(executor, cover_row, jobs, progress)
    return Coverage(chosen, tuple(rows))


def usable_blanks(project: Project) -> tuple[str, ...]:
    """Return the names of the blanks that wheels may be cut from."""
    measured = {name for b in project.blanks for name in (b.measured_least, b.measured_greatest)}
    return tuple(
        b.name for b in project.blanks if b.state is not BlankState.RETIRED and b.name not in measured
    )


def cover_row(
    project: Project, fitment: Fitment, compromise: bool, blanks: Sequence[str], rates: ShopRates
) -> CoverRow:
    """Return one fitment against some blanks."""
    need = need_wheel(project, fitment, compromise=compromise)
    if need.wheel is None:
        cells = tuple(_unknown_cell(project, fitment, compromise, name, need.unknown[0]) for name in blanks)
        return CoverRow(fitment.name, compromise, need, None, cells)
    own = own_part(project, need)
    cells = tuple(
        _cell(project, need.wheel, need, own, edits.find(project, edits.BLANK, name), compromise, rates)
        for name in blanks
    )
    return CoverRow(fitment.name, compromise, need, own, cells)


# The blank's part


def _unknown_cell(project: Project, fitment: Fitment, compromise: bool, blank: str, why: str) -> CoverCell:
    of = edits.find(project, edits.BLANK, blank)
    unproved = of.state not in PROVED
    return CoverCell(fitment.name, blank, compromise, State.NOT_KNOWN, why, None, None, True, (), unproved)


def _cell(
    project: Project,
    wheel: Wheel,
    need: NeedWheel,
    own: OwnPart,
    blank: Blank,
    compromise: bool,
    rates: ShopRates,
) -> CoverCell:
    row = _bridged(project, replace(wheel, blank=blank.name), need)
    state, what, spare, inset = _stock_state(row)
    both = worst([state, own.state])
    of_wheel = own.state is both and (state is not both or _less(own.spare_mm, spare))
    if of_wheel:
        what, spare, inset = own.what, own.spare_mm, own.inset_mm
    found = CoverCell(
        wheel.name,
        blank.name,
        compromise,
        both,
        what,
        spare,
        inset,
        of_wheel,
        tuple((w.low, w.high) for w in row.windows),
        blank.state not in PROVED,
    )
    return found if not found.is_covered else _priced(project, wheel, row, blank, rates, found)


def _bridged(project: Project, wheel: Wheel, need: NeedWheel) -> WidthRow:
    """Return a wheel's row in its blank, its windows joined where only the drawing fails between them.

    At single insets two corners of a section lie in one line and the wheel cannot be drawn. The stock there
    falls by no more than the way from either side, as everywhere between two insets.
    """
    row = width_row(project, wheel, wheel.size.width_code, need.insets, None)
    joined: list[InsetWindow] = []
    for window in row.windows:
        before = joined[-1] if joined else None
        if before is not None and _holds_between(project, wheel, before, window):
            joined[-1] = replace(before, high=window.high, closed_high_by=window.closed_high_by)
        else:
            joined.append(window)
    return replace(row, windows=tuple(joined))


def _holds_between(project: Project, wheel: Wheel, one: InsetWindow, other: InsetWindow) -> bool:
    if not all(why.startswith(NOT_DRAWN) for why in (one.closed_high_by, other.closed_low_by)):
        return False
    ends = [cell(project, wheel, wheel.size.width_code, x, None) for x in (one.high, other.low)]
    spares = [end.spare_mm for end in ends if end.is_cuttable and end.spare_mm is not None]
    return len(spares) == len(ends) and sum(spares) >= other.low - one.high


def _less(one: float | None, other: float | None) -> bool:
    """True for a smaller spare; what has no number is the smallest."""
    return (-math.inf if one is None else one) < (-math.inf if other is None else other)


def _stock_state(row: WidthRow) -> tuple[State, str, float | None, float | None]:
    """Return the worst stock over the window; its windows see between the insets that were looked at."""
    cells = row.cells
    drawable = [c for c in cells if c.state is not None]
    if len(drawable) < len(cells):
        bad = next(c for c in cells if c.state is None)
        return State.SHORT, bad.decides, None, bad.inset_mm
    state = worst([c.state for c in drawable if c.state is not None])
    decides = [c for c in drawable if c.state is state]
    first = min(decides, key=lambda c: c.spare_mm if c.spare_mm is not None else 0.0)
    if state in COVERED and len(row.windows) != 1:
        edge = row.windows[0]
        return State.SHORT, edge.closed_high_by, None, edge.high
    return state, first.decides, first.spare_mm, first.inset_mm


def _priced(
    project: Project,
    wheel: Wheel,
    row: WidthRow,
    blank: Blank,
    rates: ShopRates,
    found: CoverCell,
) -> CoverCell:
    """Return the cell with what a wheel costs beside its blank, at the middle inset looked at."""
    middle = row.cells[len(row.cells) // 2]
    made = drawn(wheel, wheel.size.width_code, middle.inset_mm)
    made = replace(made, blank=blank.name, seat_mm=middle.seat_mm)
    with_wheel = replace(project, wheels=(*(w for w in project.wheels if w.name != made.name), made))
    cut = machining_in_blank(with_wheel, made.name, rates)
    money, price = cut.money, blank.piece_price(rates.hour_price)
    return replace(
        found,
        cost=money.cutting + money.setting - money.chips - money.slug,
        blank_cost=money.metal if price is None else price,
        chips_kg=cut.chips_kg + _trim_kg(blank, cut, rates),
        wheel_kg=cut.wheel_kg,
        slug_kg=cut.slug_kg,
    )


def _trim_kg(blank: Blank, cut: WheelMachining, rates: ShopRates) -> float:
    """Return what is cut off a spun blank before it is turned: its ring holds that too."""
    if blank.supply is not Supply.SPUN:
        return 0.0
    return cut.log_kg / (1.0 + rates.loss) - cut.slug_kg - cut.blank_kg

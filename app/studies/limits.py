"""Limits of a blank: which widths and insets of a wheel can be cut from it, and what decides each.

Stock alone counts here: what a wheel must clear, its walls and its hub fit are other studies' matter.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from dataclasses import dataclass, replace
from itertools import pairwise
from multiprocessing import get_context

from app.project import edits, wheel_edits
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.fit import hold
from app.studies.quick_seat import quick_seat, rows_at
from app.studies.seating import seated, spare_mm
from geometry.errors import GeometryError
from geometry.readings.rows import Held, Place, StockRow
from geometry.readings.rules import State, worst
from geometry.readings.solid import solid, volume_mm3
from geometry.shape.published import GREATEST_WIDTH_CODE, LEAST_WIDTH_CODE, width_mm
from geometry.shape.section import Outline, build

#: An end of a window of inset is found within this, mm.
EDGE_MM = 0.05
#: A mounting face farther outside the flanges is a slip of the finger (dual wheels reach some 50 mm), mm.
FACE_BEYOND_MM = 100.0
#: More cells than this are refused: they would take hours.
MOST_CELLS = 40_000

Progress = Callable[[int, int], bool]


@dataclass(frozen=True)
class Cell:
    """One width and inset of a wheel in the blank.

    Attributes:
        state: clear, tight or short by the rules of stock; not known where a side has no rule, unless another
            is short; None where the wheel cannot be drawn, and `why` says why.
        seat_mm: z of the blank's own zero in the wheel's frame.
        spare_mm, least_mm: stock less rule, and stock, of the side with the least to spare; negative where
            metal is missing. Without a rule the spare is all of the stock.
        zone, side, at: which side, and where on the wheel (mounting face at z 0).
        wheel_kg: mass of the finished wheel.
    """

    width_code: float
    inset_mm: float
    state: State | None
    seat_mm: float = 0.0
    spare_mm: float | None = None
    least_mm: float | None = None
    zone: str = ""
    side: str = ""
    at: Place | None = None
    wheel_kg: float | None = None
    why: str = ""

    @property
    def is_cuttable(self) -> bool:
        """True where every rule of stock is met; tight meets it."""
        return self.state in (State.CLEAR, State.TIGHT)

    @property
    def word(self) -> str:
        """Cuttable, tight, not, not known or not drawn."""
        if self.state is None:
            return "not drawn"
        return {State.CLEAR: "cuttable", State.TIGHT: "tight", State.NOT_KNOWN: "not known"}.get(
            self.state, "not"
        )

    @property
    def decides(self) -> str:
        """The side that decides in words, or why there is none."""
        if self.state is None:
            return f"cannot be drawn: {self.why}"
        return f"{self.zone}, {self.side} side" if self.zone else self.why


@dataclass(frozen=True)
class InsetWindow:
    """Insets of one width between which every wheel looked at can be cut.

    Cells in between are looked at too, as close as their spare asks for (which changes by no more than the
    inset does): a window or a gap of 2 EDGE_MM or more is not missed between two cells.

    Attributes:
        low, high: mm; the last insets that can be cut, found within EDGE_MM.
        closed_low_by, closed_high_by: what decides just beyond; empty where the window reaches the first or
            the last inset asked for, beyond which nothing was looked at.
    """

    low: float
    high: float
    closed_low_by: str
    closed_high_by: str


@dataclass(frozen=True)
class WidthRow:
    """The cells of one width, by inset, and its windows in the same order; none where no cell can be cut."""

    width_code: float
    cells: tuple[Cell, ...]
    windows: tuple[InsetWindow, ...]


@dataclass(frozen=True)
class Limits:
    """The map of one wheel in one blank.

    Attributes:
        keeps_seat: the mounting face stays at its place in the blank; else each cell is slid to the greatest
            least spare stock.
        datum_mm: that place, None where cells are slid.
        blank_kg: mass of the blank in the wheel's material.
        rows: by width; those left when it was cancelled are missing.
    """

    wheel: str
    blank: str
    widths: tuple[float, ...]
    insets: tuple[float, ...]
    keeps_seat: bool
    datum_mm: float | None
    blank_kg: float
    rows: tuple[WidthRow, ...]

    @property
    def cells(self) -> tuple[Cell, ...]:
        """All cells, width by width."""
        return tuple(cell for row in self.rows for cell in row.cells)

    @property
    def is_whole(self) -> bool:
        """True unless it was cancelled."""
        return len(self.rows) == len(self.widths)


def limits(
    project: Project,
    wheel_name: str,
    blank_name: str | None = None,
    *,
    widths: Sequence[float],
    insets: Sequence[float],
    keep_seat: bool = False,
    cores: int = 1,
    progress: Progress | None = None,
) -> Limits:
    """Return the map of a wheel's widths and insets in a blank.

    Args:
        project: holds both.
        wheel_name: whose design is drawn in every width and inset.
        blank_name: the wheel's own when None.
        widths: width codes; doubles are dropped and the rest sorted, as of the insets.
        insets: mm.
        keep_seat: keep the machining datum: the mounting face stays where it is in the wheel's own blank; in
            another, where the drawn wheel sits best.
        cores: processes that share the widths; 0 for all of the machine. The result is the same.
        progress: told how many widths of how many are done; False cancels what is left.

    Raises:
        EditError: a name that the project does not hold.
        GeometryError: no blank, one without an outline, nothing or too much to draw.
    """
    wheel = in_blank(project, wheel_name, blank_name)
    lines, columns = tuple(sorted(set(widths))), tuple(sorted(set(insets)))
    if not lines or not columns:
        raise GeometryError("A map needs one width and one inset at least.")
    if len(lines) * len(columns) > MOST_CELLS:
        raise GeometryError(f"{len(lines)} x {len(columns)} cells; at most {MOST_CELLS}: take larger steps.")
    _check_asked(wheel, lines, columns)
    held = _parts(project, wheel)
    kept = datum_mm(project, wheel_name, wheel) if keep_seat else None
    found: dict[float, WidthRow] = {}
    for row in _read(project, wheel, lines, columns, kept, cores):
        found[row.width_code] = row
        if progress is not None and not progress(len(found), len(lines)):
            break
    rows = tuple(found[code] for code in lines if code in found)
    assert held.blank is not None
    mass = volume_mm3(held.blank) * held.density_kg_m3 * 1e-9
    return Limits(wheel_name, str(wheel.blank), lines, columns, keep_seat, kept, mass, rows)


def _check_asked(wheel: Wheel, widths: Sequence[float], insets: Sequence[float]) -> None:
    """Refuse widths that have no contour, and insets that no wheel has.

    Raises:
        GeometryError: there is one; it says which, its limits, and the next one that can be asked for.
    """
    least, most = _codes(wheel)
    for code in widths:
        if not can_be_drawn(wheel, code):
            raise GeometryError(
                f"Width {code:g}: a contour is drawn from {least:g} to {most:g} in steps of 1/2; "
                f"leave {code:g} out."
            )
    check_insets(insets, widths[-1])


def check_insets(insets: Sequence[float], code: float) -> None:
    """Refuse insets that no wheel of a width has.

    Raises:
        GeometryError: there is one; it says which, by how much, and what can be asked for.
    """
    half = width_mm(code) / 2.0
    most_mm = half + FACE_BEYOND_MM
    for inset in insets:
        if abs(inset) > most_mm:
            raise GeometryError(
                f"ET {inset:g}: the mounting face would lie {abs(inset) - half:.0f} mm outside the flanges "
                f"of width {code:g}; ask for insets from {-most_mm:.0f} to {most_mm:.0f}."
            )


def can_be_drawn(wheel: Wheel, code: float) -> bool:
    """True for a width code that there is a contour of."""
    least, most = _codes(wheel)
    return least <= code <= most and code * 2.0 == int(code * 2.0)


def _codes(wheel: Wheel) -> tuple[float, float]:
    """Return the least and the greatest width code; a contour that is not locked has no limits of its own."""
    return (3.0, 20.0) if wheel.rim is None else (LEAST_WIDTH_CODE, GREATEST_WIDTH_CODE)


def in_blank(project: Project, wheel_name: str, blank_name: str | None) -> Wheel:
    """Return the wheel in a blank of the project; its own for None.

    Raises:
        EditError: a name that the project does not hold.
        GeometryError: it names no blank.
    """
    wheel: Wheel = edits.find(project, edits.WHEEL, wheel_name)
    if blank_name is not None:
        edits.find(project, edits.BLANK, blank_name)
        wheel = replace(wheel, blank=blank_name)
    if wheel.blank is None:
        raise GeometryError(f"Wheel '{wheel.name}' names no blank; name one that it is to be cut from.")
    return wheel


def datum_mm(project: Project, wheel_name: str, wheel: Wheel) -> float:
    """Return the seat that is kept: as drawn in the wheel's own blank, the drawn wheel's best in another."""
    own: Wheel = edits.find(project, edits.WHEEL, wheel_name)
    return wheel.seat_mm if wheel.blank == own.blank else seated(project, wheel).seat_mm


def _read(
    project: Project,
    wheel: Wheel,
    widths: Sequence[float],
    insets: Sequence[float],
    kept: float | None,
    cores: int,
) -> Iterator[WidthRow]:
    cores = min(cores or os.cpu_count() or 1, len(widths))
    if cores <= 1:
        for code in widths:
            yield width_row(project, wheel, code, insets, kept)
        return
    # Spawned, not forked: threads of a window would be copied half way.
    with ProcessPoolExecutor(cores, mp_context=get_context("spawn")) as pool:
        waiting = {pool.submit(width_row, project, wheel, code, insets, kept) for code in widths}
        try:
            while waiting:
                done, waiting = wait(waiting, return_when=FIRST_COMPLETED)
                for future in done:
                    yield future.result()
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


# One cell


def drawn(wheel: Wheel, width_code: float, inset_mm: float) -> Wheel:
    """Return the wheel in another width, about its inset, and then at another inset.

    Raises:
        GeometryError: there is no such wheel.
    """
    if width_code != wheel.size.width_code:
        wheel = wheel_edits.with_width(wheel, width_code)
    return wheel if inset_mm == wheel.inset_mm else wheel_edits.with_inset(wheel, inset_mm)


def _parts(project: Project, wheel: Wheel) -> Held:
    """Return what a wheel that names a blank is held against, the blank in its own frame.

    Raises:
        GeometryError: one of them is not there or has no outline.
    """
    held = hold(project, replace(wheel, clears=(), spacer_mm=0.0))
    if not isinstance(held, Held):
        raise GeometryError(held[0].message)
    return held.with_blank_moved(-wheel.seat_mm)


def cell(project: Project, wheel: Wheel, width_code: float, inset_mm: float, kept: float | None) -> Cell:
    """Return one cell of a wheel that names its blank; `kept` is the seat, None to slide to the best."""
    try:
        made = drawn(wheel, width_code, inset_mm)
        outline = build(made.section)
        if not isinstance(outline, Outline):
            return Cell(width_code, inset_mm, None, why=outline[0].message)
        held = _parts(project, made)
        mass = solid(outline.path, held.density_kg_m3, held.spokes, held.holes).mass_kg
    except GeometryError as error:
        return Cell(width_code, inset_mm, None, why=str(error))
    blank = held.stock_path
    assert blank is not None
    if kept is None:
        seat, rows = quick_seat(outline, held, blank)
    else:
        seat, rows = kept, rows_at(outline, held, blank, kept)
    if not rows:
        return Cell(width_code, inset_mm, State.NOT_KNOWN, seat, wheel_kg=mass, why="no stock to read")
    first = rows[0]
    return Cell(
        width_code,
        inset_mm,
        state_of(rows),
        seat,
        spare_mm(first),
        first.least_mm,
        first.zone,
        first.side,
        first.at,
        mass,
    )


def state_of(rows: Sequence[StockRow]) -> State:
    """Return the worst state; a side without a rule is not known, and short where metal is missing."""
    unruled = [State.SHORT if row.least_mm < 0.0 else State.NOT_KNOWN for row in rows if row.state is None]
    return worst([*(row.state for row in rows if row.state is not None), *unruled])


# A width


def width_row(
    project: Project, wheel: Wheel, width_code: float, insets: Sequence[float], kept: float | None
) -> WidthRow:
    """Return the cells of one width and the windows of inset between them."""

    def read(inset: float) -> Cell:
        return cell(project, wheel, width_code, inset, kept)

    cells = tuple(read(inset) for inset in insets)
    return WidthRow(width_code, cells, tuple(_windows(read, cells)))


def _windows(read: Callable[[float], Cell], cells: Sequence[Cell]) -> Iterator[InsetWindow]:
    low, by_low = (cells[0].inset_mm, "") if cells[0].is_cuttable else (None, "")
    for before, after in pairwise(cells):
        looked = [before, *_between(read, before, after), after]
        for one, other in pairwise(looked):
            if one.is_cuttable and not other.is_cuttable:
                assert low is not None
                high, by = _halved(read, one, other)
                yield InsetWindow(low, high, by_low, by)
                low = None
            elif other.is_cuttable and not one.is_cuttable:
                low, by_low = _halved(read, other, one)
    if low is not None:
        yield InsetWindow(low, cells[-1].inset_mm, by_low, "")


def _between(read: Callable[[float], Cell], one: Cell, other: Cell) -> list[Cell]:
    """Return cells between two, so many that neither a gap in a window nor a window in a gap is missed."""
    if one.spare_mm is None or other.spare_mm is None:
        return []
    apart = other.inset_mm - one.inset_mm
    if apart <= 2.0 * EDGE_MM:
        return []
    if one.is_cuttable == other.is_cuttable:
        # The spare changes by no more than the way: so far from nought at both ends, it does not get there.
        if abs(one.spare_mm) + abs(other.spare_mm) >= apart:
            return []
        if not one.is_cuttable and State.SHORT not in (one.state, other.state):
            return []
    middle = read((one.inset_mm + other.inset_mm) / 2.0)
    return [*_between(read, one, middle), middle, *_between(read, middle, other)]


def _halved(read: Callable[[float], Cell], good: Cell, bad: Cell) -> tuple[float, str]:
    """Return the last inset that can be cut before one that cannot, and what decides behind it."""
    while abs(bad.inset_mm - good.inset_mm) > EDGE_MM:
        middle = read((good.inset_mm + bad.inset_mm) / 2.0)
        good, bad = (middle, bad) if middle.is_cuttable else (good, middle)
    return good.inset_mm, bad.decides


def usual(wheel: Wheel) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return the widths and insets that are looked at unless others are asked for, round the present ones."""
    code, middle = wheel.size.width_code, 5.0 * round(wheel.inset_mm / 5.0)
    widths = tuple(code + 0.5 * k for k in range(-3, 4) if can_be_drawn(wheel, code + 0.5 * k))
    # The wheel's own inset stands among them, so that what is drawn is on the map.
    return widths, tuple(sorted({*(middle + 5.0 * k for k in range(-6, 7)), wheel.inset_mm}))

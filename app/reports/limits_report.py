"""The limits of a blank on one page: the map over width and inset, the windows, what can still be had."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from app.project.project import Project
from app.reports.drawing import Canvas, Contour, Pen, Type, line, wrapped
from app.reports.flow import Draw, Flow
from app.reports.limits_words import alone_words, mass_words, money_rows, money_words, relied_words
from app.reports.look import BODY, COLOURS, FIRST_LINE, HAIR, INK, SMALL
from app.reports.numbers import Numbers, unit_of
from app.reports.page import Area
from app.reports.pdf import study_pages
from app.reports.sentences import SIGNS
from app.reports.tables import Column, Row, Table
from app.reports.usable_figure import breakdown, draw_usable, usable_figure
from app.reports.variant_words import check_words, variant_head
from app.studies.blank_variant import VariantCheck
from app.studies.extremes import Extreme
from app.studies.limits import Cell, Limits
from app.studies.limits_against import Against, placed, variants_of
from geometry.readings.rules import State

_HEAD, _LEFT, _TOP = 17.0, 15.0, 7.0
_MOST_ROW = 11.0
_STARTING = ("Of the shop's rates some are invented starting values.",)
_STOCK_ONLY = (
    "Stock in the blank alone counts: gaps to brakes, walls and hub fit are not judged here. Each cell: sign "
    "and spare stock of the side that decides."
)


def write_limits_pdf(
    project: Project,
    result: Limits,
    still: Sequence[Extreme],
    held: Against | None = None,
    *,
    input_sha256: str,
) -> bytes:
    """Return the limits of a blank as the bytes of a PDF.

    Args:
        project: holds wheel and blank.
        result: the map.
        still: what the drawn wheel can still have.
        held: a second blank against it: its map, and what it gives up.
        input_sha256: digest of what it rests on, as 64 hex digits.
    """
    maps = (result,) if held is None else (result, held.second)
    blanks = " and ".join(found.blank for found in maps)
    seats = [placed(project, found).seat_mm for found in maps]
    title = f"Limits of blank{'s' * (len(maps) > 1)} {blanks}: {result.wheel}"

    def pages(canvas: Canvas, area: Area) -> list[Draw]:
        flow = Flow(canvas, area, partial(_title, title, area))
        against = [] if held is None else [_against(project, held), _money(project, held)]
        windows = [_windows(found, found.blank if held is not None else "") for found in maps]
        variants = [_variant(project, each) for each in variants_of(project, result, held)]
        blanks = [b for b in project.blanks if b.name in {found.blank for found in maps}]
        usable = [breakdown(project, blank) for blank in blanks]
        for table in [*against, *variants, *windows, _still(project, still), *usable]:
            flow.table(table)
        heads = [f"Limits of blank {found.blank}: {found.wheel}" for found in maps]
        drawn = [partial(_map, project, found, head, area) for found, head in zip(maps, heads, strict=True)]
        figures = [
            partial(draw_usable, project, usable_figure(project, found.blank, found.wheel, seat), area)
            for found, seat in zip(maps, seats, strict=True)
        ]
        return [*drawn, *figures, *flow.drawn()]

    return study_pages(project, title, input_sha256, pages)


def _title(title: str, area: Area, canvas: Canvas) -> None:
    (words,) = wrapped(canvas, title, FIRST_LINE, area.width, 1)
    canvas.text((area.left, area.top - FIRST_LINE.size_mm), words, FIRST_LINE)
    y = area.top - FIRST_LINE.size_mm - 1.8
    line(canvas, (area.left, y), (area.right, y), HAIR)


def _map(project: Project, result: Limits, title: str, area: Area, canvas: Canvas) -> None:
    """Draw the map: widths down, insets across."""
    numbers = Numbers(unit_of(project))
    _title(title, area, canvas)
    kept = "each cell slid to its greatest least spare stock"
    if result.datum_mm is not None:
        kept = f"machining datum kept, blank at z {numbers.length(result.datum_mm)} from the mounting face"
    words = f"{numbers.mass(result.blank_kg)}; {kept}. {relied_words(project, result.blank)} {_STOCK_ONLY}"
    for k, text in enumerate(wrapped(canvas, words, SMALL, area.width, 3)):
        canvas.text((area.left, area.top - 8.6 - 2.9 * k), text, SMALL)
    top = area.top - _HEAD - _TOP
    wide = (area.width - _LEFT) / max(len(result.insets), 1)
    high = min((top - area.bottom - 2.0) / max(len(result.rows), 1), _MOST_ROW)
    size = min(2.5, 0.30 * high, 0.16 * wide)
    canvas.text((area.left, top + 2.0), "width, inset", SMALL)
    for k, inset in enumerate(result.insets):
        text = f"{inset:g}"
        x = area.left + _LEFT + (k + 0.5) * wide - canvas.text_width(text, SMALL) / 2.0
        canvas.text((x, top + 2.0), text, SMALL)
    for i, row in enumerate(result.rows):
        y = top - (i + 1) * high
        canvas.text((area.left, y + high / 2.0 - 0.9), f"{row.width_code:g}", BODY)
        for k, cell in enumerate(row.cells):
            x = area.left + _LEFT + k * wide
            _cell(canvas, cell, numbers, Area(x, y, x + wide, y + high), size)


def _cell(canvas: Canvas, cell: Cell, numbers: Numbers, area: Area, size: float) -> None:
    box = Contour.rectangle(area.left, area.bottom, area.width, area.height)
    canvas.path([box], Pen(0.1, "#B9B7B0"), None if cell.is_cuttable else "#F1EFEA")
    if cell.state is None:
        canvas.text((area.left + 0.8, area.bottom + area.height / 2.0 - size / 3.0), "not drawn", Type(size))
        return
    style = Type(size, True, COLOURS[cell.state])
    first = f"{SIGNS[cell.state]} {numbers.length(cell.spare_mm)}"
    canvas.text((area.left + 0.8, area.top - 1.35 * size), first, style)
    for k, words in enumerate(wrapped(canvas, cell.decides, Type(0.8 * size), area.width - 1.2, 2)):
        canvas.text((area.left + 0.8, area.top - (2.5 + k) * size), words, Type(0.8 * size, colour=INK))


def _windows(result: Limits, blank: str) -> Table:
    rows = tuple(
        Row(
            (
                f"{row.width_code:g}",
                f"{window.low:.1f}",
                window.closed_low_by or "or less: not looked at",
                f"{window.high:.1f}",
                window.closed_high_by or "or more: not looked at",
            )
        )
        for row in result.rows
        for window in row.windows
    )
    columns = (
        Column("Width", 1.2),
        Column("From inset", 1.4, True),
        Column("closed by", 4.0),
        Column("To inset", 1.4, True),
        Column("closed by", 4.0),
    )
    none = ("No inset of those asked for can be cut.",) if not rows else ()
    counted = ", ".join(
        f"{sum(c.state is state for c in result.cells)} {word}"
        for state, word in ((State.CLEAR, "cuttable"), (State.TIGHT, "tight"), (State.SHORT, "not"))
    )
    title = "Insets that can be cut" + (f" from {blank}" if blank else "")
    return Table(title, columns, rows, (*none, f"Cells: {counted}."))


def _still(project: Project, still: Sequence[Extreme]) -> Table:
    numbers = Numbers(unit_of(project))
    rows = tuple(Row((e.words, numbers.length(e.now_mm), numbers.length(e.most_mm), e.why)) for e in still)
    heads = (Column("", 5.0), Column("Now", 1.4, True), Column("At most", 1.4, True), Column("Ends by", 6.0))
    return Table("Can still be had of the drawn wheel, where it sits", heads, rows)


def _money(project: Project, held: Against) -> Table:
    """Return the money of a wheel from either blank, line by line."""
    first, second = held.first.blank, held.second.blank
    currency = f", {project.currency}" if project.currency else ""
    columns = (
        Column("", 3.0),
        Column(f"From {first}{currency}", 2.4, True),
        Column(f"from {second}{currency}", 2.4, True),
        Column("How it comes about", 8.0),
    )
    rows = tuple(Row(row) for row in money_rows(held))
    notes = (f"{money_words(project, held)}.", *_STARTING[: int(bool(project.rates.starting))])
    return Table("Money of the wheel as drawn", columns, rows, notes)


def _variant(project: Project, found: VariantCheck) -> Table:
    """Return whether the tools of another blank make this one, limit by limit."""
    numbers = Numbers(unit_of(project))
    rows = tuple(Row(check_words(check, numbers)) for check in found.checks)
    columns = (Column("Asked of the tools", 3.0), Column("What they make", 12.0))
    return Table(f"{variant_head(found)}", columns, rows)


def _against(project: Project, held: Against) -> Table:
    """Return what the second blank gives up on each side of the drawn wheel."""
    numbers = Numbers(unit_of(project))
    first, second = held.first.blank, held.second.blank
    rows = tuple(
        Row(
            (
                f"{s.zone}, {s.side} side",
                numbers.length(s.first_mm),
                numbers.length(s.second_mm),
                numbers.length(s.gives_up_mm),
            )
        )
        for s in held.sides
    )
    heads = (
        Column("Side of the wheel as drawn", 5.0),
        Column(f"To spare in {first}", 3.0, True),
        Column(f"in {second}", 3.0, True),
        Column("Given up", 1.6, True),
    )
    said = (mass_words(project, held), alone_words(held))
    return Table(f"What {second} gives up against {first}", heads, rows, tuple(f"{words}." for words in said))

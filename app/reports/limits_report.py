"""The limits of a blank as a report: one page that stands alone, and an appendix."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from app.project.project import Project
from app.reports.drawing import Canvas
from app.reports.flow import Draw, Flow
from app.reports.limits_page import LimitsSaid, draw_limits, draw_title
from app.reports.limits_words import (
    HIGHEST,
    LOWEST,
    alone_words,
    held_seat_words,
    mass_words,
    money_rows,
    money_words,
)
from app.reports.numbers import Numbers, unit_of
from app.reports.page import Area
from app.reports.pdf import study_pages
from app.reports.tables import Column, Row, Table
from app.reports.usable_figure import breakdown, draw_usable, usable_figure
from app.reports.variant_words import check_words, variant_head
from app.studies.blank_variant import VariantCheck
from app.studies.extremes import Extreme
from app.studies.limits import Limits
from app.studies.limits_against import Against, sitting, variants_of
from geometry.readings.rules import State

_STARTING = ("Of the shop's rates some are invented starting values.",)


def write_limits_pdf(
    project: Project,
    result: Limits,
    still: Sequence[Extreme],
    held: Against | None = None,
    *,
    input_sha256: str,
    appendix: bool = True,
) -> bytes:
    """Return the limits of a blank as the bytes of a PDF: a page that stands alone, then the appendix.

    Args:
        project: holds wheel and blank.
        result: the map.
        still: what the drawn wheel can still have.
        held: a second blank against it: its map, and what it gives up.
        input_sha256: digest of what it rests on, as 64 hex digits.
        appendix: what closes each window, what a second blank gives up side by side, tools of a variant, and
            what can be relied on of each blank, on pages after the first.
    """
    maps = (result,) if held is None else (result, held.second)
    names = " and ".join(found.blank for found in maps)
    title = f"Limits of blank{'s' * (len(maps) > 1)} {names}: {result.wheel}"
    variants = variants_of(project, result, held)
    said = LimitsSaid(project, maps, tuple(still), held, tuple(variants))

    def pages(canvas: Canvas, area: Area) -> list[Draw]:
        first = partial(draw_limits, said, title, area)
        return [first, *(_appendix(said, title, canvas, area) if appendix else ())]

    return study_pages(project, title, input_sha256, pages)


def _appendix(said: LimitsSaid, title: str, canvas: Canvas, area: Area) -> list[Draw]:
    """Return the pages after the first: tables, then each blank's drawn outline with its inner line."""
    project, held = said.project, said.held
    flow = Flow(canvas, area, partial(draw_title, f"Appendix · {title}", area))
    against = [] if held is None else [_against(project, held), _money(project, held)]
    windows = [_windows(found, found.blank if held is not None else "") for found in said.maps]
    variants = [_variant(project, each) for each in said.variants]
    blanks = [b for b in project.blanks if b.name in {found.blank for found in said.maps}]
    usable = [breakdown(project, blank) for blank in blanks]
    for table in [*against, *variants, *windows, _still(project, said.still), *usable]:
        flow.table(table)
    figures = [
        partial(
            draw_usable,
            project,
            usable_figure(
                project, found.blank, found.wheel, sitting(project, found.wheel, found.blank).seat_mm
            ),
            area,
        )
        for found in said.maps
    ]
    return [*flow.drawn(), *figures]


def _windows(result: Limits, blank: str) -> Table:
    rows = tuple(
        Row(
            (
                f"{row.width_code:g}",
                f"{window.low:.1f}",
                window.closed_low_by or LOWEST,
                f"{window.high:.1f}",
                window.closed_high_by or HIGHEST,
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
        Column("Side of the drawn wheel", 5.0),
        Column(f"To spare in {first}", 3.0, True),
        Column(f"in {second}", 3.0, True),
        Column("Given up", 1.6, True),
    )
    said = (held_seat_words(project, held), mass_words(project, held), alone_words(held))
    return Table(f"What {second} gives up against {first}", heads, rows, tuple(f"{words}." for words in said))

"""The limits of a blank on one page: the map over width and inset, the windows, what can still be had."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from app.project.project import Project
from app.reports.drawing import Canvas, Contour, Pen, Type, line, wrapped
from app.reports.flow import Draw, Flow
from app.reports.look import BODY, COLOURS, FIRST_LINE, HAIR, INK, SMALL
from app.reports.numbers import Numbers, unit_of
from app.reports.page import Area
from app.reports.pdf import study_pages
from app.reports.sentences import SIGNS
from app.reports.tables import Column, Row, Table
from app.studies.extremes import Extreme
from app.studies.limits import Cell, Limits
from geometry.readings.rules import State

_HEAD, _LEFT, _TOP = 17.0, 15.0, 7.0
_MOST_ROW = 11.0
_STOCK_ONLY = (
    "Stock in the blank alone counts: gaps to brakes, walls and hub fit are not judged here. Each cell: sign "
    "and spare stock of the side that decides."
)


def write_limits_pdf(
    project: Project, result: Limits, still: Sequence[Extreme], *, input_sha256: str
) -> bytes:
    """Return the limits of a blank as the bytes of a PDF.

    Args:
        project: holds wheel and blank.
        result: the map.
        still: what the drawn wheel can still have.
        input_sha256: digest of what it rests on, as 64 hex digits.
    """
    title = f"Limits of blank {result.blank}: {result.wheel}"

    def pages(canvas: Canvas, area: Area) -> list[Draw]:
        flow = Flow(canvas, area, partial(_title, title, area))
        for table in _tables(project, result, still):
            flow.table(table)
        return [partial(_map, project, result, title, area), *flow.drawn()]

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
    words = f"{numbers.mass(result.blank_kg)}; {kept}. {_STOCK_ONLY}"
    for k, text in enumerate(wrapped(canvas, words, SMALL, area.width, 2)):
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


def _tables(project: Project, result: Limits, still: Sequence[Extreme]) -> list[Table]:
    numbers = Numbers(unit_of(project))
    windows = tuple(
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
    extremes = tuple(
        Row((e.words, numbers.length(e.now_mm), numbers.length(e.most_mm), e.why)) for e in still
    )
    heads = (Column("", 5.0), Column("Now", 1.4, True), Column("At most", 1.4, True), Column("Ends by", 6.0))
    none = ("No inset of those asked for can be cut.",) if not windows else ()
    counted = ", ".join(
        f"{sum(c.state is state for c in result.cells)} {word}"
        for state, word in ((State.CLEAR, "cuttable"), (State.TIGHT, "tight"), (State.SHORT, "not"))
    )
    return [
        Table("Insets that can be cut", columns, windows, (*none, f"Cells: {counted}.")),
        Table("Can still be had of the drawn wheel, where it sits", heads, extremes),
    ]

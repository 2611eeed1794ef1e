"""A wheel's screening on pages: loads, how tests hold it, case x zone, stress, lips, spokes, life."""

from __future__ import annotations

from functools import partial

from app.project.project import Project
from app.project.strength import StrengthSettings
from app.reports.drawing import Canvas, Contour, Pen, Type, fitting, line, wrapped
from app.reports.flow import Draw, Flow
from app.reports.look import BODY, BODY_BOLD, COLOURS, FIRST_LINE, HAIR, INK, LABEL, SMALL
from app.reports.numbers import Numbers, unit_of
from app.reports.page import Area
from app.reports.pdf import study_pages
from app.reports.strength_family import evidence_lines, plan_table
from app.reports.strength_figure import picture_pages, pictures
from app.reports.strength_holding import draw_holdings
from app.reports.strength_notes import all_notes, facts, row_notes
from app.reports.strength_shown import Shown, gain_table
from app.reports.strength_tables import loads, tables
from app.reports.strength_words import (
    SIGNS_SAID,
    Cell,
    Verdict,
    cell,
    kept,
    kept_table,
    short_words,
    summary,
    zones_of,
)
from app.studies.strength.run import Screening
from geometry.readings.rules import State

_CASE, _LABEL, _DRAWINGS = 54.0, 32.0, 58.0
_FACT_LINES = 5
_SILENT = "#F1EFEA"


def write_strength_pdf(project: Project, shown: Shown, *, input_sha256: str) -> bytes:
    """Return a screening as the bytes of a PDF.

    Args:
        project: holds the wheels.
        shown: the screening and what stands beside it.
        input_sha256: digest of what it rests on, as 64 hex digits.
    """
    found, settings, against = shown.found, shown.settings, shown.against
    numbers = Numbers(unit_of(project))
    beside = "" if against is None else f" beside {against.ready.wheel.name}"
    title = f"Strength screening: {found.ready.wheel.name}{beside}"
    wheels = [found] if against is None else [found, against]

    def pages(canvas: Canvas, area: Area) -> list[Draw]:
        head = partial(_title, title, area)
        # What a laboratory asks first: what evidence there is, which tests decide, whose loads. Then stress.
        asked = Flow(canvas, area, head)
        asked.paragraphs("Recorded tests", [kept(words) for words in evidence_lines(shown.evidence)])
        asked.table(kept_table(plan_table(shown.evidence)))
        asked.table(kept_table(loads(found)))
        flow = Flow(canvas, area, head)
        for table in tables(found, against, shown.figures, numbers):
            flow.table(kept_table(table))
        if shown.case is not None:
            flow.table(kept_table(gain_table(shown)))
        flow.paragraphs("Notes", [kept(words) for words in (*all_notes(found), *row_notes(found.zones))])
        if against is not None:
            name = against.ready.wheel.name
            flow.paragraphs(f"Notes on {name}", [kept(words) for words in all_notes(against)])
        first = [partial(_first, one, settings, numbers, area) for one in wheels]
        drawn = picture_pages(pictures(found, against), numbers, area, head)
        return [*first, *asked.drawn(), *drawn, *flow.drawn()]

    return study_pages(project, title, input_sha256, pages)


def _title(title: str, area: Area, canvas: Canvas) -> None:
    (words,) = wrapped(canvas, title, FIRST_LINE, area.width, 1)
    canvas.text((area.left, area.top - FIRST_LINE.size_mm), words, FIRST_LINE)
    y = area.top - FIRST_LINE.size_mm - 1.8
    line(canvas, (area.left, y), (area.right, y), HAIR)


def _first(
    found: Screening, settings: StrengthSettings, numbers: Numbers, area: Area, canvas: Canvas
) -> None:
    """Draw the page of loads, holding and verdicts of one wheel."""
    _title(f"Strength screening: {found.ready.wheel.name}", area, canvas)
    y = area.top - 9.0
    for k, words in enumerate(wrapped(canvas, summary(found), BODY_BOLD, area.width, 3)):
        y -= 3.8 if k else 0.0
        canvas.text((area.left, y), words, BODY_BOLD)
    y -= 1.0
    for label, text in facts(found, settings, numbers):
        canvas.text((area.left, y - 3.5), label, fitting(canvas, label, LABEL, _LABEL - 1.0))
        # What recorded tests give stands whole, whatever else is cut short.
        for said in wrapped(canvas, kept(text), BODY, area.width - _LABEL, _FACT_LINES):
            y -= 3.5
            canvas.text((area.left + _LABEL, y), said, BODY)
    y -= 3.0
    draw_holdings(canvas, found, Area(area.left, y - _DRAWINGS, area.right, y))
    _matrix(canvas, found, Area(area.left, area.bottom, area.right, y - _DRAWINGS - 2.0))


def _matrix(canvas: Canvas, found: Screening, area: Area) -> None:
    """Draw case x zone: use above, stress below; what a test does not exercise stands in grey."""
    zones = zones_of(found)
    words = f"Each cell: use of the metal, below it the greatest von Mises stress in MPa. {SIGNS_SAID}"
    said = wrapped(canvas, words, SMALL, area.width, 3)
    wide = (area.width - _CASE) / max(len(zones), 1)
    top = area.top - 5.0
    high = min((top - area.bottom - 2.0 - 2.8 * len(said)) / max(len(found.cases), 1), 8.0)
    canvas.text((area.left, top + 1.2), "case; load and levels", SMALL)
    for k, zone in enumerate(zones):
        at = (area.left + _CASE + k * wide + 1.0, top + 1.2)
        canvas.text(at, zone.value, fitting(canvas, zone.value, SMALL, wide - 1.2))
    for i, case in enumerate(found.cases):
        low = top - (i + 1) * high
        line(canvas, (area.left, low + high), (area.right, low + high), HAIR)
        middle = low + high / 2.0
        canvas.text((area.left, middle + 0.4), f"{i + 1} {case.name}", BODY_BOLD)
        (text,) = wrapped(canvas, short_words(case), Type(1.9, colour=SMALL.colour), _CASE - 2.0, 1)
        canvas.text((area.left, middle - 2.4), text, Type(1.9, colour=SMALL.colour))
        for k, zone in enumerate(zones):
            x = area.left + _CASE + k * wide
            _cell(canvas, cell(found, case, zone), Area(x, low, x + wide, low + high))
    y = top - high * len(found.cases) - 1.0
    line(canvas, (area.left, y + 1.0), (area.right, y + 1.0), HAIR)
    for text in said:
        y -= 2.8
        canvas.text((area.left, y), text, SMALL)


def _cell(canvas: Canvas, one: Cell, area: Area) -> None:
    box = Contour.rectangle(area.left, area.bottom, area.width, area.height)
    silent = one.verdict is Verdict.NOT_EXERCISED
    canvas.path([box], Pen(0.1, "#DAD6CD"), _SILENT if silent else None)
    middle = (area.bottom + area.top) / 2.0
    if silent:
        canvas.text((area.left + 1.0, middle - 0.9), one.use, SMALL)
        return
    colour = {Verdict.OVER: COLOURS[State.SHORT], Verdict.NOT_KNOWN: COLOURS[State.NOT_KNOWN]}
    bold = one.verdict in colour
    share = min(1.0, (area.width - 1.5) / max(canvas.text_width(one.use, Type(2.7, bold)), 1e-9))
    style = Type(2.7 * share, bold, colour.get(one.verdict, INK))
    if one.row is None:
        canvas.text((area.left + 1.0, middle - 0.9), one.use, style if one.verdict in colour else SMALL)
        return
    canvas.text((area.left + 1.0, middle + 0.4), one.use, style)
    canvas.text((area.left + 1.0, middle - 2.6), one.stress, SMALL)

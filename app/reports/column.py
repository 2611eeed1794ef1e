"""The column beside the drawing: name, state, the least to spare, facts, and what the lines mean."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from app.reports.content import ReportContent
from app.reports.drawing import Canvas, Contour, fitting, hatch, line, wrapped
from app.reports.look import (
    BLANK_EDGE,
    BODY,
    CENTRE,
    CHAIN,
    GAP_LINE,
    HAIR,
    HATCH,
    HEADING,
    LABEL,
    OUTLINE,
    SHAPE,
    SHAPE_PEN,
    SMALL,
    TITLE,
    TYRE,
    WHEEL,
    state_colour,
)
from app.reports.page import Area, stamp, state_mark
from app.reports.sentences import SIGNS

_LINE = 3.3
_LABEL_WIDTH = 21.0
_SWATCH = 9.0


def draw_column(
    canvas: Canvas, content: ReportContent, area: Area, scale: float, left_out: Sequence[str]
) -> None:
    """Draw the column; `left_out` names the callouts that had no room on the drawing."""
    line(canvas, (area.left - 2.0, area.bottom), (area.left - 2.0, area.top), HAIR)
    y = _heading(canvas, content, area, scale)
    if content.hold_back:
        y = stamp(canvas, "NOT FOR RELEASE", [content.hold_back], area.left, y - 1.5, area.width) - 1.0
    bottom = _legend(canvas, content, area)
    y = _least(canvas, content, area, y)
    y = _faults(canvas, content, area, y)
    _facts(canvas, content, area, y, bottom)
    if left_out:
        words = f"No room on the drawing, see the tables: {', '.join(left_out)}"
        for k, text in enumerate(wrapped(canvas, words, SMALL, area.width, 2)):
            canvas.text((area.left, bottom + 4.2 - 2.8 * k), text, SMALL)


def _heading(canvas: Canvas, content: ReportContent, area: Area, scale: float) -> float:
    y = area.top
    for words in wrapped(canvas, content.wheel, TITLE, area.width, 2):
        y -= TITLE.size_mm
        canvas.text((area.left, y + 0.6), words, TITLE)
        y -= 0.8
    y -= HEADING.size_mm
    canvas.text((area.left, y), f"{content.size} · scale 1 : {scale:g}", HEADING)
    y -= 6.4
    state_mark(canvas, (area.left, y), content.state, 4.4)
    return y - 3.2


def _least(canvas: Canvas, content: ReportContent, area: Area, y: float) -> float:
    """Write the least to spare, each with its sign before it."""
    if not content.worst:
        return y
    y = _title(canvas, "Least to spare", area, y)
    for state, words in content.worst:
        if state is not None:
            style = BODY.__class__(BODY.size_mm, True, state_colour(state))
            canvas.text((area.left, y), SIGNS[state], style)
        for text in wrapped(canvas, words, BODY, area.width - 4.0, 3):
            canvas.text((area.left + 4.0, y), text, BODY)
            y -= _LINE
        y -= 0.6
    return y


def _title(canvas: Canvas, words: str, area: Area, y: float) -> float:
    line(canvas, (area.left, y), (area.right, y), HAIR)
    canvas.text((area.left, y - 3.2), words, SMALL)
    return y - 7.0


def _faults(canvas: Canvas, content: ReportContent, area: Area, y: float) -> float:
    if not content.faults:
        return y
    y = _title(canvas, "Faults: no reading until they are mended", area, y)
    for k, words in enumerate(content.faults[:6], start=1):
        canvas.text((area.left, y), str(k), BODY)
        for text in wrapped(canvas, words, BODY, area.width - 4.0, 4):
            canvas.text((area.left + 4.0, y), text, BODY)
            y -= _LINE
    if len(content.faults) > 6:
        canvas.text((area.left, y), f"and {len(content.faults) - 6} more", BODY)
        y -= _LINE
    return y - 0.6


def _facts(canvas: Canvas, content: ReportContent, area: Area, y: float, bottom: float) -> None:
    """Write label and text of each fact as far as there is room above `bottom`."""
    y = _title(canvas, "Wheel", area, y)
    for label, words in content.facts:
        lines = wrapped(canvas, words, BODY, area.width - _LABEL_WIDTH, 2)
        if y - _LINE * (len(lines) - 1) < bottom + 4.0:
            return
        canvas.text((area.left, y), label, fitting(canvas, label, LABEL, _LABEL_WIDTH - 1.0))
        for text in lines:
            canvas.text((area.left + _LABEL_WIDTH, y), text, BODY)
            y -= _LINE
        y -= 0.25


def _legend(canvas: Canvas, content: ReportContent, area: Area) -> float:
    """Draw what fills and lines mean, from the column's foot up; return its upper edge."""
    figure = content.figure
    entries: list[tuple[str, Callable[[float, float], None]]] = []

    def box(x: float, y: float) -> Contour:
        return Contour.rectangle(x, y - 0.4, _SWATCH, 2.6)

    def add(words: str, draw: Callable[[float, float], None]) -> None:
        entries.append((words, draw))

    add(
        "axle line, rim centre plane", lambda x, y: line(canvas, (x, y + 0.9), (x + _SWATCH, y + 0.9), CENTRE)
    )
    if any(shape.gap_lines for shape in figure.shapes):
        words = f"required gap line: {figure.gap_line_words}"
        add(words, lambda x, y: line(canvas, (x, y + 0.9), (x + _SWATCH, y + 0.9), GAP_LINE))
    if figure.shapes:
        add("stay-out shape", lambda x, y: canvas.path([box(x, y)], SHAPE_PEN, SHAPE))
    if figure.blank is not None:

        def blank(x: float, y: float) -> None:
            hatch(canvas, [box(x, y)], HATCH, 1.5)
            canvas.path([box(x, y)], BLANK_EDGE)

        add("blank", blank)
    if figure.tyre is not None:
        words = "tyre as a ring, by formula and grown in service"
        add(words, lambda x, y: line(canvas, (x, y + 0.9), (x + _SWATCH, y + 0.9), TYRE))
    if figure.outline is not None:
        add("wheel, revolved section", lambda x, y: canvas.path([box(x, y)], OUTLINE, WHEEL))
    if figure.chain:
        words = "section with faults, corners not yet rounded"
        add(words, lambda x, y: line(canvas, (x, y + 0.9), (x + _SWATCH, y + 0.9), CHAIN))
    y = area.bottom + 1.0
    for words, draw in entries:
        lines = wrapped(canvas, words, SMALL, area.width - _SWATCH - 2.5, 3)
        y += 2.9 * (len(lines) - 1)
        draw(area.left, y)
        for k, text in enumerate(lines):
            canvas.text((area.left + _SWATCH + 2.5, y - 2.9 * k), text, SMALL)
        y += 3.9
    line(canvas, (area.left, y), (area.right, y), HAIR)
    return y

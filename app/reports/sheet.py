"""The first page: the half-section to scale with its callouts, beside a column that says how it stands.

Beside the drawing run rails of labels; below it dimensions along the axle; along two edges a bar of
100.00 mm, to be measured on the print in both directions.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from app.reports.callouts import Callout, Label, Rail, Strip, draw_label, draw_leader, place_labels, tick
from app.reports.column import draw_column
from app.reports.content import ReportContent
from app.reports.drawing import (
    Anchor,
    Canvas,
    Contour,
    Frame,
    Pen,
    Point,
    Span,
    datum,
    dimension,
    fitting,
    hatch,
    line,
    span_extent,
    wrapped,
)
from app.reports.figure import AxialSpan, Figure
from app.reports.look import (
    AXLE,
    BLANK_EDGE,
    BODY,
    BODY_BOLD,
    CENTRE,
    CHAIN,
    COLOURS,
    EXTENSION,
    FIRST_LINE,
    GAP_LINE,
    HATCH,
    INK,
    OUTLINE,
    PAPER,
    RING,
    SHAPE,
    SHAPE_PEN,
    SMALL,
    THIN,
    TYRE,
    WHEEL,
    state_colour,
)
from app.reports.page import Area, body
from geometry.readings.rules import State

#: Scales on offer, 1 to n; the largest drawing that fits is chosen.
SCALES = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 10.0, 20.0, 50.0, 100.0)

#: Length of the bars on paper, mm.
BAR = 100.0

_COLUMN, _COLUMN_GAP = 56.0, 4.0
_LEFT_RAIL, _LEFT_GUTTER, _RIGHT_RAIL, _RIGHT_GUTTER = 31.0, 6.0, 26.0, 5.0
_SIDE_BAR, _FOOT_BAR = 6.0, 5.5
_TOP_LABELS, _TOP_GUTTER, _WIDTH_ROW = 7.0, 4.5, 6.6
_FIRST_ROW, _ROW = 8.5, 5.5
_HEAD = 8.6


@dataclass(frozen=True)
class Layout:
    """Where the parts of the drawing stand: its frame, its box on paper, and the area round it."""

    frame: Frame
    box: Area
    area: Area
    rows: int


def draw_sheet(canvas: Canvas, content: ReportContent) -> None:
    """Draw the first page but for its foot."""
    area = body(content.paper)
    y = area.top - FIRST_LINE.size_mm
    (head,) = wrapped(canvas, content.head, SMALL, area.width / 3.0, 1)
    room = area.width - canvas.text_width(head, SMALL) - 5.0
    style = fitting(canvas, content.judged, FIRST_LINE, room)
    (first,) = wrapped(canvas, content.judged, style, room, 1)
    canvas.text((area.left, y), first, style)
    canvas.text((area.right, y), head, SMALL, Anchor.RIGHT)
    (second,) = wrapped(canvas, content.shapes_judged, SMALL, area.width, 1)
    canvas.text((area.left, y - 3.6), second, SMALL)
    below = Area(area.left, area.bottom, area.right, area.top - _HEAD)
    column = Area(below.right - _COLUMN, below.bottom, below.right, below.top)
    layout = lay_out(content.figure, Area(below.left, below.bottom, column.left - _COLUMN_GAP, below.top))
    left_out = draw_figure(canvas, content.figure, layout)
    draw_bars(canvas, layout)
    draw_column(canvas, content, column, layout.frame.scale, [c.name for c in left_out])


def lay_out(figure: Figure, area: Area, scales: Sequence[float] = SCALES) -> Layout:
    """Return the drawing's place: the first scale at which it fits between its rails, else the last."""
    z_low, z_high, r_low, r_high = figure.bounds
    rows = max(2, len(figure.spans) - 1)
    left = area.left + _SIDE_BAR + _LEFT_RAIL + _LEFT_GUTTER
    right = area.right - _RIGHT_RAIL - _RIGHT_GUTTER
    bottom = area.bottom + _FOOT_BAR + _FIRST_ROW + _ROW * (rows - 1) + 2.5
    top = area.top - _TOP_LABELS - _TOP_GUTTER - _WIDTH_ROW
    width, height = right - left, top - bottom
    fits = (s for s in scales if (z_high - z_low) / s <= width and (r_high - r_low) / s <= height)
    scale = next(fits, scales[-1])
    wide, high = (z_high - z_low) / scale, (r_high - r_low) / scale
    x, y = left + (width - wide) / 2.0, bottom + (height - high) / 2.0
    box = Area(x, y, x + wide, y + high)
    return Layout(Frame(x - z_low / scale, y - r_low / scale, scale), box, area, rows)


def draw_areas(canvas: Canvas, figure: Figure, frame: Frame) -> None:
    """Draw blank, shapes, required-gap lines, wheel and ring bodies, the nearest last."""
    if figure.blank is not None:
        blank = frame.contour(figure.blank)
        hatch(canvas, [blank], HATCH, 3.0)
        canvas.path([blank], BLANK_EDGE)
    for shape in figure.shapes:
        for path in shape.paths:
            canvas.path([frame.contour(path)], SHAPE_PEN, SHAPE)
    for shape in figure.shapes:
        rings = [Contour.polyline([frame.at(p) for p in ring], closed=True) for ring in shape.gap_lines]
        canvas.path(rings, GAP_LINE)
    if figure.outline is not None:
        canvas.path([frame.contour(figure.outline)], OUTLINE, WHEEL)
    for ring in figure.rings:
        canvas.path([frame.contour(ring)], THIN, RING)
    if figure.tyre is not None:
        canvas.path([frame.contour(figure.tyre)], TYRE)


def draw_figure(
    canvas: Canvas,
    figure: Figure,
    layout: Layout,
    areas: Callable[[Canvas, Figure, Frame], None] = draw_areas,
) -> list[Callout]:
    """Draw the section with all round it, its areas first; return the callouts that had no room."""
    frame = layout.frame
    areas(canvas, figure, frame)
    _draw_planes(canvas, figure, layout)
    _draw_faults(canvas, figure, frame)
    placed: list[tuple[Label, float, Strip]] = []
    left_out: list[Callout] = []
    for strip in _strips(layout):
        own = [_on_paper(c, frame) for c in figure.callouts if c.rail is strip.rail]
        labels, missing = place_labels(canvas, own, strip)
        placed += [(label, centre, strip) for label, centre in labels]
        left_out += missing
    # What carries a state lies over what does not.
    for label, centre, strip in sorted(placed, key=lambda p: p[0].callout.state is not None):
        draw_leader(canvas, label, centre, strip)
    if figure.width is not None:
        _draw_width(canvas, figure.width, layout)
    if figure.tightest is not None:
        mark = figure.tightest
        tick(canvas, frame.at(mark.at_wheel), frame.at(mark.at_shape), state_colour(mark.state))
        middle = [(a + b) / 2.0 for a, b in zip(mark.at_wheel, mark.at_shape, strict=True)]
        ring = Contour.circle(frame.at((middle[0], middle[1])), 3.2)
        canvas.path([ring], Pen(0.3, state_colour(mark.state)))
    for label, centre, strip in placed:
        draw_label(canvas, label, centre, strip)
    if figure.datum_a is not None:
        datum(canvas, frame.at(figure.datum_a), (-1.0, 0.0), "A", THIN)
    if figure.datum_b is not None:
        datum(canvas, frame.at(figure.datum_b), (0.0, -1.0), "B", THIN)
    return left_out


def _on_paper(callout: Callout, frame: Frame) -> Callout:
    return Callout(
        frame.at(callout.place),
        callout.rail,
        callout.name,
        callout.number,
        callout.end,
        callout.state,
        callout.weight,
    )


def _strips(layout: Layout) -> tuple[Strip, Strip, Strip]:
    box, area = layout.box, layout.area
    low, high = box.bottom + 1.0, max(box.top, box.bottom + 1.0) + 4.0
    left_near, right_near = box.left - _LEFT_GUTTER, box.right + _RIGHT_GUTTER
    top_near = box.top + _WIDTH_ROW + _TOP_GUTTER
    return (
        Strip(Rail.LEFT, low, high, box.left - 1.0, left_near, left_near - 1.0 - area.left - _SIDE_BAR),
        Strip(Rail.RIGHT, low, high, box.right + 1.0, right_near, area.right - right_near - 1.0),
        Strip(Rail.TOP, area.left + _SIDE_BAR, area.right, box.top + _WIDTH_ROW, top_near, 60.0),
    )


def _draw_planes(canvas: Canvas, figure: Figure, layout: Layout) -> None:
    """Draw axle line, rim centre plane, bolt axis and the dimensions along the axle."""
    frame, box = layout.frame, layout.box
    axle = frame.y0
    line(canvas, (box.left - 3.0, axle), (box.right + 3.0, axle), AXLE)
    canvas.text((box.left - 4.0, axle - 3.1), "← inboard, car side", SMALL, Anchor.RIGHT)
    canvas.text((box.right + 4.0, axle - 3.1), "outboard, street side →", SMALL)
    if figure.bolt_line is not None:
        (x0, y), (x1, _) = (frame.at(p) for p in figure.bolt_line)
        line(canvas, (x0 - 2.0, y), (x1 + 2.0, y), CENTRE)
    spans = [_span(s, frame) for s in figure.spans]
    rows = _stacked(canvas, spans)
    lowest = axle - _FIRST_ROW - _ROW * max(rows, default=0) - 1.2
    centre, _ = frame.at((figure.rim_centre_z, 0.0))
    line(canvas, (centre, lowest), (centre, box.top + 1.2), CENTRE)
    for place in sorted({p for s in figure.spans for p in (s.low, s.high)}):
        x, y = frame.at(place)
        line(canvas, (x, y - 1.0), (x, lowest), EXTENSION)
    for span, row in zip(spans, rows, strict=True):
        dimension(canvas, span, axle - _FIRST_ROW - _ROW * row, BODY, THIN)


def _span(span: AxialSpan, frame: Frame) -> Span:
    return Span(frame.at(span.low)[0], frame.at(span.high)[0], span.words)


def _stacked(canvas: Canvas, spans: Sequence[Span]) -> list[int]:
    """Return the row of each dimension: the first one in which it meets no other."""
    taken: list[list[tuple[float, float]]] = []
    rows: list[int] = []
    for span in spans:
        low, high = span_extent(canvas, span, BODY)
        free = (k for k, row in enumerate(taken) if all(high <= a + 1e-6 or low >= b - 1e-6 for a, b in row))
        row = next(free, len(taken))
        if row == len(taken):
            taken.append([])
        taken[row].append((low, high))
        rows.append(row)
    return rows


def _draw_width(canvas: Canvas, width: AxialSpan, layout: Layout) -> None:
    """Draw the width between the flange faces above the drawing."""
    frame, box = layout.frame, layout.box
    span, y = _span(width, frame), box.top + 3.0
    for place in (width.low, width.high):
        x, start = frame.at(place)
        line(canvas, (x, start + 1.0), (x, y + 1.0), EXTENSION)
    dimension(canvas, span, y, BODY, THIN)


def _draw_faults(canvas: Canvas, figure: Figure, frame: Frame) -> None:
    """Draw a section that has no outline as it stands, and a numbered cross at each fault."""
    pen = Pen(0.5, COLOURS[State.SHORT])
    if figure.chain:
        points = tuple(frame.at((z, r)) for z, r, _ in figure.chain)
        canvas.path([Contour(points, tuple(b for _, _, b in figure.chain))], CHAIN)
    for k, place in enumerate(figure.faults, start=1):
        x, y = frame.at(place)
        for dx, dy in ((2.0, 2.0), (2.0, -2.0)):
            line(canvas, (x - dx, y - dy), (x + dx, y + dy), pen)
        canvas.path([Contour.circle((x, y), 3.4)], pen)
        width = canvas.text_width(str(k), BODY_BOLD)
        canvas.path([Contour.rectangle(x + 3.9, y - 1.4, width + 0.8, 2.8)], None, PAPER)
        canvas.text((x + 4.3, y - 0.9), str(k), BODY_BOLD)


def draw_bars(canvas: Canvas, layout: Layout) -> None:
    """Draw a bar of 100.00 mm along both edges of the drawing, with a stroke every 10 mm."""
    area, scale = layout.area, layout.frame.scale
    x, y = area.left + _SIDE_BAR, area.bottom + 1.6
    _bar(canvas, (x, y), (1.0, 0.0))
    real = f"{BAR * scale:.2f} mm of the wheel" if scale != 1.0 else "full size"
    words = f"Print at 100 %, measure this bar: {BAR:.2f} mm ({real})"
    canvas.text((x + BAR + 3.0, y), words, SMALL)
    bottom = layout.box.bottom + max(0.0, (layout.box.height - BAR) / 2.0)
    _bar(canvas, (area.left + 4.4, bottom), (0.0, 1.0))
    canvas.text(
        (area.left + 2.2, bottom + BAR / 2.0), f"measure this bar: {BAR:.2f} mm", SMALL, Anchor.MIDDLE, True
    )


def _bar(canvas: Canvas, start: Point, along: Point) -> None:
    (x, y), (ux, uy) = start, along
    line(canvas, start, (x + BAR * ux, y + BAR * uy), Pen(0.25, INK))
    for k in range(11):
        size = 1.6 if k % 5 == 0 else 0.9
        px, py = x + 10.0 * k * ux, y + 10.0 * k * uy
        line(canvas, (px, py), (px - size * uy, py + size * ux), THIN)

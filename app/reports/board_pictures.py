"""Pictures of the board paper: coverage map, family of blanks, cost over dies, cash over years."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from functools import partial

from app.project.project import Fitment, Project
from app.reports.drawing import Anchor, Canvas, Contour, Frame, Pen, Point, Type, line, wrapped
from app.reports.flow import Draw
from app.reports.look import AXLE, BODY, BODY_BOLD, COLOURS, FIRST_LINE, HAIR, INK, QUIET, SMALL, THIN
from app.reports.page import Area
from app.reports.sentences import SIGNS
from app.studies.programme.inputs import Mode, Question
from app.studies.programme.plans import Plan
from app.studies.roadmap.coverage import CoverCell, CoverRow
from app.studies.roadmap.dossier import Dossier
from app.studies.roadmap.plan_words import miss_words, need_words, wheels_served
from geometry.readings.rules import State
from geometry.shape.curve import Path
from geometry.shape.outline import outline_path

#: Rows and blanks on one page of the map.
_ROWS, _BLANKS = 40, 9
_NAME, _HEAD = 74.0, 17.0
_EDGE, _SHADE, _SERVED = Pen(0.1, "#B9B7B0"), "#F1EFEA", "#FFFFFF"
_SCALES = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 10.0)
#: Outlines are told apart by their dashes as by their colours.
_LINES = (
    Pen(0.5, "#2f6db5"),
    Pen(0.4, "#b5562b", (4.0, 1.2)),
    Pen(0.4, "#3f8f5b", (1.6, 0.9)),
    Pen(0.4, "#8a5bb0", (6.0, 1.0, 1.0, 1.0)),
    Pen(0.4, "#a07a10", (2.2, 0.7, 0.4, 0.7, 0.4, 0.7)),
    Pen(0.4, "#1f8a9c", (0.5, 0.8)),
)
_SUM = Pen(0.5, INK)
#: Sums written at the curve.
_LABELS = 6
#: The mode that is no compromise.
IN_FULL = Mode({}).name


def page_head(title: str, below: str, area: Area, canvas: Canvas) -> None:
    """Draw a page's title, a hairline, and a line or two of what it shows."""
    (words,) = wrapped(canvas, title, FIRST_LINE, area.width, 1)
    canvas.text((area.left, area.top - FIRST_LINE.size_mm), words, FIRST_LINE)
    y = area.top - FIRST_LINE.size_mm - 1.8
    line(canvas, (area.left, y), (area.right, y), HAIR)
    for k, text in enumerate(wrapped(canvas, below, SMALL, area.width, 2)):
        canvas.text((area.left, y - 3.4 - 2.9 * k), text, SMALL)


# The map


def coverage_pages(project: Project, found: Dossier, area: Area) -> Iterator[Draw]:
    """Yield the pages of the coverage map: rows fitments, columns blanks."""
    cover = found.planned.coverage
    for first in range(0, len(cover.blanks), _BLANKS):
        columns = range(first, min(first + _BLANKS, len(cover.blanks)))
        for top in range(0, len(cover.rows), _ROWS):
            yield partial(_map, project, found, cover.rows[top : top + _ROWS], columns, area)


def _map(
    project: Project,
    found: Dossier,
    rows: Sequence[CoverRow],
    columns: Sequence[int],
    area: Area,
    canvas: Canvas,
) -> None:
    said = ", ".join(
        f"{SIGNS[s]} {w}"
        for s, w in (
            (State.CLEAR, "cuttable"),
            (State.TIGHT, "tight"),
            (State.SHORT, "not"),
            (State.TOUCHING, "touches its brake"),
            (State.NOT_KNOWN, "not known"),
        )
    )
    below = (
        f"{said}; the number is what decides, mm to spare or missing. White: cuttable; framed: the plan cuts "
        "it there; *: the blank is not tried out."
    )
    page_head("Coverage: fitments against blanks", below, area, canvas)
    blanks, served = found.planned.coverage.blanks, found.planned.plan.served
    used = {(s.row, s.option, s.mode != IN_FULL) for s in served}
    fitments = {f.name: f for f in project.fitments}
    top = area.top - _HEAD - 4.0
    wide = (area.width - _NAME) / max(len(columns), 4)
    high = min((top - area.bottom) / max(len(rows), 12), 6.0)
    size = min(2.4, 0.62 * high)
    for k, column in enumerate(columns):
        (name,) = wrapped(canvas, blanks[column], BODY_BOLD, wide - 1.0, 1)
        canvas.text((area.left + _NAME + k * wide + 0.8, top + 1.2), name, BODY_BOLD)
    for i, row in enumerate(rows):
        y = top - (i + 1) * high
        words = _row_words(fitments[row.fitment], row.compromise)
        (words,) = wrapped(canvas, words, Type(size, colour=INK), _NAME - 2.0, 1)
        canvas.text((area.left, y + (high - size) / 2.0 + 0.2), words, Type(size, colour=INK))
        for k, column in enumerate(columns):
            x = area.left + _NAME + k * wide
            cell = row.cells[column]
            box = Area(x, y, x + wide, y + high)
            _cell(canvas, cell, box, size, (row.fitment, cell.blank, row.compromise) in used)


def _row_words(fitment: Fitment, compromise: bool) -> str:
    if compromise:
        words = fitment.compromise.words if fitment.compromise is not None else ""
        return f"{fitment.name}  by compromise: {words}"
    size = " x ".join(f"{x:g}" for x in (fitment.diameter_code, fitment.width_code) if x is not None)
    ends = [f"{x:g}" for x in (fitment.inset_low_mm, fitment.inset_high_mm) if x is not None]
    inset = " to ".join(dict.fromkeys(ends))
    parts = (need_words(fitment.must), size, f"ET {inset}" if inset else "", fitment.shape or "")
    return f"{fitment.name}  " + ", ".join(part for part in parts if part)


def _cell(canvas: Canvas, cell: CoverCell, area: Area, size: float, is_used: bool) -> None:
    box = Contour.rectangle(area.left, area.bottom, area.width, area.height)
    canvas.path([box], _EDGE, None if cell.is_covered else _SHADE)
    if is_used:
        inset = Contour.rectangle(area.left + 0.35, area.bottom + 0.35, area.width - 0.7, area.height - 0.7)
        canvas.path([inset], Pen(0.45, INK))
    star = "*" if cell.unproved and cell.is_covered else ""
    spare = "" if cell.spare_mm is None else f" {miss_words(cell.spare_mm)}"
    style = Type(size, True, COLOURS[cell.state])
    first = f"{SIGNS[cell.state]}{spare}{star}"
    y = area.bottom + (area.height - size) / 2.0 + 0.2
    canvas.text((area.left + 1.2, y), first, style)
    left = area.left + 2.2 + max(canvas.text_width(first, style), 9.5)
    room = area.right - left - 0.8
    if room > 8.0:
        (what,) = wrapped(canvas, cell.what, Type(0.85 * size), room, 1)
        canvas.text((left, y), what, Type(0.85 * size, colour=QUIET))


# The family


def family_page(project: Project, found: Dossier, area: Area) -> Draw | None:
    """Return the page of the chosen blanks' outlines over one another; None where none has an outline."""
    used = dict.fromkeys(sorted({s.option for s in found.planned.plan.served}))
    paths: list[tuple[str, Path]] = []
    for blank in project.blanks:
        if blank.name in used:
            path = outline_path(blank.corners)
            if isinstance(path, Path):
                paths.append((blank.name, path))
    return partial(_family, project, found, paths, area) if paths else None


def _family(
    project: Project, found: Dossier, paths: Sequence[tuple[str, Path]], area: Area, canvas: Canvas
) -> None:
    below = (
        "Each in its own frame, zero on zero, z along the axle, outboard to the right; half-sections, usable "
        "outline as drawn. Where one line lies outside another, that blank gives what the other cannot."
    )
    page_head("Family: the chosen blanks over one another", below, area, canvas)
    z0 = min(float(p.bounds[0]) for _, p in paths)
    z1 = max(float(p.bounds[1]) for _, p in paths)
    r1 = max(float(p.bounds[3]) for _, p in paths)
    legend = 92.0
    room = Area(area.left, area.bottom + 6.0, area.right - legend, area.top - 20.0)
    fits = (s for s in _SCALES if (z1 - z0) / s <= room.width - 24.0 and r1 / s <= room.height - 6.0)
    scale = next(fits, _SCALES[-1])
    frame = Frame((room.left + room.right) / 2.0 - (z0 + z1) / 2.0 / scale, room.bottom + 4.0, scale)
    for k, (_, path) in enumerate(paths):
        canvas.path([frame.contour(path)], _LINES[k % len(_LINES)])
    (x0, y), (x1, _) = frame.at((z0, 0.0)), frame.at((z1, 0.0))
    line(canvas, (x0 - 6.0, y), (x1 + 6.0, y), AXLE)
    canvas.text((x0 - 6.0, y - 3.4), f"axle line; scale 1 : {scale:g}", SMALL)
    (x, _), (_, high) = frame.at((0.0, 0.0)), frame.at((0.0, r1))
    line(canvas, (x, y), (x, high + 3.0), Pen(0.13, QUIET, (1.2, 0.8)))
    canvas.text((x, high + 4.0), "z 0", SMALL, Anchor.MIDDLE)
    options = {o.name: o for o in found.programme.options}
    y = area.top - 22.0
    for k, (name, path) in enumerate(paths):
        low, far, _, top = (float(b) for b in path.bounds)
        left = area.right - legend + 4.0
        line(canvas, (left, y + 0.9), (left + 12.0, y + 0.9), _LINES[k % len(_LINES)])
        canvas.text((left + 14.0, y), name, BODY_BOLD)
        rows = sorted({s.row for s in found.planned.plan.served if s.option == name})
        said = (
            f"{options[name].kind}, {options[name].state}; Ø {2.0 * top:.1f}, height {far - low:.1f} mm; "
            f"{options[name].price:,.2f} a piece"
        )
        for text in [*wrapped(canvas, said, BODY, legend - 18.0), *_lines(canvas, rows, legend - 18.0)]:
            y -= 3.5
            canvas.text((left + 14.0, y), text, BODY)
        y -= 6.5
        if y < area.bottom + 8.0:
            break


def _lines(canvas: Canvas, rows: Sequence[str], width: float) -> list[str]:
    return wrapped(canvas, f"cut for {', '.join(rows)}", BODY, width, 5)


# Curve and cash


def charts_page(project: Project, found: Dossier, area: Area) -> Draw:
    """Return the page with cost over the number of dies, and cash over the years."""
    return partial(_charts, project, found, area)


def _charts(project: Project, found: Dossier, area: Area, canvas: Canvas) -> None:
    page_head("Over the number of dies, and over the years", _money(project), area, canvas)
    middle = (area.left + area.right) / 2.0
    top = area.top - 20.0
    left = Area(area.left, area.bottom + 8.0, middle - 8.0, top)
    right = Area(middle + 8.0, area.bottom + 8.0, area.right, top)
    _curve(canvas, found, left)
    _cash(canvas, found, right)


def _money(project: Project) -> str:
    money = f"Money in {project.currency}, of one year. " if project.currency else "Money of one year. "
    return (
        f"{money}Left: each best plan with at most so many new own dies ('none': no plan "
        "keeps the limits). Right: cash of each "
        "year as it is paid, not discounted, and its sum."
    )


def _of_the_curve(question: Question) -> tuple[str, Callable[[Plan], float]]:
    """Return what the curve shows, in words and of a plan."""
    if question is Question.GREATEST_VALUE:
        return "Value, present value", lambda plan: plan.value
    if question is Question.BEST_COVER:
        return "Wheels served, over all years", wheels_served
    return "Cost, present value", lambda plan: plan.cost


def _curve(canvas: Canvas, found: Dossier, area: Area) -> None:
    what, value_of = _of_the_curve(found.wanted.question)
    canvas.text((area.left, area.top), what, BODY_BOLD)
    plans = [(k, p) for k, p in enumerate(found.curve)]
    known = [(k, value_of(p), p) for k, p in plans if p.is_found]
    if not known:
        canvas.text((area.left, area.top - 8.0), "No plan keeps the limits with any number of dies.", BODY)
        return
    plot = Area(area.left + 20.0, area.bottom + 10.0, area.right - 2.0, area.top - 8.0)
    last = max(len(plans) - 1, 1)
    at_y = _axis(canvas, plot, [v for _, v, _ in known])

    def at_x(dies: float) -> float:
        return plot.left + 8.0 + (plot.width - 22.0) * dies / last

    for k, plan in plans:
        if k % math.ceil(len(plans) / (3 * _LABELS)) == 0:
            canvas.text((at_x(k), plot.bottom - 4.0), f"{k}", BODY, Anchor.MIDDLE)
        if not plan.is_found:
            canvas.text((at_x(k), plot.bottom + 2.0), "none", SMALL, Anchor.MIDDLE)
    canvas.text(
        ((plot.left + plot.right) / 2.0, plot.bottom - 8.5), "new own dies at most", SMALL, Anchor.MIDDLE
    )
    points = [(at_x(k), at_y(v)) for k, v, _ in known]
    if len(points) > 1:
        canvas.path([Contour.polyline(points)], Pen(0.3, INK))
    every = math.ceil(len(known) / _LABELS)
    for k, ((x, y), (_, value, plan)) in enumerate(zip(points, known, strict=True)):
        canvas.path([Contour.circle((x, y), 1.0)], None, INK)
        left = len(plan.must_uncovered)
        words = f"{value:,.0f}" + (f", {left} must left" if left else "")
        is_last = k == len(known) - 1
        if is_last or (k % every == 0 and k + every < len(known)):
            # Beside the line, whichever way it goes on.
            rises = not is_last and points[k + 1][1] > y
            canvas.text((x + 1.6, y - 3.4 if rises else y + 1.4), words, SMALL)


def _cash(canvas: Canvas, found: Dossier, area: Area) -> None:
    canvas.text((area.left, area.top), "Cash of the year (bars) and its sum (line)", BODY_BOLD)
    years = found.planned.plan.years
    if not years:
        canvas.text((area.left, area.top - 8.0), "Nothing is planned.", BODY)
        return
    sums, total = [], 0.0
    for y in years:
        total += y.cash
        sums.append(total)
    plot = Area(area.left + 20.0, area.bottom + 10.0, area.right - 2.0, area.top - 8.0)
    first, last = years[0].year, years[-1].year
    step = plot.width / (last - first + 1)
    at_y = _axis(canvas, plot, [*(y.cash for y in years), *sums, 0.0])

    def at_x(year: int) -> float:
        return plot.left + (year - first + 0.5) * step

    base = at_y(0.0)
    for y in years:
        x, low = at_x(y.year) - 0.3 * step, at_y(y.cash)
        box = Contour.rectangle(x, min(base, low), 0.6 * step, abs(low - base))
        canvas.path([box], THIN, "#C9D1DA" if y.cash >= 0.0 else "#F3D9C9")
        if y.invested > 0.0:
            canvas.text((at_x(y.year), base + 1.2), "dies", SMALL, Anchor.MIDDLE)
    for year in range(first, last + 1, math.ceil((last - first + 1) / (2 * _LABELS))):
        canvas.text((at_x(year), plot.bottom - 4.0), f"{year}", SMALL, Anchor.MIDDLE)
    line(canvas, (plot.left, base), (plot.right, base), THIN)
    points = [(at_x(y.year), at_y(s)) for y, s in zip(years, sums, strict=True)]
    if len(points) > 1:
        canvas.path([Contour.polyline(points)], _SUM)
    x, y_end = points[-1]
    falls = len(points) > 1 and points[-2][1] > y_end
    up = -3.6 if falls else 1.8
    canvas.text((x, y_end + up), f"{sums[-1]:,.0f}", Type(2.2, True, INK), Anchor.RIGHT)
    canvas.text((plot.left, plot.bottom - 8.5), "'dies': something is paid once in the year", SMALL)


def _axis(canvas: Canvas, plot: Area, values: Sequence[float]) -> Callable[[float], float]:
    """Draw a scale of money at the left edge; return the paper place of a value."""
    low, high = min(values), max(values)
    if high - low < 1e-9 * max(abs(high), 1.0):
        low, high = min(low, 0.0), max(high, 0.0)
    room = 0.06 * max(high - low, 1.0)
    low, high = low - (room if low < 0.0 else 0.0), high + (room if high > 0.0 else 0.0)
    if high <= low:  # nothing costs or brings anything
        high = low + 5.0
    step = _round_step((high - low) / 5.0)
    low, high = math.floor(low / step) * step, math.ceil(high / step) * step

    def at(value: float) -> float:
        return plot.bottom + plot.height * (value - low) / (high - low)

    for k in range(round((high - low) / step) + 1):
        value = low + k * step
        ends: tuple[Point, Point] = ((plot.left, at(value)), (plot.right, at(value)))
        line(canvas, *ends, HAIR)
        canvas.text((plot.left - 1.5, at(value) - 0.8), f"{value:,.0f}", SMALL, Anchor.RIGHT)
    line(canvas, (plot.left, plot.bottom), (plot.left, plot.top), THIN)
    return at


def _round_step(least: float) -> float:
    """Return the least of 1, 2, 5 times a power of ten that is not below."""
    power = 10.0 ** math.floor(math.log10(least))
    return next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= least * (1.0 - 1e-9))

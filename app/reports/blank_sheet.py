"""The forging drawing of a group's blank: its outline, the wheels in it, and who decides which stretch."""

from __future__ import annotations

from dataclasses import replace

from app.project.project import Project
from app.reports.blank_masses import WHEEL_COLOURS, mass_unit
from app.reports.drawing import Canvas, Contour, Frame, Pen, Point, line, wrapped
from app.reports.look import AXLE, BODY, FIRST_LINE, HAIR, INK, SMALL, THIN
from app.reports.numbers import Numbers, unit_of
from app.reports.page import Area
from app.reports.usable_figure import label_line
from app.studies.composite import Composite
from app.studies.flash_line import BAND_MM
from app.studies.forging_needs import ForgingSettings
from app.studies.mixed_diameters import mixed_words

#: Scales on offer, 1 to n.
_SCALES = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 10.0)
_MEET = "dies meet"
#: Where along the outside wall a line may be named, as shares of its length.
_LABELS = (0.08, 0.38, 0.68)
_COLUMN = 78.0
_OUTLINE, _WHEEL = Pen(0.5, INK), Pen(0.18, INK, (6.0, 1.2, 1.0, 1.2, 1.0, 1.2))
_BAND = Pen(0.2, INK, (0.8, 0.8))
_HOLE = Pen(0.25, INK, (2.4, 1.0))
_USABLE = Pen(0.25, INK, (1.6, 0.9))


def blank_sheet(
    project: Project, result: Composite, settings: ForgingSettings, name: str, area: Area, canvas: Canvas
) -> None:
    """Draw the first page: as forged in full, usable dashed, finished wheels phantom, stretches by wheel."""
    numbers = Numbers(unit_of(project))
    (first,) = wrapped(canvas, f"{name}: forging drawing, as forged", FIRST_LINE, area.width, 1)
    canvas.text((area.left, area.top - FIRST_LINE.size_mm), first, FIRST_LINE)
    drawing = Area(area.left + 4.0, area.bottom + 10.0, area.right - _COLUMN - 6.0, area.top - 14.0)
    z0, z1, _, r1 = result.forged.path.bounds
    fits = (s for s in _SCALES if (z1 - z0) / s <= drawing.width - 30.0 and r1 / s <= drawing.height - 14.0)
    scale = next(fits, _SCALES[-1])
    frame = Frame((drawing.left + drawing.right) / 2.0 - (z0 + z1) / 2.0 / scale, drawing.bottom + 8.0, scale)
    canvas.path([frame.contour(result.forged.path)], _OUTLINE, "#EEECE6")
    canvas.path([frame.contour(result.path)], _USABLE)
    for k, (_, path) in enumerate(result.held):
        # Several lie close together: each in the colour of its number.
        colour = WHEEL_COLOURS[k % len(WHEEL_COLOURS)] if len(result.held) > 1 else INK
        canvas.path([frame.contour(path)], replace(_WHEEL, colour=colour))
    for number, rows in result.stretches:
        if number >= 0:
            points = [frame.at((float(z), float(r))) for z, r in rows]
            canvas.path([Contour.polyline(points)], Pen(0.7, WHEEL_COLOURS[number % len(WHEEL_COLOURS)]))
    left, right = _label_shares(canvas, frame, result)
    label_line(canvas, frame, result.path, ("usable line", _USABLE), (right, 4.5))
    label_line(canvas, frame, result.forged.path, ("as forged", _OUTLINE), (left, 3.0))
    _axle(canvas, frame, (z0, z1))
    if settings.pierced_mm is not None:
        canvas.path([frame.contour(result.forged.lathe)], _HOLE)
    _parting(canvas, frame, result)
    _sizes(canvas, frame, result, numbers)
    _legend(
        canvas,
        Area(area.right - _COLUMN, area.bottom, area.right, area.top - 8.0),
        result,
        settings,
        numbers,
        scale,
    )


def _axle(canvas: Canvas, frame: Frame, ends: Point) -> None:
    (x0, y), (x1, _) = frame.at((ends[0], 0.0)), frame.at((ends[1], 0.0))
    line(canvas, (x0 - 6.0, y), (x1 + 6.0, y), AXLE)
    canvas.text((x0 - 6.0, y - 3.2), "axle line; z from the first wheel's mounting face", SMALL)


def _label_shares(canvas: Canvas, frame: Frame, result: Composite) -> tuple[float, float]:
    """Return where along the outside wall the two lines are named: beside where the dies meet."""
    z0, z1, _, _ = result.forged.path.bounds
    (x0, _), (x1, _), (met, _) = (frame.at((z, 0.0)) for z in (z0, z1, result.parting_mm[0]))
    room = canvas.text_width("usable line", SMALL) + 5.0
    taken = (met - 1.0, met + canvas.text_width(_MEET, SMALL) + 3.0)
    free = [s for s in _LABELS if not taken[0] - room < x0 + s * (x1 - x0) < taken[1]]
    chosen = [*free, *_LABELS]
    return chosen[0], chosen[1]


def _parting(canvas: Canvas, frame: Frame, result: Composite) -> None:
    x, y = frame.at((result.parting_mm[0], result.forged.sizes.rim_mm))
    line(canvas, (x, y - 4.0), (x, y + 5.0), AXLE)
    canvas.text((x + 1.0, y + 3.0), _MEET, SMALL)
    z, r = result.parting_mm[0], result.forged.sizes.rim_mm
    for side in (-BAND_MM, BAND_MM):
        at, _ = frame.at((z + side, r))
        line(canvas, (at, y - 5.0), (at, y + 1.5), _BAND)


def _sizes(canvas: Canvas, frame: Frame, result: Composite, numbers: Numbers) -> None:
    """Write overall height above the drawing and the greatest diameter beside it."""
    z0, z1, _, r1 = result.forged.path.bounds
    (left, top), (right, _) = frame.at((z0, r1)), frame.at((z1, r1))
    y = top + 8.0
    for x in (left, right):
        line(canvas, (x, top + 1.0), (x, y + 1.0), THIN)
    line(canvas, (left, y), (right, y), THIN)
    words = f"height {numbers.length(z1 - z0)}"
    canvas.text(((left + right) / 2.0 - canvas.text_width(words, BODY) / 2.0, y + 0.8), words, BODY)
    x = right + 7.0
    (_, low), (_, high) = frame.at((0.0, 0.0)), frame.at((0.0, r1))
    line(canvas, (right + 1.0, high), (x + 1.0, high), THIN)
    line(canvas, (x, low), (x, high), THIN)
    canvas.text((x + 3.0, (low + high) / 2.0 - 10.0), f"Ø {numbers.length(2.0 * r1)}", BODY, turned=True)


def _legend(
    canvas: Canvas, area: Area, result: Composite, settings: ForgingSettings, numbers: Numbers, scale: float
) -> None:
    how, z, slug_kg = settings.how, result.parting_mm[0], result.forged.slug_kg
    r = result.forged.sizes.rim_mm
    corner = (
        f"corners {numbers.radius(result.corner.corner_mm)}"
        if result.corner is not None
        else "corners of the stock's radius"
    )
    asked = "" if how.parting_mm is None else ", as asked"
    lines = [
        f"scale 1 : {scale:g}; all lengths in {'inches' if numbers.unit == 'in' else numbers.unit}",
        f"{numbers.mass(result.forged.mass_kg)} as forged, {numbers.mass(result.mass_kg)} of it usable",
        f"draft {how.outside_deg:g}° outside, {how.inside_deg:g}° inside",
        f"fillets {numbers.radius(how.fillet_mm)} at least, {corner}",
        f"dies meet at z {numbers.length(z)}, r {numbers.length(r)}{asked}",
        f"least web {numbers.length(result.forged.sizes.web_mm)}",
        "full line: as forged, what dies are drawn to; dashed: usable; chain lines: finished wheels",
        "coloured: the stretch that a wheel decides",
        *(
            f"{k + 1}  {w.name}: mounting face at z {numbers.length(w.seat_mm)}"
            for k, w in enumerate(result.wheels)
        ),
        *(
            [f"Hub pierced {numbers.length(settings.pierced_mm)} wide: slug {numbers.mass(slug_kg)}."]
            if settings.pierced_mm is not None
            else []
        ),
        f"Short dashes: {numbers.length(BAND_MM)} either side of the flash line, where end grain may show. "
        f"Ring end as forged: z {numbers.length(result.forged.path.bounds[0])}. Ejector marks: ask the "
        "forge.",
        (
            "The stock holds what may be missing: both lines are one. Closure and wear add to it."
            if settings.holds_missing
            else "Between the two lines lies what may be missing by the table's starting values; closure and "
            "wear add to the full line. Wheels rely on the usable one alone."
        ),
        *((mixed_words(result.diameters, mass_unit(numbers.unit)),) if result.diameters else ()),
        *(("It fits only the drawn wheels.",) if settings.fits_drawn_alone else ()),
        *(found.words(numbers.long, numbers.mass) for found in result.warnings),
    ]
    y = area.top
    line(canvas, (area.left - 3.0, area.bottom), (area.left - 3.0, area.top), HAIR)
    for k, text in enumerate(lines):
        number = k - 8
        if 0 <= number < len(result.wheels):
            colour = WHEEL_COLOURS[number % len(WHEEL_COLOURS)]
            line(canvas, (area.left - 2.0, y - 2.2), (area.left - 0.8, y - 2.2), Pen(1.4, colour))
        for words in wrapped(canvas, text, BODY, area.width - 2.0):
            y -= 3.6
            canvas.text((area.left, y), words, BODY)
        y -= 1.0

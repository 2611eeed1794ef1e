"""Where the metal of each line of the ladder lies: a small half-section for each, on the house's pages."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import shapely

from app.reports.blank_masses import WHEEL_COLOURS, rung_words
from app.reports.drawing import Canvas, Contour, Frame, Pen, line, wrapped
from app.reports.flow import Draw
from app.reports.look import AXLE, BODY, FIRST_LINE, HAIR, INK, LABEL, QUIET
from app.reports.page import Area
from app.studies.ladder import Rung
from app.units import LengthUnit
from geometry.shape.curve import Path

#: Pictures stand in as few columns as get them all on one page, in the most where none does.
_COLUMNS = (3, 4, 5, 6)
_APART, _WORDS, _LINE = 6.0, 19.0, 3.4
_BLANK, _METAL = Pen(0.13, QUIET), Pen(0.3, INK)
#: Metal that no wheel asks for by itself, such as fillets.
_OF_NONE = "#8C8779"
#: A wheel that asks for this share of a line or more gives it its colour.
_MOST_OF = 0.5


def metal_sheets(
    rungs: Sequence[Rung],
    blank: Path,
    held: Sequence[tuple[str, Path]],
    unit: LengthUnit,
    name: str,
    area: Area,
) -> list[Draw]:
    """Return the pages on which each line's metal is drawn in the blank's outline, wheels faint.

    Args:
        rungs: the ladder, the finished wheel first.
        blank: the outline that they lead to.
        held: name and outline of each wheel at its seat.
        unit: of lengths, which tells that of masses.
        name: of the blank.
        area: of a page.
    """
    boxes = [path.bounds for path in (blank, *(p for _, p in held))]
    boxes += [(z0, z1, r0, r1) for z0, r0, z1, r1 in (r.metal.bounds for r in rungs if r.parts)]
    low, high, top = min(b[0] for b in boxes), max(b[1] for b in boxes), max(b[3] for b in boxes)
    room = area.height - 14.0
    for columns in _COLUMNS:
        wide = (area.width - (columns - 1) * _APART) / columns
        # As wide as its column, but no higher than the page.
        scale = max((high - low) / wide, top / (room - _WORDS))
        on_page = max(int(room // (top / scale + _WORDS)), 1) * columns
        if on_page >= len(rungs):
            break
    tall = top / scale + _WORDS
    of = partial(_sheet, rungs=rungs, blank=blank, held=held, unit=unit, name=name, area=area)
    return [
        partial(of, first=first, count=on_page, columns=columns, frame=(scale, low), tall=tall)
        for first in range(0, len(rungs), on_page)
    ]


def _sheet(
    canvas: Canvas,
    *,
    rungs: Sequence[Rung],
    blank: Path,
    held: Sequence[tuple[str, Path]],
    unit: LengthUnit,
    name: str,
    area: Area,
    first: int,
    count: int,
    columns: int,
    frame: tuple[float, float],
    tall: float,
) -> None:
    scale, low = frame
    wide = (area.width - (columns - 1) * _APART) / columns
    (title,) = wrapped(canvas, f"{name}: where each line's metal lies", FIRST_LINE, area.width, 1)
    canvas.text((area.left, area.top - FIRST_LINE.size_mm), title, FIRST_LINE)
    y = area.top - FIRST_LINE.size_mm - 2.0
    line(canvas, (area.left, y), (area.right, y), HAIR)
    names = [of for of, _ in held]
    if len(held) > 1:
        says = (
            "coloured by the wheel, numbered as on the drawing, that asks for most; grey: no wheel by itself"
        )
        canvas.text((area.left, y - 3.4), says, LABEL)
    for k, rung in enumerate(rungs[first : first + count]):
        left = area.left + (k % columns) * (wide + _APART)
        foot = y - 5.0 - (k // columns) * tall - tall + _WORDS
        at_place = Frame(left - low / scale, foot, scale)
        _picture(canvas, rung, blank, [path for _, path in held], at_place)
        lines = rung_words(rungs, rung, names, unit).split("\n")
        at = foot - 1.0
        for words, style in zip(lines, (BODY, LABEL), strict=False):
            for part in wrapped(canvas, words, style, wide, 2 if style is LABEL else 3):
                at -= _LINE
                canvas.text((left, at), part, style)


def _picture(canvas: Canvas, rung: Rung, blank: Path, wheels: Sequence[Path], frame: Frame) -> None:
    """Draw one line's metal in full over the blank's outline."""
    z0, z1, _, _ = blank.bounds
    line(canvas, frame.at((z0, 0.0)), frame.at((z1, 0.0)), AXLE)
    for path in wheels:
        canvas.path([frame.contour(path)], Pen(0.1, QUIET, (0.8, 0.6)))
    canvas.path([frame.contour(blank)], _BLANK)
    rings = [_ring(frame, ring) for part in rung.parts for ring in (part.exterior, *part.interiors)]
    if rings:
        colour = _colour(rung)
        canvas.path(rings, Pen(_METAL.width_mm, colour), colour)


def _ring(frame: Frame, ring: shapely.LinearRing) -> Contour:
    return Contour.polyline([frame.at((float(z), float(r))) for z, r in ring.coords[:-1]], closed=True)


def _colour(rung: Rung) -> str:
    most = max(range(len(rung.wheels_kg)), key=lambda k: rung.wheels_kg[k], default=-1)
    if most < 0 or rung.wheels_kg[most] < _MOST_OF * sum(rung.wheels_kg) or sum(rung.wheels_kg) <= 0.0:
        return _OF_NONE
    return WHEEL_COLOURS[most % len(WHEEL_COLOURS)]

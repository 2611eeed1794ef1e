"""The half-section filled with the stress of a case: bands, their scale, and the places that are read."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise

import numpy as np
import shapely

from app.reports.drawing import (
    Anchor,
    Canvas,
    Contour,
    Frame,
    Pen,
    Point,
    Type,
    fitting,
    hatch,
    line,
    wrapped,
)
from app.reports.flow import Draw
from app.reports.look import AXLE, BODY, BODY_BOLD, COLOURS, HAIR, INK, OUTLINE, QUIET, SMALL
from app.reports.numbers import Numbers
from app.reports.page import Area
from app.reports.strength_bands import SCALE, Field, Loop, border, elements_of, greatest, levels
from app.reports.strength_words import (
    Cell,
    Verdict,
    cell,
    held_words,
    levels_words,
    load_words,
    place,
    zones_of,
)
from app.studies.strength.run import Screening
from geometry.readings.rules import State
from geometry.shape.curve import Flags
from geometry.shape.section import ZONES
from geometry.strength.loads import EXERCISED, TestLoad

_SCALES = (2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0)
#: Pictures on a page, side by side.
ACROSS = 2
_GAP, _BAR, _ROW, _WORDS = 7.0, 18.5, 3.4, 17.0
_EDGE = Pen(0.08, INK)
_LEFT_OUT, _LEFT_OUT_PEN = "#E9E7E1", Pen(0.1, "#8C8880")
_MARK = Pen(0.2, INK)


@dataclass(frozen=True, eq=False)
class Picture:
    """One case of one wheel, ready to be drawn.

    Attributes:
        left_out: borders of the metal whose zones the case does not exercise.
        levels: bounds between the bands, MPa. like: other cases that are the same picture times a share.
        cells: of the zones that are exercised, worst first.
    """

    found: Screening
    case: TestLoad
    field: Field
    left_out: tuple[Loop, ...]
    levels: tuple[float, ...]
    like: tuple[str, ...]
    cells: tuple[Cell, ...]


def pictures(found: Screening, against: Screening | None) -> list[Picture]:
    """Return the pictures of all cases that were solved; those of a reference follow their own case.

    Cases of one clamp under a moment differ by a share alone and are drawn once, both wheels on one scale.
    """
    wheels = [found] if against is None else [found, against]
    out: list[Picture] = []
    drawn: dict[str, TestLoad] = {}
    for case in found.cases:
        if case.name not in found.solved:
            continue
        if case.moment_nm is not None:
            if case.clamp.value in drawn:
                continue
            drawn[case.clamp.value] = case
        made = []
        for wheel in wheels:
            own = next((c for c in wheel.cases if c.name == case.name and c.name in wheel.solved), None)
            if own is not None:
                made.append((wheel, own, *_field(wheel, own)))
        scale = levels([m[2] for m in made], [m[4] for m in made])
        for wheel, own, field, left_out, _ in made:
            read = [cell(wheel, own, zone) for zone in zones_of(wheel)]
            read = [c for c in read if c.row is not None and c.verdict is not Verdict.NOT_EXERCISED]
            read.sort(key=lambda c: -(c.row.use or 0.0) if c.row else 0.0)
            out.append(Picture(wheel, own, field, left_out, scale, _like(wheel, own), tuple(read)))
    return out


def _field(found: Screening, case: TestLoad) -> tuple[Field, tuple[Loop, ...], Flags]:
    """Return the field of a case, the metal it leaves out, and the nodes its scale is made for."""
    solved = found.solved[case.name]
    body = solved.body
    field = greatest(body.mesh, solved.round_turn(np.arange(len(body.mesh.points))))
    silent = [z for z in ZONES if z.value not in EXERCISED[case.kind]]
    chosen = elements_of(body.mesh, body.zone_of_node, silent)
    counted = np.zeros(len(body.mesh.points), dtype=np.bool_)
    counted[np.unique(body.mesh.triangles[~chosen])] = True
    return field, tuple(border(body.mesh, chosen)), counted


def _like(found: Screening, case: TestLoad) -> tuple[str, ...]:
    if not case.moment_nm:
        return ()
    others = (c for c in found.cases if c.clamp is case.clamp and c.moment_nm and c.name != case.name)
    return tuple(f"{c.name} x {(c.moment_nm or 0.0) / case.moment_nm:.3f}" for c in others)


def picture_pages(made: Sequence[Picture], numbers: Numbers, area: Area, head: Draw) -> list[Draw]:
    """Return pages of pictures, two side by side."""
    groups = [made[k : k + ACROSS] for k in range(0, len(made), ACROSS)]
    return [partial(_page, group, numbers, area, head) for group in groups]


def _page(group: Sequence[Picture], numbers: Numbers, area: Area, head: Draw, canvas: Canvas) -> None:
    head(canvas)
    width = (area.width - _GAP * (ACROSS - 1)) / ACROSS
    places = [area.left + k * (width + _GAP) for k in range(len(group))]
    areas = [Area(left, area.bottom, left + width, area.top - 9.0) for left in places]
    scale = max(_scale(picture, one) for picture, one in zip(group, areas, strict=True))
    for picture, one in zip(group, areas, strict=True):
        draw_picture(canvas, picture, numbers, one, scale)


def _scale(picture: Picture, area: Area) -> float:
    """Return the scale at which a picture fits an area with its words and its table."""
    z0, z1, _, r1 = picture.found.ready.outline.path.bounds
    height = area.height - _WORDS - _table_height(picture) - 9.0
    fits = (s for s in _SCALES if (z1 - z0) / s <= area.width - _BAR - 2.0 and r1 / s <= height)
    return next(fits, _SCALES[-1])


def _table_height(picture: Picture) -> float:
    return 5.0 + _ROW * len(picture.cells)


def draw_picture(canvas: Canvas, picture: Picture, numbers: Numbers, area: Area, scale: float) -> None:
    """Draw one picture at a scale: its words, the half-section, the bands' key, and the table of places."""
    found, case = picture.found, picture.case
    y = area.top - BODY_BOLD.size_mm
    (name,) = wrapped(canvas, f"{case.name}: {found.ready.wheel.name}", BODY_BOLD, area.width, 1)
    canvas.text((area.left, y), name, BODY_BOLD)
    words = [f"{load_words(case)}; {levels_words(case)}; {held_words(case)}"]
    if picture.like:
        words.append(f"the same picture: {'; '.join(picture.like)}")
    for text in words:
        for part in wrapped(canvas, text, SMALL, area.width, 2):
            y -= 2.9
            canvas.text((area.left, y), part, SMALL)
    z0, z1, _, r1 = found.ready.outline.path.bounds
    top = area.top - _WORDS
    frame = Frame(area.left + 1.0 - z0 / scale, top - r1 / scale, scale)
    _section(canvas, picture, frame)
    (x0, axle), (x1, _) = frame.at((z0, 0.0)), frame.at((z1, 0.0))
    line(canvas, (x0 - 1.0, axle), (x1 + 1.0, axle), AXLE)
    canvas.text((x0 - 1.0, axle - 2.8), f"scale 1 : {scale:g}; hatched: not exercised by this test", SMALL)
    _bar(canvas, picture, Area(area.right - _BAR + 1.5, axle, area.right, top))
    _marks(canvas, picture, frame)
    _table(canvas, picture, numbers, Area(area.left, area.bottom, area.right, axle - 4.0))


def _paper(frame: Frame, loops: Sequence[Loop]) -> list[Contour]:
    return [Contour.polyline([frame.at(p) for p in loop], closed=True) for loop in loops]


def _section(canvas: Canvas, picture: Picture, frame: Frame) -> None:
    whole = frame.contour(picture.found.ready.outline.path)
    canvas.path([whole], None, SCALE[0])
    for level, colour in zip(picture.levels, SCALE[1:], strict=True):
        loops = _paper(frame, picture.field.above(level))
        if loops:
            canvas.path(loops, _EDGE, colour)
    if picture.left_out:
        silent = _paper(frame, picture.left_out)
        canvas.path(silent, None, _LEFT_OUT)
        hatch(canvas, silent, _LEFT_OUT_PEN, 1.3)
    canvas.path([whole], OUTLINE)


def _bar(canvas: Canvas, picture: Picture, area: Area) -> None:
    """Draw the scale: bands with their bounds, and where the yield strength lies."""
    canvas.text((area.left, area.top - 2.2), "MPa", SMALL)
    canvas.text((area.left, area.top - 5.0), "von Mises", SMALL)
    top = area.top - 7.5
    high = min((top - area.bottom) / len(SCALE), 7.0)
    for k, colour in enumerate(SCALE):
        box = Contour.rectangle(area.left, top - high * (len(SCALE) - k), 5.0, high)
        canvas.path([box], _EDGE, colour)
    bottom = top - high * len(SCALE)
    for k, level in enumerate(picture.levels, start=1):
        canvas.text((area.left + 6.0, bottom + high * k - 0.8), f"{level:g}", SMALL)
    limit = picture.found.ready.metal.yield_mpa
    step = picture.levels[0]
    if limit < step * len(SCALE):
        y = bottom + high * limit / step
        line(canvas, (area.left - 1.0, y), (area.left + 5.0, y), Pen(0.45, COLOURS[State.SHORT]))
        style = Type(SMALL.size_mm, True, COLOURS[State.SHORT])
        canvas.text((area.left + 11.5, y - 0.8), "yield", fitting(canvas, "yield", style, 9.5, 0.6))
    else:
        words = f"yield {limit:.0f}"
        canvas.text((area.left, bottom - 2.8), words, fitting(canvas, words, SMALL, 17.0))


def _marks(canvas: Canvas, picture: Picture, frame: Frame) -> None:
    """Draw the number of each place beside it, the worst with its stress."""
    taken: list[Point] = []
    metal = shapely.Polygon([frame.at(p) for p in picture.found.ready.outline.path.flattened(0.5).tolist()])
    shapely.prepare(metal)
    for k, one in enumerate(picture.cells, start=1):
        if one.row is None:
            continue
        at = frame.at(one.row.at)
        style = Type(2.6 if k == 1 else 2.1, True, INK)
        words = f"{one.stress} MPa" if k == 1 else ""
        wide = canvas.text_width(words, style)
        size = 2.0 if k == 1 else 1.7
        # The worst place's stress stands on the side that is away from the scale.
        side = -1.0 if at[0] > metal.envelope.centroid.x else 1.0
        reach = side * (size + 1.5 + wide) if words else 0.0
        to = _free(at, taken, metal, reach)
        taken += [(float(x), to[1]) for x in np.linspace(to[0], to[0] + reach, 12 if words else 1)]
        canvas.path([Contour.circle(at, 0.55)], _MARK, "#FFFFFF")
        line(canvas, at, to, _MARK)
        canvas.path([Contour.circle(to, size)], _MARK, "#FFFFFF")
        canvas.text((to[0], to[1] - 0.36 * style.size_mm), str(k), style, Anchor.MIDDLE)
        anchor = Anchor.LEFT if side > 0.0 else Anchor.RIGHT
        canvas.text((to[0] + side * (size + 0.8), to[1] - 0.9), words, style, anchor)


def _free(at: Point, taken: Sequence[Point], metal: shapely.Polygon, reach: float) -> Point:
    """Return where a place's number stands: off the metal, clear of the others, as near as can be.

    Args:
        at: the place on paper.
        taken: middles of what stands already.
        metal: the section on paper.
        reach: how far words go to the right of the number's middle; - to the left.
    """
    left, _, right, top = metal.bounds

    def cost(option: tuple[float, float]) -> float:
        d, turn = option
        x, y = at[0] + d * math.cos(turn), at[1] + d * math.sin(turn)
        low, high = x + min(reach, 0.0) - 2.2, x + max(reach, 0.0) + 2.2
        box = shapely.box(low, y - 2.2, high, y + 2.2)
        near = sum(abs(y - b) < 4.2 and low - 2.0 < a < high + 2.0 for a, b in taken)
        out = max(high - right - 2.5, 0.0) + max(left - 1.5 - low, 0.0) + max(y + 2.2 - top - 3.5, 0.0)
        return d + 60.0 * near + 8.0 * float(shapely.intersection(box, metal).area) + 40.0 * out

    tried = [(d, math.tau * k / 24.0) for d in (4.5, 6.5, 9.0, 12.0, 16.0, 20.0) for k in range(24)]
    d, turn = min(tried, key=cost)
    return (at[0] + d * math.cos(turn), at[1] + d * math.sin(turn))


def _table(canvas: Canvas, picture: Picture, numbers: Numbers, area: Area) -> None:
    """Draw the numbered places: zone, stress, use, life, place."""
    edges = [0.0, 6.0, 28.0, 43.0, 66.0, 86.0]
    heads = ["", "zone", "MPa", "use", "mean life", f"place, {numbers.unit}"]
    y = area.top - 3.0
    for x, end, words in zip(edges, [*edges[1:], area.width], heads, strict=True):
        canvas.text((area.left + x, y), words, fitting(canvas, words, SMALL, end - x - 1.0))
    line(canvas, (area.left, y - 1.0), (area.right, y - 1.0), HAIR)
    for k, one in enumerate(picture.cells, start=1):
        y -= _ROW
        if one.row is None:
            continue
        colour = {Verdict.OVER: COLOURS[State.SHORT], Verdict.NOT_KNOWN: COLOURS[State.NOT_KNOWN]}
        style = Type(BODY.size_mm, one.verdict in colour, colour.get(one.verdict, INK))
        texts = [str(k), one.zone.value, one.stress, one.use, one.life or "once"]
        for (x, end), words in zip(pairwise(edges), texts, strict=True):
            own = style if x == edges[3] else BODY
            canvas.text((area.left + x, y), words, fitting(canvas, words, own, end - x - 0.8))
        at = numbers.place(place(picture.found, one.row.at))
        canvas.text((area.left + edges[-1], y), at, Type(BODY.size_mm, colour=QUIET))

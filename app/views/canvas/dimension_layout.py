"""Where a dimension is drawn: lines, arrowheads and the box of its number, in logical pixels, y down.

After ISO 129-1: thin extension and dimension lines, filled arrowheads, a radius with R, reference dimensions
in parentheses. Numbers are upright and interrupt their line, so that all are read, and clicked, from below.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF
from PySide6.QtGui import QPolygonF

from app.language import tr
from app.reports.numbers import Numbers
from app.session.dimensions import Dimension, Measure, Way
from app.units import LengthUnit, format_angle
from app.views.canvas.dimension_lines import (
    HEAD_PX,
    Pixels,
    box_about,
    direction,
    extension_lines,
    extent,
    head,
    interrupted,
    line_between,
    rect,
    rows,
    with_line,
)
from app.views.canvas.placing import Box, Boxes
from geometry.shape.boxes import shared
from geometry.shape.curve import Array

#: A dimension shorter than this on the screen is not drawn.
LEAST_PX = 12.0
#: First dimension line off the outline, and from one to the next.
_OFF_PX, _STEP_PX = 15.0, 17.0
#: Legs of an angle, and of a line outside its extension lines.
_ARC_PX, _TAIL_PX = 34.0, 18.0
_ROWS = 6
#: Leaders of a radius are so long.
_REACHES_PX = (14.0, 26.0, 44.0, 66.0)
#: A dimension of the whole wheel is drawn while what it measures is in view, or no farther out of it.
_NEAR_PX = 40.0
#: A number that hides more than this share of itself behind other words is not drawn.
_MOST_HIDDEN = 0.35
#: A row farther off, and a place outside the room, in square pixels of what is hidden.
_ROW_COST, _OUTSIDE_COST, _HANDLE_COST = 60.0, 8.0, 20_000.0


def _row_cost(row: int) -> float:
    """Return what a row of dimension lines costs: rows 0 to 5 lie outwards, the others on the other side."""
    other_side, k = divmod(row, _ROWS)
    return (k + 2.5 * other_side) * _ROW_COST


def _leader_cost(row: int) -> float:
    """Return what a leader of a radius costs: the first ones lie outside the corner, the others inside."""
    inside, k = divmod(row, len(_REACHES_PX))
    return (k + 1.5 * inside) * _ROW_COST


#: Rows, and leaders, by rising cost.
_BOTH_SIDES = tuple(sorted(range(2 * _ROWS), key=_row_cost))
_LEADERS = tuple(sorted(range(2 * len(_REACHES_PX)), key=_leader_cost))

#: Directions of dimension lines on the screen, as x + iy; others run from place to place.
_ALONG = {Way.Z: 1.0 + 0.0j, Way.R: -1.0j}

#: Words before the number of dimensions that are known by name and not by their ends.
_WORDS = {
    Measure.INSET: tr("inset"),
    Measure.BACKSPACE: tr("backspace"),
    Measure.WIDTH: tr("width"),
    Measure.OVERALL: tr("overall"),
    Measure.HUB_FACE: tr("hub"),
    Measure.WALL: tr("wall"),
}


def number(dimension: Dimension, unit: LengthUnit) -> str:
    """Return a dimension's number without a unit, with the digits that what it measures is worth."""
    if dimension.is_angle:
        return format_angle(dimension.value)
    return Numbers(unit).length(dimension.value, dimension.grade).replace("-", "−")


def text(dimension: Dimension, unit: LengthUnit) -> str:
    """Return what is written on the drawing; a reference dimension stands in parentheses (ISO 129-1)."""
    words = f"R {number(dimension, unit)}" if dimension.way is Way.RADIUS else number(dimension, unit)
    words = words if dimension.drives else f"({words})"
    before = _WORDS.get(dimension.wanted.measure, "")
    return f"{before} {words}" if before else words


@dataclass
class Laid:
    """One dimension on the screen.

    Attributes:
        edges: left, top, right and bottom of its number's box.
        whole: the same of the number with its line, where that runs along an axis.
        arc: box, start and sweep in 1/16 degree as the painter counts, of an angle's line.
        row: which place was taken, to be handed back next time.
        is_free: nothing was hidden, and no other line crossed, where it was put.
    """

    dimension: Dimension
    text: str
    edges: Pixels
    whole: Box
    lines: list[QLineF] = field(default_factory=list)
    heads: list[QPolygonF] = field(default_factory=list)
    arc: tuple[QRectF, int, int] | None = None
    row: int = 0
    is_free: bool = False

    @cached_property
    def box(self) -> QRectF:
        """The box of its number; it takes the clicks."""
        return rect(self.edges)


@dataclass
class _Way:
    """One way to draw a dimension: where its number stands, and how its lines are made."""

    box: Pixels
    draw: Callable[[Laid], None]
    cost: float
    whole: Box


class Layout:
    """Places dimensions one after the other, so that none hides words, handles or another's number.

    Args:
        to_pixels: from (z, r) to the screen.
        room: what may be drawn on.
        taken: (m, 4) boxes of words; handles: (m, 4) boxes of handles; left, top, right, bottom.
        size_of: width and height of a text.
        came: (m, 4) those boxes of words and handles that did not stand there when `last` was laid; all of
            them without one.
    """

    def __init__(
        self,
        to_pixels: Callable[[float, float], QPointF],
        room: QRectF,
        taken: Array,
        handles: Array,
        size_of: Callable[[str], tuple[float, float]],
        came: Array,
    ) -> None:
        self._to_pixels, self._size = to_pixels, size_of
        self._room = room.left(), room.top(), room.right(), room.bottom()
        self._taken, self._handles = taken, handles
        self._hidden = Boxes(np.concatenate([taken, handles]))  # and the numbers that were put
        self._came = Boxes(came)  # and the numbers that are put anywhere else than last time
        self._lines_came = Boxes()
        self._lines = Boxes()  # of dimensions along an axis, with their numbers

    def lay(self, dimensions: Sequence[Dimension], unit: LengthUnit, last: Sequence[Laid]) -> list[Laid]:
        """Return those that have room, in order of `dimensions`.

        One that stood free last time, by `last`, stays where it is: nothing jumps while a vertex is dragged,
        and what does not change costs nothing.
        """
        result = []
        stood = {id(laid.dimension.wanted): laid for laid in last}  # of one dimension it is one object
        for dimension in dimensions:
            before = stood.get(id(dimension.wanted))
            laid = self._again(dimension, unit, before)
            if laid is None:
                laid = self._anew(dimension, unit)
            if laid is not None:
                result.append(laid)
                self._hidden.added.append(laid.edges)
                self._lines.added.append(laid.whole)
                if laid is not before:
                    self._came.added.append(laid.edges)
                    self._lines_came.added.append(laid.whole)
        return result

    def _again(self, dimension: Dimension, unit: LengthUnit, before: Laid | None) -> Laid | None:
        """Return a dimension in the row where it stood, while that is free."""
        if before is None:
            return None
        if before.is_free and (before.dimension is dimension or before.dimension == dimension):
            # What stood there last time left it free.
            came = self._came.meets(before.edges) or self._lines_came.meets(before.whole)
            return None if came else before
        words = text(dimension, unit)
        for row, way in self._ways(dimension, self._size(words), before.row):
            if row == before.row:
                free = self._is_free(way)
                return self._drawn(dimension, words, row, way, is_free=True) if free else None
        return None

    def _anew(self, dimension: Dimension, unit: LengthUnit) -> Laid | None:
        """Return a dimension where it hides least; None where it hides too much, or is too small."""
        words = text(dimension, unit)
        ways: dict[int, _Way] = {}
        for row, way in self._ways(dimension, self._size(words)):
            if self._is_free(way):  # those that follow cost as much, or more
                return self._drawn(dimension, words, row, way, is_free=True)
            ways[row] = way
        if not ways:
            return None
        row, hidden = self._best(ways)
        way = ways[row]
        left, top, right, bottom = way.box
        if hidden > _MOST_HIDDEN * (right - left) * (bottom - top):
            return None
        return self._drawn(dimension, words, row, way, is_free=False)

    def _drawn(self, dimension: Dimension, words: str, row: int, way: _Way, *, is_free: bool) -> Laid:
        laid = Laid(dimension, words, way.box, way.whole, row=row, is_free=is_free)
        way.draw(laid)
        return laid

    def _is_free(self, way: _Way) -> bool:
        """True where a number hides no word and no handle, and its line crosses no other."""
        left, top, right, bottom = way.box
        room = self._room
        return (
            room[0] <= left
            and room[1] <= top
            and right <= room[2]
            and bottom <= room[3]
            and not self._hidden.meets(way.box)
            and not self._lines.meets(way.whole)
        )

    def _best(self, ways: dict[int, _Way]) -> tuple[int, float]:
        """Return the row of the way that hides least, and what it hides of words, in square pixels."""
        boxes = np.array([way.box for way in ways.values()])
        hidden = shared(boxes, np.concatenate([self._taken, rows(self._hidden.added)]))[:, 0]
        inside = shared(boxes, np.array([self._room]))[:, 0]
        outside = (boxes[:, 2] - boxes[:, 0]) * (boxes[:, 3] - boxes[:, 1]) - inside
        wholes = np.array([way.whole for way in ways.values()])
        crossed = shared(wholes, rows(self._lines.added))[:, 0]
        on_handles = shared(boxes, self._handles)[:, 1]
        farther = np.array([way.cost for way in ways.values()])
        cost = hidden + crossed + _OUTSIDE_COST * outside + _HANDLE_COST * on_handles + farther
        best = int(np.argmin(cost))
        return list(ways)[best], float(hidden[best] + outside[best])

    def _ways(
        self, dimension: Dimension, size: tuple[float, float], only: int | None = None
    ) -> Iterator[tuple[int, _Way]]:
        """Yield ways to draw a dimension with their rows, by rising cost; with `only` that row at least."""
        match dimension.way:
            case Way.RADIUS:
                return self._radius(dimension, size, only)
            case Way.ANGLE:
                return self._angle(dimension, size, only)
            case Way.STRAIGHT if dimension.wanted.measure is Measure.WALL:
                return self._on_the_spot(dimension, size)
            case _:
                return self._linear(dimension, size, only)

    def _linear(
        self, dimension: Dimension, size: tuple[float, float], only: int | None
    ) -> Iterator[tuple[int, _Way]]:
        """Rows of dimension lines beside the two places, first on the better side."""
        a, b = self._at(dimension.a), self._at(dimension.b)
        along = _ALONG.get(dimension.way) or direction(b - a)
        turn = along.conjugate()  # into a frame where the line runs along the real axis
        p, q = a * turn, b * turn
        drawn_from = dimension.drawn_from
        if q.real < p.real:
            a, b, p, q = b, a, q, p
            drawn_from = drawn_from[::-1]
        if q.real - p.real < LEAST_PX or not (self._shows(a, along) and self._shows(b, along)):
            return
        of_wheel = dimension.wanted.measure.is_of_wheel
        if of_wheel and not (self._holds(a, _NEAR_PX) and self._holds(b, _NEAR_PX)):
            return  # it would stand far from what it measures
        outwards = 1.0 if (complex(dimension.out[0], -dimension.out[1]) * turn).imag >= 0.0 else -1.0
        for row in (range(_ROWS) if of_wheel else _BOTH_SIDES) if only is None else (only // 2,):
            other_side, k = divmod(row, _ROWS)
            side = -outwards if other_side else outwards
            across = along * (1.0j * side)
            first = self._kept(max(p.imag * side, q.imag * side) + _OFF_PX, across)
            level = first + k * _STEP_PX
            if of_wheel and level > self._edge(across):
                level = self._edge(across) - (k + 1) * _STEP_PX
            ends = complex(p.real, level * side) * along, complex(q.real, level * side) * along
            cost = _row_cost(row)
            for j, way in enumerate(self._spans((a, b), ends, along, size, drawn_from, cost)):
                yield 2 * row + j, way

    def _spans(
        self,
        places: tuple[complex, complex],
        ends: tuple[complex, complex],
        along: complex,
        size: tuple[float, float],
        drawn_from: tuple[bool, bool],
        cost: float,
    ) -> list[_Way]:
        """The number in its line; where there is no room, beyond one end with the arrows from outside."""
        a, b = ends
        length, need = abs(b - a), extent(size, along)

        def draw_inside(laid: Laid) -> None:
            laid.lines += extension_lines(places, ends, drawn_from) + interrupted(a, b, laid.edges)
            laid.heads += [head(a, -along), head(b, along)]

        def draw_outside(laid: Laid) -> None:
            tail = along * _TAIL_PX
            laid.lines += extension_lines(places, ends, drawn_from)
            laid.lines += [line_between(a - tail, a), line_between(a, b), line_between(b, b + tail)]
            laid.heads += [head(a, along), head(b, -along)]

        if length >= need + 2.0 * HEAD_PX + 6.0:
            middle = box_about((a + b) / 2.0, size)
            return [_Way(middle, draw_inside, cost, with_line(middle, a, b))]
        beyond = along * (_TAIL_PX + need / 2.0 + 2.0)
        after, before = box_about(b + beyond, size), box_about(a - beyond, size)
        return [
            _Way(after, draw_outside, cost, with_line(after, a, b)),
            _Way(before, draw_outside, cost + _ROW_COST / 2.0, with_line(before, a, b)),
        ]

    def _on_the_spot(self, dimension: Dimension, size: tuple[float, float]) -> Iterator[tuple[int, _Way]]:
        """A wall: arrows to both skins where it is measured, its number beside."""
        a, b = self._at(dimension.a), self._at(dimension.b)
        along = direction(b - a)
        if abs(b - a) >= LEAST_PX / 3.0 and self._holds(a) and self._holds(b):
            yield from enumerate(self._spans((a, b), (a, b), along, size, (False, False), 0.0))

    def _radius(
        self, dimension: Dimension, size: tuple[float, float], only: int | None
    ) -> Iterator[tuple[int, _Way]]:
        """A leader with its arrowhead on the arc, from outside the corner or from inside."""
        middle, centre = self._at(dimension.a), self._at(dimension.b)
        away = direction(middle - centre)
        if abs(middle - centre) < LEAST_PX / 4.0 or not self._holds(middle):
            return
        for row in _LEADERS if only is None else (only,):
            side, k = divmod(row, len(_REACHES_PX))
            out = away if side == 0 else -away
            foot = middle + out * _REACHES_PX[k]
            box = box_about(foot + out * (extent(size, out) / 2.0 + 2.0), size)

            def draw(laid: Laid, foot: complex = foot, out: complex = out) -> None:
                laid.lines.append(line_between(foot, middle))
                laid.heads.append(head(middle, -out))

            yield row, _Way(box, draw, _leader_cost(row), box)

    def _angle(
        self, dimension: Dimension, size: tuple[float, float], only: int | None
    ) -> Iterator[tuple[int, _Way]]:
        """An arc about the vertex from leg to leg, its number beyond the middle."""
        at, a, b = (self._at(place) for place in (dimension.at, dimension.a, dimension.b))
        legs = (a - at, b - at)
        shortest = min(map(abs, legs))
        if shortest < LEAST_PX or not self._holds(at):
            return
        first, second = (math.atan2(-leg.imag, leg.real) for leg in legs)
        sweep = (second - first + math.pi) % math.tau - math.pi
        middle = first + sweep / 2.0
        for k in range(4) if only is None else (only,):
            radius = min(_ARC_PX + 14.0 * k, max(shortest, 2.0 * LEAST_PX))
            way = complex(math.cos(middle), -math.sin(middle))
            box = box_about(at + way * (radius + 4.0 + extent(size, way) / 2.0), size)

            def draw(laid: Laid, radius: float = radius) -> None:
                square = QRectF(at.real - radius, at.imag - radius, 2.0 * radius, 2.0 * radius)
                laid.arc = square, round(math.degrees(first) * 16), round(math.degrees(sweep) * 16)
                for angle, turn in ((first, sweep), (second, -sweep)):
                    tip = at + complex(math.cos(angle), -math.sin(angle)) * radius
                    tangent = complex(-math.sin(angle), -math.cos(angle)) * -math.copysign(1.0, turn)
                    laid.heads.append(head(tip, tangent))

            yield k, _Way(box, draw, k * _ROW_COST, box)

    def _at(self, place: tuple[float, float]) -> complex:
        """Return where a place (z, r) lies on the screen, as x + iy: sums and turns are plain arithmetic."""
        at = self._to_pixels(*place)
        return complex(at.x(), at.y())

    def _holds(self, at: complex, more_px: float = 0.0) -> bool:
        """True where a place lies in the room, or no farther above or below it."""
        left, top, right, bottom = self._room
        return left <= at.real <= right and top - more_px <= at.imag <= bottom + more_px

    def _shows(self, at: complex, along: complex) -> bool:
        """True where an end lies in the room, as far as its own direction tells."""
        left, top, right, bottom = self._room
        if abs(along.imag) < 1e-9:
            return left <= at.real <= right
        if abs(along.real) < 1e-9:
            return top <= at.imag <= bottom
        return self._holds(at)

    def _edge(self, side: complex) -> float:
        """Return how far the room reaches to a side that is up, down, left or right; else without end."""
        left, top, right, bottom = self._room
        if abs(side.real) < 1e-9:
            return bottom if side.imag > 0.0 else -top
        if abs(side.imag) < 1e-9:
            return right if side.real > 0.0 else -left
        return math.inf

    def _kept(self, level: float, side: complex) -> float:
        """Return the level of a first row in the room, also where the outline's edge is out of it."""
        return max(level, -self._edge(-side) + _OFF_PX) if math.isfinite(self._edge(side)) else level

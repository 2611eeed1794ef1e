"""One small drawing interface for page, file and screen.

A `Canvas` takes paths and text; hatch, arrow, datum and dimension are made of these here, once.

Places are mm on paper, x to the right and y up. Lines and arcs stay exact: arcs are handed on with their
bulge, and `curves` gives them as cubic Bezier pieces within 0.002 mm on any sheet.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from itertools import pairwise
from typing import Protocol

import numpy as np

from app.language import spoken
from geometry.shape.curve import Path

Point = tuple[float, float]

#: A Bezier piece spans at most this: at 1/8 turn its greatest radial error is 4e-6 of the radius.
_LARGEST_PIECE_RAD = math.pi / 4.0

#: Capital letters of the shipped font are this part of the em high, and letters hang this far below the line.
CAP_HEIGHT = 0.73
DESCENT = 0.24


@dataclass(frozen=True)
class Pen:
    """A line: width in mm, colour as #RRGGBB, dashes and gaps in mm (none for a full line)."""

    width_mm: float = 0.18
    colour: str = "#23262B"
    dash_mm: tuple[float, ...] = ()


@dataclass(frozen=True)
class Type:
    """Lettering: em height in mm, weight and colour."""

    size_mm: float = 2.5
    bold: bool = False
    colour: str = "#23262B"


_KEPT = "\u00a0"
_HELD = re.compile(rf"[^\s{_KEPT}]+(?:{_KEPT}[^\s{_KEPT}]+)+")


class Said(str):
    """Words that are in the language of the page already; a canvas translates no others."""

    __slots__ = ()


def said(words: str) -> Said:
    """Return words in the language of the page; what a no-break space holds together stays so."""
    if isinstance(words, Said):
        return words
    if _KEPT not in words:
        return Said(spoken(words))
    plain = words.replace(_KEPT, " ")
    found = spoken(plain)
    if found == plain:
        return Said(words)
    for held in {piece.group() for piece in _HELD.finditer(words)}:
        found = found.replace(held.replace(_KEPT, " "), held)
    return Said(found)


class Anchor(Enum):
    """Which point of a text's baseline is placed."""

    LEFT = 0.0
    MIDDLE = 0.5
    RIGHT = 1.0


@dataclass(frozen=True)
class Contour:
    """A chain of lines and arcs on paper; `bulges[i]` belongs to the edge that leaves `points[i]`."""

    points: tuple[Point, ...]
    bulges: tuple[float, ...]
    closed: bool = True

    @staticmethod
    def polyline(points: Sequence[Point], closed: bool = False) -> Contour:
        """Return straight edges through the points."""
        return Contour(tuple(points), (0.0,) * len(points), closed)

    @staticmethod
    def circle(centre: Point, radius: float) -> Contour:
        """Return a circle as two half arcs."""
        x, y = centre
        return Contour(((x - radius, y), (x + radius, y)), (1.0, 1.0))

    @staticmethod
    def rectangle(x: float, y: float, width: float, height: float) -> Contour:
        """Return a rectangle by its lower left corner."""
        return Contour.polyline(
            [(x, y), (x + width, y), (x + width, y + height), (x, y + height)], closed=True
        )

    def edges(self) -> Iterator[tuple[Point, Point, float]]:
        """Yield start, end and bulge of each edge."""
        count = len(self.points) if self.closed else len(self.points) - 1
        for i in range(count):
            yield self.points[i], self.points[(i + 1) % len(self.points)], self.bulges[i]


class Canvas(Protocol):
    """What can be drawn on; words are written, and measured, in the language of the page (`said`)."""

    def path(self, contours: Sequence[Contour], pen: Pen | None, fill: str | None = None) -> None:
        """Draw contours as one area (even-odd): filled first, then stroked."""

    def text(
        self, at: Point, words: str, style: Type, anchor: Anchor = Anchor.LEFT, turned: bool = False
    ) -> None:
        """Write words with a point of their baseline at `at`; turned reads from below."""

    def text_width(self, words: str, style: Type) -> float:
        """Return the width of the words, mm."""


@dataclass(frozen=True)
class Frame:
    """Half-plane (z, r) in mm on paper: x = x0 + z / scale, y = y0 + r / scale, equal in both directions."""

    x0: float
    y0: float
    scale: float

    def at(self, place: Point) -> Point:
        """Return the paper place of (z, r)."""
        return (self.x0 + place[0] / self.scale, self.y0 + place[1] / self.scale)

    def contour(self, path: Path) -> Contour:
        """Return a closed exact path on paper; bulges do not change with the scale."""
        points = tuple(self.at((float(z), float(r))) for z, r in path.points)
        return Contour(points, tuple(float(b) for b in path.bulges))


Curve = tuple[Point, Point, Point]


def curves(start: Point, end: Point, bulge: float) -> list[Curve]:
    """Return an arc as cubic Bezier pieces: two control points and the end of each.

    The sweep is 4 atan(bulge); a piece of angle a has handles of 4/3 tan(a/4) radii along its tangents.
    """
    sweep = 4.0 * math.atan(bulge)
    count = max(1, math.ceil(abs(sweep) / _LARGEST_PIECE_RAD))
    (xs, ys), (xe, ye) = start, end
    lift = (1.0 - bulge * bulge) / (4.0 * bulge)
    cx, cy = (xs + xe) / 2.0 - (ye - ys) * lift, (ys + ye) / 2.0 + (xe - xs) * lift
    step = sweep / count
    handle = 4.0 / 3.0 * math.tan(step / 4.0)
    dx, dy = xs - cx, ys - cy
    found: list[Curve] = []
    for i in range(count):
        nx, ny = dx * math.cos(step) - dy * math.sin(step), dx * math.sin(step) + dy * math.cos(step)
        first = (cx + dx - handle * dy, cy + dy + handle * dx)
        second = (cx + nx + handle * ny, cy + ny - handle * nx)
        found.append((first, second, end if i == count - 1 else (cx + nx, cy + ny)))
        dx, dy = nx, ny
    return found


def line(canvas: Canvas, start: Point, end: Point, pen: Pen) -> None:
    """Draw a straight line."""
    canvas.path([Contour.polyline([start, end])], pen)


def hatch(
    canvas: Canvas, contours: Sequence[Contour], pen: Pen, spacing_mm: float, angle_deg: float = 45.0
) -> None:
    """Hatch an area (even-odd) with parallel lines; lines of equal spacing and angle meet across areas."""
    turn = math.radians(angle_deg)
    along = np.array([math.cos(turn), math.sin(turn)])
    across = np.array([-along[1], along[0]])
    starts, ends = _chords(contours)
    if not len(starts):
        return
    u0, v0, u1, v1 = starts @ along, starts @ across, ends @ along, ends @ across
    low, high = float(min(v0.min(), v1.min())), float(max(v0.max(), v1.max()))
    strokes: list[Contour] = []
    for k in range(math.ceil(low / spacing_mm), math.floor(high / spacing_mm) + 1):
        v = k * spacing_mm
        crossed = (v0 <= v) != (v1 <= v)
        share = (v - v0[crossed]) / (v1[crossed] - v0[crossed])
        u = np.sort(u0[crossed] + share * (u1[crossed] - u0[crossed]))
        for first, last in zip(u[0::2], u[1::2], strict=True):
            p, q = first * along + v * across, last * along + v * across
            strokes.append(Contour.polyline([(float(p[0]), float(p[1])), (float(q[0]), float(q[1]))]))
    canvas.path(strokes, pen)


def _chords(contours: Sequence[Contour]) -> tuple[np.ndarray, np.ndarray]:
    """Return starts and ends (n, 2) of all edges, arcs as chords within 0.01 mm."""
    found: list[tuple[Point, Point]] = []
    for contour in contours:
        for start, end, bulge in contour.edges():
            found += [(start, end)] if bulge == 0.0 else _chords_of_arc(start, end, bulge)
    array = np.array(found, dtype=float).reshape(-1, 2, 2)
    return array[:, 0], array[:, 1]


def _chords_of_arc(start: Point, end: Point, bulge: float) -> list[tuple[Point, Point]]:
    path = Path(np.array([start, end]), np.array([bulge, 0.0]))
    radius, sweep = float(path.radii[0]), abs(float(path.sweeps[0]))
    if radius <= 0.01:
        return [(start, end)]
    count = max(1, math.ceil(sweep / (2.0 * math.acos(max(1.0 - 0.01 / radius, 0.5)))))
    at = path.at(np.zeros(count + 1, dtype=np.intp), np.linspace(0.0, 1.0, count + 1))
    places = [(float(x), float(y)) for x, y in at]
    return list(pairwise(places))


def arrow(canvas: Canvas, tip: Point, towards: Point, colour: str, length_mm: float = 2.0) -> None:
    """Draw a filled arrow head with its tip at `tip`, seen as coming from `towards`; 1:6 slender."""
    d = math.dist(tip, towards)
    ux, uy = (towards[0] - tip[0]) / d, (towards[1] - tip[1]) / d
    bx, by, half = tip[0] + ux * length_mm, tip[1] + uy * length_mm, length_mm / 6.0
    head = [tip, (bx - uy * half, by + ux * half), (bx + uy * half, by - ux * half)]
    canvas.path([Contour.polyline(head, closed=True)], None, colour)


def datum(canvas: Canvas, at: Point, away: Point, letter: str, pen: Pen) -> None:
    """Draw a datum: a filled triangle on the feature, and its letter boxed in the direction `away`."""
    side, stem, box = 2.6, 2.2, 4.2
    ax, ay = away
    tip = (at[0] + ax * side * 0.87, at[1] + ay * side * 0.87)
    foot = [(at[0] - ay * side / 2, at[1] + ax * side / 2), (at[0] + ay * side / 2, at[1] - ax * side / 2)]
    canvas.path([Contour.polyline([*foot, tip], closed=True)], None, pen.colour)
    end = (tip[0] + ax * stem, tip[1] + ay * stem)
    line(canvas, tip, end, pen)
    centre = (end[0] + ax * box / 2, end[1] + ay * box / 2)
    canvas.path([Contour.rectangle(centre[0] - box / 2, centre[1] - box / 2, box, box)], pen, "#FFFFFF")
    style = Type(2.9, bold=True, colour=pen.colour)
    canvas.text((centre[0], centre[1] - style.size_mm * CAP_HEIGHT / 2), letter, style, Anchor.MIDDLE)


@dataclass(frozen=True)
class Span:
    """A horizontal dimension: between two x, with its words."""

    low: float
    high: float
    words: str


def span_extent(canvas: Canvas, span: Span, style: Type) -> tuple[float, float]:
    """Return the least and greatest x that a dimension covers, words and outside arrows included."""
    width = canvas.text_width(span.words, style)
    if width + 5.0 <= span.high - span.low:
        return span.low, span.high
    return span.low - 4.5, span.high + 5.5 + width


def dimension(canvas: Canvas, span: Span, y: float, style: Type, pen: Pen) -> None:
    """Draw a horizontal dimension with its words above the line, or outside where they do not fit."""
    low, high = span_extent(canvas, span, style)
    lift = style.size_mm * 0.3
    if (low, high) == (span.low, span.high):
        line(canvas, (span.low, y), (span.high, y), pen)
        arrow(canvas, (span.low, y), (span.high, y), pen.colour)
        arrow(canvas, (span.high, y), (span.low, y), pen.colour)
        middle, half = (span.low + span.high) / 2, canvas.text_width(span.words, style) / 2 + 0.8
        # Lines that pass behind the words are broken there.
        canvas.path(
            [Contour.rectangle(middle - half, y + 0.2, 2 * half, style.size_mm + 0.3)], None, "#FFFFFF"
        )
        canvas.text((middle, y + lift), span.words, style, Anchor.MIDDLE)
        return
    line(canvas, (low, y), (high, y), pen)
    arrow(canvas, (span.low, y), (low, y), pen.colour)
    arrow(canvas, (span.high, y), (high, y), pen.colour)
    canvas.text((span.high + 4.5, y + lift), span.words, style)


def fitting(canvas: Canvas, words: str, style: Type, width: float, least: float = 0.7) -> Type:
    """Return lettering in which words fit into `width`: `style`, or smaller, down to a share of `least`."""
    wide = canvas.text_width(words, style)
    share = 1.0 if wide <= width else max(least, width / wide)
    return style if share == 1.0 else replace(style, size_mm=share * style.size_mm)


def wrapped(canvas: Canvas, words: str, style: Type, width: float, most: int | None = None) -> list[str]:
    """Return the words, in the language of the page, in lines no wider than `width`.

    A word that is too long is broken.

    A no-break space holds its neighbours together and is drawn as a space. Where there are more than `most`
    lines, the last one kept ends in an ellipsis.
    """
    lines: list[str] = []
    for paragraph in said(words).split("\n"):
        current = ""
        for word in (w.replace("\u00a0", " ") for w in re.split(r"[ \t]+", paragraph.strip(" \t"))):
            joined = f"{current} {word}" if current else word
            if canvas.text_width(Said(joined), style) <= width:
                current = joined
                continue
            if current:
                lines.append(current)
            *full, current = _broken(canvas, word, style, width)
            lines += full
        lines.append(current)
    if most is not None and len(lines) > most:
        last = lines[most - 1]
        while last and canvas.text_width(Said(last + "…"), style) > width:
            last = last[:-1]
        lines = [*lines[: most - 1], last.rstrip() + "…"]
    return [Said(text) for text in lines]


def _broken(canvas: Canvas, word: str, style: Type, width: float) -> list[str]:
    parts, current = [], ""
    for letter in word:
        if current and canvas.text_width(Said(current + letter), style) > width:
            parts.append(current)
            current = ""
        current += letter
    return [*parts, current]

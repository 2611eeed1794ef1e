"""What one SVG shape draws: path data and basic shapes as lines, arcs and curves in absolute coordinates.

Source: the SVG recommendation of the W3C, chapters "Paths" and "Basic shapes", and its implementation notes
on elliptical arcs.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from itertools import pairwise
from typing import NamedTuple

from app.files.readers.answer import ReadError, plain
from app.files.readers.curves import fitted
from app.files.readers.limits import DRAWING, LARGEST_COORDINATE
from app.files.readers.pieces import Piece, Point, bulged
from app.files.readers.placing import Placing

# Each pattern has one way to match, so that no run of blanks is tried twice.
_GAP = r"[ \t\r\n\f]*(?:,[ \t\r\n\f]*)?"
_NUMBER = re.compile(_GAP + r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)")
_FLAG = re.compile(_GAP + r"([01])")
_COMMAND = re.compile(r"[ \t\r\n\f]*([MmZzLlHhVvCcSsQqTtAa])")
_END = re.compile(_GAP + r"$")

#: How many numbers each command takes; an arc's flags are read by themselves.
_COUNTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}

#: Controls of a curve this near its chord, as a share of the chord, make it a straight line.
_STRAIGHT = 1e-9

#: Steps of a curve's parameter in which its slowest place is looked for; there are three at most.
_STEPS = 16

#: A radius below this is none; arithmetic with it would overflow.
_NO_RADIUS = 1e-100
#: An arc that misses half its ellipse by no more than rounding is half of it.
_HALF_CIRCLE = 1e-15


class Line(NamedTuple):
    """A straight line to a place."""

    end: Point


class Curve(NamedTuple):
    """A Bezier curve over one or two controls to a place."""

    controls: tuple[Point, ...]
    end: Point


class Arc(NamedTuple):
    """Part of an ellipse to a place: its radii, its turn, and which of the four arcs is meant."""

    radii: Point
    turn_deg: float
    is_large: bool
    is_positive: bool
    end: Point


Segment = Line | Curve | Arc


@dataclass
class Subpath:
    """A run of segments from a place; closed ones return to it."""

    start: Point
    segments: list[Segment] = field(default_factory=list)
    is_closed: bool = False


# Path data


class _Scanner:
    """Takes numbers, flags and commands off the front of path data."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.taken = 0

    def _take(self, pattern: re.Pattern[str]) -> str | None:
        found = pattern.match(self.text, self.at)
        if found is None:
            return None
        self.at = found.end()
        return found[1]

    def command(self) -> str | None:
        return self._take(_COMMAND)

    def numbers(self, letter: str) -> list[float]:
        """Return the numbers of one command."""
        values: list[float] = []
        for k in range(_COUNTS[letter]):
            value = self._take(_FLAG if letter == "A" and k in (3, 4) else _NUMBER)
            if value is None:
                self.refuse("a number is missing")
            else:
                values.append(bounded(float(value)))
        self.taken += 1
        if self.taken > DRAWING.points:
            raise ReadError(f"a path has more than {DRAWING.points} points; export the outline alone")
        return values

    def more(self) -> bool:
        return _NUMBER.match(self.text, self.at) is not None

    def refuse(self, why: str) -> None:
        near = plain(self.text[max(self.at - 12, 0) : self.at + 12])
        raise ReadError(
            f"its data are damaged after {self.at} characters ({why} near {near!r}); export it anew"
        )


def bounded(number: float) -> float:
    """Return a number that a coordinate may be.

    Raises:
        ReadError: it is too large.
    """
    if not abs(number) <= LARGEST_COORDINATE:
        raise ReadError(f"the number {number:g} is too large; check the unit")
    return number


def subpaths(data: str) -> list[Subpath]:
    """Return what path data draw, in absolute coordinates; runs without a segment are left out.

    Raises:
        ReadError: the data are damaged.
    """
    scan, found = _Scanner(data), _Pen()
    while (command := scan.command()) is not None:
        letter, relative = command.upper(), command.islower()
        if not found.begun and letter != "M":
            scan.refuse("no place to start from")
        if letter == "Z":
            found.close()
            continue
        found.draw(letter, scan.numbers(letter), relative)
        while scan.more():
            # Further pairs after a move are lines.
            letter = "L" if letter == "M" else letter
            found.draw(letter, scan.numbers(letter), relative)
    if _END.match(scan.text, scan.at) is None:
        scan.refuse("not a command")
    return [s for s in found.subpaths if s.segments]


class _Pen:
    """Where drawing has come to, and what smooth curves remember."""

    def __init__(self) -> None:
        self.subpaths: list[Subpath] = []
        self.begun = False
        self._at: Point = (0.0, 0.0)
        self._control: Point | None = None
        self._smooth = ""

    def close(self) -> None:
        run = self.subpaths[-1]
        run.is_closed = True
        self._at, self._smooth = run.start, ""
        self.subpaths.append(Subpath(run.start))

    def draw(self, letter: str, values: list[float], relative: bool) -> None:
        """Draw one command; letters are those of path data."""
        x, y = self._at if relative else (0.0, 0.0)
        if letter == "M":
            self._at, self._smooth, self.begun = (x + values[0], y + values[1]), "", True
            self.subpaths.append(Subpath(self._at))
        elif letter in "LHV":
            end = (
                values[0] + x if letter != "V" else self._at[0],
                values[-1] + y if letter != "H" else self._at[1],
            )
            self._to(Line(end))
        elif letter == "A":
            radii = abs(values[0]), abs(values[1])
            end = values[5] + x, values[6] + y
            if end != self._at:
                is_flat = min(radii) < _NO_RADIUS
                arc = Arc(radii, values[2], bool(values[3]), bool(values[4]), end)
                self._to(Line(end) if is_flat else arc)
        else:
            places = [(values[k] + x, values[k + 1] + y) for k in range(0, len(values), 2)]
            family = "cubic" if letter in "CS" else "quadratic"
            if letter in "ST":
                places.insert(0, self._reflected(family))
            self._to(Curve(tuple(places[:-1]), places[-1]))
            self._control, self._smooth = places[-2], family

    def _reflected(self, family: str) -> Point:
        """Return the last control seen from the other side; the place itself after another kind of curve."""
        if self._smooth != family or self._control is None:
            return self._at
        return 2.0 * self._at[0] - self._control[0], 2.0 * self._at[1] - self._control[1]

    def _to(self, segment: Segment) -> None:
        self.subpaths[-1].segments.append(segment)
        self._at, self._smooth = segment.end, ""


# Basic shapes


def polyline(text: str, is_closed: bool) -> list[Subpath]:
    """Return the lines through the points of a polyline or polygon.

    Raises:
        ReadError: the points are damaged, or one coordinate has no partner.
    """
    scan = _Scanner(text)
    points: list[Point] = []
    while scan.more():
        x, y = scan.numbers("L")
        points.append((x, y))
    if _END.match(text, scan.at) is None:
        scan.refuse("not a number")
    return [Subpath(points[0], [Line(p) for p in points[1:]], is_closed)] if len(points) > 1 else []


def ellipse(centre: Point, radii: Point) -> list[Subpath]:
    """Return an ellipse in two halves; nothing where it has no size."""
    if min(radii) <= 0.0:
        return []
    right, left = (centre[0] + radii[0], centre[1]), (centre[0] - radii[0], centre[1])
    return [Subpath(right, [Arc(radii, 0.0, False, True, end) for end in (left, right)], True)]


def rectangle(corner: Point, width: float, height: float, radii: Point) -> list[Subpath]:
    """Return a rectangle with its corner radii, at most half its sides; nothing where it has no size."""
    if width <= 0.0 or height <= 0.0:
        return []
    (x, y), rx, ry = corner, min(radii[0], width / 2.0), min(radii[1], height / 2.0)
    right, low = x + width, y + height
    if rx <= 0.0 or ry <= 0.0:
        return [Subpath((x, y), [Line((right, y)), Line((right, low)), Line((x, low))], True)]
    ends = [
        ((right - rx, y), (right, y + ry)),
        ((right, low - ry), (right - rx, low)),
        ((x + rx, low), (x, low - ry)),
        ((x, y + ry), (x + rx, y)),
    ]
    segments: list[Segment] = []
    for before, after in ends:
        segments += [Line(before), Arc((rx, ry), 0.0, False, True, after)]
    return [Subpath((x + rx, y), segments, True)]


# As placed


def pieces(run: Subpath, placing: Placing, layer: str) -> list[Piece]:
    """Return the lines and arcs of a run as placed; other curves are replaced by arcs."""
    found: list[Piece] = []
    start = run.start
    for segment in run.segments:
        if isinstance(segment, Line):
            found.append(Piece(placing.point(start), placing.point(segment.end), layer=layer))
        elif isinstance(segment, Arc):
            found += _arc(start, segment, placing, layer)
        else:
            found += _curve([placing.point(p) for p in (start, *segment.controls, segment.end)], layer)
        start = segment.end
    if run.is_closed and start != run.start:
        found.append(Piece(placing.point(start), placing.point(run.start), layer=layer))
    return found


def _curve(places: list[Point], layer: str) -> list[Piece]:
    """Return a Bezier curve: a line where its controls lie on it in order."""
    start, end = places[0], places[-1]
    dz, dr = end[0] - start[0], end[1] - start[1]
    span2 = dz * dz + dr * dr
    along = [((p[0] - start[0]) * dz + (p[1] - start[1]) * dr) for p in places]
    off = [abs((p[1] - start[1]) * dz - (p[0] - start[0]) * dr) for p in places]
    if span2 > 0.0 and max(off) <= _STRAIGHT * span2 and along == sorted(along):
        return [Piece(start, end, layer=layer)]
    if all(p == start for p in places):
        return []
    breaks = [0.0, *_slow_places(places), 1.0]
    return fitted(lambda t: _bezier(places, t), breaks, layer)


def _bezier(places: list[Point], t: float) -> Point:
    """Return the place of a Bezier curve at a parameter, by de Casteljau's rule."""
    while len(places) > 1:
        places = [_between(p, q, t) for p, q in pairwise(places)]
    return places[0]


def _slow_places(places: list[Point]) -> list[float]:
    """Return where between its ends a Bezier curve is slowest or fastest: it can turn back only there."""
    first = [(q[0] - p[0], q[1] - p[1]) for p, q in pairwise(places)]
    second = [(q[0] - p[0], q[1] - p[1]) for p, q in pairwise(first)]

    def growth(t: float) -> float:
        v, a = _bezier(first, t), _bezier(second, t)
        return v[0] * a[0] + v[1] * a[1]

    found: list[float] = []
    for k in range(_STEPS):
        low, high = k / _STEPS, (k + 1) / _STEPS
        at_low, at_high = growth(low), growth(high)
        if at_low == 0.0 and k:
            found.append(low)
        if at_low * at_high >= 0.0:
            continue
        while (middle := (low + high) / 2.0) not in (low, high):
            if (growth(middle) < 0.0) == (at_low < 0.0):
                low = middle
            else:
                high = middle
        found.append(middle)
    return found


def _between(p: Point, q: Point, t: float) -> Point:
    return (1.0 - t) * p[0] + t * q[0], (1.0 - t) * p[1] + t * q[1]


def _arc(start: Point, arc: Arc, placing: Placing, layer: str) -> list[Piece]:
    """Return an arc: exact where it is one of a circle as placed."""
    circle, first, sweep = _on_unit_circle(start, arc)
    whole = placing.after(circle)
    begin, end = placing.point(start), placing.point(arc.end)
    if whole.keeps_circles:
        bulge = math.tan(sweep / 4.0)
        return bulged(begin, end, -bulge if whole.mirrors else bulge, layer)

    def point(t: float) -> Point:
        # The ends themselves, so that neighbours still meet exactly.
        if t in (0.0, 1.0):
            return end if t else begin
        angle = first + sweep * t
        return whole.point((math.cos(angle), math.sin(angle)))

    parts = max(math.ceil(abs(sweep) / (math.pi / 2.0) - 1e-9), 1)
    return fitted(point, [k / parts for k in range(parts + 1)], layer)


def _on_unit_circle(start: Point, arc: Arc) -> tuple[Placing, float, float]:
    """Return the map of the unit circle to an arc's ellipse, the angle at its start and its sweep, rad.

    Implementation notes of the recommendation, "Conversion from endpoint to center parameterization".
    """
    (rx, ry), turned = arc.radii, Placing.turned(arc.turn_deg)
    half = (start[0] - arc.end[0]) / 2.0, (start[1] - arc.end[1]) / 2.0
    x, y = Placing.turned(-arc.turn_deg).point(half)
    x, y = x / rx, y / ry
    reach = math.hypot(x, y)
    if reach > 1.0:  # radii too small to reach are grown until they do
        rx, ry, x, y = rx * reach, ry * reach, x / reach, y / reach
    rest = 1.0 - x * x - y * y
    far = math.sqrt(rest if rest > _HALF_CIRCLE else 0.0) / max(math.hypot(x, y), 1e-300)
    side = 1.0 if arc.is_large == arc.is_positive else -1.0
    cx, cy = -side * far * y, side * far * x
    middle = turned.point((cx * rx, cy * ry))
    centre = middle[0] + (start[0] + arc.end[0]) / 2.0, middle[1] + (start[1] + arc.end[1]) / 2.0
    first, last = math.atan2(y - cy, x - cx), math.atan2(-y - cy, -x - cx)
    sweep = (last - first) % (2.0 * math.pi) if arc.is_positive else -((first - last) % (2.0 * math.pi))
    circle = Placing.shifted(*centre).after(turned).after(Placing.scaled(rx, ry))
    return circle, first, sweep

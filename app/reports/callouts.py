"""Callouts round a drawing: labels stacked on rails beside and above it, with leaders that do not cross.

A rail is a strip along one side of the drawing. Its labels keep the order of their places, are moved apart as
little as possible, and never overlap; what does not fit is left out and named.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

from app.reports.drawing import (
    DESCENT,
    Anchor,
    Canvas,
    Contour,
    Pen,
    Point,
    Type,
    arrow,
    line,
    wrapped,
)
from app.reports.look import QUIET, state_colour
from geometry.readings.rules import State


class Rail(Enum):
    """Side of the drawing on which a label stands."""

    LEFT = "left"
    RIGHT = "right"
    TOP = "top"


class End(Enum):
    """How a leader ends: dot on an area, arrow on a skin, or a plain extension line."""

    DOT = "dot"
    ARROW = "arrow"
    LINE = "line"


@dataclass(frozen=True)
class Callout:
    """A label with a leader.

    Attributes:
        place: where the leader ends; (z, r) in mm until a frame has put it on paper.
        name: small words above the number.
        number: the number as printed, or empty.
        state: gives leader and number its colour; None for the usual ink.
        weight: labels of greater weight stay where room is short.
    """

    place: Point
    rail: Rail
    name: str
    number: str = ""
    end: End = End.ARROW
    state: State | None = None
    weight: int = 0


NAME, NUMBER = Type(2.2, colour=QUIET), Type(2.8, bold=True)
_LEADER = Pen(0.13, QUIET)
_LINE_GAP = 0.9
#: Clear space between two labels of a rail, mm.
LABEL_GAP = 1.4


@dataclass(frozen=True)
class Strip:
    """Where the labels of a rail may stand.

    Attributes:
        rail: side of the drawing.
        low, high: ends of the rail along it: y for left and right, x for above.
        start: edge of the drawing, where leaders leave it: x for left and right, y for above.
        near: edge of the labels towards the drawing.
        width: greatest width of a label.
    """

    rail: Rail
    low: float
    high: float
    start: float
    near: float
    width: float


@dataclass(frozen=True)
class Label:
    """A callout with its wrapped name and its measured size, mm."""

    callout: Callout
    names: tuple[str, ...]
    width: float
    height: float


def spread(
    wanted: Sequence[float], sizes: Sequence[float], low: float, high: float, gap: float
) -> list[float] | None:
    """Return centres for labels of the given sizes, in the given order, or None where they do not fit.

    The centres lie within low and high, keep `gap` between labels, and differ from the wanted ones by the
    least sum of squares: neighbours that collide are pooled at their mean (isotonic regression).
    """
    offsets = [0.0]
    for first, second in pairwise(sizes):
        offsets.append(offsets[-1] + (first + second) / 2.0 + gap)
    if not wanted:
        return []
    floor, ceiling = low + sizes[0] / 2.0, high - sizes[-1] / 2.0 - offsets[-1]
    if ceiling < floor - 1e-9:
        return None
    pools: list[tuple[float, int]] = []
    for want, offset in zip(wanted, offsets, strict=True):
        mean, count = want - offset, 1
        while pools and pools[-1][0] > mean:
            other, others = pools.pop()
            mean, count = (mean * count + other * others) / (count + others), count + others
        pools.append((mean, count))
    shifts = [mean for mean, count in pools for _ in range(count)]
    return [min(max(shift, floor), ceiling) + offset for shift, offset in zip(shifts, offsets, strict=True)]


def measured(canvas: Canvas, callout: Callout, width: float) -> Label:
    """Return the callout as a label at most `width` wide."""
    names = tuple(wrapped(canvas, callout.name, NAME, width, 4)) if callout.name else ()
    widths = [canvas.text_width(words, NAME) for words in names]
    height = len(names) * (NAME.size_mm + _LINE_GAP)
    if callout.number:
        widths.append(canvas.text_width(callout.number, NUMBER))
        height += NUMBER.size_mm + _LINE_GAP
    return Label(callout, names, max(widths, default=0.0), height - _LINE_GAP)


def place_labels(
    canvas: Canvas, callouts: Sequence[Callout], strip: Strip
) -> tuple[list[tuple[Label, float]], list[Callout]]:
    """Return the labels of a rail with their centres along it, and the callouts left out for want of room.

    The places of the callouts are on paper.
    """
    along = 0 if strip.rail is Rail.TOP else 1
    labels = sorted(
        (measured(canvas, c, strip.width) for c in callouts), key=lambda k: k.callout.place[along]
    )
    left_out: list[Callout] = []
    while True:
        sizes = [k.width if along == 0 else k.height for k in labels]
        gap = LABEL_GAP if along else 2.0 * LABEL_GAP
        wanted = [k.callout.place[along] for k in labels]
        centres = spread(wanted, sizes, strip.low, strip.high, gap)
        if centres is not None:
            return list(zip(labels, centres, strict=True)), left_out
        least = min(range(len(labels)), key=lambda i: labels[i].callout.weight)
        left_out.append(labels.pop(least).callout)


def draw_leader(canvas: Canvas, label: Label, centre: float, strip: Strip) -> None:
    """Draw a leader from its place straight out of the drawing, then to its label."""
    callout = label.callout
    pen = Pen(_LEADER.width_mm, state_colour(callout.state))
    x, y = callout.place
    if strip.rail is Rail.TOP:
        corner, end = (x, max(strip.start, y)), (centre, strip.near)
    else:
        side = -1.0 if strip.rail is Rail.LEFT else 1.0
        reach = min(strip.start, x) if side < 0 else max(strip.start, x)
        corner, end = (reach, y), (strip.near, centre)
    canvas.path([Contour.polyline([callout.place, corner, end])], pen)
    if callout.end is End.DOT:
        canvas.path([Contour.circle(callout.place, 0.55)], None, pen.colour)
    elif callout.end is End.ARROW and math.dist(callout.place, corner) > 0.1:
        arrow(canvas, callout.place, corner, pen.colour, 1.8)


def draw_label(canvas: Canvas, label: Label, centre: float, strip: Strip) -> None:
    """Write a label: its name, then its number."""
    callout = label.callout
    if strip.rail is Rail.TOP:
        x, y, anchor = centre, strip.near + 1.0 + label.height, Anchor.MIDDLE
    else:
        left = strip.rail is Rail.LEFT
        x = strip.near - 1.0 if left else strip.near + 1.0
        y, anchor = centre + label.height / 2.0, Anchor.RIGHT if left else Anchor.LEFT
    for words in label.names:
        y -= NAME.size_mm
        canvas.text((x, y + DESCENT * NAME.size_mm), words, NAME, anchor)
        y -= _LINE_GAP
    if callout.number:
        colour = NUMBER.colour if callout.state is None else state_colour(callout.state)
        style = Type(NUMBER.size_mm, True, colour)
        y -= NUMBER.size_mm
        canvas.text((x, y + DESCENT * NUMBER.size_mm), callout.number, style, anchor)


def tick(canvas: Canvas, first: Point, second: Point, colour: str) -> None:
    """Draw the line between two witness places, with a short stroke across each end."""
    pen = Pen(0.35, colour)
    line(canvas, first, second, pen)
    d = math.dist(first, second)
    if d < 1e-9:
        return
    nx, ny = -(second[1] - first[1]) / d, (second[0] - first[0]) / d
    for x, y in (first, second):
        line(canvas, (x - nx * 0.9, y - ny * 0.9), (x + nx * 0.9, y + ny * 0.9), pen)

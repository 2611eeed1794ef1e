"""Lines, marks and words over the drawing, in logical pixels so that they keep their size at any zoom."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QImage, QPainter, QPen, QPixmap
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from app.units import LengthUnit
from app.views.canvas.grid import ticks
from app.views.canvas.items import chain_line, pen
from app.views.canvas.placing import Box, Choice, nearest, place_box
from app.views.theme import Theme, figures
from geometry.shape.curve import Array

Place = tuple[float, float]

#: Height of the lower ruler and width of the left one.
RULER_PX = 20.0
#: Words that would stand on others are moved by so many lines, down or up, the first free place counting.
_STEPS = (0.0, 1.0, -1.0, 2.0, -2.0, 3.0, -3.0, 4.0, -4.0)


@dataclass(frozen=True)
class Words:
    """Text at a place, shifted in pixels; `align` says which side of the text lies at the place.

    Attributes:
        align: -1 the text ends there, 0 it is centred, 1 it starts there.
        role: colour by role, unless `colour` is given.
        room_mm: how wide the text may be; where it is wider at the present zoom, `less` is shown instead.
    """

    place: Place
    text: str
    shift: tuple[float, float] = (0.0, 0.0)
    align: int = 0
    role: str = "ink"
    colour: QColor | None = None
    room_mm: float = math.inf
    less: Words | None = None


@dataclass(frozen=True)
class Callout:
    """A number with words under it, led to a place; it stands where it hides least.

    Attributes:
        towards: direction in which it would best stand, in pixels, unit length.
    """

    place: Place
    number: str
    words: str
    towards: tuple[float, float]
    colour: QColor


@dataclass(frozen=True)
class Stroke:
    """A line through places; `ticks_px` draws a stroke across each end."""

    places: tuple[Place, ...]
    role: str = "ink"
    colour: QColor | None = None
    style: Qt.PenStyle = Qt.PenStyle.SolidLine
    width: float = 1.0
    ticks_px: float = 0.0


@dataclass(frozen=True)
class Ring:
    """A circle round a place, with a cross in it for a fault."""

    place: Place
    radius_px: float
    colour: QColor
    cross: bool = False


@dataclass(frozen=True)
class Plane:
    """A chain line across the whole view at one z, named at its foot."""

    z: float
    text: str


@dataclass(frozen=True)
class Bracket:
    """The known extent of a shape along the axle; an end that is not the body's end is drawn open."""

    z_low: float
    z_high: float
    r: float
    closed_low: bool
    closed_high: bool
    text: str


Mark = Words | Callout | Stroke | Ring | Bracket


@dataclass
class Legend:
    """The scale of the wall band: its colours, thin first, and the words at both ends."""

    colours: tuple[QColor, ...] = ()
    low: str = ""
    high: str = ""

    def strip(self) -> QPixmap:
        """Return the colours side by side, one pixel each."""
        return _strip(tuple(colour.rgb() for colour in self.colours))


@dataclass
class Content:
    """Everything the overlay draws."""

    marks: list[Mark] = field(default_factory=list)
    planes: list[Plane] = field(default_factory=list)
    legend: Legend = field(default_factory=Legend)
    hints: list[str] = field(default_factory=list)
    empty_words: str = ""


class Overlay(QGraphicsItem):
    """Paints marks, planes, rulers and the legend over the whole view."""

    def __init__(self, theme: Theme, to_pixels: Callable[[float, float], QPointF], layer: float) -> None:
        super().__init__()
        self.setZValue(layer)
        self._theme = theme
        self._to_pixels = to_pixels
        self._frame = QRectF()
        self._view = QRectF()
        #: Boxes of the words painted last.
        self.taken: list[QRectF] = []
        self._brackets: list[Words] = []
        self._callout_choice: Choice | None = None
        #: Boxes of handles, which a callout must not hide.
        self.avoid: Callable[[], Array] = lambda: np.empty((0, 4))
        self.content = Content()
        self.unit: LengthUnit = "mm"
        self.font = QFont()
        self.snap_mark: tuple[Place, bool] | None = None

    def follow(self, frame: QRectF, view: QRectF) -> None:
        """Take the frame in pixels and the view's rectangle in mm."""
        if (frame, view) != (self._frame, self._view):
            self.prepareGeometryChange()
            self._callout_choice = None
        self._frame, self._view = QRectF(frame), QRectF(view)
        self.update()

    def boundingRect(self) -> QRectF:
        """Return the whole frame."""
        return self._frame

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        """Draw everything."""
        if self._frame.isEmpty():
            return
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        painter.setFont(figures(self.font))
        self.taken, self._brackets = [], []
        self._paint_planes(painter)
        for mark in self.content.marks:
            if isinstance(mark, Stroke):
                self._paint_stroke(painter, mark)
            elif isinstance(mark, Ring):
                self._paint_ring(painter, mark)
            elif isinstance(mark, Bracket):
                self._paint_bracket(painter, mark)
        words = [mark for mark in self.content.marks if isinstance(mark, Words)]
        for mark in (*words, *self._brackets):
            self._paint_words(painter, mark)
        for mark in self.content.marks:
            if isinstance(mark, Callout):
                self._paint_callout(painter, mark)
        self._paint_snap(painter)
        self._paint_rulers(painter)
        self._paint_legend(painter)
        painter.setPen(self._theme.colour("quiet"))
        for k, hint in enumerate(self.content.hints):
            painter.drawText(self._frame.topLeft() + QPointF(56.0, 20.0 + 18.0 * k), hint)
        if self.content.empty_words:
            painter.setPen(self._theme.colour("quiet"))
            painter.setFont(figures(self.font, 1.15))
            box = self._frame.adjusted(60.0, 60.0, -60.0, -60.0)
            flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
            room = painter.boundingRect(box, flags, self.content.empty_words)
            painter.fillRect(room.adjusted(-8.0, -6.0, 8.0, 6.0), self._theme.colour("paper"))
            painter.drawText(box, flags, self.content.empty_words)

    def _px(self, place: Place) -> QPointF:
        return self._to_pixels(place[0], place[1])

    def _colour(self, mark: Words | Stroke) -> QColor:
        return mark.colour if mark.colour is not None else self._theme.colour(mark.role)

    def _paint_planes(self, painter: QPainter) -> None:
        metrics = QFontMetricsF(painter.font())
        quiet = self._theme.colour("quiet")
        axle = self._px((0.0, 0.0)).y()
        painter.setPen(chain_line(quiet))
        painter.drawLine(QPointF(self._frame.left(), axle), QPointF(self._frame.right(), axle))
        foot = min(axle, self._frame.bottom() - RULER_PX)
        taken: list[tuple[float, float, int]] = []
        for plane in sorted(self.content.planes, key=lambda p: p.z):
            x = self._px((plane.z, 0.0)).x()
            painter.setPen(chain_line(quiet))
            painter.drawLine(QPointF(x, self._frame.top()), QPointF(x, foot))
            width = metrics.horizontalAdvance(plane.text)
            row = 0
            while any(k == row and x < end and x + width > begin for begin, end, k in taken):
                row += 1
            taken.append((x, x + width + 16.0, row))
            base = QPointF(x + 5.0, foot - 6.0 - row * (metrics.height() + 2.0))
            self._paper_behind(painter, base, plane.text, metrics)
            self.taken.append(metrics.boundingRect(plane.text).translated(base))
            painter.setPen(quiet)
            painter.drawText(base, plane.text)
        if axle <= self._frame.bottom():
            text = "axle line"
            base = QPointF(self._frame.right() - metrics.horizontalAdvance(text) - 8.0, axle - 4.0)
            self._paper_behind(painter, base, text, metrics)
            painter.setPen(quiet)
            painter.drawText(base, text)

    def _paper_behind(self, painter: QPainter, base: QPointF, text: str, metrics: QFontMetricsF) -> None:
        paper = self._theme.colour("paper")
        paper.setAlpha(215)
        box = metrics.boundingRect(text).translated(base).adjusted(-3.0, -1.0, 3.0, 1.0)
        painter.fillRect(box, paper)

    def _paint_stroke(self, painter: QPainter, mark: Stroke) -> None:
        painter.setPen(pen(self._colour(mark), mark.style, mark.width))
        points = [self._px(p) for p in mark.places]
        painter.drawPolyline(points)
        if mark.ticks_px and len(points) > 1:
            for end, other in ((points[0], points[1]), (points[-1], points[-2])):
                d = end - other
                length = max((d.x() ** 2 + d.y() ** 2) ** 0.5, 1e-9)
                across = QPointF(-d.y(), d.x()) * (mark.ticks_px / length)
                painter.drawLine(end - across, end + across)

    def _paint_ring(self, painter: QPainter, mark: Ring) -> None:
        centre, radius = self._px(mark.place), mark.radius_px
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(self._theme.colour("paper"), 5.0))
        painter.drawEllipse(centre, radius, radius)
        painter.setPen(QPen(mark.colour, 2.0))
        painter.drawEllipse(centre, radius, radius)
        if mark.cross:
            d = radius * 0.45
            painter.drawLine(centre + QPointF(-d, -d), centre + QPointF(d, d))
            painter.drawLine(centre + QPointF(-d, d), centre + QPointF(d, -d))

    def _paint_bracket(self, painter: QPainter, mark: Bracket) -> None:
        colour = self._theme.colour("shape_edge")
        a, b = (
            self._px((mark.z_low, mark.r)) + QPointF(0, 16),
            self._px((mark.z_high, mark.r)) + QPointF(0, 16),
        )
        for end, other, closed in ((a, b, mark.closed_low), (b, a, mark.closed_high)):
            middle = (end + other) / 2.0
            painter.setPen(pen(colour, Qt.PenStyle.SolidLine if closed else Qt.PenStyle.DashLine))
            painter.drawLine(end, middle)
            if closed:
                painter.drawLine(end + QPointF(0, -6), end + QPointF(0, 6))
            else:
                inward = 7.0 if other.x() > end.x() else -7.0
                painter.setPen(pen(colour))
                painter.drawPolyline([end + QPointF(inward, -4), end, end + QPointF(inward, 4)])
        room = mark.z_high - mark.z_low
        self._brackets.append(
            Words((mark.z_low, mark.r), mark.text, (0.0, 34.0), 1, "shape_edge", room_mm=room)
        )

    def _paint_words(self, painter: QPainter, mark: Words) -> None:
        metrics = QFontMetricsF(painter.font())
        widest = max(metrics.horizontalAdvance(line) for line in mark.text.split("\n"))
        mm_per_pixel = self._view.width() / max(self._frame.width(), 1.0)
        if widest * mm_per_pixel > mark.room_mm:
            if mark.less is not None:
                self._paint_words(painter, mark.less)
            return
        lines = mark.text.split("\n")
        bases = self._free_bases(mark, lines, metrics)
        for left, line in zip(bases, lines, strict=True):
            self._paper_behind(painter, left, line, metrics)
            self.taken.append(metrics.boundingRect(line).translated(left))
            painter.setPen(self._colour(mark))
            painter.drawText(left, line)

    def _free_bases(self, mark: Words, lines: list[str], metrics: QFontMetricsF) -> list[QPointF]:
        """Return where the lines begin: at their place, or a few lines off it where other words stand."""
        at = self._px(mark.place)
        bases = []
        for k, line in enumerate(lines):
            width = metrics.horizontalAdvance(line)
            back = width if mark.align < 0 else width / 2.0 if mark.align == 0 else 0.0
            left = at + QPointF(mark.shift[0] - back, mark.shift[1] + k * metrics.height())
            if self._frame.contains(at):
                left.setX(min(max(left.x(), self._frame.left() + 4.0), self._frame.right() - width - 4.0))
            bases.append(left)
        for step in _STEPS:
            down = QPointF(0.0, step * metrics.height())
            moved = [base + down for base in bases]
            boxes = [metrics.boundingRect(w).translated(b) for w, b in zip(lines, moved, strict=True)]
            if not any(box.intersects(other) for box in boxes for other in self.taken):
                return moved
        return bases

    def _paint_callout(self, painter: QPainter, mark: Callout) -> None:
        large, small = figures(self.font, 1.5, bold=True), figures(self.font)
        high, low = QFontMetricsF(large), QFontMetricsF(small)
        width = max(high.horizontalAdvance(mark.number), low.horizontalAdvance(mark.words)) + 8.0
        at = self._px(mark.place)
        taken = np.array([_box(rect) for rect in self.taken]).reshape(-1, 4)
        room = _box(self._frame.adjusted(RULER_PX * 2.0, 4.0, -4.0, -RULER_PX - 4.0))
        place, size = (at.x(), at.y()), (width, high.height() + low.height() + 4.0)
        box, self._callout_choice = place_box(
            place, size, mark.towards, room, taken, self._callout_choice, self.avoid()
        )
        left, top = box[0] + 4.0, box[1] + 1.0
        paper = self._theme.colour("paper")
        paper.setAlpha(225)
        painter.setPen(pen(mark.colour))
        painter.drawLine(at, QPointF(*nearest(box, place)))
        painter.fillRect(QRectF(box[0], box[1], width, size[1]), paper)
        painter.setFont(large)
        painter.drawText(QPointF(left, top + high.ascent()), mark.number)
        painter.setFont(small)
        painter.drawText(QPointF(left, top + high.height() + low.ascent()), mark.words)

    def _paint_snap(self, painter: QPainter) -> None:
        if self.snap_mark is None:
            return
        place, is_point = self.snap_mark
        at = self._px(place)
        painter.setPen(QPen(self._theme.colour("accent"), 1.5))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        if is_point:
            painter.drawRect(QRectF(at.x() - 8.0, at.y() - 8.0, 16.0, 16.0))
        else:
            for d in (QPointF(14.0, 0.0), QPointF(0.0, 14.0)):
                painter.drawLine(at - d, at - d * 0.5)
                painter.drawLine(at + d * 0.5, at + d)

    def _paint_rulers(self, painter: QPainter) -> None:
        theme, frame, view = self._theme, self._frame, self._view
        metrics = QFontMetricsF(painter.font())
        bottom = frame.bottom() - RULER_PX
        painter.fillRect(QRectF(frame.left(), bottom, frame.width(), RULER_PX), theme.colour("paper"))
        painter.setPen(pen(theme.colour("hairline")))
        painter.drawLine(QPointF(frame.left(), bottom), QPointF(frame.right(), bottom))
        mm_per_pixel = view.width() / max(frame.width(), 1.0)
        painter.setPen(theme.colour("quiet"))
        for z, text in ticks(view.left(), view.right(), mm_per_pixel, self.unit):
            x = self._px((z, 0.0)).x()
            width = metrics.horizontalAdvance(text)
            if frame.left() + 40.0 < x - width / 2.0 and x + width / 2.0 < frame.right() - 28.0:
                painter.drawLine(QPointF(x, bottom), QPointF(x, bottom + 4.0))
                painter.drawText(QPointF(x - width / 2.0, frame.bottom() - 4.0), text)
        painter.drawText(QPointF(frame.right() - 16.0, frame.bottom() - 4.0), "z")
        for r, text in ticks(max(view.top(), 0.0), view.bottom(), mm_per_pixel, self.unit):
            y = self._px((0.0, r)).y()
            if frame.top() + 24.0 < y < bottom - 8.0:
                painter.drawLine(QPointF(frame.left(), y), QPointF(frame.left() + 4.0, y))
                painter.drawText(QPointF(frame.left() + 7.0, y + metrics.ascent() / 2.0 - 1.0), text)
        head, base = f"r, {self.unit}", QPointF(frame.left() + 7.0, frame.top() + metrics.ascent() + 2.0)
        self._paper_behind(painter, base, head, metrics)
        painter.drawText(base, head)

    def _paint_legend(self, painter: QPainter) -> None:
        legend = self.content.legend
        if not legend.colours:
            return
        metrics = QFontMetricsF(painter.font())
        cell, height = 7.0, 8.0
        width = cell * len(legend.colours)
        high = metrics.horizontalAdvance(legend.high)
        left, top = self._frame.right() - width - high - 16.0, self._frame.top() + 10.0
        low = metrics.horizontalAdvance(legend.low)
        paper = self._theme.colour("paper")
        paper.setAlpha(215)
        painter.fillRect(
            QRectF(left - low - 10.0, top - 5.0, width + low + high + 24.0, height + 10.0), paper
        )
        painter.drawPixmap(QRectF(left, top, width, height), legend.strip(), QRectF(legend.strip().rect()))
        painter.setPen(self._theme.colour("quiet"))
        base = top + height
        painter.drawText(QPointF(left - low - 6.0, base), legend.low)
        painter.drawText(QPointF(left + width + 6.0, base), legend.high)


def _box(rect: QRectF) -> Box:
    return rect.left(), rect.top(), rect.right(), rect.bottom()


@lru_cache(maxsize=4)
def _strip(colours: tuple[int, ...]) -> QPixmap:
    image = QImage(len(colours), 1, QImage.Format.Format_RGB32)
    for k, colour in enumerate(colours):
        image.setPixel(k, 0, colour)
    return QPixmap.fromImage(image)

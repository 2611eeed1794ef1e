"""The import's picture painted: the shown wheel and its blank, and over them what was read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from pyqtgraph.functions import arrayToQPath
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QTransform

from app.language import tr
from app.units import LengthUnit
from app.views.canvas.grid import ticks
from app.views.canvas.items import chain_line, painter_path, pen, segments
from app.views.theme import LINES, Colours
from app.window.dialogs.import_drawn import Drawn, Lay, bounds_of, thinned
from app.window.dialogs.import_legend import Sample, SampleForm
from app.window.dialogs.import_numbers import number_places, number_spots
from app.window.dialogs.import_view import View
from geometry.readings.rules import State
from geometry.shape.curve import Array, Path
from geometry.shape.hatch import hatch

#: More outlines than this are not numbered: the numbers would hide them.
_NUMBERED = 60
#: Distance of hatch lines, mm.
_HATCH_MM = 6.0
#: Corners of an outline that fall within this of each other on the screen are drawn as one, pixels.
_SAME_PX = 0.3
#: Rings painted as one path: one by one costs a call each, all at once is slow to fill.
_RINGS = 40


@dataclass(frozen=True, eq=False)
class Laid:
    """An answer as it lies, and its words where it is one of several readings.

    Attributes:
        words: "if in"; empty for the only reading.
        is_chosen: drawn solid; another reading is dashed.
        taken: numbers of the loops that are taken.
    """

    drawn: Drawn
    lay: Lay
    words: str = ""
    is_chosen: bool = True
    taken: frozenset[int] = frozenset()

    @cached_property
    def bounds(self) -> tuple[float, float, float, float] | None:
        """Return z low, z high, r low, r high of all that is drawn of it, mm."""
        d = self.drawn
        return bounds_of([self.lay.points(p) for p in (*d.loops, *d.chains, d.cloud, d.outside)])


@dataclass(frozen=True, eq=False)
class Backdrop:
    """The shown wheel and its blank in the hub's frame."""

    name: str = ""
    wheel: Path | None = None
    blank: Path | None = None


@dataclass(frozen=True)
class GapMark:
    """The nearest places of wheel and outline, and what is said of them."""

    at_wheel: tuple[float, float]
    at_shape: tuple[float, float]
    words: str
    state: State | None


@dataclass
class Sheet:
    """One painting of the picture."""

    painter: QPainter
    view: View
    colours: Colours
    legend: list[Sample] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.metrics = self.painter.fontMetrics()

    def colour(self, role: str, alpha: int = 255) -> QColor:
        """Return a colour of the theme."""
        result = QColor(str(getattr(self.colours, role)))
        result.setAlpha(alpha)
        return result

    @contextmanager
    def clipped(self) -> Iterator[None]:
        """Draw within the plot alone."""
        self.painter.save()
        self.painter.setClipRect(self.view.plot)
        yield
        self.painter.restore()

    def _note(self, sample: Sample) -> None:
        if all(sample.words != said.words for said in self.legend):
            self.legend.append(sample)

    # Paper

    def paper(self, unit: LengthUnit) -> None:
        """Draw the grid with its numbers, the axle line and the mounting face."""
        view, painter = self.view, self.painter
        low, high = view.place(view.plot.bottomLeft()), view.place(view.plot.topRight())
        rulers = [ticks(low[k], high[k], 1.0 / view.scale, unit) for k in (0, 1)]
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        painter.setPen(pen(self.colour("grid")))
        for at, _ in rulers[0]:
            x = view.pixel(at, 0.0).x()
            painter.drawLine(QPointF(x, view.plot.top()), QPointF(x, view.plot.bottom()))
        for at, _ in rulers[1]:
            y = view.pixel(0.0, at).y()
            painter.drawLine(QPointF(view.plot.left(), y), QPointF(view.plot.right(), y))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(self.colour("quiet"))
        high_px = self.metrics.height()
        for at, text in rulers[0]:
            x, half = view.pixel(at, 0.0).x(), self.metrics.horizontalAdvance(text) / 2.0
            box = QRectF(x - 40, view.plot.bottom() + 1, 80, high_px)
            if x + half < view.plot.right() + 8:
                painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
        for at, text in rulers[1]:
            y = view.pixel(0.0, at).y()
            if y - high_px / 2 > view.plot.top() - 2:
                box = QRectF(0, y - high_px / 2, view.plot.left() - 5, high_px)
                painter.drawText(box, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, text)

    def axes(self) -> None:
        """Draw the axle line, the face the wheel bears on, and which way is outboard."""
        view, painter = self.view, self.painter
        origin, high_px = view.pixel(0.0, 0.0), self.metrics.height()
        with self.clipped():
            painter.setPen(chain_line(self.colour("ink")))
            painter.drawLine(QPointF(view.plot.left(), origin.y()), QPointF(view.plot.right(), origin.y()))
            painter.drawLine(QPointF(origin.x(), view.plot.top()), QPointF(origin.x(), view.plot.bottom()))
            painter.setPen(self.colour("quiet"))
            if view.plot.top() < origin.y() < view.plot.bottom():
                for x, words, side in (
                    (view.plot.left() + 4, tr("axle line"), Qt.AlignmentFlag.AlignLeft),
                    (view.plot.right() - 204, tr("outboard →"), Qt.AlignmentFlag.AlignRight),
                ):
                    painter.drawText(QRectF(x, origin.y() - high_px - 1, 200, high_px), side, words)
            if view.plot.left() < origin.x() < view.plot.right() - 60:
                top = view.plot.top() + 2
                painter.drawText(
                    QRectF(origin.x() + 4, top, 220, high_px), 0, tr("z 0: the wheel bears here")
                )

    def below_axle(self) -> None:
        """Mark the side of the axle line where nothing may lie."""
        foot = max(self.view.pixel(0.0, 0.0).y(), self.view.plot.top())
        below = QRectF(self.view.plot)
        below.setTop(foot)
        if below.height() > 0.0:
            self.painter.fillRect(below, QBrush(self.colour("short", 70), Qt.BrushStyle.BDiagPattern))

    # The wheel

    def backdrop(self, behind: Backdrop) -> None:
        """Draw the wheel filled and its blank hatched."""
        transform = self._transform()
        with self.clipped():
            if behind.blank is not None:
                edge = pen(self.colour("blank"))
                self.painter.setPen(pen(self.colour("blank", 90)))
                lines = hatch(behind.blank.flattened(0.5), _HATCH_MM)
                self.painter.drawPath(transform.map(segments(lines)))
                self.painter.setPen(edge)
                self.painter.setBrush(Qt.BrushStyle.NoBrush)
                self.painter.drawPath(transform.map(painter_path(behind.blank)))
                fill = QBrush(self.colour("blank", 90), Qt.BrushStyle.BDiagPattern)
                self._note(Sample(tr("its blank"), SampleForm.AREA, edge, fill))
            if behind.wheel is not None:
                line, fill = pen(self.colour("ink")), QBrush(self.colour("wheel"))
                self.painter.setPen(line)
                self.painter.setBrush(fill)
                self.painter.drawPath(transform.map(painter_path(behind.wheel)))
                self.legend.insert(0, Sample(behind.name, SampleForm.AREA, line, fill))

    def _transform(self) -> QTransform:
        origin, scale = self.view.pixel(0.0, 0.0), self.view.scale
        return QTransform(scale, 0.0, 0.0, -scale, origin.x(), origin.y())

    # What was read

    def outlines(self, laid: Laid, is_pale: bool) -> None:
        """Draw loops, chains and points of one reading; pale while another is on its way."""
        with self.clipped():
            self.painter.setOpacity(0.35 if is_pale else 1.0)
            self._loops(laid)
            if laid.is_chosen:
                self._points(laid)
            self._chains(laid)
            if laid.is_chosen:
                self._joins(laid)
            else:
                self._name(laid)

    def _loops(self, laid: Laid) -> None:
        edge, count = self.colour("shape_edge"), len(laid.drawn.loops)
        taken = [k for k in range(count) if k in laid.taken] if laid.is_chosen else []
        left = [k for k in range(count) if k not in laid.taken] if laid.is_chosen else []
        others = [] if laid.is_chosen else list(range(count))
        no_fill = QBrush(Qt.BrushStyle.NoBrush)
        for numbers, words, line, fill in (
            (others, laid.words, pen(edge, Qt.PenStyle.DashLine), no_fill),
            (left, tr("not taken"), pen(self.colour("quiet"), Qt.PenStyle.DotLine, 1.2), no_fill),
            (taken, tr("taken"), pen(edge, width=1.4), QBrush(self.colour("shape", 170))),
        ):
            if not numbers:
                continue
            self.painter.setPen(line)
            self.painter.setBrush(fill)
            for some in (numbers[k : k + _RINGS] for k in range(0, len(numbers), _RINGS)):
                corners = np.vstack([laid.drawn.loops[k] for k in some])
                counts = [len(laid.drawn.loops[k]) for k in some]
                self.painter.drawPath(_rings(self.view.pixels(laid.lay.points(corners)), counts))
            form = SampleForm.LINE if fill is no_fill else SampleForm.AREA
            self._note(Sample(words, form, line, fill))

    def _chains(self, laid: Laid) -> None:
        line = pen(
            self.colour("short"), Qt.PenStyle.SolidLine if laid.is_chosen else Qt.PenStyle.DashLine, 1.4
        )
        for chain in laid.drawn.chains:
            corners = self.view.pixels(laid.lay.points(chain))
            self.painter.setPen(line)
            self.painter.setBrush(Qt.BrushStyle.NoBrush)
            self.painter.drawPath(_path(corners))
            if laid.is_chosen:
                for x, y in (corners[0], corners[-1]):
                    self.painter.drawRect(QRectF(x - 3, y - 3, 6, 6))
            self._note(Sample(tr("open") if laid.is_chosen else laid.words, SampleForm.LINE, line))

    def _points(self, laid: Laid) -> None:
        dot = pen(self.colour("quiet"), width=2.0)
        for x, y in _apart(self.view, laid.lay.points(laid.drawn.cloud)):
            self.painter.fillRect(QRectF(x - 0.8, y - 0.8, 1.6, 1.6), dot.color())
        if len(laid.drawn.cloud):
            self._note(Sample(tr("points read"), SampleForm.DOTS, dot))
        cross = pen(self.colour("touching"), width=1.3)
        self.painter.setPen(cross)
        for x, y in _apart(self.view, laid.lay.points(laid.drawn.outside)):
            self.painter.drawLine(QPointF(x - 3, y - 3), QPointF(x + 3, y + 3))
            self.painter.drawLine(QPointF(x - 3, y + 3), QPointF(x + 3, y - 3))
        if len(laid.drawn.outside):
            self._note(Sample(tr("left outside"), SampleForm.CROSS, cross))

    def _joins(self, laid: Laid) -> None:
        line = pen(self.colour("accent"), width=1.3)
        taken: list[QRectF] = []
        for k, (x, y) in enumerate(self.view.pixels(laid.lay.points(laid.drawn.joins[:, :2])).tolist(), 1):
            self.painter.setPen(line)
            self.painter.setBrush(Qt.BrushStyle.NoBrush)
            self.painter.drawEllipse(QPointF(x, y), 4.5, 4.5)
            text = str(k)
            box = QRectF(x + 6, y - 15, self.metrics.horizontalAdvance(text) + 2, self.metrics.height())
            if not any(box.intersects(other) for other in taken):
                self.tag(box, text, self.colour("accent"))
                taken.append(box)
            self._note(Sample(tr("joined"), SampleForm.RING, line))

    def _name(self, laid: Laid) -> None:
        box = laid.bounds
        if box is None:
            return
        at = self.view.pixel((box[0] + box[1]) / 2.0, box[3])
        room = self.view.plot
        width, high = self.metrics.horizontalAdvance(laid.words) + 8.0, float(self.metrics.height())
        x = min(max(at.x() - width / 2.0, room.left() + 2), room.right() - width - 2)
        y = min(max(at.y() - high - 2.0, room.top() + high + 2), room.bottom() - high - 2)
        self.tag(QRectF(x, y, width, high), laid.words, self.colour("shape_edge"))

    def tag(self, box: QRectF, words: str, ink: QColor) -> None:
        """Write words on paper."""
        self.painter.setPen(Qt.PenStyle.NoPen)
        self.painter.setBrush(self.colour("paper", 225))
        self.painter.drawRoundedRect(box, 3, 3)
        self.painter.setPen(ink)
        self.painter.drawText(box, Qt.AlignmentFlag.AlignCenter, words)

    def numbers(self, laid: Laid) -> list[QPointF]:
        """Number several outlines from 1 in their order; return where the numbers stand, pixels."""
        loops = laid.drawn.loops
        if not 1 < len(loops) <= _NUMBERED:
            return []
        apart = 1.5 * self.metrics.height()
        polygons = [thinned(self.view.pixels(laid.lay.points(p)), 2.0) for p in loops]
        places = number_places(polygons, apart)
        is_small = [float(np.ptp(p, axis=0).max()) < 1.5 * apart for p in polygons]
        spots = number_spots(places, apart, self.view.plot, is_small)
        for k, ((x, y), spot) in enumerate(zip(places, spots, strict=True)):
            ink = self.colour("shape_edge" if k in laid.taken else "quiet")
            self.painter.setPen(pen(ink))
            self.painter.drawLine(spot, QPointF(x, y))
            half = self.metrics.height() / 2.0 + 1.0
            wide = max(half, self.metrics.horizontalAdvance(str(k + 1)) / 2.0 + 4.0)
            box = QRectF(spot.x() - wide, spot.y() - half, 2.0 * wide, 2.0 * half)
            self.painter.setBrush(self.colour("paper"))
            self.painter.drawRoundedRect(box, half, half)
            self.painter.drawText(box, Qt.AlignmentFlag.AlignCenter, str(k + 1))
        return spots

    def gap(self, mark: GapMark) -> None:
        """Draw the nearest places and what lies between them."""
        ink = QColor(self.colours.of(mark.state))
        style = LINES[mark.state] if mark.state is not None else Qt.PenStyle.SolidLine
        p, q = self.view.pixel(*mark.at_wheel), self.view.pixel(*mark.at_shape)
        with self.clipped():
            self.painter.setPen(pen(ink, style, 1.6))
            self.painter.drawLine(p, q)
            self.painter.setBrush(ink)
            for end in (p, q):
                self.painter.drawEllipse(end, 2.5, 2.5)
            width, high = self.metrics.horizontalAdvance(mark.words) + 8.0, float(self.metrics.height())
            middle = (p + q) / 2.0
            room = self.view.plot
            x = min(max(middle.x() + 10, room.left() + 2), room.right() - width - 2)
            y = min(max(middle.y() + 8, room.top() + 2), room.bottom() - high - 2)
            self.tag(QRectF(x, y, width, high), mark.words, ink)


def _path(pixels: Array) -> QPainterPath:
    corners = thinned(pixels, _SAME_PX)
    path: QPainterPath = arrayToQPath(
        np.ascontiguousarray(corners[:, 0]), np.ascontiguousarray(corners[:, 1])
    )
    return path


def _rings(pixels: Array, counts: Sequence[int]) -> QPainterPath:
    """Return closed rings of so many corners each, which follow each other in (m, 2) pixels, as one path."""
    ends = np.cumsum(counts)
    first = np.zeros(len(pixels), dtype=bool)
    first[ends - counts] = True
    cells = np.round(pixels / _SAME_PX)
    keep = first | np.append(True, np.any(np.diff(cells, axis=0) != 0.0, axis=1))
    ring = np.repeat(np.arange(len(counts)), counts)[keep]
    # Each ring ends on its first corner again, and is not joined to the next.
    stops = np.searchsorted(ring, np.arange(len(counts)), side="right")
    starts = np.searchsorted(ring, np.arange(len(counts)))
    corners = np.insert(pixels[keep], stops, pixels[keep][starts], axis=0)
    joined = np.ones(len(corners), dtype=np.int32)
    joined[stops + np.arange(len(counts))] = 0
    path: QPainterPath = arrayToQPath(
        np.ascontiguousarray(corners[:, 0]), np.ascontiguousarray(corners[:, 1]), connect=joined
    )
    path.setFillRule(Qt.FillRule.WindingFill)
    return path


def _apart(view: View, places: Array) -> Sequence[tuple[float, float]]:
    """Return the pixels of places, each pixel once, within the plot."""
    pixels = np.unique(np.round(view.pixels(places)), axis=0)
    room = view.plot
    inside = (pixels[:, 0] >= room.left()) & (pixels[:, 0] <= room.right())
    inside &= (pixels[:, 1] >= room.top()) & (pixels[:, 1] <= room.bottom())
    return [(float(x), float(y)) for x, y in pixels[inside]]

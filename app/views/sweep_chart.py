"""The curve of a sweep: what the least gap has to spare, over spacer, inset or tilt."""

from __future__ import annotations

import math
from itertools import pairwise

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QMouseEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.language import tr
from app.studies.sweep import Over, Sweep, SweepPoint
from app.units import LengthUnit, format_length, length_in
from app.views.readings_text import minus
from app.views.theme import Theme, figures
from geometry.readings.rules import State

_LEFT, _RIGHT, _TOP, _BOTTOM = 46.0, 12.0, 20.0, 26.0
_NAMED = {
    Over.INSET: tr("inset"),
    Over.SPACER: tr("spacer"),
    Over.TILT: tr("tilt, degrees"),
    Over.WIDTH: tr("width"),
}
#: Pixels between two numbers along an axis, at least.
_APART_X, _APART_Y = 60.0, 26.0


class SweepChart(QWidget):
    """Draws one sweep; below zero a rule is missed. The pointer tells value, spare and place of a point."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.sweep: Sweep | None = None
        self._now = 0.0
        self._unit: LengthUnit = "mm"
        self.setFont(figures(self.font()))
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(tr("Curve of the least gap"))

    def sizeHint(self) -> QSize:
        """Return room for the curve with its axes."""
        return QSize(360, 150)

    def show_sweep(self, found: Sweep | None, now: float, unit: LengthUnit = "mm") -> None:
        """Show another curve, its lengths in a unit, and where the wheel stands on it now."""
        self.sweep, self._now, self._unit = found, now, unit
        if found is not None and found.best is not None:
            best = tr("best at {over} {value}", over=found.over, value=self._at(found.best))
            shape = "" if found.is_monotone else tr(", and not the more the better")
            self.setAccessibleDescription(
                minus(
                    tr(
                        "{best}, {height} to spare{shape}",
                        best=best,
                        height=self._spare(found.best),
                        shape=shape,
                    )
                )
            )
        self.update()

    # In the unit that is shown

    def _across(self, value: float) -> float:
        """Return a value of the sweep as the axis has it; tilt and size code know one unit."""
        is_length = self.sweep is not None and self.sweep.over in (Over.INSET, Over.SPACER)
        return length_in(value, self._unit) if is_length else value

    def _up(self, point: SweepPoint) -> float:
        return length_in(_height_mm(point), self._unit)

    def _at(self, point: SweepPoint) -> str:
        value = self._across(point.value)
        return f"{value:.1f}" if value == point.value else f"{value:.2f}"

    def _spare(self, point: SweepPoint) -> str:
        return format_length(_height_mm(point), self._unit, with_unit=False)

    # Where things lie

    def _points(self) -> list[SweepPoint]:
        return [p for p in self.sweep.points if p.least_mm is not None] if self.sweep is not None else []

    def _room(self) -> QRectF:
        return QRectF(_LEFT, _TOP, self.width() - _LEFT - _RIGHT, self.height() - _TOP - _BOTTOM)

    def place(self, point: SweepPoint) -> QPointF:
        """Return the pixel of a point of the curve."""
        return self._pixel(self._across(point.value), self._up(point))

    def _pixel(self, value: float, height: float) -> QPointF:
        (x0, x1), (y0, y1), room = *self._spans(), self._room()
        return QPointF(
            room.left() + (value - x0) / (x1 - x0) * room.width(),
            room.bottom() - (height - y0) / (y1 - y0) * room.height(),
        )

    def _spans(self) -> tuple[tuple[float, float], tuple[float, float]]:
        points = self._points()
        values, heights = [self._across(p.value) for p in points], [0.0, *map(self._up, points)]
        low, high = min(heights), max(heights)
        spare = 0.06 * max(high - low, length_in(1.0, self._unit))
        return (min(values), max(max(values), min(values) + 1e-6)), (low - spare, high + spare)

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw axes, the line of no spare, the curve, the present value and the best."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._theme.colour("paper"))
        points = self._points()
        if self.sweep is None or len(points) < 2:
            painter.setPen(self._theme.colour("quiet"))
            painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, tr("no curve"))
            return
        self._axes(painter)
        painter.setPen(QPen(self._theme.colour("shape_edge"), 1.6))
        painter.drawPolyline(QPolygonF([self.place(p) for p in points]))
        nearest = min(points, key=lambda p: abs(p.value - self._now))
        marks = [(nearest, tr("now"), self._theme.state_colour(_state(nearest)))]
        if self.sweep.best is not None and self.sweep.best is not nearest:
            marks.append((self.sweep.best, tr("best"), self._theme.colour("quiet")))
        for point, word, colour in marks:
            at = self.place(point)
            painter.setPen(QPen(colour, 1.4))
            painter.setBrush(self._theme.colour("paper"))
            painter.drawEllipse(at, 3.5, 3.5)
            painter.drawText(self._base(painter.fontMetrics(), at, word), word)

    def _base(self, metrics: QFontMetrics, at: QPointF, word: str) -> QPointF:
        """Return where a word beside a place begins: it hides as little of curve and zero line as it can."""
        room, size = self._room(), metrics.tightBoundingRect(word)
        zero = self._pixel(0.0, 0.0).y()
        curve = [self.place(p) for p in self._points()]
        curve += [(a + b) / 2.0 for a, b in pairwise(curve)]

        def hidden(base: QPointF) -> float:
            box = QRectF(size).translated(base).adjusted(-2.0, -2.0, 2.0, 2.0)
            outside = not room.adjusted(0.0, 0.0, _RIGHT, 0.0).contains(box)
            return 1000.0 * outside + sum(map(box.contains, curve)) + (box.top() <= zero <= box.bottom())

        right, left = at.x() + 6.0, at.x() - 6.0 - metrics.horizontalAdvance(word)
        return min((QPointF(x, at.y() + dy) for dy in (-5.0, 15.0) for x in (right, left)), key=hidden)

    def _axes(self, painter: QPainter) -> None:
        (x0, x1), (y0, y1), room = *self._spans(), self._room()
        metrics = painter.fontMetrics()
        for value in _round(x0, x1, room.width() / _APART_X):
            x = room.left() + (value - x0) / (x1 - x0) * room.width()
            painter.setPen(self._theme.colour("grid"))
            painter.drawLine(QPointF(x, room.top()), QPointF(x, room.bottom()))
            painter.setPen(self._theme.colour("quiet"))
            text = minus(f"{value:g}")
            painter.drawText(QPointF(x - metrics.horizontalAdvance(text) / 2.0, self.height() - 8.0), text)
        for value in _round(y0, y1, room.height() / _APART_Y):
            y = room.bottom() - (value - y0) / (y1 - y0) * room.height()
            painter.setPen(self._theme.colour("ink" if value == 0.0 else "grid"))
            painter.drawLine(QPointF(room.left(), y), QPointF(room.right(), y))
            painter.setPen(self._theme.colour("quiet"))
            text = minus(f"{value:g}")
            painter.drawText(
                QPointF(
                    room.left() - metrics.horizontalAdvance(text) - 6.0, y + metrics.ascent() / 2.0 - 1.0
                ),
                text,
            )
        assert self.sweep is not None
        title = tr("spare gap, {unit}, over {named}", unit=self._unit, named=_NAMED[self.sweep.over])
        painter.drawText(QPointF(6.0, 13.0), title)
        said = self.best_words()
        painter.drawText(QPointF(self.width() - metrics.horizontalAdvance(said) - 8.0, 13.0), said)

    def best_words(self) -> str:
        """Return the best value, and whether the curve turns: more is then not always better."""
        if self.sweep is None or self.sweep.best is None:
            return ""
        best = self.sweep.best
        turns = "" if self.sweep.is_monotone else tr(", the curve turns")
        value = f"{round(self._across(best.value), 3):g}"
        return minus(tr("best {value}: {height}{turns}", value=value, height=self._spare(best), turns=turns))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Tell the point of the curve under the pointer."""
        points = self._points()
        if len(points) < 2:
            return
        near = min(points, key=lambda p: abs(self.place(p).x() - event.position().x()))
        self.setToolTip(self.words(near))

    def words(self, point: SweepPoint) -> str:
        """Return what is said of a point."""
        assert self.sweep is not None
        where = tr("{body} to {shape}", body=point.body or point.zone, shape=point.shape)
        where += (
            tr(" in the worst state ({condition})", condition=point.condition)
            if point.condition
            else tr(" on paper")
        )
        return minus(
            tr(
                "{over} {value}: {height} to spare, {where}",
                over=self.sweep.over,
                value=self._at(point),
                height=self._spare(point),
                where=where,
            )
        )


def _height_mm(point: SweepPoint) -> float:
    return point.spare_mm if point.spare_mm is not None else point.least_mm or 0.0


def _state(point: SweepPoint) -> State:
    return State.SHORT if _height_mm(point) < 0.0 else State.CLEAR


def _round(low: float, high: float, count: float) -> list[float]:
    """Return round numbers between two, about so many."""
    rough = (high - low) / max(count, 1.0)
    base = 10.0 ** math.floor(math.log10(rough))
    step = next(base * f for f in (1.0, 2.0, 5.0, 10.0) if base * f >= rough)
    first = math.ceil(low / step)
    return [round(k * step, 9) + 0.0 for k in range(first, math.floor(high / step) + 1)]

"""What was clicked, painted over a picture: lines that stand out from any photograph."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen, QPolygonF

from app.units import LengthUnit, format_length
from app.views.canvas.items import pen
from app.views.theme import Colours
from app.window.dialogs.trace_state import LENGTH_AXES, Trace
from app.window.dialogs.trace_view import Image, TraceView
from geometry.shape.curve import Array, Path
from geometry.shape.outline import outline_path
from geometry.shape.tracing import Pixel, shown_at, traced

#: How finely rounded corners are drawn, mm.
_CHORD_MM = 0.05
#: The enlarged look about the pointer: its side, and how many times the sheet's scale it has at least.
LOUPE_PX, _LOUPE_TIMES, _LOUPE_LEAST = 128.0, 4.0, 4.0
_POINT_PX = 4.0


@dataclass
class Painting:
    """One painting of the sheet."""

    painter: QPainter
    view: TraceView
    colours: Colours
    unit: LengthUnit

    def colour(self, role: str, alpha: int = 255) -> QColor:
        """Return a colour of the theme."""
        result = QColor(str(getattr(self.colours, role)))
        result.setAlpha(alpha)
        return result

    # Lines

    def _stroke(self, path: QPainterPath, ink: QPen) -> None:
        """Draw a path over a broader pale one, so that it is seen on dark and on light."""
        halo = pen(self.colour("paper", 190), width=ink.widthF() + 2.6)
        self.painter.setBrush(Qt.BrushStyle.NoBrush)
        for one in (halo, ink):
            self.painter.setPen(one)
            self.painter.drawPath(path)

    def _line(self, a: QPointF, b: QPointF, ink: QPen) -> None:
        path = QPainterPath(a)
        path.lineTo(b)
        self._stroke(path, ink)

    def tag(self, at: QPointF, words: str, ink: QColor) -> None:
        """Write words on paper beside a place, within the plot."""
        metrics, room = self.painter.fontMetrics(), self.view.view.plot
        width, high = metrics.horizontalAdvance(words) + 8.0, float(metrics.height())
        x = min(max(at.x(), room.left() + 2), room.right() - width - 2)
        y = min(max(at.y(), room.top() + 2), room.bottom() - high - 2)
        box = QRectF(x, y, width, high)
        self.painter.setPen(Qt.PenStyle.NoPen)
        self.painter.setBrush(self.colour("paper", 230))
        self.painter.drawRoundedRect(box, 3, 3)
        self.painter.setPen(ink)
        self.painter.drawText(box, Qt.AlignmentFlag.AlignCenter, words)

    def _length(self, value_mm: float) -> str:
        return format_length(value_mm, self.unit).replace("-", "−")

    # What was pointed at

    def level(self, trace: Trace) -> None:
        """Draw the line that was made level or upright."""
        if trace.lie.level is not None:
            a, b = (self.view.point(end) for end in trace.lie.level)
            self._line(a, b, pen(self.colour("quiet"), Qt.PenStyle.DashLine, 1.2))

    def lengths(self, trace: Trace) -> None:
        """Draw the known lengths with what they are known to be."""
        ink = pen(self.colour("accent"), width=1.6)
        for axis, length in zip(LENGTH_AXES, trace.lengths, strict=True):
            if length.ends is None:
                continue
            a, b = (self.view.point(end) for end in length.ends)
            self._line(a, b, ink)
            across = QPointF(0.0, 7.0) if axis == "z" else QPointF(7.0, 0.0)
            for end in (a, b):
                self._line(end - across, end + across, ink)
            words = "?" if length.true_mm is None else self._length(length.true_mm)
            # The middle is where a drawing writes its own number.
            self.tag(a * 0.75 + b * 0.25 + QPointF(6.0, 4.0), f"{axis} {words}", self.colour("accent"))

    def zeros(self, trace: Trace) -> None:
        """Draw the mounting face upright and the axle line level, through where they were pointed at."""
        ink, plot = QPen(self.colour("ink")), self.view.view.plot
        ink.setWidthF(1.2)
        ink.setDashPattern([14.0, 4.0, 2.0, 4.0])
        if trace.face is not None:
            at = self.view.point(trace.face)
            self._line(QPointF(at.x(), plot.top()), QPointF(at.x(), plot.bottom()), ink)
            where = QPointF(at.x() + 4.0, plot.top() + 4.0)
            self.tag(where, f"z {self._length(trace.face_mm)}", self.colour("ink"))
        if trace.axle is not None:
            at = self.view.point(trace.axle)
            self._line(QPointF(plot.left(), at.y()), QPointF(plot.right(), at.y()), ink)
            where = QPointF(plot.left() + 4.0, at.y() + 4.0)
            self.tag(where, f"r {self._length(trace.axle_mm)}", self.colour("ink"))

    def pending(self, first: Pixel, pointer: Pixel | None) -> None:
        """Draw the first of two places, and the line to where the pointer is."""
        at, ink = self.view.point(first), pen(self.colour("accent"), width=1.6)
        if pointer is not None:
            self._line(at, self.view.point(pointer), ink)
        self._cross(at, ink)

    def _cross(self, at: QPointF, ink: QPen, arm: float = 7.0) -> None:
        self._line(at - QPointF(arm, 0.0), at + QPointF(arm, 0.0), ink)
        self._line(at - QPointF(0.0, arm), at + QPointF(0.0, arm), ink)

    # The outline

    def outline(self, trace: Trace, selected: int | None, pointer: Pixel | None) -> None:
        """Draw the outline: its straight sides, its rounded course, its points."""
        if not trace.points:
            return
        places = self.view.shown(shown_at(trace.points, trace.map()))
        edge = self.colour("shape_edge")
        rounded = self._rounded(trace)
        line = QPainterPath()
        line.addPolygon(QPolygonF([QPointF(x, y) for x, y in places.tolist()]))
        if trace.is_closed:
            line.closeSubpath()
            self.painter.fillPath(line if rounded is None else rounded, self.colour("shape", 90))
        dashed = rounded is not None and any(p.radius for p in trace.points)
        style = Qt.PenStyle.DashLine if dashed else Qt.PenStyle.SolidLine
        self._stroke(line, pen(edge, style, 1.0 if dashed else 1.6))
        if rounded is not None and dashed:
            self._stroke(rounded, pen(edge, width=1.6))
        if not trace.is_closed and pointer is not None:
            last = QPointF(*places[-1].tolist())
            self._line(last, self.view.point(pointer), pen(edge, Qt.PenStyle.DashLine, 1.2))
        self._points(places, selected, edge)

    def _rounded(self, trace: Trace) -> QPainterPath | None:
        """Return the outline with its corner radii; None where it is open or they do not fit."""
        picture = trace.map()
        if picture is None or not trace.is_closed:
            return None
        try:
            path = outline_path(traced(trace.points, picture))
        except ValueError:
            return None
        if not isinstance(path, Path):
            return None
        course = self.view.shown(picture.pixels(path.flattened(_CHORD_MM)))
        result = QPainterPath()
        result.addPolygon(QPolygonF([QPointF(x, y) for x, y in course.tolist()]))
        result.closeSubpath()
        return result

    def _points(self, places: Array, selected: int | None, edge: QColor) -> None:
        for k, (x, y) in enumerate(places.tolist()):
            size = _POINT_PX + (2.0 if k in (0, selected) else 0.0)
            self.painter.setPen(pen(self.colour("paper"), width=1.0))
            self.painter.setBrush(edge if k == selected else self.colour("paper"))
            self.painter.drawEllipse(QPointF(x, y), size + 1.0, size + 1.0)
            self.painter.setPen(pen(edge, width=1.6))
            self.painter.drawEllipse(QPointF(x, y), size, size)
        if selected is not None and selected < len(places):
            x, y = places[selected].tolist()
            self.tag(QPointF(x + 9.0, y + 7.0), str(selected + 1), edge)

    # The pointer

    def pointer(self, at: Pixel, image: Image, dots: float) -> None:
        """Draw a cross at the pointer, and the picture there enlarged in a corner of the sheet."""
        place = self.view.point(at)
        self._cross(place, pen(self.colour("accent"), width=1.2), 12.0)
        room = self.view.view.plot
        left = place.x() > room.center().x()
        x = room.left() + 8.0 if left else room.right() - LOUPE_PX - 8.0
        box = QRectF(x, room.top() + 8.0, LOUPE_PX, LOUPE_PX)
        scale = max(_LOUPE_LEAST, _LOUPE_TIMES * self.view.view.scale)
        u, v = (self.view.lie.matrix @ np.array(at)).tolist()
        near = type(self.view.view)(box, u, v, scale)
        self.painter.save()
        self.painter.setClipRect(box)
        self.painter.fillRect(box, self.colour("paper"))
        TraceView(self.view.lie, near, self.view.width, self.view.height).draw(self.painter, image, dots)
        middle, ink = box.center(), pen(self.colour("accent"))
        self.painter.setPen(ink)
        for arm in (QPointF(LOUPE_PX, 0.0), QPointF(0.0, LOUPE_PX)):
            self.painter.drawLine(middle - arm, middle - arm / 12.0)
            self.painter.drawLine(middle + arm / 12.0, middle + arm)
        self.painter.restore()
        self.painter.setBrush(Qt.BrushStyle.NoBrush)
        self.painter.setPen(pen(self.colour("ink")))
        self.painter.drawRect(box)

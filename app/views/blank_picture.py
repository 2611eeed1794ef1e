"""The blank of a group as a picture: over the wheels it holds, each stretch in its wheel's colour."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QColor,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPen,
    QPolygonF,
    QTransform,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.studies.composite import Composite
from app.studies.spun import SpunBlank
from app.views.canvas.items import painter_path
from app.views.theme import Theme, figures

#: Colours of the wheels, one after the other; each wheel's number stands beside its stretch as well.
WHEEL_COLOURS = ("#2f6db5", "#b5562b", "#3f8f5b", "#8a5bb0", "#a07a10", "#1f8a9c", "#b23a6b", "#5f6b2b")

_ROOM = 26.0


def wheel_colour(number: int) -> QColor:
    """Return the colour of a wheel of the group."""
    return QColor(WHEEL_COLOURS[number % len(WHEEL_COLOURS)])


class BlankPicture(QWidget):
    """Draws one composite blank; the wheel zooms about the pointer, a double click shows all again."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.result: Composite | None = None
        self.spun: SpunBlank | None = None
        self._zoom, self._about = 1.0, QPointF()
        self.setFont(figures(self.font()))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("The blank and the wheels in it")

    def sizeHint(self) -> QSize:
        """Return room for a half-section."""
        return QSize(560, 420)

    def show_result(self, result: Composite | None, spun: SpunBlank | None = None) -> None:
        """Draw another blank; forged and spun where that is given."""
        self.result, self.spun = result, spun
        self._zoom = 1.0
        if result is not None:
            said = f"{result.mass_kg:.2f} kg, {len(result.wheels)} wheels"
            if spun is not None:
                said = f"{spun.mass_kg:.2f} kg forged and spun, {len(result.wheels)} wheels"
            self.setAccessibleDescription(said)
        self.update()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom about the pointer."""
        factor = 1.25 if event.angleDelta().y() > 0 else 0.8
        zoom = min(max(self._zoom * factor, 1.0), 40.0)
        at = event.position()
        self._about = at - (at - self._about) * (zoom / self._zoom) if zoom > 1.0 else QPointF()
        self._zoom = zoom
        self.update()

    def mouseDoubleClickEvent(self, event: object) -> None:
        """Show all again."""
        self._zoom, self._about = 1.0, QPointF()
        self.update()

    def _to_pixels(self, result: Composite) -> QTransform:
        paths = [result.path]
        if self.spun is not None:
            paths = [self.spun.found.path, self.spun.found.preform.path]
        bounds = [path.bounds for path in paths]
        z0, z1, r1 = min(b[0] for b in bounds), max(b[1] for b in bounds), max(b[3] for b in bounds)
        room = QRectF(self.rect()).adjusted(_ROOM, _ROOM, -_ROOM, -_ROOM)
        scale = min(room.width() / (z1 - z0), room.height() / r1)
        left = room.center().x() - scale * (z0 + z1) / 2.0
        whole = QTransform(scale, 0.0, 0.0, -scale, left, room.center().y() + scale * r1 / 2.0)
        return whole * QTransform(self._zoom, 0.0, 0.0, self._zoom, self._about.x(), self._about.y())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw wheels, blank, deciding stretches, axle line and parting."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._theme.colour("paper"))
        if self.result is None:
            painter.setPen(self._theme.colour("quiet"))
            words = "Tick the wheels that the blank must hold, and press Find."
            painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, words)
            return
        to_pixels = self._to_pixels(self.result)
        if self.spun is not None:
            self._draw_spun(painter, self.spun, to_pixels)
            return
        self._draw_areas(painter, self.result, to_pixels)
        self._draw_stretches(painter, self.result, to_pixels)
        self._draw_planes(painter, self.result, to_pixels)

    def _draw_areas(self, painter: QPainter, result: Composite, to_pixels: QTransform) -> None:
        blank = to_pixels.map(painter_path(result.path))
        painter.fillPath(blank, self._faint("blank", 34))
        for number, (_, path) in enumerate(result.held):
            colour = wheel_colour(number)
            shape: QPainterPath = to_pixels.map(painter_path(path))
            filled = QColor(colour)
            filled.setAlpha(26)
            painter.fillPath(shape, filled)
            painter.strokePath(shape, QPen(colour, 0.8, Qt.PenStyle.DotLine))

    def _draw_spun(self, painter: QPainter, spun: SpunBlank, to_pixels: QTransform) -> None:
        """Draw the outline as spun in full, the forging dashed, finished wheels phantom."""
        ink = self._theme.colour("ink")
        shape: QPainterPath = to_pixels.map(painter_path(spun.found.path))
        painter.fillPath(shape, self._faint("blank", 34))
        for number, (_, path) in enumerate(spun.held):
            phantom = QPen(wheel_colour(number), 0.9, Qt.PenStyle.DashDotDotLine)
            painter.strokePath(to_pixels.map(painter_path(path)), phantom)
        painter.strokePath(shape, QPen(ink, 2.0))
        forged = QPen(self._theme.colour("blank"), 1.6, Qt.PenStyle.DashLine)
        painter.strokePath(to_pixels.map(painter_path(spun.found.preform.path)), forged)
        quiet = self._theme.colour("quiet")
        painter.setPen(QPen(quiet, 0.8, Qt.PenStyle.DashDotLine))
        z0, z1, _, r1 = spun.found.path.bounds
        painter.drawLine(to_pixels.map(QPointF(z0 - 12.0, 0.0)), to_pixels.map(QPointF(z1 + 12.0, 0.0)))
        z, r = spun.found.root
        painter.drawLine(to_pixels.map(QPointF(z, r - 14.0)), to_pixels.map(QPointF(z, r1 + 8.0)))
        at = to_pixels.map(QPointF(z, r1))
        right = Qt.AlignmentFlag.AlignRight
        painter.drawText(QRectF(at.x() - 126.0, at.y() - 20.0, 120.0, 16.0), right, "spun")
        painter.drawText(at + QPointF(6.0, -8.0), "forged")
        note = "full: as spun; dashed: the forging; phantom: finished wheels"
        painter.drawText(
            QRectF(self.rect()).adjusted(10.0, 6.0, -10.0, -6.0), Qt.AlignmentFlag.AlignBottom, note
        )

    def _faint(self, role: str, alpha: int) -> QColor:
        colour = QColor(self._theme.colour(role))
        colour.setAlpha(alpha)
        return colour

    def _draw_stretches(self, painter: QPainter, result: Composite, to_pixels: QTransform) -> None:
        single = len(result.wheels) == 1
        longest: dict[int, tuple[float, QPointF]] = {}
        for number, points in result.stretches:
            is_fillet = number < 0
            colour = self._theme.colour("ink") if is_fillet or single else wheel_colour(number)
            pixels = [to_pixels.map(QPointF(z, r)) for z, r in points.tolist()]
            painter.setPen(QPen(colour, 1.2 if is_fillet else 2.2))
            painter.drawPolyline(QPolygonF(pixels))
            length = float(np.hypot(*np.diff(points[[0, -1]], axis=0)[0]))
            if not is_fillet and not single and length > longest.get(number, (0.0, QPointF()))[0]:
                longest[number] = length, pixels[0] + (pixels[-1] - pixels[0]) * 0.35
        for number, (_, at) in longest.items():
            painter.setPen(wheel_colour(number))
            painter.drawText(at + QPointF(6.0, -5.0), str(number + 1))

    def _draw_planes(self, painter: QPainter, result: Composite, to_pixels: QTransform) -> None:
        z0, z1, _, _ = result.path.bounds
        quiet = self._theme.colour("quiet")
        painter.setPen(QPen(quiet, 0.8, Qt.PenStyle.DashDotLine))
        painter.drawLine(to_pixels.map(QPointF(z0 - 12.0, 0.0)), to_pixels.map(QPointF(z1 + 12.0, 0.0)))
        z, r = result.parting_mm
        at = to_pixels.map(QPointF(z, r))
        painter.drawLine(at + QPointF(0.0, 4.0), at + QPointF(0.0, -14.0))
        room = QRectF(at.x() - 124.0, at.y() - 22.0, 120.0, 16.0)
        painter.drawText(room, Qt.AlignmentFlag.AlignRight, "dies meet")

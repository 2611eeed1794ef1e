"""One stage of a wheel in its blank as a picture: its metal, what the next stage cuts, how it is held."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QKeyEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QTransform,
)
from PySide6.QtWidgets import QWidget

from app.language import spoken, tr
from app.reports.numbers import Numbers
from app.reports.stage_drawing import holding_lines
from app.studies.stages import Followed, StageReading
from app.views.canvas.items import chain_line, painter_path
from app.views.readings_text import minus
from app.views.theme import Theme, figures
from app.views.zoomed import ZoomedPicture
from geometry.forging.stages import StageName

_ROOM = 34.0
#: Length of the marks along datum and jaws, and their distance, pixels.
_TICK, _TICKS_APART = 8.0, 9.0
_STEPS = {
    Qt.Key.Key_Left: -1,
    Qt.Key.Key_Up: -1,
    Qt.Key.Key_Right: 1,
    Qt.Key.Key_Down: 1,
    Qt.Key.Key_Home: -100,
    Qt.Key.Key_End: 100,
}


class StagePicture(ZoomedPicture):
    """Draws one stage; the wheel zooms about the pointer, a drag moves, a double click shows all again.

    Signals:
        stepped(by): an arrow key asks for the stage so many places on.
    """

    stepped = Signal(int)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.found: Followed | None = None
        self.stage: StageReading | None = None
        self._following: StageReading | None = None
        self._numbers = Numbers("mm")
        self.setFont(figures(self.font()))
        self.setAccessibleName(tr("The chosen stage"))
        theme.changed.connect(self.update)

    def sizeHint(self) -> QSize:
        """Return room for a half-section."""
        return QSize(640, 480)

    def show_stage(self, found: Followed | None, row: int, numbers: Numbers) -> None:
        """Draw a stage; the place that is looked at stays while another stage is chosen."""
        self.found, self._numbers = found, numbers
        self.stage = self._following = None
        if found is not None:
            self.stage = found.stages[row]
            self._following = found.stages[row + 1] if row + 1 < len(found.stages) else None
            held = self.stage.holding
            said = "" if held is None else f"; {spoken(held.datum_words(numbers.length))}"
            self.setAccessibleDescription(
                tr(
                    "{name}, {mass_kg:.2f} kg{said}",
                    name=self.stage.name,
                    mass_kg=self.stage.mass_kg,
                    said=said,
                )
            )
        self.update()

    # Looking

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Step through the stages; + and - zoom."""
        step = _STEPS.get(Qt.Key(event.key()))
        if step is None:
            super().keyPressEvent(event)
        else:
            self.stepped.emit(step)

    def to_pixels(self, found: Followed) -> QTransform:
        """Return the map from (z, r) in mm to pixels; every stage lies where the blank's does."""
        bounds = [stage.path.bounds for stage in found.stages]
        z0, z1, r1 = min(b[0] for b in bounds), max(b[1] for b in bounds), max(b[3] for b in bounds)
        return self.fitted((z0, z1), r1, QRectF(self.rect()).adjusted(_ROOM, _ROOM, -_ROOM, -_ROOM))

    # Drawing

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw metal, wheel, holding, the thickest place and the least stock."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._theme.colour("paper"))
        if self.found is None or self.stage is None:
            painter.setPen(self._theme.colour("quiet"))
            painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, tr("No stages yet."))
            return
        to_pixels = self.to_pixels(self.found)
        self._draw_metal(painter, self.stage, to_pixels)
        wheel = to_pixels.map(painter_path(self.found.outline.path))
        if self.stage.name is not StageName.FINISHED:
            painter.strokePath(wheel, chain_line(self._theme.colour("ink")))
        self._draw_axle(painter, self.found, to_pixels)
        self._draw_holding(painter, self.found, self.stage, to_pixels)
        if self.stage.name is StageName.TREATED:
            self._draw_thickest(painter, self.found, to_pixels)
        self._draw_least(painter, self.stage, to_pixels)

    def _faint(self, role: str, alpha: int) -> QColor:
        colour = QColor(self._theme.colour(role))
        colour.setAlpha(alpha)
        return colour

    def _draw_metal(self, painter: QPainter, stage: StageReading, to_pixels: QTransform) -> None:
        metal = to_pixels.map(painter_path(stage.path))
        following = self._following
        if following is not None and following.name is StageName.SPUN:
            # Spinning cuts nothing: the same metal gets another shape.
            painter.fillPath(metal, self._faint("blank", 90))
            after = to_pixels.map(painter_path(following.path))
            painter.strokePath(after, QPen(self._theme.colour("accent"), 1.2, Qt.PenStyle.DashLine))
        elif following is None or following.path is stage.path:
            painter.fillPath(metal, self._faint("blank", 90))
        else:
            painter.fillPath(metal, self._faint("tight", 70))
            kept = to_pixels.map(painter_path(following.path))
            painter.fillPath(kept, self._theme.colour("paper"))
            painter.fillPath(kept, self._faint("blank", 90))
        painter.strokePath(metal, QPen(self._theme.colour("ink"), 1.6))

    def _draw_axle(self, painter: QPainter, found: Followed, to_pixels: QTransform) -> None:
        z0, z1, _, _ = found.stages[0].path.bounds
        painter.setPen(chain_line(self._theme.colour("quiet")))
        painter.drawLine(to_pixels.map(QPointF(z0 - 12.0, 0.0)), to_pixels.map(QPointF(z1 + 12.0, 0.0)))

    def _draw_holding(
        self, painter: QPainter, found: Followed, stage: StageReading, to_pixels: QTransform
    ) -> None:
        datum, grip = holding_lines(stage.holding, found.settings.route.jaw_mm)
        held = stage.holding
        if held is None:
            return
        for k, (start, end) in enumerate(datum):
            # The chuck lies beyond the face; the spigot of the chuck within the bore.
            away = QPointF(0.0, 1.0) if k else QPointF(1.0 if held.outboard else -1.0, 0.0)
            self._draw_marked(painter, (start, end), away, "accent", to_pixels, "" if k else tr("datum"))
        for line in grip:
            away = QPointF(0.0, -1.0 if held.is_outside else 1.0)
            self._draw_marked(painter, line, away, "short", to_pixels, tr("jaws"))

    def _draw_marked(
        self,
        painter: QPainter,
        line: tuple[tuple[float, float], tuple[float, float]],
        away: QPointF,
        role: str,
        to_pixels: QTransform,
        words: str,
    ) -> None:
        """Draw a stretch of skin thick, with ticks on the side that something lies against."""
        start, end = (to_pixels.map(QPointF(*place)) for place in line)
        colour = self._theme.colour(role)
        painter.setPen(QPen(colour, 3.0))
        painter.drawLine(start, end)
        painter.setPen(QPen(colour, 1.0))
        along = end - start
        length = (along.x() ** 2 + along.y() ** 2) ** 0.5
        count = min(int(length / _TICKS_APART), 400)
        for k in range(count + 1):
            at = start + along * (k / max(count, 1))
            painter.drawLine(at, at + away * _TICK + along * (0.5 * _TICK / max(length, 1.0)))
        if words:
            room = QRectF(0.0, 0.0, 80.0, 16.0)
            room.moveCenter((start + end) / 2.0 + QPointF(away.x() * 34.0, away.y() * 19.0))
            painter.drawText(room, Qt.AlignmentFlag.AlignCenter, words)

    def _draw_thickest(self, painter: QPainter, found: Followed, to_pixels: QTransform) -> None:
        treated = found.treated
        centre = to_pixels.map(QPointF(*treated.at))
        radius = treated.thickest_mm / 2.0 * to_pixels.m11()
        painter.setPen(QPen(self._theme.colour("accent"), 1.6))
        painter.drawEllipse(centre, radius, radius)
        self._label(painter, centre, f"⌀ {self._numbers.length(treated.thickest_mm)}")

    def _draw_least(self, painter: QPainter, stage: StageReading, to_pixels: QTransform) -> None:
        row = stage.least
        if row is None:
            return
        at = to_pixels.map(QPointF(*row.at))
        painter.setPen(QPen(self._theme.colour("short"), 1.6))
        painter.drawEllipse(at, 4.0, 4.0)
        self._label(
            painter,
            at + QPointF(0.0, 17.0),
            tr("least {least_mm}", least_mm=minus(self._numbers.length(row.least_mm))),
        )

    def _label(self, painter: QPainter, centre: QPointF, words: str) -> None:
        """Write on a ground of paper, so that lines do not run through the words."""
        metrics = painter.fontMetrics()
        room = QRectF(0.0, 0.0, metrics.horizontalAdvance(words) + 8.0, metrics.height() + 2.0)
        room.moveCenter(centre)
        painter.fillRect(room, self._faint("paper", 215))
        painter.setPen(self._theme.colour("ink"))
        painter.drawText(room, Qt.AlignmentFlag.AlignCenter, words)

"""The section of a wheel with the stress of one case, how the test holds it, and the places that matter."""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QMouseEvent, QPainter, QPainterPath, QPaintEvent, QPen, QTransform, QWheelEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.language import spoken, tr
from app.reports.strength_bands import SCALE, Field
from app.reports.strength_words import NOT_WHOLE, Verdict, cell, kept, marked, place, short_words, zones_of
from app.studies.strength.zones import ZoneStress
from app.views.canvas.items import chain_line, painter_path
from app.views.canvas.stress import area_within, scale_colours
from app.views.readings_text import minus
from app.views.strength_work import Screened
from app.views.theme import Theme, figures
from geometry.shape.curve import Array
from geometry.shape.section import Zone
from geometry.strength.loads import Clamp, TestLoad

_HEAD, _FOOT, _SIDE = 56.0, 44.0, 26.0
_TICK, _APART = 7.0, 8.0
_MOST_ZOOM = 200.0


class StressSection(QWidget):
    """Draws one case of one wheel; the mouse wheel zooms, a drag moves, a double click shows all again."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.shown: Screened | None = None
        self.case: TestLoad | None = None
        self.chosen: Zone | None = None
        self.words = ""
        self._top = 0.0
        self._areas: list[QPainterPath] = []
        self._silent = QPainterPath()
        self._zoom, self._about = 1.0, QPointF()
        self._dragged: QPointF | None = None
        self.setFont(figures(self.font()))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(220, 200)
        theme.changed.connect(self.update)

    def sizeHint(self) -> QSize:
        """Return room for a half-section."""
        return QSize(420, 360)

    def show_case(self, shown: Screened | None, key: str, top_mpa: float, words: str = "") -> None:
        """Draw the case of a key, its scale ending at top_mpa; without it the words stand in the middle."""
        cases = () if shown is None else shown.found.cases
        self.shown, self.words, self._top = shown, words, top_mpa
        self.case = next((c for c in cases if c.key == key), None)
        self._areas, self._silent = [], QPainterPath()
        if shown is not None and self.case is not None and self.case.name in shown.drawn:
            drawn = shown.drawn[self.case.name]
            field = Field(shown.found.solved[self.case.name].body.mesh, drawn.values)
            above = (field.above(top_mpa * k / len(SCALE)) for k in range(len(SCALE)))
            self._areas = [area_within([np.asarray(loop) for loop in loops]) for loops in above]
            self._silent = area_within([np.asarray(loop) for loop in drawn.silent])
        self.setToolTip("" if shown is None or self.case is None else self._under_head(shown, self.case))
        self.setAccessibleDescription("; ".join(self._said()))
        self.update()

    def choose(self, zone: Zone | None) -> None:
        """Mark the place of a zone."""
        self.chosen = zone
        self.setAccessibleDescription("; ".join(self._said()))
        self.update()

    def row(self) -> ZoneStress | None:
        """Return the chosen zone's row under the drawn case."""
        if self.shown is None or self.case is None or self.chosen is None:
            return None
        return self.shown.found.zone(self.case.name, self.chosen)

    def worst(self) -> ZoneStress | None:
        """Return the drawn case's row with the greatest stress among the zones that it exercises."""
        if self.shown is None or self.case is None:
            return None
        read = [cell(self.shown.found, self.case, zone) for zone in zones_of(self.shown.found)]
        rows = [c.row for c in read if c.row is not None and c.verdict is not Verdict.NOT_EXERCISED]
        return max(rows, key=lambda r: r.von_mises_mpa, default=None)

    # Looking

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom about the pointer."""
        zoom = min(max(self._zoom * (1.25 if event.angleDelta().y() > 0 else 0.8), 1.0), _MOST_ZOOM)
        at = event.position()
        self._about = at - (at - self._about) * (zoom / self._zoom) if zoom > 1.0 else QPointF()
        self._zoom = zoom
        self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of the picture."""
        self._dragged = event.position()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Move the picture with the pointer."""
        if self._dragged is not None and self._zoom > 1.0:
            self._about += event.position() - self._dragged
            self._dragged = event.position()
            self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let it go."""
        self._dragged = None

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Show all again."""
        self._zoom, self._about = 1.0, QPointF()
        self.update()

    def to_pixels(self) -> QTransform:
        """Return the map from (z, r) of the wheel's own frame to pixels."""
        if self.shown is None:
            return QTransform()
        z0, z1, _, r1 = self.shown.found.ready.outline.path.bounds
        room = QRectF(self.rect()).adjusted(_SIDE, _HEAD, -_SIDE, -_FOOT)
        scale = min(room.width() / (z1 - z0), room.height() / r1)
        left = room.center().x() - scale * (z0 + z1) / 2.0
        whole = QTransform(scale, 0.0, 0.0, -scale, left, room.center().y() + scale * r1 / 2.0)
        return whole * QTransform(self._zoom, 0.0, 0.0, self._zoom, self._about.x(), self._about.y())

    # Drawing

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw section, stress, clamp, places and scale."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._theme.colour("paper"))
        painter.setOpacity(1.0 if self.isEnabled() else 0.4)
        if self.shown is None or self.case is None:
            painter.setPen(self._theme.colour("quiet"))
            flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
            painter.drawText(QRectF(self.rect()).adjusted(16, 0, -16, 0), flags, self.words)
            return
        at = self.to_pixels()
        self._draw_metal(painter, self.shown, at)
        if self._areas:
            self._draw_clamp(painter, self.shown, self.case, at)
            self._draw_places(painter, at)
            self._draw_scale(painter)
        self._draw_head(painter, self.shown, self.case)

    def _draw_metal(self, painter: QPainter, shown: Screened, at: QTransform) -> None:
        outline = at.map(painter_path(shown.found.ready.outline.path))
        painter.fillPath(outline, self._theme.colour("panel"))
        painter.setPen(Qt.PenStyle.NoPen)
        for colour, area in zip(scale_colours(self._theme.dark), self._areas, strict=False):
            painter.setBrush(colour)
            painter.drawPath(at.map(area))
        painter.fillPath(at.map(self._silent), self._theme.colour("panel"))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.strokePath(outline, QPen(self._theme.colour("ink"), 1.0))
        z0, z1, _, _ = shown.found.ready.outline.path.bounds
        painter.setPen(chain_line(self._theme.colour("quiet")))
        painter.drawLine(at.map(QPointF(z0 - 8.0, 0.0)), at.map(QPointF(z1 + 8.0, 0.0)))

    def _draw_clamp(self, painter: QPainter, shown: Screened, case: TestLoad, at: QTransform) -> None:
        """Draw ticks along what the test holds; a hub pad that carries a moment is a thick line."""
        body = shown.found.solved[case.name].body
        painter.setPen(QPen(self._theme.colour("ink"), 2.4))
        pad = _ends(body.mesh.points[body.pad])
        painter.drawLine(at.map(pad[0]), at.map(pad[1]))
        if case.clamp is Clamp.HUB_PAD:
            self._ticks(painter, at.map(pad[0]), at.map(pad[1]), -1.0)
            return
        inner = case.clamp is Clamp.INNER_FLANGE
        nodes = body.mesh.points[body.flange(Zone.INNER_LIP if inner else Zone.OUTER_LIP)]
        z = float(nodes[:, 0].min() if inner else nodes[:, 0].max())
        low, high = at.map(QPointF(z, float(nodes[:, 1].min()))), at.map(QPointF(z, float(nodes[:, 1].max())))
        painter.drawLine(low, high)
        self._ticks(painter, low, high, -1.0 if inner else 1.0)

    def _ticks(self, painter: QPainter, low: QPointF, high: QPointF, way: float) -> None:
        painter.setPen(QPen(self._theme.colour("ink"), 1.0))
        count = max(3, round(math.hypot(high.x() - low.x(), high.y() - low.y()) / _APART))
        for k in range(count + 1):
            start = low + (high - low) * (k / count)
            painter.drawLine(start, start + QPointF(way * _TICK, 0.5 * _TICK))

    def _draw_places(self, painter: QPainter, at: QTransform) -> None:
        worst, row = self.worst(), self.row()
        if worst is not None and worst is not row:
            self._draw_place(
                painter,
                at,
                worst,
                tr("greatest {von_mises_mpa} MPa", von_mises_mpa=marked(f"{worst.von_mises_mpa:.0f}", worst)),
                4.0,
            )
        if row is not None:
            words = tr(
                "{value} {von_mises_mpa} MPa",
                value=row.zone.value,
                von_mises_mpa=marked(f"{row.von_mises_mpa:.0f}", row),
            )
            self._draw_place(painter, at, row, words, 7.0)

    def _draw_place(
        self, painter: QPainter, at: QTransform, row: ZoneStress, words: str, radius: float
    ) -> None:
        centre = at.map(QPointF(*row.at))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(self._theme.colour("paper"), 4.5))
        painter.drawEllipse(centre, radius, radius)
        painter.setPen(QPen(self._theme.colour("ink"), 1.8))
        painter.drawEllipse(centre, radius, radius)
        metrics = painter.fontMetrics()
        box = QRectF(0.0, 0.0, metrics.horizontalAdvance(words) + 8.0, metrics.height() + 2.0)
        right = centre.x() + radius + 6.0 + box.width() > self.width() - 2.0
        box.moveCenter(centre)
        box.moveLeft(centre.x() - radius - 6.0 - box.width() if right else centre.x() + radius + 6.0)
        paper = self._theme.colour("paper")
        paper.setAlpha(215)
        painter.fillRect(box, paper)
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, words)

    def _draw_scale(self, painter: QPainter) -> None:
        colours = scale_colours(self._theme.dark)
        width = min(14.0, (self.width() - 200.0) / len(colours))
        left, top = 14.0, self.height() - 24.0
        for k, colour in enumerate(colours):
            painter.fillRect(QRectF(left + k * width, top, width + 0.5, 10.0), colour)
        painter.setPen(self._theme.colour("quiet"))
        right = left + width * len(colours) + 8.0
        painter.drawText(QPointF(right, top + 9.0), tr("0 to {top:.0f} MPa, von Mises", top=self._top))
        if not self._silent.isEmpty():
            painter.drawText(QPointF(left, top - 7.0), tr("no colour: not exercised by this test"))

    def _draw_head(self, painter: QPainter, shown: Screened, case: TestLoad) -> None:
        painter.setPen(self._theme.colour("ink"))
        metrics, room = painter.fontMetrics(), self.width() - 24
        bold = figures(painter.font(), bold=True)
        painter.setFont(bold)
        name = painter.fontMetrics().elidedText(shown.found.ready.wheel.name, _ELIDE, room)
        painter.drawText(QPointF(12.0, 17.0), name)
        painter.setFont(self.font())
        painter.setPen(self._theme.colour("quiet"))
        # Two lines; what is longer stands whole in the tip.
        words = metrics.elidedText(self._under_head(shown, case), _ELIDE, int(1.85 * room))
        box = QRectF(12.0, 21.0, room, 2.0 * metrics.lineSpacing() + 2.0)
        painter.drawText(box, int(Qt.TextFlag.TextWordWrap), words)

    def _under_head(self, shown: Screened, case: TestLoad) -> str:
        words = f"{spoken(case.name)}: {spoken(short_words(case))}"
        if not self._areas:
            words += tr("; energy alone, no stress is computed: see the lips")
        if shown.found.ready.short:
            words = f"{_not_whole(shown)}; {words}"
        return minus(kept(words))

    def _said(self) -> list[str]:
        """Return what the picture shows in words, for who does not see it."""
        if self.shown is None or self.case is None:
            return [self.words]
        worst, row = self.worst(), self.row()
        said = [
            *([_not_whole(self.shown)] if self.shown.found.ready.short else []),
            f"{self.shown.found.ready.wheel.name}, {spoken(self.case.name)}, {spoken(self.case.clamp.value)}",
        ]
        for one, what in ((worst, tr("greatest")), (row, tr("chosen"))):
            if one is not None:
                z, r = place(self.shown.found, one.at)
                stress = marked(f"{one.von_mises_mpa:.0f}", one)
                said.append(
                    tr(
                        "{what}: {value} {stress} MPa at z {z:.1f} mm, r {r:.1f} mm",
                        what=what,
                        value=spoken(one.zone),
                        stress=stress,
                        z=z,
                        r=r,
                    )
                )
        return said


def _not_whole(shown: Screened) -> str:
    return f"{spoken(NOT_WHOLE)}: {'; '.join(map(spoken, shown.found.ready.short))}"


_ELIDE = Qt.TextElideMode.ElideRight


def _ends(points: Array) -> tuple[QPointF, QPointF]:
    """Return the lowest and the highest of places."""
    low, high = points[points[:, 1].argmin()], points[points[:, 1].argmax()]
    return QPointF(*low.tolist()), QPointF(*high.tolist())

"""The blank of a group as a picture: over the wheels it holds, each stretch in its wheel's colour."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPen,
    QPolygonF,
    QTransform,
)
from PySide6.QtWidgets import QWidget

from app.language import ntr, spoken, tr
from app.reports.blank_masses import WHEEL_COLOURS
from app.reports.numbers import Numbers
from app.studies.composite import Composite
from app.studies.flash_line import BAND_MM
from app.studies.ladder import Rung
from app.studies.spun import SpunBlank
from app.views.canvas.items import painter_path
from app.views.theme import Theme, figures
from app.views.zoomed import ZoomedPicture

_ROOM = 26.0


def wheel_colour(number: int, *, dark: bool = False) -> QColor:
    """Return the colour of a wheel of the group, lighter on dark paper."""
    colour = QColor(WHEEL_COLOURS[number % len(WHEEL_COLOURS)])
    return colour.lighter(150) if dark else colour


class BlankPicture(ZoomedPicture):
    """Draws one composite blank, zoomed and dragged as any picture."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.result: Composite | None = None
        self.spun: SpunBlank | None = None
        #: The line of the ladder whose metal is shown, None for none.
        self.rung: Rung | None = None
        self._words: list[tuple[QRectF, Qt.AlignmentFlag, str, QColor]] = []
        self._rung_words, self._rung_of_spun = "", False
        self._waits_for = 0
        self.setFont(figures(self.font()))
        self.setAccessibleName(tr("The blank and the wheels in it"))
        theme.changed.connect(self.update)

    def sizeHint(self) -> QSize:
        """Return room for a half-section."""
        return QSize(560, 420)

    def show_result(
        self, result: Composite | None, spun: SpunBlank | None = None, numbers: Numbers | None = None
    ) -> None:
        """Draw another blank; forged and spun where that is given."""
        numbers = numbers or Numbers("mm")
        self.result, self.spun, self.rung = result, spun, None
        self.show_all()
        if result is not None:
            said = tr(
                "{mass_kg}, {wheels} wheels",
                mass_kg=numbers.mass(result.forged.mass_kg),
                wheels=len(result.wheels),
            )
            if spun is not None:
                said = tr(
                    "{mass_kg} forged and spun, {wheels} wheels",
                    mass_kg=numbers.mass(spun.forged.mass_kg),
                    wheels=len(result.wheels),
                )
            self.setAccessibleDescription(said)
        self.update()

    def show_wait(self, wheels: int) -> None:
        """Say, until the first blank is there, that one of so many wheels is looked for; 0: of none."""
        self._waits_for = wheels
        self.update()

    def show_metal(self, rung: Rung | None, words: str, *, of_spun: bool = False) -> None:
        """Show where the metal of a ladder's line lies, in the turned blank or in the spun one.

        Args:
            rung: the line; None shows the blank alone.
            words: said beside it.
            of_spun: the line is of the spun blank's ladder.
        """
        self.rung, self._rung_words, self._rung_of_spun = rung, words, of_spun
        self.setToolTip(words)
        self.update()

    @property
    def _spun_shown(self) -> SpunBlank | None:
        """The spun blank, where it is the one that is drawn."""
        return None if self.rung is not None and not self._rung_of_spun else self.spun

    def to_pixels(self, result: Composite) -> QTransform:
        """Return the map from (z, r) in mm to pixels."""
        paths = [result.forged.path]
        if (spun := self._spun_shown) is not None:
            paths = [spun.found.path, spun.forged.path]
        bounds = [path.bounds for path in paths]
        z0, z1, r1 = min(b[0] for b in bounds), max(b[1] for b in bounds), max(b[3] for b in bounds)
        return self.fitted((z0, z1), r1, QRectF(self.rect()).adjusted(_ROOM, _ROOM, -_ROOM, -_ROOM))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw wheels, blank, deciding stretches, axle line and parting."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._theme.colour("paper"))
        if self.result is None:
            painter.setPen(self._theme.colour("quiet"))
            words = (
                ntr(
                    "Looking for the lightest blank that holds {count} wheel...",
                    "Looking for the lightest blank that holds {count} wheels...",
                    self._waits_for,
                )
                if self._waits_for
                else tr("Tick the wheels that the blank must hold, and press Find.")
            )
            painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, words)
            return
        to_pixels = self.to_pixels(self.result)
        if (spun := self._spun_shown) is not None:
            self._draw_spun(painter, spun, to_pixels)
        else:
            self._draw_areas(painter, self.result, to_pixels)
            if self.result.forged.slug_kg > 0.0:
                painter.strokePath(
                    to_pixels.map(painter_path(self.result.forged.lathe)),
                    QPen(self._theme.colour("ink"), 1.0, Qt.PenStyle.DashLine),
                )
            self._draw_stretches(painter, self.result, to_pixels)
            self._draw_planes(painter, self.result, to_pixels)
        if self.rung is not None:
            self._draw_metal(painter, self.rung, to_pixels)
        self._write(painter)

    def _write(self, painter: QPainter) -> None:
        """Write the words last: they step back behind nothing."""
        for place, flags, words, colour in self._words:
            painter.setPen(colour)
            painter.drawText(place, flags, spoken(words))
        self._words.clear()

    def _say(self, place: QRectF, flags: Qt.AlignmentFlag, words: str, role: str = "quiet") -> None:
        self._words.append((place, flags, words, self._theme.colour(role)))

    def _draw_areas(self, painter: QPainter, result: Composite, to_pixels: QTransform) -> None:
        forged = to_pixels.map(painter_path(result.forged.path))
        painter.fillPath(forged, self._faint("blank", 34))
        painter.strokePath(forged, QPen(self._theme.colour("ink"), 1.6))
        for number, (_, path) in enumerate(result.held):
            colour = wheel_colour(number, dark=self._theme.dark)
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
            phantom = QPen(wheel_colour(number, dark=self._theme.dark), 0.9, Qt.PenStyle.DashDotDotLine)
            painter.strokePath(to_pixels.map(painter_path(path)), phantom)
        painter.strokePath(shape, QPen(ink, 2.0))
        dashed = QPen(self._theme.colour("blank"), 1.6, Qt.PenStyle.DashLine)
        painter.strokePath(to_pixels.map(painter_path(spun.found.preform.path)), dashed)
        dashed.setWidthF(0.8)
        painter.strokePath(to_pixels.map(painter_path(spun.forged.path)), dashed)
        quiet = self._theme.colour("quiet")
        painter.setPen(QPen(quiet, 0.8, Qt.PenStyle.DashDotLine))
        z0, z1, _, r1 = spun.found.path.bounds
        painter.drawLine(to_pixels.map(QPointF(z0 - 12.0, 0.0)), to_pixels.map(QPointF(z1 + 12.0, 0.0)))
        z, r = spun.found.root
        painter.drawLine(to_pixels.map(QPointF(z, r - 14.0)), to_pixels.map(QPointF(z, r1 + 8.0)))
        at = to_pixels.map(QPointF(z, r1))
        right = Qt.AlignmentFlag.AlignRight
        left = Qt.AlignmentFlag.AlignLeft
        self._say(QRectF(at.x() - 126.0, at.y() - 20.0, 120.0, 16.0), right, tr("spun"))
        self._say(QRectF(at.x() + 6.0, at.y() - 20.0, 120.0, 16.0), left, tr("forged"))
        note = tr("full: as spun; dashed: forged, usable inside; phantom: wheels")
        self._say(QRectF(self.rect()).adjusted(10.0, 6.0, -10.0, -6.0), Qt.AlignmentFlag.AlignBottom, note)

    def _draw_metal(self, painter: QPainter, rung: Rung, to_pixels: QTransform) -> None:
        """Draw a rung's metal over the blank, however thin, and say what it is."""
        # All else steps back, since a wheel may be drawn in the same colour.
        painter.fillRect(self.rect(), self._faint("paper", 150))
        accent = self._theme.colour("accent")
        area = QPainterPath()
        area.setFillRule(Qt.FillRule.OddEvenFill)
        for part in rung.parts:
            for ring in (part.exterior, *part.interiors):
                area.addPolygon(QPolygonF([QPointF(z, r) for z, r in ring.coords]))
        shape: QPainterPath = to_pixels.map(area)
        painter.fillPath(shape, self._faint("accent", 90))
        painter.fillPath(shape, QBrush(accent, Qt.BrushStyle.BDiagPattern))
        painter.strokePath(shape, QPen(accent, 1.6))
        # Under the ring's bore and beside the disc there is room, over the note at the picture's foot.
        room = QRectF(self.rect()).adjusted(10.0, 6.0, -0.45 * self.width(), -34.0)
        flags = int(Qt.AlignmentFlag.AlignBottom) | int(Qt.TextFlag.TextWordWrap)
        words = painter.boundingRect(room, flags, self._rung_words)
        painter.fillRect(words.adjusted(-4.0, -2.0, 4.0, 2.0), self._theme.colour("paper"))
        painter.setPen(self._theme.colour("ink"))
        painter.drawText(room, flags, self._rung_words)

    def _faint(self, role: str, alpha: int) -> QColor:
        colour = QColor(self._theme.colour(role))
        colour.setAlpha(alpha)
        return colour

    def _draw_stretches(self, painter: QPainter, result: Composite, to_pixels: QTransform) -> None:
        single = len(result.wheels) == 1
        longest: dict[int, tuple[float, QPointF]] = {}
        for number, points in result.stretches:
            is_fillet = number < 0
            colour = (
                self._theme.colour("ink")
                if is_fillet or single
                else wheel_colour(number, dark=self._theme.dark)
            )
            pixels = [to_pixels.map(QPointF(z, r)) for z, r in points.tolist()]
            painter.setPen(QPen(colour, 1.2 if is_fillet else 2.2))
            painter.drawPolyline(QPolygonF(pixels))
            length = float(np.hypot(*np.diff(points[[0, -1]], axis=0)[0]))
            if not is_fillet and not single and length > longest.get(number, (0.0, QPointF()))[0]:
                longest[number] = length, pixels[0] + (pixels[-1] - pixels[0]) * 0.35
        for number, (_, at) in longest.items():
            room = QRectF(at.x() + 10.0, at.y() - 22.0, 40.0, 20.0)
            self._say(room, Qt.AlignmentFlag.AlignBottom, str(number + 1), "ink")

    def _draw_planes(self, painter: QPainter, result: Composite, to_pixels: QTransform) -> None:
        z0, z1, _, _ = result.forged.path.bounds
        quiet = self._theme.colour("quiet")
        painter.setPen(QPen(quiet, 0.8, Qt.PenStyle.DashDotLine))
        painter.drawLine(to_pixels.map(QPointF(z0 - 12.0, 0.0)), to_pixels.map(QPointF(z1 + 12.0, 0.0)))
        z, r = result.parting_mm[0], result.forged.sizes.rim_mm
        at = to_pixels.map(QPointF(z, r))
        painter.drawLine(at + QPointF(0.0, 4.0), at + QPointF(0.0, -14.0))
        room = QRectF(at.x() - 124.0, at.y() - 22.0, 120.0, 16.0)
        self._say(room, Qt.AlignmentFlag.AlignRight, tr("dies meet"))
        band = [to_pixels.map(QPointF(z + side, r)) for side in (-BAND_MM, BAND_MM)]
        left, right = sorted(band, key=QPointF.x)
        area = QRectF(left.x(), at.y() - 6.0, right.x() - left.x(), 26.0)
        painter.fillRect(area, self._faint("quiet", 40))
        painter.setPen(QPen(quiet, 0.8, Qt.PenStyle.DotLine))
        for end in band:
            painter.drawLine(end + QPointF(0.0, -6.0), end + QPointF(0.0, 20.0))
        note = tr("outside: as forged; inside: usable; dotted: wheels; shaded: flash line")
        self._say(QRectF(self.rect()).adjusted(10.0, 6.0, -10.0, -6.0), Qt.AlignmentFlag.AlignBottom, note)

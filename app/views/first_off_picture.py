"""Measured points over the nominal section: each point's deviation, enlarged, from the skin it belongs to."""

from __future__ import annotations

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from app.language import tr
from app.studies.first_off import Measured, times_of, whiskers
from app.views.canvas.items import painter_path
from app.views.theme import Theme, figures
from app.views.zoomed import ZoomedPicture

_ROOM = 26.0
#: Deviations are drawn up to this long, pixels, while the whole wheel is seen.
_LONGEST_PX = 34.0


class FirstOffPicture(ZoomedPicture):
    """Draws the section with its deviations; surplus in full lines outwards, missing metal broken inwards.

    Attributes:
        fitted_out: the shift of best fit is taken out.
    """

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.measured: Measured | None = None
        self.fitted_out = True
        self.setFont(figures(self.font()))
        self.setAccessibleName(tr("Measured points over the nominal section"))
        theme.changed.connect(self.update)

    def sizeHint(self) -> QSize:
        """Return room for a half-section."""
        return QSize(560, 380)

    def show_measured(self, measured: Measured | None, fitted_out: bool) -> None:
        """Draw other points, with their shift taken out or as measured."""
        if self.measured is None or measured is None:
            self.show_all()
        self.measured, self.fitted_out = measured, fitted_out
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw section, deviations, points and what the lines mean."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._theme.colour("paper"))
        quiet, measured = self._theme.colour("quiet"), self.measured
        if measured is None:
            painter.setPen(quiet)
            words = tr("Read the measured points of this wheel: z and r, as a table.")
            painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, words)
            return
        z0, z1, _, r1 = measured.outline.path.bounds
        room = QRectF(self.rect()).adjusted(_ROOM, _ROOM, -_ROOM, -2.0 * _ROOM)
        to_pixels = self.fitted((z0, z1), r1, room)
        shape = to_pixels.map(painter_path(measured.outline.path))
        painter.fillPath(shape, self._theme.colour("wheel"))
        painter.strokePath(shape, QPen(self._theme.colour("ink"), 1.2))
        painter.setPen(QPen(quiet, 0.8, Qt.PenStyle.DashDotLine))
        painter.drawLine(to_pixels.map(QPointF(z0 - 12.0, 0.0)), to_pixels.map(QPointF(z1 + 12.0, 0.0)))
        of = measured.found.shifted if self.fitted_out else measured.found.measured
        times = times_of(of, _LONGEST_PX / max(to_pixels.m11() / self.zoom, 1e-6))
        surplus: list[QLineF] = []
        missing: list[QLineF] = []
        for (foot, end), mm in zip(
            whiskers(measured.found, of, measured.settings.ball_mm, times), of.mm, strict=True
        ):
            ends = QLineF(to_pixels.map(QPointF(*foot.tolist())), to_pixels.map(QPointF(*end.tolist())))
            (surplus if mm >= 0.0 else missing).append(ends)
        painter.setPen(QPen(self._theme.colour("accent"), 1.4))
        painter.drawLines(surplus)
        painter.setPen(QPen(self._theme.colour("short"), 1.4, Qt.PenStyle.DotLine))
        painter.drawLines(missing)
        painter.setPen(quiet)
        painter.drawText(
            QRectF(self.rect()).adjusted(10.0, 6.0, -10.0, -6.0),
            Qt.AlignmentFlag.AlignBottom | Qt.TextFlag.TextWordWrap,
            tr(
                "{fitted_out}, {times:g} times as large; full, outwards: surplus; dotted, "
                "inwards: missing metal",
                fitted_out=tr("with the shift taken out") if self.fitted_out else tr("as measured"),
                times=times,
            ),
        )

"""A picture of one outline over the shown wheel: what was given, what it grew to, where it is known."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QBrush,
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPalette,
    QResizeEvent,
    QTransform,
    QWheelEvent,
)
from PySide6.QtWidgets import QWidget

from app.language import tr
from app.units import LengthUnit
from app.views.canvas.items import painter_path, pen
from app.views.theme import DARK, LIGHT, figures
from app.window.dialogs.import_drawn import bounds_of
from app.window.dialogs.import_legend import Sample, SampleForm, draw_legend
from app.window.dialogs.import_paint import Backdrop, GapMark, Sheet
from app.window.dialogs.import_view import View
from geometry.shape.curve import Array, Path

_ZOOM, _PAN_PX = 1.25, 60.0
_NOTHING = np.empty((0, 2))


@dataclass(frozen=True, eq=False)
class Given:
    """An outline as it will be kept, and what it came from; all in the hub's frame, mm.

    Attributes:
        path: the outline; None while there is none.
        words: what it is called in the legend.
        places: (m, 2) places that were given.
        bare: (m, 2) corners of the outline through them alone, where it grew beyond.
        unseen: z inboard and outboard of which nothing is known; None where the body was seen to end.
    """

    path: Path | None = None
    words: str = ""
    places: Array = field(default_factory=lambda: _NOTHING)
    bare: Array = field(default_factory=lambda: _NOTHING)
    unseen: tuple[float | None, float | None] = (None, None)


class OverWheel(QWidget):
    """Draws an outline over the shown wheel and its blank.

    The wheel of the mouse zooms about the pointer, dragging moves the sheet; the keys + and - zoom, the
    arrows move, 0 shows everything.
    """

    def __init__(self, unit: LengthUnit, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._unit: LengthUnit = unit
        self._behind, self.given = Backdrop(), Given()
        self.mark: GapMark | None = None
        self.view = View(QRectF(0, 0, 100, 100))
        self._is_moved = False
        self._pressed: QPointF | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(tr("Picture of the outline over the shown wheel"))
        self.setFont(figures(self.font(), 0.9))
        self.setMinimumSize(300, 170)

    def sizeHint(self) -> QSize:
        """Return a wide picture."""
        return QSize(560, 330)

    # What is shown

    def show_wheel(self, behind: Backdrop) -> None:
        """Draw another wheel behind."""
        self._behind = behind
        self._follow()

    def show_given(self, given: Given) -> None:
        """Draw another outline; the view follows until it was zoomed or moved by hand."""
        self.given = given
        box = given.path.bounds if given.path is not None else None
        words = tr("no outline yet")
        if box is not None:
            words = tr(
                "outline z {box:.1f} to {box_2:.1f}, r {box_3:.1f} to {box_4:.1f} mm",
                box=box[0],
                box_2=box[1],
                box_3=box[2],
                box_4=box[3],
            )
        self.setAccessibleDescription(words)
        self._follow()

    def show_mark(self, mark: GapMark | None) -> None:
        """Draw the nearest places."""
        self.mark = mark
        self.update()

    def fit(self) -> None:
        """Show everything, and follow again."""
        self._is_moved = False
        self._follow()

    def zoom(self, steps: int) -> None:
        """Enlarge by steps, or make smaller."""
        self._zoom(_ZOOM**steps, self.view.plot.center())

    def _follow(self) -> None:
        high = self.fontMetrics().height()
        left = self.fontMetrics().horizontalAdvance("−1000.0") + 4
        plot = QRectF(self.rect()).adjusted(left, high + 8, -8, -high - 3)
        self.view = replace(self.view, plot=plot)
        if not self._is_moved:
            self.view = self.view.fitted(self._box())
        self.update()

    def _box(self) -> tuple[float, float, float, float]:
        paths = [self._behind.blank, self._behind.wheel, self.given.path]
        boxes = [path.bounds for path in paths if path is not None]
        places = bounds_of([self.given.places])
        boxes += [places] if places is not None else []
        if not boxes:
            return -100.0, 100.0, 0.0, 220.0
        low_z, high_z = min(0.0, *(b[0] for b in boxes)), max(0.0, *(b[1] for b in boxes))
        return low_z, high_z, min(0.0, *(b[2] for b in boxes)), max(b[3] for b in boxes)

    # Events

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep everything in sight."""
        super().resizeEvent(event)
        self._follow()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom about the pointer."""
        self._zoom(_ZOOM ** (event.angleDelta().y() / 120.0), event.position())
        event.accept()

    def _zoom(self, factor: float, about: QPointF) -> None:
        self._is_moved = True
        self.view = self.view.zoomed(factor, about)
        self.update()

    def _pan(self, by: QPointF) -> None:
        self._is_moved = True
        self.view = self.view.panned(by)
        self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of the sheet."""
        self._pressed = event.position()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Move the sheet."""
        if self._pressed is not None:
            self._pan(event.position() - self._pressed)
            self._pressed = event.position()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go of the sheet."""
        self._pressed = None

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show where the keys are."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Show that they have gone."""
        super().focusOutEvent(event)
        self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Zoom and move."""
        ways = {
            Qt.Key.Key_Left: QPointF(_PAN_PX, 0.0),
            Qt.Key.Key_Right: QPointF(-_PAN_PX, 0.0),
            Qt.Key.Key_Up: QPointF(0.0, _PAN_PX),
            Qt.Key.Key_Down: QPointF(0.0, -_PAN_PX),
        }
        key = event.key()
        if key in ways:
            self._pan(ways[Qt.Key(key)])
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom(1)
        elif key == Qt.Key.Key_Minus:
            self.zoom(-1)
        elif key == Qt.Key.Key_0:
            self.fit()
        else:
            super().keyPressEvent(event)

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw paper, wheel and outline."""
        painter = QPainter(self)
        painter.setFont(self.font())
        dark = self.palette().color(QPalette.ColorRole.Window).lightness() < 128
        sheet = Sheet(painter, self.view, DARK if dark else LIGHT)
        painter.fillRect(self.rect(), sheet.colour("paper"))
        sheet.paper(self._unit)
        sheet.backdrop(self._behind)
        with sheet.clipped():
            self._paint_given(sheet)
        sheet.axes()
        if self.mark is not None:
            sheet.gap(self.mark)
        line = QRectF(8, 3, self.width() - 16, self.fontMetrics().height() + 2)
        draw_legend(painter, line, sheet.legend, sheet.colour("ink"))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen(sheet.colour("accent" if self.hasFocus() else "hairline")))
        painter.drawRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5))

    def _paint_given(self, sheet: Sheet) -> None:
        given, painter = self.given, sheet.painter
        edge = sheet.colour("shape_edge")
        if given.path is not None:
            origin, scale = self.view.pixel(0.0, 0.0), self.view.scale
            laid = QTransform(scale, 0.0, 0.0, -scale, origin.x(), origin.y())
            line, fill = pen(edge, width=1.4), QBrush(sheet.colour("shape", 170))
            painter.setPen(line)
            painter.setBrush(fill)
            painter.drawPath(laid.map(painter_path(given.path)))
            sheet.legend.append(Sample(given.words, SampleForm.AREA, line, fill))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        if len(given.bare):
            line = pen(edge, Qt.PenStyle.DashLine)
            painter.setPen(line)
            painter.drawPolygon([QPointF(x, y) for x, y in self.view.pixels(given.bare)])
            sheet.legend.append(Sample("before it grew", SampleForm.LINE, line))
        self._paint_unseen(sheet)
        if len(given.places):
            dot = pen(edge, width=1.4)
            painter.setPen(dot)
            painter.setBrush(sheet.colour("paper"))
            for x, y in self.view.pixels(given.places):
                painter.drawEllipse(QPointF(x, y), 3.0, 3.0)

    def _paint_unseen(self, sheet: Sheet) -> None:
        """Draw a bracket where the outline's knowledge ends though nobody saw the body end there."""
        path = self.given.path
        if path is None:
            return
        line = pen(sheet.colour("not_known"), Qt.PenStyle.DotLine, 1.6)
        top = self.view.pixel(0.0, path.bounds[3]).y() - 8.0
        foot = self.view.pixel(0.0, path.bounds[2]).y() + 8.0
        for z, inward in zip(self.given.unseen, (1.0, -1.0), strict=True):
            if z is None:
                continue
            x = self.view.pixel(z, 0.0).x()
            sheet.painter.setPen(line)
            for a, b in (
                (QPointF(x, top), QPointF(x, foot)),
                (QPointF(x, top), QPointF(x + 7.0 * inward, top)),
                (QPointF(x, foot), QPointF(x + 7.0 * inward, foot)),
            ):
                sheet.painter.drawLine(a, b)
            words = tr("? not known")
            width, high = sheet.metrics.horizontalAdvance(words) + 8.0, float(sheet.metrics.height())
            left = x - width - 4.0 if inward > 0.0 else x + 4.0
            sheet.tag(QRectF(left, top, width, high), words, sheet.colour("not_known"))

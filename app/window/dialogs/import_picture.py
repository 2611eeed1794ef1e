"""The import's live picture: zoomed and panned, loops taken by a click, places of the file pointed at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPalette,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QApplication, QWidget

from app.language import tr
from app.units import LengthUnit, format_length
from app.views.canvas.items import pen
from app.views.theme import DARK, LIGHT, figures
from app.window.dialogs.import_drawn import Snap, holds
from app.window.dialogs.import_legend import draw_legend
from app.window.dialogs.import_paint import Backdrop, GapMark, Laid, Sheet
from app.window.dialogs.import_view import View
from geometry.shape.curve import Array

#: How near the pointer must come to a place to snap to it, pixels.
SNAP_PX = 14.0
_ZOOM, _PAN_PX = 1.25, 60.0
#: Readings this many times larger than the wheel do not decide what is seen at first.
_FAR = 3.0

Place = tuple[float, float]


@dataclass(frozen=True)
class Pointed:
    """A place under the pointer, in the plane and unit of the answer, and what it is."""

    at: Place
    words: str
    is_snapped: bool


class ImportPicture(QWidget):
    """Draws the outline as it will lie over the shown wheel.

    The wheel of the mouse zooms about the pointer, dragging moves the sheet; the keys + and - zoom, the
    arrows move, 0 shows everything. While a place is pointed at, the arrows go from place to place and Enter
    takes one.

    Signals:
        loop_clicked(k): an outline was clicked.
        pointed(Pointed): a place was taken.
        pointing_ended(): pointing is over, with or without a place.
    """

    loop_clicked = Signal(int)
    pointed = Signal(object)
    pointing_ended = Signal()

    def __init__(self, unit: LengthUnit = "mm", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._unit: LengthUnit = unit
        self._behind = Backdrop()
        self.laid: tuple[Laid, ...] = ()
        self.mark: GapMark | None = None
        self.number_spots: list[QPointF] = []
        self._is_pale = self._is_moved = False
        self.pointing_at = ""
        self._snap: Pointed | None = None
        self._step = -1
        self._pressed: QPointF | None = None
        self._dragged = False
        self._hover: Place | None = None
        self.view = View(QRectF(0, 0, 100, 100))
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(tr("Picture of the outline over the shown wheel"))
        self.setFont(figures(self.font(), 0.9))
        self.setMinimumSize(360, 220)

    def sizeHint(self) -> QSize:
        """Return a wide picture."""
        return QSize(760, 440)

    # What is shown

    def show_wheel(self, behind: Backdrop) -> None:
        """Draw another wheel behind."""
        self._behind = behind
        self._follow()

    def show_laid(self, laid: Sequence[Laid]) -> None:
        """Draw other readings; the view follows until it was zoomed or moved by hand."""
        self.laid = tuple(laid)
        self._is_pale = False
        self._say_what_is_there()
        self._follow()

    def show_mark(self, mark: GapMark | None) -> None:
        """Draw the nearest places."""
        self.mark = mark
        self.update()

    def fade(self) -> None:
        """Draw pale what is about to be replaced."""
        self._is_pale, self.mark = True, None
        self.update()

    def fit(self) -> None:
        """Show everything, and follow again."""
        self._is_moved = False
        self._follow()

    def zoom(self, steps: int) -> None:
        """Enlarge by steps, or make smaller."""
        self._zoom(_ZOOM**steps, self.view.plot.center())

    def _follow(self) -> None:
        self.view = replace(self.view, plot=self._plot())
        box = self._box()
        if not self._is_moved and box is not None:
            self.view = self.view.fitted(box)
        self.update()

    def _box(self) -> tuple[float, float, float, float] | None:
        """Return what is to be seen: wheel, chosen reading (or else the nearest), others not far larger."""
        wheel = self._behind.blank or self._behind.wheel
        reach = _FAR * max(map(abs, wheel.bounds)) if wheel is not None else np.inf
        chosen = [laid.bounds for laid in self.laid if laid.is_chosen and laid.bounds is not None]
        others = [laid.bounds for laid in self.laid if not laid.is_chosen and laid.bounds is not None]
        near = [box for box in others if max(map(abs, box)) <= reach]
        if not chosen and not near:
            near = sorted(others, key=lambda box: max(map(abs, box)))[:1]
        boxes = [*([] if wheel is None else [wheel.bounds]), *chosen, *near]
        if not boxes:
            return None
        low_z, high_z = min(0.0, *(b[0] for b in boxes)), max(0.0, *(b[1] for b in boxes))
        return low_z, high_z, min(0.0, *(b[2] for b in boxes)), max(b[3] for b in boxes)

    def _say_what_is_there(self) -> None:
        chosen = [laid for laid in self.laid if laid.is_chosen]
        words = [
            tr("{loops} outlines, {taken} taken", loops=len(x.drawn.loops), taken=len(x.taken))
            for x in chosen
        ]
        self.setAccessibleDescription("; ".join(words) or tr("nothing is read"))

    # Pointing

    def point_at(self, words: str) -> None:
        """Let the next click take a place for what the words say."""
        self.pointing_at, self._snap, self._step = words, None, -1
        self.setCursor(Qt.CursorShape.CrossCursor)
        self.setFocus(Qt.FocusReason.OtherFocusReason)
        self.update()

    def end_pointing(self) -> None:
        """Take no place."""
        if self.pointing_at:
            self.pointing_at, self._snap = "", None
            self.unsetCursor()
            self.update()
            self.pointing_ended.emit()

    def _take(self, spot: Pointed) -> None:
        self.end_pointing()
        self.pointed.emit(spot)

    def _under(self, pixel: QPointF) -> Pointed | None:
        """Return the place of the file under the pointer: one to snap to, else the bare place."""
        best: tuple[float, Pointed] | None = None
        at = np.array([pixel.x(), pixel.y()])
        for laid in self._shown_first():
            snaps = laid.drawn.snaps
            if not len(snaps):
                continue
            away = np.hypot(*(self._pixels(laid, snaps) - at).T)
            k = int(np.argmin(away))
            if away[k] <= SNAP_PX and (best is None or away[k] < best[0]):
                best = float(away[k]), self._snap_of(laid, k)
        if best is not None:
            return best[1]
        if not self.laid:
            return None
        z, r = self.view.place(pixel)
        laid = self._shown_first()[0]
        place = _undone(laid, z, r)
        return Pointed(place, _words(laid, tr("no place near"), place), False)

    def _shown_first(self) -> list[Laid]:
        return sorted(self.laid, key=lambda laid: not laid.is_chosen)

    def _snap_of(self, laid: Laid, k: int) -> Pointed:
        place = (float(laid.drawn.snaps[k, 0]), float(laid.drawn.snaps[k, 1]))
        return Pointed(place, _words(laid, Snap(int(laid.drawn.kinds[k])).words, place), True)

    def _pixels(self, laid: Laid, places: Array) -> Array:
        return self.view.pixels(laid.lay.points(places))

    def _walk(self, step: int) -> None:
        """Go to the next place that can be pointed at."""
        readings = [laid for laid in self._shown_first() if len(laid.drawn.snaps)]
        if readings:
            start = self._step if self._step >= 0 or step > 0 else 0
            self._step = (start + step) % len(readings[0].drawn.snaps)
            self._snap = self._snap_of(readings[0], self._step)
            self.setAccessibleDescription(self._snap.words)
            self.update()

    # Events

    def _plot(self) -> QRectF:
        high = self.fontMetrics().height()
        left = self.fontMetrics().horizontalAdvance("−1000.0") + 4
        return QRectF(self.rect()).adjusted(left, high + 8, -8, -high - 3)

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

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Begin a click or a drag."""
        if event.button() in (Qt.MouseButton.LeftButton, Qt.MouseButton.MiddleButton):
            self._pressed, self._dragged = event.position(), False

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Move the sheet, or show where the pointer is and what it snaps to."""
        at = event.position()
        if self._pressed is not None:
            by = at - self._pressed
            if self._dragged or by.manhattanLength() >= QApplication.startDragDistance():
                self._dragged = self._is_moved = True
                self.view, self._pressed = self.view.panned(by), at
        self._hover = self.view.place(at)
        self._snap = self._under(at) if self.pointing_at else None
        self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Take a place, or an outline, unless the sheet was dragged."""
        is_click = self._pressed is not None and not self._dragged
        self._pressed = None
        if not is_click or event.button() is not Qt.MouseButton.LeftButton:
            return
        if self.pointing_at:
            spot = self._under(event.position())
            if spot is not None:
                self._take(spot)
            return
        k = self._loop_at(event.position())
        if k is not None:
            self.loop_clicked.emit(k)

    def _loop_at(self, pixel: QPointF) -> int | None:
        """Return the smallest outline under the pointer."""
        for laid in self.laid:
            if laid.is_chosen:
                z, r = _undone(laid, *self.view.place(pixel))
                found = [k for k, polygon in enumerate(laid.drawn.loops) if holds(polygon, z, r)]
                return min(found, key=lambda k: laid.drawn.areas[k], default=None)
        return None

    def leaveEvent(self, event: object) -> None:
        """Forget the pointer."""
        self._hover = self._snap = None
        self.update()

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show where the keys are."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Show that they have gone."""
        super().focusOutEvent(event)
        self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Zoom, move, or go from place to place."""
        key = event.key()
        ways = {
            Qt.Key.Key_Left: QPointF(_PAN_PX, 0.0),
            Qt.Key.Key_Right: QPointF(-_PAN_PX, 0.0),
            Qt.Key.Key_Up: QPointF(0.0, _PAN_PX),
            Qt.Key.Key_Down: QPointF(0.0, -_PAN_PX),
        }
        if self.pointing_at and key in ways:
            self._walk(1 if key in (Qt.Key.Key_Right, Qt.Key.Key_Down) else -1)
        elif self.pointing_at and key in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            if self._snap is not None:
                self._take(self._snap)
        elif key in ways:
            self._is_moved = True
            self.view = self.view.panned(ways[Qt.Key(key)])
            self.update()
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
        """Draw paper, wheel and readings."""
        painter = QPainter(self)
        painter.setFont(self.font())
        dark = self.palette().color(QPalette.ColorRole.Window).lightness() < 128
        sheet = Sheet(painter, self.view, DARK if dark else LIGHT)
        painter.fillRect(self.rect(), sheet.colour("paper"))
        sheet.paper(self._unit)
        sheet.backdrop(self._behind)
        for laid in reversed(self._shown_first()):
            sheet.outlines(laid, self._is_pale)
        with sheet.clipped():
            boxes = [laid.bounds for laid in self.laid if laid.is_chosen]
            if any(box is not None and box[2] < 0.0 for box in boxes):
                sheet.below_axle()
        sheet.axes()
        self.number_spots = []
        for laid in self.laid:
            if laid.is_chosen and not self._is_pale:
                with sheet.clipped():
                    self.number_spots = sheet.numbers(laid)
        if self.mark is not None:
            sheet.gap(self.mark)
        if self.pointing_at:
            self._paint_snap(sheet)
        self._paint_strip(sheet)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen(sheet.colour("accent" if self.hasFocus() else "hairline")))
        painter.drawRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5))

    def _place_words(self) -> str:
        if self._hover is None:
            return ""
        z, r = (format_length(x, self._unit, with_unit=False).replace("-", "−") for x in self._hover)
        return f"z {z}   r {r} {self._unit}"

    def _paint_strip(self, sheet: Sheet) -> None:
        """Write over the plot what is there, or what is to be pointed at, and where the pointer is."""
        line = QRectF(8, 3, self.width() - 16, self.fontMetrics().height() + 2)
        middle, right = Qt.AlignmentFlag.AlignVCenter, Qt.AlignmentFlag.AlignRight
        if self.pointing_at:
            words = tr("Click {pointing_at}; or arrows, then Enter. Esc ends.", pointing_at=self.pointing_at)
            sheet.painter.setPen(sheet.colour("accent"))
            sheet.painter.drawText(line, middle, words)
            return
        words = self._place_words()
        sheet.painter.setPen(sheet.colour("ink"))
        sheet.painter.drawText(line, right | middle, words)
        line.setRight(line.right() - self.fontMetrics().horizontalAdvance(words) - 8)
        draw_legend(sheet.painter, line, sheet.legend, sheet.colour("ink"))

    def _paint_snap(self, sheet: Sheet) -> None:
        """Draw the place that would be taken."""
        spot, plot, high = self._snap, self.view.plot, float(self.fontMetrics().height())
        if spot is None or not self.laid:
            return
        at = self._pixels(self._shown_first()[0], np.array([spot.at]))[0]
        centre = QPointF(float(at[0]), float(at[1]))
        sheet.painter.setPen(pen(sheet.colour("accent"), width=1.6))
        sheet.painter.setBrush(Qt.BrushStyle.NoBrush)
        if spot.is_snapped:
            sheet.painter.drawRect(QRectF(centre.x() - 6, centre.y() - 6, 12, 12))
        sheet.painter.drawLine(centre - QPointF(11, 0), centre + QPointF(11, 0))
        sheet.painter.drawLine(centre - QPointF(0, 11), centre + QPointF(0, 11))
        width = self.fontMetrics().horizontalAdvance(spot.words) + 8.0
        x = min(max(centre.x() + 12, plot.left() + 2), plot.right() - width - 2)
        y = min(max(centre.y() + 10, plot.top() + 2), plot.bottom() - high - 2)
        sheet.tag(QRectF(x, y, width, high), spot.words, sheet.colour("accent"))


def _words(laid: Laid, kind: str, place: Place) -> str:
    z, r = (f"{x:.{laid.lay.decimals}f}".replace("-", "−") for x in place)
    return tr("{kind}: {z}, {r} in the file", kind=kind, z=z, r=r)


def _undone(laid: Laid, z: float, r: float) -> Place:
    """Return the place of the answer that lies at a place of the hub's frame."""
    lay = laid.lay
    z0, r0 = lay.point(0.0, 0.0)
    (az, ar), (bz, br) = lay.point(1.0, 0.0), lay.point(0.0, 1.0)
    a, b, c, d = az - z0, bz - z0, ar - r0, br - r0
    det = a * d - b * c
    return (d * (z - z0) - b * (r - r0)) / det, (a * (r - r0) - c * (z - z0)) / det

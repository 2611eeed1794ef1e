"""The sheet that a picture lies on: pointed at, traced, zoomed and moved, by mouse and by keys."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
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

from app.files.readers.read_picture import Picture
from app.language import tr
from app.units import LengthUnit
from app.views.canvas.items import pen
from app.views.theme import DARK, LIGHT, figures
from app.window.dialogs.import_view import View
from app.window.dialogs.trace_paint import Painting
from app.window.dialogs.trace_state import LEAST_POINTS, Task, Trace
from app.window.dialogs.trace_view import Image, TraceView
from geometry.shape.tracing import Lie, Pixel, shown_at

#: How near the pointer must come to a point of the outline, or to a side of it, screen pixels.
POINT_PX, _SIDE_PX = 10.0, 7.0
_ZOOM, _PAN_PX = 1.25, 60.0
#: A crossing of keys moves by a screen pixel, with Shift by so many.
_FAR_STEP = 10.0


class TraceSheet(QWidget):
    """Shows a picture level and takes places of it.

    The wheel of the mouse zooms about the pointer; dragging beside the points moves the picture. By keys: the
    arrows move the cross (with Shift farther, with Ctrl the picture), Space takes the place under it, Enter
    closes the outline, Backspace removes, + and - zoom, 0 shows everything.

    Signals:
        taken(Pixel): a place was clicked, which is no point of the outline.
        side_clicked(k, Pixel): the side that leaves the k-th point was clicked.
        point_dragged(k, Pixel): a point is being dragged.
        point_dropped(): the drag has ended.
        point_selected(k): a point was clicked, -1 for none.
        closing(): the outline is to be closed.
        removing(): the selected point, or the last one, is to be removed.
    """

    taken = Signal(object)
    side_clicked = Signal(int, object)
    point_dragged = Signal(int, object)
    point_dropped = Signal()
    point_selected = Signal(int)
    closing = Signal()
    removing = Signal()

    def __init__(self, unit: LengthUnit, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._unit: LengthUnit = unit
        self._image: Image | None = None
        self.view = TraceView(Lie(), View(QRectF(0, 0, 100, 100)), 1, 1)
        self.trace, self.task = Trace(), Task.OUTLINE
        self.first: Pixel | None = None
        self.selected: int | None = None
        self.cross: Pixel | None = None
        self._is_moved = self._dragged = False
        self._pressed: QPointF | None = None
        self._held: int | None = None
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(tr("Picture to trace"))
        self.setFont(figures(self.font(), 0.95))
        self.setMinimumSize(420, 300)
        self.setCursor(Qt.CursorShape.CrossCursor)

    def sizeHint(self) -> QSize:
        """Return a large sheet."""
        return QSize(760, 560)

    # What is shown

    def show_picture(self, picture: Picture | None) -> None:
        """Lay another picture on the sheet, or none."""
        self._image = Image(picture) if picture is not None else None
        if self._image is not None:
            self.view = replace(self.view, width=self._image.width, height=self._image.height)
        self.cross = None
        self.fit()

    def show_trace(self, trace: Trace, task: Task, first: Pixel | None, selected: int | None) -> None:
        """Show what was clicked, and what the next click is for."""
        is_turned = trace.lie != self.view.lie
        self.trace, self.task, self.first, self.selected = trace, task, first, selected
        self.view = replace(self.view, lie=trace.lie)
        if is_turned:
            self.fit()
        count = len(trace.points)
        closed = tr("closed") if trace.is_closed else tr("open")
        self.setAccessibleDescription(
            tr(
                "Click {words}. Outline: {count} points, {closed}.",
                words=task.words,
                count=count,
                closed=closed,
            )
        )
        self.update()

    def fit(self) -> None:
        """Show the whole picture."""
        self._is_moved = False
        self._follow()

    def zoom(self, steps: int) -> None:
        """Enlarge by steps, or make smaller."""
        self._zoom(_ZOOM**steps, self.view.view.plot.center())

    def _follow(self) -> None:
        self.view = replace(self.view, view=replace(self.view.view, plot=QRectF(self.rect())))
        if not self._is_moved:
            self.view = self.view.fitted()
        self.update()

    def _zoom(self, factor: float, about: QPointF) -> None:
        self._is_moved = True
        self.view = replace(self.view, view=self.view.view.zoomed(factor, about))
        self.update()

    def _pan(self, by: QPointF) -> None:
        self._is_moved = True
        self.view = replace(self.view, view=self.view.view.panned(by))
        self.update()

    # What lies where

    def point_at(self, at: QPointF) -> int | None:
        """Return which point of the outline lies at a place of the screen."""
        if not self.trace.points:
            return None
        shown = self.view.shown(shown_at(self.trace.points, self.trace.map()))
        away = np.hypot(*(shown - (at.x(), at.y())).T)
        k = int(np.argmin(away))
        return k if away[k] <= POINT_PX else None

    def _side_at(self, at: QPointF) -> int | None:
        """Return which side of the closed outline lies at a place of the screen, by the point it leaves."""
        if not self.trace.is_closed:
            return None
        a = self.view.shown(shown_at(self.trace.points, self.trace.map()))
        along, off = np.roll(a, -1, axis=0) - a, np.array([at.x(), at.y()]) - a
        share = np.clip((along * off).sum(axis=1) / np.maximum((along * along).sum(axis=1), 1e-9), 0.0, 1.0)
        away = np.hypot(*(off - share[:, None] * along).T)
        k = int(np.argmin(away))
        return k if away[k] <= _SIDE_PX else None

    def _take(self, at: QPointF) -> None:
        """Take a click at a place of the screen."""
        pixel = self.view.pixel(at)
        if self._image is None or not self.view.holds(pixel):
            return
        if self.task is not Task.OUTLINE:
            self.taken.emit(pixel)
            return
        point, side = self.point_at(at), self._side_at(at)
        if point == 0 and not self.trace.is_closed and len(self.trace.points) >= LEAST_POINTS:
            self.closing.emit()
        elif point is not None:
            self.point_selected.emit(point)
        elif side is not None:
            self.side_clicked.emit(side, pixel)
        elif self.trace.is_closed:
            self.point_selected.emit(-1)
        else:
            self.taken.emit(pixel)

    # Mouse

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep everything in sight."""
        super().resizeEvent(event)
        self._follow()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom about the pointer."""
        self._zoom(_ZOOM ** (event.angleDelta().y() / 120.0), event.position())
        event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Begin a click, the drag of a point, or that of the picture."""
        if event.button() not in (Qt.MouseButton.LeftButton, Qt.MouseButton.MiddleButton):
            return
        self._pressed, self._dragged = event.position(), False
        is_left = event.button() is Qt.MouseButton.LeftButton
        self._held = self.point_at(event.position()) if is_left and self.task is Task.OUTLINE else None

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drag a point or the picture, or show where the pointer is."""
        at = event.position()
        if self._pressed is not None:
            by = at - self._pressed
            if self._dragged or by.manhattanLength() >= QApplication.startDragDistance():
                self._dragged = True
                if self._held is not None:
                    self.point_dragged.emit(self._held, self._within(self.view.pixel(at)))
                else:
                    self._pan(by)
                    self._pressed = at
        self.cross = self.view.pixel(at)
        self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """End a drag, or take a place."""
        is_click = self._pressed is not None and not self._dragged
        held, self._pressed, self._held = self._held, None, None
        if not is_click:
            if held is not None:
                self.point_dropped.emit()
        elif event.button() is Qt.MouseButton.LeftButton:
            self._take(event.position())

    def leaveEvent(self, event: object) -> None:
        """Forget the pointer."""
        self.cross = None
        self.update()

    def _within(self, pixel: Pixel) -> Pixel:
        return min(max(pixel[0], 0.0), self.view.width), min(max(pixel[1], 0.0), self.view.height)

    # Keys

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Move the cross or the picture, take, close, remove, zoom."""
        key, modifiers = event.key(), event.modifiers()
        ways = {
            Qt.Key.Key_Left: QPointF(-1.0, 0.0),
            Qt.Key.Key_Right: QPointF(1.0, 0.0),
            Qt.Key.Key_Up: QPointF(0.0, -1.0),
            Qt.Key.Key_Down: QPointF(0.0, 1.0),
        }
        if key in ways and modifiers & Qt.KeyboardModifier.ControlModifier:
            self._pan(ways[Qt.Key(key)] * -_PAN_PX)
        elif key in ways:
            far = bool(modifiers & Qt.KeyboardModifier.ShiftModifier)
            self._step(ways[Qt.Key(key)] * (_FAR_STEP if far else 1.0))
        elif key == Qt.Key.Key_Space:
            if self.cross is not None:
                self._take(self.view.point(self.cross))
        elif key in (Qt.Key.Key_Backspace, Qt.Key.Key_Delete):
            self.removing.emit()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._may_close():
            self.closing.emit()
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom(1)
        elif key == Qt.Key.Key_Minus:
            self.zoom(-1)
        elif key == Qt.Key.Key_0:
            self.fit()
        else:
            super().keyPressEvent(event)

    def _may_close(self) -> bool:
        is_tracing = self.task is Task.OUTLINE and not self.trace.is_closed
        return is_tracing and len(self.trace.points) >= LEAST_POINTS

    def _step(self, by: QPointF) -> None:
        """Move the cross by pixels of the picture where they are larger than the screen's, else by these."""
        plot = self.view.view.plot
        at = plot.center() if self.cross is None else self.view.point(self.cross)
        step = max(1.0, self.view.view.scale)
        there = at + by * step
        self.cross = self._within(self.view.pixel(there))
        shown = self.view.point(self.cross)
        if not plot.adjusted(8, 8, -8, -8).contains(shown):
            self._pan(plot.center() - shown)
        self.update()

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show where the keys are."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Show that they have gone."""
        super().focusOutEvent(event)
        self.update()

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the picture and what was clicked on it."""
        painter = QPainter(self)
        painter.setFont(self.font())
        dark = self.palette().color(QPalette.ColorRole.Window).lightness() < 128
        around = DARK if dark else LIGHT
        # A picture is as light in a dark window as in a light one, and so is what is drawn over it.
        painting = Painting(painter, self.view, LIGHT, self._unit)
        painter.fillRect(self.rect(), QColor(around.grid))
        if self._image is not None:
            self._paint_picture(painter, painting, self._image)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen(QColor(around.accent if self.hasFocus() else around.hairline)))
        painter.drawRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5))

    def _paint_picture(self, painter: QPainter, painting: Painting, image: Image) -> None:
        dots = math.ceil(self.devicePixelRatioF())
        self.view.draw(painter, image, dots)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        is_inside = self.cross is not None and self.view.holds(self.cross)
        pointer = self.cross if is_inside else None
        painting.level(self.trace)
        painting.zeros(self.trace)
        painting.lengths(self.trace)
        painting.outline(self.trace, self.selected, pointer if self.task is Task.OUTLINE else None)
        if self.first is not None:
            painting.pending(self.first, pointer)
        if (
            pointer is not None
            and self._held is None
            and not (self.trace.is_closed and self.task is Task.OUTLINE)
        ):
            painting.pointer(pointer, image, dots)

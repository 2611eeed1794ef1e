"""The sheet: the drawing at equal scales, axle line low, outboard right; zoom, pan and pointer."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QCoreApplication, QEvent, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QTransform
from PySide6.QtWidgets import QGraphicsItem, QGraphicsScene, QGraphicsView, QWidget

from app.reports.numbers import unit_of
from app.session.edited import locked_count, offset_mm, places_of
from app.session.shown import Shown
from app.units import LengthUnit
from app.views.canvas import marks
from app.views.canvas.dimensions import DimensionLayer
from app.views.canvas.drawing import Drawing
from app.views.canvas.grid import Grid
from app.views.canvas.handles import Handles
from app.views.canvas.held import HeldMarks
from app.views.canvas.layers import no_ground_below, paint_layers
from app.views.canvas.magnifier import Magnifier
from app.views.canvas.overlays import Overlay
from app.views.theme import Theme
from geometry.shape.curve import Array

Place = tuple[float, float]

#: No zoom shows less or more than this across, mm.
_LEAST_VIEW_MM, _LARGEST_VIEW_MM = 0.5, 5000.0
#: What an empty sheet shows.
_EMPTY = QRectF(-200.0, 0.0, 320.0, 270.0)
_ZOOM_STEP = 1.25
#: Room for rows of dimensions above what is drawn, as a share of its height.
_ROOM_ABOVE = 0.24


class _Box(pg.ViewBox):  # type: ignore[misc]  # the plotting library has no types
    """A view with equal scales; left and middle drags pan, the wheel zooms about the cursor.

    A left drag with Shift draws a box: `banded` has its two corners in the scene and whether it is finished.
    """

    clicked = Signal(QPointF, bool)
    banded = Signal(QPointF, QPointF, bool)

    def __init__(self) -> None:
        super().__init__(enableMenu=False, lockAspect=True, defaultPadding=0.0)
        self._bands = False
        self.disableAutoRange()
        # It paints nothing itself, and is not asked to. That it clips its children stays: without, the scene
        # would find them only exactly where they are, and clicks beside a handle would go to the box.
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemHasNoContents)
        self.setLimits(minXRange=_LEAST_VIEW_MM, maxXRange=_LARGEST_VIEW_MM)

    def mouseDragEvent(self, event: Any, axis: int | None = None) -> None:
        if event.button() == Qt.MouseButton.RightButton:
            event.ignore()
            return
        if event.isStart():
            is_left = event.button() == Qt.MouseButton.LeftButton
            self._bands = is_left and bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        if self._bands:
            event.accept()
            self.banded.emit(event.buttonDownScenePos(), event.scenePos(), event.isFinish())
            self._bands = not event.isFinish()
            return
        super().mouseDragEvent(event, axis)

    def mouseClickEvent(self, event: Any) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            event.accept()
            self.clicked.emit(event.scenePos(), event.double())


class Sheet(pg.GraphicsView):  # type: ignore[misc]  # the plotting library has no types
    """Shows a `Shown`.

    Signals:
        scaled(): zoom or place of the view has changed.
        pointed(place): the pointer is over (z, r) in mm, hub's frame; None when it left.
        tabbed(): the tabulator was pressed.
    """

    scaled = Signal()
    pointed = Signal(object)
    tabbed = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent, background=None)
        # Every move counts: the document itself measures only the newest.
        pg.setConfigOption("mouseRateLimit", 0)
        self._theme = theme
        self._shown: Shown | None = None
        self._left, self._top, self._scale = 0.0, 0.0, 1.0  # mm, mm, pixels for a mm
        self._to_pixels = QTransform()
        self._pointer: QPointF | None = None
        self.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.FullViewportUpdate)
        no_ground_below(self)
        self.setOptimizationFlag(QGraphicsView.OptimizationFlag.DontSavePainterState)
        scene: Any = self.scene()
        scene.setItemIndexMethod(QGraphicsScene.ItemIndexMethod.NoIndex)
        self.box = _Box()
        self.setCentralItem(self.box)
        self.grid = Grid(theme)
        self.overlay = Overlay(theme, self.to_pixels, 20.0)
        self.drawing = Drawing(self.overlay, theme)
        self.handles = Handles(theme, self.pixels_of, 30.0)
        self.dimensions = DimensionLayer(theme, self.to_pixels, 25.0)
        self.held = HeldMarks(theme, self.to_pixels, 22.0)
        self.dimensions.words = lambda: self.overlay.taken_rows
        self.dimensions.handles = self.handles.boxes
        self.overlay.avoid = lambda: (self.handles.boxes(), self.dimensions.boxes())
        self._ground = (*self.grid.layers, *self.drawing.ground)
        self._ground_kept: tuple[object, ...] = ()
        self.magnifier = Magnifier(theme, self.drawing, 40.0)
        for item in (
            self.drawing.picture,
            self.overlay,
            self.held,
            self.dimensions,
            self.handles,
            self.magnifier,
        ):
            item.setParentItem(self.box)
        self.box.sigRangeChanged.connect(self._follow)
        self.box.sigResized.connect(self._follow)
        scene.sigMouseMoved.connect(self._point)
        theme.changed.connect(self._dress)
        self._dress()

    # Places and pixels

    @property
    def mm_per_pixel(self) -> float:
        """How many mm a logical pixel covers."""
        return 1.0 / self._scale

    def to_pixels(self, z: float, r: float) -> QPointF:
        """Return where (z, r) lies, in logical pixels of the sheet."""
        return QPointF((z - self._left) * self._scale, (self._top - r) * self._scale)

    def to_place(self, pixels: QPointF) -> Place:
        """Return the (z, r) under a position in logical pixels of the sheet."""
        return self._left + pixels.x() / self._scale, self._top - pixels.y() / self._scale

    def pixels_of(self, places: Array) -> Array:
        """Return (m, 2) pixels of (m, 2) places."""
        return (places - (self._left, self._top)) * (self._scale, -self._scale)

    def unit(self) -> LengthUnit:
        """Return the unit that is shown."""
        return unit_of(self._shown.project) if self._shown is not None else "mm"

    # View

    def show_state(self, shown: Shown) -> None:
        """Show another state."""
        self._shown = shown
        unit = self.unit()
        if unit != self.overlay.unit:
            self.overlay.unit = unit
            self.grid.set_unit(unit)
            self.grid.follow(self.box.viewRect(), self.mm_per_pixel)
        self.drawing.show_state(shown, self.mm_per_pixel)
        self._place_handles(shown)
        if not shown.dragging:
            self.overlay.keep_off(self.handles.every_box())
        self.magnifier.show_state(shown, self.overlay.content.moving, self._pointer)
        self.held.show_state(shown)
        self._renew_ground()

    def paint_now(self) -> None:
        """Paint what has changed, without waiting for the next turn of events."""
        # The scene gathers what its items ask for and tells the view in a later turn; then the window paints.
        QCoreApplication.sendPostedEvents(self.scene(), QEvent.Type.MetaCall.value)
        QCoreApplication.sendPostedEvents(self.window(), QEvent.Type.UpdateRequest.value)

    def fit(self) -> None:
        """Show everything that is drawn."""
        bounds = self.drawing.bounds()
        bounds = (
            _EMPTY if bounds.isEmpty() else bounds.united(QRectF(bounds.left(), 0.0, bounds.width(), 1.0))
        )
        if self.dimensions.has_any:
            bounds.setBottom(bounds.bottom() + _ROOM_ABOVE * bounds.height())
        self.box.setRange(bounds, padding=0.06)

    def zoom(self, steps: int) -> None:
        """Enlarge by so many steps about the middle of the view; negative ones make smaller."""
        factor = _ZOOM_STEP**-steps
        self.box.scaleBy((factor, factor))

    def zoom_to(self, place: Place, across_mm: float) -> None:
        """Bring a place to the middle, at least across_mm from edge to edge."""
        half = across_mm / 2.0
        self.box.setRange(QRectF(place[0] - half, place[1] - half, across_mm, across_mm), padding=0.0)

    def zoom_to_tightest(self) -> bool:
        """Show what is marked as the tightest place, large; False when there is none."""
        row = marks.tightest(self._shown.measurements) if self._shown is not None else None
        if row is None:
            return False
        a, b = marks.witnesses(row)
        apart = math.hypot(a[0] - b[0], a[1] - b[1])
        self.zoom_to(((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0), max(24.0, 4.0 * apart))
        return True

    def set_magnifier(self, on: bool) -> None:
        """Enlarge the tightest place during gestures, or not."""
        self.magnifier.is_on = on
        if self._shown is not None:
            self.magnifier.show_state(self._shown, self.overlay.content.moving, self._pointer)

    def look_at(self, place: Place) -> None:
        """Mark a place; bring it into view, at the same zoom, if it lies outside."""
        view = self.box.viewRect()
        dz, dr = 0.06 * view.width(), 0.06 * view.height()
        if not view.adjusted(dz, dr, -dz, -dr).contains(QPointF(*place)):
            self.box.translateBy(x=place[0] - view.center().x(), y=place[1] - view.center().y())
        self.drawing.look_at(place)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Hand a move straight to the vertex under way; what lies below the pointer is no matter then."""
        if self.handles.is_held:
            at = self.mapToScene(event.position().toPoint())
            self._pointer = at
            self.handles.dragged.emit(at, event.modifiers())
            return
        super().mouseMoveEvent(event)

    def event(self, event: QEvent) -> bool:
        """Report the tabulator, which goes to the coordinate boxes."""
        if (
            isinstance(event, QKeyEvent)
            and event.type() == QEvent.Type.KeyPress
            and event.key() == Qt.Key.Key_Tab
        ):
            self.tabbed.emit()
            return True
        return bool(super().event(event))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Follow Ctrl in a drag; leave every other key to the canvas round the sheet."""
        self._follow_ctrl(event, Qt.KeyboardModifier.ControlModifier)
        event.ignore()

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """Follow Ctrl in a drag."""
        self._follow_ctrl(event, Qt.KeyboardModifier.NoModifier)
        event.ignore()

    def _follow_ctrl(self, event: QKeyEvent, held: Qt.KeyboardModifier) -> None:
        """Take the vertex under way to where it lies with Ctrl held or let go, though the pointer rests."""
        if event.key() == Qt.Key.Key_Control and self.handles.is_held and self._pointer is not None:
            self.handles.dragged.emit(self._pointer, held)

    def leaveEvent(self, event: QEvent) -> None:
        """Tell that the pointer has left."""
        super().leaveEvent(event)
        self._pointer = None
        self.pointed.emit(None)

    def tell_pointer(self) -> None:
        """Tell where the pointer is while a vertex hangs on it."""
        if self._pointer is not None:
            self.pointed.emit(self.to_place(self._pointer))

    def _point(self, at: QPointF) -> None:
        self._pointer = at
        self.tell_pointer()

    def _follow(self, *_: object) -> None:
        frame = QRectF(0.0, 0.0, self.box.rect().width(), self.box.rect().height())
        view = self.box.viewRect()
        self._left, self._top = view.left(), view.bottom()
        self._scale = frame.width() / view.width() if frame.width() > 0.0 else 1.0
        self._to_pixels = self.box.childTransform()
        self.grid.follow(view, self.mm_per_pixel)
        self.drawing.picture.follow(frame, self._to_pixels)
        self.overlay.follow(frame, view)
        self.handles.follow(frame)
        self.dimensions.follow(frame)
        self.magnifier.follow(frame, self._scale)
        self.held.follow(frame)
        self.drawing.follow(self.mm_per_pixel)
        self.overlay.keep_off(self.handles.every_box())
        self._renew_ground()
        self.scaled.emit()

    def _dress(self) -> None:
        self.setBackground(self._theme.colour("paper"))
        self.grid.dress()
        self.drawing.dress()
        self.handles.update()
        self.dimensions.update()
        self.held.update()
        self._renew_ground()

    def drawBackground(self, painter: QPainter, rect: QRectF) -> None:  # noqa: N802
        """Paint the paper and what lies under the wheel; the view keeps the picture of it."""
        super().drawBackground(painter, rect)
        paint_layers(painter, self._ground, self._to_pixels)

    def _renew_ground(self) -> None:
        """Drop the kept picture of the ground if it shows something else now."""
        now = (self._left, self._top, self._scale, *(layer.changes for layer in self._ground))
        if now != self._ground_kept:
            self._ground_kept = now
            self.resetCachedContent()
            self.viewport().update()

    def _place_handles(self, shown: Shown) -> None:
        if shown.edited is None:
            self.handles.set_places(np.empty((0, 2)), 0, None)
            return
        shift = offset_mm(shown.project, shown.edited, shown.wheel)
        places = places_of(shown.project, shown.edited) + np.array([shift, 0.0])
        self.handles.set_places(
            places, locked_count(shown.project, shown.edited), shown.selected, shown.group
        )

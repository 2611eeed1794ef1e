"""Handles on the vertices of the edited thing.

A handle reports from a mouse drag alone; setting its place is silent, so no feedback has to be guarded
against. All handles are one item: the press picks the nearest vertex within reach.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from pyqtgraph import GraphicsObject
from PySide6.QtCore import QLineF, QPointF, QRectF, QSizeF, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPixmap
from PySide6.QtWidgets import QStyleOptionGraphicsItem, QWidget

from app.language import tr
from app.views.canvas.overlays import RULER_PX
from app.views.theme import Colours, Theme
from geometry.shape.curve import Array

#: Side of a handle's hit area in logical pixels, and of what is drawn of it.
HIT_PX = 9.0
DRAWN_PX = 6.0
#: So many handles are painted one by one.
_MANY = 100
_PICTURE_PX = DRAWN_PX + 1.0  # half of the line round it lies outside

LOCKED_WORDS = tr(
    "Locked rim contour: it follows from the size code. Change the size, or unlock the contour."
)


class Handles(GraphicsObject):  # type: ignore[misc]  # the plotting library has no types
    """Small squares on vertices; locked ones are crosses that do not move.

    Attributes:
        is_held: a drag that began on a handle is under way.

    Signals:
        pressed(index, QPointF): a drag began on this vertex, pointer in the scene.
        dragged(QPointF, modifiers): the pointer moved.
        released(): the drag ended.
        clicked(index, modifiers): a vertex was clicked.
    """

    pressed = Signal(int, QPointF)
    dragged = Signal(QPointF, object)
    released = Signal()
    clicked = Signal(int, object)

    def __init__(self, theme: Theme, pixels_of: Callable[[Array], Array], layer: float) -> None:
        super().__init__()
        self.setZValue(layer)
        self._theme = theme
        self._pixels_of = pixels_of
        self._places: Array = np.empty((0, 2))
        self._locked = 0
        self._selected: int | None = None
        self._group: tuple[int, ...] = ()
        self._hovered: int | None = None
        self._frame = QRectF()
        #: Corners and hit areas of the handles that move, strokes of the others; None to be made anew.
        self._corners: list[QPointF] | None = None
        self._boxes: Array | None = None
        self._crosses: list[QLineF] = []
        #: Of many, those that do not move now as one picture with its corner; which do, and of what pictures.
        self._still: tuple[QPointF, QPixmap] | None = None
        self._still_for: tuple[set[int], int] = (set(), 0)
        self._picture: tuple[tuple[Colours, float], QPixmap] | None = None
        self.is_held = False

    def set_places(
        self, places: Array, locked: int, selected: int | None, group: tuple[int, ...] = ()
    ) -> None:
        """Put handles on these (m, 2) places, the first `locked` of them fixed; nothing is reported."""
        self._keep_corners(places, locked)
        self._places, self._locked, self._selected, self._group = places, locked, selected, group
        if self._hovered is not None and self._hovered >= len(places):
            self._hovered = None
        self.update()

    def _keep_corners(self, places: Array, locked: int) -> None:
        """Make anew the corners that lie elsewhere now; a drag moves one of them."""
        if self._corners is None or locked != self._locked or len(places) != len(self._places):
            self._corners = self._boxes = self._still = None
            return
        changed = np.flatnonzero((places != self._places).any(axis=1))
        if len(changed) == 0:
            return
        if changed[0] < locked:
            self._corners = self._boxes = self._still = None
            return
        if not {*changed.tolist()} <= self._moving():
            self._still = None
        pixels = self._pixels_of(places[changed])
        for i, corner in zip(changed.tolist(), _corners(pixels), strict=True):
            self._corners[i - locked] = corner
        if self._boxes is not None:
            self._boxes[changed - locked] = _hit_boxes(pixels)

    def follow(self, frame: QRectF) -> None:
        """Take the view's frame in pixels; called whenever places lie elsewhere on the screen."""
        self._corners = self._boxes = self._still = None
        if frame != self._frame:
            self.prepareGeometryChange()
            self._frame = QRectF(frame)

    def boundingRect(self) -> QRectF:
        """Return the whole frame; the handles keep their size in pixels."""
        return self._frame

    def shape(self) -> QPainterPath:
        """Return the hit areas, so that what lies between them goes to the view below."""
        path = QPainterPath()
        half = HIT_PX / 2.0
        for x, y in self._pixels().tolist():
            path.addRect(QRectF(x - half, y - half, HIT_PX, HIT_PX))
        return path

    def nearest(self, position: QPointF) -> int | None:
        """Return the vertex whose hit area holds a position in the frame; the nearest of several."""
        if not len(self._places):
            return None
        apart = np.abs(self._pixels() - (position.x(), position.y()))
        inside = np.flatnonzero(apart.max(axis=1) <= HIT_PX / 2.0 + 2.0)  # the scene's own click radius
        return int(inside[np.argmin(apart[inside].sum(axis=1))]) if len(inside) else None

    def boxes(self) -> Array:
        """Return (m, 4) hit areas of the handles that move: left, top, right, bottom in pixels.

        It is kept, and written anew where a handle moves.
        """
        if self._boxes is None:
            self._boxes = _hit_boxes(self._pixels()[self._locked :])
        return self._boxes

    def every_box(self) -> Array:
        """Return (m, 4) areas of all vertices, fixed ones too: left, top, right, bottom in pixels."""
        return _hit_boxes(self._pixels())

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        """Draw the handles, but for those behind the lower ruler."""
        painter.setClipRect(self._frame.adjusted(0.0, 0.0, 0.0, -RULER_PX))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        if self._corners is None:
            pixels = self._pixels()
            self._corners, self._crosses = _corners(pixels[self._locked :]), _crosses(pixels[: self._locked])
        painter.setPen(self._theme.colour("quiet"))
        painter.drawLines(self._crosses)
        picture = self._square_picture(painter.device().devicePixelRatioF())
        if len(self._corners) < _MANY:
            for corner in self._corners:  # one after the other, so that of two that overlap one is whole
                painter.drawPixmap(corner, picture)
        else:
            self._paint_many(painter, picture)
        accent = self._theme.colour("accent")
        if self._hovered is not None and self._hovered != self._selected:
            self._paint_marked(painter, self._hovered, 1.0, accent, self._theme.colour("paper"))
        for index in self._group:
            if index < len(self._places) and index != self._selected:
                self._paint_marked(painter, index, 1.0, accent, accent)
        if self._selected is not None and self._selected < len(self._places):
            self._paint_marked(painter, self._selected, 2.0, accent, accent)

    def _paint_many(self, painter: QPainter, picture: QPixmap) -> None:
        """Paint hundreds of handles: those that do not move now as one picture, the others over it."""
        assert self._corners is not None
        moving = self._moving()
        if self._still is None or self._still_for != (moving, picture.cacheKey()):
            self._still_for = moving, picture.cacheKey()
            self._still = self._still_picture(picture, moving)
        corner, still = self._still
        painter.drawPixmap(corner, still)
        for index in sorted(moving):
            if index >= self._locked:
                painter.drawPixmap(self._corners[index - self._locked], picture)

    def _moving(self) -> set[int]:
        return {*self._group} if self._selected is None else {*self._group, self._selected}

    def _still_picture(self, picture: QPixmap, moving: set[int]) -> tuple[QPointF, QPixmap]:
        """Return the handles in view that do not move, as one picture, and its corner."""
        assert self._corners is not None
        ratio = picture.devicePixelRatioF()
        places = [c for i, c in enumerate(self._corners, self._locked) if i not in moving]
        side, view = QSizeF(_PICTURE_PX, _PICTURE_PX), self._frame
        places = [corner for corner in places if view.intersects(QRectF(corner, side))]
        left, top = (math.floor(min(x, default=0.0) * ratio) - 1 for x in _apart(places))
        right, bottom = (math.ceil((max(x, default=0.0) + _PICTURE_PX) * ratio) + 1 for x in _apart(places))
        still, at = QPixmap(right - left, bottom - top), QPointF(left / ratio, top / ratio)
        still.setDevicePixelRatio(ratio)
        still.fill(Qt.GlobalColor.transparent)
        with QPainter(still) as inside:
            inside.translate(-at)
            for corner in places:
                inside.drawPixmap(corner, picture)
        return at, still

    def _square_picture(self, ratio: float) -> QPixmap:
        """Return the picture of one handle: of hundreds, each drawn as a shape costs four times as much."""
        asked = self._theme.colours, ratio
        if self._picture is None or self._picture[0] != asked:
            side = round(_PICTURE_PX * ratio)
            picture = QPixmap(side, side)
            picture.fill(self._theme.colour("ink"))
            with QPainter(picture) as inside:
                line = max(1, round(ratio))
                paper = self._theme.colour("paper")
                inside.fillRect(line, line, side - 2 * line, side - 2 * line, paper)
            picture.setDevicePixelRatio(ratio)
            self._picture = asked, picture
        return self._picture[1]

    def _paint_marked(
        self, painter: QPainter, index: int, larger: float, outline: QColor, fill: QColor
    ) -> None:
        """Paint the hovered or the selected handle over the others."""
        painter.setPen(outline)
        painter.setBrush(fill)
        if index >= self._locked:
            assert self._corners is not None
            middle = self._corners[index - self._locked] + QPointF(_PICTURE_PX / 2.0, _PICTURE_PX / 2.0)
            half = DRAWN_PX / 2.0 + larger
            painter.drawRect(QRectF(middle.x() - half, middle.y() - half, 2.0 * half, 2.0 * half))
        elif index == self._selected:
            painter.drawLines(self._crosses[2 * index : 2 * index + 2])

    def hoverEvent(self, event: Any) -> None:  # noqa: D102 - the scene's own protocol
        hovered = None if event.isExit() else self.nearest(self.mapFromScene(event.scenePos()))
        if hovered is not None:
            event.acceptDrags(Qt.MouseButton.LeftButton)
            event.acceptClicks(Qt.MouseButton.LeftButton)
        if hovered != self._hovered:
            self._hovered = hovered
            locked = hovered is not None and hovered < self._locked
            self.setToolTip(LOCKED_WORDS if locked else "")
            if hovered is None:
                self.unsetCursor()
            else:
                self.setCursor(Qt.CursorShape.ForbiddenCursor if locked else Qt.CursorShape.SizeAllCursor)
            self.update()

    def mouseDragEvent(self, event: Any) -> None:  # noqa: D102 - the scene's own protocol
        if event.button() != Qt.MouseButton.LeftButton:
            event.ignore()
            return
        if event.isStart():
            index = self.nearest(self.mapFromScene(event.buttonDownScenePos()))
            if index is None:
                event.ignore()
                return
            self.is_held = True
            self.pressed.emit(index, event.buttonDownScenePos())
        event.accept()
        self.dragged.emit(event.scenePos(), event.modifiers())
        if event.isFinish():
            self.is_held = False
            self.released.emit()

    def mouseClickEvent(self, event: Any) -> None:  # noqa: D102 - the scene's own protocol
        index = self.nearest(self.mapFromScene(event.scenePos()))
        if index is None or event.button() != Qt.MouseButton.LeftButton or event.double():
            event.ignore()
            return
        event.accept()
        self.clicked.emit(index, event.modifiers())

    def _pixels(self) -> Array:
        return self._pixels_of(self._places)


def _apart(places: list[QPointF]) -> tuple[list[float], list[float]]:
    return [p.x() for p in places], [p.y() for p in places]


def _hit_boxes(pixels: Array) -> Array:
    """Return (m, 4) hit areas of handles at (m, 2) pixels."""
    return np.hstack([pixels - HIT_PX / 2.0, pixels + HIT_PX / 2.0])


def _corners(pixels: Array) -> list[QPointF]:
    """Return the upper left corners of the pictures of handles at (m, 2) pixels."""
    return [QPointF(x, y) for x, y in (pixels - _PICTURE_PX / 2.0).tolist()]


def _crosses(pixels: Array) -> list[QLineF]:
    """Return two strokes for each fixed vertex at (m, 2) pixels."""
    lines = []
    for x, y in pixels.tolist():
        lines.append(QLineF(x - 2.0, y - 2.0, x + 2.0, y + 2.0))
        lines.append(QLineF(x - 2.0, y + 2.0, x + 2.0, y - 2.0))
    return lines

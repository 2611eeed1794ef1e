"""The layer of dimensions: painted over the drawing, hovered and clicked by their numbers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from pyqtgraph import GraphicsObject
from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPainterPath, QPen
from PySide6.QtWidgets import QStyleOptionGraphicsItem, QWidget

from app.language import tr
from app.session.dimensions import Dimension, Wanted
from app.units import LengthUnit
from app.views.canvas.dimension_layout import Laid, Layout
from app.views.canvas.items import pen
from app.views.canvas.layers import NO_BRUSH, NO_PEN
from app.views.canvas.overlays import RULER_PX
from app.views.theme import Colours, Theme, Widths, words_font
from geometry.shape.curve import Array

#: Above it lie hints and the legend.
_TOP_PX = 44.0
#: So many that are gone are remembered.
_MOST_GONE = 12


class DimensionLayer(GraphicsObject):  # type: ignore[misc]  # the plotting library has no types
    """Draws dimensions: driving ones in the accent, reference ones quiet and in parentheses.

    Attributes:
        words: returns (m, 4) boxes of words that no number shall hide; handles: those of handles.

    Signals:
        clicked(dimension): the number of a `Dimension` was clicked.
    """

    clicked = Signal(object)

    def __init__(self, theme: Theme, to_pixels: Callable[[float, float], QPointF], layer: float) -> None:
        super().__init__()
        self.setZValue(layer)
        self._theme, self._to_pixels = theme, to_pixels
        self._frame = QRectF()
        self._font = words_font()
        metrics = QFontMetricsF(self._font)
        self._widths, self._height, self._ascent = Widths(metrics), metrics.height(), round(metrics.ascent())
        self._dimensions: tuple[Dimension, ...] = ()
        self._unit: LengthUnit = "mm"
        self._laid: list[Laid] | None = None
        self._last: list[Laid] = []
        self._kept_off = np.empty((0, 4))  # boxes of words and handles when they were laid last
        self._hovered: Wanted | None = None
        self._dressed: Colours | None = None
        self._paper = QColor()
        self._colours: dict[bool, QColor] = {}
        self._thin: dict[bool, QPen] = {}
        self.words: Callable[[], Array] = lambda: np.empty((0, 4))
        self.handles: Callable[[], Array] = lambda: np.empty((0, 4))

    def set_dimensions(self, dimensions: Sequence[Dimension], unit: LengthUnit) -> None:
        """Show these; the first has the first choice of places."""
        if unit != self._unit:
            self._last = []
        self._dimensions, self._unit = tuple(dimensions), unit
        self._laid = None
        self.update()

    def follow(self, frame: QRectF) -> None:
        """Take the view's frame in pixels; called whenever places lie elsewhere on the screen."""
        self._laid, self._last = None, []
        if frame != self._frame:
            self.prepareGeometryChange()
            self._frame = QRectF(frame)

    @property
    def has_any(self) -> bool:
        """True while there are dimensions, whether they have room or not."""
        return bool(self._dimensions)

    @property
    def laid(self) -> list[Laid]:
        """Those that have room, where they stand."""
        if self._laid is None:
            room = self._frame.adjusted(RULER_PX * 2.0, _TOP_PX, -6.0, -RULER_PX - 4.0)
            words, handles = self.words(), self.handles()
            now, before = np.concatenate([words, handles]), self._kept_off
            came = now[(now != before).any(axis=1)] if now.shape == before.shape else now
            layout = Layout(self._to_pixels, room, words, handles, self._size, came)
            self._laid = layout.lay(self._dimensions, self._unit, self._last)
            self._last = [*self._laid, *self._gone(self._laid)]
            self._kept_off = now
        return self._laid

    def _gone(self, laid: list[Laid]) -> list[Laid]:
        """Return the newest that are gone, as while there is a fault: they come back where they stood."""
        there = {id(x.dimension.wanted) for x in laid}  # of one dimension it is one object
        gone = [x for x in self._last if id(x.dimension.wanted) not in there]
        return [replace(x, is_free=False) for x in gone[:_MOST_GONE]]

    def boxes(self) -> Array:
        """Return (m, 4) boxes of the numbers: left, top, right, bottom in pixels."""
        return np.array([laid.edges for laid in self.laid]).reshape(-1, 4)

    def box_of(self, wanted: Wanted) -> QRectF | None:
        """Return where the number of a dimension stands; None where it is not drawn."""
        return next((laid.box for laid in self.laid if laid.dimension.wanted == wanted), None)

    def _size(self, words: str) -> tuple[float, float]:
        return self._widths.of(words) + 6.0, self._height

    def boundingRect(self) -> QRectF:
        """Return the whole frame; numbers keep their size in pixels."""
        return self._frame

    def shape(self) -> QPainterPath:
        """Return the boxes of the numbers, so that what lies between them goes to the view below.

        None before they are painted: an error here, where nothing is to be laid out, would end the process.
        """
        path = QPainterPath()
        for laid in self._laid or ():
            path.addRect(laid.box)
        return path

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        """Draw all that have room."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        painter.setFont(self._font)
        if self._dressed is not self._theme.colours:
            self._dress()
        by_colour: dict[bool, list[Laid]] = {False: [], True: []}
        for laid in self.laid:
            by_colour[laid.dimension.drives].append(laid)
        for drives, several in by_colour.items():
            self._paint_lines(painter, several, self._colours[drives], self._thin[drives])
        for drives, several in by_colour.items():
            painter.setPen(self._colours[drives])
            for laid in several:
                left, top, right, bottom = laid.edges
                painter.fillRect(left, top, right - left, bottom - top, self._paper)
                painter.drawText(left + 3, top + self._ascent, laid.text)
                if drives and self._hovered is not None and laid.dimension.wanted == self._hovered:
                    foot = laid.box.bottomLeft() + QPointF(3.0, -0.5)
                    painter.drawLine(foot, foot + QPointF(laid.box.width() - 6.0, 0.0))

    def _dress(self) -> None:
        """Take the colours in force: pens and brushes of driving dimensions and of others."""
        self._dressed = self._theme.colours
        self._paper = self._theme.colour("paper")
        self._paper.setAlpha(215)
        self._colours = {True: self._theme.colour("accent"), False: self._theme.colour("quiet")}
        self._thin = {drives: pen(colour, width=0.8) for drives, colour in self._colours.items()}

    def _paint_lines(self, painter: QPainter, several: list[Laid], colour: QColor, thin: QPen) -> None:
        if not several:
            return
        painter.setPen(thin)
        painter.setBrush(NO_BRUSH)
        painter.drawLines([line for laid in several for line in laid.lines])
        for laid in several:
            if laid.arc is not None:
                painter.drawArc(*laid.arc)
        heads = QPainterPath()
        for laid in several:
            for head in laid.heads:
                heads.addPolygon(head)
        heads.setFillRule(Qt.FillRule.WindingFill)  # where two meet neither has a hole
        painter.setPen(NO_PEN)
        painter.setBrush(colour)
        painter.drawPath(heads)

    def at(self, position: QPointF) -> Laid | None:
        """Return the dimension whose number holds a position in the frame."""
        return next((laid for laid in self.laid if laid.box.contains(position)), None)

    def hoverEvent(self, event: Any) -> None:  # noqa: D102 - the scene's own protocol
        found = None if event.isExit() else self.at(self.mapFromScene(event.scenePos()))
        if found is not None:
            event.acceptClicks(Qt.MouseButton.LeftButton)
        hovered = found.dimension.wanted if found is not None else None
        if hovered == self._hovered:
            return
        self._hovered = hovered
        if found is None:
            self.setToolTip("")
            self.unsetCursor()
        else:
            drives = found.dimension.drives
            ends = (
                tr("click to type it.")
                if drives
                else tr("for reference. {why_not}", why_not=found.dimension.why_not)
            )
            self.setToolTip(f"{found.dimension.name}: {ends}")
            self.setCursor(Qt.CursorShape.IBeamCursor if drives else Qt.CursorShape.WhatsThisCursor)
        self.update()

    def mouseClickEvent(self, event: Any) -> None:  # noqa: D102 - the scene's own protocol
        found = self.at(self.mapFromScene(event.scenePos()))
        if found is None or event.button() != Qt.MouseButton.LeftButton:
            event.ignore()
            return
        event.accept()
        self.clicked.emit(found.dimension)

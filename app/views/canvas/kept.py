"""Painter calls that are made once and done again at every paint."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPixmap

Call = tuple[Callable[..., object], tuple[Any, ...]]
#: So much of a picture is painted in the time that it takes to begin another, in square pixels.
_AS_SOON_PX2 = 4000.0


class Kept:
    """Takes calls as a painter does; `paint` does them.

    What stands still costs a paint only what the painter itself takes: no text is measured or placed again.
    What follows `within` lies in a box, and is kept as a picture of it, unless `moves`: what is made anew
    at nearly every paint would cost more so.
    """

    def __init__(self, moves: bool = False) -> None:
        self._moves = moves
        self._parts: list[_Part] = []
        self._newest: list[Call] = []

    @property
    def calls(self) -> list[Call]:
        """Every call, in order."""
        return [call for part in self._parts for call in part.calls]

    def paint(self, painter: QPainter) -> None:
        """Do every call, in order."""
        if not self._parts:
            return
        ratio = painter.device().devicePixelRatioF()
        for part in self._parts:
            part.paint(painter, ratio)

    def within(self, box: QRectF) -> None:
        """Begin a part that draws in this box alone, with a pen of its own."""
        last = self._parts[-1] if self._parts else None
        if not (isinstance(last, _Pictured) and last.takes(box)):
            self._begin(_Part() if self._moves else _Pictured(box))

    def set_pen(self, pen: QPen | QColor) -> None:
        """Set pen or colour of what follows."""
        self._take(QPainter.setPen, pen)

    def draw_line(self, start: QPointF, end: QPointF) -> None:
        """Draw one line."""
        self._take(QPainter.drawLine, start, end)

    def draw_lines(self, lines: Sequence[QLineF]) -> None:
        """Draw separate lines."""
        self._take(QPainter.drawLines, lines)

    def draw_polyline(self, points: Sequence[QPointF]) -> None:
        """Draw one line through points."""
        self._take(QPainter.drawPolyline, points)

    def draw_text(self, base: QPointF, text: str) -> None:
        """Draw a line of text from its base line on."""
        self._take(QPainter.drawText, base, text)

    def fill(self, box: QRectF, colour: QColor) -> None:
        """Fill a box."""
        self._take(QPainter.fillRect, box, colour)

    def draw_pixmap(self, box: QRectF, pixmap: QPixmap) -> None:
        """Draw a whole pixmap into a box."""
        self._take(QPainter.drawPixmap, box, pixmap, QRectF(pixmap.rect()))

    def _take(self, call: Callable[..., object], *values: Any) -> None:
        if not self._parts:
            self._begin(_Part())
        self._newest.append((call, values))

    def _begin(self, part: _Part) -> None:
        self._parts.append(part)
        self._newest = part.calls


class _Part:
    """Calls that are done one after the other."""

    def __init__(self) -> None:
        self.calls: list[Call] = []

    def paint(self, painter: QPainter, ratio: float) -> None:
        """Do the calls; `ratio` is how many of the device's pixels a logical one has."""
        for call, values in self.calls:
            call(painter, *values)


class _Pictured(_Part):
    """Calls in a box, done once into a picture of it."""

    def __init__(self, box: QRectF) -> None:
        super().__init__()
        self._box = box
        self._corner = QPointF()
        self._ratio = 0.0
        self._picture = QPixmap()

    def takes(self, box: QRectF) -> bool:
        """Draw in another box too, where both as one picture take no longer to paint; True where they do."""
        both = self._box | box
        if _area(both) > _area(self._box) + _area(box) + _AS_SOON_PX2:
            return False
        self._box, self._ratio = both, 0.0
        return True

    def paint(self, painter: QPainter, ratio: float) -> None:
        """Draw the picture; it is made anew for another ratio."""
        if ratio != self._ratio:
            self._picture, self._ratio = self._pictured(painter, ratio), ratio
        painter.drawPixmap(self._corner, self._picture)

    def _pictured(self, painter: QPainter, ratio: float) -> QPixmap:
        # On whole pixels of the device, so that it is drawn as it is.
        left, top = (math.floor(x * ratio) for x in (self._box.left(), self._box.top()))
        right, bottom = (math.ceil(x * ratio) for x in (self._box.right(), self._box.bottom()))
        picture = QPixmap(max(right - left, 1), max(bottom - top, 1))
        picture.setDevicePixelRatio(ratio)
        picture.fill(Qt.GlobalColor.transparent)
        self._corner = QPointF(left / ratio, top / ratio)
        with QPainter(picture) as inside:
            inside.setRenderHints(painter.renderHints())
            inside.setFont(painter.font())
            inside.translate(-self._corner)
            super().paint(inside, ratio)
        return picture


def _area(box: QRectF) -> float:
    return box.width() * box.height()

"""Painter calls that are made once and done again at every paint."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from PySide6.QtCore import QLineF, QPointF, QRectF
from PySide6.QtGui import QColor, QFont, QPainter, QPen, QPixmap


class Kept:
    """Takes calls as a painter does; `paint` does them.

    What stands still costs a paint only what the painter itself takes: no text is measured or placed again.
    """

    def __init__(self) -> None:
        self._calls: list[tuple[Callable[..., object], tuple[Any, ...]]] = []

    def paint(self, painter: QPainter) -> None:
        """Do every call, in order."""
        for call, values in self._calls:
            call(painter, *values)

    def set_pen(self, pen: QPen | QColor) -> None:
        """Set pen or colour of what follows."""
        self._calls.append((QPainter.setPen, (pen,)))

    def set_font(self, font: QFont) -> None:
        """Set the font of what follows."""
        self._calls.append((QPainter.setFont, (font,)))

    def draw_line(self, start: QPointF, end: QPointF) -> None:
        """Draw one line."""
        self._calls.append((QPainter.drawLine, (start, end)))

    def draw_lines(self, lines: Sequence[QLineF]) -> None:
        """Draw separate lines."""
        self._calls.append((QPainter.drawLines, (lines,)))

    def draw_polyline(self, points: Sequence[QPointF]) -> None:
        """Draw one line through points."""
        self._calls.append((QPainter.drawPolyline, (points,)))

    def draw_text(self, base: QPointF, text: str) -> None:
        """Draw a line of text from its base line on."""
        self._calls.append((QPainter.drawText, (base, text)))

    def fill(self, box: QRectF, colour: QColor) -> None:
        """Fill a box."""
        self._calls.append((QPainter.fillRect, (box, colour)))

    def draw_pixmap(self, box: QRectF, pixmap: QPixmap) -> None:
        """Draw a whole pixmap into a box."""
        self._calls.append((QPainter.drawPixmap, (box, pixmap, QRectF(pixmap.rect()))))

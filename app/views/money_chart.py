"""What the pictures of money share: paper, title, round numbers along the axis."""

from __future__ import annotations

import math
from collections.abc import Iterable

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.language import tr
from app.views.readings_text import minus
from app.views.theme import Theme, figures

LEFT, RIGHT, TOP, BOTTOM = 62.0, 18.0, 34.0, 30.0
CENTRE = Qt.AlignmentFlag.AlignCenter
_APART = 34.0


class MoneyChart(QWidget):
    """What the pictures share: paper, title, axes of money."""

    def __init__(self, theme: Theme, name: str, empty: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self._title, self._empty, self._currency = theme, name, empty, ""
        self.setFont(figures(self.font()))
        self._small = figures(self.font(), 0.86)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(260, 170)
        self.setAccessibleName(name)
        theme.changed.connect(self.update)

    def sizeHint(self) -> QSize:
        """Return room for a picture beside another."""
        return QSize(460, 250)

    def say(self, words: str) -> None:
        """Say in place of a picture why there is none."""
        self._empty = words
        self.update()

    def _room(self) -> QRectF:
        return QRectF(LEFT, TOP, self.width() - LEFT - RIGHT, self.height() - TOP - BOTTOM)

    def _begun(self, is_there: bool) -> QPainter:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._theme.colour("paper"))
        painter.setPen(self._theme.colour("ink"))
        painter.drawText(QPointF(10.0, 19.0), self._title)
        if not is_there:
            painter.setPen(self._theme.colour("quiet"))
            room = QRectF(self.rect()).adjusted(16.0, 28.0, -16.0, -16.0)
            painter.drawText(room, int(CENTRE | Qt.TextFlag.TextWordWrap), self._empty)
        return painter

    def _unit(self, largest: float) -> tuple[float, str]:
        """Return what money is divided by on the axis, and how that is called."""
        steps = ((1e6, tr("million")), (1e3, tr("thousand")))
        factor, word = next((step for step in steps if largest >= 2.0 * step[0]), (1.0, ""))
        return factor, f"{word} {self._currency}".strip()

    def _money_axis(self, painter: QPainter, low: float, high: float) -> tuple[float, str]:
        """Draw hairlines with their money between two ends; return the unit."""
        room = self._room()
        factor, words = self._unit(max(abs(low), abs(high)))
        painter.setFont(self._small)
        metrics = painter.fontMetrics()
        for value in round_numbers(low, high, room.height() / _APART):
            y = room.bottom() - (value - low) / (high - low) * room.height()
            painter.setPen(QPen(self._theme.colour("quiet" if value == 0.0 else "grid"), 1.0))
            painter.drawLine(QPointF(room.left(), y), QPointF(room.right(), y))
            painter.setPen(self._theme.colour("quiet"))
            text = minus(f"{value / factor:g}")
            x = room.left() - metrics.horizontalAdvance(text) - 7.0
            painter.drawText(QPointF(x, y + metrics.ascent() / 2.0 - 1.0), text)
        painter.setFont(self.font())
        return factor, words

    def _right_of_title(self, painter: QPainter, words: str) -> None:
        painter.setFont(self._small)
        painter.setPen(self._theme.colour("quiet"))
        left = painter.fontMetrics().horizontalAdvance(self._title) * 1.2 + 18.0
        room = QRectF(left, 5.0, self.width() - left - 10.0, 19.0)
        said = painter.fontMetrics().elidedText(words, Qt.TextElideMode.ElideRight, int(room.width()))
        painter.drawText(room, int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter), said)
        painter.setFont(self.font())


def round_numbers(low: float, high: float, count: float) -> Iterable[float]:
    """Return round numbers between two, at most about so many."""
    rough = (high - low) / max(count, 1.0)
    base = 10.0 ** math.floor(math.log10(rough))
    step = next(base * f for f in (1.0, 2.0, 5.0, 10.0) if base * f >= rough * (1.0 - 1e-9))
    first = math.ceil(low / step)
    return [round(k * step, 9) + 0.0 for k in range(first, math.floor(high / step) + 1)]

"""What of the blank each wheel keeps, as bars: the finished wheel, its chips, what it costs the others."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.language import spoken, tr
from app.reports.blank_masses import BARS, MassBar
from app.views.blank_picture import wheel_colour
from app.views.theme import Theme, figures

_EDGE, _BAR, _APART = 10.0, 12.0, 10.0


class MassBars(QWidget):
    """Draws a bar for each wheel, one under the other; the whole bar is the blank."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.bars: tuple[MassBar, ...] = ()
        self.setFont(figures(self.font()))
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        self.setAccessibleName(tr("What of the blank each wheel keeps"))
        theme.changed.connect(self.update)

    def show_bars(self, bars: Sequence[MassBar]) -> None:
        """Show other bars."""
        self.bars = tuple(bars)
        self.setAccessibleDescription("; ".join(f"{bar.words}: {spoken(bar.says)}" for bar in bars))
        self.setMinimumHeight(int(self._note_top() + 3 * self._line() + _EDGE))
        self.update()

    def sizeHint(self) -> QSize:
        """Return room for all bars and their words."""
        return QSize(300, self.minimumHeight())

    def _line(self) -> float:
        return float(self.fontMetrics().height())

    def _a_bar(self) -> float:
        return 2.0 * self._line() + _BAR + 2.0 + _APART

    def _note_top(self) -> float:
        return _EDGE + self._a_bar() * len(self.bars)

    def bar_rect(self, k: int) -> QRectF:
        """Return where a bar lies, pixels; as long as the widget is wide."""
        return QRectF(_EDGE, _EDGE + self._a_bar() * k + self._line() + 1.0, self.width() - 2 * _EDGE, _BAR)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw every bar between its name and its masses."""
        painter = QPainter(self)
        painter.fillRect(self.rect(), self._theme.colour("paper"))
        if not self.bars:
            return
        for k, bar in enumerate(self.bars):
            self._paint_bar(painter, k, bar)
        painter.setPen(self._theme.colour("quiet"))
        note = QRectF(_EDGE, self._note_top(), self.width() - 2 * _EDGE, 4 * self._line())
        painter.drawText(note, int(Qt.AlignmentFlag.AlignLeft) | int(Qt.TextFlag.TextWordWrap), spoken(BARS))

    def _paint_bar(self, painter: QPainter, k: int, bar: MassBar) -> None:
        box, line = self.bar_rect(k), self._line()
        ink, left = self._theme.colour("ink"), Qt.AlignmentFlag.AlignLeft
        above = QRectF(box.left(), box.top() - line - 1.0, box.width(), line)
        below = QRectF(box.left(), box.bottom() + 1.0, box.width(), line)
        metrics, room = painter.fontMetrics(), int(box.width())
        painter.setPen(ink)
        painter.drawText(above, left, metrics.elidedText(bar.words, Qt.TextElideMode.ElideRight, room))
        painter.setPen(self._theme.colour("quiet"))
        painter.drawText(below, left, metrics.elidedText(spoken(bar.says), Qt.TextElideMode.ElideRight, room))
        long = box.width() / bar.blank_kg
        pale = QColor(self._theme.colour("blank"))
        pale.setAlpha(70)
        painter.fillRect(box, pale)
        wheel = QRectF(box.left(), box.top(), long * bar.wheel_kg, box.height())
        painter.fillRect(wheel, wheel_colour(k, dark=self._theme.dark))
        if bar.costs_kg:
            wide = long * bar.costs_kg
            hatched = QRectF(box.right() - wide, box.top(), wide, box.height())
            painter.fillRect(hatched, QBrush(ink, Qt.BrushStyle.BDiagPattern))
        painter.setPen(QPen(ink, 1.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(box)

"""What is drawn in the profile strip: its grid, a line and a dashed rule for each curve, and their names."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QPoint, QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPainterPath
from PySide6.QtWidgets import QStyleOptionGraphicsItem, QWidget

from app.language import spoken
from app.views.canvas.grid import across, along
from app.views.canvas.items import chains, pen, segments
from app.views.canvas.layers import Layer, Picture
from app.views.strip_curves import Curve
from app.views.theme import Theme
from geometry.shape.curve import Array

#: Room round a name within its paper.
_MARGIN_PX = 4.0
#: A line of one pixel of the device, however dense: the painter draws no other as fast.
_HAIR = 0.0
#: Line of a curve and of its rule: gap and stock are of one grey to an eye that sees no colours.
_PLAIN = Qt.PenStyle.SolidLine, Qt.PenStyle.DashLine
_STYLES = {"stock": (Qt.PenStyle.DashDotLine, Qt.PenStyle.DashDotDotLine)}


class StripPicture(Picture):
    """The curves in the axes' own unit, and their names beside them in pixels.

    Attributes:
        lines, rules: layer of each curve and of its rule, by quantity.
        labels: where each name stands, in the axes' unit; only of curves that have a place for it.
    """

    def __init__(self, roles: dict[str, str], theme: Theme) -> None:
        self.grid = Layer()
        self.lines = {name: Layer() for name in roles}
        self.rules = {name: Layer() for name in roles}
        pairs = [layer for name in roles for layer in (self.rules[name], self.lines[name])]
        super().__init__([self.grid, *pairs], 0.0)
        self._roles, self._theme = roles, theme
        self._font = QFont()
        self._metrics = QFontMetricsF(self._font)
        self._sizes = {name: self._size(name) for name in roles}
        self.labels: dict[str, tuple[float, float]] = {}
        self._shown: dict[Layer, tuple[bytes, bytes]] = {}

    def _size(self, name: str) -> QSize:
        """Return the size of a name with the paper round it."""
        width, height = self._metrics.horizontalAdvance(spoken(name)), self._metrics.height()
        return QSize(round(width + 2.0 * _MARGIN_PX), round(height + 2.0 * _MARGIN_PX))

    def dress(self) -> None:
        """Take the colours in force."""
        self.grid.set_look(pen(self._theme.colour("grid"), width=_HAIR), smooth=False)
        for name, role in self._roles.items():
            ink = self._theme.colour(role)
            line, rule = _STYLES.get(name, _PLAIN)
            self.lines[name].set_look(pen(ink, line, _HAIR), smooth=False)
            self.rules[name].set_look(pen(ink, rule, _HAIR), smooth=False)
        self.update()

    def set_grid(self, view: QRectF, dx: float, dy: float) -> None:
        """Draw grid lines dx and dy apart over what is in view."""
        low, high, bottom, top = view.left(), view.right(), view.top(), view.bottom()
        lines = across(low, high, dx, bottom, top), along(bottom, top, dy, low, high)
        self.grid.set_path(segments(np.concatenate(lines)))

    def set_curve(self, name: str, found: Curve | None, scale: float, label_at: int | None) -> None:
        """Show one quantity, or nothing of it; `scale` is what the axes make of a mm.

        `label_at` is the place of the curve where its name stands, None for no name.
        """
        self.labels.pop(name, None)
        at = value = needed = np.zeros(0)
        if found is not None:
            at, value = found.at_mm * scale, found.value_mm * scale
            needed = np.where(np.isfinite(value), found.required_mm * scale, np.nan)
            if label_at is not None:
                self.labels[name] = float(at[label_at]), float(value[label_at])
        self._show(self.lines[name], at, value)
        self._show(self.rules[name], at, needed)
        self.update()

    def _show(self, layer: Layer, x: Array, y: Array) -> None:
        """Show another line; most steps of a drag leave a rule, and often a curve, as it is."""
        shown = x.tobytes(), y.tobytes()
        if shown != self._shown.get(layer):
            self._shown[layer] = shown
            layer.set_path(_broken(x, y))

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        """Paint the curves, then the names over them: no line is drawn through a name."""
        super().paint(painter, option, widget)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        painter.setFont(self._font)
        paper, ascent = self._theme.colour("paper"), self._metrics.ascent()
        paper.setAlpha(215)
        for name, place in self.labels.items():
            # Whole pixels, for which the painter has its glyphs at hand.
            foot, size = self._to_pixels.map(QPointF(*place)).toPoint(), self._sizes[name]
            if widget is not None:  # a long name keeps within the strip
                foot.setX(min(foot.x(), widget.width() - size.width()))
            box = QRect(QPoint(foot.x(), foot.y() - size.height()), size)
            painter.fillRect(box, paper)
            painter.setPen(self._theme.colour(self._roles[name]))
            base = QPointF(box.left() + _MARGIN_PX, box.top() + _MARGIN_PX + ascent)
            painter.drawText(base, spoken(name))


def _broken(x: Array, y: Array) -> QPainterPath:
    """Return a path through all points with a number; where one is missing it begins anew."""
    known = np.isfinite(y).nonzero()[0]
    breaks = (known[1:] != known[:-1] + 1).nonzero()[0] + 1
    return chains(np.split(np.column_stack([x[known], y[known]]), breaks))

"""What is drawn in the profile strip: its grid, a line and a dashed rule for each curve, and their names."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np
from pyqtgraph import AxisItem
from PySide6.QtCore import QPointF, QRect, QRectF, Qt
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontMetricsF,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QPolygonF,
    QTransform,
)
from PySide6.QtWidgets import QGraphicsView, QWidget

from app.language import spoken
from app.views.canvas.grid import across, along
from app.views.canvas.items import pen, polygon_of, segments
from app.views.canvas.layers import Layer, paint_layers
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


class Line:
    """One line, in as many runs as it has stretches with a number.

    A painter draws runs of points as they are handed over; a path would have to be made of them first.
    """

    def __init__(self) -> None:
        self.pen = QPen()
        self.runs: list[QPolygonF] = []

    def set_look(self, look: QPen) -> None:
        """Take another pen, which keeps its width at any zoom."""
        self.pen = look
        self.pen.setCosmetic(True)


class StripPicture(QWidget):
    """The curves in the axes' own unit, and their names beside them in pixels.

    A widget over the middle of the plot: the plot itself, with its axes, is not painted anew with the curves.

    Attributes:
        lines, rules: each curve and its rule, by quantity.
        labels: where each name stands, in the axes' unit; only of curves that have a place for it.
    """

    def __init__(
        self, roles: dict[str, str], theme: Theme, plot: QGraphicsView, axes: Sequence[AxisItem]
    ) -> None:
        super().__init__(plot.viewport())
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self._to_pixels = QTransform()
        self._plot, self._axes = plot, tuple(axes)
        self._ground: QPixmap | None = None  # paper and grid, which lie under the curves
        self._strokes: QPixmap | None = None  # of the axes, which lie over them
        self.grid = Layer()
        self.lines = {name: Line() for name in roles}
        self.rules = {name: Line() for name in roles}
        self._painted = [line for name in roles for line in (self.rules[name], self.lines[name])]
        self._roles, self._theme = roles, theme
        self._font = QFont()
        metrics = QFontMetricsF(self._font)
        self._ascent = metrics.ascent()
        self._words = {name: spoken(name) for name in roles}
        self._sizes = {  # of each name with the paper round it
            name: (
                round(metrics.horizontalAdvance(word) + 2.0 * _MARGIN_PX),
                round(metrics.height() + 2.0 * _MARGIN_PX),
            )
            for name, word in self._words.items()
        }
        self._paper, self._inks = QColor(), dict.fromkeys(roles, QColor())
        self.labels: dict[str, tuple[float, float]] = {}
        self._shown: dict[Line, tuple[bytes, bytes]] = {}

    def dress(self) -> None:
        """Take the colours in force."""
        self.grid.set_look(pen(self._theme.colour("grid"), width=_HAIR), smooth=False)
        self._paper = self._theme.colour("paper")
        self._paper.setAlpha(215)
        for name, role in self._roles.items():
            ink = self._inks[name] = self._theme.colour(role)
            line, rule = _STYLES.get(name, _PLAIN)
            self.lines[name].set_look(pen(ink, line, _HAIR))
            self.rules[name].set_look(pen(ink, rule, _HAIR))
        self._ground = self._strokes = None
        self.update()

    def follow(self, frame: QRect, to_pixels: QTransform, view: QRectF, dx: float, dy: float) -> None:
        """Take a frame of the plot, and the way there from the axes' unit; grid lines are dx, dy apart."""
        self.setGeometry(frame)
        self._to_pixels = to_pixels
        low, high, bottom, top = view.left(), view.right(), view.top(), view.bottom()
        lines = across(low, high, dx, bottom, top), along(bottom, top, dy, low, high)
        self.grid.set_path(segments(np.concatenate(lines)))
        self._ground = self._strokes = None
        self.update()

    def set_curves(self, found: Mapping[str, Curve], scale: float, label_at: Mapping[str, int]) -> None:
        """Show curves along one axis, and nothing of others; `scale` is what the axes make of a mm.

        `label_at` is the place of each curve where its name stands; one without it has no name.
        """
        self.labels = {}
        values = needs = np.zeros((0, 0))
        at = np.zeros(0)
        if found:
            at = next(iter(found.values())).at_mm * scale
            values = np.array([c.value_mm for c in found.values()]) * scale
            needs = np.array([c.required_mm for c in found.values()]) * scale
            needs[~np.isfinite(values)] = np.nan
        x = at.tobytes()
        stale: dict[Line, Array] = {}  # most steps of a drag leave a rule, and often a curve, as it is
        for k, name in enumerate(found):
            if name in label_at:
                self.labels[name] = float(at[label_at[name]]), float(values[k, label_at[name]])
            for line, y in (self.lines[name], values[k]), (self.rules[name], needs[k]):
                shows = x, y.tobytes()
                if shows != self._shown.get(line):
                    self._shown[line], stale[line] = shows, y
        for name in self._roles.keys() - found.keys():
            for line in self.lines[name], self.rules[name]:
                self._shown.pop(line, None)
                line.runs = []
        for line, runs in zip(stale, _runs(at, list(stale.values())), strict=True):
            line.runs = runs
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the curves, then the names over them: no line is drawn through a name."""
        painter = QPainter(self)
        ground, strokes = self._kept()
        painter.drawPixmap(0, 0, ground)
        painter.setClipRect(self._inside())
        before = painter.transform()
        painter.setTransform(self._to_pixels, combine=True)
        for line in self._painted:
            painter.setPen(line.pen)
            for run in line.runs:
                painter.drawPolyline(run)
        painter.setTransform(before)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        painter.setFont(self._font)
        for name, (x, y) in self.labels.items():
            # Whole pixels, for which the painter has its glyphs at hand.
            foot, (width, height) = self._to_pixels.map(QPointF(x, y)).toPoint(), self._sizes[name]
            left = min(foot.x(), self.width() - width)  # a long name keeps within the strip
            top = foot.y() - height
            painter.fillRect(left, top, width, height, self._paper)
            painter.setPen(self._inks[name])
            base = QPointF(left + _MARGIN_PX, top + _MARGIN_PX + self._ascent)
            painter.drawText(base, self._words[name])
        painter.setClipping(False)
        painter.drawPixmap(0, 0, strokes)

    def _inside(self) -> QRectF:
        """Return what is drawn in: to the middle of the axes' strokes."""
        return QRectF(0.0, 0.0, self.width() - 0.5, self.height() - 0.5)

    def _kept(self) -> tuple[QPixmap, QPixmap]:
        """Return what lies under and over the curves, painted once for each view."""
        ratio = self.devicePixelRatioF()
        if self._ground is None or self._strokes is None or self._ground.devicePixelRatio() != ratio:
            self._ground, self._strokes = QPixmap(self.size() * ratio), QPixmap(self.size() * ratio)
            for picture, paper in (
                (self._ground, self._theme.colour("paper")),
                (self._strokes, Qt.GlobalColor.transparent),
            ):
                picture.setDevicePixelRatio(ratio)
                picture.fill(paper)
            painter = QPainter(self._ground)
            painter.setClipRect(self._inside())
            paint_layers(painter, [self.grid], self._to_pixels)
            painter.end()
            painter = QPainter(self._strokes)
            # The toolkit keeps a picture of each axis for this painter and another for the plot, and takes
            # both for new once one is.
            self._renew_axes()
            self._plot.scene().render(painter, QRectF(self.rect()), QRectF(self.geometry()))
            self._renew_axes()
            painter.end()
        return self._ground, self._strokes

    def _renew_axes(self) -> None:
        for axis in self._axes:
            axis.update()


def _runs(x: Array, lines: list[Array]) -> list[list[QPolygonF]]:
    """Return for each line its runs of points with a number; where one is missing a run ends."""
    if not lines:
        return []
    y = np.array(lines)
    known = np.isfinite(y)
    begins = known.copy()
    begins[:, 1:] &= ~known[:, :-1]
    points = np.array((np.broadcast_to(x, y.shape)[known], y[known])).T
    ends = [*begins[known].nonzero()[0].tolist(), len(points)]
    runs = (polygon_of(points[begin:end]) for begin, end in pairwise(ends))
    return [[next(runs) for _ in range(count)] for count in begins.sum(axis=1).tolist()]

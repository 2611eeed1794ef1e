"""The magnifier: while dragging, the tightest place several times enlarged, away from the pointer."""

from __future__ import annotations

import math

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPen, QTransform
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from app.session.shown import Shown
from app.views.canvas.content import Callout, Mark, Stroke
from app.views.canvas.dimension_lines import line_between
from app.views.canvas.drawing import Drawing
from app.views.canvas.layers import paint_layers
from app.views.canvas.overlays import RULER_PX
from app.views.theme import Theme, Widths, words_font

#: Side of the inset, and how far it keeps from the frame and from the pointer, logical pixels.
SIDE_PX = 190.0
_EDGE_PX, _AWAY_PX = 10.0, 60.0
#: Hints and the legend lie above it.
_TOP_PX = 44.0
#: Times it enlarges: as much as still shows what is measured in this share of the side.
MOST, LEAST = 6.0, 3.0
_SHARE = 0.45
_FOOT_PX = 24.0


class Magnifier(QGraphicsItem):
    """Paints a part of the drawing once more, larger; nothing while no gesture is under way.

    Attributes:
        is_on: it is wanted.
        box: where it stands, None while it does not.
        times: how much it enlarges.
    """

    def __init__(self, theme: Theme, drawing: Drawing, layer: float) -> None:
        super().__init__()
        self.setZValue(layer)
        self._theme, self._drawing = theme, drawing
        self._font, self._large = words_font(), words_font(1.25, bold=True)
        self._metrics, self._large_metrics = QFontMetricsF(self._font), QFontMetricsF(self._large)
        self._widths, self._large_widths = Widths(self._metrics), Widths(self._large_metrics)
        self._frame = QRectF()
        self._scale = 1.0
        self._stroke: Stroke | None = None
        self._callout: Callout | None = None
        self._named: tuple[tuple[str, int], str] = (("", 0), "")
        self.is_on = True
        self.box: QRectF | None = None
        self.times = MOST

    def follow(self, frame: QRectF, pixels_per_mm: float) -> None:
        """Take the view's frame in pixels and its scale."""
        if frame != self._frame:
            self.prepareGeometryChange()
            self._frame = QRectF(frame)
        self._scale = pixels_per_mm
        self.box = None

    def show_state(self, shown: Shown, marks: list[Mark], pointer: QPointF | None) -> None:
        """Enlarge what is marked as the tightest place; `pointer` in pixels, None where it is not over it."""
        self._callout = next((m for m in marks if isinstance(m, Callout)), None) if shown.dragging else None
        strokes = [m for m in marks if isinstance(m, Stroke) and m.ticks_px and m.colour is not None]
        self._stroke = strokes[0] if strokes else None
        if not self.is_on or self._callout is None or self._stroke is None or not self._fits():
            if self.box is not None:
                self.box = None
                self.update()
            return
        self.box = self._corner(pointer)
        self.update()

    def _short_name(self, words: str, room: float) -> str:
        """Return what is measured, cut where it is wider than the room; kept, since it takes time."""
        asked = words, round(room)
        if self._named[0] != asked:
            name = words.split(",")[0]
            cut = self._metrics.elidedText(name, Qt.TextElideMode.ElideRight, room)
            self._named = asked, cut
        return self._named[1]

    def _fits(self) -> bool:
        """Choose how much to enlarge; False where what is measured is large enough as it is."""
        assert self._stroke is not None
        apart = math.dist(self._stroke.places[0], self._stroke.places[-1]) * self._scale
        self.times = min(MOST, max(LEAST, _SHARE * SIDE_PX / max(apart, 1e-9)))
        room = self._frame.width() > 2.5 * SIDE_PX and self._frame.height() > 2.0 * SIDE_PX
        return room and apart * self.times < 0.9 * SIDE_PX

    def _corner(self, pointer: QPointF | None) -> QRectF:
        """Return the corner farthest from the pointer; it stays while the pointer keeps away."""
        if self.box is not None and (
            pointer is None
            or not self.box.adjusted(-_AWAY_PX, -_AWAY_PX, _AWAY_PX, _AWAY_PX).contains(pointer)
        ):
            return self.box
        room = self._frame.adjusted(2.0 * RULER_PX + _EDGE_PX, _TOP_PX, -_EDGE_PX, -RULER_PX - _EDGE_PX)
        corners = [
            QRectF(left, top, SIDE_PX, SIDE_PX)
            for top in (room.top(), room.bottom() - SIDE_PX)
            for left in (room.right() - SIDE_PX, room.left())
        ]
        if pointer is None:
            return corners[0]
        return max(corners, key=lambda box: QLineF(box.center(), pointer).length())

    def boundingRect(self) -> QRectF:
        """Return the whole frame."""
        return self._frame

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        """Paint paper, the drawing enlarged, what is measured, and its number."""
        box, stroke, callout = self.box, self._stroke, self._callout
        if box is None or stroke is None or callout is None:
            return
        box = QRectF(box.toRect())
        a, b = stroke.places[0], stroke.places[-1]
        scale, middle = self._scale * self.times, ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0)
        centre = box.center() - QPointF(0.0, _FOOT_PX / 2.0)
        to_pixels = QTransform(
            scale, 0.0, 0.0, -scale, centre.x() - middle[0] * scale, centre.y() + middle[1] * scale
        )
        ink, paper = self._theme.colour("ink"), self._theme.colour("paper")
        painter.save()
        painter.setClipRect(box)
        painter.fillRect(box, paper)
        paint_layers(painter, self._drawing.enlarged, to_pixels)
        painter.setPen(QPen(callout.colour, 2.0))
        painter.drawLines(
            _measured(complex(centre.x(), centre.y()), complex(b[0] - a[0], a[1] - b[1]) * scale)
        )
        foot = QRectF(box.left(), box.bottom() - _FOOT_PX, box.width(), _FOOT_PX)
        painter.fillRect(foot, paper)
        painter.setFont(self._large)
        base = round(foot.top() + (_FOOT_PX + self._large_metrics.ascent()) / 2.0 - 2.0)
        painter.drawText(round(foot.left() + 7.0), base, callout.number)
        painter.setPen(self._theme.colour("quiet"))
        painter.setFont(self._font)
        words = f"{self.times:.0f} ×"
        painter.drawText(round(box.right() - 7.0 - self._widths.of(words)), round(box.top() + 16.0), words)
        left = round(foot.left() + 14.0 + self._large_widths.of(callout.number))
        painter.drawText(left, base, self._short_name(callout.words, foot.right() - 7.0 - left))
        painter.setPen(ink)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        painter.drawRect(box.adjusted(0.0, 0.0, -1.0, -1.0))
        painter.restore()


def _measured(middle: complex, along: complex) -> list[QLineF]:
    """Return the line `along` a way about its middle, x + iy in pixels, with one across each of its ends."""
    ends = middle - along / 2.0, middle + along / 2.0
    across = 7.0j * along / abs(along) if abs(along) > 1e-6 else 7.0 + 0.0j
    return [line_between(*ends), *(line_between(end - across, end + across) for end in ends)]

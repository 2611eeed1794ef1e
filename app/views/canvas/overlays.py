"""Lines, marks and words over the drawing, in logical pixels so that they keep their size at any zoom."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from app.language import tr
from app.session.snaps import Snap
from app.units import LengthUnit
from app.views.canvas.content import Bracket, Callout, Content, Place, Ring, Stroke, Tag, Words
from app.views.canvas.dimension_lines import line_between, rows
from app.views.canvas.grid import ticks
from app.views.canvas.items import chain_line, pen
from app.views.canvas.kept import Kept
from app.views.canvas.placing import Box, Boxes, Choice, nearest, place_box
from app.views.theme import Theme, Widths, words_font
from geometry.shape.curve import Array

#: Height of the lower ruler and width of the left one.
RULER_PX = 20.0
#: Words that would stand on others are moved by so many lines, down or up, the first free place counting:
#: names of ten versions that differ at one place stand below each other.
_STEPS = (0.0, *(way * lines for lines in range(1, 13) for way in (1.0, -1.0)))
#: No farther than so many lines for handles: where these stand close, words would be led away.
_OFF_HANDLES = 3.0


class Overlay(QGraphicsItem):
    """Paints marks, planes, rulers and the legend over the whole view.

    Planes and what the content holds as still are measured and placed only when they, the view or the theme
    have changed. What moves is placed and painted anew each time, clear of what stands still.
    """

    def __init__(self, theme: Theme, to_pixels: Callable[[float, float], QPointF], layer: float) -> None:
        super().__init__()
        self.setZValue(layer)
        self._theme = theme
        self._to_pixels = to_pixels
        self._frame = QRectF()
        self._view = QRectF()
        self._plain, self._large = words_font(), words_font(1.5, bold=True)
        self._metrics, self._large_metrics = QFontMetricsF(self._plain), QFontMetricsF(self._large)
        self._widths, self._large_widths = Widths(self._metrics), Widths(self._large_metrics)
        #: Of a callout: its height, and how far the feet of number and words lie below its top.
        high, low = self._large_metrics, self._metrics
        self._callout_height = high.height() + low.height() + 4.0
        self._callout_feet = round(high.ascent()) + 1, round(high.height() + low.ascent()) + 1
        self._papers: dict[tuple[bool, int], QColor] = {}
        self._kept_for: dict[str, tuple[object, ...]] = {}
        self._planes, self._lines, self._words, self._moving = Kept(), Kept(), Kept(), Kept()
        self._rulers, self._head = Kept(), Kept()
        #: Boxes of the words that stand still; of all that were placed last; the same as rows.
        self._still: list[Box] = []
        self.taken: list[Box] = []
        self.taken_rows: Array = rows([])
        self._callout_choice: Choice | None = None
        #: Boxes of handles and the like, which a callout must not hide; rows as `taken_rows`.
        self.avoid: Callable[[], tuple[Array, ...]] = tuple
        #: Boxes of handles, which words that stand still keep off; where they were at rest.
        self._handles: Array = rows([])
        self.content = Content()
        self.unit: LengthUnit = "mm"
        self.snap_mark: tuple[Place, Snap, str] | None = None
        #: Places chosen for an edit under way, numbered; a box drawn to choose vertices, in pixels.
        self.chosen: tuple[Place, ...] = ()
        self.band: QRectF | None = None

    def follow(self, frame: QRectF, view: QRectF) -> None:
        """Take the frame in pixels and the view's rectangle in mm."""
        if (frame, view) != (self._frame, self._view):
            self.prepareGeometryChange()
            self._callout_choice = None
            self._kept_for.clear()
        self._frame, self._view = QRectF(frame), QRectF(view)
        self.update()

    def keep_off(self, handles: Array) -> None:
        """Place words clear of (m, 4) boxes of handles too; in a gesture they stay where they are."""
        if not np.array_equal(handles, self._handles):
            self._handles = handles
            self._kept_for.pop("still", None)
            self._kept_for.pop("words", None)
            self.update()

    def boundingRect(self) -> QRectF:
        """Return the whole frame."""
        return self._frame

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        """Draw everything."""
        if self._frame.isEmpty():
            return
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        painter.setFont(self._plain)
        self._keep_all()
        self._planes.paint(painter)
        self._lines.paint(painter)
        for mark in self.content.moving:
            if isinstance(mark, Ring):
                self._paint_ring(painter, mark)
            elif isinstance(mark, Stroke):
                painter.setPen(QPen(self._colour(mark), mark.width, mark.style))
                painter.drawLines(self._lines_of(mark))
        self._words.paint(painter)
        self._moving.paint(painter)
        tags = [mark for mark in self.content.moving if isinstance(mark, Tag)]
        for tag in tags:
            self._paint_tag(painter, tag)
        hidden = np.concatenate([*self.avoid(), rows([_box(self._tag_box(tag)) for tag in tags])])
        for mark in self.content.moving:  # over the rest: no dimension hides the tightest reading
            if isinstance(mark, Callout):
                self._paint_callout(painter, mark, hidden)
        self._paint_snap(painter)
        self._paint_chosen(painter)
        self._rulers.paint(painter)
        self._head.paint(painter)
        if self.content.empty_words:
            self._paint_empty(painter)

    def _px(self, place: Place) -> QPointF:
        return self._to_pixels(place[0], place[1])

    def _colour(self, mark: Words | Stroke) -> QColor:
        return mark.colour if mark.colour is not None else self._theme.colour(mark.role)

    # Kept from paint to paint

    def _keep_all(self) -> None:
        """Place planes, words and rulers anew where what they show has changed."""
        content, theme = self.content, self._theme
        shown = theme.colours, content.still, content.planes
        before = self._kept_for.get("still")
        if before is None or any(a is not b for a, b in zip(shown, before, strict=True)):
            self._kept_for["still"] = shown
            self._keep_still()
        moving = [mark for mark in content.moving if isinstance(mark, Words)]
        if self._changed("moving", theme.colours, moving):
            self._moving, self.taken = Kept(moves=True), list(self._still)
            for mark in moving:
                self._keep_words(self._moving, mark)
            self.taken_rows = rows(self.taken)
        if self._changed("rulers", theme.colours, self.unit):
            self._rulers = Kept()
            self._keep_rulers(self._rulers)
        if self._changed("head", theme.colours, content.legend, content.hints):
            self._head = Kept()
            self._keep_legend(self._head)
            # Under the legend where the first, beside it, is so long that it would run into it.
            widest = max(map(self._metrics.horizontalAdvance, content.hints[:1]), default=0.0)
            first = 38.0 if content.legend.colours and widest > 0.5 * self._frame.width() else 20.0
            for k, hint in enumerate(content.hints):
                base = self._frame.topLeft() + QPointF(56.0, first + 18.0 * k)
                self._keep_text(self._head, base, hint, theme.colour("quiet"))

    def _keep_still(self) -> None:
        """Place lines and words anew where one of them has changed."""
        colours, content = self._theme.colours, self.content
        strokes = [mark for mark in content.still if isinstance(mark, Stroke)]
        words = [mark for mark in content.still if isinstance(mark, Words)]
        brackets = [mark for mark in content.still if isinstance(mark, Bracket)]
        if self._changed("lines", colours, strokes, brackets):
            self._lines = Kept()
            for stroke in strokes:
                self._keep_stroke(self._lines, stroke)
            for bracket in brackets:
                self._keep_bracket(self._lines, bracket)
        if self._changed("words", colours, content.planes, words, brackets):
            self._planes, self._words, self.taken = Kept(), Kept(), []
            self._keep_planes(self._planes)
            handles = Boxes(self._handles)
            for mark in (*words, *map(_bracket_words, brackets)):
                self._keep_words(self._words, mark, handles)
            self._still = self.taken
            self._kept_for.pop("moving", None)

    def _changed(self, name: str, *shown: object) -> bool:
        """True, once, when what is kept under a name shows something else than it showed last."""
        changed = shown != self._kept_for.get(name)
        self._kept_for[name] = shown
        return changed

    def _keep_planes(self, kept: Kept) -> None:
        metrics = self._metrics
        quiet = self._theme.colour("quiet")
        axle = self._px((0.0, 0.0)).y()
        kept.within(QRectF(self._frame.left(), axle - 1.0, self._frame.width(), 2.0))
        kept.set_pen(chain_line(quiet))
        kept.draw_line(QPointF(self._frame.left(), axle), QPointF(self._frame.right(), axle))
        foot = min(axle, self._frame.bottom() - RULER_PX)
        taken: list[tuple[float, float, int]] = []
        for plane in sorted(self.content.planes, key=lambda p: p.z):
            x = self._px((plane.z, 0.0)).x()
            kept.within(QRectF(x - 1.0, self._frame.top(), 2.0, foot - self._frame.top()))
            kept.set_pen(chain_line(quiet))
            kept.draw_line(QPointF(x, self._frame.top()), QPointF(x, foot))
            width = metrics.horizontalAdvance(plane.text)
            row = 0
            while any(k == row and x < end and x + width > begin for begin, end, k in taken):
                row += 1
            taken.append((x, x + width + 16.0, row))
            base = QPointF(x + 5.0, foot - 6.0 - row * (metrics.height() + 2.0))
            self.taken.append(_box(metrics.boundingRect(plane.text).translated(base)))
            self._keep_text(kept, base, plane.text, quiet)
        if axle <= self._frame.bottom():
            text = tr("axle line")
            base = QPointF(self._frame.right() - metrics.horizontalAdvance(text) - 8.0, axle - 4.0)
            self._keep_text(kept, base, text, quiet)

    def _keep_text(self, kept: Kept, base: QPointF, text: str, colour: QColor) -> None:
        """Write a line of text on a strip of paper."""
        box = self._metrics.boundingRect(text).translated(base).adjusted(-3.0, -1.0, 3.0, 1.0)
        kept.within(box)
        kept.fill(box, self._paper(215))
        kept.set_pen(colour)
        kept.draw_text(base, text)

    def _paper(self, alpha: int) -> QColor:
        asked = self._theme.dark, alpha
        if asked not in self._papers:
            self._papers[asked] = self._theme.colour("paper")
            self._papers[asked].setAlpha(alpha)
        return self._papers[asked]

    def _keep_stroke(self, kept: Kept, mark: Stroke) -> None:
        kept.set_pen(pen(self._colour(mark), mark.style, mark.width))
        kept.draw_lines(self._lines_of(mark))

    def _lines_of(self, mark: Stroke) -> list[QLineF]:
        """Return the lines of a stroke, with those across its ends."""
        points = [complex(at.x(), at.y()) for at in map(self._px, mark.places)]
        lines = [line_between(a, b) for a, b in pairwise(points)]
        if mark.ticks_px and lines:
            for end, other in ((points[0], points[1]), (points[-1], points[-2])):
                across = (end - other) * 1.0j * (mark.ticks_px / max(abs(end - other), 1e-9))
                lines.append(line_between(end - across, end + across))
        return lines

    def _keep_bracket(self, kept: Kept, mark: Bracket) -> None:
        colour, down = self._theme.colour("shape_edge"), QPointF(0.0, 16.0)
        a, b = self._px((mark.z_low, mark.r)) + down, self._px((mark.z_high, mark.r)) + down
        for end, other, closed in ((a, b, mark.closed_low), (b, a, mark.closed_high)):
            kept.set_pen(pen(colour, Qt.PenStyle.SolidLine if closed else Qt.PenStyle.DashLine))
            kept.draw_line(end, (end + other) / 2.0)
            if closed:
                kept.draw_line(end + QPointF(0, -6), end + QPointF(0, 6))
            else:
                inward = 7.0 if other.x() > end.x() else -7.0
                kept.set_pen(pen(colour))
                kept.draw_polyline([end + QPointF(inward, -4), end, end + QPointF(inward, 4)])

    def _keep_words(self, kept: Kept, mark: Words, handles: Boxes | None = None) -> None:
        metrics, lines = self._metrics, mark.text.split("\n")
        widest = max(map(metrics.horizontalAdvance, lines))
        mm_per_pixel = self._view.width() / max(self._frame.width(), 1.0)
        if widest * mm_per_pixel > mark.room_mm:
            if mark.less is not None:
                self._keep_words(kept, mark.less, handles)
            return
        bases, boxes = self._free_bases(mark, lines, handles)
        self.taken += boxes
        for base, line in zip(bases, lines, strict=True):
            self._keep_text(kept, base, line, self._colour(mark))

    def _free_bases(
        self, mark: Words, lines: list[str], handles: Boxes | None
    ) -> tuple[list[QPointF], list[Box]]:
        """Return where the lines begin, with their boxes; a few lines off where others or handles stand."""
        at, metrics = self._px(mark.place), self._metrics
        bases = []
        for k, line in enumerate(lines):
            width = metrics.horizontalAdvance(line)
            back = width if mark.align < 0 else width / 2.0 if mark.align == 0 else 0.0
            left = at + QPointF(mark.shift[0] - back, mark.shift[1] + k * metrics.height())
            if self._frame.contains(at):
                # Clear of the numbers of the axis.
                least = self._frame.left() + metrics.horizontalAdvance("0000") + 8.0
                left.setX(min(max(left.x(), least), self._frame.right() - width - 4.0))
            bases.append(left)
        boxes = [
            _box(metrics.boundingRect(words).translated(base))
            for words, base in zip(lines, bases, strict=True)
        ]
        words = Boxes()
        words.added = self.taken
        clear: tuple[list[QPointF], list[Box]] | None = None  # of other words
        for step in _STEPS:
            down = step * metrics.height()
            moved = [(left, top + down, right, bottom + down) for left, top, right, bottom in boxes]
            if any(map(words.meets, moved)):
                continue
            here = [base + QPointF(0.0, down) for base in bases], moved
            if handles is None or (abs(step) <= _OFF_HANDLES and not any(map(handles.meets, moved))):
                return here
            clear = clear or here
        return clear or (bases, boxes)

    def _keep_rulers(self, kept: Kept) -> None:
        theme, frame, view, metrics = self._theme, self._frame, self._view, self._metrics
        bottom = frame.bottom() - RULER_PX
        kept.within(QRectF(frame.left(), bottom - 1.0, frame.width(), RULER_PX + 1.0))
        kept.fill(QRectF(frame.left(), bottom, frame.width(), RULER_PX), theme.colour("paper"))
        kept.set_pen(pen(theme.colour("hairline")))
        kept.draw_line(QPointF(frame.left(), bottom), QPointF(frame.right(), bottom))
        mm_per_pixel = view.width() / max(frame.width(), 1.0)
        kept.set_pen(theme.colour("quiet"))
        strokes: list[QLineF] = []
        for z, text in ticks(view.left(), view.right(), mm_per_pixel, self.unit):
            x = self._px((z, 0.0)).x()
            width = metrics.horizontalAdvance(text)
            if frame.left() + 40.0 < x - width / 2.0 and x + width / 2.0 < frame.right() - 28.0:
                strokes.append(QLineF(x, bottom, x, bottom + 4.0))
                kept.draw_text(QPointF(x - width / 2.0, frame.bottom() - 4.0), text)
        kept.draw_text(QPointF(frame.right() - 16.0, frame.bottom() - 4.0), "z")
        kept.draw_lines(strokes)
        heights = ticks(max(view.top(), 0.0), view.bottom(), mm_per_pixel, self.unit)
        widest = max((metrics.horizontalAdvance(text) for _, text in heights), default=0.0)
        kept.within(QRectF(frame.left(), frame.top(), widest + 9.0, bottom - frame.top()))
        kept.set_pen(theme.colour("quiet"))
        strokes = []
        for r, text in heights:
            y = self._px((0.0, r)).y()
            if frame.top() + 24.0 < y < bottom - 8.0:
                strokes.append(QLineF(frame.left(), y, frame.left() + 4.0, y))
                kept.draw_text(QPointF(frame.left() + 7.0, y + metrics.ascent() / 2.0 - 1.0), text)
        kept.draw_lines(strokes)
        base = QPointF(frame.left() + 7.0, frame.top() + metrics.ascent() + 2.0)
        self._keep_text(kept, base, f"r, {self.unit}", theme.colour("quiet"))

    def _keep_legend(self, kept: Kept) -> None:
        legend = self.content.legend
        if not legend.colours:
            return
        cell, height = 7.0, 8.0
        width = cell * len(legend.colours)
        high, low = (self._metrics.horizontalAdvance(words) for words in (legend.high, legend.low))
        left, top = self._frame.right() - width - high - 16.0, self._frame.top() + 10.0
        paper = QRectF(left - low - 10.0, top - 5.0, width + low + high + 24.0, height + 10.0)
        kept.within(paper.adjusted(0.0, -4.0, 0.0, 4.0))
        kept.fill(paper, self._paper(215))
        kept.draw_pixmap(QRectF(left, top, width, height), legend.strip())
        kept.set_pen(self._theme.colour("quiet"))
        kept.draw_text(QPointF(left - low - 6.0, top + height), legend.low)
        kept.draw_text(QPointF(left + width + 6.0, top + height), legend.high)

    # Painted anew each time

    def _paint_ring(self, painter: QPainter, mark: Ring) -> None:
        centre, radius = self._px(mark.place), mark.radius_px
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(self._theme.colour("paper"), 5.0))
        painter.drawEllipse(centre, radius, radius)
        painter.setPen(QPen(mark.colour, 2.0))
        painter.drawEllipse(centre, radius, radius)
        if mark.cross:
            d = radius * 0.45
            painter.drawLine(centre + QPointF(-d, -d), centre + QPointF(d, d))
            painter.drawLine(centre + QPointF(-d, d), centre + QPointF(d, -d))

    def _tag_base(self, mark: Tag) -> QPointF:
        at = self._px(mark.place)
        # Below the place where the hints and the legend stand above it.
        return at + QPointF(11.0, 20.0 if at.y() < self._frame.top() + 76.0 else -9.0)

    def _tag_box(self, mark: Tag) -> QRectF:
        at, metrics = self._tag_base(mark), self._metrics
        width = metrics.horizontalAdvance(mark.text) + 6.0
        return QRectF(at.x() - 3.0, at.y() - metrics.ascent() - 1.0, width, metrics.height() + 2.0)

    def _paint_tag(self, painter: QPainter, mark: Tag) -> None:
        at, box = self._tag_base(mark), self._tag_box(mark)
        painter.fillRect(box.toAlignedRect(), self._paper(215))
        painter.setPen(mark.colour)
        painter.drawText(at.toPoint(), mark.text)

    def _paint_callout(self, painter: QPainter, mark: Callout, hidden: Array) -> None:
        width = max(self._large_widths.of(mark.number), self._widths.of(mark.words)) + 8.0
        at = self._px(mark.place)
        room = _box(self._frame.adjusted(RULER_PX * 2.0, 4.0, -4.0, -RULER_PX - 4.0))
        place, size = (at.x(), at.y()), (width, self._callout_height)
        box, self._callout_choice = place_box(
            place, size, mark.towards, room, self.taken_rows, self._callout_choice, hidden
        )
        # Whole pixels: the painter fills them, and finds its glyphs for them, many times faster than parts.
        paper = QRectF(box[0], box[1], width, size[1]).toAlignedRect()
        left, top = paper.left() + 4, paper.top()
        painter.setPen(mark.colour)
        painter.drawLine(at, QPointF(*nearest(box, place)))
        painter.fillRect(paper, self._paper(225))
        painter.setFont(self._large)
        painter.drawText(left, top + self._callout_feet[0], mark.number)
        painter.setFont(self._plain)
        painter.drawText(left, top + self._callout_feet[1], mark.words)

    def _paint_snap(self, painter: QPainter) -> None:
        """Mark what is snapped to by its kind, and name it beside unless it is the grid."""
        if self.snap_mark is None:
            return
        place, kind, word = self.snap_mark
        at = self._px(place)
        painter.setPen(QPen(self._theme.colour("accent"), 1.5))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        if kind is Snap.VERTEX:
            painter.drawRect(QRectF(at.x() - 8.0, at.y() - 8.0, 16.0, 16.0))
        elif kind is Snap.MIDDLE:
            painter.drawPolygon([at + QPointF(x, y) for x, y in ((0.0, -10.0), (9.5, 7.0), (-9.5, 7.0))])
        elif kind is Snap.TANGENT:
            painter.drawEllipse(at, 8.0, 8.0)
            painter.drawLine(at + QPointF(-12.0, 8.0), at + QPointF(12.0, 8.0))
        else:
            x, y = at.x(), at.y()
            across = [QLineF(x + d, y, x + d / 2.0, y) for d in (-14.0, 14.0)]
            painter.drawLines([*across, *(QLineF(x, y + d, x, y + d / 2.0) for d in (-14.0, 14.0))])
        if kind not in (Snap.GRID, Snap.NONE):
            left, top, right, bottom = self._clear(at.x() + 10.0, at.y() + 34.0, word)
            painter.fillRect(left, top, right - left, bottom - top, self._paper(215))
            painter.drawText(left + 3, top + round(self._metrics.ascent()) + 1, word)

    def _clear(self, left: float, base: float, word: str) -> tuple[int, int, int, int]:
        """Return the box of a word on its paper, some lines below or above where other words stand."""
        taken, line = Boxes(), round(self._metrics.height()) + 2
        taken.added = self.taken
        x, y = round(left), round(base) - round(self._metrics.ascent()) - 1
        width = math.ceil(self._widths.of(word)) + 6

        def moved(step: float) -> tuple[int, int, int, int]:
            top = y + round(step * line)
            return x, top, x + width, top + line

        return next((box for box in map(moved, _STEPS) if not taken.meets(box)), moved(0.0))

    def _paint_chosen(self, painter: QPainter) -> None:
        if not self.chosen and self.band is None:
            return
        accent = self._theme.colour("accent")
        painter.setPen(QPen(accent, 1.5))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for k, place in enumerate(self.chosen):
            at = self._px(place)
            painter.drawEllipse(at, 7.0, 7.0)
            painter.drawText(at + QPointF(10.0, -8.0), str(k + 1))
        if self.band is not None:
            painter.setPen(pen(accent, Qt.PenStyle.DashLine))
            painter.drawRect(self.band)

    def _paint_empty(self, painter: QPainter) -> None:
        """Write in the middle what to do first."""
        words = self.content.empty_words
        painter.setPen(self._theme.colour("quiet"))
        painter.setFont(words_font(1.15))
        box = self._frame.adjusted(60.0, 60.0, -60.0, -60.0)
        flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
        room = painter.boundingRect(box, flags, words)
        painter.fillRect(room.adjusted(-8.0, -6.0, 8.0, 6.0), self._theme.colour("paper"))
        painter.drawText(box, flags, words)


def _bracket_words(mark: Bracket) -> Words:
    room = mark.z_high - mark.z_low
    return Words((mark.z_low, mark.r), mark.text, (0.0, 34.0), 1, "shape_edge", room_mm=room)


def _box(rect: QRectF) -> Box:
    return rect.left(), rect.top(), rect.right(), rect.bottom()

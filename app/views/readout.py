"""Labels that change at every step of a drag without moving, or laying out anew, what stands beside them."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QRect, QSize, Qt
from PySide6.QtGui import (
    QAbstractTextDocumentLayout,
    QPainter,
    QPaintEvent,
    QPixmap,
    QResizeEvent,
    QTextDocument,
    QTextOption,
)
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from app.views.theme import ZEROS, Widths, figures

#: So many pictures of titles are kept.
_PICTURES = 12


class Readout(QLabel):
    """A line of numbers of a fixed size, which grows when a longer text comes and goes with its text.

    Args:
        larger: times the usual font.
        room_for: a text that there is always room for.
        at_right: the text stands at the right end of its room.
    """

    def __init__(self, larger: float = 1.0, room_for: str = "", at_right: bool = False) -> None:
        super().__init__()
        self._at_right = at_right
        self._line: ReadoutLine | None = None  # which paints it
        self.setFont(figures(self.font(), larger))
        metrics = self.fontMetrics()
        self._widths, self._ascent, self._reach = Widths(metrics), metrics.ascent(), 0
        self._room = metrics.horizontalAdvance(room_for)
        self.setFixedSize(self._room, metrics.height())
        self.setAutoFillBackground(True)  # so that nothing behind it is painted with it

    def show_text(self, text: str) -> None:
        """Show another text; without one the label has no more than the room it always keeps."""
        if text == self.text():
            return
        before = self.width()
        self._reach = round(self._widths.of(text))
        wanted = max(self._room, self._reach)
        if wanted > before or not text:
            self.setFixedWidth(wanted)
        self.setText(text)
        if self.accessibleName():  # which is what is spoken in place of the text
            self.setAccessibleDescription(text)
        if self._line is not None:
            self._line.follow(self, self.width() != before)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the text alone: a label asks the style how."""
        self.write(QPainter(self), self.rect())

    def write(self, painter: QPainter, room: QRect) -> None:
        """Write the text into a room as high as a line; the painter's own layout would take twice as long."""
        text = self.text()
        left = room.left()
        if self._at_right:
            left += room.width() - self._reach
        painter.drawText(left, room.top() + self._ascent, text)

    def paint_in(self, line: ReadoutLine) -> None:
        """Leave it to a line to paint the text; the label stays where it is shown, for tips and readers."""
        self._line = line
        self.setParent(line)
        self.setUpdatesEnabled(False)
        self.setAutoFillBackground(False)


class ReadoutLine(QWidget):
    """Readouts side by side at the right end, painted in one event; where room is short some are left out.

    Args:
        readouts: from left to right.
        dispensable: those that are left out, the first one first.
        gap: pixels between neighbours.
    """

    def __init__(self, readouts: Sequence[Readout], dispensable: Sequence[Readout], gap: int) -> None:
        super().__init__()
        self._readouts, self._dispensable, self._gap = tuple(readouts), tuple(dispensable), gap
        self._painted: list[Readout] = []
        for readout in readouts:
            readout.paint_in(self)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.setMinimumWidth(1)
        self.setAutoFillBackground(True)  # so that nothing behind it is painted with it

    def sizeHint(self) -> QSize:
        """Return the room of all readouts."""
        return QSize(self._needed(self._readouts), max(r.height() for r in self._readouts))

    def follow(self, changed: Readout, resized: bool) -> None:
        """Paint a changed readout; where it became wider or narrower, place all anew.

        While one that is never left out says something, in a gesture, no room is given back.
        """
        if not resized:
            self.update(changed.geometry())
            return
        in_gesture = any(r.text() for r in self._readouts if r not in self._dispensable)
        if not in_gesture or self._needed(self._readouts) > self.width():
            self.updateGeometry()
        self._place()
        self.update()

    def _needed(self, readouts: Sequence[Readout]) -> int:
        return sum(r.width() for r in readouts) + self._gap * (len(readouts) - 1)

    def _place(self) -> None:
        painted = list(self._readouts)
        for readout in self._dispensable:
            if self._needed(painted) > self.width():
                painted.remove(readout)
                readout.move(self.width(), 0)  # out of sight
        left = self.width()
        for readout in reversed(painted):
            left -= readout.width()
            readout.move(left, 0)
            left -= self._gap
        self._painted = painted

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Place all anew."""
        super().resizeEvent(event)
        self._place()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the text of every readout that has room."""
        painter, dirty = QPainter(self), event.region()
        for readout in self._painted:
            room = readout.geometry()
            if readout.text() and dirty.intersects(room) and not readout.isHidden():
                painter.setFont(readout.font())
                readout.write(painter, room)


class Title(QLabel):
    """Rich text that comes back in a gesture: each is laid out once, and kept as a picture.

    A label itself reads and lays rich text out anew whenever it is set.
    """

    def __init__(self) -> None:
        super().__init__()
        self.setTextFormat(Qt.TextFormat.RichText)
        self.setWordWrap(True)
        self.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        self._pictures: dict[tuple[str, float], QPixmap] = {}

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the picture of the text."""
        asked = self.text(), self.devicePixelRatioF()
        picture = self._pictures.get(asked)
        if picture is None:
            if len(self._pictures) >= _PICTURES:
                self._pictures.clear()
            picture = self._pictures[asked] = self._pictured(*asked)
        QPainter(self).drawPixmap(0, 0, picture)

    def _pictured(self, text: str, ratio: float) -> QPixmap:
        picture = QPixmap(self.size() * ratio)
        picture.setDevicePixelRatio(ratio)
        picture.fill(self.palette().color(self.backgroundRole()))
        words = QTextDocument()
        words.setDocumentMargin(0.0)
        words.setDefaultFont(self.font())
        breaks = QTextOption()
        breaks.setWrapMode(QTextOption.WrapMode.WordWrap)  # as the label, which tells the height
        words.setDefaultTextOption(breaks)
        words.setHtml(text)
        words.setTextWidth(self.width())
        look = QAbstractTextDocumentLayout.PaintContext()
        look.palette = self.palette()
        with QPainter(picture) as inside:
            words.documentLayout().draw(inside, look)
        return picture

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Make the pictures anew in another size."""
        self._pictures.clear()
        super().resizeEvent(event)

    def changeEvent(self, event: QEvent) -> None:
        """Make the pictures anew in other colours or another font."""
        self._pictures.clear()
        super().changeEvent(event)


class KeptRoom(QWidget):
    """Holds a label of several lines over its whole width, and is never lower than so many lines.

    While it is held it only grows: a text that becomes shorter and longer again moves nothing below it.
    """

    def __init__(self, label: QLabel, least_lines: int) -> None:
        super().__init__()
        self.label = label
        label.setParent(self)  # no layout: a new text would have the whole window laid out anew
        label.setAutoFillBackground(True)  # so that nothing behind it is painted with it
        self._least = label.fontMetrics().lineSpacing() * least_lines
        self._needed = self._least
        # Of texts while it is held, by width too; digits as 0, since with other figures a line is as wide.
        self._heights: dict[tuple[str, int], int] = {}
        self._held = False
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.setSizePolicy(policy)

    def show_text(self, text: str) -> None:
        """Show another text; what lies below moves only where it needs another height."""
        self.label.setText(text)
        self.fit()

    def hold(self, held: bool) -> None:
        """Only grow from now on, or fit the text again."""
        if held != self._held:
            self._held = held
            self.fit()

    def sizeHint(self) -> QSize:
        """Return the height that the text needs at the present width."""
        return QSize(0, self._needed)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give the label the whole room."""
        super().resizeEvent(event)
        self.label.setGeometry(self.rect())
        self.fit()

    def fit(self) -> None:
        """Take the height that the label's text needs."""
        form = self.label.text().translate(ZEROS), self.width()
        if not self._held:
            self._heights = {}
        if form not in self._heights:
            self._heights[form] = self.label.heightForWidth(self.width())
        needed = max(self._least, self._heights[form])
        if self._held:
            needed = max(needed, self._needed)
        if needed != self._needed:
            self._needed = needed
            self.updateGeometry()
            self._lay_out()

    def _lay_out(self) -> None:
        """Give the room now, from within outwards: left to events, a frame between would show too little."""
        above = self.parentWidget()
        while above is not None and (layout := above.layout()) is not None:
            layout.activate()
            above = above.parentWidget()

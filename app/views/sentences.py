"""A few sentences, each behind a coloured sign, that lead to places by mouse and by key.

A label with rich text would read and lay out all of them anew for every changed digit of one.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil
from operator import attrgetter
from typing import NamedTuple

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QTextCharFormat,
    QTextFormat,
    QTextLayout,
    QTextLine,
    QTextOption,
)
from PySide6.QtWidgets import QLabel

from app.views.theme import ZEROS
from geometry.readings.measure import Place

#: So many forms of sentences are remembered.
_KEPT = 64


@dataclass(frozen=True)
class Sentence:
    """One sentence.

    Attributes:
        sign, ink: what stands before it, and the sign's colour.
        place: where it leads, None for nowhere.
    """

    text: str
    sign: str = ""
    ink: str = ""
    place: Place | None = None


class _Broken(NamedTuple):
    """A sentence in lines.

    Attributes:
        pieces: x and foot in pixels from its top left, and from which to which letter of sign and text.
        height: of all lines.
    """

    pieces: tuple[tuple[float, float, int, int], ...]
    height: float


class Sentences(QLabel):
    """Paints sentences one below the other; Tab goes from one that leads somewhere to the next.

    Signals:
        chosen(z, r): a sentence with this place was clicked, or Return was pressed on it.
    """

    chosen = Signal(float, float)

    def __init__(self) -> None:
        super().__init__()
        self._sentences: tuple[Sentence, ...] = ()
        self._laid: dict[tuple[str, str, str], QTextLayout] = {}
        self._broken: dict[tuple[str, str], _Broken] = {}  # by sign and text with every digit a 0
        self._breaks: list[_Broken] = []  # of the sentences
        self._width = -1  # that they are laid out for
        self._current: int | None = None
        self._pressed: int | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)

    def show_sentences(self, sentences: Sequence[Sentence]) -> None:
        """Show other sentences."""
        before, self._sentences = self._sentences, tuple(sentences)
        if self._current not in self._leading():
            self._current = None
        old, self._breaks = self._breaks, [self._lines(s, self.width()) for s in self._sentences]
        if self._current is not None or list(map(_height, old)) != list(map(_height, self._breaks)):
            self.update()
            return
        top = 0.0
        for was, now, broken in zip(before, self._sentences, self._breaks, strict=True):
            if was is not now and _look(was) != _look(now):
                self.update(0, int(top), self.width(), ceil(top + broken.height) - int(top))
            top += broken.height

    def text(self) -> str:
        """Return the sentences, a line each."""
        return "\n".join(f"{s.sign}{s.text}" for s in self._sentences)

    def heightForWidth(self, width: int) -> int:  # noqa: N802
        """Return the height that the sentences need."""
        return round(sum(broken.height for broken in self._broken_to(width)))

    def _broken_to(self, width: int) -> list[_Broken]:
        """Return each sentence in lines of a width."""
        if width != self._width:
            self._breaks = [self._lines(s, width) for s in self._sentences]
        return self._breaks

    def _lines(self, sentence: Sentence, width: int) -> _Broken:
        """Return a sentence in lines of a width: it breaks as one with other digits, which are tabular."""
        if width != self._width or len(self._broken) > _KEPT:
            self._laid, self._broken, self._width = {}, {}, width
        form = sentence.sign, sentence.text.translate(ZEROS)
        found = self._broken.get(form)
        if found is None:
            found = self._broken[form] = _broken(self._lay_out(sentence, width), sentence.sign)
        return found

    def _layouts(self, width: int) -> list[QTextLayout]:
        """Return each sentence in lines of a width; those laid out before are given again."""
        before = self._laid if width == self._width else {}
        self._broken_to(width)
        self._laid = {_look(s): before.get(_look(s)) or self._lay_out(s, width) for s in self._sentences}
        return [self._laid[_look(s)] for s in self._sentences]

    def _lay_out(self, sentence: Sentence, width: int) -> QTextLayout:
        layout = QTextLayout(sentence.sign + sentence.text, self.font(), self)
        option = QTextOption()
        option.setWrapMode(QTextOption.WrapMode.WordWrap)
        layout.setTextOption(option)
        look = QTextCharFormat()
        look.setForeground(QColor(sentence.ink))
        layout.setFormats([_range(0, len(sentence.sign), look)])
        layout.beginLayout()
        top = 0.0
        while (line := layout.createLine()).isValid():
            line.setLeadingIncluded(True)
            line.setLineWidth(width)
            line.setPosition(QPointF(0.0, top))
            top += line.height()
        layout.endLayout()
        return layout

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the sentences, and a dotted line round the current one."""
        painter = QPainter(self)
        plain = self.palette().windowText().color()
        if self._current is not None:
            painter.setPen(plain)
            top = 0.0
            for k, layout in enumerate(self._layouts(self.width())):
                layout.draw(painter, QPointF(0.0, top), [self._mark(k)] if k == self._current else [])
                top += layout.boundingRect().height()
            return
        top, dirty = 0.0, event.rect()
        for sentence, broken in zip(self._sentences, self._broken_to(self.width()), strict=True):
            if dirty.top() < top + broken.height and top <= dirty.bottom():
                painter.setPen(QColor(sentence.ink) if sentence.ink else plain)
                for x, foot, begin, end in broken.pieces:
                    if begin == len(sentence.sign):
                        painter.setPen(plain)
                    painter.drawText(round(x), round(top + foot), (sentence.sign + sentence.text)[begin:end])
            top += broken.height

    def _mark(self, k: int) -> QTextLayout.FormatRange:
        look = QTextCharFormat()
        look.setProperty(
            QTextFormat.Property.OutlinePen,
            QPen(self.palette().windowText().color(), 1, Qt.PenStyle.DotLine),
        )
        return _range(len(self._sentences[k].sign), len(self._sentences[k].text), look)

    # Mouse and keys

    def _leading(self) -> list[int]:
        return [k for k, s in enumerate(self._sentences) if s.place is not None]

    def _at(self, at: QPoint) -> int | None:
        """Return which sentence that leads somewhere has its words at a place of the label."""
        inside = QPointF(at)
        for k, layout in enumerate(self._layouts(self.width())):
            sentence = self._sentences[k]
            for line in map(layout.lineAt, range(layout.lineCount())):
                if sentence.place is not None and line.naturalTextRect().contains(inside):
                    letter = line.xToCursor(inside.x(), QTextLine.CursorPosition.CursorOnCharacter)
                    return k if letter >= len(sentence.sign) else None
            inside -= QPointF(0.0, layout.boundingRect().height())
        return None

    def _choose(self, k: int | None) -> None:
        place = self._sentences[k].place if k is not None else None
        if place is not None:
            self.chosen.emit(*place)

    def _set_current(self, k: int | None) -> None:
        self._current = k
        self.update()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Show a hand over what leads somewhere."""
        if self._at(event.position().toPoint()) is None:
            self.unsetCursor()
        else:
            self.setCursor(Qt.CursorShape.PointingHandCursor)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Note what is pressed."""
        if event.button() is not Qt.MouseButton.LeftButton:
            event.ignore()
            return
        self._pressed = self._at(event.position().toPoint())
        self._set_current(None)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Go to the place of what was pressed and released."""
        if event.button() is not Qt.MouseButton.LeftButton:
            event.ignore()
            return
        pressed, self._pressed = self._pressed, None
        if pressed is not None and pressed == self._at(event.position().toPoint()):
            self._choose(pressed)

    def leaveEvent(self, event: QEvent) -> None:
        """Show the plain pointer again."""
        self.unsetCursor()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go to the place of the current sentence."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._current is not None:
            self._choose(self._current)
        else:
            event.ignore()

    def focusNextPrevChild(self, forward: bool) -> bool:  # noqa: N802
        """Go to the next sentence that leads somewhere, or on to another widget."""
        leading = self._leading() if forward else self._leading()[::-1]
        if self._current is not None:
            leading = [k for k in leading if (k > self._current if forward else k < self._current)]
        if not leading:
            return super().focusNextPrevChild(forward)
        self._set_current(leading[0])
        return True

    def changeEvent(self, event: QEvent) -> None:
        """Lay all out anew in another font."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._width = -1

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Have no current sentence without the keys."""
        super().focusOutEvent(event)
        if event.reason() not in (Qt.FocusReason.ActiveWindowFocusReason, Qt.FocusReason.PopupFocusReason):
            self._set_current(None)


def _broken(layout: QTextLayout, sign: str) -> _Broken:
    """Return where the lines of a layout lie; the sign, which has its own ink, is a piece of its own."""
    pieces = []
    for line in map(layout.lineAt, range(layout.lineCount())):
        foot = line.y() + line.ascent()
        begin, end = line.textStart(), line.textStart() + line.textLength()
        if begin < len(sign):
            pieces.append((0.0, foot, begin, len(sign)))
            begin = len(sign)
        pieces.append((line.cursorToX(begin)[0], foot, begin, end))  # type: ignore[index]
    return _Broken(tuple(pieces), layout.boundingRect().height())


_height: Callable[[_Broken], float] = attrgetter("height")


def _look(sentence: Sentence) -> tuple[str, str, str]:
    """Return what is seen of a sentence."""
    return sentence.sign, sentence.text, sentence.ink


def _range(start: int, length: int, look: QTextCharFormat) -> QTextLayout.FormatRange:
    found = QTextLayout.FormatRange()
    found.start, found.length, found.format = start, length, look
    return found

"""A few sentences, each behind a coloured sign, that lead to places by mouse and by key.

A label with rich text would read and lay out all of them anew for every changed digit of one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

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

from geometry.readings.measure import Place


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
        if list(map(_look, before)) != list(map(_look, sentences)):
            self.update()

    def text(self) -> str:
        """Return the sentences, a line each."""
        return "\n".join(f"{s.sign}{s.text}" for s in self._sentences)

    def heightForWidth(self, width: int) -> int:  # noqa: N802
        """Return the height that the sentences need."""
        return round(sum(layout.boundingRect().height() for layout in self._layouts(width)))

    def _layouts(self, width: int) -> list[QTextLayout]:
        """Return each sentence in lines of a width; those laid out before are given again."""
        before = self._laid if width == self._width else {}
        self._width = width
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
        painter.setPen(self.palette().windowText().color())
        top = 0.0
        for k, layout in enumerate(self._layouts(self.width())):
            layout.draw(painter, QPointF(0.0, top), [self._mark(k)] if k == self._current else [])
            top += layout.boundingRect().height()

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


def _look(sentence: Sentence) -> tuple[str, str, str]:
    """Return what is seen of a sentence."""
    return sentence.sign, sentence.text, sentence.ink


def _range(start: int, length: int, look: QTextCharFormat) -> QTextLayout.FormatRange:
    found = QTextLayout.FormatRange()
    found.start, found.length, found.format = start, length, look
    return found

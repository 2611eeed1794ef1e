"""How the readings look: large figures, small notes, a state with its sign, word, line style and colour."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache

from PySide6.QtCore import QEvent, QModelIndex, QObject, QPersistentModelIndex, QPoint, QRect, QSize, Qt
from PySide6.QtGui import (
    QAccessible,
    QColor,
    QFont,
    QFontMetrics,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QRegion,
    QResizeEvent,
)
from PySide6.QtWidgets import QStyledItemDelegate, QStyleOptionViewItem, QTreeView

from app.language import spoken
from app.reports.sentences import SIGNS
from app.views.readings_line import Line
from app.views.readings_text import minus
from app.views.readings_tree import LABEL, RULE, SPARE, STATE, VALUE, ReadingsModel, is_ruled, shows
from app.views.theme import LINES, Theme, Widths, figures
from geometry.readings.rules import State

#: To find the place of more lines than these takes longer than to paint all.
_MANY = 30
_NUMBERS = 1.3  # of the panel's font: numbers are the largest thing in the readings
#: A text that has this room is never shortened.
_ANY_ROOM = 1 << 20
#: So many pictures of lines are kept, each of some 50 to 200 kB.
_PICTURES = 120
_LEFT = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
_RIGHT = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)


class ReadingsView(QTreeView):
    """The tree, which paints a line at a time.

    The toolkit paints cell by cell and asks model, style and delegate about each: when readings come back
    after a fault in a drag, that would take half of the frame.
    """

    def __init__(self, theme: Theme, model: ReadingsModel) -> None:
        super().__init__()
        self._theme, self._readings = theme, model
        self.plain: QFont = figures(self.font())
        self.large: QFont = figures(self.font(), _NUMBERS)
        self.group: QFont = figures(self.font(), bold=True)
        self.small: QFont = figures(self.font(), 0.88)
        self._in_plain, self._in_large, self._in_group, self._in_small = (
            _Words(font) for font in (self.plain, self.large, self.group, self.small)
        )
        self._colours: dict[str, QColor] = {}
        theme.changed.connect(self._dress)
        self._dress()
        self._dirty = QRegion()  # what is painted
        self._is_whole = False  # all lines from end to end
        self._columns: list[tuple[int, int]] = []
        self._width = 0
        self._chosen: set[int] = set()
        self._tops: dict[int, int] = {}  # of lines that are in view
        self._in_view: tuple[int, int] | None = None  # the first and the last of them
        self._pictures: dict[tuple[object, ...], QPixmap | None] = {}  # of lines by how they look
        self._watch = _Watch(self, self._begin)
        self.viewport().installEventFilter(self._watch)
        self.setModel(model)
        self._height = QFontMetrics(self.large).height() + 6
        self.setItemDelegate(_Height(self, self._height))
        for moved in (self.expanded, self.collapsed, model.modelReset):
            moved.connect(self._lose_places)

    def _dress(self) -> None:
        """Take the colours in force."""
        roles = ("ink", "quiet", "not_known", "hairline", *(state.name.lower() for state in State))
        self._colours = {role: self._theme.colour(role) for role in roles}
        self._pictures = {}

    def changeEvent(self, event: QEvent) -> None:
        """Paint all lines anew in another palette or font."""
        self._pictures = {}
        super().changeEvent(event)

    def _lose_places(self, _of: object = None) -> None:
        self._tops.clear()
        self._in_view = None

    def scrollContentsBy(self, dx: int, dy: int) -> None:  # noqa: N802
        """Find all lines elsewhere."""
        self._lose_places()
        super().scrollContentsBy(dx, dy)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Have other lines in view."""
        self._lose_places()
        super().resizeEvent(event)

    def _begin(self, dirty: QRegion) -> None:
        """Note what is about to be painted."""
        header = self.header()
        self._dirty = dirty
        width = self.viewport().width()
        columns = [(header.sectionViewportPosition(c), header.sectionSize(c)) for c in range(STATE + 1)]
        if (width, columns) != (self._width, self._columns):
            self._width, self._columns, self._pictures = width, columns, {}
        self._is_whole = dirty.rectCount() == 1 and dirty.boundingRect().width() >= width
        self._chosen = {index.internalId() for index in self.selectionModel().selectedRows()}

    def dataChanged(  # noqa: N802
        self,
        first: QModelIndex | QPersistentModelIndex,
        last: QModelIndex | QPersistentModelIndex,
        roles: Sequence[int] = (),
    ) -> None:
        """Have the changed cells that are in view painted again; of many, all lines."""
        listened = QAccessible.isActive()
        if listened:
            super().dataChanged(first, last, roles)
        view = self.viewport()
        if listened or len(self._readings.changed) > _MANY:
            view.update()  # the view itself leaves lines out where it is scrolled
            return
        header = self.header()
        if self._in_view is None:
            rect = view.rect()
            highest, lowest = self.indexAt(rect.topLeft()), self.indexAt(rect.bottomLeft())
            self._in_view = (
                highest.internalId() if highest.isValid() else 0,
                lowest.internalId() if lowest.isValid() else _ANY_ROOM,
            )
        (first_seen, last_seen), height = self._in_view, self._height
        for k, columns in self._readings.changed.items():
            if not first_seen <= k <= last_seen:
                continue
            if k not in self._tops:
                row = self.visualRect(self._readings.at(k))
                if row.isEmpty():  # below a closed line
                    continue
                self._tops[k] = row.top()
            top = self._tops[k]
            for column in columns:
                view.update(header.sectionViewportPosition(column), top, header.sectionSize(column), height)

    def drawRow(  # noqa: N802
        self, painter: QPainter, options: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Paint the cells of one line that have to be painted; a whole one, as before, from a picture.

        When readings come back after a fault in a drag, most lines look as they did before it.
        """
        line = self._readings.line(index)
        if line is None:
            return
        row: QRect = options.rect
        is_chosen = index.internalId() in self._chosen
        if not self._is_whole:
            self._paint_line(painter, row, line, index, is_chosen)
            return
        ratio = self.devicePixelRatioF()
        is_open = bool(line.children) and self.isExpanded(index)
        looks = (*shows(line), bool(line.children), is_open, self._readings.depth(index), is_chosen, ratio)
        picture = self._pictures.get(looks)
        if picture is not None:
            painter.drawPixmap(row.topLeft(), picture)
        elif looks not in self._pictures:  # one that is never seen again is not worth a picture
            if len(self._pictures) >= _PICTURES:
                self._pictures = {}
            self._pictures[looks] = None
            self._paint_line(painter, row, line, index, is_chosen)
        else:
            picture = self._pictures[looks] = QPixmap(row.size() * ratio)
            picture.setDevicePixelRatio(ratio)
            picture.fill(self.palette().base().color())
            on = QPainter(picture)
            self._paint_line(on, QRect(QPoint(0, 0), row.size()), line, index, is_chosen)
            on.end()
            painter.drawPixmap(row.topLeft(), picture)

    def _paint_line(
        self,
        painter: QPainter,
        row: QRect,
        line: Line,
        index: QModelIndex | QPersistentModelIndex,
        is_chosen: bool,
    ) -> None:
        top, height, depth = row.top(), row.height(), self._readings.depth(index)
        columns, colours = self._columns, self._colours
        start, width = columns[LABEL]
        indent = (depth + 1) * self.indentation()
        if is_chosen:
            painter.fillRect(row, self.palette().highlight())
        if line.children and self._is_dirty(start, top, indent, height):
            self.drawBranches(painter, QRect(start, top, indent, height), index)
        ink = colours["ink" if line.known else "not_known"]
        room = self._label_room(line, start + indent, width - indent)
        if self._is_dirty(start + indent, top, room, height):
            self._label(painter, QRect(start + indent, top, room, height), line, ink)
        for column, text, words, colour in (
            (RULE, line.rule, self._in_plain, colours["quiet"]),
            (SPARE, minus(line.spare), self._in_plain, ink),
            (VALUE, minus(line.value), self._in_large, ink),
        ):
            left, width = columns[column]
            if text and self._is_dirty(left, top, width, height):
                painter.setPen(colour)
                words.write(painter, QRect(left, top, width - 6, height), text, at_right=True)
        left, width = columns[STATE]
        if self._is_dirty(left, top, width, height):
            self._state(painter, QRect(left, top, width, height), line)
        if line.children and not depth:
            painter.setPen(colours["hairline"])
            foot = top + height - 1
            painter.drawLine(start + indent, foot, row.right(), foot)

    def _is_dirty(self, left: int, top: int, width: int, height: int) -> bool:
        """True where some of it may have to be painted: what has not is cut off by the painter."""
        return self._is_whole or self._dirty.intersects(QRect(left, top, width, height))

    def _label_room(self, line: Line, left: int, width: int) -> int:
        """Return how far a label may run: one without numbers runs over the empty cells to its right."""
        if is_ruled(line):
            return width
        kept = self._columns[STATE][1] if line.state or line.value or line.aside else 0
        kept += self._columns[VALUE][1] if line.value else 0
        return self._width - left - 4 - kept

    def _label(self, painter: QPainter, room: QRect, line: Line, ink: QColor) -> None:
        words = self._in_group if line.children else self._in_plain
        painter.setPen(ink)
        shown, width = words.elided(minus(spoken(line.label)), room.width() - 4)
        words.write(painter, room, shown)
        if not line.note:
            return
        left = room.left() + width + 6
        rest = room.right() - left - 4
        note = spoken(line.note)
        if rest > 60 or self._in_small.elided(note, _ANY_ROOM)[1] <= rest:
            painter.setPen(self._colours["quiet"])
            note, _ = self._in_small.elided(note, rest)
            self._in_small.write(painter, QRect(left, room.top(), rest, room.height()), note)

    def _state(self, painter: QPainter, cell: QRect, line: Line) -> None:
        if line.state is None:
            if line.aside:
                painter.setPen(self._colours["quiet"])
                self._in_small.write(painter, cell, spoken(line.aside))
            return
        is_bad = line.state in (State.TOUCHING, State.SHORT)
        colour, word = self._colours[line.state.name.lower()], spoken(line.state)
        words = self._in_group if is_bad else self._in_plain
        painter.setPen(colour)
        inner = cell.adjusted(6, 0, -6, 0)
        words.write(painter, inner, SIGNS[line.state])
        words.write(painter, inner.adjusted(18, 0, 0, 0), word)
        painter.setPen(QPen(colour, 1.5, LINES[line.state]))
        foot = cell.bottom() - 3
        _, width = words.elided(word, _ANY_ROOM)
        painter.drawLine(QPoint(inner.left(), foot), QPoint(inner.left() + width + 18, foot))


class _Watch(QObject):
    """Tells what each paint of a viewport covers.

    Were `paintEvent` overridden, an error while a line is painted would be pending while others are painted.
    """

    def __init__(self, view: QTreeView, begin: Callable[[QRegion], None]) -> None:
        super().__init__(view)
        self._begin = begin

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Let every event pass."""
        if isinstance(event, QPaintEvent):
            self._begin(event.region())
        return False


class _Height(QStyledItemDelegate):
    """Has every line equally high."""

    def __init__(self, view: QTreeView, height: int) -> None:
        super().__init__(view)
        self._height = height

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        """Return the height of any line."""
        return QSize(40, self._height)


class _Words:
    """A font with its measures: texts are cut to a room, and written on whole pixels.

    The painter's own layout of a text in a box would take twice as long.
    """

    def __init__(self, font: QFont) -> None:
        self._font, self._metrics = font, QFontMetrics(font)
        self._height, self._ascent = self._metrics.height(), self._metrics.ascent()
        self._widths = Widths(self._metrics)
        self.elided = lru_cache(256)(self._elided)

    def _elided(self, text: str, room: int) -> tuple[str, int]:
        """Return a text cut to a room, and how wide it is then."""
        shown = self._metrics.elidedText(text, Qt.TextElideMode.ElideRight, room)
        return shown, self._metrics.horizontalAdvance(shown)

    def write(self, painter: QPainter, box: QRect, text: str, at_right: bool = False) -> None:
        """Write a text halfway up a box; what is wider than it is cut off there."""
        painter.setFont(self._font)
        left, width = box.left(), round(self._widths.of(text))
        if width > box.width():
            painter.drawText(box, _RIGHT if at_right else _LEFT, text)
            return
        if at_right:
            left += box.width() - width
        painter.drawText(left, box.top() + (box.height() - self._height) // 2 + self._ascent, text)

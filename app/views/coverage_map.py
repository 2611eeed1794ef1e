"""The coverage map: fitments down, blanks across, each cell with sign, spare or miss, and what decides."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFontMetricsF,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QToolTip, QWidget

from app.language import spoken, tr
from app.project.project import Project
from app.reports.numbers import Numbers, unit_of
from app.reports.sentences import SIGNS
from app.studies.roadmap.coverage import PROVED, CoverCell
from app.studies.roadmap.plan_words import compromise_name, need_words
from app.views.coverage_rows import MapRow
from app.views.programme_words import cell_words
from app.views.readings_text import minus
from app.views.theme import Theme, figures

_TOP, _ROW, _INDENT, _EDGE = 42.0, 38.0, 18.0, 8.0
_LEAST, _MOST = 92.0, 168.0
#: Share of a state's colour in the ground of its cells: ink stays readable on it.
_TINT = 60
#: Stands at the head of a row that nothing serves.
UNSERVED = "✕"
_FAR = 100_000
_STEPS = {
    Qt.Key.Key_Left: (0, -1),
    Qt.Key.Key_Right: (0, 1),
    Qt.Key.Key_Up: (-1, 0),
    Qt.Key.Key_Down: (1, 0),
    Qt.Key.Key_PageUp: (-10, 0),
    Qt.Key.Key_PageDown: (10, 0),
    Qt.Key.Key_Home: (0, -_FAR),
    Qt.Key.Key_End: (0, _FAR),
}
_CENTRE = Qt.AlignmentFlag.AlignCenter
_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter


class CoverageMap(QAbstractScrollArea):
    """Draws a coverage; heads of rows and columns stay in sight; mouse and arrows choose a cell.

    Signals:
        cell_chosen(cell): another cell is the current one.
        cell_wanted(cell): a cell was double-clicked, or chosen with Enter.
    """

    cell_chosen = Signal(object)
    cell_wanted = Signal(object)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._project: Project | None = None
        self._numbers = Numbers("mm")
        self.rows: tuple[MapRow, ...] = ()
        self.blanks: tuple[str, ...] = ()
        self._serves: frozenset[tuple[str, bool, str]] = frozenset()
        self._states: dict[str, str] = {}
        self._unproved: frozenset[str] = frozenset()
        self._empty = ""
        self._left, self._wide = 120.0, _LEAST
        self.current: tuple[int, int] | None = None
        self.setFont(figures(self.font()))
        self._small = figures(self.font(), 0.82)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(tr("Coverage: fitments by blanks"))
        theme.changed.connect(self.viewport().update)

    def sizeHint(self) -> QSize:
        """Return room for a dozen rows."""
        return QSize(720, 480)

    def show_empty(self, words: str) -> None:
        """Show no map, and what to do."""
        self.rows, self.blanks, self.current, self._empty = (), (), None, words
        self._sized()

    def show_rows(
        self,
        project: Project,
        blanks: Sequence[str],
        rows: tuple[MapRow, ...],
        serves: frozenset[tuple[str, bool, str]] = frozenset(),
    ) -> None:
        """Show other rows; the current cell stays where it is still shown.

        Args:
            project: that was read.
            blanks: names, in the order of the cells.
            rows: in their order.
            serves: fitment, by compromise or not, and blank of the cells that the plan uses.
        """
        before = self.cell()
        self._project, self._numbers = project, Numbers(unit_of(project))
        self.blanks, self.rows, self._serves = tuple(blanks), rows, serves
        held = {blank.name: blank for blank in project.blanks}
        self._states = {name: str(held[name].state) for name in self.blanks}
        self._unproved = frozenset(name for name in self.blanks if held[name].state not in PROVED)
        self._empty = tr("No row is left by what is chosen above.") if not rows else ""
        self.current = None
        self._sized()
        if rows and self.blanks:
            key = None if before is None else (before.fitment, before.compromise, before.blank)
            at = next(
                (
                    (k, j)
                    for k, row in enumerate(rows)
                    for j, c in enumerate(row.row.cells)
                    if (c.fitment, c.compromise, c.blank) == key
                ),
                (0, 0),
            )
            self.choose(*at)

    # Where things lie

    def cell(self) -> CoverCell | None:
        """Return the current cell."""
        if self.current is None:
            return None
        return self.rows[self.current[0]].row.cells[self.current[1]]

    def serves(self, cell: CoverCell) -> bool:
        """Return True where the plan uses a cell."""
        return (cell.fitment, cell.compromise, cell.blank) in self._serves

    def cell_rect(self, row: int, column: int) -> QRectF:
        """Return the rectangle of a cell in the viewport, pixels."""
        x = self._left + self._wide * column - self.horizontalScrollBar().value()
        return QRectF(x, _TOP + _ROW * row - self.verticalScrollBar().value(), self._wide, _ROW)

    def _sized(self) -> None:
        """Take the widths from the words, and the scroll bars from both."""
        metrics = self.fontMetrics()
        small = QFontMetricsF(self._small)
        heads = [
            max(metrics.horizontalAdvance(self._head(row)), small.horizontalAdvance(self._under(row)))
            + _INDENT * row.row.compromise
            for row in self.rows
        ]
        self._left = min(max([*heads, 80]) + 2.0 * _EDGE + 18.0, 320.0)
        room = self.viewport().width() - self._left - 1.0
        least = max([metrics.horizontalAdvance(name) + 24.0 for name in self.blanks] + [_LEAST])
        self._wide = max(min(room / max(len(self.blanks), 1), _MOST), min(least, _MOST))
        across = self._left + self._wide * len(self.blanks)
        down = _TOP + _ROW * len(self.rows)
        for bar, whole, shown in (
            (self.horizontalScrollBar(), across, self.viewport().width()),
            (self.verticalScrollBar(), down, self.viewport().height()),
        ):
            bar.setRange(0, max(int(whole - shown) + 1, 0) if whole > shown else 0)
            bar.setPageStep(shown)
            bar.setSingleStep(int(_ROW))
        self.viewport().update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the columns to the room."""
        super().resizeEvent(event)
        self._sized()

    def _at(self, place: QPointF) -> tuple[int, int] | None:
        if place.y() < _TOP or place.x() < self._left:
            return None
        row = int((place.y() - _TOP + self.verticalScrollBar().value()) // _ROW)
        column = int((place.x() - self._left + self.horizontalScrollBar().value()) // self._wide)
        inside = 0 <= row < len(self.rows) and 0 <= column < len(self.blanks)
        return (row, column) if inside else None

    # Choosing

    def choose(self, row: int, column: int) -> None:
        """Make a cell the current one, and bring it into sight; the nearest where it lies outside."""
        row = min(max(row, 0), len(self.rows) - 1)
        self.current = row, min(max(column, 0), len(self.blanks) - 1)
        box = self.cell_rect(*self.current)
        for bar, low, high, first, last in (
            (self.verticalScrollBar(), box.top(), box.bottom(), _TOP, self.viewport().height()),
            (self.horizontalScrollBar(), box.left(), box.right(), self._left, self.viewport().width()),
        ):
            if low < first:
                bar.setValue(int(bar.value() + low - first))
            elif high > last:
                bar.setValue(int(bar.value() + high - last + 1.0))
        self.viewport().setAccessibleDescription(self.words(*self.current))
        self.cell_chosen.emit(self.cell())
        self.viewport().update()

    def words(self, row: int, column: int) -> str:
        """Return all there is to say of a cell."""
        shown = self.rows[row]
        currency = self._project.currency if self._project is not None else ""
        return cell_words(shown.fitment, shown.row, shown.row.cells[column], self._numbers, currency)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the cell under the pointer."""
        at = self._at(event.position())
        if at is not None:
            self.choose(*at)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Keep the click that chose."""
        event.accept()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Open the cell under the pointer."""
        at = self._at(event.position())
        if at is not None:
            self.choose(*at)
            self.cell_wanted.emit(self.cell())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Move with arrows, pages, Home and End; open with Enter."""
        key = Qt.Key(event.key())
        if self.current is not None and key in _STEPS:
            down, right = _STEPS[key]
            self.choose(self.current[0] + down, self.current[1] + right)
        elif self.current is not None and key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.cell_wanted.emit(self.cell())
        else:
            super().keyPressEvent(event)

    def viewportEvent(self, event: QEvent) -> bool:
        """Tell a cell's words under the pointer, and a row's at its head."""
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            QToolTip.showText(event.globalPos(), self._tip(event.pos()), self.viewport())
            return True
        return super().viewportEvent(event)

    def _tip(self, place: QPoint) -> str:
        at = self._at(QPointF(place))
        if at is not None:
            return self.words(*at)
        row = int((place.y() - _TOP + self.verticalScrollBar().value()) // _ROW)
        if place.y() < _TOP or not 0 <= row < len(self.rows):
            return ""
        shown = self.rows[row]
        return "\n".join([self._under(shown), *shown.row.unknown, *shown.row.need.notes])

    # Painting

    def _head(self, row: MapRow) -> str:
        return compromise_name(row.fitment) if row.row.compromise else row.fitment.name

    def _under(self, row: MapRow) -> str:
        """Return the quiet line under a row's name: must or want, size, insets."""
        fitment, asked = row.fitment, row.row.need.insets
        if row.row.compromise:
            return tr("{name} by compromise", name=fitment.name)
        size = (
            f"{fitment.diameter_code:g} x {fitment.width_code:g}"
            if fitment.width_code is not None and fitment.diameter_code is not None
            else ""
        )
        insets = (
            ""
            if not asked
            else tr("ET {asked:g}", asked=asked[0]) + (f"–{asked[-1]:g}" if len(asked) > 1 else "")
        )
        if row.is_unserved:
            return tr("{need_words}, nothing serves it", need_words=spoken(need_words(fitment.must)))
        return ", ".join(word for word in (spoken(need_words(fitment.must)), size, insets) if word)

    def _text(self, cell: CoverCell) -> str:
        spare = self._numbers.length(cell.spare_mm)
        return minus(f"{SIGNS[cell.state]} {spare}".rstrip())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the cells, then the heads over what is scrolled below them."""
        painter = QPainter(self.viewport())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        paper = self._theme.colour("paper")
        painter.fillRect(self.viewport().rect(), paper)
        if self._empty:
            painter.setPen(self._theme.colour("quiet"))
            room = QRectF(self.viewport().rect()).adjusted(24.0, 24.0, -24.0, -24.0)
            painter.drawText(room, int(_CENTRE | Qt.TextFlag.TextWordWrap), self._empty)
            return
        height, width = self.viewport().height(), self.viewport().width()
        first = max(int(self.verticalScrollBar().value() // _ROW), 0)
        shown = range(first, min(first + int(height // _ROW) + 2, len(self.rows)))
        for k in shown:
            for column, cell in enumerate(self.rows[k].row.cells):
                self._paint_cell(painter, self.cell_rect(k, column), cell)
        self._paint_unproved(painter)
        if self.current is not None:
            colour = self._theme.colour("accent" if self.hasFocus() else "quiet")
            painter.setPen(QPen(colour, 2.4))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.cell_rect(*self.current).adjusted(1.5, 1.5, -1.5, -1.5))
        painter.fillRect(QRectF(0.0, 0.0, self._left, height), paper)
        for k in shown:
            self._paint_head(painter, k)
        painter.fillRect(QRectF(0.0, 0.0, width, _TOP), paper)
        painter.save()
        painter.setClipRect(QRectF(self._left, 0.0, width - self._left, _TOP))
        for column, name in enumerate(self.blanks):
            self._paint_column(painter, column, name)
        painter.restore()
        painter.setPen(QPen(self._theme.colour("hairline"), 1.0))
        painter.drawLine(QPointF(0.0, _TOP), QPointF(width, _TOP))
        painter.drawLine(QPointF(self._left, 0.0), QPointF(self._left, height))

    def _paint_cell(self, painter: QPainter, box: QRectF, cell: CoverCell) -> None:
        ground = self._theme.state_colour(cell.state)
        ground.setAlpha(_TINT)
        painter.fillRect(box, ground)
        painter.setPen(QPen(self._theme.colour("paper"), 1.5))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(box)
        painter.setPen(self._theme.colour("ink"))
        painter.setFont(self.font())
        painter.drawText(QRectF(box.left(), box.top() + 2.0, box.width(), 19.0), _CENTRE, self._text(cell))
        painter.setFont(self._small)
        metrics = painter.fontMetrics()
        words = metrics.elidedText(spoken(cell.what), Qt.TextElideMode.ElideRight, int(box.width() - 12.0))
        painter.drawText(QRectF(box.left(), box.top() + 19.0, box.width(), 16.0), _CENTRE, words)
        if self.serves(cell):
            bar = QRectF(box.left() + 1.5, box.top() + 4.0, 4.0, box.height() - 8.0)
            painter.fillRect(bar, self._theme.colour("ink"))

    def _paint_unproved(self, painter: QPainter) -> None:
        """Draw dashed edges along the columns of blanks that nobody has tried out."""
        painter.setPen(QPen(self._theme.colour("ink"), 1.0, Qt.PenStyle.DashLine))
        for column, name in enumerate(self.blanks):
            if name in self._unproved:
                top = self.cell_rect(0, column)
                bottom = self.cell_rect(len(self.rows) - 1, column)
                for x in (top.left() + 0.5, top.right() - 0.5):
                    painter.drawLine(QPointF(x, top.top()), QPointF(x, bottom.bottom()))

    def _paint_head(self, painter: QPainter, k: int) -> None:
        row = self.rows[k]
        box = self.cell_rect(k, 0)
        x = _EDGE + 16.0 + _INDENT * row.row.compromise
        room = self._left - x - _EDGE
        ink, quiet = self._theme.colour("ink"), self._theme.colour("quiet")
        if row.is_unserved:
            painter.setFont(self.font())
            painter.setPen(self._theme.colour("short"))
            painter.drawText(QRectF(_EDGE - 2.0, box.top() + 2.0, 16.0, 19.0), _CENTRE, UNSERVED)
        for font, colour, top, words in (
            (self.font(), quiet if row.row.compromise else ink, 2.0, self._head(row)),
            (self._small, self._theme.colour("short") if row.is_unserved else quiet, 19.0, self._under(row)),
        ):
            painter.setFont(font)
            painter.setPen(colour)
            said = painter.fontMetrics().elidedText(words, Qt.TextElideMode.ElideRight, int(room))
            painter.drawText(QRectF(x, box.top() + top, room, 17.0), int(_LEFT), said)
        painter.setPen(QPen(self._theme.colour("hairline"), 1.0))
        painter.drawLine(QPointF(0.0, box.bottom()), QPointF(self._left, box.bottom()))

    def _paint_column(self, painter: QPainter, column: int, name: str) -> None:
        box = self.cell_rect(0, column)
        painter.setFont(self.font())
        painter.setPen(self._theme.colour("ink"))
        wide = int(box.width() - 8.0)
        said = painter.fontMetrics().elidedText(name, Qt.TextElideMode.ElideMiddle, wide)
        painter.drawText(QRectF(box.left(), 3.0, box.width(), 19.0), _CENTRE, said)
        painter.setFont(self._small)
        painter.setPen(self._theme.colour("tight" if name in self._unproved else "quiet"))
        mark = "◌ " if name in self._unproved else ""
        painter.drawText(
            QRectF(box.left(), 21.0, box.width(), 17.0), _CENTRE, f"{mark}{spoken(self._states[name])}"
        )

"""The map of a blank's limits: widths down, insets across; sign, spare stock and zone in each cell."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFont,
    QFontMetricsF,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from app.language import spoken, tr
from app.reports.numbers import Numbers
from app.reports.sentences import SIGNS
from app.studies.limits import Cell, InsetWindow, Limits
from app.views.readings_text import minus
from app.views.theme import Theme, figures

#: Stands for a cell that cannot be drawn.
NOT_DRAWN = "–"
_LEFT, _TOP, _ROW, _BAR = 58.0, 28.0, 52.0, 41.0
#: Height of the line of sign and number; the deciding zone stands under it, pixels.
_NUMBER = 20.0
#: Share of a state's colour in the ground of its cells: ink stays readable on it.
_TINT = 70
LEAST_ZOOM, MOST_ZOOM, _ZOOM_STEP = 0.5, 4.0, 1.25
_STEPS = {
    Qt.Key.Key_Left: (0, -1),
    Qt.Key.Key_Right: (0, 1),
    Qt.Key.Key_Up: (-1, 0),
    Qt.Key.Key_Down: (1, 0),
    Qt.Key.Key_Home: (0, -10_000),
    Qt.Key.Key_End: (0, 10_000),
}


class LimitsMap(QWidget):
    """Draws a map; mouse and arrows choose a cell, + and - and the mouse's wheel with Ctrl zoom, 0 ends it.

    Signals:
        zoom_wanted(zoom): the map is asked for as many times as large.
        cell_chosen(cell): another cell is the current one.
        cell_wanted(cell): a cell was double-clicked, or chosen with Enter.
    """

    cell_chosen = Signal(object)
    cell_wanted = Signal(object)
    zoom_wanted = Signal(float)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.found: Limits | None = None
        self._numbers = Numbers("mm")
        self._now: tuple[float, float] | None = None
        self._alone: frozenset[tuple[float, float]] = frozenset()
        self.current: tuple[int, int] | None = None
        self.setFont(figures(self.font()))
        self._points = self.font().pointSizeF()
        self.zoom = 1.0
        self._scale()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName(tr("Map of widths and insets"))
        theme.changed.connect(self.update)

    def _scale(self) -> None:
        """Lay the map out by the zoom."""
        font = self.font()
        font.setPointSizeF(self._points * self.zoom)
        self.setFont(font)
        sizes = (_LEFT, _TOP, _ROW, _BAR, _NUMBER)
        self._left, self._top, self._row, self._bar, self._number = (self.zoom * x for x in sizes)

    def set_zoom(self, zoom: float) -> None:
        """Show the map as many times as large; words and numbers grow with it."""
        self.zoom = min(max(zoom, LEAST_ZOOM), MOST_ZOOM)
        self._scale()
        self.setMinimumSize(self.sizeHint())
        self.update()

    def show_limits(
        self,
        found: Limits | None,
        numbers: Numbers,
        now: tuple[float, float] | None,
        alone: frozenset[tuple[float, float]] = frozenset(),
    ) -> None:
        """Show another map.

        Args:
            found: the map.
            numbers: how lengths are written.
            now: width code and inset, mm, of the wheel as drawn.
            alone: width codes and insets of cells that this blank alone can be cut to.
        """
        self.found, self._numbers, self._now, self._alone = found, numbers, now, alone
        self.current = None
        self.setMinimumSize(self.sizeHint())
        if found is not None and found.rows:
            widths, insets = [row.width_code for row in found.rows], found.insets
            code, inset = now or (widths[0], insets[0])
            row = min(range(len(widths)), key=lambda k: abs(widths[k] - code))
            self.choose(row, min(range(len(insets)), key=lambda k: abs(insets[k] - inset)))
        self.update()

    def sizeHint(self) -> QSize:
        """Return room for every cell with its sign and number."""
        if self.found is None:
            return QSize(420, 200)
        return QSize(
            int(self._left + self._least_width() * len(self.found.insets)) + 1,
            int(self._top + self._row * len(self.found.rows)) + 1,
        )

    def _least_width(self) -> float:
        texts = [self._text(cell) for cell in self.found.cells] if self.found is not None else []
        metrics = self.fontMetrics()
        zones = {cell.zone for cell in self.found.cells} if self.found is not None else set()
        small = QFontMetricsF(self._small())
        widest = max([metrics.horizontalAdvance(text) for text in texts] + [38]) + 14.0 * self.zoom
        return max(widest, *(small.horizontalAdvance(spoken(zone)) + 6.0 for zone in zones), 0.0)

    # Where things lie

    def cell_rect(self, row: int, column: int) -> QRectF:
        """Return the rectangle of a cell, pixels."""
        wide = self._wide()
        return QRectF(self._left + wide * column, self._top + self._row * row, wide, self._row)

    def _wide(self) -> float:
        count = len(self.found.insets) if self.found is not None else 1
        return max(self._least_width(), min((self.width() - self._left - 1.0) / count, 110.0 * self.zoom))

    def x_of(self, inset_mm: float) -> float:
        """Return where an inset stands: columns at their middles, evenly in between."""
        assert self.found is not None
        insets, wide = self.found.insets, self._wide()
        inset_mm = min(max(inset_mm, insets[0]), insets[-1])
        k = max(k for k, inset in enumerate(insets) if inset <= inset_mm)
        part = 0.0 if k + 1 == len(insets) else (inset_mm - insets[k]) / (insets[k + 1] - insets[k])
        return self._left + wide * (k + 0.5 + part)

    def _bar_y(self, row: int) -> float:
        """Return where the bar of a row's windows lies, pixels."""
        return self._top + self._row * row + self._bar + 3.0 * self.zoom

    def _at(self, place: QPointF) -> tuple[int, int] | None:
        if self.found is None:
            return None
        row, column = int((place.y() - self._top) // self._row), int((place.x() - self._left) // self._wide())
        inside = 0 <= row < len(self.found.rows) and 0 <= column < len(self.found.insets)
        return (row, column) if inside else None

    def cell(self) -> Cell | None:
        """Return the current cell."""
        if self.found is None or self.current is None:
            return None
        return self.found.rows[self.current[0]].cells[self.current[1]]

    # Choosing

    def choose(self, row: int, column: int) -> None:
        """Make a cell the current one; the nearest where it lies outside."""
        assert self.found is not None
        row = min(max(row, 0), len(self.found.rows) - 1)
        self.current = row, min(max(column, 0), len(self.found.insets) - 1)
        cell = self.cell()
        assert cell is not None
        self.setAccessibleDescription(cell_words(cell, self._numbers))
        self.cell_chosen.emit(cell)
        self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the cell under the pointer."""
        at = self._at(event.position())
        if at is not None:
            self.choose(*at)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Open the cell under the pointer."""
        at = self._at(event.position())
        if at is not None:
            self.choose(*at)
            self.cell_wanted.emit(self.cell())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Move with arrows, Home and End; open with Enter."""
        key = Qt.Key(event.key())
        if self.current is not None and key in _STEPS:
            down, right = _STEPS[key]
            self.choose(self.current[0] + down, self.current[1] + right)
        elif self.current is not None and key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.cell_wanted.emit(self.cell())
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom_wanted.emit(self.zoom * _ZOOM_STEP)
        elif key == Qt.Key.Key_Minus:
            self.zoom_wanted.emit(self.zoom / _ZOOM_STEP)
        elif key == Qt.Key.Key_0:
            self.zoom_wanted.emit(1.0)
        else:
            super().keyPressEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom with Ctrl; else the map is scrolled."""
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.zoom_wanted.emit(self.zoom * _ZOOM_STEP ** (1 if event.angleDelta().y() > 0 else -1))
            event.accept()
        else:
            event.ignore()

    def event(self, event: QEvent) -> bool:
        """Tell a cell's words under the pointer."""
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            at = self._at(QPointF(event.pos()))
            words = ""
            if at is not None and self.found is not None:
                words = cell_words(self.found.rows[at[0]].cells[at[1]], self._numbers)
            QToolTip.showText(event.globalPos(), words, self)
            return True
        return super().event(event)

    # Painting

    def _small(self) -> QFont:
        font = QFont(self.font())
        font.setPointSizeF(0.85 * font.pointSizeF())
        return font

    def _text(self, cell: Cell) -> str:
        if cell.state is None:
            return NOT_DRAWN
        return minus(f"{SIGNS[cell.state]} {self._numbers.length(cell.spare_mm)}")

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw heads, cells, windows of inset, and the wheel as drawn."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._theme.colour("paper"))
        found = self.found
        middle = Qt.AlignmentFlag.AlignCenter
        if found is None or not found.rows:
            painter.setPen(self._theme.colour("quiet"))
            painter.drawText(self.rect(), middle, tr("no map yet"))
            return
        painter.setPen(self._theme.colour("quiet"))
        for column, inset in enumerate(found.insets):
            box = self.cell_rect(0, column)
            painter.drawText(
                QRectF(box.left(), 0.0, box.width(), self._top),
                middle,
                minus(tr("ET {inset:g}", inset=inset)),
            )
        for k, row in enumerate(found.rows):
            painter.setPen(self._theme.colour("quiet"))
            painter.drawText(
                QRectF(0.0, self._top + self._row * k, self._left, self._row), middle, f"{row.width_code:g}"
            )
            for column, cell in enumerate(row.cells):
                self._paint_cell(painter, self.cell_rect(k, column), cell)
            for window in row.windows:
                self._paint_window(painter, k, window)
            if self._now is not None and row.width_code == self._now[0]:
                self._paint_now(painter, k, self._now[1])
        if self.current is not None:
            colour = self._theme.colour("accent" if self.hasFocus() else "quiet")
            painter.setPen(QPen(colour, 2.4))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.cell_rect(*self.current).adjusted(1.0, 1.0, -1.0, -1.0))

    def _paint_cell(self, painter: QPainter, box: QRectF, cell: Cell) -> None:
        if cell.state is not None:
            ground = self._theme.state_colour(cell.state)
            ground.setAlpha(_TINT)
            painter.fillRect(box, ground)
        painter.setPen(QPen(self._theme.colour("paper"), 1.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(box)
        painter.setPen(self._theme.colour("quiet" if cell.state is None else "ink"))
        upper = QRectF(box.left(), box.top() + 2.0, box.width(), self._number)
        painter.drawText(upper, Qt.AlignmentFlag.AlignCenter, self._text(cell))
        if cell.zone:
            painter.save()
            painter.setFont(self._small())
            room = box.width() - 4.0
            words = painter.fontMetrics().elidedText(
                spoken(cell.zone), Qt.TextElideMode.ElideRight, int(room)
            )
            below = QRectF(box.left() + 2.0, box.top() + self._number, room, self._bar - self._number - 4.0)
            painter.drawText(below, Qt.AlignmentFlag.AlignCenter, words)
            painter.restore()
        if (cell.width_code, cell.inset_mm) in self._alone:
            corner = box.topLeft() + QPointF(1.0, 1.0)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(self._theme.colour("ink"))
            painter.drawPolygon([corner, corner + QPointF(9.0, 0.0), corner + QPointF(0.0, 9.0)])

    def _paint_window(self, painter: QPainter, row: int, window: InsetWindow) -> None:
        """Draw the bar of a window: an upright stroke where it closes, over the cell's edge where open."""
        half, y = self._wide() / 2.0, self._bar_y(row)
        low, high = self.x_of(window.low), self.x_of(window.high)
        low -= 0.0 if window.closed_low_by else half
        high += 0.0 if window.closed_high_by else half
        painter.setPen(QPen(self._theme.colour("ink"), 3.0, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
        painter.drawLine(QPointF(low, y), QPointF(high, y))
        painter.setPen(QPen(self._theme.colour("ink"), 1.6))
        for x, closed in ((low, window.closed_low_by), (high, window.closed_high_by)):
            if closed:
                painter.drawLine(QPointF(x, y - 4.5), QPointF(x, y + 4.5))

    def _paint_now(self, painter: QPainter, row: int, inset_mm: float) -> None:
        assert self.found is not None
        if self.found.insets[0] <= inset_mm <= self.found.insets[-1]:
            painter.setPen(QPen(self._theme.colour("ink"), 1.6))
            painter.setBrush(self._theme.colour("paper"))
            painter.drawEllipse(
                QPointF(self.x_of(inset_mm), self._top + self._row * row + self._bar + 3.0 * self.zoom),
                4.5,
                4.5,
            )


def cell_words(cell: Cell, numbers: Numbers) -> str:
    """Return all there is to say of a cell in one line."""
    head = tr("Width {width_code:g}, ET {inset_mm:g}:", width_code=cell.width_code, inset_mm=cell.inset_mm)
    if cell.state is None:
        return minus(f"{head} {cell.decides}")
    spare, least = (numbers.length(x, with_unit=True) for x in (cell.spare_mm, cell.least_mm))
    said = tr(
        "{sign} {word}, {decides}: {spare} to spare of {least} stock",
        sign=SIGNS[cell.state],
        word=cell.word,
        decides=cell.decides,
        spare=spare,
        least=least,
    )
    seat = tr("blank at z {seat_mm} from the mounting face", seat_mm=numbers.length(cell.seat_mm))
    mass = "" if cell.wheel_kg is None else tr(", wheel {wheel_kg}", wheel_kg=numbers.mass(cell.wheel_kg))
    return minus(f"{head} {said}; {seat}{mass}")

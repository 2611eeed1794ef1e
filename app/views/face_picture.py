"""The wheel from the street: windows, holes, valve; widths of spokes are dragged, the fill ratio is seen."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.language import tr
from app.project.wheel import Spokes
from app.reports.numbers import Numbers
from app.studies.face import Face, fill_of
from app.views.canvas.items import chain_line
from app.views.theme import Theme, figures

#: Half the side of a handle, and how near to one a press takes hold of it, pixels.
_HANDLE, _NEAR = 4.5, 14.0
_ROOM, _STRIP, _BETWEEN = 28.0, 170.0, 64.0
#: What an arrow key changes a width by, mm.
_STEP_MM = 0.5


class FacePicture(QWidget):
    """Draws a face and, beside it, how much of each ring is metal.

    Signals:
        chosen(row): a row of the widths was taken hold of.
        dragged(row, width_mm): it is being changed; `released()` ends that, `cancelled()` takes it back.
    """

    chosen = Signal(int)
    dragged = Signal(int, float)
    released = Signal()
    cancelled = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.face: Face | None = None
        self.spokes: Spokes | None = None
        self.row = 0
        self.why = ""
        self._numbers = Numbers("mm")
        self._held: str = ""
        self.setFont(figures(self.font()))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName(tr("The wheel from the street"))
        theme.changed.connect(self.update)

    def sizeHint(self) -> QSize:
        """Return room for face and strip."""
        return QSize(760, 520)

    def show_face(self, face: Face | None, spokes: Spokes | None, numbers: Numbers, why: str = "") -> None:
        """Draw a face, or say why there is none."""
        self.face, self.spokes, self._numbers, self.why = face, spokes, numbers, why
        if spokes is not None:
            self.row = min(self.row, len(spokes.widths) - 1)
        self._describe()
        self.update()

    def choose(self, row: int) -> None:
        """Mark a row of the widths, the last one where there are fewer."""
        self.row = row if self.spokes is None else min(row, len(self.spokes.widths) - 1)
        self._describe()
        self.update()

    def _describe(self) -> None:
        if self.face is None or self.spokes is None:
            self.setAccessibleDescription(self.why or tr("a full disc"))
            return
        r, width = (self._numbers.length(x, with_unit=True) for x in self.spokes.widths[self.row])
        share = 100.0 * fill_of(self.spokes, self.row)
        self.setAccessibleDescription(
            tr(
                "{count} spokes; chosen: {width} wide at r {r}, {share:.0f} % of the ring is metal",
                count=self.spokes.count,
                width=width,
                r=r,
                share=share,
            )
        )

    # Places

    @property
    def scale(self) -> float:
        """Pixels for a millimetre."""
        assert self.face is not None
        across = self.width() - 2.0 * _ROOM - _STRIP - _BETWEEN
        return max(0.01, min(across, self.height() - 2.0 * _ROOM) / (2.0 * self.face.outer_r))

    def centre(self) -> QPointF:
        """Return where the axle stands, pixels."""
        assert self.face is not None
        left = (self.width() - _STRIP - _BETWEEN - 2.0 * self.face.outer_r * self.scale) / 2.0
        return QPointF(max(_ROOM, left) + self.face.outer_r * self.scale, self.height() / 2.0)

    def _strip_left(self) -> float:
        assert self.face is not None
        return self.centre().x() + self.face.outer_r * self.scale + _BETWEEN

    def on_spoke(self, row: int, side: int = 1) -> QPointF:
        """Return where the handle of a row stands on the uppermost spoke's edge; side +1 is the right one."""
        assert self.spokes is not None
        r, width = self.spokes.widths[row]
        angle = side * min(width / (2.0 * r), math.pi / self.spokes.count)
        return self.centre() + QPointF(r * math.sin(angle), -r * math.cos(angle)) * self.scale

    def on_strip(self, row: int) -> QPointF:
        """Return where the handle of a row stands on the curve of the fill ratio."""
        assert self.spokes is not None
        return self._strip_place(self.spokes.widths[row][0], fill_of(self.spokes, row))

    def _strip_place(self, r: float, fill: float) -> QPointF:
        return QPointF(self._strip_left() + fill * _STRIP, self.centre().y() - r * self.scale)

    # Taking hold

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of the nearest handle."""
        if self.face is None or self.spokes is None or event.button() is not Qt.MouseButton.LeftButton:
            return
        at = event.position()
        places = [
            (kind, row, place)
            for row in range(len(self.spokes.widths))
            for kind, place in (
                ("right", self.on_spoke(row)),
                ("left", self.on_spoke(row, -1)),
                ("strip", self.on_strip(row)),
            )
        ]
        kind, row, place = min(places, key=lambda found: _apart(found[2], at))
        if _apart(place, at) > _NEAR:
            return
        self._held = kind
        self.choose(row)
        self.chosen.emit(row)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Change the width that is held."""
        if not self._held or self.spokes is None:
            return
        r, _ = self.spokes.widths[self.row]
        at = event.position()
        if self._held == "strip":
            fill = (at.x() - self._strip_left()) / _STRIP
            width = fill * 2.0 * math.pi * r / self.spokes.count
        else:
            off = at - self.centre()
            angle = math.atan2(off.x(), -off.y()) * (1.0 if self._held == "right" else -1.0)
            width = 2.0 * r * angle
        self.dragged.emit(self.row, width)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        if self._held:
            self._held = ""
            self.released.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Up and down choose a row, left and right change it; Escape takes a drag back."""
        key = Qt.Key(event.key())
        if key is Qt.Key.Key_Escape and self._held:
            self._held = ""
            self.cancelled.emit()
        elif self.spokes is None or key not in (
            Qt.Key.Key_Up,
            Qt.Key.Key_Down,
            Qt.Key.Key_Left,
            Qt.Key.Key_Right,
        ):
            super().keyPressEvent(event)
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            step = 1 if key is Qt.Key.Key_Up else -1
            row = min(max(self.row + step, 0), len(self.spokes.widths) - 1)
            self.choose(row)
            self.chosen.emit(row)
        else:
            step_mm = _STEP_MM if key is Qt.Key.Key_Right else -_STEP_MM
            self.dragged.emit(self.row, self.spokes.widths[self.row][1] + step_mm)
            self.released.emit()

    # Drawing

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw face, holes, handles and strip."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._theme.colour("paper"))
        if self.face is None:
            painter.setPen(self._theme.colour("quiet"))
            room = QRectF(self.rect()).adjusted(_ROOM, _ROOM, -_ROOM, -_ROOM)
            painter.drawText(room, Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap, self.why)
            return
        self._draw_face(painter, self.face)
        self._draw_strip(painter, self.face)
        if self.spokes is not None:
            self._draw_handles(painter, self.spokes)

    def _draw_face(self, painter: QPainter, face: Face) -> None:
        ink, quiet = self._theme.colour("ink"), self._theme.colour("quiet")
        centre, scale = self.centre(), self.scale
        metal = QPainterPath()
        metal.setFillRule(Qt.FillRule.OddEvenFill)
        for r in (face.outer_r, face.bore_r):
            metal.addEllipse(centre, r * scale, r * scale)
        for outline in face.windows:
            metal.addPolygon(
                QPolygonF([centre + QPointF(x * scale, -y * scale) for x, y in outline.tolist()])
            )
            metal.closeSubpath()
        painter.setPen(QPen(ink, 1.4))
        painter.setBrush(self._theme.colour("wheel"))
        painter.drawPath(metal)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for r, pen in ((face.rim_r, QPen(quiet, 1.0)), (face.hub_r, QPen(quiet, 1.0, Qt.PenStyle.DashLine))):
            painter.setPen(pen)
            painter.drawEllipse(centre, r * scale, r * scale)
        painter.setPen(QPen(ink, 1.0))
        painter.setBrush(self._theme.colour("paper"))
        for x, y, diameter in face.holes:
            half = diameter / 2.0 * scale
            painter.drawEllipse(centre + QPointF(x * scale, -y * scale), half, half)
        if face.valve is not None:
            x, y, diameter = face.valve
            half = diameter / 2.0 * scale
            painter.setPen(QPen(ink, 1.0, Qt.PenStyle.DotLine))
            painter.drawEllipse(centre + QPointF(x * scale, -y * scale), half, half)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(chain_line(quiet))
        reach = face.outer_r * scale + 10.0
        for across in (QPointF(reach, 0.0), QPointF(0.0, reach)):
            painter.drawLine(centre - across, centre + across)

    def _draw_strip(self, painter: QPainter, face: Face) -> None:
        """Draw the share of each ring that is metal, on the height of the uppermost spoke."""
        quiet, ink, line = (self._theme.colour(c) for c in ("quiet", "ink", "hairline"))
        painter.setPen(QPen(line, 1.0))
        for share in (0.0, 0.25, 0.5, 0.75, 1.0):
            painter.drawLine(self._strip_place(face.hub_r, share), self._strip_place(face.rim_r, share))
        curve = [self._strip_place(r, fill) for r, fill in face.fill.tolist()]
        low, high = self._strip_place(face.hub_r, 0.0), self._strip_place(face.rim_r, 0.0)
        area = QColor(self._theme.colour("wheel"))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(area)
        painter.drawPolygon(QPolygonF([low, *curve, high]))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(ink, 1.4))
        painter.drawPolyline(QPolygonF(curve))
        painter.setPen(quiet)
        below = low.y() + 6.0
        for share, words in ((0.0, "0"), (0.5, "50"), (1.0, "100 %")):
            across = self._strip_place(face.hub_r, share).x()
            painter.drawText(QRectF(across - 40.0, below, 80.0, 20.0), Qt.AlignmentFlag.AlignHCenter, words)
        room = QRectF(low.x() - 30.0, below + 20.0, _STRIP + 60.0, 40.0)
        painter.drawText(
            room,
            Qt.AlignmentFlag.AlignHCenter | Qt.TextFlag.TextWordWrap,
            tr("metal of each ring (fill ratio)"),
        )
        for r in (face.hub_r, face.rim_r):
            at = self._strip_place(r, 0.0)
            box = QRectF(at.x() - _BETWEEN + 4.0, at.y() - 10.0, _BETWEEN - 10.0, 20.0)
            text = f"r {self._numbers.length(r)}"
            painter.drawText(box, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, text)

    def _draw_handles(self, painter: QPainter, spokes: Spokes) -> None:
        accent, paper = self._theme.colour("accent"), self._theme.colour("paper")
        for row in range(len(spokes.widths)):
            painter.setPen(QPen(accent, 1.4))
            painter.setBrush(accent if row == self.row else paper)
            half = _HANDLE + (1.5 if row == self.row else 0.0)
            for at in (self.on_spoke(row), self.on_spoke(row, -1), self.on_strip(row)):
                painter.drawRect(QRectF(at.x() - half, at.y() - half, 2.0 * half, 2.0 * half))


def _apart(a: QPointF, b: QPointF) -> float:
    return math.hypot(a.x() - b.x(), a.y() - b.y())

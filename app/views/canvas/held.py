"""Small marks of what is held and driven: a sign beside the vertices that a constraint names.

A mark shows the number that it holds, in the project's unit; one that is not held is crossed and in the
colour of what is short. What a formula drives has the formula's name.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPainterPath
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from app.language import tr
from app.project.constraining import is_held, states
from app.project.parameters import given
from app.session.edited import offset_mm, outline_of, vertices_of
from app.session.shown import Shown
from app.units import LengthUnit, format_angle, format_length
from app.views.canvas.items import pen
from app.views.canvas.overlays import RULER_PX
from app.views.readings_text import minus, unit_of
from app.views.theme import Theme, words_font
from geometry.shape.held import Constraint, Driven, Hold

SIGNS: dict[Hold, str] = {
    Hold.RADIUS: "R",
    Hold.TANGENT: "⌒",
    Hold.HORIZONTAL: "∥",
    Hold.VERTICAL: "⊥",
    Hold.ANGLE: "∠",
    Hold.DISTANCE: "↔",
    Hold.ALONG_Z: "z",
    Hold.ALONG_R: "r",
    Hold.EQUAL_WALL: "=",
    Hold.CLEAR: "≥",
}
#: Room round the words of a mark, and from what they stand at, logical pixels.
_ROOM_PX, _OFF_PX = 3.0, 7.0


@dataclass(frozen=True)
class Mark:
    """Words at a place (z, r) of the hub's frame."""

    z: float
    r: float
    words: str
    is_held: bool = True
    is_driven: bool = False


class HeldMarks(QGraphicsItem):
    """Paints the marks over the drawing; the mouse goes through them.

    Attributes:
        marks: what is shown.
    """

    def __init__(self, theme: Theme, to_pixels: Callable[[float, float], QPointF], layer: float) -> None:
        super().__init__()
        self.setZValue(layer)
        self.setAcceptedMouseButtons(Qt.MouseButton.NoButton)
        self._theme, self._to_pixels = theme, to_pixels
        self._frame = QRectF()
        self._font = words_font(0.9)
        self._metrics = QFontMetricsF(self._font)
        self.marks: list[Mark] = []

    def show_state(self, shown: Shown) -> None:
        """Show the marks of another state."""
        before, self.marks = self.marks, marks_of(shown)
        if before or self.marks:
            self.update()

    def follow(self, frame: QRectF) -> None:
        """Take the view's frame in pixels."""
        if frame != self._frame:
            self.prepareGeometryChange()
            self._frame = QRectF(frame)

    def boundingRect(self) -> QRectF:
        """Return the whole frame; marks keep their size in pixels."""
        return self._frame

    def shape(self) -> QPainterPath:
        """Return nothing, so that clicks go to what lies below."""
        return QPainterPath()

    def boxes(self) -> list[QRectF]:
        """Return where each mark stands, in pixels: above and to the left of its place, none over another."""
        taken: list[QRectF] = []
        for mark in self.marks:
            at = self._to_pixels(mark.z, mark.r)
            size = self._metrics.size(0, mark.words)
            width, height = size.width() + 2.0 * _ROOM_PX, size.height()
            box = QRectF(at.x() - width - _OFF_PX, at.y() - height - _OFF_PX, width, height)
            while any(box.intersects(other) for other in taken):
                box.translate(0.0, -height - 1.0)
            taken.append(box)
        return taken

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        """Paint the marks."""
        if not self.marks:
            return
        painter.setClipRect(self._frame.adjusted(RULER_PX, 0.0, 0.0, -RULER_PX))
        painter.setFont(self._font)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        paper = self._theme.colour("paper")
        for mark, box in zip(self.marks, self.boxes(), strict=True):
            colour = self._theme.colour(
                "short" if not mark.is_held else "quiet" if mark.is_driven else "accent"
            )
            at = self._to_pixels(mark.z, mark.r)
            painter.setPen(pen(colour, Qt.PenStyle.DotLine, 1.0))
            painter.drawLine(box.bottomRight(), at)
            painter.setPen(pen(colour))
            painter.setBrush(paper)
            painter.drawRoundedRect(box, 3.0, 3.0)
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, mark.words)


def marks_of(shown: Shown) -> list[Mark]:
    """Return the marks of what is edited."""
    edited = shown.edited
    outline = outline_of(shown.project, edited) if edited is not None else None
    if edited is None or outline is None or not (outline.parameters or outline.constraints):
        return []
    vertices = vertices_of(shown.project, edited)
    shift = offset_mm(shown.project, edited, shown.wheel)
    unit = unit_of(shown.project)

    def middle(numbers: Sequence[int]) -> tuple[float, float] | None:
        if not numbers or max(numbers) > len(vertices):
            return None
        chosen = [vertices[n - 1] for n in numbers]
        return sum(v.z for v in chosen) / len(chosen) + shift, sum(v.r for v in chosen) / len(chosen)

    found: list[Mark] = []
    for c, state in zip(outline.constraints, states(shown.project, outline), strict=True):
        ok = is_held(state)
        words = f"{'' if ok else '✗ '}{SIGNS[c.kind]} {_number(c, unit)}".strip()
        found += [Mark(*at, words, ok) for numbers in _places(c) if (at := middle(numbers)) is not None]
    for g in given(outline.parameters)[0]:
        at = middle(g.drive.vertices)
        if at is not None:
            what = {Driven.RADIUS: "R", Driven.WALL: tr("wall")}.get(g.drive.what, str(g.drive.what))
            found.append(Mark(*at, f"{what} = {g.by}", True, True))
    return found


def _places(c: Constraint) -> list[tuple[int, ...]]:
    """Return the vertices that each mark of a constraint stands at: at both walls that are equal."""
    if c.kind is Hold.EQUAL_WALL:
        half = len(c.vertices) // 2
        return [c.vertices[:half], c.vertices[half:]]
    if c.kind is Hold.ANGLE and len(c.vertices) == 3:
        return [c.vertices[1:2]]
    return [c.vertices]


def _number(c: Constraint, unit: LengthUnit) -> str:
    """Return the number that a mark shows, without its unit."""
    if c.value is None:
        return ""
    if c.kind is Hold.ANGLE:
        return minus(format_angle(c.value, 2))
    return minus(format_length(c.value, unit, with_unit=False))

"""The legend of the import's picture: one line of samples with their words, of what is there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum, auto

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPen

_SAMPLE_PX, _APART_PX = 20.0, 14.0


class SampleForm(Enum):
    """What a sample looks like."""

    AREA = auto()
    LINE = auto()
    DOTS = auto()
    CROSS = auto()
    RING = auto()


@dataclass(frozen=True)
class Sample:
    """One entry: its words and how it is drawn."""

    words: str
    form: SampleForm
    line: QPen
    fill: QBrush | None = None


def draw_legend(painter: QPainter, box: QRectF, samples: Sequence[Sample], ink: QColor) -> None:
    """Draw as many samples as the line has room for."""
    x = box.left()
    for sample in samples:
        width = painter.fontMetrics().horizontalAdvance(sample.words)
        if x + _SAMPLE_PX + 6.0 + width > box.right():
            return
        _draw_sample(painter, QRectF(x, box.center().y() - 4.5, _SAMPLE_PX, 9.0), sample)
        x += _SAMPLE_PX + 6.0
        painter.setPen(ink)
        text = QRectF(x, box.top(), width + 2.0, box.height())
        painter.drawText(text, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, sample.words)
        x += width + _APART_PX


def _draw_sample(painter: QPainter, box: QRectF, sample: Sample) -> None:
    middle = box.center()
    painter.setPen(sample.line)
    painter.setBrush(sample.fill or QBrush(Qt.BrushStyle.NoBrush))
    if sample.form is SampleForm.AREA:
        painter.drawRect(box)
    elif sample.form is SampleForm.LINE:
        painter.drawLine(QPointF(box.left(), middle.y()), QPointF(box.right(), middle.y()))
    elif sample.form is SampleForm.RING:
        painter.drawEllipse(middle, 4.5, 4.5)
    elif sample.form is SampleForm.CROSS:
        painter.drawLine(middle - QPointF(3, 3), middle + QPointF(3, 3))
        painter.drawLine(middle - QPointF(3, -3), middle + QPointF(3, -3))
    else:
        for k in (-6, 0, 6):
            painter.fillRect(QRectF(middle.x() + k - 1, middle.y() - 1, 2, 2), sample.line.color())

"""A canvas that keeps what is drawn on it, for tests of layout."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from app.reports import pdf
from app.reports.drawing import CAP_HEIGHT, Anchor, Contour, Pen, Point, Type

Box = tuple[float, float, float, float]


@dataclass
class Recorder:
    """Texts with their boxes (left, bottom, right, top in mm, baseline to capital height) and contours."""

    texts: list[tuple[Box, str]] = field(default_factory=list)
    contours: list[Contour] = field(default_factory=list)

    def path(self, contours: Sequence[Contour], pen: Pen | None, fill: str | None = None) -> None:
        """Keep the contours."""
        self.contours += contours

    def text(
        self, at: Point, words: str, style: Type, anchor: Anchor = Anchor.LEFT, turned: bool = False
    ) -> None:
        """Keep the words with their box, a fifth of the em below the baseline for what hangs down."""
        width, (x, y) = self.text_width(words, style), at
        back, low, high = anchor.value * width, 0.2 * style.size_mm, CAP_HEIGHT * style.size_mm
        box = (x - back, y - low, x - back + width, y + high)
        if turned:
            box = (x - high, y - back, x + low, y - back + width)
        self.texts.append((box, words))

    def text_width(self, words: str, style: Type) -> float:
        """Return the width in the shipped font, mm."""
        return pdf.text_width(words, style)

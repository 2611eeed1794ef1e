"""The drafting grid and the rulers at the canvas's edges.

The grid is two static paths with cosmetic pens, made anew only when the view leaves what they cover.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from pyqtgraph import ViewBox
from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainterPath

from app.units import LengthUnit
from app.views.canvas.items import Drawn, pen
from app.views.theme import Theme

_IN_MM = 25.4
#: A finer grid line is drawn from this many pixels of spacing on; below it would be a grey haze.
LEAST_PIXELS = 6.0


@dataclass(frozen=True)
class Steps:
    """Spacing of the coarse and fine lines, mm."""

    coarse: float
    fine: float


def steps(unit: LengthUnit) -> Steps:
    """Return the grid of a unit: 10 and 1 mm, or 1/2 and 1/20 inch."""
    return Steps(10.0, 1.0) if unit == "mm" else Steps(_IN_MM / 2.0, _IN_MM / 20.0)


class Grid:
    """Coarse and fine grid lines behind everything."""

    def __init__(self, box: ViewBox, theme: Theme) -> None:
        self._fine, self._coarse = Drawn(-21.0), Drawn(-20.0)
        self._theme = theme
        self._unit: LengthUnit = "mm"
        self._covered: dict[Drawn, tuple[QRectF, float]] = {}
        for item in (self._fine, self._coarse):
            box.addItem(item, ignoreBounds=True)
        self.dress()

    def dress(self) -> None:
        """Take the theme's colours."""
        self._fine.set_look(pen(self._theme.colour("grid_fine")), smooth=False)
        self._coarse.set_look(pen(self._theme.colour("grid")), smooth=False)

    def set_unit(self, unit: LengthUnit) -> None:
        """Draw the grid of another unit."""
        if unit != self._unit:
            self._unit = unit
            self._covered.clear()

    def follow(self, view: QRectF, mm_per_pixel: float) -> None:
        """Cover the view's rectangle; does nothing while it stays within what is covered."""
        spacing = steps(self._unit)
        for item, step in ((self._coarse, spacing.coarse), (self._fine, spacing.fine)):
            wanted = step if step >= LEAST_PIXELS * mm_per_pixel else 0.0
            covered, drawn = self._covered.get(item, (QRectF(), -1.0))
            if drawn == wanted and (wanted == 0.0 or covered.contains(view)):
                continue
            grown = view.adjusted(-view.width(), -view.height(), view.width(), view.height())
            item.set_path(_lines(grown, wanted))
            self._covered[item] = (grown, wanted)


def _lines(area: QRectF, step: float) -> QPainterPath:
    path = QPainterPath()
    if step <= 0.0:
        return path
    low, high = area.left(), area.right()
    bottom, top = max(area.top(), 0.0), area.bottom()
    if top <= bottom:
        return path
    for z in step * np.arange(math.ceil(low / step), math.floor(high / step) + 1):
        path.moveTo(float(z), bottom)
        path.lineTo(float(z), top)
    for r in step * np.arange(math.ceil(bottom / step), math.floor(top / step) + 1):
        path.moveTo(low, float(r))
        path.lineTo(high, float(r))
    return path


def ticks(low: float, high: float, mm_per_pixel: float, unit: LengthUnit) -> list[tuple[float, str]]:
    """Return (place in mm, text) of ruler marks at least 60 pixels apart."""
    scale = _IN_MM if unit == "in" else 1.0
    wanted = 60.0 * mm_per_pixel / scale
    power = 10.0 ** math.floor(math.log10(wanted)) if wanted > 0.0 else 1.0
    step = next(power * k for k in (1.0, 2.0, 5.0, 10.0) if power * k >= wanted)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    first, last = math.ceil(low / scale / step), math.floor(high / scale / step)
    return [(k * step * scale, _text(k * step, decimals)) for k in range(first, last + 1)]


def _text(value: float, decimals: int) -> str:
    return f"{value:.{decimals}f}".replace("-", "−") if value else "0"

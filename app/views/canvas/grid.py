"""The drafting grid and the rulers at the canvas's edges.

The grid is two static paths with cosmetic pens, made anew only when the view leaves what they cover.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainterPath

from app.units import LengthUnit
from app.views.canvas.items import pen, segments
from app.views.canvas.layers import Layer
from app.views.theme import Theme
from geometry.shape.curve import Array

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

    def __init__(self, theme: Theme) -> None:
        self._fine, self._coarse = Layer(), Layer()
        self.layers = (self._fine, self._coarse)
        self._theme = theme
        self._unit: LengthUnit = "mm"
        self._covered: dict[Layer, tuple[QRectF, float]] = {}
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
    low, high = area.left(), area.right()
    bottom, top = max(area.top(), 0.0), area.bottom()
    if step <= 0.0 or top <= bottom:
        return QPainterPath()
    return segments(
        np.concatenate([across(low, high, step, bottom, top), along(bottom, top, step, low, high)])
    )


def across(low: float, high: float, step: float, bottom: float, top: float) -> Array:
    """Return (m, 2, 2) ends of upright lines at multiples of a step from low to high."""
    x = step * np.arange(math.ceil(low / step), math.floor(high / step) + 1)
    return np.stack([np.stack([x, np.full_like(x, y)], axis=1) for y in (bottom, top)], axis=1)


def along(bottom: float, top: float, step: float, low: float, high: float) -> Array:
    """Return (m, 2, 2) ends of level lines at multiples of a step from bottom to top."""
    return across(bottom, top, step, low, high)[:, :, ::-1]


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

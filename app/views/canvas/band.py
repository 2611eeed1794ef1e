"""The wall band: wall thickness as a colour along the skin, thin dark and thick pale on light paper.

The colours run on a straight line of lightness in CIE L*a*b* (CIE 15:2004, D65), so that equal steps of wall
look equally far apart and the order survives a grey print.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath

from app.views.canvas.items import paths_of
from app.views.canvas.layers import NO_PEN
from geometry.readings.bands import levels, strips
from geometry.readings.profile import walls_along
from geometry.shape.curve import Array
from geometry.shape.section import Outline

#: The scale runs between these walls. Thinner ones have the first colour; thicker ones are no matter of
#: concern and have no band, so that the thin places stand out.
THIN_MM, THICK_MM = 2.0, 14.0
COLOURS = 16
#: Width of the band in logical pixels.
WIDTH_PX = 5.0


def ramp(count: int, dark: bool) -> NDArray[np.uint8]:
    """Return (count, 3) sRGB colours, thin first; even steps of CIE lightness, hue from blue to ochre."""
    t = np.linspace(0.0, 1.0, count)
    lightness = 32.0 + 54.0 * t if not dark else 92.0 - 54.0 * t
    hue = np.radians(285.0 - 205.0 * t)
    chroma = 42.0 - 6.0 * t
    lab = np.column_stack([lightness, chroma * np.cos(hue), chroma * np.sin(hue)])
    return np.round(255.0 * _srgb(lab)).astype(np.uint8)


def _srgb(lab: Array) -> Array:
    """Return sRGB (IEC 61966-2-1) of L*a*b* colours under D65, clipped to 0 to 1."""
    y = (lab[:, 0] + 16.0) / 116.0
    f = np.column_stack([y + lab[:, 1] / 500.0, y, y - lab[:, 2] / 200.0])
    xyz = np.where(f > 6.0 / 29.0, f**3, 3.0 * (6.0 / 29.0) ** 2 * (f - 4.0 / 29.0)) * (0.95047, 1.0, 1.08883)
    matrix = np.array(
        [
            [3.2404542, -1.5371385, -0.4985314],
            [-0.969266, 1.8760108, 0.041556],
            [0.0556434, -0.2040259, 1.0572252],
        ]
    )
    linear = np.clip(xyz @ matrix.T, 0.0, 1.0)
    srgb: Array = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1.0 / 2.4) - 0.055)
    return srgb


class Band:
    """Coloured strips along the inside of the skin wherever there is a wall reading below the scale's end."""

    def __init__(self) -> None:
        self._brushes: list[QBrush] = []
        self._paths: list[tuple[int, QPainterPath]] = []
        self.set_dark(False)

    def set_dark(self, dark: bool) -> None:
        """Take the colours of the light or dark theme."""
        self._brushes = [QBrush(QColor(*c)) for c in ramp(COLOURS, dark).tolist()]

    def set_outline(self, outline: Outline | None, mm_per_pixel: float) -> None:
        """Show the walls of an outline, WIDTH_PX wide; nothing without one."""
        self._paths = []
        if outline is None:
            return
        walls = walls_along(outline)
        level = levels(walls.wall_mm, THIN_MM, THICK_MM, COLOURS)
        corners, begins, ends = strips(outline, walls.piece, level, COLOURS, WIDTH_PX * mm_per_pixel)
        paths = paths_of(corners, begins, ends.tolist())
        self._paths = [(k, path) for k, path in enumerate(paths) if path is not None]

    def paint(self, painter: QPainter, device_scale: float) -> None:
        """Draw the strips, one path for each colour."""
        painter.setPen(NO_PEN)
        for k, path in self._paths:
            painter.setBrush(self._brushes[k])
            painter.drawPath(path)

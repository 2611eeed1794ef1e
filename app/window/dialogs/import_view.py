"""Where the half-plane lies in the import's picture: equal scales, r up, outboard right."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from PySide6.QtCore import QPointF, QRectF

from geometry.shape.curve import Array

#: Room about what is fitted, as a part of the plot's size.
_MARGIN = 0.05
#: Pixels to a mm: a whole car on the screen, and a micrometre that can be seen.
_LEAST, _MOST = 0.01, 1000.0


@dataclass(frozen=True)
class View:
    """The plot's rectangle in pixels, the place in its middle, and pixels to a mm."""

    plot: QRectF
    z: float = 0.0
    r: float = 0.0
    scale: float = 1.0

    def pixels(self, places: Array) -> Array:
        """Return (m, 2) pixels of (m, 2) places."""
        middle = self.plot.center()
        return np.column_stack(
            [
                middle.x() + (places[:, 0] - self.z) * self.scale,
                middle.y() - (places[:, 1] - self.r) * self.scale,
            ]
        )

    def pixel(self, z: float, r: float) -> QPointF:
        """Return the pixel of a place."""
        middle = self.plot.center()
        return QPointF(middle.x() + (z - self.z) * self.scale, middle.y() - (r - self.r) * self.scale)

    def place(self, pixel: QPointF) -> tuple[float, float]:
        """Return the place (z, r) at a pixel."""
        off = pixel - self.plot.center()
        return self.z + off.x() / self.scale, self.r - off.y() / self.scale

    def zoomed(self, factor: float, about: QPointF) -> View:
        """Return the view enlarged about a pixel, which keeps its place."""
        scale = min(max(self.scale * factor, _LEAST), _MOST)
        z, r = self.place(about)
        off = about - self.plot.center()
        return replace(self, z=z - off.x() / scale, r=r + off.y() / scale, scale=scale)

    def panned(self, by: QPointF) -> View:
        """Return the view with the sheet moved by so many pixels."""
        return replace(self, z=self.z - by.x() / self.scale, r=self.r + by.y() / self.scale)

    def fitted(self, box: tuple[float, float, float, float]) -> View:
        """Return the view that shows z low, z high, r low, r high."""
        z0, z1, r0, r1 = box
        room = 1.0 - 2.0 * _MARGIN
        scale = min(
            room * self.plot.width() / max(z1 - z0, 1e-6), room * self.plot.height() / max(r1 - r0, 1e-6)
        )
        return replace(self, z=(z0 + z1) / 2.0, r=(r0 + r1) / 2.0, scale=min(max(scale, _LEAST), _MOST))

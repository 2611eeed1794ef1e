"""A picture on a sheet: decoded pixels as an image, laid level, zoomed and moved."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QImage, QPainter, QTransform

from app.files.readers.read_picture import Picture
from app.window.dialogs.import_view import View
from geometry.shape.curve import Array
from geometry.shape.tracing import Lie, Pixel

#: Enlarged beyond this, the picture's own pixels are shown as they are.
_BARE_PIXELS = 3.0
#: Halved pictures kept for drawing it small.
_HALVINGS = 4


class Image:
    """A picture as an image, and smaller ones to draw it small without flicker."""

    def __init__(self, picture: Picture) -> None:
        head = picture.head
        kind = QImage.Format.Format_Grayscale8 if head.channels == 1 else QImage.Format.Format_RGB888
        bare = QImage(picture.pixels, head.width, head.height, head.width * head.channels, kind)
        # The copy owns its pixels, in the format that is drawn fastest.
        self.whole = bare.convertToFormat(QImage.Format.Format_RGB32)
        self.width, self.height = head.width, head.height
        self._smaller = [self.whole]

    def of_scale(self, scale: float) -> QImage:
        """Return the smallest image that still has a pixel for each on the screen."""
        wanted = 0
        while wanted < _HALVINGS and scale * 2.0 ** (wanted + 1) <= 1.0:
            wanted += 1
        while len(self._smaller) <= wanted:
            last = self._smaller[-1]
            self._smaller.append(
                last.scaled(
                    max(1, last.width() // 2),
                    max(1, last.height() // 2),
                    Qt.AspectRatioMode.IgnoreAspectRatio,
                    Qt.TransformationMode.SmoothTransformation,
                )
            )
        return self._smaller[wanted]


@dataclass(frozen=True)
class TraceView:
    """Where each pixel of a picture is on the screen.

    Attributes:
        lie: the picture is shown as it lies: level, + outboard to the right, away from the axle up.
        view: of level places, in screen pixels to a pixel of the picture.
        width, height: of the picture.
    """

    lie: Lie
    view: View
    width: int
    height: int

    @cached_property
    def transform(self) -> QTransform:
        """What takes the picture's pixels to the screen's."""
        (a, b), (c, d) = (self.lie.matrix * self.view.scale).tolist()
        zero = self.view.pixel(0.0, 0.0)
        return QTransform(a, -c, b, -d, zero.x(), zero.y())

    def shown(self, pixels: Array) -> Array:
        """Return (m, 2) places on the screen of (m, 2) pixels."""
        return self.view.pixels(np.asarray(pixels, dtype=float).reshape(-1, 2) @ self.lie.matrix.T)

    def point(self, pixel: Pixel) -> QPointF:
        """Return the place on the screen of a pixel."""
        return self.transform.map(QPointF(*pixel))

    def pixel(self, at: QPointF) -> Pixel:
        """Return the pixel at a place on the screen."""
        u, v = self.view.place(at)
        x, y = (np.array([u, v]) @ self.lie.matrix).tolist()
        return x, y

    def holds(self, pixel: Pixel) -> bool:
        """Return True for a pixel of the picture."""
        return 0.0 <= pixel[0] <= self.width and 0.0 <= pixel[1] <= self.height

    def fitted(self) -> TraceView:
        """Return the view that shows the whole picture."""
        corners = np.array(
            [(0.0, 0.0), (self.width, 0.0), (self.width, self.height), (0.0, self.height)], dtype=float
        )
        level = corners @ self.lie.matrix.T
        (u0, v0), (u1, v1) = level.min(axis=0).tolist(), level.max(axis=0).tolist()
        return replace(self, view=self.view.fitted((u0, u1, v0, v1)))

    def draw(self, painter: QPainter, image: Image, dots: float = 1.0) -> None:
        """Draw the picture; `dots` are the device's pixels to one of the screen's."""
        fine = image.of_scale(self.view.scale * dots)
        painter.save()
        painter.setTransform(self.transform, combine=True)
        smooth = self.view.scale * dots < _BARE_PIXELS
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform, smooth)
        painter.drawImage(QRectF(0.0, 0.0, self.width, self.height), fine)
        painter.restore()

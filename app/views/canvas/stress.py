"""Stress over the shown section: filled by level, with its scale, its words and the greatest place.

Colours are those of the printed pictures: equal steps of lightness, so that a grey print keeps their order.
On dark paper their order is turned round, so that the greatest stress stands out there too.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QPoint, QPointF, QRect, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPixmap, QTransform

from app.language import tr
from app.views.canvas.content import Legend, Mark, Ring, Tag
from app.views.canvas.items import chains
from app.views.readings_text import minus
from app.views.theme import Theme
from geometry.shape.curve import Array

if TYPE_CHECKING:
    from app.session.stress import LiveStress

#: While a newer section is worked out, the picture of the last one is so opaque.
_PALE = 0.45


@lru_cache(maxsize=2)
def scale_colours(dark: bool) -> tuple[QColor, ...]:
    """Return the colours from least to greatest stress."""
    from app.reports.strength_bands import SCALE  # on first use: it loads the study's libraries

    return tuple(QColor(c) for c in (reversed(SCALE) if dark else SCALE))


def area_within(loops: Sequence[Array]) -> QPainterPath:
    """Return the area within borders, (m, 2) places each, to be filled even-odd."""
    return chains(np.concatenate([loop, loop[:1]]) for loop in loops)


class StressPicture:
    """Paints the newest stress; the picture is kept until stress, view or theme change.

    A picture that is older than the section when it comes lasts a few frames and is pale: its edges are not
    smoothed, which would take two thirds of its time.
    """

    def __init__(self, theme: Theme) -> None:
        self._theme = theme
        self.live: LiveStress | None = None
        self._paths: list[QPainterPath] = []
        self._silent = QPainterPath()
        self._kept: tuple[QPixmap, QPoint] | None = None
        self._kept_for: tuple[object, ...] = ()
        self._smooth = False

    def set_live(self, live: LiveStress | None) -> None:
        """Show another stress, or none."""
        before, self.live = self.live, live
        step = live.step if live is not None else None
        if step is not None and before is not None and before.step is step:
            return
        self._paths = [area_within(loops) for loops in step.above] if step is not None else []
        self._silent = area_within(step.silent_metal) if step is not None else QPainterPath()
        self._kept = None

    def paint(self, painter: QPainter, device_scale: float) -> None:
        """Fill the section by level; pale while that is of an older section."""
        if self.live is None or self.live.step is None:
            return
        at = QTransform.fromTranslate(self.live.shift_mm, 0.0) * painter.worldTransform()
        device = painter.device()
        key = (at, device.width(), device.height(), device_scale, self._theme.colours)
        now = self.live.is_current
        if self._kept is None or self._kept_for != key or (now and not self._smooth):
            self._smooth, self._kept_for = now, key
            self._kept = self._made(at, device.width(), device.height(), device_scale)
        painter.save()
        painter.resetTransform()
        painter.setOpacity(1.0 if self.live.is_current else _PALE)
        picture, corner = self._kept
        painter.drawPixmap(QPointF(corner) / device_scale, picture)
        painter.restore()

    def _made(self, at: QTransform, width: int, height: int, device_scale: float) -> tuple[QPixmap, QPoint]:
        """Return the picture, no larger than the metal that is seen, and its corner in device pixels."""
        at = at * QTransform.fromScale(device_scale, device_scale)
        seen = QRect(0, 0, round(width * device_scale), round(height * device_scale))
        metal = self._paths[0].boundingRect() | self._silent.boundingRect()
        box = at.mapRect(metal).toAlignedRect().adjusted(-1, -1, 1, 1).intersected(seen)
        picture = QPixmap(box.size())
        picture.fill(Qt.GlobalColor.transparent)
        if box.isEmpty():
            return picture, box.topLeft()
        painter = QPainter(picture)
        painter.setTransform(at * QTransform.fromTranslate(-box.left(), -box.top()))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, self._smooth)
        # What lies above a level covers what lies above the one before.
        for colour, path in zip(scale_colours(self._theme.dark), self._paths, strict=True):
            painter.setBrush(colour)
            painter.drawPath(path)
        # Metal that the test does not exercise has no colour of the scale: a low stress there shows nothing.
        painter.setBrush(self._theme.colour("panel"))
        painter.drawPath(self._silent)
        painter.end()
        picture.setDevicePixelRatio(device_scale)
        return picture, box.topLeft()

    # Words

    def legend(self) -> Legend:
        """Return the scale; empty while there is no stress."""
        step = self.live.step if self.live is not None else None
        if step is None:
            return Legend()
        share = step.top_mpa / step.yield_mpa
        end = tr("yield") if math.isclose(share, 1.0) else tr("{share:g} of yield", share=share)
        return Legend(
            scale_colours(self._theme.dark),
            tr("stress 0"),
            tr("{top_mpa:.0f} MPa, {end}", top_mpa=step.top_mpa, end=end),
        )

    def words(self) -> list[str]:
        """Return what the picture shows, and how it stands; several lines."""
        live = self.live
        if live is None:
            return []
        if live.trouble:
            return [minus(live.trouble)]
        if live.step is None:
            return [tr("{load}: preview", load=live.load), tr("updating")]
        step = live.step
        series = (
            tr("1 harmonic")
            if step.harmonics == 1
            else tr("{harmonics} harmonics summed", harmonics=step.harmonics)
        )
        spokes = tr("; spokes smeared") if step.smeared else ""
        silent = tr("; no colour: not exercised") if step.silent else ""
        lines = [
            tr("{load}: preview", load=live.load),
            tr("one coarse mesh; {series}{spokes}{silent}", series=series, spokes=spokes, silent=silent),
        ]
        if not live.is_current:
            return [*lines, tr("updating")]
        most = tr(
            "greatest {greatest_mpa:.0f} MPa at the {zone}", greatest_mpa=step.greatest_mpa, zone=step.zone
        )
        use = tr("{most}: {use:.2f} of yield, may read low, life not judged", most=most, use=step.use)
        if live.short:
            lines.append(tr("not judged whole: {short}", short="; ".join(live.short)))
        if live.reference is not None:
            name, other = live.reference
            use += tr("; {other:.2f} in the reference {name}", other=other, name=name)
        return [*lines, use]

    def marks(self) -> list[Mark]:
        """Return the greatest place with its number; none while a newer section is worked out."""
        live = self.live
        if live is None or live.step is None or not live.is_current:
            return []
        z, r = live.step.at
        place, ink = (z + live.shift_mm, r), self._theme.colour("ink")
        return [Ring(place, 6.0, ink), Tag(place, f"{live.step.greatest_mpa:.0f} MPa", ink)]

"""Other versions on the drawing: compared wheels, the last saved state, and what metal differs.

Each compared version has a dash of its own and its name where it differs most. Metal added is hatched rising
to the right, metal taken away falling and closer, so that both are told apart in grey.
"""

from __future__ import annotations

import contextlib
import math

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import QPainterPath, QPen

from app.language import tr
from app.project.wheel import Wheel
from app.session.shown import Shown
from app.views.canvas.content import Mark, Words
from app.views.canvas.items import painter_path, pen, polyline, segments
from app.views.canvas.layers import Layer
from app.views.canvas.still_words import Changes
from app.views.theme import Theme
from geometry.errors import GeometryError
from geometry.readings.metal_change import MetalChange, metal_change
from geometry.shape.curve import Array
from geometry.shape.distance import nearest_of
from geometry.shape.hatch import hatch
from geometry.shape.section import Outline, build

#: Dash and gap in widths of the pen, one pattern after the other.
_DASHES = ([6.0, 3.0], [12.0, 4.0], [9.0, 3.0, 2.0, 3.0], [4.0, 6.0])
#: Names stand where a version differs by more than this, mm; else where it stands highest.
_DIFFERS_MM = 0.05
#: Lines of metal added stand about this far apart on the screen, and never closer than that in the drawing.
_HATCH_PX, _LEAST_MM = 5.0, 0.25
#: Hatch of metal taken away, as a share of that of metal added.
_CLOSER = 0.5


class VersionLayers:
    """Draws other versions of the shown wheel.

    Attributes:
        layers: the lowest first, to be painted over the wheel.
    """

    def __init__(self, theme: Theme) -> None:
        self._theme = theme
        self._saved_on = self._difference_on = False
        self._outlines: dict[int, tuple[Wheel, Outline | None]] = {}
        self._drawn: tuple[object, ...] = ()
        self._saved_drawn: Outline | None = None
        self._pair: tuple[Outline | None, Outline | None] = (None, None)
        self._change: MetalChange | None = None
        self._against = ""
        self._spacing = 0.0
        self._shown: Shown | None = None
        self._named: list[Mark] = []
        self._changes = Changes()
        self._compared = tuple(Layer() for _ in _DASHES)
        self._saved, self._edge, self._added, self._taken = (Layer() for _ in range(4))
        self.layers = (self._taken, self._added, self._edge, *self._compared, self._saved)

    @property
    def paths(self) -> list[QPainterPath]:
        """What the view is fitted to, besides the wheel."""
        return [layer.path() for layer in self._compared]

    def set_saved(self, on: bool) -> None:
        """Show or hide the line of the last saved state."""
        self._saved_on = on
        self._again()

    def set_difference(self, on: bool) -> None:
        """Shade what differs, or nothing."""
        self._difference_on = on
        self._again()

    def dress(self) -> None:
        """Take the colours in force."""
        quiet, ink = self._theme.colour("quiet"), self._theme.colour("ink")
        for layer, dashes in zip(self._compared, _DASHES, strict=True):
            line = QPen(pen(quiet))
            line.setDashPattern(dashes)
            layer.set_look(line)
        self._saved.set_look(pen(ink, Qt.PenStyle.DotLine))
        self._edge.set_look(pen(ink, width=0.7))
        self._added.set_look(pen(ink, width=0.9))
        self._taken.set_look(pen(ink, width=0.7))

    def show_state(self, shown: Shown) -> None:
        """Draw another state; while a gesture is under way nothing is shaded."""
        self._shown = shown
        saved = shown.saved_wheel if self._saved_on else None
        parts = _parts(shown, saved)
        if shown.dragging and self._changes.stands("versions", *parts):
            return  # it is the shown wheel alone that moves
        self._draw_compared(shown)
        outline = self._outline(saved) if saved is not None and saved is not shown.wheel else None
        if outline is not self._saved_drawn:
            self._saved_drawn = outline
            self._saved.set_path(QPainterPath() if outline is None else painter_path(outline.path))
        self._differ(shown)
        self._changes.drawn("versions", *parts)

    def follow(self, mm_per_pixel: float) -> None:
        """Hatch for another zoom."""
        spacing_mm = max(_LEAST_MM, 2.0 ** round(math.log2(max(_HATCH_PX * mm_per_pixel, 1e-6))))
        if spacing_mm != self._spacing:
            self._spacing = spacing_mm
            self._hatch()

    def marks(self) -> list[Mark]:
        """Return the names of compared versions at their places."""
        return self._named

    def words(self) -> list[str]:
        """Return what the lines and hatches mean."""
        found = []
        if self._saved_drawn is not None:
            found.append(tr("Dotted: as last saved."))
        elif self._saved_on and self._shown is not None and self._shown.saved_wheel is None:
            found.append(tr("No saved state of this wheel is known: there is no line of it."))
        if self._difference_on and self._shown is not None and not self._shown.dragging:
            if not self._against:
                found.append(
                    tr("Nothing to shade against: compare a version (M in the parts), or save first.")
                )
            elif self._change is None:
                found.append(
                    tr(
                        "Metal against {against}: not known, one of the outlines has a fault.",
                        against=self._against,
                    )
                )
            else:
                found.append(
                    tr(
                        "Against {against}: metal added ///, taken away \\\\\\ (closer).",
                        against=self._against,
                    )
                )
        return found

    def _again(self) -> None:
        self._changes = Changes()
        if self._shown is not None:
            self.show_state(self._shown)

    def _outline(self, wheel: Wheel) -> Outline | None:
        """Return a wheel's outline in the hub's frame, kept while the wheel is the same."""
        kept = self._outlines.get(id(wheel))
        if kept is None or kept[0] is not wheel:
            if len(self._outlines) > 64:
                self._outlines.clear()
            built = None
            with contextlib.suppress(GeometryError):
                made = build(wheel.section)
                built = made.moved(wheel.spacer_mm) if isinstance(made, Outline) else None
            kept = self._outlines[id(wheel)] = (wheel, built)
        return kept[1]

    def _others(self, shown: Shown) -> list[Wheel]:
        own = shown.wheel.name if shown.wheel is not None else None
        found = {w.name: w for w in shown.project.wheels if w.name in shown.compared and w.name != own}
        return [found[name] for name in shown.compared if name in found]

    def _draw_compared(self, shown: Shown) -> None:
        others = self._others(shown)
        base = None if shown.dragging else shown.outline
        drawn = (*others, base)
        if len(drawn) == len(self._drawn) and all(a is b for a, b in zip(drawn, self._drawn, strict=True)):
            return
        if shown.dragging and drawn[:-1] == self._drawn[:-1]:
            return  # names stay where they are until the gesture ends
        self._drawn = drawn
        paths = [QPainterPath() for _ in _DASHES]
        self._named = []
        for k, other in enumerate(others):
            outline = self._outline(other)
            if outline is None:
                continue
            paths[k % len(paths)].addPath(painter_path(outline.path))
            self._named.append(Words(_unlike(outline, base), other.name, (6.0, -6.0), 1, "quiet"))
        for layer, path in zip(self._compared, paths, strict=True):
            layer.set_path(path)

    def _differ(self, shown: Shown) -> None:
        """Find what differs from the wheel compared last, or else from the last saved state."""
        others = self._others(shown)
        other = others[-1] if others else shown.saved_wheel
        self._against = "" if other is None else (other.name if others else tr("the last saved state"))
        is_on = self._difference_on and not shown.dragging and other is not None
        outline = self._outline(other) if is_on and other is not None else None
        pair = (outline, shown.outline if outline is not None else None)
        if pair[0] is self._pair[0] and pair[1] is self._pair[1]:
            return
        self._pair, self._change = pair, None
        if pair[0] is not None and pair[1] is not None:
            with contextlib.suppress(GeometryError):  # then no metal is hatched; the table says why
                self._change = metal_change(pair[0], pair[1], 1.0)
        self._hatch()

    def _hatch(self) -> None:
        change, edge = self._change, QPainterPath()
        rings: tuple[tuple[Array, ...], ...] = ((), ()) if change is None else (change.added, change.taken)
        for layer, of, rising, share in zip(
            (self._added, self._taken), rings, (True, False), (1.0, _CLOSER), strict=True
        ):
            lines = QPainterPath()
            for ring in of:
                edge.addPath(polyline(ring, closed=True))
                if self._spacing > 0.0:
                    lines.addPath(segments(hatch(ring, self._spacing * share, rising)))
            layer.set_path(lines)
        self._edge.set_path(edge)


def _parts(shown: Shown, saved: Wheel | None) -> tuple[object, ...]:
    """Return all that other versions hang on while a gesture is under way; `saved` is the shown wheel's."""
    own = shown.wheel
    name = own.name if own is not None else None
    others = [wheel for wheel in shown.project.wheels if wheel is not own]
    return (shown.dragging, shown.compared, name, saved, saved is own, *others)


def _unlike(outline: Outline, base: Outline | None) -> tuple[float, float]:
    """Return the corner of an outline that lies farthest from another one, else its highest."""
    points = outline.path.points[outline.skin]
    at = int(np.argmax(points[:, 1]))
    if base is not None:
        away, _, _ = nearest_of(base.path, np.arange(len(base.path)), points)
        at = int(np.argmax(away)) if away.max() > _DIFFERS_MM else at
    return float(points[at, 0]), float(points[at, 1])

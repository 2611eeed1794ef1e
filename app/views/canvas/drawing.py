"""The layers of the drawing: what of a state lies where, in which line.

Every layer is drawn anew only when what it shows has changed: values are immutable, so identity tells.
"""

from __future__ import annotations

import contextlib
import math
from dataclasses import replace
from operator import attrgetter
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainterPath

from app.project.tyres import TyreError
from app.project.wheel import Wheel
from app.reports.numbers import unit_of
from app.session.edited import Edited, Kind, offset_mm
from app.session.shown import Shown
from app.studies.tyre import tyre_ring
from app.views.canvas import marks
from app.views.canvas.band import Band
from app.views.canvas.content import Content, Mark, Ring
from app.views.canvas.drawn import blank_of, chain_path, inner_line, path_of_corners, shapes_of, still_parts
from app.views.canvas.items import (
    bounds_of,
    grown,
    painter_path,
    pen,
    polyline,
    segments,
)
from app.views.canvas.layers import Layer, Paintable, Picture, Still
from app.views.canvas.overlays import Overlay
from app.views.canvas.still_words import Changes, StillWords
from app.views.canvas.stress import StressPicture
from app.views.canvas.versions import VersionLayers
from app.views.theme import Theme
from geometry.errors import GeometryError
from geometry.shape.curve import Array, Path
from geometry.shape.hatch import hatch
from geometry.shape.section import Outline

if TYPE_CHECKING:
    from app.session.stress import LiveStress

Place = tuple[float, float]

_SHAPES_TYRE = attrgetter("tyre", "tyre_growth_percent", "size", "inset_mm", "spacer_mm")

#: Hatch lines stand about this far apart on the screen, and never closer than 1 mm in the drawing.
_HATCH_PX = 13.0

#: A chord of the wheel's arcs lies no further off them than this on the screen.
_CHORD_PX = 0.05

#: Layers, from the lowest up: those under the wheel, and the wheel with all that lies over it.
_GROUND = ("tyre", "blank hatch", "blank edge", "blank skin", "shape fill", "shape hatch", "others")
_UNDER_BAND = ("wheel fill",)
_OVER_BAND = ("missing", "missing hatch", "wheel edge", "wheel chain", "shape edge")
#: Over these, with other versions of the wheel: what it was before a drag.
_STILL = ("ghost",)
_UPPERMOST = ("required",)

#: What a magnifier shows: outlines, without hatches.
_ENLARGED = (
    "blank edge",
    "blank skin",
    "shape fill",
    "wheel fill",
    "wheel edge",
    "wheel chain",
    "shape edge",
    "ghost",
    "required",
)


class Drawing:
    """Draws states into the layers of a view, and their words into its overlay.

    Attributes:
        ground: the layers under the wheel, the lowest first.
        picture: the wheel and all layers over it.
        enlarged: what a magnifier shows, the lowest first.
    """

    def __init__(self, overlay: Overlay, theme: Theme) -> None:
        self._theme = theme
        self._overlay = overlay
        self._shown: Shown | None = None
        self._mm_per_pixel = 1.0
        self._changes, self._words = Changes(), StillWords(theme)
        self._looked_at: Place | None = None
        self._base: Outline | None = None
        self._wheel_polygon: Array | None = None
        self._blank_polygon: Array | None = None
        self._missing_polygons: list[Array] = []
        self._unknown_polygons: list[Array] = []
        self._content = Content()
        self._still: tuple[Mark, ...] = ()
        self._tightest: list[Mark] = []
        self._band_shown = True
        self._layers = {name: Layer() for name in (*_GROUND, *_UNDER_BAND, *_OVER_BAND, *_STILL, *_UPPERMOST)}
        self._band = Band()
        self.stress = StressPicture(theme)
        self.versions = VersionLayers(theme)
        self.ground = tuple(self._layers[name] for name in _GROUND)
        under, over, still, top = (
            [self._layers[name] for name in names] for names in (_UNDER_BAND, _OVER_BAND, _STILL, _UPPERMOST)
        )
        still += self.versions.layers
        live: list[Paintable] = [*under, self.stress, self._band, *over, Still(still), *top]
        self.picture = Picture(live, 0.0)
        self.enlarged = tuple(self._layers[name] for name in _ENLARGED)

    def show_state(self, shown: Shown, mm_per_pixel: float) -> None:
        """Draw another state."""
        self._shown, self._mm_per_pixel = shown, mm_per_pixel
        if not shown.dragging:
            self._base = shown.outline
        still = still_parts(shown)
        if not self._changes.stands("still parts", *still):
            self._draw_tyre(shown.wheel)
            self._draw_blank(shown)
            self._draw_shapes(shown)
            self._draw_required(shown)
            self._draw_others(shown)
            self._changes.drawn("still parts", *still)
        self.versions.show_state(shown)
        self._draw_sized(shown)
        self.picture.update()
        self._say()

    def follow(self, mm_per_pixel: float) -> None:
        """Draw anew what has a size in pixels."""
        self._mm_per_pixel = mm_per_pixel
        if self._shown is not None:
            self._draw_sized(self._shown)

    def bounds(self) -> QRectF:
        """Return the box round everything that is drawn; empty when there is nothing."""
        names = ("blank edge", "shape edge", "wheel edge", "wheel chain", "others")
        return bounds_of([*(self._layers[name].path() for name in names), *self.versions.paths])

    def look_at(self, place: Place | None) -> None:
        """Put a ring round a place, or round none."""
        self._looked_at = place
        self._say()

    def set_band(self, shown: bool) -> None:
        """Show or hide the wall band."""
        self._band_shown = shown
        if self._shown is not None:
            self._draw_sized(self._shown)
            self.picture.update()
            self._say()

    def set_saved(self, on: bool) -> None:
        """Show or hide the line of the last saved state."""
        self.versions.set_saved(on)
        self.picture.update()
        self._say()

    def set_difference(self, on: bool) -> None:
        """Shade what metal differs from the compared version, else from the last saved state."""
        self.versions.set_difference(on)
        self.picture.update()
        self._say()

    def set_stress(self, live: LiveStress | None) -> None:
        """Show the stress of the section in place of the wall band, or the band again."""
        had = self.stress.live is not None
        self.stress.set_live(live)
        if self._shown is not None and had != (live is not None):
            self._draw_sized(self._shown)
        if live is not None and live.dragging and not live.is_current and live.step is not None:
            # The newer section that makes it an older one is painted anyway, or is on its way: no frame more.
            self._set_content()
            return
        self.picture.update()
        self._say_stress()

    def dress(self) -> None:
        """Take the colours in force."""
        c = self._theme.colour
        self._band.set_dark(self._theme.dark)
        dotted, dashed = Qt.PenStyle.DotLine, Qt.PenStyle.DashLine
        looks = {
            "tyre": (pen(c("quiet"), dashed), None),
            "shape fill": (None, c("shape")),
            "shape hatch": (pen(c("shape_edge"), width=0.6), None),
            "shape edge": (pen(c("shape_edge")), None),
            "blank hatch": (pen(c("blank"), width=0.5), None),
            "blank edge": (pen(c("blank")), None),
            "blank skin": (pen(c("blank"), dashed), None),
            "others": (pen(c("quiet"), dotted), None),
            "wheel fill": (None, c("wheel")),
            "missing": (pen(c("short")), c("paper")),
            "missing hatch": (pen(c("short"), width=0.8), None),
            "wheel edge": (pen(c("ink")), None),
            "wheel chain": (pen(c("short"), dashed), None),
            "ghost": (pen(c("quiet"), dotted), None),
            "required": (pen(c("shape_edge"), Qt.PenStyle.DashDotLine), None),
        }
        self.versions.dress()
        for name, (outline, fill) in looks.items():
            # The smoothed edge lies over the steps of the wheel's fill, which takes a third of the time so.
            self._layers[name].set_look(outline, fill, smooth=name != "wheel fill")
        self.picture.update()
        self._say()

    def _draw_tyre(self, wheel: Wheel | None) -> None:
        """Draw the ring that the gaps of the tyre are read to; the view is fitted without it."""
        shows = wheel is not None and wheel.visible
        if not self._changes.changed("tyre", shows, *(_SHAPES_TYRE(wheel) if wheel is not None else ())):
            return
        self._words.tyre, lines = [], QPainterPath()
        if wheel is not None and wheel.visible:
            with contextlib.suppress(TyreError, GeometryError):
                ring = tyre_ring(wheel)
                lines = painter_path(ring)
                low, high, foot, _ = ring.bounds
                self._words.tyre = [marks.tyre_words(wheel.tyre, ((low + high) / 2.0, foot))]
        self._layers["tyre"].set_path(lines)

    def _draw_blank(self, shown: Shown) -> None:
        blank = blank_of(shown)
        shift = offset_mm(shown.project, Edited(Kind.BLANK, blank.name), shown.wheel) if blank else 0.0
        if not self._changes.changed("blank", blank, shown.project.blanks, shift):
            return
        edge, skin = QPainterPath(), QPainterPath()
        self._blank_polygon = None
        if blank is not None:
            path = path_of_corners(blank.corners, shift)
            edge = chain_path(blank.corners, shift) if path is None else painter_path(path)
            if path is not None:
                self._blank_polygon = path.flattened(0.1)
                skin = inner_line(shown.project, blank, path, shift)
        self._layers["blank edge"].set_path(edge)
        self._layers["blank skin"].set_path(skin)

    def _draw_shapes(self, shown: Shown) -> None:
        shapes = shapes_of(shown)
        if not self._changes.changed("shapes", *shapes):
            return
        fill, edge, self._unknown_polygons = QPainterPath(), QPainterPath(), []
        fill.setFillRule(Qt.FillRule.WindingFill)
        for shape in shapes:
            for outline in shape.outlines:
                path = path_of_corners(outline.corners)
                if path is None:
                    edge.addPath(chain_path(outline.corners))
                    continue
                picture = painter_path(path)
                fill.addPath(picture)
                edge.addPath(picture)
                if shape.open_questions():
                    self._unknown_polygons.append(path.flattened(0.1))
        self._layers["shape fill"].set_path(fill)
        self._layers["shape edge"].set_path(edge)

    def _draw_required(self, shown: Shown) -> None:
        shapes, wheel = shapes_of(shown), shown.wheel
        wanted = wheel.rules if wheel is not None else None
        rules = next((r for r in shown.project.rule_sets if r.name == wanted), None)
        unit = unit_of(shown.project)
        if not self._changes.changed("required", rules, shown.zone, unit, *shapes):
            return
        self._words.required = []
        lines = QPainterPath()
        for shape in shapes:
            rule = marks.required(shape, rules, shown.zone)
            paths = [p for o in shape.outlines if (p := path_of_corners(o.corners)) is not None]
            if rule is None or not paths:
                continue
            line = grown(paths, rule.paper_mm + shape.card.error_mm - shape.card.included_gap_mm)
            lines.addPath(line)
            places = [(e.x, e.y) for e in map(line.elementAt, range(line.elementCount()))]
            if places:
                inner = min(places, key=lambda p: (round(p[0], 1), p[1]))
                self._words.required.append(marks.required_words(shape, rule, unit, inner))
        self._layers["required"].set_path(lines)

    def _draw_others(self, shown: Shown) -> None:
        """Draw what is visible but no matter of the shown wheel."""
        project, shapes, blank = shown.project, shapes_of(shown), blank_of(shown)
        other_shapes = [s for s in project.shapes if s.visible and all(s is not x for x in shapes)]
        other_blanks = [b for b in project.blanks if b.visible and b is not blank]
        if self._changes.changed("others", *other_shapes, *other_blanks):
            lines = QPainterPath()
            chains = [o.corners for s in other_shapes for o in s.outlines]
            for corners in (*chains, *(b.corners for b in other_blanks)):
                path = path_of_corners(corners)
                lines.addPath(painter_path(path) if path is not None else chain_path(corners))
            self._layers["others"].set_path(lines)

    def _draw_wheel(self, shown: Shown) -> None:
        wheel = shown.wheel if shown.wheel is not None and shown.wheel.visible else None
        outline = shown.outline if wheel is not None else None
        chord_mm = 2.0 ** math.floor(math.log2(max(_CHORD_PX * self._mm_per_pixel, 1e-6)))
        if self._changes.changed("wheel", wheel, outline, chord_mm):
            self._wheel_polygon = outline.path.flattened(chord_mm) if outline is not None else None
            picture = QPainterPath() if self._wheel_polygon is None else polyline(self._wheel_polygon, True)
            chain = QPainterPath()
            if wheel is not None and outline is None:
                rows = wheel.section.rows
                sharp = Path(rows[:, :2] + (wheel.spacer_mm, 0.0), rows[:, 2].copy())
                chain = polyline(sharp.flattened(chord_mm), closed=True) if len(sharp) > 1 else chain
            self._layers["wheel fill"].set_path(picture)
            self._layers["wheel edge"].set_path(picture)
            self._layers["wheel chain"].set_path(chain)
        ghost = self._base if shown.dragging and self._base is not outline else None
        if self._changes.changed("ghost", ghost):
            self._layers["ghost"].set_path(painter_path(ghost.path) if ghost is not None else QPainterPath())

    def _draw_missing(self, shown: Shown) -> None:
        """Draw what of the wheel lies outside its blank, where there is no metal to cut it from."""
        wheel, blank = shown.wheel, blank_of(shown)
        own = wheel is not None and wheel.visible and blank is not None and blank.name == wheel.blank
        parts = shown.missing if own else []
        if not (parts or self._missing_polygons) or not self._changes.changed("missing", parts):
            return
        self._missing_polygons = parts
        lines = QPainterPath()
        for part in self._missing_polygons:
            lines.addPath(polyline(part, closed=True))
        self._layers["missing"].set_path(lines)

    def _draw_sized(self, shown: Shown) -> None:
        """Draw what depends on the zoom: the wheel's curves, hatches and the wall band."""
        self._draw_wheel(shown)
        self._draw_missing(shown)
        self.versions.follow(self._mm_per_pixel)
        spacing = max(1.0, 2.0 ** round(math.log2(max(_HATCH_PX * self._mm_per_pixel, 1e-6))))
        polygon = self._blank_polygon
        if self._changes.changed("blank hatch", polygon, spacing):
            lines = segments(hatch(polygon, spacing)) if polygon is not None else QPainterPath()
            self._layers["blank hatch"].set_path(lines)
        if self._changes.changed("shape hatch", self._unknown_polygons, spacing):
            lines = QPainterPath()
            for polygon in self._unknown_polygons:
                lines.addPath(segments(hatch(polygon, spacing * 0.75, rising=False)))
            self._layers["shape hatch"].set_path(lines)
        if self._changes.changed("missing hatch", self._missing_polygons, spacing):
            crossed = [
                hatch(polygon, spacing * 0.25, rising)
                for polygon in self._missing_polygons
                for rising in (True, False)
            ]
            lines = segments(np.concatenate(crossed)) if crossed else QPainterPath()
            self._layers["missing hatch"].set_path(lines)
        shows_band = self._band_shown and self.stress.live is None
        visible = shows_band and shown.wheel is not None and shown.wheel.visible
        outline = shown.outline if visible else None
        if self._changes.changed("band", outline, self._mm_per_pixel):
            self._band.set_outline(outline, self._mm_per_pixel)

    def _say(self) -> None:
        """Put words and marks of the state on the overlay."""
        shown = self._shown
        if shown is None:
            return
        unit = unit_of(shown.project)
        self._words.follow(shown, unit)
        content = Content(planes=self._words.planes, hints=marks.hints(shown))
        still = (*self._words.marks(), *self.versions.marks())
        if self._changes.changed("still marks", *still):
            self._still = still
        content.still = self._still
        row = marks.tightest(shown.measurements)
        if self._changes.changed("tightest", row, unit, self._theme.colours):
            self._tightest = marks.tightest_marks(row, self._theme, unit)
        content.moving = [*self._words.group, *self._tightest]
        content.moving += marks.fault_marks(shown, self._theme, unit)
        content.hints = [*self.versions.words(), *self._words.group_hints, *content.hints]
        if self._looked_at is not None:
            content.moving.append(Ring(self._looked_at, 11.0, self._theme.colour("accent")))
        if shown.outline is not None and self._band_shown:
            content.legend = self._words.legend
        if not (shown.project.wheels or shown.project.shapes or shown.project.blanks):
            content.empty_words = marks.EMPTY_WORDS
        self._content = content
        self._say_stress()

    def _say_stress(self) -> None:
        """Put the words of the state on the overlay, with those of its stress."""
        self._set_content()
        self._overlay.update()

    def _set_content(self) -> None:
        content, stress = self._content, self.stress
        if stress.live is not None:
            moving, hints = [*content.moving, *stress.marks()], [*stress.words(), *content.hints]
            content = replace(content, moving=moving, hints=hints, legend=stress.legend())
        self._overlay.content = content

"""What a dragged vertex snaps to: vertices, middles of edges, tangents, lines of a level, and the grid.

Places are in the frame of the edited thing, mm. Points beat tangents, tangents beat levels, levels the grid.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from app.language import tr
from app.project.project import Project
from app.project.wheel import Wheel
from app.session.edited import Edited, Kind, find, offset_mm, vertices_of
from app.session.shown import Shown
from geometry.shape.edits_pieces import Piece
from geometry.shape.outline import Corner
from geometry.shape.section import Vertex

#: Steps of the snapping grid: the finest is as fine as a section is ever turned.
GRID_STEPS_MM = (0.05, 0.1, 0.5, 1.0, 5.0, 10.0, 50.0)
GRID_STEPS_IN = (0.002, 0.005, 0.01, 0.05, 0.1, 0.5, 1.0)
_IN_MM = 25.4
#: Edges shorter than this have no direction and no middle of their own, mm.
_SHORT_MM = 1e-3


class Snap(StrEnum):
    """Kinds of what is snapped to; each has a mark of its own."""

    NONE = ""
    VERTEX = "vertex"
    MIDDLE = "middle"
    TANGENT = "tangent"
    LEVEL = "level"
    GRID = "grid"


@dataclass(frozen=True)
class Target:
    """Something to snap to.

    A point; a line across one axis, where the other coordinate is None; or, with a direction, a slanting line
    through a point.

    Attributes:
        way: direction (dz, dr) of a slanting line, unit length.
        is_start: a level of the vertex's own start; it comes first, so that a twitch moves nothing.
    """

    z: float | None
    r: float | None
    word: str
    kind: Snap = Snap.VERTEX
    way: tuple[float, float] | None = None
    is_start: bool = False


@dataclass(frozen=True)
class Snapped:
    """Where the pointer snapped to, and what it snapped to in a word; no word and no kind for nothing."""

    z: float
    r: float
    word: str = ""
    kind: Snap = Snap.NONE

    @property
    def is_point(self) -> bool:
        """True where both coordinates come from one point."""
        return self.kind in (Snap.VERTEX, Snap.MIDDLE)


def grid_step_mm(mm_per_pixel: float, unit: str = "mm", least_pixels: float = 4.0) -> float:
    """Return the finest step of the mm or inch grid, in mm, that is `least_pixels` wide on the screen."""
    steps = [step * _IN_MM for step in GRID_STEPS_IN] if unit == "in" else list(GRID_STEPS_MM)
    return next((step for step in steps if step >= mm_per_pixel * least_pixels), steps[-1])


class Targets:
    """What can be snapped to, its points as an array: there are hundreds, asked at every move."""

    def __init__(self, every: Iterable[Target]) -> None:
        every = tuple(every)
        points = [(t.z, t.r) for t in every if t.z is not None and t.r is not None and t.way is None]
        self.points = np.array(points, dtype=float).reshape(-1, 2)
        self.named = [t for t in every if t.z is not None and t.r is not None and t.way is None]
        self.z_levels = [(t.z, t) for t in every if t.z is not None and t.r is None]
        self.r_levels = [(t.r, t) for t in every if t.r is not None and t.z is None]
        self.slanting = [t for t in every if t.way is not None]

    def nearest(self, z: float, r: float) -> tuple[float, Target | None]:
        """Return how far the nearest point lies off, and which it is."""
        if not self.named:
            return math.inf, None
        apart = self.points - (z, r)
        squared = np.einsum("ij,ij->i", apart, apart)
        at = int(squared.argmin())
        return math.sqrt(float(squared[at])), self.named[at]


def snap(z: float, r: float, targets: Targets, reach_mm: float, grid_mm: float) -> Snapped:
    """Return the place snapped: to a point within reach, a tangent, else each axis to a level or the grid.

    Lines attract along their whole length, so from half the reach of points.
    """
    distance, point = targets.nearest(z, r)
    if point is not None and distance <= reach_mm:
        assert point.z is not None
        assert point.r is not None
        return Snapped(point.z, point.r, point.word, point.kind)
    reach_mm /= 2.0
    level_z, at_z = _axis(z, targets.z_levels, reach_mm, grid_mm)
    level_r, at_r = _axis(r, targets.r_levels, reach_mm, grid_mm)
    levels = [t for t in (at_z, at_r) if t is not None]
    if len(levels) < 2:  # where two levels meet, as at its own start, they come first
        slanting = [(*_on_line(t, z, r), t.word) for t in targets.slanting]
        off, sz, sr, word = min(slanting, default=(math.inf, z, r, ""))
        if off <= reach_mm and sr >= 0.0:
            return Snapped(sz, sr, word, Snap.TANGENT)
    words = dict.fromkeys(t.word for t in levels)
    kinds = {t.kind for t in levels} or {Snap.GRID}
    kind = Snap.TANGENT if Snap.TANGENT in kinds else Snap.LEVEL if levels else Snap.GRID
    return Snapped(level_z, max(level_r, 0.0), ", ".join(words) or str(kind), kind)


def _on_line(target: Target, z: float, r: float) -> tuple[float, float, float]:
    """Return how far a place lies off a slanting line, and where it is nearest; infinite behind its point."""
    assert target.z is not None
    assert target.r is not None
    assert target.way is not None
    dz, dr = z - target.z, r - target.r
    along = dz * target.way[0] + dr * target.way[1]
    if along <= 0.0:
        return math.inf, z, r
    across = abs(dz * target.way[1] - dr * target.way[0])
    return across, round(target.z + along * target.way[0], 9), round(target.r + along * target.way[1], 9)


def _axis(
    value: float, levels: list[tuple[float, Target]], reach: float, grid: float
) -> tuple[float, Target | None]:
    near = [level for level in levels if abs(level[0] - value) <= reach]
    if near:
        return min(near, key=lambda level: (not level[1].is_start, abs(level[0] - value)))
    # Rounded, so that a step of 0.1 gives 12.3 and not 12.299999999999999.
    return round(round(value / grid) * grid, 9), None


def targets(project: Project, edited: Edited, index: int, others: Sequence[Target]) -> list[Target]:
    """Return what vertex `index` may snap to: all of its own thing, and `others`."""
    vertices = vertices_of(project, edited)
    n = len(vertices)
    own = [Target(v.z, v.r, tr("vertex {i}", i=i + 1)) for i, v in enumerate(vertices) if i != index]
    edges = [i for i in range(n) if index not in (i, (i + 1) % n)]
    own += _middles(vertices, edges, "")
    start = vertices[index]
    lines = [
        Target(start.z, None, tr("same z"), Snap.LEVEL, is_start=True),
        Target(None, start.r, tr("same r"), Snap.LEVEL, is_start=True),
        Target(None, 0.0, tr("axle line"), Snap.LEVEL),
    ]
    thing = find(project, edited)
    if edited.kind is not Kind.BLANK:
        word = tr("mounting face") if edited.kind is Kind.WHEEL else tr("hub face")
        lines.append(Target(0.0, None, word, Snap.LEVEL))
    if isinstance(thing, Wheel):
        lines.append(Target(-thing.inset_mm, None, tr("rim centre plane"), Snap.LEVEL))
    lines += _tangents(vertices, index)
    for i in ((index - 1) % n, (index + 1) % n):  # so that an edge comes out along the axle or across it
        lines.append(Target(vertices[i].z, None, tr("z of vertex {i}", i=i + 1), Snap.LEVEL))
        lines.append(Target(None, vertices[i].r, tr("r of vertex {i}", i=i + 1), Snap.LEVEL))
    return own + lines + list(others)


def snaps_of_others(shown: Shown, edited: Edited, drawn: Iterable[Edited]) -> list[Target]:
    """Return vertices and middles of everything else that is drawn, in the frame of the edited thing."""
    own = offset_mm(shown.project, edited, shown.wheel)
    result: list[Target] = []
    for other in drawn:
        if other == edited:
            continue
        shift = offset_mm(shown.project, other, shown.wheel) - own
        vertices = vertices_of(shown.project, other)
        result += [
            Target(v.z + shift, v.r, tr("{name}, vertex {i}", name=other.name, i=i + 1))
            for i, v in enumerate(vertices)
        ]
        result += _middles(vertices, range(len(vertices)), f"{other.name}, ", shift)
    return result


def _middles(
    vertices: Sequence[Vertex | Corner], edges: Iterable[int], of: str, shift: float = 0.0
) -> list[Target]:
    """Return the middles of edges, of arcs along the arc: half the bulge times the chord to its right."""
    found = []
    for i in edges:
        v, w = vertices[i], vertices[(i + 1) % len(vertices)]
        dz, dr = w.z - v.z, w.r - v.r
        if abs(dz) + abs(dr) > _SHORT_MM:
            z, r = (v.z + w.z + dr * v.bulge) / 2.0 + shift, (v.r + w.r - dz * v.bulge) / 2.0
            found.append(Target(z, r, tr("{of}middle of edge {i}", of=of, i=i + 1), Snap.MIDDLE))
    return found


def _tangents(vertices: Sequence[Vertex | Corner], index: int) -> list[Target]:
    """Return the lines on which vertex `index` runs on from the edges beyond its two neighbours.

    A straight edge to it then leaves its neighbour in the direction of the edge, or the arc, before.
    """
    n = len(vertices)
    found = []
    for near, far, edge in (
        ((index - 1) % n, (index - 2) % n, (index - 2) % n),
        ((index + 1) % n, (index + 2) % n, (index + 1) % n),
    ):
        own_edge = near if near == (index - 1) % n else index
        # An edge that is an arc has other ends; a corner radius has no place where nothing turns.
        if n < 4 or vertices[own_edge].bulge or vertices[near].radius > 0.0:
            continue
        a, b = complex(vertices[far].z, vertices[far].r), complex(vertices[near].z, vertices[near].r)
        if abs(b - a) < _SHORT_MM:
            continue
        bulge = vertices[edge].bulge if edge == far else -vertices[edge].bulge
        way = Piece(a, b, bulge).direction(1.0)
        way /= abs(way)
        word = tr(
            "{bulge} edge {edge}", bulge=tr("tangent to") if bulge else tr("in line with"), edge=edge + 1
        )
        if min(abs(way.real), abs(way.imag)) < 1e-12:  # along an axis: the other one keeps its grid
            z, r = (b.real, None) if abs(way.real) < 1e-12 else (None, b.imag)
            found.append(Target(z, r, word, Snap.TANGENT))
        else:
            found.append(Target(b.real, b.imag, word, Snap.TANGENT, (way.real, way.imag)))
    return found

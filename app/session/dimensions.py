"""Dimensions of what is shown: which there are, what each measures, and which can be typed.

No window is needed. A dimension is driving where one number has one clear meaning for the geometry; the
others are for reference and say why. Places are in the hub's frame, mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache, lru_cache

import numpy as np

from app.language import tr
from app.project.project import Project
from app.project.wheel import Wheel
from app.session.dimension import LEAST_MM, OF_WHEEL, Dimension, Measure, Place, Wanted, Way
from app.session.dimensions_wheel import all_measured, hub_face, said_locked
from app.session.edited import (
    Edited,
    Kind,
    find,
    offset_mm,
    outline_of,
    vertices_in,
    vertices_of,
    with_dimensions,
)
from app.session.shown import Shown
from geometry.readings.wall import wall_at
from geometry.shape.distance import fraction_at, nearest_of
from geometry.shape.held import DIMENSION_COUNTS, AddedDimension, Dimensioned
from geometry.shape.outline import Corner, StayOut
from geometry.shape.section import Vertex
from geometry.tolerances import STRAIGHT_BULGE

__all__ = [
    "LEAST_MM",
    "OF_WHEEL",
    "Dimension",
    "Measure",
    "Wanted",
    "Way",
    "added",
    "between",
    "found",
    "found_of_wheel",
    "hub_face",
    "of_vertex",
    "place_on",
    "with_added",
]

#: What Wanted holds of a dimension that asks for one vertex or edge alone: no other, and its middle.
_WHOLE = (0, 0.5)
_BY_CONTOUR = tr(
    "It follows from the locked rim contour: change the size, or unlock the contour in Wheel details."
)


def found_of_wheel(shown: Shown) -> list[Dimension]:
    """Return the dimensions of the shown wheel as a whole, as they stand."""
    wheel = shown.wheel
    return [] if wheel is None or not wheel.visible else all_measured(wheel)


def of_vertex(shown: Shown) -> list[Wanted]:
    """Return those of the selected vertex: its two edges and its corner radius."""
    edited, index = shown.edited, shown.selected
    vertices = vertices_of(shown.project, edited) if edited is not None else ()
    if edited is None or index is None or index >= len(vertices):
        return []
    before = (index - 1) % len(vertices)
    is_bent = [abs(vertices[edge].bulge) >= STRAIGHT_BULGE for edge in (before, index)]
    return [*_of_vertex(edited, before, index, *is_bent, vertices[index].radius > 0.0)]


@lru_cache(maxsize=64)
def _of_vertex(
    of: Edited, before: int, index: int, is_bent_before: bool, is_bent: bool, is_rounded: bool
) -> tuple[Wanted, ...]:
    """Return those of a vertex, told whether its edges and its corner are round."""
    edges = (before, is_bent_before), (index, is_bent)
    found = [_wanted(Measure.ARC if bent else Measure.EDGE, of, edge, *_WHOLE) for edge, bent in edges]
    return (*found, _wanted(Measure.RADIUS, of, index, *_WHOLE)) if is_rounded else tuple(found)


@cache
def _wanted(measure: Measure, of: Edited, a: int, b: int, share: float) -> Wanted:
    """Return what names a dimension, for the same one the same object: by that it is known on the drawing."""
    return Wanted(measure, of, a, b, share)


def between(shown: Shown, a: int, b: int) -> list[Wanted]:
    """Return the distances of two vertices that differ from each other: straight, along z, along r."""
    edited = shown.edited
    if edited is None:
        return []
    vertices = vertices_of(shown.project, edited)
    dz, dr = abs(vertices[b].z - vertices[a].z), abs(vertices[b].r - vertices[a].r)
    measures = [Measure.ALONG_Z] if dz > LEAST_MM else []
    measures += [Measure.ALONG_R] if dr > LEAST_MM else []
    if len(measures) == 2:
        measures.insert(0, Measure.STRAIGHT)
    return [Wanted(measure, edited, a, b) for measure in measures]


def found(shown: Shown, wanted: Wanted) -> Dimension | None:
    """Return a dimension as it stands in a state; None where there is nothing to measure now."""
    wheel = shown.wheel
    if wanted.measure in OF_WHEEL:
        return next((each for each in found_of_wheel(shown) if each.wanted == wanted), None)
    thing = find(shown.project, wanted.of)
    vertices = vertices_in(thing, wanted.of)
    if thing is None or max(wanted.a, wanted.b) >= len(vertices):
        return None
    if wanted.measure is Measure.WALL:
        return _wall(shown, wanted)
    locked = thing.section.locked if isinstance(thing, Wheel) else 0
    made = _MADE[wanted.measure](wanted, vertices, locked)
    if made is None or not thing.visible:
        return None
    dz = offset_mm(shown.project, wanted.of, wheel)
    return Dimension(
        wanted,
        made.name,
        made.value,
        made.way,
        _moved(made.a, dz),
        _moved(made.b, dz),
        _moved(made.at, dz),
        made.out,
        made.drawn_from,
        said_locked(thing.name) if thing.locked else made.why_not,
        thing.card.grade if isinstance(thing, StayOut) else made.grade,
    )


def added(project: Project, edited: Edited) -> list[Wanted]:
    """Return the dimensions that were added to the named thing."""
    outline = outline_of(project, edited)
    return [
        _wanted(
            Measure(d.what.value),
            edited,
            d.vertices[0] - 1,
            d.vertices[-1] - 1 if len(d.vertices) == 2 else 0,
            0.5 if d.share is None else d.share,
        )
        for d in (outline.dimensions if outline is not None else ())
    ]


def with_added(project: Project, edited: Edited, wanted: Sequence[Wanted]) -> Project:
    """Return the project with these as the added dimensions of the named thing."""
    kept = []
    for w in wanted:
        what = Dimensioned(w.measure.value)
        vertices = (w.a + 1, w.b + 1)[: DIMENSION_COUNTS[what][0]]
        kept.append(AddedDimension(what, vertices, w.share if what is Dimensioned.WALL else None))
    return with_dimensions(project, edited, tuple(kept))


def place_on(shown: Shown, edge: int, place: Place) -> Wanted | None:
    """Return the wall at a place of the edited wheel's skin, on the edge that leaves vertex `edge`."""
    edited = shown.edited
    if edited is None or edited.kind is not Kind.WHEEL or shown.wheel is None:
        return None
    vertices = vertices_of(shown.project, edited)
    v, w = vertices[edge], vertices[(edge + 1) % len(vertices)]
    dz, dr = w.z - v.z, w.r - v.r
    along = (place[0] - shown.wheel.spacer_mm - v.z) * dz + (place[1] - v.r) * dr
    share = min(max(along / max(dz * dz + dr * dr, LEAST_MM), 0.02), 0.98)
    return Wanted(Measure.WALL, edited, edge, share=share)


# What is measured


def _moved(place: Place, dz: float) -> Place:
    return place[0] + dz, place[1]


def _edge(wanted: Wanted, vertices: Sequence[Vertex | Corner], locked: int) -> Dimension | None:
    n = len(vertices)
    v, w = vertices[wanted.a], vertices[(wanted.a + 1) % n]
    dz, dr = w.z - v.z, w.r - v.r
    why = _BY_CONTOUR if wanted.a < locked and (wanted.a + 1) % n < locked else ""
    name = tr("Length of the edge from vertex {a}", a=wanted.a + 1)
    length = math.hypot(dz, dr)
    if length < LEAST_MM:
        return None
    return Dimension(wanted, name, length, Way.STRAIGHT, (v.z, v.r), (w.z, w.r), out=(dr, -dz), why_not=why)


def _arc(wanted: Wanted, vertices: Sequence[Vertex | Corner], locked: int) -> Dimension | None:
    """Return the radius of an edge that is an arc: chord (1 + bulge^2) / (4 |bulge|)."""
    v, w = vertices[wanted.a], vertices[(wanted.a + 1) % len(vertices)]
    dz, dr = w.z - v.z, w.r - v.r
    chord = math.hypot(dz, dr)
    if abs(v.bulge) < STRAIGHT_BULGE or chord < LEAST_MM:
        return None
    radius = chord * (1.0 + v.bulge**2) / (4.0 * abs(v.bulge))
    # The arc's middle stands half the bulge times the chord off it, to the right of travel if positive.
    off = v.bulge / 2.0
    middle = ((v.z + w.z) / 2.0 + dr * off, (v.r + w.r) / 2.0 - dz * off)
    sign = math.copysign(1.0, v.bulge)
    centre = (middle[0] - sign * radius * dr / chord, middle[1] + sign * radius * dz / chord)
    why = _BY_CONTOUR if wanted.a < locked else ""
    name = tr("Radius of the edge from vertex {a}", a=wanted.a + 1)
    return Dimension(wanted, name, radius, Way.RADIUS, middle, centre, out=(dr, -dz), why_not=why)


def _radius(wanted: Wanted, vertices: Sequence[Vertex | Corner], locked: int) -> Dimension | None:
    """Return a corner radius; its arc's middle is exact between straight edges, near it between others."""
    n, v = len(vertices), vertices[wanted.a]
    if v.radius <= 0.0:
        return None
    p, q = vertices[wanted.a - 1], vertices[(wanted.a + 1) % n]
    before, after = _unit(p.z - v.z, p.r - v.r), _unit(q.z - v.z, q.r - v.r)
    way = _unit(before[0] + after[0], before[1] + after[1])
    half = math.acos(max(-1.0, min(1.0, before[0] * after[0] + before[1] * after[1]))) / 2.0
    to_centre = v.radius / max(math.sin(half), 1e-3)
    near = to_centre - v.radius
    middle = (v.z + way[0] * near, v.r + way[1] * near)
    centre = (v.z + way[0] * to_centre, v.r + way[1] * to_centre)
    why = _BY_CONTOUR if wanted.a < locked else ""
    name = tr("Corner radius of vertex {a}", a=wanted.a + 1)
    return Dimension(wanted, name, v.radius, Way.RADIUS, middle, centre, out=(-way[0], -way[1]), why_not=why)


def _apart(wanted: Wanted, vertices: Sequence[Vertex | Corner], locked: int) -> Dimension | None:
    v, w = vertices[wanted.a], vertices[wanted.b]
    dz, dr = w.z - v.z, w.r - v.r
    value, way, out = {
        Measure.ALONG_Z: (abs(dz), Way.Z, (0.0, 1.0)),
        Measure.ALONG_R: (abs(dr), Way.R, (1.0, 0.0)),
    }.get(wanted.measure, (math.hypot(dz, dr), Way.STRAIGHT, (dr, -dz)))
    where = "" if wanted.measure is Measure.STRAIGHT else f" {wanted.measure}"
    name = tr("Distance{where} of vertices {a} and {b}", where=where, a=wanted.a + 1, b=wanted.b + 1)
    why = _BY_CONTOUR if wanted.a < locked and wanted.b < locked else ""
    if value < LEAST_MM and not why:
        why = tr("Both lie at one place this way: drag one of them, and its side is known.")
    return Dimension(wanted, name, value, way, (v.z, v.r), (w.z, w.r), out=out, why_not=why)


def _angle(wanted: Wanted, vertices: Sequence[Vertex | Corner], locked: int) -> Dimension | None:
    n, v = len(vertices), vertices[wanted.a]
    before, after = (wanted.a - 1) % n, (wanted.a + 1) % n
    p, q = vertices[before], vertices[after]
    first, second = (p.z - v.z, p.r - v.r), (q.z - v.z, q.r - v.r)
    if min(math.hypot(*first), math.hypot(*second)) < LEAST_MM:
        return None
    cross = first[0] * second[1] - first[1] * second[0]
    value = abs(math.degrees(math.atan2(cross, first[0] * second[0] + first[1] * second[1])))
    why = _BY_CONTOUR if before < locked and after < locked else ""
    name = tr("Angle at vertex {a}", a=wanted.a + 1)
    return Dimension(wanted, name, value, Way.ANGLE, (p.z, p.r), (q.z, q.r), at=(v.z, v.r), why_not=why)


def _wall(shown: Shown, wanted: Wanted) -> Dimension | None:
    """Return the wall at a place of the shown wheel's skin: the largest disc that touches it there."""
    outline, wheel = shown.outline, shown.wheel
    if outline is None or wheel is None or wheel.name != wanted.of.name or not wheel.visible:
        return None
    vertices = wheel.section.vertices
    place = _moved(_place_of(wanted, vertices), wheel.spacer_mm)
    of = np.flatnonzero(outline.skin)
    _, near, piece = nearest_of(outline.path, of, np.array([place]))
    at = near[0]
    disc = wall_at(outline, piece, np.array([fraction_at(outline.path, int(piece[0]), at)]))
    if not disc.counted[0]:
        return None
    a, b = (float(at[0]), float(at[1])), (float(disc.across[0, 0]), float(disc.across[0, 1]))
    name = tr("Wall at the edge from vertex {a}", a=wanted.a + 1)
    why = said_locked(wheel.name) if wheel.locked else ""
    return Dimension(
        wanted, name, float(disc.diameter_mm[0]), Way.STRAIGHT, a, b,
        drawn_from=(False, False), why_not=why,
    )  # fmt: skip


def _place_of(wanted: Wanted, vertices: Sequence[Vertex | Corner]) -> Place:
    """Return where on its edge's chord a wall is measured, in the frame of its thing."""
    v, w = vertices[wanted.a], vertices[(wanted.a + 1) % len(vertices)]
    return v.z + (w.z - v.z) * wanted.share, v.r + (w.r - v.r) * wanted.share


def _unit(z: float, r: float) -> Place:
    length = math.hypot(z, r)
    return (z / length, r / length) if length > LEAST_MM else (0.0, 1.0)


_MADE = {
    Measure.EDGE: _edge,
    Measure.ARC: _arc,
    Measure.RADIUS: _radius,
    Measure.ALONG_Z: _apart,
    Measure.ALONG_R: _apart,
    Measure.STRAIGHT: _apart,
    Measure.ANGLE: _angle,
}

"""Bodies in space as triangles, made in plain arithmetic; the first coordinate runs along the axle."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from geometry.shape.curve import Array

_FACES = np.array(
    [
        (0, 1, 3),
        (0, 3, 2),
        (4, 6, 7),
        (4, 7, 5),
        (0, 4, 5),
        (0, 5, 1),
        (2, 3, 7),
        (2, 7, 6),
        (0, 2, 6),
        (0, 6, 4),
        (1, 5, 7),
        (1, 7, 3),
    ]
)


def block(z: tuple[float, float], x: tuple[float, float], y: tuple[float, float]) -> Array:
    """Return (12, 3, 3) triangles of a box, turned outwards."""
    corners = np.array([(a, b, c) for a in z for b in x for c in y], dtype=float)
    return np.asarray(corners[_FACES])


def turned(section: Sequence[tuple[float, float]], count: int) -> Array:
    """Return the triangles of a closed counterclockwise section (z, r) turned in `count` steps.

    The corners lie on the turned surface, the facets a little nearer to the axle.
    """
    angle = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    rings = np.array([[(z, r * np.cos(a), r * np.sin(a)) for a in angle] for z, r in section])
    here, there = rings, np.roll(rings, -1, axis=0)
    quads = [here, np.roll(here, -1, axis=1), np.roll(there, -1, axis=1), there]
    a, b, c, d = (q.reshape(-1, 3) for q in quads)
    found = np.concatenate([np.stack([a, c, b], axis=1), np.stack([a, d, c], axis=1)])
    # A side of no length on the axle makes a triangle without area.
    area = np.linalg.norm(np.cross(found[:, 1] - found[:, 0], found[:, 2] - found[:, 0]), axis=1)
    return np.asarray(found[area > 1e-9])


def lump(count: int) -> Array:
    """Return about 2 count^2 triangles of a smooth closed body beside the axle, r about 95 to 215."""
    u = np.linspace(0.0, 2.0 * np.pi, 2 * count, endpoint=False)
    v = np.linspace(0.0, np.pi, count // 2 + 1)
    around, along = np.meshgrid(u, v, indexing="ij")
    swell = 1.0 + 0.06 * np.sin(3.0 * around) * np.sin(2.0 * along) ** 2
    places = np.stack(
        [
            60.0 * swell * np.cos(along),
            70.0 * swell * np.sin(along) * np.cos(around),
            150.0 + 45.0 * swell * np.sin(along) * np.sin(around),
        ],
        axis=-1,
    )
    after = np.roll(places, -1, axis=0)
    a, b, c, d = places[:, :-1], after[:, :-1], after[:, 1:], places[:, 1:]
    found = np.concatenate([np.stack([a, c, b], axis=2), np.stack([a, d, c], axis=2)]).reshape(-1, 3, 3)
    area = np.linalg.norm(np.cross(found[:, 1] - found[:, 0], found[:, 2] - found[:, 0]), axis=1)
    return np.asarray(found[area > 1e-9])


def on_surface(triangles: Array, count: int, rng: np.random.Generator) -> Array:
    """Return (count, 3) random places on the triangles, by area."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    area = np.linalg.norm(np.cross(b - a, c - a), axis=1)
    k = rng.choice(len(triangles), count, p=area / area.sum())
    s, t = np.sqrt(rng.uniform(size=count)), rng.uniform(size=count)
    one, two, three = (1.0 - s)[:, None], (s * (1.0 - t))[:, None], (s * t)[:, None]
    return np.asarray(one * a[k] + two * b[k] + three * c[k])


def turned_about_axle(triangles: Array, angle: float) -> Array:
    """Return the triangles turned about the axle, rad."""
    cos, sin = np.cos(angle), np.sin(angle)
    return np.asarray(triangles @ np.array([[1.0, 0.0, 0.0], [0.0, cos, sin], [0.0, -sin, cos]]))


def capsule(start: Sequence[float], end: Sequence[float], radius: float, count: int) -> Array:
    """Return the triangles of a rod with round ends, corners on its surface, `count` of them round it.

    No place of its surface lies deeper within it than radius (1 - cos(pi / count)^2).
    """
    a, b = np.array(start, dtype=float), np.array(end, dtype=float)
    axis = (b - a) / np.linalg.norm(b - a)
    side = np.cross(axis, np.eye(3)[int(np.argmin(np.abs(axis)))])
    side /= np.linalg.norm(side)
    other = np.cross(axis, side)
    turn = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    ring = np.cos(turn)[:, None] * side + np.sin(turn)[:, None] * other
    tilt = np.linspace(-np.pi / 2.0, np.pi / 2.0, count // 2 // 2 * 2 + 1)
    half = len(tilt) // 2
    rings = [a + radius * (math.cos(t) * ring + math.sin(t) * axis) for t in tilt[: half + 1]]
    rings += [b + radius * (math.cos(t) * ring + math.sin(t) * axis) for t in tilt[half:]]
    return _lofted(np.array(rings))


def _lofted(rings: Array) -> Array:
    """Return the triangles between rings (m, n, 3) of places that follow each other, each turning left."""
    here, there = rings[:-1], rings[1:]
    after, beyond = np.roll(here, -1, axis=1), np.roll(there, -1, axis=1)
    quads = [q.reshape(-1, 3) for q in (here, after, beyond, there)]
    a, b, c, d = quads
    found = np.concatenate([np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)])
    area = np.linalg.norm(np.cross(found[:, 1] - found[:, 0], found[:, 2] - found[:, 0]), axis=1)
    return np.asarray(found[area > 1e-12])


def caliper(along: int, slices: int) -> Array:
    """Return about 2 (along + 250) slices triangles of a body like a brake caliper over a disc of radius 180.

    An arch of two halves and a bridge with rounded corners, drawn in (z, y), pushed along x from -65 to 65,
    its two ends flat.
    """
    arch = shapely.Polygon(
        [
            *[(-48, 118), (-14, 118), (-14, 176), (9, 176), (9, 122), (38, 122)],
            *[(38, 196), (30, 205), (-40, 205), (-48, 198)],
        ]
    )
    rounded = arch.buffer(-3.0, quad_segs=16).buffer(6.0, quad_segs=16).buffer(-3.0, quad_segs=16)
    drawn = shapely.orient_polygons(rounded.segmentize(rounded.length / along))
    assert isinstance(drawn, shapely.Polygon)
    profile = np.array(drawn.exterior.coords)[:-1]
    x = np.linspace(-65.0, 65.0, slices + 1)
    rings = np.empty((len(x), len(profile), 3))
    rings[:, :, 0], rings[:, :, 1], rings[:, :, 2] = profile[:, 0], x[:, None], profile[:, 1]
    sides = _lofted(rings)[:, ::-1]
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(drawn))
    cap = shapely.get_coordinates(parts).reshape(-1, 4, 2)[:, :3]
    ends = []
    for level, is_low in ((x[0], True), (x[-1], False)):
        flat = np.stack([cap[:, :, 0], np.full(cap.shape[:2], level), cap[:, :, 1]], axis=2)
        normal = np.cross(flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0])[:, 1]
        wrong = (normal > 0.0) == is_low
        flat[wrong] = flat[wrong][:, ::-1]
        ends.append(flat)
    return np.concatenate([sides, *ends])


def volume(triangles: Array) -> float:
    """Return the volume that closed triangles bound, + where they are turned outwards."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)

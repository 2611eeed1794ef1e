"""Bodies in space as triangles, made in plain arithmetic; the first coordinate runs along the axle."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

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

"""Faults of an outline: what keeps it from having readings, with its place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.shape.curve import Array, Indices, Path
from geometry.shape.distance import crossings_of, dot, in_sector, length, nearest_on

#: Nearer to a joint than this, two neighbours count as meeting at the joint only.
_JOINT_MM = 1e-4


@dataclass(frozen=True)
class Fault:
    """One fault of a valid file: drawn at its place; readings are absent until it is mended.

    Attributes:
        kind: short name.
        message: what, where, and how to mend it.
        place: (z, r) in mm, or None.
        vertices: indices of the vertices concerned.
    """

    kind: str
    message: str
    place: tuple[float, float] | None
    vertices: tuple[int, ...] = ()


def crossings(path: Path) -> tuple[Fault, ...]:
    """Return a fault for every place where a closed path meets itself, but for joints of neighbours."""
    n = len(path)
    low, high = _boxes(path)
    over = (low[:, 0][:, None] <= high[:, 0] + 1e-9) & (low[:, 1][:, None] <= high[:, 1] + 1e-9)
    i, j = np.nonzero(np.triu(over & over.T, k=1))
    apart = (j - i > 1) & ~((i == 0) & (j == n - 1))
    i, j = i[apart], j[apart]
    found = [place for _, place in crossings_of(path, i, path, j)]
    # Pieces that overlap lengthwise do not cross; an end of one lies on the other.
    for one, other in ((i, j), (j, i)):
        dist, near = nearest_on(path, other, path.points[one])
        found.append(near[dist <= 1e-9])
    places = [*found, _neighbours_meeting(path)]
    faults = [
        _fault("outline crosses itself", "The outline crosses itself", x)
        for x in _distinct(np.vstack(places))
    ]
    faults += [
        _fault("outline folds back", "The outline runs back on itself", x) for x in path.points[_folds(path)]
    ]
    return tuple(faults)


def _fault(kind: str, words: str, x: Array) -> Fault:
    z, r = float(x[0]), float(x[1])
    return Fault(kind, f"{words} at z {z:.2f}, r {r:.2f}; move a vertex or undo.", (z, r))


def _distinct(places: Array) -> list[Array]:
    """Places in the order found, each once (within 1e-6 mm)."""
    out: list[Array] = []
    for x in places:
        if all(np.hypot(*(x - y)) > 1e-6 for y in out):
            out.append(x)
    return out


def _neighbours_meeting(path: Path) -> Array:
    """Return (m, 2) places other than their joint where neighbouring pieces meet again.

    A smooth joint meets its neighbour again within rounding of the joint itself; that is no crossing.
    """
    n = len(path)
    a = np.arange(n)
    b = (a + 1) % n
    joint, far = path.ends, path.points
    found: list[Array] = []
    for one, other, sign in ((a, b, -1.0), (b, a, 1.0)):
        mixed = ~path.is_arc[one] & path.is_arc[other]
        along = sign * (path.ends[one] - path.points[one])
        span = length(along)
        u = along / np.where(span > 0.0, span, 1.0)[:, None]
        reach = 2.0 * dot(path.centres[other] - joint, u)
        at = joint + u * reach[:, None]
        ok = mixed & (reach > _JOINT_MM) & (reach <= span)
        ok[ok] &= in_sector(path, other[ok], (at - path.centres[other])[ok])
        found.append(at[ok])
    arcs = path.is_arc[a] & path.is_arc[b]
    axis = path.centres[b] - path.centres[a]
    square = dot(axis, axis)
    v = joint - path.centres[a]
    along_axis = dot(v, axis) / np.where(square > 0.0, square, 1.0)
    at = path.centres[a] + 2.0 * axis * along_axis[:, None] - v
    ok = arcs & (square > 1e-20) & (length(at - joint) > _JOINT_MM)
    if n == 2:
        ok &= length(at - far) > _JOINT_MM
    ok[ok] &= in_sector(path, a[ok], (at - path.centres[a])[ok]) & in_sector(
        path, b[ok], (at - path.centres[b])[ok]
    )
    return np.vstack([*found, at[ok]])


def _folds(path: Path) -> Indices:
    """Return the vertices at which the path turns straight back along the piece it came on."""
    n = len(path)
    a = np.arange(n)
    b = (a + 1) % n
    back = dot(path.tangents(a, np.ones(n)), path.tangents(b, np.zeros(n))) < -1.0 + 1e-14
    # Equal curvature, walked the other way round.
    bend = np.where(path.is_arc, np.sign(path.bulges) / path.radii, 0.0)
    return np.asarray(b[back & (np.abs(bend[a] + bend[b]) < 1e-12)], dtype=np.intp)


def _boxes(path: Path) -> tuple[Array, Array]:
    """(n, 2) low and high corners of each piece's box; arcs by their bulging distance."""
    low, high = np.minimum(path.points, path.ends), np.maximum(path.points, path.ends)
    rise = (np.abs(path.bulges) * length(path.ends - path.points) / 2.0)[:, None]
    return low - rise, high + rise


def meeting_points(p: Path, a: int, q: Path, b: int) -> list[Array]:
    """Return the places where piece a of one path meets piece b of another; overlaps give their ends."""
    pa, pe, qa, qe = p.points[a], p.ends[a], q.points[b], q.ends[b]
    if not p.is_arc[a] and not q.is_arc[b]:
        return _line_line(pa, pe, qa, qe)
    if p.is_arc[a] and q.is_arc[b]:
        found = _circle_circle(p.centres[a], float(p.radii[a]), q.centres[b], float(q.radii[b]))
        if found is None:
            return [x for x in (pa, pe) if _on(q, b, x)] + [x for x in (qa, qe) if _on(p, a, x)]
    elif p.is_arc[a]:
        found = _line_circle(qa, qe, p.centres[a], float(p.radii[a]))
    else:
        found = _line_circle(pa, pe, q.centres[b], float(q.radii[b]))
    return [x for x in found if _on(p, a, x) and _on(q, b, x)]


def _on(path: Path, i: int, x: Array) -> bool:
    """True where x, known to lie on the whole line or circle of piece i, lies on the piece itself."""
    if path.is_arc[i]:
        d = x - path.centres[i]
        if abs(np.hypot(*d) - path.radii[i]) > 1e-7:
            return False
        return bool(path.on_sweep(np.array([i]), np.array([np.arctan2(d[1], d[0])]))[0])
    d = path.ends[i] - path.points[i]
    length = float(np.hypot(*d))
    t = float((x - path.points[i]) @ d) / length
    return -1e-9 <= t <= length + 1e-9


def _line_line(a: Array, b: Array, c: Array, d: Array) -> list[Array]:
    u, v, w = b - a, d - c, c - a
    lu, lv = float(np.hypot(*u)), float(np.hypot(*v))
    cross = u[0] * v[1] - u[1] * v[0]
    if abs(cross) > 1e-14 * lu * lv:
        s = (w[0] * v[1] - w[1] * v[0]) / cross
        t = (w[0] * u[1] - w[1] * u[0]) / cross
        inside = -1e-9 / lu <= s <= 1.0 + 1e-9 / lu and -1e-9 / lv <= t <= 1.0 + 1e-9 / lv
        return [a + s * u] if inside else []
    if abs(u[0] * w[1] - u[1] * w[0]) > 1e-9 * lu:
        return []
    spots = [x for x in (c, d) if -1e-9 <= float((x - a) @ u) / lu <= lu + 1e-9]
    return spots + [x for x in (a, b) if -1e-9 <= float((x - c) @ v) / lv <= lv + 1e-9]


def _line_circle(a: Array, b: Array, centre: Array, radius: float) -> list[Array]:
    u = (b - a) / np.hypot(*(b - a))
    foot = a + u * float((centre - a) @ u)
    height2 = radius * radius - float(np.sum((foot - centre) ** 2))
    if height2 < -1e-9 * radius:
        return []
    step = u * np.sqrt(max(height2, 0.0))
    return [foot] if height2 <= 1e-18 else [foot + step, foot - step]


def _circle_circle(p: Array, rp: float, q: Array, rq: float) -> list[Array] | None:
    """Crossings of two circles; None when they are the same circle."""
    w = q - p
    dist = float(np.hypot(*w))
    if dist < 1e-10:
        return None if abs(rp - rq) < 1e-9 else []
    along = (dist * dist + rp * rp - rq * rq) / (2.0 * dist)
    height2 = rp * rp - along * along
    if height2 < -1e-9 * max(rp, rq):
        return []
    u = w / dist
    foot = p + along * u
    step = np.array([-u[1], u[0]]) * np.sqrt(max(height2, 0.0))
    return [foot] if height2 <= 1e-18 else [foot + step, foot - step]

"""Faults of an outline: what keeps it from having readings, with its place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.shape.curve import Array, Path


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
    i, j = np.triu_indices(n, k=1)
    apart = np.any((low[i] > high[j] + 1e-9) | (low[j] > high[i] + 1e-9), axis=1)
    i, j = i[~apart], j[~apart]
    faults: list[Fault] = []
    for a, b in zip(i.tolist(), j.tolist(), strict=True):
        shared = [path.points[b]] if b == a + 1 else []
        if a == 0 and b == n - 1:
            shared.append(path.points[0])
        for place in meeting_points(path, a, path, b):
            # A smooth joint meets its neighbour again within rounding of the joint itself.
            if all(np.hypot(*(place - s)) > 1e-4 for s in shared):
                z, r = float(place[0]), float(place[1])
                faults.append(
                    Fault("outline crosses itself", f"The outline crosses itself at z {z:.2f}, r {r:.2f}.", (z, r))
                )
        if shared and _folds_back(path, a, b):
            z, r = float(path.points[b][0]), float(path.points[b][1])
            faults.append(Fault("outline folds back", f"The outline runs back on itself at z {z:.2f}, r {r:.2f}.", (z, r)))
    return tuple(faults)


def _folds_back(path: Path, a: int, b: int) -> bool:
    """True where piece b leaves the end of piece a exactly along it, backwards, with the same curvature."""
    first, second = (a, b) if b == a + 1 else (b, a)
    t = path.tangents(np.array([first, second]), np.array([1.0, 0.0]))
    bend = path.bulges[first] / max(path.lengths[first], 1e-12) + path.bulges[second] / max(path.lengths[second], 1e-12)
    return bool(t[0] @ t[1] < -1.0 + 1e-14 and abs(bend) < 1e-12)


def _boxes(path: Path) -> tuple[Array, Array]:
    """(n, 2) low and high corners of each piece's box; arcs by their bulging distance."""
    low, high = np.minimum(path.points, path.ends), np.maximum(path.points, path.ends)
    chord = np.hypot(*(path.ends - path.points).T)
    rise = (np.abs(path.bulges) * chord / 2.0)[:, None]
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

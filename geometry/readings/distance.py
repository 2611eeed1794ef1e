"""Exact distances between lines and arcs, vectorised over pairs of pieces.

All closed forms: point to piece, line to line, line to arc, arc to arc, and crossings. Arcs span at most
180 degrees (as every built path's do), so membership of a sector is two signs of cross products.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from geometry.shape.curve import Array, Flags, Indices, Path

#: Two candidate points this near along a piece's end belong to it; below rounding of 1,000 mm.
_SLACK = 1e-12


def cross(u: Array, v: Array) -> Array:
    """Return (m,) z component of the cross product of (m, 2) vectors."""
    result: Array = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    return result


def dot(u: Array, v: Array) -> Array:
    """Return (m,) products of (m, 2) vectors."""
    result: Array = u[:, 0] * v[:, 0] + u[:, 1] * v[:, 1]
    return result


def length(u: Array) -> Array:
    """Return (m,) lengths of (m, 2) vectors."""
    result: Array = np.hypot(u[:, 0], u[:, 1])
    return result


def in_sector(path: Path, piece: Indices, direction: Array) -> Flags:
    """Return (m,) True where a direction from the arc's centre points at the named arc (ends included)."""
    c = path.centres[piece]
    sign = np.sign(path.bulges[piece])
    first, last = path.points[piece] - c, path.ends[piece] - c
    slack = _SLACK * path.radii[piece] * length(direction)
    inside: Flags = (sign * cross(first, direction) >= -slack) & (sign * cross(direction, last) >= -slack)
    return inside


def nearest_on(path: Path, piece: Indices, x: Array) -> tuple[Array, Array]:
    """Return the distance (m,) from each point x (m, 2) to the named piece, and the nearest places (m, 2)."""
    p, q = path.points[piece], path.ends[piece]
    d = q - p
    square = dot(d, d)
    t = np.clip(dot(x - p, d) / np.where(square > 0.0, square, 1.0), 0.0, 1.0)
    near = p + d * t[:, None]
    near = np.where((t == 1.0)[:, None], q, near)
    arcs = np.flatnonzero(path.is_arc[piece])
    if len(arcs):
        k, y = piece[arcs], x[arcs]
        c, radius = path.centres[k], path.radii[k]
        v = y - c
        reach = length(v)
        on = in_sector(path, k, v) & (reach > 0.0)
        at_circle = c + v * (radius / np.where(reach > 0.0, reach, 1.0))[:, None]
        end = np.where((length(y - p[arcs]) <= length(y - q[arcs]))[:, None], p[arcs], q[arcs])
        near[arcs] = np.where(on[:, None], at_circle, end)
        dist = length(x - near)
        dist[arcs] = np.where(on, np.abs(reach - radius), dist[arcs])
        return dist, near
    return length(x - near), near


def contains(path: Path, x: Array) -> Flags:
    """Return (m,) True where a point lies inside a closed path; points on the path itself may fall either way.

    Parity of the chord polygon, flipped by every circular segment between chord and arc that holds the point.
    """
    p, q = path.points, path.ends
    zx, rx = x[:, 0][:, None], x[:, 1][:, None]
    spans = (p[:, 1] > rx) != (q[:, 1] > rx)
    rise = np.where(q[:, 1] != p[:, 1], q[:, 1] - p[:, 1], 1.0)
    crossing = p[:, 0] + (rx - p[:, 1]) * (q[:, 0] - p[:, 0]) / rise
    odd = (np.count_nonzero(spans & (zx < crossing), axis=1) % 2).astype(bool)
    arcs = np.flatnonzero(path.is_arc)
    if len(arcs):
        pa, qa, c = p[arcs], q[arcs], path.centres[arcs]
        in_disc = (zx - c[:, 0]) ** 2 + (rx - c[:, 1]) ** 2 < path.radii[arcs] ** 2
        turn = (qa[:, 0] - pa[:, 0]) * (rx - pa[:, 1]) - (qa[:, 1] - pa[:, 1]) * (zx - pa[:, 0])
        beyond = np.where(path.bulges[arcs] > 0.0, turn < 0.0, turn >= 0.0)
        # A point on the chord counts with the polygon on the same side as the parity rule above does.
        odd ^= (np.count_nonzero(in_disc & beyond, axis=1) % 2).astype(bool)
    return odd


def distance_matrix(path: Path, x: Array) -> tuple[Array, Array]:
    """Return the distance (m,) from each point to the whole path and the nearest places (m, 2)."""
    m, n = len(x), len(path)
    piece = np.tile(np.arange(n), m)
    dist, near = nearest_on(path, piece, np.repeat(x, n, axis=0))
    table = dist.reshape(m, n)
    best = np.argmin(table, axis=1)
    rows = np.arange(m)
    return table[rows, best], near.reshape(m, n, 2)[rows, best]


def pair_distance(a: Path, i: Indices, b: Path, j: Indices) -> tuple[Array, Array, Array]:
    """Return exact distances (m,) between pieces a[i] and b[j], and the nearest places on each (m, 2).

    Crossing pieces give 0 and their crossing.
    """
    best = np.full(len(i), np.inf)
    on_a, on_b = np.zeros((len(i), 2)), np.zeros((len(i), 2))

    def offer(rows: Indices, dist: Array, at_a: Array, at_b: Array) -> None:
        better = dist < best[rows]
        chosen = rows[better]
        best[chosen] = dist[better]
        on_a[chosen], on_b[chosen] = at_a[better], at_b[better]

    every = np.arange(len(i))
    for ends in (a.points[i], a.ends[i]):
        dist, near = nearest_on(b, j, ends)
        offer(every, dist, ends, near)
    for ends in (b.points[j], b.ends[j]):
        dist, near = nearest_on(a, i, ends)
        offer(every, dist, near, ends)
    arc_a, arc_b = a.is_arc[i], b.is_arc[j]
    rows = np.flatnonzero(~arc_a & ~arc_b)
    if len(rows):
        _line_line(a, i[rows], b, j[rows], rows, offer)
    rows = np.flatnonzero(~arc_a & arc_b)
    if len(rows):
        _line_arc(a, i[rows], b, j[rows], rows, offer)
    rows = np.flatnonzero(arc_a & ~arc_b)
    if len(rows):
        _line_arc(b, j[rows], a, i[rows], rows, lambda r, d, u, v: offer(r, d, v, u))
    rows = np.flatnonzero(arc_a & arc_b)
    if len(rows):
        _arc_arc(a, i[rows], b, j[rows], rows, offer)
    return best, on_a, on_b


Offer = Callable[[Indices, Array, Array, Array], None]


def _line_line(a: Path, i: Indices, b: Path, j: Indices, rows: Indices, offer: Offer) -> None:
    """Crossings only; every other least distance of two lines is at an end."""
    p, u = a.points[i], a.ends[i] - a.points[i]
    q, v = b.points[j], b.ends[j] - b.points[j]
    turn = cross(u, v)
    safe = np.where(turn != 0.0, turn, 1.0)
    s, t = cross(q - p, v) / safe, cross(q - p, u) / safe
    meet = (turn != 0.0) & (s >= 0.0) & (s <= 1.0) & (t >= 0.0) & (t <= 1.0)
    if meet.any():
        place = (p + u * s[:, None])[meet]
        offer(rows[meet], np.zeros(len(place)), place, place)


def _line_arc(a: Path, i: Indices, b: Path, j: Indices, rows: Indices, offer: Offer) -> None:
    """Common normals of line and arc, and crossings."""
    p, u = a.points[i], a.ends[i] - a.points[i]
    span = length(u)
    u = u / span[:, None]
    c, radius = b.centres[j], b.radii[j]
    along = dot(c - p, u)
    foot = p + u * along[:, None]
    normal = np.column_stack([-u[:, 1], u[:, 0]])
    height = dot(foot - c, normal)
    on_line = (along >= 0.0) & (along <= span)
    for sign in (1.0, -1.0):
        ok = on_line & in_sector(b, j, sign * normal)
        if ok.any():
            at_arc = c + normal * (sign * radius)[:, None]
            offer(rows[ok], np.abs(height - sign * radius)[ok], foot[ok], at_arc[ok])
    half2 = radius * radius - height * height
    half = np.sqrt(np.maximum(half2, 0.0))
    for sign in (1.0, -1.0):
        s = along + sign * half
        place = p + u * s[:, None]
        ok = (half2 >= 0.0) & (s >= 0.0) & (s <= span) & in_sector(b, j, place - c)
        if ok.any():
            offer(rows[ok], np.zeros(int(ok.sum())), place[ok], place[ok])


def _arc_arc(a: Path, i: Indices, b: Path, j: Indices, rows: Indices, offer: Offer) -> None:
    """Common normals of two arcs, and crossings; concentric arcs are nearest at an end or all along."""
    ca, ra, cb, rb = a.centres[i], a.radii[i], b.centres[j], b.radii[j]
    w = cb - ca
    apart = length(w)
    u = w / np.where(apart > 0.0, apart, 1.0)[:, None]
    for sa in (1.0, -1.0):
        for sb in (1.0, -1.0):
            ok = (apart > 0.0) & in_sector(a, i, sa * u) & in_sector(b, j, sb * u)
            if ok.any():
                at_a, at_b = ca + u * (sa * ra)[:, None], cb + u * (sb * rb)[:, None]
                offer(rows[ok], np.abs(apart + sb * rb - sa * ra)[ok], at_a[ok], at_b[ok])
    safe = np.where(apart > 0.0, apart, 1.0)
    along = (apart * apart + ra * ra - rb * rb) / (2.0 * safe)
    half2 = ra * ra - along * along
    half = np.sqrt(np.maximum(half2, 0.0))
    normal = np.column_stack([-u[:, 1], u[:, 0]])
    for sign in (1.0, -1.0):
        place = ca + u * along[:, None] + normal * (sign * half)[:, None]
        ok = (apart > 0.0) & (half2 >= 0.0) & in_sector(a, i, place - ca) & in_sector(b, j, place - cb)
        if ok.any():
            offer(rows[ok], np.zeros(int(ok.sum())), place[ok], place[ok])


def fraction_at(path: Path, i: int, place: Array) -> float:
    """Return the fraction (0 to 1) along piece i of a place known to lie on it."""
    if not path.is_arc[i]:
        d = path.ends[i] - path.points[i]
        return float(np.clip((place - path.points[i]) @ d / (d @ d), 0.0, 1.0))
    v = place - path.centres[i]
    turn = np.sign(path.sweeps[i]) * (np.arctan2(v[1], v[0]) - path.start_angles[i])
    # A place a rounding before the start must not come out a whole turn later.
    turn = (turn + np.pi / 2.0) % (2.0 * np.pi) - np.pi / 2.0
    return float(np.clip(turn / abs(path.sweeps[i]), 0.0, 1.0))

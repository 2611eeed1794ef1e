"""Exact distances between lines and arcs, vectorised over pairs of pieces.

All closed forms: point to piece, line to line, line to arc, arc to arc, and crossings. Arcs span at most
180 degrees (as every built path's do), so membership of a sector is two signs of cross products.
"""

from __future__ import annotations

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
    result: Array = np.sqrt(u[:, 0] ** 2 + u[:, 1] ** 2)
    return result


def separations(x: Array, y: Array) -> Array:
    """Return (m, n) distances between points x (m, 2) and y (n, 2)."""
    dz = x[:, 0][:, None] - y[:, 0]
    dr = x[:, 1][:, None] - y[:, 1]
    dz *= dz
    dr *= dr
    dz += dr
    result: Array = np.sqrt(dz, out=dz)
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
    """Return (m,) True where a point lies inside a closed path; points on the path may fall either way.

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
        odd = odd != (np.count_nonzero(in_disc & beyond, axis=1) % 2).astype(bool)
    return np.asarray(odd, dtype=np.bool_)


def nearest_of(path: Path, of: Indices, x: Array) -> tuple[Array, Array, Indices]:
    """Return distance (m,), nearest place (m, 2) and nearest piece (m,) for points x among the pieces `of`.

    Pieces whose chord circle lies farther off than the nearest vertex are not looked at.
    """
    start, end = path.points[of], path.ends[of]
    middle, half = (start + end) / 2.0, length(end - start) / 2.0
    to_middle = separations(x, middle)
    bound = np.minimum(separations(x, start).min(axis=1), (to_middle + half).min(axis=1))
    row, column = np.nonzero(to_middle - half <= bound[:, None] + 1e-9)
    dist, near = nearest_on(path, of[column], x[row])
    # Rows come sorted; within each the first least distance wins.
    first = np.searchsorted(row, np.arange(len(x)))
    least = np.minimum.reduceat(dist, first)
    hit = np.flatnonzero(dist == least[row])
    best = np.empty(len(x), dtype=np.intp)
    best[row[hit][::-1]] = hit[::-1]
    return dist[best], near[best], of[column[best]]


def pair_distance(
    a: Path, i: Indices, b: Path, j: Indices, may_cross: Indices | None = None
) -> tuple[Array, Array, Array]:
    """Return exact distances (m,) between pieces a[i] and b[j], and the nearest places on each (m, 2).

    Crossing pieces give 0 and their crossing; they are looked for in the rows `may_cross`, in all when None.
    """
    m = len(i)
    ends_a = np.concatenate([a.points[i], a.ends[i]])
    ends_b = np.concatenate([b.points[j], b.ends[j]])
    to_b, near_b = nearest_on(b, np.concatenate([j, j]), ends_a)
    to_a, near_a = nearest_on(a, np.concatenate([i, i]), ends_b)
    dist = np.concatenate([to_b, to_a]).reshape(4, m)
    on_a = np.concatenate([ends_a, near_a]).reshape(4, m, 2)
    on_b = np.concatenate([near_b, ends_b]).reshape(4, m, 2)
    pick, rows = np.argmin(dist, axis=0), np.arange(m)
    best, at_a, at_b = dist[pick, rows], on_a[pick, rows], on_b[pick, rows]

    def offer(of: Indices, dist: Array, on_a: Array, on_b: Array) -> None:
        for k in range(len(dist) // len(of)):
            part = slice(k * len(of), (k + 1) * len(of))
            better = dist[part] < best[of]
            if better.any():
                best[of[better]] = dist[part][better]
                at_a[of[better]], at_b[of[better]] = on_a[part][better], on_b[part][better]

    arc_a, arc_b = a.is_arc[i], b.is_arc[j]
    of = np.flatnonzero(~arc_a & arc_b)
    if len(of):
        offer(of, *_line_arc_normals(a, i[of], b, j[of]))
    of = np.flatnonzero(arc_a & ~arc_b)
    if len(of):
        dist_, line, arc = _line_arc_normals(b, j[of], a, i[of])
        offer(of, dist_, arc, line)
    of = np.flatnonzero(arc_a & arc_b)
    if len(of):
        offer(of, *_arc_arc_normals(a, i[of], b, j[of]))
    near = rows if may_cross is None else may_cross
    for of, place in crossings_of(a, i[near], b, j[near]):
        best[near[of]], at_a[near[of]], at_b[near[of]] = 0.0, place, place
    return best, at_a, at_b


def _line_arc_normals(a: Path, i: Indices, b: Path, j: Indices) -> tuple[Array, Array, Array]:
    """Return distance (2m,) and places on line and arc (2m, 2) along the common normals; inf without one."""
    p, u, along, span, height, normal = _line_about(a, i, b.centres[j])
    foot = p + u * along[:, None]
    c, radius = b.centres[j], b.radii[j]
    both = np.concatenate([normal, -normal])
    ok = np.tile((along >= 0.0) & (along <= span), 2) & in_sector(b, np.concatenate([j, j]), both)
    dist = np.concatenate([np.abs(height - radius), np.abs(height + radius)])
    at_arc = np.concatenate([c, c]) + both * np.concatenate([radius, radius])[:, None]
    return np.where(ok, dist, np.inf), np.concatenate([foot, foot]), at_arc


def _line_about(a: Path, i: Indices, c: Array) -> tuple[Array, Array, Array, Array, Array, Array]:
    """Return start, unit direction, foot of c along the line, length, height of the foot, normal."""
    p, u = a.points[i], a.ends[i] - a.points[i]
    span = length(u)
    u = u / np.where(span > 0.0, span, 1.0)[:, None]
    w = c - p
    along = dot(w, u)
    normal = np.empty_like(u)
    normal[:, 0], normal[:, 1] = -u[:, 1], u[:, 0]
    return p, u, along, span, -dot(w, normal), normal


def _arc_arc_normals(a: Path, i: Indices, b: Path, j: Indices) -> tuple[Array, Array, Array]:
    """Return distance (4m,) and places (4m, 2) along the line of centres; inf off the arcs."""
    ca, ra, cb, rb = a.centres[i], a.radii[i], b.centres[j], b.radii[j]
    w = cb - ca
    apart = length(w)
    u = w / np.where(apart > 0.0, apart, 1.0)[:, None]
    both = np.concatenate([u, -u])
    in_a = in_sector(a, np.concatenate([i, i]), both).reshape(2, -1) & (apart > 0.0)
    in_b = in_sector(b, np.concatenate([j, j]), both).reshape(2, -1)
    dist, on_a, on_b = [], [], []
    for k, sa in enumerate((1.0, -1.0)):
        for n, sb in enumerate((1.0, -1.0)):
            dist.append(np.where(in_a[k] & in_b[n], np.abs(apart + sb * rb - sa * ra), np.inf))
            on_a.append(ca + u * (sa * ra)[:, None])
            on_b.append(cb + u * (sb * rb)[:, None])
    return np.concatenate(dist), np.concatenate(on_a), np.concatenate(on_b)


def crossings_of(a: Path, i: Indices, b: Path, j: Indices) -> list[tuple[Indices, Array]]:
    """Return where pieces a[i] and b[j] cross: rows of the pairs and the places (k, 2), up to two for a pair.

    Lines that overlap lengthwise and equal circles are left to the distances of their ends.
    """
    arc_a, arc_b = a.is_arc[i], b.is_arc[j]
    out = []
    of = np.flatnonzero(~arc_a & ~arc_b)
    if len(of):
        out.append(_line_line(a, i[of], b, j[of], of))
    of = np.flatnonzero(~arc_a & arc_b)
    if len(of):
        out.append(_line_arc(a, i[of], b, j[of], of))
    of = np.flatnonzero(arc_a & ~arc_b)
    if len(of):
        out.append(_line_arc(b, j[of], a, i[of], of))
    of = np.flatnonzero(arc_a & arc_b)
    if len(of):
        out.append(_arc_arc(a, i[of], b, j[of], of))
    return out


def _line_line(a: Path, i: Indices, b: Path, j: Indices, rows: Indices) -> tuple[Indices, Array]:
    p, u = a.points[i], a.ends[i] - a.points[i]
    q, v = b.points[j], b.ends[j] - b.points[j]
    turn, w = cross(u, v), q - p
    safe = np.where(turn != 0.0, turn, 1.0)
    s, t = cross(w, v) / safe, cross(w, u) / safe
    meet = np.flatnonzero((turn != 0.0) & (s >= 0.0) & (s <= 1.0) & (t >= 0.0) & (t <= 1.0))
    return rows[meet], p[meet] + u[meet] * s[meet][:, None]


def _line_arc(a: Path, i: Indices, b: Path, j: Indices, rows: Indices) -> tuple[Indices, Array]:
    c, radius = b.centres[j], b.radii[j]
    p, u, along, span, height, _ = _line_about(a, i, c)
    half2 = radius * radius - height * height
    half = np.sqrt(np.maximum(half2, 0.0))
    s = np.concatenate([along + half, along - half])
    near = np.flatnonzero((s >= 0.0) & (s <= np.tile(span, 2)) & np.tile(half2 >= 0.0, 2))
    if not len(near):
        return rows[:0], p[:0]
    k = near % len(i)
    place = p[k] + u[k] * s[near][:, None]
    ok = in_sector(b, j[k], place - c[k])
    return rows[k[ok]], place[ok]


def _arc_arc(a: Path, i: Indices, b: Path, j: Indices, rows: Indices) -> tuple[Indices, Array]:
    ca, ra, cb, rb = a.centres[i], a.radii[i], b.centres[j], b.radii[j]
    w = cb - ca
    apart = length(w)
    safe = np.where(apart > 0.0, apart, 1.0)
    along = (apart * apart + ra * ra - rb * rb) / (2.0 * safe)
    half2 = ra * ra - along * along
    near = np.flatnonzero((apart > 0.0) & (half2 >= 0.0))
    if not len(near):
        return rows[:0], ca[:0]
    u = w[near] / apart[near][:, None]
    foot = ca[near] + u * along[near][:, None]
    side = np.column_stack([-u[:, 1], u[:, 0]]) * np.sqrt(half2[near])[:, None]
    place = np.concatenate([foot + side, foot - side])
    k = np.concatenate([near, near])
    ok = in_sector(a, i[k], place - ca[k]) & in_sector(b, j[k], place - cb[k])
    return rows[k[ok]], place[ok]


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

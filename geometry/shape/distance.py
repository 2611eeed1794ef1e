"""Exact distances between lines and arcs.

All closed forms: point to piece, line to line, line to arc, arc to arc, and crossings. Arcs span at most
180 degrees (as every built path's do), so membership of a sector is two signs of cross products. The loops
are compiled and read rows of Path.table; the functions below them take paths.
"""

from __future__ import annotations

import math

import numpy as np

from geometry.compiled import compiled
from geometry.shape.curve import CR, CZ, R0, R1, RADIUS, START, SWEEP, Z0, Z1, Array, Flags, Indices, Path

#: Two candidate points this near along a piece's end belong to it; below rounding of 1,000 mm.
_SLACK = 1e-12

#: One place on each of two pieces: distance, then (z, r) on the first and on the second.
Near = tuple[float, float, float, float, float]


@compiled
def points_at_arc(t: Array, k: int, dz: float, dr: float) -> bool:
    """Return True where the direction (dz, dr) from its centre points at arc k of a table (ends too)."""
    cz, cr = t[k, CZ], t[k, CR]
    az, ar, bz, br = t[k, Z0] - cz, t[k, R0] - cr, t[k, Z1] - cz, t[k, R1] - cr
    sign = 1.0 if t[k, SWEEP] > 0.0 else -1.0
    slack = _SLACK * t[k, RADIUS] * math.sqrt(dz * dz + dr * dr)
    inside: bool = sign * (az * dr - ar * dz) >= -slack and sign * (dz * br - dr * bz) >= -slack
    return inside


@compiled
def nearest_place(t: Array, k: int, z: float, r: float) -> tuple[float, float, float]:
    """Return the distance from (z, r) to piece k of a table, and the nearest place on it."""
    z0, r0, z1, r1 = t[k, Z0], t[k, R0], t[k, Z1], t[k, R1]
    if t[k, SWEEP] == 0.0:
        dz, dr = z1 - z0, r1 - r0
        square = dz * dz + dr * dr
        along = ((z - z0) * dz + (r - r0) * dr) / square if square > 0.0 else 0.0
        if along <= 0.0:
            nz, nr = z0, r0
        elif along >= 1.0:
            nz, nr = z1, r1
        else:
            nz, nr = z0 + dz * along, r0 + dr * along
        return math.sqrt((z - nz) ** 2 + (r - nr) ** 2), nz, nr
    vz, vr = z - t[k, CZ], r - t[k, CR]
    reach, radius = math.sqrt(vz * vz + vr * vr), t[k, RADIUS]
    if reach > 0.0 and points_at_arc(t, k, vz, vr):
        return abs(reach - radius), t[k, CZ] + vz * (radius / reach), t[k, CR] + vr * (radius / reach)
    to_start, to_end = math.sqrt((z - z0) ** 2 + (r - r0) ** 2), math.sqrt((z - z1) ** 2 + (r - r1) ** 2)
    return (to_start, z0, r0) if to_start <= to_end else (to_end, z1, r1)


@compiled
def _better(best: Near, dist: float, az: float, ar: float, bz: float, br: float) -> Near:
    return (dist, az, ar, bz, br) if dist < best[0] else best


@compiled
def _normals(a: Array, i: int, b: Array, j: int, best: Near) -> Near:
    """Return the better of what is known and the common normals of line i and arc j."""
    z0, r0 = a[i, Z0], a[i, R0]
    uz, ur = a[i, Z1] - z0, a[i, R1] - r0
    span = math.sqrt(uz * uz + ur * ur)
    if span == 0.0:
        return best
    uz, ur = uz / span, ur / span
    cz, cr, radius = b[j, CZ], b[j, CR], b[j, RADIUS]
    along = (cz - z0) * uz + (cr - r0) * ur
    if along < 0.0 or along > span:
        return best
    # Height of the foot over the centre, along the line's left normal (-ur, uz).
    height = (cz - z0) * ur - (cr - r0) * uz
    fz, fr = z0 + uz * along, r0 + ur * along
    for side in (1.0, -1.0):
        nz, nr = -ur * side, uz * side
        if points_at_arc(b, j, nz, nr):
            dist = abs(height * side - radius)
            best = _better(best, dist, fz, fr, cz + nz * radius, cr + nr * radius)
    return best


@compiled
def _centre_line(a: Array, i: int, b: Array, j: int, best: Near) -> Near:
    """Return the better of what is known and the places of two arcs along their line of centres."""
    cz, cr, ra, rb = a[i, CZ], a[i, CR], a[i, RADIUS], b[j, RADIUS]
    wz, wr = b[j, CZ] - cz, b[j, CR] - cr
    apart = math.sqrt(wz * wz + wr * wr)
    if apart == 0.0:
        return best
    uz, ur = wz / apart, wr / apart
    for sa in (1.0, -1.0):
        if not points_at_arc(a, i, sa * uz, sa * ur):
            continue
        for sb in (1.0, -1.0):
            if points_at_arc(b, j, sb * uz, sb * ur):
                dist = abs(apart + sb * rb - sa * ra)
                az, ar = cz + uz * sa * ra, cr + ur * sa * ra
                best = _better(best, dist, az, ar, b[j, CZ] + uz * sb * rb, b[j, CR] + ur * sb * rb)
    return best


@compiled
def pair(a: Array, i: int, b: Array, j: int, may_cross: bool) -> Near:
    """Return the exact distance between piece i of table a and piece j of table b, and a place on each.

    Crossing pieces give 0 and their crossing; it is looked for where they may cross.
    """
    z, r = a[i, Z0], a[i, R0]
    d, nz, nr = nearest_place(b, j, z, r)
    best = (d, z, r, nz, nr)
    z, r = a[i, Z1], a[i, R1]
    d, nz, nr = nearest_place(b, j, z, r)
    best = _better(best, d, z, r, nz, nr)
    z, r = b[j, Z0], b[j, R0]
    d, nz, nr = nearest_place(a, i, z, r)
    best = _better(best, d, nz, nr, z, r)
    z, r = b[j, Z1], b[j, R1]
    d, nz, nr = nearest_place(a, i, z, r)
    best = _better(best, d, nz, nr, z, r)
    arc_a, arc_b = a[i, SWEEP] != 0.0, b[j, SWEEP] != 0.0
    if arc_a and arc_b:
        best = _centre_line(a, i, b, j, best)
    elif arc_b:
        best = _normals(a, i, b, j, best)
    elif arc_a:
        d, az, ar, bz, br = _normals(b, j, a, i, (best[0], best[3], best[4], best[1], best[2]))
        best = (d, bz, br, az, ar)
    if may_cross:
        count, z, r, z2, r2 = crossing(a, i, b, j)
        if count == 1:
            best = (0.0, z, r, z, r)
        elif count == 2:
            best = (0.0, z2, r2, z2, r2)
    return best


#: How many crossings two pieces have, up to two, and their places.
Crossing = tuple[int, float, float, float, float]


@compiled
def crossing(a: Array, i: int, b: Array, j: int) -> Crossing:
    """Return where piece i of table a and piece j of table b cross.

    Lines that overlap lengthwise and equal circles are left to the distances of their ends.
    """
    arc_a, arc_b = a[i, SWEEP] != 0.0, b[j, SWEEP] != 0.0
    if arc_a and arc_b:
        return _arc_arc(a, i, b, j)
    if arc_b:
        return _line_arc(a, i, b, j)
    if arc_a:
        return _line_arc(b, j, a, i)
    return _line_line(a, i, b, j)


@compiled
def _line_line(a: Array, i: int, b: Array, j: int) -> Crossing:
    uz, ur = a[i, Z1] - a[i, Z0], a[i, R1] - a[i, R0]
    vz, vr = b[j, Z1] - b[j, Z0], b[j, R1] - b[j, R0]
    turn = uz * vr - ur * vz
    if turn == 0.0:
        return 0, 0.0, 0.0, 0.0, 0.0
    wz, wr = b[j, Z0] - a[i, Z0], b[j, R0] - a[i, R0]
    s, t = (wz * vr - wr * vz) / turn, (wz * ur - wr * uz) / turn
    if not (0.0 <= s <= 1.0 and 0.0 <= t <= 1.0):
        return 0, 0.0, 0.0, 0.0, 0.0
    return 1, a[i, Z0] + uz * s, a[i, R0] + ur * s, 0.0, 0.0


@compiled
def _both(count: int, z: float, r: float, found: Crossing) -> Crossing:
    """Return what was found with one more place."""
    if found[0] == 0:
        return count, z, r, 0.0, 0.0
    return 2, found[1], found[2], z, r


@compiled
def _line_arc(a: Array, i: int, b: Array, j: int) -> Crossing:
    found = (0, 0.0, 0.0, 0.0, 0.0)
    z0, r0 = a[i, Z0], a[i, R0]
    uz, ur = a[i, Z1] - z0, a[i, R1] - r0
    span = math.sqrt(uz * uz + ur * ur)
    if span == 0.0:
        return found
    uz, ur = uz / span, ur / span
    cz, cr, radius = b[j, CZ], b[j, CR], b[j, RADIUS]
    along = (cz - z0) * uz + (cr - r0) * ur
    height = (cz - z0) * ur - (cr - r0) * uz
    half2 = radius * radius - height * height
    if half2 < 0.0:
        return found
    half = math.sqrt(half2)
    for s in (along + half, along - half):
        if 0.0 <= s <= span:
            z, r = z0 + uz * s, r0 + ur * s
            if points_at_arc(b, j, z - cz, r - cr):
                found = _both(1, z, r, found)
    return found


@compiled
def _arc_arc(a: Array, i: int, b: Array, j: int) -> Crossing:
    found = (0, 0.0, 0.0, 0.0, 0.0)
    az, ar, ra = a[i, CZ], a[i, CR], a[i, RADIUS]
    bz, br, rb = b[j, CZ], b[j, CR], b[j, RADIUS]
    wz, wr = bz - az, br - ar
    apart = math.sqrt(wz * wz + wr * wr)
    if apart == 0.0:
        return found
    along = (apart * apart + ra * ra - rb * rb) / (2.0 * apart)
    half2 = ra * ra - along * along
    if half2 < 0.0:
        return found
    uz, ur = wz / apart, wr / apart
    half = math.sqrt(half2)
    for side in (half, -half):
        z, r = az + uz * along - ur * side, ar + ur * along + uz * side
        if points_at_arc(a, i, z - az, r - ar) and points_at_arc(b, j, z - bz, r - br):
            found = _both(1, z, r, found)
    return found


@compiled
def holds(t: Array, z: float, r: float) -> bool:
    """Return True where (z, r) lies inside a closed path's table; points on the path may fall either way.

    Parity of the chord polygon, flipped by every circular segment between chord and arc that holds the point.
    """
    odd = False
    for k in range(len(t)):
        z0, r0, z1, r1 = t[k, Z0], t[k, R0], t[k, Z1], t[k, R1]
        if (r0 > r) != (r1 > r) and z < z0 + (r - r0) * (z1 - z0) / (r1 - r0):
            odd = not odd
        sweep = t[k, SWEEP]
        if sweep == 0.0:
            continue
        if (z - t[k, CZ]) ** 2 + (r - t[k, CR]) ** 2 < t[k, RADIUS] ** 2:
            turn = (z1 - z0) * (r - r0) - (r1 - r0) * (z - z0)
            # A point on the chord counts with the polygon on the same side as the parity rule above does.
            if (turn < 0.0) if sweep > 0.0 else (turn >= 0.0):
                odd = not odd
    return odd


@compiled
def chord_circle(t: Array, k: int) -> tuple[float, float, float]:
    """Return centre and radius of the circle on the chord of piece k; it holds any arc up to 180 degrees."""
    dz, dr = (t[k, Z1] - t[k, Z0]) / 2.0, (t[k, R1] - t[k, R0]) / 2.0
    return t[k, Z0] + dz, t[k, R0] + dr, math.sqrt(dz * dz + dr * dr)


@compiled
def nearest_piece(t: Array, of: Indices, z: float, r: float) -> tuple[float, float, float, int]:
    """Return the distance from (z, r) to the pieces `of` a table, the nearest place, and its piece.

    Pieces whose chord circle lies farther off than what is found are not looked at.
    """
    best, bz, br, piece = np.inf, 0.0, 0.0, -1
    for k in of:
        mz, mr, half = chord_circle(t, k)
        if (z - mz) ** 2 + (r - mr) ** 2 > (best + half + 1e-9) ** 2:
            continue
        d, nz, nr = nearest_place(t, k, z, r)
        if d < best:
            best, bz, br, piece = d, nz, nr, k
    return best, bz, br, piece


@compiled
def chord_circles(t: Array, of: Indices) -> Array:
    """Return (m, 3) chord_circle of each of the pieces `of` a table."""
    out = np.empty((len(of), 3))
    for n in range(len(of)):
        out[n, 0], out[n, 1], out[n, 2] = chord_circle(t, of[n])
    return out


@compiled
def nearest_from(t: Array, of: Indices, circles: Array, z: float, r: float, guess: int) -> tuple[float, int]:
    """Return the distance from (z, r) to the pieces `of` a table, as nearest_piece does, and which it is.

    `circles` are their chord_circles. The guess is one of them that may lie near: of places that follow each
    other, that which was nearest before. It changes no distance.
    """
    best, near = np.inf, guess
    if len(of):
        best = nearest_place(t, of[guess], z, r)[0]
    for n in range(len(of)):
        reach = best + circles[n, 2] + 1e-9
        if n == guess or (z - circles[n, 0]) ** 2 + (r - circles[n, 1]) ** 2 > reach * reach:
            continue
        d = nearest_place(t, of[n], z, r)[0]
        if d < best:
            best, near = d, n
    return best, near


@compiled
def _contains(t: Array, x: Array) -> Flags:
    out = np.empty(len(x), dtype=np.bool_)
    for m in range(len(x)):
        out[m] = holds(t, x[m, 0], x[m, 1])
    return out


@compiled
def _nearest_of(t: Array, of: Indices, x: Array) -> tuple[Array, Array, Indices]:
    dist, near, piece = np.empty(len(x)), np.empty((len(x), 2)), np.empty(len(x), dtype=np.intp)
    for m in range(len(x)):
        dist[m], near[m, 0], near[m, 1], piece[m] = nearest_piece(t, of, x[m, 0], x[m, 1])
    return dist, near, piece


def contains(path: Path, x: Array) -> Flags:
    """Return (m,) True where a point lies inside a closed path; points on the path may fall either way."""
    return _contains(path.table, np.ascontiguousarray(x, dtype=float))


def nearest_of(path: Path, of: Indices, x: Array) -> tuple[Array, Array, Indices]:
    """Return distance (m,), nearest place (m, 2) and piece (m,) for points x among the pieces `of`."""
    return _nearest_of(
        path.table, np.ascontiguousarray(of, dtype=np.intp), np.ascontiguousarray(x, dtype=float)
    )


def fraction_at(path: Path, i: int, place: Array) -> float:
    """Return the fraction (0 to 1) along piece i of a place known to lie on it."""
    return float(fraction_along(path.table, i, float(place[0]), float(place[1])))


@compiled
def fraction_along(t: Array, k: int, z: float, r: float) -> float:
    """Return the fraction (0 to 1) along piece k of a table of a place known to lie on it."""
    if t[k, SWEEP] == 0.0:
        dz, dr = t[k, Z1] - t[k, Z0], t[k, R1] - t[k, R0]
        share: float = ((z - t[k, Z0]) * dz + (r - t[k, R0]) * dr) / (dz * dz + dr * dr)
    else:
        sign = 1.0 if t[k, SWEEP] > 0.0 else -1.0
        turn = sign * (math.atan2(r - t[k, CR], z - t[k, CZ]) - t[k, START])
        # A place a rounding before the start must not come out a whole turn later.
        turn = (turn + math.pi / 2.0) % (2.0 * math.pi) - math.pi / 2.0
        share = turn / abs(t[k, SWEEP])
    return min(max(share, 0.0), 1.0)

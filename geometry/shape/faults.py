"""Faults of an outline: what keeps it from having readings, with its place."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from geometry.compiled import compiled
from geometry.shape.curve import (
    CR,
    CZ,
    R0,
    R1,
    RADIUS,
    SWEEP,
    Z0,
    Z1,
    Array,
    Indices,
    Path,
    direction_along,
    sweeps_over,
)
from geometry.shape.distance import crossing, nearest_place, points_at_arc

#: Nearer to a joint than this, two neighbours count as meeting at the joint only.
_JOINT_MM = 1e-4

#: An end of one piece this near to another piece lies on it.
_ON_MM = 1e-9

_NO_ROOM = np.empty((0, 2))

#: So many pieces that follow each other lie in one box, and are left out together where it is far off.
_BLOCK = 8


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
    table = path.table
    count, folds = _meetings(table, _NO_ROOM), _folds(table)
    if not count and not len(folds):
        return ()
    places = np.empty((count, 2))
    _meetings(table, places)
    crossed, folded = _distinct(places.tolist()), path.points[folds].tolist()
    return (
        *(_fault("outline crosses itself", "The outline crosses itself", z, r) for z, r in crossed),
        *(_fault("outline folds back", "The outline runs back on itself", z, r) for z, r in folded),
    )


def _fault(kind: str, words: str, z: float, r: float) -> Fault:
    return Fault(kind, f"{words} at z {z:.2f}, r {r:.2f} mm; move a vertex or undo.", (z, r))


def _distinct(places: list[list[float]]) -> list[list[float]]:
    """Places in the order found, each once (within 1e-6 mm)."""
    out: list[list[float]] = []
    for x in places:
        if all(math.dist(x, y) > 1e-6 for y in out):
            out.append(x)
    return out


@compiled
def _meetings(t: Array, out: Array) -> int:
    """Return at how many places a closed path's table meets itself; put as many into `out` as it has rows.

    A place may be counted more than once, as by both pieces of a joint that lies on a third.
    """
    n, count = len(t), 0
    box = _boxes(t)
    blocks = _joined(box)
    for i in range(n):
        for b in range((i + 2) // _BLOCK, len(blocks)):
            if _apart(box, i, blocks, b):
                continue
            for j in range(max(i + 2, _BLOCK * b), min(_BLOCK * (b + 1), n)):
                if _apart(box, i, box, j) or (i == 0 and j == n - 1):
                    continue
                found, z, r, z2, r2 = crossing(t, i, t, j)
                if found >= 1:
                    count = _put(out, count, z, r)
                if found == 2:
                    count = _put(out, count, z2, r2)
                # Pieces that overlap lengthwise do not cross; an end of one lies on the other.
                for one, other in ((i, j), (j, i)):
                    away, z, r = nearest_place(t, other, t[one, Z0], t[one, R0])
                    if away <= _ON_MM:
                        count = _put(out, count, z, r)
    for i in range(n):
        again, z, r = _meets_again(t, i, (i + 1) % n)
        if again:
            count = _put(out, count, z, r)
    return count


@compiled
def _put(out: Array, count: int, z: float, r: float) -> int:
    if count < len(out):
        out[count, 0], out[count, 1] = z, r
    return count + 1


@compiled
def _boxes(t: Array) -> Array:
    """Return (n, 4) z low, z high, r low, r high of a box round each piece, a touch wider than it.

    Arcs of at most 180 degrees stand off their chord by |bulge| chord / 2.
    """
    box = np.empty((len(t), 4))
    for k in range(len(t)):
        z0, r0, z1, r1 = t[k, Z0], t[k, R0], t[k, Z1], t[k, R1]
        rise = math.tan(abs(t[k, SWEEP]) / 4.0) * math.hypot(z1 - z0, r1 - r0) / 2.0 + _ON_MM
        box[k, 0], box[k, 1] = min(z0, z1) - rise, max(z0, z1) + rise
        box[k, 2], box[k, 3] = min(r0, r1) - rise, max(r0, r1) + rise
    return box


@compiled
def _joined(box: Array) -> Array:
    """Return the boxes that hold _BLOCK of the boxes each, those that follow each other."""
    out = np.empty((-(-len(box) // _BLOCK), 4))
    for b in range(len(out)):
        out[b] = box[_BLOCK * b]
        for k in range(_BLOCK * b + 1, min(_BLOCK * (b + 1), len(box))):
            out[b, 0], out[b, 1] = min(out[b, 0], box[k, 0]), max(out[b, 1], box[k, 1])
            out[b, 2], out[b, 3] = min(out[b, 2], box[k, 2]), max(out[b, 3], box[k, 3])
    return out


@compiled
def _apart(one: Array, i: int, other: Array, j: int) -> bool:
    """Return True where box i of one table and box j of another have no place in common."""
    apart_z = one[i, 0] > other[j, 1] or other[j, 0] > one[i, 1]
    return bool(apart_z or one[i, 2] > other[j, 3] or other[j, 2] > one[i, 3])


@compiled
def _meets_again(t: Array, i: int, j: int) -> tuple[bool, float, float]:
    """Return whether neighbours i and j of a table meet other than at their joint, the end of i, and where.

    The second crossing mirrors the joint: on the line about the foot of the arc's centre, for two arcs about
    their line of centres. A smooth joint meets its neighbour again within rounding of the joint itself; that
    is no crossing.
    """
    z, r = t[i, Z1], t[i, R1]
    arc_i, arc_j = t[i, SWEEP] != 0.0, t[j, SWEEP] != 0.0
    if arc_i and arc_j:
        wz, wr = t[j, CZ] - t[i, CZ], t[j, CR] - t[i, CR]
        vz, vr = z - t[i, CZ], r - t[i, CR]
        square = wz * wz + wr * wr
        if square <= 1e-20:
            return False, z, r
        share = 2.0 * (vz * wz + vr * wr) / square
        at_z, at_r = t[i, CZ] + share * wz - vz, t[i, CR] + share * wr - vr
    elif arc_i or arc_j:
        line, arc = (j, i) if arc_i else (i, j)
        uz, ur = direction_along(t, line, 0.0)
        share = 2.0 * ((t[arc, CZ] - z) * uz + (t[arc, CR] - r) * ur)
        at_z, at_r = z + share * uz, r + share * ur
        if not _on(t, line, at_z, at_r, 0.0):
            return False, z, r
    else:
        return False, z, r
    known = math.hypot(at_z - z, at_r - r) <= _JOINT_MM
    if len(t) == 2:
        known = known or math.hypot(at_z - t[i, Z0], at_r - t[i, R0]) <= _JOINT_MM
    on_i = not arc_i or points_at_arc(t, i, at_z - t[i, CZ], at_r - t[i, CR])
    on_j = not arc_j or points_at_arc(t, j, at_z - t[j, CZ], at_r - t[j, CR])
    return not known and on_i and on_j, at_z, at_r


@compiled
def _folds(t: Array) -> Indices:
    """Return the vertices at which the path turns straight back along the piece it came on."""
    n, count = len(t), 0
    out = np.empty(n, dtype=np.intp)
    for j in range(n):
        i = (j + n - 1) % n
        az, ar = direction_along(t, i, 1.0)
        bz, br = direction_along(t, j, 0.0)
        # Equal curvature, walked the other way round.
        bend = math.copysign(1.0 / t[i, RADIUS], t[i, SWEEP]) + math.copysign(1.0 / t[j, RADIUS], t[j, SWEEP])
        if az * bz + ar * br < -1.0 + 1e-14 and abs(bend) < 1e-12:
            out[count] = j
            count += 1
    return out[:count]


def meeting_points(p: Path, a: int, q: Path, b: int) -> Array:
    """Return (m, 2) places where piece a of one path meets piece b of another; overlaps give their ends."""
    places = np.empty((4, 2))
    return places[: pieces_meet(p.table, a, q.table, b, places)]


@compiled
def pieces_meet(a: Array, i: int, b: Array, j: int, out: Array) -> int:
    """Put the places where two pieces meet into rows of `out` (up to four); return how many there are."""
    arc_a, arc_b = a[i, SWEEP] != 0.0, b[j, SWEEP] != 0.0
    wz, wr = b[j, Z0] - a[i, Z0], b[j, R0] - a[i, R0]
    uz, ur = direction_along(a, i, 0.0)
    vz, vr = direction_along(b, j, 0.0)
    radius = 0.0
    if not arc_a and not arc_b:
        turn = uz * vr - ur * vz
        if abs(turn) <= 1e-14:
            return _shared_ends(a, i, b, j, out) if abs(uz * wr - ur * wz) <= _ON_MM else 0
        along = (wz * vr - wr * vz) / turn
        chord = a[i, Z0] + along * uz, a[i, R0] + along * ur, uz, ur, 0.0
    elif arc_a and arc_b:
        radius = max(a[i, RADIUS], b[j, RADIUS])
        if math.hypot(b[j, CZ] - a[i, CZ], b[j, CR] - a[i, CR]) < 1e-10:
            return _shared_ends(a, i, b, j, out) if abs(a[i, RADIUS] - b[j, RADIUS]) < _ON_MM else 0
        chord = circles_chord(a[i, CZ], a[i, CR], a[i, RADIUS], b[j, CZ], b[j, CR], b[j, RADIUS])
    elif arc_a:
        radius = a[i, RADIUS]
        chord = line_chord(b[j, Z0], b[j, R0], vz, vr, a[i, CZ], a[i, CR], radius)
    else:
        radius = b[j, RADIUS]
        chord = line_chord(a[i, Z0], a[i, R0], uz, ur, b[j, CZ], b[j, CR], radius)
    mid_z, mid_r, uz, ur, half2 = chord
    half, count = math.sqrt(max(half2, 0.0)), 0
    for side in (half, -half):
        z, r = mid_z + side * uz, mid_r + side * ur
        if half2 >= -1e-9 * radius and _on(a, i, z, r, _ON_MM) and _on(b, j, z, r, _ON_MM):
            count = _put(out, count, z, r)
        if half <= 1e-9:
            break
    return count


@compiled
def _shared_ends(a: Array, i: int, b: Array, j: int, out: Array) -> int:
    """Put the ends that lie on the other of two pieces of one line or circle into `out`; return how many."""
    count = 0
    for one, k, other, m in ((a, i, b, j), (b, j, a, i)):
        for z, r in ((one[k, Z0], one[k, R0]), (one[k, Z1], one[k, R1])):
            if _on(other, m, z, r, _ON_MM):
                count = _put(out, count, z, r)
    return count


@compiled
def _on(t: Array, k: int, z: float, r: float, slack: float) -> bool:
    """Return True where (z, r), known to lie on the whole line or circle of piece k, lies on the piece."""
    if t[k, SWEEP] != 0.0:
        dz, dr = z - t[k, CZ], r - t[k, CR]
        return abs(math.hypot(dz, dr) - t[k, RADIUS]) <= 1e-7 and sweeps_over(t, k, math.atan2(dr, dz))
    uz, ur = t[k, Z1] - t[k, Z0], t[k, R1] - t[k, R0]
    span = math.hypot(uz, ur)
    along: float = ((z - t[k, Z0]) * uz + (r - t[k, R0]) * ur) / span
    return -slack <= along <= span + slack


#: Middle (z, r) of a chord, its unit direction, and half its length squared: negative where there is none.
Chord = tuple[float, float, float, float, float]


@compiled
def line_chord(z: float, r: float, uz: float, ur: float, cz: float, cr: float, radius: float) -> Chord:
    """Return what a circle cuts off the line through (z, r) along the unit direction (uz, ur)."""
    along = (cz - z) * uz + (cr - r) * ur
    mid_z, mid_r = z + along * uz, r + along * ur
    dz, dr = mid_z - cz, mid_r - cr
    return mid_z, mid_r, uz, ur, radius * radius - dz * dz - dr * dr


@compiled
def circles_chord(az: float, ar: float, ra: float, bz: float, br: float, rb: float) -> Chord:
    """Return the common chord of two circles; circles about one centre have none."""
    wz, wr = bz - az, br - ar
    apart = math.hypot(wz, wr)
    if apart < 1e-12:
        return az, ar, 0.0, 0.0, -math.inf
    uz, ur = wz / apart, wr / apart
    along = (apart * apart + ra * ra - rb * rb) / (2.0 * apart)
    return az + along * uz, ar + along * ur, -ur, uz, ra * ra - along * along

"""Corner radii: a chain of straight or arc edges becomes an exact outline with fillets.

The centre of a corner arc is the crossing of the offset curves of its two edges nearest the vertex
(parallel line, concentric circle); the touching points must lie on the edges.
"""

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
    START,
    SWEEP,
    Z0,
    Z1,
    Array,
    Flags,
    Indices,
    Path,
    direction_along,
    length_of,
    place_along,
)
from geometry.shape.faults import Fault, circles_chord, line_chord
from geometry.tolerances import LEAST_EDGE_MM, LEAST_TURN_DEG

# Columns of the corners: what becomes of one, and for a round one its touching points on the edges that
# arrive and leave, bulge, middle, and the fractions of the two edges at which it starts and ends.
_FATE, _Z0, _R0, _Z1, _R1, _BULGE, _MID_Z, _MID_R, _BEFORE, _AFTER = range(10)
_SHARP, _ROUND, _HARDLY_TURNS, _DOES_NOT_FIT = range(4)
_BUILT, _SHORT_EDGE, _REFUSED = range(3)

#: Touching points may lie this far beyond an edge, as a fraction of it.
_SLACK = 1e-12

#: What corner arcs leave of an edge is no piece when it is not longer.
_NO_EDGE_MM = 1e-9


@dataclass(frozen=True, eq=False)
class Rounded:
    """A closed chain with its corner radii.

    Attributes:
        path: its pieces.
        vertex: (n,) index of the vertex whose edge or corner each piece belongs to.
        arriving: (n,) True for the half of a corner arc that belongs to the edge before the vertex.
    """

    path: Path
    vertex: Indices
    arriving: Flags


def rounded(path: Path, radii: Array, halved: Flags) -> Rounded | tuple[Fault, ...]:
    """Return a closed chain with its corner radii, or its faults.

    Args:
        path: the chain, with sharp corners.
        radii: (n,) corner radius at the start of each edge, mm, 0 for sharp.
        halved: (n,) True where the corner arc comes in two halves.

    Faults: an edge of no length, a radius that does not fit (the largest that fits is named), radii that
    overlap on a common edge, a radius on a vertex that hardly turns.
    """
    outcome, corners, points, bulges, vertex, arriving = _round(path.table, radii, halved)
    if outcome == _SHORT_EDGE:
        return tuple(_edge_fault(path, i) for i in (path.lengths < LEAST_EDGE_MM).nonzero()[0].tolist())
    if outcome == _REFUSED:
        return (*_corner_faults(path, radii, corners), *_overlaps(path, radii, corners))
    return Rounded(Path(points, bulges), vertex, arriving)


@compiled
def _round(t: Array, radii: Array, halved: Flags) -> tuple[int, Array, Array, Array, Indices, Flags]:
    """Return how it came out, the corners, and where it went well points, bulges and parts of Rounded."""
    corners, pieces = np.zeros((len(t), 10)), np.empty((4 * len(t), 5))
    outcome, count = _BUILT, 0
    for k in range(len(t)):
        if length_of(t, k) < LEAST_EDGE_MM:
            outcome = _SHORT_EDGE
    if outcome == _BUILT and _round_corners(t, radii, corners):
        outcome = _REFUSED
    if outcome == _BUILT:
        count = _chain(t, corners, halved, pieces)
    vertex, arriving = np.empty(count, dtype=np.intp), np.empty(count, dtype=np.bool_)
    for k in range(count):
        vertex[k], arriving[k] = int(pieces[k, 3]), pieces[k, 4] != 0.0
    return outcome, corners, pieces[:count, :2].copy(), pieces[:count, 2].copy(), vertex, arriving


def _edge_fault(path: Path, i: int) -> Fault:
    return Fault(
        "edge without length",
        f"Vertices {i + 1} and {(i + 1) % len(path) + 1} lie on the same place; delete one.",
        _place(path, i),
        (i,),
    )


def _corner_faults(path: Path, radii: Array, corners: Array) -> list[Fault]:
    """Return a fault for every radius that has no place or does not fit."""
    faults = []
    for i in (corners[:, _FATE] > _ROUND).nonzero()[0].tolist():
        radius = float(radii[i])
        if corners[i, _FATE] == _HARDLY_TURNS:
            words = f"turns less than {LEAST_TURN_DEG} degrees; a corner radius has no place there."
            faults.append(Fault("radius without corner", f"Vertex {i + 1} {words}", _place(path, i), (i,)))
        else:
            largest = math.floor(_largest_fit(path.table, i, radius, corners[i].copy()) * 1000.0) / 1000.0
            words = f"radius {radius:g} mm runs past the end of an edge; at most {largest:.3f} mm fits."
            faults.append(Fault("radius does not fit", f"Vertex {i + 1}: {words}", _place(path, i), (i,)))
    return faults


def _overlaps(path: Path, radii: Array, corners: Array) -> list[Fault]:
    """Return a fault for every edge that is too short for the corner arcs at both its ends.

    Each says to what either radius alone must shrink, and both.
    """
    faults = []
    over = _overlaps_of(corners)
    for i in over.nonzero()[0].tolist():
        j, length = (i + 1) % len(path), float(path.lengths[i])
        places = [f"{k + 1} (z {path.points[k, 0]:.2f}, r {path.points[k, 1]:.2f} mm)" for k in (i, j)]
        one, other, both = (_shrunk(path.table, radii, corners, i, j, ks) for ks in ((i,), (j,), (i, j)))
        words = (
            f"The corner radii at vertices {places[0]} and {places[1]} overlap by {over[i] * length:.3f} mm "
            f"on their common edge of {length:.3f} mm. Take no more than {one} mm at vertex {i + 1}, or "
            f"{other} mm at vertex {j + 1}, or {both} mm at both."
        )
        faults.append(Fault("radii overlap", words, place_along(path.table, i, 0.5), (i, j)))
    return faults


@compiled
def _overlaps_of(corners: Array) -> Array:
    """Return (n,) by how much the corner arcs at the ends of each edge overlap, as a fraction of it."""
    out = np.empty(len(corners))
    for i in range(len(corners)):
        out[i] = _overlap(corners, i, (i + 1) % len(corners))
    return out


def _shrunk(t: Array, radii: Array, corners: Array, i: int, j: int, ks: tuple[int, ...]) -> str:
    """Return the radii at vertices ks, shrunk by one share, at which the arcs of the edge from i to j part.

    Bisected, and rounded down to 0.001 mm; 0 where the other arc takes the edge whole.
    """
    low, high, tried = 0.0, 1.0, corners[[i, j]].copy()
    while high - low > 1e-7:
        share = (low + high) / 2.0
        for k in ks:
            _fit(t, k, share * float(radii[k]), tried[0 if k == i else 1])
        if np.all(tried[:, _FATE] == _ROUND) and _overlap(tried, 0, 1) <= 0.0:
            low = share
        else:
            high = share
    return " and ".join(f"{math.floor(low * float(radii[k]) * 1000.0 + 0.1) / 1000.0:g}" for k in ks)


def _place(path: Path, i: int) -> tuple[float, float]:
    return float(path.points[i, 0]), float(path.points[i, 1])


@compiled
def _round_corners(t: Array, radii: Array, corners: Array) -> bool:
    """Fill the corners of a chain's table; return True where one is refused, or two overlap on an edge."""
    n, refused = len(t), False
    for j in range(n):
        if radii[j] > 0.0:
            _fit(t, j, radii[j], corners[j])
            refused = refused or corners[j, _FATE] != _ROUND
    for i in range(n):
        refused = refused or _overlap(corners, i, (i + 1) % n) > 0.0
    return refused


@compiled
def _overlap(corners: Array, i: int, j: int) -> float:
    """Return how much of the edge from vertex i to j both its corner arcs cover, as a fraction of it."""
    if corners[i, _FATE] != _ROUND or corners[j, _FATE] != _ROUND:
        return 0.0
    over: float = corners[i, _AFTER] - corners[j, _BEFORE]
    return over if over > _SLACK else 0.0


@compiled
def _fit(t: Array, j: int, radius: float, corner: Array) -> None:
    """Fill the corner at vertex j with a radius."""
    i = (j + len(t) - 1) % len(t)
    az, ar = direction_along(t, i, 1.0)
    bz, br = direction_along(t, j, 0.0)
    # The chain turns by this at the vertex, rad, + to the left.
    turn = math.atan2(az * br - ar * bz, az * bz + ar * br)
    if abs(turn) < math.radians(LEAST_TURN_DEG):
        corner[_FATE] = _HARDLY_TURNS
        return
    if t[i, SWEEP] == 0.0 and t[j, SWEEP] == 0.0:
        fits = _fit_straight(t, i, j, radius, turn, corner)
    else:
        fits = _fit_curved(t, i, j, radius, turn, corner)
    corner[_FATE] = _ROUND if fits else _DOES_NOT_FIT


@compiled
def _largest_fit(t: Array, j: int, radius: float, corner: Array) -> float:
    """Return the largest radius that fits at vertex j, by bisection from one that does not (to 1e-4 mm)."""
    low, high = 0.0, radius
    while high - low > 1e-4:
        middle = (low + high) / 2.0
        if not low < middle < high:  # absurd radii: neighbouring numbers lie farther apart than that
            break
        _fit(t, j, middle, corner)
        if corner[_FATE] == _ROUND:
            low = middle
        else:
            high = middle
    return low


@compiled
def _fit_straight(t: Array, i: int, j: int, radius: float, turn: float, corner: Array) -> bool:
    """Fill the arc between two straight edges, which touches radius tan(turn / 2) off the vertex."""
    z, r, arriving, leaving = t[j, Z0], t[j, R0], length_of(t, i), length_of(t, j)
    reach = radius * math.tan(abs(turn) / 2.0)
    before, after = 1.0 - reach / arriving, reach / leaving
    if before < -_SLACK or after > 1.0 + _SLACK:
        return False
    az, ar = direction_along(t, i, 1.0)
    bz, br = direction_along(t, j, 0.0)
    z0, r0, z1, r1 = z - reach * az, r - reach * ar, z + reach * bz, r + reach * br
    side = math.copysign(radius, turn)
    _fill(corner, z0 - side * ar, r0 + side * az, z0, r0, z1, r1, turn, before, after)
    return True


@compiled
def _fit_curved(t: Array, i: int, j: int, radius: float, turn: float, corner: Array) -> bool:
    """Fill the arc between two edges of which one is an arc at least."""
    left = 1.0 if turn > 0.0 else -1.0
    found, cz, cr = _centre(t, i, j, radius * left)
    if not found:
        return False
    before, z0, r0 = _foot(t, i, cz, cr)
    after, z1, r1 = _foot(t, j, cz, cr)
    if not (-_SLACK <= before <= 1.0 + _SLACK and -_SLACK <= after <= 1.0 + _SLACK):
        return False
    uz, ur, wz, wr = z0 - cz, r0 - cr, z1 - cz, r1 - cr
    sweep = math.atan2(uz * wr - ur * wz, uz * wz + ur * wr)
    if sweep * left <= 0.0:
        return False
    _fill(corner, cz, cr, z0, r0, z1, r1, sweep, before, after)
    return True


@compiled
def _fill(
    corner: Array,
    cz: float,
    cr: float,
    z0: float,
    r0: float,
    z1: float,
    r1: float,
    sweep: float,
    before: float,
    after: float,
) -> None:
    """Fill a corner arc from its centre, its touching points and its sweep."""
    corner[_Z0], corner[_R0], corner[_Z1], corner[_R1] = z0, r0, z1, r1
    corner[_BULGE] = math.tan(sweep / 4.0)
    # From the centre the arc's middle lies half the sweep on from its start.
    uz, ur, cos, sin = z0 - cz, r0 - cr, math.cos(sweep / 2.0), math.sin(sweep / 2.0)
    corner[_MID_Z], corner[_MID_R] = cz + uz * cos - ur * sin, cr + uz * sin + ur * cos
    corner[_BEFORE], corner[_AFTER] = min(max(before, 0.0), 1.0), min(max(after, 0.0), 1.0)


@compiled
def _centre(t: Array, i: int, j: int, left_mm: float) -> tuple[bool, float, float]:
    """Return whether the curves left_mm to the left of edges i and j cross, and where nearest the vertex."""
    z, r = t[j, Z0], t[j, R0]
    arc_i, arc_j = t[i, SWEEP] != 0.0, t[j, SWEEP] != 0.0
    ri, rj = _offset_radius(t, i, left_mm), _offset_radius(t, j, left_mm)
    if ri <= 0.0 or rj <= 0.0:
        return False, z, r
    if arc_i and arc_j:
        chord = circles_chord(t[i, CZ], t[i, CR], ri, t[j, CZ], t[j, CR], rj)
    else:
        line, arc, radius = (j, i, ri) if arc_i else (i, j, rj)
        uz, ur = direction_along(t, line, 0.0)
        on_z, on_r = t[line, Z0] - left_mm * ur, t[line, R0] + left_mm * uz
        chord = line_chord(on_z, on_r, uz, ur, t[arc, CZ], t[arc, CR], radius)
    mid_z, mid_r, uz, ur, half2 = chord
    if half2 < 0.0:
        return False, z, r
    ahead = (z - mid_z) * uz + (r - mid_r) * ur >= 0.0
    half = math.sqrt(half2) if ahead else -math.sqrt(half2)
    return True, mid_z + half * uz, mid_r + half * ur


@compiled
def _offset_radius(t: Array, k: int, left_mm: float) -> float:
    """Return the radius of the circle left_mm to the left of edge k; infinite for lines."""
    radius: float = t[k, RADIUS] - math.copysign(1.0, t[k, SWEEP]) * left_mm
    return radius


@compiled
def _foot(t: Array, k: int, z: float, r: float) -> tuple[float, float, float]:
    """Return the fraction along edge k, and the place, where a circle round (z, r) touches it."""
    if t[k, SWEEP] == 0.0:
        dz, dr = t[k, Z1] - t[k, Z0], t[k, R1] - t[k, R0]
        share = ((z - t[k, Z0]) * dz + (r - t[k, R0]) * dr) / (dz * dz + dr * dr)
        return share, t[k, Z0] + share * dz, t[k, R0] + share * dr
    wz, wr, sweep = z - t[k, CZ], r - t[k, CR], t[k, SWEEP]
    away = math.hypot(wz, wr)
    uz, ur = (wz / away, wr / away) if away > 0.0 else (1.0, 0.0)
    turn = math.copysign(1.0, sweep) * (math.atan2(ur, uz) - t[k, START])
    turn = (turn + math.pi) % (2.0 * math.pi) - math.pi
    if turn < -1e-9 and turn + 2.0 * math.pi <= abs(sweep) + 1e-9:
        turn += 2.0 * math.pi
    return turn / abs(sweep), t[k, CZ] + t[k, RADIUS] * uz, t[k, CR] + t[k, RADIUS] * ur


@compiled
def _chain(t: Array, corners: Array, halved: Flags, out: Array) -> int:
    """Fill the pieces of the rounded chain, z, r, bulge, vertex and `arriving`; return how many there are."""
    n, count = len(t), 0
    for i in range(n):
        z, r, first = t[i, Z0], t[i, R0], 0.0
        if corners[i, _FATE] == _ROUND:
            z, r, bulge = corners[i, _Z0], corners[i, _R0], corners[i, _BULGE]
            if halved[i]:
                bulge = math.tan(math.atan(bulge) / 2.0)
                count = _add(out, count, z, r, bulge, i, 1.0)
                z, r = corners[i, _MID_Z], corners[i, _MID_R]
            count = _add(out, count, z, r, bulge, i, 0.0)
            z, r, first = corners[i, _Z1], corners[i, _R1], corners[i, _AFTER]
        j = (i + 1) % n
        last = corners[j, _BEFORE] if corners[j, _FATE] == _ROUND else 1.0
        if (last - first) * length_of(t, i) <= _NO_EDGE_MM:
            continue
        quarter = t[i, SWEEP] * (last - first) / 4.0
        if abs(quarter) > math.pi / 4.0 + 1e-12:
            quarter /= 2.0
            count = _add(out, count, z, r, math.tan(quarter), i, 0.0)
            z, r = place_along(t, i, (first + last) / 2.0)
        count = _add(out, count, z, r, math.tan(quarter), i, 0.0)
    return count


@compiled
def _add(out: Array, count: int, z: float, r: float, bulge: float, vertex: int, arriving: float) -> int:
    out[count, 0], out[count, 1], out[count, 2], out[count, 3], out[count, 4] = z, r, bulge, vertex, arriving
    return count + 1

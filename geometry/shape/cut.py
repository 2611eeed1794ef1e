"""Where straight lines cross an outline.

Every piece is cut where it turns back across the line, into runs that cross it once at most; a run crosses
where one end lies beyond the line and the other does not. Crossings of a whole line therefore come in pairs,
also through vertices and past arcs that only touch. Along an edge, what lies just beyond it decides.

Lines are u = level in a frame (u, v) of two unit ways, u across the lines and v along them.
"""

from __future__ import annotations

import math

import numpy as np

from geometry.compiled import compiled
from geometry.shape.curve import CR, CZ, R0, R1, RADIUS, SWEEP, Z0, Z1, Array, Path, table_of
from geometry.shape.distance import fraction_along

Cut = tuple[int, float, Array]

#: Two crossings so near to each other are a touch: where an arc rises 1e-13 mm by rounding, it is 1e-5 wide.
TOUCH_MM = 1e-5

#: Unit ways (z, r) across lines and along them: for lines along the axle, and for radial ones.
ALONG_Z = (0.0, 1.0, 1.0, 0.0)
ALONG_R = (1.0, 0.0, 0.0, 1.0)

# Columns of a table of runs: start and end; centre; radius, + where the run lies at greater v than its centre
# and 0 where it is straight; piece of the path.
U0, V0, U1, V1, CU, CV, BEND, PIECE = range(8)


@compiled
def runs_across(t: Array, across_z: float, across_r: float, ahead_z: float, ahead_r: float) -> Array:
    """Return (m, 8) the runs of the pieces of a Path.table, each of them only rising or only falling in u."""
    out = np.empty((2 * len(t), 8))
    n = 0
    # + where a turn to the left leads from v to u.
    hand = across_r * ahead_z - across_z * ahead_r
    for k in range(len(t)):
        u0, v0 = t[k, Z0] * across_z + t[k, R0] * across_r, t[k, Z0] * ahead_z + t[k, R0] * ahead_r
        u1, v1 = t[k, Z1] * across_z + t[k, R1] * across_r, t[k, Z1] * ahead_z + t[k, R1] * ahead_r
        cu = cv = turn = 0.0
        if t[k, SWEEP] != 0.0:
            cu, cv = t[k, CZ] * across_z + t[k, CR] * across_r, t[k, CZ] * ahead_z + t[k, CR] * ahead_r
            turn = math.copysign(t[k, RADIUS], hand * t[k, SWEEP])
            # An arc of 180 degrees at most turns back once at most: between ends to both sides of its centre.
            if (v0 - cv) * (v1 - cv) < 0.0:
                top = cu + turn if v0 > cv else cu - turn
                _put(out[n], u0, v0, top, cv, cu, cv, turn, k)
                n += 1
                u0, v0 = top, cv
        _put(out[n], u0, v0, u1, v1, cu, cv, turn, k)
        n += 1
    return out[:n]


@compiled
def _put(
    row: Array, u0: float, v0: float, u1: float, v1: float, cu: float, cv: float, turn: float, piece: int
) -> None:
    row[U0], row[V0], row[U1], row[V1], row[CU], row[CV], row[PIECE] = u0, v0, u1, v1, cu, cv, piece
    row[BEND] = turn if u1 > u0 else -turn


@compiled
def crosses(runs: Array, k: int, level: float) -> bool:
    """Return True where run k crosses the line u = level."""
    return bool((runs[k, U0] > level) != (runs[k, U1] > level))


@compiled
def crossing_at(runs: Array, k: int, level: float) -> float:
    """Return v where run k crosses the line u = level."""
    u0, v0, bend = runs[k, U0], runs[k, V0], runs[k, BEND]
    if bend == 0.0:
        straight: float = v0 + (level - u0) / (runs[k, U1] - u0) * (runs[k, V1] - v0)
        return straight
    off = level - runs[k, CU]
    bent: float = runs[k, CV] + math.copysign(math.sqrt(max(bend * bend - off * off, 0.0)), bend)
    return bent


@compiled
def extent(runs: Array) -> tuple[float, float]:
    """Return the least and the greatest u of runs."""
    low, high = np.inf, -np.inf
    for k in range(len(runs)):
        low, high = min(low, runs[k, U0], runs[k, U1]), max(high, runs[k, U0], runs[k, U1])
    return low, high


def cuts(path: Path, start: tuple[float, float], end: tuple[float, float]) -> list[Cut]:
    """Return where the segment from start to end crosses a closed path: piece, fraction, place (z, r).

    In the order of the path; a mere touch is left out. Beyond a segment along an edge is to its left.
    """
    return [(int(piece), share, np.array(place)) for piece, share, *place in _cuts(path, start, end).tolist()]


def parts(path: Path, start: tuple[float, float], end: tuple[float, float]) -> tuple[Path, Path] | None:
    """Return the two closed parts of a path that a segment crosses exactly twice, or None if it does not."""
    found = _cuts(path, start, end)
    if len(found) != 2:
        return None
    return Path(*_between(path.table, found[0], found[1])), Path(*_between(path.table, found[1], found[0]))


@compiled
def parted(t: Array, z0: float, r0: float, z1: float, r1: float) -> tuple[Array, Array]:
    """Return the tables of what `parts` returns for the path of a table; both empty where that is None."""
    found = _crossed(t, z0, r0, z1, r1)
    if len(found) != 2:
        return np.empty((0, t.shape[1])), np.empty((0, t.shape[1]))
    points, bulges = _between(t, found[0], found[1])
    rest, bent = _between(t, found[1], found[0])
    return table_of(points, bulges), table_of(rest, bent)


def _cuts(path: Path, start: tuple[float, float], end: tuple[float, float]) -> Array:
    return _crossed(path.table, float(start[0]), float(start[1]), float(end[0]), float(end[1]))


@compiled
def _crossed(t: Array, z0: float, r0: float, z1: float, r1: float) -> Array:
    """Return (m, 4) piece, fraction and place (z, r) of the crossings of a segment, as `cuts` does."""
    span = math.sqrt((z1 - z0) ** 2 + (r1 - r0) ** 2)
    uz, ur = (z1 - z0) / span, (r1 - r0) / span
    level, start = r0 * uz - z0 * ur, z0 * uz + r0 * ur
    runs = runs_across(t, -ur, uz, uz, ur)
    places, of = np.empty(len(runs)), np.empty(len(runs), dtype=np.intp)
    n = 0
    for k in range(len(runs)):
        if not crosses(runs, k, level):
            continue
        v = crossing_at(runs, k, level)
        touched = _near(places, n, v)
        if touched >= 0:
            places[touched] = np.nan
        elif 0.0 <= v - start <= span:
            places[n], of[n] = v, k
            n += 1
    out = np.empty((n, 4))
    m = 0
    for i in range(n):
        if math.isnan(places[i]):
            continue
        z, r = places[i] * uz - level * ur, places[i] * ur + level * uz
        out[m, 0], out[m, 2], out[m, 3] = runs[of[i], PIECE], z, r
        out[m, 1] = fraction_along(t, int(runs[of[i], PIECE]), z, r)
        m += 1
    return out[:m]


@compiled
def _near(places: Array, n: int, v: float) -> int:
    """Return which of the first n places touches v, or -1."""
    for i in range(n):
        if abs(places[i] - v) < TOUCH_MM:
            return i
    return -1


@compiled
def _between(t: Array, a: Array, b: Array) -> tuple[Array, Array]:
    """Return points and bulges of the closed part along a path from cut a to cut b and straight back."""
    n, first = len(t), int(a[0])
    steps = (int(b[0]) - first) % n
    if steps == 0 and b[1] < a[1]:
        steps = n
    points, bulges = np.empty((steps + 2, 2)), np.zeros(steps + 2)
    m = 0
    for k in range(steps + 1):
        piece = (first + k) % n
        low, high = a[1] if k == 0 else 0.0, b[1] if k == steps else 1.0
        if high > low:
            points[m, 0], points[m, 1] = (a[2], a[3]) if k == 0 else (t[piece, Z0], t[piece, R0])
            bulges[m] = math.tan(t[piece, SWEEP] * (high - low) / 4.0)
            m += 1
    points[m, 0], points[m, 1] = b[2], b[3]
    return points[: m + 1], bulges[: m + 1]

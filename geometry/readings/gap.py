"""Gap between a wheel's skin and the outline of another area, per zone, exact on lines and arcs.

Method: an upper bound per zone from the middles of chords; pieces and pairs of pieces whose chord circles lie
farther off than that are dropped; closed forms on the rest. Where the two areas share area, the depth is
found by halving stretches of the outlines while a bound from above says that they may hold a deeper place.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from geometry.compiled import compiled
from geometry.shape.curve import RADIUS, SWEEP, Array, Flags, Indices, Path, length_of, place_along
from geometry.shape.distance import (
    chord_circle,
    chord_circles,
    contains,
    fraction_along,
    holds,
    nearest_from,
    nearest_place,
    pair,
)
from geometry.shape.faults import pieces_meet
from geometry.tolerances import CONTACT_MM, DEPTH_MM

#: Rounding of a distance, mm, and its share of the radius of an arc: more than it comes to.
_ROUND_MM, _ROUND_SHARE = 1e-6, 1e-14


class GapFinding(NamedTuple):
    """Least gap of one zone: signed distance in mm and the witness places (z, r) on skin and outline."""

    zone: int
    least_mm: float
    at_skin: tuple[float, float]
    at_outline: tuple[float, float]


@dataclass(frozen=True)
class Gaps:
    """Least gap of every zone, and whether the areas share area."""

    findings: tuple[GapFinding, ...]
    touching: bool


def gaps(
    skin: Path,
    zone: Indices,
    counted: Flags,
    other: Path,
    other_counted: Flags | None = None,
    *,
    inside: bool = False,
) -> Gaps:
    """Return the least signed distance from each zone of a skin to another outline.

    Args:
        skin: closed counterclockwise outline of the metal.
        zone: (n,) zone index of each piece of the skin.
        counted: (n,) pieces that are skin (not on the axle line).
        other: closed counterclockwise outline.
        other_counted: (m,) pieces of the other outline that count as its edge; all when None.
        inside: the metal should lie inside `other` (a blank); otherwise outside (a stay-out shape).

    A negative value is the depth, to 0.01 mm: of the deepest skin point on the wrong side or, for a stay-out
    shape, of the deepest point of its outline in the metal, whichever is larger. The sign is exact.
    """
    every = np.ones(len(other), dtype=np.bool_) if other_counted is None else other_counted
    best, touching = least_by_zone(skin.table, zone, counted, other.table, every, inside)
    findings = [
        GapFinding(z, dist, (az, ar), (bz, br))
        for z, (dist, az, ar, bz, br) in enumerate(best.tolist())
        if dist < math.inf
    ]
    return Gaps(tuple(findings), touching)


@compiled
def least_by_zone(
    skin: Array, zone: Indices, counted: Flags, other: Array, other_counted: Flags, inside: bool
) -> tuple[Array, bool]:
    """Return what `gaps` does, from the paths' tables: rows (zones, 5), and whether the areas share area.

    A row is the distance, infinite for a zone without skin, and z and r of its places on skin and outline.
    """
    rim, edge = np.nonzero(counted)[0], np.nonzero(other_counted)[0]
    best, met = _least(skin, rim, zone, other, edge)
    on_skin, on_other = _cuts(skin, other, met)
    touching = False
    wrong = _wrong(skin, rim, on_skin, other, inside)
    if len(wrong):
        touching |= _sink(best, _sink_along(skin, wrong, other, edge, skin, rim, zone, True))
    if inside:
        # Inside a blank only the skin is walked: where its edge runs through the metal, the skin beyond it is
        # outside, and that skin is where metal is missing.
        return best, touching
    wrong = _wrong(other, edge, on_other, skin, False)
    if len(wrong):
        entered = np.unique(met[:, 0].copy()) if len(met) else rim
        touching |= _sink(best, _sink_along(other, wrong, skin, rim, skin, entered, zone, False))
    return best, touching


@compiled
def _sink(best: Array, deep: Array) -> bool:
    """Put depths, rows as in `best`, in the place of what is less deep; return True where there is any."""
    sunk = False
    for z in range(len(best)):
        if deep[z, 0] > CONTACT_MM:
            sunk = True
            if -deep[z, 0] < best[z, 0] or best[z, 0] >= 0.0:
                best[z] = deep[z]
                best[z, 0] = -deep[z, 0]
    return sunk


@compiled
def _least(a: Array, rim: Indices, zone: Indices, b: Array, edge: Indices) -> tuple[Array, Indices]:
    """Return per zone the least distance and its places (zones, 5), and the pieces that meet (k, 2)."""
    room = 64
    while True:
        best = np.full((zone.max() + 1, 5), np.inf)
        met = np.empty((room, 2), dtype=np.intp)
        count = _search(a, rim, zone, b, edge, best, met)
        if count <= room:
            return best, met[:count]
        # Outlines that lie on each other meet in many pairs; none may be lost.
        room = count


@compiled
def _search(a: Array, rim: Indices, zone: Indices, b: Array, edge: Indices, best: Array, met: Indices) -> int:
    """Fill in what _least returns, as many meetings as there is room for, and return how many there are."""
    count, circles, slack = 0, chord_circles(b, edge), _ROUND_MM
    for j in edge:
        if b[j, SWEEP] != 0.0:
            slack = max(slack, _ROUND_SHARE * b[j, RADIUS])
    bound, away, last = np.full(len(best), np.inf), np.empty(len(rim)), 0
    for m in range(len(rim)):
        mz, mr, reach = chord_circle(a, rim[m])
        away[m], last = nearest_from(b, edge, circles, mz, mr, last)
        bound[zone[rim[m]]] = min(bound[zone[rim[m]]], away[m] + reach)
    for m in range(len(rim)):
        i = rim[m]
        z = zone[i]
        mz, mr, reach = chord_circle(a, i)
        # Most pieces lie farther from all of the outline than the least distance of their zone.
        if away[m] > min(bound[z], best[z, 0]) + reach + slack:
            continue
        for n in range(len(edge)):
            j, nz, nr, half = edge[n], circles[n, 0], circles[n, 1], circles[n, 2]
            apart2 = (mz - nz) ** 2 + (mr - nr) ** 2
            if apart2 > (min(bound[z], best[z, 0]) + reach + half + slack) ** 2:
                continue
            # Of a long piece the circle tells little.
            if nearest_place(b, j, mz, mr)[0] > min(bound[z], best[z, 0]) + reach + slack:
                continue
            d, az, ar, bz, br = pair(a, i, b, j, apart2 <= (reach + half + CONTACT_MM) ** 2)
            if d < best[z, 0]:
                best[z, 0], best[z, 1], best[z, 2], best[z, 3], best[z, 4] = d, az, ar, bz, br
            if d <= 1e-12:
                if count < len(met):
                    met[count, 0], met[count, 1] = i, j
                count += 1
    return count


@compiled
def _cuts(skin: Array, other: Array, met: Indices) -> tuple[Array, Array]:
    """Return the meetings as rows (piece, fraction), rising, on the skin and on the other outline."""
    on_skin, on_other, places = np.empty((4 * len(met), 2)), np.empty((4 * len(met), 2)), np.empty((4, 2))
    count = 0
    for m in range(len(met)):
        i, j = met[m, 0], met[m, 1]
        for k in range(pieces_meet(skin, i, other, j, places)):
            z, r = places[k, 0], places[k, 1]
            _place(on_skin, count, i, fraction_along(skin, i, z, r))
            _place(on_other, count, j, fraction_along(other, j, z, r))
            count += 1
    return on_skin[:count], on_other[:count]


@compiled
def _place(rows: Array, count: int, piece: int, share: float) -> None:
    """Put a piece and a fraction of it in its place among the first `count` rows, which rise."""
    at = count
    while at > 0 and (rows[at - 1, 0] > piece or (rows[at - 1, 0] == piece and rows[at - 1, 1] > share)):
        rows[at, 0], rows[at, 1] = rows[at - 1, 0], rows[at - 1, 1]
        at -= 1
    rows[at, 0], rows[at, 1] = piece, share


@compiled
def _wrong(path: Array, of: Indices, cuts: Array, target: Array, outside: bool) -> Array:
    """Return the stretches of a path, rows (piece, low, high), that lie inside another, or outside it.

    Stretches run between meetings of the outlines, so each lies wholly on one side. Every one is asked, also
    where no outlines meet: a meeting lost in rounding must not hide what it parts.
    """
    out = np.empty((len(of) + len(cuts), 3))
    return out[: _sides(path, of, cuts, target, outside, out)]


@compiled
def _sides(path: Array, of: Indices, cuts: Array, target: Array, outside: bool, out: Array) -> int:
    """Fill in what _wrong returns, and return how many there are."""
    count, cut = 0, 0
    for k in of:
        start = 0.0
        while start < 1.0:
            while cut < len(cuts) and cuts[cut, 0] < k:
                cut += 1
            stop = 1.0
            if cut < len(cuts) and cuts[cut, 0] == k:
                stop = cuts[cut, 1]
                cut += 1
            if stop - start > 1e-12:
                z, r = place_along(path, k, (start + stop) / 2.0)
                if holds(target, z, r) != outside:
                    out[count, 0], out[count, 1], out[count, 2] = k, start, stop
                    count += 1
            start = stop
    return count


@compiled
def _sink_along(
    path: Array,
    wrong: Array,
    target: Array,
    pieces: Indices,
    skin: Array,
    among: Indices,
    zone: Indices,
    walks_skin: bool,
) -> Array:
    """Return per zone the greatest depth of the wrong stretches, with its place on skin and other outline.

    Rows are (depth, z, r on the skin, z, r on the other outline), depth -1 without one. Along the skin the
    zone is the piece's own. Along the other outline it is that of the nearest piece among those where it
    entered the metal, since the far side is not what is in the way; of the nearest of all where it lies
    wholly inside.

    Stretches are halved while they may hold a deeper place. Every middle is read before the first is halved,
    so that much falls away at once.
    """
    best = np.full((zone.max() + 1, 5), -1.0)
    far, most = np.empty(len(best)), np.empty(len(wrong))
    for m in range(len(wrong)):
        most[m] = _sound(path, wrong[m], target, pieces, skin, among, zone, walks_skin, best, far)
    held = np.empty((64, 3))
    for m in range(len(wrong)):
        if most[m] <= best[:, 0].min() + DEPTH_MM:
            continue
        held[0], count = wrong[m], 1
        while count:
            count -= 1
            k, low, high = held[count, 0], held[count, 1], held[count, 2]
            deepest = _sound(path, held[count], target, pieces, skin, among, zone, walks_skin, best, far)
            half = (high - low) / 2.0 * length_of(path, int(k))
            if half <= DEPTH_MM / 2.0 or not _may_sink(far, half, deepest, best):
                continue
            if count + 2 > len(held):
                more = np.empty((2 * len(held), 3))
                more[: len(held)] = held
                held = more
            middle = (low + high) / 2.0
            held[count, 0], held[count, 1], held[count, 2] = k, low, middle
            held[count + 1, 0], held[count + 1, 1], held[count + 1, 2] = k, middle, high
            count += 2
    return best


@compiled
def _may_sink(far: Array, half: float, deepest: float, best: Array) -> bool:
    """Return True where a stretch may be a zone's and hold a place deeper than what is known for it."""
    may = False
    near = far.min()
    for q in range(len(far)):
        may |= far[q] <= near + 2.0 * half and deepest > best[q, 0] + DEPTH_MM
    return may


@compiled
def _sound(
    path: Array,
    stretch: Array,
    target: Array,
    pieces: Indices,
    skin: Array,
    among: Indices,
    zone: Indices,
    walks_skin: bool,
    best: Array,
    far: Array,
) -> float:
    """Read the depth at a stretch's middle into the best of its zone, and how far each zone is into `far`.

    Return what no place of the stretch is deeper than. The distance to a straight piece is convex along a
    straight way, so that it is greatest at one of its ends; to an arc it changes by at most the way walked.
    """
    k, low, high = int(stretch[0]), stretch[1], stretch[2]
    z, r = place_along(path, k, (low + high) / 2.0)
    az, ar = place_along(path, k, low)
    bz, br = place_along(path, k, high)
    half = (high - low) / 2.0 * length_of(path, k)
    sag = path[k, RADIUS] * (1.0 - math.cos(path[k, SWEEP] * (high - low) / 2.0)) if path[k, SWEEP] else 0.0
    depth, nz, nr = np.inf, z, r
    most: float = np.inf
    for j in pieces:
        away, pz, pr = nearest_place(target, j, z, r)
        if away < depth:
            depth, nz, nr = away, pz, pr
        if target[j, SWEEP] == 0.0 and away < most:
            at_ends = max(nearest_place(target, j, az, ar)[0], nearest_place(target, j, bz, br)[0])
            most = min(most, at_ends + sag)
    most = min(most, depth + half)
    near = np.inf
    far[:] = np.inf
    if walks_skin:
        near = far[zone[k]] = 0.0
    else:
        for n in among:
            away = nearest_place(skin, n, z, r)[0]
            far[zone[n]] = min(far[zone[n]], away)
            near = min(near, away)
    for q in range(len(best)):
        # A joint is as near to both its pieces.
        if far[q] <= near and depth > best[q, 0]:
            best[q, 0] = depth
            best[q, 1], best[q, 2] = (z, r) if walks_skin else (nz, nr)
            best[q, 3], best[q, 4] = (nz, nr) if walks_skin else (z, r)
    return most


def zone_distances(skin: Path, zone: Indices, counted: Flags, area: Path) -> dict[int, float]:
    """Return the least distance in mm of each zone of a skin to an area; 0 where a vertex lies in it."""
    of = np.flatnonzero(counted)
    if not len(of):
        return {}
    best, _ = _least(skin.table, of, zone, area.table, np.arange(len(area)))
    best[zone[of[contains(area, skin.points[of])]], 0] = 0.0
    return {z: dist for z, dist in enumerate(best[:, 0].tolist()) if dist < np.inf}


def signed_distances(
    skin_points: Array, other: Path, edge: Flags | None = None, *, inside: bool = False
) -> Array:
    """Return (m,) signed distances of points to an outline: + on the right side, - on the wrong one."""
    of = edge if edge is not None else np.ones(len(other), dtype=np.bool_)
    return _signed(np.ascontiguousarray(skin_points, dtype=float), other.table, of, inside)


@compiled
def _signed(x: Array, t: Array, edge: Flags, inside: bool) -> Array:
    """Return what signed_distances does, to the pieces of a table that are edge."""
    of = np.nonzero(edge)[0]
    out, circles = np.empty(len(x)), chord_circles(t, of)
    away, right, near, before_z, before_r = np.inf, False, 0, 0.0, 0.0
    for m in range(len(x)):
        z, r = x[m, 0], x[m, 1]
        walked = math.sqrt((z - before_z) ** 2 + (r - before_r) ** 2)
        # Nothing parts two places above the axle that are nearer to each other than the first to the outline.
        still = m > 0 and min(r, before_r) > 0.0 and walked + CONTACT_MM < away
        away, near = nearest_from(t, of, circles, z, r, near)
        right = right if still else holds(t, z, r) == inside
        out[m] = away if right else -away
        before_z, before_r = z, r
    return out

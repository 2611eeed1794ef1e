"""Lines that the normals of a body's surface meet: the axles of its turned surfaces.

Every normal of a turned surface meets its axle. With the line of a normal as (n, m = x x n) and the axle as
(a, b = p x a), both in Plücker's coordinates, they meet where n.b + m.a = 0; the left side is their distance
times the sine of the angle between them. The axle is the line that makes the sum of squares of this least
(H. Pottmann, M. Peternell, B. Ravani, "An introduction to line geometry with applications", Computer-Aided
Design 31, 1999). A body has other surfaces as well, so that lines are proposed by few normals at random and
judged by how much surface agrees with them; what does not is left out of the sum.

Words:
    patch   triangles close together that look the same way, as one: noise of a scan averages out in it
    turned  a patch or triangle whose normal meets the line, and does not run along it

Lengths are parts of the body's size, about its middle, so that direction and moment weigh alike.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from geometry.compiled import compiled
from geometry.shape.curve import Array, Flags, Indices
from geometry.shape.mesh import welded

#: Twice the area that a triangle has at least: beneath it stands rounding of corners about 1.
_LEAST_AREA = 1e-14
#: Cells in which patches are gathered; normals in steps of this.
_CELL, _LOOK = 1.0 / 60.0, 0.5
#: Rounds of averaging the normals by which patches are gathered.
_SMOOTHINGS = 4
#: A patch is flat enough where its summed area is at least this part of its triangles'.
_FLAT = 0.85
#: A normal that runs along the line tells nothing of its place: sine of the angle between them.
_LEAST_SINE = 0.17
#: A facet of a turned surface spans no more than this part of its distance from the line, round the line.
_COARSEST = 0.5
#: Patches that judge proposals, and proposals of each kind.
_JUDGES, _PROPOSALS = 4000, 3000
#: Five normals tell a line where their least singular value is more than this part of the largest.
_TELLS = 1e-9
#: Normals agree with a proposal that they miss by less than this.
_AGREES = 0.006
#: Proposals that are looked at closely, and rounds of fitting.
_CLOSE, _ROUNDS = 6, 25
#: What misses a line by more than so many times the common miss is not turned about it.
OUTLIER = 4.0
#: Fitting goes on with what misses the line by less than so many times what half of it does.
_NARROW = 6.0
#: Least miss that counts as common: rounding of 32-bit corners.
_FINEST = 1e-6


@dataclass(frozen=True, eq=False)
class Normals:
    """Places (n, 3), unit normals (n, 3) areas (n,) and longest edges (n, 3) of triangles or patches."""

    at: Array
    normal: Array
    area: Array
    edge: Array

    def __getitem__(self, which: Flags | Indices) -> Normals:
        return Normals(self.at[which], self.normal[which], self.area[which], self.edge[which])

    @property
    def table(self) -> Array:
        """(n, 13) moment, normal, place, edge and area, for compiled loops."""
        moment = np.cross(self.at, self.normal)
        return np.column_stack([moment, self.normal, self.at, self.edge, self.area])


@dataclass(frozen=True, eq=False)
class Line:
    """Direction a and moment b of a line, how far turned surface misses it, and how much there is of it."""

    a: Array
    b: Array
    rms: float
    agreed: float


def has_area(corners: Array) -> Flags:
    """Return which of (n, 3, 3) triangles have an area that is more than rounding, and so a normal."""
    u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    twice = np.linalg.norm(np.cross(u, v), axis=1)
    return np.asarray(twice > _LEAST_AREA)


def normals_of(corners: Array) -> Normals:
    """Return the normals of triangles, all of which have an area.

    A triangle with its corners on circles about the axle is equally far from one place of the axle with all
    three: its normal is taken through the centre of its circumcircle, unless it is a needle.
    """
    a, u, v = corners[:, 0], corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    cross = np.cross(u, v)
    square = np.einsum("ij,ij->i", cross, cross)
    uu, vv = np.einsum("ij,ij->i", u, u), np.einsum("ij,ij->i", v, v)
    centre = np.cross(uu[:, None] * v - vv[:, None] * u, cross) / (2.0 * square[:, None])
    opposite = np.einsum("ij,ij->i", u - v, u - v)
    longest = np.maximum(np.maximum(uu, vv), opposite)
    is_needle = np.einsum("ij,ij->i", centre, centre) > 0.6 * longest
    at = a + np.where(is_needle[:, None], (u + v) / 3.0, centre)
    twice = np.sqrt(square)
    edge = np.where((uu == longest)[:, None], u, np.where((vv == longest)[:, None], v, u - v))
    return Normals(at, cross / twice[:, None], twice / 2.0, edge)


def patches_of(normals: Normals, corners: Array) -> tuple[Normals, Indices]:
    """Return the patches, and the number of the patch of each triangle, -1 where it is in none."""
    cell = np.floor((normals.at + 4.0) / _CELL).astype(np.int64)
    look = np.rint(_smoothed(normals, corners) / _LOOK).astype(np.int64) + 3
    key = (cell[:, 0] * 1000 + cell[:, 1]) * 1000 + cell[:, 2]
    key = key * 343 + (look[:, 0] * 7 + look[:, 1]) * 7 + look[:, 2]
    _, patch = np.unique(key, return_inverse=True)
    count = int(patch.max()) + 1
    area = np.bincount(patch, weights=normals.area, minlength=count).astype(float)

    def mean(of: Array) -> Array:
        columns = [np.bincount(patch, weights=normals.area * of[:, k], minlength=count) for k in range(3)]
        return np.asarray(np.column_stack(columns) / area[:, None])

    normal = mean(normals.normal)
    length = np.linalg.norm(normal, axis=1)
    is_flat = length > _FLAT
    number = np.where(is_flat, np.cumsum(is_flat) - 1, -1)
    # The longest edge of a patch is that of its triangles: sorted by it, the last of each patch is written.
    order = np.argsort(np.einsum("ij,ij->i", normals.edge, normals.edge))
    edge = np.empty((count, 3))
    edge[patch[order]] = normals.edge[order]
    every = Normals(mean(normals.at), normal / np.maximum(length, 1e-300)[:, None], area, edge)
    found = every[is_flat]
    return found, number[patch]


def _smoothed(normals: Normals, corners: Array) -> Array:
    """Return normals (n, 3) averaged over neighbours, so that noise does not part what looks one way."""
    ids, count = welded(np.ascontiguousarray(corners.reshape(-1, 3)))
    return _averaged(normals.normal * normals.area[:, None], ids, count, _SMOOTHINGS)


@compiled
def _averaged(of: Array, ids: Indices, count: int, times: int) -> Array:
    """Return unit vectors of triangles, given by area, each time summed at their corners and back."""
    found = of.copy()
    for _ in range(times):
        at = np.zeros((count, 3))
        for k in range(len(ids)):
            for c in range(3):
                at[ids[k], c] += found[k // 3, c]
        for n in range(len(found)):
            for c in range(3):
                found[n, c] = at[ids[3 * n], c] + at[ids[3 * n + 1], c] + at[ids[3 * n + 2], c]
    for n in range(len(found)):
        length = math.sqrt(found[n, 0] ** 2 + found[n, 1] ** 2 + found[n, 2] ** 2)
        for c in range(3):
            found[n, c] /= max(length, 1e-300)
    return found


# Proposals


def best_line(of: Normals, rng: np.random.Generator) -> Line | None:
    """Return the line that most surface is turned about; None where nothing is."""
    if len(of.area) < 8:
        return None
    judges = of
    if len(of.area) > _JUDGES:
        judges = of[rng.choice(len(of.area), _JUDGES, p=of.area / of.area.sum(), replace=False)]
    a, b = (np.concatenate(parts) for parts in zip(*_proposed(judges, rng), strict=True))
    score = _judged(judges.table, a, b, _AGREES)
    best: Line | None = None
    for n in np.argsort(-score)[:_CLOSE]:
        line = fitted(of, Line(a[n], b[n], _AGREES, 0.0), 2.0 * _AGREES)
        if line is not None and (best is None or line.agreed > best.agreed):
            best = line
    return best


def _proposed(of: Normals, rng: np.random.Generator) -> Iterator[tuple[Array, Array]]:
    """Yield directions (m, 3) and moments (m, 3) of lines that a few normals at random propose."""
    chance = of.area / of.area.sum()

    def picked(count: int, rows: int) -> Indices:
        return np.asarray(rng.choice(len(of.area), (rows, count), p=chance))

    # Two normals of a cylinder: square to both, through where they meet when seen along that.
    pairs = picked(2, _PROPOSALS)
    yield _through_pairs(of, pairs, np.cross(of.normal[pairs[:, 0]], of.normal[pairs[:, 1]]))
    # Two normals of anything turned, the line along a frequent normal: the body's faces square to its axle.
    frequent = of.normal[picked(1, 40)[:, 0]]
    pairs = picked(2, _PROPOSALS)
    yield _through_pairs(of, pairs, frequent[rng.integers(len(frequent), size=len(pairs))])
    # Five normals of anything turned, by the linear condition.
    fives = picked(5, _PROPOSALS)
    rows = np.concatenate([np.cross(of.at, of.normal), of.normal], axis=1)[fives]
    _, sizes, null = np.linalg.svd(rows)
    a, b = null[:, 5, :3], null[:, 5, 3:]
    length = np.linalg.norm(a, axis=1)
    # Five that leave more than one line, as five of one plane do, tell none: rounding would choose it.
    ok = (length > 1e-3) & (sizes[:, 4] > _TELLS * sizes[:, 0])
    a, b = a[ok] / length[ok, None], b[ok] / length[ok, None]
    pitch = np.einsum("ij,ij->i", a, b)
    ok = np.abs(pitch) < 0.02
    yield a[ok], (b - pitch[:, None] * a)[ok]


def _through_pairs(of: Normals, pairs: Indices, direction: Array) -> tuple[Array, Array]:
    length = np.linalg.norm(direction, axis=1)
    ok = length > 0.3
    pairs, a = pairs[ok], direction[ok] / length[ok, None]
    x, n = of.at[pairs], of.normal[pairs]
    # Seen along a: the place x0 + t n0 that lies on the line x1 + s n1.
    side = np.cross(n[:, 1], a)
    across = np.einsum("ij,ij->i", n[:, 0], side)
    ok = np.abs(across) > 0.2
    t = np.einsum("ij,ij->i", x[:, 1] - x[:, 0], side)[ok] / across[ok]
    place, a = x[ok, 0] + t[:, None] * n[ok, 0], a[ok]
    near = np.linalg.norm(place, axis=1) < 4.0
    return a[near], np.cross(place, a)[near]


@compiled
def _missed(table: Array, n: int, a: Array, b: Array) -> float:
    """Return the squared distance from a line of the normal in row n; infinite where it tells nothing."""
    along = table[n, 3] * a[0] + table[n, 4] * a[1] + table[n, 5] * a[2]
    sine2 = 1.0 - along * along
    if sine2 < _LEAST_SINE * _LEAST_SINE:
        return float(np.inf)
    miss = spans = distance2 = 0.0
    for c in range(3):
        d, e = (c + 1) % 3, (c + 2) % 3
        miss += table[n, c] * a[c] + table[n, 3 + c] * b[c]
        spans += table[n, 9 + c] * (a[d] * table[n, 3 + e] - a[e] * table[n, 3 + d])
        distance2 += (table[n, 6 + d] * a[e] - table[n, 6 + e] * a[d] - b[c]) ** 2
    if spans * spans > _COARSEST * _COARSEST * distance2 * sine2:
        return float(np.inf)
    return float(miss * miss / sine2)


@compiled
def _judged(table: Array, a: Array, b: Array, width: float) -> Array:
    """Return for each line (a, b) the area of what is turned about it, less for what misses it."""
    out = np.zeros(len(a))
    for k in range(len(a)):
        for n in range(len(table)):
            far = _missed(table, n, a[k], b[k]) / (width * width)
            if far < 1.0:
                out[k] += table[n, 12] * (1.0 - far)
    return out


# Fitting


def turned(of: Normals, line: Line, width: float) -> Flags:
    """Return what is turned about a line: normals that pass it by less than a width, not along it."""
    return _within(of.table, line.a, line.b, width)


@compiled
def _within(table: Array, a: Array, b: Array, width: float) -> Flags:
    out = np.zeros(len(table), dtype=np.bool_)
    for n in range(len(table)):
        out[n] = _missed(table, n, a, b) < width * width
    return out


def fitted(of: Normals, start: Line, width: float, direction: Array | None = None) -> Line | None:
    """Return the line that fits best what agrees with a first one; None where nothing does.

    What counts narrows from `width` to some times what half of it misses the line by. With a direction only
    the place is fitted.
    """
    table = of.table
    a, b, line = start.a, start.b, None
    if direction is not None:
        a, b = direction, np.cross(np.cross(a, b), direction)
    for _ in range(_ROUNDS):
        sums, missed, squares = _summed(table, a, b, width)
        agreed = float(missed.sum())
        if not agreed > 0.0:
            return None
        line = Line(a, b, math.sqrt(squares / agreed), agreed)
        a, b = _better(sums, a, b, direction is not None)
        half = (np.searchsorted(np.cumsum(missed), 0.5 * agreed) + 1.0) / len(missed) * width
        width = min(width, max(_NARROW * half, OUTLIER * _FINEST))
    return line


@compiled
def _summed(table: Array, a: Array, b: Array, width: float) -> tuple[Array, Array, float]:
    """Return the (6, 6) sums over rows (m, n) of what agrees with a line, and what it misses the line by.

    That is its weight in 400 steps of the distance up to the width, and its weighted sum of squares.
    """
    sums, missed, squares = np.zeros((6, 6)), np.zeros(400), 0.0
    for k in range(len(table)):
        far = _missed(table, k, a, b) / (width * width)
        if far >= 1.0:
            continue
        along = table[k, 3] * a[0] + table[k, 4] * a[1] + table[k, 5] * a[2]
        weight = table[k, 12] * (1.0 - far) ** 2
        missed[int(400.0 * math.sqrt(far))] += weight
        squares += weight * far * width * width
        weight /= 1.0 - along * along
        for i in range(6):
            for j in range(i + 1):
                sums[i, j] += weight * table[k, i] * table[k, j]
    for i in range(6):
        for j in range(i):
            sums[j, i] = sums[i, j]
    return sums, missed, squares


def _better(sums: Array, a: Array, b: Array, keep_direction: bool) -> tuple[Array, Array]:
    """Return the line near a first one that makes the sum of squares least: tilted by two, shifted by two."""
    one = np.cross(a, np.eye(3)[int(np.argmin(np.abs(a)))])
    one /= np.linalg.norm(one)
    two, place = np.cross(a, one), np.cross(a, b)
    ways = np.zeros((6, 4))
    for k, across in enumerate((one, two)):
        ways[:3, k], ways[3:, k] = across, np.cross(place, across)
        ways[3:, k + 2] = np.cross(across, a)
    if keep_direction:
        ways[:, :2] = 0.0
    line = np.concatenate([a, b])
    step = np.linalg.lstsq(ways.T @ sums @ ways, -ways.T @ sums @ line, rcond=1e-12)[0]
    place = place + step[2] * one + step[3] * two
    a = a + step[0] * one + step[1] * two
    a = a / np.linalg.norm(a)
    return a, np.cross(place, a)

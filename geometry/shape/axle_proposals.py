"""Lines that points may be turned about: planes, circles and places proposed at random and judged by all.

Planes are laid through three points at random (M. A. Fischler, R. C. Bolles, "Random sample consensus",
Communications of the ACM 24, 1981), circles through three points seen along a plane's normal.

Lengths are parts of the cloud's size, about its middle.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize
from scipy.spatial import cKDTree

from geometry.shape.curve import Array, Indices

#: Proposals; points that judge them all, a few hundred at once; how many are then judged by all points.
_PLANES, _CIRCLES, _FIRST_JUDGES, _AT_ONCE, _JUDGED = 4000, 10_000, 150, 2000, 200
#: Half widths of a face: as good as exact, a measuring arm, a scanner. The one that tells most is taken.
WIDTHS = (5e-5, 3e-4, 1.5e-3)
#: Directions that are looked along; planes within this angle have one direction, as cosine.
_DIRECTIONS, _ONE_DIRECTION = 4, 0.9994
#: Circles that are looked at closely, rounds of fitting each, lines along one direction.
_CLOSE, _ROUNDS, _LINES = 20, 4, 3
#: Lines this far apart are not the same.
APART = 0.01
#: A cylinder's radius at most; the line lies in the cloud or not far beside it.
_FARTHEST = 4.0
#: A face or cylinder has so many points, and this share of all.
LEAST, LEAST_SHARE = 8, 0.02
#: Half width and step of the grid of places about which a profile is looked for; the neighbour by which it is
#: judged how near points draw to a curve.
_GRID, _STEP, _NEAR = 1.2, 0.06, 2
_SIMPLEX = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])


@dataclass(frozen=True, eq=False)
class Line:
    """A line: its axes, its place across them, what cylinders about it are worth, and flat faces as well."""

    axes: Array
    centre: Array
    around: float
    worth: float

    def apart(self, other: Line) -> float:
        """Return how far another line passes by, at the middle of the cloud."""
        if abs(self.axes[:, 0] @ other.axes[:, 0]) < _ONE_DIRECTION:
            return 1.0
        return float(np.linalg.norm(self.axes[:, 1:] @ self.centre - other.axes[:, 1:] @ other.centre))


def _worth(off: Array) -> tuple[Array, Array]:
    """Return how much more points lie within a width than chance puts there, and the width that tells most.

    Args:
        off: (m, n) distances of points from m proposals.
    """
    best, width = np.full(len(off), -np.inf), np.zeros(len(off))
    for w in WIDTHS:
        near, around = np.sum(off <= w, axis=1), np.sum(off <= 3.0 * w, axis=1)
        worth = near - (around - near) / 2.0 - 2.0 * np.sqrt(around + 1.0)
        best, width = np.where(worth > best, worth, best), np.where(worth > best, w, width)
    return best, width


def _best(count: int, points: Array, off: Callable[[Indices, Array], Array]) -> tuple[Indices, Array]:
    """Return the numbers of the best proposals, best first, and their widths.

    Args:
        count: of proposals.
        points: that judge them, in random order; a few judge all, all judge the best.
        off: returns the distances (m, n) of points from numbered proposals.
    """
    few = points[:_FIRST_JUDGES]
    parts = [np.arange(k, min(k + _AT_ONCE, count)) for k in range(0, count, _AT_ONCE)]
    first = np.concatenate([_worth(off(part, few))[0] for part in parts])
    chosen = np.argsort(-first, kind="stable")[:_JUDGED]
    worth, width = _worth(off(chosen, points))
    order = np.argsort(-worth, kind="stable")
    return chosen[order], width[order]


def _threes(count: int, rows: int, rng: np.random.Generator) -> Indices:
    return rng.integers(0, rows, (count, 3))


def planes(points: Array, rng: np.random.Generator) -> list[tuple[Array, float]]:
    """Return normals of the planes that most points lie on, and what each is worth."""
    a, b, c = (points[k] for k in _threes(_PLANES, len(points), rng).T)
    normal = np.cross(b - a, c - a)
    length = np.linalg.norm(normal, axis=1)
    is_wide = length > 1e-4
    if not is_wide.any():
        return []
    a, normal = a[is_wide], normal[is_wide] / length[is_wide, None]
    level = np.einsum("ij,ij->i", a, normal)
    order, width = _best(len(normal), points, lambda k, of: np.abs(normal[k] @ of.T - level[k, None]))
    found: list[tuple[Array, float]] = []
    for n, w in zip(order, width, strict=True):
        one, at = normal[n], level[n]
        for _ in range(3):
            mine = points[np.abs(points @ one - at) <= w]
            if len(mine) < LEAST:
                break
            one = np.linalg.svd(mine - mine.mean(axis=0), full_matrices=False)[2][2]
            at = float(mine.mean(axis=0) @ one)
        if len(mine) >= LEAST and all(abs(one @ other) < _ONE_DIRECTION for other, _ in found):
            found.append((one, float(_worth(np.abs(points @ one - at)[None])[0][0])))
        if len(found) == _DIRECTIONS:
            break
    return found


def about(points: Array, direction: Array, worth: float, rng: np.random.Generator) -> list[Line]:
    """Return lines along a direction about which cylinders lie."""
    axes = axes_of(direction)
    seen = points @ axes[:, 1:]
    a, b, c = (seen[k] for k in _threes(_CIRCLES, len(seen), rng).T)
    centre, radius = _circles(a, b, c)
    is_near = radius < _FARTHEST
    centre, radius = centre[is_near], radius[is_near]
    if not len(centre):
        return []

    def off(k: Indices, of: Array) -> Array:
        return np.abs(np.hypot(of[:, 0] - centre[k, :1], of[:, 1] - centre[k, 1:]) - radius[k, None])

    order, width = _best(len(centre), seen, off)
    lines: list[Line] = []
    for n, w in zip(order[:_CLOSE], width, strict=False):
        if len(lines) == _LINES or any(np.hypot(*(line.centre - centre[n])) < APART for line in lines):
            continue
        at, r = centre[n], radius[n]
        for _ in range(_ROUNDS):
            mine = seen[np.abs(np.hypot(*(seen - at).T) - r) <= w]
            if len(mine) < LEAST:
                break
            rows = np.column_stack([2.0 * mine, np.ones(len(mine))])
            x = np.linalg.lstsq(rows, np.sum(mine**2, axis=1), rcond=None)[0]
            at, r = x[:2], float(np.sqrt(max(x[2] + x[:2] @ x[:2], 0.0)))
        around = float(_worth(np.abs(np.hypot(*(seen - at).T) - r)[None])[0][0])
        if around > 0.0 and len(mine) >= max(LEAST, LEAST_SHARE * len(seen)):
            lines.append(Line(axes, at, around, around + max(worth, 0.0)))
    return lines


def _circles(a: Array, b: Array, c: Array) -> tuple[Array, Array]:
    """Return centres and radii of the circles through three places each; infinite for places in a row."""
    u, v = b - a, c - a
    cross = 2.0 * (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
    uu, vv = np.sum(u * u, axis=1), np.sum(v * v, axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        x = np.column_stack([v[:, 1] * uu - u[:, 1] * vv, u[:, 0] * vv - v[:, 0] * uu]) / cross[:, None]
    radius = np.hypot(x[:, 0], x[:, 1])
    return a + x, np.where(np.isfinite(radius), radius, np.inf)


def axes_of(direction: Array) -> Array:
    """Return (3, 3) columns of length 1, square to each other, the first of them the direction."""
    across = np.cross(direction, np.eye(3)[int(np.argmin(np.abs(direction)))])
    across /= np.linalg.norm(across)
    return np.column_stack([direction, across, np.cross(direction, across)])


def drawn(placed: Array) -> tuple[float, Array]:
    """Return the place about which points draw nearest to a curve, and how near, as part of the usual.

    Args:
        placed: (n, 3) along and across a direction.
    """

    def spacing(at: Array) -> float:
        turned = np.column_stack([placed[:, 0], np.hypot(placed[:, 1] - at[0], placed[:, 2] - at[1])])
        return float(np.mean(cKDTree(turned).query(turned, _NEAR + 1)[0][:, -1]))

    ticks = np.arange(-_GRID, _GRID + _STEP / 2.0, _STEP)
    grid = [np.array([x, y]) for x in ticks for y in ticks]
    found = np.array([spacing(at) for at in grid])
    tried = [
        minimize(
            spacing, grid[n], method="Nelder-Mead", options={"initial_simplex": grid[n] + _STEP * _SIMPLEX}
        )
        for n in np.argsort(found)[:_CLOSE]
    ]
    best = min(tried, key=lambda t: float(t.fun))
    return float(best.fun / np.median(found)), np.asarray(best.x)

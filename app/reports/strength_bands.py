"""Stress on a mesh as areas to be filled: what lies at or above each level, and what a case leaves out.

Stress runs straight between the nodes of an element's quarters. Every area's border is followed with the
metal that belongs to it on the left, so that it closes without a gap to its neighbour.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.shape.curve import Array, Flags, Indices
from geometry.shape.section import ZONES, Zone
from geometry.strength.harmonic import von_mises
from geometry.strength.mesh import Mesh

#: From least to greatest: lightness falls by equal steps of CIE L* (95 to 25), so that grey print keeps the
#: order; the hue runs from sand over green and petrol to plum.
SCALE = (
    "#FFEFD3",
    "#DBDEB3",
    "#AACFA0",
    "#71BF9D",
    "#2CACA4",
    "#0096AA",
    "#007DA4",
    "#35638F",
    "#4A4A6E",
    "#47354B",
)
#: Steps between levels that read well, times a power of ten.
_NICE = (1.0, 2.0, 2.5, 5.0, 10.0)
#: This share of the nodes lies below the last level; peaks at single places stand in the last band.
_BELOW = 0.995

#: An element of six nodes as four straight triangles.
_QUARTERS = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]])

Loop = tuple[tuple[float, float], ...]


@dataclass(frozen=True, eq=False)
class Field:
    """A stress at every node of a mesh.

    Attributes:
        values: (n,) MPa.
    """

    mesh: Mesh
    values: Array

    def above(self, level: float) -> list[Loop]:
        """Return the borders (z, r) of the area at or above a level, to be filled even-odd."""
        if not (self.values >= level).any():
            return []
        return _followed(self.mesh, self.values, level)


def greatest(mesh: Mesh, stress: Array) -> Field:
    """Return the greatest von Mises stress of a turn at every node.

    Args:
        mesh: that was solved on.
        stress: (a, m n, 6) at angles that go once round: all that a node may see, n after n.
    """
    worst = von_mises(stress).max(axis=0)
    return Field(mesh, np.asarray(worst.reshape(-1, len(mesh.points)).max(axis=0)))


def levels(fields: Sequence[Field], counted: Sequence[Flags]) -> tuple[float, ...]:
    """Return the bounds between the bands of pictures that share a scale, MPa: one less than colours.

    Args:
        fields: of the pictures.
        counted: (n,) of each, the nodes that the scale is made for.
    """
    most = max(
        float(np.quantile(f.values[c], _BELOW)) if c.any() else 0.0
        for f, c in zip(fields, counted, strict=True)
    )
    count = len(SCALE) - 1
    wanted = max(most, 1e-3) / count
    power = 10.0 ** math.floor(math.log10(wanted))
    step = next(s for s in _NICE if s * power >= wanted * (1.0 - 1e-9)) * power
    return tuple(step * k for k in range(1, count + 1))


def _followed(mesh: Mesh, values: Array, level: float) -> list[Loop]:
    count = len(values)
    inside = values >= level
    quarters = mesh.triangles[:, _QUARTERS].reshape(-1, 3)
    follows: dict[int, int] = {}
    places: dict[int, tuple[float, float]] = {}

    def crossing(a: int, b: int) -> int:
        # Named and placed by its edge alone, so that both neighbours mean the same point.
        low, high = (a, b) if a < b else (b, a)
        key = low * count + high
        if key not in places:
            share = (level - values[low]) / (values[high] - values[low])
            z, r = (mesh.points[low] + share * (mesh.points[high] - mesh.points[low])).tolist()
            places[key] = (z, r)
        return key

    cut = np.flatnonzero(np.isin(inside[quarters].sum(axis=1), (1, 2)))
    for i, j, k in quarters[cut].tolist():
        leaves = enters = -1
        for a, b in ((i, j), (j, k), (k, i)):
            if inside[a] and not inside[b]:
                leaves = crossing(a, b)
            elif inside[b] and not inside[a]:
                enters = crossing(a, b)
        follows[leaves] = enters
    edges = np.vstack([mesh.edges[:, [0, 2]], mesh.edges[:, [2, 1]]])
    for a, b in edges[inside[edges].any(axis=1)].tolist():
        start = a * count + a if inside[a] else crossing(a, b)
        follows[start] = b * count + b if inside[b] else crossing(a, b)
        for node in (a, b):
            z, r = mesh.points[node].tolist()
            places[node * count + node] = (z, r)
    return _loops(follows, places)


def _loops(follows: dict[int, int], places: dict[int, tuple[float, float]]) -> list[Loop]:
    out: list[Loop] = []
    while follows:
        start, at = follows.popitem()
        loop = [places[start]]
        while at != start:
            loop.append(places[at])
            at = follows.pop(at)
        out.append(tuple(loop))
    return out


def zone_of_elements(mesh: Mesh, zone_of_node: Indices) -> Indices:
    """Return (e,) the zone index of the skin that lies nearest to each element's middle."""
    skin = np.flatnonzero(zone_of_node >= 0)
    middle = mesh.points[mesh.triangles[:, :3]].mean(axis=1)
    _, nearest = cKDTree(mesh.points[skin]).query(middle)
    return np.asarray(zone_of_node[skin][nearest], dtype=np.intp)


def elements_of(mesh: Mesh, zone_of_node: Indices, zones: Collection[Zone]) -> Flags:
    """Return (e,) True for elements next to these zones' skin."""
    return np.asarray(np.isin(zone_of_elements(mesh, zone_of_node), [ZONES.index(z) for z in zones]))


def border(mesh: Mesh, chosen: Flags) -> list[Loop]:
    """Return the borders (z, r) of a set of elements, to be filled even-odd.

    Args:
        mesh: that holds them.
        chosen: (e,) True for those of the set.
    """
    corner, middle = mesh.triangles[chosen][:, :3], mesh.triangles[chosen][:, 3:]
    starts, ends, mids = corner.ravel(), np.roll(corner, -1, axis=1).ravel(), middle.ravel()
    sides = {(a, b): m for a, b, m in zip(starts.tolist(), ends.tolist(), mids.tolist(), strict=True)}
    free = {side: m for side, m in sides.items() if side[::-1] not in sides}
    leaving: dict[int, list[tuple[int, int]]] = {}
    for (a, b), m in free.items():
        leaving.setdefault(a, []).append((b, m))
    out: list[Loop] = []
    while leaving:
        start = next(iter(leaving))
        at, loop = start, []
        while True:
            ways = leaving[at]
            end, m = ways.pop()
            if not ways:
                del leaving[at]
            loop += [mesh.points[at].tolist(), mesh.points[m].tolist()]
            at = end
            if at == start:
                break
        out.append(tuple((float(z), float(r)) for z, r in loop))
    return out

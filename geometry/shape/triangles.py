"""Points joined to triangles, and which of these can be reached from outside."""

from __future__ import annotations

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components, minimum_spanning_tree
from scipy.spatial import Delaunay, QhullError

from geometry.errors import GeometryError
from geometry.shape.curve import Array, Flags, Indices


class Triangles:
    """Points joined to triangles; the side k of a triangle lies opposite to its corner k."""

    def __init__(self, points: Array) -> None:
        try:
            # Far off the origin the joining would lose digits.
            net = Delaunay(points - points.mean(axis=0))
        except (QhullError, ValueError):
            raise GeometryError("The points lie on one line; an outline needs three that do not.") from None
        self._points = points
        self._corners = net.simplices
        self._beyond = net.neighbors
        # Corners run counterclockwise, and so do sides.
        self._sides = self._corners[:, [[1, 2], [2, 0], [0, 1]]]
        across = points[self._sides[:, :, 0]] - points[self._sides[:, :, 1]]
        self._lengths = np.hypot(across[:, :, 0], across[:, :, 1])
        self._joined = np.unique(self._corners)
        a, b, c = (points[self._corners[:, k]] for k in range(3))
        self._sizes = np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]) / 2.0

    def longest_branch(self, apart: float) -> float:
        """Return the longest edge of the shortest tree through all points, edges over `apart` left out."""
        ends, first = np.unique(np.sort(self._sides.reshape(-1, 2)), axis=0, return_index=True)
        count = len(self._points)
        net = coo_matrix((self._lengths.ravel()[first], ends.T), shape=(count, count))
        branches = minimum_spanning_tree(net).data
        near = branches[branches <= apart]
        return float(near.max() if len(near) else branches.min())

    def inside(self, step: float) -> Flags:
        """Return which triangles cannot be reached from outside over edges longer than a step."""
        count = len(self._corners)
        triangle, side = np.nonzero(self._lengths > step)
        beyond = self._beyond[triangle, side]
        beyond[beyond < 0] = count
        part = self._parts(triangle, beyond, count + 1)
        return np.asarray(part[:count] != part[count])

    def area(self, inside: Flags) -> float:
        """Return the area of triangles."""
        return float(self._sizes[inside].sum())

    def is_whole(self, inside: Flags, most_bodies: int) -> bool:
        """Return True where no point is left alone, and the triangles make so few bodies."""
        if len(np.unique(self._corners[inside])) < len(self._joined):
            return False
        triangle, side = np.nonzero(inside[:, None] & (self._beyond >= 0) & inside[self._beyond])
        bodies = self._parts(triangle, self._beyond[triangle, side], len(inside))[inside]
        return len(np.unique(bodies)) <= most_bodies

    @staticmethod
    def _parts(a: Indices, b: Indices, count: int) -> Indices:
        net = coo_matrix((np.ones(len(a), dtype=np.int8), (a, b)), shape=(count, count))
        return np.asarray(connected_components(net, directed=False)[1])

    def edge(self, inside: Flags) -> tuple[Indices, float]:
        """Return the (n, 2) numbers of the points along the edge of triangles, and its longest stretch.

        Each stretch has the triangles to its left.
        """
        out = inside[:, None] & ((self._beyond < 0) | ~inside[self._beyond])
        return self._sides[out], float(self._lengths[out].max(initial=0.0))

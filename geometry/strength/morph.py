"""A mesh that follows its skin: interior corners move by the mesh's Laplacian, factored once."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import splu

from geometry.shape.curve import Array, Path
from geometry.strength.mesh import Mesh, moved


class Morph:
    """Moves the inside of one mesh's topology with its skin."""

    def __init__(self, mesh: Mesh) -> None:
        skin, n = len(mesh.edges), mesh.corners
        a, b = mesh.sides.T
        both = np.concatenate([a, b]), np.concatenate([b, a])
        near = coo_matrix((np.ones(2 * len(a)), both), (n, n)).tocsc()
        count = np.asarray(near.sum(axis=1)).ravel()[skin:]
        self._to_skin = near[skin:, :skin]
        own = np.arange(n - skin)
        inner = coo_matrix((count, (own, own)), (n - skin, n - skin)).tocsc() - near[skin:, skin:]
        self._inner = splu(inner.tocsc()) if n > skin else None

    def interior(self, mesh: Mesh, skin: Array) -> Array:
        """Return (k, 2) interior corners of a mesh of this topology after its skin's corners moved, mm."""
        inside = mesh.points[len(mesh.edges) : mesh.corners]
        if self._inner is None:
            return inside
        way = self._inner.solve(np.asarray(self._to_skin @ (skin - mesh.points[: len(mesh.edges)])))
        return np.asarray(inside + way)

    def on(self, mesh: Mesh, path: Path) -> Mesh:
        """Return the mesh on another path of the same pieces."""
        skin = path.at(mesh.start_piece, mesh.start_share)
        return moved(mesh, path, self.interior(mesh, skin))

    def by(self, mesh: Mesh, corner: Array, middle: Array) -> Mesh:
        """Return the mesh with its skin's corners and middles, (b, 2) each, moved by so many mm."""
        skin = mesh.points[: len(mesh.edges)] + corner
        corners = np.vstack([skin, self.interior(mesh, skin)])
        middles = corners[mesh.sides].mean(axis=1)
        middles[mesh.edges[:, 2] - mesh.corners] = mesh.points[mesh.edges[:, 2]] + middle
        return replace(mesh, points=np.vstack([corners, middles]))

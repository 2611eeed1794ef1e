"""Mesh files as triangles, by the suffix of their names: STL, OBJ, PLY and 3MF, in the file's own unit."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from app.files.readers.answer import ReadError
from app.files.readers.mesh_3mf import read_3mf
from app.files.readers.mesh_files import Mesh, check_count, read_stl
from app.files.readers.mesh_obj import read_obj
from app.files.readers.mesh_ply import read_ply

_LOADERS: dict[str, Callable[[bytes], Mesh]] = {
    ".stl": read_stl,
    ".obj": read_obj,
    ".ply": read_ply,
    ".3mf": read_3mf,
}

#: Coordinates beyond this, in whatever unit, are no body: their squares would not be numbers.
_LARGEST = 1e12


def load(data: bytes, suffix: str) -> Mesh:
    """Return the triangles of a mesh file.

    Raises:
        ReadError: the file is damaged, cut off, too large, or holds no triangle.
    """
    mesh = _LOADERS[suffix](data)
    if not len(mesh.triangles):
        raise ReadError("the file holds no triangle; export the body as a mesh of triangles")
    check_count(len(mesh.triangles))
    flat = mesh.triangles.reshape(-1, 9)
    low, high = float(flat.min()), float(flat.max())
    if not np.isfinite(low + high):
        number = int(np.argmin(np.isfinite(flat).all(axis=1)))
        raise ReadError(f"a corner of triangle {number + 1} is not a number; export the body again")
    if max(-low, high) > _LARGEST:
        raise ReadError(
            f"a corner lies too far out: the coordinate {max(-low, high):.3g} is too large for any body; "
            "export it again"
        )
    return mesh

"""Bodies in space: the area that their triangles sweep about the axle, both edges kept."""

from __future__ import annotations

import numpy as np

from app.files.readers.answer import NOT_KNOWN, UNITS, Body, Loop, ReadError, ReadOutline, Request
from app.files.readers.mesh_files import load
from app.files.readers.outlines import bounds_of, size_doubt
from geometry.errors import GeometryError
from geometry.shape.curve import Array
from geometry.shape.envelope import swept
from geometry.shape.mesh import Surface, surface_of

#: Which of the file's coordinates are z of the half-plane and the two across it, in cyclic order.
_AXES = {"x": (0, 1, 2), "y": (1, 2, 0), "z": (2, 0, 1)}

#: A body with fewer triangles than this share of the largest one's is a loose fragment.
_FRAGMENT = 0.01

#: About the size of a brake.
_BRAKE_MM = 250.0

#: Bodies that are named one by one.
_NAMED = 50

# Machine code is made, or found on the disk, before the child's limits are set and a byte is looked at.
_CORNERS = np.array([(0.0, 1.0, 1.0), (1.0, 1.0, 1.0), (0.0, 2.0, 1.0), (0.0, 1.0, 2.0)])
_TINY = _CORNERS[np.array([(0, 2, 1), (0, 1, 3), (0, 3, 2), (1, 2, 3)])]
surface_of(_TINY)
swept(_TINY)


def read_mesh(data: bytes, request: Request, sha256: str) -> ReadOutline:
    """Return the area that the bodies of a mesh file sweep about the axle.

    Raises:
        ReadError: the file is damaged, holds nothing, or its bodies are too large for any brake.
    """
    mesh = load(data, request.suffix)
    return swept_outline(mesh.triangles, mesh.unit, list(mesh.warnings), request, sha256)


def swept_outline(
    triangles: Array, stated: str, warnings: list[str], request: Request, sha256: str
) -> ReadOutline:
    """Return the swept area of triangles in the file's axes and unit.

    Raises:
        ReadError: as read_mesh.
    """
    unit = request.unit or stated
    if request.unit is not None and stated not in (NOT_KNOWN, request.unit):
        warnings.append(f"the file states {stated}; read as {request.unit}, as asked")
    scale = UNITS.get(unit, 1.0)
    if request.axle == "fitted":
        raise ReadError("an axle line is not fitted here; name the coordinate along it: --axle x, y or z")
    placed = triangles[:, :, _AXES[request.axle]] - np.array([0.0, *request.axle_at])
    placed = placed * scale
    surface = surface_of(placed)
    warnings += _words(surface)
    chosen = _chosen(surface, request)
    # Without a unit the numbers may be metres or thousandths: the sweep then works at the size of a brake.
    size = float(np.ptp(placed.reshape(-1, 3), axis=0).max())
    fit = 1.0 if unit != NOT_KNOWN or size <= 0.0 else _BRAKE_MM / size
    loops, tolerance, filled = _swept(placed * fit, surface, chosen)
    loops, tolerance = _rescaled(loops, 1.0 / fit), tolerance / fit
    if filled:
        warnings.append(f"{filled} enclosed voids are filled: nothing can reach into them")
    bounds = bounds_of(loops)
    doubt = size_doubt(bounds, unit) if unit != NOT_KNOWN else ""
    if doubt and request.unit is not None:
        warnings.append(doubt)
    if doubt and request.unit is None:
        # The size speaks against the unit that the file states: the user chooses, from its own numbers.
        unit, loops = NOT_KNOWN, _rescaled(loops, 1.0 / scale)
        bounds = bounds_of(loops)
    return ReadOutline(
        kind="mesh",
        unit=unit,
        loops=loops,
        within=(-1,) * len(loops),
        bounds=bounds,
        sha256=sha256,
        tolerance_mm=tolerance,
        skipped={"triangles without area": surface.degenerate} if surface.degenerate else {},
        bodies=_bodies(triangles * scale, surface),
        unit_doubt=doubt if request.unit is None else "",
        warnings=tuple(warnings),
    )


def _rescaled(loops: tuple[Loop, ...], factor: float) -> tuple[Loop, ...]:
    return tuple(tuple((z * factor, r * factor, bulge) for z, r, bulge in loop) for loop in loops)


def _words(surface: Surface) -> list[str]:
    """Return what is not sound about a surface."""
    said = []
    count = len(surface.triangles)
    if count > 1:
        small = np.flatnonzero(surface.triangles < _FRAGMENT * surface.triangles[0])
        fragments = (
            f"; {len(small)} of them loose fragments, the smallest of {surface.triangles[-1]} triangles"
        )
        said.append(f"{count} bodies" + (fragments if len(small) else ""))
    if surface.open_edges.any():
        said.append(
            f"the surface is open at {int(surface.open_edges.sum())} edges: what is missing is not known"
        )
    if surface.flipped_edges.any():
        said.append(f"triangles are turned the wrong way at {int(surface.flipped_edges.sum())} edges")
    if surface.crowded_edges.any():
        said.append(f"{int(surface.crowded_edges.sum())} edges belong to more than two triangles")
    return said


def _chosen(surface: Surface, request: Request) -> list[int]:
    count = len(surface.triangles)
    missing = [n for n in request.bodies if not 0 <= n < count]
    if missing:
        raise ReadError(f"there is no body {missing[0] + 1}; the file holds {count}")
    return list(request.bodies) or list(range(count))


def _swept(placed: Array, surface: Surface, chosen: list[int]) -> tuple[tuple[Loop, ...], float, int]:
    """Return the loops of the chosen bodies, how far outside they may lie, and the voids filled."""
    try:
        found = swept(placed[np.isin(surface.body, chosen)])
    except GeometryError as error:
        raise ReadError(f"{str(error)[0].lower()}{str(error)[1:]}") from None
    return tuple(tuple(path.rows()) for path in found.outlines), found.tolerance_mm, found.filled


def _bodies(triangles: Array, surface: Surface) -> tuple[Body, ...]:
    found = []
    for n in range(min(len(surface.triangles), _NAMED)):
        corners = triangles[surface.body == n].reshape(-1, 3)
        low, high = corners.min(axis=0).tolist(), corners.max(axis=0).tolist()
        found.append(
            Body(
                int(surface.triangles[n]),
                (low[0], low[1], low[2]),
                (high[0], high[1], high[2]),
                surface.is_closed(n),
            )
        )
    return tuple(found)

"""A section grown by an equal stock all round, its arcs kept as vertices on the true circles."""

from __future__ import annotations

import cmath
import math

import numpy as np
import shapely

from geometry.forging.arcs import FLAT_MM, circles_of
from geometry.forging.areas import largest, united
from geometry.shape.curve import Array, Path

#: What is laid on an edge reaches this far into the metal, so that no crack stays between, mm.
_LAP_MM = 0.01
#: Corners that turn by less are none, rad.
_SMOOTH_RAD = 1e-8


def grown(wheel: Path, by_mm: float) -> tuple[shapely.Polygon, list[tuple[float, float, float]]]:
    """Return all places within a distance of a section, as one polygon, and the circles that can bound it.

    What the growth closes off is filled: no tool comes there.

    Args:
        wheel: closed counterclockwise section.
        by_mm: zero or more; the section itself where zero.
    """
    area = shapely.Polygon(wheel.flattened(FLAT_MM))
    circles = circles_of(wheel)
    if by_mm <= 0.0:
        return area, circles
    circles = circles_of(wheel, by_mm)
    laid = [area]
    starts, ends = _directions(wheel)
    for k, (corner, arrives, leaves) in enumerate(zip(wheel.points, np.roll(ends, 1), starts, strict=True)):
        laid.append(shapely.Polygon(_strip(wheel, k, by_mm)))
        z, r = corner.tolist()
        turn = cmath.phase(complex(leaves) / complex(arrives))
        tight = any(_is_tight(wheel, i, by_mm) for i in (k - 1, k))
        if tight or turn > _SMOOTH_RAD:
            # From the outward direction of the edge before to that of the edge after, or all round.
            start = cmath.phase(complex(arrives) * -1j)
            laid.append(shapely.Polygon(_fan(z, r, by_mm, start, math.tau if tight else turn)))
            circles.append((z, r, by_mm))
    return largest(united(*laid)), circles


def _directions(path: Path) -> tuple[Array, Array]:
    """Return (n,) complex directions at the start and the end of each piece."""
    piece = np.arange(len(path))
    both = [path.tangents(piece, np.full(len(path), share)) for share in (0.0, 1.0)]
    return both[0][:, 0] + 1j * both[0][:, 1], both[1][:, 0] + 1j * both[1][:, 1]


def _is_tight(path: Path, k: int, by: float) -> bool:
    """Return True for a hollow whose radius the growth uses up."""
    return bool(path.sweeps[k] < 0.0 and path.radii[k] <= by)


def _strip(path: Path, k: int, by: float) -> Array:
    """Return the corners of what lies within a distance of one piece, square to it on the outer side."""
    if not path.is_arc[k]:
        start, end = path.points[k], path.ends[k]
        along = (end - start) / max(float(np.hypot(*(end - start))), 1e-12)
        out = np.array([along[1], -along[0]])
        return np.array([start - _LAP_MM * out, start + by * out, end + by * out, end - _LAP_MM * out])
    radius, sweep = float(path.radii[k]), float(path.sweeps[k])
    inner, outer = radius - _LAP_MM, radius + by
    if sweep < 0.0:
        inner, outer = max(radius - by, 0.0), radius + _LAP_MM
    inner = max(inner, 0.0)
    start = float(path.start_angles[k])
    near, far = (_chain(path.centres[k], rim, start, sweep) for rim in (inner, outer))
    return np.vstack([near, far[::-1]])


def _chain(centre: Array, radius: float, start: float, sweep: float) -> Array:
    """Return vertices on an arc, chords within FLAT_MM of it; the centre alone without a radius."""
    if radius <= 0.0:
        return np.asarray(centre, dtype=float).reshape(1, 2)
    step = 2.0 * math.acos(max(1.0 - FLAT_MM / radius, 0.5))
    angles = start + sweep * np.linspace(0.0, 1.0, max(1, math.ceil(abs(sweep) / step)) + 1)
    return np.asarray(centre + radius * np.column_stack([np.cos(angles), np.sin(angles)]))


def _fan(z: float, r: float, radius: float, start: float, sweep: float) -> Array:
    """Return the corners of a sector about a corner; of the whole disc where it sweeps all round."""
    rim = _chain(np.array([z, r]), radius, start, sweep)
    if sweep == math.tau:
        return rim[:-1]
    lap = np.array([[z, r]]) - _LAP_MM * np.array(
        [[math.cos(start + sweep / 2.0), math.sin(start + sweep / 2.0)]]
    )
    return np.vstack([rim, lap])

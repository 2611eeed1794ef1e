"""An axle line fitted to the turned surfaces of a body, and the faces square to it.

The line is found by geometry.shape.axle_lines from the normals of turned surfaces. On a scan, where normals
are noisy, flat faces that lie round it give its direction better: a turned face is square to its axle.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.axle_lines import (
    OUTLIER,
    Line,
    Normals,
    best_line,
    fitted,
    has_area,
    normals_of,
    patches_of,
    turned,
)
from geometry.shape.curve import Array, Flags

#: A turned surface must make up this part of all, and look in so many of 24 directions round the line.
_LEAST_SHARE, _LEAST_SECTORS = 0.015, 7
#: Of the surface that misses the line by three widths or less, this much must miss it by one: else nothing is
#: turned about it, and surface lies there by chance.
_CONTRAST = 0.65
#: Triangles that are enough to fit a line to.
_ENOUGH = 400_000
#: A second line with more than this part of the first one's surface, and farther from it than this part of
#: the body's size, makes the first one doubtful.
_RIVAL, _APART = 0.5, 0.01
#: A face is square to the line where its normal is this close to it, of a drawn body and of a scan: cosine.
_SQUARE, _ABOUT_SQUARE = 0.99999, 0.998
#: A face lies round the axle where it does in so many of 24 directions: more than any part of a caliper does.
_ROUND = 10
#: Faces of less than this part of all surface are no mounting face; how many are told.
_LEAST_FACE, _MOST_FACES = 0.002, 8


@dataclass(frozen=True)
class SquareFace:
    """A flat face square to the axle: z, least and greatest r, area, and how far its triangles lie off."""

    z: float
    r_low: float
    r_high: float
    area: float
    rms: float


@dataclass(frozen=True, eq=False)
class FittedAxle:
    """A line fitted to turned surfaces; lengths in the unit of the corners.

    Attributes:
        through: (3,) its place nearest to the origin.
        direction: (3,) of length 1; which way is outboard cannot be told, its largest part is positive.
        rms: how far the normals of the turned surfaces pass it by.
        share: part of all surface that is turned about it.
        sectors: of 24 directions round it, those in which turned surface was found.
        r_low, r_high: of the turned surface, but for a twentieth at either end.
        by_faces: its direction is that of flat faces round it.
        rival: distance to another line that half as much surface or more is turned about, None for none.
        faces: square to it, largest first; their z is measured from `through`.
    """

    through: Array
    direction: Array
    rms: float
    share: float
    sectors: int
    r_low: float
    r_high: float
    by_faces: bool
    rival: float | None
    faces: tuple[SquareFace, ...]

    def placed(self, corners: Array) -> Array:
        """Return (..., 3) corners in axes of which the first is the axle; its zero is `through`."""
        return np.asarray((corners - self.through) @ _axes(self.direction))


def fit_axle(triangles: Array) -> FittedAxle:
    """Return the axle line of the turned surfaces of (n, 3, 3) corners.

    Raises:
        GeometryError: there is no surface that is turned about one line.
    """
    corners = np.asarray(triangles, dtype=float)
    low, high = corners.reshape(-1, 3).min(axis=0), corners.reshape(-1, 3).max(axis=0)
    middle, size = (low + high) / 2.0, float(np.linalg.norm(high - low))
    corners = (corners - middle) / max(size, 1e-300)
    corners = corners[has_area(corners)]
    if not len(corners):
        raise _none()
    normals = normals_of(corners)
    patches, patch = patches_of(normals, corners)
    rng = np.random.default_rng(7)
    line = best_line(patches, rng)
    if line is None:
        raise _none()
    rival = best_line(patches[~turned(patches, line, _width(line))], rng)
    # The triangles of a drawn body are finer than patches, those of a scan are noise.
    some = normals[rng.random(len(corners)) < _ENOUGH / len(corners)]
    fine = fitted(some, line, _width(line))
    is_clean, by_faces = fine is not None and fine.rms <= line.rms, False
    if fine is not None and is_clean:
        line, of, looks = fine, some, normals.normal
    else:
        of, looks = patches, np.append(patches.normal, np.zeros((1, 3)), axis=0)[patch]
        direction = _direction_of_faces(line, corners, looks)
        by_faces = direction is not None
        line = line if direction is None else fitted(of, line, _width(line), direction) or line
    found = _described(line, of, float((some if is_clean else normals).area.sum()))
    faces = _faces(found, corners, looks, _SQUARE if is_clean else _ABOUT_SQUARE)
    apart = None if rival is None or rival.agreed < _RIVAL * line.agreed else _apart(line, rival)
    through = found.through * size + middle
    return replace(
        found,
        through=through - float(through @ found.direction) * found.direction,
        rms=found.rms * size,
        r_low=found.r_low * size,
        r_high=found.r_high * size,
        by_faces=by_faces,
        rival=None if apart is None or apart < _APART else apart * size,
        faces=tuple(_scaled(face, size, float(middle @ found.direction)) for face in faces),
    )


def _none() -> GeometryError:
    return GeometryError("There is no surface turned about one line; name the coordinate along the axle.")


def _width(line: Line) -> float:
    return max(OUTLIER * line.rms, 1e-4)


def _axes(direction: Array) -> Array:
    """Return (3, 3) columns of length 1, square to each other, the first of them the direction."""
    across = np.cross(direction, np.eye(3)[int(np.argmin(np.abs(direction)))])
    across /= np.linalg.norm(across)
    return np.column_stack([direction, across, np.cross(direction, across)])


def _sectors(y: Array, x: Array, area: Array) -> int:
    """Return in how many of 24 directions there is more than a trace."""
    sector = ((np.arctan2(y, x) / (2.0 * np.pi) + 0.5) * 24.0).astype(np.int64) % 24
    held = np.bincount(sector, weights=area, minlength=24)
    return int(np.count_nonzero(held > 0.01 * held.max(initial=0.0)))


def _described(line: Line, of: Normals, whole: float) -> FittedAxle:
    """Return the line with its turned surface; raise GeometryError where there is too little of it."""
    width = max(OUTLIER * line.rms, 1e-5)
    mine = of[turned(of, line, width)]
    share, near = float(mine.area.sum()), float(of[turned(of, line, 3.0 * width)].area.sum())
    direction = line.a * np.sign(line.a[np.argmax(np.abs(line.a))])
    place = np.cross(line.a, line.b)
    across = (mine.at - place) @ _axes(direction)[:, 1:]
    # By their normals, pointing outwards: those of a plane point one way, however far round it lies.
    out = mine.normal @ _axes(direction)[:, 1:]
    out *= np.sign(np.einsum("ij,ij->i", out, across))[:, None]
    sectors = _sectors(out[:, 1], out[:, 0], mine.area)
    if share < max(_LEAST_SHARE * whole, _CONTRAST * near, 1e-300) or sectors < _LEAST_SECTORS:
        raise _none()
    r = np.hypot(across[:, 0], across[:, 1])
    order = np.argsort(r)
    ends = r[order][np.searchsorted(np.cumsum(mine.area[order]) / share, [0.05, 0.95])]
    return FittedAxle(
        through=place,
        direction=direction,
        rms=line.rms,
        share=share / whole,
        sectors=sectors,
        r_low=float(ends[0]),
        r_high=float(ends[1]),
        by_faces=False,
        rival=None,
        faces=(),
    )


def _apart(line: Line, other: Line) -> float:
    """Return how far another line passes a line by, about the body's middle."""
    place, there = np.cross(line.a, line.b), np.cross(other.a, other.b)
    along = float(other.a @ line.a)
    if abs(along) > 0.3:
        # Where the other one crosses the plane through this one's place, square to it.
        there = there + other.a * float((place - there) @ line.a) / along
    return float(np.linalg.norm(there - place))


# Faces


def _levels(z: Array, area: Array, looks: Array, square: float, width: float) -> list[Flags]:
    """Return the triangles of each face square to the axle, those that look one way or the other apart.

    Args:
        z: (n,) of the triangles.
        area: (n,) of the triangles.
        looks: (n,) cosine between the axle and the normal of each triangle, or of its patch.
        square: least cosine of a face that is square to the axle.
        width: triangles whose z differ by less can be one face.
    """
    found: list[Flags] = []
    for sign in (1.0, -1.0):
        left = sign * looks > square
        while left.any() and len(found) < 4 * _MOST_FACES:
            _, level = np.unique(np.floor((z[left] - z[left].min()) / width), return_inverse=True)
            fullest = level == np.argmax(np.bincount(level, weights=area[left]))
            middle = np.average(z[left][fullest], weights=area[left][fullest])
            mine = left & (np.abs(z - middle) <= 1.5 * width)
            if area[mine].sum() < _LEAST_FACE * area.sum():
                break
            found.append(mine)
            left = left & ~mine
    return found


def _areas(corners: Array) -> Array:
    twice = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return np.asarray(np.linalg.norm(twice, axis=1) / 2.0)


def _face_width(rms: float) -> float:
    return max(2e-4, 3.0 * rms)


def _direction_of_faces(line: Line, corners: Array, looks: Array) -> Array | None:
    """Return the common normal of the faces that lie round a line and square to it; None without any."""
    axes, area = _axes(line.a), _areas(corners)
    placed = (corners.mean(axis=1) - np.cross(line.a, line.b)) @ axes
    z = placed[:, 0]
    slopes, weights = [], []
    for mine in _levels(z, area, looks @ line.a, _ABOUT_SQUARE, _face_width(line.rms)):
        y, x, weight = placed[mine, 1], placed[mine, 2], area[mine]
        if _sectors(y, x, weight) < _ROUND:
            continue
        rows, level = np.column_stack([np.ones(len(y)), y, x]), z[mine]
        keep = np.ones(len(y), dtype=bool)
        for _ in range(3):
            root = np.sqrt(weight[keep])
            plane = np.linalg.lstsq(rows[keep] * root[:, None], level[keep] * root, rcond=None)[0]
            off = np.abs(level - rows @ plane)
            keep = off <= 3.0 * np.sqrt(np.average(off[keep] ** 2, weights=weight[keep])) + 1e-12
        slopes.append(plane[1:])
        # A wide face tells its slope better than a narrow one, by the square of its size.
        weights.append(float(weight @ (y * y + x * x)))
    if not slopes:
        return None
    slope = np.average(np.array(slopes), axis=0, weights=weights)
    direction = axes @ np.array([1.0, -slope[0], -slope[1]])
    return np.asarray(direction / np.linalg.norm(direction))


def _faces(found: FittedAxle, corners: Array, looks: Array, square: float) -> list[SquareFace]:
    placed, area = found.placed(corners), _areas(corners)
    z, r = placed[:, :, 0].mean(axis=1), np.hypot(placed[:, :, 1], placed[:, :, 2])
    faces = []
    for mine in _levels(z, area, looks @ found.direction, square, _face_width(found.rms)):
        weight = area[mine]
        at = float(np.average(z[mine], weights=weight))
        rms = float(np.sqrt(np.average((z[mine] - at) ** 2, weights=weight)))
        faces.append(SquareFace(at, float(r[mine].min()), float(r[mine].max()), float(weight.sum()), rms))
    return sorted(faces, key=lambda face: -face.area)[:_MOST_FACES]


def _scaled(face: SquareFace, size: float, shift: float) -> SquareFace:
    return SquareFace(
        face.z * size + shift, face.r_low * size, face.r_high * size, face.area * size * size, face.rms * size
    )

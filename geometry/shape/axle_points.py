"""The axle line of a cloud of points: flat faces square to it give its direction, turned ones its place.

Single points have no normals. Planes that many points lie on propose directions; along each the line is
looked for in two ways:
    profile   turned about the right line, points of turned surfaces all draw near to one curve in (z, r)
    circles   seen along it, points of cylinders lie on circles; for clouds that hold other surfaces as well
The line is then fitted to its flat faces and to the curve, or the cylinders, at once.

Lengths are parts of the cloud's size, about its middle.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np
from scipy.optimize import least_squares
from scipy.spatial import ConvexHull, QhullError, cKDTree

from geometry.errors import GeometryError
from geometry.shape.axle_proposals import (
    APART,
    LEAST,
    LEAST_SHARE,
    WIDTHS,
    Line,
    about,
    axes_of,
    drawn,
    planes,
)
from geometry.shape.curve import Array, Flags, Indices

#: Points that judge proposals, and that the line is fitted to.
_JUDGES, _ENOUGH = 1500, 2500
#: Lines that are fitted, rounds of fitting.
_CLOSE, _ROUNDS = 3, 4
#: Directions along which a profile is looked for, by so many points; at how much of the usual distance they
#: draw near to a curve.
_LOOKED, _OF_PROFILE, _DRAWN = 3, 300, 0.45
#: Points of a stretch of the curve: so many at least, else this part of all.
_STRETCH, _STRETCHES = 5, 80
#: Of the points within three widths of a face or cylinder, this share lies within one.
_CONTRAST = 0.6
#: Turned surfaces must be seen over this angle round the line together, degrees: about a line far off a
#: straight bar looks turned.
_LEAST_TURN = 60.0
#: Cylinders hold this share of the points, where there is no profile.
_LEAST_TURNED = 0.1
#: Where one face holds more than this share of all, the rest is too little to tell a place.
_MOST_FLAT = 0.8
#: Another line that this share of its turned points lie about makes a line doubtful.
_RIVAL = 0.6
_MOST_FLATS = 8


@dataclass(frozen=True)
class PointFlat:
    """A flat face square to the axle: z, least and greatest r, area of its points' hull, their rms off it."""

    z: float
    r_low: float
    r_high: float
    area: float
    rms: float


@dataclass(frozen=True, eq=False)
class PointAxle:
    """A line fitted to points; lengths in their unit.

    Attributes:
        through: (3,) its place nearest to the origin.
        direction: (3,) of length 1; which way is outboard cannot be told, its largest part is positive.
        rms: how far points usually lie off its faces and turned surfaces.
        share: of the points that lie on these.
        place_error: by how much the line's place beside the cloud is uncertain, one standard deviation.
        angle_error_deg: by how much its direction is.
        turn_deg: angle round it over which turned surfaces are seen.
        r_low, r_high: of these.
        rival: distance to another line that many points agree with, None for none.
        flats: faces square to it, largest first; their z is measured from `through`.
    """

    through: Array
    direction: Array
    rms: float
    share: float
    place_error: float
    angle_error_deg: float
    turn_deg: float
    r_low: float
    r_high: float
    rival: float | None
    flats: tuple[PointFlat, ...]

    def placed(self, points: Array) -> Array:
        """Return (n, 2) places in the half-plane of this axle, z from `through`."""
        off = points - self.through
        along = off @ self.direction
        return np.column_stack([along, np.linalg.norm(off - along[:, None] * self.direction, axis=1)])


def axle_of_points(points: Array) -> PointAxle:
    """Return the axle line of (n, 3) points.

    Raises:
        GeometryError: no line has flat faces square to it and cylinders about it.
    """
    low, high = points.min(axis=0), points.max(axis=0)
    middle, size = (low + high) / 2.0, float(np.linalg.norm(high - low))
    rng = np.random.default_rng(5)
    few = points if len(points) <= _ENOUGH else points[rng.choice(len(points), _ENOUGH, replace=False)]
    scaled = (few - middle) / max(size, 1e-300)
    judges = scaled[rng.permutation(len(scaled))[:_JUDGES]]
    if len(judges) < 3 * LEAST or not size > 0.0:
        raise _none()
    faces = planes(judges, rng)
    fit = _by_profile(scaled, faces, rng)
    if fit is not None:
        return _described(fit, middle, size, None)
    lines = sorted(
        (line for face in faces for line in about(judges, *face, rng)), key=lambda line: -line.worth
    )
    apart: list[Line] = []
    for line in lines:
        if all(line.apart(other) > APART for other in apart):
            apart.append(line)
    found = [
        (fit, line) for line in apart[:_CLOSE] if (fit := _fitted(scaled, line.axes, line.centre, False))
    ]
    if not found:
        raise _none()
    fit, best = max(found, key=lambda pair: int(pair[0].turned.sum()))
    rivals = [line for other, line in found if other.turned.sum() > _RIVAL * fit.turned.sum()]
    off = min((best.apart(line) for line in rivals if line is not best), default=None)
    return _described(fit, middle, size, off)


def _none() -> GeometryError:
    return GeometryError(
        "The points show no turned surface with a flat face square to it; name the coordinate along the axle."
    )


# Profiles


def _by_profile(points: Array, faces: list[tuple[Array, float]], rng: np.random.Generator) -> _Fit | None:
    """Return the line about which all points draw near to one curve, None where there is none."""
    some = points
    if len(points) > _OF_PROFILE:
        some = points[rng.choice(len(points), _OF_PROFILE, replace=False)]
    best: tuple[float, Array, Array] | None = None
    for direction, _ in faces[:_LOOKED]:
        axes = axes_of(direction)
        spread, centre = drawn(some @ axes)
        if spread < _DRAWN and (best is None or spread < best[0]):
            best = spread, axes, centre
    return None if best is None else _fitted(points, best[1], best[2], is_profile=True)


def _stretches(z: Array, r: Array) -> tuple[Indices, Array]:
    """Return for each place the numbers of those of its stretch of the curve, and the normal of that."""
    places = np.column_stack([z, r])
    near = np.asarray(cKDTree(places).query(places, max(_STRETCH, len(places) // _STRETCHES))[1])
    off = places[near] - places[near].mean(axis=1, keepdims=True)
    return near, np.linalg.svd(off, full_matrices=False)[2][:, 1]


# Fitting


@dataclass(frozen=True, eq=False)
class _Fit:
    """A fitted line: axes, a place on it, points along, from and round it, its faces, residuals, errors."""

    axes: Array
    centre: Array
    z: Array
    r: Array
    turn: Array
    flats: list[Flags]
    turned: Flags
    rms: float
    errors: Array


def _placed(points: Array, axes: Array, at: Array) -> tuple[Array, Array, Array]:
    """Return z, r and angle of points about a line of four figures: two tilts and the place across it."""
    direction = axes @ np.array([1.0, at[0], at[1]])
    direction /= np.linalg.norm(direction)
    off = points - axes[:, 1:] @ at[2:]
    z = off @ direction
    across = off - z[:, None] * direction
    y, x = (across @ axes[:, 1:]).T
    return z, np.linalg.norm(across, axis=1), np.arctan2(x, y)


def _fitted(points: Array, axes: Array, centre: Array, is_profile: bool) -> _Fit | None:
    """Return the line fitted to its faces and to the curve or cylinders, None where these are too few."""
    at, width = np.array([0.0, 0.0, *centre]), WIDTHS[-1]
    for _ in range(_ROUNDS):
        z, r, turn = _placed(points, axes, at)
        flats = _levels(z, width)
        cylinders = [] if is_profile else _levels(r, width)
        turned = np.ones(len(points), dtype=np.bool_) if is_profile else _any(cylinders, len(points))
        is_little = np.sum(turned) < _LEAST_TURNED * len(points)
        is_flat = any(np.mean(mine) > _MOST_FLAT for mine in flats)
        if not flats or is_flat or is_little or _seen_deg(turn[turned]) < _LEAST_TURN:
            return None
        curve = _stretches(z, r) if is_profile else None
        off = partial(_off, points, axes, flats, cylinders, curve)
        found = least_squares(off, at, x_scale="jac", loss="soft_l1", f_scale=max(width / 4.0, 1e-9))
        at, rest = found.x, off(found.x)
        # Corners of the curve are no measure of how well the line lies.
        rms = float(1.4826 * np.median(np.abs(rest)))
        width = min(width, max(4.0 * rms, 2e-7))
    close = rest[np.abs(rest) <= 4.0 * rms]
    errors = np.sqrt(np.diag(np.linalg.pinv(found.jac.T @ found.jac)) * np.mean(close**2))
    direction = axes @ np.array([1.0, at[0], at[1]])
    direction /= np.linalg.norm(direction)
    z, r, turn = _placed(points, axes, at)
    return _Fit(axes_of(direction), axes[:, 1:] @ at[2:], z, r, turn, flats, turned, rms, errors)


def _off(
    points: Array,
    axes: Array,
    flats: list[Flags],
    cylinders: list[Flags],
    curve: tuple[Indices, Array] | None,
    at: Array,
) -> Array:
    """Return how far points lie off the faces, cylinders and stretches of the curve of a line."""
    z, r, _ = _placed(points, axes, at)
    parts = [z[mine] - z[mine].mean() for mine in flats]
    parts += [r[mine] - r[mine].mean() for mine in cylinders]
    if curve is not None:
        places, (near, normal) = np.column_stack([z, r]), curve
        parts.append(np.einsum("ij,ij->i", places - places[near].mean(axis=1), normal))
    return np.concatenate(parts)


def _any(parts: list[Flags], count: int) -> Flags:
    return np.asarray(np.any([np.zeros(count, dtype=np.bool_), *parts], axis=0))


def _levels(values: Array, width: float) -> list[Flags]:
    """Return the points of each value that many share within a width, the fullest first."""
    found: list[Flags] = []
    least = max(LEAST, LEAST_SHARE * len(values))
    left = np.sort(values)
    while len(found) < _MOST_FLATS:
        count = np.searchsorted(left, left + 2.0 * width, "right") - np.arange(len(left))
        if not len(left) or count.max() < least:
            break
        first = int(np.argmax(count))
        middle = float(np.median(left[first : first + count[first]]))
        mine, around = np.abs(values - middle) <= width, np.abs(values - middle) <= 3.0 * width
        if np.sum(mine) >= max(least, _CONTRAST * np.sum(around)):
            found.append(mine)
        left = left[np.abs(left - middle) > 3.0 * width]
    return found


def _seen_deg(turn: Array) -> float:
    """Return the angle about the line over which points are seen, in steps of 5 degrees."""
    return 5.0 * len(np.unique(np.floor(np.degrees(turn) / 5.0)))


def _described(fit: _Fit, middle: Array, size: float, rival: float | None) -> PointAxle:
    direction = fit.axes[:, 0] * np.sign(fit.axes[np.argmax(np.abs(fit.axes[:, 0])), 0])
    place = fit.centre * size + middle
    through = place - float(place @ direction) * direction
    # z of the fit is measured from its centre along its own direction.
    sign, base = float(np.sign(direction @ fit.axes[:, 0])), float(place @ direction)
    flats = []
    for mine in fit.flats:
        z, r = base + sign * fit.z[mine] * size, fit.r[mine] * size
        at = float(z.mean())
        flats.append(
            PointFlat(
                at,
                float(r.min()),
                float(r.max()),
                _hull(r, fit.turn[mine]),
                float(np.sqrt(np.mean((z - at) ** 2))),
            )
        )
    radii = fit.r[fit.turned] * size
    return PointAxle(
        through=through,
        direction=direction,
        rms=fit.rms * size,
        share=float(np.mean(_any([*fit.flats, fit.turned], len(fit.z)))),
        place_error=float(np.hypot(*fit.errors[2:])) * size,
        angle_error_deg=float(np.degrees(np.hypot(*fit.errors[:2]))),
        turn_deg=_seen_deg(fit.turn[fit.turned]),
        r_low=float(radii.min()),
        r_high=float(radii.max()),
        rival=None if rival is None else rival * size,
        flats=tuple(sorted(flats, key=lambda flat: -flat.area)),
    )


def _hull(r: Array, turn: Array) -> float:
    """Return the area of the hull of places in a plane square to the line; 0 for places in a row."""
    try:
        return float(ConvexHull(np.column_stack([r * np.cos(turn), r * np.sin(turn)])).volume)
    except QhullError:
        return 0.0

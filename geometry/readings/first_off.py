"""Measured points of a finished wheel held against its nominal section: shift, and form apart from it.

The deviation of a point is its distance from the nominal skin, + outside the metal (surplus), - inside it
(missing). The shift is the one of all points together, along the axle and away from it, that makes the sum
of squares of the deviations least (Gauss-Newton on the normals of the skin; the skin nearest to each point
is sought anew at each step). What is left is form error.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from geometry.errors import GeometryError
from geometry.readings.rows import Place
from geometry.shape.curve import Array, Flags, Indices
from geometry.shape.distance import contains, fraction_at, nearest_of
from geometry.shape.section import ZONES, Outline

#: Steps of the fit, and when it stands still, mm.
_MOST_STEPS, _STILL_MM = 100, 1e-10
#: A direction of shift that the normals of the skin together share less than this of is not determined.
_LEAST_SHARE = 0.01
#: Fewer points than this show neither shift nor form.
LEAST_POINTS = 3


@dataclass(frozen=True)
class ZoneDeviation:
    """Signed deviation of a zone's points, mm, with the places (z, r) of the least and the greatest."""

    zone: str
    count: int
    least_mm: float
    mean_mm: float
    greatest_mm: float
    least_at: Place
    greatest_at: Place


@dataclass(frozen=True)
class Deviation:
    """How points lie to the nominal skin.

    Attributes:
        zones: in the order of the outline.
        mm: (n,) of each point. feet: (n, 2) nearest places of the skin.
        rms_mm: root of their mean square. form_mm: greatest less least.
    """

    zones: tuple[ZoneDeviation, ...]
    mm: Array
    feet: Array
    rms_mm: float
    form_mm: float


@dataclass(frozen=True)
class FirstOff:
    """A measured section against the nominal one.

    Attributes:
        points: (n, 2) that were held against it, as measured, (z, r).
        dz_mm, dr_mm: how far the measured section lies outboard of the nominal one, and away from the axle.
        not_determined: directions, "z" or "r", in which these points show no shift; it is 0 there.
        measured, shifted: deviations as measured, and with the shift taken out.
        left_out: how many points lay farther from the skin than the reach.
        not_measured: zones without a point.
    """

    points: Array
    dz_mm: float
    dr_mm: float
    not_determined: tuple[str, ...]
    measured: Deviation
    shifted: Deviation
    left_out: int
    not_measured: tuple[str, ...]


def first_off(outline: Outline, points: Array, reach_mm: float = 3.0, ball_mm: float = 0.0) -> FirstOff:
    """Return how measured points lie to an outline, with and without their shift.

    Args:
        outline: the nominal section, in the frame of the points.
        points: (n, 2) measured places (z, r), mm.
        reach_mm: points farther from the skin are left out and counted.
        ball_mm: radius of the probe ball whose centres the points are; 0 for places of the skin itself.

    Raises:
        GeometryError: too few points lie within reach.
    """
    points = np.asarray(points, dtype=float).reshape(-1, 2)
    far = np.abs(_signed(outline, points)[0] - ball_mm) > reach_mm
    kept = points[~far]
    if len(kept) < LEAST_POINTS:
        raise GeometryError(
            f"{len(kept)} of {len(points)} points lie within {reach_mm:g} mm of the nominal section; at "
            f"least {LEAST_POINTS} are needed. Check unit, datum and axle of the points, or reach farther."
        )
    shift, open_ways = _best_shift(outline, kept, ball_mm)
    measured = _deviation(outline, kept, ball_mm)
    seen = {zone.zone for zone in measured.zones}
    every = [str(ZONES[k]) for k in dict.fromkeys(outline.zone[outline.skin].tolist())]
    return FirstOff(
        points=kept,
        dz_mm=float(shift[0]),
        dr_mm=float(shift[1]),
        not_determined=open_ways,
        measured=measured,
        shifted=_deviation(outline, kept - shift, ball_mm),
        left_out=int(far.sum()),
        not_measured=tuple(zone for zone in every if zone not in seen),
    )


def _signed(outline: Outline, points: Array) -> tuple[Array, Array, Indices]:
    """Return signed distance (m,), nearest place (m, 2) and piece (m,) of the skin."""
    distance, near, piece = nearest_of(outline.path, np.flatnonzero(outline.skin), points)
    inside: Flags = contains(outline.path, points)
    return np.where(inside, -distance, distance), near, piece


def _normals(outline: Outline, points: Array, signed: Array, near: Array, piece: Indices) -> Array:
    """Return (m, 2) directions in which the deviation of each point grows fastest."""
    share = np.array([fraction_at(outline.path, int(k), at) for k, at in zip(piece, near, strict=True)])
    along = outline.path.tangents(piece, share)
    normals = np.column_stack([along[:, 1], -along[:, 0]])  # metal lies to the left
    clear = np.abs(signed) > 1e-6
    normals[clear] = (points[clear] - near[clear]) / signed[clear, None]
    return normals


def _best_shift(outline: Outline, points: Array, ball_mm: float) -> tuple[Array, tuple[str, ...]]:
    """Return (2,) the shift, and the directions that the points do not determine."""
    shift = np.zeros(2)
    ways: tuple[str, ...] = ()
    for _ in range(_MOST_STEPS):
        signed, near, piece = _signed(outline, points - shift)
        normals = _normals(outline, points - shift, signed, near, piece)
        shares = (normals**2).mean(axis=0)
        free = shares >= _LEAST_SHARE
        moment = normals.T @ normals / len(points)
        if free.all() and np.linalg.eigvalsh(moment)[0] < _LEAST_SHARE:
            free[int(np.argmin(shares))] = False  # all on one slope: only the shift across it shows
        ways = tuple(way for way, is_free in zip("zr", free.tolist(), strict=True) if not is_free)
        step = np.zeros(2)
        if free.any():
            step[free] = np.linalg.lstsq(normals[:, free], signed - ball_mm, rcond=None)[0]
        shift = shift + step
        if float(np.abs(step).max()) < _STILL_MM:
            break
    shift[[way in ways for way in "zr"]] = 0.0
    return shift, ways


def _deviation(outline: Outline, points: Array, ball_mm: float) -> Deviation:
    signed, near, piece = _signed(outline, points)
    signed = signed - ball_mm
    zone = outline.zone[piece]
    rows = []
    for k in dict.fromkeys(outline.zone[outline.skin].tolist()):
        of = np.flatnonzero(zone == k)
        if len(of) == 0:
            continue
        low, high = of[int(np.argmin(signed[of]))], of[int(np.argmax(signed[of]))]
        rows.append(
            ZoneDeviation(
                str(ZONES[k]),
                len(of),
                float(signed[low]),
                float(signed[of].mean()),
                float(signed[high]),
                (float(near[low, 0]), float(near[low, 1])),
                (float(near[high, 0]), float(near[high, 1])),
            )
        )
    return Deviation(
        tuple(rows),
        signed,
        near,
        math.sqrt(float((signed**2).mean())),
        float(signed.max() - signed.min()),
    )

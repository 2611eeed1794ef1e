"""Which side of a wheel the metal round it is cut from, as areas of the half-section.

The words are those of `geometry.forging.removal` (bore, outside, face, inside, pocket, undercut), but that
metal beyond either end of the wheel along the axle goes with that end over the whole ring: it is faced off,
and so is what stands before the hub face within the bore.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.forging.areas import split, united
from geometry.shape.curve import Array

#: The corner between bore and hub face is no larger, mm.
_CORNER_MM = 5.0
#: Beyond any blank, mm.
_FAR_MM = 20000.0


@dataclass(frozen=True, eq=False)
class Sides:
    """Metal round a wheel by the side that it is cut from.

    Attributes:
        brake: bore, inside and all beyond the inboard end.
        street: face and all beyond the outboard end.
        plug: within the bore, outboard of the hub face: bored through from the brake side, or faced off.
        outside: beyond the wheel as seen from the axle.
        undercut: between metal of the wheel on all four sides.
    """

    brake: BaseGeometry
    street: BaseGeometry
    plug: BaseGeometry
    outside: BaseGeometry
    undercut: BaseGeometry


def parted(free: BaseGeometry, wheel: shapely.Polygon) -> Sides:
    """Return the metal round a wheel, parted by looking from each place along and square to the axle.

    Args:
        free: metal to be cut, outside the wheel.
        wheel: one polygon without holes.
    """
    z_low, r_low, z_high, r_high = wheel.bounds
    rows = np.asarray(shapely.geometry.polygon.orient(wheel, 1.0).exterior.coords)
    before = {way: _shadow(rows, way) for way in (-1.0, 1.0, -1j, 1j)}
    bore, rest = split(free, shapely.box(-_FAR_MM, -_FAR_MM, _FAR_MM, max(r_low, 0.0)))
    hub = wheel.intersection(shapely.box(-_FAR_MM, -_FAR_MM, _FAR_MM, max(r_low, 0.0) + _CORNER_MM))
    plug, bore = split(bore, shapely.box(hub.bounds[2], -_FAR_MM, _FAR_MM, _FAR_MM))
    inboard, rest = split(rest, shapely.box(-_FAR_MM, -_FAR_MM, z_low, _FAR_MM))
    outboard, rest = split(rest, shapely.box(z_high, -_FAR_MM, _FAR_MM, _FAR_MM))
    under, outside = split(rest, before[-1j])
    beyond, under = split(under, shapely.box(-_FAR_MM, r_high, _FAR_MM, _FAR_MM))
    behind, face = split(under, before[-1.0])
    behind, inside = split(behind, before[1.0])
    undercut, pocket = split(behind, before[1j])
    innermost = float(rows[np.argmin(rows[:, 1]), 0])
    pocket_in, pocket_out = split(pocket, shapely.box(-_FAR_MM, -_FAR_MM, innermost, _FAR_MM))
    return Sides(
        brake=united(bore, inboard, inside, pocket_in),
        street=united(outboard, face, pocket_out),
        plug=plug,
        outside=united(outside, beyond),
        undercut=undercut,
    )


def _shadow(rows: Array, way: complex) -> BaseGeometry:
    """Return all places from which a counterclockwise ring is seen looking against a direction along an axis.

    Args:
        rows: (n, 2) closed ring, last row as the first.
        way: direction in which the shadow falls, +-1 along z, +-1j along r.
    """
    places = rows[:, 0] + 1j * rows[:, 1]
    # Outward of an edge lies to its right: those that look back along the way cast the shadow.
    outward = np.diff(places) * -1j
    faces = (outward * np.conjugate(way)).real < 0.0
    n = len(faces)
    if not faces.any():
        return shapely.Polygon()
    first = next(k for k in range(n) if faces[k] and not faces[k - 1])
    chains: list[list[complex]] = []
    for k in range(first, first + n):
        at = k % n
        if not faces[at]:
            continue
        if k == first or not faces[at - 1]:
            chains.append([complex(places[at])])
        chains[-1].append(complex(places[at + 1]))
    swept = []
    for chain in chains:
        corners = [*chain, *(place + way * _FAR_MM for place in reversed(chain))]
        swept.append(shapely.Polygon([(place.real, place.imag) for place in corners]))
    return united(*swept)

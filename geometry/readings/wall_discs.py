"""The largest disc in the metal that touches the skin at a place, exact on lines and arcs.

A disc that touches the skin at p lies on the inward unit normal n: its centre is p + rho n. It grows until
something stops it, and each thing that can gives rho in closed form (tangency written out and solved):

    line (point a, inward normal m)     rho = (p - a).m / (1 - n.m)
    arc (centre q, signed radius R)     rho = (d.d - R^2) / (2 (R - d.n)), d = p - q;  R + fillet, - convex
    corner v                            rho = -(p - v).(p - v) / (2 (p - v).n)

provided the contact lies on the piece. A convex arc that carries p stops the disc at its own radius; it then
touches along the whole arc. A smooth neighbour never stops a disc: two tangent curves share one point.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.readings.wall_skin import Skin
from geometry.shape.curve import Array, Flags, Indices
from geometry.tolerances import WALL_CONTACT_DEG

#: Contacts of one disc agree in radius to this, mm: rounding of coordinates of some hundred mm.
TIE_MM = 1e-9

#: A station this near to an end of its piece is at the end; a contact may lie this far beyond its line.
NEAR_MM = 1e-9

#: A contact may lie this far beyond its arc, mm.
_ON_ARC_MM = 1e-11

#: 1 - cos of faces so near to parallel, looking the same way, that they share no disc met in a wheel.
_PARALLEL = 1e-12

CONTACT_RAD = float(np.deg2rad(WALL_CONTACT_DEG))
COS_CONTACT = float(np.cos(CONTACT_RAD))

#: Cosines between contacts are right to this.
COS_SLACK = 1e-9


@dataclass(frozen=True, eq=False)
class Stations:
    """Places on the skin with an inward normal.

    Attributes:
        place, normal: (m, 2).
        row: (m,) piece, or number of pieces + fan, that carries the station.
    """

    place: Array
    normal: Array
    row: Indices


@dataclass(frozen=True, eq=False)
class Discs:
    """Largest discs at m stations, and the k contacts that stop them.

    Attributes:
        radius: (m,) mm, infinite where nothing stops the disc.
        capped: (m,) stopped by the convex arc that carries the station.
        counted: (m,) two contacts are far enough apart for a wall.
        of: (k,) station of each contact, rising; column: (k,) what is touched.
        direction: (k, 2) unit direction from the disc's centre to the contact.
        cosine: (k,) of the angle between this contact and the station; for a capped disc the station is
            taken where the arc lies farthest from the contact.
    """

    radius: Array
    capped: Flags
    counted: Flags
    of: Indices
    column: Indices
    direction: Array
    cosine: Array

    @property
    def across(self) -> Flags:
        """(k,) True for contacts far enough from the station for a wall."""
        far: Flags = self.cosine <= COS_CONTACT + COS_SLACK
        return far


def reach(skin: Skin, at: Stations) -> Array:
    """Return (m, columns) radii at which each column alone stops the disc of each station, infinite if never."""
    lines, elements = len(skin.lines), skin.elements
    rho = np.empty((len(at.row), skin.zones.shape[0]))
    pz, pr = at.place[:, :1], at.place[:, 1:]
    nz, nr = at.normal[:, :1], at.normal[:, 1:]
    with np.errstate(divide="ignore", invalid="ignore"):
        facing = 1.0 - at.normal @ skin.normal.T
        line = (at.place @ skin.normal.T - skin.offset) / facing
        t = at.place @ skin.along.T - skin.start + line * (at.normal @ skin.along.T)
        on = (facing > _PARALLEL) & (line > 0.0) & (t >= -NEAR_MM) & (t <= skin.length + NEAR_MM)
        rho[:, :lines] = np.where(on, line, np.inf)

        dz, dr = pz - skin.centre[:, 0], pr - skin.centre[:, 1]
        arc = (dz * dz + dr * dr - skin.radius**2) / (2.0 * (skin.radius - dz * nz - dr * nr))
        # Distance between the centres, negative where the disc would swallow a convex arc.
        apart = np.where(skin.radius < 0.0, -1.0, 1.0) * (skin.radius + arc)
        toward = (dz + arc * nz) * skin.middle[:, 0] + (dr + arc * nr) * skin.middle[:, 1]
        on = (arc > 0.0) & (apart >= -_ON_ARC_MM) & (toward >= apart * skin.cos_half - _ON_ARC_MM)
        rho[:, lines:elements] = np.where(on, arc, np.inf)

        joint = skin.path.points[skin.corners]
        dz, dr = pz - joint[:, 0], pr - joint[:, 1]
        behind = dz * nz + dr * nr
        rho[:, elements:] = np.where(behind < 0.0, (dz * dz + dr * dr) / (-2.0 * behind), np.inf)
    rho[skin.apart[at.row]] = np.inf
    _at_sharp_ends(skin, at, rho)
    return rho


def _at_sharp_ends(skin: Skin, at: Stations, rho: Array) -> None:
    """At a sharp end the neighbour leaves no disc at a convex corner and never touches at a re-entrant one."""
    n = len(skin.path)
    row = np.minimum(at.row, n - 1)
    after = (row + 1) % n
    for joint, neighbour in ((row, row - 1), (after, after)):
        sharp = np.flatnonzero((skin.pieces.turn[joint] != 0) & (at.row < n))
        if not len(sharp):
            continue
        gap = np.abs(at.place[sharp] - skin.path.points[joint[sharp]]).max(axis=1)
        there = sharp[gap < NEAR_MM]
        column = skin.column[neighbour[there]]
        there, column = there[column >= 0], column[column >= 0]
        convex = skin.pieces.turn[joint[there]] > 0
        rho[there, column] = np.where(convex, 0.0, np.inf)


def discs(skin: Skin, at: Stations, rho: Array) -> Discs:
    """Return the largest discs of stations from their `reach`."""
    n = len(skin.path)
    least = rho.min(axis=1)
    signed = np.where(at.row < n, skin.pieces.signed[np.minimum(at.row, n - 1)], np.inf)
    own = np.where(signed < 0.0, -signed, np.inf)
    capped = own <= least + TIE_MM
    radius = np.minimum(least, own)
    of, column = np.nonzero(rho <= np.where(np.isfinite(radius), radius + TIE_MM, -1.0)[:, None])
    direction = directions(skin, at, radius, of, column)
    cosine = -np.sum(at.normal[of] * direction, axis=1)
    counted = np.zeros(len(radius), dtype=bool)
    round_ = np.flatnonzero(capped[of])
    if len(round_):
        piece = at.row[of[round_]]
        beside = np.sum(direction[round_] * skin.run_middle[piece], axis=1)
        cosine[round_] = np.cos(np.minimum(np.arccos(np.clip(beside, -1, 1)) + skin.run_half[piece], np.pi))
    alone = np.flatnonzero(capped)
    counted[alone] = 2.0 * skin.run_half[at.row[alone]] >= CONTACT_RAD - COS_SLACK
    counted[of[cosine <= COS_CONTACT + COS_SLACK]] = True
    if skin.crosses_axle:
        # By symmetry no disc of the whole wheel has its centre beyond the axle line.
        beyond = at.place[:, 1] + radius * at.normal[:, 1] < 0.0
        radius = np.where(beyond, at.place[:, 1] / np.where(beyond, -at.normal[:, 1], 1.0), radius)
        counted &= ~beyond
        capped &= ~beyond
    return Discs(radius, capped, counted, of, column, direction, cosine)


def directions(skin: Skin, at: Stations, radius: Array, of: Indices, column: Indices) -> Array:
    """Return (k, 2) unit directions from the centre of station `of`'s disc to its contact with `column`."""
    lines, elements = len(skin.lines), skin.elements
    rho = radius[of][:, None]
    centre = at.place[of] + rho * at.normal[of]
    out = np.empty((len(of), 2))
    straight, joint = column < lines, column >= elements
    out[straight] = -skin.normal[column[straight]]
    out[joint] = _unit(skin.path.points[skin.corners[column[joint] - elements]] - centre[joint])
    k = np.flatnonzero(~straight & ~joint)
    if len(k):
        arc = column[k] - lines
        between = skin.radius[arc] + radius[of[k]]
        away = (centre[k] - skin.centre[arc]) / np.where(np.abs(between) > TIE_MM, -between, 1.0)[:, None]
        # A disc that fills a convex arc touches all of it: its middle stands for it.
        out[k] = np.where((np.abs(between) > TIE_MM)[:, None], away, skin.middle[arc])
    return out


def _unit(v: Array) -> Array:
    length = np.hypot(v[:, 0], v[:, 1])[:, None]
    return v / np.where(length > 0.0, length, 1.0)

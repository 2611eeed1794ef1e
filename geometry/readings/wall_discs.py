"""The largest disc in the metal that touches the skin at a place, exact on lines and arcs.

A disc that touches the skin at p lies on the inward unit normal n: its centre is p + rho n. It grows until
something stops it, and each thing that can gives rho in closed form (tangency written out and solved):

    line (point a, inward normal m)     rho = (p - a).m / (1 - n.m)
    arc (centre q, signed radius R)     rho = (d.d - R^2) / (2 (R - d.n)), d = p - q;  R + fillet, - convex
    re-entrant corner v                 rho = -(p - v).(p - v) / (2 (p - v).n), the arc of radius zero

provided the contact lies on the piece. A convex arc that carries p stops the disc at its own radius; it then
touches along the whole arc. A smooth neighbour never stops a disc: two tangent curves share one point.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.readings.wall_skin import SAME_CIRCLE_MM, Skin, cells, dot
from geometry.shape.curve import Array, Flags, Indices
from geometry.tolerances import WALL_CONTACT_DEG

#: Contacts of one disc agree in radius to this, mm: rounding of coordinates of some hundred mm.
TIE_MM = 1e-8

#: A station this near to an end of its piece is at the end; a contact may lie this far beyond its element.
NEAR_MM = 1e-8

#: 1 - cos of faces so near to parallel, looking the same way, that they share no disc met in a wheel.
_PARALLEL = 1e-12

#: Stations are taken in blocks of so many cells: small products stay on one core, temporaries in the cache.
_BLOCK_CELLS = 20_000

CONTACT_RAD = float(np.deg2rad(WALL_CONTACT_DEG))

#: Cosine of the least contact angle, with the slack of computed cosines.
FAR = float(np.cos(CONTACT_RAD)) + 1e-9


@dataclass(frozen=True, eq=False)
class Stations:
    """Places on the skin: place and inward unit normal (m, 2), and the row (m,) that carries each."""

    place: Array
    normal: Array
    row: Indices


@dataclass(frozen=True, eq=False)
class Discs:
    """Largest discs at m stations, and the k contacts that stop them.

    Attributes:
        radius: (m,) mm.
        capped: (m,) stopped by the convex arc that carries the station.
        counted: (m,) two contacts are far enough apart for a wall.
        of: (k,) station of each contact, rising; element: (k,) what is touched.
        cosine: (k,) of the angle between this contact and the station; for a capped disc the station is
            taken where the arc lies farthest from the contact.
    """

    radius: Array
    capped: Flags
    counted: Flags
    of: Indices
    element: Indices
    cosine: Array


@dataclass(frozen=True, eq=False)
class Reach:
    """How far the discs of m stations grow before each element alone stops them.

    Attributes:
        radius: (m, elements) mm, infinite if never.
        opening: (m, elements) 1 - n.m for lines, R - d.n for arcs and fans: 1 - cosine of the angle between
            station and contact is this, for the latter over R + rho.
    """

    radius: Array
    opening: Array

    def cosines(self, skin: Skin, of: Indices, element: Indices) -> Array:
        """Return (k,) cosines of the angles between stations and contacts; NaN where a disc fills the arc."""
        lever = np.where(element < len(skin.lines), 1.0, skin.size[element] + self.radius[of, element])
        with np.errstate(divide="ignore", invalid="ignore"):
            cosine: Array = 1.0 - self.opening[of, element] / lever
        return cosine


def reach(skin: Skin, at: Stations) -> Reach:
    """Return how far the discs of the stations grow before each element stops them."""
    count = len(at.row)
    rho, opening = np.empty((2, count, skin.elements))
    step = max(_BLOCK_CELLS // skin.elements, 1)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for first in range(0, count, step):
            rows = slice(first, first + step)
            _reach_block(skin, at.place[rows], at.normal[rows], rho[rows], opening[rows])
    np.copyto(rho, np.inf, where=skin.apart[at.row])
    _at_sharp_ends(skin, at, rho)
    return Reach(rho, opening)


def _reach_block(skin: Skin, place: Array, normal: Array, rho: Array, opening: Array) -> None:
    lines = len(skin.lines)
    ones = np.ones((len(place), 1))
    homogeneous = np.hstack([place, ones])
    facing = np.subtract(1.0, normal @ skin.line_height[:2], out=opening[:, :lines])
    np.divide(homogeneous @ skin.line_height, facing, out=rho[:, :lines])

    # d.d - R^2 = w.w + 2 |R| w.m from the arc's crest, m to it from the centre: exact however flat the arc.
    w2 = place[:, 0].copy()[:, None] - skin.crest[:, 0].copy()
    w2 *= w2
    dr = place[:, 1].copy()[:, None] - skin.crest[:, 1].copy()
    dr *= dr
    w2 += dr
    height = homogeneous @ skin.arc_height
    height *= np.abs(2.0 * skin.radius)
    w2 += height
    w2 *= 0.5
    # R - d.n with d.n = p.n - q.n
    facing = np.hstack([normal, -dot(place, normal)[:, None], ones]) @ skin.arc_facing
    opening[:, lines:] = facing
    np.divide(w2, facing, out=rho[:, lines:])

    off = rho <= 0.0
    for sides in (skin.past_start, skin.short_of_end):
        within = normal @ sides[:2]
        within *= rho
        within += homogeneous @ sides
        off |= ~(within >= -NEAR_MM)
    off[:, :lines] |= opening[:, :lines] <= _PARALLEL
    off[:, lines:] |= rho[:, lines:] > skin.largest + NEAR_MM
    np.copyto(rho, np.inf, where=off)


def _at_sharp_ends(skin: Skin, at: Stations, rho: Array) -> None:
    """At a sharp end the neighbour leaves no disc if the corner is convex and never touches if re-entrant."""
    p = skin.pieces
    piece = np.flatnonzero(at.row < len(p.source))
    row = at.row[piece]
    for joint, neighbour in ((row, p.before), (p.after[row], p.after)):
        sharp = np.flatnonzero(p.turn[joint] != 0)
        gap = np.abs(at.place[piece[sharp]] - p.start[joint[sharp]])
        there = sharp[(gap[:, 0] < NEAR_MM) & (gap[:, 1] < NEAR_MM)]
        stop = np.where(p.turn[joint[there]] > 0, 0.0, np.inf)
        rho[piece[there], skin.element[neighbour[row[there]]]] = stop


def discs(skin: Skin, at: Stations, reached: Reach) -> Discs:
    """Return the largest discs of stations from their `reach`."""
    n = len(skin.pieces.source)
    least = reached.radius.min(axis=1)
    signed = np.where(at.row < n, skin.pieces.signed[np.minimum(at.row, n - 1)], np.inf)
    own = np.where(signed < 0.0, -signed, np.inf)
    capped = own <= least + TIE_MM
    radius = np.minimum(least, own)
    of, element = cells(reached.radius <= (radius + TIE_MM)[:, None])
    cosine = reached.cosines(skin, of, element)
    counted = np.zeros(len(radius), dtype=bool)
    if capped.any():
        alone = np.flatnonzero(capped)
        counted[alone] = 2.0 * skin.run_half[at.row[alone]] >= CONTACT_RAD - 1e-9
        k = np.flatnonzero(capped[of])
        s = of[k]
        piece = at.row[s]
        direction = directions(skin, at.place[s] + radius[s][:, None] * at.normal[s], radius[s], element[k])
        beside = np.arccos(np.clip(dot(direction, skin.run_middle[piece]), -1.0, 1.0))
        cosine[k] = np.cos(np.minimum(beside + skin.run_half[piece], np.pi))
    counted[of[cosine <= FAR]] = True
    return Discs(radius, capped, counted, of, element, cosine)


def directions(skin: Skin, centre: Array, radius: Array, element: Indices) -> Array:
    """Return (k, 2) unit directions from the centres (k, 2) of discs to their contacts with the elements."""
    lines = len(skin.lines)
    out = np.empty((len(element), 2))
    straight = element < lines
    out[straight] = -skin.normal[element[straight]]
    k = np.flatnonzero(~straight)
    arc = element[k] - lines
    between = (skin.radius[arc] + radius[k])[:, None]
    apart = np.abs(between) > SAME_CIRCLE_MM
    away = (skin.centre[arc] - centre[k]) / np.where(apart, between, 1.0)
    # A disc that fills a convex arc touches all of it: its middle stands for it.
    out[k] = np.where(apart, away, skin.middle[arc])
    return out

"""Wall by zone: diameter of the largest disc in the metal that touches the skin.

A disc counts where two of its contacts are at least tolerances.WALL_CONTACT_DEG apart, seen from its centre;
it counts for the zones of both. A zone without a counted disc has no finding. The disc reads the metal that
carries load across a joint or taper; beside it stands the gauge reading, the length along the normal.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from geometry.compiled import compiled
from geometry.readings.wall_discs import (
    direction,
    is_wall,
    largest,
    station,
)
from geometry.readings.wall_gauge import gauges
from geometry.readings.wall_search import ACROSS_Z, AT_NZ, AT_Z, EQUAL_MM, LEAST, read_least
from geometry.readings.wall_skin import SOURCE, Bits, skin_of
from geometry.shape.curve import Array, Flags, Indices
from geometry.shape.section import Outline


class WallFinding(NamedTuple):
    """Least wall of one zone.

    Attributes:
        zone: index into geometry.shape.section.ZONES.
        least_mm: diameter of the smallest counted disc.
        gauge_mm: length along the inward normal from `at` to where it leaves the metal.
        at: (z, r) on the zone's skin; across: (z, r) of the disc's far contact.
    """

    zone: int
    least_mm: float
    gauge_mm: float
    at: tuple[float, float]
    across: tuple[float, float]


@dataclass(frozen=True, eq=False)
class WallsAt:
    """Discs at m stations.

    Attributes:
        diameter_mm: (m,) of the largest disc in the metal.
        counted: (m,) True where it is a wall.
        partner: (m,) piece touched farthest from the station; its own where its convex arc stops the disc.
        across: (m, 2) that contact; the station itself without one.
    """

    diameter_mm: Array
    counted: Flags
    partner: Indices
    across: Array


def walls(outline: Outline) -> list[WallFinding]:
    """Return the least wall of every zone that has one, in the order of ZONES; exact (see wall_search)."""
    found, _ = read_walls(outline)
    out = []
    for zone, (least, gauge, z, r, far_z, far_r) in enumerate(found.tolist()):
        if least < math.inf:
            # At a knife edge the disc shrinks to a point, and so does the normal.
            gauge = gauge if least > EQUAL_MM else least
            out.append(WallFinding(zone, least, gauge, (z, r), (far_z, far_r)))
    return out


@lru_cache(maxsize=2)
def read_walls(outline: Outline) -> tuple[Array, Array]:
    """Return what _with_gauges does; it is kept, since the walls along the skin rest on it too."""
    skin = skin_of(outline)
    return _with_gauges(skin.table, skin.links, skin.apart, skin.blocks, skin.upper)


@compiled
def _with_gauges(e: Array, links: Indices, apart: Bits, blocks: Array, upper: int) -> tuple[Array, Array]:
    """Return (zones, 6) least wall, gauge reading, z and r where it was read and across; and the middles.

    Those are read_least's, by the row of the piece.
    """
    found, middles = read_least(e, links, apart, blocks, upper)
    out, at = np.empty((len(found), 6)), np.empty((len(found), 4))
    for zone in range(len(found)):
        out[zone, 0] = found[zone, LEAST]
        for c in range(2):
            at[zone, c] = out[zone, 2 + c] = found[zone, AT_Z + c]
            out[zone, 4 + c] = found[zone, ACROSS_Z + c]
            at[zone, 2 + c] = found[zone, AT_NZ + c]
    out[:, 1] = gauges(e, at)
    return out, middles


def wall_at(outline: Outline, piece: Indices, t: Array) -> WallsAt:
    """Return the largest discs at fractions t (m,), 0 to 1 along the length, of named skin pieces (m,)."""
    skin = skin_of(outline)
    of, at = np.ascontiguousarray(piece, dtype=np.intp), np.ascontiguousarray(t, dtype=float)
    count = len(outline.path)
    found = discs_at(of, at, count, skin.table, skin.links, skin.apart, skin.blocks, skin.upper)
    partner = skin.links[found[:, 2].astype(np.intp), SOURCE]
    return WallsAt(found[:, 0], found[:, 1] > 0.0, partner, found[:, 3:])


@compiled
def rows_of(links: Indices, upper: int, pieces: int) -> Indices:
    """Return (pieces,) the row of each piece of an outline in its Skin's tables; 0 where it is no skin."""
    row = np.zeros(pieces, dtype=np.intp)
    for k in range(upper):
        row[links[k, SOURCE]] = k
    return row


@compiled
def discs_at(
    piece: Indices,
    t: Array,
    pieces: int,
    e: Array,
    links: Indices,
    apart: Bits,
    blocks: Array,
    upper: int,
) -> Array:
    """Return (m, 5) diameter, 1 where it is counted else 0, element touched farthest off, and z, r there.

    Of the discs that wall_at describes, on an outline of so many pieces, from the parts of its Skin.
    """
    row = rows_of(links, upper, pieces)
    out, contacts, count = np.empty((len(piece), 5)), np.empty((len(e), 3)), 0
    for m in range(len(piece)):
        own = row[piece[m]]
        at = station(e, own, t[m])
        hint = int(contacts[0, 0]) if count else own
        radius, capped, count = largest(e, links, apart, blocks, own, at, contacts, hint)
        z, r = at[0] + radius * at[2], at[1] + radius * at[3]
        counts = is_wall(e, own, capped, contacts, count)
        least, partner, across = np.inf, own, (at[0], at[1])
        for c in range(count):
            if contacts[c, 1] <= least:
                least, partner = contacts[c, 1], int(contacts[c, 0])
                uz, ur = direction(e, partner, z, r, radius)
                across = (z + radius * uz, r + radius * ur)
        out[m, 0] = 2.0 * radius
        out[m, 1] = counts
        out[m, 2] = partner
        out[m, 3] = across[0]
        out[m, 4] = across[1]
    return out

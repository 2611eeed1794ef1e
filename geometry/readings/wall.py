"""Wall by zone: diameter of the largest disc in the metal that touches the skin.

A disc counts where two of its contacts are at least tolerances.WALL_CONTACT_DEG apart, seen from its centre;
it counts for the zones of both. A zone without a counted disc has no finding. The disc reads the metal that
carries load across a joint or taper; beside it stands the gauge reading, the length along the normal.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from geometry.compiled import compiled
from geometry.readings.wall_discs import (
    CONTACT_RAD,
    FAR,
    direction,
    largest,
    station,
)
from geometry.readings.wall_gauge import gauges
from geometry.readings.wall_search import AT_NR, AT_NZ, AT_R, AT_Z, EQUAL_MM, least_readings
from geometry.readings.wall_skin import RUN_HALF, SOURCE, skin_of
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
    skin = skin_of(outline)
    found = least_readings(skin)
    at = np.ascontiguousarray(found[:, [AT_Z, AT_R, AT_NZ, AT_NR]])
    length = gauges(skin.table, at).tolist()
    out = []
    for zone, (least, _, z, r, far_z, far_r, _, _) in enumerate(found.tolist()):
        if least < math.inf:
            # At a knife edge the disc shrinks to a point, and so does the normal.
            gauge = length[zone] if least > EQUAL_MM else least
            out.append(WallFinding(zone, least, gauge, (z, r), (far_z, far_r)))
    return out


def wall_at(outline: Outline, piece: Indices, t: Array) -> WallsAt:
    """Return the largest discs at fractions t (m,), 0 to 1 along the length, of named skin pieces (m,)."""
    skin = skin_of(outline)
    row = np.zeros(len(outline.path), dtype=np.intp)
    row[skin.links[: skin.upper, SOURCE]] = np.arange(skin.upper)
    found = np.empty((len(piece), 5))
    at = np.ascontiguousarray(t, dtype=float)
    contacts = np.empty((len(skin.table), 3))
    _at(found, row[piece], at, skin.table, skin.links, skin.apart, skin.blocks, contacts)
    partner = skin.links[found[:, 2].astype(np.intp), SOURCE]
    return WallsAt(found[:, 0], found[:, 1] > 0.0, partner, found[:, 3:])


@compiled
def _at(
    out: Array,
    row: Indices,
    t: Array,
    e: Array,
    links: Indices,
    apart: Flags,
    blocks: Array,
    contacts: Array,
) -> None:
    """Write diameter, 1 where it is counted else 0, element touched farthest off, and the contact there."""
    count = 0
    for m in range(len(row)):
        own = row[m]
        at = station(e, own, t[m])
        hint = int(contacts[0, 0]) if count else own
        radius, capped, count = largest(e, links, apart, blocks, own, at, contacts, hint)
        z, r = at[0] + radius * at[2], at[1] + radius * at[3]
        least, partner, across = np.inf, own, (at[0], at[1])
        for c in range(count):
            if contacts[c, 1] <= least:
                least, partner = contacts[c, 1], int(contacts[c, 0])
                uz, ur = direction(e, partner, z, r, radius)
                across = (z + radius * uz, r + radius * ur)
        out[m, 0] = 2.0 * radius
        out[m, 1] = least <= FAR or (capped and 2.0 * e[own, RUN_HALF] >= CONTACT_RAD - 1e-9)
        out[m, 2] = partner
        out[m, 3] = across[0]
        out[m, 4] = across[1]

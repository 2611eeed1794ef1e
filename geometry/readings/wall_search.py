"""Search for the least wall of every zone.

Joints and middles of pieces first; then, where they could lower a zone, common normals, discs at the least
contact angle, and places where a third element stops the disc.
"""

from __future__ import annotations

import math

import numpy as np

from geometry.compiled import compiled
from geometry.readings.wall_discs import (
    CONTACT_RAD,
    FAR,
    IN_METAL_MM,
    Station,
    direction,
    in_metal,
    is_wall,
    largest,
    station,
    stop,
)
from geometry.readings.wall_limits import pair_limits, third_contacts
from geometry.readings.wall_skin import (
    BEFORE,
    BEND,
    BLOCK,
    ER,
    EZ,
    FAN,
    HALF,
    KR,
    KZ,
    MR,
    MZ,
    NR,
    NZ,
    ROOM,
    RUN_HALF,
    RUN_R,
    RUN_Z,
    SR,
    SZ,
    TURN,
    ZONE_A,
    ZONE_B,
    Bits,
    Skin,
    is_marked,
    mark,
    meets,
    meets_block,
    pair_bits,
)
from geometry.shape.curve import Array, Indices
from geometry.shape.section import ZONES

# Columns of the readings, one row to a zone: least diameter and, of the disc that is shown, its diameter, its
# contact with the zone's skin, its far contact, and the inward normal at the first.
LEAST, SHOWN, AT_Z, AT_R, ACROSS_Z, ACROSS_R, AT_NZ, AT_NR = range(8)

#: A wall this much thinner, mm, is worth another look; readings are exact to it.
_LOWER_MM = 1e-8

#: Of places whose walls agree to this, mm, the first along z and r is shown, whatever the vertex order.
EQUAL_MM = 1e-7

Place = tuple[float, float]


def least_readings(skin: Skin) -> Array:
    """Return (zones, 8) the least reading of every zone, columns LEAST ... ACROSS_R; infinite where none is.

    Joints and middles of pieces come first. A pair of elements is least at an end or at one of its limits;
    where that leaves the metal, a third element decides.
    """
    return read_least(skin.table, skin.links, skin.apart, skin.blocks, skin.upper)[0]


@compiled
def read_least(e: Array, links: Indices, apart: Bits, blocks: Array, upper: int) -> tuple[Array, Array]:
    """Return what least_readings does, from the parts of a Skin, and what was read at middles of pieces.

    That is (upper,) the diameter of the disc there, NaN where it is no wall, infinite where none was read.
    """
    count = len(e)
    middles = np.full(upper, np.inf)
    found = np.full((len(ZONES), 8), np.inf)
    stations = np.empty((3 * upper, 3), dtype=np.intp)
    stations = stations[: _first_stations(stations, e, links, upper)]
    radius = np.empty(len(stations))
    _read_stations(found, radius, middles, e, links, apart, blocks, stations, np.empty((count, 3)))
    caps, sunk = np.empty((count, 2)), pair_bits(count)
    _cap(caps, e, links, found)
    highest = np.zeros((len(blocks), 2))
    _raise(highest, caps)
    _mark_sunk(sunk, e, apart, blocks, highest, caps, stations, radius)
    _read_pairs(found, e, links, apart, blocks, highest, caps, sunk, np.empty((6, 3)))
    return found, middles


@compiled
def _offer(found: Array, zone: int, diameter: float, at: Station, across: Station) -> None:
    """Take a reading of a zone where it is the least; of equal ones the first along z, then r, is shown."""
    if not diameter <= found[zone, LEAST] + EQUAL_MM:
        return
    found[zone, LEAST] = min(found[zone, LEAST], diameter)
    # A place on the mirror image beyond the axle line stands for its own mirror image.
    side = -1.0 if at[1] < 0.0 else 1.0
    reading = (at[0], side * at[1], across[0], side * across[1], at[2], side * at[3])
    if found[zone, SHOWN] <= found[zone, LEAST] + EQUAL_MM:
        # Places are told apart to 1e-6 mm.
        dz = np.rint(1e6 * reading[0]) - np.rint(1e6 * found[zone, AT_Z])
        dr = np.rint(1e6 * reading[1]) - np.rint(1e6 * found[zone, AT_R])
        if dz > 0.0 or (dz == 0.0 and dr >= 0.0):
            return
    found[zone, SHOWN] = diameter
    for c in range(6):
        found[zone, AT_Z + c] = reading[c]


@compiled
def _offer_both(found: Array, links: Indices, k: int, diameter: float, at: Station, across: Station) -> None:
    """Offer a reading to both zones of an element."""
    _offer(found, links[k, ZONE_A], diameter, at, across)
    if links[k, ZONE_B] != links[k, ZONE_A]:
        _offer(found, links[k, ZONE_B], diameter, at, across)


@compiled
def _first_stations(out: Indices, e: Array, links: Indices, upper: int) -> int:
    """Write joints and middles of the upper skin: piece, 0 its start, 1 middle or 2 end, and a sharer.

    A smooth joint is one station, carried by the piece whose arc holds the disc tighter and shared by the
    other; a sharp one is two, and a re-entrant one is shared by its fan. Without a sharer the piece stands
    twice. A fillet's middle is no place where a wall can be least. Returns how many they are.
    """
    count = 0
    for k in range(upper):
        before, fan = links[k, BEFORE], links[k, FAN]
        smooth = links[k, TURN] == 0 and fan < 0
        starts = e[k, ROOM] <= e[before, ROOM]
        for where in range(3):
            row = before if where == 2 else k
            if where == 1:
                shared, wanted = k, e[k, BEND] <= 0.0
            elif smooth:
                shared, wanted = k if where == 2 else before, starts == (where == 0)
            else:
                shared, wanted = fan if fan >= 0 else row, True
            if wanted:
                out[count, 0] = row
                out[count, 1] = where
                out[count, 2] = shared
                count += 1
    return count


@compiled
def _read_stations(
    found: Array,
    radii: Array,
    middles: Array,
    e: Array,
    links: Indices,
    apart: Bits,
    blocks: Array,
    stations: Indices,
    contacts: Array,
) -> None:
    """Offer the disc of each station to the zones of both contacts, where it counts.

    Writes the radii and, of middles of pieces, the walls.
    """
    count = 0
    for m in range(len(stations)):
        row, shared = stations[m, 0], stations[m, 2]
        at = station(e, row, 0.5 * stations[m, 1])
        hint = int(contacts[0, 0]) if count else row
        radius, capped, count = largest(e, links, apart, blocks, row, at, contacts, hint)
        radii[m] = radius
        if stations[m, 1] == 1:
            middles[row] = 2.0 * radius if is_wall(e, row, capped, contacts, count) else np.nan
        centre = (at[0] + radius * at[2], at[1] + radius * at[3])
        if capped:
            _read_round(found, e, links, row, shared, at, contacts, count, centre, radius)
            continue
        for c in range(count):
            if contacts[c, 1] <= FAR:
                k = int(contacts[c, 0])
                uz, ur = direction(e, k, centre[0], centre[1], radius)
                far = (centre[0] + radius * uz, centre[1] + radius * ur, -uz, -ur)
                _offer_both(found, links, row, 2.0 * radius, at, far)
                _offer_both(found, links, shared, 2.0 * radius, at, far)
                _offer_both(found, links, k, 2.0 * radius, far, at)


@compiled
def _offer_across(
    found: Array, links: Indices, k: int, centre: Place, radius: float, one: Place, other: Place
) -> None:
    """Offer a disc to the zones of element k, which it touches in the first of two directions."""
    z, r = centre
    at = (z + radius * one[0], r + radius * one[1], -one[0], -one[1])
    across = (z + radius * other[0], r + radius * other[1], -other[0], -other[1])
    _offer_both(found, links, k, 2.0 * radius, at, across)


@compiled
def _read_round(
    found: Array,
    e: Array,
    links: Indices,
    row: int,
    shared: int,
    at: Station,
    contacts: Array,
    count: int,
    centre: Place,
    radius: float,
) -> None:
    """Offer a disc that fills the convex run of arcs under a station."""
    half, middle = e[row, RUN_HALF], math.atan2(e[row, RUN_R], e[row, RUN_Z])
    first = (math.cos(middle - half), math.sin(middle - half))
    last = (math.cos(middle + half), math.sin(middle + half))
    here = (-at[2], -at[3])
    # The neighbour that shares the joint has it for itself where another contact is far enough from there.
    beside = shared != row
    if 2.0 * half >= CONTACT_RAD - 1e-9:
        past_middle = _turned(middle, here[0], here[1]) >= 0.0
        near, far = (last, first) if past_middle else (first, last)
        _offer_across(found, links, row, centre, radius, near, far)
    for far in (last, first):
        if beside and here[0] * far[0] + here[1] * far[1] <= FAR:
            _offer_across(found, links, shared, centre, radius, here, far)
    for c in range(count):
        if contacts[c, 1] > FAR:
            continue
        k = int(contacts[c, 0])
        far = direction(e, k, centre[0], centre[1], radius)
        opposite = middle + min(max(_turned(middle, -far[0], -far[1]), -half), half)
        near = (math.cos(opposite), math.sin(opposite))
        _offer_across(found, links, row, centre, radius, near, far)
        _offer_across(found, links, k, centre, radius, far, near)
        if beside and here[0] * far[0] + here[1] * far[1] <= FAR:
            _offer_across(found, links, shared, centre, radius, here, far)


@compiled
def _turned(middle: float, z: float, r: float) -> float:
    """Return the angle, rad, from -pi to pi, of a direction from the one at the angle `middle`."""
    return (math.atan2(r, z) - middle + math.pi) % (2.0 * math.pi) - math.pi


@compiled
def _cap(caps: Array, e: Array, links: Indices, found: Array) -> None:
    """Write the radius below which a disc would lower a wall of each element, and the element's room.

    The room is a radius that no disc on the element exceeds: its own if a convex arc; infinite if not known.
    Where a line's zone has no wall yet, joints v of the skin before it give one: the disc at p on the line
    stops there at |p - v|^2 / (2 (v - p).n), convex along the line, so that the larger value of its two ends
    holds for all of it.
    """
    for k in range(len(e)):
        least = max(found[links[k, ZONE_A], LEAST], found[links[k, ZONE_B], LEAST])
        room = e[k, ROOM]
        if e[k, BEND] == 0.0 and least == np.inf:
            for v in range(len(e)):
                z, r = e[v, SZ], e[v, SR]
                height = (z - e[k, KZ]) * e[k, NZ] + (r - e[k, KR]) * e[k, NR]
                if height > _LOWER_MM:
                    to_start = (z - e[k, SZ]) ** 2 + (r - e[k, SR]) ** 2
                    to_end = (z - e[k, EZ]) ** 2 + (r - e[k, ER]) ** 2
                    room = min(room, max(to_start, to_end) / (2.0 * height))
        caps[k, 0] = min((least - _LOWER_MM) / 2.0, room)
        caps[k, 1] = room


@compiled
def _limit(caps: Array, i: int, j: int) -> float:
    """Return the radius below which a disc that touches two elements would lower a wall."""
    limit: float = min(max(caps[i, 0], caps[j, 0]), min(caps[i, 1], caps[j, 1]))
    return limit


@compiled
def _raise(highest: Array, caps: Array) -> None:
    """Write the highest caps of every block: above zero, as all of them are."""
    for k in range(len(caps)):
        for c in range(2):
            highest[k // BLOCK, c] = max(highest[k // BLOCK, c], caps[k, c])


@compiled
def _most(caps: Array, highest: Array, i: int, b: int) -> float:
    """Return what no `_limit` of an element with one of a block is above."""
    return _least_of(caps[i, 0], caps[i, 1], highest, b)


@compiled
def _least_of(cap: float, room: float, highest: Array, b: int) -> float:
    """Return what `_most` does, from the caps of the element, or the highest of several."""
    # Plain comparisons: min and max would ask for NaN, of which there is none.
    above = highest[b, 0] if highest[b, 0] > cap else cap
    within: float = highest[b, 1] if highest[b, 1] < room else room
    return above if above < within else within


@compiled
def _near(e: Array, i: int, j: int, limit: float) -> bool:
    """Return True where a disc of that radius may reach two elements, held in the circles on their chords."""
    dz, dr = e[i, MZ] - e[j, MZ], e[i, MR] - e[j, MR]
    return bool(dz * dz + dr * dr < (e[i, HALF] + e[j, HALF] + 2.0 * limit) ** 2)


@compiled
def _mark_sunk(
    sunk: Bits,
    e: Array,
    apart: Bits,
    blocks: Array,
    highest: Array,
    caps: Array,
    stations: Indices,
    radius: Array,
) -> None:
    """Mark pairs whose disc at an end of one would lower a wall but does not lie in the metal."""
    for m in range(len(stations)):
        row, shared = stations[m, 0], stations[m, 2]
        at = station(e, row, 0.5 * stations[m, 1])
        cap, room = max(caps[row, 0], caps[shared, 0]), max(caps[row, 1], caps[shared, 1])
        if room <= radius[m]:
            continue
        for b in range(len(blocks)):
            # No disc that would lower a wall of the block is larger: it lies in this one.
            most = _least_of(cap, room, highest, b)
            if most <= radius[m]:
                continue
            centre = (at[0] + most * at[2], at[1] + most * at[3])
            if not meets_block(blocks, b, centre[0], centre[1], most):
                continue
            for k in range(BLOCK * b, min(BLOCK * (b + 1), len(e))):
                if not meets(e, k, centre[0], centre[1], most) or is_marked(apart, row, k):
                    continue
                limit = max(_limit(caps, row, k), _limit(caps, shared, k))
                if limit <= radius[m]:
                    continue
                rho, versine = stop(e, k, at, limit)
                if radius[m] + IN_METAL_MM < rho < limit and 1.0 - versine <= FAR:
                    for one in (row, shared):
                        if one != k and rho < _limit(caps, one, k):
                            mark(sunk, min(one, k), max(one, k))


@compiled
def _read_pairs(
    found: Array,
    e: Array,
    links: Indices,
    apart: Bits,
    blocks: Array,
    highest: Array,
    caps: Array,
    sunk: Bits,
    discs: Array,
) -> None:
    """Offer the limits of pairs of elements; where there are any or the pair is sunk, third contacts too."""
    straight = np.empty(len(blocks), dtype=np.bool_)
    for b in range(len(blocks)):
        straight[b] = np.all(e[BLOCK * b : BLOCK * (b + 1), BEND] == 0.0)
    for i in range(len(e)):
        z, r = e[i, MZ], e[i, MR]
        is_line = e[i, BEND] == 0.0 and not np.any(sunk[i])
        for b in range((i + 1) // BLOCK, len(blocks)):
            # Two lines have no limit of their own.
            if is_line and straight[b]:
                continue
            # A disc below the limit touches both of a pair; the disc of a sunk one does so too.
            if not meets_block(blocks, b, z, r, e[i, HALF] + 2.0 * _most(caps, highest, i, b)):
                continue
            for j in range(max(i + 1, BLOCK * b), min(BLOCK * (b + 1), len(e))):
                wanted = is_marked(sunk, i, j)
                if not wanted and e[i, BEND] == 0.0 and e[j, BEND] == 0.0:
                    continue
                limit = _limit(caps, i, j)
                # First, at -1, the pair's own limits; then each element as the third.
                for k in range(-1, len(e)):
                    count = 0
                    if k < 0:
                        if (e[i, BEND] != 0.0 or e[j, BEND] != 0.0) and _near(e, i, j, limit):
                            count = pair_limits(e, i, j, limit, discs)
                            wanted = wanted or count > 0
                    elif not wanted:
                        break
                    elif k not in (i, j) and _near(e, i, k, limit) and _near(e, j, k, limit):
                        count = third_contacts(e, i, j, k, limit, discs)
                    for m in range(count):
                        _read_disc(found, e, links, apart, blocks, i, j, discs[m])


@compiled
def _read_disc(
    found: Array,
    e: Array,
    links: Indices,
    apart: Bits,
    blocks: Array,
    one: int,
    other: int,
    disc: Array,
) -> None:
    """Offer a disc (z, r, radius) that touches two elements to the zones of both, where it is a wall."""
    z, r, radius = disc
    uz, ur = direction(e, one, z, r, radius)
    vz, vr = direction(e, other, z, r, radius)
    if uz * vz + ur * vr > FAR:
        return
    at = (z + radius * uz, r + radius * ur, -uz, -ur)
    if in_metal(e, links, apart, blocks, one, at, radius):
        across = (z + radius * vz, r + radius * vr, -vz, -vr)
        _offer_both(found, links, one, 2.0 * radius, at, across)
        _offer_both(found, links, other, 2.0 * radius, across, at)

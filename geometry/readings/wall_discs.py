"""The largest disc in the metal that touches the skin at a place, exact on lines and arcs.

A disc that touches the skin at p lies on the inward unit normal n: its centre is p + rho n. It grows until
something stops it. Its radius there is that at which the centre's height over the element (see wall_skin) is
h rho + k rho^2 / 2, and the squares of rho cancel:

    rho = (k w.w / 2 + h w.N) / (h (1 - n.N) - k w.n),    w = p - K

provided the contact lies on the element. For a line it is the distance to it over 1 - n.N, for a re-entrant
corner at v it is -|p - v|^2 / (2 (p - v).n). The divisor, over h + k rho, is 1 - cosine of the angle between
station and contact, seen from the centre.

A convex arc that carries p stops the disc at its own radius; it then touches along the whole arc. A smooth
neighbour never stops a disc: two tangent curves share one point.
"""

from __future__ import annotations

import math

import numpy as np

from geometry.compiled import compiled
from geometry.readings.wall_skin import (
    AFTER,
    BEFORE,
    BEND,
    BLOCK,
    ENR,
    ENZ,
    ER,
    EZ,
    HALF,
    KR,
    KZ,
    NR,
    NZ,
    ROOM,
    RUN_HALF,
    RUN_R,
    RUN_Z,
    SAME_CIRCLE_MM,
    SNR,
    SNZ,
    SR,
    SWEPT,
    SZ,
    TURN,
    WEIGHT,
    Bits,
    Form,
    is_marked,
    meets,
    meets_block,
)
from geometry.shape.curve import Array, Indices
from geometry.tolerances import WALL_CONTACT_DEG

#: A place on the skin and the inward unit normal there: z, r of each.
Station = tuple[float, float, float, float]

#: Contacts of one disc agree in radius to this, mm: rounding of coordinates of some hundred mm.
TIE_MM = 1e-8

#: A station this near to an end of its piece is at the end; a contact may lie this far beyond its element.
_NEAR_MM = 1e-8

#: A disc touches what it lies this near to, mm; more is a solution lost in rounding.
_TANGENT_MM = 1e-7

#: A disc that leaves the metal by less than this, mm, lies in it: rounding of its closed form.
IN_METAL_MM = 1e-8

#: 1 - cos of faces so near to parallel, looking the same way, that they share no disc met in a wheel.
_PARALLEL = 1e-12

CONTACT_RAD = math.radians(WALL_CONTACT_DEG)

#: Cosine of the least contact angle, with the slack of computed cosines.
FAR = math.cos(CONTACT_RAD) + 1e-9


@compiled
def form_of(e: Array, k: int) -> Form:
    """Return what stands in the equation of element k."""
    return e[k, KZ], e[k, KR], e[k, NZ], e[k, NR], e[k, BEND], e[k, WEIGHT]


@compiled
def station(e: Array, k: int, t: float) -> Station:
    """Return the place at a fraction t, 0 to 1 along the length, of piece k, and the inward normal there."""
    # Ends are exact, so that joints are recognised.
    if t == 0.0:
        return e[k, SZ], e[k, SR], e[k, SNZ], e[k, SNR]
    if t == 1.0:
        return e[k, EZ], e[k, ER], e[k, ENZ], e[k, ENR]
    kz, kr, nz, nr, bend, _ = form_of(e, k)
    # From the middle along a chord of length 2 R sin(turn / 2), half a turn from the tangent there.
    turn = e[k, SWEPT] * (t - 0.5)
    cosine, sine = math.cos(0.5 * turn), math.sin(0.5 * turn)
    chord = 2.0 * sine / bend if bend != 0.0 else -2.0 * e[k, HALF] * (t - 0.5)
    z, r = kz - chord * (nr * cosine + nz * sine), kr + chord * (nz * cosine - nr * sine)
    cosine, sine = math.cos(turn), math.sin(turn)
    return z, r, nz * cosine - nr * sine, nr * cosine + nz * sine


@compiled
def _height(form: Form, z: float, r: float) -> float:
    """Return the height of a place over an element."""
    kz, kr, nz, nr, bend, weight = form
    wz, wr = z - kz, r - kr
    return 0.5 * bend * (wz * wz + wr * wr) + weight * (wz * nz + wr * nr)


@compiled
def _facing(form: Form, at: Station) -> float:
    """Return the divisor of the radius at which an element stops the disc at a station."""
    kz, kr, nz, nr, bend, weight = form
    return weight * (1.0 - at[2] * nz - at[3] * nr) - bend * ((at[0] - kz) * at[2] + (at[1] - kr) * at[3])


@compiled
def within_ends(e: Array, k: int, z: float, r: float) -> bool:
    """Return True where a place lies between the normals at the ends of element k."""
    # The direction of travel lies to the right of the normal.
    past_start = (z - e[k, SZ]) * e[k, SNR] - (r - e[k, SR]) * e[k, SNZ]
    short_of_end = (r - e[k, ER]) * e[k, ENZ] - (z - e[k, EZ]) * e[k, ENR]
    return bool(past_start >= -_NEAR_MM and short_of_end >= -_NEAR_MM)


@compiled
def stop(e: Array, k: int, at: Station, limit: float) -> tuple[float, float]:
    """Return the radius, mm, at which element k stops the disc at a station, and 1 - cosine of the contact.

    The radius is infinite where it is above the limit or the element never stops the disc.
    """
    form = form_of(e, k)
    height, facing = _height(form, at[0], at[1]), _facing(form, at)
    if facing <= _PARALLEL or height <= 0.0 or height > limit * facing:
        return np.inf, 0.0
    rho = height / facing
    if rho > e[k, ROOM] + _NEAR_MM or not within_ends(e, k, at[0] + rho * at[2], at[1] + rho * at[3]):
        return np.inf, 0.0
    lever = form[5] + form[4] * rho
    if abs(lever) > SAME_CIRCLE_MM * abs(form[4]):
        return rho, facing / lever
    # A disc that fills a convex arc touches all of it: its far end counts.
    beside = math.acos(min(max(at[2] * form[2] + at[3] * form[3], -1.0), 1.0))
    return rho, 1.0 - math.cos(min(beside + 0.5 * abs(e[k, SWEPT]), math.pi))


@compiled
def _sharp_end(e: Array, links: Indices, row: int, at: Station) -> tuple[int, int]:
    """Return the neighbour of the element that carries a station, where it stands at their sharp joint.

    Also returns the turn there, +1 convex, -1 re-entrant; (-1, 0) elsewhere. A convex corner leaves no disc;
    at a re-entrant one the neighbour never touches it.
    """
    if e[row, WEIGHT] > 0.0:
        for end in range(2):
            neighbour = links[row, BEFORE] if end == 0 else links[row, AFTER]
            joint = row if end == 0 else neighbour
            there = abs(at[0] - e[joint, SZ]) < _NEAR_MM and abs(at[1] - e[joint, SR]) < _NEAR_MM
            if there and links[joint, TURN] != 0:
                return neighbour, links[joint, TURN]
    return -1, 0


@compiled
def largest(
    e: Array,
    links: Indices,
    apart: Bits,
    blocks: Array,
    row: int,
    at: Station,
    contacts: Array,
    hint: int,
) -> tuple[float, bool, int]:
    """Return the radius, mm, of the largest disc in the metal at a station carried by an element.

    Also returns True where the convex arc that carries the station stops it, and how many contacts it has.
    Of each is written the element, the cosine of the angle between it and the station, and the radius at
    which it alone stops the disc. For a disc stopped by its arc, the station is taken where the arc's run
    lies farthest from the contact.

    The hint is an element that may stop the disc, or is a neighbour of one that may, as the one that stopped
    the disc beside it: what lies farther off is then left out from the start. It changes no result; the row
    itself is no hint.
    """
    neighbour, turn = _sharp_end(e, links, row, at)
    if turn > 0:
        contacts[0, 0] = neighbour
        contacts[0, 1] = 1.0 - _facing(form_of(e, neighbour), at)
        contacts[0, 2] = 0.0
        return 0.0, False, 1
    own = e[row, ROOM]
    radius, least, met = own, np.inf, 0
    for k in (hint, links[hint, AFTER], links[hint, BEFORE]):
        if radius == own and not is_marked(apart, row, k) and k != neighbour:
            radius = min(radius, stop(e, k, at, radius)[0])
    for b in range(len(blocks)):
        if not meets_block(blocks, b, at[0] + radius * at[2], at[1] + radius * at[3], radius + TIE_MM):
            continue
        for k in range(BLOCK * b, min(BLOCK * (b + 1), len(e))):
            if not meets(e, k, at[0] + radius * at[2], at[1] + radius * at[3], radius + TIE_MM):
                continue
            form = form_of(e, k)
            height, facing = _height(form, at[0], at[1]), _facing(form, at)
            # Nearly all are told apart by this much.
            if height <= 0.0 or facing <= _PARALLEL or height > (radius + TIE_MM) * facing:
                continue
            if is_marked(apart, row, k) or k == neighbour:
                continue
            rho, versine = stop(e, k, at, radius + TIE_MM)
            if rho <= radius + TIE_MM:
                contacts[met, 0] = k
                contacts[met, 1] = 1.0 - versine
                contacts[met, 2] = rho
                met += 1
                least = min(least, rho)
                radius = min(radius, rho)
    capped = own <= least + TIE_MM
    count = 0
    for c in range(met):
        if contacts[c, 2] <= radius + TIE_MM:
            for column in range(3):
                contacts[count, column] = contacts[c, column]
            if capped:
                contacts[count, 1] = _cosine_from_run(e, row, int(contacts[c, 0]), at, radius)
            count += 1
    return radius, capped, count


@compiled
def is_wall(e: Array, row: int, capped: bool, contacts: Array, count: int) -> bool:
    """Return True where a disc that `largest` found counts: two of its contacts lie far enough apart."""
    for c in range(count):
        if contacts[c, 1] <= FAR:
            return True
    return bool(capped and 2.0 * e[row, RUN_HALF] >= CONTACT_RAD - 1e-9)


@compiled
def _cosine_from_run(e: Array, row: int, k: int, at: Station, radius: float) -> float:
    """Return the cosine of the angle between a contact with element k and the far end of the row's run."""
    uz, ur = direction(e, k, at[0] + radius * at[2], at[1] + radius * at[3], radius)
    beside = math.acos(min(max(uz * e[row, RUN_Z] + ur * e[row, RUN_R], -1.0), 1.0))
    return math.cos(min(beside + e[row, RUN_HALF], math.pi))


@compiled
def direction(e: Array, k: int, z: float, r: float, radius: float) -> tuple[float, float]:
    """Return the unit direction from a disc's centre (z, r) to its contact with element k."""
    kz, kr, nz, nr, bend, weight = form_of(e, k)
    lever = weight + bend * radius
    if abs(lever) <= SAME_CIRCLE_MM * abs(bend):
        # A disc that fills a convex arc touches all of it: its middle stands for it.
        return -nz, -nr
    return (bend * (kz - z) - weight * nz) / lever, (bend * (kr - r) - weight * nr) / lever


@compiled
def touches(e: Array, k: int, z: float, r: float, radius: float) -> bool:
    """Return True where a disc touches element k itself, not its extension, and does not fill it."""
    form = form_of(e, k)
    bend, weight = form[4], form[5]
    lever = weight + bend * radius
    if lever <= SAME_CIRCLE_MM * abs(bend):
        return False
    off = _height(form, z, r) - weight * radius - 0.5 * bend * radius * radius
    return abs(off) < _TANGENT_MM * lever and within_ends(e, k, z, r)


@compiled
def in_metal(
    e: Array, links: Indices, apart: Bits, blocks: Array, row: int, at: Station, radius: float
) -> bool:
    """Return True where the disc at a station carried by an element lies in the metal."""
    neighbour, turn = _sharp_end(e, links, row, at)
    if turn > 0 and radius * _facing(form_of(e, neighbour), at) > IN_METAL_MM:
        return False
    z, r = at[0] + radius * at[2], at[1] + radius * at[3]
    for b in range(len(blocks)):
        # What stops it sooner lies in it.
        if not meets_block(blocks, b, z, r, radius):
            continue
        for k in range(BLOCK * b, min(BLOCK * (b + 1), len(e))):
            if is_marked(apart, row, k) or k == neighbour:
                continue
            rho, versine = stop(e, k, at, radius - IN_METAL_MM)
            # Larger than what stops it there, it sinks in by this much less the nearer the contacts.
            if rho < radius - IN_METAL_MM and (radius - rho) * versine > IN_METAL_MM:
                return False
    return True

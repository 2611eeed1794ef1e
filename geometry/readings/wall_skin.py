"""An outline's skin as a table of elements, for the largest discs in the metal.

Words:
    piece     a line or an arc of the skin
    fan       a re-entrant corner taken as an arc of radius zero, with every normal between its two edges
    element   a piece or, after all pieces, a fan: what carries a station and what stops a disc
    run       convex arcs of one circle that follow each other, as the halves of a corner arc do

Radii R are signed, + for fillets and - for convex arcs, so that an arc about q lies at q + R n, n its inward
normal there. One equation then holds for every element. With a place K on it, the normal N at K, and

    bend k and weight h     0, 1 for a line;  1 / R, 1 for an arc;  1, 0 for a fan, which needs no N

the height of a place x over it is k w.w / 2 + h w.N, w = x - K: zero on it, + on the side of the metal. No
number in it grows with the radius, so that it is exact however flat an arc is.

Where the section reaches the axle line the metal goes on beyond it: the skin is then that of the whole wheel
cut along the axle, each piece with its mirror image. Only the upper half carries stations.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from geometry.compiled import compiled
from geometry.shape.curve import CR, CZ, R0, R1, SWEEP, Z0, Z1, Array, Flags, Indices
from geometry.shape.section import Outline

# Columns of Skin.table: middle of the chord, half its length; radius of the largest disc that fits in (a
# convex arc; else infinite); K, N, k and h as above; start, end, and inward unit normals there; signed sweep,
# rad; of a convex arc's run, half of its angle, rad, and the unit direction from the centre to its middle.
# What nearly every search asks of an element stands first, together in memory.
(
    MZ,
    MR,
    HALF,
    ROOM,
    KZ,
    KR,
    NZ,
    NR,
    BEND,
    WEIGHT,
    SZ,
    SR,
    EZ,
    ER,
    SNZ,
    SNR,
    ENZ,
    ENR,
    SWEPT,
    RUN_HALF,
    RUN_Z,
    RUN_R,
) = range(22)

# Columns of Skin.links: the neighbours, of a fan its two pieces; turn at the start, +1 convex, 0 smooth, -1
# re-entrant; fan at the start, or -1; 1 where a run goes on from the piece before; piece of the outline; two
# zones, the same but for fans.
BEFORE, AFTER, TURN, FAN, GOES_ON, SOURCE, ZONE_A, ZONE_B = range(8)

#: A bit for each two elements: (elements, elements / 8, rounded up) bytes.
Bits = npt.NDArray[np.uint8]

#: Start and end of a piece, or the normals there: z, r of each.
Ends = tuple[float, float, float, float]

#: What stands in the equation of an element: z, r of K and of N, bend k and weight h.
Form = tuple[float, float, float, float, float, float]

#: Joints that turn less than this, rad, are smooth: a disc of 20 mm sinks in by 2e-6 mm at most.
_SMOOTH_RAD = 1e-7

#: Re-entrant turns above this, rad, leave a gap between the neighbours' normals; below it is rounding.
_GAP_RAD = 1e-9

#: So many elements that follow each other lie in one circle, and are left out together where it is far off.
BLOCK = 8

#: Such a circle is larger by this, mm, than what it must hold: a contact may lie beside its element.
_ROUND_MM = 1e-6

#: Two arcs belong to one circle when centres and radii agree to this, mm.
SAME_CIRCLE_MM = 1e-6


@dataclass(frozen=True, eq=False)
class Skin:
    """Elements of a skin (see the module's words), pieces before fans.

    Attributes:
        table: (elements, 22) places, directions and sizes; the columns are named MZ ... RUN_R here.
        links: (elements, 8) whole numbers; the columns are named BEFORE ... ZONE_B here.
        apart: (elements, elements / 8, rounded up) a bit for each two elements, see `is_marked`: set where a
            station on the first is never stopped by the second: itself, a smooth neighbour, the same circle,
            the fans at its ends, a fan's two pieces.
        upper: number of leading pieces in the upper half.
        blocks: (elements / BLOCK, rounded up; 3) centre z, r and radius of circles, each of which holds BLOCK
            elements that follow each other.
    """

    table: Array
    links: Indices
    apart: Bits
    upper: int
    blocks: Array


@lru_cache(maxsize=2)
def skin_of(outline: Outline) -> Skin:
    """Return the outline's skin prepared for discs; walls and band of one frame ask for the same."""
    return Skin(*_skin(outline.skin, outline.path.table, outline.zone))


@compiled
def _skin(skin: Flags, t: Array, zone: Indices) -> tuple[Array, Indices, Bits, int, Array]:
    """Return the parts of a Skin."""
    upper = int(np.count_nonzero(skin))
    n = upper if upper == len(skin) else 2 * upper
    # Every joint may have a fan.
    table, links = np.empty((2 * n, 22)), np.zeros((2 * n, 8), dtype=np.intp)
    _link(links, skin, upper)
    elements = _fill(table, links, t, zone, n, upper)
    table, links = table[:elements], links[:elements]
    apart = pair_bits(elements)
    _mark_apart(apart, table, links, n)
    blocks = np.empty((-(-elements // BLOCK), 3))
    _hold(blocks, table)
    return table, links, apart, upper, blocks


@compiled
def pair_bits(count: int) -> Bits:
    """Return a bit for each two of so many elements, none set: a byte for each would fill the caches."""
    return np.zeros((count, (count + 7) // 8), dtype=np.uint8)


@compiled
def mark(bits: Bits, i: int, j: int) -> None:
    """Set the bit of two elements, in this order."""
    bits[i, j >> 3] |= 1 << (j & 7)


@compiled
def is_marked(bits: Bits, i: int, j: int) -> bool:
    """Return True where the bit of two elements is set."""
    return bool(bits[i, j >> 3] >> (j & 7) & 1)


@compiled
def _hold(blocks: Array, e: Array) -> None:
    """Write Skin.blocks: an element lies in the circle on its chord, since no arc is over a half circle."""
    for b in range(len(blocks)):
        first, last = BLOCK * b, min(BLOCK * (b + 1), len(e))
        z = r = 0.0
        for k in range(first, last):
            z += e[k, MZ] / (last - first)
            r += e[k, MR] / (last - first)
        reach = 0.0
        for k in range(first, last):
            dz, dr = e[k, MZ] - z, e[k, MR] - r
            reach = max(reach, math.sqrt(dz * dz + dr * dr) + e[k, HALF])
        blocks[b, 0] = z
        blocks[b, 1] = r
        blocks[b, 2] = reach + _ROUND_MM


@compiled
def meets_block(blocks: Array, b: int, z: float, r: float, reach: float) -> bool:
    """Return True where a disc may reach an element of a block; always where its radius is infinite."""
    dz, dr = blocks[b, 0] - z, blocks[b, 1] - r
    return bool(reach == np.inf or dz * dz + dr * dr <= (blocks[b, 2] + reach) ** 2)


@compiled
def meets(e: Array, k: int, z: float, r: float, reach: float) -> bool:
    """Return True where a disc may reach an element, held in the circle on its chord; always if infinite."""
    dz, dr = e[k, MZ] - z, e[k, MR] - r
    return bool(reach == np.inf or dz * dz + dr * dr <= (e[k, HALF] + _ROUND_MM + reach) ** 2)


@compiled
def _link(links: Indices, skin: Flags, upper: int) -> None:
    """Write source and neighbours of every piece; where the axle parts the skin, of its stretches and images.

    Images stand after the upper half, in the same order of stretches, each run backwards.
    """
    n, whole = len(skin), upper == len(skin)
    start, k, first = 0, 0, 0
    while not whole and skin[start]:
        start += 1
    for step in range(n):
        piece = (start + step) % n
        if not skin[piece]:
            continue
        links[k, SOURCE] = piece
        links[k, BEFORE] = k - 1
        links[k, AFTER] = k + 1
        k += 1
        if whole or skin[(piece + 1) % n]:
            continue
        for j in range(first, k):
            image = upper + first + k - 1 - j
            links[image, SOURCE] = links[j, SOURCE]
            links[image, BEFORE] = image - 1
            links[image, AFTER] = image + 1
        links[first, BEFORE] = upper + k - 1
        links[upper + k - 1, AFTER] = first
        links[k - 1, AFTER] = upper + first
        links[upper + first, BEFORE] = k - 1
        first = k
    if whole:
        links[0, BEFORE] = n - 1
        links[n - 1, AFTER] = 0


@compiled
def _fill(e: Array, links: Indices, t: Array, zone: Indices, n: int, upper: int) -> int:
    """Write table and links of n linked pieces and their fans; return how many elements they are."""
    for k in range(n):
        source = links[k, SOURCE]
        links[k, ZONE_A] = zone[source]
        links[k, ZONE_B] = zone[source]
        _measure(e, k, t, source, k >= upper)
    elements = n
    for k in range(n):
        if _turn(e, links, k):
            _fan(e, links, k, elements)
            elements += 1
    _measure_runs(e, links, n)
    return elements


@compiled
def _write(e: Array, k: int, ends: Ends, normals: Ends, form: Form, half: float, room: float) -> None:
    for c in range(4):
        e[k, SZ + c] = ends[c]
        e[k, SNZ + c] = normals[c]
    for c in range(6):
        e[k, KZ + c] = form[c]
    e[k, MZ] = 0.5 * (ends[0] + ends[2])
    e[k, MR] = 0.5 * (ends[1] + ends[3])
    e[k, HALF] = half
    e[k, ROOM] = room
    for c in range(SWEPT, RUN_R + 1):
        e[k, c] = 0.0


@compiled
def _measure(e: Array, k: int, t: Array, piece: int, image: bool) -> None:
    """Write the places, normals and sizes of a piece; an image runs backwards and keeps its sweep."""
    sz, sr, ez, er = t[piece, Z0], t[piece, R0], t[piece, Z1], t[piece, R1]
    cz, cr, sweep = t[piece, CZ], t[piece, CR], t[piece, SWEEP]
    if image:
        sz, sr, ez, er, cr = ez, -er, sz, -sr, -cr
    chord = math.sqrt((ez - sz) ** 2 + (er - sr) ** 2)
    nz, nr = -(er - sr) / chord, (ez - sz) / chord
    bulge = math.tan(sweep / 4.0)
    bend = -4.0 * bulge / (chord * (1.0 + bulge * bulge))
    kz, kr = 0.5 * (sz + ez - nz * bulge * chord), 0.5 * (sr + er - nr * bulge * chord)
    normals = (nz, nr, nz, nr)
    if bend != 0.0:
        normals = ((sz - cz) * bend, (sr - cr) * bend, (ez - cz) * bend, (er - cr) * bend)
    room = -1.0 / bend if bend < 0.0 else np.inf
    _write(e, k, (sz, sr, ez, er), normals, (kz, kr, nz, nr, bend, 1.0), 0.5 * chord, room)
    e[k, SWEPT] = sweep


@compiled
def _turn(e: Array, links: Indices, k: int) -> bool:
    """Write the turn at the start of a piece; return True where the normals leave a gap there."""
    before = links[k, BEFORE]
    az, ar, bz, br = e[before, ENZ], e[before, ENR], e[k, SNZ], e[k, SNR]
    sine = az * br - ar * bz
    smooth = abs(sine) < _SMOOTH_RAD and az * bz + ar * br > 0.0
    links[k, TURN] = 0 if smooth else 1 if sine >= 0.0 else -1
    links[k, FAN] = -1
    convex = e[k, BEND] < 0.0 and e[before, BEND] < 0.0
    links[k, GOES_ON] = 1 if convex and smooth and _on_one_circle(e, before, k) else 0
    return bool(sine < -_GAP_RAD or links[k, TURN] < 0)


@compiled
def _fan(e: Array, links: Indices, piece: int, fan: int) -> None:
    """Write the fan at the start of a piece: it turns from the edge that arrives to the one that leaves."""
    before = links[piece, BEFORE]
    z, r = e[piece, SZ], e[piece, SR]
    normals = (e[before, ENZ], e[before, ENR], e[piece, SNZ], e[piece, SNR])
    _write(e, fan, (z, r, z, r), normals, (z, r, 0.0, 0.0, 1.0, 0.0), 0.0, np.inf)
    links[piece, FAN] = fan
    links[fan, BEFORE] = before
    links[fan, AFTER] = piece
    links[fan, SOURCE] = links[piece, SOURCE]
    links[fan, ZONE_A] = links[before, ZONE_A]
    links[fan, ZONE_B] = links[piece, ZONE_A]


@compiled
def _on_one_circle(e: Array, i: int, j: int) -> bool:
    """Return True where two arcs belong to one circle."""
    one, other = 1.0 / e[i, BEND], 1.0 / e[j, BEND]
    dz = e[i, KZ] - e[i, NZ] * one - e[j, KZ] + e[j, NZ] * other
    dr = e[i, KR] - e[i, NR] * one - e[j, KR] + e[j, NR] * other
    return bool(max(abs(one - other), max(abs(dz), abs(dr))) < SAME_CIRCLE_MM)


@compiled
def _measure_runs(e: Array, links: Indices, n: int) -> None:
    """Write half of the angle of every convex arc's run and the direction to its middle."""
    ends = 0
    for k in range(n):
        ends += 1 - links[k, GOES_ON]
    if ends == 0:
        # A whole circle: one run without an end.
        links[0, GOES_ON] = 0
    for head in range(n):
        if links[head, GOES_ON] or e[head, BEND] >= 0.0:
            continue
        count, last, sweep = 1, head, e[head, SWEPT]
        while links[links[last, AFTER], GOES_ON]:
            count, last = count + 1, links[last, AFTER]
            sweep += e[last, SWEPT]
        half = min(0.5 * sweep, math.pi)
        cosine, sine, z, r = math.cos(half), math.sin(half), -e[head, SNZ], -e[head, SNR]
        k = head
        for _ in range(count):
            e[k, RUN_HALF] = half
            e[k, RUN_Z] = z * cosine - r * sine
            e[k, RUN_R] = z * sine + r * cosine
            k = links[k, AFTER]


@compiled
def _mark_apart(apart: Bits, e: Array, links: Indices, n: int) -> None:
    """Mark Skin.apart."""
    for k in range(n):
        mark(apart, k, k)
        if links[k, TURN] == 0:
            _mark_both(apart, k, links[k, BEFORE])
        if e[k, BEND] != 0.0:
            for j in range(k):
                if e[j, BEND] != 0.0 and _on_one_circle(e, j, k):
                    _mark_both(apart, j, k)
    for fan in range(n, len(e)):
        mark(apart, fan, fan)
        _mark_both(apart, fan, links[fan, BEFORE])
        _mark_both(apart, fan, links[fan, AFTER])


@compiled
def _mark_both(apart: Bits, i: int, j: int) -> None:
    mark(apart, i, j)
    mark(apart, j, i)

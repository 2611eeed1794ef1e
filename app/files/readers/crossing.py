"""Where a closed outline meets itself.

A drawing's outline is small and is looked through in plain Python: an array library takes longer to load.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from app.files.readers import late
from app.files.readers.answer import Loop

#: Turn of an arc between places of its chords, rad: the chord of a 20 mm radius leaves it by 0.006 mm.
_TURN_RAD = 0.05

#: Chords that are looked through here.
_FEW = 3000

Place = tuple[float, float]


def chords(loop: Loop) -> list[Place]:
    """Return places along a closed outline, arcs by their chords."""
    found: list[Place] = []
    for (z, r, bulge), (other_z, other_r, _) in pairwise((*loop, loop[0])):
        found.append((z, r))
        if not bulge:
            continue
        sweep, lift = 4.0 * math.atan(bulge), (1.0 - bulge * bulge) / (4.0 * bulge)
        mid_z = (z + other_z) / 2.0 - lift * (other_r - r)
        mid_r = (r + other_r) / 2.0 + lift * (other_z - z)
        count = math.ceil(abs(sweep) / _TURN_RAD)
        for k in range(1, count):
            cos, sin = math.cos(sweep * k / count), math.sin(sweep * k / count)
            found.append(
                (mid_z + (z - mid_z) * cos - (r - mid_r) * sin, mid_r + (z - mid_z) * sin + (r - mid_r) * cos)
            )
    return found


def self_crossing(places: Sequence[Place]) -> Place | None:
    """Return a place where the closed chain through places meets itself, None where it does not."""
    ring = [a for a, b in pairwise((*places, *places[:1])) if a != b]
    if len(ring) < 4:
        return None
    return _few(ring) if len(ring) <= _FEW else _many(ring)


def _few(ring: list[Place]) -> Place | None:
    """Sweep along z: only sides whose extents in z overlap are held against each other."""
    sides = [(min(a[0], b[0]), max(a[0], b[0]), k) for k, (a, b) in enumerate(pairwise((*ring, ring[0])))]
    live: list[tuple[float, int]] = []
    for low, high, k in sorted(sides):
        live = [(end, j) for end, j in live if end >= low]
        for _, j in live:
            place = _meeting(ring, min(j, k), max(j, k))
            if place is not None:
                return place
        live.append((high, k))
    return None


def _meeting(ring: list[Place], j: int, k: int) -> Place | None:
    """Return where two sides of a ring meet, but for the joint of neighbours."""
    n = len(ring)
    (a, b), (c, d) = (ring[j], ring[(j + 1) % n]), (ring[k], ring[(k + 1) % n])
    if max(a[1], b[1]) < min(c[1], d[1]) or max(c[1], d[1]) < min(a[1], b[1]):
        return None
    if k == j + 1 or (j == 0 and k == n - 1):
        joint, first, second = (b, a, d) if k == j + 1 else (a, b, c)
        is_back = _turn(joint, first, second) == 0.0 and _along(joint, first, second) > 0.0
        return joint if is_back else None
    turns = _turn(a, b, c), _turn(a, b, d), _turn(c, d, a), _turn(c, d, b)
    if turns[0] * turns[1] < 0.0 and turns[2] * turns[3] < 0.0:
        share = turns[2] / (turns[2] - turns[3])
        return a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])
    ends = zip(turns, ((a, b, c), (a, b, d), (c, d, a), (c, d, b)), strict=True)
    return next((p for turn, (s, e, p) in ends if turn == 0.0 and _along(p, s, e) <= 0.0), None)


def _turn(a: Place, b: Place, c: Place) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _along(at: Place, a: Place, b: Place) -> float:
    """Return a number below 0 where a and b lie to both sides of a place in line with them."""
    return (a[0] - at[0]) * (b[0] - at[0]) + (a[1] - at[1]) * (b[1] - at[1])


def _many(ring: list[Place]) -> Place | None:
    late.need()
    import shapely

    if shapely.LinearRing(ring).is_simple:
        return None
    words = shapely.is_valid_reason(shapely.Polygon(ring))
    place = words.partition("[")[2].rstrip("]").split()
    if len(place) == 2:
        return float(place[0]), float(place[1])
    return ring[0]

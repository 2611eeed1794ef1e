"""Wall by zone: diameter of the largest disc in the metal that touches the skin.

A disc counts where two of its contacts are at least tolerances.WALL_CONTACT_DEG apart, seen from its centre;
it counts for the zones of both. A zone without a counted disc has no finding. The disc reads the metal that
carries load across a joint or taper; beside it stands the gauge reading, the length along the normal.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.readings.wall_discs import (
    CONTACT_RAD,
    FAR,
    Discs,
    Reach,
    Stations,
    directions,
    discs,
    reach,
)
from geometry.readings.wall_gauge import gauge
from geometry.readings.wall_limits import Candidates, joined, pair_limits, stations, third_contacts
from geometry.readings.wall_skin import Skin, cells, dot, skin_of
from geometry.shape.curve import Array, Flags, Indices
from geometry.shape.section import ZONES, Outline

#: A candidate whose disc leaves the metal by less than this, mm, lies in it: rounding of its closed form.
_IN_METAL_MM = 1e-8

#: A wall this much thinner, mm, is worth another look; readings are exact to it.
_LOWER_MM = 1e-8

#: Of places whose walls agree to this, mm, the first along z and r is shown, whatever the vertex order.
_EQUAL_MM = 1e-7


@dataclass(frozen=True)
class WallFinding:
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
    """Return the least wall of every zone that has one, in the order of ZONES.

    Exact: joints and middles of pieces first; then, where they could lower a zone, common normals, discs at
    the least contact angle, and places where a third piece stops the disc.
    """
    skin = skin_of(outline)
    at, shared = _first_stations(skin)
    reached = reach(skin, at)
    first = discs(skin, at, reached)
    found = [_readings(skin, at, first, shared)]
    least = _least(found)
    room = _room(skin, least)
    cap = _caps(skin, least, room)
    candidates = pair_limits(skin, cap)
    # A pair is least at such a disc or at an end; where that leaves the metal, a third element decides.
    pairs = _sunk(skin, at, shared, reached, first, cap).and_(candidates)
    one, other, limit = pairs.below(cap, room)
    if len(one):
        candidates = joined([candidates, third_contacts(skin, one, other, limit)])
    if len(candidates.one):
        found.append(_tried(skin, candidates))
    return _findings(skin, found)


def wall_at(outline: Outline, piece: Indices, t: Array) -> WallsAt:
    """Return the largest discs at fractions t (m,), 0 to 1 along the length, of named skin pieces (m,)."""
    skin = skin_of(outline)
    source, upper = skin.pieces.source, skin.pieces.upper
    row = np.zeros(len(outline.path), dtype=np.intp)
    row[source[:upper]] = np.arange(upper)
    place, tangent = outline.path.at(piece, t), outline.path.tangents(piece, t)
    at = Stations(place, np.column_stack([-tangent[:, 1], tangent[:, 0]]), row[piece])
    found = discs(skin, at, reach(skin, at))
    partner = piece.copy()
    across = place.copy()
    # Contacts are written in rising order of how far they lie, so that the farthest stays.
    order = np.argsort(-found.cosine, kind="stable")
    of = found.of[order]
    rows = np.concatenate([skin.lines, skin.arcs, skin.fans])
    partner[of] = source[rows[found.element[order]]]
    radius = found.radius[of]
    centre = (place + found.radius[:, None] * at.normal)[of]
    across[of] = centre + radius[:, None] * directions(skin, centre, radius, found.element[order])
    return WallsAt(2.0 * found.radius, found.counted, partner, across)


@dataclass(frozen=True, eq=False)
class _Readings:
    """Counted discs: zone and diameter (k,), place and normal on the zone's skin, far contact (k, 2)."""

    zone: Indices
    diameter: Array
    at: Array
    normal: Array
    across: Array


def _joined(parts: list[_Readings]) -> _Readings:
    return _Readings(
        np.concatenate([p.zone for p in parts]),
        np.concatenate([p.diameter for p in parts]),
        np.vstack([p.at for p in parts]),
        np.vstack([p.normal for p in parts]),
        np.vstack([p.across for p in parts]),
    )


def _first_stations(skin: Skin) -> tuple[Stations, Indices]:
    """Return joints and middles of the upper skin, and the element that shares each station, or its own.

    A smooth joint is one station, carried by the piece whose arc holds the disc tighter; a sharp one is two,
    and a re-entrant one is shared by its fan.
    """
    p = skin.pieces
    cap = np.where(p.signed < 0.0, -p.signed, np.inf)
    smooth = (p.turn == 0) & (skin.fan_at < 0)
    first = ~smooth | (cap <= cap[p.before])
    last = ~smooth | ~first
    first[p.upper :] = last[p.upper :] = False
    starts, ends = np.flatnonzero(first), np.flatnonzero(last)
    fillet = (p.signed > 0.0) & np.isfinite(p.signed)
    fillet[p.upper :] = True
    middles = np.flatnonzero(~fillet)
    before = p.before[ends]
    place = np.concatenate([p.start[starts], p.start[ends], p.middle[middles]])
    normal = np.concatenate([p.normal_start[starts], p.normal_end[before], p.normal_middle[middles]])
    row = np.concatenate([starts, before, middles])
    joint = np.concatenate([starts, ends])
    other = skin.element[np.concatenate([p.before[starts], ends])]
    own = skin.element[row]
    shared = own.copy()
    fan = skin.fan_at[joint]
    shared[: len(joint)] = np.where(smooth[joint], other, np.where(fan >= 0, fan, own[: len(joint)]))
    return Stations(place, normal, row), shared


def _readings(skin: Skin, at: Stations, found: Discs, shared: Indices) -> _Readings:
    """Return the counted discs of the first stations, each for the zones of both contacts."""
    k = np.flatnonzero((found.cosine <= FAR) & ~found.capped[found.of] & found.counted[found.of])
    of, element = found.of[k], found.element[k]
    radius, p, normal = found.radius[of], at.place[of], at.normal[of]
    centre = p + normal * radius[:, None]
    direction = directions(skin, centre, radius, element)
    x = centre + direction * radius[:, None]
    own = skin.element[at.row]
    parts = [
        _Readings(skin.zones[carrier[of], side], 2.0 * radius, p, normal, x)
        for carrier, side in ((own, 0), (shared, 0), (shared, 1))
    ]
    parts += [_Readings(skin.zones[element, side], 2.0 * radius, x, -direction, p) for side in (0, 1)]
    for s in np.flatnonzero(found.capped & found.counted).tolist():
        parts += _round_readings(skin, at, found, s, int(shared[s]))
    return _joined(parts)


def _round_readings(skin: Skin, at: Stations, found: Discs, s: int, shared: int) -> list[_Readings]:
    """Return the readings of a disc that fills the convex run of arcs under station s."""
    piece, radius, half = int(at.row[s]), float(found.radius[s]), float(skin.run_half[at.row[s]])
    centre = at.place[s] + radius * at.normal[s]
    middle = float(np.arctan2(skin.run_middle[piece, 1], skin.run_middle[piece, 0]))
    here = float(np.arctan2(-at.normal[s, 1], -at.normal[s, 0]))
    k = np.flatnonzero((found.of == s) & (found.cosine <= FAR))
    centres, element = np.repeat(centre[None], len(k), axis=0), found.element[k]
    towards = directions(skin, centres, np.full(len(k), radius), element)
    contacts = list(zip(towards, skin.zones[element], strict=True))
    out: list[_Readings] = []

    def add(zone: int, direction: Array, far: Array) -> None:
        at_, across = centre + radius * direction, centre + radius * far
        out.append(
            _Readings(np.array([zone]), np.array([2.0 * radius]), at_[None], -direction[None], across[None])
        )

    def turned(angle: float) -> Array:
        return np.array([np.cos(angle), np.sin(angle)])

    def from_middle(angle: float) -> float:
        return (angle - middle + np.pi) % (2.0 * np.pi) - np.pi

    zone = int(skin.zones[skin.element[piece], 0])
    if 2.0 * half >= CONTACT_RAD - 1e-9:
        near = half if from_middle(here) >= 0.0 else -half
        add(zone, turned(middle + near), turned(middle - near))
    for direction, zones in contacts:
        opposite = float(np.clip(from_middle(float(np.arctan2(-direction[1], -direction[0]))), -half, half))
        add(zone, turned(middle + opposite), direction)
        for other in {int(z) for z in zones}:
            add(other, direction, turned(middle + opposite))
    # The neighbour that shares the joint has it for itself where another contact is far enough from there.
    if shared != skin.element[piece]:
        ends = [turned(middle + half), turned(middle - half)]
        for far in [*ends, *(d for d, _ in contacts)]:
            if -float(at.normal[s] @ far) <= FAR:
                for other in set(skin.zones[shared].tolist()):
                    add(other, -at.normal[s], far)
    return out


def _least(found: list[_Readings]) -> Array:
    """Return the least diameter of each zone so far, infinite without one."""
    least = np.full(len(ZONES), np.inf)
    for part in found:
        np.minimum.at(least, part.zone, part.diameter)
    return least


def _caps(skin: Skin, least: Array, room: Array) -> Array:
    """Return the radius below which a disc would lower the wall of each element's zone."""
    caps = (np.maximum(least[skin.zones[:, 0]], least[skin.zones[:, 1]]) - _LOWER_MM) / 2.0
    bounded: Array = np.minimum(caps, room)
    return bounded


def _room(skin: Skin, least: Array) -> Array:
    """Return a radius that no disc on an element exceeds: its own if a convex arc; infinite if not known.

    Where a line's zone has no wall yet, joints v of the skin before it give one: the disc at p on the line
    stops there at |p - v|^2 / (2 (v - p).n), convex along the line, so that the larger value of its two ends
    holds for all of it.
    """
    lines = len(skin.lines)
    room = np.full(skin.elements, np.inf)
    room[lines:] = np.where(skin.radius < 0.0, -skin.radius, np.inf)
    open_ = np.flatnonzero(np.isinf(least[skin.zones[:lines, 0]]))
    if not len(open_):
        return room
    joint, normal = skin.pieces.start, skin.normal[open_]
    height = joint @ normal.T - skin.offset[open_]
    largest = np.zeros_like(height)
    for end in (skin.pieces.start[skin.lines[open_]], skin.pieces.end[skin.lines[open_]]):
        away = joint[:, None] - end
        largest = np.maximum(largest, away[:, :, 0] ** 2 + away[:, :, 1] ** 2)
    before = height > _LOWER_MM
    room[open_] = np.min(np.where(before, largest / np.where(before, 2.0 * height, 1.0), np.inf), axis=0)
    return room


@dataclass(frozen=True, eq=False)
class _Pairs:
    """Pairs of elements whose disc of this radius would lower a wall but does not lie in the metal."""

    one: Indices
    other: Indices
    radius: Array

    def and_(self, more: Candidates) -> _Pairs:
        return _Pairs(
            np.concatenate([self.one, more.one]),
            np.concatenate([self.other, more.other]),
            np.concatenate([self.radius, more.radius]),
        )

    def below(self, cap: Array, room: Array) -> tuple[Indices, Indices, Array]:
        """Return each pair once that can lower a wall, and the radius its disc must stay below."""
        most = np.minimum(room[self.one], room[self.other])
        limit = np.minimum(np.maximum(cap[self.one], cap[self.other]), most)
        k = np.flatnonzero(self.radius < limit)
        one, other = np.minimum(self.one[k], self.other[k]), np.maximum(self.one[k], self.other[k])
        _, first = np.unique(one * len(cap) + other, return_index=True)
        return one[first], other[first], limit[k[first]]


def _sunk(skin: Skin, at: Stations, shared: Indices, reached: Reach, found: Discs, cap: Array) -> _Pairs:
    """Return the pairs whose disc at an end of one would lower a wall but does not lie in the metal."""
    own = skin.element[at.row]
    limit = np.maximum(np.maximum(cap[own], cap[shared])[:, None], cap)
    rho = reached.radius
    of, element = cells((rho < limit) & (rho > (found.radius + _IN_METAL_MM)[:, None]))
    far = reached.cosines(skin, of, element) <= FAR
    of, element = of[far], element[far]
    one = np.concatenate([own[of], shared[of]])
    other = np.concatenate([element, element])
    two = one != other
    return _Pairs(one[two], other[two], np.tile(rho[of, element], 2)[two])


def _tried(skin: Skin, found: Candidates) -> _Readings:
    """Return the candidates whose discs lie in the metal as readings."""
    at = stations(skin, found)
    direction = directions(skin, found.centre, found.radius, found.other)
    fits = -dot(at.normal, direction) <= FAR
    reached = reach(skin, at)
    of, element = cells(reached.radius < (found.radius - _IN_METAL_MM)[:, None])
    # A disc larger than what stops it at the same place sinks in by this much less the nearer the contacts.
    less = 1.0 - reached.cosines(skin, of, element)
    fits[of[(found.radius[of] - reached.radius[of, element]) * less > _IN_METAL_MM]] = False
    kept, normal, place, direction = found.only(fits), at.normal[fits], at.place[fits], direction[fits]
    diameter, across = 2.0 * kept.radius, kept.centre + kept.radius[:, None] * direction
    parts = [_Readings(skin.zones[kept.one, k], diameter, place, normal, across) for k in (0, 1)]
    parts += [_Readings(skin.zones[kept.other, k], diameter, across, -direction, place) for k in (0, 1)]
    return _joined(parts)


def _findings(skin: Skin, found: list[_Readings]) -> list[WallFinding]:
    """Return the least reading of each zone; of equal ones the first along z, then r."""
    every, least = _joined(found), _least(found)
    zones = np.flatnonzero(np.isfinite(least))
    near = np.flatnonzero(every.diameter <= least[every.zone] + _EQUAL_MM)
    # A place on the mirror image beyond the axle line stands for its own mirror image.
    flip = np.where(every.at[near, 1:] < 0.0, (1.0, -1.0), 1.0)
    at, normal, across = every.at[near] * flip, every.normal[near] * flip, every.across[near] * flip
    order = np.round(at, 6)
    first = np.lexsort([order[:, 1], order[:, 0], every.zone[near]])
    chosen = first[np.searchsorted(every.zone[near[first]], zones)]
    along = gauge(skin, at[chosen], normal[chosen])
    # At a knife edge the disc shrinks to a point, and so does the normal.
    along = np.where(least[zones] > _EQUAL_MM, along, least[zones])
    return [
        WallFinding(int(z), float(least[z]), length, (a[0], a[1]), (b[0], b[1]))
        for z, length, a, b in zip(
            zones.tolist(), along.tolist(), at[chosen].tolist(), across[chosen].tolist(), strict=True
        )
    ]

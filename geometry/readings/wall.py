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
    COS_CONTACT,
    COS_SLACK,
    Discs,
    Stations,
    directions,
    discs,
    reach,
)
from geometry.readings.wall_gauge import gauge
from geometry.readings.wall_limits import Candidates, pair_limits, stations, third_contacts, touch
from geometry.readings.wall_skin import Skin, skin_of
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
        partner: (m,) piece touched farthest from the station; the station's own where its convex arc stops the
            disc, -1 where the axle line does.
        across: (m, 2) that contact; the station itself without one.
    """

    diameter_mm: Array
    counted: Flags
    partner: Indices
    across: Array


def walls(outline: Outline) -> list[WallFinding]:
    """Return the least wall of every zone that has one, in the order of ZONES.

    Exact: joints and middles of pieces first; then, where they could lower a zone, common normals, discs at the
    least contact angle, and places where a third piece stops the disc.
    """
    skin = skin_of(outline)
    at, shared = _first_stations(skin)
    rho = reach(skin, at)
    first = discs(skin, at, rho)
    found = [_readings(skin, at, first, shared)]
    least = _least(found)
    limits = pair_limits(skin, _caps(skin, least))
    sunk = _sunk(skin, at, shared, rho, first, _caps(skin, least))
    if len(limits.one):
        fits, reading = _tried(skin, limits)
        found.append(reading)
        least = _least(found)
        cap = _caps(skin, least)
        short = ~fits & (limits.radius < np.maximum(cap[limits.one], cap[limits.other]))
        sunk = np.vstack([sunk, np.column_stack([limits.one[short], limits.other[short]])])
    if len(sunk):
        pairs = np.unique(np.sort(sunk, axis=1), axis=0)
        thirds = third_contacts(skin, pairs[:, 0], pairs[:, 1], _caps(skin, least))
        if len(thirds.one):
            found.append(_tried(skin, thirds)[1])
    return _findings(skin, found)


def wall_at(outline: Outline, piece: Indices, t: Array) -> WallsAt:
    """Return the largest discs at the fractions t (m,), 0 to 1 along the length, of the named skin pieces (m,)."""
    skin = skin_of(outline)
    place, tangent = outline.path.at(piece, t), outline.path.tangents(piece, t)
    at = Stations(place, np.column_stack([-tangent[:, 1], tangent[:, 0]]), piece)
    found = discs(skin, at, reach(skin, at))
    partner = np.where(found.capped, piece, -1)
    across = place.copy()
    # Contacts are written in rising order of how far they lie, so that the farthest stays.
    order = np.argsort(-found.cosine, kind="stable")
    of, column = found.of[order], found.column[order]
    pieces = np.concatenate([skin.lines, skin.arcs, skin.fans, skin.corners])
    partner[of] = pieces[column]
    centre = place + found.radius[:, None] * at.normal
    across[of] = centre[of] + found.radius[of][:, None] * found.direction[order]
    return WallsAt(2.0 * found.radius, found.counted, partner, across)


@dataclass(frozen=True, eq=False)
class _Readings:
    """Counted discs: zone (k,), diameter (k,), place and inward normal on the zone's skin, far contact (k, 2)."""

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
    """Return joints and middles of the skin, and the column that shares each station (its own if none).

    A smooth joint is one station, carried by the piece whose arc holds the disc tighter; a sharp one is two, and
    a re-entrant one is shared by its fan.
    """
    p, n = skin.pieces, len(skin.path)
    on = skin.column >= 0
    before = np.arange(n) - 1
    smooth = (p.turn == 0) & on & on[before]
    cap = np.where(p.signed < 0.0, -p.signed, np.inf)
    first = on & (~smooth | (cap <= cap[before]))
    last = on[before] & ~(smooth & first)
    starts, ends, middles = np.flatnonzero(first), np.flatnonzero(last), np.flatnonzero(on)
    place = np.vstack([skin.path.points[starts], skin.path.points[ends], p.middle[middles]])
    normal = np.vstack([p.normal_start[starts], p.normal_end[ends - 1], p.normal_middle[middles]])
    row = np.concatenate([starts, (ends - 1) % n, middles])
    fan = np.full(n, -1, dtype=np.intp)
    fan[skin.fans] = len(skin.lines) + len(skin.arcs) + np.arange(len(skin.fans))
    other = np.concatenate([skin.column[starts - 1], skin.column[ends], skin.column[middles]])
    joint = np.concatenate([starts, ends])
    other[: len(joint)] = np.where(smooth[joint], other[: len(joint)], fan[joint])
    return Stations(place, normal, row), np.where(other < 0, skin.column[row], other)


def _readings(skin: Skin, at: Stations, found: Discs, shared: Indices) -> _Readings:
    """Return the counted discs of the first stations, each for the zones of both contacts."""
    k = np.flatnonzero(found.across & ~found.capped[found.of] & found.counted[found.of])
    of, column, direction = found.of[k], found.column[k], found.direction[k]
    radius = found.radius[of]
    p = at.place[of]
    x = p + (at.normal[of] + direction) * radius[:, None]
    own = skin.column[at.row]
    parts = [
        _Readings(skin.zones[carrier[of], side], 2.0 * radius, p, at.normal[of], x)
        for carrier, side in ((own, 0), (shared, 0), (shared, 1))
    ]
    parts += [_Readings(skin.zones[column, side], 2.0 * radius, x, -direction, p) for side in (0, 1)]
    for s in np.flatnonzero(found.capped & found.counted).tolist():
        parts += _round_readings(skin, at, found, s, int(shared[s]))
    return _joined(parts)


def _round_readings(skin: Skin, at: Stations, found: Discs, s: int, shared: int) -> list[_Readings]:
    """Return the readings of a disc that fills the convex run of arcs under station s."""
    piece, radius, half = int(at.row[s]), float(found.radius[s]), float(skin.run_half[at.row[s]])
    centre = at.place[s] + radius * at.normal[s]
    middle = float(np.arctan2(skin.run_middle[piece, 1], skin.run_middle[piece, 0]))
    here = float(np.arctan2(-at.normal[s, 1], -at.normal[s, 0]))
    contacts = [
        (found.direction[k], skin.zones[found.column[k]])
        for k in np.flatnonzero(found.of == s).tolist()
        if found.cosine[k] <= COS_CONTACT + COS_SLACK
    ]
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

    zone = int(skin.zones[skin.column[piece], 0])
    if 2.0 * half >= CONTACT_RAD - COS_SLACK:
        near = half if from_middle(here) >= 0.0 else -half
        add(zone, turned(middle + near), turned(middle - near))
    for direction, zones in contacts:
        opposite = float(np.clip(from_middle(float(np.arctan2(-direction[1], -direction[0]))), -half, half))
        add(zone, turned(middle + opposite), direction)
        for other in {int(z) for z in zones}:
            add(other, direction, turned(middle + opposite))
    # The neighbour that shares the joint has it for itself where another contact is far enough from there.
    if shared != skin.column[piece]:
        ends = [turned(middle + half), turned(middle - half)]
        for far in [*ends, *(d for d, _ in contacts)]:
            if -float(at.normal[s] @ far) <= COS_CONTACT + COS_SLACK:
                for other in set(skin.zones[shared].tolist()):
                    add(other, -at.normal[s], far)
    return out


def _least(found: list[_Readings]) -> Array:
    """Return the least diameter of each zone so far, infinite without one."""
    least = np.full(len(ZONES), np.inf)
    for part in found:
        np.minimum.at(least, part.zone, part.diameter)
    return least


def _caps(skin: Skin, least: Array) -> Array:
    """Return the radius below which a disc would lower the wall of each element's zone."""
    zones = skin.zones[: skin.elements]
    caps: Array = (np.maximum(least[zones[:, 0]], least[zones[:, 1]]) - _LOWER_MM) / 2.0
    return caps


def _sunk(skin: Skin, at: Stations, shared: Indices, rho: Array, found: Discs, cap: Array) -> Indices:
    """Return pairs of elements (k, 2) whose disc at an end would lower a wall but does not lie in the metal."""
    own = skin.column[at.row]
    limit = np.maximum(np.maximum(cap[own], cap[shared])[:, None], cap)
    part = rho[:, : skin.elements]
    of, column = np.nonzero((part < limit) & (part > (found.radius + _IN_METAL_MM)[:, None]))
    return _facing(skin, at, rho, of, column, own, shared)


def _facing(
    skin: Skin, at: Stations, rho: Array, of: Indices, column: Indices, own: Indices, shared: Indices
) -> Indices:
    lone = Stations(at.place[of], at.normal[of], at.row[of])
    towards = directions(skin, lone, rho[of, column], np.arange(len(of)), column)
    far = -np.sum(lone.normal * towards, axis=1) <= COS_CONTACT + COS_SLACK
    of, column = of[far], column[far]
    pairs: Indices = np.vstack([np.column_stack([own[of], column]), np.column_stack([shared[of], column])])
    return pairs[pairs[:, 0] != pairs[:, 1]]


def _tried(skin: Skin, found: Candidates) -> tuple[Flags, _Readings]:
    """Return which candidates' discs lie in the metal, and these as readings."""
    at = stations(skin, found)
    rho = reach(skin, at)
    held = discs(skin, at, rho).radius
    fits = (held >= found.radius - _IN_METAL_MM) & (found.centre[:, 1] >= 0.0)
    radius = np.minimum(held, found.radius)
    kept, normal, radius = found.only(fits), at.normal[fits], radius[fits]
    place = at.place[fits]
    disc = np.column_stack([kept.centre, kept.radius])
    direction = touch(skin, kept.other, disc)[1]
    across = kept.centre + kept.radius[:, None] * direction
    parts = [_Readings(skin.zones[kept.one, k], 2.0 * radius, place, normal, across) for k in (0, 1)]
    parts += [_Readings(skin.zones[kept.other, k], 2.0 * radius, across, -direction, place) for k in (0, 1)]
    return fits, _joined(parts)


def _findings(skin: Skin, found: list[_Readings]) -> list[WallFinding]:
    """Return the least reading of each zone; of equal ones the first along z, then r."""
    every, least = _joined(found), _least(found)
    zones = np.flatnonzero(np.isfinite(least))
    near = np.flatnonzero(every.diameter <= least[every.zone] + _EQUAL_MM)
    order = np.round(every.at[near], 6)
    near = near[np.lexsort([order[:, 1], order[:, 0], every.zone[near]])]
    chosen = near[np.searchsorted(every.zone[near], zones)]
    along = gauge(skin, every.at[chosen], every.normal[chosen])
    return [
        WallFinding(
            int(z),
            float(least[z]),
            float(length),
            (float(every.at[k, 0]), float(every.at[k, 1])),
            (float(every.across[k, 0]), float(every.across[k, 1])),
        )
        for z, k, length in zip(zones.tolist(), chosen.tolist(), along.tolist(), strict=True)
    ]

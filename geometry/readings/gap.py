"""Gap between a wheel's skin and the outline of another area, per zone, exact on lines and arcs.

Method: an upper bound per zone from the vertices; pairs of pieces whose chord circles lie farther apart than
that are dropped; closed forms on the rest. Where the two areas share area, the depth is found by halving
intervals of the outlines, which is safe because the distance to an outline changes by at most the way walked.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.shape.curve import Array, Flags, Indices, Path
from geometry.shape.distance import contains, fraction_at, length, nearest_of, pair_distance, separations
from geometry.shape.faults import meeting_points
from geometry.tolerances import CONTACT_MM, DEPTH_MM

#: Into how many parts a stretch is cut at each step of the search for the deepest place.
_PARTS = 16


@dataclass(frozen=True)
class GapFinding:
    """Least gap of one zone: signed distance in mm and the witness places (z, r) on skin and outline."""

    zone: int
    least_mm: float
    at_skin: tuple[float, float]
    at_outline: tuple[float, float]


@dataclass(frozen=True)
class Gaps:
    """Least gap of every zone, and whether the areas share area."""

    findings: tuple[GapFinding, ...]
    touching: bool


def gaps(
    skin: Path,
    zone: Indices,
    counted: Flags,
    other: Path,
    other_counted: Flags | None = None,
    *,
    inside: bool = False,
) -> Gaps:
    """Return the least signed distance from each zone of a skin to another outline.

    Args:
        skin: closed counterclockwise outline of the metal.
        zone: (n,) zone index of each piece of the skin.
        counted: (n,) pieces that are skin (not on the axle line).
        other: closed counterclockwise outline.
        other_counted: (m,) pieces of the other outline that count as its edge; all when None.
        inside: the metal should lie inside `other` (a blank); otherwise outside (a stay-out shape).

    A negative value is the depth, to 0.01 mm: of the deepest skin point on the wrong side or, for a stay-out
    shape, of the deepest point of its outline in the metal, whichever is larger. The sign is exact.
    """
    rim = np.flatnonzero(counted)
    edge = np.arange(len(other)) if other_counted is None else np.flatnonzero(other_counted)
    best, at_skin, at_other, met = _least(skin, rim, zone, other, edge)
    wrong = _wrong_seeds(skin, rim, other, edge, met, inside)
    touching = False
    if wrong is not None:
        entered = np.unique(np.array([i for i, _, _ in met], dtype=np.intp))
        # Inside a blank only the skin is walked: where its edge runs through the metal, the skin beyond it is
        # outside, and that skin is where metal is missing.
        for which, at in ((0, wrong[0]), (1, wrong[1]))[: 1 if inside else 2]:
            if at[0].size == 0:
                continue
            found = _deepest(skin, rim, zone, other, edge, at, which, entered)
            for z, (depth, on_skin, on_other) in found.items():
                if depth <= CONTACT_MM:
                    continue
                touching = True
                if -depth < best.get(z, np.inf) or best.get(z, np.inf) >= 0.0:
                    best[z], at_skin[z], at_other[z] = -depth, on_skin, on_other
    findings = tuple(
        GapFinding(z, float(best[z]), _place(at_skin[z]), _place(at_other[z])) for z in sorted(best)
    )
    return Gaps(findings, touching)


def _place(x: Array) -> tuple[float, float]:
    return float(x[0]), float(x[1])


Meetings = list[tuple[int, int, Array]]


def _least(
    skin: Path, rim: Indices, zone: Indices, other: Path, edge: Indices
) -> tuple[dict[int, float], dict[int, Array], dict[int, Array], Meetings]:
    """Return the least unsigned distance per zone with witnesses, and the pairs of pieces that meet."""
    mid_a, half_a = _chord_circles(skin, rim)
    mid_b, half_b = _chord_circles(other, edge)
    lower = separations(mid_a, mid_b)
    lower -= half_a[:, None]
    lower -= half_b
    zones = zone[rim]
    bound = np.full(int(zone.max()) + 1, np.inf)
    np.minimum.at(bound, zones, separations(skin.points[rim], other.points[edge]).min(axis=1))
    piece, facing = np.nonzero(lower <= bound[zones][:, None] + 1e-12)
    # Pieces whose chord circles lie apart cannot cross.
    may_cross = np.flatnonzero(lower[piece, facing] <= CONTACT_MM)
    dist, on_a, on_b = pair_distance(skin, rim[piece], other, edge[facing], may_cross)
    best: dict[int, float] = {}
    at_a: dict[int, Array] = {}
    at_b: dict[int, Array] = {}
    of = zones[piece]
    order = np.lexsort((dist, of))
    for k in order[np.unique(of[order], return_index=True)[1]].tolist():
        best[int(of[k])], at_a[int(of[k])], at_b[int(of[k])] = float(dist[k]), on_a[k], on_b[k]
    meet = np.flatnonzero(dist <= 1e-12)
    met = [(int(rim[piece[k]]), int(edge[facing[k]]), on_a[k]) for k in meet.tolist()]
    return best, at_a, at_b, met


def _chord_circles(path: Path, of: Indices) -> tuple[Array, Array]:
    """Centre (n, 2) and radius (n,) of the circle on each chord; it holds any arc of at most 180 degrees."""
    p, q = path.points[of], path.ends[of]
    return (p + q) / 2.0, length(q - p) / 2.0


Seeds = tuple[Indices, Array, Array]  # piece, t low, t high


def _wrong_seeds(
    skin: Path, rim: Indices, other: Path, edge: Indices, met: Meetings, inside: bool
) -> tuple[Seeds, Seeds] | None:
    """Return the stretches of skin on the wrong side of `other`, and of `other` inside the metal.

    Stretches run between meetings of the outlines, so each lies wholly on one side; None when all is well.
    """
    skin_cuts: dict[int, list[float]] = {}
    other_cuts: dict[int, list[float]] = {}
    if met:
        for i, j, _ in met:
            for place in meeting_points(skin, i, other, j):
                skin_cuts.setdefault(i, []).append(fraction_at(skin, i, place))
                other_cuts.setdefault(j, []).append(fraction_at(other, j, place))
    a = _stretches(rim, skin_cuts)
    b = _stretches(edge, other_cuts)
    mid_a = skin.at(a[0], (a[1] + a[2]) / 2.0)
    mid_b = other.at(b[0], (b[1] + b[2]) / 2.0)
    in_other = contains(other, mid_a)
    in_metal = contains(skin, mid_b)
    wrong_a = ~in_other if inside else in_other
    if not wrong_a.any() and not in_metal.any():
        return None
    pick_a, pick_b = np.flatnonzero(wrong_a), np.flatnonzero(in_metal)
    return (a[0][pick_a], a[1][pick_a], a[2][pick_a]), (b[0][pick_b], b[1][pick_b], b[2][pick_b])


def _stretches(pieces: Indices, cuts: dict[int, list[float]]) -> Seeds:
    """Return the pieces parted at their cuts."""
    whole = pieces[~np.isin(pieces, list(cuts))] if cuts else pieces
    piece, low, high = [whole], [np.zeros(len(whole))], [np.ones(len(whole))]
    for k, at in cuts.items():
        stops = np.array([0.0, *sorted(at), 1.0])
        long = np.diff(stops) > 1e-12
        piece.append(np.full(int(long.sum()), k, dtype=np.intp))
        low.append(stops[:-1][long])
        high.append(stops[1:][long])
    return np.concatenate(piece), np.concatenate(low), np.concatenate(high)


def _deepest(
    skin: Path,
    rim: Indices,
    zone: Indices,
    other: Path,
    edge: Indices,
    seeds: Seeds,
    which: int,
    entered: Indices,
) -> dict[int, tuple[float, Array, Array]]:
    """Return per zone the greatest depth of the wrong stretches, with its place on skin and other outline.

    which = 0 walks the skin and measures to `other`; which = 1 walks `other` and measures to the skin. There
    the zone is that of the nearest piece among those where the other outline entered the metal, since the far
    side is not what is in the way; of the nearest of all where it lies wholly inside.
    """
    path, target, pieces = (skin, other, edge) if which == 0 else (other, skin, rim)
    piece, low, high = seeds
    best: dict[int, tuple[float, Array, Array]] = {}
    while len(piece):
        middle = (low + high) / 2.0
        x = path.at(piece, middle)
        dist, near, nearest = nearest_of(target, pieces, x)
        if which == 0:
            zones = zone[piece]
        else:
            zones = zone[nearest_of(skin, entered, x)[2] if len(entered) else nearest]
        for k in np.argsort(dist).tolist():
            z = int(zones[k])
            if z not in best or dist[k] > best[z][0]:
                best[z] = (float(dist[k]), x[k], near[k]) if which == 0 else (float(dist[k]), near[k], x[k])
        half = (high - low) / 2.0 * path.lengths[piece]
        if which == 0:
            floor = np.array([best[int(z)][0] for z in zones])
        else:
            floor = np.full(len(dist), max(b[0] for b in best.values()))
        go = dist + half > floor + DEPTH_MM
        piece = np.repeat(piece[go], _PARTS)
        step = np.repeat((high - low)[go] / _PARTS, _PARTS)
        low = np.repeat(low[go], _PARTS) + step * np.tile(np.arange(_PARTS), int(go.sum()))
        high = low + step
    return best


def zones_within(skin: Path, zone: Indices, counted: Flags, area: Path, reach_mm: float) -> set[int]:
    """Return the zones of a skin that come nearer than reach_mm to an area, or lie in it."""
    of = np.flatnonzero(counted)
    if not len(of):
        return set()
    near, *_ = _least(skin, of, zone, area, np.arange(len(area)))
    inside = zone[of][contains(area, skin.points[of])].tolist()
    return {z for z, least in near.items() if least < reach_mm} | set(inside)


def signed_distances(
    skin_points: Array, other: Path, edge: Flags | None = None, *, inside: bool = False
) -> Array:
    """Return (m,) signed distances of points to an outline: + on the right side, - on the wrong one."""
    pieces = np.arange(len(other)) if edge is None else np.flatnonzero(edge)
    dist = nearest_of(other, pieces, skin_points)[0]
    right = contains(other, skin_points) == inside
    return np.where(right, dist, -dist)

"""How far one outline lies off another: exact over lines and arcs, nothing flattened.

The distance of a place to a set of lines and arcs has a closed form. Its largest value along another outline
(the one-sided Hausdorff distance) is found by halving pieces: what one sub-piece can reach at most is known
from its ends (distance to a straight line is convex along a straight line; the distance to an arc's centre
has its extremes at the ends or on the line through both centres), or else from its middle and its length,
because the distance changes by no more than the way travelled. A sub-piece is dropped as soon as it can add
no more than FINE to what was found already. Nothing of the program is used.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.corpus.shapes import Chain, Point

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

FINE = 1e-7
"""The distances found are at most this much too small, in mm, unless told otherwise."""

_CELLS = 2_000_000
"""Distances computed at a time: bounds memory."""

_NEAR = 1e-6
"""Places as near to a piece as this, mm, may lie on it."""

_CANDIDATES = 4
"""Nearest pieces by which a sub-piece is bounded; with fewer it is halved more often."""


@dataclass(frozen=True)
class Edges:
    """Lines and arcs, one row each; lengths mm, angles rad.

    `start`, `end`, `centre` are (n, 2); `sweep` is signed, + to the left, 0 for a line, whose radius is 0 and
    centre its start.
    """

    start: Array
    end: Array
    centre: Array
    radius: Array
    angle: Array
    sweep: Array

    @staticmethod
    def of(chains: Sequence[Chain], closed: bool = True) -> "Edges":
        """The pieces of chains that are longer than nothing."""
        rows = []
        for chain in chains:
            following = [*chain[1:], chain[0]] if closed else chain[1:]
            rows += [(*a, *b[:2]) for a, b in zip(chain, following, strict=False) if a[:2] != b[:2]]
        z0, r0, bulge, z1, r1 = np.array(rows, dtype=float).reshape(-1, 5).T
        start, end = np.column_stack([z0, r0]), np.column_stack([z1, r1])
        bent = np.abs(bulge) > 1e-12
        b = np.where(bent, bulge, 1.0)
        aside = ((1.0 - b * b) / (4.0 * b))[:, None] * np.column_stack([r0 - r1, z1 - z0])
        centre = np.where(bent[:, None], (start + end) / 2.0 + aside, start)
        radius = np.where(bent, np.hypot(*(start - centre).T), 0.0)
        angle = np.arctan2(*(start - centre).T[::-1])
        return Edges(start, end, centre, radius, angle, np.where(bent, 4.0 * np.arctan(bulge), 0.0))

    def __len__(self) -> int:
        return len(self.start)

    def some(self, rows: NDArray[np.int64]) -> "Edges":
        """The pieces of these rows."""
        return Edges(*(getattr(self, name)[rows] for name in self.__dataclass_fields__))

    def length(self) -> Array:
        """Of every piece."""
        return np.where(
            self.sweep == 0.0, np.hypot(*(self.end - self.start).T), np.abs(self.sweep) * self.radius
        )

    def at(self, rows: NDArray[np.int64], share: Array) -> Array:
        """The places at a share of the way along pieces, (k, 2)."""
        straight = self.start[rows] + share[:, None] * (self.end - self.start)[rows]
        angle = self.angle[rows] + share * self.sweep[rows]
        round_ = self.centre[rows] + self.radius[rows, None] * np.column_stack([np.cos(angle), np.sin(angle)])
        # The ends themselves, so that neighbours still meet.
        return np.where(((self.sweep[rows] == 0.0) | (share == 0.0))[:, None], straight, round_)


def _to_pieces(places: Array, edges: Edges) -> Array:
    """Distance of places to pieces as their shapes broadcast: (k, 1, 2) and (m,) give (k, m)."""
    way = edges.end - edges.start
    square = np.maximum(np.sum(way * way, axis=-1), 1e-300)
    along = np.clip(np.sum((places - edges.start) * way, axis=-1) / square, 0.0, 1.0)
    off = places - edges.start - along[..., None] * way
    to_line = np.hypot(off[..., 0], off[..., 1])
    out = places - edges.centre
    turned = (np.arctan2(out[..., 1], out[..., 0]) - edges.angle) * np.sign(edges.sweep)
    to_ends = np.minimum(
        np.hypot(*np.moveaxis(places - edges.start, -1, 0)), np.hypot(*np.moveaxis(places - edges.end, -1, 0))
    )
    faces = np.mod(turned, 2.0 * np.pi) <= np.abs(edges.sweep)
    to_arc = np.where(faces, np.abs(np.hypot(out[..., 0], out[..., 1]) - edges.radius), to_ends)
    return np.where(edges.sweep == 0.0, to_line, np.minimum(to_arc, to_ends))


def distances(places: Array, edges: Edges) -> Array:
    """Least distance of each place (k, 2) to any of the pieces."""
    return _nearest(places, edges, 1)[0]


def _nearest(places: Array, edges: Edges, count: int) -> tuple[Array, NDArray[np.int64]]:
    """Least distance of each place, and the numbers (k, count) of the pieces nearest to it."""
    count = min(count, len(edges))
    step = max(1, _CELLS // len(edges))
    least, rows = [np.empty(0)], [np.empty((0, count), dtype=np.int64)]
    for first in range(0, len(places), step):
        found = _to_pieces(places[first : first + step, None, :], edges)
        best = np.argpartition(found, count - 1, axis=1)[:, :count]
        rows.append(best.astype(np.int64))
        least.append(found.min(axis=1))
    return np.concatenate(least), np.concatenate(rows)


def contains(chains: Sequence[Chain], places: Array) -> Flags:
    """Whether places lie within closed chains, by the even-odd rule: chords, arcs' segments swapped."""
    edges = Edges.of(chains)
    inside = np.zeros(len(places), dtype=bool)
    step = max(1, _CELLS // len(edges))
    for first in range(0, len(places), step):
        z, r = places[first : first + step, None, 0], places[first : first + step, None, 1]
        (z0, r0), (z1, r1) = edges.start.T, edges.end.T
        rising = (r0 > r) != (r1 > r)
        with np.errstate(divide="ignore", invalid="ignore"):
            crossed = rising & (z < z0 + (r - r0) / (r1 - r0) * (z1 - z0))
        left = (z1 - z0) * (r - r0) - (r1 - r0) * (z - z0)
        in_disc = np.hypot(z - edges.centre[:, 0], r - edges.centre[:, 1]) < edges.radius
        # An arc to the left bulges to the right of its chord.
        in_segment = (edges.sweep != 0.0) & in_disc & ((left < 0.0) == (edges.sweep > 0.0))
        inside[first : first + step] = (crossed.sum(axis=1) + in_segment.sum(axis=1)) % 2 == 1
    return inside


@dataclass(frozen=True)
class Off:
    """How far an outline lies off at most, and where; at most FINE too small."""

    mm: float = 0.0
    at: Point = (0.0, 0.0)

    def __str__(self) -> str:
        return f"{self.mm:.6g} mm at z {self.at[0]:.4f}, r {self.at[1]:.4f}"


def _reach(edges: Edges, rows: NDArray[np.int64], first: Array, last: Array, other: Edges) -> Array:
    """What sub-pieces can be off at most from single pieces of the other outline, (k, m) -> (k,).

    `rows`, `first`, `last` (k,) name the sub-pieces, `other` holds the (k, m) pieces nearest to each.
    """
    a, b = edges.at(rows, first), edges.at(rows, last)
    middle = edges.at(rows, (first + last) / 2.0)
    half = edges.length()[rows] * (last - first) / 2.0
    rise = edges.radius[rows] * (1.0 - np.cos(edges.sweep[rows] * (last - first) / 2.0))
    ends = np.maximum(_to_pieces(a[:, None], other), _to_pieces(b[:, None], other))
    to_line = ends + rise[:, None]
    # To an arc: between the least and largest distance from its centre, if all of the sub-piece faces it.
    out = middle[:, None] - other.centre
    far = np.hypot(out[..., 0], out[..., 1])
    turned = np.mod((np.arctan2(out[..., 1], out[..., 0]) - other.angle) * np.sign(other.sweep), 2.0 * np.pi)
    with np.errstate(divide="ignore", invalid="ignore"):
        slack = np.where(far > half[:, None], half[:, None] / (far - half[:, None]), np.inf)
    faces = (turned >= slack) & (turned <= np.abs(other.sweep) - slack)
    low, high = _from_centre(edges, rows, first, last, a, b, other.centre)
    to_arc = np.where(faces, np.maximum(np.abs(high - other.radius), np.abs(low - other.radius)), np.inf)
    return np.asarray(np.where(other.sweep == 0.0, to_line, to_arc).min(axis=1))


def _from_centre(
    edges: Edges, rows: NDArray[np.int64], first: Array, last: Array, a: Array, b: Array, centre: Array
) -> tuple[Array, Array]:
    """Least and largest distance of sub-pieces from places (k, m, 2)."""
    to_a = np.hypot(*np.moveaxis(a[:, None] - centre, -1, 0))
    to_b = np.hypot(*np.moveaxis(b[:, None] - centre, -1, 0))
    low, high = np.minimum(to_a, to_b), np.maximum(to_a, to_b)
    way = (b - a)[:, None]
    along = np.sum((centre - a[:, None]) * way, axis=-1) / np.maximum(np.sum(way * way, axis=-1), 1e-300)
    foot = a[:, None] + np.clip(along, 0.0, 1.0)[..., None] * way
    to_foot = np.hypot(*np.moveaxis(foot - centre, -1, 0))
    own = edges.centre[rows][:, None]
    apart = own - centre
    gap, heading = np.hypot(apart[..., 0], apart[..., 1]), np.arctan2(apart[..., 1], apart[..., 0])
    sweep, radius = edges.sweep[rows][:, None], edges.radius[rows][:, None]
    begin = edges.angle[rows][:, None] + first[:, None] * sweep
    span = np.abs(sweep) * (last - first)[:, None]

    def passes(angle: Array) -> Flags:
        return np.asarray(np.mod((angle - begin) * np.sign(sweep), 2.0 * np.pi) <= span)

    bent = sweep != 0.0
    high = np.where(bent & passes(heading), radius + gap, high)
    low = np.where(bent, np.where(passes(heading + np.pi), np.abs(radius - gap), low), to_foot)
    return low, high


def _meetings(edges: Edges, other: Edges) -> list[list[float]]:
    """For each piece the shares of its way at which it meets the other outline, with a few spare ones."""
    shares: list[list[float]] = [[] for _ in range(len(edges))]
    for k in range(len(edges)):
        one = edges.some(np.array([k]))
        for places in _crossings(one, other):
            real = np.flatnonzero(np.isfinite(places).all(axis=1))
            on = _to_pieces(places[real], other.some(real)) < _NEAR
            shares[k] += [s for s in _share(one, places[real[on]]).tolist() if 0.0 < s < 1.0]
    return shares


def _crossings(one: Edges, other: Edges) -> tuple[Array, Array]:
    """Two places (m, 2) at which the whole line or circle of one piece meets those of others, or nan."""
    way, base = (one.end - one.start)[0], one.start[0]
    ways = other.end - other.start
    with np.errstate(all="ignore"):
        if one.sweep[0] == 0.0:
            along = _cross(other.start - base, ways) / _cross(way, ways)
            flat = base + along[:, None] * way
            middle, reach, aside = _chord(base, way, other.centre, other.radius)
            bent = other.sweep != 0.0
        else:
            flat = np.full((len(other), 2), np.nan)
            apart = other.centre - one.centre
            gap = np.hypot(*apart.T)
            along = (gap**2 + one.radius**2 - other.radius**2) / (2.0 * gap**2)
            of_circles = one.centre + along[:, None] * apart
            rise = np.sqrt(one.radius**2 - (along * gap) ** 2) / gap
            across = np.column_stack([-apart[:, 1], apart[:, 0]])
            of_lines = _chord(other.start, ways, one.centre, one.radius)
            bent = np.ones(len(other), dtype=bool)
            straight = other.sweep == 0.0
            middle = np.where(straight[:, None], of_lines[0], of_circles)
            reach = np.where(straight, of_lines[1], rise)
            aside = np.where(straight[:, None], of_lines[2], across)
        first, second = middle + reach[:, None] * aside, middle - reach[:, None] * aside
    return np.where(bent[:, None], first, flat), np.where(bent[:, None], second, flat)


def _cross(a: Array, b: Array) -> Array:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def _chord(base: Array, way: Array, centre: Array, radius: Array) -> tuple[Array, Array, Array]:
    """Middle of the chord that a circle cuts out of a line, half its length in ways, and the way."""
    square = np.sum(way * way, axis=-1)
    along = np.sum((centre - base) * way, axis=-1) / square
    middle = base + along[..., None] * way
    off = np.sum((centre - middle) ** 2, axis=-1)
    return middle, np.sqrt((radius**2 - off) / square), np.broadcast_to(way, middle.shape)


def _share(one: Edges, places: Array) -> Array:
    """The share of the way along a piece at which places on it lie."""
    if one.sweep[0] == 0.0:
        way = (one.end - one.start)[0]
        return np.asarray((places - one.start[0]) @ way / (way @ way))
    out = places - one.centre[0]
    turned = (np.arctan2(out[:, 1], out[:, 0]) - one.angle[0]) * np.sign(one.sweep[0])
    return np.asarray(np.mod(turned, 2.0 * np.pi) / abs(one.sweep[0]))


def excursion(
    outline: Sequence[Chain], other: Sequence[Chain], closed: bool = True, fine: float = FINE
) -> tuple[Off, Off]:
    """How far an outline lies inside another, and how far outside; for open chains all counts as outside.

    Pieces are parted where they meet the other outline, so that each part lies on one side of it.
    """
    edges, target = Edges.of(outline, closed), Edges.of(other, closed)
    length = edges.length()
    cuts = [sorted({0.0, *shares, 1.0}) for shares in _meetings(edges, target)]
    rows = np.repeat(np.arange(len(edges)), [len(c) - 1 for c in cuts])
    first = np.array([a for c in cuts for a in c[:-1]])
    last = np.array([b for c in cuts for b in c[1:]])
    outside = ~contains(other, edges.at(rows, (first + last) / 2.0)) if closed else np.ones(len(rows), bool)
    worst = [Off(), Off()]
    while len(rows):
        middle = edges.at(rows, (first + last) / 2.0)
        half = length[rows] * (last - first) / 2.0
        off, nearest = _nearest(middle, target, _CANDIDATES)
        for side, here in enumerate((~outside, outside)):
            k = int(np.where(here, off, -1.0).argmax())
            if here[k] and off[k] > worst[side].mm:
                worst[side] = Off(float(off[k]), (float(middle[k, 0]), float(middle[k, 1])))
        most = np.minimum(off + half, _reach(edges, rows, first, last, target.some(nearest)))
        keep = most > np.where(outside, worst[1].mm, worst[0].mm) + fine
        rows, first, last, outside = rows[keep], first[keep], last[keep], outside[keep]
        centre = (first + last) / 2.0
        rows, outside = np.concatenate([rows, rows]), np.concatenate([outside, outside])
        first, last = np.concatenate([first, centre]), np.concatenate([centre, last])
    return worst[0], worst[1]


@dataclass(frozen=True)
class Compared:
    """A read outline held against the true one.

    Attributes:
        inside, outside: how far the read outline lies within and beyond the true one.
        missing: how far the true outline lies beyond the read one: what was lost.
        beyond: how far the true outline lies within the read one: what was filled.
    """

    inside: Off
    outside: Off
    missing: Off
    beyond: Off

    @property
    def hausdorff_mm(self) -> float:
        """The distance of the two outlines as sets."""
        return max(off.mm for off in (self.inside, self.outside, self.missing, self.beyond))


def compared(
    read: Sequence[Chain], true: Sequence[Chain], closed: bool = True, fine: float = FINE
) -> Compared:
    """Hold chains that were read against the true ones, both ways; distances are at most `fine` too small."""
    inside, outside = excursion(read, true, closed, fine)
    beyond, missing = excursion(true, read, closed, fine)
    return Compared(inside, outside, missing, beyond)

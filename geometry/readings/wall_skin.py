"""An outline's skin, prepared for the largest discs in the metal.

Words:
    row       a piece of the skin, or after them a fan: what carries a station
    fan       a re-entrant corner taken as an arc of radius zero, with every normal between its two edges
    element   a line, an arc or a fan, in this order: what can stop a disc
    run       convex arcs of one circle that follow each other, as the halves of a corner arc do

Where the section reaches the axle line the metal goes on beyond it: the skin is then that of the whole wheel
cut along the axle, each piece with its mirror image. Only the upper half carries stations.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from geometry.shape.curve import Array, Flags, Indices, Path
from geometry.shape.section import Outline
from geometry.tolerances import STRAIGHT_BULGE

#: Joints that turn less than this, rad, are smooth: a disc of 20 mm sinks in by 2e-6 mm at most.
SMOOTH_RAD = 1e-7

#: Re-entrant turns above this, rad, leave a gap between the neighbours' normals; below it is rounding.
GAP_RAD = 1e-9

#: Two arcs belong to one circle when centres and radii agree to this, mm.
SAME_CIRCLE_MM = 1e-6


@dataclass(frozen=True, eq=False)
class Pieces:
    """The skin's pieces, one row each, in (z, r).

    Attributes:
        source: piece of the outline; upper: number of leading pieces in the upper half.
        before, after: neighbours.
        start, end, middle: places; normal_start, normal_end, normal_middle: inward unit normals there.
        along: unit direction of the chord; length: of the chord, mm.
        signed: signed radius in mm, + fillet, - convex, infinite for lines.
        centre: of arcs; sweep: their signed angle, rad.
        sine: of the turn at the start; turn: there, +1 convex, 0 smooth, -1 re-entrant.
    """

    source: Indices
    upper: int
    before: Indices
    after: Indices
    start: Array
    end: Array
    middle: Array
    normal_start: Array
    normal_end: Array
    normal_middle: Array
    along: Array
    length: Array
    signed: Array
    centre: Array
    sweep: Array
    sine: Array
    turn: Indices


@dataclass(frozen=True, eq=False)
class Skin:
    """Pieces and elements of a skin (see the module's words).

    Attributes:
        lines, arcs: rows of straight and round pieces; fans: rows of the pieces that start at one.
        normal, offset: (lines, 2) inward normal and (lines,) the line's height along it.
        centre: (arcs + fans, 2); radius: signed, 0 for fans; middle: unit direction from the centre to the
            middle; crest: place there.
        anchor, size: (elements, 2) and (elements,) normal and offset of lines, centre and radius of the rest.
        past_start, short_of_end: (3, elements) factors of (z, r, 1) for how far a place lies past the start
            of each element, along its direction there, and short of its end.
        line_height, arc_height: (3, lines) and (3, arcs + fans) factors for the height over line and crest.
        arc_facing: (4, arcs + fans) centre z, centre r, 1, radius.
        largest: (arcs + fans,) radius of the largest disc that can touch, infinite but for convex arcs.
        element: (rows,) element of each row; fan_at: (pieces,) element of the fan at a piece's start, or -1.
        row: (elements,) row of each element.
        ball, ball_radius: (elements, 2) and (elements,) circle that holds each element.
        zones: (elements, 2) zones of each element, twice the same but for fans.
        apart: (rows, elements) True where a station on the row is never stopped by the element: itself, a
            smooth neighbour, the same circle, the fans at its ends.
        run_middle, run_half: for convex arcs, direction from the centre to the middle of the run, and half of
            the run's angle in rad.
        heads: one convex arc of each run.
    """

    pieces: Pieces
    lines: Indices
    arcs: Indices
    fans: Indices
    normal: Array
    offset: Array
    centre: Array
    radius: Array
    middle: Array
    crest: Array
    anchor: Array
    size: Array
    past_start: Array
    short_of_end: Array
    line_height: Array
    arc_height: Array
    arc_facing: Array
    largest: Array
    element: Indices
    row: Indices
    fan_at: Indices
    ball: Array
    ball_radius: Array
    zones: Indices
    apart: Flags
    run_middle: Array
    run_half: Array
    heads: Indices

    @property
    def elements(self) -> int:
        """Number of elements."""
        return len(self.zones)


@lru_cache(maxsize=2)
def skin_of(outline: Outline) -> Skin:
    """Return the outline's skin prepared for discs; walls and band of one frame ask for the same."""
    p = _pieces(outline)
    n, straight = len(p.source), np.isinf(p.signed)
    lines, arcs = np.flatnonzero(straight), np.flatnonzero(~straight)
    fans = np.flatnonzero((p.sine < -GAP_RAD) | (p.turn < 0))
    element = np.empty(n + len(fans), dtype=np.intp)
    element[lines] = np.arange(len(lines))
    element[arcs] = np.arange(len(lines), n)
    element[n:] = np.arange(n, n + len(fans))
    fan_at = np.full(n, -1, dtype=np.intp)
    fan_at[fans] = element[n:]
    run_middle, run_half, heads = _runs(p)
    own, before = np.concatenate([lines, arcs]), p.before[fans]
    normal = p.normal_start[lines]
    offset = dot(p.start[lines], normal)
    centre = np.concatenate([p.centre[arcs], p.start[fans]])
    radius = np.concatenate([p.signed[arcs], np.zeros(len(fans))])
    arc_middle = p.normal_middle[arcs] * np.sign(p.signed[arcs])[:, None]
    middle = np.concatenate([arc_middle, _fan_directions(p, fans)])
    crest = np.concatenate([p.middle[arcs], p.start[fans]])
    # A fan turns from the edge that arrives to the edge that leaves.
    start, end = np.concatenate([p.start[own], p.start[fans]]), np.concatenate([p.end[own], p.start[fans]])
    first = np.concatenate([p.normal_start[own], p.normal_end[before]])
    last = np.concatenate([p.normal_end[own], p.normal_start[fans]])
    zone = outline.zone[p.source]
    return Skin(
        pieces=p,
        lines=lines,
        arcs=arcs,
        fans=fans,
        normal=normal,
        offset=offset,
        centre=centre,
        radius=radius,
        middle=middle,
        crest=crest,
        anchor=np.concatenate([normal, centre]),
        size=np.concatenate([offset, radius]),
        # The direction of travel lies to the right of the normal.
        past_start=_component(columns(first[:, 1], -first[:, 0]), start),
        short_of_end=_component(columns(-last[:, 1], last[:, 0]), end),
        line_height=np.vstack([normal.T, -offset]),
        arc_height=_component(middle, crest),
        arc_facing=np.vstack([centre.T, np.ones(len(radius)), radius]),
        largest=np.where(radius < 0.0, -radius, np.inf),
        element=element,
        row=np.concatenate([own, np.arange(n, n + len(fans))]),
        fan_at=fan_at,
        ball=(start + end) / 2.0,
        ball_radius=np.concatenate([p.length[own] / 2.0, np.zeros(len(fans))]),
        zones=zone[np.column_stack([np.append(own, before), np.append(own, fans)])],
        apart=_apart(p, element, fan_at, arcs, fans),
        run_middle=run_middle,
        run_half=run_half,
        heads=heads,
    )


def dot(u: Array, v: Array) -> Array:
    """Return (m,) products of (m, 2) vectors."""
    product: Array = u[:, 0] * v[:, 0] + u[:, 1] * v[:, 1]
    return product


def columns(z: Array, r: Array) -> Array:
    """Return (m, 2) rows (z, r)."""
    out = np.empty((len(z), 2))
    out[:, 0], out[:, 1] = z, r
    return out


def cells(mask: Flags) -> tuple[Indices, Indices]:
    """Return row and column of the True cells of a mask in reading order, faster than numpy's nonzero."""
    row, column = np.divmod(np.flatnonzero(mask), max(mask.shape[1], 1))
    return row, column


def _loops(outline: Outline) -> list[tuple[Path, Indices]]:
    """Return closed loops of skin, upper half first, each with the outline's piece of each of its pieces."""
    path, n = outline.path, len(outline.path)
    if outline.skin.all():
        return [(path, np.arange(n))]
    heads = np.flatnonzero(outline.skin & ~outline.skin[np.arange(n) - 1])
    loops = []
    for head in heads.tolist():
        count = int(np.argmin(np.roll(outline.skin, -head)))
        there = (head + np.arange(count)) % n
        back = there[::-1]
        points = np.concatenate([path.points[there], path.ends[back] * np.array([1.0, -1.0])])
        # Run backwards and mirrored, an arc keeps its bulge.
        bulges = np.concatenate([path.bulges[there], path.bulges[back]])
        loops.append((Path(points, bulges), np.concatenate([there, back])))
    return loops


def _pieces(outline: Outline) -> Pieces:
    loops = _loops(outline)
    if len(loops) == 1:
        path, source = loops[0]
        before = np.arange(len(source)) - 1
        after = np.append(np.arange(1, len(source)), 0)
        before[0] = len(source) - 1
        upper = len(source) if outline.skin.all() else len(source) // 2
        return _measured(source, upper, before, after, path.points, path.ends, path.bulges, path.centres)
    # Upper halves of all loops first, then their images.
    first = np.cumsum([0, *(len(s) for _, s in loops)])
    size = int(first[-1])
    before, after = np.arange(size) - 1, np.arange(size) + 1
    before[first[:-1]], after[first[1:] - 1] = first[1:] - 1, first[:-1]
    is_upper = np.concatenate([np.arange(len(s)) < len(s) // 2 for _, s in loops])
    order = np.argsort(~is_upper, kind="stable")
    place = np.empty(size, dtype=np.intp)
    place[order] = np.arange(size)
    return _measured(
        np.concatenate([s for _, s in loops])[order],
        int(np.count_nonzero(is_upper)),
        place[before[order]],
        place[after[order]],
        np.concatenate([p.points for p, _ in loops])[order],
        np.concatenate([p.ends for p, _ in loops])[order],
        np.concatenate([p.bulges for p, _ in loops])[order],
        np.concatenate([p.centres for p, _ in loops])[order],
    )


def _measured(
    source: Indices,
    upper: int,
    before: Indices,
    after: Indices,
    start: Array,
    end: Array,
    bulge: Array,
    centre: Array,
) -> Pieces:
    arc = np.abs(bulge) >= STRAIGHT_BULGE
    bulge = np.where(arc, bulge, 0.0)
    chord = end - start
    length = np.hypot(chord[:, 0], chord[:, 1])
    along = chord / length[:, None]
    left = columns(-along[:, 1], along[:, 0])
    with np.errstate(divide="ignore"):
        signed = -length * (1.0 + bulge * bulge) / (4.0 * bulge)
    signed[~arc] = np.inf
    first, last = left.copy(), left.copy()
    # An arc's normal points from the centre for a fillet, to it when convex.
    first[arc] = (start[arc] - centre[arc]) / signed[arc, None]
    last[arc] = (end[arc] - centre[arc]) / signed[arc, None]
    middle = (start + end - left * (bulge * length)[:, None]) / 2.0
    arriving = last[before]
    sine = arriving[:, 0] * first[:, 1] - arriving[:, 1] * first[:, 0]
    smooth = (np.abs(sine) < SMOOTH_RAD) & (dot(arriving, first) > 0.0)
    turn = np.where(smooth, 0, np.where(sine >= 0.0, 1, -1))
    return Pieces(
        source=source,
        upper=upper,
        before=before,
        after=after,
        start=start,
        end=end,
        middle=middle,
        normal_start=first,
        normal_end=last,
        normal_middle=left,
        along=along,
        length=length,
        signed=signed,
        centre=centre,
        sweep=4.0 * np.arctan(bulge),
        sine=sine,
        turn=turn,
    )


def _component(way: Array, origin: Array) -> Array:
    """Return (3, m) factors of (z, r, 1) for the component along (m, 2) ways from (m, 2) origins."""
    return np.vstack([way.T, -dot(way, origin)])


def _fan_directions(p: Pieces, fans: Indices) -> Array:
    """Return the unit direction to each fan's middle."""
    if not len(fans):
        return np.empty((0, 2))
    first, last = p.normal_end[p.before[fans]], p.normal_start[fans]
    # The sum of the normals is sharp for small turns, the difference of the directions for large ones.
    turned = columns(first[:, 1] - last[:, 1], last[:, 0] - first[:, 0])
    middle = np.where((dot(first, last) < 0.0)[:, None], turned, first + last)
    unit: Array = middle / np.hypot(middle[:, 0], middle[:, 1])[:, None]
    return unit


def _apart(p: Pieces, element: Indices, fan_at: Indices, arcs: Indices, fans: Indices) -> Flags:
    n = len(p.source)
    apart = np.zeros((n + len(fans), n + len(fans)), dtype=bool)
    every = np.arange(n + len(fans))
    apart[every, element] = True
    smooth = np.flatnonzero(p.turn == 0)
    last = p.before[smooth]
    apart[smooth, element[last]] = True
    apart[last, element[smooth]] = True
    if len(arcs):
        signed, centre = p.signed[arcs], p.centre[arcs]
        same = np.abs(signed[:, None] - signed) < SAME_CIRCLE_MM
        i, j = cells(same)
        on_one = np.abs(centre[i] - centre[j]).max(axis=1) < SAME_CIRCLE_MM
        apart[arcs[i[on_one]], element[arcs[j[on_one]]]] = True
    if len(fans):
        last, own = p.before[fans], fan_at[fans]
        apart[fans, own] = True
        apart[last, own] = True
        apart[own, element[fans]] = True
        apart[own, element[last]] = True
    return apart


def _runs(p: Pieces) -> tuple[Array, Array, Indices]:
    """Return direction to the middle and half the angle of each convex arc's run, and one arc of each run."""
    n = len(p.source)
    convex = p.signed < 0.0
    k = np.flatnonzero(convex & convex[p.before] & (p.turn == 0))
    last = p.before[k]
    off = np.abs(p.centre[k] - p.centre[last])
    same = (off[:, 0] < SAME_CIRCLE_MM) & (off[:, 1] < SAME_CIRCLE_MM)
    k = k[same & (np.abs(p.signed[k] - p.signed[last]) < SAME_CIRCLE_MM)]
    if len(k) == n:
        # A whole circle: one run without an end.
        k = k[1:]
    head = np.arange(n)
    head[k] = p.before[k]
    while not np.array_equal(head, head[head]):
        head = head[head]
    half = np.minimum(np.bincount(head, np.where(convex, p.sweep, 0.0), n) / 2.0, np.pi)[head]
    first = p.start[head] - p.centre[head]
    cosine, sine = np.cos(half), np.sin(half)
    middle = columns(first[:, 0] * cosine - first[:, 1] * sine, first[:, 0] * sine + first[:, 1] * cosine)
    return (
        middle / np.where(convex, -p.signed, 1.0)[:, None],
        half,
        np.flatnonzero(convex & (head == np.arange(n))),
    )

"""An outline's skin, prepared for the largest discs in the metal.

Words:
    element   a line, an arc or a fan: what can be one of the two faces of a wall
    fan       a re-entrant corner taken as an arc of radius zero, with every normal between its two edges
    corner    any joint of the skin: it stops a disc that reaches it
    column    an element or a corner, in the order lines, arcs, fans, corners: whatever can stop a disc
    row       a piece, or after them a fan: what carries a station
    run       convex arcs of one circle that follow each other, as the halves of a corner arc do
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.shape.curve import Array, Flags, Indices, Path
from geometry.shape.section import Outline

#: Joints that turn less than this, rad, are smooth: a disc of 20 mm sinks in by 1e-9 mm at most.
SMOOTH_RAD = 1e-5

#: Two arcs belong to one circle when centres and radii agree to this, mm.
SAME_CIRCLE_MM = 1e-6


@dataclass(frozen=True, eq=False)
class Pieces:
    """What stations on any piece of a path need; all arrays have one row for each piece.

    Attributes:
        signed: signed radius in mm, + fillet, - convex, infinite for lines.
        along: unit direction from start to end; length: of the chord in mm.
        normal_start, normal_middle, normal_end: inward unit normals.
        middle: place halfway along.
        turn: at the start of the piece, +1 convex, 0 smooth, -1 re-entrant.
    """

    signed: Array
    along: Array
    length: Array
    normal_start: Array
    normal_middle: Array
    normal_end: Array
    middle: Array
    turn: Indices


@dataclass(frozen=True, eq=False)
class Skin:
    """The skin of an outline as columns and rows (see the module's words).

    Attributes:
        lines, arcs: straight and round pieces of the skin; fans, corners: pieces that start at one.
        normal, along: (lines, 2) inward normal and direction; offset, start, length: of each line, mm.
        centre: (arcs + fans, 2); radius: signed, 0 for fans; middle: unit direction from the centre to the
            middle; cos_half: cosine of half the angle.
        column: (pieces,) column of each piece, -1 off the skin.
        zones: (columns, 2) zones of each column, twice the same but for fans and corners.
        apart: (rows, columns) True where a station on the row is never stopped by the column: itself, a
            smooth neighbour, the same circle, its own ends.
        run_middle, run_half: of each piece that is a convex arc, direction from its centre to the middle of
            its run, and half the run's angle in rad.
        crosses_axle: the metal goes on beyond the axle line.
    """

    path: Path
    pieces: Pieces
    lines: Indices
    arcs: Indices
    fans: Indices
    corners: Indices
    normal: Array
    along: Array
    offset: Array
    start: Array
    length: Array
    centre: Array
    radius: Array
    middle: Array
    cos_half: Array
    column: Indices
    zones: Indices
    apart: Flags
    run_middle: Array
    run_half: Array
    crosses_axle: bool

    @property
    def elements(self) -> int:
        """Number of leading columns that are elements."""
        return len(self.lines) + len(self.radius)


def skin_of(outline: Outline) -> Skin:
    """Return the outline's skin prepared for discs; edges on the axle line are left out."""
    path, on = outline.path, outline.skin
    pieces = _pieces(path)
    before = np.roll(on, 1)
    lines = np.flatnonzero(on & ~path.is_arc)
    arcs = np.flatnonzero(on & path.is_arc)
    fans = np.flatnonzero(on & before & (pieces.turn < 0))
    corners = np.flatnonzero(on | before)
    column = np.full(len(path), -1, dtype=np.intp)
    column[lines] = np.arange(len(lines))
    column[arcs] = len(lines) + np.arange(len(arcs))
    arc_middle = pieces.normal_middle[arcs] * np.sign(pieces.signed[arcs])[:, None]
    fan_middle, fan_cos = _fan_directions(pieces, fans)
    run_middle, run_half = _runs(path, pieces, arcs, arc_middle)
    return Skin(
        path=path,
        pieces=pieces,
        lines=lines,
        arcs=arcs,
        fans=fans,
        corners=corners,
        normal=pieces.normal_start[lines],
        along=pieces.along[lines],
        offset=np.sum(path.points[lines] * pieces.normal_start[lines], axis=1),
        start=np.sum(path.points[lines] * pieces.along[lines], axis=1),
        length=pieces.length[lines],
        centre=np.vstack([path.centres[arcs], path.points[fans]]),
        radius=np.concatenate([pieces.signed[arcs], np.zeros(len(fans))]),
        middle=np.vstack([arc_middle, fan_middle]),
        cos_half=np.concatenate([np.cos(path.sweeps[arcs] / 2.0), fan_cos]),
        column=column,
        zones=_zones(outline, lines, arcs, fans, corners),
        apart=_apart(path, pieces, column, arcs, fans, corners),
        run_middle=run_middle,
        run_half=run_half,
        crosses_axle=not on.all(),
    )


def _pieces(path: Path) -> Pieces:
    chord = path.ends - path.points
    length = np.hypot(chord[:, 0], chord[:, 1])
    along = chord / length[:, None]
    left = np.column_stack([-along[:, 1], along[:, 0]])
    round_ = path.is_arc[:, None]
    signed = np.where(path.is_arc & (path.bulges > 0.0), -path.radii, path.radii)
    # A line's normal is its left; an arc's points from the centre for a fillet, to it when convex.
    over = np.where(path.is_arc, signed, 1.0)[:, None]
    first = np.where(round_, (path.points - path.centres) / over, left)
    last = np.where(round_, (path.ends - path.centres) / over, left)
    bow = np.where(path.is_arc, path.bulges, 0.0) * length / 2.0
    middle = (path.points + path.ends) / 2.0 - left * bow[:, None]
    before = np.roll(last, 1, axis=0)
    sine = before[:, 0] * first[:, 1] - before[:, 1] * first[:, 0]
    cosine = before[:, 0] * first[:, 0] + before[:, 1] * first[:, 1]
    turn = np.where((np.abs(sine) < SMOOTH_RAD) & (cosine > 0.0), 0, np.where(sine >= 0.0, 1, -1))
    return Pieces(signed, along, length, first, left, last, middle, turn.astype(np.intp))


def _fan_directions(pieces: Pieces, fans: Indices) -> tuple[Array, Array]:
    """Return the unit direction to each fan's middle and the cosine of half its angle."""
    first, last = pieces.normal_end[fans - 1], pieces.normal_start[fans]
    # The sum of the normals is sharp for small turns, the difference of the directions for large ones.
    turned = np.column_stack([first[:, 1] - last[:, 1], last[:, 0] - first[:, 0]])
    blunt = np.sum(first * last, axis=1) < 0.0
    middle = np.where(blunt[:, None], turned, first + last)
    middle = middle / np.hypot(middle[:, 0], middle[:, 1])[:, None]
    return middle, np.sum(middle * first, axis=1)


def _zones(outline: Outline, lines: Indices, arcs: Indices, fans: Indices, corners: Indices) -> Indices:
    zone, on = outline.zone, outline.skin
    own = np.concatenate([lines, arcs])
    joints = np.concatenate([fans, corners])
    after = np.where(on[joints], joints, joints - 1)
    before = np.where(on[joints - 1], joints - 1, joints)
    return np.column_stack([zone[np.concatenate([own, before])], zone[np.concatenate([own, after])]])


def _apart(
    path: Path, pieces: Pieces, column: Indices, arcs: Indices, fans: Indices, corners: Indices
) -> Flags:
    n = len(path)
    first_fan = int(np.count_nonzero(column >= 0))
    first_corner = first_fan + len(fans)
    width = first_corner + len(corners)
    # Pieces off the skin have column -1: they write into one spare column, cut off at the end.
    apart = np.zeros((n + len(fans), width + 1), dtype=bool)
    every = np.arange(n)
    apart[every, column] = True
    smooth = np.flatnonzero(pieces.turn == 0)
    apart[smooth, column[smooth - 1]] = True
    apart[smooth - 1, column[smooth]] = True
    if len(arcs):
        centre, signed = path.centres[arcs], pieces.signed[arcs]
        same = np.abs(signed[:, None] - signed) < SAME_CIRCLE_MM
        same &= np.abs(centre[:, None, 0] - centre[:, 0]) < SAME_CIRCLE_MM
        same &= np.abs(centre[:, None, 1] - centre[:, 1]) < SAME_CIRCLE_MM
        i, j = np.nonzero(same)
        apart[arcs[i], column[arcs[j]]] = True
    for joints, first in ((fans, first_fan), (corners, first_corner)):
        own = first + np.arange(len(joints))
        apart[joints, own] = True
        apart[joints - 1, own] = True
    fan = n + np.arange(len(fans))
    apart[fan, column[fans]] = True
    apart[fan, column[fans - 1]] = True
    apart[fan, first_fan + np.arange(len(fans))] = True
    apart[fan, first_corner + np.searchsorted(corners, fans)] = True
    return apart[:, :width]


def _runs(path: Path, pieces: Pieces, arcs: Indices, middle: Array) -> tuple[Array, Array]:
    """Return direction to the middle and half the angle of the run of each convex arc."""
    n = len(path)
    run_middle, run_half = np.zeros((n, 2)), np.zeros(n)
    run_middle[arcs], run_half[arcs] = middle, np.abs(path.sweeps[arcs]) / 2.0
    signed, centre = pieces.signed, path.centres
    convex = signed < 0.0
    k = np.flatnonzero(convex & np.roll(convex, 1) & (pieces.turn == 0))
    same = np.abs(signed[k] - signed[k - 1]) < SAME_CIRCLE_MM
    k = k[same & (np.abs(centre[k] - centre[k - 1]).max(axis=1) < SAME_CIRCLE_MM)]
    if not len(k):
        return run_middle, run_half
    joined = np.zeros(n, dtype=bool)
    joined[k] = True
    heads = np.flatnonzero(convex & ~joined & np.roll(joined, -1))
    for head in heads if len(heads) else np.array([0]):
        members = [int(head)]
        while joined[(members[-1] + 1) % n] and (members[-1] + 1) % n != head:
            members.append((members[-1] + 1) % n)
        half = min(float(np.sum(path.sweeps[members])) / 2.0, np.pi)
        angle = path.start_angles[head] + half
        run_middle[members], run_half[members] = (np.cos(angle), np.sin(angle)), half
    return run_middle, run_half

"""Which outline lies within which, and which look like a frame round all others."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from itertools import islice

from app.files.readers.net import LEVEL_MM
from app.files.readers.outlines import Bounds
from app.files.readers.pieces import Piece, Point, area, holds, lowest_and_bounds

#: Places of a ring that are asked whether they lie within another; most of them decide.
_ASKED = 7

#: Sides of drawing sheets A4 to A0, mm (ISO 216), and how near a frame's come to them.
_SHEETS = ((210.0, 297.0), (297.0, 420.0), (420.0, 594.0), (594.0, 841.0), (841.0, 1189.0))
_SHEET_MM = 1.0

#: A line within a sheet's edge lies at most so far from it, mm (20 at the filing edge, 10 elsewhere in ISO
#: 5457, from memory; and some more).
_BORDER_MM = 30.0

#: Rings that the sweep has passed are sorted out after so many new ones at the earliest.
_ROOM = 64


def nesting(rings: Sequence[list[Piece]]) -> tuple[int, ...]:
    """Return for each ring the number of the smallest ring round it, -1 for an outer one."""
    sizes = [area(ring) for ring in rings]
    boxes = [box(ring) for ring in rings]
    found = [-1] * len(rings)
    # Swept along z: only rings that reach beyond a ring's first z can lie round it; the smallest come first.
    round_it: list[tuple[float, int]] = []
    room = _ROOM
    for k in sorted(range(len(rings)), key=lambda k: (boxes[k][0], -sizes[k])):
        if len(round_it) > room:
            round_it = [held for held in round_it if boxes[held[1]][1] >= boxes[k][0]]
            room = 2 * len(round_it) + _ROOM
        place = bisect_left(round_it, (sizes[k], len(rings)))
        larger = (j for _, j in islice(round_it, place, None) if _boxed(boxes[k], boxes[j]))
        found[k] = next((j for j in larger if _is_within(rings[k], rings[j])), -1)
        round_it.insert(place, (sizes[k], k))
    return tuple(found)


def frames(rings: Sequence[list[Piece]]) -> list[int]:
    """Return the numbers of rings that are rectangles along the axes round all smaller rings."""
    found: list[int] = []
    boxes = [box(ring) for ring in rings]
    by_size = sorted(range(len(rings)), key=lambda k: -area(rings[k]))
    for place, k in enumerate(by_size[:-1]):
        smaller = by_size[place + 1 :]
        if not _is_rectangle(rings[k]) or not all(_boxed(boxes[j], boxes[k]) for j in smaller):
            break
        found.append(k)
    return found


def sheets(rings: Sequence[list[Piece]], round_all: Sequence[int], units_mm: Sequence[float]) -> list[int]:
    """Return the numbers of frames that have the size of a drawing sheet, and of those along its edge.

    Args:
        rings: outlines.
        round_all: frames among them, the largest first.
        units_mm: millimetres in each unit that the drawing may be in.
    """
    found: list[int] = []
    for unit_mm in units_mm:
        for k in round_all:
            z0, z1, r0, r1 = (unit_mm * x for x in box(rings[k]))
            is_sheet = any(math.dist(sorted((z1 - z0, r1 - r0)), sheet) <= _SHEET_MM for sheet in _SHEETS)
            if found:
                low_z, high_z, low_r, high_r = (unit_mm * x for x in box(rings[found[-1]]))
                is_sheet |= max(z0 - low_z, high_z - z1, r0 - low_r, high_r - r1) <= _BORDER_MM
            if not is_sheet:
                break
            found.append(k)
        if found:
            break
    return found


def box(ring: Sequence[Piece]) -> Bounds:
    """Return z low, z high, r low, r high of a ring, exact over arcs."""
    return lowest_and_bounds([(*p.start, p.bulge) for p in ring])[1]


def _boxed(inner: Bounds, outer: Bounds) -> bool:
    """True where a box lies within another or reaches out of it by rounding only."""
    lows = inner[0] >= outer[0] - LEVEL_MM and inner[2] >= outer[2] - LEVEL_MM
    return lows and inner[1] <= outer[1] + LEVEL_MM and inner[3] <= outer[3] + LEVEL_MM


def _is_within(ring: Sequence[Piece], outer: Sequence[Piece]) -> bool:
    """True where most of a ring's places lie in another: some may lie on its edge, where they meet."""
    step = max(len(ring) // _ASKED, 1)
    asked = [_beside_middle(p) for p in ring[::step]]
    return 2 * sum(holds(outer, place) for place in asked) > len(asked)


def _beside_middle(p: Piece) -> Point:
    """Return a place a hair to the left of a piece's middle: within the ring that it bounds."""
    dz, dr = p.end[0] - p.start[0], p.end[1] - p.start[1]
    span = math.hypot(dz, dr)
    shift = p.bulge / 2.0 - min(LEVEL_MM / span, 0.1)
    return (p.start[0] + p.end[0]) / 2.0 + shift * dr, (p.start[1] + p.end[1]) / 2.0 - shift * dz


def _is_rectangle(ring: Sequence[Piece]) -> bool:
    low_z, high_z, low_r, high_r = box(ring)
    sides = (high_z - low_z) * (high_r - low_r)
    return not any(p.bulge for p in ring) and abs(area(ring) - sides) <= 1e-6 * sides

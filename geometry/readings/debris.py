"""Long narrow gaps: where stones, mud and ice are held between wheel and brake."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.readings.conditions import Conditions
from geometry.readings.gap import signed_distances
from geometry.readings.rows import Held, Place
from geometry.shape.curve import Array, Indices
from geometry.shape.section import ZONES, Outline, Side

_BRAKE = tuple(Side).index(Side.BRAKE)
#: Stations along the skin stand no farther apart; a run is found to this at each end.
STEP_MM = 0.5


@dataclass(frozen=True)
class NarrowGap:
    """A stretch of the skin along which the gap to a shape stays narrow.

    Attributes:
        length_mm: along the skin. least_mm: of the gap there. zones: that it runs through, in order.
        start, end: its ends on the skin.
    """

    shape: str
    length_mm: float
    least_mm: float
    zones: tuple[str, ...]
    start: Place
    end: Place


def narrow_gaps(outline: Outline, held: Held, conditions: Conditions) -> tuple[NarrowGap, ...]:
    """Return stretches where the gap is under debris_gap_mm along debris_length_mm or more, as drawn.

    Stretches may bridge joints of the skin; where the shape touches the metal there is no gap to hold a
    stone, and the stretch ends.
    """
    if not conditions.debris_gap_mm or not conditions.debris_length_mm:
        return ()
    path = outline.path
    pieces = np.flatnonzero(outline.skin & (outline.side == _BRAKE))
    if not len(pieces):
        return ()
    count = np.maximum(1, np.ceil(path.lengths[pieces] / STEP_MM)).astype(np.intp)
    piece = np.repeat(pieces, count)
    within = np.arange(len(piece)) - np.repeat(np.cumsum(count) - count, count)
    share = np.repeat(path.lengths[pieces] / count, count)
    at = path.at(piece, (within + 0.5) / np.repeat(count, count))
    piece, at, share = _from_a_break(piece, at, share, len(path))
    # A run ends where the skin is left: where the next piece is not the one after.
    steps = np.diff(piece)
    apart = np.append(False, (steps > 1) | ((steps < 0) & (steps != 1 - len(path))))
    found: list[NarrowGap] = []
    for shape, positions in held.shapes:
        gap = np.min([signed_distances(at, p, p.off_axle) for p in positions], axis=0)
        narrow = (gap >= 0.0) & (gap < conditions.debris_gap_mm)
        starts = np.flatnonzero(narrow & (apart | ~np.append(False, narrow[:-1])))
        for first in starts:
            stop = first + 1
            while stop < len(narrow) and narrow[stop] and not apart[stop]:
                stop += 1
            length = float(share[first:stop].sum())
            if length >= conditions.debris_length_mm:
                zones = dict.fromkeys(str(ZONES[z]) for z in outline.zone[piece[first:stop]])
                ends = [(float(at[k, 0]), float(at[k, 1])) for k in (first, stop - 1)]
                found.append(
                    NarrowGap(
                        shape.name, length, float(gap[first:stop].min()), tuple(zones), ends[0], ends[1]
                    )
                )
    return tuple(found)


def _from_a_break(piece: Indices, at: Array, share: Array, count: int) -> tuple[Indices, Array, Array]:
    """Return the places turned round so that no stretch of skin runs over the end of the list.

    Args:
        piece: (n,) number of the piece of each place.
        at: (n, 2) the places.
        share: (n,) length of each.
        count: of pieces of the outline.
    """
    before = np.roll(piece, 1)
    joined = (piece == before) | (piece == before + 1) | ((piece == 0) & (before == count - 1))
    breaks = np.flatnonzero(~joined)
    if not len(breaks) or breaks[0] == 0:
        return piece, at, share
    first = int(breaks[0])
    return np.roll(piece, -first), np.roll(at, -first, axis=0), np.roll(share, -first)

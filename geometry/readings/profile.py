"""Gap, wall and stock along the skin, for the profile strip and the wall band."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache, reduce

import numpy as np

from geometry.compiled import compiled
from geometry.readings.gap import signed_distances
from geometry.readings.rows import Held
from geometry.readings.wall import discs_at, read_walls, rows_of
from geometry.readings.wall_skin import Bits, skin_of
from geometry.shape.curve import Array, Flags, Indices, length_of, place_along
from geometry.shape.section import Outline

#: Stations stand no farther apart than this along the skin.
STEP_MM = 4.0


@dataclass(frozen=True, eq=False)
class Profile:
    """Stations along the skin of a wheel, in order.

    Attributes:
        z, r, along_mm: (m,) place and length along the skin.
        side: (m,) 0 tyre, 1 brake, 2 street; zone: (m,) index into ZONES; piece: (m,) of the outline.
        gap_mm: (m,) signed distance to the nearest stay-out shape, NaN without shapes.
        wall_mm: (m,) diameter of the largest disc there, NaN where it is not a wall.
        stock_mm: (m,) signed distance to the blank's outline less its skin, NaN without a blank.
    """

    z: Array
    r: Array
    along_mm: Array
    side: Indices
    zone: Indices
    piece: Indices
    gap_mm: Array
    wall_mm: Array
    stock_mm: Array


@dataclass(frozen=True, eq=False)
class WallsAlong:
    """Stations along the skin of a wheel, in order, with the wall there.

    Attributes:
        piece, share: (m,) of the outline, and how far along it; along_mm: (m,) length along the skin.
        place: (m, 2) z and r; wall_mm: (m,) diameter of the largest disc there, NaN where it is no wall.
    """

    piece: Indices
    share: Array
    along_mm: Array
    place: Array
    wall_mm: Array


def walls_along(outline: Outline, step_mm: float = STEP_MM) -> WallsAlong:
    """Return the wall at stations along the skin, at most step_mm apart, joints left out.

    It is kept: the band and the strip of one state ask for the same.
    """
    return _kept_walls(outline, step_mm)


@lru_cache(maxsize=2)
def _kept_walls(outline: Outline, step_mm: float) -> WallsAlong:
    """Return what walls_along does; it is called in one way alone, since each way would be kept by itself."""
    skin, (_, middles) = skin_of(outline), read_walls(outline)
    table, links, apart, blocks = skin.table, skin.links, skin.apart, skin.blocks
    return WallsAlong(
        *_walls(outline.path.table, outline.skin, step_mm, table, links, apart, blocks, middles)
    )


def profile(outline: Outline, held: Held, step_mm: float = STEP_MM) -> Profile:
    """Return gap, wall and stock at stations along the skin, at most step_mm apart, joints left out."""
    walls = walls_along(outline, step_mm)
    x, piece = walls.place, walls.piece
    gaps = [signed_distances(x, position) for _, positions in held.shapes for position in positions]
    gap = reduce(np.fmin, gaps) if gaps else np.full(len(piece), np.nan)
    usable = held.stock_path
    if usable is not None:
        stock = signed_distances(x, usable, usable.off_axle, inside=True) - held.skin_mm
    else:
        stock = np.full(len(piece), np.nan)
    return Profile(
        x[:, 0],
        x[:, 1],
        walls.along_mm,
        outline.side[piece],
        outline.zone[piece],
        piece,
        gap,
        walls.wall_mm,
        stock,
    )


@compiled
def _walls(
    t: Array,
    on_skin: Flags,
    step_mm: float,
    e: Array,
    links: Indices,
    apart: Bits,
    blocks: Array,
    middles: Array,
) -> tuple[Indices, Array, Array, Array, Array]:
    """Return the parts of WallsAlong, from an outline's table, its Skin and the middles of read_walls."""
    piece, share, along, place = _stations(t, on_skin, step_mm)
    row, wall = rows_of(links, len(middles), len(t)), np.empty(len(piece))
    for m in range(len(piece)):
        wall[m] = middles[row[piece[m]]] if share[m] == 0.5 else np.inf
    left = np.nonzero(wall == np.inf)[0]
    discs = discs_at(piece[left], share[left], len(t), e, links, apart, blocks, len(middles))
    for n in range(len(left)):
        wall[left[n]] = discs[n, 0] if discs[n, 1] > 0.0 else np.nan
    return piece, share, along, place, wall


@compiled
def _stations(t: Array, skin: Flags, step_mm: float) -> tuple[Indices, Array, Array, Array]:
    """Return piece (m,), share of it (m,), length along the outline (m,) and place (m, 2) of each station."""
    count = np.zeros(len(t), dtype=np.intp)
    for k in range(len(t)):
        if skin[k]:
            count[k] = max(1, math.ceil(length_of(t, k) / step_mm))
    total = count.sum()
    piece, share = np.empty(total, dtype=np.intp), np.empty(total)
    along, place = np.empty(total), np.empty((total, 2))
    before, m = 0.0, 0
    for k in range(len(t)):
        length = length_of(t, k)
        for j in range(count[k]):
            piece[m], share[m] = k, (j + 0.5) / count[k]
            along[m] = before + share[m] * length
            place[m, 0], place[m, 1] = place_along(t, k, share[m])
            m += 1
        before += length
    return piece, share, along, place

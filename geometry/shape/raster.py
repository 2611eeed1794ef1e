"""The area that triangles in space cover in the half-plane (z, r), in cells of some hundredths of a mm.

Words:
    piece   a triangle so small that r is as good as linear over it, which makes it a triangle in (z, r)
    cell    one place of a fine grid in (z, r); it is set where a piece may touch it
    row     the cells of one step along z, or of one step along r

r = hypot(x, y) is convex over a plane triangle: it never exceeds the linear one between the corners, and
falls short of it by a known amount, by which a piece is widened towards the axle. So no place of a triangle
lies outside the cells that it sets, and every set cell has one within it, or nearer than that amount.

A piece is set row by row, along z or along r, whichever takes fewer rows; each way has a field of its own,
and at the end these are joined.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from geometry.compiled import compiled
from geometry.shape.cells import Words, set_cells
from geometry.shape.curve import Array

#: A piece may be this much nearer to the axle than the straight triangle between its corners, in cells.
_BULGE = 0.3
#: Pieces smaller than this are not parted again, in cells.
_SMALLEST = 0.08
#: Places this near to a cell set it too, in cells: rounding of the interpolation, seven digits beyond it.
_NEAR = 1e-5


class Extent(NamedTuple):
    """What triangles reach in (z, r), mm; r_low may be somewhat below the least.

    `rows_mm` is the sum over all triangles of their shorter side, `area_mm2` that of half the product of both
    sides: the work of setting them, by rows and by cells.
    """

    z_low: float
    z_high: float
    r_low: float
    r_high: float
    rows_mm: float
    area_mm2: float


class Grid(NamedTuple):
    """Cells of a field: the low corner of the first one, their sizes (mm) and numbers along z and r."""

    z_low: float
    r_low: float
    step_z: float
    step_r: float
    count_z: int
    count_r: int


def widening(step_r: float) -> float:
    """Return by how much the cells can lie nearer to the axle than the triangles, mm, besides their size."""
    return max(_BULGE, 1.6 * _SMALLEST) * step_r


@compiled
def extent(body: Array) -> tuple[float, float, float, float, float, float]:
    """Return the Extent of (n, 9) corners z, x, y."""
    z_low, z_high, r_low, r_high, rows, area = np.inf, -np.inf, np.inf, 0.0, 0.0, 0.0
    for n in range(len(body)):
        low, high = min(body[n, 0], body[n, 3], body[n, 6]), max(body[n, 0], body[n, 3], body[n, 6])
        near, far, short, _ = _spread(body[n])
        if near - short < r_low:
            r_low = min(r_low, _nearest(body[n]))
        z_low, z_high, r_high = min(z_low, low), max(z_high, high), max(r_high, far)
        long, wide = high - low, far - near + short
        rows += min(long, wide)
        area += long * wide / 2.0
    return z_low, z_high, r_low, r_high, rows, area


@compiled
def _spread(corners: Array) -> tuple[float, float, float, float]:
    """Return least and greatest r of the corners of a triangle z, x, y; how much nearer it can be; its width.

    The width is the longest side seen along the axle, squared.
    """
    ax, ay, bx, by, cx, cy = corners[1], corners[2], corners[4], corners[5], corners[7], corners[8]
    ra, rb, rc = math.sqrt(ax * ax + ay * ay), math.sqrt(bx * bx + by * by), math.sqrt(cx * cx + cy * cy)
    wide = max(
        (ax - bx) ** 2 + (ay - by) ** 2, (bx - cx) ** 2 + (by - cy) ** 2, (cx - ax) ** 2 + (cy - ay) ** 2
    )
    near, far = min(ra, rb, rc), max(ra, rb, rc)
    # A place of the triangle is no farther from its nearest corner than side / sqrt(3).
    least = near - 0.5774 * math.sqrt(wide)
    short = far - max(least, 0.0)
    if least > 0.0:
        # Along a segment u from p, r'' = |u x p|^2 / r^3, and the chord lies r'' / 8 above at most; a place
        # of the triangle is on a segment from a corner to a place of the side opposite: twice that.
        turn = max(abs(ax * by - ay * bx), abs(bx * cy - by * cx), abs(cx * ay - cy * ax))
        short = min(short, turn * turn / (4.0 * least * least * least))
    return near, far, short, wide


@compiled
def _nearest(corners: Array) -> float:
    """Return the least r of a triangle of nine numbers z, x, y, mm."""
    nearest, left, right = np.inf, 0, 0
    for c in range(3):
        x, y = corners[3 * c + 1], corners[3 * c + 2]
        d = (3 * c + 3) % 9
        dx, dy = corners[d + 1] - x, corners[d + 2] - y
        side = x * dy - y * dx
        left, right = left + (side >= 0.0), right + (side <= 0.0)
        square = dx * dx + dy * dy
        t = min(max(-(x * dx + y * dy) / square, 0.0), 1.0) if square > 0.0 else 0.0
        nearest = min(nearest, math.sqrt((x + t * dx) ** 2 + (y + t * dy) ** 2))
    # Seen along the axle, a triangle that has it on one side of all three edges holds it.
    return 0.0 if left == 3 or right == 3 else nearest


def covered(body: Array, grid: Grid, grow: float) -> Words:
    """Return the tiles (z, r, 64) of all cells that (n, 9) corners z, x, y touch once grown by `grow` mm.

    The bits of a tile's words run along r.
    """
    tiles_z, tiles_r = grid.count_z // 64 + 1, grid.count_r // 64 + 1
    # Not in compiled code: numpy asks for large pages of memory, which spare a third of the time.
    along_z = np.zeros((tiles_z, tiles_r, 64), dtype=np.uint64)
    along_r = np.zeros((tiles_r, tiles_z, 64), dtype=np.uint64)
    _cover(along_z, along_r, body, *grid, grow)
    return along_z


@compiled
def _cover(
    along_z: Words,
    along_r: Words,
    body: Array,
    z_low: float,
    r_low: float,
    step_z: float,
    step_r: float,
    count_z: int,
    count_r: int,
    grow: float,
) -> None:
    """Set the cells that a body covers, rows along z and r each in a field of its own, and join them."""
    stack = np.empty((96, 9))
    per_z, per_r = 1.0 / step_z, 1.0 / step_r
    pad_z, pad_r = grow * per_z + _NEAR, grow * per_r + _NEAR
    smallest = (_SMALLEST * step_r) ** 2
    bulge = _BULGE * step_r
    for n in range(len(body)):
        count = 1
        stack[0] = body[n]
        while count:
            count -= 1
            az, ax, ay, bz, bx, by, cz, cx, cy = stack[count]
            _, _, short, wide = _spread(stack[count])
            if short > bulge and wide > smallest and count < 94:
                # Part it at the middle of the side that is longest seen along the axle.
                ab, bc, ca = (
                    (ax - bx) ** 2 + (ay - by) ** 2,
                    (bx - cx) ** 2 + (by - cy) ** 2,
                    (cx - ax) ** 2 + (cy - ay) ** 2,
                )
                if ab < max(bc, ca):
                    if bc >= ca:
                        az, ax, ay, bz, bx, by, cz, cx, cy = bz, bx, by, cz, cx, cy, az, ax, ay
                    else:
                        az, ax, ay, bz, bx, by, cz, cx, cy = cz, cx, cy, az, ax, ay, bz, bx, by
                mz, mx, my = (az + bz) / 2.0, (ax + bx) / 2.0, (ay + by) / 2.0
                one, two = stack[count], stack[count + 1]
                one[0], one[1], one[2], one[3], one[4], one[5], one[6], one[7], one[8] = (
                    az,
                    ax,
                    ay,
                    mz,
                    mx,
                    my,
                    cz,
                    cx,
                    cy,
                )
                two[0], two[1], two[2], two[3], two[4], two[5], two[6], two[7], two[8] = (
                    mz,
                    mx,
                    my,
                    bz,
                    bx,
                    by,
                    cz,
                    cx,
                    cy,
                )
                count += 2
                continue
            az, bz, cz = (az - z_low) * per_z, (bz - z_low) * per_z, (cz - z_low) * per_z
            ra = (math.sqrt(ax * ax + ay * ay) - r_low) * per_r
            rb = (math.sqrt(bx * bx + by * by) - r_low) * per_r
            rc = (math.sqrt(cx * cx + cy * cy) - r_low) * per_r
            inner = pad_r + short * per_r
            if max(az, bz, cz) - min(az, bz, cz) <= max(ra, rb, rc) - min(ra, rb, rc):
                _set_piece(along_z, az, ra, bz, rb, cz, rc, pad_z, pad_z, inner, pad_r, count_z, count_r)
            else:
                _set_piece(along_r, ra, az, rb, bz, rc, cz, inner, pad_r, pad_z, pad_z, count_r, count_z)
    _join(along_z, along_r)


@compiled
def _set_piece(
    tiles: Words,
    au: float,
    av: float,
    bu: float,
    bv: float,
    cu: float,
    cv: float,
    before_u: float,
    after_u: float,
    before_v: float,
    after_v: float,
    count_u: int,
    count_v: int,
) -> None:
    """Set the cells of a triangle widened by the given amounts; rows are steps of u, bits are steps of v."""
    if au > bu:
        au, av, bu, bv = bu, bv, au, av
    if bu > cu:
        bu, bv, cu, cv = cu, cv, bu, bv
    if au > bu:
        au, av, bu, bv = bu, bv, au, av
    least, most = min(av, bv, cv), max(av, bv, cv)
    first, last = max(int(au - before_u), 0), min(int(cu + after_u), count_u - 1)
    long_slope = (cv - av) / (cu - au) if cu - au > _NEAR else 0.0
    low_slope = (bv - av) / (bu - au) if bu - au > _NEAR else 0.0
    high_slope = (cv - bv) / (cu - bu) if cu - bu > _NEAR else 0.0
    is_thin = cu - au <= _NEAR
    for k in range(first, last + 1):
        # The part of the triangle whose widened places can lie in this row.
        start, end = max(k - after_u, au), min(k + 1 + before_u, cu)
        if is_thin:
            low, high = least, most
        else:
            one, two = av + (start - au) * long_slope, av + (end - au) * long_slope
            low, high = min(one, two), max(one, two)
            v = av + (start - au) * low_slope if start < bu else bv + (start - bu) * high_slope
            low, high = min(low, v), max(high, v)
            v = av + (end - au) * low_slope if end < bu else bv + (end - bu) * high_slope
            low, high = min(low, v), max(high, v)
            if start <= bu + _NEAR and end >= bu - _NEAR:
                low, high = min(low, bv), max(high, bv)
            low, high = max(low, least), min(high, most)
        a, b = max(int(low - before_v), 0), min(int(high + after_v), count_v - 1)
        set_cells(tiles, k, a, b)


@compiled
def _join(along_z: Words, along_r: Words) -> None:
    """Set in the tiles along z what is set in those along r: each is turned over its diagonal."""
    tile = np.empty(64, dtype=np.uint64)
    for tile_r in range(along_r.shape[0]):
        for tile_z in range(along_r.shape[1]):
            any_set = np.uint64(0)
            for k in range(64):
                tile[k] = along_r[tile_r, tile_z, k]
                any_set |= tile[k]
            if any_set == 0:
                continue
            # Halves, quarters ... single bits change places across the diagonal.
            step, mask = 32, np.uint64(0x00000000FFFFFFFF)
            while step:
                shift = np.uint64(step)
                k = 0
                while k < 64:
                    swap = ((tile[k] >> shift) ^ tile[k + step]) & mask
                    tile[k] ^= swap << shift
                    tile[k + step] ^= swap
                    k = (k + step + 1) & ~step
                step >>= 1
                mask ^= mask << np.uint64(step)
            for k in range(64):
                along_z[tile_z, tile_r, k] |= tile[k]

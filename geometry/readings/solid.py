"""Sums over the outline's edges: area, volume, mass, centre and inertia of the turned body.

Green's theorem turns every integral over the section into one over its edges; on a line or an arc the
integrand is smooth, and 16 Gauss points give it to rounding. Within the spoke region metal fills only
min(1, n w(r) / (2 pi r)) of each ring: what is open of the turn is piecewise linear in r, and the same sums
hold between its steps.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from geometry.compiled import compiled
from geometry.errors import GeometryError
from geometry.readings.chords import Span, along_z
from geometry.shape.curve import CR, CZ, R0, R1, RADIUS, START, SWEEP, Z0, Z1, Array, Path
from geometry.shape.cut import ALONG_R, cuts, extent, parted, parts, runs_across

#: (16, 2) share and weight of each Gauss point of a stretch from 0 to 1.
_GAUSS = (np.column_stack(np.polynomial.legendre.leggauss(16)) + np.array([1.0, 0.0])) / 2.0

#: Radius beyond every section, mm.
_BEYOND_MM = 1e6


@dataclass(frozen=True)
class SpokeRegion:
    """The part of the section between hub circle and rim, where metal fills only part of the ring.

    Attributes:
        count: number of spokes.
        widths: (r, width along the arc) in mm, rising in r, linear between, constant beyond the ends; a
            radius named twice is a step.
        hub_circle_mm: radius where the full hub ends.
        shoulder_cut, lip_cut: (z, r) ends of the cut between spokes and rim.
    """

    count: int
    widths: tuple[tuple[float, float], ...]
    hub_circle_mm: float
    shoulder_cut: tuple[float, float]
    lip_cut: tuple[float, float]


@dataclass(frozen=True)
class BoltHoles:
    """Equal axial holes on a circle: count, circle diameter and hole diameter in mm.

    Attributes:
        z_low, z_high: the stretch of the axle that the hole spans, mm; metal within it counts.
    """

    count: int
    circle_mm: float
    hole_mm: float
    z_low: float = -10_000.0
    z_high: float = 10_000.0


@dataclass(frozen=True)
class Solid:
    """The turned body.

    Attributes:
        centre_z_mm: centre of mass along the axle.
        polar_kg_mm2: about the axle; diametral_kg_mm2: about a diameter through the centre of mass.
        full_mass_kg: of the full body of revolution, windows and bolt holes filled.
    """

    area_mm2: float
    volume_mm3: float
    mass_kg: float
    centre_z_mm: float
    polar_kg_mm2: float
    diametral_kg_mm2: float
    full_mass_kg: float


#: The numbers of _Sums, as compiled code returns them.
_Four = tuple[float, float, float, float]


class _Sums(NamedTuple):
    """Integrals over volume: 1, z, z2, and the square of the distance from the axle."""

    one: float
    z: float
    zz: float
    ss: float

    def less(self, other: _Sums) -> _Sums:
        return _Sums(self.one - other.one, self.z - other.z, self.zz - other.zz, self.ss - other.ss)


def solid(
    path: Path, density_kg_m3: float, spokes: SpokeRegion | None = None, holes: tuple[BoltHoles, ...] = ()
) -> Solid:
    """Return the body of a closed counterclockwise section turned about the axle.

    Raises:
        GeometryError: the spoke cuts do not part the section (each must cross its skin exactly twice).
    """
    if spokes is not None and spokes.count > 0:
        rings = _open_rings(spokes.count, spokes.widths)
        known, whole, windows = _turned_and_open(
            path.table, rings, spokes.hub_circle_mm, *spokes.shoulder_cut, *spokes.lip_cut
        )
        if not known:
            windows = _open(spoke_region(path, spokes).table, rings)  # says what is wrong with the cuts
        full = _Sums(*whole)
        total = full.less(_Sums(*windows))
    else:
        full = total = _Sums(*_turned(path.table))
    for hole in holes:
        total = total.less(_drilled(along_z(path, hole.circle_mm / 2.0), hole))
    density = density_kg_m3 * 1e-9
    if total.one <= 0.0:
        raise GeometryError("The section turns to no volume.")
    centre = total.z / total.one
    polar = density * total.ss
    diametral = polar / 2.0 + density * (total.zz - total.one * centre**2)
    return Solid(path.area, total.one, density * total.one, centre, polar, diametral, density * full.one)


# A blank stands still while the wheel in it is dragged.
@lru_cache(maxsize=64)
def volume_mm3(path: Path) -> float:
    """Return the volume of a closed counterclockwise section turned about the axle, mm3."""
    return _turned(path.table)[0]


@compiled
def moments_of_area(t: Array) -> tuple[float, float, float]:
    """Return area (mm2), centroid's r (mm) and second moment about the axis through it along z (mm4).

    The area is that of a table.
    """
    near = t[0, R0]
    area, first, second = _area_sums(t, near)
    return area, near + first / area, second - first**2 / area


@compiled
def _sample(t: Array, k: int, low: float, high: float, out: Array) -> None:
    """Fill (16, 3) `out` with z, r and weighted -dz at the Gauss points of piece k from share low to high."""
    straight = t[k, SWEEP] == 0.0
    for m in range(len(_GAUSS)):
        share, weight = low + (high - low) * _GAUSS[m, 0], (high - low) * _GAUSS[m, 1]
        if straight:
            dz = t[k, Z1] - t[k, Z0]
            out[m, 0], out[m, 1] = t[k, Z0] + dz * share, t[k, R0] + (t[k, R1] - t[k, R0]) * share
            out[m, 2] = -dz * weight
        else:
            angle = t[k, START] + t[k, SWEEP] * share
            up = t[k, RADIUS] * math.sin(angle)
            out[m, 0], out[m, 1] = t[k, CZ] + t[k, RADIUS] * math.cos(angle), t[k, CR] + up
            out[m, 2] = up * t[k, SWEEP] * weight


@compiled
def _turned(t: Array) -> _Four:
    """Return the sums of a whole ring: integrand 2 pi r."""
    one = first = second = ss = 0.0
    at = np.empty((16, 3))
    for k in range(len(t)):
        _sample(t, k, 0.0, 1.0, at)
        for m in range(len(at)):
            z, r, w = at[m, 0], at[m, 1], 2.0 * math.pi * at[m, 2]
            one += w * r**2 / 2.0
            first += w * r**2 / 2.0 * z
            second += w * r**2 / 2.0 * z**2
            ss += w * r**4 / 4.0
    return one, first, second, ss


@compiled
def _area_sums(t: Array, near: float) -> tuple[float, float, float]:
    """Return the integrals of 1, r - near and its square over an area, mm2 to mm4.

    Taken about a radius near the area: about the axle the moments would be differences of far greater ones.
    """
    area = first = second = 0.0
    at = np.empty((16, 3))
    for k in range(len(t)):
        _sample(t, k, 0.0, 1.0, at)
        for m in range(len(at)):
            r, w = at[m, 1] - near, at[m, 2]
            area += w * r
            first += w * r**2 / 2.0
            second += w * r**3 / 3.0
    return area, first, second


# Columns of a table of rings: inner radius; slope and offset of the open length between spokes, linear in r
# up to the next ring; its integrals from the axle up to the inner radius, plain and with r2.
FROM, SLOPE, OFFSET, PLAIN, SQUARE = range(5)


@compiled
def _open_to(ring: Array, r: float) -> tuple[float, float]:
    """Return the integrals of the open length, plain and with r2, from the axle up to r in a ring."""
    s, a, b = ring[FROM], ring[SLOPE], ring[OFFSET]
    plain = ring[PLAIN] + a * (r**2 - s**2) / 2.0 + b * (r - s)
    return plain, ring[SQUARE] + a * (r**4 - s**4) / 4.0 + b * (r**3 - s**3) / 3.0


# Spokes keep their widths while the section is dragged.
@lru_cache(maxsize=64)
def _open_rings(count: int, widths: tuple[tuple[float, float], ...]) -> Array:
    """Return (k, 5) a table of rings, rising: open is 2 pi r - n w(r), but never less than nothing."""
    if len(widths) == 0:
        raise GeometryError("The spokes have no widths; name at least one radius and width.")
    ends = [(0.0, widths[0][1]), *widths, (_BEYOND_MM, widths[-1][1])]
    turn = 2.0 * math.pi
    rows: list[tuple[float, float, float]] = []
    for (start, w0), (end, w1) in pairwise(ends):
        if end <= start:
            continue
        slope = count * (w1 - w0) / (end - start)
        offset = count * w0 - slope * start
        stops = [start, end]
        if abs(slope - turn) > 1e-15:
            meet = offset / (turn - slope)
            if start < meet < end:
                stops.insert(1, meet)
        for low, high in pairwise(stops):
            mid = (low + high) / 2.0
            full = slope * mid + offset >= turn * mid
            rows.append((low, 0.0, 0.0) if full else (low, turn - slope, -offset))
    out = np.zeros((len(rows), 5))
    for k, row in enumerate(rows):
        out[k, :PLAIN] = row
        if k > 0:
            out[k, PLAIN:] = _open_to(out[k - 1], row[0])
    return out


@compiled
def _open(t: Array, rings: Array) -> _Four:
    """Return the sums of what the windows between spokes take from a whole ring."""
    one = first = second = ss = 0.0
    at, stops = np.empty((16, 3)), np.empty(2 * len(rings) + 2)
    for k in range(len(t)):
        count = _stops(t, k, rings, stops)
        for i in range(count - 1):
            if stops[i + 1] - stops[i] <= 1e-15:
                continue
            _sample(t, k, stops[i], stops[i + 1], at)
            of = 0
            while of + 1 < len(rings) and rings[of + 1, FROM] <= at[8, 1]:
                of += 1
            for m in range(len(at)):
                z, w = at[m, 0], at[m, 2]
                plain, square = _open_to(rings[of], at[m, 1])
                one += w * plain
                first += w * plain * z
                second += w * plain * z**2
                ss += w * square
    return one, first, second, ss


@compiled
def _stops(t: Array, k: int, rings: Array, out: Array) -> int:
    """Fill `out` with the shares at which rings part piece k, rising from 0 to 1; return their number."""
    out[0], out[1] = 0.0, 1.0
    count = 2
    for ring in range(len(rings)):
        r = rings[ring, FROM]
        if t[k, SWEEP] == 0.0:
            rise = t[k, R1] - t[k, R0]
            if rise != 0.0:
                count = _with_stop(out, count, (r - t[k, R0]) / rise)
            continue
        height = (r - t[k, CR]) / t[k, RADIUS]
        if abs(height) < 1.0:
            base = math.asin(height)
            for angle in (base, math.pi - base):
                turn = math.copysign(1.0, t[k, SWEEP]) * (angle - t[k, START])
                count = _with_stop(out, count, turn % (2.0 * math.pi) / abs(t[k, SWEEP]))
    return count


@compiled
def _with_stop(out: Array, count: int, share: float) -> int:
    """Put a share between 0 and 1 in its place among the first `count` of `out`; return their number."""
    if not 0.0 < share < 1.0:
        return count
    at = count
    while out[at - 1] > share:
        out[at] = out[at - 1]
        at -= 1
    out[at] = share
    return count + 1


@compiled
def _region(t: Array, hub_r: float, z0: float, r0: float, z1: float, r1: float) -> Array:
    """Return the table of what spoke_region returns, from the cut's ends; empty where a cut is refused."""
    low, high = extent(runs_across(t, 1.0, 0.0, 0.0, 1.0))
    inner, outer = parted(t, low - 1.0, hub_r, high + 1.0, hub_r)
    if not len(inner):
        return inner
    if inner[:, R0].mean() >= outer[:, R0].mean():
        inner, outer = outer, inner
    inner, outer = parted(outer, z0, r0, z1, r1)
    if not len(inner):
        return inner
    return inner if inner[:, R0].mean() <= outer[:, R0].mean() else outer


@compiled
def _turned_and_open(
    t: Array, rings: Array, hub_r: float, z0: float, r0: float, z1: float, r1: float
) -> tuple[bool, _Four, _Four]:
    """Return the sums of a whole ring and of its windows, from the cuts' ends; False: a cut is refused."""
    region = _region(t, hub_r, z0, r0, z1, r1)
    return len(region) > 0, _turned(t), _open(region, rings)


def spoke_region(path: Path, spokes: SpokeRegion) -> Path:
    """Return the closed part of the section between hub circle and the cut from shoulder to outer lip root.

    Raises:
        GeometryError: a cut does not cross the skin exactly twice.
    """
    low, high = extent(runs_across(path.table, *ALONG_R))
    hub = spokes.hub_circle_mm
    outer = _part(path, (low - 1.0, hub), (high + 1.0, hub), "hub circle", keep_high_r=True)
    return _part(
        outer, spokes.shoulder_cut, spokes.lip_cut, "cut from shoulder to outer lip root", keep_high_r=False
    )


def _part(
    path: Path, start: tuple[float, float], end: tuple[float, float], name: str, *, keep_high_r: bool
) -> Path:
    """Cut a closed path along a segment that crosses it twice; return one part, by its r."""
    found = parts(path, start, end)
    if found is None:
        count = len(cuts(path, start, end))
        raise GeometryError(
            f"The {name} crosses the section {count} times instead of twice; move its ends onto the skin.",
            ((start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0),
        )
    centres = [p.points[:, 1].mean() for p in found]
    return found[int(np.argmax(centres) if keep_high_r else np.argmin(centres))]


def _drilled(metal: list[Span], hole: BoltHoles) -> _Sums:
    """Return the sums of what the holes take: their area times the metal on the bolt circle."""
    radius = hole.circle_mm / 2.0
    area = hole.count * np.pi * hole.hole_mm**2 / 4.0
    one = z = zz = 0.0
    for low, high in metal:
        lo, hi = max(low, hole.z_low), min(high, hole.z_high)
        if hi > lo:
            one += area * (hi - lo)
            z += area * (hi**2 - lo**2) / 2.0
            zz += area * (hi**3 - lo**3) / 3.0
    return _Sums(one, z, zz, one * (radius**2 + hole.hole_mm**2 / 8.0))

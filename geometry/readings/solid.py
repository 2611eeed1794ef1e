"""Sums over the outline's edges: area, volume, mass, centre and inertia of the turned body.

Green's theorem turns every integral over the section into one over its edges; on a line or an arc the
integrand is smooth, and 16 Gauss points give it to rounding. Within the spoke region metal fills only
min(1, n w(r) / (2 pi r)) of each ring, so that r times the fill is piecewise linear in r and the same sums
hold between its steps.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from geometry.errors import GeometryError
from geometry.readings.chords import Span, along_z
from geometry.shape.curve import Array, Indices, Path
from geometry.shape.cut import cuts, parts

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)
_T = (_NODES + 1.0) / 2.0
_W = _WEIGHTS / 2.0


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


@dataclass(frozen=True)
class _Sums:
    """Integrals over volume: 1, z, z2, and the square of the distance from the axle."""

    one: float
    z: float
    zz: float
    ss: float

    def plus(self, other: _Sums, times: float = 1.0) -> _Sums:
        return _Sums(
            self.one + times * other.one,
            self.z + times * other.z,
            self.zz + times * other.zz,
            self.ss + times * other.ss,
        )


def solid(
    path: Path, density_kg_m3: float, spokes: SpokeRegion | None = None, holes: tuple[BoltHoles, ...] = ()
) -> Solid:
    """Return the body of a closed counterclockwise section turned about the axle.

    Raises:
        GeometryError: the spoke cuts do not part the section (each must cross its skin exactly twice).
    """
    full = _turned(path)
    total = full
    if spokes is not None and spokes.count > 0:
        region = spoke_region(path, spokes)
        total = full.plus(_turned(region), -1.0).plus(_filled(region, spokes))
    metal = {hole.circle_mm: along_z(path, hole.circle_mm / 2.0) for hole in holes}
    for hole in holes:
        total = total.plus(_drilled(metal[hole.circle_mm], hole), -1.0)
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
    return _turned(path).one


def moments_of_area(path: Path) -> tuple[float, float, float]:
    """Return area (mm2), centroid's r (mm) and second moment about the axis through it along z (mm4)."""
    _, r, dz = _edge_points(path)
    w = -dz * _W
    area, first, second = (float(np.sum(w * r**k) / k) for k in (1, 2, 3))
    return area, first / area, second - first**2 / area


def _edge_points(path: Path) -> tuple[Array, Array, Array]:
    """Return z, r and dz (n, 16) at the Gauss points of every piece, dz per unit of the piece."""
    n = len(path)
    return _points(path, np.arange(n), np.zeros(n), np.ones(n))


def _points(path: Path, piece: Indices, low: Array, high: Array) -> tuple[Array, Array, Array]:
    """Return z, r and dz (m, 16) at the Gauss points of the stretches low to high of the named pieces."""
    t = low[:, None] + (high - low)[:, None] * _T
    start, chord = path.points[piece], path.ends[piece] - path.points[piece]
    z, r = start[:, 0][:, None] + chord[:, 0][:, None] * t, start[:, 1][:, None] + chord[:, 1][:, None] * t
    dz = np.repeat((chord[:, 0] * (high - low))[:, None], len(_T), axis=1)
    arcs = np.flatnonzero(path.is_arc[piece])
    if len(arcs):
        of = piece[arcs]
        angle = path.start_angles[of][:, None] + path.sweeps[of][:, None] * t[arcs]
        radius, centre = path.radii[of][:, None], path.centres[of]
        up = radius * np.sin(angle)
        z[arcs], r[arcs] = centre[:, 0][:, None] + radius * np.cos(angle), centre[:, 1][:, None] + up
        dz[arcs] = -up * (path.sweeps[of] * (high - low)[arcs])[:, None]
    return z, r, dz


def _turned(path: Path) -> _Sums:
    z, r, dz = _edge_points(path)
    w = -2.0 * np.pi * dz * _W
    return _Sums(
        float(np.sum(w * r**2) / 2.0),
        float(np.sum(w * r**2 * z) / 2.0),
        float(np.sum(w * r**2 * z**2) / 2.0),
        float(np.sum(w * r**4) / 4.0),
    )


def _filled(path: Path, spokes: SpokeRegion) -> _Sums:
    """Return the sums with each ring filled by its spokes: integrand n w(r) or 2 pi r, the smaller."""
    steps, slopes, offsets = _fill_lines(spokes, path.bounds[3])
    z, r, dz = _points(path, *_cut_at_radii(path, steps))
    # Antiderivatives over r of g and g r2, g piecewise linear, made continuous from step to step.
    band = np.clip(np.searchsorted(steps, r.mean(axis=1), side="right") - 1, 0, len(slopes) - 1)
    low = np.concatenate([[0.0], np.cumsum(_band(slopes, offsets, steps[:-1], steps[1:], 0))])[:-1]
    low2 = np.concatenate([[0.0], np.cumsum(_band(slopes, offsets, steps[:-1], steps[1:], 2))])[:-1]
    a, b, start = slopes[band][:, None], offsets[band][:, None], steps[band][:, None]
    g0 = low[band][:, None] + _band(a, b, start, r, 0)
    g2 = low2[band][:, None] + _band(a, b, start, r, 2)
    w = -dz * _W
    return _Sums(
        float(np.sum(w * g0)), float(np.sum(w * g0 * z)), float(np.sum(w * g0 * z**2)), float(np.sum(w * g2))
    )


def _band(a: Array, b: Array, start: Array, end: Array, power: int) -> Array:
    """Integral of (a r + b) r^power from start to end."""
    k = power
    result: Array = a * (end ** (k + 2) - start ** (k + 2)) / (k + 2) + b * (
        end ** (k + 1) - start ** (k + 1)
    ) / (k + 1)
    return result


def _fill_lines(spokes: SpokeRegion, r_high: float) -> tuple[Array, Array, Array]:
    """Return steps (k+1,) in r; slope and offset (k,) of the filled length round each ring."""
    radii = np.array([r for r, _ in spokes.widths], dtype=float)
    widths = np.array([w for _, w in spokes.widths], dtype=float) * spokes.count
    if len(radii) == 0:
        raise GeometryError("The spokes have no widths; name at least one radius and width.")
    edges: list[tuple[float, float, float, float]] = [(0.0, radii[0], widths[0], widths[0])]
    edges += [
        (radii[i], radii[i + 1], widths[i], widths[i + 1])
        for i in range(len(radii) - 1)
        if radii[i + 1] > radii[i]
    ]
    edges.append((radii[-1], max(r_high, radii[-1]) + 1.0, widths[-1], widths[-1]))
    steps, slopes, offsets = [0.0], [], []
    turn = 2.0 * np.pi
    for start, end, w0, w1 in edges:
        if end <= start:
            continue
        slope = (w1 - w0) / (end - start)
        offset = w0 - slope * start
        cuts = [start, end]
        if abs(slope - turn) > 1e-15:
            meet = offset / (turn - slope)
            if start < meet < end:
                cuts.insert(1, meet)
        for lo, hi in pairwise(cuts):
            mid = (lo + hi) / 2.0
            full = slope * mid + offset >= turn * mid
            steps.append(hi)
            slopes.append(turn if full else slope)
            offsets.append(0.0 if full else offset)
    return np.array(steps), np.array(slopes), np.array(offsets)


def _cut_at_radii(path: Path, radii: Array) -> tuple[Indices, Array, Array]:
    """Return the stretches (piece, low, high) into which the radii cut the pieces of a path."""
    n, k = len(path), len(radii)
    rise = path.ends[:, 1] - path.points[:, 1]
    line = (radii - path.points[:, 1][:, None]) / np.where(rise != 0.0, rise, 1.0)[:, None]
    line = np.where((~path.is_arc & (rise != 0.0))[:, None], line, 1.0)
    radius = np.where(path.is_arc, path.radii, 1.0)[:, None]
    height = (radii - path.centres[:, 1][:, None]) / radius
    base = np.arcsin(np.clip(height, -1.0, 1.0))
    turns = np.stack([base, np.pi - base]) - path.start_angles[:, None]
    sweep = np.where(path.is_arc, path.sweeps, 1.0)[:, None]
    arc = np.mod(np.sign(sweep) * turns, 2.0 * np.pi) / np.abs(sweep)
    arc = np.where(path.is_arc[:, None] & (np.abs(height) < 1.0), arc, 1.0)
    stops = np.concatenate([np.zeros((n, 1)), line, arc[0], arc[1], np.ones((n, 1))], axis=1)
    stops = np.sort(np.clip(stops, 0.0, 1.0), axis=1)
    low, high = stops[:, :-1].ravel(), stops[:, 1:].ravel()
    piece = np.repeat(np.arange(n), 3 * k + 1)
    long = high - low > 1e-15
    return piece[long], low[long], high[long]


def spoke_region(path: Path, spokes: SpokeRegion) -> Path:
    """Return the closed part of the section between hub circle and the cut from shoulder to outer lip root.

    Raises:
        GeometryError: a cut does not cross the skin exactly twice.
    """
    low, high, _, _ = path.bounds
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

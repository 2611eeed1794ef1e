"""The spoke zone as a smeared material: what a ring of spokes and windows carries, direction by direction.

With f the share of the ring that is metal:

    along r and z    f E, coupled as in a plane strip (bars stand free of each other)
    shear in (z, r)  f G
    hoop             WINDOW f E: windows do not carry it
    shear (r, t)     bending of each spoke in the plane of the wheel, built in at hub and rim, and its shear:
                     the angle of the smeared ring at r is the slope of the bent spoke there (`Sideways`), so
                     that a tapered spoke is as stiff from end to end as its beam, 12 E I / L3 for a plain one
    shear (z, t)     as (r, t): windows cut it

A spoke that carries the shear (r, t) bends across its width: its flanks see 6 s / w times its mean shear, s
the way along it from the place without moment. The smeared stress does not show that; Body.flank adds it.

Derived here from beam formulas; where the ring is whole (f = 1) it is the plain metal.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from geometry.errors import GeometryError
from geometry.readings.chords import spans
from geometry.readings.solid import SpokeRegion, spoke_region
from geometry.shape.curve import Array, Path
from geometry.strength.elements import RT, TT, ZT, isotropic

#: Share of the hoop stiffness that is left between windows: small, so that the sum stays definite.
WINDOW = 1e-3
#: Polygon of the region, mm.
_CHORD_MM = 0.05


#: Stations along a spoke, of which so many must hold metal.
_STATIONS, _LEAST = 60, 5
#: Share of the median depth below which a chord is a sliver of the cut at the rim: no beam goes on there.
_SLIVER = 0.35


@dataclass(frozen=True, eq=False)
class Stations:
    """The metal of a spoke region by radius: (m,) rising.

    Attributes:
        r: mm; z: middle of the metal. depth: metal along z. slope: angle of the middle to r, rad.
        step: in r, mm.
    """

    r: Array
    z: Array
    depth: Array
    slope: Array
    step: float


def stations_of(region: Path, hub_mm: float) -> Stations:
    """Return the stations of a spoke region from a hub circle outwards.

    Raises:
        GeometryError: the region holds too little metal along r.
    """
    _, _, low, high = region.bounds
    edge = np.linspace(max(low, hub_mm), high, _STATIONS + 1)
    r = (edge[1:] + edge[:-1]) / 2.0
    chords = spans(region, r, 0)
    depth = np.array([sum(b - a for a, b in s) for s in chords])
    first = np.array([sum((b**2 - a**2) / 2.0 for a, b in s) for s in chords])
    metal = depth[depth > 0.0]
    full = depth > _SLIVER * (float(np.median(metal)) if len(metal) else np.inf)
    if full.sum() < _LEAST:
        raise GeometryError("The spoke region holds too little metal along r to be a spoke; move its cuts.")
    r, z, depth = r[full], first[full] / depth[full], depth[full]
    smooth = np.convolve(np.pad(z, 4, mode="edge"), np.ones(9) / 9.0, mode="valid")
    return Stations(r, z, depth, np.arctan(np.gradient(smooth, r)), float(edge[1] - edge[0]))


@dataclass(frozen=True, eq=False)
class Sideways:
    """One spoke built in at hub and rim, bent across its width by a force along the arc: (m + 1,) by radius.

    M = F s, s the way from the place without moment, which lies so that the slope is none at both ends
    (S. P. Timoshenko, Strength of Materials, from memory).

    Attributes:
        r: rising, from end to end, mm. depth: metal along z.
        turn: slope of the spoke there times E / F, times the way along it per mm of r, 1 / mm.
        bent: way along it from the place without moment over the cosine of its slope, mm.
    """

    r: Array
    depth: Array
    turn: Array
    bent: Array

    @property
    def soft(self) -> float:
        """Way of one end against the other times E / F, 1 / mm; a plain spoke's is L3 / 12 I."""
        return float(((self.turn[1:] + self.turn[:-1]) / 2.0 * np.diff(self.r)).sum())


def sideways(at: Stations, width: Array, count: int) -> Sideways:
    """Return how a spoke of (m,) widths bends; where spokes fill the ring it does not."""
    cos = np.cos(at.slope)
    way = at.step / cos
    inertia = at.depth * cos * width**3 / 12.0
    gives = np.where(count * width < 2.0 * math.pi * at.r, way / inertia, 0.0)
    ends = np.concatenate([[0.0], np.cumsum(way)])
    middle = (ends[1:] + ends[:-1]) / 2.0
    still = float((middle * gives).sum() / max(float(gives.sum()), 1e-300))
    turn = np.concatenate([[0.0], np.cumsum((still - middle) * gives)])
    turn[-1] = 0.0
    r = np.concatenate([at.r - at.step / 2.0, at.r[-1:] + at.step / 2.0])
    cos = np.interp(r, at.r, cos)
    return Sideways(r, np.interp(r, at.r, at.depth), turn / cos, (ends - still) / cos)


@dataclass(frozen=True, eq=False)
class Smear:
    """Where the section is spoked, and by what.

    Attributes:
        region: polygon of the spoke region, None for a full disc.
        beam: one spoke bent across its width, None for a full disc.
    """

    spokes: SpokeRegion | None
    region: shapely.Polygon | None
    beam: Sideways | None

    def metal(self, places: Array) -> Array:
        """Return (...,) share of the ring that is metal at (..., 2) places."""
        flat = places.reshape(-1, 2)
        out = np.ones(len(flat))
        if self.spokes is not None and self.region is not None:
            inside = shapely.contains_xy(self.region, flat)
            r = flat[inside, 1]
            out[inside] = np.minimum(1.0, self.spokes.count * self.width_mm(r) / (2.0 * math.pi * r))
        return np.asarray(out.reshape(places.shape[:-1]))

    def width_mm(self, r: Array) -> Array:
        """Return the width of one spoke along the arc at radii; without spokes there is no end to it."""
        return np.full(np.shape(r), np.inf) if self.spokes is None else width_mm(self.spokes, r)

    def across(self, places: Array) -> Array:
        """Return (n,) stress along r on a spoke's flanks over its mean shear (r, t); 0 off the spokes.

        Args:
            places: (n, 2) in mm.
        """
        out = np.zeros(len(places))
        spoked = self.metal(places) < 1.0 - 1e-12
        r = places[spoked, 1]
        if self.beam is not None:
            out[spoked] = 6.0 * np.abs(np.interp(r, self.beam.r, self.beam.bent)) / self.width_mm(r)
        return out

    def law(self, places: Array, elastic_mpa: float, poisson: float) -> Array:
        """Return (..., 6, 6) stiffness in MPa at (..., 2) places."""
        plain = isotropic(elastic_mpa, poisson)
        share = self.metal(places)
        out = np.broadcast_to(plain, (*share.shape, 6, 6)).copy()
        open_ = share < 1.0 - 1e-12
        if self.beam is None or not open_.any():
            return out
        f = share[open_]
        strip = np.zeros((len(f), 6, 6))
        within = elastic_mpa / (1.0 - poisson**2)
        shear = elastic_mpa / (2.0 * (1.0 + poisson))
        strip[:, 0, 0] = strip[:, 1, 1] = f * within
        strip[:, 0, 1] = strip[:, 1, 0] = f * poisson * within
        strip[:, TT, TT] = WINDOW * f * elastic_mpa
        strip[:, 3, 3] = f * shear
        across = 1.0 / (self._slope(places[open_][:, 1]) / elastic_mpa + 1.0 / (5.0 / 6.0 * f * shear))
        strip[:, RT, RT] = strip[:, ZT, ZT] = across
        out[open_] = strip
        return out

    def _slope(self, r: Array) -> Array:
        """Return (n,) angle of the smeared ring over its shear at radii, times E: that of the bent spoke."""
        if self.beam is None or self.spokes is None:
            return np.zeros(len(r))
        turn, depth = (np.interp(r, self.beam.r, y) for y in (self.beam.turn, self.beam.depth))
        return np.asarray(2.0 * math.pi * r * depth * turn / self.spokes.count)


def smear_of(path: Path, spokes: SpokeRegion | None) -> Smear:
    """Return the smeared spokes of a section; a full disc for None or no spokes.

    Raises:
        GeometryError: the spoke cuts do not part the section, or leave too little metal along r.
    """
    if spokes is None or spokes.count == 0:
        return Smear(None, None, None)
    region = spoke_region(path, spokes)
    polygon = shapely.Polygon(region.flattened(_CHORD_MM))
    shapely.prepare(polygon)
    at = stations_of(region, spokes.hub_circle_mm)
    beam = sideways(at, width_mm(spokes, at.r), spokes.count)
    return Smear(spokes, polygon, beam)


def width_mm(spokes: SpokeRegion, r: Array) -> Array:
    """Return the width of one spoke along the arc at radii; at a step, that beyond it."""
    table = np.array(spokes.widths)
    # interp takes the later of two values at one radius when the earlier is put a hair before it.
    at = table[:, 0] - 1e-9 * (np.append(np.diff(table[:, 0]), 1.0) == 0.0)
    return np.asarray(np.interp(r, at, table[:, 1]))

"""The spoke zone as a smeared material: what a ring of spokes and windows carries, direction by direction.

With f the share of the ring that is metal, w the spoke's width and L its length:

    along r and z    f E, coupled as in a plane strip (bars stand free of each other)
    shear in (z, r)  f G
    hoop             WINDOW f E: windows do not carry it
    shear (r, t)     bending of each spoke in the plane of the wheel, built in at hub and rim, and its shear:
                     1 / G = 1 / (f E (w / L)2) + 1 / (5/6 f G)  (from k = 12 E I / L3 for one spoke)
    shear (z, t)     as (r, t): windows cut it

A spoke that carries the shear (r, t) bends across its width: built in at both ends, its flanks see
3 shear (L - 2 x) / w at x from the hub end. The smeared stress does not show that; Body.flank adds it.

Derived here from beam formulas; where the ring is whole (f = 1) it is the plain metal.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from geometry.readings.solid import SpokeRegion, spoke_region
from geometry.shape.curve import Array, Path
from geometry.strength.elements import RT, TT, ZT, isotropic

#: Share of the hoop stiffness that is left between windows: small, so that the sum stays definite.
WINDOW = 1e-3
#: Polygon of the region, mm.
_CHORD_MM = 0.05


@dataclass(frozen=True)
class Smear:
    """Where the section is spoked, and by what.

    Attributes:
        region: polygon of the spoke region, None for a full disc. length_mm: of a spoke along r,
            which begins at hub_mm.
    """

    spokes: SpokeRegion | None
    region: shapely.Polygon | None
    length_mm: float
    hub_mm: float = 0.0

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
        """Return the width of one spoke along the arc at radii; at a step, that beyond it."""
        if self.spokes is None:
            return np.full(np.shape(r), np.inf)
        table = np.array(self.spokes.widths)
        # interp takes the later of two values at one radius when the earlier is put a hair before it.
        at = table[:, 0] - 1e-9 * (np.append(np.diff(table[:, 0]), 1.0) == 0.0)
        return np.asarray(np.interp(r, at, table[:, 1]))

    def across(self, places: Array) -> Array:
        """Return (n,) stress along r on a spoke's flanks over its mean shear (r, t); 0 off the spokes.

        Args:
            places: (n, 2) in mm.
        """
        out = np.zeros(len(places))
        spoked = self.metal(places) < 1.0 - 1e-12
        r = places[spoked, 1]
        out[spoked] = 3.0 * np.abs(self.length_mm - 2.0 * (r - self.hub_mm)) / self.width_mm(r)
        return out

    def law(self, places: Array, elastic_mpa: float, poisson: float) -> Array:
        """Return (..., 6, 6) stiffness in MPa at (..., 2) places."""
        plain = isotropic(elastic_mpa, poisson)
        share = self.metal(places)
        out = np.broadcast_to(plain, (*share.shape, 6, 6)).copy()
        open_ = share < 1.0 - 1e-12
        if not open_.any():
            return out
        f = share[open_]
        strip = np.zeros((len(f), 6, 6))
        within = elastic_mpa / (1.0 - poisson**2)
        shear = elastic_mpa / (2.0 * (1.0 + poisson))
        strip[:, 0, 0] = strip[:, 1, 1] = f * within
        strip[:, 0, 1] = strip[:, 1, 0] = f * poisson * within
        strip[:, TT, TT] = WINDOW * f * elastic_mpa
        strip[:, 3, 3] = f * shear
        slim = f * elastic_mpa * (self.width_mm(places[open_][:, 1]) / self.length_mm) ** 2
        across = 1.0 / (1.0 / slim + 1.0 / (5.0 / 6.0 * f * shear))
        strip[:, RT, RT] = strip[:, ZT, ZT] = across
        out[open_] = strip
        return out


def smear_of(path: Path, spokes: SpokeRegion | None) -> Smear:
    """Return the smeared spokes of a section; a full disc for None or no spokes.

    Raises:
        GeometryError: the spoke cuts do not part the section.
    """
    if spokes is None or spokes.count == 0:
        return Smear(None, None, math.inf)
    region = spoke_region(path, spokes)
    polygon = shapely.Polygon(region.flattened(_CHORD_MM))
    shapely.prepare(polygon)
    _, _, low, high = region.bounds
    start = max(low, spokes.hub_circle_mm)
    return Smear(spokes, polygon, max(high - start, 1.0), start)

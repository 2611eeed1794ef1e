"""Where the barrel of a group's ring ends, and where it meets the disc: its root."""

from __future__ import annotations

import math

from geometry.errors import GeometryError
from geometry.forging.profile import AT_R, HIGH, LOW, RADIUS, clipped, height, slope
from geometry.forging.walls import at_level
from geometry.shape.curve import Array

#: A shorter barrel is not worth a mandrel: the blank is turned, mm.
LEAST_BARREL_MM = 30.0

#: Steeper than this the lower die's surface is the wall of the ring, dz/dr.
_WALL = 1.0


def ends_of_ring(low: Array, reach_mm: float, asked_mm: float | None) -> tuple[float, float, float]:
    """Return z of the ring's inner end, z of the disc's root and the radius of the bore there.

    Args:
        low: surface of the lower die round all wheels, turned over and without fillets.
        reach_mm: largest radius that they need.
        asked_mm: z of the root where it is given.

    Raises:
        GeometryError: there is no barrel inboard of the disc, or the root does not lie on it.
    """
    ring = clipped(low, reach_mm / 2.0, reach_mm)
    tops = [_top(ring, k) for k in range(len(ring))]
    last = max(range(len(ring)), key=lambda k: tops[k][0])
    peak, at = tops[last]
    ring = clipped(ring[: last + 1], reach_mm / 2.0, at)
    deep = min(float(height(ring, k, ring[k, LOW])) for k in range(len(ring)))
    level = (peak + deep) / 2.0 if asked_mm is None else -asked_mm
    found = None
    for k in reversed(range(len(ring))):
        if asked_mm is None:
            r = _flat_from(ring, k)
            if r is not None and height(ring, k, r) < level:
                found = r, -float(height(ring, k, r))
                break
        elif height(ring, k, ring[k, LOW]) <= level:
            inside = [r for r in at_level(ring[k], level) if ring[k, LOW] <= r <= ring[k, HIGH]]
            found = (max(inside), asked_mm) if inside else None
            break
    if found is None or found[1] + peak < LEAST_BARREL_MM:
        words = f"begins at z {asked_mm:g}" if asked_mm is not None else "has its disc at the inner end"
        length = "no" if found is None else f"only {found[1] + peak:.1f} mm of"
        raise GeometryError(
            f"The ring {words} and reaches z {-peak:.1f}: there is {length} barrel to draw out from the open "
            f"end, and a mandrel is worth {LEAST_BARREL_MM:g} at least. Turn this blank."
        )
    return -peak, found[1], found[0]


def _top(f: Array, k: int) -> tuple[float, float]:
    """Return the greatest height of a piece and where it is."""
    places = [float(f[k, LOW]), float(f[k, HIGH])]
    if f[k, RADIUS] > 0.0 and f[k, LOW] < f[k, AT_R] < f[k, HIGH]:
        places.append(float(f[k, AT_R]))
    return max((float(height(f, k, r)), r) for r in places)


def _flat_from(f: Array, k: int) -> float | None:
    """Return the largest r of a piece from which it is no wall towards the axle; None where it is one."""
    low, high = float(f[k, LOW]), float(f[k, HIGH])
    if f[k, RADIUS] < 0.0:
        # A hollow gets steeper outwards.
        high = min(high, float(f[k, AT_R] - f[k, RADIUS] * _WALL / math.hypot(1.0, _WALL)))
        return high if high > low else None
    return high if slope(f, k, high) < _WALL else None

"""The height at which the dies meet on the outside wall, set by hand.

Left free, it lies where the two drafted walls meet, which weighs least. Set, both dies are flat at that
height between the mouths of their cavities: each wall runs away from it by its draft, and where one mouth is
narrower than the other a ledge lies between them, which the fillet closes. For that height, and so formed,
the blank is the smallest: every other one has mouths as wide at least.
"""

from __future__ import annotations

import math

import numpy as np

from geometry.forging.composite import NO_NEED, Forgeable
from geometry.forging.profile import COLUMNS, HIGH, clipped, heights, last_meeting, line, upper
from geometry.shape.curve import Array

#: The ring, whose outside wall the dies part: this share of the largest radius, outwards.
_RING = 0.85
#: Radii at which its ends are looked for.
_PLACES = 800
#: A level this little under a flat end still meets it, mm.
_UNDER_MM = 1e-6


def possible_mm(high: Array, low: Array, reach_mm: float) -> tuple[float, float]:
    """Return the least and greatest height at which two surfaces can be parted: the ends of the ring.

    Args:
        high: surface of the upper die.
        low: surface of the lower die, turned over.
        reach_mm: largest radius that the wheels need.
    """
    r = np.linspace(_RING * reach_mm, reach_mm, _PLACES)
    return -float(np.nanmax(heights(low, r))), float(np.nanmax(heights(high, r)))


def parted(high: Array, low: Array, at_mm: float, reach_mm: float, how: Forgeable) -> tuple[Array, Array]:
    """Return both surfaces so that they meet at a height, or as near to it as the ring's ends allow.

    Args:
        high: surface of the upper die, its hollows closed.
        low: surface of the lower die, turned over.
        at_mm: z at which they are to meet.
        reach_mm: largest radius that the wheels need.
        how: the drafts.
    """
    z = float(np.clip(at_mm, *possible_mm(high, low, reach_mm)))
    far = float(min(high[-1, HIGH], low[-1, HIGH]))
    mouths = [_mouth(surface, level, far) for surface, level in ((high, z), (low, -z))]
    inner, rim = min(mouths), max(mouths)
    falls = 1.0 / math.tan(math.radians(how.outside_deg))
    found = []
    for surface, level, mouth in ((high, z, mouths[0]), (low, -z, mouths[1])):
        rows = surface.tolist()
        if mouth < rim:  # the wider one's own wall passes there
            rows += [line(inner, rim, inner, level, 0.0, NO_NEED)]
            rows += [line(rim, far, rim, level, -falls, NO_NEED)]
        table = np.array(rows, dtype=float).reshape(-1, COLUMNS)
        found.append(clipped(upper(table), 0.0, far))
    return found[0], found[1]


def _mouth(surface: Array, level: float, far: float) -> float:
    """Return the largest radius at which a surface reaches a level."""
    under = np.array([line(0.0, far, 0.0, level - _UNDER_MM, 0.0)])
    return float(last_meeting(surface, under))

"""A shaded picture of a wheel: light from the upper left, darker in corners; in grey, so that it prints."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from geometry.readings.body import Body, seen
from geometry.shape.curve import Array

#: Where the eye stands unless it is moved: to the right of the axle and above, degrees.
TURNED_DEG, RAISED_DEG = 28.0, 14.0

_LIGHT = np.array([-0.45, 0.65, 0.6]) / np.linalg.norm([-0.45, 0.65, 0.6])
#: Light from everywhere, light from the lamp, and how bright and small the lamp's reflection is.
_AROUND, _LAMP, _GLOSS, _SHARP = 0.25, 0.6, 0.25, 30.0


@dataclass(frozen=True)
class Shaded:
    """A square grey picture.

    Attributes:
        size: pixels along each side.
        grey: size x size bytes, row by row from the top; background 255.
        alpha: likewise, 0 where nothing of the wheel is.
    """

    size: int
    grey: bytes
    alpha: bytes


@lru_cache(maxsize=8)
def shaded(of: Body, size: int, turned_deg: float = TURNED_DEG, raised_deg: float = RAISED_DEG) -> Shaded:
    """Return the picture of a body, seen from the street."""
    view = seen(of, size, turned_deg, raised_deg)
    grey = np.full((size, size), 255, dtype=np.uint8)
    grey[view.hit] = np.clip(255.0 * _lit(view.normals, view.openness, view.towards), 0.0, 255.0)
    alpha = np.where(view.hit, 255, 0).astype(np.uint8)
    return Shaded(size, grey.tobytes(), alpha.tobytes())


def _lit(normals: Array, openness: Array, towards: Array) -> Array:
    """Return brightness 0 to 1: even light dimmed in corners, a lamp, and its gloss."""
    lamp = np.clip(normals @ _LIGHT, 0.0, 1.0)
    half = (_LIGHT + towards) / np.linalg.norm(_LIGHT + towards)
    gloss = np.clip(normals @ half, 0.0, 1.0) ** _SHARP
    return np.asarray((_AROUND + _LAMP * lamp) * (0.45 + 0.55 * openness) + _GLOSS * gloss)

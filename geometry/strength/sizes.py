"""How fine a mesh must be at each place of the skin: by the wall there, by the fillet, graded between.

The rule: a share of the wall (largest disc in the metal that touches the skin there and, across it, a second
place), a share of a fillet's radius, at least and at most a set size, and no faster change than `grade`
millimetres a millimetre.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.shape.curve import Array, Indices, Path

#: Contacts of a wall's disc lie so far apart, seen from its centre; nearer ones are a corner's.
_ACROSS_DEG = 120.0
#: Skin is sampled at this spacing for the walls, mm; thinner walls than half of it are not looked for.
_SPACING_MM = 1.5


@dataclass(frozen=True)
class SizeRule:
    """Edge lengths of the elements, mm.

    Attributes:
        across: elements over a wall. fillet_deg, round_deg: turn of a re-entrant and of a convex arc that
            one edge may span.
        least_mm, most_mm: bounds. grade: change of size per mm of way.
    """

    across: float = 2.0
    fillet_deg: float = 30.0
    round_deg: float = 60.0
    least_mm: float = 0.8
    most_mm: float = 9.0
    grade: float = 0.45

    def halved(self) -> SizeRule:
        """Return the rule of the mesh twice as fine everywhere."""
        return SizeRule(
            2 * self.across,
            self.fillet_deg / 2,
            self.round_deg / 2,
            self.least_mm / 2,
            self.most_mm / 2,
            self.grade,
        )


#: Of the preview that follows a drag: about 4,500 unknowns for an 18-inch wheel.
PREVIEW = SizeRule()
#: Of the study; the second mesh, which shows what has converged, is twice as fine again.
STUDY = PREVIEW.halved()


@dataclass(frozen=True)
class SizeField:
    """Sizes at places of the skin, which grow with the way from there."""

    places: Array
    sizes: Array
    grade: float
    most_mm: float

    def at(self, points: Array) -> Array:
        """Return (m,) edge lengths wanted at (m, 2) places, mm."""
        tree = cKDTree(self.places)
        near, of = tree.query(points, k=min(4, len(self.places)))
        near, of = near.reshape(len(points), -1), of.reshape(len(points), -1)
        return np.asarray(np.minimum(self.most_mm, (self.sizes[of] + self.grade * near).min(axis=1)))


def size_field(path: Path, rule: SizeRule) -> SizeField:
    """Return the sizes wanted along the skin of a closed counterclockwise path."""
    count = np.maximum(2, np.ceil(path.lengths / _SPACING_MM)).astype(np.intp)
    piece = np.repeat(np.arange(len(path)), count)
    step = np.arange(len(piece)) - np.repeat(np.cumsum(count) - count, count)
    share = (step + 0.5) / count[piece]
    places = path.at(piece, share)
    ahead = path.tangents(piece, share)
    inward = np.column_stack([-ahead[:, 1], ahead[:, 0]])
    wanted = np.minimum(_walls(places, inward) / rule.across, _arcs(path, rule)[piece])
    wanted = np.clip(wanted, rule.least_mm, rule.most_mm)
    # An edge of the axle line is no skin but is meshed like one.
    graded = wanted.copy()
    for low in range(0, len(places), 512):
        way = np.hypot(*(places[low : low + 512, None] - places[None]).transpose(2, 0, 1))
        graded[low : low + 512] = (wanted[None] + rule.grade * way).min(axis=1)
    return SizeField(places, graded, rule.grade, rule.most_mm)


def _arcs(path: Path, rule: SizeRule) -> Array:
    """Return (n,) the longest edge that an arc allows on each piece; infinite on lines."""
    turn = np.where(path.sweeps < 0.0, rule.fillet_deg, rule.round_deg)
    # A fillet has its centre outside the metal; with the metal to the left it turns right.
    return np.where(path.is_arc, np.radians(turn) * path.radii, np.inf)


def _walls(places: Array, inward: Array) -> Array:
    """Return (n,) the wall at places of the skin: diameter of the largest disc; infinite at corners."""
    out = np.full(len(places), np.inf)
    for low in range(0, len(places), 512):
        rows: Indices = np.arange(low, min(low + 512, len(places)))
        away = places[None] - places[rows, None]
        towards = np.einsum("ijk,ik->ij", away, inward[rows])
        with np.errstate(divide="ignore", invalid="ignore"):
            radius = np.einsum("ijk,ijk->ij", away, away) / (2.0 * towards)
        radius[~(towards > 1e-9)] = np.inf
        far = radius.argmin(axis=1)
        least = radius[np.arange(len(rows)), far]
        with np.errstate(invalid="ignore"):
            across = 1.0 - towards[np.arange(len(rows)), far] / least
        counted = np.isfinite(least) & (across <= math.cos(math.radians(_ACROSS_DEG)))
        out[rows[counted]] = 2.0 * least[counted]
    return out

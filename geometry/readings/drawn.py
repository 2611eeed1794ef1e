"""How far the zones of an outline reach, and where its mounting face lies: what rim and hub are held to."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from geometry.compiled import compiled
from geometry.shape.curve import R0, Z0, Z1, Array, Flags, Indices, length_of
from geometry.shape.section import ZONES, Outline, Zone

#: The mounting face is drawn at its place within this.
FACE_MM = 0.05
LEAST_FACE_MM = 1.0

_HUB_PAD = ZONES.index(Zone.HUB_PAD)


class Reach(NamedTuple):
    """How far the starts of pieces reach, mm."""

    z_low: float
    z_high: float
    r_low: float
    r_high: float


@dataclass(frozen=True)
class Drawn:
    """What is drawn of an outline.

    Attributes:
        zones: reach of every zone that has a piece.
        skin: reach of all that is skin.
        face_z: where the hub pad's flat that stands farthest inboard lies; None without a flat.
    """

    zones: dict[Zone, Reach]
    skin: Reach
    face_z: float | None

    def of(self, zone: Zone) -> Reach | None:
        """Return the reach of a zone, None where no edge is named so."""
        return self.zones.get(zone)


@lru_cache(maxsize=2)
def drawn_of(outline: Outline) -> Drawn:
    """Return what is drawn of an outline; it is kept, since several readings of one state ask."""
    reach, face_z = _reach(outline.path.table, outline.zone, outline.skin)
    *zones, skin = reach.tolist()
    named = {zone: Reach(*row) for zone, row in zip(ZONES, zones, strict=True) if row[0] < math.inf}
    return Drawn(named, Reach(*skin), face_z if face_z < math.inf else None)


@compiled
def _reach(t: Array, zone: Indices, skin: Flags) -> tuple[Array, float]:
    """Return (zones + 1, 4) the reach of every zone, then of the skin; and the mounting face's z or infinity.

    What bears is the flat that stands farthest inboard; corners of the hub pad may lie to either side.
    """
    out = np.empty((len(ZONES) + 1, 4))
    for row in out:
        row[0] = row[2] = np.inf
        row[1] = row[3] = -np.inf
    face = np.inf
    for k in range(len(t)):
        _widen(out[zone[k]], t[k, Z0], t[k, R0])
        if skin[k]:
            _widen(out[len(ZONES)], t[k, Z0], t[k, R0])
        flat = abs(t[k, Z1] - t[k, Z0]) <= FACE_MM and length_of(t, k) >= LEAST_FACE_MM
        if zone[k] == _HUB_PAD and flat:
            face = min(face, t[k, Z0])
    return out, face


@compiled
def _widen(row: Array, z: float, r: float) -> None:
    row[0], row[1], row[2], row[3] = min(row[0], z), max(row[1], z), min(row[2], r), max(row[3], r)

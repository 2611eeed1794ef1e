"""Stock by surface, and headroom beside it: what a wheel is grown by before a blank is laid round it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.curve import Indices, Path
from geometry.shape.section import ZONES, Side, Zone
from geometry.tolerances import LARGEST_MM

#: More is no stock of a wheel, mm.
MOST_MM = 100.0
#: An end of the ring looks along the axle by more than this share.
_ALONG = 0.7


class Surface(StrEnum):
    """Where metal is left on."""

    OUTSIDE = "outside"
    BORE = "ring bore"
    ENDS = "ring ends"
    FACES = "disc faces"
    HUB = "hub"


@dataclass(frozen=True)
class StockSet:
    """Metal left on by surface, mm, in the order of Surface, with the reason."""

    name: str
    mm: tuple[float, float, float, float, float]
    reason: str


#: Starting values (practice 14), all from memory.
STOCK_SETS = (
    StockSet("own die, measured", (2.8, 2.5, 3.0, 2.5, 2.5), "skin, centring and movement of a known die"),
    StockSet("new die", (4.0, 4.0, 4.0, 4.0, 4.0), "what a first run differs by is not known yet"),
    StockSet("bought, not measured", (5.0, 5.0, 5.0, 5.0, 5.0), "of its drawing alone"),
)


@dataclass(frozen=True)
class Headroom:
    """Metal asked for beyond what the drawn wheels need, for those that nobody has drawn yet, mm.

    Attributes:
        ring_mm: longer ring at its inboard end. bore_mm: smaller ring bore, by radius.
        face_mm: disc farther outboard and inboard. hub_mm: by radius. outside_mm: by radius.
    """

    ring_mm: float = 0.0
    bore_mm: float = 0.0
    face_mm: float = 0.0
    hub_mm: float = 0.0
    outside_mm: float = 0.0

    @property
    def is_none(self) -> bool:
        """True where nothing is asked for."""
        return not any((self.ring_mm, self.bore_mm, self.face_mm, self.hub_mm, self.outside_mm))

    def of(self, surface: Surface) -> float:
        """Return what a surface is grown by; the ring's length is added at its end alone."""
        return {
            Surface.OUTSIDE: self.outside_mm,
            Surface.BORE: self.bore_mm,
            Surface.ENDS: 0.0,
            Surface.FACES: self.face_mm,
            Surface.HUB: self.hub_mm,
        }[surface]

    def check(self) -> None:
        """Raise GeometryError where a value is out of bounds."""
        for name, value in vars(self).items():
            if not 0.0 <= value <= MOST_MM:
                words = name.removesuffix("_mm")
                raise GeometryError(
                    f"The headroom '{words}' is {value:g} mm; it must be from 0 to {MOST_MM:g}."
                )


def stock_set(name: str) -> StockSet:
    """Return the set of a name.

    Raises:
        GeometryError: there is none.
    """
    for found in STOCK_SETS:
        if found.name == name:
            return found
    names = ", ".join(f"'{s.name}'" for s in STOCK_SETS)
    raise GeometryError(f"There is no set of stock '{name}'; there are {names}.")


def surfaces(path: Path, zone: Indices, side: Indices) -> list[Surface]:
    """Return the surface of each piece of a wheel's outline.

    Args:
        path: counterclockwise.
        zone: (n,) number of each piece's zone in ZONES.
        side: (n,) number of its side in Side.
    """
    along = path.ends - path.points
    length = np.maximum(np.hypot(along[:, 0], along[:, 1]), 1.0 / LARGEST_MM)
    outward_z = (along[:, 1] / length).tolist()
    sides = tuple(Side)
    rows = zip(zone.tolist(), side.tolist(), outward_z, strict=True)
    return [_surface(ZONES[z], sides[s], n) for z, s, n in rows]


def _surface(zone: Zone, side: Side, outward_z: float) -> Surface:
    if zone is Zone.BORE:
        return Surface.HUB
    if (zone is Zone.INNER_LIP and outward_z < -_ALONG) or (zone is Zone.OUTER_LIP and outward_z > _ALONG):
        return Surface.ENDS
    if zone in (Zone.SPOKE_BACK, Zone.SPOKE_FACE, Zone.HUB_PAD, Zone.HUB_FACE):
        return Surface.FACES
    return {Side.TYRE: Surface.OUTSIDE, Side.BRAKE: Surface.BORE, Side.STREET: Surface.FACES}[side]

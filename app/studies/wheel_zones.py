"""Zones and anchors proposed for a foreign half-section, edge by edge, from where its parts were found."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.shape.curve import Array, Path
from geometry.shape.section import AnchorR, AnchorZ, Vertex, Zone

#: The heel fillet ends the lip about here, mm inward of the flange face (half of the usual fillet of 6.5).
HEEL_MM = 3.0
#: Metal of at most this under the tyre side is rim; up to the second number it is the shoulder. Forged rims
#: are 3 to 8 thick and spokes lean in over 10 to 20 (common practice, no source).
RIM_MM, SHOULDER_MM = 15.0, 25.0
#: The hub pad stands at most this far out of the hub (common practice, no source).
PAD_MM = 15.0
#: Places this near a plane or a radius belong to it: chamfers and edge radii of hub pad and bore.
EDGE_MM = 3.0

_RIM_ZONES = (Zone.OUTER_LIP, Zone.OUTER_SEAT, Zone.WELL, Zone.BARREL, Zone.INNER_SEAT, Zone.INNER_LIP)
_HUB_ZONES = (Zone.HUB_PAD, Zone.BORE, Zone.HUB_FACE)


@dataclass(frozen=True)
class Parts:
    """Where the parts of a half-section lie, mm, mounting face at z = 0.

    Attributes:
        path: whole outline, counterclockwise, from the outboard flange edge.
        tyre_count: how many of its first pieces are tyre side.
        outer_face_z, inner_face_z: flange faces.
        outer_seat_s, inner_seat_s: from each flange face inward to the end of its seat.
        well_z: low and high end of the well.
        seat_r: half the specified diameter.
        pad_r, bore_r: outside radius of the hub pad, least radius of the outline.
    """

    path: Path
    tyre_count: int
    outer_face_z: float
    inner_face_z: float
    outer_seat_s: float
    inner_seat_s: float
    well_z: tuple[float, float]
    seat_r: float
    pad_r: float
    bore_r: float

    @property
    def centre_z(self) -> float:
        """The rim centre plane."""
        return (self.outer_face_z + self.inner_face_z) / 2.0

    @cached_property
    def _tyre(self) -> Array:
        """(m, 2) polygon of the tyre side, z rising, and r of the highest place at each z."""
        open_end = np.append(self.path.bulges[: self.tyre_count], 0.0)
        points = np.vstack([self.path.points[: self.tyre_count], self.path.ends[self.tyre_count - 1]])
        flat = Path(points, open_end).flattened(0.05)
        return flat[np.argsort(flat[:, 0], kind="stable")]

    def below_tyre_side(self, z: float, r: float) -> float:
        """Return how far a place lies below the tyre side, under a flange below the bead seat, mm along r."""
        return min(float(np.interp(z, self._tyre[:, 0], self._tyre[:, 1])), self.seat_r) - r


def zoned_vertices(parts: Parts) -> tuple[Vertex, ...]:
    """Return the outline as vertices with proposed zones and anchors."""
    zones = _zones(parts)
    return tuple(
        Vertex(z, r, 0.0, bulge, zone, _anchor_z(zone, z, parts), _anchor_r(zone))
        for (z, r, bulge), zone in zip(parts.path.rows(), zones, strict=True)
    )


def _zones(parts: Parts) -> list[Zone]:
    path = parts.path
    count = len(path)
    middles = path.at(np.arange(count), np.full(count, 0.5))
    zones = [_rim_zone(float(z), parts) for z, _ in middles[: parts.tyre_count]]
    bore = _bore_pieces(parts, middles)
    for i in range(parts.tyre_count, count):
        z, r = middles[i].tolist()
        if i in bore:
            zones.append(Zone.BORE)
        elif i < min(bore):
            zones.append(_brake_zone(z, r, parts))
        else:
            zones.append(_street_zone(z, r, parts))
    return _with_shoulder(zones, parts)


def _with_shoulder(zones: list[Zone], parts: Parts) -> list[Zone]:
    """Return the zones with the steep edges before the first shoulder or spoke back added to the shoulder."""
    first = next((i for i, z in enumerate(zones) if z in (Zone.SHOULDER, Zone.SPOKE_BACK)), 0)
    steps = np.abs(parts.path.ends - parts.path.points)
    for i in range(first - 1, parts.tyre_count - 1, -1):
        if zones[i] not in (Zone.WELL, Zone.BARREL) or steps[i, 1] < steps[i, 0]:
            break
        zones[i] = Zone.SHOULDER
    return zones


def _bore_pieces(parts: Parts, middles: Array) -> range:
    """Return the pieces round the least radius: the bore with its chamfers."""
    free = range(parts.tyre_count, len(parts.path))
    rises = np.abs(parts.path.ends[:, 1] - parts.path.points[:, 1])
    inside = [i for i in free if middles[i, 1] <= parts.bore_r + EDGE_MM and rises[i] <= EDGE_MM]
    if inside:
        return range(inside[0], inside[-1] + 1)
    lowest = min(free, key=lambda i: float(middles[i, 1]))
    return range(lowest, lowest + 1)


def _rim_zone(z: float, parts: Parts) -> Zone:
    """Return the zone of the rim at a place along the axle."""
    if z > parts.outer_face_z - HEEL_MM:
        return Zone.OUTER_LIP
    if z < parts.inner_face_z + HEEL_MM:
        return Zone.INNER_LIP
    if z > parts.outer_face_z - parts.outer_seat_s:
        return Zone.OUTER_SEAT
    if z < parts.inner_face_z + parts.inner_seat_s:
        return Zone.INNER_SEAT
    return Zone.WELL if parts.well_z[0] <= z <= parts.well_z[1] else Zone.BARREL


def _brake_zone(z: float, r: float, parts: Parts) -> Zone:
    below = parts.below_tyre_side(z, r)
    if below <= RIM_MM:
        return _rim_zone(z, parts)
    if r <= parts.pad_r + EDGE_MM and (z <= EDGE_MM or (z <= PAD_MM and r >= parts.pad_r - EDGE_MM)):
        return Zone.HUB_PAD
    return Zone.SHOULDER if below <= SHOULDER_MM else Zone.SPOKE_BACK


def _street_zone(z: float, r: float, parts: Parts) -> Zone:
    if parts.below_tyre_side(z, r) <= RIM_MM:
        return _rim_zone(z, parts)
    return Zone.HUB_FACE if r <= parts.pad_r else Zone.SPOKE_FACE


def _anchor_z(zone: Zone, z: float, parts: Parts) -> AnchorZ:
    if zone in _HUB_ZONES:
        return AnchorZ.MOUNTING_FACE
    if zone in _RIM_ZONES and z < parts.centre_z and not (zone is Zone.WELL and _well_is_outboard(parts)):
        return AnchorZ.INNER_FLANGE
    if zone is Zone.WELL and not _well_is_outboard(parts):
        return AnchorZ.INNER_FLANGE
    return AnchorZ.OUTER_FLANGE  # the spokes too: fixed to the rim until the user says otherwise


def _well_is_outboard(parts: Parts) -> bool:
    return sum(parts.well_z) / 2.0 >= parts.centre_z


def _anchor_r(zone: Zone) -> AnchorR:
    return AnchorR.BEAD_SEAT if zone in (*_RIM_ZONES, Zone.SHOULDER) else AnchorR.AXLE_LINE

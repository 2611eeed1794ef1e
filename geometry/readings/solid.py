"""Closed sums over the outline's edges: area, volume, mass, centre and inertia of the turned body."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class SpokeRegion:
    """The part of the section between hub circle and rim, where metal fills only part of the ring.

    Attributes:
        count: number of spokes.
        widths: (r, width along the arc) in mm, rising in r, linear between, constant beyond the ends; a radius
            named twice is a step.
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
    """The turned body: centre along the axle, inertia about the axle and about a diameter through the centre."""

    area_mm2: float
    volume_mm3: float
    mass_kg: float
    centre_z_mm: float
    polar_kg_mm2: float
    diametral_kg_mm2: float
    full_mass_kg: float

"""What eats a gap on the road: named conditions, and the poses they put a wheel into.

A wheel at rest on paper is a body of revolution about the axle. On the road it tilts about the bearing
centre, runs out of true, stands off by tolerances and grows with heat; the brake grows and spreads. Each
effect is a pose of the wheel's outline in the half-plane (exact rotation, shift, scale), or a plain loss.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from geometry.shape.curve import Path
from geometry.shape.outline import ShapeKind, StayOut
from geometry.shape.section import ZONES, Zone

#: Zones that give way where the barrel or a lip is bent inwards.
_BARREL = (Zone.WELL, Zone.BARREL, Zone.INNER_SEAT, Zone.OUTER_SEAT)
_LIP = (Zone.INNER_LIP, Zone.OUTER_LIP)


@dataclass(frozen=True)
class Conditions:
    """A named set of conditions; every number is a starting value until it is the user's own.

    Attributes:
        starting_values: True while the numbers are the ones shipped.
        camber_deg, toe_deg: tilt of the wheel either way against the knuckle, about the fore-and-aft axis
            and about the upright one: bearing play, bending of hub and knuckle.
        bearing_z_mm: place of the bearing centre on the axle line, in the hub's frame (- is inboard).
        axial_run_out_mm, radial_run_out_mm: of the wheel as mounted, either way from true.
        inset_mm, spacer_mm: tolerances either way; the spacer's counts where there is one.
        surface_mm: of the wheel's machined surface, either way.
        coating_mm: thickness on the wheel, where it looks at the brake.
        wheel_hot_k, brake_hot_k: warmer than when measured; a hot brake in a cold wheel is a case of its own.
        wheel_per_k, brake_per_k: linear expansion, 1/K.
        spread_mm: a caliper spreads outboard under pressure by this.
        brake_outboard_mm: the housing may stand this much farther outboard than drawn (worn brake pads or
            disc in the drawing of a sliding caliper, whose worst case is new ones).
        barrel_mm, lip_mm: barrel and lips are bent towards the brake under load by this; 0 is not included.
        debris_gap_mm, debris_length_mm: a gap narrower than the first along the second or more holds stones.
    """

    name: str
    revision: str = "1"
    starting_values: bool = True
    camber_deg: float = 0.2
    toe_deg: float = 0.0
    bearing_z_mm: float = -45.0
    axial_run_out_mm: float = 0.3
    radial_run_out_mm: float = 0.3
    inset_mm: float = 0.2
    spacer_mm: float = 0.05
    surface_mm: float = 0.1
    coating_mm: float = 0.1
    wheel_hot_k: float = 60.0
    brake_hot_k: float = 150.0
    wheel_per_k: float = 23.6e-6
    brake_per_k: float = 23.6e-6
    spread_mm: float = 0.2
    brake_outboard_mm: float = 0.0
    barrel_mm: float = 0.0
    lip_mm: float = 0.0
    debris_gap_mm: float = 5.0
    debris_length_mm: float = 40.0


#: What a starting value rests on. Nothing here is a standard.
REASONS: dict[str, str] = {
    "camber_deg": "0.2 road, 0.4 race: from memory",
    "toe_deg": "0, not included: from memory",
    "bearing_z_mm": "from memory; measure it on the car",
    "axial_run_out_mm": "0.25 to 0.8 mm in public workshop manuals",
    "radial_run_out_mm": "0.25 to 0.8 mm in public workshop manuals",
    "inset_mm": "common practice, no source",
    "spacer_mm": "common practice, no source",
    "surface_mm": "common practice, no source",
    "coating_mm": "0.05 to 0.15 mm: from memory",
    "wheel_hot_k": "common practice, no source",
    "brake_hot_k": "common practice, no source",
    "wheel_per_k": "aluminium 23.6e-6: from memory",
    "brake_per_k": "aluminium 23.6e-6: from memory",
    "spread_mm": "tenths of a mm: from memory",
    "brake_outboard_mm": "0 where the drawing shows new brake pads and a new disc",
    "barrel_mm": "0, not included until the strength study gives it",
    "lip_mm": "0, not included until the strength study gives it",
    "debris_gap_mm": "common practice, no source",
    "debris_length_mm": "common practice, no source",
}


class Spread(StrEnum):
    """How an effect is spread between its limits, for an estimate of chance."""

    NORMAL = "normal, cut at 3 sigma"
    UNIFORM = "uniform"
    ONE_WAY = "uniform from none to all"


@dataclass(frozen=True)
class Pose:
    """Where a wheel stands against its drawn place: grown about the origin, tilted, then shifted.

    Attributes:
        tilt_deg: about (centre_z_mm, 0) in the half-plane, + from +z towards +r.
        dz_mm, dr_mm: shift along the axle and away from it. scale: growth, 1 for none.
        loss_mm: taken off every gap.
    """

    tilt_deg: float = 0.0
    centre_z_mm: float = 0.0
    dz_mm: float = 0.0
    dr_mm: float = 0.0
    scale: float = 1.0
    loss_mm: float = 0.0

    def path(self, path: Path) -> Path:
        """Return an outline as it stands, exact: lines stay lines and arcs stay arcs."""
        cos, sin = math.cos(math.radians(self.tilt_deg)), math.sin(math.radians(self.tilt_deg))
        centre = np.array([self.centre_z_mm, 0.0])
        turned = (path.points * self.scale - centre) @ np.array([[cos, sin], [-sin, cos]]) + centre
        return Path(turned + np.array([self.dz_mm, self.dr_mm]), path.bulges)

    def farthest_mm(self, reach_mm: float) -> float:
        """Return how far any place within reach_mm of the bearing centre and the origin moves, at most."""
        tilt = 2.0 * math.sin(math.radians(abs(self.tilt_deg)) / 2.0) * reach_mm * self.scale
        return tilt + math.hypot(self.dz_mm, self.dr_mm) + abs(self.scale - 1.0) * reach_mm + self.loss_mm


@dataclass(frozen=True)
class Effect:
    """One thing that eats a gap: the poses at its limits, and how it lies between them.

    Attributes:
        key: field of Conditions, stable; words: for people.
        poses: the pose at each limit; a single one for what acts one way.
        zones: where it acts; empty for everywhere.
    """

    key: str
    words: str
    poses: tuple[Pose, ...]
    spread: Spread
    zones: tuple[Zone, ...] = ()

    def acts_on(self, zone: int) -> bool:
        """Return True where the effect counts in a zone (index into ZONES)."""
        return not self.zones or ZONES[zone] in self.zones


def tilt_deg(conditions: Conditions, shape: StayOut) -> float:
    """Return the greatest in-plane tilt at the clock angles that a shape spans.

    At an angle p from straight up a camber c and a toe t tilt the section by c |cos p| + t |sin p| at most.
    A shape that does not state its angles gets the worst of all, hypot(c, t).
    """
    camber, toe = conditions.camber_deg, conditions.toe_deg
    low, high = shape.clock_low_deg, shape.clock_high_deg
    if low is None or high is None or high - low >= 180.0:
        return math.hypot(camber, toe)
    worst = math.degrees(math.atan2(toe, camber))
    tops = [side * worst + 180.0 * k for side in (1.0, -1.0) for k in range(-3, 4)]
    at = [low, high, *(p for p in tops if low <= p <= high)]
    return max(camber * abs(math.cos(math.radians(p))) + toe * abs(math.sin(math.radians(p))) for p in at)


def effects(conditions: Conditions, shape: StayOut, size_mm: float, spacer_mm: float) -> tuple[Effect, ...]:
    """Return what eats the gap to a shape, without what is nought.

    Args:
        conditions: the setting.
        shape: kind, clock angles and stated error count.
        size_mm: the shape's greatest radius, or its length along the axle if longer; it grows with heat.
        spacer_mm: thickness of the wheel's spacer; its tolerance counts where there is one.
    """
    c = conditions
    tilt, centre = tilt_deg(c, shape), c.bearing_z_mm
    grown, warm = c.brake_per_k * c.brake_hot_k * size_mm, c.wheel_per_k * c.wheel_hot_k
    said = "tilt" if shape.clock_low_deg is not None else "tilt, worst case in the plane"
    found = [
        Effect("tilt", said, (Pose(tilt, centre), Pose(-tilt, centre)), Spread.UNIFORM),
        _shift("axial_run_out_mm", "axial run-out", dz=c.axial_run_out_mm, spread=Spread.UNIFORM),
        _shift("radial_run_out_mm", "radial run-out", dr=c.radial_run_out_mm, spread=Spread.UNIFORM),
        _shift("inset_mm", "inset tolerance", dz=c.inset_mm),
        _shift("spacer_mm", "spacer tolerance", dz=c.spacer_mm if spacer_mm else 0.0),
        _loss("surface_mm", "wheel's surface tolerance", c.surface_mm),
        _loss("coating_mm", "coating", c.coating_mm, Spread.ONE_WAY),
        _loss("brake_hot_k", "hot brake", grown, Spread.ONE_WAY),
        Effect("wheel_hot_k", "hot wheel", (Pose(scale=1.0 + warm),), Spread.ONE_WAY),
        _loss("barrel_mm", "barrel bent under load", c.barrel_mm, Spread.ONE_WAY, _BARREL),
        _loss("lip_mm", "lip bent under load", c.lip_mm, Spread.ONE_WAY, _LIP),
        _loss("error_mm", "error of the outline", shape.card.error_mm),
    ]
    if shape.kind is ShapeKind.CALIPER:
        # The brake moves outboard, so the wheel stands farther inboard against it.
        for key, words in (("spread_mm", "caliper spreads"), ("brake_outboard_mm", "housing outboard")):
            found.append(Effect(key, words, (Pose(dz_mm=-getattr(c, key)),), Spread.ONE_WAY))
    return tuple(e for e in found if any(p != Pose(centre_z_mm=p.centre_z_mm) for p in e.poses))


def _shift(key: str, words: str, dz: float = 0.0, dr: float = 0.0, spread: Spread = Spread.NORMAL) -> Effect:
    return Effect(key, words, (Pose(dz_mm=dz, dr_mm=dr), Pose(dz_mm=-dz, dr_mm=-dr)), spread)


def _loss(
    key: str, words: str, loss: float, spread: Spread = Spread.NORMAL, zones: tuple[Zone, ...] = ()
) -> Effect:
    return Effect(key, words, (Pose(loss_mm=loss),), spread, zones)


def together(poses: tuple[Pose, ...]) -> Pose:
    """Return the pose of several effects at once: tilts, shifts, growths and losses add up."""
    return Pose(
        sum(p.tilt_deg for p in poses),
        next((p.centre_z_mm for p in poses if p.tilt_deg), 0.0),
        sum(p.dz_mm for p in poses),
        sum(p.dr_mm for p in poses),
        math.prod(p.scale for p in poses),
        sum(p.loss_mm for p in poses),
    )

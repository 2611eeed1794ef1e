"""Standard rim contour: the tyre side from a size code, exact lines and arcs."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Humps(StrEnum):
    """Where the contour has a round hump."""

    BOTH = "both sides"
    OUTER = "outer side"
    NONE = "none"


class WellSide(StrEnum):
    """Which side the well lies on."""

    OUTBOARD = "outboard"
    INBOARD = "inboard"


@dataclass(frozen=True)
class RimContour:
    """Parameters of a locked tyre side; the ones with a default that is not published are unconfirmed.

    Attributes:
        flange: J or B.
        flange_width_mm: B, 13.0 for J in the trade's tables (11.0 least published).
    """

    diameter_code: float
    width_code: float
    flange: str = "J"
    humps: Humps = Humps.BOTH
    well: WellSide = WellSide.OUTBOARD
    flange_width_mm: float = 13.0
    edge_radius_mm: float = 1.0
    heel_radius_mm: float = 6.5
    hump_place_mm: float = 21.0
    hump_radius_mm: float = 8.0
    hump_foot_radius_mm: float = 8.0
    well_wall_deg: float = 75.0
    well_radius_mm: float = 6.0
    well_depth_mm: float = 20.0
    well_floor_end_mm: float = 66.0
    ramp_deg: float = 20.0
    shelf_depth_mm: float = 7.0
    shelf_flank_deg: float = 35.0

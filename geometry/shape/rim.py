"""Standard rim contour: the tyre side from a size code, exact tangent lines and arcs.

Words (published symbols): A width between the flange faces, B flange width, D specified diameter, G flange
height, H well depth, L well width, M place of the well, R2 flange radius, s distance inward from a flange
face, y = r - D / 2. The contour runs from the outboard flange edge to the inboard one; z = 0 is the rim
centre plane, + outboard, and metal lies to the left.

What no published row gives (edge, heel, hump and well radii, angles, the shelf) is a parameter and
unconfirmed; the defaults are drawing practice.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from geometry.errors import GeometryError
from geometry.shape.published import (
    BEAD_SEAT_DEG,
    GREATEST_DIAMETER_CODE,
    GREATEST_WIDTH_CODE,
    LEAST_DIAMETER_CODE,
    LEAST_WIDTH_CODE,
    WELL_DEPTH_OVER_MIN,
    FlangeRow,
    flange_row,
    specified_diameter_mm,
    width_mm,
)
from geometry.shape.section import AnchorR, AnchorZ, Vertex, Zone

__all__ = [
    "Humps",
    "RimContour",
    "WellSide",
    "contour_vertices",
    "flange_row",
    "specified_diameter_mm",
    "width_mm",
]


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
    """Parameters of a locked tyre side, mm and degrees; the defaults below the first five are unconfirmed.

    Attributes:
        flange: J, JJ or B.
        flange_width_mm: B; None for the trade's number (J 13.0, where 11.0 is the least published; B 10.0).
        edge_radius_mm: at the flange edge.
        heel_radius_mm: fillet R3 between flange face and bead seat.
        hump_place_mm: flange face to hump crest; without a hump, to the seat's end.
        hump_radius_mm, hump_foot_radius_mm: convex crest and the fillet before it.
        well_wall_deg: steep wall of the well, from the axle's direction.
        well_radius_mm, ramp_foot_radius_mm: fillets at the two ends of the well's floor.
        well_depth_mm: H below D / 2; None for the least published + 2.7.
        well_floor_end_mm: flange face to the end of the floor, where the width allows it.
        ramp_deg, ramp_top_radius_mm: floor to shelf; steeper where the width asks for it.
        shelf_depth_mm, shelf_radius_mm, shelf_flank_deg: shelf below D / 2 and its rise to the far seat.
    """

    diameter_code: float
    width_code: float
    flange: str = "J"
    humps: Humps = Humps.BOTH
    well: WellSide = WellSide.OUTBOARD
    flange_width_mm: float | None = None
    edge_radius_mm: float = 1.0
    heel_radius_mm: float = 6.5
    hump_place_mm: float = 21.0
    hump_radius_mm: float = 8.0
    hump_foot_radius_mm: float = 8.0
    well_wall_deg: float = 75.0
    well_radius_mm: float = 6.0
    well_depth_mm: float | None = None
    well_floor_end_mm: float = 66.0
    ramp_deg: float = 20.0
    ramp_foot_radius_mm: float = 10.0
    ramp_top_radius_mm: float = 20.0
    shelf_depth_mm: float = 7.0
    shelf_radius_mm: float = 8.0
    shelf_flank_deg: float = 35.0

    @property
    def row(self) -> FlangeRow:
        """The published limits of this size."""
        return flange_row(self.diameter_code, self.flange)

    @property
    def diameter_mm(self) -> float:
        """Specified diameter D."""
        return specified_diameter_mm(self.diameter_code)

    @property
    def width_mm(self) -> float:
        """Width A between the flange faces."""
        return width_mm(self.width_code)

    @property
    def flange_mm(self) -> float:
        """Flange width B as drawn."""
        return self.row.b_usual.value if self.flange_width_mm is None else self.flange_width_mm

    @property
    def depth_mm(self) -> float:
        """Well depth H as drawn."""
        if self.well_depth_mm is None:
            return self.row.h_min.value + WELL_DEPTH_OVER_MIN.value
        return self.well_depth_mm


@dataclass
class _Chain:
    """Vertices and edges while they are drawn, in (s, y) of one flange face, from the flange inward."""

    points: list[tuple[float, float]]
    edges: list[tuple[float, Zone]]

    def line(self, s: float, y: float, zone: Zone) -> None:
        """Go straight to (s, y), inward or down; a step of no length is left out.

        Raises:
            GeometryError: the two arcs beside the line overlap, so that it would run backwards.
        """
        last = self.points[-1]
        if s < last[0] - 1e-9 or (abs(s - last[0]) <= 1e-9 and y > last[1] + 1e-9):
            over = math.hypot(s - last[0], y - last[1])
            raise GeometryError(
                f"Rim contour: the arcs in the {zone} overlap by {over:.2f} mm near {s:.1f} mm from the "
                "flange face; make one of their radii smaller."
            )
        if math.hypot(s - last[0], y - last[1]) > 1e-9:
            self.points.append((s, y))
            self.edges.append((0.0, zone))

    def arc(self, s: float, y: float, turn_deg: float, zone: Zone) -> None:
        """Follow an arc to (s, y); turn_deg is its sweep, + for convex metal."""
        if abs(turn_deg) > 1e-9:
            self.points.append((s, y))
            self.edges.append((math.tan(math.radians(turn_deg) / 4.0), zone))


@lru_cache(maxsize=256)
def contour_vertices(contour: RimContour) -> tuple[Vertex, ...]:
    """Return the tyre side's vertices, outboard flange edge first, z from the rim centre plane.

    The last vertex is the inboard flange edge; its own edge (zone inner lip) leaves to the free part.

    Raises:
        GeometryError: a code or parameter is out of range, or the parts do not fit the width; the least
            width that takes them is named.
    """
    _check(contour)
    steep, far = _steep_side(contour), _far_side(contour)
    _join(contour, steep, far)
    return _placed(contour, steep, far)


def _check(c: RimContour) -> None:
    """Raise GeometryError for a code outside the range offered or a parameter that no contour can have."""
    ranges = {
        "diameter_code": (LEAST_DIAMETER_CODE, GREATEST_DIAMETER_CODE),
        "width_code": (LEAST_WIDTH_CODE, GREATEST_WIDTH_CODE),
        "edge_radius_mm": (0.1, c.row.r2_min.value),
        "heel_radius_mm": (0.1, c.row.g.value),
        "hump_place_mm": (1.0, 60.0),
        "hump_radius_mm": (0.1, 100.0),
        "hump_foot_radius_mm": (0.1, 100.0),
        "well_wall_deg": (10.0, 89.0),
        "well_radius_mm": (0.1, 100.0),
        "ramp_deg": (5.0, c.well_wall_deg),
        "ramp_foot_radius_mm": (0.1, 200.0),
        "ramp_top_radius_mm": (0.1, 200.0),
        "shelf_depth_mm": (0.1, c.depth_mm),
        "shelf_radius_mm": (0.1, 100.0),
        "shelf_flank_deg": (6.0, 89.0),
        "depth_mm": (1.0, 100.0),
    }
    for name, (low, high) in ranges.items():
        value = getattr(c, name)
        if not low <= value <= high:
            raise GeometryError(
                f"Rim contour: {name.replace('_', ' ')} {value:g} is outside {low:g} to {high:g}."
            )
    narrow, wide = c.edge_radius_mm + c.row.r2_min.value, 2.0 * c.row.r2_min.value
    if not narrow <= c.flange_mm < wide:
        raise GeometryError(
            f"Rim contour: flange width {c.flange_mm:g} mm does not go with its radii; "
            f"{narrow:g} to under {wide:g} mm can be drawn."
        )


def _half(c: RimContour, outboard: bool, hump: bool) -> _Chain:
    """Return flange edge, flange, heel, seat and hump (or the seat's end) up to its crest."""
    lip, seat = (Zone.OUTER_LIP, Zone.OUTER_SEAT) if outboard else (Zone.INNER_LIP, Zone.INNER_SEAT)
    b, g, r1, r2, r3 = c.flange_mm, c.row.g.value, c.edge_radius_mm, c.row.r2_min.value, c.heel_radius_mm
    beta = math.radians(BEAD_SEAT_DEG.value)
    # Edge arc touches the flange arc from inside: centres r2 - r1 apart.
    across = b - r1 - r2
    up = math.sqrt((r2 - r1) ** 2 - across**2)
    lean = math.degrees(math.asin(across / (r2 - r1)))
    chain = _Chain([(-b, g - r2 + up)], [])
    stretch = r2 / (r2 - r1)
    chain.arc(-r2 - across * stretch, g - r2 + up * stretch, 90.0 - lean, lip)
    chain.arc(-r2, g, lean, lip)
    chain.arc(0.0, g - r2, 90.0, lip)
    heel_y = r3 / math.cos(beta) - r3 * math.tan(beta)
    chain.line(0.0, heel_y, lip)
    turn = 90.0 - BEAD_SEAT_DEG.value
    middle = math.radians(180.0 + turn / 2.0)
    chain.arc(r3 + r3 * math.cos(middle), heel_y + r3 * math.sin(middle), -turn / 2.0, lip)
    chain.arc(r3 - r3 * math.sin(beta), heel_y - r3 * math.cos(beta), -turn / 2.0, seat)
    if not hump:
        chain.line(c.hump_place_mm, -c.hump_place_mm * math.tan(beta), seat)
        return chain
    _add_hump(c, chain, beta, seat)
    return chain


def _add_hump(c: RimContour, chain: _Chain, beta: float, seat: Zone) -> None:
    """Add the straight seat, the fillet before the hump and the hump up to its crest at y = 0."""
    rh, rf, e = c.hump_radius_mm, c.hump_foot_radius_mm, c.hump_place_mm
    # Fillet centre: rf above the seat line and rh + rf from the hump's centre (e, -rh). With u along the
    # seat and v across it, both from the theoretical corner:
    hump_u = e * math.cos(beta) + rh * math.sin(beta)
    hump_v = e * math.sin(beta) - rh * math.cos(beta)
    foot_u = hump_u - math.sqrt((rh + rf) ** 2 - (rf - hump_v) ** 2)
    chain.line(foot_u * math.cos(beta), -foot_u * math.sin(beta), seat)
    foot = (foot_u * math.cos(beta) + rf * math.sin(beta), -foot_u * math.sin(beta) + rf * math.cos(beta))
    share = rf / (rf + rh)
    joint = (foot[0] + (e - foot[0]) * share, foot[1] + (-rh - foot[1]) * share)
    rise = math.degrees(math.atan2(e - foot[0], foot[1] + rh))
    chain.arc(*joint, -(rise + BEAD_SEAT_DEG.value), seat)
    chain.arc(e, 0.0, rise, seat)


def _descend(c: RimContour, chain: _Chain, hump: bool, steep_deg: float, zone: Zone) -> tuple[float, float]:
    """Go over the crest onto a slope of steep_deg; return the place reached."""
    start = 0.0 if hump else BEAD_SEAT_DEG.value
    s, y = chain.points[-1]
    a, b = math.radians(start), math.radians(steep_deg)
    s += c.hump_radius_mm * (math.sin(b) - math.sin(a))
    y -= c.hump_radius_mm * (math.cos(a) - math.cos(b))
    chain.arc(s, y, steep_deg - start, zone)
    return s, y


def _slope_to(chain: _Chain, depth: float, steep_deg: float, radius: float, zone: Zone) -> None:
    """Go down a slope and through a fillet onto a floor at y = -depth."""
    s, y = chain.points[-1]
    a = math.radians(steep_deg)
    drop = y + depth - radius * (1.0 - math.cos(a))
    if drop < 0.0:
        raise GeometryError(
            f"Rim contour: a depth of {depth:g} mm leaves no room for a fillet of {radius:g} mm; "
            "make it smaller or go deeper."
        )
    s += drop / math.tan(a)
    chain.line(s, y - drop, zone)
    chain.arc(s + radius * math.sin(a), -depth, -steep_deg, zone)


def _steep_side(c: RimContour) -> _Chain:
    """Return the half on the well's side, down the steep wall to the start of the floor."""
    return _side(c, c.well is WellSide.OUTBOARD, c.depth_mm, c.well_wall_deg, c.well_radius_mm, Zone.WELL)


def _far_side(c: RimContour) -> _Chain:
    """Return the half on the other side, down the flank to the end of the shelf."""
    outboard = c.well is WellSide.INBOARD
    return _side(c, outboard, c.shelf_depth_mm, c.shelf_flank_deg, c.shelf_radius_mm, Zone.BARREL)


def _side(
    c: RimContour, outboard: bool, depth_mm: float, steep_deg: float, radius_mm: float, zone: Zone
) -> _Chain:
    hump = c.humps is Humps.BOTH or (c.humps is Humps.OUTER and outboard)
    chain = _half(c, outboard, hump)
    _descend(c, chain, hump, steep_deg, zone)
    _slope_to(chain, depth_mm, steep_deg, radius_mm, zone)
    return chain


def _ramp_run(c: RimContour, ramp_deg: float) -> float:
    """Return the axial length of the ramp with its two arcs."""
    a = math.radians(ramp_deg)
    radii = c.ramp_foot_radius_mm + c.ramp_top_radius_mm
    rise = c.depth_mm - c.shelf_depth_mm - radii * (1.0 - math.cos(a))
    return radii * math.sin(a) + rise / math.tan(a)


def _steepest_ramp_deg(c: RimContour) -> float:
    """Return the steepest ramp: the well wall's angle, or where the two arcs alone make the rise."""
    radii = c.ramp_foot_radius_mm + c.ramp_top_radius_mm
    arcs_only = math.degrees(math.acos(max(1.0 - (c.depth_mm - c.shelf_depth_mm) / radii, 0.0)))
    return min(c.well_wall_deg, arcs_only)


def _least_floor_end(c: RimContour, steep: _Chain, ramp_deg: float) -> float:
    """Return the least s of the floor's end that leaves the well L min wide at H min depth."""
    spare = max(c.depth_mm - c.row.h_min.value, 0.0)
    before = steep.points[-1][0] - _reach(spare, c.well_radius_mm, c.well_wall_deg)
    after = _reach(spare, c.ramp_foot_radius_mm, ramp_deg)
    return max(before + c.row.l_min.value - after, steep.points[-1][0])


def _reach(rise: float, radius: float, slope_deg: float) -> float:
    """Return how far from the floor's end the contour has risen by `rise`, over a fillet and then a slope."""
    a = math.radians(slope_deg)
    over_arc = radius * (1.0 - math.cos(a))
    if rise <= over_arc:
        return math.sqrt(rise * (2.0 * radius - rise))
    return radius * math.sin(a) + (rise - over_arc) / math.tan(a)


def _join(c: RimContour, steep: _Chain, far: _Chain) -> None:
    """Add floor, ramp and shelf to the steep side; the shelf shrinks first, then the ramp, then the floor."""
    room = c.width_mm - far.points[-1][0]
    ramp_deg, floor_end = c.ramp_deg, c.well_floor_end_mm
    if floor_end + _ramp_run(c, ramp_deg) > room:
        ramp_deg = _ramp_for_run(c, room - floor_end, max(_steepest_ramp_deg(c), ramp_deg))
        floor_end = min(floor_end, room - _ramp_run(c, ramp_deg))
    least = _least_floor_end(c, steep, ramp_deg)
    if c.well_floor_end_mm < least:
        raise GeometryError(
            f"Rim contour: a floor that ends {c.well_floor_end_mm:g} mm from the flange face leaves the well "
            f"narrower than {c.row.l_min.value:g} mm; it must end at {least:.1f} mm or further."
        )
    if floor_end < least - 1e-9:
        short = least - floor_end
        raise GeometryError(
            f"{c.diameter_code:g} x {c.width_code:g} {c.flange}: flanges, seats and a well of the least "
            f"width need {c.width_mm + short:.1f} mm between the flange faces, {short:.1f} more than there "
            f"is; choose width code {math.ceil((c.width_mm + short) / 12.7) / 2:g} or wider."
        )
    a = math.radians(ramp_deg)
    foot, top = c.ramp_foot_radius_mm, c.ramp_top_radius_mm
    shelf_start = floor_end + _ramp_run(c, ramp_deg)
    steep.line(floor_end, -c.depth_mm, Zone.WELL)
    steep.arc(floor_end + foot * math.sin(a), -c.depth_mm + foot * (1.0 - math.cos(a)), -ramp_deg, Zone.WELL)
    steep.line(shelf_start - top * math.sin(a), -c.shelf_depth_mm - top * (1.0 - math.cos(a)), Zone.WELL)
    steep.arc(shelf_start, -c.shelf_depth_mm, ramp_deg, Zone.BARREL)


def _ramp_for_run(c: RimContour, run: float, steepest: float) -> float:
    """Return the ramp angle whose run is at most `run`, or the steepest; by bisection."""
    low, high = c.ramp_deg, steepest
    if _ramp_run(c, high) >= run:
        return high
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (middle, high) if _ramp_run(c, middle) > run else (low, middle)
    return high


def _placed(c: RimContour, steep: _Chain, far: _Chain) -> tuple[Vertex, ...]:
    """Return the two halves as vertices in the rim's frame, outboard first."""
    outer, inner = (steep, far) if c.well is WellSide.OUTBOARD else (far, steep)
    half, seat = c.width_mm / 2.0, c.diameter_mm / 2.0
    first = [(half - s, seat + y) for s, y in outer.points]
    second = [(s - half, seat + y) for s, y in reversed(inner.points)]
    edges, back = list(outer.edges), list(reversed(inner.edges))
    if math.dist(first[-1], second[0]) > 1e-9:
        edges.append((0.0, Zone.BARREL))
    else:
        second = second[1:]
    edges += [*back, (0.0, Zone.INNER_LIP)]
    follows = [AnchorZ.OUTER_FLANGE] * len(first) + [AnchorZ.INNER_FLANGE] * len(second)
    return tuple(
        Vertex(z, r, 0.0, bulge, zone, anchor, AnchorR.BEAD_SEAT)
        for (z, r), (bulge, zone), anchor in zip(first + second, edges, follows, strict=True)
    )

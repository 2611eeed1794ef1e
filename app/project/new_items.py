"""New wheels and blanks from a handful of numbers: valid from the start, plausible, edited from there."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from app.project.wheel import Fixing, Hub, SizeCode, Spokes, Wheel
from geometry.errors import GeometryError
from geometry.shape.blank import Blank
from geometry.shape.curve import Path
from geometry.shape.family import Drawn, Family, Rows, back_following, family_section
from geometry.shape.outline import Corner
from geometry.shape.published import width_mm
from geometry.shape.rim import Humps, RimContour, WellSide, contour_vertices
from geometry.shape.under import Walls

#: Share of the ring that spokes fill, by r, for an 18-inch wheel (hub circle 72, rim 207): steps. Invented.
FILL_STEPS = ((95.0, 0.50), (150.0, 0.36), (190.0, 0.32), (math.inf, 0.42))
_PATTERN_HUB, _PATTERN_RIM = 74.0, 207.0

#: Hub pad outside the bolt circle, and the hub's flat face inside the hub pad's diameter, mm.
HUB_PAD_OVER_CIRCLE_MM, HUB_FACE_UNDER_PAD_MM = 28.0, 4.0
#: Spoke back inboard of the outer flange face where no disc position is given, mm: the face then meets the
#: rim just inside the outer lip.
DISC_BEHIND_FLANGE_MM = 38.5
#: Thickness of the spokes' neck at the hub, as a share of their depth at mid radius.
LEAST_NECK_SHARE = 0.75
#: Gap at which a spoke back follows a brake, mm, and its lean, degrees.
BRAKE_GAP_MM, BACK_LEAN_DEG = 4.1, 0.5


def new_wheel(
    name: str,
    size: SizeCode,
    inset_mm: float,
    *,
    bore_mm: float = 72.0,
    bolt_count: int = 5,
    bolt_circle_mm: float = 120.0,
    wall_mm: float = 3.8,
    disc_mm: float | None = None,
    spoke_depth_mm: float = 23.0,
    spoke_count: int = 10,
    hub_pad_mm: float | None = None,
    humps: Humps = Humps.BOTH,
    well: WellSide = WellSide.OUTBOARD,
    brake: Sequence[Path] = (),
) -> Wheel:
    """Return a wheel of a size with a locked rim contour and a section that can be edited from there.

    Args:
        name: of the wheel.
        size: size code.
        inset_mm: + when the mounting face is outboard of the rim centre plane.
        bore_mm: diameter of the bore.
        bolt_count: holes on the bolt circle.
        bolt_circle_mm: diameter of the bolt circle.
        wall_mm: of the barrel; well floor and bead seats are 0.2 and 1.7 thicker.
        disc_mm: z of the spoke back at the rim; None puts the spokes just inside the outer lip.
        spoke_depth_mm: axial depth of the spokes at mid radius.
        spoke_count: number of spokes, 0 for a full disc.
        hub_pad_mm: outside diameter of the hub pad; None for the bolt circle + 28.
        humps: of the contour.
        well: side of the contour's well.
        brake: outlines that the spoke back follows instead, 4.1 mm away.

    Raises:
        GeometryError: the size is not offered, or hub, disc and rim do not go together; the message says by
            how much.
    """
    rim = RimContour(size.diameter_code, size.width_code, size.flange, humps, well)
    pad = bolt_circle_mm + HUB_PAD_OVER_CIRCLE_MM if hub_pad_mm is None else hub_pad_mm
    fixing = Fixing(count=bolt_count, circle_mm=bolt_circle_mm)
    if not bore_mm < bolt_circle_mm - fixing.hole_mm:
        raise GeometryError(
            f"A bore of {bore_mm:g} mm cuts into the bolt holes on a circle of {bolt_circle_mm:g} mm; "
            f"it must be under {bolt_circle_mm - fixing.hole_mm:g}."
        )
    if disc_mm is None:
        disc_mm = width_mm(size.width_code) / 2.0 - inset_mm - DISC_BEHIND_FLANGE_MM
    walls = Walls(barrel_mm=wall_mm, well_mm=wall_mm + 0.2, seat_mm=wall_mm + 1.7)
    floor_r = rim.diameter_mm / 2.0 - rim.depth_mm - walls.well_mm
    family = starting_family(pad, bore_mm, floor_r, disc_mm, spoke_depth_mm, walls)
    if brake:
        family = replace(family, back=back_following(brake, BRAKE_GAP_MM, BACK_LEAN_DEG, pad))
    drawn = family_section(contour_vertices(rim), inset_mm, family)
    return Wheel(
        name,
        size,
        inset_mm,
        drawn.vertices,
        rim=rim,
        hub=Hub(bore_mm=bore_mm, hub_pad_mm=pad),
        fixing=fixing,
        spokes=spokes_of(family, drawn, spoke_count, floor_r) if spoke_count else None,
    )


def starting_family(
    hub_pad_mm: float, bore_mm: float, floor_r: float, disc_mm: float, depth_mm: float, walls: Walls
) -> Family:
    """Return the family of a new wheel: an 18-inch pattern spread between hub pad and rim.

    Args:
        hub_pad_mm: outside diameter of the hub pad.
        bore_mm: diameter of the bore.
        floor_r: r of the rim's inside under the well.
        disc_mm: z of the spoke back at the rim.
        depth_mm: axial depth of the spokes at mid radius.
        walls: of the rim.

    Raises:
        GeometryError: hub pad and well leave no room for spokes.
    """
    pad = hub_pad_mm / 2.0
    scale = (floor_r - pad) / (_PATTERN_RIM - _PATTERN_HUB)
    if scale < 0.2:
        raise GeometryError(
            f"A hub pad of {hub_pad_mm:g} mm leaves {floor_r - pad:.1f} mm up to the rim's inside at r "
            f"{floor_r:.1f}; spokes need {0.2 * (_PATTERN_RIM - _PATTERN_HUB):.1f}."
        )

    def at(r: float) -> float:
        return pad + (r - _PATTERN_HUB) * scale

    back: Rows = ((at(112.0), 0.82 * disc_mm), (at(128.0), 0.99 * disc_mm), (at(185.0), disc_mm))
    # Across a steep cone the depth along the axle must be more for the same thickness of metal.
    cone = math.hypot(1.0, 0.82 * disc_mm / (back[0][0] - pad))
    knee = math.hypot(1.0, 0.17 * disc_mm / (back[1][0] - back[0][0]))
    depth: Rows = (
        (at(103.5), max(depth_mm + 1.2, LEAST_NECK_SHARE * depth_mm * cone)),
        (at(120.4), max(depth_mm - 1.4, LEAST_NECK_SHARE * depth_mm * knee)),
        (at(160.0), depth_mm),
        (at(185.0), depth_mm + 2.0),
    )
    return Family(
        "new wheel",
        back,
        depth,
        walls=walls,
        shoulder_height_mm=18.5 * min(scale, 1.0),
        shoulder_lean_deg=23.0,
        shoulder_radius_mm=5.8,
        face_lean_deg=9.0,
        hub_face_mm=hub_pad_mm - HUB_FACE_UNDER_PAD_MM,
        hub_pad_mm=hub_pad_mm,
        bore_mm=bore_mm,
    )


def spokes_of(family: Family, drawn: Drawn, count: int, floor_r: float) -> Spokes:
    """Return the spoke region of a drawn family member, widths from the fill ratios by r."""
    pad = family.hub_pad_mm / 2.0
    scale = (floor_r - pad) / (_PATTERN_RIM - _PATTERN_HUB)
    hub = family.hub_face_mm / 2.0
    steps = [(pad + (r - _PATTERN_HUB) * scale, fill) for r, fill in FILL_STEPS[:-1]]
    steps.append((floor_r + 40.0, FILL_STEPS[-1][1]))
    return Spokes(
        count=count,
        widths=spoke_widths(hub, tuple(steps), count),
        hub_circle_mm=hub,
        shoulder_cut=drawn.shoulder_cut,
        lip_cut=drawn.lip_cut,
        fixed_to=family.fixed_to,
        holds_envelope=True,
    )


def spoke_widths(hub_r: float, steps: Rows, count: int) -> Rows:
    """Return rows (r, width along the arc) that fill a share of each ring: w = share x 2 pi r / count.

    Args:
        hub_r: where the spokes begin.
        steps: rows (r, share): the share holds from the row before up to this r.
        count: number of spokes.
    """
    rows: list[tuple[float, float]] = []
    start = hub_r
    for r, share in steps:
        for end in (start, r):
            rows.append((round(end, 3), round(share * 2.0 * math.pi * end / count, 3)))
        start = r
    return tuple(rows)


#: Corner radii of a new blank, mm: outer corners, and fillets between disc and ring.
BLANK_CORNER_MM, BLANK_FILLET_MM = 6.2, 14.0


def new_blank(
    name: str,
    outside_diameter_mm: float,
    height_mm: float,
    ring_bore_mm: float,
    disc_thickness_mm: float,
    disc_position_mm: float,
) -> Blank:
    """Return a blank from five numbers: a ring with a solid disc, no draft.

    Its own zero is the disc's inboard face, where a wheel's mounting face lies less its stock.

    Args:
        name: of the blank.
        outside_diameter_mm: of the ring.
        height_mm: of the ring, along the axle.
        ring_bore_mm: inside diameter of the ring, on both sides of the disc.
        disc_thickness_mm: of the disc, solid to the axle.
        disc_position_mm: from the ring's inboard end to the disc's inboard face.

    Raises:
        GeometryError: a number is not positive, or the disc or the bore does not lie within the ring.
    """
    numbers = (outside_diameter_mm, height_mm, ring_bore_mm, disc_thickness_mm)
    if not all(0.0 < x < math.inf for x in numbers) or not 0.0 <= disc_position_mm < math.inf:
        raise GeometryError(
            "Outside diameter, height, ring bore and disc thickness of a blank are above zero."
        )
    if ring_bore_mm >= outside_diameter_mm:
        raise GeometryError(
            f"A ring bore of {ring_bore_mm:g} mm leaves no ring in an outside diameter of "
            f"{outside_diameter_mm:g} mm."
        )
    over = disc_position_mm + disc_thickness_mm - height_mm
    if over > 1e-9:
        raise GeometryError(
            f"A disc {disc_thickness_mm:g} thick at {disc_position_mm:g} stands {over:g} mm out of a ring "
            f"{height_mm:g} mm high."
        )
    outer, bore = outside_diameter_mm / 2.0, ring_bore_mm / 2.0
    inboard, outboard = -disc_position_mm, height_mm - disc_position_mm
    corners = [Corner(disc_thickness_mm, 0.0)]
    if outboard > disc_thickness_mm + 1e-9:
        corners += [Corner(disc_thickness_mm, bore, BLANK_FILLET_MM), Corner(outboard, bore, BLANK_CORNER_MM)]
    corners += [Corner(outboard, outer, BLANK_CORNER_MM), Corner(inboard, outer, BLANK_CORNER_MM)]
    if inboard < -1e-9:
        corners += [Corner(inboard, bore, BLANK_CORNER_MM), Corner(0.0, bore, BLANK_FILLET_MM)]
    corners.append(Corner(0.0, 0.0))
    source = "Drawn from five numbers; no draft. Ask the forge for draft, radii and tolerances."
    return Blank(name, fitting_corners(tuple(corners)), source=source)


def fitting_corners(corners: tuple[Corner, ...]) -> tuple[Corner, ...]:
    """Return straight-edged corners with radii cut down to half of what the shorter edge takes."""
    out = []
    for i, c in enumerate(corners):
        a, b = corners[i - 1], corners[(i + 1) % len(corners)]
        before, after = math.atan2(c.r - a.r, c.z - a.z), math.atan2(b.r - c.r, b.z - c.z)
        turn = abs((after - before + math.pi) % (2.0 * math.pi) - math.pi)
        room = 0.49 * min(math.hypot(c.z - a.z, c.r - a.r), math.hypot(b.z - c.z, b.r - c.r))
        most = room / math.tan(turn / 2.0) if turn > 1e-6 else 0.0
        out.append(replace(c, radius=c.radius if c.radius <= most else math.floor(most * 10.0) / 10.0))
    return tuple(out)

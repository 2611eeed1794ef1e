"""Edits of a whole wheel: width, diameter, inset, what the spokes are fixed to, and the contour's lock.

Vertices follow their anchors; spoke cuts and ring bodies follow the vertex nearest to them. z = 0 stays the
mounting face throughout. `Wheel.size` and `Wheel.rim` stay in step.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

from app.project.wheel import RingBody, Spokes, Unlocked, Wheel
from geometry.errors import GeometryError
from geometry.shape.edits import SPOKE_ZONES, spokes_anchored
from geometry.shape.published import flange_row, specified_diameter_mm, width_mm
from geometry.shape.rim import RimContour, WellSide, contour_vertices
from geometry.shape.section import AnchorR, AnchorZ, Vertex, Zone
from geometry.shape.spoke_cut import parts, spoke_cut
from geometry.tolerances import LEAST_TURN_DEG

#: What a change of width keeps, and the share of the growth that the outer flange takes: with "inboard" and
#: "outboard" the rim grows on that side alone, so "outboard" is another word for keeping the backspace.
OUTER_SHARE = {"inset": 0.5, "backspace": 1.0, "outboard": 1.0, "inboard": 0.0}

#: A free vertex within this of a joint of the contour lies under it, mm.
UNDER_JOINT_MM = 15.0

Moves = dict[AnchorZ, float]


def backspace_mm(wheel: Wheel) -> float:
    """Return the distance from the inboard rim edge to the mounting face: A / 2 + B + inset."""
    return _half_over_flange(wheel) + wheel.inset_mm


def frontspace_mm(wheel: Wheel) -> float:
    """Return the distance from the mounting face to the outboard rim edge: A / 2 + B - inset."""
    return _half_over_flange(wheel) - wheel.inset_mm


def inset_from_backspace(wheel: Wheel, backspace: float) -> float:
    """Return the inset at which a wheel of this rim has a backspace, both mm."""
    return backspace - _half_over_flange(wheel)


def with_width(wheel: Wheel, width_code: float, keep: str = "inset") -> Wheel:
    """Return the wheel in another width code.

    Args:
        wheel: the wheel to change.
        width_code: the new code.
        keep: "inset" (both flanges take half), "backspace" or "outboard" (the outer flange takes all and the
            inset falls by half of it), "inboard" (the inner flange takes all and the inset rises by half).

    Raises:
        GeometryError: the code is not offered or the contour does not fit it, or `keep` is none of these.
    """
    if keep not in OUTER_SHARE:
        raise GeometryError(f"A change of width keeps one of {', '.join(OUTER_SHARE)}, not {keep!r}.")
    growth = width_mm(width_code) - width_mm(wheel.size.width_code)
    share = OUTER_SHARE[keep]
    centre = (share - 0.5) * growth
    moves = {
        AnchorZ.OUTER_FLANGE: share * growth,
        AnchorZ.INNER_FLANGE: (share - 1.0) * growth,
        AnchorZ.RIM_CENTRE: centre,
    }
    moved = replace(_followed(wheel, moves, 0.0), inset_mm=wheel.inset_mm - centre)
    if wheel.rim is not None:
        moved = _under_contour(moved, wheel.rim, replace(wheel.rim, width_code=width_code), 0.0)
    return _settled(replace(moved, size=replace(wheel.size, width_code=width_code)))


def with_diameter(wheel: Wheel, diameter_code: float) -> Wheel:
    """Return the wheel in another diameter code: what follows the bead seat moves by half the change of D.

    Spokes keep their fill ratio.

    Raises:
        GeometryError: the code is not offered.
    """
    old = wheel.size.diameter_code
    dr = (specified_diameter_mm(diameter_code) - specified_diameter_mm(old)) / 2.0
    moved = _followed(wheel, {}, dr)
    if wheel.rim is not None:
        moved = _under_contour(moved, wheel.rim, replace(wheel.rim, diameter_code=diameter_code), dr)
    if wheel.spokes is not None and moved.spokes is not None:
        seat = specified_diameter_mm(old) / 2.0
        moved = replace(moved, spokes=_stretched(moved.spokes, seat, seat + dr))
    return _settled(replace(moved, size=replace(wheel.size, diameter_code=diameter_code)))


def with_inset(wheel: Wheel, inset_mm: float) -> Wheel:
    """Return the wheel with another inset: the rim moves along the axle, the mounting face stays at z = 0.

    Spokes move with the rim or stay with the hub as their anchors say.

    Raises:
        GeometryError: the inset is not a number within 1,000 mm.
    """
    if not abs(inset_mm) <= 1000.0:
        raise GeometryError(f"An inset of {inset_mm:g} mm is not one of a wheel; it lies within 1000.")
    dz = wheel.inset_mm - inset_mm
    rim = (AnchorZ.OUTER_FLANGE, AnchorZ.INNER_FLANGE, AnchorZ.RIM_CENTRE)
    moved = replace(_followed(wheel, dict.fromkeys(rim, dz), 0.0), inset_mm=inset_mm)
    return _settled(moved)


def with_well(wheel: Wheel, side: WellSide) -> Wheel:
    """Return the wheel with its well on the other side of the rim; what lies under the contour follows it.

    Raises:
        GeometryError: the contour is not locked, so nothing says where its well is.
    """
    if wheel.rim is None:
        raise GeometryError("The contour is unlocked: draw the well at its other place.")
    moved = _under_contour(wheel, wheel.rim, replace(wheel.rim, well=side), 0.0)
    return _settled(moved)


def with_spokes_fixed_to(wheel: Wheel, what: str) -> Wheel:
    """Return the wheel with its spokes anchored to the "rim" (the outer flange) or the "hub" (mounting face).

    Anchored are the vertices between two edges of shoulder, spoke back or spoke face; those that meet the
    rim stay with the rim, those that meet hub pad or hub face with the hub.

    Raises:
        GeometryError: `what` is neither.
    """
    anchors = {"rim": AnchorZ.OUTER_FLANGE, "hub": AnchorZ.MOUNTING_FACE}
    if what not in anchors:
        raise GeometryError(f'Spokes are fixed to "rim" or "hub", not {what!r}.')
    spokes = None if wheel.spokes is None else replace(wheel.spokes, fixed_to=what)
    return replace(wheel.with_section(spokes_anchored(wheel.section, anchors[what])), spokes=spokes)


def unlocked(wheel: Wheel, by: str, on: str) -> Wheel:
    """Return the wheel with its rim contour as free vertices, and the record of who unlocked it and when.

    Args:
        wheel: a wheel with a locked contour.
        by: name of whoever answers for it.
        on: date, YYYY-MM-DD.

    Raises:
        GeometryError: the contour is not locked, or name or date is empty.
    """
    if wheel.rim is None:
        raise GeometryError(f"The rim contour of {wheel.name} is not locked.")
    if not by.strip() or not on.strip():
        raise GeometryError("Unlocking a rim contour is recorded: say who does it, and the date.")
    record = Unlocked(by.strip(), on.strip(), wheel.rim)
    return replace(wheel, vertices=wheel.section.vertices, rim=None, unlocked=record)


def _half_over_flange(wheel: Wheel) -> float:
    """Return A / 2 + B; an unlocked wheel has the B of the contour it came from, else the trade's."""
    contour = wheel.rim or (wheel.unlocked.contour if wheel.unlocked else None)
    if contour is not None:
        b = contour.flange_mm
    else:
        b = flange_row(wheel.size.diameter_code, wheel.size.flange).b_usual.value
    return width_mm(wheel.size.width_code) / 2.0 + b


def _followed(wheel: Wheel, moves: Moves, dr: float) -> Wheel:
    """Return the wheel with everything moved as its anchors say; the mounting face and the axle stay."""
    section = wheel.section

    def step(v: Vertex) -> tuple[float, float]:
        return moves.get(v.anchor_z, 0.0), dr if v.anchor_r is AnchorR.BEAD_SEAT else 0.0

    # Cuts and ring bodies belong to rim or hub: the spokes' own vertices are not asked.
    fixed = [
        v
        for i, v in enumerate(section.vertices)
        if not (v.zone in SPOKE_ZONES and section.vertices[i - 1].zone in SPOKE_ZONES)
    ]

    def near(z: float, r: float) -> tuple[float, float]:
        return step(min(fixed, key=lambda v: math.hypot(v.z - z, v.r - r)))

    spokes = wheel.spokes
    if spokes is not None:
        spokes = replace(
            spokes,
            shoulder_cut=_moved(spokes.shoulder_cut, near(*spokes.shoulder_cut)),
            lip_cut=_moved(spokes.lip_cut, near(*spokes.lip_cut)),
        )
    rings = tuple(
        _moved_ring(x, near((x.z_low + x.z_high) / 2.0, (x.r_low + x.r_high) / 2.0)) for x in wheel.rings
    )
    vertices = tuple(v.moved(*step(v)) for v in wheel.vertices)
    return replace(wheel, vertices=vertices, spokes=spokes, rings=rings)


def _moved(place: tuple[float, float], by: tuple[float, float]) -> tuple[float, float]:
    return place[0] + by[0], place[1] + by[1]


def _moved_ring(ring: RingBody, by: tuple[float, float]) -> RingBody:
    z_low, r_low = _moved((ring.z_low, ring.r_low), by)
    z_high, r_high = _moved((ring.z_high, ring.r_high), by)
    return replace(ring, z_low=z_low, z_high=z_high, r_low=r_low, r_high=r_high)


def _settled(wheel: Wheel) -> Wheel:
    """Return a moved wheel without corner radii that lost their corner, and with a sound spoke cut."""
    return _with_sound_cut(_without_flat_corners(wheel))


def _without_flat_corners(wheel: Wheel) -> Wheel:
    """Return the wheel, sharp where a vertex between straight edges came to lie in their line.

    A radius has no place there, and the outline is the same without it.
    """
    section = wheel.section
    around = section.vertices
    flat = [
        i
        for i in range(section.locked, len(around))
        if around[i].radius > 0.0
        and around[i].bulge == around[i - 1].bulge == 0.0
        and _turn_deg(around[i - 1], around[i], around[(i + 1) % len(around)]) < LEAST_TURN_DEG
    ]
    if not flat:
        return wheel
    vertices = [replace(v, radius=0.0) if i in flat else v for i, v in enumerate(around)]
    return replace(wheel, vertices=tuple(vertices[section.locked :]))


def _turn_deg(before: Vertex, at: Vertex, after: Vertex) -> float:
    first, second = (at.z - before.z, at.r - before.r), (after.z - at.z, after.r - at.r)
    cross = first[0] * second[1] - first[1] * second[0]
    return abs(math.degrees(math.atan2(cross, first[0] * second[0] + first[1] * second[1])))


def _with_sound_cut(wheel: Wheel) -> Wheel:
    """Return the wheel with its spoke cut laid anew where the moved one no longer parts the section."""
    spokes = wheel.spokes
    if spokes is None or parts(wheel.section, spokes.shoulder_cut, spokes.lip_cut):
        return wheel
    cut = spoke_cut(wheel.section)
    if cut is None:
        return wheel
    return replace(wheel, spokes=replace(spokes, shoulder_cut=cut[0], lip_cut=cut[1]))


def _under_contour(moved: Wheel, old: RimContour, new: RimContour, dr: float) -> Wheel:
    """Return a wheel moved by its anchors under another locked contour.

    Ends of floor and ramp may move against their flange, as in narrow rims and where the least well depth
    changes; the free vertex under each goes along.

    Raises:
        GeometryError: the contour cannot be drawn.
    """
    vertices = list(moved.vertices)
    done: set[int] = set()
    for before, after in zip(_well_joints(old), _well_joints(new), strict=True):
        dz, rise = after[0] - before[0], after[1] - before[1] - dr
        if abs(dz) + abs(rise) < 1e-9:
            continue
        z, r = _flange_z(new) + before[0] - moved.inset_mm, before[1] + dr
        near = [
            (math.hypot(v.z - z, v.r - r), i)
            for i, v in enumerate(vertices)
            if i not in done and Zone.WELL in (v.zone, vertices[i - 1].zone)
        ]
        if near and min(near)[0] < UNDER_JOINT_MM:
            i = min(near)[1]
            vertices[i] = vertices[i].moved(dz, rise)
            done.add(i)
    return replace(moved, rim=new, vertices=tuple(vertices))


def _flange_z(rim: RimContour) -> float:
    """Return z, from the rim centre plane, of the flange face on the well's side."""
    return rim.width_mm / 2.0 * (1.0 if rim.well is WellSide.OUTBOARD else -1.0)


def _well_joints(rim: RimContour) -> list[tuple[float, float]]:
    """Return (z from the well's flange face, r) of the floor's two ends and the ramp's upper end."""
    contour = contour_vertices(rim)
    lowest = min(v.r for v in contour)
    floor = [v for v in contour if v.r < lowest + 1e-6]
    ramp_top = next(
        v for before, v in itertools.pairwise(contour) if {before.zone, v.zone} == {Zone.WELL, Zone.BARREL}
    )
    return [(v.z - _flange_z(rim), v.r) for v in (floor[0], floor[-1], ramp_top)]


def _stretched(spokes: Spokes, old_seat: float, new_seat: float) -> Spokes:
    """Return the spokes with their widths spread between hub circle and bead seat, fill ratio kept."""
    hub = spokes.hub_circle_mm
    stretch = (new_seat - hub) / (old_seat - hub) if old_seat > hub else 1.0

    def row(r: float, width: float) -> tuple[float, float]:
        new = hub + (r - hub) * stretch if r > hub else r
        return new, width * new / r if r else width

    return replace(spokes, widths=tuple(row(r, width) for r, width in spokes.widths))

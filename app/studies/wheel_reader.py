"""A foreign half-section becomes a wheel: its parts are found, measured against the size, and proposed.

The outline comes in mm with r from the axle line and z along it, in any order and from any origin along z.
Given are the size code, the inset and, where the user points at it, the z of the mounting face in the
drawing. Nothing is corrected silently: the section stays as drawn, turned round if it is mirrored and shifted
so that the mounting face lies at z = 0, and everything that does not agree is listed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from app.project.wheel import Hub, SizeCode, Wheel
from app.studies.wheel_view import Loops, View, check_scale, chosen, oriented, started, tyre_count, tyre_side
from app.studies.wheel_zones import Parts, zoned_vertices
from geometry.errors import GeometryError
from geometry.shape.curve import Path
from geometry.shape.distance import nearest_of
from geometry.shape.published import (
    BEAD_SEAT_DEG,
    GREATEST_DIAMETER_CODE,
    HUMP_PLACE,
    LEAST_DIAMETER_CODE,
    flange_row,
    specified_diameter_mm,
    width_mm,
)
from geometry.shape.rim import RimContour, WellSide, contour_vertices
from geometry.shape.rim_check import (
    DIAMETER_TOLERANCE_MM,
    WIDTH_TOLERANCE_MM,
    Finding,
    broken,
    check_tyre_side,
    contour_path,
)
from geometry.shape.section import Section, build

#: An inset as drawn agrees with the stated one within this.
INSET_MM = 0.1
#: The well is where the tyre side is deeper than this share of its depth.
WELL_SHARE = 0.5


@dataclass(frozen=True)
class Recognised:
    """One part that was found: what it measures and what the standard contour of the size has.

    Attributes:
        found, expected: mm or degrees, as `unit` says; found is None where the part was not recognised.
        basis: where the expected number comes from.
    """

    part: str
    found: float | None
    expected: float
    unit: str
    basis: str

    @property
    def deviation(self) -> float | None:
        """Found less expected."""
        return None if self.found is None else self.found - self.expected


@dataclass(frozen=True)
class Proposal:
    """A wheel as it could be taken over.

    Attributes:
        section: mounting face at z = 0, zones and anchors proposed; not locked.
        inset_mm: as drawn where flanges and mounting face were found, else as stated.
        hub: bore and hub pad as drawn.
        recognised: parts with their deviation.
        disagreements: what does not agree with size, inset or itself, one sentence each.
        limits: published limits that the tyre side breaks or that cannot be judged.
        is_mirrored: the drawing had outboard to the left and was turned round.
    """

    section: Section
    size: SizeCode
    inset_mm: float
    hub: Hub
    recognised: tuple[Recognised, ...]
    disagreements: tuple[str, ...]
    limits: tuple[Finding, ...]
    is_mirrored: bool

    def wheel(self, name: str) -> Wheel:
        """Return the proposed wheel: unlocked contour as drawn, hub from the drawing, all else unset."""
        return Wheel(name, self.size, self.inset_mm, self.section.vertices, hub=self.hub)


def propose(
    loops: Loops,
    size: SizeCode,
    inset_mm: float,
    *,
    face_z: float | None = None,
    body: int | None = None,
) -> Proposal:
    """Return the wheel that a foreign half-section shows.

    Args:
        loops: closed outlines as (z, r, bulge) rows, mm.
        size: as stated.
        inset_mm: as stated.
        face_z: z of the mounting face in the drawing; None looks for it.
        body: which of several closed outlines, counted from 1.

    Raises:
        GeometryError: there are several bodies and none was chosen, or no rim with two flanges was found.
    """
    path = started(chosen(loops, body))
    diameter, width = specified_diameter_mm(size.diameter_code), width_mm(size.width_code)
    check_scale(path, diameter)
    view, said = oriented(path, width, inset_mm, face_z)
    mounting_z = view.centre_z + inset_mm if view.face is None else view.face.z
    parts = _parts(view, mounting_z, diameter)
    drawn_inset = mounting_z - view.centre_z
    said += _inset_said(drawn_inset, inset_mm) + _width_said(view, size) + _seats_said(view, size)
    tyre = tyre_side(view.path).moved(dz=-view.centre_z)
    section = Section(zoned_vertices(parts))
    built = build(section)
    if isinstance(built, tuple):
        said += [fault.message for fault in built]
    return Proposal(
        section=section,
        size=size,
        inset_mm=drawn_inset,
        hub=Hub(bore_mm=2.0 * parts.bore_r, hub_pad_mm=2.0 * parts.pad_r),
        recognised=_recognised(view, size, inset_mm),
        disagreements=tuple(said),
        limits=broken(check_tyre_side(tyre, size.diameter_code, size.width_code, size.flange)),
        is_mirrored=view.is_mirrored,
    )


def _parts(view: View, mounting_z: float, diameter: float) -> Parts:
    placed = view.path.moved(dz=-mounting_z)
    outer_z, inner_z = view.outer_face_z - mounting_z, view.inner_face_z - mounting_z
    outer_s, inner_s = (
        half.seat_end_s if half.seat_end_s is not None else HUMP_PLACE.value
        for half in (view.outer, view.inner)
    )
    lowest = max(placed.bounds[2], 0.0)
    return Parts(
        path=placed,
        tyre_count=tyre_count(placed),
        outer_face_z=outer_z,
        inner_face_z=inner_z,
        outer_seat_s=outer_s,
        inner_seat_s=inner_s,
        well_z=_well(tyre_side(placed), inner_z + inner_s, outer_z - outer_s, diameter / 2.0),
        seat_r=diameter / 2.0,
        pad_r=lowest if view.face is None else view.face.high_r,
        bore_r=lowest,
    )


def _well(tyre: Path, low_z: float, high_z: float, seat_r: float) -> tuple[float, float]:
    """Return the ends of the well between the seats' ends; on its own side it reaches the seat's end.

    Raises:
        GeometryError: nothing there is deeper than the seats.
    """
    flat = tyre.flattened(0.05)
    flat = flat[np.argsort(flat[:, 0], kind="stable")]
    z = np.linspace(low_z, high_z, 400)
    depth = seat_r - np.interp(z, flat[:, 0], flat[:, 1])
    if depth.max() <= 0.0:
        raise GeometryError("No well was found between the seats: is the unit of the drawing right?")
    deep = z[depth >= WELL_SHARE * depth.max()]
    first, last = float(deep.min()), float(deep.max())
    return (first, high_z) if first + last >= low_z + high_z else (low_z, last)


def _inset_said(drawn: float, stated: float) -> list[str]:
    if abs(drawn - stated) <= INSET_MM:
        return []
    return [
        f"The inset is {drawn:.2f} in the drawing and {stated:g} as stated: {drawn - stated:+.2f}. "
        "The section keeps the drawing's."
    ]


def _width_said(view: View, size: SizeCode) -> list[str]:
    width, nominal = view.outer_face_z - view.inner_face_z, width_mm(size.width_code)
    if abs(width - nominal) <= WIDTH_TOLERANCE_MM.value:
        return []
    code = min(max(round(width / 12.7) / 2.0, 3.0), 20.0)
    fits = f"; that is width code {code:g}" if abs(width - width_mm(code)) <= WIDTH_TOLERANCE_MM.value else ""
    return [
        f"The flange faces are {width:.2f} apart; width code {size.width_code:g} has {nominal:g} "
        f"({width - nominal:+.2f}){fits}."
    ]


def _seats_said(view: View, size: SizeCode) -> list[str]:
    """Return what is wrong with the bead seats: both as one sentence where they are wrong alike."""
    found = {
        side: 2.0 * half.seat_r
        for side, half in (("outer", view.outer), ("inner", view.inner))
        if half.seat_r is not None
    }
    said = [
        f"No {side} bead seat was recognised: no straight stretch that falls inward by about "
        f"{BEAD_SEAT_DEG.value:g} degrees."
        for side in ("outer", "inner")
        if side not in found
    ]
    nominal = specified_diameter_mm(size.diameter_code)
    wrong = {side: d for side, d in found.items() if abs(d - nominal) > DIAMETER_TOLERANCE_MM.value}
    if len(wrong) == 2 and abs(wrong["outer"] - wrong["inner"]) <= DIAMETER_TOLERANCE_MM.value:
        wrong = {"outer and inner": wrong["outer"]}
    for side, d in wrong.items():
        said.append(
            f"The {side} bead-seat diameter is {d:.2f}; code {size.diameter_code:g} has {nominal:g} "
            f"({d - nominal:+.2f}){_likely_diameter(d, size.diameter_code)}."
        )
    return said


def _likely_diameter(diameter: float, code: float) -> str:
    """Return what a wrong bead-seat diameter looks like."""
    if abs(diameter - 25.4 * code) <= DIAMETER_TOLERANCE_MM.value:
        return f": it is drawn as 25.4 x {code:g} = {25.4 * code:g}, which no rim of this code has"
    for other in range(LEAST_DIAMETER_CODE, GREATEST_DIAMETER_CODE + 1):
        if abs(diameter - specified_diameter_mm(other)) <= DIAMETER_TOLERANCE_MM.value:
            return f": that is code {other}"
    return ""


def _recognised(view: View, size: SizeCode, inset_mm: float) -> tuple[Recognised, ...]:
    row = flange_row(size.diameter_code, size.flange)
    diameter, width = specified_diameter_mm(size.diameter_code), width_mm(size.width_code)
    tyre = tyre_side(view.path).moved(dz=-view.centre_z)
    inset = None if view.face is None else view.face.z - view.centre_z
    between = None if view.missing else view.outer_face_z - view.inner_face_z
    rows = [
        Recognised("inset", inset, inset_mm, "mm", "as stated"),
        Recognised("width between flange faces", between, width, "mm", "width code"),
        Recognised("well depth", diameter / 2.0 - tyre.bounds[2], row.h_min.value, "mm", "least published"),
    ]
    off = _off_contour(tyre, size, view)
    for side, half in (("outer", view.outer), ("inner", view.inner)):
        edge = None if half.face_z is None else half.edge_z - half.face_z
        seat = None if half.seat_r is None else 2.0 * half.seat_r
        crest = half.seat_end_s if half.hump else None
        flange = diameter + 2.0 * row.g.value
        rows += [
            Recognised(f"{side} flange diameter", 2.0 * half.top_r, flange, "mm", "D + 2 G"),
            Recognised(f"{side} flange width", edge, row.b_usual.value, "mm", "usual in trade tables"),
            Recognised(f"{side} bead-seat diameter", seat, diameter, "mm", "specified diameter D"),
            Recognised(f"{side} bead-seat angle", half.seat_deg, BEAD_SEAT_DEG.value, "deg", "5 degree rim"),
            Recognised(f"{side} hump from flange face", crest, HUMP_PLACE.value, "mm", "tyre formulas, weak"),
            Recognised(f"{side} flange and seat off the contour", off[side], 0.0, "mm", "standard contour"),
        ]
    return tuple(rows)


def _off_contour(tyre: Path, size: SizeCode, view: View) -> dict[str, float | None]:
    """Return how far flange, seat and hump of each side lie off the standard contour at most, mm.

    Both have the rim centre plane at z = 0.
    """
    deepest = int(np.argmin(tyre.points[:-1, 1]))
    outboard = float(tyre.points[deepest, 0]) >= 0.0
    well = WellSide.OUTBOARD if outboard else WellSide.INBOARD
    try:
        contour = contour_path(
            contour_vertices(RimContour(size.diameter_code, size.width_code, size.flange, well=well))
        )
    except GeometryError:
        return {"outer": None, "inner": None}
    pieces = np.arange(len(tyre) - 1)
    places = np.vstack([tyre.points[:-1], tyre.at(pieces, np.full(len(pieces), 0.5)), tyre.ends[-2:-1]])
    distance, _, _ = nearest_of(contour, np.arange(len(contour) - 1), places)
    out: dict[str, float | None] = {}
    for side, half, sign in (("outer", view.outer, 1.0), ("inner", view.inner, -1.0)):
        reach = half.seat_end_s if half.hump and half.seat_end_s is not None else HUMP_PLACE.value
        near = sign * places[:, 0] >= (view.outer_face_z - view.inner_face_z) / 2.0 - reach
        out[side] = float(distance[near].max()) if near.any() else None
    return out

"""A family: a design's rule from rim contour and inset to the free part of a half-section.

The rim's inside follows the contour at given walls; spoke back and spoke face are rows over r; a shoulder
leans from the spoke back into the rim, the face leans out to the outer lip's root; hub, hub pad and bore
close the section. A drawn wheel of the family is an ordinary section that is edited by hand from there.

Every place here is in the wheel's frame (mounting face at z = 0, + outboard); rows rise in r.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.curve import Array, Path
from geometry.shape.distance import nearest_of
from geometry.shape.edits import spokes_anchored
from geometry.shape.outline import Corner, outline_path
from geometry.shape.section import AnchorR, AnchorZ, Section, Vertex, Zone
from geometry.shape.spoke_cut import Place, half_turn_tan, spoke_cut
from geometry.shape.under import Walls, inside

Rows = tuple[Place, ...]

#: Corner radii, mm: hub pad and bore edges, root of the spokes at the hub, bends of back and face.
HUB_EDGE_MM, HUB_ROOT_MM, BACK_BEND_MM, FACE_BEND_MM = 1.6, 14.0, 18.0, 16.0
#: Corners of a fitted section leave this share of every edge straight.
STRAIGHT_SHARE = 0.02
#: A bend of less needs no radius.
LEAST_BEND_DEG = 0.2
#: A row of the spoke back nearer to the shoulder's start than this only gives its direction, mm.
NEAREST_ROW_MM = 6.0
#: A bend of the rim's inside nearer than this to the spokes' corner is left to that corner's fillet, mm.
CROWDED_MM = 3.0
#: Half the least axial depth with which spokes may meet the rim, mm.
LEAST_SPOKE_MM = 3.0


@dataclass(frozen=True)
class Family:
    """What the wheels of one design have in common, mm and degrees.

    Attributes:
        back: rows (r, z) of the spoke back.
        depth: rows (r, depth along the axle from the spoke back to the spoke face).
        shoulder_height_mm: where the spoke back, run on, starts to lean into the rim, below the rim's inside.
        shoulder_lean_deg, face_lean_deg: lean from the radial direction, + outboard, of shoulder and of the
            face beyond its last row.
        hub_thickness_mm, hub_face_mm: thickness of the hub and diameter of its flat face.
        hub_pad_mm, bore_mm: outside diameter of the hub pad and diameter of the bore.
        fixed_to: what the spokes follow, "rim" or "hub".
    """

    name: str
    back: Rows
    depth: Rows
    walls: Walls = field(default_factory=Walls)
    shoulder_height_mm: float = 18.5
    shoulder_lean_deg: float = 22.0
    shoulder_radius_mm: float = 6.5
    face_lean_deg: float = 12.0
    face_root_radius_mm: float = 5.5
    hub_thickness_mm: float = 40.0
    hub_face_mm: float = 144.0
    hub_pad_mm: float = 148.0
    bore_mm: float = 72.0
    fixed_to: str = "rim"


@dataclass(frozen=True)
class Drawn:
    """A drawn family member.

    Attributes:
        vertices: the free part, from below the inboard flange edge round to below the outboard one.
        shoulder_cut, lip_cut: ends of the cut between spokes and rim, (z, r), off the skin.
    """

    vertices: tuple[Vertex, ...]
    shoulder_cut: Place
    lip_cut: Place


def family_section(contour: Sequence[Vertex], inset_mm: float, family: Family) -> Drawn:
    """Return the free part of a wheel of this family under a tyre-side contour.

    Corner radii are as large as the family says, or as fit.

    Args:
        contour: tyre-side vertices, z from the rim centre plane.
        inset_mm: + when the mounting face is outboard of the rim centre plane.
        family: the rule.

    Raises:
        GeometryError: the spokes do not meet the rim between its lips, or hub and spokes do not go together.
    """
    _check(family)
    shifted = tuple(v.moved(dz=-inset_mm) for v in contour)
    rim = inside(shifted, family.walls)
    back = _back(family, rim)
    brake, shoulder_cut = _shoulder(family, rim, back)
    face = _face(family, back, rim)
    street, lip_cut = _lip_root(family, rim, face)
    if lip_cut[0] - shoulder_cut[0] < 2.0 * LEAST_SPOKE_MM:
        raise GeometryError(
            f"Spoke back and face meet the rim within {lip_cut[0] - shoulder_cut[0]:.1f} mm of each other; "
            "make the spokes deeper.",
            lip_cut,
        )
    free = [*brake, *back, *_hub(family), *face, *street]
    section = Section(shifted + tuple(free), locked=len(shifted))
    section = with_fitting_radii(section)
    anchor = AnchorZ.OUTER_FLANGE if family.fixed_to == "rim" else AnchorZ.MOUNTING_FACE
    section = spokes_anchored(section, anchor)
    cut = spoke_cut(section)
    assert cut is not None, "a family's section has a shoulder and a spoke face"
    return Drawn(section.vertices[section.locked :], *cut)


def _check(f: Family) -> None:
    for name, rows in (("spoke back", f.back), ("spoke depth", f.depth)):
        radii = [r for r, _ in rows]
        if len(rows) < 2 or any(b <= a for a, b in itertools.pairwise(radii)):
            raise GeometryError(f"The {name} needs two or more rows with rising r.")
    if f.back[0][0] <= f.hub_pad_mm / 2.0:
        raise GeometryError(
            f"The spoke back starts at r {f.back[0][0]:g}, inside the hub pad's edge {f.hub_pad_mm / 2.0:g}."
        )
    if not 0.0 < f.bore_mm < min(f.hub_pad_mm, f.hub_face_mm):
        raise GeometryError(f"A bore of {f.bore_mm:g} mm leaves no hub pad of {f.hub_pad_mm:g} mm.")
    if f.fixed_to not in ("rim", "hub"):
        raise GeometryError(f'Spokes are fixed to "rim" or "hub", not {f.fixed_to!r}.')


def back_at(family: Family, r: float) -> float:
    """Return z of the spoke back at r: along its rows, on to the hub pad's edge, and on beyond the last."""
    rows = ((family.hub_pad_mm / 2.0, 0.0), *family.back)
    if r <= rows[-1][0]:
        return float(np.interp(r, [a for a, _ in rows], [z for _, z in rows]))
    (ra, za), (rb, zb) = rows[-2:]
    return zb + (r - rb) * (zb - za) / (rb - ra)


def back_following(brake: Sequence[Path], gap_mm: float, lean_deg: float, hub_pad_mm: float) -> Rows:
    """Return rows of a spoke back that keeps a gap to a brake: one straight cone, one leaning line.

    The line leans outboard by lean_deg from the radial direction and touches the brake grown by the gap. The
    cone leaves the hub pad's edge and meets the line as far out as the gap allows.

    Raises:
        GeometryError: no outline is given, or the brake leaves no way from the hub pad to the line.
    """
    if not brake:
        raise GeometryError("A spoke back follows at least one outline; none is given.")
    points = np.vstack([p.flattened(0.01, "outward") for p in brake])
    lean = math.radians(lean_deg)
    reach = float(np.max(points @ [math.cos(lean), -math.sin(lean)])) + gap_mm

    def line(r: float) -> float:
        return (reach + r * math.sin(lean)) / math.cos(lean)

    pad, top = hub_pad_mm / 2.0, float(points[:, 1].max())
    edges = np.vstack([_dense(p) for p in brake])
    for r in np.arange(top - NEAREST_ROW_MM, pad + NEAREST_ROW_MM, -0.5).tolist():
        skin = outline_path(
            (
                Corner(0.0, pad),
                Corner(line(pad) + top, pad),
                Corner(line(top) + top, top),
                Corner(line(top), top),
                Corner(line(r), r, HUB_ROOT_MM),
            )
        )
        if isinstance(skin, Path) and nearest_of(skin, np.arange(len(skin)), edges)[0].min() >= gap_mm - 1e-6:
            return (r, round(line(r), 3)), (top, round(line(top), 3))
    raise GeometryError(
        f"The brake comes within {gap_mm:g} mm of every straight cone from the hub pad's edge at r {pad:g}; "
        "make the hub pad smaller or the gap less."
    )


def _dense(path: Path) -> Array:
    """Return points along a path at most 0.2 mm apart."""
    piece = np.repeat(np.arange(len(path)), np.ceil(path.lengths / 0.2).astype(int) + 1)
    first = np.searchsorted(piece, np.arange(len(path)))
    count = np.bincount(piece)
    return path.at(piece, (np.arange(len(piece)) - first[piece]) / count[piece])


def _back(f: Family, rim: Sequence[Vertex]) -> list[Vertex]:
    """Return the spoke back from the start of the shoulder to its first row at the hub."""
    inner_r = rim_r(rim, f.back[-1][1])
    start = inner_r - f.shoulder_height_mm
    rows = [(r, z) for r, z in f.back if r < start - NEAREST_ROW_MM]
    if len(rows) < 1:
        raise GeometryError(
            f"The rim's inside lies at r {inner_r:.1f} over the spoke back; a shoulder "
            f"{f.shoulder_height_mm:g} mm high leaves no spoke over the first rows. Give rows of smaller r."
        )
    out = [_spoke(back_at(f, start), start, BACK_BEND_MM, Zone.SPOKE_BACK, AnchorR.BEAD_SEAT)]
    out += [_spoke(z, r, BACK_BEND_MM, Zone.SPOKE_BACK, _follows(f, r, start)) for r, z in reversed(rows)]
    out[-1] = replace(out[-1], radius=HUB_ROOT_MM)
    return out


def _follows(f: Family, r: float, rim_r: float) -> AnchorR:
    """Return what a row follows when the diameter changes: the nearer of rim and hub."""
    return AnchorR.BEAD_SEAT if r > (f.hub_pad_mm / 2.0 + rim_r) / 2.0 else AnchorR.AXLE_LINE


def _spoke(z: float, r: float, radius: float, zone: Zone, follows: AnchorR) -> Vertex:
    return Vertex(z, r, radius, 0.0, zone, AnchorZ.MOUNTING_FACE, follows)


def rim_r(rim: Sequence[Vertex], z: float) -> float:
    """Return the least r of the rim's inside at z."""
    found = [
        a.r + (b.r - a.r) * (z - a.z) / (b.z - a.z)
        for a, b in itertools.pairwise(rim)
        if a.z != b.z and min(a.z, b.z) <= z <= max(a.z, b.z)
    ]
    if not found:
        low, high = min(v.z for v in rim), max(v.z for v in rim)
        raise GeometryError(
            f"The spoke back at z {z:.1f} lies outside the rim, which spans z {low:.1f} to {high:.1f}."
        )
    return min(found)


def _leaning(rim: Sequence[Vertex], z: float, r: float, lean_deg: float, what: str) -> tuple[int, Place]:
    """Return the edge of the rim's inside that a line leaning from (z, r) meets first, and where."""
    dz, dr = math.sin(math.radians(lean_deg)), math.cos(math.radians(lean_deg))
    best: tuple[float, int] | None = None
    for k, (a, b) in enumerate(itertools.pairwise(rim)):
        ez, er = b.z - a.z, b.r - a.r
        cross = dz * er - dr * ez
        if abs(cross) < 1e-12:
            continue
        reach = ((a.z - z) * er - (a.r - r) * ez) / cross
        along = ((a.z - z) * dr - (a.r - r) * dz) / cross
        if reach > 0.0 and 0.0 <= along < 1.0 and (best is None or reach < best[0]):
            best = (reach, k)
    # The lips' own edges, the first two and the last two, carry no spokes.
    if best is None or not 2 <= best[1] <= len(rim) - 4:
        low, high = rim[2].z, rim[-3].z
        raise GeometryError(
            f"The {what} leans from z {z:.1f}, r {r:.1f} past the rim, which carries spokes from "
            f"z {low:.1f} to {high:.1f}; move the spokes along the axle or change the inset.",
            (z, r),
        )
    return best[1], (z + dz * best[0], r + dr * best[0])


def _shoulder(f: Family, rim: Sequence[Vertex], back: Sequence[Vertex]) -> tuple[list[Vertex], Place]:
    """Return the brake side of the rim up to the shoulder, and the shoulder's corner."""
    side = _brake_side(rim)
    edge, place = _leaning(side, back[0].z, back[0].r, f.shoulder_lean_deg, "shoulder")
    corner = replace(side[edge], z=place[0], r=place[1], radius=f.shoulder_radius_mm, zone=Zone.SHOULDER)
    return [*_without_near(side[: edge + 1], 3, corner), corner], place


def _brake_side(rim: Sequence[Vertex]) -> list[Vertex]:
    """Return the rim's inside as the brake sees it: beyond an outboard well's floor it runs straight on.

    Following the well's steep wall there would cut a groove that neither brake nor tool can use.
    """
    floor = min(v.r for v in rim)
    ends = [k for k, v in enumerate(rim) if v.r < floor + 1e-6]
    if rim[-3].z - rim[ends[-1]].z > rim[ends[0]].z - rim[2].z:
        return list(rim)
    return [*rim[: ends[-1]], *(replace(v, r=floor) for v in rim[-3:])]


def _face(f: Family, back: Sequence[Vertex], rim: Sequence[Vertex]) -> list[Vertex]:
    """Return the spoke face from the edge of the hub's flat face to its last row."""
    limit = back[0].r + 1.0
    rows = [(r, back_at(f, r) + depth) for r, depth in f.depth if r <= limit]
    if not rows:
        raise GeometryError(f"The spoke depth has no row below r {limit:.1f}.")
    out = [_spoke(f.hub_thickness_mm, f.hub_face_mm / 2.0, HUB_ROOT_MM, Zone.SPOKE_FACE, AnchorR.AXLE_LINE)]
    out += [_spoke(z, r, FACE_BEND_MM, Zone.SPOKE_FACE, _follows(f, r, back[0].r)) for r, z in rows]
    return out


def _lip_root(f: Family, rim: Sequence[Vertex], face: Sequence[Vertex]) -> tuple[list[Vertex], Place]:
    """Return the street side from where the face meets the rim, and that corner."""
    edge, place = _leaning(rim, face[-1].z, face[-1].r, f.face_lean_deg, "spoke face")
    corner = replace(rim[edge], z=place[0], r=place[1], radius=f.face_root_radius_mm)
    return [corner, *reversed(_without_near(list(reversed(rim[edge + 1 :])), 3, corner))], place


def _without_near(rim: Sequence[Vertex], lip: int, corner: Vertex) -> list[Vertex]:
    """Return the vertices that lead to a corner without those that crowd it; the first `lip` stay."""
    out = list(rim)
    while len(out) > lip and math.hypot(out[-1].z - corner.z, out[-1].r - corner.r) < CROWDED_MM:
        out.pop()
    return out


def _hub(f: Family) -> list[Vertex]:
    """Return hub pad, bore and hub face, from the hub pad's outer edge."""
    pad, bore = f.hub_pad_mm / 2.0, f.bore_mm / 2.0
    return [
        _spoke(0.0, pad, HUB_EDGE_MM, Zone.HUB_PAD, AnchorR.AXLE_LINE),
        _spoke(0.0, bore, HUB_EDGE_MM, Zone.BORE, AnchorR.AXLE_LINE),
        _spoke(f.hub_thickness_mm, bore, HUB_EDGE_MM, Zone.HUB_FACE, AnchorR.AXLE_LINE),
    ]


def with_fitting_radii(section: Section) -> Section:
    """Return the section with the free corner radii cut down to what its edges take, in tenths of a mm."""
    vertices = list(section.vertices)
    n = len(vertices)
    turns = [_cut_per_mm(vertices, i) if vertices[i].radius else 0.0 for i in range(n)]
    vertices = [v if t else replace(v, radius=0.0) for v, t in zip(vertices, turns, strict=True)]
    for _ in range(4 * n):
        cuts = [v.radius * t for v, t in zip(vertices, turns, strict=True)]
        rooms = [
            math.hypot(b.z - a.z, b.r - a.r) * (1.0 - STRAIGHT_SHARE)
            for a, b in zip(vertices, vertices[1:] + vertices[:1], strict=True)
        ]
        needs = [cuts[i] + cuts[(i + 1) % n] for i in range(n)]
        worst = max(range(n), key=lambda i: needs[i] - rooms[i])
        if needs[worst] <= rooms[worst] + 1e-9:
            break
        share = rooms[worst] / needs[worst]
        for k in (worst, (worst + 1) % n):
            vertices[k] = replace(vertices[k], radius=vertices[k].radius * share)
    return replace(
        section,
        vertices=tuple(replace(v, radius=math.floor(v.radius * 10.0 + 1e-6) / 10.0) for v in vertices),
    )


def _cut_per_mm(vertices: Sequence[Vertex], i: int) -> float:
    """Return what a corner radius at a vertex takes off its edges per mm; 0 where it hardly turns."""
    taken = half_turn_tan(vertices[i - 1], vertices[i], vertices[(i + 1) % len(vertices)])
    return taken if taken > math.tan(math.radians(LEAST_BEND_DEG / 2.0)) else 0.0
